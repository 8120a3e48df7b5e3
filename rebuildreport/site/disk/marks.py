"""What the disk says of files and folders, without opening any: the quick half of "has it changed?".

Imported before anything of the program, so that a run with nothing to do is over at once: the
standard library alone, and of it only what a bare interpreter has at hand.
"""

# ruff: noqa: PTH116
# pathlib is not used here: importing it takes half the time of a run that has nothing to do
from __future__ import annotations

import marshal
import os
import time
from collections.abc import Iterable
from hashlib import blake2b

# A file changed again within one tick of its disk's clock looks the same (FAT counts in 2 s): what is so
# young, or from the future because a clock was set back, is looked at again next time.
TICK = 2_000_000_000
YOUNG = ""  # a mark that nothing equals
Mark = list[int] | str  # of one file or folder; of all below a folder


def look(folder: str) -> str:
    """One digest of names, sizes, times and inodes of all below a folder; YOUNG where that may lie."""
    found: list[object] = []
    youngest = _below(folder, "", found)
    if youngest > time.time_ns() - TICK:
        return YOUNG
    return blake2b(marshal.dumps(found, 2), digest_size=16).hexdigest()


def _below(folder: str, prefix: str, found: list[object]) -> int:
    """Add what is below; the time of the youngest of it."""
    youngest = 0
    try:
        with os.scandir(folder) as entries:
            listed = sorted(entries, key=lambda entry: entry.name)
    except OSError:
        found.append((prefix, "closed"))
        return 0
    for entry in listed:
        name = prefix + entry.name
        try:
            if entry.name == "__pycache__":  # what a program was compiled to is no part of it
                continue
            if entry.is_dir():
                found.append(name)
                if not (entry.is_symlink() and _holds(entry.path, folder)):
                    youngest = max(youngest, _below(entry.path, name + "/", found))
                continue
            about = entry.stat()
        except OSError:
            found.append((name, "gone"))
            continue
        changed, status = about.st_mtime_ns, about.st_ctime_ns
        found.append((name, about.st_size, changed, status, about.st_ino))
        youngest = max(youngest, changed, status)
    return youngest


def _holds(link: str, folder: str) -> bool:
    """Whether a link leads to a folder that it lies in: followed, it would never end."""
    there = os.path.realpath(link)
    return os.path.commonpath([there, os.path.realpath(folder)]) == there


def mark(path: str) -> list[int]:
    """What the disk says of one file or folder; all 0 where there is none."""
    try:
        about = os.stat(path)
    except OSError:
        return [0, 0, 0, 0]
    return [about.st_size, about.st_mtime_ns, about.st_ctime_ns, about.st_ino]


def marks(paths: Iterable[str]) -> dict[str, Mark]:
    """The same of several, by path; with / behind it, of all below a folder."""
    return {path: look(path) if path[-1:] == "/" else mark(path) for path in paths}


def settled(known: dict[str, Mark]) -> bool:
    """Whether none is so young that it may have changed since without a trace."""
    newest = time.time_ns() - TICK
    return all(one != YOUNG and (isinstance(one, str) or max(one[1:3]) <= newest) for one in known.values())


def there(out: str, name: str) -> str:
    """What the disk says of the folders of a job's pages: a file more in one, or one less, changes it."""
    homes = [f"{out}/{edition}/{name}" for edition in ("shop", "public")]
    return repr([path for home in homes for path in (mark(home), mark(home + "/photos"))])
