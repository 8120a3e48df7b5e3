"""Priming, first start, what is due after, follow-up, and what the warranty leaves out."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from ...quantities import Figure, Sentence, Several, amid
from ...records import JobFolder
from ...records.files.assembly import FirstStart, Priming, Running
from ...records.files.buildplan import StartPlan
from ...records.files.rounds import FIRST_START
from ...records.files.sheet import Engine
from ..measure.judging import source_text
from ..measure.titles import titled
from ..model.assessment import Characteristic, Deviation
from ..model.bench import Cover, Departure, DueLine, Said, Start


def start(
    engine: Engine,
    job: JobFolder,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    departures: tuple[Departure, ...],
) -> Start:
    """Everything about the running engine; what the sheet asks for stands beside what was done."""
    plan = engine.first_start
    running = job.running or Running()
    first = running.first_start
    after = first.pressure_after.to("h") * 3600.0 if first and first.pressure_after else None
    within = plan.pressure_within.to("h") * 3600.0 if plan and plan.pressure_within else None
    read = [one for one in found if one.round == FIRST_START and one.value is not None]
    wanted = set(plan.limits) if plan else set()
    cured = [stay.date for stay in (job.job.reopened if job.job else []) if stay.done]
    return Start(
        plan=tuple(_plan(engine, plan)) if plan else (),
        priming=tuple(_priming(running.priming)) if running.priming else (),
        first=tuple(_first(first)) if first else (),
        date=first.date if first else None,
        by=first.by if first else "",
        values=tuple(one.key for one in read),
        pressure_after=round(after, 6) if after is not None else None,
        pressure_within=round(within, 6) if within is not None else None,
        break_in=tuple(_break_in(engine, plan, running)),
        due=tuple(
            DueLine(one.what, one.at or "", one.by, one.done, one.done_at or "", one.seen or "")
            for one in running.due
        ),
        follow_up=tuple(
            Said(
                Sentence("Follow-up at {when}", when=one.at) if one.at else Sentence("Follow-up"),
                one.seen,
                one.date,
                one.good,
            )
            for one in running.follow_up
        ),
        warranty=_cover(job, running, deviations, departures),
        open=tuple(_open(plan, running, after, within, read, wanted, cured)),
    )


def _plan(engine: Engine, plan: StartPlan) -> list[Said]:
    said = []
    if plan.priming:
        said.append(Said(Sentence("Priming"), plan.priming))
    if plan.pressure_within:
        said.append(
            Said(
                Sentence("Oil pressure"),
                Sentence("must show within {time}, else stop", time=Figure(plan.pressure_within)),
            )
        )
    said += [Said(Sentence("Stop if"), one) for one in plan.stop_if]
    said += _service(engine, plan)
    if plan.source:
        said.append(Said(Sentence("Source"), source_text(engine, plan.source)))
    return said


def _priming(one: Priming) -> list[Said]:
    said = [Said(Sentence("Primed"), one.how, one.date)]
    if one.pressure:
        said.append(Said(Sentence("Gauge reached"), Figure(one.pressure), one.date))
    if one.seen:
        said.append(Said(Sentence("Seen"), one.seen, one.date))
    return said


def _first(one: FirstStart) -> list[Said]:
    pairs = (
        ("Oil pressure showed after", Figure(one.pressure_after) if one.pressure_after else ""),
        ("Ran", one.ran),
        ("Stopped", one.stopped),
        ("Leaks", one.leaks),
        ("Noises", one.noises),
        ("Re-tightening", one.retorque),
        ("Note", one.note),
    )
    return [Said(Sentence(label), text, one.date) for label, text in pairs if text]


def _break_in(engine: Engine, plan: StartPlan | None, running: Running) -> list[Said]:
    """What the customer is to do: the job's own words, else the sheet's, with what nobody has made due."""
    if running.next:
        return [Said(one.at, one.do) for one in running.next if one.done is None]
    if plan is None:
        return []
    said = [Said(one.at, one.do) for one in plan.break_in]
    return said if running.due else [*said, *_service(engine, plan)]


def _service(engine: Engine, plan: StartPlan) -> list[Said]:
    """Re-tightening and the first oil change, as the sheet asks for them."""
    said = []
    for one in plan.retighten:
        group = engine.fasteners.get(one.fasteners)
        title = Sentence(group.title or "") if group and group.title else titled(one.fasteners)
        when = f"{one.at}, {one.how}" if one.how else one.at
        said.append(Said(Sentence("Re-tighten"), Sentence("{bolts}: {when}", bolts=title, when=when)))
    if plan.oil_change:
        said.append(Said(Sentence("First oil change"), plan.oil_change))
    return said


def _cover(
    job: JobFolder,
    running: Running,
    deviations: tuple[Deviation, ...],
    departures: tuple[Departure, ...],
) -> Cover | None:
    one = running.warranty
    if one is None:
        return None
    teardown = job.teardown
    outside = list(one.not_covered)
    if teardown:
        outside += [Sentence("{what}: not opened", what=what) for what in teardown.not_opened]
        outside += [Sentence("{what}: not inspected", what=what.what) for what in teardown.not_inspected]
    for d in deviations:
        where = Several([amid(d.feature_title), *d.positions], " ")
        outside.append(Sentence("deviation {name}: {what}", name=d.id, what=where))
    for done in departures:
        what_ = f"{done.about.replace('_', ' ')}, {done.what}"
        outside.append(Sentence("deviation {name}: {what}", name=done.id, what=what_))
    return Cover(
        one.from_,
        one.until,
        one.meter_from or "",
        one.meter_until or "",
        one.covers or "",
        tuple(outside),
        tuple(one.conditions),
    )


def _open(
    plan: StartPlan | None,
    running: Running,
    after: float | None,
    within: float | None,
    read: list[Characteristic],
    wanted: set[str],
    cured: Sequence[date],
) -> list[str]:
    """What went wrong at the start, and what the sheet asks for and nobody wrote down."""
    first = running.first_start
    if first is None:
        return []
    lines: list[str] = []
    if after is not None and within is not None and after > within:
        lines.append(
            Sentence(
                "First start: oil pressure showed after {time}, the sheet allows {most}",
                time=Figure(first.pressure_after),
                most=Figure(plan.pressure_within if plan else ""),
            )
        )
    elif within is not None and after is None:
        lines.append(Sentence("First start: nobody wrote down after how long oil pressure showed"))
    if plan and plan.priming and running.priming is None:
        lines.append(Sentence("First start: no word of priming"))
    beyond = {one.feature for one in read if one.verdict == "beyond limit"}
    lines += [
        Sentence("First start: {what} beyond its limit", what=amid(titled(name))) for name in sorted(beyond)
    ]
    missing = wanted - {one.feature for one in read}
    lines += [Sentence("First start: {what} not read", what=amid(titled(name))) for name in sorted(missing)]
    lines += [
        Sentence(
            "{seen} (follow-up, {date}): what is done about it?", seen=one.seen.rstrip("."), date=one.date
        )
        for one in running.follow_up
        if one.good is False and not any(day >= one.date for day in cured)
    ]
    return lines
