"""Rounding by one stated rule, so that the same number reads the same everywhere.

The rule is ISO 80000-1:2009, annex B, rule A: to the nearest multiple, and a
tie goes to the even one.  It is applied to the decimal text of the number,
never to the binary float (Python's ``round(2.675, 2)`` gives 2.67).
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Context, Decimal

from .marking import message

STATED = message("Rounded to the nearest, ties to the even digit (ISO 80000-1, annex B, rule A).")


def exact(value: float) -> Decimal:
    """The decimal that a float stands for, free of binary dust below nine decimals.

    A float keeps fifteen digits of any decimal (IEEE 754), so of a large one there are fewer places.

    >>> exact(80.008 - 4.453 - 75.481), exact(9608372.7)
    (Decimal('0.074'), Decimal('9608372.7'))
    """
    whole = len(f"{abs(value):.0f}")
    return Decimal(f"{value:.{max(0, min(9, 15 - whole))}f}").normalize() + Decimal(0)


def to_decimals(value: float | Decimal, decimals: int, limits: Iterable[float | None] = ()) -> Decimal:
    """Rounded to ``decimals`` places by the stated rule; beside ``limits`` it stays on its own side of each.

    There it gets one place more at a time (three at most) while rounding would put it on a limit, or past
    one, that it is not on.  What no such place tells from a limit stands on it for everybody.

    >>> to_decimals(12.25, 1), to_decimals(12.35, 1), to_decimals(2.675, 2)
    (Decimal('12.2'), Decimal('12.4'), Decimal('2.68'))
    >>> to_decimals(0.1504, 3, (None, 0.150)), to_decimals(0.031, 3, (None, 0.030))
    (Decimal('0.1504'), Decimal('0.031'))
    >>> to_decimals(0.001999996, 4, (None, 0.002))
    Decimal('0.0020')
    """
    number = value if isinstance(value, Decimal) else exact(value)
    edges = [exact(limit) for limit in limits if limit is not None]
    for places in range(decimals, decimals + 4):
        rounded = number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
        if all((number > edge, number < edge) == (rounded > edge, rounded < edge) for edge in edges):
            break
    else:
        rounded = number.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)
    return abs(rounded) if rounded == 0 else rounded


def place_of(uncertainty: float) -> int:
    """Decimals that a standard uncertainty justifies: down to the place of its first digit.

    An uncertainty of 0.0016 mm says something about the third decimal and
    nothing about the fourth.

    >>> place_of(0.0016), place_of(0.029), place_of(0.94), place_of(0.95)
    (3, 2, 1, 0)
    """
    if uncertainty <= 0:
        return 9
    # 0.00095 is as good as 0.001: its first digit after rounding to one digit counts
    return max(0, -Context(1, ROUND_HALF_EVEN).create_decimal(repr(uncertainty)).adjusted())
