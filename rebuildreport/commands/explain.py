"""``explain``: what a word means, from the registers that the program itself works by."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files

import click

from .blanks.engine_sheet import DescribedEngine, sheet_text
from .terminal.telling import say

WRONG_USAGE = 2


@click.command("explain")
@click.argument("word", nargs=-1)
def command(word: tuple[str, ...]) -> int:
    """Say what WORD means: a key, kind, verdict, doubt, unit or exit status, as in 'explain taper'.

    Without a word: the subjects.  The same texts stand as a page in the shop edition.
    """
    from ..documents.showing import explained
    from ..records.text.validate import near

    if not word:
        for subject, title in explained.subjects().items():
            say(f"{subject:<10}{title}")
        say("\n'explain SUBJECT' lists its words, 'explain WORD' says what one means")
        return 0
    asked = " ".join(word)
    if asked.casefold() in explained.subjects():
        say(explained.text_of(asked.casefold()).rstrip())
        return 0
    found = explained.meanings(asked)
    if not found:
        hint = near(asked, explained.known())
        say(f"nothing here is called '{asked}'{f': {hint}' if hint else ''}", err=True)
        return WRONG_USAGE
    for entry in found:
        say(f"{entry.name} ({entry.subject})\n{entry.text.strip()}\n")
    for line in _examples(asked):
        say(line)
    return 0


def _files() -> dict[str, str]:
    """Every file to fill in, by its name."""
    blanks = files("rebuildreport.commands") / "blanks"
    texts = {path.name: path.read_text("utf-8") for path in blanks.iterdir() if path.name.endswith(".yaml")}
    return {**texts, "engines/NAME.yaml": sheet_text("NAME", DescribedEngine())}


def _examples(word: str) -> Iterator[str]:
    """Lines of the files to fill in that have this key, or a feature of this kind with its own lines."""
    for name, text in sorted(_files().items()):
        lines = [re.sub(r"^(\s*)#(?! \S)", r"\1", line) for line in text.splitlines()]
        for at, line in enumerate(lines):
            key, _, value = line.strip(" -").partition(":")
            if key == word or (key == "kind" and value.split("#")[0].strip() == word):
                yield f"in {name}, line {at + 1}:"
                yield from _block(lines, at - (key == "kind"))
                break


def _block(lines: list[str], at: int, most: int = 16) -> Iterator[str]:
    """A line and what stands below it, further in."""

    def depth(line: str) -> int:
        return len(line) - len(line.lstrip())

    yield f"    {lines[at]}"
    for line in lines[at + 1 : at + most]:
        if not line.strip() or depth(line) <= depth(lines[at]):
            return
        yield f"    {line}"
