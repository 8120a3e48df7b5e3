"""What is due to be measured now: positions of which nothing stands, in an order that saves walking."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date
from functools import partial

from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Sentence, Several, Text, as_typed
from ...records import JobFolder, ShopFolder
from ...records.doubts.onereading import one_reading, shop_shows
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import InstrumentRecord, Shop
from ...trade.engine.cautions import Nature
from ...trade.kinds import KINDS, Kind
from ...trade.measuring.gauges import family, tolerance, too_coarse
from ...trade.measuring.uncertainty import Instrument
from ..model.assessment import Assessment, Characteristic, Due, DueLimit, DueRound, When
from ..model.bench import Build
from ..model.edition import copied
from .judging import ends_in, limits_at, unit_of
from .observations import base_unit, instrument_in, occasions, of_whole_engine
from .record_tables import range_of
from .timeline import Timeline
from .titles import feature_title
from .valuing import to_come_to

OF_INCHES = ("in", "thou", "psi", "lbf", "lb", "in³", "lbf·ft", "lbf·in", "lbf/in")
FINISHED = ("ready to collect", "delivery", "follow-up", "declined")
SMALLEST_SIZE = 1.0  # mm: a shorter length may be a play or a gap, which no micrometer reads


def due_round(folder: ShopFolder, job: JobFolder, one: Assessment) -> DueRound | None:
    """The next measuring round with what is due for it.

    None where nothing is, where no sheet of the engine says what is, and where the work is finished.
    """
    if one.stage in FINISHED or folder.sheet(job) is None:
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
    base = "after-machining" if job.decisions else "inspection" if job.rounds else "arrival"
    if job.record.reopened or job.assembly is not None:
        base = "came-back" if job.record.reopened else "at-assembly"
    name, number = base, 2
    while name in job.rounds:
        name, number = f"{base}-{number}", number + 1
    return name


def due(folder: ShopFolder, job: JobFolder, one: Assessment) -> tuple[Due, ...]:
    """Features with positions of which no reading stands, part by part and instrument by instrument.

    What was read on the assembled engine is not due while it is apart, nor what lies inside once it is not.
    Raises KeyError where the job's engine has no sheet.
    """
    shop, sheet = folder.shop, folder.sheet(job)
    if shop is None or sheet is None:
        raise KeyError(job.record.engine)
    timeline = Timeline(sheet, job, occasions(shop, sheet, job))
    opened = job.teardown is not None
    apart = opened and job.assembly is None
    boxes, shows = [], shop_shows(shop)
    inside = _inside(sheet, one.bench.build) if not job.record.reopened else frozenset()
    for name, feature in sheet.features.items():
        kind, whole = KINDS[feature.kind], of_whole_engine(feature)
        shut = (whole and apart) or name in inside
        positions = () if shut else _unread(one.characteristics, name, feature, kind)
        if not positions:
            continue
        limits = []
        for limit in _limits(sheet, name, kind, partial(_size, timeline, positions[0], one.as_of)):
            new, wear = to_come_to(timeline, name, positions, limit.limits)
            limits.append(replace(limit, limits=replace(limit.limits, new=new, wear=wear)))
        fit = tuple(_fit(shop, feature, kind, limits))
        tool = shop.instruments[fit[0]] if fit else None
        when: When = "together" if kind.together and not opened else "apart"
        if whole:
            when = "whole" if opened else "before"
        box = copied(
            Due,
            feature,
            feature=name,
            title=feature_title(sheet, name),
            part=feature.part or _of_housing(sheet, name),
            drawing=kind.drawing,
            readings=_asks(feature, kind, one.engine.nature),
            positions=positions,
            limits=tuple(limits),
            instruments=fit,
            # 'micrometer, 75 to 100 mm', as it is asked for at the bench
            instrument=Several([Sentence(tool.kind), range_of(tool)]) if tool else NOTHING,
            to_set=bool(tool and tool.set_in_another),
            when=when,
            asks=one_reading(feature, shows),
        )
        boxes.append(box)
    return tuple(sorted(boxes, key=_walk(sheet, shop, boxes)))


def _inside(sheet: Engine, built: Build) -> frozenset[str]:
    """What of an engine that is together nobody reads: it is of what was fitted, or of bolts that are tight.

    Together it is with every page but the last, which lets it start, done.  What proves the assembly may
    still be read, as a backlash or a valve clearance, and so may what no line of the pages names.
    """
    last = built.pages[-1:]
    if not all(page.done for page in built.pages[:-1] or last):
        return frozenset()
    fitted = {line.name for line in built.lines if line.verb in ("fit", "tighten") and line.state == "done"}
    fitted |= {group.measure for name, group in sheet.fasteners.items() if name in fitted}
    return frozenset(
        name
        for name, one in sheet.features.items()
        if fitted & {name, one.part}
        and not (KINDS[one.kind].together or KINDS[one.kind].fitted or of_whole_engine(one))
    )


def _size(timeline: Timeline, position: str, day: date, name: str) -> str:
    """The size step that a feature has at a position, or will have once it is machined."""
    return timeline.size(name, position, day) or timeline.decided_size(name, position)


def _of_housing(sheet: Engine, shells: str) -> str:
    """The part that shells lie in, where they are on the bench together with it; '' for all else."""
    housings = [fit.link("housing") for fit in sheet.fits(shells=shells)]
    return next((sheet.features[one].part for one in housings if one in sheet.features), "")


def _unread(
    values: Iterable[Characteristic], name: str, feature: FeatureRecord, kind: Kind
) -> tuple[str, ...]:
    """Positions where a limited value is 'not measured', as told by ``standing``, or where nothing was read.

    What is missing of all of them together alone asks for every one.
    """
    if not feature.columns:
        return ()
    mine = [value for value in values if value.feature == name and value.stands]
    lacking = [
        value for value in mine if value.verdict == "not measured" and (value.limits or not value.round)
    ]
    gaps = {value.position for value in lacking}
    read = {value.position for value in mine if value.value is not None and value.bound == "equal"}
    whole = {trait.at for trait in kind.traits.values()}
    places = tuple(at for at in feature.positions if at in gaps or not (at in read or whole & read))
    return places or (tuple(feature.positions) if whole & gaps else ())


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


def fitting(shop: Shop, sheet: Engine, name: str) -> str:
    """The instrument to read a feature with that nobody has read yet; '' where none is known to suit it."""
    feature = sheet.features[name]
    kind = KINDS.get(feature.kind)  # nobody may have looked for errors in the sheet yet
    return next(iter(_fit(shop, feature, kind, _limits(sheet, name, kind, lambda _: ""))), "") if kind else ""


def _limits(sheet: Engine, name: str, kind: Kind, size_of: Callable[[str], str]) -> list[DueLimit]:
    feature, limits = sheet.features[name], dict[str, DueLimit]()
    names = kind.characteristics(tuple(feature.columns), {*feature.new, *feature.wear})
    judged_by = Counter(kind.trait(name).limit for name in names)
    for trait in map(kind.trait, names):
        unit = unit_of(feature, trait, base_unit(feature.unit))
        known = limits_at(sheet, name, trait, unit, size_of)
        if known is not None and trait.limit not in limits:
            # what a limit judges alone has its title; what it judges beside another, the limit's own name
            words = Sentence(trait.title) if judged_by[trait.limit] == 1 else as_typed(trait.limit)
            limits[trait.limit] = DueLimit(trait.limit, words, unit, known, trait.from_zero)
    return list(limits.values())


def _asks(feature: FeatureRecord, kind: Kind, nature: Nature) -> Text:
    """How many readings make a measurement, and the numbers that they are taken at, as the sheet has them."""
    known = [
        Sentence("{what}: {value}", what=Sentence(given.says), value=str(feature.further[key]))
        for key, given in kind.given.items()
        if given.at_bench and feature.further.get(key)
    ]
    return Several([kind.asks(tuple(feature.columns), nature), *known], "; ")


def _fit(shop: Shop, feature: FeatureRecord, kind: Kind, limits: list[DueLimit]) -> list[str]:
    """Instruments of the right sort and range that are good enough, the coarsest of them first.

    One that shows what the boxes are filled in with comes before one to be converted from.  Of two alike
    the one whose range the limits fill better.  Good enough are steps of at most a tenth of the narrowest
    tolerance, and a permitted error of at most a fifth of it (common practice); where none is, or no limit
    gives a width, the finest comes first.
    """
    unit = base_unit(feature.unit)
    mine = [limit for limit in limits if limit.unit == unit]
    ends = _sizes_to_span(feature, kind, mine)
    lengths = quantities.dimension(unit or "mm") == "length"
    narrowest = _narrowest(limits, mine)
    if not kind.instruments:
        return _only(shop, unit, ends, narrowest)
    if not ends and lengths and {"outside", "bore"} & {*kind.instruments}:
        return []  # of what size it is the sheet does not say
    good: list[tuple[bool, int, float, float, str]] = []
    other: list[tuple[bool, float, float, str]] = []
    inches = _of_inches(feature.unit or "mm")
    for name, tool in shop.instruments.items():
        if family(tool.kind) not in kind.instruments or not _reaches(tool, unit, ends):
            continue
        low, high = ends_in(tool.range, unit, tool.resolution.unit)
        span = high - low if low is not None and high is not None else math.inf
        figures = instrument_in(tool, name, unit)
        strange = _of_inches(tool.resolution.unit) != inches
        if narrowest is not None and _good_enough(figures, narrowest):
            sort = kind.instruments.index(family(tool.kind))
            good.append((strange, sort, -figures.resolution, span, name))
        other.append((strange, figures.resolution, span, name))
    return [name for *_, name in sorted(good)] or [name for *_, name in sorted(other)]


def _only(shop: Shop, unit: str, ends: list[float], narrowest: float | None) -> list[str]:
    """Of what anything may read: where but one in the house can, it is that; but none that takes sizes for
    what may be a play or a gap."""
    tight = bool(ends) and quantities.dimension(unit or "mm") == "length" and max(ends) < SMALLEST_SIZE
    can = [
        name
        for name, tool in shop.instruments.items()
        if ends and narrowest and not tool.set_in_another and _reaches(tool, unit, ends)
        if not (tight and family(tool.kind) in ("outside", "wall", "bore"))
        if _good_enough(instrument_in(tool, name, unit), narrowest)
    ]
    return can if len(can) == 1 else []


def _of_inches(unit: str) -> bool:
    return quantities.canonical(unit) in OF_INCHES


def _reaches(tool: InstrumentRecord, unit: str, ends: list[float]) -> bool:
    """Whether an instrument reads such a unit, and reaches all of these sizes."""
    if quantities.dimension(tool.resolution.unit) != quantities.dimension(unit or "mm"):
        return False
    low, high = ends_in(tool.range, unit, tool.resolution.unit)
    return all((low is None or end >= low) and (high is None or end <= high) for end in ends)


def _good_enough(tool: Instrument, width: float) -> bool:
    return not too_coarse(tool.resolution, width) and tool.permitted_error <= width / 5.0


def _narrowest(limits: list[DueLimit], mine: list[DueLimit]) -> float | None:
    """The narrowest tolerance that has to be told apart; where sizes have limits, those decide."""
    deviations = all(limit.from_zero for limit in limits)
    widths = [
        tolerance(side, limit.limits.new, from_zero=True)
        for limit in mine
        if limit.from_zero == deviations
        for side in (limit.limits.new, limit.limits.wear)
    ]
    return min((width for width in widths if width is not None), default=None)


ABOVE_LEAST = 1.5  # times the least pressure, that a gauge should reach (common practice)


def _sizes_to_span(feature: FeatureRecord, kind: Kind, limits: list[DueLimit]) -> list[float]:
    """Sizes that the instrument has to reach: a clearance or an out-of-round says nothing of that."""
    keys = {*feature.columns, "size", kind.column_trait.limit}
    sized = [one for one in limits if one.key in keys]
    sides = [side for one in sized for side in (one.limits.new, one.limits.wear)]
    # a free spread is read as a width, and stands over the seat
    above = (feature.given("seat", base_unit(feature.unit)) or 0.0) if "seat" in kind.given else 0.0
    ends = [above + end for side in sides for end in side if end is not None]
    pressures = [one for one in sized if quantities.dimension(one.unit or "mm") == "pressure"]
    if pressures and all(one.limits.new[1] is None for one in pressures):
        ends.append(ABOVE_LEAST * max(ends))  # a sound one is well above the least that is asked for
    return ends
