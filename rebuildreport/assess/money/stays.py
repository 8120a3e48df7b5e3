"""The stays of an engine in the shop: each from arrival to delivery, counted and charged apart."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec.structs import replace

from ...quantities import NOTHING, Amount, Sentence, Text, Typed, message, present
from ...records import JobFolder
from ...records.files.commerce import Reopened
from ...records.files.sheet import Engine
from ...records.files.shop import Shop
from ...trade.estimating import sums
from ...trade.estimating.approval import over
from ..model.edition import copied
from ..model.prices import Cost, Spell
from ..work.stage import stay_on
from .cost import rate_on
from .estimate_lines import Lines


def spells(shop: Shop, engine: Engine, job: JobFolder, as_of: date) -> tuple[Spell, ...]:
    """Every stay, oldest first; days are counted from the first to the last, up to now where it is here."""
    record = job.record
    end = record.delivered or record.declined
    found = [Spell(1, record.opened, end, ((end or as_of) - record.opened).days)]
    for number, stay in enumerate(record.reopened, 2):
        found.append(_spell(shop, engine, job, number, stay, as_of))
    return tuple(found)


def _spell(shop: Shop, engine: Engine, job: JobFolder, number: int, stay: Reopened, as_of: date) -> Spell:
    net, charged = _charged(shop, engine, stay)
    days = ((stay.delivered or as_of) - stay.date).days
    own = {"number": number, "start": stay.date, "end": stay.delivered, "days": days}
    found = copied(Spell, stay, **own, done=_done(engine, stay), net=net)
    if stay.charged_to != "customer":
        return found
    # the last approval from its day on, before it came back again
    ours = [one for one in job.record.approvals if stay_on(job, one.date) == number]
    limit = sorted(ours, key=lambda one: one.date)[-1].limit if ours else None
    if charged is None:
        return replace(found, limit=limit)
    over_by = over(charged.total, limit)
    return replace(found, tax=charged.tax, total=charged.total, limit=limit, over_by=over_by)


def _done(engine: Engine, stay: Reopened) -> Text:
    """What was done in a stay: as written, else by its tasks and parts: to be done while it lasts."""
    if stay.done:
        return Typed(stay.done)
    parts = (engine.part(part.part).name for part in stay.parts)
    said = [Typed(text) for text in (*(task.task for task in stay.labour), *parts)]
    if not said and stay.delivered:
        return Sentence("not written down")
    if said and not stay.delivered:
        return Sentence("to be done: {what}", what=present(said))
    return present(said)


def with_stays(cost: Cost, stays: tuple[Spell, ...]) -> Cost:
    """The same money with what later stays cost the customer; each wants an approval of its own."""
    paid = [one for one in stays if one.total is not None]
    extra = sum((one.total for one in paid if one.total is not None), Decimal(0))
    if not extra:
        return cost
    return replace(
        cost,
        stays=extra,
        to_pay=cost.to_pay + extra,
        balance=None if cost.balance is None else cost.balance + extra,
        stops=(*cost.stops, *(words for one in paid if (words := _not_approved(one, cost)))),
    )


def _not_approved(one: Spell, cost: Cost) -> Text:
    total = Amount(one.total or Decimal(0), cost.digits, cost.currency)
    if one.limit is None:
        words = message("the stay of {day} comes to {total}, and no approval of it is recorded")
        return Sentence(words, day=one.start, total=total)
    if one.over_by is None:
        return NOTHING
    words = message("the stay of {day} comes to {total}, {over} above the {limit} approved for it")
    over_by, limit = Amount(one.over_by, cost.digits), Amount(one.limit, cost.digits)
    return Sentence(words, day=one.start, total=total, over=over_by, limit=limit)


def _charged(shop: Shop, engine: Engine, one: Reopened) -> tuple[Decimal | None, sums.SumTotal | None]:
    """What a stay costs net; None where a price is missing."""
    rate = rate_on(shop, one.date)
    lines = Lines(shop.currency, rate)
    for task in one.labour:
        lines.add("labour", Typed(task.task), task.hours, rate.labour if rate else None, unit="h")
    for part in one.parts:
        sheet = engine.part(part.part)
        price = sheet.price if part.price is None else part.price
        lines.add("part", Typed(sheet.name), Decimal(part.quantity), price, number=part.part)
    if not lines.lines or any(line.amount is None for line in lines.lines):
        return None, None
    found = sums.total([sums.SumLine(x.amount, x.tax, x.group) for x in lines.lines], (), shop.currency)
    return found.net, found
