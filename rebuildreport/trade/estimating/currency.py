"""Currencies and their minor units: how many decimals an amount of each can have.

Source: ISO 4217, list one (current currencies), with its amendments up to the
start of 2026; codes without a minor unit (metals, units of account, testing)
are left out, because nobody is paid in them.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

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
