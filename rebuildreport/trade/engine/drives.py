"""Timing drives: chains, their tensioners, gears."""

from __future__ import annotations

import math

from ..measuring.uncertainty import Measured

CRANK_TURNS = 2.0  # the crank turns twice for each turn of a cam (four-stroke)


def elongation(measured: Measured, pitch: float, pitches: float) -> Measured:
    """How much longer a chain has grown than its pitches [percent; mm].

    Raises ValueError where the new length is nothing.

    Source: common practice: (L − n·P)/(n·P).

    >>> round(elongation(Measured(161.05), 8.0, 20).value, 3)
    0.656
    """
    new = pitch * pitches
    if new <= 0.0:
        raise ValueError("a chain's pitch and number of pitches are more than nothing")
    return measured.shifted(-new).scaled(100.0 / new)


def pitch_diameter(pitch: float, teeth: float) -> float:
    """Diameter on which a chain's pins run round a sprocket [mm].

    Source: ISO 606, d = p/sin(180°/z).

    >>> round(pitch_diameter(9.525, 38), 3)
    115.344
    """
    return pitch / math.sin(math.pi / teeth)


def timing_error(elongation_percent: Measured, tight_run: float, pitch: float, cam_teeth: float) -> Measured:
    """How late a worn chain turns the cam [degrees of the crank].

    The tight run, between crank and cam sprocket, has grown; the cam lags by
    that length on its sprocket's pitch circle, and the crank turns twice as far.
    ``tight_run`` is its length when new [mm].

    Source: geometry; common practice.

    >>> round(timing_error(Measured(1.0), 400.0, 9.525, 38).value, 2)
    7.95
    """
    return cam_lag(elongation_percent.scaled(tight_run / 100.0), pitch, cam_teeth)


def cam_lag(slack: Measured, pitch: float, cam_teeth: float) -> Measured:
    """How late a length of slack in the tight run turns the cam [degrees of the crank; mm].

    A chain that has grown makes it, and so does a skim that brings the cam
    nearer to the crank.

    Source: geometry (arc over radius, on the pitch circle of ISO 606).

    >>> round(cam_lag(Measured(0.15), 8.0, 36).value, 3)
    0.375
    """
    return slack.scaled(CRANK_TURNS * math.degrees(2.0 / pitch_diameter(pitch, cam_teeth)))


def backlash_after(backlash: Measured, nearer: float, pressure_angle: float = 20.0) -> Measured:
    """Backlash of two gears whose centres have come nearer [mm; degrees].

    Source: involute geometry: Δj = 2·Δa·tan α, along the pitch circle.

    >>> round(backlash_after(Measured(0.15), 0.10).value, 4)
    0.0772
    """
    return backlash.shifted(-2.0 * nearer * math.tan(math.radians(pressure_angle)))
