"""Size and form of journals and bores from two-point readings.

A reading is named by plane and direction, ``front_a`` or ``top_t``: the part
after the last underscore is the direction.  Where one word is all there is, a
letter, an angle or a word of direction is a direction (``a b``, ``v 60l``),
and anything else, a number too, is a plane (``front rear``, ``1 2 3``).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from .uncertainty import Measured

Readings = Mapping[str, Measured]  # column name: value

_ANGLE = re.compile(r"at_(-?\d+(?:\.\d+)?)")
# columns of a journal or bore that are no diameters: scores, fillet radii, the wall of its cylinder
BESIDE = ("score_depth", "fillet", "wall")


# a word by itself that is a direction: a letter, an angle with its side, or how the trade calls one
DIRECTION = re.compile(
    r"[a-z]|\d+(?:[a-z]|deg)|thrust|axial|across|along|vertical|horizontal|sideways|upright", re.IGNORECASE
)


class Form(Struct, frozen=True):
    """Size and form of one journal or bore [unit of its readings].

    ``out_of_round`` and ``taper`` are None where too few readings exist.
    """

    largest: Measured
    smallest: Measured
    out_of_round: Measured | None
    taper: Measured | None


def is_size(column: str) -> bool:
    """Whether a column of a journal or bore reads its diameter.

    Source: naming rule of this project.

    >>> is_size("front_a"), is_size("score_depth"), is_size("wall_t"), is_size("wallop")
    (True, False, False, True)
    """
    return not any(column == name or column.startswith(f"{name}_") for name in BESIDE)


def angle_of(column: str) -> float | None:
    """The angle at which a column is read [deg]; None of one that is read at none.

    Source: naming rule of this project.

    >>> angle_of("at_45"), angle_of("at_-20"), angle_of("at_flange")
    (45.0, -20.0, None)
    """
    found = _ANGLE.fullmatch(column)
    return float(found[1]) if found else None


def sizes(readings: Readings) -> dict[str, Measured]:
    """The diameters among the readings of one journal or bore.

    Source: naming rule of this project.
    """
    return {column: value for column, value in readings.items() if is_size(column)}


def beside(readings: Readings, what: str) -> list[Measured]:
    """The readings of one thing beside the diameters: ``wall``, ``wall_t`` ...

    Source: naming rule of this project.
    """
    return [value for column, value in readings.items() if column == what or column.startswith(f"{what}_")]


def plane_and_direction(column: str) -> tuple[str, str]:
    """``front_60l`` is the plane front in the direction 60l; of a word by itself what it names.

    Source: naming rule of this project.

    >>> plane_and_direction("front_60l"), plane_and_direction("middle"), plane_and_direction("a")
    (('front', '60l'), ('middle', ''), ('', 'a'))
    """
    plane, _, direction = column.rpartition("_")
    if plane:
        return plane, direction
    return ("", column) if DIRECTION.fullmatch(column) else (column, "")


def number_of(place: str) -> int | None:
    """The number in the name of a place, which tells its cylinder or its bearing; of two nobody can say.

    Source: naming rule of this project.

    >>> number_of("C04"), number_of("I2b"), number_of("left"), number_of("C1-C2")
    (4, 2, None, None)
    """
    found = re.fullmatch(r"\D*(\d+)\D*", place)
    return int(found[1]) if found else None


def by_plane(readings: Readings) -> dict[str, dict[str, Measured]]:
    """Readings sorted into planes: plane, then direction.

    Source: naming rule of this project.
    """
    planes: dict[str, dict[str, Measured]] = {}
    for column, value in readings.items():
        plane, direction = plane_and_direction(column)
        planes.setdefault(plane, {})[direction] = value
    return planes


def largest(values: Iterable[Measured]) -> Measured:
    """The largest of several values; the first of equals.

    Of intervals it reaches as high as any of them, and from as low as the highest begins.

    Source: common practice: size is largest and smallest, never the mean alone.

    >>> gap = largest([Measured(0.05, below=0.05), Measured(0.03, above=0.01)])  # <0.05, and a leaf of 0.03
    >>> gap.value, round(gap.below, 6), gap.above
    (0.05, 0.02, 0.0)
    """
    several = list(values)
    top = max(several, key=lambda one: (one.value + one.above, one.value))
    start = max(one.value - one.below for one in several)
    return replace(top, below=max(0.0, top.value - start)) if top.below else top


def smallest(values: Iterable[Measured]) -> Measured:
    """The smallest of several values; the first of equals.

    Source: common practice: size is largest and smallest, never the mean alone.
    """
    several = list(values)
    bottom = min(several, key=lambda one: (one.value - one.below, one.value))
    end = min(one.value + one.above for one in several)
    return replace(bottom, above=max(0.0, end - bottom.value)) if bottom.above else bottom


def ends(values: Sequence[float]) -> tuple[int, int]:
    """Which of several values is the largest, and which other one the smallest.

    Two that are equal are still two observations.  Of a lone value it is itself.

    Source: JCGM 100:2008, 5.2: each reading has its own doubt, whatever the digits that it shows.

    >>> ends([2.0, 5.0, 1.0]), ends([3.0, 3.0, 3.0]), ends([3.0])
    ((1, 2), (0, 1), (0, 0))
    """
    high = max(range(len(values)), key=values.__getitem__)
    others = [i for i in range(len(values)) if i != high] or [high]
    return high, min(others, key=values.__getitem__)


def spread(values: Iterable[Measured]) -> Measured:
    """Largest minus smallest: only what these two observations share cancels, though they be equal.

    Chance widens the spread of n readings where they are alike (of two by 1.13 standard deviations, ISO
    7870-2, d2), and not where the part is out of round.  That is left in: it never passes a bad part, and
    a good one stands by its guard.  End float alone, levered anew each time, scatters so much that it is
    taken off.

    Source: common practice (two-point method, as in ISO 14405-1 local sizes); JCGM 100:2008, 5.2.

    >>> from .uncertainty import DoubtSource
    >>> same = [Measured(55.0, {DoubtSource("reading", where): 0.003}) for where in "ab"]
    >>> spread(same).value, round(spread(same).u, 5)
    (0.0, 0.00424)
    """
    several = list(values)
    high, low = ends([measured.value for measured in several])
    return several[high] - several[low]


def form(readings: Readings) -> Form:
    """Largest, smallest, out-of-round and taper [unit of the readings].

    Out-of-round: the largest difference between directions within one plane.
    Taper: the largest difference between planes within one direction.  A
    two-point reading cannot see an odd number of lobes: three points can.

    Source: common practice of engine inspection; ISO 14405-1 two-point size.

    >>> m = {"front_a": 75.968, "front_b": 75.964, "rear_a": 75.966, "rear_b": 75.962}
    >>> f = form({column: Measured(value) for column, value in m.items()})
    >>> f.largest.value, f.smallest.value, round(f.out_of_round.value, 6), round(f.taper.value, 6)
    (75.968, 75.962, 0.004, 0.002)
    """
    planes = by_plane(readings)
    directions: dict[str, list[Measured]] = {}
    for plane in planes.values():
        for direction, value in plane.items():
            directions.setdefault(direction, []).append(value)
    return Form(
        largest(readings.values()),
        smallest(readings.values()),
        _largest_spread(plane.values() for plane in planes.values()),
        _largest_spread(directions.values()),
    )


def _largest_spread(groups: Iterable[Collection[Measured]]) -> Measured | None:
    spreads = [spread(group) for group in groups if len(group) > 1]
    # of several as wide as each other the least sure one: no verdict is surer than that
    return max(spreads, key=lambda width: (width.value, width.u)) if spreads else None
