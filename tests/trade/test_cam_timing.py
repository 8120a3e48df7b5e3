"""Valve timing and contact: the cards of every cam grinder, and a second way to each gap."""

from __future__ import annotations

from math import acos, cos, degrees, radians

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.trade.measuring.uncertainty import Measured, alone
from rebuildreport.trade.running.cam_timing import (
    SEARCH,
    LobeTiming,
    gaps,
    meets_out_of_time,
    rounded_lift,
)
from rebuildreport.trade.running.mechanism import Mechanism

GEAR = Mechanism(86.0, 86.0, 143.0)


def test_a_timing_card() -> None:
    """Common practice: intake 10 before top to 50 after bottom, exhaust 50 before bottom to 10 after top is
    240 degrees each, centres 110 after and before."""
    intake = LobeTiming(Measured(-10.0), Measured(180.0 + 50.0))
    exhaust = LobeTiming(Measured(-180.0 - 50.0), Measured(10.0))
    assert (intake.duration.value, exhaust.duration.value) == (240.0, 240.0)
    assert (intake.centre.value, exhaust.centre.value) == (110.0, -110.0)


def test_two_readings_of_the_wheel_share_no_error() -> None:
    """A degree each is 0.71 of one at the middle between them (JCGM 100, 5.1.2)."""
    assert LobeTiming(alone(-10.0, 1.0), alone(230.0, 1.0)).centre.u == pytest.approx(0.5**0.5)


@given(st.floats(90, 125), st.floats(200, 300), st.floats(6, 13), st.floats(0.3, 5.0))
@settings(max_examples=60, deadline=None)
def test_equal_lift_finds_the_centre(centre: float, duration: float, highest: float, lift: float) -> None:
    """Whatever lift is looked for: a curve laid through what was read there is the one it was read of."""
    curve = rounded_lift(SEARCH, centre, duration, highest)
    half = duration / 360 * degrees(acos(2 * lift / highest - 1))  # the raised cosine solved for its lift
    opens, closes = centre - half, centre + half
    assert rounded_lift(np.array([opens, closes]), centre, duration, highest) == pytest.approx([lift] * 2)
    again = rounded_lift(SEARCH, (opens + closes) / 2, closes - opens, highest, beyond=lift)
    assert np.allclose(again, curve)


def test_skims_recess_and_retard_move_the_gap_as_they_must() -> None:
    """A skim of a tenth takes a tenth, a sunk valve gives its depth back; an intake cam that runs late opens
    while the piston is already going down, so it comes no nearer."""
    curve = rounded_lift(SEARCH, 106.0, 260.0, 9.0)
    base = gaps(GEAR, 4.0, curve, SEARCH).min()
    assert gaps(GEAR, 3.9, curve, SEARCH).min() == pytest.approx(base - 0.1)
    assert gaps(GEAR, 4.0, rounded_lift(SEARCH, 110.0, 260.0, 9.0), SEARCH).min() > base
    early = rounded_lift(SEARCH, -106.0, 260.0, 9.0)  # an exhaust valve is its mirror
    assert gaps(GEAR, 4.0, early, SEARCH).min() == pytest.approx(base)


def test_where_an_open_valve_is_hit() -> None:
    """By the drop of the slider-crank at the edge of the range: what is left there is nothing."""
    half = meets_out_of_time(GEAR, 3.2, 9.0)
    assert half is not None
    inside, outside = (3.2 + float(GEAR.drop(radians(half + more))) - 9.0 for more in (0.0, 0.25))
    assert inside < 0 <= outside
    # along a stem that leans the piston goes away more slowly
    tilted = gaps(GEAR, 3.2, 9.0, np.array([30.0]), tilt=30.0)[0]
    assert tilted == pytest.approx(3.2 + 7.3864 * cos(radians(30.0)) - 9.0, abs=1e-4)
    with pytest.raises(ValueError, match="not open beyond"):
        rounded_lift(SEARCH, 106.0, 240.0, 9.0, beyond=9.5)
