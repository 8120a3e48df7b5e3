"""The language of the customer's documents: messages, dates, numbers and money of one place.

Messages stand in the code as plain English and are looked up in a catalogue
(gettext's PO format): ``language/de.po`` in the shop's templates, then in our
own.  Numbers, dates and money follow the place (CLDR, by Babel).  ``en`` alone
is the project's own plain form, the same as in the report: no grouping, a
point, the day before the month, the currency's code behind the amount.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct, field
from msgspec.structs import replace

from ... import quantities
from ...quantities import Sentence, Several, Shown, Text
from ...quantities import text as texts

NBSP = "\u00a0"
MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)
_VALUE_FIRST = re.compile(r"\{(\w+)")
_NAME = re.compile(r"([a-z][a-z -]{0,24}[a-z])((?: \d+)?)")  # a name of the files, that a catalogue may know
_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_HYPHEN = re.compile(r"(?<![\w.\u2013)-])-(?=\d)")  # typed for a minus; no range, name or date has one there


class UnknownLanguage(ValueError):
    """A language tag that no locale data or no catalogue knows; the message says which are known."""


class Language(Struct, frozen=True):
    """One language as documents speak it."""

    tag: str  # en, de, de_AT
    locale: Any = None  # Babel's Locale; None for plain English
    messages: dict[str, str] = field(default_factory=dict)
    point: str = "."  # the decimal sign

    @property
    def code(self) -> str:
        """The tag as HTML and RFC 5646 write it."""
        return self.tag.replace("_", "-")

    def __call__(self, message: str, **values: object) -> str:
        """A message in this language with its values put in; English where the catalogue lacks it.

        >>> language("de")("hot 2000")
        'heiß 2000'
        >>> language("de")("Head 1357, face")
        'Kopf 1357, Fläche'
        """
        text = self.messages.get(message, message)
        if not values:
            return self._numbered(text) if text is message and self.messages else text
        words = {name: it if isinstance(it, str) else self.told(it) for name, it in values.items()}
        return text.format(**words)

    def _numbered(self, text: str) -> str:
        """A title with a number in it, which stands in no catalogue, by what its parts are."""
        parts = text.split(", ")
        if not any(part[-1:].isdigit() for part in parts):
            return text
        said = ", ".join(self.named(part[:1].lower() + part[1:]) for part in parts)
        if said == text[:1].lower() + text[1:]:
            return text
        return said[:1].upper() + said[1:] if text[:1].isupper() else said

    def told(self, text: object) -> str:
        """What a lower floor has said, in this language; what people typed stays as they typed it.

        Raises TypeError for anything that nobody can say.

        >>> both = texts.Several([texts.Sentence("Total"), texts.Figure("0.5 mm"), texts.Typed("C3")])
        >>> PLAIN.told(both), language("de").told(both)
        ('Total, 0.5 mm, C3', 'Gesamtbetrag, 0,5 mm, C3')
        """
        if isinstance(text, texts.Text):
            english = self.code.partition("-")[0] == "en"
            return texts.worded(text, self, self._leaf, small=english)
        return self._leaf(text)

    def named(self, name: str) -> str:
        """A name of the files as people read it, in the words that this language has for it: those of the
        whole, else of each of its words where it knows them all.

        >>> language("de").named("diagonal_1"), language("de").named("front_60l")
        ('diagonal 1', 'vorn 60l')
        >>> language("de").named("after_machining_2")
        'nach der Bearbeitung 2'
        """
        words = name.replace("_", " ")
        if words in self.messages:
            return self(words)
        known = _NAME.fullmatch(words)
        if known and known[1] in self.messages:
            return self(known[1]) + known[2]
        parts = words.split()
        known_parts = [part for part in parts if part in self.messages]
        if known_parts and all(part in known_parts or not part.isalpha() for part in parts):
            return " ".join(self(part) if part in known_parts else part for part in parts)
        return self(known[1]) + known[2] if known else words

    def _leaf(self, value: object) -> str:
        """What has no text inside."""
        match value:
            case texts.Amount():
                return self.money(value.amount, value.code, value.digits)
            case texts.Name():
                return self.named(value.name)
            case texts.Figure() | texts.Measure():
                return self.figures(value.text)
            case texts.Typed():
                return value.text
            case date():
                return self.day(value)
            case int() | float() | Decimal():
                return self.figures(str(value))
            case str():
                return value
        raise TypeError(f"nothing that can be told in a language: {value!r}")

    def figures(self, text: str) -> str:
        """Numbers as printed, with a minus sign and the decimal sign of this language."""
        text = _HYPHEN.sub("\u2212", text)
        return text if self.point == "." else _POINT.sub(self.point, text)

    def day(self, when: date | None, year: bool = True) -> str:
        """A date as people say it."""
        if when is None:
            return ""
        if self.locale is None:
            text = f"{when.day}{NBSP}{MONTHS[when.month - 1]}"
            return f"{text}{NBSP}{when.year}" if year else text
        from babel.dates import format_date, format_skeleton

        if year:
            return format_date(when, "long", self.locale).replace(" ", NBSP)
        return format_skeleton("MMMMd", when, locale=self.locale).replace(" ", NBSP)

    def number(self, number: Decimal) -> str:
        """A count without needless zeros."""
        if self.locale is None:
            text = f"{number:f}"
            return text.rstrip("0").rstrip(".") if "." in text else text
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
        return "" if amount is None else f"{self.amount(amount, digits)}{NBSP}{code}".removesuffix(NBSP)

    def percent(self, rate: Decimal) -> str:
        """A rate in per cent, with its sign."""
        return f"{self.number(rate)}{NBSP}%"

    def listed(self, items: Iterable[str]) -> str:
        """A list as a sentence of the language has it; by semicolons where a part has commas of its own."""
        words = list(items)
        if len(words) > 1 and any(", " in re.sub(r"\([^)]*\)", "", part) for part in words):
            return "; ".join(words)
        if self.locale is None:
            return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)
        from babel.lists import format_list

        return format_list(words, locale=self.locale) if words else ""

    def _fixed(self, number: Decimal, digits: int) -> str:
        if self.locale is None:
            exact = number.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_EVEN)
            return f"{exact:f}".replace("-", "\u2212")
        from babel.numbers import format_decimal

        pattern = "#,##0" + ("." + "0" * digits if digits else "")
        return format_decimal(number, pattern, self.locale).replace("-", "\u2212")


PLAIN = Language("en")
_SPOKEN: ContextVar[Language] = ContextVar("spoken", default=PLAIN)


def spoken() -> Language:
    """The language of the document that is being made."""
    return _SPOKEN.get()


@contextmanager
def speaking(speech: Language) -> Iterator[Language]:
    """Everything printed inside is in this language: a view and the template that is filled with it."""
    before = _SPOKEN.set(speech)
    try:
        yield speech
    finally:
        _SPOKEN.reset(before)


def say(message: str, **values: object) -> str:
    """A message of ours in the language of the document.

    >>> with speaking(language("de")):
    ...     say("Net"), say("Paid on {day}", day="Montag")
    ('Netto', 'Bezahlt am Montag')
    """
    return spoken()(message, **values)


def told(text: Text | str) -> str:
    """What a lower floor has said, in the language of the document; typed words stay as they are."""
    return spoken().told(text)


def opening(text: Text | str) -> str:
    """What a lower floor has said, as a cell or a sentence begins with it.

    The first letter is large where the first word is ours; what a person typed is never altered.

    >>> from rebuildreport.quantities import Figure, Typed
    >>> size, name = Figure("0.50 mm"), Typed("c3")
    >>> opening(Sentence("grind to {size}", size=size)), opening(Sentence("{name} wore", name=name))
    ('Grind to 0.50 mm', 'c3 wore')
    >>> opening(Sentence("{x} as somebody typed a title"))
    '{x} as somebody typed a title'
    """
    said = told(text)
    return said[:1].upper() + said[1:] if _ours_first(text) else said


def _ours_first(text: object) -> bool:
    if isinstance(text, Several):
        return bool(text.items) and _ours_first(text.items[0])
    if not isinstance(text, Sentence):
        return False
    value = _VALUE_FIRST.match(spoken()(text.pattern))
    # a brace in a title that was typed names no value
    return _ours_first(text.values[value[1]]) if value and value[1] in text.values else True


def show(
    value: float, unit: str, decimals: int, system: str = "mm", limits: tuple[float | None, ...] = ()
) -> Shown:
    """A value as ``quantities.show`` prints it, with the decimal sign of the document's language."""
    shown = quantities.show(value, unit, decimals, system, limits)
    if spoken().point == ".":
        return shown
    return replace(shown, text=spoken().figures(shown.text), second=spoken().figures(shown.second))


def show_interval(
    low: float | None,
    high: float | None,
    unit: str,
    decimals: int,
    system: str = "mm",
    places: int = 0,
    to: str = "",
    bare: bool = False,
) -> str:
    """Limits as ``quantities.show_interval`` prints them, with the decimal sign of the language."""
    return spoken().figures(quantities.show_interval(low, high, unit, decimals, system, places, to, bare))


def show_limits(low: float | None, high: float | None, unit: str, decimals: int, system: str = "mm") -> str:
    """Limits as ``quantities.show_limits`` prints them, with the decimal sign of the language."""
    return spoken().figures(quantities.show_limits(low, high, unit, decimals, system))


def page_numbers(speech: Language) -> str:
    """Stylesheet of the page numbers and references in this language; ours has them in English."""
    if speech.locale is None:
        return ""
    with speaking(speech):
        page, among, see = say("page"), say("of"), say("on page")
    return (
        f'@page{{@bottom-right{{content:"{page} " counter(page) " {among} " counter(pages)}}}}'
        f'a.pg::after{{content:" {see} " target-counter(attr(href url),page)}}'
    )


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
    from babel.numbers import get_decimal_symbol

    from . import places

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
    return Language(wanted, locale, messages, get_decimal_symbol(locale))


def known(shop: Path | None = None) -> list[str]:
    """Languages that have a catalogue, English first."""
    from . import places

    tags = {path.stem for folder in places.folders(shop) for path in folder.glob("language/*.po")}
    return ["en", *sorted(tags)]


def _catalogue(path: Path) -> dict[str, str]:
    """Messages of a PO file; those without a translation, or in doubt ('fuzzy'), stay English."""
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        catalogue = read_po(file)
    return {
        message.id: message.string
        for message in catalogue
        if isinstance(message.id, str)
        and message.id  # the catalogue's own head has none
        and isinstance(message.string, str)
        and message.string
        and not message.fuzzy
    }
