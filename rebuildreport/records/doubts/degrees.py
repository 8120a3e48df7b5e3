"""How sure a doubt is: a reading that cannot be, and one that is only unlikely.

In: a reading, what it is held against, its feature.  Out: whether it is left out, and the turn of a thimble
that was misread.  Words no doubt of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from statistics import StatisticsError, fmean, linear_regression, median
from typing import NamedTuple

from ...quantities import Quantity, factor
from ...trade.measuring.gauges import by_thimble
from ..files.measured import MeasuredTable, base
from ..files.sheet import FeatureRecord
from ..files.shop import InstrumentRecord

# Readings that agree within this share of themselves, their last digit included, are of one size: gaps, lash
# and pressures are not read so finely, and may rightly differ by any share (shop practice).
ONE_SIZE = 0.02
# No flat spot of a journal is deeper, nor does more metal stick to one, than 0.010 in (common practice: what
# is deeper has gone through the shell and stopped the engine); nor is a bore smaller by more at one place.
DEEPEST = 0.254
# A turn of a metric thimble is 0.5 mm, whose line on the sleeve is easily missed; of one in inches, 0.025 in.
TURNS = {"mm": 0.5, "in": 0.025}
# Readings of one journal that agree so well [mm] say that one of them is a turn off (shop practice: worn
# journals are oval and tapered by some hundredths), and put right it lies no further beside them than this.
WORN_ALIKE, BESIDE = 0.1, 0.04


def of_one_size(reading: Quantity, group: Sequence[float]) -> bool:
    """Whether a length is held against others of one size, so that a factor of ten cannot be."""
    if base(reading.unit) != "mm" or not group or min(group) <= 0:
        return False
    step = 10.0 ** -max(reading.decimals, 0)
    return max(group) - min(group) + step <= ONE_SIZE * max(group)


def cannot_be(reading: Quantity, group: Sequence[float], feature: FeatureRecord | None) -> bool:
    """Whether a reading cannot be of the part whose other readings, of one size, stand in ``group``.

    It is off by more than 2 %, or by more than any score, lump or dent of its kind.
    """
    low, high = min(group), max(group)
    middle = median(group)
    if abs(reading.value - middle) > ONE_SIZE * middle:
        return True
    to_mm = factor(reading.unit, "mm") if base(reading.unit) == "mm" else 0.0
    shrunk, grown = ((low - reading.value) * to_mm, (reading.value - high) * to_mm)
    spread = (high - low) * to_mm
    kind = feature.kind if feature is not None else ""
    if kind == "journal":
        return max(shrunk, grown) - spread > DEEPEST
    return kind == "bore" and shrunk - spread > DEEPEST


def has_thimble(tool: InstrumentRecord | None) -> bool:
    """Whether an instrument is read by a thimble, a turn of which is easily missed."""
    return tool is not None and by_thimble(tool.kind)


def turn_misread(reading: Quantity, group: Sequence[float]) -> float:
    """The reading with the thimble's turn put right, where its neighbours agree within wear; 0.0 for none.

    Source: pitch of micrometer screws, 0.5 mm and 1/40 in.
    """
    turn = TURNS.get(reading.unit)
    if turn is None or len(group) < 2:
        return 0.0
    to_mm = factor(reading.unit, "mm")
    low, high = min(group), max(group)
    if (high - low) * to_mm > WORN_ALIKE or low <= turn:
        return 0.0
    beside = max(BESIDE / to_mm, high - low)
    for meant in (reading.value + turn, reading.value - turn):
        if low - beside <= meant <= high + beside:
            return meant
    return 0.0


# what runs alike are the bores of one engine, read at some heights and directions: more is no table of bores
MOST_BORES, MOST_PLACES = 48, 24


class Expected(NamedTuple):
    """What a reading ought to be by the run of the others, and how far that is to be trusted."""

    value: float
    doubt: float


def expected(
    table: MeasuredTable, position: str, column: str, without: Set[tuple[str, str]]
) -> Expected | None:
    """By how one end of a journal differs from the other, or by how the other bores of the table are worn."""
    unit = table.cells[position][column].readings[0].unit

    def singles(at: str) -> dict[str, float]:
        return {
            name: cell.readings[0].value
            for name, cell in table.cells[at].items()
            if len(cell.readings) == 1 and cell.readings[0].unit == unit and (at, name) not in without
        }

    row = singles(position)
    row.pop(column, None)
    if len(row) == 3:
        return _by_its_ends(row, column)
    if not 3 < len(row) < MOST_PLACES or len(table.cells) > MOST_BORES:
        return None
    others = [singles(at) for at in table.cells if at != position]
    return _by_other_rows([one for one in others if one.keys() >= {*row, column}], row, column)


def _by_its_ends(row: Mapping[str, float], column: str) -> Expected | None:
    """Of four readings, two ends in two directions: an end is as oval as the other."""
    end, _, direction = column.rpartition("_")
    beside = [name for name in row if name.rpartition("_")[0] == end]
    along = [name for name in row if name.rpartition("_")[2] == direction]
    across = [name for name in row if name not in beside and name not in along]
    if not end or (len(beside), len(along), len(across)) != (1, 1, 1):
        return None
    oval, taper = row[along[0]] - row[across[0]], row[beside[0]] - row[across[0]]
    # both ends are seldom worn quite alike: by a part of what they differ (shop practice)
    return Expected(row[across[0]] + oval + taper, min(abs(oval), abs(taper)) / 4)


def _by_other_rows(
    others: Sequence[Mapping[str, float]], row: Mapping[str, float], column: str
) -> Expected | None:
    """A bore is worn where the others of its engine are, by more or by less: a straight line tells."""
    if len(others) < 2:
        return None
    means = {name: fmean(other[name] for other in others) for name in (*row, column)}
    across = [means[name] for name in row]
    along = list(row.values())
    try:
        slope, start = linear_regression(across, along)
    except StatisticsError:
        return None  # all alike: no line goes through them
    middle = fmean(across)
    square = sum((value - middle) ** 2 for value in across)
    misfit = sum((y - start - slope * x) ** 2 for x, y in zip(across, along, strict=True)) / (len(row) - 2)
    # standard error of a prediction by a straight line: any textbook of regression
    share = 1 + 1 / len(row) + (means[column] - middle) ** 2 / square
    return Expected(start + slope * means[column], (misfit * share) ** 0.5)
