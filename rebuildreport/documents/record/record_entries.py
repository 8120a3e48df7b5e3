"""Blocks as tables and strips: what stands beside what, with the verdict that all places share.

In: blocks.  Out: entries of the record with every text finished.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

from msgspec import Struct

from ...assess.model.assessment import Assessment, Characteristic
from ...assess.model.keys import ValueKey
from ..drawings.canvas import wide
from ..drawings.verdict_marks import Verdict, judged, verdict
from ..press.language import say, told
from ..press.templating import anchor
from ..press.words import NBSP, capital, column_words, first_unit, place, places, unit_text
from .record_blocks import RecordBlock, Sitting
from .record_cells import (
    AIR,
    Columns,
    Section,
    Systems,
    titled,
)
from .record_notes import notes

WHOLE = 63.0  # the width of a page, in parts of the letters' size
GUTTER = 1.8  # between two entries
STRIP, SHORT_STRIP = 29.8, 19.7  # of half a page, of a third
SHORT = 3  # places that a strip of a third has room for
NOTE, MOST_LINES = 24.0, 3  # the width of a note that has more lines below a narrow table
SEPARATED = 1.0  # a rule between sections, and the air beside it
TITLE = 1.05  # letters of a title
LONG = 8  # rows beyond which a narrow table stands in two halves
WHOLE_PAGE, HEAD = (
    50,
    6,
)  # rows that surely have room on a page, and what heads and notes of a table take of them
ALIKE = 3  # places with one number that are told together
Judged = tuple[tuple[str, str, Verdict], ...]  # what is judged, at which places, and its verdict


class SideBySide(Struct, frozen=True):
    """Sections of one table: sittings that share their places, or two halves with places of their own."""

    sections: tuple[Section, ...]
    halves: bool = False

    @property
    def room(self) -> float:
        """Its width, less that of its places."""
        return sum(one.room for one in self.sections)

    @property
    def rows(self) -> int:
        """How many rows it has."""
        return max(len(one.rows) for one in self.sections)

    @property
    def headed(self) -> bool:
        """Whether its sections have names."""
        return any(one.title for one in self.sections)

    @property
    def limited(self) -> bool:
        """Whether a row of limits stands below the names."""
        return any(one.limited for one in self.sections)

    @property
    def doubled(self) -> bool:
        """Whether the limits stand there once more, in the other system of units."""
        return any(one.doubled for one in self.sections)

    @property
    def guarded(self) -> bool:
        """Whether a row of guards stands below the numbers."""
        return any(one.guarded for one in self.sections)


class RecordStrip(Struct, frozen=True):
    """One reading a place, in a line instead of a table."""

    when: str
    rounds: tuple[str, ...]
    tells: tuple[str, ...]  # names of the characteristics whose values stand here
    what: str  # its limit and guard
    items: tuple[tuple[str, str], ...]  # places, and what was read there
    places: tuple[str, ...]  # all of them
    read: bool  # no: it was worked out
    verdicts: Judged


class RecordEntry(Struct, frozen=True):
    """One number of the record."""

    feature: str
    anchor: str  # "" where another entry of its feature has it
    number: int
    title: str
    about: str  # unit, instruments and round, where they hold for all of it
    tables: tuple[SideBySide, ...]
    strips: tuple[RecordStrip, ...]
    agreed: Judged  # when, and the verdict of every place
    of_all: Judged  # values of all places together
    notes: tuple[str, ...]
    names: float  # room of the names of places
    keys: frozenset[ValueKey]  # of the values that stand here

    @property
    def in_line(self) -> bool:
        """Whether what is told about it has room behind its title."""
        room = self._table_room if self.tables else self.room
        return wide(f"{self.number}  {self.title} {self.about}", TITLE) <= room

    @property
    def room(self) -> float:
        """Its width, in parts of the letters' size."""
        if not self.tables:
            return SHORT_STRIP if self.brief else STRIP
        about = 0.0 if self.in_line else wide(self.about, 1.0)
        return max(self._table_room, about, NOTE if self.noted else 0.0)

    @property
    def brief(self) -> bool:
        """Whether a strip needs a third of the width."""
        return max(len(strip.items) for strip in self.strips) <= SHORT and not self.notes

    @property
    def noted(self) -> bool:
        """Whether what is said below it needs more width than its table."""
        said = [f"{text} {spots} {one.text}" for text, spots, one in (*self.of_all, *self.agreed)]
        lines = wide("; ".join((*said, *self.notes)), 1.0) / self._table_room
        return bool(self.notes) and self._table_room < NOTE and lines > MOST_LINES

    @property
    def _table_room(self) -> float:
        return max(
            table.room + self.names * (1 + table.halves) + SEPARATED * (len(table.sections) - 1)
            for table in self.tables
        )

    @property
    def torn(self) -> bool:
        """Whether its tables may stand on two pages: then nothing has room beside them."""
        return self.tall + HEAD * len(self.tables) > WHOLE_PAGE

    @property
    def tall(self) -> int:
        """Rows of all its tables, by which the entries of a part are put in order."""
        return sum(table.rows for table in self.tables)


class Printer(Struct, frozen=True, dict=True):
    """What every entry is told with."""

    job: Assessment
    instruments: dict[str, str]  # their names in the files, and in the record

    @cached_property
    def systems(self) -> Systems:
        """The systems of units that it is told in."""
        return Systems.of(self.job)

    def entry(self, block: RecordBlock, number: int) -> RecordEntry:
        """One block as it is printed."""
        abouts = [self._about(block, sitting) for sitting in block.sittings]
        shared = [words for words in abouts[0] if all(words in about for about in abouts)]
        whens = [" · ".join(words for words in about if words not in shared) for about in abouts]
        strips: tuple[RecordStrip, ...] = ()
        tables: tuple[SideBySide, ...] = ()
        agreed: Judged = ()
        made = [Columns(block.feature, sitting, self.systems) for sitting in block.sittings]
        if all(columns.thin for columns in made):
            strips = tuple(_strip(block, columns, when) for columns, when in zip(made, whens, strict=True))
        else:
            tables, agreed = _tables(block, list(zip(made, whens, strict=True)))
        return RecordEntry(
            feature=block.feature.name,
            anchor=anchor(block.feature.name) if block.first else "",
            number=number,
            title=_title(block),
            about=" · ".join(shared),
            tables=tables,
            strips=strips,
            agreed=agreed,
            of_all=tuple(self._of_all(block, whens)),
            notes=tuple(notes(self.job, block, whens)),
            names=_names(block),
            keys=frozenset(c.key for sitting in block.sittings for c in sitting.values),
        )

    def _about(self, block: RecordBlock, sitting: Sitting) -> list[str]:
        """Unit, instruments and round of one sitting."""
        said = [_unit(block, sitting, self.job.system)]
        if sitting.tables and sitting.tables[0].instrument:
            first = sitting.tables[0]
            name = self.instruments.get(first.instrument, place(first.instrument))
            if first.set_from:
                by = self.instruments.get(first.set_from, place(first.set_from))
                name = say("{gauge} set by {master}", gauge=name, master=by)
            said.append(name)
        said.append(
            say("Tried on paper: {what}", what=block.on_paper) if block.on_paper else self._when(sitting)
        )
        return [words for words in said if words]

    def _when(self, sitting: Sitting) -> str:
        title = next((told(one.title) for one in self.job.rounds if one.name == sitting.round), "")
        return title or capital(say(place(sitting.round).replace("-", " ")))

    def _of_all(self, block: RecordBlock, whens: Sequence[str]) -> Iterator[tuple[str, str, Verdict]]:
        """Values of all places together: 'spread 10.3 bar (limit 3.0, guard 0.52)'."""
        for sitting, when in zip(block.sittings, whens, strict=True):
            for name in dict.fromkeys(c.name for c in sitting.of_all):
                values = [c for c in sitting.of_all if c.name == name]
                said = self._together(titled(block.feature, name), values)
                said = f"{when}: {said}" if when else said
                apart = _by_verdict({c.position: verdict(judged(c)) for c in values})
                for i, (_, which, one) in enumerate(apart):
                    yield said if i == 0 else "", which, one

    def _together(self, title: str, values: Sequence[Characteristic]) -> str:
        """One value, or that of each pair of places, with the limit and the guard that they share."""
        systems, first = self.systems, values[0]
        texts = [systems.printed(c) for c in values]
        if len(values) > 1:
            texts = [f"{place(c.position)} {text}" for c, text in zip(values, texts, strict=True)]
        said = [title, ", ".join(texts), unit_text(first_unit(first.unit, systems.first))]
        under = _limit_and_guard(systems.limit(values), systems.second_limit(values), systems.guard(values))
        if under:
            said.append(f"({', '.join(under)})")
        return " ".join(filter(None, said))


Line = Sequence[tuple[Columns, str]]  # of some sittings, with their titles


def _tables(block: RecordBlock, made: Line) -> tuple[tuple[SideBySide, ...], Judged]:
    """As many sittings beside each other as the page has room for, and what their places agree in."""
    tables = tuple(_beside(block, line) for line in _lines(block, made))
    agreed: list[tuple[str, str, Verdict]] = []
    for table in tables:
        for one in table.sections[:1] if table.halves else table.sections:
            if one.agreed is not None:
                # beside what all places agree in, the one place is named
                alone = one.rows[0][0] if any(sitting.of_all for sitting in block.sittings) else ""
                spots = say("all") if len(one.rows) > 1 else alone
                agreed.append((f"{one.title}:" if one.title else "", spots, one.agreed))
    if len({one.name for _, _, one in agreed}) == 1 and len(agreed) == len(block.sittings):
        agreed = [("", *agreed[0][1:])]
    return tables, tuple(agreed)


def _lines(block: RecordBlock, made: Line) -> list[Line]:
    """The sittings in lines."""
    if len(made) == 1:
        return [made]
    lines: list[list[tuple[Columns, str]]] = []
    left = 0.0
    for columns, when in made:
        room = columns.section(_rows(block, columns), "").room
        if lines and room + 2 * AIR <= left:
            lines[-1].append((columns, when))
            left -= room
        else:
            lines.append([(columns, when)])
            left = WHOLE - _names(block) - room
    return [*lines]


def _beside(block: RecordBlock, line: Line) -> SideBySide:
    """One line as a table; a long and narrow one alone in two halves."""
    spots = [spot for spot in block.places if any(spot in columns.sitting.places for columns, _ in line)]
    whole = tuple(columns.section(spots, when) for columns, when in line)
    if len(line) > 1 or len(spots) <= LONG or 2 * (_names(block) + whole[0].room + AIR) > WHOLE:
        return SideBySide(whole)
    columns, when = line[0]
    return SideBySide(tuple(columns.section(half, when) for half in _halves(spots)), halves=True)


def _strip(block: RecordBlock, columns: Columns, when: str) -> RecordStrip:
    """Places with what was read there; what all share is told once."""
    sitting = columns.sitting
    made = columns.section(_rows(block, columns), "")
    head = made.heads[0]
    said = [] if sitting.columns else [" ".join(head.names[0])]
    said += _limit_and_guard("".join(head.limits), "".join(head.second), "".join(head.guards))
    items = [(spot, cells[0].text) for spot, cells in made.rows]
    if len(items) >= ALIKE and len({text for _, text in items}) == 1:
        items = [(places([spot for spot, _ in items]), say("each {reading}", reading=items[0][1]))]
    return RecordStrip(
        when=when,
        rounds=sitting.rounds,
        tells=head.tells,
        what=" · ".join(said),
        items=tuple(items),
        places=tuple(spot for spot, _ in made.rows),
        read=bool(sitting.columns),
        verdicts=_by_verdict(columns.verdicts),
    )


def _rows(block: RecordBlock, columns: Columns) -> list[str]:
    """The places of one sitting, in the order of the sheet."""
    return [spot for spot in block.places if spot in columns.sitting.places]


def _names(block: RecordBlock) -> float:
    """Room of the names of places."""
    return AIR + max(wide(place(spot), 1.0) for spot in block.places)


def _limit_and_guard(limit: str, second: str, guard: str) -> list[str]:
    limit = f"{limit} ({second})" if second else limit
    said = [say("limit {limit}", limit=limit)] if limit else []
    return [*said, say("guard {guard}", guard=guard).replace(" ", NBSP)] if guard else said


def _title(block: RecordBlock) -> str:
    """The feature's title, and what a further table of it holds; with the columns of another, its name."""
    title = told(block.feature.title)
    if block.called.startswith(block.feature.name):
        return capital(place(block.called))
    further = [place(block.called)] if block.called else map(column_words, block.columns)
    return ", ".join([title, *further])


def _unit(block: RecordBlock, sitting: Sitting, system: str) -> str:
    """The unit of the readings, or of what was worked out where there are none."""
    if sitting.tables:
        return unit_text(sitting.tables[0].unit)
    return unit_text(first_unit(sitting.known[0].unit if sitting.known else block.feature.unit, system))


def _halves(spots: list[str]) -> tuple[list[str], list[str]]:
    """Places in two halves: intake and exhaust where both are as many, else one half after the other."""
    letters = [spot.rstrip("0123456789") for spot in spots]
    turn = letters.count(letters[0])
    middle = turn if 2 * turn == len(spots) else (len(spots) + 1) // 2
    return spots[:middle], spots[middle:]


def _by_verdict(found: dict[str, Verdict]) -> Judged:
    """Places by their verdict, the most of them last and not named where they are several."""
    by_name: dict[str, list[str]] = {}
    words = {one.name: one for one in found.values()}
    for spot, one in found.items():
        by_name.setdefault(one.name, []).append(spot)
    if not by_name:
        return ()
    ordered = sorted(by_name.items(), key=lambda pair: len(pair[1]))
    apart = [("", places(list(map(place, spots))), words[name]) for name, spots in ordered[:-1]]
    name, most = ordered[-1]
    rest = say("the others") if apart else say("all") if len(found) > 1 else ""
    return (*apart, ("", place(most[0]) if apart and len(most) == 1 else rest, words[name]))
