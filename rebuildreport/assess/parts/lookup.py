"""Parts that a measured value chooses by a table, such as a gasket by the highest piston."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ... import quantities
from ...quantities import Sentence, Several, Text, message
from ...records.files.sheet import ChoiceRule
from ...trade.measuring.verdict import DUST
from ..model.choice import Choice as ChoiceMade


def by_table(table: ChoiceRule, value: float, guard: float, base: str, unit: str) -> list[str]:
    """The parts whose band a value may lie in, likeliest first: one, two where a border is too near, or none.

    ``value`` and ``guard`` are in the unit ``base``, bare ends of the table in ``unit``.
    """
    scale = quantities.factor(base, unit) if base != unit else 1.0
    value, guard = value * scale, guard * scale
    inside: list[str] = []
    near: list[str] = []
    for part, limit in table.table.items():
        low, high = limit.within(unit)
        if _within(value, low, high, DUST) and not (limit.above and low is not None and value <= low + DUST):
            inside.append(part)
        elif guard > 0.0 and _within(value, low, high, guard + DUST):
            near.append(part)
    if guard == 0.0:
        return inside[:1]  # of two bands that share their border, the one that the sheet names first
    return inside + near


def _within(value: float, low: float | None, high: float | None, by: float) -> bool:
    """Whether a value lies between two ends, or past one of them by this much at most."""
    return (low is None or value >= low - by) and (high is None or value <= high + by)


def weighed(name: str, fits: list[str], choices: Iterable[ChoiceMade]) -> list[str]:
    """The same, in front the one that was chosen by more than the table; none where none serves."""
    one = next((made for made in choices if made.kind == "gasket" and made.name == name), None)
    if one is None or not fits:
        return fits
    taken = next((step.part for step in one.steps if step.chosen), "")
    return sorted(fits, key=lambda part: part != taken) if taken else []


def unsure(part: Text, what: Text, unread: Sequence[str], value: Text, fits: Sequence[str]) -> list[Text]:
    """What has to be read before a part that a table chose is ordered; nothing where the choice is sure."""
    found: list[Text] = []
    if unread:
        words = message("{part}: {what} not read at {places}, and the highest of all decides")
        found.append(Sentence(words, part=part, what=what, places=Several(unread)))
    if len(fits) > 1:
        words = message(
            "{part}: {what} of {value} is too near the border between {one} and {other} to be sure: read it "
            "again before it is ordered"
        )
        found.append(Sentence(words, part=part, what=what, value=value, one=fits[0], other=fits[1]))
    return found
