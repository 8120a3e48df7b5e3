"""Valve timing from a degree wheel, and where valves and pistons would meet.

Angles are of the crank [degrees], 0 at the upper dead centre of gas exchange and growing as it turns: an
intake valve opens a little before 0, an exhaust valve closes a little after.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, radians

from ..measuring.uncertainty import Measured
from .mechanism import Mechanism

SEARCH = 0.25  # degrees between the angles at which a gap is worked out
Lift = Callable[[float], float]  # mm by crank angle


@dataclass(frozen=True, slots=True)
class LobeTiming:
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


def at_lift(lifts: Mapping[float, float], lift: float) -> tuple[float, float]:
    """Crank angles at which a valve passes a lift, opening and closing, by straight lines between readings.

    ``lifts``: crank angle [degrees]: lift [mm].  Raises ValueError where the lift is not passed once up and
    then once down.

    Source: straight lines between readings.

    >>> at_lift({-20: 0.0, 0: 1.0, 20: 3.0, 100: 9.0, 200: 2.0, 220: 0.5}, 2.5)
    (15.0, 192.85714285714286)
    """
    points = sorted(lifts.items())
    passed = [
        (a + (lift - low) / (high - low) * (b - a), high > low)
        for (a, low), (b, high) in pairwise(points)
        if min(low, high) < lift <= max(low, high)
    ]
    if [rises for _, rises in passed] != [True, False]:
        raise ValueError(f"these readings do not pass {lift:g} mm once up and once down")
    return passed[0][0], passed[1][0]


def overlap(intake: LobeTiming, exhaust: LobeTiming) -> Measured:
    """How long both valves are open beyond the lift that the events are of [degrees].

    Source: by definition, common practice.

    >>> intake = LobeTiming(Measured(-14.0), Measured(226.0))
    >>> overlap(intake, LobeTiming(Measured(-228.0), Measured(12.0))).value
    26.0
    """
    return exhaust.closes - intake.opens


def lobe_separation(intake: LobeTiming, exhaust: LobeTiming) -> Measured:
    """Half of the crank angle between the two lobes' centres: degrees of the cam.

    Source: by definition, common practice.

    >>> intake = LobeTiming(Measured(-14.0), Measured(226.0))
    >>> lobe_separation(intake, LobeTiming(Measured(-228.0), Measured(12.0))).value
    107.0
    """
    return (intake.centre - exhaust.centre).scaled(0.5)


def rounded_lift(centre: float, duration: float, highest: float) -> Lift:
    """A lift curve where none was read: a lobe's usual round shape, highest at its centre.

    Near its ends a real cam lifts more slowly or faster by some tenths of a millimetre: an estimate.

    Source: raised cosine, common practice.

    >>> rounded_lift(106.0, 240.0, 9.0)(106.0), rounded_lift(106.0, 240.0, 9.0)(-14.0)
    (9.0, 0.0)
    """

    def lift(angle: float) -> float:
        off = abs((angle - centre + 360.0) % 720.0 - 360.0)
        return 0.0 if off >= duration / 2 else highest / 2 * (1 + cos(2 * pi * off / duration))

    return lift


def read_lift(lifts: Mapping[float, float], lash: float = 0.0) -> Lift:
    """A lift curve from readings of a degree wheel [mm by crank angle], less a lash that was not taken up.

    Source: straight lines between readings.
    """
    points = sorted(lifts.items())

    def lift(angle: float) -> float:
        for (a, low), (b, high) in pairwise(points):
            if a <= angle <= b:
                return max(low + (high - low) * (angle - a) / (b - a) - lash, 0.0)
        return 0.0

    return lift


@dataclass(frozen=True, slots=True)
class ValveRoom:
    """Where a valve's head stands over its piston at the upper dead centre, valve shut [mm].

    ``deck``: of the piston's crown below the block's face; ``gasket``: as clamped; ``sunk``: of the valve's
    face above the head's face, negative where it stands out; ``pocket``: of the crown below the valve;
    ``tilt``: of the valve's stem from the cylinder's axis [degrees].
    """

    deck: float
    gasket: float
    sunk: float = 0.0
    pocket: float = 0.0
    tilt: float = 0.0

    @property
    def shut(self) -> float:
        """From the valve's head to the crown with the valve shut [mm]."""
        return self.deck + self.gasket + self.sunk + self.pocket

    def gap(self, drop: float, lift: float) -> float:
        """From the valve's head to the crown along the cylinder [mm], below nought where they have met.

        >>> ValveRoom(0.5, 1.2, 1.0, 2.0).gap(0.9, 2.5)
        3.1
        """
        return round(self.shut + drop - lift * cos(radians(self.tilt)), 9)


@dataclass(frozen=True, slots=True)
class Nearest:
    """The least gap between a valve and its piston, and the crank angle at which it comes."""

    gap: float
    angle: float


def nearest(room: ValveRoom, mechanism: Mechanism, lift: Lift) -> Nearest:
    """How near a valve comes to its piston as the engine turns in time [mm; degrees].

    Source: geometry of the slider-crank, by trying every quarter of a degree.

    >>> room, gear = ValveRoom(0.5, 1.2, 1.0, 1.5), Mechanism(86, 86, 143)
    >>> close = nearest(room, gear, rounded_lift(106.0, 260.0, 9.0))
    >>> 0 < close.angle < 30 and close.gap < room.shut
    True
    """
    angles = [i * SEARCH for i in range(int(-90 / SEARCH), int(90 / SEARCH) + 1)]
    return min(
        (Nearest(room.gap(float(mechanism.drop(radians(at))), lift(at)), at) for at in angles),
        key=lambda one: one.gap,
    )


def meets_out_of_time(room: ValveRoom, mechanism: Mechanism, highest: float) -> float | None:
    """Half the crank angle round every upper dead centre in which a fully open valve would be hit; None where
    it clears the piston everywhere [degrees; ``highest`` lift in mm].

    With the cam drive off the crank must not turn into this range, nor the cam while it stands there.

    Source: geometry of the slider-crank.

    >>> gear = Mechanism(86, 86, 143)
    >>> meets_out_of_time(ValveRoom(0.5, 1.2, 1.0, 1.5), gear, 3.0) is None
    True
    >>> meets_out_of_time(ValveRoom(0.5, 1.2, 1.0, 1.5), gear, 9.0)
    24.0
    """
    angles = [i * SEARCH for i in range(int(180 / SEARCH) + 1)]
    met = [at for at in angles if room.gap(float(mechanism.drop(radians(at))), highest) < 0]
    return max(met) if met else None


def squish(deck: float, gasket: float, crown: float = 0.0) -> float:
    """From a piston's flat to the head's face at the upper dead centre [mm]; ``crown``: how far the flat
    stands above the crown's rim that ``deck`` was read on.

    Source: geometry.

    >>> squish(0.20, 1.10)
    1.3
    """
    return round(deck + gasket - crown, 9)
