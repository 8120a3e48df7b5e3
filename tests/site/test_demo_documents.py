"""The published demo as its readers meet it: the PDF read by another library, the site in a real browser."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest
from msgspec.structs import replace

from rebuildreport.assess import assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.model.assessment import DueRound
from rebuildreport.documents.sheets import register
from rebuildreport.records import load_shop
from rebuildreport.site.making import work
from rebuildreport.site.publishing import publish

from .. import SMALL_JOBS
from ..seeing import kept_out
from . import pdfa, pdfua
from .conftest import DEMO, FOUR, SIX, TRACTOR, quick, some_of_demo

OPEN = "2026-017-allotment-pump"  # whose owner has a way to choose

# of the twin cam what it says otherwise than the six; the public record is the shop's with less in it
PRINTED_OF_FOUR = {"report.pdf", "statement.pdf"}


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory, pdf_renderer: Any) -> Path:
    """The demo's two large jobs, with each kind of PDF."""
    folder = tmp_path_factory.mktemp("demo") / "site"
    shop = folder.parent / "shop"
    shutil.copytree(DEMO, shop, ignore=shutil.ignore_patterns(*SMALL_JOBS))
    each = work._papers

    def some(desk: Any, one: Any, known: Any) -> Iterator[Any]:
        for edition, file, paper in each(desk, one, known):
            if (
                desk.job.name == SIX and (edition == "shop" or file == "report.pdf")
            ) or file in PRINTED_OF_FOUR:
                yield edition, file, paper

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(work, "_papers", some)
        result = publish(shop, folder)
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
    heads = ("Findings", "Measurements and decisions", "Parts and cost", "What comes next")
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
        "What we need from you",
        "Oil pressure lamp at idle",  # the complaint
        "beyond limit",
        "V1 Main journals M6",  # what was accepted
    ):
        assert words in first, words


def test_a_report_is_short_and_has_no_empty_page(site: Path, pages: list[str]) -> None:
    """8 to 12 pages for the six, at most 8 for the twin cam; on none only a few lines."""
    four = read(site / "shop" / FOUR / "report.pdf")
    assert 8 <= len(pages) <= 12 and len(four) <= 8
    for found in (pages, four):
        assert all(len(text) > 900 for text in found), [len(text) for text in found]


def test_the_report_can_be_mailed_with_its_pictures(site: Path) -> None:
    """At most 2 MB; each picture has 300 dots to an inch of its 2.18 in, common practice of print."""
    path = site / "shop" / SIX / "report.pdf"
    assert path.stat().st_size <= 2_000_000
    with pikepdf.open(path) as pdf:
        images = {name: image for page in pdf.pages for name, image in page.get_images().items()}
        wide = [int(image.Width) for image in images.values()]
    assert len(wide) >= 8 and min(wide) >= 2.18 * 300, wide


@pytest.mark.parametrize(
    ("section", "words"),
    [
        # why it broke
        ("Findings", ["oil pressure lost, most likely through the worn pump", "0.206"]),
        # what was done, and why
        (
            "Measurements and decisions",
            ["M4 with its scores leaves too little stock at 0.25"],
        ),
        # what it cost
        ("Parts and cost", ["LK98", "2491.90", "1252.18", "7513.08", "7553.08", "7600.00"]),
        # what comes next, and the cautions that go with it
        ("What comes next", ["every 250 hours", "Change oil and filter", "Cautions", "service information"]),
        # how sure we are
        ("Measurements and decisions", ["Used although not surely", "V1"]),
    ],
)
def test_each_question_is_answered_in_its_section(pages: list[str], section: str, words: list[str]) -> None:
    text = page_with(pages, section)
    for word in words:
        assert word in text, word


def test_how_sure_we_are(site: Path) -> None:
    record = " ".join(read(site / "shop" / SIX / "measurement-record.pdf"))
    assert "1.645 standard uncertainties" in record and "ISO 14253-1" in record
    for words in ("Micrometer", "75 to 100 mm", "0.003 mm", "10 September 2027"):
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


def test_every_pdf_is_for_everybody(site: Path) -> None:
    """What ISO 14289-1 and ISO 19005-3 ask, as far as a program can check; pdfua and pdfa list it."""
    files = sorted(site.rglob("*.pdf"))
    wanted = {"report.pdf", "statement.pdf", "build-sheet.pdf", "machining-order.pdf"}
    assert wanted <= {file.name for file in files}
    found = {
        f"{file.parent.name}/{file.name}": [*pdfua.problems(file), *pdfa.problems(file)] for file in files
    }
    assert not {name: problems for name, problems in found.items() if problems}


def test_a_bench_sheet_is_for_everybody(pdf_renderer: Any, tmp_path: Path) -> None:
    """As the others, of a round that asks for everything that the engine's sheet has."""
    folder = load_shop(DEMO, [TRACTOR])
    job = replace(folder.jobs[TRACTOR], rounds={})
    one = assess_job(folder, job)
    one = replace(one, due=DueRound("arrival", due(folder, job, one)))
    sheet = register.named("bench-sheet")
    file = tmp_path / "bench-sheet.pdf"
    file.write_bytes(sheet.pdf(sheet.view(one), one))
    assert [*pdfua.problems(file), *pdfa.problems(file)] == []


PAGES = [
    "shop/index.html",
    "public/index.html",
    f"shop/{SIX}/index.html",
    f"shop/{FOUR}/index.html",
    f"public/{SIX}/index.html",
    "shop/engines/tarnbeck-od6-54.html",
    "shop/specimen/index.html",
]


def test_no_head_of_a_price_table_is_broken_within_a_word(site: Path) -> None:
    priced = [path for path in site.rglob("*.pdf") if path.stem in ("report", "estimate", "statement")]
    assert len(priced) > 3
    for path in priced:
        heads = [text for text in read(path) if "because (finding)" in text]
        assert heads and all("quantity" in text for text in heads), path


def test_no_text_leaves_its_page_or_lies_over_another(site: Path) -> None:
    """Every printed line stands between the margins, 9 mm at least, and on ground of its own."""
    for path in sorted(site.rglob("*.pdf")):
        if path.name == "labels.pdf":  # those stand where the adhesive sheet has them
            continue
        for number, page in enumerate(pypdfium2.PdfDocument(path), 1):
            text, width = page.get_textpage(), page.get_width()
            lines = [text.get_rect(i) for i in range(text.count_rects())]
            out = [text.get_text_bounded(*line) for line in lines if line[0] < 25 or line[2] > width - 25]
            over = [
                (text.get_text_bounded(*one), text.get_text_bounded(*other))
                for one, other in combinations(lines, 2)
                if min(one[2], other[2]) - max(one[0], other[0]) > 1.5
                and min(one[3], other[3]) - max(one[1], other[1])
                > 0.45 * min(one[3] - one[1], other[3] - other[1])
            ]
            assert (out, over) == ([], []), f"{path.name}, page {number}"


def test_no_rule_stands_alone_at_the_top_of_a_page(site: Path) -> None:
    """What parts two blocks ends the first of them: the next may begin a page."""
    seen, mm = 0, 2 * 72 / 25.4
    for name in ("report", "measurement-record", "machining-order"):
        for path in sorted((site / "shop").glob(f"*/{name}.pdf")):
            for number, page in enumerate(pypdfium2.PdfDocument(path), 1):
                ink = page.render(scale=2).to_numpy().min(axis=2) < 200
                rows = [row for row in range(round(25 * mm), len(ink)) if ink[row].any()]
                ends = next(row for row in range(rows[0], len(ink)) if not ink[row].any())
                line = ends - rows[0] < mm and ink[rows[0] : ends].any(axis=0).sum() > 150 * mm
                assert not line or number == 1, f"{path.parent.name}, {name}, page {number}"
                seen += 1
    assert seen > 30


def test_pages_fit_without_javascript_from_a_local_file(site: Path, chromium: Any) -> None:
    context = chromium.new_context(java_script_enabled=False)
    failed: list[str] = []
    page = context.new_page()
    page.on("requestfailed", lambda request: failed.append(request.url))
    page.on("request", lambda request: request.url.startswith("file:") or failed.append(request.url))
    for name in PAGES:
        page.goto((site / name).as_uri())
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 900})
            wide = page.locator("html").evaluate("e => e.scrollWidth")
            assert wide <= width, f"{name} is {wide} px wide at {width}"
        for picture in page.locator("img").all():
            assert picture.get_attribute("alt"), f"{name}: a picture without a text alternative"
    assert failed == []
    context.close()


def test_no_markup_of_ours_is_printed_as_text(site: Path) -> None:
    shown = [page.name for page in site.rglob("*.html") if re.search("&lt;/?[a-z]", page.read_text("utf-8"))]
    assert shown == []


def test_links_lead_somewhere(site: Path) -> None:
    for name in PAGES:
        page = site / name
        text = page.read_text(encoding="utf-8")
        ids = set(re.findall(r'\bid="([^"]+)"', text))
        shown = re.sub(r'<(?:link rel="(?:canonical|alternate)"|meta) [^>]*>', "", text)
        for link in re.findall(r'(?:href|src)="([^"]+)"', shown):
            path, _, fragment = link.partition("#")
            assert not path.startswith(("http:", "https:", "//", "file:")), link
            target = (page.parent / path).resolve() if path else page
            assert target.exists(), f"{name}: {link}"
            if fragment and not path:
                assert fragment in ids, f"{name}: #{fragment}"


def kinds_of_page(site: Path, job: str = SIX) -> list[Path]:
    """A page of each kind in each edition: documents of a job, where it has them, one of lists and texts."""
    kinds: dict[tuple[str, ...], Path] = {}
    for path in sorted(site.rglob("*.html"), key=lambda path: (job not in path.parts, path)):
        *folders, name = ("job" if part in (SIX, FOUR) else part for part in path.relative_to(site).parts)
        alike = {"lists", "engines", "pages"} & {*folders}
        if name != "404.html":  # a server shows it at any address: its stylesheets stand where the site does
            kinds.setdefault((*folders, "" if alike else name), path)
    return [*kinds.values()]


def test_nothing_in_the_way_of_people_who_cannot_see_or_point(site: Path, chromium: Any) -> None:
    """Of every kind of page the smaller job's; of the larger one the longest two, on a desk alone."""
    found: list[str] = []
    page = chromium.new_page()
    small = {*kinds_of_page(site, FOUR)}
    large = {site / "shop" / SIX / name for name in ("index.html", "measurement-record.html")}
    for path in sorted(small | large):
        page.emulate_media(color_scheme="light")
        page.goto(path.as_uri())
        found += [f"{path.name}, {one}" for one in kept_out(page, on_phones=path in small)]
    page.close()
    assert found == []


def longest_word(page: Path) -> int:
    """Of its headings: how many letters it has."""
    heads = re.findall(r"<h[1-3][^>]*>(.*?)</h[1-3]>", page.read_text("utf-8"), re.S)
    return max(len(word) for head in heads for word in re.sub(r"<[^>]*>", " ", head).split())


def test_no_page_is_wider_than_its_window(site: Path, chromium: Any) -> None:
    """320 is what a window of 1280 shows at 400 per cent (WCAG 1.4.10); wide tables scroll in themselves.

    Of the lists of an edition, which are thirty pages of the same entries, the one with the longest word in
    a heading.
    """
    lists = {folder: [*folder.glob("*.html")] for folder in site.glob("*/lists")}
    assert len(lists) == 2 and all(len(pages) > 10 for pages in lists.values())
    alone = [max(pages, key=longest_word) for pages in lists.values()]
    others = [path for path in site.rglob("*.html") if path.parent not in lists]
    every = sorted(str(path.relative_to(site)) for path in (*others, *alone))
    assert {*PAGES, f"shop/{SIX}/build-sheet.html", f"shop/{SIX}/teardown-sheet.html"} <= {*every}
    page = chromium.new_page()
    for name in every:
        page.goto((site / name).as_uri())
        for width in (1900, 1280, 640, 390, 320) if name in PAGES else (320,):
            page.set_viewport_size({"width": width, "height": 900})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, f"{name} at {width}"
    page.set_viewport_size({"width": 800, "height": 900})
    page.goto((site / "shop" / SIX / "machining-order.html").as_uri())  # the most allowed is not out of sight
    cut = "all => all.filter(table => table.offsetWidth > table.parentElement.clientWidth).length"
    assert page.locator(".must").evaluate_all(cut) == 0
    page.close()


def words_of(pdf: bytes | Path) -> list[str]:
    """The words of each page."""
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pypdfium2.PdfDocument(pdf)]


def test_a_browser_prints_what_the_pdf_holds(site: Path, chromium: Any) -> None:
    """Every word of one stands in the other, heads and feet on every page; letters lie on their photos."""
    page = chromium.new_page(viewport={"width": 1000, "height": 900})
    for path in sorted((site / "shop" / SIX).glob("*.html")):
        page.goto(path.as_uri())
        own = words_of(path.with_name("report.pdf" if path.stem == "index" else f"{path.stem}.pdf"))
        printed = words_of(page.pdf(prefer_css_page_size=True))
        for some, other in ((own, printed), (printed, own)):
            # where a line is broken may differ, and a reference to a page is one on paper alone
            whole = re.sub(r"[^\w]", "", "".join(other))
            lost = {word for word in re.findall(r"[^\W\d_]{3,}", " ".join(some)) if word not in whole}
            assert lost - {"page"} == set(), path.name
        for number, text in enumerate(printed, 1) if path.stem != "labels" else ():  # they fill their sheet
            assert f"page {number} of {len(printed)}" in text and "Old Mill Engine Works" in text, path.name
        if path.stem in ("index", "statement"):  # letters: one head on the first, no line alone on the last
            assert "Job 2026" not in printed[0] and "Job 2026" in printed[-1], path.name
            assert len(printed[-1].split()) > 60, path.name
    page.goto((site / "shop" / SIX / "index.html").as_uri())
    page.emulate_media(media="print")
    photos = page.evaluate(
        """() => [...document.querySelectorAll('.fig')].filter(f => f.querySelector('.over')).map(f => {
            const [a, b] = ['img', '.over'].map(s => f.querySelector(s).getBoundingClientRect());
            return [a.width, Math.max(Math.abs(a.width - b.width), Math.abs(a.height - b.height),
                            Math.abs(a.left - b.left), Math.abs(a.top - b.top))]; })"""
    )
    assert photos and min(width for width, _ in photos) > 120  # pixels: three centimetres
    assert max(apart for _, apart in photos) < 1.5
    page.close()


def test_on_a_phone_ways_stand_one_below_the_other_and_no_label_lies_on_another(
    site: Path, chromium: Any, tmp_path: Path
) -> None:
    quick(some_of_demo(tmp_path / "open", OPEN), tmp_path / "out")
    page = chromium.new_page(viewport={"width": 390, "height": 900})
    page.goto((tmp_path / "out" / "shop" / OPEN / "estimate.html").as_uri())
    heads = page.evaluate(
        "() => [...document.querySelectorAll('.options thead th')].map(e => e.getBoundingClientRect().top)"
    )
    assert len(heads) == 3 and heads == sorted(heads) and heads[2] - heads[0] > 100
    told = []
    for path in [*kinds_of_page(site), tmp_path / "out" / "shop" / OPEN / "index.html"]:
        page.goto(path.as_uri())
        # of words: rows one below the other, each value but the first behind the head of its column
        wide, unnamed, kinds = page.evaluate(
            """() => [
                [...document.querySelectorAll('.scroll:has(>.stacked,>.options)')]
                    .filter(e => e.scrollWidth > e.clientWidth).map(e => e.getAttribute('aria-label')),
                [...document.querySelectorAll('.stacked td')].filter(e => e.cellIndex && e.textContent)
                    .filter(e => e.dataset.of !== e.closest('table').rows[0].cells[e.cellIndex].textContent)
                    .map(e => e.textContent),
                [...document.querySelectorAll('.stacked')].map(e => e.className)]"""
        )
        assert (wide, unnamed) == ([], []), path.name
        told += kinds
        # letters of two labels, less the air above and below them
        overprinted = page.evaluate(
            """() => [...document.querySelectorAll('svg.drawing')].flatMap(drawing => {
                const labels = [...drawing.querySelectorAll('text')].map(e => [e, e.getBoundingClientRect()]);
                return labels.flatMap(([e, a], i) => labels.slice(i + 1).filter(([_, b]) =>
                    Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
                    Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.35 * a.height
                ).map(([o]) => `${e.textContent} on ${o.textContent}`)); })"""
        )
        assert overprinted == [], path.name
    for kind in ("decided", "basis", "purchases"):
        assert f"plain {kind} stacked" in told, kind
    page.close()
