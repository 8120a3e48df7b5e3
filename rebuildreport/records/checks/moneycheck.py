"""Whether the money of shop, sheet and job agrees: minor units, sets, orders, approvals, options."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from pydantic import BaseModel

from ...trade.estimating import currency
from ..files.commerce import LINE_CLASSES
from ..files.jobfile import Job, Work
from ..files.sheet import Engine
from ..files.shop import Shop
from ..text.notes import Notes
from ..text.problems import Problem
from ..text.reader import Source, Where

if TYPE_CHECKING:
    from ..files.folder import JobFolder

# decimals that are no money
_NOT_MONEY = frozenset({"tax", "hours", "percent"})
MOST_TAX = 100  # per cent


def check_shop_money(shop: Shop, source: Source) -> list[Problem]:
    """The currency is one of ISO 4217, rates name known classes, mail goes out safely."""
    notes = Notes(source)
    if shop.currency not in currency.DIGITS and len(shop.currency) == 3 and shop.currency.isupper():
        notes.known(("currency",), shop.currency, currency.DIGITS, "no current currency of ISO 4217")
    for i, rate in enumerate(shop.rates):
        for name in rate.tax_on:
            where: Where = ("rates", i, "tax_on", name)
            notes.known(where, name, LINE_CLASSES, "no class of lines", key=True)
    if shop.mail and shop.mail.server and shop.mail.security == "none" and not _own(shop.mail.server):
        message = "mail would leave this machine unprotected: 'none' is for a server on this very machine"
        notes.error(("mail", "security"), message, "starttls or tls")
    _digits(notes, shop, shop.currency)
    _sense(notes, shop)
    return notes.found


def _own(server: str) -> bool:
    return server in ("localhost", "::1") or server.startswith("127.")


def check_sheet_money(engine: Engine, source: Source) -> list[Problem]:
    """Sets hold known parts, and none holds itself."""
    notes = Notes(source)
    for name, part in engine.parts.items():
        for inner in part.contains:
            notes.known(
                ("parts", name, "contains", inner),
                inner,
                engine.parts,
                "not among the sheet's parts",
                key=True,
            )
        if name in _inside(engine, name, ()):
            notes.error(("parts", name, "contains"), f"the set {name} would hold itself", key=True)
        if part.pack < 1:
            notes.error(("parts", name, "pack"), "a pack holds at least one")
    _sense(notes, engine)
    return notes.found


def _inside(engine: Engine, name: str, above: tuple[str, ...]) -> set[str]:
    found: set[str] = set()
    for inner in engine.parts[name].contains if name in engine.parts else ():
        found.add(inner)
        if inner not in above:
            found |= _inside(engine, inner, (*above, inner))
    return found


def check_job_money(
    job: JobFolder, engine: Engine | None, shop: Shop | None, sheet: Source | None = None
) -> list[Problem]:
    """Approvals, payments, work lines, options, orders and the job coming back."""
    found: list[Problem] = []
    code = shop.currency if shop else "EUR"
    for kind, record in (("job", job.job), ("work", job.work)):
        if isinstance(record, (Job, Work)):
            notes = Notes(job.sources[kind])
            _digits(notes, record, code)
            _sense(notes, record)
            if isinstance(record, Job):
                _record(notes, record, job)
            else:
                _work(notes, record, job, engine)
            found += notes.found
    if engine and sheet and shop:
        # told with the job: only here are the sheet and the currency that its prices are in both known
        notes = Notes(sheet)
        _digits(notes, engine, code)
        found += notes.found
    return found


def _too_fine(amount: Decimal | None, code: str) -> bool:
    if amount is None:
        return False
    exponent = amount.normalize().as_tuple().exponent
    return isinstance(exponent, int) and -exponent > currency.digits(code)


def _digits(notes: Notes, record: BaseModel, code: str) -> None:
    most = currency.digits(code)
    for where, amount in _amounts(record, ()):
        if _too_fine(amount, code):
            coins = f"{code} has {most or 'no'} decimal{'' if most == 1 else 's'}"
            hint = str(currency.rounded(amount, code))
            notes.error(where, f"{amount} cannot be paid: {coins} (ISO 4217)", hint)


def _sense(notes: Notes, record: BaseModel) -> None:
    """Prices, deposits and hours below nothing, and a tax that is larger than what it is on."""
    for where, amount in _decimals(record, ()):
        key = where[-1]
        if key in ("price", "core", "hours", "labour", "price_limit") and amount < 0:
            words = (
                "an hour cannot be given back"
                if key == "hours"
                else "what is taken off is a line of 'discounts:'"
            )
            notes.error(where, f"{amount} is less than nothing: {words}", f"{-amount}")
        elif (key == "tax" or "tax_on" in where) and amount > MOST_TAX:
            hint = f"{(amount / 100).normalize():f} %" if amount >= 500 else ""
            notes.error(where, f"a tax of {amount} % is more than the line itself", hint)


def _amounts(record: BaseModel, where: Where) -> Iterator[tuple[Where, Decimal]]:
    """The amounts of money of a record, each with its place."""
    return (
        (place, amount)
        for place, amount in _decimals(record, ())
        if place[-1] not in _NOT_MONEY and "tax_on" not in place
    )


def _decimals(record: BaseModel, where: Where) -> Iterator[tuple[Where, Decimal]]:
    for name, info in type(record).model_fields.items():
        key = info.alias or name
        value = getattr(record, name)
        if isinstance(value, Decimal):
            yield (*where, key), value
        elif isinstance(value, BaseModel):
            yield from _decimals(value, (*where, key))
        elif isinstance(value, list):
            for i, one in enumerate(value):
                if isinstance(one, BaseModel):
                    yield from _decimals(one, (*where, key, i))
        elif isinstance(value, dict):
            for inner, one in value.items():
                if isinstance(one, BaseModel):
                    yield from _decimals(one, (*where, key, inner))
                elif isinstance(one, Decimal):
                    yield (*where, key, inner), one


def _record(notes: Notes, record: Job, job: JobFolder) -> None:
    issued = {str(one.number) for one in job.issued.issues} | {str(one.issue) for one in record.issued}
    for i, one in enumerate(record.approvals):
        if one.issue is not None and issued:
            notes.known(("approvals", i, "issue"), str(one.issue), issued, "no issue of this job")
        elif one.issue is not None:  # the register is not there, as in a copy without it: no sum is wrong
            words = f"issue {one.issue} is not on file: what was approved cannot be compared line by line"
            notes.warn(("approvals", i, "issue"), words, "get issued/ back from the history")
        if one.limit <= 0:
            notes.error(("approvals", i, "limit"), "an approval of nothing: who says no is 'declined:'")
    last = record.delivered
    for i, back in enumerate(record.reopened):
        where: Where = ("reopened", i, "date")
        if last is None:
            notes.error(
                where, "opened again, and nobody says when it was delivered", "add 'delivered: ' before"
            )
        elif back.date < last:
            notes.error(where, f"{back.date} lies before it was delivered ({last})")
        if back.delivered and back.delivered < back.date:
            notes.error(
                ("reopened", i, "delivered"), f"{back.delivered} lies before it came back ({back.date})"
            )
        last = back.delivered
    for i, paid in enumerate(record.paid):
        if paid.amount == 0:
            notes.warn(("paid", i, "amount"), "nothing was paid")


def _work(notes: Notes, work: Work, job: JobFolder, engine: Engine | None) -> None:
    ids = {*(job.findings.findings if job.findings else ()), *work.decisions}
    links = [("labour", i, task.for_) for i, task in enumerate(work.labour)]
    links += [("sublet", i, sublet.for_) for i, sublet in enumerate(work.sublet)]
    links += [("parts", i, part.for_) for i, part in enumerate(work.parts)]
    for kind, i, named in links:
        notes.all_known((kind, i, "for"), named, ids, "no finding or decision of this job")
    for i, task in enumerate(work.labour):
        if task.hours is not None and task.price is not None:
            message = "both hours and a fixed price: which of them is charged?"
            notes.error(("labour", i, "price"), message, "leave one of them out", key=True)
    for i, discount in enumerate(work.discounts):
        if discount.take.amount == 0 or discount.take.percent == 0:
            notes.warn(("discounts", i, "take"), "this takes off nothing")
    ours = [name for name, option in work.options.items() if option.this_estimate]
    for name in ours[1:]:
        notes.error(("options", name, "this_estimate"), f"'{ours[0]}' is this estimate already")
    for name, option in work.options.items():
        if option.this_estimate and (option.lines or option.diagnosis_only):
            message = "this estimate is priced by its own lines: an option with lines is another one"
            notes.error(("options", name, "this_estimate"), message, "leave one of them out", key=True)
        for i, line in enumerate(option.lines):
            if line.hours is not None and line.price is not None:
                message = "both hours and a price: which of them is charged?"
                notes.error(
                    ("options", name, "lines", i, "price"), message, "leave one of them out", key=True
                )
    if engine:
        extra = {one.part for one in work.parts}
        for i, order in enumerate(work.orders):
            if engine.number_now(order.part) == order.part:  # an older number is as good
                _known_part(notes, ("orders", i, "part"), order.part, engine, extra)
            old = next(
                (one for one in (order.number, order.part) if one and engine.number_now(one) != one), ""
            )
            if old and order.received and not order.returned:
                key = "number" if old == order.number else "part"
                message = (
                    f"the old number {old} came, and the sheet has {engine.number_now(old)} in its place"
                )
                notes.warn(("orders", i, key), message, "see that it is the part that is wanted")
            _order_dates(notes, ("orders", i), order.ordered, order.received, order.returned)
        for part in work.customer_brings:
            _known_part(notes, ("customer_brings",), part, engine, extra)


def _known_part(notes: Notes, where: Where, part: str, engine: Engine, more: set[str]) -> None:
    known = {*engine.parts, *more}
    notes.known(where, part, known, "not among the sheet's parts", severity="warning", within=True)


def _order_dates(notes: Notes, where: Where, *days: object) -> None:
    names = ("ordered", "received", "returned")
    known = [(name, day) for name, day in zip(names, days, strict=True) if day is not None]
    for (before, first), (after, second) in pairwise(known):
        if second < first:  # type: ignore[operator]  # all are days
            notes.warn((*where, after), f"{after} {second} lies before {before} {first}")
