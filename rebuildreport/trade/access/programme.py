"""The choice of ways as a mixed-integer programme; loads scipy: imported where it is asked for."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from .ways import Way, Ways

Arc = tuple[str, str]  # off before
Literal = tuple[int, bool]  # a variable, and whether it is 1 or 0 that makes the arc
ENDED, IMPOSSIBLE = 0, 2  # statuses of scipy's milp


class Programme:
    """Variables: each way (gone or not), each thing used once, each disturbance (later or before).

    The parts that a chosen way needs are chosen; the order is not in it: see ``solved``.
    """

    def __init__(
        self,
        ways: Ways,
        of: Mapping[str, Sequence[Way]],
        targets: Collection[str],
        barred: Sequence[frozenset[Way]],
        pairs: Sequence[tuple[Way, str]],
        rank: Mapping[Way, int],
        by_rank: float,
    ) -> None:
        self.ways, self.of, self.pairs = ways, of, pairs
        self.index = {way: index for index, way in enumerate(rank)}
        uses = sorted({name for way in rank for name in way.uses if ways.shared.get(name)})
        self.used = {name: len(rank) + index for index, name in enumerate(uses)}
        self.later = {pair: len(rank) + len(uses) + index for index, pair in enumerate(pairs)}
        self.cost = np.array(
            [way.cost + by_rank * place for way, place in rank.items()]
            + [ways.shared[name] for name in uses]
            + [0.0] * len(pairs)
        )
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self._rules(targets, barred)

    def _off(self, part: str, factor: float = 1.0) -> dict[int, float]:
        return {self.index[way]: factor for way in self.of.get(part, ())}

    def _rules(self, targets: Collection[str], barred: Sequence[frozenset[Way]]) -> None:
        for part in self.of:
            least = 1.0 if part in targets else 0.0
            self.rows.append((self._off(part), least, 1.0))
        for way, index in self.index.items():
            for name in way.first:
                self.rows.append(({**self._off(name), index: -1.0}, 0.0, np.inf))
            for name in way.uses & {*self.used}:
                self.rows.append(({self.used[name]: 1.0, index: -1.0}, 0.0, np.inf))
        for plan in barred:
            if plan <= {*self.index}:
                self.rows.append(({self.index[way]: 1.0 for way in plan}, -np.inf, len(plan) - 1.0))
        for (way, state), later in self.later.items():
            # later, with its state brought about: then what it waits for is off
            for name in self.ways.lasts.get(state, ()):
                row = {**self._off(name), later: -1.0, self.index[way]: -1.0}
                for index, factor in self._off(state, -1.0).items():
                    row[index] = row.get(index, 0.0) + factor
                self.rows.append((row, -2.0, np.inf))
            if not self.ways.lasts.get(state):
                self.rows.append(({later: 1.0}, 0.0, 0.0))

    def solved(self) -> list[Way] | None:
        """The cheapest choice that has an order; None where there is none."""
        while True:
            answer = self._answer()
            if answer is None:
                return None
            chosen = [way for way, index in self.index.items() if answer[index]]
            if not self._cut(chosen, answer):
                return chosen

    def _answer(self) -> list[bool] | None:
        entries = [
            (row, column, value)
            for row, (some, _, _) in enumerate(self.rows)
            for column, value in some.items()
        ]
        rows, columns, values = zip(*entries, strict=True)
        shape = (len(self.rows), len(self.cost))
        low = np.array([low for _, low, _ in self.rows])
        high = np.array([high for _, _, high in self.rows])
        found = milp(
            self.cost,
            integrality=np.ones(len(self.cost)),
            bounds=Bounds(0.0, 1.0),
            constraints=LinearConstraint(
                coo_array((values, (rows, columns)), shape=shape).tocsr(), low, high
            ),
            options={"mip_rel_gap": 0.0},
        )
        if found.status not in (ENDED, IMPOSSIBLE):
            raise RuntimeError(f"the solver gave up: {found.message}")
        return None if found.x is None else [value > 0.5 for value in found.x]

    def _cut(self, chosen: Sequence[Way], answer: Sequence[bool]) -> bool:
        """Whether the choice goes in a circle somewhere; then it is cut off."""
        by_part = {way.part: way for way in chosen}
        off: set[str] = set()
        while more := {way.part for way in chosen if way.part not in off and way.first <= off}:
            off |= more
        if stuck := {*by_part} - off:
            self._loop(_core(by_part, stuck))
            return True
        arcs = self._arcs(by_part, answer)
        circle = _circle(arcs)
        if not circle:
            return False
        literals = dict.fromkeys(literal for arc in circle for literal in arcs[arc])
        row = {index: 1.0 if is_true else -1.0 for index, is_true in literals}
        negative = sum(not is_true for _, is_true in literals)
        self.rows.append((row, -np.inf, len(literals) - 1.0 - negative))
        return True

    def _arcs(self, by_part: Mapping[str, Way], answer: Sequence[bool]) -> dict[Arc, list[Literal]]:
        """What is off before what by a choice, each with the variables that make it so."""
        arcs: dict[Arc, list[Literal]] = {
            (name, way.part): [(self.index[way], True)] for way in by_part.values() for name in way.first
        }
        for (way, state), later in self.later.items():
            if by_part.get(way.part) != way or state not in by_part:
                continue
            made_by = [(self.index[way], True), (self.index[by_part[state]], True), (later, answer[later])]
            found = [(way.part, state)]
            if answer[later]:
                found = [(name, way.part) for name in self.ways.lasts.get(state, ())]
            for arc in found:
                arcs.setdefault(arc, made_by)
        return arcs

    def _loop(self, stuck: set[str]) -> None:
        """Of parts that wait for one another one is reached from outside, or none of them comes off."""
        outside = {self.index[way]: 1.0 for part in stuck for way in self.of[part] if not way.first & stuck}
        for part in stuck:
            row = dict.fromkeys(self._off(part), -1.0)
            for index, value in outside.items():
                row[index] = row.get(index, 0.0) + value
            self.rows.append((row, 0.0, np.inf))


def _core(by_part: Mapping[str, Way], stuck: set[str]) -> set[str]:
    """Of what is stuck a circle alone: its cut says more than that of all that waits behind it."""
    place = min(stuck)
    seen: list[str] = []
    while place not in seen:
        seen.append(place)
        place = min(by_part[place].first & stuck)
    return {*seen[seen.index(place) :]}


def _circle(arcs: Mapping[Arc, object]) -> list[Arc]:
    waits: dict[str, set[str]] = {}
    for before, after in arcs:
        waits.setdefault(after, set()).add(before)
    try:
        TopologicalSorter(waits).prepare()
    except CycleError as found:
        return list(pairwise(found.args[1]))  # each is before the next
    return []
