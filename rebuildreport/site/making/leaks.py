"""The last look before a page becomes public: nothing private may stand in it, wherever it was typed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from ...records import JobFolder, Problem
from ...records.files.jobfile import Owner

# a shorter piece of a name or an address is too common to prove anything
SHORTEST = 4
PRICE, PHONE, WORD, TEXT = "a price", "number", "word", "text"
# the last digits of a telephone number: what is left when prefixes are written in different ways
PHONE_DIGITS = 7
_SIGNS = {"EUR": "€", "USD": "$", "GBP": "£", "JPY": "¥", "CHF": "Fr."}


@dataclass(frozen=True, slots=True)
class Private:
    """A private text, what it is, and how it is looked for."""

    what: str
    text: str
    how: str = TEXT


def private_texts(job: JobFolder, amounts: Iterable[Decimal] = ()) -> list[Private]:
    """Everything of a job that must not appear on a public page."""
    found: list[Private] = []
    owner = job.job.owner if job.job else None
    for name in Owner.model_fields if owner is not None else ():
        value = getattr(owner, name)
        if value:
            found += _pieces(f"owner's {name}", name, value)
    found += [Private(PRICE, f"{amount:.2f}", PRICE) for amount in amounts if amount >= 100]
    return list(dict.fromkeys(found))


def _pieces(what: str, name: str, value: str) -> list[Private]:
    """One private value in the shapes in which people repeat it."""
    found = [Private(what, value)]
    if name == "name":
        # a surname alone tells who it is; words in brackets are remarks
        bare = re.sub(r"\(.*?\)", " ", value)
        words = [word for word in re.findall(r"\w+", bare) if len(word) >= SHORTEST]
        found += [Private(what, word, WORD) for word in words if not word.islower()]
    if name in ("contact", "address"):
        parts = [re.sub(r"^\s*\w+[.:]\s*", "", part).strip() for part in re.split(r"[,;/\n]", value)]
        found += [Private(what, part) for part in parts if len(_plain(part)) >= SHORTEST]
        for digits in (_digits(part) for part in re.split(r"[,;/\n]", value)):
            if len(digits) >= PHONE_DIGITS:
                found.append(Private(what, digits[-PHONE_DIGITS:], PHONE))
    return found


def leaks(text: str, private: list[Private]) -> list[Private]:
    """Which private texts stand in a page: case, blanks, brackets, hyphens and points do not hide them.

    >>> leaks("seen on (ab) 12-cde", [Private("owner's registration", "AB12 CDE")])[0].what
    "owner's registration"
    >>> leaks("call (01632) 96 04-17", [Private("owner's contact", "2960417", PHONE)])[0].text
    '2960417'
    """
    searched = _Searched(text)
    return [one for one in private if searched.holds(one)]


class _Searched:
    """A text in the forms in which it is searched, each made once and only where something asks for it."""

    def __init__(self, text: str) -> None:
        self.text = text

    @cached_property
    def plain(self) -> str:
        return _plain(self.text)

    @cached_property
    def folded(self) -> str:
        return unicodedata.normalize("NFKC", self.text).casefold()

    @cached_property
    def numbers(self) -> list[str]:
        return [_digits(run) for run in re.findall(r"\+?\d[\d\s()./-]{5,}\d", self.folded)]

    @cached_property
    def amounts(self) -> set[str]:
        """Numbers of their own with two decimals, 310.00 or 310,00."""
        found = re.findall(r"(?<![\d.,])(\d+[.,]\d\d)(?!\d)", self.text)
        return {amount.replace(",", ".") for amount in found}

    def holds(self, one: Private) -> bool:
        if one.how == PRICE:
            number = one.text.replace(".", "").isdecimal()  # else as ``prices`` found it, with its currency
            return one.text in self.amounts if number else one.text in self.text
        if one.how == PHONE:
            return any(one.text in number for number in self.numbers)
        if one.how == WORD:
            word = one.text.casefold()
            return word in self.folded and re.search(rf"\b{re.escape(word)}\b", self.folded) is not None
        return _plain(one.text) in self.plain


def _digits(text: str) -> str:
    return re.sub(r"\D", "", text)


def _plain(text: str) -> str:
    """Letters and digits alone, in one case: what stands between them hides nothing."""
    return re.sub(r"[\W_]+", "", unicodedata.normalize("NFKC", text).casefold())


def prices(text: str, currency: str) -> list[Private]:
    """Amounts of money in the shop's currency that stand in a page, by its code or its sign.

    >>> [one.text for one in prices("it came to 7513.08 EUR, or € 420", "EUR")]
    ['7513.08 EUR', '€ 420']
    """
    text = text.replace("\u00a0", " ")  # which keeps a number at its unit on a page, and nobody types
    marks = [mark for mark in (currency, _SIGNS.get(currency)) if mark and mark in text]
    if not marks:
        return []
    mark = f"(?:{'|'.join(map(re.escape, marks))})"
    found = re.findall(rf"\d[\d.,']*[\s\u00a0]*{mark}|{mark}[\s\u00a0]*\d[\d.,']*", text)
    return [Private(PRICE, one, PRICE) for one in dict.fromkeys(found)]


def problems(
    job: JobFolder,
    leaked: list[Private],
    where: str = "would become public here: this job is not put on the public edition",
) -> list[Problem]:
    """Each leak with every line on which it was typed, wherever that is but the owner's own block."""
    found: list[Problem] = []
    for one in leaked:
        places = [
            Problem(
                source.file, n, 1, "error", f"{one.what} {where}", line.rstrip(), "take it out of this text"
            )
            for name, source in sorted(job.sources.items())
            for n, line in enumerate(source.lines, 1)
            if not (name == "job" and _in_owner_block(source.lines, n)) and leaks(line, [one])
        ]
        if one.how == PRICE:
            del places[1:]  # an amount stands in many lines that nobody else sees
        found += places or [Problem(f"{job.name}/job.yaml", 1, 1, "error", f"{one.what} {where}")]
    return list(dict.fromkeys(found))


def _in_owner_block(lines: tuple[str, ...], number: int) -> bool:
    for line in reversed(lines[:number]):
        if line and not line[0].isspace() and not line.startswith("#"):
            return line.startswith("owner:")
    return False
