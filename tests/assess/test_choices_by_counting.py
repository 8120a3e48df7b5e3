"""What is chosen from a shelf, on small jobs drawn at random: COMPUTED by counting every way through.

Infeasible ones are among them: then as many places as can be are served, and the others are named.
"""

from __future__ import annotations

import itertools
import math
import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.assess.model.choice import Choice
from rebuildreport.quantities import english

from .bench import Bench

FEW = settings(max_examples=25)
PISTONS = """\
bores:
  kind: bore
  positions: C1 to C3
  columns: top_t
  unit: mm
  new:
    size: 80.000 to 80.030
skirts:
  kind: readings
  positions: C1 to C3
  columns: skirt
  unit: mm
  classes:
    A: 79.960 to 79.962
    B: 79.970 to 79.972
    C: 79.980 to 79.982
fit:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  target: 0.035
  new:
    clearance: 0.025 to 0.045
"""
MIDDLES = {"A": 79961, "B": 79971, "C": 79981}  # µm, anywhere within 1: 95 % one-sided of its 1/√3
ANYWHERE = 1.645 / math.sqrt(3.0)


def bench(sheet: str, rest: str = "") -> Bench:
    return Bench(Path(tempfile.mkdtemp()), sheet, rest=rest)


def chosen(made: Bench, name: str) -> Choice:
    return next(one for one in made.assess().choices if one.name == name)


@FEW
@given(
    bores=st.lists(st.integers(79990, 80030), min_size=3, max_size=3),
    shelf=st.lists(st.integers(0, 2), min_size=3, max_size=3),
)
def test_pistons_from_the_shelf(bores: list[int], shelf: list[int]) -> None:
    made = bench(PISTONS)
    counts = " ".join(map(str, shelf))
    stock = f"      columns: A B C\n      rows:\n        count: {counts}\n      no_more: all\n"
    (made.shop / "stock.yaml").write_text(f"engines:\n  n-4:\n    skirts:\n{stock}", encoding="utf-8")
    rows = "".join(f"    C{n}: {size / 1000:.3f}\n" for n, size in enumerate(bores, 1))
    made.round("arrival", "2026-03-02", f"bores:\n  instrument: gauge\n  columns: top_t\n  rows:\n{rows}")
    made.write(
        "findings.yaml",
        "findings:\n  F1:\n    component: skirts\n    seen: scuffed\n    disposition: replace\n",
    )
    best = None
    for way in itertools.product([None, *MIDDLES], repeat=3):
        used = [label for label in way if label]
        if any(used.count(label) > count for label, count in zip("ABC", shelf, strict=True)):
            continue
        spaces = [size - MIDDLES[label] for size, label in zip(bores, way, strict=True) if label]
        if all(25 + ANYWHERE <= space <= 45 - ANYWHERE for space in spaces):
            off = sum(abs(space - 35) for space in spaces)
            best = min(best or (3, 0), (way.count(None), off))
    found = chosen(made, "skirts")
    without = [place for place in found.places if place.status == "none fits"]
    off = sum(abs((place.middle or 0.0) * 1000 - 35) for place in found.places if place not in without)
    assert (len(without), round(off)) == (best or (3, 0))
    assert found.status == ("none fits" if without else "chosen")
    assert len(found.impossible) == len(without)


@FEW
@given(
    heights=st.lists(st.integers(0, 45), min_size=2, max_size=2),
    ends=st.lists(st.integers(0, 40), min_size=6, max_size=6, unique=True).map(sorted),
)
def test_gaskets_by_the_highest_piston(heights: list[int], ends: list[int]) -> None:
    """A table of bands with gaps between them: the band that the highest piston lies in, or none."""
    bands = {f"G{n}": ends[2 * n : 2 * n + 2] for n in range(3)}
    table = "".join(f"      {name}: above {a / 100} up to {b / 100}\n" for name, (a, b) in bands.items())
    parts = "".join(f"  {name}:\n    name: gasket\n    thickness: 1.{name[1]} mm\n" for name in bands)
    made = bench(
        "protrusion:\n  kind: piston_protrusion\n  positions: C1 C2\n  columns: front\n  unit: mm\n",
        f"choices:\n  gasket:\n    by: protrusion\n    unit: mm\n    table:\n{table}parts:\n{parts}",
    )
    rows = "".join(f"    C{n}: {height / 100:.3f}\n" for n, height in enumerate(heights, 1))
    made.round("arrival", "2026-03-02", f"protrusion:\n  instrument: mic\n  columns: front\n  rows:\n{rows}")
    right = [name for name, (low, high) in bands.items() if low < max(heights) <= high]
    found = next((one for one in made.assess().choices if one.kind == "gasket"), None)
    assert [step.part for step in found.steps if step.chosen] == right if found else not right


SHIMS = """\
lash:
  kind: valve_clearance
  positions: V1 V2 V3
  columns: shim lash
  unit: mm
  new:
    lash: 0.15 to 0.22
"""


def test_no_shim_is_taken_from_a_valve_that_was_not_read() -> None:
    """V1 has 2.60 and wants 2.50, which is in V2, whose clearance nobody read: it may have to stay there."""
    made = bench(SHIMS, "shims:\n  discs:\n    clearance: lash\n    sizes: 2.00 to 3.00 by 0.50 mm\n")
    rows = "    V1: 2.60 0.085\n    V2: 2.50 --\n    V3: 2.70 0.18\n"
    made.round("arrival", "2026-03-02", f"lash:\n  columns: shim lash\n  rows:\n{rows}")
    found = chosen(made, "discs")
    taken = {place.position: (place.source, english(place.answer)) for place in found.places}
    assert taken["V1"] == ("buy", "2.50")
