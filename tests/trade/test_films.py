"""Oil films: worked examples, the closed form of the short bearing, a finite solution, turning loads."""

from __future__ import annotations

import numpy as np
import pytest

from rebuildreport.trade.running.crankloads import BearingLoad
from rebuildreport.trade.running.films import (
    ECCENTRICITIES,
    Oil,
    PlainBearing,
    film_map,
    oil_of,
    shear_loss,
    sommerfeld,
    steady_film,
    warm_film,
)
from rebuildreport.trade.running.orbits import orbits

MAIN = PlainBearing(55.0, 20.0, 0.050)
ANGLES = np.arange(0.0, 720.0, 2.0)


def number(slenderness: float, eccentricity: float) -> float:
    """Sommerfeld's number of an eccentricity, between rows of the map by its logarithm."""
    rows = np.log(film_map(slenderness).sommerfeld)
    return float(np.exp(np.interp(eccentricity, ECCENTRICITIES, rows)))


@pytest.mark.parametrize(
    ("slenderness", "eccentricity", "expected"),
    [
        (1.0, 0.4, 0.260),
        (1.0, 0.6, 0.121),
        (1.0, 0.8, 0.0446),
        (0.5, 0.4, 0.786),
        (0.5, 0.6, 0.319),
        (0.5, 0.8, 0.0917),
    ],
)
def test_a_finite_solution(slenderness: float, eccentricity: float, expected: float) -> None:
    """COMPUTED: Reynolds' equation by finite differences on 361 × 41 points, within 1.5 % of the tables of
    Raimondi and Boyd as remembered (MEMORY)."""
    assert number(slenderness, eccentricity) == pytest.approx(expected, rel=0.025)


@pytest.mark.parametrize(
    ("eccentricity", "attitude", "flow"), [(0.4, 62.6, 1.987), (0.6, 50.5, 2.949), (0.8, 36.2, 3.899)]
)
def test_where_a_finite_film_is_thinnest_and_what_leaves_it(
    eccentricity: float, attitude: float, flow: float
) -> None:
    """COMPUTED: the same solution, a bearing as wide as its diameter, where a parabola is least true of it:
    the flow, over r·c·N·l, is a tenth too much there (at half a diameter within 4 %, see below)."""
    of = film_map(1.0)
    angle = np.degrees(np.interp(eccentricity, ECCENTRICITIES, of.attitude))
    assert angle == pytest.approx(attitude, abs=3.0)
    out = 2 * np.pi * float(np.interp(eccentricity, ECCENTRICITIES, of.side_flow))
    assert out == pytest.approx(flow, rel=0.12)


@pytest.mark.parametrize(
    ("eccentricity", "expected"), [(0.2, 0.46119), (0.5, 0.10605), (0.7, 0.03296), (0.9, 0.003315)]
)
def test_the_short_bearing(eccentricity: float, expected: float) -> None:
    """Ocvirk's closed form: S(L/D)² and tan of the attitude angle = π√(1-ε²)/(4ε)."""
    slenderness = 0.05
    assert number(slenderness, eccentricity) * slenderness**2 == pytest.approx(expected, rel=0.06)
    attitude = np.interp(eccentricity, ECCENTRICITIES, film_map(slenderness).attitude)
    closed = np.arctan(np.pi * np.sqrt(1 - eccentricity**2) / 4 / eccentricity)
    assert attitude == pytest.approx(closed, rel=0.03)


@pytest.mark.parametrize("slenderness", [0.3, 0.345, 0.75, 1.0])
def test_along_its_own_line_a_load_moves_a_journal_nowhere_else(slenderness: float) -> None:
    """By symmetry: under the load and opposite to it the journal moves along it alone."""
    shape = film_map(slenderness)
    assert shape.across[:, [0, -1]] == pytest.approx(0.0, abs=1e-9)
    assert (np.diff(shape.along[:, -3:]) > 0).all()


def test_a_published_problem() -> None:
    """Shigley, Mechanical Engineering Design, problem 12-1, posted solutions: 25 mm, clearance 0.03, 1200 N,
    55 mPa·s, 1100 1/min: S 0.182, h0 4.5 µm, loss 11.2 W, side flow 177 mm³/s."""
    film = steady_film(PlainBearing(25.0, 12.5, 0.030), 1200.0, 1100.0, 55.0)
    assert film.sommerfeld == pytest.approx(0.182, abs=0.001)
    assert film.thinnest * 1000 == pytest.approx(4.5, rel=0.03)
    assert film.loss == pytest.approx(11.2, rel=0.03)
    assert film.flow == pytest.approx(177.0, rel=0.04)


def test_petroff() -> None:
    """Faires 551a, posted: 3 in square, diametral clearance 0.0015 in, 7.25 µreyn, 400 1/min: 0.1635 hp."""
    inch = 25.4
    bearing = PlainBearing(3 * inch, 3 * inch, 0.0015 * inch)
    assert shear_loss(bearing, 0.0, 400.0, 7.25 * 6.894757) == pytest.approx(0.1635 * 745.7, rel=0.01)


@pytest.mark.parametrize(
    ("bearing", "load", "speed", "oil", "eccentricity", "attitude", "off"),
    [
        (PlainBearing(100.0, 30.0, 0.200), 525.0, 1500.0, 100.0, 0.2748, 70.13, 0.01),
        (PlainBearing(55.0, 20.0, 0.050), 2000.0, 3000.0, 12.0, 0.6604, 44.29, 0.015),
        (PlainBearing(50.0, 25.0, 0.060), 3000.0, 4000.0, 8.0, 0.7388, 40.38, 0.015),
        # of a quarter of its diameter it takes Ocvirk's form, which is 1 to 2 % nearer the middle
        (PlainBearing(60.0, 15.0, 0.060), 500.0, 2500.0, 12.0, 0.6182, 44.96, 0.02),
        (PlainBearing(60.0, 15.0, 0.060), 4000.0, 2500.0, 12.0, 0.8558, 25.40, 0.02),
    ],
)
def test_against_an_independent_solver(
    bearing: PlainBearing, load: float, speed: float, oil: float, eccentricity: float, attitude: float,
    off: float,
) -> None:  # fmt: skip
    """COMPUTED: the finite-difference film of an open package for rotors, 16 × 160 points; noted here, since
    with all that it needs it takes 1.2 GB to install."""
    film = steady_film(bearing, load, speed, oil)
    assert film.eccentricity == pytest.approx(eccentricity, rel=off)
    assert film.attitude == pytest.approx(attitude, abs=2.0)


def test_a_finite_film_of_a_main_bearing() -> None:
    """COMPUTED: own finite solver, 361 × 41 points."""
    assert sommerfeld(MAIN, 2000, 3000, 12) == pytest.approx(0.3993, abs=1e-4)
    assert steady_film(MAIN, 2000.0, 3000.0, 12.0).thinnest * 1000 == pytest.approx(8.58, rel=0.02)


def turning(share: float, size: float = 2000.0) -> BearingLoad:
    """A load of one size that turns at a share of the crank's speed, in its sense."""
    force = -1j * size * np.exp(-1j * share * np.radians(ANGLES))
    return BearingLoad("x", ANGLES, force.real, force.imag, np.zeros(ANGLES.size))


WORN = PlainBearing(55.0, 20.0, 0.150)


@pytest.mark.parametrize("share", [0.0, -0.5, 1.0, 1.5, 2.0])
@pytest.mark.parametrize(("bearing", "size", "off"), [(MAIN, 2000.0, 0.015), (WORN, 20_000.0, 0.045)])
def test_a_turning_load_is_a_steady_one_at_another_speed(
    share: float, bearing: PlainBearing, size: float, off: float
) -> None:
    """Standard lubrication theory (MEMORY): at ω_L it carries like a steady load at |ω_j + ω_b - 2ω_L|; in a
    worn bearing under a heavy load as well, where its journal stands at 0.95 to 0.98 of the clearance."""
    (orbit,) = orbits([turning(share, size)], [bearing], [3000.0], [12.0])
    alike = steady_film(bearing, size, 3000.0 * abs(1 - 2 * share), 12.0)
    assert orbit.thinnest == pytest.approx(alike.thinnest, rel=off)


@pytest.mark.parametrize("load", [300_000.0, 600_000.0])
def test_no_film_is_kept_for_want_of_a_map(load: float) -> None:
    """Beyond the map's end, a two-hundredth of the clearance's half, films go on thinning with their load;
    steadily in its inverse proportion, as of a long bearing close to its wall (lubrication theory)."""
    (orbit,) = orbits([turning(0.0, load)], [WORN], [3000.0], [12.0])
    steady = steady_film(WORN, load, 3000.0, 12.0)
    assert steady.thinnest * load == pytest.approx(300_000.0 * steady_film(WORN, 3e5, 3000.0, 12.0).thinnest)
    assert 0 < max(orbit.thinnest, steady.thinnest) < 0.005 * WORN.clearance / 2


def test_a_load_at_half_speed_is_not_carried() -> None:
    """The same identity: at half the crank's speed the film only resists being squeezed."""
    (half,) = orbits([turning(0.5)], [MAIN], [3000.0], [12.0])
    (still,) = orbits([turning(0.0)], [MAIN], [3000.0], [12.0])
    assert half.thinnest < 0.5 * still.thinnest


def test_an_orbit_is_the_same_alone_and_among_others() -> None:
    """To the last bit: what is known of an edited job stands beside what is worked out anew."""
    loads = [turning(share / 7) for share in range(9)]
    given = (loads, [MAIN, WORN, MAIN] * 3, [3000.0] * 9, [12.0] * 9)
    together = orbits(*given)
    for alone in (8, 0, 4):
        again = (turning(alone / 7), *(of[alone] for of in given[1:]))  # a load of its own: nothing is known
        (one,) = orbits(*([part] for part in again))
        assert one.path.tobytes() == together[alone].path.tobytes()


def test_more_load_less_oil_or_a_wider_bearing_thin_the_film() -> None:
    base = steady_film(MAIN, 2000.0, 3000.0, 12.0).thinnest
    assert steady_film(MAIN, 4000.0, 3000.0, 12.0).thinnest < base
    assert steady_film(MAIN, 2000.0, 1500.0, 12.0).thinnest < base
    assert steady_film(MAIN, 2000.0, 3000.0, 6.0).thinnest < base
    assert steady_film(PlainBearing(55, 20, 0.150), 2000.0, 3000.0, 12.0).thinnest < base


def test_oil_by_its_grade() -> None:
    """SAE J300 (2015), kinematic viscosity at 100 °C: each grade inside its band; ASTM D341 between."""
    bands = {"20": (6.9, 9.3), "30": (9.3, 12.5), "40": (12.5, 16.3), "50": (16.3, 21.9), "60": (21.9, 26.1)}
    for grade in ("30", "40", "0W-20", "5W-30", "10W-40", "15W-40", "20W-50", "10W-60"):
        low, high = bands[grade.split("-")[-1]]
        assert low <= oil_of(grade).kinematic(100.0) < high
    assert Oil(100, 11).kinematic(20.0) == pytest.approx(344.41, rel=0.001)  # COMPUTED
    with pytest.raises(ValueError, match="no grade"):
        oil_of("15W-14")


def test_a_bearing_warms_its_oil_until_heat_and_flow_agree() -> None:
    """What is taken in power is carried off by what flows out, at the temperature that is told."""
    warm = warm_film(MAIN, 3000.0, 3000.0, oil_of("15W-40"), supply=90.0)
    carried = warm.film.flow / 1000 * 0.86 * 2.1 * (warm.temperature - 90.0) * 2
    assert carried == pytest.approx(0.8 * warm.film.loss, rel=0.01)
    tight = warm_film(PlainBearing(55.0, 20.0, 0.025), 3000.0, 3000.0, oil_of("15W-40"), supply=90.0)
    assert tight.temperature > warm.temperature
