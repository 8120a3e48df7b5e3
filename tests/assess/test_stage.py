"""The stage of a job, which nobody types: it follows from what has been recorded (common practice)."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.quantities import english

from .bench import Bench

JOURNALS = """\
journals:
  kind: journal
  part: crankshaft
  positions: M1 M2
  columns: front_a
  unit: mm
  new:
    size: 75.970 to 75.990
  undersizes: 0.25 mm
  source: manual page 1
"""
DECIDED = """\
decisions:
  W1:
    about: journals
    positions: M1
    do: recondition
    size: 0.25 mm undersize
    why: k1 needs a new seat
    by: me
    date: 2026-03-04
sublet:
  - part: crankshaft
    work: grind
    price: 200.00
    for: W1
"""
SENT = "machining:\n  O1:\n    to: the grinder\n    parts: crankshaft\n"
BOUGHT = "orders:\n  - part: shells\n    ordered: 2026-03-05\n"
READ = "journals:\n  columns: front_a\n  instrument: mic\n  rows:\n    M1: 75.730\n"


@pytest.mark.parametrize(
    ("more", "stage"),
    [
        ("", "decision"),  # a price is no order
        (SENT, "decision"),  # written, and still here
        (f"{SENT}    sent: 2026-03-05\n", "machining"),
        (BOUGHT, "machining"),
    ],
)
def test_machining_has_begun_when_something_has_gone_out(tmp_path: Path, more: str, stage: str) -> None:
    bench = Bench(tmp_path, JOURNALS)
    bench.write("work.yaml", DECIDED + more)
    assert bench.assess().stage == stage


def test_what_is_read_after_the_decision_came_back_from_machining(tmp_path: Path) -> None:
    bench = Bench(tmp_path, JOURNALS)
    bench.write("work.yaml", DECIDED)
    bench.round("ground", "2026-03-09", READ)
    assert bench.assess().stage == "machining"


def test_where_nobody_has_summed_up_the_decisions_say_what_is_done(tmp_path: Path) -> None:
    """The action, and not its reason, which a person has typed and nobody changes."""
    bench = Bench(tmp_path, JOURNALS)
    bench.write("work.yaml", DECIDED)
    found = bench.assess()
    assert english(found.did) == "grind journals M1 to 0.25 mm undersize"
    assert found.decisions[0].why == "k1 needs a new seat"
