"""Measuring tables with all that is known around them, and the titles that both sides name."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import cache, cached_property
from statistics import mode

from msgspec import Struct

from ... import quantities
from ...quantities import Quantity, Sentence, Text, Typed, UnknownUnit, amid
from ...quantities.units import BASE
from ..text.reader import Source
from .folder import JobFolder
from .rounds import FIRST_START, Cell, Spot, Table
from .rows import Cells


class MeasuredTable(Struct, frozen=True, dict=True):
    """One table with all that is known around it."""

    round: str
    name: str
    table: Table
    cells: Cells
    day: date | None
    source: Source
    workshop: Quantity | None = None  # its temperature in this round

    @property
    def feature(self) -> str:
        return self.table.feature or self.name

    @cached_property
    def decimals(self) -> int:
        """With how many decimals most of its readings were typed."""
        return mode(reading.decimals for _, cell in self.read() for reading in cell.readings)

    def taken(self) -> Iterator[tuple[str, str, Cell]]:
        """Every cell that was read, or that shows no clearance: position, column, cell."""
        for position, row in self.cells.items():
            for column, cell in row.items():
                if cell.state != "not taken":
                    yield position, column, cell

    def read(self) -> Iterator[tuple[Spot, Cell]]:
        """Every cell that holds readings, with its place among all of the job."""
        for position, column, cell in self.taken():
            if cell.readings:
                yield (self.round, self.name, position, column), cell


def tables(job: JobFolder) -> Iterator[MeasuredTable]:
    """Every table of a job: the rounds by date, then those of running.yaml."""
    for round_ in job.rounds.values():
        for name, table in round_.model.tables.items():
            day = table.date or round_.model.date
            cells = round_.cells.get(name, {})
            workshop = round_.model.temperature
            yield MeasuredTable(round_.name, name, table, cells, day, round_.source, workshop)
    if job.running:
        start = job.running.first_start
        for name, table in job.running.tables.items():
            started = start.date if start else None
            cells = job.running_cells.get(name, {})
            warmth = job.running.temperature
            source = job.sources["running"]
            yield MeasuredTable(FIRST_START, name, table, cells, table.date or started, source, warmth)


@cache  # of every reading, some ten times
def base(unit: str) -> str:
    """The unit that readings of this unit are compared in; '' where it is none."""
    try:
        return BASE.get(quantities.dimension(unit), unit) if unit else ""
    except UnknownUnit:
        return ""


def spoken_of(name: str, title: str | None = None) -> Text:
    """A feature in the middle of a sentence, of which another language may have the title.

    >>> from rebuildreport.quantities import english
    >>> english(spoken_of("rod_journals")), english(spoken_of("rod_journals", "Big-end journals"))
    ('rod journals', 'big-end journals')
    """
    words = name.replace("_", " ")
    if not title and words != words.lower():
        return Typed(words)  # a name in capitals of its own is no common noun
    return amid(Sentence(title or words.capitalize()))
