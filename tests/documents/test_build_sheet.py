"""The build sheet as a document, on the bench it was made for: the demo's six put together, and before."""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any, cast

import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.model.bench import Bench, Chosen
from rebuildreport.assess.model.bolting import Stretch
from rebuildreport.documents.drawings.boltorder import bolt_order
from rebuildreport.documents.press.words import System
from rebuildreport.documents.report import asbuilt
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.documents.sheets import register
from rebuildreport.documents.sheets.bolt_tables import bolts_view, stretch_tables
from rebuildreport.documents.sheets.buildsheet import BuildSheet, build_sheet
from rebuildreport.quantities import Typed, parse, units
from rebuildreport.records import load_shop

from ..demo import stages
from .test_report import Page

ROOT = Path(__file__).resolve().parents[2]
JOB = "2026-003-orchard-six"


@pytest.fixture(scope="module")
def built() -> Assessment:
    folder = load_shop(ROOT / "jobs", [JOB])
    return assess_job(folder, folder.jobs[JOB])


@pytest.fixture(scope="module")
def unsigned(tmp_path_factory: Any) -> Assessment:
    """The same engine before anybody put anything together."""
    import shutil

    shop = tmp_path_factory.mktemp("shop") / "jobs"
    shutil.copytree(ROOT / "jobs", shop, ignore=shutil.ignore_patterns("2026-004*", "photos"))
    for name in ("assembly.yaml", "running.yaml"):
        (shop / JOB / name).unlink()
    folder = load_shop(shop, [JOB])
    return assess_job(folder, folder.jobs[JOB])


SHEET = register.named("build-sheet")


def test_pages_in_the_order_of_the_sheet(built: Assessment) -> None:
    sheet = build_sheet(built)
    assert [page.title for page in sheet.pages][:3] == ["Cylinder block", "Crankshaft", "Pistons and rods"]
    assert sheet.pages[-1].lines[-1].title == "Engine may be started"
    assert [line.number for line in sheet.pages[0].lines] == ["1.1", "1.2", "1.3", "1.4", "1.5", "1.6"]


def test_the_page_is_sound_and_says_what_counts(built: Assessment) -> None:
    page = Page(SHEET.html(build_sheet(built), pdf="build-sheet.pdf"))
    assert page.broken == [] and page.open == [] and page.unnamed == []
    assert len(page.ids) == len(set(page.ids))
    assert {link[1:] for link in page.links if link.startswith("#")} <= set(page.ids)
    for text in (
        "MS-050, main shell set, 0.50 undersize",
        "a mark made on dismantling proves where it was, not that it was right",
        "pump timed to the manual",
        "VDI 2230:1986",
        "3.3",
        "deviation",
        "The maker's service information",
        "valves meet pistons",
    ):
        assert text in page.text, text


def test_stages_stand_in_both_systems_with_their_source(built: Assessment) -> None:
    """60 N·m is 44 lbf·ft and 120 N·m 89 lbf·ft (NIST SP 811: 1 lbf·ft = 1.355 818 N·m)."""
    group = next(one for one in built.bench.build.fastenings if one.name == "main_bolts")
    shown = bolts_view(group, "mm", "in")
    assert [(s.first, s.second) for s in shown.stages] == [
        ("60\N{NO-BREAK SPACE}N·m, 44\N{NO-BREAK SPACE}lbf·ft", ""),
        ("120\N{NO-BREAK SPACE}N·m, 89\N{NO-BREAK SPACE}lbf·ft", ""),
        ("90°", ""),
    ]
    assert shown.heads == ("as given", "converted", "kN")
    assert any("page 29" in text for text in shown.about)
    assert shown.stages[2].note == "to yield" and any("no fault" in note for note in shown.notes)
    inches = bolts_view(group, "in", "mm")
    # the maker's figure stays first in a shop that works in inches
    assert [s.first for s in inches.stages] == [s.first for s in shown.stages]
    # 47.6 kN after 120 N·m by hand (K 0.18, 14 mm); a kilonewton is 224.8 lbf
    assert shown.stages[1].preload.startswith("48 (36 to 60)")
    assert inches.stages[1].preload.startswith("10700 (8000 to 13400)")


@pytest.mark.parametrize(
    ("text", "first", "second"),
    [
        ("15 lbf·ft", "15 lbf·ft", "20.3 N·m"),
        ("5 N·m", "5 N·m", "3.7 lbf·ft"),
        ("10 N·m", "10 N·m", "7.4 lbf·ft"),
        ("58.0 N·m", "58.0 N·m", "42.8 lbf·ft"),
        ("0.0050 in", "0.0050 in longer", "0.127 mm"),
        ("0.13 mm", "0.13 mm longer", "0.0051 in"),
    ],
)
@pytest.mark.parametrize("system", ["mm", "in"])
def test_the_makers_figure_first_and_the_converted_one_no_coarser(
    built: Assessment, system: Any, text: str, first: str, second: str
) -> None:
    """NIST SP 811: 1 lbf·ft = 1.355 818 N·m, 1 in = 25.4 mm: 15 lbf·ft are 20.34 N·m, 5 N·m 3.688 lbf·ft."""
    group = next(one for one in built.bench.build.fastenings if one.name == "main_bolts")
    typed = parse(text)
    kind: Any = "stretch" if "longer" in first else "torque"
    stage = replace(
        group.stages[0],
        kind=kind,
        digits=typed.text,
        value=typed.value,
        unit=typed.unit,
        decimals=typed.decimals,
        also=("", ""),
    )
    one_group, beside = replace(group, stages=(stage,)), units.beside(system)
    (shown,) = bolts_view(one_group, system, cast("System", beside)).stages
    # where the shop asks for one system, what is typed in the other alone is converted
    ours = typed.unit == (units.partner(typed.unit, system) or typed.unit)
    assert bolts_view(one_group, system).stages == (replace(shown, second="") if ours else shown,)
    assert [shown.first.replace("\xa0", " "), shown.second.replace("\xa0", " ")] == [first, second]


def test_boxes_for_the_stretch_that_the_maker_asks_for(built: Assessment) -> None:
    """One a bolt, and what was read in them in the unit that it was read in: 0.0051 in is 0.1295 mm."""
    group = next(one for one in built.bench.build.fastenings if one.name == "rod_bolts")
    stage = replace(group.stages[0], kind="stretch", digits="0.0050", value=0.0050, unit="in", decimals=4)
    asks = replace(group, stages=(stage,), quantity=8, stretches=())
    (table,) = stretch_tables(asks, "mm")  # a shop that works in mm: inches are converted for it
    assert table.heads == tuple("12345678") and table.rows[0][1] == ("",) * 8
    assert "in (mm)" in table.rows[0][0] and "0.0050 (0.127)" in table.rows[0][0]
    (table,) = stretch_tables(replace(asks, stretches=(Stretch("2", 0.0051 * 25.4, "in", 4),)), "mm")
    assert table.rows[0][1][1] == "0.0051 (0.130)"
    assert list(stretch_tables(group, "mm")) == []  # tightened by angle: nothing to write down


def test_what_is_withheld_is_not_printed(built: Assessment) -> None:
    group = next(one for one in built.bench.build.fastenings if one.name == "main_bolts")
    doubtful = replace(
        group.stages[0], withheld=Typed("43 N·m and 25 lbf·ft differ"), digits="", preload=None
    )
    shown = bolts_view(replace(group, stages=(doubtful,)), "mm")
    assert (shown.stages[0].first, shown.stages[0].second) == ("withheld", "")
    assert any("differ" in note for note in shown.notes)


def test_on_paper_everything_is_left_to_write(unsigned: Assessment) -> None:
    sheet = build_sheet(unsigned)
    lines = [line for page in sheet.pages for line in page.lines]
    # what was read since the engine was apart stands; nobody has signed for anything else
    assert {line.verb for line in lines if line.done} == {"measure"}
    holds = [line for line in lines if line.hold]
    assert holds and all(line.signed == (("by", ""), ("seen by", ""), ("date", "")) for line in holds)
    floats = next(line for line in lines if line.title == "Gear backlash")
    page = Page(SHEET.html(sheet))
    assert page.text.count("Hold.") == len(holds)
    assert floats.tables
    assert asbuilt.as_built(unsigned).state == ""


def test_orders_are_drawn_from_the_pattern(built: Assessment) -> None:
    groups = {one.name: one for one in built.bench.build.fastenings}
    drawing = bolt_order(groups["main_bolts"])
    assert drawing is not None
    assert sorted(int(label.text) for label in drawing.labels if label.text.isdigit()) == list(range(1, 15))
    # the two bolts of the middle cap come first (by hand: fourth of seven)
    assert "13, 9, 5, 1, 4, 8, 12, 14, 10, 6, 2, 3, 7, 11" in drawing.label
    circle = bolt_order(groups["flywheel_bolts"])
    assert circle is not None and "clockwise from the top: 1, 5, 3, 7, 2, 6, 4, 8" in circle.label
    assert bolt_order(groups["rod_bolts"]) is None


@pytest.mark.parametrize("asked", ["no", "beside limits"])
def test_a_second_unit_stands_where_the_shop_asks_for_it(unsigned: Assessment, asked: Any) -> None:
    """The maker's own figures are his; what we convert is for those who asked."""
    sheet = build_sheet(replace(unsigned, second_unit=asked))
    lines = [line for page in sheet.pages for line in page.lines]
    heads = [name for line in lines for table in line.tables for name, _ in table.rows]
    converted = [stage.second for line in lines if line.bolts for stage in line.bolts.stages]
    said = " ".join([*heads, *converted])
    assert bool(re.search(r"\bin\)|lbf·ft", said)) == (asked != "no")


JOBS = sorted(path.name for path in (ROOT / "jobs").glob("2026-*"))


@pytest.mark.parametrize("job", JOBS)
def test_a_line_begins_with_a_large_letter_and_a_part_is_fitted_once(job: str) -> None:
    """A part that a line of its own takes goes in there, and in no line of what it belongs to."""
    loaded = load_shop(ROOT / "jobs", [job])
    assessed = assess_job(loaded, loaded.jobs[job])
    titles = [line.title for page in build_sheet(assessed).pages for line in page.lines]
    assert [title for title in titles if title.split()[0].isalpha() and title[0].islower()] == []
    lines = assessed.bench.build.lines
    engine = loaded.sheet(loaded.jobs[job])
    assert engine is not None
    own = {line.name for line in lines if line.verb == "fit" and line.name in engine.parts}
    fitted = [part.part for line in lines for part in line.parts if part.part in own]
    assert sorted(fitted) == sorted(own)


def test_one_drawing_stands_for_each_of_two_alike(built: Assessment) -> None:
    """A V engine has its head bolts twice: one head is drawn, and the drawing says so."""
    groups = {one.name: one for one in built.bench.build.fastenings}
    head = groups["head_bolts"]
    assert len(head.places) == head.quantity
    once = bolt_order(head)
    drawing = bolt_order(replace(head, quantity=2 * head.quantity))
    assert once is not None and drawing is not None
    assert [label.text for label in drawing.labels if "each" in label.text] == ["each of two alike"]
    assert "each of two alike" in drawing.label and "each of" not in once.label
    assert max(float(label.y) for label in drawing.labels) < float(drawing.height)


def test_the_report_tells_how_it_was_built(built: Assessment) -> None:
    text = Page(report_html(built, {})).text
    done = "Every line of the build sheet is done and signed."
    for said in (done, "Outside it", "not inspected", "Due"):
        assert said in text, said
    public = Page(report_html(replace(built, bench=Bench()), {}, "public")).text
    assert done not in public and "Outside it" not in public


def test_a_job_without_teardown_has_no_sheet(built: Assessment) -> None:
    bare = replace(built, bench=Bench())
    assert SHEET in register.further(built) and SHEET not in register.further(bare)


@pytest.fixture(scope="module")
def arrived(tmp_path_factory: Any, pdf_renderer: object) -> tuple[BuildSheet, list[str]]:
    """Before anything was machined all is to be read again, so the sheet has the most to write; its pages."""
    import pypdfium2

    shop = tmp_path_factory.mktemp("arrival") / "jobs"
    stages.at(shop, JOB, "arrival")
    folder = load_shop(shop, [JOB])
    one = assess_job(folder, folder.jobs[JOB])
    sheet = build_sheet(one)
    read = pypdfium2.PdfDocument(io.BytesIO(SHEET.pdf(sheet, one)))
    return sheet, [page.get_textpage().get_text_range() for page in read]


def test_what_goes_on_over_a_page_says_so_and_fills_it(arrived: tuple[BuildSheet, list[str]]) -> None:
    """The crankshaft of seven mains has its page even then; what six pistons need goes on on the next."""
    sheet, pages = arrived[0], [text.splitlines() for text in arrived[1]]
    titles = [page.title for page in sheet.pages]
    begun = ""
    for page in pages:
        if page is not pages[0] and page[0].strip() not in titles:
            assert page[-1].startswith(f"{begun}, continued · "), (page[0], page[-1])
        begun = [title for title in titles if title in map(str.strip, page)][-1]
    assert [page[0].strip() for page in pages].count("Crankshaft") == 1
    assert len(pages) <= len(titles)


def test_what_has_room_on_a_page_is_not_torn(arrived: tuple[BuildSheet, list[str]]) -> None:
    """On arrival the six's gear train could all but begin below the pistons: its last line stood overleaf."""
    sheet, pages = arrived
    gears = next(page for page in sheet.pages if page.title.startswith("Gear train"))
    first, last = (
        next(i for i, text in enumerate(pages) if re.search(rf"^{re.escape(line.number)}\b", text, re.M))
        for line in (gears.lines[0], gears.lines[-1])
    )
    assert first == last


@pytest.mark.parametrize("which", ["built", "unsigned"])
def test_each_assembly_has_one_page_of_its_own(
    which: str, request: pytest.FixtureRequest, pdf_renderer: object
) -> None:
    import pypdfium2

    one: Assessment = request.getfixturevalue(which)
    sheet = build_sheet(one)
    read = pypdfium2.PdfDocument(io.BytesIO(SHEET.pdf(sheet, one)))
    texts = [page.get_textpage().get_text_range() for page in read]
    assert len(texts) == len(sheet.pages)  # the first stands under what goes together in which order
    for page, text in zip(sheet.pages, texts, strict=True):
        assert page.title in (text if text == texts[0] else text[:400]), page.title
        assert text.count("This page put together") == 1
        assert page.title in texts[0]


def test_a_part_that_several_lines_take_is_not_counted_whole_at_each(built: Assessment) -> None:
    """Two gaskets of one number, one on each side: neither line says that both go in there."""
    build = built.bench.build
    first = build.pages[0]
    gaskets = Chosen("MG", Typed("manifold gasket"), new=True, count=2)
    lines = tuple(
        replace(line, parts=(gaskets,)) if line.number in ("1.1", "1.3") else line for line in first.lines
    )
    pages = (replace(first, lines=lines), *build.pages[1:])
    sheet = build_sheet(replace(built, bench=replace(built.bench, build=replace(build, pages=pages))))
    said = [text for line in sheet.pages[0].lines for word, text in line.details if word == "new"]
    assert [text for text in said if text.startswith("MG")] == [
        "MG, manifold gasket, 2 pieces in all, for lines 1.1 and 1.3"
    ] * 2


@pytest.mark.parametrize("job", ["2026-007-garden-tiller", "2026-013-sidecar-twin"])
def test_pistons_that_came_with_a_bored_cylinder_are_new(job: str) -> None:
    """Both were bored by these jobs' files, so what runs in them was bought; the sheet said used again."""
    loaded = load_shop(ROOT / "jobs", [job])
    lines = assess_job(loaded, loaded.jobs[job]).bench.build.lines
    pistons = next(line for line in lines if line.name == "pistons")
    assert [part.new for part in pistons.parts] == [True]
    assert pistons.parts[0].part.startswith("PI-")


def test_no_letter_stands_beside_the_paper(pdf_renderer: object) -> None:
    """A note of the maker's beside German heads, the widest table of the twin cam's sheet."""
    import pypdfium2

    name = "2026-004-twin-cam"
    folder = load_shop(ROOT / "jobs", [name])
    job = replace(assess_job(folder, folder.jobs[name]), shop_language="de")
    sheet = next(document for document in register.DOCUMENTS if document.name == "build-sheet")
    for page in pypdfium2.PdfDocument(io.BytesIO(sheet.pdf(sheet.view(job), job))):
        text = page.get_textpage()
        right = max(text.get_charbox(at)[2] for at in range(text.count_chars()))
        assert right < page.get_width() - 16 / 25.4 * 72, text.get_text_bounded()[:60]
