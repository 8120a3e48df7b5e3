"""The language of the customer's documents: messages, dates, numbers and money of one place.

Messages stand in the code as plain English and are looked up in a catalogue
(gettext's PO format): ``language/de.po`` in the shop's templates, then in our
own.  Numbers, dates and money follow the place (CLDR, by Babel).  ``en`` alone
is the project's own plain form, the same as in the report: no grouping, a
point, the day before the month, the currency's code behind the amount.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from ..quantities.dataclass import dataclass
from . import places
from .words import NBSP, plain
from .words import day as plain_day
from .words import joined as plain_joined
from .words import money as plain_money


class UnknownLanguage(ValueError):
    """A language tag that no locale data or no catalogue knows; the message says which are known."""


@dataclass(frozen=True)
class Language:
    """One language as documents speak it."""

    tag: str  # en, de, de_AT
    locale: Any = None  # Babel's Locale; None for plain English
    messages: dict[str, str] = field(default_factory=dict)

    @property
    def code(self) -> str:
        """The tag as HTML and RFC 5646 write it."""
        return self.tag.replace("_", "-")

    def __call__(self, message: str, **values: object) -> str:
        """A message in this language with its values put in; English where the catalogue lacks it."""
        text = self.messages.get(message, message)
        return text.format(**values) if values else text

    def day(self, when: date | None) -> str:
        """A date in full."""
        if when is None:
            return ""
        if self.locale is None:
            return plain_day(when)
        from babel.dates import format_date

        return format_date(when, "long", self.locale).replace(" ", NBSP)

    def number(self, number: Decimal) -> str:
        """A count without needless zeros."""
        if self.locale is None:
            return plain(number)
        from babel.numbers import format_decimal

        return format_decimal(number.normalize(), "#,##0.######", self.locale)

    def hours(self, number: Decimal) -> str:
        """Hours to a tenth, finer where they are typed finer."""
        places_typed = max(1, -int(number.as_tuple().exponent))
        return self._fixed(number, places_typed)

    def amount(self, amount: Decimal | None, digits: int = 2) -> str:
        """An amount with the decimals of its currency; "" where there is none."""
        return "" if amount is None else self._fixed(amount, digits)

    def money(self, amount: Decimal | None, code: str, digits: int = 2) -> str:
        """An amount with the code of its currency."""
        return "" if amount is None else f"{self.amount(amount, digits)}{NBSP}{code}"

    def percent(self, rate: Decimal) -> str:
        """A rate in per cent, with its sign."""
        return f"{self.number(rate)}{NBSP}%"

    def listed(self, items: Iterable[str]) -> str:
        """A list as a sentence of the language has it."""
        words = list(items)
        if self.locale is None:
            return plain_joined(words)
        from babel.lists import format_list

        return format_list(words, locale=self.locale) if words else ""

    def _fixed(self, number: Decimal, digits: int) -> str:
        if self.locale is None:
            return plain_money(number, digits)
        from babel.numbers import format_decimal

        pattern = "#,##0" + ("." + "0" * digits if digits else "")
        return format_decimal(number, pattern, self.locale).replace("-", "\u2212")


PLAIN = Language("en")


@lru_cache(maxsize=16)
def language(tag: str, shop: Path | None = None) -> Language:
    """The language of a tag such as ``en``, ``de`` or ``de_AT``.

    Raises UnknownLanguage where there is no catalogue for it, or no such place.

    >>> language("en").day(date(2026, 3, 5)).replace(NBSP, " ")
    '5 March 2026'
    >>> german = language("de")
    >>> german.money(Decimal("7513.08"), "EUR").replace(NBSP, " "), german("Total")
    ('7.513,08 EUR', 'Gesamtbetrag')
    """
    wanted = tag.replace("-", "_")
    if wanted == "en":
        return PLAIN
    from babel import Locale, UnknownLocaleError

    try:
        locale = Locale.parse(wanted)
    except (UnknownLocaleError, ValueError, TypeError):
        raise UnknownLanguage(f"'{tag}' is no language: as in {', '.join(known(shop))}") from None
    messages: dict[str, str] = {}
    if locale.language != "en":
        try:
            messages = _catalogue(places.find(f"language/{locale.language}.po", shop))
        except FileNotFoundError:
            there = ", ".join(known(shop))
            raise UnknownLanguage(f"no catalogue for '{tag}': there are {there}") from None
    return Language(wanted, locale, messages)


def known(shop: Path | None = None) -> list[str]:
    """Languages that have a catalogue, English first."""
    found = {path.stem for folder in places.folders(shop) for path in folder.glob("language/*.po")}
    return ["en", *sorted(found)]


def _catalogue(path: Path) -> dict[str, str]:
    """Messages of a PO file; those without a translation, or in doubt ('fuzzy'), stay English."""
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        found = read_po(file)
    return {
        message.id: message.string
        for message in found
        if isinstance(message.id, str)
        and isinstance(message.string, str)
        and message.string
        and not message.fuzzy
    }
