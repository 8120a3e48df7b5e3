"""A document as HTML and as PDF; the report in two editions.

In: a view that is finished, or an Assessment and its photos.  Out: text and bytes.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...quantities import Text
from ..press import places, templating
from ..press.frame import Framed
from ..press.language import language, page_numbers, speaking, told
from ..press.letterhead import logo_address
from ..press.pdf import Paper
from ..press.photos import Prepared
from .findings import Album, on_paper
from .view import Edition, report


def page(
    template: str,
    view: Framed,
    *,
    for_pdf: bool = False,
    assets: str = "../assets/",
    home: str = "index.html",
    pdf: str = "",
    further: Sequence[tuple[Text, str]] = (),
    shop: Path | None = None,
    url: str = "",
    image: str = "",
) -> str:
    """A document as one HTML page, in the language of its view.

    ``assets`` is the relative address of the stylesheets, ``home`` of the page that it belongs to ("" for
    none), ``pdf`` of the same document as a PDF ("" where none was made), ``further`` title and address of
    each document beside it; ``shop`` is the folder whose templates come first; ``url`` is where the page
    stands for good ("" where nobody knows), ``image`` the address of a picture for whoever passes that on.
    """
    found = templating.environment(shop).get_template(f"{template}.html.jinja")
    with speaking(language(view.frame.lang, shop)):
        beside = [(told(title), address) for title, address in further]
        return found.render(
            sheet=view,
            for_pdf=for_pdf,
            assets=assets,
            home=home,
            pdf=pdf,
            further=beside,
            logo=logo_address(view.frame.letter, shop),
            url=url,
            image=image,
        )


def printed(
    template: str, view: Framed, job: Assessment, shop: Path | None = None, photo_folder: Path | None = None
) -> Paper:
    """A document as it goes to the renderer, dated as the job stands.

    ``photo_folder`` is where the photos of its album are, whose base is ``PRINTED``.
    """
    return Paper(
        page(template, view, for_pdf=True, home="", shop=shop),
        stylesheet=places.stylesheet(shop=shop) + page_numbers(language(view.frame.lang, shop)),
        base=places.own_templates(),
        allowed=places.folders(shop),
        made=job.as_of,
        attachments=view.frame.carries,
        photos=photo_folder,
    )


def report_html(
    job: Assessment,
    photos: Mapping[str, Prepared],
    edition: Edition = "shop",
    *,
    photo_base: str = "photos/",
    home: str = "../index.html",
    pdf: str = "report.pdf",
    further: Sequence[tuple[Text, str]] = (),
    shop: Path | None = None,
    url: str = "",
    image: str = "",
) -> str:
    """The report as one HTML page, in the language of the job.

    ``photos`` are prepared photos by their name in the records, found at ``photo_base``.  Raises
    UnknownLanguage where there is no catalogue of the job's language.
    """
    with speaking(language(job.language, shop)):
        view = report(job, Album(photos, photo_base), edition)
    return page("report", view, home=home, pdf=pdf, further=further, shop=shop, url=url, image=image)


def printed_report(
    job: Assessment,
    photos: Mapping[str, Prepared],
    edition: Edition = "shop",
    *,
    photo_folder: Path,
    shop: Path | None = None,
) -> Paper:
    """The report of one edition as it goes to the renderer; raises as ``report_html`` does."""
    with speaking(language(job.language, shop)):
        view = report(job, on_paper(photos), edition)
    return printed("report", view, job, shop, photo_folder)
