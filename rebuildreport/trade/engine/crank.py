"""Cranks and camshafts turned under an indicator: runout, bend, out-of-round kept apart; rods held straight.

An indicator on a turning journal sees two things at once: the journal's
centre going round (once a turn) and the journal's own shape (twice a turn and
oftener).  Total runout is both together; only the first is bend.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import permutations

from msgspec import Struct
from msgspec.structs import replace

from ..measuring.fitting import least_squares_weights
from ..measuring.form import spread
from ..measuring.uncertainty import Measured, combine

ALIKE = 1e-9  # mm: below every digit that anybody types


class Wheel(Struct, frozen=True):
    """What the indicator showed round a journal, and where its centre lies, for a drawing [degrees, mm]."""

    readings: tuple[tuple[float, float], ...]  # angle, reading
    centre: tuple[float, float]  # off the axis of turning, towards 0 and towards 90 degrees


class Turned(Struct, frozen=True):
    """One journal turned under an indicator [mm]."""

    across: Measured  # the centre's distance from the axis of turning, at 0° ...
    up: Measured  # ... and at 90°
    runout: Measured  # total indicator reading: largest less smallest
    out_of_round: Measured | None  # of the radius, centre's going round taken out; None: three readings only
    mean: Measured

    @property
    def eccentricity(self) -> Measured:
        """How far the centre lies off the axis of turning."""
        return length(self.across, self.up)

    @property
    def angle(self) -> float:
        """Where the centre lies, in degrees of the readings' own count."""
        return math.degrees(math.atan2(self.up.value, self.across.value)) % 360.0


def length(across: Measured, up: Measured) -> Measured:
    """The length of a vector of two values.

    At a length of nothing the direction is open, and the larger uncertainty of the two stands.

    Source: JCGM 100:2008, 5.1.2, with the derivatives of a square root of two squares.

    >>> length(Measured(0.03), Measured(0.04)).value
    0.05
    """
    size = math.hypot(across.value, up.value)
    if size == 0.0:
        return Measured(0.0, max(across, up, key=lambda way: way.u).parts)
    turned = combine([(across.value / size, across), (up.value / size, up)])
    return Measured(size, turned.parts)


def turned(readings: Mapping[float, Measured]) -> Turned:
    """Runout and eccentricity of a journal from indicator readings by angle [mm, degrees].

    Least squares of mean + across·cos + up·sin.  What it leaves is the
    journal's own shape; with four readings or fewer an oval that stands
    askew to them can hide.

    Raises ValueError for fewer than three angles.

    Source: least-squares circle of a nearly centred profile (limaçon approximation); common practice.

    >>> dial = {a: Measured(0.02 + 0.03 * math.cos(math.radians(a))) for a in range(0, 360, 45)}
    >>> one = turned(dial)
    >>> round(one.eccentricity.value, 9), round(one.runout.value, 9), round(one.out_of_round.value, 9)
    (0.03, 0.06, 0.0)
    """
    rows = [[1.0, math.cos(math.radians(a)), math.sin(math.radians(a))] for a in readings]
    values = list(readings.values())
    weights = least_squares_weights(rows)
    mean, across, up = (combine(zip(ws, values, strict=True)) for ws in weights)
    shape = None
    if len(values) > 3:
        left = [
            value.value - mean.value - across.value * row[1] - up.value * row[2]
            for row, value in zip(rows, values, strict=True)
        ]
        high, low = max(left), min(left)
        # of several that stand out alike, but for a float's dust, the two that are known least
        pairs = [
            (top, bottom)
            for top, bottom in permutations(range(len(left)), 2)
            if left[top] > high - ALIKE and left[bottom] < low + ALIKE
        ]
        shapes = [combine(zip(_apart(rows, weights, *pair), values, strict=True)) for pair in pairs]
        shape = max(shapes, key=lambda width: width.u)
    return Turned(across, up, spread(values), shape, mean)


def _apart(
    rows: Sequence[Sequence[float]], weights: Sequence[Sequence[float]], top: int, bottom: int
) -> list[float]:
    """By how much each reading moves the distance that the circle leaves between two of them."""
    return [
        float(k == top) - float(k == bottom)
        - sum((rows[top][i] - rows[bottom][i]) * weights[i][k] for i in range(3))
        for k in range(len(rows))
    ]  # fmt: skip


def bends(
    journals: Sequence[Turned], supports: tuple[int, int] | None = None, stations: Sequence[float] = ()
) -> list[Measured]:
    """How far each journal's centre lies off the straight line through the two that carry the shaft [mm].

    ``stations`` say where each stands along the shaft [mm], at equal distances where none are given;
    ``supports`` are their numbers from 0, the first and the last where none are given.  The centre of a
    bent shaft goes round by this much: its runout is twice the bend.

    Source: geometry; common practice (bend is half the runout).

    >>> straight = Turned(Measured(0.0), Measured(0.0), Measured(0.0), None, Measured(0.0))
    >>> middle = Turned(Measured(0.02), Measured(0.0), Measured(0.04), None, Measured(0.0))
    >>> [one.value for one in bends([straight, middle, straight])]
    [0.0, 0.02, 0.0]
    """
    at = stations or range(len(journals))
    first, last = supports or (0, len(journals) - 1)
    found = []
    for i, journal in enumerate(journals):
        along = (at[i] - at[first]) / (at[last] - at[first]) if last != first else 0.0
        ways = [
            combine([(1.0, here), (along - 1.0, start), (-along, end)])
            for here, start, end in (
                (journal.across, journals[first].across, journals[last].across),
                (journal.up, journals[first].up, journals[last].up),
            )
        ]
        bend = length(*ways)
        if i in (first, last):  # on the line as it is drawn, and as surely as its own centre is known
            bend = replace(journal.eccentricity, value=0.0)
        found.append(bend)
    return found


# ---------------------------------------------------------------- rods


USUAL_LENGTH = 100.0  # mm, over which bend and twist are stated (common practice)


def over_length(reading: Measured, read_over: float, stated_over: float = USUAL_LENGTH) -> Measured:
    """Bend or twist read over one distance, stated over another [mm].

    Source: similar triangles; common practice states them over 100 mm.

    >>> round(over_length(Measured(0.03), 150.0).value, 9)
    0.02
    """
    if read_over <= 0.0:
        raise ValueError("bend and twist are read over a distance")
    return reading.scaled(stated_over / read_over)
