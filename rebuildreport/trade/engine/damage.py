"""Words for damage to plain bearings, and their usual causes.

The terms follow the chapter heads of ISO 7146-1 as remembered: they are
from memory and have not been held against the standard.  The causes are
common practice.  A finding may always use other words; these are offered.
To widen the vocabulary, add an entry to ``TERMS``.
"""

from __future__ import annotations

from msgspec import Struct

from ...quantities import message


class Term(Struct, frozen=True):
    """One kind of damage: its name, other words for it, and what usually causes it."""

    name: str
    words: tuple[str, ...]
    usual_causes: tuple[str, ...]


TERMS: tuple[Term, ...] = (
    Term(
        "static overload",
        ("static overload", "creep", "indentation"),
        message(("load at standstill", "handling")),
    ),
    Term(
        "dynamic overload",
        ("dynamic overload", "fatigue", "crack", "breakout"),
        message(("overload", "load on an edge", "detonation or over-advanced timing")),
    ),
    Term(
        "wear by friction",
        ("wear", "wiping", "wiped", "smearing", "scuffing", "polishing", "seizure", "seized"),
        message(("oil starvation", "too little clearance", "thin or diluted oil", "low speed under load")),
    ),
    Term(
        "overheating",
        ("overheating", "overheated", "discolour", "melt", "lining removed"),
        message(("oil starvation", "too little clearance", "overload")),
    ),
    Term(
        "insufficient lubrication",
        ("insufficient lubrication", "ran dry", "starvation"),
        message(("worn or sucking oil pump", "blocked gallery or pick-up", "start without priming")),
    ),
    Term(
        "contamination",
        ("contamination", "scoring", "scored", "embedded", "particles", "foreign matter", "wire wool"),
        message(("dirt left from machining", "debris of another failure", "unfiltered oil")),
    ),
    Term(
        "cavitation erosion",
        ("cavitation", "fluid erosion"),
        message(("vapour in a fast-changing film", "sharp groove run-out", "too much clearance")),
    ),
    Term(
        "electro-erosion",
        ("electro", "electrical erosion", "stray current"),
        message(("stray current, earthing",)),
    ),
    Term(
        "corrosion",
        ("corrosion", "corroded", "colour change"),
        message(("stale or acid oil", "coolant in the oil")),
    ),
    Term(
        "fretting",
        ("fretting", "turned shell", "displaced shell", "spun"),
        message(("too little crush", "housing out of round", "cap bolts loose")),
    ),
    Term(
        "bond failure",
        ("bond", "displaced lining", "flaking"),
        message(("manufacture", "heat", "wrong alloy for the load")),
    ),
    Term(
        "edge wear",
        ("edge wear", "fillet ride", "misalign"),
        message(("bent rod", "tapered journal", "line bore out")),
    ),
)


def recognise(phrase: str) -> Term | None:
    """The term that a phrase about a bearing belongs to; None where it is in other words.

    Source: ISO 7146-1 chapter heads, from memory; words of the trade.

    >>> recognise("scoring along the crown").name
    'contamination'
    >>> recognise("blue with age") is None
    True
    """
    said = phrase.lower()
    # the longest word that fits says most: 'displaced lining' before 'lining'
    found = [(len(word), term) for term in TERMS for word in term.words if word in said]
    return max(found, key=lambda match: match[0])[1] if found else None
