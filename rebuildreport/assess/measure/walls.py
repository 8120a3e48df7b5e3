"""Walls of the shells at each bearing: measured, or the bands of what is fitted there by codes and decisions.

In: readings of the shells that hold on a day.  Out: walls with what they are worth.  Knows no limit.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from ... import quantities
from ...quantities import Sentence, as_typed, message
from ...records import JobFolder
from ...records.checks.choosecheck import bands_in
from ...records.files.sheet import Engine
from ...records.files.sizes import same_size
from ...records.text.fields import Interval
from ...trade.choosing.shells import grade_by_codes, halves_of_cell
from ...trade.engine import bearings
from ...trade.kinds import KnownWalls, Readings
from ...trade.measuring.uncertainty import Measured
from .timeline import Timeline, step_in_mm

Band = tuple[float, float]
WORN = Sentence("worn shells not measured")
BAND = Sentence("predicted from the wall band of the new shells")
MEASURED = Sentence("measured walls")
OTHER_NEW = message("{half} wall measured, the other from the wall band of the new shells")
OTHER_WORN = message("{half} wall measured, the other not, so at most as thick as new")


class ShellWalls:
    """Walls of one feature of shells, in the bearings of one journal."""

    def __init__(self, engine: Engine, job: JobFolder, timeline: Timeline, shells: str, journal: str) -> None:
        self.engine, self.job, self.timeline = engine, job, timeline
        self.name, self.journal = shells, journal
        self.shells = engine.features[shells]
        self.halves = bearings.halves(self.shells.columns or ("upper", "lower")) or ()  # (): told by a check

    def known(self, measured: Readings, day: date) -> dict[str, KnownWalls]:
        """What is known of each position on a day; of a position with neither reading nor band, nothing."""
        found = {}
        for position in self.shells.positions if self.halves else ():
            columns = measured.get(position, {})
            new = not self.timeline.state(self.name, position, day).used
            if all(half in columns for half in self.halves):
                walls = bearings.Walls(columns[self.halves[0]], columns[self.halves[-1]])
                found[position] = KnownWalls(walls, MEASURED)
            elif bands := self._bands(position, day, new):
                found[position] = self._from_bands(position, columns, bands, new)
        return found

    def _from_bands(
        self, position: str, columns: Mapping[str, Measured], bands: tuple[Band, Band], new: bool
    ) -> KnownWalls:
        walls: list[Measured] = []
        read = [half for half in self.halves if half in columns]
        for half, band in zip(self.halves, bands, strict=False):  # a bush has one wall
            if half in read:
                walls.append(columns[half])
            elif new:
                walls.append(bearings.wall_from_band(*band, f"{self.name} {position} {half}"))
            else:
                # a worn wall is at most what it was new: the thickest new one gives the least clearance
                walls.append(Measured(band[1]))
        basis = BAND if new else WORN
        if read:
            half_read = as_typed(read[0].replace("_", " "))
            basis = Sentence(OTHER_NEW if new else OTHER_WORN, half=half_read)
        return KnownWalls(bearings.Walls(walls[0], walls[-1]), basis, "equal" if new else "at least")

    def ordered(self, position: str, half: str, day: date) -> Band | None:
        """The band of the grade that was decided for a new half [mm]; None where none was."""
        if half not in self.halves or self.timeline.state(self.name, position, day).used:
            return None
        bands = self._decided(position)
        return bands[self.halves.index(half)] if bands else None

    def _bands(self, position: str, day: date, new: bool) -> tuple[Band, Band] | None:
        """Bands of the two halves [mm]; a whole bush has the same on both sides."""
        if new and (fitted := self._decided(position)):
            return fitted
        if new and self.shells.codes:
            return None  # codes say what was fitted once, and not what is bought now
        undersize = -step_in_mm(self.timeline.size(self.journal, position, day)) if self.journal else 0.0
        bands: list[Band] = []
        for typed in self._typed(position):
            low, high = typed.within(self.shells.unit or "mm") if typed else (None, None)
            if low is None or high is None:
                return None
            scale = quantities.factor(self.shells.unit or "mm", "mm")
            bands.append(bearings.undersize_wall((low * scale, high * scale), undersize))
        return bands[0], bands[1]

    def _typed(self, position: str) -> list[Interval | None]:
        """The sheet's wall for both halves, else those of the grades that the stamped codes call for."""
        if self.shells.wall is None and self.shells.grades and self.shells.codes:
            cell = self._grade(position)
            return [self.shells.grades.get(grade) for grade in halves_of_cell(cell or "")]
        return [self.shells.wall, self.shells.wall]

    def _decided(self, position: str) -> tuple[Band, Band] | None:
        """What the last decision fits there, by grades for a journal of its size and treatment [mm]."""
        decisions = self.job.decisions.values()
        fits = [one.fit[position] for one in decisions if one.about == self.name and position in one.fit]
        if not fits or len(fits[-1]) not in (1, 2):
            return None
        size = self.timeline.size(self.journal, position, date.max) if self.journal else ""
        treated = self.timeline.treated(self.journal, position) if self.journal else ""
        others = self.shells.other.values()
        mine = [one.grades for one in others if one.family == treated and same_size(one.step, size)]
        unit = self.shells.unit or "mm"
        scale = quantities.factor(unit, "mm")
        walls = bands_in(next(iter(mine), self.shells.grades), unit)
        bands = {name: (low * scale, high * scale) for name, (low, high) in walls.items()}
        upper, lower = fits[-1][0], fits[-1][-1]
        return (bands[upper], bands[lower]) if upper in bands and lower in bands else None

    def _grade(self, position: str) -> str | None:
        """What the stamped codes call for, a grade or S2/S3; None where a code was not read."""
        table = self.shells.codes
        fits = [fit for fit in self.engine.fits(shells=self.name) if fit.housing]
        at = self.shells.positions.index(position)
        surfaces = (fits[0].housing, fits[0].journal) if fits else ("", "")
        rows, columns = (self.timeline.codes(name, position) or [] for name in surfaces)
        if table is None or at >= len(rows) or at >= len(columns):
            return None
        return grade_by_codes(table.rows, table.columns, rows[at], columns[at])
