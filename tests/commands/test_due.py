"""``due``: what waits for whom, for people, as a calendar."""

from __future__ import annotations

from pathlib import Path

import icalendar
import pytest

from rebuildreport.commands.main import run

from ..assess.bench import JOB, Bench

ASKED = (
    "asked:\n  - date: 2026-03-05\n    what: grind or exchange\n    by: 2026-03-12\npromised: 2026-03-30\n"
)


@pytest.fixture
def words(tmp_path: Path) -> list[str]:
    bench = Bench(tmp_path, "journals:\n  kind: journal\n  part: crankshaft\n  positions: M1\n  columns: a\n")
    bench.write("job.yaml", JOB + ASKED)
    return ["due", "--shop", str(bench.shop), "--on", "2026-03-20"]


def test_on_the_terminal(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(words) == 0
    said = capsys.readouterr().out
    assert "1 engine in the house" in said and "The customer’s word: 1" in said
    assert "waits for the customer: grind or exchange, named for 2026-03-12, since 5 March, 15 days" in said
    assert "next: ask again" in said  # the answer is eight days late
    assert "2026-03-12  job-1: answer to “grind or exchange”: 8 days over" in said
    assert "promised for 2026-03-30: in 10 days" in said


def test_as_a_calendar(words: list[str], capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    assert run([*words, "--ical"]) == 0
    events = icalendar.Calendar.from_ical(capfdbinary.readouterr().out).walk("VEVENT")
    assert sorted(str(event.decoded("DTSTART")) for event in events) == ["2026-03-12", "2026-03-30"]
