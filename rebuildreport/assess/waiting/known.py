"""A job's records as they were known on a day: without what is dated later.

In: a job's records as they stand now, a day.  Out: the same of that day.  What has no date stands as it does
now: estimates and hours spent from the first day on, findings once the engine is apart.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from msgspec.structs import replace
from pydantic import BaseModel

from ...records import JobFolder
from ...records.files.folder import RoundFile

# a day on which an entry begins: before it there is none of it
BEGINS = ("date", "ordered", "from_")
# a day on which something came of an entry, with what was written beside it then
HAPPENED: dict[str, tuple[str, ...]] = {
    "declined": (),
    "ready": (),
    "delivered": ("found", "cause", "done", "next_time", "labour", "parts"),
    "consent": (),
    "consent_asked": (),
    "answered": ("answer",),
    "sent": ("promised",),
    "back": (),
    "received": ("measured",),
    "returned": (),
    "credited": (),
    "done": ("done_at", "seen"),
}
DAYS = (*BEGINS, *HAPPENED, "opened")
# days that somebody named: to come, whenever one looks; an approval names the day on which it will be ready
NAMED = ("by", "promised", "wanted", "until", "return_by", "ApprovalRecord.ready")
_FILES = ("job", "teardown", "work", "assembly", "running")


def known_on(job: JobFolder, on: date) -> JobFolder:
    """The job as its records stood on the evening of a day on which it was there."""
    if newest(job) <= on:
        return job
    files: dict[str, Any] = {name: _until(getattr(job, name), on) for name in _FILES}
    for name in ("assembly", "running"):
        if any(_days(getattr(job, name))) and not any(_days(files[name])):
            files[name] = None  # what has no date in it was not there before the first that has one
    running = files["running"]
    if running and not running.first_start and job.written_running.first_start:
        files["running"] = running = running.model_copy(update={"tables": {}})
    rounds = dict(_rounds(job, on))
    issued = replace(
        job.issued,
        issues=tuple(one for one in job.issued.issues if one.date <= on),
        sent=tuple(one for one in job.issued.sent if one.date <= on),
    )
    return replace(
        job,
        **files,
        findings=job.findings if _apart(job, on) <= on else None,
        running_cells=job.running_cells if running and running.tables else {},
        rounds=rounds,
        issued=issued,
        doubts=tuple(doubt for doubt in job.doubts if doubt.round in rounds or doubt.round not in job.rounds),
    )


def _apart(job: JobFolder, on: date) -> date:
    """Since when the engine was apart, as far as anything says."""
    rounds = job.rounds.values()
    return job.teardown.date if job.teardown else min((one.model.date for one in rounds), default=on)


def _rounds(job: JobFolder, on: date) -> Iterator[tuple[str, RoundFile]]:
    for name, taken in job.rounds.items():
        if model := _until(taken.model, on):
            cells = {table: taken.cells[table] for table in model.tables if table in taken.cells}
            yield name, replace(taken, model=model, cells=cells)


def newest(job: JobFolder) -> date:
    """The newest day on which anything was written down of a job."""
    files: list[Any] = [getattr(job, name) for name in _FILES]
    files += [taken.model for taken in job.rounds.values()]
    days = [day for file in files for day in _days(file)]
    days += [issue.date for issue in job.issued.issues]
    return max(days, default=date.min)


def _kind(record: BaseModel, name: str) -> str:
    """How a table above names a field: with its class where that says more."""
    own = f"{type(record).__name__}.{name}"
    return own if own in NAMED else name


def _days(file: BaseModel | None) -> Iterator[date]:
    """Every day of a file, but for those that somebody named."""
    left: list[Any] = [file]
    while left:
        entry = left.pop()
        if isinstance(entry, BaseModel):
            values = {name: getattr(entry, name) for name in type(entry).model_fields}
            days = {name: value for name, value in values.items() if isinstance(value, date)}
            yield from (day for name, day in days.items() if _kind(entry, name) in DAYS)
            left += values.values()
        elif isinstance(entry, (list, dict)):
            left += entry.values() if isinstance(entry, dict) else entry


def _until(entry: Any, on: date) -> Any:
    """An entry without what is later; None where it is so itself."""
    if isinstance(entry, BaseModel):
        return _record(entry, on)
    if isinstance(entry, list):
        return [known for one in entry if (known := _until(one, on)) is not None]
    if isinstance(entry, dict):
        return {key: known for key, one in entry.items() if (known := _until(one, on)) is not None}
    return entry


def _record(record: BaseModel, on: date) -> BaseModel | None:
    fields = type(record).model_fields
    changed: dict[str, Any] = {}
    gone: list[str] = []
    for name in fields:
        value, kind = getattr(record, name), _kind(record, name)
        if not isinstance(value, date):
            changed[name] = _until(value, on)
        elif value > on and kind in BEGINS:
            return None
        elif value > on and kind in HAPPENED:
            gone += [name, *(beside for beside in HAPPENED[name] if beside in fields)]
    changed |= {name: fields[name].get_default(call_default_factory=True) for name in gone}
    return record.model_copy(update=changed)
