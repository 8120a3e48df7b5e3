"""Loads and oil films of the demo's six, by what every bench knows; and sheets that cannot be so."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from rebuildreport.assess import assess_for_documents, assess_job
from rebuildreport.assess.loads.bearing_loads import engine_loads
from rebuildreport.assess.model.engineload import EngineLoads
from rebuildreport.documents.record.running_view import running_table, running_view
from rebuildreport.quantities import english
from rebuildreport.records import ShopFolder, load_shop

ROOT = Path(__file__).resolve().parents[2]
SIX, SHEET = "2026-003-orchard-six", "tarnbeck-od6-54"


def _shop(folder: Path, *changes: tuple[str, str]) -> Path:
    shop = folder / "jobs"
    shutil.copytree(ROOT / "jobs" / SIX, shop / SIX, ignore=shutil.ignore_patterns("photos"))
    shutil.copytree(ROOT / "jobs" / "engines", shop / "engines")
    shutil.copy(ROOT / "jobs" / "shop.yaml", shop)
    sheet = shop / "engines" / f"{SHEET}.yaml"
    text = sheet.read_text("utf-8")
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    sheet.write_text(text, "utf-8")
    return shop


def _loads(shop: Path) -> EngineLoads | None:
    loaded = load_shop(shop, [SIX])
    job, sheet = loaded.jobs[SIX], loaded.engines[SHEET].model
    return sheet and engine_loads(sheet, job, assess_job(loaded, job))


@pytest.fixture(scope="module")
def six(tmp_path_factory: pytest.TempPathFactory) -> EngineLoads:
    found = _loads(_shop(tmp_path_factory.mktemp("six")))
    assert found is not None
    return found


def test_the_six_s_bearings(six: EngineLoads) -> None:
    """Common practice: rods loaded on their shank's half, mains on their caps; a diesel that is not
    blown peaks below 100 bar; bearings of such engines carry 5 to 30 MPa."""
    assert len(six.bearings) == 3 * 13
    for one in six.bearings:
        assert (one.upper_share > 0.75) == (one.of == "rod")
        assert one.specific is not None and 5 < one.specific < 30
    taken, low, high = six.peak_pressure
    assert 45 < low < taken < high < 100


def test_wide_bearings_run_on_thin_oil(six: EngineLoads) -> None:
    """M4 came with 0.206 and R3 with 0.121: their films were the thinnest of their kind, and are not now."""
    for kind, wide in (("main", "M4"), ("rod", "R3")):
        of = [one for one in six.bearings if one.of == kind and one.speed == six.torque_at]
        arrived = {one.position: one.films[0].thinnest for one in of}
        assert min(arrived, key=lambda position: arrived[position]) == wide
        now = {one.position: one.films[-1].thinnest for one in of}
        assert now[wide] > arrived[wide]
        for one in of:
            for film in one.films:
                assert film.low <= film.thinnest <= film.high


def test_the_film_is_thickest_at_some_clearance(six: EngineLoads) -> None:
    """Too tight warms the oil, too wide lets it go: the curve has its top inside (lubrication theory)."""
    films = [film for _, film in six.curve]
    top = films.index(max(films))
    assert 0 < top < len(films) - 1


def test_units_do_not_matter(six: EngineLoads, tmp_path: Path) -> None:
    inches = _loads(
        _shop(
            tmp_path,
            ("rod_length: 220.0 mm", "rod_length: 8.661417 in"),
            ("torque: 285 N·m", "torque: 210.2052 lbf·ft"),
            ("piston_mass: 1290 g", "piston_mass: 2.843963 lb"),
        )
    )
    assert inches is not None
    for one, other in zip(six.bearings, inches.bearings, strict=True):
        assert other.peak == pytest.approx(one.peak, rel=1e-3)


def test_a_diesel_is_one_by_whatever_name(six: EngineLoads, tmp_path: Path) -> None:
    """As the cautions know it: marine diesel burns as diesel does."""
    marine = _loads(_shop(tmp_path, ("fuel: diesel", "fuel: marine diesel")))
    assert marine is not None and marine.peak_pressure == six.peak_pressure


def test_what_is_not_known_is_left_out(tmp_path: Path) -> None:
    """Without a rod length nothing is worked out; without oil or widths loads alone."""
    assert _loads(_shop(tmp_path / "a", ("  rod_length: 220.0 mm\n", ""))) is None
    dry = _loads(_shop(tmp_path / "b", ("  oil: 15W-40\n", ""), ("  main_width: 30.0 mm\n", "")))
    assert dry is not None and not any(one.films for one in dry.bearings)
    assert {one.specific is None for one in dry.bearings if one.of == "main"} == {True}
    loaded = load_shop(_shop(tmp_path / "c"), [SIX])
    job, sheet = loaded.jobs[SIX], loaded.engines[SHEET].model
    assert sheet is not None
    plain = {name: one for name, one in sheet.features.items() if one.kind != "bearing_clearance"}
    assert engine_loads(sheet.model_copy(update={"features": plain}), job, assess_job(loaded, job)) is None


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("rod_length: 220.0 mm", "rod_length: 22.0 mm", "no longer than the crank's throw"),
        ("top: 2200 rpm", "top: 60000 rpm", "60000 rpm"),
        ("piston_mass: 1290 g", "piston_mass: 29 kg", "moving masses of another bore"),
        ("torque: 285 N·m", "torque: 2850 N·m", "bar of mean pressure"),
        ("torque: 285 N·m", "torque: 285 mm", "length"),
        ("firing_order: 1 5 3 6 2 4", "firing_order: 1 5 3 6 2 7", "each cylinder once"),
        ("oil: 15W-40", "oil: 15W-44", "no grade"),
        ("  oil: 15W-40", "  bank_angle: 400 deg", "400 deg between two rows"),
        ("compression_ratio: 17.5", "compression_ratio: 0.5", "no compression ratio"),
    ],
)
def test_what_no_engine_has_is_told_at_its_line(tmp_path: Path, before: str, after: str, said: str) -> None:
    shop = _shop(tmp_path, (before, after))
    lines = (shop / "engines" / f"{SHEET}.yaml").read_text("utf-8").splitlines()
    line = next(number for number, text in enumerate(lines, 1) if after in text)
    loaded = load_shop(shop, [SIX])
    found = [one for one in loaded.jobs[SIX].engine_problems if one.line == line]
    assert any(said in problem.message for problem in found), (found, loaded.problems[:3])
    assert _loads(shop) is None or "oil" in before


def test_the_report_tells_it_of_the_bearing_that_failed(six: EngineLoads, tmp_path: Path) -> None:
    """One drawing and two sentences, of M4; in the record every bearing; without findings nothing."""
    loaded = load_shop(_shop(tmp_path), [SIX])
    job = assess_for_documents(loaded, loaded.jobs[SIX])
    told = running_view(job)
    assert told is not None and "M4" in told.title and len(told.sentences) == 2
    film = next(one for one in six.bearings if (one.position, one.speed) == ("M4", 1400.0)).films[0]
    assert f"{1000 * film.thinnest:.1f}" in told.sentences[1] and "0.206" in told.sentences[1]
    assert running_view(replace(job, findings=())) is None
    table = running_table(job)
    assert table is not None and len(table.rows) == len(six.bearings)


def test_what_shakes_the_demo_s_eight_and_six(six: EngineLoads) -> None:
    """Machine dynamics: an inline six is free of both orders; a V8 of 90 degrees with four pins at right
    angles and bob weights of half of what goes up and down is, couples and all. 2·(510 + 830/2) = 1850 g."""
    loaded = load_shop(ROOT / "jobs")
    job, sheet = loaded.jobs["2026-016-recovery-truck-v8"], loaded.engines["calverdine-c8-50"].model
    eight = sheet and engine_loads(sheet, job, assess_job(loaded, job))
    assert eight is not None and eight.bob_weight == pytest.approx(1850)
    assert all(one.force < 1e-6 and (one.couple or 0.0) < 1e-6 for one in eight.shaking)
    assert six.bob_weight is None and all(one.force < 1e-6 and one.couple is None for one in six.shaking)


def test_an_order_that_four_pins_cannot_have_is_told(tmp_path: Path) -> None:
    shop = tmp_path / "jobs"
    shutil.copytree(ROOT / "jobs" / "2026-016-recovery-truck-v8", shop / "2026-016-recovery-truck-v8")
    shutil.copytree(ROOT / "jobs" / "engines", shop / "engines")
    shutil.copy(ROOT / "jobs" / "shop.yaml", shop)
    sheet = shop / "engines" / "calverdine-c8-50.yaml"
    text = sheet.read_text("utf-8").replace("firing_order: 1 8 4 3 6 5 7 2", "firing_order: 1 3 2 4 5 6 7 8")
    sheet.write_text(text, "utf-8")
    problems = load_shop(shop).jobs["2026-016-recovery-truck-v8"].engine_problems
    assert any("firing order" in one.message and one.severity == "error" for one in problems)


def _eight(folder: Path, lift: str, room: str) -> ShopFolder:
    shop = folder / "jobs"
    shutil.copytree(ROOT / "jobs" / "2026-016-recovery-truck-v8", shop / "2026-016-recovery-truck-v8")
    shutil.copytree(ROOT / "jobs" / "engines", shop / "engines")
    shutil.copy(ROOT / "jobs" / "shop.yaml", shop)
    sheet = shop / "engines" / "calverdine-c8-50.yaml"
    text = sheet.read_text("utf-8").replace("valve_lift: 10.4 mm", lift).replace("valve_room: 6.5 mm", room)
    sheet.write_text(text, "utf-8")
    return load_shop(shop)


@pytest.mark.parametrize(("room", "clear"), [("6.5 mm", False), ("10.9 mm", False), ("12.0 mm", True)])
def test_valves_meet_pistons_unless_the_sheet_shows_that_they_cannot(
    tmp_path: Path, room: str, clear: bool
) -> None:
    """Common practice: a millimetre at the least besides; what is nearer is still minded."""
    loaded = _eight(tmp_path, "valve_lift: 10.4 mm", f"valve_room: {room}")
    job = assess_job(loaded, loaded.jobs["2026-016-recovery-truck-v8"])
    assert job.engine.nature.valves_clear == clear
    assert ("meet" in english(job.engine.nature.turning)) != clear
    assert (job.engine.nature.called("drive") is None) == clear


def test_a_lift_that_no_valve_has_or_without_its_room_is_told(tmp_path: Path) -> None:
    wrong = _eight(tmp_path / "a", "valve_lift: 104 mm", "valve_room: 6.5 mm")
    alone = _eight(tmp_path / "b", "valve_lift: 10.4 mm", "")
    for loaded, said in ((wrong, "no such valve"), (alone, "without valve_room")):
        problems = loaded.jobs["2026-016-recovery-truck-v8"].engine_problems
        assert any(said in one.message and "valve_lift" in one.quote for one in problems), problems
