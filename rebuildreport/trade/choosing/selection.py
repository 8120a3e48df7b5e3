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
from dataclasses import dataclass

# up to so many combinations counting through is quicker than loading a solver
COUNTED = 20_000

Rank = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class SelectionOption:
    """One way to fill a place: the parts it takes (a part may stand twice), and how far off it is."""

    parts: tuple[str, ...]
    off: int  # distance from the target, a whole number of any small unit

    @property
    def mixed(self) -> int:
        """1 where its parts are not of one sort; a part's sort is what stands after its last blank."""
        return int(len({part.rpartition(" ")[2] for part in self.parts}) > 1)


@dataclass(frozen=True, slots=True)
class Supply:
    """How a part can be had."""

    shelf: int = 0
    order: bool = True  # whether more can be ordered
    pack: int = 1  # how many one gets at a time
    price: int = 0  # of a pack, in the smallest coin


@dataclass(frozen=True, slots=True)
class Plan:
    """One option for every place, and what it takes."""

    chosen: Mapping[str, int]  # place: index of its option
    off: int
    packs: Mapping[str, int]  # part: packs to order, where any
    cost: int
    mixed: int

    @property
    def rank(self) -> Rank:
        """What plans are compared by: the smaller is the better."""
        return (self.off, len(self.packs), self.cost, self.mixed)


Places = Mapping[str, Sequence[SelectionOption]]
Supplies = Mapping[str, Supply]


def choose(places: Places, supplies: Supplies, unlike: Plan | None = None) -> Plan | None:
    """The best plan, or None where no plan serves every place.

    ``places`` gives the options of each place, ``supplies`` how each part can
    be had (one that is missing there can be ordered singly, at no price).
    With ``unlike``, the best plan that is as far off as that one or farther
    and differs from it in more than a swap of halves: at one place at least
    its distance from the target is another.

    Source: assignment with limited and fixed-charge supplies as an integer
    program; HiGHS branch and cut (Huangfu and Hall 2018, Math. Prog. Comp. 10).

    >>> places = {"M1": [SelectionOption(("S2",), 10), SelectionOption(("S3",), 20)],
    ...           "M2": [SelectionOption(("S2",), 0), SelectionOption(("S3",), 30)]}
    >>> plan = choose(places, {"S2": Supply(shelf=1, order=False), "S3": Supply(shelf=2)})
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

    >>> plan_of({"M1": [SelectionOption(("S2", "S2"), 5)]}, {"S2": Supply(pack=4, price=900)}, {"M1": 0}).cost
    900
    """
    used = Counter(part for place, index in chosen.items() for part in places[place][index].parts)
    packs: dict[str, int] = {}
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
    found = [
        (index, option)
        for index, option in enumerate(options)
        if all((supply := supplies.get(part, Supply())).order or supply.shelf for part in option.parts)
    ]
    return sorted(found, key=lambda pair: pair[1].off)


def _counted(places: Places, supplies: Supplies, unlike: Plan | None) -> Iterator[Plan]:
    """Every plan that may be the best: what is already farther off than one that is known is left."""
    names = list(places)
    left = {part: supply.shelf for part, supply in supplies.items() if not supply.order}
    ones = [_to_be_had(places[name], supplies) for name in names]
    if not all(ones):
        return
    # the least that the places from here on add
    rest = [sum(found[0][1].off for found in ones[depth:]) for depth in range(len(names) + 1)]
    best: list[int] = []

    def down(depth: int, chosen: dict[str, int], off: int) -> Iterator[Plan]:
        if depth == len(names):
            plan = plan_of(places, supplies, chosen)
            if plan is not None and not (unlike and _alike(places, chosen, unlike.chosen)):
                best[:] = [min([*best, off])]
                yield plan
            return
        for index, option in ones[depth]:
            if best and off + option.off + rest[depth + 1] > best[0]:
                break  # the others of this place are farther off still
            scarce = [part for part in option.parts if part in left]
            for part in scarce:
                left[part] -= 1
            if all(left[part] >= 0 for part in scarce):
                yield from down(depth + 1, {**chosen, names[depth]: index}, off + option.off)
            for part in scarce:
                left[part] += 1

    yield from down(0, {}, 0)


def _alike(places: Places, one: Mapping[str, int], other: Mapping[str, int]) -> bool:
    """Whether two plans differ only in which half is which."""
    return all(_sorts(places[place][one[place]]) == _sorts(places[place][other[place]]) for place in places)


def _sorts(option: SelectionOption) -> list[str]:
    return sorted(part.rpartition(" ")[2] for part in option.parts)


def solve(places: Places, supplies: Supplies, unlike: Plan | None = None) -> Plan | None:
    """``choose`` by the integer program, whatever the number of places.

    Source: as ``choose``.
    """
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    names = list(places)
    columns = [(place, index) for place in names for index in range(len(places[place]))]
    parts = sorted({part for options in places.values() for option in options for part in option.parts})
    uses = np.zeros((len(parts), len(columns)))
    for at, (place, index) in enumerate(columns):
        for part in places[place][index].parts:
            uses[parts.index(part), at] += 1.0
    supply = [supplies.get(part, Supply()) for part in parts]
    # no part is ever needed more often than the places can use it
    most = [
        sum(max(option.parts.count(part) for option in options) for options in places.values())
        for part in parts
    ]
    packs = [
        -(-max(0, need - s.shelf) // s.pack) if s.order else 0 for need, s in zip(most, supply, strict=True)
    ]
    count, kinds = len(columns), len(parts)
    width = count + 2 * kinds  # options; packs of each part; whether any is ordered
    rows, low, high = [], [], []

    def add(row: np.ndarray, least: float, greatest: float) -> None:
        rows.append(row)
        low.append(least)
        high.append(greatest)

    for place in names:
        row = np.zeros(width)
        row[[at for at, (name, _) in enumerate(columns) if name == place]] = 1.0
        add(row, 1.0, 1.0)
    for k in range(kinds):
        row = np.zeros(width)
        row[:count], row[count + k] = uses[k], -supply[k].pack
        add(row, -np.inf, float(supply[k].shelf))
        row = np.zeros(width)
        row[count + k], row[count + kinds + k] = 1.0, -max(1, packs[k])
        add(row, -np.inf, 0.0)
    if unlike:
        row = np.zeros(width)
        for at, (place, index) in enumerate(columns):
            same = _sorts(places[place][index]) == _sorts(places[place][unlike.chosen[place]])
            row[at] = float(same)
        add(row, -np.inf, len(names) - 1.0)
    options = [places[place][index] for place, index in columns]
    goals = [np.zeros(width) for _ in range(5)]
    goals[0][:count] = [option.off for option in options]
    goals[1][count + kinds :] = 1.0
    goals[2][count : count + kinds] = [s.price for s in supply]
    goals[3][:count] = [option.mixed for option in options]
    goals[4][:count] = [(names.index(place) + 1) * index for place, index in columns]
    upper = np.concatenate([np.ones(count), np.array(packs, dtype=float), np.ones(kinds)])
    found = None
    for goal in goals:
        if found is not None and not goal.any():
            continue
        done = milp(
            goal,
            constraints=LinearConstraint(np.array(rows), low, high),
            bounds=Bounds(0.0, upper),
            integrality=np.ones(width),
            options={"mip_rel_gap": 0.0},
        )
        if done.x is None:
            break
        found = np.round(done.x)
        add(goal, -np.inf, round(float(goal @ found)) + 0.5)
    if found is None:
        return None
    chosen = {place: index for at, (place, index) in enumerate(columns) if found[at] == 1.0}
    return plan_of(places, supplies, chosen)


def most_places(places: Places, supplies: Supplies) -> tuple[dict[str, int], list[str]]:
    """Where no plan serves every place: part: how many are short, and the places left without.

    The places left without are the fewest possible.

    Source: as ``choose``, with an option at every place to go without.

    >>> places = {"M1": [SelectionOption(("S4",), 0)], "M2": [SelectionOption(("S4",), 0)]}
    >>> most_places(places, {"S4": Supply(1, False)})
    ({'S4': 1}, ['M2'])
    """
    far = 1 + sum(max((option.off for option in options), default=0) for options in places.values())
    names = list(places)
    # to leave a place without is worse than all distances together
    without = {place: [*options, SelectionOption((), far)] for place, options in places.items()}
    plan = choose(without, supplies)
    if plan is None:
        return {}, names
    empty = [place for place in names if plan.chosen[place] == len(places[place])]
    used = Counter(
        part for place in names if place not in empty for part in places[place][plan.chosen[place]].parts
    )
    short: Counter[str] = Counter()
    for place in empty:
        options = places[place]
        if not options:
            continue
        for part in min(options, key=lambda option: option.off).parts:
            used[part] += 1
            supply = supplies.get(part, Supply())
            if not supply.order and used[part] > supply.shelf:
                short[part] += 1
    return dict(short), empty
