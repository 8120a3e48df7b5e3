"""The command line: words in, exit status out.

Each command stands in its own module, named as the command, and is imported
only when it runs.  Exit status: 0 fine, 1 the input has problems, 2 wrong
usage, 3 the machine lacks something, 70 a fault of the program itself.
"""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Sequence
from typing import Any

import click

from .. import __version__

NAME = "rebuildreport"
INPUT_HAS_PROBLEMS = 1
FAULT = 70  # EX_SOFTWARE of sysexits.h (BSD)
INTERRUPTED = 130  # 128 + SIGINT, as shells report it
PIPE_CLOSED = 141  # 128 + SIGPIPE

# command: what it does, in one line; here, so that --help imports none of them
COMMANDS = {
    "start": "Begin a shop, an engine sheet or a job: files to fill in.",
    "check": "Look through the files and say what stands out.",
    "publish": "Write the reports and the site.",
    "schema": "Write the JSON Schemas that editors complete by.",
}


class Lazy(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f".{name}", __package__).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            import difflib

            close = difflib.get_close_matches(args[0], COMMANDS, 1, 0.5)
            hint = f"did you mean '{close[0]}'?" if close else f"there are {', '.join(COMMANDS)}"
            raise click.UsageError(f"there is no command '{args[0]}': {hint}", ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name=NAME)
def cli() -> None:
    """Engine rebuild jobs from plain measurement files to a report people can trust."""


def main(args: Sequence[str] | None = None) -> None:
    """Run one command and leave with its exit status."""
    status = run(args)
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        status = _pipe_closed()
    sys.exit(status)


def run(args: Sequence[str] | None = None) -> int:
    """Run one command; its exit status.  Nothing a file holds leads to a traceback."""
    try:
        status: Any = cli.main(
            args=list(args) if args is not None else None, prog_name=NAME, standalone_mode=False
        )
    except click.ClickException as problem:
        problem.show()
        return problem.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        return INTERRUPTED
    except BrokenPipeError:
        return _pipe_closed()
    except Exception as fault:  # the last net: told in one line, kept in full
        if os.environ.get("REBUILDREPORT_DEBUG"):
            raise
        return _fault(fault)
    return status if isinstance(status, int) else 0


def _pipe_closed() -> int:
    # whoever read our output has gone; a second write at exit would complain again
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return PIPE_CLOSED


def _fault(fault: Exception) -> int:
    import tempfile
    import traceback

    details = "".join(traceback.format_exception(fault))
    text = f"{NAME} {__version__}, Python {sys.version}\n{' '.join(sys.argv)}\n\n{details}"
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix=f"{NAME}-fault-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write(text)
        where = f"details are in {file.name}"
    except OSError as problem:
        where = f"the details could not be written: {problem}"
    click.echo(
        f"a fault of the program, not of your files ({type(fault).__name__}: {fault}); {where}", err=True
    )
    return FAULT
