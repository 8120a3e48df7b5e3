"""What earlier runs made and from what: a journal of one line a job, kept beside the two editions.

In comes the folder of the site; out goes a Row for each job.  A line is added
when a job is done, so that a run costs what it makes and not all jobs times
all jobs.  A line that a cut-off run wrote in part is passed over: the job then
stands as it stood before, and is looked at again.  Knows nothing of pages.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from .folders import write_whole
from .sources import State

MANIFEST = ".rebuildreport.jsonl"
BEFORE = ".rebuildreport.json"  # one file of everything, as earlier versions wrote it


@dataclass(slots=True)
class Row:
    """One job: its pages as they were last made, and its files as they were last looked at."""

    fingerprint: str = ""  # what the pages are made from; "" where they have to be made again
    entry: Any = None  # for the index of the shop edition; None: it has no pages yet
    public: Any = None  # for the public one; None: it is not there
    bench_sheets: list[str] = field(default_factory=list)  # PDFs of ours among them
    # of the last look
    seen: str = ""  # all that was looked at, in one digest; "" where it has to be looked at again
    files: dict[str, State] = field(default_factory=dict)
    engine: str = ""
    commit: str = ""  # where the repository stood
    dirty: bool = False
    consent: bool = False
    errors: int = 0
    usable: bool = False
    title: str = ""
    problems: list[dict[str, Any]] = field(default_factory=list)


@dataclass(slots=True)
class Site:
    """What belongs to no job."""

    engines: dict[str, list[str]] = field(default_factory=dict)  # edition: engine pages
    indexes: dict[str, str] = field(default_factory=dict)  # edition: what its index was made from
    specimen: str = ""  # what the specimen shows


class Manifest:
    """The rows by job, and the journal that they are kept in."""

    def __init__(self, out: Path) -> None:
        self._path = out / MANIFEST
        self._before = out / BEFORE
        self.rows: dict[str, Row] = {}
        self.site = Site()
        self._lines = 0
        self._site_line = ""
        self._torn = False
        if self._path.exists():
            self._read()
        else:
            self._read_before()

    def _read(self) -> None:
        try:
            text = self._path.read_bytes()
        except OSError:
            return
        self._torn = bool(text) and not text.endswith(b"\n")
        for line in text.splitlines():
            self._lines += 1
            # cut off in the middle, damaged, or of another version's form: as if it were not there
            with suppress(ValueError, TypeError, KeyError):
                self._take(json.loads(line))
        self._site_line = self._line("site", asdict(self.site))

    def _take(self, data: dict[str, Any]) -> None:
        if "site" in data:
            self.site = Site(**data["site"])
        elif "begun" in data:
            row = self.rows.setdefault(data["job"], Row())
            row.fingerprint = row.seen = ""
        elif data["row"] is None:
            self.rows.pop(data["job"], None)
        else:
            self.rows[data["job"]] = Row(**data["row"])

    def _read_before(self) -> None:
        """Which pages are ours, from the file of an earlier version: made again, none forgotten."""
        with suppress(OSError, ValueError, KeyError, TypeError, AttributeError):
            data = json.loads(self._before.read_text("utf-8"))
            self.site.engines = dict(data["engines"])
            for name, made in data["jobs"].items():
                self.rows[name] = Row(entry=made.get("entry"), bench_sheets=made.get("bench_sheets", []))

    def begin(self, name: str) -> None:
        """Say that a job's pages may change now.

        A run cut off between the pages and their row leaves pages that the row before it knows nothing of:
        were the files put back, that row would vouch for them.
        """
        self._append(json.dumps({"job": name, "begun": True}))

    def keep(self, name: str) -> None:
        """Put a job's row down."""
        self._append(json.dumps({"job": name, "row": asdict(self.rows[name])}, ensure_ascii=False))

    def drop(self, name: str) -> None:
        """Forget a job."""
        if self.rows.pop(name, None) is not None:
            self._append(json.dumps({"job": name, "row": None}))

    def _append(self, line: str) -> None:
        if self._lines == 0:
            self._found()
        with self._path.open("ab") as journal:
            # behind half a line of a run that was cut off, ours would be lost with it
            journal.write(b"\n" * self._torn + line.encode() + b"\n")
        self._torn = False
        self._lines += 1

    def _found(self) -> None:
        """A new journal: what an earlier version's file told goes into it first, in one step."""
        write_whole(self._path, "".join(self._all()).encode())
        self._lines = len(self.rows) + 1
        self._before.unlink(missing_ok=True)

    def close(self) -> None:
        """Put down what belongs to no job, and write the journal anew where most of it is out of date."""
        line = self._line("site", asdict(self.site))
        if line != self._site_line:
            self._append(line)
            self._site_line = line
        if self._lines > 2 * (len(self.rows) + 8):
            write_whole(self._path, "".join(self._all()).encode())
            self._lines = len(self.rows) + 1

    def _all(self) -> Iterator[str]:
        yield self._line("site", asdict(self.site)) + "\n"
        for name in sorted(self.rows):
            yield json.dumps({"job": name, "row": asdict(self.rows[name])}, ensure_ascii=False) + "\n"

    @staticmethod
    def _line(what: str, data: dict[str, Any]) -> str:
        return json.dumps({what: data}, ensure_ascii=False, sort_keys=True)
