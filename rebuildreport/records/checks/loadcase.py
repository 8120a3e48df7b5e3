"""From an engine's sheet to what its loads are worked out from; and whether that can be so."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from math import cos, radians, sin
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from ...quantities import dimension
from ...trade.engine.cautions import Nature
from ..files.folder import JobFolder, RoundFile
from ..files.sheet import Engine, MotionRecord
from ..text.notes import Notes
from ..text.problems import Problem
from ..text.reader import LARGEST, Source, Where
from ..text.tracefile import ROW, in_one_text, read_trace

if TYPE_CHECKING:
    from ...trade.running.crankloads import FiringCylinder, MovingMasses
    from ...trade.running.gas import Burn, GasCycle
    from ...trade.running.mechanism import Mechanism

T = TypeVar("T")
# bar: what an idling engine gives beyond what it takes itself, and behind its throttle (no diesel has one):
# common practice
IDLING, THROTTLED = 0.3, 0.4
NEEDED = ("rod_length", "compression_ratio", "torque", "torque_at")
MASSES = {"piston": "piston_mass", "big": "rod_big_mass", "small": "rod_small_mass"}
# from what to what an engine has it, in a unit, and of what a share: its stroke or bore [mm], its bore's cube
# [cm³]; common practice, wide enough for what is rare
BOUNDS: Mapping[str, tuple[float, float, str, str]] = {
    "rod_length": (1.05, 4.0, "mm", "stroke"),
    "compression_ratio": (3.0, 30.0, "", ""),
    "boost": (0.0, 6.0, "bar", ""),
    "throw_spacing": (0.25, 4.0, "mm", "bore"),
    "piston_mass": (0.2, 4.5, "g", "cube"),
    "rod_big_mass": (0.15, 4.5, "g", "cube"),
    "rod_small_mass": (0.05, 2.0, "g", "cube"),
    "nose_lever": (0.0, 4.0, "mm", "bore"),
    "valve_room": (0.0, 1.0, "mm", "stroke"),
    "valve_tilt": (0.0, 60.0, "deg", ""),
    "main_width": (0.05, 1.0, "mm", "bore"),
    "rod_width": (0.05, 1.0, "mm", "bore"),
    "oil_temperature": (0.0, 180.0, "°C", ""),
    "roughness": (0.0, 0.025, "mm", ""),
}


class LoadCase(Struct, frozen=True):
    """All that the loads of an engine rest on."""

    mechanism: Mechanism
    cylinders: list[FiringCylinder]
    masses: MovingMasses
    weighed: bool  # else estimated from the bore
    cycle: GasCycle
    likely: tuple[GasCycle, ...]  # the same burning later and earlier; none of one that was measured
    idling: GasCycle
    idle: float | None  # 1/min
    counterweight: float  # g·mm
    nose: tuple[float, float, float]  # N to the right and up, mm in front of the first main: a belt's pull
    speeds: tuple[float, ...]  # 1/min, the torque's among them
    parted: float  # degrees from the upright to a main's upper half: to the first row's of a flat engine


class Unworkable(Exception):
    """A key of ``motion:`` or of the layout that cannot be so, and why."""

    def __init__(self, key: str, why: str) -> None:
        super().__init__(why)
        self.key, self.why = key, why


def load_case(engine: Engine, masses: Mapping[str, float] | None = None) -> LoadCase | None:
    """The case of an engine; None where the sheet does not say enough of it.

    ``masses``: what this job weighed [g]: piston, big, small.  Raises Unworkable where it contradicts itself.
    """
    motion, layout = engine.motion, engine.layout
    if motion is None or layout.bore is None or layout.stroke is None or not layout.firing_order:
        return None
    if not layout.cylinders or any(getattr(motion, key) is None for key in NEEDED):
        return None
    from ...trade.running import gas
    from ...trade.running.mechanism import Mechanism

    for problem in _beyond_bounds(engine, motion, masses or {}):
        raise problem
    bore, stroke = layout.bore.to("mm"), layout.stroke.to("mm")
    mechanism = _made("rod_length", Mechanism, bore, stroke, _of(motion, "rod_length", "mm"))
    strokes = int(layout.strokes or 4)
    diesel = Nature(layout.fuel).diesel
    moving, weighed = _masses(motion, bore, diesel, masses or {})
    ratio, burn = motion.compression_ratio or 0.0, gas.DIESEL if diesel else gas.GASOLINE
    displaced = mechanism.area * stroke * layout.cylinders / 1000
    mean = gas.mean_pressure(_of(motion, "torque", "N·m"), displaced, strokes)
    if not 1 < mean < 35:
        raise Unworkable("torque", f"{mean:.1f} bar of mean pressure: no such engine's torque")
    cycles = _cycles(motion, mechanism, mean, burn, strokes)
    cylinders = _cylinders(engine, motion, strokes)
    return LoadCase(
        mechanism,
        cylinders,
        moving,
        weighed,
        cycles[0],
        tuple(cycles[1:]),
        _made("torque", gas.cycle_of, mechanism, ratio, IDLING, burn, strokes, 1.0 if diesel else THROTTLED),
        motion.idle.to("rpm") if motion.idle else None,
        _made("counterweight", _moment, motion.counterweight),
        _nose(motion),
        _speeds(motion),
        # of a flat engine's parted case the upper half of a main lies towards the first row
        next(one.leans for one in cylinders if one.name == "1") if layout.rows == "flat" else 0.0,
    )


def _cycles(
    motion: MotionRecord, mechanism: Mechanism, mean: float, burn: Burn, strokes: int
) -> list[GasCycle]:
    """The cycle that was measured; else one for the mean pressure, and the same burning later and earlier."""
    from ...trade.running import gas

    if motion.pressure_trace:
        (angles, pressures), _ = read_trace(motion.pressure_trace, "", 180.0 * strokes)
        return [gas.measured(angles, pressures, strokes)]
    ratio, burns = motion.compression_ratio or 0.0, (burn, *gas.likely_burns(burn))
    inlet = 1.0 + (_of(motion, "boost", "bar") if motion.boost else 0.0)
    return [_made("torque", gas.cycle_of, mechanism, ratio, mean, one, strokes, inlet) for one in burns]


def _beyond_bounds(engine: Engine, motion: MotionRecord, masses: Mapping[str, float]) -> Iterator[Unworkable]:
    """Every key of ``motion:`` with a number that no such engine has, and what was weighed as one."""
    for key, (_, _, unit, _) in BOUNDS.items():
        typed = getattr(motion, key)
        if typed is not None and (why := _beyond(engine, key, typed.to(unit) if unit else typed)):
            yield Unworkable(key, f"{typed}: {why}")
    for name, grams in masses.items():
        if why := _beyond(engine, MASSES[name], grams):
            yield Unworkable(MASSES[name], why)


def _beyond(engine: Engine, key: str, number: float) -> str:
    """What such an engine has instead, where it has no such number; '' where it may."""
    low, high, unit, of = BOUNDS[key]
    length = getattr(engine.layout, "bore" if of == "cube" else of) if of else None
    if of and length is None:
        return ""
    share = length.to("mm") if length else 1.0
    share = (share / 10) ** 3 if of == "cube" else share
    if low * share <= number <= high * share:
        return ""
    least, most = (float(f"{end * share:.2g}") for end in (low, high))
    return f"an engine of this size has {least:g} to {most:g} {unit}".rstrip()


def _masses(
    motion: MotionRecord, bore: float, diesel: bool, weighed: Mapping[str, float]
) -> tuple[MovingMasses, bool]:
    """Moving masses of a cylinder, and whether they are known and not estimated from its bore."""
    from ...trade.running.crankloads import MovingMasses, estimated_masses

    given = {name: _of(motion, key, "g") for name, key in MASSES.items() if getattr(motion, key) is not None}
    known = given | dict(weighed)
    if MASSES.keys() - known.keys():
        return estimated_masses(bore, diesel), False
    return MovingMasses(known["piston"] + known["small"], known["big"]), True


def _speeds(motion: MotionRecord) -> tuple[float, ...]:
    from ...trade.running.crankloads import FASTEST

    speeds = {key: _of(motion, key, "rpm") for key in ("idle", "torque_at", "top") if getattr(motion, key)}
    for key, speed in speeds.items():
        if not 0 < speed <= FASTEST:
            raise Unworkable(key, f"{speed:g} rpm: no such engine turns so")
    if "top" in speeds and speeds["top"] < speeds.get("torque_at", 0.0):
        raise Unworkable("torque_at", f"{speeds['torque_at']:g} rpm is above the highest rated speed")
    if "idle" in speeds and speeds["idle"] >= speeds.get("torque_at", FASTEST):
        raise Unworkable("idle", f"{speeds['idle']:g} rpm is no idle below the torque's speed")
    return tuple(sorted({*speeds.values()}))


def _cylinders(engine: Engine, motion: MotionRecord, strokes: int) -> list[FiringCylinder]:
    from ...trade.running.crankloads import layout

    plan, angle = engine.layout, _between_rows(engine, motion)
    names = [str(number) for number in range(1, plan.cylinders + 1)]
    banks = _bare(plan.banks) or [names]
    throws = _bare(motion.throws)
    if throws and sorted(name for throw in throws for name in throw) != sorted(names):
        raise Unworkable("throws", f"the throws together name the cylinders 1 to {len(names)}, each once")
    if not throws:
        shared = len(banks) == 2 and 0 < angle < 180
        throws = [list(pair) for pair in zip(*banks, strict=False)] if shared else [[name] for name in names]
    leans = {name: angle * (at - (len(banks) - 1) / 2) for at, bank in enumerate(banks) for name in bank}
    order = _bare([plan.firing_order or []])[0]
    offset = _of(motion, "pin_offset", "deg") if motion.pin_offset else 0.0
    if offset and not angle and all(len(throw) == 1 for throw in throws):
        raise Unworkable("pin_offset", "no throw here has two rods: there is no pin to be split")
    return _made("firing_order", layout, order, throws, leans, strokes, offset)


def _between_rows(engine: Engine, motion: MotionRecord) -> float:
    """The angle between two rows of cylinders [degrees]; 0 of one row."""
    rows, angle = engine.layout.rows, motion.bank_angle
    if angle and not 0.0 <= angle.to("deg") < 360.0:
        raise Unworkable("bank_angle", f"{angle} between two rows of cylinders cannot be")
    if rows == "radial":
        raise Unworkable("arrangement", "rods of a radial engine share a master rod: no loads are worked out")
    if (rows in ("v", "flat") or angle) and not engine.layout.banks:
        why = "without 'banks:' nobody knows which cylinders stand in which row: no loads are worked out"
        raise Unworkable("arrangement", why)
    if rows == "v" and not angle:
        raise Unworkable("arrangement", "without 'bank_angle:' under motion no loads are worked out of a V")
    return angle.to("deg") if angle else 180.0 if rows == "flat" else 0.0


def _bare(rows: list[list[str]]) -> list[list[str]]:
    """Cylinders by their numbers, however the sheet writes them."""
    return [[name.removeprefix("C") for name in row] for row in rows]


def _moment(typed: str) -> float:
    number = re.fullmatch(r"(-?\d*(?:\.\d+)?)(?:g·?mm)?", typed.replace(" ", ""))
    if number is None:
        raise ValueError(f"'{typed}' is no moment: 90000 g·mm")
    return float(number[1] or 0)


def _nose(motion: MotionRecord) -> tuple[float, float, float]:
    """What a belt or chain pulls at the crank's nose, and how far in front of the first main."""
    if motion.nose_pull is None:
        return 0.0, 0.0, 0.0
    for key in ("nose_pull_at", "nose_lever", "throw_spacing"):
        if getattr(motion, key) is None:
            raise Unworkable("nose_pull", f"without {key} nobody knows which main bears how much of it")
    pull, at = _of(motion, "nose_pull", "N"), radians(_of(motion, "nose_pull_at", "deg"))
    return pull * sin(at), pull * cos(at), _of(motion, "nose_lever", "mm")


def _of(motion: MotionRecord, key: str, unit: str) -> float:
    return float(getattr(motion, key).to(unit))


def _made(key: str, make: Callable[..., T], *given: object) -> T:
    try:
        return make(*given)
    except ValueError as problem:
        raise Unworkable(key, str(problem)) from None


def with_trace(engine: Engine, source: Source, folder: Path) -> tuple[Engine, Source, list[Problem]]:
    """The sheet with its measured trace in place of the name of the trace's file, in the records as well: so
    it goes along with every document that rests on it.  Without all of ``motion:`` where the trace is bad."""
    where, motion = ("motion", "pressure_trace"), engine.motion
    name = (motion and motion.pressure_trace) or ""
    inside = ROW in name  # it stands in the sheet itself, as the records of a document have it
    text = name if inside else _text_beside(folder, name)
    cycle = 180.0 * int(engine.layout.strokes or 4)
    if text is None:
        hint = "the name of a CSV file that lies beside this sheet, as in six-1400.csv"
        problems = [source.problem(where, f"there is no file '{name}' in engines/", hint)]
    else:
        trace, problems = read_trace(text, f"engines/{name}", cycle)
    if problems and inside:
        problems = [source.problem(where, problems[0].message, problems[0].suggestion)]
    if problems or motion is None:
        return engine.model_copy(update={"motion": None}), source, problems
    kept = {"pressure_trace": in_one_text(trace)}
    data = {**source.data, "motion": {**source.data["motion"], **kept}}
    changed = motion.model_copy(update=kept)
    return engine.model_copy(update={"motion": changed}), replace(source, data=data), []


def _text_beside(folder: Path, name: str) -> str | None:
    """A file in the sheet's own folder; None where there is none that could be read."""
    path = folder / name
    try:
        if "/" in name or "\\" in name or path.stat().st_size > LARGEST:
            return None
        return path.read_text("utf-8-sig", errors="replace")
    except (OSError, ValueError):
        return None


def weighed(engine: Engine, job: JobFolder) -> dict[str, float]:
    """Mean masses [g] that this job weighed: of rods at both ends, of pistons."""
    found: dict[str, dict[str, float]] = {}
    for name, position, grams, *_ in _weighings(engine, job):
        found.setdefault(name, {})[position] = grams  # a later round's stands
    return {name: sum(of.values()) / len(of) for name, of in found.items()}


def _weighings(engine: Engine, job: JobFolder) -> Iterator[tuple[str, str, float, RoundFile, Where]]:
    """What was weighed of each position: piston, big or small end, in grams; with its round and row."""
    features = engine.features
    pistons = {
        features[fit.inner].part for fit in features.values() if fit.kind == "fit" and fit.inner in features
    }
    for of in job.rounds.values():
        for table, rows in of.cells.items():
            sheet = features.get(of.model.tables[table].feature or table)
            if sheet is None or sheet.kind != "matched":
                continue
            piston = "piston" if sheet.part in pistons else ""
            names = {"big": "big", "small": "small", "mass": piston}
            for position, columns in rows.items():
                for column, cell in columns.items():
                    first = cell.readings[0] if cell.readings else None
                    if names.get(column) and first is not None and dimension(first.unit) == "mass":
                        yield names[column], position, first.to("g"), of, ("tables", table, "rows", position)


def check_weighed(engine: Engine, job: JobFolder) -> list[Problem]:
    """Masses that this job weighed and that no cylinder of its engine has, each at its line."""
    hint = "of which engine are they? No loads are worked out of them"
    return [
        of.source.problem(where, f"{grams:g} g: {why}", hint, "warning")
        for name, _, grams, of, where in (_weighings(engine, job) if engine.motion else ())
        if (why := _beyond(engine, MASSES[name], grams))
    ]


def check_motion(engine: Engine, notes: Notes) -> None:
    """What no engine can have, at its line: a rod too short, a speed, an order, another bore's masses."""
    motion = engine.motion
    if motion is None:
        return
    if missing := [key for key in NEEDED if getattr(motion, key) is None]:
        words = f"without {' and '.join(missing)} no loads and no oil films are worked out"
        notes.warn(("motion",), words, key=True)
    for key, of in (("bore", "bore"), ("stroke", "stroke"), ("firing_order", "firing order")):
        if not getattr(engine.layout, key):
            notes.warn(("motion",), f"the layout names no {of}: no loads are worked out", key=True)
    lift, room, bore = motion.valve_lift, motion.valve_room, engine.layout.bore
    if bool(lift) != bool(room):
        key, other = ("valve_lift", "valve_room") if lift else ("valve_room", "valve_lift")
        notes.warn(("motion", key), f"without {other} nobody knows whether valves meet pistons", key=True)
    if lift and bore and lift.to("mm") >= bore.to("mm") / 2:
        notes.error(("motion", "valve_lift"), f"{lift} of lift in a bore of {bore}: no such valve")
    if motion.oil:
        from ...trade.running.films import oil_of

        try:
            oil_of(motion.oil)
        except ValueError as problem:
            notes.error(("motion", "oil"), str(problem))
    for beyond in _beyond_bounds(engine, motion, {}):
        notes.error(("motion", beyond.key), beyond.why)
    try:
        load_case(engine)
    except Unworkable as problem:
        if problem.key in BOUNDS:
            return
        if problem.key == "arrangement":
            notes.warn(("layout", problem.key), problem.why)
            return
        block = "layout" if problem.key == "firing_order" else "motion"
        notes.error((block, problem.key), problem.why)
