"""What is to be said of an entry beside its numbers: doubts, exceptions, how it was read, what was accepted.

In: a block.  Out: sentences, each once.  Judges nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ...assess.model.assessment import Assessment
from ...assess.work.decisions import covered_by
from ...quantities import message
from ..press.language import say, spoken, told
from ..press.words import NBSP, day, place, standard_temperature
from ..press.words import places as runs_of
from .record_blocks import ASKED, LEFT_OUT, RecordBlock, Sitting
from .record_cells import by_limit, finest_limit, titled

USUAL = {standard_temperature(system).replace(NBSP, "") for system in ("mm", "in")}  # what values stand for


def notes(job: Assessment, block: RecordBlock, whens: Sequence[str]) -> Iterator[str]:
    """The notes of a block; what one sitting alone has to say names it."""
    said: dict[str, list[str]] = {}
    for sitting, when in zip(block.sittings, whens, strict=True):
        for text in _of_sitting(job, block, sitting):
            said.setdefault(text, []).append(when)
    together: dict[tuple[str, ...], list[str]] = {}
    for text, those in said.items():
        together.setdefault(tuple(those) if len(those) < len(block.sittings) else (), []).append(text)
    for which, texts in together.items():
        lead = f"{', '.join(which)}: " if which else ""
        yield lead + "; ".join(text.removesuffix(".") for text in texts)


def _of_sitting(job: Assessment, block: RecordBlock, sitting: Sitting) -> Iterator[str]:
    yield from _doubts(sitting)
    yield from _read(job, sitting)
    yield from _limits(job, block, sitting)
    yield from _by_place(job, sitting)
    yield from _accepted(job, sitting)


def _doubts(sitting: Sitting) -> Iterator[str]:
    """What the mark means, then every doubt in its own sentence."""
    marks = set(sitting.marks.values())
    if LEFT_OUT in marks:
        yield say("{mark} marks readings that are in no value: they are in doubt.", mark=LEFT_OUT)
    if ASKED in marks:
        yield say("{mark} marks readings that are judged as typed, and asked about.", mark=ASKED)
    for table in sitting.tables:
        yield from map(told, table.doubts)


def _read(job: Assessment, sitting: Sitting) -> Iterator[str]:
    """In which state, at which temperature, and on which further day."""
    yield from dict.fromkeys(table.state for table in sitting.tables if table.state)
    yield from dict.fromkeys(told(c.basis) for c in sitting.known if c.basis)
    warm = {
        one for table in sitting.tables if (one := table.temperature) and "".join(one.split()) not in USUAL
    }
    if warm:
        yield say("read at {temperatures}", temperatures=", ".join(map(spoken().figures, sorted(warm))))
    for table in sitting.tables[1:]:
        date = next((one.date for one in job.rounds if one.name == table.round), None)
        if date is not None:
            yield say("{places} on {day}", places=_places(table.rows), day=day(date))


def _limits(job: Assessment, block: RecordBlock, sitting: Sitting) -> Iterator[str]:
    """Limits of a size that is not the maker's first, and those of single places."""
    sizes = dict.fromkeys(told(c.limits.size) for c in sitting.known if c.limits and c.limits.size)
    for size in sizes:
        yield say("limits of {size}", size=size)
    for name in dict.fromkeys(c.name for c in sitting.known):
        values = [c for c in sitting.known if c.name == name]
        for alike in by_limit(values)[1:]:
            spots, text = [c.position for c in alike], finest_limit(alike, job.system)
            words = message("{what} of {places}: limit {limit}")
            yield say(words, what=titled(block.feature, name), places=_places(spots), limit=text)


def _by_place(job: Assessment, sitting: Sitting) -> Iterator[str]:
    """What is noted of values: of all places at once, or of each that it is true of."""
    accepted = covered_by(job.deviations)
    alike: dict[str, dict[str, None]] = {}
    for c in sitting.values:
        found = [c.note]
        # what is missing of one that there is not; what would settle one that is open
        if c.value is None or (c.verdict == "too close to call" and c.stands and c.key not in accepted):
            found.append(c.advice)
        for note in filter(None, found):
            alike.setdefault(told(note), {})[c.position] = None
    every = {c.position for c in sitting.values}
    for text, spots in alike.items():
        yield text if len(spots) == len(every) else f"{_places(spots)}: {text}"


def _accepted(job: Assessment, sitting: Sitting) -> Iterator[str]:
    """Deviations that cover something here."""
    keys = {c.key for c in sitting.values}
    for deviation in job.deviations:
        if keys & set(deviation.covers):
            covered = dict.fromkeys(c.position for c in sitting.values if c.key in deviation.covers)
            spots = _places(covered)
            limit = spoken().figures(deviation.accept)
            yield say(
                "deviation {id}: {places} accepted, {limit}", id=deviation.id, places=spots, limit=limit
            )


def _places(names: Iterable[str]) -> str:
    return runs_of([place(name) for name in names])
