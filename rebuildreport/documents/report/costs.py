"""Parts and cost: price table, totals, approvals; in the public edition parts and work without amounts.

In: an Assessment.  Out: the section as text.  Adds up nothing: every sum stands in the Assessment.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment, PriceLine
from ...assess.model.prices import Cost
from ...quantities import Sentence, Several, Text, message
from ..press.enginewords import numbered
from ..press.language import say, spoken, told
from ..press.templating import anchor
from ..press.words import capital, day, money, place, plain, runs, stop
from .money_tables import TableView, stays

WORDS = 6  # of one reason: a longer one belongs to the finding
Sum = tuple[str, Decimal, str]  # what it is, the amount, its role
# each class of lines: its title
GROUPS = (
    ("part", message("Parts")),
    ("sublet", message("Work by others")),
    ("labour", message("Our work")),
    ("consumable", message("Small material")),
    ("discount", message("Taken off")),
)


class PrintedLine(Struct, frozen=True):
    line: int
    anchor: str
    name: str
    number: str
    because: str
    findings: tuple[tuple[str, int], ...]  # anchor and number of each that asks for it
    quantity: str
    each: str
    amount: str
    core: str


class CostGroup(Struct, frozen=True):
    title: str
    sum: str
    lines: tuple[PrintedLine, ...]


class CostTotal(Struct, frozen=True):
    text: str
    amount: str
    role: str = ""  # "subtotal" or "final"


class CostView(Struct, frozen=True):
    title: str
    currency: str
    priced: bool
    groups: tuple[CostGroup, ...]
    totals: tuple[CostTotal, ...]
    approvals: tuple[str, ...]
    notes: tuple[str, ...]
    nothing: str
    numbers: bool  # any line carries a part number
    stays: TableView | None = None  # where the engine came back


def costs(job: Assessment, public: bool) -> CostView:
    """The section; ``public`` leaves out every amount, approval and price."""
    cost = job.cost
    in_public = CostView(
        title=say("Parts and work"),
        currency="",
        priced=False,
        groups=tuple(_groups(job, public)),
        totals=(),
        approvals=(),
        notes=(),
        nothing="" if cost.lines else say("Nothing was bought: the work was declined."),
        numbers=any(line.number for line in cost.lines),
    )
    if public:
        return in_public
    return replace(
        in_public,
        title=say("Parts and cost"),
        currency=cost.currency,
        priced=True,
        totals=tuple(_totals(cost)) if cost.lines else (),
        approvals=tuple(_approvals(cost)),
        notes=tuple(map(capital, _notes(cost))),
        stays=stays(job),
    )


def _groups(job: Assessment, public: bool) -> Iterator[CostGroup]:
    cost = job.cost
    sums = {
        "part": cost.parts,
        "sublet": cost.sublet,
        "labour": cost.labour,
        "consumable": cost.consumables,
        "discount": -cost.discount,
    }
    for name, title in GROUPS:
        lines = tuple(_printed(job, line, public) for line in cost.lines if line.group == name)
        said = say(title)
        if name == "labour" and cost.hours:
            said = say("{title}, {hours} hours", title=said, hours=plain(cost.hours))
        if lines:
            yield CostGroup(said, "" if public else money(sums[name], cost.digits), lines)


def _printed(job: Assessment, line: PriceLine, public: bool) -> PrintedLine:
    numbers = {finding.id: finding.number for finding in job.findings}
    findings = tuple((anchor(f"finding-{name}"), numbers[name]) for name in line.findings if name in numbers)
    # a fixed price for one piece of work: neither its quantity nor its price each says anything
    whole = line.group != "part" and not line.unit and line.quantity == 1
    digits = job.cost.digits
    return PrintedLine(
        line=line.line,
        anchor=f"line-{line.line}",
        name=told(line.name),
        number=line.number,
        because=_because(job, line, bool(findings)),
        findings=findings,
        quantity="" if whole else _quantity(line),
        each="" if public or whole else money(line.each, digits),
        amount="" if public else money(line.amount, digits) or say("not priced"),
        core="" if public or not line.core else money(line.core, digits),
    )


def _because(job: Assessment, line: PriceLine, linked: bool) -> str:
    """Why a line is there, in six words at most; a finding is named by its number, not by its heading."""
    # of its own findings alone: what another one is called may well be the reason that was typed here
    headings = {finding.title for finding in job.findings if finding.id in line.findings}
    reasons = [numbered(told(why), job) for why in line.because if why not in headings and told(why)]
    # a line that is for a decision and says no more is there for that one's reason
    reasons = reasons or [one.why for one in job.decisions if one.id in line.decisions and not linked]
    if not reasons:
        if linked:
            return say("what was found")
        if line.group in ("discount", "consumable"):
            return ""
        # hours that no line of its own asked for are for the job itself; of anything else that is no reason
        return say("for the work as a whole" if line.group == "labour" else "no reason written")
    fits = (why for why in reasons if len(why.split()) <= WORDS)
    return next(fits, "") or first_clause(min(reasons, key=len))


def first_clause(reason: str) -> str:
    """What a reason begins with, a line of prices has room for no more; a sign where that is half of it.

    >>> first_clause("a piston had scuffed, and a bad spray can start that"), first_clause("opened: the sump")
    ('a piston had scuffed …', 'opened')
    """
    ends = re.search(r"[;:,](?=\s)", reason)
    # what stands before a semicolon or a colon is whole
    return reason[: ends.start()] + " …" * (ends[0] == ",") if ends else reason


def _quantity(line: PriceLine) -> str:
    return spoken().hours(line.quantity) if line.unit == "h" else plain(line.quantity)


def _totals(cost: Cost) -> Iterator[CostTotal]:
    """The sums in the order in which they are added up, then what was paid of them."""
    for text, amount, role in (*_taxes(cost), *_to_pay(cost)):
        yield CostTotal(text, money(amount, cost.digits), role)


def _taxes(cost: Cost) -> Iterator[Sum]:
    if cost.tax_rate is not None or cost.taxes:
        yield say("Net"), cost.net, "subtotal"
    if cost.tax_rate is not None:
        yield say("Tax, {percent}", percent=spoken().percent(cost.tax_rate)), cost.tax, ""
    for tax in cost.taxes if cost.tax_rate is None else ():
        net = money(tax.net, cost.digits)
        yield say("Tax, {percent} of {net}", percent=spoken().percent(tax.rate), net=net), tax.tax, ""
    word = say("Total so far, at least" if cost.minimum else "Total")
    yield f"{word}, {cost.currency}", cost.total, "final"


def _to_pay(cost: Cost) -> Iterator[Sum]:
    if cost.stays:
        yield say("Later stays in the shop, on your account, with tax"), cost.stays, ""
    if cost.core_deposit:
        held = say("Deposit on old parts, untaxed, returned when they are accepted")
        yield held, cost.core_deposit, ""
        yield say("To pay until then"), cost.to_pay, "subtotal"
    elif cost.stays:
        yield say("To pay in all"), cost.to_pay, "subtotal"
    for paid in cost.paid:
        how = f", {paid.how}" if paid.how else ""
        yield say("Paid on {day}", day=day(paid.date)) + how, -paid.amount, ""
    if cost.balance is not None:
        word = say("Still to pay" if cost.balance >= 0 else "To be paid back")
        yield word, abs(cost.balance), "subtotal"


def _approvals(cost: Cost) -> Iterator[str]:
    if cost.lines and not cost.approvals:
        yield say("None is recorded: no work beyond finding out is ordered.")
    for given in cost.approvals:
        said = say(
            "{day}, {by}, {how}: up to {limit}",
            day=day(given.date),
            by=say(given.by),
            how=say(given.how),
            limit=money(given.limit, cost.digits),
        )
        yield f"{said}, {given.covers}" if given.covers else said


def _notes(cost: Cost) -> Iterator[str]:
    if cost.minimum:
        yield from _not_in_it(cost)
    yield from _against_the_first(cost)
    yield from _against_the_approval(cost)
    if cost.labour_rate is not None and any(line.unit == "h" for line in cost.lines):
        rate = spoken().money(cost.labour_rate, cost.currency, cost.digits)
        yield say("Our hour is {rate} before tax.", rate=rate)
    yield from _prices_of_days(cost)


def _not_in_it(cost: Cost) -> Iterator[str]:
    # lines without a price show it themselves: named here is what has no line
    lines = {told(line.name) for line in cost.lines}
    unlisted = _together([what for what in cost.not_priced if told(what) not in lines])
    yield say("The total is a minimum: what has no price is not in it.")
    if unlisted:
        yield say("Not in it either: {what}", what=stop(place("; ".join(map(told, unlisted)))))


def _together(texts: Sequence[Text]) -> list[Text]:
    """What is said of several things, said once: 'main journals M4; rod journals R3: not decided yet'."""
    alike: dict[str, list[Text]] = {}
    others: list[Text] = []
    for text in texts:
        what = text.values.get("what") if isinstance(text, Sentence) and len(text.values) == 1 else None
        if isinstance(text, Sentence) and isinstance(what, Text):
            alike.setdefault(text.pattern, []).append(what)
        else:
            others.append(text)
    return [*others, *(Sentence(words, what=Several(what, "; ")) for words, what in alike.items())]


def _against_the_first(cost: Cost) -> Iterator[str]:
    if cost.first_estimate is None or not cost.lines or cost.total == cost.first_estimate:
        return
    words = message("The total is {gap} above the first estimate of {first}.")
    if cost.total < cost.first_estimate:
        words = message("The total is {gap} below the first estimate of {first}.")
    gap = money(abs(cost.total - cost.first_estimate), cost.digits)
    yield say(words, gap=gap, first=money(cost.first_estimate, cost.digits))


def _against_the_approval(cost: Cost) -> Iterator[str]:
    if cost.over_by is not None and cost.over_by > 0:
        yield say("It is {over} above the last approval.", over=money(cost.over_by, cost.digits))
    # a minimum that nobody holds against the approval may yet grow past it
    elif cost.approvals and cost.lines and (cost.over_by is not None or not cost.minimum):
        yield say("The last approval covers it.")


def _prices_of_days(cost: Cost) -> Iterator[str]:
    """How old the prices are: of the sheet, and of lines that were priced on another day."""
    if cost.prices_on is not None:
        yield say("Prices as of {day}.", day=day(cost.prices_on))
    priced: dict[date, list[int]] = {}
    for line in cost.lines:
        if line.price_on and line.amount:
            priced.setdefault(line.price_on, []).append(line.line)
    for when in sorted(priced):
        words = message("Prices of lines {lines} as of {day}.")
        if len(priced[when]) == 1:
            words = message("Price of line {lines} as of {day}.")
        yield say(words, lines=runs(priced[when]), day=day(when))
