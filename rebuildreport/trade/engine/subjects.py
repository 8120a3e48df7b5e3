"""What an engine's parts and troubles are filed under, so that jobs of all families can be compared.

A shop names its features and parts as it likes and tells a cause in its own words; whoever looks for "all
wiped main bearings" or "all that overheated" wants a dozen subjects and causes, the same for every engine.
What the sheet says of a part decides (``assess/publishing/filing``), and the usual cause that a person named;
where neither is known words of the trade propose a heading, and what none of them fits is 'other'.
"""

from __future__ import annotations

import re
from functools import cache

from msgspec import Struct

from .failure_causes import CauseCode


class Subject(Struct, frozen=True):
    """One heading: its words for people, its code, and the beginnings of words that belong under it."""

    title: str
    code: str
    words: str


OTHER = Subject("other", "other", "")
NOT_FOUND = Subject("not found", "not_found", "")

# the first that fits: what is special stands before what is general ("chain guide" before "guide")
PARTS: tuple[Subject, ...] = (
    Subject("bolts and studs", "fasteners", "bolt, stud, insert, thread, fastener"),
    Subject(
        "oil and its pump",
        "oil_pump",
        "oil pump, oil pressure, relief valve, pick-up, pump rotor, oil gallery",
    ),
    Subject(
        "cooling", "cooling", "water pump, coolant, thermostat, radiator, oil cooler, cooling, fan, impeller"
    ),
    Subject(
        "air, fuel and ignition",
        "fuel",
        "injector, injection, carburet, magneto, ignition, spark, fuel, points, air cleaner, air filter, "
        "manifold, inlet rubber, turbo",
    ),
    Subject(
        "cam drive", "cam_drive", "chain, belt, tensioner, timing, gear, idler, sprocket, backlash, cam drive"
    ),
    Subject(
        "camshaft and tappets",
        "camshaft",
        "cam, lobe, tappet, bucket, shim, rocker, pushrod, push rod, follower, lifter, lash",
    ),
    Subject("valves, guides and seats", "valves", "valve, guide, seat, recession, spring, intake, exhaust"),
    Subject("head and its gasket", "head", "head, chamber, kopf, zylinderkopf"),
    Subject(
        "main bearings",
        "main_bearings",
        "main shell, main bearing, main bush, main clearance, main crush, mains",
    ),
    Subject(
        "rod bearings",
        "rod_bearings",
        "rod shell, rod bearing, rod clearance, rod crush, big-end bearing, big end bearing",
    ),
    Subject("crankshaft", "crankshaft", "crank, journal, thrust, flywheel, end float, main seal"),
    Subject("rods and pins", "rods", "rod, small end, small-end, big end, big-end, pin, gudgeon"),
    Subject("pistons and rings", "pistons", "piston, ring, skirt, crown"),
    Subject("block and housings", "block", "block, housing, deck, main line, crankcase"),
    Subject("cylinders and liners", "cylinders", "cylinder, liner, bore, barrel, sleeve"),
    Subject("seals and sump", "seals", "seal, gasket, sump, cover, leak"),
    Subject("oil and its pump", "oil_pump", "oil"),  # of which nothing above is said
)

# kinds of measurement that one part alone has, whatever the shop calls it and in whatever language
BY_KIND = {
    kind: code
    for code, kinds in {
        "valves": "guide valve_seat installed_height spring_length spring_load valve_to_piston",
        "camshaft": "valve_clearance lobe cam_timing",
        "cam_drive": "chain tensioner",
        "oil_pump": "oil_pump oil_pressure oil_analysis",
        "pistons": "fit ring_gap ring_side piston_protrusion",
        "cylinders": "liner_protrusion",
        "rods": "rod_alignment",
        "block": "main_line deck_height",
        "fasteners": "bolt_set",
        OTHER.code: "compression leak_down compression_ratio",  # of the whole engine
    }.items()
    for kind in kinds.split()
}

# every one that fits: a cause is told with what led to it; in the languages that our catalogues speak
CAUSES: tuple[Subject, ...] = (
    Subject(
        "oil starvation",
        "oil_starvation",
        "oil pressure lost, no oil, starv, without a film, without oil, oil film, ran dry, low oil, "
        "thin oil, oil level, oil supply, ölmangel, ölfilm, öldruck, trocken gelaufen",
    ),
    Subject(
        "dirt or debris in the oil",
        "dirt",
        "debris, particle, dirt, contamin, grit, swarf, unfiltered, dust, sand, "
        "schmutz, späne, abrieb, staub",
    ),
    Subject(
        "overheating",
        "overheating",
        "overheat, heat, boil, ran hot, no coolant, überhitz, heiß gelaufen, hitze",
    ),
    Subject(
        "age and hours",
        "hours",
        "hours, age, wear, worn, over its life, fatigue, many years, past their best, "
        "verschleiß, laufleistung, alter, am ende, ermüd",
    ),
    Subject(
        "an earlier repair",
        "earlier_work",
        "earlier work, earlier repair, previous, workmanship, fitted wrong, wrong way, loose, "
        "taken up, settled, without their tension, wrongly, wrong part, left out, frühere, falsch, lose",
    ),
    Subject(
        "mixture or timing",
        "mixture",
        "lean, mixture, detonat, timing, pre-ignition, injector, knock, vaporising, gemisch, klopf, zündzeit",
    ),
    Subject(
        "water, frost or rust",
        "water",
        "water, coolant in, corro, rust, frost, froz, damp, acid, wasser, kühlmittel im, rost",
    ),
    Subject(
        "overload or overspeed",
        "overload",
        "overload, overspeed, full load, over-rev, overrev, überlast, überdreh",
    ),
    Subject("long standing", "standing", "standing, stood, laid up, unused, stale, gestanden"),
)
_UNKNOWN = ("cannot tell", "not found", "unknown", "not known", "cannot say", "unbekannt", "unklar")
# the heading of a usual cause that a person named: it decides, whatever words stand beside it
_OF_CAUSE: dict[CauseCode, str] = {
    "starvation": "oil_starvation", "dirt": "dirt", "heat": "overheating", "fatigue": "hours",
    "assembly": "earlier_work", "tight fit": "earlier_work", "fuel in oil": "mixture",
    "early firing": "mixture", "corrosion": "water", "overload": "overload",
}  # fmt: skip


def part_subject(*names: str) -> str:
    """The heading that words propose for a part: the first name that says something.

    Source: headings of our own; words of the trade (common practice).

    >>> part_subject("exhaust_guides", "Exhaust guides"), part_subject("chain_guides")
    ('valves', 'cam_drive')
    >>> part_subject("main_shells"), part_subject("crankshaft"), part_subject("ballast")
    ('main_bearings', 'crankshaft', 'other')
    """
    fitting = (subject.code for name in names for subject in PARTS if _fits(subject.words, name))
    return next(fitting, OTHER.code)


def cause_subjects(told: str, named: CauseCode | None = None) -> tuple[str, ...]:
    """The headings of a finding's cause: of the usual cause that a person named, else as its words propose.

    'not_found' where nobody says one, 'other' for other words.

    Source: headings of our own; words of the trade (common practice).

    >>> cause_subjects("debris of F1, carried by the oil"), cause_subjects("heat, and hours")
    (('dirt',), ('overheating', 'hours'))
    >>> cause_subjects("worn pump", "starvation"), cause_subjects("we cannot tell")
    (('oil_starvation',), ('not_found',))
    """
    if named:
        return (_OF_CAUSE.get(named, OTHER.code),)
    unknown = not told or any(word in told.lower() for word in _UNKNOWN)
    proposed = tuple(cause.code for cause in CAUSES if _fits(cause.words, told))
    return proposed or ((NOT_FOUND if unknown else OTHER).code,)


# the words for every code, of parts and of causes
TITLES = {subject.code: subject.title for subject in (*PARTS, *CAUSES, OTHER, NOT_FOUND)}


def _fits(words: str, name: str) -> bool:
    return _beginning(words).search(name.replace("_", " ").lower()) is not None


@cache
def _beginning(words: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, words.split(', ')))})")
