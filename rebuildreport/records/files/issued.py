"""The register of a job's issued documents: one line each, added to and never rewritten.

``issued/register.jsonl`` holds one line for each document that left the shop
and one for each time that it was sent (JSON Lines: one JSON object a line,
UTF-8, RFC 8259).  Beside it lie the documents themselves and, for each, what
it rested on, so that the next issue can say what changed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.json import decode

from ..text.problems import Problem, Severity

FOLDER, REGISTER = "issued", "register.jsonl"
SEAL_PRINTED = 12  # of its letters, on the document of the next issue
BASIS = "rebuildreport basis 4"  # form of what an issue rests on
ROWS = ("verdicts", "limits", "chosen", "readings", "rounds")  # what several things name: they, then the fact


class Issued(Struct, frozen=True, kw_only=True, rename={"number": "issue"}):
    """One document as it left the shop."""

    number: int
    document: str  # report, estimate, statement
    date: date
    spell: int  # 1, and one more for each time that the job was opened again
    total: Decimal | None = None
    minimum: bool = False
    changed: tuple[str, ...]  # against the issue before, in plain words
    commit: str = ""  # last commit that touched the job, its engine or the shop file
    language: str = "en"
    file: str  # beside the register
    sha256: str  # of that file
    basis: str  # file that holds what it rested on
    basis_sha256: str
    seal: str = ""  # of its line


class Sent(Struct, frozen=True, rename={"issue": "sent"}):
    """One time that an issued document was accepted by the mail server."""

    issue: int
    date: date
    to: tuple[str, ...]
    message_id: str
    accepted: str = ""  # the server's word


class IssueRegister(Struct, frozen=True):
    """What a job has issued and sent, in the order of the lines."""

    folder: Path | None = None
    issues: tuple[Issued, ...] = ()
    sent: tuple[Sent, ...] = ()
    raw: bytes = b""

    @property
    def seal(self) -> str:
        """The seal of the newest line; '' where it has none."""
        return _parted(self.raw.removesuffix(b"\n").rpartition(b"\n")[2])[1]

    def last(self, document: str = "") -> Issued | None:
        """The newest issue, of one kind of document where it is named."""
        found = [one for one in self.issues if document in ("", one.document)]
        return found[-1] if found else None

    def find(self, number: int) -> Issued | None:
        """An issue by its number."""
        return next((one for one in self.issues if one.number == number), None)

    def basis(self, number: int) -> dict[str, Any] | None:
        """What an issue rested on; None where there is no such issue or its file is lost or damaged."""
        one = self.find(number)
        if one is None or self.folder is None:
            return None
        try:
            data = (self.folder / one.basis).read_bytes()
            if hashlib.sha256(data).hexdigest() != one.basis_sha256:
                return None
            found = json.loads(data)
        except (OSError, ValueError, RecursionError):
            return None
        try:
            return of_now(found) if isinstance(found, dict) else None
        except (KeyError, TypeError, ValueError, AttributeError):
            return None


def of_now(found: dict[str, Any]) -> dict[str, Any]:
    """A basis that was frozen in form 2 or 3 in that of now: what was issued stays as it was sealed.

    Both had as key of a line its number, "consumable", or its kind and words joined, and joined a round and
    its table; form 2 joined whatever several things name, too.
    """
    form = found.get("form")
    if form not in _OLDER:
        return found
    rows = {head: found[head] for head in ROWS}
    if form == _OLDER[0]:
        rows = {head: [[*key.split("|"), fact] for key, fact in rows[head].items()] for head in ROWS}
    for head in ("verdicts", "limits"):
        rows[head] = [[*of, *_round_and_table(place), fact] for *of, place, fact in rows[head]]
    keys = {line["key"]: _line_key(line["key"], line["group"]) for line in found["lines"]}
    lines = [{**line, **keys[line["key"]]} for line in found["lines"]]
    for line in lines:
        del line["key"]
    said = found["said"]
    names = [[*keys[key].values(), name] for key, name in said["lines"].items()]
    return {**found, **rows, "lines": lines, "said": {**said, "lines": names}, "form": BASIS}


_OLDER = ("rebuildreport basis 2", "rebuildreport basis 3")


def _round_and_table(place: str) -> tuple[str, str]:
    name, _, table = place.partition("/")
    return name, table


def _line_key(key: str, group: str) -> dict[str, str]:
    worded = key.startswith(f"{group}: ")
    number = "" if worded or key == group else key
    return {"group": group, "number": number, "words": key.removeprefix(f"{group}: ") if worded else ""}


def read_register(job: Path) -> tuple[IssueRegister, list[Problem]]:
    """The register of a job's folder and what is wrong with it; empty where nothing was issued.

    Every line is read, and every document held against the hash that its line
    states: what was issued must still be what it was.
    """
    folder = job / FOLDER
    name = f"{job.name}/{FOLDER}/{REGISTER}"
    try:
        raw = (folder / REGISTER).read_bytes()
    except FileNotFoundError:
        return IssueRegister(folder), []
    except OSError as problem:
        return IssueRegister(folder), [Problem(name, 1, 1, "error", f"cannot be read: {problem.strerror}")]
    issues: list[Issued] = []
    sent: list[Sent] = []
    problems: list[Problem] = []
    lines = raw.decode("utf-8", "replace").split("\n")
    if lines[-1]:
        message = "the last line is not whole: its writing was cut off"
        problems.append(Problem(name, len(lines), 1, "error", message, lines[-1][:200]))
    for number, text in enumerate(lines[:-1], 1):
        try:
            data = json.loads(text)
            if "sent" in data:
                sent.append(decode(text, type=Sent))
                continue
            issues.append(_plain(decode(text, type=Issued)))
        except (ValueError, TypeError, RecursionError):
            message = "this line of the register is damaged; it is never to be edited"
            problems.append(Problem(name, number, 1, "error", message, text[:200]))
            continue
        seal = IssueRegister(raw="\n".join(lines[: number - 1]).encode()).seal
        for severity, message, hint in _changed_since(folder, issues, seal):
            problems.append(Problem(name, number, 1, severity, message, text[:200], hint))
    problems += [*_broken_seals(raw, name), *_cut_off(folder, issues, name)]
    return IssueRegister(folder, tuple(issues), tuple(sent), raw), problems


def sealed(before: bytes, line: bytes) -> bytes:
    """A line (one JSON object, no line end) with its seal behind what stands in the register ``before`` it.

    >>> first = sealed(b"", b'{"issue": 1}')
    >>> first[:24], len(first)
    (b'{"issue": 1, "seal": "ae', 88)
    """
    return line.removesuffix(b"}") + _SEAL + _seal(before, line).encode() + b'"}'


_SEAL = b', "seal": "'


def _parted(line: bytes) -> tuple[bytes, str]:
    """A line without its seal, and that; '' where it has none."""
    body, seal, rest = line.rstrip(b"\r").rpartition(_SEAL)
    return (body + b"}", rest.removesuffix(b'"}').decode("ascii", "replace")) if seal else (line, "")


def _seal(before: bytes, body: bytes) -> str:
    """The hash of a line and of the seal before it, or of everything before it where that has none."""
    last = before.removesuffix(b"\n").rpartition(b"\n")[2]
    bound = _parted(last)[1].encode() or before
    return hashlib.sha256(bound + b"\n" + body).hexdigest()


def _broken_seals(raw: bytes, name: str) -> list[Problem]:
    """Lines that are not what was written, and the first that does not follow from the one before it.

    Lines from before there were seals have none; behind a sealed one there is no such line.
    """
    found: list[Problem] = []
    before, last = b"", ""
    for number, line in enumerate(raw.split(b"\n")[:-1], 1):
        body, seal = _parted(line)
        message = ""
        if not seal and last:
            message = "this line has no seal, and the one before it has: it was not written by the tool"
        elif seal and seal != _seal(before, body):
            message = "this line, or what stands before it, was changed after it was written: its seal is "
            message += "broken"
        if message:
            quote = line.decode("utf-8", "replace")[:200]
            found.append(Problem(name, number, 1, "error", message, quote, "get it back from the history"))
        before, last = before + line + b"\n", seal
    return found


def _plain(one: Issued) -> Issued:
    """An issue whose files lie beside the register, and whose total is a sum; else ValueError."""
    for name in (one.file, one.basis):
        if not name or not name.isprintable() or Path(name).name != name or name.startswith("."):
            raise ValueError(name)
    if one.total is not None and not one.total.is_finite():
        raise ValueError(one.total)
    return one


def _cut_off(folder: Path, issues: list[Issued], name: str) -> list[Problem]:
    """Documents behind the last line: the register was cut off, or an issue never came to its line."""
    last = max((one.number for one in issues), default=0)
    found = sorted(path.name for path in folder.glob("[0-9][0-9][0-9]-*.pdf") if int(path.name[:3]) > last)
    message = "there is no line of '{}': the register was cut off, or its issue was"
    return [Problem(name, 1, 1, "warning", message.format(one)) for one in found]


def _changed_since(folder: Path, issues: list[Issued], seal: str) -> Iterator[tuple[Severity, str, str]]:
    """What of the last of some issues is no longer as it left; ``seal``: of the line before its own."""
    *before, one = issues
    issue, hint = f"issue {one.number}", "get it back from the history"
    if any(other.number >= one.number for other in before):
        yield "error", f"{issue} stands behind a later one: two people issued at once?", ""
    for file, wanted in ((one.file, one.sha256), (one.basis, one.basis_sha256)):
        try:
            digest = hashlib.sha256((folder / file).read_bytes()).hexdigest()
        except OSError:
            yield "warning", f"{issue}: its file '{file}' is gone", hint
            continue
        if digest != wanted:
            yield "error", f"{issue}: '{file}' is no longer what was issued", hint
    basis = IssueRegister(folder, (one,)).basis(one.number) or {}
    total = None if one.total is None else str(one.total)
    if basis.get("total", total) != total:
        yield "error", f"{issue}: the total of this line is not what was issued: {basis['total']}", hint
    if (after := _other_seal(basis, seal)) is not None:  # lines cut, or sealed anew
        message = f"{issue} came after the seal '{after}', and that is not the line before it: lines before "
        message += "it were taken out, or sealed anew"
        hint = f"the documents and mails that left name the seals: {hint}"
        yield "error", message, hint


def _other_seal(basis: dict[str, Any], seal: str) -> str | None:
    """The seal that a document names as the one before it, where that is another; else None."""
    said = basis.get("said")
    after = said.get("after") if isinstance(said, dict) else None
    return None if after is None or not seal or after == seal[:SEAL_PRINTED] else str(after)


def not_in(raw: bytes, number: int, sha256: str, after: str, seal: str) -> str:
    """Why a register (its bytes) is not the one that a document left by; '' where it is.

    ``number`` and ``after``, the seal before its line, stand in the document, ``sha256`` is its own;
    ``seal`` that of its line, as its mail names it, "" where nobody has it.
    """
    if problem := next(iter(_broken_seals(raw, "")), None):
        return f"line {problem.line} of the register: {problem.message}"
    before, issue = b"", f"issue {number}"
    for line in raw.splitlines(keepends=True):
        try:
            data = json.loads(line)
        except ValueError:
            data = None
        if isinstance(data, dict) and data.get("issue") == number:
            if data.get("sha256") != sha256:
                return f"{issue} of this register is another file: it was changed, or is of another job"
            if after and IssueRegister(raw=before).seal[:SEAL_PRINTED] != after:
                return f"the lines before {issue} are not those that it left behind: cut, or sealed anew"
            if seal and data.get("seal") != seal:
                return f"{issue} has another seal here than its mail names: the register was sealed anew"
            return ""
        before += line
    return f"this register has no {issue}: it was cut off, or is of another job"
