"""Slips among readings that may differ: each flagged with what was meant, and a fault that is none is not.

The figures are made up: each slip takes a reading of an invented engine and moves its point, or exchanges
two digits, so that what was meant is known beforehand.
"""

from __future__ import annotations

from typing import Any

import pytest

Write = Any

ROUND = "j1/measurements/arrival.yaml"
SHEET = "engines/four.yaml"
ANGLES = "at_0 at_45 at_90 at_135 at_180 at_225 at_270 at_315"
FEATURES = {
    "bend": ("runout", "in", "M1 to M3", ANGLES, "runout: max 0.0020"),
    "grid": ("flatness_grid", "in", "y0 y70 y140", "x0 x150 x300 x450", "flatness: max 0.0030"),
    "line": ("main_line", "in", "M1 to M5", "bottom side", "straightness: max 0.0020"),
    "decks": ("deck_height", "in", "left right", "front rear", "height: 9.2050 to 9.2090"),
    "loads": ("spring_load", "lbf", "I1 E1 I2 E2", "closed open", "closed: 76 to 84"),
    "dishes": ("matched", "cm³", "C1 to C4", "volume", ""),
    "pump": ("oil_pump", "in", "pump", "tip body end", "tip: max 0.006"),
    "oil": ("oil_pressure", "psi", "engine", "hot_idle hot_1500 hot_3000", "hot_1500: min 30"),
    "leaks": ("leak_down", "%", "C1 to C6", "loss", "loss: max 20"),
    "faces": ("straightedge", "in", "a b c d", "gap", "gap: max 0.003"),
    "gaps": ("ring_gap", "in", "C1 to C4", "top", "top: 0.010 to 0.020"),
    "free": ("spring_length", "in", "I1 E1 I2 E2", "free squareness", "squareness: max 0.062"),
    "press": ("compression", "psi", "C1 to C4", "pressure", "pressure: min 120"),
}  # fmt: skip
ROWS = {
    "bend": "M1: 0.0021 0.0020 0.0019 0.0020 0.0021 0.0020 0.0019 0.0020|"
    "M2: 0.0020 0.0025 0.0027 0.0026 0.0022 0.0015 0.0011 0.0014|"
    "M3: 0.0022 0.0021 0.0019 0.0019 0.0020 0.0019 0.0019 0.0021",
    "grid": "y0: 0.0000 0.0004 0.0006 0.0003|y70: 0.0002 0.0009 0.0011 0.0005|"
    "y140: 0.0001 0.0005 0.0007 0.0002",
    "line": "M1: 0.0100 0.0100|M2: 0.0103 0.0101|M3: 0.0106 0.0102|M4: 0.0104 0.0101|M5: 0.0101 0.0100",
    "decks": "left: 9.2065 9.2070|right: 9.2070 9.2075",
    "loads": "I1: 80 201|E1: 79 199|I2: 81 202|E2: 66 181",
    "dishes": "C1: 8.1|C2: 8.0|C3: 8.2|C4: 8.0",
    "pump": "pump: 0.0045 0.0110 0.0030",
    "oil": "engine: 7 24 36",
    "leaks": "C1: 12|C2: 14|C3: 38|C4: 11|C5: 41|C6: 13",
    "faces": "a: 0.0025|b: 0.0015|c: 0.0040|d: 0.0015",
    "gaps": "C1: 0.0210|C2: 0.0220|C3: 0.0310|C4: 0.0190",
    "free": "I1: 2.028 0.030|E1: 2.025 0.035|I2: 2.031 0.020|E2: 1.990 0.070",
    "press": "C1: 142|C2: 138|C3: 145|C4: 141",
}


def typed(write: Write, name: str, old: str, new: str) -> Any:
    kind, unit, positions, columns, limit = FEATURES[name]
    judged = f"    wear:\n      {limit}\n" if limit else ""
    sheet = (
        f"  {name}:\n    kind: {kind}\n    positions: {positions}\n    columns: {columns}\n"
        f"    unit: '{unit}'\n{judged}    source: manual page 1\n"
    )
    assert old in ROWS[name]
    rows = "".join(f"      {row}\n" for row in ROWS[name].replace(old, new, 1).split("|"))
    table = f"  {name}:\n    unit: '{unit}'\n    columns: {columns}\n    rows:\n{rows}"
    changes = (
        (SHEET, "  housings:\n", sheet + "  housings:\n"),
        (ROUND, "  housings:\n", table + "  housings:\n"),
    )
    return write(*changes).jobs["j1"]


@pytest.mark.parametrize(
    ("name", "old", "new", "meant"),
    [
        ("bend", "0.0025", "0.0250", "0.0025"),
        ("bend", "0.0025", "0.025", "0.0025"),
        ("bend", "0.0021 0.0020 0.0019 0.0020|M2", "0.00021 0.0020 0.0019 0.0020|M2", "0.0021"),
        ("grid", "0.0009", "0.0090", "0.0009"),
        ("line", "0.0106", "0.0160", "0.0106"),
        ("line", "0.0106", "0.1060", "0.0106"),
        ("decks", "9.2065", "9.2605", "9.2065"),
        ("loads", "80", "8.0", "80"),
        ("dishes", "8.2", "82", "8.2"),
        ("pump", "0.0045", "0.045", "0.0045"),
        ("oil", "24", "2.4", "24"),
        ("leaks", "13", "1.3", "13"),
        ("gaps", "0.0190", "0.190", "0.0190"),
    ],
)
def test_a_slip_among_readings_that_differ(write: Write, name: str, old: str, new: str, meant: str) -> None:
    assert not typed(write, name, old, old).doubts
    job = typed(write, name, old, new)
    (doubt,) = job.doubts
    assert doubt.table == name and len(doubt.kept) == 1
    assert not job.suspects  # each may be: it is judged as it was read, with the question beside it
    problem = doubt.problem
    assert problem.message.endswith("; judged as it was read")
    assert (
        problem.suggestion.startswith(f"{meant}? Measure again")
        and f" {new.split()[0]} stands out" in problem.message
    )
    assert not typed(
        write, name, old, new.replace(new.split()[0], f"{new.split()[0]}!")
    ).doubts  # somebody looked again


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("bend", "0.0027", "0.0063"),  # a shaft bent at one end of a flat
        ("bend", "0.0027", "0.00275"),  # read between two lines
        ("grid", "0.0011", "0.0052"),  # a corner that lifted
        ("line", "0.0106", "0.0131"),  # a bore that moved, in digits that no slip makes
        ("decks", "9.2065", "9.1965"),  # decked by 0.010
        ("loads", "66 181", "31 181"),  # a spring that is done
        ("leaks", "13", "4"),  # the one good cylinder
        ("leaks", "13", "90"),  # a burnt valve
        ("faces", "0.0040", "0.0140"),  # an overheated head
        ("gaps", "0.0190", "0.0800"),  # a ring worn to nothing
        ("press", "138", "21"),  # a holed piston
        ("pump", "0.0045", "0.0210"),  # an oil pump that ate a bearing
        ("pump", "0.0045 0.0110 0.0030", "0.0063 0.0036 0.0036"),  # two other gaps that happen to be alike
        ("oil", "7 24", "2 24"),  # no bearings left
    ],
)
def test_a_fault_is_no_slip(write: Write, name: str, old: str, new: str) -> None:
    job = typed(write, name, old, new)
    assert not job.suspects and not [one for one in job.doubts if one.table == name]


def test_ten_times_its_limit_is_asked_and_judged(write: Write) -> None:
    """0.0600 is ten times 0.006: a worn-out pump or a slip, and only somebody who looks can tell."""
    job = typed(write, "pump", "0.0045", "0.0600")
    (doubt,) = [one for one in job.doubts if one.table == "pump"]
    assert doubt.asks and not doubt.spots and not job.suspects
    assert doubt.problem.message == "pump tip: 0.0600 is 10 times its limit; judged as it was read"
    assert doubt.problem.suggestion.startswith("0.0060? Measure again")


def test_a_reading_is_held_against_its_own_quantity(write: Write) -> None:
    """A length in millimetres stands out beside the other lengths, not beside how square the spring is."""
    job = typed(write, "free", "1.990", "50.55")
    (problem,) = [one for one in job.problems if "until confirmed" in one.message]
    assert "stands out beside 2.025 to 2.031;" in problem.message
