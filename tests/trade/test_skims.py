"""Skims: the least and the most, and what moves with them, by hand and by geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rebuildreport.trade.choosing.steps import cut, least_cut, most_cut
from rebuildreport.trade.engine.drives import backlash_after, cam_lag
from rebuildreport.trade.measuring.uncertainty import DoubtSource, Measured


def doubtful(value: float, u: float) -> Measured:
    return Measured(value, {DoubtSource("reading", "x"): u})


def test_least_and_most_by_hand() -> None:
    """0.12 read to u = 0.0037: 0.12 + 0.0061 + 0.02 = 0.1461, so 0.15; 92.45 − 0.0289 − 92.00 = 0.4211."""
    assert least_cut(doubtful(0.12, 0.0037), 0.02) == 0.15
    assert least_cut(doubtful(0.12, 0.0037), 0.02, guarded=False) == 0.14
    assert most_cut(doubtful(92.45, 0.01756), 92.00) == 0.42
    assert most_cut(Measured(91.9), 92.00) == 0.0


@pytest.mark.parametrize("bow", [0.02, 0.05, 0.12])
def test_a_bowed_face_is_clean_at_its_gap(bow: float) -> None:
    """COMPUTED: a face bowed along its length; a plane laid on its ends must be lowered by the gap."""
    x = np.linspace(0.0, 1.0, 401)
    face = -4.0 * bow * x * (1.0 - x)  # hollow in the middle
    chord = face[0] + (face[-1] - face[0]) * x
    gap = float((chord - face).max())
    untouched = [float((face < -taken - 1e-12).mean()) for taken in (gap - 0.001, gap)]
    assert untouched[0] > 0.0 and untouched[1] == 0.0
    assert cut(gap, Measured(gap)).cleans_up == "yes"
    assert cut(gap - 0.001, Measured(gap)).cleans_up == "no"


def test_three_answers() -> None:
    tried = cut(0.10, doubtful(0.10, 0.004), 0.0, doubtful(80.10, 0.01), 80.0)
    assert (tried.cleans_up, tried.high_enough) == ("too close", "too close")
    assert cut(0.10, None).cleans_up == "too close" and cut(0.10, None).high_enough is None
    assert cut(0.20, Measured(0.05), 0.0, Measured(80.10), 80.0).high_enough == "no"


def test_the_lag_of_a_cam_by_its_sprocket() -> None:
    """COMPUTED: a polygon of 36 links of 8 mm; its corner lies on a circle of 8/2/sin(5°)."""
    corner = np.exp(2j * np.pi * np.arange(2) / 36) * (8.0 / 2.0 / math.sin(math.pi / 36))
    assert abs(corner[1] - corner[0]) == pytest.approx(8.0)
    turned = math.degrees(0.15 / abs(corner[0]))
    assert cam_lag(Measured(0.15), 8.0, 36).value == pytest.approx(2.0 * turned)


def test_backlash_of_nearer_gears() -> None:
    """COMPUTED by base circles: the working pressure angle from a·cos α = const, tooth thicknesses by
    the involute function; check against Δj = 2·Δa·tan α, which is its slope."""
    module, teeth, alpha = 2.5, (24, 48), math.radians(20.0)
    centre = module * sum(teeth) / 2.0

    def involute(angle: float) -> float:
        return math.tan(angle) - angle

    def play(distance: float) -> float:
        working = math.acos(centre * math.cos(alpha) / distance)
        pitch = 2.0 * math.pi * (distance * teeth[0] / sum(teeth)) / teeth[0]
        thick = sum(
            2.0 * (distance * z / sum(teeth)) * (math.pi / (2.0 * z) + involute(alpha) - involute(working))
            for z in teeth
        )
        return pitch - thick

    apart = centre + 0.20
    change = play(apart - 0.10) - play(apart)
    assert backlash_after(Measured(0.15), 0.10).value - 0.15 == pytest.approx(change, rel=0.02)


def test_what_a_cut_leaves_for_cleaning_up_counts() -> None:
    """0.12 hollow and 0.02 to clean it: 0.14 does, 0.13 does not (by hand)."""
    assert [cut(taken, Measured(0.12), 0.02).cleans_up for taken in (0.14, 0.13)] == ["yes", "no"]
