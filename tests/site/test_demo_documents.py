"""The published demo as its readers meet it: the PDF read by another library, the site in a real browser."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest

from rebuildreport.site.publishing import publish

from .conftest import DEMO, FOUR, SIX


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory, pdf_renderer: Any) -> Path:
    """The whole demo with its PDFs."""
    folder = tmp_path_factory.mktemp("demo") / "site"
    result = publish(DEMO, folder)
    assert result.exit_status == 0, result.messages
    return folder


@pytest.fixture(scope="module")
def pages(site: Path) -> list[str]:
    """The words of every page of the orchard six's report."""
    return read(site / "shop" / SIX / "report.pdf")


def read(path: Path) -> list[str]:
    """The words of every page of a PDF, in reading order, blanks folded."""
    document = pypdfium2.PdfDocument(path)
    try:
        return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in document]
    finally:
        document.close()


def page_with(pages: list[str], heading: str) -> str:
    """Everything from the page on which a section begins to the one on which the next begins."""
    heads = ("Findings", "What was decided and done", "Parts and cost", "What comes next")
    start = next(i for i, text in enumerate(pages) if heading in text)
    end = next(
        (i for i, text in enumerate(pages) if i > start and any(h in text for h in heads if h != heading)),
        start + 1,
    )
    return " ".join(pages[start : end + 1])


def test_page_one_answers(pages: list[str]) -> None:
    """What broke, what was done, what it cost and what is needed: all on the first page."""
    first = pages[0]
    for words in (
        "No. 4 main bearing ran without an oil film",  # what broke
        "The crankshaft was ground",  # what was done
        "7513.08 EUR",  # what it cost
        "What we ask of you",
        "Oil pressure lamp at idle",  # the complaint
        "beyond limit",
        "V1 Main journals M6",  # what was accepted
    ):
        assert words in first, words


@pytest.mark.parametrize(
    ("section", "words"),
    [
        # why it broke
        ("Findings", ["oil pressure lost, most likely through the worn pump", "0.206"]),
        # what was done, and why
        (
            "What was decided and done",
            ["M4 with its scores leaves too little stock at 0.25"],
        ),
        # what it cost
        ("Parts and cost", ["LK98", "2491.90", "1252.18", "7513.08", "7553.08", "7600.00"]),
        # what comes next, and the cautions that go with it
        ("What comes next", ["every 250 hours", "Change oil and filter", "Cautions", "service information"]),
        # how sure we are
        ("What was decided and done", ["Used although not surely", "V1"]),
    ],
)
def test_each_question_is_answered_in_its_section(pages: list[str], section: str, words: list[str]) -> None:
    text = page_with(pages, section)
    for word in words:
        assert word in text, word


def test_how_sure_we_are(site: Path) -> None:
    record = " ".join(read(site / "shop" / SIX / "measurement-record.pdf"))
    assert "1.645 standard uncertainties" in record and "ISO 14253-1" in record
    for words in ("Micrometer", "75 to 100 mm", "0.003 mm", "10 September 2026"):
        assert words in record, words


def test_every_page_says_whose_and_where_it_is(pages: list[str]) -> None:
    for number, text in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in text
        assert "Tarnbeck OD6-54" in text
        assert "Invented demonstration" in text


def test_pdf_is_tagged_and_carries_its_results(site: Path) -> None:
    with pikepdf.open(site / "shop" / SIX / "report.pdf") as document:
        assert document.Root.MarkInfo.Marked
        assert str(document.Root.Lang) == "en"
        assert set(document.attachments) >= {"results.json", "extract.json"}
        with document.open_outline() as outline:
            titles = [item.title for item in outline.root]
        assert any("Findings" in title for title in titles)
        extract = document.attachments["extract.json"].get_file().read_bytes()
        assert b"7513.08" not in extract
    with pikepdf.open(site / "public" / SIX / "report.pdf") as document:
        for name in document.attachments:
            assert b"168.00" not in document.attachments[name].get_file().read_bytes()


PAGES = [
    "shop/index.html",
    "public/index.html",
    f"shop/{SIX}/index.html",
    f"shop/{FOUR}/index.html",
    f"public/{SIX}/index.html",
    "shop/engines/tarnbeck-od6-54.html",
    "shop/specimen/index.html",
]


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_pages_fit_without_javascript_from_a_local_file(site: Path, chromium: Any, width: int) -> None:
    context = chromium.new_context(java_script_enabled=False, viewport={"width": width, "height": 900})
    failed: list[str] = []
    page = context.new_page()
    page.on("requestfailed", lambda request: failed.append(request.url))
    page.on("request", lambda request: request.url.startswith("file:") or failed.append(request.url))
    for name in PAGES:
        page.goto((site / name).as_uri())
        wide = page.locator("html").evaluate("e => e.scrollWidth")
        assert wide <= width, f"{name} is {wide} px wide at {width}"
        for picture in page.locator("img").all():
            assert picture.get_attribute("alt"), f"{name}: a picture without a text alternative"
    assert failed == []
    context.close()


def test_links_lead_somewhere(site: Path) -> None:
    for name in PAGES:
        page = site / name
        text = page.read_text(encoding="utf-8")
        ids = set(re.findall(r'\bid="([^"]+)"', text))
        for link in re.findall(r'(?:href|src)="([^"]+)"', text):
            path, _, fragment = link.partition("#")
            assert not path.startswith(("http:", "https:", "//", "file:")), link
            target = (page.parent / path).resolve() if path else page
            assert target.exists(), f"{name}: {link}"
            if fragment and not path:
                assert fragment in ids, f"{name}: #{fragment}"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_serious_for_people_who_cannot_see_or_point(site: Path, chromium: Any, scheme: str) -> None:
    """axe-core's rules (WCAG 2.2 A and AA among them): no violation that it calls serious or critical.

    In the dark only the colours are others.
    """
    from axe_playwright_python.sync_playwright import Axe

    found: list[str] = []
    for name in PAGES:
        for width in (1280, 390) if name == PAGES[2] and scheme == "light" else (1280,):
            page = chromium.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
            page.goto((site / name).as_uri())
            rules = {"runOnly": ["color-contrast"]} if scheme == "dark" else {}
            for one in Axe().run(page, options=rules).response["violations"]:
                if one["impact"] in ("serious", "critical"):
                    where = one["nodes"][0]
                    found.append(f"{name} {width}: {one['id']}: {where['target']} {where['html'][:200]}")
            page.close()
    assert found == []


@pytest.mark.parametrize("width", [320, 390, 640, 1280, 1900])
def test_no_page_is_wider_than_its_window(site: Path, chromium: Any, width: int) -> None:
    """320 is what a window of 1280 shows at 400 per cent (WCAG 1.4.10); wide tables scroll in themselves."""
    every = sorted(str(path.relative_to(site)) for path in site.rglob("*.html"))
    assert {*PAGES, f"shop/{SIX}/build-sheet.html", f"shop/{SIX}/teardown-sheet.html"} <= {*every}
    for name in every if width == 320 else PAGES:
        page = chromium.new_page(viewport={"width": width, "height": 900})
        page.goto((site / name).as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        page.close()


def test_printed_from_a_browser_page_one_answers_and_letters_go_with_their_photos(
    site: Path, chromium: Any
) -> None:
    page = chromium.new_page(viewport={"width": 1000, "height": 900})
    page.goto((site / "shop" / SIX / "index.html").as_uri())
    page.emulate_media(media="print")
    apart = page.evaluate(
        """() => [...document.querySelectorAll('.fig')].filter(f => f.querySelector('.over')).map(f => {
            const [a, b] = ['img', '.over'].map(s => f.querySelector(s).getBoundingClientRect());
            return Math.max(Math.abs(a.width - b.width), Math.abs(a.height - b.height),
                            Math.abs(a.left - b.left), Math.abs(a.top - b.top)); })"""
    )
    assert apart and max(apart) < 1.5, apart
    first = pypdfium2.PdfDocument(page.pdf(format="A4", prefer_css_page_size=True))[0]
    text = re.sub(r"\s+", " ", first.get_textpage().get_text_range())
    assert "7513.08 EUR" in text and "Every other reading that has a limit" in text
    page.close()
