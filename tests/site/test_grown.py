"""A site that grew with its shop is the one that is built from nothing, whatever was done in between.

``DEEPER=100 .venv/bin/pytest -n0 tests/site/test_grown.py`` tries as many sequences of edits.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st
from PIL import Image

from rebuildreport.records import job_names
from rebuildreport.site.disk import marks, sources
from rebuildreport.site.disk.unchanged import NAME, as_told, asked
from rebuildreport.site.publishing import PublishResult, Told, publish

from .. import DEEPER
from .conftest import BEGUN, DEMO, files

ENGINE, JOBS = "drennick-q16-13", ("2026-011-one", "2026-012-two")
ROUND = """\
date: 2026-04-16
by: {name}
temperature: 20 °C
tables:
  compression:
    unit: bar
    instrument: compression_gauge
    columns: pressure
    rows:
      C1:    13.1
      C2:    6.4
"""
FINDINGS = """\
photos:
  top:
    caption: the head from above
"""
CHANGES = {
    "reading": ("measurements/arrival.yaml", "6.4", "6.6"),
    "reading back": ("measurements/arrival.yaml", "6.6", "6.4"),
    "title": ("job.yaml", "rattle for 5 s", "rattle for 6 s"),
    "title back": ("job.yaml", "rattle for 6 s", "rattle for 5 s"),
    "spoil": ("job.yaml", "opened: 2026-04-13", "opened: 2026-04-73"),
    "mend": ("job.yaml", "opened: 2026-04-73", "opened: 2026-04-13"),
    "public": ("job.yaml", "publish: no", "publish: yes\nconsent: 2026-04-13"),
    "private": ("job.yaml", "publish: yes\nconsent: 2026-04-13", "publish: no"),
    "rate": ("../shop.yaml", "labour: 64.00", "labour: 65.00"),
    "rate back": ("../shop.yaml", "labour: 65.00", "labour: 64.00"),
    "limit": (f"../engines/{ENGINE}.yaml", "Drennick", "Drennik"),
    "limit back": (f"../engines/{ENGINE}.yaml", "Drennik", "Drennick"),
}
FOLDERS = (
    "rename",
    "rename back",
    "copy",
    "number",
    "delete",
    "restore",
    "photo",
    "no photo",
    "own template",
)
MACHINE = ("commit", "other branch", "main branch", "clock on", "clock back", "dated back", "cut off")
EDITS = (*CHANGES, *FOLDERS, *MACHINE)
AFTER = {"rename": "-b", "copy": "-c", "number": "-d"}


class Shop:
    """A light shop, what can happen to it, and its site."""

    def __init__(self, folder: Path) -> None:
        self.path, self.out, self.kept = folder / "shop", folder / "out", folder / "kept"
        self.written: tuple[str, ...] = ()
        self.cut: KeyboardInterrupt | None = None
        self.clock = 0.0  # how far it is wrong [s]
        self.stops: int | None = None  # at which change of the disk the next run is cut off
        (self.path / "engines").mkdir(parents=True)
        for file in ("shop.yaml", f"engines/{ENGINE}.yaml"):
            shutil.copy(DEMO / file, self.path / file)
        for name in JOBS:
            job = self.kept / name
            (job / "measurements").mkdir(parents=True)
            (job / "job.yaml").write_text(BEGUN, "utf-8")
            (job / "measurements" / "arrival.yaml").write_text(ROUND.format(name=name), "utf-8")
            (job / "findings.yaml").write_text(FINDINGS, "utf-8")
            shutil.copytree(job, self.path / name)
        self.git("init", "-q", "-b", "main")
        self.git("add", ".")
        self.git("commit", "-qm", "first")
        self.git("branch", "other")

    def git(self, *words: str) -> None:
        who = ["-c", "user.name=x", "-c", "user.email=x@example.invalid", "-c", "commit.gpgsign=false"]
        subprocess.run(["git", "-C", self.path, *who, *words], check=False, capture_output=True)

    def edit(self, name: str, what: str) -> None:
        """One of the edits, where it can be made."""
        job = self.path / name
        if what in CHANGES:
            place, old, new = CHANGES[what]
            if job.exists() and (job / place).exists():
                text = (job / place).read_text("utf-8")
                if old in text:
                    (job / place).write_text(text.replace(old, new), "utf-8")
        elif what in AFTER and job.exists() and not (other := self.path / f"{name}{AFTER[what]}").exists():
            if what == "rename":
                job.rename(other)
            else:  # with its readings, which is an error in both, or without
                kept = shutil.ignore_patterns("measurements") if what == "number" else None
                shutil.copytree(job, other, ignore=kept)
        else:
            getattr(self, what.replace(" ", "_"), lambda job: None)(job)

    def rename_back(self, job: Path) -> None:
        after = job.with_name(f"{job.name}-b")
        if after.exists() and not job.exists():
            after.rename(job)

    def delete(self, job: Path) -> None:
        shutil.rmtree(job, ignore_errors=True)

    def restore(self, job: Path) -> None:
        if not job.exists():
            shutil.copytree(self.kept / job.name, job)

    def photo(self, job: Path) -> None:
        if job.exists():
            (job / "photos").mkdir(exist_ok=True)
            colour = random.Random(str(files(job))).choice(["red", "green", "blue"])
            Image.new("RGB", (40, 30), colour).save(job / "photos" / "top.jpg")

    def no_photo(self, job: Path) -> None:
        shutil.rmtree(job / "photos", ignore_errors=True)

    def own_template(self, job: Path) -> None:
        (self.path / "templates").mkdir(exist_ok=True)
        own = self.path / "templates" / "sheet.css"
        own.unlink() if own.exists() else own.write_text("/* ours */")

    def commit(self, job: Path) -> None:
        self.git("add", "-A")
        self.git("commit", "-qm", "as it is")

    def other_branch(self, job: Path) -> None:
        self.git("checkout", "-qf", "other")

    def main_branch(self, job: Path) -> None:
        self.git("checkout", "-qf", "main")

    def clock_on(self, job: Path) -> None:
        self.clock += 3600

    def clock_back(self, job: Path) -> None:
        self.clock -= 3600

    def dated_back(self, job: Path) -> None:
        for file in job.rglob("*.yaml"):
            os.utime(file, (1e9, 1e9))

    def cut_off(self, job: Path) -> None:
        self.stops = random.Random(str(sorted(files(self.path)))).randrange(25)

    def run(self, out: Path) -> str:
        """A run as the command makes it; what it told, or what the last one did where nothing was to do."""
        words = ["publish", "--no-pdf", "--shop", str(self.path), "--out", str(out)]

        class Quiet(Told):
            asked = asked(words)

            def worded(self, result: PublishResult) -> str:
                return repr((result.exit_status, result.messages, result.problems))

        with self._another_time(), self._cut_off():
            if (told := as_told(words)) is not None:
                return told[0]
            try:
                result = publish(self.path, out, pdf=False, told=Quiet())
            except KeyboardInterrupt as cut:
                self.cut = cut  # with all that it holds: the next run need not wait for it
                return ""
            self.written = result.written
            return Quiet().worded(result)

    @contextmanager
    def _another_time(self) -> Iterator[None]:
        late = SimpleNamespace(time_ns=lambda: time.time_ns() + int(self.clock * 1e9))
        with pytest.MonkeyPatch.context() as patch:
            for module in (marks, sources):
                patch.setattr(module, "time", late)
            yield

    @contextmanager
    def _cut_off(self) -> Iterator[None]:
        """From a change of the disk on nothing follows: nothing is written, nothing remembered."""
        left, self.stops = self.stops, None

        def counted(do: Callable[..., object]) -> Callable[..., object]:
            def once(*words: object, **more: object) -> object:
                nonlocal left
                if left is not None:
                    left -= 1
                    if left < 0:
                        raise KeyboardInterrupt
                return do(*words, **more)

            return once

        with pytest.MonkeyPatch.context() as patch:
            for name in ("replace", "unlink", "write_bytes", "rmdir"):
                patch.setattr(Path, name, counted(getattr(Path, name)))
            yield


def test_a_run_that_was_cut_off_keeps_nobody_waiting(tmp_path: Path) -> None:
    """Wherever in its first changes of the disk, though its exception holds all that it held."""
    shop = Shop(tmp_path)
    for stops in range(5):
        shop.cut, shop.stops = None, stops
        shop.run(shop.out)
        assert shop.cut is not None
        other = sqlite3.connect(shop.out / NAME, timeout=0, isolation_level=None)
        other.execute("begin exclusive")  # as the next run asks for it
        other.close()


@settings(
    max_examples=3 * DEEPER,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.explicit, Phase.generate],  # an example is a few builds: smaller ones are not sought
)
@example([[(0, "public")], [(0, "spoil")], [(0, "mend")]])
@example([[(0, "clock on"), (0, "copy")], [(0, "rename")]])  # a job tells of another
@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, 1), st.sampled_from(EDITS)), min_size=1, max_size=3),
        min_size=1,
        max_size=5,
    )
)
def test_a_site_that_grew_is_the_one_that_is_built_from_nothing(
    tmp_path_factory: pytest.TempPathFactory, runs: list[list[tuple[int, str]]]
) -> None:
    """After any edits, in any runs; but for jobs with errors, whose last good pages stay."""
    folder = tmp_path_factory.mktemp("grown")
    shop = Shop(folder)
    shop.run(shop.out)
    for edits in runs:
        for number, what in edits:
            shop.edit(JOBS[number], what)
        shop.run(shop.out)
    for name in job_names(shop.path):
        shop.edit(name, "mend")
    for name in JOBS:  # whose readings are another's has errors, too
        for after in AFTER.values():
            if (shop.path / name).exists():
                shutil.rmtree(shop.path / f"{name}{after}", ignore_errors=True)
    shop.run(shop.out)
    shop.written = ()
    told, written = shop.run(shop.out), shop.written
    fresh = shop.run(folder / "fresh")
    assert files(shop.out) == files(folder / "fresh")
    assert (written, told) == ((), fresh)
    shutil.rmtree(folder)
