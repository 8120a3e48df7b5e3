"""The bench page in a browser, from a file and without a network."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.model.assessment import Assessment, Due, DueRound
from rebuildreport.documents.bench.roundfile import layout
from rebuildreport.documents.sheets import register
from rebuildreport.records import ShopFolder, load_shop
from rebuildreport.records.text.writing import round_text

DEMO = Path(__file__).resolve().parents[2] / "jobs"
SIX = "2026-003-orchard-six"
HEAD = ("2026-02-05", "bench 1", "20 °C")
Readings = dict[tuple[str, str, str], str]  # feature, position, column: as typed


@cache
def shop() -> ShopFolder:
    return load_shop(DEMO, [SIX])


@cache
def evening(language: str = "en") -> Assessment:
    """The orchard six on its first evening: everything is due."""
    job = replace(
        shop().jobs[SIX], rounds={}, teardown=None, findings=None, work=None, assembly=None, running=None
    )
    one = assess_job(shop(), job)
    return replace(one, shop_language=language, due=DueRound("arrival", due(shop(), job, one)))


@cache
def found() -> tuple[Due, ...]:
    known = evening().due
    assert known is not None
    return known.features


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder, sheet = tmp_path_factory.mktemp("bench"), register.named("bench-page")
    made = {}
    for tag in ("en", "de"):
        made[tag] = folder / f"arrival-{tag}.html"
        made[tag].write_text(sheet.html(sheet.view(evening(tag))), "utf-8")
    return made


@pytest.fixture
def bench(chromium: Any, pages: dict[str, Path]) -> Iterator[Any]:
    """The page on a phone, with no network, and nothing that it may complain of."""
    context = chromium.new_context(viewport={"width": 390, "height": 844}, offline=True)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda said: faults.append(said.text) if said.type == "error" else None)
    page.goto(pages["en"].as_uri())
    yield page
    assert not faults
    context.close()


def demo_readings() -> Readings:
    """Every reading of the arrival for which the sheet has a box."""
    read: Readings = {}
    arrival = shop().jobs[SIX].rounds["arrival"]
    for name, table in arrival.model.tables.items():
        for position, row in arrival.cells[name].items():
            for column, one in row.items():
                if one.state != "not taken":
                    read[(table.feature or name, position, column)] = one.text
    return {place: read[place] for place in boxes() if place in read}


def boxes() -> list[tuple[str, str, str]]:
    return [
        (each.feature, at, column) for each in found() for at in each.positions for column in each.columns
    ]


def as_laid_out(readings: Readings, confirmed: frozenset[tuple[str, str, str]] = frozenset()) -> str:
    """The round's file as the program writes it."""
    laid = []
    for each in found():
        mine = {
            (at, column): text + ("!" if (feature, at, column) in confirmed else "")
            for (feature, at, column), text in readings.items()
            if feature == each.feature
        }
        laid.append(layout(each).lines(mine))
    return round_text(*HEAD, laid)


def head(page: Any) -> None:
    for name, text in zip(("date", "by", "temperature"), HEAD, strict=True):
        page.fill(f"#h-{name}", text)
        page.dispatch_event(f"#h-{name}", "change")


def saved(page: Any) -> str:
    with page.expect_download() as waiting:
        page.click("#save")
    assert waiting.value.suggested_filename == "arrival.yaml"
    return Path(waiting.value.path()).read_text("utf-8")


def test_it_is_one_small_file(pages: dict[str, Path]) -> None:
    for path in pages.values():
        assert path.stat().st_size < 300_000
        text = path.read_text("utf-8")
        assert not re.search(r'(?:src|href)="(?!data:)', text) and "http" not in text.replace(
            "http-equiv", ""
        )


def test_what_is_typed_is_what_is_written(bench: Any) -> None:
    """A whole round by keys alone, as a person or a gauge types it; then the bytes of the program."""
    read = demo_readings()
    assert len(boxes()) > 800
    head(bench)
    bench.focus("#reading")
    confirmed, presses = set(), 0
    for place in boxes():
        text = read.get(place, "--")
        keys = "x" if text == "--" else "n" if text == "none" else f"{text}\n"
        presses += len(keys)
        bench.keyboard.type(keys)
        if bench.evaluate("waiting !== null"):
            bench.click("#stands")
            confirmed.add(place)
            presses += 2
    whole = as_laid_out(read, frozenset(confirmed))
    assert saved(bench) == whole
    assert len(confirmed) <= 3, confirmed  # of honest readings; what was beyond doubt is not asked
    by_hand = sum(len(line.partition("  #")[0]) + 1 for line in whole.splitlines()[4:])
    assert presses * 2 < by_hand, (presses, by_hand)
