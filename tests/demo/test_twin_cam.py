"""The half-finished twin cam: short and honest, nothing missing is shown as good."""

from __future__ import annotations

import pytest

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.records import ShopFolder

from .conftest import D2, expected

OUT = expected("d2")


@pytest.fixture(scope="module")
def job(demo: ShopFolder) -> Assessment:
    return assess_job(demo, demo.jobs[D2])


def test_values_taken_so_far(job: Assessment) -> None:
    for number, wanted in OUT["compression"].items():
        found = job.find(f"compression.pressure C{number} @arrival")
        assert found is not None and found.value == float(wanted["bar"])
    assert job.engine.displacement == pytest.approx(float(OUT["displacement_cc"]), abs=0.5)


def test_a_journal_measured_once_is_listed_and_not_passed(job: Assessment) -> None:
    wanted = OUT["pins"]["R2"]
    size = job.find("rod_journals.largest R2 @arrival")
    assert size is not None and size.value == float(wanted["max"])
    assert size.verdict == "not measured"
    form = job.find("rod_journals.out_of_round R2 @arrival")
    assert form is not None and form.value is None and form.verdict == "not measured"
    assert "1 of 4" in form.note


def test_the_timing_drive(job: Assessment) -> None:
    wanted = OUT["chain"]
    chain = job.find("timing_chain.elongation chain @arrival")
    assert chain is not None and chain.value is not None and chain.unit == "percent"
    assert f"{chain.value:.3f}" == wanted["elongation_pct"]
    assert (chain.verdict == "beyond limit") == (wanted["ok"] == "false")
    # second method: 320 mm longer by 0.656 % is 2.1 mm; 36 teeth of 8.000 are 288 mm round
    late = job.find("timing_chain.timing_error chain @arrival")
    assert late is not None and late.value == pytest.approx(2 * 360 * 320 * 0.0065625 / 288, rel=0.005)
    teeth = job.find("tensioner.used tensioner @arrival")
    assert teeth is not None and teeth.value == 9 and teeth.guard == 0.0
    assert (teeth.verdict == "beyond limit") == (wanted["tensioner_ok"] == "false")
    for place, ok in wanted["groove_ok"].items():
        groove = job.find(f"chain_guides.groove {place} @arrival")
        assert groove is not None
        assert (groove.verdict == "serviceable") == (ok == "true")


def test_nothing_missing_is_good(job: Assessment) -> None:
    assert all(
        c.verdict in ("not measured", "no limit on file") for c in job.characteristics if c.value is None
    )
    never = next(q for q in job.not_measured if q.startswith("nothing at all"))
    assert "Cylinder bores" in never and "Intake guides" in never


def test_worn_shells_by_their_stamped_grade(job: Assessment) -> None:
    """M1, codes 2/A: S2, at most 1.9925: 52.009 - 2 x 1.9925 - 47.996 = 0.028 (by hand), a lower bound."""
    m1 = job.find("main_clearance.smallest_clearance M1 @arrival")
    assert m1 is not None and m1.value == pytest.approx(0.028, abs=1e-9)
    assert (m1.bound, m1.verdict) == ("at least", "not measured")


def test_the_estimate_is_a_minimum(job: Assessment) -> None:
    assert job.stage == "inspection"
    assert job.cost.minimum
    assert not job.did_is_done
