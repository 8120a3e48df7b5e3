"""Who gets what: the least total cost of giving every one of n rows a column of its own.

Costs are whole numbers, so several aims can be stacked in one: an aim that
comes first is given a weight larger than all that the later ones can add up to.
"""

from __future__ import annotations

from collections.abc import Sequence


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
