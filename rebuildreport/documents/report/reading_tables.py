"""Tables of readings as typed, with what was worked out of them beside.

In: an Assessment.  Out: tables as data, round by round.  Judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from ...assess.model.assessment import Assessment, Characteristic, Feature, ReadingTable
from ...quantities import message, place_of, units
from ..drawings import turned_shafts
from ..drawings.scales import name_of
from ..drawings.verdict_marks import judged, overall, verdict
from ..press.language import say, show, spoken, told
from ..press.templating import anchor
from ..press.words import (
    NBSP,
    System,
    aligned,
    beside,
    capital,
    day,
    deciding,
    first_unit,
    joined,
    other,
    place,
    places,
    stop,
    unit_text,
    value,
)
from .table_data import PrintedTable, TableRow, Worked

MARK = "?"  # behind a reading that is in no value
DENSE = 7  # columns beyond which a table is set in smaller letters
CORRECTED = 4  # values whose correction for temperature is said
Values = list[Characteristic]


def tables(job: Assessment) -> list[PrintedTable]:
    """Round by round: the readings as typed, then what was worked out without readings of its own."""
    return list(_Tables(job).every())


def called(job: Assessment, name: str) -> str:
    """An instrument by what it is and reads, 'micrometer 50 to 75 mm'; two alike by the shop's names."""
    words = {i.name: f"{place(i.kind)} {spoken().figures(told(i.range))}" for i in job.instruments}
    alike = list(words.values()).count(words.get(name, "")) > 1
    return place(name) if alike or name not in words else words[name]


def sources(job: Assessment) -> list[str]:
    """Where limits come from; tables name them by their number in this list."""
    said = (told(c.limits.source.text) for c in job.characteristics if c.limits and c.limits.source.text)
    return list(dict.fromkeys(said))


@dataclass(frozen=True)
class _Tables:
    """The tables of one job."""

    job: Assessment

    @cached_property
    def values(self) -> dict[tuple[str, str], Values]:
        """What was worked out, by the occasion and the feature."""
        found: dict[tuple[str, str], Values] = {}
        for c in self.job.characteristics:
            found.setdefault((c.occasion, c.feature), []).append(c)
        return found

    @cached_property
    def sources(self) -> list[str]:
        return sources(self.job)

    @cached_property
    def occasions(self) -> dict[str, str]:
        """Rounds, and tables that read their feature again in the same round: name and title."""
        titles = {r.name: f"{told(r.title)}, {day(r.date)}" for r in self.job.rounds}
        for table in self.job.tables:
            titles.setdefault(table.round, table.round)
        for c in self.job.characteristics:
            if c.occasion not in titles:
                known = titles.get(c.round) or say(place(c.round).replace("-", " "))
                titles[c.occasion] = f"{known}, {place(c.table)}" if c.table else known
        return titles

    def every(self) -> Iterator[PrintedTable]:
        for occasion, title in self.occasions.items():
            done: set[str] = set()
            for table in self.job.tables:
                if table.round == occasion:
                    values = self.values.get((occasion, table.feature), [])
                    yield self.typed(table, values if table.feature not in done else [], title)
                    done.add(table.feature)
            yield from self.without_readings(occasion, title, done)
        for table in self.job.paper_tables:
            yield self.typed(table, [], say("Tried on paper: {what}", what=table.on_paper))

    def without_readings(self, occasion: str, title: str, done: set[str]) -> Iterator[PrintedTable]:
        """What was worked out of other features; those of one place together in one table."""
        single: Values = []
        for feature in self.job.features:
            values = self.values.get((occasion, feature.name), [])
            known = [c for c in values if c.value is not None]
            if feature.name in done or not known:
                continue
            if len({c.position for c in values}) == 1:
                single += known
            else:
                yield self.worked(feature, values, title)
        if single:
            yield self.single(single, title)

    # ------------------------------------------------------------------ three sorts of tables

    def typed(self, table: ReadingTable, values: Values, when: str) -> PrintedTable:
        """Readings as they were typed, and beside them what is no reading itself."""
        feature = next((f for f in self.job.features if f.name == table.feature), None)
        names = [name for name in _names(feature, values) if not self.is_read(name, table, values)]
        title = told(feature.title) if feature else place(table.name)
        spots = list(dict.fromkeys([*table.rows, *(c.position for c in values if c.value is not None)]))
        rows, once = _said_once(self.rows(spots, names, values, _marked(table), len(table.columns)))
        drawn = turned_shafts.wheels(values, self.job.system, title, turned_shafts.WHOLE)
        notes = [*_doubts(table), *self.notes(feature, values), *once]
        return PrintedTable(
            anchor=anchor(f"table-{table.round}-{table.name}"),
            title=f"{title}, {_units(table.unit, self.job.system)}. {when}",
            under=self.under(table),
            typed=tuple(say(column.replace("_", " ")) for column in table.columns),
            worked=tuple(self.head(feature, name, values, table.unit) for name in names),
            rows=rows,
            notes=(*notes, turned_shafts.caption()) if drawn else tuple(notes),
            dense=len(table.columns) + len(names) > DENSE,
            judged=bool(values),
            wide=drawn[:1],
            narrow=drawn[1:],
        )

    def under(self, table: ReadingTable) -> str:
        """With what, in which state and at which temperature."""
        said: list[str] = []
        if table.instrument:
            said.append(say("with {what}", what=called(self.job, table.instrument)))
        if table.set_from:
            said.append(say("set from {what}", what=called(self.job, table.set_from)))
        typed_first = not said and bool(table.state)
        said += [table.state] if table.state else []
        if table.temperature:
            said.append(say("at {what}", what=spoken().figures(table.temperature)))
        under = stop(", ".join(said))
        return under if typed_first else capital(under)

    def is_read(self, name: str, table: ReadingTable, values: Values) -> bool:
        """Whether a characteristic is one of the readings itself: printing it twice adds nothing."""
        system = self.job.system
        printed = {c.position: p.text for c in values if c.name == name and (p := value(c, system))}
        for i, column in enumerate(table.columns):
            alike = column in name or name in column
            if alike and all(_digits(table, spot, i) == text for spot, text in printed.items()):
                return True
        return False

    def worked(self, feature: Feature, values: Values, when: str) -> PrintedTable:
        """Values without readings of their own; a single characteristic shows its guard and limit in line."""
        names = _names(feature, values)
        known = [c for c in values if c.value is not None]
        unit = first_unit(known[0].unit, self.job.system)
        bases = dict.fromkeys(told(c.basis) for c in known if c.basis)
        rows, once = _said_once(self.rows(list(dict.fromkeys(c.position for c in values)), names, values))
        under = say("worked out: {how}", how=joined(bases)) if bases else say("worked out")
        table = PrintedTable(
            anchor=anchor(f"table-{values[0].occasion}-{feature.name}"),
            title=f"{told(feature.title)}, {_units(unit, self.job.system)}. {when}",
            under=stop(capital(under)),
            typed=(),
            worked=tuple(self.head(feature, name, values, unit) for name in names),
            rows=rows,
            notes=(*self.notes(feature, values, len(names) > 1), *once),
            dense=len(names) > DENSE,
            judged=True,
        )
        return table if len(names) > 1 else self.wider(table, {c.position: c for c in values}, rows)

    def wider(
        self, table: PrintedTable, values: dict[str, Characteristic], rows: tuple[TableRow, ...]
    ) -> PrintedTable:
        """One characteristic has room for its planes, guard and limit: nothing is left to look up below."""
        planes = list(dict.fromkeys(plane for c in values.values() for plane in c.planes))
        heads = []
        for plane in planes:
            for end in (say("smallest"), say("largest")):  # one plane may be without a name
                heads.append(f"{say(plane.replace('_', ' '))}, {end}" if plane else end)
        wide: list[TableRow] = []
        for row in rows:
            c = values[row.position]
            typed = (self.figure(end, c) for plane in planes for end in c.planes.get(plane, (None, None)))
            worked = (*row.worked, Worked(self.guard(c)), self.limit(c))
            wide.append(replace(row, typed=tuple(typed), worked=worked))
        named = {told(c.limits.source.text) for c in values.values() if c.limits and c.limits.source.text}
        numbers = joined(str(number) for number in sorted(self.sources.index(name) + 1 for name in named))
        notes = [say("Limit from source {numbers}.", numbers=numbers)] if named else []
        return replace(
            table,
            typed=tuple(heads),
            worked=(*table.worked, say("guard"), say("limit")),
            rows=tuple(wide),
            notes=(*notes, *table.notes),
        )

    def single(self, values: Values, when: str) -> PrintedTable:
        """Features of one place only: one line each, in one table for the round."""
        features = {feature.name: feature for feature in self.job.features}
        rows: list[TableRow] = []
        for c in values:
            shown = value(c, self.job.system)
            text = "" if shown is None else f"{shown.text}{NBSP}{shown.unit}"
            cell = Worked(text, bool(shown and shown.bound), second=_second(c, self.job.system))
            cells = (cell, Worked(self.guard(c)), self.limit(c))
            title = name_of(c, features.get(c.feature))
            rows.append(TableRow(title, (), cells, verdict(judged(c)), told(c.note)))
        return PrintedTable(
            anchor=anchor(f"table-{values[0].occasion}-single"),
            title=say("Single values. {when}", when=when),
            under="",
            typed=(),
            worked=(say("value"), say("guard"), say("limit")),
            rows=tuple(rows),
            notes=tuple(_at_least(values)),
            dense=False,
            judged=True,
        )

    # ------------------------------------------------------------------ rows and cells

    def head(self, feature: Feature | None, name: str, values: Values, unit: str) -> str:
        """A characteristic over its column, with its unit where that is another than the table's."""
        title = _title(feature, name)
        own = next((first_unit(c.unit, self.job.system) for c in values if c.name == name), unit)
        return title if own == unit else f"{title}, {unit_text(own)}"

    def rows(
        self,
        spots: list[str],
        names: list[str],
        values: Values,
        typed: dict[str, tuple[str, ...]] | None = None,
        columns: int = 0,
    ) -> tuple[TableRow, ...]:
        found = {(c.position, c.name): c for c in values}
        worked = [self.column([found.get((spot, name)) for spot in spots]) for name in names]
        rows: list[TableRow] = []
        for i, spot in enumerate(spots):
            here = [c for c in values if c.position == spot]
            readings = (typed or {}).get(spot, ())
            rows.append(
                TableRow(
                    position=place(spot),
                    typed=(*readings, *[""] * (columns - len(readings))),
                    worked=tuple(column[i] for column in worked),
                    verdict=verdict(overall(list(map(judged, here)))) if here else None,
                    note=joined(dict.fromkeys(told(c.note) for c in here if c.note)),
                )
            )
        return tuple(rows)

    def column(self, values: list[Characteristic | None]) -> list[Worked]:
        """One characteristic downwards; '>' is short for 'at least', said below the table."""
        printed = [value(c, self.job.system) for c in values]
        pads = aligned([p.text if p is not None else "" for p in printed])
        return [
            Worked("" if p is None else p.text, bool(p and p.bound), pad, _second(c, self.job.system))
            for p, pad, c in zip(printed, pads, values, strict=True)
        ]

    def figure(self, end: float | None, c: Characteristic) -> str:
        return "" if end is None else show(end, c.unit, c.decimals, self.job.system).text

    def guard(self, c: Characteristic) -> str:
        if not c.guard:
            return ""
        above = self.guard_figure(max(0.0, c.guard), c)
        if c.guard_below is None:
            return f"±{above}"
        return f"\u2212{self.guard_figure(max(0.0, c.guard_below), c)} +{above}"

    def guard_figure(self, guard: float, c: Characteristic) -> str:
        return show(guard, c.unit, place_of(guard) + 1, self.job.system).text

    def limit(self, c: Characteristic) -> Worked:
        second = beside(deciding(c, other(self.job.system)), c, self.job.system)
        return Worked(deciding(c, self.job.system), second=second)

    # ------------------------------------------------------------------ what stands below

    def notes(self, feature: Feature | None, values: Values, limits: bool = True) -> Iterator[str]:
        """Limits that decided, with their source, and the guard (where no column has them); corrections."""
        if limits:
            yield from self.limits(feature, values)
            yield from self.guards(feature, values)
        yield from _coarse(feature, values)
        yield from _at_least(values)
        corrected = [(c, c.raw) for c in values if c.raw is not None and c.value is not None]
        for c, raw in corrected[:CORRECTED]:
            before = message("{place} read {value} before the temperature correction.")
            yield say(before, place=c.position, value=show(raw, c.unit, c.decimals + 1, self.job.system).both)

    def limits(self, feature: Feature | None, values: Values) -> Iterator[str]:
        """'Limits that decide: out of round max 0.005 (source 2).', a sentence for each source."""
        said: dict[str, dict[str, None]] = {}
        for name in _names(feature, values):
            for c in values:
                text = deciding(c, self.job.system)
                if c.name == name and c.value is not None and text and c.limits is not None:
                    size = f" ({told(c.limits.size)})" if c.limits.size else ""
                    words = f"{_title(feature, name)} {text}{size}"
                    said.setdefault(told(c.limits.source.text), {})[words] = None
        for source, limits in said.items():
            if source in self.sources:
                number = self.sources.index(source) + 1
                words = message("Limits that decide: {what} (source {number}).")
                yield say(words, what=joined(limits), number=number)
            else:
                yield say("Limits that decide: {what} (no source on file).", what=joined(limits))

    def guards(self, feature: Feature | None, values: Values) -> Iterator[str]:
        """The largest guard of each characteristic."""
        largest: dict[str, Characteristic] = {}
        for c in values:
            if c.value is not None and c.guard and c.guard > (_guard(largest.get(c.name))):
                largest[c.name] = c
        said = [
            f"{_title(feature, name)} {self.guard_figure(_guard(largest[name]), largest[name])}"
            for name in _names(feature, values)
            if name in largest
        ]
        if said:
            yield say("Guard at each limit, largest: {what}.", what=joined(said))


def _guard(c: Characteristic | None) -> float:
    return (c.guard or 0.0) if c is not None else 0.0


def _marked(table: ReadingTable) -> dict[str, tuple[str, ...]]:
    """The rows of a table as typed, with a mark behind each reading that is in no value."""
    rows: dict[str, tuple[str, ...]] = {}
    for spot, texts in table.rows.items():
        cells = []
        for i, typed in enumerate(texts):
            text = spoken().figures(typed)
            doubted = (spot, *table.columns[i : i + 1]) in table.left_out
            cells.append(f"{text}{NBSP}{MARK}" if doubted else text)
        rows[spot] = tuple(cells)
    return rows


def _doubts(table: ReadingTable) -> Iterator[str]:
    """What the mark means, then every doubt in its own sentence."""
    if table.left_out:
        yield say("{mark} marks readings that are in no value: they are in doubt.", mark=MARK)
    yield from map(told, table.doubts)


def _digits(table: ReadingTable, spot: str, column: int) -> str:
    """One reading with the digits that were typed."""
    return spoken().figures("".join(table.rows.get(spot, ())[column : column + 1]))


def _names(feature: Feature | None, values: Values) -> list[str]:
    """The characteristics that there are, those that the feature knows first."""
    there = {c.name for c in values if c.value is not None}
    known = [name for name in (feature.characteristics if feature else {}) if name in there]
    return known + sorted(there - set(known))


def _title(feature: Feature | None, name: str) -> str:
    """A characteristic as its feature calls it."""
    own = feature.characteristics.get(name) if feature else None
    return told(own) if own is not None else say(name.replace("_", " "))


def _second(c: Characteristic | None, system: System) -> str:
    """The value in the other system of units, where this quantity has two."""
    printed = value(c, other(system))
    if c is None or printed is None:
        return ""
    return beside(f">{printed.text}" if printed.bound else printed.text, c, system)


def _at_least(values: Values) -> Iterator[str]:
    if any(c.bound == "at least" for c in values):
        yield say("> means at least.")


def _said_once(rows: tuple[TableRow, ...]) -> tuple[tuple[TableRow, ...], list[str]]:
    """A note that three rows or more would repeat, or all, goes below the table."""
    alike: dict[str, list[str]] = {}
    for row in rows:
        alike.setdefault(row.note, []).append(row.position)
    said: list[str] = []
    often: set[str] = set()
    for note, spots in alike.items():
        every = len(spots) == len(rows) > 1
        if note and (len(spots) > 2 or every):
            often.add(note)
            said.append(stop(capital(note) if every else f"{places(spots)}: {note}"))
    return tuple(replace(row, note="") if row.note in often else row for row in rows), said


def _coarse(feature: Feature | None, values: Values) -> Iterator[str]:
    """Instruments too coarse for a tolerance, each said once with what it read."""
    said: dict[str, dict[str, None]] = {}
    for c in values:
        if c.fitness and c.value is not None:
            said.setdefault(told(c.fitness), {})[_title(feature, c.name)] = None
    for text, names in said.items():
        yield stop(capital(f"{joined(names)}: {text}"))


def _units(unit: str, system: System) -> str:
    """The unit of a table's readings, and in brackets that of the small numbers below what was worked out."""
    first, second = first_unit(unit, system), first_unit(unit, other(system))
    small = second if units.canonical(unit) == first else first
    return unit_text(unit) if first == second else f"{unit_text(unit)} ({unit_text(small)})"
