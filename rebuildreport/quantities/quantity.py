"""A number with its unit, as a person writes it, kept with every digit typed."""

from __future__ import annotations

import re
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from . import units

# ASCII only: \d alone would also take the digits of other scripts
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_MINUS = "\u2212"  # the printed minus sign, pasted from a report


class Unreadable(ValueError):
    """A text that is not what it should be; the message says why, ``suggestion`` what was probably meant.

    ``meant`` is the text itself that was, where the suggestion says more than that, or nothing.
    """

    def __init__(self, message: str, suggestion: str = "", meant: str | None = None) -> None:
        super().__init__(message)
        self.suggestion = suggestion
        self.meant = suggestion if meant is None else meant


class QuantityError(Unreadable):
    """A text that is no quantity.

    ``code`` is for whoever decides by the error: a number whose unit nobody states, a decimal comma.
    """

    def __init__(
        self, message: str, suggestion: str = "", code: Literal["", "no unit", "comma"] = ""
    ) -> None:
        super().__init__(message, suggestion)
        self.code = code


class Quantity(Struct, frozen=True):
    """One value as typed: ``text`` keeps the digits, ``decimals`` what they say of the resolution."""

    text: str
    value: float
    unit: str
    decimals: int

    def to(self, unit: str) -> float:
        """The value in another unit.

        >>> parse("0.010 in").to("mm")
        0.254
        """
        return units.convert(self.value, self.unit, unit)

    def of(self, unit: str) -> Quantity:
        """The same number with the unit that is in force where it states none of its own.

        >>> str(Quantity("0.25", 0.25, "", 2).of("mm")), str(parse("0.010 in").of("mm"))
        ('0.25 mm', '0.010 in')
        """
        return self if self.unit else replace(self, unit=unit)

    def shifted(self, places: int) -> Quantity:
        """The quantity with its point moved to the right (or left), digits as typed.

        >>> str(parse("0.50 mm").shifted(-1)), str(parse("2.5 bar").shifted(1))
        ('0.050 mm', '25 bar')
        """
        text = moved(self.text, places)
        return Quantity(text, float(text), self.unit, len(text.partition(".")[2]))

    @property
    def resolution(self) -> float:
        """One step of the last typed digit, in the quantity's own unit.

        >>> parse("75.970 mm").resolution
        0.001
        """
        return float(f"1e-{self.decimals}")

    def __str__(self) -> str:
        return f"{self.text} {self.unit}" if self.unit else self.text


def number(text: str) -> tuple[float, int]:
    """Value and typed decimals of a bare number.

    >>> number("75.970")
    (75.97, 3)

    Raises QuantityError for anything else; a comma decimal is questioned, never guessed.
    """
    text = text.strip()
    if _NUMBER.fullmatch(text):
        return float(text), len(text.partition(".")[2])
    if _COMMA.fullmatch(text):
        raise QuantityError(f"'{text}' has a comma", f"write {text.replace(',', '.')} with a point")
    if text.startswith(_MINUS):
        raise QuantityError(f"'{text}' has a printed minus sign", f"write -{text[1:]} with a hyphen")
    raise QuantityError(f"'{text}' is not a number")


def moved(text: str, places: int) -> str:
    """The digits as typed, with the point moved to the right (or left).

    Source: decimal notation.

    >>> moved("7.5964", 1), moved("759.64", -1), moved("75968", -1)
    ('75.964', '75.964', '7596.8')
    """
    sign = "-" if text.startswith("-") else ""
    whole, _, part = text.lstrip("+-").partition(".")
    digits, at = whole + part, len(whole) + places
    digits = digits.rjust(len(digits) + max(0, 1 - at), "0")
    at = max(at, 1)
    digits = digits.ljust(at, "0")
    whole, part = digits[:at].lstrip("0") or "0", digits[at:]
    return f"{sign}{whole}.{part}" if part else f"{sign}{whole}"


def parse(text: str, unit: str | None = None, dimension: str | None = None) -> Quantity:
    """A quantity from text; ``unit`` is the unit in force for a bare number.

    >>> parse("2.6247 in")
    Quantity(text='2.6247', value=2.6247, unit='in', decimals=4)
    >>> parse("75.970", unit="mm").decimals
    3

    Raises QuantityError: no number, no unit in force, an unknown unit, or a
    unit of another dimension than the one asked for.
    """
    text = text.strip().replace("\u00a0", " ")
    match = _NUMBER.match(text)
    if not match or _COMMA.match(text):
        if meant := _letters(text):
            raise QuantityError(f"'{text}' has a letter among its digits", meant)
        digits, _, rest = text.partition(" ")
        number(digits)  # raises with the right words
        raise QuantityError(f"'{text}' is not a quantity")
    digits, rest = match.group(), text[match.end() :].strip()
    value, decimals = float(digits), len(digits.partition(".")[2])
    if not rest:
        if not unit:
            raise QuantityError(f"'{text}' has no unit", _with_unit(text, value, dimension), "no unit")
        rest = unit
    try:
        name = units.canonical(rest)
        found = units.dimension(name)
    except units.UnknownUnit as problem:
        if meant := _letters(text):
            raise QuantityError(f"'{text}' has a letter among its digits", meant) from None
        raise QuantityError(str(problem), _near(rest)) from None
    if dimension is not None and found != dimension:
        raise QuantityError(f"'{text}' is a {found}, not a {dimension}")
    return Quantity(digits, value, name, decimals)


def _letters(text: str) -> str:
    """The number meant where the letter O or l stands for a digit; '' where none does.

    >>> _letters("1.747O"), _letters("l.7470"), _letters("1.7470 in")
    ('1.7470', '1.7470', '')
    """
    word, _, rest = text.partition(" ")
    if not re.search("[OolI]", word) or not re.fullmatch(r"[+-]?[0-9OolI]*\.?[0-9OolI]+", word):
        return ""
    if not re.search("[0-9]", word):
        return ""
    return f"{word.translate(str.maketrans('OolI', '0011'))} {rest}".rstrip()


def _with_unit(text: str, value: float, dimension: str | None) -> str:
    """A bare number with the unit that was probably meant: of a temperature by what a workshop can have."""
    if dimension == "temperature":
        return f"{text} °F" if value > 45 else f"{text} °C"
    if dimension in units.BASE:
        return f"write the unit behind it, as in {text} {units.BASE[dimension]}"
    return f"write the unit behind it, as in {text} mm"


def _near(unit: str) -> str:
    import difflib

    known = units.spellings()
    close = [name for name in known if name.casefold() == unit.casefold()] or difflib.get_close_matches(
        unit, known, 1, 0.5
    )
    return f"did you mean {units.canonical(close[0])}?" if close else ""
