"""Money in exact decimals."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.trade.estimating import sums
from rebuildreport.trade.estimating.sums import Discount, SumLine

D = Decimal


def test_minor_units_are_those_of_iso_4217() -> None:
    """Against the 'iso4217' package, which carries the list that the maintenance agency publishes."""
    iso4217 = pytest.importorskip("iso4217")
    listed = {one.code: one.exponent for one in iso4217.Currency if one.exponent is not None}
    # the list is amended: between two years a few codes come and go, no minor unit changes
    both = listed.keys() & sums.DIGITS.keys()
    assert len(both) >= 155
    assert {code: sums.digits(code) for code in both} == {code: listed[code] for code in both}


def test_minor_units_beside_a_second_source() -> None:
    """CLDR (Babel) rounds many currencies to what is used in shops; those of the 3 decimals here agree with
    ISO 4217 but for IQD, whose fils are out of use."""
    numbers = pytest.importorskip("babel.numbers")
    for code in ("EUR", "USD", "GBP", "CHF", "JPY", "KRW", "ISK", "CLP", "KWD", "BHD", "JOD", "OMR", "TND"):
        assert sums.digits(code) == numbers.get_currency_precision(code), code


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        # ISO 80000-1, rule B (halves up); the last two differ from rule A (12.2 and 12.4 there)
        ("12.223", "12.22"), ("12.2251", "12.23"), ("12.2275", "12.23"), ("12.225", "12.23"),
        ("12.235", "12.24"),
        # binary floating point gets this one wrong: round(2.675, 2) is 2.67
        ("2.675", "2.68"),
    ],
)  # fmt: skip
def test_rounding_by_the_table_of_the_standard(typed: str, printed: str) -> None:
    assert str(sums.rounded(D(typed))) == printed


def test_rounding_follows_the_currency() -> None:
    assert [str(sums.rounded(D("1234.5675"), code)) for code in ("EUR", "JPY", "KWD")] == [
        "1234.57",
        "1235",
        "1234.568",
    ]


def test_tax_on_the_total_not_by_line() -> None:
    # 19 % on 3 x 19.99 + 2 x 7.45 = 74.87: 14.23 on the total, 14.24 piece by piece (by hand, half up)
    lines = [sums.amount(D(3), D("19.99")), sums.amount(D(2), D("7.45"))]
    assert sums.total([SumLine(one, D(19)) for one in lines]).tax == D("14.23")
    pieces = [D("19.99")] * 3 + [D("7.45")] * 2
    assert sum(sums.total([SumLine(one, D(19))]).tax for one in pieces) == D("14.24")


def test_tax_by_class_of_line() -> None:
    """By hand: 100.00 at 20 % and 33.33 at 7 %: 20.00 + 2.33 (2.3331)."""
    found = sums.total([SumLine(D("100.00"), D(20), "part"), SumLine(D("33.33"), D(7), "labour")])
    assert [(str(one.rate), str(one.net), str(one.tax)) for one in found.taxes] == [
        ("20", "100.00", "20.00"),
        ("7", "33.33", "2.33"),
    ]
    assert found.total == D("155.66")


def test_largest_remainders_by_a_published_example() -> None:
    """Wikipedia, 'Largest remainder method', Hare quota: 10 seats for these votes give 5, 2, 1, 1, 1, 0."""
    votes = [D(47000), D(16000), D(15800), D(12000), D(6100), D(3100)]
    seats = [one * 100 for one in sums.allocate(D("0.10"), votes)]
    assert seats == [5, 2, 1, 1, 1, 0]


def test_a_discount_follows_the_tax_of_what_it_is_taken_from() -> None:
    """By hand: 10 % of 100.00 + 33.33 is 13.33, split 10.00 and 3.33; tax 18.00 and 2.10 on what is left."""
    lines = [SumLine(D("100.00"), D(20), "part"), SumLine(D("33.33"), D(7), "labour")]
    found = sums.total(lines, [Discount(percent=D(10))])
    assert [str(one.net) for one in found.taxes] == ["90.00", "30.00"]
    assert found.discounts == (D("13.33"),)
    assert found.total == D("140.10")


def test_a_discount_of_one_class_never_exceeds_it() -> None:
    lines = [SumLine(D("100.00"), D(20), "part"), SumLine(D("33.33"), D(20), "labour")]
    assert sums.total(lines, [Discount("labour", amount=D("50.00"))]).net == D("100.00")


def test_a_line_without_a_price_makes_a_minimum() -> None:
    found = sums.total([SumLine(D("10.00")), SumLine(None)])
    assert found.minimum and found.total == D("10.00")


AMOUNTS = st.decimals(0, 5000, places=2)
RATES = st.sampled_from([D(0), D(7), D("8.1"), D(20)])
LINES = st.lists(
    st.builds(
        SumLine, AMOUNTS, st.sampled_from([D(0), D(7), D("8.1"), D(20)]), st.sampled_from(["part", "labour"])
    ),
    max_size=20,
)
DISCOUNTS = st.lists(
    st.one_of(
        st.builds(Discount, st.sampled_from(["", "part"]), st.decimals(0, 100, places=1), st.none()),
        st.builds(Discount, st.sampled_from(["", "labour"]), st.none(), st.decimals(0, 900, places=2)),
    ),
    max_size=1,
)


@given(LINES, DISCOUNTS, st.sampled_from(["EUR", "JPY", "KWD"]))
def test_totals_add_up_as_printed(lines: list[SumLine], discounts: list[Discount], code: str) -> None:
    """What stands on paper is added by a second method: as whole coins, from the printed texts."""
    lines = [SumLine(sums.amount(D(1), one.amount, code), one.tax, one.group) for one in lines]
    found = sums.total(lines, discounts, code)

    def coins(printed: Decimal | None) -> int:
        text = str(printed)
        assert len(text.partition(".")[2]) == sums.digits(code)
        return int(text.replace(".", ""))

    assert coins(found.total) == coins(found.net) + sum(coins(one.tax) for one in found.taxes)
    assert coins(found.net) == sum(coins(one.amount) for one in lines) - sum(map(coins, found.discounts))
    assert coins(found.net) == sum(coins(one.net) for one in found.taxes)
    unit = sums.step(code)
    for one in found.taxes:
        assert one.tax == (one.net * one.rate / 100).quantize(unit, ROUND_HALF_UP)


@given(AMOUNTS, st.lists(st.decimals(0, 900, places=2), min_size=1, max_size=9))
def test_an_allocation_adds_up(whole: Decimal, weights: list[Decimal]) -> None:
    parts = sums.allocate(whole, weights)
    assert sum(parts) == (whole if any(weights) else 0)
    assert all(
        abs(p - whole * w / sum(weights)) < D("0.01")
        for p, w in zip(parts, weights, strict=True)
        if sum(weights)
    )
