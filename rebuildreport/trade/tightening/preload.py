"""Tightening: preload from torque, angle and stretch, with its scatter, up to yield; what looks wrong in it.

A tightening torque says little about the force that it makes: most of it goes into friction.  So every
preload here is a band.  Nothing here rewrites what the maker asks for; it says what it comes to.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from ...quantities import message
from .threads import Strength, Thread

STEEL = 205_000.0  # Young's modulus [N/mm2] (VDI 2230)
_FLANK = math.cos(math.radians(30.0))  # half the thread angle of 60 degrees
COLLAR = 1.25  # mean friction diameter under the head over the thread's, hexagon head (Shigley, eq. 8-26)

# Torque factor K by what is on the thread: Shigley's Mechanical Engineering Design, table 8-15
NUT_FACTOR = {
    "none": 0.30,
    "dry": 0.30,
    "zinc plated": 0.20,
    "oil": 0.18,
    "engine oil": 0.18,
    "clean engine oil": 0.18,
    "assembly oil": 0.18,
    "cadmium plated": 0.16,
    # as German sheets have them
    "trocken": 0.30,
    "ohne": 0.30,
    "verzinkt": 0.20,
    "öl": 0.18,
    "motoröl": 0.18,
    "montageöl": 0.18,
    "kadmiert": 0.16,
}
DRY = frozenset({"none", "dry", "trocken", "ohne"})
NUT_FACTOR_SOURCE = message("Shigley, Mechanical Engineering Design, table 8-15")

Kind = Literal["torque", "angle", "stretch"]
Method = Literal["torque", "angle", "yield", "stretch"]
# Preload scatter, either way as a share of the expected value
SCATTER_DRY = 0.35
SCATTER: dict[Method, float] = {"torque": 0.25, "angle": 0.15, "yield": 0.12, "stretch": 0.05}
SCATTER_SOURCE = message(
    "torque wrench ±25 % lubricated, ±35 % dry, measured stretch ±5 %: NASA NSTS 08307 rev. A, 3.4; angle "
    "±15 %: Machinery's Handbook; angle beyond yield ±12 %: VDI 2230:1986"
)

# Stiffness of the clamped parts, k = E d A exp(B d/l): Wileman, Choudury, Green 1991 (Shigley, table 8-8),
# by material: E [N/mm2], A, B
_PARTS = {
    "steel": (207_000.0, 0.78715, 0.62873),
    "iron": (100_000.0, 0.77871, 0.61616),
    "aluminium": (71_000.0, 0.79670, 0.63816),
}


def nut_factor(screw: Thread, friction: float, collar: float = COLLAR) -> float:
    """Torque factor K = T/(F d) from one friction coefficient for thread and head.

    ``collar`` is the mean friction diameter under the head over the thread's diameter.

    Source: Shigley, Mechanical Engineering Design, eq. 8-26 (long form of the torque).

    >>> from .threads import thread
    >>> round(nut_factor(thread("3/4-16"), 0.15), 3)
    0.189
    """
    half = screw.pitch_diameter / (2.0 * screw.diameter)
    lead = screw.pitch / (math.pi * screw.pitch_diameter)
    return half * (lead + friction / _FLANK) / (1.0 - lead * friction / _FLANK) + collar / 2.0 * friction


def friction_from(screw: Thread, factor: float, collar: float = COLLAR) -> float:
    """The friction coefficient that a torque factor stands for: ``nut_factor`` turned round.

    Source: Shigley, Mechanical Engineering Design, eq. 8-26, solved by halving.

    >>> from .threads import thread
    >>> round(friction_from(thread("M10"), 0.18), 3)
    0.136
    """
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if nut_factor(screw, middle, collar) < factor else (low, middle)
    return (low + high) / 2.0


def preload_from_torque(torque: float, screw: Thread, factor: float) -> float:
    """Preload F = T/(K d) [N] from a torque [N·m].

    Source: Shigley, Mechanical Engineering Design, eq. 8-27.

    >>> from .threads import thread
    >>> round(preload_from_torque(72.15, thread("M10"), 0.20))
    36075
    """
    return torque * 1000.0 / (factor * screw.diameter)


def yield_preload(
    screw: Thread, strength: Strength, friction: float, share: float = 1.0, shank: float | None = None
) -> float:
    """Preload at which pull and twist together use ``share`` of the yield strength [N].

    While a bolt is turned, the friction in its thread twists it, so it yields before its pull alone would
    make it: F = share Rp A0 / sqrt(1 + 3 (3/2 d2/d0 (P/(pi d2) + 1.155 mu))^2).  A0 and d0 are the stress
    area and its diameter, or those of a waisted ``shank`` that is thinner [mm].

    Source: VDI 2230 part 1 (2001 and later), eq. R8/1.

    >>> from .threads import strength, thread
    >>> bolt = thread("M12x1.25")
    >>> round(yield_preload(bolt, strength("10.9", bolt), 0.12, 0.9) / 1000.0, 1)
    70.6
    """
    thinnest = screw.stress_diameter if shank is None else min(screw.stress_diameter, shank)
    twist = screw.pitch / (math.pi * screw.pitch_diameter) + friction / _FLANK
    ratio = 1.5 * screw.pitch_diameter / thinnest * twist
    return share * strength.yield_ * _circle(thinnest) / math.sqrt(1.0 + 3.0 * ratio**2)


def _circle(diameter: float) -> float:
    return math.pi / 4.0 * diameter**2


class Bolt(Struct, frozen=True):
    """A bolt in its joint; lengths and diameters in mm.

    ``clamped`` is the length between head and first engaged thread, ``shank`` how much of it is plain, of
    ``shank_diameter`` (the thread's where not said); ``material`` of what is clamped; ``nut``: whether a nut
    holds it (else a tapped hole).  Without a ``nut_factor`` a torque says nothing, a stretch all the same.
    """

    thread: Thread
    strength: Strength
    nut_factor: float | None
    clamped: float | None = None
    shank: float = 0.0
    shank_diameter: float | None = None
    material: str = "steel"
    nut: bool = False
    dry: bool = False

    @property
    def proof_load(self) -> float:
        """Proof load [N]; a waisted shank bears less than the thread (ISO 898-1: reduced loadability)."""
        area = self.thread.stress_area
        if self.shank_diameter is not None:
            area = min(area, _circle(self.shank_diameter))
        return area * self.strength.proof

    @property
    def friction(self) -> float:
        """Friction coefficient that the torque factor stands for; 0 where none is known: no twist counted."""
        return friction_from(self.thread, self.nut_factor) if self.nut_factor else 0.0

    @property
    def yield_load(self) -> float:
        """Preload at yield under pull and twist, at the class's least yield strength [N]."""
        return yield_preload(self.thread, self.strength, self.friction, shank=self.shank_diameter)


def stretch_per_newton(sections: Sequence[tuple[float, float]], modulus: float = STEEL) -> float:
    """Elastic stretch of sections (length [mm], area [mm2]) in a row under one newton [mm/N].

    Source: Hooke's law; Shigley, Mechanical Engineering Design, eq. 8-17.

    >>> round(25_000 * stretch_per_newton([(50.0, 58.0)], 200_000.0), 3)
    0.108
    """
    return sum(length / area for length, area in sections) / modulus


def bolt_compliance(bolt: Bolt) -> float | None:
    """Stretch of a bolt over its clamped length and the first half diameter of engaged thread [mm/N].

    That is about what a stretch gauge over both ends shows.  None where the clamped length is not known.

    Source: VDI 2230 part 1, 5.1.1 (engaged thread: half a diameter of root area); clamped thread by the
    stress area as in Shigley, eq. 8-17.

    >>> from .threads import strength, thread
    >>> m12 = thread("M12")
    >>> one = Bolt(m12, strength("10.9", m12), 0.18, clamped=60.0, shank=30.0)
    >>> round(bolt_compliance(one) * 50_000, 3)
    0.171
    """
    if bolt.clamped is None:
        return None
    thread = bolt.thread
    plain = min(bolt.shank, bolt.clamped)
    diameter = bolt.shank_diameter or thread.diameter
    return stretch_per_newton(
        [
            (plain, _circle(diameter)),
            (bolt.clamped - plain, thread.stress_area),
            (0.5 * thread.diameter, _circle(thread.root_diameter)),
        ]
    )


def parts_stiffness(diameter: float, length: float, material: str) -> float:
    """Stiffness of what one bolt clamps, k = E d A exp(B d/l) [N/mm]; steel, iron or aluminium.

    Holds where the parts reach well past the head all round; narrow parts are softer.

    Source: Wileman, Choudury, Green 1991; Shigley, Mechanical Engineering Design, eq. 8-23 and table 8-8.

    >>> round(parts_stiffness(12.0, 60.0, "steel") / 1000.0)
    2217
    """
    modulus, a, b = _PARTS[material]
    return modulus * diameter * a * math.exp(b * diameter / length)


def angle_for_newton(bolt: Bolt) -> float | None:
    """Turn that adds one newton of preload below yield [deg/N]; None without a clamped length.

    Bolt, thread flanks and head give with the clamped parts; the turn advances by its part of the pitch.

    Source: VDI 2230 part 1, 5.1.1 (head half, flanks 0.4 diameters in a nut, 0.33 in a tapped hole, of
    nominal area) and 5.4.3 (angle); parts by ``parts_stiffness``.

    >>> from .threads import strength, thread
    >>> m12 = thread("M12")
    >>> one = Bolt(m12, strength("10.9", m12), 0.18, clamped=60.0, shank=30.0, material="iron")
    >>> round(angle_for_newton(one) * 50_000)
    49
    """
    body = bolt_compliance(bolt)
    if body is None or bolt.clamped is None:
        return None
    thread = bolt.thread
    nominal = _circle(thread.diameter)
    ends = stretch_per_newton([((0.5 + (0.4 if bolt.nut else 0.33)) * thread.diameter, nominal)])
    parts = 1.0 / parts_stiffness(thread.diameter, bolt.clamped, bolt.material)
    return 360.0 / thread.pitch * (body + ends + parts)


class TighteningStep(Struct, frozen=True):
    """One step of a tightening: a torque [N·m], an angle on top [deg], or a stretch from free length [mm]."""

    kind: Kind
    value: float


class Tension(Struct, frozen=True):
    """What a bolt carries after a step: preload low, expected, high [N]; stretch and lasting stretch [mm].

    ``method`` says which scatter was taken; ``yields`` that it is expected to reach yield.
    """

    low: float
    expected: float
    high: float
    share_of_proof: float
    method: Method
    stretch: float | None = None
    lasting: float = 0.0

    @property
    def yields(self) -> bool:
        """Whether the step is expected to reach yield: a torque-to-yield bolt does so on purpose."""
        return self.method == "yield"


def tighten(bolt: Bolt, steps: Sequence[TighteningStep]) -> list[Tension | None]:
    """The preload after each step; None where it cannot be worked out (an angle without a clamped length).

    A torque sets the preload anew (T/(K d)), an angle adds to it elastically, and neither goes beyond the
    preload at yield under pull and twist: what is turned further becomes lasting stretch.

    Source: Shigley eq. 8-27 (torque), VDI 2230 part 1 (angle, yield); scatter: ``SCATTER_SOURCE``.

    >>> from .threads import strength, thread
    >>> m12 = thread("M12x1.5")
    >>> head = Bolt(m12, strength("10.9", m12), 0.18, clamped=95.0, shank=60.0, material="iron")
    >>> stages = ("torque", 50.0), ("torque", 90.0), ("angle", 90.0), ("angle", 90.0)
    >>> steps = [TighteningStep(*stage) for stage in stages]
    >>> for one in tighten(head, steps):
    ...     print(round(one.expected / 1000.0, 1), one.method, round(one.share_of_proof, 2))
    23.1 torque 0.32
    41.7 torque 0.57
    72.6 yield 0.99
    72.6 yield 0.99
    """
    limit, compliance, per_newton = bolt.yield_load, bolt_compliance(bolt), angle_for_newton(bolt)
    found: list[Tension | None] = []
    force: float | None = 0.0  # as if it stayed elastic
    lasting = 0.0
    for step in steps:
        method: Method = step.kind
        if step.kind == "torque":
            known = bolt.nut_factor
            force = preload_from_torque(step.value, bolt.thread, known) if known else None
            lasting = 0.0
        elif step.kind == "angle":
            force = force + step.value / per_newton if force is not None and per_newton else None
        else:
            force, lasting = (step.value / compliance if compliance else None), 0.0
        if force is None:
            found.append(None)
            continue
        if force > limit and step.kind == "angle" and per_newton:
            lasting += (force - limit) * per_newton * bolt.thread.pitch / 360.0
        elif force > limit and step.kind == "stretch" and compliance:
            lasting = (force - limit) * compliance
        force = min(force, limit)
        found.append(_tension(bolt, force, method, limit, compliance, lasting))
    return found


def _tension(
    bolt: Bolt, force: float, method: Method, limit: float, compliance: float | None, lasting: float
) -> Tension:
    if force >= limit * (1.0 - 1e-9):
        force, method = limit, "yield"
    scatter = SCATTER_DRY if method == "torque" and bolt.dry else SCATTER[method]
    # bolts stronger than their class's least go higher than the limit, as far as yield scatters
    high = min(force * (1.0 + scatter), limit * (1.0 + SCATTER["yield"]))
    stretch = force * compliance + lasting if compliance is not None else None
    return Tension(force * (1.0 - scatter), force, high, force / bolt.proof_load, method, stretch, lasting)


TORQUE_AGREEMENT = 0.02  # what rounding to fives makes; half of what ISO 6789 lets a torque wrench be off


def two_torques(first: float, second: float, step_first: float = 0.0, step_second: float = 0.0) -> float:
    """By what share of the larger two statements of one torque [N·m] differ; 0 where they only round it.

    ``step_first`` and ``step_second`` are the last typed digits [N·m].  They agree within 2 per cent of the
    larger, or within half a step of each.

    Source: common practice (makers round to fives); a torque wrench may be off by 4 per cent (ISO 6789).

    >>> round(two_torques(43.0, 33.895), 2), two_torques(115.0, 115.2445, 1.0, 1.3558)
    (0.21, 0.0)
    """
    apart = abs(first - second)
    larger = max(abs(first), abs(second))
    same = apart <= max(TORQUE_AGREEMENT * larger, (step_first + step_second) / 2.0) + 1e-12
    return 0.0 if same else apart / larger


# ---------------------------------------------------------------- slips


Wrong = Literal["to yield", "past proof load", "stretched past yield", "turned too far", "lower"]
# least share of the proof load that a torque of a bolt's stages comes to (common practice: the lightest
# torque that only brings the parts together makes about a quarter)
LEAST = 0.2
# an angle that leaves a bolt longer by this share of its clamped length takes a third of the elongation at
# which class 10.9 breaks (9 per cent, ISO 898-1 table 3); torque-to-yield stages take about a tenth of it
TOO_FAR = 0.03
ANGLES = (30.0, 270.0)  # deg, as makers ask for in one stage (common practice)


class Oddity(Struct, frozen=True):
    """One stage to look at again: its place among the stages, and a share.

    It is of the proof load, or where the bolt is turned too far, what stays of the clamped length.
    """

    index: int
    wrong: Wrong
    share: float = 0.0


def elastic(bolt: Bolt, step: TighteningStep) -> float | None:
    """Preload of one step by itself [N], as if the bolt never yielded; None where it cannot be worked out.

    Source: Shigley, Mechanical Engineering Design, eq. 8-27 (torque) and 8-17 (stretch).

    >>> from .threads import strength, thread
    >>> m10 = thread("M10")
    >>> round(elastic(Bolt(m10, strength("10.9", m10), 0.20), TighteningStep("torque", 72.15)))
    36075
    """
    if step.kind == "torque":
        return preload_from_torque(step.value, bolt.thread, bolt.nut_factor) if bolt.nut_factor else None
    compliance = bolt_compliance(bolt)
    return step.value / compliance if step.kind == "stretch" and compliance else None


def sensible(bolt: Bolt, step: TighteningStep) -> bool:
    """Whether a torque or stretch by itself suits the class: a fifth of the proof load, and below yield.

    Of an angle: whether makers ask for such a one.

    Source: common practice (a torque alone stays below proof load and yield; ISO 898-1 for both).

    >>> from .threads import strength, thread
    >>> m10 = thread("M10")
    >>> bolt = Bolt(m10, strength("10.9", m10), 0.18)
    >>> [sensible(bolt, TighteningStep("torque", value)) for value in (580.0, 58.0, 5.8)]
    [False, True, False]
    """
    if step.kind == "angle":
        return ANGLES[0] <= step.value <= ANGLES[1]
    force = elastic(bolt, step)
    return force is not None and LEAST * bolt.proof_load <= force <= min(bolt.proof_load, bolt.yield_load)


def oddities(bolt: Bolt | None, steps: Sequence[TighteningStep]) -> list[Oddity]:
    """Stages that look like a slip: a torque or stretch alone to yield or past proof load, a lower torque.

    A torque that is to be lower than the one before is a slip or needs its word (loosen first).  Without
    ``bolt`` only that is looked at.  An angle that turns a bolt to yield is none: that is how it is meant;
    one that leaves it longer by 3 per cent of its clamped length is.

    Source: common practice; proof load of ISO 898-1, preload at yield by ``yield_preload``.

    >>> oddities(None, [TighteningStep("torque", 58.0), TighteningStep("torque", 15.0)])
    [Oddity(index=1, wrong='lower', share=0.0)]
    """
    found: list[Oddity] = []
    before = stayed = 0.0
    after = tighten(bolt, steps) if bolt is not None else [None] * len(steps)
    for index, (step, tension) in enumerate(zip(steps, after, strict=True)):
        if bolt is not None:
            found += _too_much(bolt, index, step)
        lasting = tension.lasting / bolt.clamped if bolt and bolt.clamped and tension else 0.0
        if step.kind == "angle" and lasting > TOO_FAR >= stayed:
            found.append(Oddity(index, "turned too far", lasting))
        stayed = lasting
        if step.kind == "torque":
            if step.value < before * (1.0 - 1e-9):
                found.append(Oddity(index, "lower"))
            before = step.value
    return found


def _too_much(bolt: Bolt, index: int, step: TighteningStep) -> list[Oddity]:
    """What a torque or a stretch by itself does to the bolt, where that is too much for it."""
    force = elastic(bolt, step)
    if force is None:
        return []
    share = force / bolt.proof_load
    if force >= bolt.yield_load:
        return [Oddity(index, "to yield" if step.kind == "torque" else "stretched past yield", share)]
    if share > 1.0 and step.kind == "torque":
        return [Oddity(index, "past proof load", share)]
    return []


def yields(bolt: Bolt, steps: Sequence[TighteningStep]) -> bool:
    """Whether the stages together are expected to reach yield.

    Source: preload at yield by ``yield_preload`` (VDI 2230 part 1).

    >>> from .threads import strength, thread
    >>> m10 = thread("M10")
    >>> yields(Bolt(m10, strength("10.9", m10), 0.18), [TighteningStep("torque", 58.0)])
    False
    """
    return any(tension is not None and tension.yields for tension in tighten(bolt, steps))
