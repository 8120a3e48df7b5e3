"""How commands speak, and how they tell of problems."""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from ...records import Problem

PROBLEMS, LACKING = 1, 3  # exit statuses: the input has problems; the machine lacks something

# Blanks that keep a unit at its number on paper are plain ones here: some terminals show none for them.
# Letters that steer a terminal, as in the name of a file, are shown by their pictures (Unicode, 2400 on).
_SEEN = {code: chr(0x2400 + code) for code in range(32) if chr(code) not in "\t\n"}
_SEEN |= {0xA0: " ", 0x7F: chr(0x2421)}


def say(text: str, err: bool = False) -> None:
    """Print a line; where whoever read our output has gone, the work goes on unheard."""
    try:
        click.echo(text.translate(_SEEN), err=err)
    except BrokenPipeError:
        unheard(err)


def unheard(err: bool = False) -> None:
    """Let whatever is printed from now on go nowhere: a second write would complain again."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), (sys.stderr if err else sys.stdout).fileno())


SHOWN = 120  # letters of a long line on either side of what is wrong


def problem_lines(problem: Problem, shop: Path) -> list[str]:
    """A problem as it is printed: place and message, the line itself, what was probably meant."""
    warning = "warning: " if problem.severity == "warning" else ""
    file = f"{shop.as_posix()}/{problem.file}".removeprefix("./")
    place = f"{file}:{problem.line}:{problem.column}"
    lines = [f"{place}: {warning}{problem.message}"]
    if problem.quote.strip():
        first = max(0, problem.column - 1 - SHOWN) if len(problem.quote) > 2 * SHOWN else 0
        quote = problem.quote[first : first + 2 * SHOWN]
        # tabs stay tabs in the line under it, so that the mark stands below its column
        before = "".join("\t" if letter == "\t" else " " for letter in quote[: problem.column - 1 - first])
        lines += [f"    {quote}", f"    {before}^"]
    if problem.suggestion:
        hint = textwrap.wrap(problem.suggestion, 106, break_long_words=False, break_on_hyphens=False)
        lines += [f"    {line}" for line in hint]
    return lines


def tell(problems: Iterable[Problem], shop: Path, messages: Iterable[str] = (), status: int = 1) -> int:
    """Print problems, then messages, which are heard where all went well; the exit status."""
    for problem in problems:
        say("\n".join(problem_lines(problem, shop)), err=True)
    for message in messages:
        say(message, err=status != 0)
    return status


class Lacking(click.ClickException):
    """What the machine lacks: it ends the command."""

    exit_code = LACKING

    def show(self, file: Any = None) -> None:
        say(self.message, err=True)


@contextmanager
def done(what: str) -> Iterator[None]:
    """What is written or read here ends the command where the disk refuses it: ``what`` cannot be done."""
    try:
        yield
    except OSError as problem:
        raise Lacking(f"{what}: {problem}") from None


def count(number: int, word: str) -> str:
    """A number with its word.

    >>> count(1, "error"), count(0, "warning")
    ('1 error', '0 warnings')
    """
    return f"{number} {word}{'' if number == 1 else 's'}"
