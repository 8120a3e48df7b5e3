"""What earlier runs made and from what: one database beside the two editions, open to one run at a time.

In comes the folder of the site; out go a Row for each job, the files that are ours, and what the site's
own pages list.  SQLite, since a run with nothing to do then reads 32 bytes a job and not all that is known
of it (2,000 jobs: 16 ms against 90 ms for one line or one row a file), and since its lock goes with the
process, however that ends.  Knows nothing of pages.
"""

from __future__ import annotations

import errno
import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from hashlib import blake2b
from pathlib import Path
from typing import Any
from weakref import WeakSet

from msgspec import Struct, field
from msgspec.json import decode, encode

from ...records import Problem
from .sources import State, edited
from .unchanged import NAME

BEFORE = (".rebuildreport.json", ".rebuildreport.jsonl")  # as earlier versions wrote it
FORM = 5  # of the tables: another one is as good as none
TABLES = """
create table fact (name text primary key, value text not null) without rowid;
create table look (job text primary key, look text not null, there text not null) without rowid;
create table job (name text primary key, edited integer not null, due integer not null,
 tells integer not null, row text not null);
create table file (job text, edition text, name text, made text not null, primary key (job, edition, name))
 without rowid;
create table entry (edition text, job text, opened text not null, engine text not null, item text not null,
 data text not null, card text not null, digest text not null, primary key (edition, job));
create table waits (job text primary key, row text not null) without rowid;
create table hidden (job text primary key, data text not null) without rowid;
create table mark (job text primary key, bits blob not null) without rowid;
create index listed on entry (edition, opened desc, job desc);
"""


class Telling(Struct):
    """What a run tells of a job."""

    usable: bool = False
    problems: list[Problem] = field(default_factory=list)
    partly: bool = False  # in the shop edition stands what does not rest on its errors
    stands: bool = False  # pages of it stand, perhaps its last good ones


class Row(Telling):
    """One job, as it was last looked at."""

    seen: str = ""  # all that was looked at, in one digest; "" where it has to be looked at again
    files: dict[str, State] = field(default_factory=dict)
    engine: str = ""
    commit: str = ""  # where the repository stood
    consent: bool = False
    title: str = ""
    papers: str = ""  # what its PDFs were last made for


class Entry(Struct, frozen=True):
    """One job on the site's own pages."""

    job: str
    opened: str  # 2026-03-06
    engine: str
    item: str  # its place in a list of jobs, ready
    data: dict[str, Any]  # the rest of what those pages say of it
    card: dict[str, Any]  # what lists of thousands of jobs need of each


class Manifest:
    """The database, held by this run alone."""

    def __init__(self, out: Path, waiting: Callable[[], object] = lambda: None) -> None:
        self._path = out / NAME
        self._reading: WeakSet[sqlite3.Cursor] = WeakSet()
        try:
            self._db = self._opened(waiting)
        except sqlite3.DatabaseError as problem:
            if isinstance(problem, sqlite3.OperationalError):
                raise OSError(errno.EIO, str(problem), str(self._path)) from problem
            self._path.unlink()  # damaged: as if nothing were known
            self._db = self._opened(waiting)

    def _opened(self, waiting: Callable[[], object]) -> sqlite3.Connection:
        db = sqlite3.connect(self._path, timeout=0.3, isolation_level=None)
        try:
            self._lay_out(db, waiting)
            for name in BEFORE:
                self._path.with_name(name).unlink(missing_ok=True)
        except BaseException:  # cut off: whoever keeps the exception would keep the lock
            db.close()
            raise
        return db

    def _lay_out(self, db: sqlite3.Connection, waiting: Callable[[], object]) -> None:
        """Lock it, and make its tables where they are of another form."""
        said = False
        while True:
            try:
                db.execute("pragma locking_mode = exclusive")  # kept until the process ends
                db.execute("pragma synchronous = off")  # a lost row is a job looked at again
                db.execute("begin exclusive")
                break
            except sqlite3.OperationalError as problem:
                if getattr(problem, "sqlite_errorcode", 0) & 0xFF != sqlite3.SQLITE_BUSY:
                    raise
                if not said:
                    waiting()
                said = True
        self.fresh = db.execute("pragma user_version").fetchone()[0] != FORM  # nothing was known
        if self.fresh:
            for kind, name in db.execute(
                "select type, name from sqlite_master where sql is not null"
            ).fetchall():
                if kind == "table":
                    db.execute(f'drop table "{name}"')
            for statement in TABLES.split(";"):
                db.execute(statement)
            db.execute(f"pragma user_version = {FORM}")
        db.execute("commit")

    def forget(self) -> None:
        """Throw away a database that turned out to be damaged: the next run knows nothing."""
        self.close()
        self._path.unlink(missing_ok=True)

    @contextmanager
    def _whole(self) -> Iterator[sqlite3.Connection]:
        """All of what is written inside, or nothing of it."""
        try:
            self._db.execute("begin")
            yield self._db
            self._db.execute("commit")
        except sqlite3.OperationalError as problem:
            with suppress(sqlite3.Error):
                self._db.execute("rollback")
            raise OSError(errno.EIO, str(problem), str(self._path)) from problem

    def close(self) -> None:
        """Let others at it, although a run that was cut off may have read half of a list."""
        for cursor in [*self._reading]:
            cursor.close()
        self._db.close()

    def _each(self, words: str, values: Sequence[str | None] = ()) -> sqlite3.Cursor:
        """Rows that are read one at a time."""
        cursor = self._db.execute(words, values)
        self._reading.add(cursor)
        return cursor

    # ------------------------------------------------------------------------------- jobs

    def looks(self) -> dict[str, tuple[str, str]]:
        """What the disk said of each job's files and of its pages, when both were as its row says."""
        return {job: (look, there) for job, look, there in self._db.execute("select * from look")}

    def unlook(self, name: str | None = None) -> None:
        """Have a job looked at, or every job: what all are made by has changed."""
        with self._whole() as db:
            db.execute("delete from look where job = coalesce(?, job)", (name,))

    def names(self) -> set[str]:
        """Every job that something is known of."""
        return {name for (name,) in self._db.execute("select name from job")}

    def row(self, name: str) -> Row:
        """What is known of a job; an empty Row where nothing is."""
        found = self._db.execute("select row from job where name = ?", (name,)).fetchone()
        return decode(found[0], type=Row) if found else Row()

    def telling(self) -> Iterator[tuple[str, Telling]]:
        """Every job of which something has to be told, one at a time."""
        for name, row in self._each("select name, row from job where tells order by name"):
            yield name, decode(row, type=Telling)

    def keep(self, name: str, row: Row, look: str = "", there: str = "", due: bool = False) -> None:
        """Put a job's row down; ``due``: PDFs of it are still to be made."""
        text = encode(row).decode()
        with self._whole() as db:
            values = (name, edited(row.files), due, bool(row.problems) or not row.usable, text)
            db.execute("insert or replace into job values (?, ?, ?, ?, ?)", values)
            db.execute("delete from look where job = ?", (name,))
            if look and there:
                db.execute("insert into look values (?, ?, ?)", (name, look, there))

    def due(self) -> list[str]:
        """Jobs whose PDFs are still to be made, the newest edit first."""
        return [n for (n,) in self._db.execute("select name from job where due order by edited desc, name")]

    def drop(self, name: str) -> None:
        """Forget a job."""
        with self._whole() as db:
            kept = ("look", "file", "entry", "waits", "hidden", "mark")
            for table, column in (("job", "name"), *((table, "job") for table in kept)):
                db.execute(f"delete from {table} where {column} = ?", (name,))
            db.execute("delete from fact where name glob 'lists *'")

    # ------------------------------------------------------------------------------- its files

    def files(self, name: str) -> dict[tuple[str, str], str]:
        """The files of a job that are ours, by edition and name, and what each PDF was made from."""
        rows = self._db.execute("select edition, name, made from file where job = ?", (name,))
        return {(edition, file): made for edition, file, made in rows}

    def own(self, name: str, edition: str, files: Iterable[str]) -> None:
        """Say of files of a job that they are ours, before they are there."""
        with self._whole() as db:
            db.executemany(
                "insert or ignore into file values (?, ?, ?, '')", ((name, edition, file) for file in files)
            )

    def made(self, name: str, edition: str, file: str, of: str) -> None:
        """What a file was made from; "" where that is not sure."""
        with self._whole() as db:
            db.execute("insert or replace into file values (?, ?, ?, ?)", (name, edition, file, of))

    def gone(self, name: str, edition: str, files: Iterable[str]) -> None:
        """Files of ours that are no more."""
        with self._whole() as db:
            db.executemany(
                "delete from file where job = ? and edition = ? and name = ?",
                ((name, edition, file) for file in files),
            )

    # ------------------------------------------------------------------------------- the site's pages

    def enter(self, edition: str, job: str, entry: Entry | None) -> None:
        """List a job on the pages of an edition, or take it off."""
        with self._whole() as db:
            of = "from entry where edition = ? and job = ?"
            known = db.execute(f"select digest {of}", (edition, job)).fetchone()
            digest = ""
            if entry is not None:
                data = json.dumps(entry.data, ensure_ascii=False)
                card = json.dumps(entry.card, ensure_ascii=False)
                digest = blake2b(f"{entry.item}\0{data}\0{card}".encode(), digest_size=16).hexdigest()
                values = (edition, job, entry.opened, entry.engine, entry.item, data, card, digest)
                db.execute("insert or replace into entry values (?, ?, ?, ?, ?, ?, ?, ?)", values)
            elif known:
                db.execute(f"delete {of}", (edition, job))
            if (known or ("",)) != (digest,):
                db.execute("delete from fact where name = ?", (f"lists {edition}",))

    def entries(self, edition: str, engine: str | None = None, job: str | None = None) -> Iterator[Entry]:
        """What an edition lists, newest first, one at a time: all, of one engine, or one job."""
        words = "select job, opened, engine, item, data, card from entry where edition = ?"
        values = [edition]
        for column, value in (("engine", engine), ("job", job)):
            if value is not None:
                words += f" and {column} = ?"
                values.append(value)
        found = self._each(f"{words} order by opened desc, job desc", values)
        for name, opened, family, item, data, card in found:
            yield Entry(name, opened, family, item, json.loads(data), json.loads(card))

    def cards(self, edition: str) -> Iterator[tuple[str, str]]:
        """What lists need of each job of an edition, newest first, and a digest of all that is kept of it."""
        words = "select card, digest from entry where edition = ? order by opened desc, job desc"
        return self._each(words, (edition,))

    def wait(self, job: str, row: str) -> None:
        """Put down what a job waits for, as its module writes it."""
        with self._whole() as db:
            db.execute("insert or replace into waits values (?, ?)", (job, row))

    def waits(self) -> list[str]:
        """What every job waits for, by name."""
        return [row for (row,) in self._db.execute("select row from waits order by job")]

    # ------------------------------------------------------------------------------- what must not be seen

    def hide(self, job: str, values: list[tuple[str, str, str, str]]) -> None:
        """Put the private values of a job down."""
        with self._whole() as db:
            text = json.dumps(values, ensure_ascii=False)
            db.execute("insert or replace into hidden values (?, ?)", (job, text))

    def hidden(self, job: str | None = None) -> Iterator[tuple[str, str, str, str]]:
        """The private values of one job, or of all."""
        for (data,) in self._each("select data from hidden where job = coalesce(?, job)", (job,)):
            yield from (tuple(value) for value in json.loads(data))

    def mark(self, job: str, bits: bytes) -> None:
        """What can stand in the public files of a job; nothing where it has none."""
        with self._whole() as db:
            db.execute("delete from mark where job = ?", (job,))
            if bits:
                db.execute("insert into mark values (?, ?)", (job, bits))

    def marks(self, job: str | None = None) -> Iterator[tuple[str, bytes]]:
        """Every job with public files (or one), and what can stand in them."""
        words = "select job, bits from mark where job = ? or ? is null order by job"
        return self._each(words, (job, job))

    # ------------------------------------------------------------------------------- what belongs to no job

    def fact(self, name: str) -> Any:
        """What was put down under a name; None where nothing was."""
        found = self._db.execute("select value from fact where name = ?", (name,)).fetchone()
        return json.loads(found[0]) if found else None

    def put(self, name: str, value: Any) -> None:
        """Put something down under a name."""
        with self._whole() as db:
            text = json.dumps(value, ensure_ascii=False)
            db.execute("insert or replace into fact values (?, ?)", (name, text))
