"""Polar diagrams: indicator readings round a journal, the fitted circle, and where its centre lies."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from ...assess.model.assessment import Characteristic
from ...quantities import message
from ..press.language import say, show
from ..press.words import OUT_OF_ORDER, System
from .canvas import Drawing, DrawingSheet, around
from .scales import NARROW, WIDE

LEAST = 4  # angles: three always lie on a circle, and show nothing
PLACES = 9  # beside each other; more would be too small to read


class TurnedView(Struct, frozen=True):
    """One place turned under the indicator.

    ``readings`` are (angle [deg], value [the drawing's unit]); ``centre`` is the fitted circle's, as the part
    of the readings that follows cosine and sine, or without readings what is heavy there; ``bad`` sets its
    name in semibold.
    """

    position: str
    readings: tuple[tuple[float, float], ...]
    centre: tuple[float, float] | None
    bad: bool = False


def polar(
    places: Sequence[TurnedView],
    unit: str,
    decimals: int,
    system: System,
    label: str,
    width: float = WIDE,
) -> Drawing:
    """Places side by side at one scale: readings round a circle, the fitted circle thin, its offset an arrow.

    0 degrees is at the top and angles run clockwise, as on a degree wheel.  The deviations are
    magnified alike in all places; the bar below says how long a round amount is.

    >>> turned = TurnedView("M4", ((0, 0.00), (90, 0.02), (180, 0.04), (270, 0.02)), (-0.02, 0.0))
    >>> polar([turned], "mm", 2, "mm", "Main journals").label
    'Main journals. M4: readings from 0.00 to 0.04 mm, centre off by 0.02 mm towards 180 degrees.'
    """
    if not places:
        raise ValueError("a polar diagram needs at least one place")
    step = width / len(places)
    radius = min(30.0, 0.36 * step)  # of the mean circle
    tall = 2 * (radius + 14)
    sheet = DrawingSheet(width, tall + 26)
    sheet.over("axis-light", "thin", "heavy", "arrow")
    middles = [sum(v for _, v in one.readings) / max(1, len(one.readings)) for one in places]
    most = max(
        [abs(v - mean) for one, mean in zip(places, middles, strict=True) for _, v in one.readings]
        + [math.hypot(*one.centre) for one in places if one.centre and not one.readings]
    )
    share = 0.42 if any(one.readings for one in places) else 0.9  # of the radius: what is heavy has it alone
    scale = share * radius / most if most > 0 else 0.0
    said: list[str] = []
    for i, (one, mean) in enumerate(zip(places, middles, strict=True)):
        x = (i + 0.5) * step
        _place(sheet, one, (x, tall / 2), radius, scale, mean)
        sheet.label(x, tall + 9, one.position, "strong" if one.bad else "name")
        said.append(_said(one, unit, decimals, system))
    if scale:
        _bar(sheet, scale, most, unit, decimals, system, tall + 20)
    return sheet.done(f"{label}. {'; '.join(said)}.")


def wheels(ones: Sequence[Characteristic], system: System, title: str) -> tuple[Drawing, ...]:
    """One feature in one round, drawn for print and for phones; nothing where nothing was turned."""
    bad = {c.position for c in ones if c.verdict in OUT_OF_ORDER}
    turned = [
        TurnedView(c.position, c.wheel.readings, c.wheel.centre, c.position in bad)
        for c in ones
        if c.wheel is not None and (len(c.wheel.readings) >= LEAST or not c.wheel.readings)
    ]
    if not 0 < len(turned) <= PLACES:
        return ()
    some = next(c for c in ones if c.wheel is not None)
    return tuple(polar(turned, some.unit, some.decimals, system, title, wide) for wide in (WIDE, NARROW))


def caption(ones: Sequence[Characteristic]) -> str:
    """What to see in such a drawing."""
    if not any(c.wheel.readings for c in ones if c.wheel is not None):
        return say(
            "Drawn: what each plane is too heavy by where it is corrected, its mark at the top, angles as "
            "the shaft turns. Take off there, or add across."
        )
    return say(
        "Drawn: readings round each place, its fitted circle thin, 0\u00a0degrees at the top. The arrow is "
        "how far its centre lies off the axis on which it was turned: half of what the dial runs out, where "
        "it is round."
    )


def _place(
    sheet: DrawingSheet, one: TurnedView, at: tuple[float, float], radius: float, scale: float, mean: float
) -> None:
    """One place's wheel with its readings, and where the centre of them lies."""
    _wheel(sheet, *at, radius)
    points = [around(*at, angle, radius + scale * (v - mean)) for angle, v in sorted(one.readings)]
    if points:
        sheet.polyline("heavy", [*points, points[0]])
    for point in points:
        sheet.ring("dot", *point, 1.5)
    if one.centre is None:
        return
    off = scale * math.hypot(*one.centre)
    centre = around(*at, math.degrees(math.atan2(one.centre[1], one.centre[0])), off)
    if points:
        sheet.ring("thin", *centre, radius)
    if off > 2.5:
        _arrow(sheet, at, centre)


def _wheel(sheet: DrawingSheet, x: float, y: float, radius: float) -> None:
    sheet.ring("axis-light", x, y, radius)
    for angle in range(0, 360, 90):
        sheet.line("axis-light", *around(x, y, angle, radius - 3), *around(x, y, angle, radius + 5))
    sheet.line("axis-light", x - 2, y, x + 2, y)
    sheet.line("axis-light", x, y - 2, x, y + 2)


def _arrow(sheet: DrawingSheet, start: tuple[float, float], end: tuple[float, float]) -> None:
    sheet.line("arrow", *start, *end)
    turn = math.atan2(end[1] - start[1], end[0] - start[0])
    wings = [(end[0] - 4 * math.cos(turn + w), end[1] - 4 * math.sin(turn + w)) for w in (0.45, -0.45)]
    sheet.polyline("arrow", [wings[0], end, wings[1]])


def _bar(
    sheet: DrawingSheet, scale: float, most: float, unit: str, decimals: int, system: System, y: float
) -> None:
    """How long a round amount is drawn."""
    amount = 10.0 ** math.floor(math.log10(most))
    amount = max((f * amount for f in (1, 2, 5) if f * amount <= most), default=amount)
    printed = show(amount, unit, max(decimals, -math.floor(math.log10(amount))), system)
    long = scale * amount
    sheet.line("bar-end", 4, y, 4 + long, y)
    for x in (4.0, 4 + long):
        sheet.line("bar-end", x, y - 2, x, y + 2)
    sheet.label(4 + long + 5, y + 2.3, printed.both, "limit", "start")


def _said(one: TurnedView, unit: str, decimals: int, system: System) -> str:
    known = {"place": one.position}
    if one.readings:
        values = [v for _, v in one.readings]
        low, high = (show(v, unit, decimals, system) for v in (min(values), max(values)))
        known |= {"low": low.text, "high": f"{high.text} {high.unit}"}
    if one.centre is None:
        return say("{place}: readings from {low} to {high}", **known)
    off = show(math.hypot(*one.centre), unit, decimals, system)
    angle = round(math.degrees(math.atan2(one.centre[1], one.centre[0]))) % 360
    words = message("{place}: readings from {low} to {high}, centre off by {off} towards {angle} degrees")
    if not one.readings:
        words = message("{place}: too heavy by {off} at {angle} degrees")
    return say(words, **known, off=f"{off.text} {off.unit}", angle=str(angle))
