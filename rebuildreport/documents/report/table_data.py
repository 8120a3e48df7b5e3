"""Tables as data: readings and what was worked out of them, and the groups that they are set in."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ..drawings.canvas import Drawing
from ..drawings.verdict_marks import Verdict

SLIM, LONG = 3, 15  # columns that leave room for the other half beside, and rows that are worth it
TOGETHER = 14  # rows that stay on one page
SHORT = 28  # letters of a note that stands below its verdict instead of in a row of its own
SEVERAL = re.compile(r"[ /\u2013]")  # in a cell: repeats of one place, or a range
# room of a column beside others, in numbers, and what a line holds where two or three tables share it
ROOM = {"place": 1, "one": 1, "several": 2, "ver": 2}
HALF, THIRD = 6, 4


@dataclass(frozen=True, slots=True)
class Worked:
    """A number that was worked out: its bound, hidden zeros behind, the other system below."""

    text: str
    bound: bool = False
    pad: str = ""
    second: str = ""


@dataclass(frozen=True, slots=True)
class TableRow:
    position: str
    typed: tuple[str, ...]
    worked: tuple[Worked, ...]
    verdict: Verdict | None
    note: str

    @property
    def short(self) -> bool:
        """The note is so short that it stands below the verdict instead of in a row of its own."""
        return self.verdict is not None and len(self.note) <= SHORT


@dataclass(frozen=True, slots=True)
class PrintedTable:
    """Readings of one feature in one round, or values worked out of several features."""

    anchor: str
    title: str
    under: str
    typed: tuple[str, ...]
    worked: tuple[str, ...]
    rows: tuple[TableRow, ...]
    notes: tuple[str, ...]
    dense: bool
    judged: bool
    wide: tuple[Drawing, ...] = ()  # a drawing of its readings, for print ...
    narrow: tuple[Drawing, ...] = ()  # ... and for phones

    @property
    def lines(self) -> tuple[tuple[TableRow | None, ...], ...]:
        """Rows as they are printed: a slim and long table in two halves side by side."""
        slim = len(self.typed) + len(self.worked) <= SLIM and len(self.rows) >= LONG
        if not slim or any(row.note for row in self.rows):
            return tuple((row,) for row in self.rows)
        half = (len(self.rows) + 1) // 2
        right: list[TableRow | None] = [*self.rows[half:], None]
        return tuple(zip(self.rows[:half], right, strict=False))

    @property
    def columns(self) -> tuple[str, ...]:
        """What each column of a half is, by its class in the stylesheet, which gives its width.

        Given widths spare the renderer the search for them, which takes longer than all else in a table.
        """
        numbers = zip(*((*row.typed, *(cell.text for cell in row.worked)) for row in self.rows), strict=True)
        kinds = ["several" if any(map(SEVERAL.search, column)) else "one" for column in numbers]
        return ("place", *kinds, *(["ver"] if self.judged else []))

    @property
    def keep(self) -> bool:
        """Short enough to stay on one page."""
        return len(self.rows) <= TOGETHER

    @property
    def across(self) -> int:
        """How many tables as narrow and short as this one stand in a line: 1 to 3."""
        if not self.rows or not self.keep or self.wide:
            return 1
        room = sum(ROOM[kind] for kind in self.columns)
        return 3 if room <= THIRD else 2 if room <= HALF else 1


@dataclass(frozen=True, slots=True)
class TableGroup:
    """Tables of one line: ``across`` says how many would find room in it."""

    across: int
    tables: tuple[PrintedTable, ...]


def grouped(found: list[PrintedTable]) -> tuple[TableGroup, ...]:
    """Narrow tables that follow one another stand side by side, the others alone, all in their order."""
    out: list[TableGroup] = []
    rest = list(found)
    while rest:
        taken = next(n for n in (3, 2, 1) if len(rest) >= n and all(table.across >= n for table in rest[:n]))
        # one alone keeps to half a line: spread over the whole, its numbers would stand far apart
        out.append(TableGroup(taken if taken > 1 else min(rest[0].across, 2), tuple(rest[:taken])))
        del rest[:taken]
    return tuple(out)
