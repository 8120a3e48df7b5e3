"""The access plan as a page and a PDF, and hours over a family on its engine's page."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.documents.drawings.access_graph import graph_boxes
from rebuildreport.documents.press.language import language, speaking
from rebuildreport.documents.sheets import register
from rebuildreport.documents.showing.engine_story import hours_spent
from rebuildreport.documents.showing.entries import Listed
from rebuildreport.records import load_shop

from .test_report import Page

ROOT = Path(__file__).resolve().parents[2]
PLAN = register.named("access-plan")


@pytest.fixture(scope="module", params=["2026-003-orchard-six", "2026-004-twin-cam"])
def job(request: pytest.FixtureRequest) -> Assessment:
    folder = load_shop(ROOT / "jobs", [request.param])
    return assess_job(folder, folder.jobs[request.param])


@pytest.mark.parametrize(
    ("code", "last"),
    [("en", "Stays on, and is not looked at"), ("de", "Bleibt angebaut und wird nicht begutachtet")],
)
def test_it_is_one_page(job: Assessment, code: str, last: str, pdf_renderer: object) -> None:
    import pypdfium2

    with speaking(language(code)):
        read = pypdfium2.PdfDocument(io.BytesIO(PLAN.pdf(PLAN.made(job), job)))
    assert len(read) == 1
    text = re.sub(r"\s+", " ", read[0].get_textpage().get_text_range())
    assert last in text  # what stands last has not gone past its end


def test_what_stays_on_hangs_where_it_would_come_off(job: Assessment) -> None:
    plan = job.access
    assert plan is not None
    drawn = list(graph_boxes(plan))
    assert {part.number for part in drawn} >= {step.number for step in plan.steps}
    stays = [part for part in drawn if part.kind == "stays"]
    waited_for = {number for part in drawn for number in part.after}
    assert stays and all(part.after or part.number in waited_for for part in stays)
    names = [" ".join(label.text for label in PLAN.view(job).graph.labels)]  # type: ignore[attr-defined]
    assert all(word in names[0] for part in stays for word in part.name.split())


def test_each_step_has_its_cautions_and_the_drawing_its_words(job: Assessment) -> None:
    page = Page(PLAN.html(PLAN.view(job)))
    assert page.broken == [] and page.open == [] and page.unnamed == []
    assert job.access is not None
    view = PLAN.view(job)
    lines = {line.title: line for line in view.steps}  # type: ignore[attr-defined]
    assert any("lift at its lifting points" in text for line in lines.values() for text in line.cautions)
    assert all(str(step.number) in view.graph.label for step in job.access.steps)  # type: ignore[attr-defined]
    assert [line.done for line in lines.values() if "turned from here on" not in line.title].count(False) <= 1


def test_it_speaks_german(job: Assessment) -> None:
    with speaking(language("de")):
        view = PLAN.made(job)
    text = re.sub(r"<[^>]+>", " ", PLAN.html(view))
    assert not re.search(r"\b(?:lost|tools|Caution|Wanted off|by the sheet|which takes)\b", text)
    for word in ("Zugangsplan", "Heraus soll", "Kurbelwelle", "Marken beisammen", "Andere Wege"):
        assert word in text, word


def test_hours_of_a_family_are_held_against_the_newest_sheet() -> None:
    """Medians by hand; a proposal where three engines, and none of them, took what the sheet has."""

    def one(number: int, **took: float) -> Listed:
        hours = [{"name": name, "title": name, "took": hours, "sheet": 0.3} for name, hours in took.items()]
        return Listed(f"job {number}", "2026-01-01", "2026-01-01", "", past={"hours": hours})

    jobs = [
        one(1, head=0.5, sump=0.3, caps=0.2),
        one(2, head=0.9, sump=0.3, caps=0.6),
        one(3, head=0.6, caps=0.4),
    ]
    assert hours_spent(jobs) == [
        ("Head", "0.3", "0.6", "0.5 to 0.9", "3", "0.6 h in the sheet?"),
        ("Caps", "0.3", "0.4", "0.2 to 0.6", "3", ""),
    ]
    assert hours_spent([replace(jobs[0], past={})]) == []
