"""The command line itself.  Each command stands in its own module and is imported when it runs."""

from __future__ import annotations

import difflib
import importlib
from collections.abc import Sequence
from typing import Any

import click

from .listing import COMMANDS, INTERRUPTED, NAME, help_text
from .telling import say, unheard


class Commands(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"..{name.replace('-', '_')}", __package__).command
        return command

    def get_help(self, ctx: click.Context) -> str:
        return help_text()

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            close = difflib.get_close_matches(args[0], COMMANDS, 1, 0.5)
            hint = f"did you mean '{close[0]}'?" if close else f"there are {', '.join(COMMANDS)}"
            raise click.UsageError(f"there is no command '{args[0]}': {hint}", ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
def cli() -> None:
    """Engine rebuild jobs from plain measurement files to a report people can trust."""


def call(args: Sequence[str]) -> int:
    """Run a command from its words; its exit status, 2 for wrong usage."""
    try:
        # not cli.main(): it would turn a closed pipe into status 1, which here means problems in the files
        with cli.make_context(NAME, list(args)) as context:
            status: Any = cli.invoke(context)
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    except click.ClickException as problem:
        try:
            problem.show()
        except BrokenPipeError:
            unheard(err=True)
        return problem.exit_code
    except click.Abort:
        say("stopped", err=True)
        return INTERRUPTED
    return status if isinstance(status, int) else 0
