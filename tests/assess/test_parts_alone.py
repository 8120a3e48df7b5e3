"""A head or a crank that came without its engine: what else the sheet has is no matter of the job."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.publishing.results import results_json
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.site.making.waits import waiting_jobs

DEMO = Path(__file__).resolve().parents[2] / "jobs"
TWIN = "2026-004-twin-cam"
ARRIVAL = "date: 2026-04-16\nby: me\ntemperature: 20 °C\ntables:\n"
GUIDES = (
    "  exhaust_guides:\n    unit: mm\n    instrument: mic_0_25\n    columns: stem_min guide_max\n    rows:\n"
)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The demo's twin cam as it came: nothing of it measured, nothing decided."""
    jobs = tmp_path / "jobs"
    shutil.copytree(DEMO / "engines", jobs / "engines")
    for name in ("shop.yaml", "stock.yaml"):
        shutil.copy(DEMO / name, jobs)
    (jobs / TWIN / "measurements").mkdir(parents=True)
    job = "title: x\nengine: drennick-q16-13\nopened: 2026-04-13\narrival:\n  complaint: burnt\n"
    (jobs / TWIN / "job.yaml").write_text(job, "utf-8")
    (jobs / TWIN / "measurements" / "arrival.yaml").write_text(
        f"{ARRIVAL}{GUIDES}      E3: 5.940 6.061\n", "utf-8"
    )
    return jobs


@pytest.mark.parametrize(
    "part", ["cylinder_head", "crankshaft", "cylinder_block", "piston_rings", "timing_drive"]
)
def test_what_did_not_come_is_neither_asked_for_nor_bought(shop: Path, part: str) -> None:
    """Of each part alone nothing of another is due, chosen or priced, but what it is read against."""
    whole = assess_job(folder := load_shop(shop, [TWIN]), folder.jobs[TWIN])
    path = shop / TWIN / "job.yaml"
    path.write_text(path.read_text("utf-8") + f"  only: {part}\n", "utf-8")
    folder = load_shop(shop, [TWIN])
    job = folder.jobs[TWIN]
    assert not folder.all_problems, folder.all_problems
    alone, sheet = assess_job(folder, job), folder.sheet(job)
    assert sheet is not None
    known = folder.engines["drennick-q16-13"].model
    assert known is not None
    # nothing is taken off an engine that is elsewhere
    assert whole.apart.lines and not (alone.apart.lines or alone.apart.left)
    of_others = {name for name, one in known.features.items() if one.part not in ("", part)}
    of_others -= {
        "exhaust_guides",
        *(name for one in sheet.features.values() for name in one.further.values()),
    }
    asked = {one.feature for one in due(folder, job, alone)} | {one.name for one in alone.choices}
    assert asked and not asked & of_others
    assert {one.name for one in whole.features} > {one.name for one in alone.features} >= {"exhaust_guides"}
    assert {line.number for line in alone.cost.lines} == {"VG-E"} < {line.number for line in whole.cost.lines}


def test_a_part_that_no_sheet_knows_is_told_at_its_line(shop: Path) -> None:
    path = shop / TWIN / "job.yaml"
    path.write_text(path.read_text("utf-8") + "  only: cylinder_hed\n", "utf-8")
    (told,) = load_shop(shop, [TWIN]).all_problems
    assert (told.line, told.suggestion) == (6, "did you mean 'cylinder_head'?")


@pytest.mark.parametrize("alone", [False, True])
def test_what_came_alone_and_has_nothing_on_it_is_not_taken_apart(shop: Path, alone: bool) -> None:
    """A camshaft that was read waits for what is done about it; an engine is taken apart."""
    sheet = load_shop(shop, [TWIN]).engines["drennick-q16-13"].model
    assert sheet is not None
    name, lobes = next((name, one) for name, one in sheet.features.items() if one.kind == "lobe")
    rows = "".join(f"      {place}: 45.00\n" for place in lobes.positions)
    (shop / TWIN / "measurements" / "arrival.yaml").write_text(
        f"{ARRIVAL}  {name}:\n    unit: mm\n    columns: height\n    rows:\n{rows}", "utf-8"
    )
    if alone:
        path = shop / TWIN / "job.yaml"
        path.write_text(path.read_text("utf-8") + f"  only: {lobes.part}\n", "utf-8")
    (found,) = waiting_jobs(load_shop(shop))
    assert (found.next.code == "take apart") != alone


@pytest.mark.parametrize(
    ("name", "decided"), [("2026-003-orchard-six", False), ("2026-008-river-launch", True)]
)
def test_any_part_alone_is_assessed_and_told(tmp_path: Path, name: str, decided: bool) -> None:
    """With what was read on it when its engine came; what only a fit can judge is left open, and nothing asks
    for what stands beside it."""
    engine = load_shop(DEMO, [name]).jobs[name].record.engine
    sheet = load_shop(DEMO, [name]).engines[engine].model
    assert sheet is not None
    head, _, tables = (
        (DEMO / name / "measurements" / "arrival.yaml").read_text("utf-8").partition("\ntables:\n")
    )
    day = head.partition("date: ")[2][:10]
    by_name = {table.partition(":")[0].strip(): table for table in re.split(r"(?m)^(?=  \w+:)", tables)}
    for part in dict.fromkeys(one.part for one in sheet.features.values() if one.part):
        mine = {key: one for key, one in sheet.features.items() if one.part == part}
        sized = next((key for key, one in mine.items() if one.steps), "")
        if decided and not sized:
            continue
        folder = tmp_path / part / "jobs"
        shutil.copytree(DEMO / "engines", folder / "engines")
        shutil.copy(DEMO / "shop.yaml", folder)
        (folder / name / "measurements").mkdir(parents=True)
        job = f"title: x\nengine: {engine}\nopened: {day}\narrival:\n  complaint: x\n  only: {part}\n"
        (folder / name / "job.yaml").write_text(job, "utf-8")
        if rows := [by_name[key] for key in mine if key in by_name]:
            text = f"{head}\ntables:\n{''.join(rows)}"
            (folder / name / "measurements" / "arrival.yaml").write_text(text, "utf-8")
        if decided:
            size = mine[sized].steps[0].text
            work = f"decisions:\n  W1:\n    about: {sized}\n    do: recondition\n    size: {size}\n"
            work += f"    why: worn\n    by: shop\n    date: {day}\n"
            (folder / name / "work.yaml").write_text(work, "utf-8")
        loaded = load_shop(folder, [name])
        assert loaded.jobs[name].usable, loaded.all_problems
        told = assess_job(loaded, loaded.jobs[name])
        assert not [one for one in told.in_the_files if "sets:" in english(one) or "came off" in english(one)]
        assert b"the rest of the engine" in results_json(told)
        report_html(told, {}, "shop", pdf="", further=[], shop=folder)
