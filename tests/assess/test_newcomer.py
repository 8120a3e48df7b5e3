"""An inch flat four as a newcomer wrote it: the engine, the job and what comes next, in words."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.measure.due import fitting
from rebuildreport.documents.press.enginewords import engine_lines
from rebuildreport.quantities import english
from rebuildreport.records import load_shop

from ..keys import value_key
from .bench import Bench

JOURNALS = """\
journals:
  kind: journal
  positions: R1 to R2
  columns: front_a front_b
  unit: in
  new:
    size: 2.0990 to 2.0998
  source: manual page 1
"""
INCH_ENGINE = (
    ("maker: Nobody", "maker: Nowhere (invented)"),
    ("model: N-4", "model: Nowhere flat four"),
    ("arrangement: inline", "arrangement: flat\n  bore: 3.6250 in\n  stroke: 2.875 in"),
)


def inch_bench(folder: Path, features: str = JOURNALS, rest: str = "") -> Bench:
    """The bench with an inch shop and an engine typed in inches."""
    bench = Bench(folder, features, rule="guarded", rest=rest)
    sheet, shop = bench.shop / "engines/n-4.yaml", bench.shop / "shop.yaml"
    text = sheet.read_text(encoding="utf-8")
    for old, new in INCH_ENGINE:
        text = text.replace(old, new)
    sheet.write_text(text, encoding="utf-8")
    shop.write_text(
        shop.read_text(encoding="utf-8").replace("first_unit: mm", "first_unit: in"), encoding="utf-8"
    )
    return bench


def test_maker_once_sizes_as_typed_and_a_meter_that_nobody_believes(tmp_path: Path) -> None:
    bench = inch_bench(tmp_path)
    job = bench.job / "job.yaml"
    job.write_text(
        job.read_text(encoding="utf-8") + "  meter: 71240 miles\n  meter_believed: no\n", encoding="utf-8"
    )
    first, second = engine_lines(bench.assess())
    assert first == "Nowhere flat four, flat four"
    # 3.6250 x 2.875 in: pi / 4 * 3.6250^2 * 2.875 * 4 = 118.68 in3 (by hand)
    said = second.replace("\N{NO-BREAK SPACE}", " ")
    assert said.startswith("3.6250 × 2.875 in, 118.7 in³") and said.endswith("71240 miles, not believed")


def test_limits_keep_the_digits_of_their_own_unit(tmp_path: Path) -> None:
    """0.0001 in is 0.00254 mm: four decimals of an inch are three of a millimetre."""
    bench = inch_bench(tmp_path)
    bench.round(
        "arrival",
        "2026-03-02",
        "journals:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    R1: 2.0992 2.0991\n",
    )
    found = bench.assess().find(value_key("journals.largest R1 @arrival"))
    assert found is not None and found.limits is not None
    assert found.limits.decimals == 3


def test_what_comes_next_follows_from_the_stage_and_what_is_open(tmp_path: Path) -> None:
    bench = Bench(tmp_path, JOURNALS)
    assert [english(one.label) for one in bench.assess().next_steps] == ["Next", "Then"]
    bench.round(
        "arrival",
        "2026-03-02",
        "journals:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    R1: 2.0992 2.0991\n",
    )
    bench.write(
        "work.yaml",
        """\
        decisions:
          W1:
            about: journals
            do: recondition
            size: 0.010 in undersize
            why: worn
            by: shop
            date: 2026-03-05
        """,
    )
    steps = {english(one.label): one.text for one in bench.assess().next_steps}
    assert "approval" in english(steps["First"])
    assert "machining" in english(steps["Next"])
    bench.round(
        "after",
        "2026-03-10",
        "journals:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    R1: 2.0892 2.0891\n",
    )
    assert english({english(one.label): one.text for one in bench.assess().next_steps}["Next"]).startswith(
        "the engine goes"
    )
    bench.write(
        "running.yaml",
        "first_start:\n  date: 2026-04-01\n  by: me\nnext:\n  - at: after 20 h\n    do: change the oil\n",
    )
    assert [(english(one.label), english(one.text)) for one in bench.assess().next_steps] == [
        ("after 20 h", "change the oil")
    ]


@pytest.mark.parametrize("believed, said", [("", "9412 h"), ("\n  meter_believed: yes", "9412 h")])
def test_a_meter_that_is_believed_or_not_asked_stands_alone(tmp_path: Path, believed: str, said: str) -> None:
    bench = Bench(tmp_path, JOURNALS)
    job = bench.job / "job.yaml"
    job.write_text(job.read_text(encoding="utf-8") + f"  meter: 9412 h{believed}\n", encoding="utf-8")
    assert english(bench.assess().meter) == said


RINGS = """\
rings:
  kind: ring_gap
  positions: C1 to C3
  columns: top
  unit: in
  new:
    top: 0.012 to 0.020
  wear:
    top: max 0.040
  source: manual page 1
  replace_with: R
"""
GAPS = "rings:\n  unit: thou\n  instrument: feelers\n  columns: top\n  rows:\n    C1: 15.0\n    C2: {}\n"


def test_a_ring_to_file_is_told_so_in_inches_and_clear_of_the_guard(tmp_path: Path) -> None:
    """Thou, by hand: permitted error 0.3 / sqrt 3 and step 0.5 / sqrt 12 are 0.173 and 0.144, together
    0.225, guard 1.645 * 0.225 = 0.371: the gap must be 12.371, so it reads 12.5, and 1.5 comes off 11.0."""
    parts = "parts:\n  R:\n    name: ring\n    price: 5.00\n"
    bench = inch_bench(tmp_path, RINGS, parts)
    shop = bench.shop / "shop.yaml"
    text = shop.read_text(encoding="utf-8").split("  feelers:")[0]
    feelers = "range: 1.5 to 20 thou\n    resolution: 0.5 thou\n    permitted_error: 0.3 thou\n"
    shop.write_text(f"{text}  feelers:\n    kind: feeler gauge\n    {feelers}", encoding="utf-8")
    bench.round("fitting", "2026-03-02", GAPS.format("11.0"))
    found = bench.assess()
    one = found.find(value_key("rings.top C2 @fitting"))
    assert one is not None and (one.verdict, english(one.side)) == ("beyond limit", "too small")
    assert english(one.advice) == "file to fit: 0.0015 in off the ring's ends, to 0.0125 in"
    assert english(found.to_decide[0]) == f"Rings, top ring C2: too small; {english(one.advice)}"
    assert found.cost.lines == ()  # no ring is bought for one that is only to be filed
    bench.round("fitting", "2026-03-02", GAPS.format("12.5"))
    filed = bench.assess().find(value_key("rings.top C2 @fitting"))
    assert filed is not None and filed.verdict == "as new"


@pytest.mark.parametrize("name", ["2026-003-orchard-six", "2026-004-twin-cam"])
def test_a_job_is_told_before_anybody_has_typed_its_engine_s_sheet(tmp_path: Path, name: str) -> None:
    """What its findings want drawn is not known yet, and all that was seen stands there."""
    jobs = Path(__file__).resolve().parents[2] / "jobs"
    (tmp_path / name).mkdir()
    shutil.copy(jobs / "shop.yaml", tmp_path)
    for file in ("job.yaml", "findings.yaml", "teardown.yaml", "work.yaml"):
        shutil.copy(jobs / name / file, tmp_path / name)
    folder = load_shop(tmp_path)
    seen = folder.jobs[name].seen
    assert any(record.shown for record in seen.values())
    told = assess_job(folder, folder.jobs[name]).findings
    assert {one.id: one.shows for one in told} == dict.fromkeys(seen, ())


def test_a_finding_that_names_no_value_shows_the_one_farthest_out(tmp_path: Path) -> None:
    """R2 is 1.0 thou under its limit, R1 0.2: the eye of anybody goes to R2 (common practice)."""
    bench = inch_bench(tmp_path, JOURNALS)
    bench.round(
        "arrival",
        "2026-03-02",
        "journals:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n"
        "    R1: 2.0988 2.0988\n    R2: 2.0975 2.0980\n",
    )
    bench.write(
        "findings.yaml",
        """\
        findings:
          F1:
            component: journals
            seen: scoring
            disposition: recondition
        """,
    )
    (finding,) = bench.assess(clean=False).findings
    assert finding.shows == (value_key("journals.smallest R2 @arrival"),)
    assert finding.verdict == "beyond limit"


def test_steps_of_an_instrument_stand_in_its_own_unit(tmp_path: Path) -> None:
    """0.0008 in is 0.0203 mm wide (1 in = 25.4 mm): a feeler stepping 0.01 mm is too coarse for it."""
    bench = inch_bench(tmp_path)
    bench.round(
        "arrival",
        "2026-03-02",
        "journals:\n  instrument: feelers\n  columns: front_a front_b\n  rows:\n    R1: 2.0992! 2.0991!\n",
    )
    found = bench.assess(clean=False).find(value_key("journals.largest R1 @arrival"))
    assert found is not None
    assert (
        "steps of 0.01 mm on the feeler gauges, coarser than a tenth of the tolerance, which is 0.0203 mm"
        in english(found.fitness)
    )


GUIDES = """\
springs:
  kind: spring_length
  positions: E1 E2
  columns: free
  unit: mm
  new:
    free: 47.5 to 48.5
  wear:
    free: min 46.0
  replace_with: VS
  source: manual page 2
compression:
  kind: compression
  positions: C1 C2
  columns: pressure
  unit: psi
  new:
    pressure: min 80
  source: manual page 3
"""
SPRING = "parts:\n  VS:\n    name: valve spring\n    price: 6.20\n"
READ = "springs:\n  unit: mm\n  instrument: mic\n  columns: free\n  rows:\n    E1: 48.00\n    E2: {}\n"


def test_a_bought_part_stays_on_the_list_when_the_new_one_is_measured(tmp_path: Path) -> None:
    """E2 was sagged, and reads like new later: springs do not grow again, so it was renewed, and is paid."""
    bench = Bench(tmp_path, GUIDES, rest=SPRING)
    bench.round("arrival", "2026-03-02", READ.format("44.10"))
    assert [(line.number, line.quantity) for line in bench.assess().cost.lines] == [("VS", 1)]
    bench.round("after", "2026-03-10", READ.format("48.10"))
    found = bench.assess()
    assert [(line.number, line.quantity) for line in found.cost.lines] == [("VS", 1)]
    (asked,) = [line for line in found.to_decide if english(line).startswith("Springs E2")]
    assert (
        "2026-03-02" in english(asked)
        and "2026-03-10" in english(asked)
        and "renewed, or was the first reading wrong" in english(asked)
    )
    # one that was bought for it and was here by then is what was read
    bench.write("work.yaml", "orders:\n  - part: VS\n    received: 2026-03-09\n")
    bought_in = bench.assess()
    assert not [line for line in bought_in.to_decide if english(line).startswith("Springs E2")]
    assert [(line.number, line.quantity) for line in bought_in.cost.lines] == [("VS", 1)]
    decision = (
        "decisions:\n  W1:\n    about: springs\n    positions: E2\n    do: {}\n    why: {}\n    by: shop\n"
    )
    for do, why, bought in (("replace", "sagged", 1), ("reuse", "misread", 0)):
        bench.write("work.yaml", decision.format(do, why) + "    date: 2026-03-11\n")
        found = bench.assess()
        assert not [line for line in found.to_decide if english(line).startswith("Springs E2")]
        assert sum(line.quantity for line in found.cost.lines) == bought


def test_a_later_reading_that_is_no_new_part_speaks_for_it(tmp_path: Path) -> None:
    bench = Bench(tmp_path, GUIDES, rest=SPRING)
    bench.round("arrival", "2026-03-02", READ.format("44.10"))
    bench.round("again", "2026-03-03", READ.format("47.00"))
    found = bench.assess()
    assert not found.cost.lines and not [
        line for line in found.to_decide if english(line).startswith("Springs E2")
    ]


COMPRESSION = "compression:\n  unit: psi\n  columns: pressure\n  rows:\n    C1: 92\n    C2: 54\n"


def test_compression_lapses_when_the_engine_is_another_one(tmp_path: Path) -> None:
    """Read on arrival, typed in with the parts after the teardown: with pistons decided it says no more."""
    bench = Bench(tmp_path, GUIDES, rest=SPRING)
    bench.round("arrival", "2026-03-05", COMPRESSION)
    read = bench.assess()
    assert [one.now_verdict for one in read.summary if one.feature == "compression"] == ["beyond limit"]
    bench.write("teardown.yaml", "by: me\ndate: 2026-03-04\nsteps:\n  - removed: head\n")
    whole = bench.assess()  # nothing is decided about pressures: the parts that make them are
    assert not [line for line in whole.to_decide if english(line).startswith("Compression")]
    decision = "decisions:\n  W1:\n    about: springs\n    do: replace\n    why: old\n    by: shop\n"
    bench.write("work.yaml", decision + "    date: 2026-03-06\n")
    found = bench.assess()
    (row,) = [one for one in found.summary if one.feature == "compression"]
    assert row.first == value_key("compression.pressure C2 @arrival")
    assert row.now is None and row.now_verdict == "not measured"
    assert not [line for line in found.to_decide if english(line).startswith("Compression")]
    assert any(english(one) == "Compression (read earlier, not again since)" for one in found.not_measured)
    bench.round("run", "2026-03-20", COMPRESSION.replace("54", "60"))
    (row,) = [one for one in bench.assess().summary if one.feature == "compression"]
    assert row.now == value_key("compression.pressure C2 @run")


def test_what_the_shops_files_lack_is_told_by_check_and_not_to_the_customer(tmp_path: Path) -> None:
    from rebuildreport.documents.report.rendering import report_html
    from rebuildreport.documents.sheets import register

    rest = SPRING + "  SET:\n    name: shell set\n"
    features = GUIDES + GUIDES.replace("springs:", "other_springs:").split("compression:")[0]
    bench = Bench(tmp_path, features, rest=rest)
    typed = READ.format("44.10").replace("  instrument: mic\n", "")
    bench.round(
        "arrival", "2026-03-05", typed + typed.replace("springs:", "other_springs:"), temperature="15 °C"
    )
    found = bench.assess()
    warm = [line for line in found.in_the_files if "no material" in english(line)]
    assert [english(text) for text in warm] == [
        "Read away from 20 °C and no material on the sheet, so not corrected: Springs, Other springs"
    ]
    assert any("write 'per: each'" in english(line) for line in found.in_the_files)
    assert any(english(line).startswith("Instrument not named") for line in found.in_the_files)
    assert found.problems
    page = report_html(found, {}, "shop").replace("\N{NO-BREAK SPACE}", " ")
    for words in (".yaml", "per: each", "on the sheet", "Instrument not named", "Problems in the files"):
        assert words not in page, words
    record = register.named("measurement-record")
    page = record.html(record.view(found)).replace("\N{NO-BREAK SPACE}", " ")
    assert "Not corrected to 20 °C: Springs, Other springs." in page


@pytest.mark.parametrize("kind", ["micrometer", "ball-anvil micrometer"])
@pytest.mark.parametrize(("limit", "tool"), [("max 0.05", ""), ("4.95 to 5.05", "mic")])
def test_no_micrometer_is_named_for_what_may_be_a_play(
    tmp_path: Path, limit: str, tool: str, kind: str
) -> None:
    """It takes sizes over all; a play is felt with a dial or a leaf (common practice)."""
    sheet = "play:\n  kind: readings\n  positions: M1\n  columns: play\n  unit: mm\n"
    bench = Bench(tmp_path, f"{sheet}  new:\n    play: {limit}\n")
    shop = bench.shop / "shop.yaml"
    known = shop.read_text("utf-8").partition("instruments:\n")[0]
    mic = f"instruments:\n  mic:\n    kind: {kind}\n    range: 0 to 25 mm\n"
    shop.write_text(f"{known}{mic}    resolution: 0.001 mm\n    permitted_error: 0.002 mm\n", "utf-8")
    folder = load_shop(bench.shop)
    model = folder.engines["n-4"].model
    assert folder.shop is not None and model is not None
    assert fitting(folder.shop, model, "play") == tool


def test_a_summary_that_nobody_wrote_says_how_much_it_leaves_out(tmp_path: Path) -> None:
    bench = Bench(tmp_path, GUIDES, rest=SPRING)
    bench.round("arrival", "2026-03-02", READ.format("44.10"))
    decided = "    about: springs\n    positions: E2\n    do: replace\n    why: sagged\n    by: shop\n"
    seen = "    component: springs\n    title: Sagged\n    seen: sagging\n    disposition: measure_again\n"
    for count, more in ((3, ""), (4, "and one further {}"), (6, "and 3 further {}s")):
        names = range(count)
        decisions = "".join(f"  W{i}:\n{decided}    date: 2026-03-03\n" for i in names)
        bench.write("work.yaml", f"decisions:\n{decisions}")
        bench.write("findings.yaml", "findings:\n" + "".join(f"  F{i}:\n{seen}" for i in names))
        found = bench.assess()
        for said, what in ((found.did, "decision"), (found.found, "finding")):
            assert english(said).endswith(more.format(what)) and ("further" in english(said)) == bool(more)


def test_nobody_measures_again_what_is_replaced(tmp_path: Path) -> None:
    """21.5 bar beside 238 to 241 is asked about; the nozzle that is thrown away is not."""
    sheet = (
        "injectors:\n  kind: readings\n  positions: C1 to C4\n  columns: opening\n  unit: bar\n"
        "  new:\n    opening: 230 to 250\n"
    )
    bench = Bench(tmp_path, sheet)
    rows = "".join(f"    C{i}: {read}\n" for i, read in enumerate(("240", "238", "21.5", "241"), 1))
    bench.round("arrival", "2026-03-02", f"injectors:\n  columns: opening\n  rows:\n{rows}")
    for places, asked in (("C3", False), ("C2", True)):
        bench.write(
            "work.yaml",
            f"decisions:\n  W1:\n    about: injectors\n    positions: {places}\n    do: replace\n"
            "    why: worn\n    by: shop\n    date: 2026-03-03\n",
        )
        assert any("stands out" in english(line) for line in bench.assess().to_decide) == asked


def test_a_gauge_reaches_well_above_the_least_that_is_asked_for(tmp_path: Path) -> None:
    """A sound cylinder reads a third above its least (common practice), which is past 10 bar here."""
    bench = Bench(tmp_path, GUIDES.replace("psi", "bar").replace("min 80", "min 8.0"))
    shop = bench.shop / "shop.yaml"
    gauges = "".join(
        f"  {name}:\n    kind: pressure gauge\n    range: 0 to {most} bar\n    resolution: 0.1 bar\n"
        "    permitted_error: 0.1 bar\n"
        for name, most in (("oil", 10), ("cylinder", 40))
    )
    shop.write_text(shop.read_text("utf-8") + gauges, "utf-8")
    folder = load_shop(bench.shop)
    model = folder.engines["n-4"].model
    assert folder.shop is not None and model is not None
    assert fitting(folder.shop, model, "compression") == "cylinder"
