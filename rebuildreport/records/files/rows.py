"""Rows of readings: one line of text becomes one cell for each column."""

from __future__ import annotations

import re
from collections.abc import Iterable

from msgspec.structs import replace

from ... import quantities
from ...quantities import QuantityError
from ..text.problems import Problem
from ..text.reader import Source, Where
from ..text.validate import listed
from .rounds import Cell, Table

Cells = dict[str, dict[str, Cell]]  # position: column: cell

MOST_REPEATS = 50
MOST = 1e9  # in any unit: squares of it, and sums of many, are numbers still
_COMMA = re.compile(r"[+-]?\d+,\d+")


def table_cells(table: Table, unit: str | None, source: Source, where: Where) -> tuple[Cells, list[Problem]]:
    """The cells of a table, and what is wrong with its rows.

    ``unit`` is in force for bare numbers: the table's own, or else its
    feature's; None where neither states one.  ``where`` is the table's place
    in the file.

    A reading may carry its own unit glued to it (``2.6247in``), repeats at one
    spot are joined by strokes (``0.34/0.35/0.34``), ``<0.05`` is less than a
    leaf that did not go in and ``0.15<0.20`` lies between one that did and one
    that did not, ``--`` was not taken, ``none`` is no clearance, and a ``!``
    behind a reading says that it was looked at again and is right.
    """
    unit = table.unit or unit or None
    if unit is not None:
        try:
            unit = quantities.canonical(unit)
        except quantities.UnknownUnit:
            return {}, []  # the unit itself is reported where it is written
    cells: Cells = {}
    problems: list[Problem] = []
    for position, text in table.rows.items():
        place, row = (*where, "rows", position), cells.setdefault(position, {})
        tokens = list(_tokens(text, source, place))
        if len(tokens) != len(table.columns):
            line, at = tokens[-1][1:] if tokens else (source.mark(place).line, source.mark(place).column)
            said = _wrong_length([token for token, *_ in tokens], position, table.columns)
            problems.append(source.problem_at(line, at, *said))
            continue
        for name, (token, line, at) in zip(table.columns, tokens, strict=True):
            try:
                row[name] = cell(token, unit, line, at)
            except QuantityError as problem:
                message, code = f"{position} {name}: {problem}", problem.code
                problems.append(source.problem_at(line, at, message, problem.suggestion, code=code))
    return cells, _each_once(problems, source, where)


def _each_once(problems: list[Problem], source: Source, where: Where) -> list[Problem]:
    """What is one habit of a table is told once, not for each reading: decimal commas, a unit left out."""
    commas = [problem for problem in problems if problem.code == "comma"]
    if len(commas) > 1:
        first = replace(commas[0], message=f"{commas[0].message} (and {len(commas) - 1} more in this table)")
        problems = [first, *(problem for problem in problems if problem not in commas)]
    if any(problem.code == "no unit" for problem in problems):
        message = "no unit is stated for these readings, at the table or at the feature"
        hint = "add 'unit: mm' or 'unit: in', whichever was read"
        problems = [problem for problem in problems if problem.code != "no unit"]
        problems.append(source.problem(where, message, hint, at="key", code="no unit"))
    return problems


def cell(token: str, unit: str | None, line: int = 0, column: int = 0) -> Cell:
    """One column of a row.

    >>> cell("0.34/0.35", "mm").state, [one.value for one in cell("0.34/0.35", "mm").readings]
    ('read', [0.34, 0.35])
    >>> cell("0.15<0.20", "mm").no_go.text, cell("<0.05", "mm").readings[0].text
    ('0.20', '0.05')
    >>> cell("--", "mm").state, cell("none", "mm").state, cell("2.6247in", "mm").readings[0].unit
    ('not taken', 'none', 'in')

    Raises QuantityError for what is no reading.
    """
    if token == "--":
        return Cell(token, (), "not taken", line, column)
    if token == "none":
        return Cell(token, (), "none", line, column)
    if token in ("-", "–", "—", "---", "?", "n/a", "x"):
        raise QuantityError(f"'{token}' is no reading", "-- for a reading not taken")
    if token.startswith(">"):
        raise QuantityError(f"'{token}' is no reading", f"the widest leaf, which still went in: {token[1:]}")
    goes, go_no_go, no_go = token.removesuffix("!").partition("<")
    spots = (goes or no_go).split("/")
    if go_no_go and (len(spots) > 1 or not no_go):
        raise QuantityError(f"'{token}' names no leaf that did not go in", "<0.05, or 0.05<0.06")
    if len(spots) > MOST_REPEATS:
        raise QuantityError(f"{len(spots)} repeats at one spot: nobody reads one so often")
    if unit in ("mm", "in") and re.fullmatch(r"[0-9]?[13579]/(2|4|8|16|32|64)", token):
        message = f"'{token}' would be two readings at one spot: a fraction of an inch?"
        raise QuantityError(message, f"{int(spots[0]) / int(spots[1]):.4f}in")
    readings = []
    for spot in spots:
        if _COMMA.fullmatch(spot):
            words = f"'{token}' has a comma: two readings, or a decimal comma?"
            raise QuantityError(words, token.replace(",", "."), "comma")
        if not spot:
            raise QuantityError(f"'{token}' lacks a reading beside the stroke", "0.34/0.35/0.34")
        readings.append(quantities.parse(spot, unit))
        if abs(readings[-1].value) > MOST:
            raise QuantityError("a number of more digits than any instrument shows", "a digit held down?")
    left_out = quantities.parse(no_go, unit) if go_no_go else None
    if left_out and goes and left_out.to(readings[0].unit) <= readings[0].value:
        raise QuantityError(f"'{token}': what did not go in is the wider one", f"{no_go}<{goes}")
    return Cell(token, tuple(readings), "read", line, column, token.endswith("!"), left_out)


def _wrong_length(tokens: list[str], position: str, columns: list[str]) -> tuple[str, str]:
    """Message and hint for a row with fewer or more readings than columns."""
    count = f"{len(tokens)} reading{'' if len(tokens) == 1 else 's'}"
    wanted = f"{len(columns)} column{'' if len(columns) == 1 else 's'}"
    if len(tokens) < len(columns):
        missing = listed(columns[len(tokens) :])
        return f"{position} has {count} for {wanted}: {missing} missing", "write -- for a reading not taken"
    words = [word for word in tokens if word[:1].isalpha() and word not in ("none", "x", "n/a")]
    if words and not all(_is_unit(word) for word in words):
        first = tokens.index(words[0])
        readings, said = " ".join(tokens[:first]), " ".join(tokens[first:])
        message = f"{position}: a row holds readings only, and words stand in it: '{said}'"
        return message, f"a remark goes behind a #: {readings}  # {said}"
    if words:
        message = f"{position}: a row holds bare readings, and '{words[0]}' is a unit"
        return message, f"convert it, or give it a table of its own with 'unit: {words[0]}'"
    if any("," in token for token in tokens):
        return f"{position} has {count} for {wanted}, and a comma", "readings are separated by blanks"
    return f"{position} has {count} for {wanted}: {listed(columns)}", "take one away, or add its column"


def _is_unit(token: str) -> bool:
    if not token[:1].isalpha() or token == "none":
        return False
    # of the units that the table knows: 'at' is one of pint's, and a word of remarks
    return token in quantities.units.spellings()


def _tokens(text: str, source: Source, where: Where) -> Iterable[tuple[str, int, int]]:
    """The words of a row with the line and column of each."""
    mark = source.mark(where)
    line, at = mark.line, mark.column - 1
    for word in text.split():
        # a row may be folded over several lines; each word is found in its own
        while (found := source.line(line).find(word, at)) < 0 and line < len(source.lines):
            if line > mark.line + 20:
                break
            line, at = line + 1, 0
        if found < 0:
            yield word, mark.line, mark.column
            continue
        yield word, line, found + 1
        at = found + len(word)
