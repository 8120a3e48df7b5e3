"""The value scale: one value, or arrival beside now, drawn against its limits."""

from __future__ import annotations

from dataclasses import dataclass

from ...assess.model.assessment import Characteristic, Ends, Feature
from ...quantities import as_typed, message
from ..press.codes import VERDICTS
from ..press.language import say, told
from ..press.words import deciding, first_unit, interval, place, unit_text, value
from .canvas import LARGE, SMALL, Drawing, DrawingSheet, apart, wide

WIDE = 325.0  # the text column in print, points
NARROW = 172.0  # phone and index
_EDGE = 4.0


@dataclass(frozen=True, slots=True)
class Axis:
    """A straight axis from a value to a coordinate."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, number: float) -> float:
        return self.start + (number - self.low) / (self.high - self.low) * (self.end - self.start)

    def held(self, number: float) -> float:
        """The same, but never beyond the ends of the axis."""
        return self(min(max(number, self.low), self.high))


def outer(one: Characteristic) -> Ends:
    """The last limit of each side: the wear limit, or the new one where no wear limit is given."""
    if one.limits is None or by_fit(one):
        return (None, None)
    new, wear = one.limits.new, one.limits.wear
    return (wear[0] if wear[0] is not None else new[0], wear[1] if wear[1] is not None else new[1])


def by_fit(one: Characteristic) -> bool:
    """Whether another value decides, so that its own limits are a remark."""
    return one.value is not None and one.limits is not None and one.limits.decides == (None, None)


def same_limits(first: Characteristic, now: Characteristic) -> bool:
    """Whether two values can stand on one scale: nothing moved their limits in between."""
    return first.limits == now.limits or (
        first.limits is not None
        and now.limits is not None
        and (first.limits.new, first.limits.wear) == (now.limits.new, now.limits.wear)
    )


def reach(ones: list[Characteristic], planes: bool = False) -> tuple[float, float]:
    """From where to where an axis must go to show values, uncertainties and limits."""
    points: list[float] = []
    edges: list[float] = []
    for one in ones:
        if one.value is not None:
            guard = one.guard or 0.0
            points += [one.value - guard, one.value + guard]
            if planes:
                points += [end for ends in one.planes.values() for end in ends if end is not None]
        if one.limits is not None:
            edges += [end for end in (*one.limits.new, *one.limits.wear) if end is not None]
    everything = points + edges
    if not everything:
        return (0.0, 1.0)
    low, high = min(everything), max(everything)
    span = (high - low) or max(abs(high), 1e-6) * 0.1
    lower_open = all(one.limits is None or outer(one)[0] is None for one in ones)
    from_nought = lower_open and min(one.value or 0.0 for one in ones) >= 0 and low <= 8 * span
    # room to see that a value has passed a limit, or how far it is from it
    return (0.0 if from_nought else low - 0.09 * span, high + (0.3 if high in edges else 0.12) * span)


def scales(
    first: Characteristic | None,
    now: Characteristic | None,
    feature: Feature | None,
    system: str,
    width: float = WIDE,
) -> list[Drawing]:
    """One scale for both values, or one each where machining moved the limits; none without a value."""
    if first is not None and (first.value is None):
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
    ones = [one for one in (first, now) if one is not None]
    sheet = DrawingSheet(width, 36)
    sheet.over("hatch", "tint", "new-limit", "axis", "limit", "bar", "bar-end", "arrow", "arrow-head")
    axis = Axis(*reach(ones), _EDGE, width - _EDGE)
    judged = ones[-1] if ones[-1].limits else ones[0]
    _limits(sheet, axis, judged, system)
    sheet.line("axis", _EDGE, 19, width - _EDGE, 19)
    texts: list[tuple[float, str]] = []
    for one in ones:
        printed = value(one, system)
        if one.value is None or printed is None:
            continue
        x = axis(one.value)
        _bar(sheet, axis, one)
        if one.bound == "at least":
            end = min(x + 14, width - _EDGE - 4.5)
            sheet.line("arrow", x, 19, end, 19)
            sheet._add("arrow-head", f"M{end:.2f} 16.6L{end + 4.5:.2f} 19L{end:.2f} 21.4Z")
        if one is first:
            sheet.diamond("arrival", x, 19, 3.4)
        else:
            sheet.ring("dot", x, 19, 2.5)
        texts.append(
            (x, say("{value} now", value=printed.said) if one is now and first is not None else printed.said)
        )
    texts.sort()
    widths = [wide(text, LARGE) for _, text in texts]
    for x, (_, text) in zip(apart([x for x, _ in texts], widths, 0, width), texts, strict=True):
        sheet.label(x, 9, text, "value")
    return sheet.done(described(first, now, feature, system))


def _limits(sheet: DrawingSheet, axis: Axis, one: Characteristic, system: str) -> None:
    if one.limits is None:
        return
    new, wear, last = one.limits.new, one.limits.wear, outer(one)
    start, end = axis.start, axis.end
    if last[0] is not None:
        sheet.hatch("hatch", start, 14, axis(last[0]), 24)
    if last[1] is not None:
        sheet.hatch("hatch", axis(last[1]), 14, end, 24)
    if new != (None, None):
        left = axis(new[0]) if new[0] is not None else (axis(last[0]) if last[0] is not None else start)
        right = axis(new[1]) if new[1] is not None else (axis(last[1]) if last[1] is not None else end)
        sheet.box("tint", left, 14, right, 24)
    names: dict[float, list[str]] = {}
    for ends, word in ((new, "new"), (wear, "wear limit")):
        for edge in ends:
            if edge is not None:
                names.setdefault(edge, []).append(word)
    for edge in last:
        if edge is not None:
            sheet.line("limit", axis(edge), 11, axis(edge), 27)
    for edge in new:
        if edge is not None and edge not in last:
            sheet.line("new-limit", axis(edge), 14, axis(edge), 26)
    labels: list[tuple[float, str]] = []
    bare: list[str] = []  # the numbers alone
    if axis.low == 0.0 and 0.0 not in names:
        labels.append((start, "0"))
        bare.append("0")
    for edge in sorted(names):
        words = names[edge]
        number = interval((edge, edge), one, system).partition("–")[0]
        both_new = None not in new and edge == new[0] and new[1] not in wear
        bare.append(number)
        if len(words) == 2:
            number = say("{number} limit, new and worn", number=number)
        elif words == ["wear limit"]:
            number = say("{number} wear limit", number=number)
        elif not both_new:  # two new limits close together share the word
            own = edge not in last or wear != (None, None)
            number = say("{number} new", number=number) if own else say("{number} limit", number=number)
        labels.append((axis(edge), number))
    widths = [wide(text, SMALL) for _, text in labels]
    if sum(widths) + 4 * len(widths) > end - start:  # a narrow scale: numbers alone
        labels = [(x, text) for (x, _), text in zip(labels, bare, strict=True)]
        widths = [wide(text, SMALL) for _, text in labels]
    for x, (_, text) in zip(apart([x for x, _ in labels], widths, 0, sheet.width), labels, strict=True):
        sheet.label(x, 34, text, "limit")


def _bar(sheet: DrawingSheet, axis: Axis, one: Characteristic) -> None:
    """The guard on both sides of a value: a bar that crosses a limit is 'too close to call'."""
    if one.value is None or not one.guard:
        return
    left, right = axis.held(one.value - one.guard), axis.held(one.value + one.guard)
    if right - left < 4.5:
        return  # it would hide behind the mark
    sheet.line("bar", left, 19, right, 19)
    for x in (left, right):
        sheet.line("bar-end", x, 15.6, x, 22.4)


def lone(one: Characteristic, feature: Feature | None) -> bool:
    """Whether a value is the only one of its feature, so that its place needs no saying."""
    return one.position == "engine" or (feature is not None and feature.positions == (one.position,))


def name_of(one: Characteristic, feature: Feature | None) -> str:
    """'Main journals, out of round, M4': what a value is of."""
    if feature is None:
        words = [one.feature.replace("_", " "), one.name.replace("_", " ")]
    else:
        words = [told(feature.title)]
        title = told(feature.characteristics.get(one.name, as_typed(one.name)))
        if title.lower() not in words[0].lower():  # 'Compression, compression' says it twice
            words.append(title)
    if not lone(one, feature):
        words.append(place(one.position))
    return ", ".join(words)


def described(
    first: Characteristic | None, now: Characteristic | None, feature: Feature | None, system: str
) -> str:
    """The scale in a sentence, for those who cannot see it."""
    some = first or now
    if some is None:
        return ""
    parts: list[str] = []
    for one, when in ((first, message("on arrival {value}")), (now, message("now {value}"))):
        printed = value(one, system)
        if one is None or printed is None:
            continue
        judged_so = one.side and one.verdict in ("beyond limit", "too close to call")
        side = f", {told(one.side)}" if judged_so else ""
        side += f", {told(one.note)}" if by_fit(one) and one.note else ""
        text = f"{printed.said} {printed.unit}, {say(VERDICTS[one.verdict])}{side}"
        parts.append(say(when, value=text) if first and now else text)
    judged = now if now is not None and now.limits else some
    if judged.limits is not None:
        new = say("new limits, for comparison") if by_fit(judged) else say("new limits")
        for ends, word in ((judged.limits.new, new), (judged.limits.wear, say("wear limit"))):
            text = interval(ends, judged, system)
            if text:
                parts.append(f"{word} {text}")
    return f"{name_of(some, feature)}: {'; '.join(parts)}".replace("\u00a0", " ")


def unit_of(one: Characteristic, system: str) -> str:
    """The unit of a drawing, as its caption says it."""
    return unit_text(first_unit(one.unit, system))


def limit_text(one: Characteristic, system: str) -> str:
    """'max 0.150' with its unit where that is no length."""
    if by_fit(one) and one.note:
        return say("by clearance")  # in a column of numbers; the drawing and the annex name it
    text = deciding(one, system)
    unit = unit_of(one, system)
    return text if not text or unit in ("mm", "in") else f"{text}\u00a0{unit}"
