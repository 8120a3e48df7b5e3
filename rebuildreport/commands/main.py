"""The entrance: runs one command and leaves with its exit status.

Exit status: 0 fine, 1 the input has problems, 2 wrong usage, 3 the machine
lacks something, 70 a fault of the program itself.

The list of commands stands here, and not in ``cli``, so that ``--help``
answers without importing the library that the command line is built on.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence

from .. import __version__
from .terminal.listing import INTERRUPTED, NAME, help_text

FAULT = 70  # EX_SOFTWARE of sysexits.h (BSD)
PIPE_CLOSED = 141  # 128 + SIGPIPE


def main(args: Sequence[str] | None = None) -> None:
    """Run one command and leave with its exit status."""
    # Imports and one job's records are some hundred thousand objects that all last: looking through them
    # for garbage at the usual pace costs a tenth of a short run.
    gc.set_threshold(400_000, 20, 20)
    # pydantic would look through the metadata of every installed package for plugins: we have none
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    status = run(sys.argv[1:] if args is None else args)
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _unheard()
    gc.freeze()  # the interpreter's last look for garbage would only find what ends with it anyway
    sys.exit(status)


def run(args: Sequence[str]) -> int:
    """Run one command; its exit status.  Nothing that a file holds leads to a traceback."""
    try:
        if list(args) in (["--help"], ["-h"]):
            print(help_text())
            return 0
        if list(args) == ["--version"]:
            print(f"{NAME} {__version__}")
            return 0
        if args and args[0] == "publish" and (told := _nothing_to_do(args)) is not None:
            return told
        from .terminal.cli import call

        return call(args)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        _unheard()
        return 0
    except Exception as fault:  # the last net: told in one line, kept in full
        if os.environ.get("REBUILDREPORT_DEBUG"):
            raise
        return _fault(fault)


def _nothing_to_do(args: Sequence[str]) -> int | None:
    """The exit status of a ``publish`` that finds all as the last one left it; told as by that one."""
    from ..site.disk.unchanged import as_told

    known = as_told(args)
    if known is None:
        return None
    text, status = known
    if text:
        print(text.replace("\u00a0", " "), file=sys.stderr)
    return status


def _unheard() -> None:
    """Whoever read our output has gone, as behind ``| head``: no fault, whatever the command was."""
    from .terminal.telling import unheard

    unheard()


def _fault(fault: Exception) -> int:
    import tempfile
    import traceback

    details = "".join(traceback.format_exception(fault))
    text = f"{NAME} {__version__}, Python {sys.version}\n{' '.join(sys.argv)}\n\n{details}"
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix=f"{NAME}-fault-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write(text)
        where = f"details are in {file.name}"
    except OSError as problem:
        where = f"the details could not be written: {problem}"
    said = " ".join(str(fault).split())
    print(
        f"a fault of the program, not of your files ({type(fault).__name__}: {said}); {where}",
        file=sys.stderr,
    )
    return FAULT
