"""Where a job stands: its stage, the stay that a day belongs to, its newest day.

Comes in: the records of one job.  Goes out: a ``Stage``, a number, a date.  Nobody types a stage: it follows
from which records there are, so whoever asks for one asks here.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Protocol

from ...records import JobFolder
from ...records.checks.builtcheck import last_day
from ...records.files.jobfile import Job
from ..model.assessment import Stage

WORK_WAITS: tuple[Stage, ...] = ("decision", "machining")
STARTED: tuple[Stage, ...] = ("first start", "ready to collect", "delivery", "follow-up", "re-opened")
WORK_DONE: tuple[Stage, ...] = ("assembly", *STARTED)


def job_file(job: JobFolder) -> Job:
    """The job file of a job that is assessed at all."""
    assert job.job is not None
    return job.job


def stage(job: JobFolder) -> Stage:
    """The stage of a job, which follows from the records that exist."""
    record, running = job_file(job), job.written_running
    built = job.written_assembly
    # what ends a job stands before what it has come to, and of that the last comes first
    reached: tuple[tuple[Stage, object], ...] = (
        ("declined", record.declined),
        ("re-opened", record.reopened and not record.reopened[-1].delivered),
        ("follow-up", running.follow_up),
        ("delivery", record.delivered),
        ("ready to collect", record.ready),
        ("first start", running.first_start),
        ("assembly", built.fitted or last_day(built)),
        ("machining", job.decisions and (_ordered(job) or measured_since_decisions(job))),
        ("decision", job.decisions),
        ("inspection", job.seen or _measured(job)),
        ("teardown", job.teardown and job.teardown.steps),
    )
    return next((name for name, shown in reached if shown), "arrival")


def _measured(job: JobFolder) -> bool:
    return any(taken.begun for taken in job.rounds.values())


def _ordered(job: JobFolder) -> bool:
    """Whether anything has gone out of the house: a line with a price in it is an estimate, and no work."""
    work = job.written_work
    out = [order.sent for order in work.machining.values()]
    out += [part.ordered or part.received for part in work.orders]
    return any(out)


def measured_since_decisions(job: JobFolder) -> bool:
    """Whether a round was begun after the last decision: what comes back from the work is being measured."""
    days = [decision.date for decision in job.decisions.values()]
    return bool(days) and any(taken.begun and taken.model.date > max(days) for taken in job.rounds.values())


def newest_day(job: JobFolder) -> date:
    """The newest day in the records: what 'now' means, so that no clock is needed."""
    return max(day for day in _days(job) if day is not None)


class _Dated(Protocol):
    @property
    def date(self) -> date: ...


def _days(job: JobFolder) -> Iterator[date | None]:
    record, running, work = job_file(job), job.written_running, job.written_work
    yield from (record.opened, record.declined, record.ready, record.delivered, last_day(job.assembly))
    dated: list[_Dated | None] = [job.teardown, running.first_start, *record.approvals, *record.paid]
    dated += [*record.asked, *record.issued]
    yield from (asked.answered for asked in record.asked)
    dated += [*work.decisions.values(), *work.deviations.values(), *running.follow_up]
    yield from (entry.date for entry in dated if entry)
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
    return 1 + sum(back.date <= day for back in job_file(job).reopened)


def cured_since(job: JobFolder, day: date) -> bool:
    """Whether a stay that began on this day or later says what was done."""
    return any(stay.done and stay.date >= day for stay in job_file(job).reopened)
