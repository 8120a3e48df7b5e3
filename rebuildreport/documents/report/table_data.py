"""Tables as data: readings and what was worked out of them, with the widths and groups they are set in."""

from __future__ import annotations

from dataclasses import dataclass

from ..drawings.canvas import Drawing
from .answers import Verdict

SLIM, LONG = 3, 15  # columns that leave room for the other half beside, and rows that are worth it


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
        return self.verdict is not None and len(self.note) <= 28


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
    def widths(self) -> tuple[str, ...]:
        """Widths of the columns of a half [per cent], by the longest text in each.

        Given widths spare the renderer the search for them, which takes longer than all else in a table.
        """
        heads = ["", *self.typed, *self.worked]
        cells = [[row.position, *row.typed, *(cell.text for cell in row.worked)] for row in self.rows]
        parts = [
            max(max(map(len, head.split()), default=0) * 0.9, *(len(row[k]) for row in cells)) + 2.0
            for k, head in enumerate(heads)
        ]
        if self.judged:
            parts.append(20.0)
        whole = sum(parts)
        if self.judged and whole < 70 and not self.slim:
            # narrow columns do not spread over the whole width: the first one takes what is left
            parts[0] += 70 - whole
            whole = 70.0
        halves = len(self.lines[0]) if self.lines else 1
        return tuple(f"{100 * part / whole / halves:.2f}" for part in parts) * halves

    @property
    def keep(self) -> bool:
        """Short enough to stay on one page."""
        return len(self.rows) <= 14

    @property
    def slim(self) -> bool:
        """Narrow and short enough to stand beside another one."""
        return self.across > 1

    @property
    def across(self) -> int:
        """How many tables as narrow and short as this one stand in a line: 1 to 3."""
        if not self.rows or not self.keep or self.wide:
            return 1
        columns = zip(*((*row.typed, *(cell.text for cell in row.worked)) for row in self.rows), strict=True)
        wide = 3 * self.judged
        for head, column in zip((*self.typed, *self.worked), columns, strict=True):
            # repeats of one place stand in its cell one after the other
            wide += max(3 if len(head) > 9 else 2, -(-max(map(len, column)) * 2 // 9))
        place = max(len(row.position) for row in self.rows)
        if wide <= 7 and place < 9:
            return 3
        return 2 if wide <= 9 and place < 16 else 1


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
