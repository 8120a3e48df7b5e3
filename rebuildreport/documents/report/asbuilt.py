"""How the engine went together and started, for the report: bolts, checks, marks, warranty.

In: an Assessment.  Out: texts in the language that is spoken.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...assess.model.assessment import Assessment
from ...assess.model.bench import BuildLine, Cover, Departure, DueLine, MarkLine
from ...quantities import message, show, show_interval
from ..press.codes import STATES
from ..press.enginewords import accepted
from ..press.language import opening, say, told
from ..press.words import System, capital, day, figure, place, stop, unit_text
from .bolt_tables import bolts_row, force_unit, signed

Pair = tuple[str, str]
NAMED = 6  # lines not done that are named one by one


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """The report's page on putting together; nothing unsigned stands in it as done."""

    state: str
    bolts: tuple[tuple[str, str, str, str, str], ...]  # group, size, stages, preload, signed
    bolts_head: str
    checks: tuple[tuple[str, str, str], ...]  # what, found, signed
    marks: tuple[Pair, ...]
    departures: tuple[Pair, ...]
    not_inspected: str


@dataclass(frozen=True, slots=True)
class After:
    """What was started, what is due, and what the shop stands behind."""

    asked: tuple[Pair, ...]  # what the maker's sheet asks for
    due: tuple[tuple[str, str, str], ...]  # what, when, done
    warranty: tuple[Pair, ...]


def as_built(job: Assessment) -> AsBuilt | None:
    """The view of what was put together; None before anything was."""
    build = job.bench.build
    if not build.begun:
        return None
    checks = [line for line in build.lines if line.verb == "check" and line.signed is not None]
    return AsBuilt(
        state=_state(build.not_done),
        bolts=tuple(bolts_row(group, job.system) for group in build.fastenings if group.done),
        bolts_head=say("preload of one bolt, {unit}", unit=force_unit(job.system)),
        checks=tuple((opening(line.title), _found(line, job.system), signed(line.signed)) for line in checks),
        marks=tuple((mark.where, _mark(mark)) for mark in build.marks if mark.signed is not None),
        departures=deviations(job) if build.departures else (),
        not_inspected=stop("; ".join(map(told, job.bench.register.not_inspected))),
    )


def _state(left: tuple[BuildLine, ...]) -> str:
    if not left:
        return say("Every line of the build sheet is done and signed.")
    words = message("{count} lines of the build sheet not done: {what}.")
    if len(left) == 1:
        words = message("One line of the build sheet not done: {what}.")
    elif len(left) > NAMED:
        words = message("{count} lines of the build sheet not done: {what} and more.")
    said = ", ".join(f"{line.number} {told(line.title)}" for line in left[:NAMED])
    return say(words, count=capital(figure(len(left))), what=said)


def after(job: Assessment) -> After:
    """What follows the first start."""
    start = job.bench.start
    plan = () if start.date else start.plan
    return After(
        asked=tuple((opening(said.label), told(said.text)) for said in plan),
        due=tuple(map(_due, start.due)),
        warranty=tuple(_warranty(start.warranty)) if start.warranty else (),
    )


def _found(line: BuildLine, system: System) -> str:
    limits = {
        column.name: show_interval(*column.limits, column.unit, column.decimals, system)
        for column in line.columns
    }
    said = []
    for value in line.values:
        shown, limit = show(value.value, value.unit, value.decimals, system), limits.get(value.column)
        parts = (value.position, shown.text, unit_text(shown.unit), f"({limit})" if limit else "")
        said.append(" ".join(filter(None, parts)))
    said.append(told(line.found))
    if line.state != "done":
        said.append(told(line.state_text) or say(STATES[line.state]))
    return "; ".join(filter(None, said))


def _mark(mark: MarkLine) -> str:
    trust = told(mark.trust_text)
    if mark.trust != "factory":
        trust = f"{trust}: {told(mark.proves)}"
    proved = say("proved right by: {what}", what=mark.verified) if mark.verified else told(mark.state_text)
    return stop("; ".join(filter(None, (mark.found, trust, proved, signed(mark.signed)))))


def _due(line: DueLine) -> tuple[str, str, str]:
    when = (line.at, say("by {day}", day=day(line.by)) if line.by else "")
    done = (day(line.done), line.done_at, line.seen) if line.done else ()
    return line.what, ", ".join(filter(None, when)), ", ".join(filter(None, done))


def lasts(cover: Cover) -> str:
    """'from 9 March 2026, 9412 h to 9 March 2027 or 9912 h, whichever comes first'."""
    start = day(cover.start) + (f", {cover.meter_from}" if cover.meter_from else "")
    if cover.until and cover.meter_until:
        words = message("from {start} to {end} or {meter}, whichever comes first")
    elif cover.meter_until:
        words = message("from {start} or {meter}, whichever comes first")
    else:
        words = message("from {start} to {end}" if cover.until else "from {start}")
    return say(words, start=start, end=day(cover.until), meter=cover.meter_until)


def _warranty(cover: Cover) -> Iterator[Pair]:
    yield say("Warranty"), stop(capital(lasts(cover)))
    if cover.covers:
        yield say("Covers"), stop(cover.covers)
    if cover.not_covered:
        yield say("Outside it"), stop("; ".join(map(told, cover.not_covered)))
    if cover.conditions:
        yield say("On condition"), stop("; ".join(cover.conditions))


def deviations(job: Assessment) -> tuple[Pair, ...]:
    """What was built otherwise than the sheet says, and what was used outside a limit; named and signed."""
    return (*map(_departure, job.bench.build.departures), *map(accepted, job.deviations))


def _departure(departure: Departure) -> Pair:
    by = say("Signed by {name}, {day}.", name=told(departure.signed), day=day(departure.date))
    head = f"{departure.id}: {place(departure.about)}"
    return head, f"{stop(departure.what)} {stop(departure.why)} {by}"
