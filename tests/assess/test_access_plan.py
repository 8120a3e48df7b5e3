"""The access plan of a job: sums by hand from the demo's sheets, and what follows from it in other papers."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.build.page_plans import page_plans
from rebuildreport.assess.model.accessplan import AccessPlan
from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.records.files.buildplan import VERBS, BuildPagePlan, BuildStep
from rebuildreport.trade.access.takedown import held_by

ROOT = Path(__file__).resolve().parents[2]
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"


class Shop:
    """A copy of the demo in which a job is one of its first evening, with a wish."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        leave_out = shutil.ignore_patterns("photos", "measurements", "issued", "[a-z]*running.yaml")
        for name in ("engines", SIX, FOUR):
            shutil.copytree(ROOT / "jobs" / name, folder / name, ignore=leave_out)
        for name in ("shop.yaml", "stock.yaml"):
            shutil.copy(ROOT / "jobs" / name, folder)
        for job in (SIX, FOUR):
            for name in ("teardown", "findings", "assembly", "running"):
                (folder / job / f"{name}.yaml").unlink(missing_ok=True)

    def change(self, path: str, old: str, new: str) -> None:
        text = (self.folder / path).read_text("utf-8")
        assert old in text
        (self.folder / path).write_text(text.replace(old, new, 1), "utf-8")

    def job(self, name: str, wish: str, more: str = "") -> Assessment:
        lines = "\n".join(f"  {line}" for line in wish.splitlines())
        (self.folder / name / "work.yaml").write_text(f"access:\n{lines}\n{more}", "utf-8")
        loaded = load_shop(self.folder, [name])
        job = loaded.jobs[name]
        assert not [one for one in (*job.problems, *job.engine_problems) if one.severity == "error"]
        return assess_job(loaded, job)

    def plan(self, name: str, wish: str) -> AccessPlan:
        plan = self.job(name, wish).access
        assert plan is not None
        return plan


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def test_head_off_with_the_timing_cover_left_on(shop: Shop) -> None:
    """Added up by hand: eleven parts of 0.1 h, then 0.2 + 0.2 + 0.1 + 0.7 + 0.2 + 0.5."""
    plan = shop.plan(FOUR, "off: cylinder_head\nleave: sump")
    assert {*plan.names} == {
        *("coils", "spark_plugs", "drive_belt", "fuel_rail", "throttle_body", "heat_shield", "wiring"),
        *("thermostat_housing", "cam_sensor", "cam_cover", "tensioner", "camshafts", "manifolds"),
        "cylinder_head",
    }
    assert plan.hours == Decimal("2.8")
    # one gasket set for all joints, ten head bolts: 118.00 + 36.00; hours off and back at 58.00
    assert plan.parts == Decimal("154.00")
    assert plan.labour == (plan.hours + plan.back) * Decimal("58.00")
    order = list(plan.names)
    assert order.index("cam_cover") < order.index("tensioner") < order.index("camshafts") < len(order) - 1
    state = next(step for step in plan.steps if step.is_state)
    assert "not turned from here on" in english(state.title)
    assert {one.name for one in plan.steps[state.number :]} >= {"camshafts", "cylinder_head"}
    assert [english(one.title) for one in plan.stays][:2] == ["Alternator", "Oil filter"]


def test_a_way_waits_for_its_condition(shop: Shop) -> None:
    """Without 0.1 + 0.1 + 0.1 + 0.2 h off and 0.1 + 0.1 + 0.2 + 0.5 back; 0.1 and 0.2 more for the weight."""
    plan = shop.plan(FOUR, "off: cylinder_head")
    other = next(one for one in plan.others if english(one.how) == "lifted with its manifolds on")
    assert (other.takes.hours, other.takes.money) == (Decimal("-1.1"), Decimal("-63.80"))
    assert other.condition == "a second pair of hands" and not other.known
    known = shop.plan(FOUR, "off: cylinder_head\nholds:\n  - a second pair of hands")
    assert known.total == (plan.total or 0) - Decimal("63.80")
    assert "manifolds" not in known.names


def test_what_leaving_alone_takes(shop: Shop) -> None:
    """The six's pump: through the sump 0.8 + 1.3 h and a gasket set; past the gear case it takes more."""
    free = shop.plan(SIX, "off: oil_pump")
    assert (free.hours, free.back, free.parts) == (Decimal("0.8"), Decimal("1.3"), Decimal("78.00"))
    plan = shop.plan(SIX, "off: oil_pump\nleave: sump rocker_cover")
    cost = {english(one.title): one.takes.money for one in plan.leave}
    assert cost == {"Sump": (plan.total or 0) - (free.total or 0), "Rocker cover": Decimal(0)}
    assert free.second and free.second.money == cost["Sump"]


def test_what_did_not_come_is_off_already(shop: Shop) -> None:
    with_it = shop.plan(SIX, "off: gear_case_cover")
    shop.change(f"{SIX}/job.yaml", "not_with: air cleaner", "not_with: fan, air cleaner")
    plan = shop.plan(SIX, "off: gear_case_cover")
    assert "fan" in with_it.names and "fan" not in plan.names
    assert with_it.hours - plan.hours == Decimal("0.1")
    assert "Fan" not in [english(one.title) for one in plan.stays]


@pytest.mark.parametrize("name", [SIX, FOUR])
def test_all_that_came_off_goes_on_again_in_an_order_that_can_be(name: str) -> None:
    """Turned round the build sheet is a teardown that the sheet's ways allow; typed lines stay."""
    loaded = load_shop(ROOT / "jobs", [name])
    job = loaded.jobs[name]
    engine = next(iter(loaded.engines.values())).model
    assert engine and job.teardown
    lines = [line for page in assess_job(loaded, job).bench.build.pages for line in page.lines]
    fitted = [line.name for line in lines if line.verb == "fit"]
    off = [*reversed(fitted)]
    for i, part in enumerate(off):
        if part not in off[:i]:
            assert held_by(part, engine.ways, {*off[:i]}, {*off[i + 1 :]} - {*off[:i], part}) == ()
    said = " ".join(f"{line.name} {english(line.title)}".lower() for line in lines)
    names = {step.removed for step in job.teardown.steps}
    assert [one for one in names if one.replace("_", " ").rstrip("s") not in said.replace("_", " ")] == []
    typed = [step.name for page in engine.assemblies.values() for step in page.steps]
    assert [line.name for line in lines if line.name in typed and line.verb != "mark"] == [
        name for name in typed if name not in {line.name for line in lines if line.verb == "mark"}
    ]


@pytest.mark.parametrize("name", [SIX, FOUR])
def test_nothing_but_a_fit_puts_a_part_on(name: str) -> None:
    """Whatever else a page does with a part, in words or by its name, the part is on its line of its own."""
    loaded = load_shop(ROOT / "jobs", [name])
    job = loaded.jobs[name]
    engine = next(iter(loaded.engines.values())).model
    assert engine and job.teardown
    off = [step.removed for step in job.teardown.steps]

    def fitted(pages: dict[str, BuildPagePlan]) -> list[str]:
        engine_with = engine.model_copy(update={"assemblies": pages})
        steps = [step for page in page_plans(engine_with, job, ()).values() for step in page.steps]
        return [step.name for step in steps if step.verb in ("fit", "tighten")]

    before = fitted(dict(engine.assemblies))
    first, page = next(iter(engine.assemblies.items()))
    for verb in {*VERBS} - {"fit", "tighten"}:
        words = off + [f"clean the {part.replace('_', ' ')}" for part in off]
        more = [BuildStep.model_validate({verb: word}) for word in words]
        wider = page.model_copy(update={"steps": [*more, *page.steps]})
        assert fitted({**engine.assemblies, first: wider}) == before, verb


def test_it_seeds_the_other_papers(shop: Shop) -> None:
    """Teardown sheet, build sheet turned round, parts and hours of the estimate, before anything is off."""
    text = (shop.folder / "engines/drennick-q16-13.yaml").read_text("utf-8")
    start, end = text.index("assemblies:"), text.index("first_start:")
    shop.change("engines/drennick-q16-13.yaml", text[start:end], "")
    labour = "labour:\n  - task: head off\n    access: off\n  - task: head on\n    access: back\n"
    job = shop.job(FOUR, "off: cylinder_head", labour)
    plan = job.access
    assert plan is not None
    assert tuple(line.name for line in job.apart.lines) == plan.names
    assert [line.takes for line in job.apart.lines][-1] == Decimal("0.5")
    fitted = [line.name for line in job.bench.build.pages[0].lines if line.verb == "fit"]
    assert fitted[0] == "cylinder_head" and {*fitted} == {*plan.names}
    parts = {line.number for line in job.cost.lines if line.group == "part"}
    assert {"GSK", "HB"} <= parts and "RB" not in parts
    off, back = (line for line in job.cost.lines if line.group == "labour")
    assert (off.quantity, back.quantity) == (plan.hours, plan.back)
    assert "cylinder head 0.5 h" in [english(step) for step in off.steps]
