"""What people type: every digit kept, every doubt questioned."""

from __future__ import annotations

import string
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.quantities import QuantityError, number, parse, units

UNITS = sorted({*units._TABLE, *units._SPELLINGS, "°C", "°F"})
# a number as a person types it: sign, digits, a point, digits with the zeros that the instrument shows
TYPED = st.from_regex(r"[+-]?(?:[0-9]{1,6}(?:\.[0-9]{0,6})?|\.[0-9]{1,6})", fullmatch=True)


@given(text=TYPED, unit=st.sampled_from(UNITS), blanks=st.sampled_from(["", " ", "  ", "\u00a0"]))
def test_digits_and_unit_survive(text: str, unit: str, blanks: str) -> None:
    if unit[0].isdigit() and not blanks:
        blanks = " "  # '5' and '1/min' need a blank between them
    quantity = parse(f"{text}{blanks}{unit}")
    assert quantity.text == text
    assert Decimal(str(quantity.value)) == Decimal(text)  # Decimal reads the text by itself
    assert quantity.unit == units.canonical(unit)
    assert quantity.decimals == max(0, -int(Decimal(text).as_tuple().exponent))


@given(text=TYPED, unit=st.sampled_from(UNITS))
def test_printed_again_it_is_the_same(text: str, unit: str) -> None:
    once = parse(text, unit=unit)
    assert parse(str(once)) == once


@given(text=st.text(string.printable + "°µ·²³\u00a0\u2212", max_size=14))
def test_any_text_is_a_quantity_or_an_error_for_people(text: str) -> None:
    try:
        quantity = parse(text, unit="mm")
    except QuantityError as problem:
        assert str(problem)
    else:
        assert quantity.text in text
        assert Decimal(quantity.text).is_finite()


@given(st.from_regex(r"[+-]?[0-9]{1,4},[0-9]{1,4}", fullmatch=True), st.sampled_from(["", " mm"]))
def test_comma_is_questioned(text: str, unit: str) -> None:
    with pytest.raises(QuantityError, match="comma") as caught:
        parse(text + unit)
    assert text.replace(",", ".") in caught.value.suggestion


@pytest.mark.parametrize(
    "text", ["", "mm", "nan mm", "inf mm", "1e3 mm", "1/2 in", "1.2.3 mm", "75.968 75.964", "5 x", "٣ mm"]
)
def test_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse(text)


def test_no_unit_in_force_is_an_error() -> None:
    with pytest.raises(QuantityError, match="no unit"):
        parse("75.970")


def test_suggestions() -> None:
    for text, meant in [
        ("5 MM", "mm"),
        ("85 nm", "N·m"),
        ("85 Nmm", "mm"),
        ("3 thuo", "thou"),
        ("\u22120.02 mm", "-0.02"),
    ]:
        with pytest.raises(QuantityError) as caught:
            parse(text)
        assert meant in caught.value.suggestion


def test_wrong_dimension_is_an_error() -> None:
    with pytest.raises(QuantityError, match="torque, not a length"):
        parse("85 N·m", dimension="length")


def test_mixed_units_in_one_clearance() -> None:
    """An inch bore, metric walls and journal; figures of an invented case worked by hand at 25.4 mm."""
    housing = parse("2.0482 in")
    walls = parse("1.997", unit="mm").value + parse("1.997", unit="mm").value
    journal = parse("47.992 mm")
    assert housing.text == "2.0482"
    assert housing.to("mm") == pytest.approx(52.0243, abs=5e-5)
    assert housing.to("mm") - walls - journal.value == pytest.approx(0.0383, abs=5e-5)
    assert housing.resolution * 25.4 == pytest.approx(0.0025, abs=5e-5)


def test_typed_digits_bound_the_resolution() -> None:
    """75.97 says 75.965 to 75.975, and the limit 75.970 lies inside: the digits typed must tell that."""
    coarse, fine = parse("75.97 mm"), parse("75.970 mm")
    assert coarse.value == fine.value == 75.97
    assert (coarse.resolution, fine.resolution) == (0.01, 0.001)
    low, high = coarse.value - coarse.resolution / 2, coarse.value + coarse.resolution / 2
    assert (round(low, 6), round(high, 6)) == (75.965, 75.975)


@pytest.mark.parametrize("text", ["0123", "75.970", "007"])
def test_leading_and_trailing_zeros(text: str) -> None:
    assert parse(text, unit="mm").text == text
    assert number(text)[0] == float(text)
