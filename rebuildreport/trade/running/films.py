"""The oil film of a plain bearing, how thin it runs; how thick oil is, and how warm it gets there.

Films are worked out with the mobility method: in a frame that turns with the oil, every film is one that is
squeezed, and how fast a journal moves under a load depends on where it stands and on the shape of the
bearing alone.  That map is solved once for a shape; loads, speeds and clearances then only scale it.

What it cannot show: fresh oil's pressure and grooves, edges loaded by a bent shaft, housings that give,
roughness that touches.  It is rigid, round and full of oil.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import cache
from math import log10, pi, sqrt

import numpy as np
from msgspec import Struct
from msgspec.structs import astuple
from numpy.typing import NDArray

from .mechanism import Array

SHAPES = 0.05, 4.0  # widths over diameter of what is a plain bearing
NODES = 96  # round the bearing
CLOSEST = 0.995  # of the clearance: the map's end, a film of a two-hundredth of it
_WIDE, _NEAR = (0.02, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7), (0.75, 0.8, 0.84, 0.87, 0.9, 0.92, 0.94, 0.955)
ECCENTRICITIES = np.array([*_WIDE, *_NEAR, 0.97, 0.98, 0.987, 0.992, CLOSEST])
DIRECTIONS = np.radians(np.arange(0.0, 181.0, 2.0))  # close to the wall films change within a few degrees


class PlainBearing(Struct, frozen=True):
    """A plain bearing [mm]; ``clearance`` is diametral."""

    diameter: float
    width: float  # that carries: without grooves and chamfers
    clearance: float

    def __post_init__(self) -> None:
        if min(self.diameter, self.width, self.clearance) <= 0:
            raise ValueError("diameter, width and clearance of a bearing are lengths above nought")

    @property
    def slenderness(self) -> float:
        return self.width / self.diameter


Lines = tuple[list[list[float]], list[list[float]], list[float], list[float], list[float]]


class FilmMap(Struct, frozen=True):
    """What a shape of bearing does, whatever its size: solved once.

    ``along``, ``across``: how fast the journal moves under a load of one, along the load and 90 degrees on,
    by eccentricity (rows) and by the angle from the load to the eccentricity (columns, ``DIRECTIONS``),
    divided by (1 - eccentricity)^1.5, so that they hold nearly still.  The others are of a steady load, by
    eccentricity.
    """

    along: Array
    across: Array
    sommerfeld: Array
    attitude: Array  # from the load to the eccentricity [rad]
    side_flow: Array  # over clearance (radial) · radius · angular speed · width

    @property
    def lines(self) -> Lines:
        """The same as plain numbers, to be kept."""
        return self.along.tolist(), self.across.tolist(), *(x.tolist() for x in astuple(self)[2:])

    @classmethod
    def of(cls, lines: Lines) -> FilmMap:
        """And back."""
        return cls(*map(np.array, lines))


KNOWN: dict[float, FilmMap] = {}  # by width over diameter


def film_map(slenderness: float) -> FilmMap:
    """The map of bearings of a width over their diameter.

    Reynolds' equation with a parabola along the bearing (Galerkin) and finite differences round it; within
    2 % of a solution of both for widths of half to one diameter, its flow within 4 to 12 %.

    Raises ValueError for a shape that is no plain bearing's.

    Source: Booth, J. Basic Eng. 87 (1965) 537 (mobility method); solved here, not tabulated.
    """
    if slenderness not in KNOWN:
        KNOWN[slenderness] = _solved(slenderness)
    return KNOWN[slenderness]


def _solved(slenderness: float) -> FilmMap:
    if not SHAPES[0] <= slenderness <= SHAPES[1]:
        raise ValueError(f"a width of {slenderness:g} diameters is no plain bearing's")
    pushed, side = _squeezed(slenderness)
    # by symmetry from nought to half a turn: a hair beyond it would be taken for the other side
    force, alpha = np.abs(pushed), np.abs(np.angle(pushed))
    turn = DIRECTIONS - alpha  # of the journal's speed from the load
    speed = np.exp(1j * turn) / (6 * force) / (1 - ECCENTRICITIES[:, None]) ** 1.5
    moved = np.array([np.interp(DIRECTIONS, *row) for row in zip(alpha, speed, strict=True)])
    square = len(DIRECTIONS) // 2  # squeezed square to the eccentricity, as a steady load is
    number = 1 / (6 * pi * force[:, square] * ECCENTRICITIES)
    flow = ECCENTRICITIES * side[:, square] / (2 * slenderness) ** 2
    return FilmMap(moved.real, moved.imag, number, alpha[:, square], flow)


# of a parabola along the bearing, 1 in its middle and 0 at its edges: means of its square, of its slope's
# square, of itself; its slope at an edge
SQUARE, SLOPE, MEAN, EDGE = 8 / 15, 16 / 3, 2 / 3, 4.0


def _squeezed(slenderness: float) -> tuple[NDArray[np.complex128], Array]:
    """What holds the journal when it moves at unit speed, by its eccentricity (rows) and the direction of
    that from it (columns), as complex numbers along the eccentricity and 90 degrees on; and the flow out at
    both sides.

    Where the film would be drawn apart there is no pressure and no slope of it (Reynolds' condition): which
    places those are is found by trying.  All are solved at once, each round its bearing from the place that
    the journal leaves, where there is never a film.
    """
    step = 2 * pi / NODES
    onwards = step * (np.arange(NODES) - NODES // 2)  # from where the journal goes
    theta = onwards[:, None, None] + DIRECTIONS  # from where the film is thinnest
    thick = ECCENTRICITIES[:, None]
    film = (1.0 - thick * np.cos(theta)) ** 3
    after, before = ((1.0 - thick * np.cos(theta + half)) ** 3 / step**2 for half in (step / 2, -step / 2))
    centre = -(after + before) - SLOPE / SQUARE / (2 * slenderness) ** 2 * film
    # the film closes where the journal goes
    source = np.broadcast_to(-MEAN / SQUARE * np.cos(onwards)[:, None, None], film.shape)
    carries = source < 0
    for _ in range(NODES):
        pressure = _carried(carries, before, centre, after, source)
        flows = centre * pressure
        flows[1:] += before[1:] * pressure[:-1]
        flows[:-1] += after[:-1] * pressure[1:]
        wanted = np.where(carries, pressure > 0, flows - source > 1e-9)
        wanted[0] = False
        if np.array_equal(wanted, carries):
            break
        carries = wanted
    pushed = MEAN * step * (pressure * np.exp(1j * theta)).sum(axis=0)
    return pushed, EDGE * step * (pressure * film).sum(axis=0)


def _carried(carries: NDArray[np.bool_], before: Array, centre: Array, after: Array, source: Array) -> Array:
    """Pressures where the film carries, nought elsewhere: three diagonals, solved from one end and back."""
    pressure, ratio = np.zeros_like(centre), np.zeros_like(centre)
    for at in range(1, NODES):
        pivot = centre[at] - before[at] * ratio[at - 1]
        ratio[at] = np.where(carries[at], after[at] / pivot, 0.0)
        found = (source[at] - before[at] * pressure[at - 1]) / pivot
        pressure[at] = np.where(carries[at], found, 0.0)
    for at in range(NODES - 2, 0, -1):
        pressure[at] -= ratio[at] * pressure[at + 1]
    return pressure


class SteadyFilm(Struct, frozen=True):
    """A film under a steady load."""

    eccentricity: float
    thinnest: float  # mm
    attitude: float  # degrees from the load to where it is thinnest
    sommerfeld: float
    flow: float  # out at the sides, mm³/s
    loss: float  # W


def sommerfeld(bearing: PlainBearing, load: float, speed: float, viscosity: float) -> float:
    """The number that a film depends on: load [N], speed [revolutions a minute], viscosity [mPa·s].

    Source: A. Sommerfeld; as in Shigley, Mechanical Engineering Design, chapter 12.

    >>> round(sommerfeld(PlainBearing(55, 20, 0.050), 2000, 3000, 12), 4)
    0.3993
    """
    radius_over_clearance = bearing.diameter / bearing.clearance
    pressure = load / (bearing.diameter * bearing.width)  # MPa
    return viscosity * 1e-9 * speed / 60 / pressure * radius_over_clearance**2


def steady_film(bearing: PlainBearing, load: float, speed: float, viscosity: float) -> SteadyFilm:
    """The film under a steady load [N] at a speed [revolutions a minute] with an oil [mPa·s].

    Loss by shear of a film that goes all round.  Raises ValueError where one of them is not above nought.

    Source: as ``film_map``; loss by Petroff with the eccentricity's root.

    >>> film = steady_film(PlainBearing(55, 20, 0.050), 2000, 3000, 12)
    >>> 0.008 < film.thinnest < 0.0095
    True
    """
    if min(load, speed, viscosity) <= 0:
        raise ValueError("load, speed and viscosity are above nought")
    numbers, nearing, rising, flows, attitudes = _steady_lines(round(bearing.slenderness, 3))
    number = sommerfeld(bearing, load, speed, viscosity)
    eccentricity = _between(float(np.log(number)), numbers, nearing)
    # beyond the map a film thins as its number falls: as that of a long bearing, which any is near its wall
    eccentricity = 1 - (1 - eccentricity) * min(
        1.0, number / film_map(round(bearing.slenderness, 3)).sommerfeld[-1]
    )
    radial, omega = bearing.clearance / 2, speed * pi / 30
    radius = bearing.diameter / 2
    flow = _between(eccentricity, rising, flows)
    attitude = _between(eccentricity, rising, attitudes)
    return SteadyFilm(
        eccentricity,
        radial * (1 - eccentricity),
        float(np.degrees(attitude)),
        number,
        flow * radial * radius * omega * bearing.width,
        shear_loss(bearing, eccentricity, speed, viscosity)
        + load * radial * eccentricity * omega / 2e3 * float(np.sin(attitude)),
    )


@cache
def _steady_lines(slenderness: float) -> tuple[list[float], ...]:
    """The steady part of a map, by its number and by eccentricity, as plain numbers.

    They are looked up one by one some thousand times, where an array costs tenfold.
    """
    shape = film_map(slenderness)
    lines = (np.log(shape.sommerfeld[::-1]), ECCENTRICITIES[::-1], ECCENTRICITIES)
    return tuple([*map(float, line)] for line in (*lines, shape.side_flow, shape.attitude))


def _between(at: float, places: list[float], values: list[float]) -> float:
    """A straight line between two places, what stands at the end beyond it: as ``numpy.interp``.

    >>> [_between(at, [1.0, 2.0], [10.0, 30.0]) for at in (0.5, 1.25, 2.0, 3.0)]
    [10.0, 15.0, 30.0, 30.0]
    """
    after = bisect_right(places, at)
    if after in (0, len(places)):
        return values[0 if after == 0 else -1]
    slope = (values[after] - values[after - 1]) / (places[after] - places[after - 1])
    return slope * (at - places[after - 1]) + values[after - 1]


def shear_loss(bearing: PlainBearing, eccentricity: float, speed: float, viscosity: float) -> float:
    """Power [W] that a full film takes at a speed [revolutions a minute] with an oil [mPa·s].

    Source: Petroff, over the root that an eccentric film asks for.

    >>> round(shear_loss(PlainBearing(76.2, 76.2, 0.0381), 0.0, 400, 49.99))  # Faires 551a: 122 W
    122
    """
    radius, omega = bearing.diameter / 2000, speed * pi / 30
    area = 2 * pi * radius * bearing.width / 1000
    drag = viscosity / 1000 * omega * radius / (bearing.clearance / 2000) / sqrt(1 - eccentricity**2)
    return drag * area * radius * omega


# ---------------------------------------------------------------- oil


KELVIN = 273.15
DENSITY = 0.86  # g/cm³ at some 80 °C: common practice
HEAT = 2.1  # J/(g·K): common practice
CARRIED = 0.8  # of the heat that the oil takes away, the rest goes through the shell: common practice

# kinematic viscosity at 100 °C: middle of the band of SAE J300 (2015); at 40 °C: usual for the grade (common
# practice, from data sheets' run of figures; no one product's)
GRADES: dict[str, tuple[float, float]] = {
    "20": (8.1, 55.0), "30": (10.9, 92.0), "40": (14.4, 140.0), "50": (19.1, 215.0), "0W-20": (8.1, 43.0),
    "5W-20": (8.1, 46.0), "0W-30": (10.9, 60.0), "5W-30": (10.9, 64.0), "10W-30": (10.9, 70.0),
    "0W-40": (14.4, 78.0), "5W-40": (14.4, 84.0), "10W-40": (14.4, 95.0), "15W-40": (14.4, 107.0),
    "20W-40": (14.4, 120.0), "10W-50": (19.1, 125.0), "15W-50": (19.1, 130.0), "20W-50": (19.1, 155.0),
    "10W-60": (24.0, 165.0),
}  # fmt: skip


class Oil(Struct, frozen=True):
    """An oil by its kinematic viscosity [mm²/s] at 40 and 100 °C."""

    at_40: float
    at_100: float

    def kinematic(self, celsius: float) -> float:
        """Viscosity [mm²/s] at a temperature [°C].

        Source: ASTM D341 (Walther): log log (v + 0.7) falls in a straight line with log T.

        >>> round(Oil(100, 11).kinematic(80), 2), round(Oil(100, 11).kinematic(120), 3)
        (19.32, 6.987)
        """
        one, other = (log10(log10(v + 0.7)) for v in (self.at_40, self.at_100))
        low, high, here = (log10(t + KELVIN) for t in (40.0, 100.0, celsius))
        found = one + (other - one) * (here - low) / (high - low)
        return float(10 ** (10**found) - 0.7)

    def dynamic(self, celsius: float) -> float:
        """Viscosity [mPa·s] at a temperature [°C]."""
        return self.kinematic(celsius) * DENSITY


def oil_of(grade: str) -> Oil:
    """A usual oil of a grade, as in 15W-40, or of a single one.  Raises ValueError for no grade of SAE J300.

    Source: SAE J300 (2015) at 100 °C; at 40 °C common practice.

    >>> oil_of("SAE 15w40").at_100
    14.4
    """
    name = grade.upper().replace("SAE", "").replace(" ", "").replace("W", "W-").replace("W--", "W-")
    if name not in GRADES:
        raise ValueError(f"'{grade}' is no grade that is known here: {', '.join(GRADES)}")
    hundred, forty = GRADES[name]
    return Oil(forty, hundred)


class WarmFilm(Struct, frozen=True):
    """A steady film with the temperature that it comes to."""

    temperature: float  # °C
    viscosity: float  # mPa·s
    film: SteadyFilm


def warm_film(bearing: PlainBearing, load: float, speed: float, oil: Oil, supply: float) -> WarmFilm:
    """The film under a steady load [N] at a speed [1/min], with oil that comes in at ``supply`` [°C].

    What the film takes in power warms the oil that leaves at the sides.  The film is as warm as the oil in
    its middle: supply and half the rise.

    Source: heat balance as in Shigley, Mechanical Engineering Design, chapter 12; the oil's share of the
    heat is common practice.
    """
    low, high = supply, supply + 150.0
    for _ in range(14):  # to a hundredth of a degree: the power falls and the flow grows, one crossing
        middle = (low + high) / 2
        film = steady_film(bearing, load, speed, oil.dynamic(middle))
        grams = film.flow / 1000 * DENSITY  # a second
        rise = CARRIED * film.loss / (grams * HEAT)
        if supply + rise / 2 > middle:
            low = middle
        else:
            high = middle
    return WarmFilm(middle, oil.dynamic(middle), film)
