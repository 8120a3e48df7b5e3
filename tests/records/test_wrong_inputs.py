"""What a person types wrong is named at its line, with a word of what was meant; never by a traceback."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest
import yaml

from rebuildreport.records import Problem, load_shop

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


def problems(shop: Path) -> list[Problem]:
    folder = load_shop(shop)
    of_engines = [problem for engine in folder.engines.values() for problem in engine.problems]
    return [*folder.problems, *of_engines, *(one for job in folder.jobs.values() for one in job.problems)]


@pytest.mark.parametrize("case", TABLE["cases"], ids=lambda case: f"{case[0]}: {case[2]}"[:50])
def test_what_was_typed_wrong_is_named_at_its_line(shop: Path, case: list[Any]) -> None:
    file, old, new, says, *further = case
    path = shop / TABLE["files"][file]
    text = path.read_text("utf-8")
    assert old in text
    changed = text.replace(old, new, 1)
    both = enumerate(zip(text.split("\n"), changed.split("\n"), strict=False), 1)
    line = next(number for number, (one, other) in both if one != other) + sum(further)
    path.write_text(changed, "utf-8")
    try:
        found = [one for one in problems(shop) if (one.file, one.line) == (TABLE["files"][file], line)]
    finally:
        path.write_text(text, "utf-8")
    assert any(says in f"{one.message} {one.suggestion}" for one in found), found
