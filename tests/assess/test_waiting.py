"""What a job waits for, as a person reads it in the files of that day."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from rebuildreport.assess.waiting.day import day_of
from rebuildreport.assess.waiting.matters import Waiting, from_row, to_row
from rebuildreport.documents.day.daypage import day_html
from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.site.making.waits import waiting_jobs

from ..demo import stages
from ..demo.conftest import D1, D2
from .bench import JOB, Bench

ON = date(2026, 3, 20)


def one(shop: Path) -> Waiting:
    (found,) = waiting_jobs(load_shop(shop))
    assert from_row(to_row(found)) == found  # as the manifest keeps it
    return found


@pytest.mark.parametrize(
    ("job", "stage", "who", "since", "following"),
    [
        # issue 1 left on 5 February and nobody has answered; meanwhile it can be measured
        (D1, "arrival", "customer", "2026-02-05", "measure"),
        (D1, "machining", "machine shop", "2026-02-12", "order"),
        (D1, "assembly", "ours", "2026-03-04", "put together"),
        (D1, "reopened", "ours", "2026-05-04", "claim"),
        (D2, "arrival", "ours", "2026-04-16", "measure"),
        (D2, "machining", "machine shop", "2026-04-21", "nothing"),
        (D2, "assembly", "ours", "2026-05-05", "put together"),
    ],
)
def test_the_demo_on_its_days(
    tmp_path: Path, job: str, stage: str, who: str, since: str, following: str
) -> None:
    stages.at(tmp_path / "shop", job, stage)
    found = one(tmp_path / "shop")
    assert (found.here, found.who, str(found.waits[0].since), found.next.code) == (
        True,
        who,
        since,
        following,
    )


def test_an_engine_that_has_left_waits_for_nothing_and_its_days_stay(tmp_path: Path) -> None:
    stages.at(tmp_path / "shop", D1, "delivered")
    found = one(tmp_path / "shop")
    assert not found.here
    assert [matter.code for matter in found.dates] == ["deposit", "service", "warranty"]
    day = day_of([found], {}, date(2026, 5, 20))
    assert day.groups == ()
    # the oil change was due by 15 May; the deposit of 40.00 has no day of its own
    assert [(late.matter.code, late.over) for late in day.past] == [("service", 5)]
    assert [open_.matter.code for open_ in day.asked] == ["deposit"]
    # until the old part has gone back its own day is waited for
    work = tmp_path / "shop" / D1 / "work.yaml"
    lines = work.read_text("utf-8").splitlines(keepends=True)
    work.write_text("".join(line for line in lines if "returned:" not in line), "utf-8")
    assert [(matter.code, str(matter.by)) for matter in one(tmp_path / "shop").dates][:1] == [
        ("old part", "2026-03-22")
    ]


SHAFT = """\
journals:
  kind: journal
  part: crankshaft
  positions: M1
  columns: a
  unit: mm
  new:
    size: 75 to 76
"""
APART = "by: me\ndate: 2026-03-02\nsteps:\n  - removed: sump\n"
DECIDED = """\
decisions:
  W1:
    about: journals
    do: reuse
    why: they look good
    by: me
    date: 2026-03-04
"""
APPROVED = """\
approvals:
  - date: 2026-03-06
    by: owner
    how: mail
    limit: 900.00
    ready: 2026-03-18
"""
ASKED = "asked:\n  - date: 2026-03-05\n    what: grind or exchange\n    by: 2026-03-12\n"
BOUGHT = "orders:\n  - part: shells\n    ordered: 2026-03-07\n    promised: 2026-03-11\n"
STARTED = "first_start:\n  date: 2026-03-15\n  by: me\n"
BACK = "delivered: 2026-03-10\nreopened:\n  - date: 2026-03-14\n    symptom: drips\n    charged_to: shop\n"
READ = """\
date: 2026-03-03
by: me
temperature: 20 °C
tables:
  journals:
    unit: mm
    instrument: mic
    columns: a
    rows:
      M1: 75.500
"""
ISSUED = "issued:\n  - issue: 1\n    document: estimate\n    date: 2026-03-05\n"
WORK = "labour:\n  - task: look\n    hours: 2\n"
LITTLE = APPROVED.replace("900.00", "10.00")
READY = "ready: 2026-03-10\ndelivered: 2026-03-11\n"
SEEN = "follow_up:\n  - date: 2026-03-14\n    by: me\n    seen: drips\n    good: no\n"
UNPRICED = "sublet:\n  - part: crankshaft\n    work: straighten it\n"
SENT = "machining:\n  O1:\n    to: the grinder\n    parts: crankshaft\n    sent: 2026-03-07\n"


@pytest.mark.parametrize(
    ("files", "who", "code", "following"),
    [
        ({}, "ours", "us", "take apart"),
        ({"teardown.yaml": APART}, "ours", "us", "measure"),
        ({"work.yaml": DECIDED}, "ours", "us", "price"),
        ({"job.yaml": JOB + ASKED, "teardown.yaml": APART}, "customer", "answer", "measure"),
        ({"job.yaml": JOB + APPROVED, "work.yaml": DECIDED + BOUGHT}, "parts", "parts", "price"),
        ({"job.yaml": JOB + APPROVED, "work.yaml": DECIDED + SENT}, "machine shop", "back", "nothing"),
        (
            {"job.yaml": JOB + APPROVED, "work.yaml": f"{DECIDED}{SENT}    back: 2026-03-12\n"},
            "ours",
            "us",
            "measure",
        ),
        ({"running.yaml": STARTED}, "ours", "us", "hand over"),
        ({"job.yaml": JOB + BACK}, "ours", "us", "claim"),
        ({"job.yaml": f"{JOB}{BACK}    done: new seal\n"}, "ours", "us", "hand over"),
        ({"job.yaml": JOB + "ready: 2026-03-10\n"}, "fetch", "fetch", "fetch"),
        (
            {"job.yaml": JOB.replace("opened: 2026-03-01", "opened: 2026-03-01\nready: soon")},
            "fetch",
            "us",
            "",
        ),
    ],
)
def test_each_state_by_a_small_job(
    tmp_path: Path, files: dict[str, str], who: str, code: str, following: str
) -> None:
    bench = Bench(tmp_path, SHAFT)
    for name, text in files.items():
        bench.write(name, text)
    found = one(bench.shop)
    if not following:  # with an error in its file: the rest of it is known, and ours to put right
        assert (found.who, found.next.code) == ("ours", "files")
        return
    assert (found.who, found.waits[0].code, found.next.code) == (who, code, following)


@pytest.mark.parametrize(
    ("files", "waits", "following"),
    [
        ({"teardown.yaml": APART, "measurements/arrival.yaml": READ}, "us", "decide"),
        ({"work.yaml": DECIDED + WORK}, "us", "estimate"),
        ({"job.yaml": JOB + ISSUED, "work.yaml": DECIDED + WORK}, "approval", "ask again"),
        # nothing is issued since the approval that falls short: the estimate comes before its answer
        ({"job.yaml": JOB + LITTLE, "work.yaml": DECIDED + WORK}, "us", "estimate"),
        (
            {"job.yaml": JOB + LITTLE + ISSUED.replace("03-05", "03-07"), "work.yaml": DECIDED + WORK},
            "more approval",
            "ask again",
        ),
        (
            {"job.yaml": JOB + APPROVED, "work.yaml": DECIDED + SENT.replace("    sent: 2026-03-07\n", "")},
            "us",
            "send",
        ),
        # work has gone on past what anybody priced, and the estimate that asks about it is out
        (
            {
                "job.yaml": JOB + APPROVED + ISSUED.replace("03-05", "03-08"),
                "work.yaml": DECIDED + BOUGHT + UNPRICED,
            },
            "stopped parts",
            "ask again",
        ),
        ({"job.yaml": JOB + READY}, "", "nothing"),
        ({"job.yaml": f"{JOB}declined: 2026-03-09\n"}, "", "nothing"),
    ],
)
def test_each_small_state(tmp_path: Path, files: dict[str, str], waits: str, following: str) -> None:
    bench = Bench(tmp_path, SHAFT)
    for name, text in files.items():
        bench.write(name, text)
    found = one(bench.shop)
    assert (" ".join(wait.code for wait in found.waits), found.next.code) == (waits, following)


def test_what_was_seen_later_and_is_not_good_stays_until_it_is_put_right(tmp_path: Path) -> None:
    bench = Bench(tmp_path, SHAFT)
    bench.write("job.yaml", JOB + READY)
    bench.write("running.yaml", SEEN)
    assert [matter.code for matter in one(bench.shop).dates] == ["put right"]


def test_a_calibration_that_ends_is_a_day_of_the_shop(tmp_path: Path) -> None:
    stages.at(tmp_path / "shop", D1, "arrival")
    shop = load_shop(tmp_path / "shop").shop
    assert shop is not None
    due = {name: tool for name, tool in shop.instruments.items() if tool.due}
    ends = min(tool.due for tool in due.values() if tool.due)
    day = day_of([one(tmp_path / "shop")], due, ends)
    ending = [soon.matter for soon in day.to_come if soon.over == 0 and soon.job is None]
    assert ending and {matter.code for matter in ending} == {"calibration"}
    assert {matter.whom for matter in ending} == {name for name, tool in due.items() if tool.due == ends}


def test_days_that_were_named_are_held_against_the_day(tmp_path: Path) -> None:
    bench = Bench(tmp_path, SHAFT)
    bench.write("job.yaml", JOB + APPROVED + "consent_asked: 2026-03-03\n")
    bench.write("work.yaml", f"{DECIDED}{BOUGHT}{SENT}    wanted: 2026-03-25\n")
    day = day_of([one(bench.shop)], {}, ON)
    assert [(late.matter.code, late.over) for late in day.past] == [("parts", 9), ("promised", 2)]
    assert [(soon.matter.code, -soon.over) for soon in day.to_come] == [("back", 5)]
    assert [open_.matter.code for open_ in day.asked] == ["consent"]
    assert [first.matter.code for first in day.first] == ["parts", "promised"]
    assert [english(wait.about) for job in day.here for wait in job.waits] == ["crankshaft", "shells"]
    # a job that was opened later is not there yet, and is named; of one that has gone on since it is said
    early = day_of([one(bench.shop)], {}, date(2026, 2, 1))
    assert early.here == () and [job.job for job in early.later] == ["job-1"]
    assert [job.job for job in day_of([one(bench.shop)], {}, date(2026, 3, 5)).beyond] == ["job-1"]
    assert (day.later, day.beyond) == ((), ())


def test_of_an_earlier_day_the_page_says_that_it_tells_of_now(tmp_path: Path) -> None:
    """The six stood in the house in February, and left in March: nobody reads that there was none."""
    stages.at(tmp_path / "shop", D1, "delivered")
    folder = load_shop(tmp_path / "shop", [D1])
    assert folder.shop is not None
    early = day_of(waiting_jobs(folder), {}, date(2026, 2, 24))
    assert early.here == () and [job.job for job in early.beyond] == [D1]
    page = day_html(early, folder.shop, None)
    assert "told as they stand now" in page and "left since are not counted: 2026-003" in page


def test_of_two_machine_shops_the_days_page_names_both(tmp_path: Path) -> None:
    made = Bench(tmp_path, SHAFT + SHAFT.replace("journals", "bores").replace("crankshaft", "block"))
    made.write("job.yaml", JOB + APPROVED)
    second = SENT.partition("\n")[2].replace("O1", "O2").replace("the grinder", "the borer")
    made.write("work.yaml", DECIDED + SENT + second.replace("crankshaft", "block"))
    on = date(2026, 3, 9)
    folder = load_shop(made.shop)
    assert folder.shop is not None
    page = day_html(day_of(waiting_jobs(folder), {}, on), folder.shop, None)
    assert "the grinder" in page and "the borer" in page and "and one more" not in page
