"""Two tests of one thing are compared before either is doubted: where they agree nothing is asked.

In: the doubts of a job and its tables.  Out: the doubts that no second test answers.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import inf
from statistics import median

from msgspec import Struct

from ...quantities import Quantity, factor
from ...trade.engine import bearings
from ...trade.measuring.form import is_size, plane_and_direction
from ..checks.choosecheck import bands_in
from ..files.doubt import Doubt
from ..files.measured import MeasuredTable, base
from ..files.rounds import Cell, Spot
from ..files.sheet import FeatureRecord
from .bands import Sizes
from .degrees import BESIDE

# Two readings of one place and thing agree within this share: a gauge of pressures repeats to a twentieth,
# and an engine turns a little slower the second time (common practice).
AGREE = 0.1
# Three times the loss of the others, or a third of their pressure, is no scatter of a test (common practice).
FAR_WORSE = 3.0


def unanswered(
    doubts: Iterable[Doubt],
    tables: Sequence[MeasuredTable],
    features: Mapping[str, FeatureRecord],
    sizes: Sizes | None,
) -> list[Doubt]:
    """Doubts of which no second test of the same thing says that the reading is true.

    A low pressure is true where much air is lost of that cylinder, and the reverse; what two rounds read
    alike was not misread; and a clearance read directly confirms the sizes that give it, as they do it.
    """
    by_name = {(table.round, table.name): table for table in tables}
    held = _Held(tables, features, sizes)
    return [doubt for doubt in doubts if not held.answers(doubt, by_name[doubt.round, doubt.table])]


class _Held(Struct, frozen=True):
    """All that a reading may be held against, across the tables of a job."""

    tables: Sequence[MeasuredTable]
    features: Mapping[str, FeatureRecord]
    sizes: Sizes | None  # in force at each position; None without a sheet

    def answers(self, doubt: Doubt, table: MeasuredTable) -> bool:
        if len(doubt.kept) != 1:
            return False
        spot: Spot = doubt.kept[0]
        cell = table.cells[spot[2]][spot[3]]
        if len(cell.readings) > 1:
            return False  # its repeats are what speaks against it
        for other in self.tables:
            if other is table:
                continue
            second = other.cells.get(spot[2], {})
            again = second.get(spot[3])
            if other.feature == table.feature and again and _alike(cell, again):
                return True
            if any(_both_bad(cell, table, its, other, self.features) for its in second.values()):
                return True
        return any(
            self._by_clearance(name, fit, table, spot, cell)
            for name, fit in self.features.items()
            if {fit.housing, fit.shells, fit.journal} <= {*self.features}
        )

    def _by_clearance(
        self, name: str, fit: FeatureRecord, table: MeasuredTable, spot: Spot, cell: Cell
    ) -> bool:
        """Whether the clearance worked out with this reading agrees with one read directly at its place.

        All of a housing is taken, and of a shell that was not read all that it may be: the two agree
        where the direct one lies anywhere between, as thread reads one place of a clearance.
        """
        place = spot[2]
        known = {
            one: [cell.readings[0]] if one == table.feature else self._read(one, place, fit.direction or "v")
            for one in (name, fit.housing, fit.shells, fit.journal)
        }
        if table.feature not in known or not all(_in_mm(known[one]) for one in known if one != fit.shells):
            return False
        direct, bore, shells, journal = (_in_mm(readings) for readings in known.values())
        walls = self._walls(fit, place, shells, table)
        if not walls:
            return False
        least, most = min(bore) - max(walls) - max(journal), max(bore) - min(walls) - min(journal)
        return any(least - AGREE * one <= one <= most + AGREE * one for one in direct)

    def _read(self, name: str, place: str, across: str) -> list[Quantity]:
        """The newest readings of a feature at a place; of a bearing those read directly, of any day."""
        sheet = self.features[name]
        rows = [table.cells[place] for table in self.tables if table.feature == name and place in table.cells]
        if sheet.kind == "bearing_clearance":
            cells = [cell for row in rows for at, cell in row.items() if at.startswith("direct")]
        else:
            last = {at: cell for at, cell in (rows[-1] if rows else {}).items() if is_size(at)}
            loaded = [cell for at, cell in last.items() if plane_and_direction(at)[1] == across]
            cells = loaded or [*last.values()]
        return [reading for cell in cells for reading in cell.readings]

    def _walls(
        self, fit: FeatureRecord, place: str, read: list[float], table: MeasuredTable
    ) -> tuple[float, float] | None:
        """Least and greatest of both walls together [mm]: as read, else of any grade of that size."""
        sheet = self.features[fit.shells]
        if len(read) == len(bearings.halves(sheet.columns or ("upper", "lower")) or ()):
            both = 2.0 * sum(read) / len(read)
            return both, both
        unit = sheet.unit or "mm"
        bands = bands_in({**sheet.grades, **({"": sheet.wall} if sheet.wall else {})}, unit).values()
        if not bands:
            return None
        steps = self.sizes.on(fit.journal, place, table.day) if self.sizes else []
        thicker = [-step.mm for step in steps] or [0.0]
        ends = [2.0 * end * factor(unit, "mm") for band in bands for end in band]
        return min(ends) + min(thicker), max(ends) + max(thicker)


def _in_mm(readings: Iterable[Quantity]) -> list[float]:
    return [reading.to("mm") for reading in readings if base(reading.unit) == "mm"]


def _alike(cell: Cell, again: Cell) -> bool:
    if not cell.readings or not again.readings or base(cell.readings[0].unit) != base(again.readings[0].unit):
        return False
    one, other = cell.readings[0], again.readings[0]
    apart = AGREE * abs(one.value)
    if base(one.unit) == "mm":
        apart = min(apart, BESIDE * factor("mm", one.unit))  # a tenth of a size is no size
    return abs(other.to(one.unit) - one.value) <= max(apart, one.resolution)


def _both_bad(
    cell: Cell,
    table: MeasuredTable,
    its: Cell,
    other: MeasuredTable,
    features: Mapping[str, FeatureRecord],
) -> bool:
    """Compression and leak-down of one cylinder in one round, each bad by itself."""
    mine, theirs = features.get(table.feature), features.get(other.feature)
    if mine is None or theirs is None or table.round != other.round:
        return False
    if {mine.kind, theirs.kind} != {"compression", "leak_down"}:
        return False
    return _bad(cell, table, mine) and _bad(its, other, theirs)


def _bad(cell: Cell, table: MeasuredTable, feature: FeatureRecord) -> bool:
    """Whether it is beyond its limits or, where the sheet has none, far worse than the other cylinders."""
    if feature.new or feature.wear:
        return _beyond(cell, feature)
    if not cell.readings:
        return False
    value, unit = cell.readings[0].value, cell.readings[0].unit
    alike = [
        reading.to(unit)
        for _, its in table.read()
        for reading in its.readings
        if its is not cell and base(reading.unit) == base(unit)
    ]
    if not alike:
        return False
    middle = median(alike)
    return value >= FAR_WORSE * middle if feature.kind == "leak_down" else value * FAR_WORSE <= middle


def _beyond(cell: Cell, feature: FeatureRecord) -> bool:
    """Whether every reading lies outside the widest of its feature's limits."""
    for reading in cell.readings:
        limits = (*feature.new.values(), *feature.wear.values())
        lows, highs = zip(*(limit.sound(feature.unit, reading.unit) for limit in limits), strict=True)
        below = [low for low in lows if low is not None]
        above = [high for high in highs if high is not None]
        if not (reading.value < min(below, default=-inf) or reading.value > max(above, default=inf)):
            return False
    return bool(cell.readings)
