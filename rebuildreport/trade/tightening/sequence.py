"""The order in which the bolts of a joint are tightened, from its pattern."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from msgspec import Struct

from ...quantities import Unreadable

Place = tuple[float, float]  # across, along: any unit, along from the front


class OrderError(Unreadable):
    """A pattern or a layout that is none; ``suggestion``: how to write it."""


PATTERNS = ("centre outwards", "spiral from centre", "criss-cross", "in turn")


class BoltLayout(Struct, frozen=True):
    """Where the bolts sit: places in reading order (row by row, each from the front), or round a circle."""

    places: tuple[Place, ...]
    circle: bool = False


def layout(text: str) -> BoltLayout:
    """Places of bolts: rows across by bolts along ('2 x 7'), or 'circle of 8' (from the top, clockwise).

    Rows of unequal length are counted one by one: 'rows of 4 5 4'.

    Source: common practice of tightening drawings.

    >>> len(layout("2 x 7").places), layout("circle of 8").circle, len(layout("rows of 4 5 4").places)
    (14, True, 13)

    Raises OrderError for anything else.
    """
    words = " ".join(text.lower().split())
    if match := re.fullmatch(r"circle of (\d+)", words):
        count = int(match[1])
        if not 2 <= count <= 60:
            raise OrderError(f"'{text}' is no circle of bolts", "circle of 8")
        turns = [2.0 * math.pi * n / count for n in range(count)]
        return BoltLayout(tuple((math.sin(turn), -math.cos(turn)) for turn in turns), circle=True)
    if match := re.fullmatch(r"(\d+)\s*(?:x|×|by)\s*(\d+)", words):
        rows = [int(match[2])] * int(match[1])
    elif match := re.fullmatch(r"rows of (\d+(?: \d+)*)", words):
        rows = [int(count) for count in match[1].split()]
    else:
        raise OrderError(f"'{text}' is no layout of bolts", "2 x 7, rows of 4 5 4, or circle of 8")
    if not rows or min(rows) < 1 or sum(rows) > 200:
        raise OrderError(f"'{text}' is no layout of bolts", "2 x 7")
    longest = max(rows)
    places: list[Place] = []
    for row, count in enumerate(rows):
        # a shorter row sits in the middle of the longer ones
        places += [(float(row), (longest - count) / 2.0 + n) for n in range(count)]
    return BoltLayout(tuple(places))


def order(bolts: BoltLayout, pattern: str) -> list[int]:
    """The number in which each place is tightened, 1 first, in the order of the layout's places.

    'centre outwards' goes from the middle to both ends by turns, crossing over between the rows;
    'spiral from centre' winds outwards round the middle; 'criss-cross' goes from a bolt to the one opposite;
    'in turn' by the places themselves.

    Source: common practice: clamp from the middle to the free edge, and load opposite sides alike (ASME
    PCC-1's cross pattern for circles).

    >>> order(layout("circle of 8"), "criss-cross")
    [1, 5, 3, 7, 2, 6, 4, 8]
    >>> order(layout("2 x 5"), "centre outwards")
    [9, 5, 1, 4, 8, 10, 6, 2, 3, 7]

    Raises OrderError for a pattern that is not known, or a criss-cross that is no circle.
    """
    places, word = bolts.places, " ".join(pattern.lower().replace(" the ", " ").split())
    if word == "in turn":
        sequence = list(range(len(places)))
    elif word in ("criss-cross", "crosswise", "star") and bolts.circle:
        sequence = _cross(len(places))
    elif word in ("centre outwards", "center outwards", "criss-cross", "crosswise"):
        sequence = _outwards(places)
    elif word in ("spiral from centre", "spiral from center"):
        sequence = _spiral(places)
    else:
        raise OrderError(f"'{pattern}' is no order that I can draw", ", ".join(PATTERNS))
    numbers = [0] * len(places)
    for number, place in enumerate(sequence, 1):
        numbers[place] = number
    return numbers


def typed(rows: Sequence[str]) -> list[int]:
    """An order as a maker's drawing prints it: the number at each place, one line a row.

    Source: the maker's own drawing, which goes before any pattern.

    >>> typed(["3 1 2", "6 4 5"])
    [3, 1, 2, 6, 4, 5]

    Raises OrderError where a number is missing or stands twice.
    """
    try:
        numbers = [int(number) for row in rows for number in row.split()]
    except ValueError:
        raise OrderError("an order is whole numbers with blanks between", "5 3 1 2 4") from None
    wrong = [n for n in range(1, len(numbers) + 1) if numbers.count(n) != 1]
    if wrong:
        times = "stands twice" if numbers.count(wrong[0]) > 1 else "is missing"
        raise OrderError(f"number {wrong[0]} {times} in the order of {len(numbers)} bolts")
    return numbers


def _middle(places: Sequence[Place]) -> Place:
    across, along = [p[0] for p in places], [p[1] for p in places]
    return (min(across) + max(across)) / 2.0, (min(along) + max(along)) / 2.0


def _outwards(places: Sequence[Place]) -> list[int]:
    """Column by column from the middle, ends by turns, each column entered from the other row."""
    middle = _middle(places)
    columns: dict[float, list[int]] = {}
    for index, (_, along) in enumerate(places):
        columns.setdefault(along, []).append(index)
    # of two columns equally far out the one towards the rear comes first, then the one towards the front
    sequence: list[int] = []
    turned = False
    for along in sorted(columns, key=lambda at: (round(abs(at - middle[1]), 6), -at)):
        column = sorted(columns[along], key=lambda index: places[index][0], reverse=turned)
        sequence += column
        turned = not turned
    return sequence


def _spiral(places: Sequence[Place]) -> list[int]:
    """Ring by ring, each walked round the same way from where the last one ended."""
    middle = _middle(places)
    # rows are as far apart as bolts in them: a ring is what is equally many steps away
    rings: dict[float, list[tuple[float, int]]] = {}
    for index, (across, along) in enumerate(places):
        x, y = across - middle[0], along - middle[1]
        ring = round(max(abs(x), abs(y)), 6)
        rings.setdefault(ring, []).append((math.atan2(y, x), index))
    sequence: list[int] = []
    last = -math.pi
    for ring in sorted(rings):
        start = last
        walk = sorted(rings[ring], key=lambda bolt: (bolt[0] - start - 1e-9) % (2.0 * math.pi))
        sequence += [index for _, index in walk]
        last = walk[-1][0]
    return sequence


def _cross(count: int) -> list[int]:
    """Round a circle: a bolt, the one opposite, then the pair half-way between."""
    if count % 4 == 0:
        quarter = count // 4
        # starting points: odd ones first, so that neighbours come late
        starts = list(range(quarter)) if quarter < 4 else [*range(0, quarter, 2), *range(1, quarter, 2)]
        return [start + turn for start in starts for turn in (0, 2 * quarter, quarter, 3 * quarter)]
    if count % 2 == 0:
        return [start + turn for start in range(count // 2) for turn in (0, count // 2)]
    step = count // 2
    return [n * step % count for n in range(count)]
