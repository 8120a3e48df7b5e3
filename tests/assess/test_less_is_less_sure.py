"""Less knowledge is less sure, for every kind and over whole jobs: no verdict is surer for what nobody says.

Each job is generated from good readings, some of them moved.  Then one thing is left out everywhere: what a
gauge was set from, the instruments, their permitted errors, the walls that were read, the material of the
parts.  No value is held against a number: each verdict against that of the same job with the thing in it
(COMPUTED).
"""

from __future__ import annotations

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.assess import assess_job
from rebuildreport.records import load_shop
from rebuildreport.trade.kinds import KINDS

from .. import DEEPER
from .bench import Bench
from .test_every_kind import ROUND, SHEET
from .test_kinds_hold import FURTHER, FURTHER_ROUND, Sheet, read

# family: kind, range, step, permitted error, repeatability [mm]; errors of a few steps, as bought
SHOWN = {
    "outside": ("micrometer", "0 to 300", "0.001", "0.003", "0.0015"),
    "bore": ("bore gauge", "5 to 160", "0.001", "0.003", "0.0015"),
    "transfer": ("telescopic gauge", "5 to 160", "0.001", "0.001", "0.006"),
    "wall": ("micrometer with ball anvil", "0 to 25", "0.001", "0.003", "0.0015"),
    "gap": ("feeler gauges", "0.02 to 3", "0.01", "0.004", "0.001"),
    "travel": ("dial indicator", "0 to 50", "0.001", "0.004", "0.002"),
}
SURE = ("as new", "serviceable", "beyond limit")
AS_SURE = {*zip(SURE, SURE, strict=True), ("as new", "serviceable")}  # with it and without it
Told = dict[tuple[str, str, str], str]  # feature, position, characteristic: verdict


def instruments() -> str:
    keys = ("kind", "range", "resolution", "permitted_error", "repeatability")
    lines = [
        f"  {name}:\n"
        + "".join(f"    {k}: {v}{' mm' * (k != 'kind')}\n" for k, v in zip(keys, of, strict=True))
        for name, of in SHOWN.items()
    ]
    return "instruments:\n" + "".join(lines)


def heads(sheet: Sheet, carried: bool) -> dict[str, str]:
    """Every table of the rounds with the instrument that reads its kind."""
    tables = {}
    for text in re.split(r"^(?=\w)", ROUND + FURTHER_ROUND, flags=re.MULTILINE):
        name, _, rest = text.partition(":\n")
        if not name:
            continue
        feature = sheet.workings.engine.features[name]
        fit = [one for one in KINDS[feature.kind].instruments if one in SHOWN]
        head = ""
        if fit and feature.unit in ("mm", "in"):
            tool = "outside" if "outside" in fit else fit[0]
            head = f"  instrument: {'transfer' if tool == 'bore' and carried else tool}\n"
            head += "  set_from: outside\n" if tool == "bore" else ""
        tables[name] = f"{name}:\n{head}" + re.sub(r"  instrument: .*\n", "", rest)
    return tables


def moved(text: str, chance: random.Random, width: float) -> str:
    """A table with some of its readings off by something like its limits' width."""

    def cell(found: re.Match[str]) -> str:
        places = len(found[0].partition(".")[2])
        value = float(found[0]) + chance.choice((0.0, 0.1, 0.3, 0.6)) * chance.gauss(0.0, width)
        return f"{max(value, 10.0**-places):.{places}f}"

    head, rows, body = text.partition("  rows:\n")
    lines = [re.sub(r"(?<![\w.])\d+\.\d+", cell, line) for line in body.splitlines(True)]
    return head + rows + "".join(lines)


def told(bench: Bench) -> Told:
    folder = load_shop(bench.shop)
    job = folder.jobs["job-1"]
    errors = [p for p in [*folder.problems, *job.problems, *job.engine_problems] if p.severity == "error"]
    assert not errors, errors
    found = assess_job(folder, job).characteristics
    return {(one.feature, one.position, one.name): one.verdict for one in found if one.stands}


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    made = Bench(tmp_path_factory.mktemp("sure"), SHEET + FURTHER, rule="guarded")
    made.square()
    made.round("arrival", "2026-03-02", ROUND + FURTHER_ROUND)
    return made


def without(text: str, *keys: str) -> str:
    return re.sub(rf"^ *(?:{'|'.join(keys)}): .*\n", "", text, flags=re.MULTILINE)


def test_what_nobody_says_makes_nothing_surer(bench: Bench) -> None:
    sheet = read(bench)
    shop, engine = bench.shop / "shop.yaml", bench.shop / "engines/n-4.yaml"
    knowing = shop.read_text("utf-8").partition("instruments:")[0] + instruments()
    of_parts = engine.read_text("utf-8")

    @settings(max_examples=4 * DEEPER, deadline=None)
    @given(st.integers(0, 10**6))
    def holds(seed: int) -> None:
        chance = random.Random(seed)
        warmth = chance.choice(("20 °C", "26 °C"))
        tables = {
            # walls that nobody read are at most new ones, as worn shells are: a tenth more than these
            # is a shell of another size, which no sheet tells of
            name: moved(text, chance, min(sheet.width(name), 0.01) if name == "halves" else sheet.width(name))
            for name, text in heads(sheet, chance.random() < 0.5).items()
        }

        def judged(leave: str = "") -> Told:
            kept = [text for name, text in tables.items() if (leave, name) != ("walls", "halves")]
            text = "".join(kept)
            if leave in ("set_from", "instrument"):
                text = without(text, "set_from", leave)
            unknown = re.sub(r"permitted_error: .*", "permitted_error: unknown", knowing)
            shop.write_text(unknown if leave == "errors" else knowing, encoding="utf-8")
            engine.write_text(without(of_parts, "material") if leave == "material" else of_parts, "utf-8")
            bench.round("arrival", "2026-03-02", text, warmth)
            return told(bench)

        whole = judged()
        for leave in ("set_from", "instrument", "errors", "walls", "material"):
            for what, verdict in judged(leave).items():
                before = whole.get(what, "")
                # a reading that its instrument cannot show is out, and in where nobody says what read it
                if verdict in SURE and before not in ("not measured", ""):
                    assert (before, verdict) in AS_SURE, (leave, what)

    holds()
