"""Where a job stands: its stage, the stay that a day belongs to, its newest day.

Comes in: the records of one job.  Goes out: a ``Stage``, a number, a date.  Nobody types a stage: it follows
from which records there are, so whoever asks for one asks here.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ...records import JobFolder
from ...records.checks.builtcheck import last_day
from ..model.assessment import Stage

RUNNING: tuple[Stage, ...] = ("first start", "ready to collect", "delivery", "follow-up")
STARTED: tuple[Stage, ...] = (*RUNNING, "re-opened")
WORK_DONE: tuple[Stage, ...] = ("assembly", *STARTED)


def stage(job: JobFolder) -> Stage:
    """The stage of a job, which follows from the records that exist."""
    record, running, built, work = job.record, job.written_running, job.written_assembly, job.written_work
    # whether anything has gone out of the house: a line with a price in it is an estimate, and no work
    out = [order.sent for order in work.machining.values()]
    out += [part.ordered or part.received for part in work.orders]
    # what ends a job stands before what it has come to, and of that the last comes first
    reached: tuple[tuple[Stage, object], ...] = (
        ("declined", record.declined),
        ("re-opened", record.reopened and not record.reopened[-1].delivered),
        ("follow-up", running.follow_up),
        ("delivery", record.delivered),
        ("ready to collect", record.ready),
        ("first start", running.first_start),
        ("assembly", built.fitted or last_day(built)),
        ("machining", job.decisions and (any(out) or measured_since_decisions(job))),
        ("decision", job.decisions),
        ("inspection", job.seen or any(taken.begun for taken in job.rounds.values())),
        ("teardown", job.teardown and job.teardown.steps),
    )
    return next((name for name, shown in reached if shown), "arrival")


def measured_since_decisions(job: JobFolder) -> bool:
    """Whether a round was begun after the last decision: what comes back from the work is being measured."""
    days = [decision.date for decision in job.decisions.values()]
    return bool(days) and any(taken.begun and taken.model.date > max(days) for taken in job.rounds.values())


def newest_day(job: JobFolder) -> date:
    """The newest day in the records: what 'now' means, so that no clock is needed."""
    return max(day for day in _days(job) if day is not None)


def _days(job: JobFolder) -> Iterator[date | None]:
    record, running, work = job.record, job.written_running, job.written_work
    yield from (record.opened, record.declined, record.ready, record.delivered, last_day(job.assembly))
    for one in (job.teardown, running.first_start):
        yield one.date if one else None
    yield from (approved.date for approved in record.approvals)
    yield from (paid.date for paid in record.paid)
    yield from (issue.date for issue in record.issued)
    yield from (decision.date for decision in work.decisions.values())
    yield from (deviation.date for deviation in work.deviations.values())
    yield from (seen.date for seen in running.follow_up)
    for asked in record.asked:
        yield from (asked.date, asked.answered)
    yield from (taken.model.date for taken in job.rounds.values() if taken.begun)
    yield from (due.done for due in running.due)
    for order in work.machining.values():
        yield from (order.sent, order.back)
    for part in work.orders:
        yield from (part.ordered, part.received, part.returned, part.credited)
    for stay in record.reopened:
        yield from (stay.date, stay.delivered)


def stay_on(job: JobFolder, day: date) -> int:
    """The stay that a day belongs to: 1 until the engine first came back, then one more each time."""
    return 1 + sum(back.date <= day for back in job.record.reopened)


def cured_since(job: JobFolder, day: date) -> bool:
    """Whether a stay that began on this day or later says what was done."""
    return any(stay.done and stay.date >= day for stay in job.record.reopened)
