"""Days of a job that cannot be in this order: each is a question, none changes a value."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from ..files.assembly import Assembly
from ..files.folder import JobFolder
from ..files.jobfile import Job
from ..files.sheet import Engine
from ..text.meters import meter_reading
from ..text.notes import Notes, values_at
from ..text.reader import Where

Question = tuple[str, Where, str]  # file, place, what is odd
START, LEFT, SENT = "running first_start.date", "job delivered", "work machining.*.sent"
# file and place of a day, on which side of another it cannot lie, where that stands, what is odd; of several
# other days the first, of an entry that has both its own
ORDERS = (
    ("job asked.*.answered", "before", "job asked.*.date", "answered on {day}, asked on {other}"),
    ("job consent", "before", "job consent_asked", "given on {day}, asked for on {other}"),
    (SENT, "before", "job approvals.*.date", "sent on {day}, before the first approval ({other})"),
    ("work machining.*.back", "before", SENT, "came back on {day}, before it was sent ({other})"),
    ("assembly tightened.*.date", "before", "teardown date", "{day} lies before it came apart ({other})"),
    ("assembly hold_points.*.date", "after", START, "signed on {day}, after the first start ({other})"),
    ("running priming.date", "after", START, "primed on {day}, after the first start ({other})"),
    ("running due.*.done", "before", START, "{day} lies before the first start ({other})"),
    (START, "after", LEFT, "{day} lies after delivery ({other})"),
    ("running follow_up.*.date", "before", LEFT, "{day} lies before delivery ({other})"),
    ("running warranty.from", "before", LEFT, "begins on {day}, before delivery ({other})"),
)


def check_dates(job: JobFolder, engine: Engine | None, notes: dict[str, Notes]) -> None:
    """A warning at every day that lies before one that must have been first."""
    if job.job is None:
        return
    for file, where, message in (
        *_year(job, job.job),
        *_before_opened(job, job.job),
        *_out_of_order(job),
        *_past_hold_points(job, engine),
        *_returned(job, job.job),
    ):
        notes[file].warn(where, message)


def _out_of_order(job: JobFolder) -> Iterator[Question]:
    for at, side, other_at, words in ORDERS:
        (file, path), (other_file, other_path) = at.split(), other_at.split()
        others = [*values_at(getattr(job, other_file), other_path)]
        # of an entry that has both days its own two are held against each other
        own = at.rpartition(".")[0] == other_at.rpartition(".")[0] != ""
        for where, day in values_at(getattr(job, file), path):
            days = [one for place, one in others if not own or place[:-1] == where[:-1]]
            other = min((one for one in days if isinstance(one, date)), default=None)
            if other is None or not isinstance(day, date):
                continue
            if (day < other) if side == "before" else (day > other):
                yield file, where, words.format(day=day, other=other)
    for key, order in job.written_work.machining.items():
        if order.back and order.sent is None:
            yield (
                "work",
                ("machining", key, "back"),
                f"came back on {order.back}, and no day says when it was sent",
            )


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
        words = f"opened on {record.opened}, and everything was done before, from {first} on"
        yield "job", ("opened",), words
        return
    for file, where, day in early:
        yield file, where, f"{day} lies before the job was opened ({record.opened})"


def _past_hold_points(job: JobFolder, engine: Engine | None) -> Iterator[Question]:
    """Nobody goes past a hold point before it is signed."""
    built, start = job.assembly, job.written_running.first_start
    later = _pages_behind(engine, built) if engine and built else {}
    for i, hold in enumerate(built.hold_points if built else ()):
        page, day = later.get(hold.what, ("", date.max))
        if day < hold.date and not (start and start.date < hold.date):  # that is told by itself
            words = f"signed on {hold.date}, after the page '{page}' that it holds up ({day})"
            yield "assembly", ("hold_points", i, "date"), words


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


def _returned(job: JobFolder, record: Job) -> Iterator[Question]:
    """An engine comes back with no fewer hours, and under warranty where the shop bears the cost."""
    cover = job.written_running.warranty
    if cover and _less(cover.meter_until, cover.meter_from):
        words = f"'{cover.meter_until}' is less than where it begins ('{cover.meter_from}')"
        yield "running", ("warranty", "meter_until"), words
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
