"""The twin cam: measured and machined, with its choices made; and as it was on its first evening."""

from __future__ import annotations

import shutil
from decimal import Decimal

import pytest

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.choice_model import Choice
from rebuildreport.assess.model import Characteristic
from rebuildreport.records import ShopFolder, load_shop

from .conftest import D2, ROOT, expected

OUT = expected("d2")
LATER = [
    "work.yaml",
    *(f"measurements/{n}.yaml" for n in ("arrival-continued", "after-machining", "valve-clearance")),
]


@pytest.fixture(scope="module")
def job(demo: ShopFolder) -> Assessment:
    return assess_job(demo, demo.jobs[D2])


@pytest.fixture(scope="module")
def early(tmp_path_factory: pytest.TempPathFactory) -> Assessment:
    """The same job on the evening of its first measurements."""
    shop = tmp_path_factory.mktemp("early") / "jobs"
    shutil.copytree(ROOT / "jobs", shop, ignore=shutil.ignore_patterns("photos", "2026-003*"))
    for name in LATER:
        (shop / D2 / name).unlink()
    folder = load_shop(shop)
    return assess_job(folder, folder.jobs[D2])


def standing(job: Assessment, feature: str, name: str, position: str) -> Characteristic:
    return next(
        c
        for c in job.characteristics
        if (c.feature, c.name, c.position) == (feature, name, position) and c.stands and c.value is not None
    )


def choice(job: Assessment, name: str) -> Choice:
    return next(one for one in job.choices if one.name == name)


# ---------------------------------------------------------------- the first evening


def test_values_taken_so_far(early: Assessment) -> None:
    for number, wanted in OUT["compression"].items():
        found = early.find(f"compression.pressure C{number} @arrival")
        assert found is not None and found.value == float(wanted["bar"])
    assert early.engine.displacement == pytest.approx(float(OUT["displacement_cc"]), abs=0.5)


def test_a_journal_measured_once_is_listed_and_not_passed(early: Assessment) -> None:
    wanted = OUT["pins"]["R2"]
    size = early.find("rod_journals.largest R2 @arrival")
    assert size is not None and size.value == float(wanted["max"])
    assert size.verdict == "not measured"
    form = early.find("rod_journals.out_of_round R2 @arrival")
    assert form is not None and form.value is None and form.verdict == "not measured"
    assert "1 of 4" in form.note


def test_the_timing_drive(early: Assessment) -> None:
    wanted = OUT["chain"]
    chain = early.find("timing_chain.elongation chain @arrival")
    assert chain is not None and chain.value is not None and chain.unit == "percent"
    assert f"{chain.value:.3f}" == wanted["elongation_pct"]
    assert (chain.verdict == "beyond limit") == (wanted["ok"] == "false")
    # second method: 320 mm longer by 0.656 % is 2.1 mm; 36 teeth of 8.000 are 288 mm round
    late = early.find("timing_chain.timing_error chain @arrival")
    assert late is not None and late.value == pytest.approx(2 * 360 * 320 * 0.0065625 / 288, rel=0.005)
    teeth = early.find("tensioner.used tensioner @arrival")
    assert teeth is not None and teeth.value == 9 and teeth.guard == 0.0
    assert (teeth.verdict == "beyond limit") == (wanted["tensioner_ok"] == "false")
    for place, ok in wanted["groove_ok"].items():
        groove = early.find(f"chain_guides.groove {place} @arrival")
        assert groove is not None
        assert (groove.verdict == "serviceable") == (ok == "true")


def test_nothing_missing_is_good(early: Assessment) -> None:
    assert all(
        c.verdict in ("not measured", "no limit on file") for c in early.characteristics if c.value is None
    )
    never = next(q for q in early.not_measured if q.startswith("nothing at all"))
    assert "Cylinder bores" in never and "Intake guides" in never


def test_worn_shells_by_their_stamped_grade(early: Assessment) -> None:
    """M1, codes 2/A: S2, at most 1.9925: 52.009 - 2 x 1.9925 - 47.996 = 0.028 (by hand), a lower bound."""
    m1 = early.find("main_clearance.smallest_clearance M1 @arrival")
    assert m1 is not None and m1.value == pytest.approx(0.028, abs=1e-9)
    assert (m1.bound, m1.verdict) == ("at least", "not measured")


def test_the_first_estimate_is_a_minimum(early: Assessment) -> None:
    assert early.stage == "inspection"
    assert early.cost.minimum
    assert not early.did_is_done


def test_shells_half_by_code_are_provisional(early: Assessment) -> None:
    shells = choice(early, "main_shells")
    assert shells.status == "provisional" and shells.buy != ()
    assert {p.position: p.status for p in shells.places}["M4"] == "provisional"
    assert any("M4, M5" in line for line in shells.decides)


# ---------------------------------------------------------------- now


def test_shells_as_chosen_and_as_measured(job: Assessment) -> None:
    shells = choice(job, "main_shells")
    assert (shells.status, shells.decision) == ("decided", "W7")
    for place in shells.places:
        wanted = OUT["main_shells"][place.position]
        assert place.answer == wanted["fit_upper_lower"]
        assert (place.by_code, place.by_measurement) == (wanted["by_code"], wanted["by_measurement"])
        for name, key in (("smallest_clearance", "min"), ("largest_clearance", "max")):
            found = standing(job, "main_clearance", name, place.position)
            assert found.value == pytest.approx(float(wanted["clearance"][key]), abs=1e-9)
            assert found.verdict == "as new"


def test_rod_clearances(job: Assessment) -> None:
    for position, wanted in OUT["rod_clearance"].items():
        low = standing(job, "rod_clearance", "smallest_clearance", position)
        high = standing(job, "rod_clearance", "largest_clearance", position)
        assert low.value == pytest.approx(float(wanted["min"]), abs=1e-9)
        assert high.value == pytest.approx(float(wanted["max"]), abs=1e-9)
        assert (low.verdict == "not measured") is ("provisional" in wanted["verdict"])


def test_pistons(job: Assessment) -> None:
    assert choice(job, "piston_skirts").answer == "class B in C4"
    for position, wanted in {**OUT["piston_after_hone"], "C4": OUT["c4_choices"]["B"]}.items():
        low = standing(job, "piston_clearance", "smallest_clearance", position)
        high = standing(job, "piston_clearance", "largest_clearance", position)
        assert low.value == pytest.approx(float(wanted["min"]), abs=1e-9)
        assert high.value == pytest.approx(float(wanted["max"]), abs=1e-9)


def test_guides_over_their_limit(job: Assessment) -> None:
    found = {
        c.position
        for c in job.characteristics
        if c.feature in ("intake_guides", "exhaust_guides") and c.verdict == "beyond limit"
    }
    assert found == set(OUT["guides_over_service"])


def test_shims(job: Assessment) -> None:
    shims = choice(job, "bucket_shims")
    wanted = OUT["shims"]
    assert (shims.status, shims.decision) == ("decided", "W8")
    assert shims.off == pytest.approx(float(wanted["optimum"]["sum_abs_dev"]))
    assert sum(buy.quantity for buy in shims.buy) == int(wanted["buy_count"])
    for place in shims.places:
        low, high = place.low, place.high
        assert place.middle is not None and low is not None and high is not None
        assert low <= place.middle <= high
    # what was read again with a trial shim is not asked for again
    assert not any("no clearance is no reading" in line for line in job.to_decide)


def test_the_head_came_back_right(job: Assessment) -> None:
    (order,) = job.orders
    assert [operation.surface for operation in order.operations] == ["Head face", "Head height"]
    assert order.operations[1].remove == pytest.approx(0.10)
    assert {line.outcome for line in order.returned} == {"accepted"}
    height = standing(job, "head_height", "height", "head")
    assert height.value == float(OUT["head"]["height_after"])


def test_the_estimate_to_the_cent(job: Assessment) -> None:
    wanted = OUT["estimate"]
    money = job.cost
    assert (money.parts, money.sublet, money.labour) == tuple(
        Decimal(wanted[key]) for key in ("parts", "sublet", "labour")
    )
    assert (money.net, money.tax, money.total) == tuple(
        Decimal(wanted[key]) for key in ("net", "tax", "total")
    )


def test_nothing_of_the_owner_in_an_order(job: Assessment, demo: ShopFolder) -> None:
    record = demo.jobs[D2].job
    assert record is not None and record.owner is not None
    private = [record.owner.name, record.owner.contact, record.owner.registration, record.owner.serial]
    text = repr(job.orders)
    assert not [word for word in private if word and word.split(" (")[0] in text]
