"""The bench's records as the report's short facts: register, marks, what was held, first start."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from .built import Bench, Said
from .model import Fact, HoldPoint

_KINDS = {
    "fasteners": "Fasteners as found, {}",
    "tensioner": "Tensioner, {}",
    "guide": "Guide, {}",
    "seal": "Seal, {}",
    "fluid": "Found inside, {}",
    "earlier work": "Earlier work",
}


def teardown(bench: Bench, pictures: Mapping[str, int]) -> tuple[Fact, ...]:
    """Steps as done, fasteners, identity, what was seen.  ``pictures``: number of each photo as printed."""
    register = bench.register
    facts = []
    if register.steps:
        facts.append(Fact("Taken off in this order", ", ".join(step.title for step in register.steps)))
    for one in bench.register.entries:
        if one.kind == "identity":
            facts.append(Fact(_capital(one.where), _joined([one.text, one.orientation])))
        elif one.kind == "earlier work":
            facts.append(Fact(_KINDS[one.kind], f"{one.where} {one.text}".strip()))
        else:
            facts.append(Fact(_KINDS[one.kind].format(one.where), _joined([one.text, *one.pattern])))
    for step in register.steps:
        seen = [f"picture {pictures[photo]}" for photo in step.photos if pictures.get(photo)]
        if step.note or seen:
            facts.append(Fact(f"{_capital(step.title)} off", _joined([step.note, *seen])))
    return tuple(facts)


def marks(bench: Bench) -> tuple[Fact, ...]:
    """The register of reference marks; what a mark made here proves is said with it."""
    facts = []
    for one in bench.build.marks:
        parts = [f"the maker's: {one.factory}" if one.factory else ""]
        parts.append("not legible beyond doubt" if one.legible is False else "")
        parts += [f"ours: {one.shop}" if one.shop else "", one.count]
        parts.append(f"crank at {one.crank_at}" if one.crank_at else "")
        parts.append(f"tensioner stood out {one.tensioner}" if one.tensioner else "")
        parts.append(f"{one.trust_text}: {one.proves}" if one.trust != "factory" else one.trust_text)
        parts.append(f"to be proved by {one.verify}" if one.verify and not one.verified else "")
        parts.append(f"proved right: {one.verified}" if one.verified else "")
        facts.append(Fact(_capital(one.where), _joined(parts)))
    return tuple(facts)


def hold_points(bench: Bench) -> tuple[HoldPoint, ...]:
    """What was tightened and held, with who signed; nothing unsigned stands here."""
    held = []
    for group in bench.build.fastenings:
        held += [
            HoldPoint(f"{group.title} tightened by the maker's stages", one.by, one.witness, one.date)
            for one in group.done
            if one.date
        ]
    for line in bench.build.lines:
        signed = line.signed
        if line.verb in ("hold", "mark") and signed is not None and signed.date is not None:
            what = line.title if line.hold else f"Mark brought together: {line.name}"
            held.append(HoldPoint(what, signed.by, signed.witness, signed.date))
    return tuple(sorted(held, key=lambda one: one.date))


def running(bench: Bench) -> tuple[Fact, ...]:
    """Priming, first start, what was due and done, follow-up."""
    start = bench.start
    facts = _facts([*start.priming, *start.first])
    for one in start.due:
        if one.done:
            when = f"{one.done.isoformat()}" + (f", {one.done_at}" if one.done_at else "")
            facts.append(Fact(_capital(one.what), _joined([f"done {when}", one.seen])))
    return (*facts, *_facts(start.follow_up))


def _facts(said: Iterable[Said]) -> list[Fact]:
    return [Fact(one.label, one.text) for one in said]


def _joined(parts: Iterable[str]) -> str:
    return "; ".join(part for part in parts if part)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
