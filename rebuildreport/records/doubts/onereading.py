"""What ``check`` asks of one reading by itself, as numbers: for a page that asks while the reading is typed.

In: a feature of the sheet, the shop's instruments.  Out: ranges, digits, bands and thresholds, each from the
module by which ``check`` asks.  Asks nothing itself; what takes a whole round to see stays ``check``'s.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from msgspec import Struct

from ...quantities import factor
from ...quantities.units import BASE, canonical, dimension, spellings
from ...trade.kinds import KINDS
from ...trade.measuring.gauges import family
from ..files.measured import base
from ..files.rows import MOST_REPEATS
from ..files.sheet import FeatureRecord
from ..files.shop import InstrumentRecord, Shop
from . import degrees, headings, misread, slips, suspects
from .bands import NEAR, limits_of, narrow_band

MOST_PRECOMPUTED = 6  # repeats for which it is worked out how far they may lie apart: more are seldom read


class ToolShows(Struct, frozen=True):
    """What an instrument can show: its range, its digits in each unit that it can be read in."""

    kind: str
    unit: str
    low: float | None
    high: float | None
    decimals: int
    step: str  # as the shop wrote it
    step_unit: str
    said: tuple[str, ...]  # the ends of its range, as the shop wrote them
    exact: bool  # it shows every step of its last digit
    thimble: bool  # a turn of it is easily missed
    gap: bool  # leaves: 0 is no reading of it, and what did not go in is one
    is_set: bool  # it is set in another instrument
    digits: dict[str, int]  # unit: decimals that it shows in that unit
    repeats: bool  # the shop knows how well it does
    # for each number of decimals how far 2, 3, 4 ... repeats may lie apart [unit]; (): not known
    apart: tuple[tuple[float, ...], ...]


class OneReading(Struct, frozen=True):
    """What the sheet says of one reading of a feature."""

    kind: str
    unit: str  # of bare numbers
    base: str  # that readings are compared in; "" for a unit that is none
    alike: bool  # readings beside each other are of about the same size
    # column: band of its limits, where narrow enough to tell of a digit [base]
    ends: dict[str, tuple[float, float]]
    # column: the lowest and highest of its limits, 0 where none [unit]
    limits: dict[str, tuple[float, float]]
    largest: float  # limit of any column, 0 where none [unit]
    groups: dict[str, int]  # column: those of one number are held against each other
    moves: tuple[float, ...]  # steps of size [base]
    units: dict[str, tuple[str, float]]  # as typed behind a number: its unit, its factor to ``base``
    tools: dict[str, ToolShows]  # the shop's, that measure the same sort of thing


# what is asked by, beside a feature's own numbers
THRESHOLDS: Mapping[str, object] = {
    "near": NEAR,
    "repeats": suspects.REPEATS,
    "agrees": suspects.AGREES,
    "shifts": suspects.SHIFTS,
    "alike": suspects.ALIKE,
    "spreads": suspects.SPREADS,
    "steps": suspects.STEPS,
    "columnSteps": suspects.COLUMN_STEPS,
    "reach": suspects.REACH,
    "tight": slips.TIGHT,
    "far": slips.FAR,
    "beyond": slips.BEYOND,
    "among": slips.AMONG,
    "close": slips.CLOSE,
    "apart": slips.APART,
    "odd": slips.ODD,
    "absurd": slips.ABSURD,
    "worn": slips.WORN,
    "fewest": slips.FEWEST,
    "oneSize": degrees.ONE_SIZE,
    "deepest": degrees.DEEPEST,
    "turns": degrees.TURNS,
    "wornAlike": degrees.WORN_ALIKE,
    "beside": degrees.BESIDE,
    "rounded": misread.ROUNDED,
    "levered": misread.LEVERED,
    "estimated": headings.ESTIMATED,
    "mostRepeats": MOST_REPEATS,
}


def shop_shows(shop: Shop) -> dict[str, ToolShows]:
    """What each instrument of the shop can show; none of those whose units do not belong together."""
    tools = {name: tool for name, tool in shop.instruments.items() if base(tool.range.unit)}
    return {
        name: _shows(tool)
        for name, tool in tools.items()
        if base(tool.resolution.unit) == base(tool.range.unit)
    }


def one_reading(feature: FeatureRecord, tools: Mapping[str, ToolShows]) -> OneReading:
    """All that a single reading of a feature is held against; ``tools`` are the shop's."""
    own = base(feature.unit or "mm")
    unit = canonical(feature.unit or "mm") if own else ""
    columns = tuple(feature.columns)
    limits = limits_of(feature)
    different: list[object] = []
    for column in columns:
        if limits.get(column) not in different:
            different.append(limits.get(column))
    kind = KINDS.get(feature.kind)
    return OneReading(
        feature.kind,
        unit,
        own,
        kind is None or kind.alike,
        {column: (ends[0], ends[1]) for column in columns if (ends := narrow_band(feature, column, own))},
        {column: slips.limit_span(feature, column, unit) for column in columns},
        slips.limit_span(feature, None, unit)[1],
        {column: different.index(limits.get(column)) for column in columns},
        tuple(step.mm for step in feature.steps) if own == "mm" else (),
        _units(own),
        {name: tool for name, tool in tools.items() if own and base(tool.unit) == own},
    )


@cache
def _units(own: str) -> dict[str, tuple[str, float]]:
    """Every way of typing a unit of this sort behind a number, without a blank in it."""
    found = {}
    for typed in spellings() if own else ():
        unit = canonical(typed)
        if " " not in typed and dimension(unit) == dimension(own) and own != BASE["temperature"]:
            found[typed] = (unit, factor(unit, own))
    return found


def _shows(tool: InstrumentRecord) -> ToolShows:
    low, high = misread.shown_by(tool)
    step, unit = tool.resolution, tool.range.unit
    read_in = dict.fromkeys([step.unit, *(other for other, _ in _units(base(unit)).values())])
    apart: tuple[tuple[float, ...], ...] = ()
    if step.unit == unit:
        counts = range(2, MOST_PRECOMPUTED + 1)
        apart = tuple(
            tuple(round(misread.allowed_apart(tool, unit, 10.0**-places, n), 7) for n in counts)
            for places in range(step.decimals + 1)
        )
    return ToolShows(
        kind=tool.kind,
        unit=unit,
        low=low,
        high=high,
        decimals=step.decimals,
        step=str(step),
        step_unit=step.unit,
        said=tuple(end.text for end in tool.range.ends),
        exact=step.value == step.resolution,
        thimble=degrees.has_thimble(tool),
        gap=family(tool.kind) == "gap",
        is_set=tool.set_in_another,
        digits={typed: headings.most_decimals(tool, typed) for typed in read_in},
        repeats=tool.repeatability is not None,
        apart=apart,
    )
