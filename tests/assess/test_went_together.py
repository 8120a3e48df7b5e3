"""What was read as the engine went together is what went into it: no part on the list makes it good.

Common practice throughout: an overlong bolt is replaced; a part of a parts list is not yet a part fitted.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.assess.build.bench_record import gone_past
from rebuildreport.assess.model.assessment import Assessment
from rebuildreport.commands.main import run
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.quantities import english

from .bench import Bench
from .test_build import ALONE, FEATURES, REST, TEARDOWN, lines

WASHERS = "  replace_with: TW\n  source: manual page 1"
LENGTHS = (
    "bolt_length:\n  columns: length\n  rows:\n    B1: 100.1\n    B2: {}\n    B3: 100.2\n    B4: 100.1\n"
)


def began(folder: Path, features: str = FEATURES, rule: str = "simple") -> Bench:
    one = Bench(folder, features, rule, REST + "  TW:\n    name: thrust washer\n    price: 3.00\n")
    one.write("teardown.yaml", TEARDOWN)
    one.round(
        "arrival",
        "2026-03-03",
        LENGTHS.format("101.2") + "float:\n  columns: end_float\n  rows:\n    crank: 0.45\n",
    )
    return one


def tightened(bench: Bench, day: str = "2026-03-10") -> None:
    bench.write("assembly.yaml", f"tightened:\n  - fasteners: main_bolts\n    by: me\n    date: {day}\n")


def bought(of: Assessment) -> dict[str, int]:
    return {line.number: int(line.quantity) for line in of.cost.lines if line.number}


def standing(of: Assessment, feature: str, position: str) -> list[str]:
    return [
        c.verdict for c in of.characteristics if c.stands and (c.feature, c.position) == (feature, position)
    ]


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return began(tmp_path, FEATURES.replace("  source: manual page 1", WASHERS))


def test_a_part_on_the_list_ends_what_was_read_before_the_work(bench: Bench) -> None:
    tightened(bench)
    assert standing(bench.assess(), "float", "crank") == ["not measured"]


def test_a_reading_at_assembly_stands_though_its_part_was_bought(bench: Bench) -> None:
    tightened(bench)
    bench.round("at-assembly", "2026-03-10", "float:\n  columns: end_float\n  rows:\n    crank: 0.42\n")
    found = bench.assess()
    assert standing(found, "float", "crank") == ["beyond limit"]
    assert lines(found)["measure float"].state == "out of limits"
    assert any("End float" in english(text) or "Float" in english(text) for text in found.to_decide), (
        found.to_decide
    )


def test_a_reading_after_the_last_decision_stands_too(bench: Bench) -> None:
    decision = "  W1:\n    about: float\n    do: replace\n    why: worn\n    by: me\n    date: 2026-03-05\n"
    bench.write("work.yaml", f"decisions:\n{decision}")
    bench.round("fitting", "2026-03-08", "float:\n  columns: end_float\n  rows:\n    crank: 0.42\n")
    tightened(bench, "2026-03-12")
    assert standing(bench.assess(), "float", "crank") == ["beyond limit"]


def test_an_overlong_bolt_is_bought_where_only_its_group_names_the_part(tmp_path: Path) -> None:
    plain = FEATURES.replace("  replace_with: MB\n", "")
    assert bought(began(tmp_path, plain).assess())["MB"] == 1


@pytest.mark.parametrize("about", ["bolt_length", "main_bolts"])
def test_a_group_that_is_to_be_renewed_is_bought_whole_and_once(tmp_path: Path, about: str) -> None:
    bench = began(tmp_path, FEATURES.replace("  replace_with: MB\n", ""))
    why = f"    about: {about}\n    do: replace\n    why: pulled unevenly\n"
    bench.write("work.yaml", f"decisions:\n  W1:\n{why}    by: me\n    date: 2026-03-05\n")
    assert bought(bench.assess())["MB"] == 4


def test_bolts_used_once_are_bought_once_though_a_finding_wants_them_too(tmp_path: Path) -> None:
    bench = began(tmp_path)
    finding = "  F1:\n    component: head_bolts\n    seen: pulled unevenly\n    disposition: replace\n"
    bench.write("findings.yaml", f"findings:\n{finding}")
    assert bought(bench.assess())["HB"] == 10


def test_bolts_that_hold_two_joints_are_one_set(tmp_path: Path) -> None:
    """A case hangs on the head's bolts: ten, and not twenty; the main bolts are asked about once."""
    bench = Bench(tmp_path, FEATURES, "simple", REST)
    sheet = bench.shop / "engines" / "n-4.yaml"
    edit(sheet, "  caps:\n", "  case:\n    fasteners: head_bolts, main_bolts\n  caps:\n")
    both = "  - removed: head\n  - removed: case\n"
    bench.write("teardown.yaml", TEARDOWN.replace("  - removed: head\n", both))
    found = bench.assess()
    assert bought(found)["HB"] == 10
    assert sum("measure each" in english(line) for line in found.to_decide) == 1


def test_a_group_with_an_overlong_bolt_in_it_is_not_done(tmp_path: Path) -> None:
    bench = began(tmp_path)
    tightened(bench)
    bench.round("at-assembly", "2026-03-10", LENGTHS.format("101.3"))
    line = lines(bench.assess())["tighten main_bolts"]
    assert (line.state, english(line.state_text)) == ("out of limits", "B2 beyond its limit for length")
    deviation = (
        "deviations:\n  B1:\n    about: {}\n    what: B2 used again\n    why: none to be had\n"
        "    signed: you\n    date: 2026-03-10\n"
    )
    for about, said in (
        ("main_bolts", ("out of limits", "B2 beyond its limit for length")),
        ("main_bolts\n    accepts: stretch", ("out of limits", "B2 beyond its limit for length")),
        ("main_bolts\n    accepts: length", ("done", "accepted by B1")),
        ("bolt_length", ("done", "accepted by B1")),
    ):
        signed = deviation.format(about)
        bench.write("assembly.yaml", f"tightened:\n  - fasteners: main_bolts\n{ALONE}{signed}")
        line = lines(bench.assess())["tighten main_bolts"]
        assert (line.state, english(line.state_text)) == said and line.deviations == ("B1",)


def test_the_sheets_break_in_reaches_the_customer_where_the_job_says_nothing(tmp_path: Path) -> None:
    bench = began(tmp_path)
    sheet = bench.shop / "engines" / "n-4.yaml"
    plan = (
        "first_start:\n  break_in:\n    - at: first 500 km\n      do: no full load\n  retighten:\n"
        "    - fasteners: head_bolts\n      at: after 500 km, cold\n  oil_change: after 500 km\n"
    )
    sheet.write_text(sheet.read_text("utf-8") + plan, "utf-8")
    tightened(bench)
    assert "no full load" not in [
        english(text) for text in [one.text for one in bench.assess().next_steps]
    ]  # it has not run yet
    started = "first_start:\n  date: 2026-03-12\n  by: me\n"
    bench.write("running.yaml", started)
    asked = [(english(one.label), english(one.text)) for one in bench.assess().next_steps]
    assert asked == [
        ("first 500 km", "no full load"),
        ("Re-tighten", "Head bolts: after 500 km, cold"),
        ("First oil change", "after 500 km"),
    ]
    bench.write("running.yaml", started + "due:\n  - what: oil\n    at: 500 km\n")
    assert [english(one.label) for one in bench.assess().next_steps] == ["first 500 km"]


SIGNED_HOLD = "hold_points:\n  - what: crank_in\n    by: me\n    witness: you\n    date: 2026-03-10\n"


def test_a_hold_point_is_not_passed_while_a_line_before_it_is_open(tmp_path: Path) -> None:
    bench = began(tmp_path)
    bench.write("assembly.yaml", SIGNED_HOLD)
    hold = lines(bench.assess())["hold crank_in"]
    assert (hold.state, english(hold.state_text)) == (
        "not signed",
        "signed with 1.1, 1.2, 1.3, 1.4, 1.5 not done",
    )


def test_a_hold_point_that_was_signed_too_early_is_not_called_unsigned(tmp_path: Path) -> None:
    bench = began(tmp_path)
    bench.write("assembly.yaml", SIGNED_HOLD)
    bench.write("running.yaml", "first_start:\n  date: 2026-03-12\n  by: me\n")
    assert [english(text) for text in gone_past(bench.assess())] == [
        "started with hold point 1.6 crank in, signed with 1.1, 1.2, 1.3, 1.4, 1.5 not done"
    ]


def test_page_one_says_what_an_engine_was_started_and_handed_over_in_spite_of(tmp_path: Path) -> None:
    bench = began(tmp_path)
    tightened(bench)
    assert gone_past(bench.assess()) == ()
    bench.write("running.yaml", "first_start:\n  date: 2026-03-12\n  by: me\n")
    started = bench.assess()
    assert tuple(english(text) for text in gone_past(started)) == (
        "started with hold point 1.6 crank in not signed for",
    )
    bench.round("at-assembly", "2026-03-10", "float:\n  columns: end_float\n  rows:\n    crank: 0.42\n")
    edit(bench.shop / "job-1" / "job.yaml", "opened:", "delivered: 2026-03-15\nopened:")
    found = bench.assess()
    assert tuple(english(text) for text in gone_past(found)[1:]) == (
        "handed over with float crank beyond its limit, and nothing decided",
    )
    page = report_html(found, {})
    assert "Handed over with float crank beyond its limit" in page
    assert run(["check", "--shop", str(bench.shop), "--strict"]) == 1
    assert run(["check", "--shop", str(bench.shop)]) == 0


def edit(path: Path, was: str, now: str) -> None:
    text = path.read_text("utf-8")
    assert text.count(was) == 1, was
    path.write_text(text.replace(was, now), "utf-8")


def test_a_value_too_close_to_call_leaves_its_line_open_and_is_not_called_out(tmp_path: Path) -> None:
    bench = began(tmp_path, rule="guarded")
    bench.round("at-assembly", "2026-03-10", "float:\n  columns: end_float\n  rows:\n    crank: 0.30\n")
    line = lines(bench.assess())["measure float"]
    assert (line.state, english(line.state_text)) == ("open", "crank too close to call")
    asked = [english(text) for text in bench.assess().too_close]
    assert len(asked) == 1 and "what nobody noted" in asked[0]
    # while it goes together it can still be read, whatever page was signed
    bench.write("assembly.yaml", "fitted:\n  - part: MB\n    date: 2026-03-10\n    by: me\n")
    together = bench.assess()
    assert together.stage == "assembly" and "what nobody noted" in english(together.too_close[0])
    edit(bench.job / "job.yaml", "opened: 2026-03-01\n", "opened: 2026-03-01\nready: 2026-03-20\n")
    # nobody takes an engine that is ready apart for three more readings (common sense)
    assert [english(text).rpartition("; ")[2] for text in bench.assess().too_close] == ["as it went together"]
