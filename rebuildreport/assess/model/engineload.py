"""What bearings bear while the engine runs: loads, halves, films. Advisory, decides nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from .edition import Public


@dataclass(frozen=True, slots=True)
class FilmThere:
    """The oil film of a bearing at one state of its clearance [mm]."""

    state: Public[Literal["arrival", "now"]]
    clearance: Public[float]
    thinnest: Public[float]
    low: Public[float]  # over the uncertainty of the clearance, two standard uncertainties either way
    high: Public[float]
    at: Public[float]  # crank angle of it, degrees after the first cylinder's firing
    temperature: Public[float]  # °C, of the oil in it
    loss: Public[float]  # W


@dataclass(frozen=True, slots=True)
class BearingAt:
    """One bearing at one speed."""

    position: Public[str]
    of: Public[Literal["rod", "main"]]
    speed: Public[float]  # 1/min
    peak: Public[float]  # N
    peak_at: Public[float]  # degrees after the first cylinder's firing
    specific: Public[float | None]  # MPa on the projected area
    upper_share: Public[float]  # of the load over the cycle, on the half at the shank, or in the block
    path: Public[tuple[tuple[float, float], ...]]  # of the load, to the right and up of the bearing [N]
    films: Public[tuple[FilmThere, ...]] = ()


@dataclass(frozen=True, slots=True)
class ShakingThere:
    """What shakes an engine on its mounts at its rated torque's speed, crankshaft balanced."""

    order: Public[int]
    force: Public[float]  # N
    couple: Public[float | None]  # N·m; None where nobody says how far throws are apart


@dataclass(frozen=True, slots=True)
class EngineLoads:
    """All bearings at all speeds that were looked at, and what it rests on."""

    bearings: Public[tuple[BearingAt, ...]]
    speeds: Public[tuple[float, ...]]
    torque: Public[float]  # N·m
    torque_at: Public[float]  # 1/min
    peak_pressure: Public[tuple[float, float, float]]  # bar: taken, and from what to what it may be
    weighed: Public[bool]  # masses; else estimated from the bore
    oil: Public[str] = ""
    oil_temperature: Public[float | None] = None  # °C, of what comes to the bearings
    roughness: Public[float | None] = None  # mm, of journal and shell together
    curve: Public[tuple[tuple[float, float], ...]] = ()  # of one bearing: clearance, thinnest film
    curve_of: Public[str] = ""
    shaking: Public[tuple[ShakingThere, ...]] = ()
    valves_meet: Public[float | None] = None  # degrees either side of every upper dead centre, cam drive off
    bob_weight: Public[float | None] = None  # g, on each throw of a V engine while its crank is balanced

    def at(self, position: str, speed: float) -> BearingAt | None:
        return next((one for one in self.bearings if (one.position, one.speed) == (position, speed)), None)
