"""Where templates, stylesheets and fonts are found, and how a shop replaces any one of them."""

from __future__ import annotations

from contextlib import suppress
from functools import lru_cache
from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[2]


class TemplatesMissing(RuntimeError):
    """No templates folder: neither packed into the package nor beside it."""


@lru_cache(maxsize=1)
def own_templates() -> Path:
    """The project's templates: packed into an installed package, else beside the package in a checkout.

    Raises TemplatesMissing where there is neither.
    """
    for folder in (PACKAGE / "_templates", PACKAGE.parent / "templates"):
        if (folder / "report.html.jinja").is_file():
            return folder
    raise TemplatesMissing("the templates folder is missing: install rebuildreport again")


def folders(shop: Path | None = None) -> tuple[Path, ...]:
    """Folders to look in, first found wins: the shop's ``templates/`` where it has one, then our own."""
    own = own_templates()
    if shop is not None and (shop / "templates").is_dir():
        return (shop / "templates", own)
    return (own,)


def find(name: str, shop: Path | None = None) -> Path:
    """One template, stylesheet or font by name; FileNotFoundError where nobody has it."""
    for folder in folders(shop):
        if (folder / name).is_file():
            return folder / name
    raise FileNotFoundError(f"no template is called {name}")


def parts(shop: Path | None = None) -> tuple[str, ...]:
    """Names of all parts of the family: a folder each below ``parts/``, of the project or of the shop."""
    found: set[str] = set()
    for folder in folders(shop):
        found |= {path.parent.name for path in folder.glob("parts/*/part.html.jinja")}
    return tuple(sorted(found))


def stylesheet(screen: bool = False, shop: Path | None = None) -> str:
    """The pages' stylesheet: what all rest on, then the piece of each part.

    One text for print and screen, one for screens only: a part that has nothing to say of one has no file.
    """
    name = "screen.css" if screen else "part.css"
    pieces = [find("screen.css" if screen else "base.css", shop)]
    for part in parts(shop):
        with suppress(FileNotFoundError):
            pieces.append(find(f"parts/{part}/{name}", shop))
    return "".join(piece.read_text("utf-8") for piece in pieces)


def assets(shop: Path | None = None) -> dict[str, bytes]:
    """What the HTML pages need beside them: name below the assets folder, and its content."""
    fonts = sorted(path.name for path in (own_templates() / "fonts").iterdir())
    files = {f"fonts/{font}": find(f"fonts/{font}", shop).read_bytes() for font in fonts}
    return {
        "pages.css": stylesheet(shop=shop).encode(),
        "screen.css": stylesheet(screen=True, shop=shop).encode(),
        **{name: find(name, shop).read_bytes() for name in ("site.css", "search.js", "preview.png")},
        **files,
    }
