"""Loads and films of every bearing of a job's engine, at the speeds of its sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Literal

from msgspec import Struct
from msgspec.structs import replace

from ...quantities import factor
from ...records import JobFolder
from ...records.checks.loadcase import LoadCase, Unworkable, load_case, weighed
from ...records.files.sheet import Engine
from ...records.text.memory import Memory
from ...trade.measuring.form import number_of
from ..model.assessment import Assessment, Characteristic
from ..model.engineload import BearingAt, EngineLoads, FilmThere, ShakingThere, SpeedPoint
from ..telling.filing import carries_rods
from .valve_gaps import with_valves

if TYPE_CHECKING:
    from ...trade.running.crankloads import BearingLoad
    from ...trade.running.films import Oil, WarmFilm
    from ...trade.running.gas import GasCycle

SUPPLY = 95.0  # °C, where the sheet names no temperature of its oil: common practice
FILM_POINTS = 9  # of the curve of the film over the clearance
SPEEDS = 40  # of the map over speeds
When = Literal["arrival", "now"]
_State = tuple[When, float, float]  # a clearance and its standard uncertainty
KEPT = 5  # every so many points of a load's path are kept for its drawing


def engine_loads(
    engine: Engine,
    job: JobFolder,
    assessment: Assessment,
    sheet: str = "",
    memory: Memory = Memory(),  # noqa: B008  # frozen
) -> EngineLoads | None:
    """All loads and films of a job; None where its sheet does not say enough, or contradicts itself.

    What contradicts itself is told at its line by the sheet's own check.  With a digest of its
    ``sheet`` they are remembered: an edit of what they do not rest on has them.
    """
    read = [
        (one.key, one.value, one.standard_uncertainty, one.unit, one.direct, one.stands)
        for one in assessment.characteristics
        if (of := engine.features.get(one.feature)) and of.kind in ("bearing_clearance", "roughness")
    ]
    named = [position for finding in assessment.findings for position in finding.positions]
    rests_on = (sheet, weighed(engine, job), sorted(assessment.as_found), read, named)

    def work() -> EngineLoads | None:
        before = _Before(memory, job.name, rests_on[:2])
        return _worked_out(engine, job, assessment, before)

    loads = memory.of(f"loads {job.name}", rests_on, EngineLoads | None, work)
    return with_valves(loads, engine, job, assessment) if loads else None


class _Before(Struct, frozen=True):
    """Where films that were worked out before are, and what else they all rest on."""

    memory: Memory
    job: str
    rests_on: object


def _worked_out(
    engine: Engine, job: JobFolder, assessment: Assessment, before: _Before
) -> EngineLoads | None:
    try:
        case = load_case(engine, weighed(engine, job))
    except Unworkable:
        return None
    motion = engine.motion
    if case is None or motion is None or motion.torque is None or motion.torque_at is None:
        return None
    spots = [*_spots(engine, case, assessment)]
    borne = [one for speed in case.speeds for one in _borne(engine, case, spots, speed)]
    if not borne:  # no clearance on the sheet says which bearings there are
        return None
    rated = motion.torque_at.to("rpm")
    if motion.oil:
        _know_maps(before.memory, spots)
    named, curves, films = _filmed(engine, case, spots, borne, _named(borne, rated, assessment), before)
    bearings = [_told(one, there) for one, there in zip(borne, films, strict=False)]
    curve, over_speed = curves.told(films[len(borne) :])
    peaks = sorted(one.peak for one in (case.cycle, *case.likely))
    return EngineLoads(
        tuple(bearings),
        case.speeds,
        motion.torque.to("N·m"),
        rated,
        (case.cycle.peak, peaks[0], peaks[-1]),
        case.weighed,
        motion.oil,
        _supply(engine) if motion.oil else None,
        motion.roughness.to("mm") if motion.roughness else None,
        curve,
        named.spot.position,
        shaking=tuple(_shaking(case, engine, rated)),
        throws=tuple(_throws(case)),
        idle=case.idle,
        bob_weight=_bob_weight(case, engine),
        measured_pressure=bool(motion.pressure_trace),
        counterweighted=case.counterweight > 0,
        parted=bool(case.parted),
        mains_known=len({one.position for one in bearings if one.of == "main"})
        == len([spot for spot in spots if spot.of == "main"]),
        over_speed=over_speed,
    )


def _know_maps(memory: Memory, spots: Sequence[_Spot]) -> None:
    """Have at hand what was solved before: it rests on the shapes of bearings alone."""
    from ...trade.running.films import KNOWN, FilmMap, Lines, film_map

    def solved() -> Lines:
        return film_map(shape).lines

    for shape in {round(one.width / one.diameter, 3) for one in spots if one.width} - KNOWN.keys():
        KNOWN[shape] = FilmMap.of(memory.of(f"film {shape}", shape, Lines, solved))


def _filmed(
    engine: Engine,
    case: LoadCase,
    spots: Sequence[_Spot],
    borne: Sequence[_Borne],
    named: _Borne | None,
    before: _Before,
) -> tuple[_Borne, _Curves, list[list[FilmThere]]]:
    """The bearing that curves are drawn of, the curves, and the films of all bearings, then of the curves.

    Where a finding ``named`` a bearing, its curves are worked out beside all bearings; else they are of the
    one that the films show.
    """
    if named:
        curves = _curves(engine, case, spots, named)
        return named, curves, _films(engine, [*borne, *curves.borne], before)
    films = _films(engine, borne, before)
    # where none is named: that of the thinnest film as it came, else the rod's that is loaded most
    here = [one for one in zip(borne, films, strict=True) if one[0].speed == _rated(engine)]
    filmed = [(films[0].thinnest, one) for one, films in here if films]
    loaded = max((one for one, _ in here), key=lambda one: (one.spot.of == "rod", one.load.peak))
    named = min(filmed, key=lambda pair: pair[0])[1] if filmed else loaded
    curves = _curves(engine, case, spots, named)
    return named, curves, films + _films(engine, curves.borne, before, "curve")


def _rated(engine: Engine) -> float:
    """The speed of the rated torque [1/min]."""
    return engine.motion.torque_at.to("rpm") if engine.motion and engine.motion.torque_at else 0.0


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


def _throws(case: LoadCase) -> Iterator[tuple[str, float]]:
    """The throws from the front: cylinders of each, and how far its pin stands on from the first one's."""
    first = case.cylinders[0].pin
    for number in dict.fromkeys(one.throw for one in case.cylinders):
        of = [one for one in case.cylinders if one.throw == number]
        yield " ".join(one.name for one in of), round((of[0].pin - first) % 360.0, 1)


def _bob_weight(case: LoadCase, engine: Engine) -> float | None:
    """Of two rods on one pin between rows at an angle, where their parts' masses are known."""
    from ...trade.running.balance import bob_weight

    rods = len(case.cylinders) / len({one.throw for one in case.cylinders})
    angled = bool(engine.motion and engine.motion.bank_angle and engine.motion.bank_angle.to("deg") < 180)
    if rods != 2 or not angled or not case.weighed:
        return None
    return bob_weight(case.masses.big_end, case.masses.reciprocating)


class _Spot(Struct, frozen=True):
    """One bearing with its size and what is known of its clearance."""

    of: Literal["rod", "main"]
    name: str  # of the cylinder, or the number of the main from the front
    position: str
    diameter: float
    width: float | None
    clearances: tuple[_State, ...]  # with its uncertainty
    rough: Mapping[When, float | None]  # mm, of journal and shell together


def _spots(engine: Engine, case: LoadCase, assessment: Assessment) -> Iterator[_Spot]:
    from ...trade.running.films import SHAPES

    motion = engine.motion
    widths = {"main": motion and motion.main_width, "rod": motion and motion.rod_width}
    for name, sheet in engine.of_kind("bearing_clearance").items():
        shaft = sheet.journal
        journal, size = engine.features.get(shaft), engine.standard_size(shaft)
        if journal is None or not journal.positions or size is None:
            continue
        of = _kind(engine, shaft, case)
        if of is None:
            continue
        width = widths[of]
        wide = width.to("mm") if width and SHAPES[0] <= width.to("mm") / size <= SHAPES[1] else None
        for at, position in enumerate(journal.positions):
            # the cylinder whose rod runs there: by the number of its position, else by its place
            number = str(number_of(position))
            named = of == "rod" and number in {one.name for one in case.cylinders}
            runs = number if named else str(at + 1)
            rough = _roughness(engine, assessment, journal.part, position)
            yield _Spot(of, runs, position, size, wide, tuple(_clearances(assessment, name, position)), rough)


def _kind(engine: Engine, journals: str, case: LoadCase) -> Literal["rod", "main"] | None:
    """Whether rods run in them, or the crank itself: by their housings, else by how many they are."""
    known = carries_rods(engine, journals)
    many, throws = len(engine.features[journals].positions), len({one.throw for one in case.cylinders})
    rods = many in (len(case.cylinders), throws)
    if known is None and rods == (many == throws + 1):
        return None
    return "rod" if known or (known is None and rods) else "main"


def _roughness(
    engine: Engine, assessment: Assessment, part: str | None, position: str
) -> Mapping[When, float | None]:
    """The sheet's of journal and shell together; where the journal alone was read rougher, that [mm]."""
    stated = engine.motion.roughness.to("mm") if engine.motion and engine.motion.roughness else None
    found: dict[When, float | None] = {"arrival": stated, "now": stated}
    for one in assessment.characteristics:
        sheet = engine.features.get(one.feature)
        of_it = sheet is not None and (sheet.kind, sheet.part, one.position) == ("roughness", part, position)
        if of_it and one.name == "rz" and one.value is not None:
            state: When = "arrival" if one.round in assessment.as_found else "now"
            if state == "arrival" or one.stands:
                found[state] = max(stated or 0.0, factor(one.unit, "mm") * one.value)
    return found


def _clearances(assessment: Assessment, feature: str, position: str) -> Iterator[_State]:
    here = [one for one in assessment.characteristics if (one.feature, one.position) == (feature, position)]
    told = ("mean_clearance", "clearance", "smallest_clearance")
    ones = [one for one in here if (one.direct or one.name in told) and one.value is not None]
    ones.sort(key=lambda one: one.name != "mean_clearance")  # the mean of them, else the first that was read
    arrived = [one for one in ones if one.round in assessment.as_found]
    now = [one for one in ones if one.stands and one.round not in assessment.as_found]
    states: tuple[tuple[When, list[Characteristic]], ...] = (("arrival", arrived), ("now", now))
    for state, values in states:
        for one in values[:1]:
            if one.value:
                yield state, one.value, one.standard_uncertainty or 0.0


class _Borne(Struct, frozen=True):
    """One bearing with its load at one speed."""

    spot: _Spot
    load: BearingLoad
    speed: float
    peaks: tuple[float, float] = (0.0, 0.0)  # N: from what to what, as the mixture may burn


def _borne(engine: Engine, case: LoadCase, spots: Sequence[_Spot], speed: float) -> Iterator[_Borne]:
    cycles = (case.idling,) if speed == case.idle else (case.cycle, *case.likely)
    loads, *likely = (_loads(engine, case, spots, cycle, speed) for cycle in cycles)
    for spot in spots:
        place = (spot.of, spot.name)
        if (load := loads.get(place)) is not None:
            peaks = [load.peak, *(other[place].peak for other in likely)]
            yield _Borne(spot, load, speed, (min(peaks), max(peaks)))


def _loads(
    engine: Engine, case: LoadCase, spots: Sequence[_Spot], cycle: GasCycle, speed: float
) -> dict[tuple[str, str], BearingLoad]:
    from ...trade.running.crankloads import crank_loads

    motion, (right, up, lever) = engine.motion, case.nose
    mains = len([spot for spot in spots if spot.of == "main"])
    throws = len({one.throw for one in case.cylinders})
    if lever and motion and motion.throw_spacing:
        apart = motion.throw_spacing.to("mm") * throws / max(mains - 1, 1)  # of the first two mains
        lever /= apart
    found = crank_loads(
        case.cylinders,
        case.mechanism,
        case.masses,
        cycle,
        speed,
        case.counterweight,
        (right, up, lever),
        mains,
        case.parted,
    )
    rods = {("rod", name): load for name, load in found.rods.items()}
    return rods | {("main", str(number)): load for number, load in enumerate(found.mains, 1)}


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
        tuple((float(round(x)), float(round(y))) for x, y in zip(right[::KEPT], up[::KEPT], strict=True)),
        one.peaks,
        tuple(films),
    )


def _films(
    engine: Engine, borne: Sequence[_Borne], before: _Before, name: str = "films"
) -> list[list[FilmThere]]:
    """Films of each that has a known width, with the grade of oil: at each clearance and at both its ends."""
    found: list[list[FilmThere]] = [[] for _ in borne]
    oil = _oil(engine)
    if oil is None:
        return found
    asked = [
        (there, one, state)
        for one, there in zip(borne, found, strict=True)
        for state in (one.spot.clearances if one.spot.width is not None else ())
    ]
    rest_on = [(before.rests_on, *_film_rests_on(one, state)) for _, one, state in asked]

    def work(missing: Sequence[int]) -> list[FilmThere]:
        return _worked_films(engine, oil, [asked[at][1:] for at in missing])

    films = before.memory.of_each(f"{name} {before.job}", rest_on, FilmThere, work) if asked else []
    for (there, *_), film in zip(asked, films, strict=True):
        there.append(film)
    return found


def _film_rests_on(one: _Borne, state: _State) -> tuple[object, ...]:
    """What a film rests on, beside the sheet and what was weighed."""
    spot, load = one.spot, one.load
    bearing = (spot.of, spot.name, spot.diameter, spot.width, spot.rough[state[0]])
    return (*bearing, one.speed, load.mean, load.peak, load.peak_at, state)


def _worked_films(engine: Engine, oil: Oil, asked: Sequence[tuple[_Borne, _State]]) -> list[FilmThere]:
    """A hundred paths of journals cost as much as one."""
    from ...trade.running.films import PlainBearing, shear_loss, warm_film
    from ...trade.running.orbits import orbits

    cases: list[tuple[_Borne, _State, list[PlainBearing], WarmFilm]] = []
    for one, state in asked:
        spot, (_, clearance, u) = one.spot, state
        ends = (max(clearance - 2 * u, clearance / 4), clearance + 2 * u) if u else ()
        these = [PlainBearing(spot.diameter, spot.width or 0.0, width) for width in (clearance, *ends)]
        cases.append((one, state, these, warm_film(these[0], one.load.mean, one.speed, oil, _supply(engine))))
    each = [(one, bearing, warm) for one, _, these, warm in cases for bearing in these]
    many = iter(
        orbits(
            [one.load for one, _, _ in each],
            [bearing for _, bearing, _ in each],
            [one.speed for one, _, _ in each],
            [warm.viscosity for _, _, warm in each],
        )
    )
    films = []
    for one, (when, clearance, _), these, warm in cases:
        middle, *others = islice(many, len(these))
        thin = sorted(orbit.thinnest for orbit in (middle, *others))
        films.append(
            FilmThere(
                when,
                clearance,
                middle.thinnest,
                thin[0],
                thin[-1],
                middle.thinnest_at,
                warm.temperature,
                shear_loss(these[0], middle.eccentricity, one.speed, warm.viscosity),
                warm.film.thinnest,
                warm.film.flow,
                one.spot.rough[when],
            )
        )
    return films


def _oil(engine: Engine) -> Oil | None:
    from ...trade.running.films import oil_of

    if engine.motion is None or not engine.motion.oil:
        return None
    try:
        return oil_of(engine.motion.oil)
    except ValueError:
        return None  # told at its line


def _supply(engine: Engine) -> float:
    motion = engine.motion
    return motion.oil_temperature.to("°C") if motion and motion.oil_temperature else SUPPLY


def _named(borne: Sequence[_Borne], speed: float, assessment: Assessment) -> _Borne | None:
    """The bearing that the first finding about one names, at a speed."""
    here = {one.spot.position: one for one in borne if one.speed == speed}
    named = (position for finding in assessment.findings for position in finding.positions)
    return next((here[position] for position in named if position in here), None)


class _Curves(Struct, frozen=True):
    """One bearing at clearances from a third to three times its own, and over the speeds at which an engine
    is asked for torque."""

    widths: Sequence[float] = ()
    alike: Sequence[_Borne] = ()
    over: Sequence[_Borne] = ()

    @property
    def borne(self) -> list[_Borne]:
        return [*self.alike, *self.over]

    def told(
        self, films: Sequence[list[FilmThere]]
    ) -> tuple[tuple[tuple[float, float], ...], tuple[SpeedPoint, ...]]:
        """How thin its film is at each, by the films of its cases."""
        thin = [there[0].thinnest for there in films[: len(self.alike)]]
        curve = tuple((round(w, 4), film) for w, film in zip(self.widths, thin, strict=True))
        points = []
        for one, there in zip(self.over, films[len(self.alike) :], strict=False):
            by_state: dict[str, float] = {film.state: film.thinnest for film in there}
            load, ends = one.load, (by_state.get("arrival"), by_state.get("now"))
            points.append(SpeedPoint(one.speed, load.peak, load.peak_at, load.upper_share, *ends))
        return curve, tuple(points)


def _curves(engine: Engine, case: LoadCase, spots: Sequence[_Spot], one: _Borne) -> _Curves:
    filmed = one.spot.clearances if one.spot.width is not None and _oil(engine) else ()
    now = filmed[-1][1] if filmed else 0.0
    widths = [now / 3 * 9 ** (i / (FILM_POINTS - 1)) for i in range(FILM_POINTS)] if now else []
    alike = [replace(one, spot=replace(one.spot, clearances=(("now", width, 0.0),))) for width in widths]
    return _Curves(widths, alike, [*_over_speed(engine, case, spots, one.spot)])


def _over_speed(engine: Engine, case: LoadCase, spots: Sequence[_Spot], spot: _Spot) -> Iterator[_Borne]:
    """One bearing at the speeds from half of the rated one's on, with its clearances as they were read."""
    low, high = _rated(engine) / 2, max(case.speeds)
    if high <= low:
        return
    plain = replace(case, likely=(), idle=None)
    if spot.of == "rod":  # which bears what its own cylinder does
        own = [replace(one, throw=0) for one in case.cylinders if one.name == spot.name]
        plain = replace(plain, cylinders=own)
    read = tuple((when, clearance, 0.0) for when, clearance, _ in spot.clearances)
    for at in range(SPEEDS):
        for one in _borne(engine, plain, spots, low + (high - low) * at / (SPEEDS - 1)):
            if one.spot is spot:
                yield replace(one, spot=replace(spot, clearances=read))
