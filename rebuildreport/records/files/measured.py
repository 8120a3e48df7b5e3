"""Measuring tables with all that is known around them, and the sizes and titles that both sides name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from ... import quantities
from ...quantities import Figure, Quantity, QuantityError, Sentence, Text, UnknownUnit, amid
from ...quantities.units import BASE
from ..text.reader import Source
from .rounds import FIRST_START, Table
from .rows import Cells

if TYPE_CHECKING:
    from .folder import JobFolder
if TYPE_CHECKING:
    from ...trade.kinds import Kind
if TYPE_CHECKING:
    from .folder import JobFolder


@dataclass(frozen=True)
class MeasuredTable:
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


def kinds() -> Mapping[str, Kind]:
    """The register of kinds of feature."""
    from ...trade.kinds import KINDS

    return KINDS


def base(unit: str) -> str:
    """The unit that readings of this unit are compared in; '' where it is none."""
    try:
        return BASE.get(quantities.dimension(unit), unit) if unit else ""
    except UnknownUnit:
        return ""


def step_in_mm(size: str) -> float:
    """A size step as a signed length [mm]: undersize is negative, oversize positive.

    >>> step_in_mm("0.50 mm undersize"), step_in_mm("0.020 in oversize"), step_in_mm("")
    (-0.5, 0.508, 0.0)
    """
    words = size.split()
    if not words or words[-1] not in ("undersize", "oversize"):
        return 0.0
    try:
        step = quantities.parse(" ".join(words[:-1]), dimension="length").to("mm")
    except QuantityError:
        return 0.0
    return -round(step, 9) if words[-1] == "undersize" else round(step, 9)


def sized(typed: Text | None) -> Text:
    """A size as typed, of which another language knows the words: '0.50 mm undersize'."""
    amount, _, word = (typed or "").rpartition(" ")
    words = {"undersize": "{amount} undersize", "oversize": "{amount} oversize"}.get(word)
    return Sentence(words, amount=Figure(amount)) if words else typed or ""


def spoken_of(name: str, title: str | None = None) -> Text:
    """A feature in the middle of a sentence, of which another language may have the title.

    >>> spoken_of("rod_journals"), spoken_of("rod_journals", "Big-end journals")
    ('rod journals', 'big-end journals')
    """
    words = name.replace("_", " ")
    return amid(Sentence(title or words.capitalize())) if title or words == words.lower() else words
