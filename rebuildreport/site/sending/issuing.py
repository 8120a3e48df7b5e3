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
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct, to_builtins
from msgspec.structs import replace

from ...assess import Assessment, assess_for_documents
from ...assess.freezing import basis as bases
from ...assess.freezing.changes import changes
from ...assess.model.assessment import IssueNote
from ...assess.money.asking import asked_of_customer
from ...documents.press import pdf
from ...documents.press.language import UnknownLanguage, language
from ...documents.press.photos import Prepared, prepare
from ...documents.press.standing_texts import TextProblem, of_the_shop
from ...documents.report.findings import on_paper
from ...documents.report.view import carried
from ...documents.sheets import register
from ...quantities import Typed
from ...records import JobFolder, Problem, ShopFolder, load_shop
from ...records.files.issued import FOLDER, REGISTER, SEAL_PRINTED, Issued, IssueRegister, Sent, sealed
from ..disk.commits import Commit, last_commit
from . import signing

PROBLEMS, USAGE, LACKING = 1, 2, 3
# why a job has no such document at its stage
_NOT_THERE = {
    "estimate": "its work is finished or declined, and no estimate holds any more: issue the final statement",
    "statement": "its work is neither finished nor declined: until then an estimate is issued",
    "measurement-record": "nothing is measured yet",
}


def made(document: str, one: Assessment, photos: Mapping[str, Prepared], folder: Path, shop: Path) -> bytes:
    """The PDF of a document that can be issued; its photos lie in ``folder``.

    Whatever leaves carries its records and results.  A page that is only published has them in its report:
    in all of its documents they would have each made again for every reading.
    """
    sheet = register.named(document)
    paper = sheet.paper(sheet.view(one, shop, on_paper(photos)), one, shop, folder)
    there = {file.name for file in paper.attachments}
    more = [file for file in carried(one) if file.name not in there]
    return replace(paper, attachments=(*paper.attachments, *more)).pdf()


class IssueResult(Struct, frozen=True):
    """How it ended: 0 issued; 1 refused (the files, or nothing changed); 2 wrong usage; 3 no PDFs here."""

    exit_status: int
    messages: tuple[str, ...] = ()
    issued: Issued | None = None
    problems: tuple[Problem, ...] = ()


def issue(
    shop_dir: Path, name: str, document: str, day: date, ask: signing.Ask = lambda: None
) -> IssueResult:
    """Freeze one document of a job as its next issue, dated ``day``.

    Refused where the files have errors, where nothing changed since the same
    document was last issued, or where a later issue has an earlier date.
    Raises OSError where the disk fails; the register is then as it was.
    """
    folder = shop_dir / name / FOLDER
    if (shop_dir / name).is_dir():
        folder.mkdir(exist_ok=True)
    try:
        with locked(folder):
            return _alone(shop_dir, name, document, day, ask)
    finally:
        with contextlib.suppress(OSError):
            folder.rmdir()  # refused, and nothing was ever issued: leave no empty folder


def _alone(shop_dir: Path, name: str, document: str, day: date, ask: signing.Ask) -> IssueResult:
    loaded = load_shop(shop_dir, [name])
    job = loaded.jobs[name]
    errors = [p for p in loaded.all_problems if p.severity == "error"]
    if errors or loaded.shop is None or job.job is None:
        message = f"{name}: not issued, its files have errors"
        return IssueResult(PROBLEMS, (message,), None, tuple(errors))
    return _issue(loaded, job, document, day, ask)


class _Refused(Exception):
    """Why nothing is issued."""

    def __init__(self, status: int, message: str, problems: Sequence[Problem] = ()) -> None:
        super().__init__(message)
        self.result = IssueResult(status, (message,), None, tuple(problems))


def _issue(loaded: ShopFolder, job: JobFolder, document: str, day: date, ask: signing.Ask) -> IssueResult:
    assessment = assess_for_documents(loaded, job)
    try:
        frozen = _frozen_now(loaded, job, assessment, document, day)
        changed = _changed(loaded, job, assessment, frozen)
        note = IssueNote(
            _next_number(job),
            document,
            day,
            spell_of(assessment, day),
            str(last_commit(loaded.path, job.name, assessment.engine.name)),
            tuple(map(Typed, changed)),
            after=job.issued.seal[:SEAL_PRINTED],
        )
        key = _key(loaded, ask)
        data = _document(loaded, job, replace(assessment, issue=note), document)
        if key is not None:
            say = language(assessment.language, loaded.path)
            data = key.signed(data, say("Signature of {shop}", shop=assessment.shop), say.code)
    except (TextProblem, UnknownLanguage) as slip:
        return IssueResult(PROBLEMS, (f"{job.name}: not issued: {slip}",))
    except _Refused as refused:
        return refused.result
    line = _put_down(job, assessment, note, (data, bases.to_bytes(frozen)), changed)
    said = [f"{job.name}: issue {line.number}, {document} of {day}: {job.path / FOLDER / line.file}"]
    if key is not None:
        said.append(f"{job.name}: signed by {key}")
    if day < assessment.as_of:
        said.append(f"{job.name}: it is dated {day}, and tells of {assessment.as_of}: was that day meant?")
    return IssueResult(0, tuple(said), line)


def _key(loaded: ShopFolder, ask: signing.Ask) -> signing.Key | None:
    """The key that the shop signs with; refused where it names one that cannot be used."""
    if loaded.shop is None or not loaded.shop.signing_key:
        return None
    try:
        return signing.opened(loaded.path, loaded.shop.signing_key, ask)
    except signing.NotSigned as problem:
        raise _Refused(LACKING if problem.lacking else PROBLEMS, f"nothing issued: {problem}") from None


def _frozen_now(
    loaded: ShopFolder, job: JobFolder, assessment: Assessment, document: str, day: date
) -> dict[str, Any]:
    """What it would rest on; refused where the job has no such document, the day is past, nothing changed."""
    if not register.named(document).wanted(assessment):
        why = _NOT_THERE[document]
        if document != "measurement-record" and not assessment.cost.lines:
            why = "nothing of it costs anything yet"
        raise _Refused(PROBLEMS, f"{job.name}: {why}: nothing issued")
    last, before = job.issued.last(), job.issued.last(document)
    if last is not None and day < last.date:
        words = f"issue {last.number} is dated {last.date}: a later one cannot be of {day}"
        raise _Refused(USAGE, words)
    now = _basis(loaded, job, assessment)
    if before and _rests_on(job, before, now):
        words = f"nothing has changed since issue {before.number} ({document}, {before.date})"
        raise _Refused(PROBLEMS, f"{job.name}: {words}: nothing issued")
    return now


def _changed(
    loaded: ShopFolder, job: JobFolder, assessment: Assessment, now: dict[str, Any]
) -> tuple[str, ...]:
    """What changed since the last issue of any document, in the words of the job's language."""
    last = job.issued.last()
    if last is None:
        return ()
    say = language(assessment.language, loaded.path)
    known = job.issued.basis(last.number)
    if known is None:
        return (say("What issue {number} rested on is lost: it cannot be compared.", number=last.number),)
    return tuple(say.told(change) for change in changes(known, now))


def _next_number(job: JobFolder) -> int:
    last = job.issued.last()
    return 1 + (last.number if last else max((old.issue for old in by_hand(job)), default=0))


def _put_down(
    job: JobFolder,
    assessment: Assessment,
    note: IssueNote,
    made: tuple[bytes, bytes],
    changed: tuple[str, ...],
) -> Issued:
    """The document and what it rests on beside the register, then its line."""
    assert note.number is not None and note.date is not None
    document, basis = made
    name = f"{note.number:03}-{note.document}"
    line = Issued(
        number=note.number,
        document=note.document,
        date=note.date,
        spell=note.spell,
        file=f"{name}.pdf",
        sha256=hashlib.sha256(document).hexdigest(),
        basis=f"{name}.json",
        basis_sha256=hashlib.sha256(basis).hexdigest(),
        changed=changed,
        commit=note.commit,
        language=assessment.language,
        total=assessment.cost.total if assessment.cost.lines else None,
        minimum=assessment.cost.minimum,
    )
    folder = job.path / FOLDER
    put(folder / line.file, document)
    put(folder / line.basis, basis)
    add_line(folder, job.issued, line)
    return line


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
    frozen["said"]["after"] = job.issued.seal[:SEAL_PRINTED]
    frozen["said"]["needs"] = [str(spoken.told(need)) for need in asked_of_customer(one)]
    return frozen


def noted(loaded: ShopFolder, job: JobFolder, one: Assessment, document: str, commit: Commit) -> Assessment:
    """A job with what the page of a document says of issues; as it is where that is never issued."""
    if document not in register.ISSUED:
        return one
    return replace(one, issue=note_of(loaded, job, one, document, str(commit)))


def note_of(loaded: ShopFolder, job: JobFolder, one: Assessment, document: str, commit: str) -> IssueNote:
    """What a page that is published now says of itself.

    The issue that it shows; where its document was not issued from these
    records, the newest issue of any, and whether the records are later.
    """
    last, own = job.issued.last(), job.issued.last(document)
    if last is None:
        return IssueNote(None, commit=commit)
    try:
        now = _basis(loaded, job, one)
    except UnknownLanguage:  # told where it is published, in English meanwhile
        now = _basis(loaded, job, replace(one, language="en"))
    shown = next((issue for issue in (own, last) if issue and _rests_on(job, issue, now)), None)
    issue = shown or last
    changed = tuple(map(Typed, issue.changed))  # in the words that it was issued in
    later = shown is None
    return IssueNote(issue.number, issue.document, issue.date, issue.spell, commit, changed, later=later)


def _rests_on(job: JobFolder, issue: Issued, now: dict[str, Any]) -> bool:
    known = job.issued.basis(issue.number)
    return known is not None and bases.same(known, now)


def _document(loaded: ShopFolder, job: JobFolder, assessment: Assessment, document: str) -> bytes:
    """The PDF; refused where this machine makes none, or a picture cannot be used."""
    if not pdf.available():
        missing = f"nothing issued: a PDF cannot be made here. apt-get install {' '.join(pdf.DEBIAN)}"
        raise _Refused(LACKING, missing)
    with tempfile.TemporaryDirectory(prefix="rebuildreport-issue-") as name:
        folder = Path(name)
        prepared = {
            photo.name: (photo.file, prepare(job.path / photo.file, folder))
            for photo in assessment.photos
            if photo.file
        }
        trouble = [
            Problem(f"{job.name}/{file}", 1, 1, "error", photo.problem)
            for file, photo in prepared.values()
            if photo.problem
        ]
        if trouble:
            raise _Refused(PROBLEMS, f"{job.name}: not issued, a picture cannot be used", trouble)
        photos = {photo: ready for photo, (_, ready) in prepared.items()}
        return made(document, assessment, photos, folder, loaded.path)


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


def add_line(folder: Path, lines: IssueRegister, added: Issued | Sent) -> None:
    """Add one line to a register that stands as it was read; what stood there stays, byte for byte."""
    path = folder / REGISTER
    before = path.read_bytes() if path.exists() else b""
    if before != lines.raw or (before and not before.endswith(b"\n")):
        raise OSError(f"{path} has changed while it was in use; nothing was added")
    data = to_builtins(added)
    data.pop("seal", None)  # comes behind it
    line = sealed(before, json.dumps(data, ensure_ascii=False).encode())
    put(path, before + line + b"\n")
