"""``due``: what waits for whom over all jobs, what is next, and what is overdue."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .terminal.options import on_option, shop_option
from .terminal.telling import PROBLEMS, count, say

if TYPE_CHECKING:
    from ..assess.waiting.day import Dated, Day
    from ..assess.waiting.matters import Waiting


@click.command("due")
@shop_option()
@on_option()
@click.option("--ical", is_flag=True, help="every day that was named, as a calendar (RFC 5545)")
def command(shop: Path, on: datetime | None, ical: bool) -> int:
    """Tell what each open job waits for, since when, what is next, and which days are past.

    With --ical a calendar comes out instead, for any program that shows one:
    promised days, parts, machine shops, deposits, calibrations, services, warranties.
    """
    from ..assess.waiting import day as days
    from ..records import load_shop
    from ..site.making.waits import waiting_jobs

    folder = load_shop(shop)
    day_asked = on.date() if on else date.today()
    jobs = waiting_jobs(folder)
    if folder.shop is None:
        say(f"{shop}: shop.yaml cannot be used: rebuildreport check", err=True)
        return PROBLEMS
    day = days.day_of(jobs, folder.shop.instruments, day_asked)
    if ical:
        from ..documents.day.ical import calendar

        sys.stdout.buffer.write(calendar(jobs, folder.shop))
        return 0
    say("\n".join(_text(day)))
    return PROBLEMS if any(job.next.code == "files" for job in jobs) else 0


def _text(day: Day) -> Iterator[str]:
    from ..documents.day.matter_words import GROUPS, not_of_the_day

    here = len(day.here)
    yield f"{day.on.isoformat()}: {count(here, 'engine')} in the house"
    yield from not_of_the_day(day)
    for who, jobs in day.groups:
        yield ""
        yield f"{GROUPS[who]}: {len(jobs)}"
        for job in jobs:
            yield from _job(job, day.on)
    yield from _dates("days past", day.past)
    yield from _dates("days to come", day.to_come)
    yield from _dates("asked, and no day named", day.asked)


def _job(job: Waiting, on: date) -> Iterator[str]:
    """A job in three lines, a fourth where a day is promised."""
    from ..assess.waiting.day import Dated
    from ..assess.waiting.matters import Matter
    from ..documents.day.matter_words import lasting, next_of, over, waits_for

    yield f"  {job.job}: {job.title} ({job.stage})"
    for wait in job.waits:
        by = f"named for {wait.by}" if wait.by else ""
        words = (waits_for(wait, job), by, lasting(wait.since, on))
        yield f"    waits for {', '.join(part for part in words if part)}"
    yield f"    next: {next_of(job, on)}"
    if job.promised:
        yield f"    promised for {job.promised}: {over(Dated(Matter('promised', by=job.promised), job, on))}"


def _dates(title: str, found: tuple[Dated, ...]) -> Iterator[str]:
    from ..documents.day.matter_words import dated, over

    yield ""
    yield f"{title}: {len(found) or 'none'}"
    for one in found:
        number = one.job.job if one.job else ""
        said = ": ".join(filter(None, (dated(one, number), over(one))))
        yield f"  {one.by.isoformat()}  {said}"
