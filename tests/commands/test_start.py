"""``start``: what it makes is valid as made, and valid with every example taken up."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from rebuildreport.commands.main import run
from rebuildreport.commands.start import _blank
from rebuildreport.documents.press.places import own_templates
from rebuildreport.records import Problem, load_shop
from rebuildreport.records.json_schema import KINDS

JOB_FILES = ["assembly.yaml", "findings.yaml", "job.yaml", "measurements/arrival.yaml", "running.yaml"]
JOB_FILES += ["teardown.yaml", "work.yaml"]

SHEET = """\
maker: Nobody
model: N-2
layout:
  cylinders: 2
  arrangement: inline
features:
  journals:
    kind: journal
    title: Main journals
    positions: M1 to M3
    columns: front_a front_b rear_a rear_b
    unit: mm
  housings:
    kind: bore
    positions: M1 to M3
    columns: front_v rear_v
    state: caps torqued, no shells
    unit: in
  shells:
    kind: shells
    positions: M1 to M3
    columns: upper lower
    unit: mm
  clearance:
    kind: bearing_clearance
    housing: housings
    shells: shells
    journal: journals
    unit: mm
"""


def start(*words: str, shop: Path) -> int:
    return run(["start", *words, "--shop", str(shop)])


def texts(shop: Path) -> dict[str, bytes]:
    return {str(path.relative_to(shop)): path.read_bytes() for path in shop.rglob("*") if path.is_file()}


def problems(shop: Path) -> list[Problem]:
    return load_shop(shop).all_problems


def test_a_shop(tmp_path: Path) -> None:
    assert start("shop", shop=tmp_path / "new/jobs") == 0
    assert problems(tmp_path / "new/jobs") == []
    schemas = {f".schemas/{kind}.json" for kind in KINDS}
    assert set(texts(tmp_path / "new/jobs")) == {"shop.yaml", *schemas}


def test_a_stock(tmp_path: Path) -> None:
    assert start("stock", shop=tmp_path) == 0
    shop = load_shop(tmp_path)
    assert shop.all_problems == [] and shop.stock is None  # only remarks stand in it: not begun
    start("engine", "alder-four", shop=tmp_path)
    for path in (tmp_path / "stock.yaml", tmp_path / "engines/alder-four.yaml"):
        path.write_text(take_up(path.read_text(encoding="utf-8")), encoding="utf-8")
    shop = load_shop(tmp_path)
    assert [one for one in shop.all_problems if one.file == "stock.yaml"] == []
    assert shop.stock is not None and set(shop.stock.engines["alder-four"]) == {"main_shells", "bucket_shims"}


def test_an_engine(tmp_path: Path) -> None:
    assert start("engine", "alder-four", "--cylinders", "4", "--arrangement", "inline", shop=tmp_path) == 0
    shop = load_shop(tmp_path)
    assert shop.all_problems == []
    sheet = shop.engines["alder-four"].model
    assert sheet is not None and (sheet.layout.cylinders, sheet.layout.arrangement) == (4, "inline")


def test_a_job_before_there_is_anything(tmp_path: Path) -> None:
    assert start("job", "2031-001-alder-four", "--opened", "2031-03-03", shop=tmp_path) == 0
    shop = load_shop(tmp_path)
    assert shop.all_problems == []
    job = shop.jobs["2031-001-alder-four"]
    assert job.usable and job.job is not None
    assert (job.job.engine, str(job.job.opened)) == ("alder-four", "2031-03-03")
    assert set(shop.engines) == {"alder-four"}
    made = {str(path.relative_to(job.path)) for path in job.path.rglob("*") if path.is_file()}
    assert made == set(JOB_FILES) and (job.path / "photos").is_dir()


def test_check_of_a_job_just_begun(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    start("job", "2031-001-alder-four", shop=tmp_path)
    capsys.readouterr()
    assert run(["check", "--shop", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "2031-001-alder-four: not written down yet" in said and "stage: arrival" in said


@pytest.mark.parametrize(
    "text",
    ["knock: loud", "#1 knocks", "says \"bang\" \\ 'hot'", "- dash", "@home", "yes", "0123", "a  b\nc", ""],
)
def test_any_title_and_complaint(tmp_path: Path, text: str) -> None:
    assert start("job", "1-a", "--title", text or "x", "--complaint", text or "x", shop=tmp_path) == 0
    job = load_shop(tmp_path).jobs["1-a"].job
    assert job is not None
    assert job.title == job.arrival.complaint == (" ".join(text.split()) or "x")


def test_tables_are_laid_out_from_the_sheet(tmp_path: Path) -> None:
    (tmp_path / "engines").mkdir()
    (tmp_path / "engines/two.yaml").write_text(SHEET)
    assert start("job", "1-b", "--engine", "two", "--opened", "2031-03-03", shop=tmp_path) == 0
    assert (tmp_path / "engines/two.yaml").read_text() == SHEET
    shop = load_shop(tmp_path)
    assert shop.all_problems == []
    arrival = shop.jobs["1-b"].rounds["arrival"]
    assert not arrival.begun
    # what is worked out, and not read, gets no table
    assert list(arrival.cells) == ["journals", "housings", "shells"]
    assert list(arrival.cells["journals"]) == ["M1", "M2", "M3"]
    assert list(arrival.cells["journals"]["M2"]) == ["front_a", "front_b", "rear_a", "rear_b"]
    assert arrival.model.tables["housings"].unit == "in"
    # the state is what was done at the bench: never filled in beforehand
    assert arrival.model.tables["housings"].state == ""


@pytest.mark.parametrize("words", [["1-kestrel"], ["1-x", "--engine", "kestrl-flat-four"]])
def test_no_second_sheet_by_mistake(
    tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A shop with sheets, and a job whose engine is none of them: offer the likely one."""
    for name in ("alder-four", "kestrel-flat-four"):
        start("engine", name, shop=tmp_path)
    before = texts(tmp_path)
    capsys.readouterr()
    assert start("job", *words, shop=tmp_path) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "alder-four, kestrel-flat-four" in said and "--engine kestrel-flat-four" in said
    assert texts(tmp_path) == before
    assert start("job", "1-kestrel", "--engine", "kestrel-flat-four", shop=tmp_path) == 0
    assert {path.stem for path in (tmp_path / "engines").iterdir()} == {"alder-four", "kestrel-flat-four"}


def test_each_place_stands_under_its_column(tmp_path: Path) -> None:
    (tmp_path / "engines").mkdir()
    (tmp_path / "engines/two.yaml").write_text(SHEET)
    start("job", "1-b", "--engine", "two", shop=tmp_path)
    lines = (tmp_path / "1-b/measurements/arrival.yaml").read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if "columns: front_a" in line)
    columns = [match.start() for match in re.finditer(r"\S+_\S+", lines[at])]
    assert [match.start() for match in re.finditer("--", lines[at + 2])] == columns


def test_nothing_is_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    start("job", "1-c", shop=tmp_path)
    for path in tmp_path.rglob("*.yaml"):
        path.write_text("mine\n")
    (tmp_path / "1-c/work.yaml").unlink()
    before = texts(tmp_path)
    capsys.readouterr()
    for words in (["shop"], ["engine", "c"], ["job", "1-c"]):
        assert start(*words, shop=tmp_path) == 0
    after = texts(tmp_path)
    assert {name: after[name] for name in before} == before
    assert set(after) - set(before) == {"1-c/work.yaml"}
    assert "kept as it is" in capsys.readouterr().out


def take_up(text: str) -> str:
    """Every example taken up: the # removed where no single blank follows it."""
    taken = re.sub(r"^(\s*)#(?! \S)(?=.)", r"\1", text, flags=re.MULTILINE)
    taken = taken.replace("... to ...", "1.0 to 2.0").replace("manual page ...", "manual page 1")
    return re.sub(r"(max|min) \.\.\.", r"\1 1.0", taken).replace(": ...", ": 1.0")


def test_every_example_can_be_taken_up(tmp_path: Path) -> None:
    start("job", "1-d", "--opened", "2026-02-01", "--engine", "main", shop=tmp_path)
    for path in tmp_path.rglob("*.yaml"):
        text = path.read_text(encoding="utf-8")
        taken = take_up(text)
        assert taken != text
        path.write_text(taken, encoding="utf-8")
    sheet = tmp_path / "engines/main.yaml"
    sheet.write_text(
        sheet.read_text(encoding="utf-8").replace("cylinders: 0", "cylinders: 4"), encoding="utf-8"
    )
    (tmp_path / "logo.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>", encoding="utf-8")
    for name in ("p001", "p002", "p003", "p004"):
        (tmp_path / f"1-d/photos/{name}.jpg").write_bytes(b"\xff\xd8\xff\xd9")
    found = problems(tmp_path)
    assert [one for one in found if one.severity == "error"] == [], found
    found = [one for one in found if not one.file.startswith("engines/")]  # limits that stand for ...
    assert {one.message.split("'")[0] for one in found} <= {
        "the picture ",  # p001 and p002 have no caption in the examples
        "no instrument of shop.yaml",
        "both declined and delivered: a declined job goes back in boxes",
    }
    job = load_shop(tmp_path).jobs["1-d"]
    assert all((job.teardown, job.findings, job.work, job.assembly, job.running))


def keys_of(model: type[BaseModel], above: tuple[type[BaseModel], ...] = ()) -> Iterator[str]:
    """Every key of a file, at any depth."""
    for name, info in model.model_fields.items():
        yield info.alias or name
        inner = [one for one in parts_of(info.annotation) if one not in above]
        for part in inner:
            yield from keys_of(part, (*above, part))


def parts_of(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from parts_of(part)


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_stands_in_its_blank(kind: str, tmp_path: Path) -> None:
    """Whoever fills in a file, or reads what explains them, meets each of its keys there."""
    start("job", "1-d", "--opened", "2026-02-01", "--engine", "main", shop=tmp_path)
    told = [path.read_text("utf-8") for path in own_templates().glob("explained/*.md")]
    blanks = {path.stem: path.read_text(encoding="utf-8") for path in tmp_path.rglob("*.yaml")}
    text = (
        blanks[{"engine": "main", "round": "arrival"}.get(kind, kind)] if kind != "stock" else _blank("stock")
    )
    if kind == "running":
        text += blanks["arrival"]  # its tables are those of a round
    lacking = {
        key
        for key in keys_of(KINDS[kind][0])
        if not re.search(rf"(?:^|[\s#-]){re.escape(key)}:", text, re.MULTILINE)
        and not re.search(rf"`{re.escape(key)}:?[ `]", "".join(told))
    }
    assert lacking == set()


def test_every_file_names_its_schema(tmp_path: Path) -> None:
    start("job", "1-e", shop=tmp_path)
    for path in tmp_path.rglob("*.yaml"):
        first = path.read_text(encoding="utf-8").splitlines()[0]
        schema = re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", first)
        assert schema and (path.parent / schema[1]).resolve().is_file(), path


@pytest.mark.parametrize("name", ["../x", "a/b", ".hidden", "", "engines", "a b", "-x"])
def test_names_that_cannot_be(tmp_path: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["start", "job", "--shop", str(tmp_path), "--", name]) == 2
    assert texts(tmp_path) == {}
    assert "cannot name a job" in capsys.readouterr().err


def test_a_place_that_cannot_be_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("x")
    assert run(["start", "shop", "--shop", str(tmp_path / "file" / "jobs")]) == 3
    assert "cannot be written" in capsys.readouterr().err


def test_a_job_of_a_faulty_sheet_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its tables cannot be laid out: the example that stands there instead must not pass for them."""
    start("engine", "main", "--cylinders", "4", "--arrangement", "inline", shop=tmp_path)
    sheet = tmp_path / "engines/main.yaml"
    sheet.write_text(sheet.read_text(encoding="utf-8") + "featurs:\n  a: b\n", encoding="utf-8")
    assert start("job", "2-d", "--engine", "main", shop=tmp_path) == 1
    said = capsys.readouterr().err
    assert "main.yaml has errors" in said and "check 2-d" in said
    assert (tmp_path / "2-d/job.yaml").exists()  # begun all the same


def test_a_missing_shop_file_names_the_command_that_makes_it(tmp_path: Path) -> None:
    start("job", "1-d", "--engine", "main", shop=tmp_path)
    (tmp_path / "shop.yaml").unlink()
    (problem,) = [one for one in load_shop(tmp_path).problems if one.file == "shop.yaml"]
    assert problem.suggestion == "begin it: rebuildreport start shop"


def test_arrival_names_the_instruments_that_fit(tmp_path: Path) -> None:
    """Of the right sort and range; a micrometer of 0 to 25 mm reads no journal of 75 mm."""
    (tmp_path / "engines").mkdir()
    limits = "    unit: mm\n    new:\n      size: 74.980 to 75.000\n    source: common_practice\n"
    sheet = SHEET.replace(
        "    columns: front_a front_b rear_a rear_b\n    unit: mm\n", "    columns: a b\n" + limits
    )
    assert sheet != SHEET
    # what anything may read is named where but one in the house can
    for name, size in (("collar", "74.980 to 75.000"), ("gap", "0.10 to 24.90")):
        kind = f"  {name}:\n    kind: readings\n    positions: P1\n    columns: size\n"
        sheet += kind + limits.replace("74.980 to 75.000", size)
    tools_of = {"collar": "mic_50", "gap": "mic_0"}
    (tmp_path / "engines/two.yaml").write_text(sheet, encoding="utf-8")
    tool = (
        "    kind: micrometer\n    resolution: 0.001 mm\n    permitted_error: 0.002 mm\n    due: 2026-01-01\n"
    )
    tools = "".join(f"  mic_{low}:\n    range: {low} to {low + 25} mm\n{tool}" for low in (0, 25, 50, 75))
    shop = _blank("shop") + f"instruments:\n{tools}"
    (tmp_path / "shop.yaml").write_text(shop, encoding="utf-8")
    start("job", "1-d", "--opened", "2026-02-01", "--engine", "two", shop=tmp_path)
    tables = load_shop(tmp_path).jobs["1-d"].rounds["arrival"].model.tables
    assert tables["journals"].instrument == "mic_50"
    assert tables["housings"].instrument == ""  # no bore gauge is in the house
    assert {name: tables[name].instrument for name in tools_of} == tools_of
    # whose calibration is due is told once it has been used
    assert [one.message for one in problems(tmp_path) if "calibration" in one.message] == []


@pytest.mark.parametrize("kind", ["bore gauge", "bore micrometer"])
def test_arrival_asks_what_a_gauge_was_set_in(tmp_path: Path, kind: str) -> None:
    """Nobody is put words into his mouth: which micrometer it was stands there once he has typed it."""
    (tmp_path / "engines").mkdir()
    limits = "    new:\n      size: 74.980 to 75.000\n    source: common_practice\n"
    sheet = SHEET.replace("    unit: in\n", f"    unit: mm\n{limits}")
    (tmp_path / "engines/one.yaml").write_text(sheet, encoding="utf-8")
    figures = "    resolution: 0.001 mm\n    permitted_error: 0.002 mm\n    range: 50 to 100 mm\n"
    shop = _blank("shop") + f"instruments:\n  gauge:\n    kind: {kind}\n{figures}"
    (tmp_path / "shop.yaml").write_text(shop, encoding="utf-8")
    start("job", "1-d", "--opened", "2026-02-01", "--engine", "one", shop=tmp_path)
    text = (tmp_path / "1-d/measurements/arrival.yaml").read_text(encoding="utf-8")
    assert ("    instrument: gauge\n    #set_from: " in text) == (kind == "bore gauge")
    assert load_shop(tmp_path).jobs["1-d"].rounds["arrival"].model.tables["housings"].set_from == ""


def test_a_part_alone_gets_its_own_tables_or_nothing_is_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = ("job", "1-main", "--only")
    assert start(*head, "cylinder_head", shop=tmp_path) == 2
    assert "needs a sheet of 'main'" in " ".join(capsys.readouterr().err.split())
    start("engine", "main", "--cylinders", "4", "--arrangement", "inline", "--strokes", "4", shop=tmp_path)
    before = texts(tmp_path)
    assert start(*head, "cylinder_hed", shop=tmp_path) == 2
    assert "did you mean 'cylinder_head'" in " ".join(capsys.readouterr().err.split())
    assert texts(tmp_path) == before
    assert start(*head, "cylinder_head", shop=tmp_path) == 0
    shop = load_shop(tmp_path)
    arrival, sheet = shop.jobs["1-main"].rounds["arrival"], shop.engines["main"].model
    assert sheet is not None and shop.jobs["1-main"].record.arrival.only == ["cylinder_head"]
    assert {"cylinder_head"} == {sheet.features[name].part for name in arrival.cells}
