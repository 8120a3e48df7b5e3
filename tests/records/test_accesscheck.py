"""Ways of taking apart that cannot be, wishes that cannot be had, orders that were not: line and remedy."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from rebuildreport.records import Problem, load_shop
from rebuildreport.records.checks.sheetcheck import check_engine
from rebuildreport.records.files.sheet import Engine
from rebuildreport.records.text.notes import Notes
from rebuildreport.records.text.reader import read_bytes
from rebuildreport.records.text.validate import validate

ROOT = Path(__file__).resolve().parents[2]
JOB = "2026-003-orchard-six"
HEAD = """\
maker: Alder
model: four
layout:
  cylinders: 4
  arrangement: inline
joints:
  sump:
    needs:
access:
"""
FIRST = HEAD.count("\n") + 1  # line of what stands below 'access:'
SOUND = """\
  cover:
    - hours: 0.2 h
  head:
    - first: cover
      hours: 30 min
    - sump
"""
CIRCLE = "  head:\n    - caps\n  caps:\n    - head\n"


def told(access: str) -> list[Problem]:
    """What a sheet with these ways is told."""
    source, found = read_bytes((HEAD + access).encode(), "e.yaml")
    engine, problems = validate(Engine, source)
    notes = Notes(source)
    if engine:
        check_engine(engine, notes)
    return [*found, *problems, *notes.found]


def test_a_sound_table_is_told_nothing() -> None:
    assert told(SOUND) == []


@pytest.mark.parametrize(
    ("access", "line", "message", "remedy"),
    [
        ("  head:\n    - hours: 0.5\n", 1, "'0.5' has no unit", "as in 0.5 h"),
        ("  head:\n    - hours: -0.5 h\n", 1, "'-0.5 h' is less than no time", "0.5 h"),
        ("  head:\n    - hours: 1:30\n", 1, "'1:30' is a time of the day", "1.5 h"),
        ("  head:\n    - hours: 3 mm\n", 1, "'3 mm' is a length, not a time", ""),
        ("  head:\n    - first: sump head\n", 1, "head would come off before itself", "take 'head' out"),
        (
            "  head:\n    - caps\n  caps:\n    - head\n  rods:\n    - caps\n",
            4,
            "each way to it waits",
            "before it",
        ),
        (SOUND + "  rods:\n    - first: studs\n", 7, "nothing says how studs comes off", "add 'studs:'"),
        (
            SOUND + "  heads:\n    - hours: 1 h\n",
            6,
            "two names for one part",
            "keep one, here 'head'",
        ),
        ("  head:\n    - state: parkt\n", 1, "'parkt' is none of this sheet's states", ""),
        (
            "  head:\n    - first: cover\n      hurs: 1 h\n",
            2,
            "there is no key 'hurs'",
            "did you mean 'hours'?",
        ),
    ],
)
def test_what_is_wrong_on_the_sheet(access: str, line: int, message: str, remedy: str) -> None:
    found = [one for one in told(access) if message in one.message]
    assert found, [one.message for one in told(access)]
    assert found[0].line == FIRST + line
    assert remedy in found[0].suggestion


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    leave_out = shutil.ignore_patterns("2026-004*", "photos", "measurements")
    shutil.copytree(ROOT / "jobs", tmp_path / "jobs", ignore=leave_out)
    return tmp_path / "jobs"


def change(shop: Path, name: str, old: str, new: str) -> list[Problem]:
    path = shop / JOB / name
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    return [one for one in load_shop(shop, [JOB]).jobs[JOB].problems if one.file.endswith(name)]


SHEET = "engines/tarnbeck-od6-54.yaml, line"
WISH = "  leave: injection_pump "


@pytest.mark.parametrize(
    ("leave", "message", "remedy"),
    [
        (
            "sump",
            "crankshaft cannot come off with sump left alone: engines/tarnbeck-od6-54.yaml, line",
            "take sump",
        ),
        ("crankshaft", "crankshaft is to come off and to stay on", "strike it out"),
        ("injector_pump", "'injector_pump' is nothing that comes off by the sheet", "injection_pump"),
        ("fan\n  holds:\n    - no ridge #", "'no ridge' is no condition of the sheet's ways", "known here"),
    ],
)
def test_a_wish_that_cannot_be_had(shop: Path, leave: str, message: str, remedy: str) -> None:
    if "holds" in leave:
        change(shop, "work.yaml", "  holds:\n    - liners", "  #")
    found = [one for one in change(shop, "work.yaml", WISH, f"  leave: {leave} ") if message in one.message]
    assert found and found[0].severity == "error"
    assert remedy in found[0].suggestion


def test_a_wish_that_only_a_state_bars(shop: Path) -> None:
    """A crank that must not be turned and has to be: nothing that the ways alone would show."""
    sheet = shop / "engines" / "tarnbeck-od6-54.yaml"
    text = sheet.read_text("utf-8")
    for old, new in (
        ("until: pushrods", "until: crankshaft"),
        ("  rod_caps:\n    - first: sump\n", "  rod_caps:\n    - first: sump gear_train\n"),
    ):
        assert old in text
        text = text.replace(old, new)
    sheet.write_text(text, "utf-8")
    found = [one for one in load_shop(shop, [JOB]).jobs[JOB].problems if one.severity == "error"]
    line = text[: text.index("\n  marks_met:")].count("\n") + 2
    assert [one.quote.split()[0] for one in found] == ["off:"]
    assert f"tarnbeck-od6-54.yaml: marks met, line {line}" in found[0].message


def test_a_wish_for_what_waits_for_itself_blames_no_condition(shop: Path) -> None:
    """Caps behind the pistons, and pistons behind the caps: whatever holds, neither comes off."""
    sheet = shop / "engines" / "tarnbeck-od6-54.yaml"
    text = sheet.read_text("utf-8")
    old = "  rod_caps:\n    - first: sump\n"
    assert old in text
    sheet.write_text(text.replace(old, "  rod_caps:\n    - first: sump pistons\n"), "utf-8")
    said = [one for one in load_shop(shop, [JOB]).jobs[JOB].problems if one.severity == "error"]
    assert {"pistons", "crankshaft"} <= {
        one.message.partition(" never comes off by the sheet")[0] for one in said
    }
    assert not any("conditions" in one.message for one in said)


def test_hours_of_a_plan_that_nobody_asked_for(shop: Path) -> None:
    text = (shop / JOB / "work.yaml").read_text("utf-8")
    start = text.index("access:  ")
    wish = text[start : text.index("\nlabour:", start)]
    found = change(shop, "work.yaml", wish, "")
    assert [one.message for one in found if one.severity == "error"] == [
        "there is no access plan: nothing says what is to come off"
    ] * 2


def test_an_order_that_the_sheet_calls_impossible(shop: Path) -> None:
    steps = "  - removed: sump\n    hours: 0.6 h\n"
    text = (shop / JOB / "teardown.yaml").read_text("utf-8")
    assert steps in text
    (shop / JOB / "teardown.yaml").write_text(text.replace(steps, "  - removed: breather_hose\n"), "utf-8")
    caps = "  - removed: main_caps\n"
    found = change(shop, "teardown.yaml", caps, "  - removed: sump\n" + caps)
    said = [one for one in found if "is noted before" in one.message]
    assert {one.message.partition(" is noted")[0] for one in said} == {"oil strainer", "rod caps"}
    assert all("before sump" in one.message and SHEET in one.message for one in said)
    assert all("correct the order here, or give" in one.suggestion for one in said)


def test_pages_that_put_on_what_would_bar_the_next(shop: Path) -> None:
    """The sump on before the rods: nobody would reach their caps."""
    sheet = shop / "engines" / "tarnbeck-od6-54.yaml"
    text = sheet.read_text("utf-8")
    caps = next(line for line in text.splitlines() if line.strip() == "- fit: rod_caps")
    text = text.replace("- fit: sump\n", "- fit: fan\n").replace(caps, "      - fit: sump\n" + caps)
    sheet.write_text(text, "utf-8")
    found = load_shop(shop, [JOB]).jobs[JOB].engine_problems
    said = {one.quote.strip(): one.message for one in found if " goes on after " in one.message}
    assert "rod caps goes on after sump" in said[caps.strip()]
    assert {*said} == {"- fit: rod_caps", "- fit: oil_pump"}


def test_what_nobody_noted_is_no_contradiction(shop: Path) -> None:
    found = change(shop, "teardown.yaml", "  - removed: pushrods\n    hours: 0.1 h\n", "")
    assert not [one for one in found if "is noted before" in one.message]
