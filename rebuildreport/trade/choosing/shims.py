"""Valve shims: which thickness where, from those that are there, those on the shelf, and those to buy.

New shim = shim fitted when the clearance was read + clearance − target.  A
thicker shim gives less clearance, over the bucket and under it alike, and so
does a solid bucket with the thickness of its crown: the arithmetic is one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from ..measuring.verdict import Ends, inside
from .assignment import assign

From = Literal["keep", "move", "shelf", "buy"]
MICRON = 1000  # per mm: distances from the target are weighed up in whole µm


@dataclass(frozen=True, slots=True)
class Valve:
    """One valve [mm]: shim and clearance as read together; ``base`` is their sum."""

    name: str
    base: float
    limits: Ends
    target: float
    guard: float = 0.0  # by which the clearance must lie inside its limits


@dataclass(frozen=True, slots=True)
class Shim:
    """A shim that is there: its thickness [mm], and the valve that it came from ("" from the shelf)."""

    thickness: float
    valve: str = ""


@dataclass(frozen=True, slots=True)
class FittedShim:
    """What a valve gets, from where, and the clearance that it gives [mm]."""

    valve: str
    thickness: float
    source: From
    came_from: str  # the valve that a moved shim came from
    clearance: float


@dataclass(frozen=True, slots=True)
class ShimPlan:
    """One shim for every valve that can have one."""

    fitted: tuple[FittedShim, ...]
    none_fits: tuple[str, ...]  # valves for which no thickness that can be had is right
    off: float  # sum of the distances from the targets [mm]

    def count(self, source: From) -> int:
        """How many come from there."""
        return sum(one.source == source for one in self.fitted)

    @property
    def bought(self) -> dict[float, int]:
        """Thickness: how many to buy."""
        return dict(sorted(Counter(one.thickness for one in self.fitted if one.source == "buy").items()))


def wanted(fitted: float, clearance: float, target: float) -> float:
    """The thickness that would give the target clearance [mm].

    Source: common practice: new = fitted + measured − target.

    >>> round(wanted(2.60, 0.08, 0.18), 3)
    2.5
    """
    return fitted + clearance - target


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
    can: dict[str, list[tuple[int, FittedShim]]] = {}
    for valve in valves:
        can[valve.name] = []
        for at, shim in enumerate(there):
            if allowed(valve, [shim.thickness]):
                source: From = "keep" if shim.valve == valve.name else "move" if shim.valve else "shelf"
                can[valve.name].append((at, _fitted(valve, shim.thickness, source, shim.valve)))
        buyable = allowed(valve, sold)
        if buyable:
            best = min(buyable, key=lambda size: (abs(_off(valve, size)), size))
            can[valve.name].append((-1, _fitted(valve, best, "buy", "")))
    served = [valve for valve in valves if can[valve.name]]
    offs = {
        (valve.name, at): round(abs(_off(valve, one.thickness)) * MICRON)
        for valve in served
        for at, one in can[valve.name]
    }
    near = 1 + sum(max((offs[v.name, at] for at, _ in can[v.name]), default=0) for v in served)
    step = near * (len(served) + 1)
    weights: dict[From, int] = {"keep": 0, "move": near, "shelf": step, "buy": step * (len(served) + 1)}
    plan = _assigned(served, can, offs, weights, len(there))
    while plan is None and served:
        # more valves than shims that fit them and nothing sold: serve as many as can be
        served = _servable(served, can, len(there))
        plan = _assigned(served, can, offs, weights, len(there))
    fitted = tuple(plan or ())
    missing = tuple(v.name for v in valves if v.name not in {one.valve for one in fitted})
    off = sum(abs(one.clearance - next(v.target for v in valves if v.name == one.valve)) for one in fitted)
    return ShimPlan(fitted, missing, round(off, 6))


def _fitted(valve: Valve, thickness: float, source: From, came_from: str) -> FittedShim:
    moved = came_from if source == "move" else ""
    return FittedShim(valve.name, thickness, source, moved, round(valve.base - thickness, 6))


def _off(valve: Valve, thickness: float) -> float:
    return valve.base - thickness - valve.target


def _assigned(
    served: Sequence[Valve],
    can: Mapping[str, list[tuple[int, FittedShim]]],
    offs: Mapping[tuple[str, int], int],
    weights: Mapping[From, int],
    shims: int,
) -> list[FittedShim] | None:
    costs: list[list[int | None]] = []
    for row, valve in enumerate(served):
        line: list[int | None] = [None] * (shims + len(served))
        for at, one in can[valve.name]:
            # a bought shim is each valve's own column
            line[at if at >= 0 else shims + row] = weights[one.source] + offs[valve.name, at]
        costs.append(line)
    found = assign(costs)
    if found is None:
        return None
    picked = []
    for row, (valve, column) in enumerate(zip(served, found, strict=True)):
        at = -1 if column == shims + row else column
        picked.append(next(one for index, one in can[valve.name] if index == at))
    return picked


def _servable(
    served: Sequence[Valve], can: Mapping[str, list[tuple[int, FittedShim]]], shims: int
) -> list[Valve]:
    """The largest set of valves that can each have a shim: going without is the only cost."""
    costs: list[list[int | None]] = []
    for row, valve in enumerate(served):
        line: list[int | None] = [None] * (shims + 2 * len(served))
        for at, _ in can[valve.name]:
            line[at if at >= 0 else shims + row] = 0
        line[shims + len(served) + row] = 1
        costs.append(line)
    found = assign(costs) or []
    return [valve for row, valve in enumerate(served) if found[row] != shims + len(served) + row]
