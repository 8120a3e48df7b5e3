"""How the engine went together, what comes after, what is open, and what the shop stands behind.

In: an Assessment.  Out: texts in the language that is spoken.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from ...assess.model.assessment import Assessment, Fact
from ...assess.model.bench import BuildLine, Cover, Departure, DueLine, Said
from ...quantities import message
from ..press.enginewords import accepted
from ..press.language import opening, say, told
from ..press.words import capital, day, figure, joined, place, stop
from ..record.certificate import unmeasured

Pair = tuple[str, str]
NAMED = 6  # lines not done that are named one by one


class AsBuilt(Struct, frozen=True):
    """How it was put together; nothing unsigned stands in it as done."""

    state: str  # "" before anything was put together
    deviations: tuple[Pair, ...]
    not_inspected: str


class After(Struct, frozen=True):
    """What comes next, what was started, what is due, what is open, what the shop stands behind."""

    cautions: tuple[str, ...]
    steps: tuple[Pair, ...]
    asked: tuple[Pair, ...]  # what the maker's sheet asks for at the first start
    running: tuple[Pair, ...]
    due: tuple[tuple[str, ...], ...]  # what, when, done
    open: tuple[str, ...]
    warranty: tuple[Pair, ...]
    changed: tuple[str, ...]  # since the issue before, its head first


def as_built(job: Assessment) -> AsBuilt:
    """The view of what was put together, and of what was accepted."""
    build, begun = job.bench.build, job.bench.build.begun
    seen = stop("; ".join(map(told, job.bench.register.not_inspected)))
    return AsBuilt(_state(build.not_done) if begun else "", deviations(job), seen if begun else "")


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
    """What follows, and what is open."""
    start = job.bench.start
    plan = start.plan if job.did_is_done and not start.date else ()  # nobody starts it before
    return After(
        cautions=cautions(job),
        steps=tuple((opening(step.label), stop(opening(step.text))) for step in job.next_steps),
        asked=tuple(_by_head(plan)),
        running=_pairs(job.running),
        due=tuple(_due(start.due)),
        open=tuple(_open(job)),
        warranty=tuple(_warranty(start.warranty)) if start.warranty else (),
        changed=tuple(_changed(job)),
    )


def _by_head(facts: Iterable[Said]) -> Iterator[Pair]:
    """Each head once, with all that is said under it."""
    said: dict[str, list[str]] = {}
    for fact in facts:
        said.setdefault(opening(fact.label), []).append(told(fact.text))
    yield from ((head, "; ".join(texts)) for head, texts in said.items())


def cautions(job: Assessment) -> tuple[str, ...]:
    """What may hurt whoever handles the engine next, as it fits the engine."""
    return tuple(stop(opening(caution)) for caution in job.cautions)


def _pairs(facts: tuple[Fact, ...]) -> tuple[Pair, ...]:
    return tuple((opening(fact.label), told(fact.text)) for fact in facts)


def _open(job: Assessment) -> Iterator[str]:
    """What is to be decided, what lies too near to its limit, what was not measured or not looked at."""
    yield from (stop(place(opening(text))) for text in (*job.to_decide, *job.too_close))
    if job.not_measured:
        yield say("Not measured: {what}", what=unmeasured(job))
    if job.not_opened and not job.bench.start.warranty:  # which names it
        words = message("Not opened, and nothing is said about the inside of it: {what}.")
        yield say(words, what=joined(job.not_opened))


def _changed(job: Assessment) -> Iterator[str]:
    note = job.issue
    if note is not None and note.number is not None and not note.later and note.changed:
        yield say("Changed since the issue before No.\u00a0{number}", number=note.number)
        yield from (stop(opening(text)) for text in note.changed)


def _due(lines: tuple[DueLine, ...]) -> Iterator[tuple[str, ...]]:
    """What is due, and when; what was done of it, once any of it was."""
    for line in lines:
        when = (line.at, say("by {day}", day=day(line.by)) if line.by else "")
        done = (day(line.done), line.done_at, line.seen) if line.done else ()
        row = (line.what, ", ".join(filter(None, when)), ", ".join(filter(None, done)))
        yield row if any(other.done for other in lines) else row[:2]


def lasts(cover: Cover) -> str:
    """'from 9 March 2026 (9412 h) to 9 March 2027 or 9912 h, whichever comes first'."""
    start = day(cover.start) + (f" ({cover.meter_from})" if cover.meter_from else "")
    if cover.until and cover.meter_until:
        words = message("from {start} to {end} or {meter}, whichever comes first")
    elif cover.meter_until:
        words = message("from {start} or {meter}, whichever comes first")
    else:
        words = message("from {start} to {end}" if cover.until else "from {start}")
    return say(words, start=start, end=day(cover.until), meter=cover.meter_until)


def _warranty(cover: Cover) -> Iterator[Pair]:
    yield say("Lasts"), stop(lasts(cover))
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
    head = f"{departure.id}: {told(departure.about)}"
    return head, f"{stop(f'{departure.what}: {departure.why}')} {by}"
