"""Limits that say ``see FIT``: the verdict is that of another feature."""

from __future__ import annotations

from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Text, amid
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring.verdict import OPEN, ORDER, Name
from ..model.assessment import Characteristic
from .observations import Occasion
from .timeline import Timeline
from .titles import component_title


def settle_by_reference(
    engine: Engine, timeline: Timeline, taken: list[Occasion], found: list[Characteristic]
) -> list[Characteristic]:
    """Sizes whose wear limit says ``see FIT`` take the verdict of that fit at their position.

    A journal below its new size has no wear limit of its own where the sheet
    judges it by its clearance.  The clearance may be known only in a later
    round, when its partner was read; without it the size is not measured.
    """
    order = {name: index for index, name in enumerate(dict.fromkeys(one.round for one in taken))}
    fits: dict[tuple[str, str], list[Characteristic]] = {}
    for value in found:
        fits.setdefault((value.feature, value.position), []).append(value)
    settled = []
    for value in found:
        sheet = engine.features[value.feature]
        limit = sheet.wear.get(KINDS[sheet.kind].trait(value.name).limit)
        # a used surface takes the verdict of a fit where its limit says so
        used = value.again and value.verdict != "as new" and value.value is not None
        if limit and limit.see and used:
            fit = limit.see
            later = [
                other
                for other in fits.get((fit, value.position), [])
                if order[other.round] >= order[value.round]
                and not timeline.ended(value.feature, value.position, value.day, other.day)
            ]
            # what stays is judged by what it runs in now: a worn pin that was renewed condemns no bush
            known = [other for other in later if other.verdict != "not measured"] or later
            newest = max((order[other.round] for other in known), default=0)
            value = _by_fit(engine, value, fit, [one for one in later if order[one.round] == newest])
        settled.append(value)
    return settled


def _by_fit(engine: Engine, value: Characteristic, fit: str, first: list[Characteristic]) -> Characteristic:
    """The value with the verdict of the fit, as it was first known after it was read."""
    title = amid(component_title(engine, fit))
    verdict: Name = "not measured"
    advice: Text = Sentence("judged by {what}, which is not known", what=title)
    if first:
        verdict, advice = min((one.verdict for one in first), key=ORDER.index), NOTHING
    return replace(
        value,
        # one statement decides, that of the fit: the sheet's limits for a new one are only a remark
        limits=replace(value.limits, decides=OPEN) if value.limits else None,
        verdict=verdict,
        end="",
        side=NOTHING,
        advice=advice,
        note=Sentence("judged by {what}", what=title),
    )
