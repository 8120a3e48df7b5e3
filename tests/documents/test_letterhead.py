"""The head of a letter: who writes to whom, where an envelope shows it, and that the public never does."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.publishing.public import public
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.documents.sheets import register
from rebuildreport.records import load_shop

from ..site.pdfua import problems
from .test_report import Page

JOBS = Path(__file__).resolve().parents[2] / "jobs"
SIX = "2026-003-orchard-six"
MM = 72 / 25.4  # points


@pytest.fixture(scope="module")
def six() -> Assessment:
    folder = load_shop(JOBS, [SIX])
    return assess_job(folder, folder.jobs[SIX])


@pytest.mark.parametrize("name", ["report", "estimate", "statement"])
def test_a_customers_document_says_who_writes_to_whom_about_what(name: str, six: Assessment) -> None:
    """What an invoice has by common practice: names and addresses, tax number, account, what it is about."""
    document = register.named(name)
    text = Page(document.html(document.view(six))).text
    head = six.letterhead
    for said in (
        six.shop, *head.address, head.telephone, head.email, head.tax_number, head.bank_account,
        head.customer, *head.customer_address, head.serial, head.plate, six.engine.maker, six.engine.model,
    ):  # fmt: skip
        assert said and said in text, said


def test_the_public_edition_has_a_head_without_a_person(six: Assessment) -> None:
    seen = public(six)
    text = Page(report_html(seen, {}, "public")).text
    head = six.letterhead
    for told in (*head.address, head.telephone, head.email, head.tax_number, head.bank_account):
        assert told not in text
    assert head.customer not in text and head.serial not in text and six.engine.model in text


def test_every_paper_is_of_the_size_that_the_shop_has(six: Assessment) -> None:
    job = replace(six, paper="Letter")
    papers = [one for one in register.DOCUMENTS if one.wanted(job) and not one.screen]
    assert len(papers) > 5
    for one in papers:
        assert "size:A4" not in one.html(one.view(job)), one.name


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_the_address_lies_behind_the_window(
    paper: Any, size: tuple[float, float], six: Assessment, pdf_renderer: object
) -> None:
    """ISO 216 and ANSI Y14.1 for the sheets; the window 45 to 90 mm from the top, 20 to 110 mm from the left
    of a sheet folded for a long envelope (MEMORY: DIN 5008 form B, DIN 680)."""
    import pypdfium2

    document = register.named("statement")
    job = replace(six, paper=paper)
    read = pypdfium2.PdfDocument(io.BytesIO(document.pdf(document.view(job), job)))
    page = read[0]
    assert (page.get_width() / MM, page.get_height() / MM) == pytest.approx(size, abs=0.1)
    words = page.get_textpage()
    for line in (six.letterhead.customer, *six.letterhead.customer_address):
        found, seen = words.search(line), []
        while place := found.get_next():
            left, bottom, _, top = words.get_charbox(place[0])
            seen.append((left / MM, size[1] - top / MM, size[1] - bottom / MM))
        # the shop may be of the same town: one of them is the customer's
        assert any(20 < left < 110 and 45 < above < below < 90 for left, above, below in seen), (line, seen)


def test_a_logo_keeps_its_room_and_has_its_words(six: Assessment, tmp_path: Path, pdf_renderer: Any) -> None:
    """Lines of the letterhead end where it begins, 40 mm from the right margin of A4; it has a text."""
    box = "<rect width='400' height='100'/>"
    mark = f"<svg xmlns='http://www.w3.org/2000/svg' width='400' height='100'>{box}</svg>"
    (tmp_path / "logo.svg").write_text(mark, "utf-8")
    one = replace(six, letterhead=replace(six.letterhead, logo="logo.svg"))
    document = register.named("statement")
    file = tmp_path / "statement.pdf"
    file.write_bytes(document.pdf(document.view(one), one, tmp_path))
    assert problems(file) == []
    with pdfium.PdfDocument(file) as pdf:
        page = pdf[0].get_textpage()
        boxes = [page.get_rect(i) for i in range(page.count_rects())]
    top = [right for _, bottom, right, _ in boxes if bottom > (297 - 34) * MM]
    assert len(top) >= 3 and max(top) <= (210 - 18 - 40) * MM


@pytest.mark.parametrize(("tongue", "word"), [("en", "page"), ("de", "Seite")])
def test_a_browser_numbers_the_pages_in_their_language(tongue: str, word: str, six: Assessment) -> None:
    report = register.named("report")
    one = replace(six, language=tongue)
    assert f'@bottom-right{{content:"{word} " counter(page)' in report.html(report.view(one))
