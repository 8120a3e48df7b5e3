"""What a job tells of how long parts live: of each part that was looked at, at which use, in which state.

In: the sheet, the files, the values as found and what was renewed.  Out: PartLooks.  Puts no two jobs
together and estimates nothing: ``trade/life`` does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import chain
from typing import Literal

from msgspec.structs import replace

from ...quantities import NOTHING
from ...records import JobFolder
from ...records.files.jobfile import FindingRecord
from ...records.files.sheet import Engine
from ...records.text.meters import meter_reading
from ...trade.kinds import KINDS
from ...trade.life.lifetimes import PartState
from ..measure.observations import of_whole_engine
from ..measure.timeline import Timeline
from ..measure.titles import component_title
from ..model.assessment import Characteristic, PartLook

GOOD = ("as new", "serviceable")


def part_lives(
    engine: Engine,
    job: JobFolder,
    timeline: Timeline,
    values: Sequence[Characteristic],
    as_found: frozenset[str],
    done: date | None,
) -> tuple[PartLook, ...]:
    """A look at each part on arrival, and one at the newest visit after delivery of what runs in it.

    ``done``: the newest day of the files, where the work is done; until then nothing was renewed.  Without
    a meter that is known and believed they have no use: an age that is a guess is no age.  Nor has the year
    of building: an engine that stood for thirty years has worn in none of them.  The lists tell its age.
    """
    use, unit = arrived_at(job)
    known = _use(job.record.arrival.known_from)
    known_from = known[0] if known and known[1] == unit else 0.0
    # the newest reading after delivery at which it ran as it should, before it came back
    after = [] if use is None else [at for at in _later_readings(job, use, unit) if at > use]
    later = max(after, default=None)
    itself = PartLook("", NOTHING, "good", use, unit, known_from=known_from)
    looks = [itself, *([replace(itself, use=later)] if later else [])]
    for name in _components(engine, job):
        state = _state(engine, job, name, values, as_found)
        renewed = done is not None and _renewed(engine, job, timeline, name, done)
        if state is None and not renewed:
            continue
        new_at = min(_new_at(job, name, unit), use or 0.0)
        by_sight = name not in engine.features
        title = component_title(engine, name)
        here = PartLook(name, title, state or "good", use, unit, renewed, new_at, known_from, by_sight)
        looks.append(here)
        if later and (renewed or state == "good"):
            looks.append(replace(here, state="good", use=later, renewed=False, new_at=0.0))
    return tuple(looks)


def arrived_at(job: JobFolder) -> tuple[float | None, Literal["", "h", "km"]]:
    """What the meter showed when the engine came, in hours or km; None where it is not known or believed."""
    arrival = job.job.arrival if job.job else None
    if arrival is None or arrival.meter_believed is False or (read := _use(arrival.meter)) is None:
        return None, ""
    return read


def _use(text: str | None) -> tuple[float, Literal["h", "km"]] | None:
    read = meter_reading(text)
    return read.use if read else None


def _components(engine: Engine, job: JobFolder) -> list[str]:
    """Features that wear, then what findings and decisions are about that nobody measures.

    A fit (a clearance, an end float) has no life of its own: those of its partners tell it.
    """
    features = [
        name
        for name, sheet in engine.features.items()
        if not of_whole_engine(sheet) and not sheet.links(KINDS[sheet.kind].links)
    ]
    measured = {*engine.features, *(sheet.part for sheet in engine.features.values())}
    decided = [one.about for one in job.decisions.values() if one.about not in measured]
    return list(dict.fromkeys([*features, *(one.component for one in job.seen.values()), *decided]))


def _state(
    engine: Engine, job: JobFolder, name: str, values: Sequence[Characteristic], as_found: frozenset[str]
) -> PartState | None:
    """How a part was found; None where nobody looked, or where what he saw settles nothing."""
    seen: list[FindingRecord] = [one for one in job.seen.values() if one.component == name]
    if any(one.failed for one in seen):
        return "failed"
    read = {one.verdict for one in values if one.feature == name and one.round in as_found}
    if "beyond limit" in read or any(one.disposition in ("recondition", "replace") for one in seen):
        return "worn out"
    if "too close to call" in read:
        return None
    if read & {*GOOD} or any(one.disposition == "reuse" for one in seen):
        return "good"
    return None


def _renewed(engine: Engine, job: JobFolder, timeline: Timeline, name: str, day: date) -> bool:
    """Whether a new or machined one is in the engine now, at any of its positions."""
    feature = engine.features.get(name)
    if feature is None:
        done = [one.disposition for one in job.seen.values() if one.component == name]
        done += [one.do for one in job.decisions.values() if one.about == name]
        return not {"recondition", "replace"}.isdisjoint(done)
    return any(not timeline.state(name, position, day).used for position in feature.positions)


def _new_at(job: JobFolder, name: str, unit: str) -> float:
    """The reading at which somebody before put a new one in; 0 where it is the engine's first."""
    done = [
        at[0]
        for work in job.written_teardown.earlier_work
        if name in work.renewed and (at := _use(work.meter)) and at[1] == unit
    ]
    return max(done, default=0.0)


def _later_readings(job: JobFolder, use: float, unit: str) -> Iterator[float]:
    """Readings after delivery at which it ran; one below that of arrival is running time since ('50 h')."""
    running = job.written_running
    back = min((one.date for one in job.record.reopened), default=None)
    ran = ((one.date, one.at) for one in running.follow_up if one.good is not False)
    serviced = ((one.done, one.done_at) for one in running.due if one.done)
    for day, text in chain(ran, serviced):
        at = _use(text)
        if at and at[1] == unit and (back is None or day < back):
            yield at[0] if at[0] >= use else use + at[0]
