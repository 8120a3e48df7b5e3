"""Loads and films of every bearing of a job's engine, at the speeds of its sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from ...records import JobFolder
from ...records.checks.loadcase import LoadCase, Unworkable, load_case
from ...records.files.sheet import Engine
from ..choose.worn_surfaces import carries_rods
from ..model.assessment import Assessment, Characteristic
from ..model.engineload import BearingAt, EngineLoads, FilmThere, ShakingThere

if TYPE_CHECKING:
    from ...trade.running.crankloads import BearingLoad
    from ...trade.running.films import PlainBearing
    from ...trade.running.oil import Oil

SUPPLY = 95.0  # °C, where the sheet names no temperature of its oil: common practice
FILM_POINTS = 9  # of the curve of the film over the clearance
When = Literal["arrival", "now"]
_State = tuple[When, float, float]  # a clearance and its standard uncertainty
KEPT = 5  # every so many points of a load's path are kept for its drawing


def engine_loads(engine: Engine, job: JobFolder, assessment: Assessment) -> EngineLoads | None:
    """All loads and films of a job; None where its sheet does not say enough, or contradicts itself.

    What contradicts itself is told at its line by the sheet's own check.
    """
    try:
        case = load_case(engine, weighed(engine, job, assessment))
    except Unworkable:
        return None
    motion = engine.motion
    if case is None or motion is None or motion.torque is None or motion.torque_at is None:
        return None
    borne = [one for speed in case.speeds for one in _borne(case, [*_spots(engine, assessment)], speed)]
    if not borne:  # no clearance on the sheet says which bearings there are
        return None
    films = _films(engine, borne)
    bearings = [_told(one, films.get(one.key, ())) for one in borne]
    rated = motion.torque_at.to("rpm")
    worst = _shown(bearings, rated, assessment)
    return EngineLoads(
        tuple(bearings),
        case.speeds,
        motion.torque.to("N·m"),
        rated,
        (case.cycle.peak, *case.peaks),
        case.weighed,
        motion.oil or "",
        _supply(engine) if motion.oil else None,
        motion.roughness.to("mm") if motion.roughness else None,
        *(_curve(engine, borne, worst) if worst else ((), "")),
        shaking=tuple(_shaking(case, engine, rated)),
        valves_meet=_valves_meet(case, engine),
        bob_weight=_bob_weight(case, engine),
    )


def _valves_meet(case: LoadCase, engine: Engine) -> float | None:
    """How near to the upper dead centre a piston meets a valve that stands fully open [degrees]."""
    from ...trade.running.cam_timing import ValveRoom, meets_out_of_time

    motion = engine.motion
    if motion is None or motion.valve_lift is None or motion.valve_room is None:
        return None
    room = ValveRoom(motion.valve_room.to("mm"), 0.0)
    return meets_out_of_time(room, case.mechanism, motion.valve_lift.to("mm"))


def _shaking(case: LoadCase, engine: Engine, speed: float) -> Iterator[ShakingThere]:
    """First and second order of what goes up and down: forces, and couples where throws have their places."""
    from ...trade.running.balance import HALF, shaking

    factor = HALF if _bob_weight(case, engine) else 0.0
    spacing = engine.motion.throw_spacing if engine.motion else None
    apart = spacing.to("mm") if spacing else 0.0
    places = {one.name: one.throw * apart for one in case.cylinders}
    gear = case.mechanism
    mass = case.masses.reciprocating
    for one in shaking(case.cylinders, mass, gear.stroke, gear.rod, places, speed, factor):
        yield ShakingThere(one.order, one.force, one.couple if spacing else None)


def _bob_weight(case: LoadCase, engine: Engine) -> float | None:
    """Of two rods on one pin between rows at an angle, where their parts' masses are known."""
    from ...trade.running.balance import bob_weight

    rods = len(case.cylinders) / len({one.throw for one in case.cylinders})
    angled = bool(engine.motion and engine.motion.bank_angle and engine.motion.bank_angle.to("deg") < 180)
    if rods != 2 or not angled or not case.weighed:
        return None
    return bob_weight(case.masses.big_end, case.masses.reciprocating)


def weighed(engine: Engine, job: JobFolder, assessment: Assessment) -> dict[str, float]:
    """Mean masses [g] that this job weighed: of rods at both ends, of pistons."""
    found: dict[str, list[float]] = {}
    for table in assessment.tables:
        sheet = engine.features.get(table.feature)
        if sheet is None or sheet.kind != "matched" or table.unit != "g":
            continue
        for row in table.rows.values():
            for column, cell in zip(table.columns, row, strict=False):
                name = {"big": "big", "small": "small", "mass": "piston"}.get(column)
                try:
                    value = float(cell.split("/")[0])
                except ValueError:
                    continue
                if name and (name != "piston" or (sheet.part or "").startswith("piston")):
                    found.setdefault(name, []).append(value)
    return {name: sum(values) / len(values) for name, values in found.items()}


@dataclass(frozen=True, slots=True)
class _Spot:
    """One bearing with its size and what is known of its clearance."""

    of: Literal["rod", "main"]
    number: int  # of the cylinder, or of the main from the front
    position: str
    diameter: float
    width: float | None
    clearances: tuple[_State, ...]  # with its uncertainty


def _spots(engine: Engine, assessment: Assessment) -> Iterator[_Spot]:
    motion = engine.motion
    widths = {"main": motion and motion.main_width, "rod": motion and motion.rod_width}
    for name, sheet in engine.features.items():
        shaft = sheet.links(["journal"]).get("journal", "") if sheet.kind == "bearing_clearance" else ""
        journal, size = engine.features.get(shaft), engine.standard_size(shaft)
        if journal is None or size is None:
            continue
        of: Literal["rod", "main"] = "rod" if carries_rods(engine, shaft) else "main"
        width = widths[of]
        wide = width.to("mm") if width else None
        for number, position in enumerate(journal.positions or (), 1):
            clearances = tuple(_clearances(assessment, name, position))
            yield _Spot(of, number, position, size, wide, clearances)


def _clearances(assessment: Assessment, feature: str, position: str) -> Iterator[_State]:
    ones = [
        one
        for one in assessment.characteristics
        if (one.feature, one.position) == (feature, position)
        and one.name in ("clearance", "smallest_clearance", "mean_clearance")
        and one.value is not None
    ]
    arrived = [one for one in ones if one.round in assessment.as_found]
    now = [one for one in ones if one.stands and one.round not in assessment.as_found]
    states: tuple[tuple[When, list[Characteristic]], ...] = (("arrival", arrived), ("now", now))
    for state, values in states:
        mean = next((one for one in values if one.name == "mean_clearance"), values[0] if values else None)
        if mean is not None and mean.value:
            yield state, mean.value, mean.standard_uncertainty or 0.0


@dataclass(frozen=True, slots=True)
class _Borne:
    """One bearing with its load at one speed."""

    spot: _Spot
    load: BearingLoad
    speed: float

    @property
    def key(self) -> tuple[str, float]:
        return self.spot.position, self.speed


def _borne(case: LoadCase, spots: Sequence[_Spot], speed: float) -> Iterator[_Borne]:
    from ...trade.running.crankloads import crank_loads

    loads = crank_loads(case.cylinders, case.mechanism, case.masses, case.cycle, speed, case.counterweight)
    mains = {str(number): load for number, load in enumerate(loads.mains, 1)}
    for spot in spots:
        load = (loads.rods if spot.of == "rod" else mains).get(str(spot.number))
        if load is not None:
            yield _Borne(spot, load, speed)


def _told(one: _Borne, films: Sequence[FilmThere]) -> BearingAt:
    spot, load = one.spot, one.load
    right, up = load.in_shell
    return BearingAt(
        spot.position,
        spot.of,
        one.speed,
        load.peak,
        load.peak_at,
        load.specific(spot.diameter, spot.width) if spot.width else None,
        load.upper_share,
        tuple((round(float(x)), round(float(y))) for x, y in zip(right[::KEPT], up[::KEPT], strict=True)),
        tuple(films),
    )


def _films(engine: Engine, borne: Sequence[_Borne]) -> dict[tuple[str, float], list[FilmThere]]:
    """Films of bearings of known width, with the grade of oil: at each clearance and at both of its ends."""
    from ...trade.running.films import PlainBearing, shear_loss
    from ...trade.running.orbits import orbits

    oil = _oil(engine)
    if oil is None:
        return {}
    found: dict[tuple[str, float], list[FilmThere]] = {}
    cases: list[tuple[_Borne, _State, tuple[float, float]]] = []
    bearings: list[PlainBearing] = []
    for one in borne:
        spot = one.spot
        for state in spot.clearances if spot.width is not None else ():
            _, clearance, u = state
            three = (clearance, max(clearance - 2 * u, clearance / 4), clearance + 2 * u)
            bearings += [PlainBearing(spot.diameter, spot.width or 0.0, width) for width in three]
            cases.append((one, state, _warmth(bearings[-3], one, oil, _supply(engine))))
    if not cases:
        return {}
    many = orbits(
        [one.load for one, *_ in cases for _ in range(3)],
        bearings,
        [one.speed for one, *_ in cases for _ in range(3)],
        [viscosity for *_, (_, viscosity) in cases for _ in range(3)],
    )
    for at, (one, (when, clearance, _), (temperature, viscosity)) in enumerate(cases):
        middle, *ends = many[3 * at : 3 * at + 3]
        thin = sorted(orbit.thinnest for orbit in (middle, *ends))
        loss = shear_loss(bearings[3 * at], middle.eccentricity, one.speed, viscosity)
        found.setdefault(one.key, []).append(
            FilmThere(
                when, clearance, middle.thinnest, thin[0], thin[-1], middle.thinnest_at, temperature, loss
            )
        )
    return found


def _warmth(bearing: PlainBearing, one: _Borne, oil: Oil, supply: float) -> tuple[float, float]:
    """Temperature of the film [°C] and its viscosity [mPa·s], by the heat balance of the mean load."""
    from ...trade.running.oil import warm_film

    warm = warm_film(bearing, one.load.mean, one.speed, oil, supply)
    return warm.temperature, warm.viscosity


def _oil(engine: Engine) -> Oil | None:
    from ...trade.running.oil import oil_of

    if engine.motion is None or not engine.motion.oil:
        return None
    try:
        return oil_of(engine.motion.oil)
    except ValueError:
        return None  # told at its line


def _supply(engine: Engine) -> float:
    motion = engine.motion
    return motion.oil_temperature.to("°C") if motion and motion.oil_temperature else SUPPLY


def _shown(bearings: Sequence[BearingAt], speed: float, assessment: Assessment) -> BearingAt | None:
    """The bearing that the first finding about one names, else the one whose film was thinnest as it came."""
    filmed = {one.position: one for one in bearings if one.speed == speed and one.films}
    named = [position for finding in assessment.findings for position in finding.positions]
    found = next((filmed[position] for position in named if position in filmed), None)
    return found or min(filmed.values(), key=lambda one: one.films[0].thinnest, default=None)


def _curve(
    engine: Engine, borne: Sequence[_Borne], of: BearingAt
) -> tuple[tuple[tuple[float, float], ...], str]:
    """How thin the film of one bearing is at clearances from a third to three times its own."""
    one = next(one for one in borne if one.key == (of.position, of.speed))
    now = of.films[-1].clearance
    widths = [now / 3 * 9 ** (i / (FILM_POINTS - 1)) for i in range(FILM_POINTS)]
    alike = [
        replace(one, spot=replace(one.spot, position=f"{i}", clearances=(("now", width, 0.0),)))
        for i, width in enumerate(widths)
    ]
    found = _films(engine, alike)
    return (
        tuple((round(w, 4), found[a.key][0].thinnest) for w, a in zip(widths, alike, strict=True)),
        of.position,
    )
