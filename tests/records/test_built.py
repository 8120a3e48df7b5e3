"""Fasteners, build sheet, teardown register, assembly, running: each check has one damage that it finds."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from rebuildreport.records import Problem

from .conftest import ASSEMBLY, ENGINE, FINDINGS, RUNNING, TEARDOWN

Problems = Callable[..., list[Problem]]
E, T, A, R = "engines/four.yaml", "j1/teardown.yaml", "j1/assembly.yaml", "j1/running.yaml"

PLAN = """\
assemblies:
  block:
    title: Short block
    steps:
      - fit: journals
      - tighten: bolts
      - measure: float
      - check: turns_freely
        limit: max 8 N·m
      - hold: block_closed
first_start:
  pressure_within: 10 s
  limits: float
  retighten:
    - fasteners: bolts
      at: after 50 h
joints:
"""
BOLTS = """\
    reuse: never
    thread: M12x1.5
    class: 10.9
    length: 110 mm
    clamped: 90 mm
    shank: 60 mm
    clamps: iron
    lubricant: engine oil
    layout: 2 x 7
    order: centre outwards
"""
FOUND = """\
fasteners_as_found:
  - where: bolts M1
    condition: loose
    breakaway: 28 N·m
    unit: N·m
    readings:
      M1: 28 30
      M2: 95 99
    finding: F1
identity:
  - part: caps
    mark: none
    joint: sump
sizes_as_found:
"""
BUILT = """\
    date: 2026-02-20
    stretch:
      1: 0.36 mm
    reached:
      1: 105 N·m
checks:
  - check: turns_freely
    value: 5 N·m
    by: bench 1
    date: 2026-02-20
marks:
  - mark: gears
    by: bench 1
    witness: foreman
    date: 2026-02-20
hold_points:
  - what: block_closed
    by: bench 1
    witness: foreman
    date: 2026-02-20
pages:
  block:
    by: bench 1
    date: 2026-02-20
deviations:
  B1:
    about: bolts
    what: no second angle
    why: maker of the bolt
    signed: foreman
    date: 2026-02-20
"""
STARTED = """\
priming:
  how: starter
  pressure: 2 bar
  by: bench 1
  date: 2026-02-21
due:
  - what: oil
    at: 50 h
    done: 2026-03-20
warranty:
  from: 2026-02-25
  until: 2027-02-25
first_start:
"""
FILES = {
    E: ENGINE.replace("joints:\n", PLAN).replace("    reuse: never\n", BOLTS),
    T: TEARDOWN.replace("sizes_as_found:\n", FOUND),
    A: ASSEMBLY.replace("    date: 2026-02-20\n", BUILT),
    R: RUNNING.replace("first_start:\n", STARTED).replace(
        "by: bench 1\ntables", "by: bench 1\n  pressure_after: 4 s\ntables"
    ),
    "j1/findings.yaml": FINDINGS,
}


def test_the_undamaged_shop_is_fine(problems: Problems) -> None:
    assert problems(files=FILES) == []


CASES = [
    (E, "M12x1.5", "M12x15", "error", "a pitch of 15 mm", "M12x1.5"),
    (E, "M12x1.5", "half inch", "error", "is no thread", "3/8-24"),
    (E, "class: 10.9", "class: 10.8", "error", "no strength class", "10.9"),
    (E, "clamped: 90 mm", "clamped: 120 mm", "warning", "clamped 120 mm is more than length", ""),
    (E, "shank: 60 mm", "shank: 95 mm", "warning", "shank 95 mm is more than clamped", ""),
    (E, "lubricant: engine oil", "nut_factor: 18", "error", "torque factor of 18", "0.18"),
    (E, "layout: 2 x 7", "layout: two rows", "error", "no layout of bolts", "2 x 7"),
    (E, "layout: 2 x 7", "layout: 2 x 6", "warning", "12 places in the layout, 14 bolts", ""),
    (E, "centre outwards", "as it comes", "warning", "no order that I can draw", "spiral"),
    (E, "    order: centre", "    sequence:\n      - 1 2 2\n    order: centre", "error", "stands twice", ""),
    (E, "    order: centre", "    sequence:\n      - 2 1 3\n    order: centre", "warning", "3 numbers", ""),
    (E, "    source: manual page 3\n", "", "warning", "stages without a source", "source"),
    (E, "- torque: 60 N·m", "- torque: 60 N·m\n        angle: 5 deg", "error", "torque and angle", ""),
    (E, "- torque: 60 N·m", "- note: by feel", "error", "not nothing", ""),
    (E, "      - torque: 60 N·m\n", "", "warning", "an angle first", "torque comes before"),
    (E, "- torque: 60 N·m", "- torque: 43 N·m\n        also: 25 lbf·ft", "warning", "(33.9 N·m) differ", ""),
    (E, "- torque: 60 N·m", "- torque: 60 N·m\n        also: 44 mm", "error", "44 mm is a length", "lbf·ft"),
    (E, "- angle: 90 deg", "- angle: 90 deg\n        also: 44 lbf·ft", "error", "belongs to a torque", ""),
    (
        E, "- torque: 60 N·m", "- torque: 60 N·m\n        also: 44 lbf·ft\n        use: N·m", "warning",
        "settles nothing", "source",
    ),
    # M12x1.5 10.9: 88.1 mm2 and 73.1 kN proof load (ISO 898-1, table 6); oiled, K 0.18 (Shigley, table 8-15):
    # 600 N·m would be 278 kN, 160 N·m 74 kN; 60 N·m is 28 kN
    (E, "- torque: 60 N·m", "- torque: 600 N·m", "warning", "600 N·m alone takes a bolt", "60 N·m?"),
    (E, "- torque: 60 N·m", "- torque: 160 N·m", "warning", "typed right?", ""),
    (E, "- torque: 60 N·m", "- torque: 120 lbf·ft", "warning", "to yield", "120 N·m?"),
    (E, "- torque: 60 N·m", "- torque: 60 N·m\n      - torque: 15 N·m", "warning", "no note says why", ""),
    # 0.30 mm over 90 mm is elastic (hardly 600 N/mm2), ten times as much is not
    # two and a half turns of 1.5 mm are 3.75 mm, 4.2 % of 90 mm; a quarter turn is 0.4 %
    (E, "- angle: 90 deg", "- angle: 900 deg", "warning", "longer for good", "90 deg?"),
    (E, "- angle: 90 deg", "- stretch: 3.0 mm", "warning", "past yield", "0.3 mm?"),
    (E, "    reuse: never\n", "    reuse: always\n", "warning", "used again always", "by_measure"),
    (E, "tighten: bolts", "tighten: bolt", "error", "'bolt' is none of this sheet's fasteners", "bolts"),
    (E, "measure: float", "measure: flaot", "error", "'flaot' is no feature", "float"),
    (E, "- fit: journals", "- fit: jornals", "warning", "'jornals'", "journals"),
    (E, "- fit: journals", "- fit: journals\n        do: too", "error", "fit and do", ""),
    (E, "- fit: journals", "- text: hm", "error", "none of them", ""),
    (E, "hold: block_closed", "hold: turns_freely", "error", "stands twice", ""),
    (E, "max 8 N·m", "max 8", "error", "8 has no unit", "max 8 N·m"),
    (E, "- tighten: bolts", "- tighten: bolts\n        limit: max 8 N·m", "warning", "to a check", ""),
    (E, "- tighten: bolts", "- tighten: bolts\n        caution: spings", "warning", "no caution", "springs"),
    (E, "- tighten: bolts", "- tighten: bolts\n        caution: turn", "warning", "no caution", "'turning'"),
    (E, "limits: float", "limits: flote", "error", "'flote' is no feature", "float"),
    (E, "- fasteners: bolts", "- fasteners: bults", "error", "'bults' is none", "bolts"),
    (E, "pressure_within: 10 s", "pressure_within: 10 bar", "error", "a pressure, not a time", "10 s"),
    (T, "joint: sump", "joint: sunp", "warning", "'sunp' is nothing that was taken off", "sump"),
    (T, "finding: F1", "finding: F9", "error", "'F9' is no finding", "F1"),
    (T, "breakaway: 28 N·m", "breakaway: 28 mm", "error", "28 mm is a length, not a torque", "28 N·m"),
    (T, "unit: N·m", "unit: bar", "error", "bar is a unit of pressure", "N·m"),
    (T, "M2: 95 99", "M2: 95 9o", "error", "9o", ""),
    (T, "where: bolts M1", "where: bolt M1", "warning", "'bolt'", "bolts"),
    (T, "condition: loose", "quantity: 30\n    condition: loose", "error", "30 bolts of a group of 14", "14"),
    (T, "M2: 95 99", "M2: 95 99 97 98 96 94 95 99 97 98 96 94 95", "error", "15 breakaway readings", "one"),
    (T, "      M2: 95 99", "      15: 95 99", "error", "'15' is no bolt of a group of 14", "1 to 14"),
    (T, "      M2: 95 99", "      M15: 95 99", "warning", "'M15' is no bolt", "M1 to M14"),
    (T, "trust: factory\n", "trust: inferred\n", "warning", "how it will be proved right", "verify"),
    (A, "      1: 0.36 mm", "      15: 0.36 mm", "error", "'15' is no bolt of a group of 14", "1 to 14"),
    (A, "      1: 105 N·m", "      0: 105 N·m", "error", "'0' is no bolt", "1 to 14"),
    (A, "value: 5 N·m", "value: 5 mm", "error", "limit of this check a torque", "N·m"),
    (T, "condition: loose", "condition: lose", "error", "'lose' is no choice", "loose"),
    (T, "- where: gears", "- where: gears\n    trust: factory\n  - where: gears", "error", "twice", ""),
    (T, "trust: factory\n", "trust: factory\n    legible: no\n", "warning", "proves nothing", ""),
    (T, "mark: none", "mark: none\n    photo: p7", "warning", "'p7' is no picture", "p1"),
    (A, "reached:\n      1: 105 N·m", "reached:\n      1: 105 bar", "error", "not a torque", "105 N·m"),
    # 10.9 yields at 940 N/mm2 (ISO 898-1) or 0.46 % of 205 kN/mm2 (VDI 2230): over 90 mm about 0.4 mm
    (A, "1: 0.36 mm", "1: 3.60 mm", "warning", "3.60 mm of stretch is", "measure again"),
    (A, "1: 0.36 mm", "1: 0.36", "error", "no unit", "mm"),
    (A, "check: turns_freely", "check: turns_frely", "error", "'turns_frely' is no check", "turns_freely"),
    (A, "mark: gears", "mark: gear", "warning", "'gear' is no mark", "gears"),
    (A, "what: block_closed", "what: block_close", "warning", "'block_close'", "block_closed"),
    (A, "pages:\n  block:", "pages:\n  blok:", "error", "'blok' is no page", "block"),
    (A, "about: bolts", "about: bolt", "warning", "'bolt'", "bolts"),
    (A, "witness: foreman", "witness: Bench 1", "warning", "cannot witness", "second person"),
    (R, "pressure_after: 4 s", "pressure_after: 4 bar", "error", "not a time", "4 s"),
    (R, "pressure: 2 bar", "pressure: 2 s", "error", "not a pressure", "2.5 bar"),
    (R, "  date: 2026-02-21\ndue", "  date: 2026-02-22\ndue", "warning", "after the first start", ""),
    (R, "    at: 50 h\n", "", "warning", "does not say when", "50 h"),
    (R, "done: 2026-03-20", "done: 2026-02-20", "warning", "before the first start", ""),
    (R, "until: 2027-02-25", "until: 2025-02-25", "error", "ends before it begins", ""),
    (R, "first_start:\n  date: 2026-02-21", "first_start:\n  date: 2026-02-19", "warning", "together", ""),
]  # fmt: skip


@pytest.mark.parametrize(("file", "old", "new", "severity", "message", "hint"), CASES)
def test_one_damage_one_problem(
    problems: Problems, file: str, old: str, new: str, severity: str, message: str, hint: str
) -> None:
    found = problems((file, old, new), files=FILES)
    at = [one for one in found if message in one.message]
    assert at, [one.message for one in found]
    assert at[0].file == file and at[0].severity == severity
    assert hint in at[0].suggestion


def test_a_layout_may_be_that_of_each_of_two_heads(problems: Problems) -> None:
    """Two heads of 7 bolts each: 14 bolts, one layout of 7 places; three heads of a four do not go."""
    assert not problems((E, "layout: 2 x 7", "layout: rows of 4 3"), files=FILES)
    uneven = problems((E, "layout: 2 x 7", "layout: rows of 2"), files=FILES)
    assert [one.message for one in uneven] == ["2 places in the layout, 14 bolts in the group"]


def test_a_lower_torque_with_its_reason_is_none_to_ask_about(problems: Problems) -> None:
    lower = "- torque: 60 N·m\n      - torque: 15 N·m\n        note: loosen by half a turn first"
    assert problems((E, "- torque: 60 N·m", lower), files=FILES) == []


def test_a_source_settles_two_torques(problems: Problems) -> None:
    """T10: 25 lbf·ft and 43 N·m: where the one that counts is named with its source, nothing is wrong."""
    settled = "- torque: 43 N·m\n        also: 25 lbf·ft\n        use: lbf·ft\n        source: manual page 4"
    assert problems((E, "- torque: 60 N·m", settled), files=FILES) == []
