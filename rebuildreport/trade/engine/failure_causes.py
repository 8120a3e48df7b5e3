"""Words for damage; what usually makes a bearing, piston or valve fail, and what speaks for and against it.

A cause is a code, and so is what can be looked at; words are given where they are shown.  Nothing here is
a score: a reading that speaks for a cause is no proof of it, and the rebuilder's own finding stands.

Source of both tables: common practice; damage to bearings in the terms of ``damage``.  To widen one, add
a line: the look itself in ``LOOKS``, which words and readings follow.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Literal

from msgspec import Struct

from ...quantities import message

# The terms follow the chapter heads of ISO 7146-1, from memory and not held against the standard; the causes
# are common practice.  A finding may use other words.  To widen the vocabulary, add an entry to ``TERMS``.


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


Subject = Literal["bearing", "piston", "valve"]
Says = Literal["for", "against", ""]
Near = Literal["here", "cylinder", "row", "part", "engine"]
CauseCode = Literal[
    "overload", "starvation", "dirt", "misalignment", "bend", "fatigue", "corrosion", "assembly",
    "fuel in oil", "tight fit", "heat", "early firing", "no lash", "worn guide", "seat", "spring", "contact",
]  # fmt: skip


class Sight(Struct, frozen=True):
    """Readings that can show something: of these kinds and characteristics, past this end of their limits.

    ``near``: at the finding's own position, of its cylinder, anywhere in its row, on the same part, or of the
    engine.  Without kinds it is no reading that is judged.
    """

    kinds: tuple[str, ...] = ()
    names: tuple[str, ...] = ()  # none: all
    end: Literal["", "low", "high"] = ""
    near: Near = "here"


LOOKS: Mapping[str, Sight] = {
    "oil pressure": Sight(("oil_pressure",), (), "low", "engine"),
    "oil pump": Sight(("oil_pump",), (), "high", "engine"),
    "bearing clearance": Sight(
        ("bearing_clearance", "shimmed_cap"), ("clearance", "smallest_clearance"), "low"
    ),
    "taper": Sight(("journal",), ("taper",), "high"),
    "housing": Sight(("bore",), ("out_of_round", "size", "largest"), ""),
    "crush": Sight(("shell_crush",), (), "low"),
    "bent crank": Sight(("runout",), ("runout", "bend"), "high", "part"),
    "main line": Sight(("main_line",), (), "high", "row"),
    "bent rod": Sight(("rod_alignment",), ("bend", "twist"), "high", "cylinder"),
    "roughness": Sight(("roughness",), (), "high"),
    "stretched bolts": Sight(("bolt_set",), (), "high", "cylinder"),
    "damper": Sight(("damper",), (), "", "engine"),
    "dirt in the oil": Sight(("oil_analysis",), ("silicon", "particles", "dirt"), "high", "engine"),
    "fuel in the oil": Sight(("oil_analysis",), ("fuel",), "high", "engine"),
    "water in the oil": Sight(("oil_analysis",), ("water", "sodium", "acid"), "high", "engine"),
    "piston clearance": Sight(("fit",), (), "low"),
    "ring gap": Sight(("ring_gap",), (), "low"),
    "head face": Sight(("straightedge", "flatness_grid"), (), "high", "engine"),
    "compression ratio": Sight(("compression_ratio",), ("ratio",), "high"),
    "chain": Sight(("chain",), (), "high", "engine"),
    "cam timing": Sight(("cam_timing",), (), "", "engine"),
    "lash": Sight(("valve_clearance",), ("lash",), "low"),
    "guide": Sight(("guide",), (), "high"),
    "seat": Sight(("valve_seat",), ("runout", "width", "margin"), ""),
    "recession": Sight(("readings", "valve_seat"), ("recession",), "high"),
    "spring": Sight(("spring_load", "spring_length"), (), "low"),
    "valve to piston": Sight(("valve_to_piston",), (), "low"),
    # no readings with limits of their own
    "oil film": Sight(),  # thinner than the roughness at the clearance that it should have
    "loaded half": Sight(),  # is the thinner wall the half that bears the load?
    "alone": Sight(),  # is it the only one of its row that is beyond its limits?
    "particles in the filter": Sight(),
    "fuel drained": Sight(),
    "water drained": Sight(),
    "seen": Sight(),  # damage whose usual cause it is; what was not seen says nothing
}

_EITHER: tuple[Says, Says] = ("for", "against")
_ONLY: tuple[Says, Says] = ("for", "")
_SEEN = {"seen": _ONLY}
# what each look says of a cause where it is so, and where it is not
BEARING: Mapping[CauseCode, Mapping[str, tuple[Says, Says]]] = {
    "overload": {**_SEEN, "oil film": _EITHER, "loaded half": _EITHER},
    "starvation": {
        **_SEEN, "oil pressure": _EITHER, "oil pump": _EITHER, "bearing clearance": _ONLY,
        "oil film": ("", "for"),
    },
    "dirt": {
        **_SEEN, "particles in the filter": _EITHER,
        "dirt in the oil": _EITHER, "alone": ("", "for"),
    },
    "misalignment": {
        **_SEEN, "taper": _EITHER, "bent crank": _EITHER, "main line": _EITHER, "bent rod": _EITHER,
        "loaded half": ("", "for"),
    },
    "bend": {**_SEEN, "bent crank": _EITHER, "bent rod": _EITHER},
    "fatigue": {**_SEEN, "loaded half": _EITHER, "damper": _EITHER},
    "corrosion": {
        **_SEEN, "water in the oil": _EITHER, "water drained": _EITHER, "alone": ("against", ""),
    },
    "assembly": {
        **_SEEN, "bearing clearance": _EITHER, "housing": _EITHER, "crush": _EITHER,
        "stretched bolts": _EITHER, "roughness": _EITHER, "alone": _ONLY,
    },
    "fuel in oil": {"fuel in the oil": _EITHER, "fuel drained": _EITHER, "alone": ("against", "")},
}  # fmt: skip
PISTON: Mapping[CauseCode, Mapping[str, tuple[Says, Says]]] = {
    "starvation": {**_SEEN, "oil pressure": _EITHER, "oil pump": _EITHER},
    "tight fit": {"piston clearance": _EITHER, "ring gap": _EITHER},
    "heat": {"head face": _ONLY, "ring gap": _ONLY, "water drained": _ONLY},
    "early firing": {"compression ratio": _EITHER, "cam timing": _ONLY},
    "dirt": {
        **_SEEN,
        "dirt in the oil": _EITHER,
        "particles in the filter": _EITHER,
        "alone": ("against", "for"),
    },
    "misalignment": {**_SEEN, "bent rod": _EITHER},
    "fuel in oil": {"fuel in the oil": _EITHER, "fuel drained": _EITHER},
}
VALVE: Mapping[CauseCode, Mapping[str, tuple[Says, Says]]] = {
    "no lash": {"lash": _EITHER, "recession": _ONLY},
    "worn guide": {"guide": _EITHER},
    "seat": {"seat": _EITHER, "recession": _EITHER},
    "spring": {"spring": _EITHER},
    "contact": {"valve to piston": _EITHER, "cam timing": _EITHER, "chain": _EITHER},
    "heat": {"head face": _ONLY, "lash": _ONLY},
}
CAUSES: Mapping[Subject, Mapping[CauseCode, Mapping[str, tuple[Says, Says]]]] = {
    "bearing": BEARING,
    "piston": PISTON,
    "valve": VALVE,
}
OF_TERM: Mapping[str, tuple[CauseCode, ...]] = {
    "static overload": ("overload",),
    "dynamic overload": ("fatigue", "overload"),
    "wear by friction": ("starvation",),
    "overheating": ("starvation",),
    "insufficient lubrication": ("starvation",),
    "contamination": ("dirt",),
    "corrosion": ("corrosion",),
    "fretting": ("assembly",),
    "bond failure": ("assembly",),
    "edge wear": ("misalignment", "bend"),
}


def suggested(seen: Collection[str]) -> tuple[CauseCode, ...]:
    """Causes that the damage seen usually has, the first phrase's first.

    Source: common practice; the terms are those of ISO 7146, from memory.

    >>> suggested(["scoring along the crown", "blue with age"])
    ('dirt',)
    """
    terms = [term for phrase in seen if (term := recognise(phrase))]
    return tuple(dict.fromkeys(cause for term in terms for cause in OF_TERM.get(term.name, ())))


class Weighed(Struct, frozen=True):
    """Looks that speak for one cause, those against it, those that nobody took or that settle nothing."""

    cause: CauseCode
    speaks_for: tuple[str, ...]
    against: tuple[str, ...]
    unknown: tuple[str, ...]


def weigh(subject: Subject, shown: Mapping[str, bool], can: Collection[str]) -> tuple[Weighed, ...]:
    """What is known of every usual cause (common practice).

    ``shown``: looks that were taken, and whether it is so; ``can``: those that this engine has.

    >>> bend = weigh("bearing", {"bent crank": True}, ["bent crank", "main line"])[3]
    >>> bend.cause, bend.speaks_for, bend.against, bend.unknown
    ('misalignment', ('bent crank',), (), ('main line',))
    """

    def saying(table: Mapping[str, tuple[Says, Says]], wanted: Says) -> tuple[str, ...]:
        return tuple(
            look for look, (so, not_so) in table.items() if _said(shown.get(look), so, not_so) == wanted
        )

    return tuple(
        Weighed(
            cause,
            saying(table, "for"),
            saying(table, "against"),
            tuple(look for look in table if look not in shown and look in can),
        )
        for cause, table in CAUSES[subject].items()
    )


def _said(is_so: bool | None, so: Says, not_so: Says) -> Says:
    if is_so is None:
        return ""
    return so if is_so else not_so
