"""Orders to machine shops: what to do to which surface, to what size; and what came back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ...quantities import Text
from ...quantities.show import decimals_in
from ...records import JobFolder
from ...records.files.choosing import MachiningOrder
from ...records.files.jobfile import DecisionRecord
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...records.text.fields import Interval
from ...trade.kinds import KINDS
from ...trade.measuring import verdict as rule
from ..measure.judging import ends_in, source_text
from ..measure.observations import base_unit
from ..measure.timeline import Timeline, step_in_mm
from ..measure.titles import feature_title, span
from ..model.assessment import Characteristic, Deviation
from ..model.choice import Choice, Effect, Ends, Operation, Outcome, Returned, ShopOrder

OUTCOMES: dict[str, Outcome] = {
    "as new": "accepted",
    "serviceable": "accepted",
    "beyond limit": "rejected",
    "too close to call": "too close to call",
}
# the worst of a position's readings is what it came back as
WORST: tuple[Outcome, ...] = (
    "rejected",
    "too close to call",
    "accepted by deviation",
    "not measured",
    "accepted",
)


def orders(
    shop: Shop,
    engine: Engine,
    job: JobFolder,
    timeline: Timeline,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    chosen: tuple[Choice, ...] = (),
) -> tuple[ShopOrder, ...]:
    """Every order that work.yaml names, with its operations from the decisions and the sheet."""
    work = job.work
    return tuple(
        _order(shop, engine, job, timeline, found, deviations, chosen, name, one)
        for name, one in (work.machining.items() if work else ())
    )


def _order(
    shop: Shop,
    engine: Engine,
    job: JobFolder,
    timeline: Timeline,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    chosen: tuple[Choice, ...],
    name: str,
    one: MachiningOrder,
) -> ShopOrder:
    operations = tuple(
        replace(
            operation,
            price_limit=one.price_limits.get(operation.feature),
            effects=_effects(engine, operation, chosen),
            supplied=tuple(_to_pistons(engine, operation, found)),
        )
        for operation in _operations(engine, job, timeline, one)
    )
    return ShopOrder(
        name=name,
        to=one.to,
        parts=tuple(part.replace("_", " ") for part in one.parts),
        sent=one.sent,
        wanted=one.wanted,
        price_limit=one.price_limit,
        currency=shop.currency,
        operations=operations,
        goes_along=tuple(one.goes_along),
        comes_back=tuple(one.comes_back),
        supplied=tuple(one.supplied),
        before=tuple(one.before),
        after=tuple(one.after),
        never=tuple(one.never),
        note=one.note or "",
        missing=tuple(_missing(engine, timeline, found, one, operations)),
        returned=tuple(_returned(engine, found, deviations, operations, shop.decision_rule == "guarded")),
    )


def _effects(engine: Engine, operation: Operation, chosen: tuple[Choice, ...]) -> tuple[Effect, ...]:
    """What a cut leaves of the part and moves with it, told to whoever makes it, as far as it is known."""
    for choice in chosen:
        if choice.on_paper or choice.decision != operation.decision or choice.name not in engine.features:
            continue
        if operation.feature in (choice.name, engine.features[choice.name].height):
            return tuple(effect for effect in choice.effects if effect.after != (None, None))
    return ()


def _to_pistons(
    engine: Engine, operation: Operation, found: list[Characteristic]
) -> Iterable[tuple[str, Ends]]:
    """Finished size of each bore whose new piston is there and measured: its skirt and the clearance."""
    for fit in engine.features.values():
        inner = engine.features.get(fit.inner or "")
        if fit.kind != "fit" or fit.outer != operation.feature or inner is None:
            continue
        low, high = ends_in(fit.new.get("clearance"), operation.unit, fit.unit or operation.unit)
        for position in operation.positions:
            skirts = [
                c.value
                for c in found
                if c.feature == fit.inner and c.position == position and c.stands and not c.again
                if c.value is not None and c.unit == operation.unit
            ]
            if skirts and low is not None and high is not None:
                # the largest reading of the skirt must have room, the smallest not too much
                yield position, (round(max(skirts) + low, 9), round(min(skirts) + high, 9))


def _operations(
    engine: Engine, job: JobFolder, timeline: Timeline, order: MachiningOrder
) -> Iterable[Operation]:
    """One for each feature of the parts sent that a decision reconditions."""
    number = 0
    for name, decision in (job.work.decisions if job.work else {}).items():
        if decision.do != "recondition":
            continue
        by_feature: dict[str, list[str]] = {}
        for feature, position in timeline.spots(decision.about, decision.positions):
            if engine.features[feature].part in order.parts:
                by_feature.setdefault(feature, []).append(position)
        for feature, positions in by_feature.items():
            only = order.positions.get(feature)
            ones = [position for position in positions if only is None or position in only]
            operation = _operation(engine, number + 1, feature, ones, decision, name)
            if ones and operation is not None:
                number += 1
                yield operation


def _operation(
    engine: Engine, number: int, feature: str, positions: list[str], decision: DecisionRecord, name: str
) -> Operation | None:
    sheet = engine.features[feature]
    unit = base_unit(sheet.unit)
    kind = KINDS.get(sheet.kind)
    limits = {
        key: ends_in(limit, unit, sheet.unit or unit) for key, limit in sheet.new.items() if not limit.see
    }
    sizes = [sheet.wear.get("height") if decision.remove else sheet.new.get("size")]
    written = {key: _decimals(limit, sheet.unit or unit, unit) for key, limit in sheet.new.items()}
    size: Ends = (None, None)
    if sheet.kind in ("journal", "bore"):
        low, high = limits.pop("size", (None, None))
        step = step_in_mm(decision.size or "")
        size = (
            None if low is None else round(low + step, 9),
            None if high is None else round(high + step, 9),
        )
    remove = decision.remove.to(unit) if decision.remove and unit else None
    if remove is not None:
        size = ends_in(sheet.wear.get("height"), unit, sheet.unit or unit)
    if not limits and size == (None, None) and remove is None:
        return None  # nothing that a machine shop could work to
    titles = {key: kind.trait(key).title if kind else key for key in limits}
    machining = sheet.machining
    must = (
        ("finish", machining.finish if machining else None),
        ("fillets", (machining.fillet if machining else None) or _radius(sheet)),
        ("oil holes", machining.oil_holes if machining else None),
        ("reference", machining.reference if machining else None),
    )
    return Operation(
        number=number,
        feature=feature,
        surface=feature_title(engine, feature),
        positions=tuple(positions),
        work=_work(sheet, decision),
        size=size,
        unit=unit,
        decimals=max((_decimals(one, sheet.unit or unit, unit) for one in sizes if one), default=3),
        form={titles[key]: ends for key, ends in limits.items()},
        form_decimals={titles[key]: written[key] for key in limits},
        remove=remove,
        must=tuple((word, text) for word, text in must if text),
        before=tuple(machining.before) if machining else (),
        after=tuple(machining.after) if machining else (),
        never=tuple(machining.never) if machining else (),
        report=(
            *(("size of every place, at 20 °C, in the planes of our sheet",) if size != (None, None) else ()),
            *(machining.report if machining else ()),
        ),
        source=source_text(engine, sheet.source),
        decision=name,
    )


def _decimals(limit: Interval, typed: str, unit: str) -> int:
    """Decimals in ``unit`` as fine as those that a limit was written in."""
    ends = [end for end in (limit.low, limit.high) if end]
    return max(
        (decimals_in(end.unit or typed, end.decimals, unit) if unit else end.decimals for end in ends),
        default=3,
    )


def _radius(sheet: FeatureRecord) -> str:
    """The radius of the fillets as typed on the sheet."""
    if sheet.fillet is None:
        return ""
    ends = [end for end in (sheet.fillet.low, sheet.fillet.high) if end is not None]
    unit = "" if ends[-1].unit else f" {sheet.unit or ''}"
    return f"radius {' to '.join(end.text for end in ends)}{unit}"


def _work(sheet: FeatureRecord, decision: DecisionRecord) -> str:
    size = decision.size or ""
    if decision.remove:
        return f"take off {decision.remove}, as little more as cleans up"
    if sheet.kind == "journal":
        return f"grind to {size}" if size and size != "standard" else "polish"
    if sheet.kind == "bore":
        return f"bore and hone to {size}" if size and size != "standard" else "size to standard"
    return "machine"


def _missing(
    engine: Engine,
    timeline: Timeline,
    found: list[Characteristic],
    order: MachiningOrder,
    operations: tuple[Operation, ...],
) -> list[str]:
    """Why an order should not go out yet: a part goes to the machine shop once."""
    said = [] if operations else ["no decision reconditions anything of these parts"]
    read = {(one.feature, one.position) for one in found if one.value is not None}
    for name, sheet in engine.features.items():
        if sheet.part not in order.parts or not (sheet.undersizes or sheet.oversizes):
            continue
        unread = [p for p in sheet.positions or [] if (name, p) not in read]
        if unread:
            said.append(f"{feature_title(engine, name)} not measured: {span(unread)}; the part goes out once")
    for one in operations:
        sheet = engine.features[one.feature]
        steps = sheet.undersizes or sheet.oversizes
        sizes = {timeline.decided_size(one.feature, position) for position in one.positions}
        if steps and sizes == {""} and sheet.kind == "bore":
            said.append(f"{one.surface}: no size is decided")
    return said


def _returned(
    engine: Engine,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    operations: tuple[Operation, ...],
    guarded: bool,
) -> Iterable[Returned]:
    """What the readings since the decision say of each line, best outcome last."""
    for one in operations:
        kind = KINDS[engine.features[one.feature].kind]
        new = [
            c
            for c in found
            if c.feature == one.feature and c.position in one.positions and not c.again and c.stands
        ]
        if not any(c.value is not None for c in new):
            continue
        limits = dict.fromkeys(kind.trait(c.name).limit for c in new if c.limits)
        fits = {
            name for name, fit in engine.features.items() if fit.kind == "fit" and fit.outer == one.feature
        }
        for limit in limits:
            mine = [c for c in new if kind.trait(c.name).limit == limit]
            bands = dict(one.supplied) if limit == "size" else {}
            said = {c.key: _outcome(c, deviations, bands.get(c.position), guarded, fits) for c in mine}
            yield from _lines(one, limit, mine, said, bands)


def _lines(
    operation: Operation,
    limit: str,
    ones: list[Characteristic],
    said: dict[str, tuple[Outcome, Text]],
    bands: dict[str, Ends],
) -> Iterable[Returned]:
    groups: dict[tuple[Outcome, str], list[str]] = {}
    values: dict[tuple[Outcome, str], list[float]] = {}
    for position in operation.positions:
        here = [c for c in ones if c.position == position]
        outcomes: list[tuple[Outcome, str]] = [said[c.key] for c in here] or [("not measured", "")]
        worst = min(outcomes, key=lambda pair: WORST.index(pair[0]))
        groups.setdefault(worst, []).append(position)
        values.setdefault(worst, []).extend(c.value for c in here if c.value is not None)
    sheet = next((c.limits.decides for c in ones if c.limits), (None, None))
    for outcome, note in sorted(groups, key=lambda key: WORST.index(key[0])):
        key = (outcome, note)
        yield Returned(
            operation=operation.number,
            what=limit.replace("_", " "),
            outcome=outcome,
            positions=tuple(groups[key]),
            note=note,
            low=min(values[key], default=None),
            high=max(values[key], default=None),
            decimals=max((c.decimals for c in ones), default=3),
            limits=next((bands[one] for one in groups[key] if one in bands), sheet),
        )


def _outcome(
    one: Characteristic,
    deviations: tuple[Deviation, ...],
    band: Ends | None,
    guarded: bool,
    fits: set[str],
) -> tuple[Outcome, Text]:
    """By the size to the supplied piston where there is one (``band``), else by the limits of the sheet."""
    verdict, note = one.verdict, one.side if one.verdict == "beyond limit" else one.advice
    if band is not None and one.value is not None:
        found = rule.judge(one.value, one.standard_uncertainty or 0.0, band, (None, None), False, guarded)
        side = {"low": "too small", "high": "too large", "": ""}[found.side]
        verdict = found.verdict
        note = f"{'may be ' if verdict == 'too close to call' else ''}{side} for the supplied piston"
    outcome = OUTCOMES.get(verdict, "not measured")
    if outcome == "accepted":
        return outcome, ""
    for deviation in deviations:
        fit = any(key.partition(".")[0] in fits and f" {one.position} @" in key for key in deviation.covers)
        if one.key in deviation.covers or (band is not None and fit):
            return "accepted by deviation", deviation.id
    return outcome, note if outcome != "not measured" else ""
