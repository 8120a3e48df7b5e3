"""The access plan as a graph: what comes off at once at the left, what it is all for at the right.

A step stands as far to the right as what waits for it lets it; lines that pass a column take a place in it,
and places are settled by the middle of their neighbours, swept to and fro (Sugiyama and others, IEEE
Transactions on Systems, Man and Cybernetics 11 (1981), from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from graphlib import TopologicalSorter
from itertools import pairwise
from statistics import fmean
from typing import Literal

from msgspec import Struct

from ...assess.model.accessplan import AccessPlan
from ...quantities import amid, message
from ..press.language import say, told
from .canvas import Drawing, DrawingSheet, apart, wide

ACROSS = 515.0  # the width of a page's text, points; wider where names need it, and set smaller then
WIDEST, BETWEEN, LETTERS = 88.0, 6.0, 6.1  # the letters of the roles box-name and box-wanted
TALL, ROW = 16.0, 18.5  # of a box, and of a place in a column
PASSING = 4.0  # of a line that passes a column
SWEEPS = 12
Spot = tuple[int, int]  # a step's number, or minus the one that a line leaves, and the column


class GraphBox(Struct, frozen=True):
    """What a box stands for."""

    number: int
    name: str
    after: tuple[int, ...]
    kind: Literal["step", "wanted", "state", "stays"]
    done: bool = False


def access_graph(plan: AccessPlan) -> Drawing:
    """Boxes and what waits for what; with broken frames what stays on, where it hangs on what comes off."""
    parts = list(graph_boxes(plan))
    column = _columns(parts)
    columns = max(column.values()) + 1
    widths = _widths(parts, column, columns)
    starts = [sum(widths[:at]) + at * BETWEEN + 0.7 for at in range(columns)]
    stays = {part.number for part in parts if part.kind == "stays"}
    lines = [_line(before, part.number, column) for part in parts for before in part.after]
    y = _places([spot for line in lines for spot in line] + [*column.items()], lines, columns)
    across = sum(widths) + BETWEEN * (columns - 1) + 1.4
    sheet = DrawingSheet(max(ACROSS, across), max(y.values()) + ROW / 2 + 1.0)
    sheet.over("thin", "paper", "tint", "now-line", "heavy", "p-broken", "arrow-head")

    for line in lines:
        points = []
        for spot in line:
            start = starts[spot[1]]
            points += [(start, y[spot]), (start + widths[spot[1]], y[spot])]
        sheet.polyline("p-broken" if stays & {line[0][0], line[-1][0]} else "thin", points[1:-1])
    for part in parts:
        at = column[part.number]
        _box(sheet, part, starts[at], y[part.number, at], widths[at])
    return sheet.done(_described(plan))


def graph_boxes(plan: AccessPlan) -> Iterator[GraphBox]:
    """Steps, then what stays on; of that the names alone where nothing that comes off touches it."""
    bars: dict[int, list[int]] = {}
    stays = [part for part in plan.stays if part.after or part.bars or part.left_alone]
    for number, kept in enumerate(stays, len(plan.steps) + 1):
        for barred in kept.bars:
            bars.setdefault(barred, []).append(number)
    for step in plan.steps:
        kind: Literal["step", "wanted", "state"] = "wanted" if step.wanted else "step"
        name = f"{step.number} {told(amid(step.short))}"
        after = (*step.after, *bars.get(step.number, ()))
        yield GraphBox(step.number, name, after, "state" if step.is_state else kind, step.done)
    for number, kept in enumerate(stays, len(plan.steps) + 1):
        yield GraphBox(number, told(amid(kept.title)), kept.after, "stays")


def _widths(parts: Sequence[GraphBox], column: Mapping[int, int], columns: int) -> list[float]:
    """As wide as the names in a column need, what is left over shared out: names in one word are long."""
    room = ACROSS - 1.4 - BETWEEN * (columns - 1)
    needed = [0.0] * columns
    for part in parts:
        name = max(wide(line, LETTERS) for line in _lines(part.name, 0.0)) + 3.0
        needed[column[part.number]] = max(needed[column[part.number]], name)
    spare = room - sum(needed)
    return [max(width, min(WIDEST, width + spare / columns)) for width in needed]


def _columns(parts: Sequence[GraphBox]) -> dict[int, int]:
    """What waits for nothing stands right before what waits for it; what is wanted as early as it can."""
    after = {part.number: part.after for part in parts}
    order = [*TopologicalSorter(after).static_order()]
    column: dict[int, int] = {}
    for number in order:
        column[number] = max((column[before] + 1 for before in after[number]), default=0)
    wanted = {part.number for part in parts if part.kind == "wanted"}
    waiting: dict[int, list[int]] = {}
    for number in reversed(order):
        if number not in wanted and number in waiting:
            column[number] = min(waiting[number]) - 1
        for before in after[number]:
            waiting.setdefault(before, []).append(column[number])
    return column


def _line(before: int, step: int, column: Mapping[int, int]) -> list[Spot]:
    """From one step to another past the columns between; lines that leave one step run together."""
    passed = range(column[before] + 1, column[step])
    return [(before, column[before]), *((-before, at) for at in passed), (step, column[step])]


def _places(spots: Sequence[Spot], lines: Sequence[Sequence[Spot]], columns: int) -> dict[Spot, float]:
    """How far down each stands."""
    held = [list(dict.fromkeys(spot for spot in spots if spot[1] == at)) for at in range(columns)]
    tall = {spot: ROW if spot[0] > 0 else PASSING for spot in spots}
    height = max(sum(tall[spot] for spot in some) for some in held)
    near: dict[Spot, tuple[set[Spot], set[Spot]]] = {spot: (set(), set()) for spot in spots}
    for line in lines:
        for one, other in pairwise(line):
            near[one][1].add(other)
            near[other][0].add(one)
    y: dict[Spot, float] = {}
    for some in held:
        y |= dict(
            zip(some, apart([height / 2] * len(some), [tall[s] for s in some], 0, height, 0), strict=True)
        )
    for sweep in range(SWEEPS):
        side = sweep % 2  # towards the outside first, then towards what is wanted
        for some in held if side == 0 else reversed(held):
            wish = {spot: _wish(y, spot, near[spot], side, last=sweep >= SWEEPS - 2) for spot in some}
            order = sorted(some, key=lambda spot: (wish[spot], y[spot], spot))
            placed = apart([wish[spot] for spot in order], [tall[spot] for spot in order], 0, height, 0)
            y |= dict(zip(order, placed, strict=True))
    return y


def _wish(y: Mapping[Spot, float], spot: Spot, near: Sequence[set[Spot]], side: int, last: bool) -> float:
    """The middle of the neighbours on one side, at last on both; where it stands if there are none."""
    others = near[0] | near[1] if last else near[side]
    return fmean(sorted(y[other] for other in others)) if others else y[spot]


def _box(sheet: DrawingSheet, part: GraphBox, x: float, y: float, width: float) -> None:
    low, high, right = y - TALL / 2, y + TALL / 2, x + width
    if part.kind == "state":  # the sign of preparation in ISO 5807
        cut = TALL / 4
        points = [
            (x + cut, low),
            (right - cut, low),
            (right, y),
            (right - cut, high),
            (x + cut, high),
            (x, y),
        ]
        sheet.polyline("paper", points)
        sheet.polyline("now-line", [*points, points[0]])
    else:
        sheet.box("tint" if part.done else "paper", x, low, right, high)
        frame = {"wanted": "heavy", "stays": "p-broken"}.get(part.kind, "now-line")
        sheet.box(frame, x, low, right, high)
    role = "box-wanted" if part.kind == "wanted" else "box-name"
    _words(sheet, part.name, x + width / 2, y, width, role)


def _words(sheet: DrawingSheet, text: str, x: float, y: float, width: float, role: str) -> None:
    lines = _lines(text, width)
    for i, line in enumerate(lines):
        sheet.label(x, y + 2.2 + (i - (len(lines) - 1) / 2) * 6.4, line, role)


def _lines(text: str, width: float) -> list[str]:
    """In one line or two."""
    if wide(text, LETTERS) <= width - 3.0 or " " not in text:
        return [text]
    cuts = [i for i, letter in enumerate(text) if letter == " "]
    cut = min(cuts, key=lambda i: max(wide(text[:i], LETTERS), wide(text[i:], LETTERS)))
    return [text[:cut], text[cut + 1 :]]


def _described(plan: AccessPlan) -> str:
    """The same in words."""
    words = message("What comes off before what, from outside to {wanted}: {steps}.")
    told_steps = (f"{step.number} {told(amid(step.short))}" for step in plan.steps)
    return say(words, wanted=", ".join(told(amid(one)) for one in plan.wanted), steps=", ".join(told_steps))
