"""``upgrade``: files of an earlier format brought to today's, line by line."""

from __future__ import annotations

import difflib
from pathlib import Path

import click

from .terminal.options import shop_option
from .terminal.telling import PROBLEMS, done, say, tell


@click.command("upgrade")
@shop_option()
@click.option("--write", is_flag=True, help="do it; without it nothing is written")
def command(shop: Path, write: bool) -> int:
    """Show which lines of which files another format takes, and with --write change them.

    Only these lines change: remarks, blanks and order stay as they were typed.
    What only a person can decide is told with its line. Issued documents are
    never touched. Keep the folder in git, so that what was changed can be seen.
    """
    from ..records.upgrading import upgraded
    from ..site.disk.folders import write_whole

    changed, problems = upgraded(shop)
    for draft in changed:
        name, now, then = draft.source.file, draft.text(), draft.raw.decode("utf-8")
        told = difflib.unified_diff(then.splitlines(), now.splitlines(), name, name, lineterm="", n=1)
        say("\n".join(told))
        if write:
            with done(f"{name}: cannot be written"):
                write_whole(draft.path, now.encode())
    tell(problems, shop)
    many = f"{len(changed)} file{'s' * (len(changed) != 1)}"
    if not changed:
        say("nothing to change" + (" but what is named above" if problems else ""))
    else:
        say(f"{many} changed" if write else f"{many} would change; nothing is written: upgrade --write")
    return PROBLEMS if problems else 0
