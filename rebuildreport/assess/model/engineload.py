"""What bearings bear while the engine runs: loads, halves, films. Advisory, decides nothing."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from .edition import Public


class FilmThere(Struct, frozen=True):
    """The oil film of a bearing at one state of its clearance [mm]."""

    state: Public[Literal["arrival", "now"]]
    clearance: Public[float]
    thinnest: Public[float]
    low: Public[float]  # over the uncertainty of the clearance, two standard uncertainties either way
    high: Public[float]
    at: Public[float]  # crank angle of it, degrees after the first cylinder's firing
    temperature: Public[float]  # °C, of the oil in it
    loss: Public[float]  # W
    steady: Public[float]  # mm: thinnest of a steady film under the mean load
    flow: Public[float]  # mm³/s out at its sides
    roughness: Public[float | None] = None  # mm, of journal and shell together; as read, where that is more


class BearingAt(Struct, frozen=True):
    """One bearing at one speed."""

    position: Public[str]
    of: Public[Literal["rod", "main"]]
    speed: Public[float]  # 1/min
    peak: Public[float]  # N
    peak_at: Public[float]  # degrees after the first cylinder's firing
    specific: Public[float | None]  # MPa on the projected area
    upper_share: Public[
        float
    ]  # of the load over the cycle, on the half at the shank, in the block, or ``parted``
    path: Public[tuple[tuple[float, float], ...]]  # of the load, to the right and up of the bearing [N]
    peaks: Public[tuple[float, float]]  # N: from what to what, as the mixture may burn
    films: Public[tuple[FilmThere, ...]] = ()


class ShakingThere(Struct, frozen=True):
    """What shakes an engine on its mounts at its rated torque's speed, crankshaft balanced."""

    order: Public[int]
    force: Public[float]  # N
    couple: Public[float | None]  # N·m; None where nobody says how far throws are apart


class SpeedPoint(Struct, frozen=True):
    """One bearing at one of many speeds."""

    speed: Public[float]  # 1/min
    peak: Public[float]  # N
    peak_at: Public[float]  # degrees after the first cylinder's firing
    upper_share: Public[float]
    arrival: Public[float | None]  # thinnest film, mm
    now: Public[float | None]


class ValveGap(Struct, frozen=True):
    """How near one valve comes to its piston as the engine turns in time."""

    exhaust: Public[bool]
    # crank angle of its highest lift, from the upper dead centre of gas exchange; None: read point by point
    centre: Public[float | None]
    late: Public[float]  # degrees of that by a chain that has grown and a skim; none of a wheel's reading
    read: Public[bool]  # its timing by degree wheel on this engine; else as the sheet has it
    curve: Public[tuple[tuple[float, float], ...]]  # crank angle, gap [mm]
    least: Public[float]  # mm
    at: Public[float]  # degrees


class EngineLoads(Struct, frozen=True):
    """All bearings at all speeds that were looked at, and what it rests on."""

    bearings: Public[tuple[BearingAt, ...]]
    speeds: Public[tuple[float, ...]]
    torque: Public[float]  # N·m
    torque_at: Public[float]  # 1/min
    peak_pressure: Public[tuple[float, float, float]]  # bar: taken, and from what to what it may be
    weighed: Public[bool]  # masses; else estimated from the bore
    oil: Public[str] = ""
    oil_temperature: Public[float | None] = None  # °C, of what comes to the bearings
    roughness: Public[float | None] = None  # mm, of journal and shell together, as the sheet has it
    curve: Public[tuple[tuple[float, float], ...]] = ()  # of one bearing: clearance, thinnest film
    curve_of: Public[str] = ""
    shaking: Public[tuple[ShakingThere, ...]] = ()
    valves_meet: Public[float | None] = None  # degrees either side of every upper dead centre, cam drive off
    valve_gaps: Public[tuple[ValveGap, ...]] = ()
    valve_open: Public[tuple[tuple[float, float], ...]] = ()  # the gap of one that stands fully open
    valve_room: Public[float | None] = None  # mm, shut valve to piston at the upper dead centre, as it is now
    bob_weight: Public[float | None] = None  # g, on each throw of a V engine while its crank is balanced
    throws: Public[tuple[tuple[str, float], ...]] = ()  # cylinders of each, degrees from the first
    measured_pressure: Public[bool] = False  # a trace, and no cycle of heat release
    counterweighted: Public[bool] = False
    parted: Public[bool] = False  # mains between two halves of a case, the upper one at cylinder 1; no caps
    idle: Public[float | None] = None  # 1/min, at which little is asked of it
    mains_known: Public[bool] = True  # False: they do not stand evenly between the throws
    over_speed: Public[tuple[SpeedPoint, ...]] = ()  # of the bearing that the curve is of

    def rough(self, one: BearingAt | None) -> float:
        """Beside the film of a bearing as it is, else as it came [mm]; 0 where nobody knows."""
        return (one.films[-1].roughness if one and one.films else self.roughness) or 0.0

    def at(self, position: str, speed: float) -> BearingAt | None:
        return next((one for one in self.bearings if (one.position, one.speed) == (position, speed)), None)
