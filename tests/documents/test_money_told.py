"""What the money's reader is told: that work stops and why, what each stay cost, how old a price is."""

from __future__ import annotations

import html
import re
import shutil
from pathlib import Path

import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.documents.sheets import register
from rebuildreport.records import load_shop

JOBS = Path(__file__).resolve().parents[2] / "jobs"
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").split())


def edited(tmp_path: Path, name: str, *changes: tuple[str, str, str]) -> Assessment:
    """A demo job with some lines of its files exchanged (file, pattern, new text)."""
    shop = tmp_path / "jobs"
    shutil.copytree(JOBS, shop, ignore=shutil.ignore_patterns("issued", "*.jpg"))
    for file, pattern, new in changes:
        path = shop / file
        text = path.read_text("utf-8")
        assert re.search(pattern, text, re.S), pattern
        path.write_text(re.sub(pattern, lambda _, new=new: new, text, count=1, flags=re.S), "utf-8")
    folder = load_shop(shop, [name])
    assert not [one for one in folder.all_problems if one.severity == "error"]
    return assess_job(folder, folder.jobs[name])


def told(one: Assessment) -> dict[str, str]:
    estimate, statement = register.named("estimate"), register.named("statement")
    page = report_html(one, {})
    return {
        "report": words(page),
        "first page": words(page.partition('id="findings"')[0]),
        "public": words(report_html(one, {}, "public")),
        "estimate": words(estimate.html(estimate.view(one, None))),
        "statement": words(statement.html(statement.view(one, None))),
    }


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        (
            [(f"{SIX}/job.yaml", r"approvals:.*?\npaid:", "paid:")],
            "work has gone beyond finding out, and no approval is recorded",
        ),
        (
            [
                (f"{SIX}/job.yaml", r"approvals:.*?\npaid:", "paid:"),
                (f"{SIX}/job.yaml", r"diagnosis_limit: 1300.00", "diagnosis_limit: 1200.00"),
            ],
            "finding out comes to 1267.20 EUR, 67.20 above its limit of 1200.00",
        ),
        (
            [("engines/tarnbeck-od6-54.yaml", r"(?<=oil cooler\n)    price: [^\n]*\n", "")],
            "work has gone on, and nobody can say that the 7600.00 EUR approved on 16 February 2026 "
            "covers it. Not priced: oil cooler",
        ),
    ],
)  # fmt: skip
def test_every_stop_that_check_tells_stands_where_its_reader_looks(
    tmp_path: Path, changes: list[tuple[str, str, str]], why: str
) -> None:
    """16.5 h at 64.00 and 20 % are 1267.20, by hand; 1200.00 is passed by 67.20."""
    finished = edited(tmp_path, SIX, *changes)
    for one, words in (
        (replace(finished, stage="assembly"), "Work stops until you have approved it"),
        (finished, "Your approval after the fact"),  # no work is left that could stop
    ):
        pages = told(one)
        said = f"{words}: {why}"
        assert said in pages["first page"]
        assert pages["report"].count(said) == pages["estimate"].count(said) == 1
        assert said.partition(":")[0] not in pages["public"]


def test_nothing_stops_what_is_covered(tmp_path: Path) -> None:
    assert "Work stops" not in told(edited(tmp_path, SIX))["report"]


def test_each_stay_has_its_days_and_its_cost(tmp_path: Path) -> None:
    """13 April to 8 May are 25 days; 0.8 h at 58.00 and one seal at 3.40 are 49.80, by hand."""
    pages = told(edited(tmp_path, FOUR))
    stays = pages["report"].partition("Stays in the shop")[2].partition("What comes next")[0]
    assert "13 April 2026 – 8 May 2026 25 days" in stays and "customer 3240.37 EUR" in stays
    assert "2 June 2026 – 3 June 2026 1 day oil at the rear of the cam cover; " in stays
    assert "shop 49.80 EUR before tax, not on your bill" in stays
    assert "Stays in the shop" not in pages["public"]
    assert "Stays in the shop" in pages["statement"]


def test_a_stay_that_the_customer_pays_and_that_is_not_over(tmp_path: Path) -> None:
    """49.80 and 19 % are 59.26 (9.462 rounds to 9.46), by hand."""
    changes = [
        (f"{FOUR}/job.yaml", "charged_to: shop", "charged_to: customer"),
        (f"{FOUR}/job.yaml", r"    delivered: 2026-06-03\n", ""),
    ]
    one = edited(tmp_path, FOUR, *changes)
    stays = told(one)["report"].partition("Stays in the shop")[2]
    assert "customer 59.26 EUR" in stays and "2 June 2026 – still here" in stays


def test_a_price_of_another_day_than_the_list(tmp_path: Path) -> None:
    change = ("engines/tarnbeck-od6-54.yaml", r"  OC:\n", "  OC:\n    price_on: 2025-11-20\n")
    page = told(edited(tmp_path, SIX, change))["report"]
    number = re.search(r"(\d+) oil cooler OC", page)
    assert number and f"Price of line {number[1]} as of 20 November 2025." in page
    assert "Prices as of 1 February 2026." in page


def test_the_demo_shows_its_ways_to_go_on(tmp_path: Path) -> None:
    """By hand: finding out 16.5 h at 64.00 is 1056.00; with 5400.00 and 6 h more 6840.00; each with 20 %."""
    nothing_approved = (f"{SIX}/job.yaml", r"approvals:.*?\npaid:", "paid:")
    page = told(replace(edited(tmp_path, SIX, nothing_approved), stage="decision"))["estimate"]
    ways = page.partition("Ways to go on Rebuild")[2].partition("Parts and cost")[0]
    assert ways.startswith(" this engine Exchange engine Stop, back in boxes")
    assert "with tax 7513.08 EUR 8208.00 EUR 1267.20 EUR" in ways
    assert "deposit on old parts 40.00 EUR 900.00 EUR" in ways
    assert "not included radiator, air cleaner and alternator" in ways
    assert "nobody here has measured what is inside it;" in ways


def test_money_and_sizes_inside_sentences_follow_the_locale(tmp_path: Path) -> None:
    """CLDR, German: a full stop between thousands and a comma as decimal sign."""
    german = ("shop.yaml", "first_unit: mm", "language: de\nfirst_unit: mm")
    limit = (f"{SIX}/job.yaml", r"diagnosis_limit: 1300.00", "diagnosis_limit: 1200.00")
    page = told(
        edited(tmp_path / "six", SIX, german, (f"{SIX}/job.yaml", r"approvals:.*?\npaid:", "paid:"), limit)
    )
    assert "1.267,20 EUR" in page["report"] and "1267.20" not in page["report"]
    over = (f"{FOUR}/job.yaml", "limit: 3300.00", "limit: 3000.00")
    page = told(edited(tmp_path / "four", FOUR, german, over))
    assert "3.240,37 EUR, 240,37" in page["report"]
    assert "1 zu 2,15 mm" in page["report"] and "2.15 mm" not in page["report"]


def test_advice_that_nobody_has_summed_up_says_what_is_done(tmp_path: Path) -> None:
    """Without a typed summary page one names the work of the first decisions, not the reasons for it."""
    change = (f"{SIX}/work.yaml", r"summary: >-.*?(?=needs_from_customer)", "")
    first = told(edited(tmp_path, SIX, change))["first page"]
    wanted = "Grind main journals to 0.50 mm undersize; grind rod journals to 0.25 mm undersize; fit new "
    assert wanted in first
    assert "leaves too little stock" not in first and "only c3" not in first.lower()


def test_a_reason_and_a_value_are_found_by_what_people_call_them(tmp_path: Path) -> None:
    """A finding by its name in a line's reason; the worse of two clearances by what their limit is called."""
    name = "2026-007-garden-tiller"
    found = edited(
        tmp_path,
        name,
        (f"{name}/work.yaml", "why: done in the house", "why: F3 and F4"),
        (f"{name}/findings.yaml", "shows: bores.taper C1", "shows: piston_clearance.clearance C1"),
        (f"{name}/measurements/arrival.yaml", "66.918", "66.868"),  # both clearances beyond their limit
    )
    report = words(report_html(found, {}))
    assert "finding 3 and finding 4" in report and "F3" not in report
    shown = [found.find(key) for key in found.findings[1].shows]
    assert [(one.value, one.name) for one in shown if one] == [
        (0.241, "largest_clearance"),
        (0.055, "largest_clearance"),
    ]
    assert not found.engine.counting  # an engine of one cylinder has no No. 1


def test_side_valves_meet_no_piston() -> None:
    """Guides in the block: nothing meets. Of an engine with its guides in the head the sheet must say so."""
    shop = load_shop(JOBS, ["2026-008-river-launch", "2026-016-recovery-truck-v8", "2026-013-sidecar-twin"])
    clear = {name: assess_job(shop, job).engine.valves_clear for name, job in shop.jobs.items()}
    assert [name for name, nothing_meets in clear.items() if nothing_meets] == ["2026-008-river-launch"]


def test_valves_over_a_head_that_does_not_come_off_meet_pistons(tmp_path: Path) -> None:
    """Head and cylinders in one casting: guides are in the piece that is bored, and the valves hang above."""
    name, sheet = "2026-008-river-launch", "grelham-lb2"
    whole = edited(
        tmp_path,
        name,
        (f"engines/{sheet}.yaml", r"  cylinder_head:\n    needs: HG\n    fasteners: head_nuts\n", ""),
    )
    assert not whole.engine.valves_clear


def test_what_came_up_on_the_day_of_the_only_approval_is_told(tmp_path: Path) -> None:
    """Approved in the morning, and the cooler opened behind it: who pays reads why, and of the week."""
    first = (f"{SIX}/job.yaml", r"  - date: 2026-02-05\n    by: customer.*?covers: issue 1\n", "")
    why = "one week later, for the deeper grind"
    assert why in told(edited(tmp_path / "once", SIX, first))["statement"]
    assert why not in told(edited(tmp_path / "twice", SIX))["statement"], "for that the second was asked"
