"""The head of what a customer is written: who writes, to whom, about which engine.

In: an Assessment.  Out: the lines of the head.  Of the public edition's it makes one without a person in it.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.money.asking import asked_of_customer
from ...records.load import LOGOS
from .enginewords import arranged, swept
from .language import NBSP, say, told


class Letter(Struct, frozen=True):
    """The head of a letter, line by line."""

    shop: str
    reach: tuple[str, ...]  # below the name, a line each
    sender: str  # in the window, above the address
    to: tuple[str, ...]
    identity: tuple[tuple[str, str], ...]
    logo: str = ""


def letter(job: Assessment, document: str, state: str) -> Letter:
    """The head of one document; ``document`` is its sort and ``state`` its issue or day, as printed."""
    head = job.letterhead
    house = (", ".join(head.address), head.telephone.replace(" ", NBSP), head.email)
    law = (
        head.registration,
        head.tax_number and say("tax number {number}", number=head.tax_number),
        head.bank_account and say("account {account}", account=head.bank_account.replace(" ", NBSP)),
    )
    lines = (house if any(house) else (job.contact,), law)
    return Letter(
        shop=job.shop,
        reach=tuple(" · ".join(filter(None, line)) for line in lines if any(line)),
        sender=", ".join((job.shop, *head.address)) if head.customer else "",
        to=(head.customer, *head.customer_address) if head.customer else (),
        identity=tuple((name, text) for name, text in _identity(job, document, state) if text),
        logo=head.logo,
    )


def asks_of(job: Assessment) -> tuple[str, ...]:
    """What is asked of the customer; the number of an account stays on one line."""
    account = job.letterhead.bank_account
    asks = map(told, asked_of_customer(job))
    return tuple(ask.replace(account, account.replace(" ", NBSP)) if account else ask for ask in asks)


def _identity(job: Assessment, document: str, state: str) -> Iterator[tuple[str, str]]:
    engine, head = job.engine, job.letterhead
    volume = "" if engine.displacement is None else swept(engine.displacement, job.system, both=False)
    built = say(arranged(engine.arrangement, engine.cylinders, engine.rows))
    model = (engine.model, built, say(engine.fuel), volume)
    yield document, job.number
    yield say("Date"), state
    yield say("Maker"), engine.maker
    yield say("Model"), ", ".join(filter(None, model))
    yield say("Serial"), head.serial
    yield say("Meter"), told(job.meter)
    yield say("Machine"), ", ".join(filter(None, (job.application, head.plate)))


def logo_address(head: Letter | None, shop: Path | None) -> str:
    """The shop's logo as an address that holds it whole: no page has a file of its own beside it.

    '' where there is none; one that cannot be read is told by ``check``.
    """
    if head is None or not head.logo or shop is None:
        return ""
    path = shop / head.logo
    kind = LOGOS.get(path.suffix.lower())
    if kind is None or not path.is_file():
        return ""
    return f"data:{kind};base64,{base64.b64encode(path.read_bytes()).decode()}"
