"""Texts of the view: rounding that keeps sides, money, dates, verdict words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from rebuildreport.assess import assess_job
from rebuildreport.assess.model.assessment import Limits, LimitSource, Stage
from rebuildreport.assess.model.failure_evidence import CauseEvidence, Clue, FindingEvidence
from rebuildreport.assess.money.asking import against_ordering
from rebuildreport.assess.publishing.outcomes import past
from rebuildreport.documents.bench.roundfile import soaked
from rebuildreport.documents.drawings.verdict_marks import overall
from rebuildreport.documents.press import words
from rebuildreport.documents.press.enginewords import decided
from rebuildreport.documents.press.templating import environment
from rebuildreport.documents.record.certificate import unmeasured
from rebuildreport.documents.record.evidence_view import beside_finding
from rebuildreport.documents.report.costs import costs, first_clause
from rebuildreport.documents.report.findings import NO_PHOTOS, findings
from rebuildreport.documents.report.measurements import measurements
from rebuildreport.documents.report.pageone import headline, page_one
from rebuildreport.documents.sheets.register import named
from rebuildreport.documents.showing import entries
from rebuildreport.documents.showing.engine_story import ages, in_miles, panels
from rebuildreport.quantities import Typed, english
from rebuildreport.records import load_shop

from ..assess.bench import Bench
from ..keys import value_key
from . import sample

ONE_JOURNAL = """\
journals:
  kind: journal
  positions: M1
  columns: front_a
  unit: mm
  new:
    size: 47.980 to 48.000
  source: manual page 1
"""
ONE_READING = """\
date: 2026-03-02
by: bench 1
temperature: 20 °C
tables:
  journals:
    unit: mm
    instrument: mic
    columns: front_a
    rows:
      M1: {reading}
"""


def spaced(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("value", "limit", "printed"),
    [
        (0.1504, 0.150, "0.1504"),  # three decimals would print the limit itself
        (0.031, 0.030, "0.031"),
        (0.1496, 0.150, "0.1496"),
        (0.150, 0.150, "0.150"),
    ],
)
def test_a_printed_value_stays_on_its_side_of_the_limit(value: float, limit: float, printed: str) -> None:
    one = sample.one("f", "c", "M1", "arrival", value, "beyond limit", wear=(None, limit))
    shown = words.value(one, "mm")
    assert shown is not None and shown.text == printed


def test_a_value_past_a_converted_limit_does_not_read_like_it() -> None:
    # 0.031 mm is 0.00122 in, its limit of 0.030 mm is 0.00118 in: both would read 0.0012
    one = sample.one("f", "c", "M4", "arrival", 0.031, "beyond limit", wear=(None, 0.030))
    shown = words.value(one, "in")
    assert shown is not None
    limit = words.interval(one.limits, one.unit, "in", places=shown.places)
    assert spaced(limit) == "max 0.00118" and shown.text == "0.00122"


def test_inch_shop_has_inches_first() -> None:
    one = sample.one("f", "c", "M1", "arrival", 98.241, "beyond limit", wear=(None, 98.150))
    shown = words.value(one, "in")
    # 98.241 / 25.4 = 3.867756 (exact inch of 1959)
    assert shown is not None and (shown.said, shown.unit) == ("3.8678", "in")
    assert spaced(words.interval(one.limits, one.unit, "in")) == "max 3.8642"


def test_a_bound_says_so() -> None:
    one = sample.one("f", "c", "M4", "arrival", 0.206, "beyond limit", wear=(None, 0.150), bound="at least")
    shown = words.value(one, "mm")
    assert shown is not None and (shown.said, shown.unit) == ("at least 0.206", "mm")
    # what is the most that it can be is no reading either, wherever a document says it
    most = words.value(replace(one, bound="at most"), "mm")
    assert most is not None and most.said == "at most 0.206"
    whole = sample.orchard()
    known = whole.complaint_lines[0].first
    read = tuple(replace(c, bound="at most") if c.key == known else c for c in whole.characteristics)
    cells = [row.first.text for row in page_one(replace(whole, characteristics=read), True).rows]
    assert any(text.startswith("<\u00a0") for text in cells), cells


def test_months_are_words_whatever_the_locale() -> None:
    assert spaced(words.day(date(2026, 3, 5))) == "5 March 2026"
    assert words.day(None) == ""


def test_worst_verdict_is_never_hidden_by_a_good_one() -> None:
    assert words.worst(["as new", "not measured", "serviceable"]) == "not measured"
    assert words.worst([]) == "not measured"
    # a value nobody can judge says nothing beside judged ones, alone it stays what it is
    assert overall(["as new", "no limit on file"]) == "as new"
    assert overall(["no limit on file"]) == "no limit on file"


def test_page_one_shows_what_was_not_measured_again() -> None:
    rows = {row.title: row for row in page_one(sample.orchard(), public=False).rows}
    recession = rows["Valve recession, E3"]
    assert recession.now is not None
    assert (recession.now.text, recession.now.verdict.name) == ("", "not measured")
    # one line a row: its unit stands in its title where that is no length
    assert rows["Oil pressure, hot idle, bar"].first.text == "0.4"
    assert spaced(rows["Main clearance, M4"].first.text) == "> 0.206"


def test_the_other_unit_beside_a_finding_is_a_sentence() -> None:
    """It stands behind a full stop, alone where the shop wants limits only."""
    job = replace(sample.orchard(), second_unit="beside limits")
    said = [b.second for one in findings(job, NO_PHOTOS, public=False) for b in one.beside if b.second]
    assert said and all(text.startswith("Limit ") and text.endswith(".") for text in said)


def test_titles_with_a_comma_stay_apart_where_they_are_not_measured(tmp_path: Path) -> None:
    """'Head, left; Head, right' are two, and what was never read at all is a sentence of its own."""
    sheet = "".join(
        ONE_JOURNAL.replace("journals:", f"{name}:").replace("kind:", f"title: {title}\n  kind:", 1)
        for name, title in (("left", "Head, left"), ("right", "Head, right"), ("journals", "Pins, all"))
    )
    made = Bench(tmp_path, sheet)
    made.write("measurements/arrival.yaml", ONE_READING.format(reading="47.990"))
    made.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: journals\n    do: replace\n    why: worn\n    by: shop\n"
        "    date: 2026-03-03\n",
    )
    said = unmeasured(made.assess())
    assert said.endswith(
        "Pins, all (read earlier, not again since). Head, left; Head, right (not at all yet)."
    )


def test_before_anything_is_measured_again_there_is_no_second_half() -> None:
    whole = sample.orchard()
    same = tuple(replace(row, now=row.first, now_verdict="serviceable") for row in whole.complaint_lines)
    assert not page_one(replace(whole, complaint_lines=same), public=False).both


def test_page_one_names_whatever_else_is_not_surely_inside() -> None:
    """Neither a count nor 'in the record': the place itself, and the deviation that covers it."""
    whole = sample.orchard()
    said = page_one(whole, public=True)
    assert said.others.endswith("but for: Main journals M6 (V1).")
    fine = tuple(
        one for one in whole.characteristics if one.key != value_key("main_journals.size M6 @machined")
    )
    assert "inside it." in page_one(replace(whole, characteristics=fine), public=True).others


@pytest.mark.parametrize(
    ("stage", "begins"),
    [
        ("decision", "Please decide: "),
        ("ready to collect", "Tarnbeck OD6-54 is ready"),
        ("arrival", "Orchard"),
    ],
)
def test_the_title_says_what_is_wanted(stage: str, begins: str) -> None:
    whole = sample.orchard()
    asked = replace(whole, stage=stage, cost=replace(whole.cost, approvals=()))
    if stage == "arrival":
        asked = replace(asked, cost=replace(asked.cost, lines=()))
    assert headline(asked).startswith(begins)


def test_a_decision_has_boxes_and_a_line_to_sign() -> None:
    whole = sample.orchard()
    foot = page_one(replace(whole, stage="decision", cost=replace(whole.cost, approvals=())), False).foot
    assert foot is not None and foot.ask_title == "Please decide" and len(foot.boxes) == 2
    assert foot.signs == ("customer", "date") and foot.sum_title == "Proposed total"
    # of a sum that nobody knows yet only a limit can be set
    open_ended = replace(whole.cost, approvals=(), minimum=True)
    foot = page_one(replace(whole, stage="inspection", cost=open_ended), False).foot
    assert foot is not None and foot.ask_title == "What we need from you"
    assert foot.boxes[0].startswith("Go on up to ____")
    assert page_one(whole, public=True).foot is None


def test_first_evening_says_what_is_not_known() -> None:
    said = page_one(sample.first_evening(), public=False)
    assert "Nothing is measured yet" in said.found
    assert said.did == "Nothing is decided yet." and said.did_title == "What was decided"
    assert said.foot is not None and (said.foot.sum, said.foot.notes) == ("", "No estimate yet.")


def test_an_unpriced_line_makes_the_total_a_minimum() -> None:
    whole = sample.orchard()
    lines = tuple(
        replace(line, each=None, amount=None) if line.line == 2 else line for line in whole.cost.lines
    )
    cost = replace(
        whole.cost, lines=lines, minimum=True, not_priced=(Typed("main shell set"),), total=Decimal("4735.92")
    )
    view = costs(replace(whole, cost=cost), public=False)
    assert view.groups[0].lines[1].amount == "not priced"
    assert any(total.text.startswith("Total so far, at least") for total in view.totals)
    assert "Not in it either: main shell set." in view.notes
    said = page_one(replace(whole, cost=cost), public=False)
    assert said.foot is not None and spaced(said.foot.sum) == "at least 4735.92 EUR"


def test_a_reason_that_reads_as_another_findings_heading_is_told() -> None:
    """A line leaves out the heading of the finding that it is linked to, and no other one's."""
    whole = sample.orchard()
    own, other = whole.findings[:2]
    for title, said in ((own.title, "what was found"), (other.title, english(other.title))):
        line = replace(whole.cost.lines[0], because=(title,), findings=(own.id,), decisions=())
        view = costs(replace(whole, cost=replace(whole.cost, lines=(line,))), public=False)
        assert view.groups[0].lines[0].because in (said, first_clause(said)), title


def test_costs_above_the_approval_ask_first() -> None:
    whole = sample.orchard()
    view = costs(replace(whole, cost=replace(whole.cost, over_by=Decimal("12.50"))), public=False)
    assert any("12.50 above the last approval" in note for note in view.notes)


def test_public_costs_hold_no_amount() -> None:
    view = costs(sample.orchard(), public=True)
    assert view.totals == () and view.approvals == () and view.notes == ()
    assert {(line.each, line.amount, line.core) for group in view.groups for line in group.lines} == {
        ("", "", "")
    }


def test_drawn_is_one_line_of_each_feature_that_was_out_of_order() -> None:
    drawn = measurements(sample.orchard())
    titles = [one.title for one in drawn.drawn]
    assert "Main clearance" in titles and len(titles) <= 6
    assert "Crank end float" not in titles
    # rotor to body stands beside finding 4 already
    assert "Oil pump, rotor to body" not in titles
    notes = {one.title: one.note for one in drawn.drawn}
    assert notes["Main clearance"].startswith(
        "On arrival: M4 beyond limit and six serviceable. Now: all seven as new."
    )


def test_how_far_past_a_limit_is_worked_out_in_one_place() -> None:
    """By hand: 0.02 past 0.10 is 0.4 of the 0.05 between the limits, on either side; inside below 0."""
    limits = Limits((None, 0.10), (None, None), (0.05, 0.10), "new", LimitSource(Typed("")))
    one = replace(sample.orchard().characteristics[0], value=0.12, limits=limits)
    assert one.past == pytest.approx(0.4)
    assert replace(one, value=0.03).past == pytest.approx(0.4)
    assert replace(one, value=0.08).past == pytest.approx(-0.4)
    assert replace(one, value=None).past == replace(one, limits=None).past == float("-inf")


def test_what_needs_no_drawing_is_not_called_in_order(tmp_path: Path) -> None:
    """One value beyond its limit is told where the answers stand; nothing below may say the contrary."""
    made = Bench(tmp_path, ONE_JOURNAL)
    made.write("measurements/arrival.yaml", ONE_READING.format(reading="47.900"))
    worn = made.assess()
    assert "beyond limit" in {one.verdict for one in worn.characteristics}
    assert measurements(worn).nothing == ""
    made.write("measurements/arrival.yaml", ONE_READING.format(reading="47.990"))
    assert measurements(made.assess()).nothing.startswith("Nothing measured is beyond")


def test_wear_of_ground_journals_is_drawn_against_the_limit_of_their_step(tmp_path: Path) -> None:
    """One family, two cranks of standard size and two found at 0.25 under: 49.700 and 49.450 (by hand)."""
    jobs = []
    for number, (size, typed) in enumerate(
        [("", "49.68"), ("", "49.90"), (FOUND, "49.44"), (FOUND, "49.60")]
    ):
        bench = Bench(tmp_path / str(number), JOURNALS)
        bench.write("teardown.yaml", f"by: me\ndate: 2026-03-01\n{size}")
        rows = f"journals:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    M1: {typed} {typed}\n"
        bench.round("arrival", "2026-03-02", rows)
        shop = load_shop(bench.shop)
        known = past(shop, shop.jobs["job-1"], bench.assess())
        kept = entries.entry(bench.assess(), past=replace(known, usage=1000.0 * number, usage_unit="h"))
        jobs.append(entries.listed(kept))
    found = {one.title: spaced(one.said) for one in panels(jobs, "mm") if "49" in one.said}
    assert found == {
        "Journals, size": "1 of 2 beyond 49.700 mm",
        "Journals, size, 0.25 mm undersize": "1 of 2 beyond 49.450 mm",
    }


JOURNALS = """\
journals:
  kind: journal
  positions: M1
  columns: front_a front_b
  unit: mm
  new:
    size: 49.980 to 50.000
  wear:
    size: min 49.700
  undersizes: 0.25 mm
  source: manual page 1
"""
FOUND = """\
sizes_as_found:
  - feature: journals
    positions: M1
    size: 0.25 mm undersize
"""


def test_a_range_that_is_asked_about_stays_on_one_line() -> None:
    page = '{% import "parts/answer-box/part.html.jinja" as box %}'
    page += '{{ box.several(["M3 (52.000–52.018), R & D"]) }}'
    made = environment().from_string(page).render()
    assert made == '<p>M3 (<span class="nw">52.000–52.018</span>), R &amp; D</p>'


@pytest.mark.parametrize(("stage", "stands"), [("machining", 1), ("delivery", 0), ("re-opened", 0)])
def test_nothing_stands_against_work_that_is_finished(stage: Stage, stands: int) -> None:
    whole = sample.orchard()
    stopped = replace(whole.cost, stops=(Typed("no approval is recorded"),))
    assert len(against_ordering(replace(whole, stage=stage, cost=stopped))) == stands


def test_a_clearance_of_valves_is_adjusted_and_not_reconditioned() -> None:
    shop = load_shop(Path(__file__).resolve().parents[2] / "jobs", ["2026-017-allotment-pump"])
    (pump,) = [assess_job(shop, job) for job in shop.jobs.values()]
    assert [decided(one, pump) for one in pump.decisions if one.about == "lash"] == [
        "Valve clearance: adjust"
    ]


def test_no_name_of_an_engine_and_no_serial_breaks_at_its_hyphen() -> None:
    whole = environment().filters["ranges"]
    for name in ("OD6-54", "Q16-13-0048213-K", "M1-187", "0.018\u20130.060", "C1-C2"):
        assert whole(f"of {name}, read") == f'of <span class="nw">{name}</span>, read'
    assert whole("walk-behind tiller, Big-end, M10x1.5") == "walk-behind tiller, Big-end, M10x1.5"


@pytest.mark.parametrize(("system", "worn"), [("mm", "12.7 µm"), ("in", "0.0005 in")])
def test_wear_of_a_shell_is_told_in_the_unit_that_comes_first(tmp_path: Path, system: str, worn: str) -> None:
    """12.7 micrometres are half a thou (1 in = 25.4 mm): the unit in which that shell was read."""
    bench = Bench(tmp_path, "main_journals:\n  kind: journal\n  positions: M1\n  columns: a\n  unit: mm\n")
    cause = CauseEvidence("fatigue", (Clue("loaded half", True, figures=(0.0127, 1.0, 1.0)),), (), ())
    told = FindingEvidence("F1", "bearing", ("M1",), "fatigue", True, (cause,))
    job = replace(bench.assess(), evidence=(told,), system=system)
    assert f"worn {worn} more" in beside_finding(job, "F1")[0].speaks_for.replace("\u00a0", " ")


def test_a_shop_of_inches_reads_its_temperature_in_fahrenheit(tmp_path: Path) -> None:
    """68 °F are the 20 °C of ISO 1: what was read at them needs no note, and nothing asks for °C."""
    bench = Bench(
        tmp_path,
        "main_journals:\n  kind: journal\n  positions: M1\n  columns: a\n  unit: in\n  new:\n"
        "    size: 2.448 to 2.449\n  undersizes: 0.010 in\n",
    )
    shop = bench.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8").replace("first_unit: mm", "first_unit: in"), "utf-8")
    rows = "main_journals:\n  instrument: mic\n  columns: a\n  rows:\n    M1: 2.4485\n"
    bench.round("arrival", "2026-03-02", rows, temperature="68 °F")
    job = bench.assess()
    record = named("measurement-record")
    page = record.html(record.view(job))
    assert "Measured at 68 °F; values stand for 68 °F." in page.replace("\u00a0", " ")
    assert "°C" not in page and "read at" not in page
    assert soaked("in") == "68 °F" and soaked("mm") == "20 °C"


def test_a_shop_of_inches_tells_of_miles() -> None:
    """A meter that showed 118400 miles did not show 190 546 km (1 mi = 1.609344 km, international mile)."""
    life = {"component": "cam", "unit": "km", "use": 190546.3296, "new_at": 0.0}
    past = {"usage": 190546.3296, "usage_unit": "km", "lives": [life]}
    job = in_miles(entries.Listed("1", "2026-03-06", "", "", past=past))
    assert ages([job]).replace("\u00a0", " ") == "118 400 mi"
    assert job.past["lives"][0]["unit"] == "mi" and round(job.past["lives"][0]["use"]) == 118400
