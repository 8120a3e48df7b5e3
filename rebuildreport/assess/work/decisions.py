"""Decisions and signed deviations as the documents repeat them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date
from math import inf

from ...quantities import NOTHING, Figure, Sentence, Several, Text, amid, message
from ...records import JobFolder
from ...records.files.jobfile import DecisionRecord, DeviationRecord, Work
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ..measure.following_moves import settled
from ..measure.judging import ends_in
from ..measure.observations import base_unit, of_whole_engine
from ..measure.timeline import sized
from ..measure.titles import component_title, feature_title, span, titled
from ..model.assessment import Characteristic, Decision, Deviation
from ..model.edition import copied, signer
from ..model.keys import ValueKey
from ..parts.needed import takes_its_place

ROUNDING = 1e-9  # of converted limits, in their unit
TO_SIZE = message({"journal": "grind {what} to {size}", "bore": "bore {what} to {size}"})


def decisions(engine: Engine, work: Work) -> tuple[Decision, ...]:
    """What was decided, by whom, why: by number, as everything else refers to it."""
    return tuple(
        copied(
            Decision,
            decision,
            id=name,
            about_title=component_title(engine, decision.about),
            size=Sentence("{amount} off", amount=Figure(decision.remove))
            if decision.remove and not decision.size
            else sized(decision.size),
            by=signer(decision.by),
            settles=settled(engine, decision.about, decision.do),
        )
        for name, decision in sorted(work.decisions.items(), key=lambda item: _counted(item[0]))
    )


def _counted(name: str) -> list[tuple[int, str]]:
    """W10 after W9: words and numbers of a name by turns."""
    return [(int(part), "") if part.isdecimal() else (0, part) for part in re.split(r"(\d+)", name)]


def action(engine: Engine, decision: DecisionRecord) -> Text:
    """What a decision does to what, where: 'grind main journals M1 to M4 to 0.50 mm undersize'."""
    sheet = engine.features.get(decision.about)
    of_rings = sheet is not None and sheet.kind in ("ring_gap", "ring_side") and decision.do == "replace"
    # nobody replaces a gap: of rings it is the part that has it
    what = amid(titled(sheet.part) if sheet and of_rings else component_title(engine, decision.about))
    if decision.positions:
        what = Several([what, span(decision.positions)], " ")
    if decision.do == "reuse":
        return Sentence("use {what} again", what=what)
    if decision.do == "replace":
        return _fitted_new(engine, decision) or Sentence("replace {what}", what=what)
    if decision.remove:
        return Sentence("take {amount} off {what}", amount=Figure(decision.remove), what=what)
    if not decision.size:
        return Sentence("recondition {what}", what=what)
    words = TO_SIZE.get(sheet.kind if sheet else "", message("recondition {what}: {size}"))
    return Sentence(words, what=what, size=sized(decision.size))


def _fitted_new(engine: Engine, decision: DecisionRecord) -> Text:
    """By the part that takes its place, where the sheet names one: nobody replaces a bore."""
    numbers = takes_its_place(engine, decision.about)
    if not numbers and (sheet := engine.features.get(decision.about)):
        # by its class; of what goes by halves no part by itself
        fitted = dict.fromkeys(word for words in decision.fit.values() for word in words)
        numbers = [sheet.pieces[word] for word in fitted if word in sheet.pieces]
    names = [engine.part(number).name for number in numbers]
    where = [span(decision.positions)] if decision.positions else []
    return Sentence("fit new {parts}", parts=Several([*names, *where])) if names else NOTHING


def deviations(
    engine: Engine, job: JobFolder, characteristics: Sequence[Characteristic]
) -> tuple[Deviation, ...]:
    """What is used although outside a limit, and which readings that covers."""
    records = job.written_work.deviations
    return tuple(
        copied(
            Deviation,
            record,
            id=name,
            feature_title=feature_title(engine, record.feature),
            what=Sentence(record.what.replace("_", " ")),
            accept=_accepted(engine, record),
            signed=signer(record.signed),
            covers=tuple(reading.key for reading in _covered(engine, record, characteristics)),
        )
        for name, record in records.items()
        if record.feature in engine.features
    )


def covered_by(deviations: Iterable[Deviation]) -> dict[ValueKey, str]:
    """Readings that a signed deviation accepts, and which one does."""
    return {key: deviation.id for deviation in deviations for key in deviation.covers}


def standing_beyond(
    characteristics: Iterable[Characteristic], deviations: Iterable[Deviation]
) -> list[Characteristic]:
    """What the engine has now beyond its limit, and nobody has signed for."""
    covered = covered_by(deviations)
    return [
        value
        for value in characteristics
        if value.stands and value.verdict == "beyond limit" and value.key not in covered
    ]


def undecided(
    engine: Engine,
    characteristics: Iterable[Characteristic],
    deviations: Iterable[Deviation],
    renewed: Callable[[str, str, date], bool],
    work_done: bool,
) -> list[Characteristic]:
    """What stands beyond its limit with no part to take its place and no deviation signed.

    What is read on the whole engine is decided about by its parts, until it is together again.  A size that
    its clearance alone condemned waits for the next one where the other part of that fit is renewed: beside
    new shells a journal may stay.
    """
    values = [*characteristics]
    known = {(value.feature, value.position) for value in values if value.stands and value.value is not None}
    left = []
    for value in standing_beyond(values, deviations):
        sheet = engine.features[value.feature]
        if renewed(value.feature, value.position, value.day) or (of_whole_engine(sheet) and not work_done):
            continue
        wear = sheet.wear.get(KINDS[sheet.kind].trait(value.name).limit)
        fit = wear.see if wear and value.limits and value.limits.by_fit else None
        if not fit or (fit, value.position) in known:
            left.append(value)
    return left


def _own_unit(engine: Engine, deviation: DeviationRecord) -> str:
    """The unit that a characteristic has whatever its feature is measured in: percent, degrees."""
    kind = KINDS[engine.features[deviation.feature].kind]
    limited = (trait.unit for trait in kind.traits.values() if trait.limit == deviation.what)
    return next(limited, "") or kind.trait(deviation.what).unit or ""


def _accepted(engine: Engine, deviation: DeviationRecord) -> str:
    unit = _own_unit(engine, deviation) or engine.features[deviation.feature].unit
    low, high = deviation.accept.low, deviation.accept.high
    if low and high:
        return f"{low.text}\u2013{high.text} {unit}".strip()
    ends = [f"{word} {end.text}" for word, end in (("min", low), ("max", high)) if end]
    return " ".join([*ends, unit]).strip()


def _covered(
    engine: Engine, deviation: DeviationRecord, characteristics: Sequence[Characteristic]
) -> Iterator[Characteristic]:
    """Readings that stand out of their limits, or may be, and inside of what is accepted."""
    sheet = engine.features[deviation.feature]
    kind = KINDS[sheet.kind]
    own = _own_unit(engine, deviation)
    low, high = ends_in(deviation.accept, own or base_unit(sheet.unit), own or sheet.unit or "mm")
    least, most = -inf if low is None else low, inf if high is None else high
    here = [value for value in characteristics if value.feature == deviation.feature and value.stands]
    out = [value for value in here if value.verdict in ("beyond limit", "too close to call")]
    for value in out:
        named = deviation.what in (value.name, kind.trait(value.name).limit)
        # what was read in the other system of units is rounded there, by less than its last digit shows
        slack = max(ROUNDING, 0.1 * 10.0**-value.decimals)
        inside = least - slack <= (value.value or 0.0) <= most + slack
        if named and value.position in deviation.positions and inside:
            yield value
