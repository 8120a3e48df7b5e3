"""Valves, seats, springs, lobes and lash."""

from __future__ import annotations

from collections.abc import Sequence

from ..measuring.uncertainty import Measured, combine, propagate


def lift(height: Measured, base: Measured) -> Measured:
    """Lift of a cam lobe from its height over all and its base circle, both in one micrometer [mm].

    Nose and base circle lie far apart on the micrometer's scale: its permitted error acts once.

    Source: common practice: lift = height − base circle diameter.

    >>> round(lift(Measured(38.96), Measured(30.02)).value, 6)
    8.94
    """
    return height - base


def rate(closed: Measured, opened: Measured, closed_length: float, open_length: float) -> Measured:
    """Rate of a spring from its load at two lengths [N/mm; N, mm].

    Raises ValueError where the lengths are one.

    Source: Hooke's law, R = ΔF/Δs (EN 13906-1).

    >>> rate(Measured(300.0), Measured(700.0), 40.0, 30.0).value
    40.0
    """
    travel = closed_length - open_length
    if travel == 0.0:
        raise ValueError("a spring rate needs loads at two lengths")
    return combine([(1.0 / travel, opened), (-1.0 / travel, closed)])


def load_at(length: Measured, closed: Measured, closed_length: float, spring_rate: Measured) -> Measured:
    """Load of a spring at the length at which it is really fitted [N; N, mm, N/mm].

    Source: Hooke's law (EN 13906-1).

    >>> load_at(Measured(40.5), Measured(300.0), 40.0, Measured(40.0)).value
    280.0
    """
    return propagate(
        lambda seated, load, stiff: load + stiff * (closed_length - seated), length, closed, spring_rate
    )


def zero_shim(fitted: Measured, lash: Measured) -> Measured:
    """Thickness of the shim that would leave no clearance at all [mm].

    Source: common practice of shims between cam and bucket.

    >>> round(zero_shim(Measured(2.60), Measured(0.08)).value, 6)
    2.68
    """
    return fitted + lash


def shims_that_fit(
    zero: float, low: float | None, high: float | None, sizes: Sequence[float]
) -> list[tuple[float, float]]:
    """Stocked shims that leave a clearance inside its limits, each with that clearance [mm].

    ``zero`` is the thickness that leaves none; an end that is None is open.

    Source: common practice: clearance = zero shim − shim.

    >>> shims_that_fit(2.72, 0.15, 0.22, [2.45, 2.50, 2.55, 2.60])
    [(2.5, 0.22), (2.55, 0.17)]
    """
    found = []
    for size in sizes:
        left = round(zero - size, 9)
        if (low is None or left >= low - 1e-9) and (high is None or left <= high + 1e-9):
            found.append((size, left))
    return found
