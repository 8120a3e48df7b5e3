"""Findings and their pictures as documents number them, each with the values that prove it.

In: what was seen, and the characteristics.  Out: findings, photos.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain

from ...quantities import Sentence, Several, Typed
from ...records import JobFolder
from ...records.files.jobfile import FindingRecord, PhotoRecord
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring.verdict import ORDER
from ..measure.titles import component_title
from ..model.assessment import Callout, Characteristic, Cost, Finding, Photo
from ..model.edition import copied
from ..model.keys import ValueKey

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def photos(job: JobFolder) -> tuple[Photo, ...]:
    """Photos in the order in which the report shows them: one a finding, the others behind all findings."""
    record = job.written_findings
    named = [list(finding.photos) for finding in record.findings.values()]
    pairs = {name for name, photo in record.photos.items() if photo.before}
    beside = [next((name for name in names if name in pairs), names[0]) for names in named if names]
    order: list[str] = []
    for name in [*beside, *chain.from_iterable(named), *record.photos]:
        # a picture from before the work comes just ahead of the one after it
        before = record.photos[name].before if name in record.photos else None
        order += [known for known in (before, name) if known and known not in order]
    return tuple(_photo(job, name, record.photos.get(name), number) for number, name in enumerate(order, 1))


def _photo(job: JobFolder, name: str, record: PhotoRecord | None, number: int) -> Photo:
    file = job.photos.get(name, "")
    if record is None:
        return Photo(name, file, "", False, (), number)
    callouts = tuple(
        Callout(LETTERS[at % len(LETTERS)], *spot.at, spot.text, spot.ring or 0.0, spot.arrow)
        for at, spot in enumerate(record.callouts)
    )
    return Photo(name, file, record.caption, record.public, callouts, number, record.before)


def findings(
    engine: Engine, job: JobFolder, values: Sequence[Characteristic], money: Cost, as_found: frozenset[str]
) -> tuple[Finding, ...]:
    """Every finding with the value drawn beside it, and the worst verdict that its positions came with."""
    found = []
    for number, (name, record) in enumerate(job.seen.items(), 1):
        component = component_title(engine, record.component)
        where = Several([component, *record.positions], " ")
        untitled = Sentence("{where}: {seen}", where=where, seen=record.seen[0])
        here = [value for value in _about(engine, record, values) if value.round in as_found]
        finding = copied(
            Finding,
            record,
            id=name,
            number=number,
            title=Typed(record.title) if record.title else untitled,
            component_title=component,
            shows=_shown(engine, record.shown, values) if record.shown else _speaking(here, values),
            price_lines=tuple(line.line for line in money.lines if name in line.findings),
            verdict=min((value.verdict for value in here), key=ORDER.index) if here else "",
        )
        found.append(finding)
    return tuple(found)


def _about(
    engine: Engine, record: FindingRecord, values: Sequence[Characteristic]
) -> Iterator[Characteristic]:
    """Values that are judged, of what the finding is about; walls are judged by the clearance they give."""
    about = {fit for fit, sheet in engine.features.items() if sheet.shells == record.component}
    about.add(record.component)
    for value in values:
        here = not record.positions or value.position in record.positions
        if here and value.feature in about and value.verdict != "no limit on file":
            yield value


def _speaking(here: list[Characteristic], values: Sequence[Characteristic]) -> tuple[ValueKey, ...]:
    """For a finding that names none, the value farthest out; nothing where all is well."""
    out = [one for one in here if one.value is not None and one.verdict in ORDER[:2]]
    if not out:
        return ()
    worst = min(out, key=lambda one: (ORDER.index(one.verdict), -one.past))
    return _first_and_now(worst.feature, worst.name, worst.position, values)


def _shown(
    engine: Engine, wanted: tuple[str, str, str], values: Sequence[Characteristic]
) -> tuple[ValueKey, ...]:
    """What somebody wants drawn; named as its limit, 'clearance' of smallest and largest, the worse one."""
    feature, name, position = wanted
    if feature not in engine.features:  # nobody has typed its sheet yet
        return ()
    kind = KINDS[engine.features[feature].kind]
    here = [one for one in values if (one.feature, one.position) == (feature, position)]
    of_limit = [one for one in here if kind.trait(one.name).limit == name]
    if of_limit and all(one.name != name for one in here):
        name = min(of_limit, key=lambda one: (ORDER.index(one.verdict), -one.past)).name
    return _first_and_now(feature, name, position, values)


def _first_and_now(
    feature: str, name: str, position: str, values: Sequence[Characteristic]
) -> tuple[ValueKey, ...]:
    """Keys of the first reading of a value, then of the one that stands."""
    here = [one for one in values if (one.feature, one.name, one.position) == (feature, name, position)]
    ones = [one for one in here if one.value is not None]
    now = next((one for one in reversed(ones) if one.stands), None)
    return tuple(dict.fromkeys(one.key for one in (*ones[:1], now) if one is not None))
