"""The register of further documents of a job, beside its report.

To add one: a module with a view of an Assessment that holds what ``sheet.html.jinja`` asks for (``Framed``),
a template, and a line in ``REGISTER``.  ``publish`` writes each as page and PDF and links it on the report of
the shop edition; ``issue`` can freeze what its own register names.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from ..assess.model import Assessment
from ..quantities.dataclass import dataclass
from . import bench_sheet, buildsheet, estimate, machiningorder, places, purchases
from .frame import Framed
from .pdf import render


@dataclass(frozen=True, slots=True)
class Sheet:
    """One further document."""

    name: str
    title: str  # of the link that leads to it
    template: str
    wanted: Callable[[Assessment], bool]  # whether a job has it by now
    # the path is that of the shop's folder, for its own texts
    view: Callable[[Assessment, Path | None], Framed]

    def file(self, view: Framed) -> str:
        """Name of its files, without ending."""
        return f"{self.name}-{view.of}" if view.of else self.name


REGISTER = (
    Sheet("estimate", "Estimate", "estimate", estimate.is_priced, estimate.estimate),
    Sheet("statement", "Final statement", "estimate", estimate.is_done, estimate.statement),
    Sheet("purchase-list", "Purchase list", "purchase-list", purchases.is_bought, purchases.purchase_list),
    Sheet("build-sheet", "Build sheet", "build-sheet", buildsheet.is_built, buildsheet.build_sheet),
    Sheet(
        "machining-order",
        "Machining order",
        "machining-order",
        machiningorder.is_ordered,
        machiningorder.machining_orders,
    ),
    Sheet("bench-sheet", "Bench sheet", "bench-sheet", bench_sheet.is_due, bench_sheet.bench_sheet),
)


def sheets(one: Assessment) -> tuple[Sheet, ...]:
    """The further documents that a job has by now."""
    return tuple(sheet for sheet in REGISTER if sheet.wanted(one))


def named(name: str) -> Sheet:
    """One document by its name.

    >>> named("statement").title
    'Final statement'
    """
    return next(sheet for sheet in REGISTER if sheet.name == name)


def sheet_html(
    sheet: Sheet,
    view: Framed,
    *,
    for_pdf: bool = False,
    assets: str = "../assets/",
    home: str = "index.html",
    pdf: str = "",
    shop: Path | None = None,
) -> str:
    """One further document as a page; ``home`` is the report that it belongs to ("" for none)."""
    template = places.environment(shop).get_template(f"{sheet.template}.html.jinja")
    return template.render(sheet=view, for_pdf=for_pdf, assets=assets, home=home, pdf=pdf)


def sheet_pdf(sheet: Sheet, view: Framed, one: Assessment, shop: Path | None = None) -> bytes:
    """The same as PDF bytes, dated as the job stands.

    Raises PdfUnavailable (see pdf.py) where this machine cannot make PDFs.
    """
    return render(
        sheet_html(sheet, view, for_pdf=True, home="", shop=shop),
        stylesheet=places.stylesheet(shop=shop),
        base=places.own_templates(),
        allowed=[*places.folders(shop)],
        made=one.as_of,
        attachments=view.carries,
    )
