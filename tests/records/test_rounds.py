"""Files of rounds that are there twice, or that no person wrote: named, and never decided by their names."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

Write = Any

ROUND = "j1/measurements/arrival.yaml"
WORN = ("75.968", "75.868")


def copy(files: dict[str, str], *changes: tuple[str, str]) -> str:
    text = files[ROUND]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return text


NAMES = ["arrival (1)", "arrival - Copy", "arrival-old", "Kopie von arrival", "before"]


@pytest.mark.parametrize("name", NAMES)
def test_a_spot_read_in_two_files_of_one_day_has_to_be_decided(
    write: Write, files: dict[str, str], name: str
) -> None:
    job = write(files={f"j1/measurements/{name}.yaml": copy(files, WORN)}).jobs["j1"]
    errors = [one for one in job.problems if one.severity == "error"]
    (first,) = errors  # of what differs; the other two features are told, and stop nothing
    assert len(job.problems) >= 3 and not job.usable
    assert "front_a (and 11 more) of journals was read on 2026-02-05 in j1/measurements/" in first.message
    assert "arrival" in first.message + first.file and name in first.message + first.file
    assert "Give the later one its own 'date:'" in first.suggestion


def test_an_unchanged_copy_is_named_and_stops_nothing(write: Write, files: dict[str, str]) -> None:
    job = write(files={"j1/measurements/arrival (1).yaml": copy(files)}).jobs["j1"]
    assert job.usable
    assert [one.suggestion for one in job.problems] == ["a copy? Take one of the two files away"]


@pytest.mark.parametrize(
    ("name", "told"),
    [("arrival (1)", True), ("arrival-old", True), ("Arrival kopie", True), ("arrival-continued", False)],
)
def test_a_name_like_that_of_a_copy_is_named_whatever_its_day(
    write: Write, files: dict[str, str], name: str, told: bool
) -> None:
    later = copy(files, ("2026-02-05", "2026-02-06"), WORN)
    job = write(files={f"j1/measurements/{name}.yaml": later}).jobs["j1"]
    said = [one.message for one in job.problems if "copy of 'arrival'" in one.message]
    assert job.usable and bool(said) == told


def test_another_day_decides(write: Write, files: dict[str, str]) -> None:
    later = copy(files, ("2026-02-05", "2026-02-06"), WORN)
    assert write(files={"j1/measurements/again.yaml": later}).jobs["j1"].problems == []
    tables = copy(files, WORN).replace("    instrument:", "    date: 2026-02-07\n    instrument:")
    assert write(files={"j1/measurements/again.yaml": tables}).jobs["j1"].problems == []


def test_what_is_tried_on_paper_is_another_part(write: Write, files: dict[str, str]) -> None:
    other = copy(files, ("by: bench 1\n", "by: bench 1\nof: b\n"), WORN)
    work = files["j1/work.yaml"] + "candidates:\n  b:\n    title: crank B\n    part: crankshaft\n"
    job = write(files={"j1/measurements/crank-b.yaml": other, "j1/work.yaml": work}).jobs["j1"]
    assert not [one for one in job.problems if one.severity == "error"]


AGAIN = "  again:\n    feature: housings\n    unit: mm\n    instrument: gauge\n    set_from: mic\n"
AGAIN += "    state: {}\n    columns: front_v rear_v\n    rows:\n      M1: 80.018 80.019\n{}"
SAME, BOTH = "caps torqued, no shells", "      M2: 80.010 80.011\n"


@pytest.mark.parametrize(
    ("state", "rest", "told"),
    [(SAME, BOTH, True), (SAME, "", False), (f"{SAME}, line bored", BOTH, False)],
)
def test_two_tables_of_one_feature_in_a_round(write: Write, state: str, rest: str, told: bool) -> None:
    """All of it again in the same state is asked about; some of it again is a trial of the day."""
    job = write((ROUND, "  float:\n", AGAIN.format(state, rest) + "  float:\n")).jobs["j1"]
    said = [one.message for one in job.problems if "which stands?" in one.message]
    assert bool(said) == told and job.usable


@pytest.mark.parametrize(
    "name",
    [
        "j1/measurements/.arrival-old.yaml",
        "j1/measurements/._arrival.yaml",
        "j1/measurements/.#arrival.yaml",
        "j1/measurements/~$arrival.yaml",
        "j1/measurements/arrival.yaml~",
        "j1/measurements/#arrival.yaml#",
        "j1/measurements/.~lock.arrival.yaml#",
        "engines/._four.yaml",
        "engines/.#four.yaml",
        "j1/._job.yaml",
        "j1/photos/._p1.JPG",
    ],
)
def test_what_programs_leave_is_never_read(write: Write, name: str) -> None:
    shop = write(files={name: "\x00\x05\x16\x07 no record at all"})
    assert shop.all_problems == [] and shop.jobs["j1"].usable
    assert list(shop.jobs["j1"].rounds) == ["arrival"] and list(shop.engines) == ["four"]
    assert list(shop.jobs["j1"].photos) == ["p1"]


def test_a_lock_that_leads_nowhere_stops_nothing(write: Write, tmp_path: Path) -> None:
    folder = tmp_path / "j1" / "measurements"
    folder.mkdir(parents=True)
    (folder / ".#arrival.yaml").symlink_to("somebody@machine.1234")
    assert write().all_problems == []


def test_rounds_in_a_folder_of_their_own_are_named(write: Write, files: dict[str, str]) -> None:
    shop = write(files={"j1/measurements/old/first.yaml": copy(files), "j1/measurements/.trash/x.yaml": "x"})
    ((file, message),) = [(one.file, one.message) for one in shop.all_problems]
    assert (
        file == "j1/measurements/old" and message == "'old' is not read: rounds lie in measurements/ itself"
    )
