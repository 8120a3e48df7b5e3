"""What changed since the issue before: told of the record, never of the program's own words.

Each change is made by hand in a copy of the demo, so what must be said is known beforehand.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.freezing import basis, changes
from rebuildreport.assess.money.approvals import frozen_items
from rebuildreport.documents.press.language import language
from rebuildreport.quantities import Sentence
from rebuildreport.records import load_shop
from rebuildreport.records.files.issued import of_now
from rebuildreport.records.load import JOB_FILES

from .. import SMALL_JOBS

JOBS = Path(__file__).resolve().parents[2] / "jobs"
SIX, FOUR = "2026-003-orchard-six", "2026-004-twin-cam"
Frozen = dict[str, dict[str, Any]]  # by job


def copied(folder: Path) -> Path:
    ignore = shutil.ignore_patterns("issued", "*.jpg", *SMALL_JOBS)
    return Path(shutil.copytree(JOBS, folder / "jobs", ignore=ignore))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return copied(tmp_path)


@pytest.fixture(scope="module")
def frozen(tmp_path_factory: pytest.TempPathFactory) -> Frozen:
    """Of each job before any change, as it comes back from its file: nothing of it is a Sentence any more."""
    shop = copied(tmp_path_factory.mktemp("before"))
    return {name: json.loads(basis.to_bytes(live(shop, name))) for name in (SIX, FOUR)}


def live(shop: Path, name: str = FOUR) -> dict[str, Any]:
    folder = load_shop(shop, [name])
    job = folder.jobs[name]
    assert not [one for one in folder.all_problems if one.severity == "error"]
    return basis.basis(folder, job, assess_job(folder, job))


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new, 1), "utf-8")


def told(before: dict[str, Any], now: dict[str, Any], tag: str = "en") -> list[str]:
    spoken = language(tag)
    return [str(spoken.told(one)).replace("\u00a0", " ") for one in changes.changes(before, now)]


@pytest.mark.parametrize("name", [SIX, FOUR])
def test_the_same_files_rest_on_the_same(shop: Path, name: str, frozen: Frozen) -> None:
    before = frozen[name]
    assert basis.same(before, live(shop, name)) and told(before, live(shop, name)) == []


@pytest.mark.parametrize("name", [SIX, FOUR])
def test_other_words_of_the_program_are_no_change(
    shop: Path, name: str, monkeypatch: pytest.MonkeyPatch, frozen: Frozen
) -> None:
    """Every message that the program words is worded otherwise, as a later version might."""
    before = frozen[name]
    plain = Sentence.__init__

    def reworded(self: Sentence, pattern: str, /, **values: object) -> None:
        plain(self, f"Otherwise: {pattern}", **values)

    monkeypatch.setattr(Sentence, "__init__", reworded)
    now = live(shop, name)
    assert now["said"] != before["said"], "the words are indeed others"
    monkeypatch.undo()
    assert basis.same(before, now) and changes.changes(before, now) == []


def test_a_text_broken_into_other_lines_is_no_change(shop: Path, frozen: Frozen) -> None:
    before = frozen[FOUR]
    edit(
        shop / FOUR / "work.yaml",
        "recut; the bores are honed and one",
        "recut; the bores are\n  honed and one",
    )
    assert basis.same(before, live(shop))


def measured(shop: Path) -> None:
    edit(shop / FOUR / "measurements/arrival.yaml", "13.1", "12.4")


def priced(shop: Path) -> None:
    edit(shop / FOUR / "work.yaml", "price: 285.00", "price: 1300.00")


def approved(shop: Path) -> None:
    more = "  - date: 2026-04-24\n    by: customer\n    how: signed\n    limit: 3500.00\n\nreopened:"
    edit(shop / FOUR / "job.yaml", "\nreopened:", more)


def judged(shop: Path) -> None:
    edit(
        shop / "engines/drennick-q16-13.yaml", "elongation: max 0.50 percent", "elongation: max 3.00 percent"
    )


def warmer(shop: Path) -> None:
    edit(shop / FOUR / "measurements/arrival.yaml", "temperature: 20", "temperature: 21")


def decided(shop: Path) -> None:
    edit(shop / FOUR / "work.yaml", "remove: 0.10 mm", "remove: 0.12 mm")


def delivered(shop: Path) -> None:
    edit(shop / FOUR / "job.yaml", "delivered: 2026-05-08", "delivered: 2026-05-09")


def complained(shop: Path) -> None:
    edit(shop / FOUR / "job.yaml", "Misfire on No. 2", "Misfire on No. 3")


def calibrated(shop: Path) -> None:
    edit(
        shop / "shop.yaml",
        "calibrated: 2025-09-15\n    due: 2027-09-15\n  oil",
        "calibrated: 2025-10-15\n  oil",
    )


def taken_back(shop: Path) -> None:
    path = shop / FOUR / "findings.yaml"
    text = path.read_text("utf-8")
    start = text.index("  F1:")
    path.write_text(text[:start] + text[text.index("  F2:") :], "utf-8")
    edit(shop / FOUR / "work.yaml", "for: F1 W2", "for: W2")


@pytest.mark.parametrize(
    ("change", "english", "german"),
    [
        (
            measured,
            "Readings changed: compression C1 (arrival) 13.1 bar, now 12.4 bar.",
            "Geänderte Messwerte: Kompression C1 (Anlieferung) 13,1 bar, jetzt 12,4 bar.",
        ),
        (
            priced,
            "Changed lines: cylinder head: skim 0.10, 1 guide, recut 16 seats, reface: 285.00, now 1300.00.",
            "reface: 285,00, jetzt 1.300,00.",
        ),
        (
            priced,
            "The total: 3240.37 EUR, now 4448.22 EUR.",
            "Der Gesamtbetrag: 3.240,37 EUR, jetzt 4.448,22 EUR.",
        ),
        (
            approved,
            "Approved: 24 April 2026, customer, signed: up to 3500.00 EUR.",
            "Freigegeben: 24. April 2026, Kunde, unterschrieben: bis 3.500,00 EUR.",
        ),
        (
            judged,
            "Timing chain, elongation: beyond limit, now",
            "Steuerkette, Längung: außerhalb, jetzt",
        ),
        (judged, "Also changed: limits.", "Ebenfalls geändert: Grenzen."),
        (
            warmer,
            "Also changed: how it was measured.",
            "Ebenfalls geändert: wie gemessen wurde.",
        ),
        (
            decided,
            "Decision W4 now says: Head height: recondition, 0.12 mm, skimmed, see W3.",
            "Entscheidung W4 lautet jetzt: ",
        ),
        (delivered, "Also changed: the days of the job.", "Ebenfalls geändert: die Tage des Auftrags."),
        (complained, "Also changed: the complaint.", "Ebenfalls geändert: die Beanstandung."),
        (
            calibrated,
            "Also changed: particulars of instruments.",
            "Ebenfalls geändert: Angaben zu Messmitteln.",
        ),
        (
            taken_back,
            "Finding F1 taken back: Exhaust valve 3 burnt.",
            "Befund F1 zurückgenommen: Exhaust valve 3 burnt.",
        ),
    ],
)
def test_what_changed_is_named(
    shop: Path, change: Callable[[Path], None], english: str, german: str, frozen: Frozen
) -> None:
    """1300.00 - 285.00 = 1015.00 net, with 19 % 1207.85 more: 3240.37 becomes 4448.22, by hand."""
    before = frozen[FOUR]
    change(shop)
    now = live(shop)
    assert not basis.same(before, now)
    said, gesagt = told(before, now), told(before, now, "de")
    assert english in " ".join(said)
    assert german in " ".join(gesagt)
    assert not any("no document shows" in one for one in said)


def test_what_no_document_prints_is_no_change(shop: Path, frozen: Frozen) -> None:
    before = frozen[FOUR]
    edit(shop / FOUR / "job.yaml", "Barnaby Thistlewick", "Barnaby T. Thistlewick")
    edit(shop / FOUR / "job.yaml", "looked at by two people", "looked at by three people")
    assert basis.same(before, live(shop))


def test_a_basis_of_the_older_form_is_said_to_be_too_old(shop: Path) -> None:
    now = live(shop)
    before = {**json.loads(basis.to_bytes(now)), "form": "rebuildreport basis 1"}
    (said,) = told(before, now)
    assert "older form" in said and "cannot be worked out" in said
    assert "älteren Form" in told(before, now, "de")[0]


def older(now: dict[str, Any], form: str) -> dict[str, Any]:
    """A basis as it was frozen before: by hand from what those forms joined, and by which sign."""
    before = json.loads(basis.to_bytes(now))
    for head in ("verdicts", "limits"):
        before[head] = [
            [*of, f"{name}/{table}" if table else name, fact] for *of, name, table, fact in before[head]
        ]
    for head in ("verdicts", "limits", "chosen", "readings", "rounds") if form == "2" else ():
        before[head] = {"|".join(of): fact for *of, fact in before[head]}
    keys = {}
    for line in before["lines"]:
        number, words = line["number"], line.pop("words")
        small = "consumable" if line["group"] == "consumable" else f"{line['group']}: {words}"
        keys[line["group"], number, words] = line["key"] = number or small
        if form == "2":
            del line["number"]
    before["said"]["lines"] = {
        keys[group, number, words]: name for group, number, words, name in before["said"]["lines"]
    }
    return {**before, "form": f"rebuildreport basis {form}"}


@pytest.mark.parametrize("form", ["2", "3"])
@pytest.mark.parametrize("name", [SIX, FOUR])
def test_a_basis_of_an_older_form_that_can_be_read_still_rests_on_the_same(
    shop: Path, name: str, form: str
) -> None:
    now = live(shop, name)
    before = of_now(older(now, form))
    assert basis.same(before, now) and told(before, now) == []
    assert frozen_items(before) == frozen_items(json.loads(basis.to_bytes(now)))
    before["readings"][0][-1] = "70.00 mm"
    assert not basis.same(before, now)
    (said,) = told(before, now)
    assert said.startswith("Readings changed: ") and "70.00 mm, now " in said


def test_every_key_of_a_job_is_in_the_basis_or_known_to_be_told_otherwise() -> None:
    """A key that is added to a file is named here until somebody has said how its change is told."""
    told_as_facts = {
        "job": {
            "engine",
            "opened",
            "declined",
            "ready",
            "delivered",
            "promised",
            "language",
            "approvals",
            "paid",
        },
        "findings": {"findings"},
        "work": {
            "candidates",  # of one that was taken: its line
            "access",  # its hours and parts: their lines
            "decisions",
            "deviations",
            "labour",
            "sublet",
            "parts",
            "customer_brings",
            "discounts",
            "orders",
        },
        "running": {"temperature", "tables"},
    }
    in_no_document = {"job": {"publish", "consent", "owner", "issued", "asked", "consent_asked", "was"}}
    typed: dict[str, set[str]] = {}
    whole = set()
    for _, places in basis.TYPED.values():
        for place in places:
            file, *keys = place.split()
            plain = [key for key in keys if not key.startswith("-")]
            typed.setdefault(file, set()).update(plain[:1])
            if not plain:
                whole.add(file)
    for name, model in JOB_FILES.items():
        if name in whole:
            continue
        known = typed.get(name, set()) | told_as_facts.get(name, set()) | in_no_document.get(name, set())
        keys = {field.alias or key for key, field in model.model_fields.items()}
        assert keys - known == set(), f"{name}.yaml: how is a change of these told?"
