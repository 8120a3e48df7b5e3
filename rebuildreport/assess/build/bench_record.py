"""Taking apart, putting together and starting, with what is still open of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...quantities import Sentence, Several, Text, amid
from ...records import JobFolder
from ...records.files.sheet import Engine
from ..model.assessment import Assessment, Characteristic, Cost, Deviation, Round
from ..model.bench import Bench, Build, BuildLine, Start
from ..model.choice import Choice
from ..parts.needed import Need
from .assembly_pages import build
from .starting import start
from .teardown_register import raised, register

STARTED = ("first start", "ready to collect", "delivery", "follow-up", "re-opened")


def together(
    engine: Engine,
    job: JobFolder,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    money: Cost,
    needs: Sequence[Need],
    rounds: tuple[Round, ...],
    stage: str,
    choices: Sequence[Choice] = (),
    absent: Sequence[str] = (),
) -> Bench:
    """Build sheet, teardown register and first start; the parts list says which parts are new, and where."""
    places = {need.part: tuple(dict.fromkeys(need.positions)) for need in needs}
    bought = {
        line.number: (int(line.quantity), places.get(line.number, ()))
        for line in money.lines
        if line.group == "part" and line.number
    }
    apart = job.teardown.date if job.teardown else None
    # the first round tells of the engine as it came
    since = frozenset(one.name for one in rounds[1:] if apart is not None and one.date >= apart)
    sheet = replace(build(engine, job, found, deviations, bought, since, choices), stops=tuple(absent))
    begun = start(engine, job, found, deviations, sheet.departures)
    return Bench(register(job), sheet, begun, tuple(open_questions(sheet, begun, job, stage)))


def open_questions(sheet: Build, begun: Start, job: JobFolder, stage: str) -> list[str]:
    """What the bench still owes: torques without a source, unsigned hold points, lines out or not done."""
    lines = raised(job.teardown)
    for group in sheet.fastenings:
        lines += [Several([group.title, one]) for one in (*group.withheld, *group.doubts)]
    if sheet.begun:
        holds = sheet.unsigned_holds
        lines += [
            Sentence(
                "Hold point {line}: {state}", line=_line(one), state=one.state_text or Sentence("not signed")
            )
            for one in holds
        ]
        out = [one for one in sheet.lines if one.state in ("out of limits", "not signed") and not one.hold]
        lines += [
            Sentence(
                "Build sheet {line}: {state}", line=_line(one), state=one.state_text or Sentence(one.state)
            )
            for one in out
        ]
        lines += [
            Sentence("Mark {where}: {state}", where=one.where, state=one.state_text)
            for one in sheet.marks
            if one.state == "open" and one.state_text
        ]
    if stage in STARTED and sheet.from_sheet:
        for page in sheet.pages:
            missing = [one for one in page.lines if one.state == "open" and not one.hold]
            if missing:
                said = Several(_line(one) for one in missing)
                lines.append(Sentence("Build sheet, {page}, not done: {lines}", page=page.title, lines=said))
    return lines + list(begun.open)


def gone_past(one: Assessment) -> tuple[str, ...]:
    """What an engine was started or handed over in spite of: page one says so, and `check --strict` stops."""
    said: list[str] = []
    if one.stage in STARTED:
        said += [
            Sentence("started with hold point {line} not signed for", line=_line(hold))
            for hold in one.bench.build.unsigned_holds
        ]
    if one.delivered is not None:
        covered = {key for deviation in one.deviations for key in deviation.covers}
        beyond: dict[str, list[str]] = {}
        titles = {feature.name: feature.title for feature in one.features}
        for c in one.characteristics:
            if c.stands and c.verdict == "beyond limit" and c.key not in covered:
                places = beyond.setdefault(titles.get(c.feature, c.feature), [])
                places += [c.position] if c.position not in places else []
        said += [
            Sentence(
                "handed over with {what} beyond its limit, and nothing decided",
                what=Several([amid(title), *places], " "),
            )
            for title, places in beyond.items()
        ]
    return tuple(said)


def _line(one: BuildLine) -> Text:
    return Sentence(
        "{number} {line}", number=one.number, line=f"{one.title[:1].lower()}{one.title[1:]}".rstrip(".")
    )
