"""Whether the money of shop, sheet and job agrees: minor units, sets, orders, approvals, options."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from pydantic import BaseModel

from ...trade.estimating import sums
from ..files.commerce import LINE_CLASSES, OptionLine
from ..files.folder import JobFolder
from ..files.jobfile import Job, Labour, Work
from ..files.sheet import Engine
from ..files.shop import Shop
from ..text.notes import Notes, circle
from ..text.reader import Where

# decimals that are no money
_NOT_MONEY = frozenset({"tax", "hours", "spent", "percent"})
MOST_TAX = 100  # per cent
LEAST_TAX = 1  # per cent: less is more likely a share of one, as in 0.19 for 19 % (common sense)
THOUSANDS = 3  # digits after a point that may part thousands, as in 1.180


def check_shop_money(shop: Shop, notes: Notes) -> None:
    """The currency is one of ISO 4217, rates name known classes, mail goes out safely."""
    if shop.currency not in sums.DIGITS and len(shop.currency) == 3 and shop.currency.isupper():
        notes.known(("currency",), shop.currency, sums.DIGITS, "no current currency of ISO 4217")
    for i, rate in enumerate(shop.rates):
        for name in rate.tax_on:
            where: Where = ("rates", i, "tax_on", name)
            notes.known(where, name, LINE_CLASSES, "no class of lines", key=True)
    server = shop.mail.server if shop.mail and shop.mail.security == "none" else ""
    if server and server not in ("localhost", "::1") and not server.startswith("127."):
        message = "mail would leave this machine unprotected: 'none' is for a server on this very machine"
        notes.error(("mail", "security"), message, "starttls or tls")
    check_digits(notes, shop, shop.currency)
    _sense(notes, shop)


def check_sheet_money(engine: Engine, notes: Notes) -> None:
    """Sets hold known parts, and none holds itself."""
    notes.named(engine, ("parts.*.contains.@",), engine.parts, "not among the sheet's parts")
    for name in circle({name: part.contains for name, part in engine.parts.items()})[:1]:
        notes.error(("parts", name, "contains"), f"the set {name} would hold itself", key=True)
    for name, part in engine.parts.items():
        if part.pack < 1:
            notes.error(("parts", name, "pack"), "a pack holds at least one")
    _sense(notes, engine)


def check_job_money(
    job: JobFolder, notes: Mapping[str, Notes], engine: Engine | None, shop: Shop | None
) -> None:
    """Approvals, payments, work lines, options, orders and the job coming back."""
    for file, record in (("job", job.job), ("work", job.work)):
        if record is not None:
            check_digits(notes[file], record, shop.currency if shop else "EUR")
            _sense(notes[file], record)
    if job.job is not None:
        _record(notes["job"], job.job, job)
    if job.work is not None:
        _work(notes["work"], job.work, job)
        if engine:
            _goods(notes["work"], job.work, engine)


def check_digits(notes: Notes, record: BaseModel, code: str) -> None:
    """Amounts that cannot be paid in this currency, or that may be thousands."""
    most = sums.digits(code)
    coins = f"{code} has {most or 'no'} decimal{'' if most == 1 else 's'}"
    for where, amount in _decimals(record, ()):
        if where[-1] in _NOT_MONEY or "tax_on" in where:
            continue
        hint = str(sums.rounded(amount, code))
        if most < THOUSANDS and amount.as_tuple().exponent == -THOUSANDS:
            hint = f"{amount.scaleb(THOUSANDS).quantize(sums.step(code))}, or {hint}"
            notes.error(where, f"{amount} may be thousands: {coins} (ISO 4217)", hint)
        elif amount != round(amount, most):
            notes.error(where, f"{amount} cannot be paid: {coins} (ISO 4217)", hint)


def _sense(notes: Notes, record: BaseModel) -> None:
    """Prices, deposits and hours below nothing, and a tax that is larger than what it is on."""
    for where, amount in _decimals(record, ()):
        key = where[-1]
        tax = key == "tax" or "tax_on" in where
        if key in ("price", "core", "hours", "labour", "price_limit") and amount < 0:
            words = "what is taken off is a line of 'discounts:'"
            words = "an hour cannot be given back" if key == "hours" else words
            notes.error(where, f"{amount} is less than nothing: {words}", f"{-amount}")
        elif key == "labour" and 0 < amount < 1:
            message = f"an hour for {amount}: of no currency is that a wage"
            notes.warn(where, message, f"{(amount * 100).normalize():f}?")
        elif tax and amount > MOST_TAX:
            hint = f"{(amount / 100).normalize():f} %" if amount >= 500 else ""
            notes.error(where, f"a tax of {amount} % is more than the line itself", hint)
        elif tax and 0 < amount < LEAST_TAX:
            hint = f"{(amount * 100).normalize():f} %"
            notes.warn(where, f"a tax of {amount} %, less than one in a hundred: is that meant?", hint)


def _decimals(thing: object, where: Where) -> Iterator[tuple[Where, Decimal]]:
    """Every decimal of a record, each with its place."""
    inside: Iterable[tuple[str | int, object]] = ()
    if isinstance(thing, Decimal):
        yield where, thing
    elif isinstance(thing, BaseModel):
        fields = type(thing).model_fields.items()
        inside = ((info.alias or name, getattr(thing, name)) for name, info in fields)
    elif isinstance(thing, (dict, list)):
        inside = thing.items() if isinstance(thing, dict) else enumerate(thing)
    for key, item in inside:
        if isinstance(item, (Decimal, BaseModel, dict, list)):  # nine of ten are plain text
            yield from _decimals(item, (*where, key))


def _record(notes: Notes, record: Job, job: JobFolder) -> None:
    issued = {str(issue.number) for issue in job.issued.issues} | {str(one.issue) for one in record.issued}
    for i, approval in enumerate(record.approvals):
        if approval.issue is not None and issued:
            notes.known(("approvals", i, "issue"), str(approval.issue), issued, "no issue of this job")
        elif approval.issue is not None:  # the register is not there, as in a copy without it
            words = "what was approved cannot be compared line by line"
            words = f"issue {approval.issue} is not on file: {words}"
            notes.warn(("approvals", i, "issue"), words, "get issued/ back from the history")
        if approval.limit <= 0:
            notes.error(("approvals", i, "limit"), "an approval of nothing: who says no is 'declined:'")
    for i, paid in enumerate(record.paid):
        if paid.amount == 0:
            notes.warn(("paid", i, "amount"), "nothing was paid")
    # each time it came back it had been delivered before, and is delivered after
    last = record.delivered
    for i, back in enumerate(record.reopened):
        where: Where = ("reopened", i, "date")
        if last is None:
            hint = "add 'delivered: ' before"
            notes.error(where, "opened again, and nobody says when it was delivered", hint)
        elif back.date < last:
            notes.error(where, f"{back.date} lies before it was delivered ({last})")
        if back.delivered and back.delivered < back.date:
            message = f"{back.delivered} lies before it came back ({back.date})"
            notes.error(("reopened", i, "delivered"), message)
        last = back.delivered


def _work(notes: Notes, work: Work, job: JobFolder) -> None:
    ids = {*job.seen, *work.decisions}
    paths = [f"{key}.*.for" for key in ("labour", "sublet", "parts")]
    if not job.unread("findings"):
        notes.named(work, paths, ids, "no finding or decision of this job")
    for i, task in enumerate(work.labour):
        _hours_or_price(notes, ("labour", i), task, "a fixed price")
        if task.access and (task.hours is not None or task.price is not None):
            message = "hours of the access plan, and others beside them: which are charged?"
            notes.error(("labour", i, "access"), message, "leave one of them out", key=True)
        elif task.access and work.access is None:
            message = "there is no access plan: nothing says what is to come off"
            notes.error(("labour", i, "access"), message, "add 'access:' with 'off: crankshaft'", key=True)
    for i, discount in enumerate(work.discounts):
        if discount.take.amount == 0 or discount.take.percent == 0:
            notes.warn(("discounts", i, "take"), "this takes off nothing")
    # at most one way to go on is this estimate, and that one has no lines of its own
    ours = [name for name, option in work.options.items() if option.this_estimate]
    for name in ours[1:]:
        notes.error(("options", name, "this_estimate"), f"'{ours[0]}' is this estimate already")
    for name, option in work.options.items():
        if option.this_estimate and (option.lines or option.diagnosis_only):
            message = "this estimate is priced by its own lines: an option with lines is another one"
            notes.error(("options", name, "this_estimate"), message, "leave one of them out", key=True)
        for i, line in enumerate(option.lines):
            _hours_or_price(notes, ("options", name, "lines", i), line, "a price")


def _hours_or_price(notes: Notes, where: Where, line: Labour | OptionLine, price: str) -> None:
    if line.hours is not None and line.price is not None:
        message = f"both hours and {price}: which of them is charged?"
        notes.error((*where, "price"), message, "leave one of them out", key=True)


def _goods(notes: Notes, work: Work, engine: Engine) -> None:
    """Parts that are ordered or brought are the sheet's, and days of an order follow each other."""
    known = {*engine.parts, *(extra.part for extra in work.parts)}
    known |= {order.part for order in work.orders if engine.number_now(order.part) != order.part}
    paths = ("orders.*.part", "customer_brings")  # an older number is as good
    notes.named(work, paths, known, "not among the sheet's parts", "warning")
    for i, order in enumerate(work.orders):
        numbers = {"number": order.number, "part": order.part}
        older = [key for key, number in numbers.items() if number and engine.number_now(number) != number]
        if older and order.received and not order.returned:
            old = numbers[older[0]]
            message = f"the old number {old} came, and the sheet has {engine.number_now(old)} in its place"
            notes.warn(("orders", i, older[0]), message, "see that it is the part that is wanted")
        days = {"ordered": order.ordered, "received": order.received, "returned": order.returned}
        notes.in_order(("orders", i), days)
