"""From an engine's sheet to what its loads are worked out from; and whether that can be so."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from ...trade.engine.cautions import Nature
from ..files.sheet import Engine, MotionRecord
from ..text.notes import Notes

if TYPE_CHECKING:
    from ...trade.running.crankloads import FiringCylinder, MovingMasses
    from ...trade.running.gas import GasCycle
    from ...trade.running.mechanism import Mechanism

T = TypeVar("T")
NEEDED = ("rod_length", "compression_ratio", "torque", "torque_at")


@dataclass(frozen=True, slots=True)
class LoadCase:
    """All that the loads of an engine rest on."""

    mechanism: Mechanism
    cylinders: list[FiringCylinder]
    masses: MovingMasses
    weighed: bool  # else estimated from the bore
    cycle: GasCycle
    peaks: tuple[float, float]  # bar: from what to what the highest pressure may be
    counterweight: float  # g·mm
    speeds: tuple[float, ...]  # 1/min, the torque's among them


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

    bore, stroke = layout.bore.to("mm"), layout.stroke.to("mm")
    mechanism = _made("rod_length", Mechanism, bore, stroke, _of(motion, "rod_length", "mm"))
    strokes = int(layout.strokes or 4)
    diesel = Nature(layout.fuel or "").diesel
    moving, weighed = _masses(motion, bore, diesel, masses or {})
    displaced = mechanism.area * stroke * layout.cylinders / 1000
    mean = gas.mean_pressure(_of(motion, "torque", "N·m"), displaced, strokes)
    if not 1 < mean < 35:
        raise Unworkable("torque", f"{mean:.1f} bar of mean pressure: no such engine's torque")
    inlet = 1.0 + (_of(motion, "boost", "bar") if motion.boost else 0.0)
    burn = gas.DIESEL if diesel else gas.GASOLINE
    given = (mechanism, motion.compression_ratio or 0.0, mean, burn, strokes, inlet)
    cycle = _made("torque", gas.cycle_of, *given)
    return LoadCase(
        mechanism,
        _cylinders(engine, motion, strokes),
        moving,
        weighed,
        cycle,
        gas.peak_range(*given),
        _moment(motion),
        _speeds(motion),
    )


def _masses(
    motion: MotionRecord, bore: float, diesel: bool, weighed: Mapping[str, float]
) -> tuple[MovingMasses, bool]:
    """Moving masses of a cylinder, and whether they are known and not estimated from its bore."""
    from ...trade.running.crankloads import MovingMasses, estimated_masses

    keys = {"piston": "piston_mass", "big": "rod_big_mass", "small": "rod_small_mass"}
    given = {name: _of(motion, key, "g") for name, key in keys.items() if getattr(motion, key) is not None}
    known = given | dict(weighed)
    guess = estimated_masses(bore, diesel)
    if keys.keys() - known.keys():
        return guess, False
    moving = MovingMasses(known["piston"] + known["small"], known["big"])
    if not 1 / 4 < moving.reciprocating / guess.reciprocating < 4:
        raise Unworkable("piston_mass", "moving masses of another bore's cylinder: what was weighed?")
    return moving, True


def _speeds(motion: MotionRecord) -> tuple[float, ...]:
    from ...trade.running.crankloads import FASTEST

    speeds = {key: _of(motion, key, "rpm") for key in ("idle", "torque_at", "top") if getattr(motion, key)}
    for key, speed in speeds.items():
        if not 0 < speed <= FASTEST:
            raise Unworkable(key, f"{speed:g} rpm: no such engine turns so")
    return tuple(sorted({*speeds.values()}))


def _cylinders(engine: Engine, motion: MotionRecord, strokes: int) -> list[FiringCylinder]:
    from ...trade.running.crankloads import layout

    plan = engine.layout
    names = [str(number) for number in range(1, plan.cylinders + 1)]
    banks = _bare(plan.banks) or [names]
    angle = _of(motion, "bank_angle", "deg") if motion.bank_angle else 0.0
    if not 0.0 <= angle < 360.0:
        raise Unworkable("bank_angle", f"{motion.bank_angle} between two rows of cylinders cannot be")
    throws = _bare(motion.throws)
    if throws and sorted(name for throw in throws for name in throw) != sorted(names):
        raise Unworkable("throws", f"the throws together name the cylinders 1 to {len(names)}, each once")
    if not throws:
        shared = len(banks) == 2 and 0 < angle < 180
        throws = [list(pair) for pair in zip(*banks, strict=False)] if shared else [[name] for name in names]
    leans = {name: angle * (at - (len(banks) - 1) / 2) for at, bank in enumerate(banks) for name in bank}
    order = _bare([plan.firing_order or []])[0]
    offset = _of(motion, "pin_offset", "deg") if motion.pin_offset else 0.0
    return _made("firing_order", layout, order, throws, leans, strokes, offset)


def _bare(rows: list[list[str]]) -> list[list[str]]:
    """Cylinders by their numbers, however the sheet writes them."""
    return [[name.removeprefix("C") for name in row] for row in rows]


def _moment(motion: MotionRecord) -> float:
    text = (motion.counterweight or "0").replace("g·mm", "").replace("gmm", "").replace(" ", "")
    try:
        return float(text)
    except ValueError:
        raise Unworkable("counterweight", f"'{motion.counterweight}' is no moment: 90000 g·mm") from None


def _of(motion: MotionRecord, key: str, unit: str) -> float:
    return float(getattr(motion, key).to(unit))


def _made(key: str, make: Callable[..., T], *given: object) -> T:
    try:
        return make(*given)
    except ValueError as problem:
        raise Unworkable(key, str(problem)) from None


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
        from ...trade.running.oil import oil_of

        try:
            oil_of(motion.oil)
        except ValueError as problem:
            notes.error(("motion", "oil"), str(problem))
    try:
        load_case(engine)
    except Unworkable as problem:
        block = "layout" if problem.key == "firing_order" else "motion"
        notes.error((block, problem.key), problem.why)
