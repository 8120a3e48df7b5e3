"""The demo's characteristics beside a second opinion that shares nothing with the product but its files.

``second_opinion.py`` works every value out again from the YAML with numpy alone. Here both are held against
each other: value, standard uncertainty, verdict and side, and that neither has one that the other lacks.
"""

from __future__ import annotations

import ast
import sys
from collections import Counter
from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.model.assessment import Characteristic
from rebuildreport.records import ShopFolder

from .conftest import D1, D2, ROOT
from .second_opinion import SEVERAL, SINGLES, Opinion, SecondOpinion

# Kinds that the second opinion works out, and how many characteristics of each both demo jobs have.
COVERED = {
    "bore": 188,
    "journal": 156,
    "readings": 148,
    "bearing_clearance": 88,
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


@pytest.fixture(scope="module", params=[D1, D2])
def both(request: pytest.FixtureRequest, demo: ShopFolder) -> Pair:
    """The opinions of one job: the second one, and the product's."""
    second = SecondOpinion(ROOT / "jobs", request.param).opinions()
    first = assess_job(demo, demo.jobs[request.param]).characteristics
    mine = {one.key: one for one in second}
    theirs = {(one.feature, one.name, one.position, one.occasion): one for one in first}
    assert (len(mine), len(theirs)) == (len(second), len(first))  # none said twice
    return mine, theirs


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


def test_no_kind_of_the_demo_is_left_out() -> None:
    counted: Counter[str] = Counter()
    for name in (D1, D2):
        job = SecondOpinion(ROOT / "jobs", name)
        counted.update(one.kind for one in job.opinions())
        known = SINGLES.keys() | SEVERAL.keys()
        assert {sheet["kind"] for sheet in job.features.values()} - known == set(UNCOVERED)
    assert counted == COVERED


def test_it_is_a_second_one() -> None:
    """It imports numpy, yaml and the standard library, and nothing of the product."""
    tree = ast.parse((Path(__file__).parent / "second_opinion.py").read_text("utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    outside = {name.partition(".")[0] for name in imported} - sys.stdlib_module_names
    assert outside == {"numpy", "yaml"}
