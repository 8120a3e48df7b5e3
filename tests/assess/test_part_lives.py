"""How long parts live, from the files that people write: planted lives are found again."""

from __future__ import annotations

import importlib.util
import sys
from math import exp, log
from pathlib import Path
from types import ModuleType

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.model.assessment import PartLook
from rebuildreport.records import load_shop
from rebuildreport.trade.life.lifetimes import of_family
from rebuildreport.trade.life.survival import weibull

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def histories() -> ModuleType:
    spec = importlib.util.spec_from_file_location("histories", ROOT / ".ci" / "histories.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # where its data classes look their names up
    spec.loader.exec_module(module)
    return module


def looks(shop: Path) -> dict[str, tuple[PartLook, ...]]:
    loaded = load_shop(shop)
    return {name: assess_job(loaded, job).lives for name, job in loaded.jobs.items()}


def test_planted_lives_are_found_in_the_files(histories: ModuleType, tmp_path: Path) -> None:
    """A pump whose age at failure is known, and a chain of which only two looks tell.

    The script's --recover does the same over many seeds, and counts.
    """
    histories.write(tmp_path / "shop", 250, seed=5)
    serial = {
        path.parent.name: path.read_text("utf-8").split("serial: ")[1].split()[0]
        for path in (tmp_path / "shop").glob("*/job.yaml")
    }
    told = looks(tmp_path / "shop")
    lives = of_family([[one.seen(serial[name]) for one in job] for name, job in told.items()])
    for component, (shape, scale) in {"water_pump": histories.PUMP, "timing_chain": histories.CHAIN}.items():
        fit = weibull(lives[component])
        for planted, (low, high) in (
            (shape, fit.shape_bounds()),
            (scale * log(2) ** (1 / shape), fit.age_bounds(0.5)),
            (scale, fit.age_bounds(1 - exp(-1))),
        ):
            assert low <= planted <= high
            assert high < 2 * low, "bounds that hold everything show nothing"


def test_what_a_job_tells_of_a_part(histories: ModuleType, tmp_path: Path) -> None:
    histories.write(tmp_path / "shop", 1, seed=1)
    (job,) = (path.parent for path in (tmp_path / "shop").glob("*/job.yaml"))
    arrival = job / "job.yaml"
    text = arrival.read_text("utf-8")
    meter = next(line for line in text.splitlines() if "meter:" in line)

    def outcome(component: str) -> list[tuple[str, float | None, bool, float]]:
        (told,) = looks(tmp_path / "shop").values()
        return [(a.state, a.use, a.renewed, a.new_at) for a in told if a.component == component]

    arrival.write_text(text.replace(meter, "  meter: 100 000 km"), "utf-8")
    (job / "findings.yaml").write_text(histories.PUMP_FOUND, "utf-8")
    (job / "work.yaml").unlink(missing_ok=True)
    assert outcome("water_pump") == [("failed", 100e3, True, 0.0)]
    # repaired before, and running after
    seen = "by: bench 1\ndate: 2010-01-05\nearlier_work:\n  - what: new pump\n    renewed: water_pump\n"
    (job / "teardown.yaml").write_text(seen + "    meter: 60 000 km\n", "utf-8")
    ran = "follow_up:\n  - date: 2011-01-05\n    at: 5000 km\n    seen: dry\n"
    (job / "running.yaml").write_text(ran, "utf-8")
    assert outcome("water_pump") == [("failed", 100e3, True, 60e3), ("good", 105e3, False, 0.0)]
    # not what brought the engine: found bad when it was open
    (job / "findings.yaml").write_text(histories.PUMP_FOUND.replace("    failed: yes\n", ""), "utf-8")
    assert outcome("water_pump")[0][0] == "worn out"
    # nothing was wrong with it, and a new one went in as a precaution: good until then, and again from 0
    (job / "findings.yaml").unlink()
    decided = histories.DECIDED.format(number=1, day="2010-01-06").replace("timing_chain", "water_pump")
    (job / "work.yaml").write_text(histories.DONE.format(decisions=decided), "utf-8")
    assert outcome("water_pump") == [("good", 100e3, True, 60e3), ("good", 105e3, False, 0.0)]
    (job / "work.yaml").unlink()
    (job / "findings.yaml").write_text(histories.PUMP_FOUND.replace("    failed: yes\n", ""), "utf-8")
    # an age that nobody believes is none: what was found is told, and of no use
    arrival.write_text(text.replace(meter, "  meter: 100 000 km\n  meter_believed: no"), "utf-8")
    assert outcome("water_pump") == [("worn out", None, True, 0.0)]


def test_a_chain_near_its_limit_tells_nothing(histories: ModuleType, tmp_path: Path) -> None:
    """Too close to call is neither good nor worn out: the same engine's chain longer or shorter is."""
    histories.write(tmp_path / "shop", 1, seed=1)
    (job,) = (path.parent for path in (tmp_path / "shop").glob("*/job.yaml"))
    (job / "work.yaml").unlink(missing_ok=True)
    told = {}
    for length in (160.2, 160.8, 161.4):
        (job / "measurements" / "arrival.yaml").write_text(
            histories.ROUND.format(day="2010-01-04", length=length), "utf-8"
        )
        (lives,) = looks(tmp_path / "shop").values()
        told[length] = [one.state for one in lives if one.component == "timing_chain"]
    assert told == {160.2: ["good"], 160.8: [], 161.4: ["worn out"]}
