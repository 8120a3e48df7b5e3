"""Parts that come off, each by one of several ways, as an and/or precedence problem.

A part comes off once all that *one* of its ways names is off.  What several ways use is paid for once (a
gasket set).  A state (crank parked, not turned from here on) is a part, too: it "comes off" when it is
brought about, and whatever disturbs it does so before that, or once it need not last any more.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from msgspec import Struct, field


class Way(Struct, frozen=True):
    """One way to a part: what is off before it, and what it costs itself."""

    part: str
    first: frozenset[str] = frozenset()
    cost: float = 0.0
    uses: frozenset[str] = frozenset()  # paid for once, however many ways use it
    disturbs: frozenset[str] = frozenset()  # states that it ends
    name: str = ""


class Ways(Struct, frozen=True, dict=True):
    """Everything that can come off.  What has no way of its own and is named by another comes off at once."""

    ways: Sequence[Way]
    shared: Mapping[str, float] = field(default_factory=dict)  # what is used once: its cost
    lasts: Mapping[str, frozenset[str]] = field(default_factory=dict)  # state: off once it need not last

    @cached_property
    def of(self) -> dict[str, list[Way]]:
        """The ways of each part, in the order of the table."""
        found: dict[str, list[Way]] = {}
        for way in self.ways:
            found.setdefault(way.part, []).append(way)
        named = {name for way in self.ways for name in (*way.first, *way.disturbs)}
        for name in sorted(named.union(*self.lasts.values()) - {*found}):
            found[name] = [Way(name)]
        return found

    def allowed(
        self, leave: Collection[str], targets: Iterable[str], must: Way | None
    ) -> dict[str, list[Way]]:
        """The ways that lead to these targets past what is left alone, and that can be gone at all."""
        of = {part: ways for part, ways in self.of.items() if part not in leave}
        if must is not None:
            of[must.part] = [must] if must.part in of else []
        off = _reached(of)
        free = {
            part: _undominated([way for way in of[part] if way.first <= off]) for part in of if part in off
        }
        wanted: dict[str, list[Way]] = {}
        behind = [*targets]
        while behind:
            part = behind.pop()
            if part not in wanted and part in free:
                wanted[part] = free[part]
                behind += [name for way in free[part] for name in way.first]
                # a state may have to end before what disturbs it
                states = {state for way in free[part] for state in way.disturbs}
                behind += [name for state in states for name in self.lasts.get(state, ())]
        return {part: wanted[part] for part in of if part in wanted}

    def cost(self, chosen: Iterable[Way]) -> float:
        """What ways together cost."""
        chosen = list(chosen)
        used = frozenset[str]().union(*(way.uses for way in chosen))
        return sum(way.cost for way in chosen) + sum(self.shared.get(name, 0.0) for name in used)

    def disturbances(self, chosen: Collection[Way]) -> Iterator[tuple[Way, str]]:
        """What would end a state that is brought about by these ways, too."""
        there = {way.part for way in chosen}
        yield from ((way, state) for way in chosen for state in sorted(way.disturbs) if state in there)


def _reached(of: Mapping[str, Sequence[Way]]) -> set[str]:
    """Everything that can come off at all."""
    off: set[str] = set()
    while more := {part for part in {*of} - off if any(way.first <= off for way in of[part])}:
        off |= more
    return off


def _undominated(ways: list[Way]) -> list[Way]:
    """Without ways that another is as good as in everything."""
    kept: list[Way] = []
    for way in ways:
        if not any(_as_good(other, way) for other in kept):
            kept = [other for other in kept if not _as_good(way, other)] + [way]
    return kept


def _as_good(one: Way, other: Way) -> bool:
    less = one.first <= other.first and one.uses <= other.uses and one.disturbs <= other.disturbs
    return less and one.cost <= other.cost
