"""Engine oil: how thick it is when it is warm, by its grade; and how warm it gets in a bearing."""

from __future__ import annotations

from functools import lru_cache
from math import log10

from msgspec import Struct

from .films import PlainBearing, SteadyFilm, steady_film

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


@lru_cache(maxsize=1024)  # of one job some hundred, and the next edit changes few of them
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
