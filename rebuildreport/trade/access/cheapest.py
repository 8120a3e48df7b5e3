"""The cheapest valid order in which targets come off, exactly, with what else there is to know about it."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import product

from msgspec import Struct

from .ways import Way, Ways

MOST_TRIED = 1200  # choices begun before a solver is asked: to load it takes longer than these
DEEPEST = 400  # parts, one within the other: Python stops at a thousand calls
# in favour of the ways that the table names first where the cost is the same; far below a cent
BY_RANK = 2e-5
Arc = tuple[str, str]  # off before


class Route(Struct, frozen=True):
    """Ways in an order in which they can be gone, and what they cost together."""

    steps: tuple[Way, ...]
    cost: float

    @property
    def parts(self) -> tuple[str, ...]:
        return tuple(way.part for way in self.steps)


def cheapest(
    ways: Ways,
    targets: Collection[str],
    leave: Collection[str] = (),
    must: Way | None = None,
    other_than: Sequence[Route] = (),
) -> Route | None:
    """The cheapest way to have the targets off and what is left alone on; None where there is none.

    ``must``: a way that has to be gone.  ``other_than``: plans of which not every way may be gone.

    Branch and bound; where that becomes much a mixed-integer programme without an order (HiGHS by scipy), of
    whose answers each circle is cut off, and it is asked again.

    Source: cuts of circles by loop formulas, as in Lin and Zhao, Artificial Intelligence 157 (2004); the
    problem is that of and/or precedence, as in Goldwasser and Motwani, Int. J. Computational Geometry and
    Applications 9 (1999), who show it NP-hard.  Both from memory.

    >>> table = Ways([Way("head", cost=2), Way("caps", cost=1), Way("sump", cost=1),
    ...     Way("crank", frozenset({"head", "caps"}), 3), Way("crank", frozenset({"sump", "caps"}), 3)])
    >>> plan = cheapest(table, ["crank"])
    >>> plan.parts, plan.cost == 5
    (('caps', 'sump', 'crank'), True)
    >>> cheapest(table, ["crank"], leave=["sump"]).cost == 6, cheapest(table, ["crank"], leave=["caps"])
    (True, None)
    """
    needed = [*targets, *((must.part,) if must else ())]
    search = _Search(ways, ways.allowed(leave, needed, must), needed, other_than)
    if not {*needed} <= {*search.of}:
        return None
    try:
        chosen = search.one_by_one()
    except TooMany:
        chosen = search.by_solver()
    if chosen is None:
        return None
    order = in_order(ways, chosen)
    return Route(order, ways.cost(order)) if order else None


def in_order(ways: Ways, chosen: Collection[Way]) -> tuple[Way, ...]:
    """Ways in an order in which they can be gone, near to that of the table; () where there is none.

    Source: topological sorting (Kahn 1962), tried with each disturbance before and after.
    """
    pairs = list(ways.disturbances(chosen))
    by_part = {way.part: way for way in chosen}
    # what waits for the state itself comes later in any case
    options = [(True,) if state in _behind(by_part, way) else (False, True) for way, state in pairs]
    for later in product(*options):
        arcs = [
            arc for option, pair in zip(later, pairs, strict=True) for arc in _around(ways, *pair, option)
        ]
        order = _sorted(ways, chosen, arcs)
        if order:
            return order
    return ()


def _behind(by_part: Mapping[str, Way], way: Way) -> set[str]:
    """All that is off before a way is gone."""
    found: set[str] = set()
    waiting = [*way.first]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            waiting += by_part[name].first if name in by_part else ()
    return found


def _around(ways: Ways, way: Way, state: str, later: bool) -> list[Arc]:
    """What disturbs a state comes off before it is brought about, or after it need not last any more."""
    if not later:
        return [(way.part, state)]
    return [(name, way.part) for name in ways.lasts.get(state, ())] or [(way.part, way.part)]


def _sorted(ways: Ways, chosen: Collection[Way], more: Iterable[Arc]) -> tuple[Way, ...]:
    """A topological order; a state stands right before what needs it, what else is free as in the table."""
    by_part = {way.part: way for way in chosen}
    place = {part: float(index) for index, part in enumerate(ways.of)}
    for way in chosen:
        for state in way.first & {*ways.lasts}:
            place[state] = min(place[state], place[way.part] - 0.5)
    waits = {part: {*way.first} for part, way in by_part.items()}
    for before, after in more:
        waits[after].add(before)
    if any(not names <= {*by_part} for names in waits.values()):
        return ()
    sorter = TopologicalSorter(waits)
    try:
        sorter.prepare()
    except CycleError:
        return ()
    free: list[tuple[float, str]] = []
    order: list[Way] = []
    while sorter.is_active():
        for part in sorter.get_ready():
            heapq.heappush(free, (place[part], part))
        part = heapq.heappop(free)[1]
        order.append(by_part[part])
        sorter.done(part)
    return tuple(order)


class TooMany(Exception):
    """More choices than are worth going through one by one."""


class _Search:
    """One question: which ways are gone."""

    def __init__(
        self, ways: Ways, of: Mapping[str, list[Way]], targets: Collection[str], other_than: Sequence[Route]
    ) -> None:
        self.ways, self.of, self.targets = ways, of, targets
        self.barred = [frozenset(plan.steps) for plan in other_than]
        self.rank = {way: rank for some in of.values() for rank, way in enumerate(some, 1)}
        # a state that something disturbs may want another part off than the ways themselves ask for
        self.pairs = [(way, state) for way in self.rank for state in sorted(way.disturbs) if state in self.of]

    def one_by_one(self) -> list[Way] | None:
        """The cheapest of all choices, those that cannot become it cut short; TooMany where they are many."""
        if len(self.of) > DEEPEST:
            raise TooMany
        self.best: tuple[float, list[Way]] | None = None
        self.tried = 0
        self.least = {part: min(map(self._own, some)) for part, some in self.of.items()}
        self._go({}, dict.fromkeys(self.targets), 0.0, frozenset())
        return self.best[1] if self.best else None

    def _own(self, way: Way) -> float:
        return way.cost + BY_RANK * self.rank[way]

    def _go(
        self, chosen: dict[str, Way], waiting: dict[str, None], cost: float, used: frozenset[str]
    ) -> None:
        """Each way of the next part that is wanted."""
        self.tried += 1
        if self.tried > MOST_TRIED:
            raise TooMany
        if self.best and cost + sum(self.least[part] for part in waiting) >= self.best[0]:
            return
        if not waiting:
            self._weigh(chosen, cost, used)
            return
        part, *others = waiting
        for way in sorted(self.of[part], key=self._own):
            taken = {**chosen, part: way}
            behind = dict.fromkeys([*others, *(name for name in sorted(way.first) if name not in taken)])
            new = sum(self.ways.shared.get(name, 0.0) for name in way.uses - used)
            self._go(taken, behind, cost + self._own(way) + new, used | way.uses)

    def _weigh(self, chosen: dict[str, Way], cost: float, used: frozenset[str]) -> None:
        """A whole choice; where it has no order, with what a state would have to end for."""
        found = [chosen[part] for part in self.of if part in chosen]
        if any(barred <= {*found} for barred in self.barred):
            return
        if in_order(self.ways, found):
            self.best = cost, found
            return
        for _, state in self.ways.disturbances(found):
            more = {name: None for name in sorted(self.ways.lasts.get(state, ())) if name not in chosen}
            if more and {*more} <= {*self.of}:
                self._go(chosen, more, cost, used)

    def by_solver(self) -> list[Way] | None:
        """The same by a mixed-integer programme."""
        from .programme import Programme

        return Programme(
            self.ways, self.of, self.targets, self.barred, self.pairs, self.rank, BY_RANK
        ).solved()
