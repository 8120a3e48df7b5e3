"""The stays of an engine in the shop: each from arrival to delivery, counted and charged apart."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from ..records import JobFolder
from ..records.commerce import Reopened
from ..records.engine import Engine
from ..records.shop import Shop
from ..trade import money
from .cost import rate_on
from .lines import Lines
from .prices import Spell


def spells(shop: Shop, engine: Engine, job: JobFolder, as_of: date) -> tuple[Spell, ...]:
    """Every stay, oldest first; days are counted from the first to the last, up to now where it is here."""
    record = job.job
    assert record is not None
    end = record.delivered or record.declined
    found = [Spell(1, record.opened, end, ((end or as_of) - record.opened).days)]
    for number, one in enumerate(record.reopened, 2):
        net, found_total = _charged(shop, engine, one)
        pays = one.charged_to == "customer"
        found.append(
            Spell(
                number=number,
                start=one.date,
                end=one.delivered,
                days=((one.delivered or as_of) - one.date).days,
                symptom=one.symptom,
                found=one.found or "",
                cause=one.cause,
                done=one.done or "",
                charged_to=one.charged_to,
                net=net,
                tax=found_total.tax if pays and found_total else None,
                total=found_total.total if pays and found_total else None,
            )
        )
    return tuple(found)


def _charged(shop: Shop, engine: Engine, one: Reopened) -> tuple[Decimal | None, money.Total | None]:
    """What a stay costs net; None where a price is missing."""
    rate = rate_on(shop, one.date)
    lines = Lines(shop.currency, rate)
    for task in one.labour:
        lines.add("labour", task.task, task.hours, rate.labour if rate else None, unit="h")
    for part in one.parts:
        sheet = engine.parts.get(part.part)
        price = part.price if part.price is not None else sheet.price if sheet else None
        lines.add("part", sheet.name if sheet else part.part, Decimal(part.quantity), price, number=part.part)
    if not lines.lines or any(line.amount is None for line in lines.lines):
        return None, None
    found = money.total([money.Line(x.amount, x.tax, x.group) for x in lines.lines], (), shop.currency)
    return found.net, found
