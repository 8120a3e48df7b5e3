"""Rows of readings: cells with their place, and what is wrong with a row."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.records import Problem, RoundRecord
from rebuildreport.records.files.rows import Cells, table_cells
from rebuildreport.records.text.reader import read_bytes
from rebuildreport.records.text.validate import validate

HEAD = "date: 2026-02-05\nby: b\ntemperature: 20 °C\ntables:\n  t:\n"


def cells(
    row: str, columns: str = "a b c", unit: str | None = "mm", table: str = ""
) -> tuple[Cells, list[Problem]]:
    text = f"{HEAD}{table}    columns: {columns}\n    rows:\n      M1:  {row}\n"
    source, problems = read_bytes(text.encode(), "x.yaml")
    assert problems == []
    record, problems = validate(RoundRecord, source)
    assert record is not None, problems
    return table_cells(record.tables["t"], unit, source, ("tables", "t"))


def test_readings_as_typed_with_their_place() -> None:
    found, problems = cells("75.970   75.97/75.98  --")
    assert problems == []
    one, two, three = found["M1"].values()
    assert [(r.text, r.value, r.unit, r.decimals) for r in one.readings] == [("75.970", 75.97, "mm", 3)]
    assert [r.decimals for r in two.readings] == [2, 2]
    assert (three.state, three.readings) == ("not taken", ())
    assert [(cell.line, cell.column) for cell in (one, two, three)] == [(8, 12), (8, 21), (8, 34)]


def test_no_clearance_is_not_a_reading_not_taken() -> None:
    assert cells("none", "a")[0]["M1"]["a"].state == "none"


def test_a_reading_looked_at_again() -> None:
    cell = cells("75.970!", "a")[0]["M1"]["a"]
    assert cell.confirmed and cell.readings[0].text == "75.970"


def test_leaves_that_went_in_and_that_did_not() -> None:
    less, between = cells("<0.05 0.15<0.20", "a b")[0]["M1"].values()
    assert (less.readings[0].text, less.no_go and less.no_go.text) == ("0.05", "0.05")
    assert (between.readings[0].text, between.no_go and between.no_go.text) == ("0.15", "0.20")
    for typed, meant in (("0.15<", "<0.05, or 0.05<0.06"), ("0.20<0.15", "0.15<0.20")):
        (problem,) = cells(typed, "a")[1]
        assert problem.suggestion == meant


@pytest.mark.parametrize(
    ("row", "table", "unit", "mm"),
    [
        ("2.6247in", "", "mm", 66.66738),  # 1 in = 25.4 mm exactly (1959 agreement)
        ("2.6247", "    unit: in\n", "mm", 66.66738),
        ("1.5", "    unit: thou\n", "mm", 0.0381),
        ("66.668mm", "    unit: in\n", None, 66.668),
    ],
)
def test_mixed_units_are_normal(row: str, table: str, unit: str | None, mm: float) -> None:
    found, problems = cells(row, "a", unit, table)
    assert problems == []
    assert found["M1"]["a"].readings[0].to("mm") == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    ("row", "column", "message", "suggestion"),
    [
        ("1.0 2.0", 16, "2 readings for 3 columns: c missing", "--"),
        ("1.0", 12, "1 reading for 3 columns: b, c missing", "--"),
        ("1 2 3 4", 18, "4 readings for 3 columns", "take one away"),
        ("1 mm 2 3", 19, "is a unit", "unit: mm"),
        ("75,968 75,964 75,966", 12, "comma", "75.968"),
        ("75,968, 75,964 , 75,966", 29, "comma", "blanks"),
        ("1.0 - 3.0", 16, "'-' is no reading", "--"),
        ("1.0 x1 3.0", 16, "x1", ""),
        ("1.0 2.0/ 3.0", 16, "stroke", "0.34/0.35"),
        ("1.0 2.0kN 3.0zz", 22, "zz", ""),
    ],
)
def test_a_row_that_is_wrong(row: str, column: int, message: str, suggestion: str) -> None:
    problems = cells(row)[1]
    assert message in problems[0].message and suggestion in problems[0].suggestion
    assert (problems[0].line, problems[0].column) == (8, column)


def test_every_comma_is_questioned() -> None:
    """At the first, with how many more: it is one habit."""
    (problem,) = cells("75,968 75,964 75,966")[1]
    assert problem.suggestion == "75.968" and "(and 2 more in this table)" in problem.message


def test_no_unit_in_force_is_told_once() -> None:
    _, (problem,) = cells("1.0 2.0 3.0", unit=None)
    assert problem.line == 5 and "no unit" in problem.message and "unit: mm" in problem.suggestion
    # a feature that states none says so by an empty one
    assert [one.message for one in cells("75.970 75.968", "a b", unit="")[1]] == [problem.message]


def test_a_row_folded_over_two_lines() -> None:
    found, problems = cells("1.0 2.0\n           3.0")
    assert problems == []
    assert [(cell.line, cell.column) for cell in found["M1"].values()] == [(8, 12), (8, 16), (9, 12)]


@given(st.lists(st.text("0123456789.,/-+!nome °", min_size=1, max_size=8), min_size=1, max_size=4))
def test_no_row_raises_and_every_problem_points_into_it(words: list[str]) -> None:
    row = "'" + " ".join(words) + "'"
    if not row.strip("' "):
        return
    for problem in cells(row)[1]:
        assert problem.line == 8 and problem.message
