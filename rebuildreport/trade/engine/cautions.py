"""Usual cautions of the trade (common practice), each at the operation where it applies.

The maker's service information, local codes and licensed practice come before all of them.
"""

from __future__ import annotations

import re

FIRST = (
    "The maker's service information and local rules come before this sheet; work that the law keeps for "
    "licensed people stays with them."
)
APART = (
    "Battery off, fuel shut, cooling system cold and its pressure let down; injectors or plugs out before "
    "anything turns. The engine on a stand or blocks made for its weight."
)
CAUTIONS: dict[str, str] = {
    "springs": "Springs hold force: use the right compressor, keep the face out of line, let go slowly and "
    "evenly.",
    "tensioner": "A tensioner is loaded: pin it before it is fitted or taken off.",
    "turning": "Plugs or injectors out and leak-down air off before the crankshaft is turned; with the cam "
    "drive off, valves meet pistons.",
    "lifting": "Heavy: lift at its lifting points with tested gear, nobody beneath, hands out of the gap.",
    "heat": "Heated parts burn through gloves that are wet; keep fuel and solvent away.",
    "cold": "Nitrogen freezes skin and takes the air to breathe: gloves, face shield, open doors.",
    "oil": "Used oil and coolant: let them cool, gloves on, a tray beneath, nothing into the ground.",
    "press": "A press can throw parts: stand aside, guard in place.",
    "solvent": "Solvents and their vapour: gloves, air, no flame.",
    "fuel": "Injection pressure goes through skin: no hand near a leak, card instead; see a doctor at once.",
    "air": "Compressed air turns the crank with force: lock it, and take the bar off first.",
    "drive": "With the cam drive off neither crank nor cams are turned: valves meet pistons.",
    "edges": "Ring and skimmed edges cut: gloves for handling, none near anything that turns.",
    "dust": "Grinding and old gasket dust: mask, wet, never blown off.",
    "wrench": "Pull the wrench evenly with a firm stand; a bolt that lets go throws the hand.",
    "starting": "Extinguisher at hand, exhaust led away, guards on; hands, hair and cloth clear of belt and "
    "fan.",
    "runaway": "A diesel can run away on its own oil: have the means to close its air intake ready.",
}
# words of a step that call for a caution, looked for at the start of words, and the verbs that they hold for
_TURN = ("mark", "check", "hold", "do")
_WORDS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("valve spring", "springs", ("fit", "do", "take")),
    ("valves", "springs", ("take",)),
    ("camshaft", "springs", ("fit", "do", "take")),
    ("rocker shaft", "springs", ("take",)),
    ("tensioner", "tensioner", ("fit", "do", "take")),
    ("timing chain", "tensioner", ("take",)),
    ("timing belt", "tensioner", ("take",)),
    ("timing chain", "drive", ("take",)),
    ("timing belt", "drive", ("take",)),
    ("gear train", "drive", ("take",)),
    ("turn", "turning", _TURN),
    ("timing", "turning", _TURN),
    ("valve clearance", "turning", ("check", "measure")),
    ("crankshaft", "lifting", ("fit", "take")),
    ("cylinder head", "lifting", ("fit", "take")),
    ("flywheel", "lifting", ("fit", "take")),
    ("gearbox", "lifting", ("fit", "take")),
    ("piston", "edges", ("fit", "take")),
    ("ring", "edges", ("do", "take")),
    ("liner", "press", ("take",)),
    ("bush", "press", ("take",)),
    ("sump", "oil", ("take",)),
    ("oil pan", "oil", ("take",)),
    ("radiator", "oil", ("take",)),
    ("water pump", "oil", ("take",)),
    ("manifold", "dust", ("take",)),
    ("cylinder head", "dust", ("take",)),
    ("clutch", "dust", ("take",)),
    ("injector", "fuel", ("fit", "do", "take")),
    ("injection pump", "fuel", ("fit", "do", "take")),
    ("leak down", "air", ("check", "measure", "do")),
    ("heat", "heat", ("fit", "do")),
    ("may be started", "starting", ("hold", "check")),
)


def caution(text: str) -> str:
    """A caution by its word, or the sheet's own words.

    Source: common practice.

    >>> caution("tensioner")
    'A tensioner is loaded: pin it before it is fitted or taken off.'
    >>> caution("mind the cat")
    'Mind the cat.'
    """
    said = text.strip().rstrip(".")
    if said.lower() in CAUTIONS:
        return CAUTIONS[said.lower()]
    return f"{said[:1].upper()}{said[1:]}."


def reminder(text: str, number: str) -> str:
    """A caution that stands in full at line ``number`` of the same page, in short.

    Source: common practice.

    >>> reminder(caution("springs"), "4.3")
    'Springs hold force: as at 4.3.'
    """
    first = re.split(r"[:;.]", text)[0]
    return f"{first}: as at {number}."


def cautions_for(verb: str, words: str) -> list[str]:
    """Cautions that a step calls for, by its verb and its words.

    Source: common practice.

    >>> len(cautions_for("fit", "camshafts")), cautions_for("measure", "head_height")
    (1, [])
    """
    plain = " ".join(re.split(r"[\s_\-:,.]+", words.lower()))
    found = [
        key for word, key, verbs in _WORDS if verb in verbs and re.search(rf"\b{re.escape(word)}", plain)
    ]
    return [CAUTIONS[key] for key in dict.fromkeys(found)]
