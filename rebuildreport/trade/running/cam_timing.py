"""Valve timing from a degree wheel, and where valves and pistons would meet.

Angles are of the crank [degrees], 0 at the upper dead centre of gas exchange and growing as it turns: an
intake valve opens a little before 0, an exhaust valve closes a little after.
"""

from __future__ import annotations

from math import acos, pi

import numpy as np
from msgspec import Struct

from ..measuring.uncertainty import Measured
from .mechanism import Array, Mechanism

SEARCH = np.arange(-180.0, 180.25, 0.25)  # degrees: where a gap is worked out


class LobeTiming(Struct, frozen=True):
    """One lobe: the crank angles at which its valve passes the same lift, opening and closing."""

    opens: Measured
    closes: Measured

    @property
    def centre(self) -> Measured:
        """Middle of two places of equal lift: the highest point of a lobe whose flanks are alike.

        Source: equal-lift method, common practice.

        >>> LobeTiming(Measured(-14.0), Measured(226.0)).centre.value
        106.0
        """
        return (self.opens + self.closes).scaled(0.5)

    @property
    def duration(self) -> Measured:
        """How long the valve is open beyond that lift [degrees]."""
        return self.closes - self.opens


def rounded_lift(angles: Array, centre: float, duration: float, highest: float, beyond: float = 0.0) -> Array:
    """A valve's lift [mm] at crank angles: a lobe's usual round shape, highest at its centre.

    ``duration``: how long it is open beyond a lift [degrees; mm].  Near its ends a real cam lifts more slowly
    or faster by some tenths of a millimetre: an estimate.  Raises ValueError where it never lifts so high.

    Source: raised cosine, common practice.

    >>> rounded_lift(np.array([106.0, -14.0, 46.0]), 106.0, 240.0, 9.0)
    array([9. , 0. , 4.5])
    >>> float(rounded_lift(np.array([-14.0]), 106.0, 240.0, 9.0, beyond=1.0)[0].round(3))
    1.0
    """
    if not 0 <= beyond < highest:
        raise ValueError(f"a valve that lifts {highest:g} mm at most is not open beyond {beyond:g} mm")
    whole = pi * duration / acos(2 * beyond / highest - 1)
    off = np.abs((angles - centre + 360.0) % 720.0 - 360.0)
    return np.where(off < whole / 2, highest / 2 * (1 + np.cos(2 * pi * off / whole)), 0.0)


def gaps(mechanism: Mechanism, room: float, lift: Array | float, angles: Array, tilt: float = 0.0) -> Array:
    """From a valve's head to its piston along the stem [mm], below nought where they have met.

    ``room``: with the valve shut at the upper dead centre; ``tilt``: of its stem from the cylinder's axis
    [degrees].

    Source: geometry of the slider-crank.

    >>> gaps(Mechanism(86, 86, 143), 4.7, 2.5, np.array([0.0, 90.0])).round(4)
    array([ 2.2   , 51.8182])
    """
    return np.asarray(room + mechanism.drop(np.radians(angles)) * np.cos(np.radians(tilt)) - lift)


def meets_out_of_time(mechanism: Mechanism, room: float, highest: float, tilt: float = 0.0) -> float | None:
    """Half the crank angle round every upper dead centre in which a fully open valve would be hit; None where
    it clears the piston everywhere [degrees; mm].

    With the cam drive off the crank must not turn into this range, nor the cam while it stands there.

    Source: geometry of the slider-crank, by trying every quarter of a degree.

    >>> gear = Mechanism(86, 86, 143)
    >>> meets_out_of_time(gear, 3.2, 3.0) is None
    True
    >>> meets_out_of_time(gear, 3.2, 9.0)
    26.25
    """
    met = SEARCH[gaps(mechanism, room, highest, SEARCH, tilt) < 0]
    return float(met.max()) if met.size else None
