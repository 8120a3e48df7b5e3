"""Readings in doubt, marked in their table, and what is doubtful about them below it."""

from __future__ import annotations

from ...assess.model.assessment import ReadingTable
from ..press.language import say, spoken, told
from ..press.words import NBSP

MARK = "?"


def marked(table: ReadingTable) -> dict[str, tuple[str, ...]]:
    """The rows of a table as typed, with a mark behind each reading that is in no value."""
    return {
        spot: tuple(
            f"{text}{NBSP}{MARK}" if (spot, *table.columns[i : i + 1]) in table.left_out else text
            for i, text in enumerate(spoken().figures(typed) for typed in texts)
        )
        for spot, texts in table.rows.items()
    }


def notes(table: ReadingTable) -> tuple[str, ...]:
    """What the mark means, then every doubt in its own sentence."""
    meaning = say("{mark} marks readings that are in no value: they are in doubt.", mark=MARK)
    return ((meaning,) if table.left_out else ()) + tuple(told(doubt) for doubt in table.doubts)
