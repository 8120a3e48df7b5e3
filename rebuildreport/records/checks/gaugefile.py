"""Readings from a gauge's own software: a CSV file held against the sheet, laid out as a round's tables.

In: the file's bytes, what its columns are called, the sheet, the shop's instruments.  Out: tables with their
readings as typed, or what does not fit, each with its line.  Writes no file and takes no reading for another.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from msgspec import Struct, field

from ...quantities import Unreadable, canonical
from ..files.rows import cell
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import Shop
from ..text.problems import Problem
from ..text.reader import MOST_FAULTS
from ..text.tracefile import SEPARATORS, csv_cells
from ..text.validate import listed, near
from ..text.writing import TableLayout

ROLES = ("feature", "position", "column", "reading", "unit", "instrument")
NOT_TAKEN = ("", "-", "--")
_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+")
_NUMBER_AND_UNIT = re.compile(r"([<+-]*[0-9.]+) *(\D*)")


class Heads(Struct, frozen=True):
    """What the columns of a gauge's file are called, and what holds for all of it."""

    called: Mapping[str, str]  # role: head in the file; a role that is not named is called as itself
    comma: bool = False  # decimals stand behind a comma
    feature: str = ""  # of every row, where no column says it
    instrument: str = ""  # that everything was read with, where no column says it
    of: str = ""  # JOB/ROUND, where the file is of the command export and holds several

    def head(self, role: str) -> str:
        return self.called.get(role) or role


class Filled(NamedTuple):
    """A table of the new round, and its readings by position and column."""

    layout: TableLayout
    readings: dict[tuple[str, str], str]


class _Row(Struct):
    """One row of the file: its cells by head as the file has it, small letters."""

    line: int
    text: str
    cells: dict[str, str]

    def get(self, head: str) -> str:
        return self.cells.get(head.casefold(), "").strip()


class _Table(Struct):
    readings: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    instruments: dict[str, None] = field(default_factory=dict)


class _Taking:
    """A file that is being taken: its tables so far, and what did not fit."""

    def __init__(self, file: str, heads: Heads, engine: Engine, shop: Shop) -> None:
        self.file, self.heads, self.engine, self.shop = file, heads, engine, shop
        self.tables: dict[str, _Table] = {}
        self.problems: list[Problem] = []

    def wrong(self, row: _Row, word: str, message: str, hint: str = "") -> None:
        column = row.text.find(word) + 1 if word else 1
        self.problems.append(Problem(self.file, row.line, max(1, column), "error", message, row.text, hint))

    def known(self, row: _Row, word: str, names: Iterable[str], what: str) -> str:
        """The name that a word stands for, however it is capitalised; '' with a problem where none."""
        names = list(names)
        found = [name for name in names if _plain(name) == _plain(word)]
        if not found:
            hint = near(word, names) or f"known here: {listed(names)}"
            self.wrong(row, word, f"'{word}' is {what}" if word else f"{what} is named: it is empty", hint)
        return found[0] if found else ""


def _plain(name: str) -> str:
    return re.sub(r"[\s_-]+", "_", name.strip().casefold())


def taken(
    data: bytes, file: str, heads: Heads, engine: Engine, shop: Shop
) -> tuple[list[Filled], list[Problem]]:
    """The tables of a round from a gauge's file, in the order of the sheet; none where anything does not fit.

    A row holds one reading (columns for feature, position, column and reading), or the readings of a position
    under heads that are the feature's columns.  A place that comes again is a repeat at that spot.
    """
    taking = _Taking(file, heads, engine, shop)
    lines = _text(data).splitlines()
    rows = list(_rows(lines, taking))
    if rows and all(row.cells.keys() >= _EXPORTED for row in rows):
        return _exchanged(rows, taking)
    for row in rows:
        _take(row, taking)
    if not taking.problems and not taking.tables:
        empty = _Row(1, lines[0] if lines else "", {})
        taking.wrong(empty, "", "no reading stands in this file", "is it the right one?")
    if taking.problems:
        once = {problem.message: problem for problem in reversed(taking.problems)}
        return [], sorted(once.values())[:MOST_FAULTS]
    ordered = sorted(taking.tables.items(), key=lambda found: list(engine.features).index(found[0]))
    return [_filled(name, engine.features[name], table) for name, table in ordered], []


_EXPORTED = frozenset({"job", "round", "table", "left_out"})


def _exchanged(rows: list[_Row], taking: _Taking) -> tuple[list[Filled], list[Problem]]:
    """The tables of one round of a file that the command export has written, as they were typed."""
    rounds = dict.fromkeys(f"{row.get('job')}/{row.get('round')}" for row in rows)
    wanted = taking.heads.of or next(iter(rounds))
    if wanted not in rounds or (len(rounds) > 1 and not taking.heads.of):
        message = f"{len(rounds)} rounds stand in this file"
        message = f"this file has no '{wanted}'" if taking.heads.of else message
        taking.wrong(rows[0], "", message, f"say which by --of: {listed(rounds)}")
        return [], taking.problems
    tables: dict[str, list[_Row]] = {}
    for row in rows:
        if f"{row.get('job')}/{row.get('round')}" == wanted:
            tables.setdefault(row.get("table"), []).append(row)
    filled = [_as_typed(name, table, taking) for name, table in tables.items()]
    return ([], taking.problems) if taking.problems else (filled, [])


def _as_typed(name: str, rows: list[_Row], taking: _Taking) -> Filled:
    first = rows[0]
    feature = first.get("feature")
    taking.known(first, feature, taking.engine.features, "no feature of the sheet")
    for gauge in filter(None, (first.get("instrument"), first.get("set_from"))):
        taking.known(first, gauge, taking.shop.instruments, "no instrument of shop.yaml")
    readings = {}
    for row in rows:
        readings[row.get("position"), row.get("column")] = row.get("reading")
        try:
            cell(row.get("reading"), row.get("unit") or "mm")
        except Unreadable as problem:
            taking.wrong(row, row.get("reading"), str(problem), problem.suggestion)
    own = ("date", "temperature") if feature == name else ("feature", "date", "temperature")
    further = tuple((key, first.get(key)) for key in own if first.get(key))
    positions, columns = (list(dict.fromkeys(place[side] for place in readings)) for side in (0, 1))
    heading = (name, "", first.get("unit"), first.get("state"), positions, columns)
    tools = (first.get("instrument"), first.get("set_from"))
    layout = TableLayout(*heading, *tools, confirmed=True, further=further)
    return Filled(layout, readings)


def _text(data: bytes) -> str:
    """UTF-8, UTF-16 with its mark, or else the code page of Western Windows.

    >>> _text("Länge".encode("cp1252")), _text("Länge".encode("utf-16")), _text("Länge".encode("utf-8-sig"))
    ('Länge', 'Länge', 'Länge')
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _rows(lines: list[str], taking: _Taking) -> Iterator[_Row]:
    """Every row below the heads, which some programs write under lines about themselves."""
    wanted = _plain(taking.heads.head("position"))
    for at, line in enumerate(lines):
        separator = max(SEPARATORS, key=line.count)
        heads = csv_cells(line, separator)
        if wanted in map(_plain, heads):
            yield from _below(lines, at, separator, [head.casefold() for head in heads], taking)
            return
    first = next((line for line in lines if line.strip()), "")
    heads = csv_cells(first, max(SEPARATORS, key=first.count))
    row = _Row(lines.index(first) + 1 if first else 1, first, {})
    name = taking.heads.head("position")
    hint = near(name, heads) or (f"the columns here: {listed(heads)}" if first else "the file is empty")
    hint += "; say --column position=NAME, or position: under gauge_file: in shop.yaml"
    taking.wrong(row, "", f"no column is called '{name}'", hint)


def _below(lines: list[str], at: int, separator: str, heads: list[str], taking: _Taking) -> Iterator[_Row]:
    for number, line in enumerate(lines[at + 1 :], at + 2):
        cells = csv_cells(line, separator)
        if not any(cells):
            continue
        row = _Row(number, line, dict(zip(heads, cells, strict=False)))
        if len(cells) > len(heads) and any(cells[len(heads) :]):
            hint = "a decimal comma between them? Have it written with another separator, or with points"
            taking.wrong(row, "", f"{len(cells)} cells under {len(heads)} heads", hint)
            continue
        yield row


def _take(row: _Row, taking: _Taking) -> None:
    heads, engine = taking.heads, taking.engine
    titles = {feature.title: name for name, feature in engine.features.items() if feature.title}
    word = row.get(heads.head("feature")) or heads.feature
    named = taking.known(row, word, [*engine.features, *titles], "no feature of the sheet")
    name = titles.get(named, named)
    if not name:
        return
    feature = engine.features[name]
    if not feature.positions or not feature.columns:
        message = f"the sheet says no positions and columns of {name}"
        taking.wrong(row, word, message, "write them there first")
        return
    position = taking.known(row, row.get(heads.head("position")), feature.positions, f"no position of {name}")
    if not position:
        return
    table = taking.tables.setdefault(name, _Table())
    _instrument(row, table, taking)
    for column, typed in _typed(row, feature, name, taking):
        reading = _reading(row, typed, feature, taking)
        if reading:
            table.readings.setdefault((position, column), []).append(reading)


def _instrument(row: _Row, table: _Table, taking: _Taking) -> None:
    word = row.get(taking.heads.head("instrument")) or taking.heads.instrument
    if not word:
        return
    name = taking.known(row, word, taking.shop.instruments, "no instrument of shop.yaml")
    if name and table.instruments and name not in table.instruments:
        first = next(iter(table.instruments))
        hint = "a table is read with one: take them as two rounds"
        taking.wrong(row, word, f"'{word}' after '{first}' for one feature", hint)
    elif name:
        table.instruments[name] = None


def _typed(row: _Row, feature: FeatureRecord, name: str, taking: _Taking) -> Iterator[tuple[str, str]]:
    """Each reading of a row with its column."""
    heads, columns = taking.heads, feature.columns
    if heads.head("reading").casefold() not in row.cells:
        found = [(column, head) for column in columns for head in row.cells if _plain(head) == _plain(column)]
        if not found:
            hint = f"say --column reading=NAME; the columns of {name} are {listed(columns)}"
            message = f"no column is called '{heads.head('reading')}' or as those of {name}"
            taking.wrong(row, "", message, hint)
        yield from ((column, row.cells[head].strip()) for column, head in found)
        return
    word = row.get(heads.head("column"))
    if not word and len(columns) == 1:
        yield columns[0], row.get(heads.head("reading"))
    elif column := taking.known(row, word, columns, f"no column of {name}"):
        yield column, row.get(heads.head("reading"))


def _reading(row: _Row, typed: str, feature: FeatureRecord, taking: _Taking) -> str:
    """A reading as a row of a round has it: its digits as typed, '' where none was taken or it is none."""
    if typed in NOT_TAKEN:
        return ""
    text = typed
    if _COMMA.match(text):
        if not taking.heads.comma:
            hint = "--decimal comma where the gauge writes so, or decimal: comma under gauge_file: in "
            taking.wrong(row, typed, f"'{typed}' has a comma: a decimal comma?", f"{hint}shop.yaml")
            return ""
        text = text.replace(",", ".", 1)
    unit = row.get(taking.heads.head("unit"))
    if unit[:1].isdigit():
        taking.wrong(row, unit, f"'{unit}' is no unit", "a decimal comma between the two cells?")
        return ""
    if found := _NUMBER_AND_UNIT.fullmatch(text):
        number, own = found[1], found[2].strip() or unit
        text = number + ("" if _same(own, feature.unit) else own)
    try:
        cell(text, feature.unit or "mm")
    except Unreadable as problem:
        taking.wrong(row, typed, str(problem), problem.suggestion)
        return ""
    return text


def _same(unit: str, own: str | None) -> bool:
    try:
        return not unit or canonical(unit) == canonical(own or "mm")
    except ValueError:
        return False  # told as the reading that it makes


def _filled(name: str, feature: FeatureRecord, table: _Table) -> Filled:
    read = {position for position, _ in table.readings}
    positions = [position for position in feature.positions if position in read]
    heading = (name, feature.title, feature.unit, feature.state, positions, feature.columns)
    layout = TableLayout(*heading, next(iter(table.instruments), ""))
    return Filled(layout, {place: "/".join(repeats) for place, repeats in table.readings.items()})
