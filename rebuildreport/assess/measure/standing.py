"""What stands now, what was never measured, and one line a feature for the first page."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace

from ...quantities import Sentence, Text
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.kinds import KINDS, Kind
from ...trade.measuring import verdict
from ..model.assessment import Characteristic, SummaryLine, VerdictName
from .observations import Occasion, of_whole_engine
from .timeline import Timeline
from .titles import feature_title

WHOLE = {trait.at for kind in KINDS.values() for trait in kind.traits.values() if trait.at} | {"set"}


def mark_standing(
    engine: Engine,
    timeline: Timeline,
    values: list[Characteristic],
    work_done: bool,
    renewed: Callable[[Characteristic], bool] | None = None,
) -> list[Characteristic]:
    """Say of every characteristic whether it is still the newest word on its position.

    A later one of the same name at the same position takes its place; a
    position that was changed since, or whose part was ``renewed`` and not read
    again, has no standing value at all.
    """
    newest = {(one.feature, one.name, one.position): index for index, one in enumerate(values)}
    marked = []
    for index, one in enumerate(values):
        stands = (
            newest[(one.feature, one.name, one.position)] == index
            and not _ended(engine, timeline, one, work_done)
            # what was beyond its limit is not in the engine any more once a part was bought because of it
            and not (renewed and work_done and one.verdict == "beyond limit" and renewed(one))
        )
        marked.append(one if one.stands == stands else replace(one, stands=stands))
    return marked


def _ended(engine: Engine, timeline: Timeline, one: Characteristic, work_done: bool) -> bool:
    """Whether what it was read on is another surface since, or the whole engine another engine."""
    feature = engine.features[one.feature]
    if of_whole_engine(feature) and timeline.apart_since(one.day):
        return True
    kind = KINDS[feature.kind]
    links = [*_links(engine, one.feature)]
    if kind.optional_partners or not links:
        links.append(one.feature)
    for link in links:
        spots = _rests_on(one.position, engine.features[link].positions)
        if any(timeline.changed_since(link, spot, one.day, work_done) for spot in spots):
            return True
    return False


def _links(engine: Engine, name: str) -> Collection[str]:
    """The features that a value of this one is worked out from."""
    feature = engine.features[name]
    return feature.links(KINDS[feature.kind].links).values()


def _rests_on(position: str, positions: list[str]) -> list[str]:
    """The positions that a value rests on: a face, a line or a spread over a set ends with any of them."""
    if position in WHOLE:
        return positions
    pair = position.split("-")
    return pair if len(pair) == 2 and {*pair} <= {*positions} else [position]


def not_measured(engine: Engine, values: list[Characteristic]) -> list[Characteristic]:
    """A 'not measured' for every wanted position of a limited feature where nothing stands.

    This is the one answer to what is not measured; questions, plan and next steps take it from here.
    """
    standing = {(one.feature, one.name, one.position) for one in values if one.stands}
    return [
        _gap(name, characteristic, position)
        for name in engine.features
        for position, characteristic in _wanted(engine, name)
        if (name, characteristic, position) not in standing
    ]


def _wanted(engine: Engine, name: str) -> Iterator[tuple[str, str]]:
    """Positions and characteristics of a feature that have a limit, and that nobody may leave out."""
    feature = engine.features[name]
    kind = KINDS.get(feature.kind)
    positions = positions_of(engine, name) if kind and (feature.new or feature.wear) else []
    if kind is None or not positions:
        return
    wanted = _limited(feature, kind)
    each = [one for one in wanted if not kind.trait(one).at]
    yield from ((position, one) for position in positions for one in each)
    yield from ((kind.trait(one).at, one) for one in wanted if kind.trait(one).at)


def _limited(feature: FeatureRecord, kind: Kind) -> list[str]:
    """Characteristics with a limit; of those that are optional what the sheet has a column for."""
    columns, limited = tuple(feature.columns), {*feature.new, *feature.wear}
    names: Iterable[str] = kind.characteristics(columns, limited)
    if kind.partners and not feature.links(kind.partners):
        names = [f"{column}_clearance" for column in columns]
    traits = {name: kind.trait(name) for name in names}
    return [
        name
        for name, trait in traits.items()
        if trait.limit in limited and (not trait.optional or trait.column in columns)
    ]


def _gap(feature: str, name: str, position: str) -> Characteristic:
    return Characteristic(
        feature=feature,
        name=name,
        position=position,
        round="",
        value=None,
        unit="",
        standard_uncertainty=None,
        guard=None,
        limits=None,
        verdict="not measured",
    )


def positions_of(engine: Engine, name: str) -> list[str]:
    """The positions of a feature; of a fit that lists none, those of the first partner that does."""
    feature = engine.features[name]
    links = feature.links(KINDS[feature.kind].links).values()
    return next((places for one in (name, *links) if (places := engine.features[one].positions)), [])


def left_out(
    timeline: Timeline, taken: Sequence[Occasion], work_done: bool, absent: Collection[tuple[str, str]]
) -> dict[str, list[str]]:
    """Features, and their positions of which a doubted reading still waits for one that can be believed.

    ``absent``: what waits for a part that is not there, and stands on a line of its own.  A part that was
    bought is paid for, whatever it reads.
    """
    waiting: dict[str, list[str]] = {}
    for index, one in enumerate(taken):
        for position, column in sorted(one.left_out):
            later = (other for other in taken[index + 1 :] if other.feature == one.feature)
            again = any(column in other.readings.get(position, ()) for other in later)
            paid = timeline.bought(one.feature, position, one.date)
            if again or paid or (one.feature, position) in absent:
                continue
            if not timeline.changed_since(one.feature, position, one.date, work_done):
                places = waiting.setdefault(one.feature, [])
                places += [position] if position not in places else []
    return waiting


def our_own(engine: Engine, timeline: Timeline, beyond: Sequence[Characteristic]) -> list[Characteristic]:
    """What of the values beyond a limit the customer may have to pay for: all but parts that came wrong."""
    came_wrong = {
        (one.feature, one.position) for one in beyond if timeline.bought(one.feature, one.position, one.day)
    }
    return [
        one
        for one in beyond
        if not came_wrong & {(name, one.position) for name in (one.feature, *_links(engine, one.feature))}
    ]


def worst(ones: list[Characteristic]) -> Characteristic | None:
    """The worst by verdict, then by how far past (or how near to) its limit it lies."""
    judged = [one for one in ones if one.verdict != "no limit on file"]
    if not judged:
        return None
    return min(judged, key=lambda one: (verdict.ORDER.index(one.verdict), -one.past))


def rows(
    engine: Engine,
    values: list[Characteristic],
    as_found: frozenset[str],
) -> list[SummaryLine]:
    """One line for each limited feature and limit, in the order of the spec sheet."""
    groups: dict[tuple[str, str], list[Characteristic]] = {}
    for one in values:
        limit = KINDS[engine.features[one.feature].kind].trait(one.name).limit
        groups.setdefault((one.feature, limit), []).append(one)
    lines = []
    for name, feature in engine.features.items():
        kind = KINDS.get(feature.kind)
        if kind is None or not kind.judged:
            continue
        for limit in dict.fromkeys([*feature.new, *feature.wear]):
            title = _title(engine, name, limit)
            line = _row(name, limit, title, groups.get((name, limit), []), as_found)
            lines += [line] if line else []
    return lines


def _row(
    feature: str,
    limit: str,
    title: Text,
    group: list[Characteristic],
    as_found: frozenset[str],
) -> SummaryLine | None:
    """The worst on arrival and the worst now of one limit; None where neither was read."""
    standing = [one for one in group if one.stands]
    # read in part on the first evening and whole on the second: the later one counts
    arrived = {
        (one.name, one.position): one for one in group if one.round in as_found and one.value is not None
    }
    first, now = worst(list(arrived.values())), worst(standing)
    if first is None and now is None:
        return None
    return SummaryLine(
        feature=feature,
        characteristic=limit,
        title=title,
        first=first.key if first else None,
        now=now.key if now and now.round else None,
        now_verdict=now.verdict if now else "not measured",
        counts=_counts(standing),
    )


def _title(engine: Engine, name: str, limit: str) -> Text:
    feature = engine.features[name]
    kind = KINDS[feature.kind]
    trait = next((t for t in kind.traits.values() if t.limit == limit), None)
    words = limit.replace("_", " ") if trait is None else trait.title if trait.short is None else trait.short
    title = feature_title(engine, name)
    lone = len({*feature.new, *feature.wear}) == 1 and not kind.traits
    if not words or lone:
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
