"""``verify``: whether the numbers of a document are what they should be."""

from __future__ import annotations

from pathlib import Path

import click

from .terminal.options import EXISTING
from .terminal.telling import PROBLEMS, done, say


@click.command("verify")
@click.argument("file", type=EXISTING, metavar="DOCUMENT.pdf")
@click.option(
    "--register",
    type=EXISTING,
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
    with done(f"{file.name} cannot be verified"):
        found = verify(file, register, seal)
    say(f"{file.name}: {found.said}")
    return 0 if found.right else PROBLEMS
