"""The bench's records as short facts: what a mark is worth, what was held, first start.

Comes in: a ``Bench``.  Goes out: ``Fact``s and ``HoldPoint``s.  Knows neither files nor readings.
"""

from __future__ import annotations

from collections.abc import Iterable

from ...quantities import NOTHING, Figure, Sentence, Text, Typed, present
from ..model.assessment import Fact, HoldPoint
from ..model.bench import Bench, MarkLine, Said


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
    """Priming, first start, follow-up; what was due stands in a list of its own, done or not."""
    start = bench.start
    return tuple(_facts([*start.priming, *start.first, *start.follow_up]))


def _facts(said: Iterable[Said]) -> list[Fact]:
    return [Fact(line.label, line.text) for line in said]
