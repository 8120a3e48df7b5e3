"""Slips of the pen are flagged with what was probably meant, and real wear is not.

The first case is the one that the trade's collection of traps gives (a point
slipped in one of four readings); the others are made up alike.
"""

from __future__ import annotations

from typing import Any

import pytest

Write = Any

ROUND = "j1/measurements/arrival.yaml"


@pytest.mark.parametrize(
    ("old", "new", "spot", "meant"),
    [
        ("75.964", "7.5964", ("journals", "M1", "front_b"), "75.964"),
        ("75.964", "759.64", ("journals", "M1", "front_b"), "75.964"),
        ("75.964", "75964", ("journals", "M1", "front_b"), "75.964"),
        ("75.964", "57.964", ("journals", "M1", "front_b"), "75.964"),  # digits exchanged
        ("75.966", "75.696", ("journals", "M1", "rear_a"), "75.966"),
        ("80.008", "8.0008", ("housings", "M1", "front_v"), "80.008"),
        ("0.24/0.25/0.24", "0.24/2.5/0.24", ("float", "crank", "end_float"), "0.25"),
    ],
)
def test_a_slip_is_flagged(write: Write, old: str, new: str, spot: tuple[str, str, str], meant: str) -> None:
    job = write((ROUND, old, new)).jobs["j1"]
    assert job.suspects == {("arrival", *spot)}
    (problem,) = [one for one in job.problems if "until confirmed" in one.message]
    assert problem.severity == "warning" and problem.suggestion.startswith(f"{meant}?")
    assert len(job.problems) == 1  # and not called out of the instrument's range as well
    cell = job.rounds["arrival"].cells[spot[0]][spot[1]][spot[2]]
    assert (problem.line, problem.column) == (cell.line, cell.column)
    assert cell.text == new  # nothing is corrected silently


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("75.964", "7.5964!"),  # confirmed by a person
        ("75.968   75.964   75.966  75.962", "75.846   75.815   75.839  75.812"),  # a wiped main
        ("75.968   75.964   75.966  75.962", "75.481   75.480   75.480  75.479"),  # ground 0.50 under
        ("75.962   75.955   75.960  75.951", "75.962   75.955   75.910  75.901"),  # tapered
        ("80.008   80.009", "80.214   80.049"),  # a bore worn out of round
        ("0.24/0.25/0.24", "0.24/0.45/0.24"),  # repeats that scatter
        ("75.968   75.964", "--       75.964"),
    ],
)
def test_wear_is_not_a_slip(write: Write, old: str, new: str) -> None:
    assert write((ROUND, old, new)).jobs["j1"].suspects == set()


def test_gaps_of_very_different_size_are_not_slips(write: Write) -> None:
    sheet = (
        "engines/four.yaml",
        "positions: crank\n    columns: end_float",
        "positions: crank\n    columns: a b c",
    )
    limits = ("engines/four.yaml", "      end_float: 0.10 to 0.30", "      a: max 0.15")
    table = (
        ROUND,
        "columns: end_float\n    rows:\n      crank: 0.24/0.25/0.24",
        "columns: a b c\n    rows:\n      crank: 0.14 1.31 0.08",
    )
    running = {"j1/running.yaml": None}
    assert write(sheet, limits, table, files=running).jobs["j1"].suspects == set()


def test_single_readings_are_held_against_their_column(write: Write) -> None:
    sheet = (
        "engines/four.yaml",
        "  float:\n",
        "  skirts:\n    kind: readings\n    positions: C1 to C3\n    columns: skirt\n"
        "    unit: mm\n  float:\n",
    )
    rows = "      C1: 97.870\n      C2: 9.7871\n      C3: 97.868\n"
    rows = "  skirts:\n    instrument: mic\n    columns: skirt\n    rows:\n" + rows
    job = write(sheet, (ROUND, "  float:\n", rows + "  float:\n")).jobs["j1"]
    assert job.suspects == {("arrival", "skirts", "C2", "skirt")}


def test_a_column_of_one_reading_is_held_against_its_limits(write: Write) -> None:
    row = (
        "M1:    75.968   75.964   75.966  75.962\n"
        "      M2:    75.965   75.960   75.963  75.959\n"
        "      M3:    75.962   75.955   75.960  75.951"
    )
    job = write((ROUND, row, "M1:    7.5968   --   --  --")).jobs["j1"]
    assert job.suspects == {("arrival", "journals", "M1", "front_a")}


def test_the_readings_of_the_first_start_are_a_round_of_that_name(write: Write) -> None:
    job = write(("j1/running.yaml", "0.22", "0.22/2.3/0.23")).jobs["j1"]
    assert job.suspects == {("first start", "float", "crank", "end_float")}


def test_a_slipped_point_draws_no_neighbour_into_doubt(write: Write) -> None:
    """20.961 for 2.0961 beside a worn 2.0958: the column's 2.0986 to 2.0989 would make 2.0985 of that."""
    row = (
        "M1:    75.968   75.964   75.966  75.962\n"
        "      M2:    75.965   75.960   75.963  75.959\n"
        "      M3:    75.962   75.955   75.960  75.951"
    )
    inches = (
        "M1:    2.0992  2.0989  2.0991  2.0989\n"
        "      M2:    2.0979  20.961  2.0977  2.0958\n"
        "      M3:    2.0991  2.0987  2.0990  2.0986"
    )
    unit = (ROUND, "  journals:\n    instrument: mic\n", "  journals:\n    unit: in\n    instrument: mic\n")
    job = write(unit, (ROUND, row, inches)).jobs["j1"]
    assert job.suspects == {("arrival", "journals", "M2", "front_b")}


BORE = (
    "engines/four.yaml",
    "  float:\n",
    "  barrels:\n    kind: bore\n    positions: C1 C2\n    columns: top_t top_a middle_t middle_a bottom_t\n"
    "    unit: in\n    new:\n      size: 3.3125 to 3.3135\n    wear:\n      size: max 3.3200\n"
    "    oversizes: 0.020 in\n  float:\n",
)


def barrels(first: str) -> tuple[str, str, str]:
    rows = f"      C1: 3.3152 3.3147 3.3146 3.3143 3.3138\n      C2: {first} 3.3189 3.3196 3.3172 3.3147\n"
    table = "  barrels:\n    unit: in\n    columns: top_t top_a middle_t middle_a bottom_t\n    rows:\n"
    return ROUND, "  float:\n", f"{table}{rows}  float:\n"


def test_exchanged_digits_in_a_worn_bore(write: Write) -> None:
    """3.3228 typed as 3.2328: the worn top lies beyond its neighbours, by less than they differ."""
    job = write(BORE, barrels("3.2328")).jobs["j1"]
    assert job.suspects == {("arrival", "barrels", "C2", "top_t")}
    (problem,) = [one for one in job.problems if "until confirmed" in one.message]
    assert problem.suggestion.startswith("3.3228?")


def test_a_worn_top_is_no_slip(write: Write) -> None:
    assert not write(BORE, barrels("3.3228")).jobs["j1"].suspects


@pytest.mark.parametrize(("typed", "suspect"), [("75.096", True), ("75.815", False)])
def test_no_flat_spot_of_a_journal_is_so_deep(write: Write, typed: str, suspect: bool) -> None:
    """0.87 mm less than its neighbours is a slip of any sort; 0.15 mm is a journal that seized (MEMORY)."""
    assert bool(write((ROUND, "75.964", typed)).jobs["j1"].suspects) == suspect


@pytest.mark.parametrize(
    ("typed", "suspect"),
    [
        ("3.2775", True),  # smaller than any limit: no bore wears so, whatever was meant
        ("3.2775!", False),
        ("3.4475", True),  # 4 per cent: no bore wears so far beside such neighbours
        ("3.3475", False),  # a deep groove at the ridge
        ("3.3328", False),  # 0.020 over would be a step of the sheet
    ],
)
def test_what_no_wear_makes_is_asked_about(write: Write, typed: str, suspect: bool) -> None:
    job = write(BORE, barrels(typed)).jobs["j1"]
    assert bool(job.suspects) == suspect
    if suspect:
        (problem,) = [one for one in job.problems if "until confirmed" in one.message]
        assert problem.suggestion == f"measure again, or write {typed}! if it is right"
