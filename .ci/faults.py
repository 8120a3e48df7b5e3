"""Runs that are cut off, and machines that fail: does the next run heal, and do the old pages stay whole?

    .venv/bin/python .ci/faults.py [--kills 1000] [--each 200] [--seconds 600] [--seed 1]

A small shop is published without PDFs, a file of it is changed, and the next run goes wrong: it is ended by
SIGKILL at a random moment or at a random change of the disk; the disk is full from a random change of it
on, or for files of more than a random size; a file of the shop is gone when it is to be read; a user may not
write into a folder, or not read a file.  Afterwards every page must be whole (as it was, or as it is to be),
no fault of the program may have been told, and the next run must give the bytes of a site built from nothing.
Printed: how often each was tried, and whatever did not hold.
"""

from __future__ import annotations

import argparse
import codecs
import errno
import io
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any

from rebuildreport.commands.main import run
from rebuildreport.site.disk.manifest import NAME as MANIFEST

DEMO = Path(__file__).resolve().parents[1] / "jobs"
JOB = "2026-004-twin-cam"
NOBODY = 65534  # a user without rights
CHANGING = frozenset({"os.rename", "os.remove", "os.mkdir", "os.rmdir", "shutil.rmtree", "os.link"})
Hook = Callable[[str, tuple[Any, ...]], None]


def changes_disk(event: str, told: tuple[Any, ...]) -> bool:
    """Whether an audit event of the interpreter is a change of the disk."""
    if event == "open":
        return isinstance(told[0], (str, bytes)) and bool((told[2] or 0) & (os.O_WRONLY | os.O_RDWR))
    return event in CHANGING


class Ground:
    """A small shop in two states, and the site that each gives."""

    def __init__(self, folder: Path) -> None:
        folder.chmod(0o755)
        self.shop, self.out, self.said = folder / "shop", folder / "out", folder / "said"
        (self.shop / JOB / "photos").mkdir(parents=True)
        shutil.copy(DEMO / "shop.yaml", self.shop)
        for file in ("job.yaml", "findings.yaml", "teardown.yaml"):
            shutil.copy(DEMO / JOB / file, self.shop / JOB)
        job = self.shop / JOB / "job.yaml"
        lines = [line for line in job.read_text("utf-8").split("\n") if not line.strip().startswith("issue:")]
        job.write_text("\n".join(lines), "utf-8")
        from PIL import Image

        for name, colour in (("p011", "red"), ("p014", "blue")):
            Image.new("RGB", (40, 30), colour).save(self.shop / JOB / "photos" / f"{name}.jpg")
        self.first = {file: file.read_bytes() for file in self.shop.rglob("*") if file.is_file()}
        self.second = dict(self.first)
        self.second[job] = self.first[job].replace(b"title: ", b"title: Again, ", 1)
        Image.new("RGB", (40, 30), "green").save(self.shop / JOB / "photos" / "p011.jpg")
        picture = self.shop / JOB / "photos" / "p011.jpg"
        self.second[picture] = picture.read_bytes()
        self.kept = folder / "kept"
        self.put(self.first)
        self.warm(folder / "warm")
        self.status = self.run()
        self.old = self.pages()
        shutil.copytree(self.out, self.kept)
        shutil.rmtree(self.out)
        self.put(self.second)
        assert self.run() == self.status
        self.new = self.pages()
        assert self.old.keys() != self.new.keys() or self.old != self.new

    def warm(self, out: Path) -> None:
        """Loads here what every run needs: the processes that are made of this one have it then."""
        with redirect_stderr(io.StringIO()), redirect_stdout(io.StringIO()):
            run(self.words(out))
        codecs.lookup("unicode-escape")  # of whoever has to compile templates that are compiled for us
        shutil.rmtree(out)

    def words(self, out: Path) -> list[str]:
        """A run of a day that is named: else the shop's day would tell the minute."""
        where = ["--shop", str(self.shop), "--out", str(out)]
        return ["publish", "--no-pdf", "--on", "2026-06-10", *where]

    def put(self, files: dict[Path, bytes]) -> None:
        """The shop in one of its states; what did not change is left alone."""
        for file, data in files.items():
            if not file.exists() or file.read_bytes() != data:
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(data)

    def pages(self) -> dict[str, bytes]:
        """All that stands in the site, but for what is written aside and the memory."""
        return {
            str(file.relative_to(self.out)): file.read_bytes()
            for file in self.out.rglob("*")
            if file.is_file() and not str(file.relative_to(self.out)).startswith(MANIFEST)
        }

    def begin(self) -> None:
        """The site of the first state, the shop in the second."""
        shutil.rmtree(self.out, ignore_errors=True)
        shutil.copytree(self.kept, self.out)
        self.put(self.second)

    def start(self, before: Callable[[], None] | None = None, hook: Hook | None = None) -> int:
        """A run in a process of its own; its number."""
        child = os.fork()
        if child:
            return child
        status = 99
        try:
            said = os.open(self.said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
            os.dup2(said, 1)
            os.dup2(said, 2)
            sys.argv = ["rebuildreport", *self.words(self.out)]
            if before:
                before()
            if hook:
                sys.addaudithook(hook)
            status = run(sys.argv[1:])
            sys.stdout.flush()
        finally:
            os._exit(status)

    def run(self, before: Callable[[], None] | None = None, hook: Hook | None = None) -> int:
        """The same to its end; its exit status, below zero the signal that ended it."""
        return os.waitstatus_to_exitcode(os.waitpid(self.start(before, hook), 0)[1])

    def wrong(self, status: int, killed: bool = False) -> str:
        """What does not hold after a run that went wrong, and after the next; '' where all does."""
        said = self.said.read_text("utf-8", "replace")
        if not killed and (status in (70, 99) or status < 0 or "Traceback" in said):
            return f"status {status}: {said[-600:]}"
        for name, data in self.pages().items():
            if name.startswith(".building/") or Path(name).name.startswith("."):
                continue  # written aside: nobody is shown it
            if data not in (self.old.get(name), self.new.get(name)):
                return f"{name} is not whole ({len(data)} bytes)"
        for name in self.old.keys() & self.new.keys():
            if not (self.out / name).is_file():
                return f"{name} is gone"
        self.put(self.second)
        status = self.run()
        if status != self.status:
            return f"the next run ends with {status}: {self.said.read_text('utf-8', 'replace')[-600:]}"
        found = self.pages()
        if found != self.new:
            other = sorted(
                name for name in found.keys() | self.new.keys() if found.get(name) != self.new.get(name)
            )
            return f"after the next run differ: {', '.join(other)}"
        return ""


def at(
    count: int, what: Callable[[str, tuple[Any, ...]], bool], do: Callable[[tuple[Any, ...]], None]
) -> Hook:
    """Does something at the so manieth event of a kind; below zero at every one from there on."""
    seen = 0
    busy = False

    def hook(event: str, told: tuple[Any, ...]) -> None:
        nonlocal seen, busy
        if busy or not what(event, told):
            return
        seen += 1
        if seen == count or (count < 0 and seen >= -count):
            busy = True
            try:
                do(told)
            finally:
                busy = False

    return hook


def full(_: object) -> None:
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class Trials:
    """Each way to go wrong, by its name."""

    def __init__(self, ground: Ground, chance: random.Random) -> None:
        self.ground, self.chance = ground, chance
        ground.begin()
        begun, counted = time.monotonic(), ground.said.with_name("counted")
        number = 0

        def count(event: str, told: tuple[Any, ...]) -> None:
            nonlocal number
            if changes_disk(event, told):
                number += 1
                os.write(out, b".")

        out = os.open(counted, os.O_WRONLY | os.O_CREAT)
        ground.run(hook=count)
        os.close(out)
        self.lasts, self.changes = time.monotonic() - begun, counted.stat().st_size

    def killed_at_a_moment(self) -> str:
        child = self.ground.start()
        time.sleep(self.chance.uniform(0, self.lasts))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        return self.ground.wrong(0, killed=True)

    def killed_at_a_change(self) -> str:
        count = self.chance.randint(1, self.changes)
        status = self.ground.run(
            hook=at(count, changes_disk, lambda told: os.kill(os.getpid(), signal.SIGKILL))
        )
        return self.ground.wrong(status, killed=status == -signal.SIGKILL)

    def disk_full_from_a_change_on(self) -> str:
        count = -self.chance.randint(1, self.changes)
        return self.ground.wrong(self.ground.run(hook=at(count, _written, full)))

    def disk_full_at_a_size(self) -> str:
        most = self.chance.choice((0, 100, 1_000, 4_096, 10_000, 20_000, 50_000))

        def limit() -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
            quiet = os.open(os.devnull, os.O_WRONLY)  # what is said would not fit either
            os.dup2(quiet, 1)
            os.dup2(quiet, 2)

        return self.ground.wrong(self.ground.run(before=limit))

    def file_gone_when_read(self) -> str:
        shop = str(self.ground.shop)

        def ours(event: str, told: tuple[Any, ...]) -> bool:
            return event == "open" and str(told[0]).startswith(shop)

        def gone(told: tuple[Any, ...]) -> None:
            print("gone:", told[0])
            Path(told[0]).unlink(missing_ok=True)

        status = self.ground.run(hook=at(self.chance.randint(1, 40), ours, gone))
        return (
            self.ground.wrong(status, killed=False)
            if status in (70, 99)
            else self._healed(self.ground.said.read_text("utf-8"))
        )

    def may_not(self) -> str:
        """Without a right: to write into the site or a folder of it, or to read a file of the shop."""
        ground = self.ground
        places = [ground.out, *(one for one in ground.out.rglob("*") if one.is_dir())]
        places += list(ground.shop.rglob("*"))
        place = self.chance.choice(places)
        for one in (ground.out, *ground.out.rglob("*"), ground.said):
            os.chown(one, NOBODY, NOBODY)
        mode = place.stat().st_mode
        inside = place.is_relative_to(ground.out)
        place.chmod(0o555 if inside else 0)
        try:
            status = ground.run(before=lambda: os.setuid(NOBODY))
        finally:
            place.chmod(mode)
        told = ground.said.read_text("utf-8", "replace")
        if status in (70, 99) or "Traceback" in told:
            return f"{place}: status {status}: {told[-600:]}"
        return self._healed(str(place))

    def _healed(self, of: str) -> str:
        """Files were gone or closed: what then stood is another shop's site, the next run is this one's."""
        self.ground.put(self.ground.second)
        status = self.ground.run()
        found = self.ground.pages()
        if status == self.ground.status and found == self.ground.new:
            return ""
        other = [
            one for one in found.keys() | self.ground.new.keys() if found.get(one) != self.ground.new.get(one)
        ]
        told = self.ground.said.read_text("utf-8", "replace")
        return f"{of}: the next run ends with {status}; differ: {', '.join(sorted(other))}; {told}"


def _written(event: str, told: tuple[Any, ...]) -> bool:
    """Changes that need room on the disk."""
    return (
        changes_disk(event, told) and event in ("open", "os.mkdir", "os.link") and "/dev/" not in str(told[0])
    )


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--kills", type=int, default=1_000)
    ask.add_argument("--each", type=int, default=200, help="of every other way")
    ask.add_argument("--seconds", type=float, default=600)
    ask.add_argument("--seed", type=int, default=1)
    asked = ask.parse_args()
    end = time.monotonic() + asked.seconds
    tried: Counter[str] = Counter()
    wrong: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        trials = Trials(Ground(Path(folder)), random.Random(asked.seed))
        wanted = {
            trials.killed_at_a_moment: asked.kills // 2,
            trials.killed_at_a_change: asked.kills - asked.kills // 2,
            trials.disk_full_from_a_change_on: asked.each,
            trials.disk_full_at_a_size: asked.each,
            trials.file_gone_when_read: asked.each,
        }
        if os.getuid() == 0:
            wanted[trials.may_not] = asked.each
        print(f"a run lasts {trials.lasts:.2f} s and changes the disk {trials.changes} times", flush=True)
        order = [way for way, many in wanted.items() for _ in range(many)]
        trials.chance.shuffle(order)
        for way in order:
            if time.monotonic() > end:
                break
            trials.ground.begin()
            tried[way.__name__] += 1
            if said := way():
                wrong[f"{way.__name__}: {said}"] += 1
    for name, number in tried.items():
        print(f"{number:5} {name.replace('_', ' ')}")
    for said, number in wrong.most_common():
        print(f"\n{number} x {said}")
    print(f"{sum(tried.values())} tried, {sum(wrong.values())} did not hold")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
