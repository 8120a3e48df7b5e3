"""Whether a document that comes back is what left the shop: one line, from its file alone."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from msgspec import Struct

from ...records.files.issued import not_in
from .anew import Wrong, short, unlike, worked_out
from .inside import LARGEST, inside


class Verified(Struct, frozen=True):
    """Whether a document is right, and the line that says so or why not."""

    right: bool
    said: str


def verify(path: Path, register: Path | None = None, seal: str = "") -> Verified:
    """Hold a PDF against what its own records give, and against the register that has it, where one is given.

    ``seal`` is that of its line, as the mail names it.  Raises OSError where a file cannot be read.
    """
    try:
        with path.open("rb") as file:
            head = file.read(1024)
        if b"%PDF-" not in head:
            raise Wrong("it is no PDF")
        if path.stat().st_size > LARGEST:
            raise Wrong("it is larger than any document of ours")
        held = inside(path)
        if "wrong" in held:
            raise Wrong(held["wrong"])
        said = _signed(held["signatures"])
        stated = _belonging(held["files"])
        if register is not None:
            said.append(_registered(path, stated, register, seal))
        return Verified(True, "; ".join([_verified(held, stated), *said]))
    except Wrong as wrong:
        return Verified(False, str(wrong))


def _verified(held: dict[str, Any], stated: dict[str, Any]) -> str:
    extract = json.loads(held["files"]["extract.json"])
    return worked_out(held) if "form" in extract else _of_old(extract, stated, held["words"])


def _read(files: dict[str, str], name: str) -> dict[str, Any]:
    if name not in files:
        raise Wrong(
            f"it carries no {name}, so nothing can be worked out: only what was issued and a report do; "
            "or it is older than those that do, of another program, or came through one that drops it"
        )
    try:
        found = json.loads(files[name])
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise Wrong(f"its {name} is damaged")
    return found


def _belonging(files: dict[str, str]) -> dict[str, Any]:
    """What the results state; refused where the extract is of another job or engine."""
    extract, results = (_read(files, name) for name in ("extract.json", "results.json"))
    stated = results.get("assessment")
    if not isinstance(stated, dict) or not isinstance(stated.get("characteristics"), list):
        raise Wrong("its results.json is none of ours")
    job = extract.get("records", {}).get("job", {}) if isinstance(extract.get("records"), dict) else {}
    title = extract.get("title", job.get("title") if isinstance(job, dict) else None)
    if (extract.get("job"), title) != (stated.get("job"), stated.get("title")):
        raise Wrong(
            f"its extract does not belong to it: that is of {short(extract.get('job'))}, "
            f"its results of {short(stated.get('job'))}"
        )
    return stated


def _of_old(extract: dict[str, Any], stated: dict[str, Any], words: str) -> str:
    """A document from before extracts held the records: its two files and its words are held together."""
    for name in ("tables", "characteristics"):
        if next(unlike(extract.get(name), stated.get(name), name), None):
            raise Wrong(f"its extract and its results differ in their {name}: one of them was changed")
    if not stated["title"] or str(stated["job"]) not in " ".join(words.split()):
        raise Wrong("its words are of another job than its results")
    return (
        "its extract, its results and its words are of one document; it is from before extracts held the "
        "records, so nothing can be worked out anew"
    )


def _signed(signatures: list[dict[str, Any]] | None) -> list[str]:
    """Who signed, for the line; refused where what he signed is not what stands there."""
    if signatures is None:
        return ["it is signed; by whom can be told where pyHanko is installed"]
    said = []
    for one in signatures:
        who = f"{one['by'] or 'somebody without a name'} (key {one['key']})"
        # what was added to a signed document must be a signature of all of it, as a customer's may be
        if not one["sound"] or not signatures[-1]["whole"]:
            raise Wrong(f"it was changed after it was signed by {who}")
        after = "nothing was changed after" if one["whole"] else "the next who signed added to it"
        said.append(f"signed by {who}, and {after}: ask the shop whether that is its key")
    return said


def _registered(path: Path, stated: dict[str, Any], register: Path, seal: str) -> str:
    """That its line stands in a register, behind the lines that stood there when it was issued."""
    note = stated.get("issue")
    number, after = (note.get("number"), note.get("after", "")) if isinstance(note, dict) else (None, "")
    if not isinstance(number, int) or not isinstance(after, str):
        raise Wrong("it names no number of an issue: no register has it")
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    if problem := not_in(register.read_bytes(), number, digest, after, seal):
        raise Wrong(problem)
    return f"it is issue {number} of this register" + (", with this seal" if seal else "")
