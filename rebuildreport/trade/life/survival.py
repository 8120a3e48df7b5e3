"""How many are left at each age, of lives cut off at either end: counted, and by the Weibull life of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import exp, inf, log, sqrt
from typing import Any

from msgspec import Struct

from .lifetimes import Lifetime

NORMAL_95 = 1.959964  # two-sided 95 % of the normal distribution


class Step(Struct, frozen=True):
    """From this age on: the share left, and its 95 % bounds; None where none can be given."""

    age: float
    left: float
    low: float | None
    high: float | None


def at_risk(lives: Sequence[Lifetime], age: float) -> int:
    """How many were under observation and not known to have failed just before an age.

    Source: the risk set of Kaplan and Meier, with late entry.

    >>> at_risk([Lifetime(10, 10), Lifetime(50, inf), Lifetime(50, inf, entered=20)], 10)
    2
    """
    return sum(life.entered < age <= life.after for life in lives)


def kaplan_meier(lives: Sequence[Lifetime]) -> list[Step]:
    """The product-limit estimate with Greenwood's variance, 95 % bounds on the log-log scale.

    Lives may enter late and may not have ended; none may have failed between two looks (ValueError:
    ``self_consistent`` takes those, too).  A step for each age at which some failed.

    Source: Kaplan and Meier, J. Am. Stat. Assoc. 53 (1958) 457; late entry by the risk set; bounds as in
    Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data.

    >>> lives = [Lifetime(10, 10), Lifetime(32, 32), Lifetime(50, inf)]
    >>> [round(step.left, 4) for step in kaplan_meier(lives)]
    [0.6667, 0.3333]
    """
    if any(life.failed and not life.exact for life in lives):
        raise ValueError("some failed between two looks: the product-limit estimate needs the age itself")
    left, spread, steps = 1.0, 0.0, []
    for age in sorted({life.until for life in lives if life.failed}):
        risk = at_risk(lives, age)
        failed = sum(life.until == age for life in lives)
        left *= 1 - failed / risk
        if failed < risk:
            spread += failed / (risk * (risk - failed))
        steps.append(Step(age, left, *_bounds(left, spread)))
    return steps


def _bounds(left: float, spread: float) -> tuple[float | None, float | None]:
    if not 0 < left < 1:
        return None, None
    width = NORMAL_95 * sqrt(spread) / abs(log(left))
    return left ** exp(width), left ** exp(-width)


def self_consistent(lives: Sequence[Lifetime], tolerance: float = 1e-9, rounds: int = 5000) -> list[Step]:
    """The estimate of largest likelihood where some failed between two looks; no bounds.

    Between two of its steps the data do not say where the share falls.  Equal to ``kaplan_meier`` where
    every age of failure is known.

    Source: Turnbull, J. R. Stat. Soc. B 38 (1976) 290, by expectation and maximisation.

    >>> [(step.age, round(step.left, 3)) for step in self_consistent([Lifetime(0, 10), Lifetime(5, inf)])]
    [(10.0, 0.0)]
    """
    import numpy as np

    places = _places(lives)
    lows = np.array([place[0] for place in places])
    highs, closed = np.array([place[1] for place in places]), np.array([place[2] for place in places], bool)
    table = np.array([(a.after, a.until, a.entered, a.exact) for a in lives], dtype=float)
    after, until, entered, exact = (column[:, None] for column in table.T)
    inside = (highs <= until) & np.where(
        exact > 0, lows == after, np.where(closed, lows > after, lows >= after)
    )
    seen = np.where(closed, lows > entered, lows >= entered)
    # the places of a life stand side by side, so do those before its entry: sums over them are differences
    first, unseen = inside.argmax(axis=1), (~seen).sum(axis=1)
    behind = first + inside.sum(axis=1)
    size = len(places) + 1
    share = np.full(len(places), 1 / len(places))
    for _ in range(rounds):
        below = np.concatenate(([0.0], share.cumsum()))
        expected = 1 / (below[behind] - below[first])
        missed = 1 / (1 - below[unseen])  # those that failed before anybody could see them
        edges = np.bincount(first, expected, size) - np.bincount(behind, expected, size)
        edges -= np.bincount(unseen, missed, size)
        edges[0] += missed.sum()
        new = np.maximum(share * edges[:-1].cumsum(), 0.0)
        new /= new.sum()
        moved, share = np.abs(new - share).max(), new
        if moved < tolerance:
            break
    steps, left = [], 1.0
    for age, part in zip(highs, share, strict=True):
        left -= float(part)
        if age < inf and part > 1e-6:
            steps.append(Step(float(age), max(left, 0.0), None, None))
    return steps


def _places(lives: Sequence[Lifetime]) -> list[tuple[float, float, bool]]:
    """Where the estimate can fall: beginning, end, and whether at its beginning itself.

    From a beginning to the end that is next to it with nothing in between; with late entry an entry is
    an end, too (Frydman, J. R. Stat. Soc. B 56 (1994) 71).
    """
    # at one age: what fails at it begins there, then what has failed by it ends, then what lives on begins
    marks = {(life.after, 0 if life.exact else 2) for life in lives} | {(0.0, 2)}
    marks |= {(life.until, 1) for life in lives} | {(life.entered, 1) for life in lives if life.entered}
    order = sorted(marks | {(inf, 1)})
    return [(low, high, kind == 0) for (low, kind), (high, end) in pairwise(order) if kind != 1 and end == 1]


# ---------------------------------------------------------------- Weibull


HALF_CHI_95 = 3.841459 / 2  # by which the log likelihood falls at a 95 % bound of one number
WIDEST = 50.0  # a bound that is not met within so many times its unit of log scale is none


class Weibull(Struct, frozen=True):
    """Survivors fall as exp(-(age/scale)^shape); with the lives that it was fitted to.

    ``shape`` below 1: fails young; about 1: by accident at any age; above: wears out.
    """

    shape: float
    scale: float  # unit of the ages: 63.2 % have failed by then
    likelihood: float  # natural logarithm
    lives: tuple[Lifetime, ...]

    def left(self, age: float) -> float:
        """Share not failed at an age.

        >>> round(Weibull(2.0, 100.0, 0.0, ()).left(100.0), 4)
        0.3679
        """
        return exp(-((age / self.scale) ** self.shape))

    def age(self, failed: float) -> float:
        """Age by which a share has failed.

        >>> round(Weibull(2.0, 100.0, 0.0, ()).age(0.5), 2)
        83.26
        """
        return float(self.scale * (-log(1 - failed)) ** (1 / self.shape))

    def age_bounds(self, failed: float) -> tuple[float, float]:
        """95 % likelihood bounds of the age by which a share has failed; 0 and inf where there is none."""
        of_one, near = log(-log(1 - failed)), log(self.shape)
        terms = _Terms(self.lives)

        def best(at: float) -> float:
            return _greatest(lambda k: terms.at(exp(k), at - of_one / exp(k)), near)

        return self._bounds(self.age(failed), best)

    def shape_bounds(self) -> tuple[float, float]:
        """95 % likelihood bounds of the shape; 0 and inf where there is none."""
        terms = _Terms(self.lives)
        return self._bounds(self.shape, lambda at: terms.best_scale(exp(at), log(self.scale)))

    def _bounds(self, best: float, likelihood: Callable[[float], float]) -> tuple[float, float]:
        """Where the likelihood, the greatest for each logarithm of a number, has fallen from its ``best``."""

        def short(at: float) -> float:
            return self.likelihood - likelihood(at) - HALF_CHI_95

        low, high = _crossing(short, log(best), -1), _crossing(short, log(best), 1)
        return exp(low) if low > -inf else 0.0, exp(high) if high < inf else inf


def weibull(lives: Sequence[Lifetime]) -> Weibull:
    """The fit of largest likelihood to lives cut off at either end.

    A failure at a known age counts by its density, one between two looks by the difference of the
    survivors, a part still good by its survivors, each over the survivors at its entry.  Raises ValueError
    where nothing has failed, or where the data do not settle both numbers.

    Source: likelihood of Meeker and Escobar, Statistical Methods for Reliability Data; data with exact
    ages and one end as in NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.2.

    >>> fit = weibull([Lifetime(a, a) for a in (54, 187, 216, 240, 244)] + [Lifetime(500, inf)] * 2)
    >>> 1 < fit.shape < 3
    True
    """
    from scipy.optimize import minimize

    if not any(life.failed for life in lives):
        raise ValueError("nothing has failed: there is no life to fit")
    terms = _Terms(lives)
    typical = sum(life.after if life.exact or not life.failed else life.until for life in lives) / len(lives)
    found = min(
        (
            minimize(
                lambda x: -terms.at(exp(x[0]), x[1]),
                (log(shape), log(typical)),
                method="Nelder-Mead",
                options={"xatol": 1e-8, "fatol": 1e-10, "maxiter": 2000},
            )
            for shape in (1.0, 3.0)
        ),
        key=lambda result: float(result.fun),
    )
    shape, scale = exp(found.x[0]), exp(found.x[1])
    settled = found.success and 0.05 < shape < WIDEST and scale < 1e3 * typical and found.fun > 1e-6
    if not settled or all(
        terms.best_scale(other, found.x[1]) > -found.fun - 1e-6 for other in (shape / 1.5, shape * 1.5)
    ):
        raise ValueError("the lives do not settle a shape and a scale")
    return Weibull(float(shape), float(scale), -float(found.fun), tuple(lives))


class _Terms:
    """The log likelihood of lives, as arrays."""

    def __init__(self, lives: Sequence[Lifetime]) -> None:
        import numpy as np

        self._np: Any = np
        with np.errstate(divide="ignore"):
            exact = [life for life in lives if life.exact]
            between = [life for life in lives if life.failed and not life.exact]
            self.exact = np.log([life.after for life in exact])
            self.low = np.log([life.after for life in between])
            self.high = np.log([life.until for life in between])
            self.good = np.log([life.after for life in lives if not life.failed])
            self.entered = np.log([life.entered for life in lives if life.entered])

    def at(self, shape: float, log_scale: float) -> float:
        np = self._np
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):

            def hazard(log_age: Any) -> Any:
                return np.exp(np.minimum(shape * (log_age - log_scale), 700.0))

            z = shape * (self.exact - log_scale)
            total = (log(shape) - self.exact + z - hazard(self.exact)).sum() - hazard(self.good).sum()
            low, high = hazard(self.low), hazard(self.high)
            total += (-low + np.log(-np.expm1(low - high))).sum() + hazard(self.entered).sum()
        return float(total) if np.isfinite(total) else -1e300

    def best_scale(self, shape: float, near: float) -> float:
        return _greatest(lambda scale: self.at(shape, scale), near)


def _greatest(function: Callable[[float], float], near: float) -> float:
    """The greatest that a function of one number comes to."""
    from scipy.optimize import minimize_scalar

    found = minimize_scalar(lambda at: -function(at), bracket=(near - 0.1, near + 0.1))
    return -float(found.fun)


def _crossing(short: Callable[[float], float], best: float, way: int) -> float:
    """Where a function that is below nought at ``best`` crosses it on one side; infinite if nowhere."""
    from scipy.optimize import brentq

    step, last = 0.05, best
    while step < WIDEST:
        at = best + way * step
        if short(at) > 0:
            return float(brentq(short, min(last, at), max(last, at), xtol=1e-8))
        last, step = at, step * 2
    return way * inf
