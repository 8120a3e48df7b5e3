"""What was approved against what is now."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.trade.estimating.approval import Item, LineKey, compare

D = Decimal


def item(key: str, quantity: str, each: str | None) -> Item:
    price = None if each is None else D(each)
    return Item(LineKey("part", key), key, D(quantity), price, None if price is None else price * D(quantity))


def test_new_dropped_and_changed_lines() -> None:
    """By hand: a cooler more (148.00), a shell set of another size (212.00 for 198.00), one bolt more."""
    then = [item("MS-025", "1", "198.00"), item("HB", "26", "4.80"), item("GS-U", "1", "96.00")]
    now = [
        item("MS-050", "1", "212.00"),
        item("HB", "27", "4.80"),
        item("GS-U", "1", "96.00"),
        item("OC", "1", "148.00"),
    ]
    found = [(one.kind, one.item.key.number, str(one.difference)) for one in compare(then, now)]
    assert found == [
        ("new", "MS-050", "212.00"),
        ("changed", "HB", "4.80"),
        ("new", "OC", "148.00"),
        ("dropped", "MS-025", "-198.00"),
    ]


def test_a_price_that_is_not_known_makes_a_difference_that_is_not_known() -> None:
    (one,) = compare([item("OC", "1", "148.00")], [item("OC", "1", None)])
    assert one.kind == "changed" and one.difference is None


PRICES = st.sampled_from(["0.00", "4.80", "7.10"])
ITEMS = st.lists(
    st.builds(
        item,
        st.sampled_from("ABC"),
        st.sampled_from(["1", "2", "9.5"]),
        st.sampled_from(["0.00", "4.80", "7.10"]),
    ),
    max_size=8,
)


@given(ITEMS, ITEMS)
def test_differences_add_up_to_that_of_the_sums(then: list[Item], now: list[Item]) -> None:
    changes = compare(then, now)
    gap = sum(one.amount or 0 for one in now) - sum(one.amount or 0 for one in then)
    assert sum(one.difference or 0 for one in changes) == gap
    assert compare(now, now) == ()
