"""Every day that was named, as a calendar file (RFC 5545): all-day events, the same bytes for the same facts.

In: the ``Waiting`` of each job, the shop.  Out: the file.  No alarms.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta, timezone
from hashlib import blake2b
from typing import TYPE_CHECKING

from ... import __version__
from ...assess.waiting.day import Dated, calibrations
from ...assess.waiting.matters import Matter, Waiting
from ...records.files.shop import Shop
from ..press.language import spoken
from .matter_words import dated

if TYPE_CHECKING:
    from icalendar import Event

LATEST = date(1970, 1, 1)  # where nothing tells a day: the file must carry a stamp, and no clock is looked at


def calendar(jobs: Iterable[Waiting], shop: Shop) -> bytes:
    """One event for each day that was named and is not done, in the language that is spoken."""
    from icalendar import Calendar

    known = sorted(jobs, key=lambda job: job.job)
    made = Calendar()
    made.add("prodid", f"-//rebuildreport//{__version__}//EN")
    made.add("version", "2.0")
    made.add("method", "PUBLISH")
    made.add("x-wr-calname", shop.name)
    found = [(job, matter) for job in known for matter in job.dates]
    tools = [(None, matter) for matter in calibrations(shop.instruments, ())]
    for job, matter, uid in _numbered([*found, *tools]):
        made.add_component(_event(job, matter, f"{uid}@{_domain(shop)}"))
    data: bytes = made.to_ical()
    return data


def _numbered(
    found: Iterable[tuple[Waiting | None, Matter]],
) -> Iterator[tuple[Waiting | None, Matter, str]]:
    """Each with a name of its own, that stays the same when its day is put off.

    So a program that shows the calendar moves the event, and does not keep the old one beside it.
    """
    seen: dict[str, int] = {}
    for job, matter in found:
        if matter.by is None:
            continue
        what = "\0".join([job.job if job else "", matter.code, matter.whom, repr(matter.about), matter.at])
        uid = blake2b(what.encode(), digest_size=12).hexdigest()
        seen[uid] = seen.get(uid, 0) + 1
        yield job, matter, f"{uid}-{seen[uid]}"


def _event(job: Waiting | None, matter: Matter, uid: str) -> Event:
    from icalendar import Event

    assert matter.by is not None
    event = Event()
    event.add("uid", uid)
    stamp = (job.as_of if job else None) or LATEST
    event.add("dtstamp", datetime(stamp.year, stamp.month, stamp.day, tzinfo=timezone.utc))  # noqa: UP017
    event.add("dtstart", matter.by)
    event.add("dtend", matter.by + timedelta(days=1))  # the end is not in it: RFC 5545, 3.6.1
    event.add("summary", dated(Dated(matter, job, matter.by)))
    if job:
        event.add("description", ", ".join(part for part in (job.job, job.title, job.engine) if part))
    event.add("transp", "TRANSPARENT")  # a promised day keeps nobody from another appointment
    event.add("categories", [spoken()(matter.code)])
    return event


def _domain(shop: Shop) -> str:
    """What makes the names the shop's own: where its mail comes from, else its name."""
    address = shop.email.rpartition("@")[2].strip()
    return address or blake2b(shop.name.encode(), digest_size=6).hexdigest()
