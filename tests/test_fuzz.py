"""Files that nobody would type: a few of the inputs of ``.ci/fuzz.py``, and those that it once found."""

from __future__ import annotations

import importlib.util
import random
import sys
from pathlib import Path
from types import ModuleType

import pytest
import yaml

from rebuildreport.records import load_shop

HERE = Path(__file__).resolve().parent
KEPT = yaml.safe_load((HERE / "fuzz_kept.yaml").read_text("utf-8"))


@pytest.fixture(scope="module")
def fuzz() -> ModuleType:
    spec = importlib.util.spec_from_file_location("fuzz", HERE.parent / ".ci" / "fuzz.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["fuzz"] = module
    spec.loader.exec_module(module)
    return module


def _told(fuzz: ModuleType, found: object) -> str:
    return "\n".join([f"{found.what} at {found.place} in {found.file}", *fuzz.difference(found)])  # type: ignore[attr-defined]


def test_mutated_files_are_told_in_words_and_in_time(fuzz: ModuleType) -> None:
    tally = fuzz.fuzz(seed=2026, inputs=2_000, seconds=600, every=25)
    assert tally.counts["inputs"] == 2_000
    assert tally.counts["assessed"] > 5
    assert not tally.found, "\n".join(_told(fuzz, found) for found in tally.found.values())


@pytest.mark.parametrize("kept", KEPT, ids=lambda kept: kept["new"].strip()[:30])
def test_what_was_found_once_is_a_message(fuzz: ModuleType, tmp_path: Path, kept: dict[str, str]) -> None:
    bench = fuzz.Bench(tmp_path)
    text = bench.files[kept["file"]]
    assert kept["old"] in text
    data = text.replace(kept["old"], kept["new"], 1).encode()
    bench.attempt(kept["file"], data, random.Random(1), 0)
    assert not bench.tally.found, [_told(fuzz, found) for found in bench.tally.found.values()]
    (bench.shop / kept["file"]).write_bytes(data)
    problems = load_shop(bench.shop).all_problems
    assert any(one.file == kept["file"] and kept["told"] in one.message for one in problems)
