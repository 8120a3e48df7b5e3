"""What is still open: not measured, too close to call, not decided, not priced, doubtful.

Comes in: what was read, decided and priced.  Goes out: a list of ``Text``, each a question or a gap.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from ...quantities import NOTHING, Figure, Name, Sentence, Several, Text, amid, message, present
from ...records import JobFolder
from ...records.files.sheet import Engine
from ...records.files.shop import Shop
from ...trade.engine.failure_causes import recognise
from ...trade.kinds import KINDS
from ..measure.observations import Occasion, dimension_of, of_whole_engine
from ..measure.timeline import Timeline
from ..measure.titles import component_title, feature_title, titled, trait_title, where_on
from ..model.assessment import Characteristic, Cost, Deviation
from ..model.prices import Against
from ..parts.partslist import PartsList
from ..work.decisions import covered_by


def to_decide(
    engine: Engine,
    job: JobFolder,
    undecided: Iterable[Characteristic],
    parts: PartsList,
    odd: Sequence[Text] = (),
) -> list[Text]:
    """What a person has to decide or put right, in the order in which it matters."""
    return [
        *_beyond_and_standing(engine, undecided),
        *odd,
        *_no_clearance(engine, parts.timeline),
        *_suspects(engine, job, parts.timeline),
        *parts.questions,
    ]


def in_the_files(
    shop: Shop,
    engine: Engine,
    job: JobFolder,
    taken: list[Occasion],
    deviations: tuple[Deviation, ...],
    parts: PartsList,
    money: Cost,
) -> list[Text]:
    """What the shop's own files lack or say in vain: for the shop, and no matter of the customer's."""
    warm = message("Read away from 20 °C and no material on the sheet, so not corrected: {what}")
    return [
        *_unexplained(money),
        *_deviations(deviations),
        *parts.in_the_files,
        *_not_named(taken),
        *_not_set(shop, taken),
        *([Sentence(warm, what=Several(names))] if (names := uncorrected(engine, taken)) else ()),
        *_no_cause(engine, job),
    ]


def _unexplained(money: Cost) -> Iterator[Text]:
    """Lines that nobody gave a reason, and what the customer has to know before a new approval."""
    bare = [
        line.name
        for line in money.lines
        if line.group in ("sublet", "labour") and not (line.because or line.findings or line.decisions)
    ]
    if bare:
        words = message("no reason written for {lines}; write 'why:' or 'for:' in work.yaml")
        yield Sentence(words, lines=Several(bare))
    if money.against is None or money.over_by is None:
        return
    if missing := list(_not_told(money.against)):
        words = message(
            "over what was approved: the customer lacks {what}; write 'differences:' in work.yaml"
        )
        yield Sentence(words, what=Several(missing))


def _not_told(against: Against) -> Iterator[str]:
    """Keys of 'differences:' that the customer needs and nobody has written."""
    reasons = against.reasons
    if not reasons:
        yield "cause"
    if against.days_later and not any(reason.date_effect for reason in reasons):
        yield "date_effect"
    if not any(reason.alternatives for reason in reasons):
        yield "alternatives"
    if not any(reason.doing_nothing for reason in reasons):
        yield "doing_nothing"


def _where(engine: Engine, reading: Characteristic) -> Text:
    """'Main journals, size M4'."""
    where = where_on(engine, reading.feature, [reading.position])
    return Several([trait_title(engine, reading.feature, reading.name), *where], " ")


def _places(engine: Engine, readings: Iterable[Characteristic]) -> list[Text]:
    """'Main journals, largest and smallest M3, M4': what is said of the same places stands together."""
    placed: dict[tuple[str, str], list[str]] = {}
    for reading in readings:
        placed.setdefault((reading.feature, reading.name), []).append(reading.position)
    named: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for (feature, name), at in placed.items():
        named.setdefault((feature, tuple(at)), []).append(name)
    return [
        Several([trait_title(engine, feature, *names), *where_on(engine, feature, at)], " ")
        for (feature, at), names in named.items()
    ]


def too_close(
    engine: Engine, characteristics: list[Characteristic], deviations: tuple[Deviation, ...], runs: bool
) -> list[Text]:
    """Values that stand too near to their limit, each with what would settle it.

    In an engine that ``runs`` nobody reads again what lies inside it; while it goes together, or is opened
    again, somebody may.
    """
    covered = covered_by(deviations)
    by_advice: dict[Text, list[Characteristic]] = {}
    for near in characteristics:
        if near.verdict == "too close to call" and near.stands and near.advice and near.key not in covered:
            inside = runs and not of_whole_engine(engine.features[near.feature])
            by_advice.setdefault(Sentence("as it went together") if inside else near.advice, []).append(near)
    words = message("{where}: too close to call; {advice}")
    return [
        Sentence(words, where=Several(_places(engine, near), "; "), advice=advice)
        for advice, near in by_advice.items()
    ]


def _beyond_and_standing(engine: Engine, undecided: Iterable[Characteristic]) -> Iterator[Text]:
    bare: list[Characteristic] = []
    for beyond in undecided:
        if beyond.advice:
            what = present([beyond.side, beyond.advice])
            yield Sentence("{where}: {what}", where=_where(engine, beyond), what=what)
        else:
            bare.append(beyond)
    if bare:
        what = Several(_places(engine, bare), "; ")
        yield Sentence("Beyond limit, nothing decided: {what}", what=what)


def _deviations(deviations: tuple[Deviation, ...]) -> Iterator[Text]:
    words = message("Deviation {name} covers no reading that stands: {where}, {what}, {accept}")
    for deviation in deviations:
        if not deviation.covers:
            where = Several([amid(deviation.feature_title), *deviation.positions], " ")
            accept = Figure(deviation.accept)
            yield Sentence(words, name=deviation.id, where=where, what=deviation.what, accept=accept)


def _no_clearance(engine: Engine, timeline: Timeline) -> Iterator[Text]:
    taken = timeline.occasions
    for index, occasion in enumerate(taken):
        for position, column in occasion.no_clearance:
            again = any(  # as with a thinner shim on trial
                later.feature == occasion.feature and column in later.readings.get(position, {})
                for later in taken[index + 1 :]
            )
            goes = timeline.changed_since(occasion.feature, position, occasion.date, work_done=False)
            if not again and not goes:
                where = Several([trait_title(engine, occasion.feature, column), Name(position)], " ")
                words = message("{where}: no clearance is no reading; find the value by another way")
                yield Sentence(words, where=where)


def _suspects(engine: Engine, job: JobFolder, timeline: Timeline) -> Iterator[Text]:
    """Every doubt about readings, but for what only concerns the instrument: that stands beside its table.

    Nor is anybody asked to measure again what was decided about since: that surface, or part, is gone.
    """
    words = message("{table} ({round}): {what}")
    gone = {
        (one.round, one.table, position)
        for one in timeline.occasions
        for position in engine.features[one.feature].positions
        if timeline.changed_since(one.feature, position, one.date, work_done=False)
    }
    for doubt in (doubt for doubt in job.doubts if doubt.asks):
        # one that was left out might have said more, and is asked for all the same
        if doubt.kept and not doubt.spots and gone.issuperset(spot[:3] for spot in doubt.kept):
            continue
        title = component_title(engine, doubt.table)
        yield Sentence(words, table=title, round=doubt.round, what=doubt.what)


def _not_named(taken: list[Occasion]) -> Iterator[Text]:
    tables = [
        Sentence("{table} ({round})", table=amid(titled(occasion.table)), round=occasion.round)
        for occasion in taken
        if occasion.record is None and occasion.readings and dimension_of(occasion.unit) != "count"
    ]
    words = message(
        "Instrument not named for {tables}: taken as the shop's worst for it, five steps off at least"
    )
    if tables:
        yield Sentence(words, tables=Several(tables))


def _not_set(shop: Shop, taken: list[Occasion]) -> Iterator[Text]:
    """Gauges that nobody says were set in anything: what their setting is taken as."""
    unset: dict[str, list[Text]] = {}
    for one in taken:
        if one.set_as:
            where = Sentence("{table} ({round})", table=amid(titled(one.table)), round=one.round)
            unset.setdefault(one.set_as, []).append(where)
    for name, tables in unset.items():
        words = message("'set_from:' is missing at {tables}: the setting is taken to be off as the gauge is")
        known: dict[str, Text] = {}
        if other := shop.instruments.get(name):
            words = message(
                "'set_from:' is missing at {tables}: taken as any {instrument}, off by up to {error}"
            )
            known = {"instrument": Sentence(other.kind), "error": Figure(other.error)}
        yield Sentence(words, tables=Several(tables), **known)


def not_measured(engine: Engine, characteristics: list[Characteristic], work_done: bool = True) -> list[Text]:
    """By feature and positions what lacks a reading, then what was read before, then what never was."""
    wanted = [value for value in characteristics if value.stands and value.verdict != "no limit on file"]
    read = {(one.feature, one.position) for one in characteristics if one.value is not None}
    once = {feature for feature, _ in read}
    lines: list[Text] = []
    earlier: list[Text] = []
    never: list[Text] = []
    for name in dict.fromkeys(value.feature for value in wanted):
        here = [value for value in wanted if value.feature == name]
        if all(value.verdict == "not measured" and value.value is None for value in here):
            (earlier if name in once else never).append(feature_title(engine, name))
            continue
        for what, why, gone in _gaps(engine, name, here, read):
            (earlier if gone else lines).append(
                Sentence("{what} ({why})", what=what, why=why) if why else what
            )
    since = message("{what} (not since the work was done)")
    if not work_done:
        since = message("{what} (read earlier, not again since)")
    told = ((since, earlier), (message("{what} (not at all yet)"), never))
    return lines + [Sentence(words, what=Several(what, "; ")) for words, what in told if what]


def _gaps(
    engine: Engine, name: str, wanted: list[Characteristic], read: Collection[tuple[str, str]]
) -> Iterator[tuple[Text, Text, bool]]:
    """Positions that lack the same characteristics for the same reason, with it; whether they were read once.

    What is decided about one position of several was read all the same, as its page shows.
    """
    every = {value.name for value in wanted}
    places: dict[str, list[Characteristic]] = {place: [] for place in engine.features[name].positions}
    for gap in wanted:
        # what was read, and only waits for its clearance, is no gap: the clearance is one
        stands = gap.value is not None and gap.limits is not None and gap.limits.by_fit
        if gap.verdict == "not measured" and not stands:
            places.setdefault(gap.position, []).append(gap)
    groups: dict[tuple[tuple[str, ...], Text, bool], list[str]] = {}
    for position, lacking in places.items():
        missing = tuple(gap.name for gap in lacking)
        why = next((gap.advice for gap in lacking if gap.advice), NOTHING)
        gone = not why and {*missing} == every and (name, position) in read
        if missing or why:
            groups.setdefault((missing, why, gone), []).append(position)
    kind = KINDS[engine.features[name].kind]
    for (missing, why, gone), positions in groups.items():
        titles = [] if set(missing) == every else [Sentence(kind.trait(trait).title) for trait in missing]
        what = Several([feature_title(engine, name), *titles])
        yield Several([what, *where_on(engine, name, positions)], ": "), why, gone


def uncorrected(engine: Engine, taken: list[Occasion]) -> list[Text]:
    """What was read away from 20 °C on a part whose material the sheet does not say."""
    warm = {occasion.feature for occasion in taken if occasion.uncorrected and occasion.readings}
    return [feature_title(engine, name) for name in engine.features if name in warm]


def _no_cause(engine: Engine, job: JobFolder) -> Iterator[Text]:
    """Bearing damage without a likely cause: the usual ones of its term."""
    for name, finding in job.seen.items():
        sheet = engine.features.get(finding.component)
        if finding.cause or sheet is None or sheet.kind != "shells":
            continue
        usual = []
        for term in filter(None, map(recognise, finding.seen)):
            causes = Several(map(Sentence, term.usual_causes))
            usual.append(Sentence("{term}: {causes}", term=Sentence(term.name), causes=causes))
        if usual:
            words = message("{finding}: no likely cause written; usual ones are {causes}")
            yield Sentence(words, finding=name, causes=present(usual))
