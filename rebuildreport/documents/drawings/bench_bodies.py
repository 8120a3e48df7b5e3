"""Where readings go on a block, a bearing, a pump and a gauge: drawings beside the boxes of a bench sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..press.language import say
from ..press.words import place
from .canvas import Drawing, DrawingSheet

WIDE, TALL = 150.0, 84.0
MOST_NAMED = 12  # places in a row that have room for their names


def named(columns: Iterable[str]) -> str:
    """Columns or positions one after the other, as people read them."""
    return ", ".join(map(place, columns))


def deck(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A block from the side: the deck above, the crank's axis below, a height at each place."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("block", "axis", "axis-light", "bar")
    left, right, top, axis = 20.0, 130.0, 16.0, 64.0
    sheet.box("block", left, top, right, axis)
    sheet.line("axis", left, top, right, top)
    sheet.line("axis-light", left - 8, axis, right + 8, axis)
    for i, column in enumerate(columns):
        x = left + (right - left) * (i + 0.5) / max(1, len(columns))
        sheet.at(column)
        sheet.line("bar", x, top, x, axis)
        sheet.label(x, top - 5, place(column), "name-small")
    sheet.label(75.0, axis + 14, say("axis of the crank"), "name-small")
    sheet.label(left - 4, TALL - 4, say("front"), "italic", "start")
    words = say(
        "A block from the side, heights from the crank's axis to the deck: {columns}.", columns=named(columns)
    )
    return sheet.done(words)


def line(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """Main bores along the block, a straight bar through them, and the height that is read in each."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("block", "axis", "axis-light", "bar")
    left, right, y = 12.0, 138.0, 34.0
    sheet.line("axis-light", left - 6, y, right + 6, y)
    step = (right - left) / max(1, len(positions))
    for i, position in enumerate(positions):
        x = left + step * (i + 0.5)
        half = min(7.0, 0.34 * step)
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
    words = say(
        "Main bores along the block, the height from a straight bar to each: {columns}.", columns=said
    )
    return sheet.done(words)


def pump(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """Two rotors in their body; where each clearance is, by its name."""
    sheet = DrawingSheet(WIDE, TALL)
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
            sheet.line("bar", *at, 80.0, low)
        sheet.label(83.0, low + 2.2, place(column), "name-small", "start")
    words = say("Rotors of a pump in their body, with clearances at: {columns}.", columns=named(columns))
    return sheet.done(words)


def gauge(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A gauge on one cylinder after the other, or one that is read at several speeds."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "axis-light", "bar", "dot")
    places = list(positions if len(positions) > 1 else columns)
    left, right, y = 14.0, 136.0, 58.0
    step = (right - left) / max(1, len(places))
    sheet.ring("axis", left + step / 2, 20.0, 12.0)
    sheet.line("bar", left + step / 2, 20.0, left + step / 2 + 7, 13.0)
    sheet.line("axis", left + step / 2, 32.0, left + step / 2, y - 10)
    for i, name in enumerate(places):
        x = left + step * (i + 0.5)
        sheet.at(name)
        sheet.ring("dot" if len(positions) < 2 else "axis", x, y, 2.0 if len(positions) < 2 else 9.0)
        if len(places) <= MOST_NAMED:
            sheet.label(x, y + 20, place(name), "name-small")
    said = named(places)
    if len(positions) > 1:
        return sheet.done(say("A gauge, read cylinder by cylinder: {places}.", places=said))
    return sheet.done(say("A gauge, read speed by speed: {places}.", places=said))


def bearing(columns: Sequence[str], positions: Sequence[str]) -> Drawing:
    """A journal in its shells, the clearance read at the crown."""
    sheet = DrawingSheet(WIDE, TALL)
    sheet.over("axis", "block", "bar")
    x, y = 75.0, 44.0
    for role, radius in (("block", 32.0), ("axis", 28.0), ("axis", 23.0)):
        sheet.ring(role, x, y, radius)
    sheet.line("bar", x, y - 28.0, x, y - 23.0)
    sheet.label(x, y - 36.0, named(columns), "name-small")
    return sheet.done(say("A journal in its shells, read at the crown: {columns}.", columns=named(columns)))
