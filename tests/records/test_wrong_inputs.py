"""What a person types wrong is named at its line, with a word of what was meant; never by a traceback."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from rebuildreport.records import Problem, load, load_shop
from rebuildreport.records.files.folder import Siblings
from rebuildreport.records.load import errors_behind

JOBS = Path(__file__).parents[2] / "jobs"
TABLE: dict[str, Any] = yaml.safe_load(Path(__file__).with_name("wrong_inputs.yaml").read_text("utf-8"))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's twin cam with its sheet, alone."""
    folder = tmp_path_factory.mktemp("wrong") / "jobs"
    (folder / "engines").mkdir(parents=True)
    for name in ("shop.yaml", "stock.yaml", TABLE["files"]["sheet"]):
        shutil.copy(JOBS / name, folder / name)
    job = Path(TABLE["files"]["job"]).parent
    shutil.copytree(JOBS / job, folder / job)
    return folder


@pytest.fixture(autouse=True, scope="module")
def _read_once() -> Iterator[None]:
    """What stands in the files that are not wrong is read once, and held against each wrong one."""
    known: dict[tuple[Any, ...], Any] = {}
    read = load._record

    def once(model: Any, path: Path, file: str, without: load.Faults) -> Any:
        if without or without.as_meant or not path.is_file():
            return read(model, path, file, without)
        key = (model, file, path.read_bytes())
        if key not in known:
            record, source, found = read(model, path, file, without)
            if record is None:
                return record, source, found
            known[key] = record, source, found
        record, source, found = known[key]
        return record, source, [*found]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(load, "_record", once)
        yield


def problems(shop: Path) -> list[Problem]:
    folder = load_shop(shop)
    of_engines = [problem for engine in folder.engines.values() for problem in engine.problems]
    return [*folder.problems, *of_engines, *(one for job in folder.jobs.values() for one in job.problems)]


def named(shop: Path, case: list[Any], besides: str = "", behind: bool = False) -> list[Problem]:
    """The problems at the line of a case; ``besides``: what else stands at the end of its file."""
    file, old, new, _, *further = case
    path = shop / TABLE["files"][file]
    text = path.read_text("utf-8")
    assert old in text
    changed = text.replace(old, new, 1)
    both = enumerate(zip(text.split("\n"), changed.split("\n"), strict=False), 1)
    line = next(number for number, (one, other) in both if one != other) + sum(further)
    path.write_text(changed + besides, "utf-8")
    try:
        job = Path(TABLE["files"]["job"]).parent.name
        found = [*problems(shop), *(errors_behind(shop, job, Siblings(shop)) if behind else ())]
    finally:
        path.write_text(text, "utf-8")
    return [one for one in found if (one.file, one.line) == (TABLE["files"][file], line)]


@pytest.mark.parametrize("case", TABLE["cases"], ids=lambda case: f"{case[0]}: {case[2]}"[:50])
def test_what_was_typed_wrong_is_named_at_its_line(shop: Path, case: list[Any]) -> None:
    found = named(shop, case)
    assert any(case[3] in f"{one.message} {one.suggestion}" for one in found), found


@pytest.mark.parametrize("case", TABLE["cases"][::15], ids=lambda case: f"{case[0]}: {case[2]}"[:50])
def test_one_error_does_not_hide_another(shop: Path, case: list[Any]) -> None:
    """A key that is no key at the end of the same file, which keeps it from being held against the others."""
    errors = [one for one in named(shop, case) if one.severity == "error" and case[3] in one.message]
    if case[0] != "shop":
        assert {*errors} <= {*named(shop, case, "zzz: 1\n", behind=True)}
