"""The bench sheet: paper to measure on.

In: what is due of an Assessment.  Out: a view.  Works out no value.
"""

from __future__ import annotations

import re
from pathlib import Path

from msgspec import Struct

from ... import quantities
from ...assess.measure.titles import titled
from ...assess.model.assessment import Assessment, Due, DueLimit
from ...quantities import message
from ...trade.engine.cautions import Nature
from ...trade.kinds import KINDS
from ..drawings.bench_drawings import bench_drawing
from ..drawings.canvas import Drawing
from ..press import places
from ..press.frame import Framed, framed, numbers_after
from ..press.language import opening, say, show_interval, told
from ..press.words import capital, column_words, first_unit, place, stop, unit_text
from ..report.findings import NO_PHOTOS, Album

# in mm: the paper between its margins, what five digits and a point take from a hand in a glove, what looks
# like a box for a number and not for a sentence; rows above which places go side by side where they can
PAPER, LEAST, WIDEST, FEW = 182.0, 16.5, 34.0, 3
LONG = 10  # letters of a place that is a word and not a short sign


SPRINGS = message("Springs are pressed in a guard.")
MAKER = message("The maker's own instructions come first.")

# what is read before parts are parts, in the order of the sheet
STAGES = message(
    {
        "before": "Whole engine, before it comes apart",
        "whole": "Whole engine",
        "together": "Before these come apart",
    }
)


class Block(Struct, frozen=True):
    """The boxes of one feature."""

    title: str
    unit: str
    state: str
    readings: str
    limits: tuple[tuple[str, str, str], ...]  # what, new, wear
    instrument: str  # the shop's that is fit, "" where none is
    columns: tuple[str, ...]
    lines: tuple[tuple[str, ...], ...]  # positions, in two halves side by side where the boxes are few
    drawing: Drawing | None
    lead: float  # mm for the names of places
    box: float  # mm
    small: bool  # heads of boxes that are wider than these
    long: bool  # names of places that are words and not short signs
    warms: bool  # a length, which grows


class BenchSheet(Framed, frozen=True):
    """The sheet of one round, its blocks by part in the order of the round's file."""

    job: str
    engine: str
    counting: str
    parts: tuple[tuple[str, tuple[Block, ...]], ...]
    boxes: int
    degrees: str  # in which a temperature is written
    caution: str


def bench_sheet(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> BenchSheet:
    """The sheet of the round that is due."""
    assert job.due is not None
    features, round_name = job.due.features, job.due.name
    parts: dict[str, list[Block]] = {}
    for due in features:
        parts.setdefault(part_of(due), []).append(_block(due, job.system))
    title = say("Bench sheet: {round}", round=place(round_name.replace("-", " ")))
    return BenchSheet(
        frame=framed(
            job,
            title,
            title,
            of=round_name,
            style=places.find("bench-sheet.css", shop).read_text(encoding="utf-8")
            + numbers_after(".sheetpart>h2"),
        ),
        job=job.title,
        engine=job.engine.full_name,
        counting=told(job.engine.counting),
        parts=tuple((part, tuple(blocks)) for part, blocks in parts.items()),
        boxes=sum(len(due.positions) * len(due.columns) for due in features),
        degrees=unit_text(first_unit("°C", job.system)),
        caution=caution(job.engine.nature),
    )


def part_of(due: Due) -> str:
    """The heading that a feature stands under: its part, or what has to be whole while it is read."""
    if due.when in STAGES:
        return say(STAGES[due.when])
    return told(titled(due.part)) if due.part else say("Other")


def _block(due: Due, system: str) -> Block:
    positions = tuple(map(place, due.positions))
    columns = tuple(column_words(KINDS[due.kind].column_title(column)) for column in due.columns)
    name = max(map(len, positions), default=0)
    long = name > LONG
    lead = max(11.0, 5.0 + (1.9 if long else 2.4) * name)
    word = max((len(word) for column in columns for word in column.split()), default=0)
    lines = _lines(positions, lead + len(columns) * max(LEAST, 1.25 * word))
    box = min((PAPER / len(lines[0]) - lead) / len(columns), WIDEST)
    return Block(
        title=told(due.title),
        unit="" if due.unit == "count" else unit_text(due.unit),
        state=stop(opening(due.state)),
        readings=readings_words(due),
        limits=tuple(limit_words(limit, due.unit, system) for limit in due.limits),
        instrument=told(due.instrument).replace("percent", unit_text("percent")),
        columns=columns,
        lines=lines,
        drawing=bench_drawing(due.drawing, due.columns, due.positions),
        lead=round(lead, 1),
        box=round(box, 1),
        small=1.45 * word > box,
        long=long,
        warms=bool(due.unit) and quantities.dimension(due.unit) == "length",
    )


def readings_words(due: Due) -> str:
    """How many readings make a measurement, as a sentence."""
    return stop(capital(_words(told(due.readings))))


def _words(text: str) -> str:
    """Names of columns as the heads of the boxes have them, not as the file does.

    >>> _words("hot, named by speed (`hot_idle hot_1800`)")
    'hot, named by speed (hot idle, hot 1800)'
    """
    text = re.sub(r" \(`unit: [^`]*`\)", "", text)  # a key of the sheet: whoever measures needs none
    return re.sub("`([^`]*)`", lambda code: ", ".join(map(column_words, code[1].split())), text)


def _lines(positions: tuple[str, ...], width: float) -> tuple[tuple[str, ...], ...]:
    """Down the left, then down the next: the order of the file, a place with boxes ``width`` mm wide.

    >>> _lines(("I1", "I2", "I3", "E1", "E2", "E3", "E4"), 44.0)
    (('I1', 'E1', 'E4'), ('I2', 'E2'), ('I3', 'E3'))
    """
    beside = max(min(int(PAPER // width), -(-len(positions) // FEW)), 1)
    rows = -(-len(positions) // beside)
    return tuple(positions[i::rows] for i in range(rows))


def limit_words(limit: DueLimit, boxes: str, system: str) -> tuple[str, str, str]:
    """A limit in the unit that the boxes are filled in with, whichever the shop prints first elsewhere."""
    unit = first_unit(limit.unit, system)
    own = quantities.canonical(boxes) if boxes else ""
    if own and quantities.dimension(own) == quantities.dimension(limit.unit):
        unit = own
    decimals = limit.limits.decimals
    new, worn = (
        show_interval(*ends, limit.unit, decimals, to=unit) if ends != (None, None) else ""
        for ends in (limit.limits.new, limit.limits.wear)
    )
    name = told(limit.title) if unit in (own, "count") else f"{told(limit.title)}, {unit_text(unit)}"
    size = f" ({told(limit.limits.size)})" if limit.limits.size else ""
    return f"{name}{size}", new, worn


def caution(nature: Nature) -> str:
    """What is said to whoever turns the engine and presses its springs."""
    springs = [] if nature.strokes == 2 else [say(SPRINGS)]
    return " ".join([told(nature.turning.text), *springs, say(MAKER)])
