"""The decision rule against ISO 14253-1 figures, and its properties."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rebuildreport.trade.measuring.uncertainty import DoubtSource, Instrument, Measured, alone, read
from rebuildreport.trade.measuring.verdict import GUARD_FACTOR, Ends, deciding_limits, judge, reach, remedy

BAND: Ends = (0.025, 0.055)


def test_guard_factor_is_the_one_sided_95_percent_point() -> None:
    from scipy.stats import norm

    assert norm.cdf(GUARD_FACTOR) == pytest.approx(0.95, abs=1e-4)


@pytest.mark.parametrize(
    ("value", "verdict", "side"),
    [
        # LSL 0.025, USL 0.055, u 0.002: accepted from 0.0283 to 0.0517 (computed by hand, g = 1.645 u;
        # the 95 % default of ISO 14253-1:2017 is from memory)
        (0.0283, "as new", ""),
        (0.0517, "as new", ""),
        (0.0282, "too close to call", "low"),
        (0.0518, "too close to call", "high"),
        (0.050, "as new", ""),
        (0.0595, "beyond limit", "high"),
        (0.0200, "beyond limit", "low"),
    ],
)
def test_two_sided_band(value: float, verdict: str, side: str) -> None:
    found = judge(alone(value, 0.002), new=BAND, again=False)
    assert (found.verdict, found.side) == (verdict, side)


@pytest.mark.parametrize(
    ("value", "again", "verdict"),
    [
        (0.120, True, "serviceable"),
        (0.120, False, "beyond limit"),
        (0.080, True, "as new"),
        (0.160, True, "beyond limit"),
        (0.150, True, "too close to call"),
        (0.030, True, "beyond limit"),  # the low side has no wear limit: the new limit is final
    ],
)
def test_new_and_wear_limits(value: float, again: bool, verdict: str) -> None:
    assert judge(alone(value, 0.001), new=(0.050, 0.110), wear=(None, 0.150), again=again).verdict == verdict


def test_reading_coarser_than_its_band_is_undecided() -> None:
    # 75.97 typed to 0.01 against 75.970 to 75.990: the reading may be 75.965 to 75.975
    coarse = read(75.97, Instrument("mic", 0.001, 0.0), "s", "x", typed_resolution=0.01)
    assert judge(coarse, new=(75.970, 75.990)).verdict == "too close to call"


def test_no_limit_and_lower_bounds() -> None:
    assert judge(alone(1.0, 0.1)).verdict == "no limit on file"
    # what is known to be at least so large can be condemned, never passed
    assert judge(alone(0.206, 0.002), wear=(None, 0.150), bound="at least").verdict == "beyond limit"
    assert judge(alone(0.080, 0.002), wear=(None, 0.150), bound="at least").verdict == "not measured"
    assert judge(alone(0.010, 0.002), new=(0.025, None), bound="at least").verdict == "not measured"


@given(st.floats(0, 0.1), st.floats(0, 0.02), st.booleans())
def test_more_doubt_never_turns_a_verdict_over(value: float, u: float, again: bool) -> None:
    """Growing uncertainty can only make a sure verdict unsure, never the opposite one."""
    wear: Ends = (None, 0.070)
    sure = judge(alone(value, 0.0), new=BAND, wear=wear, again=again).verdict
    doubted = judge(alone(value, u), new=BAND, wear=wear, again=again).verdict
    passing = {"as new", "serviceable"}
    if doubted == "beyond limit":
        assert sure == "beyond limit"
    if doubted in passing:
        assert sure in passing


@given(st.floats(0.0, 0.2), st.floats(0.0, 0.2), st.floats(0.0, 0.01))
def test_a_larger_value_is_never_better_against_an_upper_limit(a: float, b: float, u: float) -> None:
    order = ["as new", "too close to call", "beyond limit"]
    low, high = sorted((a, b))
    first, second = (judge(alone(v, u), new=(None, 0.1), again=False).verdict for v in (low, high))
    assert order.index(first) <= order.index(second)


@given(st.floats(1e-4, 0.02), st.floats(1e-4, 0.05))
@settings(max_examples=30, deadline=None)
def test_between_two_leaves_the_chance_decides(sigma: float, step: float) -> None:
    """5 % of the chance lies beyond each end: scipy's integral of a normal over a rectangle."""
    from scipy.integrate import quad
    from scipy.stats import norm

    gap = replace(alone(0.15, sigma), above=step)
    down, up = reach(gap)
    for limit, sign in ((-down, 1.0), (up, -1.0)):
        beyond, _ = quad(lambda at, limit=limit, sign=sign: norm.cdf(sign * (limit - at) / sigma), 0.0, step)
        assert beyond / step == pytest.approx(0.05, abs=1e-3)


def test_a_leaf_that_goes_in_is_no_centre() -> None:
    """By hand: of 0.15 to 0.20 two fifths lie above 0.18; 0.05 that does not go in is less than 0.05."""
    leaf, limit = 0.004 / 3**0.5, (None, 0.18)
    assert judge(replace(alone(0.15, leaf), above=0.05), new=limit).verdict == "too close to call"
    assert judge(replace(alone(0.15, leaf), above=0.01), new=limit).verdict == "as new"
    assert judge(replace(alone(0.19, leaf), above=0.01), new=limit).verdict == "beyond limit"
    assert judge(replace(alone(0.05, leaf), below=0.05), new=(None, 0.05)).verdict == "as new"
    assert judge(replace(alone(0.05, leaf), below=0.05), new=(0.06, None)).verdict == "beyond limit"
    assert judge(replace(alone(0.05, leaf), below=0.05), new=(0.02, None)).verdict == "too close to call"


@given(st.floats(0.0, 0.01), st.floats(0.0, 0.01))
def test_simple_acceptance_forgives_the_reading_and_not_the_band_of_an_order(
    reading: float, band: float
) -> None:
    found = Measured(10.0, {DoubtSource("reading", "a"): reading, DoubtSource("ordered band", "b"): band})
    only = Measured(10.0, {DoubtSource("reading", "b"): band})
    assert reach(found, guarded=False) == pytest.approx(reach(only))
    assert reach(found, guarded=False)[0] <= reach(found)[0] + 1e-12


def test_deciding_limits_side_by_side() -> None:
    assert deciding_limits((1.0, 2.0), (None, 3.0), again=True)[0] == (1.0, 3.0)
    assert deciding_limits((1.0, 2.0), (None, 3.0), again=False)[0] == (1.0, 2.0)
    assert deciding_limits((None, None), (None, 3.0), again=False) == ((None, 3.0), "wear")


def test_remedy_repeats_settle_what_they_promise() -> None:
    mic = Instrument("mic", 0.001, 0.001, 0.002)
    once = read(10.0025, mic, "s", "x")
    found = remedy(once, (None, 10.0), mic, [])
    assert found.kind == "repeats"
    settled = read(10.0025, mic, "s", "x", repeats=found.repeats)
    assert judge(settled, new=(None, 10.0)).verdict == "beyond limit"
    one_less = read(10.0025, mic, "s", "x", repeats=found.repeats - 1)
    assert judge(one_less, new=(None, 10.0)).verdict == "too close to call"


def test_more_repeats_of_a_difference_settle_what_they_promise() -> None:
    """Two spots read three times each, 3 µm apart, 2 µm from a limit: more repeats of both will settle it."""
    mic = Instrument("mic", 0.001, 0.004, 0.002)

    def apart(repeats: int) -> Measured:
        one, other = (read(v, mic, "s", str(v), repeats=repeats) for v in (10.003, 10.0))
        return one - other

    found = remedy(apart(3), (None, 0.001), mic, [], repeats_taken=3)
    assert found.kind == "repeats"

    def verdict(repeats: int) -> str:
        return judge(apart(repeats), new=(None, 0.001)).verdict

    assert verdict(3) == verdict(found.repeats - 1) == "too close to call"
    assert verdict(found.repeats) == "beyond limit"


def test_remedy_where_the_permitted_error_dominates() -> None:
    mic = Instrument("mic", 0.001, 0.004, 0.001)
    fine = Instrument("comparator", 0.0005, 0.0005, 0.0004)
    reading = read(10.002, mic, "s", "x")
    found = remedy(reading, (None, 10.0), mic, [fine])
    assert (found.kind, found.instrument, found.repeats) == ("instrument", "comparator", 0)
    assert found.permitted_error_dominates
    settled = read(10.002, fine, "s", "x")
    assert judge(settled, new=(None, 10.0)).verdict == "beyond limit"
    assert remedy(reading, (None, 10.0), mic, []).kind == "none"
    assert remedy(read(10.0, mic, "s", "x"), (None, 10.0), mic, [fine]).kind == "none"
