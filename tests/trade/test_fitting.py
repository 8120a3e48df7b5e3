"""Fits of lines, planes and circles against scipy, numpy and worked values."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares, linprog

from rebuildreport.trade.engine import crank
from rebuildreport.trade.measuring import fitting
from rebuildreport.trade.measuring.uncertainty import Instrument, Measured, read

DIAL = Instrument("dial", 0.005, 0.010, 0.002)


def by_linprog(rows: list[list[float]], z: list[float]) -> float:
    """Width of the minimum zone by scipy's linear programming: least h with |z - X c| <= h, twice."""
    x, heights = np.array(rows), np.array(z)
    ones = np.ones((len(z), 1))
    above = np.hstack([-x, -ones])
    below = np.hstack([x, -ones])
    cost = np.zeros(x.shape[1] + 1)
    cost[-1] = 1.0
    found = linprog(
        cost, A_ub=np.vstack([above, below]), b_ub=np.concatenate([-heights, heights]),
        bounds=[(None, None)] * x.shape[1] + [(0, None)], method="highs",
    )  # fmt: skip
    return 2.0 * float(found.fun)


grids = st.tuples(st.integers(2, 6), st.integers(2, 6)).flatmap(
    lambda size: st.tuples(
        st.just(size), st.lists(st.integers(-90, 90), min_size=size[0] * size[1], max_size=size[0] * size[1])
    )
)


@settings(max_examples=150, deadline=None)
@given(grids)
def test_minimum_zone_of_a_face_is_scipys(grid: tuple[tuple[int, int], list[int]]) -> None:
    (across, along), microns = grid
    places = [(100.0 * i, 60.0 * k) for i in range(across) for k in range(along)]
    rows = [[1.0, x / 100.0, y / 100.0] for x, y in places]
    z = [0.001 * h for h in microns]
    found = fitting.minimum_zone(rows, [Measured(h) for h in z])
    assert found.width.value == pytest.approx(by_linprog(rows, z), abs=1e-9)
    # the planes it names really hold every reading in that width
    assert max(found.residuals) - min(found.residuals) == pytest.approx(found.width.value, abs=1e-9)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(-90, 90), min_size=3, max_size=12))
def test_straightness_is_scipys_and_numpys(microns: list[int]) -> None:
    stations = [100.0 * i for i in range(len(microns))]
    z = [0.001 * h for h in microns]
    zone, squares = fitting.straightness(stations, [Measured(h) for h in z])
    assert zone.width.value == pytest.approx(by_linprog([[1.0, x] for x in stations], z), abs=1e-9)
    left = np.array(z) - np.polyval(np.polyfit(stations, z, 1), stations)
    assert squares.width.value == pytest.approx(float(np.ptp(left)), abs=1e-9)
    assert zone.width.value <= squares.width.value + 1e-12


def test_deck_and_main_line_of_the_check_values() -> None:
    """A 3 x 3 deck and a line of five mains: COMPUTED by a linear programme in a separate run."""
    z = {0.0: (0, -30, 5), 75.0: (10, -45, 12), 150.0: (2, -25, 8)}
    points = [
        (x, y, Measured(0.001 * h))
        for y, row in z.items()
        for x, h in zip((0.0, 200.0, 400.0), row, strict=True)
    ]
    found = fitting.face(points)
    assert 1000 * found.least_squares.value == pytest.approx(57.17, abs=0.005)
    assert 1000 * found.minimum_zone.value == pytest.approx(56.0, abs=0.005)
    assert 1000 * found.range.value == pytest.approx(57.0, abs=1e-9)
    heights = [Measured(v) for v in (0.0, 12.0, 25.0, 18.0, 4.0)]
    zone, squares = fitting.straightness([0.0, 100.0, 200.0, 300.0, 400.0], heights)
    assert squares.width.value == pytest.approx(23.8, abs=1e-9)
    assert zone.width.value == pytest.approx(23.0, abs=1e-9)


def test_too_few_places_make_no_plane() -> None:
    with pytest.raises(ValueError, match="do not settle"):
        fitting.face([(0.0, 0.0, Measured(0.0)), (100.0, 0.0, Measured(0.0)), (200.0, 0.0, Measured(0.1))])
    with pytest.raises(ValueError, match="do not settle"):
        fitting.straightness([0.0], [Measured(0.0)])


def test_least_squares_circle_of_a_probed_bore() -> None:
    """Eight probes at 45 degrees: centre and roundness COMPUTED by scipy in a separate run."""
    probes = (3, 12, 20, 9, -2, -11, -18, -7)
    found = crank.turned({45.0 * i: Measured(43.0 + 0.001 * r) for i, r in enumerate(probes)})
    assert 1000 * found.across.value == pytest.approx(2.49, abs=0.005)
    assert 1000 * found.up.value == pytest.approx(16.39, abs=0.005)
    assert found.mean.value == pytest.approx(43.00075, abs=1e-6)
    assert found.out_of_round is not None
    assert 1000 * found.out_of_round.value == pytest.approx(5.21, abs=0.05)


def test_zone_of_a_probed_bore() -> None:
    """The same probes between two circles as near as can be: 4.61 um, COMPUTED in a separate run."""
    probes = (3, 12, 20, 9, -2, -11, -18, -7)
    rows = [[1.0, math.cos(math.radians(45 * i)), math.sin(math.radians(45 * i))] for i in range(8)]
    found = fitting.minimum_zone(rows, [Measured(0.001 * r) for r in probes])
    assert 1000 * found.width.value == pytest.approx(4.61, abs=0.05)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(-60, 60), min_size=6, max_size=6), st.floats(20.0, 60.0))
def test_the_circle_of_an_indicator_is_scipys_geometric_one(microns: list[int], radius: float) -> None:
    """Coordinates of the profile, and the distances to a circle through them least squared by scipy.

    The limacon differs from it by e²/2R, which is under a fifth of a micrometre here.
    """
    angles = [60.0 * i for i in range(6)]
    dial = {a: 0.001 * m for a, m in zip(angles, microns, strict=True)}
    t = np.radians(angles)
    r = radius + np.array(list(dial.values()))
    x, y = r * np.cos(t), r * np.sin(t)
    theirs = least_squares(
        lambda p: np.hypot(x - p[0], y - p[1]) - p[2], [0.0, 0.0, radius], xtol=1e-15, ftol=1e-15, gtol=1e-15
    ).x
    found = crank.turned({a: Measured(v) for a, v in dial.items()})
    assert found.across.value == pytest.approx(theirs[0], abs=2e-4)
    assert found.up.value == pytest.approx(theirs[1], abs=2e-4)
    assert radius + found.mean.value == pytest.approx(theirs[2], abs=2e-4)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.0, 0.2),
    st.floats(0.0, 359.0),
    st.floats(0.0, 0.03),
    st.floats(0.0, 180.0),
    st.integers(5, 24),
)
def test_bend_and_oval_are_told_apart(off: float, at: float, oval: float, askew: float, count: int) -> None:
    """Geometry: a shifted centre shows once a turn, an oval twice, and neither leaks into the other."""
    dial = {}
    for i in range(count):
        angle = 360.0 * i / count
        once = off * math.cos(math.radians(angle - at))
        twice = oval * math.cos(math.radians(2.0 * (angle - askew)))
        dial[angle] = Measured(0.5 + once + twice)
    found = crank.turned(dial)
    assert found.eccentricity.value == pytest.approx(off, abs=1e-9)
    assert found.out_of_round is not None
    assert found.out_of_round.value <= 2.0 * oval + 1e-9
    if count % 4 == 0 and askew == 0.0:
        assert found.out_of_round.value == pytest.approx(2.0 * oval, abs=1e-9)


def test_what_an_indicator_adds_to_every_reading_cancels() -> None:
    """COMPUTED by numpy: with the reading's own random part u alone, a coefficient has u·sqrt(2/n)."""
    dial = {45.0 * i: read(0.02 * math.cos(math.radians(45 * i)), DIAL, "r", f"M4 {i}") for i in range(8)}
    found = crank.turned(dial)
    x = np.array([[1.0, math.cos(math.radians(a)), math.sin(math.radians(a))] for a in dial])
    covariance = np.linalg.inv(x.T @ x) * DIAL.random() ** 2
    assert found.eccentricity.u == pytest.approx(math.sqrt(covariance[1, 1]), rel=1e-9)
    assert found.eccentricity.u < 0.3 * 0.010 / math.sqrt(3.0)  # the dial's own error would be this


def test_bend_is_off_the_line_of_the_supports() -> None:
    """By hand: supports at 0.02 and 0.04 in one plane put the middle of their line at 0.03."""

    def one(x: float) -> crank.Turned:
        return crank.Turned(Measured(x), Measured(0.0), Measured(0.0), None, Measured(0.0))

    bends = crank.bends([one(0.02), one(0.05), one(0.04)])
    assert [b.value for b in bends] == pytest.approx([0.0, 0.02, 0.0])
    inner = crank.bends([one(0.0), one(0.02), one(0.02), one(0.0)], (1, 2))
    assert [b.value for b in inner] == pytest.approx([0.02, 0.0, 0.0, 0.02])


def test_the_plane_rests_on_four_readings_and_carries_their_doubt() -> None:
    """The dual weights of the minimum zone: each side sums to one, so a common error cancels."""
    places = [(x, y) for x in (0.0, 100.0, 200.0) for y in (0.0, 80.0)]
    heights = (0.0, 0.03, 0.05, 0.01, 0.0, 0.02)
    found = fitting.face(
        [(x, y, read(h, DIAL, "r", f"{x} {y}")) for (x, y), h in zip(places, heights, strict=True)]
    )
    assert found.minimum_zone.share("permitted error") == pytest.approx(0.0, abs=1e-12)
    assert found.minimum_zone.u > 0.5 * DIAL.random()
