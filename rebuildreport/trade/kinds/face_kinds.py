"""Kinds of faces: straightedge and feelers, grid of heights."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...quantities import Measure, Sentence, Several, Text
from ..measuring import fitting
from ..measuring.form import largest
from ..measuring.uncertainty import Measured
from ..measuring.verdict import Bound
from .kind import LEAVES, Computed, Given, Inputs, Kind, Trait

# what a skim of the face changes, so that it is known before anybody decides
SKIM = frozenset({"cleanup_stock", "height", "raises", "lowers", "drive"})
CHAMBER = {"chamber_per_mm": Given("what a millimetre off this face takes from a chamber", "volume", False)}


def _straightedge(inputs: Inputs) -> Iterator[Computed]:
    for position, columns, missing in inputs.each():
        yield Computed(position, "gap", largest(columns.values()), missing.most, note=missing.note)


def place(name: str) -> float | None:
    """Where a line of a grid lies, by the number in its name [mm].

    Source: naming rule of this project.

    >>> place("x200"), place("y37.5"), place("front")
    (200.0, 37.5, None)
    """
    found = re.search(r"(\d+(?:\.\d+)?)$", name)
    return float(found.group(1)) if found else None


def _grid(inputs: Inputs) -> list[Computed]:
    points: list[tuple[float, float, Measured]] = []
    wanted = len(inputs.positions) * len(inputs.columns)
    for position in inputs.positions:
        for column in inputs.columns:
            x, y = place(column), place(position)
            value = inputs.readings.get(position, {}).get(column)
            if value is not None and x is not None and y is not None:
                points.append((x, y, value))
    rows = tuple(inputs.readings)
    if not rows:
        return []
    try:
        face = fitting.face(points)
    except ValueError:
        refused = Sentence(
            "{count} of {wanted} heights make no plane: name lines by their place, as in x0 x100, y0",
            count=len(points),
            wanted=wanted,
        )
        return [Computed("face", "flatness", None, note=refused, uses=rows)]
    note: Text = Sentence(
        "minimum zone; least squares {squares}, range as it lay {range}",
        squares=Measure(face.least_squares.value, "mm", 3),
        range=Measure(face.range.value, "mm", 3),
    )
    bound: Bound = "equal"
    if len(points) < wanted:
        bound = "at least"
        part = Sentence("{count} of {wanted} heights", count=len(points), wanted=wanted)
        note = Several([part, note], "; ")
    zone = face.minimum_zone
    return [Computed("face", "flatness", zone, bound, note=note, uses=rows, grid=face.deviations)]


KINDS = (
    Kind(
        "straightedge",
        "worst gap under a straightedge along each line; it gives no plane",
        _straightedge,
        {"gap": Trait("gap", "gap", from_zero=True)},
        given=CHAMBER,
        keys=SKIM,
        asked=lambda columns, nature: Sentence("the worst gap of each line"),
        readings="the worst gap of each line: two lengthwise, three across, both diagonals",
        instruments=("gap",),
        formula="the largest gap of the line",
        doubt=f"{LEAVES}; the straightedge is taken as straight",
        drawing="lines on a face",
    ),
    Kind(
        "flatness_grid",
        "flatness of a face from a grid of heights, and its contour",
        _grid,
        {"flatness": Trait("flatness", "flatness", from_zero=True, at="face")},
        given=CHAMBER,
        keys=SKIM,
        alike=False,
        one_setting=True,
        readings="every crossing of the grid: positions are its lines across (`y0 y75 y150`), columns those "
        "along (`x0 x100 ...`), named by their place in mm",
        asked=lambda columns, nature: Sentence(
            "one height at each crossing of the lines, which are named by their place in mm"
        ),
        instruments=("travel",),
        formula="minimum zone: two parallel planes as near to each other as hold all heights; least squares "
        "beside it, which is never smaller",
        source="ISO 12781-1, flatness (from memory)",
        doubt="one indicator reads all heights, so its permitted error cancels but for their span; the "
        "surface plate is taken as flat",
        drawing="grid on a face",
    ),
)
