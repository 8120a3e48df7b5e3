"""From a value, its doubt and its limits to one of six verdicts.

The rule is ISO 14253-1: a value conforms where it lies inside the limit by
the guard band, fails where it lies outside by the guard band, and in between
nothing is decided.  The guard is g = 1.645·u (95 % one-sided; from memory of
the 2017 edition), or 0 where the shop chooses simple acceptance.
"""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import Literal

from msgspec import Struct

from .uncertainty import Instrument, Measured, rectangular

GUARD_FACTOR, TAIL = 1.645, 0.05
# below every digit that anybody types: floats that stand for the same decimal are equal
DUST = 1e-9
STEPS = 9  # of Newton's method: beyond the last bit but two, whichever is the wider
BANDS = ("ordered band", "wall band", "class band")  # sources of doubt in which nobody has read anything

FEW, MANY = 5, 30  # repeats that a person takes gladly, and at all (common practice)

Ends = tuple[float | None, float | None]
Bound = Literal["equal", "at least", "at most"]
Name = Literal[
    "as new", "serviceable", "beyond limit", "too close to call", "not measured", "no limit on file"
]
# from worst to best: what a position is worth is the worst of its characteristics
ORDER: tuple[Name, ...] = (
    "beyond limit",
    "too close to call",
    "not measured",
    "serviceable",
    "as new",
    "no limit on file",
)
OPEN: Ends = (None, None)
Answer = Literal["yes", "no", "too close"]


class Judgement(Struct, frozen=True):
    """A verdict, the side on which it fell, and the limits and guard that decided."""

    verdict: Name
    side: Literal["", "low", "high"]
    guard: float  # how far above the value it was held off its limit, and below it
    below: float
    decides: Ends
    deciding: Literal["new", "wear"]


def guard_band(u: float, guarded: bool = True) -> float:
    """By how much a value of this standard uncertainty must lie inside a limit; 0 by simple acceptance.

    Source: ISO 14253-1 (95 %, one-sided; from memory of the 2017 edition).

    >>> round(guard_band(0.002), 5), guard_band(0.002, guarded=False)
    (0.00329, 0.0)
    """
    return GUARD_FACTOR * u if guarded else 0.0


def reach(measured: Measured, guarded: bool = True) -> tuple[float, float]:
    """How far below and above a value the quantity may lie, each with 5 % of the chance beyond it.

    For what was read on a scale both are the guard band.  What lies between two leaves of a feeler lies
    anywhere between them, so that the lesser is below it by nothing, and the next one is as far above as
    all but a twentieth of the step.  By simple acceptance the interval alone counts, and
    the band of what was not read but ordered, or bought by its grade or class: anywhere in it is as bought.

    Source: ISO 14253-1 (95 %, one-sided); JCGM 100:2008, 4.3.7 (rectangular), joined with a normal doubt.

    >>> [round(way, 5) for way in reach(Measured(0.15, above=0.05))]
    [-0.0025, 0.0475]
    """
    width = measured.below + measured.above
    if not guarded:
        band = guard_band(measured.share(*BANDS))
        return measured.below + band, measured.above + band
    if width <= DUST:
        return guard_band(measured.u), guard_band(measured.u)
    inward = _quantile(math.sqrt(max(0.0, measured.u**2 - width**2 / 12.0)), width)
    return measured.below - inward, measured.above - inward


def _quantile(sigma: float, width: float) -> float:
    """Where 5 % of a rectangle from 0 to ``width``, blurred by a normal doubt, lie below."""
    if sigma <= DUST:
        return TAIL * width
    normal, x = NormalDist(), TAIL * width
    # by Newton's method: the chance of less than x is the normal's distribution, averaged over the rectangle,
    # and up to its middle the steeper the farther up, so that no step goes past the place
    for _ in range(STEPS):
        z, y = x / sigma, (x - width) / sigma
        least, most = normal.cdf(y), normal.cdf(z)
        chance = z * most + normal.pdf(z) - y * least - normal.pdf(y)
        x -= (sigma * chance - TAIL * width) / (most - least)
    return x


def surely(spare: Measured, guarded: bool = True) -> Answer:
    """Whether what is to spare is surely at least nothing, surely less, or neither.

    Source: ISO 14253-1 (guard band).

    >>> from rebuildreport.trade.measuring.uncertainty import DoubtSource
    >>> [surely(Measured(spare, {DoubtSource("reading", "a"): 0.01})) for spare in (0.02, 0.01, -0.02)]
    ['yes', 'too close', 'no']
    """
    down, up = reach(spare, guarded)
    if spare.value >= down - DUST:
        return "yes"
    return "no" if spare.value < -up - DUST else "too close"


def worst(verdicts: list[Name]) -> Name:
    """The worst of several verdicts.

    Source: common practice: a chain is as good as its weakest link.

    >>> worst(["as new", "not measured", "serviceable"])
    'not measured'
    """
    return min(verdicts, key=ORDER.index)


def deciding_limits(new: Ends, wear: Ends, again: bool) -> tuple[Ends, Literal["new", "wear"]]:
    """The limits that decide: per side, wear limits for a surface used again, else new limits.

    On a side without the one, the other is final.

    Source: common practice (design rule of this project).

    >>> deciding_limits((0.05, 0.11), (None, 0.15), again=True)
    ((0.05, 0.15), 'wear')
    >>> deciding_limits((0.05, 0.11), (None, 0.15), again=False)
    ((0.05, 0.11), 'new')
    """
    first, second = (wear, new) if again else (new, wear)
    ends = tuple(a if a is not None else b for a, b in zip(first, second, strict=True))
    from_wear = again and wear != OPEN
    return (ends[0], ends[1]), "wear" if from_wear or new == OPEN else "new"


def judge(
    measured: Measured,
    new: Ends = OPEN,
    wear: Ends = OPEN,
    again: bool = True,
    guarded: bool = True,
    bound: Bound = "equal",
) -> Judgement:
    """The verdict on one value [any unit, all arguments alike].

    ``bound`` says what the value is worth: 'at least' (worn shells that were
    not measured; readings missing) can condemn on the high side and pass
    nothing, 'at most' the other way round.

    Source: ISO 14253-1 (guard band on both sides of each limit).

    >>> from rebuildreport.trade.measuring.uncertainty import DoubtSource
    >>> def read(value: float) -> Measured:
    ...     return Measured(value, {DoubtSource("reading", ""): 0.002})
    >>> [judge(read(v), new=(0.025, 0.055), again=False).verdict for v in (0.050, 0.052, 0.0595)]
    ['as new', 'too close to call', 'beyond limit']
    """
    value, (down, up) = measured.value, reach(measured, guarded)
    decides, deciding = deciding_limits(new, wear, again)
    low, high = decides
    if low is None and high is None:
        return Judgement("no limit on file", "", up, down, decides, deciding)
    if high is not None and value - down > high + DUST and bound != "at most":
        return Judgement("beyond limit", "high", up, down, decides, deciding)
    if low is not None and value + up < low - DUST and bound != "at least":
        return Judgement("beyond limit", "low", up, down, decides, deciding)
    if bound != "equal":
        return Judgement("not measured", "", up, down, decides, deciding)
    least, most = value - down, value + up
    if high is not None and most > high + DUST:
        return Judgement("too close to call", "high", up, down, decides, deciding)
    if low is not None and least < low - DUST:
        return Judgement("too close to call", "low", up, down, decides, deciding)
    as_new = new != OPEN and inside(least, 0.0, new) and inside(most, 0.0, new)
    return Judgement("as new" if as_new else "serviceable", "", up, down, decides, deciding)


def inside(value: float, guard: float, ends: Ends) -> bool:
    """Whether a value lies inside both ends by at least the guard.

    Source: ISO 14253-1.

    >>> inside(0.5, 0.1, (0.4, None)), inside(0.45, 0.1, (0.4, None))
    (True, False)
    """
    low, high = ends
    return (low is None or value >= low + guard - DUST) and (high is None or value <= high - guard + DUST)


def middle_of(ends: Ends) -> float | None:
    """Half way between two ends; None where one of them is open.

    Source: common practice.

    >>> middle_of((0.05, 0.11)), middle_of((None, 0.11))
    (0.08, None)
    """
    low, high = ends
    return None if low is None or high is None else (low + high) / 2.0


def repeatable(measured: Measured, decides: Ends) -> bool:
    """Whether any number of repeats could settle a value: what no repeat shrinks leaves the distance free.

    Source: JCGM 100:2008, 4.2.3 (mean of repeats); ISO 14253-1 (guard band).

    >>> from rebuildreport.trade.measuring.uncertainty import DoubtSource
    >>> doubts = {DoubtSource("reading", "a"): 0.002, DoubtSource("permitted error", "mic"): 0.001}
    >>> [repeatable(Measured(value, doubts), (None, 10.0)) for value in (9.998, 9.999)]
    [True, False]
    """
    fixed = measured.u**2 - measured.share("reading") ** 2
    return _margin(measured, decides) > GUARD_FACTOR * math.sqrt(max(0.0, fixed))


def _margin(measured: Measured, decides: Ends) -> float:
    """How far the middle of what a value may be lies from the nearer limit."""
    middle = measured.value + (measured.above - measured.below) / 2.0
    return min(abs(middle - end) for end in decides if end is not None)


class Remedy(Struct, frozen=True):
    """What would settle a verdict that is too close to call; ``repeats`` 0: no number of them would."""

    kind: Literal["repeats", "instrument", "none"]
    repeats: int = 0
    instrument: str = ""
    permitted_error_dominates: bool = False


def remedy(
    measured: Measured,
    decides: Ends,
    used: Instrument,
    others: list[Instrument],
    repeats_taken: int = 1,
    set_from: str = "",
) -> Remedy:
    """How to settle a value that is too close to its limit.

    Repeats shrink only the repeatability.  Where permitted error, resolution
    and setting alone already exceed what the distance to the limit allows, no
    number of repeats will do, and the first of ``others`` that is good enough
    is named (``set_from`` is the micrometer whose setting it would make
    needless); none will do where the value lies on the limit itself.

    Source: JCGM 100:2008, 4.2.3 (mean of repeats); ISO 14253-1 (guard band).

    >>> mic = Instrument("mic", 0.001, 0.001, 0.002)
    >>> from rebuildreport.trade.measuring.uncertainty import read
    >>> remedy(read(10.002, mic, "s", "x"), (None, 10.0), mic, []).repeats
    4
    """
    needed, count = _margin(measured, decides) / GUARD_FACTOR, 0
    random = measured.share("reading")
    each = used.random(repeats=repeats_taken)  # as it stands in what was measured
    readings = max(1.0, (random / each) ** 2) if each else 1.0
    repeatable = readings * used.repeatability**2 / repeats_taken
    fixed = measured.u**2 - repeatable
    if needed**2 > fixed and repeatable > 0:
        count = math.ceil(repeatable * repeats_taken / (needed**2 - fixed) - 1e-12)
        if count <= FEW:
            return Remedy("repeats", repeats=count)
    dominates = rectangular(used.permitted_error) ** 2 > repeatable
    for other in others:
        if _read_with(measured, used, other, set_from).u < needed:
            return Remedy("instrument", count, other.name, dominates)
    return Remedy("repeats", count) if 0 < count <= MANY else Remedy("none", 0, "", dominates)


def _read_with(measured: Measured, used: Instrument, other: Instrument, set_from: str) -> Measured:
    """A value with the doubt that it would have, had another instrument read it."""
    error, random = rectangular(used.permitted_error), used.random()
    parts = dict(measured.parts)
    for source, part in measured.parts.items():
        of_setting = source.kind == "setting" or (set_from and source.instrument == set_from)
        if other.own_setting and of_setting:
            parts[source] = 0.0  # it brings its own ring or standard
        elif source.kind == "permitted error" and source.instrument == used.name and error:
            parts[source] = part * rectangular(other.permitted_error) / error
        elif source.kind == "reading" and random:
            parts[source] = part * other.random() / random
    finer = other.resolution / used.resolution if used.leaves else 1.0  # the next leaf is as much nearer
    return Measured(measured.value, parts, measured.below * finer, measured.above * finer)
