"""Further documents of a job beside its report, each with a view and a template of the same name.

To add one: a module with a function from an Assessment to a view (None where there is nothing to show) that
holds what ``sheet.html.jinja`` asks for, a template NAME.html.jinja, and a line in ``SHEETS``.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from ..assess.model import Assessment
from . import buildsheet, machiningorder, places
from .pdf import render

# file name without ending: title on a screen, view
SHEETS: dict[str, tuple[str, Callable[[Assessment], Any]]] = {
    buildsheet.NAME: (buildsheet.TITLE, buildsheet.build_sheet),
    machiningorder.NAME: (machiningorder.TITLE, machiningorder.machining_orders),
}


def sheets(one: Assessment) -> dict[str, Any]:
    """The views of the further documents that a job has something for, by name."""
    views = {name: view(one) for name, (_, view) in SHEETS.items()}
    return {name: view for name, view in views.items() if view is not None}


def links(views: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    """Title and address of each, for the contents of the report beside them."""
    return tuple((SHEETS[name][0], f"{name}.html") for name in views)


def sheet_html(
    name: str,
    view: Any,
    *,
    for_pdf: bool = False,
    assets: str = "../assets/",
    home: str = "index.html",
    pdf: str = "",
    shop: Path | None = None,
) -> str:
    """One further document as a page; ``home`` is the report that it belongs to."""
    template = places.environment(shop).get_template(f"{name}.html.jinja")
    return template.render(sheet=view, for_pdf=for_pdf, assets=assets, home=home, pdf=pdf)


def sheet_pdf(name: str, view: Any, *, made: date, shop: Path | None = None) -> bytes:
    """The same as PDF bytes.

    Raises PdfUnavailable (see pdf.py) where this machine cannot make PDFs.
    """
    return render(
        sheet_html(name, view, for_pdf=True, home="", shop=shop),
        stylesheet=places.stylesheet(shop=shop),
        base=places.own_templates(),
        allowed=[*places.folders(shop)],
        made=made,
    )
