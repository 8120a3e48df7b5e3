"""``verify``: whether the numbers of a document are what they should be."""

from __future__ import annotations

from pathlib import Path

import click

from .terminal.telling import say

DIFFERS, LACKING = 1, 3


@click.command("verify")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path, exists=True), metavar="REPORT.pdf")
def command(file: Path) -> int:
    """Hold the report REPORT.pdf against its own records.

    The PDF carries the readings, limits and instruments that it rests on. They are
    worked out anew, and one line says whether the document's numbers are what
    they should be, or what differs and why. No job folder is needed.
    """
    from ..site.verifying.verifying import verify

    try:
        found = verify(file)
    except OSError as problem:
        say(f"{file.name}: cannot be read: {problem.strerror}", err=True)
        return LACKING
    say(f"{file.name}: {found.said}")
    return 0 if found.right else DIFFERS
