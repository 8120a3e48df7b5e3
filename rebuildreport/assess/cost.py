"""The money of a job: price lines, sums, approvals."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from ..records import JobFolder
from ..records.engine import Engine
from ..records.shop import Rate, Shop
from ..trade import money
from .model import Approval, Cost, PriceLine
from .parts import Need

ZERO = Decimal("0.00")


def rate_on(shop: Shop, day: date) -> Rate | None:
    """The rate in force on a day: the newest that had begun; None where none had."""
    begun = [rate for rate in shop.rates if rate.from_ <= day]
    return max(begun, key=lambda rate: rate.from_) if begun else None


def cost(shop: Shop, engine: Engine, job: JobFolder, needs: list[Need]) -> Cost:
    """Every price line and the sums; a minimum where a line has no price or no labour is entered."""
    record = job.job
    assert record is not None
    rate = rate_on(shop, record.opened)
    lines: list[PriceLine] = []
    for need in needs:
        part = engine.parts.get(need.part)
        quantity = Decimal(need.quantity(part is not None and part.per == "engine"))
        each = part.price if part else None
        lines.append(
            PriceLine(
                line=len(lines) + 1,
                group="part",
                number=need.part if part else "",
                name=part.name if part else need.name or need.part,
                quantity=quantity,
                each=each,
                amount=money.amount(quantity, each),
                because=need.because,
                findings=tuple(need.findings),
                core=None if part is None or part.core is None else part.core * quantity,
            )
        )
    work = job.work
    for sublet in work.sublet if work else []:
        name = f"{sublet.part.replace('_', ' ')}: {sublet.work}"
        because = (sublet.why,) if sublet.why else ()
        lines.append(
            PriceLine(
                len(lines) + 1,
                "sublet",
                "",
                name,
                Decimal(1),
                sublet.price,
                money.amount(Decimal(1), sublet.price),
                because,
            )
        )
    hourly = rate.labour if rate else None
    for task in work.labour if work else []:
        lines.append(
            PriceLine(
                len(lines) + 1,
                "labour",
                "",
                task.task,
                task.hours,
                hourly,
                money.amount(task.hours, hourly),
                (),
                unit="h",
            )
        )
    return _sums(shop, engine, job, lines, rate)


def _sums(shop: Shop, engine: Engine, job: JobFolder, lines: list[PriceLine], rate: Rate | None) -> Cost:
    record, work = job.job, job.work
    assert record is not None

    def group(name: str) -> Decimal:
        return sum((one.amount for one in lines if one.group == name and one.amount is not None), ZERO)

    found = money.total([one.amount for one in lines], rate.tax if rate else None)
    not_priced = [one.name for one in lines if one.amount is None]
    if not (work and work.labour):
        not_priced.append("our own work: hours not entered yet")
    if rate is None:
        not_priced.append(f"tax: no rate in force on {record.opened.isoformat()}")
    core = sum((one.core for one in lines if one.core is not None), ZERO)
    approvals = tuple(
        Approval(one.date, one.by, one.how, one.limit, one.covers or "")
        for one in sorted(record.approvals, key=lambda one: one.date)
    )
    limit = approvals[-1].limit if approvals else None
    over = found.total - limit if limit is not None and found.total > limit else None
    first = next((one.total for one in record.issued if one.document == "estimate"), None)
    return Cost(
        currency=shop.currency,
        lines=tuple(lines),
        parts=group("part"),
        sublet=group("sublet"),
        hours=sum((one.quantity for one in lines if one.group == "labour"), Decimal(0)),
        labour_rate=rate.labour if rate else None,
        labour=group("labour"),
        net=found.net,
        tax_rate=rate.tax if rate else None,
        tax=found.tax,
        total=found.total,
        core_deposit=core,
        to_pay=found.total + core,
        minimum=bool(not_priced),
        not_priced=tuple(not_priced),
        approvals=approvals,
        first_estimate=first,
        over_by=over,
        prices_on=engine.prices_on,
    )
