"""Rods and pistons put together by mass, so that the least has to be taken off."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from msgspec import Struct

from .assignment import assign

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
