"""Whether the prices that a document states add up: lines, tax of each rate, totals.

The prices themselves are the shop's and no records prove them; their sums anybody can work out.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ...assess.model.prices import Cost, Option
from ...trade.estimating.sums import amount, share

_NOTHING = Decimal(0)


def not_adding_up(cost: Cost) -> Iterator[tuple[str, Decimal, Decimal]]:
    """What it is, as stated, and what it comes to, wherever the two differ."""
    both: tuple[Cost | Option, ...] = (cost, *cost.options)
    for sums in both:
        for line in sums.lines:
            if line.each is not None and line.amount is not None:
                yield from _unlike(
                    f"line {line.line}", line.amount, amount(line.quantity, line.each, cost.currency)
                )
        if any(line.amount is not None for line in sums.lines):  # the public edition has no amounts
            yield from _unlike(_named(sums, "net"), sums.net, _sum(line.amount for line in sums.lines))
        yield from _unlike(_named(sums, "total"), sums.total, sums.net + sums.tax)
    for rate in cost.taxes:
        yield from _unlike(f"tax of {rate.rate} %", rate.tax, share(rate.rate, rate.net, cost.currency))
    if cost.taxes:
        yield from _unlike("net of all rates", cost.net, _sum(rate.net for rate in cost.taxes))
        yield from _unlike("tax", cost.tax, _sum(rate.tax for rate in cost.taxes))
    groups = {
        "part": cost.parts,
        "sublet": cost.sublet,
        "labour": cost.labour,
        "consumable": cost.consumables,
    }
    for group, stated in groups.items():
        if stated:
            found = _sum(line.amount for line in cost.lines if line.group == group)
            yield from _unlike(f"all lines of {group}", stated, found)
    yield from _unlike("to pay", cost.to_pay, cost.total + cost.core_deposit + cost.stays)
    if cost.balance is not None:
        yield from _unlike("still to pay", cost.balance, cost.to_pay - _sum(one.amount for one in cost.paid))


def _named(sums: Cost | Option, what: str) -> str:
    return what if isinstance(sums, Cost) else f"{what} of the option {sums.id}"


def _sum(amounts: Iterator[Decimal | None]) -> Decimal:
    return sum((one for one in amounts if one is not None), _NOTHING)


def _unlike(what: str, stated: Decimal, found: Decimal | None) -> Iterator[tuple[str, Decimal, Decimal]]:
    if found is not None and stated != found:
        yield what, stated, found
