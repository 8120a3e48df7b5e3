"""Jobs made of the demo's: a reading moved so that nothing reads better never makes the engine cheaper.

COMPUTED by comparing each job with the one that it was made of.  What is taken off the list because it is not
settled any more has to stand there without a price, and the total as a minimum.
"""

from __future__ import annotations

import re
import shutil
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.quantities import english
from rebuildreport.records import JobFolder, load_shop
from rebuildreport.trade.measuring.verdict import ORDER

from .. import DEEPER, SMALL_JOBS

JOBS = Path(__file__).resolve().parents[2] / "jobs"
FOUR = "2026-004-twin-cam"
LATER = r"(?ms)^(ready|delivered|approvals|issued|paid|reopened|promised):.*?(?=^\S|\Z)"
ROW = re.compile(r"^( +[A-Za-z][A-Za-z0-9_]*: +)(\d[-0-9./ a-z]*?)( *)(#.*)?$")


class Variant:
    """A job of which one reading at a time is typed otherwise."""

    def __init__(self, job: Path) -> None:
        self.job = job
        self.rounds = {path: path.read_text("utf-8") for path in sorted((job / "measurements").iterdir())}
        self.cells = [
            (path, number, at)
            for path, text in self.rounds.items()
            for number, line in enumerate(text.split("\n"))
            if (row := ROW.match(line))
            for at, word in enumerate(row[2].split())
            if re.fullmatch(r"\d+\.\d+", word)
        ]

    def read(self) -> tuple[JobFolder, Assessment]:
        folder = load_shop(self.job.parent, [self.job.name])
        job = folder.jobs[self.job.name]
        return job, assess_job(folder, job)

    def word(self, cell: int) -> str:
        path, number, at = self.cells[cell % len(self.cells)]
        row = ROW.match(self.rounds[path].split("\n")[number])
        assert row is not None
        return row[2].split()[at]

    def typed(self, cell: int, word: str) -> tuple[JobFolder, Assessment]:
        """The job with another word for one of its readings."""
        path, number, at = self.cells[cell % len(self.cells)]
        lines = self.rounds[path].split("\n")
        row = ROW.match(lines[number])
        assert row is not None
        words = row[2].split()
        words[at] = word
        lines[number] = row[1] + "  ".join(words)
        path.write_text("\n".join(lines), "utf-8")
        try:
            return self.read()
        finally:
            path.write_text(self.rounds[path], "utf-8")

    def moved(self, cell: int, steps: int) -> Assessment:
        """The job with one reading off by so many of its last digit."""
        word = self.word(cell)
        decimals = len(word.partition(".")[2])
        return self.typed(cell, f"{max(0.0, float(word) + steps * 10.0**-decimals):.{decimals}f}")[1]


def twin_cam(folder: Path) -> Variant:
    """The demo's twin cam on the day of its decisions."""
    shop = folder / "jobs"
    shutil.copytree(JOBS, shop, ignore=shutil.ignore_patterns("issued", "photos", "2026-003-*", *SMALL_JOBS))
    job = shop / FOUR
    for name in ("assembly.yaml", "running.yaml", "measurements/at-assembly.yaml"):
        (job / name).unlink()
    (job / "measurements/after-machining.yaml").unlink()
    text = (job / "job.yaml").read_text("utf-8")
    (job / "job.yaml").write_text(re.sub(LATER, "", text), "utf-8")
    return Variant(job)


@pytest.fixture(scope="module")
def variant(tmp_path_factory: pytest.TempPathFactory) -> Variant:
    return twin_cam(tmp_path_factory.mktemp("variant"))


@pytest.fixture(scope="module")
def as_it_is(variant: Variant) -> Assessment:
    return variant.read()[1]


def verdicts(job: Assessment) -> dict[str, str]:
    return {one.key: one.verdict for one in job.characteristics if one.stands}


def bought(job: Assessment, chosen: set[str]) -> tuple[Counter[str], Decimal]:
    """Every part, and what they come to; but for those of which a choice says how many.

    A valve that is farther off may take a shim that is there already, and nothing is bought for it.
    """
    found: Counter[str] = Counter()
    total = Decimal(0)
    for line in job.cost.lines:
        if line.amount is not None and line.number not in chosen:
            found[line.number or english(line.name)] += int(line.quantity)
            total += line.amount
    return found, total


@given(
    cell=st.integers(0, 10_000),
    steps=st.sampled_from([1, 3, 10, 40, 100, 400]),
    up=st.booleans(),
)
@settings(max_examples=12 * DEEPER)
def test_a_worse_reading_costs_no_less(
    variant: Variant, as_it_is: Assessment, cell: int, steps: int, up: bool
) -> None:
    before, after = as_it_is, variant.moved(cell, steps if up else -steps)
    was, now = verdicts(before), verdicts(after)
    judged = {key for key, verdict in was.items() if verdict in ORDER}
    if any(now.get(key) not in ORDER or ORDER.index(now[key]) > ORDER.index(was[key]) for key in judged):
        return  # something reads better by it, or is left out and asked about
    assert {k for k, v in was.items() if v == "beyond limit"} <= {
        k for k, v in now.items() if v == "beyond limit"
    }
    if after.cost.minimum and set(after.cost.not_priced) - set(before.cost.not_priced):
        return  # it is said that the total is less than the whole
    chosen = {buy.part for job in (before, after) for choice in job.choices for buy in choice.buy}
    (parts, total), (then, costs) = bought(before, chosen), bought(after, chosen)
    assert parts <= then
    assert total <= costs
