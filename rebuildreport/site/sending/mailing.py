"""The mail of an issued document: written as a draft, or sent and noted in the register."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from msgspec import Struct

from ...assess.model.enginefacts import engine_name
from ...documents.press.language import UnknownLanguage, language
from ...documents.press.standing_texts import TextProblem
from ...documents.sheets import letter
from ...documents.sheets.letter import Envelope, LetterProblem
from ...records import JobFolder, Problem, ShopFolder, load_shop
from ...records.files.issued import FOLDER, Issued, Sent, read_register
from ...records.files.jobfile import Job, Owner
from ...records.files.shop import Shop
from ..disk import folders
from . import issuing, posting

PROBLEMS, USAGE, LACKING = 1, 2, 3


class MailResult(Struct, frozen=True):
    """How it ended: 0 written or accepted; 1 files or refused; 2 usage; 3 server, line or password."""

    exit_status: int
    messages: tuple[str, ...]
    problems: tuple[Problem, ...] = ()


class Wanted(Struct, frozen=True):
    """What is asked for: which issue, to whom besides, whether to send, and where a draft goes."""

    number: int | None = None
    to: tuple[str, ...] = ()  # in place of the addresses of the job
    send: bool = False
    again: bool = False
    out: Path | None = None


def mail(shop_dir: Path, name: str, wanted: Wanted, now: datetime) -> MailResult:
    """Write the mail of an issue as a draft, or send it; ``now`` dates what is sent."""
    loaded = load_shop(shop_dir, [name])
    job = loaded.jobs[name]
    _, register_problems = read_register(job.path)
    broken = [one for one in register_problems if one.severity == "error"]
    if loaded.shop is None or job.job is None or broken:
        wrong = broken or [one for one in loaded.all_problems if one.severity == "error"]
        return MailResult(PROBLEMS, (f"{name}: no mail is made, its files have errors",), tuple(wrong))
    if loaded.shop.mail is None:
        said = "add to shop.yaml: 'mail:' and beneath it 'sender: Name <shop@example.invalid>'"
        return MailResult(PROBLEMS, (f"no address that mail comes from is on file: {said}",))
    issue = job.issued.find(wanted.number) if wanted.number is not None else job.issued.last()
    if issue is None:
        return MailResult(USAGE, (_nothing(name, wanted.number, job),))
    try:
        return _mail(loaded, job, issue, wanted, now)
    except (LetterProblem, TextProblem, UnknownLanguage) as problem:
        return MailResult(PROBLEMS, (f"{name}: no mail is made: {problem}",))


def _nothing(name: str, number: int | None, job: JobFolder) -> str:
    if number is None:
        return f"{name}: nothing was issued yet: rebuildreport issue {name}"
    there = ", ".join(str(one.number) for one in job.issued.issues) or "none"
    return f"{name}: there is no issue {number}; there are: {there}"


def _mail(loaded: ShopFolder, job: JobFolder, issue: Issued, wanted: Wanted, now: datetime) -> MailResult:
    shop, record = loaded.shop, job.job
    assert shop is not None and record is not None and shop.mail is not None
    basis = job.issued.basis(issue.number)
    if basis is None:
        return MailResult(PROBLEMS, (f"{job.name}: what issue {issue.number} rested on is lost",))
    envelope = _envelope(shop, record, wanted)
    further = [_newest(job, name) for name in shop.mail.enclose if name != issue.document]
    spoken = language(issue.language, loaded.path)
    sent = _enclosed(job, issue)
    made = letter.message(sent, envelope, basis, spoken, _heads(loaded, job), loaded.path, further)
    if not wanted.send:
        path = wanted.out or Path("site") / "mail" / f"{job.name}-{issue.number:03}-{issue.document}.eml"
        folders.write_whole(path, bytes(made))
        return MailResult(0, (f"{job.name}: draft of the mail for issue {issue.number}: {path}",))
    with issuing.locked(job.path / FOLDER):
        return _send(
            loaded, job, issue, envelope, letter.as_sent(made, now), str(made["Message-ID"]), wanted, now
        )


def _envelope(shop: Shop, record: Job, wanted: Wanted) -> Envelope:
    """From whom, and to whom: as asked for, else the owner's addresses."""
    assert shop.mail is not None
    to = list(wanted.to)
    if not to and record.owner:
        to = letter.addresses(record.owner.contact)
    if not to:
        raise LetterProblem("no address: write one under 'owner: contact:' in job.yaml, or say --to")
    sender = letter.address(shop.mail.sender)
    return Envelope(sender, tuple(letter.address(one) for one in to), shop.mail.copy_to)


def _heads(loaded: ShopFolder, job: JobFolder) -> dict[str, str]:
    """What the mail says of job, customer, engine and shop."""
    shop, record = loaded.shop, job.job
    assert shop is not None and record is not None and shop.mail is not None
    owner = record.owner or Owner(name="")
    sheet = loaded.engines.get(record.engine)
    engine = engine_name(sheet.model.maker, sheet.model.model) if sheet and sheet.model else record.engine
    reach = ", ".join(filter(None, (shop.telephone, shop.email))) or shop.contact
    return {
        "job": job.name,
        "name": owner.name,
        "engine": ", ".join(filter(None, (engine, owner.serial, owner.registration))),
        "shop": shop.name,
        "address": ", ".join(filter(None, (shop.address, shop.registration))) or shop.contact,
        "contact": reach,
        "link": shop.mail.link.replace("{job}", job.name),
    }


def _enclosed(job: JobFolder, issue: Issued) -> letter.Enclosed:
    """An issue with its document; LetterProblem where that is not what was issued."""
    path = job.path / FOLDER / issue.file
    document = path.read_bytes() if path.is_file() else b""
    if hashlib.sha256(document).hexdigest() != issue.sha256:
        raise LetterProblem(f"the document of issue {issue.number} is not what was issued")
    return letter.Enclosed(issue, document)


def _newest(job: JobFolder, name: str) -> letter.Enclosed:
    """The newest issue of a document that the shop wants to go along."""
    for issue in reversed(job.issued.issues):
        if issue.document == name:
            return _enclosed(job, issue)
    said = f"shop.yaml wants a {name} to go along, and none is issued"
    raise LetterProblem(f"{said}: rebuildreport issue {job.name} {name}")


def _send(
    loaded: ShopFolder,
    job: JobFolder,
    issue: Issued,
    envelope: Envelope,
    data: bytes,
    message_id: str,
    wanted: Wanted,
    now: datetime,
) -> MailResult:
    """Send, and note it only with the server's word in hand; the register is held meanwhile."""
    assert loaded.shop is not None and loaded.shop.mail is not None
    register, _ = read_register(job.path)
    to = [one.addr_spec for one in envelope.to]
    known = {one.casefold(): sent for sent in register.sent if sent.issue == issue.number for one in sent.to}
    twice = [one for one in to if one.casefold() in known]
    if twice and not wanted.again:
        when = known[twice[0].casefold()].date
        message = f"{job.name}: issue {issue.number} went to {twice[0]} on {when}; --again sends it again"
        return MailResult(PROBLEMS, (message,))
    copies: Sequence[str] = [letter.address(envelope.copy_to).addr_spec] if envelope.copy_to else []
    try:
        accepted = posting.send(loaded.shop.mail, envelope.sender.addr_spec, [*to, *copies], data)
    except posting.NotSent as problem:
        status = PROBLEMS if problem.fault == "files" else LACKING
        return MailResult(status, (f"{job.name}: not sent: {problem}",))
    line = Sent(issue.number, now.date(), tuple(to), message_id, accepted.reply)
    try:
        issuing.add_line(job.path / FOLDER, register, line)
    except OSError as problem:
        message = (
            f"{job.name}: accepted by the server ({accepted.reply}), but it could not be noted: {problem}"
        )
        return MailResult(LACKING, (message,))
    return MailResult(0, (f"{job.name}: issue {issue.number} sent to {', '.join(to)}: {accepted.reply}",))
