"""What readings can be: how far repeats may lie apart, and which band or unit a reading fits.

Nothing here corrects a reading.  These are the questions that an old hand asks
of a page of numbers before working anything out from it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

# Critical range factors f(n) for 95 %: ISO 5725-6:1994, table 1. 2.8 and 3.3 are also printed in published
# precision statements; the others agree with the studentised range distribution rounded to a tenth.
RANGE_FACTORS = (
    2.8, 3.3, 3.6, 3.9, 4.0, 4.2, 4.3, 4.4, 4.5, 4.6, 4.6, 4.7, 4.7, 4.8, 4.8, 4.9, 4.9, 5.0, 5.0,
)  # fmt: skip

INCH = 25.4
# What a point in the wrong place or an inch for a millimetre makes of a reading, likeliest first.
SLIPS: tuple[float, ...] = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001)
MISTAKEN_UNIT: tuple[float, ...] = (INCH, 1.0 / INCH)

# Shop practice of this project: beyond WIDE times its low end a band tells nothing of a factor of 25; within
# NARROW it is a size; a reading that is less than FAR times away is a worn or a wrong part, not a wrong unit.
WIDE, NARROW, FAR = 5.0, 1.05, 3.0

# Readings of one size lie within this share of it of each other and of their band, wear included: a liner of
# 98 mm worn by 0.25 mm does (common practice).
ALIKE = 0.003


class Band(NamedTuple):
    """What a size can be: from ``low`` to ``high`` [any unit, both alike]."""

    low: float
    high: float

    def fits(self, values: Sequence[float], slack: float = 0.0) -> bool:
        """Whether all values lie inside, or outside by no more than ``slack``.

        >>> Band(47.982, 48.000).fits([47.995, 47.994]), Band(47.982, 48.000).fits([41.988])
        (True, False)
        """
        return all(self.low - slack <= value <= self.high + slack for value in values)

    @property
    def of_size(self) -> bool:
        """Whether it is the band of a size: a clearance or a gap may wear by any share of itself.

        >>> Band(47.982, 48.000).of_size, Band(0.15, 0.22).of_size
        (True, False)
        """
        return self.low > 0 and self.high <= NARROW * self.low

    @property
    def slack(self) -> float:
        """How far outside its band a worn surface of this size may still read.

        >>> round(Band(47.982, 48.000).slack, 6), round(Band(0.15, 0.22).slack, 6)
        (0.144, 0.07)
        """
        return max(self.high - self.low, ALIKE * abs(self.high))


def critical_range(repeatability: float, repeats: int) -> float:
    """How far ``repeats`` readings of one spot may lie apart: 95 series of 100 do [unit of repeatability].

    ``repeatability`` is the pooled standard deviation of one reading.  Where
    the range is larger, the readings are not repeats of one another: the spot
    is measured again.  Raises ValueError for fewer than two readings.

    Source: ISO 5725-6, method for checking the acceptability of test results (critical range factors).

    >>> round(critical_range(0.001, 2), 6), round(critical_range(0.001, 3), 6)
    (0.0028, 0.0033)
    """
    if repeats < 2:
        raise ValueError("one reading has no range")
    return RANGE_FACTORS[min(repeats, len(RANGE_FACTORS) + 1) - 2] * repeatability


def mistaken_scale(values: Sequence[float], band: Band, length: bool = True) -> float:
    """The factor that brings all values into a band that they are far outside of; 0.0 where none does.

    25.4 tells of inches under a heading of millimetres (1/25.4 of the reverse,
    asked only of lengths), a power of ten of a point in the wrong place.  A
    band that reaches down to nothing tells nothing.

    Source: geometry of the two systems (1 in = 25.4 mm exactly); common practice for the slips.

    >>> mistaken_scale([2.9909, 2.9907], Band(75.970, 75.990))
    25.4
    >>> mistaken_scale([7.5968, 7.5964], Band(75.970, 75.990)), mistaken_scale([75.9], Band(75.97, 75.99))
    (10.0, 0.0)
    """
    if not values or band.low <= 0 or min(values) <= 0 or band.high > WIDE * band.low:
        return 0.0
    if any(band.low / FAR <= value <= band.high * FAR for value in values):
        return 0.0
    # of a clearance, a tenth may be as true as the whole: powers of ten are asked of sizes only
    slips = SLIPS if band.of_size else ()
    for by in (*MISTAKEN_UNIT, *slips) if length else slips:
        if band.fits([value * by for value in values], min(band.slack, band.low / 2)):
            return by
    return 0.0
