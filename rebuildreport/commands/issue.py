"""``issue``: a document frozen as it leaves the shop."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import click

from .terminal.options import date_option, known_jobs, shop_option
from .terminal.telling import say, tell


@click.command("issue")
@click.argument("job")
@click.argument("document", default="report", metavar="[DOCUMENT]")
@shop_option()
@date_option("--date", "day", "the day on which it leaves the shop")
def command(job: str, document: str, shop: Path, day: date | None) -> int:
    """Freeze a DOCUMENT of JOB (its report without one) as its next issue.

    The PDF and one line (number, date, what changed, hash) go into the job's
    folder issued/ and are never written again. Refused where the files have
    errors, where nothing has changed since, and where the job has no such
    document: no estimate of work that is finished. Where shop.yaml names a key
    (signing_key:) the PDF is signed; the key's secret comes from the
    environment (REBUILDREPORT_SIGNING_SECRET) or is asked for.
    """
    (name,) = known_jobs(shop, (job,)) or ("",)
    from ..documents.sheets.register import ISSUED
    from ..site.sending import issuing

    if document not in ISSUED:
        known = ", ".join(ISSUED)
        raise click.UsageError(f"there is no document '{document}': there are {known}")
    # the one place where a clock is asked: the day on which something left the shop is not in any file yet
    when = date(day.year, day.month, day.day) if day else date.today()
    result = issuing.issue(shop, name, document, when, _asked)
    tell(result.problems, shop, result.messages, result.exit_status)
    for change in result.issued.changed if result.issued else ():
        say(f"  {change}")
    return result.exit_status


def _asked() -> str | None:
    """The secret of the shop's key, typed unseen; None where nobody sits there to type it."""
    if not sys.stdin.isatty():
        return None
    words = "Secret of the shop's key"
    return str(click.prompt(words, hide_input=True, default="", show_default=False, err=True))
