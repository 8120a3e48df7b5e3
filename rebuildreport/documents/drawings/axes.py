"""The axis that values are drawn on, and limits across it: hatched beyond the last, tinted between the new.

In: characteristics.  Out: coordinates, and roles on a sheet.  Knows neither scales nor strips.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, log10

from msgspec import Struct

from ...assess.model.assessment import OPEN, Characteristic, Limits
from ..press.language import show
from .canvas import DrawingSheet

# shares of what is shown that stay free below it, and above it: room to see that a value has passed a limit
BELOW, ABOVE, PAST_LIMIT = 0.09, 0.12, 0.3
FAR_FROM_NOUGHT = 8  # an axis begins at 0 where that leaves at least an eighth of it to what differs


class Axis(Struct, frozen=True):
    """A straight axis from a value to a coordinate, never beyond its ends."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, number: float) -> float:
        held = min(max(number, self.low), self.high)
        return self.start + (held - self.low) / (self.high - self.low) * (self.end - self.start)


def round_up(number: float, factors: Sequence[float] = (1.0, 2.0, 5.0, 10.0)) -> float:
    """The next round number up: one of the factors of a power of ten.

    >>> round_up(9412, (1.0, 1.5, 10.0)), round_up(142300, (1.0, 1.5, 10.0)), round_up(0.0016)
    (10000.0, 150000.0, 0.002)
    """
    decade = 10.0 ** floor(log10(number))
    return next(factor * decade for factor in factors if factor * decade >= number)


def edge_text(edge: float, limits: Limits, unit: str, system: str) -> str:
    """A limit as printed beside the axis."""
    return show(edge, unit, limits.decimals, system).text


def span(value: Characteristic, planes: bool = False) -> tuple[float, float]:
    """From where to where the quantity may lie, by its guard, and where asked by what every plane read."""
    middle, guard = value.value or 0.0, value.guard or 0.0
    below = guard if value.guard_below is None else value.guard_below
    read = [end for ends in value.planes.values() for end in ends if end is not None] if planes else []
    return min([middle - below, *read]), max([middle + guard, *read])


def reach(values: Sequence[Characteristic], planes: bool = False) -> tuple[float, float]:
    """From where to where an axis must go to show values, uncertainties and limits."""
    given = [value.limits for value in values if value.limits is not None]
    edges = [edge for limits in given for edge in limits.edges]
    points = [*edges]
    for value in values:
        if value.value is not None:
            points += span(value, planes)
    if not points:
        return (0.0, 1.0)
    low, high = min(points), max(points)
    whole = (high - low) or max(abs(high), 1e-6) * 0.1
    open_below = all(limits.last[0] is None for limits in given)
    positive = min(value.value or 0.0 for value in values) >= 0
    from_nought = open_below and positive and low <= FAR_FROM_NOUGHT * whole
    above = PAST_LIMIT if high in edges else ABOVE
    return (0.0 if from_nought else low - BELOW * whole, high + above * whole)


class Across(Struct, frozen=True):
    """How far limits reach to both sides of their axis, and how they are hatched."""

    band: tuple[float, float]
    last: tuple[float, float]  # the line at the last limit of a side
    new: tuple[float, float]  # and at a new limit inside it
    hatch: str
    step: float
    upright: bool = False  # the axis itself


def mark_limits(sheet: DrawingSheet, axis: Axis, limits: Limits | None, across: Across) -> None:
    """Hatching beyond the last limits, tint between the new ones, a line at each."""
    if limits is None:
        return
    new, last = limits.new, limits.last

    def corners(start: float, end: float, sides: tuple[float, float]) -> tuple[float, float, float, float]:
        low, high = sorted((start, end))
        return (sides[0], low, sides[1], high) if across.upright else (low, sides[0], high, sides[1])

    for limit, end in zip(last, (axis.start, axis.end), strict=True):
        if limit is not None:
            sheet.hatch(across.hatch, *corners(axis(limit), end, across.band), across.step)
            sheet.line("limit", *corners(axis(limit), axis(limit), across.last))
    if new == OPEN:
        return
    ends = [
        next(end for end in side if end is not None)
        for side in zip(new, last, (axis.low, axis.high), strict=True)
    ]
    sheet.box("tint", *corners(axis(ends[0]), axis(ends[1]), across.band))
    for edge in new:
        if edge is not None and edge not in last:
            sheet.line("new-limit", *corners(axis(edge), axis(edge), across.new))
