"""Words of the trade that mean one another, so that a hint offers what was meant and not what looks alike."""

from __future__ import annotations

from collections.abc import Collection, Iterator

# Shop talk beside the words that files take; one of a row may stand for another (common practice).
ALIKE = (
    ("shells", "bearings", "bearing", "shell", "inserts", "halves"),
    ("journals", "journal", "pins", "pin", "necks"),
    ("rod", "rods", "conrod", "big_end", "bigend", "crankpin"),
    ("main", "mains", "crank", "crankshaft"),
    ("bores", "bore", "barrels", "barrel", "cylinders", "cylinder", "liners", "liner", "sleeves"),
    ("skirts", "skirt", "pistons", "piston"),
    ("float", "end_float", "end_play", "endplay", "axial_play", "thrust"),
    ("clearance", "clearances", "play", "oil_clearance"),
    ("gaps", "gap"),
    ("housings", "housing", "tunnels", "tunnel"),
    ("sump", "oil_pan", "oil_sump"),
    ("rocker_cover", "valve_cover", "cam_cover"),
    ("flywheel", "flex_plate"),
    ("replace", "renew", "new", "exchange", "change", "swap", "scrap"),
    ("recondition", "machine", "grind", "regrind", "rebore", "hone", "resize", "repair", "rework", "polish"),
    ("reuse", "keep", "refit", "use_again", "ok", "retain"),
    ("measure_again", "remeasure", "recheck", "check"),
    ("pressure", "dry"),
    ("remove", "take_off", "skim", "cut"),
    ("for", "decision", "decisions"),
    ("hold_for_customer", "hold", "wait", "ask"),
)


def meant(word: str, known: Collection[str]) -> str:
    """The known word that another of the trade stands for, '' where none does.

    >>> meant("rod_bearings", ["rod_journals", "rod_shells"]), meant("renew", ["reuse", "replace"])
    ('rod_shells', 'replace')
    >>> meant("big end bearing", ["main_shells", "rod_shells"])
    'rod_shells'
    """
    plain = "_".join(word.lower().replace("-", " ").replace("_", " ").split())
    lower = {one.lower(): one for one in known}
    return next((lower[other] for other in _others(plain) if other in lower), "")


def _others(word: str) -> Iterator[str]:
    """The word with one of its parts, then two, exchanged for those that mean the same."""
    once = list(dict.fromkeys(_exchanged(word)))
    yield from once
    for one in once:
        yield from _exchanged(one)


def _exchanged(word: str) -> Iterator[str]:
    padded = f"_{word}_"
    for row in ALIKE:
        for one in row:
            if f"_{one}_" in padded:
                for other in row:
                    if other != one:
                        yield padded.replace(f"_{one}_", f"_{other}_", 1).strip("_")
