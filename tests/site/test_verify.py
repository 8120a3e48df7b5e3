"""A report that comes back: right, changed, damaged, foreign, or made to do harm."""

from __future__ import annotations

import json
import tempfile
import zlib
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from rebuildreport.assess import assess_for_documents
from rebuildreport.assess.publishing.extract import extract, written_out
from rebuildreport.records import load_shop
from rebuildreport.site.sending.issuing import made
from rebuildreport.site.verifying.verifying import verify

JOBS = Path(__file__).resolve().parents[2] / "jobs"
KEPT = Path(__file__).parent / "kept"
PUMP, LAUNCH = "2026-017-allotment-pump", "2026-021-ferry-launch"
Change = Callable[[bytes], bytes]


@pytest.fixture(scope="module")
def report(pdf_renderer: object, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of a small job, as it is issued today, away from any job folder."""
    folder = load_shop(JOBS, [PUMP])
    one = assess_for_documents(folder, folder.jobs[PUMP])
    path = tmp_path_factory.mktemp("came back") / "report.pdf"
    path.write_bytes(made("report", one, {}, path.parent, JOBS))
    return path


def changed(report: Path, **files: Change) -> Path:
    """A copy of it with another extract or other results."""
    path = report.with_name("changed.pdf")
    with pikepdf.open(report) as pdf:
        for name, change in files.items():
            file = f"{name}.json"
            data = change(pdf.attachments[file].get_file().read_bytes())
            pdf.attachments[file] = pikepdf.AttachedFileSpec(pdf, data, filename=file)
        pdf.save(path)
    return path


def test_a_report_is_right_without_its_folder(report: Path) -> None:
    found = verify(report)
    assert found.right and found.said.startswith("right: "), found.said


def test_what_was_changed_is_told(report: Path) -> None:
    """A reading, a verdict, the program that made it, an extract of another job, and the words."""
    found = verify(changed(report, results=lambda data: data.replace(b'"beyond limit"', b'"as new"', 1)))
    assert not found.right and '"as new" and should be "beyond limit"' in found.said

    def older(data: bytes) -> bytes:
        return data.replace(b"rebuildreport 0.", b"rebuildreport 9.", 1).replace(
            b'"beyond limit"', b'"as new"'
        )

    assert "it was made by rebuildreport 9." in verify(changed(report, results=older)).said
    folder = load_shop(JOBS, [LAUNCH])
    other = extract(assess_for_documents(folder, folder.jobs[LAUNCH]))
    assert "does not belong to it" in verify(changed(report, extract=lambda _: other)).said
    blank = report.with_name("blank.pdf")
    with pikepdf.open(report) as pdf:
        for page in pdf.pages[:2]:
            page.Contents = pdf.make_stream(b"")
        pdf.save(blank)
    assert "its words were changed" in verify(blank).said


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"[" * 100_000, "extract.json is damaged"),
        (b"[1]", "extract.json is damaged"),
        (b"\xff\xfe", "damaged"),
        (b"0" * (9 << 20), "larger than any"),
    ],
    ids=["deep", "list", "no text", "bomb"],
)
def test_an_extract_that_is_none(report: Path, data: bytes, said: str) -> None:
    found = verify(changed(report, extract=lambda _: data))
    assert not found.right and said in found.said


@pytest.mark.parametrize(
    ("where", "value", "said"),
    [
        ("form", 9, "form 9"),
        ("records", None, "no records"),
        ("records", {"job": {"engine": "../../x", "title": "t"}}, "belong"),
    ],
)
def test_an_extract_of_another_form(report: Path, where: str, value: object, said: str) -> None:
    found = verify(
        changed(report, extract=lambda data: json.dumps({**json.loads(data), where: value}).encode())
    )
    assert not found.right and (said in found.said or "belong" in found.said)


def test_a_file_that_is_no_report_of_ours(report: Path) -> None:
    whole = report.read_bytes()
    path = report.with_name("bad.pdf")
    for data, said in (
        (b"", "no PDF"),
        (b"hello", "no PDF"),
        (whole[: len(whole) // 2], "cut off"),
        (whole[:-900], "cut off"),
        (b"%PDF-1.7\n" + b"1 0 obj\n" * 100_000, "damaged"),
    ):
        path.write_bytes(data)
        found = verify(path)
        assert not found.right and said in found.said and str(path) not in found.said
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.save(path)
    assert "carries no extract" in verify(path).said


def test_a_gigabyte_that_is_a_page(report: Path) -> None:
    """A page's content that unpacks to 1 GiB: stopped by the limits of its own process."""
    packing = zlib.compressobj(9)
    packed = b"".join(packing.compress(bytes(1 << 20)) for _ in range(1024)) + packing.flush()
    path = report.with_name("large.pdf")
    with pikepdf.open(report) as pdf:
        content = pdf.make_stream(b"")
        content.write(packed, filter=pikepdf.Name.FlateDecode)
        pdf.pages[0].Contents = content
        pdf.save(path, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    found = verify(path)
    assert not found.right and "more time or memory" in found.said


def test_documents_of_every_form_stay_readable() -> None:
    """Issued by earlier programs: the first carried no records, only what was worked out."""
    old = verify(KEPT / "form-0.pdf")
    assert old.right and "before extracts held the records" in old.said
    with pikepdf.open(KEPT / "form-1.pdf") as pdf:
        data = json.loads(pdf.attachments["extract.json"].get_file().read_bytes())
    with tempfile.TemporaryDirectory() as folder:
        shop, job = written_out(data, Path(folder))
        assert not [one.message for one in shop.all_problems if one.severity == "error"]
        assert job.job is not None and job.job.title == data["records"]["job"]["title"]
    assert "form" not in verify(KEPT / "form-1.pdf").said


def test_every_job_of_the_demo_is_worked_out_from_its_extract_alone() -> None:
    """All rounds are read from it, and the customer's name is in none."""
    folder = load_shop(JOBS)
    for name, job in folder.jobs.items():
        assert job.job is not None
        data = json.loads(extract(assess_for_documents(folder, job)))
        owner = job.job.owner
        text = json.dumps(data, ensure_ascii=False)
        assert owner is None or owner.name not in text, name
        with tempfile.TemporaryDirectory() as aside:
            _, again = written_out(data, Path(aside))
        assert {n: one.cells.keys() for n, one in again.rounds.items()} == {
            n: one.cells.keys() for n, one in job.rounds.items()
        }
