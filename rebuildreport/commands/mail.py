"""``mail``: the e-mail that carries an issued document."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from .terminal.options import FILE, known_jobs, shop_option
from .terminal.telling import tell


@click.command("mail")
@click.argument("job")
@shop_option()
@click.option("--issue", "number", type=int, metavar="N", help="the issue to mail  [default: the newest]")
@click.option("--to", multiple=True, metavar="ADDRESS", help="in place of the addresses of the job")
@click.option(
    "--out",
    type=FILE,
    metavar="FILE",
    help="where the draft goes  [default: site/mail/JOB-N-DOCUMENT.eml]",
)
@click.option("--send", is_flag=True, help="send it through the server of shop.yaml")
@click.option("--again", is_flag=True, help="send it although it was sent to this address before")
def command(
    job: str, shop: Path, number: int | None, to: tuple[str, ...], out: Path | None, send: bool, again: bool
) -> int:
    """Write the mail of JOB's newest issue as a draft that any mail program opens.

    With --send it goes out through the shop's server (password from the
    environment: REBUILDREPORT_SMTP_PASSWORD) and is noted in issued/ once the
    server has taken it. The same issue is not sent twice to one address
    unless told.
    """
    (name,) = known_jobs(shop, (job,)) or ("",)
    from ..site.sending.mailing import Wanted, mail

    result = mail(shop, name, Wanted(number, to, send, again, out), datetime.now().astimezone())
    return tell(result.problems, shop, result.messages, result.exit_status)
