"""Money in exact decimals: lines, tax, total; a line without a price makes a minimum."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

CENT = Decimal("0.01")
ROUNDING = "Amounts are rounded to the cent, halves away from zero; tax once on the net sum."


def to_cent(amount: Decimal) -> Decimal:
    """An amount rounded to the cent, halves away from zero.

    Source: common practice of invoices.

    >>> to_cent(Decimal("14.2253")), to_cent(Decimal("0.005"))
    (Decimal('14.23'), Decimal('0.01'))
    """
    return amount.quantize(CENT, ROUND_HALF_UP)


def amount(quantity: Decimal, each: Decimal | None) -> Decimal | None:
    """Quantity times price, to the cent; None where there is no price.

    Source: common practice of invoices.

    >>> amount(Decimal("41.5"), Decimal("64.00"))
    Decimal('2656.00')
    """
    return None if each is None else to_cent(quantity * each)


@dataclass(frozen=True, slots=True)
class Total:
    """Net, tax and total of a document; ``minimum`` where a line has no price."""

    net: Decimal
    tax: Decimal
    total: Decimal
    minimum: bool


def total(amounts: Sequence[Decimal | None], tax_percent: Decimal | None) -> Total:
    """Sum of the lines, tax once on the sum, and the total.

    Source: common practice: tax on the document's net amount, rounded once.

    >>> total([Decimal("59.97"), Decimal("14.90")], Decimal("19")).tax
    Decimal('14.23')
    """
    net = sum((one for one in amounts if one is not None), Decimal("0.00"))
    tax = to_cent(net * (tax_percent or Decimal(0)) / Decimal(100))
    return Total(net, tax, net + tax, any(one is None for one in amounts))
