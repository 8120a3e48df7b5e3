"""Page one: engine, complaint, what we found, what we did or advise, cost, what we need; the summary."""

from __future__ import annotations

from ..assess.model import Assessment, IssueNote
from ..quantities import show
from ..quantities.dataclass import dataclass
from .drawings import MARKS, Drawing
from .words import (
    NBSP,
    NUMBERS,
    SLUGS,
    capital,
    count,
    day,
    joined,
    money,
    plain,
    stop,
)


@dataclass(frozen=True, slots=True)
class Verdict:
    """A verdict as printed: its mark and its word, and the side where it matters."""

    name: str
    text: str
    slug: str
    mark: Drawing
    strong: bool


def verdict(name: str, side: str = "") -> Verdict:
    known = name if name in MARKS else "not measured"
    said = f"{known}, {side}" if side and known in ("beyond limit", "too close to call") else known
    return Verdict(known, said, SLUGS[known], MARKS[known], known == "beyond limit")


@dataclass(frozen=True, slots=True)
class CostLine:
    """The cost on page one: an amount where there is one, and what to know of it."""

    amount: str
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Answers:
    title: str
    engine: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    found: str
    did_title: str
    did: str
    cost: CostLine | None
    needs: tuple[str, ...]
    warnings: tuple[str, ...]


def arranged(arrangement: str, cylinders: int) -> str:
    """How an engine is built, as people say it.

    >>> [arranged(*one) for one in (("inline", 6), ("V", 2), ("V", 8), ("flat", 4), ("single", 1), ("", 3))]
    ['inline six', 'V-twin', 'V8', 'flat four', 'single cylinder', 'three cylinders']
    """
    if cylinders == 1:
        return "single cylinder"
    if not 1 < cylinders < len(NUMBERS):
        return arrangement
    if arrangement.lower() == "v":
        return "V-twin" if cylinders == 2 else f"V{cylinders}"
    if not arrangement:
        return f"{NUMBERS[cylinders]} cylinders"
    return f"{arrangement} {'twin' if cylinders == 2 else NUMBERS[cylinders]}"


def engine_lines(one: Assessment, with_meter: bool = True) -> tuple[str, ...]:
    """'Tarnbeck OD6-54, inline six, diesel' and '98.0 x 120.0 mm, 5431 cm³, 9412 h'."""
    engine = one.engine
    built = arranged(engine.arrangement, engine.cylinders)
    first = ", ".join(part for part in (engine.full_name, built, engine.fuel) if part)
    sizes: list[str] = []
    if engine.bore is not None and engine.stroke is not None:
        bore = show(engine.bore, "mm", engine.bore_decimals, one.system)
        stroke = show(engine.stroke, "mm", engine.stroke_decimals, one.system)
        sizes.append(f"{bore.text} × {stroke.text}{NBSP}{bore.unit_text}")
    if engine.displacement is not None:
        sizes.append(show(engine.displacement, "cm³", 0, one.system).both)
    if with_meter and one.meter:
        sizes.append(one.meter.replace(" ", NBSP))
    return (first, ", ".join(sizes)) if sizes else (first,)


def answers(one: Assessment, public: bool) -> Answers:
    """What a customer wants to know first; what is not known yet is said, not left out."""
    facts: list[tuple[str, str]] = []
    if one.application:
        facts.append(("Out of", one.application))
    facts.append(("Complaint", one.complaint or "none was given"))
    facts.append(("Dates", capital(", ".join(_dates(one)))))
    if one.issue is not None and one.issue.number is not None:
        facts.append(("Issue", issue_line(one.issue)))
    if one.not_with:
        facts.append(("Not with the engine", f"{capital(joined(one.not_with))}: not looked at"))
    measured = any(c.value is not None for c in one.characteristics)
    found = one.found
    if not found:
        if one.findings:
            listed = joined(finding.title for finding in one.findings[:4])
            found = f"Seen so far: {listed}."
        else:
            found = "Nothing has been found yet: the engine has not been taken apart."
    if not measured:
        found = f"{stop(found)} Nothing is measured yet, so nothing is said here about wear."
    did = one.did or "Nothing is decided yet."
    warnings: list[str] = []
    if one.deviations:
        named = joined(f"{d.id}: {d.feature_title} {joined(d.positions)}, {d.what}" for d in one.deviations)
        warnings.append(f"Used although not surely inside a limit, accepted and signed: {stop(named)}")
    return Answers(
        title=one.title,
        engine=engine_lines(one),
        facts=tuple(facts),
        found=found,
        did_title="What we did" if one.did_is_done else "What we advise",
        did=did,
        cost=None if public else _cost(one),
        needs=() if public else one.needs_from_customer,
        warnings=tuple(warnings),
    )


def issue_line(note: IssueNote) -> str:
    """The issue that a document is, or that came before it."""
    stay = f", stay {note.spell} in the shop" if note.spell > 1 else ""
    if note.later:
        return f"none yet: the records have changed since issue {note.number} of {day(note.date)}"
    changed = count(len(note.changed), "change")
    more = f"; {changed} since the one before, in the annex" if note.changed else ""
    return f"No.{NBSP}{note.number} of {day(note.date)}{stay}{more}"


def _dates(one: Assessment) -> list[str]:
    """Opened, ready, delivered; a year is said once where it is the same."""
    known = [
        (w, d) for w, d in (("opened", one.opened), ("ready", one.ready), ("delivered", one.delivered)) if d
    ]
    if not (one.ready or one.delivered):
        known.append((f"{one.stage} as of", one.as_of))
    years = {d.year for _, d in known}
    return [f"{word} {day(d, len(years) > 1 or i == len(known) - 1)}" for i, (word, d) in enumerate(known)]


def _cost(one: Assessment) -> CostLine:
    cost = one.cost
    if not cost.lines:
        return CostLine("", ("No estimate yet.",))
    unit = cost.currency
    amount = f"{money(cost.total, cost.digits)}{NBSP}{unit}"
    notes: list[str] = []
    if cost.tax_rate is not None:
        notes.append(f"with {plain(cost.tax_rate)}{NBSP}% tax")
    if cost.minimum:
        amount = f"at least {amount}"
        notes.append(f"{count(len(cost.not_priced), 'line')} not priced yet")
    if cost.approvals:
        last = cost.approvals[-1]
        notes.append(f"approved up to {money(last.limit, cost.digits)} on {day(last.date)}")
    else:
        notes.append("not approved yet")
    if cost.over_by is not None and cost.over_by > 0:
        notes.append(f"{money(cost.over_by)} above what was approved")
    text = [stop(capital("; ".join(notes)))]
    if cost.first_estimate is not None:
        text.append(f"First estimate {money(cost.first_estimate)}.")
    return CostLine(amount, tuple(text))
