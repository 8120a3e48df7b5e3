"""What a bearing bears, drawn: the load seen by its two halves over a cycle, and its oil film over clearance.

In: loads and films as worked out.  Out: drawings.
"""

from __future__ import annotations

from math import hypot, log

from ...assess.model.engineload import BearingAt, EngineLoads
from ...quantities import message
from ..press.language import say, show
from ..press.words import NBSP, System
from .canvas import Drawing, DrawingSheet

WIDE, NARROW = 325.0, 250.0
_HIGH, _FOOT = 134.0, 106.0


def loaded_halves(one: BearingAt, loads: EngineLoads, width: float, system: System) -> Drawing:
    """The load's path in the bearing, its halves with the share of each; and beside it the film's curve."""
    sheet = DrawingSheet(width, _HIGH)
    sheet.over("tint", "hatch", "axis-light", "axis", "heavy", "curve", "limit")
    split = 0.42 * width
    _path(sheet, one, split)
    if loads.curve and loads.curve_of == one.position:
        _curve(sheet, one, loads, split + 26.0, width - 8.0, system)
    upper = round(100 * one.upper_share)
    words = message(
        "{position} at {speed}: {upper} % of its load on the upper half, {lower} % on the lower one"
    )
    known = {"position": one.position, "speed": speed(one.speed), "upper": upper, "lower": 100 - upper}
    return sheet.done(say(words, **known))


def speed(value: float) -> str:
    """'1400 rpm'."""
    return f"{value:.0f}{NBSP}{say('rpm')}"


def _path(sheet: DrawingSheet, one: BearingAt, width: float) -> None:
    """The load as it wanders, up is towards the upper half; both halves as arcs with their share."""
    x, y, radius = width / 2, _HIGH / 2 + 2, 40.0
    most = max(hypot(*point) for point in one.path) or 1.0
    scale = 0.86 * radius / most
    sheet.ring("axis", x, y, radius)
    sheet.line("axis-light", x - radius - 8, y, x + radius + 8, y)
    points = [(x + right * scale, y - up * scale) for right, up in one.path]
    sheet.polyline("heavy", [*points, points[0]])
    sheet.ring("dot", x, y, 1.4)
    upper = round(100 * one.upper_share)
    names = (say("shank") if one.of == "rod" else say("block"), say("cap"))
    sheet.label(x, y - radius - 6, f"{names[0]} {upper}{NBSP}%", "strong" if upper >= 50 else "name")
    sheet.label(x, y + radius + 12, f"{names[1]} {100 - upper}{NBSP}%", "strong" if upper < 50 else "name")


def _curve(
    sheet: DrawingSheet, one: BearingAt, loads: EngineLoads, left: float, right: float, system: System
) -> None:
    """Thinnest film upwards, clearance to the right on a scale of ratios; roughness as a limit."""
    widths = [width for width, _ in loads.curve]
    low, high = min(widths), max([*widths, *(film.clearance for film in one.films)])
    rough = loads.roughness or 0.0
    top = 1.15 * max([rough, *(film for _, film in loads.curve), *(film.high for film in one.films)])

    def x(width: float) -> float:
        return left + (right - left) * (log(width / low) / log(high / low))

    def y(film: float) -> float:
        return _FOOT - (_FOOT - 14.0) * film / top

    if rough:
        sheet.hatch("hatch", left, y(rough), right, _FOOT)
        sheet.line("limit", left, y(rough), right, y(rough))
        sheet.label(right, y(rough) - 2.5, say("roughness"), "limit", "end")
    sheet.line("axis", left, _FOOT, right, _FOOT)
    sheet.polyline("curve", [(x(width), y(film)) for width, film in loads.curve])
    for film in one.films:
        at = x(film.clearance)
        sheet.line("span", at, y(film.low), at, y(film.high))
        if film.state == "arrival":
            sheet.diamond(at, y(film.thinnest), 3.0)
        else:
            sheet.ring("dot", at, y(film.thinnest), 2.4)
        text = show(film.clearance, "mm", 3, system).text
        sheet.label(at, _FOOT + 9.0, text, "value" if film.state == "now" else "name")
    sheet.label(left, 8.0, say("thinnest oil film"), "italic", "start")
    unit = show(0.1, "mm", 3, system).unit_text
    sheet.label(right, _FOOT + 19.0, say("clearance, {unit}", unit=unit), "italic", "end")
