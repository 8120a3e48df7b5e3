"""Each side of a limit is judged on the reading that is worst for it, for every kind; warm or cold.

That a part with one bad place is no better for another place that is bad the other way is common practice: a
mean of both hides them.  test_kinds_hold.py holds it for every kind; here are a few by hand.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.quantities import english

from ..keys import value_key
from .bench import Bench

COLUMNS = {
    "backlash": "t1 t2 t3 t4",
    "guide": "guide_top guide_middle guide_end stem",
    "hardness": "a b c",
    "piston_protrusion": "front rear",
}


@pytest.mark.parametrize(
    ("name", "row", "limits", "verdict", "side"),
    [
        ("backlash", "0.02 0.09 0.15 0.10", "backlash: 0.08 to 0.20", "beyond limit", "too tight"),
        ("backlash", "0.09 0.09 0.15 0.10", "backlash: 0.08 to 0.20", "as new", ""),
        ("guide", "7.020 6.983 7.021 6.980", "clearance: 0.020 to 0.060", "beyond limit", "too tight"),
        ("hardness", "57.0 56.5 36.0", "hardness: min 48", "beyond limit", "too soft"),
        ("hardness", "57.0 56.5 48.5", "hardness: min 48", "as new", ""),
        ("piston_protrusion", "0.20 0.60", "protrusion: 0.30 to 0.50", "beyond limit", "too low"),
    ],
)
def test_the_worst_place_decides(
    tmp_path: Path, name: str, row: str, limits: str, verdict: str, side: str
) -> None:
    unit, columns = "HRC" if name == "hardness" else "mm", COLUMNS[name]
    head = f"part_one:\n  kind: {name}\n  columns: {columns}\n  positions: P1\n  unit: {unit}\n"
    bench = Bench(tmp_path, f"{head}  new:\n    {limits}\n")
    bench.round("arrival", "2026-03-02", f"part_one:\n  columns: {columns}\n  rows:\n    P1: {row}\n")
    (value,) = [one for one in bench.assess().characteristics if one.round]
    assert (value.verdict, english(value.side)) == (verdict, side)
    # the value stays what its formula says, and the one that decided is named beside it
    assert ("decides" in english(value.note)) == (verdict == "beyond limit")


FIT = """\
bores:
  kind: bore
  material: aluminium
  positions: C1
  columns: top_t
  unit: mm
skirts:
  kind: readings
  material: iron
  positions: C1
  columns: skirt
  unit: mm
fit:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  new:
    clearance: 0.030 to 0.070
"""


@pytest.mark.parametrize(("bore", "verdict"), [("90.080", "too close to call"), ("90.140", "beyond limit")])
def test_a_fit_of_a_warm_part_needs_both_values_to_agree(tmp_path: Path, bore: str, verdict: str) -> None:
    """23e-6 · 90 mm · 15 K take 0.031 off: 0.080 is too large as read, and inside its limits as corrected."""
    bench = Bench(tmp_path, FIT)
    skirts = "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: 90.000\n"
    warm = "bores:\n  instrument: gauge\n  temperature: 35 °C\n  columns: top_t\n  rows:\n    C1: {}\n"
    bench.round("arrival", "2026-03-02", skirts + warm.format(bore))
    found = bench.assess().find(value_key("fit.largest_clearance C1 @arrival"))
    assert found is not None and found.verdict == verdict
    assert found.raw == pytest.approx(float(bore) - 90.0, abs=1e-6)


EDGE = (
    "edge:\n  kind: straightedge\n  positions: one\n  columns: a b\n  unit: mm\n  new:\n    gap: max 0.05\n"
)


@pytest.mark.parametrize(
    ("row", "verdict", "advice"),
    [
        # leaves in steps of 0.01: 0.03 goes in and 0.04 does not
        ("<0.02 0.03", "as new", ""),
        ("<0.05 <0.02", "as new", ""),
        ("0.04<0.07 0.02", "too close to call", "try a leaf of it"),
        ("<0.02 0.06", "beyond limit", ""),
    ],
)
def test_feelers_say_what_goes_in_and_what_does_not(
    tmp_path: Path, row: str, verdict: str, advice: str
) -> None:
    bench = Bench(tmp_path, EDGE, rule="guarded")
    table = f"edge:\n  instrument: feelers\n  columns: a b\n  rows:\n    one: {row}\n"
    bench.round("arrival", "2026-03-02", table)
    found = bench.assess().find(value_key("edge.gap one @arrival"))
    assert found is not None and (found.verdict, advice in english(found.advice)) == (verdict, True)
