"""The shop's day as the first page of the shop edition, in the shop's language.

In: a ``Day`` and the hour at which it is written.  Out: HTML.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from itertools import groupby
from pathlib import Path

from msgspec import Struct

from ...assess.waiting.day import Dated, Day, HoursOf
from ...assess.waiting.matters import Matter, Waiting
from ...quantities import message
from ...records.files.shop import Shop
from ..drawings.canvas import Drawing
from ..drawings.verdict_marks import verdict
from ..press import templating
from ..press.language import say, spoken
from ..press.words import capital, day, figure, plain
from . import orders
from .day_lines import axis, line
from .matter_words import GROUPS, dated, lasting, next_of, not_of_the_day, over, waits_for

WEEKDAYS = message(
    ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"),
)
CALENDAR, LIST = "days.ics", "jobs.html"
SHOWN = 2  # of what a job waits for: more would make one job as long as the others together


class JobRow(Struct, frozen=True):
    """One job."""

    href: str
    name: str
    engine: str
    stage: str
    waits: tuple[tuple[str, str], ...]  # for what, since when
    next: str
    late: str  # "promised 14 April, 2 days over"
    line: Drawing
    money: tuple[tuple[str, str, bool], ...]  # amount, its word, whether it is wanted


Told = tuple[str, str, str]  # day, what, how far


def day_html(found: Day, shop: Shop, at: datetime | None, shop_dir: Path | None = None) -> str:
    """The page; ``at`` is the hour at which it is written, None where a day was asked for."""
    here = found.here
    template = templating.environment(shop_dir).get_template("day.html.jinja")
    return template.render(
        lang=spoken().code,
        title=say("{weekday} {day}", weekday=say(WEEKDAYS[found.on.weekday()]), day=day(found.on)),
        shop=shop.name,
        contact=shop.contact,
        notice=shop.notice,
        paper=shop.paper,
        written=say("the shop’s day, written {time}", time=f"{at:%H:%M}") if at else say("the shop’s day"),
        lead=_lead(found),
        first=[_first(one) for one in found.first],
        axis=axis(found.on),
        groups=[(say(GROUPS[who]), [_row(job, found.on) for job in jobs]) for who, jobs in found.groups],
        past=[_told(one) for one in found.past],
        to_come=[_told(one, soon=True) for one in found.to_come],
        asked=[_told(one) for one in found.asked],
        money=list(_money(found, here)),
        currency=shop.currency,
        orders=list(orders.by_supplier(found, shop)),
        orders_file=orders.TABLE,
        tasks=_hours(found.tasks),
        families=_hours(found.families),
        calendar=CALENDAR,
        all_jobs=LIST,
    )


def _lead(found: Day) -> str:
    """How many engines are in the house, and what of them wants somebody today."""
    here = len(found.here)
    beside = [f"{capital(words)}." for words in not_of_the_day(found)]
    if not here:
        return " ".join([say("No engine is in the house."), *beside])
    words = message("One engine is in the house." if here == 1 else "{count} engines are in the house.")
    said = [capital(say(words, count=figure(here)))]
    many = {who: len(jobs) for who, jobs in found.groups}
    facts = [
        say(one if number == 1 else more, count=figure(number))
        for number, one, more in (
            (len(found.past), message("one date is past"), message("{count} dates are past")),
            (
                many.get("ours", 0),
                message("one job is ours to move"),
                message("{count} jobs are ours to move"),
            ),
            (
                many.get("customer", 0),
                message("one waits for a customer’s word"),
                message("{count} wait for a customer’s word"),
            ),
        )
        if number
    ]
    return " ".join([*said, *([f"{capital(', '.join(facts))}."] if facts else []), *beside])


def _first(one: Dated) -> tuple[str, str, str, bool]:
    """A mark, what it is, how far, and whether that is past."""
    mark = verdict("beyond limit" if one.over > 0 else "not measured").mark
    when = day(one.by, year=one.by.year != one.on.year)
    return mark, dated(one), f"{when}, {over(one)}", one.over > 0


def _row(job: Waiting, on: date) -> JobRow:
    late = ""
    if job.promised and job.promised < on:
        over_by = over(Dated(Matter("promised", by=job.promised), job, on))
        late = say("promised {day}, {over}", day=day(job.promised, year=False), over=over_by)
    return JobRow(
        href=f"{job.job}/index.html",
        name=f"{job.number} · {job.title.partition(',')[0]}",  # what it is; behind the comma, what it has
        engine=job.engine,
        stage=say(job.stage),
        waits=tuple(_waits(job, on)),
        next=next_of(job, on),
        late=late,
        line=line(job, on),
        money=tuple(_amounts(job)),
    )


def _waits(job: Waiting, on: date) -> Iterator[tuple[str, str]]:
    """What it waits for, the first of each who has to move; the job's own pages have all of them."""
    # two machine shops are two who have to move: a telephone call to either
    shown = [next(same) for _, same in groupby(job.waits, key=lambda wait: (wait.who, wait.whom))][:SHOWN]
    for wait in shown:
        for_what = waits_for(wait, job)
        if wait.by:
            due = say("due {day}", day=day(wait.by, year=False))
            late = f", {over(Dated(wait, job, on))}" if wait.by < on else ""
            for_what = f"{for_what}, {due}{late}"
        yield for_what, lasting(wait.since, on)
    if more := len(job.waits) - len(shown):
        yield say("and one more") if more == 1 else say("and {count} more", count=figure(more)), ""


def _amounts(job: Waiting) -> Iterator[tuple[str, str, bool]]:
    for amount, word, wanted in (
        (job.allowed, say("allowed"), False),
        (job.asked, say("asked"), True),
        (job.to_pay, say("to pay"), True),
    ):
        if amount is not None:
            whole = amount == amount.to_integral_value()
            yield spoken().amount(amount, 0 if whole else job.digits), word, wanted


def _told(one: Dated, soon: bool = False) -> Told:
    """A line of a list of days; of those to come only what is today or tomorrow says how near it is."""
    far = soon and one.over < -1
    return day(one.by, year=one.by.year != one.on.year), dated(one), "" if far else over(one)


def _money(found: Day, here: Sequence[Waiting]) -> Iterator[tuple[str, str, bool]]:
    digits = here[0].digits if here else 2
    jobs = sum(job.allowed is not None for job in here)
    parts = len(found.deposits)
    for words, count, amount, wanted in (
        (message("allowed, one job" if jobs == 1 else "allowed, {count} jobs"), jobs, found.allowed, False),
        (message("asked, not answered"), sum(job.asked is not None for job in here), found.asked_for, True),
        (message("ready, to be paid"), sum(job.to_pay is not None for job in here), found.to_pay, False),
        (
            message("deposit out, one part" if parts == 1 else "deposits out, {count} parts"),
            parts,
            sum(found.deposits, Decimal(0)),
            False,
        ),
    ):
        if count:
            yield say(words, count=figure(count)), spoken().amount(amount, digits), wanted


def _hours(found: Sequence[HoursOf]) -> list[tuple[str, str, str, str, str]]:
    """A task or family, of how many jobs, hours estimated, spent, and the difference with its sign."""
    hours = spoken().hours
    rows = []
    for one in found:
        more = one.spent - one.estimated
        sign = "+" if more > 0 else ""
        jobs = plain(Decimal(one.jobs))
        rows.append((one.name, jobs, hours(one.estimated), hours(one.spent), sign + hours(more)))
    return rows
