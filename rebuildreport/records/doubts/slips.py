"""A slip among readings that differ: deviations from zero, gaps, loads, and what only a limit speaks against.

Readings of one size are held against each other by ``suspects``.  Here are those that may rightly differ
by any share: how far one stands from the others is told by how far they stand from each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from statistics import median
from typing import NamedTuple

from ...quantities import Figure, Quantity, Text
from ...quantities.quantity import moved
from ...trade.kinds import KINDS
from ..files.measured import MeasuredTable
from ..files.rounds import Cell
from ..files.sheet import FeatureRecord

# All of these are shop practice of this project, tried on made-up slips and on faults of real sizes.
# Beside readings that lie within TIGHT of each other, or where a point stands at another place than theirs,
# FAR times their middle and BEYOND their ends is no wear.
TIGHT, FAR, BEYOND = 1.5, 5.0, 2.5
# What was meant lies among them: a quarter beyond their ends, or 3 % where only digits speak for it.
AMONG, CLOSE = 1.25, 1.03
# Deviations from zero: so many times as far out as the others lie apart.  (Digits exchanged move a reading by
# nine steps at least, so that steps need no threshold of their own.)
APART = 4.0
# A limit alone: so many times is a slip where the point stands elsewhere too, and absurd where it does not.
ODD, ABSURD = 5.0, 10.0
# A pressure or a load with its point put right may still be worn: it is no less than a third of its limit.
WORN = 3.0
# So few others say nothing of a column that may differ by any share.
FEWEST = 3


class Slip(NamedTuple):
    """What a reading was probably meant to be, and what says so."""

    meant: Text
    among: Sequence[float]  # the readings beside which it stands out; none: its limits alone
    limit: float = 0.0  # of that limit it is so many times as large that somebody has to look again
    cannot_be: bool = False  # left out; what is only unlikely is judged as it was read
    turn: str = ""  # of the thimble, that it is off


def slip(table: MeasuredTable, feature: FeatureRecord | None, position: str, column: str) -> Slip | None:
    """What the reading of a cell was meant to be that is a slip of ten or of two digits."""
    cell = table.cells[position][column]
    reading = cell.readings[0]
    if len(cell.readings) > 1:
        return None  # its repeats are what it is held against
    below = [row[column] for at, row in table.cells.items() if at != position and column in row]
    beside = [other for name, other in table.cells[position].items() if name != column]
    down, along = values_in(below, reading.unit), values_in(beside, reading.unit)
    if len(down) + len(along) < 2:
        return None
    places = table.decimals
    kind = KINDS.get(feature.kind) if feature else None
    if kind is not None and not kind.alike:
        return _of_deviation(reading, [along, down], places, limit_span(feature, None, reading.unit)[1])
    return _of_amount(reading, down, places) or _of_limit(reading, feature, column, places)


def values_in(cells: Iterable[Cell], unit: str) -> list[float]:
    """What cells read, in a unit; nothing where some measure something else, which is told elsewhere."""
    read = [reading for cell in cells for reading in cell.readings]
    try:
        return [one.value if one.unit == unit else one.to(unit) for one in read]
    except ValueError:
        return []


def _of_amount(reading: Quantity, group: list[float], places: int) -> Slip | None:
    """Among gaps, loads, volumes of one column."""
    if len(group) < FEWEST or min(group) <= 0 or reading.value <= 0:
        return None
    low, high, middle = min(group), max(group), median(group)
    if low / BEYOND <= reading.value <= high * BEYOND or middle / FAR < reading.value < middle * FAR:
        return None
    for shift in (1, -1, 2, -2, 3, -3):
        text = shown(moved(reading.text, shift), places)
        value = float(text)
        # a thousand times is no wear, however the point stands
        odd = _odd(reading, text, places) or (abs(shift) == 3 and _on_grid(text, places))
        if odd and low / AMONG <= value <= high * AMONG:
            return Slip(Figure(text), group)
        tight = high <= TIGHT * low and low / CLOSE <= value <= high * CLOSE
        if tight and _on_grid(text, places):
            return Slip(Figure(shown(text, places)), group)
    return None


def _of_deviation(reading: Quantity, groups: Sequence[list[float]], places: int, limit: float) -> Slip | None:
    """Among heights and indicator readings, which reach down to zero and below it."""
    known = [group for group in groups if len(group) >= FEWEST]
    if found := _one_digit_more(reading, known, places):
        return found
    for group in known:
        if _off(reading.value, group) <= max(APART * (max(group) - min(group)), limit):
            return None
    slid = [shown(text, places) for k in (-1, 1) if _on_grid(text := moved(reading.text, k), places)]
    for group in known:
        reach = max(max(group) - min(group), reading.resolution)
        for meant in (slid, exchanged(reading.text)):
            fits = [text for text in meant if _off(float(text), group) <= reach]
            if len(fits) == 1:
                return Slip(Figure(fits[0]), group)
    return None


def _one_digit_more(reading: Quantity, known: Sequence[list[float]], places: int) -> Slip | None:
    """A digit that no other has, and with its point further on it is one of them."""
    text = moved(reading.text, 1)
    if reading.decimals != places + 1 or not _odd(reading, text, places):
        return None
    for group in known:
        if _off(reading.value, group) > 0 and _off(float(text), group) <= 0:
            return Slip(Figure(text), group)
    return None


def _of_limit(reading: Quantity, feature: FeatureRecord | None, column: str, places: int) -> Slip | None:
    """Where nothing stands beside it but its own limit, as with the one oil pump of an engine."""
    low, high = limit_span(feature, column, reading.unit)
    if high > 0 and reading.value >= ODD * high and float(text := moved(reading.text, -1)) <= high:
        if _odd(reading, text, places):
            return Slip(Figure(text), [])
        if reading.value >= ABSURD * high:
            return Slip(Figure(shown(text, places)), [], high)
    if 0 < reading.value <= low / ODD:
        text = moved(reading.text, 1)
        if _odd(reading, text, places) and float(text) >= low / WORN:
            return Slip(Figure(text), [])
    return None


def _odd(reading: Quantity, text: str, places: int) -> bool:
    """Whether the point stands elsewhere than in the other readings, and moved it stands as in theirs."""
    return reading.decimals != places and _decimals(text) == places


def _on_grid(text: str, places: int) -> bool:
    """Whether the others are read as finely: a tenth that no scale shows was never meant."""
    return _decimals(shown(text, places)) <= places


def shown(text: str, places: int) -> str:
    """The text without zeros behind the last place that the others have.

    >>> shown("0.00250", 4), shown("0.00251", 4)
    ('0.0025', '0.00251')
    """
    while _decimals(text) > places and text.endswith("0"):
        text = text[:-1].rstrip(".")
    return text


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def _off(value: float, group: list[float]) -> float:
    return max(min(group) - value, value - max(group))


def limit_span(feature: FeatureRecord | None, column: str | None, unit: str) -> tuple[float, float]:
    """Lowest and highest limit of a column, or of the feature, as far as they stand in this unit; else 0."""
    sides = (feature.new, feature.wear) if feature else ()
    limits = [limit for side in sides for key, limit in side.items() if column in (None, key)]
    own = feature.unit if feature else None
    lows, highs = (
        [end.value for end in ends if end is not None and (end.unit or own) == unit]
        for ends in ([limit.low for limit in limits], [limit.high for limit in limits])
    )
    return min(lows, default=0.0), max(highs, default=0.0)


def exchanged(text: str) -> list[str]:
    """Every text with two neighbouring digits exchanged, across the point too.

    Source: decimal notation.

    >>> exchanged("75.6")
    ['57.6', '76.5']
    """
    places = [i for i, letter in enumerate(text) if letter.isdigit()]
    found = []
    for one, other in pairwise(places):
        if text[one] != text[other]:
            letters = list(text)
            letters[one], letters[other] = letters[other], letters[one]
            found.append("".join(letters))
    return found
