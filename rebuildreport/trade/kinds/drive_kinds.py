"""Kinds of timing drives and the oil pump."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import degrees

from ...quantities import NOTHING, Figure, Sentence, message
from ..engine import drives
from ..measuring.form import largest, smallest
from .kind import LEAVES, Computed, Given, Inputs, Kind, Trait, each_column


def _pitches(column: str, given: float) -> float:
    """Over how many a column was read: as the sheet says, whose columns may only count; else its name."""
    found = re.search(r"_(\d+)(?:_|$)", column)
    return given or (float(found.group(1)) if found else 0.0)


def _chain(inputs: Inputs) -> Iterator[Computed]:
    given = inputs.given
    for position, columns, missing in inputs.each():
        grown = [
            drives.elongation(value, given["pitch"], pitches)
            for column, value in columns.items()
            if (pitches := _pitches(column, given.get("pitches", 0.0)))
        ]
        if "pitch" not in given or not grown:
            continue
        worst, note = largest(grown), NOTHING
        if missing:
            note = Sentence("{count} of {wanted} places", count=len(grown), wanted=len(inputs.columns))
        yield Computed(position, "elongation", worst, missing.most, note=note)
        if {"tight_run", "cam_teeth"} <= set(given):
            late = drives.timing_error(worst, given["tight_run"], given["pitch"], given["cam_teeth"])
            note = Sentence("the cam is late by this much")
            yield Computed(position, "timing_error", late, missing.most, note=note)


def _tensioner(inputs: Inputs) -> Iterator[Computed]:
    travel = inputs.given.get("travel", 0.0)
    for position, columns in inputs.readings.items():
        if "used" not in columns:
            continue
        used, note = columns["used"], NOTHING
        if travel > 0:
            left = Figure(f"{travel - used.value:g}")
            note = Sentence("{left} left of {travel}", left=left, travel=Figure(f"{travel:g}"))
        yield Computed(position, "used", used, note=note)
        if travel > 0 and "share" in inputs.limited:
            yield Computed(position, "share", used.scaled(100.0 / travel))


def _backlash(inputs: Inputs) -> Iterator[Computed]:
    for position, columns, missing in inputs.each():
        most, least = largest(columns.values()), smallest(columns.values())
        yield Computed(position, "backlash", most, missing.most, note=missing.note, least=least)
        if "pitch_circle" in inputs.given:
            turn = degrees(2.0 / inputs.given["pitch_circle"])  # arc over radius
            yield Computed(position, "angle", most.scaled(turn), missing.most, least=least.scaled(turn))


KINDS = (
    Kind(
        "chain",
        "what a chain has grown by, and the cam timing error that makes",
        _chain,
        {
            "elongation": Trait("elongation", "elongation", high="too long", unit="percent", from_zero=True),
            "timing_error": Trait("timing error, of the crank", "timing_error", unit="deg", optional=True),
        },
        given={
            "pitch": Given("pitch of the chain"),
            "pitches": Given(
                message("how many pitches were measured over, if no column says it"),
                "",
                needed=False,
                at_bench=True,
            ),
            "tight_run": Given("length of the tight run from crank to cam sprocket", needed=False),
            "cam_teeth": Given("teeth of the cam sprocket", "", needed=False),
        },
        readings="over as many pitches as the column says (`length_20`), the chain pulled straight; at three "
        "places, or three times at one",
        instruments=("outside",),
        formula="elongation: (L − n·P)/(n·P); timing: the tight run's growth on the sprocket's pitch circle "
        "p/sin(180°/z), twice as much on the crank",
        source="common practice; ISO 606 for the pitch circle",
        doubt="the caliper's permitted error acts in full; repeats average only the repeatability",
        drawing="chain",
    ),
    Kind(
        "tensioner",
        "how far a tensioner has come out, and what is left",
        _tensioner,
        {
            "used": Trait("travel used", "used", high="too far out", from_zero=True),
            "share": Trait("share of its travel", "share", unit="percent", optional=True, from_zero=True),
        },
        given={"travel": Given("travel in all", "feature", needed=False)},
        knows=("used",),
        readings="one, as found, before anything is loosened: length or notches (`unit: count`)",
        instruments=("outside", "depth"),
        formula="travel used, and its share of all",
        doubt="that of the reading; notches are counted and carry none",
        drawing="part",
        together=True,
    ),
    Kind(
        "backlash",
        "largest backlash of a pair of gears over several places",
        _backlash,
        {
            "backlash": Trait("backlash", "backlash", "too tight", "too large", short=""),
            "angle": Trait("backlash as an angle", "angle", unit="deg", optional=True),
        },
        given={"pitch_circle": Given("diameter of the gear's pitch circle", needed=False)},
        readings="three or four places of the larger gear, a quarter turn apart, the indicator square to "
        "a tooth",
        instruments=("travel", "gap"),
        formula="the largest of the readings",
        doubt="that of one reading: the largest is one, and not a mean",
        drawing="gear",
        fitted=True,
        together=True,
    ),
    Kind(
        "oil_pump",
        "clearances of an oil pump, each against its own limit",
        each_column,
        {},
        column_trait=Trait("", "", "too tight", "too large"),
        readings="tooth tip to tooth tip, body to outer rotor, end clearance under a straightedge; each at "
        "its widest place",
        instruments=("gap", "depth"),
        doubt=LEAVES,
        drawing="pump",
    ),
)
