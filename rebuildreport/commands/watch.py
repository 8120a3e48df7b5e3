"""``watch``: publish whenever a file is saved, and show the pages."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import BrokenExecutor
from pathlib import Path

import click

from .publish import Counting, worded
from .terminal.options import day_of, out_option, shop_option
from .terminal.telling import Lacking, problem_lines, say


@click.command("watch")
@shop_option()
@out_option()
@click.option("--pdf/--no-pdf", default=True, help="write PDFs too (needs Pango)")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8600, show_default=True, help="0: any that is free"
)
def command(shop: Path, out: Path, pdf: bool, port: int) -> int:
    """Publish whenever a file is saved, and show the pages to browsers of this machine.

    The page comes first, its PDFs follow.  A page tells what is wrong in the
    files of its job until that is mended; check of what was saved is printed.
    """
    import watchfiles

    from ..records import Problem
    from ..site import serving
    from ..site.making import hands
    from ..site.publishing import Told, publish
    from .check import command as check

    standing = serving.Showing()
    names: set[str] = set()  # of jobs in which something was saved
    saved: queue.SimpleQueue[set[str]] = queue.SimpleQueue()

    class Watching(Counting, Told):
        def fronted(self) -> None:
            standing.now(standing.problems)

        def paged(self, problems: Callable[[], Sequence[Problem]]) -> None:
            standing.now(problems())
            jobs = sorted(name for name in names if (shop / name / "job.yaml").is_file())
            if jobs:
                check.main([*jobs, "--shop", str(shop)], standalone_mode=False)

        def hurried(self) -> bool:
            return not saved.empty()

    watching = Watching()

    def look() -> None:
        root, opened = shop.resolve(), False
        seen = watchfiles.watch(
            root, debounce=200, step=10, rust_timeout=1000, yield_on_timeout=True, raise_interrupt=False
        )
        for changes in seen:
            if changes or not opened:  # looked at once more: what was saved before the eyes were open
                saved.put({path.removeprefix(f"{root}/").partition("/")[0] for _, path in changes})
            opened = True

    def told(problem: Problem) -> str:
        return "\n".join(problem_lines(problem, shop))

    def run(first: bool = False) -> None:
        try:
            result = publish(shop, out, pdf=pdf, told=watching, hands=workers, on=day_of(None))
        except (OSError, BrokenExecutor) as problem:
            say(f"not written: {problem}; tried again when something is saved", err=True)
            return
        watching.clear()
        if result.problems != standing.problems:
            standing.now(result.problems)
        if first:
            say(worded(result, shop), err=True)

    out.mkdir(parents=True, exist_ok=True)
    try:
        server = serving.serve(out, port, standing, told)
    except OSError as problem:
        raise Lacking(f"port {port}: {problem.strerror}; another one: --port 0") from None
    workers = hands.Hands(hands.processes, apart=True)
    say(f"http://{serving.HERE}:{server.server_port}/  (stop with Ctrl+C)")
    threading.Thread(target=look, daemon=True).start()
    try:
        run(first=True)
        while True:
            names = saved.get()
            run()
    finally:
        server.shutdown()
        workers.rest()
