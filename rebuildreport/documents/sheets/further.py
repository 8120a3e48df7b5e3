"""The register of further documents of a job, beside its report.

To add one: a module with a view of an Assessment that holds what ``sheet.html.jinja`` asks for (``Framed``),
a template, and a line in ``REGISTER``.  ``publish`` writes each as page and PDF and links it on the report of
the shop edition; ``issue`` can freeze what its own register names.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from ...assess.model.assessment import Assessment
from ..press import places, templating
from ..press.frame import Framed
from ..press.language import language, speaking
from ..press.pdf import render
from ..report.findings import NO_PHOTOS, Album
from . import benchsheet, buildsheet, estimate, machiningorder, purchaselist, teardownsheet


class View(Protocol):
    """Makes a document: in the job's language, with the shop's texts and the photos of an album."""

    def __call__(self, one: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, /) -> Framed: ...


@dataclass(frozen=True, slots=True)
class FurtherSheet:
    """One further document."""

    name: str
    title: str  # of the link that leads to it
    template: str
    wanted: Callable[[Assessment], bool]  # whether a job has it by now
    view: View

    def file(self, view: Framed) -> str:
        """Name of its files, without ending."""
        return f"{self.name}-{view.of}" if view.of else self.name


def _without_photos(view: Callable[[Assessment, Path | None], Framed]) -> View:
    return lambda one, shop=None, album=NO_PHOTOS, /: view(one, shop)


REGISTER = (
    FurtherSheet(
        "teardown-sheet",
        "Teardown sheet",
        "teardown-sheet",
        teardownsheet.is_known,
        teardownsheet.teardown_sheet,
    ),
    FurtherSheet("estimate", "Estimate", "estimate", estimate.is_priced, _without_photos(estimate.estimate)),
    FurtherSheet(
        "statement", "Final statement", "estimate", estimate.is_done, _without_photos(estimate.statement)
    ),
    FurtherSheet(
        "purchase-list",
        "Purchase list",
        "purchase-list",
        purchaselist.is_bought,
        _without_photos(purchaselist.purchase_list),
    ),
    FurtherSheet(
        "build-sheet",
        "Build sheet",
        "build-sheet",
        buildsheet.is_built,
        _without_photos(buildsheet.build_sheet),
    ),
    FurtherSheet(
        "machining-order",
        "Machining order",
        "machining-order",
        machiningorder.is_ordered,
        _without_photos(machiningorder.machining_orders),
    ),
    FurtherSheet(
        "bench-sheet",
        "Bench sheet",
        "bench-sheet",
        benchsheet.is_due,
        _without_photos(benchsheet.bench_sheet),
    ),
)


def sheets(one: Assessment) -> tuple[FurtherSheet, ...]:
    """The further documents that a job has by now."""
    return tuple(sheet for sheet in REGISTER if sheet.wanted(one))


def named(name: str) -> FurtherSheet:
    """One document by its name.

    >>> named("statement").title
    'Final statement'
    """
    return next(sheet for sheet in REGISTER if sheet.name == name)


def sheet_html(
    sheet: FurtherSheet,
    view: Framed,
    *,
    for_pdf: bool = False,
    assets: str = "../assets/",
    home: str = "index.html",
    pdf: str = "",
    shop: Path | None = None,
) -> str:
    """One further document as a page; ``home`` is the report that it belongs to ("" for none)."""
    template = templating.environment(shop).get_template(f"{sheet.template}.html.jinja")
    with speaking(language(view.lang, shop)):
        return template.render(sheet=view, for_pdf=for_pdf, assets=assets, home=home, pdf=pdf)


def sheet_pdf(
    sheet: FurtherSheet,
    view: Framed,
    one: Assessment,
    shop: Path | None = None,
    photo_folder: Path | None = None,
) -> bytes:
    """The same as PDF bytes, dated as the job stands.

    ``photo_folder`` is where the photos of its album are, whose base is
    ``PRINTED``.  Raises PdfUnavailable (see pdf.py) where this machine cannot
    make PDFs.
    """
    return render(
        sheet_html(sheet, view, for_pdf=True, home="", shop=shop),
        stylesheet=places.stylesheet(shop=shop),
        base=places.own_templates(),
        allowed=[*places.folders(shop)],
        made=one.as_of,
        attachments=view.carries,
        photos=photo_folder,
    )
