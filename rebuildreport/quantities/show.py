"""Values as they are printed: the shop's first unit, and the other system beside it."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from . import rounding, units


class Shown(Struct, frozen=True):
    """A printed value: ``text unit (second second_unit)``; ``second`` is '' where the unit is alone."""

    text: str
    unit: str  # as printed: per cent as its sign
    second: str = ""
    second_unit: str = ""
    places: int = 0  # decimals of the text

    @property
    def both(self) -> str:
        """'0.082 mm (0.0032 in)', with no-break spaces before the units.

        >>> show(0.082, "mm", 3).both.replace(chr(160), " ")
        '0.082 mm (0.0032 in)'
        """
        first = f"{self.text}\u00a0{self.unit}".rstrip("\u00a0")
        if not self.second:
            return first
        return f"{first} ({self.second}\u00a0{self.second_unit})"


SIGNS = {"percent": "%", "deg": "°", "count": ""}  # for a unit's name
# one value stands in many tables and drawings: what was printed is remembered, so many texts at most
TEXTS = 8192


@lru_cache(maxsize=TEXTS)
def show(
    value: float,
    unit: str,
    decimals: int,
    system: str = "mm",
    limits: tuple[float | None, ...] = (),
    limit_decimals: int | None = None,
) -> Shown:
    """A value in ``unit`` with ``decimals`` justified there, printed for a shop of ``system``.

    The number of decimals in the other unit is the one whose last place is
    nearest in size (0.001 mm and 0.0001 in), so a conversion neither invents
    nor loses digits.  ``limits`` (in ``unit``) keep the value on its side, also
    of what is printed of them where they stand beside it with ``limit_decimals``
    of ``unit``: 40.8 mm never reads 1.61 in beside 'min 1.61', which is 41.0 mm.

    >>> show(98.241, "mm", 3).both.replace(chr(160), " ")
    '98.241 mm (3.8678 in)'
    >>> show(98.241, "mm", 3, system="in").both.replace(chr(160), " ")
    '3.8678 in (98.241 mm)'
    >>> show(40.8, "mm", 1, "in", (41.0, None), 1).text
    '1.606'
    """
    here = units.canonical(unit)
    first = units.partner(here, system) or here
    second = units.partner(here, units.beside(system))
    number = _rounded(value, here, first, decimals, limits, limit_decimals)
    shown = Shown(_signed(number), SIGNS.get(first, first), places=_places(number))
    if second is None or second == first:
        return shown
    return replace(shown, second=_signed(_rounded(value, here, second, decimals, limits)), second_unit=second)


@lru_cache(maxsize=TEXTS)
def show_interval(
    low: float | None,
    high: float | None,
    unit: str,
    decimals: int,
    system: str = "mm",
    places: int = 0,
    to: str = "",
    bare: bool = False,
) -> str:
    """Limits as printed, in the shop's first unit (or in ``to``) and without the unit's name.

    ``places``: decimals of the value printed beside them (``Shown.places``).  A limit typed in the
    other system is no round number here: it then gets as many decimals as the value, so that
    0.0304 never stands beside 'max 0.030' where the limit is 0.0012 in, which is 0.03048 mm.  ``bare``:
    a lone end stands without its word, which is said elsewhere.

    >>> show_interval(0.05, 0.11, "mm", 3), show_interval(None, 0.03, "mm", 3)
    ('0.050–0.110', 'max 0.030')
    >>> show_interval(None, 0.0012, "in", 4, places=4)
    'max 0.0305'
    >>> show_interval(0.3, 0.45, "mm", 2, system="in", to="mm")
    '0.30–0.45'
    >>> show_interval(None, 0.03, "mm", 3, bare=True)
    '0.030'
    """
    here = units.canonical(unit)
    first = units.canonical(to) if to else units.partner(here, system) or here
    ends = [
        None if end is None else _signed(_limit(end, here, first, decimals, places)) for end in (low, high)
    ]
    return (ends[0] or ends[1] or "") if bare and None in ends else _between(*ends)


def _between(low: str | None, high: str | None) -> str:
    if low is None:
        return f"max {high}" if high is not None else ""
    return f"{low}–{high}" if high is not None else f"min {low}"


LOST = Decimal("0.1")  # of a tolerance, that rounding its ends inwards may take off


def show_limits(low: float | None, high: float | None, unit: str, decimals: int, system: str = "mm") -> str:
    """Limits as somebody works to them: rounded inwards, so that none is wider in print than it is.

    To ``decimals`` of ``unit``, or what is nearest to them in the printed unit, and finer where
    rounding would take more than a tenth off the tolerance (of a lone limit: off itself).

    Source: rule of this project; an exact conversion (1 in = 25.4 mm, NIST SP 811) is never rounded up.

    >>> show_limits(84.6455, 84.6709, "mm", 3, "in"), show_limits(84.6455, 84.6709, "mm", 3)
    ('3.3325–3.3335', '84.646–84.670')
    >>> show_limits(None, 0.005, "mm", 3, "in")
    'max 0.00019'
    """
    least, most = limit_texts(low, high, unit, decimals, system)
    return _between(least or None, most or None)


def limit_texts(
    low: float | None, high: float | None, unit: str, decimals: int, system: str = "mm"
) -> tuple[str, str]:
    """The two ends that ``show_limits`` prints, each by itself; '' where there is none.

    Source: as ``show_limits``.

    >>> limit_texts(84.6455, 84.6709, "mm", 3), limit_texts(0.124, None, "mm", 2)
    (('84.646', '84.670'), ('0.13', ''))
    """
    here = units.canonical(unit)
    first = units.partner(here, system) or here
    exact = {
        side: rounding.exact(units.convert(end, here, first))
        for side, end in ((ROUND_CEILING, low), (ROUND_FLOOR, high))
        if end is not None
    }
    ends = list(exact.values())
    width = ends[1] - ends[0] if len(ends) == 2 else abs(sum(ends, Decimal(0)))
    places = decimals if first == here else decimals_in(here, decimals, first)
    printed = exact
    for extra in range(4):
        step = Decimal(1).scaleb(-places - extra)
        printed = {inwards: end.quantize(step, inwards) + 0 for inwards, end in exact.items()}
        if sum(abs(exact[side] - end) for side, end in printed.items()) <= LOST * width:
            break
    texts = {side: _signed(end) for side, end in printed.items()}
    return texts.get(ROUND_CEILING, ""), texts.get(ROUND_FLOOR, "")


CONVERTED = Decimal("0.01")  # that rounding a converted figure may change of it


def show_converted(value: float, unit: str, decimals: int, to: str) -> str:
    """A figure typed with ``decimals`` of ``unit`` as it reads in ``to``, never more than 1 % off.

    As many decimals as are nearest in size to the typed ones, and more where rounding would move it farther.

    Source: rule of this project; a torque wrench may be off by 4 per cent (ISO 6789), its setting by less.

    >>> show_converted(15, "lbf·ft", 0, "N·m"), show_converted(120, "N·m", 0, "lbf·ft")
    ('20.3', '89')
    """
    here, there = units.canonical(unit), units.canonical(to)
    exact = rounding.exact(units.convert(value, here, there))
    places = decimals_in(here, decimals, there)
    for extra in range(4):
        rounded = rounding.to_decimals(exact, places + extra)
        if abs(rounded - exact) <= CONVERTED * abs(exact):
            break
    return _signed(rounded)


def decimals_in(unit: str, decimals: int, to: str) -> int:
    """Decimals in another unit whose last place is nearest in size to this one's.

    >>> decimals_in("mm", 3, "in"), decimals_in("in", 4, "mm")
    (4, 3)
    """
    if units.dimension(unit) == "temperature":
        return decimals
    return max(0, decimals + round(-math.log10(units.factor(unit, to))))


def _rounded(
    value: float,
    unit: str,
    to: str,
    decimals: int,
    limits: tuple[float | None, ...],
    limit_decimals: int | None = None,
) -> Decimal:
    """A value in another unit, apart from its limits and from what is printed of them, with few decimals."""
    exact, converted = rounding.exact(value), units.convert(value, unit, to)
    edges = {edge: rounding.exact(edge) == exact for edge in limits if edge is not None}
    others = [(edge, rounding.exact(units.convert(edge, unit, to))) for edge, on in edges.items() if not on]
    printed = edges if limit_decimals is not None else ()
    for typed in range(decimals, decimals + 4):
        # as many digits as it needs beside the limit that it is on, in the unit that it was typed in ...
        needed = _typed(value, unit, typed) if any(edges.values()) else typed
        number = rounding.to_decimals(converted, decimals_in(unit, needed, to))
        # ... and as keep it on its side of the others; for standing on a limit it gets no more.  A limit that
        # was converted stands beside it with as many decimals, and may read like it still
        lines = [(edge, _limit(edge, unit, to, limit_decimals or 0, _places(number))) for edge in printed]
        if all(
            (value > edge, value < edge) == (number > line, number < line) for edge, line in (*others, *lines)
        ):
            return number
    return rounding.to_decimals(converted, decimals_in(unit, decimals, to))


def _typed(value: float, unit: str, decimals: int) -> int:
    """Decimals of a value that is on a limit, as many as were typed of it, perhaps in the other system."""
    typed = _needed(value, decimals)
    metric = units.partner(unit, "mm")
    other = units.partner(unit, "in") if metric in (unit, None) else metric
    if typed == decimals or not other or other == unit:
        return typed
    # a limit of 0.0003 in is 0.00762 mm: it is the fewer digits of the two that were typed
    there = units.convert(value, unit, other)
    needed = _needed(there, decimals_in(unit, decimals, other))
    return max(decimals, min(typed, decimals_in(other, needed, unit)))


def _needed(value: float, decimals: int) -> int:
    """Decimals, at least so many, that keep a value what it is."""
    return _places(rounding.to_decimals(value, decimals, (value,)))


def _places(number: Decimal) -> int:
    return -int(number.as_tuple().exponent)


def _limit(value: float, unit: str, to: str, decimals: int, finest: int) -> Decimal:
    places = decimals if unit == to else decimals_in(unit, decimals, to)
    converted = units.convert(value, unit, to)
    if rounding.to_decimals(converted, places) != rounding.exact(converted):
        places = max(places, finest)
    return rounding.to_decimals(converted, places)


def _signed(number: Decimal) -> str:
    return f"{number:f}".replace("-", "\u2212")
