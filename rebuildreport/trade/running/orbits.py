"""Oil films over the cycle: where the journal goes in its bearing, and how thin the film gets."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from .crankloads import BearingLoad
from .films import CLOSEST, DIRECTIONS, ECCENTRICITIES, FilmMap, PlainBearing, film_map
from .mechanism import Array

CYCLES = 2  # until a journal has forgotten where it started
TOUCHING = 0.9999  # of the clearance: beyond the map's end its last row holds, see FilmMap
Complexes = NDArray[np.complex128]


class Orbit(Struct, frozen=True):
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

    All loads share their angles.  The crank turns clockwise; a rod's bearing swings with its rod.

    Source: Booth's mobility method, integrated by Heun's rule over two cycles.
    """
    angles = loads[0].angles
    step = float(angles[1] - angles[0])
    force = np.array([load.right + 1j * load.up for load in loads])  # N
    turned = np.unwrap(np.array([load.turned for load in loads]), period=360.0)
    turning = np.gradient(turned, step, axis=1)
    # by radian of the crank: what a load does, and how fast the oil turns
    omega = np.array(revolutions) * pi / 30
    psi = np.array([bearing.clearance / bearing.diameter for bearing in bearings])
    area = np.array([bearing.diameter * bearing.width for bearing in bearings])  # mm²
    ease = psi**2 / (np.array(viscosities) * 1e-9 * area * omega)
    # one row an angle: numpy is quickest along what lies together, and this is gone through a thousand times
    towards = np.exp(1j * np.angle(force)).T.copy()
    pull = (force * ease[:, None]).T.copy()
    oil = (-0.5j * (1.0 + turning)).T.copy()  # clockwise
    radians = np.radians(step)
    moved = _Moved(bearings)

    def speed(place: Complexes, at: int) -> Complexes:
        return np.asarray(moved(place * towards[at].conj()) * pull[at] + oil[at] * place)

    place = 0.5 * towards[0]
    path = np.zeros((angles.size, len(loads)), complex)
    for _ in range(CYCLES):  # the last one stays
        for at in range(angles.size):
            path[at] = place
            first = speed(place, at)
            guess = _held(place + radians * first)
            place = _held(place + radians / 2 * (first + speed(guess, (at + 1) % angles.size)))
    halves = np.array([bearing.clearance / 2 for bearing in bearings])
    films = halves * (1.0 - np.abs(path))
    return [Orbit(angles, way, film) for way, film in zip(path.T, films.T, strict=True)]


def _held(place: Complexes) -> Complexes:
    """Inside its bearing."""
    return np.asarray(place * (TOUCHING / np.maximum(np.abs(place), TOUCHING)))


_COLUMNS = 2 * (len(DIRECTIONS) - 1)  # all round
_GAPS = np.diff(ECCENTRICITIES)
# the row of each thousandth of the clearance: eccentricities of the map have three decimals
_ROWS = np.searchsorted(ECCENTRICITIES[1:-1], np.arange(1001) / 1000, side="right")


class _Moved:
    """Velocity of journals, each in its bearing, under a load of one to the right.

    Between four points of a map it is a straight line either way: a cell holds what that needs.
    """

    def __init__(self, bearings: Sequence[PlainBearing]) -> None:
        shapes = [round(bearing.slenderness, 3) for bearing in bearings]
        kinds = [*dict.fromkeys(shapes)]
        self._cells = np.concatenate([self._laid(film_map(shape)) for shape in kinds])
        each = (len(ECCENTRICITIES) - 1) * _COLUMNS
        self._begins = np.array([kinds.index(shape) * each for shape in shapes])

    @staticmethod
    def _laid(shape: FilmMap) -> Complexes:
        """The map has the load on one side of the eccentricity; on the other it is its mirror."""
        half = shape.along + 1j * shape.across
        whole = np.hstack([half[:, ::-1], half[:, 1:].conj()])
        corner, right, up = whole[:-1, :-1], whole[:-1, 1:], whole[1:, :-1]
        cells = [corner, right - corner, up - corner, whole[1:, 1:] - up - right + corner]
        return np.stack(cells, axis=-1).reshape(-1, 4)

    def __call__(self, place: Complexes) -> Complexes:
        away = np.abs(place)
        eccentricity = np.minimum(np.maximum(away, ECCENTRICITIES[0]), CLOSEST)
        row = _ROWS[(eccentricity * 1000).astype(np.intp)]
        share = (eccentricity - ECCENTRICITIES[row]) / _GAPS[row]
        off = (np.arctan2(place.imag, place.real) + pi) / DIRECTIONS[1]  # of the eccentricity from the load
        column = np.minimum(off.astype(np.intp), _COLUMNS - 1)
        part = off - column
        cell = self._cells.take(self._begins + row * _COLUMNS + column, axis=0)
        found = cell[:, 0] + cell[:, 1] * part + (cell[:, 2] + cell[:, 3] * part) * share
        room = 1 - np.maximum(away, ECCENTRICITIES[0])
        return np.asarray(found * (room * np.sqrt(room)))
