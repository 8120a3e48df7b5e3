"""Loads and oil films as report and record tell them: one drawing and two sentences, and a table of all.

In: EngineLoads of an Assessment.  Out: views.  Advisory: says what the model leaves out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from ...assess.model.assessment import Assessment
from ...assess.model.engineload import BearingAt, EngineLoads, ShakingThere
from ...quantities import message
from ..drawings.canvas import Drawing
from ..drawings.film_drawings import NARROW, WIDE, loaded_halves, speed
from ..press.language import say, show, spoken
from ..press.words import NBSP, System

HALVES = message(
    {
        "rod": "At {speed} and full torque up to {load} press on {position}; {share} % of what it bears over "
        "a cycle lies on the half at the rod's shank.",
        "main": "At {speed} and full torque up to {load} press on {position}; {share} % of what it bears "
        "over a cycle lies on the block's half.",
        "cap": "At {speed} and full torque up to {load} press on {position}; {share} % of what it bears over "
        "a cycle lies on the cap's half.",
    }
)


@dataclass(frozen=True, slots=True)
class RunningView:
    """What the report shows of one bearing."""

    title: str
    wide: Drawing
    narrow: Drawing
    sentences: tuple[str, ...]
    leaves_out: str


@dataclass(frozen=True, slots=True)
class RunningTable:
    """What the record lists of all bearings: one a row, what it bears at each speed side by side."""

    rests_on: tuple[str, ...]
    speeds: tuple[str, ...]
    groups: tuple[str, ...]  # what is told at each of the speeds
    rows: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]  # position, and each group's cells
    leaves_out: str


def running_view(job: Assessment) -> RunningView | None:
    """The bearing that a finding is about; None where none is, and where no film was worked out."""
    loads = job.loads
    one = loads.at(loads.curve_of, loads.torque_at) if loads else None
    if loads is None or one is None or not any(one.position in finding.positions for finding in job.findings):
        return None
    system = job.system
    return RunningView(
        say("What {position} bears, and its oil film", position=one.position),
        loaded_halves(one, loads, WIDE, system),
        loaded_halves(one, loads, NARROW, system),
        (_bears(one, loads), _runs(one, loads, system)),
        _leaves_out(),
    )


def running_table(job: Assessment) -> RunningTable | None:
    """Every bearing at every speed, for the record; angles stand in results.json."""
    loads = job.loads
    if loads is None:
        return None
    groups: dict[str, Callable[[BearingAt], str]] = {
        say("highest load, kN"): lambda one: spoken().figures(f"{one.peak / 1000:.1f}"),
        say("the same, MPa"): lambda one: spoken().figures(f"{one.specific:.1f}") if one.specific else "",
        say("on its upper half, %"): lambda one: f"{100 * one.upper_share:.0f}",
        say("film on arrival, µm"): lambda one: _film(one, "arrival"),
        say("film now, µm"): lambda one: _film(one, "now"),
    }
    known = {title: tell for title, tell in groups.items() if any(map(tell, loads.bearings))}
    rows = []
    for position in dict.fromkeys(one.position for one in loads.bearings):
        at_speeds = [loads.at(position, at) for at in loads.speeds]
        cells = tuple(tuple(tell(one) if one else "" for one in at_speeds) for tell in known.values())
        rows.append((position, cells))
    speeds = tuple(f"{at:.0f}" for at in loads.speeds)
    return RunningTable(tuple(_rests_on(loads)), speeds, tuple(known), tuple(rows), _leaves_out())


def _film(one: BearingAt, state: str) -> str:
    film = next((film for film in one.films if film.state == state), None)
    if film is None:
        return ""
    low, middle, high = (1000 * value for value in (film.low, film.thinnest, film.high))
    return spoken().figures(f"{middle:.1f} ({low:.1f}–{high:.1f})")


def _bears(one: BearingAt, loads: EngineLoads) -> str:
    upper = one.upper_share >= 0.5
    share = round(100 * (one.upper_share if upper else 1 - one.upper_share))
    words = HALVES[one.of if upper else "cap"]
    load = spoken().figures(f"{one.peak / 1000:.0f}") + f"{NBSP}kN"
    return say(words, speed=speed(one.speed), load=load, position=one.position, share=share)


def _runs(one: BearingAt, loads: EngineLoads, system: System) -> str:
    said = []
    for film in one.films:
        clearance = show(film.clearance, "mm", 3, system)
        known = {
            "clearance": f"{clearance.text}{NBSP}{clearance.unit_text}",
            "film": _micro(film.thinnest),
            "rough": _micro(loads.roughness or 0.0),
        }
        if film.state == "now":
            said.append(say("With {clearance} now it keeps {film}.", **known))
        elif loads.roughness:
            words = message(
                "With {clearance} as it came its oil film was {film} at its thinnest, beside {rough} of "
                "roughness."
            )
            said.append(say(words, **known))
        else:
            said.append(say("With {clearance} as it came its oil film was {film} at its thinnest.", **known))
    return " ".join(said)


def _micro(value: float) -> str:
    return spoken().figures(f"{1000 * value:.1f}") + f"{NBSP}µm"


def _leaves_out() -> str:
    return say(
        "Worked out, not measured, and it decides nothing: parts rigid and round, full of oil. It shows "
        "neither lost oil pressure nor noise, nor edges that a bent shaft loads."
    )


def _rests_on(loads: EngineLoads) -> list[str]:
    taken, low, high = (f"{value:.0f}" for value in loads.peak_pressure)
    said = [
        say(
            "Gas pressure of a cycle with the rated torque of {torque} at {speed}: {taken} bar at most, "
            "{low} to {high} as the mixture may burn. Each main bears half of the throws beside it.",
            torque=f"{loads.torque:.0f}{NBSP}N·m",
            speed=speed(loads.torque_at),
            taken=taken,
            low=low,
            high=high,
        ),
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
    if loads.shaking:
        first, second = (_shakes(one) for one in loads.shaking)
        words = message(
            "With its crankshaft balanced the engine shakes on its mounts at {speed} by {first} in the first "
            "order and {second} in the second."
        )
        at = speed(loads.torque_at)
        yield say(words, speed=at, first=first, second=second)
    if loads.valves_meet is not None:
        words = message(
            "With the cam drive off a fully open valve meets its piston within {angle} of every upper dead "
            "centre."
        )
        yield say(words, angle=f"{loads.valves_meet:.0f}°")
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
