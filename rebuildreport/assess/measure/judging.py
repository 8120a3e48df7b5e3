"""Limits in force for one value, its verdict in words, and what would settle it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, message
from ...quantities.show import decimals_in
from ...records.files.sheet import Engine, FeatureRecord, cited
from ...records.files.shop import InstrumentRecord, Shop
from ...records.text.fields import Interval
from ...trade.kinds import Computed, Trait
from ...trade.measuring import verdict as rule
from ...trade.measuring.form import is_size
from ...trade.measuring.gauges import family, tolerance, too_coarse
from ...trade.measuring.uncertainty import Instrument, Measured
from ..model.assessment import OPEN, Ends, Limits, LimitSource
from .observations import Occasion, base_unit, instrument_in, reaches
from .timeline import sized, step_in_mm

SOURCES = {
    "shop_practice": Sentence("shop practice"),
    "common_practice": Sentence("common practice, unconfirmed"),
}


def source_of(engine: Engine, source: str | None) -> LimitSource:
    """The source of a limit: a document of the sheet with the place in it, or what the shop says."""
    if not source:
        return LimitSource(Sentence("no source given"))
    word, where, page = cited(source)
    if word in SOURCES:
        return LimitSource(SOURCES[word])
    title = engine.documents.get(word)
    return LimitSource(Typed(title), where, page) if title else LimitSource(Typed(source))


def source_text(engine: Engine, source: str | None) -> Text:
    """A source as printed: the document's title and page."""
    return source_of(engine, source).text


def limits_for(
    engine: Engine,
    feature: FeatureRecord,
    trait: Trait,
    unit: str,
    size: str,
    wall_step: float = 0.0,
    share_step: float = 0.0,
) -> Limits | None:
    """The limits of one characteristic, moved by the size step in force; None where none is on file.

    ``share_step``: what the size that they are a share of differs by from the standard one [mm].
    """
    stated = _stated(feature, trait.limit, share_step)
    typed_unit = trait.unit or feature.unit or unit
    new, wear = (ends_in(one, unit, typed_unit) for one in stated)
    if new == OPEN and wear == OPEN:
        return None
    shown = NOTHING
    if trait.limit == "size" or _runs_in_a_size(engine, feature, trait):
        step = step_in_mm(size)
        new, wear, shown = moved(new, step), moved(wear, step), sized(size)
    elif trait.limit == "wall" and wall_step:
        new, shown = moved(new, wall_step), sized(size)  # a worn wall has no limit that a size would move
    decimals = max(one.decimals for one in stated if one)
    if typed_unit and unit:
        decimals = decimals_in(typed_unit, decimals, unit)
    if shares := [one.share for one in stated if one and one.share]:
        # a share as the sheet has it, and the size that it was reckoned from
        here = message("{limits}, here {size}")
        said = [(Typed(share.text), Figure(share.said_size(share_step))) for share in shares]
        shown = Several([Sentence(here, limits=limits, size=at) for limits, at in said], "; ")
    return Limits(new, wear, new, "new", source_of(engine, feature.source), decimals, shown)


def limits_at(
    engine: Engine, name: str, trait: Trait, unit: str, size_of: Callable[[str], str]
) -> Limits | None:
    """The limits of a feature in the sizes of that moment.

    ``size_of``: the size step of a feature, by its name.
    """
    return limits_for(engine, engine.features[name], trait, unit, *steps_at(engine, name, trait, size_of))


def steps_at(
    engine: Engine, name: str, trait: Trait, size_of: Callable[[str], str]
) -> tuple[str, float, float]:
    """The size of a feature then, and what moves its walls and its shares of a size by it [mm].

    Shells have the size of their journal, and two walls make up for its step on the diameter.
    """
    feature = engine.features[name]
    shells = feature.kind == "shells"
    sized = journal_of(engine, name) if shells else name
    size, of = size_of(sized) if sized else "", feature.share_of(trait.limit)
    return size, -step_in_mm(size) / 2.0 if shells else 0.0, step_in_mm(size_of(of)) if of else 0.0


def journal_of(engine: Engine, shells: str) -> str:
    """The journal that shells run on; '' where no fit names one."""
    return next((fit.journal for fit in engine.fits(shells=shells) if fit.journal), "")


def _runs_in_a_size(engine: Engine, feature: FeatureRecord, trait: Trait) -> bool:
    """Whether a limit is of a plain reading that a fit takes as a size: an oversize piston's is larger."""
    plain = feature.kind == "readings" and trait.limit in feature.columns and is_size(trait.limit)
    return plain and any(engine.features.get(fit.inner) is feature for fit in engine.features.values())


def _stated(feature: FeatureRecord, name: str, share_step: float) -> list[Interval | None]:
    """The new and the wear limit of a name on the sheet; shares of a size at that size."""
    stated = [feature.new.get(name), feature.wear.get(name)]
    if name == "wall" and feature.wall:
        stated[0] = feature.wall
    return [one.share.at(share_step) if one and one.share else one for one in stated]


def limits_of_band(engine: Engine, feature: FeatureRecord, band: tuple[float, float]) -> Limits:
    """What a new shell of the grade that was decided has to measure [mm]."""
    decimals = max(limit.decimals for limit in feature.grades.values())
    shown = decimals_in(feature.unit or "mm", decimals, "mm")
    return Limits(band, OPEN, band, "new", source_of(engine, feature.source), shown)


def unit_of(feature: FeatureRecord, trait: Trait, otherwise: str = "") -> str:
    """The unit that a characteristic is kept in: its own (a share, an angle), or its feature's base unit."""
    return base_unit(trait.unit or feature.unit) or otherwise


def ends_in(typed: Interval | None, unit: str, typed_unit: str) -> Ends:
    """Typed limits as numbers in ``unit``; bare ends are in ``typed_unit``."""
    if typed is None:
        return OPEN
    scale = quantities.factor(typed_unit, unit) if typed_unit and unit and typed_unit != unit else 1.0
    return moved(typed.within(typed_unit), scale=scale)


def moved(ends: Ends, by: float = 0.0, scale: float = 1.0) -> Ends:
    """The same in another unit, then by so much larger."""
    low, high = (None if end is None else round(end * scale + by, 9) for end in ends)
    return low, high


def fitness(one: Occasion, trait: Trait, limits: Limits | None) -> Text:
    """A sentence where the instrument shows steps larger than a tenth of the tolerance, else nothing."""
    if one.record is None or limits is None or trait.unit:
        return NOTHING
    width = tolerance(limits.decides, limits.new, trait.from_zero)
    steps = one.instrument.resolution
    if width is None or not too_coarse(steps, width):
        return NOTHING
    own = one.record.resolution  # as its maker states it: nobody reads a metric feeler in inches
    wide = quantities.convert(width, one.unit, own.unit) if own.unit else width
    words = message(
        "steps of {step} on the {instrument}, coarser than a tenth of the tolerance, "
        "which is {tolerance} wide"
    )
    return Sentence(
        words,
        instrument=Sentence(one.record.kind),
        step=Figure(f"{own.text} {own.unit}"),
        tolerance=Figure(f"{wide:.3g} {own.unit}"),
    )


WARMTH = ("temperature", "expansion")  # sources of doubt that soaking at 20 °C takes away


class Opinion(Struct, frozen=True):
    """A verdict with its words."""

    verdict: rule.Name
    end: Literal["", "low", "high"]
    side: Text  # the same in words
    guard: float
    below: float
    decides: Ends
    deciding: Literal["new", "wear"]
    advice: Text
    worst: Measured | None = None  # the reading that decided, where it is not the value itself


def opinion(
    computed: Computed,
    trait: Trait,
    limits: Limits | None,
    again: bool,
    shop: Shop,
    raw: Computed | None = None,
) -> Opinion:
    """The verdict on a computed characteristic, in words.

    ``raw`` is the same before a correction for temperature where part and
    instrument had not soaked together: the verdict stands only where both agree.
    """
    guarded = shop.decision_rule == "guarded"
    measured = computed.measured
    if measured is None:
        return Opinion(
            "not measured", "", NOTHING, 0.0, 0.0, OPEN, "new", computed.note or Sentence("too few readings")
        )
    found, decided_by = _judged(computed, limits, again, guarded)
    side = Sentence(trait.low if found.side == "low" else trait.high) if found.side else NOTHING
    verdict: rule.Name = found.verdict
    advice = computed.note if verdict == "not measured" else NOTHING
    if verdict == "not measured" and computed.bound == "at least" and computed.basis:
        advice = Sentence("{basis}: this is the least that it can have been", basis=computed.basis)
    if raw is not None and limits is not None:
        # what was corrected is as sure as the correction: the raw value is no surer than that
        by = raw.measured.value - measured.value if raw.measured else 0.0
        if _judged(replace(raw, measured=measured.shifted(by)), limits, again, guarded)[0].verdict != verdict:
            verdict = "too close to call"
            advice = Sentence("read on a part that had not soaked at 20 °C: measure again after soaking")
    worst = decided_by if decided_by is not measured else None
    return Opinion(
        verdict, found.side, side, found.guard, found.below, found.decides, found.deciding, advice, worst
    )


def _judged(
    computed: Computed, limits: Limits | None, again: bool, guarded: bool
) -> tuple[rule.Judgement, Measured]:
    """The verdict on a value and the reading that gave it: each side on the reading that is worst for it."""
    new, wear = (limits.new, limits.wear) if limits else (OPEN, OPEN)
    assert computed.measured is not None
    value = computed.measured
    whole = rule.judge(value, new, wear, again, guarded, computed.bound)
    worst = whole, value
    part = computed.bound != "equal"  # of what was read in part, another may be worse still
    for reading, side in ((computed.least, 0), (computed.most, 1)):
        if reading is None:
            continue
        new_end, wear_end = ((None, ends[1]) if side else (ends[0], None) for ends in (new, wear))
        bound: rule.Bound = "equal" if not part else "at least" if side else "at most"
        judged = rule.judge(reading, new_end, wear_end, again, guarded, bound)
        if rule.ORDER.index(judged.verdict) < rule.ORDER.index(worst[0].verdict):
            worst = replace(judged, decides=whole.decides, deciding=whole.deciding), reading
    return worst


def settle(
    measured: Measured,
    decides: Ends,
    used: Instrument,
    record: InstrumentRecord | None,
    shop: Shop,
    unit: str,
    size: float,
    repeats: int,
    set_from: str = "",
) -> Text:
    """What would settle a value that is too close to its limit, in a sentence.

    ``size`` is a reading in ``unit`` that another instrument's range must cover.
    """
    least, most = measured.value - measured.below, measured.value + measured.above
    if any(least + rule.DUST < end < most - rule.DUST for end in decides if end is not None):
        words = message("the limit lies between the leaf that went in and the next one: try a leaf of it")
        return Sentence(words)
    others = _instead(used, record, shop, unit, size) if record else []
    found = rule.remedy(measured, decides, used, others, repeats, set_from)
    if found.kind == "repeats":
        words = message("{count} readings at each spot instead of {taken} would settle it")
        return Sentence(words, count=found.repeats, taken=repeats)
    no_use = Sentence("repeats alone will not")
    if found.repeats:
        no_use = Sentence("so would {count} readings at each spot", count=found.repeats)
    elif record is not None and found.permitted_error_dominates:
        no_use = Sentence("no number of repeats will")
    if found.kind == "instrument":
        better = shop.instruments[found.instrument]
        words = message("the {instrument} of {step} steps would settle it; {otherwise}")
        return Sentence(
            words, instrument=Sentence(better.kind), step=Figure(str(better.resolution)), otherwise=no_use
        )
    return Sentence("no instrument on the shop's list settles it; {otherwise}", otherwise=no_use)


def _instead(
    used: Instrument, record: InstrumentRecord, shop: Shop, unit: str, size: float
) -> list[Instrument]:
    """Others of the sort that reach this size: the least demanding that is good enough is the one named."""
    sort = family(record.kind), quantities.dimension(record.resolution.unit)
    others = [
        instrument_in(one, name, unit)
        for name, one in shop.instruments.items()
        if name != used.name and (family(one.kind), quantities.dimension(one.resolution.unit)) == sort
        if reaches(one, unit, size)
    ]
    return sorted(others, key=lambda other: (-other.permitted_error, -other.random()))


def by_note(measured: Measured) -> Text:
    """What would settle a value whose doubt comes most of all of what nobody noted of its instrument."""
    not_noted = sum(part**2 for source, part in measured.parts.items() if not source.noted)
    if not_noted <= measured.u**2 / 2.0:
        return NOTHING
    return Sentence("most of its doubt is what nobody noted: what it was read with, or set in")


def by_warmth(measured: Measured) -> Text:
    """What would settle a value whose doubt comes most of all of the temperature it was read at."""
    kinds = {source.kind for source in measured.parts} - set(WARMTH)
    warm = measured.share(*WARMTH)
    if warm == 0.0 or any(measured.share(kind) >= warm for kind in kinds):
        return NOTHING
    words = message("most of its doubt is the part's temperature: measure again after soaking at 20 °C")
    return Sentence(words)
