"""What is on order and to be ordered, over all jobs by supplier: for the page, as CSV, as mail drafts.

In: a ``Day``.  Out: rows and bytes.  CSV as RFC 4180 has it; mails to RFC 5322, as drafts.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator, Sequence
from datetime import datetime, timezone
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from hashlib import blake2b

from msgspec import Struct

from ...assess.waiting.day import Day
from ...assess.waiting.matters import OpenLine, Waiting
from ...quantities import message
from ...records.files.shop import Shop, SupplierRecord
from ..press.language import say, told
from ..press.words import day, plain
from ..sheets import letter

TABLE = "orders.csv"
FOLDER = "orders"
Lines = Sequence[tuple[Waiting, OpenLine]]


class Supplier(Struct, frozen=True):
    """One supplier on the page."""

    name: str
    file: str  # of the mail draft, "" where none can be addressed to anybody
    reach: str  # address and telephone
    lines: tuple[tuple[str, str, str, str], ...]  # quantity, what, for which job, what of it


def by_supplier(found: Day, shop: Shop) -> Iterator[Supplier]:
    for name, lines in found.orders:
        file = f"{FOLDER}/{_slug(name)}.eml" if name else ""
        rows = [(_quantity(line), told(line.name), job.number, _state(line)) for job, line in lines]
        known = shop.suppliers.get(name, SupplierRecord())
        reach = ", ".join(filter(None, (known.address, known.telephone)))
        yield Supplier(name or say("No supplier named"), file, reach, tuple(rows))


def _quantity(line: OpenLine) -> str:
    if line.pack == 1 or not line.packs:
        return plain(line.quantity)
    return say("{packs} × {pieces}", packs=line.packs, pieces=line.pack)


def _state(line: OpenLine) -> str:
    if line.ordered is None:
        return say("to be ordered")
    when = say("ordered {day}", day=day(line.ordered, year=False))
    if line.promised is None:
        return when
    return f"{when}, {say('promised {day}', day=day(line.promised, year=False))}"


def table(found: Day) -> bytes:
    """All open lines as CSV, days as 2026-04-16; the first line names the columns."""
    text = io.StringIO(newline="")
    rows = csv.writer(text, lineterminator="\r\n")  # RFC 4180, 2.1
    heads = ("supplier", "job", "number", "name", "pieces", "packs", "pack", "ordered", "promised")
    rows.writerow(heads)
    for supplier, lines in found.orders:
        for job, line in lines:
            typed = map(_plain, (supplier, job.job, line.number, told(line.name)))
            days = (line.ordered or "", line.promised or "")
            rows.writerow([*typed, f"{line.quantity:f}", line.packs, line.pack, *days])
    return text.getvalue().encode()


def _plain(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def drafts(found: Day, shop: Shop) -> dict[str, bytes]:
    """A mail draft to each supplier: what to order, and what to ask the day of."""
    made = {}
    for name, lines in found.orders:
        if name:
            made[f"{FOLDER}/{_slug(name)}.eml"] = bytes(_draft(name, lines, shop))
    return made


def _draft(supplier: str, lines: Lines, shop: Shop) -> EmailMessage:
    wanted = [line for _, line in lines if line.ordered is None]
    coming = [line for _, line in lines if line.ordered]
    known = shop.suppliers.get(supplier, SupplierRecord())
    body = [say("Good day,")]
    if wanted:
        body += ["", say("please send us:"), "", *map(_item, wanted)]
    if coming:
        body += ["", say("when do these come?"), "", *(f"{_item(line)}: {_state(line)}" for line in coming)]
    if known.customer_number:
        body += ["", say("Our number with you: {number}", number=known.customer_number)]
    reach = filter(None, (shop.address, shop.telephone or shop.contact))
    body += ["", say("Kind regards"), shop.name, *reach]
    subject = message("{shop}: order" if wanted else "{shop}: our orders")
    mail = EmailMessage(policy=SMTP)
    if shop.mail:
        mail["From"] = letter.address(shop.mail.sender)
    if to := letter.addresses(known.email or ""):
        mail["To"] = to[0]
    mail["Subject"] = say(subject, shop=shop.name)
    newest = max((job.as_of for job, _ in lines if job.as_of), default=None)
    if newest:  # the same draft from the same records; the mail program dates it anew
        noon = datetime(newest.year, newest.month, newest.day, 12, tzinfo=timezone.utc)  # noqa: UP017
        mail["Date"] = format_datetime(noon)
    mail["X-Unsent"] = "1"
    mail.set_content("\n".join(body) + "\n", cte="quoted-printable")
    return mail


def _item(line: OpenLine) -> str:
    return f"- {_quantity(line)} {line.number}, {told(line.name)}"


def _slug(name: str) -> str:
    """A file name: plain letters, and a few of a digest where two suppliers would share them.

    >>> _slug("Müller & Söhne")[:13], _slug("Crank grinders") == _slug("crank grinders")
    ('muller-sohne-', False)
    """
    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", bare).strip("-")[:40]
    return f"{words or 'supplier'}-{blake2b(name.encode(), digest_size=2).hexdigest()}"
