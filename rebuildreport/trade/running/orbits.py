"""Oil films over the cycle: where the journal goes in its bearing, and how thin the film gets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from .crankloads import BearingLoad
from .films import CLOSEST, DIRECTIONS, ECCENTRICITIES, PlainBearing, film_map
from .mechanism import Array

CYCLES = 2  # until a journal has forgotten where it started
Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class Orbit:
    """A journal's way in its bearing over the last cycle; complex: right and up, of the clearance's half."""

    angles: Array  # degrees
    path: Complexes  # in the engine's directions
    film: Array  # thinnest at each angle, mm

    @property
    def thinnest(self) -> float:
        return float(self.film.min())

    @property
    def thinnest_at(self) -> float:
        """Crank angle of the thinnest film [degrees]."""
        return float(self.angles[int(self.film.argmin())])

    @property
    def eccentricity(self) -> float:
        """Mean over the cycle."""
        return float(np.abs(self.path).mean())


def orbits(
    loads: Sequence[BearingLoad],
    bearings: Sequence[PlainBearing],
    revolutions: Sequence[float],
    viscosities: Sequence[float],
) -> list[Orbit]:
    """The orbit of each load in its bearing, at its speed [1/min] and oil [mPa·s]; all at once.

    All loads share their angles, and all bearings their width over diameter (ValueError otherwise).  The
    crank turns clockwise; a rod's bearing swings with its rod.

    Source: Booth's mobility method, integrated by Heun's rule over two cycles.
    """
    shapes = {round(bearing.slenderness, 3) for bearing in bearings}
    if len(shapes) != 1:
        raise ValueError("bearings of one shape at a time")
    shape = film_map(shapes.pop())
    angles = loads[0].angles
    step = float(angles[1] - angles[0])
    force = np.array([load.right + 1j * load.up for load in loads])  # N
    turning = np.array([np.gradient(np.unwrap(load.turned, period=360.0), step) for load in loads])
    # by radian of the crank: what a load does, and how fast the oil turns
    omega = np.array(revolutions) * pi / 30
    psi = np.array([bearing.clearance / bearing.diameter for bearing in bearings])
    area = np.array([bearing.diameter * bearing.width for bearing in bearings])  # mm²
    ease = psi**2 / (np.array(viscosities) * 1e-9 * area * omega)
    pull = np.abs(force) * ease[:, None]
    towards = np.exp(1j * np.angle(force))
    oil = -0.5j * (1.0 + turning)  # clockwise
    radians = np.radians(step)

    table = (shape.along + 1j * shape.across).ravel()

    def speed(place: Complexes, at: int) -> Complexes:
        moved = _moved(table, place, towards[:, at]) * pull[:, at] + oil[:, at] * place
        return np.asarray(moved)

    place = 0.5 * towards[:, 0]
    path = np.zeros((len(loads), angles.size), complex)
    for cycle in range(CYCLES):
        for at in range(angles.size):
            if cycle == CYCLES - 1:
                path[:, at] = place
            following = (at + 1) % angles.size
            first = speed(place, at)
            guess = _held(place + radians * first)
            place = _held(place + radians / 2 * (first + speed(guess, following)))
    halves = np.array([bearing.clearance / 2 for bearing in bearings])
    films = halves[:, None] * (1.0 - np.abs(path))
    return [Orbit(angles, way, film) for way, film in zip(path, films, strict=True)]


def _held(place: Complexes) -> Complexes:
    """No nearer to the wall than the map goes."""
    far = np.abs(place)
    return np.asarray(place * (CLOSEST / np.maximum(far, CLOSEST)))


_STEP = float(DIRECTIONS[1] - DIRECTIONS[0])
_COLUMNS = len(DIRECTIONS)


def _moved(table: Complexes, place: Complexes, towards: Complexes) -> Complexes:
    """Velocity of journals under loads of one towards directions, from a map laid out flat.

    The map has the load on one side of the eccentricity; on the other it is its mirror.
    """
    eccentricity = np.clip(np.abs(place), ECCENTRICITIES[0], CLOSEST)
    row = np.clip(np.searchsorted(ECCENTRICITIES, eccentricity) - 1, 0, len(ECCENTRICITIES) - 2)
    share = (eccentricity - ECCENTRICITIES[row]) / _GAPS[row]
    off = np.angle(place * towards.conj())  # of the eccentricity from the load
    at = np.abs(off) / _STEP
    left = np.minimum(at.astype(int), _COLUMNS - 2)
    part = at - left
    first = row * _COLUMNS + left
    low = table[first] + (table[first + 1] - table[first]) * part
    second = first + _COLUMNS
    high = table[second] + (table[second + 1] - table[second]) * part
    found = low + (high - low) * share
    mirrored = np.where(off > 0, found.conj(), found)
    return np.asarray(mirrored * (1 - eccentricity) ** 1.5 * towards)


_GAPS = np.diff(ECCENTRICITIES)
