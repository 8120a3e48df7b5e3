"""``publish``: the reports and the site."""

from __future__ import annotations

from pathlib import Path

import click

from .options import known_jobs, shop_option
from .telling import problem_lines, say


@click.command("publish")
@click.argument("jobs", nargs=-1, metavar="[JOB]...")
@shop_option()
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("site"),
    show_default=True,
    metavar="DIR",
    help="where the pages go",
)
@click.option("--pdf/--no-pdf", default=True, help="write PDFs too (needs Pango)")
def command(jobs: tuple[str, ...], shop: Path, out: Path, pdf: bool) -> int:
    """Write the report of each JOB (all without one) and the site.

    OUT/shop is complete and private; OUT/public holds only what has consent.
    A job whose files have errors keeps the pages that it had.
    """
    names = known_jobs(shop, jobs)
    from ..site.publishing import publish

    result = publish(shop, out, jobs=names, pdf=pdf, report=say)
    for problem in result.problems:
        say("\n".join(problem_lines(problem, shop)), err=True)
    for message in result.messages:
        say(message, err=True)
    return result.exit_status
