"""Which shell halves: by the stamped codes, and from measurement.

A housing code and a journal code index a table that gives the shell grade.
Codes tell what fitted when the engine was made; after any grinding, honing or
exchange they tell nothing.  From measurement: the pair of halves whose
predicted clearance surely lies inside the limits, and nearest to the target.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct

from ...quantities import Sentence, Text, message
from ..engine.bearings import UPPER_LOWER, Clearance, wall_from_band
from ..measuring.uncertainty import Measured
from ..measuring.verdict import DUST, Ends, guard_band, inside, reach
from .selection import Piece, SelectionOption

# distances from the target are weighed up in whole steps of this
STEP = 0.0001  # mm

Fitness = Literal["inside", "too close", "too tight", "too large"]
Band = tuple[float, float]


class Grade(Struct, frozen=True):
    """One grade of shell half: its name and the band of its wall at the crown [mm]."""

    name: str
    low: float
    high: float

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2.0


class Pair(Struct, frozen=True):
    """An upper and a lower half tried at one bearing, and the clearance that they would give [mm]."""

    upper: str
    lower: str
    smallest: float
    largest: float
    mean: float
    u: float  # standard uncertainty of the smallest and the largest, with the halves' own bands
    fitness: Fitness
    whole: bool = False  # one bush, and not two halves

    @property
    def name(self) -> str:
        return "/".join(self.grades)

    @property
    def grades(self) -> tuple[str, ...]:
        """Of each piece."""
        return (self.upper,) if self.whole else (self.upper, self.lower)

    def off(self, target: float) -> int:
        """How far the mean lies from the target, in steps of 0.1 µm."""
        return round(abs(self.mean - target) / STEP)


def grade_by_codes(
    rows: Mapping[str, Sequence[str]], columns: Sequence[str], housing: str, journal: str
) -> str | None:
    """The grade at the crossing of a housing code and a journal code; None where the table lacks one.

    Source: common practice: two-code tables of service manuals.

    >>> grade_by_codes({"1": ["S1", "S2"], "2": ["S2", "S3"]}, ["A", "B"], "2", "A")
    'S2'
    """
    row = rows.get(housing)
    if row is None or journal not in columns or columns.index(journal) >= len(row):
        return None
    return row[columns.index(journal)]


def halves_of_cell(cell: str) -> tuple[str, str]:
    """Grades of the upper and the lower half that a cell of a code table names: one for both, or S2/S3.

    Source: common practice: some tables give the two halves a grade each.

    >>> halves_of_cell("S2"), halves_of_cell("S2/S3")
    (('S2', 'S2'), ('S2', 'S3'))
    """
    upper, _, lower = cell.partition("/")
    return upper, lower or upper


def codes_of(size: Measured, bands: Mapping[str, Band], guarded: bool = True) -> list[str]:
    """The codes whose band a size may lie in, the likeliest first; none where it lies in no band [mm].

    A size on the border of two bands belongs to the one above it.  With
    ``guarded`` the neighbour joins in where the border lies within 1.645 u.

    Source: common practice (each band from its low end up to the next).

    >>> bands = {"1": (52.000, 52.006), "2": (52.006, 52.012)}
    >>> codes_of(Measured(52.0035), bands), codes_of(Measured(52.006), bands)
    (['1'], ['2'])
    """
    guard = guard_band(size.u, guarded)
    top = max((high for _, high in bands.values()), default=0.0)

    def holds(band: Band) -> bool:
        low, high = band
        return low - DUST <= size.value < high - DUST or (high == top and abs(size.value - high) <= DUST)

    def near(band: Band) -> bool:
        return guard > 0.0 and band[0] - guard - DUST <= size.value <= band[1] + guard + DUST

    def rank(name: str) -> tuple[bool, float]:
        return not holds(bands[name]), abs(size.value - sum(bands[name]) / 2.0)

    return sorted((name for name, band in bands.items() if holds(band) or near(band)), key=rank)


def _clearances(bore: Band, pin: Band, both: Sequence[Band]) -> Band:
    """Least and greatest clearance [mm] that a bore, a journal and the walls of two halves can leave."""
    least = bore[0] - pin[1] - sum(high for _, high in both)
    return round(least, 6), round(bore[1] - pin[0] - sum(low for low, _ in both), 6)


def table_faults(
    rows: Mapping[str, Sequence[str]],
    columns: Sequence[str],
    housings: Mapping[str, Band],
    journals: Mapping[str, Band],
    walls: Mapping[str, Band],
    limits: Ends,
) -> list[tuple[str, str, float, float]]:
    """Cells whose grade can leave the limits: housing code, journal code, least and greatest clearance [mm].

    Each band is taken from end to end.

    Source: limits of a chain of sizes, worst case (as for ISO 286 fits).

    >>> table_faults({"1": ["S1"]}, ["A"], {"1": (52.000, 52.006)}, {"A": (47.994, 48.000)},
    ...              {"S1": (1.9865, 1.9895)}, (0.025, 0.042))
    [('1', 'A', 0.021, 0.039)]
    """
    faults = []
    for housing, grades in rows.items():
        bore = housings.get(housing)
        for journal, grade in zip(columns, grades, strict=False):
            two = halves_of_cell(grade)
            if bore is None or journal not in journals or not walls.keys() >= {*two}:
                continue
            least, most = _clearances(bore, journals[journal], [walls[half] for half in two])
            if not (inside(least, 0.0, limits) and inside(most, 0.0, limits)):
                faults.append((housing, journal, least, most))
    return faults


def band_faults(bands: Mapping[str, Band]) -> list[tuple[str, str, float]]:
    """Neighbouring bands that leave a gap (positive) or overlap (negative), with its width [mm].

    Source: common practice: bands of a classification join.

    >>> band_faults({"1": (52.000, 52.006), "2": (52.007, 52.012)})
    [('1', '2', 0.001)]
    """
    ordered = sorted(bands.items(), key=lambda item: item[1])
    faults = []
    for (one, (_, high)), (other, (low, _)) in pairwise(ordered):
        if abs(low - high) > DUST:
            faults.append((one, other, round(low - high, 9)))
    return faults


def halves(
    grades: Sequence[Grade], mix: Literal["adjacent", "any", "none"] = "none", cells: Sequence[str] = ()
) -> list[tuple[Grade, Grade]]:
    """The (upper, lower) halves that may be put together, equal ones first.

    ``cells`` are those of the maker's code table: what it puts together may be.

    Source: common practice: unlike halves only where the maker allows it, and
    then of neighbouring grades.

    >>> ones = [Grade("S1", 1.986, 1.989), Grade("S2", 1.989, 1.992), Grade("S3", 1.992, 1.995)]
    >>> [f"{a.name}/{b.name}" for a, b in halves(ones, "adjacent")]
    ['S1/S1', 'S2/S2', 'S3/S3', 'S1/S2', 'S2/S1', 'S2/S3', 'S3/S2']
    """
    by_wall = sorted(grades, key=lambda grade: (grade.middle, grade.name))
    reach = {"none": 0, "adjacent": 1, "any": len(by_wall)}[mix]
    pairs = [(grade, grade) for grade in by_wall]
    for i, one in enumerate(by_wall):
        for other in by_wall[i + 1 : i + 1 + reach]:
            pairs += [(one, other), (other, one)]
    known = {grade.name: grade for grade in grades}
    for upper, lower in map(halves_of_cell, dict.fromkeys(cells)):
        if upper in known and lower in known and (known[upper], known[lower]) not in pairs:
            pairs.append((known[upper], known[lower]))
    return pairs


def tried(
    room: Clearance, upper: Grade, lower: Grade, limits: Ends, guarded: bool = True, whole: bool = False
) -> Pair:
    """A pair of halves tried at a bearing, or a ``whole`` bush, whose one wall counts twice [mm].

    ``room`` is the bearing without its walls: housing less journal, plane by
    plane.  The clearance surely lies inside the limits where its smallest and
    its largest do so by the guard band.

    Source: ISO 14253-1 (guard band); JCGM 100:2008, 4.3.7 (bands).

    >>> from ..engine.bearings import Clearance
    >>> bare = Clearance(Measured(4.013), Measured(4.015), Measured(4.014), {})
    >>> s2 = Grade("S2", 1.9895, 1.9925)
    >>> pair = tried(bare, s2, s2, (0.018, 0.042))
    >>> round(pair.mean, 4), pair.fitness
    (0.032, 'inside')
    """
    under = "upper" if whole else "lower"  # two halves are not the same piece, a bush is
    walls = wall_from_band(upper.low, upper.high, "upper") + wall_from_band(lower.low, lower.high, under)
    smallest, largest, mean = (bare - walls for bare in (room.smallest, room.largest, room.mean))
    u = max(smallest.u, largest.u)
    (least, up), (down, most) = reach(smallest, guarded), reach(largest, guarded)
    low, high = limits
    fitness: Fitness = "too close"
    if inside(smallest.value, least, (low, None)) and inside(largest.value, most, (None, high)):
        fitness = "inside"
    elif low is not None and smallest.value < low - up - DUST:
        fitness = "too tight"
    elif high is not None and largest.value > high + down + DUST:
        fitness = "too large"
    return Pair(upper.name, lower.name, smallest.value, largest.value, mean.value, u, fitness, whole)


def option(
    pair: Pair, target: float, named: tuple[str, ...] = UPPER_LOWER, family: str = ""
) -> SelectionOption:
    """A pair as an option of ``selection.choose``: a half of each of its grades, ``named`` as they are.

    Of a whole bush it takes one.  ``family``: of what crank the shells are for.

    Source: common practice: halves are counted separately.

    >>> found = option(Pair("S3", "S4", 0.030, 0.032, 0.031, 0.0, "inside"), 0.030)
    >>> [f"{half.which} {half.grade}" for half in found.parts], found.off
    (['upper S3', 'lower S4'], 10)
    """
    parts = (Piece(which, grade, family) for which, grade in zip(named, pair.grades, strict=True))
    return SelectionOption(tuple(parts), pair.off(target))


def mismatch(
    stamped_housing: str,
    stamped_journal: str,
    housing: Measured,
    journal: Measured,
    housings: Mapping[str, Band],
    journals: Mapping[str, Band],
) -> list[Text]:
    """Possible reasons why a measured bearing is not what its codes say; none where it is (common practice).

    A shaft wears smaller and a bore is honed larger, so the side on which a
    size lies tells what may have happened, and what cannot.

    >>> from rebuildreport.quantities import english
    >>> bands = {"1": (52.0, 52.006)}, {"A": (47.994, 48.0)}
    >>> [english(reason) for reason in mismatch("1", "A", Measured(52.003), Measured(47.991), *bands)]
    ['journal below its band A: worn or polished, the code misread, or another crank']
    """
    of_journal = _JOURNAL_LIES.get(_side(journal, journals.get(stamped_journal)))
    of_housing = _HOUSING_LIES.get(_side(housing, housings.get(stamped_housing)))
    return [
        *([Sentence(of_journal, stamped_journal=stamped_journal)] if of_journal else []),
        *([Sentence(of_housing, stamped_housing=stamped_housing)] if of_housing else []),
    ]


# why a size may lie beside the band that its code stands for
_JOURNAL_LIES = message(
    {
        "below": "journal below its band {stamped_journal}: worn or polished, the code misread, "
        "or another crank",
        "above": "journal above its band {stamped_journal}, which no wear explains: the code misread "
        "or read from the other end, another crank, or the measuring",
    }
)
_HOUSING_LIES = message(
    {
        "above": "housing above its band {stamped_housing}: honed before, stretched, the code "
        "misread, or another block",
        "below": "housing below its band {stamped_housing}: a cap exchanged or filed, the bolts not "
        "tightened as stated, the code misread, or another block",
    }
)


def _side(size: Measured, band: Band | None) -> Literal["", "below", "above"]:
    """The side of its band on which a size surely lies, if on any."""
    if band is None:
        return ""
    guard = guard_band(size.u) + DUST
    if size.value < band[0] - guard:
        return "below"
    return "above" if size.value > band[1] + guard else ""
