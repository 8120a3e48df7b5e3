"""How near valves come to their pistons: from lift, timing and the room that the sheet names, as it is now.

In: the sheet's ``motion:``, timing by degree wheel or as the sheet has it, skims decided, recession and deck
as read.  Out: ValveGaps, and where a fully open valve is met with the cam drive off.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ...quantities import parse
from ...records import JobFolder
from ...records.checks.loadcase import LoadCase
from ...records.files.sheet import Engine
from ..measure.following_moves import FACES, HEIGHTS
from ..model.assessment import Assessment, Characteristic
from ..model.engineload import EngineLoads, ValveGap

if TYPE_CHECKING:
    from ...trade.running.mechanism import Array, Mechanism

SPAN, APART = (
    60.0,
    4.0,
)  # degrees either side of the upper dead centre that are drawn, and from point to point
DECK = {"depth": 1.0, "protrusion": -1.0}  # of a piston: what gives room, and what takes it


def with_valves(
    loads: EngineLoads, case: LoadCase, engine: Engine, job: JobFolder, assessment: Assessment
) -> EngineLoads:
    """The same with how near valves come to their pistons, where the sheet names their lift and room."""
    from ...trade.running.cam_timing import SEARCH, gaps, meets_out_of_time

    motion = engine.motion
    room = _room(engine, job, assessment)
    if room is None or motion is None or motion.valve_lift is None:
        return loads
    valve = _Valve(
        case.mechanism,
        room,
        motion.valve_lift.to("mm"),
        motion.valve_tilt.to("deg") if motion.valve_tilt else 0.0,
    )
    return replace(
        loads,
        valve_room=room,
        valves_meet=meets_out_of_time(valve.mechanism, room, valve.lift, valve.tilt),
        valve_open=_points(gaps(valve.mechanism, room, valve.lift, SEARCH, valve.tilt)),
        valve_gaps=tuple(_gaps(valve, engine, job, assessment)),
    )


@dataclass(frozen=True, slots=True)
class _Valve:
    """How far a valve opens, and the room that it has [mm; degrees]."""

    mechanism: Mechanism
    room: float
    lift: float
    tilt: float


def _room(engine: Engine, job: JobFolder, assessment: Assessment) -> float | None:
    """From the nearest shut valve to its piston at the upper dead centre [mm].

    The sheet's, less what was skimmed off, and as far as read by how deep valves sit and pistons stand.
    """
    motion = engine.motion
    if motion is None or motion.valve_room is None:
        return None
    deck = _deeper(engine, assessment, HEIGHTS, DECK)
    recession = _deeper(engine, assessment, ("valve_seat", "readings"), {"recession": 1.0})
    skimmed = _skimmed(engine, job, with_block=deck is None)  # else it shows in the deck
    return motion.valve_room.to("mm") - skimmed + (deck or 0.0) + (recession or 0.0)


def _gaps(valve: _Valve, engine: Engine, job: JobFolder, assessment: Assessment) -> Iterator[ValveGap]:
    """The gap of intake and exhaust valves over crank angle; nothing where the timing is not known."""
    from ...trade.running.cam_timing import SEARCH, gaps, rounded_lift

    for exhaust in (False, True):
        timing = _timing(engine, assessment, exhaust)
        beyond = _at_lift(engine, timing[0].feature) if timing else 0.0
        if timing is None or not beyond < valve.lift:
            continue
        centre, duration, read = timing
        late = 0.0 if read else _late(engine, job, assessment)
        highest = _taken(centre) + late
        lift = rounded_lift(SEARCH, highest, _taken(duration), valve.lift, beyond)
        found = gaps(valve.mechanism, valve.room, lift, SEARCH, valve.tilt)
        least = int(found.argmin())
        yield ValveGap(
            exhaust,
            highest,
            late,
            read,
            _points(found),
            round(float(found[least]), 4),
            float(SEARCH[least]),
        )


def _points(found: Array) -> tuple[tuple[float, float], ...]:
    """Those of a curve that are drawn."""
    from ...trade.running.cam_timing import SEARCH

    known = zip(SEARCH.tolist(), found.tolist(), strict=True)
    return tuple((angle, round(gap, 3)) for angle, gap in known if abs(angle) <= SPAN and not angle % APART)


def _timing(
    engine: Engine, assessment: Assessment, exhaust: bool
) -> tuple[Characteristic, Characteristic, bool] | None:
    """The lobe whose valve comes nearest: centre and duration as read, else as the sheet has them."""
    ones = [
        one
        for one in assessment.characteristics
        if one.feature in engine.features and engine.features[one.feature].kind == "cam_timing" and one.stands
    ]
    lobes: dict[tuple[str, str], dict[str, Characteristic]] = {}
    for one in ones:
        if one.value is not None or None not in _band(one):
            lobes.setdefault((one.feature, one.position), {})[one.name] = one
    whole = [
        (lobe["centre"], lobe["duration"], lobe["centre"].value is not None)
        for lobe in lobes.values()
        if {"centre", "duration"} <= lobe.keys() and (_taken(lobe["centre"]) < 0) == exhaust
    ]
    # nearest to the dead centre it stands widest open there
    return min(
        whole, key=lambda lobe: (not lobe[2], abs(_taken(lobe[0])) - _taken(lobe[1]) / 2), default=None
    )


def _band(one: Characteristic) -> tuple[float | None, float | None]:
    return one.limits.new if one.limits else (None, None)


def _middle(one: Characteristic) -> float:
    low, high = _band(one)
    return ((low or 0.0) + (high or 0.0)) / 2


def _taken(one: Characteristic) -> float:
    """As read, else the middle of what the sheet allows."""
    return _middle(one) if one.value is None else one.value


def _at_lift(engine: Engine, feature: str) -> float:
    typed = engine.features[feature].further.get("at_lift")
    return parse(typed).to("mm") if typed else 0.0


def _skims(engine: Engine, job: JobFolder) -> Iterator[tuple[str, str, float]]:
    """Faces that were decided to be skimmed: the face, its part, by how much [mm]."""
    for decision in job.decisions.values():
        for face, sheet in engine.features.items():
            if decision.remove and decision.about in (face, sheet.height) and sheet.kind in FACES:
                yield face, sheet.part or face, decision.remove.to("mm")


def _skimmed(engine: Engine, job: JobFolder, with_block: bool) -> float:
    """The most that was taken from any head, and from the block besides [mm]."""
    features = engine.features
    blocks = {features[one.outer].part for one in features.values() if one.kind == "fit" and one.outer}
    heads, block = [0.0], [0.0]
    for _, part, amount in _skims(engine, job):
        (block if part in blocks else heads).append(amount)
    return max(heads) + (max(block) if with_block else 0.0)


def _deeper(
    engine: Engine, assessment: Assessment, kinds: Collection[str], names: Mapping[str, float]
) -> float | None:
    """By how much the least of what stands differs from the middle of its new limits [mm]; None: not read."""
    found = [
        names[one.name] * (one.value - _middle(one))
        for one in assessment.characteristics
        if one.name in names and one.stands and one.value is not None and None not in _band(one)
        if one.feature in engine.features and engine.features[one.feature].kind in kinds
    ]
    return min(found, default=None)


def _late(engine: Engine, job: JobFolder, assessment: Assessment) -> float:
    """How late the cam runs by a grown chain and by skims that bring it nearer [degrees of the crank]."""
    from ...trade.engine.drives import cam_lag
    from ...trade.measuring.uncertainty import Measured

    grown = [
        one.value
        for one in assessment.characteristics
        if one.name == "timing_error" and one.stands and one.value is not None
    ]
    late = max(grown, default=0.0)
    for face, _, amount in _skims(engine, job):
        chain = engine.features.get(engine.features[face].drives[0])
        pitch, teeth = (chain.further.get(key) for key in ("pitch", "cam_teeth")) if chain else (None, None)
        if pitch and teeth:
            late += cam_lag(Measured(amount), parse(pitch).to("mm"), float(teeth)).value
    return late
