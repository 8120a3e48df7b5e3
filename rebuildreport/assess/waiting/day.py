"""One day of the shop: which jobs wait for whom, which days are past, which are to come, what money is out.

In: the ``Waiting`` of each job, the shop's instruments, a day.  Out: a ``Day``.  Assesses no job.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import get_args

from msgspec import Struct

from ...quantities import Figure, Sentence, Several
from ...records.files.shop import InstrumentRecord
from .matters import Hours, Matter, OpenLine, Waiting, Who

AHEAD = 28  # days that the list of what is to come looks ahead: four weeks, as far as a bench is planned
FIRST = 3  # things that stand at the head of the page
SOON = 1  # day from which on a day to come may stand there, too: tomorrow
# what holds up an engine that is in the house comes before what does not
_HOLDS: tuple[str, ...] = ("back", "promised", "parts", "answer")


class Dated(Struct, frozen=True):
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


class HoursOf(Struct, frozen=True):
    """Hours of one task, or of one engine family, over all jobs that noted them."""

    name: str
    jobs: int
    estimated: Decimal
    spent: Decimal


class Day(Struct, frozen=True):
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
    later: tuple[Waiting, ...] = ()  # opened after this day
    beyond: tuple[Waiting, ...] = ()  # with records of later days, which are told, too

    @property
    def here(self) -> tuple[Waiting, ...]:
        """Every job that is in the house."""
        return tuple(job for _, jobs in self.groups for job in jobs)


def day_of(jobs: Iterable[Waiting], instruments: Mapping[str, InstrumentRecord], on: dt.date) -> Day:
    """The shop on a day; what was opened later is not there yet, the rest as it stands now."""
    known: list[Waiting] = []
    later: list[Waiting] = []
    for job in jobs:
        (later if job.opened and job.opened > on else known).append(job)
    here = [job for job in known if job.here]
    dated = [Dated(matter, job, on) for job in known for matter in job.dates]
    dated += [Dated(matter, None, on) for matter in calibrations(instruments, here)]
    past, to_come = _by_day(dated)
    return Day(
        on=on,
        groups=tuple(_groups(here)),
        past=past,
        to_come=to_come,
        asked=tuple(one for one in dated if one.matter.by is None),
        first=tuple(_first(past, to_come)),
        allowed=_sum(job.allowed for job in here),
        asked_for=_sum(job.asked for job in here),
        to_pay=_sum(job.to_pay for job in here),
        deposits=tuple(deposit for job in known for deposit in job.deposits),
        orders=tuple(_orders(here)),
        tasks=_hours(known, lambda job, hours: hours.task),
        families=_hours(known, lambda job, hours: job.engine),
        later=tuple(sorted(later, key=lambda job: (job.opened or dt.date.min, job.job))),
        beyond=tuple(job for job in known if job.as_of and job.as_of > on),
    )


def _groups(here: Sequence[Waiting]) -> Iterator[tuple[Who, tuple[Waiting, ...]]]:
    """Jobs by who has to move, those first that were promised for the earliest day."""
    urgent = sorted(here, key=lambda job: (job.promised or dt.date.max, job.job))
    for who in get_args(Who):
        if jobs := [job for job in urgent if job.who == who]:
            yield who, tuple(jobs)


def _by_day(dated: Iterable[Dated]) -> tuple[tuple[Dated, ...], tuple[Dated, ...]]:
    """Days that went by and nothing was done, and those to come, in their order."""
    named = [one for one in dated if one.matter.by]
    named.sort(key=lambda one: (one.by, one.job.job if one.job else one.matter.whom))
    # a warranty that has ended is nobody's business any more
    past = (one for one in named if one.over > 0 and one.matter.code != "warranty")
    return tuple(past), tuple(one for one in named if -AHEAD <= one.over <= 0)


def calibrations(instruments: Mapping[str, InstrumentRecord], here: Iterable[Waiting]) -> Iterator[Matter]:
    """Until when each instrument's calibration holds, and how many jobs need it for their next readings."""
    needed = [tool for job in here for tool in job.instruments]
    for name, tool in instruments.items():
        if tool.due:
            low, high = tool.range.low, tool.range.high
            reach = Sentence("{first} to {last}", first=Figure(low.text if low else ""), last=Figure(high))
            about = Several([Sentence(tool.kind), reach], " ")
            yield Matter("calibration", by=tool.due, about=about, whom=name, count=needed.count(name))


def _first(past: Sequence[Dated], to_come: Sequence[Dated]) -> list[Dated]:
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


def _hours(jobs: Iterable[Waiting], named: Callable[[Waiting, Hours], str]) -> tuple[HoursOf, ...]:
    """By name, the dearest first; a task at a fixed price has no hours to be held against."""
    found: dict[str, list[tuple[str, Decimal, Decimal]]] = {}
    for job in jobs:
        for hours in job.hours:
            if hours.estimated is not None:
                found.setdefault(named(job, hours), []).append((job.job, hours.estimated, hours.spent))
    listed = []
    for name, mine in found.items():
        names, estimated, spent = zip(*mine, strict=True)
        listed.append(HoursOf(name, len({*names}), _sum(estimated), _sum(spent)))
    return tuple(sorted(listed, key=lambda one: (-one.spent, one.name)))
