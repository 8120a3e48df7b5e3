"""Where readings go on a valve train: drawings beside the boxes of a bench sheet."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sin

from ...quantities import message
from ..press.language import say
from ..press.words import column_words, place
from .bench_bodies import TALL, WIDE, named
from .canvas import Drawing, DrawingSheet


def lobe(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A cam lobe: over the nose, and across the base circle square to it."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    x, y, radius = 70.0, 50.0, 18.0
    sheet.ring("axis", x, y, radius)
    sheet.polyline("axis", [(x - 13, y - 12), (x - 6, y - 34), (x + 6, y - 34), (x + 13, y - 12)])
    over, across = [*columns, "", ""][:2]
    sheet.at(over)
    sheet.line("bar", x + 30, y - 34, x + 30, y + radius)
    sheet.at(across)
    sheet.line("bar", x - radius, y + radius + 7, x + radius, y + radius + 7)
    for column, spot in zip(columns, [(x + 46, y - 6), (x + 34, y + radius + 10)], strict=False):
        sheet.label(*spot, place(column), "strong-small")
    words = say("A cam lobe: {columns}; the base circle is read square to the nose.", columns=named(columns))
    return sheet.done(words)


# degrees of the wheel at which a valve opens and closes, as a drawing shows them
_LOBES: dict[str, tuple[float, ...]] = {"I": (-30.0, 210.0), "E": (150.0, 30.0)}


def wheel(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A degree wheel for each kind of valve, nought at the upper dead centre: where it opens and closes, or
    the angles at which its lift is read."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    angles = [float(column.removeprefix("at_")) for column in columns if column.startswith("at_")]
    of = [] if angles else [kind for kind in _LOBES if any(one.startswith(kind) for one in positions)]
    y, radius = 46.0, 24.0
    for at, kind in enumerate(of or ["I"]):
        x = WIDE * (2 * at + 1) / (2 * max(1, len(of)))
        sheet.at()
        sheet.ring("axis", x, y, radius)
        sheet.line("axis", x, y - radius - 5, x, y - radius + 5)
        sheet.label(x, y - radius - 8, "0", "name-small")
        if of:
            name = say("exhaust") if kind == "E" else say("intake")
            sheet.label(x, TALL - 3, name, "italic")
        for column, angle in zip(columns, angles or _LOBES[kind], strict=False):
            right, up = sin(radians(angle)), cos(radians(angle))
            sheet.at(column)
            sheet.line("bar", x, y, x + radius * right, y - radius * up)
            if not angles:
                anchor = "start" if right > 0 else "end"
                spot = x + 1.2 * radius * right, y - 1.2 * radius * up + 2
                sheet.label(*spot, place(column), "strong-small", anchor)
    read = ", ".join(map(column_words, columns))
    words = say("A degree wheel, nought at the upper dead centre: {columns}.", columns=read)
    return sheet.done(words)


def spring(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A spring between its seats, or one beside the other as short as each of its loads finds it."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "bar")
    bottom = 70.0
    if {"closed", "open"} & {*columns}:
        for i, column in enumerate(columns):
            x = (WIDE - 18.0) * (i + 0.5) / len(columns)
            top = 34.0 if column == "open" else 20.0
            sheet.at(column)
            _coil(sheet, x, top, bottom)
            sheet.label(x, 12.0, say("load {column}", column=place(column)), "strong-small")
            sheet.line("axis", x + 25, top, x + 25, bottom)
            sheet.label(x + 28, (top + bottom) / 2 + 2, say("length"), "name-small", "start")
        words = message("The spring pressed to its length in a tester, and the load there: {columns}.")
        return sheet.done(say(words, columns=named(columns)))
    x, top = 66.0, 14.0
    _coil(sheet, x, top, bottom)
    lengths = [column for column in columns if column != "squareness"]
    sheet.at(*lengths)
    sheet.line("axis", x + 32, top, x + 32, bottom)
    sheet.label(x + 36, (top + bottom) / 2 + 2, named(lengths)[:24], "name-small", "start")
    if "squareness" not in columns:
        return sheet.done(say("A spring between its seats, {columns}.", columns=named(columns)))
    sheet.at("squareness")
    sheet.line("axis", x - 28, top - 6, x - 28, bottom)
    sheet.label(x - 28, top - 8, place("squareness"), "name-small")
    words = say("A spring between its seats, a square beside it: {columns}.", columns=named(columns))
    return sheet.done(words)


def _coil(sheet: DrawingSheet, x: float, top: float, bottom: float) -> None:
    turns, half = 6, 15.0
    sheet.polyline(
        "axis",
        [
            (x - half if k % 2 == 0 else x + half, top + (bottom - top) * k / (2 * turns))
            for k in range(2 * turns + 1)
        ],
    )
    for y in (top, bottom):
        sheet.line("bar", x - half - 5, y, x + half + 5, y)


def guide(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A stem in its guide: the guide's readings named at the left, the stem's at the right."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("block", "axis", "bar")
    x, top, bottom = 75.0, 12.0, 62.0
    sheet.box("block", x - 18, top, x - 6, bottom)
    sheet.box("block", x + 6, top, x + 18, bottom)
    sheet.box("axis", x - 4, top - 8, x + 4, bottom + 8)
    sheet.polyline(
        "axis", [(x - 4, bottom + 8), (x - 24, bottom + 16), (x + 24, bottom + 16), (x + 4, bottom + 8)]
    )
    stems = [column for column in columns if column.startswith("stem")]
    guides = [column for column in columns if column not in stems]
    for names, side, anchor in ((guides, -1.0, "end"), (stems, 1.0, "start")):
        for k, name in enumerate(names):
            y = top + (bottom - top) * (k + 0.5) / len(names)
            near = 6.0 if side < 0 else 4.0
            sheet.at(name)
            sheet.line("bar", x + side * near, y, x + side * 21, y)
            sheet.label(x + side * 23, y + 2.2, place(name), "name-small", anchor)
    words = message("A stem in its guide, the guide read at the left and the stem at the right: {columns}.")
    return sheet.done(say(words, columns=named(columns)))


def valve(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A valve on its seat."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("block", "axis", "bar")
    x, y = 75.0, 52.0
    sheet.box("axis", x - 3, 8, x + 3, y - 12)
    sheet.polyline(
        "axis", [(x - 3, y - 12), (x - 26, y), (x - 26, y + 5), (x + 26, y + 5), (x + 26, y), (x + 3, y - 12)]
    )
    for side in (-1.0, 1.0):
        sheet.at(*columns)
        sheet.polyline("bar", [(x + side * 19, y - 5), (x + side * 26, y - 0.5)])
        sheet.at()
        sheet.polyline(
            "block",
            [(x + side * 44, y), (x + side * 27, y), (x + side * 16, y - 10), (x + side * 44, y - 10)],
        )
    sheet.line("axis-light", x - 50, y, x + 50, y)
    sheet.label(x + 52, y + 2, say("face"), "italic", "start")
    words = say("A valve on its seat, the head's face beside it: {columns}.", columns=named(columns))
    return sheet.done(words)


def clearance(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """The gap over a stem, whatever closes it: cam, bucket, or a rocker with its screw."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("block", "axis", "bar")
    x, tip, foot = 75.0, 46.0, 37.0
    sheet.box("axis", x - 4, tip, x + 4, TALL - 8)
    sheet.box("block", x - 20, foot - 16, x + 20, foot)
    for y, beyond in ((tip, 12.0), (foot, -12.0)):
        sheet.line("axis", x + 8, y, x + 44, y)
        sheet.at(*columns)
        sheet.line("bar", x + 36, y, x + 36, y + beyond)
        sheet.at()
    sheet.label(x + 47, (tip + foot) / 2 + 2.2, place(columns[0]) if columns else "", "name-small", "start")
    sheet.label(x, foot - 19, say("what opens the valve"), "name-small")
    sheet.label(x - 8, TALL - 12, say("stem"), "name-small", "end")
    words = message("The gap between a valve's stem and what opens it: {columns}.")
    return sheet.done(say(words, columns=named(columns)))
