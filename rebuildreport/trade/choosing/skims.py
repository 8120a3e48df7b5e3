"""Skimming a face: the least that cleans it up, the most that the part allows, and what moves with it.

Everything here is in mm.  A cut of t moves all that is measured from the face
by t: a piston or a liner stands t higher over a skimmed deck, a valve lies t
less deep in a skimmed head.
"""

from __future__ import annotations

import math

from msgspec import Struct

from ..measuring.uncertainty import Measured
from ..measuring.verdict import Answer, reach, surely

CUT_STEP = 0.01  # mm: no shop sets a cut finer (common practice)


class Cut(Struct, frozen=True):
    """What one cut takes off a face, and what it leaves of the part."""

    taken: float
    cleans_up: Answer
    height: Measured | None  # of the part afterwards; None: it was not measured
    high_enough: Answer | None  # None: no height, or no least height


def least_cut(gap: Measured, allowance: float = 0.0, guarded: bool = True, step: float = CUT_STEP) -> float:
    """The least that surely cleans a face up: its worst gap with its guard, and the allowance [mm].

    It is rounded up to a whole ``step``.  A cutter that runs parallel to the
    straightedge must reach the deepest place under it.

    Source: common practice; ISO 14253-1 (guard band).

    >>> least_cut(Measured(0.12), 0.02), least_cut(Measured(0.071))
    (0.14, 0.08)
    """
    _, up = reach(gap, guarded)
    return round(math.ceil((gap.value + up + allowance) / step - 1e-6) * step, 9)


def most_cut(height: Measured, least: float, guarded: bool = True, step: float = CUT_STEP) -> float:
    """The most that may come off a part of this height and surely leave its least height [mm].

    It is rounded down to a whole ``step``, and never below 0.

    Source: ISO 14253-1 (guard band).

    >>> round(most_cut(Measured(92.45), 92.00), 6)
    0.45
    """
    down, _ = reach(height, guarded)
    return round(max(0.0, math.floor((height.value - down - least) / step + 1e-6)) * step, 9)


def cut(
    taken: float,
    gap: Measured | None,
    allowance: float = 0.0,
    height: Measured | None = None,
    least: float | None = None,
    guarded: bool = True,
) -> Cut:
    """One cut tried: whether it cleans the face up, and whether enough of the part is left [mm].

    Without a ``gap`` nothing says that it cleans up.

    Source: common practice; ISO 14253-1 (guard band).

    >>> tried = cut(0.15, Measured(0.12), 0.02, Measured(92.45), 92.00)
    >>> tried.cleans_up, round(tried.height.value, 3), tried.high_enough
    ('yes', 92.3, 'yes')
    """
    answer: Answer = (
        "too close" if gap is None else surely(gap.scaled(-1.0).shifted(taken - allowance), guarded)
    )
    left = None if height is None else height.shifted(-taken)
    enough = None if left is None or least is None else surely(left.shifted(-least), guarded)
    return Cut(taken, answer, left, enough)
