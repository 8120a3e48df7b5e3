"""What was worked out before is the same as worked out anew, whatever was edited, however it was damaged."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment, assess_for_documents
from rebuildreport.records import Problem, load_shop
from rebuildreport.records.text.memory import Memory
from rebuildreport.trade.running import films

ROOT = Path(__file__).resolve().parents[2]
SIX, SHEET = "2026-003-orchard-six", "engines/tarnbeck-od6-54.yaml"
ARRIVAL = f"{SIX}/measurements/arrival.yaml"
EDITS = (
    (ARRIVAL, "75.968   75.964", "75.958   75.954"),  # a journal, on which its film rests
    (ARRIVAL, "I1:    1.12", "I1:    1.13"),  # a seat, on which none does
    (SHEET, "oil: 15W-40", "oil: 10W-30"),
    (f"{SIX}/findings.yaml", "positions: M4", "positions: M6"),  # the bearing that curves are drawn of
    ("shop.yaml", "labour: 64.00", "labour: 65.00"),  # what the way to a part costs
    (f"{SIX}/work.yaml", "crankshaft camshaft liners", "camshaft liners"),  # what comes off
    (f"{SIX}/teardown.yaml", "hours: 0.2 h", "hours: 0.3 h"),  # how long it took
    (SHEET, "rod_length: ", "rod_length: 1"),  # what no engine has
    (SHEET, "rod_length: 1", "rod_length: "),
)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    shop = tmp_path / "jobs"
    shutil.copytree(ROOT / "jobs" / SIX, shop / SIX, ignore=shutil.ignore_patterns("photos"))
    (shop / "engines").mkdir()
    for file in ("shop.yaml", SHEET):
        shutil.copy(ROOT / "jobs" / file, shop / file)
    return shop


def _worked_out(shop: Path, memory: Memory) -> tuple[Assessment | None, list[Problem]]:
    films.KNOWN.clear()  # as in another process
    folder = load_shop(shop, [SIX], memory=memory)
    job = folder.jobs[SIX]
    usable = job.usable
    return assess_for_documents(folder, job) if usable else None, [*job.problems, *job.engine_problems]


def test_after_any_edit_all_is_as_it_is_worked_out_anew(shop: Path, tmp_path: Path) -> None:
    memory = Memory(tmp_path / "memory", "1")
    found = [_worked_out(shop, memory)]
    for file, old, new in EDITS:
        text = (shop / file).read_text("utf-8")
        assert old in text, old
        (shop / file).write_text(text.replace(old, new), "utf-8")
        found.append(_worked_out(shop, memory))
        assert found[-1] == _worked_out(shop, Memory())
    assert found[0][0] and found[0][0].loads
    assert found[-2][1] != found[-1][1], "an error of the sheet is told, and gone when it is mended"


def test_what_is_damaged_foreign_or_of_another_program_is_worked_out_again(tmp_path: Path) -> None:
    folder, worked = tmp_path / "memory", 0

    def work() -> list[float]:
        nonlocal worked
        worked += 1
        return [0.1, 0.2]

    def asked(program: str = "1", rests_on: object = "this") -> int:
        """How often it had been worked out when it was told."""
        assert Memory(folder, program).of("sum", rests_on, list[float], work) == [0.1, 0.2]
        return worked

    assert (asked(), asked()) == (1, 1)
    assert (asked("2"), asked("2"), asked("2", "that")) == (2, 2, 3)
    whole = (folder / "sum").read_bytes()
    for spoilt in (b"", whole[:-3], whole[:40] + b"x" + whole[41:], b"of somebody else" * 5):
        (folder / "sum").write_bytes(spoilt)
        before = worked
        assert (asked("2", "that"), asked("2", "that")) == (before + 1, before + 1)
    shutil.rmtree(folder)
    folder.write_text("a file in its way")
    assert asked() == asked() - 1
