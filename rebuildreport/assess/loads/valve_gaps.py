"""How near valves come to their pistons: from lift, timing and the room that the sheet names, as it is now.

In: the sheet's ``motion:``, lift point by point or timing by degree wheel, else as the sheet has it, skims
decided, recession and deck as read.  Out: ValveGaps, and where a fully open valve is met with the cam drive
off.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from ...records import JobFolder
from ...records.files.sheet import Engine
from ...trade.measuring.form import angle_of
from ...trade.measuring.verdict import middle_of
from ..measure.following_moves import HEIGHTS, skimmed_off
from ..model.assessment import Assessment
from ..model.engineload import EngineLoads, ValveGap

if TYPE_CHECKING:
    from ...trade.running.mechanism import Array, Mechanism

SPAN, APART = 60.0, 4.0  # degrees beside the upper dead centre that are drawn, and from point to point
DECK = {"depth": 1.0, "protrusion": -1.0}  # of a piston: what gives room, and what takes it
NAMES = ("centre", "duration")  # of a lobe


def with_valves(loads: EngineLoads, engine: Engine, job: JobFolder, assessment: Assessment) -> EngineLoads:
    """The same with how near valves come to their pistons, where the sheet names their lift and room."""
    motion, gear = engine.motion, engine.layout
    room = _room(engine, job, assessment)
    if room is None or motion is None or motion.valve_lift is None:
        return loads
    if gear.bore is None or gear.stroke is None or motion.rod_length is None:
        return loads
    from ...trade.running.cam_timing import SEARCH, meets_out_of_time
    from ...trade.running.mechanism import Mechanism

    valve = _Valve(
        Mechanism(gear.bore.to("mm"), gear.stroke.to("mm"), motion.rod_length.to("mm")),
        room,
        motion.valve_lift.to("mm"),
        motion.valve_tilt.to("deg") if motion.valve_tilt else 0.0,
    )
    return replace(
        loads,
        valve_room=room,
        valves_meet=meets_out_of_time(valve.mechanism, room, valve.lift, valve.tilt),
        valve_open=_points(valve.gaps(valve.lift, SEARCH), SEARCH),
        valve_gaps=tuple(_gaps(valve, engine, job, assessment)),
    )


class _Lobe(Struct, frozen=True):
    """Where a valve is open widest, and how long it is beyond a lift [degrees; mm]."""

    centre: float
    lasts: float
    beyond: float
    read: bool  # by degree wheel; else the middle of what the sheet allows


class _Valve(Struct, frozen=True):
    """How far a valve opens, and the room that it has [mm; degrees]."""

    mechanism: Mechanism
    room: float
    lift: float
    tilt: float

    def gaps(self, lift: Array | float, angles: Array) -> Array:
        from ...trade.running.cam_timing import gaps

        return gaps(self.mechanism, self.room, lift, angles, self.tilt)


def _room(engine: Engine, job: JobFolder, assessment: Assessment) -> float | None:
    """From the nearest shut valve to its piston at the upper dead centre [mm].

    The sheet's, less what was skimmed off, and as far as read by how deep valves sit and pistons stand.
    """
    motion = engine.motion
    if motion is None or motion.valve_room is None:
        return None
    deck = _deeper(engine, assessment, HEIGHTS, DECK)
    recession = _deeper(engine, assessment, ("valve_seat", "readings"), {"recession": 1.0})
    skimmed = skimmed_off(engine, job, with_block=deck is None)  # else it shows in the deck
    return motion.valve_room.to("mm") - skimmed + (deck or 0.0) + (recession or 0.0)


def _gaps(valve: _Valve, engine: Engine, job: JobFolder, assessment: Assessment) -> Iterator[ValveGap]:
    """The gap of intake and exhaust valves over crank angle; nothing where the timing is not known."""
    from ...trade.running.cam_timing import SEARCH, rounded_lift

    for exhaust in (False, True):
        if read := [gap for gap in _by_points(valve, engine, assessment) if gap.exhaust == exhaust]:
            yield min(read, key=lambda gap: gap.least)
            continue
        lobe = _timing(engine, assessment, exhaust)
        if lobe is None or not lobe.beyond < valve.lift:
            continue
        late = 0.0 if lobe.read else _late(engine, job, assessment)
        highest = lobe.centre + late
        lift = rounded_lift(SEARCH, highest, lobe.lasts, valve.lift, lobe.beyond)
        yield _gap(exhaust, highest, late, lobe.read, valve.gaps(lift, SEARCH), SEARCH)


def _by_points(valve: _Valve, engine: Engine, assessment: Assessment) -> Iterator[ValveGap]:
    """Of each valve whose lift was read point by point, as far as that is.

    Nothing where it would come nearer still beyond the last of them.
    """
    import numpy as np

    from ...trade.running.cam_timing import SEARCH

    lifts: dict[tuple[str, str], dict[float, float]] = {}
    for one in assessment.characteristics:
        sheet = engine.features.get(one.feature)
        if sheet and sheet.kind == "cam_lift" and one.stands and one.value is not None:
            of = lifts.setdefault((one.feature, one.position), {})
            of[angle_of(one.name) or 0.0] = one.value
    for of in lifts.values():
        known = sorted(of)
        angles = SEARCH[(known[0] <= SEARCH) & (known[-1] >= SEARCH)]
        lift = np.interp(angles, known, [of[angle] for angle in known])
        found = valve.gaps(lift, angles)
        if 0 < found.argmin() < len(found) - 1:
            yield _gap(bool(lift[0] > lift[-1]), None, 0.0, True, found, angles)


def _gap(
    exhaust: bool, centre: float | None, late: float, read: bool, found: Array, angles: Array
) -> ValveGap:
    least = int(found.argmin())
    near = round(float(found[least]), 4)
    return ValveGap(exhaust, centre, late, read, _points(found, angles), near, float(angles[least]))


def _points(found: Array, angles: Array) -> tuple[tuple[float, float], ...]:
    """Those of a curve that are drawn."""
    known = zip(angles.tolist(), found.tolist(), strict=True)
    return tuple((angle, round(gap, 3)) for angle, gap in known if abs(angle) <= SPAN and not angle % APART)


def _timing(engine: Engine, assessment: Assessment, exhaust: bool) -> _Lobe | None:
    """The lobe whose valve comes nearest, one that was read before one that the sheet knows."""
    lobes = [lobe for lobe in _lobes(engine, assessment) if (lobe.centre < 0) == exhaust]
    # nearest to the dead centre it stands widest open there
    return min(lobes, key=lambda lobe: (not lobe.read, abs(lobe.centre) - lobe.lasts / 2), default=None)


def _lobes(engine: Engine, assessment: Assessment) -> Iterator[_Lobe]:
    read = {
        (one.feature, one.position, one.name): one.value
        for one in assessment.characteristics
        if one.stands and one.value is not None
    }
    for name, sheet in engine.of_kind("cam_timing").items():
        for position in sheet.positions:
            known = [read.get((name, position, what)) for what in NAMES]
            stated = [
                middle_of(sheet.new[what].within("deg")) if what in sheet.new else None for what in NAMES
            ]
            centre, lasts = (own if one is None else one for one, own in zip(known, stated, strict=True))
            if centre is not None and lasts is not None:
                yield _Lobe(centre, lasts, sheet.given("at_lift", "mm") or 0.0, None not in known)


def _deeper(
    engine: Engine, assessment: Assessment, kinds: Collection[str], names: Mapping[str, float]
) -> float | None:
    """By how much the least of what stands differs from the middle of its new limits [mm]; None: not read."""
    found = []
    for one in assessment.characteristics:
        sheet = engine.features.get(one.feature)
        if one.name in names and one.stands and one.value is not None and one.limits and sheet:
            new = middle_of(one.limits.new)
            if sheet.kind in kinds and new is not None:
                found.append(names[one.name] * (one.value - new))
    return min(found, default=None)


def _late(engine: Engine, job: JobFolder, assessment: Assessment) -> float:
    """How late the cam runs by a grown chain and by skims that bring it nearer [degrees of the crank]."""
    from ...trade.engine.drives import cam_lag
    from ...trade.measuring.uncertainty import Measured

    grown = [one.value for one in assessment.characteristics if one.name == "timing_error" and one.stands]
    late = max((one for one in grown if one is not None), default=0.0)
    for chain in engine.of_kind("chain").values():
        pitch, teeth = chain.given("pitch", "mm"), chain.number("cam_teeth")
        if pitch and teeth:
            nearer = Measured(skimmed_off(engine, job, driven=True))
            late += cam_lag(nearer, pitch, teeth.value).value
    return late
