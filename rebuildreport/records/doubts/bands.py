"""What the sheet lets a reading be: the band of its limits, and the size steps that move it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property

from msgspec import Struct

from ...quantities import factor
from ...trade.kinds import KINDS
from ...trade.measuring.form import is_size
from ...trade.measuring.plausibility import Band
from ..files.folder import JobFolder
from ..files.measured import MeasuredTable, base
from ..files.rounds import Cell, Spot
from ..files.sheet import Engine, FeatureRecord
from ..files.sizes import TypedSize, size_step
from ..text.fields import Interval

# Shop practice of this project: what a surface can plausibly be is within 2 % of its neighbours or its
# limits, which even a liner worn out by 1 mm in 100 keeps; a slipped point is out by 90 % or 900 %.
NEAR = 0.02


def band(feature: FeatureRecord, column: str) -> Band | None:
    """New and wear limits of the size that a column reads, taken together [base unit]; None where open."""
    ends = [_ends(limit, feature.unit) for _, limit in band_limits(feature, column)]
    lows = [low for low, _ in ends if low is not None]
    highs = [high for _, high in ends if high is not None]
    return Band(min(lows), max(highs)) if lows and highs else None


def narrow_band(feature: FeatureRecord | None, column: str, unit: str) -> list[float]:
    """Ends of the band that a column reads [unit]; none where it is too wide to tell of a digit."""
    known = band(feature, column) if feature is not None else None
    own = base(feature.unit) if feature is not None else ""
    if known is None or not own or own != base(unit):
        return []
    return [end * factor(own, unit) for end in known] if 0 < known.low * (1 + NEAR) >= known.high else []


def limits_of(feature: FeatureRecord | None) -> dict[str, tuple[Interval | None, Interval | None]]:
    """New and wear limits of each column that has some by its name."""
    new, wear = (feature.new, feature.wear) if feature else ({}, {})
    return {name: (new.get(name), wear.get(name)) for name in {**new, **wear}}


def band_limits(feature: FeatureRecord, column: str) -> list[tuple[tuple[str, ...], Interval]]:
    """The limits of the size that a column reads, each with its place below the feature."""
    key = _limit_key(feature, column)
    if not key:
        return []
    if key == "wall":
        grades = [(("grades", grade), wall) for grade, wall in feature.grades.items()]
        return [*([(("wall",), feature.wall)] if feature.wall else []), *grades]
    sides = (("new", feature.new), ("wear", feature.wear))
    return [((side, key), limits[key]) for side, limits in sides if key in limits]


def _limit_key(feature: FeatureRecord, column: str) -> str:
    """The limit that a column by itself is held against; '' for none."""
    kind = KINDS.get(feature.kind)
    if kind is None or column not in feature.columns or column in kind.extra_columns:
        return ""
    keys = kind.limit_keys
    if keys is None:
        return column
    key = next((key for key in ("size", "wall", kind.reads) if key in keys), "")
    # what is read and what is limited may differ by a number of the sheet
    differs = key == kind.reads and any(given in feature.further for given in kind.given)
    return "" if differs else key


def _ends(limit: Interval, unit: str) -> tuple[float | None, float | None]:
    into = base(limit.unit or unit)
    return limit.sound(unit, into) if into else (None, None)


class BandRow(Struct, frozen=True, dict=True):
    """The readings of one position that share a band, all or none of which were taken at the right place."""

    table: MeasuredTable
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
    def of_length(self) -> bool:
        return base(self.unit) == "mm"

    @property
    def confirmed(self) -> bool:
        """Whether a person looked at this row again."""
        return any(cell.confirmed for cell in self.cells.values())

    @property
    def first(self) -> Cell:
        return next(iter(self.cells.values()))

    @property
    def spots(self) -> tuple[Spot, ...]:
        return tuple((self.table.round, self.table.name, self.position, column) for column in self.cells)

    def fits(self, size: TypedSize, slack: float) -> bool:
        """Whether it reads like a size: its band moved by that step, and ``slack`` on either side."""
        if self.band is None:
            return False
        by = size.mm if self.of_length else 0.0
        return Band(self.band.low + by, self.band.high + by).fits(self.values, slack)


def rows(table: MeasuredTable, feature: FeatureRecord) -> Iterator[BandRow]:
    """The rows of a table; a row whose columns have limits of their own falls into one for each."""
    bands = {column: band(feature, column) for column in table.table.columns}
    alike = feature.kind in KINDS and KINDS[feature.kind].alike
    for position, columns in table.cells.items():
        groups: dict[object, dict[str, Cell]] = {}
        for column, cell in columns.items():
            if cell.readings and is_size(column):
                alone = bands.get(column) or column  # without a band a column is compared with itself
                groups.setdefault(alone, {})[column] = cell
        for key, cells in groups.items():
            if isinstance(key, Band):
                yield BandRow(table, feature, position, cells, key)
            elif alike:
                yield BandRow(table, feature, position, cells, None)


class Sizes:
    """Which size was in force at a position on a day: as found, then as decided."""

    def __init__(self, job: JobFolder, engine: Engine) -> None:
        found = job.written_teardown.sizes_as_found
        self._found = {
            (entry.feature, position): size_step(entry.size)
            for entry in found
            for position in entry.positions
        }
        self._decided: list[tuple[date, str, Sequence[str], TypedSize]] = []
        for decision in job.decisions.values():
            for name, feature in engine.features.items():
                if decision.size and decision.about in (name, feature.part):
                    size = size_step(decision.size)
                    self._decided.append((decision.date, name, decision.positions, size))
        self._decided.sort(key=lambda decided: decided[0])
        self._runs_in = {fit.inner: fit.outer for fit in engine.features.values() if fit.kind == "fit"}

    def moves(self, feature: str, position: str, day: date | None) -> list[float]:
        """By how much a reading may be off the standard size [mm]: a piston goes by the bore it runs in."""
        names = filter(None, (feature, self._runs_in.get(feature)))
        return [size.mm for name in names for size in self.on(name, position, day)]

    def decided(self, feature: str, position: str) -> bool:
        """Whether a decision names a size for the position."""
        return any(name == feature and (not at or position in at) for _, name, at, _ in self._decided)

    def on(self, feature: str, position: str, day: date | None) -> list[TypedSize]:
        """Sizes that a reading of this day may have met: on the day of a decision, before it or after."""
        known = [self._found.get((feature, position), size_step(""))]
        for when, name, positions, size in self._decided:
            if name != feature or (positions and position not in positions) or day is None:
                continue
            if when < day:
                known = [size]
            elif when == day:
                known.append(size)
        return known
