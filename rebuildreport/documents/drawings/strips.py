"""Strips (one panel per position on a shared axis) and the profile of bores by depth."""

from __future__ import annotations

from dataclasses import dataclass

from ...assess.model.assessment import Characteristic, Feature, ReadingTable
from ...quantities import message
from ..press.language import say, show
from ..press.words import System, ends_of, first_unit, interval, other, place, severity, value
from .canvas import LARGE, SMALL, Drawing, DrawingSheet, apart, wide
from .scales import Axis, described, outer, reach

_LEFT = 34.0  # room for the numbers of the axis
_RIGHT = 30.0  # and for the same in the other system of units
_TOP = 6.0
_TALL, _SHORT, FEW = 96.0, 64.0, 3  # height, and that of a strip with few panels
_TINY = 6.2


@dataclass(frozen=True, slots=True)
class Panel:
    """One position: what it was on arrival and what it is now, either may be missing."""

    position: str
    first: Characteristic | None
    now: Characteristic | None


def _longest(name: str) -> str:
    return max(name.rsplit(" ", 1), key=len)


def strip(panels: list[Panel], feature: Feature, system: System, width: float = 325.0) -> Drawing:
    """All positions of one characteristic side by side; only those out of order show their number."""
    bottom = _TOP + (_SHORT if len(panels) <= FEW else _TALL)
    sheet = DrawingSheet(width, bottom + 18)
    sheet.over("hatch-wide", "tint", "new-limit", "limit", "axis-light", "span", "bar", "bar-end")
    ones = [one for panel in panels for one in (panel.first, panel.now) if one is not None]
    low, high = reach(ones, planes=True)
    axis = Axis(low, high + 0.06 * (high - low), bottom, _TOP)
    judged = next(
        (one for one in reversed(ones) if any(edge is not None for edge in ends_of(one.limits))), ones[-1]
    )
    right_end = width - (_RIGHT if _other_numbers(judged, system) else 0.0)
    step = (right_end - _LEFT) / len(panels)
    gap = min(3.6, 0.12 * step)
    paired = any(panel.first for panel in panels) and any(panel.now for panel in panels)
    names = [place(panel.position) for panel in panels]
    split = max(wide(name, LARGE) for name in names) > step - 2
    every = 1
    if split:  # long names in two small lines; where even that is too wide only every other one
        every += int(max(wide(_longest(name), _TINY) for name in names)) // max(1, int(step))
    for i, panel in enumerate(panels):
        left, right = _LEFT + i * step, _LEFT + (i + 1) * step - gap
        own = next((one for one in (panel.now, panel.first) if one is not None and one.limits), judged)
        _ground(sheet, axis, own, left, right)
        sheet.line("axis-light", left, bottom, right, bottom)
        middle = (left + right) / 2
        bad = [one for one in (panel.first, panel.now) if one and severity(one.verdict) < 2]
        lean = 0.2 * step if paired else 0.0
        for one, x in ((panel.first, middle - lean), (panel.now, middle + lean)):
            if one is not None:
                _points(sheet, axis, one, x, step, one is panel.first)
        for one in bad[-1:]:
            _number(
                sheet, axis, one, middle - lean if one is panel.first else middle + lean, right_end, system
            )
        if bad or i % every == 0:
            _named(sheet, middle, bottom + 13, split, place(panel.position), bool(bad))
    _numbers(sheet, axis, judged, system, right_end)
    return sheet.done(_said(panels, feature, system))


def _named(sheet: DrawingSheet, x: float, y: float, split: bool, name: str, bad: bool) -> None:
    """The name of a panel below it, or in two small lines."""
    if not split:
        sheet.label(x, y, name, "strong" if bad else "name")
        return
    for k, word in enumerate(name.rsplit(" ", 1)):
        sheet.label(x, y - 3 + 7 * k, word, "strong-small" if bad else "name-small")


def _ground(sheet: DrawingSheet, axis: Axis, one: Characteristic, left: float, right: float) -> None:
    if one.limits is None:
        return
    new, last = one.limits.new, outer(one)
    if last[1] is not None:
        sheet.hatch("hatch-wide", left, _TOP, right, axis(last[1]), 7)
        sheet.line("limit", left, axis(last[1]), right, axis(last[1]))
    if last[0] is not None:
        sheet.hatch("hatch-wide", left, axis(last[0]), right, axis(axis.low), 7)
        sheet.line("limit", left, axis(last[0]), right, axis(last[0]))
    if new != (None, None):
        low = new[0] if new[0] is not None else last[0] if last[0] is not None else axis.low
        high = new[1] if new[1] is not None else last[1] if last[1] is not None else axis.high
        sheet.box("tint", left, axis(high), right, axis(low))
        for edge in new:
            if edge is not None and edge not in last:
                sheet.line("new-limit", left, axis(edge), right, axis(edge))


def _points(sheet: DrawingSheet, axis: Axis, one: Characteristic, x: float, step: float, first: bool) -> None:
    """A mark per plane at its far end, a thin line over the plane; without planes one mark and its bar."""
    if one.value is None:
        return
    ends = [(low, high) for low, high in one.planes.values() if low is not None and high is not None]
    size = min(2.6, 0.09 * step + 1)
    if not ends:
        low, high = axis.held(one.value - (one.guard or 0.0)), axis.held(one.value + (one.guard or 0.0))
        if low - high > 2 * size + 1.5:  # a shorter bar would hide behind the mark
            sheet.line("span", x, low, x, high)
            for y in (low, high):
                sheet.line("span", x - size, y, x + size, y)
        _mark(sheet, x, axis(one.value), size, first)
        return
    for k, (low, high) in enumerate(ends):
        at = x + (k - (len(ends) - 1) / 2) * min(9.0, 0.18 * step)
        sheet.line("span", at, axis.held(low), at, axis.held(high))
        # the end nearer to the value that was judged is the one that counts
        end = low if abs(low - one.value) < abs(high - one.value) else high
        _mark(sheet, at, axis.held(end), size, first)


def _mark(sheet: DrawingSheet, x: float, y: float, size: float, first: bool) -> None:
    if first:
        sheet.diamond("arrival", x, y, size + 0.4)
    else:
        sheet.ring("dot", x, y, size - 0.4)


def _number(sheet: DrawingSheet, axis: Axis, one: Characteristic, x: float, end: float, system: str) -> None:
    """The number of a place out of order: below its mark, above it, or beside it where limits run."""
    printed = value(one, system)
    if printed is None or one.value is None:
        return
    guard = one.guard or 0.0
    ends = [end for pair in one.planes.values() for end in pair if end is not None]
    lines = [printed.bound, printed.text] if printed.bound else [printed.text]
    tall, half = 9.0 * len(lines), max(wide(line, LARGE) for line in lines) / 2 + 2
    middle = axis.held(one.value)
    low = max(axis.held(min([one.value - guard, *ends])), middle + 3.6) + 1.5
    high = min(axis.held(max([one.value + guard, *ends])), middle - 3.6) - 1.5
    limits = (*one.limits.new, *one.limits.wear) if one.limits else ()
    edges = [axis(end) for end in limits if end is not None]

    def cost(spot: tuple[float, float]) -> float:
        """Limits that a label would cover, room it lacks, and that beside is third choice.

        Last of all where other planes lie between it and the value: it would be read as theirs.
        """
        at, y = spot
        away = max(y - middle, middle - y - tall) > 12.0
        covered = sum(y - 0.5 <= edge <= y + tall + 1.5 for edge in edges)
        return covered + 9 * (y < 0) + 9 * (y + tall > axis(axis.low)) + 0.5 * (at != x) + 0.75 * away

    beside = x + half + 5 if x + 2 * half + 5 < end else x - half - 5
    at, y = min(((x, low), (x, high - tall), (beside, middle - tall / 2)), key=cost)
    at = min(max(at, _LEFT + half), end - half)
    sheet.box("paper", at - half, y, at + half, y + tall + 1.5)
    for k, line in enumerate(lines):
        sheet.label(at, y + 7.2 + 9 * k, line, "value")


def _numbers(sheet: DrawingSheet, axis: Axis, one: Characteristic, system: System, end: float) -> None:
    """The axis is numbered at its limits; at its ends only where there are none.

    At the right stand the same places in the other system of units.
    """
    edges: list[float] = []
    if one.limits is not None:
        edges = sorted({end for end in (*one.limits.new, *one.limits.wear) if end is not None})

    def texts(units: System) -> list[tuple[float, str]]:
        found = [(edge, interval((edge, edge), one, units).partition("–")[0]) for edge in edges]
        if axis.low == 0.0 and 0.0 not in edges:
            found.append((0.0, "0"))
        if not edges:
            ends = (axis.high,) if axis.low == 0.0 else (axis.high, axis.low)
            found += [(edge, show(edge, one.unit, one.decimals, units).text) for edge in ends]
        return sorted(found, reverse=True)

    here = texts(system)
    spots = apart([axis(edge) for edge, _ in here], [SMALL] * len(here), 0, axis(axis.low) + 4, 1.0)
    for (edge, text), y in zip(here, spots, strict=True):
        sheet.label(_LEFT - 6, y + 2.3, text, "limit", "end")
        sheet.line("axis-light", _LEFT - 4, axis(edge), _LEFT - 1, axis(edge))
    if _other_numbers(one, system):
        for (edge, text), y in zip(texts(other(system)), spots, strict=True):
            if text != "0":
                sheet.label(end + 5, y + 2.3, text, "limit", "start")
                sheet.line("axis-light", end, axis(edge), end + 3, axis(edge))


def _other_numbers(one: Characteristic, system: System) -> bool:
    """Whether the axis has a second system of units to be numbered in."""
    return first_unit(one.unit, other(system)) != first_unit(one.unit, system)


def _said(panels: list[Panel], feature: Feature, system: str) -> str:
    """The panels out of order in words, and how many others there are."""
    bad = [p for p in panels if any(one and severity(one.verdict) < 2 for one in (p.first, p.now))]
    some = bad[0] if bad else panels[0]
    text = "; ".join(described(panel.first, panel.now, feature, system) for panel in (bad or [some]))
    others = len(panels) - len(bad or [some])
    if not others:
        return text
    words = message("{what}. one other position beside it." if others == 1 else BESIDE)
    return say(words, what=text, count=others)


BESIDE = message("{what}. {count} other positions beside it.")


@dataclass(frozen=True, slots=True)
class Profile:
    """Readings of a bore by depth, one direction: position to its values from top to bottom."""

    direction: str
    levels: tuple[str, ...]
    arrival: dict[str, tuple[float, ...]]
    now: dict[str, tuple[float, ...]]


def profiles(first: ReadingTable, now: ReadingTable | None) -> list[Profile]:
    """Profiles from columns named ``level_direction`` (top_t, top_a, ...); empty where they are not."""
    split = [column.rpartition("_") for column in first.columns]
    levels = tuple(dict.fromkeys(level for level, _, _ in split))
    directions = tuple(dict.fromkeys(direction for _, _, direction in split))
    if (
        not all(level for level, _, _ in split)
        or len(levels) < 2
        or len(split) != len(levels) * len(directions)
    ):
        return []
    return [
        Profile(
            direction,
            levels,
            _by_depth(first, levels, direction),
            _by_depth(now, levels, direction) if now else {},
        )
        for direction in directions
    ]


def _by_depth(table: ReadingTable, levels: tuple[str, ...], direction: str) -> dict[str, tuple[float, ...]]:
    wanted = [f"{level}_{direction}" for level in levels]
    if not set(wanted) <= set(table.columns):
        return {}
    at = [table.columns.index(name) for name in wanted]
    out: dict[str, tuple[float, ...]] = {}
    for position, typed in table.rows.items():
        try:
            out[position] = tuple(float(typed[i]) for i in at)
        except (ValueError, IndexError):
            continue  # a dash or a note instead of a reading: this line is not drawn
    return out


def profile(
    drawn: list[Profile],
    worst: Characteristic,
    unit: str,
    system: System,
    words: dict[str, str],
    width: float = 325.0,
) -> Drawing:
    """Bores by depth, one part per direction: the worst one heavy, the others thin, the new ones as dots."""
    tall, top = 92.0, 18.0
    sheet = DrawingSheet(width, top + tall + (24 if _other_numbers(worst, system) else 16))
    sheet.over("hatch-wide", "tint", "new-limit", "limit", "thin", "heavy", "now-line")
    step = (width - _LEFT) / len(drawn)
    everything = [
        v for one in drawn for rows in (one.arrival, one.now) for values in rows.values() for v in values
    ]
    low, high = reach([worst])
    low, high = min([low, *everything]), max([high, *everything])
    for i, one in enumerate(drawn):
        left, right = _LEFT + i * step, _LEFT + (i + 1) * step - (14 if i < len(drawn) - 1 else 0)
        axis = Axis(low, high, left, right)
        _upright_limits(sheet, axis, worst, top, top + tall, system)
        depths = [top + 10 + k * (tall - 20) / (len(one.levels) - 1) for k in range(len(one.levels))]
        if i == 0:
            for level, y in zip(one.levels, depths, strict=True):
                sheet.label(_LEFT - 5, y + 2.3, say(level.replace("_", " ")), "limit", "end")
        for position, values in one.arrival.items():
            points = [(axis(v), y) for v, y in zip(values, depths, strict=True)]
            sheet.polyline("heavy" if position == worst.position else "thin", points)
            if position == worst.position:
                for x, y in points:
                    sheet.diamond("arrival", x, y, 3)
        if worst.position in one.now:
            points = [(axis(v), y) for v, y in zip(one.now[worst.position], depths, strict=True)]
            sheet.polyline("now-line", points)
            for x, y in points:
                sheet.ring("dot", x, y, 1.9)
        sheet.label(left, 9, _way(one.direction, words), "italic", "start")
        if worst.position in one.arrival:
            largest = max(one.arrival[worst.position])
            text = show(largest, unit, worst.decimals, system).text
            sheet.label(right, 9, f"{worst.position}  {text}", "value", "end")
    said: list[str] = []
    for one in drawn:
        if worst.position in one.arrival:
            ends = [show(v, unit, worst.decimals, system).text for v in one.arrival[worst.position]]
            said.append(
                say(
                    "{way}: {place} from {first} at the {top} to {last} at the {bottom}",
                    way=_way(one.direction, words),
                    place=worst.position,
                    first=ends[0],
                    top=say(one.levels[0]),
                    last=ends[-1],
                    bottom=say(one.levels[-1]),
                )
            )
    words_ = message("Diameters by depth on arrival. {what}. The other bores are drawn thin.")
    return sheet.done(say(words_, what="; ".join(said)))


def _way(direction: str, words: dict[str, str]) -> str:
    return say(words[direction]) if direction in words else direction


def _upright_limits(
    sheet: DrawingSheet, axis: Axis, one: Characteristic, top: float, bottom: float, system: System
) -> None:
    if one.limits is None:
        return
    new, last = one.limits.new, outer(one)
    if last[1] is not None:
        sheet.hatch("hatch-wide", axis(last[1]), top, axis.end, bottom, 8)
        sheet.line("limit", axis(last[1]), top, axis(last[1]), bottom + 3)
    if new[0] is not None and new[1] is not None:
        sheet.box("tint", axis(new[0]), top, axis(new[1]), bottom)
    edges = sorted({end for end in (*new, *one.limits.wear) if end is not None})
    for edge in edges:
        if edge not in last:
            sheet.line("new-limit", axis(edge), top, axis(edge), bottom)
    for units, y in ((system, bottom + 13), (other(system), bottom + 21)):
        if units != system and not _other_numbers(one, system):
            continue
        texts = [interval((edge, edge), one, units).partition("–")[0] for edge in edges]
        widths = [wide(text, SMALL) for text in texts]
        # a label may lean out to the left of its part, where the depths are named
        for x, text in zip(
            apart([axis(edge) for edge in edges], widths, axis.start - 16, axis.end), texts, strict=True
        ):
            sheet.label(x, y, text, "limit")
