"""Valve shims: the demo's answer worked out apart from the product, and every permutation tried."""

from __future__ import annotations

import itertools
import random
from pathlib import Path
from typing import Any

import pytest
import yaml

from rebuildreport.trade.choosing.shims import Shim, ShimPlan, Valve, allowed, choose_shims

OUT: dict[str, Any] = yaml.load(
    (Path(__file__).parents[1] / "demo" / "expected_d2.yaml").read_text("utf-8"), Loader=yaml.BaseLoader
)["shims"]
SIZES = [round(2.00 + 0.05 * n, 2) for n in range(21)]
LIMITS = {"I": (0.15, 0.22), "E": (0.25, 0.32)}
TARGET = {"I": 0.18, "E": 0.28}


def demo() -> tuple[list[Valve], list[Shim]]:
    valves, there = [], []
    for name, one in OUT["valves"].items():
        valves.append(Valve(name, float(one["base"]), LIMITS[name[0]], TARGET[name[0]]))
        # the shims of the engine; where a trial shim was read, its own is another
        there.append(Shim(float(one["shim_at_reading"]), name))
    return valves, there


def test_sixteen_valves() -> None:
    valves, there = demo()
    for valve in valves:
        assert allowed(valve, SIZES) == [float(size) for size in OUT["valves"][valve.name]["allowed"]]
    plan = choose_shims(valves, there, SIZES)
    best = OUT["optimum"]
    assert plan.count("buy") == int(best["bought"])
    assert plan.count("buy") + plan.count("move") == int(best["changed"])
    assert plan.off == pytest.approx(float(best["sum_abs_dev"]), abs=1e-9)
    assert plan.bought == {float(size): int(count) for size, count in OUT["buy"].items()}
    assert plan.none_fits == ()


def test_without_moving_any() -> None:
    valves, there = demo()
    alone = [choose_shims([v], [s for s in there if s.valve == v.name], SIZES) for v in valves]
    assert sum(plan.count("buy") for plan in alone) == int(OUT["buy_count_without_moving"])


def rank(valves: list[Valve], there: list[Shim], sold: list[float], picks: tuple[int, ...]) -> Any:
    """Bought, shelf, moved, off of one way to give shims (index of ``there``, or -1: buy); None: no way."""
    taken = [pick for pick in picks if pick >= 0]
    if len(set(taken)) < len(taken):
        return None
    bought = shelf = moved = off = 0
    for valve, pick in zip(valves, picks, strict=True):
        low, high = valve.limits
        assert low is not None and high is not None
        if pick < 0:
            fitting = [s for s in sold if low - 1e-9 <= valve.base - s <= high + 1e-9]
            if not fitting:
                return None
            size = min(fitting, key=lambda s: abs(valve.base - s - valve.target))
            bought += 1
        else:
            size = there[pick].thickness
            if not low - 1e-9 <= valve.base - size <= high + 1e-9:
                return None
            shelf += not there[pick].valve
            moved += there[pick].valve not in ("", valve.name)
        off += round(abs(valve.base - size - valve.target) * 1000)
    return bought, shelf, moved, off


@pytest.mark.parametrize("seed", range(25))
def test_against_every_permutation(seed: int) -> None:
    draw = random.Random(seed)
    valves, there = [], []
    for n in range(draw.randint(1, 4)):
        shim = round(2.0 + 0.01 * draw.randint(0, 40), 2)
        valves.append(Valve(f"I{n}", shim + 0.01 * draw.randint(5, 30), (0.15, 0.22), 0.18))
        there.append(Shim(shim, f"I{n}"))
    there += [Shim(round(2.0 + 0.01 * draw.randint(0, 40), 2)) for _ in range(draw.randint(0, 2))]
    sold = [round(2.0 + 0.05 * n, 2) for n in range(9)]
    ranks = [
        found
        for picks in itertools.product(range(-1, len(there)), repeat=len(valves))
        if (found := rank(valves, there, sold, picks))
    ]
    plan: ShimPlan = choose_shims(valves, there, sold)
    if not ranks:
        assert plan.none_fits
        return
    got = (plan.count("buy"), plan.count("shelf"), plan.count("move"), round(plan.off * 1000))
    assert got == min(ranks)


def test_one_shim_for_two_valves_and_none_sold() -> None:
    valves = [Valve("I1", 2.68, (0.15, 0.22), 0.18), Valve("I2", 2.68, (0.15, 0.22), 0.18)]
    plan = choose_shims(valves, [Shim(2.50, "I1"), Shim(2.80, "I2")], [])
    assert len(plan.fitted) == 1 and plan.fitted[0].thickness == 2.50
    assert len(plan.none_fits) == 1
