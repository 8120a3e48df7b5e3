"""The site on this machine alone, for whoever works on it: pages that reload themselves and tell of faults.

In come the folder of the site and, after each run, the problems that it found; out go its files to browsers
of this machine.  What is added to a page is added on its way out: nothing of it is in the folder.
"""

from __future__ import annotations

import html
import threading
from collections.abc import Callable, Sequence
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

from msgspec import Struct, field

from ..records import Problem

HERE = "127.0.0.1"
CHANGES = "/.changes"
ALIVE = 15.0  # seconds after which a browser that waits is told that somebody is still there
ADDED = """<aside style="position:fixed;inset:auto 0 0 0;max-height:40vh;overflow:auto;z-index:9;padding:1em;
background:#fff;color:#222;border-top:3px solid #8a3b12;font:14px/1.4 monospace;white-space:pre-wrap"
role="status"{hidden}>{text}</aside>
<script>new EventSource("{changes}?{number}").onmessage = () => location.reload()</script>
"""


class Showing(Struct):
    """What the pages show now; browsers wait for the next number."""

    number: int = 0
    problems: tuple[Problem, ...] = ()
    changed: threading.Condition = field(default_factory=threading.Condition)

    def now(self, problems: Sequence[Problem]) -> None:
        """Another state is on the disk."""
        with self.changed:
            self.number += 1
            self.problems = tuple(problems)
            self.changed.notify_all()

    def wait(self, known: int, seconds: float) -> bool:
        """Wait for a number after ``known``; whether it came."""
        with self.changed:
            return self.changed.wait_for(lambda: self.number > known, seconds)

    def added(self, path: str, told: Callable[[Problem], str]) -> str:
        """What a page carries beside itself: its job's problems, on index and engine pages those of all."""
        job = path.split("/")[2] if path.count("/") > 2 else ""
        mine = [one for one in self.problems if one.file.startswith(f"{job}/")]
        shown = mine if mine or job not in ("", "engines") else self.problems
        text = html.escape("\n\n".join(map(told, shown)))
        hidden = "" if text else " hidden"
        return ADDED.format(hidden=hidden, text=text, changes=CHANGES, number=self.number)


class _Pages(SimpleHTTPRequestHandler):
    def __init__(
        self, standing: Showing, told: Callable[[Problem], str], *args: object, directory: str
    ) -> None:
        self.standing, self.told = standing, told
        super().__init__(*args, directory=directory)  # type: ignore[arg-type]  # as socketserver hands them

    def do_GET(self) -> None:
        """A page with what it carries, the wait for the next state, or a file as it is."""
        address = urlsplit(self.path)
        path = unquote(address.path)
        named = (self.headers.get("Host") or "").rpartition(":")[0]
        if named not in (HERE, "localhost"):  # a page of elsewhere that was given our address
            self.send_error(HTTPStatus.FORBIDDEN)
        elif path == "/":
            self.send_response(HTTPStatus.FOUND)
            self.send_header("Location", "/shop/index.html")
            self.end_headers()
        elif path == CHANGES:
            self._changes(int(address.query) if address.query.isdecimal() else self.standing.number)
        elif any(part.startswith(".") for part in path.split("/")):
            self.send_error(HTTPStatus.NOT_FOUND)
        elif path.endswith(".html"):
            self._page(path)
        else:
            super().do_GET()

    def _page(self, path: str) -> None:
        added = self.standing.added(path, self.told)  # before the page is read: newer, it is loaded again
        try:
            page = Path(self.translate_path(self.path)).read_bytes()
        except OSError:
            page = b"<!doctype html><title>no page yet</title><p>There is no such page, or not yet.</p>"
        body = page + added.encode()
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(body)

    def _changes(self, known: int) -> None:
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream")
        self.end_headers()
        try:
            while not self.standing.wait(known, ALIVE):
                self.wfile.write(b":\n\n")
                self.wfile.flush()
            self.wfile.write(b"data: changed\n\n")
        except OSError:
            pass  # the browser has gone

    def log_message(self, format: str, *args: object) -> None:
        """Nobody wants to read of every picture."""


def serve(out: Path, port: int, standing: Showing, told: Callable[[Problem], str]) -> ThreadingHTTPServer:
    """Begin to serve in a thread of its own; OSError where the port is taken."""
    server = ThreadingHTTPServer((HERE, port), partial(_Pages, standing, told, directory=str(out)))
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server
