"""What is due to be measured now: positions of which nothing stands, in an order that saves walking."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from ... import quantities
from ...records import JobFolder, ShopFolder
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...trade.kinds import KINDS, Kind
from ...trade.measuring.gauges import family, tolerance, too_coarse
from ..model.assessment import Assessment, Due, DueLimit, DueRound
from .judging import ends_in, limits_for, unit_of
from .observations import base_unit, instrument_in, occasions, of_whole_engine
from .timeline import Timeline
from .titles import feature_title

FINISHED = ("ready to collect", "delivery", "follow-up", "declined")


def due_round(folder: ShopFolder, job: JobFolder, one: Assessment) -> DueRound | None:
    """The next measuring round with what is due for it.

    None where nothing is, where no sheet of the engine says what is, and where the work is finished.
    """
    sheet = folder.engines.get(job.job.engine) if job.job else None
    if one.stage in FINISHED or sheet is None or sheet.model is None:
        return None
    found = due(folder, job, one)
    return DueRound(next_round(job), found) if found else None


def next_round(job: JobFolder) -> str:
    """The round that is laid out and waits for its readings, or a name for a new one.

    A new one is named after what the job has come to, and numbered where the name is taken.
    """
    for name, known in job.rounds.items():
        if not known.begun:
            return name
    decided = bool(job.work and job.work.decisions)
    base = "after-machining" if decided else "inspection" if job.rounds else "arrival"
    name, number = base, 2
    while name in job.rounds:
        name, number = f"{base}-{number}", number + 1
    return name


def due(folder: ShopFolder, job: JobFolder, one: Assessment) -> tuple[Due, ...]:
    """Features with positions of which no reading stands, part by part and instrument by instrument.

    What was read on the assembled engine is not due while it is apart.
    Raises KeyError where the job's engine has no sheet.
    """
    assert folder.shop is not None and job.job is not None
    sheet = folder.engines[job.job.engine].model
    if sheet is None:
        raise KeyError(job.job.engine)
    timeline = Timeline(sheet, job, occasions(folder.shop, sheet, job))
    standing: dict[str, set[str]] = {}
    for c in one.characteristics:
        if c.stands and c.value is not None and c.bound == "equal":
            standing.setdefault(c.feature, set()).add(c.position)
    opened = job.teardown is not None
    apart = opened and job.assembly is None
    found = []
    for name, feature in sheet.features.items():
        kind = KINDS.get(feature.kind)
        if (
            kind is None
            or not feature.positions
            or not feature.columns
            or (of_whole_engine(feature) and apart)
        ):
            continue
        have = standing.get(name, set())
        whole = {trait.at for trait in kind.traits.values() if trait.at} & have
        positions = [] if whole else [place for place in feature.positions if place not in have]
        if positions:
            box = _due(folder.shop, sheet, timeline, name, feature, kind, tuple(positions), one)
            if of_whole_engine(feature):
                box = replace(box, when="whole" if opened else "before")
            elif kind.together and not opened:
                box = replace(box, when="together")
            found.append(box)
    return tuple(sorted(found, key=_walk(sheet, folder.shop, found)))


def _walk(sheet: Engine, shop: Shop, found: list[Due]) -> Callable[[Due], tuple[int, ...]]:
    """The whole engine first, then what is read while parts are together, then part by part.

    Parts as the sheet begins them, what names none last; within a part, one instrument after the other.
    """
    parts = [*dict.fromkeys(one.part for one in sheet.features.values() if one.part), ""]
    tools = list(dict.fromkeys(family(tool.kind) for tool in shop.instruments.values()))
    order = {one.feature: i for i, one in enumerate(found)}

    stages = ("before", "whole", "together", "apart")

    def key(one: Due) -> tuple[int, ...]:
        first = family(shop.instruments[one.instruments[0]].kind) if one.instruments else ""
        tool = tools.index(first) if first in tools else len(tools)
        return stages.index(one.when), parts.index(one.part), tool, order[one.feature]

    return key


def _due(
    shop: Shop,
    sheet: Engine,
    timeline: Timeline,
    name: str,
    feature: FeatureRecord,
    kind: Kind,
    positions: tuple[str, ...],
    one: Assessment,
) -> Due:
    size = timeline.size(name, positions[0], one.as_of) or timeline.decided_size(name, positions[0])
    limits: dict[str, DueLimit] = {}
    for characteristic in kind.characteristics(tuple(feature.columns or ()), {*feature.new, *feature.wear}):
        trait = kind.trait(characteristic)
        unit = unit_of(feature, trait, base_unit(feature.unit))
        known = limits_for(sheet, feature, trait, unit, size)
        if known is not None and trait.limit not in limits:
            words = trait.limit.replace("_", " ") if kind.traits else trait.title
            limits[trait.limit] = DueLimit(trait.limit, words, unit, known, trait.from_zero)
    return Due(
        name,
        feature_title(sheet, name),
        feature.part or "",
        feature.kind,
        kind.drawing,
        _asks(feature, kind),
        feature.unit or "",
        feature.state or "",
        positions,
        tuple(feature.columns or ()),
        tuple(limits.values()),
        tuple(_fit(shop, feature, kind, list(limits.values()))),
    )


def _asks(feature: FeatureRecord, kind: Kind) -> str:
    """How many readings make a measurement, and the numbers that they are taken at, as the sheet has them."""
    known = [
        f"{given.says}: {feature.further[key]}"
        for key, given in kind.given.items()
        if given.at_bench and feature.further.get(key)
    ]
    return ". ".join(
        [kind.asks(tuple(feature.columns or ())), *(f"{one[:1].upper()}{one[1:]}" for one in known)]
    )


def _fit(shop: Shop, feature: FeatureRecord, kind: Kind, limits: list[DueLimit]) -> list[str]:
    """Instruments of the right sort and range that are good enough, the coarsest of them first.

    Of two alike the one whose range the limits fill better.

    Steps of at most a tenth of the narrowest tolerance, and a permitted error of at most a fifth of it
    (common practice); where none is, or no limit gives a width, the finest comes first.
    """
    unit = base_unit(feature.unit)
    widths: list[float] = []
    ends: list[float] = []
    for one in (limit for limit in limits if limit.unit == unit):
        for side in (one.limits.new, one.limits.wear):
            width = tolerance(side, one.limits.new, from_zero=True)
            if width is not None and one.from_zero == all(other.from_zero for other in limits):
                widths.append(width)  # where sizes have limits, those decide
            # a difference (a clearance, an out-of-round) says nothing of the size that must be spanned
            if one.key in (*(feature.columns or ()), "size", kind.column_trait.limit):
                ends += [end for end in side if end is not None]
    narrowest = min(widths, default=None)
    lengths = quantities.dimension(unit or "mm") == "length"
    if not kind.instruments or (not ends and lengths and {"outside", "bore"} & {*kind.instruments}):
        return []  # of what size it is, or what reads it, the sheet does not say
    sorts = {sort: i for i, sort in enumerate(kind.instruments)}
    fit: list[tuple[int, float, float, str]] = []
    other: list[tuple[float, float, str]] = []
    for name, tool in shop.instruments.items():
        sort = family(tool.kind)
        if quantities.dimension(tool.resolution.unit) != quantities.dimension(unit or "mm"):
            continue
        low, high = ends_in(tool.range, unit, tool.resolution.unit)
        inside = all((low is None or end >= low) and (high is None or end <= high) for end in ends)
        if not inside or sort not in sorts:
            continue
        figures = instrument_in(tool, name, unit)
        span = high - low if low is not None and high is not None else math.inf
        fine = narrowest is not None and (
            not too_coarse(figures.resolution, narrowest) and figures.permitted_error <= narrowest / 5.0
        )
        if fine:
            fit.append((sorts.get(sort, 0), -figures.resolution, span, name))
        other.append((figures.resolution, span, name))
    return [name for *_, name in sorted(fit)] or [name for *_, name in sorted(other)]
