"""The value scale: one value, or arrival beside now, drawn against its limits."""

from __future__ import annotations

from ...assess.model.assessment import OPEN, Characteristic, Feature, Limits
from ...quantities import as_typed, message
from ..press.language import say, told
from ..press.words import first_unit, interval, place, unit_text
from ..press.words import value as printed_value
from .axes import Across, Axis, edge_text, mark_limits, reach, span
from .canvas import LARGE, SMALL, Drawing, DrawingSheet, apart, wide
from .verdict_marks import past

WIDE = 325.0  # the text column in print, points
NARROW = 172.0  # phone and index
_EDGE = 4.0
_ROW = 19.0  # height of the axis
_GAP = 4.0  # between labels


def same_limits(first: Characteristic, now: Characteristic) -> bool:
    """Whether two values can stand on one scale: nothing moved their limits in between."""
    return first.limits == now.limits or (
        first.limits is not None
        and now.limits is not None
        and (first.limits.new, first.limits.wear) == (now.limits.new, now.limits.wear)
    )


def scales(
    first: Characteristic | None,
    now: Characteristic | None,
    feature: Feature | None,
    system: str,
    width: float = WIDE,
) -> list[Drawing]:
    """One scale for both values, or one each where machining moved the limits; none without a value."""
    if first is not None and first.value is None:
        first = None
    if now is not None and (now.value is None or now == first):
        now = None
    if first is not None and now is not None and not same_limits(first, now):
        return [_scale(first, None, feature, system, width), _scale(None, now, feature, system, width)]
    return [_scale(first, now, feature, system, width)] if first or now else []


def _scale(
    first: Characteristic | None,
    now: Characteristic | None,
    feature: Feature | None,
    system: str,
    width: float,
) -> Drawing:
    values = [value for value in (first, now) if value is not None]
    sheet = DrawingSheet(width, 36)
    sheet.over("hatch", "tint", "new-limit", "axis", "limit", "bar", "bar-end", "arrow", "arrow-head")
    axis = Axis(*reach(values), _EDGE, width - _EDGE)
    judged = values[-1] if values[-1].limits else values[0]
    mark_limits(sheet, axis, judged.limits, Across((14, 24), (11, 27), (14, 26), "hatch", 4.6))
    if judged.limits is not None:
        _name_limits(sheet, axis, judged.limits, judged.unit, system)
    sheet.line("axis", _EDGE, _ROW, width - _EDGE, _ROW)
    texts: list[tuple[float, str]] = []
    for value in values:
        printed = printed_value(value, system)
        if value.value is None or printed is None:
            continue
        x = axis(value.value)
        _mark(sheet, axis, value, x, arrived=value is first)
        later = value is now and first is not None
        texts.append((x, say("{value} now", value=printed.said) if later else printed.said))
    _in_line(sheet, sorted(texts), 9, LARGE, "value")
    return sheet.done(described(first, now, feature, system))


def _in_line(sheet: DrawingSheet, texts: list[tuple[float, str]], y: float, size: float, role: str) -> None:
    """Labels of one height, each as near to its place as the others let it."""
    widths = [wide(text, size) for _, text in texts]
    spots = apart([x for x, _ in texts], widths, 0, sheet.width)
    for x, (_, text) in zip(spots, texts, strict=True):
        sheet.label(x, y, text, role)


def _name_limits(sheet: DrawingSheet, axis: Axis, limits: Limits, unit: str, system: str) -> None:
    """Below the scale what each limit is; on a narrow one numbers alone."""
    numbers = [(edge, edge_text(edge, limits, unit, system)) for edge in limits.edges]
    named = [(axis(edge), _limit_name(edge, limits, number)) for edge, number in numbers]
    bare = [(axis(edge), number) for edge, number in numbers]
    if axis.low == 0.0 and 0.0 not in limits.edges:
        named, bare = [(axis.start, "0"), *named], [(axis.start, "0"), *bare]
    needed = sum(wide(text, SMALL) + _GAP for _, text in named)
    _in_line(sheet, named if needed <= axis.end - axis.start else bare, 34, SMALL, "limit")


def _limit_name(edge: float, limits: Limits, number: str) -> str:
    if edge in limits.new and edge in limits.wear:
        return say("{number} limit, new and worn", number=number)
    if edge in limits.wear:
        return say("{number} wear limit", number=number)
    if None not in limits.new and edge == limits.new[0] and limits.new[1] not in limits.wear:
        return number  # two new limits close together share the word
    alone = edge in limits.last and limits.wear == OPEN
    return say("{number} limit", number=number) if alone else say("{number} new", number=number)


def _mark(sheet: DrawingSheet, axis: Axis, value: Characteristic, x: float, arrived: bool) -> None:
    """The mark of a value, the arrow of one that may be larger, and its guard on both sides.

    A bar that crosses a limit is 'too close to call'; one that would hide behind the mark is not drawn.
    """
    left, right = map(axis, span(value))
    if value.guard and right - left >= 4.5:
        sheet.line("bar", left, _ROW, right, _ROW)
        for end in (left, right):
            sheet.line("bar-end", end, _ROW - 3.4, end, _ROW + 3.4)
    if value.bound == "at least":
        end = min(x + 14, sheet.width - _EDGE - 4.5)
        sheet.line("arrow", x, _ROW, end, _ROW)
        sheet.arrow_head(end, _ROW)
    sheet.mark(x, _ROW, arrived, 3.4, 2.5)


# what kinds (their `at`) call a value that is of all places of a feature together
WHOLE = ("engine", "face", "line", "set")


def lone(position: str, feature: Feature | None) -> bool:
    """Whether a value is the only one of its feature, so that its place needs no saying."""
    if position == "engine" or feature is None:
        return position in WHOLE
    return feature.positions == (position,) or (position in WHOLE and position not in feature.positions)


def name_of(feature: Feature | None, name: str, position: str) -> str:
    """'Main journals, out of round, M4': what a value is of."""
    if feature is None:
        words = [place(name)]
    else:
        words = [told(feature.title)]
        title = told(feature.characteristics.get(name, as_typed(name)))
        if title.lower() not in words[0].lower():  # 'Compression, compression' says it twice
            words.append(title)
    if not lone(position, feature):
        words.append(place(position))
    return ", ".join(words)


def described(
    first: Characteristic | None, now: Characteristic | None, feature: Feature | None, system: str
) -> str:
    """The scale in a sentence, for those who cannot see it."""
    some = first or now
    if some is None:
        return ""
    parts: list[str] = []
    for value, when in ((first, message("on arrival {value}")), (now, message("now {value}"))):
        if value is None or (printed := printed_value(value, system)) is None:
            continue
        said = [f"{printed.said} {printed.unit}".rstrip(), say(value.verdict)]
        said += past(value.verdict, value.side)
        said += [told(value.note)] if value.note and value.limits and value.limits.by_fit else []
        parts.append(say(when, value=", ".join(said)) if first and now else ", ".join(said))
    limits = now.limits if now is not None and now.limits else some.limits
    parts += _limits_said(limits, some.unit, system) if limits is not None else []
    return f"{name_of(feature, some.name, some.position)}: {'; '.join(parts)}".replace("\u00a0", " ")


def _limits_said(limits: Limits, unit: str, system: str) -> list[str]:
    """The new limits and the wear limit, those that are given."""
    new = say("new limits, for comparison") if limits.by_fit else say("new limits")
    given = ((new, limits.new), (say("wear limit"), limits.wear))
    return [f"{word} {text}" for word, ends in given if (text := interval(limits, unit, system, ends))]


def unit_of(unit: str, system: str) -> str:
    """The unit of a drawing, as its caption says it."""
    return unit_text(first_unit(unit, system))


def limit_text(value: Characteristic, system: str, bare: bool = True) -> str:
    """'max 0.150' with its unit; ``bare``: without that of lengths, which all around it are."""
    if value.note and value.limits is not None and value.limits.by_fit:
        return say("by clearance")  # in a column of numbers; the drawing and the record name it
    printed = printed_value(value, system)
    text = interval(value.limits, value.unit, system, places=printed.places if printed else 0)
    unit = first_unit(value.unit, system)
    return text if not text or (bare and unit in ("mm", "in")) else f"{text}\u00a0{unit_text(unit)}"
