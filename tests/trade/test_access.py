"""The cheapest way to a part, against a search through all that can be done, and against published optima."""

from __future__ import annotations

import heapq
import time
from collections.abc import Collection, Sequence
from itertools import combinations, count, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from rebuildreport.trade.access import cheapest as module
from rebuildreport.trade.access.cheapest import cheapest
from rebuildreport.trade.access.takedown import in_the_way
from rebuildreport.trade.access.ways import Way, Ways

PARTS, STATES, SHARED = "abcde", "st", {"u": 4.0, "v": 7.0}


def searched(ways: Ways, targets: Collection[str], leave: Collection[str]) -> float | None:
    """COMPUTED another way: Dijkstra (1959) over what is off and what was used, one step after the other."""
    tick = count()
    start = (frozenset[str](), frozenset[str]())
    best = {start: 0.0}
    heap = [(0.0, next(tick), start)]
    while heap:
        cost, _, (off, used) = heapq.heappop(heap)
        if cost > best[off, used]:
            continue
        if {*targets} <= off:
            return cost
        for part in {*ways.of} - off - {*leave}:
            for way in ways.of[part]:
                held = {s for s in way.disturbs & off if not (ways.lasts[s] and ways.lasts[s] <= off)}
                if held or not way.first <= off:
                    continue
                new = cost + way.cost + sum(ways.shared[name] for name in way.uses - used)
                after = (off | {part}, used | way.uses)
                if new < best.get(after, float("inf")):
                    best[after] = new
                    heapq.heappush(heap, (new, next(tick), after))
    return None


@st.composite
def tables(draw: st.DrawFn) -> Ways:
    some = st.frozensets(st.sampled_from(PARTS + STATES), max_size=3)
    ways = []
    for part in PARTS + STATES:
        for _ in range(draw(st.integers(1, 3))):
            disturbs = (
                draw(st.frozensets(st.sampled_from(STATES), max_size=1)) if part in PARTS else frozenset()
            )
            uses = draw(st.frozensets(st.sampled_from("uv"), max_size=1))
            ways.append(Way(part, draw(some) - {part}, draw(st.integers(0, 9)), uses, disturbs))
    return Ways(
        ways, SHARED, {state: draw(st.frozensets(st.sampled_from(PARTS), max_size=1)) for state in STATES}
    )


@settings(max_examples=80)
@given(tables(), st.sampled_from(PARTS), st.frozensets(st.sampled_from(PARTS), max_size=2))
@pytest.mark.parametrize("most", [100_000, 0], ids=["one by one", "solver"])
def test_it_costs_what_an_exhaustive_search_finds(
    most: int, ways: Ways, target: str, leave: frozenset[str]
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "MOST_TRIED", most)
        plan = cheapest(ways, [target], leave)
    cost = searched(ways, [target], leave)
    assert (plan.cost if plan else None) == (None if cost is None else pytest.approx(cost))
    if plan is None:
        return
    off: set[str] = set()
    for way in plan.steps:  # and it can be done in this order
        assert way.first <= off
        assert all(
            state not in off or (ways.lasts[state] and ways.lasts[state] <= off) for state in way.disturbs
        )
        off.add(way.part)
    assert target in off
    assert not off & leave


@settings(max_examples=40)
@given(tables(), st.sampled_from(PARTS), st.lists(st.sampled_from(PARTS), unique=True, max_size=4))
def test_what_bars_a_part_is_named_and_nothing_else(ways: Ways, target: str, leave: list[str]) -> None:
    """By the same search, without states."""
    free = Ways([replace(way, disturbs=frozenset()) for way in ways.ways], SHARED, ways.lasts)
    kept = in_the_way(target, {part: [way.first for way in some] for part, some in free.of.items()}, leave)
    if searched(free, [target], leave) is not None or searched(free, [target], []) is None:
        assert kept == ()
        return
    assert searched(free, [target], kept) is None
    assert all(searched(free, [target], {*kept} - {one}) is not None for one in kept)


def test_the_and_or_graph_of_a_textbook() -> None:
    """Rich and Knight, Artificial Intelligence, figure on AO*: 18 through B, E and F, else 38."""
    leaves = {"E": 5, "F": 10, "G": 3, "H": 4, "I": 15, "J": 10}
    arcs = [("A", "B"), ("A", "CD"), ("B", "EF"), ("C", "GH"), ("D", "IJ")]
    ways = [Way(leaf, cost=cost) for leaf, cost in leaves.items()]
    ways += [Way(part, frozenset(first), len(first)) for part, first in arcs]  # each arc costs one
    best = cheapest(Ways(ways), "A")
    assert best and (best.cost, {*best.parts}) == (18, {*"ABEF"})
    second = cheapest(Ways(ways), "A", other_than=[best])
    assert second and second.cost == 38


def lines(
    points: Sequence[tuple[int, ...]], modulo: int, *, affine: bool
) -> list[frozenset[tuple[int, ...]]]:
    """The triples of points that sum to zero."""
    found = set()
    for one, other in combinations(points, 2):
        third = tuple((-x - y) % modulo for x, y in zip(one, other, strict=True))
        if affine or any(third):
            found.add(frozenset((one, other, third)))
    return sorted(found, key=sorted)


@pytest.mark.parametrize(
    ("points", "modulo", "least"),
    [
        # Fulkerson, Nemhauser and Trotter, Math. Programming Study 2 (1974): 5 of the 9 points of AG(2, 3)
        (list(product(range(3), repeat=2)), 3, 5),
        # Bose and Burton, J. Combinatorial Theory 1 (1966): a plane of PG(3, 2), 7 of 15 points
        ([point for point in product(range(2), repeat=4) if any(point)], 2, 7),
    ],
)
def test_set_covering_is_one_of_its_cases(points: list[tuple[int, ...]], modulo: int, least: int) -> None:
    """Each line is a target that comes off once one of its points is off: NP-hard (Karp 1972)."""
    ways = [Way(f"point {point}", cost=1.0) for point in points]
    triples = lines(points, modulo, affine=modulo == 3)
    for number, triple in enumerate(triples):
        ways += [Way(f"line {number}", frozenset({f"point {point}"})) for point in sorted(triple)]
    plan = cheapest(Ways(ways), [f"line {number}" for number in range(len(triples))])
    assert plan and plan.cost == pytest.approx(least)


def layered(parts: int, alternatives: int) -> Ways:
    """Parts behind parts, every so manieth with a second way that may want one behind itself."""
    ways = []
    every = parts // alternatives
    for i in range(parts):
        first = {f"p{max(0, i - 1 - (7 * i + k) % 23)}" for k in range(1 + i % 3)} - {f"p{i}"} if i else set()
        ways.append(Way(f"p{i}", frozenset(first), 1.0 + (13 * i) % 7, frozenset({"uv"[i % 2]})))
        if i % every == every - 1:
            later = {f"p{min(parts - 1, i + 1 + (11 * i) % 9)}", f"p{(i * 3) // 4}"} - {f"p{i}"}
            ways.append(Way(f"p{i}", frozenset(later), 1.0 + (5 * i) % 7))
    return Ways(ways, SHARED)


@pytest.mark.parametrize(("parts", "alternatives", "seconds"), [(60, 6, 0.1), (200, 40, 1.0)])
def test_it_is_quick(parts: int, alternatives: int, seconds: float) -> None:
    """In time of the processor."""
    ways = layered(parts, alternatives)
    began = time.process_time()
    plan = cheapest(ways, [f"p{parts - 1}", f"p{parts // 2}"])
    assert plan
    assert time.process_time() - began < seconds
