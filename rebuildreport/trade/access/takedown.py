"""The order in which everything comes apart, and whether one that was noted can be."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import chain

Ways = Mapping[str, Sequence[Collection[str]]]


def takedown(things: Iterable[str], ways: Ways) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The order in which everything can come off, and what never can.

    ``ways``: for a thing its ways, each the things that must be off before
    it; one way is enough.  A thing without any comes off at once, and so does
    what is named only as being in the way.  Among those that can come off the
    order of ``things`` holds, gone through again and again: what was in
    somebody's way is not brought forward by it.

    Source: common practice; with one way for each thing the answer is a
    topological order of the graph of what waits for what.

    >>> takedown(["head", "crank", "pistons"], {"crank": [["pistons", "sump"]], "pistons": [["head"]]})
    (('head', 'pistons', 'sump', 'crank'), ())
    >>> takedown(["crank", "caps"], {"crank": [["caps"]], "caps": [["crank"]]})
    ((), ('crank', 'caps'))
    """
    waiting = list(dict.fromkeys(things))
    inside = {*chain.from_iterable(chain.from_iterable(ways.values()))}
    waiting += sorted(({*ways} | inside) - {*waiting})
    off: dict[str, None] = {}
    while waiting:
        before = len(off)
        for thing in waiting:
            some = ways.get(thing, ())
            if not some or any(off.keys() >= {*way} for way in some):
                off[thing] = None
        waiting = [thing for thing in waiting if thing not in off]
        if len(off) == before:
            break
    return tuple(off), tuple(waiting)


def first_off(thing: str, ways: Ways, off: Collection[str]) -> tuple[str, ...]:
    """What must be off before a thing: the way with the least left on it, and its first where several tie.

    Source: common practice.

    >>> first_off("crank", {"crank": [["pistons", "caps"], ["rods", "caps"]]}, {"rods"})
    ('rods', 'caps')
    """
    some = ways.get(thing, ())
    return tuple(min(some, key=lambda way: sum(word not in off for word in way), default=()))


def comes_off(thing: str, ways: Ways, leave: Collection[str] = ()) -> bool:
    """Whether a thing can come off while others stay on (common practice).

    >>> ways = {"crank": [["head", "caps"], ["sump", "caps"]]}
    >>> comes_off("crank", ways, ["head"]), comes_off("crank", ways, ["head", "sump"])
    (True, False)
    """
    open_ways = {part: [way for way in some if not {*way} & {*leave}] for part, some in ways.items()}
    # a thing of which every way is barred waits for itself: without any it would come off at once
    barred = {part: some or [[part]] for part, some in open_ways.items()} | {part: [[part]] for part in leave}
    return thing in takedown([thing], barred)[0]


def in_the_way(thing: str, ways: Ways, leave: Sequence[str]) -> tuple[str, ...]:
    """Of what is left alone that which together bars a thing, none without need; () where nothing does.

    Source: common practice.

    >>> in_the_way("pump", {"pump": [["sump"]]}, ["cover", "sump"])
    ('sump',)
    """
    if comes_off(thing, ways, leave):
        return ()
    kept = [*leave]
    for name in leave:
        less = [other for other in kept if other != name]
        if not comes_off(thing, ways, less):
            kept = less
    return tuple(kept)


def held_by(thing: str, ways: Ways, off: Collection[str], later: Collection[str]) -> tuple[str, ...]:
    """What is noted to have come off later, though each way to a thing wants it off before; () where nothing.

    What nobody noted may have come off in between, where its own ways allow that.

    Source: common practice.

    >>> ways = {"pistons": [["head"]], "head": [["cover"]]}
    >>> held_by("pistons", ways, {"sump"}, {"cover"}), held_by("pistons", ways, {"cover"}, {"rods"})
    (('cover',), ())
    """

    def held(name: str, above: frozenset[str]) -> dict[str, None]:
        found: dict[str, None] | None = None
        for way in ways.get(name, ()):
            here: dict[str, None] = {}
            for word in way:
                if word in later:
                    here[word] = None
                elif word not in off and word not in above:  # a circle is a fault of the sheet
                    here |= held(word, above | {word})
            if found is None or len(here) < len(found):
                found = here
        return found or {}

    return tuple(held(thing, frozenset({thing})))


def came_off(done: Sequence[str], ways: Ways) -> tuple[str, ...]:
    """Everything that is off after the steps somebody noted, what had to be off before them included.

    Each thing stands as early as the things noted need it; of several ways the one that was noted counts.

    Source: common practice.

    >>> came_off(["pistons", "crank"], {"pistons": [["head", "sump"]], "crank": [["pistons", "caps"]]})
    ('head', 'sump', 'pistons', 'caps', 'crank')
    """
    off: dict[str, None] = {}

    def take(thing: str, waiting: frozenset[str]) -> None:
        for word in first_off(thing, ways, {*off, *done}):
            if word not in off and word not in waiting:  # two that wait for each other: a fault of the sheet
                take(word, waiting | {thing})
        off.setdefault(thing)

    for thing in done:
        take(thing, frozenset())
    return tuple(off)
