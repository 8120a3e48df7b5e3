"""What makes a surface another one: every cause by which a position is machined, or gets a new part.

In: the sheet, what was decided, found, taken apart, bought and fitted.  Out: changes by feature and
position.  ``Timeline.state`` says which of them act on a day: whoever has to know whether something is used
again asks there, and nobody answers it by himself.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from math import inf
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ...records import JobFolder
from ...records.files.sheet import Engine

Spot = tuple[str, str]  # feature, position
Condition = Literal["used", "machined", "new"]
Cause = Literal["decision", "finding", "size", "always", "joint", "part"]
BEFORE: tuple[Cause, ...] = ("decision", "finding")  # of a part that another takes the place of


class SurfaceChange(Struct, frozen=True):
    """A position becomes another surface, or another part, after this day.

    A candidate that becomes the engine's does so on the eve of what was read of it: all of that counts.
    """

    date: date
    becomes: Condition
    cause: Cause
    name: str  # of the decision or finding, the surface whose size was decided, the part, the joint
    decided: bool  # by a decision, which acts at once; else once work is done
    size: str = ""
    candidate: str = ""  # that takes its place, used as it comes


Changed = tuple[Spot, SurfaceChange]


class State(Struct, frozen=True):
    """What a surface is on a day: used as it came, machined, or new; and by what."""

    condition: Condition
    because: tuple[SurfaceChange, ...] = ()

    @property
    def used(self) -> bool:
        return self.condition == "used"


def spots(engine: Engine, about: str, positions: list[str]) -> list[Spot]:
    """Features and positions meant by a feature's or a part's name; no positions: all of them."""
    names = [about] if about in engine.features else []
    names += [name for name, sheet in engine.features.items() if sheet.part == about and name != about]
    return [
        (name, position)
        for name in names
        for position in engine.features[name].positions
        if not positions or position in positions
    ]


def parts_of(engine: Engine, component: str) -> set[str]:
    """Every part number that the sheet names for a feature, a group of bolts or a joint."""
    sheet, bolts = engine.features.get(component), engine.fasteners.get(component)
    numbers = {bolts.part} if bolts else set()
    numbers |= {group.part for group in engine.fasteners.values() if group.measure == component}
    if component in engine.joints:
        numbers |= set(engine.joints[component].needs)
    if sheet is not None:
        numbers |= {*sheet.replace_with, *sheet.sets.values(), *sheet.halves.values(), *sheet.pieces.values()}
        for other in sheet.other.values():
            numbers |= {*other.halves.values(), *other.pieces.values()}
    return numbers


def changes(engine: Engine, job: JobFolder, as_found: date | None) -> Iterator[Changed]:
    """Every change of every position; ``as_found``: the last day on which the engine was read as it came.

    What says nothing of its day (a finding, a rule of the sheet, a part on the list) ends what was read
    up to then: it tells of the engine as it came.
    """
    decided = list(_decided(engine, job))
    yield from decided
    if as_found is not None:
        eves = {spot: change.date for spot, change in decided if change.candidate}
        for spot, change in _condemned(engine, job, as_found):
            yield spot, replace(change, date=min(change.date, eves.get(spot, change.date)))
    kept = {
        spot
        for decision in job.decisions.values()
        if decision.do == "reuse"
        for spot in spots(engine, decision.about, decision.positions)
    }
    followed = list(_following(engine, decided))
    if as_found is not None:
        followed += _bought(engine, job, as_found)
    # what somebody has decided to keep no rule makes new
    yield from ((spot, change) for spot, change in followed if spot not in kept)


def _decided(engine: Engine, job: JobFolder) -> list[Changed]:
    """What was decided, in the order of its days, and of one day as it was written."""
    found: list[Changed] = []
    for name, decision in sorted(job.decisions.items(), key=lambda item: item[1].date):
        if decision.do == "reuse":
            continue
        becomes: Literal["machined", "new"] = "new" if decision.do == "replace" else "machined"
        change = SurfaceChange(decision.date, becomes, "decision", name, True, decision.size)
        mine = spots(engine, decision.about, decision.positions)
        if decision.with_:
            # on the day before the candidate was first read, else of the decision that takes it
            read = [file.model.date for file in job.rounds.values() if file.model.of == decision.with_]
            eve = min([decision.date, *(day - timedelta(days=1) for day in read)])
            change = replace(change, becomes="used", candidate=decision.with_, date=eve)
            # what was decided before is about the one that it takes the place of
            found = [(s, replace(c, date=min(c.date, eve)) if s in mine else c) for s, c in found]
        known = job.candidates.get(change.candidate)
        found += [(s, replace(change, size=known.sizes.get(s[0], "")) if known else change) for s in mine]
    return found


def in_force(engine: Engine, job: JobFolder) -> JobFolder:
    """The job without decisions about nothing but what a candidate has taken the place of since."""
    if job.work is None or not job.taken:
        return job
    decided = _decided(engine, job)
    last = {spot: at for at, (spot, change) in enumerate(decided) if change.candidate}
    live = {change.name for at, (spot, change) in enumerate(decided) if at >= last.get(spot, 0)}
    over = {change.name for _, change in decided} - live
    decisions = {name: one for name, one in job.decisions.items() if name not in over}
    return replace(job, work=job.work.model_copy(update={"decisions": decisions}))


def _condemned(engine: Engine, job: JobFolder, as_found: date) -> Iterator[Changed]:
    for name, finding in job.seen.items():
        if finding.disposition in ("replace", "recondition"):
            becomes: Literal["machined", "new"] = "new" if finding.disposition == "replace" else "machined"
            sheet = engine.features.get(finding.component)
            for position in finding.positions or (sheet.positions if sheet else []):
                yield (finding.component, position), SurfaceChange(as_found, becomes, "finding", name, False)


def _following(engine: Engine, decided: list[Changed]) -> Iterator[Changed]:
    """What goes in new beside a surface of another size, or another piece.

    No old shell fits a journal that was ground, and shells come as a set for all bearings of a row; rings
    and pistons go by the bore that they run in, each cylinder by itself.
    """
    for (surface, position), change in decided:
        if change.becomes == "machined" and not change.size:
            continue  # polished, or made round at its size: what ran there may run there again
        new = SurfaceChange(change.date, "new", "size", surface, True)
        for shells in engine.shells_on(surface):
            yield from ((spot, new) for spot in spots(engine, shells, []) if spot[0] == shells)
        # of a bore of the same size again the piston is another matter; else its own limits move by the step
        bored = replace(new, size=change.size)
        for name, sheet in engine.features.items() if change.size else ():
            if sheet.kind == "ring_gap" and sheet.further.get("bores") == surface:
                yield (name, position), new
            if sheet.kind == "fit" and sheet.outer == surface and sheet.inner in engine.features:
                yield (sheet.inner, position), bored


class _Bought(Struct, frozen=True):
    part: str
    cause: Cause
    name: str
    places: tuple[str, ...] = ()  # where; none said: at all of a feature's positions ...
    count: float = inf  # ... of which there must be no more than were bought
    day: date | None = None  # of the decision that buys it


def _bought(engine: Engine, job: JobFolder, as_found: date) -> Iterator[Changed]:
    """What goes in new because the sheet or the list says so, or because it comes with what is renewed."""
    bought = [*_listed(engine, job), *_beside(engine, job)]
    bought += [inner for one in bought for inner in _held(engine, one, {one.part})]
    for name, sheet in engine.features.items():
        positions, numbers = sheet.positions, parts_of(engine, name)
        mine = [one for one in bought if one.part in numbers and one.count >= len(positions)]
        for position in positions:
            here = [one for one in mine if not one.places or position in one.places]
            alone = [one for one in here if one.part not in sheet.replace_with]
            # a new valve alone makes no new guide: of what is named together all has to be there
            together = {*sheet.replace_with} <= {one.part for one in here}
            for one in alone or (here if together else []):
                change = SurfaceChange(one.day or as_found, "new", one.cause, one.name, one.day is not None)
                yield (name, position), change


def _held(engine: Engine, one: _Bought, sets: set[str]) -> Iterator[_Bought]:
    """What comes in a set, and in the sets that it holds."""
    for part, count in engine.part(one.part).contains.items():
        if part not in sets:
            inner = replace(one, part=part, count=one.count * count)
            yield inner
            yield from _held(engine, inner, {*sets, part})


def _listed(engine: Engine, job: JobFolder) -> Iterator[_Bought]:
    """Parts of every rebuild, what opening a joint uses up, lines that somebody wrote, what was fitted."""
    yield from (_Bought(part, "always", part) for part in engine.always)
    for step in job.written_teardown.steps:
        joint = engine.joints.get(step.removed)
        if joint is not None:
            yield from (_Bought(part, "joint", step.removed) for part in joint.needs)
            groups = (engine.fasteners[name] for name in joint.fasteners if name in engine.fasteners)
            yield from (_Bought(one.part, "joint", step.removed) for one in groups if one.reuse == "never")
    for extra in job.written_work.parts:
        count = inf if engine.part(extra.part).per == "engine" else float(extra.quantity)
        yield _Bought(extra.part, "part", extra.part, (), count)
    for fitted in job.written_assembly.fitted:
        part = engine.number_now(fitted.part)
        yield _Bought(part, "part", part, tuple(fitted.positions))


def _beside(engine: Engine, job: JobFolder) -> Iterator[_Bought]:
    """What is bought for one feature and brings others: the rings of a liner's kit, the valve of a guide."""
    for decision in job.decisions.values():
        sheet = engine.features.get(decision.about)
        if sheet is not None and decision.do == "replace" and not decision.with_:
            places = decision.positions or sheet.positions
            yield from _for(engine, sheet.replace_with, places, decision.date)
    for finding in job.seen.values():
        sheet = engine.features.get(finding.component)
        if finding.disposition == "replace" and sheet is not None:
            yield from _for(engine, sheet.replace_with, finding.positions or sheet.positions, None)


def _for(engine: Engine, parts: list[str], places: list[str], day: date | None) -> Iterator[_Bought]:
    for part in parts:
        known = engine.parts.get(part)
        # one for the whole engine is everywhere; of others it is known where they go, by the same names alone
        yield _Bought(part, "part", part, () if known and known.per == "engine" else tuple(places), inf, day)
