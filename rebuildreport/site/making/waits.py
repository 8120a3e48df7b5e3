"""What each job of a shop waits for, as facts; a job whose files have errors by what is sound in it."""

from __future__ import annotations

from datetime import date

from msgspec.structs import replace

from ...assess import Assessment, assess_job, assess_sound
from ...assess.measure.due import due_round
from ...assess.waiting.jobs import unread, waiting
from ...assess.waiting.known import known_on, newest
from ...assess.waiting.matters import Waiting
from ...records import JobFolder, ShopFolder


def waiting_jobs(folder: ShopFolder, on: date = date.max) -> list[Waiting]:
    """Every job of the folder that was loaded, by name, as it was known on a day."""
    if folder.shop is None:
        return []
    return [_waiting(folder, job, on) for _, job in sorted(folder.jobs.items())]


def _waiting(folder: ShopFolder, job: JobFolder, on: date) -> Waiting:
    if job.usable:
        return _known(folder, job, on)
    sound = assess_sound(folder.path, job.name)
    if sound is None:
        return without(job)
    folder, job, one = sound
    return waiting_of(folder, job, one) if newest(job) <= on else _known(folder, job, on)


def _known(folder: ShopFolder, job: JobFolder, on: date) -> Waiting:
    """With the newest day of its files beside what was known: whether anything is left out."""
    there = job.job is not None and job.job.opened <= on
    known = known_on(job, on) if there else job
    return replace(waiting_of(folder, known, assess_job(folder, known)), newest=newest(job))


def waiting_of(folder: ShopFolder, job: JobFolder, one: Assessment) -> Waiting:
    """Of a job that is assessed; ``one`` may come without what is due to be measured."""
    return waiting(job, replace(one, due=due_round(folder, job, one)))


def without(job: JobFolder) -> Waiting:
    """Of a job with too many errors to be assessed."""
    return unread(job, sum(one.severity == "error" for one in (*job.problems, *job.engine_problems)))
