"""Labels for the boxes and bags of a job, on sheets of the size that the shop buys.

In: an Assessment, of it what was told apart while it came apart.  Out: a view.  Nothing of the customer's
stands on a label: boxes go to machine shops, too.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.model.correspondence import LabelSheet
from ...quantities import message
from ..drawings.canvas import Drawing, DrawingSheet
from ..press.frame import Framed, framed
from ..press.language import say, told
from ..press.words import place
from ..report.findings import NO_PHOTOS, Album

TITLE = message("Labels")
QUIET = 4  # modules of white round a QR code (ISO/IEC 18004)
MOST_QR = 24.0  # mm: beyond that it only takes room from the words


class BoxLabel(Struct, frozen=True):
    """One label, with its place on the sheet in mm."""

    job: str
    engine: str
    part: str
    position: str
    marks: str
    left: str
    top: str


class LabelView(Framed, frozen=True):
    subject: str
    sheets: tuple[tuple[BoxLabel, ...], ...]
    width: str
    height: str
    paper: tuple[float, float]
    code: Drawing | None
    code_size: str


def label_sheets(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> LabelView:
    """A label for the job itself, then one for each part and place that was told apart."""
    sheet = job.labels
    assert sheet is not None
    (wide, high), (width, height) = sheet.paper, sheet.size
    many = sheet.columns * sheet.rows
    labels = [_label(job, sheet, at % many, words) for at, words in enumerate(_words(job))]
    return LabelView(
        frame=framed(job, say(TITLE), f"{say(TITLE)}, {job.number}", style=_page(wide, high)),
        subject=f"{say(TITLE)}: {job.title}",
        sheets=tuple(tuple(labels[at : at + many]) for at in range(0, len(labels), many)),
        width=f"{width:.2f}",
        height=f"{height:.2f}",
        paper=(wide, high),
        code=_code(sheet.link) if sheet.link else None,
        code_size=f"{min(MOST_QR, height - 8, width / 2.5):.1f}",
    )


def _page(wide: float, high: float) -> str:
    """The paper without margins, and nothing in them."""
    edges = ("top-left", "top-right", "bottom-left", "bottom-right")
    return f"@page{{size:{wide}mm {high}mm;margin:0;{''.join(f'@{edge}{{content:none}}' for edge in edges)}}}"


def _words(job: Assessment) -> Iterator[tuple[str, str, str]]:
    """Part, position and marks of each label."""
    yield job.title, "", ""
    for entry in job.bench.register.entries:
        if entry.kind == "identity":
            marks = "; ".join(part for part in (told(entry.text), entry.orientation) if part)
            for position in entry.positions or ("",):
                yield entry.where, place(position) if position else "", marks


def _label(job: Assessment, sheet: LabelSheet, at: int, words: tuple[str, str, str]) -> BoxLabel:
    row, column = divmod(at, sheet.columns)
    left = sheet.left + column * (sheet.size[0] + sheet.across)
    top = sheet.top + row * (sheet.size[1] + sheet.down)
    return BoxLabel(job.number, job.engine.full_name, *words, left=f"{left:.2f}", top=f"{top:.2f}")


def _code(address: str) -> Drawing:
    """The address as a QR code; a quarter of it may be dirty and it is still read (level Q)."""
    import segno

    made = segno.make(address, error="q", micro=False)
    size = made.symbol_size(scale=1, border=QUIET)[0]
    sheet = DrawingSheet(size, size)
    sheet.box("qr-ground", 0, 0, size, size)
    for y, row in enumerate(made.matrix):
        for x, dark in enumerate(row):
            if dark:
                sheet.box("qr", x + QUIET, y + QUIET, x + QUIET + 1, y + QUIET + 1)
    return sheet.done(say("QR code of {address}", address=address))
