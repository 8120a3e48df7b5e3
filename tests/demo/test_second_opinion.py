"""The demo's characteristics beside a second opinion that shares nothing with the product but its files.

``second_opinion.py`` works every value out again from the YAML with numpy alone. Here both are held against
each other: value, standard uncertainty, verdict and side, and that neither has one that the other lacks.
"""

from __future__ import annotations

import ast
import random
import re
import shutil
import sys
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.model.assessment import Characteristic
from rebuildreport.records import load_shop

from .. import SMALL_JOBS
from ..keys import value_key
from .conftest import D1, D2, ROOT
from .second_opinion import SEVERAL, SINGLES, Opinion, SecondOpinion

# Kinds that the second opinion works out, and how many characteristics of each both demo jobs have.
COVERED = {
    "bore": 188,
    "journal": 156,
    "readings": 148,
    "bearing_clearance": 87,
    "valve_clearance": 76,
    "spring_load": 60,
    "runout": 54,
    "running_fit": 44,
    "shells": 44,
    "lobe": 40,
    "ring_gap": 40,
    "valve_seat": 36,
    "straightedge": 35,
    "guide": 31,
    "liner_protrusion": 28,
    "fit": 28,
    "matched": 26,
    "spring_length": 24,
    "compression": 23,
    "leak_down": 20,
    "crack_test": 19,
    "ring_side": 16,
    "shell_spread": 14,
    "hardness": 13,
    "shell_crush": 13,
    "rod_alignment": 12,
    "installed_height": 12,
    "compression_ratio": 12,
    "oil_pressure": 8,
    "end_float": 7,
    "main_line": 7,
    "oil_pump": 6,
    "backlash": 6,
    "piston_protrusion": 6,
    "chain": 3,
    "tensioner": 2,
    "flatness_grid": 2,
}
# Kinds of the demo that it does not, with the reason: none.
UNCOVERED: dict[str, str] = {}

WITHIN = 1e-6  # of a value, in its unit
U_WITHIN = 0.01  # of a standard uncertainty, as a share of it

Key = tuple[str, str, str, str]
Pair = tuple[dict[Key, Opinion], dict[Key, Characteristic]]


MACHINED, ASSEMBLY = "after-machining.yaml", "at-assembly.yaml"

# Variants of the demo: a job, a round, and lines that read otherwise there. What the second opinion found
# wrong in the product is among them.
VARIANTS: dict[str, tuple[str, str, dict[str, str]]] = {
    "the six": (D1, "", {}),
    "the twin cam": (D2, "", {}),
    "a new guide read beyond its limit": (D2, MACHINED, {"E3:    5.460     5.505": "E3:    5.460     5.545"}),
    "no clearance at assembly": (D2, ASSEMBLY, {"I6:    0.19": "I6:    none", "E6:    0.29": "E6:    0.00"}),
    "another shim, and no clearance read": (
        D2,
        ASSEMBLY,
        {"I6:    0.19": "I6: --", "I6:    2.55": "I6: 2.45"},
    ),
    "a liner not read along the crank": (D1, MACHINED, {"C5:    98.015  98.013": "C5:    98.015  --"}),
    "a liner not read across the crank": (D1, MACHINED, {"C5:    98.015  98.013": "C5:    --  98.013"}),
    "a new wall not read": (
        D1,
        MACHINED,
        {"M3:    2.226  2.227": "M3: 2.226  --", "R2:    1.967  1.966": "R2: -- --"},
    ),
    "a spring almost too weak as fitted": (D1, "arrival.yaml", {"I1:   267     529": "I1:   223     529"}),
    "a line read in part in one direction": (D1, "arrival.yaml", {"M3:   0.054   0.050": "M3:   0.054   --"}),
    "a height of a face not read again": (
        D2,
        MACHINED,
        {"y10:   0.000   0.000  -0.005": "y10:   0.000   --  -0.005"},
    ),
    "coarse heights that several sets of places hold": (
        D2,
        MACHINED,
        {"y75:   0.000  -0.005  -0.010": "y75:   0.000  -0.005  --"},
    ),
    "a new wall of another grade": (
        D2,
        MACHINED,
        {"M1:    1.991  1.991\n      M2:    1.994": "M1:    1.998  1.991\n      M2:    1.994"},
    ),
    "the plate not read again after the skim": (
        D2,
        MACHINED,
        {
            "y10:   0.000   0.000  -0.005  -0.005   0.000": "y10: -- -- -- -- --",
            "y75:   0.000  -0.005  -0.010  -0.005   0.005": "y75: -- -- -- -- --",
            "y140:  0.000  -0.005  -0.005   0.000   0.000": "y140: -- -- -- -- --",
        },
    ),
    "a wet compression beside no dry one": (D1, "arrival.yaml", {"C3:    16.2      22.9": "C3: --  22.9"}),
    "a journal and a housing read in one plane": (
        D2,
        "arrival-continued.yaml",
        {
            "M4:    47.996   47.995   47.995  47.994": "M4:    47.996   47.995   --  --",
            "R3:    44.008   44.006     44.007     44.008": "R3:    --   44.006     44.007     44.008",
        },
    ),
}
SHIFTED = range(3)  # seeds: a quarter of all readings moved by up to three steps


def known_as(one: Characteristic) -> tuple[str, str, str, str]:
    """As the second opinion keys what it says."""
    return one.feature, one.name, one.position, f"{one.round}/{one.table}" if one.table else one.round


@pytest.fixture(scope="module")
def shops(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """A copy of the shop with one job alone, without pictures and issues."""

    def copied(job: str) -> Path:
        jobs = tmp_path_factory.mktemp("shop") / "jobs"
        shutil.copytree(
            ROOT / "jobs", jobs, ignore=shutil.ignore_patterns("photos", "issued", D1, D2, *SMALL_JOBS)
        )
        shutil.copytree(ROOT / "jobs" / job, jobs / job, ignore=shutil.ignore_patterns("photos", "issued"))
        return jobs

    return copied


def _opinions(jobs: Path, job: str) -> Pair:
    """The opinions of one job: the second one, and the product's."""
    shop = load_shop(jobs, [job])
    first = assess_job(shop, shop.jobs[job]).characteristics
    # a doubt about a reading is another matter: what the product leaves out, both leave out
    second = SecondOpinion(jobs, job, shop.jobs[job].suspects).opinions()
    mine = {one.key: one for one in second}
    theirs = {known_as(one): one for one in first}
    assert (len(mine), len(theirs)) == (len(second), len(first))  # none said twice
    return mine, theirs


@pytest.fixture(scope="module")
def opinions(shops: Callable[[str], Path]) -> Callable[[str | int], Pair]:
    """Those of a variant or a seed, worked out once."""

    @cache
    def of(which: str | int) -> Pair:
        if isinstance(which, str):
            return _opinions(*_variant(shops, which))
        job = (D1, D2)[which % 2]
        jobs = shops(job)
        for path in sorted((jobs / job / "measurements").glob("*.yaml")):
            chance = random.Random(f"{which} {path.name}")
            path.write_text(_shifted(path.read_text("utf-8"), chance), "utf-8")
        return _opinions(jobs, job)

    return of


@pytest.fixture(scope="module", params=[*VARIANTS, *SHIFTED])
def both(request: pytest.FixtureRequest, opinions: Callable[[str | int], Pair]) -> Pair:
    return opinions(request.param)


def _variant(shops: Callable[[str], Path], name: str) -> tuple[Path, str]:
    job, of_round, lines = VARIANTS[name]
    jobs = shops(job)
    for old, new in lines.items():
        path = jobs / job / "measurements" / of_round
        text = path.read_text("utf-8")
        assert text.count(old) == 1, old
        path.write_text(text.replace(old, new), "utf-8")
    return jobs, job


def _shifted(text: str, chance: random.Random) -> str:
    """A round with some of its readings a few of their own steps away."""

    def moved(cell: re.Match[str]) -> str:
        if chance.random() > 0.25:
            return cell[0]
        return str(Decimal(cell[0]) + chance.choice((-3, -2, -1, 1, 2, 3)) * Decimal(1).scaleb(-len(cell[1])))

    rows = re.compile(r"^      \w+: .*$", re.MULTILINE)
    return rows.sub(lambda row: re.sub(r"(?<![\w.])\d+\.(\d+)(?![\w.])", moved, row[0]), text)


def test_neither_has_what_the_other_lacks(both: Pair) -> None:
    mine, theirs = both
    assert mine.keys() ^ theirs.keys() == set()


def test_values_agree(both: Pair) -> None:
    mine, theirs = both
    values = {key: (one.value, theirs[key].value) for key, one in mine.items()}
    apart = {key: pair for key, pair in values.items() if not _alike(*pair, WITHIN)}
    assert apart == {}


def _alike(mine: float | None, theirs: float | None, within: float) -> bool:
    if mine is None or theirs is None:
        return mine is theirs
    return abs(mine - theirs) <= within + 1e-12


def test_uncertainties_agree(both: Pair) -> None:
    mine, theirs = both
    doubts = {key: (one.u, theirs[key].standard_uncertainty) for key, one in mine.items()}
    apart = {key: pair for key, pair in doubts.items() if not _alike(*pair, U_WITHIN * (pair[1] or 0.0))}
    assert apart == {}


def test_verdicts_and_sides_agree(both: Pair) -> None:
    mine, theirs = both
    apart = {
        key: ((one.verdict, one.side), (theirs[key].verdict, theirs[key].end))
        for key, one in mine.items()
        if (one.verdict, one.side) != (theirs[key].verdict, theirs[key].end)
    }
    assert apart == {}


def test_the_same_limits_decide(both: Pair) -> None:
    """Whether a surface is used again, and whether a value is one that may be more, or less."""
    mine, theirs = both
    apart = {}
    for key, one in mine.items():
        other = theirs[key]
        if one.value is not None and (one.again, one.bound or "equal") != (other.again, other.bound):
            apart[key] = (one.again, one.bound), (other.again, other.bound)
    assert apart == {}


# Jobs of a single, twins, threes, a V8, a two-stroke: the kinds that each types otherwise than the
# two large ones, of which the second opinion says nothing, and how many values it has an opinion of.
SMALLER = {
    "2026-007-garden-tiller": (("runout", "leak_down"), 56),
    "2026-013-sidecar-twin": (("runout",), 110),
    "2026-015-overheated-three": (("bearing_clearance", "chain"), 160),
    "2026-016-recovery-truck-v8": (("runout",), 200),
    "2026-018-threshing-tractor": ((), 100),
    "2026-019-trials-twin": (("runout",), 70),
    "2026-021-ferry-launch": ((), 55),
}


@pytest.mark.parametrize("job", SMALLER)
def test_of_the_smaller_jobs_it_says_the_same_as_far_as_it_goes(job: str) -> None:
    without, known = SMALLER[job]
    shop = load_shop(ROOT / "jobs", [job])
    first = assess_job(shop, shop.jobs[job]).characteristics
    theirs = {known_as(one): one for one in first}
    second = SecondOpinion(ROOT / "jobs", job, shop.jobs[job].suspects, without).opinions()
    pairs = [(one, theirs[one.key]) for one in second if one.key in theirs]
    assert len(pairs) >= known
    for mine, other in pairs:
        assert (mine.verdict, mine.side) == (other.verdict, other.end), mine.key
        assert _alike(mine.value, other.value, WITHIN), mine.key
        doubt = other.standard_uncertainty
        assert _alike(mine.u, doubt, U_WITHIN * (doubt or 0.0)), mine.key


def test_no_kind_of_the_demo_is_left_out() -> None:
    counted: Counter[str] = Counter()
    for name in (D1, D2):
        job = SecondOpinion(ROOT / "jobs", name)
        counted.update(one.kind for one in job.opinions())
        known = SINGLES.keys() | SEVERAL.keys()
        assert {sheet["kind"] for sheet in job.features.values()} - known == set(UNCOVERED)
    assert counted == COVERED


@pytest.mark.parametrize(
    ("variant", "key", "verdict"),
    [
        # what was new when it was read is in the engine, and no part that was bought takes its place
        ("a new guide read beyond its limit", "exhaust_guides.clearance E3 @after-machining", "beyond limit"),
        # what was good before the valve work is not good any more
        ("no clearance at assembly", "intake_lash.lash I6 @at-assembly", "beyond limit"),
        ("no clearance at assembly", "exhaust_lash.lash E6 @at-assembly", "beyond limit"),
        ("another shim, and no clearance read", "intake_lash.lash I6 @at-assembly", "not measured"),
        # its newest reading is a height, and no height settles a load
        (
            "a spring almost too weak as fitted",
            "spring_loads.seated I1 @after-machining",
            "too close to call",
        ),
        # what is unread in one direction may be worse than all that was read in the other
        ("a line read in part in one direction", "main_line.straightness line @arrival", "not measured"),
        ("a line read in part in one direction", "main_line.neighbours M2-M3 @arrival", "not measured"),
        # heights have the zero of their setting: none of an earlier round joins them
        ("a height of a face not read again", "head_plane.flatness face @after-machining", "not measured"),
        # of the grade that was decided, which 1.998 is not; the skim of the face ended what the plate showed
        ("a new wall of another grade", "main_shells.upper M1 @after-machining", "beyond limit"),
        ("the plate not read again after the skim", "head_plane.flatness face @", "not measured"),
        # a piston's clearance is across the crank
        (
            "a liner not read along the crank",
            "piston_clearance.largest_clearance C5 @after-machining",
            "as new",
        ),
        (
            "a liner not read across the crank",
            "piston_clearance.largest_clearance C5 @after-machining",
            "not measured",
        ),
    ],
)
def test_what_was_wrong_is_right(
    opinions: Callable[[str | int], Pair], variant: str, key: str, verdict: str
) -> None:
    _, found = opinions(variant)
    (one,) = (one for one in found.values() if one.key == value_key(key))
    assert (one.verdict, one.stands) == (verdict, True)


def test_it_is_a_second_one() -> None:
    """It imports numpy, yaml and the standard library, and nothing of the product."""
    tree = ast.parse((Path(__file__).parent / "second_opinion.py").read_text("utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    outside = {name.partition(".")[0] for name in imported} - sys.stdlib_module_names
    assert outside == {"numpy", "yaml"}
