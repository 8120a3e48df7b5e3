"""What pages are made by: the program and the templates, so that a change of either makes them again."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from importlib import metadata
from pathlib import Path

import msgspec

from ... import __version__
from ...documents.press import pdf, places
from ...records import read
from ...records.text.memory import Memory
from . import marks, sources
from .unchanged import NAME

PACKAGE = Path(__file__).resolve().parents[2]
# whose words, drawing and numbers stand in the bytes of a page
LIBRARIES = ("babel", "jinja2", "markdown-it-py", "numpy", "pillow", "pillow-heif", "pint")
INSTALLED = Path(msgspec.__file__).parents[1]  # all libraries lie in it


class Makers(msgspec.Struct, frozen=True):
    """Digests of what pages and PDFs are made by."""

    program: str
    templates: str
    printing: str


def looks(shop_dir: Path) -> dict[str, marks.Mark]:
    """What the disk says of program, libraries and templates."""
    return marks.marks([str(INSTALLED), *(f"{folder}/" for folder in (PACKAGE, *places.folders(shop_dir)))])


def memory(out: Path, program: str = "") -> Memory:
    """What a program worked out before, beside the manifest."""
    return Memory(out / f"{NAME}-memory", program)


def makers(shop_dir: Path, out: Path, looked: dict[str, marks.Mark]) -> Makers:
    """What pages are made by: read where the disk says that it is not what it was at the last run."""

    def read_anew() -> Makers:
        return Makers(program(), templates(shop_dir), printing(shop_dir))

    sure = out.is_dir() and marks.settled(looked)
    return (memory(out) if sure else Memory()).of("makers", looked, Makers, read_anew)


def program() -> str:
    """Which program this is: a clone that was brought up to date has the version that it had before."""
    digest = hashlib.sha256(__version__.encode())
    for path in sorted(PACKAGE.rglob("*.py")):
        digest.update(str(path.relative_to(PACKAGE)).encode() + path.read_bytes())
    for library in LIBRARIES:
        digest.update(metadata.version(library).encode())
    return digest.hexdigest()


def printing(shop_dir: Path) -> str:
    """What a PDF is made by, beside what it says and its stylesheet."""
    fonts = [(path.name, sources.digest_of(path)) for path in _files(shop_dir) if path.parent.name == "fonts"]
    return sources.digest(metadata.version("weasyprint"), sources.digest_of(Path(pdf.__file__)), fonts)


def templates(shop_dir: Path) -> str:
    """The templates in force, those of the shop before the program's own."""
    digest = hashlib.sha256()
    for path in _files(shop_dir):
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def _files(shop_dir: Path) -> list[Path]:
    """The templates' files and folders, the shop's first."""
    return [
        path for folder in places.folders(shop_dir) for path in sorted(folder.rglob("*")) if path.is_file()
    ]


def sheets(shop_dir: Path) -> dict[str, str]:
    """The engine sheets by name, with the digests of what is in them."""
    return {path.stem: sources.digest_of(path) for path in sorted((shop_dir / "engines").glob("*.yaml"))}


def of_all(made_by: Makers, shop_dir: Path, sheets: Collection[str]) -> str:
    """What every page is made by and from: program, templates, the shop's own files, the names of its sheets.

    A job's problems tell of sheets by name, those that it does not use among them.
    """
    own = [sources.digest_of(path) for path in _own(shop_dir)]
    return sources.digest(made_by.program, made_by.templates, own, sorted(sheets))


def _own(shop_dir: Path) -> list[Path]:
    """The files of the shop that are of no job and no engine, those that are not there, too."""
    own = [shop_dir / "shop.yaml", shop_dir / "stock.yaml", *sorted((shop_dir / "engines").glob("*.csv"))]
    data = read(own[0])[0].data  # what is wrong in it is told elsewhere
    logo = data.get("logo") if isinstance(data, dict) else None
    return [*own, shop_dir / logo] if isinstance(logo, str) else own


def paths(shop_dir: Path) -> list[Path]:
    """What else has to be looked at to know that nothing has changed, folders for what is new in them."""
    engines = shop_dir / "engines"
    return [
        *_own(shop_dir),
        shop_dir / "pages",
        *(shop_dir / "pages").glob("*.md"),
        shop_dir / "templates",
        engines,
        *engines.glob("*.yaml"),
    ]
