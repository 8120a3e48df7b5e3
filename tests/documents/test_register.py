"""Every document of the register is whole: what a new one lacks is named here."""

from __future__ import annotations

import html
import re
from itertools import combinations
from pathlib import Path
from typing import cast

import pypdfium2
import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.model.assessment import DueRound
from rebuildreport.documents.press import places
from rebuildreport.documents.press.language import language
from rebuildreport.documents.report.findings import Album
from rebuildreport.documents.sheets import register
from rebuildreport.documents.sheets.register import DOCUMENTS, Document
from rebuildreport.quantities import english
from rebuildreport.records import JobFolder, load_shop

ROOT = Path(__file__).resolve().parents[2]
Jobs = list[tuple[JobFolder, Assessment]]
every_document = pytest.mark.parametrize("document", DOCUMENTS, ids=[one.name for one in DOCUMENTS])


@pytest.fixture(scope="module")
def jobs() -> Jobs:
    """The demo's jobs, and one of them on its first evening, with a round due."""
    folder = load_shop(ROOT / "jobs")
    begun = next(iter(folder.jobs.values()))
    evening = replace(begun, rounds={}, teardown=None, findings=None, work=None, assembly=None, running=None)
    made = [(job, assess_job(folder, job)) for job in (*folder.jobs.values(), evening)]
    _, first = made[-1]
    made[-1] = (evening, replace(first, due=DueRound("arrival", due(folder, evening, first))))
    return made


def those_with(document: Document, jobs: Jobs) -> Jobs:
    return [(job, one) for job, one in jobs if document.wanted(one)]


def test_no_two_have_one_name() -> None:
    assert len({document.name for document in DOCUMENTS}) == len(DOCUMENTS)


@every_document
def test_it_has_a_template_in_the_frame_of_the_family(document: Document) -> None:
    text = places.find(f"{document.template or document.name}.html.jinja").read_text("utf-8")
    assert document.screen or text.startswith('{% extends "sheet.html.jinja" %}')


@every_document
def test_one_that_shows_photos_says_so(document: Document, jobs: Jobs) -> None:
    """The view of any other is made once, for its page and its paper: it looks at no album."""
    nobody_looks = cast(Album, None)
    for _, one in those_with(document, jobs) if not document.pictured else ():
        assert document.view(one, None, nobody_looks).frame.title


@every_document
def test_its_title_has_its_german(document: Document) -> None:
    """The report in German links it by its title; what is issued is named in mails and lines of issues."""
    words = [english(document.title), *([document.name] if document.issued else [])]
    assert [word for word in words if word not in language("de").messages] == []


@every_document
def test_the_readme_names_it(document: Document) -> None:
    told = [ROOT / "README.md", *(ROOT / "templates" / "explained").glob("*.md")]
    text = "".join(path.read_text("utf-8") for path in told)
    assert document is register.REPORT or f"`{document.name}" in text


@every_document
def test_a_job_of_the_demo_has_it_and_its_links_lead_somewhere(document: Document, jobs: Jobs) -> None:
    shown = those_with(document, jobs)
    assert shown, "no job of the demo has it: nobody looks at its pages"
    for _, one in shown:
        view = document.view(one)
        page = document.html(view)
        assert view.frame.title and document.file(view).startswith(document.name)
        wanted = set(re.findall(r'href="#([^"]+)"', page))
        assert wanted <= set(re.findall(r'\bid="([^"]+)"', page))
        assert not re.search(r"\bUndefined\b|<object |Sentence\(", page)


@pytest.mark.parametrize(
    "document", [one for one in DOCUMENTS if one.reader == "machine shop"], ids=lambda document: document.name
)
def test_what_goes_to_a_machine_shop_has_nothing_of_the_customers(document: Document, jobs: Jobs) -> None:
    for job, one in those_with(document, jobs):
        assert job.job is not None and job.job.owner is not None
        owner = job.job.owner
        private = [owner.name, owner.contact, owner.registration, owner.serial]
        private += [one.title, one.complaint, one.job, str(one.cost.total)]
        page = html.unescape(document.html(document.view(one)))
        assert not [word for word in private if word and word.split(" (")[0] in page]


@pytest.mark.parametrize("name", ["purchase-list", "build-sheet", "estimate"])
def test_no_word_is_printed_over_another(name: str, jobs: Jobs, pdf_renderer: object) -> None:
    """In German, whose days and heads are the longest; of a part that came, was read and has a remark."""
    _, one = next(pair for pair in jobs if pair[0].name == "2026-019-trials-twin")
    one = replace(one, language="de", shop_language="de")
    document = register.named(name)
    for page in pypdfium2.PdfDocument(document.pdf(document.view(one), one)):
        text = page.get_textpage()
        boxes = [text.get_rect(at) for at in range(text.count_rects())]
        for (left, low, right, high), (start, foot, end, top) in combinations(boxes, 2):
            beside = min(right, end) - max(left, start) < 1.0
            apart = min(high, top) - max(low, foot) < 0.45 * min(high - low, top - foot)
            assert beside or apart, text.get_text_bounded(left, low, end, high)


@pytest.mark.parametrize(
    ("document", "job", "whole"),
    [
        ("report", "2026-018-threshing-tractor", "because (finding) quantity each"),
        ("statement", "2026-010-hay-tractor", "Final statement: Old hay"),
    ],
)
def test_heads_and_titles_are_parted_between_words_that_go_apart(
    document: str, job: str, whole: str, jobs: Jobs, pdf_renderer: object
) -> None:
    """No head within its word, no title behind its first word."""
    _, one = next(pair for pair in jobs if pair[0].name == job)
    made = register.named(document)
    pages = pypdfium2.PdfDocument(made.pdf(made.view(one), one))
    assert any(whole in " ".join(page.get_textpage().get_text_range().split()) for page in pages)
    first = pages[0].get_textpage().get_text_range().splitlines()
    assert "Final" not in [line.strip() for line in first]


def test_no_table_of_bolts_has_a_column_of_nothing(jobs: Jobs) -> None:
    """A stretch or a note is asked for where a stage has one."""
    build = register.named("build-sheet")
    tables = [
        table
        for _, one in those_with(build, jobs)
        for table in re.findall(r'<table class="stages">.*?</table>', build.html(build.view(one)), re.S)
    ]
    assert len(tables) > 8
    for table in tables:
        rows = [
            re.findall(r"<td[^>]*>(.*?)</td>", row, re.S) for row in re.findall(r"<tr>.*?</tr>", table, re.S)
        ]
        assert all(any(column) for column in zip(*rows, strict=True)), table


def test_no_part_of_an_engine_that_runs_is_still_to_come(jobs: Jobs) -> None:
    """What was fitted came: at most nobody noted when."""
    buying = register.named("purchase-list")
    for _, one in those_with(buying, jobs):
        page = buying.html(buying.view(replace(one, shop_language="en")))
        assert ("Not received" in page) is (one.bench.start.date is None)


def test_bores_of_one_size_stand_in_one_line_of_an_order(jobs: Jobs) -> None:
    """Four pistons of one size ask for one finished size."""
    order = register.named("machining-order")
    _, one = next(pair for pair in jobs if pair[0].name == "2026-018-threshing-tractor")
    page = order.html(order.view(one))
    assert page.count("to its piston") == 1 and "Finished size C1 to C4, to its piston" in page
