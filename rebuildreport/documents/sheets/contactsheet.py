"""The contact sheet: every picture of a job that has some which nothing names, small, with a place to write.

In: an Assessment with the pictures as their files tell of them.  Out: a view.  Never public: it tells when
pictures were taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from itertools import groupby
from pathlib import Path

from msgspec import Struct

from ...assess.model.assessment import Assessment, Shot
from ...quantities import message
from ..press.frame import Framed, framed
from ..press.language import opening, say, told
from ..press.photos import Prepared
from ..press.words import day, place, stop
from ..report.findings import NO_PHOTOS, Album

TITLE = message("Contact sheet")
RULE = message(
    "{count} of {all} pictures are named in no file: nobody will find them again. Write beside each what it "
    "shows and where, and tick those that are a finding: start findings {job} PICTURE... lays these out."
)


class SmallPicture(Struct, frozen=True):
    """A picture as large as a stamp, and where the larger one is."""

    name: str
    source: str
    full: str
    width: int
    height: int


class ContactCell(Struct, frozen=True):
    """A picture, or several of one look, with what is known of it."""

    pictures: tuple[SmallPicture, ...]
    name: str
    file: str
    hour: str
    same: str
    about: str  # what it was taken of, with what was read there
    beside: tuple[str, ...]  # what was written down in that hour
    named: str
    missing: str  # why it is not shown


class ContactDay(Struct, frozen=True):
    """The pictures of a day, beside what was written down that day."""

    title: str
    beside: tuple[str, ...]
    cells: tuple[ContactCell, ...]


class ContactSheet(Framed, frozen=True):
    engine: str
    rule: str
    days: tuple[ContactDay, ...]


def contact_sheet(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> ContactSheet:
    """The pictures in the order in which they were taken; those that do not tell when come last."""
    days = groupby(job.shots, key=lambda shot: shot.taken[:10])
    bare = sum(not shot.named_in for shot in job.shots)
    return ContactSheet(
        frame=framed(job, say(TITLE), f"{say(TITLE)}: {job.title}"),
        engine=job.engine.full_name,
        rule=say(RULE, count=str(bare), all=str(len(job.shots)), job=job.job),
        days=tuple(_day(job, taken, list(shots), album) for taken, shots in days),
    )


def _day(job: Assessment, taken: str, shots: list[Shot], album: Album) -> ContactDay:
    when = date.fromisoformat(taken) if taken else None
    title = day(when) if when else say("Taken nobody knows when")
    cells = tuple(_cell(job, shot, album) for shot in shots)
    return ContactDay(title, tuple(_written_down(job, when)) if when else (), cells)


def _written_down(job: Assessment, when: date) -> Iterator[str]:
    """What the records have of a day: rounds with what was read in them, steps of taking apart."""
    titles = {feature.name: told(feature.title) for feature in job.features}
    for measured in job.rounds:
        read = [table.feature for table in job.tables if table.round == measured.name]
        if measured.date == when:
            features = ", ".join(titles.get(name, place(name)) for name in dict.fromkeys(read))
            yield stop(f"{opening(measured.title)}: {features}" if features else opening(measured.title))
    register = job.bench.register
    if register.date == when and register.steps:
        steps = ", ".join(f"{step.number} {told(step.title)}" for step in register.steps)
        yield stop(say("Taken apart: {steps}", steps=steps))


def _cell(job: Assessment, shot: Shot, album: Album) -> ContactCell:
    names = (shot.name, *shot.same)
    shown = [(name, album.prepared[name]) for name in names if name in album.prepared]
    return ContactCell(
        pictures=tuple(_small(name, made, album) for name, made in shown if made.small),
        name=shot.name,
        file=Path(shot.file).name,
        hour=datetime.fromisoformat(shot.taken).strftime("%H:%M:%S") if shot.taken else "",
        same=", ".join(shot.same),
        about=_about(job, shot),
        beside=tuple(told(words) for words in shot.beside),
        named=", ".join(shot.named_in),
        missing="" if shown else say("it cannot be shown"),
    )


def _small(name: str, made: Prepared, album: Album) -> SmallPicture:
    source, full = album.base + made.small, album.base + made.full
    return SmallPicture(name, source, full, made.small_width, made.small_height)


def _about(job: Assessment, shot: Shot) -> str:
    """The place that the bench page put into its name, with what was read there."""
    feature = job.feature(shot.feature)
    if feature is None:
        return ""
    rows = [table.rows.get(shot.position, ()) for table in job.tables if table.feature == shot.feature]
    read = "; ".join(" ".join(row) for row in rows if row)
    where = f"{told(feature.title)} {place(shot.position)}"
    return f"{where}: {read}" if read else where
