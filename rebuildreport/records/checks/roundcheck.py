"""Rounds beside each other: days, what is no part of the engine, and one spot read in two tables of one day.

What stands is the newest reading, and its day says which that is.  Where the day does not, a person has to
say it: neither the name of a file nor the place of a table in it does.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from msgspec.structs import replace

from ...quantities import Quantity, dimension
from ..files.folder import JobFolder, RoundFile
from ..files.measured import MeasuredTable, tables
from ..files.rounds import FIRST_START, Cell
from ..text.notes import Notes
from ..text.problems import Problem
from ..text.reader import Where
from .datecheck import LONGEST

# Of a workshop in which somebody measures [°C]: outside the first it is asked about, outside the second it
# was not that (common practice).
USUAL, POSSIBLE = (8, 32), (-10, 50)
PART = (-30, 120)  # of a part that a hand or a hook puts down to be measured [°C]
# what programs and people add to the name of a copy, in the languages of the documents
_COPY = re.compile(
    r"(?:copy of |kopie von )?(?P<of>.+?)"
    r"(?: ?\(\d+\)|[ _-]+(?:copy|kopie|old|alt|backup|bak)(?: ?\(\d+\))?)?",
    re.IGNORECASE,
)


def check_rounds(job: JobFolder) -> list[Problem]:
    """Each round by itself, then what was read twice, then names that look like those of copies."""
    problems: list[Problem] = []
    for file in job.rounds.values():
        notes = Notes(file.source)
        if file.model.of and not job.unread("work"):
            notes.known(("of",), file.model.of, job.candidates, "no candidate of work.yaml")
        _day_and_temperature(notes, file, job)
        problems += notes.found
    twice = list(_twice(job))
    told = {problem.file for problem in twice}
    return [*problems, *twice, *(copy for copy in _copies(job) if copy.file not in told)]


def _day_and_temperature(notes: Notes, file: RoundFile, job: JobFolder) -> None:
    day, temperature = file.model.date, file.model.temperature
    if job.job and day < job.job.opened:
        notes.warn(("date",), f"measured on {day}, before the job was opened ({job.job.opened})")
    elif job.job and day.year - job.job.opened.year > LONGEST:
        notes.warn(("date",), f"measured on {day}, years after the job was opened ({job.job.opened})")
    _warmth(notes, ("temperature",), temperature, "in the workshop", POSSIBLE, USUAL)
    for name, table in file.model.tables.items():
        for key in ("temperature", "instrument_temperature"):
            where = ("tables", name, key)
            _warmth(notes, where, getattr(table, key), "while it was measured", PART, PART)


Span = tuple[int, int]


def _warmth(
    notes: Notes, where: Where, read: Quantity | None, when: str, possible: Span, usual: Span
) -> None:
    if read is None or dimension(read.unit) != "temperature":
        return
    celsius = read.to("°C")
    if not possible[0] <= celsius <= possible[1]:
        # the same number in the other scale, where that is a usual warmth
        other = replace(read, unit="°F" if read.unit == "°C" else "°C")
        meant = f"{other}" if USUAL[0] <= other.to("°C") <= USUAL[1] else "as in 20 °C, or 68 °F"
        notes.error(where, f"{read} {when} cannot be", meant)
    elif not usual[0] <= celsius <= usual[1]:
        hint = "every length is corrected by it to 20 °C: typed right?"
        notes.warn(where, f"{read} {when}", hint)


def _twice(job: JobFolder) -> Iterator[Problem]:
    """Two tables of one day that read the same spot of the same part."""
    read: dict[tuple[object, ...], tuple[MeasuredTable, Cell]] = {}
    pairs: dict[tuple[int, int], list[_Twice]] = defaultdict(list)
    measured = [table for table in tables(job) if table.round != FIRST_START]  # that one is always the last
    for number, table in enumerate(measured):
        part = job.rounds[table.round].model.of
        for position, column, cell in table.taken():
            before, known = read.setdefault((part, table.feature, table.day, position, column), (table, cell))
            if before is not table:
                pairs[measured.index(before), number].append(_Twice(position, column, known, cell))
    copied: dict[tuple[str, str], list[tuple[MeasuredTable, MeasuredTable, list[_Twice]]]] = defaultdict(list)
    for (first, second), spots in pairs.items():
        rounds = measured[first].round, measured[second].round
        if rounds[0] != rounds[1]:
            copied[rounds].append((measured[first], measured[second], spots))
        elif _all_again(measured[first], measured[second], spots):
            yield _in_two_tables(measured[second], spots)
    for found in copied.values():
        # a copy is one thing to say, however many tables it has
        alike = all(spot.first.text == spot.again.text for *_, spots in found for spot in spots)
        merged = [spot for *_, spots in found for spot in spots]
        among = ", ".join(dict.fromkeys(table.feature for _, table, _ in found))
        if alike:
            yield _in_two_rounds(*found[0][:2], merged, among)
        else:
            yield from (_in_two_rounds(*one, one[1].feature) for one in found)


class _Twice(NamedTuple):
    position: str
    column: str
    first: Cell
    again: Cell


def _all_again(first: MeasuredTable, second: MeasuredTable, spots: list[_Twice]) -> bool:
    """Whether one table reads all of another again in the same state.

    A second table of some positions, or in another state (shimmed, caps torqued), is a trial of the same day:
    its place in the file, behind the first, is the order of the work.
    """
    everything = {(position, column) for position, column, _ in first.taken()}
    again = {(spot.position, spot.column) for spot in spots}
    return again == everything and first.table.state == second.table.state


def _in_two_tables(table: MeasuredTable, spots: list[_Twice]) -> Problem:
    cell, line = spots[0].again, spots[0].first.line
    message = f"all of {table.feature} was read in the table on line {line}, too: which stands?"
    hint = "the later one counts. Take one away, or say by 'state:' or 'date:' what is different about it"
    return table.source.problem_at(cell.line, cell.column, message, hint, "warning")


def _in_two_rounds(first: MeasuredTable, second: MeasuredTable, spots: list[_Twice], among: str) -> Problem:
    position, column, known, cell = spots[0]
    more = f" (and {len(spots) - 1} more)" if len(spots) > 1 else ""
    message = f"{position} {column}{more} of {among} was read on {second.day} in "
    message += f"{first.source.file} (line {known.line}), too"
    if all(spot.first.text == spot.again.text for spot in spots):
        hint = "a copy? Take one of the two files away"
        return second.source.problem_at(cell.line, cell.column, message, hint, "warning")
    hint = "a copy? Take one away. Measured again? Give the later one its own 'date:', or write both tables "
    hint += "into one file, the later below"
    return second.source.problem_at(cell.line, cell.column, f"{message}: which one stands?", hint)


def _copies(job: JobFolder) -> Iterator[Problem]:
    """Rounds whose name is that of another with what is added to a copy's."""
    names = {name.lower(): name for name in job.rounds}
    for name, file in job.rounds.items():
        match = _COPY.fullmatch(name)
        original = names.get(match["of"].strip().lower(), name) if match else name
        if original != name:
            message = f"its name is that of a copy of '{original}', and both are read"
            hint = "take one away, or give it a name of its own"
            yield file.source.problem_at(1, 1, message, hint, "warning")
