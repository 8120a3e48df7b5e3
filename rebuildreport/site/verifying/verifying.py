"""Whether the numbers of a document are what its records give, worked out anew by this version.

What is worked out from the records alone is held against the results that the document carries: values, their
uncertainties, limits and verdicts, readings, loads.  What rests on prices or on the shop's shelf (the cost,
which part was chosen) is not: those records do not leave the shop.  Then the values that the report prints
are looked for among its words.
"""

from __future__ import annotations

import json
import math
import re
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ... import __version__
from ...assess import Assessment, assess_for_documents
from ...assess.publishing.extract import NoExtract, written_out
from ...assess.publishing.results import results_json
from ...documents.drawings.scales import limit_text
from ...documents.press.language import UnknownLanguage, language, speaking
from ...documents.press.words import value
from .inside import LARGEST, inside

# of results.json, what the records of the extract alone give
PROVEN = (
    "engine",
    "decision_rule",
    "rounds",
    "features",
    "characteristics",
    "summary",
    "tables",
    "paper_tables",
    "instruments",
    "deviations",
    "complaint_lines",
    "loads",
)
# who signed stands in the extract by the part that he played; a line of a file is another one in another file
ASIDE = frozenset({"by", "signed", "file", "line"})
# version: what it works out otherwise than the one before, for whoever holds a document of an older one
CHANGED: dict[str, str] = {}
_MINE = f"rebuildreport {__version__}"


@dataclass(frozen=True, slots=True)
class Verified:
    """Whether a document is right, and the line that says so or why not."""

    right: bool
    said: str


class _Wrong(Exception):
    """Why a document is not right."""


def verify(path: Path) -> Verified:
    """Hold a PDF against what its own records give.  Raises OSError where it cannot be read."""
    try:
        with path.open("rb") as file:
            head = file.read(1024)
        if b"%PDF-" not in head:
            raise _Wrong("it is no PDF")
        if path.stat().st_size > LARGEST:
            raise _Wrong("it is larger than any document of ours")
        return Verified(True, _verified(path))
    except _Wrong as wrong:
        return Verified(False, str(wrong))


def _verified(path: Path) -> str:
    held = inside(path)
    if "wrong" in held:
        raise _Wrong(held["wrong"])
    extract, results = (_read(held["files"], name) for name in ("extract.json", "results.json"))
    stated = results.get("assessment")
    if not isinstance(stated, dict) or not isinstance(stated.get("characteristics"), list):
        raise _Wrong("its results.json is none of ours")
    _belong(extract, stated)
    if "form" not in extract:
        return _of_old(extract, stated, held["words"])
    made_by = str(results.get("made_by"))[:60]
    one = _anew(extract)
    now = json.loads(results_json(one))["assessment"]
    differences = list(_differences(now, stated))
    if differences:
        where, should, states = differences[0]
        raise _Wrong(
            f"{len(differences)} of its results differ from what its records give, the first: {where} is "
            f"{_short(states)} and should be {_short(should)}: {_why(made_by)}"
        )
    printed = _printed(one, held["words"])
    many = len(now["characteristics"])
    return (
        f"right: {many} values of its records, worked out anew by {_MINE}, are its results, and "
        f"{printed} values in its words are these"
    )


def _read(files: dict[str, str], name: str) -> dict[str, Any]:
    if name not in files:
        raise _Wrong(
            f"it carries no {name}: it is no report of this program, or came through one that drops it"
        )
    try:
        found = json.loads(files[name])
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise _Wrong(f"its {name} is damaged")
    return found


def _belong(extract: dict[str, Any], stated: dict[str, Any]) -> None:
    """An extract of another job or engine says nothing of this document."""
    job = extract.get("records", {}).get("job", {}) if isinstance(extract.get("records"), dict) else {}
    title = extract.get("title", job.get("title") if isinstance(job, dict) else None)
    if (extract.get("job"), title) != (stated.get("job"), stated.get("title")):
        raise _Wrong(
            f"its extract does not belong to it: that is of {_short(extract.get('job'))}, "
            f"its results of {_short(stated.get('job'))}"
        )


def _anew(extract: dict[str, Any]) -> Assessment:
    with tempfile.TemporaryDirectory(prefix="rebuildreport-verify-") as name:
        try:
            return assess_for_documents(*written_out(extract, Path(name)))
        except NoExtract as problem:
            raise _Wrong(str(problem)) from problem
        except Exception as problem:  # records that nobody typed, or damaged ones
            raise _Wrong(f"the records of its extract give no results: {type(problem).__name__}") from problem


def _of_old(extract: dict[str, Any], stated: dict[str, Any], words: str) -> str:
    """A document from before extracts held the records: its two files and its words are held together."""
    for name in ("tables", "characteristics"):
        if next(_unlike(extract.get(name), stated.get(name), name), None):
            raise _Wrong(f"its extract and its results differ in their {name}: one of them was changed")
    if not stated["title"] or str(stated["job"]) not in " ".join(words.split()):
        raise _Wrong("its words are of another job than its results")
    return (
        "its extract, its results and its words are of one document; it is from before extracts held the "
        "records, so nothing can be worked out anew"
    )


def _differences(now: dict[str, Any], stated: dict[str, Any]) -> Iterator[tuple[str, Any, Any]]:
    for name in PROVEN:
        yield from _unlike(now.get(name), stated.get(name), name)


def _unlike(one: Any, other: Any, where: str) -> Iterator[tuple[str, Any, Any]]:
    """Where two differ, by path; a number by more than a machine's last digits."""
    if isinstance(one, dict) and isinstance(other, dict):
        for name in sorted(one.keys() | other.keys()):
            if name not in ASIDE:
                yield from _unlike(one.get(name), other.get(name), f"{where} {name}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for number, (mine, theirs) in enumerate(zip(one, other, strict=True), 1):
            yield from _unlike(mine, theirs, f"{where} {_named(theirs) or number}")
    elif isinstance(one, float) and isinstance(other, (int, float)):
        if not math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-8):
            yield where, one, other
    elif one != other:
        yield where, one, other


def _named(item: Any) -> str:
    """A value by its feature, its name and its place."""
    if not isinstance(item, dict):
        return ""
    return " ".join(str(item[key]) for key in ("feature", "name", "position") if item.get(key))


def _why(made_by: str) -> str:
    if made_by == _MINE:
        return "the results or the extract were changed after it was made"
    changes = "; ".join(f"{version}: {what}" for version, what in CHANGED.items())
    return f"it was made by {made_by}, this is {_MINE}" + (f"; changed since: {changes}" if changes else "")


_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def _printed(one: Assessment, words: str) -> int:
    """How many values of page one and the findings stand among the words; refused where one does not."""
    wanted: Counter[str] = Counter()
    limits: set[str] = set()  # two values of one scale share theirs
    try:
        with speaking(language(one.language, None)):
            for measured in filter(None, map(one.find, _shown(one))):
                if (shown := value(measured, one.system)) is not None:
                    wanted.update(_NUMBER.findall(shown.text))
                    limits.update(_NUMBER.findall(limit_text(measured, one.system)))
    except UnknownLanguage as problem:
        raise _Wrong(str(problem)) from problem
    wanted |= Counter(limits)
    there = Counter(_NUMBER.findall(words))
    for number, times in wanted.items():
        if there[number] < times:
            found = f"stands there {there[number]} times, and should {times} times"
            raise _Wrong(f"its words were changed: {number} {found}")
    return wanted.total()


def _shown(one: Assessment) -> Iterator[str]:
    for line in one.complaint_lines:
        yield from (key for key in (line.first, line.now) if key)
    for finding in one.findings:
        yield from finding.shows


def _short(thing: Any) -> str:
    text = json.dumps(thing, ensure_ascii=False, default=str)
    return text if len(text) < 60 else f"{text[:57]}..."
