"""Files of the site that are there whole or as they were.

What changes is written aside first, below ``OUT/.building``, and put in place by one rename a file when all
of it is written: a full disk leaves the old pages as they were.  What stands in ``OUT`` and was not made
here is never touched.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

BUILDING = ".building"
# what the command bench-sheet writes beside a job's pages
PRINTED = ("bench-sheet-*.pdf", "bench-page-*.html")


def write_whole(path: Path, data: bytes | Iterable[bytes], out: Path | None = None) -> None:
    """Write a file so that it is there whole or as it was; unchanged content is left alone.

    In a site, ``out``, it is written aside first: what a killed run leaves there, the next clears away.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = (out / BUILDING if out else path.parent) / f".{path.name}.{os.getpid()}"
    beside.parent.mkdir(exist_ok=True)
    try:
        with beside.open("wb") as file:
            file.writelines([data] if isinstance(data, bytes) else data)
        if not same(path, beside):
            beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def same(one: Path, other: Path) -> bool:
    """Whether two files have the same bytes; thousands of jobs make a page that is not read at once."""
    with suppress(OSError), one.open("rb") as ours, other.open("rb") as theirs:
        while (piece := ours.read(1 << 18)) == theirs.read(1 << 18):
            if not piece:
                return True
    return False


def building(out: Path, edition: str, job: str) -> Path:
    """Where the pages of a job are written aside."""
    return out / BUILDING / edition / job


def clear(out: Path) -> None:
    """Take away what a run that was cut off had written aside."""
    shutil.rmtree(out / BUILDING, ignore_errors=True)


def aside(out: Path, edition: str, job: str, file: str, data: bytes) -> None:
    """Write one file of a job aside, unless it stands as it is."""
    with suppress(OSError):
        if (out / edition / job / file).read_bytes() == data:
            return
    path = building(out, edition, job) / file
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def standing(out: Path, edition: str, job: str, file: str) -> bytes:
    """A file of a job as it will stand."""
    with suppress(OSError):
        return (building(out, edition, job) / file).read_bytes()
    return (out / edition / job / file).read_bytes()


def also(out: Path, job: str, file: str) -> None:
    """A file of the shop edition in the public one, too."""
    if not (out / "public" / job / file).exists():
        aside(out, "public", job, file, standing(out, "shop", job, file))


def put_in_place(out: Path, edition: str, job: str) -> bool:
    """Put what was written aside in its place, pages first; whether there was anything."""
    built, home = building(out, edition, job), out / edition / job
    files = sorted(
        (path for path in built.rglob("*") if path.is_file()), key=lambda path: path.suffix != ".html"
    )
    for path in files:
        target = home / path.relative_to(built)
        target.parent.mkdir(parents=True, exist_ok=True)
        path.replace(target)
    shutil.rmtree(built, ignore_errors=True)
    return bool(files)


def strange(out: Path, edition: str, job: str) -> bool:
    """Whether a folder stands in a job's place that holds none of its pages: somebody else's.

    Bench sheets printed before the first pages were made are no stranger's.
    """
    home = out / edition / job
    if not home.exists() or (home / "index.html").is_file():
        return False
    if edition != "shop" or not home.is_dir():
        return True
    return not {*home.iterdir()} <= _printed(home)


def found(out: Path, edition: str, job: str) -> list[str]:
    """The files of pages that nothing is known of, because the memory of them was lost: all are ours.

    But for bench sheets, which a person may have printed.
    """
    home = out / edition / job
    printed = _printed(home)
    return [str(path.relative_to(home)) for path in home.rglob("*") if path.is_file() and path not in printed]


def _printed(home: Path) -> set[Path]:
    return {path for names in PRINTED for path in home.glob(names)}


def remove(out: Path, edition: str, job: str, files: Iterable[str]) -> None:
    """Take files of a job down, and its folder where nothing else is in it."""
    home = out / edition / job
    for file in files:
        (home / file).unlink(missing_ok=True)
    for folder in (home / "photos", home):
        with suppress(OSError):
            folder.rmdir()
