"""The bench's records as the report's short facts: register, marks, what was held, first start.

Comes in: a ``Bench``.  Goes out: ``Fact``s and ``HoldPoint``s.  Knows neither files nor readings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, amid, message, present
from ..model.assessment import Fact, HoldPoint
from ..model.bench import Bench, DueLine, MarkLine, RegisterEntry, Said, Taken

_KINDS = message(
    {
        "fasteners": "Fasteners as found, {where}",
        "tensioner": "Tensioner, {where}",
        "guide": "Guide, {where}",
        "seal": "Seal, {where}",
        "fluid": "Found inside, {where}",
    }
)


def teardown(bench: Bench, pictures: Mapping[str, int]) -> tuple[Fact, ...]:
    """Steps as done, fasteners, identity, what was seen.  ``pictures``: number of each photo as printed."""
    register = bench.register
    facts = []
    if register.steps:
        order = Several(amid(step.title) for step in register.steps)
        facts.append(Fact(Sentence("Taken off in this order"), order))
    facts += [_entry(entry) for entry in register.entries]
    facts += [fact for step in register.steps if (fact := _step(step, pictures))]
    return tuple(facts)


def _entry(entry: RegisterEntry) -> Fact:
    if entry.kind == "identity":
        return Fact(Typed(entry.where), present([entry.text, Typed(entry.orientation)]))
    if entry.kind == "earlier work":
        return Fact(Sentence("Earlier work"), present([Typed(entry.where), entry.text], " "))
    return Fact(Sentence(_KINDS[entry.kind], where=entry.where), present([entry.text, *entry.pattern]))


def _step(step: Taken, pictures: Mapping[str, int]) -> Fact | None:
    """What was noted of a step, and its pictures; None where nothing was."""
    shown = [pictures[photo] for photo in step.photos if pictures.get(photo)]
    said = present([Typed(step.note), *(Sentence("picture {number}", number=number) for number in shown)])
    return Fact(Sentence("{part} off", part=step.title), said) if said else None


def marks(bench: Bench) -> tuple[Fact, ...]:
    """The register of reference marks; what a mark made here proves is said with it."""
    return tuple(Fact(Typed(mark.where), mark_said(mark)) for mark in bench.build.marks)


def mark_said(mark: MarkLine) -> Text:
    """All that the register holds of a mark, and what it is worth."""
    worth = mark.trust_text
    if mark.trust != "factory":
        worth = Sentence("{mark}: {worth}", mark=mark.trust_text, worth=mark.proves)
    proof: Text = NOTHING
    if mark.verified:
        proof = Sentence("proved right: {what}", what=mark.verified)
    elif mark.verify:
        proof = Sentence("to be proved by {what}", what=mark.verify)
    return present(
        [
            Sentence("the maker's: {mark}", mark=mark.factory) if mark.factory else NOTHING,
            Sentence("not legible beyond doubt") if mark.legible is False else NOTHING,
            Sentence("ours: {mark}", mark=mark.shop) if mark.shop else NOTHING,
            Typed(mark.count),
            Sentence("crank at {where}", where=mark.crank_at) if mark.crank_at else NOTHING,
            Sentence("tensioner stood out {amount}", amount=Figure(mark.tensioner))
            if mark.tensioner
            else NOTHING,
            worth,
            proof,
        ]
    )


def hold_points(bench: Bench) -> tuple[HoldPoint, ...]:
    """What was tightened and held, with who signed; nothing unsigned stands here."""
    held = []
    for group in bench.build.fastenings:
        what: Text = Sentence("{bolts} tightened by the maker's stages", bolts=group.title)
        held += [HoldPoint(what, done.by, done.witness, done.date) for done in group.done if done.date]
    for line in bench.build.lines:
        signed = line.signed
        if line.verb in ("hold", "mark") and signed is not None and signed.date is not None:
            what = line.title
            if not line.hold:
                what = Sentence("Mark brought together: {where}", where=line.name)
            held.append(HoldPoint(what, signed.by, signed.witness, signed.date))
    return tuple(sorted(held, key=lambda point: point.date))


def running(bench: Bench) -> tuple[Fact, ...]:
    """Priming, first start, what was due and done, follow-up."""
    start = bench.start
    due = [line for line in start.due if line.done]
    done = [Fact(Typed(line.what), present([_done(line), Typed(line.seen)])) for line in due]
    return (*_facts([*start.priming, *start.first]), *done, *_facts(start.follow_up))


def _facts(said: Iterable[Said]) -> list[Fact]:
    return [Fact(line.label, line.text) for line in said]


def _done(line: DueLine) -> Text:
    assert line.done is not None
    if not line.done_at:
        return Sentence("done {day}", day=line.done)
    return Sentence("done {day}, {at}", day=line.done, at=line.done_at)
