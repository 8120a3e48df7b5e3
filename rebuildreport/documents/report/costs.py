"""Parts and cost: price table, totals, approvals; in the public edition parts and work without amounts."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from ...assess.model.assessment import Assessment, PriceLine
from ..press.language import NBSP, PLAIN, Language
from ..press.templating import anchor
from ..press.words import capital, runs, stop
from .moneytables import TableView, stays

# heads of the price table
HEADS = ("line", "number", "because", "quantity", "hours", "each", "deposit")


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
    approval_head: str = "Approval"
    heads: Mapping[str, str] = field(default_factory=lambda: {name: name for name in HEADS})
    stays: TableView | None = None  # where the engine came back


def costs(one: Assessment, public: bool, say: Language = PLAIN, drawn: Collection[str] = ()) -> CostView:
    """The section; ``public`` leaves out every amount, approval and price.

    ``drawn`` are the anchors of the values that the document shows, for lines to link to.
    """
    cost = one.cost
    printed = {finding.id: finding.number for finding in one.findings}
    headings = frozenset(say.told(finding.title) for finding in one.findings)
    groups: list[CostGroup] = []
    for name, title, head in (
        ("part", "Parts", "quantity"),
        ("sublet", "Work by others", ""),
        ("labour", "Our work", "hours"),
        ("consumable", "Small material", ""),
        ("discount", "Taken off", ""),
    ):
        mine = [line for line in cost.lines if line.group == name]
        if name == "labour" and not any(line.unit for line in mine):
            head = ""
        lines = tuple(_line(one, line, printed, public, headings, drawn, say) for line in mine)
        if lines:
            reasons = any(line.because or line.links for line in lines)
            groups.append(CostGroup(say(title), say(head) if head else "", lines, reasons))
    nothing = "No parts are listed yet." if public else "No estimate yet: nothing is priced."
    return CostView(
        title=say("Parts and work" if public else "Parts and cost"),
        currency="" if public else cost.currency,
        priced=not public,
        groups=tuple(groups),
        totals=() if public or not cost.lines else _totals(one, say),
        approvals=() if public else tuple(_approvals(one, say)),
        notes=() if public else tuple(_notes(one, say)),
        nothing="" if cost.lines else say(nothing),
        numbers=any(line.number for line in cost.lines),
        approval_head=say("Approval"),
        heads={name: say(name) for name in HEADS},
        stays=None if public else stays(one, say),
    )


def _line(
    one: Assessment,
    line: PriceLine,
    printed: dict[str, int],
    public: bool,
    headings: frozenset[str],
    drawn: Collection[str],
    say: Language,
) -> PrintedLine:
    digits = one.cost.digits
    quantity = say.number(line.quantity)
    one_only = line.group != "part" and not line.unit and line.quantity == 1
    if line.unit == "h":
        quantity = say.hours(line.quantity)
    elif one_only:
        quantity = ""
    unpriced = "" if public else say("not priced")
    links = _links(one, line, printed, drawn, say)
    # a finding is linked by its number: its heading need not stand here too
    reasons = [say.told(why) for why in line.because]
    because = "; ".join(why for why in reasons if why not in headings)
    if not because and not links and line.group not in ("discount", "consumable"):
        # hours that no line of its own asked for are for the job itself; of anything else that is no reason
        because = say("for the work as a whole" if line.group == "labour" else "no reason written")
    return PrintedLine(
        line=line.line,
        anchor=f"line-{line.line}",
        name=say.told(line.name),
        number=line.number,
        because=because,
        links=links,
        quantity=quantity,
        each="" if public or one_only else say.amount(line.each, digits),
        amount="" if public else (say.amount(line.amount, digits) if line.amount is not None else unpriced),
        core="" if public or not line.core else say.amount(line.core, digits),
    )


def _links(
    one: Assessment, line: PriceLine, printed: dict[str, int], drawn: Collection[str], say: Language
) -> tuple[tuple[str, str], ...]:
    """Findings by number, decisions by name, and what was measured, where the document shows it."""
    found = [
        (anchor(f"finding-{name}"), f"{say('finding')}{NBSP}{printed[name]}")
        for name in line.findings
        if name in printed
    ]
    found += [(anchor(f"decision-{name}"), f"{say('decision')}{NBSP}{name}") for name in line.decisions]
    values = [value for key in line.values if (value := one.find(key)) is not None]
    marks = dict.fromkeys(anchor(f"m-{value.feature}-{value.name}") for value in values)
    shown = [mark for mark in marks if mark in drawn]
    for number, mark in enumerate(shown, 1):
        found.append((mark, say("measured") + (f"{NBSP}({number})" if len(shown) > 1 else "")))
    return tuple(found)


def _totals(one: Assessment, say: Language) -> tuple[CostTotal, ...]:
    cost, digits = one.cost, one.cost.digits
    rows: list[CostTotal] = []
    for name, title, amount in (
        ("part", say("Parts"), cost.parts),
        ("sublet", say("Work by others"), cost.sublet),
        ("labour", say("Our work"), cost.labour),
        ("consumable", say("Small material"), cost.consumables),
        ("discount", say("Taken off"), -cost.discount),
    ):
        numbers = [line.line for line in cost.lines if line.group == name]
        if name == "labour" and numbers:
            hours = say("{title}, {hours} hours", title=title, hours=say.number(cost.hours))
            rows.append(CostTotal(hours if cost.hours else title, say.amount(amount, digits)))
        elif numbers:
            words = "{title}, line {lines}" if len(numbers) == 1 else "{title}, lines {lines}"
            lines = runs(numbers).replace(" to ", f" {say('to')} ").replace(" and ", f" {say('and')} ")
            rows.append(CostTotal(say(words, title=title, lines=lines), say.amount(amount, digits)))
    if cost.tax_rate is not None:
        rows.append(CostTotal(say("Net"), say.amount(cost.net, digits), "subtotal"))
        title = say("Tax, {percent}", percent=say.percent(cost.tax_rate))
        rows.append(CostTotal(title, say.amount(cost.tax, digits)))
    elif cost.taxes:
        rows.append(CostTotal(say("Net"), say.amount(cost.net, digits), "subtotal"))
        for tax in cost.taxes:
            net = say.amount(tax.net, digits)
            title = say("Tax, {percent} of {net}", percent=say.percent(tax.rate), net=net)
            rows.append(CostTotal(title, say.amount(tax.tax, digits)))
    word = say("Total so far, at least" if cost.minimum else "Total")
    rows.append(CostTotal(f"{word}, {cost.currency}", say.amount(cost.total, digits), "final"))
    if cost.stays:
        later = say("Later stays in the shop, on your account, with tax")
        rows.append(CostTotal(later, say.amount(cost.stays, digits)))
    if cost.core_deposit:
        held = say("Deposit on old parts, untaxed, returned when they are accepted")
        rows.append(CostTotal(held, say.amount(cost.core_deposit, digits)))
        rows.append(CostTotal(say("To pay until then"), say.amount(cost.to_pay, digits), "subtotal"))
    elif cost.stays:
        rows.append(CostTotal(say("To pay in all"), say.amount(cost.to_pay, digits), "subtotal"))
    for paid in cost.paid:
        how = f", {paid.how}" if paid.how else ""
        words = say("Paid on {day}", day=say.day(paid.date))
        rows.append(CostTotal(f"{words}{how}", say.amount(-paid.amount, digits)))
    if cost.balance is not None:
        word = say("Still to pay" if cost.balance >= 0 else "To be paid back")
        rows.append(CostTotal(word, say.amount(abs(cost.balance), digits), "subtotal"))
    return tuple(rows)


def _approvals(one: Assessment, say: Language) -> list[str]:
    if not one.cost.approvals:
        return [say("None is recorded: no work beyond finding out is ordered.")] if one.cost.lines else []
    digits = one.cost.digits
    return [
        say(
            "{day}, {by}, {how}: up to {limit}",
            day=say.day(a.date),
            by=say(a.by),
            how=say(a.how),
            limit=say.amount(a.limit, digits),
        )
        + (f", {a.covers}" if a.covers else "")
        for a in one.cost.approvals
    ]


def _notes(one: Assessment, say: Language) -> list[str]:
    cost = one.cost
    notes: list[str] = []

    def amount(found: object) -> str:
        return say.amount(found, cost.digits)  # type: ignore[arg-type]

    if cost.minimum:
        what = say.listed(map(say.told, cost.not_priced)) or say("some lines")
        notes.append(say("The total is a minimum. Not priced yet: {what}", what=stop(what)))
    if cost.first_estimate is not None and cost.lines:
        gap = cost.total - cost.first_estimate
        words = "The total is {gap} above the first estimate of {first}."
        if gap < 0:
            words = "The total is {gap} below the first estimate of {first}."
        if gap:
            notes.append(say(words, gap=amount(abs(gap)), first=amount(cost.first_estimate)))
    if cost.over_by is not None and cost.over_by > 0:
        words = "It is {over} above the last approval: we need your word before going on."
        notes.append(say(words, over=amount(cost.over_by)))
    elif cost.approvals and cost.lines and (cost.over_by is not None or not cost.minimum):
        notes.append(say("The last approval covers it."))
    if cost.labour_rate is not None and any(line.unit == "h" for line in cost.lines):
        rate = say.money(cost.labour_rate, cost.currency, cost.digits)
        notes.append(say("Our hour is {rate} before tax.", rate=rate))
    if cost.prices_on is not None:
        notes.append(say("Prices as of {day}.", day=say.day(cost.prices_on)))
    for day in sorted({line.price_on for line in cost.lines if line.price_on and line.amount}):
        numbers = [line.line for line in cost.lines if line.price_on == day and line.amount]
        words = (
            "Price of line {lines} as of {day}."
            if len(numbers) == 1
            else "Prices of lines {lines} as of {day}."
        )
        notes.append(say(words, lines=runs(numbers), day=say.day(day)))
    for why in cost.stops if cost.over_by is None else ():
        notes.append(say("Work stops until you have approved it: {why}", why=stop(say.told(why))))
    return [capital(note) for note in notes if note]
