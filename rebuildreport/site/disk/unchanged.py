"""Whether a run would find everything as the last one left it: asked before anything else is imported.

In come the words of the command line; out goes what the last run with the same words told, if neither the
records nor the pages nor the program have changed since.  Whoever is in doubt says None: then a run looks.
"""

# ruff: noqa: PTH100, PTH109, PTH110, PTH118
# pathlib is not used here: importing it takes half the time of a run that has nothing to do
from __future__ import annotations

import json
import os
import sqlite3
import time
from collections.abc import Sequence

from .marks import look, marks, there

NAME = ".rebuildreport.db"
_SAME: dict[tuple[str, ...], set[str]] = {}  # by what was asked: jobs found as they were, until one was not


def as_told(words: Sequence[str]) -> tuple[str, int] | None:
    """The text and the exit status of the last run; None where there is something to do, or may be."""
    _SAME.clear()
    folders = _folders(words)
    if folders is None:
        return None
    shop, out = folders
    path = os.path.join(out, NAME)
    if not os.path.exists(path):
        return None
    try:
        database = sqlite3.connect(f"file:{os.path.abspath(path)}?mode=ro", timeout=0, uri=True)
        found = database.execute("select value from fact where name = 'told'").fetchone()
        told = json.loads(found[0]) if found else None
        if not told or told["asked"] != asked(words):
            return None
        if told["on"] != _day(words) or told["rests"] != marks(told["rests"]):
            return None
        same = _SAME[tuple(told["asked"])] = set()
        for job, looked, stood in database.execute("select job, look, there from look"):
            if look(f"{shop}/{job}") != looked or there(out, job) != stood:
                return None
            same.add(job)
        _SAME.clear()  # nothing is to be done with it
        database.close()
    except (sqlite3.Error, ValueError, KeyError, TypeError):
        return None  # another run is at it, or it is of another version
    return told["text"], told["status"]


def same(asked: Sequence[str]) -> set[str]:
    """The jobs that need no second look by the run that follows the question; told once."""
    return _SAME.pop(tuple(asked), set())


def asked(words: Sequence[str]) -> list[str]:
    """What was asked for, and where."""
    return [os.getcwd(), *words]


def _folders(words: Sequence[str]) -> tuple[str, str] | None:
    """The shop's folder and the site's of a ``publish`` of all jobs; None for any other command."""
    shop, out = "jobs", "site"
    if not words or words[0] != "publish":
        return None
    rest = iter(words[1:])
    for word in rest:
        if word == "--shop":
            shop = next(rest, "")
        elif word == "--out":
            out = next(rest, "")
        elif word == "--on":
            next(rest, "")
        elif word not in ("--pdf", "--no-pdf"):
            return None
    return shop, out


def _day(words: Sequence[str]) -> str:
    """The day that the shop's day is of: as it was asked for, else today."""
    return words[words.index("--on") + 1] if "--on" in words[:-1] else time.strftime("%Y-%m-%d")
