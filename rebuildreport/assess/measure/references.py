"""Limits that say ``see FIT``: the verdict is that of another feature."""

from __future__ import annotations

from dataclasses import replace

from ...quantities import NOTHING, Sentence, amid
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring import verdict
from ..model.assessment import Characteristic
from .observations import Occasion
from .timeline import Timeline
from .titles import feature_title


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
    for one in found:
        fits.setdefault((one.feature, one.position), []).append(one)
    settled = []
    for one in found:
        kind = KINDS[engine.features[one.feature].kind]
        limit = engine.features[one.feature].wear.get(kind.trait(one.name).limit)
        if limit is None or not limit.see or not one.again or one.verdict == "as new" or one.value is None:
            settled.append(one)
            continue
        there: dict[str, list[Characteristic]] = {}
        for fit in fits.get((limit.see, one.position), []):
            if order[fit.round] >= order[one.round] and not timeline.ended(
                one.feature, one.position, one.day, fit.day
            ):
                there.setdefault(fit.round, []).append(fit)
        # one statement decides, that of the fit: the sheet's limits for a new one are only a remark
        one = replace(one, limits=replace(one.limits, decides=(None, None))) if one.limits else one
        title = amid(feature_title(engine, limit.see))
        note = Sentence("judged by {what}", what=title)
        if there:
            first = there[min(there, key=lambda name: order[name])]
            worst = min(first, key=lambda c: verdict.ORDER.index(c.verdict))
            settled.append(
                replace(one, verdict=worst.verdict, end="", side=NOTHING, advice=NOTHING, note=note)
            )
        else:
            advice = Sentence("judged by {what}, which is not known", what=title)
            settled.append(
                replace(one, verdict="not measured", end="", side=NOTHING, advice=advice, note=note)
            )
    return settled
