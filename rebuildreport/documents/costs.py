"""Parts and cost: price table, totals, approvals; in the public edition parts and work without amounts."""

from __future__ import annotations

from dataclasses import dataclass

from ..assess.model import Assessment, PriceLine
from .places import anchor
from .words import capital, count, day, joined, money, plain, runs, stop


@dataclass(frozen=True, slots=True)
class Line:
    line: int
    anchor: str
    name: str
    number: str
    because: str
    findings: tuple[tuple[str, int], ...]  # anchor and printed number
    quantity: str
    each: str
    amount: str
    core: str


@dataclass(frozen=True, slots=True)
class Group:
    title: str
    quantity_head: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Total:
    text: str
    amount: str
    role: str = ""  # "subtotal" or "final"


@dataclass(frozen=True, slots=True)
class CostView:
    title: str
    currency: str
    priced: bool
    groups: tuple[Group, ...]
    totals: tuple[Total, ...]
    approvals: tuple[str, ...]
    notes: tuple[str, ...]
    nothing: str
    numbers: bool  # any line carries a part number


def costs(one: Assessment, public: bool) -> CostView:
    """The section; ``public`` leaves out every amount, approval and price."""
    cost = one.cost
    printed = {finding.id: finding.number for finding in one.findings}
    headings = frozenset(finding.title for finding in one.findings)
    groups: list[Group] = []
    for name, title, head in (
        ("part", "Parts", "quantity"),
        ("sublet", "Work by others", ""),
        ("labour", "Our work", "hours"),
        ("consumable", "Small material", ""),
        ("discount", "Taken off", ""),
    ):
        mine = [line for line in cost.lines if line.group == name]
        lines = tuple(_line(line, printed, public, headings, cost.digits) for line in mine)
        if lines:
            groups.append(Group(title, head, lines))
    return CostView(
        title="Parts and work" if public else "Parts and cost",
        currency="" if public else cost.currency,
        priced=not public,
        groups=tuple(groups),
        totals=() if public or not cost.lines else _totals(one),
        approvals=() if public else tuple(_approvals(one)),
        notes=() if public else tuple(_notes(one)),
        nothing=""
        if cost.lines
        else ("No parts are listed yet." if public else "No estimate yet: nothing is priced."),
        numbers=any(line.number for line in cost.lines),
    )


def _line(
    line: PriceLine, printed: dict[str, int], public: bool, headings: frozenset[str], digits: int
) -> Line:
    quantity = plain(line.quantity)
    one_only = line.group != "part" and not line.unit and line.quantity == 1
    if line.unit == "h":
        quantity = f"{line.quantity:.1f}"
    elif one_only:
        quantity = ""
    unpriced = "" if public else "not priced"
    return Line(
        line=line.line,
        anchor=f"line-{line.line}",
        name=line.name,
        number=line.number,
        # a finding is linked by its number: its heading need not stand here too
        because="; ".join(why for why in line.because if why not in headings),
        findings=tuple(
            (anchor(f"finding-{name}"), printed[name]) for name in line.findings if name in printed
        ),
        quantity=quantity,
        each="" if public or one_only else money(line.each, digits),
        amount="" if public else (money(line.amount, digits) if line.amount is not None else unpriced),
        core="" if public or not line.core else money(line.core, digits),
    )


def _totals(one: Assessment) -> tuple[Total, ...]:
    cost, digits = one.cost, one.cost.digits
    rows: list[Total] = []
    for name, title, amount in (
        ("part", "Parts", cost.parts),
        ("sublet", "Work by others", cost.sublet),
        ("labour", f"Our work, {plain(cost.hours)} hours" if cost.hours else "Our work", cost.labour),
        ("consumable", "Small material", cost.consumables),
        ("discount", "Taken off", -cost.discount),
    ):
        numbers = [line.line for line in cost.lines if line.group == name]
        if numbers:
            where = f", line{'s' if len(numbers) > 1 else ''} {runs(numbers)}" if name != "labour" else ""
            rows.append(Total(f"{title}{where}", money(amount, digits)))
    if cost.tax_rate is not None:
        rows.append(Total("Net", money(cost.net, digits), "subtotal"))
        rows.append(Total(f"Tax, {plain(cost.tax_rate)}\u00a0%", money(cost.tax, digits)))
    elif cost.taxes:
        rows.append(Total("Net", money(cost.net, digits), "subtotal"))
        for tax in cost.taxes:
            title = f"Tax, {plain(tax.rate)}\u00a0% of {money(tax.net, digits)}"
            rows.append(Total(title, money(tax.tax, digits)))
    word = "Total so far, at least" if cost.minimum else "Total"
    rows.append(Total(f"{word}, {cost.currency}", money(cost.total, digits), "final"))
    if cost.core_deposit:
        held = "Deposit on old parts, untaxed, returned when they are accepted"
        rows.append(Total(held, money(cost.core_deposit, digits)))
        rows.append(Total("To pay until then", money(cost.to_pay, digits), "subtotal"))
    for paid in cost.paid:
        how = f", {paid.how}" if paid.how else ""
        rows.append(Total(f"Paid on {day(paid.date)}{how}", money(-paid.amount, digits)))
    if cost.balance is not None:
        word = "Still to pay" if cost.balance >= 0 else "To be paid back"
        rows.append(Total(word, money(abs(cost.balance), digits), "subtotal"))
    return tuple(rows)


def _approvals(one: Assessment) -> list[str]:
    if not one.cost.approvals:
        return ["None is recorded: no work beyond finding out is ordered."] if one.cost.lines else []
    digits = one.cost.digits
    return [
        f"{day(a.date)}, {a.by}, {a.how}: up to {money(a.limit, digits)}"
        + (f", {a.covers}" if a.covers else "")
        for a in one.cost.approvals
    ]


def _notes(one: Assessment) -> list[str]:
    cost = one.cost
    notes: list[str] = []
    if cost.minimum:
        what = (
            joined(cost.not_priced)
            if cost.not_priced
            else count(sum(c.amount is None for c in cost.lines), "line")
        )
        notes.append(f"The total is a minimum. Not priced yet: {stop(what)}")
    if cost.first_estimate is not None and cost.lines:
        gap = cost.total - cost.first_estimate
        word = "above" if gap > 0 else "below"
        if gap:
            first = money(cost.first_estimate, cost.digits)
            notes.append(f"The total is {money(abs(gap), cost.digits)} {word} the first estimate of {first}.")
    if cost.over_by is not None and cost.over_by > 0:
        over = money(cost.over_by, cost.digits)
        notes.append(f"It is {over} above the last approval: we need your word before going on.")
    elif cost.approvals and cost.lines:
        notes.append("The last approval covers it." if cost.over_by is not None or not cost.minimum else "")
    if cost.labour_rate is not None and any(line.group == "labour" for line in cost.lines):
        notes.append(f"Our hour is {money(cost.labour_rate, cost.digits)} {cost.currency} before tax.")
    if cost.prices_on is not None:
        notes.append(f"Prices as of {day(cost.prices_on)}.")
    return [capital(note) for note in notes if note]
