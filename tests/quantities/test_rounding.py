"""Rounding by ISO 80000-1, rule A, and values that stay on their side of the limits beside them."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from rebuildreport.quantities import (
    convert,
    exact,
    place_of,
    show,
    show_interval,
    to_decimals,
)

MINUS = "\u2212"


@pytest.mark.parametrize(
    ("text", "rounded"),
    [("12.223", "12.2"), ("12.251", "12.3"), ("12.275", "12.3"), ("12.25", "12.2"), ("12.35", "12.4")],
)
def test_examples_of_the_standard(text: str, rounded: str) -> None:
    """ISO 80000-1, annex B, rule A (READ in a metrologist's summary of it; COMPUTED with decimal)."""
    assert str(to_decimals(float(text), 1)) == rounded
    assert str(to_decimals(Decimal(text), 1)) == rounded


def test_a_value_is_printed_to_the_place_of_its_uncertainty() -> None:
    """JCGM 100:2008, 7.2.6: 10.057 62 ohm with u of 27 milliohm is given as 10.058 (READ, as quoted).

    The Guide keeps a second digit of u where one would mislead.  This project keeps the place of the first,
    which is coarser, never finer: the Guide's digits stand where u is a tenth of that.
    """
    assert str(to_decimals(10.05762, place_of(0.0027))) == "10.058"
    assert str(to_decimals(10.05762, place_of(0.027))) == "10.06"


def test_not_the_binary_float() -> None:
    """2.675 is a tie as typed; as a binary float it lies below one, and Python's round() gives 2.67."""
    assert round(2.675, 2) == 2.67
    assert str(to_decimals(2.675, 2)) == "2.68"


@given(whole=st.integers(-(10**9), 10**9), scale=st.integers(0, 6), decimals=st.integers(0, 6))
def test_agrees_with_decimal(whole: int, scale: int, decimals: int) -> None:
    """The decimal library rounds the number as typed; ours gets the same number as a float."""
    typed = Decimal(whole).scaleb(-scale)
    step = Decimal(1).scaleb(-decimals)
    expected = typed.quantize(step, ROUND_HALF_EVEN, Context(prec=40))
    assert to_decimals(float(typed), decimals) == expected
    assert abs(expected - typed) <= step / 2


@example(whole=96083727, scale=1)
@given(whole=st.integers(-(10**8), 10**8), scale=st.integers(0, 6))
def test_exact_is_the_decimal_typed(whole: int, scale: int) -> None:
    typed = Decimal(whole).scaleb(-scale)
    assert exact(float(typed)) == typed


@given(st.floats(-0.01, 0.0), st.integers(0, 2))
def test_no_minus_zero(value: float, decimals: int) -> None:
    shown = to_decimals(value, decimals)
    assert shown != 0 or not str(shown).startswith("-")


@pytest.mark.parametrize(
    ("uncertainty", "decimals"), [(0.0016, 3), (0.00095, 3), (0.00094, 4), (0.5, 1), (3.0, 0), (20.0, 0)]
)
def test_place_of(uncertainty: float, decimals: int) -> None:
    """The place of the first digit, by hand; 0.00095 counts as 0.001 (its one-digit rounding)."""
    assert place_of(uncertainty) == decimals


def _sign(difference: Decimal) -> int:
    return (difference > 0) - (difference < 0)


READING = st.integers(-200_000, 200_000).map(lambda n: n / 10_000)  # to 0.1 µm, negative for a runout's way
LIMIT = st.integers(-20_000, 20_000).map(lambda n: n / 1000)  # limits as typed: to the micrometre


@given(value=READING, limit=LIMIT, near=st.integers(-30, 30), decimals=st.integers(0, 3))
@example(value=0.0, limit=0.150, near=4, decimals=3)
def test_value_keeps_its_side_of_typed_limits(value: float, limit: float, near: int, decimals: int) -> None:
    for reading in (value, round(limit + near / 10_000, 4)):
        places = max(3, decimals)
        shown = to_decimals(reading, places, (limit, None))
        typed = Decimal(f"{limit:.3f}")
        assert _sign(shown - typed) == _sign(Decimal(f"{reading:.4f}") - typed)


@given(
    limit_in=st.integers(1, 60_000),
    away=st.integers(-400, 400),
    span=st.integers(1, 100),
    decimals=st.integers(3, 5),
    system=st.sampled_from(["mm", "in"]),
    typed_in=st.sampled_from(["mm", "in"]),
)
@example(limit_in=12, away=-3, span=1, decimals=4, system="mm", typed_in="in")
@example(limit_in=408, away=-2000, span=1, decimals=3, system="in", typed_in="mm")
def test_printed_order_never_contradicts_the_exact_order(
    limit_in: int, away: int, span: int, decimals: int, system: str, typed_in: str
) -> None:
    """Value and limits as printed, in the limits' own system or the other, compare as the exact ones do."""
    typed = 4 if typed_in == "in" else 3
    low = limit_in / 10**typed
    high = (limit_in + span) / 10**typed
    step = 0.0001 if typed_in == "mm" else 0.000004  # about 0.1 µm
    for value in (low + away * step, high + away * step):
        shown = show(value, typed_in, decimals, system, (low, high), typed)
        text = Decimal(shown.text.replace(MINUS, "-"))
        printed = show_interval(low, high, typed_in, typed, system, shown.places)
        ends = [Decimal(end.replace(MINUS, "-")) for end in printed.split("–")]
        for end, limit in zip(ends, (low, high), strict=True):
            order = _sign(exact(convert(value, typed_in, system)) - exact(convert(limit, typed_in, system)))
            assert _sign(text - end) == order, (shown.text, printed, value)


def test_too_short_a_spring_never_reads_like_its_limit() -> None:
    """40.8 mm is 1.6063 in and 41.0 mm 1.6142 in (25.4 exactly): both are 1.61 in to two decimals."""
    shown = show(40.8, "mm", 1, "in", (41.0, None), 1)
    assert (shown.text, show_interval(41.0, None, "mm", 1, "in", shown.places)) == ("1.606", "min 1.614")


def test_what_nobody_can_tell_from_its_limit_gets_no_digits_of_dust() -> None:
    """0.0020 in read at 64 °F is 0.001999996 in at 20 °C: on the limit of 0.0020 in, and printed as that."""
    assert show(0.001999996, "in", 4, "in", (None, 0.0020), 4).both == "0.0020\u00a0in (0.051\u00a0mm)"


def test_on_a_limit_of_more_digits() -> None:
    """0.0001 in known to 0.001 in only, on the limit 0.0001 in: '0.003', never '0.00'."""
    shown = show(0.0001, "in", 3, "mm", (0.0001, 0.0002))
    assert show_interval(0.0001, 0.0002, "in", 4, "mm", shown.places).startswith(shown.text + "–")


def test_on_the_limit_no_digits_are_added() -> None:
    """75.490 mm is 2.97204724... in: beside the limit 75.490 it is printed as any other value is."""
    assert show(75.490, "mm", 3, limits=(75.470, 75.490)).both == "75.490\u00a0mm (2.9720\u00a0in)"
    assert show(2.9720, "in", 4, limits=(None, 2.9720)).both == "75.489\u00a0mm (2.9720\u00a0in)"


def test_on_an_inch_limit_kept_in_millimetres_no_digits_are_added() -> None:
    """0.0003 in is 0.00762 mm, and 0.0928 in 2.35712 mm (25.4 exactly): four decimals of an inch say it."""
    assert show(0.00762, "mm", 3, "in", (None, 0.00762)).both == "0.0003\u00a0in (0.008\u00a0mm)"
    assert show(2.35712, "mm", 3, "in", (2.35712, 2.36728)).both == "0.0928\u00a0in (2.357\u00a0mm)"


def test_second_unit_neither_invents_nor_loses_digits() -> None:
    """0.001 mm and 0.0001 in are the nearest decades: 0.0254 mm to one hundred-thousandth of a metre."""
    assert show(75.970, "mm", 3).second == "2.9909"
    assert show(2.9909, "in", 4).text == "75.969"
    assert show(85, "lbf·ft", 0).both.replace("\u00a0", " ") == "115 N·m (85 lbf·ft)"
    assert show(0.4, "percent", 1).both == "0.4\u00a0%"
