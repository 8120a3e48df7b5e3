"""Valve shims: the demo's answer worked out apart from the product, and every permutation tried."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.trade.choosing.shims import Shim, Valve, allowed, choose_shims

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


HUNDREDTHS = st.integers(0, 30).map(lambda n: round(2.0 + 0.01 * n, 2))


@st.composite
def cases(draw: st.DrawFn) -> tuple[list[Valve], list[Shim], list[float]]:
    """Up to four valves, their own shims and a shelf; of the sizes sold some, or none."""
    valves, there = [], []
    for n in range(draw(st.integers(1, 4))):
        shim, lash = draw(HUNDREDTHS), 0.01 * draw(st.integers(5, 30))
        valves.append(Valve(f"I{n}", round(shim + lash, 2), (0.15, 0.22), 0.18))
        there.append(Shim(shim, f"I{n}"))
    there += [Shim(size) for size in draw(st.lists(HUNDREDTHS, max_size=2))]
    return valves, there, draw(st.lists(st.sampled_from(SIZES[:9]), unique=True, max_size=9))


def every_way(valves: list[Valve], there: list[Shim], sold: list[float]) -> Iterator[tuple[int, ...]]:
    """Left without, bought, from the shelf, moved, off [µm]: of every way to give shims, or none."""

    def of_valve(valve: Valve) -> Iterator[tuple[int | None, tuple[int, ...]]]:
        low, high = (end or 0.0 for end in valve.limits)
        yield None, (1, 0, 0, 0, 0)
        for at, size in [*enumerate(shim.thickness for shim in there), *((None, size) for size in sold)]:
            if low - 1e-9 <= valve.base - size <= high + 1e-9:
                off = round(abs(valve.base - size - valve.target) * 1000)
                own = "" if at is None else there[at].valve
                moved = at is not None and own not in ("", valve.name)
                yield at, (0, at is None, at is not None and not own, moved, off)

    for ways in itertools.product(*map(of_valve, valves)):
        taken = [at for at, _ in ways if at is not None]
        if len(set(taken)) == len(taken):
            yield tuple(map(sum, zip(*(rank for _, rank in ways), strict=True)))


@given(case=cases())
@settings(max_examples=150)
def test_every_way_to_give_shims(case: tuple[list[Valve], list[Shim], list[float]]) -> None:
    """COMPUTED: fewest valves without, fewest bought, from the shelf, moved; nearest."""
    plan = choose_shims(*case)
    count = plan.count("buy"), plan.count("shelf"), plan.count("move")
    assert (len(plan.none_fits), *count, round(plan.off * 1000)) == min(every_way(*case))
