"""The report as HTML and PDF, read back by other libraries: html.parser, pypdfium2 and pikepdf."""

from __future__ import annotations

import io
import json
import re
from html.parser import HTMLParser

import pytest
from msgspec.structs import replace

from rebuildreport.assess.model.assessment import Cost, Fact
from rebuildreport.assess.publishing.extract import extract
from rebuildreport.documents.press import places
from rebuildreport.documents.press.pdf import PdfUnavailable
from rebuildreport.documents.report.rendering import printed_report, report_html
from rebuildreport.documents.showing import browse, engine_story
from rebuildreport.documents.showing import entries as pages
from rebuildreport.quantities import Typed

from ..keys import value_key
from . import sample

HOSTILE = "<script>alert(1)</script>\"'&<img src=x onerror=y>{{ 7*7 }}"
VOID = {"meta", "link", "img", "br", "col", "path", "input"}


class Page(HTMLParser):
    """Elements, ids, links and text of a page; remembers where nesting breaks."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.tags: list[str] = []
        self.unnamed: list[str] = []
        self.text = ""
        self.broken: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        known = dict(attrs)
        self.tags.append(tag)
        if known.get("id"):
            self.ids.append(str(known["id"]))
        if tag == "a":
            self.links.append(str(known.get("href")))
        if tag == "img" and "alt" not in known:
            self.unnamed.append(str(known))
        if tag == "svg" and not known.get("aria-label") and known.get("aria-hidden") != "true":
            self.unnamed.append(str(known))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.broken.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data.replace("\u00a0", " ")


@pytest.fixture(scope="module")
def page(album) -> Page:
    return Page(report_html(sample.orchard(), album))


@pytest.fixture(scope="module")
def texts(pdf) -> list[str]:
    """Text of every page, in one line each."""
    pdfium = pytest.importorskip("pypdfium2")
    document = pdfium.PdfDocument(pdf)
    found = [" ".join(one.get_textpage().get_text_range().replace("\ufffe", "-").split()) for one in document]
    document.close()
    return found


# ------------------------------------------------------------------ HTML


def test_page_is_well_nested_and_every_link_leads_somewhere(page: Page) -> None:
    assert page.broken == [] and page.open == []
    assert len(page.ids) == len(set(page.ids))
    inner = [link[1:] for link in page.links if link.startswith("#")]
    assert inner and set(inner) <= set(page.ids)
    assert {"answers", "findings", "decided", "cost", "next"} <= set(page.ids)
    assert all(name.isascii() for name in page.ids)


def test_every_picture_and_drawing_has_words(page: Page) -> None:
    assert page.unnamed == []


def test_no_script_and_nothing_from_elsewhere(album) -> None:
    html = report_html(sample.orchard(), album)
    assert "<script" not in html and "javascript:" not in html
    assert "http" not in html.replace('xmlns="http://www.w3.org/2000/svg"', "")


def test_hostile_text_stays_text(album) -> None:
    whole = sample.orchard()
    hostile = replace(
        whole,
        title=HOSTILE,
        complaint=HOSTILE,
        found=Typed(HOSTILE),
        shop=HOSTILE,
        notice=HOSTILE,
        findings=(replace(whole.findings[0], title=Typed(HOSTILE), seen=(HOSTILE,), cause=HOSTILE),),
        photos=(replace(whole.photos[0], caption=HOSTILE), *whole.photos[1:]),
        features=tuple(replace(one, title=Typed(HOSTILE)) for one in whole.features),
        running=(Fact(Typed(HOSTILE), Typed(HOSTILE)),),
        too_close=(),
        not_measured=(),
        to_decide=(Typed(HOSTILE),),
    )
    for html in (
        report_html(hostile, album),
        index(HOSTILE, HOSTILE, HOSTILE, [pages.listed(pages.entry(hostile))]),
        engine(HOSTILE, HOSTILE, HOSTILE, [pages.listed(pages.entry(hostile))]),
    ):
        read = Page(html)
        assert read.tags.count("script") == html.count("assets/search.js") and "x" not in read.ids
        assert read.tags.count("img") == html.count("<img ")
        assert "onerror=y>" not in html  # only as &gt;
        assert "{{ 7*7 }}" in read.text and "<script>alert(1)</script>" in read.text
        assert read.broken == []


def test_first_evening_is_short_and_honest(album) -> None:
    html = report_html(sample.first_evening(), album)
    read = Page(html)
    assert read.broken == []
    for words in ("Nothing is measured yet", "No estimate yet"):
        assert words in read.text
    assert not {"decided", "cost"} & {*read.ids}  # no heading of what is not there
    for good in ("as new", "serviceable"):
        assert good not in read.text
    assert "<table" not in html  # no empty table stands about


def test_public_edition_holds_no_money_and_no_private_photo(album) -> None:
    html = report_html(sample.orchard(), album, "public")
    text = Page(html).text
    for private in (
        "EUR",
        "4990.32",
        "5600.00",
        "168.00",
        "deposit",
        "approved",
        "Payment",
        "The engine's plate",
    ):
        assert private not in text, private
    assert album["p030"].full not in html and album["p021"].full in html
    assert "main shell set, 0.50 undersize" in text  # the parts themselves are told


def test_public_edition_needs_no_private_field(album) -> None:
    whole = sample.orchard()
    empty = replace(
        sample.first_evening().cost,
        lines=tuple(replace(li, each=None, amount=None) for li in whole.cost.lines),
    )
    assert isinstance(empty, Cost)
    filtered = replace(whole, cost=empty, needs_from_customer=(), problems=(), contact="")
    assert Page(report_html(filtered, album, "public")).broken == []


def test_a_photo_that_cannot_be_shown_says_why(album, tmp_path) -> None:
    from rebuildreport.documents.press.photos import Prepared

    broken = {**album, "p024": Prepared(problem="p024.jpg: it is no picture that can be read")}
    del broken["p025"]
    text = Page(report_html(sample.orchard(), broken)).text
    assert "Not shown: p024.jpg: it is no picture that can be read." in text
    assert "Not shown: not prepared." in text


def test_a_shop_replaces_one_template_and_keeps_the_rest(tmp_path, album) -> None:
    folder = tmp_path / "templates" / "report"
    folder.mkdir(parents=True)
    (folder / "next.html.jinja").write_text('<section id="next">Our own words.</section>')
    (tmp_path / "templates" / "screen.css").write_text("body{}")
    read = Page(report_html(sample.orchard(), album, shop=tmp_path))
    assert "Our own words." in read.text and "Parts and cost" in read.text
    assert places.assets(tmp_path)["screen.css"].startswith(b"body{}")  # the parts' pieces follow
    assert places.assets(tmp_path)["pages.css"] == places.assets()["pages.css"]


def test_glyphs_that_the_font_lacks_are_not_used(album) -> None:
    """The shipped latin subset and the font of marks cover what is written (their cmaps, by fontTools)."""
    ttlib = pytest.importorskip("fontTools.ttLib")
    known: set[int] = set()
    for name, data in places.assets().items():
        if name.endswith(("400-normal.woff2", "marks.woff2")):
            known |= set(ttlib.TTFont(io.BytesIO(data)).getBestCmap())
    text = (
        Page(report_html(sample.orchard(), album)).text
        + Page(report_html(sample.first_evening(), album)).text
    )
    assert {letter for letter in text if ord(letter) not in known and letter != "\n"} == set()


# ------------------------------------------------------------------ PDF


def test_each_answer_stands_on_its_page(texts: list[str]) -> None:
    first = texts[0]
    for words in (
        "Tarnbeck OD6-54 is ready to collect",
        "Oil pressure lamp at idle when hot",
        "lost its lining",
        "Approved up to 5600.00",
        "What we need from you",
        "Main clearance, M4 > 0.206 max 0.150 ◆ beyond limit 0.082 0.050–0.110 ⊙ as new",
        "Valve recession, E3 1.95 max 1.80 ◆ beyond limit ⬚ not measured",
        "received as described",
    ):
        assert words in first, words
    assert "98.241" in texts[1] and "price line 1" in texts[1]
    by_title = {
        title: next(i for i, text in enumerate(texts) if title in text)
        for title in ("Measurements and decisions", "Parts and cost", "What comes next")
    }
    assert list(by_title.values()) == sorted(by_title.values())


def test_running_head_and_page_numbers(texts: list[str]) -> None:
    for i, text in enumerate(texts, 1):
        assert "Old Mill Engine Works" in text
        assert i == 1 or "Job 2026-003 · Tarnbeck OD6-54 · Report, as of 6 March 2026" in text
        assert f"page {i} of {len(texts)}" in text
        assert "Invented demonstration" in text


def test_page_reference_is_true(texts: list[str]) -> None:
    page = next(i for i, text in enumerate(texts, 1) if "Parts and cost" in text)
    assert f"Details on page {page}" in texts[0]


def test_pdf_is_tagged_titled_and_in_english(pdf: bytes) -> None:
    pikepdf = pytest.importorskip("pikepdf")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        root = document.Root
        assert str(root.Lang) == "en"
        assert bool(root.MarkInfo.Marked)
        assert "/StructTreeRoot" in root
        assert str(document.docinfo["/Title"]) == sample.orchard().title
        with document.open_metadata() as meta:
            assert meta["pdfaid:part"] == "3"
        names = str(_alternatives(root.StructTreeRoot))
        assert "Main bearing shells" in names


def _alternatives(node, depth: int = 0) -> list[str]:
    """Alt texts in the structure tree."""
    pikepdf = pytest.importorskip("pikepdf")
    found: list[str] = []
    if depth > 40:
        return found
    if isinstance(node, pikepdf.Dictionary):
        if "/Alt" in node:
            found.append(str(node.Alt))
        kids = node.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
            found += _alternatives(kid, depth + 1)
    return found


def test_bookmarks_name_sections_and_findings(pdf: bytes) -> None:
    pikepdf = pytest.importorskip("pikepdf")
    with pikepdf.open(io.BytesIO(pdf)) as document, document.open_outline() as outline:
        top = [item.title for item in outline.root]
        findings = next(item for item in outline.root if item.title == "Findings")
        assert top[0].replace("\u00a0", " ") == "Tarnbeck OD6-54 is ready to collect"
        assert top[1:] == [
            "Findings", "Measurements and decisions", "Parts and cost", "What comes next",
        ]  # fmt: skip
        assert len(findings.children) == 4


def test_pdf_carries_what_it_rests_on_and_no_money(pdf: bytes) -> None:
    pikepdf = pytest.importorskip("pikepdf")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert sorted(document.attachments) == ["extract.json", "results.json"]
        one = document.attachments["extract.json"].get_file()
        assert one.creation_date.date() == one.mod_date.date() == sample.orchard().as_of
        data = one.read_bytes()
        assert str(document.attachments["extract.json"].obj.AFRelationship) == "/Data"
    assert b"168.00" not in data and b"customer" not in data
    assert data == extract(sample.orchard()) and json.loads(data)["form"] == 1


def test_links_lead_inside_the_document_only(pdf: bytes) -> None:
    pikepdf = pytest.importorskip("pikepdf")
    with pikepdf.open(io.BytesIO(pdf)) as document:
        actions = [
            note.get("/A") for one in document.pages for note in one.get("/Annots", []) if "/A" in note
        ]
    assert [action for action in actions if action is not None and "/URI" in action] == []


def test_photos_go_in_byte_for_byte(pdf: bytes, album, photo_folder) -> None:
    data = (photo_folder / album["p021"].full).read_bytes()
    assert data in pdf


def test_two_runs_give_the_same_bytes(pdf: bytes, album, photo_folder) -> None:
    again = printed_report(sample.orchard(), album, photo_folder=photo_folder)
    assert again.pdf() == pdf


def test_only_own_files_are_opened(tmp_path, photo_folder) -> None:
    pytest.importorskip("weasyprint")
    from rebuildreport.documents.press.pdf import _fetcher

    (tmp_path / "secret.txt").write_text("no")
    fetcher = _fetcher([photo_folder], photo_folder)
    for url in (
        "https://example.org/a.png",
        "ftp://example.org/a",
        (tmp_path / "secret.txt").as_uri(),
        f"{photo_folder.as_uri()}/../secret.txt",
        "file://elsewhere/share/a.png",
        "photo:../secret.txt",
        f"photo:{tmp_path}/secret.txt",
    ):
        with pytest.raises(ValueError, match=r"not fetched|disallowed"):
            fetcher.fetch(url)


def test_without_the_layout_library_the_packages_are_named(monkeypatch) -> None:
    import builtins

    from rebuildreport.documents.press import pdf as module

    real = builtins.__import__

    def lacking(name: str, *args, **kwargs):
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *args, **kwargs)

    monkeypatch.setattr(module, "_engine", None)
    monkeypatch.setattr(builtins, "__import__", lacking)
    assert not module.available()
    with pytest.raises(PdfUnavailable, match=r"libpangoft2-1\.0-0 libharfbuzz-subset0"):
        module._load()


def test_stylesheets_hold_nothing_that_the_renderer_stumbles_over(album, photo_folder, caplog) -> None:
    """WeasyPrint reports what it does not understand; only bare browser niceties may be named."""
    weasyprint = pytest.importorskip("weasyprint")
    import logging

    logging.getLogger("weasyprint").setLevel(logging.WARNING)
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        weasyprint.CSS(string=places.stylesheet(), base_url=places.own_templates().as_uri() + "/")
    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    said = [record.getMessage() for record in caplog.records]
    assert [line for line in said if "text-wrap" not in line] == []


def test_no_rule_asks_for_a_part_inside_its_own_kind() -> None:
    """No part of a page stands within another of its class: such a rule is never used."""
    never = []
    for file in places.own_templates().rglob("*.css"):
        style = re.sub(r"/\*.*?\*/", "", file.read_text("utf-8"), flags=re.DOTALL)
        for selector in ",".join(re.findall(r"([^{};]+)\{", style)).split(","):
            steps = [set(re.findall(r"\.[a-z][\w-]*", step)) for step in re.split(r"[\s>]+", selector)]
            if any(one & set().union(*steps[:at]) for at, one in enumerate(steps)):
                never.append(f"{file.name}: {selector.strip()}")
    assert never == []


# ------------------------------------------------------------------ site pages


def fitted(listed: pages.Listed, up: str = "", failing: str = "") -> pages.Listed:
    return replace(listed, item=pages.ready(listed.item, up, failing))


def index(shop: str, contact: str, notice: str, listed: list[pages.Listed]) -> str:
    """The index of jobs as they are listed."""
    items = [fitted(one).item for one in listed]
    return "".join(browse.index_html((shop, contact, notice), [browse.card(one) for one in listed], items))


def engine(shop: str, contact: str, notice: str, listed: list[pages.Listed]) -> str:
    """The page of the engine that the jobs are of."""
    return "".join(engine_story.engine_html((shop, contact, notice), listed))


def test_index_marks_failing_jobs() -> None:
    from datetime import date

    whole = pages.listed(pages.entry(sample.orchard()))
    failed = fitted(whole, failing=pages.failing(3, date(2026, 3, 1)))
    never = pages.unlisted("2026-005", "Not begun", 1)
    read = Page(index("Shop", "", "Invented.", [failed, never]))
    assert "Last good pages of 1 March 2026 shown; the files have 3 problems." in read.text
    assert "No pages yet; the files have one problem." in read.text
    assert "engines/od6-54.html" in read.links and "2026-003/index.html" in read.links
    assert "2026-005/index.html" not in read.links
    assert "problems" not in Page(index("Shop", "", "Invented.", [whole])).text
    assert read.broken == []


def test_index_shows_the_measurement_of_the_first_finding() -> None:
    one = pages.entry(sample.orchard())
    # settled since: the later verdict stands first, the one on arrival is still told
    assert one.value_name == "on arrival beyond limit: Main bearing clearance, M4, mm"
    assert one.standing.name == "as new" and len(one.scale) == 1
    evening = pages.entry(sample.first_evening())
    assert evening.standing.name == "not measured" and evening.scale == ()
    assert evening.says.replace("\u00a0", " ") == "Came in on 4 March. Nothing is measured yet."


def test_a_close_call_that_was_settled_shows_the_later_verdict() -> None:
    whole = sample.orchard()
    later = replace(
        whole.findings[0],
        shows=(
            value_key("main_journals.out_of_round M4 @arrival"),
            value_key("main_journals.out_of_round M4 @machined"),
        ),
    )
    assert pages.entry(replace(whole, findings=(later,))).standing.name == "as new"


def test_an_engine_that_came_twice_is_one_on_its_page() -> None:
    past = {
        "same_engine": "a",
        "outcomes": [{"part": "valves", "state": "failed", "done": "replace", "causes": []}],
    }
    one = pages.listed(pages.entry(sample.orchard()))
    both = [replace(one, job=job, past=past) for job in ("2026-003", "2027-011")]
    assert "One of them has come here so far." in Page(engine("Shop", "", "", both)).text
    other = replace(one, job="2027-012", past={**past, "same_engine": ""})
    read = Page(engine("Shop", "", "", [*both, other])).text
    assert "valves, guides and seats, on each of the two." in read
    assert "3 replaced" in read  # at three visits


def test_no_engine_page_without_a_job() -> None:
    with pytest.raises(ValueError, match="no job is of the engine"):
        engine("Shop", "", "", [])


def test_empty_site_says_so() -> None:
    assert "No job is published yet." in Page(index("Shop", "", "", [])).text


def test_page_one_is_one_page_whatever_is_said(album, photo_folder, pdf_renderer) -> None:
    """A long complaint takes the room beside the text; the readings keep their lines, the foot stays."""
    one = sample.orchard()
    dates = "opened 2\u00a0November, ready 10\u00a0December, delivered 11\u00a0December\u00a02026"
    titles = "Main bearing housings, size across the split"
    rows = tuple(replace(row, title=Typed(titles)) for row in (one.complaint_lines * 2)[:8])
    long = replace(one, complaint="; ".join([dates] * 2), complaint_lines=rows)
    pdfium = pytest.importorskip("pypdfium2")
    document = pdfium.PdfDocument(printed_report(long, album, photo_folder=photo_folder).pdf())
    first = " ".join(document[0].get_textpage().get_text_range().split())
    document.close()
    assert "for the shop" in first


def test_what_would_settle_a_reading_is_said_of_what_stands_alone(album) -> None:
    """A reading that was machined away or read again has nothing left to settle."""
    job = sample.orchard()
    advice = Typed("19 readings at each spot would settle it")

    def said(stands: bool) -> bool:
        old = [
            replace(c, verdict="too close to call", advice=advice, stands=stands)
            if c.feature == "main_journals" and c.round == "arrival"
            else c
            for c in job.characteristics
        ]
        return "19 readings" in Page(report_html(replace(job, characteristics=tuple(old)), album)).text

    assert said(True) and not said(False)
