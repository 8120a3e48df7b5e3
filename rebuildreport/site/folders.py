"""Folders that are replaced in whole or not at all.

A job's pages are built beside the site and swapped in by two renames.  What
stands in ``OUT`` and was not made here is never touched: only folders that
the manifest names are ever removed.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Collection
from pathlib import Path

BUILDING = ".building"
PRINTED = "bench-sheet-*.pdf"  # what the command bench-sheet writes beside a job's pages


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or as it was; unchanged content is left alone."""
    try:
        if path.read_bytes() == data:
            return
    except OSError:
        pass
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def recover(out: Path) -> None:
    """Put back what a run that was cut off in the middle of a swap had set aside, and clear its leftovers."""
    building = out / BUILDING
    if not building.is_dir():
        return
    for aside in sorted(building.glob("*.old")):
        edition, _, job = aside.name.removesuffix(".old").partition("--")
        home = out / edition / job
        if not home.exists():
            aside.rename(home)
    shutil.rmtree(building, ignore_errors=True)


def fresh(out: Path, edition: str, job: str) -> Path:
    """An empty folder to build one job's pages in."""
    folder = out / BUILDING / f"{edition}--{job}"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return folder


def swap_in(out: Path, edition: str, job: str, built: Path) -> None:
    """Put a built folder in its place; the old one goes only when the new one stands."""
    home = out / edition / job
    home.parent.mkdir(parents=True, exist_ok=True)
    aside = out / BUILDING / f"{edition}--{job}.old"
    shutil.rmtree(aside, ignore_errors=True)
    if home.exists():
        home.rename(aside)
    try:
        built.rename(home)
    except OSError:
        if aside.exists() and not home.exists():
            aside.rename(home)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def strange(out: Path, edition: str, job: str) -> bool:
    """Whether a folder stands in a job's place that holds none of its pages: somebody else's.

    Bench sheets printed before the first pages were made are no stranger's.
    """
    home = out / edition / job
    if not home.exists() or (home / "index.html").is_file():
        return False
    if edition != "shop" or not home.is_dir():
        return True
    return not {path.name for path in home.iterdir()} <= {path.name for path in home.glob(PRINTED)}


def carry_over(out: Path, job: str, built: Path, made: Collection[str]) -> None:
    """Keep the bench sheets that a person printed: those beside the job's pages that are not of ``made``.

    Where ``built`` has one of its own of the same name, that one stands.
    """
    for path in sorted((out / "shop" / job).glob(PRINTED)):
        if path.name not in made and not (built / path.name).exists():
            shutil.copy2(path, built / path.name)


def remove(out: Path, edition: str, job: str) -> None:
    """Take one job's pages down."""
    shutil.rmtree(out / edition / job, ignore_errors=True)
