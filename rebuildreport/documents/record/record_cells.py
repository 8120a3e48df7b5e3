"""One sitting as columns and rows: readings of one kind in one cell, limit and guard once per column.

In: a sitting with its readings and values.  Out: heads and cells with every text finished, widths in parts of
the letters' size.  Judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment, Characteristic, Ends, Feature, Limits
from ...quantities import place_of
from ...trade.kinds import KINDS
from ..drawings.canvas import wide
from ..drawings.verdict_marks import NOT_JUDGED, Verdict, judged, overall, verdict
from ..press.language import say, show, spoken, told
from ..press.words import (
    SIGNS,
    System,
    beside,
    column_words,
    first_unit,
    interval,
    place,
    second_system,
    unit_text,
    value,
)
from .record_blocks import EXTREMES, Sitting

# advance widths of Source Serif 4 regular, in parts of the type size, read from the font file: a row of
# readings is one text, and stands under the names of its readings by these
FIGURE, BLANK = 0.529, 0.237
_ADVANCE = {
    ".": 0.302,
    ",": 0.302,
    " ": BLANK,
    "-": 0.32,
    "\u2013": 0.514,
    "?": 0.414,
    "*": 0.458,
    "/": 0.341,
}
GAP = 0.5  # at least, between two readings of one cell
AIR = 0.5  # between two columns
EMPTY = {"", "\u2013"}  # what a cell holds where nothing was read
SMALL = 0.92  # letters of limits, beside those of readings
Run = tuple[str, bool]  # text, and whether it is hidden: digits that keep the points in line


class Systems(Struct, frozen=True):
    """The system of units that a record is in, and those that stand second: at limits, and at values."""

    first: System
    limits: System | None = None
    values: System | None = None

    @classmethod
    def of(cls, job: Assessment) -> Systems:
        """As the shop asks for them."""
        return cls(job.system, second_system(job, "limit"), second_system(job, "value"))

    def limit(self, values: Iterable[Characteristic]) -> str:
        """The limit that decides at most of the places; a note names those that have another."""
        return next((finest_limit(judged, self.first) for judged in by_limit(values)), "")

    def second_limit(self, values: Iterable[Characteristic]) -> str:
        """The same in the other system; "" where the shop wants none, or the quantity has one unit."""
        other = self.limits
        if other is None:
            return ""
        c = next((alike[0] for alike in by_limit(values)), None)
        return beside(limit_text(c.limits, c.unit, other), c, self.first) if c else ""

    def guard(self, values: Iterable[Characteristic]) -> str:
        """The largest guard of a column, with two digits."""
        most = max((c for c in values if c.guard), key=lambda c: c.guard or 0.0, default=None)
        if most is None or most.guard is None:
            return ""
        return show(most.guard, most.unit, place_of(most.guard) + 1, self.first).text

    def printed(self, c: Characteristic) -> str:
        """A value as the record prints it; '>' is short for 'at least', '<' for 'at most'."""
        shown = value(c, self.first)
        if shown is None:
            return ""
        second = value(c, self.values) if self.values else None
        apart = beside(f" ({second.text})", c, self.first) if second else ""
        return f"{SIGNS[c.bound]}{shown.text}{apart}"


def by_limit(values: Iterable[Characteristic]) -> list[list[Characteristic]]:
    """Values that have a limit, those of one limit together, most of them first."""
    alike: dict[Ends, list[Characteristic]] = {}
    for c in values:
        if c.limits is not None and not c.limits.by_fit:
            alike.setdefault(c.limits.decides, []).append(c)
    return sorted(alike.values(), key=len, reverse=True)


def finest_limit(values: Sequence[Characteristic], system: System) -> str:
    """The one limit of some values, with as many digits as tell it from each of them."""
    places = max((shown.places for c in values if (shown := value(c, system))), default=0)
    return limit_text(values[0].limits, values[0].unit, system, places) if values else ""


class RecordHead(Struct, frozen=True):
    """What stands over the cells of a column, and below them."""

    names: tuple[tuple[str, ...], ...]  # of each reading in a cell, broken into lines
    limits: tuple[str, ...]  # one for all of them, or one each
    second: tuple[str, ...]  # the limits in the other system, where the shop asks for it
    guards: tuple[str, ...]
    each: float  # room of one reading; 0: a number that was worked out, or a verdict
    spacing: float  # what a blank between two readings is wider than it is
    room: float
    tells: tuple[str, ...] = ()  # names of the characteristics whose values stand here


class RecordCell(Struct, frozen=True):
    """Readings of one place, a number that was worked out of them, or the verdict."""

    runs: tuple[Run, ...] = ()
    verdict: Verdict | None = None

    @property
    def text(self) -> str:
        """What a person reads."""
        return "".join(text for text, hidden in self.runs if not hidden)


class Section(Struct, frozen=True):
    """One sitting, or half of one, with a row for each place."""

    title: str
    rounds: tuple[str, ...]  # names of those that it was read in
    heads: tuple[RecordHead, ...]
    rows: tuple[tuple[str, tuple[RecordCell, ...]], ...]  # place, and its cells
    agreed: Verdict | None  # of all rows, where no column says so

    @property
    def room(self) -> float:
        """Its width without the places."""
        return sum(head.room for head in self.heads)

    @property
    def guarded(self) -> bool:
        """Whether anything in it has a guard."""
        return any(guard for head in self.heads for guard in head.guards)

    @property
    def limited(self) -> bool:
        """Whether any of its columns has a limit."""
        return any(limit for head in self.heads for limit in head.limits)

    @property
    def doubled(self) -> bool:
        """Whether any of its limits stands in the other system, too."""
        return any(limit for head in self.heads for limit in head.second)


def limit_text(limits: Limits | None, unit: str, system: System, places: int = 0) -> str:
    """The limit that decides; the most allowed stands alone: '0.030', '0.050\u20130.110', 'min 48.0'."""
    return interval(
        limits, unit, system, bare=limits is not None and limits.decides[0] is None, places=places
    )


def titled(feature: Feature, name: str) -> str:
    """A characteristic as its feature calls it."""
    own = feature.characteristics.get(name)
    return told(own) if own is not None else place(name)


class Columns:
    """The columns of one sitting."""

    def __init__(self, feature: Feature, sitting: Sitting, systems: Systems) -> None:
        self.feature, self.sitting, self.systems = feature, sitting, systems
        here = set(sitting.places)
        self.values = [c for c in sitting.known if c.position in here]
        self.found = {(c.position, c.name): c for c in self.values}
        self.read = {name: self._column_of(name) for name in self._names() if self._is_read(name)}
        self.verdicts = verdicts(sitting)
        self._made: dict[tuple[str, ...], Section] = {}

    def section(self, places: Iterable[str], title: str) -> Section:
        """The columns for these places; one that was not read has empty cells."""
        spots = tuple(places)
        if spots not in self._made:  # asked for its room before it has a title
            self._made[spots] = self._section(spots)
        return replace(self._made[spots], title=title)

    def _section(self, places: Sequence[str]) -> Section:
        heads, columns = [], []
        if self.sitting.columns:
            head, cells = self._readings(places)
            heads.append(head)
            columns.append(cells)
        for name in self._names():
            if name not in self.read:
                head, cells = self._worked(name, places)
                heads.append(head)
                columns.append(cells)
        words = self.verdicts
        names = {one.name: one for one in words.values()}
        if len(names) > 1:
            heads.append(_verdict_head(names.values()))
            columns.append([RecordCell(verdict=words.get(spot)) for spot in places])
        rows = tuple((place(spot), tuple(column[i] for column in columns)) for i, spot in enumerate(places))
        agreed = next(iter(names.values())) if len(names) == 1 else None
        return Section("", self.sitting.rounds, tuple(heads), rows, agreed)

    @property
    def thin(self) -> bool:
        """Whether one number stands for each place."""
        worked = [name for name in self._names() if name not in self.read]
        return len(self.sitting.columns) + len(worked) == 1

    def _names(self) -> list[str]:
        """The characteristics that have values, those that the feature knows first."""
        here = self.sitting.columns  # what was read on another day stands in its column there
        there = {
            c.name for c in self.values if not here or c.name in here or c.name not in self.feature.columns
        }
        known = [name for name in self.feature.characteristics if name in there]
        return known + sorted(there - set(known))

    def _is_read(self, name: str) -> bool:
        """Whether a value is one of the readings at each place: printing it again adds nothing."""
        columns = self.sitting.columns
        if not columns or not (name in EXTREMES or len(columns) == 1 or self._column_of(name) is not None):
            return False
        at = self._column_of(name)
        for c in self.values:
            if c.name == name:
                texts = self.sitting.rows.get(c.position, ())
                texts = texts if at is None or len(columns) == 1 else texts[at : at + 1]
                if at is not None and not {*texts} - {"", "--"}:
                    continue  # it was not read here: what stands of it was read before, and stands there
                shown = value(c, self.systems.first)
                digits = [part.strip() for text in texts for part in spoken().figures(text).split("/")]
                if shown is None or c.bound != "equal" or shown.text not in digits:
                    return False
        return True

    def _column_of(self, name: str) -> int | None:
        """The column that a characteristic is the reading of."""
        columns = self.sitting.columns
        kind = KINDS.get(self.feature.kind)
        column = name if name in columns or kind is None else kind.trait(name).column
        return columns.index(column) if column in columns else None

    def _readings(self, places: Sequence[str]) -> tuple[RecordHead, list[RecordCell]]:
        columns = self.sitting.columns
        texts = [self._typed(spot) for spot in places]
        kept = self._kept(texts)
        pieces = [_in_line([row[i] for row in texts]) for i in kept]
        each = max((_width(runs) for column in pieces for runs in column), default=1.0)
        limits, second, guards = (
            tuple(under[i] for i in kept) if len(under) == len(columns) else under
            for under in self._under_readings()
        )
        room = (
            max(each, *(SMALL * wide(text, 1.0) for text in (*limits, *guards))) if len(limits) > 1 else each
        )
        kind = KINDS.get(self.feature.kind)
        names = [column_words(kind.column_title(columns[i]) if kind else columns[i]) for i in kept]
        pitch = max(room, *(wide(word, 1.0) for name in names for word in name.split()))
        pitch += GAP if len(names) > 1 else 0.0
        lines = _names_broken(names, pitch - GAP)
        whole = max(pitch * len(names), *(SMALL * wide(text, 1.0) for text in (limits[:1] or ("",))))
        tells = tuple(self.read)
        head = RecordHead(lines, limits, second, guards, pitch, pitch - each - BLANK, whole + AIR, tells)
        return head, [RecordCell(_joined([column[i] for column in pieces], each)) for i in range(len(texts))]

    def _kept(self, texts: Sequence[tuple[str, ...]]) -> list[int]:
        """The columns in which anything was read: one of nothing tells nothing."""
        every = range(len(self.sitting.columns))
        return [i for i in every if any(row[i] not in EMPTY for row in texts)] or [*every]

    def _typed(self, spot: str) -> tuple[str, ...]:
        """The readings of a place, with a mark behind each that is in no value."""
        columns = self.sitting.columns
        texts = [spoken().figures(text) for text in self.sitting.rows.get(spot, ())]
        texts += [""] * (len(columns) - len(texts))
        marked = [
            text + self.sitting.marks.get((spot, column), "")
            for text, column in zip(texts, columns, strict=False)
        ]
        said = {"--": "\u2013", "none": say("none")}
        return tuple(said.get(text, text) for text in marked)

    def _under_readings(self) -> tuple[tuple[str, ...], ...]:
        """Limits, once more in the other system, and guards of what is among the readings.

        One text for all columns, or one each.
        """
        by_column: dict[int | None, list[Characteristic]] = {}
        for name, column in self.read.items():
            by_column.setdefault(column, []).extend(c for c in self.values if c.name == name)
        under = (self.systems.limit, self.systems.second_limit, self.systems.guard)
        if None in by_column or len(self.sitting.columns) == 1:
            every = [c for some in by_column.values() for c in some]
            return tuple((text(every),) for text in under)
        found = [
            tuple(text(by_column.get(i, [])) for i in range(len(self.sitting.columns))) for text in under
        ]
        limits, second, guards = (texts if any(texts) else () for texts in found)
        return limits, second, guards[:1] if len(set(guards)) == 1 else guards

    def _worked(self, name: str, places: Sequence[str]) -> tuple[RecordHead, list[RecordCell]]:
        found = [self.found.get((spot, name)) for spot in places]
        cells = _in_line([self.systems.printed(c) if c is not None else "" for c in found])
        there = [c for c in self.values if c.name == name]
        limit, second, guard = (
            text(there) for text in (self.systems.limit, self.systems.second_limit, self.systems.guard)
        )
        below = (SMALL * wide(text, 1.0) for text in (limit, second, guard))
        room = max(*(_width(runs) for runs in cells), *below)
        title = self._head(name, there)
        lines = _broken(title, max(room, *(wide(word, 1.0) for word in title.split())))
        room = max(room, *(wide(line, 1.0) for line in lines))
        head = RecordHead((lines,), (limit,), (second,), (guard,), 0.0, 0.0, room + AIR, (name,))
        return head, [RecordCell(runs) for runs in cells]

    def _head(self, name: str, there: list[Characteristic]) -> str:
        """A characteristic with its unit where that is another than that of the readings."""
        title, tables = titled(self.feature, name), self.sitting.tables
        unit = first_unit(there[0].unit, self.systems.first)
        usual = tables[0].unit if tables else first_unit(self.feature.unit, self.systems.first)
        return title if unit == usual or not unit else f"{title} {unit_text(unit)}"


def verdicts(sitting: Sitting) -> dict[str, Verdict]:
    """The verdict of each place: the worst of what is worked out there."""
    by_place: dict[str, list[str]] = {}
    for c in sitting.known:
        if c.position in sitting.places:
            by_place.setdefault(c.position, []).append(judged(c))
    # where limits stand at the head of a column nothing says that there are none
    limited = {c.position for c in sitting.known if c.limits is not None and c.limits.edges}
    found = {spot: _judged_by(words) for spot, words in by_place.items()}
    for spot in limited & {spot for spot, name in found.items() if name == "no limit on file"}:
        found[spot] = NOT_JUDGED
    return {spot: verdict(name) for spot, name in found.items()}


def _judged_by(words: list[str]) -> str:
    """The worst verdict of a place: a size that its clearance judges takes none away from its form."""
    return overall([word for word in words if word != NOT_JUDGED] or words)


def _verdict_head(words: Iterable[Verdict]) -> RecordHead:
    room = 1.2 + max(wide(word.name, 1.0) for word in words)
    return RecordHead(((say("verdict"),),), ("",), (), ("",), 0.0, 0.0, room + AIR)


def _in_line(texts: Sequence[str]) -> list[tuple[Run, ...]]:
    """Numbers of one column with hidden digits before and behind, so that their points stand in line."""
    point = spoken().point
    heads = [text.partition(point)[0] for text in texts]
    tails = [text[len(head) :] for text, head in zip(texts, heads, strict=True)]
    if any("/" in text for text in texts):
        return [((text, False),) if text else () for text in texts]
    before, behind = max(map(len, heads), default=0), max(tails, key=len, default="")
    out: list[tuple[Run, ...]] = []
    for text, head, tail in zip(texts, heads, tails, strict=True):
        runs = [("0" * (before - len(head)), True), (text, False), (behind[len(tail) :], True)]
        out.append(tuple(run for run in runs if run[0]))
    return out


def _joined(pieces: Sequence[tuple[Run, ...]], each: float) -> tuple[Run, ...]:
    """The readings of one place one after the other, each as wide as the widest."""
    runs: list[Run] = []
    for i, piece in enumerate(pieces):
        zeros = round((each - _width(piece)) / FIGURE)
        for text, hidden in ((" " if i else "", False), ("0" * zeros, True), *piece):
            if text and runs and runs[-1][1] == hidden:
                runs[-1] = (runs[-1][0] + text, hidden)
            elif text:
                runs.append((text, hidden))
    return tuple(runs)


@lru_cache(maxsize=4096)  # asked for the widest of a column, and again for what each lacks to it
def _width(runs: tuple[Run, ...]) -> float:
    return sum(_ADVANCE.get(letter, FIGURE) for text, _ in runs for letter in text)


def _names_broken(names: Sequence[str], room: float) -> tuple[tuple[str, ...], ...]:
    """Heads of columns in lines; those of two words all break, or none does."""
    lines = [_broken(name, room) for name in names]
    breaks = any(len(broken) > 1 for broken in lines)
    words = [tuple(name.split()) for name in names]
    return tuple(own if breaks and len(own) == 2 else line for own, line in zip(words, lines, strict=True))


def _broken(name: str, room: float) -> tuple[str, ...]:
    """A name in lines that are no wider than the room where its words allow it."""
    lines: list[str] = []
    for word in name.split():
        if lines and wide(f"{lines[-1]} {word}", 1.0) <= room + 0.01:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return tuple(lines)
