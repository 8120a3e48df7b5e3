"""How a doubt is put down: for whoever typed it at its line, and for whoever reads the number in a report."""

from __future__ import annotations

from ...quantities import Text
from ..files.doubt import Doubt
from ..files.measured import MeasuredTable
from ..files.rounds import Cell, Spot
from ..text.reader import Where

AGAIN = "measure again"
CONFIRM = f"{AGAIN}, or write a ! behind each reading that is right"
LEFT_OUT = "left out until confirmed"
JUDGED = "judged as it was read"


def doubted(
    table: MeasuredTable,
    at: Cell | Where,
    message: str,
    hint: str,
    what: Text,
    spots: tuple[Spot, ...] = (),
    *,
    kept: tuple[Spot, ...] = (),
    asks: bool = True,
    key: bool = False,
) -> Doubt:
    """A doubt about a table with its warning, at a cell or at a place of the file."""
    if isinstance(at, Cell):
        problem = table.source.problem_at(at.line, at.column, message, hint, "warning")
    else:
        problem = table.source.problem(at, message, hint, "warning", "key" if key else "value")
    return Doubt(table.round, table.name, what, problem, spots, asks, kept)
