"""The parts of the record: which block belongs to crankshaft, bearings, cylinders, head; their legends.

In: blocks.  Out: their part, and the drawings that show where readings were taken.  Prints no number.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, get_args

from ...assess.model.assessment import Feature
from ...quantities import message
from ...trade.kinds import KINDS
from ..drawings.bench_drawings import bench_drawing
from ..drawings.canvas import Drawing
from .record_blocks import RecordBlock

Subject = Literal["crank", "bearings", "cylinders", "head", "other"]
# what stands together in a record, of what an engine's features are filed under
_TOGETHER: dict[Subject, str] = {
    "crank": "crankshaft",
    "bearings": "block main_bearings rod_bearings rods",
    "cylinders": "cylinders pistons",
    "head": "head valves camshaft cam_drive",
}
_SUBJECT = {code: subject for subject, codes in _TOGETHER.items() for code in codes.split()}
_OF_CYLINDERS = ("compression", "leak_down", "compression_ratio")  # tests of the whole engine, by cylinder
TITLES = message(
    {
        "crank": "Crankshaft",
        "bearings": "Block, rods and bearings",
        "cylinders": "Cylinders and pistons",
        "head": "Head and valve gear",
        "other": "Further measurements",
    }
)
FEW = 12  # numbers that need no parts
SHOWN = 3  # drawings beside each other


def in_parts(found: Sequence[RecordBlock]) -> list[tuple[str, list[RecordBlock]]]:
    """Blocks by their part, with its title; a short record has one, without."""
    if len(found) <= FEW:
        return [("", list(found))]
    parts: dict[Subject, list[RecordBlock]] = {subject: [] for subject in get_args(Subject)}
    for block in found:
        parts["other" if block.on_paper else _subject(block.feature)].append(block)
    return [(TITLES[subject], own) for subject, own in parts.items() if own]


def _subject(feature: Feature) -> Subject:
    return "cylinders" if feature.kind in _OF_CYLINDERS else _SUBJECT.get(feature.heading, "other")


def legend(found: Sequence[tuple[int, RecordBlock]]) -> list[tuple[Drawing, tuple[int, ...]]]:
    """Where readings were taken, drawn once for all the entries that it is true of, by their numbers."""
    drawn: dict[tuple[str, tuple[str, ...]], list[int]] = {}
    places: dict[tuple[str, tuple[str, ...]], tuple[str, ...]] = {}
    for number, block in found:
        kind = KINDS.get(block.feature.kind)
        columns = block.sittings[0].columns
        if kind is not None and kind.drawing != "gauge" and len(columns) > 1:  # a gauge is read in one place
            key: tuple[str, tuple[str, ...]] = (kind.drawing, columns)
            drawn.setdefault(key, []).append(number)
            places.setdefault(key, block.places)
    made: list[tuple[Drawing, tuple[int, ...]]] = []
    for shown, numbers in sorted(drawn.items(), key=lambda pair: -len(pair[1])):
        drawing = bench_drawing(*shown, places[shown])
        if drawing is not None and len(made) < SHOWN:
            made.append((drawing, tuple(numbers)))
    return made
