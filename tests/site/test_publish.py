"""Publishing: whole or not at all, private by default, unchanged left alone."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import subprocess
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from msgspec.structs import replace

from rebuildreport.assess import assess_job
from rebuildreport.assess.measure.due import due
from rebuildreport.assess.publishing.results import results_schema
from rebuildreport.documents.press import pdf
from rebuildreport.documents.sheets import register
from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.site.disk.manifest import NAME as MANIFEST
from rebuildreport.site.publishing import publish

from .conftest import DEMO, FOUR, SIX, TILLER, TRACTOR, edit, files, quick


def test_two_editions(published: Path) -> None:
    made = files(published)
    for job in (SIX, FOUR):
        assert f"shop/{job}/index.html" in made
        results = json.loads(made[f"shop/{job}/results.json"])
        jsonschema.Draft202012Validator(results_schema()).validate(results)
        read = results["assessment"]["characteristics"]
        assert read and all(
            set(one) >= {"name", "position", "round", "value", "unit", "standard_uncertainty", "guard"}
            for one in read
        )
    assert f"public/{SIX}/index.html" in made
    assert not any(name.startswith(f"public/{FOUR}") for name in made)
    assert not any(name.startswith("public") and name.endswith("results.json") for name in made)
    index = made["shop/jobs.html"].decode()
    assert index.index(FOUR) < index.index(SIX)  # newest first


def test_nothing_private_on_the_public_edition(published: Path) -> None:
    public = b"\n".join(
        data for name, data in files(published / "public").items() if name.endswith(".html")
    ).decode()
    owner = [
        line.split(":", 1)[1].strip()
        for line in (DEMO / SIX / "job.yaml").read_text(encoding="utf-8").splitlines()
        if line.startswith("  ")
        and line.strip().split(":")[0] in ("name", "contact", "address", "serial", "registration")
    ]
    assert owner
    for text in [*owner, "7513.08", "6500.00", "EUR", "bench 1", "foreman"]:
        assert text not in public
    shop_page = (published / "shop" / SIX / "index.html").read_text(encoding="utf-8")
    assert "7513.08" in shop_page and "foreman" in shop_page
    assert (
        "Bolts, marks and hold points seen by a second pair of eyes, and signed: 14" in public
    )  # that two looked stays


def test_photos_lose_their_metadata_and_originals_stay(small: Path, out: Path) -> None:
    from PIL import Image

    original = next((small / TRACTOR / "photos").glob("*.jpg"))
    with Image.open(original) as picture:
        assert picture.getexif(), "the demo pictures carry EXIF, else this test proves nothing"
    prepared = list(out.rglob("photos/*.jpg"))
    assert prepared
    for path in prepared:
        with Image.open(path) as picture:
            assert not picture.getexif() and "exif" not in picture.info and "comment" not in picture.info
    assert original.read_bytes() not in [path.read_bytes() for path in prepared]


def test_consent_withdrawn_takes_the_pages_down(small: Path, out: Path) -> None:
    edit(small / TRACTOR / "job.yaml", "publish: yes", "publish: no")
    assert quick(small, out).exit_status == 0
    assert not (out / "public" / TRACTOR).exists()
    assert TRACTOR not in (out / "public" / "index.html").read_text(encoding="utf-8")


def test_a_failing_job_shows_the_shop_what_does_not_rest_on_the_error(small: Path, out: Path) -> None:
    """Marked, and nothing else of it changes: what leaves the shop waits, what is public stays."""
    before, public = files(out / "shop" / TRACTOR), files(out / "public" / TRACTOR)
    edit(small / TRACTOR / "measurements" / "arrival.yaml", "C1: 5.6", "C1: 5,6")
    edit(small / TILLER / "job.yaml", "title: ", "title: Still a ")
    result = quick(small, out)
    assert result.exit_status == 1
    problem = next(p for p in result.problems if p.severity == "error")
    assert problem.file.endswith("arrival.yaml") and "5.6" in problem.suggestion
    after = files(out / "shop" / TRACTOR)
    page = (out / "shop" / TRACTOR / "index.html").read_text(encoding="utf-8")
    assert "Not whole, for the shop alone." in page
    assert f"{TRACTOR}/measurements/arrival.yaml {problem.line}." in page
    assert "Crankshaft sound" in page and "statement.html" not in page
    assert before.keys() == after.keys()
    for name in before.keys() - {"index.html"}:
        shown = "for the shop alone" in after[name].decode("utf-8", "replace")
        assert shown or after[name] == before[name]
    for name in ("statement.html", "machining-order.html", "results.json"):
        assert after[name] == before[name]
    assert files(out / "public" / TRACTOR) == public
    assert "Still a " in (out / "shop" / TILLER / "index.html").read_text(encoding="utf-8")
    mark = "without what rests on errors"
    assert mark in (out / "shop" / "jobs.html").read_text(encoding="utf-8")
    assert mark not in (out / "public" / "index.html").read_text(encoding="utf-8")
    assert any(TRACTOR in message for message in result.messages)
    edit(small / TRACTOR / "measurements" / "arrival.yaml", "C1: 5,6", "C1: 5.6")
    assert quick(small, out).exit_status == 0
    assert mark not in (out / "shop" / "jobs.html").read_text(encoding="utf-8")
    assert files(out / "shop" / TRACTOR) == before


def test_a_job_that_never_worked_is_listed_too(small: Path, tmp_path: Path) -> None:
    out = tmp_path / "fresh"
    (small / TILLER / "job.yaml").write_text("title: [", encoding="utf-8")
    result = quick(small, out)
    assert result.exit_status == 1
    assert not (out / "shop" / TILLER).exists()
    assert TILLER in (out / "shop" / "jobs.html").read_text(encoding="utf-8")


def test_same_input_same_bytes(shop: Path, published: Path, tmp_path: Path) -> None:
    """From another folder into another."""
    quick(shop, tmp_path / "two")
    assert files(published) == files(tmp_path / "two")


def test_unchanged_is_left_alone_and_changed_is_not(small: Path, out: Path) -> None:
    page = out / "shop" / TRACTOR / "index.html"
    stamp = page.stat().st_mtime_ns
    assert quick(small, out).written == ()
    assert page.stat().st_mtime_ns == stamp
    edit(small / "engines" / "haverdoon-hd4.yaml", "pressure: min 5.0", "pressure: min 4.9")
    assert quick(small, out).written == (TRACTOR,)
    shutil.rmtree(out / "shop" / TILLER)
    assert TILLER in quick(small, out).written


def test_what_is_unchanged_is_neither_read_nor_assessed_and_told_all_the_same(
    small: Path, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from rebuildreport.site.history import listpages
    from rebuildreport.site.making import work

    edit(small / TRACTOR / "measurements" / "arrival.yaml", "C1: 5.6", "C1: 5,6")
    before = quick(small, out)
    assert before.exit_status == 1 and before.problems
    made = files(out)

    def never(*args: object) -> None:
        raise AssertionError("nothing has changed")

    for module, name in (
        (work, "load_job"),
        (work, "assess_for_documents"),
        (listpages, "_index"),
        (listpages, "_engine"),
        (listpages, "_list"),
    ):
        monkeypatch.setattr(module, name, never)
    for path in small.rglob("*.yaml"):
        path.touch()  # what the disk says has changed, the content has not
    again = quick(small, out)
    assert (again.exit_status, again.problems, again.messages) == (1, before.problems, before.messages)
    assert again.written == () and files(out) == made


def test_a_commit_is_told_of_in_the_jobs_that_it_touches_alone(begun: Path, tmp_path: Path) -> None:
    """Each page names the last commit of its job: as a build from nothing has it, after any move of HEAD."""

    def git(*words: str) -> None:
        who = ["-c", "user.name=x", "-c", "user.email=x@example.invalid", "-c", "commit.gpgsign=false"]
        subprocess.run(["git", "-C", begun, *who, *words], check=True, capture_output=True)

    shutil.rmtree(begun / FOUR / "measurements")  # a page with no readings tells of its commit, too
    shutil.copytree(begun / FOUR, begun / "other")
    out = tmp_path / "grown"

    def made() -> set[str]:
        fresh = tmp_path / "fresh"
        shutil.rmtree(fresh, ignore_errors=True)
        written = set(quick(begun, out).written)
        quick(begun, fresh)
        assert files(out) == files(fresh)
        return written

    git("init", "-q", "-b", "main")
    git("add", ".")
    git("commit", "-qm", "first")
    assert made() == {FOUR, "other"}
    edit(begun / FOUR / "job.yaml", "rattle for 5 s", "rattle for 6 s")
    assert made() == {FOUR}
    git("commit", "-qam", "second")
    assert made() == {FOUR}
    assert made() == set()
    git("checkout", "-q", "-b", "older", "HEAD~1")
    assert made() == {FOUR}


@pytest.mark.parametrize("damage", ["lost", "no database", "of another version"])
def test_a_memory_that_is_lost_costs_nothing_but_time(begun: Path, tmp_path: Path, damage: str) -> None:
    """The same bytes; what no longer belongs to a job goes, and that pages stand is known."""
    out = tmp_path / "out"
    quick(begun, out)
    manifest, extra = out / MANIFEST, out / "shop" / FOUR / "estimate.html"
    made = files(out)
    extra.write_bytes(b"of a document that the job no longer has")
    if damage == "no database":
        manifest.write_bytes(b"something else" * 99)
    elif damage == "lost":
        manifest.unlink()
    else:
        with sqlite3.connect(manifest) as database:
            database.execute("pragma user_version = 99")
        database.close()
    edit(begun / FOUR / "job.yaml", "opened: 2026-04-13", "opened: 2026-04-73")
    (said,) = quick(begun, out).messages
    assert "its last good pages stay" in said
    edit(begun / FOUR / "job.yaml", "opened: 2026-04-73", "opened: 2026-04-13")
    assert quick(begun, out).written == (FOUR,)
    assert files(out) == made


def test_another_program_makes_every_page_again(
    small: Path, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clone that was brought up to date says the version that it said before."""
    from rebuildreport.site.disk import maker
    from rebuildreport.site.making import work

    again: list[str] = []
    real = work.make_pages

    def noted(order: work.Order, name: str, *more: Any) -> work.Pages:
        again.append(name)
        return real(order, name, *more)

    monkeypatch.setattr(work, "make_pages", noted)
    assert quick(small, out).written == () and again == []
    monkeypatch.setattr(maker, "makers", lambda *_: maker.Makers("another", "one", "here"))
    quick(small, out)
    assert set(again) == {TRACTOR, TILLER}


def test_a_template_of_the_shops_is_seen_by_the_same_process(begun: Path, tmp_path: Path) -> None:
    (begun / "templates").mkdir()
    own = begun / "templates" / "base.css"
    index = begun / "templates" / "index.html.jinja"
    for said in ("first", "second"):
        own.write_text(f"/* {said} */")
        index.write_text(f"{{% block body %}}<p>{said}</p>{{% endblock %}}")
        quick(begun, tmp_path / "out")
        assert said in (tmp_path / "out" / "shop" / "jobs.html").read_text()
        assert said in (tmp_path / "out" / "shop" / "assets" / "pages.css").read_text()


def test_a_deleted_job_goes_and_strangers_stay(small: Path, out: Path) -> None:
    stranger = out / "shop" / "notes" / "mine.txt"
    stranger.parent.mkdir()
    stranger.write_text("mine", encoding="utf-8")
    shutil.rmtree(small / TILLER)
    assert quick(small, out).exit_status == 0
    assert not (out / "shop" / TILLER).exists()
    assert not (out / "shop" / "engines" / "pottlewick-m1-187.html").exists()
    assert stranger.read_text(encoding="utf-8") == "mine"


def test_a_failure_while_building_leaves_the_old_pages(
    small: Path, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run that was cut off leaves whole pages, and vouches for none of that job's."""
    before = files(out)
    edit(small / TRACTOR / "job.yaml", "title: ", "title: New ")

    def full(*args: object, **kwargs: object) -> str:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("rebuildreport.site.making.work.results_json", full)
        with pytest.raises(OSError, match="No space"):
            quick(small, out)
    cut_off = {name: data for name, data in files(out).items() if not name.startswith(".building")}
    with monkeypatch.context() as broken:
        broken.setattr("rebuildreport.site.disk.folders.remove", full)  # the new files are in their places
        with pytest.raises(OSError, match="No space"):
            quick(small, out)
    assert quick(small, out).written == (TRACTOR,)
    after = files(out)
    # its report and the lists come first: each page is the old one or the new one, and whole
    assert cut_off.keys() == before.keys()
    assert [name for name, data in cut_off.items() if data not in (before[name], after.get(name))] == []
    assert cut_off[f"shop/{TRACTOR}/results.json"] == before[f"shop/{TRACTOR}/results.json"]
    edit(small / TRACTOR / "job.yaml", "title: New ", "title: ")
    assert quick(small, out).written == (TRACTOR,)
    assert files(out) == before


def test_without_pango_everything_else_is_made(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pdf, "available", lambda: False)
    out = tmp_path / "fresh"
    result = publish(small, out)
    assert result.exit_status == 3
    assert any("libpangoft2-1.0-0" in message for message in result.messages)
    assert (out / "shop" / TRACTOR / "index.html").is_file()
    assert not (out / "shop" / TRACTOR / "report.pdf").exists()


def test_site_inside_the_shop_is_wrong_usage(small: Path) -> None:
    assert quick(small, small / "site").exit_status == 2
    assert quick(small, small.parent).exit_status == 2
    assert not (small / "site").exists()


def test_no_shop_file(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    result = quick(tmp_path / "empty", tmp_path / "out")
    assert result.exit_status == 1
    assert not (tmp_path / "out").exists()


SHAPES = {
    "Oil pump of ZEB-QUIRIN NEVERBORN worn": "owner's name",
    "Called Mr Neverborn about it": "owner's name",
    "Call (01632) 96 04-17": "owner's contact",
    "Call +44 1632 960417": "owner's contact",
    "plate (ZZ)00.NIL": "owner's registration",
    "Oil pump worn, it cost 420.00 EUR": "a price",
    "it cost € 420.00": "a price",
    "it cost 420 EUR": "a price",
    "it cost EUR 420": "a price",
}


def test_private_text_is_found_wherever_and_however_it_was_typed(shop: Path, tmp_path: Path) -> None:
    """Each as the title of a finding of its own, and told at its own line; the job is not public then."""
    shutil.rmtree(shop / FOUR)
    out = tmp_path / "out"
    owner = "owner:\n  name: Zeb-Quirin Neverborn\n  contact: Tel. 01632 960417\n  registration: ZZ 00 NIL\n"
    path = shop / SIX / "job.yaml"
    before, _, rest = path.read_text(encoding="utf-8").partition("owner:")
    path.write_text(f"{before}{owner}\n{rest.split(chr(10) * 2, 1)[1]}", encoding="utf-8")
    findings = shop / SIX / "findings.yaml"
    typed = iter(SHAPES)
    lines = [
        f'    title: "{next(typed, "as it was")}"' if line.startswith("    title: ") else line
        for line in findings.read_text(encoding="utf-8").splitlines()
    ]
    assert next(typed, None) is None
    findings.write_text("\n".join(lines) + "\n", encoding="utf-8")
    result = quick(shop, out)
    assert result.exit_status == 1
    told = {p.line: p for p in result.problems if p.file == f"{SIX}/findings.yaml" and "public" in p.message}
    for shape, what in SHAPES.items():
        leak = told[lines.index(f'    title: "{shape}"') + 1]
        assert leak.message.startswith(what) and shape in leak.quote
    assert not (out / "public" / SIX).exists()
    assert SIX not in (out / "public" / "index.html").read_text(encoding="utf-8")
    assert (out / "shop" / SIX / "index.html").is_file()


def test_a_lost_memory_keeps_nothing_public_without_consent(small: Path, out: Path) -> None:
    """What nobody can know to be ours is told, once."""
    (out / MANIFEST).unlink()
    shutil.copytree(out / "public" / TRACTOR, out / "public" / "gone meanwhile")
    edit(small / TRACTOR / "job.yaml", "publish: yes", "publish: no")
    result = quick(small, out)
    assert result.exit_status == 0
    assert [said for said in result.messages if "gone meanwhile" in said]
    assert not (out / "public" / TRACTOR).exists()
    assert quick(small, out).messages == ()


def test_one_jobs_fault_stops_that_job_alone(small: Path, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from rebuildreport.site.making import work as module

    real = module.assess_for_documents

    def faulty(folder: object, job: object) -> object:
        if getattr(job, "name", "") == TRACTOR:
            raise ArithmeticError("boom")
        return real(folder, job)  # type: ignore[arg-type]

    monkeypatch.setattr(module, "assess_for_documents", faulty)
    for name in (TRACTOR, TILLER):
        edit(small / name / "job.yaml", "title: ", "title: Still a ")
    before = files(out / "shop" / TRACTOR)
    for _ in range(2):  # told again: what went wrong in the program is no state to rest on
        result = quick(small, out)
        assert result.exit_status == 1
        assert any("boom" in p.message for p in result.problems)
    assert files(out / "shop" / TRACTOR) == before
    assert "Still a " in (out / "shop" / TILLER / "index.html").read_text(encoding="utf-8")


def test_somebody_elses_folder_is_not_taken(small: Path, tmp_path: Path) -> None:
    out = tmp_path / "theirs"
    mine = out / "shop" / TRACTOR / "mine.txt"
    mine.parent.mkdir(parents=True)
    mine.write_text("mine", encoding="utf-8")
    result = quick(small, out)
    assert result.exit_status == 1
    assert mine.read_text(encoding="utf-8") == "mine"
    assert any("in the way" in p.message for p in result.problems)
    shutil.rmtree(small / TRACTOR)
    assert quick(small, out).exit_status == 0
    assert mine.read_text(encoding="utf-8") == "mine"


def test_a_bench_sheet_printed_before_the_first_publish_is_not_in_the_way(
    begun: Path, tmp_path: Path
) -> None:
    """The first evening: paper first, pages later.  What a person printed stays as it is."""
    out = tmp_path / "new"
    printed = out / "shop" / FOUR / "bench-sheet-arrival.pdf"
    printed.parent.mkdir(parents=True)
    printed.write_bytes(b"%PDF written on since")
    assert quick(begun, out).exit_status == 0
    assert printed.read_bytes() == b"%PDF written on since"
    edit(begun / FOUR / "job.yaml", "rattle for 5 s", "rattle for 6 s")
    assert quick(begun, out).written == (FOUR,)
    assert printed.read_bytes() == b"%PDF written on since"


def test_pages_lost_from_the_public_edition_are_made_again(small: Path, out: Path) -> None:
    shutil.rmtree(out / "public" / TRACTOR)
    quick(small, out)
    assert (out / "public" / TRACTOR / "index.html").is_file()


def test_what_it_cost_and_purchase_list_stand_beside_the_report(small: Path, out: Path) -> None:
    """In the shop edition only: nothing of them is public."""
    assert not (out / "shop" / TRACTOR / "estimate.html").exists(), "its work is finished"
    assert (out / "shop" / TRACTOR / "statement.html").is_file()
    assert (out / "shop" / TRACTOR / "purchase-list.html").is_file()
    folder = load_shop(small, [TRACTOR])
    begun = replace(assess_job(folder, folder.jobs[TRACTOR]), stage="assembly")
    wanted = {one.name for one in register.further(begun)}
    assert (
        "estimate" in wanted and "purchase-list" in wanted and "statement" not in wanted
    )  # no statement before the work is finished
    assert {path.name for path in (out / "public" / TRACTOR).glob("*.html")} == {
        "index.html",
        "measurement-record.html",
    }


def test_a_bench_sheet_of_what_is_due_stands_beside_the_report(begun: Path, out: Path) -> None:
    """In the shop edition only, until the work is finished; the same sheet as ``bench-sheet`` prints."""
    assert not [name for name in files(out) if "bench-sheet" in name]  # both small jobs are finished
    edit(begun / FOUR / "job.yaml", "publish: no", "publish: yes\nconsent: 2026-04-13")
    assert quick(begun, out).exit_status == 0
    assert [name for name in files(out) if "bench-sheet" in name] == [
        f"shop/{FOUR}/bench-sheet-inspection.html"
    ]
    report = (out / "shop" / FOUR / "index.html").read_text("utf-8")
    assert '<a href="bench-sheet-inspection.html">Bench sheet</a>' in report
    assert '<a href="bench-page-inspection.html">Bench page</a>' in report
    assert (out / "shop" / FOUR / "bench-page-inspection.html").stat().st_size < 300_000
    assert "bench-" not in (out / "public" / FOUR / "index.html").read_text("utf-8")
    assert not list((out / "public").rglob("bench-*"))
    page = (out / "shop" / FOUR / "bench-sheet-inspection.html").read_text("utf-8")
    folder = load_shop(begun, [FOUR])
    job = folder.jobs[FOUR]
    found = due(folder, job, assess_job(folder, job))
    titles = re.findall(r"<h3[^>]*>([^<,]+)", page)
    assert found and titles == [english(one.title) for one in found]
    boxes = sum(len(one.positions) * len(one.columns) for one in found)
    tables = re.findall(r'<table class="boxes.*?</table>', page, re.S)
    assert sum(table.count("<td></td>") for table in tables) == boxes and f"{boxes} readings" in page


def test_a_round_that_waits_for_its_readings_keeps_its_name(begun: Path, out: Path) -> None:
    """As ``bench-sheet`` laid it out; typed in, the next sheet is of another round."""
    rounds = begun / FOUR / "measurements"
    (rounds / "second-look.yaml").write_text(
        "date: 2026-04-17\nby: bench 2\ntemperature: 20 °C\ntables:\n  timing_chain:\n    unit: mm\n"
        "    columns: length_20\n    rows:\n      chain: --\n",
        "utf-8",
    )
    assert quick(begun, out).exit_status == 0
    assert [path.name for path in (out / "shop" / FOUR).glob("bench-sheet*")] == [
        "bench-sheet-second-look.html"
    ]
    edit(rounds / "second-look.yaml", "chain: --", "chain: 161.05")
    quick(begun, out)
    assert [path.name for path in (out / "shop" / FOUR).glob("bench-sheet*")] == [
        "bench-sheet-inspection.html"
    ]


def test_a_language_that_there_is_not_is_told_and_the_report_stays(small: Path, out: Path) -> None:
    edit(small / TRACTOR / "job.yaml", "opened:", "language: xx\nopened:")
    found = quick(small, out)
    assert found.exit_status == 1
    assert any("'xx' is no language" in one.message for one in found.problems)
    assert (out / "shop" / TRACTOR / "index.html").is_file()


def test_a_picture_is_not_its_own_before(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Told at its line, and the one that is not there too; nothing is drawn twice."""
    from rebuildreport.commands.main import run

    path = small / TRACTOR / "findings.yaml"
    first = next(name for name in load_shop(small, [TRACTOR]).jobs[TRACTOR].findings.photos)
    text = path.read_text("utf-8")
    at = text.index(f"\n  {first}:\n") + len(f"\n  {first}:\n")
    for named, said in ((first, "cannot be its own before"), ("nosuch", "no picture in photos/")):
        path.write_text(text[:at] + f"    before: {named}\n" + text[at:], "utf-8")
        run(["check", TRACTOR, "--shop", str(small)])
        line = text[:at].count("\n") + 1
        assert f"findings.yaml:{line}:13: " in (out := capsys.readouterr().out) and said in out


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ("call {owner} first", "name"),
        ("for the tractor WH-TR 117", "registration"),
        ("engine OD6 54 204417", "serial"),
    ],
)
def test_nothing_of_the_customers_goes_to_a_machine_shop(
    small: Path, out: Path, typed: str, what: str
) -> None:
    """Typed into the order by mistake, it stops the order, and its line is named; the report is written."""
    owner = "owner:\n  name: Zeb-Quirin Neverborn\n  registration: WH TR117\n  serial: OD6-54-204417\n"
    path = small / TRACTOR / "job.yaml"
    before, _, rest = path.read_text(encoding="utf-8").partition("owner:")
    path.write_text(f"{before}{owner}\n" + rest.split("\n\n", 1)[1], encoding="utf-8")
    words = typed.format(owner="Herr Neverborn")
    edit(small / TRACTOR / "work.yaml", "never: touching M1 and M3", f"never: {words}")
    result = quick(small, out)
    assert result.exit_status == 1
    (told,) = (p for p in result.problems if "machine shop" in p.message)
    assert what in told.message and words in told.quote and told.file.endswith("work.yaml")
    assert not (out / "shop" / TRACTOR / "machining-order.html").exists()
    assert (out / "shop" / TRACTOR / "index.html").is_file()
