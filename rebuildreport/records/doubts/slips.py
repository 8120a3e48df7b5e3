"""A slip among readings that differ: deviations from zero, gaps, loads, and what only a limit speaks against.

Readings of one size are held against each other by ``suspects``.  Here are those that may rightly differ
by any share: how far one stands from the others is told by how far they stand from each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median, mode
from typing import NamedTuple

from ...quantities import Figure, Quantity, Text
from ...quantities.quantity import moved
from ..files.measured import MeasuredTable, kinds
from ..files.rounds import Cell
from ..files.sheet import FeatureRecord

# Shop practice of this project. Beside readings that lie within TIGHT of each other, or where a point stands
# at another place than theirs, FAR times their middle and BEYOND their ends is no wear.
TIGHT, FAR, BEYOND = 1.5, 5.0, 2.5
# Deviations from zero: so many times as far out as the others lie apart, and so many steps at the least.
APART, STEPS = 4.0, 5.0
# A limit alone: so many times is a slip where the point stands elsewhere too, and absurd where it does not.
ODD, ABSURD = 5.0, 10.0


class Slip(NamedTuple):
    """What a reading was probably meant to be, and what says so."""

    meant: Text
    among: list[float]  # the readings beside which it stands out; none: its limits alone
    limit: float = 0.0  # of that limit it is so many times as large that somebody has to look again


def slip(
    one: MeasuredTable, feature: FeatureRecord | None, position: str, column: str
) -> tuple[Quantity, Slip] | None:
    """The reading of a cell that is a slip of ten or of two digits, and what was meant."""
    kind = kinds().get(feature.kind) if feature else None
    cell = one.cells[position][column]
    unit = cell.readings[0].unit
    down = _values([row[column] for p, row in one.cells.items() if p != position and column in row], unit)
    along = _values([it for c, it in one.cells[position].items() if c != column], unit)
    every = [
        typed
        for p, row in one.cells.items()
        for c, it in row.items()
        for typed in it.readings
        if (p, c) != (position, column) and typed.unit == unit
    ]
    if len(every) < 2:
        return None
    places = mode(typed.decimals for typed in every)
    if len(cell.readings) > 1:
        return None  # its repeats are what it is held against
    reading = cell.readings[0]
    if kind is not None and not kind.alike:
        found = _of_deviation(reading, [along, down], places, _largest(feature, None, unit))
    else:
        found = _of_amount(reading, down, places) or _of_limit(reading, feature, column, places)
    return (reading, found) if found else None


def _of_amount(reading: Quantity, group: list[float], places: int) -> Slip | None:
    """Among gaps, loads, volumes of one column."""
    if len(group) < 3 or min(group) <= 0 or reading.value <= 0:
        return None
    low, high, middle = min(group), max(group), median(group)
    if low / BEYOND <= reading.value <= high * BEYOND or middle / FAR < reading.value < middle * FAR:
        return None
    for shift in (1, -1, 2, -2):
        text = moved(reading.text, shift)
        value = float(text)
        if _odd(reading, text, places) and low * 0.8 <= value <= high * 1.25:
            return Slip(Figure(text), group)
        tight = high <= TIGHT * low and low * 0.97 <= value <= high * 1.03
        if tight and _on_grid(text, places):
            return Slip(Figure(_shown(text, places)), group)
    return None


def _of_deviation(
    reading: Quantity, groups: Sequence[list[float]], places: int, limit: float | None
) -> Slip | None:
    """Among heights and indicator readings, which reach down to zero and below it."""
    known = [group for group in groups if len(group) > 2]
    for group in known:
        text = moved(reading.text, 1)
        finer = reading.decimals == places + 1 and _odd(reading, text, places)
        if finer and _off(reading.value, group) > 0 and _off(float(text), group) <= 0:
            return Slip(
                Figure(text), group
            )  # a digit that no other has, and a point further on it is one of them
    for group in known:
        spread = max(group) - min(group)
        if _off(reading.value, group) <= max(APART * spread, STEPS * reading.resolution, limit or 0.0):
            return None
    for group in known:
        low, high = min(group), max(group)
        reach = max(high - low, reading.resolution)
        slid = [_shown(text, places) for k in (-1, 1) if _on_grid(text := moved(reading.text, k), places)]
        for meant in (slid, exchanged(reading.text)):
            fits = [text for text in meant if low - reach <= float(text) <= high + reach]
            if len(fits) == 1:
                return Slip(Figure(fits[0]), group)
    return None


def _of_limit(reading: Quantity, feature: FeatureRecord | None, column: str, places: int) -> Slip | None:
    """Where nothing stands beside it but its own limit, as with the one oil pump of an engine."""
    high, low = _largest(feature, column, reading.unit), _smallest(feature, column, reading.unit)
    if high and high > 0 and reading.value >= ODD * high:
        text = moved(reading.text, -1)
        if float(text) <= high:
            if _odd(reading, text, places):
                return Slip(Figure(text), [])
            if reading.value >= ABSURD * high:
                return Slip(Figure(_shown(text, places)), [], high)
    if low and 0 < reading.value <= low / ODD:
        text = moved(reading.text, 1)
        if _odd(reading, text, places) and float(text) >= low / 3:
            return Slip(Figure(text), [])
    return None


def _odd(reading: Quantity, text: str, places: int) -> bool:
    """Whether the point stands elsewhere than in the other readings, and moved it stands as in theirs."""
    return reading.decimals != places and _decimals(text) == places


def _on_grid(text: str, places: int) -> bool:
    """Whether the others are read as finely: a tenth that no scale shows was never meant."""
    return _decimals(_shown(text, places)) <= places


def _shown(text: str, places: int) -> str:
    """The text without zeros behind the last place that the others have.

    >>> _shown("0.00250", 4), _shown("0.00251", 4)
    ('0.0025', '0.00251')
    """
    while _decimals(text) > places and text.endswith("0"):
        text = text[:-1].rstrip(".")
    return text


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def _off(value: float, group: list[float]) -> float:
    return max(min(group) - value, value - max(group))


def _values(cells: Sequence[Cell], unit: str) -> list[float]:
    return [typed.value for cell in cells for typed in cell.readings if typed.unit == unit]


def _ends(feature: FeatureRecord | None, column: str | None, unit: str, low: bool) -> list[float]:
    found = []
    for side in (feature.new, feature.wear) if feature else ():
        for key, limit in side.items():
            end = limit.low if low else limit.high
            if end is None or (column is not None and key != column):
                continue
            if unit in {end.unit or (feature.unit if feature else None)}:
                found.append(end.value)
    return found


def _largest(feature: FeatureRecord | None, column: str | None, unit: str) -> float | None:
    """The widest upper limit of a column, or of the whole feature."""
    return max(_ends(feature, column, unit, low=False), default=None)


def _smallest(feature: FeatureRecord | None, column: str | None, unit: str) -> float | None:
    return min(_ends(feature, column, unit, low=True), default=None)


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
