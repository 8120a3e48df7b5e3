"""What a person has to look at again: a reading, a row or a whole table, and what it may have been."""

from __future__ import annotations

from msgspec import Struct

from ...quantities import Sentence, Text
from ..text.problems import Problem
from .rounds import Spot as Spot


class Doubt(Struct, frozen=True):
    """One doubt: the warning for whoever types, and ``what`` for whoever reads the number in a report.

    ``what`` is a whole message (``Sentence``) without its full stop, as it also stands within longer ones.
    ``spots`` are the readings that stay out of everything worked out until a
    person has measured again, corrected the file, or confirmed them with a
    ``!``; none where the doubt only has to be told.  ``asks``: somebody has to
    decide or measure something.  ``kept``: readings that are judged as they were
    typed all the same; what is chosen by them waits for the answer.
    """

    round: str
    table: str
    what: Text
    problem: Problem
    spots: tuple[Spot, ...] = ()
    asks: bool = True
    kept: tuple[Spot, ...] = ()

    @property
    def says(self) -> Text:
        """The doubt as a sentence by itself."""
        return Sentence("{what}.", what=self.what)
