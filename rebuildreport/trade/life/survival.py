"""How many are left at each age, of lives cut off at either end, without an assumed shape."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import exp, inf, log, sqrt

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
