"""The teardown sheet: paper to take an engine apart by, then the record of how it came apart."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.bench import BoltsOff, TakeLine
from ...quantities import english, partner
from ..press.frame import Framed
from ..press.language import told
from ..press.words import NBSP, System, capital, count, day, joined, stop
from ..report.bolt_tables import ValueTable
from ..report.findings import NO_PHOTOS, Album, Picture, picture

TITLE = "Teardown sheet"
RULE = (
    "In this order as far as the engine's sheet knows it; another is as good where all that stands before a "
    "line is off. Photograph first. Mark what belongs together before it moves. Write down what was odd."
)
ACROSS = 7  # boxes in a row
WIDTH, TALLEST = 118.0, 88.0  # of a picture beside its step, points


@dataclass(frozen=True, slots=True)
class StepView:
    """One thing taken off, or to take off."""

    number: str
    title: str
    done: bool
    details: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    tables: tuple[ValueTable, ...]
    pictures: tuple[Picture, ...]
    missing: tuple[str, ...]  # photos named, of which nothing is known
    boxes: tuple[str, ...]  # to write into, on paper


@dataclass(frozen=True, slots=True)
class TeardownSheet(Framed):
    """The document, with what its frame asks for."""

    engine: str
    rule: str
    state: str
    cautions: tuple[str, ...]
    steps: tuple[StepView, ...]
    never: str
    elsewhere: tuple[str, ...]
    seen: tuple[tuple[str, str], ...]
    not_opened: tuple[str, ...]
    signed: tuple[tuple[str, str], ...]


def is_known(one: Assessment) -> bool:
    """Whether the engine's sheet or the job says anything of taking apart."""
    return bool(one.apart.lines)


def teardown_sheet(one: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS, /) -> TeardownSheet:
    """The view of one job's taking apart."""
    apart = one.apart
    name = " ".join(part for part in (one.engine.maker, one.engine.model) if part) or one.engine.name
    off = sum(line.done for line in apart.lines)
    state = ""
    if apart.begun:
        left = len(apart.lines) - off
        state = f"{capital(count(off, 'step'))} done" + (f", {left} left as it was." if left else ".")
    register = one.bench.register
    signed = (("by", register.by), ("date", day(register.date)))
    return TeardownSheet(
        title=f"{TITLE}: {one.title}",
        lang="en",
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        head=f"Job {one.job} · {name} · teardown sheet, as of {day(one.as_of)}",
        description=f"Teardown sheet of job {one.job}, {name}",
        paged=True,
        sections=(),
        engine=", ".join(filter(None, (name, told(one.engine.counting), one.engine.rotation))),
        rule=RULE,
        state=state,
        cautions=tuple(english(caution) for caution in apart.cautions),
        steps=tuple(_step(one, line, album, apart.begun) for line in apart.lines),
        never=f"The sheet's access leaves no way to {joined(n.lower() for n in apart.never)}."
        if apart.never
        else "",
        elsewhere=tuple(stop(capital(text)) for text in apart.elsewhere),
        seen=tuple((capital(what), stop(capital(text))) for what, text in apart.seen),
        not_opened=tuple(stop(capital(text)) for text in (*register.not_opened, *register.not_inspected)),
        signed=signed,
    )


def _step(one: Assessment, line: TakeLine, album: Album, begun: bool) -> StepView:
    photos = {photo.name: photo for photo in one.photos}
    return StepView(
        number=str(line.number),
        title=line.title,
        done=line.done,
        details=tuple(_details(line, begun)),
        cautions=tuple(english(caution) for caution in line.cautions),
        tables=tuple(table for bolts in line.bolts for table in _let_go(bolts, one.system)),
        pictures=tuple(
            picture(photos[name], album, WIDTH, TALLEST) for name in line.photos if name in photos
        ),
        missing=tuple(name for name in line.photos if name not in photos),
        boxes=() if begun else ("odd", "photos", *_asked(line)),
    )


def _asked(line: TakeLine) -> tuple[str, ...]:
    """What is written down of a mark before it moves."""
    if not line.expected:
        return ()
    words = " ".join([line.title, *line.expected]).lower()
    driven = any(word in words for word in ("chain", "belt", "tensioner"))
    return ("crank at", "count", "our mark", *(("tensioner out",) if driven else ()))


def _details(line: TakeLine, begun: bool) -> Iterable[tuple[str, str]]:
    if not line.done:
        if begun:
            yield "left", "as it was"
        elif line.first:
            yield "before", joined(text.lower() for text in line.first)
    for bolts in line.bolts:
        yield "bolts", ": ".join(text for text in (bolts.title, bolts.about) if text)
    for mark in line.marks:
        yield "mark", mark
    for mark in line.expected:
        # a relation that the build sheet will ask for, and of which nothing was noted
        yield ("not noted" if line.done else "look for"), mark
    for way in line.ways if not begun else ():
        yield "way round", f"{way}; if it lies otherwise, say so"
    if line.note:
        yield "note", line.note
    for found in line.found:
        yield "found", found


def _let_go(bolts: BoltsOff, system: System) -> Iterable[ValueTable]:
    """What each bolt let go at: as read, or boxes to write into, in the shop's unit of torque."""
    typed = any(text for _, text in bolts.let_go)  # each with its own unit where none stands for all
    unit = bolts.unit or ("" if typed else partner("N·m", system))
    head = f"lets go at, {unit}" if unit else "lets go at"
    for start in range(0, len(bolts.let_go), ACROSS):
        some = bolts.let_go[start : start + ACROSS]
        yield ValueTable(
            tuple(place for place, _ in some), ((head, tuple(text.replace(" ", NBSP) for _, text in some)),)
        )
