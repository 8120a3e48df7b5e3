"""Kinds of the valve train."""

from __future__ import annotations

from .. import form as shape
from .model import Computed, Inputs, Kind, Trait


def _guide(inputs: Inputs) -> list[Computed]:
    found = []
    for position, columns in inputs.readings.items():
        bores = [v for c, v in columns.items() if c.startswith("guide")]
        stems = [v for c, v in columns.items() if c.startswith("stem")]
        if bores and stems:
            room = shape.largest(bores) - shape.smallest(stems)
            found.append(Computed(position, "clearance", room))
    return found


KINDS = (
    Kind(
        "guide",
        "guide at its widest less stem at its thinnest",
        _guide,
        {"clearance": Trait("clearance", "clearance", "too tight", short="")},
        readings="the bore at three depths and the stem at three heights, each in two directions: the widest "
        "and the thinnest are what counts",
        instruments=("outside", "bore"),
        formula="the largest guide reading less the smallest stem reading",
        source="common practice",
        doubt="both read in one micrometer: its permitted error cancels",
        drawing="guide",
    ),
)
