"""The same job typed another way has the same verdicts, choices and totals.

Rows, columns and tables in another order, a round in two files, lengths in inches (1 in = 25.4 mm exactly,
Yard and Pound Agreement of 1959): nothing of that is about the engine.  Both demo jobs, seeded.
"""

from __future__ import annotations

import math
import random
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from rebuildreport.assess import assess_job
from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.records.text.reader import read

JOBS = Path(__file__).parents[2] / "jobs"
SIX, TWIN = "2026-003-orchard-six", "2026-004-twin-cam"
NEAR = 2e-3  # of a millimetre or a newton: what the digits of inches leave out
Rounds = dict[str, dict[str, Any]]  # name of the file: its record
Typed = Callable[[Rounds, random.Random], Rounds]


def shuffled(block: dict[str, Any], seed: random.Random) -> dict[str, Any]:
    keys = list(block)
    seed.shuffle(keys)
    return {key: block[key] for key in keys}


def rows_in_another_order(rounds: Rounds, seed: random.Random) -> Rounds:
    for record in rounds.values():
        for table in record["tables"].values():
            table["rows"] = shuffled(table["rows"], seed)
    return rounds


def columns_in_another_order(rounds: Rounds, seed: random.Random) -> Rounds:
    for record in rounds.values():
        for table in record["tables"].values():
            columns = table["columns"].split()
            order = seed.sample(range(len(columns)), len(columns))
            table["columns"] = " ".join(columns[i] for i in order)
            for position, row in table["rows"].items():
                words = row.split()
                table["rows"][position] = " ".join(words[i] for i in order)
    return rounds


def tables_in_another_order(rounds: Rounds, seed: random.Random) -> Rounds:
    """Two tables of one feature keep their order: it is the order of the work."""
    for record in rounds.values():
        known = list(record["tables"].items())
        of_feature: dict[str, list[tuple[str, Any]]] = {}
        for name, table in known:
            of_feature.setdefault(table.get("feature", name), []).append((name, table))
        features = [table.get("feature", name) for name, table in known]
        seed.shuffle(features)
        record["tables"] = dict(of_feature[feature].pop(0) for feature in features)
    return rounds


def keys_in_another_order(rounds: Rounds, seed: random.Random) -> Rounds:
    for record in rounds.values():
        record["tables"] = {name: shuffled(table, seed) for name, table in record["tables"].items()}
    return {name: shuffled(record, seed) for name, record in rounds.items()}


def a_round_in_two_files(rounds: Rounds, seed: random.Random) -> Rounds:
    """Each table in one of two files of the same day; those of one feature stay together."""
    found: Rounds = {}
    for name, record in rounds.items():
        features = {table.get("feature", key) for key, table in record["tables"].items()}
        moved = {feature for feature in sorted(features) if seed.random() < 0.5}
        for suffix, wanted in (("", features - moved), ("-more", moved)):
            tables = {
                key: table for key, table in record["tables"].items() if table.get("feature", key) in wanted
            }
            found[f"{name}{suffix}"] = {**record, "tables": tables}
    return found


def in_inches(rounds: Rounds, seed: random.Random) -> Rounds:
    """As a digital instrument shows the other system: a digit finer than its steps, and no more."""
    tools = read(JOBS / "shop.yaml")[0].data["instruments"]
    for record in rounds.values():
        for table in record["tables"].values():
            if table.get("unit") == "mm":
                step = float(tools[table["instrument"]]["resolution"].split()[0]) / 25.4
                table["unit"] = "in"
                table["rows"] = {
                    position: inches(row, 1 + math.ceil(-math.log10(step)))
                    for position, row in table["rows"].items()
                }
    return rounds


def inches(row: str, digits: int) -> str:
    return re.sub(r"-?\d+\.\d+", lambda mm: f"{float(mm.group()) / 25.4:.{digits}f}", row)


def outcome(jobs: Path, job: str) -> dict[str, Any]:
    shop = load_shop(jobs, [job])
    assert shop.jobs[job].usable, [one for one in shop.all_problems if one.severity == "error"]
    found = assess_job(shop, shop.jobs[job])
    return {
        "verdicts": {
            (one.feature, one.name, one.position): (
                one.verdict,
                english(one.side),
                None if one.value is None else pytest.approx(one.value, abs=NEAR, rel=NEAR / 10),
            )
            for one in found.characteristics
            if one.stands
        },
        "choices": {(one.name, english(one.answer), one.status) for one in found.choices},
        "lines": sorted((english(one.name), str(one.quantity), str(one.amount)) for one in found.cost.lines),
        "total": (found.cost.total, found.cost.minimum),
        "questions": sorted(english(one) for one in found.to_decide),
    }


@pytest.fixture(scope="module")
def as_typed() -> dict[str, dict[str, Any]]:
    return {job: outcome(JOBS, job) for job in (SIX, TWIN)}


WAYS = (
    rows_in_another_order,
    columns_in_another_order,
    tables_in_another_order,
    keys_in_another_order,
    a_round_in_two_files,
    in_inches,
)
SMALL = sorted(
    job.name for job in JOBS.iterdir() if (job / "measurements").is_dir() and job.name not in (SIX, TWIN)
)


@pytest.mark.parametrize("job", SMALL)
def test_a_small_job_typed_another_way_in_all_of_them(job: str, tmp_path: Path) -> None:
    """Singles, a flat twin, a V8, a two-stroke: all at once, as one fails or all hold."""

    def typed(rounds: Rounds, seed: random.Random) -> Rounds:
        for way in WAYS:
            rounds = way(rounds, seed)
        return rounds

    is_the_same(typed, job, tmp_path, outcome(JOBS, job))


@pytest.mark.parametrize("job", [SIX, TWIN])
@pytest.mark.parametrize("typed", WAYS)
def test_the_same_job_typed_another_way(
    typed: Typed, job: str, tmp_path: Path, as_typed: dict[str, dict[str, Any]]
) -> None:
    is_the_same(typed, job, tmp_path, as_typed[job])


def is_the_same(typed: Typed, job: str, tmp_path: Path, as_typed: dict[str, Any]) -> None:
    for name in ("shop.yaml", "stock.yaml"):
        shutil.copy(JOBS / name, tmp_path / name)
    shutil.copytree(JOBS / "engines", tmp_path / "engines")
    shutil.copytree(JOBS / job, tmp_path / job, ignore=shutil.ignore_patterns("measurements"))
    rounds = {file.stem: read(file)[0].data for file in sorted((JOBS / job / "measurements").glob("*.yaml"))}
    (tmp_path / job / "measurements").mkdir()
    for name, record in typed(rounds, random.Random(7)).items():
        text = yaml.dump(record, sort_keys=False, allow_unicode=True, width=10_000)
        (tmp_path / job / "measurements" / f"{name}.yaml").write_text(text, encoding="utf-8")
    now = outcome(tmp_path, job)
    for what, before in as_typed.items():
        if isinstance(before, dict):
            differ = {key: (before.get(key), now[what].get(key)) for key in before.keys() | now[what].keys()}
            assert {key: pair for key, pair in differ.items() if pair[0] != pair[1]} == {}, what
        else:
            assert now[what] == before, what
