"""The parts of the record: which block belongs to crankshaft, bearings, cylinders, head; their legends.

In: blocks.  Out: their part, and the drawings that show where readings were taken.  Prints no number.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Literal, get_args

from ...quantities import message
from ...trade.kinds import KINDS
from ..drawings.bench_drawings import bench_drawing
from ..drawings.canvas import Drawing
from .record_blocks import RecordBlock

Subject = Literal["crank", "bearings", "cylinders", "head", "other"]
# letters of places (No. 1 main journal is M1 ...), as the README has them
LETTERS: dict[str, Subject] = {
    "M": "bearings",
    "R": "bearings",
    "C": "cylinders",
    "I": "head",
    "E": "head",
    "K": "head",
}
TITLES = message(
    {
        "crank": "Crankshaft",
        "bearings": "Housings, rods and bearings",
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
    subjects = _subjects(found)
    parts: dict[Subject, list[RecordBlock]] = {subject: [] for subject in get_args(Subject)}
    for block in found:
        parts["other" if block.on_paper else subjects[block.feature.name]].append(block)
    return [(TITLES[subject], own) for subject, own in parts.items() if own]


def _subjects(found: Sequence[RecordBlock]) -> dict[str, Subject]:
    """The part of each feature: by the letters of its places, else with what belongs to the same piece."""
    by_letters = {block.feature.name: _by_letter(block) for block in found}
    pieces: dict[str, Counter[Subject]] = {}
    for block in found:
        subject = by_letters[block.feature.name]
        if subject is not None and block.feature.part:
            pieces.setdefault(block.feature.part, Counter())[subject] += 1
    cranks = {
        block.feature.part
        for block in found
        if block.feature.kind == "journal" and by_letters[block.feature.name] == "bearings"
    } - {"", *(block.feature.part for block in found if by_letters[block.feature.name] == "cylinders")}
    subjects: dict[str, Subject] = {}
    for block in found:
        name, part = block.feature.name, block.feature.part
        beside = pieces.get(part)
        subject = by_letters[name] or (beside.most_common(1)[0][0] if beside else "other")
        subjects[name] = "crank" if part in cranks else subject
    return subjects


def _by_letter(block: RecordBlock) -> Subject | None:
    places = block.feature.positions or block.places
    return LETTERS.get(places[0].rstrip("0123456789")) if places else None


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
