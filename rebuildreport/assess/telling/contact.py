"""The pictures of a job that has some which nothing names: when each was taken, which are of one look.

In: the folder of a job.  Out: ``Shot``s in the order in which they were taken, for the shop alone.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

from ...quantities import Sentence, Several, Text, Typed, message
from ...records import JobFolder
from ...records.checks.picturefiles import PictureFile, picture_file
from ...records.files.assembly import Assembly, Checked, FittedRecord, Tightened
from ...records.files.sheet import Engine
from ..model.assessment import Shot

# Nobody puts one part away, frames the next and presses within two seconds; whoever presses again to be sure
# does, and so does a telephone that makes a burst by itself (common practice)
ONE_LOOK = timedelta(seconds=2)
# either way, so that together they are an hour: nobody writes down to the minute when he was at a part
NEAR = timedelta(minutes=30)


def shots(engine: Engine, job: JobFolder) -> tuple[Shot, ...]:
    """All pictures of a job, where some are named by none of its files; none where all are.

    Of a burst, and of a file copied twice, the first stands for all: ``same`` names the others.
    """
    if not job.unnamed_photos:
        return ()
    known = {name: picture_file(job.path / file) for name, file in job.photos.items()}
    # names of copies are longer
    order = sorted(known, key=lambda name: (known[name].taken or datetime.max, len(name), name))
    of_one: dict[str, list[str]] = {}
    first: dict[str, str] = {}
    for name, before in zip(order, _before(order, known, job), strict=True):
        first[name] = first[before] if before else name
        of_one.setdefault(first[name], []).append(name)
    noted = list(_noted(engine, job))
    found = []
    for name, same in of_one.items():
        named = {file for one in same for file in job.naming.get(one, ())}
        when = known[name].taken
        taken = when.isoformat(" ") if when else ""
        feature, position = place_in(name, job.name, engine)
        files = tuple(sorted(named))
        beside = tuple(words for hour, words in noted if when and abs(hour - when) <= NEAR)
        found.append(Shot(name, job.photos[name], taken, tuple(same[1:]), files, feature, position, beside))
    return tuple(found)


def _noted(engine: Engine, job: JobFolder) -> Iterator[tuple[datetime, Text]]:
    """What stands in the files with the time of its day: readings, what was taken off, what went on."""
    for measured in job.rounds.values():
        for name, table in measured.model.tables.items():
            if table.at is not None:
                feature = engine.features.get(table.feature or name)
                title = Typed(feature.title if feature and feature.title else name)
                rows = Several(map(Typed, table.rows))
                day = table.date or measured.model.date
                yield datetime.combine(day, table.at), Sentence("read: {what} {at}", what=title, at=rows)
    apart = job.written_teardown
    for step in apart.steps:
        if step.at is not None and apart.date is not None:
            off = Sentence("taken off: {what}", what=Typed(step.removed))
            yield datetime.combine(apart.date, step.at), off
    for done, what in _put_on(engine, job.written_assembly):
        if done.at is not None and done.date is not None:
            yield datetime.combine(done.date, done.at), what


def _put_on(engine: Engine, built: Assembly) -> Iterator[tuple[FittedRecord | Tightened | Checked, Text]]:
    for part in built.fitted:
        yield part, Sentence("fitted: {what}", what=Typed(engine.part(part.part).name))
    for bolts in built.tightened:
        yield bolts, Sentence("tightened: {what}", what=Typed(bolts.fasteners))
    for check in built.checks:
        yield check, Sentence("checked: {what}", what=Typed(check.check))


def place_in(name: str, job: str, engine: Engine | None) -> tuple[str, str]:
    """Feature and position of a picture that the bench page named: JOB-FEATURE-POSITION-NUMBER."""
    place = name.removeprefix(f"{job}-").rpartition("-")[0]
    for feature, record in engine.features.items() if engine else ():
        position = place.removeprefix(f"{feature}-")
        if place != position and position in record.positions:
            return feature, position
    return "", ""


def _before(order: list[str], known: dict[str, PictureFile], job: JobFolder) -> Iterator[str]:
    """For each picture an earlier one of its look, copied or taken a moment before; "" where none is."""
    bytes_of = _digests({name: job.path / job.photos[name] for name in order})
    copied: dict[str, str] = {}
    for last, name in zip(("", *order), order, strict=False):
        original = copied.setdefault(bytes_of[name], name)
        if original != name:
            yield original
        else:
            yield last if last and _one_look(known[last], known[name]) else ""


def _one_look(earlier: PictureFile, later: PictureFile) -> bool:
    if not (earlier.taken and later.taken) or earlier.camera != later.camera:
        return False
    return later.taken - earlier.taken <= ONE_LOOK


def _digests(files: Mapping[str, Path]) -> dict[str, str]:
    """What tells the content of each file; only those of one size are read."""
    sizes, found = {}, {name: name for name in files}
    for name, path in files.items():
        with suppress(OSError):  # gone meanwhile, or closed to us
            sizes[name] = path.stat().st_size
    many = Counter(sizes.values())
    for name, size in sizes.items():
        if many[size] > 1:
            with suppress(OSError), files[name].open("rb") as file:
                found[name] = hashlib.file_digest(file, "sha256").hexdigest()
    return found


def unnamed(shots: Iterable[Shot]) -> Iterator[Text]:
    """What ``check`` says of pictures that nothing names."""
    told: list[Text] = []
    words = message("{name} (the same look: {others})")
    for shot in shots:
        name, others = Typed(shot.name), Several(map(Typed, shot.same))
        if not shot.named_in:
            told.append(Sentence(words, name=name, others=others) if shot.same else name)
    if told:
        yield Sentence("Pictures that nothing names: {names}", names=Several(told))
