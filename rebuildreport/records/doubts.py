"""What a person has to look at again: a reading, a row or a whole table, and what it may have been."""

from __future__ import annotations

from ..quantities.dataclass import dataclass
from .problems import Problem

Spot = tuple[str, str, str, str]  # round, table, position, column


@dataclass(frozen=True, slots=True)
class Doubt:
    """One doubt: the warning for whoever types, and ``says`` for whoever reads the number in a report.

    ``spots`` are the readings that stay out of everything worked out until a
    person has measured again, corrected the file, or confirmed them with a
    ``!``; none where the doubt only has to be told.  ``asks``: somebody has to
    decide or measure something.
    """

    round: str
    table: str
    says: str
    problem: Problem
    spots: tuple[Spot, ...] = ()
    asks: bool = True
