"""What stands now, what was never measured, and one line a feature for the first page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ...quantities import Sentence, Text
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring import verdict
from ..model.assessment import Characteristic, Deviation, SummaryLine, VerdictName
from .observations import of_whole_engine
from .timeline import Timeline
from .titles import feature_title


def mark_standing(
    engine: Engine,
    timeline: Timeline,
    found: list[Characteristic],
    work_done: bool,
    replaced: Callable[[str, str], bool],
) -> list[Characteristic]:
    """Say of every characteristic whether it is still the newest word on its position.

    A later one of the same name at the same position takes its place; a
    position that was changed since, or whose part was replaced and not read
    again, has no standing value at all.
    """
    newest: dict[tuple[str, str, str], int] = {}
    for index, one in enumerate(found):
        newest[(one.feature, one.name, one.position)] = index
    marked = []
    for index, one in enumerate(found):
        stands = newest[(one.feature, one.name, one.position)] == index
        if stands:
            day = one.day
            feature = engine.features[one.feature]
            kind = KINDS[feature.kind]
            links = list(feature.links(kind.links).values())
            if kind.optional_partners or not links:
                links.append(one.feature)
            stands = not any(
                timeline.changed_since(link, spot, day, work_done)
                for link in links
                # a spread over the set ends with any piece of it
                for spot in (
                    engine.features[link].positions or [] if one.position == "set" else [one.position]
                )
            )
            if of_whole_engine(feature) and timeline.apart_since(day):
                stands = False
            beyond = work_done and one.verdict == "beyond limit" and not timeline.after_the_work(day)
            if stands and beyond and replaced(one.feature, one.position):
                stands = False
        marked.append(one if one.stands == stands else replace(one, stands=stands))
    return marked


def missing(engine: Engine, found: list[Characteristic]) -> list[Characteristic]:
    """A 'not measured' for every wanted position of a limited feature where nothing stands."""
    standing = {(one.feature, one.name, one.position) for one in found if one.stands}
    absent = []
    for name, feature in engine.features.items():
        kind = KINDS.get(feature.kind)
        if kind is None or not (feature.new or feature.wear):
            continue
        names = list(kind.characteristics(tuple(feature.columns or ()), {*feature.new, *feature.wear}))
        if kind.partners and not feature.links(kind.partners):
            names = [f"{column}_clearance" for column in feature.columns or ()]
        positions = _positions(engine, name)
        places = [(position, one) for position in positions for one in names if not kind.trait(one).at]
        places += [(kind.trait(one).at, one) for one in names if positions and kind.trait(one).at]
        for position, characteristic in places:
            trait = kind.trait(characteristic)
            if trait.limit not in feature.new and trait.limit not in feature.wear:
                continue
            if (name, characteristic, position) in standing or (
                trait.optional and trait.column not in (feature.columns or ())
            ):
                continue
            absent.append(
                Characteristic(
                    feature=name,
                    name=characteristic,
                    position=position,
                    round="",
                    value=None,
                    unit="",
                    standard_uncertainty=None,
                    guard=None,
                    limits=None,
                    verdict="not measured",
                    stands=True,
                )
            )
    return absent


def _positions(engine: Engine, name: str) -> list[str]:
    feature = engine.features[name]
    if feature.positions:
        return feature.positions
    for link in feature.links(KINDS[feature.kind].links).values():
        if engine.features[link].positions:
            return engine.features[link].positions or []
    return []


def excess(one: Characteristic) -> float:
    """How far past its deciding limit a value lies, as a share of the band or limit; negative inside."""
    if one.value is None or one.limits is None:
        return float("-inf")
    low, high = one.limits.decides
    if low is None and high is None:
        low, high = one.limits.new  # judged by its clearance: the limits for new still say which is the worst
    value = one.value if one.worst is None else one.worst
    over = [value - high] if high is not None else []
    over += [low - value] if low is not None else []
    scale = (
        (high - low) if low is not None and high is not None else abs(high if high is not None else low or 0)
    )
    return max(over) / scale if over and scale else float("-inf")


def worst(ones: list[Characteristic]) -> Characteristic | None:
    """The worst by verdict, then by how far past (or how near to) its limit it lies."""
    judged = [one for one in ones if one.verdict != "no limit on file"]
    if not judged:
        return None
    return min(judged, key=lambda one: (verdict.ORDER.index(one.verdict), -excess(one)))


def rows(
    engine: Engine, found: list[Characteristic], as_found: frozenset[str], deviations: tuple[Deviation, ...]
) -> list[SummaryLine]:
    """One line for each limited feature and limit, in the order of the spec sheet."""
    lines = []
    for name, feature in engine.features.items():
        kind = KINDS.get(feature.kind)
        if kind is None or not kind.judged:
            continue
        for limit in dict.fromkeys([*feature.new, *feature.wear]):
            group = [one for one in found if one.feature == name and kind.trait(one.name).limit == limit]
            standing = [one for one in group if one.stands]
            # read in part on the first evening and whole on the second: the later one counts
            arrived = {
                (one.name, one.position): one
                for one in group
                if one.round in as_found and one.value is not None
            }
            first = worst(list(arrived.values()))
            now = worst(standing)
            if first is None and now is None:
                continue
            covered = [d.id for d in deviations if any(one.key in d.covers for one in standing)]
            lines.append(
                SummaryLine(
                    feature=name,
                    characteristic=limit,
                    title=_title(engine, name, limit),
                    first=first.key if first else None,
                    now=now.key if now and now.round else None,
                    now_verdict=now.verdict if now else "not measured",
                    deviation=", ".join(covered),
                    counts=_counts(standing),
                )
            )
    return lines


def _title(engine: Engine, name: str, limit: str) -> Text:
    feature = engine.features[name]
    kind = KINDS[feature.kind]
    trait = next((t for t in kind.traits.values() if t.limit == limit), None)
    words = limit.replace("_", " ") if trait is None else trait.title if trait.short is None else trait.short
    named = (feature.title or name).lower()
    title = feature_title(engine, name)
    lone = len({*feature.new, *feature.wear}) == 1 and not kind.traits
    if not words or lone or words.lower() in named:
        return title
    return Sentence("{feature}, {characteristic}", feature=title, characteristic=Sentence(words))


def _counts(standing: list[Characteristic]) -> dict[str, int]:
    by_position: dict[str, list[VerdictName]] = {}
    for one in standing:
        by_position.setdefault(one.position, []).append(one.verdict)
    counts: dict[str, int] = {}
    for verdicts in by_position.values():
        name = verdict.worst(list(verdicts))
        counts[name] = counts.get(name, 0) + 1
    return counts
