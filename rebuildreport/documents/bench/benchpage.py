"""The bench page: one HTML file on which a round is typed, with all that it needs inside.

In: what is due of an Assessment.  Out: a view with the page's data, style and script.  The page asks of each
reading by the numbers of ``records/doubts/onereading.py``; it asks by none of its own.
"""

from __future__ import annotations

import base64
import json
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec.structs import asdict

from ...assess.model.assessment import Assessment, Due
from ...quantities import Sentence, message
from ...records.doubts.onereading import THRESHOLDS, ToolShows
from ...records.text.writing import REMARKS, UNKNOWN, as_name, as_value
from ...trade.kinds import KINDS
from ...trade.measuring.form import plane_and_direction
from ..drawings.bench_drawings import bench_drawing, in_a_row
from ..drawings.canvas import Drawing
from ..press import places
from ..press.frame import Framed, framed
from ..press.language import say, spoken, told
from ..press.words import capital, column_words, place, stop, unit_text
from ..report.findings import NO_PHOTOS, Album
from .benchsheet import caution, limit_words, part_of, readings_words
from .roundfile import layout, soaked

SCRIPTS = ("questions.js", "writing.js", "qr.js", "page.js")
FACES = (("source-serif-4-latin-400-normal", 400), ("source-serif-4-latin-600-normal", 600))

# what the page says by itself, by the name that its script has for it; values in braces are put in there
WORDS: Mapping[str, str] = message(
    {
        "range": "The {tool} reads {range}.",
        "point": "Is the point in the right place?",
        "inches": "Inches among millimetres, or the reverse?",
        "turn": "A turn of the thimble off, with the line on the sleeve misread?",
        "digits": "Two figures changed about?",
        "slip": "Is the point in the right place, or are two figures changed about?",
        "wear": "No wear makes this of it.",
        "finer": "The {tool} shows steps of {step}: a figure too many?",
        "lost": "The {tool} shows steps of {step}: is a figure missing?",
        "apart": "These lie further apart than the {tool} repeats.",
        "comma": "A comma is not read as a point. Press the point, or tick below that it is one.",
        "number": "This is no number.",
        "unit": "A unit that does not belong here.",
        "stroke": "A reading is missing beside the stroke.",
        "fraction": "A fraction of an inch? Type it with a point.",
        "leaf": "Type what did not go in behind the sign, and it is the wider one: <0.05, or 0.05<0.06.",
        "elsewhere": "Another window has {other} here.",
        "others": "The others are about {value}.",
        "it is": "It is {reading}",
        "next": "Next: {place}",
        "taken back": "Taken back: {place}.",
        "nothing to undo": "Nothing to undo.",
        "lit": "{place} is lit.",
        "count": "{done} of {all}",
        "whole count": "{done} of {all} in the round",
        "then": "then {place}",
        "last one": "that is the last one",
        "no instrument": "no instrument named",
        "not said": "not said",
        "last": "last: {place} {reading}",
        "not yet": "not taken yet",
        "keeps nothing": "This browser keeps nothing: hand the readings over before you close the page.",
        "did not go in": "did not go in",
        "minus": "minus",
        "position": "position",
        "saved": "Saved as {file}.",
        "copied": "Copied.",
        "code": "Code {number} of {all}: one behind the other they are the file.",
        "came": "{count} of {all} codes are here.",
        "took over": "{count} readings taken over.",
        "differ": "{count} stand otherwise here and stay as they are.",
        "forget": "Forget all readings of this round in this browser?",
    }
)


class BenchPage(Framed, frozen=True):
    """The page of one round."""

    job: str
    name: str  # of the round
    style: str
    script: str
    caution: str


def bench_page(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> BenchPage:
    """The page of the round that is due."""
    assert job.due is not None
    title = say("Bench: {round}, job {job}", round=place(job.due.name.replace("-", " ")), job=job.number)
    data = json.dumps(_round(job), ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    script = "".join(places.find(f"bench/{name}", shop).read_text("utf-8") for name in SCRIPTS)
    return BenchPage(
        frame=framed(job, title, title, of=job.due.name),
        job=job.job,
        name=job.due.name,
        style=_faces(shop) + places.find("bench/page.css", shop).read_text("utf-8"),
        script=f'"use strict";\nconst ROUND = {data};\n{script}',
        caution=caution(job.engine.nature),
    )


def _faces(shop: Path | None) -> str:
    """The faces inside the stylesheet: a phone at the bench has no network."""
    faces = []
    for name, weight in FACES:
        data = base64.b64encode(places.find(f"fonts/{name}.woff2", shop).read_bytes()).decode()
        faces.append(
            f'@font-face{{font-family:"Report";font-weight:{weight};'
            f'src:url(data:font/woff2;base64,{data}) format("woff2")}}\n'
        )
    return "".join(faces)


def _round(job: Assessment) -> dict[str, Any]:
    """All that the page's script knows."""
    assert job.due is not None
    drawings: list[Drawing] = []
    parts: dict[str, list[int]] = {}
    tables: list[dict[str, Any]] = []
    units: dict[str, Any] = {}
    tools: dict[str, dict[str, Any]] = {}
    for number, due in enumerate(job.due.features):
        parts.setdefault(part_of(due), []).append(number)
        tables.append(_table(due, job.system, drawings))
        assert due.asks is not None
        units[due.asks.base] = due.asks.units
        for name, tool in due.asks.tools.items():
            tools[name] = tools.get(name) or _tool(tool, due.asks.base)
    _told_apart(tools)
    return {
        "shop": job.shop,
        "job": job.job,
        "round": job.due.name,
        "remarks": REMARKS,
        "unknown": UNKNOWN,
        "soaked": soaked(job.system),
        "tables": tables,
        "parts": list(parts.items()),
        "drawings": [_drawn(drawing) for drawing in drawings],
        "tools": tools,
        "named": {name: as_value(name) for name in tools},
        "units": units,
        "thresholds": THRESHOLDS,
        "words": {name: say(words) for name, words in WORDS.items()},
    }


def _told_apart(tools: dict[str, dict[str, Any]]) -> None:
    """Of several instruments with one title their names say which is which."""
    alike = Counter(titled["title"] for titled in tools.values())
    for name, titled in tools.items():
        if alike[titled["title"]] > 1:
            titled["title"] += f" ({place(name)})"


def _table(due: Due, system: str, drawings: list[Drawing]) -> dict[str, Any]:
    assert due.asks is not None
    empty, asks = layout(due), due.asks
    drawing = bench_drawing(due.drawing, due.columns, due.positions)
    if drawing is None and len(due.positions) > 1:
        drawing = in_a_row(due.positions)
    if drawing is not None and drawing not in drawings:
        drawings.append(drawing)
    first, state = empty.lines()[:2], " ".join(due.state.split())
    names = [as_name(position) + ":" for position in due.positions]
    return {
        "feature": due.feature,
        "title": told(due.title),
        "kind": due.kind,
        "unit": asks.unit,
        "unitShown": "" if due.unit == "count" else unit_text(due.unit),
        "base": asks.base,
        "alike": asks.alike,
        "ends": asks.ends,
        "limitsOf": asks.limits,
        "largest": asks.largest,
        "groups": asks.groups,
        "moves": asks.moves,
        "readings": readings_words(due),
        "state": state,
        "stateLine": f"state: {as_value(state)}" if state else "",
        "limits": _limits(due, system),
        "instruments": due.instruments,
        "instrument": empty.instrument,
        "positions": due.positions,
        "columns": due.columns,
        "spokenPositions": [place(position) for position in due.positions],
        "spokenColumns": [_spoken(KINDS[due.kind].column_title(column)) for column in due.columns],
        "first": first,
        "named": names,
        "lead": max(len("columns:"), *(len(name) + 2 for name in names)),
        "quoted": as_value("  ".join(due.columns)).startswith('"'),
        "drawing": drawings.index(drawing) if drawing is not None else -1,
        "lit": {column: _lit_by(column) for column in due.columns},
    }


def _spoken(column: str) -> str:
    """A column as the page says it: front 60l by its plane and its direction, at_45 by its degrees."""
    plane, direction = plane_and_direction(column)
    split = plane and direction and place(column) == column.replace("_", " ")
    return f"{place(plane)} {direction}" if split and plane != "at" else column_words(column)


def _lit_by(column: str) -> list[str]:
    """What of a drawing shows a column: itself, or its plane and its direction."""
    return [column, *(name for name in plane_and_direction(column) if name and name != column)]


def _limits(due: Due, system: str) -> str:
    """The limits in one line, shown only beside what was read."""
    said = []
    for limit in due.limits:
        what, new, worn = limit_words(limit, due.unit, system)
        ends = [say("new {limits}", limits=new)] if new else []
        said.append(f"{what}: {', '.join([*ends, *([say('worn {worn}', worn=worn)] if worn else [])])}")
    return stop(capital("; ".join(said))) if said else ""


def _tool(tool: ToolShows, of: str) -> dict[str, Any]:
    """An instrument by the names that the script has for it, and in words."""
    kind, unit = told(Sentence(tool.kind)), unit_text(tool.unit)
    reach = f"{say('{first} to {last}', first=tool.said[0], last=tool.said[-1])} {unit}"
    known = {_camel(key): value for key, value in asdict(tool).items() if key not in ("said", "kind")}
    title = spoken().figures(f"{kind} {reach}, {tool.step}")
    return {**known, "base": of, "tool": kind, "title": title, "range": reach}


def _camel(name: str) -> str:
    first, *rest = name.split("_")
    return first + "".join(map(str.capitalize, rest))


def _drawn(drawing: Drawing) -> dict[str, Any]:
    return {
        "width": drawing.width,
        "height": drawing.height,
        "label": drawing.label,
        "paths": [(path.role, path.d) for path in drawing.paths if path.d],
        "labels": [(label.x, label.y, label.text, label.role, label.anchor) for label in drawing.labels],
        "lit": {path.role: path.d for path in drawing.lit},
    }
