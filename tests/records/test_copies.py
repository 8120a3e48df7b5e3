"""Copied folders, numbers used twice, years that are another job's: named, and decided by no file name."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.records import Problem, Siblings, load_job, load_shop

Write = Any


def copied(tmp_path: Path, name: str, *without: str) -> dict[str, list[Problem]]:
    shutil.copytree(tmp_path / "j1", tmp_path / name, ignore=shutil.ignore_patterns(*without))
    shop = load_shop(tmp_path)
    return {
        job: [one for one in folder.problems if "letter by letter" in one.message or "number" in one.message]
        for job, folder in shop.jobs.items()
    }


def test_readings_of_a_copied_folder_are_named_in_both(write: Write, tmp_path: Path) -> None:
    write()
    found = copied(tmp_path, "j2")
    assert {job: [(one.file, one.severity) for one in problems] for job, problems in found.items()} == {
        "j1": [("j1/measurements/arrival.yaml", "error")],
        "j2": [("j2/measurements/arrival.yaml", "error")],
    }
    alone = load_job(load_shop(tmp_path, []), "j2")  # as a publish that reads what has changed
    assert any("j1/measurements/arrival.yaml" in one.message for one in alone.problems)


def test_an_old_name_that_another_job_has(write: Write, tmp_path: Path) -> None:
    write()
    shutil.copytree(tmp_path / "j1", tmp_path / "j2", ignore=shutil.ignore_patterns("measurements"))
    job = tmp_path / "j2/job.yaml"
    job.write_text(job.read_text(encoding="utf-8") + "was: j0, j1\n", encoding="utf-8")
    said = [one for one in load_shop(tmp_path).jobs["j2"].problems if "a job of its own" in one.message]
    assert [(one.quote, one.message.split()[0]) for one in said] == [("was: j0, j1", "'j1'")]


def test_each_file_is_read_once_or_twice_however_many_are_of_one_size(tmp_path: Path) -> None:
    names = [f"j{number:02}" for number in range(40)]
    for number, name in enumerate(names):
        (tmp_path / name / "measurements").mkdir(parents=True)
        (tmp_path / name / "measurements/arrival.yaml").write_text(f"a: {number % 39:02}\n", encoding="utf-8")
    read: list[Path] = []
    with pytest.MonkeyPatch.context() as patch:
        whole = Path.read_bytes
        patch.setattr(Path, "read_bytes", lambda path: (read.append(path), whole(path))[1])
        siblings = Siblings(tmp_path, names)
        found = {name: siblings.of(name).files for name in names}
    twins = {name: files[0][1] for name, files in found.items() if files}
    assert twins == {"j00": "j39", "j39": "j00"}
    assert len(read) <= 2 * len(names)


def test_a_folder_copied_for_its_sheet_alone_is_no_copy(write: Write, tmp_path: Path) -> None:
    write()
    assert copied(tmp_path, "j2", "measurements", "issued") == {"j1": [], "j2": []}
    round_ = tmp_path / "j1/measurements/arrival.yaml"
    text = round_.read_text(encoding="utf-8")
    (tmp_path / "j2/measurements").mkdir()
    (tmp_path / "j2/measurements/arrival.yaml").write_text(text.replace("75.968", "75.969"), encoding="utf-8")
    assert not [one for one in load_shop(tmp_path).all_problems if "letter by letter" in one.message]


@pytest.mark.parametrize(
    ("one", "other", "twice"),
    [
        ("2026-003-alder", "2026-003-birch", True),
        ("2026-003-alder", "2026-03-alder", False),
        ("2026-alder", "2026-birch", False),  # a year is no number
        ("0412-alder", "0412-birch", True),
        ("2026-003-alder", "2026-0031-alder", False),
    ],
)
def test_two_jobs_of_one_number(write: Write, tmp_path: Path, one: str, other: str, twice: bool) -> None:
    write()
    shutil.copytree(tmp_path / "j1", tmp_path / one, ignore=shutil.ignore_patterns("measurements"))
    found = copied(tmp_path, other, "measurements")
    assert [len(found[name]) for name in (one, other)] == [int(twice)] * 2


def test_a_mark_in_a_folders_name_at_which_links_end(write: Write, tmp_path: Path) -> None:
    write()
    shutil.move(tmp_path / "j1", tmp_path / "2026-004 #2 alder")
    (job,) = load_shop(tmp_path).jobs.values()
    assert [one.suggestion for one in job.problems if "ends at its #" in one.message]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ("j1/measurements/arrival.yaml", "date: 2026-02-05", "date: 2062-02-05"),
            "years after the job was opened",
        ),
        (("j1/work.yaml", "date: 2026-02-11", "date: 2062-02-11"), "years after the job was opened"),
        (("j1/job.yaml", "opened: 2026-02-03", "opened: 2062-02-03"), "everything was done before"),
    ],
)
def test_a_year_that_is_not_the_jobs(write: Write, change: tuple[str, str, str], said: str) -> None:
    found = [one for one in write(change).jobs["j1"].problems if said in one.message]
    assert [one.severity for one in found] == ["warning"]


def test_the_year_of_a_jobs_number(write: Write, tmp_path: Path) -> None:
    write()
    shutil.move(tmp_path / "j1", tmp_path / "2062-004-alder")
    assert any("number is of 2062" in one.message for one in load_shop(tmp_path).all_problems)
