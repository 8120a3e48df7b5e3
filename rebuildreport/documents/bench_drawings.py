"""Where each reading goes: a small drawing beside the boxes of a bench sheet."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence

from ..trade.form import plane_and_direction
from .drawings import Drawing, Sheet

WIDE, TALL = 150.0, 84.0
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
    sheet = Sheet(WIDE, TALL)
    sheet.over("block", "axis-light", "axis", "bar")
    split = [plane_and_direction(column) for column in columns]
    planes = list(dict.fromkeys(plane for plane, _ in split if plane))
    ways = list(dict.fromkeys(way for _, way in split if way))
    left, right, top, bottom = 6.0, 78.0, 22.0, 56.0
    sheet.box("axis" if shaft else "block", left, top, right, bottom)
    if not shaft:
        sheet.line("axis", left, top, right, top)
        sheet.line("axis", left, bottom, right, bottom)
    for i, plane in enumerate(planes):
        x = left + (right - left) * (i + 1) / (len(planes) + 1)
        sheet.line("bar", x, top - 4, x, bottom + 4)
        sheet.label(x, top - 8 if i % 2 == 0 else bottom + 12, plane.replace("_", " "), "name-small")
    sheet.label(left, TALL - 4, "front", "italic", "start")
    x, y, radius = 116.0, 40.0, 20.0
    sheet.ring("axis", x, y, radius)
    for i, way in enumerate(ways):
        angle = math.radians(_WAYS.get(way, 180.0 * i / max(1, len(ways)) + 90.0))
        dx, dy = radius * math.cos(angle), radius * math.sin(angle)
        sheet.line("bar", x - dx, y + dy, x + dx, y - dy)
        sheet.label(x + 1.36 * dx, y - 1.36 * dy + 2.4, way, "strong-small")
    said = f"Planes {', '.join(planes) or 'as named'} along the axis"
    return sheet.done(f"{said}; directions {', '.join(ways)} seen from the front." if ways else f"{said}.")


def _turned(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    sheet = Sheet(WIDE, TALL)
    sheet.over("axis", "axis-light", "bar")
    x, y, radius = 75.0, 42.0, 22.0
    sheet.ring("axis", x, y, radius)
    for column in columns:
        found = re.fullmatch(r"at_(\d+)", column)
        if not found:
            continue
        angle = math.radians(float(found.group(1)) + 90.0)
        sheet.line(
            "bar", x + radius * math.cos(angle), y - radius * math.sin(angle),
            x + (radius + 5) * math.cos(angle), y - (radius + 5) * math.sin(angle),
        )  # fmt: skip
        sheet.label(
            x + (radius + 12) * math.cos(angle), y - (radius + 12) * math.sin(angle) + 2.2, found.group(1),
            "name-small",
        )  # fmt: skip
    sheet.label(x, y + 2, "turn, read", "italic")
    return sheet.done(f"One journal seen from the front, read at {', '.join(columns)}.".replace("at_", ""))


def _lines(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A face from above with the lines of a straightedge, as far as their names tell them."""
    sheet = Sheet(WIDE, TALL)
    sheet.over("axis", "bar")
    left, right, top, bottom = 16.0, 134.0, 12.0, 70.0
    sheet.box("axis", left, top, right, bottom)
    lengthwise = [one for one in positions if one.startswith("length")]
    across = [one for one in positions if one.startswith("across")]
    diagonal = [one for one in positions if one.startswith("diagonal")]
    for i, name in enumerate(lengthwise):
        y = top + (bottom - top) * (i + 1) / (len(lengthwise) + 1)
        sheet.line("bar", left + 4, y, right - 4, y)
        sheet.label(right + 7, y + 2.2, name.rpartition("_")[2][:3], "name-small")
    for i, name in enumerate(across):
        x = left + (right - left) * (i + 1) / (len(across) + 1)
        sheet.line("axis", x, top + 3, x, bottom - 3)
        sheet.label(x, bottom + 8, name.rpartition("_")[2], "name-small")
    ends = [((left + 4, top + 4), (right - 4, bottom - 4)), ((left + 4, bottom - 4), (right - 4, top + 4))]
    for name, (one, other) in zip(diagonal, ends, strict=False):
        sheet.line("axis", *one, *other)
        sheet.label(one[0] - 9, one[1] + 2.2, f"d{name.rpartition('_')[2][:1]}", "name-small")
    return sheet.done("The face from above with the lines of the straightedge.")


def _grid(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    sheet = Sheet(WIDE, TALL)
    sheet.over("axis", "axis-light", "dot")
    left, right, top, bottom = 24.0, 138.0, 16.0, 74.0
    sheet.box("axis", left, top, right, bottom)
    for i, column in enumerate(columns):
        x = left + (right - left) * (i + 0.5) / len(columns)
        sheet.label(x, top - 5, column, "name-small")
        for k in range(len(positions)):
            sheet.ring("dot", x, top + (bottom - top) * (k + 0.5) / len(positions), 1.3)
    for k, position in enumerate(positions):
        y = top + (bottom - top) * (k + 0.5) / len(positions)
        sheet.label(left - 4, y + 2.2, position, "name-small", "end")
    return sheet.done("The face from above with the crossings of the grid.")


def _halves(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """Two shell halves: the wall is read at the crown of each."""
    sheet = Sheet(WIDE, TALL)
    sheet.over("axis", "bar")
    x, y = 75.0, 42.0
    for radius in (26.0, 21.0):
        sheet.ring("axis", x, y, radius)
    sheet.line("axis", x - 28, y, x - 19, y)
    sheet.line("axis", x + 19, y, x + 28, y)
    for sign, name in zip((-1.0, 1.0), columns, strict=False):
        sheet.line("bar", x, y + sign * 18, x, y + sign * 30)
        sheet.label(x, y + sign * 12 + 2.2, name, "strong-small")
    return sheet.done(f"Both halves seen from the front: read at the crown of each ({', '.join(columns)}).")


_DRAWN: dict[str, Callable[[Sequence[str], Sequence[str]], Drawing]] = {
    "shaft": lambda columns, positions: _round(columns, True),
    "bore": lambda columns, positions: _round(columns, False),
    "indicator": _turned,
    "lines on a face": _lines,
    "grid on a face": _grid,
    "shell": _halves,
}
