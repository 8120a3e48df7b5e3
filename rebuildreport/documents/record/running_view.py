"""Loads and oil films as report and record tell them: one drawing and two sentences, and a table of all.

In: EngineLoads of an Assessment.  Out: views.  Advisory: says what the model leaves out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.model.engineload import BearingAt, EngineLoads, ShakingThere
from ...quantities import message
from ..drawings.canvas import Drawing
from ..drawings.film_drawings import (
    NARROW,
    WIDE,
    loaded_half,
    loaded_halves,
    over_speed,
    speed,
    valve_gaps,
)
from ..press.language import say, show, spoken
from ..press.words import NBSP, System, micro

FROM_LIFT = message(
    {
        "events": "Worked out from lift, timing and the room at the upper dead centre, less what was skimmed "
        "off; a lobe's flanks are taken as round.",
        "points": "Worked out from the lift as read point by point and the room at the upper dead centre, "
        "less what was skimmed off.",
    }
)
STEADY = message({"µm": "film", "°C": "oil", "cm³/s": "flow", "W": "loss"})
STILL = 1.0  # N, and N·m: less is what rounding leaves
LETTERS = 104  # of figures in small type, on a line of the page


class RunningView(Struct, frozen=True):
    """What the report shows of one bearing, or of valves and pistons."""

    title: str
    wide: Drawing
    narrow: Drawing
    sentences: tuple[str, ...]
    leaves_out: str


class RunningTable(Struct, frozen=True):
    """What the record lists of all bearings: one a row, what it bears at each speed side by side."""

    rests_on: tuple[str, ...]
    wide: Drawing | None  # one bearing over speed
    narrow: Drawing | None
    over_speed: str
    groups: tuple[tuple[str, tuple[str, ...]], ...]  # what is told, and the head of each of its columns
    rows: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]  # position, and each group's cells
    leaves_out: str

    @property
    def tables(self) -> tuple[tuple[int, int], ...]:
        """From which group to which they stand beside each other: as many as a page is wide."""
        cuts, room = [0], 0
        for i, (_, heads) in enumerate(self.groups):
            across = sum(max(len(row[1][i][k]) for row in self.rows) + 1 for k in range(len(heads)))
            if room and room + across > LETTERS:
                cuts.append(i)
                room = 0
            room += across
        return tuple(pairwise((*cuts, len(self.groups))))


def running_view(job: Assessment) -> RunningView | None:
    """The bearing that a finding is about; None where none is, and where no film was worked out."""
    loads = job.loads
    one = loads.at(loads.curve_of, loads.torque_at) if loads else None
    if loads is None or one is None or not any(one.position in finding.positions for finding in job.findings):
        return None
    title = message("What {position} bears, and its oil film" if one.films else "What {position} bears")
    system = job.system
    return RunningView(
        say(title, position=named(one)),
        loaded_halves(one, loads, WIDE, system),
        loaded_halves(one, loads, NARROW, system),
        (_bears(one, loads), _runs(one, system)),
        _leaves_out(),
    )


def valves_view(job: Assessment) -> RunningView | None:
    """How near valves come to their pistons; None where the sheet does not name lift and room."""
    loads = job.loads
    if loads is None or not (loads.valve_gaps or loads.valves_meet):
        return None
    by = "points" if any(gap.centre is None for gap in loads.valve_gaps) else "events"
    return RunningView(
        say("Valves and pistons"),
        valve_gaps(loads, WIDE, job.system),
        valve_gaps(loads, NARROW, job.system),
        (_in_time(loads, job.system), _out_of_time(loads)),
        f"{say(FROM_LIFT[by])} {_read_directly(job)}",
    )


def _read_directly(job: Assessment) -> str:
    """The least gap read with clay or a dial, as the engine has it now, else as it came."""
    kinds = {feature.name: feature.kind for feature in job.features}
    read = [
        one
        for one in job.characteristics
        if kinds.get(one.feature) == "valve_to_piston" and one.value is not None
    ]
    now = [one for one in read if one.stands] or read
    if not now:
        return say("Clay or a dial shows what it is.")
    least = min(now, key=lambda one: one.value or 0.0)
    gap = show(least.value or 0.0, "mm", least.decimals, job.system)
    words = message("Read with clay or a dial: {gap} at {position}.")
    return say(words, gap=f"{gap.text}{NBSP}{gap.unit}", position=least.position)


def _still(loads: EngineLoads) -> bool:
    return max((max(one.force, one.couple or 0.0) for one in loads.shaking), default=0.0) < STILL


def _in_time(loads: EngineLoads, system: System) -> str:
    if not loads.valve_gaps:
        return ""
    nearest = min(loads.valve_gaps, key=lambda gap: gap.least)
    gap = show(nearest.least, "mm", 1, system)
    known = {
        "valve": say("exhaust valves") if nearest.exhaust else say("intake valves"),
        "gap": f"{gap.text}{NBSP}{gap.unit}",
        "angle": f"{abs(nearest.at):.0f}°",
    }
    if nearest.least <= 0:
        return say("In time the {valve} meet their pistons: neither crank nor cam is turned.", **known)
    if nearest.read:
        words = message(
            "In time, by degree wheel, the {valve} come as near as {gap}, {angle} from the upper dead centre."
        )
    elif nearest.late:
        words = message(
            "With the cam {late} late the {valve} come as near as {gap}, {angle} from the upper dead centre."
        )
        known["late"] = f"{nearest.late:.1f}°"
    else:
        words = message("In time the {valve} come as near as {gap}, {angle} from the upper dead centre.")
    return say(words, **known)


def _out_of_time(loads: EngineLoads) -> str:
    if loads.valves_meet is None:
        return say("With the cam drive off no valve reaches its piston.")
    words = message(
        "With the cam drive off a fully open valve meets its piston within {angle} of every upper dead "
        "centre: turn neither crank nor cam then."
    )
    return say(words, angle=f"{loads.valves_meet:.0f}°")


def running_table(job: Assessment) -> RunningTable | None:
    """Every bearing at every speed, for the record; angles stand in results.json."""
    loads = job.loads
    if loads is None:
        return None
    rated = loads.torque_at
    groups: tuple[tuple[str, Callable[[BearingAt], str], bool], ...] = (
        (say("highest load, kN"), lambda one: spoken().figures(f"{one.peak / 1000:.1f}"), True),
        ("MPa", lambda one: spoken().figures(f"{one.specific:.1f}") if one.specific else "", False),
        (say("on its upper half, %"), lambda one: f"{100 * one.upper_share:.0f}", True),
        (say("film on arrival, µm"), lambda one: _film(one, "arrival", rated), True),
        (say("film now, µm"), lambda one: _film(one, "now", rated), True),
    )
    # where each is told: at every speed, or at the rated torque's alone, for want of room
    known = [
        (title, tell, loads.speeds if every else (rated,))
        for title, tell, every in groups
        if any(map(tell, loads.bearings))
    ]
    told = [(title, tuple(_head(at, loads) for at in speeds)) for title, _, speeds in known]
    steady = any(one.films for one in loads.bearings)
    if steady:
        told.append(
            (
                say("steady at {speed}", speed=speed(loads.torque_at)),
                tuple(f"{say(what)}\n{unit}" for unit, what in STEADY.items()),
            )
        )
    rows = []
    for position in dict.fromkeys(one.position for one in loads.bearings):
        cells = [tuple(_cell(tell, loads.at(position, at)) for at in speeds) for _, tell, speeds in known]
        cells += [_steady(loads.at(position, loads.torque_at))] if steady else []
        rows.append((position, tuple(cells)))
    drawn, shown = bool(loads.over_speed), loads.at(loads.curve_of, loads.torque_at)
    words = message("{position} over speed, at the torque's pressure throughout:")
    return RunningTable(
        tuple(_rests_on(loads)),
        over_speed(loads, WIDE) if drawn else None,
        over_speed(loads, NARROW) if drawn else None,
        say(words, position=named(shown)) if shown else "",
        tuple(told),
        tuple(rows),
        _leaves_out(),
    )


def _cell(tell: Callable[[BearingAt], str], one: BearingAt | None) -> str:
    return tell(one) if one else ""


def _head(at: float, loads: EngineLoads) -> str:
    return say("{speed}, idling", speed=f"{at:.0f}") if at == loads.idle else f"{at:.0f}"


def _steady(one: BearingAt | None) -> tuple[str, ...]:
    """Of the last state of its clearance, under the mean load: film, temperature, flow and loss."""
    if one is None or not one.films:
        return ("",) * len(STEADY)
    film = one.films[-1]
    thinnest, flow = (spoken().figures(f"{value:.1f}") for value in (1000 * film.steady, film.flow / 1000))
    return thinnest, f"{film.temperature:.0f}", flow, f"{film.loss:.0f}"


def _film(one: BearingAt, state: str, rated: float) -> str:
    """The thinnest film; at the rated torque's speed with what the clearance's uncertainty makes of it."""
    film = next((film for film in one.films if film.state == state), None)
    if film is None:
        return ""
    low, middle, high = (1000 * value for value in (film.low, film.thinnest, film.high))
    around = f" ({low:.1f}–{high:.1f})" if one.speed == rated else ""
    return spoken().figures(f"{middle:.1f}{around}")


def named(one: BearingAt) -> str:
    """A bearing by its position, where that is more than a number."""
    if not one.position.isdigit():
        return one.position
    words = message({"rod": "rod bearing {position}", "main": "main bearing {position}"})
    return say(words[one.of], position=one.position)


def _bears(one: BearingAt, loads: EngineLoads) -> str:
    half, bears = loaded_half(one.of, one.upper_share, loads)
    words = message(
        "At {speed} and full torque up to {load} press on {position}; {share} % of what it bears over a "
        "cycle lies on {half}."
    )
    load = spoken().figures(f"{one.peak / 1000:.0f}") + f"{NBSP}kN"
    known = {"load": load, "position": named(one), "share": f"{100 * bears:.0f}", "half": half}
    return say(words, speed=speed(one.speed), **known)


def _runs(one: BearingAt, system: System) -> str:
    said = []
    for film in one.films:
        clearance = show(film.clearance, "mm", 3, system)
        known = {
            "clearance": f"{clearance.text}{NBSP}{clearance.unit}",
            "film": micro(film.thinnest),
            "rough": micro(film.roughness or 0.0),
        }
        if film.state == "now":
            said.append(say("With {clearance} now it keeps {film}.", **known))
        elif film.roughness:
            words = message(
                "With {clearance} as it came its oil film was {film} at its thinnest, beside {rough} of "
                "roughness."
            )
            said.append(say(words, **known))
        else:
            said.append(say("With {clearance} as it came its oil film was {film} at its thinnest.", **known))
    return " ".join(said)


def _leaves_out() -> str:
    return say(
        "Worked out, not measured, and it decides nothing: parts rigid and round, full of oil. It shows "
        "neither lost oil pressure nor noise, nor edges that a bent shaft loads."
    )


def _rests_on(loads: EngineLoads) -> list[str]:
    taken, low, high = (f"{value:.0f}" for value in loads.peak_pressure)
    rated = [one for one in loads.bearings if one.speed == loads.torque_at]
    ends = [end / one.peak for one in rated for end in one.peaks]
    cycle = message(
        "Gas pressure of a cycle with the rated torque of {torque} at {speed}: {taken} bar at most, {low} to "
        "{high} as the mixture may burn, and so loads of {least} to {most} %; idling with little load."
    )
    if loads.measured_pressure:
        cycle = message("Gas pressure as measured: {taken} bar at most; idling with little load.")
    mains = message(
        "Mains bear the throws beside them by their distance, as if the crank were cut at each; its "
        "counterweights are not known."
    )
    if loads.counterweighted:
        mains = message(
            "Mains bear the throws beside them by their distance, as if the crank were cut at each."
        )
    if not loads.mains_known:
        mains = message("Mains stand unevenly between the throws: their loads are not worked out.")
    said = [
        say(
            cycle,
            torque=f"{loads.torque:.0f}{NBSP}N·m",
            speed=speed(loads.torque_at),
            taken=taken,
            low=low,
            high=high,
            least=f"{100 * min(ends):.0f}",
            most=f"{100 * max(ends):.0f}",
        ),
        *([say("Mains have their upper half on the side of cylinder 1.")] if loads.parted else []),
        *([say(mains)] if any(one.of == "main" for one in loads.bearings) or not loads.mains_known else []),
        say("Moving masses as weighed or as the sheet gives them.")
        if loads.weighed
        else say("Moving masses estimated from the bore, to about a third."),
    ]
    said += _balance(loads)
    if loads.oil:
        words = message(
            "Oil {oil}, coming in at {temperature}; films in brackets: over the clearance's uncertainty."
        )
        said.append(say(words, oil=loads.oil, temperature=f"{loads.oil_temperature:.0f}{NBSP}°C"))
    return said


def _balance(loads: EngineLoads) -> Iterator[str]:
    """What shakes the engine on its mounts, and what to clamp to the pins of a V engine's crankshaft."""
    if loads.shaking and _still(loads):
        yield say("With its crankshaft balanced nothing of the first and second order shakes the engine.")
    elif loads.shaking:
        first, second = (_shakes(one) for one in loads.shaking)
        words = message(
            "With its crankshaft balanced the engine shakes on its mounts at {speed} by {first} in the first "
            "order and {second} in the second."
        )
        yield say(words, speed=speed(loads.torque_at), first=first, second=second)
    if loads.bob_weight is not None:
        words = message(
            "Bob weight for each pin: {mass}, both big ends and half of what goes up and down; add the oil "
            "in the pin."
        )
        yield say(words, mass=f"{loads.bob_weight:.0f}{NBSP}g")


def _shakes(one: ShakingThere) -> str:
    force = spoken().figures(f"{one.force / 1000:.1f}") + f"{NBSP}kN"
    if one.couple is None:
        return force
    return say("{force} and {couple}", force=force, couple=f"{one.couple:.0f}{NBSP}N·m")
