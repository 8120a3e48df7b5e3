"""What moving parts do to a crankshaft and to its mounts: bob weights, corrections, shaking forces."""

from __future__ import annotations

from cmath import rect
from collections.abc import Mapping, Sequence
from math import atan2, degrees, radians

from msgspec import Struct

from ..engine.crank import length
from ..measuring.uncertainty import Measured
from .crankloads import FiringCylinder
from .mechanism import per_second

HALF = 0.5  # of the reciprocating mass for a 90 degree V on common pins: common practice, and exact there


def bob_weight(rotating: float, reciprocating: float) -> float:
    """Mass [g] to clamp to a crank pin of two rods while a V engine's crankshaft is balanced.

    ``rotating``: of one rod's big end with its shells; ``reciprocating``: of one piston with rings, pin,
    locks and the rod's small end.  The oil in the pin comes to it.

    Source: common practice; at 90 degrees and a half the first order is gone, see ``shaking``.

    >>> bob_weight(550.0, 700.0)
    1800.0
    """
    if min(rotating, reciprocating) <= 0:
        raise ValueError("masses on a crank pin are above nought")
    return 2 * (rotating + HALF * reciprocating)


def correction(at_0: Measured, at_90: Measured) -> tuple[Measured, float]:
    """What is heavy in one plane, and where: degrees from the mark in the sense of turning.

    ``at_0``, ``at_90``: its parts at the mark and a quarter turn on.

    Source: parts of a vector, by the definition of unbalance (ISO 21940-2).

    >>> heavy, angle = correction(Measured(3.0), Measured(-4.0))
    >>> heavy.value, round(angle, 1)
    (5.0, 306.9)
    """
    return length(at_0, at_90), degrees(atan2(at_90.value, at_0.value)) % 360.0


def in_planes(
    read: tuple[Measured, Measured], read_at: Sequence[float], wanted_at: Sequence[float]
) -> tuple[Measured, Measured]:
    """An unbalance's parts in one direction, in two other planes than it was read in [mm along the shaft].

    Source: statics: the same force and the same moment of both (ISO 21940-2, equivalent unbalances).

    >>> [one.value for one in in_planes((Measured(3.0), Measured(1.0)), (0, 300), (50, 250))]
    [3.5, 0.5]
    """
    one, other = wanted_at
    nearer = [at.scaled((other - where) / (other - one)) for at, where in zip(read, read_at, strict=True)]
    first = nearer[0] + nearer[1]
    return first, read[0] + read[1] - first


class Shaking(Struct, frozen=True):
    """Largest force [N] and couple [N·m] of one order that an engine puts on its mounts, any direction."""

    order: int
    force: float
    couple: float


def shaking(
    cylinders: Sequence[FiringCylinder],
    reciprocating: float,
    stroke: float,
    rod: float,
    places: Mapping[str, float],
    revolutions: float,
    factor: float = 0.0,
) -> tuple[Shaking, Shaking]:
    """First and second order of what goes up and down, crankshaft balanced for all that turns.

    ``reciprocating``: mass of one cylinder [g]; ``places``: of each cylinder along the engine [mm], couples
    are about their middle; lengths in mm; ``factor``: share of that mass that the counterweights carry
    besides, as with a V engine's bob weights.  Raises ValueError where a cylinder has no place.

    Source: series of the slider-crank's acceleration to the second order, summed as in any text on machine
    dynamics.

    >>> from .crankloads import layout
    >>> four = layout(list("1342"), [["1"], ["2"], ["3"], ["4"]])
    >>> at = {"1": 0, "2": 90, "3": 180, "4": 270}
    >>> [(one.order, round(one.force), round(one.couple)) for one in shaking(four, 500, 86, 143, at, 3000)]
    [(1, 0, 0), (2, 2552, 0)]
    """
    if lacking := [one.name for one in cylinders if one.name not in places]:
        raise ValueError(f"no place along the engine for cylinder {lacking[0]}")
    omega, throw = per_second(revolutions), stroke / 2
    middle = sum(places[one.name] for one in cylinders) / len(cylinders)
    found = []
    for order, part in ((1, 1.0), (2, throw / rod)):
        # each cylinder shakes along its axis with cos(order · (turn + pin - lean)): two circles that meet
        forward = [0j, 0j]  # force and moment that turn with the crank
        backward = [0j, 0j]
        for one in cylinders:
            axis = rect(1.0, radians(one.leans))
            size = reciprocating / 1000 * throw / 1000 * omega**2 * part / 2
            phase = rect(1.0, radians(order * (one.pin - one.leans)))
            for i, lever in enumerate((1.0, (places[one.name] - middle) / 1000)):
                # at the pin: what a counterweight turns with
                carried = 1 - 2 * factor if order == 1 else 1.0
                forward[i] += carried * size * lever * phase * axis
                backward[i] += size * lever * phase.conjugate() * axis
        force, couple = (abs(f) + abs(b) for f, b in zip(forward, backward, strict=True))
        found.append(Shaking(order, force, couple))
    return found[0], found[1]
