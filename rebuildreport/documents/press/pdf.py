"""HTML to PDF: tagged for everybody, with bookmarks and attachments, the same bytes for the same input.

WeasyPrint is loaded only when a PDF is wanted.  Parsed stylesheets and the
font configuration are kept for the life of the process: parsing them again
for every document costs time and makes memory grow.
"""

from __future__ import annotations

import gc
import hashlib
import io
import logging
import warnings
from collections.abc import Sequence
from contextlib import redirect_stdout
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from msgspec import Struct

from .filling import filled
from .tagging import finish

DEBIAN = ("libpangoft2-1.0-0", "libharfbuzz-subset0")
VARIANT = "pdf/a-3a"
DPI = 450  # of pictures: twice what a good printer shows of a photo


class PdfUnavailable(RuntimeError):
    """This machine cannot make PDFs; the message names what to install."""


class Attached(Struct, frozen=True):
    """A file carried inside the PDF; ``relationship`` is a word of ISO 32000 (Data, Supplement ...)."""

    name: str
    data: bytes
    description: str
    relationship: str = "Data"


class _Engine(Struct, frozen=True):
    """WeasyPrint with what is kept from one document to the next."""

    library: Any
    fonts: Any
    sheets: dict[tuple[str, Path], Any]


_engine: _Engine | None = None


def available() -> bool:
    """Whether PDFs can be made here."""
    try:
        _load()
    except PdfUnavailable:
        return False
    return True


class Paper(Struct, frozen=True):
    """All that one PDF is made from, as plain data: it can be handed to another process.

    ``stylesheet`` is the text of one, its addresses are below ``base``; ``allowed`` are further folders
    that pictures and fonts may come from (everything else, the network included, is barred),
    ``made`` the date that the document carries: it comes from the records, not from the clock; ``photos``
    is the folder behind addresses that begin with ``photo:``, so that no path of this machine gets into it.
    """

    html: str
    stylesheet: str
    base: Path
    allowed: tuple[Path, ...]
    made: date
    attachments: tuple[Attached, ...] = ()
    photos: Path | None = None

    def digest(self) -> str:
        """One digest of what it says and how it looks, fonts and program apart; photos by their names."""
        whole = hashlib.sha256()
        for part in (self.html, self.stylesheet, self.made.isoformat()):
            whole.update(part.encode() + b"\0")
        for one in self.attachments:
            whole.update("\0".join((one.name, one.description, one.relationship)).encode() + one.data)
        return whole.hexdigest()

    def pdf(self) -> bytes:
        """Its bytes; PdfUnavailable where WeasyPrint cannot be loaded."""
        engine = _load()
        weasyprint = engine.library
        fetcher = _fetcher([*self.allowed, self.base], self.photos)
        stamp = datetime(self.made.year, self.made.month, self.made.day, 12, tzinfo=UTC)
        carried = [
            weasyprint.Attachment(
                string=one.data,
                name=one.name,
                description=one.description,
                created=stamp,
                modified=stamp,
                relationship=one.relationship,
                url_fetcher=fetcher,
            )
            for one in self.attachments
        ]
        key = (self.stylesheet, self.base)  # the text itself: a sheet changed meanwhile is another one
        if key not in engine.sheets:
            known = {"base_url": self.base.resolve().as_uri() + "/", "url_fetcher": fetcher}
            engine.sheets[key] = weasyprint.CSS(string=self.stylesheet, font_config=engine.fonts, **known)
        identifier = hashlib.sha256(self.html.encode())
        for one in self.attachments:
            identifier.update(one.name.encode() + one.data)
        options: dict[str, Any] = {"dpi": DPI, "pdf_variant": VARIANT, "pdf_tags": True}
        options["pdf_identifier"] = identifier.digest()[:16]
        collecting = gc.isenabled()
        gc.disable()  # a document is one large tree that lives until it is written: collecting is wasted work
        try:
            with warnings.catch_warnings():
                # WeasyPrint 70 leaves the colour profile that it ships to the garbage collector to close
                warnings.simplefilter("ignore", ResourceWarning)
                read = weasyprint.HTML(string=self.html, url_fetcher=fetcher)

                def lay_out(further: str) -> Any:
                    added = [weasyprint.CSS(string=further)] if further else []
                    sheets = [engine.sheets[key], *added]
                    return read.render(font_config=engine.fonts, stylesheets=sheets, **options)

                document = filled(lay_out)
                document.metadata.attachments = [*(document.metadata.attachments or []), *carried]
                return bytes(document.write_pdf(finisher=finish, **options))
        finally:
            if collecting:
                gc.enable()
                gc.collect()


def _load() -> _Engine:
    global _engine
    if _engine is None:
        try:
            # where a library cannot be loaded it prints a page of its own; what to do is said by ours
            with redirect_stdout(io.StringIO()):
                import weasyprint
                from weasyprint.text.fonts import FontConfiguration
        except (ImportError, OSError) as problem:
            raise PdfUnavailable(
                "PDFs cannot be made: the text layout libraries are missing. "
                f"On Debian or Ubuntu: apt install {' '.join(DEBIAN)}"
            ) from problem
        # WeasyPrint has Pillow pass over cut-off pictures, for the whole process: here they are to be named
        from PIL import ImageFile

        ImageFile.LOAD_TRUNCATED_IMAGES = False
        # what it says of our own stylesheets is for the tests, not for a person at the bench
        logging.getLogger("weasyprint").setLevel(logging.ERROR)
        _engine = _Engine(weasyprint, FontConfiguration(), {})
    return _engine


def _fetcher(folders: Sequence[Path], photos: Path | None) -> Any:
    """Opens files below ``folders``, photo: and data: addresses, nothing else."""
    from urllib.request import url2pathname  # with it comes all that speaks to networks

    from weasyprint.urls import URLFetcher

    roots = [folder.resolve() for folder in folders]

    class OwnFilesOnly(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            parts = urlsplit(url)
            if parts.scheme == "data":
                return super().fetch(url, headers)
            if parts.scheme == "photo" and photos is not None and Path(parts.path).name == parts.path:
                return super().fetch((photos.resolve() / parts.path).as_uri(), headers)
            if parts.scheme != "file" or parts.netloc not in ("", "localhost"):
                raise ValueError(f"not fetched, only files of the job are: {url}")
            path = Path(url2pathname(parts.path)).resolve()
            if not any(path.is_relative_to(root) for root in roots):
                raise ValueError(f"not fetched, outside the folders of the job: {path.name}")
            return super().fetch(url, headers)

    return OwnFilesOnly(allowed_protocols={"file", "data"}, allow_redirects=False)
