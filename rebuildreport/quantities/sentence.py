"""Texts that can still be said in another language: plain English that remembers what it was made of.

Each is a ``str`` like any other, for whoever prints, compares or stores it.
What prints a document in another language asks it for its pattern and values,
looks the pattern up, and puts the values in again, each in its own way.  A
text cut, joined or formatted into another one is a mere ``str`` again: pieces
are put together by a pattern of their own, or by ``Several``.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

Text = str


class Typed(str):
    """What a person has typed: it stands in every language as it was typed."""

    __slots__ = ()


NOTHING = ""


def english(text: object) -> str:
    """A text in plain English."""
    return str(text)


class Figure(str):
    """A number as printed, perhaps with its unit: its point is a decimal sign, and nobody typed it.

    >>> Figure("0.12 mm")
    '0.12 mm'
    """

    __slots__ = ()


class Amount(Figure):
    """A sum of money, with the code of its currency where it stands alone.

    >>> Amount(Decimal("1250"), 2, "EUR"), Amount(Decimal("0.5"), 3)
    ('1250.00 EUR', '0.500')
    """

    __slots__ = ("amount", "code", "digits")
    amount: Decimal
    digits: int  # of the currency's minor unit
    code: str

    def __new__(cls, amount: Decimal, digits: int, code: str = "") -> Amount:
        one = super().__new__(cls, f"{amount:.{digits}f} {code}".strip())
        one.amount, one.digits, one.code = amount, digits, code
        return one

    def __deepcopy__(self, memo: object) -> Amount:
        return self

    def __reduce__(self) -> tuple[object, ...]:
        return Amount, (self.amount, self.digits, self.code)


class Sentence(str):
    """A whole message: English with ``{names}``, and the values that stand for them.

    >>> found = Sentence("{count} of {wanted} readings", count=2, wanted=Figure("4"))
    >>> found, found.pattern
    ('2 of 4 readings', '{count} of {wanted} readings')
    """

    __slots__ = ("pattern", "values")
    pattern: Text
    values: dict[str, object]

    def __new__(cls, pattern: str, /, **values: object) -> Sentence:
        one = super().__new__(cls, pattern.format(**values) if values else pattern)
        one.pattern, one.values = pattern, values
        return one

    def __deepcopy__(self, memo: object) -> Sentence:
        return self  # nothing in it changes

    def __reduce__(self) -> tuple[object, ...]:
        return _again, (str(self), self.pattern, self.values)


class Several(str):
    """Texts one after the other, each of which can be said by itself.

    ``between`` stands between two of them; with ``last`` the last one is joined by that word instead.

    >>> Several(["C1", "C2", "C3"], last="and"), Several(["no leaks", "no noises"], "; ")
    ('C1, C2 and C3', 'no leaks; no noises')
    """

    __slots__ = ("between", "items", "last")
    items: tuple[str, ...]
    between: str
    last: str

    def __new__(cls, items: Iterable[str], between: str = ", ", last: str = "") -> Several:
        found = tuple(items)
        if last and len(found) > 1:
            text = f"{between.join(found[:-1])} {last} {found[-1]}"
        else:
            text = between.join(found)
        one = super().__new__(cls, text)
        one.items, one.between, one.last = found, between, last
        return one

    def __deepcopy__(self, memo: object) -> Several:
        return self

    def __reduce__(self) -> tuple[object, ...]:
        return Several, (self.items, self.between, self.last)


def present(items: Iterable[str], between: str = "; ") -> str:
    """Those of some texts that say anything, one after the other.

    >>> present(["no leaks", "", "no noises"])
    'no leaks; no noises'
    """
    found = [one for one in items if one]
    return found[0] if len(found) == 1 else Several(found, between)


def amid(text: str) -> str:
    """A title in the middle of an English sentence: in small letters; another language has it as it stands.

    >>> amid(Sentence("Main journals")), amid(Sentence("Main journals")).pattern
    ('main journals', 'Main journals')
    """
    if not isinstance(text, Sentence):
        return text.lower()
    return _again(text.lower(), text.pattern, text.values)


def as_typed(name: str) -> str:
    """A name of the files as it is typed, which another language may have a word for.

    >>> as_typed("front_b"), as_typed("front_b").pattern
    ('front_b', 'front b')
    """
    return _again(name, name.replace("_", " "), {})


def _again(text: str, pattern: str, values: dict[str, object]) -> Sentence:
    one = str.__new__(Sentence, text)
    one.pattern, one.values = pattern, values
    return one
