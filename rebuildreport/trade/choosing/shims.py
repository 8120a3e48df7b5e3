"""Valve shims: which thickness where, from those that are there, those on the shelf, and those to buy.

New shim = shim fitted when the clearance was read + clearance − target.  A
thicker shim gives less clearance, over the bucket and under it alike, and so
does a solid bucket with the thickness of its crown: the arithmetic is one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from ..measuring.verdict import Ends, inside
from .assignment import assign

From = Literal["keep", "move", "shelf", "buy"]
BOUGHT = -1  # in place of a number among the shims that are there
MICRON = 1000  # per mm: distances from the target are weighed up in whole µm


class Valve(Struct, frozen=True):
    """One valve [mm]: shim and clearance as read together; ``base`` is their sum."""

    name: str
    base: float
    limits: Ends
    target: float
    guard: float = 0.0  # by which the clearance must lie inside its limits


class Shim(Struct, frozen=True):
    """A shim that is there: its thickness [mm], and the valve that it came from ("" from the shelf)."""

    thickness: float
    valve: str = ""


class FittedShim(Struct, frozen=True):
    """What a valve gets, from where, and the clearance that it gives [mm]."""

    valve: str
    thickness: float
    source: From
    came_from: str  # the valve that a moved shim came from
    clearance: float


class ShimPlan(Struct, frozen=True):
    """One shim for every valve that can have one."""

    fitted: tuple[FittedShim, ...]
    none_fits: tuple[str, ...]  # valves for which no thickness that can be had is right
    off: float  # sum of the distances from the targets [mm]

    def count(self, source: From) -> int:
        """How many come from there."""
        return sum(fitted.source == source for fitted in self.fitted)

    @property
    def bought(self) -> dict[float, int]:
        """Thickness: how many to buy."""
        bought = Counter(fitted.thickness for fitted in self.fitted if fitted.source == "buy")
        return dict(sorted(bought.items()))


def allowed(valve: Valve, sizes: Sequence[float]) -> list[float]:
    """Those of the sizes that give the valve a clearance inside its limits [mm].

    Source: common practice; ISO 14253-1 for the guard.

    >>> allowed(Valve("I2", 2.72, (0.15, 0.22), 0.18), [2.45, 2.50, 2.55, 2.60])
    [2.5, 2.55]
    """
    return [size for size in sizes if inside(round(valve.base - size, 6), valve.guard, valve.limits)]


def choose_shims(valves: Sequence[Valve], there: Sequence[Shim], sold: Sequence[float]) -> ShimPlan:
    """The shims to fit: fewest bought, then fewest from the shelf, fewest moved, nearest the targets.

    ``there`` are the shims of the engine and of the shelf, ``sold`` the
    thicknesses that can be bought in any number [mm].  The answer is exact: an
    assignment of valves to shims, the four aims stacked in one whole number.

    Source: assignment problem (Kuhn 1955).

    >>> valves = [Valve("I1", 2.68, (0.15, 0.22), 0.18), Valve("I2", 2.74, (0.15, 0.22), 0.18)]
    >>> plan = choose_shims(valves, [Shim(2.60, "I1"), Shim(2.50, "I2")], [2.50, 2.55])
    >>> [(one.valve, one.thickness, one.source) for one in plan.fitted]
    [('I1', 2.5, 'move'), ('I2', 2.55, 'buy')]
    """
    ways = {valve.name: _ways(valve, there, sold) for valve in valves}
    targets = {valve.name: valve.target for valve in valves}

    def off(fitted: FittedShim) -> int:
        return round(abs(fitted.clearance - targets[fitted.valve]) * MICRON)

    # each aim weighs more than all that the aims after it can add up to
    near = 1 + sum(max(map(off, ways[valve.name].values()), default=0) for valve in valves)
    moved = near * (len(valves) + 1)
    bought = moved * (len(valves) + 1)
    weights: dict[From, int] = {"keep": 0, "move": near, "shelf": moved, "buy": bought}
    costs: list[list[int | None]] = []
    for row, valve in enumerate(valves):
        line: list[int | None] = [None] * (len(there) + 2 * len(valves))
        for at, fitted in ways[valve.name].items():
            # a bought shim is each valve's own column, and so is to go without
            line[len(there) + row if at == BOUGHT else at] = weights[fitted.source] + off(fitted)
        line[len(there) + len(valves) + row] = bought * (len(valves) + 1)
        costs.append(line)
    chosen: list[FittedShim] = []
    missing: list[str] = []
    for valve, column in zip(valves, assign(costs) or (), strict=True):
        if column >= len(there) + len(valves):
            missing.append(valve.name)
        else:
            chosen.append(ways[valve.name][column if column < len(there) else BOUGHT])
    apart = sum(abs(fitted.clearance - targets[fitted.valve]) for fitted in chosen)
    return ShimPlan(tuple(chosen), tuple(missing), round(apart, 6))


def _ways(valve: Valve, there: Sequence[Shim], sold: Sequence[float]) -> dict[int, FittedShim]:
    """Every shim that serves a valve, by its place among those that are there; of those sold the nearest."""
    ways: dict[int, FittedShim] = {}
    for at, shim in enumerate(there):
        if allowed(valve, [shim.thickness]):
            source: From = "keep" if shim.valve == valve.name else "move" if shim.valve else "shelf"
            ways[at] = _fitted(valve, shim.thickness, source, shim.valve if source == "move" else "")
    buyable = allowed(valve, sold)
    if buyable:
        nearest = min(buyable, key=lambda size: (abs(valve.base - size - valve.target), size))
        ways[BOUGHT] = _fitted(valve, nearest, "buy", "")
    return ways


def _fitted(valve: Valve, thickness: float, source: From, came_from: str) -> FittedShim:
    return FittedShim(valve.name, thickness, source, came_from, round(valve.base - thickness, 6))
