"""A language made to find what does not go through the catalogue: every message comes out in brackets.

What stands outside of all brackets was typed by somebody, is a number, or was forgotten.
"""

from __future__ import annotations

import html
import re
import string
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import yaml
from babel import Locale

from rebuildreport.documents.press.language import Language

# words that no number, name or unit has, and that nearly every English message of ours has one of
ENGLISH = frozenset(
    """
    the of is are was were be been it its and to not with by at for on or than from that this which what no
    nothing none would will may each every all more most least only as so but where when while how much
    off out over under below above inside outside beyond near now then too
    """.split()  # noqa: SIM905
)


class Bracketed(dict[str, str]):
    """A catalogue that has every message, its own words in brackets and the values outside of them."""

    def __init__(self) -> None:
        super().__init__()
        self.asked: set[str] = set()

    def get(self, message: str, default: Any = None) -> str:
        self.asked.add(message)
        out = []
        for words, name, _, _ in string.Formatter().parse(message):
            out.append(f"⟦{words}⟧" if words.strip() else words)
            out.append("" if name is None else f"{{{name}}}")
        return "".join(out)


def bracketed() -> Language:
    return Language("de", Locale.parse("de"), Bracketed(), ",")


def forgotten(page: str, typed: Iterable[str], known: Iterable[str]) -> list[str]:
    """Texts of a page that hold words neither typed by people nor looked up."""
    phrases = sorted({phrase for phrase in typed if len(phrase) > 1}, key=len, reverse=True)
    labels = {message.lower() for message in known}
    found = []
    for text in dict.fromkeys(_texts(page)):
        # names of columns have brackets inside those of what tells how they are read
        rest = text
        while "⟦" in rest and rest != (less := re.sub(r"⟦[^⟦⟧]*⟧", " | ", rest)):
            rest = less
        # a drawing may break a name into two lines, and its brackets with it
        rest = " ".join(re.sub(r"⟦[^⟦⟧]*$|^[^⟦⟧]*⟧", " | ", rest).lower().split())
        if not re.search(r"[a-z]{2}", rest):
            continue
        for phrase in phrases:
            if phrase in rest:
                rest = re.sub(rf"(?<![a-z]){re.escape(phrase)}(?![a-z])", " · ", rest)
        left = re.sub(r"[^a-z']+", " ", rest).split()
        if ENGLISH & {*left} or " ".join(left) in labels:
            found.append(text)
    return found


def _texts(page: str) -> Iterator[str]:
    # words that stay together on a line are no text of their own
    body = re.sub(r"<span class=\"(?:nw|last)\">([^<]*)</span>", r"\1", page.partition("<body")[2])
    inside = re.findall(r">([^<]+)<", body) + re.findall(r'(?:aria-label|alt|data-when)="([^"]*)"', body)
    for text in inside:
        yield " ".join(html.unescape(text).replace("\u00a0", " ").split())


def typed_in(*files: Path) -> set[str]:
    """Everything typed in some files, whole and by its sentences, in small letters."""
    found: set[str] = set()
    for file in files:
        for text in _flat(yaml.load(file.read_text("utf-8"), yaml.BaseLoader)):
            whole = " ".join(text.split()).lower()
            # the number of a finding takes the place of its id
            pieces = [
                piece for part in re.split(r"\bf\d+\b", whole) for piece in re.split(r"(?<=[.;:,]) ", part)
            ]
            for piece in (whole, whole.replace("_", " "), *pieces):
                found.add(piece.strip().rstrip(".;:,"))
    return found


def _flat(thing: Any) -> Iterator[str]:
    if isinstance(thing, dict):
        for key, value in thing.items():
            yield str(key)
            yield from _flat(value)
    elif isinstance(thing, list):
        for value in thing:
            yield from _flat(value)
    else:
        yield str(thing)
