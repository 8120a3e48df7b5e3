"""The last look before a page becomes public: nothing private may stand in it, wherever it was typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from ..records import JobFolder, Problem
from ..records.job import Owner

# shorter words are too common to prove anything
SHORTEST = 4
PRICE = "a price"


@dataclass(frozen=True, slots=True)
class Private:
    """A private text and what it is."""

    what: str
    text: str


def private_texts(job: JobFolder, amounts: Iterable[Decimal] = ()) -> list[Private]:
    """Everything of a job that must not appear on a public page."""
    found: list[Private] = []
    owner = job.job.owner if job.job else None
    if owner is not None:
        for name in Owner.model_fields:
            value = getattr(owner, name)
            if value:
                pieces = [value] if name == "name" else [value, *re.split(r"[,;\n]", value)]
                found += [Private(f"owner's {name}", piece.strip()) for piece in pieces]
    found += [Private(PRICE, f"{amount:.2f}") for amount in amounts if amount >= 100]
    return [one for one in dict.fromkeys(found) if len(one.text) >= SHORTEST]


def leaks(text: str, private: list[Private]) -> list[Private]:
    """Which private texts stand in a page: letter case, blanks, hyphens and points do not hide them.

    >>> leaks("seen on ab 12-cde", [Private("owner's registration", "AB12 CDE")])[0].what
    "owner's registration"
    """
    plain = _plain(text)
    return [
        one
        for one in private
        if (_amount(one.text, text) if one.what == PRICE else _plain(one.text) in plain)
    ]


def _amount(amount: str, text: str) -> bool:
    """Whether an amount stands in a text as a number of its own, 310.00 or 310,00."""
    pattern = re.escape(amount).replace(r"\.", "[.,]")
    return re.search(rf"(?<![\d.,]){pattern}(?!\d)", text) is not None


def _plain(text: str) -> str:
    return re.sub(r"[.\s\u00a0\u2010-\u2015_/-]+", "", text).casefold()


def prices(text: str, currency: str) -> list[Private]:
    """Amounts of money in the shop's currency that stand in a page.

    >>> prices("it came to 7513.08 EUR", "EUR")[0].text
    '7513.08 EUR'
    """
    found = re.findall(rf"\d[\d ]*[.,]\d\d[\s\u00a0]*{re.escape(currency)}\b", text)
    return [Private(PRICE, one) for one in dict.fromkeys(found)]


def problems(job: JobFolder, leaked: list[Private]) -> list[Problem]:
    """Each leak with the line on which it was typed, wherever that is but the owner's own block."""
    found = []
    for one in leaked:
        place = None
        for name, source in sorted(job.sources.items()):
            for number, line in enumerate(source.lines, 1):
                own = name == "job" and _in_owner_block(source.lines, number)
                if not own and leaks(line, [one]):
                    place = place or Problem(
                        source.file,
                        number,
                        1,
                        "error",
                        f"{one.what} would become public here: this job is not put on the public edition",
                        line.rstrip(),
                        "take it out of this text",
                    )
        found.append(
            place
            or Problem(
                f"{job.name}/job.yaml",
                1,
                1,
                "error",
                f"{one.what} would stand on the public page: this job is not put on the public edition",
            )
        )
    return found


def _in_owner_block(lines: tuple[str, ...], number: int) -> bool:
    for line in reversed(lines[:number]):
        if line and not line[0].isspace() and not line.startswith("#"):
            return line.startswith("owner:")
    return False
