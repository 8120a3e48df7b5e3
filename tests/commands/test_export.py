"""Open tables of a shop, read by others: by the W3C's description, by JSON Schema, and back."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path

import pytest
from csvw import CSVW, TableGroup
from jsonschema import Draft202012Validator

from rebuildreport.assess.publishing import opendata
from rebuildreport.commands.main import run
from rebuildreport.records import load_shop

JOBS = Path(__file__).resolve().parents[2] / "jobs"
PUMP, LAUNCH = "2026-017-allotment-pump", "2026-008-river-launch"  # no consent; in inches, and with it


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("export")
    assert run(["export", PUMP, LAUNCH, "--shop", str(JOBS), "--to", str(folder)]) == 0
    return folder


def test_the_tables_are_what_their_description_says(written: Path) -> None:
    """By the csvw package: types, required cells, keys and references."""
    assert CSVW(str(written / opendata.METADATA), validate=True).is_valid
    group = TableGroup.from_file(written / opendata.METADATA)
    group.check_referential_integrity()
    rows = [row for row in group.tabledict["values.csv"].iterdicts() if row["value"] is not None]
    # by hand, from the pump's file: the exhaust spring stands 31.86 mm free
    (spring,) = [
        row for row in rows if row["job"] == PUMP and row["feature"] == "springs" and "E" in row["position"]
    ]
    assert (spring["value"], spring["unit"], spring["verdict"]) == (31.86, "mm", "beyond limit")
    broken = written / "values.csv"
    text = broken.read_text("utf-8")
    try:
        broken.write_text(text.replace(",31.86,", ",thirty,"), "utf-8")
        with pytest.raises(ValueError, match="thirty"):
            list(TableGroup.from_file(written / opendata.METADATA).tabledict["values.csv"].iterdicts())
    finally:
        broken.write_text(text, "utf-8")


def test_the_json_is_of_its_schema(written: Path, tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(JOBS, shop, ignore=shutil.ignore_patterns("2026-*", "pages"))
    assert run(["schema", "--shop", str(shop)]) == 0
    schema = json.loads((shop / ".schemas/data.json").read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    data = json.loads((written / "data.json").read_text("utf-8"))
    assert not list(Draft202012Validator(schema).iter_errors(data))
    data["readings"][0]["reading"] = 1.0
    assert list(Draft202012Validator(schema).iter_errors(data))
    for name in opendata.TABLES:
        with (written / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            assert len(list(csv.DictReader(file))) == len(data[name])


def test_a_round_goes_to_another_shop_and_stands_there_as_it_was_typed(
    written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = tmp_path / "shop"
    shutil.copytree(JOBS, shop, ignore=shutil.ignore_patterns("2026-003*", "2026-004*", "pages"))
    file = str(written / "readings.csv")
    take = ["take", LAUNCH, "again", file, "--shop", str(shop), "--by", "shop"]
    assert run(take) == 1
    assert f"say which by --of: {PUMP}/arrival" in capsys.readouterr().err
    assert run([*take, "--of", f"{LAUNCH}/arrival"]) == 0, capsys.readouterr().err
    rounds = load_shop(shop, [LAUNCH]).jobs[LAUNCH].rounds
    read = [
        {(name, at, column, cell.text) for name, rows in rounds[one].cells.items() for at, row in rows.items()
         for column, cell in row.items() if cell.state != "not taken"}
        for one in ("arrival", "again")
    ]  # fmt: skip
    assert read[0] == read[1] and read[0]


def test_the_public_form_says_nothing_private(tmp_path: Path) -> None:
    """No job without consent, no price; no name, number or address of an owner, as their files have them."""
    assert run(["export", "--public", "--shop", str(JOBS), "--to", str(tmp_path)]) == 0
    said = "".join(path.read_text("utf-8") for path in tmp_path.iterdir())
    data = json.loads((tmp_path / "data.json").read_text("utf-8"))
    assert data["jobs"] and not any(job["total"] for job in data["jobs"])
    for path in JOBS.glob("2026-*/job.yaml"):
        text = path.read_text("utf-8")
        if not re.search(r"^publish: yes", text, re.MULTILINE):
            assert path.parent.name not in said
        for key in ("name", "contact", "serial", "registration", "address"):
            for found in re.findall(rf"^  {key}: (.+?)(?: *#.*)?$", text, re.MULTILINE):
                assert found not in said, (path, key)
