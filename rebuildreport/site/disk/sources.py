"""Whether a job's files are as they were: by what the disk says of them, by their content where it differs.

In come a folder and what was known of it; out go its files with their
digests.  Knows nothing of records: a file is its bytes.
"""

from __future__ import annotations

import hashlib
import json
import os
import time
from collections.abc import Iterator, Mapping
from pathlib import Path

from .marks import TICK

# size, modified (ns), status changed (ns), inode, digest of the content
State = list[int | str]


def states(folder: Path, known: Mapping[str, State]) -> dict[str, State]:
    """Every file and folder below one, with its digest: ``known`` ones are read only where they differ."""
    now = time.time_ns()
    found: dict[str, State] = {}
    for name, entry in sorted(_below(folder, "", set())):
        found[name] = _state(entry, known.get(name), now)
    return found


def untouched(folder: Path, known: Mapping[str, State]) -> bool:
    """Whether no file has been written since, not even back to what it was."""

    def of(files: Mapping[str, State]) -> dict[str, tuple[object, ...]]:
        return {name: (size, edited, inode, data) for name, (size, edited, _, inode, data) in files.items()}

    return of(states(folder, known)) == of(known)


def _below(folder: Path, prefix: str, been: set[tuple[int, int]]) -> Iterator[tuple[str, os.DirEntry[str]]]:
    try:
        about = folder.stat()
        entries = list(os.scandir(folder))
    except OSError:
        return  # gone meanwhile, or closed to us: the records say so
    if (about.st_dev, about.st_ino) in been:
        return  # a link to a folder that it lies in
    been.add((about.st_dev, about.st_ino))
    for entry in entries:
        yield prefix + entry.name, entry
        if entry.is_dir():
            yield from _below(Path(entry.path), f"{prefix}{entry.name}/", been)


def _state(entry: os.DirEntry[str], known: State | None, now: int) -> State:
    try:
        about = entry.stat()
    except OSError:
        return [0, 0, 0, 0, "gone"]
    if entry.is_dir():
        return [0, 0, 0, 0, "folder"]
    marks: State = [about.st_size, about.st_mtime_ns, about.st_ctime_ns, about.st_ino]
    if known is not None and known[:4] == marks:
        return known
    if max(about.st_mtime_ns, about.st_ctime_ns) > now - TICK:
        marks[2] = 0
    return [*marks, digest_of(Path(entry.path))]


def digest_of(path: Path) -> str:
    """The digest of a file's content; a word where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()[:32]
    except OSError:
        return "unreadable"


def digest(*parts: object) -> str:
    """One digest of plain data."""
    return hashlib.sha256(json.dumps(parts, ensure_ascii=False, sort_keys=True).encode()).hexdigest()


def contents(files: Mapping[str, State]) -> list[tuple[str, str]]:
    """Names and digests, without what only the disk knows."""
    return [(name, str(state[4])) for name, state in files.items()]


def edited(files: Mapping[str, State]) -> int:
    """When the newest of the files was changed."""
    return max((int(state[1]) for state in files.values()), default=0)
