"""Pressure in a cylinder over its cycle: worked out from rated torque, or as it was measured.

A cycle of few numbers, whose heat is chosen so that its work is the work that the torque asks for.  Its peak
is uncertain: when the mixture burns, and how fast, is not known of an engine on a stand.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from .mechanism import Array, Mechanism

STEP = 2.0  # degrees of crank angle between the points of a cycle
COMPRESSION, EXPANSION = 1.33, 1.28  # polytropic exponents of closed valves: common practice
FRICTION = 1.6  # bar of mean pressure that the engine takes itself, near rated torque: common practice
WIEBE = 6.908  # 99.9 % burnt at the end


class Burn(Struct, frozen=True):
    """When the mixture burns [degrees after the upper dead centre of firing]."""

    begins: float
    lasts: float
    slow: float = 2.0  # Wiebe's form factor: the larger, the later the heat comes


GASOLINE, DIESEL = Burn(-18.0, 55.0), Burn(-5.0, 65.0, 0.8)  # at rated torque: common practice


class GasCycle(Struct, frozen=True, eq=False):
    """Absolute pressure [bar] over one whole cycle.

    ``angles`` [degrees] are from the upper dead centre of firing.
    """

    angles: Array
    pressure: Array

    def __eq__(self, other: object) -> bool:
        return isinstance(other, GasCycle) and self._bytes == other._bytes

    def __hash__(self) -> int:
        return hash(self._bytes)

    @property
    def _bytes(self) -> tuple[bytes, bytes]:
        return self.angles.tobytes(), self.pressure.tobytes()

    @property
    def peak(self) -> float:
        return float(self.pressure.max())

    @property
    def closed(self) -> tuple[Array, Array]:
        """Angles and pressures with the first point once more behind the last."""
        behind = self.angles[-1] + self.angles[1] - self.angles[0]
        return np.append(self.angles, behind), np.append(self.pressure, self.pressure[0])

    def at(self, angle: Array) -> Array:
        """Pressure [bar] at any angles [degrees], by straight lines between its points."""
        angles, pressure = self.closed
        turned = (np.asarray(angle) - angles[0]) % (angles[-1] - angles[0]) + angles[0]
        return np.asarray(np.interp(turned, angles, pressure))


def mean_pressure(torque: float, displacement: float, strokes: int = 4) -> float:
    """Mean effective pressure [bar] of a torque [N·m] of a displacement [cm³].

    Source: work of a cycle over its swept volume.

    >>> round(mean_pressure(150.0, 1998.2), 2)
    9.43
    """
    turns = strokes / 2
    return torque * 2 * np.pi * turns / displacement * 10


def work(mechanism: Mechanism, cycle: GasCycle) -> float:
    """Mean pressure of a cycle over the swept volume [bar], positive where it drives.

    Source: area below the indicator diagram, by trapezoids.
    """
    angles, pressure = cycle.closed
    drop = mechanism.drop(np.radians(angles))
    done = np.sum((pressure[1:] + pressure[:-1]) / 2 * np.diff(drop))
    return float(done / mechanism.drop(np.pi))


def cycle_of(
    mechanism: Mechanism,
    ratio: float,
    mean: float,
    burn: Burn = GASOLINE,
    strokes: int = 4,
    inlet: float = 1.0,
) -> GasCycle:
    """The cycle whose mean pressure is ``mean`` [bar] and what the engine takes itself.

    ``ratio``: compression ratio; ``inlet``: pressure before the cylinder [bar absolute].  Compression and
    expansion are polytropic, the heat comes by a Wiebe function and is as much as the work asks for; gas
    exchange is at the pressures of inlet and outlet.  Raises ValueError where no such cycle exists.

    Source: single-zone heat release, Heywood, Internal Combustion Engine Fundamentals, chapter 9; the
    exponents and the burn are common practice.
    """
    if ratio <= 1:
        raise ValueError("a compression ratio is above 1")
    if mean <= 0:
        raise ValueError("a torque above nought is needed: without it there is nothing to burn")
    half = 90.0 * strokes
    angles = np.arange(-half, half, STEP)
    closed = np.abs(angles) < 180.0 if strokes == 4 else np.abs(angles) < 110.0
    volume = mechanism.volume(np.radians(angles), ratio)

    def pressures(heat: float) -> Array:
        pressure = np.full(angles.shape, inlet)
        if strokes == 4:
            pressure[angles >= 180.0] = inlet + 0.1
        shut = np.flatnonzero(closed)
        burnt = np.clip((angles - burn.begins) / burn.lasts, 0.0, 1.0)
        burnt = 1.0 - np.exp(-WIEBE * burnt ** (burn.slow + 1.0))
        for i in shut[1:]:
            before, now = volume[i - 1], volume[i]
            exponent = COMPRESSION if angles[i] < burn.begins else EXPANSION
            released = heat * (burnt[i] - burnt[i - 1])  # bar·cm³
            pressure[i] = pressure[i - 1] * (before / now) ** exponent + (exponent - 1) * released / now
        return pressure

    swept = mechanism.area * float(mechanism.drop(np.pi)) / 1000
    wanted = mean + FRICTION
    none, some = (work(mechanism, GasCycle(angles, pressures(heat))) for heat in (0.0, swept))
    # work grows in a straight line with heat: every step of the pressure does
    heat = (wanted - none) / (some - none) * swept
    if heat <= 0:
        raise ValueError("this torque needs no heat: is it the engine's own?")
    return GasCycle(angles, pressures(heat))


def measured(angles: Sequence[float], pressure: Sequence[float], strokes: int = 4) -> GasCycle:
    """A measured cycle at this module's steps: pressures [bar absolute] at crank angles [degrees], 0 at the
    upper dead centre of firing.

    Source: straight lines between readings.

    >>> trace = measured(range(720), range(720))
    >>> trace.pressure[180:183]  # from the upper dead centre on
    array([0., 2., 4.])
    """
    half = 90.0 * strokes
    points = np.arange(-half, half, STEP)
    return GasCycle(points, np.interp(points, angles, pressure, period=2 * half))


def likely_burns(burn: Burn) -> tuple[Burn, Burn]:
    """The latest and the earliest that a mixture may burn, since nobody knows when and how fast it does.

    5 degrees later and a quarter slower, 5 degrees earlier and a quarter faster: a spread, no bound.

    Source: common practice.

    >>> [(one.begins, one.lasts) for one in likely_burns(GASOLINE)]
    [(-13.0, 68.75), (-23.0, 41.25)]
    """
    return (
        Burn(burn.begins + 5.0, burn.lasts * 1.25, burn.slow),
        Burn(burn.begins - 5.0, burn.lasts * 0.75, burn.slow),
    )
