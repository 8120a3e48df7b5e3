"""What is said before it is words: each language makes its own words of it, and none of it is a ``str``.

In: patterns of ours in plain English with ``{names}``, what people typed, numbers as printed, money,
measures.  Out: ``english`` for the terminal; ``worded`` for whoever knows a catalogue.
A text that slips into an f-string or a join raises TypeError instead of standing there in English.  It knows
no catalogue, no language but English, and no shop.

An object that has texts in it is written as JSON and read back by msgspec (``as_json``, ``from_json``), then
says the same in every language: what was typed is a JSON string, anything else an object with its English
under ``text``.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, Final, Self

from .show import show


class Text:
    """Anything that can be said.  Equal where it is made of the same; false where it says nothing."""

    __slots__ = ()
    __match_args__: tuple[str, ...] = ()  # all that it is made of

    def _made_of(self) -> tuple[Any, ...]:
        return tuple([getattr(self, name) for name in self.__match_args__])

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and self._made_of() == other._made_of()

    def __hash__(self) -> int:
        return hash(self._made_of())

    def __repr__(self) -> str:
        parts = [f"{name}={getattr(self, name)!r}" for name in self.__match_args__]
        return f"{type(self).__name__}({', '.join(parts)})"

    def __bool__(self) -> bool:
        return bool(english(self))

    def __str__(self) -> str:
        raise TypeError(f"not words yet, it must be told in a language first: {self!r}")

    def __format__(self, spec: str) -> str:
        return str(self)

    def __copy__(self) -> Self:
        return self  # nothing in it changes

    def __deepcopy__(self, memo: object) -> Self:
        return self


Value = Text | int | float | date | Decimal  # what a sentence has in it


class Typed(Text):
    """What a person has typed: it stands in every language as it was typed."""

    __slots__ = __match_args__ = ("text",)

    def __init__(self, text: str) -> None:
        self.text: Final = text

    def __bool__(self) -> bool:
        return bool(self.text)  # asked of every note that there is not


NOTHING: Text = Typed("")


class Name(Text):
    """A name of the files: in English as it is typed, in another language the word that it has for it.

    >>> english(Name("front_b")), Name("front_b").pattern
    ('front_b', 'front b')
    """

    __slots__ = __match_args__ = ("name",)

    def __init__(self, name: str) -> None:
        self.name: Final = name

    @property
    def pattern(self) -> str:
        """The words that a catalogue may have."""
        return self.name.replace("_", " ")


class Figure(Text):
    """A number as printed, perhaps with its unit: its point is a decimal sign, and nobody typed it.

    >>> english(Figure("0.12 mm"))
    '0.12 mm'
    """

    __slots__ = __match_args__ = ("text",)

    def __init__(self, text: object) -> None:
        self.text: Final = str(text)


class Amount(Text):
    """A sum of money, with the code of its currency where it stands alone.

    >>> english(Amount(Decimal("1250"), 2, "EUR")), english(Amount(Decimal("0.5"), 3))
    ('1250.00 EUR', '0.500')
    """

    __slots__ = __match_args__ = ("amount", "digits", "code")

    def __init__(self, amount: Decimal, digits: int, code: str = "") -> None:
        self.amount: Final = amount
        self.digits: Final = digits  # of the currency's minor unit
        self.code: Final = code

    @property
    def text(self) -> str:
        """As it stands in plain English."""
        return f"{self.amount:.{self.digits}f} {self.code}".strip()


class Measure(Text):
    """A value with its unit and the decimals it is known to, of a floor that knows no shop.

    ``as_printed`` makes a figure of it as the shop prints; until then it stands in its own unit.

    >>> english(Measure(0.026, "mm", 3))
    '0.026 mm'
    """

    __slots__ = __match_args__ = ("value", "unit", "decimals")

    def __init__(self, value: float, unit: str, decimals: int) -> None:
        self.value: Final = value
        self.unit: Final = unit
        self.decimals: Final = decimals

    @property
    def text(self) -> str:
        """In its own unit."""
        return f"{self.value:.{self.decimals}f} {self.unit}".replace("-", "\u2212")


class Sentence(Text):
    """A whole message: English with ``{names}``, and the values that stand for them.

    A value that is a mere ``str`` was typed.  ``amid`` is set by the function of that name.

    >>> half = Sentence("{count} of {wanted} readings", count=2, wanted=Figure("4"))
    >>> english(half), half.pattern
    ('2 of 4 readings', '{count} of {wanted} readings')
    """

    __slots__ = __match_args__ = ("pattern", "values", "amid")

    pattern: str
    values: Mapping[str, Value]
    amid: bool

    def __init__(self, pattern: str, /, **values: Value | str) -> None:
        self._put(pattern, {name: _text(value) for name, value in values.items()}, False)

    def _put(self, pattern: str, values: Mapping[str, Value], amid: bool) -> Self:
        self.pattern, self.values, self.amid = pattern, values, amid
        return self

    def __bool__(self) -> bool:
        return self.pattern[:1] not in ("", "{") or super().__bool__()  # words of ours say something

    def __hash__(self) -> int:
        return hash((self.pattern, frozenset(self.values.items()), self.amid))

    def __repr__(self) -> str:
        values = "".join(f", {name}={value!r}" for name, value in self.values.items())
        whole = f"Sentence({self.pattern!r}{values})"
        return f"amid({whole})" if self.amid else whole


class Several(Text):
    """Texts one after the other, each of which can be said by itself.

    ``between`` stands between two of them; with ``last`` the last one is joined by that word instead.

    >>> english(Several(["C1", "C2", "C3"], last="and")), english(Several(["no leaks", "no noises"], "; "))
    ('C1, C2 and C3', 'no leaks; no noises')
    """

    __slots__ = __match_args__ = ("items", "between", "last")

    def __init__(self, items: Iterable[Text | str], between: str = ", ", last: str = "") -> None:
        self.items: Final = tuple(map(_typed, items))
        self.between: Final = between
        self.last: Final = last


def present(items: Iterable[Text], between: str = "; ") -> Text:
    """Those of some texts that say anything, one after the other.

    >>> english(present([Sentence("no leaks"), NOTHING, Sentence("no noises")]))
    'no leaks; no noises'
    """
    saying = [item for item in items if item]
    return saying[0] if len(saying) == 1 else Several(saying, between)


def amid(text: Text) -> Text:
    """A title in the middle of an English sentence, in small letters; another language has it as it stands.

    >>> english(amid(Sentence("Main journals"))), amid(Sentence("Main journals")) == Sentence("Main journals")
    ('main journals', False)
    """
    if isinstance(text, Several):
        return Several(map(amid, text.items), text.between, text.last)
    if not isinstance(text, Sentence):
        return text
    values = {name: amid(value) if isinstance(value, Text) else value for name, value in text.values.items()}
    return Sentence.__new__(Sentence)._put(text.pattern, values, True)


def as_typed(name: str) -> Text:
    """A name of the files as it is typed, which another language may have a word for."""
    return Name(name)


def as_printed(text: Text, system: str) -> Text:
    """The text with its measures as a shop of ``system`` prints them: in a shop of inches both systems.

    >>> said = as_printed(Sentence("range {range}", range=Measure(0.254, "mm", 3)), "in")
    >>> english(said).replace(chr(160), " ")
    'range 0.0100 in (0.254 mm)'
    """
    if system != "in":
        return text
    if isinstance(text, Measure):
        return Figure(show(text.value, text.unit, text.decimals, system).both)
    if isinstance(text, Several):
        return Several((as_printed(item, system) for item in text.items), text.between, text.last)
    if isinstance(text, Sentence):
        values = {
            name: as_printed(value, system) if isinstance(value, Text) else value
            for name, value in text.values.items()
        }
        return Sentence.__new__(Sentence)._put(text.pattern, values, text.amid)
    return text


# ------------------------------------------------------------------------------------- making words


def english(text: Text | str) -> str:
    """A text in plain English, days as 2031-03-05."""
    return text if isinstance(text, str) else worded(text, lambda pattern: pattern, _plain, small=True)


def worded(
    text: Text, message: Callable[[str], str], leaf: Callable[[Value], object], small: bool = False
) -> str:
    """A text in the words of a language.

    ``message`` has the language's words for a pattern of ours, ``leaf`` prints what has no text inside (what
    was typed, a name, a figure, money, a measure, a number, a day), ``small`` writes what stands ``amid`` in
    small letters.

    >>> german = {"{count} of {wanted} readings": "{count} von {wanted} Messwerten"}
    >>> half = Sentence("{count} of {wanted} readings", count=2, wanted=Figure("4"))
    >>> worded(half, german.get, lambda value: value.text if isinstance(value, Text) else value)
    '2 von 4 Messwerten'
    """
    if isinstance(text, Several):
        words = [worded(item, message, leaf, small) for item in text.items]
        if text.last and len(words) > 1:
            return f"{text.between.join(words[:-1])} {message(text.last)} {words[-1]}"
        return text.between.join(words)
    if not isinstance(text, Sentence):
        return str(leaf(text))
    pattern = message(text.pattern)
    if text.amid and small:
        pattern = _in_small_letters(pattern, bool(text.values))
    if not text.values:
        return pattern
    return pattern.format(
        **{
            name: worded(value, message, leaf, small) if isinstance(value, Text) else leaf(value)
            for name, value in text.values.items()
        }
    )


def _plain(value: Value) -> object:
    if isinstance(value, Name):
        return value.name
    return value.text if isinstance(value, (Typed, Figure, Amount, Measure)) else value


def _in_small_letters(pattern: str, with_values: bool) -> str:
    """A pattern in small letters, but for the names of its values; as it stands where a later word is written
    large: one in V-blocks, and a title of a language that writes its nouns so.

    Without values a brace is a brace, as somebody typed it.

    >>> [_in_small_letters(title, False) for title in ("Rod journals", "Spiel der Kurbelwelle", "Bore {")]
    ['rod journals', 'Spiel der Kurbelwelle', 'bore {']
    """
    if any(word[:1].isupper() for word in pattern.split()[1:]):
        return pattern
    if not with_values:
        return pattern.lower()
    pieces = string.Formatter().parse(pattern)
    return "".join(words.lower() + ("" if name is None else f"{{{name}}}") for words, name, _, _ in pieces)


def _typed(item: Text | str) -> Text:
    return Typed(item) if isinstance(item, str) else item


def _text(value: Value | str) -> Value:
    return Typed(value) if isinstance(value, str) else value


# --------------------------------------------------------------------------------------- as JSON

JSON_SCHEMA = {
    "anyOf": [
        {"type": "string"},
        {"type": "object", "properties": {"text": {"type": "string"}}, "required": ["text"]},
    ]
}


def as_json(value: Any) -> Any:
    """A text or a value of one as JSON has it; anything else stays what it is.

    >>> as_json(Typed("rod thrown")), as_json(Figure("4"))
    ('rod thrown', {'text': '4', 'figure': '4'})
    """
    if isinstance(value, Typed):
        return value.text
    if isinstance(value, Text):
        return {"text": english(value), **_MADE_OF[type(value)](value)}
    if isinstance(value, date):
        return {"date": value.isoformat()}
    return {"decimal": str(value)} if isinstance(value, Decimal) else value


def _of_sentence(text: Any) -> dict[str, Any]:
    made = {"say": text.pattern, "with": {name: as_json(value) for name, value in text.values.items()}}
    return {**made, "amid": True} if text.amid else made


_MADE_OF: dict[type[Text], Callable[[Any], dict[str, Any]]] = {
    Name: lambda text: {"name": text.name},
    Figure: lambda text: {"figure": text.text},
    Amount: lambda text: {"amount": str(text.amount), "digits": text.digits, "code": text.code},
    Measure: lambda text: {"value": text.value, "unit": text.unit, "decimals": text.decimals},
    Several: lambda text: {
        "several": [*map(as_json, text.items)],
        "between": text.between,
        "last": text.last,
    },
    Sentence: _of_sentence,
}


def from_json(kind: type, value: Any) -> Any:
    """The other way round; ValueError where it is no text of that kind."""
    text = value if isinstance(value, Text) else _read(value)
    if not isinstance(text, kind):
        raise ValueError(f"{kind.__name__} expected, not {text!r}")
    return text


def _read(value: Any) -> Any:
    """A text or a value of one; ValueError where it is none of them."""
    match value:
        case {"name": str(name)}:
            return Name(name)
        case {"figure": str(figure)}:
            return Figure(figure)
        case {"amount": str(amount), "digits": int(digits), "code": str(code)}:
            return Amount(Decimal(amount), digits, code)
        case {"value": int() | float() as number, "unit": str(unit), "decimals": int(decimals)}:
            return Measure(number, unit, decimals)
        case {"several": list(items), "between": str(between), "last": str(last)}:
            return Several(map(_read, items), between, last)
        case {"say": str(pattern), "with": dict(values)}:
            made = {name: _read(inner) for name, inner in values.items()}
            return Sentence.__new__(Sentence)._put(pattern, made, value.get("amid", False))
        case {"date": str(day)}:
            return date.fromisoformat(day)
        case {"decimal": str(number)}:
            return Decimal(number)
        case str():
            return Typed(value)
        case int() | float():
            return value
    raise ValueError(f"a text was expected, not {value!r}")
