"""The section on choices, and the machining order: what they say, and what they must not."""

from __future__ import annotations

import html
import re
from decimal import Decimal
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.model.choice import Effect
from rebuildreport.assess.publishing.public import public
from rebuildreport.documents.report.choice_views import _figures
from rebuildreport.documents.report.findings import NO_PHOTOS
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.documents.report.view import report
from rebuildreport.documents.sheets import register
from rebuildreport.quantities import Typed
from rebuildreport.records import JobFolder, load_shop

JOBS = Path(__file__).resolve().parents[2] / "jobs"
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"


@pytest.fixture(scope="module")
def demo() -> dict[str, tuple[JobFolder, Assessment]]:
    folder = load_shop(JOBS, (SIX, FOUR))
    return {name: (folder.jobs[name], assess_job(folder, folder.jobs[name])) for name in (SIX, FOUR)}


def words(page: str) -> str:
    return " ".join(
        html.unescape(re.sub(r"(?s)<style.*?</style>|<[^>]+>", " ", page)).replace("\u00a0", " ").split()
    )


def page_of(name: str, one: Assessment) -> str:
    """One further document as its page."""
    sheet = register.named(name)
    return sheet.html(sheet.view(one, None))


def weighing(one: Assessment) -> Assessment:
    """The same while its approval is asked for."""
    return replace(one, cost=replace(one.cost, over_by=Decimal(1)))


def test_why_this_part_in_the_report(demo: dict[str, tuple[JobFolder, Assessment]]) -> None:
    said = words(report_html(weighing(demo[FOUR][1]), {}, "shop"))
    assert "S3 upper with S4 lower at M5" in said
    assert "36.00 EUR for the parts, before tax; 63.00 EUR with the alternative" in said
    assert "Without moving any, 14 would be bought" in said
    six = words(report_html(demo[SIX][1], {}, "shop"))
    assert "At 0.25 mm: leaves 0.012 mm at M4" in six


def test_what_is_settled_is_not_weighed_again(demo: dict[str, tuple[JobFolder, Assessment]]) -> None:
    """Once approved a choice is told with its reason alone: what it costs stands in the prices."""
    heads = ("Alternative:", "Costs:", "What follows:", "Tried on paper")
    for _, one in demo.values():
        said, asked = (words(report_html(job, {}, "shop")) for job in (one, weighing(one)))
        assert not any(head in said for head in heads), one.job
        assert all(head in asked for head in heads[:3]), one.job


def test_no_price_of_a_choice_in_public(demo: dict[str, tuple[JobFolder, Assessment]]) -> None:
    said = words(report_html(public(demo[FOUR][1]), {}, "public"))
    assert "S3 upper with S4 lower at M5" in said
    assert "EUR for the parts" not in said


def test_the_machining_order_has_all_that_the_grinder_needs(
    demo: dict[str, tuple[JobFolder, Assessment]],
) -> None:
    one = demo[SIX][1]
    said = words(page_of("machining-order", one))
    # worked out apart from the product (d1_expected): mains to 75.470-75.490, pins to 63.720-63.740
    for wanted in (
        "Finished size 75.480 75.470 75.490 mm",
        "Finished size 63.730 63.720 63.740 mm",
        "92.30 92.00 92.30 mm 3.6338 3.6221 3.6338 in",  # 3.63386 rounded inwards, as target and as most
        "All sizes at 20 °C",
        "Out of round 0 0.008 mm",
        "400.00 EUR",
    ):
        assert wanted in said
    for wanted in ("4.0 to 4.5 mm", "chamfered anew", "grinding the thrust faces", "throw of every pin"):
        assert wanted in said
    assert "accepted by deviation V1" in said
    # no limit is on file for a guide that is fitted new: nor is it said where such a limit comes from
    assert "call before it is finished" in said and "page 42" not in said


@pytest.mark.parametrize("name", [SIX, FOUR])
def test_nothing_of_the_customers_in_a_machining_order(
    demo: dict[str, tuple[JobFolder, Assessment]], name: str
) -> None:
    folder, one = demo[name]
    assert folder.job is not None and folder.job.owner is not None
    owner = folder.job.owner
    private = [owner.name, owner.contact, owner.registration, owner.serial, one.title, one.complaint]
    page = page_of("machining-order", one)
    assert not [word for word in private if word and word.split(" (")[0] in page]
    assert str(one.cost.total) not in page


@pytest.mark.parametrize("name", (SIX, FOUR))
def test_papers_name_things_as_people_do(demo: dict[str, tuple[JobFolder, Assessment]], name: str) -> None:
    """No key of an instrument or of a round of readings, no bracket or colon with nothing after it."""
    one, tools = demo[name][1], load_shop(JOBS, []).shop.instruments
    # others are words of the trade as well: 'bore gauge'
    keys = {key.replace("_", " ") for key in tools if "comparator" in key or re.search(r"\d", key)}
    keys |= {read.name for read in one.rounds if "-" in read.name}
    pages = {
        sheet.name: words(sheet.html(sheet.view(one, None)))
        for sheet in register.DOCUMENTS
        if sheet.name != "report" and sheet.wanted(one)
    }
    pages["report"] = words(report_html(one, {}, "shop"))
    for document, text in pages.items():
        assert not {key for key in keys if re.search(rf"\b{re.escape(key)}\b", text)}, document
        assert not re.findall(r".{20}(?:: [;.]|\(\)).{10}", text), document


@given(guard=st.floats(0.0006, 0.09), system=st.sampled_from(["mm", "in"]))
@example(guard=0.012, system="in")
def test_no_doubt_is_printed_as_none(guard: float, system: Literal["mm", "in"]) -> None:
    """0.012 mm is 0.0005 in (25.4 exactly): beside a height it never reads ±0.000."""
    effect = Effect(Typed("Height"), "height", (), "mm", 2, (91.98, 91.98), (91.78, 91.78), guard=guard)
    printed = _figures(effect, system)[2].partition("±")[2]
    half = 0.5 * 10.0 ** -len(printed.partition(".")[2])  # of its last digit, to which it is rounded
    assert float(printed) > 0.0
    assert float(printed) == pytest.approx(guard if system == "mm" else guard / 25.4, abs=1.001 * half)


@pytest.mark.parametrize("name", [SIX, FOUR])
def test_pictures_are_numbered_as_they_follow_each_other(
    demo: dict[str, tuple[JobFolder, Assessment]], name: str
) -> None:
    view = report(demo[name][1], NO_PHOTOS, "shop")
    numbers = [picture.number for finding in view.findings for picture in finding.pictures]
    numbers += [picture.number for picture in view.further]
    first = list(dict.fromkeys(numbers))  # one may prove two findings
    assert first == sorted(first, key=lambda number: number or 0), numbers
