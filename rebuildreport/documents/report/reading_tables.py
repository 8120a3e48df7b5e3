"""Tables of readings as typed, with what was worked out of them beside."""

from __future__ import annotations

from dataclasses import replace

from ...assess.model.assessment import Assessment, Characteristic, Feature, ReadingTable
from ...quantities import message, place_of, units
from ..drawings import turned_shafts
from ..drawings.scales import name_of
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
from .answers import judged, verdict
from .measurements import overall
from .table_data import PrintedTable, TableRow, Worked

MARK = "?"  # behind a reading that is in no value


def tables(one: Assessment) -> list[PrintedTable]:
    """Round by round: the readings as typed, then what was worked out without readings of its own."""
    by: dict[tuple[str, str], list[Characteristic]] = {}
    for c in one.characteristics:
        by.setdefault((c.occasion, c.feature), []).append(c)
    titles = {r.name: f"{told(r.title)}, {day(r.date)}" for r in one.rounds}
    for c in one.characteristics:
        if c.occasion not in titles:  # of a table that read its feature again in the same round
            known = titles.get(c.round, say(place(c.round).replace("-", " ")))
            titles[c.occasion] = f"{known}, {place(c.table)}" if c.table else known
    order = [r.name for r in one.rounds]
    order += [
        name
        for name in dict.fromkeys([*(t.round for t in one.tables), *(r for r, _ in by)])
        if name not in order
    ]
    out: list[PrintedTable] = []
    for name in order:
        done: set[str] = set()
        for table in one.tables:
            if table.round == name:
                ones = by.get((name, table.feature), []) if table.feature not in done else []
                done.add(table.feature)
                out.append(_typed(one, table, ones, titles.get(name, name)))
        single: list[Characteristic] = []
        for feature in one.features:
            ones = by.get((name, feature.name), [])
            present = [c for c in ones if c.value is not None]
            if feature.name in done or not present:
                continue
            if len({c.position for c in ones}) == 1:
                single += present
            else:
                out.append(_worked(one, feature, ones, titles.get(name, name)))
        if single:
            out.append(_single(one, single, titles.get(name, name)))
    for table in one.paper_tables:
        out.append(_typed(one, table, [], say("Tried on paper: {what}", what=table.on_paper)))
    return out


def _marked(table: ReadingTable) -> dict[str, tuple[str, ...]]:
    """The rows of a table as typed, with a mark behind each reading that is in no value."""
    return {
        spot: tuple(
            f"{text}{NBSP}{MARK}" if (spot, *table.columns[i : i + 1]) in table.left_out else text
            for i, text in enumerate(spoken().figures(typed) for typed in texts)
        )
        for spot, texts in table.rows.items()
    }


def _doubts(table: ReadingTable) -> tuple[str, ...]:
    """What the mark means, then every doubt in its own sentence."""
    meaning = say("{mark} marks readings that are in no value: they are in doubt.", mark=MARK)
    return ((meaning,) if table.left_out else ()) + tuple(told(doubt) for doubt in table.doubts)


def called(one: Assessment, name: str) -> str:
    """An instrument by what it is and reads, 'micrometer 50 to 75 mm'; two alike by the shop's names."""
    found = {i.name: f"{place(i.kind)} {spoken().figures(told(i.range))}" for i in one.instruments}
    words = found.get(name)
    return place(name) if words is None or list(found.values()).count(words) > 1 else words


def _feature(one: Assessment, name: str) -> Feature | None:
    return next((f for f in one.features if f.name == name), None)


def _typed(one: Assessment, table: ReadingTable, ones: list[Characteristic], when: str) -> PrintedTable:
    feature = _feature(one, table.feature)
    names = _names(feature, ones)
    names = [name for name in names if not _read(name, table, ones, one.system)]
    title = told(feature.title) if feature else place(table.name)
    under = [
        table.instrument and say("with {what}", what=called(one, table.instrument)),
        table.set_from and say("set from {what}", what=called(one, table.set_from)),
    ]
    under += [table.state, table.temperature and say("at {what}", what=spoken().figures(table.temperature))]
    places = list(dict.fromkeys([*table.rows, *(c.position for c in ones if c.value is not None)]))
    rows, once = _said_once(_rows(one, places, _marked(table), len(table.columns), names, ones))
    drawn = turned_shafts.wheels(ones, one.system, title, turned_shafts.WHOLE)
    return PrintedTable(
        anchor=anchor(f"table-{table.round}-{table.name}"),
        title=f"{title}, {_units(table.unit, one.system)}. {when}",
        under=stop(capital(", ".join(part for part in under if part))),
        typed=tuple(say(column.replace("_", " ")) for column in table.columns),
        worked=tuple(_head(feature, name, ones, one, table.unit) for name in names),
        rows=rows,
        notes=(
            *_doubts(table),
            *_notes(one, feature, ones),
            *once,
            *([turned_shafts.caption()] if drawn else []),
        ),
        dense=len(table.columns) + len(names) > 7,
        judged=bool(ones),
        wide=drawn[:1],
        narrow=drawn[1:],
    )


def _read(name: str, table: ReadingTable, ones: list[Characteristic], system: str) -> bool:
    """Whether a characteristic is one of the readings itself: printing it twice adds nothing."""
    mine = {c.position: p.text for c in ones if c.name == name and (p := value(c, system)) is not None}
    for i, column in enumerate(table.columns):
        alike = column in name or name in column
        if alike and all(_digits(table, spot, i) == text for spot, text in mine.items()):
            return True
    return False


def _digits(table: ReadingTable, spot: str, column: int) -> str:
    """One reading with the digits that were typed."""
    return spoken().figures("".join(table.rows.get(spot, ())[column : column + 1]))


def _worked(one: Assessment, feature: Feature, ones: list[Characteristic], when: str) -> PrintedTable:
    """Values without readings of their own; a single characteristic shows its guard and limit in line."""
    names = _names(feature, ones)
    present = [c for c in ones if c.value is not None]
    unit = first_unit(present[0].unit, one.system)
    bases = dict.fromkeys(c.basis for c in present if c.basis)
    places = list(dict.fromkeys(c.position for c in ones))
    rows, once = _said_once(_rows(one, places, {}, 0, names, ones))
    table = PrintedTable(
        anchor=anchor(f"table-{ones[0].occasion}-{feature.name}"),
        title=f"{told(feature.title)}, {_units(unit, one.system)}. {when}",
        under=stop(
            capital(say("worked out: {how}", how=joined(map(told, bases))) if bases else say("worked out"))
        ),
        typed=(),
        worked=tuple(_head(feature, name, ones, one, unit) for name in names),
        rows=rows,
        notes=(*_notes(one, feature, ones, len(names) > 1), *once),
        dense=len(names) > 7,
        judged=True,
    )
    return table if len(names) > 1 else _wider(table, {c.position: c for c in ones}, one)


def _wider(table: PrintedTable, found: dict[str, Characteristic], one: Assessment) -> PrintedTable:
    """One characteristic has room for its planes, guard and limit: nothing is left to look up below."""
    planes = list(dict.fromkeys(plane for c in found.values() for plane in c.planes))
    ends_of_plane = (say("smallest"), say("largest"))
    heads = [
        f"{say(plane.replace('_', ' '))}, {end}" if plane else end  # one plane may be without a name
        for plane in planes
        for end in ends_of_plane
    ]
    rows: list[TableRow] = []
    for row in table.rows:
        c = found[row.position]
        ends = [end for plane in planes for end in c.planes.get(plane, (None, None))]
        texts = ["" if end is None else show(end, c.unit, c.decimals, one.system).text for end in ends]
        guard = f"±{show(c.guard, c.unit, place_of(c.guard) + 1, one.system).text}" if c.guard else ""
        limit = Worked(deciding(c, one.system), second=beside(deciding(c, other(one.system)), c, one.system))
        rows.append(replace(row, typed=tuple(texts), worked=(*row.worked, Worked(guard), limit)))
    known = sources(one)
    named = {told(c.limits.source) for c in found.values() if c.limits and c.limits.source}
    used = sorted(known.index(source) + 1 for source in named)
    notes = list(table.notes)
    if used:
        numbers = joined(str(number) for number in used)
        notes = [say("Limit from source {numbers}.", numbers=numbers), *notes]
    return replace(
        table,
        typed=tuple(heads),
        worked=(*table.worked, say("guard"), say("limit")),
        rows=tuple(rows),
        notes=tuple(notes),
    )


def _single(one: Assessment, ones: list[Characteristic], when: str) -> PrintedTable:
    """Features of one place only: one line each, in one table for the round."""
    rows: list[TableRow] = []
    for c in ones:
        feature = _feature(one, c.feature)
        shown = value(c, one.system)
        guard = show(c.guard, c.unit, place_of(c.guard) + 1, one.system) if c.guard else None
        text = "" if shown is None else f"{shown.text}{NBSP}{shown.unit}"
        cells = (
            Worked(text, bool(shown and shown.bound), second=_second(c, one.system)),
            Worked(f"±{guard.text}" if guard else ""),
            Worked(deciding(c, one.system), second=beside(deciding(c, other(one.system)), c, one.system)),
        )
        rows.append(TableRow(name_of(c, feature), (), cells, verdict(judged(c)), told(c.note)))
    notes = [say("> means at least.")] if any(c.bound == "at least" for c in ones) else []
    return PrintedTable(
        anchor=anchor(f"table-{ones[0].occasion}-single"),
        title=say("Single values. {when}", when=when),
        under="",
        typed=(),
        worked=(say("value"), say("guard"), say("limit")),
        rows=tuple(rows),
        notes=tuple(notes),
        dense=False,
        judged=True,
    )


def _names(feature: Feature | None, ones: list[Characteristic]) -> list[str]:
    present = {c.name for c in ones if c.value is not None}
    known = [name for name in (feature.characteristics if feature else {}) if name in present]
    return known + sorted(present - set(known))


def _head(feature: Feature | None, name: str, ones: list[Characteristic], one: Assessment, unit: str) -> str:
    title = _title(feature, name)
    own = next((first_unit(c.unit, one.system) for c in ones if c.name == name), unit)
    return title if own == unit else f"{title}, {unit_text(own)}"


def _title(feature: Feature | None, name: str) -> str:
    """A characteristic as its feature calls it."""
    plain = say(name.replace("_", " "))
    return told(feature.characteristics.get(name, plain)) if feature else plain


def _rows(
    one: Assessment,
    places: list[str],
    typed: dict[str, tuple[str, ...]],
    columns: int,
    names: list[str],
    ones: list[Characteristic],
) -> tuple[TableRow, ...]:
    found = {(c.position, c.name): c for c in ones}
    cells: dict[str, list[Worked]] = {}
    for name in names:
        printed = [value(found.get((spot, name)), one.system) for spot in places]
        pads = aligned([p.text if p is not None else "" for p in printed])
        cells[name] = [
            Worked("" if p is None else p.text, bool(p and p.bound), pad, _second(c, one.system))
            for p, pad, c in zip(printed, pads, (found.get((spot, name)) for spot in places), strict=True)
        ]  # '>' is short for 'at least', said below the table
    out: list[TableRow] = []
    for i, spot in enumerate(places):
        here = [c for c in ones if c.position == spot]
        readings = tuple(typed.get(spot, ()))
        readings += ("",) * (columns - len(readings))
        out.append(
            TableRow(
                position=place(spot),
                typed=readings,
                worked=tuple(cells[name][i] for name in names),
                verdict=verdict(overall(list(map(judged, here)))) if here else None,
                note=joined(dict.fromkeys(told(c.note) for c in here if c.note)),
            )
        )
    return tuple(out)


def _second(one: Characteristic | None, system: System) -> str:
    """The value in the other system of units, where this quantity has two."""
    printed = value(one, other(system))
    if one is None or printed is None:
        return ""
    return beside(f">{printed.text}" if printed.bound else printed.text, one, system)


def _said_once(rows: tuple[TableRow, ...]) -> tuple[tuple[TableRow, ...], list[str]]:
    """A note that three rows or more would repeat goes below the table."""
    held: dict[str, list[TableRow]] = {}
    for row in rows:
        held.setdefault(row.note, []).append(row)
    often = {
        note: ones for note, ones in held.items() if note and (len(ones) > 2 or len(ones) == len(rows) > 1)
    }
    if not often:
        return rows, []
    said = [
        stop(capital(note if len(ones) == len(rows) else f"{places([one.position for one in ones])}: {note}"))
        for note, ones in often.items()
    ]
    return tuple(replace(row, note="") if row.note in often else row for row in rows), said


def _notes(
    one: Assessment, feature: Feature | None, ones: list[Characteristic], judged: bool = True
) -> list[str]:
    """Limits that decided, with their source, and the guard (where ``judged``); corrections; bounds."""
    notes: list[str] = []
    limits: dict[str, list[str]] = {}
    guards: list[str] = []
    for name in _names(feature, ones) if judged else ():
        mine = [c for c in ones if c.name == name and c.value is not None]
        title = _title(feature, name)
        for c in mine:
            text = deciding(c, one.system)
            if text and c.limits is not None:
                size = f" ({told(c.limits.size)})" if c.limits.size else ""
                words = limits.setdefault(told(c.limits.source), [])
                if f"{title} {text}{size}" not in words:
                    words.append(f"{title} {text}{size}")
        some = [c.guard for c in mine if c.guard]
        if some:
            most = max(some)
            guards.append(f"{title} {show(most, mine[0].unit, place_of(most) + 1, one.system).text}")
    known = sources(one)
    for source, words in limits.items():
        if source in known:
            number = known.index(source) + 1
            said = say("Limits that decide: {what} (source {number}).", what=joined(words), number=number)
        else:
            said = say("Limits that decide: {what} (no source on file).", what=joined(words))
        notes.append(said)
    if guards:
        notes.append(say("Guard at each limit, largest: {what}.", what=joined(guards)))
    notes += _coarse(feature, ones)
    if any(c.bound == "at least" for c in ones):
        notes.append(say("> means at least."))
    moved = [c for c in ones if c.raw is not None and c.value is not None]
    for c in moved[:4]:
        raw = show(c.raw if c.raw is not None else 0.0, c.unit, c.decimals + 1, one.system).both
        before = message("{place} read {value} before the temperature correction.")
        notes.append(say(before, place=c.position, value=raw))
    return notes


def _coarse(feature: Feature | None, ones: list[Characteristic]) -> list[str]:
    """Instruments too coarse for a tolerance, each said once with what it read."""
    said: dict[str, list[str]] = {}
    for c in ones:
        if c.fitness and c.value is not None:
            names = said.setdefault(told(c.fitness), [])
            if (words := _title(feature, c.name)) not in names:
                names.append(words)
    return [stop(capital(f"{joined(names)}: {text}")) for text, names in said.items()]


def sources(one: Assessment) -> list[str]:
    """Where limits come from; tables name them by their number in this list."""
    said = (told(c.limits.source) for c in one.characteristics if c.limits and c.limits.source)
    return list(dict.fromkeys(said))


def _units(unit: str, system: System) -> str:
    """The unit of a table's readings, and in brackets that of the small numbers below what was worked out."""
    first, second = first_unit(unit, system), first_unit(unit, other(system))
    small = second if units.canonical(unit) == first else first
    return unit_text(unit) if first == second else f"{unit_text(unit)} ({unit_text(small)})"
