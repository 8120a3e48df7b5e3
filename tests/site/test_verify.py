"""A report that comes back: right, changed, damaged, foreign, or made to do harm."""

from __future__ import annotations

import hashlib
import json
import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pikepdf
import pytest
from msgspec.structs import replace

from rebuildreport.assess import assess_for_documents
from rebuildreport.assess.model.assessment import Assessment, IssueNote
from rebuildreport.assess.publishing.extract import extract, written_out
from rebuildreport.assess.publishing.results import from_json
from rebuildreport.records import load_shop
from rebuildreport.records.files.issued import SEAL_PRINTED, read_register, sealed
from rebuildreport.site.sending.issuing import made
from rebuildreport.site.verifying.anew import printings
from rebuildreport.site.verifying.inside import inside
from rebuildreport.site.verifying.verifying import verify
from rebuildreport.site.verifying.wording import PAGE_ENDS, Changed, held

JOBS = Path(__file__).resolve().parents[2] / "jobs"
KEPT = Path(__file__).parent / "kept"
LIMIT = 2.0  # seconds of a processor, for whatever is wrong
PUMP, LAUNCH = "2026-017-allotment-pump", "2026-021-ferry-launch"
Change = Callable[[bytes], bytes]


@pytest.fixture(autouse=True)
def within_time() -> Iterator[None]:
    """No file may take longer: whoever sends one decides what is in it."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    yield
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert after.ru_utime - before.ru_utime < 6 * LIMIT  # several files a test, on a machine that is shared


@pytest.fixture(scope="module")
def pump() -> Assessment:
    folder = load_shop(JOBS, [PUMP])
    return assess_for_documents(folder, folder.jobs[PUMP])


@pytest.fixture(scope="module")
def report(pdf_renderer: object, pump: Assessment, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of a small job, as it is issued today, away from any job folder."""
    path = tmp_path_factory.mktemp("came back") / "report.pdf"
    path.write_bytes(made("report", pump, {}, path.parent, JOBS))
    return path


def written_on(report: Path, words: str) -> Path:
    """A copy of it with words added to its first page."""
    path = report.with_name("added.pdf")
    with pikepdf.open(report) as pdf:
        page = pdf.pages[0]
        font = pikepdf.Dictionary(Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1)
        font.BaseFont = pikepdf.Name.Helvetica
        name = page.add_resource(font, pikepdf.Name.Font)
        page.contents_add(f"BT {name} 9 Tf 60 300 Td ({words}) Tj ET".encode())
        pdf.save(path)
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


def test_two_runs_give_the_same_bytes(pdf_renderer: object, tmp_path: Path) -> None:
    """Another process, another seed of its hashes, another folder: the same document, picture and all."""
    issue = (
        "from pathlib import Path; from datetime import date; from rebuildreport.site.sending.issuing import "
    )
    issue += f"issue; print(issue(Path('jobs'), {PUMP!r}, 'report', date(2026, 11, 12)).exit_status)"
    found = set()
    for seed in ("1", "2"):
        others = [path.name for path in JOBS.glob("20*") if path.name != PUMP]
        folder = tmp_path / seed
        shutil.copytree(JOBS, folder / "jobs", ignore=shutil.ignore_patterns(*others))
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(JOBS.parent)}
        said = subprocess.run(
            [sys.executable, "-c", issue], cwd=folder, env=env, capture_output=True, check=True
        )
        assert said.stdout.strip() == b"0", said
        (document,) = (folder / "jobs" / PUMP / "issued").glob("*.pdf")
        found.add(hashlib.sha256(document.read_bytes()).hexdigest())
    assert len(found) == 1


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize("document", ["estimate", "measurement-record"])
def test_every_issued_document_is_held_against_its_records(
    document: str, report: Path, pump: Assessment
) -> None:
    path = report.with_name("issued.pdf")
    note = IssueNote(2, document, pump.as_of, 1, after="0123456789ab")
    path.write_bytes(made(document, replace(pump, issue=note), {}, path.parent, JOBS))
    found = verify(path)
    assert found.right and f"words and numbers of this {document}" in found.said, found.said
    # one price or reading more, and one that is another: 52.10 is the sum of the parts, 31.86 of a spring
    assert "its words were changed: 12.34" in verify(written_on(path, "12.34 mm")).said
    was, now = (b'"parts": "52.10"', b'"parts": "42.10"') if document == "estimate" else (b"31.86", b"32.86")
    said = verify(changed(path, results=lambda data: data.replace(was, now))).said
    assert "do not add up" in said or "results differ" in said


GLYPHS = re.compile(r"<([0-9a-f]+)>\s*<([0-9a-f]+)>", re.IGNORECASE)


def forged(report: Path, was: str, now: str) -> Path:
    """A copy in which the first line with ``was`` is printed otherwise, by the glyphs of its own font."""
    path = report.with_name("forged.pdf")
    with pikepdf.open(report) as pdf:
        for page in pdf.pages:
            fonts = {
                name: {
                    bytes.fromhex(code): bytes.fromhex(text).decode("utf-16-be")
                    for code, text in GLYPHS.findall(font.ToUnicode.read_bytes().decode("latin-1"))
                }
                for name, font in page.Resources.Font.items()
            }
            content, font = [], {}
            for operands, operator in pikepdf.parse_content_stream(page):
                if str(operator) == "Tf":
                    font = fonts[str(operands[0])]
                elif str(operator) == "TJ":
                    codes = b"".join(bytes(one) for one in operands[0] if isinstance(one, pikepdf.String))
                    line = "".join(font.get(codes[at : at + 2], "") for at in range(0, len(codes), 2))
                    glyphs = {sign: code for code, sign in font.items()}
                    if was in line and {*now} <= glyphs.keys():
                        line, was = line.replace(was, now), "\0"
                        operands = [[pikepdf.String(b"".join(glyphs[sign] for sign in line))]]
                content.append((operands, operator))
            page.Contents = pdf.make_stream(pikepdf.unparse_content_stream(content))
            if was == "\0":
                pdf.save(path)
                return path
    raise AssertionError(f"nothing says {was}")


@pytest.mark.usefixtures("here")
@pytest.mark.parametrize(
    ("was", "now"),
    [("187 cm", "178 cm"), ("beyond limit", "as new"), ("10 November", "11 November"), ("VGE", "VEG")],
    ids=["whole number", "verdict", "day", "part number"],
)
def test_a_word_that_is_printed_otherwise_is_told(report: Path, was: str, now: str) -> None:
    found = verify(forged(report, was, now))
    assert not found.right and "its words were changed: " in found.said and was.split()[0] in found.said


def test_every_word_and_every_page_has_its_place(report: Path) -> None:
    """Another word in the place of any, and any two pages exchanged, on the text alone."""
    words, files = (inside(report)[what] for what in ("words", "files"))
    pump = from_json(files["results.json"])
    ((_, page), _) = printings(pump, "report", JOBS)
    many, beside = held(page, words, ("page", "of", "on"), pump.contact)
    assert many > 1000 and "Nether Nowhere Allotment Society" in beside and "1900" not in beside
    pages = words.split(PAGE_ENDS)
    others = {
        f"page {at}": PAGE_ENDS.join([*pages[:at], pages[at + 1], pages[at], *pages[at + 2 :]])
        for at in range(len(pages) - 1)
    }
    for one in [*re.finditer(r"(?<=\s)[\w.]+(?=\s)", words)][::23]:
        before, after = words[: one.start()], words[one.end() :]
        others[f"{before[-30:]}|{one[0]}"] = f"{before}unheard{after}"
    unnoticed = set()
    for name, other in others.items():
        try:
            _, told = held(page, other, ("page", "of", "on"), pump.contact)
        except Changed:
            continue
        if told == beside:
            unnoticed.add(name)
    assert not unnoticed


def test_texts_that_a_shop_wrote_itself_are_held_and_templates_are_told(
    pdf_renderer: object, tmp_path: Path
) -> None:
    """A price in its own terms is no forgery; what a template of its own prints nobody can make again."""
    shop, path = tmp_path / "jobs", tmp_path / "own.pdf"
    others = [path.name for path in JOBS.glob("20*") if path.name != PUMP]
    shutil.copytree(JOBS, shop, ignore=shutil.ignore_patterns(*others))
    terms = shop / "templates" / "texts" / "terms.en.md"
    terms.parent.mkdir(parents=True)
    terms.write_text("Storage is 12.50 a day.\n", "utf-8")
    for more, said in ((None, "words and numbers of this estimate"), ("note.css", "templates of its own")):
        if more:
            (shop / "templates" / more).write_text("")
        folder = load_shop(shop, [PUMP])
        one = assess_for_documents(folder, folder.jobs[PUMP])
        note = IssueNote(1, "estimate", one.as_of, 1)
        path.write_bytes(made("estimate", replace(one, issue=note), {}, tmp_path, shop))
        found = verify(forged(path, "12.50", "21.50") if more else path)
        assert found.right and said in found.said, found.said


@pytest.mark.usefixtures("here")
def test_a_number_added_to_the_words_is_noticed(report: Path) -> None:
    assert verify(written_on(report, "seen by us")).right
    assert "its words were changed: 0.020" in verify(written_on(report, "0.020 mm")).said


@pytest.mark.parametrize(
    "change",
    [
        lambda data: data.replace(b'"say": "{why}', b'"say": "{why:>9999999999}'),
        lambda data: data.replace(b'"digits": 2', b'"digits": 999999999'),
        lambda data: data.replace(b'"quantity": "1"', b'"quantity": "1e999999"'),
    ],
    ids=["pattern", "digits", "quantity"],
)
def test_results_that_are_made_to_fill_the_memory(report: Path, change: Change) -> None:
    found = verify(changed(report, results=change))
    assert not found.right and ("to do harm" in found.said or "words" in found.said), found.said


def test_records_that_are_made_to_take_for_ever(report: Path) -> None:
    """As many rounds as may be, each with a thousand rows."""

    def many(data: bytes) -> bytes:
        whole = json.loads(data)
        rounds = whole["records"]["rounds"]
        name, first = next(iter(rounds.items()))
        table = next(iter(first["tables"].values()))
        row = next(iter(table["rows"].values()))
        table["rows"] |= {f"X{number}": row for number in range(1000)}
        rounds.update({f"{name}-{number}": first for number in range(59)})
        return json.dumps(whole).encode()

    assert not verify(changed(report, extract=many)).right


@pytest.mark.usefixtures("here")
def test_the_register_that_it_left_by(report: Path, pump: Assessment, tmp_path: Path) -> None:
    """Whole; cut off before its line; with a line taken out; all sealed anew; of another job."""
    before = sealed(b"", b'{"sent": 1, "date": "2026-04-01", "to": [], "message_id": "a"}') + b"\n"
    register = tmp_path / "issued" / "register.jsonl"
    register.parent.mkdir()
    register.write_bytes(before)
    after = read_register(tmp_path)[0].seal[:SEAL_PRINTED]
    path = report.with_name("second.pdf")
    note = IssueNote(2, "report", pump.as_of, 1, after=after)
    path.write_bytes(made("report", replace(pump, issue=note), {}, path.parent, JOBS))
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    line = json.dumps({"issue": 2, "sha256": digest}).encode()
    whole = before + sealed(before, line) + b"\n"
    seal = json.loads(whole.splitlines()[1])["seal"]
    register.write_bytes(whole)
    found = verify(path, register, seal)
    assert found.right and "issue 2 of this register, with this seal" in found.said, found.said
    for data, with_seal, said in (
        (before, "", "no issue 2: it was cut off"),
        (sealed(b"", line) + b"\n", "", "lines before issue 2 are not those"),
        (whole.replace(b"2026-04-01", b"2026-04-02"), "", "seal is broken"),
        (whole, "f" * 64, "another seal here than its mail names"),
        (before + sealed(before, line.replace(digest.encode(), b"0" * 64)) + b"\n", "", "another file"),
        (b"\x00\xff{]\n" * 3, "", "no issue 2"),
    ):
        register.write_bytes(data)
        found = verify(path, register, with_seal)
        assert not found.right and said in found.said, found.said


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
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


@pytest.mark.usefixtures("here")
def test_results_of_a_version_that_worked_out_less(report: Path) -> None:
    """A field that its version did not have is no change; what it prints of its findings is still held."""

    def less(data: bytes) -> bytes:
        whole = json.loads(data)
        for one in whole["assessment"]["characteristics"]:
            del one["decimals"], one["standard_uncertainty"]
        return json.dumps(whole).encode()

    old = changed(report, results=less)
    found = verify(old)
    assert found.right, found.said
    with pikepdf.open(old, allow_overwriting_input=True) as pdf:
        for page in pdf.pages:
            page.Contents = pdf.make_stream(b"")
        pdf.save(old)
    assert "its words were changed" in verify(old).said
