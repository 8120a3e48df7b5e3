"""A list of problems being gathered from one file: what the cross-checks write into."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Set
from typing import Literal

from ...quantities import UnknownUnit, canonical, dimension
from .problems import Problem
from .reader import Source, Where
from .validate import listed, near, offer

ALL = 200  # names of a sheet, or kinds of feature: cut lists hide the one that was meant
Severity = Literal["error", "warning"]


class Notes:
    """Problems of one file, each pointing at a place in it."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.found: list[Problem] = []

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
        hint = offer(word, names) or (f"known here: {listed(names, ALL)}" if known else "")
        self.add(where, f"'{word}' is {what}", hint, severity, key, word if within and not key else "")
        return False

    def all_known(
        self,
        where: Where,
        words: Iterable[str],
        known: Collection[str],
        what: str,
        severity: Severity = "error",
    ) -> None:
        """``known`` for each word of a list that stands in one text."""
        for word in words:
            self.known(where, word, known, what, severity=severity, within=True)

    def misspelt(self, where: Where, word: str, known: Collection[str], key: bool = False) -> None:
        """A warning for a free word that is nearly, but not quite, one that the sheet uses."""
        if word not in known and (hint := near(word, known, 0.8)):
            self.add(where, f"'{word}' stands nowhere else", hint, "warning", key, "" if key else word)

    def unit(self, where: Where, unit: str, wanted: str | None = None) -> str | None:
        """The canonical unit, or None with a note where it is unknown or measures something else."""
        try:
            name = canonical(unit)
        except UnknownUnit as problem:
            from ...quantities.units import spellings

            self.error(where, str(problem), near(unit, spellings()))
            return None
        if wanted is not None and dimension(name) != dimension(wanted):
            message = f"{unit} is a unit of {dimension(name)}, and {wanted} one of {dimension(wanted)}"
            self.error(where, message, f"unit: {wanted}")
            return None
        return name
