"""How a doubt is put down: for whoever typed it at its line, and for whoever reads the number in a report."""

from __future__ import annotations

from ...quantities import Figure, Sentence, Text, as_typed, english
from ..files.doubt import Doubt
from ..files.measured import MeasuredTable
from ..files.rounds import Cell, Spot
from ..text.reader import Where

AGAIN = "measure again"
CONFIRM = f"{AGAIN}, or write a ! behind each reading that is right"


def doubted(
    table: MeasuredTable,
    at: Cell | Where,
    what: Text,
    hint: str,
    spots: tuple[Spot, ...] = (),
    *,
    message: str = "",
    kept: tuple[Spot, ...] = (),
    asks: bool = True,
    key: bool = False,
) -> Doubt:
    """A doubt about a table with its warning, at a cell or at a place of the file.

    ``message`` where whoever typed it is told otherwise than the report says it.
    """
    message = message or english(what)
    if isinstance(at, Cell):
        problem = table.source.problem_at(at.line, at.column, message, hint, "warning")
    else:
        problem = table.source.problem(at, message, hint, "warning", "key" if key else "value")
    return Doubt(table.round, table.name, what, problem, spots, asks, kept)


def of_readings(
    table: MeasuredTable,
    at: Cell,
    what: Text,
    hint: str,
    spots: tuple[Spot, ...],
    *,
    out: bool,
    message: str = "",
    asks: bool = True,
) -> Doubt:
    """A doubt and what becomes of its readings until it is answered: in no value, or judged as read."""
    message = message or english(what)
    if out:
        words = Sentence("{what}; left out until somebody has measured again", what=what)
        message = f"{message}; left out until confirmed"
        return doubted(table, at, words, hint, spots, message=message, asks=asks)
    words = Sentence("{what}; judged as it was read, and to be measured again", what=what)
    message = f"{message}; judged as it was read"
    return doubted(table, at, words, hint, message=message, kept=spots, asks=asks)


def named(position: str, column: str, reading: str) -> dict[str, Text]:
    """A reading and its place, as the words of a doubt begin: ``{position} {column}: {reading}``."""
    return {"position": as_typed(position), "column": as_typed(column), "reading": Figure(reading)}


def spanned(low: str, high: str) -> Text:
    """Readings from the lowest to the highest, as they were typed."""
    if low == high:
        return Figure(low)
    return Sentence("{first} to {last}", first=Figure(low), last=Figure(high))
