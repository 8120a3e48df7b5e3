"""Strips (one panel per position on a shared axis) and the profile of bores by depth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from ...assess.model.assessment import Characteristic, Depths, Feature, Limits
from ...quantities import message
from ..press.language import say, show
from ..press.words import OUT_OF_ORDER, System, place
from ..press.words import value as printed_value
from .axes import Across, Axis, edge_text, mark_limits, reach, span
from .canvas import LARGE, SMALL, Drawing, DrawingSheet, apart, wide
from .scales import described

_LEFT = 34.0  # room for the numbers of the axis
_TOP = 6.0
_TALL, _SHORT, FEW = 96.0, 64.0, 3  # height, and that of a strip with few panels
_TINY = 6.2


class Panel(Struct, frozen=True):
    """One position: what it was on arrival and what it is now, either may be missing."""

    position: str
    first: Characteristic | None
    now: Characteristic | None

    @property
    def values(self) -> list[Characteristic]:
        """What there is, arrival first."""
        return [value for value in (self.first, self.now) if value is not None]

    @property
    def limits(self) -> Limits | None:
        """Those that it stands against: the newest; of the same size, those that leave the word to a fit."""
        known = [value.limits for value in reversed(self.values) if value.limits]
        return next((own for own in known if own.by_fit and own.new == known[0].new), next(iter(known), None))

    @property
    def bad(self) -> Characteristic | None:
        """The last of them that is out of order."""
        return next((value for value in reversed(self.values) if value.verdict in OUT_OF_ORDER), None)


def strip(panels: list[Panel], feature: Feature, system: System, width: float = 325.0) -> Drawing:
    """All positions of one characteristic side by side; only those out of order show their number."""
    bottom = _TOP + (_SHORT if len(panels) <= FEW else _TALL)
    step = (width - _LEFT) / len(panels)
    turned = [wide(place(panel.position), _TINY) for panel in panels if not all(_in_lines(panels, step))]
    sheet = DrawingSheet(width, bottom + max([18.0, *(8 + room for room in turned)]))
    sheet.over("hatch-wide", "tint", "new-limit", "limit", "axis-light", "span", "bar", "bar-end")
    values = [value for panel in panels for value in panel.values]
    low, high = reach(values, planes=True)
    axis = Axis(low, high + 0.06 * (high - low), bottom, _TOP)
    judged = next((value for value in reversed(values) if value.limits and value.limits.edges), values[-1])
    paired = any(panel.first for panel in panels) and any(panel.now for panel in panels)
    for i, panel in enumerate(panels):
        left, right = _LEFT + i * step, _LEFT + (i + 1) * step - min(3.6, 0.12 * step)
        across = Across((left, right), (left, right), (left, right), "hatch-wide", 7, upright=True)
        mark_limits(sheet, axis, panel.limits or judged.limits, across)
        sheet.line("axis-light", left, bottom, right, bottom)
        lean = 0.2 * step if paired else 0.0
        for value, x in ((panel.first, -lean), (panel.now, lean)):
            if value is not None:
                _points(sheet, axis, value, (left + right) / 2 + x, step, value is panel.first)
        if panel.bad is not None:
            x = (left + right) / 2 + (-lean if panel.bad is panel.first else lean)
            _number(sheet, axis, panel.bad, x, max(_aside(panel.bad, step)), width, system)
    _name_panels(sheet, panels, step, bottom + 13)
    _numbers(sheet, axis, judged.limits, judged.unit, judged.decimals, system)
    return sheet.done(_said(panels, feature, system))


def _in_lines(panels: list[Panel], step: float) -> list[list[str]]:
    """The name of each panel: in one line, in two small ones, or in none where it must be turned."""
    names = [place(panel.position) for panel in panels]
    if max(wide(name, LARGE) for name in names) <= step - 2:
        return [[name] for name in names]
    halves = [name.rsplit(" ", 1) for name in names]
    fits = max(wide(line, _TINY) for lines in halves for line in lines) <= step - 2
    return halves if fits else [[] for _ in names]


def _name_panels(sheet: DrawingSheet, panels: list[Panel], step: float, y: float) -> None:
    """The name of each panel below it, upright on a narrow screen: none is left out, none overlaps."""
    named = _in_lines(panels, step)
    small = any(len(lines) != 1 for lines in named)
    for i, (panel, lines) in enumerate(zip(panels, named, strict=True)):
        x = _LEFT + i * step + (step - min(3.6, 0.12 * step)) / 2
        role = f"{'strong' if panel.bad else 'name'}{'-small' if small else ''}"
        for k, line in enumerate(lines):
            sheet.label(x, y - 3 + 7 * k if small else y, line, role)
        if not lines:
            name = place(panel.position)
            sheet.label(x + 2, y - 8 + wide(name, _TINY) / 2, name, role, turned=True)


def _points(
    sheet: DrawingSheet, axis: Axis, value: Characteristic, x: float, step: float, first: bool
) -> None:
    """A mark per plane at its far end, a thin line over the plane; without planes one mark and its bar."""
    if value.value is None:
        return
    ends = _plane_ends(value)
    size = min(2.6, 0.09 * step + 1)
    if not ends:
        bottom, top = map(axis, span(value))
        if bottom - top > 2 * size + 1.5:  # a shorter bar would hide behind the mark
            sheet.line("span", x, bottom, x, top)
            for y in (bottom, top):
                sheet.line("span", x - size, y, x + size, y)
        sheet.mark(x, axis(value.value), first, size + 0.4, size - 0.4)
    for (low, high), aside in zip(ends, _aside(value, step), strict=False):
        at = x + aside
        sheet.line("span", at, axis(low), at, axis(high))
        # the end nearer to the value that was judged is the one that counts
        end = low if abs(low - value.value) < abs(high - value.value) else high
        sheet.mark(at, axis(end), first, size + 0.4, size - 0.4)


def _plane_ends(value: Characteristic) -> list[tuple[float, float]]:
    return [(low, high) for low, high in value.planes.values() if low is not None and high is not None]


def _aside(value: Characteristic, step: float) -> list[float]:
    """How far the mark of each plane stands from the middle of its panel."""
    many = max(1, len(_plane_ends(value)))
    return [(k - (many - 1) / 2) * min(9.0, 0.18 * step) for k in range(many)]


def _number(
    sheet: DrawingSheet, axis: Axis, value: Characteristic, x: float, aside: float, end: float, system: str
) -> None:
    """The number of a place out of order: below its mark, above it, or beside it where limits run."""
    printed = printed_value(value, system)
    if printed is None or value.value is None:
        return
    lines = [printed.bound, printed.text] if printed.bound else [printed.text]
    tall, half = 9.0 * len(lines), max(wide(line, LARGE) for line in lines) / 2 + 2
    middle, (least, most) = axis(value.value), map(axis, span(value, planes=True))
    low, high = max(least, middle + 3.6) + 1.5, min(most, middle - 3.6) - 1.5
    edges = [axis(edge) for edge in value.limits.edges] if value.limits else []

    def cost(spot: tuple[float, float]) -> float:
        """Limits that a label would cover, room it lacks, and that beside is third choice.

        Last of all where other planes lie between it and the value: it would be read as theirs.
        """
        at, y = spot
        astray = max(y - middle, middle - y - tall) > 12.0
        covered = sum(y - 0.5 <= edge <= y + tall + 1.5 for edge in edges)
        return covered + 9 * (y < 0) + 9 * (y + tall > axis(axis.low)) + 0.5 * (at != x) + 0.75 * astray

    away = aside + 5
    beside = x + half + away if x + 2 * half + away < end else x - half - away
    at, y = min(((x, low), (x, high - tall), (beside, middle - tall / 2)), key=cost)
    at = min(max(at, _LEFT + half), end - half)
    sheet.box("paper", at - half, y, at + half, y + tall + 1.5)
    for k, line in enumerate(lines):
        sheet.label(at, y + 7.2 + 9 * k, line, "value")


def _numbers(
    sheet: DrawingSheet, axis: Axis, limits: Limits | None, unit: str, decimals: int, system: System
) -> None:
    """The axis is numbered at its limits; at its ends only where there are none."""
    edges = [axis.high] if axis.low == 0.0 else [axis.low, axis.high]
    if limits is not None and limits.edges:
        edges, decimals = limits.edges, limits.decimals
    texts = [(edge, show(edge, unit, decimals, system).text) for edge in edges]
    nought = [(0.0, "0")] if axis.low == 0.0 and 0.0 not in edges else []
    here = sorted(texts + nought, reverse=True)
    spots = apart([axis(edge) for edge, _ in here], [SMALL] * len(here), 0, axis(axis.low) + 4, 1.0)
    for (edge, text), y in zip(here, spots, strict=True):
        sheet.label(_LEFT - 6, y + 2.3, text, "limit", "end")
        sheet.line("axis-light", _LEFT - 4, axis(edge), _LEFT - 1, axis(edge))


def _said(panels: list[Panel], feature: Feature, system: str) -> str:
    """The panels out of order in words, and how many others there are."""
    told = [panel for panel in panels if panel.bad] or panels[:1]
    text = "; ".join(described(panel.first, panel.now, feature, system) for panel in told)
    others = len(panels) - len(told)
    if not others:
        return text
    one, more = message(
        ("{what}. One other position beside it.", "{what}. {count} other positions beside it.")
    )
    return say(one if others == 1 else more, what=text, count=others)


class Profile(Struct, frozen=True):
    """Bores from top to bottom in one direction, on arrival; ``now``: those read again, as they are now."""

    arrival: Depths
    now: Depths | None


def profile(
    drawn: list[Profile],
    worst: Characteristic,
    system: System,
    words: Mapping[str, str],
    width: float = 325.0,
) -> Drawing:
    """Bores by depth, one part per direction: the worst one heavy, the others thin, the new ones as dots."""
    tall, top = 92.0, 18.0
    sheet = DrawingSheet(width, top + tall + 16)
    sheet.over("hatch-wide", "tint", "new-limit", "limit", "thin", "heavy", "now-line")
    step = (width - _LEFT) / len(drawn)
    both = [rows for part in drawn for rows in (part.arrival, part.now) if rows is not None]
    read = [size for rows in both for sizes in rows.sizes.values() for size in sizes]
    low, high = reach([worst])
    low, high = min([low, *read]), max([high, *read])
    said: list[str] = []
    for i, part in enumerate(drawn):
        arrival, levels = part.arrival, part.arrival.levels
        left, right = _LEFT + i * step, _LEFT + (i + 1) * step - (14 if i < len(drawn) - 1 else 0)
        axis = Axis(low, high, left, right)
        tinted = (top, top + tall)
        across = Across(tinted, (top, top + tall + 3), tinted, "hatch-wide", 8)
        mark_limits(sheet, axis, worst.limits, across)
        if worst.limits is not None:
            _number_upright(sheet, axis, worst.limits, worst.unit, top + tall, system)
        depths = [top + 10 + k * (tall - 20) / (len(levels) - 1) for k in range(len(levels))]
        if i == 0:
            for level, y in zip(levels, depths, strict=True):
                sheet.label(_LEFT - 5, y + 2.3, place(level), "limit", "end")
        _bores(sheet, axis, part, worst.position, depths)
        way = say(words[arrival.direction]) if arrival.direction in words else arrival.direction
        sheet.label(left, 9, way, "italic", "start")
        if worst.position in arrival.sizes:
            sizes = arrival.sizes[worst.position]
            first, last, largest = (
                show(size, worst.unit, worst.decimals, system).text
                for size in (sizes[0], sizes[-1], max(sizes))
            )
            sheet.label(right, 9, f"{worst.position}  {largest}", "value", "end")
            ends = {"first": first, "top": place(levels[0]), "last": last}
            line = message("{way}: {place} from {first} at the {top} to {last} at the {bottom}")
            said.append(say(line, way=way, place=worst.position, bottom=place(levels[-1]), **ends))
    whole = message("Diameters by depth on arrival. {what}. The other bores are drawn thin.")
    return sheet.done(say(whole, what="; ".join(said)))


def _bores(sheet: DrawingSheet, axis: Axis, part: Profile, worst: str, depths: Sequence[float]) -> None:
    for position, values in part.arrival.sizes.items():
        points = [(axis(v), y) for v, y in zip(values, depths, strict=True)]
        sheet.polyline("heavy" if position == worst else "thin", points)
        if position == worst:
            for x, y in points:
                sheet.diamond(x, y, 3)
    if part.now is not None and worst in part.now.sizes:
        points = [(axis(v), y) for v, y in zip(part.now.sizes[worst], depths, strict=True)]
        sheet.polyline("now-line", points)
        for x, y in points:
            sheet.ring("dot", x, y, 1.9)


def _number_upright(
    sheet: DrawingSheet, axis: Axis, limits: Limits, unit: str, bottom: float, system: System
) -> None:
    """The limits below an axis that lies."""
    edges = limits.edges
    texts = [edge_text(edge, limits, unit, system) for edge in edges]
    # a label may lean out to the left of its part, where the depths are named
    spots = apart(
        [axis(edge) for edge in edges], [wide(text, SMALL) for text in texts], axis.start - 16, axis.end
    )
    for x, text in zip(spots, texts, strict=True):
        sheet.label(x, bottom + 13, text, "limit")
