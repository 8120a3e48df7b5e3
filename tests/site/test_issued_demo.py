"""What the demo's twin cam has issued: estimates that were approved, the statement, and the stay after."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from pathlib import Path

import pypdfium2
import pytest

from rebuildreport.assess import assess_job
from rebuildreport.records import load_shop
from rebuildreport.records.files.issued import read_register

from .. import SMALL_JOBS
from .conftest import DEMO, FOUR, SIX, quick

ISSUED = DEMO / FOUR / "issued"
LINES = [json.loads(line) for line in (ISSUED / "register.jsonl").read_text("utf-8").splitlines()]
LARGEST = 400_000  # bytes: a repository keeps every one of them for ever


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").split())


@pytest.mark.parametrize("line", LINES, ids=[str(line["issue"]) for line in LINES])
def test_each_document_is_what_its_line_says(line: dict[str, object]) -> None:
    """The hash by a second program, the number as printed by another reader of PDFs."""
    file = ISSUED / str(line["file"])
    said = subprocess.run(["sha256sum", str(file)], capture_output=True, text=True, check=True)
    assert said.stdout.split()[0] == line["sha256"]
    assert file.stat().st_size < LARGEST
    document = pypdfium2.PdfDocument(file)
    try:
        text = " ".join(document[0].get_textpage().get_text_range().split())
    finally:
        document.close()
    assert f"issue {line['issue']}, " in text
    assert "Invented demonstration" in text


def test_nothing_is_wrong_with_the_register() -> None:
    register, problems = read_register(DEMO / FOUR)
    assert problems == []
    assert [one.number for one in register.issues] == [*range(1, len(LINES) + 1)]
    days = [one.date for one in register.issues]
    assert days == sorted(days)


def test_the_lines_that_differ_from_the_approved_estimate_are_explained() -> None:
    """By hand: 4 shims of 4.50 were approved with issue 2, 8 were fitted: 18.00, with 19 % 21.42 more."""
    folder = load_shop(DEMO, [FOUR])
    against = assess_job(folder, folder.jobs[FOUR]).cost.against
    assert against is not None and against.issue == 2
    assert [(c.kind, c.number, str(c.difference)) for c in against.changes] == [("changed", "SHIM", "18.00")]
    assert all(change.why for change in against.changes)
    assert against.total_then is not None and str(against.total_now - against.total_then) == "21.42"


def test_what_changed_is_told_in_plain_words() -> None:
    assert LINES[0]["changed"] == []
    said = " ".join(LINES[1]["changed"]).replace("\u00a0", " ")
    for words_of in (
        "The total: 2964.89 EUR, now 3218.95 EUR.",
        "Approved: 15 April 2026, customer, signed: up to 3000.00 EUR",
        "Finding F1, new: Exhaust valve 3 burnt.",
        "Dropped lines: cylinder block: wash (60.00)",
    ):
        assert words_of in said


def test_the_stay_after_delivery_is_told_and_has_its_own_number() -> None:
    last = LINES[-1]
    assert (last["spell"], LINES[-2]["spell"]) == (2, 1)
    said = " ".join(last["changed"]).replace("\u00a0", " ")
    assert "It came back on 2 June 2026: oil at the rear of the cam cover." in said
    assert "Delivered again on 3 June 2026." in said


def test_its_pages_say_which_issue_they_are_or_come_after(tmp_path: Path) -> None:
    """The demo's files may change after it was issued: its pages then say so, and name the issue."""
    shop = shutil.copytree(DEMO, tmp_path / "shop", ignore=shutil.ignore_patterns(SIX, *SMALL_JOBS))
    assert quick(shop, tmp_path / "site").exit_status == 0
    last = LINES[-1]["issue"]
    for name in ("index", "statement"):
        page = words((tmp_path / "site" / "shop" / FOUR / f"{name}.html").read_text("utf-8"))
        assert re.search(rf"No\. {last} of|[Ii]ssue {last}\b|since issue {last} of", page), name
