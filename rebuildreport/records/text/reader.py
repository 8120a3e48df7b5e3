"""One YAML file, read as a person typed it.

Every scalar stays the text that stands in the file: ``75.970``, ``0123``,
``NO`` and ``12:30`` are what they look like, never a rounded number, an octal
one, a truth value or a count of seconds.  Beside the data stands where each
key and each value was written, so that every later problem can point there.
"""

from __future__ import annotations

import re
from bisect import bisect
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any, Literal, NamedTuple

import yaml
from msgspec import Struct, field
from msgspec.structs import replace

from .problems import Code, Problem, Severity

Where = tuple[str | int, ...]  # keys and list places from the top, as in ("tables", "liners", "rows", "C3")
# What no record of an engine is: the largest honest ones (a sheet of 1,200 values, 60 features, texts of 400
# letters) are a tenth of each.  So a file that is none costs no time, in whatever way it is none.
LARGEST = 1 << 20  # bytes
DEEPEST = 30  # levels
MOST_VALUES = 20_000
MOST_ENTRIES = 400  # of one block or list
LONGEST = 10_000  # letters of one text
LONGEST_HINT = 400  # letters of a line that is written out as it is meant
MOST_FAULTS = 100  # told of one file: who has put these right sees the next

_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # libyaml where it was compiled in

# what YAML 1.1 may hold (YAML 1.1, section 5.1): the scanner's own message names no line
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# marks that no screen shows, from a web page or a document: in a name or a number they are another one,
# and those that turn the direction show a text as it is not
_INVISIBLE = re.compile("[\u00ad\u200b\u2060\ufeff\u202a-\u202e\u2066-\u2069]")
_NOTHING_IN_IT = re.compile(r"\[\s*\]|\{\s*\}")
_NEEDS_QUOTES = "%@`&*!|>?"


class TextMark(Struct, frozen=True):
    """Where a key and its value stand, lines and columns from 1; in a list both are the item's."""

    key_line: int
    key_column: int
    line: int
    column: int


class Source(Struct, frozen=True):
    """A file as read: ``data`` of dicts, lists and texts (None where nothing is written)."""

    file: str  # relative to the shop's folder, with /
    lines: tuple[str, ...] = ()
    data: Any = None
    marks: dict[Where, TextMark] = field(default_factory=dict)

    def mark(self, where: Where) -> TextMark:
        """The mark of a place, or of the nearest place above it that is written in the file."""
        for end in range(len(where), 0, -1):
            if (found := self.marks.get(where[:end])) is not None:
                return found
        return TextMark(1, 1, 1, 1)

    def without(self, lines: Mapping[int, int]) -> Source:
        """The same without what stands on these lines, each with how many blocks around it go, too.

        What is left stands on the lines that it stood on.
        """
        return self._changed(self._on(lines), {}, {})

    def names_on(self, lines: Mapping[int, int]) -> set[str]:
        """The names of what ``without`` leaves out: whatever names one of them would miss it."""
        gone = self._on(lines)
        blocks = {where for where in self.marks if len(where) == 2 and where[:1] in gone}
        return {name for where in gone | blocks if len(where) < 3 and isinstance(name := where[-1], str)}

    def _on(self, lines: Mapping[int, int]) -> set[Where]:
        """The entries that stand on these lines, each with so many blocks around it."""
        by_line = sorted((mark.key_line, str(where), where) for where, mark in self.marks.items() if where)
        return {
            entry
            for line, around in lines.items()
            if (at := bisect(by_line, (line + 1,)))
            for entry in _entries(by_line[at - 1][2], around)
        }

    def as_named(self, named: Mapping[int, tuple[str, str]]) -> Source:
        """The same with the names on some lines as they were meant."""
        keys: dict[Where, str] = {}
        values: dict[Where, str] = {}
        for where, mark in self.marks.items():
            typed, meant = named.get(mark.key_line, ("", ""))
            if typed and where[-1:] == (typed,):
                keys[where] = meant
            elif typed and self._at(where) == typed:
                values[where] = meant
        return self.renamed(keys, values)

    def _at(self, where: Where) -> Any:
        found = self.data
        for step in where:
            found = found[step]
        return found

    def renamed(self, keys: Mapping[Where, str], values: Mapping[Where, str]) -> Source:
        """The same with other keys and values at some places, on the lines where they stand."""
        return self._changed(set(), keys, values)

    def _changed(self, gone: set[Where], keys: Mapping[Where, str], values: Mapping[Where, str]) -> Source:
        found: dict[Where, TextMark] = {}
        data = _kept(self.data, (), (), gone, keys, values, self.marks, found)
        return replace(self, data=data, marks=found)

    @property
    def begun(self) -> bool:
        """Whether anything but remarks stands in the file."""
        return any(text and text[0] != "#" for line in self.lines if (text := line.strip()))

    def line(self, number: int) -> str:
        """One line as it stands in the file, numbered from 1; '' outside it."""
        return self.lines[number - 1].rstrip() if 0 < number <= len(self.lines) else ""

    def problem(
        self,
        where: Where,
        message: str,
        suggestion: str = "",
        severity: Severity = "error",
        at: Literal["value", "key"] = "value",
        code: Code = "",
    ) -> Problem:
        """A problem that points at a value (or at its key)."""
        mark = self.mark(where)
        line, column = (mark.key_line, mark.key_column) if at == "key" else (mark.line, mark.column)
        return self.problem_at(line, column, message, suggestion, severity, code)

    def problem_at(
        self,
        line: int,
        column: int,
        message: str,
        suggestion: str = "",
        severity: Severity = "error",
        code: Code = "",
    ) -> Problem:
        """A problem at a line and column, both from 1."""
        return Problem(self.file, line, column, severity, message, self.line(line), suggestion, code)


# what is read or judged by all of its keys together: half of it would be another one
_WHOLE = ("tables", "features", "instruments", "choices", "fasteners", "shims", "matching")


def _entries(where: Where, around: int) -> tuple[Where, ...]:
    """The smallest part of a record that may be left out by itself, or so many blocks around it."""
    if where[-1] == "again":
        where = where[:-1]
    where = where[: max(1, len(where) - around)]
    if where[0] == "features" and where[2:3] == ("wear",):
        # a worn surface without its own limits would be judged as a new one: it is only read
        return tuple((*where[:2], name) for name in ("new", "wear"))
    row = where[0] == "tables" and where[2:3] == ("rows",)  # that is by itself
    return (where[:2],) if where[0] in _WHOLE and not row else (where,)


def _kept(
    data: Any,
    where: Where,
    new: Where,
    gone: set[Where],
    keys: Mapping[Where, str],
    values: Mapping[Where, str],
    marks: dict[Where, TextMark],
    found: dict[Where, TextMark],
) -> Any:
    """Data without what is gone, keys and values as meant, its marks by the places that it then has."""
    if where in marks:
        found[new] = marks[where]

    def inside(key: str | int, at: str | int) -> Any:
        return _kept(data[key], (*where, key), (*new, at), gone, keys, values, marks, found)

    if isinstance(data, dict):
        left = {key: keys.get((*where, key), key) for key in data if (*where, key) not in gone}
        return {name: inside(key, name) for key, name in left.items()}
    if isinstance(data, list):
        stay = [i for i in range(len(data)) if (*where, i) not in gone]
        return [inside(i, n) for n, i in enumerate(stay)]
    return values.get(where, data)


# what editors and copying programs leave beside a file: hidden ones and forks of another system (._x),
# locks (.#x, .~lock.x#, ~$x), backups (x~, #x#)
_LEFT = (".", "#", "~")


def is_left_over(name: str) -> bool:
    """Whether a program keeps a file of this name for itself.

    >>> [is_left_over(name) for name in (".#a.yaml", "._a.yaml", "a.yaml~", "~$a.yaml", "a.yaml")]
    [True, True, True, True, False]
    """
    return name.startswith(_LEFT) or name.endswith(("~", "#"))


def yaml_files(folder: Path) -> list[Path]:
    """The records of a folder by name; none where there is no such folder."""
    return sorted(path for path in folder.glob("*.yaml") if not is_left_over(path.name))


def read(path: Path, file: str | None = None, blank: Collection[int] = ()) -> tuple[Source, list[Problem]]:
    """A file's data with its marks, and what is wrong with it; never raises for what a file may hold.

    ``file`` is how problems name it (relative to the shop's folder); what stands on lines that are
    ``blank`` is not read.
    """
    name = file or path.name
    try:
        if path.is_dir():
            return _unreadable(name, "a file belongs here, and this is a folder")
        if path.stat().st_size > LARGEST:
            return _unreadable(name, f"the file is larger than {LARGEST >> 20} MB: no record is")
        raw = path.read_bytes()
    except FileNotFoundError:
        return _unreadable(name, "the file is missing", code="missing file")
    except OSError as problem:
        return _unreadable(name, f"the file cannot be read: {problem.strerror or problem}")
    if blank:
        lines = raw.splitlines(keepends=True)
        raw = b"".join(b"\n" if number in blank else line for number, line in enumerate(lines, 1))
    return read_bytes(raw, name)


def read_bytes(raw: bytes, file: str) -> tuple[Source, list[Problem]]:
    """The same from bytes.

    >>> source, problems = read_bytes(b"serial: 0123\\nsold: NO\\nat: 12:30\\nsize: 75.970\\n", "x.yaml")
    >>> source.data, problems
    ({'serial': '0123', 'sold': 'NO', 'at': '12:30', 'size': '75.970'}, [])
    >>> source.mark(("size",))
    TextMark(key_line=4, key_column=1, line=4, column=7)
    """
    problems: list[Problem] = []
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return _unreadable(file, "the file is written as UTF-16", "save it as UTF-8")
    if raw[:3] == b"\xef\xbb\xbf":
        raw = raw[3:]
        message = "the file starts with an invisible mark (BOM)"
        problems.append(Problem(file, 1, 1, "warning", message, suggestion="save it as UTF-8 without BOM"))
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as problem:
        before = raw[: problem.start].decode("utf-8")
        source = Source(file, tuple(raw.decode("latin-1").splitlines()))
        line, column = _place(before, len(before))
        message = "a character is not written as UTF-8"
        return source, [*problems, source.problem_at(line, column, message, "save the file as UTF-8")]
    source = Source(file, tuple(text.splitlines()))
    if match := _unseen(text):
        line, column = _place(text, match.start())
        return source, [*problems, source.problem_at(line, column, _named(match), "delete it")]
    if not text.strip():
        return source, [*problems, source.problem_at(1, 1, "the file is empty")]
    builder = _Builder(source)
    try:
        data = builder.build(text)
    except _Unusable:
        data = None
    except yaml.YAMLError as problem:
        told = _explain(source, problem)
        builder.problems = [*(one for one in builder.problems if one.line != told.line), told]
        data = None
    except (RecursionError, ValueError, UnicodeError) as problem:
        builder.problems.append(source.problem_at(1, 1, f"the file cannot be read: {problem}"))
        data = None
    problems += builder.problems
    return Source(file, source.lines, data, builder.marks), problems


def _unseen(text: str) -> re.Match[str] | None:
    return _UNPRINTABLE.search(text) or _INVISIBLE.search(text)


def _named(match: re.Match[str]) -> str:
    return f"an invisible character (U+{ord(match.group()):04X}) stands here"


def _unreadable(
    file: str, message: str, suggestion: str = "", code: Code = ""
) -> tuple[Source, list[Problem]]:
    return Source(file), [Problem(file, 1, 1, "error", message, suggestion=suggestion, code=code)]


def _place(text: str, position: int) -> tuple[int, int]:
    lines = (text[:position] + "x").splitlines()
    return len(lines), len(lines[-1])


class _Unusable(Exception):
    """The problem is already noted; the rest of the file is not read."""


class _Builder:
    """Data and marks from the parser's events, in one pass.

    Events instead of composed nodes: they still show anchors, aliases and
    tags, and a file nested a hundred thousand deep is stopped at level 30
    instead of exhausting the stack.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.marks: dict[Where, TextMark] = {}
        self.problems: list[Problem] = []

    def build(self, text: str) -> Any:
        loader = _Loader(text)
        try:
            self.next = loader.get_event
            start = self.next().start_mark  # of the stream
            if isinstance(self.next(), yaml.StreamEndEvent):
                self._stop(start, "nothing but remarks stands in the file", code="not begun")
            data = self._value(self.next(), (), None, 0)
            self.next()  # document end
            event = self.next()
            if not isinstance(event, yaml.StreamEndEvent):
                self._stop(event.start_mark, "a second document starts here: one file is one record")
            return data
        finally:
            loader.dispose()

    def _stop(self, mark: Any, message: str, suggestion: str = "", code: Code = "") -> None:
        at = (mark.line + 1, mark.column + 1)
        self.problems.append(self.source.problem_at(*at, message, suggestion, code=code))
        raise _Unusable

    def _note(self, mark: Any, message: str, suggestion: str = "") -> None:
        if len(self.problems) >= MOST_FAULTS:
            self._stop(mark, "too much is wrong: the rest of the file is not read")
        self.problems.append(self.source.problem_at(mark.line + 1, mark.column + 1, message, suggestion))

    def _value(self, event: Any, where: Where, key: Any, depth: int) -> Any:
        mark = event.start_mark
        line, column = mark.line + 1, mark.column + 1
        own = (key.line + 1, key.column + 1) if key else (line, column)
        self.marks[where] = TextMark(*own, line, column)
        if len(self.marks) > MOST_VALUES:
            self._stop(mark, f"more than {MOST_VALUES:,} values in one file: no record has so many")
        kind, itself = type(event), "and here every line stands for itself"
        if kind is yaml.AliasEvent:
            self._note(mark, f"a leading * refers to another place, {itself}", _QUOTES)
            return None
        if event.anchor is not None:
            self._note(mark, f"a leading & names a place to refer to, {itself}", _QUOTES)
        if event.tag is not None:
            self._note(mark, "a leading ! changes how the text is read", _QUOTES)
        if kind is yaml.ScalarEvent:
            if event.value == "" and not event.style:  # plain, so nothing is written there
                return None
            if len(event.value) > LONGEST:
                self._stop(mark, f"more than {LONGEST:,} letters in one text: no record has one")
            return self._seen(event)
        if depth >= DEEPEST:
            self._stop(mark, f"blocks inside blocks, more than {DEEPEST} deep: no record is")
        if event.flow_style and not _NOTHING_IN_IT.match(self.source.line(line)[column - 1 :]):
            message = "brackets and braces cut a text at every comma, so 75,968 becomes two numbers"
            self._note(mark, message, "one name or one dash a line, readings separated by blanks")
        if kind is yaml.MappingStartEvent:
            return self._mapping(where, depth)
        items: list[Any] = []
        while type(event := self.next()) is not yaml.SequenceEndEvent:
            self._not_too_many(items, event.start_mark)
            items.append(self._value(event, (*where, len(items)), None, depth + 1))
        return items

    def _seen(self, event: Any) -> str:
        """A text; between double quotes a backslash can write characters that no file may hold."""
        text: str = event.value
        if event.style == '"' and (match := _unseen(text)):
            self._note(event.start_mark, _named(match), "write it without a backslash, or leave it out")
            return _UNPRINTABLE.sub("", _INVISIBLE.sub("", text))
        return text

    def _not_too_many(self, block: Any, mark: Any) -> None:
        if len(block) >= MOST_ENTRIES:
            self._stop(mark, f"more than {MOST_ENTRIES:,} entries in one block: no record has so many")

    def _mapping(self, where: Where, depth: int) -> dict[str, Any]:
        found: dict[str, Any] = {}
        while type(event := self.next()) is not yaml.MappingEndEvent:
            mark = event.start_mark
            self._not_too_many(found, mark)
            if type(event) is not yaml.ScalarEvent:
                self._stop(mark, "a name followed by a colon belongs here", _QUOTES)
            key = self._seen(event)
            if len(key) > LONGEST:
                self._stop(mark, f"a name of {len(key):,} letters: no record has one")
            if event.anchor is not None or event.tag is not None:
                self._note(mark, "a name may not start with & or !", _QUOTES)
            if key == "<<" and not event.style:  # quoted it is a name like any other
                self._note(mark, "<< copies another block, and here every line stands for itself")
            if key == "" and not event.style:
                self._note(mark, "the name before the colon is missing")
            if key in found:
                first = self.marks[(*where, key)].key_line
                message = f"'{key}' stands twice, first on line {first}"
                self._note(mark, message, "delete or rename one of them")
                self._value(self.next(), (*where, key, "again"), mark, depth + 1)
                continue
            found[key] = self._value(self.next(), (*where, key), mark, depth + 1)
        return found


_QUOTES = "put the text in quotes"


def _explain(source: Source, problem: yaml.YAMLError) -> Problem:
    """The parser's complaint in plain words, with the likely correction."""
    mark = getattr(problem, "problem_mark", None)
    start = getattr(problem, "context_mark", None)
    what = str(getattr(problem, "problem", None) or "")
    context = str(getattr(problem, "context", None) or "")
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    begins = (start.line + 1, start.column + 1) if start else None
    complaint = _Complaint(source, what, context, line, column, begins)
    # from the surest sign to the least: a tab or quotes spoil whatever the parser says of the line
    for explained in (_never_closed, _odd_blank, _tab, _misplaced_colon, _needs_quotes, _odd_line):
        if found := explained(complaint):
            return found
    message = f"this line cannot be read ({what or context or problem})"
    return source.problem_at(line, column, message, _QUOTES)


class _Complaint(NamedTuple):
    """What the parser says, and where; ``start`` is where the thing that it was reading begins."""

    source: Source
    what: str
    context: str
    line: int
    column: int
    start: tuple[int, int] | None

    @property
    def text(self) -> str:
        return self.source.line(self.line)


def _never_closed(complaint: _Complaint) -> Problem | None:
    source, start = complaint.source, complaint.start
    if start and "quoted scalar" in complaint.context:
        return source.problem_at(*start, "the quotes that open here are never closed")
    if start and "flow" in complaint.context:
        text = source.line(start[0])
        bracket = text[start[1] - 1 : start[1]] or "["
        message = f"the bracket {bracket} opens a list that is never closed properly"
        return source.problem_at(*start, message, _quoted(text) or _QUOTES)
    return None


def _odd_blank(complaint: _Complaint) -> Problem | None:
    """A blank that is none to the reader, as from a web page, in the indentation of this line or the next."""
    for line in (complaint.line, complaint.line - 1):
        text = complaint.source.line(line)
        lead = text[: len(text) - len(text.lstrip())]
        odd = next((at for at, letter in enumerate(lead) if letter not in " \t"), None)
        if odd is not None:
            message = f"a blank of another kind (U+{ord(lead[odd]):04X}) stands in the indentation"
            return complaint.source.problem_at(line, odd + 1, message, "type it again as a plain blank")
    return None


def _tab(complaint: _Complaint) -> Problem | None:
    text, column = complaint.text, complaint.column
    if "\t" not in text[: len(text) - len(text.lstrip())] and text[column - 1 : column] != "\t":
        return None
    message = "a tab stands in the indentation"
    return complaint.source.problem_at(complaint.line, column, message, "indent with blanks")


def _misplaced_colon(complaint: _Complaint) -> Problem | None:
    if "mapping values are not allowed" in complaint.what:
        return _colon(complaint.source, complaint.line, complaint.column)
    if complaint.start and "could not find expected ':'" in complaint.what:
        return _no_colon(complaint.source, complaint.start[0])
    return None


def _needs_quotes(complaint: _Complaint) -> Problem | None:
    text, line = complaint.text, complaint.line
    value = re.match(r"\s*(?:- +)*(?:[^\s:][^:]*:\s+)?(.*)", text)
    if value and value.group(1)[:1] and value.group(1)[0] in _NEEDS_QUOTES + ",]}-":
        message = f"a text may not start with {value.group(1)[0]} unless it is in quotes"
        return complaint.source.problem_at(line, value.start(1) + 1, message, _quoted(text))
    before = text[: complaint.column - 1].rstrip()
    if before.endswith(('"', "'")) and ":" in before:
        message, hint = "text follows the closing quotes", "put the whole text in one pair of quotes"
        return complaint.source.problem_at(line, complaint.column, message, hint)
    return None


def _odd_line(complaint: _Complaint) -> Problem | None:
    place = (complaint.line, complaint.column)
    if complaint.text.lstrip().startswith(":"):
        return complaint.source.problem_at(*place, "the name before the colon is missing")
    signs = ("expected key" in complaint.what, "<block end>" in complaint.what)
    if any(signs) or "block mapping" in complaint.context:
        message = "this line does not fit: it is no 'name: value', or its indentation differs from the lines "
        message += "above"
        return complaint.source.problem_at(*place, message, "write 'name: value', indented as its neighbours")
    return None


def _no_colon(source: Source, line: int) -> Problem:
    """A line that begins with a name and lacks the colon behind it, or the blank behind that."""
    text = source.line(line)
    match = re.match(r"(\s*(?:- +)*)([\w-]+)(:?)\s*(.*)$", text)
    if not match:
        return source.problem_at(line, 1, "this line is no 'name: value'", _QUOTES)
    lead, name, colon, rest = match.groups()
    missing = "the blank after the colon" if colon else "the colon behind the name"
    at = len(lead) + len(name) + (2 if colon else 1)
    return source.problem_at(line, at, f"{missing} is missing", f"{name}: {rest}")


def _colon(source: Source, line: int, column: int) -> Problem:
    text = source.line(line)
    before = source.line(line - 1)
    if re.match(r"\s*(- +)*[^\s:'\"][^:]*:\s+\S.*:(\s|$)", text):
        message = "a second colon on the line: the text behind the first one must be in quotes"
        return source.problem_at(line, column, message, _quoted(text))
    glued = re.match(r"(\s*(?:- +)?)([\w-]+):(\S.*)$", before)
    if glued:
        at = len(glued[1]) + len(glued[2]) + 2
        fixed = f"{glued[2]}: {glued[3]}"
        return source.problem_at(line - 1, at, "the blank after the colon is missing", fixed)
    indent = len(text) - len(text.lstrip())
    if indent > len(before) - len(before.lstrip()):
        message = "this line is indented further than the line above, which already has its value"
        return source.problem_at(line, indent + 1, message, "indent both alike")
    return source.problem_at(line, column, "a colon stands where none can", _QUOTES)


def _quoted(text: str) -> str:
    """The line with its text in quotes: ``why: crank: grind`` becomes ``why: "crank: grind"``."""
    if len(text) > LONGEST_HINT:
        return _QUOTES
    match = re.match(r"\s*((?:- +)*(?:[^\s:][^:]*:)?)\s*(.*?)(?:\s+#.*)?$", text)
    if not match or not match.group(2):
        return _QUOTES
    value = match.group(2)
    mark = "'" if '"' in value else '"'
    return f"{match.group(1)} {mark}{value}{mark}".strip()
