"""Who gets what: every row a column of its own at the least total cost; rods and pistons by mass.

Costs are whole numbers, so several aims can be stacked in one: an aim that
comes first is given a weight larger than all that the later ones can add up to.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from msgspec import Struct


def assign(costs: Sequence[Sequence[int | None]]) -> list[int] | None:
    """The column of each row at the least total cost; None where not every row can have one.

    ``costs`` has a row for each to be served and at least as many columns;
    None forbids a pair.

    Source: shortest augmenting paths with potentials (Kuhn 1955, Naval Research Logistics
    Quarterly 2, 83; Jonker and Volgenant 1987, Computing 38, 325).

    >>> assign([[4, 1, 3], [2, 0, 5], [3, 2, 2]])
    [1, 0, 2]
    """
    rows = len(costs)
    columns = len(costs[0]) if rows else 0
    if rows > columns:
        return None
    known = [cost for row in costs for cost in row if cost is not None]
    dearest = max(known, default=0)
    # to take a forbidden pair costs more than all that is allowed
    barred = (dearest - min(known, default=0) + 1) * (rows + 1) + dearest
    owners = _owners([[barred if cost is None else cost for cost in row] for row in costs], columns)
    chosen = [0] * rows
    for column, owner in enumerate(owners[1:]):
        if owner:
            chosen[owner - 1] = column
    if any(costs[row][column] is None for row, column in enumerate(chosen)):
        return None
    return chosen


def _owners(costs: Sequence[Sequence[int]], columns: int) -> list[int]:
    """The row of each column, both counted from 1; row 0 and column 0 stand for nobody."""
    # whole numbers all: stacked aims outgrow what a float holds exactly
    of_row, of_column = [0] * (len(costs) + 1), [0] * (columns + 1)
    owner = [0] * (columns + 1)
    for row in range(1, len(costs) + 1):
        owner[0] = row
        column, came_from = _free_column(costs, owner, of_row, of_column)
        while column:  # everyone on the way moves on by one
            before = came_from[column]
            owner[column], column = owner[before], before
    return owner


def _free_column(
    costs: Sequence[Sequence[int]], owner: Sequence[int], of_row: list[int], of_column: list[int]
) -> tuple[int, list[int]]:
    """The column that the shortest way from column 0 ends at, and the column before each on it."""
    unseen = list(range(1, len(owner)))
    seen = [0]
    least: dict[int, int] = {}
    came_from = [0] * len(owner)
    while True:
        column = seen[-1]
        here = owner[column]
        for other in unseen:
            reduced = costs[here - 1][other - 1] - of_row[here] - of_column[other]
            if other not in least or reduced < least[other]:
                least[other], came_from[other] = reduced, column
        nearest = min(unseen, key=least.__getitem__)
        step = least[nearest]
        for other in seen:
            of_row[owner[other]] += step
            of_column[other] -= step
        for other in unseen:
            least[other] -= step
        if not owner[nearest]:
            return nearest, came_from
        seen.append(nearest)
        unseen.remove(nearest)


# ---------------------------------------------------------------- rods and pistons by mass


TENTH = 10  # masses are weighed up in tenths of a gram


class Match(Struct, frozen=True):
    """Which piston goes on which rod, and what comes off where [g]."""

    pairs: Mapping[str, str]  # rod: piston
    totals: Mapping[str, float]  # rod: rod and piston together
    remove: Mapping[str, float]  # rod: to take off so that the set is within its spread

    @property
    def removed(self) -> float:
        """All that comes off [g]."""
        return round(sum(self.remove.values()), 6)


def match(rods: Mapping[str, float], pistons: Mapping[str, float], within: float) -> Match | None:
    """The pairing that needs the least taken off for all sums to lie within ``within`` [g].

    What is heavier than the lightest pair by more than ``within`` is lightened
    to that.  Exact: for every sum that can be the lightest, the best pairing
    with none below it is an assignment; the least of all is taken.  None where
    there are fewer pistons than rods.

    Source: common practice of balancing; assignment problem (Kuhn 1955).

    >>> rods = {"R1": 600.0, "R2": 604.0}
    >>> found = match(rods, {"a": 300.0, "b": 303.0}, 2.0)
    >>> found.pairs, found.removed
    ({'R1': 'b', 'R2': 'a'}, 0.0)
    """
    if len(pistons) < len(rods) or not rods:
        return None
    names, others = list(rods), list(pistons)
    sums = [[round((rods[rod] + pistons[piston]) * TENTH) for piston in others] for rod in names]
    trials = (
        _paired(sums, lightest, round(within * TENTH))
        for lightest in sorted({total for line in sums for total in line})
    )
    # once a lightest has no pairing, a heavier one has fewer pairs still
    paired = list(itertools.takewhile(bool, trials))
    best = min((trial for trial in paired if trial), default=None)
    if best is None:
        return None
    pairs = {names[row]: others[column] for row, column in enumerate(best[-1])}
    totals = {rod: round(rods[rod] + pistons[piston], 6) for rod, piston in pairs.items()}
    least = min(totals.values())
    remove = {rod: round(max(0.0, total - least - within), 6) for rod, total in totals.items()}
    return Match(pairs, totals, remove)


def _paired(
    sums: Sequence[Sequence[int]], lightest: int, spread: int
) -> tuple[int, int, int, list[int]] | None:
    """The pairing of least removal with no sum below ``lightest``: what comes off, its width, the pairs."""
    costs = [[max(0, t - lightest - spread) if t >= lightest else None for t in line] for line in sums]
    columns = assign(costs)
    if columns is None:
        return None
    off = sum(costs[row][column] or 0 for row, column in enumerate(columns))
    chosen = [sums[row][column] for row, column in enumerate(columns)]
    return off, max(chosen) - min(chosen), lightest, columns
