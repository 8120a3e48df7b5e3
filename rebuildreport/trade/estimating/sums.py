"""Money in exact decimals: currencies, lines, discounts, tax by rate, total; without a price a minimum.

The one rounding rule: every printed amount is rounded to the currency's minor
unit, halves away from zero; tax is worked out once for each rate, on the sum
of the lines taxed by it.  Printed amounts therefore add up as printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from msgspec import Struct

from ...quantities import message

# ISO 4217, list one (current currencies), with its amendments up to the start of 2026; codes without a minor
# unit (metals, units of account, testing) are left out: nobody is paid in them.

_MINOR = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    2: """
        AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN BZD CAD CDF
        CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD
        GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL
        MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR
        PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP
        TRY TTD TWD TZS UAH USD USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG
    """,
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
DIGITS: dict[str, int] = {code: digits for digits, codes in _MINOR.items() for code in codes.split()}


def digits(code: str) -> int:
    """Decimals of a currency's minor unit; 2 for a code that is not on the list.

    Source: ISO 4217, column 'minor unit'.

    >>> digits("EUR"), digits("JPY"), digits("KWD")
    (2, 0, 3)
    """
    return DIGITS.get(code, 2)


def step(code: str) -> Decimal:
    """The smallest amount of a currency that can be paid, as a decimal.

    Source: ISO 4217, column 'minor unit'.

    >>> step("EUR"), step("JPY"), step("KWD")
    (Decimal('0.01'), Decimal('1'), Decimal('0.001'))
    """
    return Decimal(1).scaleb(-digits(code))


def rounded(amount: Decimal, code: str = "EUR") -> Decimal:
    """An amount rounded to its currency's minor unit, halves away from zero.

    Source: ISO 80000-1:2009, annex B, rule B (halves up), as invoices have it.

    >>> rounded(Decimal("14.2253")), rounded(Decimal("0.005")), rounded(Decimal("1234.5"), "JPY")
    (Decimal('14.23'), Decimal('0.01'), Decimal('1235'))
    """
    return amount.quantize(step(code), ROUND_HALF_UP)


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


def _wanted(discount: Discount, scope: Decimal, code: str) -> Decimal:
    if discount.percent is not None:
        return share(discount.percent, scope, code)
    return rounded(discount.amount or Decimal(0), code)


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
        off = max(nothing, min(_wanted(discount, scope, code), scope))
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
