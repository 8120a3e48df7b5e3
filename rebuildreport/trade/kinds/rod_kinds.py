"""Kinds of connecting rods, and of sets that must match."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Sentence
from ..engine import crank
from ..measuring.form import spread
from ..measuring.uncertainty import Measured
from .kind import Computed, Given, Inputs, Kind, Trait, unread


def _alignment(inputs: Inputs) -> Iterator[Computed]:
    over = inputs.given.get("over", crank.USUAL_LENGTH)
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            yield Computed(position, column, crank.over_length(value.size, over))


def _matched(inputs: Inputs) -> Iterator[Computed]:
    sets: dict[str, dict[str, Measured]] = {}
    for position, columns in inputs.readings.items():
        values = dict(columns)
        if {"big", "small"} <= set(values):
            values["total"] = values["big"] + values["small"]  # the two supports carry the whole rod
        for name, value in values.items():
            sets.setdefault(name, {})[position] = value
    limited = {name for name in inputs.limited if name.endswith("_spread")}
    for name, values in sets.items():
        for position, value in values.items():
            yield Computed(position, name, value)
        # where the sheet limits some spreads, nobody asks for the others
        if len(values) > 1 and (not limited or f"{name}_spread" in limited):
            yield _apart(inputs, name, values)


def _apart(inputs: Inputs, name: str, values: dict[str, Measured]) -> Computed:
    least = min(values, key=lambda place: values[place].value)
    most = max(values, key=lambda place: values[place].value)
    note = Sentence("{least} least, {most} most", least=least, most=most)
    bound = unread(inputs.positions, values).most
    width = spread(values.values())
    return Computed("set", f"{name}_spread", width, bound, note=note, uses=tuple(values))


def _matched_names(columns: tuple[str, ...]) -> tuple[str, ...]:
    names = (*columns, "total") if {"big", "small"} <= set(columns) else columns
    return (*names, *(f"{name}_spread" for name in names))


KINDS = (
    Kind(
        "rod_alignment",
        "bend and twist of a rod, stated over 100 mm",
        _alignment,
        {
            "bend": Trait("bend", "bend", from_zero=True),
            "twist": Trait("twist", "twist", from_zero=True),
            "offset": Trait("offset", "offset", from_zero=True, optional=True, column="offset"),
        },
        given={
            "over": Given(
                "distance between the two readings of the fixture, 100 mm if left out", needed=False
            )
        },
        readings="one of each, on the fixture's bar, cap torqued and small end bushed",
        instruments=("travel", "alignment"),
        formula="reading × 100 mm / distance, without its sign",
        source="similar triangles; common practice states both over 100 mm",
        doubt="both ends are read by one indicator on a short travel",
        drawing="rod",
    ),
    Kind(
        "matched",
        "each of a set (masses, volumes, lengths), and how far the set lies apart",
        _matched,
        {},
        named=_matched_names,
        asked=lambda columns, nature: Sentence(
            "each weighed at both ends, the other end hung level"
            if {"big", "small"} <= {*columns}
            else "one for each of the set"
        ),
        readings="one for each of the set; rods are weighed at both ends (columns `big small`), the other "
        "hung level",
        instruments=("mass", "volume", "outside", "travel", "depth"),
        formula="the value itself, largest less smallest (`_spread`); total: big and small end together",
        source="common practice of matching; statics for the two ends",
        doubt="in the spread the instrument's permitted error cancels but for its span",
        drawing="part",
    ),
)
