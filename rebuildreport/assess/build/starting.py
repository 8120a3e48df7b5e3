"""Priming, first start, what is due after, follow-up, and what the warranty leaves out.

Comes in: running.yaml and what the sheet asks for.  Goes out: a ``Start``.  Knows no page of the build sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from ...quantities import Figure, Quantity, Sentence, Several, Text, Typed, amid, message
from ...records import JobFolder
from ...records.files.assembly import FirstStart, FollowUp, Priming, Running
from ...records.files.buildplan import StartPlan
from ...records.files.rounds import FIRST_START
from ...records.files.sheet import Engine
from ..measure.judging import source_text
from ..measure.titles import bolts_title, component_title
from ..model.assessment import Characteristic, Deviation
from ..model.bench import Cover, Departure, DueLine, Said, Start
from ..model.edition import copied, signer
from ..work.stage import cured_since


def start(
    engine: Engine,
    job: JobFolder,
    characteristics: Sequence[Characteristic],
    deviations: Sequence[Deviation],
    departures: Sequence[Departure],
) -> Start:
    """Everything about the running engine; what the sheet asks for stands beside what was done."""
    plan, running = engine.first_start or StartPlan(), job.written_running
    first = running.first_start
    read = [value for value in characteristics if value.round == FIRST_START and value.value is not None]
    start = Start(
        plan=tuple(_plan(engine, plan)),
        priming=tuple(_priming(running.priming)) if running.priming else (),
        pressure_within=_seconds(plan.pressure_within),
        break_in=tuple(_break_in(engine, plan, running)),
        due=tuple(copied(DueLine, due) for due in running.due),
        follow_up=tuple(map(_follow_up, running.follow_up)),
        warranty=_cover(job, deviations, departures),
    )
    if first is None:
        return start
    return replace(
        start,
        first=tuple(_first(first)),
        date=first.date,
        by=signer(first.by),
        pressure_after=_seconds(first.pressure_after),
        open=(*_open(engine, plan, first, running, read), *_not_cured(job, running)),
    )


def _follow_up(seen: FollowUp) -> Said:
    label = Sentence("Follow-up at {when}", when=seen.at) if seen.at else Sentence("Follow-up")
    return Said(label, Typed(seen.seen), seen.date, seen.good)


def _seconds(typed: Quantity | None) -> float | None:
    return round(typed.to("h") * 3600.0, 6) if typed else None


def _plan(engine: Engine, plan: StartPlan) -> Iterator[Said]:
    if plan.priming:
        yield Said(Sentence("Priming"), Typed(plan.priming))
    if plan.pressure_within:
        within = Figure(plan.pressure_within)
        yield Said(Sentence("Oil pressure"), Sentence("must show within {time}, else stop", time=within))
    yield from (Said(Sentence("Stop if"), Typed(sign)) for sign in plan.stop_if)
    yield from _service(engine, plan)
    if plan.source:
        yield Said(Sentence("Source"), source_text(engine, plan.source))


def _priming(priming: Priming) -> Iterator[Said]:
    yield Said(Sentence("Primed"), Typed(priming.how), priming.date)
    if priming.pressure:
        yield Said(Sentence("Gauge reached"), Figure(priming.pressure), priming.date)
    if priming.seen:
        yield Said(Sentence("Seen"), Typed(priming.seen), priming.date)


def _first(first: FirstStart) -> Iterator[Said]:
    if first.pressure_after:
        yield Said(Sentence("Oil pressure showed after"), Figure(first.pressure_after), first.date)
    for label, text in (
        (message("Ran"), first.ran),
        (message("Stopped"), first.stopped),
        (message("Leaks"), first.leaks),
        (message("Noises"), first.noises),
        (message("Re-tightening"), first.retorque),
        (message("Note"), first.note),
    ):
        if text:
            yield Said(Sentence(label), Typed(text), first.date)


def _break_in(engine: Engine, plan: StartPlan, running: Running) -> Iterator[Said]:
    """What the customer is to do: the job's own words, else the sheet's, with what nobody has made due."""
    if running.next:
        yield from (Said(Typed(step.at), Typed(step.do)) for step in running.next if step.done is None)
        return
    yield from (Said(Typed(step.at), Typed(step.do)) for step in plan.break_in)
    if not running.due:
        yield from _service(engine, plan)


def _service(engine: Engine, plan: StartPlan) -> Iterator[Said]:
    """Re-tightening and the first oil change, as the sheet asks for them."""
    for again in plan.retighten:
        when = f"{again.at}, {again.how}" if again.how else again.at
        what = Sentence("{bolts}: {when}", bolts=bolts_title(engine, again.fasteners), when=when)
        yield Said(Sentence("Re-tighten"), what)
    if plan.oil_change:
        yield Said(Sentence("First oil change"), Typed(plan.oil_change))


def _cover(job: JobFolder, deviations: Sequence[Deviation], departures: Sequence[Departure]) -> Cover | None:
    """The warranty, with what was never seen, and what is or was built otherwise, outside it."""
    warranty = job.written_running.warranty
    if warranty is None:
        return None
    outside: list[Text] = [*map(Typed, warranty.not_covered)]
    teardown, named = job.written_teardown, {what.casefold() for what in warranty.not_covered}
    # only what stands there word for word: a sentence that mentions a part may leave out less than the part
    unopened = [what for what in teardown.not_opened if what.casefold() not in named]
    outside += [Sentence("{what}: not opened", what=what) for what in unopened]
    outside += [Sentence("{what}: not inspected", what=unseen.what) for unseen in teardown.not_inspected]
    words = message("deviation {name}: {what}")
    for used in deviations:
        spots = [Several(used.positions)] if used.positions else []
        outside.append(Sentence(words, name=used.id, what=Several([amid(used.feature_title), *spots], " ")))
    for built in departures:
        outside.append(Sentence(words, name=built.id, what=Several([amid(built.about), built.what])))
    return copied(Cover, warranty, start=warranty.from_, not_covered=tuple(outside))


def _open(
    engine: Engine, plan: StartPlan, first: FirstStart, running: Running, read: Sequence[Characteristic]
) -> Iterator[Text]:
    """What went wrong at the start, and what the sheet asks for and nobody wrote down."""
    after, within = first.pressure_after, plan.pressure_within
    if within and not after:
        yield Sentence("First start: nobody wrote down after how long oil pressure showed")
    elif within and after and after.to("h") > within.to("h"):
        words = message("First start: oil pressure showed after {time}, the sheet allows {most}")
        yield Sentence(words, time=Figure(after), most=Figure(within))
    if plan.priming and running.priming is None:
        yield Sentence("First start: no word of priming")
    for name in sorted({value.feature for value in read if value.verdict == "beyond limit"}):
        yield Sentence("First start: {what} beyond its limit", what=amid(component_title(engine, name)))
    for name in sorted(set(plan.limits) - {value.feature for value in read}):
        yield Sentence("First start: {what} not read", what=amid(component_title(engine, name)))


def _not_cured(job: JobFolder, running: Running) -> Iterator[Text]:
    """What was seen later and is not good, until a stay has put it right."""
    words = message("{seen} (follow-up, {date}): what is done about it?")
    for seen in running.follow_up:
        if seen.good is False and not cured_since(job, seen.date):
            yield Sentence(words, seen=seen.seen.rstrip("."), date=seen.date)
