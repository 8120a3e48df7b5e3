"""The money of a job: lines, discounts, tax, sums, deposits, other ways to go on."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal
from types import MappingProxyType

from msgspec.structs import replace

from ...quantities import Figure, Sentence, Several, Text, Typed
from ...records import JobFolder
from ...records.files.commerce import LINE_CLASSES, PartsOrder
from ...records.files.jobfile import Job
from ...records.files.sheet import Engine
from ...records.files.shop import Rate, Shop
from ...trade.estimating import sums
from ...trade.estimating.approval import over
from ..measure.titles import feature_title, where_on
from ..model.accessplan import AccessPlan
from ..model.assessment import Characteristic
from ..model.choice import Choice
from ..model.edition import copied
from ..model.prices import Approval, CoreDeposit, Cost, Option, Payment, PriceLine
from ..parts.needed import Need
from ..parts.unbought import to_be_bought
from ..work import machining
from . import approvals
from .buying import purchases
from .estimate_lines import Lines, gather, option_lines


def rate_on(shop: Shop, day: date) -> Rate | None:
    """The rate in force on a day: the newest that had begun; None where none had."""
    begun = [rate for rate in shop.rates if rate.from_ <= day]
    return max(begun, key=lambda rate: rate.from_) if begun else None


def cost(
    shop: Shop,
    engine: Engine,
    job: JobFolder,
    needs: list[Need],
    chosen: Sequence[Choice] = (),
    beyond: Sequence[Characteristic] = (),
    doubted: Mapping[str, Sequence[str]] = MappingProxyType({}),
    access: AccessPlan | None = None,
) -> Cost:
    """Every price line and the sums; a minimum where a price, our labour, a decision or a reading is lacking.

    ``chosen`` says which sizes and grades of a part are wanted, and which lie on the shelf; ``beyond`` what
    is beyond its limit, and nobody says what is done; ``doubted`` where a reading is left out;
    ``access`` the plan whose hours a line of labour may take.
    """
    record, code = job.record, shop.currency
    rate = rate_on(shop, record.opened)
    lines = gather(code, engine, job, needs, rate, access)
    nothing = Decimal(0).quantize(sums.step(code))
    amounts = {group: lines.sum(group) + nothing for group in ("part", "sublet", "labour", "consumable")}
    found = _discounted(lines, job, code)
    unpriced = _not_priced(lines, job, rate)
    not_priced = [*unpriced, *_undecided(engine, job, chosen, beyond, doubted)]
    orders = job.written_work.orders
    cores = tuple(_core(line, orders, engine) for line in lines.lines if line.core)
    core = sum((one.amount for one in cores if one.credited is None), nothing)
    paid = tuple(Payment(one.date, one.amount, one.how) for one in record.paid)
    approved = _approved(record)
    result = Cost(
        currency=code,
        lines=tuple(lines.lines),
        parts=amounts["part"],
        sublet=amounts["sublet"],
        hours=sum((one.quantity for one in lines.lines if one.group == "labour" and one.unit), Decimal(0)),
        labour_rate=rate.labour if rate else None,
        labour=amounts["labour"],
        net=found.net,
        tax_rate=_one_rate(found, rate),
        tax=found.tax,
        total=found.total,
        core_deposit=core,
        to_pay=found.total + core,
        minimum=bool(not_priced),
        not_priced=tuple(not_priced),
        approvals=approved,
        first_estimate=_first_estimate(job),
        over_by=over(found.total, approved[-1].limit if approved else None),
        prices_on=engine.prices_on,
        digits=sums.digits(code),
        consumables=amounts["consumable"],
        discount=sum(found.discounts, nothing),
        taxes=found.taxes,
        cores=cores,
        paid=paid,
        balance=found.total + core - sum((one.amount for one in paid), nothing) if paid else None,
        rounding=Sentence(sums.ROUNDING),
    )
    bought = purchases(engine, lines.lines, orders, chosen, to_be_bought(job, chosen))
    return approvals.judged(_with_options(result, code, rate, job, lines), job, bought)


def _taxed(lines: list[PriceLine] | tuple[PriceLine, ...]) -> list[sums.SumLine]:
    return [sums.SumLine(one.amount, one.tax, one.group) for one in lines]


def _discounted(lines: Lines, job: JobFolder, code: str) -> sums.SumTotal:
    """The sums, with a line for each discount."""
    taken = [(one.what, one.take) for one in job.written_work.discounts]
    discounts = [sums.Discount(LINE_CLASSES.get(it.of, ""), it.percent, it.amount) for _, it in taken]
    found = sums.total(_taxed(lines.lines), discounts, code)
    for (what, take), off in zip(taken, found.discounts, strict=True):
        share, of = Figure(f"{take.percent or 0:f}"), Sentence(take.of or "everything")
        because = Sentence("{rate} % of {what}", rate=share, what=of)
        why = () if take.percent is None else (because,)
        lines.add("discount", Typed(what), each=-off, words=what, because=why)
    return found


def _not_priced(lines: Lines, job: JobFolder, rate: Rate | None) -> list[Text]:
    """What the total lacks: with any of it, it is a minimum."""
    lacks = [line.name for line in lines.lines if line.amount is None]
    if not job.written_work.labour:
        lacks.append(Sentence("our own work: hours not entered yet"))
    if rate is None:
        lacks.append(Sentence("tax: no rate in force on {day}", day=job.record.opened))
    return lacks


def _undecided(
    engine: Engine,
    job: JobFolder,
    chosen: Sequence[Choice],
    beyond: Sequence[Characteristic],
    doubted: Mapping[str, Sequence[str]],
) -> Iterator[Text]:
    """What has to be machined or bought, and nobody has decided how: its price is on no line.

    A ring filed to its gap is fitted by whoever puts the engine together: neither bought nor machined.  Of
    a reading that was left out nobody knows yet what it asks for.
    """
    if job.record.ready or job.record.delivered or job.record.declined:
        return  # it was handed over as it is
    yield from machining.not_priced(engine, job)
    places: dict[str, dict[str, None]] = {}
    for value in (value for value in beyond if not value.filing):
        places.setdefault(value.feature, {})[value.position] = None
    for choice in chosen:
        if choice.of_size and choice.status != "nothing known" and not (choice.decision or choice.on_paper):
            places.setdefault(choice.name, {})
    for name, where in places.items():
        yield Sentence("{what}: not decided yet", what=_at(engine, name, where))
    for name, again in doubted.items():
        yield Sentence("{what}: to be measured again", what=_at(engine, name, again))


def _at(engine: Engine, name: str, where: Collection[str]) -> Text:
    return Several([feature_title(engine, name), *where_on(engine, name, where)], " ")


def _approved(record: Job) -> tuple[Approval, ...]:
    """The approvals of the first stay, oldest first; those of later stays are theirs."""
    return tuple(
        copied(Approval, one)
        for one in sorted(record.approvals, key=lambda one: one.date)
        if not record.reopened or one.date < record.reopened[0].date
    )


def _one_rate(found: sums.SumTotal, rate: Rate | None) -> Decimal | None:
    """The rate that taxes every line; None where there are several, or none is in force."""
    if rate is None or len(found.taxes) > 1:
        return None
    return found.taxes[0].rate if found.taxes else rate.tax


def _first_estimate(job: JobFolder) -> Decimal | None:
    by_hand = [one.total for one in job.record.issued if one.document == "estimate"]
    issued = [one.total for one in job.issued.issues if one.document == "estimate"]
    return next((total for total in (*by_hand[:1], *issued[:1]) if total is not None), None)


def _core(line: PriceLine, orders: list[PartsOrder], engine: Engine) -> CoreDeposit:
    """A deposit with the day by which the old part must be back: as ordered, else days from receipt."""
    nothing = PartsOrder(part=line.number)
    order = next((one for one in orders if engine.number_now(one.part) == line.number), nothing)
    days = engine.part(line.number).core_days
    by = order.return_by
    if by is None and order.received and days is not None:
        by = order.received + timedelta(days=days)
    own = {"part": line.number, "name": line.name, "amount": line.core or Decimal(0)}
    return copied(CoreDeposit, order, **own, return_by=by, days=days)


def _with_options(result: Cost, code: str, rate: Rate | None, job: JobFolder, lines: Lines) -> Cost:
    """The same with the ways to go on, side by side."""
    options = []
    diagnosis = [one for one in lines.lines if one.diagnosis]
    for name, one in job.written_work.options.items():
        priced: tuple[PriceLine, ...] = ()
        if one.this_estimate:
            found = sums.SumTotal(result.net, result.tax, result.total, result.minimum)
            core, not_priced = result.core_deposit, list(result.not_priced)
        else:
            priced = option_lines(code, rate, one, diagnosis)
            found = sums.total(_taxed(priced), (), code)
            core = sum((line.core for line in priced if line.core), Decimal(0).quantize(sums.step(code)))
            not_priced = [line.name for line in priced if line.amount is None]
            not_priced += [] if priced else [Sentence("nothing is priced yet")]
            not_priced += [] if rate else [Sentence("tax")]
        options.append(
            copied(
                Option,
                one,
                id=name,
                lines=priced,
                net=found.net,
                tax=found.tax,
                total=found.total,
                core_deposit=core,
                minimum=bool(not_priced),
                not_priced=tuple(not_priced),
            )
        )
    return replace(result, options=tuple(options))
