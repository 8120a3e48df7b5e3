"""Cylinders, pistons and rings: clearances, gaps, protrusion, pressures; volumes and the ratio they make."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ..measuring.form import Readings, by_plane, largest, smallest
from ..measuring.uncertainty import Measured, propagate


class PistonFit(Struct, frozen=True):
    """Clearance of a piston in its bore [mm], in the thrust direction."""

    smallest: Measured
    largest: Measured
    planes: Mapping[str, Measured]


Rows = Literal["", "inline", "v", "flat", "radial"]
_ROWS: dict[Rows, str] = {
    "inline": "in[ -]?line|straight|upright|vertical|single|reihe[a-z]*",
    "v": "v|vee",
    "flat": "flat|boxer[a-z]*|opposed|horizontally opposed",
    "radial": "radial|star|stern[a-z]*",
}


def rows_of(arrangement: str) -> Rows:
    """How cylinders stand, by what people call it; '' where that is no word known here.

    Source: words of the trade.

    >>> [rows_of(said) for said in ("V8, 90 deg", "Boxermotor", "vertical twin", "slant four", "flathead")]
    ['v', 'flat', 'inline', '', '']
    """
    said = arrangement.casefold()
    return next((rows for rows, words in _ROWS.items() if re.match(rf"(?:{words})(?![a-z])", said)), "")


def piston_clearance(bore: Readings, skirt: Measured, direction: str = "t") -> PistonFit | None:
    """Clearance over the stroke, from the readings in the thrust direction [mm] (common practice).

    The other direction does not count: the skirt bears in the thrust direction.  None where no reading was
    taken in it.

    >>> bore = {"top_t": Measured(98.012), "top_a": Measured(98.010), "bottom_t": Measured(98.010)}
    >>> fit = piston_clearance(bore, Measured(97.870))
    >>> round(fit.smallest.value, 6), round(fit.largest.value, 6)
    (0.14, 0.142)
    """
    planes: dict[str, Measured] = {}
    for plane, ones in by_plane(bore).items():
        for way, size in ones.items():
            if way == direction or not way:
                planes[plane] = size - skirt
    if not planes:
        return None
    values = list(planes.values())
    return PistonFit(smallest(values), largest(values), planes)


def ring_filing(gap: float, least: float, aim_above: float, guard: float = 0.0, step: float = 0.0) -> float:
    """How much to file off a ring whose gap is below its limit; 0 where it is not [mm].

    The aim is ``aim_above`` over the least gap, and never less than ``guard``: a gap filed to the
    limit itself could not be told to have reached it.  It is a multiple of ``step``, the smallest
    that the feelers show; where that is not known it is not rounded.

    Source: common practice; ISO 14253-1 (guard band) for the least aim.

    >>> round(ring_filing(0.35, 0.40, 0.05), 6), ring_filing(0.44, 0.40, 0.05)
    (0.1, 0.0)
    >>> round(ring_filing(0.0110, 0.0120, 0.0, guard=0.00037, step=0.0005), 6)  # inches alike
    0.0015
    """
    if gap >= least - 1e-9:
        return 0.0
    aim = least + max(aim_above, guard)
    return (math.ceil(aim / step - 1e-6) * step if step else aim) - gap


def displacement(bore: float, stroke: float, cylinders: int) -> float:
    """Swept volume of the engine [cm³] from bore and stroke [mm].

    Source: geometry, V = π/4·b²·s·n.

    >>> round(displacement(86.0, 86.0, 4), 2)
    1998.23
    """
    return math.pi / 4.0 * (bore / 10.0) ** 2 * stroke / 10.0 * cylinders


def share_of_highest(pressures: Mapping[str, Measured]) -> dict[str, float]:
    """Compression of each cylinder as a share of the highest [percent].

    Source: common practice (the lowest at least three quarters of the highest).

    >>> share_of_highest({"C1": Measured(26.5), "C3": Measured(16.2)})["C3"].__round__(1)
    61.1
    """
    top = max((pressure.value for pressure in pressures.values()), default=0.0)
    if top <= 0:
        return {}
    return {position: 100.0 * pressure.value / top for position, pressure in pressures.items()}


def leak_down(supply: float, held: float) -> float:
    """Leak-down from the two pressures of its tester [percent].

    Source: common practice: 100·(p1 − p2)/p1.

    >>> leak_down(7.0, 5.6).__round__(6)
    20.0
    """
    return 100.0 * (supply - held) / supply if supply > 0 else 100.0


def above_tightest(loss: Measured, losses: Sequence[Measured]) -> Measured:
    """How much more a cylinder loses than the tightest one [percent].

    That the tightest is the tightest is as sure as what lies between it and the next.

    Source: common practice; JCGM 100:2008, 5.2.2.

    >>> above_tightest(Measured(12.0), [Measured(12.0), Measured(7.0)]).value
    5.0
    """
    others = [other for other in losses if other is not loss]
    above = loss - smallest(others)
    return above if above.value >= 0.0 else replace(above, value=0.0)


# ---------------------------------------------------------------- volumes
# cm³, of lengths in mm


def disc(diameter: float, height: float) -> float:
    """Volume of a flat round room, such as a gasket's hole [cm³; mm].

    Source: geometry, V = π/4·d²·h.

    >>> round(disc(87.0, 1.2), 4)
    7.1336
    """
    return math.pi / 4.0 * (diameter / 10.0) ** 2 * height / 10.0


def over_valve(head: float, depth: Measured) -> Measured:
    """Room over a valve whose flat head lies below the face of its cylinder head [cm³; mm].

    A valve that stands proud takes room.  The seat's own cone is left out.

    Source: geometry; head area by depth is common practice.

    >>> round(over_valve(42.0, Measured(1.1)).value, 3)
    1.524
    """
    return depth.scaled(disc(head, 1.0))


def clearance_volume(
    chamber: float, bowl: float, gasket: float, gasket_hole: float, bore: float, deck: float
) -> float:
    """Room that is left over the piston at top dead centre [cm³].

    ``deck`` is how far the crown stays below the deck, negative where it
    stands proud.  ``bowl`` is the room in the crown, negative for a dome.
    The ring land's own room is left out.

    Source: geometry; common practice.

    >>> round(clearance_volume(45.0, 3.5, 1.2, 87.0, 86.0, 0.5), 3)
    58.538
    """
    return chamber + bowl + disc(gasket_hole, gasket) + disc(bore, deck)


def clearance(
    chamber: Measured, bowl: Measured, gasket: Measured, gasket_hole: float, bore: Measured, deck: Measured
) -> Measured:
    """``clearance_volume`` of measured parts, their doubt carried through [cm³].

    Source: geometry; propagation as in JCGM 100:2008, 5.1.2.

    >>> parts = [Measured(v) for v in (45.0, 3.5, 1.2, 86.0, 0.5)]
    >>> round(clearance(*parts[:3], 87.0, *parts[3:]).value, 3)
    58.538
    """

    def room(chamber: float, bowl: float, gasket: float, bore: float, deck: float) -> float:
        return clearance_volume(chamber, bowl, gasket, gasket_hole, bore, deck)

    return propagate(room, chamber, bowl, gasket, bore, deck)


def compression_ratio(
    bore: Measured,
    stroke: float,
    chamber: Measured,
    bowl: Measured,
    gasket: Measured,
    gasket_hole: float,
    deck: Measured,
) -> Measured:
    """Compression ratio of one cylinder: (swept + clearance) / clearance.

    Source: definition of the geometric compression ratio; propagation as in JCGM 100:2008, 5.1.2.

    >>> exact = [Measured(v) for v in (86.0, 45.0, 3.5, 1.2, 0.5)]
    >>> round(compression_ratio(exact[0], 86.0, *exact[1:4], 87.0, exact[4]).value, 3)
    9.534
    """

    def ratio(bore: float, chamber: float, bowl: float, gasket: float, deck: float) -> float:
        rest = clearance_volume(chamber, bowl, gasket, gasket_hole, bore, deck)
        return disc(bore, stroke) / rest + 1.0

    return propagate(ratio, bore, chamber, bowl, gasket, deck)
