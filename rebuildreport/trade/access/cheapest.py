"""The cheapest valid order in which targets come off, exactly, with what else there is to know about it."""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter
from itertools import product
from math import prod

from .ways import Way, Ways

FEW = 128  # combinations that are gone through one by one: loading a solver takes longer
# in favour of the ways that the table names first where the cost is the same; far below a cent
BY_RANK = 2e-5
Arc = tuple[str, str]  # off before


@dataclass(frozen=True, slots=True)
class Route:
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

    A mixed-integer programme without an order (HiGHS by scipy); a circle in an answer is cut off
    and it is asked again.  Few combinations are gone through instead.

    Source: cuts of circles by loop formulas, as in Lin and Zhao, Artificial Intelligence 157 (2004); the
    problem is that of and/or precedence, as in Goldwasser and Motwani, Int. J. Computational Geometry and
    Applications 9 (1999), who show it NP-hard.  Both from memory.

    >>> table = Ways([Way("head", cost=2), Way("caps", cost=1), Way("sump", cost=1),
    ...     Way("crank", frozenset({"head", "caps"}), 3), Way("crank", frozenset({"sump", "caps"}), 3)])
    >>> plan = cheapest(table, ["crank"])
    >>> plan.parts, plan.cost
    (('caps', 'sump', 'crank'), 5.0)
    >>> cheapest(table, ["crank"], leave=["sump"]).cost, cheapest(table, ["crank"], leave=["caps"])
    (6.0, None)
    """
    needed = [*targets, *((must.part,) if must else ())]
    search = _Search(ways, ways.allowed(leave, needed, must), needed, other_than)
    if not {*needed} <= {*search.of}:
        return None
    chosen = search.one_by_one() if search.combinations <= FEW else search.by_solver()
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

    @property
    def combinations(self) -> float:
        return float(prod(map(len, self.of.values()))) * 2.0 ** len(self.pairs)

    def one_by_one(self) -> list[Way] | None:
        """The cheapest of all combinations."""
        found: tuple[float, list[Way]] | None = None
        for chosen in self._combinations():
            cost = self.ways.cost(chosen) + BY_RANK * sum(self.rank[way] for way in chosen)
            if (found and cost >= found[0]) or any(barred <= {*chosen} for barred in self.barred):
                continue
            if in_order(self.ways, chosen):
                found = cost, chosen
        return found[1] if found else None

    def _combinations(self) -> Iterator[list[Way]]:
        """Every choice of a way for each part, without the parts that it does not ask for."""
        seen: set[frozenset[Way]] = set()
        for picked in product(*self.of.values()):
            by_part = {way.part: way for way in picked}
            for later in product((False, True), repeat=len(self.pairs)):
                extra = {pair for pair, is_later in zip(self.pairs, later, strict=True) if is_later}
                chosen = self._asked_for(by_part, extra)
                if (key := frozenset(chosen)) not in seen:
                    seen.add(key)
                    yield chosen

    def _asked_for(self, by_part: Mapping[str, Way], later: Collection[tuple[Way, str]]) -> list[Way]:
        wanted: dict[str, Way] = {}
        behind = [*self.targets]
        while behind:
            part = behind.pop()
            if part in wanted or part not in by_part:
                continue
            way = wanted[part] = by_part[part]
            behind += way.first
            behind += [name for one, state in later if one == way for name in self.ways.lasts.get(state, ())]
        return [wanted[part] for part in self.of if part in wanted]

    def by_solver(self) -> list[Way] | None:
        """The same by a mixed-integer programme."""
        from .programme import Programme

        return Programme(
            self.ways, self.of, self.targets, self.barred, self.pairs, self.rank, BY_RANK
        ).solved()
