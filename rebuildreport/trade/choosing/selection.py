"""One part from several for every place at once: exact, never greedy.

Every place (a bearing, a cylinder) has options; an option uses parts and lies
some way off the target.  Parts are on the shelf in small numbers, or can be
ordered in packs, or cannot be had at all.  The best plan is the first by

1. the least total distance from the targets,
2. the fewest different parts to order,
3. the least money for the packs ordered,
4. the fewest mixed options (two different halves at one place), and then by
   the order in which the options were given, so that the same case always has
   the same answer.

A few places are counted through; more go to HiGHS as an integer program
(``scipy.optimize.milp``), one objective after the other.  All distances and
money are whole numbers, so that "equal" means equal.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from msgspec import Struct

# up to so many combinations counting through is quicker than loading a solver
COUNTED = 20_000

Rank = tuple[int, int, int, int]


class Piece(NamedTuple):
    """A part that is told apart by its grade, and, of a pair, by which of the two it is."""

    which: str  # upper or lower; '' where there is one of a sort
    grade: str
    family: str = ""  # grades of parts for something else may be called alike


class SelectionOption(Struct, frozen=True):
    """One way to fill a place: the parts it takes (a part may stand twice), and how far off it is."""

    parts: tuple[Piece, ...]
    off: int  # distance from the target, a whole number of any small unit

    @property
    def mixed(self) -> int:
        """1 where its parts are not of one grade."""
        return int(len({part.grade for part in self.parts}) > 1)


class Supply(Struct, frozen=True):
    """How a part can be had."""

    shelf: int = 0
    order: bool = True  # whether more can be ordered
    pack: int = 1  # how many one gets at a time
    price: int = 0  # of a pack, in the smallest coin


class Plan(Struct, frozen=True):
    """One option for every place, and what it takes."""

    chosen: Mapping[str, int]  # place: index of its option
    off: int
    packs: Mapping[Piece, int]  # part: packs to order, where any
    cost: int
    mixed: int

    @property
    def rank(self) -> Rank:
        """What plans are compared by: the smaller is the better."""
        return (self.off, len(self.packs), self.cost, self.mixed)


Places = Mapping[str, Sequence[SelectionOption]]
Supplies = Mapping[Piece, Supply]


def choose(places: Places, supplies: Supplies, unlike: Plan | None = None) -> Plan | None:
    """The best plan, or None where no plan serves every place.

    ``places`` gives the options of each place, ``supplies`` how each part can
    be had (one that is missing there can be ordered singly, at no price).
    With ``unlike``, the best plan that is as far off as that one or farther
    and differs from it in more than a swap of halves: at one place at least
    its distance from the target is another.

    Source: assignment with limited and fixed-charge supplies as an integer
    program; HiGHS branch and cut (Huangfu and Hall 2018, Math. Prog. Comp. 10).

    >>> s2, s3 = Piece("", "S2"), Piece("", "S3")
    >>> places = {"M1": [SelectionOption((s2,), 10), SelectionOption((s3,), 20)],
    ...           "M2": [SelectionOption((s2,), 0), SelectionOption((s3,), 30)]}
    >>> plan = choose(places, {s2: Supply(shelf=1, order=False), s3: Supply(shelf=2)})
    >>> plan.chosen, plan.off
    ({'M1': 1, 'M2': 0}, 20)
    """
    if not all(places.values()):
        return None
    if not unlike and (only := _free(places, supplies)):
        return only
    if math.prod(len(_to_be_had(options, supplies)) for options in places.values()) <= COUNTED:
        plans = _counted(places, supplies, unlike)
        return min(plans, key=lambda plan: (plan.rank, tuple(plan.chosen.values())), default=None)
    return solve(places, supplies, unlike)


def plan_of(places: Places, supplies: Supplies, chosen: Mapping[str, int]) -> Plan | None:
    """What one option for every place comes to; None where the parts cannot be had.

    Source: counting.

    >>> s2 = Piece("", "S2")
    >>> plan_of({"M1": [SelectionOption((s2, s2), 5)]}, {s2: Supply(pack=4, price=900)}, {"M1": 0}).cost
    900
    """
    used = Counter(part for place, index in chosen.items() for part in places[place][index].parts)
    packs: dict[Piece, int] = {}
    cost = 0
    for part in sorted(used):
        supply = supplies.get(part, Supply())
        short = used[part] - supply.shelf
        if short <= 0:
            continue
        if not supply.order:
            return None
        packs[part] = -(-short // supply.pack)
        cost += packs[part] * supply.price
    picked = [places[place][index] for place, index in chosen.items()]
    return Plan(dict(chosen), sum(o.off for o in picked), packs, cost, sum(o.mixed for o in picked))


def _free(places: Places, supplies: Supplies) -> Plan | None:
    """The plan that needs no weighing up: each place's best is its only best, and can be had."""
    chosen = {}
    for place, options in places.items():
        best = min(option.off for option in options)
        first, *others = [index for index, option in enumerate(options) if option.off == best]
        if others:
            return None
        chosen[place] = first
    return plan_of(places, supplies, chosen)  # nothing else can be as near


def _to_be_had(options: Sequence[SelectionOption], supplies: Supplies) -> list[tuple[int, SelectionOption]]:
    """The options whose parts can be had at all, the nearest first, with their index."""

    def there(part: Piece) -> bool:
        supply = supplies.get(part, Supply())
        return supply.order or supply.shelf > 0

    had = [(index, option) for index, option in enumerate(options) if all(map(there, option.parts))]
    return sorted(had, key=lambda pair: pair[1].off)


def _counted(places: Places, supplies: Supplies, unlike: Plan | None) -> Iterator[Plan]:
    """Every plan that may be the best: what is already farther off than one that is known is left."""
    names = list(places)
    scarce = {part: supply.shelf for part, supply in supplies.items() if not supply.order}
    ways = [_to_be_had(places[name], supplies) for name in names]
    if not all(ways):
        return
    # the least that the places from here on add
    rest = [sum(options[0][1].off for options in ways[depth:]) for depth in range(len(names) + 1)]
    best = math.inf

    def down(chosen: dict[str, int], off: int, used: Counter[Piece]) -> Iterator[Plan]:
        nonlocal best
        depth = len(chosen)
        if depth == len(names):
            plan = plan_of(places, supplies, chosen)
            if plan is not None and not (unlike and _alike(places, chosen, unlike.chosen)):
                best = min(best, off)
                yield plan
            return
        for index, option in ways[depth]:
            if off + option.off + rest[depth + 1] > best:
                break  # the others of this place are farther off still
            limited = [part for part in option.parts if part in scarce]
            taken = used + Counter(limited) if limited else used
            if all(taken[part] <= scarce[part] for part in limited):
                yield from down({**chosen, names[depth]: index}, off + option.off, taken)

    yield from down({}, 0, Counter())


def _alike(places: Places, one: Mapping[str, int], other: Mapping[str, int]) -> bool:
    """Whether two plans differ only in which half is which."""
    return all(_sorts(places[place][one[place]]) == _sorts(places[place][other[place]]) for place in places)


def _sorts(option: SelectionOption) -> list[str]:
    return sorted(part.grade for part in option.parts)


def solve(places: Places, supplies: Supplies, unlike: Plan | None = None) -> Plan | None:
    """``choose`` by the integer program, whatever the number of places.

    Source: as ``choose``.
    """
    parts = sorted({part for options in places.values() for option in options for part in option.parts})
    program = _Program(places, parts, [supplies.get(part, Supply()) for part in parts])
    taken = _one_goal_after_another(program.goals(), program.constraints(unlike), program.upper)
    if taken is None:
        return None
    chosen = {place: index for (place, index), one in zip(program.columns, taken, strict=False) if one == 1.0}
    return plan_of(places, supplies, chosen)


class _Program(Struct, frozen=True, dict=True):
    """The choice in numbers. Its unknowns: each option, the packs of each part, whether any is ordered."""

    places: Places
    parts: Sequence[Piece]
    supply: Sequence[Supply]  # of each part

    @cached_property
    def columns(self) -> list[tuple[str, int]]:
        """Place and index of each option."""
        return [(place, index) for place, options in self.places.items() for index in range(len(options))]

    @cached_property
    def options(self) -> list[SelectionOption]:
        return [self.places[place][index] for place, index in self.columns]

    @cached_property
    def packs(self) -> list[int]:
        """No more packs of a part are ever ordered than all places together can use."""
        most = []
        for part, supply in zip(self.parts, self.supply, strict=True):
            need = sum(max(o.parts.count(part) for o in options) for options in self.places.values())
            most.append(-(-max(0, need - supply.shelf) // supply.pack) if supply.order else 0)
        return most

    @property
    def upper(self) -> list[float]:
        """The most that each unknown can be."""
        return [*(1.0 for _ in self.options), *self.packs, *(1.0 for _ in self.parts)]

    def goals(self) -> list[list[float]]:
        """What is to be least, one after the other; the last settles what is equal by the options' order."""
        order = {place: at for at, place in enumerate(self.places, 1)}
        free, none = [0.0] * len(self.options), [0.0] * len(self.parts)
        return [
            [*(option.off for option in self.options), *none, *none],
            [*free, *none, *(1.0 for _ in self.parts)],
            [*free, *(supply.price for supply in self.supply), *none],
            [*(option.mixed for option in self.options), *none, *none],
            [*(order[place] * index for place, index in self.columns), *none, *none],
        ]

    def constraints(self, unlike: Plan | None) -> list[tuple[Any, Any, Any]]:
        """Rows of weights, with the least and the greatest that they may add up to."""
        import numpy as np

        count = len(self.parts)
        uses = np.array([float(o.parts.count(part)) for part in self.parts for o in self.options])
        uses = uses.reshape(count, len(self.options))
        at_place = np.array([[float(name == place) for name, _ in self.columns] for place in self.places])
        packed = -np.diag([supply.pack for supply in self.supply])
        ordered = -np.diag([max(1, most) for most in self.packs])
        none, no_parts = np.zeros((count, count)), np.zeros((len(self.places), 2 * count))
        rows = [
            (np.hstack([at_place, no_parts]), 1.0, 1.0),
            (np.hstack([uses, packed, none]), -np.inf, [supply.shelf for supply in self.supply]),
            (np.hstack([0.0 * uses, np.eye(count), ordered]), -np.inf, 0.0),
        ]
        if unlike:
            before = {place: _sorts(self.places[place][index]) for place, index in unlike.chosen.items()}
            pairs = zip(self.options, self.columns, strict=True)
            same = [float(_sorts(option) == before[place]) for option, (place, _) in pairs]
            rows.append((np.array([[*same, *no_parts[0]]]), -np.inf, len(self.places) - 1.0))
        return rows


def _one_goal_after_another(
    goals: Sequence[Sequence[float]], blocks: Sequence[tuple[Any, Any, Any]], upper: Sequence[float]
) -> Sequence[float] | None:
    """The whole unknowns that reach the first goal best, of those the second, and so on; None where none do.

    ``blocks``: rows of weights with the least and the greatest that they may add up to.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    constraints = [LinearConstraint(rows, least, greatest) for rows, least, greatest in blocks]
    best = None
    for goal in goals:
        if best is not None and not any(goal):
            continue
        done = milp(
            goal,
            constraints=constraints,
            bounds=Bounds(0.0, upper),
            integrality=np.ones(len(goal)),
            options={"mip_rel_gap": 0.0},
        )
        if done.x is None:
            break
        best = np.round(done.x)
        # the goals after it may not cost this one a single step
        constraints.append(LinearConstraint(goal, -np.inf, round(float(np.dot(goal, best))) + 0.5))
    return best


def most_places(places: Places, supplies: Supplies) -> Plan:
    """The best plan of those that leave the fewest places without, where none serves every place.

    Source: as ``choose``, with an option at every place to go without.

    >>> s4 = Piece("", "S4")
    >>> places = {"M1": [SelectionOption((s4,), 0)], "M2": [SelectionOption((s4,), 0)]}
    >>> most_places(places, {s4: Supply(1, False)}).chosen
    {'M1': 0}
    """
    far = 1 + sum(max((option.off for option in options), default=0) for options in places.values())
    # to leave a place without is worse than all distances together
    without = {place: [*options, SelectionOption((), far)] for place, options in places.items()}
    plan = choose(without, supplies)
    assert plan is not None  # to go without is always possible
    served = {place: index for place, index in plan.chosen.items() if index < len(places[place])}
    best = plan_of(places, supplies, served)
    assert best is not None  # they are those of a plan
    return best


def short_of(places: Places, supplies: Supplies, plan: Plan) -> dict[Piece, int]:
    """What more would be wanted, and cannot be ordered, for the places that a plan leaves without.

    Source: counting, each of them by its nearest option.

    >>> s4 = Piece("", "S4")
    >>> places = {"M1": [SelectionOption((s4,), 0)], "M2": [SelectionOption((s4,), 0)]}
    >>> shelf = {s4: Supply(1, False)}
    >>> short_of(places, shelf, most_places(places, shelf))
    {Piece(which='', grade='S4', family=''): 1}
    """
    used = Counter(part for place, index in plan.chosen.items() for part in places[place][index].parts)
    short: Counter[Piece] = Counter()
    for place, options in places.items():
        if place in plan.chosen or not options:
            continue
        for part in min(options, key=lambda option: option.off).parts:
            used[part] += 1
            supply = supplies.get(part, Supply())
            short[part] += not supply.order and used[part] > supply.shelf
    return dict(+short)
