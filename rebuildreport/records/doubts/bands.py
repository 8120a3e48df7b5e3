"""What the sheet lets a reading be: the band of its limits, and the size steps that move it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from ...quantities import Quantity, UnknownUnit
from ...trade.measuring.form import is_size
from ...trade.measuring.plausibility import Band
from ..files.measured import MeasuredTable, base, kinds
from ..files.rounds import Cell
from ..files.sheet import Engine, FeatureRecord
from ..text.fields import Interval

if TYPE_CHECKING:
    from ..files.folder import JobFolder


def steps(feature: FeatureRecord) -> list[str]:
    """The sizes that the sheet lists beside the standard one, as decisions name them.

    >>> steps(FeatureRecord(kind="journal", undersizes="0.25 0.50 mm"))
    ['0.25 mm undersize', '0.50 mm undersize']
    """
    found = []
    for words, side in ((feature.undersizes, "undersize"), (feature.oversizes, "oversize")):
        *numbers, unit = (words or "").replace(",", " ").split() or [""]
        found += [f"{number} {unit} {side}" for number in numbers]
    return found


def band(feature: FeatureRecord, column: str) -> Band | None:
    """New and wear limits of the size that a column reads, taken together [base unit]; None where open."""
    kind = kinds().get(feature.kind)
    if kind is None or column not in (feature.columns or ()) or column in kind.extra_columns:
        return None
    keys = kind.limit_keys
    key = column if keys is None else next((one for one in ("size", "wall", kind.reads) if one in keys), "")
    if key == kind.reads and any(given in feature.further for given in kind.given):
        return None  # what is read and what is limited differ by that
    typed = [side[key] for side in (feature.new, feature.wear) if key in side]
    if key == "wall":
        typed = [*([feature.wall] if feature.wall else []), *feature.grades.values()]
    lows = _ends(feature, typed, low=True)
    highs = _ends(feature, typed, low=False)
    return Band(min(lows), max(highs)) if lows and highs else None


def _ends(feature: FeatureRecord, limits: list[Interval], low: bool) -> list[float]:
    found = []
    for limit in limits:
        end = limit.low if low else limit.high
        if end is None:
            continue
        unit = end.unit or feature.unit or ""
        try:
            found.append(Quantity(end.text, end.value, unit, end.decimals).to(base(unit)))
        except (ValueError, UnknownUnit):
            continue  # reported at the sheet
    return found


@dataclass(frozen=True)
class BandRow:
    """The readings of one position that share a band, all or none of which were taken at the right place."""

    one: MeasuredTable
    feature: FeatureRecord
    position: str
    cells: dict[str, Cell]  # column: cell, those with readings only
    band: Band | None

    @cached_property
    def unit(self) -> str:
        """The unit as typed, where all readings share it; ''."""
        units = {reading.unit for cell in self.cells.values() for reading in cell.readings}
        return units.pop() if len(units) == 1 else ""

    @cached_property
    def values(self) -> list[float]:
        """Every reading [base unit]; empty where they measure different things."""
        readings = [reading for cell in self.cells.values() for reading in cell.readings]
        known = {base(reading.unit) for reading in readings}
        if len(known) != 1 or "" in known:
            return []
        unit = known.pop()
        return [reading.to(unit) for reading in readings]

    @property
    def confirmed(self) -> bool:
        """Whether a person looked at this row again."""
        return any(cell.confirmed for cell in self.cells.values())

    @property
    def first(self) -> Cell:
        return next(iter(self.cells.values()))

    @property
    def spots(self) -> tuple[tuple[str, str, str, str], ...]:
        return tuple((self.one.round, self.one.name, self.position, column) for column in self.cells)


def rows(one: MeasuredTable, feature: FeatureRecord) -> Iterator[BandRow]:
    """The rows of a table; a row whose columns have limits of their own falls into one for each."""
    bands = {column: band(feature, column) for column in one.table.columns}
    alike = feature.kind in kinds() and kinds()[feature.kind].alike
    for position, columns in one.cells.items():
        groups: dict[object, dict[str, Cell]] = {}
        for column, cell in columns.items():
            if cell.readings and is_size(column):
                alone = bands.get(column) or column  # without a band a column is compared with itself
                groups.setdefault(alone, {})[column] = cell
        for key, cells in groups.items():
            if isinstance(key, Band):
                yield BandRow(one, feature, position, cells, key)
            elif alike:
                yield BandRow(one, feature, position, cells, None)


class Sizes:
    """Which size step was in force at a position on a day: as found, then as decided."""

    def __init__(self, job: JobFolder, engine: Engine) -> None:
        self._found: dict[tuple[str, str], str] = {}
        self._sleeved: set[tuple[str, str]] = set()
        for found in job.teardown.sizes_as_found if job.teardown else []:
            for position in found.positions:
                self._found[(found.feature, position)] = found.size or ""
                if found.sleeved:
                    self._sleeved.add((found.feature, position))
        self._decided: list[tuple[date, str, Sequence[str], str]] = []
        for decision in job.work.decisions.values() if job.work else []:
            for name, feature in engine.features.items():
                if decision.size and decision.about in (name, feature.part):
                    self._decided.append((decision.date, name, decision.positions, decision.size))

    def sleeved(self, feature: str, position: str) -> bool:
        return (feature, position) in self._sleeved

    def decided(self, feature: str, position: str) -> bool:
        """Whether a decision names a size for the position."""
        return any(name == feature and (not at or position in at) for _, name, at, _ in self._decided)

    def on(self, feature: str, position: str, day: date | None) -> list[str]:
        """Sizes that a reading of this day may have met: on the day of a decision, before it or after."""
        known = [self._found.get((feature, position), "")]
        for when, name, positions, size in sorted(self._decided, key=lambda one: one[0]):
            if name == feature and (not positions or position in positions) and day is not None:
                if when < day:
                    known = [size]
                elif when == day:
                    known.append(size)
        return known
