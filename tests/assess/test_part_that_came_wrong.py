"""What is wrong with a part that was bought is between shop and supplier: no sum waits for the customer."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.quantities import english

from .bench import Bench

SKIRTS = """\
skirts:
  kind: readings
  title: Piston skirts
  part: pistons
  positions: C1 C2
  columns: skirt
  unit: mm
  new:
    skirt: 72.970 to 73.000
  wear:
    skirt: min 72.940
  replace_with: P
  source: manual page 20
"""
WORK = """\
decisions:
  W1:
    about: skirts
    do: {do}
    why: scuffed
    by: shop
    date: 2026-03-05
labour:
  - task: all of it
    hours: 10.0
parts:
  - part: P
    quantity: 2
    why: scuffed
    for: W1
"""


def job(folder: Path, do: str, second: str) -> Assessment:
    bench = Bench(folder, SKIRTS, rest="parts:\n  P:\n    name: piston\n    price: 50.00\n")
    table = "skirts:\n  unit: mm\n  instrument: mic\n  columns: skirt\n  rows:\n"
    bench.round("arrival", "2026-03-02", f"{table}    C1:  72.931\n    C2:  72.930\n")
    bench.write("work.yaml", WORK.format(do=do))
    bench.round("later", "2026-03-10", f"{table}    C1:  72.985\n    C2:  {second}\n")
    return bench.assess()


@pytest.mark.parametrize("second", ["7.2984", "72.484", "72.930"])
def test_a_new_piston_that_reads_wrong_is_asked_about_and_stops_no_work(tmp_path: Path, second: str) -> None:
    replaced = job(tmp_path / "new", "replace", second)
    assert not replaced.cost.not_priced and not replaced.cost.minimum
    assert any("skirts" in english(one) for one in replaced.to_decide)


def test_of_what_is_used_again_nobody_knows_what_it_will_take(tmp_path: Path) -> None:
    assert job(tmp_path, "reuse", "7.2984").cost.minimum
