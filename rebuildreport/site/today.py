"""The shop's day in the shop edition: its first page, the calendar, what is on order.

In: what the manifest keeps of each job, a day.  Out: the files.  For another day no job is read or
assessed, and of all files it changes the page alone.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime

from ..assess.waiting.day import Day, day_of
from ..assess.waiting.matters import Waiting, from_row
from ..documents.day import orders
from ..documents.day.daypage import CALENDAR, day_html
from ..documents.day.ical import calendar
from ..documents.press.language import spoken
from ..records.files.shop import Shop
from .disk import folders, sources
from .disk.manifest import Manifest
from .making.work import Order

PAGE = "index.html"
FILES = (CALENDAR, orders.TABLE, orders.FOLDER)
NO_DAY = date(1970, 1, 1)  # of a shop without jobs, where nobody says what day it is


def write(order: Order, shop: Shop, manifest: Manifest, on: date | None) -> date:
    """Write what changed since the last run; the day that the page is of, which is in the language spoken."""
    home = order.out / "shop"
    rows = manifest.waits()
    ground = [order.by, spoken().tag, sources.digest(rows)]
    if on is None:
        on = max((job.as_of or job.opened or NO_DAY for job in _jobs(rows)), default=NO_DAY)
    day = on.date() if isinstance(on, datetime) else on
    made = manifest.fact("day") or {}
    known, page = made.get("files", []), {"ground": ground, "on": day.isoformat()}
    lost = [name for name in (PAGE, *known) if not (home / name).is_file()]
    if not lost and {key: made.get(key) for key in page} == page:
        return day
    jobs = _jobs(rows)
    hour = on if isinstance(on, datetime) else None
    html = day_html(day_of(jobs, shop.instruments, day), shop, hour, order.shop)
    folders.write_whole(home / PAGE, html.encode(), order.out)
    if lost or made.get("ground") != ground:
        # of every job whatever its day, so that another day changes none of them
        files = _of_all(jobs, shop, day_of(jobs, {}, date.max))
        for name, data in files.items():
            folders.write_whole(home / name, data, order.out)
        for gone in set(known) - set(files):
            (home / gone).unlink(missing_ok=True)
        known = sorted(files)
    manifest.put("day", {**page, "files": known})
    return day


def _of_all(jobs: list[Waiting], shop: Shop, found: Day) -> dict[str, bytes]:
    files = {CALENDAR: calendar(jobs, shop), orders.TABLE: orders.table(found)}
    return files | orders.drafts(found, shop)


def _jobs(rows: list[str]) -> list[Waiting]:
    """What is kept; of a job whose last run failed it may be an earlier version's, which nobody can read."""
    jobs = []
    for row in rows:
        with suppress(ValueError):
            jobs.append(from_row(row))
    return jobs
