"""A doubt leaves out what cannot be and keeps what may be; each threshold from both sides.

The thresholds are common practice (a thimble's turn is 0.5 mm or 1/40 in: pitch of micrometer screws) or
shop practice of this project; the readings are made up.
"""

from __future__ import annotations

from typing import Any

import pytest

from rebuildreport.quantities import english, parse
from rebuildreport.records.doubts.degrees import cannot_be, of_one_size, turn_misread
from rebuildreport.records.doubts.second_tests import _alike
from rebuildreport.records.doubts.suspects import _against_the_run, _exchanged, _Held, _held, _Read, _slipped
from rebuildreport.records.files.measured import MeasuredTable
from rebuildreport.records.files.rounds import Table
from rebuildreport.records.files.rows import cell, table_cells
from rebuildreport.records.files.sheet import FeatureRecord
from rebuildreport.records.text.reader import Source

Write = Any

ROUND = "j1/measurements/arrival.yaml"
SHEET = "engines/four.yaml"
JOURNAL, BORE = FeatureRecord(kind="journal", unit="mm"), FeatureRecord(kind="bore", unit="mm")


@pytest.mark.parametrize(
    ("text", "group", "expected"),
    [
        ("54.484", [54.984, 54.985, 54.986], 54.984),
        ("55.484", [54.984, 54.985, 54.986], 54.984),
        ("54.444", [54.984, 54.985], 54.944),  # put right 0.04 beside them
        ("54.443", [54.984, 54.985], 0.0),
        ("54.484", [54.901, 55.000], 54.984),  # neighbours agree within 0.1 mm
        ("54.484", [54.899, 55.000], 0.0),
        ("54.484", [54.984], 0.0),  # one says nothing
        ("54.734", [54.984, 54.985], 0.0),  # a flat spot
    ],
)
def test_a_turn_of_the_thimble(text: str, group: list[float], expected: float) -> None:
    assert turn_misread(parse(text, "mm"), group) == pytest.approx(expected)


def test_a_turn_of_a_thimble_in_inches() -> None:
    assert turn_misread(parse("2.2190", "in"), [2.2440, 2.2441]) == pytest.approx(2.2440)
    assert turn_misread(parse("2.2340", "in"), [2.2440, 2.2441]) == 0.0


@pytest.mark.parametrize(
    ("feature", "text", "out"),
    [
        (JOURNAL, "99.75", False),  # a flat spot as deep as any
        (JOURNAL, "99.74", True),
        (JOURNAL, "100.25", False),  # picked up
        (JOURNAL, "100.26", True),
        (BORE, "99.75", False),
        (BORE, "99.74", True),
        (BORE, "101.00", False),  # scored at one place
        (BORE, "102.01", True),
        (None, "98.00", False),
        (None, "97.99", True),
    ],
)
def test_what_no_damage_makes_cannot_be(feature: FeatureRecord | None, text: str, out: bool) -> None:
    assert cannot_be(parse(text, "mm"), [100.0, 100.0], feature) is out


def test_a_gap_may_be_ten_times_another_and_a_size_may_not() -> None:
    assert of_one_size(parse("7.6", "mm"), [75.96, 75.97])
    assert not of_one_size(parse("3.00", "mm"), [0.30, 0.30])  # a step is 3 % of it
    assert not of_one_size(parse("1.2", "bar"), [12.0, 12.0])
    for text, group, sure in (("7.600", [76.0, 76.1], True), ("3.00", [0.30, 0.30], False)):
        slip = _slipped(_Held(parse(text, "mm"), column=group))
        assert slip is not None and slip.cannot_be is sure


def test_digits_exchanged_are_left_out_only_where_they_cannot_be() -> None:
    for text, sure in (("54.948", False), ("54.894", False), ("59.484", True)):
        slip = _exchanged(_Held(parse(text, "mm"), row=[54.984, 54.985], feature=JOURNAL))
        assert slip is not None and slip.cannot_be is sure


def run(rows: dict[str, str], columns: str, position: str, column: str) -> str:
    table = Table(columns=columns, rows=rows)
    cells, problems = table_cells(table, "mm", Source(""), ())
    assert not problems
    measured = MeasuredTable("r", "t", table, cells, None, Source(""))
    (held,) = _held(_Read(measured, None), (position, column), frozenset())
    found = _against_the_run(held)
    return english(found.meant) if found else ""


@pytest.mark.parametrize(
    ("row", "meant"),
    [
        ("54.963 54.984 54.967 54.952", "54.948"),  # one end is as oval as the other
        ("54.963 54.962 54.967 54.952", ""),  # 14 steps off it
        ("54.963 54.948 54.967 54.952", ""),
        ("54.963 54.899 54.967 54.952", ""),  # a flat spot, in digits that no slip makes
    ],
)
def test_the_run_of_a_journal(row: str, meant: str) -> None:
    assert run({"M1": row}, "front_a front_b rear_a rear_b", "M1", "front_b") == meant


@pytest.mark.parametrize(("third", "meant"), [("86.025", "86.052"), ("86.052", ""), ("86.090", "")])
def test_the_run_of_a_bore(third: str, meant: str) -> None:
    """The other bores are worn along a line with this one: how much at each place is said by them."""
    rows = {
        "C1": "86.108 86.061 86.046 86.030 86.027 86.020",
        "C2": "86.116 86.061 86.049 86.030 86.031 86.022",
        "C3": "86.066 86.037 86.025 86.015 86.015 86.010",
        "C4": f"86.125 86.067 {third} 86.030 86.024 86.024",
    }
    found = run(rows, "top_t top_a middle_t middle_a bottom_t bottom_a", "C4", "middle_t")
    assert found == meant


@pytest.mark.parametrize(
    ("again", "agrees"), [("11.0", True), ("11.1", False), ("9.0", True), ("8.9", False)]
)
def test_two_readings_of_one_thing_agree_within_a_tenth(again: str, agrees: bool) -> None:
    assert _alike(cell("10.0", "bar"), cell(again, "bar")) == agrees


LIMIT = "    wear:\n      loss: max 20\n"


def second_cylinder(write: Write, pressure: str, loss: str, limit: str = LIMIT) -> Any:
    sheet = (
        "  press:\n    kind: compression\n    positions: C1 to C4\n    columns: pressure\n    unit: bar\n"
        "    wear:\n      pressure: min 9.0\n    source: manual page 1\n"
        "  leaks:\n    kind: leak_down\n    positions: C1 to C4\n    columns: loss\n    unit: percent\n"
        f"{limit}    source: manual page 1\n"
    )
    table = (
        "  press:\n    unit: bar\n    columns: pressure\n    rows:\n"
        f"      C1: 12.0\n      C2: {pressure}\n      C3: 12.4\n      C4: 12.2\n"
        "  leaks:\n    unit: percent\n    columns: loss\n    rows:\n"
        f"      C1: 8\n      C2: {loss}\n      C3: 9\n      C4: 7\n"
    )
    changes = (
        (SHEET, "  housings:\n", sheet + "  housings:\n"),
        (ROUND, "  housings:\n", table + "  housings:\n"),
    )
    job = write(*changes).jobs["j1"]
    return [doubt for doubt in job.doubts if doubt.table in ("press", "leaks")]


def test_two_tests_of_one_cylinder_are_compared_first(write: Write) -> None:
    """1.2 bar beside 12: true where its air is lost, a question where it is not; judged in both."""
    (doubt,) = second_cylinder(write, "1.2", "9")
    assert doubt.kept and not doubt.spots and "judged as it was read" in doubt.problem.message
    (doubt,) = second_cylinder(write, "1.2", "20")  # at its limit, not beyond it
    assert doubt.kept
    assert second_cylinder(write, "1.2", "21") == []


def test_a_test_without_limits_is_held_against_the_other_cylinders(write: Write) -> None:
    """Three times the loss of the others confirms a dead cylinder; a quarter more does not."""
    assert second_cylinder(write, "1.2", "68", limit="") == []
    (doubt,) = second_cylinder(write, "1.2", "10", limit="")
    assert doubt.kept


@pytest.mark.parametrize(("typed", "turn"), [("75.464", True), ("76.464", True), ("75.764", False)])
def test_a_turn_is_named_and_left_out(write: Write, typed: str, turn: bool) -> None:
    job = write((ROUND, "75.964", typed)).jobs["j1"]
    assert bool(job.suspects) is turn
    if turn:
        (doubt,) = job.doubts
        assert "by a turn of the thimble (0.5 mm)" in doubt.problem.message
        assert doubt.problem.suggestion.startswith("75.964? Measure again")


def test_a_reading_that_may_be_is_asked_about_and_judged(write: Write) -> None:
    job = write((ROUND, "75.964", "75.946"), (ROUND, "75.968   75.946", "75.968   75.846")).jobs["j1"]
    assert not job.suspects
    job = write((ROUND, "75.964", "75.694")).jobs["j1"]  # 0.27 mm deep is no flat spot
    assert job.suspects


def test_a_lost_thrust_washer_is_no_table_in_inches(write: Write) -> None:
    """1.41 mm under limits of 0.10 to 0.30, typed under a heading of millimetres: true, and bad."""
    job = write((ROUND, "0.24/0.25/0.24", "1.41/1.42/1.39")).jobs["j1"]
    assert not job.suspects and not job.doubts


@pytest.mark.parametrize(
    ("journal", "direct", "asked"),
    [
        # 80.008 less two walls of 1.974 to 1.980 less 75.946: 0.102 to 0.114, where 0.084 to 0.097 was meant
        ("75.946", "", ["journals"]),
        ("75.946", "0.11", []),
        ("75.946", "0.08", ["journals"]),
        ("75.964", "0.8", ["clearance"]),
        ("75.252", "0.8", []),  # 0.796 to 0.809
    ],
)
def test_a_clearance_and_the_sizes_that_give_it_are_compared_first(
    write: Write, journal: str, direct: str, asked: list[str]
) -> None:
    rows = f"      M1: {direct}\n      M2: 0.09\n      M3: 0.08\n      M4: 0.08\n"
    table = f"  clearance:\n    unit: mm\n    columns: direct\n    rows:\n{rows}  float:\n"
    changes = [(ROUND, "75.964", journal)]
    if journal == "75.252":  # worn all round, as no slip makes it
        changes = [(ROUND, "75.968   75.964   75.966  75.962", "75.252 75.252 75.252 75.252")]
    if direct:
        changes.append((ROUND, "  float:\n", table))
    keys = "    journal: journals\n    positions: M1 to M4\n    columns: direct\n"
    job = write((SHEET, "    journal: journals\n", keys), *changes)
    found = job.jobs["j1"].doubts
    assert [doubt.table for doubt in found if doubt.table in ("journals", "clearance")] == asked


def test_what_is_read_at_one_place_is_held_against_its_limits_and_other_rounds(write: Write) -> None:
    """A pin read once, and a turn off: another round does not confirm it by being within a tenth of it."""
    small = ("shop.yaml", "range: 50 to 100 mm", "range: 0 to 100 mm")
    row = "  rod_journals:\n    instrument: mic\n    columns: front_a\n    rows:\n      R1:    {}\n  float:\n"
    for typed, asked in (("41.492", True), ("40.491", True), ("40.742", False), ("40.992", False)):
        job = write(small, (ROUND, "  float:\n", row.format(typed))).jobs["j1"]
        assert [spot[2] for doubt in job.doubts for spot in doubt.kept] == ["R1"] * asked, typed
        assert not job.suspects


@pytest.mark.parametrize(("stem", "asked"), [("5.465", 0), ("5.400", 0), ("4.965", 1)])
def test_no_wear_leaves_a_stem_five_times_its_limit(write: Write, stem: str, asked: int) -> None:
    guides = (
        "  guides:\n    kind: guide\n    positions: I1 I2\n    columns: stem_min guide_max\n    unit: mm\n"
    )
    guides += "    new:\n      clearance: 0.020 to 0.047\n    wear:\n      clearance: max 0.080\n"
    guides += "    source: manual page 37\n  float:\n    kind"
    read = f"  guides:\n    columns: stem_min guide_max\n    rows:\n      I1:  {stem}  5.512\n  float:\n"
    job = write(("engines/four.yaml", "  float:\n    kind", guides), (ROUND, "  float:\n", read)).jobs["j1"]
    assert len([doubt for doubt in job.doubts if "times the play" in doubt.problem.message]) == asked
    assert not job.suspects


@pytest.mark.parametrize(("shim", "asked"), [("2.45", 0), ("2.99", 0), ("5.20", 1), ("1.85", 1)])
def test_a_shim_that_nobody_sells_is_asked_about(write: Write, shim: str, asked: int) -> None:
    read = f"  lash:\n    columns: shim clearance\n    rows:\n      I1:  {shim}  0.20\n  float:\n"
    job = write((ROUND, "  float:\n", read)).jobs["j1"]
    assert len([doubt for doubt in job.doubts if "shims are sold" in doubt.problem.message]) == asked
