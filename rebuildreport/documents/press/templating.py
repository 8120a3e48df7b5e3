"""Jinja as every document uses it: what people typed is escaped, messages are looked up."""

from __future__ import annotations

import html
import re
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import lru_cache
from hashlib import blake2b
from pathlib import Path
from traceback import extract_tb
from typing import TYPE_CHECKING, Any

from ...records import Problem
from .codes import DID, DONE
from .language import opening, say, told
from .places import folders
from .words import capital, day, place, places, stop, tight

if TYPE_CHECKING:
    from jinja2 import BytecodeCache, Environment

_STROKE = re.compile("((?:[0-9]+\u00a0)?[^\\s/<>]+/[^\\s/<>]+)")
# a band, a pair of places, the name or number of an engine
_RANGE = re.compile("([0-9][0-9.,]*–[0-9.,]*[0-9]|[A-Z]+[0-9]+(?:-[A-Z0-9]+)+)")
ENDLESS = 20.0  # seconds of processor time: the longest page takes a third of one


@lru_cache(maxsize=8)
def environment(shop: Path | None = None) -> Environment:
    """Jinja set up once per shop: everything typed by people is escaped, a name misspelt is an error.

    A template of the shop's, perhaps another's that it was given, reads no file and runs no program.
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
    from jinja2.sandbox import SandboxedEnvironment

    class Ending(Template):
        def render(self, *args: Any, **more: Any) -> str:
            with _ending():
                return super().render(*args, **more)

    found = folders(shop)
    kind = SandboxedEnvironment if len(found) > 1 else Environment
    jinja = kind(
        loader=FileSystemLoader([str(folder) for folder in found]),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
        auto_reload=False,
        finalize=tight,
        bytecode_cache=_compiled(kind.__name__),
    )
    if kind is SandboxedEnvironment:
        jinja.template_class = Ending
    # so that a template prints the model itself: what was said, names, days, codes
    filters: dict[str, Callable[..., Any]] = {
        "anchor": anchor,
        "css": css_text,
        "told": told,
        "opening": opening,
        "stop": stop,
        "capital": capital,
        "day": day,
        "tight": tight,
        "positions": lambda names: places([place(name) for name in names]),
        "done": lambda code, past=False: say((DID if past else DONE)[code]),
        "whole": _whole,
        # of plain text, as the replacement would be escaped in what is markup already
        "ranges": lambda markup: _RANGE.sub(r'<span class="nw">\1</span>', str(markup)),
    }
    jinja.filters.update(filters)
    jinja.globals["say"] = say
    return jinja


def _whole(text: str) -> str:
    """HTML of a text whose units with a stroke ('1400 1/min') stay on one line."""
    return _STROKE.sub(r'<span class="nw">\1</span>', html.escape(text))


@contextmanager
def _ending() -> Iterator[None]:
    """A template of the shop's that does not end is stopped; a thread beside the first cannot be."""
    from jinja2 import TemplateRuntimeError

    def stop(*_: object) -> None:
        raise TemplateRuntimeError("it does not end")

    if not hasattr(signal, "setitimer") or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, ENDLESS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def _compiled(kind: str) -> BytecodeCache | None:
    """Templates as Jinja compiled them once for this user: compiling takes as long as a page of the six.

    Constants are printed when they are compiled, so what prints them is part of the name.
    """
    from jinja2.bccache import Bucket, FileSystemBytecodeCache

    class Compiled(FileSystemBytecodeCache):
        def load_bytecode(self, bucket: Bucket) -> None:
            try:
                super().load_bytecode(bucket)
            except Exception:  # damaged: of no use, and no harm
                bucket.reset()

        def dump_bytecode(self, bucket: Bucket) -> None:
            with suppress(OSError):
                super().dump_bytecode(bucket)

    printers = sorted(Path(__file__).parent.glob("*.py"))
    made_by = blake2b(b"".join(path.read_bytes() for path in printers), digest_size=8).hexdigest()
    try:
        return Compiled(pattern=f"rebuildreport-{kind}-{made_by}-%s")
    except (OSError, RuntimeError):  # no folder that is this user's alone
        return None


def fault_of_the_shops(fault: Exception, shop: Path) -> Problem | None:
    """What is wrong with a template of the shop's, with its line, where a fault arose in one; None elsewhere.

    Jinja puts templates and their lines into the traceback, but for one that it cannot read at all.
    """
    from jinja2 import TemplateError, TemplateSyntaxError

    places = [(frame.filename, frame.lineno or 1) for frame in extract_tb(fault.__traceback__)]
    if isinstance(fault, TemplateSyntaxError):
        places.append((fault.filename or fault.name or "", fault.lineno))
    own = [(Path(file), line) for file, line in places if Path(file).is_relative_to(shop / "templates")]
    if not own:
        return None
    file, line = own[-1]
    said = fault if isinstance(fault, TemplateError) else f"{type(fault).__name__}: {fault}"
    quote = "".join(file.read_text("utf-8", errors="replace").splitlines()[line - 1 : line])
    message = f"this template of the shop's cannot be printed: {said}"
    named = file.relative_to(shop).as_posix()
    return Problem(named, line, 1, "error", message, quote, "compare it with ours of the same name")


def css_text(text: str) -> str:
    r"""A text as a stylesheet quotes it; what would end the quote, or the stylesheet, is spelt by code point.

    >>> print(css_text('Old "Mill" </style>'))
    "Old \22 Mill\22  \3c /style\3e "
    """
    return '"' + re.sub(r'["\\<>\n]', lambda sign: f"\\{ord(sign[0]):x} ", text) + '"'


def anchor(text: object) -> str:
    """A plain ASCII id: letters, digits and hyphens; anything else is spelt by its code point.

    >>> anchor("main_journals.size M4"), anchor("Ölpumpe")
    ('main_journals-size-M4', 'xd6-lpumpe')
    """

    def spelt(sign: re.Match[str]) -> str:
        return "-" if sign[0].isascii() else f"x{ord(sign[0]):x}-"

    return re.sub(r"[^A-Za-z0-9_]", spelt, str(text)).strip("-") or "none"
