"""The teardown register: steps, fasteners as found, identity, what was seen, what stayed closed."""

from __future__ import annotations

from ...quantities import Figure, QuantityError, Sentence, Several, parse, present
from ...records import JobFolder
from ...records.files.jobfile import Fluid, Teardown
from ...records.files.teardown import AsFound, MarkRecord, Seen
from ...trade.tightening import breakaway
from ..model.bench import MarkLine, RegisterEntry, Taken, TeardownRegister

TRUST = {
    "factory": "the maker's mark",
    "before_movement": "made here before anything moved",
    "after_movement": "made here after something had moved",
    "inferred": "inferred, no mark seen",
}
# what a mark proves, said wherever it is brought together
PROVES = {
    "factory": "shows what is right, as far as it can be read and the parts are the original ones",
    "before_movement": "a mark made on dismantling proves where it was, not that it was right",
    "after_movement": "proves where it was put after it had moved: neither what had been nor what is right",
    "inferred": "proves nothing by itself",
}
BAD = {
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
NO_PROOF = "evidence of a pattern, no proof: breakaway differs from the tightening torque by 10 to 30 %"


def register(job: JobFolder) -> TeardownRegister:
    """The whole register; empty where nothing was taken apart."""
    teardown = job.teardown
    if teardown is None:
        return TeardownRegister()
    entries = [_fasteners(one) for one in teardown.fasteners_as_found]
    for who in teardown.identity:
        text = Sentence("no mark") if who.mark == "none" else Sentence("marked {mark}", mark=who.mark)
        ours = Sentence("ours: {mark}", mark=who.shop_mark) if who.shop_mark else ""
        entries.append(
            RegisterEntry(
                "identity",
                who.part,
                present([text, ours]),
                orientation=who.orientation or "",
                joint=who.joint or "",
                photo=who.photo or "",
                finding=who.finding or "",
            )
        )
    entries += [_seen("tensioner", one) for one in teardown.tensioners]
    entries += [_seen("guide", one) for one in teardown.guides]
    entries += [_seen("seal", one) for one in teardown.seals]
    entries += [_fluid(one) for one in teardown.fluids]
    for earlier in teardown.earlier_work:
        told = f" ({earlier.told_by})" if earlier.told_by else ""
        entries.append(
            RegisterEntry("earlier work", earlier.what, told.strip(), finding=earlier.finding or "")
        )
    return TeardownRegister(
        by=teardown.by,
        date=teardown.date,
        steps=tuple(
            Taken(number, step.removed.replace("_", " "), step.note or "", tuple(step.photos))
            for number, step in enumerate(teardown.steps, 1)
        ),
        entries=tuple(entries),
        not_opened=tuple(teardown.not_opened),
        not_inspected=tuple(
            f"{one.what} ({one.why})" if one.why else one.what for one in teardown.not_inspected
        ),
    )


def mark_line(one: MarkRecord) -> MarkLine:
    """One line of the register of reference marks, with what the mark is worth."""
    return MarkLine(
        where=one.where,
        factory=one.factory or "",
        legible=one.legible,
        shop=one.shop or "",
        crank_at=one.crank_at or "",
        count=one.count or "",
        tensioner=one.tensioner or "",
        trust=one.trust,
        trust_text=Sentence(TRUST[one.trust]),
        proves=Sentence(PROVES[one.trust]),
        verify=one.verify or "",
        photo=one.photo or "",
        joint=one.joint or "",
    )


def raised(teardown: Teardown | None) -> list[str]:
    """What was found bad while taking apart, and no finding says what becomes of it.

    A seal that is not used again is in its joint's gaskets, and needs no finding.
    """
    lines: list[str] = [
        Sentence(
            "{where} as found: {what}; no finding says what becomes of it",
            where=one.where[:1].upper() + one.where[1:],
            what=Sentence("not to be used again"),
        )
        for one in ([*teardown.tensioners, *teardown.guides] if teardown else [])
        if one.replace and not one.finding
    ]
    for one in teardown.fasteners_as_found if teardown else []:
        entry = _fasteners(one)
        if (entry.bad or entry.pattern) and not one.finding:
            where = entry.where[:1].upper() + entry.where[1:]
            what = entry.condition or present(entry.pattern)
            lines.append(
                Sentence(
                    "{where} as found: {what}; no finding says what becomes of it", where=where, what=what
                )
            )
    return lines


def _fasteners(one: AsFound) -> RegisterEntry:
    condition = Sentence(BAD.get(one.condition or "", ""))
    parts = [Sentence("{count} of them", count=one.quantity) if one.quantity else "", condition]
    parts.append(Sentence("came loose at {torque}", torque=Figure(one.breakaway)) if one.breakaway else "")
    parts += [Sentence("freed: {how}", how=one.freed) if one.freed else "", one.note or ""]
    return RegisterEntry(
        "fasteners",
        one.where.replace("_", " "),
        present(parts),
        condition=condition,
        bad=bool(condition),
        pattern=tuple(_pattern(one)),
        photo=one.photo or "",
        finding=one.finding or "",
    )


def _pattern(one: AsFound) -> list[str]:
    """What the breakaway readings say together."""
    readings: dict[str, list[float]] = {}
    for place, text in one.readings.items():
        try:
            readings[place] = [parse(word, unit=one.unit).to("N·m") for word in text.split()]
        except QuantityError:
            return []  # reported at its line
    said: list[str] = [
        Sentence(
            "{place} let go at {torque} N·m where the others needed about {others} ({share} %): {worth}",
            place=found.place,
            torque=f"{found.value:.0f}",
            others=f"{found.others:.0f}",
            share=f"{100.0 * found.share:.0f}",
            worth=Sentence(NO_PROOF),
        )
        for found in breakaway.stands_out(readings)
    ]
    if len(readings) == 2 and (chance := breakaway.rows_apart(*readings.values())) is not None:
        low, high = sorted(readings, key=lambda place: max(readings[place]))
        if chance <= 0.05:
            said.append(
                Sentence(
                    "every bolt of {low} let go below every bolt of {high}; chance alone would do that once "
                    "in {times}: {worth}",
                    low=low,
                    high=high,
                    times=f"{1.0 / chance:.0f}",
                    worth=Sentence(NO_PROOF),
                )
            )
    return said


def _seen(kind: str, one: Seen) -> RegisterEntry:
    parts = [one.seen, Sentence("stood out {amount}", amount=Figure(one.stood_out)) if one.stood_out else ""]
    parts.append(Sentence("not to be used again") if one.replace else "")
    text = present(parts)
    photo, finding = one.photo or "", one.finding or ""
    if kind == "tensioner":
        return RegisterEntry("tensioner", one.where, text, bad=one.replace, photo=photo, finding=finding)
    if kind == "guide":
        return RegisterEntry("guide", one.where, text, bad=one.replace, photo=photo, finding=finding)
    return RegisterEntry("seal", one.where, text, bad=one.replace, photo=photo, finding=finding)


def _fluid(one: Fluid) -> RegisterEntry:
    amount = Figure(one.quantity) if one.quantity else ""
    return RegisterEntry("fluid", one.fluid, Several([amount, one.seen]) if amount else one.seen)
