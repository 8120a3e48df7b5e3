"""Kinds without a subject of their own: plain readings and end float."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Sentence
from ..engine import bearings
from .kind import Computed, Inputs, Kind, Trait, each_column


def _end_float(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            if column == WASHER:
                continue  # what it was read with, for choosing another
            repeats = inputs.repeats.get(position, {}).get(column) or [value]
            note = Sentence("one reading only")
            if len(repeats) > 1:
                note = Sentence("largest of {count} readings", count=len(repeats))
            yield Computed(position, column, bearings.end_float(repeats), note=note)


WASHER = "washer"

KINDS = (
    Kind(
        "readings",
        "each reading against its own limit",
        each_column,
        {},
        column_trait=Trait("", "", "too low", "too high"),
        readings="one reading in each box",
        drawing="part",
    ),
    Kind(
        "end_float",
        "largest of the readings, levered both ways",
        _end_float,
        {},
        column_trait=Trait("", "", "too tight", "too large"),
        extra_columns=(WASHER,),
        asked=lambda columns, nature: Sentence(
            "three, levered both ways, joined by strokes; beside them the washer that it was read with"
            if WASHER in columns
            else "three, levered both ways, joined by strokes"
        ),
        readings="three, levered both ways, joined by strokes; `washer` holds the thrust washer that it was "
        "read with",
        instruments=("travel", "gap"),
        formula="the largest of the readings",
        doubt="that of one reading: the largest is one, and reaches down by what chance adds to it",
        drawing="indicator",
        fitted=True,
        together=True,
    ),
)
