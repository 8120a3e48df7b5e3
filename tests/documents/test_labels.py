"""Labels: each on its place of the sheet that the shop buys, nothing of the customer's, the code."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.model.bench import RegisterEntry
from rebuildreport.documents.sheets import register
from rebuildreport.quantities import Typed
from rebuildreport.records import load_shop

ROOT = Path(__file__).resolve().parents[2]
SIX = "2026-003-orchard-six"
LABELS = register.named("labels")
ADDRESS = "https://oldmill.invalid/jobs/2026-003-orchard-six/"


@pytest.fixture(scope="module")
def job() -> Assessment:
    folder = load_shop(ROOT / "jobs", [SIX])
    one = assess_job(folder, folder.jobs[SIX])
    assert one.labels is not None
    return replace(one, labels=replace(one.labels, link=ADDRESS))


def many(job: Assessment, places: int) -> Assessment:
    """With a set of pistons that is told apart, so that the labels take a second sheet."""
    positions = tuple(f"C{number}" for number in range(1, places + 1))
    pistons = RegisterEntry("identity", "piston with pin", Typed("marked arrow"), positions=positions)
    kept = replace(job.bench.register, entries=(pistons,))
    return replace(job, bench=replace(job.bench, register=kept))


def test_a_label_for_the_job_and_one_a_place(job: Assessment) -> None:
    view: Any = LABELS.view(many(job, 26))
    # 3 columns of 8 rows; one for the job itself
    assert [len(sheet) for sheet in view.sheets] == [24, 3]
    assert [label.position for label in view.sheets[0][:3]] == ["", "C1", "C2"]
    # A4 by three columns is 70 mm; 297 less twice 4.5 by eight rows is 36 mm (as sold: 70 x 36 mm)
    assert (view.width, view.height) == ("70.00", "36.00")
    last = view.sheets[0][-1]
    assert (last.left, last.top) == ("140.00", "256.50")


def test_the_code_of_a_job_that_nobody_else_sees_leads_to_the_shops_own_page() -> None:
    name = "2026-016-recovery-truck-v8"
    folder = load_shop(ROOT / "jobs", [name])
    found = assess_job(folder, folder.jobs[name])
    assert not found.publish and found.labels
    assert found.labels.link == f"http://bench.invalid/{name}/"  # as the demo's shop.yaml has it


def test_nothing_of_the_customers_stands_on_a_label(job: Assessment) -> None:
    page = LABELS.html(LABELS.view(job))
    head = job.letterhead
    assert not [text for text in (head.customer, head.serial, head.plate) if text in page]


def test_the_code_is_the_address(job: Assessment, pdf_renderer: Any) -> None:
    """Drawn module by module as the library lays it out, with the quiet zone of ISO/IEC 18004."""
    import segno

    view: Any = LABELS.view(job)
    assert ADDRESS in view.code.label
    ground, dark = view.code.paths
    size = float(view.code.width)
    assert ground.role == "qr-ground" and dark.role == "qr"
    modules = {tuple(map(int, box.split("H")[0].split())) for box in dark.d.split("M")[1:]}
    wanted = segno.make(ADDRESS, error="q", micro=False)
    rows = list(wanted.matrix_iter(scale=1, border=4))
    assert size == len(rows)
    assert modules == {(x, y) for y, row in enumerate(rows) for x, one in enumerate(row) if one}
    assert LABELS.pdf(view, job).startswith(b"%PDF")
