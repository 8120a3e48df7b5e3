"""The report as HTML and as PDF, in two editions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.publishing.results import extract
from ..press import places, templating
from ..press.language import language, page_numbers, speaking
from ..press.pdf import Attached, render
from ..press.photos import Prepared
from .findings import PRINTED, Album
from .view import Edition, report


def report_html(
    assessment: Assessment,
    photos: Mapping[str, Prepared],
    edition: Edition = "shop",
    *,
    for_pdf: bool = False,
    assets: str = "../assets/",
    photo_base: str = "photos/",
    home: str = "../index.html",
    pdf: str = "report.pdf",
    revision: str = "",
    further: Sequence[tuple[str, str]] = (),
    shop: Path | None = None,
) -> str:
    """The report as one HTML page.

    ``photos`` are prepared photos by their name in the records, found at
    ``photo_base``; ``assets`` is the relative address of the stylesheets,
    ``home`` of the index ("" for none), ``pdf`` of the same report as a PDF
    ("" where none was made), ``further`` title and address of each document
    beside it; ``shop`` is the folder whose templates come first.  The page is in
    the language of the job; raises UnknownLanguage where there is no catalogue of it.
    """
    template = templating.environment(shop).get_template("report.html.jinja")
    with speaking(language(assessment.language, shop)):
        view = report(assessment, Album(photos, photo_base), edition, revision, printed=for_pdf)
        return template.render(
            report=view, sheet=view, for_pdf=for_pdf, assets=assets, home=home, pdf=pdf, further=further
        )


def report_pdf(
    assessment: Assessment,
    photos: Mapping[str, Prepared],
    edition: Edition = "shop",
    *,
    photo_folder: Path,
    results: bytes | None = None,
    revision: str = "",
    shop: Path | None = None,
) -> bytes:
    """The report as PDF/A-3 bytes, with the extract it rests on inside, and ``results.json`` where given.

    Raises PdfUnavailable (see pdf.py) where this machine cannot make PDFs.
    """
    html = report_html(
        assessment,
        photos,
        edition,
        for_pdf=True,
        photo_base=PRINTED,
        home="",
        pdf="",
        revision=revision,
        shop=shop,
    )
    attachments = [
        Attached(
            "extract.json", extract(assessment), "Readings, findings, limits and instruments of this report"
        )
    ]
    if results is not None:
        attachments.append(Attached("results.json", results, "Computed results of this report"))
    return render(
        html,
        stylesheet=places.stylesheet(shop=shop) + page_numbers(language(assessment.language, shop)),
        base=places.own_templates(),
        allowed=[places.own_templates(), *places.folders(shop)],
        made=assessment.as_of,
        attachments=attachments,
        photos=photo_folder,
    )
