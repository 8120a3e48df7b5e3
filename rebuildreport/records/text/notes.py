"""A list of problems being gathered from one file: what the cross-checks write into."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Set
from datetime import date
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import Any, Literal, TypeVar

from ...quantities import Quantity, UnknownUnit, Unreadable, canonical, dimension
from .problems import Problem, Severity
from .reader import MOST_FAULTS, Source, Where
from .validate import listed, near

ALL = 200  # names of a sheet, or kinds of feature: cut lists hide the one that was meant
MOST_HINTS = 50  # words looked up for 'did you mean': where more are unknown, another sheet is what is wrong
Stands = Literal["alone", "in a list", "key"]
S = TypeVar("S")
T = TypeVar("T")


def one_of(sort: str) -> str:
    """A sort of quantity with its article.

    >>> one_of("length"), one_of("angle")
    ('a length', 'an angle')
    """
    return f"{'an' if sort[:1] in 'aeiou' else 'a'} {sort}"


def values_at(record: object, path: str) -> Iterator[tuple[Where, object]]:
    """Everything that stands at a path of a record, with its place: ``joints.*.needs``.

    A step is a key of the file, ``*`` each item of a list or block.
    """
    found: list[tuple[Where, object]] = [((), record)]
    for step in path.split("."):
        if step == "*":
            found = [((*where, key), item) for where, block in found for key, item in _items(block).items()]
        else:
            found = [((*where, step), _field(block, step)) for where, block in found]
    return ((where, item) for where, item in found if item is not None)


def words_at(record: object, path: str) -> Iterator[tuple[Where, str, Stands]]:
    """Every word that stands at a path; with ``@`` for its last step each key of a block: ``always.@``."""
    if path.endswith(".@"):
        for where, block in values_at(record, path.removesuffix(".@")):
            yield from (((*where, key), key, "key") for key in _items(block))
        return
    for where, item in values_at(record, path):
        if isinstance(item, str):
            yield where, item, "alone"
        elif isinstance(item, list):
            yield from ((where, word, "in a list") for word in item)


def _items(block: object) -> dict[Any, object]:
    return block if isinstance(block, dict) else dict(enumerate(block)) if isinstance(block, list) else {}


def _field(record: object, key: str) -> object:
    """The value of a key; a key that is a word of Python's own stands with a line behind it: ``for_``."""
    return getattr(record, key, None) or getattr(record, f"{key}_", None)


def circle(leads_to: Mapping[str, Iterable[str]]) -> list[str]:
    """Names of which each leads to the next and the last to the first; none where nothing goes in a circle.

    >>> circle({"a": ["b"], "b": ["c", "a"]}), circle({"a": ["b"]})
    (['a', 'b', 'a'], [])
    """
    try:
        TopologicalSorter(leads_to).prepare()
    except CycleError as found:
        return list(reversed(found.args[1]))
    return []


def other_script(word: str) -> str:
    """The letter of a name that looks like one of ours and is of another alphabet; '' where there is none.

    >>> other_script("M1"), other_script("\u041c1")
    ('', 'its \u041c is a Cyrillic letter (U+041C): type it again')
    """
    for letter in word if not word.isascii() else "":
        script = unicodedata.name(letter, "").partition(" ")[0]
        if script in ("CYRILLIC", "GREEK"):
            return f"its {letter} is a {script.capitalize()} letter (U+{ord(letter):04X}): type it again"
    return ""


class Notes:
    """Problems of one file, each pointing at a place in it."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.found: list[Problem] = []
        self.failed = False  # whether an error is among them

    def error(self, where: Where, message: str, suggestion: str = "", key: bool = False) -> None:
        self.add(where, message, suggestion, "error", key)

    def warn(self, where: Where, message: str, suggestion: str = "", key: bool = False) -> None:
        self.add(where, message, suggestion, "warning", key)

    def add(
        self,
        where: Where,
        message: str,
        suggestion: str,
        severity: Severity,
        key: bool = False,
        word: str = "",
    ) -> None:
        """A problem at a value, at its key, or at one word of the value's text."""
        at: Literal["key", "value"] = "key" if key else "value"
        if len(self.found) >= MOST_FAULTS and (severity == "warning" or self.failed):
            return  # who has put these right sees the next
        self.failed = self.failed or severity == "error"
        if word:
            line, column = self.word(where, word)
            self.found.append(self.source.problem_at(line, column, message, suggestion, severity))
        else:
            self.found.append(self.source.problem(where, message, suggestion, severity, at))

    def word(self, where: Where, word: str) -> tuple[int, int]:
        """Where a word of a text stands; the text's start where it cannot be found (a range, C1 to C6)."""
        mark = self.source.mark(where)
        text = self.source.line(mark.line)
        match = re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", text[mark.column - 1 :])
        return mark.line, mark.column + (match.start() if match else 0)

    def known(
        self,
        where: Where,
        word: str,
        known: Collection[str],
        what: str,
        *,
        severity: Severity = "error",
        key: bool = False,
        within: bool = False,
    ) -> bool:
        """Whether ``word`` is one of the known ones; notes it with the nearest, or with all, where not."""
        if word in known:
            return True
        names = sorted(known) if isinstance(known, Set) else known  # a set has no order to tell it in
        hint = other_script(word) or (near(word, names) if len(self.found) < MOST_HINTS else "")
        hint = hint or (f"known here: {listed(names, ALL)}" if known else "")
        self.add(where, f"'{word}' is {what}", hint, severity, key, word if within and not key else "")
        return False

    def all_known(self, where: Where, words: Iterable[str], known: Collection[str], what: str) -> None:
        """``known`` for each word of a list that stands in one text."""
        for word in words:
            self.known(where, word, known, what, within=True)

    def named(
        self,
        record: object,
        paths: Iterable[str],
        known: Collection[str],
        what: str,
        severity: Severity = "error",
    ) -> None:
        """``known`` for every word that stands at one of some paths of a record."""
        for path in paths:
            for where, word, stands in words_at(record, path):
                at_key, in_list = stands == "key", stands == "in a list"
                self.known(where, word, known, what, severity=severity, key=at_key, within=in_list)

    def misspelt(self, where: Where, word: str, known: Collection[str]) -> None:
        """A warning for a free word that is nearly, but not quite, one that the sheet uses."""
        if len(self.found) < MOST_HINTS and word not in known and (hint := near(word, known, 0.8)):
            self.add(where, f"'{word}' stands nowhere else", hint, "warning", word=word)

    def in_order(self, where: Where, days: Mapping[str, date | None]) -> None:
        """A warning at each day (of a key) that lies before the one that stands before it."""
        known = [(key, day) for key, day in days.items() if day]
        for (before, first), (after, second) in pairwise(known):
            if second < first:
                self.warn((*where, after), f"{after} {second} lies before {before} {first}")

    def read(
        self, where: Where, read: Callable[[S], T], text: S, hint: str = "", key: bool = False
    ) -> T | None:
        """What a text says; None, and why as an error, where it cannot be read."""
        try:
            return read(text)
        except Unreadable as problem:
            self.error(where, str(problem), problem.suggestion or hint, key)
            return None

    def measures(self, where: Where, typed: Quantity, wanted: str, example: str) -> bool:
        """Whether a quantity is one of what is asked for: a torque, a time."""
        if (found := dimension(typed.unit)) == wanted:
            return True
        self.error(where, f"{typed} is {one_of(found)}, not {one_of(wanted)}", example)
        return False

    def measured(self, record: object, path: str, wanted: str, example: str) -> None:
        """``measures`` for every quantity that stands at a path of a record."""
        for where, typed in values_at(record, path):
            if isinstance(typed, Quantity):
                self.measures(where, typed, wanted, example)

    def unit(self, where: Where, unit: str, wanted: str | None = None) -> str | None:
        """The canonical unit, or None with a note where it is unknown or measures something else."""
        try:
            name = canonical(unit)
        except UnknownUnit as problem:
            from ...quantities.units import spellings

            self.error(where, str(problem), near(unit, spellings()))
            return None
        if wanted is not None and dimension(name) != dimension(wanted):
            message = f"{unit} is a unit of {dimension(name)}, and a {dimension(wanted)} belongs here"
            self.error(where, message, f"{'unit:' if where[-1] == 'unit' else 'as in'} {wanted}")
            return None
        return name
