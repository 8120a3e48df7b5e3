"""``verify``: whether the numbers of a document are what they should be."""

from __future__ import annotations

from pathlib import Path

import click

from .terminal.telling import say

DIFFERS, LACKING = 1, 3


@click.command("verify")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path, exists=True), metavar="DOCUMENT.pdf")
@click.option(
    "--register",
    type=click.Path(dir_okay=False, path_type=Path, exists=True),
    metavar="FILE",
    help="the job's issued/register.jsonl: whether this is what it left by, neither cut nor sealed anew",
)
@click.option("--seal", default="", metavar="SEAL", help="the X-Register-Seal of the mail that it came with")
def command(file: Path, register: Path | None, seal: str) -> int:
    """Hold a report, or another issued DOCUMENT.pdf, against its own records.

    The PDF carries the readings, limits and instruments that it rests on. They are
    worked out anew, and one line says whether the document's numbers are what
    they should be, or what differs and why, and who signed it. No job folder is
    needed.
    """
    from ..site.verifying.verifying import verify

    if seal and register is None:
        raise click.UsageError("--seal is held against the register: give it by --register, too")
    try:
        found = verify(file, register, seal)
    except OSError as problem:
        say(f"{problem.filename or file.name}: cannot be read: {problem.strerror}", err=True)
        return LACKING
    say(f"{file.name}: {found.said}")
    return 0 if found.right else DIFFERS
