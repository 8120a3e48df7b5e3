"""What pages are made by: the program and the templates, so that a change of either makes them again."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from functools import cache
from pathlib import Path

from .. import __version__
from ..documents.press import places
from . import sources


@cache
def program() -> str:
    """Which program this is: a clone that was brought up to date has the version that it had before."""
    digest = hashlib.sha256(__version__.encode())
    package = Path(__file__).resolve().parents[1]
    for path in sorted(package.rglob("*.py")):
        digest.update(str(path.relative_to(package)).encode() + path.read_bytes())
    return digest.hexdigest()


def templates(shop_dir: Path) -> str:
    """The templates in force, those of the shop before the program's own."""
    digest = hashlib.sha256()
    for folder in places.folders(shop_dir):
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def sheets(shop_dir: Path) -> dict[str, str]:
    """The engine sheets by name, with the digests of what is in them."""
    return {path.stem: sources.digest_of(path) for path in sorted((shop_dir / "engines").glob("*.yaml"))}


def of_all(shop_dir: Path, sheets: Collection[str], pdf: bool) -> str:
    """What every page is made by and from: program, templates, the shop's own files, the names of its sheets.

    A job's problems tell of sheets by name, those that it does not use among them.
    """
    own = [sources.digest_of(shop_dir / name) for name in ("shop.yaml", "stock.yaml")]
    return sources.digest(program(), templates(shop_dir), pdf, own, sorted(sheets))
