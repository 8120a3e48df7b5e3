"""The shop's folder as a whole: what is read, in which order, and what is left alone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.records import job_names, load_job, load_shop
from rebuildreport.records import load as load_module

Write = Callable[..., Any]
JOB, ROUND = "j1/job.yaml", "j1/measurements/arrival.yaml"


def test_a_whole_job(write: Write) -> None:
    shop = write()
    job = shop.jobs["j1"]
    assert job.usable and shop.all_problems == []
    assert job.job.engine == "four" and shop.engines["four"].model.layout.cylinders == 4
    assert job.teardown and job.findings and job.work and job.assembly and job.running
    assert list(job.rounds) == ["arrival"]
    cell = job.rounds["arrival"].cells["float"]["crank"]["end_float"]
    assert [reading.text for reading in cell.readings] == ["0.24", "0.25", "0.24"]
    assert {reading.unit for reading in cell.readings} == {"mm"}  # from the sheet: the table states none
    assert job.running_cells["float"]["crank"]["end_float"].readings[0].text == "0.22"


def test_rounds_stand_by_date_then_name(write: Write) -> None:
    text = "date: {}\nby: b\ntemperature: 20 °C\n"
    days = {"b": "2026-02-20", "a": "2026-02-20", "z": "2026-02-04"}
    files = {f"j1/measurements/{name}.yaml": text.format(day) for name, day in days.items()}
    assert list(write(files=files).jobs["j1"].rounds) == ["z", "arrival", "a", "b"]


def test_photos_of_every_kind(write: Write) -> None:
    names = ["a.jpeg", "B.PNG", "c.heic", "d.HEIF", "e.webp", "f.txt", "p1.HEIC"]
    photos = write(files={f"j1/photos/{name}": "x" for name in names}).jobs["j1"].photos
    # p1 is there twice: the JPEG comes first
    expected = {"a": "a.jpeg", "B": "B.PNG", "c": "c.heic", "d": "d.HEIF", "e": "e.webp", "p1": "p1.JPG"}
    assert photos == {stem: f"photos/{name}" for stem, name in expected.items()}


def test_one_job_does_not_read_the_others(
    write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(files={"j2/job.yaml": "not: [", "engines/other.yaml": "nor: ["})
    seen: list[str] = []
    read = load_module.read
    monkeypatch.setattr(
        load_module, "read", lambda path, file, *blank: (seen.append(file), read(path, file))[1]
    )
    shop = load_shop(tmp_path, ["j1"])
    assert list(shop.jobs) == ["j1"] and shop.all_problems == []
    assert {Path(file).parts[0] for file in seen} == {"shop.yaml", "stock.yaml", "engines", "j1"}
    assert "engines/other.yaml" not in seen


def test_a_broken_job_does_not_touch_the_others(write: Write) -> None:
    shop = write(files={"j2/job.yaml": "title: x: y\n"})
    assert shop.jobs["j1"].usable and shop.jobs["j1"].problems == []
    assert not shop.jobs["j2"].usable
    assert {one.file for one in shop.all_problems} == {"j2/job.yaml"}


def test_a_broken_sheet_stops_the_jobs_that_name_it(write: Write) -> None:
    shop = write(("engines/four.yaml", "cylinders: 4", "cylinders: four"))
    job = shop.jobs["j1"]
    assert not job.usable
    assert [one.file for one in job.engine_problems] == ["engines/four.yaml"]
    assert job.problems == []  # nothing follows from it in the job's own files
    assert len(shop.all_problems) == 1


def test_warnings_alone_do_not_stop_a_job(write: Write) -> None:
    job = write(("j1/measurements/arrival.yaml", "date: 2026-02-05", "date: 2026-02-01")).jobs["j1"]
    assert job.usable and job.problems


def test_a_file_of_remarks_is_not_begun(write: Write) -> None:
    names = ["teardown", "work", "assembly", "running"]
    shop = write(files={f"j1/{name}.yaml": "# to be filled in\n" for name in names})
    job = shop.jobs["j1"]
    assert shop.all_problems == [] and job.teardown is job.work is job.assembly is job.running is None
    shop = write(files={"j1/job.yaml": "# to be filled in\n"})
    assert [one.file for one in shop.all_problems] == ["j1/job.yaml"]


def test_a_round_with_nothing_taken_is_not_begun(write: Write) -> None:
    text = "date: 2026-02-05\nby: b\ntemperature: 20 °C\n"
    text += "tables:\n  float:\n    columns: end_float\n    rows:\n      crank: {}\n"
    for row, begun in (("--", False), ("0.2", True), ("none", True)):
        job = write(files={ROUND: text.format(row), "j1/findings.yaml": None}).jobs["j1"]
        assert job.rounds["arrival"].begun is begun


def test_names_that_are_nearly_ours_are_told(write: Write) -> None:
    files = {
        "j1/finding.yaml": "x",
        "j1/measurments/a.yaml": "x",
        "j1/extra.yaml": "x",
        "j1/measurements/b.yml": "x",
    }
    found = {one.file: (one.severity, one.suggestion) for one in write(files=files).all_problems}
    assert found == {
        "j1/finding.yaml": ("warning", "did you mean 'findings.yaml'?"),
        "j1/measurments": ("warning", "did you mean 'measurements'?"),
        "j1/extra.yaml": ("warning", "a measuring round belongs in measurements/"),
        "j1/measurements/b.yml": ("warning", "name it b.yaml"),
    }


def test_folders_that_are_no_jobs(write: Write, tmp_path: Path) -> None:
    write(
        files={
            ".git/job.yaml": "x",
            "templates/job.yaml": "x",
            "notes/remarks.txt": "x",
            "_old/job.yaml": "x",
        }
    )
    assert job_names(tmp_path) == ["j1"]


def test_what_is_not_there(write: Write, tmp_path: Path) -> None:
    shop = write()
    (problem,) = load_job(shop, "j11").problems
    assert "no job 'j11'" in problem.message and "j1" in problem.suggestion
    assert "there is no folder" in load_shop(tmp_path / "nowhere").problems[0].message
    (tmp_path / "shop.yaml").unlink()
    shop = load_shop(tmp_path)
    assert shop.shop is None and "missing" in shop.problems[0].message
    assert not shop.jobs["j1"].usable


def test_an_engine_name_cannot_leave_the_folder(write: Write) -> None:
    found = write((JOB, "engine: four", "engine: ../j1/job")).all_problems
    assert [one.file for one in found] == [JOB] and "no name of a sheet" in found[0].message


def test_a_folder_named_as_a_file(write: Write) -> None:
    shop = write(files={ROUND: None, "j1/measurements/arrival.yaml/x": "", "j1/findings.yaml": None})
    (problem,) = [one for one in shop.all_problems if one.severity == "error"]
    assert problem.file == ROUND and "folder" in problem.message


def test_a_sheet_that_nobody_began_leaves_the_job_working(write: Write) -> None:
    job = write((JOB, "engine: four", "engine: tarn-v8-72")).jobs["j1"]
    found = [one for one in job.problems if one.severity == "warning" and "no sheet" in one.message]
    assert len(found) == 1 and "start engine tarn-v8-72" in found[0].suggestion
    assert job.usable


def test_a_folder_that_is_closed_to_us_is_no_job_that_has_gone(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its pages would be taken down."""
    shop, stat = write().path, load_module.os.stat

    def closed(path: Any, **more: Any) -> Any:
        if str(path).endswith(JOB):
            raise PermissionError(13, "Permission denied", path)
        return stat(path, **more)

    monkeypatch.setattr(load_module.os, "stat", closed)
    with pytest.raises(PermissionError):
        job_names(shop)
