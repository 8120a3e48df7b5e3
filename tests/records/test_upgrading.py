"""Files of every earlier format: brought to today's by the lines that it takes, and no other."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from rebuildreport.commands.main import run
from rebuildreport.records import load_shop
from rebuildreport.records.files.shop import FORMAT
from rebuildreport.records.upgrading import upgraded

KEPT = Path(__file__).parent / "kept"


def errors(shop: Path) -> list[str]:
    return [f"{p.file}:{p.line} {p.message}" for p in load_shop(shop).all_problems if p.severity == "error"]


def remarks(folder: Path) -> list[str]:
    texts = [path.read_text("utf-8") for path in sorted(folder.rglob("*.yaml"))]
    return sorted(re.findall(r"(?<=[ \n])# [^\n]*", "\n".join(texts)))


def test_a_sample_is_kept_of_every_earlier_format() -> None:
    assert {path.name for path in KEPT.iterdir()} == {f"format-{number}" for number in range(1, FORMAT)}


@pytest.mark.parametrize("name", sorted(path.name for path in KEPT.iterdir()))
def test_a_job_of_an_earlier_format_is_read_after_it(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(KEPT / name, shop)
    shutil.copytree(
        shop / "2026-003-six", shop / "2026-009-next", ignore=lambda *_: ["work.yaml", "measurements"]
    )
    (shop / "2026-009-next/work.yaml").write_text("# nothing yet\n", "utf-8")
    before = {path: path.read_bytes() for path in shop.rglob("*.yaml")}
    assert errors(shop)
    assert run(["upgrade", "--shop", str(shop)]) == 0
    assert "nothing is written" in capsys.readouterr().out
    assert {path: path.read_bytes() for path in shop.rglob("*.yaml")} == before
    said = remarks(shop)
    assert run(["upgrade", "--shop", str(shop), "--write"]) == 0
    assert errors(shop) == []
    assert remarks(shop) == said
    for path, data in before.items():  # what was not said to change stands as it did, with its line ends
        after = path.read_bytes()
        assert len([line for line in data.splitlines(True) if line not in after]) <= 5, path
        assert data.count(b"\r\n") == 0 or after.count(b"\n") == after.count(b"\r\n")
    assert upgraded(shop) == ([], [])


def test_a_part_tried_on_paper_is_a_candidate(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(KEPT / "format-1", shop)
    run(["upgrade", "--shop", str(shop), "--write"])
    job = load_shop(shop).jobs["2026-003-six"]
    assert job.work is not None and job.rounds["crank-b"].model.of == "crank_b"
    candidate = job.work.candidates["crank_b"]
    assert (candidate.title, candidate.part, str(candidate.price)) == (
        "crank B, second-hand #2",
        "crankshaft",
        "380.00",
    )
    assert candidate.sizes == {"main_journals": "0.25 mm undersize"} and "main_journals" in candidate.codes
    # a second time it is read, and another part of the same name
    work = (shop / "2026-003-six/work.yaml").read_text("utf-8")
    old = (KEPT / "format-1/2026-003-six/measurements/crank-b.yaml").read_text("utf-8")
    (shop / "2026-003-six/measurements/crank-c.yaml").write_text(
        old.replace("second-hand #2", "new"), "utf-8"
    )
    run(["upgrade", "--shop", str(shop), "--write"])
    assert (shop / "2026-003-six/work.yaml").read_text("utf-8").startswith(work.rstrip("\n"))
    assert errors(shop) == []
    found = load_shop(shop).jobs["2026-003-six"].work
    assert found is not None and {*found.candidates} == {"crank_b", "crank_b_2"}


def test_what_only_a_person_can_change_is_told_with_its_line(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(KEPT / "format-1", shop)
    path = shop / "2026-003-six/measurements/crank-b.yaml"
    path.write_text(
        path.read_text("utf-8").replace('"crank B, second-hand #2"', '"crank B,\n  old"'), "utf-8"
    )
    changed, problems = upgraded(shop)
    assert [one.source.file for one in changed] == ["shop.yaml"]
    assert [(one.line, "by hand" in one.message) for one in problems] == [(6, True)]


def test_a_later_format_is_refused_with_a_word(tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(KEPT / "format-2", shop)
    path = shop / "shop.yaml"
    path.write_text(path.read_text("utf-8").replace("format: 2", f"format: {FORMAT + 1}"), "utf-8")
    assert any(f"of format {FORMAT + 1}, and not {FORMAT}" in said for said in errors(shop))
    changed, problems = upgraded(shop)
    assert changed == [] and "newer" in problems[0].suggestion
