"""The last look before a page becomes public: nothing private may stand in it, wherever it was typed.

In: private values of jobs, and texts.  Out: which values stand in which text.  All values are looked for in
one pass, by a few letters and digits of each, so that 20,000 customers cost a page no more than one.
"""

from __future__ import annotations

import re
import unicodedata
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from msgspec import Struct, field

from ...assess.model.assessment import Assessment
from ...assess.model.edition import Kept, Open
from ...assess.publishing.public import ROLES, leading
from ...quantities import english
from ...records import JobFolder, Problem
from ...records.files.jobfile import Owner
from ...records.files.shop import Shop

# a shorter piece of a name or an address is too common to prove anything
SHORTEST = 4
# in the pages of another job a piece must be longer to be nobody else's; so long is the start it is found by
SHORTEST_ELSEWHERE = 6
PRICE, PHONE, WORD, TEXT = "a price", "number", "word", "text"
# the last digits of a telephone number: what is left when prefixes are written in different ways; in pages of
# another job more of them must stand together, or a day or a distance is somebody's number by chance
PHONE_DIGITS, PHONE_ELSEWHERE = 7, 9
MARKS = 1 << 16  # of a text's pieces of four, one bit each: which texts a value can stand in at all
_SIGNS = {"EUR": "€", "USD": "$", "GBP": "£", "JPY": "¥", "CHF": "Fr."}
_MAIL = re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+")
# a value with its decimals, as data files have them: among so many digits stands anybody's number by chance
_MEASURED = re.compile(r"(?:0|[1-9]\d{0,2})\.\d+")
_ACCOUNT = re.compile(r"\b[A-Z]{2}\d{2}(?: ?[A-Z0-9]{4}){3,7}(?: ?[A-Z0-9]{1,3})?\b")


class Private(Struct, frozen=True):
    """A private text, what it is, how it is looked for, and whose."""

    what: str
    text: str
    how: str = TEXT
    job: str = ""


def private_texts(
    job: JobFolder, assessment: Assessment | None = None, amounts: Iterable[Decimal] = ()
) -> list[Private]:
    """Everything of a job that must not appear on a public page: its owner, who signed, what was paid."""
    found: list[Private] = []
    owner = job.job.owner if job.job else None
    for name in Owner.model_fields if owner is not None else ():
        value = getattr(owner, name)
        if value:
            found += _pieces(f"owner's {name}", name, value)
    for name in sorted(signers(assessment)) if assessment else ():
        found += _pieces("name of who signed", "signer", name)
    lines = (line for source in job.sources.values() for line in source.lines if "@" in line)
    found += [Private("a mail address", mail) for line in lines for mail in _MAIL.findall(line)]
    found += [Private(PRICE, f"{amount:.2f}", PRICE) for amount in amounts if amount >= 100]
    return [Private(one.what, one.text, one.how, job.name) for one in dict.fromkeys(found)]


def signers(thing: Any) -> set[str]:
    """Who signed or decided, where that is a person and no part that is played ("bench 1", "owner")."""
    found: set[str] = set()
    left = [thing]
    while left:
        one = left.pop()
        if isinstance(one, dict):
            left += one.values()
        elif isinstance(one, (tuple, list)):
            left += one
        elif isinstance(one, Struct):
            for name, mark in leading(type(one), _signs).items():
                value = getattr(one, name)
                if not _signs(mark):
                    left.append(value)
                elif value and (said := english(value)).lower() not in ROLES:
                    found |= {said} if len(re.findall(r"\b[A-Z]\w+", said)) > 1 else set()
    return found


def _signs(mark: Open | Kept | None) -> bool:
    return isinstance(mark, Open) and mark.role is not None


def _pieces(what: str, name: str, value: str) -> list[Private]:
    """One private value in the shapes in which people repeat it."""
    found = [Private(what, value)]
    if name == "name":
        # a surname alone tells who it is; words in brackets are remarks
        bare = re.sub(r"\(.*?\)", " ", value)
        found.append(Private(what, bare.strip()))
        words = [word for word in re.findall(r"\w+", bare) if len(word) >= SHORTEST]
        found += [Private(what, word, WORD) for word in words if not word.islower()]
    if name in ("contact", "address"):
        parts = [re.sub(r"^\s*\w+[.:]\s*", "", part).strip() for part in re.split(r"[,;/\n]", value)]
        found += [Private(what, part) for part in parts if len(plain(part)) >= SHORTEST]
        for digits in (_digits(part) for part in re.split(r"[,;/\n]", value)):
            if len(digits) >= PHONE_DIGITS:
                found.append(Private(what, digits[-PHONE_ELSEWHERE:], PHONE))
    return found


def leaks(text: str, private: Sequence[Private]) -> list[Private]:
    """Which private texts stand in a page: case, blanks, brackets, hyphens and points do not hide them.

    >>> leaks("seen on (ab) 12-cde", [Private("owner's registration", "AB12 CDE")])[0].what
    "owner's registration"
    >>> leaks("call (01632) 96 04-17", [Private("owner's contact", "2960417", PHONE)])[0].text
    '2960417'
    """
    return Net(private).found([text])


class Net(Struct):
    """All private values, laid out by a few letters and digits of each.

    Of its beginning, middle and end those that fewest others have: customers share towns and names.
    ``shared``: texts of the shop's own that are nobody's secret, wherever else they stand.
    """

    private: Iterable[Private]
    shared: str = ""
    _parts: dict[str, list[tuple[str, Private]]] = field(default_factory=dict)
    _short: dict[str, list[tuple[str, Private]]] = field(default_factory=dict)  # by job
    _words: dict[str, list[Private]] = field(default_factory=dict)
    _phones: dict[str, list[Private]] = field(default_factory=dict)
    _prices: dict[str, list[Private]] = field(default_factory=dict)  # by job: they prove nothing elsewhere

    def __post_init__(self) -> None:
        shared = plain(self.shared)
        long: list[tuple[str, tuple[str, ...], Private]] = []
        for one in self.private:
            key = plain(one.text)
            if one.how == PRICE:
                self._prices.setdefault(one.job, []).append(one)
            elif one.how == PHONE:
                self._phones.setdefault(one.text[-PHONE_DIGITS:], []).append(one)
            elif one.how == WORD:
                self._words.setdefault(one.text.casefold(), []).append(one)
            elif key and not (one.job and key in shared):
                if len(key) < SHORTEST_ELSEWHERE:
                    self._short.setdefault(one.job, []).append((key, one))
                else:
                    long.append((key, _pieces_of(key), one))
        many = Counter(piece for _, pieces, _ in long for piece in pieces)
        for key, pieces, one in long:
            self._parts.setdefault(min(pieces, key=many.__getitem__), []).append((key, one))

    def found(self, texts: Iterable[str], job: str | None = None) -> list[Private]:
        """Which values stand in texts of ``job``; of other jobs' values only those that are nobody else's.

        Of None all values are held to be its own.
        """
        found: dict[Private, None] = {}
        for text in texts:
            folded = unicodedata.normalize("NFKC", text).casefold()
            for one in (
                *self._texts(folded, job),
                *self._by_word(folded),
                *self._by_digits(folded),
                *self._money(text, job),
            ):
                if job is None or one.job == job or self._nobody_elses(one, text):
                    found[one] = None
        return list(found)

    def _texts(self, folded: str, job: str | None) -> Iterator[Private]:
        letters, size = plain(folded), SHORTEST_ELSEWHERE
        for part in {letters[at : at + size] for at in range(len(letters) - size + 1)} & self._parts.keys():
            yield from (one for key, one in self._parts[part] if key in letters)
        for owner in self._short if job is None else (job,):
            yield from (one for key, one in self._short.get(owner, ()) if key in letters)

    def _by_word(self, folded: str) -> Iterator[Private]:
        for word in set(re.findall(r"\w+", folded)) & self._words.keys():
            yield from self._words[word]

    def _by_digits(self, folded: str) -> Iterator[Private]:
        if not self._phones:
            return
        for digits in _dialled(folded):
            for at in range(len(digits) - PHONE_DIGITS + 1):
                yield from self._phones.get(digits[at : at + PHONE_DIGITS], ())

    def _money(self, text: str, job: str | None) -> Iterator[Private]:
        """Numbers of their own with two decimals, 310.00 or 310,00; what has a currency, as it stands."""
        prices = [
            one for name in (self._prices if job is None else (job,)) for one in self._prices.get(name, ())
        ]
        if not prices:
            return
        amounts = {one.replace(",", ".") for one in re.findall(r"(?<![\d.,])(\d+[.,]\d\d)(?!\d)", text)}
        for one in prices:
            number = one.text.replace(".", "").isdecimal()
            if one.text in amounts if number else one.text in text:
                yield one

    def _nobody_elses(self, one: Private, text: str) -> bool:
        """Whether a value of another job proves something: a short word does not.

        A surname counts where it is written as one, and is no word that the same text uses in small letters.
        """
        if one.how == WORD:
            small = re.search(rf"\b{re.escape(one.text.lower())}\b", text)
            as_name = re.search(rf"\b{re.escape(one.text)}\b", text)
            return bool(as_name and not small) and one.text.casefold() not in self.shared.casefold()
        if one.how == PHONE:
            return len(one.text) >= PHONE_ELSEWHERE and any(one.text in digits for digits in _dialled(text))
        return len(plain(one.text)) >= SHORTEST_ELSEWHERE


def of_the_shop(shop: Shop) -> list[str]:
    """What the shop says of itself, and words that it lets stand although somebody has that name."""
    said = (shop.name, shop.contact, shop.address, shop.telephone, shop.email, shop.notice, shop.site)
    return [*(text for text in said if text), *shop.public_words]


def without(own: Sequence[str], text: str) -> str:
    """A text without what the shop says of itself: a customer of the same town lives where its name says.

    >>> without(["Kettle Creek Engines"], "Kettle Creek Engines tell of Kettle Creek")
    ' tell of Kettle Creek'
    """
    words = "|".join(rf"(?<!\w){re.escape(said)}(?!\w)" for said in sorted(own, key=len, reverse=True))
    return re.sub(words, "", text) if words else text


def _pieces_of(key: str) -> tuple[str, str, str]:
    size = SHORTEST_ELSEWHERE
    middle = (len(key) - size) // 2
    return key[:size], key[middle : middle + size], key[-size:]


def plain(text: str) -> str:
    """Letters and digits alone, in one case: what stands between them hides nothing."""
    return "".join(filter(str.isalnum, unicodedata.normalize("NFKC", text).casefold()))


def _dialled(text: str) -> Iterator[str]:
    """The digits of each run that can be a telephone number."""
    runs = re.findall(r"\+?\d[\d\s()./-]{5,}\d", text)
    yield from (_digits(run) for run in runs if not _MEASURED.fullmatch(run))


def _digits(text: str) -> str:
    return re.sub(r"\D", "", text)


def marked(texts: Iterable[str]) -> bytes:
    """Which pieces of four stand in texts: kept, so that a new value is looked for where it can be alone."""
    bits = bytearray(MARKS // 8)
    for text in texts:
        letters = plain(text)
        for piece in {letters[at : at + 4] for at in range(len(letters) - 3)}:
            mark = zlib.crc32(piece.encode()) % MARKS
            bits[mark >> 3] |= 1 << (mark & 7)
    return bytes(bits)


def possible(one: Private, bits: bytes) -> bool:
    """Whether a value can stand in the texts that were so marked."""
    letters = plain(one.text)
    for at in range(len(letters) - 3):
        mark = zlib.crc32(letters[at : at + 4].encode()) % MARKS
        if not bits[mark >> 3] >> (mark & 7) & 1:
            return False
    return True


def strangers(text: str, own: str) -> list[Private]:
    """Mail addresses and bank accounts that are not the shop's own, whoever's they are.

    An account is told from other capitals by its check digits (ISO 13616, ISO 7064 MOD 97-10).

    >>> [one.what for one in strangers("pay to GB82 WEST 1234 5698 7654 32, ask a@b.invalid", "x@b.invalid")]
    ['a mail address', 'a bank account']
    """
    found = [Private("a mail address", mail) for mail in _MAIL.findall(text) if mail not in own]
    for account in _ACCOUNT.findall(text):
        letters = re.sub(r"\s", "", account)
        turned = letters[4:] + letters[:4]
        if int("".join(str(int(one, 36)) for one in turned)) % 97 == 1 and letters not in plain(own).upper():
            found.append(Private("a bank account", account))
    return list(dict.fromkeys(found))


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
    leaked: Sequence[Private],
    where: str = "would become public here: this job is not put on the public edition",
) -> list[Problem]:
    """Each leak with every line on which it was typed, wherever that is but the owner's own block."""
    found: list[Problem] = []
    for one in leaked:
        what = one.what if one.job in ("", job.name) else f"{one.what} of {one.job}"
        places = [
            Problem(source.file, n, 1, "error", f"{what} {where}", line.rstrip(), "take it out of this text")
            for name, source in sorted(job.sources.items())
            for n, line in enumerate(source.lines, 1)
            if not (name == "job" and _in_owner_block(source.lines, n)) and leaks(line, [one])
        ]
        if one.how == PRICE:
            del places[1:]  # an amount stands in many lines that nobody else sees
        if not places:
            said = f"{what} ('{one.text}') {where}"
            hint = f"if anybody may read it: 'public_words: {one.text}' in shop.yaml"
            places = [Problem(f"{job.name}/job.yaml", 1, 1, "error", said, suggestion=hint)]
        found += places
    return list(dict.fromkeys(found))


def _in_owner_block(lines: tuple[str, ...], number: int) -> bool:
    for line in reversed(lines[:number]):
        if line and not line[0].isspace() and not line.startswith("#"):
            return line.startswith("owner:")
    return False
