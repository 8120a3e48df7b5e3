"""Taking apart, putting together and starting, with what is still open of them.

Comes in: all that the job knows by then.  Goes out: a ``Bench``, and what an engine was started in spite of.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from ...quantities import Sentence, Several, Text, amid, as_typed, message
from ...records import JobFolder
from ...records.files.sheet import Engine
from ..measure.timeline import Timeline
from ..model.assessment import Assessment, Characteristic, Cost, Deviation, Round, Stage
from ..model.bench import Bench, Build, BuildLine
from ..model.choice import Choice
from ..parts.needed import Need
from ..work.decisions import standing_beyond
from ..work.stage import STARTED
from .assembly_pages import build
from .starting import start
from .teardown_register import raised, register


def together(
    engine: Engine,
    job: JobFolder,
    characteristics: list[Characteristic],
    deviations: tuple[Deviation, ...],
    money: Cost,
    needs: Sequence[Need],
    rounds: tuple[Round, ...],
    stage: Stage,
    choices: Sequence[Choice],
    absent: Sequence[Text],
    timeline: Timeline,
    planned: Sequence[str] = (),
) -> Bench:
    """Build sheet, teardown register and first start; the parts list says which parts are new, and where."""
    apart = job.teardown.date if job.teardown else None
    # the first round tells of the engine as it came
    since = frozenset(taken.name for taken in rounds[1:] if apart is not None and taken.date >= apart)
    # how many of each part the estimate has, and for which places
    places = {need.part: tuple(dict.fromkeys(need.positions)) for need in needs}
    parts = [line for line in money.lines if line.group == "part" and line.number]
    bought = {line.number: (int(line.quantity), places.get(line.number, ())) for line in parts}
    # what is to be replaced by a part that nobody knows yet is new all the same
    bought |= {need.part: (0, places[need.part]) for need in needs if need.part not in bought}
    sheet = build(engine, job, characteristics, deviations, bought, since, choices, timeline, planned)
    sheet = replace(sheet, stops=tuple(absent))
    begun = start(engine, job, characteristics, deviations, sheet.departures)
    # torques without a source, stages that look like a slip
    bolts = sheet.fastenings
    doubts = [(group.title, doubt) for group in bolts for doubt in (*group.withheld, *group.doubts)]
    owed = [*raised(job.teardown), *map(Several, doubts), *_left_open(sheet)]
    if stage in STARTED and sheet.from_sheet:
        owed += _not_done(sheet)
    return Bench(register(job), sheet, begun, (*owed, *begun.open))


def _left_open(sheet: Build) -> Iterator[Text]:
    """Hold points, lines and marks that somebody has begun and not finished, once assembly has begun."""
    for line in sheet.lines if sheet.begun else ():
        state = line.state_text or Sentence(line.state)
        if line.hold and line.state != "done":
            state = line.state_text or Sentence("not signed")
            yield Sentence("Hold point {line}: {state}", line=_line(line), state=state)
        elif line.state in ("out of limits", "not signed"):
            yield Sentence("Build sheet {line}: {state}", line=_line(line), state=state)
    for mark in sheet.marks if sheet.begun else ():
        if mark.state == "open" and mark.state_text:
            yield Sentence("Mark {where}: {state}", where=mark.where, state=mark.state_text)


def _not_done(sheet: Build) -> Iterator[Text]:
    """Lines that nobody has done, page by page: told once the engine has run in spite of them."""
    words = message("Build sheet, {page}, not done: {lines}")
    for page in sheet.pages:
        missing = [_line(line) for line in page.lines if line.state == "open" and not line.hold]
        if missing:
            yield Sentence(words, page=page.title, lines=Several(missing))


def gone_past(assessment: Assessment) -> tuple[Text, ...]:
    """What an engine was started or handed over in spite of: page one says so, and `check --strict` stops."""
    holds = assessment.bench.build.unsigned_holds if assessment.stage in STARTED else ()
    words = message("started with hold point {line} not signed for")
    # somebody did sign: what was wrong with it is said, as in the list of what is open
    wrongly = message("started with hold point {line}, {state}")
    said: list[Text] = [
        Sentence(wrongly if hold.state_text else words, line=_line(hold), state=hold.state_text)
        for hold in holds
    ]
    delivered = assessment.delivered is not None
    beyond: dict[str, dict[str, None]] = {}  # feature: positions, each once
    for value in standing_beyond(assessment.characteristics, assessment.deviations) if delivered else ():
        beyond.setdefault(value.feature, {})[value.position] = None
    for name, places in beyond.items():
        feature = assessment.feature(name)
        what = Several([amid(feature.title) if feature else as_typed(name), Several(places)], " ")
        said.append(Sentence("handed over with {what} beyond its limit, and nothing decided", what=what))
    return tuple(said)


def _line(line: BuildLine) -> Text:
    return Sentence("{number} {line}", number=line.number, line=amid(line.title))
