"""The register of kinds: what a feature of the spec sheet can be, and what is worked out from it.

A kind is one ``Kind`` in the module of its subject: its characteristics with
the limit that judges each, the keys, numbers and columns it takes, how many
readings make a measurement and with what, formula, source and doubt, the
function that works it out, and its drawing.  Engineering stands in the
modules of ``trade``; the functions here only pick readings and name results.
Reading, checking, judging, printing and bench sheets follow from the entry.
"""

from __future__ import annotations

from . import (
    bearing_kinds,
    condition_kinds,
    cylinder_kinds,
    drive_kinds,
    face_kinds,
    general_kinds,
    journal_kinds,
    rod_kinds,
    running_kinds,
    shaft_kinds,
    valve_kinds,
    volume_kinds,
)
from .kind import Computed, Given, Inputs, Kind, KnownWalls, Readings, Trait

__all__ = ["KINDS", "Computed", "Given", "Inputs", "Kind", "KnownWalls", "Readings", "Trait", "keys"]

_SUBJECTS = (
    general_kinds,
    journal_kinds,
    shaft_kinds,
    bearing_kinds,
    rod_kinds,
    cylinder_kinds,
    volume_kinds,
    face_kinds,
    valve_kinds,
    drive_kinds,
    condition_kinds,
    running_kinds,
)
KINDS: dict[str, Kind] = {kind.name: kind for subject in _SUBJECTS for kind in subject.KINDS}


def keys() -> dict[str, str]:
    """Keys that kinds declare beside a feature's own: those that name features, and numbers; what each is.

    Source: the register itself.

    >>> keys()["housing"]
    'the feature that is the housing'
    """
    known = {key: f"the feature that is the {key}" for kind in KINDS.values() for key in kind.links}
    for kind in KINDS.values():
        known |= {key: f"{number.says} ({kind.name})" for key, number in kind.given.items()}
    return known
