"""Files that are no records, of any size up to the largest that is read, cost no more work than a few jobs.

Work is counted in calls of functions and not by a clock: the whole six-cylinder job of the demo takes about
400,000.  The files are the worst that were found: each went by some square of its length.
"""

from __future__ import annotations

import cProfile
import pstats
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.commands.terminal.telling import problem_lines
from rebuildreport.records import load_shop
from rebuildreport.records.text.reader import LARGEST

MOST_CALLS = 8_000_000
HEAD = "date: 2026-02-05\nby: bench 1\ntemperature: 20 °C\n"
TABLE = "  {}:\n    feature: journals\n    unit: mm\n    instrument: mic\n    columns: {}\n    rows:\n"
FOUR = "front_a front_b rear_a rear_b"
ENGINE = "maker: a\nmodel: b\nlayout:\n  cylinders: 4\n  arrangement: inline\n"
WORK, SHEET, ROUND = "j1/work.yaml", "engines/four.yaml", "j1/measurements/arrival.yaml"


def many(line: Callable[[int], str], number: int = 400, head: str = "") -> str:
    return head + "".join(map(line, range(number)))


def full(line: Callable[[int], str], head: str = "") -> str:
    """As many lines as a file may hold."""
    return many(line, LARGEST // (len(line(LARGEST)) + 1), head)[: LARGEST - 1] + "\n"


def reading(n: int) -> str:
    """Readings of one size, of which some lost their point."""
    return f"75.9{n * 7919 % 100:02}" if n % 3 else f"7.59{n * 7919 % 100:02}"


def table(name: str, columns: str, rows: int) -> str:
    width = len(columns.split())
    lines = (f"      M{r}: {' '.join(reading(r * width + c) for c in range(width))}\n" for r in range(rows))
    return TABLE.format(name, columns) + "".join(lines)


DECISION = (
    "  W{}:\n    about: journals\n    do: recondition\n    size: 0.25 mm undersize\n    why: a\n    by: b\n"
)
FINDING = (
    "  F{0}:\n    component: jurnal{0}\n    seen: a\n    disposition: reuse\n    positions: M1 to M200\n"
)
FILES: dict[str, tuple[str, str]] = {
    "brackets": (ROUND, "[" * LARGEST),
    "one long line of brackets": (ROUND, "a: [" + "[1]," * (LARGEST // 5) + "]\n"),
    "one long text": (ROUND, f"{HEAD}title: {'a: b ' * 200_000}\n"),
    "keys without end": (ROUND, full(lambda n: f"k{n}: 1\n", HEAD)),
    "one key again and again": (ROUND, full(lambda n: "a: 1\n", HEAD)),
    "references": (ROUND, full(lambda n: f"b{n}: *a\n", "a: &a 1\n")),
    "columns without end": (
        ROUND,
        f"{HEAD}tables:\n" + TABLE.format("t", "M1 to M200 " * 900) + "      M1: 1\n",
    ),
    "repeats at one spot": (
        ROUND,
        f"{HEAD}tables:\n{TABLE.format('t', 'a')}      M1: {'75.968/' * 1400}75\n",
    ),
    "rows without end": (
        ROUND,
        full(lambda n: f"      M{n}: 75.968 7x\n", f"{HEAD}tables:\n" + TABLE.format("t", "a b")),
    ),
    "a long table": (ROUND, f"{HEAD}tables:\n{table('journals', FOUR, 390)}"),
    "a wide table": (
        ROUND,
        f"{HEAD}tables:\n{table('journals', ' '.join(f'p{n}_a' for n in range(240)), 12)}",
    ),
    "many tables": (ROUND, many(lambda n: table(f"t{n}", FOUR, 1), 390, f"{HEAD}tables:\n")),
    "many decisions": (
        WORK,
        many(lambda n: DECISION.format(n) + "    date: 2026-02-10\n", 390, "decisions:\n"),
    ),
    "many findings of nothing": (
        "j1/findings.yaml",
        many(
            lambda n: FINDING.format(n),
            390,
            "findings:\n",
        ),
    ),
    "sets within sets": (
        SHEET,
        ENGINE
        + "parts:\n"
        + many(
            lambda n: "".join(
                f"  {p}{n}:\n    name: a\n    contains:\n      p{n + 1}: 1\n      q{n + 1}: 1\n" for p in "pq"
            ),
            60,
        ),
    ),
    "limits that see each other": (
        SHEET,
        ENGINE
        + "features:\n"
        + many(
            lambda n: f"  f{n}:\n    kind: journal\n    unit: mm\n    wear:\n      size: see f{n + 1}\n", 390
        ),
    ),
    "parts of which none is known": (
        SHEET,
        ENGINE
        + "joints:\n"
        + many(lambda n: f"  j{n}:\n    needs: p{n}\n", 390)
        + "parts:\n  px:\n    name: a\n",
    ),
}


@pytest.mark.parametrize("name", FILES)
def test_what_is_no_record_costs_no_time(write: Any, tmp_path: Path, name: str) -> None:
    file, text = FILES[name]
    assert len(text.encode()) <= LARGEST
    write(files={file: text})
    profile = cProfile.Profile()
    with profile:
        shop = load_shop(tmp_path)
        printed = [line for problem in shop.all_problems for line in problem_lines(problem, tmp_path)]
    calls = pstats.Stats(profile).total_calls  # type: ignore[attr-defined]  # what the module's stubs lack
    assert calls < MOST_CALLS
    assert max(map(len, printed), default=0) < 1000
