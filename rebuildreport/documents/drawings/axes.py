"""The axis that values are drawn on, and limits across it: hatched beyond the last, tinted between the new.

In: characteristics.  Out: coordinates, and roles on a sheet.  Knows neither scales nor strips.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, log10

from msgspec import Struct

from ...assess.model.assessment import Characteristic, Ends
from ..press.language import show
from .canvas import DrawingSheet

OPEN: Ends = (None, None)
# shares of what is shown that stay free below it, and above it: room to see that a value has passed a limit
BELOW, ABOVE, PAST_LIMIT = 0.09, 0.12, 0.3
FAR_FROM_NOUGHT = 8  # an axis begins at 0 where that leaves at least an eighth of it to what differs


class Axis(Struct, frozen=True):
    """A straight axis from a value to a coordinate."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, number: float) -> float:
        return self.start + (number - self.low) / (self.high - self.low) * (self.end - self.start)

    def held(self, number: float) -> float:
        """The same, but never beyond the ends of the axis."""
        return self(min(max(number, self.low), self.high))


def round_up(number: float, factors: Sequence[float] = (1.0, 2.0, 5.0, 10.0)) -> float:
    """The next round number up: one of the factors of a power of ten.

    >>> round_up(9412, (1.0, 1.5, 10.0)), round_up(142300, (1.0, 1.5, 10.0)), round_up(0.0016)
    (10000.0, 150000.0, 0.002)
    """
    decade = 10.0 ** floor(log10(number))
    return next(factor * decade for factor in factors if factor * decade >= number)


def outer(value: Characteristic) -> Ends:
    """The last limit of each side: the wear limit, or the new one where no wear limit is given."""
    if value.limits is None or by_fit(value):
        return OPEN
    low, high = (
        worn if worn is not None else new
        for new, worn in zip(value.limits.new, value.limits.wear, strict=True)
    )
    return low, high


def by_fit(value: Characteristic) -> bool:
    """Whether another value decides, so that its own limits are a remark."""
    return value.value is not None and value.limits is not None and value.limits.decides == OPEN


def edges_of(value: Characteristic) -> list[float]:
    """Every new and wear limit that is given, from the lowest to the highest, each once."""
    limits = value.limits
    return sorted({end for end in (*limits.new, *limits.wear) if end is not None}) if limits else []


def edge_text(edge: float, value: Characteristic, system: str) -> str:
    """A limit as printed beside the axis."""
    decimals = value.limits.decimals if value.limits else value.decimals
    return show(edge, value.unit, decimals, system).text


def plane_ends(value: Characteristic) -> list[float]:
    """Smallest and largest of every plane that was read."""
    return [end for ends in value.planes.values() for end in ends if end is not None]


def reach(values: Sequence[Characteristic], planes: bool = False) -> tuple[float, float]:
    """From where to where an axis must go to show values, uncertainties and limits."""
    edges = [edge for value in values for edge in edges_of(value)]
    points = list(edges)
    for value in values:
        if value.value is not None:
            points += [*value.reaches, *(plane_ends(value) if planes else ())]
    if not points:
        return (0.0, 1.0)
    low, high = min(points), max(points)
    span = (high - low) or max(abs(high), 1e-6) * 0.1
    open_below = all(outer(value)[0] is None for value in values)
    positive = min(value.value or 0.0 for value in values) >= 0
    from_nought = open_below and positive and low <= FAR_FROM_NOUGHT * span
    above = PAST_LIMIT if high in edges else ABOVE
    return (0.0 if from_nought else low - BELOW * span, high + above * span)


class Across(Struct, frozen=True):
    """How far limits reach to both sides of their axis, and how they are hatched."""

    band: tuple[float, float]
    last: tuple[float, float]  # the line at the last limit of a side
    new: tuple[float, float]  # and at a new limit inside it
    hatch: str
    step: float
    upright: bool = False  # the axis itself


def mark_limits(sheet: DrawingSheet, axis: Axis, value: Characteristic, across: Across) -> None:
    """Hatching beyond the last limits, tint between the new ones, a line at each."""
    if value.limits is None:
        return
    new, last = value.limits.new, outer(value)

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
