"""Volumes over the piston: swept, chamber, gasket, deck, dish; and the compression ratio they make.

Every volume is in cm³ and every length in mm.
"""

from __future__ import annotations

import math

from ..measuring.uncertainty import Measured, propagate


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
