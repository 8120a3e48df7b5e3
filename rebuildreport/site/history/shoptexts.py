"""The shop's own pages: Markdown in its folder ``pages``, one page each, in both editions."""

from __future__ import annotations

import re
from pathlib import Path

from msgspec import Struct

from ...documents.press import standing_texts
from ...records import Problem
from ..making.leaks import leaks
from .net import Leak

FOLDER = "pages"
_HEADING = re.compile(r"\A\s*#\s+(.+?)\s*#*\s*(?:\n|\Z)")


class ShopText(Struct, frozen=True):
    """One page as the shop wrote it."""

    name: str  # of its file, without the ending
    title: str
    markdown: str  # without the title
    lines: tuple[str, ...]  # of the file

    @property
    def address(self) -> str:
        return f"{FOLDER}/{self.name}.html"

    @property
    def html(self) -> str:
        """Its text; raw HTML in it stays text, and a picture would come from elsewhere."""
        return standing_texts.rendered(self.markdown)


def shop_texts(shop: Path) -> tuple[ShopText, ...]:
    """Every page, by name; a first heading is its title."""
    found = []
    for path in sorted((shop / FOLDER).glob("*.md")):
        text = path.read_text("utf-8", "replace")
        heading = _HEADING.match(text)
        words = path.stem.replace("-", " ")
        title = heading[1] if heading else words[:1].upper() + words[1:]
        rest = text[heading.end() :] if heading else text
        found.append(ShopText(path.stem, title, rest, tuple(text.splitlines())))
    return tuple(found)


def problem(texts: tuple[ShopText, ...], leak: Leak) -> Problem:
    """Where a private value was typed that keeps a page of the site's own from being written."""
    message = f"{leak.value.what} of {leak.value.job} would become public here: {leak.file} is not written"
    message = message.replace(" of  would", " would")
    for text in texts:
        for number, line in enumerate(text.lines, 1):
            if leak.file == text.address and leaks(line, [leak.value]):
                file = f"{FOLDER}/{text.name}.md"
                return Problem(file, number, 1, "error", message, line, "take it out of this text")
    return Problem("shop.yaml", 1, 1, "error", message)
