"""Where each reading goes: a small drawing beside the boxes of a bench sheet.

Each is drawn on a sheet that it is handed, with the columns and positions of its feature, and says in words
what it shows.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import cos, radians, sin

from ...quantities import message
from ...trade.kinds import KINDS
from ...trade.measuring.form import angle_of, plane_and_direction
from ..press.language import say
from ..press.words import column_words, place
from .canvas import Drawing, DrawingSheet, around

WIDE, TALL = 150.0, 84.0
MOST_NAMED = 12  # places in a row that have room for their names
Names = Sequence[str]
# degrees of a direction, seen from the front: 0 to the right, counted anticlockwise
_WAYS = {"v": 90.0, "t": 90.0, "a": 90.0, "h": 0.0, "b": 0.0, "60l": 150.0, "60r": 30.0}


def bench_drawing(drawing: str, columns: Names, positions: Names) -> Drawing | None:
    """The drawing of a kind with its columns named; None where the words alone say it."""
    draw = _DRAWN.get(drawing)
    if not draw or (drawing == "indicator" and not any(angle_of(column) is not None for column in columns)):
        return None
    sheet = DrawingSheet(WIDE, TALL)
    return sheet.done(draw(sheet, columns, positions))


def named(columns: Iterable[str]) -> str:
    """Columns or positions one after the other, as people read them."""
    return ", ".join(map(place, columns))


def _spread(
    sheet: DrawingSheet, low: float, high: float, names: Names, ends: float = 0.5
) -> Iterator[tuple[float, str]]:
    """Where each stands between two ends, ``ends`` of a step away from either; lit as it is drawn."""
    for i, name in enumerate(names):
        sheet.at(name)
        yield low + (high - low) * (i + ends) / (len(names) - 1 + 2 * ends), name
    sheet.at()


def _round(sheet: DrawingSheet, columns: Names, shaft: bool) -> str:
    """Planes along the axis at the left, directions in the section at the right."""
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
    for i, (x, plane) in enumerate(_spread(sheet, left, right, planes, 1.0)):
        sheet.line("bar", x, top - 4, x, bottom + 4)
        sheet.label(x, top - 8 if i % 2 == 0 else bottom + 12, place(plane), "name-small")
    sheet.label(left, TALL - 4, say("front"), "italic", "start")
    x, y, radius = 116.0, 40.0, 20.0
    sheet.ring("axis", x, y, radius)
    for i, way in enumerate(ways):
        square = way == "a" and "t" in ways  # a bore is read across the crank and along it
        angle = 0.0 if square else radians(_WAYS.get(way, 180.0 * i / max(1, len(ways)) + 90.0))
        dx, dy = radius * cos(angle), radius * sin(angle)
        sheet.at(way)
        sheet.line("bar", x - dx, y + dy, x + dx, y - dy)
        sheet.label(x + 1.36 * dx, y - 1.36 * dy + 2.4, way, "strong-small")
    if not ways and len(planes) == 1:
        return say("Read at {place}.", place=place(planes[0]))
    if not ways:
        return say("Planes {planes} along the axis.", planes=named(planes))
    if not planes:
        return say("One plane; directions {ways} seen from the front.", ways=named(ways))
    words = message("Planes {planes} along the axis; directions {ways} seen from the front.")
    return say(words, planes=named(planes), ways=named(ways))


def _turned(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    sheet.over("axis", "axis-light", "bar")
    x, y, radius = 75.0, 42.0, 22.0
    sheet.ring("axis", x, y, radius)
    for column in columns:
        angle = angle_of(column)  # clockwise, as the report draws it
        if angle is None:
            continue
        sheet.at(column)
        sheet.line("bar", *around(x, y, angle, radius), *around(x, y, angle, radius + 5))
        sheet.label(*around(x, y + 2.2, angle, radius + 12), f"{angle:g}", "name-small")
    sheet.label(x, y + 2, say("turn, read"), "italic")
    angles = ", ".join(columns).replace("at_", "")
    return say("Seen from the front, read at {angles}.", angles=angles)


def _lines(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A face from above with the lines of a straightedge; one whose name tells no way lies along the face."""
    sheet.over("axis", "bar")
    left, right, top, bottom = 16.0, 116.0, 12.0, 70.0
    sheet.box("axis", left, top, right, bottom)
    across = [one for one in positions if re.search("across|cross|width|trans", one)]
    diagonal = [one for one in positions if "diagonal" in one][:2]
    lengthwise = [one for one in positions if one not in across and one not in diagonal]
    for y, name in _spread(sheet, top, bottom, lengthwise, 1.0):
        sheet.line("bar", left + 4, y, right - 4, y)
        sheet.label(right + 3, y + 2.2, _short(name), "name-small", "start")
    for x, name in _spread(sheet, left, right, across, 1.0):
        sheet.line("axis", x, top + 3, x, bottom - 3)
        sheet.label(x, bottom + 8, _short(name), "name-small")
    ends = [((left + 4, top + 4), (right - 4, bottom - 4)), ((left + 4, bottom - 4), (right - 4, top + 4))]
    for name, (one, other) in zip(diagonal, ends, strict=False):
        sheet.at(name)
        sheet.line("axis", *one, *other)
        sheet.label(one[0] - 9, one[1] + 2.2, f"d{name.rpartition('_')[2][:1]}", "name-small")
    return say("The face from above with the lines of the straightedge: {lines}.", lines=named(positions))


def _short(name: str) -> str:
    """A line's name without the word for the way that the drawing shows: left long is left."""
    words = [one for one in name.split("_") if not re.fullmatch("length(wise)?|long|along|across", one)]
    return place("_".join(words) or name)


def _grid(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    sheet.over("axis", "axis-light", "dot")
    left, right, top, bottom = 24.0, 138.0, 16.0, 74.0
    sheet.box("axis", left, top, right, bottom)
    for x, column in _spread(sheet, left, right, columns):
        sheet.label(x, top - 5, place(column), "name-small")
        for y, _ in _spread(sheet, top, bottom, [f"{column} {name}" for name in positions]):
            sheet.ring("dot", x, y, 1.3)
    for y, position in _spread(sheet, top, bottom, positions):
        sheet.label(left - 4, y + 2.2, place(position), "name-small", "end")
    return say("The face from above with the crossings of the grid.")


def _halves(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """Two shell halves: the wall is read at the crown of each; or one bush."""
    sheet.over("axis", "bar")
    x, y = 75.0, 42.0
    for radius in (26.0, 21.0):
        sheet.ring("axis", x, y, radius)
    if list(columns) in (["crush"], ["spread"]):
        sheet.at(*columns)
        for side in (-1.0, 1.0):
            sheet.line("bar", x + side * 18, y, x + side * 30, y)
        sheet.label(x, y + 37, place(columns[0]), "strong-small")
        return say("Both halves seen from the front, read at the parting: {what}.", what=named(columns))
    if len(columns) == 1:
        sheet.at(*columns)
        sheet.line("bar", x, y + 18, x, y + 30)
        sheet.label(x, y + 2.2, place(columns[0]), "strong-small")
        return say("The bush seen from the front: its wall.")
    sheet.line("axis", x - 28, y, x - 19, y)
    sheet.line("axis", x + 19, y, x + 28, y)
    for sign, name in zip((-1.0, 1.0), columns, strict=False):
        sheet.at(name)
        sheet.line("bar", x, y + sign * 18, x, y + sign * 30)
        sheet.label(x, y + sign * 12 + 2.2, place(name), "strong-small")
    return say(
        "Both halves seen from the front: read at the crown of each ({halves}).", halves=named(columns)
    )


def _rod(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A rod from the side with the bars of a fixture in both bores."""
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
    return say("A rod with a bar in each bore: {columns}.", columns=named(columns))


def _height(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A bore from above with the places round it where a height is read."""
    sheet.over("axis", "dot")
    x, y, radius = 75.0, 42.0, 22.0
    sheet.ring("axis", x, y, radius)
    spots = {"front": 180.0, "rear": 0.0, "camshaft_side": 90.0, "other_side": 270.0}
    for i, column in enumerate(columns):
        angle = radians(spots.get(column, 180.0 - 360.0 * i / max(1, len(columns))))
        dx, dy = radius * cos(angle), -radius * sin(angle)
        sheet.at(column)
        sheet.ring("dot", x + dx, y + dy, 2.0)
        anchor = "end" if dx < -5 else "start" if dx > 5 else "middle"
        sheet.label(x + 1.25 * dx, y + 1.35 * dy + 2.2, place(column), "name-small", anchor)
    return say("A cylinder from above, front at the left: {columns}.", columns=named(columns))


def _chain(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
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
    return say(
        "A chain pulled straight, from pin to pin over the pitches named: {columns}.", columns=named(columns)
    )


def _ring(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A piston's crown and grooves in section, the rings named from the top."""
    sheet.over("axis", "bar")
    left, right, top = 46.0, 92.0, 10.0
    sheet.polyline("axis", [(left, 76.0), (left, top), (right, top), (right, 76.0)])
    titles = [KINDS["ring_side"].column_title(column) for column in columns]
    for i, column in enumerate(columns):
        y = top + 12 + i * 14
        sheet.at()
        sheet.box("axis", right - 12, y, right, y + 7)
        sheet.at(column)
        sheet.box("bar", right - 8, y + 1.4, right + 4, y + 5.6)
        sheet.label(right + 8, y + 6, place(titles[i]), "name-small", "start")
    return say("A piston's rings from the top: {columns}.", columns=named(titles))


def _gear(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    sheet.over("axis", "dot")
    x, y, radius = 62.0, 44.0, 22.0
    sheet.ring("axis", x, y, radius)
    sheet.ring("axis", x + radius + 14, y, 14.0)
    for i, column in enumerate(columns):
        angle = radians(90.0 * i)
        dx, dy = radius * cos(angle), -radius * sin(angle)
        sheet.at(column)
        sheet.ring("dot", x + dx, y + dy, 1.8)
        if abs(dx) > 1:  # one name inside the ring, the other outside: long ones would meet in the middle
            sheet.label(x + dx - 4, y + 2.2, place(column), "name-small", "end")
        else:
            sheet.label(x, y + 0.62 * dy + 2.2, place(column), "name-small")
    return say("The larger gear turned on by quarters: {columns}.", columns=named(columns))


def _deck(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A block from the side: the deck above, the crank's axis below, a height at each place."""
    sheet.over("block", "axis", "axis-light", "bar")
    left, right, top, axis = 20.0, 130.0, 16.0, 64.0
    sheet.box("block", left, top, right, axis)
    sheet.line("axis", left, top, right, top)
    sheet.line("axis-light", left - 8, axis, right + 8, axis)
    for x, column in _spread(sheet, left, right, columns):
        sheet.line("bar", x, top, x, axis)
        sheet.label(x, top - 5, place(column), "name-small")
    sheet.label(75.0, axis + 14, say("axis of the crank"), "name-small")
    sheet.label(left - 4, TALL - 4, say("front"), "italic", "start")
    return say(
        "A block from the side, heights from the crank's axis to the deck: {columns}.", columns=named(columns)
    )


def _line(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """Main bores along the block, a straight bar through them, and the height that is read in each."""
    sheet.over("block", "axis", "axis-light", "bar")
    left, right, y = 12.0, 138.0, 34.0
    sheet.line("axis-light", left - 6, y, right + 6, y)
    half = min(7.0, 0.34 * (right - left) / max(1, len(positions)))
    for x, position in _spread(sheet, left, right, positions):
        sheet.at()
        sheet.box("block", x - half, y - 18, x + half, y + 18)
        sheet.line("axis", x - half, y + 18, x + half, y + 18)
        sheet.at(position)
        sheet.line("bar", x, y, x, y + 18)
        if len(positions) <= MOST_NAMED:
            sheet.label(x, y - 22, place(position), "name-small")
    sheet.label(left, TALL - 4, say("front"), "italic", "start")
    said = named(columns)
    sheet.label(75.0, y + 32, said, "name-small")
    return say("Main bores along the block, the height from a straight bar to each: {columns}.", columns=said)


def _pump(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """Two rotors in their body; where each clearance is, by its name."""
    sheet.over("block", "axis", "bar")
    x, y = 36.0, 42.0  # at the left: names of clearances are long
    sheet.ring("block", x, y, 34.0)
    sheet.ring("axis", x, y, 31.0)
    sheet.ring("axis", x, y, 23.0)
    sheet.ring("axis", x, y + 7.0, 14.0)
    ends = {"tip": (x, y - 15.0), "body": (x + 32.5, y), "end": (x - 20.0, y + 18.0)}
    for i, column in enumerate(columns):
        at = next((place for word, place in ends.items() if word in column), None)
        low = 12.0 + 16.0 * i
        if at is not None:
            sheet.at(column)
            sheet.line("bar", *at, 72.0, low)
        sheet.label(75.0, low + 2.2, place(column), "name-small", "start")
    return say("Rotors of a pump in their body, with clearances at: {columns}.", columns=named(columns))


def _gauge(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A gauge on one cylinder after the other, or one that is read at several speeds."""
    sheet.over("axis", "axis-light", "bar", "dot")
    places = list(positions if len(positions) > 1 else columns)
    left, right, y = 14.0, 136.0, 58.0
    first = left + (right - left) / max(1, len(places)) / 2
    sheet.ring("axis", first, 20.0, 12.0)
    sheet.line("bar", first, 20.0, first + 7, 13.0)
    sheet.line("axis", first, 32.0, first, y - 10)
    for x, name in _spread(sheet, left, right, places):
        sheet.ring("dot" if len(positions) < 2 else "axis", x, y, 2.0 if len(positions) < 2 else 9.0)
        if len(places) <= MOST_NAMED:
            sheet.label(x, y + 20, place(name), "name-small")
    said = named(places)
    if len(places) == 1:
        return say("A gauge: {places}.", places=said)
    if len(positions) > 1:
        return say("A gauge, read cylinder by cylinder: {places}.", places=said)
    return say("A gauge, read speed by speed: {places}.", places=said)


def _bearing(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A journal in its shells, the clearance read at the crown."""
    sheet.over("axis", "block", "bar")
    x, y = 75.0, 44.0
    for role, radius in (("block", 32.0), ("axis", 28.0), ("axis", 23.0)):
        sheet.ring(role, x, y, radius)
    sheet.line("bar", x, y - 28.0, x, y - 23.0)
    sheet.label(x, y - 36.0, named(columns), "name-small")
    return say("A journal in its bearing, read at the crown: {columns}.", columns=named(columns))


def _lobe(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A cam lobe: over the nose, and across the base circle square to it."""
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
    return say("A cam lobe: {columns}; the base circle is read square to the nose.", columns=named(columns))


# degrees of the wheel at which a valve opens and closes, as a drawing shows them
_LOBES: dict[str, tuple[float, ...]] = {"I": (-30.0, 210.0), "E": (150.0, 30.0)}


def _wheel(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A degree wheel for each kind of valve, nought at the upper dead centre: where it opens and closes, or
    the angles at which its lift is read."""
    sheet.over("axis", "bar")
    angles = [angle for column in columns if (angle := angle_of(column)) is not None]
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
            sheet.at(column)
            sheet.line("bar", x, y, *around(x, y, angle, radius))
            if not angles:
                spot = around(x, y + 2, angle, 1.2 * radius)
                sheet.label(*spot, place(column), "strong-small", "start" if spot[0] > x else "end")
    read = ", ".join(map(column_words, columns))
    return say("A degree wheel, nought at the upper dead centre: {columns}.", columns=read)


def _spring(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A spring between its seats, or one beside the other as short as each of its loads finds it."""
    sheet.over("axis", "bar")
    bottom = 70.0
    if {"closed", "open"} & {*columns}:
        for x, column in _spread(sheet, 0.0, WIDE - 18.0, columns):
            top = 34.0 if column == "open" else 20.0
            _coil(sheet, x, top, bottom)
            sheet.label(x, 12.0, say("load {column}", column=place(column)), "strong-small")
            sheet.line("axis", x + 25, top, x + 25, bottom)
        # beside the last alone: beside another it would run into the next spring
        sheet.label(x + 28, (top + bottom) / 2 + 2, say("length"), "name-small", "start")
        words = message("The spring pressed to its length in a tester, and the load there: {columns}.")
        return say(words, columns=named(columns))
    x, top = 66.0, 14.0
    _coil(sheet, x, top, bottom)
    lengths = [column for column in columns if column != "squareness"]
    sheet.at(*lengths)
    sheet.line("axis", x + 32, top, x + 32, bottom)
    sheet.label(x + 36, (top + bottom) / 2 + 2, named(lengths)[:24], "name-small", "start")
    if "squareness" not in columns:
        return say("A spring between its seats, {columns}.", columns=named(columns))
    sheet.at("squareness")
    sheet.line("axis", x - 28, top - 6, x - 28, bottom)
    sheet.label(x - 28, top - 8, place("squareness"), "name-small")
    return say("A spring between its seats, a square beside it: {columns}.", columns=named(columns))


def _coil(sheet: DrawingSheet, x: float, top: float, bottom: float) -> None:
    half, ends = 15.0, 12  # of the wire's zigzag
    sides = [x - half if k % 2 == 0 else x + half for k in range(ends + 1)]
    sheet.polyline("axis", [(side, top + (bottom - top) * k / ends) for k, side in enumerate(sides)])
    for y in (top, bottom):
        sheet.line("bar", x - half - 5, y, x + half + 5, y)


def _guide(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A stem in its guide: the guide's readings named at the left, the stem's at the right."""
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
        near = 6.0 if side < 0 else 4.0
        for y, name in _spread(sheet, top, bottom, names):
            sheet.line("bar", x + side * near, y, x + side * 21, y)
            sheet.label(x + side * 23, y + 2.2, place(name), "name-small", anchor)
    words = message("A stem in its guide, the guide read at the left and the stem at the right: {columns}.")
    return say(words, columns=named(columns))


def _valve(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """A valve on its seat."""
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
    return say("A valve on its seat, the head's face beside it: {columns}.", columns=named(columns))


def _clearance(sheet: DrawingSheet, columns: Names, positions: Names) -> str:
    """The gap over a stem, whatever closes it: cam, bucket, or a rocker with its screw."""
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
    return say(words, columns=named(columns))


def in_a_row(positions: Names) -> Drawing:
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


_DRAWN: dict[str, Callable[[DrawingSheet, Names, Names], str]] = {
    "shaft": lambda sheet, columns, positions: _round(sheet, columns, True),
    "bore": lambda sheet, columns, positions: _round(sheet, columns, False),
    "indicator": _turned,
    "lines on a face": _lines,
    "grid on a face": _grid,
    "shell": _halves,
    "lobe": _lobe,
    "wheel": _wheel,
    "spring": _spring,
    "guide": _guide,
    "valve": _valve,
    "clearance": _clearance,
    "rod": _rod,
    "height": _height,
    "deck": _deck,
    "chain": _chain,
    "ring": _ring,
    "gear": _gear,
    "line": _line,
    "pump": _pump,
    "gauge": _gauge,
    "bearing": _bearing,
}
