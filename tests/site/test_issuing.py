"""Documents frozen as they leave the shop: whole or not at all, and never touched again."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.commands.main import run
from rebuildreport.documents.press import pdf
from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.records.files.issued import sealed
from rebuildreport.site.disk.commits import last_commit
from rebuildreport.site.sending import issuing

from .conftest import FOUR, SIX, edit, files

DAY = date(2026, 3, 9)


@pytest.fixture(autouse=True)
def quick_maker(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """A stand-in for the slow renderer; the real one has its own test below."""
    if "pdf_renderer" in request.fixturenames:
        return
    monkeypatch.setattr(issuing, "made", lambda name, one, *rest: f"%PDF {one.issue}".encode())
    monkeypatch.setattr(pdf, "available", lambda: True)


@pytest.fixture
def shop(shop: Path) -> Path:
    """The twin cam as it was on the first evening: nothing decided or approved yet."""
    shutil.rmtree(shop / SIX)
    for name in ("work", "assembly", "running"):
        (shop / FOUR / f"{name}.yaml").unlink()
    for path in (shop / FOUR / "measurements").iterdir():
        if path.name != "arrival.yaml":
            path.unlink()
    text = (shop / FOUR / "job.yaml").read_text("utf-8")
    text = text.replace("ready: 2026-05-07\ndelivered: 2026-05-08\n", "")
    start, end = text.index("approvals:"), text.index("arrival:")
    (shop / FOUR / "job.yaml").write_text(text[:start] + text[end:], "utf-8")
    return shop


def lines(shop: Path, job: str = FOUR) -> list[dict[str, object]]:
    text = (shop / job / "issued" / "register.jsonl").read_text("utf-8")
    return [json.loads(line) for line in text.splitlines()]


def issue(shop: Path, job: str = FOUR, day: date = DAY) -> issuing.IssueResult:
    return issuing.issue(shop, job, "report", day)


def approve(shop: Path, rest: str) -> None:
    approval = f"approvals:\n  - date: 2026-04-15\n    by: customer\n    how: signed\n{rest}\n"
    edit(shop / FOUR / "job.yaml", "owner: ", f"{approval}owner: ")


def test_an_issue_is_a_document_and_one_line(shop: Path) -> None:
    first = issue(shop)
    assert first.exit_status == 0, first
    (line,) = lines(shop)
    assert (line["issue"], line["document"], line["date"], line["spell"]) == (1, "report", "2026-03-09", 1)
    document = (shop / FOUR / "issued" / str(line["file"])).read_bytes()
    # by a second program: the hash that stands in the register is that of the file
    said = subprocess.run(
        ["sha256sum", str(shop / FOUR / "issued" / str(line["file"]))],
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout.split()[0] == line["sha256"] == hashlib.sha256(document).hexdigest()
    assert load_shop(shop).jobs[FOUR].problems == load_shop(shop).jobs[FOUR].problems
    assert not any("issue" in one.message for one in load_shop(shop).all_problems)


def test_unchanged_is_refused_and_nothing_is_touched(shop: Path) -> None:
    issue(shop)
    before = files(shop)
    again = issue(shop, day=date(2026, 3, 20))
    assert again.exit_status == 1 and "nothing has changed" in again.messages[0]
    assert files(shop) == before


def test_errors_in_the_files_are_refused(shop: Path) -> None:
    edit(shop / FOUR / "job.yaml", "opened: 2026-04-13", "opened: yesterday")
    before = files(shop)
    found = issue(shop)
    assert found.exit_status == 1 and found.problems
    assert files(shop) == before and not (shop / FOUR / "issued").exists()


def test_the_next_issue_says_what_changed_and_leaves_the_first_as_it_was(shop: Path) -> None:
    (shop / FOUR / "work.yaml").unlink(missing_ok=True)
    issue(shop)
    first = files(shop / FOUR / "issued")
    edit(shop / FOUR / "measurements/arrival.yaml", "13.1", "12.4")
    (shop / FOUR / "work.yaml").write_text(
        "labour:\n  - task: dismantle and record\n    hours: 6.0\n  - task: assemble\n    price: 500.00\n",
        "utf-8",
    )
    approve(shop, "    limit: 3000.00\n")
    second = issue(shop)
    assert second.issued is not None and second.issued.number == 2
    said = " ".join(second.issued.changed)
    assert "Readings changed: compression C1 (arrival) 13.1" in said and "now 12.4" in said
    assert "6.0 dismantle and record (348.00)" in said and "assemble (500.00)" in said
    assert "Approved: 15\u00a0April\u00a02026, customer, signed: up to 3000.00\u00a0EUR" in said
    now = files(shop / FOUR / "issued")
    register = now.pop("register.jsonl")
    assert register.startswith(first.pop("register.jsonl"))
    assert {name: now[name] for name in first} == first


def test_a_later_issue_is_not_dated_earlier(shop: Path) -> None:
    issue(shop)
    edit(shop / FOUR / "job.yaml", "Misfire", "Bad misfire")
    found = issue(shop, day=date(2026, 3, 8))
    assert found.exit_status == 2 and len(lines(shop)) == 1


def test_opened_again_after_delivery_is_a_new_stay(shop: Path) -> None:
    """T11 of the traps: the report stays as issued, the new one says what changed, two stays are summed."""
    edit(shop / FOUR / "job.yaml", "publish: no", "delivered: 2026-05-08\npublish: no")
    issue(shop, day=date(2026, 5, 8))
    before = files(shop / FOUR / "issued")
    with (shop / FOUR / "job.yaml").open("a", encoding="utf-8") as file:
        file.write(
            "reopened:\n  - date: 2026-06-02\n    symptom: oil at rear of cam cover\n"
            "    found: seal displaced\n    cause: workmanship\n    charged_to: shop\n"
        )
    second = issue(shop, day=date(2026, 6, 2))
    assert second.issued is not None and second.issued.spell == 2
    assert any("re-opened" in change for change in second.issued.changed)
    assert files(shop / FOUR / "issued")["001-report.pdf"] == before["001-report.pdf"]
    assert b"spell=2" in files(shop / FOUR / "issued")["002-report.pdf"]
    folder = load_shop(shop)
    job = assess_job(folder, folder.jobs[FOUR])
    assert job.stage == "re-opened"
    # 13 April to 8 May is 25 days by the calendar; not the 50 from 13 April to 2 June
    assert sum(spell.days for spell in job.spells) == 25


def test_a_fault_in_the_middle_leaves_no_issue(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut off at every write in turn: either there is no issue, or it is there whole; the next one works."""
    real = os.replace
    issue(shop)
    edit(shop / FOUR / "job.yaml", "Misfire", "Bad misfire")
    for after in range(3):
        count = 0

        def replace(self: Path, target: Path, after: int = after) -> Path:
            nonlocal count
            count += 1
            if count > after:
                raise OSError(28, "No space left on device")
            real(self, target)
            return Path(target)

        monkeypatch.setattr(Path, "replace", replace)
        with pytest.raises(OSError, match="No space"):
            issue(shop)
        monkeypatch.undo()
        assert [one["issue"] for one in lines(shop)] == [1]
        assert not list((shop / FOUR / "issued").glob(".*"))
        assert not any(one.severity == "error" for one in load_shop(shop).jobs[FOUR].problems)
        monkeypatch.setattr(issuing, "made", lambda name, one, *rest: f"%PDF {one.issue}".encode())
        monkeypatch.setattr(pdf, "available", lambda: True)
    assert issue(shop).exit_status == 0
    assert [one["issue"] for one in lines(shop)] == [1, 2]


def test_killed_between_the_files_and_the_line(shop: Path) -> None:
    """A process that dies just before its line is written: the next issue takes the number."""
    code = (
        "import os, sys\nfrom datetime import date\nfrom pathlib import Path\n"
        "from rebuildreport.documents.press import pdf\nfrom rebuildreport.site.sending import issuing\n"
        "issuing.made = lambda *a: b'%PDF half'\npdf.available = lambda: True\n"
        "issuing.add_line = lambda *a: os._exit(9)\n"
        f"issuing.issue(Path(sys.argv[1]), {FOUR!r}, 'report', date(2026, 3, 9))\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(shop)], check=False)
    assert done.returncode == 9 and (shop / FOUR / "issued/001-report.pdf").exists()
    assert not (shop / FOUR / "issued/register.jsonl").exists()
    assert issue(shop).exit_status == 0
    assert (shop / FOUR / "issued/001-report.pdf").read_bytes() != b"%PDF half"


def test_two_at_once_get_two_numbers(shop: Path) -> None:
    """Two processes issue the same job at the same moment: one is made, the other finds nothing changed."""
    code = (
        "import sys, time\nfrom datetime import date\nfrom pathlib import Path\n"
        "from rebuildreport.documents.press import pdf\nfrom rebuildreport.site.sending import issuing\n"
        "def slow(*a):\n    time.sleep(0.5)\n    return b'%PDF'\n"
        "issuing.made = slow\npdf.available = lambda: True\n"
        f"sys.exit(issuing.issue(Path(sys.argv[1]), {FOUR!r}, 'report', date(2026, 3, 9)).exit_status)\n"
    )
    both = [subprocess.Popen([sys.executable, "-c", code, str(shop)]) for _ in range(2)]
    assert sorted(one.wait() for one in both) == [0, 1]
    assert len(lines(shop)) == 1


@pytest.mark.parametrize(
    ("name", "said"),
    [("001-report.pdf", "no longer what was issued"), ("001-report.json", "no longer what was issued")],
)
def test_what_was_issued_and_changed_is_told(shop: Path, name: str, said: str) -> None:
    issue(shop)
    path = shop / FOUR / "issued" / name
    path.write_bytes(path.read_bytes() + b" ")
    assert any(said in one.message for one in load_shop(shop).jobs[FOUR].problems)


@pytest.mark.parametrize("damage", [b'{"issue": 1}\n', b"\xff\xfe\n", b"[]\n", b'{"issue"', b"null\n"])
def test_a_damaged_register_is_told_and_nothing_is_added(shop: Path, damage: bytes) -> None:
    issue(shop)
    path = shop / FOUR / "issued/register.jsonl"
    path.write_bytes(path.read_bytes() + damage)
    edit(shop / FOUR / "job.yaml", "Misfire", "Bad misfire")
    before = path.read_bytes()
    found = issue(shop)
    assert found.exit_status == 1 and any(
        "register" in one.message or "cut off" in one.message for one in found.problems
    )
    assert path.read_bytes() == before


def test_files_of_the_register_cannot_lead_out_of_its_folder(shop: Path) -> None:
    issue(shop)
    edit(shop / FOUR / "issued/register.jsonl", '"001-report.json"', '"../job.yaml"')
    assert any("damaged" in one.message for one in load_shop(shop).jobs[FOUR].problems)


def register_errors(shop: Path) -> list[tuple[str, int]]:
    found = load_shop(shop).jobs[FOUR].problems
    return [(one.message, one.line) for one in found if one.file.endswith("register.jsonl")]


def two_issues(shop: Path) -> Path:
    issue(shop)
    edit(shop / FOUR / "job.yaml", "Misfire", "Bad misfire")
    assert issue(shop, day=date(2026, 3, 10)).exit_status == 0
    assert not register_errors(shop)
    return shop / FOUR / "issued/register.jsonl"


def test_a_line_of_the_register_is_sealed_to_the_one_before(shop: Path) -> None:
    """By a second program: the hash of the seal before, a line end, and the line without its own seal."""
    path = two_issues(shop)
    before = ""
    for text in path.read_text("utf-8").splitlines():
        seal = str(json.loads(text)["seal"])
        body = f"{before}\n" + text.replace(f', "seal": "{seal}"', "")
        done = subprocess.run(["sha256sum"], input=body.encode(), capture_output=True, check=True)
        assert done.stdout.decode().split()[0] == seal
        before = seal


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ('"date": "2026-03-09"', '"date": "2026-03-08"', 1),
        ('"date": "2026-03-10"', '"date": "2026-03-11"', 2),
        ('"total": "', '"total": "1', 1),
        ('"minimum": true', '"minimum": false', 1),
        ('"language": "en"', '"language":  "en"', 1),
    ],
)
def test_a_line_of_the_register_edited_afterwards_is_told(shop: Path, old: str, new: str, line: int) -> None:
    path = two_issues(shop)
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    found = register_errors(shop)
    assert {where for _, where in found} == {line} and any("seal" in said for said, _ in found)


def test_a_line_taken_out_or_put_in_breaks_the_next_seal(shop: Path) -> None:
    path = two_issues(shop)
    first, second = path.read_text("utf-8").splitlines()
    path.write_text(second + "\n", "utf-8")
    assert [line for _, line in register_errors(shop)] == [1]
    sent = '{"sent": 1, "date": "2026-03-09", "to": ["a@example.invalid"], "message_id": "x"}'
    path.write_text(f"{first}\n{sent}\n{second}\n", "utf-8")
    assert [line for _, line in register_errors(shop)] == [2, 3]


def test_a_register_that_was_sealed_anew_or_cut_off_is_noticed(shop: Path) -> None:
    """Whoever changes a line and seals all of them again is betrayed by what the next issue printed."""
    path = two_issues(shop)
    first, second = re.sub(rb', "seal": "\w+"', b"", path.read_bytes()).splitlines()
    changed = sealed(b"", first.replace(b'"spell": 1', b'"spell": 2')) + b"\n"
    path.write_bytes(changed + sealed(changed, second) + b"\n")
    ((message, line),) = register_errors(shop)
    assert line == 2 and "sealed anew" in message
    path.write_bytes(changed)
    assert any("was cut off" in said for said, _ in register_errors(shop))


def test_a_register_from_before_there_were_seals(shop: Path) -> None:
    """It is read as it is, its totals held against what was issued; the next line binds them all."""
    path = two_issues(shop)
    path.write_text(re.sub(r', "seal": "\w+"', "", path.read_text("utf-8")), "utf-8")
    assert not register_errors(shop)
    bare = path.read_text("utf-8")
    path.write_text(bare.replace('"total": "', '"total": "1', 1), "utf-8")
    assert [line for _, line in register_errors(shop)] == [1]
    path.write_text(bare, "utf-8")
    edit(shop / FOUR / "job.yaml", "Bad misfire", "Misfire when cold")
    assert issue(shop, day=date(2026, 3, 11)).exit_status == 0 and not register_errors(shop)
    edit(path, '"date": "2026-03-09"', '"date": "2026-03-08"')
    assert [line for _, line in register_errors(shop)] == [3]


def git(folder: Path, *words: str) -> str:
    env = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_AUTHOR_DATE": "2026-04-15T09:00:00Z",
           "GIT_COMMITTER_DATE": "2026-04-15T09:00:00Z"}  # fmt: skip
    name = ("-c", "user.name=bench", "-c", "user.email=bench@example.invalid")
    done = subprocess.run(
        ["git", *name, *words], cwd=folder, env=env, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


def test_the_commit_is_that_of_the_job_its_engine_or_the_shop(shop: Path) -> None:
    """Against git itself: other jobs' commits and the issued folder do not count."""
    assert str(last_commit(shop, FOUR, "drennick-q16-13")) == ""  # no repository
    git(shop, "init", "-q")
    assert str(last_commit(shop, FOUR, "drennick-q16-13")) == ""  # no commit
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "all")
    first = git(shop, "rev-parse", "--short", "HEAD")
    (shop / SIX).mkdir()
    (shop / SIX / "note.txt").write_text("x")
    git(shop, "add", "-A")
    git(shop, "commit", "-qm", "another job")
    found = last_commit(shop, FOUR, "drennick-q16-13")
    assert (found.hash, found.day, found.dirty) == (first, "2026-04-15", False)
    edit(shop / FOUR / "job.yaml", "Misfire", "Bad misfire")
    assert last_commit(shop, FOUR, "drennick-q16-13").dirty
    result = issue(shop)
    assert result.issued is not None and result.issued.commit.startswith(first)
    assert "with changes since" in result.issued.commit


def test_without_git_it_works_and_says_nothing(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git(shop, "init", "-q")
    monkeypatch.setenv("PATH", str(shop / "nowhere"))
    assert str(last_commit(shop, FOUR, "drennick-q16-13")) == ""
    assert issue(shop).exit_status == 0


def test_the_command(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["issue", FOUR, "--shop", str(shop), "--date", "2026-03-09"]) == 0
    said = capsys.readouterr().out
    assert "issue 1, report of 2026-03-09" in said
    assert "it is dated 2026-03-09, and tells of 2026-0" in said
    assert run(["issue", FOUR, "--shop", str(shop)]) == 1
    assert run(["issue", FOUR, "letter", "--shop", str(shop)]) == 2
    assert "there is no document 'letter'" in capsys.readouterr().err
    assert run(["issue", "nobody", "--shop", str(shop)]) == 2


def test_the_real_document_prints_its_number(shop: Path, pdf_renderer: None, pdftoppm: str) -> None:
    """Read back by another program (poppler's pdftotext)."""
    found = issue(shop)
    assert found.exit_status == 0 and found.issued is not None
    edit(shop / FOUR / "job.yaml", "Misfire", "Bad misfire")
    found = issue(shop)
    assert found.issued is not None
    path = shop / FOUR / "issued" / found.issued.file
    text = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    flat = " ".join(text.replace("\u00a0", " ").split())
    assert "Report, issue 2, 9 March 2026" in flat
    assert "Changed since the issue before No. 2" in flat
    assert "Also changed: the complaint" in flat


def test_approved_lines_are_compared_with_the_issue_that_was_approved(shop: Path) -> None:
    """By hand: 6 h at 58.00 were approved; 8 h and a cooler at 100.00 sublet are 116.00 and 100.00 more."""
    work = "labour:\n  - task: dismantle and record\n    hours: {}\n"
    (shop / FOUR / "work.yaml").write_text(work.format("6.0"), "utf-8")
    issue(shop)
    approve(shop, "    limit: 500.00\n    issue: 1\n")
    more = "sublet:\n  - part: cooler\n    work: clean\n    price: 100.00\n    why: debris\n"
    more += (
        "differences:\n  - date: 2026-04-20\n    cause: two bolts broke off\n    lines:\n      - dismantle\n"
    )
    (shop / FOUR / "work.yaml").write_text(work.format("8.0") + more, "utf-8")
    folder = load_shop(shop)
    cost = assess_job(folder, folder.jobs[FOUR]).cost
    assert cost.against is not None and cost.against.issue == 1
    assert [(c.kind, english(c.name), str(c.difference), english(c.why)) for c in cost.against.changes] == [
        ("new", "cooler: clean", "100.00", "debris"),
        ("changed", "dismantle and record", "116.00", "two bolts broke off"),
    ]
    assert cost.against.total_then is not None and cost.against.tax_difference is not None
    gaps = sum(c.difference or 0 for c in cost.against.changes)
    assert cost.against.total_then + gaps + cost.against.tax_difference == cost.total
    assert cost.stops
    assert run(["check", FOUR, "--shop", str(shop)]) == 0
    # a line that names its decision has that one's reason
    decided = (
        "decisions:\n  W7:\n    about: head_face\n    do: reuse\n    why: sludge in the core\n    by: shop\n"
    )
    decided += "    date: 2026-04-20\n"
    text = (shop / FOUR / "work.yaml").read_text("utf-8").replace("    why: debris\n", "    for: W7\n")
    (shop / FOUR / "work.yaml").write_text(text + decided, "utf-8")
    folder = load_shop(shop)
    against = assess_job(folder, folder.jobs[FOUR]).cost.against
    assert against is not None and english(against.changes[0].why) == "W7: sludge in the core"
    assert run(["check", FOUR, "--strict", "--shop", str(shop)]) == 1


def test_estimates_are_issued_under_the_same_numbers(
    shop: Path, pdf_renderer: None, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["issue", FOUR, "estimate", "--shop", str(shop), "--date", "2026-04-16"]) == 0
    assert run(["issue", FOUR, "estimate", "--shop", str(shop), "--date", "2026-04-17"]) == 1
    assert run(["issue", FOUR, "report", "--shop", str(shop), "--date", "2026-04-17"]) == 0
    assert [(one["issue"], one["document"]) for one in lines(shop)] == [(1, "estimate"), (2, "report")]
    made = [shop / FOUR / "issued" / str(one["file"]) for one in lines(shop)]
    assert all(path.read_bytes()[:5] == b"%PDF-" for path in made)
    edit(shop / FOUR / "job.yaml", "opened:", "language: xx\nopened:")
    capsys.readouterr()
    assert run(["issue", FOUR, "estimate", "--shop", str(shop), "--date", "2026-04-18"]) == 1
    assert "'xx' is no language" in capsys.readouterr().err


def test_what_no_longer_holds_or_not_yet_is_not_issued(shop: Path) -> None:
    early = issuing.issue(shop, FOUR, "statement", DAY)
    assert early.exit_status == 1 and "an estimate is issued" in early.messages[0]
    edit(shop / FOUR / "job.yaml", "owner: ", "ready: 2026-05-07\ndelivered: 2026-05-08\nowner: ")
    late = issuing.issue(shop, FOUR, "estimate", date(2026, 5, 9))
    assert late.exit_status == 1 and "issue the final statement" in late.messages[0]
    assert not (shop / FOUR / "issued").exists()


def test_terms_that_the_shop_has_changed_are_told(shop: Path) -> None:
    """Its own texts are part of what a customer agrees to; ours, which may be worded anew, are not."""
    issue(shop)
    texts = shop / "templates" / "texts"
    texts.mkdir(parents=True)
    (texts / "terms.en.md").write_text("Paid within ten days.\n", "utf-8")
    second = issue(shop)
    assert second.issued is not None
    assert second.issued.changed == ("Also changed: the terms and other standing texts.",)
    (texts / "terms.en.md").write_text("Paid within\nten days.\n", "utf-8")  # broken otherwise
    assert issue(shop).exit_status == 1
    (texts / "terms.en.md").write_text("Paid within five days.\n", "utf-8")
    assert issue(shop).exit_status == 0
