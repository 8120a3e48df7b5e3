"""Rounding by one stated rule, so that the same number reads the same everywhere.

The rule is ISO 80000-1:2009, annex B, rule A: to the nearest multiple, and a
tie goes to the even one.  It is applied to the decimal text of the number,
never to the binary float (Python's ``round(2.675, 2)`` gives 2.67).
"""

from __future__ import annotations

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


def to_decimals(value: float | Decimal, decimals: int) -> Decimal:
    """Rounded to ``decimals`` places by the stated rule.

    >>> to_decimals(12.25, 1), to_decimals(12.35, 1), to_decimals(2.675, 2)
    (Decimal('12.2'), Decimal('12.4'), Decimal('2.68'))
    """
    number = value if isinstance(value, Decimal) else exact(value)
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


def decimals_beside(value: float, decimals: int, limits: tuple[float | None, ...]) -> int:
    """Decimals that keep a value on its own side of every limit printed beside it.

    Starts with ``decimals`` and adds one at a time (three at most) while
    rounding would put the value on a limit, or past one, that it is not on.

    >>> decimals_beside(0.1504, 3, (None, 0.150))
    4
    >>> decimals_beside(0.031, 3, (None, 0.030))
    3
    """
    for extra in range(4):
        shown = to_decimals(value, decimals + extra)
        if all(_same_side(exact(value), shown, limit) for limit in limits if limit is not None):
            return decimals + extra
    return decimals + 3


def _same_side(value: Decimal, shown: Decimal, limit: float) -> bool:
    edge = exact(limit)
    return (value > edge) == (shown > edge) and (value < edge) == (shown < edge)
