"""The folder of a shop as records: its own file, the engine sheets, and jobs as far as they are written."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from hashlib import blake2b
from pathlib import Path

from msgspec import Struct, field

from ..text.memory import Memory
from ..text.problems import Problem
from ..text.reader import Source
from .assembly import Tightened
from .choosing import Stock
from .doubt import Doubt, Spot
from .issued import FOLDER, REGISTER, IssueRegister
from .jobfile import (
    Assembly,
    CandidateRecord,
    DecisionRecord,
    FindingRecord,
    Findings,
    Job,
    Running,
    Teardown,
    Work,
)
from .rounds import RoundRecord
from .rows import Cells
from .sheet import Engine
from .shop import Shop


class Faults(dict[str, dict[int, int]]):
    """File: line of what is left out of it: how many blocks around it go, too; from ALL on the whole file.

    ``as_meant``: what is misspelt is read as it was probably meant, to see what else is wrong.
    ``read_otherwise``: files that could only be read so, with lines of values that are not as typed.
    ``unread``: files whose errors keep them from being held against the others.
    ``gone``: the names of what was left out.
    ``blank``: lines that are no YAML, without which the rest of their file is read.
    """

    def __init__(self, as_meant: bool = False) -> None:
        super().__init__()
        self.as_meant = as_meant
        self.named: dict[str, dict[int, tuple[str, str]]] = {}  # file: line: a name as typed, and as meant
        self.read_otherwise: dict[str, set[int]] = {}
        self.unread: set[str] = set()
        self.gone: set[str] = set()
        self.blank: dict[str, set[int]] = {}

    def misread(self, problem: Problem) -> bool:
        """Whether its file could be read as it was meant alone, and what it tells stands there."""
        lines = self.read_otherwise.get(problem.file)
        return lines is not None and problem.line not in lines

    def missed_by(self, problem: Problem) -> bool:
        """Whether it is of what was left out or read otherwise, or misses it: nobody knows more of that."""
        if problem.line in {*self.get(problem.file, ()), *self.read_otherwise.get(problem.file, ())}:
            return True
        if (name := re.match(r"'([^']+)' is no", problem.message)) and name[1] in self.gone:
            return True
        key, _, value = problem.quote.partition("#")[0].partition(":")
        named = re.findall(r"[^\s,\"'\[\]]+", value) or [key.strip(" -\"'")]
        return not self.gone.isdisjoint(named)


ALL = 4
_NUMBER = re.compile(r"(\d+(?:[-_.]\d+)+|(?!(?:19|20)\d\d\D)\d{3,})(?=\D|$)")


def job_number(folder: str) -> str:
    """What a folder begins with to be told from others; a year alone is no number.

    >>> job_number("2026-003-orchard-six"), job_number("0412 pump"), job_number("2026-six")
    ('2026-003', '0412', '')
    """
    found = _NUMBER.match(folder)
    return found[1] if found else ""


class EngineFile(Struct, frozen=True, dict=True):
    """One spec sheet, engines/NAME.yaml."""

    name: str
    model: Engine | None
    source: Source
    problems: list[Problem] = field(default_factory=list)

    @cached_property
    def digest(self) -> str:
        """Of all that is typed of the engine, the trace that lies beside its sheet, too."""
        motion = self.model and self.model.motion
        trace = (motion and motion.pressure_trace) or ""
        return blake2b("\n".join([self.source.file, trace, *self.source.lines]).encode()).hexdigest()


class RoundFile(Struct, frozen=True):
    """One measuring round with its readings: ``cells[table][position][column]``."""

    name: str
    model: RoundRecord
    cells: dict[str, Cells]
    source: Source

    @property
    def begun(self) -> bool:
        """Whether any reading was taken: a round that 'start' laid out is not begun."""
        return any(
            cell.state != "not taken"
            for table in self.cells.values()
            for row in table.values()
            for cell in row.values()
        )


_NAMING = ("job", "teardown", "findings", "work", "assembly", "running")  # files whose records name pictures


def _photos_in(block: object) -> Iterator[str]:
    """Names below ``photo:``, ``photos:`` and ``before:``, whichever record has them."""
    if isinstance(block, dict):
        for key, item in block.items():
            if key in ("photo", "photos", "before") and item:
                yield from [item] if isinstance(item, str) else item
            yield from _photos_in(item)
    elif isinstance(block, list):
        for item in block:
            yield from _photos_in(item)


class JobFolder(Struct, frozen=True, dict=True):
    """One job: its records as far as they are written, and what is wrong with them."""

    name: str
    path: Path
    job: Job | None = None
    teardown: Teardown | None = None
    findings: Findings | None = None
    work: Work | None = None
    assembly: Assembly | None = None
    running: Running | None = None
    running_cells: dict[str, Cells] = field(default_factory=dict)
    rounds: dict[str, RoundFile] = field(default_factory=dict)  # by date, then name
    photos: dict[str, str] = field(default_factory=dict)  # name without ending: path inside the job folder
    sources: dict[str, Source] = field(default_factory=dict)  # "job", "work" ... as read
    issued: IssueRegister = field(default_factory=IssueRegister)  # what has left the shop
    doubts: tuple[Doubt, ...] = ()  # what a person has to look at again
    suspects: set[Spot] = field(default_factory=set)  # of those, the readings that stay out until confirmed
    problems: list[Problem] = field(default_factory=list)  # of this job's own files
    engine_problems: list[Problem] = field(default_factory=list)  # of the shop's and engine's files

    @property
    def record(self) -> Job:
        """The job file of a job that is assessed at all."""
        assert self.job is not None
        return self.job

    # what is written in a file, as an empty one says it where there is none

    @cached_property
    def written_teardown(self) -> Teardown:
        return self.teardown or Teardown.model_construct(by="", date=date.min)

    @cached_property
    def written_findings(self) -> Findings:
        return self.findings or Findings()

    @cached_property
    def written_work(self) -> Work:
        return self.work or Work()

    @cached_property
    def written_assembly(self) -> Assembly:
        return self.assembly or Assembly()

    @cached_property
    def written_running(self) -> Running:
        return self.running or Running()

    @property
    def decisions(self) -> dict[str, DecisionRecord]:
        """What was decided, by its name."""
        return self.written_work.decisions

    @property
    def candidates(self) -> dict[str, CandidateRecord]:
        """Parts of another source, by their names."""
        return self.written_work.candidates

    @property
    def taken(self) -> dict[str, str]:
        """Candidates that a decision makes the engine's own, and which one does."""
        return {decision.with_: name for name, decision in self.decisions.items() if decision.with_}

    def tried(self, file: RoundFile) -> bool:
        """Whether a round was read on a part that is not in the engine, and is only tried beside its own."""
        return file.model.of not in ("", *self.taken)

    @property
    def seen(self) -> dict[str, FindingRecord]:
        """What was found, by its name."""
        return self.written_findings.findings

    @cached_property
    def naming(self) -> dict[str, list[str]]:
        """Pictures by name, with the files of the job that name each."""
        found: dict[str, list[str]] = {}
        for file in _NAMING:
            record = getattr(self, file)
            for name in dict.fromkeys(_photos_in(record.model_dump()) if record is not None else ()):
                found.setdefault(name, []).append(f"{file}.yaml")
        return found

    @property
    def unnamed_photos(self) -> list[str]:
        """Pictures that no file of the job names: evidence that nobody will find again.

        A file that could not be read may name any of them.
        """
        if not self.photos or any(map(self.unread, _NAMING)):
            return []
        return [name for name in sorted(self.photos) if name not in self.naming]

    @property
    def tightened(self) -> list[Tightened]:
        """Groups of fasteners that were tightened: the engine is going together."""
        return self.written_assembly.tightened

    def unread(self, name: str) -> bool:
        """Whether a file of the job is there and could not be read: nobody knows what it names."""
        return getattr(self, name) is None and name in self.sources and self.sources[name].begun

    @property
    def usable(self) -> bool:
        """Whether nothing that is wrong stops the job from being assessed."""
        return self.job is not None and not any(
            one.severity == "error" for one in (*self.problems, *self.engine_problems)
        )


class Alike(Struct, frozen=True):
    """What a job has in common with others: all that its pages tell of them."""

    number: str = ""
    numbered: str = ""  # the first other job of that number
    files: tuple[tuple[str, str], ...] = ()  # a round or the register, the first job with the same bytes


class Siblings:
    """The jobs of a shop; ``known`` of what was found out already."""

    def __init__(
        self, folder: Path, names: Iterable[str] = (), known: Mapping[str, Alike] | None = None
    ) -> None:
        self._folder, self.names, self._known = folder, list(names), dict(known or {})
        self._read: dict[tuple[str, int], dict[bytes, list[str]]] = {}  # of one size: what is in them

    def of(self, name: str) -> Alike:
        """In what a job is like others."""
        if name not in self._known:
            number = job_number(name)
            other = next((other for other in self._numbered.get(number, ()) if other != name), "")
            places = ((place, self._same(name, place)) for place in self._crowded.get(name, ()))
            files = tuple((place, twin) for place, twin in places if twin)
            self._known[name] = Alike(number if other else "", other, files)
        return self._known[name]

    @cached_property
    def _numbered(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name in self.names:
            if number := job_number(name):
                found.setdefault(number, []).append(name)
        return found

    @cached_property
    def _of_size(self) -> dict[tuple[str, int], list[str]]:
        """Which job has a round or a register of which size: equal ones are found without reading all."""
        found: dict[tuple[str, int], list[str]] = {}
        for name in self.names:
            for place, size in self._files(name):
                found.setdefault((place, size), []).append(name)
        return found

    @cached_property
    def _crowded(self) -> dict[str, list[str]]:
        """The files of each job of which another has one of that size."""
        found: dict[str, list[str]] = {}
        for (place, _), names in sorted(self._of_size.items()):
            for name in names if len(names) > 1 else ():
                found.setdefault(name, []).append(place)
        return found

    def _files(self, name: str) -> Iterator[tuple[str, int]]:
        for folder, suffix in (("measurements", ".yaml"), (FOLDER, REGISTER)):
            try:
                with os.scandir(f"{self._folder}/{name}/{folder}") as entries:
                    for entry in entries:
                        if entry.name.endswith(suffix):
                            yield f"{folder}/{entry.name}", entry.stat().st_size
            except OSError:
                continue

    def _same(self, name: str, place: str) -> str:
        """The first other job with the same bytes there; each file is read once, however many are alike."""
        own = self._bytes(name, place)
        if own is None:
            return ""
        alike = self._read.setdefault((place, len(own)), {})
        if not alike:
            for other in self._of_size.get((place, len(own)), ()):
                if (text := self._bytes(other, place)) is not None:
                    alike.setdefault(blake2b(text).digest(), []).append(other)
        return next((other for other in alike.get(blake2b(own).digest(), ()) if other != name), "")

    def _bytes(self, name: str, place: str) -> bytes | None:
        try:
            return (self._folder / name / place).read_bytes()
        except OSError:
            return None


class ShopFolder(Struct, frozen=True):
    """The shop's folder, or as much of it as was asked for."""

    path: Path
    shop: Shop | None
    source: Source
    engines: dict[str, EngineFile] = field(default_factory=dict)
    jobs: dict[str, JobFolder] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)  # of shop.yaml and of the folder itself
    stock: Stock | None = None
    stock_source: Source | None = None
    without: Faults = field(default_factory=Faults)  # what was left out of files in which errors stand
    siblings: Siblings = field(default_factory=lambda: Siblings(Path()))  # all jobs, loaded or not
    memory: Memory = Memory()

    @property
    def left_out(self) -> tuple[str, ...]:
        """File and lines of what was left out.

        >>> ShopFolder(Path(), None, Source("shop.yaml"), without={"j/work.yaml": {7: 0, 9: 1}}).left_out
        ('j/work.yaml 7, 9',)
        """
        return tuple(
            f"{file} {'as a whole' if max(lines.values()) >= ALL else ', '.join(map(str, sorted(lines)))}"
            for file, lines in sorted(self.without.items())
        )

    def sheet(self, job: JobFolder) -> Engine | None:
        """The sheet of a job's engine, or of the parts of it that came; None where it cannot be read."""
        file = self.engines.get(job.job.engine) if job.job else None
        if file is None or file.model is None or job.job is None or not job.job.arrival.only:
            return file.model if file else None
        read = {
            one.model.tables[name].feature or name
            for one in job.rounds.values()
            for name, rows in one.cells.items()
            if any(cell.state != "not taken" for row in rows.values() for cell in row.values())
        }
        spoken_of = {one.component for one in job.seen.values()} | {
            one.about for one in job.decisions.values()
        }
        return file.model.of_parts(job.job.arrival.only, {*read, *spoken_of})

    def remembering(self, job: JobFolder) -> tuple[str, Memory]:
        """A digest of a job's sheet, and where what was worked out of it is; not of parts that came alone."""
        file = self.engines.get(job.record.engine)
        if file is None or job.record.arrival.only:
            return "", Memory()
        return file.digest, self.memory

    @property
    def all_problems(self) -> list[Problem]:
        """Every problem once, sorted: the shop's, the engines' and the jobs'."""
        found = set(self.problems)
        for engine in self.engines.values():
            found.update(engine.problems)
        for job in self.jobs.values():
            found.update(job.problems, job.engine_problems)
        return sorted(found)
