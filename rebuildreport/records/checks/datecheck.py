"""Days of a job that cannot be in this order: each is a question, none changes a value."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from ..files.assembly import Assembly
from ..files.jobfile import Job
from ..files.sheet import Engine
from ..text.meters import meter_reading
from ..text.notes import Notes, values_at
from ..text.reader import Where

if TYPE_CHECKING:
    from ..files.folder import JobFolder

Question = tuple[str, Where, str]  # file, place, what is odd


def check_dates(job: JobFolder, engine: Engine | None, notes: dict[str, Notes]) -> None:
    """A warning at every day that lies before one that must have been first."""
    if job.job is None:
        return
    for file, where, message in (
        *_year(job, job.job),
        *_before_opened(job, job.job),
        *_asked(job.job),
        *_work(job, job.job),
        *_together(job, engine),
        *_running(job, job.job),
        *_returned(job, job.job),
    ):
        notes[file].warn(where, message)


# days that cannot lie before the one on which the job was opened
SINCE_OPENED = {
    "teardown": ("date",),
    "work": ("decisions.*.date", "deviations.*.date"),
    "assembly": ("tightened.*.date",),
    "running": ("priming.date", "first_start.date"),
    "job": ("approvals.*.date",),
}


OLDEST = 1860  # engines that burn inside were first sold in that year (MEMORY)
LONGEST = 4  # years that one stay of an engine takes, and somebody still measures it (common practice)


def _year(job: JobFolder, record: Job) -> Iterator[Question]:
    """A year that is not the job's own: of the number it goes by, or of all its other days."""
    number = re.match(r"((?:19|20|21)\d\d)\D", job.name)
    if number and abs(record.opened.year - int(number[1])) > 1:
        yield "job", ("opened",), f"opened on {record.opened}, and the job's number is of {number[1]}"
    built = record.arrival.built
    if built is not None and not OLDEST <= built <= record.opened.year:
        yield "job", ("arrival", "built"), f"{built} is no year in which an engine was built that came here"
    for file, where, day in _days(job):
        if day.year - record.opened.year > LONGEST:
            yield file, where, f"{day} lies years after the job was opened ({record.opened})"


def _days(job: JobFolder) -> Iterator[tuple[str, Where, date]]:
    for file, paths in SINCE_OPENED.items():
        for where, day in (found for path in paths for found in values_at(getattr(job, file), path)):
            if isinstance(day, date):
                yield file, where, day


def _before_opened(job: JobFolder, record: Job) -> Iterator[Question]:
    """Nothing of a job is older than the day on which it was opened: where all is, that day is wrong."""
    days = list(_days(job))
    early = [(file, where, day) for file, where, day in days if day < record.opened]
    if len(early) == len(days) > 2:
        first = min(day for _, _, day in days)
        yield (
            "job",
            ("opened",),
            f"opened on {record.opened}, and everything was done before, from {first} on",
        )
        return
    for file, where, day in early:
        yield file, where, f"{day} lies before the job was opened ({record.opened})"


def _asked(record: Job) -> Iterator[Question]:
    """Nobody answers before he was asked."""
    for i, asked in enumerate(record.asked):
        if asked.answered and asked.answered < asked.date:
            yield "job", ("asked", i, "answered"), f"answered on {asked.answered}, asked on {asked.date}"
    if record.consent and record.consent_asked and record.consent < record.consent_asked:
        yield "job", ("consent",), f"given on {record.consent}, asked for on {record.consent_asked}"


def _work(job: JobFolder, record: Job) -> Iterator[Question]:
    """Nothing goes to a machine shop before anybody has approved anything."""
    first = min((one.date for one in record.approvals), default=None)
    for key, order in job.written_work.machining.items():
        if order.sent and first and order.sent < first:
            where = ("machining", key, "sent")
            yield "work", where, f"sent on {order.sent}, before the first approval ({first})"
        if order.back and (order.sent is None or order.back < order.sent):
            sent = f"before it was sent ({order.sent})" if order.sent else "and no day says when it was sent"
            yield "work", ("machining", key, "back"), f"came back on {order.back}, {sent}"


def _together(job: JobFolder, engine: Engine | None) -> Iterator[Question]:
    """It comes apart before it goes together, and nobody goes past a hold point before it is signed."""
    built = job.assembly
    if built is None:
        return
    apart = job.teardown.date if job.teardown else None
    for i, one in enumerate(built.tightened):
        if apart and one.date < apart:
            yield "assembly", ("tightened", i, "date"), f"{one.date} lies before it came apart ({apart})"
    start = job.written_running.first_start
    later = _pages_behind(engine, built) if engine else {}
    for i, hold in enumerate(built.hold_points):
        where: Where = ("hold_points", i, "date")
        if start and hold.date > start.date:
            yield "assembly", where, f"signed on {hold.date}, after the first start ({start.date})"
        elif hold.what in later and later[hold.what][1] < hold.date:
            page, day = later[hold.what]
            yield (
                "assembly",
                where,
                f"signed on {hold.date}, after the page '{page}' that it holds up ({day})",
            )


def _pages_behind(engine: Engine, built: Assembly) -> dict[str, tuple[str, date]]:
    """For each hold point of the sheet the first page behind it that was put together, and its day."""
    found: dict[str, tuple[str, date]] = {}
    waiting: list[str] = []
    for name, page in engine.assemblies.items():
        signed = built.pages.get(name)
        if signed:
            for hold in waiting:
                if hold not in found or signed.date < found[hold][1]:
                    found[hold] = (name, signed.date)
        waiting += [step.name for step in page.steps if step.verb == "hold"]
    return found


def _running(job: JobFolder, record: Job) -> Iterator[Question]:
    """It runs before it leaves; it is looked at again, and under warranty, when it has left."""
    running, left = job.written_running, record.delivered
    cover, start = running.warranty, running.first_start
    if left and start and start.date > left:
        yield "running", ("first_start", "date"), f"{start.date} lies after delivery ({left})"
    for i, seen in enumerate(running.follow_up):
        if left and seen.date < left:
            yield "running", ("follow_up", i, "date"), f"{seen.date} lies before delivery ({left})"
    if cover and left and cover.from_ < left:
        yield "running", ("warranty", "from"), f"begins on {cover.from_}, before delivery ({left})"
    if cover and _less(cover.meter_until, cover.meter_from):
        words = f"'{cover.meter_until}' is less than where it begins ('{cover.meter_from}')"
        yield "running", ("warranty", "meter_until"), words


def _returned(job: JobFolder, record: Job) -> Iterator[Question]:
    """An engine comes back with no fewer hours, and under warranty where the shop bears the cost."""
    cover = job.written_running.warranty
    meter = record.arrival.meter
    for i, back in enumerate(record.reopened):
        if cover and cover.until and back.date > cover.until and back.charged_to == "shop":
            words = f"came back on {back.date}, after the warranty ({cover.until}): on the shop all the same?"
            yield "job", ("reopened", i, "charged_to"), words
        if _less(back.meter, meter):
            words = f"'{back.meter}' is less than before ('{meter}'): typed right, or another meter?"
            yield "job", ("reopened", i, "meter"), words
        meter = back.meter or meter


def _less(now: str | None, before: str | None) -> bool:
    """Whether a meter as typed shows less than another in the same unit: '142 300 km', '9,412.5 h'."""
    one, other = meter_reading(now), meter_reading(before)
    return one is not None and other is not None and one.unit == other.unit and one.value < other.value
