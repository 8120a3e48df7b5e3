"""Page one: engine, complaint, what we found, what we did or advise, cost, what we need.

In: an Assessment.  Out: its answers as text, and a verdict as it is printed everywhere.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...assess.build.bench_record import gone_past
from ...assess.model.assessment import Assessment, Cost, IssueNote
from ...assess.money.asking import asked_of_customer
from ...quantities import message
from ..press.codes import STAGES
from ..press.enginewords import engine_lines
from ..press.language import opening, say, told
from ..press.words import NBSP, capital, day, figure, joined, money, plain, stop


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


def answers(job: Assessment, public: bool) -> Answers:
    """What a customer wants to know first; what is not known yet is said, not left out."""
    return Answers(
        title=job.title,
        engine=engine_lines(job),
        facts=tuple(_facts(job)),
        found=_found(job),
        did_title=say("What we did") if job.did_is_done else say("What we advise"),
        did=stop(opening(job.did)) or say("Nothing is decided yet."),
        cost=None if public else _cost(job.cost),
        needs=() if public else tuple(map(told, asked_of_customer(job))),
        warnings=tuple(_warnings(job)),
    )


def _facts(job: Assessment) -> Iterator[tuple[str, str]]:
    if job.application:
        yield say("Out of"), job.application
    yield say("Complaint"), job.complaint or say("none was given")
    yield say("Dates"), capital(", ".join(_dates(job)))
    if job.issue is not None and job.issue.number is not None:
        yield say("Issue"), issue_line(job.issue)
    if job.not_with:
        yield say("Not with the engine"), say("{what}: not looked at", what=joined(job.not_with))


def _found(job: Assessment) -> str:
    """What was found, as written; else the headings of the findings, or that there is none yet."""
    found = told(job.found)
    if not found and job.findings:
        listed = joined(told(finding.title) for finding in job.findings[:4])
        found = say("Seen so far: {what}.", what=listed)
    elif not found:
        found = say("Nothing has been found yet: the engine has not been taken apart.")
    if any(c.value is not None for c in job.characteristics):
        return found
    return f"{stop(found)} {say('Nothing is measured yet, so nothing is said here about wear.')}"


def _warnings(job: Assessment) -> Iterator[str]:
    """What was used or put together otherwise than it should be."""
    if job.deviations:
        named = joined(
            f"{d.id}: {told(d.feature_title)} {joined(d.positions)}, {told(d.what)}" for d in job.deviations
        )
        words = message("Used although not surely inside a limit, accepted and signed: {what}")
        yield say(words, what=stop(named))
    if job.bench.build.departures:
        named = joined(f"{d.id}: {d.what}" for d in job.bench.build.departures)
        yield say("Put together otherwise than the sheet says, and signed: {what}", what=stop(named))
    for text in gone_past(job):
        yield stop(opening(text))


def issue_line(note: IssueNote) -> str:
    """The issue that a document is, or that came before it."""
    if note.later:
        words = message("none yet: the records have changed since issue {number} of {day}")
        return say(words, number=note.number, day=day(note.date))
    said = [say("No.\u00a0{number} of {day}", number=note.number, day=day(note.date))]
    if not note.frozen("report"):
        said[0] += f" ({say(note.document)})"
    if note.spell > 1:
        said[0] += say(", stay {number} in the shop", number=note.spell)
    if len(note.changed) == 1:
        said.append(say("one change since the one before, in the annex"))
    elif note.changed:
        many = figure(len(note.changed))
        said.append(say("{count} changes since the one before, in the annex", count=many))
    return "; ".join(said)


def _dates(job: Assessment) -> list[str]:
    """Opened, ready, delivered, came back; a year is said once where it is the same."""
    milestones = (
        (say("opened"), job.opened),
        (say("ready"), job.ready),
        (say("delivered"), job.delivered),
    )
    known = [(word, when) for word, when in milestones if when]
    for stay in job.spells[1:]:
        known.append((say("came back"), stay.start))
        if stay.end:
            known.append((say("delivered again"), stay.end))
    if not (job.ready or job.delivered):
        known.append((say("{stage} as of", stage=say(STAGES[job.stage])), job.as_of))
    several = len({when.year for _, when in known}) > 1
    last = len(known) - 1
    return [f"{word} {day(when, several or i == last)}" for i, (word, when) in enumerate(known)]


def _cost(cost: Cost) -> CostLine:
    if not cost.lines:
        return CostLine("", (say("No estimate yet."),))
    amount = f"{money(cost.total, cost.digits)}{NBSP}{cost.currency}"
    notes: list[str] = []
    if cost.tax_rate is not None:
        notes.append(say("with {rate}\u00a0% tax", rate=plain(cost.tax_rate)))
    if cost.minimum:
        amount = say("at least {total}", total=amount)
        lines = len(cost.not_priced)
        words = message("one line not priced yet" if lines == 1 else "{count} lines not priced yet")
        notes.append(say(words, count=figure(lines)))
    if cost.approvals:
        last = cost.approvals[-1]
        limit = money(last.limit, cost.digits)
        notes.append(say("approved up to {limit} on {day}", limit=limit, day=day(last.date)))
    else:
        notes.append(say("not approved yet"))
    if cost.over_by is not None and cost.over_by > 0:
        notes.append(say("{over} above what was approved", over=money(cost.over_by, cost.digits)))
    text = [stop(capital("; ".join(notes)))]
    if cost.first_estimate is not None:
        first = money(cost.first_estimate, cost.digits)
        text.append(say("First estimate {total}.", total=first))
    return CostLine(amount, tuple(text))
