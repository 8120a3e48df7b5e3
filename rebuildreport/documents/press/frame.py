"""What every document of one job tells the frame that it is set in (``sheet.html.jinja``)."""

from __future__ import annotations

from dataclasses import dataclass, field

from .pdf import Attached


@dataclass(frozen=True, slots=True)
class Framed:
    """Head, foot and contents of a document; its own view adds what stands between them."""

    title: str
    lang: str
    shop: str
    contact: str
    notice: str
    head: str
    description: str
    paged: bool
    sections: tuple[tuple[str, str], ...]
    of: str = field(default="", kw_only=True)  # what tells its file from others of its sort: a round
    style: str = field(default="", kw_only=True)  # stylesheet of its own, after the family's
    carries: tuple[Attached, ...] = field(default=(), kw_only=True)  # files inside its PDF
