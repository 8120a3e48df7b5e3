"""The teardown sheet: paper to take an engine apart by, then the record of how it came apart.

In: an Assessment with its photos.  Out: a view.  Works out nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from ...assess.model.assessment import Assessment, Photo
from ...assess.model.bench import BoltsOff, TakeLine
from ...quantities import amid, message, partner
from ..press.frame import Framed, framed
from ..press.language import opening, say, told
from ..press.words import NBSP, System, capital, day, figure, joined, place, plain, stop
from ..report.findings import NO_PHOTOS, Album, Picture, picture
from .bolt_tables import ValueTable, in_reach
from .buildsheet import engine_line

TITLE = message("Teardown sheet")
RULE = message(
    "In this order as far as the engine's sheet knows it; another is as good where all that stands before a "
    "line is off. Photograph first. Mark what belongs together before it moves. Write down what was odd."
)
ACROSS = 7  # boxes in a row
WIDTH, TALLEST = 118.0, 88.0  # of a picture beside its step, points


class StepView(Struct, frozen=True):
    """One thing taken off, or to take off."""

    number: str
    title: str
    hours: str  # what it took, what the sheet has for it
    state: str  # that it was not taken off
    done: bool
    details: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    tables: tuple[ValueTable, ...]
    pictures: tuple[Picture, ...]
    missing: tuple[str, ...]  # photos named, of which nothing is known
    boxes: tuple[tuple[str, str], ...]  # to write into, on paper


class TeardownSheet(Framed, frozen=True):
    """The document."""

    engine: str
    rule: str
    state: str
    cautions: tuple[str, ...]
    steps: tuple[StepView, ...]
    never: str
    left: str
    unnoted: str
    elsewhere: tuple[str, ...]
    seen: tuple[tuple[str, str], ...]
    not_opened: tuple[str, ...]
    signed: tuple[tuple[str, str], ...]


def teardown_sheet(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> TeardownSheet:
    """The view of one job's taking apart."""
    apart, register = job.apart, job.bench.register
    photos = {photo.name: photo for photo in job.photos}
    never = joined(told(amid(name)) for name in apart.never)
    return TeardownSheet(
        frame=framed(job, say(TITLE), f"{say(TITLE)}: {job.title}"),
        engine=engine_line(job),
        rule=say(RULE),
        state=_state(apart.lines) if apart.begun else "",
        cautions=tuple(map(told, apart.cautions)),
        steps=tuple(_step(line, job.system, photos, album, apart.begun) for line in apart.lines),
        never=say("The sheet's access leaves no way to {what}.", what=never) if never else "",
        left=joined(told(amid(name)) for name in apart.left),
        unnoted=joined(told(amid(name)) for name in apart.unnoted),
        elsewhere=tuple(stop(opening(text)) for text in apart.elsewhere),
        seen=tuple((opening(what), stop(opening(text))) for what, text in apart.seen),
        not_opened=(
            *map(stop, register.not_opened),
            *(stop(opening(text)) for text in register.not_inspected),
        ),
        signed=((say("by"), told(register.by)), (say("date"), day(register.date))),
    )


def _state(lines: tuple[TakeLine, ...]) -> str:
    off = sum(line.done for line in lines)
    left = len(lines) - off
    done = say("One step done") if off == 1 else say("{count} steps done", count=capital(figure(off)))
    if not left:
        return f"{done}."
    if left == 1:
        return say("{done}, one not taken off.", done=done)
    return say("{done}, {left} not taken off.", done=done, left=figure(left))


def _step(line: TakeLine, system: System, photos: dict[str, Photo], album: Album, noted: bool) -> StepView:
    """``noted``: the record tells what came off; of the rest it says that it did not."""
    left = noted and not line.done
    cautions, bolts = ((), ()) if left else (line.cautions, () if noted else line.bolts)
    return StepView(
        number=str(line.number),
        title=opening(line.title),
        hours="" if left else _hours(line),
        state=say("not taken off") if left else "",
        done=line.done,
        details=tuple(_marks_ahead(line) if left else _details(line, noted)),
        cautions=tuple(map(told, cautions)),
        tables=tuple(table for group in bolts for table in _boxes(group, system)),
        pictures=tuple(
            picture(photos[name], album, WIDTH, TALLEST) for name in line.photos if name in photos
        ),
        missing=tuple(name for name in line.photos if name not in photos),
        boxes=() if noted else tuple((label, "") for label in (say("odd"), say("photos"), *_asked(line))),
    )


def _asked(line: TakeLine) -> tuple[str, ...]:
    """What is written down of a mark before it moves."""
    if not line.expected:
        return ()
    asked = message(("crank at", "count", "our mark", "tensioner out"))
    return tuple(map(say, asked if line.driven else asked[:-1]))


def _marks_ahead(line: TakeLine) -> Iterator[tuple[str, str]]:
    """Marks that the build sheet will ask for, of which nothing is noted."""
    for relation in line.expected:
        yield say("not noted" if line.done else "look for"), told(relation)


def _details(line: TakeLine, begun: bool) -> Iterator[tuple[str, str]]:
    if not line.done and line.first:
        yield say("before"), joined(told(amid(text)) for text in line.first)
    for state in line.states:
        yield say("state"), state
    if line.tools:
        yield say("tools"), joined(line.tools)
    for bolts in line.bolts:
        yield say("bolts"), ": ".join(filter(None, (told(bolts.title), told(bolts.about))))
        if begun and bolts.let_go:
            yield say("let go at"), "; ".join(_let_go(bolts))
    for mark in line.marks:
        yield say("mark"), told(mark)
    yield from _marks_ahead(line)
    for way in line.ways if not begun else ():
        yield say("way round"), say("{way}; if it lies otherwise, say so", way=told(way))
    if line.note:
        yield say("note"), told(line.note)
    for seen in line.found:
        yield say("found"), told(seen)


def _hours(line: TakeLine) -> str:
    """What the step took, beside what the sheet has for it."""
    if line.took is None:
        return say("{hours} h by the sheet", hours=plain(line.takes)) if line.takes and not line.done else ""
    if line.takes in (None, line.took):  # what it was to take says nothing more
        return say("took {hours} h", hours=plain(line.took))
    return say("took {took} h, {hours} h by the sheet", took=plain(line.took), hours=plain(line.takes))


def _let_go(bolts: BoltsOff) -> Iterator[str]:
    """What bolts let go at, place by place: 'M1 92 101'; the unit once, where it is one for all."""
    for at, (spot, text) in enumerate(bolts.let_go, 1):
        unit = bolts.unit if at == len(bolts.let_go) else ""
        yield NBSP.join(filter(None, (place(spot), text.replace(" ", NBSP), unit)))


def _boxes(bolts: BoltsOff, system: System) -> Iterator[ValueTable]:
    """Boxes for what each bolt lets go at, in the shop's unit of torque."""
    head = say("lets go at, {unit}", unit=partner("N·m", system) or "N·m")
    for some in in_reach(bolts.let_go, ACROSS):
        yield ValueTable(tuple(spot for spot, _ in some), ((head, tuple("" for _ in some)),))
