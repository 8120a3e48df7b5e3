"""Lives cut off at either end: against published examples, a reference library and planted lives."""

from __future__ import annotations

import math
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.trade.life.lifetimes import Lifetime, Look, lifetimes
from rebuildreport.trade.life.survival import kaplan_meier, self_consistent, weibull

# NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: twenty units, ten failed within 500 h
NIST = [Lifetime(a, a) for a in (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)] + [Lifetime(500, inf)] * 10


def test_the_weibull_life_of_the_handbook() -> None:
    fit = weibull(NIST)
    assert fit.scale == pytest.approx(606.53, abs=0.05)
    assert fit.shape == pytest.approx(1.7208, abs=0.0005)
    assert fit.likelihood == pytest.approx(-75.135, abs=0.001)


def test_the_survivors_of_the_handbook() -> None:
    """e-Handbook, 8.2.1.5: twenty parts, some removed before they failed."""
    lives = [Lifetime(a, a) for a in (10, 32, 56, 98, 122, 181)]
    lives += [Lifetime(a, inf) for a in (50, 100, 125, 150, *[200] * 10)]
    found = {step.age: step.left for step in kaplan_meier(lives)}
    published = {10: 0.95, 32: 0.90, 56: 0.8471, 98: 0.7941, 122: 0.7374, 181: 0.6704}
    assert found == pytest.approx(published, abs=0.0001)


def _drawn(seed: int, shape: float = 2.5, scale: float = 180.0, n: int = 60) -> list[Lifetime]:
    """Lives of known shape, seen as a shop sees them: some enter late, some fail between two looks."""
    rng = np.random.default_rng(seed)
    lives: list[Lifetime] = []
    while len(lives) < n:
        age, entered = scale * rng.weibull(shape), float(rng.choice([0.0, 0.0, rng.uniform(0, 120)]))
        looks = sorted(rng.uniform(20, 320, 3))
        if age <= entered:
            continue  # never seen
        looks = [look for look in looks if look > entered]
        before, after = [x for x in looks if x < age], [x for x in looks if x >= age]
        if rng.random() < 0.4 and after:
            lives.append(Lifetime(age, age, entered))
        elif after:
            lives.append(Lifetime(max(before, default=entered), after[0], entered))
        elif before:
            lives.append(Lifetime(before[-1], inf, entered))
    return lives


def test_the_weibull_life_agrees_with_a_reference_library() -> None:
    lifelines = pytest.importorskip("lifelines")
    right = [life for life in _drawn(3) if life.exact or not life.failed]
    ours = weibull(right)
    theirs = lifelines.WeibullFitter().fit(
        [life.after for life in right],
        [life.failed for life in right],
        entry=[life.entered for life in right],
    )
    assert (ours.scale, ours.shape) == pytest.approx((theirs.lambda_, theirs.rho_), rel=1e-3)
    between = [Lifetime(life.after, life.until) for life in _drawn(4)]
    ours = weibull(between)
    theirs = lifelines.WeibullFitter().fit_interval_censoring(
        [life.after for life in between], [life.until for life in between]
    )
    assert (ours.scale, ours.shape) == pytest.approx((theirs.lambda_, theirs.rho_), rel=1e-3)


def test_survivors_agree_with_a_reference_library() -> None:
    lifelines = pytest.importorskip("lifelines")
    lives = [Lifetime(a.after, a.until, a.entered) for a in _drawn(5, n=80) if a.exact or not a.failed]
    theirs = lifelines.KaplanMeierFitter().fit(
        [a.after for a in lives], [a.failed for a in lives], entry=[a.entered for a in lives]
    )
    low = theirs.confidence_interval_.iloc[:, 0]
    for step in kaplan_meier(lives):
        assert step.left == pytest.approx(float(theirs.survival_function_.loc[step.age].iloc[0]), abs=1e-9)
        if step.low is not None:
            assert step.low == pytest.approx(float(low.loc[step.age]), abs=1e-6)


def test_survivors_between_two_looks() -> None:
    """Beside the product-limit estimate where ages are known, and beside a reference library where not."""
    known = [life for life in _drawn(6) if life.exact or not life.failed]
    for one, other in zip(kaplan_meier(known), self_consistent(known), strict=True):
        assert (one.age, one.left) == pytest.approx((other.age, other.left), abs=1e-5)
    lifelines = pytest.importorskip("lifelines")
    # closed intervals there, half open here: without ties both are the same
    between = [Lifetime(a.after - 0.01 if a.exact else a.after, a.until) for a in _drawn(7)]
    theirs = lifelines.KaplanMeierFitter().fit_interval_censoring(
        [a.after for a in between], [a.until for a in between]
    )
    lower = theirs.survival_function_.iloc[:, 1]
    for step in self_consistent(between):
        assert step.left == pytest.approx(float(lower.loc[: step.age].iloc[-1]), abs=0.01)


@pytest.mark.parametrize(("shape", "scale"), [(1.2, 150.0), (3.0, 180.0)])
def test_planted_lives_are_recovered(shape: float, scale: float) -> None:
    """Bounds of 95 % hold the planted figure in about 95 of 100 seeds: 33 or more of 40 at the least."""
    inside = np.zeros(3)
    for seed in range(40):
        fit = weibull(_drawn(seed, shape, scale))
        half = scale * math.log(2) ** (1 / shape)
        for i, (planted, (low, high)) in enumerate(
            [
                (shape, fit.shape_bounds()),
                (half, fit.age_bounds(0.5)),
                (scale, fit.age_bounds(1 - math.exp(-1))),
            ]
        ):
            inside[i] += low <= planted <= high
    assert min(inside) >= 33  # fewer has a chance below 0.2 % (binomial, 40 of 0.95)


@given(st.integers(0, 50), st.floats(0.1, 1000))
@settings(max_examples=10, deadline=None)
def test_the_unit_of_use_changes_nothing(seed: int, factor: float) -> None:
    lives = _drawn(seed, n=25)
    scaled = [Lifetime(a.after * factor, a.until * factor, a.entered * factor) for a in lives]
    one, other = weibull(lives), weibull(scaled)
    assert other.shape == pytest.approx(one.shape, rel=1e-4)
    assert other.age(0.5) == pytest.approx(one.age(0.5) * factor, rel=1e-4)


def test_looks_at_one_engine_are_one_life() -> None:
    """Good, good, then failed is one failure; what was renewed begins again; what nobody saw has no share."""
    looks = [Look("a", 50, "good"), Look("a", 80, "good", renewed=True), Look("a", 120, "failed")]
    assert lifetimes(looks) == [Lifetime(80, inf), Lifetime(40, 40)]
    assert lifetimes([Look("", 120, "worn out", known_from=90)]) == [Lifetime(90, 120, 90)]
    assert lifetimes([Look("", 120, "failed", new_at=100)]) == [Lifetime(20, 20)]


def test_what_cannot_be_fitted_is_said() -> None:
    with pytest.raises(ValueError, match="nothing has failed"):
        weibull([Lifetime(10, inf)] * 12)
    with pytest.raises(ValueError, match="entry"):
        Lifetime(10, 5)
    with pytest.raises(ValueError, match="settle"):
        weibull([Lifetime(0, 10)] * 12)
    with pytest.raises(ValueError, match="settle"):
        weibull([Lifetime(0, 10)] * 6 + [Lifetime(10, inf)] * 6)  # one share at one age: any shape fits
