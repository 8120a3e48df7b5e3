"""Each side of a limit is judged on the reading that is worst for it, for every kind; warm or cold.

That a part with one bad place is no better for another place that is bad the other way is common practice: a
mean of both hides them.  COMPUTED: every pair of places, moved apart, is tried against the verdict on one.
"""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from rebuildreport.assess.measure.judging import opinion
from rebuildreport.assess.model.assessment import Limits, LimitSource
from rebuildreport.quantities import NOTHING, english
from rebuildreport.records.files.shop import Shop
from rebuildreport.trade.kinds import KINDS, Inputs
from rebuildreport.trade.measuring.uncertainty import DoubtSource, Measured
from rebuildreport.trade.measuring.verdict import ORDER

from .bench import Bench

FOUR = ("front_a", "front_b", "rear_a", "rear_b")
# kinds that make one value of several readings, with columns that a sheet might have; the size when good
SEVERAL: dict[str, tuple[tuple[str, ...], float]] = {
    "journal": (FOUR, 50.0),
    "bore": (FOUR, 50.0),
    "guide": (("guide_top", "guide_middle", "guide_end", "stem_top", "stem_middle", "stem_end"), 8.0),
    "hardness": (("a", "b", "c", "d"), 55.0),
    "backlash": (("t1", "t2", "t3", "t4"), 0.12),
    "liner_protrusion": (("front", "rear", "left", "right"), 0.10),
    "piston_protrusion": (("front", "rear"), 0.40),
    "deck_clearance": (("front", "rear"), 0.40),
    "deck_height": (("front", "rear"), 220.0),
    "straightedge": (("one", "two"), 0.0),
    "chain": (("length_20_a", "length_20_b"), 190.5),
}
# each reading is judged by itself, or there is one of a kind, or the readings are of two things
BY_ITSELF = {
    "readings", "oil_pressure", "oil_pump", "crack_test", "tensioner", "valve_seat", "installed_height",
    "spring_length", "spring_load", "valve_clearance", "lobe", "rod_alignment", "matched", "leak_down",
    "compression", "ring_gap", "ring_side", "shells", "shell_crush", "shell_spread",
}  # fmt: skip
# smallest and largest are values of their own, each judged on both sides
BOTH_ENDS = {"bearing_clearance", "running_fit", "fit"}
# how far from flat, straight, or round about an axis: it has one side only
DEVIATIONS = {"runout", "main_line", "flatness_grid"}
# levered again and again: the largest is the float, and a smaller one was not levered home
REPEATED = {"end_float"}
MEANS = {"compression_ratio"}  # a volume is one, however often it was read
HALF = {"guide": 0.004, "hardness": 7.0, "backlash": 0.06, "journal": 0.01, "bore": 0.01}


def test_every_kind_has_a_place_here() -> None:
    known = [{*SEVERAL}, BY_ITSELF, BOTH_ENDS, DEVIATIONS, REPEATED, MEANS]
    assert set(KINDS) == set().union(*known)
    assert sum(map(len, known)) == len(KINDS)


def worst(name: str, readings: dict[str, float]) -> int:
    """The worst verdict on the readings of one position, within equal limits on both sides of good ones."""
    kind = KINDS[name]
    columns, good = SEVERAL[name]
    shop = Shop.model_construct(decision_rule="simple")

    def inputs(values: dict[str, float]) -> Inputs:
        read = {
            column: Measured(value, {DoubtSource("reading", column): 1e-6})
            for column, value in values.items()
        }
        given = {"pitch": 9.525, "pitches": 20.0, "pitch_circle": 100.0}
        return Inputs(("P",), columns, {"P": read}, given=given)

    perfect = {item.name: item.measured for item in kind.compute(inputs(dict.fromkeys(columns, good)))}
    found = []
    for item in kind.compute(inputs(readings)):
        middle = perfect[item.name]
        assert middle is not None
        half = HALF.get(name, 0.05)
        ends = (middle.value - half, middle.value + half)
        limits = Limits(ends, (None, None), ends, "new", LimitSource(NOTHING))
        found.append(opinion(item, kind.trait(item.name), limits, True, shop).verdict)
    return min(map(ORDER.index, found))


@pytest.mark.parametrize("name", SEVERAL)
def test_two_bad_places_are_no_better_than_one(name: str) -> None:
    columns, good = SEVERAL[name]
    tries = 0
    for one, other in permutations(columns, 2):
        pair = {one.split("_")[0], other.split("_")[0]}
        if name == "guide" and len(pair) > 1:
            continue  # a thicker stem in a wider guide is no worse
        for up in (1.0, -1.0):
            for far in (1.2, 3.0):
                step = up * far * HALF.get(name, 0.05)
                bad = dict.fromkeys(columns, good) | {one: good + step}
                before = worst(name, bad)
                for back in (0.5, 1.0, 1.5, 4.0):
                    apart = bad | {other: good - back * step}
                    assert worst(name, apart) <= before, (bad, apart)
                    tries += 1
    assert tries >= 16


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
    found = bench.assess().find("fit.largest_clearance C1 @arrival")
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
    found = bench.assess().find("edge.gap one @arrival")
    assert found is not None and (found.verdict, advice in english(found.advice)) == (verdict, True)
