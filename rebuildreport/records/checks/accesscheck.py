"""Whether the sheet's ways of taking apart can be gone, a job's wish can be had, and its record agrees."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise

from msgspec.structs import replace

from ...trade.access.cheapest import cheapest
from ...trade.access.takedown import comes_off, held_by, in_the_way, takedown
from ...trade.access.ways import Way, Ways
from ..files.folder import JobFolder
from ..files.jobfile import AccessWish
from ..files.sheet import Engine
from ..text.notes import Notes, circle
from ..text.problems import Problem
from ..text.reader import Source, Where

ONE_WAY = "what is named in a line comes off before it"


def check_access(notes: Notes, engine: Engine) -> None:
    """Names, states, circles, what nobody can reach, two names for one part."""
    known = {*engine.joints, *engine.access, *engine.features}
    for where, word in _words(engine):
        if where[0] == "access" and word == where[1]:
            message = f"{_plain(word)} would come off before itself"
            notes.add(where, message, f"take '{word}' out of the line", "error", word=word)
        else:
            notes.misspelt(where, word, known)
    named = ("access.*.*.state", "access.*.*.disturbs")
    notes.named(engine, named, engine.states, "none of this sheet's states")
    parts = {**engine.parts, **engine.choices}
    notes.named(engine, ("access.*.*.uses_up",), parts, "not among the sheet's parts", "warning")
    _never(notes, engine)
    _nameless(notes, engine, known)
    _two_names(notes, engine)
    _put_on(notes, engine)


def _words(engine: Engine) -> Iterator[tuple[Where, str]]:
    """Every name of a part that stands in a way or a state."""
    for part, ways in engine.access.items():
        yield from ((("access", part, i, "first"), word) for i, way in enumerate(ways) for word in way.first)
    for name, state in engine.states.items():
        yield from ((("states", name, "first"), word) for word in state.first)
        yield from ((("states", name, "until"), word) for word in state.until)


def _never(notes: Notes, engine: Engine) -> None:
    """Circles, each once, and what waits behind them."""
    never = takedown([*engine.joints, *engine.access], engine.ways)[1]
    waits = {part: [word for way in engine.ways[part] for word in way if word in never] for part in never}
    told: set[str] = set()
    while round_ := circle({part: words for part, words in waits.items() if part not in told}):
        told |= {*round_}
        says = ", ".join(f"{_plain(name)} for {_plain(other)}" for name, other in pairwise(round_))
        message = f"{_plain(round_[0])} never comes off: it goes in a circle ({says})"
        notes.warn(("access", round_[0]), message, ONE_WAY, key=True)
    for name in never:
        if name not in told:
            message = f"{_plain(name)} never comes off: each way to it waits for something behind it"
            notes.warn(("access", name), message, ONE_WAY, key=True)


def _nameless(notes: Notes, engine: Engine, known: Collection[str]) -> None:
    """Where the sheet says what steps take, a part of which it says nothing costs nothing in any plan."""
    if not any(way.hours for ways in engine.access.values() for way in ways):
        return
    told: set[str] = set()
    for where, word in _words(engine):
        if word not in known and word not in told:
            told.add(word)
            message = f"nothing says how {_plain(word)} comes off, nor what it takes"
            notes.add(where, message, f"add '{word}:' under access", "warning", word=word)


def _two_names(notes: Notes, engine: Engine) -> None:
    """One part under two names has two ways, and nobody knows which was meant."""
    names = dict.fromkeys([*engine.access, *engine.joints, *(word for _, word in _words(engine))])
    spelt: dict[tuple[str, ...], str] = {}
    for name in names:
        other = spelt.setdefault(_spelling(name), name)
        if other != name:
            message = f"'{name}' and '{other}' look like two names for one part"
            block = next((key for key in ("access", "joints") if name in getattr(engine, key)), "")
            place = next((where for where, word in _words(engine) if word == name), ("access",))
            where: Where = (block, name) if block else place
            notes.warn(where, message, f"keep one, here '{other}'", key=bool(block))


def _spelling(name: str) -> tuple[str, ...]:
    """A name without what people spell differently.

    >>> _spelling("cam-covers") == _spelling("cover_cam") == _spelling("Cam cover")
    True
    """
    return tuple(sorted(word.rstrip("s") for word in re.findall(r"[^\W_]+", name.casefold())))


def check_order(job: JobFolder, of_files: Mapping[str, Notes], engine: Engine, sheet: Source) -> None:
    """What is to come off, and what has come off, against the sheet."""
    if job.written_work.access:
        of_files["work"].found += _wish(job, engine, sheet)
    if job.teardown:
        notes = of_files["teardown"]
        for i, name, after in _out_of_turn([step.removed for step in job.teardown.steps], engine):
            message = f"{_plain(name)} is noted before {after}, which {_at(sheet, name)} must be off first"
            hint = f"correct the order here, or give '{name}' a further way on the sheet"
            notes.warn(("steps", i, "removed"), message, hint)


def _out_of_turn(removed: Sequence[str], engine: Engine) -> Iterator[tuple[int, str, str]]:
    """Steps in an order that the sheet calls impossible: which, what, and what had to be off first."""
    for i, name in enumerate(removed):
        before = {*removed[:i]}
        later = {*removed[i + 1 :]} - before - {name}
        if name not in before and (held := held_by(name, engine.ways, before, later)):
            yield i, name, " and ".join(map(_plain, held))


def _put_on(notes: Notes, engine: Engine) -> None:
    """Pages of the build sheet that fit a part after what has to be off before it comes off."""
    steps: list[tuple[Where, str]] = []
    for page, plan in engine.assemblies.items():
        for i, step in enumerate(plan.steps):
            if step.verb == "fit":
                feature = engine.features.get(step.name)
                name = feature.part if feature and feature.part in engine.access else step.name
                steps.append((("assemblies", page, "steps", i, "fit"), name or ""))
    steps.reverse()
    for i, name, after in _out_of_turn([name for _, name in steps], engine):
        message = f"{_plain(name)} goes on after {after}, which {_at(notes.source, name)} comes off first"
        notes.warn(steps[i][0], message, f"correct the order here, or give '{name}' a further way")


def _at(sheet: Source, name: str) -> str:
    return f"{sheet.file}, line {sheet.mark(('access', name)).key_line}, says"


def _wish(job: JobFolder, engine: Engine, sheet: Source) -> list[Problem]:
    assert job.work and job.work.access
    wish, notes = job.work.access, Notes(job.sources["work"])
    names = dict.fromkeys([*engine.access, *engine.joints, *(word for _, word in _words(engine))])
    for key in ("off", "leave"):
        notes.all_known(("access", key), getattr(wish, key), names, "nothing that comes off by the sheet")
    conditions = {way.condition for ways in engine.access.values() for way in ways if way.condition}
    for i, held in enumerate(wish.holds):
        notes.known(("access", "holds", i), held, conditions, "no condition of the sheet's ways")
    for name in wish.off:
        if name in wish.leave:
            message = f"{_plain(name)} is to come off and to stay on"
            notes.add(("access", "leave"), message, "strike it out in one of the two", "error", word=name)
    if not notes.found:
        ways = _open_ways(engine, wish.holds, job.job.arrival.absent if job.job else ())
        every = {part: [{*way.first, *way.state} for way in of] for part, of in engine.table().items()}
        never = [name for name in wish.off if not comes_off(name, every)]
        for name in never:  # whatever holds
            message = f"{_plain(name)} never comes off by the sheet: {_at(sheet, name)} what comes first"
            hint = f"correct what waits for itself there, or give '{name}' a further way"
            notes.add(("access", "off"), message, hint, "error", word=name)
        _reach(notes, [name for name in wish.off if name not in never], wish.leave, ways, sheet)
        if not notes.found:
            _in_time(notes, wish, engine, ways, sheet)
    return notes.found


def _open_ways(engine: Engine, holds: Collection[str], absent: Collection[str]) -> list[Way]:
    """The ways whose conditions are known to hold."""
    return [
        Way(part, frozenset((*way.first, *way.state)), 0.0, frozenset(), frozenset(way.disturbs))
        for part, ways in engine.table(absent).items()
        for way in ways
        if not way.condition or way.condition in holds
    ]


def _in_time(notes: Notes, wish: AccessWish, engine: Engine, open_ways: list[Way], sheet: Source) -> None:
    """States that would have to end before they may: each part can come off, and yet there is no order."""

    def barred(but_for: str = "") -> bool:
        ways = [replace(way, disturbs=way.disturbs - {but_for}) for way in open_ways]
        lasts = {name: frozenset(state.until) for name, state in engine.states.items()}
        return cheapest(Ways(ways, lasts=lasts), wish.off, wish.leave) is None

    if barred():
        states = [name for name in engine.states if not barred(name)] or [*engine.states]
        where = " and ".join(f"{_plain(s)}, line {sheet.mark(('states', s)).key_line}" for s in states)
        message = f"there is no order for this: each would end a state before it may ({sheet.file}: {where})"
        hint = "correct 'until' of the state, or 'disturbs' of what ends it, on the sheet"
        notes.error(("access", "off"), message, hint)


def _reach(
    notes: Notes, off: Sequence[str], leave: Sequence[str], open_ways: Sequence[Way], sheet: Source
) -> None:
    """What cannot come off, and because of what that is left alone."""
    ways: dict[str, list[frozenset[str]]] = {}
    for way in open_ways:
        ways.setdefault(way.part, []).append(way.first)
    for name in off:
        if not comes_off(name, ways):
            message = f"no way leads to {_plain(name)} whose conditions are known to hold: {_at(sheet, name)}"
            notes.add(("access", "off"), message, "say under holds what is known", "error", word=name)
        elif kept := in_the_way(name, ways, leave):
            stays = " and ".join(map(_plain, kept))
            message = f"{_plain(name)} cannot come off with {stays} left alone: {_at(sheet, name)}"
            hint = f"take {', '.join(kept)} out of leave, or give '{name}' a further way on the sheet"
            notes.add(("access", "off"), message, hint, "error", word=name)


def _plain(name: str) -> str:
    return name.replace("_", " ")
