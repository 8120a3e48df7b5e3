"""Days that cannot be in this order: each is asked about at its line (common practice throughout)."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from rebuildreport.records import load_shop
from rebuildreport.records.checks.datecheck import _less

from .. import SMALL_JOBS

JOBS = Path(__file__).resolve().parents[2] / "jobs"
FOUR = "2026-004-twin-cam"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    copy = tmp_path / "jobs"
    shutil.copytree(JOBS, copy, ignore=shutil.ignore_patterns("2026-003*", ".schemas", *SMALL_JOBS))
    return copy


def said(shop: Path) -> list[str]:
    folder = load_shop(shop, [FOUR])
    return [
        f"{one.file.split('/')[-1]}: {one.quote.strip()}: {one.message}" for one in folder.jobs[FOUR].problems
    ]


def test_the_demo_is_in_order(shop: Path) -> None:
    assert said(shop) == []


@pytest.mark.parametrize(
    ("file", "was", "now", "words"),
    [
        ("job.yaml", "  meter: 142300 km", "  meter: 142300 km\n  built: 2062", "no year in which an engine"),
        ("running.yaml", "start:\n  date: 2026-05-07", "start:\n  date: 2026-05-09", "after delivery"),
        ("running.yaml", "- date: 2026-06-02", "- date: 2026-05-02", "2026-05-02 lies before delivery"),
        ("running.yaml", "from: 2026-05-08", "from: 2026-05-01", "begins on 2026-05-01, before delivery"),
        ("running.yaml", "meter_until: 162300 km", "meter_until: 16 230 km", "is less than where it begins"),
        ("job.yaml", "meter: 143200 km", "meter: 14320 km", "is less than before"),
        ("job.yaml", "- date: 2026-06-02", "- date: 2027-06-02", "after the warranty (2027-05-08)"),
        ("job.yaml", "- date: 2026-04-15", "- date: 2026-04-30", "before the first approval"),
        ("assembly.yaml", "date: 2026-05-0", "date: 2026-04-14 #", "lies before it came apart"),
    ],
)  # fmt: skip
def test_a_day_out_of_order_is_asked_about(shop: Path, file: str, was: str, now: str, words: str) -> None:
    path = shop / FOUR / file
    text = path.read_text("utf-8")
    assert was in text
    path.write_text(text.replace(was, now, 1), "utf-8")
    assert any(words in one for one in said(shop)), said(shop)


def test_a_hold_point_signed_when_the_next_page_was_done_holds_nothing_up(shop: Path) -> None:
    path = shop / FOUR / "assembly.yaml"
    text = path.read_text("utf-8")
    start = text.index("hold_points:")
    first = text.index("date: ", start)
    path.write_text(text[:first] + "date: 2026-05-07" + text[first + 16 :], "utf-8")
    assert any("that it holds up" in one for one in said(shop)), said(shop)
    path.write_text(text[:first] + "date: 2026-05-09" + text[first + 16 :], "utf-8")
    assert any("after the first start" in one for one in said(shop)), said(shop)


@pytest.mark.parametrize(
    ("now", "before", "less"),
    [
        ("9,412 h", "9,500 h", True),
        ("142 300 km", "142300 km", False),
        ("9412.5 h", "9412 h", False),
        ("9412 h", "9412.5 h", True),
        ("88 000 miles", "142300 km", False),
        ("unknown", "142300 km", False),
        (None, "9412 h", False),
    ],
)
def test_meters_as_people_type_them(now: str | None, before: str, less: bool) -> None:
    assert _less(now, before) is less
