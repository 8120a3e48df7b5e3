"""Runs of ``publish``: at once, cut off, with nothing to do, elsewhere; ``watch`` as a browser sees it."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager
from datetime import date
from importlib.util import find_spec
from pathlib import Path

import pikepdf
import pytest

from rebuildreport.documents.press.pdf import Paper
from rebuildreport.site.disk import folders, marks, sources
from rebuildreport.site.disk.manifest import Manifest
from rebuildreport.site.disk.unchanged import as_told, asked
from rebuildreport.site.making import work
from rebuildreport.site.making.hands import Hands
from rebuildreport.site.publishing import Told, publish

from .conftest import BEGUN, DEMO, FOUR, TILLER, TRACTOR, edit, files, quick


def _publish(shop: Path, out: Path) -> list[str]:
    words = ["publish", "--no-pdf", "--shop", str(shop), "--out", str(out)]
    return [sys.executable, "-m", "rebuildreport", *words]


@pytest.fixture
def many(begun: Path) -> Path:
    """Five jobs, more than one process does by itself, of which nothing is measured yet."""
    shutil.rmtree(begun / FOUR / "measurements")
    for number in range(4):
        shutil.copytree(begun / FOUR, begun / f"copy-{number}")
    return begun


def test_any_executor_makes_the_same_bytes(many: Path, tmp_path: Path) -> None:
    begun: list[Executor] = []

    def begin() -> Executor:
        begun.append(ThreadPoolExecutor(1))
        return begun[-1]

    hands = Hands(begin)
    apart = publish(many, tmp_path / "apart", pdf=False, hands=hands)
    hands.rest()
    here = publish(many, tmp_path / "here", pdf=False)
    assert begun and sorted(apart.written) == sorted(here.written)
    assert files(tmp_path / "apart") == files(tmp_path / "here")


CLUSTER = """
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as local:
        print(local.scheduler_address, flush=True)
        input()
"""


def test_a_cluster_of_several_processes_makes_the_same_bytes(many: Path, tmp_path: Path) -> None:
    if find_spec("distributed") is None:
        pytest.skip("needs the extra 'cluster'")
    script = tmp_path / "cluster.py"
    script.write_text(CLUSTER)
    command = [sys.executable, str(script)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as local:
        assert local.stdout is not None
        address = local.stdout.readline().strip()
        words = [*_publish(many, tmp_path / "cluster"), "--cluster", address, "--on", "2026-06-10"]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        local.communicate("\n", timeout=60)
    assert (done.returncode, done.stdout.count("report written")) == (0, 5), done.stderr
    quick(many, tmp_path / "here", on=date(2026, 6, 10))
    assert files(tmp_path / "cluster") == files(tmp_path / "here")


def test_a_second_run_waits_and_says_so_and_no_lock_outlives_its_process(begun: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    holding = (
        "import sys, pathlib, time; from rebuildreport.site.disk.manifest import Manifest;"
        "m = Manifest(pathlib.Path(sys.argv[1])); print('held', flush=True); time.sleep(60)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", holding, str(out)], stdout=subprocess.PIPE, text=True
    ) as first:
        assert first.stdout is not None and first.stdout.readline() == "held\n"
        with subprocess.Popen(_publish(begun, out), stdout=subprocess.PIPE, text=True) as second:
            assert second.stdout is not None
            assert "another run is writing" in second.stdout.readline()
            first.kill()
            said = second.communicate(timeout=60)[0]
    assert second.returncode == 0 and f"{FOUR}: " in said


def test_nothing_to_do_is_known_before_anything_is_imported(begun: Path, tmp_path: Path) -> None:
    """And told as the last run told it; whatever changes, somebody looks."""
    out = tmp_path / "out"
    edit(begun / FOUR / "job.yaml", "owner:", "ownr:")
    old = time.time() - 3600
    for path in (*begun.rglob("*"), begun):
        os.utime(path, (old, old))
    time.sleep(2.1 * marks.TICK / 2e9)  # what is younger might change again without a trace
    first = subprocess.run(_publish(begun, out), capture_output=True, text=True, check=False)
    assert first.returncode == 1 and "ownr" in first.stderr
    words = _publish(begun, out)[3:]
    known = as_told(words)
    assert known is not None and (known[0] + "\n", known[1]) == (first.stderr, 1)
    code = "import sys; from rebuildreport.commands.main import main; import atexit;"
    code += "atexit.register(lambda: print(len([m for m in sys.modules if m.startswith('rebuildreport')])));"
    again = subprocess.run(
        [sys.executable, "-c", code + f"main({words})"], capture_output=True, text=True, check=False
    )
    assert (again.returncode, again.stderr) == (1, first.stderr)
    assert int(again.stdout) <= 10
    assert as_told([*words, FOUR]) is None and as_told(["publish", *words[2:]]) is None
    (begun / "new").mkdir()
    assert as_told(words) is None
    (begun / "new").rmdir()
    os.utime(begun, (old, old))
    (out / "shop" / "index.html").unlink()
    assert as_told(words) is None


def test_a_link_to_a_folder_that_it_lies_in_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "round").symlink_to(tmp_path)
    (tmp_path / "a" / "file").write_text("x")
    assert marks.look(str(tmp_path)) == marks.YOUNG and set(sources.states(tmp_path, {})) >= {"a", "a/file"}


# ------------------------------------------------------------------------------- PDFs


@pytest.fixture
def quick_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    """PDFs that say what they are made from, in no time."""

    def small(paper: Paper) -> bytes:
        made, pdf = io.BytesIO(), pikepdf.new()
        pdf.add_blank_page()
        pdf.docinfo["/Title"] = paper.digest()
        pdf.save(made, deterministic_id=True)
        return made.getvalue()

    monkeypatch.setattr(Paper, "pdf", small)
    monkeypatch.setattr("rebuildreport.site.publishing.specimen.specimen_pdf", lambda shop: b"specimen")
    monkeypatch.setattr("rebuildreport.documents.press.pdf.available", lambda: True)


@pytest.fixture
def light(small: Path) -> Path:
    """Two jobs, of which the tractor is finished and the other has only just arrived."""
    shutil.copy(DEMO / "engines/drennick-q16-13.yaml", small / "engines")
    shutil.rmtree(small / TILLER)
    (small / TILLER).mkdir()
    (small / TILLER / "job.yaml").write_text(BEGUN, "utf-8")
    return small


@pytest.mark.usefixtures("quick_paper")
def test_a_document_is_made_again_only_when_what_it_is_made_from_changed(light: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = publish(light, out)
    assert first.exit_status == 0
    assert {name for name in files(out) if name.endswith(".pdf")} == {
        *first.printed,
        "shop/specimen/specimen.pdf",
    }
    assert publish(light, out).printed == ()
    for old, new in (("labour: 64.00", "labour: 65.00"), ("labour: 58.00", "labour: 59.00")):
        edit(light / "shop.yaml", old, new)
    dearer = {Path(name).stem for name in publish(light, out).printed}
    assert "statement" in dearer and not dearer & {"machining-order", "teardown-sheet", "build-sheet"}
    edit(light / TRACTOR / "job.yaml", "the belt pulley", "one belt pulley")
    assert {name.split("/")[1] for name in publish(light, out).printed} == {TRACTOR}
    publish(light, tmp_path / "fresh")
    assert files(out) == files(tmp_path / "fresh")


@pytest.mark.usefixtures("quick_paper")
def test_pages_come_first_then_the_pdfs_of_the_newest_edit_and_a_cut_off_run_goes_on(
    light: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    for name, age in ((TRACTOR, 100), (TILLER, 5000)):
        for path in (light / name).rglob("*"):
            os.utime(path, (time.time() - age, time.time() - age))

    class Cut(Told):
        pages: tuple[str, ...] = ()

        def paged(self, problems: object) -> None:
            self.pages = tuple(files(out))

        def hurried(self) -> bool:
            return True

    told = Cut()
    (only,) = publish(light, out, told=told, hands=Hands(many=1)).printed
    assert {f"shop/{name}/index.html" for name in (TILLER, TRACTOR)} <= set(told.pages)
    assert not [name for name in told.pages if name.endswith(".pdf")]
    assert only.split("/")[1] == TRACTOR  # the later edit
    edit(light / TRACTOR / "job.yaml", "the belt pulley", "one belt pulley")
    publish(light, out, told=told)
    edit(light / TRACTOR / "job.yaml", "one belt pulley", "the belt pulley")
    rest = publish(light, out)
    assert rest.written == (TRACTOR,) and len(rest.printed) > 5
    publish(light, tmp_path / "fresh")
    assert files(out) == files(tmp_path / "fresh")


@pytest.mark.usefixtures("quick_paper")
def test_the_reports_pdf_is_begun_while_its_other_pages_are_made(
    light: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where somebody else can print it; once, and it is the one that a build from nothing makes."""
    out, hands = tmp_path / "out", Hands(lambda: ThreadPoolExecutor(1))
    publish(light, out)
    edit(light / TRACTOR / "job.yaml", "the belt pulley", "one belt pulley")
    came: list[str] = []
    printing = work.print_paper

    def noted(order: work.Order, sheet: work.Sheet) -> work.Printed:
        came.append(f"{sheet.edition}/{sheet.file}")
        return printing(order, sheet)

    class Noted(Told):
        def paged(self, problems: object) -> None:
            came.append("all pages")

    monkeypatch.setattr(work, "print_paper", noted)
    printed = publish(light, out, told=Noted(), hands=hands).printed
    hands.rest()
    assert came[0] == "shop/report.pdf" and "all pages" in came
    assert len(came) - 1 == len({*came}) - 1 == len(printed)
    publish(light, tmp_path / "fresh")
    assert files(out) == files(tmp_path / "fresh")


@pytest.mark.usefixtures("quick_paper")
def test_a_fault_of_the_renderer_stops_one_pdf_and_is_told_until_it_is_gone(
    begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    with monkeypatch.context() as broken:
        real = work.print_paper

        def failing(order: work.Order, sheet: work.Sheet) -> work.Printed:
            bad = sheet.file == "report.pdf"
            return work.Printed(FOUR, "shop", sheet.file, "", "boom") if bad else real(order, sheet)

        broken.setattr(work, "print_paper", failing)
        for _ in range(2):
            result = publish(begun, out)
            assert result.exit_status == 1 and "report.pdf could not be made" in result.problems[-1].message
    assert publish(begun, out).printed == (f"shop/{FOUR}/report.pdf",)
    assert not (out / folders.BUILDING).exists()


# ------------------------------------------------------------------------------- watch


@contextmanager
def _watching(shop: Path, out: Path) -> Iterator[str]:
    words = [sys.executable, "-m", "rebuildreport", "watch", "--no-pdf", "--port", "0"]
    command = [*words, "--shop", str(shop), "--out", str(out)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        assert process.stdout is not None
        try:
            found = re.match(r"(http://127.0.0.1:\d+)/", process.stdout.readline())
            assert found
            yield found[1]
        finally:
            process.send_signal(signal.SIGINT)
            try:
                process.communicate(timeout=30)
            except subprocess.TimeoutExpired:  # as where the tests were begun with "&": a shell lets that be
                process.kill()
                raise


def test_watch_shows_an_edit_a_fault_and_its_mending(begun: Path, tmp_path: Path) -> None:
    """As a browser asks: the page, and the wait for the next state."""
    job = begun / FOUR / "job.yaml"
    with _watching(begun, tmp_path / "out") as address:

        def get(path: str, **headers: str) -> str:
            asked = urllib.request.Request(address + path, headers=headers)
            with urllib.request.urlopen(asked, timeout=60) as answer:
                return str(answer.read().decode())

        def number(page: str) -> str:
            found = re.search(r"\.changes\?(\d+)", page)
            assert found
            return found[1]

        def after(old: str, new: str, page: str, *shown: str) -> str:
            edit(job, old, new)
            while not all(words in page for words in shown):  # the report comes before the rest
                assert "data: changed" in get(f"/.changes?{number(page)}")
                page = get(f"/shop/{FOUR}/index.html")
            return page

        get("/.changes?0")
        page = get("/")
        assert FOUR in page
        page = after("rattle for 5 s", "rattle for 6 s", page, "rattle for 6 s", 'role="status" hidden')
        told = ("2026-04-73", 'role="status">', "job.yaml:3")
        page = after("opened: 2026-04-13", "opened: 2026-04-73", page, *told)
        after("opened: 2026-04-73", "opened: 2026-04-13", page, 'role="status" hidden')
        assert FOUR in get(f"/shop/{FOUR}/results.json")
        for path, host in (("/.rebuildreport.db", "127.0.0.1:1"), ("/shop/index.html", "example.com:1")):
            with pytest.raises(urllib.error.HTTPError):
                get(path, Host=host)


def test_a_manifest_remembers_what_it_was_told(tmp_path: Path) -> None:
    manifest = Manifest(tmp_path)
    manifest.put("x", {"a": [1]})
    manifest.mark("a", b"1")
    reading = manifest.marks()  # as a run that was cut off half-way through leaves it
    assert next(reading) == ("a", b"1")
    manifest.close()
    again = Manifest(tmp_path, lambda: pytest.fail("it is still held"))
    assert json.dumps(again.fact("x")) == '{"a": [1]}' and again.fact("y") is None
    again.close()
    assert asked(["publish"])[1:] == ["publish"]
