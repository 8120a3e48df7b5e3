"""The measurement record as its template sees it.

In: an Assessment.  Out: one view for one edition, every text finished.  Works out no value.
"""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment
from ...quantities import message
from ..drawings.canvas import Drawing
from ..drawings.verdict_marks import PRINTED, Verdict, judged, verdict
from ..press.frame import Framed, framed
from ..press.language import Language, say, spoken
from ..press.words import runs
from . import certificate
from .record_blocks import RecordBlock, blocks
from .record_entries import GUTTER, WHOLE, Printer, RecordEntry
from .record_parts import in_parts, legend
from .running_view import RunningTable, running_table

LETTERS = "ABCDEFGH"


class RecordPart(Struct, frozen=True):
    """One part of the record with the legend that holds for its tables."""

    letter: str
    title: str
    legend: tuple[tuple[Drawing, str], ...]  # where readings were taken, and of which entries
    entries: tuple[RecordEntry, ...]

    @property
    def which(self) -> str:
        """'1 to 11'."""
        return runs([entry.number for entry in self.entries])


class MeasurementRecord(Framed, frozen=True):
    """The record of one job."""

    title: str
    facts: certificate.Facts
    legend: tuple[Verdict, ...]
    parts: tuple[RecordPart, ...]
    last: str  # letter of the last part
    closing: str  # its title
    running: RunningTable | None
    instruments: tuple[tuple[str, ...], ...]
    sources: tuple[str, ...]
    coarse: str
    deviations: tuple[tuple[str, str], ...]
    signatures: tuple[tuple[str, str], ...]
    end: str


# the heading of the last part: with loads or without, public or signed
CLOSING = {
    (False, False): message("Instruments, sources, signatures"),
    (True, False): message("Loads, instruments, sources, signatures"),
    (False, True): message("Instruments and sources"),
    (True, True): message("Loads, instruments and sources"),
}


def measurement_record(job: Assessment, public: bool = False) -> MeasurementRecord:
    """The record of a job for one edition, in the language that is spoken."""
    parts = _parts(_Job(job, spoken()))
    entries = [entry for part in parts for entry in part.entries]
    numbers = {key: entry.number for entry in entries for key in entry.keys}
    last, running = LETTERS[len(parts)], running_table(job)
    closing = say(CLOSING[bool(running), public])
    name = say("Measurement record {job}", job=job.number)
    sections = [(part.letter, f"{part.letter} {part.title}".strip()) for part in parts]
    used = set(map(judged, job.characteristics))
    return MeasurementRecord(
        frame=framed(
            job,
            say("Measurement record"),
            name,
            "measurement-record",
            sections=(*sections, (last, f"{last} {closing}")),
        ),
        title=name,
        facts=certificate.head(job),
        legend=tuple(verdict(word) for word in reversed(PRINTED) if word in used),
        parts=parts,
        last=last,
        closing=closing,
        running=running,
        instruments=certificate.instruments(job),
        sources=certificate.sources(job, numbers),
        coarse=certificate.coarse(job, numbers),
        deviations=certificate.deviations(job),
        signatures=certificate.signatures(job, public),
        end=say("End of record {job}", job=job.number),
    )


class _Job(Struct, frozen=True, eq=False):
    """A job in a language, whatever is said of its issues: documents that differ in that alone share it."""

    job: Assessment
    language: Language

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Job) or self.language is not other.language:
            return False
        names = (name for name in Assessment.__struct_fields__ if name not in ("issue", "due"))
        return all(getattr(self.job, name) is getattr(other.job, name) for name in names)

    def __hash__(self) -> int:
        return id(self.job.characteristics)


@lru_cache(maxsize=2)  # the shop's and the public one
def _parts(of: _Job) -> tuple[RecordPart, ...]:
    job = of.job
    printer = Printer(job, certificate.numbers(job))
    parts: list[RecordPart] = []
    count = 0
    for title, own in in_parts(blocks(job)):
        parts.append(_part(printer, title, own, count + 1, LETTERS[len(parts)]))
        count += len(own)
    return tuple(parts)


def record_numbers(job: Assessment) -> dict[str, int]:
    """The number that each feature has in the record, for documents that refer to it."""
    parts = _parts(_Job(job, spoken()))
    entries = (entry for part in parts for entry in part.entries)
    return {entry.feature: entry.number for entry in entries if entry.anchor}


def _part(printer: Printer, title: str, own: list[RecordBlock], first: int, letter: str) -> RecordPart:
    """The tallest first, each line filled up from what is left; numbered as they stand."""
    made = in_lines([(printer.entry(block, 0), block) for block in own])
    numbered = [(first + i, block) for i, (_, block) in enumerate(made)]
    entries = tuple(replace(entry, number=first + i) for i, (entry, _) in enumerate(made))
    drawn = tuple((drawing, _numbered(numbers)) for drawing, numbers in legend(numbered))
    return RecordPart(letter, say(title) if title else say("Measurements"), drawn, entries)


def in_lines(found: list[tuple[RecordEntry, RecordBlock]]) -> list[tuple[RecordEntry, RecordBlock]]:
    """Entries in an order in which they fill their lines: first fit, by falling height.

    Source: Coffman and others, SIAM Journal on Computing 9 (1980), 808, from memory.
    """
    lines: list[list[tuple[RecordEntry, RecordBlock]]] = []
    left: list[float] = []
    for pair in sorted(found, key=lambda pair: -pair[0].tall):
        room = pair[0].room + GUTTER
        at = next((at for at, spare in enumerate(left) if room <= spare), len(lines))
        if at == len(lines):
            lines.append([])
            left.append(WHOLE + GUTTER)
        lines[at].append(pair)
        left[at] -= room
    return [pair for line in lines for pair in line]


def _numbered(numbers: tuple[int, ...]) -> str:
    """'Nos. 2 and 4': the entries that a drawing holds for."""
    words = message("Nos. {numbers}" if len(numbers) > 1 else "No. {numbers}")
    return say(words, numbers=runs(numbers))
