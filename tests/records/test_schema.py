"""The published schemas, held by jsonschema: a file that loads passes, with numbers as editors see them."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from rebuildreport.records.json_schema import KINDS, schema, write_schemas

FILES = {
    "shop": "shop.yaml",
    "stock": "stock.yaml",
    "engine": "engines/four.yaml",
    "job": "j1/job.yaml",
    "teardown": "j1/teardown.yaml",
    "round": "j1/measurements/arrival.yaml",
    "findings": "j1/findings.yaml",
    "work": "j1/work.yaml",
    "assembly": "j1/assembly.yaml",
    "running": "j1/running.yaml",
}


def as_json(value: Any) -> Any:
    """What an editor's YAML service makes of a file: YAML 1.2 numbers and truth values, dates as text."""
    if isinstance(value, dict):
        return {str(key): as_json(one) for key, one in value.items()}
    if isinstance(value, list):
        return [as_json(one) for one in value]
    return value if isinstance(value, (str, int, float, bool, type(None))) else str(value)


@pytest.mark.parametrize("kind", KINDS)
def test_is_a_schema_of_draft_2020_12(kind: str) -> None:
    found = schema(kind)
    assert found["$schema"] == jsonschema.Draft202012Validator.META_SCHEMA["$id"]
    jsonschema.Draft202012Validator.check_schema(found)
    assert found["title"] == KINDS[kind][1]


def test_every_kind_has_an_example_here() -> None:
    assert set(FILES) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_numbers_and_texts_pass_and_a_wrong_key_does_not(kind: str, write: Any, tmp_path: Path) -> None:
    assert write().all_problems == []
    text = (tmp_path / FILES[kind]).read_text(encoding="utf-8")
    validator = jsonschema.Draft202012Validator(schema(kind))
    as_text = yaml.load(text, Loader=yaml.BaseLoader)  # every scalar a text
    as_typed = as_json(yaml.safe_load(text))  # numbers where they look like numbers
    for data in (as_text, as_typed):
        assert [error.message for error in validator.iter_errors(data)] == []
        wrong = copy.deepcopy(data)
        wrong["no_such_key"] = 1
        assert not validator.is_valid(wrong)


def test_what_looks_like_a_number_or_a_truth_value_passes_in_an_editor() -> None:
    def valid(kind: str, text: str) -> bool:
        return jsonschema.Draft202012Validator(schema(kind)).is_valid(as_json(yaml.safe_load(text)))

    job = "title: 77\nengine: 54\nopened: 2026-02-03\npublish: no\narrival:\n  complaint: yes\n"
    assert valid("job", job)
    sheet = "maker: 1\nmodel: 2\nlayout:\n  cylinders: 4\n  arrangement: inline\n  strokes: 4\n"
    sheet += "features:\n  j:\n    kind: "
    assert valid("engine", sheet + "journal\n") and not valid("engine", sheet + "jurnal\n")
    assert not valid("job", job.replace("publish: no", "publish: 7"))
    table = "date: 2026-02-05\nby: 1\ntemperature: 20 °C\ntables:\n  t:\n    columns: a\n    rows:\n      1: "
    assert valid("round", table + "75.970\n") and valid("round", table + "75.970 --\n")
    assert not valid("round", table + "[75.970]\n")
    assert not valid("round", "by: 1\ntemperature: 20 °C\n")


def test_keys_are_described() -> None:
    described = schema("round")["$defs"]["Table"]["properties"]
    assert "micrometer" in described["set_from"]["description"]


def test_written_once_and_left_alone(tmp_path: Path) -> None:
    paths = write_schemas(tmp_path)
    assert sorted(path.stem for path in paths) == sorted(KINDS)
    before = [(path.read_bytes(), path.stat().st_mtime_ns) for path in paths]
    write_schemas(tmp_path)
    assert [(path.read_bytes(), path.stat().st_mtime_ns) for path in paths] == before
    assert not list(tmp_path.rglob("*.part"))
