"""What is still open: not measured, too close to call, not decided, not priced, doubtful."""

from __future__ import annotations

import re
from collections.abc import Sequence

from ...quantities import Figure, Sentence, Several, Text, amid, present
from ...records import JobFolder
from ...records.files.sheet import Engine
from ...trade.engine import damage
from ...trade.kinds import KINDS
from ..measure.observations import Occasion, dimension_of, of_whole_engine
from ..measure.titles import feature_title, titled, trait_title
from ..model.assessment import Characteristic, Cost, Deviation
from ..parts.partslist import PartsList


def to_decide(
    engine: Engine,
    job: JobFolder,
    found: list[Characteristic],
    taken: list[Occasion],
    deviations: tuple[Deviation, ...],
    parts: PartsList,
    odd: Sequence[str] = (),
    work_done: bool = True,
) -> list[str]:
    """What a person has to decide or put right, in the order in which it matters."""
    return [
        *_beyond_and_standing(engine, found, deviations, parts, work_done),
        *odd,
        *_no_clearance(engine, taken),
        *_suspects(engine, job),
        *parts.questions,
    ]


def in_the_files(
    engine: Engine,
    job: JobFolder,
    taken: list[Occasion],
    deviations: tuple[Deviation, ...],
    parts: PartsList,
    money: Cost,
) -> list[str]:
    """What the shop's own files lack or say in vain: for the shop, and no matter of the customer's."""
    return [
        *_unexplained(money),
        *_deviations(deviations),
        *parts.in_the_files,
        *_not_named(taken),
        *_warm(engine, taken),
        *_no_cause(engine, job),
    ]


def _unexplained(money: Cost) -> list[str]:
    """Lines that nobody gave a reason, and what the customer has to know before a new approval."""
    bare = [
        one.name
        for one in money.lines
        if not one.because and not one.findings and not one.decisions and one.group in ("sublet", "labour")
    ]
    found = [f"no reason written for {', '.join(bare)}; write 'why:' or 'for:' in work.yaml"] if bare else []
    against = money.against
    if against is None or money.over_by is None:
        return found
    missing = []
    if not against.reasons:
        missing.append("cause")
    if against.days_later and not any(one.date_effect for one in against.reasons):
        missing.append("date_effect")
    if not any(one.alternatives for one in against.reasons):
        missing.append("alternatives")
    if not any(one.doing_nothing for one in against.reasons):
        missing.append("doing_nothing")
    if missing:
        what = ", ".join(missing)
        found.append(f"over what was approved: the customer lacks {what}; write 'differences:' in work.yaml")
    return found


def _where(engine: Engine, one: Characteristic) -> Text:
    """'Main journals, size M4'."""
    return Several([trait_title(engine, one.feature, one.name), one.position], " ")


def _covered(one: Characteristic, deviations: tuple[Deviation, ...]) -> bool:
    return any(one.key in deviation.covers for deviation in deviations)


def too_close(engine: Engine, found: list[Characteristic], deviations: tuple[Deviation, ...]) -> list[str]:
    return [
        Sentence("{where}: too close to call; {advice}", where=_where(engine, one), advice=one.advice)
        for one in found
        if one.verdict == "too close to call" and one.stands and one.advice and not _covered(one, deviations)
    ]


def _beyond_and_standing(
    engine: Engine,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    parts: PartsList,
    work_done: bool,
) -> list[str]:
    """Beyond its limit with no part to take its place and no deviation signed.

    What is read on the whole engine is decided about by its parts, until it is together again.
    """
    return [
        Sentence("{where}: {what}", where=_where(engine, one), what=present([one.side, one.advice]))
        if one.advice
        else Sentence("{where}: beyond limit, nothing decided", where=_where(engine, one))
        for one in found
        if one.verdict == "beyond limit"
        and one.stands
        and (work_done or not of_whole_engine(engine.features[one.feature]))
        and not parts.renewed(one)
        and not _covered(one, deviations)
    ]


def _deviations(deviations: tuple[Deviation, ...]) -> list[str]:
    return [
        Sentence(
            "Deviation {name} covers no reading that stands: {where}, {what}, {accept}",
            name=one.id,
            where=Several([amid(one.feature_title), *one.positions], " "),
            what=one.what,
            accept=Figure(one.accept),
        )
        for one in deviations
        if not one.covers
    ]


def _no_clearance(engine: Engine, taken: list[Occasion]) -> list[str]:
    return [
        Sentence(
            "{where}: no clearance is no reading; find the value by another way",
            where=Several([trait_title(engine, one.feature, column), position], " "),
        )
        for index, one in enumerate(taken)
        for position, column in one.no_clearance
        if not any(  # read again since, as with a thinner shim on trial
            later.feature == one.feature and column in later.readings.get(position, {})
            for later in taken[index + 1 :]
        )
    ]


def _suspects(engine: Engine, job: JobFolder) -> list[str]:
    """Every doubt about readings, but for what only concerns the instrument: that stands beside its table."""
    lines: list[str] = []
    for doubt in (doubt for doubt in job.doubts if doubt.asks):
        known = doubt.table in engine.features
        title = feature_title(engine, doubt.table) if known else titled(doubt.table)
        lines.append(Sentence("{table} ({round}): {what}", table=title, round=doubt.round, what=doubt.what))
    return lines


def _not_named(taken: list[Occasion]) -> list[str]:
    tables = [
        Sentence("{table} ({round})", table=amid(titled(one.table)), round=one.round)
        for one in taken
        if one.record is None and one.readings and dimension_of(one.unit) != "count"
    ]
    if not tables:
        return []
    return [
        Sentence(
            "Instrument not named for {tables}: its permitted error is taken as two steps of what was typed",
            tables=Several(tables),
        )
    ]


def not_measured(engine: Engine, found: list[Characteristic], work_done: bool = True) -> list[str]:
    """Features never measured in one line, the rest by feature and positions."""
    by_feature: dict[str, list[Characteristic]] = {}
    known = {one.feature for one in found if one.value is not None}
    for one in found:
        if one.stands and one.verdict != "no limit on file":
            by_feature.setdefault(one.feature, []).append(one)
    lines: list[str] = []
    never: list[str] = []
    since: list[str] = []
    for name, ones in by_feature.items():
        gaps = [one for one in ones if one.verdict == "not measured"]
        if len(gaps) == len(ones) and all(one.value is None for one in gaps):
            (since if name in known else never).append(feature_title(engine, name))
        else:
            lines += _gaps(engine, name, gaps, {one.name for one in ones})
    if since:
        words = "not since the work was done: {what}"
        if not work_done:
            words = "not since it was taken apart or decided about: {what}"
        lines.append(Sentence(words, what=Several(since)))
    if never:
        lines.append(Sentence("nothing at all yet: {what}", what=Several(never)))
    return lines


def _gaps(engine: Engine, name: str, gaps: list[Characteristic], every: set[str]) -> list[str]:
    """Positions that lack the same characteristics share a line."""
    order = engine.features[name].positions or []
    places: dict[str, list[str]] = {}
    for one in sorted(gaps, key=lambda o: order.index(o.position) if o.position in order else len(order)):
        places.setdefault(one.position, []).append(one.name)
    groups: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for position, names in places.items():
        why = next((o.advice for o in gaps if o.position == position and o.advice), "")
        groups.setdefault((tuple(names), why), []).append(position)
    kind = KINDS[engine.features[name].kind]
    lines: list[str] = []
    for (names_missing, why), positions in groups.items():
        whole = set(names_missing) == every
        missing = [] if whole else [Sentence(kind.trait(n).title) for n in names_missing]
        where = Several([feature_title(engine, name), *missing])
        words = "{what}: {places} ({why})" if why else "{what}: {places}"
        lines.append(Sentence(words, what=where, places=span(positions), why=why))
    return lines


def _warm(engine: Engine, taken: list[Occasion]) -> list[str]:
    names = uncorrected(engine, taken)
    if not names:
        return []
    words = "Read away from 20 °C and no material on the sheet, so not corrected: {what}"
    return [Sentence(words, what=Several(names))]


def uncorrected(engine: Engine, taken: list[Occasion]) -> list[str]:
    """What was read away from 20 °C on a part whose material the sheet does not say."""
    return sorted({feature_title(engine, one.feature) for one in taken if one.uncorrected and one.readings})


def _no_cause(engine: Engine, job: JobFolder) -> list[str]:
    """Bearing damage without a likely cause: the usual ones of its term."""
    lines: list[str] = []
    for name, one in (job.findings.findings if job.findings else {}).items():
        sheet = engine.features.get(one.component)
        if one.cause or sheet is None or sheet.kind != "shells":
            continue
        terms = [term for phrase in one.seen if (term := damage.recognise(phrase))]
        if terms:
            usual = present(
                Sentence("{term}: {causes}", term=Sentence(term.name), causes=_causes(term)) for term in terms
            )
            words = "{finding}: no likely cause written; usual ones are {causes}"
            lines.append(Sentence(words, finding=name, causes=usual))
    return lines


def _causes(term: damage.Term) -> Text:
    return Several(Sentence(cause) for cause in term.usual_causes)


def span(positions: Sequence[str]) -> Text:
    """Positions as a person writes them.

    >>> from rebuildreport.quantities import english
    >>> english(span(("M1", "M2", "M3", "M5"))), english(span(("top",)))
    ('M1 to M3, M5', 'top')
    """
    runs: list[list[str]] = []
    for position in positions:
        if runs and _follows(runs[-1][-1], position):
            runs[-1].append(position)
        else:
            runs.append([position])
    return Several(
        Sentence("{first} to {last}", first=run[0], last=run[-1]) if len(run) > 2 else Several(run)
        for run in runs
    )


def _follows(one: str, other: str) -> bool:
    first, second = re.fullmatch(r"(\D*)(\d+)", one), re.fullmatch(r"(\D*)(\d+)", other)
    return bool(first and second and first[1] == second[1] and int(second[2]) == int(first[2]) + 1)
