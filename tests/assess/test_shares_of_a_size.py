"""Limits that are shares of a size, or over a size as found: a gap for each unit of the bore, a press fit.

Handbook figures (MEMORY, common practice): about 0.001 in of oil clearance per inch of journal, so 0.0021 in
on 2.100 in; about 0.004 in of top ring gap per inch of bore, so 0.016 in (0.406 mm) on 4.000 in (101.6 mm).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.quantities import english
from rebuildreport.records.text.fields import limit_or_share

from ..keys import value_key
from .bench import Bench

FEATURES = """\
bores:
  kind: bore
  positions: C1 C2
  columns: top_t low_t
  unit: mm
  oversizes: 1.00 mm
  new:
    size: 101.590 to 101.610
gaps:
  kind: ring_gap
  positions: C1 C2
  columns: top
  unit: mm
  new:
    top: {limit}
"""
GAPS = "gaps:\n  instrument: feelers\n  columns: top\n  rows:\n    C1: 0.41\n    C2: 0.41\n"
BORED = """\
decisions:
  W1:
    about: bores
    positions: C2
    do: recondition
    size: 1.00 mm oversize
    why: worn
    by: shop
    date: 2026-03-05
"""


def test_the_handbooks_figures() -> None:
    oil = limit_or_share("0.0010 to 0.0015 per in of journals").share
    ring = limit_or_share("min 0.004 per in of bores").share
    hundred = limit_or_share("min 0.4 mm per 100 mm of bores").share
    assert oil and ring and hundred
    assert str(oil.on(2.100 * 25.4, "in").at(0.0).low) == "0.0021 in"
    assert str(ring.on(4.000 * 25.4, "in").at(0.0).low) == "0.0160 in"
    assert ring.on(101.6, "mm").at(0.0).low == hundred.on(101.6, "mm").at(0.0).low


def test_a_limit_is_of_the_size_that_its_place_has(tmp_path: Path) -> None:
    """0.41 mm is enough in a bore of 101.6 mm (0.4064), and too little in one of 102.6 mm (0.4104)."""
    bench = Bench(tmp_path, FEATURES.format(limit="0.0040 to 0.0060 per in of bores"))
    bench.write("work.yaml", BORED)
    bench.round("after", "2026-03-08", GAPS)
    found = bench.assess()
    kept, bored = (found.find(value_key(f"gaps.top {place} @after")) for place in ("C1", "C2"))
    assert kept and kept.limits and bored and bored.limits
    assert kept.limits.new == (pytest.approx(0.4064), pytest.approx(0.6096))
    assert kept.verdict == "as new"
    assert bored.limits.new == (pytest.approx(0.4104), pytest.approx(0.6156))
    assert (bored.verdict, english(bored.side)) == ("beyond limit", "too small")
    assert english(bored.limits.size) == "0.0040 to 0.0060 per in of bores, here 102.600 mm"


PRESS = """\
holes:
  kind: bore
  positions: G1 G2 G3
  columns: top_v low_v
  unit: mm
guides:
  kind: journal
  positions: G1 G2 G3
  columns: top_v low_v
  unit: mm
press:
  kind: running_fit
  outer: holes
  inner: guides
  unit: mm
  new:
    clearance: -0.050 to -0.020
"""
PRESSED = """\
holes:
  columns: top_v low_v
  rows:
    G1: 13.010 13.012
    G2: 13.010 13.010
    G3: 13.110 13.110
guides:
  instrument: mic
  columns: top_v low_v
  rows:
    G1: 13.045 13.045
    G2: 13.070 13.070
    G3: 13.120 13.121
"""


def test_a_press_fit_is_over_each_hole_as_found(tmp_path: Path) -> None:
    """Guides 0.020 to 0.050 over their holes (common practice), whatever each hole was reamed to."""
    bench = Bench(tmp_path, PRESS)
    bench.round("after", "2026-03-08", PRESSED)
    found = bench.assess()
    fits = [found.find(value_key(f"press.smallest_clearance {place} @after")) for place in ("G1", "G2", "G3")]
    assert [(fit.verdict, english(fit.side)) for fit in fits if fit] == [
        ("as new", ""),
        ("beyond limit", "too tight"),
        ("beyond limit", "too large"),
    ]


@pytest.mark.parametrize(
    ("limit", "said", "hint"),
    [
        ("min 0.004 per in of bore", "no feature", "bores"),
        ("min 0.004 per in of the bores", "", ""),
        ("min 0.004 per in", "does not say of which size", "of bores"),
        ("0.004 per in of bores", "does not say which side", "max 0.004"),
        ("min 0.004 per bar of bores", "", ""),
        ("0.02 to 0.05 over bores", "a fit of the two", "-0.050 to -0.020"),
        ("bores + 0.02 to 0.05", "a fit of the two", "-0.050 to -0.020"),
        ("min 0.004 per in of gaps", "no size on the sheet", "gaps, new, size"),
    ],
)
def test_a_share_that_cannot_be_is_told(tmp_path: Path, limit: str, said: str, hint: str) -> None:
    from rebuildreport.records import load_shop

    bench = Bench(tmp_path, FEATURES.format(limit=limit))
    found = [one for one in load_shop(bench.shop).engines["n-4"].problems if one.severity == "error"]
    if said:
        (slip,) = found
        assert slip.quote.strip() == f"top: {limit}"
        assert said in slip.message and hint in slip.suggestion
    else:
        assert bool(found) == ("bar" in limit)


FIT = """\
skirts:
  kind: readings
  positions: C1 C2
  columns: skirt
  unit: mm
  classes:
    A: 101.548 to 101.550
    B: 101.551 to 101.553
fit:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  new:
    clearance: 0.000475 to 0.000525 per mm of bores
"""


def test_a_piston_is_chosen_by_the_limits_of_its_bore(tmp_path: Path) -> None:
    """C1: 101.600 less A is 0.051, of 0.0483 to 0.0533; C2 at 1.00 mm oversize: 102.603 less A 0.054, less
    B 0.051, of 0.0487 to 0.0539: A is inside the one and not the other (half a thousandth a mm)."""
    bench = Bench(tmp_path, FEATURES.format(limit="min 0.3") + FIT, rule="simple")
    bench.write("work.yaml", BORED)
    bench.write(
        "findings.yaml",
        "findings:\n  F1:\n    component: skirts\n    seen: scuffed\n    disposition: replace\n",
    )
    rows = "    C1: 101.600 101.600\n    C2: 102.603 102.603\n"
    bench.round(
        "after", "2026-03-08", f"bores:\n  instrument: gauge\n  columns: top_t low_t\n  rows:\n{rows}"
    )
    (choice,) = (one for one in bench.assess().choices if one.kind == "pistons")
    tried = {
        (place.position, english(one.name)): one.fitness
        for place in choice.places
        for one in place.candidates
    }
    assert tried["C1", "A"] == "inside" and tried["C2", "B"] == "inside"
    assert tried["C2", "A"] == "too close to call"
    assert choice.target == pytest.approx(101.6 * 0.0005)
