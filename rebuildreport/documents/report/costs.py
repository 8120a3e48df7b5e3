"""Parts and cost: price table, totals, approvals; in the public edition parts and work without amounts.

In: an Assessment.  Out: the section as text.  Adds up nothing: every sum stands in the Assessment.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from ...assess.model.assessment import Assessment, PriceLine
from ...assess.model.prices import Cost
from ...quantities import message
from ..press.language import NBSP, say, spoken, told
from ..press.templating import anchor
from ..press.words import capital, day, joined, money, plain, runs, stop
from .money_tables import TableView, stays

REASONS = 3  # of one line that are told in words; findings, decisions and values are linked besides
Sum = tuple[str, Decimal, str]  # what it is, the amount, its role
# each class of lines: its title, and what stands over its quantities
GROUPS = (
    ("part", message("Parts"), message("quantity")),
    ("sublet", message("Work by others"), ""),
    ("labour", message("Our work"), message("hours")),
    ("consumable", message("Small material"), ""),
    ("discount", message("Taken off"), ""),
)


@dataclass(frozen=True, slots=True)
class PrintedLine:
    line: int
    anchor: str
    name: str
    number: str
    because: str
    links: tuple[tuple[str, str], ...]  # anchor and words of each record that it rests on
    quantity: str
    each: str
    amount: str
    core: str


@dataclass(frozen=True, slots=True)
class CostGroup:
    title: str
    quantity_head: str
    lines: tuple[PrintedLine, ...]
    reasons: bool = True  # whether any line says why it is there


@dataclass(frozen=True, slots=True)
class CostTotal:
    text: str
    amount: str
    role: str = ""  # "subtotal" or "final"


@dataclass(frozen=True, slots=True)
class CostView:
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


def costs(job: Assessment, public: bool, drawn: Collection[str] = ()) -> CostView:
    """The section; ``public`` leaves out every amount, approval and price.

    ``drawn`` are the anchors of the values that the document shows, for lines to link to.
    """
    cost = job.cost
    in_public = CostView(
        title=say("Parts and work"),
        currency="",
        priced=False,
        groups=tuple(_groups(cost, _Lines(job, public, drawn))),
        totals=(),
        approvals=(),
        notes=(),
        nothing="" if cost.lines else say("No parts are listed yet."),
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
        nothing="" if cost.lines else say("No estimate yet: nothing is priced."),
        stays=stays(job),
    )


def _groups(cost: Cost, lines: _Lines) -> Iterator[CostGroup]:
    for name, title, head in GROUPS:
        group = [line for line in cost.lines if line.group == name]
        by_the_hour = any(line.unit for line in group)
        head = "" if name == "labour" and not by_the_hour else head
        if group:
            printed = tuple(map(lines.printed, group))
            reasons = any(line.because or line.links for line in printed)
            yield CostGroup(say(title), say(head) if head else "", printed, reasons)


@dataclass(frozen=True, slots=True)
class _Lines:
    """How the lines of one job are printed."""

    job: Assessment
    public: bool
    drawn: Collection[str]

    def printed(self, line: PriceLine) -> PrintedLine:
        links = tuple(self._links(line))
        # a fixed price for one piece of work: neither its quantity nor its price each says anything
        whole = line.group != "part" and not line.unit and line.quantity == 1
        return PrintedLine(
            line=line.line,
            anchor=f"line-{line.line}",
            name=told(line.name),
            number=line.number,
            because=self._because(line, bool(links)),
            links=links,
            quantity="" if whole else _quantity(line),
            each="" if self.public or whole else self._amount(line.each),
            amount="" if self.public else self._amount(line.amount) or say("not priced"),
            core="" if self.public or not line.core else self._amount(line.core),
        )

    def _amount(self, amount: Decimal | None) -> str:
        return money(amount, self.job.cost.digits)

    def _because(self, line: PriceLine, linked: bool) -> str:
        """Why a line is there; a finding is linked by its number, its heading need not stand here too."""
        headings = {told(finding.title) for finding in self.job.findings}
        reasons = [why for why in map(told, line.because) if why and why not in headings]
        if len(reasons) > REASONS + 1:  # one more is told sooner than that there is one more
            said = "; ".join(reasons[:REASONS])
            return say("{reasons}; and {count} more", reasons=said, count=len(reasons) - REASONS)
        if reasons or linked or line.group in ("discount", "consumable"):
            return "; ".join(reasons)
        # hours that no line of its own asked for are for the job itself; of anything else that is no reason
        return say("for the work as a whole" if line.group == "labour" else "no reason written")

    def _links(self, line: PriceLine) -> Iterator[tuple[str, str]]:
        """Findings by number, decisions by name, and what was measured, where the document shows it."""
        numbers = {finding.id: finding.number for finding in self.job.findings}
        for name in line.findings:
            if name in numbers:
                yield anchor(f"finding-{name}"), f"{say('finding')}{NBSP}{numbers[name]}"
        for name in line.decisions:
            yield anchor(f"decision-{name}"), f"{say('decision')}{NBSP}{name}"
        values = [value for key in line.values if (value := self.job.find(key)) is not None]
        marks = dict.fromkeys(anchor(f"m-{value.feature}-{value.name}") for value in values)
        shown = [mark for mark in marks if mark in self.drawn]
        for number, mark in enumerate(shown, 1):
            yield mark, say("measured") + (f"{NBSP}({number})" if len(shown) > 1 else "")


def _quantity(line: PriceLine) -> str:
    return spoken().hours(line.quantity) if line.unit == "h" else plain(line.quantity)


def _totals(cost: Cost) -> Iterator[CostTotal]:
    """The sums in the order in which they are added up, then what was paid of them."""
    for text, amount, role in (*_sums(cost), *_taxes(cost), *_to_pay(cost)):
        yield CostTotal(text, money(amount, cost.digits), role)


def _sums(cost: Cost) -> Iterator[Sum]:
    sums = {
        "part": cost.parts,
        "sublet": cost.sublet,
        "labour": cost.labour,
        "consumable": cost.consumables,
        "discount": -cost.discount,
    }
    for name, title, _ in GROUPS:
        numbers = [line.line for line in cost.lines if line.group == name]
        if numbers:
            yield _summed(say(title), numbers, cost.hours if name == "labour" else None), sums[name], ""


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


def _summed(title: str, numbers: list[int], hours: Decimal | None) -> str:
    """What a sum is of: its lines, or of our own work its hours."""
    if hours is not None:
        return say("{title}, {hours} hours", title=title, hours=plain(hours)) if hours else title
    words = message("{title}, line {lines}" if len(numbers) == 1 else "{title}, lines {lines}")
    return say(words, title=title, lines=runs(numbers))


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
        what = joined(map(told, cost.not_priced)) or say("some lines")
        yield say("The total is a minimum. Not priced yet: {what}", what=stop(what))
    yield from _against_the_first(cost)
    yield from _against_the_approval(cost)
    if cost.labour_rate is not None and any(line.unit == "h" for line in cost.lines):
        rate = spoken().money(cost.labour_rate, cost.currency, cost.digits)
        yield say("Our hour is {rate} before tax.", rate=rate)
    yield from _prices_of_days(cost)
    for why in cost.stops if cost.over_by is None else ():
        yield say("Work stops until you have approved it: {why}", why=stop(told(why)))


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
        words = message("It is {over} above the last approval: we need your word before going on.")
        yield say(words, over=money(cost.over_by, cost.digits))
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
