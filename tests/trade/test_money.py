"""Money in exact decimals."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.trade import money


def test_tax_on_the_total_not_by_line() -> None:
    # 19 % on 3 x 19.99 + 2 x 7.45 = 74.87: 14.23 on the total, 14.24 line by line (decimal by hand, half up)
    lines = [money.amount(Decimal(3), Decimal("19.99")), money.amount(Decimal(2), Decimal("7.45"))]
    assert money.total(lines, Decimal(19)).tax == Decimal("14.23")


def test_a_line_without_a_price_makes_a_minimum() -> None:
    found = money.total([Decimal("10.00"), None], None)
    assert found.minimum and found.total == Decimal("10.00")


@given(st.lists(st.decimals(0, 5000, places=2), max_size=20), st.decimals(0, 30, places=1))
def test_totals_add_up_as_printed(amounts: list[Decimal], rate: Decimal) -> None:
    found = money.total(amounts, rate)
    assert found.total == found.net + found.tax
    assert found.net == sum(amounts, Decimal(0))
    assert abs(found.tax - found.net * rate / 100) <= Decimal("0.005")
