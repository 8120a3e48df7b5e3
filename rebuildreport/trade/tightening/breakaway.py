"""What it took to let bolts go: evidence of a pattern, never proof of a torque."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from math import comb
from statistics import median
from typing import Literal

from msgspec import Struct

# below and above these shares of the others' median a breakaway stands out: rest friction and settling
# alone make 10 to 30 per cent (common practice)
LOOSE, TIGHT = 0.6, 1.5
# one that the rest, close together, leave far behind stands out sooner: beyond those 30 per cent, and by a
# modified z-score (Iglewicz and Hoaglin 1993; NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17)
UNEXPLAINED, FAR, ENOUGH = 0.3, 3.5, 5
_NORMAL = 0.6745  # of a normal spread, that its median deviation is


class StandsOut(Struct, frozen=True):
    """One place whose bolts let go at another torque than the rest [N·m]."""

    place: str
    value: float  # mean of its bolts
    others: float  # median of all other bolts
    kind: Literal["loose", "tight"]

    @property
    def share(self) -> float:
        """Its torque over that of the others."""
        return self.value / self.others


def stands_out(readings: Mapping[str, Sequence[float]]) -> list[StandsOut]:
    """Places whose breakaway differs from the others' by more than friction and settling explain.

    ``readings`` are torques [N·m] by place (a cap, a row, a bolt).  Needs three places; from five on, the
    spread of them all counts too, by their median deviation, which two bad ones of eight do not move.

    Source: common practice (breakaway commonly differs from the tightening torque by 10 to 30 per cent);
    outliers by the modified z-score, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17.

    >>> found = stands_out({"R1": [95.0, 102.0], "R2": [88.0, 91.0], "R3": [29.0, 27.0], "R4": [98.0, 93.0]})
    >>> [(one.place, one.kind, round(one.share, 2)) for one in found]
    [('R3', 'loose', 0.3)]
    """
    torques = {place: own for place, own in readings.items() if own}
    if len(readings) < 3 or len(torques) < 2:
        return []
    means = {place: sum(own) / len(own) for place, own in torques.items()}
    middle = median(means.values())
    spread = median(abs(mean - middle) for mean in means.values()) if len(means) >= ENOUGH else math.inf
    found = []
    for place, value in means.items():
        others = median(torque for other, own in torques.items() if other != place for torque in own)
        if others <= 0.0:
            continue
        far = _NORMAL * abs(value - middle) > FAR * spread
        loose, tight = (1.0 - UNEXPLAINED, 1.0 + UNEXPLAINED) if far else (LOOSE, TIGHT)
        if value < loose * others:
            found.append(StandsOut(place, value, others, "loose"))
        elif value > tight * others:
            found.append(StandsOut(place, value, others, "tight"))
    return found


def rows_apart(one: Sequence[float], other: Sequence[float]) -> float | None:
    """How likely chance alone puts all of one row below all of another; None where they overlap.

    Of all ways to deal the readings into the two rows only two part them cleanly: 2 / C(n+m, n).

    Source: the rank-sum test's extreme case (Mann and Whitney 1947), two-sided.

    >>> rows_apart([70.0, 74.0, 71.0, 76.0, 73.0], [95.0, 91.0, 99.0, 94.0, 97.0])
    0.007936507936507936
    """
    if not one or not other or not (max(one) < min(other) or max(other) < min(one)):
        return None
    return 2.0 / comb(len(one) + len(other), len(one))
