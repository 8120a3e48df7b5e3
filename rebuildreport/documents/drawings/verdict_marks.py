"""A verdict as it is printed everywhere: its mark and its word.

In: characteristics.  Out: mark and word.  Judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from ...assess.model.assessment import Characteristic
from ...quantities import NOTHING, Text, message
from ..press.language import say, told
from ..press.words import OUT_OF_ORDER, SEVERITY, SLUGS, worst
from .canvas import MARKS


class Verdict(Struct, frozen=True):
    """A verdict as printed: its mark and its word, and the side where it matters."""

    name: str
    text: str
    slug: str
    mark: str


# what was measured, and waits for other readings before anything can be said of it
NOT_JUDGED = message("not judged")
# a place of which something was read, and something else was not
PARTLY = message("not all of it measured")


PRINTED = (*SEVERITY[:3], NOT_JUDGED, PARTLY, *SEVERITY[3:])  # worst first


def judged(measured: Characteristic) -> str:
    """The verdict on a value as it is printed: beside a number that was read nothing says 'not measured'.

    A size that its clearance judges has no verdict before the clearance has one.
    """
    unjudged = measured.value is not None and measured.verdict == "not measured"
    return NOT_JUDGED if unjudged else measured.verdict


def verdict(name: str, side: Text = NOTHING) -> Verdict:
    """A verdict by its name, or ``NOT_JUDGED`` or ``PARTLY``, which have the mark of what is not measured."""
    known = name if name in MARKS else "not measured"
    word = say(name if name in (NOT_JUDGED, PARTLY) else known)
    return Verdict(word, ", ".join([word, *past(known, side)]), SLUGS[known], MARKS[known])


def past(name: str, side: Text) -> Iterator[str]:
    """Past which end of its limits a value lies, or may lie."""
    if side and name in OUT_OF_ORDER:
        yield told(side) if name == OUT_OF_ORDER[0] else say("perhaps {side}", side=told(side))


def overall(verdicts: Iterable[str]) -> str:
    """Worst of several verdicts of one position; a value without a limit says nothing beside judged ones."""
    found = list(verdicts)
    with_limits = [one for one in found if one != "no limit on file"]
    return worst(with_limits or found)
