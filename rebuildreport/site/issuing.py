"""Issuing: a document frozen as it leaves the shop, with one line in the job's register.

The document and what it rested on are put beside the register first, then the
register is exchanged for itself with one line more, by one rename: an issue
exists exactly when its line does.  Whatever a run that was cut off left behind
has no line, and the next issue takes its number.  Nothing that has a line is
ever written again.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from ..assess import Assessment, assess_job
from ..assess.freezing import basis as bases
from ..assess.freezing.changes import changes
from ..assess.model.assessment import IssueNote
from ..assess.money.asking import asked_of_customer
from ..documents.press import pdf
from ..documents.press.language import UnknownLanguage, language
from ..documents.press.photos import Prepared, prepare
from ..documents.press.standing_texts import TextProblem, of_the_shop
from ..documents.report.findings import on_paper
from ..documents.sheets import register
from ..quantities import Typed
from ..records import JobFolder, Problem, ShopFolder, load_shop
from ..records.files.issued import FOLDER, REGISTER, Issued, IssueRegister, read_register, sealed
from .history import last_commit

PROBLEMS, USAGE, LACKING = 1, 2, 3


def made(document: str, one: Assessment, photos: Mapping[str, Prepared], folder: Path, shop: Path) -> bytes:
    """The PDF of a document that can be issued; its photos lie in ``folder``."""
    sheet = register.named(document)
    return sheet.pdf(sheet.view(one, shop, on_paper(photos)), one, shop, folder)


@dataclass(frozen=True, slots=True)
class IssueResult:
    """How it ended: 0 issued; 1 refused (the files, or nothing changed); 2 wrong usage; 3 no PDFs here."""

    exit_status: int
    messages: tuple[str, ...] = ()
    issued: Issued | None = None
    problems: tuple[Problem, ...] = ()


def issue(shop_dir: Path, name: str, document: str, day: date) -> IssueResult:
    """Freeze one document of a job as its next issue, dated ``day``.

    Refused where the files have errors, where nothing changed since the same
    document was last issued, or where a later issue has an earlier date.
    Raises OSError where the disk fails; the register is then as it was.
    """
    folder = shop_dir / name / FOLDER
    if (shop_dir / name).is_dir():
        folder.mkdir(exist_ok=True)
    try:
        return _alone(shop_dir, name, document, day, folder)
    finally:
        with contextlib.suppress(OSError):
            folder.rmdir()  # refused, and nothing was ever issued: leave no empty folder


def _alone(shop_dir: Path, name: str, document: str, day: date, folder: Path) -> IssueResult:
    with locked(folder):
        loaded = load_shop(shop_dir, [name])
        job = loaded.jobs[name]
        errors = [p for p in loaded.all_problems if p.severity == "error"]
        if errors or loaded.shop is None or job.job is None:
            message = f"{name}: not issued, its files have errors"
            return IssueResult(PROBLEMS, (message,), None, tuple(errors))
        return _issue(loaded, job, document, day)


def _issue(loaded: ShopFolder, job: JobFolder, document: str, day: date) -> IssueResult:
    one = assess_job(loaded, job)
    lines = job.issued
    last, before = lines.last(), lines.last(document)
    if last is not None and day < last.date:
        message = f"issue {last.number} is dated {last.date}: a later one cannot be of {day}"
        return IssueResult(USAGE, (message,))
    try:
        now = _basis(loaded, job, one)
    except UnknownLanguage as slip:
        return IssueResult(PROBLEMS, (f"{job.name}: not issued: {slip}",))
    known = lines.basis(last.number) if last else None
    same_document = lines.basis(before.number) if before else None
    if before and same_document is not None and bases.same(same_document, now):
        message = f"{job.name}: nothing has changed since issue {before.number} ({document}, {before.date})"
        return IssueResult(PROBLEMS, (f"{message}: nothing issued",))
    say = language(one.language, loaded.path)
    changed = tuple(say.told(one) for one in changes(known, now)) if known is not None else ()
    if last is not None and known is None:
        changed = (say("What issue {number} rested on is lost: it cannot be compared.", number=last.number),)
    number = (last.number if last else max((old.issue for old in by_hand(job)), default=0)) + 1
    commit = str(last_commit(loaded.path, job.name, one.engine.name))
    spell = spell_of(one, day)
    note = IssueNote(number, document, day, spell, commit, tuple(map(Typed, changed)))
    if not pdf.available():
        missing = f"nothing issued: a PDF cannot be made here. apt-get install {' '.join(pdf.DEBIAN)}"
        return IssueResult(LACKING, (missing,))
    try:
        data, trouble = _document(loaded, job, replace(one, issue=note), document)
    except (TextProblem, UnknownLanguage) as slip:
        return IssueResult(PROBLEMS, (f"{job.name}: not issued: {slip}",))
    if trouble:
        message = f"{job.name}: not issued, a picture cannot be used"
        return IssueResult(PROBLEMS, (message,), None, tuple(trouble))
    frozen = bases.to_bytes(now)
    line = Issued(
        number=number,
        document=document,
        date=day,
        spell=spell,
        file=f"{number:03}-{document}.pdf",
        sha256=hashlib.sha256(data).hexdigest(),
        basis=f"{number:03}-{document}.json",
        basis_sha256=hashlib.sha256(frozen).hexdigest(),
        changed=changed,
        commit=commit,
        language=one.language,
        total=one.cost.total if one.cost.lines else None,
        minimum=one.cost.minimum,
    )
    folder = job.path / FOLDER
    put(folder / line.file, data)
    put(folder / line.basis, frozen)
    add_line(folder, lines, _as_data(line))
    said = [f"{job.name}: issue {number}, {document} of {day}: {folder / line.file}"]
    if day < one.as_of:
        said.append(f"{job.name}: it is dated {day}, and tells of {one.as_of}: was that day meant?")
    return IssueResult(0, tuple(said), line)


def by_hand(job: JobFolder) -> list[Any]:
    """Issues that a person listed in job.yaml: handed over on paper, before this register began."""
    return list(job.job.issued) if job.job else []


def spell_of(one: Assessment, day: date) -> int:
    """Which stay in the shop a day falls into: the newest that had begun."""
    return max((spell.number for spell in one.spells if spell.start <= day), default=1)


def photo_digests(job: JobFolder, one: Assessment) -> dict[str, str]:
    """Digests of the pictures that a document shows, by name."""
    found = {}
    for photo in one.photos:
        with contextlib.suppress(OSError):
            data = (job.path / photo.file).read_bytes() if photo.file else b""
            found[photo.name] = hashlib.sha256(data).hexdigest()[:16]
    return found


def _basis(loaded: ShopFolder, job: JobFolder, one: Assessment) -> dict[str, Any]:
    spoken = language(one.language, loaded.path)
    standing = of_the_shop(spoken, loaded.path)
    frozen = bases.basis(loaded, job, one, photo_digests(job, one), standing)
    frozen["said"]["needs"] = [str(spoken.told(need)) for need in asked_of_customer(one)]
    return frozen


def noted(loaded: ShopFolder, job: JobFolder, one: Assessment, document: str) -> Assessment:
    """A job with what the page of a document says of issues; as it is where that is never issued."""
    return replace(one, issue=note_of(loaded, job, one, document)) if document in register.ISSUED else one


def note_of(loaded: ShopFolder, job: JobFolder, one: Assessment, document: str) -> IssueNote:
    """What a page that is published now says of itself.

    The issue that it shows; where its document was not issued from these
    records, the newest issue of any, and whether the records are later.
    """
    commit = str(last_commit(loaded.path, job.name, one.engine.name))
    last, own = job.issued.last(), job.issued.last(document)
    if last is None:
        return IssueNote(None, commit=commit)
    try:
        now = _basis(loaded, job, one)
    except UnknownLanguage:  # told where it is published, in English meanwhile
        now = _basis(loaded, job, replace(one, language="en"))
    later = False
    for issued in (own, last):
        known = job.issued.basis(issued.number) if issued else None
        if issued and known is not None and bases.same(known, now):
            break
    else:
        issued, later = last, True
    changed = tuple(map(Typed, issued.changed))  # in the words that it was issued in
    return IssueNote(issued.number, issued.document, issued.date, issued.spell, commit, changed, later=later)


def _document(
    loaded: ShopFolder, job: JobFolder, one: Assessment, document: str
) -> tuple[bytes, list[Problem]]:
    trouble = []
    with tempfile.TemporaryDirectory(prefix="rebuildreport-issue-") as name:
        folder = Path(name)
        photos: dict[str, Prepared] = {}
        for photo in one.photos:
            if photo.file:
                prepared = prepare(job.path / photo.file, folder)
                if prepared.problem:
                    trouble.append(Problem(f"{job.name}/{photo.file}", 1, 1, "error", prepared.problem))
                else:
                    photos[photo.name] = prepared
        if trouble:
            return b"", trouble
        return made(document, one, photos, folder, loaded.path), []


# ------------------------------------------------------------------------------- the register


@contextlib.contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold a job's register alone while a line is added; the lock goes with the process."""
    try:
        import fcntl
    except ImportError:  # no such locks here: git will show two lines of one number
        yield
        return
    if not folder.is_dir():
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def put(path: Path, data: bytes) -> None:
    """Write a file that is there whole or not at all, and is on the disk when this returns."""
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with beside.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        _settle(path.parent)
    finally:
        beside.unlink(missing_ok=True)


def _settle(folder: Path) -> None:
    """Have a rename on the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def add_line(folder: Path, lines: IssueRegister, data: dict[str, Any]) -> None:
    """Add one line to a register that stands as it was read; what stood there stays, byte for byte."""
    path = folder / REGISTER
    before = path.read_bytes() if path.exists() else b""
    if before != lines.raw or (before and not before.endswith(b"\n")):
        raise OSError(f"{path} has changed while it was in use; nothing was added")
    line = sealed(before, json.dumps(data, ensure_ascii=False).encode())
    put(path, before + line + b"\n")


def _as_data(one: Issued) -> dict[str, Any]:
    return {
        "issue": one.number,
        "document": one.document,
        "date": one.date.isoformat(),
        "spell": one.spell,
        "total": None if one.total is None else str(one.total),
        "minimum": one.minimum,
        "changed": list(one.changed),
        "commit": one.commit,
        "language": one.language,
        "file": one.file,
        "sha256": one.sha256,
        "basis": one.basis,
        "basis_sha256": one.basis_sha256,
    }


def register_of(job: Path) -> IssueRegister:
    """The register as it stands on the disk now."""
    return read_register(job)[0]
