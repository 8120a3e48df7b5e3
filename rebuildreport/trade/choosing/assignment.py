"""Who gets what: the least total cost of giving every one of n rows a column of its own.

Costs are whole numbers, so several aims can be stacked in one: an aim that
comes first is given a weight larger than all that the later ones can add up to.
"""

from __future__ import annotations

from collections.abc import Sequence

FORBIDDEN = None


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
    # to take a forbidden pair costs more than all that is allowed
    barred = (max(known, default=0) - min(known, default=0) + 1) * (rows + 1) + max(known, default=0)
    # row 0 and column 0 stand for nobody
    of_row, of_column = [0] * (rows + 1), [0] * (columns + 1)
    owner = [0] * (columns + 1)
    for row in range(1, rows + 1):
        owner[0], column = row, 0
        least: list[int | None] = [None] * (columns + 1)
        came_from = [0] * (columns + 1)
        seen = [False] * (columns + 1)
        while True:
            seen[column] = True
            here, step, following = owner[column], None, 0
            for other in range(1, columns + 1):
                if seen[other]:
                    continue
                cost = costs[here - 1][other - 1]
                reduced = (barred if cost is None else cost) - of_row[here] - of_column[other]
                known_least = least[other]
                if known_least is None or reduced < known_least:
                    least[other], came_from[other] = reduced, column
                    known_least = reduced
                if step is None or known_least < step:
                    step, following = known_least, other
            assert step is not None
            for other in range(columns + 1):
                if seen[other]:
                    of_row[owner[other]] += step
                    of_column[other] -= step
                elif (rest := least[other]) is not None:
                    least[other] = rest - step
            column = following
            if owner[column] == 0:
                break
        while column:
            before = came_from[column]
            owner[column], column = owner[before], before
    found = [0] * rows
    for column in range(1, columns + 1):
        if owner[column]:
            found[owner[column] - 1] = column - 1
    if any(costs[row][column] is None for row, column in enumerate(found)):
        return None
    return found
