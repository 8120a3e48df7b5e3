"""The bench's records as the report's short facts: register, marks, what was held, first start."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from ...quantities import Figure, Sentence, Several, Text, amid, present
from ..measure.titles import titled
from ..model.assessment import Fact, HoldPoint
from ..model.bench import Bench, Said

_KINDS = {
    "fasteners": "Fasteners as found, {where}",
    "tensioner": "Tensioner, {where}",
    "guide": "Guide, {where}",
    "seal": "Seal, {where}",
    "fluid": "Found inside, {where}",
    "earlier work": "Earlier work",
}


def teardown(bench: Bench, pictures: Mapping[str, int]) -> tuple[Fact, ...]:
    """Steps as done, fasteners, identity, what was seen.  ``pictures``: number of each photo as printed."""
    register = bench.register
    facts = []
    if register.steps:
        facts.append(
            Fact(
                Sentence("Taken off in this order"),
                Several(amid(titled(step.title)) for step in register.steps),
            )
        )
    for one in bench.register.entries:
        if one.kind == "identity":
            facts.append(Fact(_capital(one.where), present([one.text, one.orientation])))
        elif one.kind == "earlier work":
            facts.append(Fact(Sentence(_KINDS[one.kind]), f"{one.where} {one.text}".strip()))
        else:
            facts.append(Fact(Sentence(_KINDS[one.kind], where=one.where), present([one.text, *one.pattern])))
    for step in register.steps:
        seen = [
            Sentence("picture {number}", number=pictures[photo])
            for photo in step.photos
            if pictures.get(photo)
        ]
        if step.note or seen:
            facts.append(Fact(Sentence("{part} off", part=_capital(step.title)), present([step.note, *seen])))
    return tuple(facts)


def marks(bench: Bench) -> tuple[Fact, ...]:
    """The register of reference marks; what a mark made here proves is said with it."""
    facts = []
    for one in bench.build.marks:
        parts = [Sentence("the maker's: {mark}", mark=one.factory) if one.factory else ""]
        parts.append(Sentence("not legible beyond doubt") if one.legible is False else "")
        parts += [Sentence("ours: {mark}", mark=one.shop) if one.shop else "", one.count]
        parts.append(Sentence("crank at {where}", where=one.crank_at) if one.crank_at else "")
        parts.append(
            Sentence("tensioner stood out {amount}", amount=Figure(one.tensioner)) if one.tensioner else ""
        )
        parts.append(
            Sentence("{mark}: {worth}", mark=one.trust_text, worth=one.proves)
            if one.trust != "factory"
            else one.trust_text
        )
        parts.append(
            Sentence("to be proved by {what}", what=one.verify) if one.verify and not one.verified else ""
        )
        parts.append(Sentence("proved right: {what}", what=one.verified) if one.verified else "")
        facts.append(Fact(_capital(one.where), present(parts)))
    return tuple(facts)


def hold_points(bench: Bench) -> tuple[HoldPoint, ...]:
    """What was tightened and held, with who signed; nothing unsigned stands here."""
    held = []
    for group in bench.build.fastenings:
        held += [
            HoldPoint(
                Sentence("{bolts} tightened by the maker's stages", bolts=group.title),
                one.by,
                one.witness,
                one.date,
            )
            for one in group.done
            if one.date
        ]
    for line in bench.build.lines:
        signed = line.signed
        if line.verb in ("hold", "mark") and signed is not None and signed.date is not None:
            what = line.title if line.hold else Sentence("Mark brought together: {where}", where=line.name)
            held.append(HoldPoint(what, signed.by, signed.witness, signed.date))
    return tuple(sorted(held, key=lambda one: one.date))


def running(bench: Bench) -> tuple[Fact, ...]:
    """Priming, first start, what was due and done, follow-up."""
    start = bench.start
    facts = _facts([*start.priming, *start.first])
    for one in start.due:
        if one.done:
            facts.append(Fact(_capital(one.what), present([_done(one.done, one.done_at), one.seen])))
    return (*facts, *_facts(start.follow_up))


def _facts(said: Iterable[Said]) -> list[Fact]:
    return [Fact(one.label, one.text) for one in said]


def _done(day: date, at: str) -> Text:
    return Sentence("done {day}, {at}", day=day, at=at) if at else Sentence("done {day}", day=day)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
