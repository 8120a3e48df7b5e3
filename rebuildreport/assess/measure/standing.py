"""What stands now, what was never measured, and one line a feature for the first page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date

from msgspec.structs import replace

from ...quantities import Sentence, Text
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring import verdict
from ..model.assessment import Characteristic, SummaryLine, VerdictName
from .observations import Occasion, of_whole_engine
from .timeline import Timeline
from .titles import feature_title

Between = Mapping[tuple[str, str], tuple[str, ...]]  # feature, "C1-C2": the positions that it lies between
WHOLE = {trait.at for kind in KINDS.values() for trait in kind.traits.values() if trait.at} | {"set"}
_UNREAD = Characteristic("", "", "", "", None, "", None, None, None, verdict="not measured")


def mark_standing(
    engine: Engine,
    timeline: Timeline,
    values: list[Characteristic],
    between: Between,
    work_done: bool,
    renewed: Callable[[str, str, date], bool] | None = None,
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
            and not _ended(engine, timeline, one.feature, one.position, one.day, between, work_done)
            # what was beyond its limit is not in the engine any more once a part was bought because of it
            and not (
                renewed
                and work_done
                and one.verdict == "beyond limit"
                and renewed(one.feature, one.position, one.day)
            )
        )
        marked.append(one if one.stands == stands else replace(one, stands=stands))
    return marked


def _ended(
    engine: Engine, timeline: Timeline, name: str, position: str, day: date, between: Between, work_done: bool
) -> bool:
    """Whether what was read there on a day is another surface since, or the whole engine another engine."""
    feature = engine.features[name]
    if of_whole_engine(feature) and timeline.apart_since(day):
        return True
    links = [*_links(engine, name)]
    if KINDS[feature.kind].optional_partners or not links:
        links.append(name)
    # a step between neighbours ends with either, a face, a line or a spread over a set with any place
    pair = between.get((name, position), (position,))
    return any(
        timeline.changed_since(link, spot, day, work_done)
        for link in links
        for spot in (engine.features[link].positions if position in WHOLE else pair)
    )


def _links(engine: Engine, name: str) -> Collection[str]:
    """The features that a value of this one is worked out from."""
    feature = engine.features[name]
    return feature.links(KINDS[feature.kind].links).values()


def not_measured(engine: Engine, values: list[Characteristic]) -> list[Characteristic]:
    """A 'not measured' for every wanted position of a limited feature where nothing stands.

    This is the one answer to what is not measured; questions, plan and next steps take it from here.
    """
    standing = {(one.feature, one.name, one.position) for one in values if one.stands}
    return [
        replace(_UNREAD, feature=name, name=characteristic, position=position)
        for name in engine.features
        for position, characteristic in _wanted(engine, name)
        if (name, characteristic, position) not in standing
    ]


def _wanted(engine: Engine, name: str) -> Iterator[tuple[str, str]]:
    """Positions and characteristics of a feature that have a limit, and that nobody may leave out."""
    feature = engine.features[name]
    kind = KINDS[feature.kind]
    columns, limited = tuple(feature.columns), {*feature.new, *feature.wear}
    positions = positions_of(engine, name) if limited else []
    if not positions:
        return
    names: Iterable[str] = kind.characteristics(columns, limited)
    if kind.partners and not feature.links(kind.partners):
        names = [f"{column}_clearance" for column in columns]
    traits = {one: kind.trait(one) for one in names if kind.trait(one).limit in limited}
    # of those that are optional what the sheet has a column for
    wanted = {one: trait for one, trait in traits.items() if not trait.optional or trait.column in columns}
    each = [one for one, trait in wanted.items() if not trait.at]
    yield from ((position, one) for position in positions for one in each)
    yield from ((trait.at, one) for one, trait in wanted.items() if trait.at)


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


def rows(engine: Engine, values: list[Characteristic], as_found: frozenset[str]) -> list[SummaryLine]:
    """One line for each limited feature and limit, in the order of the spec sheet."""
    groups: dict[tuple[str, str], list[Characteristic]] = {}
    for one in values:
        limit = KINDS[engine.features[one.feature].kind].trait(one.name).limit
        groups.setdefault((one.feature, limit), []).append(one)
    lines = []
    for name, feature in engine.features.items():
        limits = dict.fromkeys([*feature.new, *feature.wear]) if KINDS[feature.kind].judged else ()
        for limit in limits:
            group = groups.get((name, limit), [])
            standing = [one for one in group if one.stands]
            read = [one for one in group if one.round in as_found and one.value is not None]
            # read in part on the first evening and whole on the second: the later one counts
            arrived = {(one.name, one.position): one for one in read}
            first, now = worst(list(arrived.values())), worst(standing)
            if first is not None or now is not None:
                line = SummaryLine(
                    feature=name,
                    characteristic=limit,
                    title=_title(engine, name, limit),
                    first=first.key if first else None,
                    now=now.key if now and now.round else None,
                    now_verdict=now.verdict if now else "not measured",
                    counts=_counts(standing),
                )
                lines.append(line)
    return lines


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
    return dict(Counter(verdict.worst(verdicts) for verdicts in by_position.values()))
