"""Where each reading goes: a small drawing beside the boxes of a bench sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence

from ...quantities import message
from ...trade.measuring.form import plane_and_direction
from ..press.language import say
from ..press.words import place
from . import bench_bodies, bench_valves
from .bench_bodies import TALL, WIDE, named
from .canvas import Drawing, DrawingSheet

# degrees of a direction, seen from the front: 0 to the right, counted anticlockwise
_WAYS = {"v": 90.0, "t": 90.0, "a": 90.0, "h": 0.0, "b": 0.0, "60l": 150.0, "60r": 30.0}


def bench_drawing(drawing: str, columns: Sequence[str], positions: Sequence[str]) -> Drawing | None:
    """The drawing of a kind with its columns named; None where the words alone say it."""
    if drawing == "indicator" and not any(column.startswith("at_") for column in columns):
        return None
    draw = _DRAWN.get(drawing)
    return draw(columns, positions) if draw else None


def _round(columns: Sequence[str], shaft: bool) -> Drawing:
    """Planes along the axis at the left, directions in the section at the right."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("block", "axis-light", "axis", "bar")
    split = [plane_and_direction(column) for column in columns]
    planes = list(dict.fromkeys(plane for plane, _ in split if plane))
    ways = list(dict.fromkeys(way for _, way in split if way))
    left, right, top, bottom = 6.0, 78.0, 22.0, 56.0
    sheet.box("axis" if shaft else "block", left, top, right, bottom)
    if not shaft:
        sheet.line("axis", left, top, right, top)
        sheet.line("axis", left, bottom, right, bottom)
    if ways and not planes:  # directions in one plane that has no name
        sheet.line("bar", (left + right) / 2, top - 4, (left + right) / 2, bottom + 4)
    for i, plane in enumerate(planes):
        x = left + (right - left) * (i + 1) / (len(planes) + 1)
        sheet.at(plane)
        sheet.line("bar", x, top - 4, x, bottom + 4)
        sheet.label(x, top - 8 if i % 2 == 0 else bottom + 12, place(plane), "name-small")
    sheet.at()
    sheet.label(left, TALL - 4, say("front"), "italic", "start")
    x, y, radius = 116.0, 40.0, 20.0
    sheet.ring("axis", x, y, radius)
    for i, way in enumerate(ways):
        square = way == "a" and "t" in ways  # a bore is read across the crank and along it
        angle = 0.0 if square else math.radians(_WAYS.get(way, 180.0 * i / max(1, len(ways)) + 90.0))
        dx, dy = radius * math.cos(angle), radius * math.sin(angle)
        sheet.at(way)
        sheet.line("bar", x - dx, y + dy, x + dx, y - dy)
        sheet.label(x + 1.36 * dx, y - 1.36 * dy + 2.4, way, "strong-small")
    if not ways:
        return sheet.done(say("Planes {planes} along the axis.", planes=named(planes)))
    if not planes:
        return sheet.done(say("One plane; directions {ways} seen from the front.", ways=named(ways)))
    words = message("Planes {planes} along the axis; directions {ways} seen from the front.")
    return sheet.done(say(words, planes=named(planes), ways=named(ways)))


def _turned(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "axis-light", "bar")
    x, y, radius = 75.0, 42.0, 22.0
    sheet.ring("axis", x, y, radius)
    for column in columns:
        found = re.fullmatch(r"at_(\d+)", column)
        if not found:
            continue
        angle = math.radians(90.0 - float(found.group(1)))  # clockwise, as the report draws it
        sheet.at(column)
        sheet.line(
            "bar", x + radius * math.cos(angle), y - radius * math.sin(angle),
            x + (radius + 5) * math.cos(angle), y - (radius + 5) * math.sin(angle),
        )  # fmt: skip
        sheet.label(
            x + (radius + 12) * math.cos(angle), y - (radius + 12) * math.sin(angle) + 2.2, found.group(1),
            "name-small",
        )  # fmt: skip
    sheet.label(x, y + 2, say("turn, read"), "italic")
    angles = ", ".join(columns).replace("at_", "")
    return sheet.done(say("Seen from the front, read at {angles}.", angles=angles))


def _lines(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A face from above with the lines of a straightedge; one whose name tells no way lies along the face."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    left, right, top, bottom = 16.0, 116.0, 12.0, 70.0
    sheet.box("axis", left, top, right, bottom)
    across = [one for one in positions if re.search("across|cross|width|trans", one)]
    diagonal = [one for one in positions if "diagonal" in one][:2]
    lengthwise = [one for one in positions if one not in across and one not in diagonal]
    for i, name in enumerate(lengthwise):
        y = top + (bottom - top) * (i + 1) / (len(lengthwise) + 1)
        sheet.at(name)
        sheet.line("bar", left + 4, y, right - 4, y)
        sheet.label(right + 3, y + 2.2, _short(name), "name-small", "start")
    for i, name in enumerate(across):
        x = left + (right - left) * (i + 1) / (len(across) + 1)
        sheet.at(name)
        sheet.line("axis", x, top + 3, x, bottom - 3)
        sheet.label(x, bottom + 8, _short(name), "name-small")
    ends = [((left + 4, top + 4), (right - 4, bottom - 4)), ((left + 4, bottom - 4), (right - 4, top + 4))]
    for name, (one, other) in zip(diagonal, ends, strict=False):
        sheet.at(name)
        sheet.line("axis", *one, *other)
        sheet.label(one[0] - 9, one[1] + 2.2, f"d{name.rpartition('_')[2][:1]}", "name-small")
    words = say("The face from above with the lines of the straightedge: {lines}.", lines=named(positions))
    return sheet.done(words)


def _short(name: str) -> str:
    """A line's name without the word for the way that the drawing shows: left long is left."""
    words = [one for one in name.split("_") if not re.fullmatch("length(wise)?|long|along|across", one)]
    return place("_".join(words) or name)


def _grid(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "axis-light", "dot")
    left, right, top, bottom = 24.0, 138.0, 16.0, 74.0
    sheet.box("axis", left, top, right, bottom)
    for i, column in enumerate(columns):
        x = left + (right - left) * (i + 0.5) / len(columns)
        sheet.label(x, top - 5, place(column), "name-small")
        for k, position in enumerate(positions):
            sheet.at(f"{column} {position}")
            sheet.ring("dot", x, top + (bottom - top) * (k + 0.5) / len(positions), 1.3)
    for k, position in enumerate(positions):
        y = top + (bottom - top) * (k + 0.5) / len(positions)
        sheet.label(left - 4, y + 2.2, place(position), "name-small", "end")
    return sheet.done(say("The face from above with the crossings of the grid."))


def _halves(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """Two shell halves: the wall is read at the crown of each; or one bush."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    x, y = 75.0, 42.0
    for radius in (26.0, 21.0):
        sheet.ring("axis", x, y, radius)
    if list(columns) in (["crush"], ["spread"]):
        sheet.at(*columns)
        for side in (-1.0, 1.0):
            sheet.line("bar", x + side * 18, y, x + side * 30, y)
        sheet.label(x, y + 37, place(columns[0]), "strong-small")
        return sheet.done(
            say("Both halves seen from the front, read at the parting: {what}.", what=named(columns))
        )
    if len(columns) == 1:
        sheet.at(*columns)
        sheet.line("bar", x, y + 18, x, y + 30)
        sheet.label(x, y + 2.2, place(columns[0]), "strong-small")
        return sheet.done(say("The bush seen from the front: its wall."))
    sheet.line("axis", x - 28, y, x - 19, y)
    sheet.line("axis", x + 19, y, x + 28, y)
    for sign, name in zip((-1.0, 1.0), columns, strict=False):
        sheet.at(name)
        sheet.line("bar", x, y + sign * 18, x, y + sign * 30)
        sheet.label(x, y + sign * 12 + 2.2, place(name), "strong-small")
    words = say(
        "Both halves seen from the front: read at the crown of each ({halves}).", halves=named(columns)
    )
    return sheet.done(words)


def _rod(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A rod from the side with the bars of a fixture in both bores."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    y = 42.0
    sheet.ring("axis", 34.0, y, 18.0)
    sheet.ring("axis", 118.0, y, 10.0)
    sheet.line("axis", 51.0, y - 7, 109.0, y - 4)
    sheet.line("axis", 51.0, y + 7, 109.0, y + 4)
    sheet.at(*columns)
    sheet.line("bar", 34.0, y - 26, 34.0, y + 26)
    sheet.line("bar", 118.0, y - 26, 118.0, y + 26)
    sheet.label(34.0, y + 36, say("big end"), "name-small")
    sheet.label(118.0, y + 36, say("small end"), "name-small")
    return sheet.done(say("A rod with a bar in each bore: {columns}.", columns=named(columns)))


def _height(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A bore from above with the places round it where a height is read."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "dot")
    x, y, radius = 75.0, 42.0, 22.0
    sheet.ring("axis", x, y, radius)
    spots = {"front": 180.0, "rear": 0.0, "camshaft_side": 90.0, "other_side": 270.0}
    for i, column in enumerate(columns):
        angle = math.radians(spots.get(column, 180.0 - 360.0 * i / max(1, len(columns))))
        dx, dy = radius * math.cos(angle), -radius * math.sin(angle)
        sheet.at(column)
        sheet.ring("dot", x + dx, y + dy, 2.0)
        anchor = "end" if dx < -5 else "start" if dx > 5 else "middle"
        sheet.label(x + 1.25 * dx, y + 1.35 * dy + 2.2, place(column), "name-small", anchor)
    return sheet.done(say("A cylinder from above, front at the left: {columns}.", columns=named(columns)))


def _chain(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar", "dot")
    y = 40.0
    for k in range(9):
        x = 20.0 + k * 13.5
        sheet.ring("axis", x, y, 5.0)
        sheet.ring("dot", x, y, 1.4)
        if k < 8:
            sheet.line("axis", x + 5, y, x + 8.5, y)
    sheet.line("bar", 20.0, y + 20, 128.0, y + 20)
    sheet.label(74.0, y + 32, named(columns), "name-small")
    words = say(
        "A chain pulled straight, from pin to pin over the pitches named: {columns}.", columns=named(columns)
    )
    return sheet.done(words)


def _ring(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A piston's crown and grooves in section, the rings named from the top."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    left, right, top = 46.0, 92.0, 10.0
    sheet.polyline("axis", [(left, 76.0), (left, top), (right, top), (right, 76.0)])
    for i, column in enumerate(columns):
        y = top + 12 + i * 14
        sheet.at()
        sheet.box("axis", right - 12, y, right, y + 7)
        sheet.at(column)
        sheet.box("bar", right - 8, y + 1.4, right + 4, y + 5.6)
        sheet.label(right + 8, y + 6, place(column), "name-small", "start")
    return sheet.done(say("A piston's rings from the top: {columns}.", columns=named(columns)))


def _gear(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "dot")
    x, y, radius = 62.0, 44.0, 22.0
    sheet.ring("axis", x, y, radius)
    sheet.ring("axis", x + radius + 14, y, 14.0)
    for i, column in enumerate(columns):
        angle = math.radians(90.0 * i)
        dx, dy = radius * math.cos(angle), -radius * math.sin(angle)
        sheet.at(column)
        sheet.ring("dot", x + dx, y + dy, 1.8)
        sheet.label(x + 0.62 * dx, y + 0.62 * dy + 2.2, place(column)[:8], "name-small")
    return sheet.done(say("The larger gear turned on by quarters: {columns}.", columns=named(columns)))


def in_a_row(positions: Sequence[str]) -> Drawing:
    """A box a position, in their order: which of them it is, of a feature that has no drawing of its own."""
    longest = max(map(len, positions))
    across = 12 if longest < 4 else 6 if longest < 9 else 3
    rows = [positions[at : at + across] for at in range(0, len(positions), across)]
    sheet = DrawingSheet(WIDE, 6.0 + 18.0 * len(rows))
    wide = WIDE / across
    for down, names in enumerate(rows):
        for along, name in enumerate(names):
            x, y = along * wide, 3.0 + 18.0 * down
            sheet.at(name)
            sheet.box("axis", x + 1, y, x + wide - 1, y + 14)
            sheet.label(x + wide / 2, y + 9.2, place(name), "name-small")
    return sheet.done(say("The places in their order: {places}.", places=named(positions)))


_DRAWN: dict[str, Callable[[Sequence[str], Sequence[str]], Drawing]] = {
    "shaft": lambda columns, positions: _round(columns, True),
    "bore": lambda columns, positions: _round(columns, False),
    "indicator": _turned,
    "lines on a face": _lines,
    "grid on a face": _grid,
    "shell": _halves,
    "lobe": bench_valves.lobe,
    "wheel": bench_valves.wheel,
    "spring": bench_valves.spring,
    "guide": bench_valves.guide,
    "valve": bench_valves.valve,
    "clearance": bench_valves.clearance,
    "rod": _rod,
    "height": _height,
    "deck": bench_bodies.deck,
    "chain": _chain,
    "ring": _ring,
    "gear": _gear,
    "line": bench_bodies.line,
    "pump": bench_bodies.pump,
    "gauge": bench_bodies.gauge,
    "bearing": bench_bodies.bearing,
}
