"""Uncertainty against JCGM 100 (GUM), published examples and the ``uncertainties`` library."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from rebuildreport.trade.measuring import uncertainty as m
from rebuildreport.trade.measuring.uncertainty import DoubtSource, Instrument, Measured, read

MIC = Instrument("mic", 0.001, 0.004, 0.001)


def test_type_b_distributions_of_the_gum() -> None:
    # JCGM 100:2008, 4.3.7 and F.2.2.1: resolution 1 gives 0.2887 (computed by hand, a/sqrt 3)
    assert m.rectangular(0.5) == pytest.approx(0.2887, abs=5e-5)
    assert Instrument("x", 1.0, 0.0).random() == pytest.approx(0.2887, abs=5e-5)


def test_end_gauge_of_the_gum_h1() -> None:
    # JCGM 100:2008, example H.1: components 25, 9.7, 2.9 and 16.6 nm give u_c = 32 nm (published; 31.66)
    l_s, d = 50_000_623.0, 215.0
    standard = Measured(l_s, {DoubtSource("setting", "standard"): 25.0})
    difference = Measured(
        d,
        {
            DoubtSource("reading", "comparisons"): 5.8,
            DoubtSource("setting", "comparator, random"): 3.9,
            DoubtSource("setting", "comparator, systematic"): 6.7,
        },
    )
    u_delta_alpha = 1e-6 / math.sqrt(3.0)
    u_delta_theta = 0.05 / math.sqrt(3.0)
    thermal = Measured(
        0.0,
        {
            # theta = -0.1 with its cyclic variation; sensitivities l_s * theta and l_s * alpha_s
            DoubtSource("expansion", "difference"): l_s * 0.1 * u_delta_alpha,
            DoubtSource("temperature", "difference"): l_s * 11.5e-6 * u_delta_theta,
        },
    )
    length = standard + difference + thermal
    assert length.value == 50_000_838.0
    assert length.u == pytest.approx(31.66, abs=0.1)


def test_clearance_of_two_independent_sizes() -> None:
    # root sum of squares by hand: 1.2 and 1.0 um give 1.562 um
    bore = Measured(52.020, {DoubtSource("reading", "bore"): 1.2e-3})
    journal = Measured(51.980, {DoubtSource("reading", "journal"): 1.0e-3})
    assert (bore - journal).u == pytest.approx(1.562e-3, abs=1e-6)


def test_differences_cancel_the_permitted_error() -> None:
    # worked out by hand: sqrt(2 * (0.2887^2 + 1)) = 1.47 um, where ignoring the sharing gives 3.6 um
    a = read(75.968, MIC, "arrival", "M1 front a")
    b = read(75.964, MIC, "arrival", "M1 front b")
    other_day = read(75.964, MIC, "later", "M1 front b")
    assert (a - b).u == pytest.approx(1.47e-3, abs=1e-5)
    assert (a - other_day).u == pytest.approx(3.58e-3, abs=2e-5)


def test_bore_gauge_set_in_the_micrometer_of_the_journal_shares_its_error() -> None:
    """Against the uncertainties library, where a shared error is one variable."""
    gauge = Instrument("gauge", 0.001, 0.002, 0.001)
    bore = read(80.012, gauge, "arrival", "M4 front v", set_from=MIC)
    journal = read(75.968, MIC, "arrival", "M4 front a")
    third = math.sqrt(3.0)
    mic = ufloat(0.0, 0.004 / third)
    own = ufloat(0.0, 0.002 / third)
    step = 0.0005 / third
    setting = ufloat(0.0, math.hypot(step, 0.001))
    one, other = ufloat(0.0, math.hypot(step, 0.001)), ufloat(0.0, math.hypot(step, 0.001))
    expected = (80.012 + mic + own + setting + one) - (75.968 + mic + other)
    assert (bore - journal).value == pytest.approx(expected.nominal_value, abs=1e-12)
    assert (bore - journal).u == pytest.approx(expected.std_dev, rel=1e-12)


# JIS B 7503:2011, largest permitted errors of dials of 0.01 mm (as reprinted in a maker's tables) [mm, um]:
# range, over the whole of it, and (span, over that span) for a tenth, a half and the whole of a turn of 1 mm
DIALS = [
    (3.0, 10.0, [(0.1, 5.0), (0.5, 8.0), (1.0, 9.0)]),
    (5.0, 12.0, [(0.1, 5.0), (0.5, 9.0), (1.0, 10.0)]),
    (10.0, 15.0, [(0.1, 5.0), (0.5, 9.0), (1.0, 10.0)]),
]


@pytest.mark.parametrize(("range_", "whole", "spans"), DIALS)
def test_over_a_span_no_less_than_a_standard_permits(
    range_: float, whole: float, spans: list[tuple[float, float]]
) -> None:
    dial = Instrument("dial", 0.0, whole, range=range_)
    for span, permitted in spans:
        both = read(0.2 + span, dial, "r", "high") - read(0.2, dial, "r", "low")
        assert both.u * math.sqrt(3.0) > 0.94 * permitted  # 5 µm over a tenth of a turn: 4.7
        assert both.u * math.sqrt(3.0) < whole * (1.0 + 1e-9)


def test_any_long_span_carries_the_permitted_error_once() -> None:
    # ISO 3611:2010, 5.1: it holds with the zero anywhere in the range, so for 25 to 50 as for 28 to 46 mm
    mic = Instrument("mic", 0.0, 0.004, range=25.0)
    for low, high in ((25.0, 50.0), (28.0, 46.0), (30.0, 32.5)):
        both = read(high, mic, "r", "high") - read(low, mic, "r", "low")
        assert both.u == pytest.approx(0.004 / math.sqrt(3.0), rel=1e-12)
    # and one reading, or two at one place, as ever
    assert read(41.0, mic, "r", "x").u == pytest.approx(0.004 / math.sqrt(3.0), rel=1e-12)
    assert (read(41.0, mic, "r", "x") - read(41.0, mic, "r", "y")).u == pytest.approx(0.0, abs=1e-12)


@given(
    st.lists(st.tuples(st.floats(-3, 3), st.integers(0, 100)), min_size=1, max_size=12),
)
def test_an_error_along_a_scale_by_the_uncertainties_library(terms: list[tuple[float, int]]) -> None:
    """A second method: noise in steps of the scale, summed over the reach beyond each place."""
    dial = Instrument("dial", 0.0, math.sqrt(3.0), range=100.0)  # the reach is ten steps
    noise = [ufloat(0.0, math.sqrt(0.05)) for _ in range(111)]
    zero = ufloat(0.0, math.sqrt(0.5))
    theirs = sum(w * (zero + sum(noise[at : at + 10])) for w, at in terms)
    mine = m.combine((w, read(float(at), dial, "r", "x")) for w, at in terms)
    assert mine.u == pytest.approx(theirs.std_dev, abs=1e-6)


@given(st.floats(0.001, 2.0), st.floats(1.0, 20.0))
def test_a_swing_is_the_difference_of_its_two_ends(way: float, range_: float) -> None:
    """Whether a person subtracts the ends or the hand's swing is read at once (JCGM 100:2008, 5.2.2)."""
    dial = Instrument("dial", 0.01, 0.010, 0.003, range=range_)
    ends = read(0.3 + way, dial, "r", "high") - read(0.3, dial, "r", "low")
    assert m.swing(read(way, dial, "r", "seat")).u == pytest.approx(ends.u, rel=1e-9)


def test_a_gauge_is_set_once_so_its_readings_share_the_setting_wherever_they_lie() -> None:
    """Worn by 0.2 mm: the micrometer's error at the size of the setting is in both readings alike."""
    mic = Instrument("mic", 0.001, 0.004, 0.001, range=25.0)
    gauge = Instrument("gauge", 0.001, 0.0, 0.001)
    a, b = (read(x, gauge, "r", str(x), set_from=mic, set_at=98.0) for x in (98.0, 98.2))
    # 98.2 - 98.0: two readings' own doubt alone, sqrt(2 (0.2887^2 + 1)) µm (by hand)
    assert (b - a).u == pytest.approx(1.472e-3, abs=1e-6)


@given(
    st.lists(st.tuples(st.floats(-3, 3), st.integers(0, 4), st.floats(0, 5)), min_size=1, max_size=12),
)
def test_any_weighted_sum_agrees_with_the_uncertainties_library(
    terms: list[tuple[float, int, float]],
) -> None:
    shared = {n: ufloat(0.0, 1.0 + n) for n in range(5)}
    mine = m.combine((w, Measured(x, {DoubtSource("permitted error", str(n)): 1.0 + n})) for w, n, x in terms)
    theirs = sum((w * (x + shared[n]) for w, n, x in terms))
    assert mine.value == pytest.approx(theirs.nominal_value, abs=1e-9)
    assert mine.u == pytest.approx(theirs.std_dev, abs=1e-9)


@pytest.mark.parametrize(
    ("material", "celsius", "reading", "expected"),
    [
        # worked out by hand with 23e-6: 84.062 * (1 - 23e-6 * 25) = 84.0137; gauge at 20 degrees C
        ("aluminium", 45.0, 84.062, 84.0137),
        # nothing happens at the reference temperature (ISO 1)
        ("iron", 20.0, 75.968, 75.968),
    ],
)
def test_reading_on_a_warm_part(material: str, celsius: float, reading: float, expected: float) -> None:
    corrected = m.at_reference(Measured(reading), material, celsius, 20.0, "arrival")
    assert corrected.value == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(("celsius", "grown"), [(100.0, 0.0552), (26.0, 0.00414)])
def test_an_aluminium_housing_on_a_steel_shaft(celsius: float, grown: float) -> None:
    """60 mm, 23 and 11.5e-6/K: wider by 55.2 um from 20 to 100 °C, by 4.14 um to 26 °C (by hand)."""
    housing, shaft = (m.at_reference(Measured(60.0), of, celsius, None, "s") for of in ("aluminium", "steel"))
    assert shaft.value - housing.value == pytest.approx(grown, abs=5e-6)


def test_soaked_together_only_the_difference_acts() -> None:
    # steel on steel soaked together needs no correction; iron is shorter by 1e-6 * 10 * 75 mm (by hand)
    steel = m.at_reference(Measured(75.0), "steel", 30.0, None, "s")
    iron = m.at_reference(Measured(75.0), "iron", 30.0, None, "s")
    assert steel.value == pytest.approx(75.0, abs=1e-9)
    assert iron.value - 75.0 == pytest.approx(0.00075, abs=1e-6)
    # and a wrong thermometer matters far less than on a part measured warm with a cold instrument
    soaked = m.at_reference(Measured(75.0), "iron", 30.0, None, "s", soaked_within=0.0)
    warm = m.at_reference(Measured(75.0), "iron", 30.0, 20.0, "s")
    assert soaked.share("temperature") < warm.share("temperature") / 10


def test_what_soaking_leaves_is_that_of_the_gum() -> None:
    """JCGM 100:2008, H.1: 50 mm of steel within ±0.05 °C of its standard, u 16.6 nm (published)."""
    gauge = m.at_reference(Measured(50.0), "steel", 20.0, None, "s", soaked_within=0.05)
    assert 1e6 * gauge.u == pytest.approx(16.6, abs=0.05)
    # a workshop's ±0.5 °C (common practice) is ten times that; 75 mm of steel: 0.249 µm by hand
    assert m.at_reference(Measured(75.0), "steel", 20.0, None, "s").u == pytest.approx(0.249e-3, abs=1e-7)
    # two readings of one part share it (out-of-round keeps nothing), those of two parts do not
    one, other, shaft = (
        m.at_reference(Measured(75.0), "steel", 20.0, None, "s", part) for part in ("bore", "bore", "shaft")
    )
    assert (one - other).u == pytest.approx(0.0, abs=1e-12)
    assert (one - shaft).u == pytest.approx(math.sqrt(2.0) * 0.249e-3, abs=2e-7)


@pytest.mark.parametrize("material", ["steel", "iron", "aluminium"])
@pytest.mark.parametrize(("part", "scale"), [(30.0, None), (45.0, 20.0), (5.0, 23.0)])
def test_warm_clearance_by_the_uncertainties_library(material: str, part: float, scale: float | None) -> None:
    """A bore of one material and a steel shaft: what both share is one variable.

    Coefficients doubted by a tenth, temperatures by 1 K, rectangular (common practice); what the shaft and
    the instrument's scale are both made of is one coefficient.
    """
    third = math.sqrt(3.0)
    alpha = {name: ufloat(value, 0.1 * value / third) for name, value in m.EXPANSION.items()}
    warm = ufloat(part, 1.0 / third)
    cool = warm if scale is None else ufloat(scale, 1.0 / third)

    def at_20(length: float, made_of: str) -> object:
        return length * (1.0 + alpha["steel"] * (cool - 20.0) - alpha[made_of] * (warm - 20.0))

    theirs = at_20(60.0, material) - at_20(59.94, "steel")  # type: ignore[operator]
    bore, shaft = (
        m.at_reference(Measured(length), made_of, part, scale, "s")
        for length, made_of in ((60.0, material), (59.94, "steel"))
    )
    left = 0.0 if scale is not None else ufloat(0.0, 0.5 / third)  # both in one session, of one part
    theirs -= left * (60.0 * m.EXPANSION[material] - 59.94 * m.EXPANSION["steel"])  # type: ignore[operator]
    assert (bore - shaft).value == pytest.approx(theirs.nominal_value, abs=1e-9)
    # the library's slopes hold the product of both doubts' means alone: first order, as JCGM 100, 5.1.2
    assert (bore - shaft).u == pytest.approx(theirs.std_dev, rel=1e-3, abs=1e-8)


def test_a_setting_is_shared_by_all_that_was_read_with_it() -> None:
    """Out-of-round of a bore: two readings' own doubt alone, sqrt(2 (0.2887^2 + 1)) µm (by hand)."""
    gauge = Instrument("gauge", 0.001, 0.002, 0.001)
    a, b = (read(80.0, gauge, "arrival", spot, set_from=MIC) for spot in ("M1 front v", "M1 front h"))
    assert (a - b).u == pytest.approx(1.472e-3, abs=1e-6)


def test_agreement_score() -> None:
    # ISO 13528 E_n by hand: 3 um apart, expanded uncertainties 4 and 3 um: 3/5
    a = Measured(0.043, {DoubtSource("a", ""): 0.002})
    b = Measured(0.040, {DoubtSource("b", ""): 0.0015})
    assert m.agreement(a, b) == pytest.approx(0.6)


def test_a_reading_is_worth_no_more_than_its_digits() -> None:
    # typed to 0.01 with a micrometer that shows 0.001: half a typed step decides (0.01 / sqrt 12)
    coarse = read(75.97, Instrument("mic", 0.001, 0.0), "s", "x", typed_resolution=0.01)
    assert coarse.u == pytest.approx(0.002887, abs=1e-6)


def test_more_digits_than_the_instrument_shows_are_worth_nothing_more() -> None:
    # estimated between the lines of a 0.01 dial and typed to 0.001: 0.01 / sqrt 12
    assert read(0.123, Instrument("dial", 0.01, 0.0), "s", "x", typed_resolution=0.001).u == pytest.approx(
        0.002887, abs=1e-6
    )


def test_repeats_average_the_hand_and_not_the_scale() -> None:
    # four readings: the repeatability of 1 halves, the step of 1 stays: sqrt(0.25 + 1/12) (by hand)
    gauge = Instrument("gauge", 1.0, 0.0, 1.0)
    assert gauge.random(repeats=4) == pytest.approx(0.5774, abs=1e-4)
