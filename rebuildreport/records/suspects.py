"""Readings that look like a slip of the pen: a point in the wrong place, two digits exchanged.

Nothing is corrected.  A suspect is flagged with what was probably meant, and
stays out of everything worked out from the table until a person has measured
again, corrected the file, or put a ``!`` behind the reading to confirm it.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from ..quantities import Quantity, UnknownUnit
from .engine import Engine, Feature
from .problems import Problem
from .rounds import Cell
from .sheetcheck import kinds
from .tablecheck import Measured, tables

if TYPE_CHECKING:
    from .load import JobFolder, Spot

# Shop practice of this project: what a surface can plausibly be is within 2 % of its neighbours or its
# limits, which even a liner worn out by 1 mm in 100 keeps; a slipped point is out by 90 % or 900 %.
NEAR = 0.02
# Repeats at one spot are often small and coarse, 0.24 and 0.25: a step or two apart, yet the same.
REPEATS = 0.1
# Neighbours closer than this to each other are readings of one size, so that a digit can be judged.
ALIKE = 0.003


def find_suspects(job: JobFolder, engine: Engine | None) -> dict[Spot, Problem]:
    """Suspect readings by (round, table, position, column), each with its warning."""
    found: dict[Spot, Problem] = {}
    for one in tables(job):
        feature = engine.features.get(one.feature) if engine else None
        if feature is not None and feature.kind in kinds() and not kinds()[feature.kind].alike:
            continue
        spots = [(p, c) for p, row in one.cells.items() for c, cell in row.items() if _asked(cell)]
        doubted = {spot: it for spot in spots if (it := _suspect(one, feature, *spot))}
        slipped = {spot: it for spot in doubted if (it := _suspect(one, feature, *spot, exchanges=False))}
        if slipped:  # a slipped point is no neighbour to hold the others against
            again = {spot: _suspect(one, feature, *spot, without=slipped.keys() - {spot}) for spot in spots}
            doubted = {spot: it for spot in spots if (it := again[spot] or slipped.get(spot))}
        found |= {(one.round, one.name, *spot): it for spot, it in doubted.items()}
    return found


def _asked(cell: Cell) -> bool:
    return bool(cell.readings) and not cell.confirmed


def _suspect(
    one: Measured,
    feature: Feature | None,
    position: str,
    column: str,
    without: Set[tuple[str, str]] = frozenset(),
    exchanges: bool = True,
) -> Problem | None:
    cell = one.cells[position][column]
    unit = cell.readings[0].unit
    row = _values(
        [it for c, it in one.cells[position].items() if c != column and (position, c) not in without], unit
    )
    down = _values(
        [
            cells[column]
            for p, cells in one.cells.items()
            if p != position and column in cells and (p, column) not in without
        ],
        unit,
    )
    for i, reading in enumerate(cell.readings):
        repeats = [other.value for k, other in enumerate(cell.readings) if k != i]
        groups = [repeats, row, down]
        meant = _slipped(reading, [*groups, _band(feature, column, unit)])
        meant = meant or (_exchanged(reading, groups) if exchanges else "")
        if meant:
            mates = next((f"beside {_list(group)}" for group in groups if group), "against its limits")
            message = f"{position} {column}: {reading.text} stands out {mates}; left out until confirmed"
            hint = f"{meant}? Measure again, or write {reading.text}! if it is right"
            return one.source.problem_at(cell.line, cell.column, message, hint, "warning")
    return None


def _list(values: Sequence[float]) -> str:
    return f"{min(values):g} to {max(values):g}" if len(values) > 1 else f"{values[0]:g}"


def _values(cells: Sequence[Cell], unit: str) -> list[float]:
    try:
        return [
            reading.value if reading.unit == unit else reading.to(unit)
            for cell in cells
            for reading in cell.readings
        ]
    except ValueError:  # readings of different dimensions: reported elsewhere
        return []


def _band(feature: Feature | None, column: str, unit: str) -> list[float]:
    """Ends of the limits of the size that a column reads, in ``unit``."""
    if feature is None or not feature.unit or column not in (feature.columns or ()):
        return []
    limits = [side[key] for side in (feature.new, feature.wear) for key in ("size", column) if key in side]
    try:
        ends = [
            (end if end.unit else Quantity(end.text, end.value, feature.unit, end.decimals)).to(unit)
            for limit in limits
            for end in (limit.low, limit.high)
            if end is not None
        ]
    except (ValueError, UnknownUnit):
        return []
    return ends if ends and min(ends) > 0 and max(ends) <= min(ends) * (1 + NEAR) else []


def _slipped(reading: Quantity, groups: Sequence[list[float]]) -> str:
    """The reading with its point moved, where only that fits what stands around it.

    ``groups``: what it is held against, nearest first: repeats at its spot, its row, its column, its limits.
    """
    value = reading.value
    for k, group in enumerate(groups):
        if not group or min(group) <= 0:
            continue
        middle = median(group)
        near = REPEATS if k == 0 else NEAR
        alike = [one for one in group if abs(one - middle) <= near * middle]
        if len(alike) * 2 <= len(group) or (len(group) < 2):
            continue  # neighbours that differ among themselves say nothing
        if abs(value - middle) <= 0.5 * middle:
            return ""  # the nearest neighbours agree with it
        for shift in (1, -1, 2, -2, 3, -3):
            if abs(value * 10.0**shift - middle) <= near * middle:
                return _moved(reading.text, shift)
    return ""


def _moved(text: str, places: int) -> str:
    """The digits as typed, with the point moved to the right (or left).

    >>> _moved("7.5964", 1), _moved("759.64", -1), _moved("75968", -1)
    ('75.964', '75.964', '7596.8')
    """
    sign = "-" if text.startswith("-") else ""
    whole, _, part = text.lstrip("+-").partition(".")
    digits, at = whole + part, len(whole) + places
    digits = digits.rjust(len(digits) + max(0, 1 - at), "0")
    at = max(at, 1)
    digits = digits.ljust(at, "0")
    whole, part = digits[:at].lstrip("0") or "0", digits[at:]
    return f"{sign}{whole}.{part}" if part else f"{sign}{whole}"


def _exchanged(reading: Quantity, groups: Sequence[list[float]]) -> str:
    """The reading with two neighbouring digits exchanged, where only that fits."""
    step = reading.resolution
    for group in groups:
        if len(group) < 2 or min(group) <= 0:
            continue
        low, high = min(group), max(group)
        spread = high - low
        if spread > ALIKE * low:
            continue
        off = max(low - reading.value, reading.value - high)
        if off <= max(5 * spread, 20 * step):
            return ""
        fits = [text for text in _exchanges(reading.text) if low - 3 * step <= float(text) <= high + 3 * step]
        if len(fits) == 1:
            return fits[0]
    return ""


def _exchanges(text: str) -> list[str]:
    """Every text with two neighbouring digits exchanged, across the point too.

    >>> _exchanges("75.6")
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
