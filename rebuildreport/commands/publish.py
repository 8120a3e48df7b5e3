"""``publish``: the reports and the site."""

from __future__ import annotations

import sys
import time
from concurrent.futures import BrokenExecutor
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .terminal.options import day_of, known_jobs, on_option, out_option, shop_option
from .terminal.telling import Lacking, problem_lines, say

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from ..site.publishing import PublishResult


@click.command("publish")
@click.argument("jobs", nargs=-1, metavar="[JOB]...")
@shop_option()
@out_option()
@click.option("--pdf/--no-pdf", default=True, help="write PDFs too (needs Pango)")
@on_option()
@click.option("--cluster", metavar="ADDRESS", help="of a Dask scheduler whose workers see the same folders")
def command(
    jobs: tuple[str, ...], shop: Path, out: Path, pdf: bool, on: datetime | None, cluster: str | None
) -> int:
    """Write the site, and the PDFs of each JOB (all without one).

    OUT/shop is complete and private; OUT/public holds only what has consent.
    A job whose files have errors shows there what does not rest on them; the rest stays as it was.
    """
    names = known_jobs(shop, jobs)
    from ..site.disk import unchanged
    from ..site.making import hands
    from ..site.publishing import Told, publish

    class Terminal(Counting, Told):
        asked = unchanged.asked(sys.argv[1:])
        text: str | None = None

        def worded(self, result: PublishResult) -> str:
            if self.text is None:
                self.text = worded(result, shop)
            return self.text

    def begin() -> Executor:
        return hands.cluster(cluster) if cluster else hands.processes()

    told = Terminal()
    try:
        workers = hands.Hands(begin)
        result = publish(shop, out, jobs=names, pdf=pdf, told=told, hands=workers, on=day_of(on))
    except ImportError as missing:
        raise Lacking(f"{missing}: pip install 'rebuildreport[cluster]'") from None
    except (OSError, BrokenExecutor) as problem:
        said = f"stopped: {problem}; what stood in {out} stands, and the next run goes on from here"
        raise Lacking(said) from None
    finally:
        told.clear()
        workers.rest()
    if text := told.worded(result):
        say(text, err=True)
    return result.exit_status


def worded(result: PublishResult, shop: Path) -> str:
    """What a run tells at its end."""
    lines = [line for problem in result.problems for line in problem_lines(problem, shop)]
    return "\n".join([*lines, *result.messages])


class Counting:
    """Lines that stay, above one of what is done, at which rate, and how long the rest takes."""

    def __init__(self) -> None:
        self._seen = sys.stderr.isatty()
        self._what, self._begun, self._shown = "", 0.0, 0.0

    def said(self, line: str) -> None:
        """A line that stays."""
        self.clear()
        say(line)

    def counted(self, what: str, done: int, total: int) -> None:
        """The same line again, at most ten times a second."""
        now = time.monotonic()
        if what != self._what:
            self._what, self._begun, self._shown = what, now, 0.0
        if self._seen and now - self._shown > 0.1 and now > self._begun:
            self._shown = now
            rate = done / (now - self._begun)
            line = f"{what}: {done} of {total}, {rate:.1f} a second, {lasting((total - done) / rate)} left"
            print(f"\r\033[K{line}", end="", file=sys.stderr, flush=True)

    def clear(self) -> None:
        """Make room for one."""
        if self._seen and self._shown:
            print("\r\033[K", end="", file=sys.stderr, flush=True)


def lasting(seconds: float) -> str:
    """A span of time as one says it.

    >>> lasting(8.4), lasting(95), lasting(5400)
    ('9 s', '2 min', '1.5 h')
    """
    if seconds < 60:
        return f"{int(seconds) + 1} s"
    return f"{seconds / 60:.0f} min" if seconds < 3600 else f"{seconds / 3600:.1f} h"
