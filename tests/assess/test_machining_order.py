"""The sizes of a machining order: as many places as they need in both units, and never wider in print.

Conversions are exact, 1 in = 25.4 mm (NIST SP 811); sums by hand beside each case.
"""

from __future__ import annotations

import html
import re
from collections import Counter
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rebuildreport.assess import Assessment, assess_job
from rebuildreport.assess.measure.titles import titled
from rebuildreport.assess.model.choice import ShopOrder
from rebuildreport.documents.sheets import register
from rebuildreport.quantities import english, show_limits
from rebuildreport.records import load_shop
from rebuildreport.records.files.jobfile import Work

from .bench import Bench

SHEET = """\
journals:
  kind: journal
  part: crankshaft
  positions: M1 M2
  columns: front_a front_b rear_a rear_b
  unit: {unit}
  new:
    size: {size}
    out_of_round: {form}
  undersizes: {steps}
  source: manual page 1
"""
INCH = {"unit": "in", "size": "3.3425 to 3.3435", "form": "max 0.00025", "steps": "0.010 0.020 in"}
METRIC = {"unit": "mm", "size": "75.970 to 75.990", "form": "max 0.008", "steps": "0.25 mm, 0.010 in"}


def order(folder: Path, sheet: dict[str, str], step: str, first: str = "mm", after: str = "") -> str:
    steps = sheet["steps"].partition(",")[0] if "in" not in step else sheet["steps"].rpartition(", ")[2]
    bench = Bench(folder, SHEET.format(**{**sheet, "steps": steps}))
    shop = bench.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8").replace("first_unit: mm", f"first_unit: {first}"), "utf-8")
    bench.write(
        "work.yaml",
        f"decisions:\n  W1:\n    about: journals\n    do: recondition\n    size: {step} undersize\n"
        "    why: worn\n    by: shop\n    date: 2026-03-03\nmachining:\n  O1:\n    to: the grinder\n"
        "    parts: crankshaft\n",
    )
    columns = "front_a front_b rear_a rear_b"
    if after:
        rows = f"    M1: {after}\n    M2: {after}\n"
        bench.round(
            "ground", "2026-03-09", f"journals:\n  columns: {columns}\n  instrument: mic\n  rows:\n{rows}"
        )
    return printed(bench)


def printed(bench: Bench) -> str:
    sheet_ = register.named("machining-order")
    page = sheet_.html(sheet_.view(bench.assess(), None))
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\u00a0", " ").split())


def test_inch_limits_keep_their_four_places(tmp_path: Path) -> None:
    """3.3425 to 3.3435 less 0.010 is 3.3325 to 3.3335; in mm 84.6455 to 84.6709, so 84.646 to 84.670."""
    said = order(tmp_path / "in", INCH, "0.010 in", "in")
    assert "3.3330 3.3325 3.3335 in 84.658 84.646 84.670 mm" in said
    assert "Out of round 0 0.00025 in" in said
    assert "84.658 84.646 84.670 mm 3.3330 3.3325 3.3335 in" in order(tmp_path / "mm", INCH, "0.010 in")


CUT = """\
face:
  kind: straightedge
  part: head
  positions: long
  columns: gap
  unit: mm
  new:
    gap: max 0.05
  height: height
height:
  kind: readings
  part: head
  positions: head
  columns: height
  unit: in
  wear:
    height: min 4.560
  source: manual page 1
"""


def test_a_cut_leaves_what_the_line_beside_it_says(tmp_path: Path) -> None:
    """116.35 − 0.254 is 116.096 mm, 4.57071 in: as a limit to three places it was 4.570 beside 4.571."""
    bench = Bench(tmp_path, CUT)
    shop = bench.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8").replace("first_unit: mm", "first_unit: in"), "utf-8")
    tables = {"face": ("gap", "feelers", "long: 0.20"), "height": ("height", "gauge", "head: 116.35")}
    body = (
        f"{name}:\n  unit: mm\n  columns: {column}\n  instrument: {tool}\n  rows:\n    {row}\n"
        for name, (column, tool, row) in tables.items()
    )
    bench.round("arrival", "2026-03-02", "".join(body))
    bench.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: height\n    do: recondition\n    remove: 0.010 in\n    why: hollow\n"
        "    by: shop\n    date: 2026-03-03\nmachining:\n  O1:\n    to: the grinder\n    parts: head\n",
    )
    page = printed(bench)
    assert "Finished size 4.5707 4.5600 4.5707 in 116.096 115.824 116.096 mm" in page
    assert "4.581 to 4.571" in page


def test_a_height_that_was_cut_has_its_wear_limit_to_keep(tmp_path: Path) -> None:
    """New it has 4.578 to 4.582 in; by 0.010 cut from 4.581 it has 4.571, over the 4.560 that must stay."""
    new = CUT.replace("  wear:\n    height", "  new:\n    height: 4.578 to 4.582\n  wear:\n    height")
    bench = Bench(tmp_path, new)
    table = "height:\n  unit: in\n  columns: height\n  instrument: gauge\n  rows:\n    head: {}\n"
    bench.round("arrival", "2026-03-02", table.format("4.581"))
    bench.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: height\n    do: recondition\n    remove: 0.010 in\n    why: hollow\n"
        "    by: shop\n    date: 2026-03-03\nmachining:\n  O1:\n    to: the grinder\n    parts: head\n",
    )
    assert not [limit for limit in bench.assess().orders[0].operations[0].form if limit.name == "height"]
    for read, outcome in (("4.571", "accepted"), ("4.550", "rejected")):
        bench.round("cut", "2026-03-09", table.format(read))
        (back,) = [line for line in bench.assess().orders[0].returned if english(line.what) == "height"]
        assert (read, back.outcome) == (read, outcome)


def test_metric_limits_are_no_wider_in_inches(tmp_path: Path) -> None:
    """75.720 to 75.740 is 2.98110 to 2.98189 in: 2.9812 to 2.9818 would take 24 % off; a place more 1 %."""
    said = order(tmp_path, METRIC, "0.25 mm")
    assert "75.730 75.720 75.740 mm 2.98150 2.98111 2.98188 in" in said  # 75.730 is 2.981496
    assert "Out of round 0 0.008 mm" in said


def test_a_step_of_the_other_system(tmp_path: Path) -> None:
    """75.970 to 75.990 less 0.254 (0.010 in) is 75.716 to 75.736."""
    assert "75.726 75.716 75.736 mm" in order(tmp_path, METRIC, "0.010 in")


def test_what_comes_back_stays_on_its_side_of_the_limit(tmp_path: Path) -> None:
    """75.7402 is past 75.740, and says so although its readings are good for three places."""
    said = order(tmp_path, METRIC, "0.25 mm", after="75.7402 75.7400 75.7400 75.7400")
    assert "rejected" in said and "75.7402" in said


@given(
    st.decimals("0.001", "200", places=4),
    st.decimals("0.0005", "0.5", places=4),
    st.sampled_from(["mm", "in"]),
    st.integers(2, 4),
)
def test_limits_never_become_wider_and_lose_little(
    low: Decimal, width: Decimal, system: str, decimals: int
) -> None:
    """COMPUTED in exact decimals: both ends inside, and nine tenths of the tolerance are left."""
    high = low + width
    exact = [end if system == "mm" else end / Decimal("25.4") for end in (low, high)]
    shown = [
        Decimal(text) for text in show_limits(float(low), float(high), "mm", decimals, system).split("–")
    ]
    assert exact[0] - Decimal("1e-8") <= shown[0] <= shown[1] <= exact[1] + Decimal("1e-8")
    assert shown[1] - shown[0] >= Decimal("0.89") * (exact[1] - exact[0])


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ((None, 0.03), "max 0.0011"),
        ((118.80, None), "min 4.6772"),
        ((None, None), ""),
        ((-0.05, None), "min −0.0019"),
    ],
)
def test_lone_ends(ends: tuple[float | None, float | None], said: str) -> None:
    """0.03 is 0.00118 in: 0.0011 keeps 93 %; 118.80 is 4.67717 in, and −0.05 is −0.00197."""
    assert show_limits(*ends, "mm", 3, "in") == said


@pytest.fixture(scope="module")
def head() -> ShopOrder:
    """The demo's order for rods and head of the six."""
    folder = load_shop(Path(__file__).resolve().parents[2] / "jobs", ["2026-003-orchard-six"])
    return assess_job(folder, folder.jobs["2026-003-orchard-six"]).orders[1]


def test_a_cut_has_both_its_limits_and_its_face_is_one_line_with_it(head: ShopOrder) -> None:
    """92.45 read, 0.15 asked off: 92.30 at most is left, and 92.00 is the least of the sheet."""
    (cut,) = [line for line in head.operations if line.remove]
    assert cut.size == pytest.approx((92.00, 92.30))
    assert english(cut.surface) == "Head face" and [limit.name for limit in cut.form] == ["gap"]
    assert cut.form[0].ends == (None, 0.10)
    assert [feature for feature, _ in cut.spots] == ["head_height", "head_flatness"]
    titles = [(english(line.surface), line.positions) for line in head.operations]
    assert len(titles) == len(set(titles))


def test_new_parts_that_are_priced_as_its_work_have_a_line(head: ShopOrder) -> None:
    """A seat at E3, guides at E3 and E5; the liners of the block and the crank's washers are not its work."""
    new = {
        line.feature: (line.positions, english(line.work))
        for line in head.operations
        if "new" in english(line.work)
    }
    assert new == {
        "exhaust_recession": (("E3",), "fit new exhaust seat insert"),
        "exhaust_guides": (("E3", "E5"), "fit new exhaust guide, exhaust valve"),
    }
    assert [(english(part), words) for part, words in head.agreed] == [
        ("Connecting rod", "resize big end of rod 3"),
        ("Cylinder head", "skim 0.15, 1 seat, 2 guides, reface"),
    ]


def test_every_line_says_what_it_must_come_to_or_that_nobody_knows(head: ShopOrder) -> None:
    assert all(line.part and line.positions and english(line.work) != "machine" for line in head.operations)
    assert [line.feature for line in head.operations if not line.targeted] == ["exhaust_guides"]
    assert all(line.report for line in head.operations if line.targeted)


def test_what_is_decided_twice_about_one_place_is_one_line(tmp_path: Path) -> None:
    bench = Bench(tmp_path, SHEET.format(**{**METRIC, "steps": "0.25 0.50 mm"}))
    decision = (
        "  {}:\n    about: {}\n    do: recondition\n    size: {} undersize\n    why: worn\n    by: shop\n"
        "    date: 2026-03-0{}\n"
    )
    first = decision.format("W1", "crankshaft", "0.25 mm", 3)
    both = first + decision.format("W2", "journals", "0.50 mm", 4)
    order = "machining:\n  O1:\n    to: the grinder\n    parts: crankshaft\n"
    bench.write("work.yaml", f"decisions:\n{both}{order}")
    (line,) = bench.assess().orders[0].operations
    assert (line.positions, line.decisions) == (("M1", "M2"), ("W2",))
    assert english(line.work) == "grind to 0.50 mm undersize"


JOBS = Path(__file__).resolve().parents[2] / "jobs"


def priced_and_ordered(assessment: Assessment, record: Work) -> None:
    """Every line that is priced stands once on one order; every operation is priced, or named as unpriced."""
    stands: Counter[tuple[str, str]] = Counter()
    for order in assessment.orders:
        stands.update((english(part), work) for part, work in order.agreed)
        stands.update((english(one.part), english(one.work)) for one in order.operations if not one.feature)
        made = [(spot, place) for one in order.operations for spot, places in one.spots for place in places]
        assert len(made) == len(set(made)), "one surface is ordered twice"
    priced = Counter((english(titled(line.part)), line.work) for line in record.sublet)
    told = [english(text) for text in assessment.in_the_files]
    for (part, work), count in priced.items():
        missing = any(part in text and work in text for text in told)
        assert stands[part, work] == (0 if missing else count), (part, work)
    assert set(stands) <= set(priced)
    for order in assessment.orders:
        paid = {part for part, _ in stands}
        unpaid = [one for one in order.operations if english(one.part) not in paid]
        said = [english(text) for text in order.missing]
        assert order.sent or all(any(english(one.surface) in text for text in said) for one in unpaid)


@pytest.mark.parametrize("name", ["2026-003-orchard-six", "2026-004-twin-cam"])
def test_the_demo_orders_what_it_prices_and_prices_what_it_orders(name: str) -> None:
    folder = load_shop(JOBS, [name])
    work = folder.jobs[name].work
    assert work is not None
    assessment = assess_job(folder, folder.jobs[name])
    priced_and_ordered(assessment, work)
    assert sum(len(order.operations) for order in assessment.orders)
    assert not [text for text in assessment.in_the_files if "sublet" in english(text)]


TWO = SHEET.format(**{**METRIC, "steps": "0.25 0.50 mm"}) + SHEET.format(
    **{**METRIC, "steps": "0.25 mm"}
).replace("journals:", "pins:").replace("M1 M2", "R1 R2")


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    decided=st.sets(st.sampled_from(["journals", "pins"])),
    priced=st.lists(
        st.sampled_from([("crankshaft", "grind"), ("crankshaft", "polish"), ("cylinder_block", "wash")]),
        unique=True,
    ),
    sent=st.sampled_from(["crankshaft", "crankshaft, cylinder_block", "cylinder_block"]),
)
def test_generated_work_is_ordered_as_it_is_priced(
    tmp_path: Path, decided: set[str], priced: list[tuple[str, str]], sent: str
) -> None:
    bench = Bench(tmp_path / f"{len(list(tmp_path.iterdir()))}", TWO)
    text = "".join(
        f"  W{n}:\n    about: {name}\n    do: recondition\n    size: 0.25 mm undersize\n    why: worn\n"
        "    by: shop\n    date: 2026-03-03\n"
        for n, name in enumerate(sorted(decided), 1)
    )
    text = f"decisions:\n{text}" if text else ""
    lines = "".join(f"  - part: {part}\n    work: {work}\n    price: 10.00\n" for part, work in priced)
    text += f"sublet:\n{lines}" if lines else ""
    known = {"crankshaft", *(part for part, _ in priced)}
    parts = ", ".join(part for part in sent.split(", ") if part in known) or "crankshaft"
    bench.write("work.yaml", f"{text}machining:\n  O1:\n    to: the grinder\n    parts: {parts}\n")
    assessment = bench.assess()
    work = load_shop(bench.shop).jobs[assessment.job].work
    assert work is not None
    priced_and_ordered(assessment, work)
