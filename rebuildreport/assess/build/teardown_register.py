"""The teardown register: steps, fasteners as found, identity, what was seen, what stayed closed.

Comes in: teardown.yaml.  Goes out: a ``TeardownRegister``, each entry worded once for every document.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from ...quantities import NOTHING, Figure, QuantityError, Sentence, Several, Text, Typed, message, present
from ...records import JobFolder
from ...records.files.jobfile import Fluid, Teardown
from ...records.files.teardown import AsFound, Earlier, Identity, MarkRecord, Seen
from ...trade.tightening import breakaway
from ..measure.titles import titled
from ..model.bench import MarkLine, RegisterEntry, Taken, TeardownRegister
from ..model.edition import copied, signer

TRUST = message(
    {
        "factory": "the maker's mark",
        "before_movement": "made here before anything moved",
        "after_movement": "made here after something had moved",
        "inferred": "inferred, no mark seen",
    }
)
# what a mark proves, said wherever it is brought together
PROVES = message(
    {
        "factory": "shows what is right, as far as it can be read and the parts are the original ones",
        "before_movement": "a mark made on dismantling proves where it was, not that it was right",
        "after_movement": "proves where it was put after it had moved: "
        "neither what had been nor what is right",
        "inferred": "proves nothing by itself",
    }
)
BAD = message(
    {
        "loose": "loose",
        "over_tight": "over-tight",
        "stretched": "stretched",
        "broken": "broken",
        "stripped": "thread stripped",
        "wrong_class": "wrong strength class",
        "wrong_length": "wrong length",
        "repaired_thread": "thread repaired earlier",
        "corroded": "corroded",
        "missing": "missing",
    }
)
NO_PROOF = message(
    "evidence of a pattern, no proof: breakaway differs from the tightening torque by 10 to 30 %"
)
# two rows that lie apart are told where chance alone would part them less often than this (the usual 5 %)
BY_CHANCE = 0.05


def register(job: JobFolder) -> TeardownRegister:
    """The whole register; empty where nothing was taken apart."""
    teardown = job.teardown
    if teardown is None:
        return TeardownRegister()
    return TeardownRegister(
        by=signer(teardown.by),
        date=teardown.date,
        steps=tuple(
            Taken(number, titled(step.removed), step.note, tuple(step.photos))
            for number, step in enumerate(teardown.steps, 1)
        ),
        entries=(
            *(fasteners_entry(bolts) for bolts in teardown.fasteners_as_found),
            *(identity_entry(part) for part in teardown.identity),
            *_seen("tensioner", teardown.tensioners),
            *_seen("guide", teardown.guides),
            *_seen("seal", teardown.seals),
            *(_fluid(fluid) for fluid in teardown.fluids),
            *(_earlier(work) for work in teardown.earlier_work),
        ),
        not_opened=tuple(teardown.not_opened),
        not_inspected=tuple(
            Typed(f"{unseen.what} ({unseen.why})" if unseen.why else unseen.what)
            for unseen in teardown.not_inspected
        ),
    )


def mark_line(mark: MarkRecord) -> MarkLine:
    """One line of the register of reference marks, with what the mark is worth."""
    if mark.factory == "none":  # where there is no mark none is illegible
        mark = mark.model_copy(update={"legible": None})
    return copied(MarkLine, mark, trust_text=Sentence(TRUST[mark.trust]), proves=Sentence(PROVES[mark.trust]))


def raised(teardown: Teardown | None) -> Iterator[Text]:
    """What was found bad while taking apart, and no finding says what becomes of it.

    A seal that is not used again is in its joint's gaskets, and needs no finding.
    """
    if teardown is None:
        return
    words = message("{where} as found: {what}; no finding says what becomes of it")
    for seen in (*teardown.tensioners, *teardown.guides):
        if seen.replace and not seen.finding:
            yield Sentence(words, where=titled(seen.where), what=Sentence("not to be used again"))
    for bolts in teardown.fasteners_as_found:
        entry = fasteners_entry(bolts)
        if (entry.bad or entry.pattern) and not bolts.finding:
            what = entry.condition or present(entry.pattern)
            yield Sentence(words, where=titled(bolts.where), what=what)


def fasteners_entry(bolts: AsFound) -> RegisterEntry:
    """A group of bolts as they were found; nothing is said where only their breakaway was read."""
    bad = BAD.get(bolts.condition or "")
    condition: Text = Sentence(bad) if bad else NOTHING
    parts = [
        Sentence("{count} of them", count=bolts.quantity) if bolts.quantity else NOTHING,
        Sentence("nothing wrong with them") if bolts.condition == "fine" else condition,
        Sentence("came loose at {torque}", torque=Figure(bolts.breakaway)) if bolts.breakaway else NOTHING,
        Sentence("freed: {how}", how=bolts.freed) if bolts.freed else NOTHING,
        Typed(bolts.note),
    ]
    return RegisterEntry(
        "fasteners",
        bolts.where.replace("_", " "),
        present(parts),
        condition=condition,
        bad=bad is not None,
        pattern=tuple(_pattern(bolts)),
        photo=bolts.photo,
        finding=bolts.finding,
    )


def identity_entry(part: Identity) -> RegisterEntry:
    """Which part was which, by the mark found on it and by ours."""
    found: Text = Sentence("no mark")
    if part.mark != "none":
        found = Sentence("marked {mark}", mark=part.mark)
    ours = Sentence("ours: {mark}", mark=part.shop_mark) if part.shop_mark else NOTHING
    text = present([Several(part.positions), found, ours])
    return copied(RegisterEntry, part, kind="identity", where=part.part, text=text)


def _pattern(bolts: AsFound) -> Iterator[Text]:
    """What the breakaway readings say together."""
    try:
        readings = {place: [read.to("N·m") for read in torques] for place, torques in bolts.torques.items()}
    except QuantityError:
        return  # reported at its line
    for odd in breakaway.stands_out(readings):
        yield Sentence(
            "{place} let go at {torque} N·m where the others needed about {others} ({share} %): {worth}",
            place=odd.place,
            torque=f"{odd.value:.0f}",
            others=f"{odd.others:.0f}",
            share=f"{100.0 * odd.share:.0f}",
            worth=Sentence(NO_PROOF),
        )
    chance = breakaway.rows_apart(*readings.values()) if len(readings) == 2 else None
    if chance is not None and chance <= BY_CHANCE:
        low, high = sorted(readings, key=lambda place: max(readings[place]))
        yield Sentence(
            "every bolt of {low} let go below every bolt of {high}; chance alone would do that once "
            "in {times}: {worth}",
            low=low,
            high=high,
            times=f"{1.0 / chance:.0f}",
            worth=Sentence(NO_PROOF),
        )


def _seen(kind: Literal["tensioner", "guide", "seal"], entries: Sequence[Seen]) -> Iterator[RegisterEntry]:
    for seen in entries:
        out = Sentence("stood out {amount}", amount=Figure(seen.stood_out)) if seen.stood_out else NOTHING
        never = Sentence("not to be used again") if seen.replace else NOTHING
        yield RegisterEntry(
            kind,
            seen.where,
            present([Typed(seen.seen), out, never]),
            bad=seen.replace,
            photo=seen.photo,
            finding=seen.finding,
        )


def _fluid(fluid: Fluid) -> RegisterEntry:
    amount = Figure(fluid.quantity) if fluid.quantity else NOTHING
    return RegisterEntry("fluid", fluid.fluid, present([amount, Typed(fluid.seen)], ", "))


def _earlier(work: Earlier) -> RegisterEntry:
    told = Typed(f"({work.told_by})") if work.told_by else NOTHING
    return RegisterEntry("earlier work", work.what, told, finding=work.finding)
