"""The words of a document as its results give them, held against those that a PDF shows.

In: the page that the document is printed from, and the text of the PDF.  Out: what stands in it beside them;
refused where a word or a number is missing, another one, or at another place.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from html.parser import HTMLParser

# a number with its decimals is one word; a hyphen, at which a line may break, ends one
_WORD = re.compile(r"[^\W_]+(?:[.,]\d+)*")
_DECIMAL = re.compile(r"\d+[.,]\d+")
NUMBER = re.compile(r"\d+(?:[.,]\d+)+")
_ALONE = frozenset({"br", "col", "hr", "img", "input", "link", "meta", "wbr"})  # elements without an end
PAGE_ENDS = "\f"
_AROUND = 4  # words before a change that a message quotes
_MOST = 1000  # signs of what is told: whoever made the file decides how much stands in it


class Changed(Exception):
    """What of the words is not as the results have it; ``far`` is how many of them."""

    def __init__(self, message: str, far: int) -> None:
        super().__init__(message)
        self.far = far


class _Page(HTMLParser):
    """What a page says: in the order in which it is read, and what is placed apart from that.

    Drawings and the head of a letter are printed at places of their own; heads of tables and of pages again
    on every sheet of paper that wants them.
    """

    def __init__(self) -> None:
        super().__init__()
        self._open: list[tuple[str, str]] = []
        self.read: list[str] = []
        self.placed: list[str] = []
        self.again: list[str] = []
        self.lines: dict[str, list[list[str]]] = {"letter": [], "head of pages": []}  # never broken up
        self.marks: list[str] = []  # before the items of a list, and on a picture that can be shown

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "ol":
            self._items = 0
        elif tag == "li" and any(name == "ol" for name, _ in self._open):
            self._items += 1
            self.marks.append(str(self._items))
        if tag not in _ALONE:
            self._open.append((tag, _sort(tag, (dict(attrs).get("class") or "").split())))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        sorts = {sort for _, sort in self._open}
        if "unseen" in sorts:
            return
        words = _words(data)
        for sort in sorts & self.lines.keys():
            self.lines[sort].append(words)
        if sorts & {"head of tables", "head of pages"}:
            self.again += words
        if "may be" in sorts:
            self.marks += words
        elif sorts & {"placed", "letter"}:
            self.placed += words
        elif "head of pages" not in sorts:
            self.read += words


def _sort(tag: str, classes: Sequence[str]) -> str:
    if tag in ("title", "desc", "style") or {"unseen", "pad"}.intersection(classes):
        return "unseen"
    if "over" in classes:
        return "may be"
    if tag == "svg":
        return "placed"
    if "letter" in classes:
        return "letter"
    if any(name.startswith("running-") for name in classes):
        return "head of pages"
    return "head of tables" if tag == "thead" else ""


def _words(text: str) -> list[str]:
    return _WORD.findall(text.replace("\u00ad", ""))


def held(page: str, shown: str, numbered: Sequence[str], may_stand: str) -> tuple[int, str]:
    """How many words of a page a PDF shows, all in their order, and what it shows beside them.

    Pages of ``shown`` are parted by PAGE_ENDS; the number of each stands at the words ``numbered``;
    ``may_stand`` is no news where it stands beside them.  Raises Changed.
    """
    body = _Page()
    body.feed(page[page.index("<body") :])
    there, should = _words(shown), Counter(body.read + body.placed)
    count = Counter(there)
    # addresses and bank accounts are full of whole numbers; one with decimals is of the results
    other = [word for word in should if count[word] < should[word]]
    other += [word for word in count if count[word] > should[word] and _DECIMAL.fullmatch(word)]
    other = sorted({*other} - {*body.again})
    matched = _in_order(body.read, there)
    if other or matched is None:
        first = next(iter(other), "")
        many = f"{first} stands there {count[first]} times, and should {should[first]} times"
        raise Changed(_where(body.read, there) or many, len(other))
    _headed(body.lines, " ".join(there), shown.count(PAGE_ENDS))
    known = {*body.again, *numbered, *_words(may_stand)}
    apart = Counter(body.placed + body.marks)
    found = []
    for at, word in enumerate(there):
        if at in matched or word in known or (word.isdigit() and at and there[at - 1] in numbered):
            continue
        if apart[word]:
            apart[word] -= 1
        else:
            found.append(word)
    told = " ".join(found)
    return should.total(), told if len(told) <= _MOST else f"{told[:_MOST]} ..."


def _headed(lines: Mapping[str, Sequence[Sequence[str]]], there: str, more: int) -> None:
    """A letter has the lines of its head; every page has its own, but the first where that is a letter."""
    for sort, many in (("letter", 1), ("head of pages", more)):
        for words in lines[sort]:
            if there.count(line := " ".join(words)) < many:
                raise Changed(f"its {sort} does not say '{line[:_MOST]}'", 1)


def _in_order(wanted: Sequence[str], there: Sequence[str]) -> set[int] | None:
    """Where each of the wanted stands, one behind the other; None where they do not."""
    found, at = set(), 0
    for word in wanted:
        while at < len(there) and there[at] != word:
            at += 1
        if at == len(there):
            return None
        found.add(at)
        at += 1
    return found


def _where(wanted: Sequence[str], there: Sequence[str]) -> str:
    """The first place at which something else stands, for a message; '' where only more stands there."""
    for what, start, end, other, until in SequenceMatcher(None, wanted, there, autojunk=False).get_opcodes():
        if what in ("delete", "replace"):
            before = " ".join(wanted[max(0, start - _AROUND) : start])
            lacks, has = (" ".join(words)[:60] for words in (wanted[start:end], there[other:until]))
            return f"after '{before}' should stand '{lacks}'" + (f", and '{has}' does" if has else "")
    return ""
