"""One day of the shop: which jobs wait for whom, which days are past, which are to come, what money is out.

In: the ``Waiting`` of each job, the shop's instruments, a day.  Out: a ``Day``.  Assesses no job.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from ...quantities import Figure, Sentence, Several, Typed
from ...records.files.shop import InstrumentRecord
from .matters import Matter, OpenLine, Waiting, Who

AHEAD = 28  # days that the list of what is to come looks ahead: four weeks, as far as a bench is planned
FIRST = 3  # things that stand at the head of the page
SOON = 1  # day from which on a day to come may stand there, too: tomorrow
# what holds up an engine that is in the house comes before what does not
_HOLDS: tuple[str, ...] = ("back", "promised", "parts", "answer")


@dataclass(frozen=True, slots=True)
class Dated:
    """A matter of a job, or of the shop where ``job`` is None, held against a day."""

    matter: Matter
    job: Waiting | None
    on: dt.date

    @property
    def by(self) -> dt.date:
        """The day that was named, else the one since which it waits."""
        return self.matter.by or self.matter.since or self.on

    @property
    def over(self) -> int:
        """How many days over; below 0 where the day is still to come."""
        return (self.on - self.by).days


@dataclass(frozen=True, slots=True)
class HoursOf:
    """Hours of one task, or of one engine family, over all jobs that noted them."""

    name: str
    jobs: int
    estimated: Decimal
    spent: Decimal


@dataclass(frozen=True, slots=True)
class Day:
    """All of it, in the order in which it is told."""

    on: dt.date
    groups: tuple[tuple[Who, tuple[Waiting, ...]], ...]
    past: tuple[Dated, ...]
    to_come: tuple[Dated, ...]
    asked: tuple[Dated, ...]  # without a day: a consent, a deposit, what is to be put right
    first: tuple[Dated, ...]
    allowed: Decimal
    asked_for: Decimal
    to_pay: Decimal
    deposits: tuple[Decimal, ...]
    orders: tuple[tuple[str, tuple[tuple[Waiting, OpenLine], ...]], ...]
    tasks: tuple[HoursOf, ...]
    families: tuple[HoursOf, ...]

    @property
    def here(self) -> tuple[Waiting, ...]:
        """Every job that is in the house."""
        return tuple(job for _, jobs in self.groups for job in jobs)


def day_of(jobs: Iterable[Waiting], instruments: Mapping[str, InstrumentRecord], on: dt.date) -> Day:
    """The shop on a day; what was opened later is not there yet."""
    known = [job for job in jobs if job.opened is None or job.opened <= on]
    here = [job for job in known if job.here]
    groups = {who: [job for job in here if job.who == who] for who in get_args(Who)}
    dated = [Dated(matter, job, on) for job in known for matter in job.dates]
    dated += [Dated(matter, None, on) for matter in calibrations(instruments, here)]
    named = sorted((one for one in dated if one.matter.by), key=lambda one: (one.by, _name(one)))
    # a warranty that has ended is no business of anybody's; everything else stands until it is done
    past = [one for one in named if one.over > 0 and one.matter.code != "warranty"]
    to_come = [one for one in named if -AHEAD <= one.over <= 0]
    return Day(
        on=on,
        groups=tuple((who, tuple(sorted(jobs, key=_urgent))) for who, jobs in groups.items() if jobs),
        past=tuple(past),
        to_come=tuple(to_come),
        asked=tuple(one for one in dated if one.matter.by is None),
        first=tuple(_first(past, to_come)),
        allowed=_sum(job.allowed for job in here),
        asked_for=_sum(job.asked for job in here),
        to_pay=_sum(job.to_pay for job in here),
        deposits=tuple(deposit for job in known for deposit in job.deposits),
        orders=tuple(_orders(here)),
        tasks=_hours((hours.task, job, hours.estimated, hours.spent) for job in known for hours in job.hours),
        families=_hours(
            (job.engine, job, hours.estimated, hours.spent) for job in known for hours in job.hours
        ),
    )


def calibrations(instruments: Mapping[str, InstrumentRecord], here: Iterable[Waiting]) -> Iterator[Matter]:
    """Until when each instrument's calibration holds, and how many jobs need it for their next readings."""
    needed = [tool for job in here for tool in job.instruments]
    for name, tool in instruments.items():
        if tool.due:
            low, high = tool.range.low, tool.range.high
            reach = Sentence("{first} to {last}", first=Figure(low.text if low else ""), last=Figure(high))
            about = Several([Typed(tool.kind), reach], " ")
            yield Matter("calibration", by=tool.due, about=about, whom=name, count=needed.count(name))


def _name(one: Dated) -> str:
    return one.job.job if one.job else one.matter.whom


def _urgent(job: Waiting) -> tuple[dt.date, str]:
    return job.promised or dt.date.max, job.job


def _first(past: list[Dated], to_come: list[Dated]) -> list[Dated]:
    """The worst first: what holds up an engine, then the rest that is past, then what ends by tomorrow."""
    worst = sorted(past, key=lambda one: (one.matter.code not in _HOLDS, -one.over))
    soon = [one for one in to_come if one.over >= -SOON and (one.job or one.matter.count)]
    if soon and len(worst) >= FIRST:  # a day that can still be kept is worth one of the places
        worst = worst[: FIRST - 1]
    return [*worst, *soon][:FIRST]


def _sum(amounts: Iterable[Decimal | None]) -> Decimal:
    return sum((amount for amount in amounts if amount is not None), Decimal(0))


def _orders(here: Iterable[Waiting]) -> Iterator[tuple[str, tuple[tuple[Waiting, OpenLine], ...]]]:
    """Open lines by supplier, those that name none last."""
    lines = [(job, line) for job in here for line in job.buying]
    for supplier in sorted({line.supplier for _, line in lines}, key=lambda name: (not name, name)):
        yield supplier, tuple(found for found in lines if found[1].supplier == supplier)


def _hours(found: Iterable[tuple[str, Waiting, Decimal | None, Decimal]]) -> tuple[HoursOf, ...]:
    """By name, the dearest first; a task at a fixed price has no hours to be held against."""
    jobs: dict[str, set[str]] = {}
    sums: dict[str, tuple[Decimal, Decimal]] = {}
    for name, job, estimated, spent in found:
        if estimated is None:
            continue
        jobs.setdefault(name, set()).add(job.job)
        before = sums.get(name, (Decimal(0), Decimal(0)))
        sums[name] = (before[0] + estimated, before[1] + spent)
    listed = [HoursOf(name, len(jobs[name]), *both) for name, both in sums.items()]
    return tuple(sorted(listed, key=lambda one: (-one.spent, one.name)))
