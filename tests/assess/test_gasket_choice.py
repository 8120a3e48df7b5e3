"""Gaskets on offer, held against protrusion and compression ratio; worked out by hand beside each test."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.assess import assess_job
from rebuildreport.assess.model.choice import Choice
from rebuildreport.quantities import english
from rebuildreport.records import load_shop

from .bench import Bench

ROOT = Path(__file__).resolve().parents[2]
FEATURES = """\
protrusion:
  kind: piston_protrusion
  positions: C1 C2
  columns: front rear
  unit: mm
  source: manual page 2
ratio:
  kind: compression_ratio
  title: Compression ratio
  protrusion: protrusion
  chamber_volume: 45.0 cm³
  bowl_volume: 3.5 cm³
  gasket_thickness: 1.00 mm
  gasket_hole: 87.0 mm
  new:
    ratio: {limits}
  source: manual page 2
"""
REST = """\
choices:
  head_gasket:
    by: protrusion
    unit: mm
    table:
      thin: above 0.00 up to 0.10
      thick: above 0.10 up to 0.30
    source: manual page 2
parts:
  thin:
    name: head gasket, thin
    thickness: 1.00 mm
    price: 40.00
    per: engine
  thick:
    name: head gasket, thick
    thickness: 1.40 mm
    price: 44.00
    per: engine
"""


def bench(folder: Path, read: str, limits: str = "9.0 to 11.0", rule: str = "simple") -> Bench:
    made = Bench(folder, FEATURES.format(limits=limits), rule=rule, rest=REST)
    made.square()
    rows = f"    C1: {read} {read}\n    C2: 0.020 0.020\n"
    made.round(
        "arrival", "2026-03-02", f"protrusion:\n  instrument: mic\n  columns: front rear\n  rows:\n{rows}"
    )
    return made


def gasket(made: Bench) -> Choice:
    return next(one for one in made.assess().choices if one.kind == "gasket")


def test_each_gasket_has_its_ratio_and_the_table_decides(tmp_path: Path) -> None:
    """86 x 86 mm sweeps 499.56 cm³.  Over C1 (0.08 proud) 45 + 3.5 + 5.945 - 0.465 = 53.98 cm³ stay with
    1.00 mm, 10.25 to 1, and 56.36 with 1.40, 9.86 to 1; over C2 (0.02) 54.33 and 56.71: 10.20 and 9.81."""
    found = gasket(bench(tmp_path, "0.080"))
    assert (found.status, english(found.answer)) == ("chosen", "thin, 1.00 mm pressed")
    thin, thick = found.steps
    assert (thin.low, thin.high) == pytest.approx((10.195, 10.255), abs=0.003)
    assert (thick.low, thick.high) == pytest.approx((9.809, 9.864), abs=0.003)
    assert (thin.middle, thick.middle) == (1.0, 1.4)
    assert thin.chosen and not thick.chosen and english(thick.note).startswith("not for")
    assert found.cost == 40


def test_a_ratio_beyond_its_limit_stops_the_gasket_that_the_table_names(tmp_path: Path) -> None:
    found = gasket(bench(tmp_path, "0.080", limits="9.0 to 10.0"))
    assert found.status == "none fits" and not english(found.answer).startswith("thin")
    assert "compression ratio is beyond its limit" in english(found.impossible[0])
    assert found.steps[0].fitness == "beyond limit" and "C1" in english(found.steps[0].note)


def test_near_a_border_the_ratio_nearest_to_its_middle_leads_and_nothing_is_sure(tmp_path: Path) -> None:
    """0.099 is a micrometre from the border and read to about two: both may serve.  With 9.0 to 10.7 the
    middle is 9.85, and 1.40 mm (9.88 at C1) is nearer to it than 1.00 (10.27)."""
    found = gasket(bench(tmp_path, "0.099", limits="9.0 to 10.7", rule="guarded"))
    assert found.status == "provisional" and english(found.answer) == "thick, 1.40 mm pressed"
    assert "thin and thick may serve" in english(found.why)
    assert not found.settled


@pytest.mark.parametrize(
    "read, limits, rule, bought",
    [
        ("0.080", "9.0 to 11.0", "simple", ["thin"]),
        ("0.099", "9.0 to 10.7", "guarded", ["thick"]),  # the same as the choice above, and a question
        ("0.080", "9.0 to 10.0", "simple", []),  # the only one of the table makes too much of it
    ],
)
def test_what_is_bought_is_what_was_chosen(
    tmp_path: Path, read: str, limits: str, rule: str, bought: list[str]
) -> None:
    made = bench(tmp_path, read, limits, rule)
    sheet = made.shop / "engines" / "n-4.yaml"
    joints = "joints:\n  cylinder_head:\n    needs: head_gasket\nchoices:\n"
    sheet.write_text(sheet.read_text("utf-8").replace("choices:\n", joints, 1), "utf-8")
    made.write("teardown.yaml", "by: me\ndate: 2026-03-01\nsteps:\n  - removed: cylinder_head\n")
    assert [line.number for line in made.assess().cost.lines if line.number in ("thin", "thick")] == bought


def test_none_of_the_table(tmp_path: Path) -> None:
    found = gasket(bench(tmp_path, "0.350"))
    assert found.status in ("none fits", "nothing known") and not found.buy
    assert "none of the sheet's is for" in english(found.impossible[0])


def test_the_demo_six_keeps_its_gasket(tmp_path: Path) -> None:
    """The ratio of each gasket from that with 1.30 mm by another way: a tenth of a millimetre in a hole of
    100 mm is 0.785 cm³, and what stays over a piston is swept / (ratio - 1)."""
    folder = load_shop(ROOT / "jobs", ["2026-003-orchard-six"])
    six = assess_job(folder, folder.jobs["2026-003-orchard-six"])
    found = next(one for one in six.choices if one.kind == "gasket")
    assert (found.status, english(found.answer)) == ("chosen", "HG-1.3, 1.30 mm pressed")
    ratios = [
        c.value
        for c in six.characteristics
        if c.feature == "compression_ratio" and c.name == "ratio" and c.stands
    ]
    known = {english(step.name): (step.low, step.high) for step in found.steps}
    assert known["HG-1.3"] == pytest.approx((min(ratios), max(ratios)), abs=0.001)
    swept = 5431.0 / 6  # cm³, of the sheet's 98 x 120 mm
    for name, more in (("HG-1.2", -0.785), ("HG-1.4", 0.785)):
        by_hand = [1 + swept / (swept / (ratio - 1) + more) for ratio in (min(ratios), max(ratios))]
        assert known[name] == pytest.approx(by_hand, abs=0.02)
