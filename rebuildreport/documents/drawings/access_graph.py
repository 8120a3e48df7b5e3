"""The access plan as a graph: what comes off at once at the left, what it is all for at the right.

A step stands as far to the right as what waits for it lets it; lines that pass a column take a place in it,
and places are settled by the middle of their neighbours, swept to and fro (Sugiyama and others, IEEE
Transactions on Systems, Man and Cybernetics 11 (1981), from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from statistics import fmean

from ...assess.model.accessplan import AccessPlan, AccessStep
from ...quantities import amid, message
from ..press.language import say, told
from .canvas import Drawing, DrawingSheet, apart, wide

ACROSS = 510.0  # the width of a page's text, points
WIDEST, BETWEEN, LETTERS = 88.0, 8.0, 5.9
TALL, ROW = 16.0, 18.5  # of a box, and of a place in a column
PASSING = 4.0  # of a line that passes a column
SWEEPS = 12
Spot = tuple[int, int]  # a step's number, or minus the one that a line leaves, and the column


def access_graph(plan: AccessPlan) -> Drawing:
    """Boxes and what waits for what; beneath them, with broken frames, what is left alone."""
    steps = {step.number: step for step in plan.steps}
    column = _columns(plan.steps)
    columns = max(column.values()) + 1
    widths = _widths(plan.steps, column, columns)
    starts = [sum(widths[:at]) + at * BETWEEN + 0.7 for at in range(columns)]
    lines = [_line(before, step.number, column) for step in plan.steps for before in step.after]
    y = _places([spot for line in lines for spot in line] + [(n, column[n]) for n in steps], lines, columns)
    bottom = max(y.values()) + ROW / 2
    sheet = DrawingSheet(ACROSS, bottom + (TALL + 4.0 if plan.leave else 0.0) + 1.0)
    sheet.over("thin", "paper", "tint", "now-line", "heavy", "p-broken", "arrow-head")

    for line in lines:
        points = []
        for spot in line:
            start = starts[spot[1]]
            points += [(start, y[spot]), (start + widths[spot[1]], y[spot])]
        sheet.polyline("thin", points[1:-1])
    for step in plan.steps:
        at = column[step.number]
        _box(sheet, step, starts[at], y[step.number, at], widths[at])
    for place, kept in enumerate(plan.leave[: int(ACROSS // (WIDEST + 6.0))]):
        x, top = place * (WIDEST + 6.0) + 0.7, bottom + 2.0
        sheet.box("p-broken", x, top, x + WIDEST, top + TALL)
        _words(sheet, told(kept.title), x + WIDEST / 2, top + TALL / 2, WIDEST, "name-small")
    return sheet.done(_described(plan))


def _widths(steps: Sequence[AccessStep], column: Mapping[int, int], columns: int) -> list[float]:
    """As wide as the names in a column need, what is left over shared out: names in one word are long."""
    room = ACROSS - 1.4 - BETWEEN * (columns - 1)
    needed = [0.0] * columns
    for step in steps:
        name = max(wide(line, LETTERS) for line in _lines(_name(step), 0.0)) + 3.0
        needed[column[step.number]] = max(needed[column[step.number]], name)
    spare = room - sum(needed)
    if spare < 0:
        return [width * room / sum(needed) for width in needed]
    return [max(width, min(WIDEST, width + spare / columns)) for width in needed]


def _columns(steps: Sequence[AccessStep]) -> dict[int, int]:
    """What waits for nothing stands right before what waits for it; what is wanted as early as it can."""
    early: dict[int, int] = {}
    for step in steps:
        early[step.number] = max((early[before] + 1 for before in step.after), default=0)
    column = dict(early)
    waiting: dict[int, list[int]] = {}
    for step in reversed(steps):
        if not step.wanted and step.number in waiting:
            column[step.number] = min(waiting[step.number]) - 1
        for before in step.after:
            waiting.setdefault(before, []).append(column[step.number])
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


def _box(sheet: DrawingSheet, step: AccessStep, x: float, y: float, width: float) -> None:
    role = "heavy" if step.wanted else "p-broken" if step.is_state else "now-line"
    sheet.box("tint" if step.done else "paper", x, y - TALL / 2, x + width, y + TALL / 2)
    sheet.box(role, x, y - TALL / 2, x + width, y + TALL / 2)
    letters = "strong-small" if step.wanted else "name-small"
    _words(sheet, _name(step), x + width / 2, y, width, letters)


def _name(step: AccessStep) -> str:
    return f"{step.number} {told(amid(step.short))}"


def _words(sheet: DrawingSheet, text: str, x: float, y: float, width: float, role: str) -> None:
    lines = _lines(text, width)
    for i, line in enumerate(lines):
        sheet.label(x, y + 2.2 + (i - (len(lines) - 1) / 2) * 7.0, line, role)


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
