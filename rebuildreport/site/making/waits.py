"""What each job of a shop waits for, as facts; a job whose files have errors by what is sound in it."""

from __future__ import annotations

from msgspec.structs import replace

from ...assess import Assessment, assess_job, assess_sound
from ...assess.measure.due import due_round
from ...assess.waiting.jobs import unread, waiting
from ...assess.waiting.matters import Waiting
from ...records import JobFolder, ShopFolder


def waiting_jobs(folder: ShopFolder) -> list[Waiting]:
    """Every job of the folder that was loaded, by name."""
    if folder.shop is None:
        return []
    return [_waiting(folder, job) for _, job in sorted(folder.jobs.items())]


def _waiting(folder: ShopFolder, job: JobFolder) -> Waiting:
    if job.usable:
        return waiting_of(folder, job, assess_job(folder, job))
    sound = assess_sound(folder.path, job.name)
    if sound is None:
        return without(job)
    return waiting_of(*sound)


def waiting_of(folder: ShopFolder, job: JobFolder, one: Assessment) -> Waiting:
    """Of a job that is assessed; ``one`` may come without what is due to be measured."""
    return waiting(job, replace(one, due=due_round(folder, job, one)))


def without(job: JobFolder) -> Waiting:
    """Of a job with too many errors to be assessed."""
    return unread(job, sum(one.severity == "error" for one in (*job.problems, *job.engine_problems)))
