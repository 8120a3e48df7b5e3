"""Money in exact decimals: lines, discounts, tax by rate, total; a line without a price makes a minimum.

The one rounding rule: every printed amount is rounded to the currency's minor
unit, halves away from zero; tax is worked out once for each rate, on the sum
of the lines taxed by it.  Printed amounts therefore add up as printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_DOWN, Decimal

from msgspec import Struct

from ...quantities import message
from .currency import rounded, step

HUNDRED = Decimal(100)
ROUNDING = message(
    "Each amount is rounded to the smallest coin, halves up; tax is worked out once for each rate, "
    "on the sum of the lines taxed by it."
)


def amount(quantity: Decimal, each: Decimal | None, code: str = "EUR") -> Decimal | None:
    """Quantity times price, rounded; None where there is no price.

    Source: common practice of invoices.

    >>> amount(Decimal("41.5"), Decimal("64.00"))
    Decimal('2656.00')
    """
    return None if each is None else rounded(quantity * each, code)


def share(percent: Decimal, whole: Decimal, code: str = "EUR") -> Decimal:
    """So many per cent of an amount, rounded.

    Source: common practice of invoices.

    >>> share(Decimal("2.5"), Decimal("2491.90"))
    Decimal('62.30')
    """
    return rounded(whole * percent / HUNDRED, code)


def allocate(whole: Decimal, weights: Sequence[Decimal], code: str = "EUR") -> list[Decimal]:
    """An amount split by weights so that the parts add up to it exactly.

    Each part is first cut down to the minor unit; what is left over goes, one
    unit at a time, to the parts that lost most (the largest remainders), the
    earlier first where they are equal.  All zero where no weight is above zero.

    Source: method of largest remainders (Hare quota).

    >>> allocate(Decimal("0.05"), [Decimal(70), Decimal(30)])
    [Decimal('0.04'), Decimal('0.01')]
    """
    unit = step(code)
    everything = sum(weights, Decimal(0))
    if everything <= 0:
        return [Decimal(0).quantize(unit) for _ in weights]
    exact = [whole * weight / everything for weight in weights]
    parts = [part.quantize(unit, ROUND_DOWN) for part in exact]
    left = whole - sum(parts, Decimal(0))
    sign = unit if left >= 0 else -unit
    losers = sorted(range(len(parts)), key=lambda i: (-abs(exact[i] - parts[i]), i))
    for i in losers[: int(abs(left) / unit)]:
        parts[i] += sign
    return parts


class SumLine(Struct, frozen=True):
    """One amount (None: not priced yet), the rate that taxes it in per cent, and its class."""

    amount: Decimal | None
    tax: Decimal | None = None
    group: str = ""


class Discount(Struct, frozen=True):
    """Taken off the lines of one class ("" for all of them): so many per cent, or an amount."""

    group: str = ""
    percent: Decimal | None = None
    amount: Decimal | None = None


class Taxed(Struct, frozen=True):
    """The tax of one rate (per cent) and the net amount that it is on."""

    rate: Decimal
    net: Decimal
    tax: Decimal


class SumTotal(Struct, frozen=True):
    """Net, tax and total of a document; ``minimum`` where a line has no price."""

    net: Decimal
    tax: Decimal
    total: Decimal
    minimum: bool
    taxes: tuple[Taxed, ...] = ()
    discounts: tuple[Decimal, ...] = ()  # one for each discount, as taken off


def total(lines: Sequence[SumLine], discounts: Sequence[Discount] = (), code: str = "EUR") -> SumTotal:
    """Sum of the lines less discounts, tax once for each rate, and the total.

    Each discount is taken from the lines of its class as they stand before any
    discount, never more than they come to; across rates it is split in
    proportion (``allocate``), so that tax follows the money.

    Source: common practice: tax on the document's net amount of each rate, rounded once.

    >>> total([SumLine(Decimal("59.97"), Decimal(19)), SumLine(Decimal("14.90"), Decimal(19))]).tax
    Decimal('14.23')
    """
    rates = sorted({line.tax or Decimal(0) for line in lines}, reverse=True)
    nothing = Decimal(0).quantize(step(code))
    nets = _by_rate(lines, "", rates, nothing)
    taken = []
    for discount in discounts:
        part = _by_rate(lines, discount.group, rates, nothing)
        scope = sum(part.values(), nothing)
        off = rounded(discount.amount or nothing, code)
        if discount.percent is not None:
            off = share(discount.percent, scope, code)
        off = max(nothing, min(off, scope))
        for rate, piece in zip(rates, allocate(off, [part[rate] for rate in rates], code), strict=True):
            nets[rate] -= piece
        taken.append(off)
    taxes = tuple(Taxed(rate, nets[rate], share(rate, nets[rate], code)) for rate in rates)
    net = sum(nets.values(), nothing)
    tax = sum((taxed.tax for taxed in taxes), nothing)
    return SumTotal(net, tax, net + tax, any(line.amount is None for line in lines), taxes, tuple(taken))


def _by_rate(
    lines: Sequence[SumLine], group: str, rates: Sequence[Decimal], nothing: Decimal
) -> dict[Decimal, Decimal]:
    """What the priced lines of a class ("" for all) come to at each rate."""
    nets = dict.fromkeys(rates, nothing)
    for line in lines:
        if line.amount is not None and (not group or line.group == group):
            nets[line.tax or Decimal(0)] += line.amount
    return nets
