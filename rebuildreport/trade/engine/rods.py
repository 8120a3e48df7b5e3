"""Connecting rods and sets that must match: alignment over a length, masses."""

from __future__ import annotations

from ..measuring.uncertainty import Measured

USUAL_LENGTH = 100.0  # mm, over which bend and twist are stated (common practice)


def over_length(reading: Measured, read_over: float, stated_over: float = USUAL_LENGTH) -> Measured:
    """Bend or twist read over one distance, stated over another [mm].

    Source: similar triangles; common practice states them over 100 mm.

    >>> round(over_length(Measured(0.03), 150.0).value, 9)
    0.02
    """
    if read_over <= 0.0:
        raise ValueError("bend and twist are read over a distance")
    return reading.scaled(stated_over / read_over)
