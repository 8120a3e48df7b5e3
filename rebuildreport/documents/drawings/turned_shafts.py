"""Shafts that were turned under an indicator, drawn place by place from what was worked out of them."""

from __future__ import annotations

from collections.abc import Sequence

from ...assess.model.assessment import Characteristic
from ..press.language import say
from ..press.words import SEVERITY, System
from .canvas import Drawing
from .polar import TurnedView, polar
from .scales import NARROW, WIDE

LEAST = 4  # angles: three always lie on a circle, and show nothing
PLACES = 9  # beside each other; more would be too small to read


def wheels(
    ones: Sequence[Characteristic], system: System, title: str, width: float = WIDE
) -> tuple[Drawing, ...]:
    """One feature in one round, drawn for print and for phones; nothing where nothing was turned."""
    bad = {c.position for c in ones if c.verdict in SEVERITY[:2]}
    turned = [
        TurnedView(c.position, c.wheel.readings, c.wheel.centre, c.position in bad)
        for c in ones
        if c.wheel is not None and (len(c.wheel.readings) >= LEAST or not c.wheel.readings)
    ]
    if not 0 < len(turned) <= PLACES:
        return ()
    some = next(c for c in ones if c.wheel is not None)
    return tuple(polar(turned, some.unit, some.decimals, system, title, wide) for wide in (width, NARROW))


def caption(ones: Sequence[Characteristic]) -> str:
    """What to see in such a drawing."""
    if not any(c.wheel.readings for c in ones if c.wheel is not None):
        return say(
            "Drawn: what each plane is too heavy by where it is corrected, its mark at the top, angles as "
            "the shaft turns. Take off there, or add across."
        )
    return say(
        "Drawn: readings round each place, its fitted circle thin, 0\u00a0degrees at the top. The arrow is "
        "how far its centre lies off the axis on which it was turned: half of what the dial runs out, where "
        "it is round."
    )
