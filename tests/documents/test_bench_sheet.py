"""Paper and file in one order: what is due, and typing it in."""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from click.testing import CliRunner
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.model.assessment import Due, DueRound
from rebuildreport.commands.bench_sheet import command
from rebuildreport.documents.bench.benchsheet import bench_sheet
from rebuildreport.documents.bench.roundfile import round_file
from rebuildreport.documents.drawings.bench_drawings import bench_drawing
from rebuildreport.documents.drawings.canvas import wide
from rebuildreport.documents.press import places
from rebuildreport.documents.press.language import language, speaking
from rebuildreport.documents.press.pdf import Paper
from rebuildreport.documents.sheets import register
from rebuildreport.quantities import Typed, english
from rebuildreport.records import load_shop
from rebuildreport.records.files.folder import RoundFile
from rebuildreport.records.text.reader import read_bytes
from rebuildreport.trade.kinds import KINDS

from ..demo import stages

DEMO = Path(__file__).resolve().parents[2] / "jobs"
MM = 72 / 25.4
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"


@pytest.fixture
def evening(tmp_path: Path) -> Path:
    """The demo shop with the orchard six on its first evening: in the shop, and nothing measured."""
    shop = tmp_path / "jobs"
    shutil.copytree(DEMO, shop, ignore=shutil.ignore_patterns("photos", "*.jpg"))
    for name in ("teardown", "findings", "work", "assembly", "running"):
        (shop / SIX / f"{name}.yaml").unlink()
    shutil.rmtree(shop / SIX / "measurements")
    return shop


def known(shop: Path, name: str = SIX) -> tuple[Assessment, tuple[Due, ...], dict[str, RoundFile]]:
    folder = load_shop(shop, [name])
    job = folder.jobs[name]
    assert job.usable, job.problems
    one = assess_job(folder, job)
    return one, due(folder, job, one), dict(job.rounds)


def test_no_wear_limit_stands_beside_the_box_of_a_surface_that_was_ground(tmp_path: Path) -> None:
    """By the demo's decisions: mains and pins are ground, so neither form nor fit has worn limits to meet."""
    stages.at(tmp_path / "shop", SIX, "approval")
    _, found, _ = known(tmp_path / "shop")
    wear = {
        one.feature: {limit.key for limit in one.limits if limit.limits.wear != (None, None)} for one in found
    }
    assert not wear["main_journals"] and not wear["rod_journals"]
    assert wear["rod_side_clearance"]  # of parts that go back in


def test_everything_that_the_sheet_asks_for_is_due_on_the_first_evening(evening: Path) -> None:
    one, found, _ = known(evening)
    wanted = {f.name: f.positions for f in one.features if f.positions and f.columns}
    assert {each.feature: each.positions for each in found} == wanted
    paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
    assert paper.boxes == sum(len(each.positions) * len(each.columns) for each in found)


def test_part_by_part_and_nothing_twice(evening: Path) -> None:
    """A person walks to each part once, and takes each sort of instrument once for it."""
    _, found, _ = known(evening)
    parts = [each.part for each in found if each.when == "apart"]
    assert [p for i, p in enumerate(parts) if i == 0 or parts[i - 1] != p] == list(dict.fromkeys(parts))
    assert len({each.feature for each in found}) == len(found)


def test_what_needs_the_engine_whole_comes_before_what_needs_it_apart(evening: Path) -> None:
    """Common practice: compression with the engine whole, end float before the caps come off, then parts."""
    one, found, _ = known(evening)
    order = [each.feature for each in found]
    whole = ["compression", "crank_end_float", "main_journals"]
    assert whole == sorted(whole, key=order.index)
    heads = [head for head, _ in bench_sheet(replace(one, due=DueRound("arrival", found))).parts]
    assert heads[:2] == ["Whole engine, before it comes apart", "Before these come apart"]
    assert len(heads) == len({*heads})
    (evening / SIX / "teardown.yaml").write_text("by: bench 2\ndate: 2026-04-15\nsteps:\n", "utf-8")
    assert {each.when for each in known(evening)[1]} == {"apart"}  # the sheet does not ask for the impossible


def test_limits_stand_in_the_unit_in_which_the_boxes_are_filled_in(evening: Path) -> None:
    """A shop that prints inches first writes this engine's readings down in mm: so do its limits stand."""

    def limits() -> dict[str, tuple[str, tuple[tuple[str, str, str], ...]]]:
        one, found, _ = known(evening)
        paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
        return {b.title: (b.unit, b.limits) for _, blocks in paper.parts for b in blocks if b.unit == "mm"}

    metric = limits()
    shop = evening / "shop.yaml"
    text = shop.read_text("utf-8")
    assert "first_unit: mm" in text
    shop.write_text(text.replace("first_unit: mm", "first_unit: in"), "utf-8")
    assert limits() == metric
    assert ("size", "75.970–75.990", "") in metric["Main journals"][1]


BEGUN = """\
date: 2026-04-16
by: bench 2
temperature: 20 °C
tables:
  timing_chain:
    unit: mm
    instrument: caliper_300
    columns: length_20
    rows:
      chain: 160.40
  main_journals:
    unit: mm
    instrument: mic_25_50
    columns: front_a front_b rear_a rear_b
    rows:
      M1: 47.996 47.995 47.995 47.994
      M2: 47.992 47.991 47.991 47.990
      M3: 47.992 47.991 47.991 47.990
  rod_journals:
    unit: mm
    instrument: mic_25_50
    columns: front_a front_b rear_a rear_b
    rows:
      R2: 40.988 -- -- --
"""


def test_only_what_is_due(evening: Path) -> None:
    """A twin cam that is apart, and measured as far as the phone rang."""
    job = evening / FOUR
    for path in [*job.glob("*.yaml"), *job.glob("measurements/*.yaml")]:
        if path.name != "job.yaml":
            path.unlink()
    apart = "by: bench 2\ndate: 2026-04-15\nsteps:\n  - removed: timing_cover\n"
    (job / "teardown.yaml").write_text(apart, "utf-8")
    (job / "measurements" / "arrival.yaml").write_text(BEGUN, "utf-8")
    _, found, _ = known(evening, FOUR)
    by = {each.feature: each.positions for each in found}
    assert by["main_journals"] == ("M4", "M5")
    assert by["rod_journals"] == ("R1", "R2", "R3", "R4")  # R2 was read once: that is no measurement
    assert by["bores"] == ("C1", "C2", "C3", "C4")
    assert "compression" not in by and "timing_chain" not in by  # apart; and read


def boxes(found: tuple[Due, ...], one: Assessment) -> list[tuple[str, str, str]]:
    """Every box as printed: down the left half of each table, then down the right one."""
    printed = []
    paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
    blocks = [block for _, blocks in paper.parts for block in blocks]
    for each, block in zip(found, blocks, strict=True):
        assert block.title == english(each.title)
        halves = max(len(line) for line in block.lines)
        order = [line[k] for k in range(halves) for line in block.lines if k < len(line)]
        assert order == [position.replace("_", " ") for position in each.positions]
        printed += [
            (each.feature, position, column) for position in each.positions for column in each.columns
        ]
    return printed


def test_round_trip_typed_in_printed_order(evening: Path) -> None:
    """Values of the demo's arrival typed box by box give the demo's characteristics of the arrival."""
    one, found, _ = known(evening)
    whole = load_shop(DEMO, [SIX])
    arrival = whole.jobs[SIX].rounds["arrival"]
    read: dict[tuple[str, str, str], str] = {}
    for name, table in arrival.model.tables.items():
        for position, row in arrival.cells[name].items():
            for column, cell in row.items():
                read[(table.feature or name, position, column)] = cell.text
    typed = iter([read.get(box, "--") for box in boxes(found, one)])
    text = round_file(found, "2026-02-05", "mm")
    lines = []
    for line in text.splitlines():
        row = re.fullmatch(r"(      \S+: +)(--(?: +--)*)", line)
        lines.append(row[1] + "  ".join(next(typed) for _ in row[2].split()) if row else line)
    assert next(typed, None) is None  # as many boxes on paper as in the file
    (evening / SIX / "measurements").mkdir()
    filled = "\n".join(lines).replace("by: not written down yet", "by: bench 1")
    filled = re.sub(r"    #state: ", "    state: ", filled)
    for name, table in arrival.model.tables.items():  # what the demo read with, so that the doubt is the same
        head = f"  {table.feature or name}:  #"
        if table.instrument and head in filled and (table.feature or name) == name:
            start = filled.index(head)
            part = re.sub(
                r"    #?instrument: .*", f"    instrument: {table.instrument}", filled[start:], count=1
            )
            if table.set_from:
                part = re.sub(r"(    instrument: .*)", rf"\1\n    set_from: {table.set_from}", part, count=1)
            filled = filled[:start] + part
    (evening / SIX / "measurements" / "arrival.yaml").write_text(filled, "utf-8")
    folder = load_shop(evening, [SIX])
    job = folder.jobs[SIX]
    assert not [p for p in job.problems if p.severity == "error"], job.problems
    typed_in = {
        c.key: (c.value, c.standard_uncertainty)
        for c in assess_job(folder, job).characteristics
        if c.round == "arrival" and c.name != "wet"
    }
    demo = {
        c.key: (c.value, c.standard_uncertainty)
        for c in assess_job(whole, whole.jobs[SIX]).characteristics
        if c.round == "arrival" and c.name != "wet"
    }
    assert len(demo) > 400 and typed_in.keys() == demo.keys()
    for key, (value, doubt) in demo.items():
        assert typed_in[key][0] == pytest.approx(value), key
        assert typed_in[key][1] == pytest.approx(doubt), key


def test_the_command_writes_both_and_overwrites_nothing(
    evening: Path, pdf_renderer: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "site"
    args = [SIX, "--shop", str(evening), "--out", str(out), "--date", "2026-02-05"]
    done = CliRunner().invoke(command, args, standalone_mode=False)
    assert (done.return_value, done.exception) == (0, None)
    path = evening / SIX / "measurements" / "arrival.yaml"
    pdf = out / "shop" / SIX / "bench-sheet-arrival.pdf"
    assert pdf.read_bytes().startswith(b"%PDF") and path.exists()
    monkeypatch.setattr(Paper, "pdf", lambda self: b"%PDF again")  # the renderer has shown that it can
    path.write_text("date: 2026-02-05\nby: me\ntemperature: 20 °C\n", "utf-8")
    again = CliRunner().invoke(command, [*args[:1], "arrival", *args[1:]], standalone_mode=False)
    assert again.return_value == 0
    assert path.read_text("utf-8").startswith("date: 2026-02-05\nby: me")
    assert pdf.read_bytes() == b"%PDF again"


def test_a_unit_that_yaml_reads_otherwise_comes_back(evening: Path) -> None:
    """The sign of the percentage begins no text in YAML 1.1 (section 5.3): it stands in quotes."""
    _, found, _ = known(evening)
    odd = replace(found[0], unit="%", state="warm: 80 °C # by hand", title=Typed("Loss\nof each"))
    source, problems = read_bytes(round_file([odd], "2026-02-05", "mm").encode(), "arrival.yaml")
    assert not problems
    assert source.data["tables"][odd.feature]["unit"] == "%"


def test_limits_stand_beside_the_boxes(evening: Path) -> None:
    one, found, _ = known(evening)
    paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
    blocks = {block.title: block for _, blocks in paper.parts for block in blocks}
    mains = blocks["Main journals"]
    assert ("size", "75.970–75.990", "") in mains.limits
    assert ("taper", "max 0.008", "max 0.030") in mains.limits
    assert mains.instrument == "micrometer, 75 to 100 mm"
    assert mains.drawing is not None and "front" in mains.drawing.label


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_has_a_row(kind: str) -> None:
    """A kind that is measured says how, in words that fit beside its boxes; its drawing stays inside."""
    assert len(KINDS[kind].readings) < 260 or not KINDS[kind].needs_columns  # has no row
    columns = ["front_a", "front_b", "at_0", "at_90", "rear_a"]
    drawn = bench_drawing(KINDS[kind].drawing, columns, ["y0", "y75", "lengthwise_1", "across_front"])
    if drawn is None:  # words alone say where each reading goes
        assert KINDS[kind].drawing in ("part", "fit"), "no function of bench_drawings.py draws it"
        return
    assert drawn.label.endswith(".")
    numbers = [float(x) for path in drawn.paths for x in re.findall(r"-?[0-9]+(?:[.][0-9]+)?", path.d)]
    assert numbers and min(numbers) >= 0 and max(numbers) <= float(drawn.width)


@pytest.mark.parametrize("tongue", ["en", "de"])
def test_words_stay_inside_their_drawing(evening: Path, tongue: str) -> None:
    """Of every feature of the evening, in both languages: a name that is cut off is no name."""
    _, found, _ = known(evening)
    with speaking(language(tongue)):
        drawn = [bench_drawing(due.drawing, due.columns, due.positions) for due in found]
    for drawing in filter(None, drawn):
        for label in drawing.labels:
            room = wide(label.text, 6.2) * 0.95  # regular letters are narrower than those that are counted
            left = float(label.x) - {"start": 0.0, "middle": room / 2, "end": room}[label.anchor]
            assert left >= 0 and left + room <= float(drawing.width), label.text


def test_angles_run_as_the_report_draws_them() -> None:
    """0 at the top and 90 at the right, as on a degree wheel: paper and report must not be mirrored."""
    drawn = bench_drawing("indicator", ["at_0", "at_90", "at_180", "at_270"], [])
    assert drawn is not None
    at = {label.text: (float(label.x), float(label.y)) for label in drawn.labels}
    assert at["0"][1] < at["90"][1] < at["180"][1] and at["270"][0] < at["0"][0] < at["90"][0]


@pytest.mark.parametrize(
    ("drawing", "said"),
    [
        ("line", "bottom"),
        ("pump", "tip"),
        ("gauge", "cylinder by cylinder"),
        ("bearing", "crown"),
        ("deck", "axis"),
    ],
)
def test_what_is_not_round_is_drawn_too(drawing: str, said: str) -> None:
    drawn = bench_drawing(drawing, ["bottom", "tip"], ["C1", "C2"])
    assert drawn is not None and said in drawn.label and drawn.labels


def test_an_instrument_shows_the_unit_of_its_boxes(evening: Path) -> None:
    """The demo's shop has gauges of both systems: nobody is sent to convert who need not."""
    asked = [each for each in known(evening)[1] if each.instruments]
    assert {"mm", "bar", "N"} <= {each.unit for each in asked}
    for each in asked:
        assert each.asks is not None
        assert each.asks.tools[each.instruments[0]].step_unit == each.asks.unit, each.feature


COLUMNS = {
    # kind and columns: what must be said at the bench, and what is said of other features only
    ("journal", ("skirt_t",)): ("one reading of each", "two planes"),
    ("journal", ("a", "b")): ("in one plane, which give no taper", "front_a"),
    ("bore", ("top_t", "top_l", "low_t", "low_l")): ("2 planes (top, low) by 2 directions (t, l)", "housing"),
    ("matched", ("volume",)): ("one for each of the set", "weighed"),
    ("matched", ("big", "small")): ("weighed at both ends", "set"),
    ("leak_down", ("loss",)): ("top dead centre", "supply"),
    ("end_float", ("end_float",)): ("levered both ways", "washer"),
    ("compression", ("pressure",)): ("throttle open", "wet"),
}


@pytest.mark.parametrize(("kind", "columns"), list(COLUMNS))
def test_the_words_are_of_these_columns(kind: str, columns: tuple[str, ...]) -> None:
    said, unsaid = COLUMNS[(kind, columns)]
    words = english(KINDS[kind].asks(columns))
    assert said in words and unsaid not in words


def test_no_name_of_the_files_stands_on_paper(evening: Path) -> None:
    one, found, _ = known(evening)
    paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
    for _, blocks in paper.parts:
        for block in blocks:
            labels = [label.text for label in block.drawing.labels] if block.drawing else []
            assert not [text for text in (block.readings, *block.columns, *labels) if "_" in text]


def test_springs_say_the_lengths_at_which_they_are_read(evening: Path) -> None:
    """Load is read at a length (EN 13906-1), so the length stands beside the box."""
    sheet = evening / "engines" / "tarnbeck-od6-54.yaml"
    one, found, _ = known(evening)
    given = re.findall("(?:closed|open)_length: (.*?) *(?:#.*)?$", sheet.read_text("utf-8"), re.MULTILINE)
    paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
    blocks = {block.title: block for (_, blocks) in paper.parts for block in blocks}
    loads = [blocks[english(each.title)] for each in found if each.kind == "spring_load"]
    assert loads and given
    assert all(length in " ".join(block.readings for block in loads) for length in given)
    labels = [label.text for block in loads if block.drawing for label in block.drawing.labels]
    assert "load closed" in labels and "square" not in labels


def test_guides_are_named_clear_of_what_is_drawn() -> None:
    drawn = bench_drawing("guide", ["guide_top_l", "guide_low_l", "stem_top_l"], ["I1"])
    assert drawn is not None
    at = {label.text: (float(label.x), label.anchor) for label in drawn.labels}
    assert at["guide top l"][0] < 57 and at["guide top l"][1] == "end"  # the wall of the guide begins there
    assert at["stem top l"][0] > 93 and at["stem top l"][1] == "start"


def test_lines_of_a_straightedge_by_the_shop_s_own_names() -> None:
    own = ["left_long", "left_across", "right_long", "right_across", "by_the_plugs"]
    drawn = bench_drawing("lines on a face", ["gap"], own)
    assert drawn is not None
    assert sorted(label.text for label in drawn.labels) == ["by the plugs", "left", "left", "right", "right"]


def test_a_ring_is_no_place_and_a_shell_is_as_wide_as_its_seat(evening: Path) -> None:
    """Named from the top, in any language; a free half of ISO 3548-1 is read over its seat of 80 mm."""
    one, found, _ = known(evening)
    with speaking(language("de")):
        paper = bench_sheet(replace(one, due=DueRound("arrival", found)))
    blocks = {block.title: block for _, blocks in paper.parts for block in blocks}
    assert blocks["Ringstoßspiel"].columns == ("oberster Ring", "zweiter Ring", "Ölring")
    spread = next(each for each in found if each.feature == "main_shell_spread")
    assert "75 to 100" in english(spread.instrument)


def test_the_gauge_whose_range_the_limits_fill_is_offered(evening: Path) -> None:
    """Of two that can read it, the one with the shorter scale reads it better (common practice)."""
    shop = evening / "shop.yaml"
    gauge = (
        "instruments:\n  a_wide_gauge:\n    kind: pressure gauge\n    range: 0 to 60 bar\n"
        "    resolution: {0}\n    permitted_error: {0}\n  short_gauge:\n    kind: pressure gauge\n"
        "    range: 0 to 12 bar\n    resolution: {0}\n    permitted_error: {0}\n"
    ).format("0.001 bar")
    shop.write_text(shop.read_text("utf-8").replace("instruments:\n", gauge, 1), "utf-8")
    oil = next(each for each in known(evening)[1] if each.kind == "oil_pressure")
    assert oil.instruments.index("short_gauge") < oil.instruments.index("a_wide_gauge")


def test_a_telephone_holds_the_sheet(evening: Path, chromium: Any, tmp_path: Path) -> None:
    """Its classes are its own: a wide table of another document does not widen it."""
    one, found, _ = known(evening)
    view = bench_sheet(replace(one, due=DueRound("arrival", found)))
    (tmp_path / "assets").mkdir()
    (tmp_path / "assets" / "pages.css").write_text(places.stylesheet(), encoding="utf-8")
    (tmp_path / "assets" / "screen.css").write_text(places.stylesheet(screen=True), encoding="utf-8")
    page = tmp_path / "job" / "sheet.html"
    page.parent.mkdir()
    page.write_text(register.named("bench-sheet").html(view), encoding="utf-8")
    window = chromium.new_page(viewport={"width": 390, "height": 800})
    window.goto(page.as_uri())
    assert window.evaluate("document.documentElement.scrollWidth") <= 390
    window.close()


@pytest.mark.parametrize(
    ("drawing", "columns", "ring"),
    [
        ("pump", ["tip", "outer_body", "end"], ()),
        ("gear", ["first", "second", "third", "fourth"], (40.0, 84.0)),  # where it crosses the middle
    ],
)
def test_long_names_are_whole_and_meet_no_line(
    drawing: str, columns: list[str], ring: tuple[float, ...]
) -> None:
    with speaking(language("de")):
        drawn = bench_drawing(drawing, columns, ["crank_idler"])
        wanted = [language("de").named(column) for column in columns]
        assert language("de").named("line_2") == "Linie 2"  # and no line of a price list
    assert drawn is not None and [label.text for label in drawn.labels] == wanted
    for label in drawn.labels:
        room = wide(label.text, 7.4) * 0.95  # regular letters are narrower than those that are counted
        left = float(label.x) - {"start": 0.0, "middle": room / 2, "end": room}[label.anchor]
        assert left >= 0 and left + room <= float(drawn.width), label.text
        assert not any(left < x < left + room for x in ring), label.text


@pytest.mark.parametrize(
    ("job", "stage", "tongue"),
    [
        (SIX, "arrival", "de"),
        (SIX, "decision", "en"),
        (SIX, "assembly", "en"),
        (FOUR, "arrival", "en"),
        ("2026-016-recovery-truck-v8", "as it stands", "en"),
        ("2026-020-rattling-three", "as it stands", "de"),
    ],
)
def test_an_assembly_has_its_page_and_no_page_is_nearly_empty(
    job: str, stage: str, tongue: str, tmp_path: Path, pdf_renderer: Any
) -> None:
    """What goes on over a page does so because one does not hold it, and its name stands at the foot there.

    A third of the height between the margins is asked for; a word of a head is never parted.
    """
    shop = stages.SHOP
    if stage != "as it stands":
        shop = tmp_path / "jobs"
        stages.at(shop, job, stage)
    one, found, _ = known(shop, job)
    one = replace(one, due=DueRound("inspection", found), shop_language=tongue)
    assert all(due.part for due in found if due.kind == "shells")  # beside the housing that they lie in
    document = register.named("bench-sheet")
    view = document.view(one, shop)
    parts = [part for part, _ in view.parts]
    pages = list(pypdfium2.PdfDocument(io.BytesIO(document.pdf(view, one, shop))))
    first, begun = "", []
    for number, page in enumerate(pages):
        lines = [line.strip() for line in page.get_textpage().get_text_range().splitlines()]
        (top, foot), before = (page.get_height() - 22 * MM, 16 * MM), first
        ends = [low for _, low, _, high in (item.get_bounds() for item in page.get_objects())]
        assert min(low for low in ends if low > foot) < top - (top - foot) / 3, (number, lines[:4])
        first = lines[0]
        if number and first not in parts:
            further = {"en": "continued", "de": "Fortsetzung"}[tongue]
            assert lines[-1].startswith(f"{begun[-1]}, {further} · "), (number, lines[-1])
            # above the first is the sheet's head; what else goes on begins where its page were nearly empty
            words = pages[number - 1].get_textpage()
            found_at = words.search(begun[-1]).get_next()
            assert found_at is not None
            high = words.get_charbox(found_at[0])[1] > top - (top - foot) / 3
            assert begun[-1] in (parts[0], before) or high, (number, begun[-1])
        elif number:
            assert lines[-1].startswith(f"{first} · "), (number, lines[-1])
        begun += [part for part in parts if part in lines]
    assert begun == parts


@pytest.mark.parametrize("job", [stages.D1, stages.D2])
def test_nothing_is_asked_of_what_was_built_in(job: str, tmp_path: Path) -> None:
    """A face that is bolted down and a journal in its shells are not read, a test of the whole still is."""
    stages.at(tmp_path / "jobs", job, "assembly")
    folder = load_shop(tmp_path / "jobs")
    record, one = folder.jobs[job], assess_job(folder, folder.jobs[job])
    asked = {each.feature for each in due(folder, record, one)}
    whole = {"compression", "leak_down", "oil_pressure"}
    assert whole <= asked <= {*whole, "tensioner"}  # which may be read in its place
    # with one bolt of the head to be tightened it is still apart
    (head,) = [page for page in one.bench.build.pages if page.name == "head"]
    lines = tuple(replace(line, state="open") if line.verb == "tighten" else line for line in head.lines)
    pages = [replace(page, lines=lines) if page is head else page for page in one.bench.build.pages]
    build = replace(one.bench.build, pages=tuple(pages))
    loose = replace(one, bench=replace(one.bench, build=build))
    assert {each.feature for each in due(folder, record, loose)} > asked


def test_the_sheet_has_the_limits_by_which_what_was_machined_is_judged_then(tmp_path: Path) -> None:
    """Shells have walls of the size that their journals are ground to."""
    stages.at(tmp_path / "jobs", SIX, "approval")
    _, found, _ = known(tmp_path / "jobs")
    done, _, _ = known(DEMO)
    met = set()
    for each in found:
        for limit in each.limits:
            for c in done.characteristics:
                if (c.feature, c.round) != (
                    each.feature,
                    "after-machining",
                ) or c.position not in each.positions:
                    continue
                if c.limits and c.limits.size and KINDS[each.kind].trait(c.name).limit == limit.key:
                    assert limit.limits.new == pytest.approx(c.limits.new), (each.feature, limit.key)
                    met.add(each.feature)
    assert {"main_journals", "rod_journals", "main_shells", "rod_shells"} <= met
