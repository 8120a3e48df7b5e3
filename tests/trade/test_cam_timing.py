"""Valve timing and contact: the cards of every cam grinder, and a second way to each gap."""

from __future__ import annotations

from math import acos, cos, degrees, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.trade.measuring.uncertainty import Measured, alone
from rebuildreport.trade.running.cam_timing import (
    LobeTiming,
    ValveRoom,
    at_lift,
    lobe_separation,
    meets_out_of_time,
    nearest,
    overlap,
    read_lift,
    rounded_lift,
)
from rebuildreport.trade.running.mechanism import Mechanism

GEAR = Mechanism(86.0, 86.0, 143.0)


def test_a_timing_card() -> None:
    """Common practice: intake 10 before top to 50 after bottom, exhaust 50 before bottom to 10 after top is
    240 degrees each, centres 110 after and before, separation 110, overlap 20."""
    intake = LobeTiming(Measured(-10.0), Measured(180.0 + 50.0))
    exhaust = LobeTiming(Measured(-180.0 - 50.0), Measured(10.0))
    assert (intake.duration.value, exhaust.duration.value) == (240.0, 240.0)
    assert (intake.centre.value, exhaust.centre.value) == (110.0, -110.0)
    assert lobe_separation(intake, exhaust).value == 110.0
    assert overlap(intake, exhaust).value == 20.0


def test_two_readings_of_the_wheel_share_no_error() -> None:
    """A degree each is 0.71 of one at the middle between them (JCGM 100, 5.1.2)."""
    assert LobeTiming(alone(-10.0, 1.0), alone(230.0, 1.0)).centre.u == pytest.approx(0.5**0.5)


@given(st.floats(90, 125), st.floats(200, 300), st.floats(6, 13), st.floats(0.3, 5.0))
@settings(max_examples=60, deadline=None)
def test_equal_lift_finds_the_centre(centre: float, duration: float, highest: float, lift: float) -> None:
    """Whatever the lift that is looked for; and the time beyond it is that of the curve solved for it."""
    curve = rounded_lift(centre, duration, highest)
    read = {float(at): curve(float(at)) for at in range(-80, 320, 2)}
    opens, closes = at_lift(read, lift)
    assert (opens + closes) / 2 == pytest.approx(centre, abs=0.2)
    beyond = duration / 180 * degrees(acos(2 * lift / highest - 1)) / 1.0
    assert closes - opens == pytest.approx(beyond, abs=0.3)
    assert read_lift(read)(centre) == pytest.approx(highest, abs=0.01)
    assert read_lift(read, lash=0.2)(centre) == pytest.approx(highest - 0.2, abs=0.01)


@given(st.floats(0.0, 2.0), st.floats(0.5, 3.0), st.floats(-8.0, 8.0))
@settings(max_examples=40, deadline=None)
def test_skims_recess_and_retard_move_the_gap_as_they_must(deck: float, pocket: float, late: float) -> None:
    """A skim of a tenth takes a tenth; a sunk valve gives its depth back; an intake cam that runs late opens
    while the piston is already going down, so it comes no nearer."""
    room = ValveRoom(deck, 1.2, 0.8, pocket)
    curve = rounded_lift(106.0 + late, 260.0, 9.0)
    base = nearest(room, GEAR, curve)
    assert nearest(ValveRoom(deck, 1.1, 0.8, pocket), GEAR, curve).gap == pytest.approx(base.gap - 0.1)
    assert nearest(ValveRoom(deck, 1.2, 1.1, pocket), GEAR, curve).gap == pytest.approx(base.gap + 0.3)
    assert nearest(room, GEAR, rounded_lift(110.0 + late, 260.0, 9.0)).gap >= base.gap


def test_where_an_open_valve_is_hit() -> None:
    """By the drop of the slider-crank at the edge of the range: what is left there is nothing."""
    room = ValveRoom(0.5, 1.2, 1.0, 1.5)
    half = meets_out_of_time(room, GEAR, 9.0)
    assert half is not None
    inside, outside = (room.gap(float(GEAR.drop(radians(half + more))), 9.0) for more in (0.0, 0.25))
    assert inside < 0 <= outside
    # a stem that leans brings its head down by less
    tilted = ValveRoom(0.5, 1.2, 1.0, 1.5, tilt=30.0)
    assert tilted.gap(0.0, 9.0) == pytest.approx(4.2 - 9.0 * cos(radians(30.0)))


def test_readings_that_tell_no_event_are_refused() -> None:
    with pytest.raises(ValueError, match="once up and once down"):
        at_lift({0: 0.0, 20: 3.0, 40: 5.0}, 1.0)
    with pytest.raises(ValueError, match="once up and once down"):
        at_lift({0: 0.0, 20: 3.0, 40: 0.0, 60: 3.0, 80: 0.0}, 1.0)
