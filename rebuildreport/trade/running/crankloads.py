"""Forces on every rod and main bearing over the cycle: which half of each is loaded, and how hard.

Rigid parts at a steady speed; a rod is two masses, at its eyes.  The load of a throw goes to the two mains
beside it alone, by its distance from each (half and half where a main stands between any two throws): a
crankshaft is stiffer than that and its housings are not, so the mains' figures are of the order of size, and
the rods' are exact for what they were worked out from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, lru_cache
from itertools import pairwise, product
from math import prod

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from .gas import STEP, GasCycle
from .mechanism import Array, Mechanism, per_second

FASTEST = 20_000.0  # revolutions a minute: beyond, it is a slip of the pen
MOST_WAYS = 5000  # of firing: a V12 with split pins has 4096
ALIKE = 1.0  # degrees by which pins of one throw may differ


class FiringCylinder(Struct, frozen=True):
    """One cylinder of an engine.

    ``leans``: its axis from the upright, in the crank's sense of turning [degrees]; ``fires``: crank angle of
    its firing, after that of the first to fire [degrees]; ``throw``: number of its throw from the front,
    from 0.
    """

    name: str
    leans: float
    fires: float
    throw: int

    @property
    def pin(self) -> float:
        """Where its crank pin stands when the first to fire does [degrees from the upright]."""
        return (self.leans - self.fires) % 360.0


def layout(
    order: Sequence[str],
    throws: Sequence[Sequence[str]],
    leans: Mapping[str, float] | None = None,
    strokes: int = 4,
    offset: float = 0.0,
) -> list[FiringCylinder]:
    """The cylinders of an engine, in the order of its throws.

    ``order``: of firing; ``throws``: cylinders of each crank throw from the front; ``leans`` [degrees];
    ``offset``: of the pins of one throw in a split-pin crank [degrees].  Where rows that share a pin
    cannot fire evenly (a V twin, a V4 or V6 of 90 degrees), the angles are those of the pin that keep the
    order, next to even ones.

    Raises ValueError where the order cannot be that of such a crank: cylinders of one throw would need their
    pins at different places, whichever way the rows lean.

    Source: each cylinder fires at its upper dead centre; geometry.

    >>> [one.pin for one in layout(list("1342"), [["1"], ["2"], ["3"], ["4"]])]
    [0.0, 180.0, 180.0, 0.0]
    >>> [one.fires for one in layout(list("12"), [["1", "2"]], {"1": -45.0, "2": 45.0})]
    [0.0, 450.0]
    """
    names = [name for throw in throws for name in throw]
    if sorted(order) != sorted(names) or len({*order}) != len(order):
        raise ValueError("the firing order names each cylinder once, and no other")
    between = 180.0 * strokes / len(order)
    angles = {name: i * between for i, name in enumerate(order)}
    ways = [
        [
            FiringCylinder(name, sense * (leans or {}).get(name, 0.0), angles[name], number)
            for number, throw in enumerate(throws)
            for name in throw
        ]
        for sense in (1.0, -1.0)
    ]
    for made in ways:
        if _one_pin(made, offset):
            return made
    for made in ways:
        if uneven := _uneven(made, order, 180.0 * strokes, offset):
            return uneven
    apart = _apart(ways[0])
    raise ValueError(
        f"firing order {' '.join(order)}: cylinders {' and '.join(apart)} share a throw and would need "
        "their crank pins at different places"
    )


def _uneven(
    cylinders: Sequence[FiringCylinder], order: Sequence[str], cycle: float, offset: float
) -> list[FiringCylinder] | None:
    """The same with the angles that shared pins leave; None where none of them keeps the order, or several do
    as well."""
    leading = min(cylinders, key=lambda one: one.fires)
    leads = {one.throw: one for one in cylinders if one.leans == leading.leans}  # its row fires evenly
    turns = [(turn, other) for turn in range(0, round(cycle), 360) for other in {offset, -offset}]
    choices = []
    for one in cylinders:
        lead = leads.setdefault(one.throw, one)
        follows = lead.fires + one.leans - lead.leans
        places = {(follows + turn + other) % cycle for turn, other in turns}
        choices.append([one.fires] if one is lead else sorted(places))
    if prod(map(len, choices)) > MOST_WAYS:
        return None
    kept = []
    for way in product(*choices):
        fires = {one.name: place for one, place in zip(cylinders, way, strict=True)}
        if all(fires[before] < fires[after] for before, after in pairwise(order)):
            off = sum((fires[one.name] - one.fires) ** 2 for one in cylinders)
            kept.append((off, [replace(one, fires=fires[one.name]) for one in cylinders]))
    kept.sort(key=lambda found: found[0])
    if not kept or (len(kept) > 1 and kept[1][0] - kept[0][0] < ALIKE):
        return None
    return kept[0][1]


def _one_pin(cylinders: Sequence[FiringCylinder], offset: float) -> bool:
    throws: dict[int, list[float]] = {}
    for one in cylinders:
        throws.setdefault(one.throw, []).append(one.pin)
    return all(
        min(abs(apart), 360.0 - abs(apart)) <= ALIKE
        for pins in throws.values()
        for pin in pins[1:]
        for apart in [min((abs(pin - pins[0] - turn) for turn in (offset, -offset)), default=0.0) % 360.0]
    )


def _apart(cylinders: Sequence[FiringCylinder]) -> tuple[str, str]:
    for one in cylinders:
        for other in cylinders:
            if other.throw == one.throw and abs(other.pin - one.pin) > ALIKE:
                return one.name, other.name
    return cylinders[0].name, cylinders[-1].name


class MovingMasses(Struct, frozen=True):
    """Of one cylinder [g]: what goes up and down (piston, rings, pin, small end), and the big end."""

    reciprocating: float
    big_end: float

    def __post_init__(self) -> None:
        if self.reciprocating <= 0 or self.big_end <= 0:
            raise ValueError("moving masses are above nought")


def estimated_masses(bore: float, diesel: bool = False) -> MovingMasses:
    """Masses of one cylinder by its bore [mm] where nothing was weighed; to about a third either way.

    Piston with rings and pin grows with the bore's cube; of the rod a third goes up and down.

    Source: common practice, no source: 0.75 g/cm³ of bore cubed for gasoline, 1.1 for diesel pistons.

    >>> round(estimated_masses(86.0).reciprocating)
    636
    """
    piston = (1.1 if diesel else 0.75) * (bore / 10.0) ** 3
    rod = (1.5 if diesel else 1.0) * (bore / 10.0) ** 3
    return MovingMasses(piston + rod / 4.0, rod * 0.75)


class BearingLoad(Struct, frozen=True, dict=True, eq=False):
    """What a journal puts on its bearing over a cycle [N], right and up of the engine.

    ``angles``: of the crank [degrees].

    ``turned``: by how much the bearing stands turned at each angle [degrees, clockwise]; a rod's big end
    swings with its rod, a main stands still: its upper half in the block, or towards the first row where the
    case is parted between two rows.
    """

    name: str
    angles: Array
    right: Array
    up: Array
    turned: Array

    @cached_property
    def size(self) -> Array:
        return np.hypot(self.right, self.up)

    @property
    def peak(self) -> float:
        return float(self.size.max())

    @property
    def peak_at(self) -> float:
        """Crank angle of the highest load [degrees after the first cylinder's firing]."""
        return float(self.angles[int(self.size.argmax())])

    @property
    def mean(self) -> float:
        return float(self.size.mean())

    @cached_property
    def in_shell(self) -> tuple[Array, Array]:
        """The same seen by the bearing: to the right, and towards its upper half's side [N].

        What pushes up is borne by the upper half (of a rod the one at its shank, of a main the block's),
        what pushes down by the cap's.
        """
        turn = np.radians(self.turned)
        right = self.right * np.cos(turn) - self.up * np.sin(turn)
        up = self.right * np.sin(turn) + self.up * np.cos(turn)
        return right, up

    @property
    def upper_share(self) -> float:
        """How much of the load over the cycle the upper half bears, from 0 to 1."""
        up = self.in_shell[1]
        return float(np.clip(up, 0, None).sum() / np.abs(up).sum())

    def specific(self, diameter: float, width: float) -> float:
        """Highest load on the projected area [MPa] of a bearing [mm].

        >>> ones = np.ones(2)
        >>> BearingLoad("M1", ones, 3 * ones * 1000, 4 * ones * 1000, 0 * ones).specific(50, 20)
        5.0
        """
        return self.peak / (diameter * width)


class CrankLoads(Struct, frozen=True):
    """Every rod bearing by its cylinder, every main from the front."""

    rods: dict[str, BearingLoad]
    mains: list[BearingLoad]


def crank_loads(
    cylinders: Sequence[FiringCylinder],
    mechanism: Mechanism,
    masses: MovingMasses,
    cycle: GasCycle,
    revolutions: float,
    counterweights: float = 0.0,
    nose: tuple[float, float, float] = (0.0, 0.0, 0.0),
    mains: int = 0,
    parted: float = 0.0,
) -> CrankLoads:
    """Loads on all bearings of an engine at one speed [revolutions a minute].

    ``counterweights``: moment of those of one throw about the crank's axis [g·mm], opposite to its pin.
    ``nose``: a belt's or chain's steady pull, right and up [N], and its lever arm in front of the first main
    over the distance of the first two mains.  ``mains``: how many; one more than throws if not said;
    ``parted``: where their upper half lies, from the upright [degrees].

    The gas pushes the piston, whose inertia takes part of it; what is left goes down the rod.  The big end
    pulls outwards.  Mains bear the throws beside them as if the crank were cut at each (stated).  Where they
    do not stand evenly between the throws none is worked out.

    Raises ValueError for a speed that no such engine has.

    Source: dynamics of the slider-crank with the rod as two masses, as in any text on machine dynamics.
    """
    if not 0 < revolutions <= FASTEST:
        raise ValueError(f"{revolutions:g} revolutions a minute are none that such an engine turns")
    return _loads(
        tuple(cylinders), mechanism, masses, cycle, revolutions, counterweights, nose, mains, parted
    )


@lru_cache(maxsize=64)  # an engine at some forty speeds: another of its jobs, and the next edit, ask the same
def _loads(
    cylinders: tuple[FiringCylinder, ...],
    mechanism: Mechanism,
    masses: MovingMasses,
    cycle: GasCycle,
    revolutions: float,
    counterweights: float,
    nose: tuple[float, float, float],
    mains: int,
    parted: float,
) -> CrankLoads:
    strokes_span = float(cycle.angles[-1] - cycle.angles[0] + STEP)
    angles = np.arange(0.0, strokes_span, STEP)
    omega = per_second(revolutions)
    rods: dict[str, BearingLoad] = {}
    throws: dict[int, Array] = {}
    for one in cylinders:
        local = angles - one.fires
        theta = np.radians(local)
        gas = (cycle.at(local) - 1.0) * 0.1 * mechanism.area  # N: over the pressure below the piston
        down = gas - masses.reciprocating / 1000 * mechanism.acceleration(theta, omega)
        sine = mechanism.rod_sine(theta)
        sideways = down * sine / np.sqrt(1 - sine**2)
        outward = masses.big_end / 1000 * mechanism.throw / 1000 * omega**2
        across = sideways + outward * np.sin(theta)
        along = -down + outward * np.cos(theta)
        right, up = _turned(across, along, one.leans)
        # upper half towards the piston: the rod's axis points up the cylinder, turned by its swing
        turned = one.leans - np.degrees(np.arcsin(sine))
        rods[one.name] = BearingLoad(one.name, angles, -right, -up, turned)  # the pin on the rod
        throws[one.throw] = throws.get(one.throw, np.zeros((2, angles.size))) + np.array([right, up])
    pins = {one.throw: one for one in reversed(cylinders)}
    for number, one in pins.items():
        pin = np.radians(angles + one.pin)
        back = counterweights * 1e-6 * omega**2
        throws[number] = throws[number] - back * np.array([np.sin(pin), np.cos(pin)])
    still = np.full(angles.size, parted)
    borne = _on_mains(throws, mains or max(throws) + 2, nose)
    return CrankLoads(
        rods, [BearingLoad(f"M{i + 1}", angles, force[0], force[1], still) for i, force in enumerate(borne)]
    )


def _on_mains(throws: Mapping[int, Array], mains: int, nose: tuple[float, float, float]) -> Sequence[Array]:
    """What each main bears of the throws beside it, by its distance, and of a pull in front of the first."""
    between, bays = max(throws) + 1, mains - 1
    if bays < 1 or between % bays:
        return []
    borne = np.zeros((mains, *throws[0].shape))
    for number, force in throws.items():
        bay, place = divmod(number, between // bays)
        behind = (place + 0.5) * bays / between  # of the way to the main behind it
        borne[bay] += (1 - behind) * force
        borne[bay + 1] += behind * force
    pull, lever = np.array(nose[:2])[:, None], nose[2]
    borne[0] += (1 + lever) * pull
    borne[1] -= lever * pull
    return [*borne]


def _turned(across: Array, along: Array, degrees: float) -> tuple[Array, Array]:
    """From a cylinder's frame (across in the sense of turning, along its axis) to the engine's."""
    turn = np.radians(degrees)
    return (
        across * np.cos(turn) + along * np.sin(turn),
        along * np.cos(turn) - across * np.sin(turn),
    )
