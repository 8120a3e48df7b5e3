"""What every kind of feature holds, whatever it works out: a kind added to the register is held by itself.

Worse is never better; each side of a limit is judged on what is worst for it; order and units do not matter;
less knowledge is less sure; nothing but a count is known without a doubt.  All of it is COMPUTED: no value is
held against a number, each verdict against the verdict on other readings of the same sheet.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rebuildreport.assess.measure.judging import limits_for, opinion, unit_of
from rebuildreport.assess.measure.observations import occasions
from rebuildreport.assess.measure.timeline import Timeline
from rebuildreport.assess.measure.workings import Workings
from rebuildreport.quantities import Typed
from rebuildreport.records import load_shop
from rebuildreport.records.files.shop import Shop
from rebuildreport.trade.engine.bearings import Walls
from rebuildreport.trade.kinds import KINDS, Computed, Inputs, KnownWalls
from rebuildreport.trade.measuring.uncertainty import Measured
from rebuildreport.trade.measuring.verdict import ORDER, Name

from .. import DEEPER
from .bench import Bench
from .test_every_kind import ROUND, SHEET

# the kinds that the sheet of test_every_kind.py leaves to others; a new kind goes there, or here
FURTHER = """\
housings:
  kind: bore
  positions: M1 M2
  columns: front_v front_h rear_v rear_h
  unit: mm
  new:
    size: 54.000 to 54.020
    out_of_round: max 0.010
    taper: max 0.010
journals:
  kind: journal
  positions: M1 M2
  columns: front_a front_b rear_a rear_b
  unit: mm
  new:
    size: 49.980 to 50.000
    out_of_round: max 0.006
    taper: max 0.006
halves:
  kind: shells
  positions: M1 M2
  columns: upper lower
  unit: mm
  wall: 1.980 to 1.990
bearings:
  kind: bearing_clearance
  positions: M1 M2
  housing: housings
  shells: halves
  journal: journals
  crush_read: crushed
  ring: 8.0 mm
  unit: mm
  new:
    clearance: 0.030 to 0.070
crushed:
  kind: shell_crush
  positions: M1 M2
  columns: crush
  unit: mm
cylinders:
  kind: bore
  positions: C1 C2
  columns: top_t top_a low_t low_a
  unit: mm
  new:
    size: 86.000 to 86.020
skirts:
  kind: journal
  positions: C1 C2
  columns: skirt_t
  unit: mm
  new:
    size: 85.940 to 85.960
piston_fit:
  kind: fit
  outer: cylinders
  inner: skirts
  unit: mm
  new:
    clearance: 0.040 to 0.080
gaps:
  kind: ring_gap
  positions: C1 C2
  columns: top second
  unit: mm
  new:
    top: 0.30 to 0.45
    second: 0.30 to 0.45
liners:
  kind: liner_protrusion
  positions: C1 to C3
  columns: front rear left right
  unit: mm
  new:
    protrusion: 0.05 to 0.12
    spread: max 0.03
    neighbours: max 0.03
guides:
  kind: guide
  positions: E1
  columns: guide_top guide_low stem_top stem_low
  unit: mm
  new:
    clearance: 0.020 to 0.060
float:
  kind: end_float
  positions: crank
  columns: end_float
  unit: mm
  new:
    end_float: 0.08 to 0.25
timed:
  kind: cam_timing
  positions: I1
  columns: opens closes
  unit: deg
  at_lift: 1.00 mm
  new:
    centre: 104 to 108
    duration: 200 to 210
opened:
  kind: cam_lift
  positions: I1
  columns: at_-10 at_0 at_10
  unit: mm
  new:
    at_0: 1.1 to 1.3
clay:
  kind: valve_to_piston
  positions: I1
  columns: a b
  unit: mm
  new:
    gap: 2.0 to 4.0
wire:
  kind: squish
  positions: C1
  columns: front rear
  unit: mm
  new:
    gap: 0.9 to 1.2
by_deck:
  kind: squish
  depth: below
  gasket_thickness: 0.60 mm
  unit: mm
  new:
    gap: 0.9 to 1.2
below:
  kind: deck_clearance
  positions: C1
  columns: front rear
  unit: mm
valve_depths:
  kind: readings
  positions: I1
  columns: recession
  unit: mm
flat_head:
  kind: compression_ratio
  positions: C1
  depth: below
  bowl_volume: 30.0 cm³
  intake_recess: valve_depths
  intake_head: 40.0 mm
  gasket_thickness: 1.2 mm
  new:
    ratio: 12.0 to 14.0
honed:
  kind: roughness
  positions: C1
  columns: ra rz rpk rk rvk
  unit: mm
  new:
    ra: 0.0003 to 0.0006
    rz: max 0.0050
    rpk: max 0.0003
    rk: 0.0006 to 0.0012
    rvk: 0.0010 to 0.0020
pulley:
  kind: damper
  positions: damper
  columns: slip runout
  unit: mm
  wear:
    slip: max 2.0
    runout: max 0.5
rubber:
  kind: damper
  positions: ring
  columns: hardness
  unit: ShA
  new:
    hardness: 60 to 75
thrust:
  kind: thrust_washer
  positions: front rear
  columns: left right
  unit: mm
  wear:
    thickness: min 2.30
    uneven: max 0.05
turned:
  kind: unbalance
  positions: front rear
  columns: at_0 at_90
  unit: g
  new:
    heavy: max 5
bolts:
  kind: bolt_set
  positions: R1a R1b
  columns: before after
  unit: mm
  wear:
    set: max 0.05
drained_oil:
  kind: oil_analysis
  positions: engine
  columns: iron silicon
  unit: mg/kg
  wear:
    iron: max 100
    silicon: max 20
hot_oil:
  kind: readings
  positions: engine
  columns: idle fast
  unit: bar
  new:
    idle: min 1.0
    fast: 3.0 to 5.0
"""
FURTHER_ROUND = """\
housings:
  columns: front_v front_h rear_v rear_h
  rows:
    M1: 54.010 54.011 54.012 54.010
    M2: 54.005 54.006 54.008 54.007
journals:
  columns: front_a front_b rear_a rear_b
  rows:
    M1: 49.990 49.991 49.989 49.990
    M2: 49.985 49.985 49.985 49.985
halves:
  columns: upper lower
  rows:
    M1: 1.985 1.986
    M2: 1.984 1.985
crushed:
  instrument: feelers
  columns: crush
  rows:
    M1: 0.06
    M2: 0.07
cylinders:
  columns: top_t top_a low_t low_a
  rows:
    C1: 86.010 86.008 86.005 86.006
    C2: 86.012 86.011 86.010 86.010
skirts:
  columns: skirt_t
  rows:
    C1: 85.950
    C2: 85.945
gaps:
  instrument: feelers
  columns: top second
  rows:
    C1: 0.35 0.40
    C2: 0.33 0.38
liners:
  columns: front rear left right
  rows:
    C1: 0.08 0.09 0.08 0.08
    C2: 0.07 0.08 0.09 0.08
    C3: 0.10 0.09 0.09 0.10
guides:
  columns: guide_top guide_low stem_top stem_low
  rows:
    E1: 7.020 7.025 6.985 6.990
float:
  columns: end_float
  rows:
    crank: 0.15
timed:
  columns: opens closes
  rows:
    I1: 3 208
opened:
  columns: at_-10 at_0 at_10
  rows:
    I1: 0.60 1.20 2.05
clay:
  columns: a b
  rows:
    I1: 2.6 2.9
wire:
  columns: front rear
  rows:
    C1: 1.02 1.06
below:
  columns: front rear
  rows:
    C1: 0.42 0.44
valve_depths:
  columns: recession
  rows:
    I1: 1.05
honed:
  columns: ra rz rpk rk rvk
  rows:
    C1: 0.00045 0.0032 0.00020 0.00090 0.00150
pulley:
  columns: slip runout
  rows:
    damper: 0.5 0.2
rubber:
  columns: hardness
  rows:
    ring: 66
thrust:
  columns: left right
  rows:
    front: 2.45 2.46
    rear: 2.44 2.44
turned:
  columns: at_0 at_90
  rows:
    front: 1.5 2.0
    rear: 0.5 1.0
bolts:
  columns: before after
  rows:
    R1a: 62.01 62.03
    R1b: 62.00 62.01
drained_oil:
  columns: iron silicon
  rows:
    engine: 45 9
hot_oil:
  columns: idle fast
  rows:
    engine: 1.5 4.0
"""

Taken = dict[str, dict[str, dict[str, Measured]]]  # feature, position, column
Spot = tuple[str, str, str]
Judged = dict[tuple[str, str], Name]  # position, characteristic: verdict
PASSES = ("as new", "serviceable")


@dataclass(frozen=True)
class Sheet:
    """A sheet with a feature of every kind, and good readings of each."""

    workings: Workings
    good: Taken
    shop: Shop

    def features(self, kind: str) -> list[str]:
        return [name for name, sheet in self.workings.engine.features.items() if sheet.kind == kind]

    def spots(self, name: str) -> list[Spot]:
        """What a feature rests on: its own readings, and those of its partners."""
        sheet = self.workings.engine.features[name]
        links = sheet.links(KINDS[sheet.kind].links).values()
        return [
            (one, position, column)
            for one in dict.fromkeys((name, *links))
            for position, row in self.good.get(one, {}).items()
            for column in row
        ]

    def inputs(self, name: str, taken: Taken) -> Inputs:
        inputs = self.workings.inputs_on(name, lambda one: taken.get(one, {}))
        shells = self.workings.engine.features[name].shells
        walls = {
            position: KnownWalls(Walls(row["upper"], row["lower"]), Typed("read"))
            for position, row in taken.get(shells or "", {}).items()
            if {"upper", "lower"} <= {*row}
        }
        return replace(inputs, walls=walls)

    def computed(self, name: str, taken: Taken) -> list[Computed]:
        return KINDS[self.workings.engine.features[name].kind].compute(self.inputs(name, taken))

    def judged(self, name: str, taken: Taken) -> Judged:
        sheet = self.workings.engine.features[name]
        kind = KINDS[sheet.kind]
        found: Judged = {}
        for item in self.computed(name, taken):
            trait = kind.trait(item.name)
            limits = limits_for(self.workings.engine, sheet, trait, unit_of(sheet, trait), "")
            found[item.position, item.name] = opinion(item, trait, limits, True, self.shop).verdict
        return found

    def width(self, name: str) -> float:
        """By how much a reading has to move before a verdict does, or so."""
        sheet = self.workings.engine.features[name]
        ends = [limit.within(sheet.unit or "") for _, limit in sheet.all_limits if limit.see is None]
        widths = [high - (low or 0.0) for low, high in ends if high is not None]
        return max((width for width in widths if width), default=1.0)


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Sheet:
    bench = Bench(tmp_path_factory.mktemp("kinds"), SHEET + FURTHER, rule="guarded")
    bench.square()
    bench.round("arrival", "2026-03-02", ROUND + FURTHER_ROUND)
    return read(bench)


def read(bench: Bench) -> Sheet:
    folder = load_shop(bench.shop)
    job, engine, shop = folder.jobs["job-1"], folder.engines["n-4"].model, folder.shop
    assert engine is not None and shop is not None
    taken = occasions(shop, engine, job)
    workings = Workings(shop, engine, job, taken, Timeline(engine, job, taken))
    workings.run()
    good = {name: standing.readings for name, standing in workings.standing.items() if standing.readings}
    return Sheet(workings, good, shop)


def test_every_kind_is_here(sheet: Sheet) -> None:
    assert {one.kind for one in sheet.workings.engine.features.values()} == set(KINDS)


def changed(taken: Taken, spots: Mapping[Spot, float]) -> Taken:
    """The readings with some of them moved."""
    return {
        name: {
            position: {
                column: value.shifted(spots.get((name, position, column), 0.0))
                for column, value in row.items()
            }
            for position, row in rows.items()
        }
        for name, rows in taken.items()
    }


def without(taken: Taken, spot: Spot) -> Taken:
    return {
        name: {
            position: kept
            for position, row in rows.items()
            if (kept := {column: v for column, v in row.items() if (name, position, column) != spot})
        }
        for name, rows in taken.items()
    }


def scattered(sheet: Sheet, name: str, seed: int) -> Taken:
    """Readings of what a feature rests on, each somewhere about its good one, and some far off."""
    chance = random.Random(seed)
    width = sheet.width(name)
    moves = {spot: chance.choice((0.0, 0.1, 0.5)) * chance.gauss(0.0, width) for spot in sheet.spots(name)}
    return changed(sheet.good, moves)


each_kind = pytest.mark.parametrize("kind", KINDS)
some = settings(max_examples=12 * DEEPER, deadline=None)
seeds = st.integers(0, 10**6)


@each_kind
def test_worse_is_never_better(sheet: Sheet, kind: str) -> None:
    """What one reading has put beyond its limit stays beyond it, however much further that one goes."""

    @some
    @given(seeds)
    def holds(seed: int) -> None:
        chance = random.Random(seed)
        for name in sheet.features(kind):
            taken = scattered(sheet, name, seed)
            spot, up = chance.choice(sheet.spots(name)), chance.choice((1.0, -1.0)) * sheet.width(name)
            first = sheet.judged(name, taken)
            near = sheet.judged(name, changed(taken, {spot: up * chance.uniform(0.1, 1.5)}))
            far = sheet.judged(name, changed(taken, {spot: up * chance.uniform(1.5, 2.0)}))
            for what, verdict in near.items():
                if verdict == "beyond limit" and first.get(what) != "beyond limit":
                    assert far.get(what, "beyond limit") == "beyond limit", (spot, what)

    holds()


def alike(sheet: Sheet, name: str) -> Iterator[tuple[Spot, Spot]]:
    """Readings of one position that may change places without anything else being worked out."""

    kind = KINDS[sheet.workings.engine.features[name].kind]

    def values(taken: Taken) -> list[tuple[str, str, float]]:
        items = [
            (one.position, kind.trait(one.name).limit, one.measured) for one in sheet.computed(name, taken)
        ]
        return sorted((place, limit, round(it.value, 9)) for place, limit, it in items if it is not None)

    # far apart, so that what is worked out shows whether they are of one sort
    apart = changed(sheet.good, {spot: 0.01 * i * i for i, spot in enumerate(sheet.spots(name))})
    as_it_is = values(apart)
    for one, other in combinations(sheet.spots(name), 2):
        # both walls stand in one gap: what counts is their sum
        of_walls = sheet.workings.engine.features[one[0]].kind == "shells" and kind.name != "shells"
        if one[:2] == other[:2] and not of_walls:
            first, second = (apart[feature][place][column].value for feature, place, column in (one, other))
            if values(changed(apart, {one: second - first, other: first - second})) == as_it_is:
                yield one, other


# a room is one, however often it was read: its mean is what it holds; what is heavy has two parts
MEANS = {"compression_ratio", "unbalance"}
OPEN = ORDER.index("too close to call")


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in MEANS])
def test_each_side_is_judged_on_what_is_worst_for_it(sheet: Sheet, kind: str) -> None:
    """One bad place is no better for another that is bad the other way: no mean of both hides them."""
    pairs = {name: list(alike(sheet, name))[:6] for name in sheet.features(kind)}

    @some
    @given(seeds)
    def holds(seed: int) -> None:
        for name, of_feature in pairs.items():
            taken = scattered(sheet, name, seed)
            for pair in of_feature:
                first, second = (taken[f][p][c].value for f, p, c in pair)
                both = sheet.judged(name, taken)
                for to in (first, second):
                    one = sheet.judged(name, changed(taken, {pair[0]: to - first, pair[1]: to - second}))
                    place = pair[0][1]
                    # where both are bad two readings say so, which are surer than the one
                    assert worst(both, place) <= max(worst(one, place), OPEN), (pair, both, one)

    if any(pairs.values()):
        holds()


def worst(judged: Judged, place: str) -> int:
    """The worst verdict at a position, as a number that is the lower the worse it is."""
    return min(
        (ORDER.index(verdict) for (at, _), verdict in judged.items() if at == place), default=len(ORDER)
    )


@each_kind
def test_what_was_not_read_passes_nothing(sheet: Sheet, kind: str) -> None:
    @some
    @given(seeds)
    def holds(seed: int) -> None:
        chance = random.Random(seed)
        for name in sheet.features(kind):
            taken, spot = scattered(sheet, name, seed), chance.choice(sheet.spots(name))
            whole, part = sheet.judged(name, taken), sheet.judged(name, without(taken, spot))
            for what, verdict in part.items():
                assert verdict not in PASSES or whole[what] in PASSES, (spot, what)

    holds()


@each_kind
def test_more_doubt_is_less_sure(sheet: Sheet, kind: str) -> None:
    """Twice the doubt at every reading turns no verdict over, and makes none surer."""

    def twice(taken: Taken) -> Taken:
        def doubled(value: Measured) -> Measured:
            return replace(
                value,
                parts={source: 2.0 * part for source, part in value.parts.items()},
                below=2.0 * value.below,
                above=2.0 * value.above,
            )

        return {
            name: {place: {c: doubled(v) for c, v in row.items()} for place, row in rows.items()}
            for name, rows in taken.items()
        }

    @some
    @given(seeds)
    def holds(seed: int) -> None:
        for name in sheet.features(kind):
            taken = scattered(sheet, name, seed)
            sure, unsure = sheet.judged(name, taken), sheet.judged(name, twice(taken))
            for what, verdict in unsure.items():
                if verdict == "beyond limit":
                    assert sure[what] == verdict, what
                assert verdict not in PASSES or sure[what] in PASSES, what

    holds()


@each_kind
def test_nothing_but_a_count_is_known_without_a_doubt(sheet: Sheet, kind: str) -> None:
    """Equal readings are as many observations, too."""
    for name in sheet.features(kind):
        counted = sheet.workings.engine.features[name].unit == "count"
        for taken in (sheet.good, *(levelled(sheet, name, spot) for spot in sheet.spots(name)[:2])):
            for item in sheet.computed(name, taken):
                if item.measured is not None:
                    assert (item.measured.u == 0.0) == counted, (name, item.position, item.name)


def levelled(sheet: Sheet, name: str, to: Spot) -> Taken:
    """All readings of one feature at one value, each with its own doubt."""
    feature, place, column = to
    level = sheet.good[feature][place][column].value
    moves = {
        (feature, at, which): level - value.value
        for at, row in sheet.good[feature].items()
        for which, value in row.items()
    }
    return changed(sheet.good, moves)


@each_kind
def test_the_order_of_rows_and_columns_does_not_matter(sheet: Sheet, kind: str) -> None:
    def turned(taken: Taken) -> Taken:
        return {
            name: {place: dict(reversed(row.items())) for place, row in reversed(rows.items())}
            for name, rows in taken.items()
        }

    for name in sheet.features(kind):
        taken = scattered(sheet, name, 7)
        assert sheet.judged(name, taken) == sheet.judged(name, turned(taken))


def test_the_unit_that_was_read_in_does_not_matter(
    sheet: Sheet, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """All lengths in inches, psi for bar, pounds for newtons by their definition (25.4 mm; NIST SP 811)."""
    in_other = {"mm": ("in", 25.4), "bar": ("psi", 0.0689475729), "N": ("lbf", 4.4482216153)}
    text, features = ROUND + FURTHER_ROUND, sheet.workings.engine.features
    tables = re.split(r"^(?=\w)", text, flags=re.MULTILINE)
    made = [
        _converted(table, features[table.partition(":")[0]].unit or "", in_other) for table in tables if table
    ]
    bench = Bench(tmp_path_factory.mktemp("inches"), SHEET + FURTHER, rule="guarded")
    bench.square()
    bench.round("arrival", "2026-03-02", "".join(made))
    other = read(bench)
    for name in features:
        assert sheet.judged(name, fine(sheet.good)) == other.judged(name, fine(other.good)), name


def fine(taken: Taken) -> Taken:
    """With the doubt of the values alone: where nobody named an instrument, it goes by the digits typed."""
    return {
        name: {p: {c: Measured(round(v.value, 5)) for c, v in row.items()} for p, row in rows.items()}
        for name, rows in taken.items()
    }


def _converted(table: str, unit: str, other: Mapping[str, tuple[str, float]]) -> str:
    if unit not in other or "instrument" in table:
        return table
    name, by = other[unit]
    head, rows = table.split("  rows:\n")

    def cell(found: re.Match[str]) -> str:
        return f"{float(found[0]) / by:.7f}"

    lines = [
        place + ":" + re.sub(r"(?<![\w.])-?\d+(?:\.\d+)?", cell, readings)
        for place, _, readings in (line.partition(":") for line in rows.splitlines(True))
    ]
    return f"{head}  unit: {name}\n  rows:\n{''.join(lines)}"
