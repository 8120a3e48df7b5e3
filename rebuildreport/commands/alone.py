"""``alone``: a published page as one file to send."""

from __future__ import annotations

from pathlib import Path

import click

from .terminal.options import EXISTING, FILE
from .terminal.telling import Lacking, say


@click.command("alone")
@click.argument("page", type=EXISTING, metavar="PAGE.html")
@click.option("--out", type=FILE, help="[default: JOB-PAGE.html here]")
def command(page: Path, out: Path | None) -> int:
    """Write the published page PAGE.html as one file, its pictures and fonts inside.

    Any report, estimate or public page below site/ will do. The file needs no
    other and no network; links to pages that stay at home become plain words.
    """
    from ..site.sending.onefile import alone

    page = page.resolve()
    target = out or Path(f"{page.parent.name}-{'report' if page.stem == 'index' else page.stem}.html")
    if target.resolve() == page:
        raise click.UsageError(f"{target} is the page itself: say --out")
    try:
        target.write_text(alone(page), "utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise Lacking(f"{page.name}: cannot be written as one file: {problem}") from None
    say(f"{target}: {target.stat().st_size // 1024} KiB, all of it inside")
    return 0
