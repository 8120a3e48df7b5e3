"""The e-mail of an issued document: text and HTML, the PDF attached, the same bytes for the same issue.

Built to RFC 5322 and MIME (RFC 2045 to 2049).  As a draft it carries
``X-Unsent``, by which mail programs open it for editing.
"""

from __future__ import annotations

import hashlib
import html
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, timezone
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime, parseaddr
from pathlib import Path
from typing import Any

from msgspec import Struct

from ...records.files.issued import Issued
from ...trade.estimating import sums
from ..press.language import Language
from ..press.standing_texts import plain, rendered, written
from ..press.words import capital

# what may stand before and behind the @ of an address that every server takes (RFC 5321, dot-string)
_ADDRESS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~.-]+@[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?")
CHANGES = 3  # that a mail tells: whoever wants the rest has the document
LONGEST = (
    160  # letters of one that it tells, two lines: a longer one is a list for the shop (common practice)
)
_HEAD = '<!doctype html>\n<html lang="{code}"><head><meta charset="utf-8"><title>{title}</title></head>\n'
_BODY = '<body style="font: 11pt/1.45 Georgia, serif; max-width: 38em">\n{body}</body></html>\n'


class LetterProblem(ValueError):
    """The mail cannot be made; the message says what is missing or wrong."""


class Enclosed(Struct, frozen=True):
    """An issued document that the mail carries."""

    issue: Issued
    document: bytes


class Envelope(Struct, frozen=True):
    """Who sends a mail to whom."""

    sender: Address
    to: tuple[Address, ...]
    copy_to: str = ""  # a blind copy: part of the envelope, never of the message


def addresses(text: str) -> list[str]:
    """The e-mail addresses in a line of text, each once.

    >>> addresses("tel. 01632 960 417, a.b@example.invalid; A.B@example.invalid")
    ['a.b@example.invalid']
    """
    found: dict[str, str] = {}
    for one in _ADDRESS.findall(text):
        found.setdefault(one.casefold(), one)
    return list(found.values())


def address(text: str) -> Address:
    """One address as it is written in a file, with or without a name; LetterProblem where it is none."""
    name, plain = parseaddr(text)
    if not _ADDRESS.fullmatch(plain) or ".." in plain or any(ord(c) < 32 for c in text):
        raise LetterProblem(f"'{text}' is no e-mail address: as in Name <shop@example.invalid>")
    try:
        return Address(display_name=name, addr_spec=plain)
    except (MessageError, ValueError, IndexError):
        raise LetterProblem(f"'{text}' is no e-mail address") from None


def message(
    sent: Enclosed,
    envelope: Envelope,
    basis: Mapping[str, Any],
    language: Language,
    heads: Mapping[str, str],
    shop: Path | None = None,
    further: Sequence[Enclosed] = (),
) -> EmailMessage:
    """The mail of one issue.

    ``sent`` is it with its PDF as issued, ``basis`` what it rested on, ``heads`` what the mail says of job,
    customer, engine and shop (keys job, name, engine, shop, address, contact, link; '' where there is none),
    ``further`` what else it carries.  Raises TextProblem where the shop's own
    text names a word that there is not.
    """
    issue = sent.issue
    title = str(basis.get("said", {}).get("title", heads["job"]))
    say = language
    kind = say(issue.document)
    subject = say(
        "{document}, issue {number}, on your engine: {title}",
        document=capital(kind),
        number=issue.number,
        title=title,
    )
    heads = {**heads, "title": title}
    body = written("mail", language, _words(issue, basis, language, heads), shop)
    marked = written("mail", language, _words(issue, basis, language, heads, plain), shop)
    mail = EmailMessage(policy=SMTP)
    mail["From"] = envelope.sender
    mail["To"] = envelope.to
    mail["Subject"] = " ".join(subject.split())
    mail["Date"] = format_datetime(_noon(issue.date))
    mark = hashlib.sha256(f"{issue.sha256} {envelope.to}".encode()).hexdigest()
    mail["Message-ID"] = f"<{mark[:32]}@{envelope.sender.domain}>"
    mail["X-Unsent"] = "1"
    if issue.seal:
        mail["X-Register-Seal"] = issue.seal  # the mail that left is a witness of the register
    mail.set_content(body, cte="quoted-printable")
    page = _HEAD.format(code=language.code, title=html.escape(subject)) + _BODY.format(body=rendered(marked))
    mail.add_alternative(page, subtype="html", cte="quoted-printable")
    for one in (sent, *further):
        name = f"{heads['job']}-{one.issue.number}-{say(one.issue.document)}.pdf".replace(" ", "-")
        mail.add_attachment(one.document, maintype="application", subtype="pdf", filename=name)
    for number, part in enumerate(part for part in mail.walk() if part.is_multipart()):
        part.set_boundary(f"==={mark[32:56]}{number}===")
    return mail


def as_sent(mail: EmailMessage, now: datetime) -> bytes:
    """The same mail as it goes out: dated now, no longer a draft."""
    del mail["Date"]
    del mail["X-Unsent"]
    mail["Date"] = format_datetime(now)
    return bytes(mail)


def _noon(day: date) -> datetime:
    # a draft is the same whenever it is made: the mail program dates it anew when it is sent
    return datetime(day.year, day.month, day.day, 12, tzinfo=timezone.utc)  # noqa: UP017


def _words(
    issue: Issued,
    basis: Mapping[str, Any],
    language: Language,
    heads: Mapping[str, str],
    typed: Callable[[str], str] = str,
) -> dict[str, str]:
    """The words of the mail's text, what was typed as ``typed`` has it."""
    say = language
    total, said = "", basis.get("said", {})
    if issue.total is not None and not said.get("asks_for_total"):
        currency = str(basis.get("currency", ""))
        money = language.money(issue.total, currency, sums.digits(currency))
        total = say("The work comes to {money}.", money=money)
        if said.get("paid"):
            total = say("The work came to {money}, and all is paid.", money=money)
        elif issue.minimum:
            total = say("The work comes to at least {money} so far.", money=money)
    needs = [typed(one) for one in said.get("needs", [])]
    changed = ""
    if issue.changed:
        told = [typed(one) for one in issue.changed if len(one) <= LONGEST][:CHANGES]
        changed = say("What changed since the last issue stands in the document.")
        if told and (more := len(issue.changed) - len(told)):
            told.append(say("{count} more, in the document", count=more))
        if told:
            changed = _list(say("What changed since the last issue:"), told)
    return {
        **{word: typed(text) for word, text in heads.items()},
        "name": typed(re.sub(r"\s*\(.*?\)", "", heads["name"]).strip()) or say("dear customer"),
        "document": say(issue.document),
        "number": str(issue.number),
        "date": language.day(issue.date),
        "total": total,
        "changed": changed,
        "needs": _list(say("What we need from you:"), needs) if needs else "",
    }


def _list(head: str, items: Sequence[str]) -> str:
    return "\n".join([head, "", *(f"- {' '.join(str(item).split())}" for item in items)])
