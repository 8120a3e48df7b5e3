"""All that can be read in a file of the public edition: text, attributes, names, pictures and PDFs inside.

In: a file.  Out: its texts, apart where nothing that a person typed goes from one to the next.  Knows nothing
of what is private.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

PICTURES = frozenset({".jpg", ".jpeg", ".png", ".webp"})
PLAIN = frozenset({".html", ".js", ".json", ".xml", ".css", ".svg", ".txt", ".md", ".ics", ".csv"})
# attributes that hold coordinates and looks: long runs of digits that nobody typed
_DRAWN = re.compile(
    r"\s(?:d|[xy][12]?|width|height|viewBox|transform|points|style|class|fill|stroke[\w-]*|font-[\w-]*"
    r'|text-anchor)="[^"]*"'
)
_ATTRIBUTE = re.compile(r'\s[\w:-]+="([^"]*)"')


def texts_of(path: Path, name: str) -> list[str]:
    """Every text of a file that is called ``name`` below the edition's folder, the name itself among them."""
    return [name, *_inside(path)]


def _inside(path: Path) -> Iterator[str]:
    kind = path.suffix.lower()
    if kind == ".pdf":
        yield from in_pdf(path)
    elif kind in PICTURES:
        yield from in_picture(path)
    elif kind in PLAIN:
        text = path.read_text("utf-8", "replace")
        yield from in_page(text) if kind in (".html", ".xml", ".svg") else in_script(text)


def in_page(page: str) -> list[str]:
    """Of HTML or XML its text and its attributes, but for those that only draw."""
    text = html.unescape(re.sub(r"<[^>]+>", " ", page))
    return [text, "\n".join(map(html.unescape, _ATTRIBUTE.findall(_DRAWN.sub("", page))))]


def in_script(text: str) -> list[str]:
    r"""Of a script or JSON its text, what is quoted in it as HTML too, and letters that stand as numbers.

    >>> in_script('x("a <b title=\\"Mr\\">caf\\u00e9</b>")')[0]
    'x("a  café ")'
    """
    said = re.sub(r"\\u([0-9a-fA-F]{4})", lambda found: chr(int(found[1], 16)), text)
    return in_page(re.sub(r'\\(["/])', r"\1", said))


def in_picture(path: Path) -> Iterator[str]:
    """What a picture tells beside what it shows."""
    from PIL import Image

    with suppress(OSError), Image.open(path) as picture:
        for value in (*picture.info.values(), *dict(picture.getexif()).values()):
            if isinstance(value, bytes):
                yield value.decode("utf-8", "replace")
            elif isinstance(value, str):
                yield value


def in_pdf(path: Path) -> Iterator[str]:
    """The text of its pages, its metadata, bookmarks, text alternatives, links and attachments."""
    import pikepdf
    import pypdfium2

    document = pypdfium2.PdfDocument(path)
    try:
        for page in document:
            yield page.get_textpage().get_text_range()
    finally:
        document.close()
    with pikepdf.open(path) as pdf:
        for thing in pdf.objects:
            yield from _strings(thing)
        if "/Metadata" in pdf.Root:
            yield from in_page(pdf.Root.Metadata.read_bytes().decode("utf-8", "replace"))
        for name, attached in pdf.attachments.items():
            yield name
            yield from in_script(attached.get_file().read_bytes().decode("utf-8", "replace"))


def _strings(thing: Any) -> Iterator[str]:
    """Every string that stands in an object of a PDF itself; what it only points at comes by itself."""
    import pikepdf

    if isinstance(thing, pikepdf.String):
        yield str(thing)
    elif isinstance(thing, pikepdf.Array):
        for inner in thing:
            if not getattr(inner, "is_indirect", False):
                yield from _strings(inner)
    elif isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
        for _, inner in thing.items():
            if not getattr(inner, "is_indirect", False):
                yield from _strings(inner)
