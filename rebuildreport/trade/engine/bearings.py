"""Plain bearings: shell walls, clearance per plane, end float."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import chain

from msgspec import Struct
from msgspec.structs import replace

from ..measuring.form import Readings, by_plane, largest, smallest
from ..measuring.uncertainty import DoubtSource, Measured, mean, rectangular


class Walls(Struct, frozen=True):
    """The two shell halves of one position [mm]."""

    upper: Measured
    lower: Measured

    @property
    def both(self) -> Measured:
        """Both walls together; an error of the one micrometer that read both counts twice."""
        return self.upper + self.lower


class Clearance(Struct, frozen=True):
    """Oil clearance of one bearing [mm]: over all planes, and (smallest, largest) by plane."""

    smallest: Measured
    largest: Measured
    mean: Measured
    planes: Mapping[str, tuple[Measured, Measured]]
    alone: tuple[str, ...] = ()  # planes that only one of the two was read in


UPPER_LOWER = ("upper", "lower")
BUSH = ("bush",)


def halves(columns: Sequence[str]) -> tuple[str, ...] | None:
    """Which columns are the two halves of a shell: upper and lower, else the two that there are.

    A column ``bush`` is the one wall of a whole bush, which stands on both sides of its journal.  None
    where they are neither two, nor named upper and lower, nor a bush.

    Source: common practice: halves are named as their housing splits, of a
    flat engine's case left and right, of a big end rod and cap.

    >>> halves(["rod", "cap"]), halves(["upper", "lower", "upper_edge"]), halves(["wall"])
    (('rod', 'cap'), ('upper', 'lower'), None)
    >>> halves(["bush"])
    ('bush',)
    """
    if "bush" in columns:
        return BUSH
    if "upper" in columns and "lower" in columns:
        return ("upper", "lower")
    return (columns[0], columns[1]) if len(columns) == 2 else None


def wall_from_band(low: float, high: float, half: str) -> Measured:
    """A wall known only by its grade: the middle of the band, anywhere in it equally likely [mm].

    ``half`` names the shell half, so that two halves are not taken for one.

    Source: JCGM 100:2008, 4.3.7 (rectangular distribution).

    >>> wall = wall_from_band(1.974, 1.980, "M1 upper")
    >>> round(wall.value, 6), round(wall.u, 5)
    (1.977, 0.00173)
    """
    middle = round((low + high) / 2.0, 9)
    return Measured(middle, {DoubtSource("wall band", half): rectangular((high - low) / 2.0)})


def undersize_wall(standard: tuple[float, float], undersize: float) -> tuple[float, float]:
    """Wall band of an undersize shell: each of the two walls takes half the step [mm].

    Source: common practice (a shell set of undersize s fits a journal ground by s).

    >>> undersize_wall((1.974, 1.980), 0.50)
    (2.224, 2.23)
    """
    low, high = standard
    return round(low + undersize / 2.0, 9), round(high + undersize / 2.0, 9)


def clearance(housing: Readings, walls: Walls, journal: Readings, direction: str = "v") -> Clearance | None:
    """Oil clearance in every plane: housing in the load direction, minus both walls, minus journal [mm].

    Within a plane the largest journal reading gives the smallest clearance
    and the smallest the largest; other directions of the housing feed its
    out-of-round only.  Planes pair by name (a housing or journal read in one
    plane only serves for all); one that the other was not read in is held
    against all that was read of it.  None where one of them has no plane.

    Source: common practice of bearing fitting; wall as in ISO 3548-2, s3.

    >>> w = Walls(Measured(2.227), Measured(2.226))
    >>> h = {"front_v": Measured(80.008), "rear_v": Measured(80.009)}
    >>> j = {"front_a": Measured(75.481), "front_b": Measured(75.480),
    ...      "rear_a": Measured(75.480), "rear_b": Measured(75.479)}
    >>> c = clearance(h, w, j)
    >>> round(c.smallest.value, 6), round(c.largest.value, 6), round(c.mean.value, 6)
    (0.074, 0.077, 0.0755)
    """
    bores = {plane: [ones[direction]] for plane, ones in by_plane(housing).items() if direction in ones}
    journals = {plane: list(ones.values()) for plane, ones in by_plane(journal).items()}
    planes: dict[str, tuple[Measured, Measured]] = {}
    means: list[Measured] = []
    for plane, at, sizes in _paired(bores, journals):
        planes[plane] = (
            smallest(at) - walls.both - largest(sizes),
            largest(at) - walls.both - smallest(sizes),
        )
        means.append(mean(at) - walls.both - mean(sizes))
    if not planes:
        return None
    several = len(bores) > 1 and len(journals) > 1
    return Clearance(
        smallest([low for low, _ in planes.values()]),
        largest([high for _, high in planes.values()]),
        mean(means),
        planes,
        tuple(plane for plane in planes if several and not (plane in bores and plane in journals)),
    )


def _paired(
    bores: Mapping[str, list[Measured]], journals: Mapping[str, list[Measured]]
) -> list[tuple[str, list[Measured], list[Measured]]]:
    """Planes with the bores and the journal readings that meet there; none is left out."""
    if not bores or not journals:
        return []
    every, sizes = (list(chain.from_iterable(planes.values())) for planes in (bores, journals))
    named = [*bores] if len(journals) == 1 else [*journals] if len(bores) == 1 else [*bores, *journals]
    return [(plane, bores.get(plane, every), journals.get(plane, sizes)) for plane in dict.fromkeys(named)]


def end_float(readings: list[Measured]) -> Measured:
    """End float: the largest of the readings, levered both ways [mm].

    The largest of several is too large by what chance adds to it, on the average: it reaches so far down.

    Source: common practice; expected largest of n of a normal distribution, half of the control chart's d2
    (ISO 7870-2).

    >>> found = end_float([Measured(v, {DoubtSource("reading", str(v)): 0.01}) for v in (0.34, 0.35, 0.33)])
    >>> found.value, round(found.below, 4)
    (0.35, 0.0085)
    """
    most = largest(readings)
    by_chance = _LARGEST_OF[min(len(readings), len(_LARGEST_OF)) - 1] * most.share("reading")
    return replace(most, below=most.below + by_chance)


# expected largest of 1, 2, 3 ... standard normal values
_LARGEST_OF = (0.0, 0.5642, 0.8463, 1.0294, 1.1630, 1.2672, 1.3522, 1.4236, 1.4850, 1.5388)


def shims_out(clearance: float, shims: float, leaf: float, limits: tuple[float, float]) -> float:
    """What to take out under each side of a cap that stands on shims [mm]; below nothing: to put in.

    The cap comes down by what is taken out of both sides alike, and the clearance falls by as much.
    Whole leaves, nearest to the middle of the limits; never below the least, which is worse than above.

    Source: common practice of poured bearings.

    >>> round(shims_out(0.110, 0.30, 0.05, (0.04, 0.08)), 6), shims_out(0.110, 0.0, 0.05, (0.04, 0.08))
    (0.05, 0.0)
    """
    least, most = limits
    leaves = round((clearance - (least + most) / 2.0) / leaf)
    leaves = min(leaves, math.floor(shims / leaf + 1e-6))
    if clearance - leaves * leaf < least - 1e-9:
        leaves -= 1  # of leaves thicker than the limits are wide
    return leaves * leaf


# Young's modulus beside that of a shell's steel back: 205, 105 and 70 kN/mm² (handbook tables, rounded)
STIFFNESS = {"steel": 1.0, "iron": 0.51, "aluminium": 0.34}


def crush_growth(crush: float, wall: float, ring: float, material: str = "aluminium") -> float:
    """By how much a housing of a ring's thickness grows when its shells are crushed in, at the most [mm].

    ``crush`` is the gap that opens at one parting line when its bolt is let go, ``wall`` that of a shell,
    ``ring`` the thinnest wall of the housing round them.  The shells are too long by it round the whole
    bore, an interference of crush/π on diameter, of which thin rings under one pressure take shares as
    D²/(2·E·thickness).  What stands round the thinnest wall stiffens it further.

    Source: Lamé's rings for a thin wall, radial growth p·r²/(E·t) (Roark's Formulas for Stress and Strain,
    thin-walled vessels; Shigley's Mechanical Engineering Design, press fits; from memory).

    >>> round(crush_growth(0.08, 2.0, 8.0, "steel"), 4)
    0.0051
    """
    return crush / math.pi * wall / (wall + ring * STIFFNESS[material])


def running_clearance(bores: Readings, shafts: Readings) -> tuple[Measured, Measured]:
    """Smallest and largest clearance of a shaft in a plain bore [mm]; neither may be without a reading.

    Planes pair by name as in ``clearance``: of a taper that both share, nothing is lost.

    Source: ISO 286-1: least bore less greatest shaft, greatest bore less least shaft.

    >>> bores = {"upper": Measured(20.0), "lower": Measured(20.013)}
    >>> low, high = running_clearance(bores, {"upper": Measured(19.939), "lower": Measured(19.960)})
    >>> round(low.value, 6), round(high.value, 6)
    (0.053, 0.061)
    >>> low, high = running_clearance(bores, {"a": Measured(19.939), "b": Measured(19.960)})
    >>> round(low.value, 6), round(high.value, 6)
    (0.04, 0.074)
    """
    planes = _paired(
        *({key: [*ones.values()] for key, ones in by_plane(of).items()} for of in (bores, shafts))
    )
    return (
        smallest([smallest(at) - largest(sizes) for _, at, sizes in planes]),
        largest([largest(at) - smallest(sizes) for _, at, sizes in planes]),
    )
