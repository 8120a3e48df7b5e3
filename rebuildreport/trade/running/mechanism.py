"""The slider-crank: how a piston moves as its crank turns."""

from __future__ import annotations

from math import pi
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Array = NDArray[np.float64]


def per_second(revolutions: float) -> float:
    """Angular speed [rad/s] of a speed in revolutions a minute.

    Source: by definition.

    >>> round(per_second(6000), 2)
    628.32
    """
    return revolutions * pi / 30


class Mechanism(Struct, frozen=True):
    """One cylinder's moving parts [mm].

    Raises ValueError where the rod is too short for the crank to turn, or a size is not positive.
    """

    bore: float
    stroke: float
    rod: float  # between the centres of its eyes

    def __post_init__(self) -> None:
        if min(self.bore, self.stroke, self.rod) <= 0:
            raise ValueError("bore, stroke and rod length are lengths above nought")
        if self.rod <= self.stroke / 2:
            raise ValueError("the rod is no longer than the crank's throw: the crank cannot turn")

    @property
    def throw(self) -> float:
        return self.stroke / 2

    @property
    def area(self) -> float:
        """Of the piston [mm²]."""
        return pi / 4 * self.bore**2

    def rod_sine(self, angle: Any) -> Any:
        """Sine of the angle between rod and cylinder axis; ``angle`` [rad] from the crank's upright."""
        return self.throw * np.sin(angle) / self.rod

    def drop(self, angle: Any) -> Any:
        """How far the piston has gone down from its highest place [mm]; ``angle`` [rad].

        Source: geometry of the slider-crank.

        >>> round(float(Mechanism(86, 86, 143).drop(np.radians(90))), 4)
        49.6182
        """
        sine = self.rod_sine(angle)
        return self.rod + self.throw - self.throw * np.cos(angle) - self.rod * np.sqrt(1 - sine**2)

    def acceleration(self, angle: Any, omega: float) -> Any:
        """Of the piston, downwards [m/s²]; ``angle`` [rad], ``omega`` [rad/s].

        Source: second derivative of ``drop``, exact.

        >>> round(float(Mechanism(86, 86, 143).acceleration(0.0, per_second(6000))), 1)
        22080.3
        """
        ratio = self.throw / self.rod
        sine = self.rod_sine(angle)
        cosine = np.sqrt(1 - sine**2)
        second = ratio * np.cos(angle) ** 2 / cosine**3 - sine / cosine * np.sin(angle)
        return self.throw * omega**2 * (np.cos(angle) + second) / 1000

    def volume(self, angle: Any, ratio: float) -> Any:
        """Of the cylinder [cm³] at a compression ratio; ``angle`` [rad]."""
        swept = self.area * float(self.drop(np.pi)) / 1000
        return swept / (ratio - 1) + self.area * self.drop(angle) / 1000
