"""What looks wrong in the stages of a tightening: one slip in typing there breaks bolts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from .preload import Bolt, TighteningStep, bolt_compliance, preload_from_torque, tighten

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
