"""Measuring rounds, tables as typed and instruments, for the record."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ...quantities import Figure, Sentence, Text
from ...records import Cell, JobFolder, RoundFile
from ...records.files.sheet import Engine
from ...records.files.shop import InstrumentRecord, Shop
from ...trade.kinds import KINDS
from ...trade.measuring.form import plane_and_direction
from ..model.assessment import Depths, Feature, InstrumentUsed, ReadingTable, Round
from ..model.edition import copied, signer
from .judging import source_text
from .observations import Occasion, all_rounds, base_unit
from .titles import feature_title, titled


def rounds(job: JobFolder) -> tuple[Round, ...]:
    """The measuring rounds in their order.

    The engine as it was found: the first of them, and those on later days before anything was decided.
    """
    decided = [one.date for one in job.decisions.values()]
    return tuple(
        Round(
            one.name,
            Sentence(one.model.title) if one.model.title else titled(one.name.replace("-", " ")),
            one.model.date,
            signer(one.model.by),
            str(one.model.temperature),
            i == 0 or not decided or one.model.date <= min(decided),
        )
        for i, one in enumerate(all_rounds(job))
    )


def tables(engine: Engine, job: JobFolder, on_paper: bool = False) -> tuple[ReadingTable, ...]:
    """Every table as typed, with what is doubtful about it; or those of what is only tried ``on_paper``."""
    files = _papers(job) if on_paper else all_rounds(job)
    return tuple(_table(engine, job, file, name) for file in files for name in file.model.tables)


def _table(engine: Engine, job: JobFolder, file: RoundFile, name: str) -> ReadingTable:
    table, cells = file.model.tables[name], file.cells.get(name, {})
    feature = table.feature or name
    sheet = engine.features.get(feature)
    doubts = [doubt for doubt in job.doubts if (doubt.round, doubt.table) == (file.name, name)]
    spots = [(position, column) for position in cells for column in table.columns]
    # what the round was read on that is not in the engine
    tried = job.candidates.get(file.model.of) if job.tried(file) else None
    return copied(
        ReadingTable,
        table,
        round=file.name,
        name=name,
        feature=feature,
        unit=table.unit or (sheet and sheet.unit) or "",
        temperature=str(table.temperature or file.model.temperature),
        rows=_as_typed(table.columns, cells),
        doubts=tuple(doubt.says for doubt in doubts),
        asked=tuple(dict.fromkeys(spot[-2:] for doubt in doubts for spot in doubt.kept)),
        left_out=tuple(spot for spot in spots if (file.name, name, *spot) in job.suspects),
        on_paper=tried.title if tried else "",
        depths=_depths(table.columns, cells) if sheet and sheet.kind == "bore" else (),
    )


def _as_typed(columns: Sequence[str], cells: Mapping[str, Mapping[str, Cell]]) -> dict[str, tuple[str, ...]]:
    return {
        place: tuple(row[column].text if column in row else "" for column in columns)
        for place, row in cells.items()
    }


def _depths(columns: Sequence[str], cells: Mapping[str, Mapping[str, Cell]]) -> tuple[Depths, ...]:
    """Each direction of bores read at the same levels in all; a bore without one of them has none."""
    named = {plane_and_direction(column): column for column in columns}
    levels = tuple(dict.fromkeys(level for level, _ in named))
    ways = tuple(dict.fromkeys(way for _, way in named))
    if not levels or levels[0] != "top" or len(levels) < 2 or len(named) != len(levels) * len(ways):
        return ()
    found = []
    for way in ways:
        wanted = [named[level, way] for level in levels]
        rows = {place: [row[name].readings for name in wanted if name in row] for place, row in cells.items()}
        whole = {place: read for place, read in rows.items() if [*map(len, read)] == [1] * len(levels)}
        sizes = {place: tuple(one.to("mm") for (one,) in read) for place, read in whole.items()}
        found.append(Depths(way, levels, sizes))
    return tuple(found)


def _papers(job: JobFolder) -> list[RoundFile]:
    return [one for one in job.rounds.values() if job.tried(one)]


def instruments(shop: Shop, taken: list[Occasion], job: JobFolder) -> tuple[InstrumentUsed, ...]:
    """The instruments that the job used."""
    used = {occasion.instrument.name for occasion in taken}
    # nothing is worked out of what is only listed or tried on paper: it is among none that are taken
    for file in (*all_rounds(job), *_papers(job)):
        for table in file.model.tables.values():
            used |= {table.instrument, table.set_from}
    return tuple(_used(name, one) for name, one in shop.instruments.items() if name in used)


def _used(name: str, one: InstrumentRecord) -> InstrumentUsed:
    repeatability = ""
    if one.repeatability:
        unit = one.repeatability.unit or one.resolution.unit
        repeatability = f"{one.repeatability.text} {unit}"
    error: Text = Figure(one.error)
    if one.permitted_error is None:
        error = Sentence("{error}, assumed: nobody knows it", error=error)
    shown = {"range": range_of(one), "resolution": str(one.resolution), "repeatability": repeatability}
    return copied(InstrumentUsed, one, name=name, permitted_error=error, **shown)


def range_of(one: InstrumentRecord) -> Text:
    """From its smallest to its largest reading, as typed."""
    low = Figure(one.range.low.text if one.range.low else "")
    return Sentence("{first} to {last}", first=low, last=Figure(one.range.high))


def features(engine: Engine, filed: Callable[[str], str]) -> tuple[Feature, ...]:
    """The features of the sheet as documents name them, each under the heading that it is filed under."""
    found = []
    for name, sheet in engine.features.items():
        kind, source = KINDS[sheet.kind], source_text(engine, sheet.source)
        names = kind.characteristics(tuple(sheet.columns), {*sheet.new, *sheet.wear})
        own = {"name": name, "title": feature_title(engine, name), "unit": base_unit(sheet.unit)}
        own["heading"] = filed(name)
        titles = {one: Sentence(kind.trait(one).title) for one in names}
        found.append(copied(Feature, sheet, **own, source=source, characteristics=titles))
    return tuple(found)
