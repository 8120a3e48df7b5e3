"""What an instrument was set in, and what nobody knows of it: never surer for what was not written down.

JCGM 100:2008, 5.2: an error that two readings share cancels in their difference; of what is not known nothing
may cancel. COMPUTED by hand from the shop's figures.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.quantities import english

from ..keys import value_key
from .bench import Bench

SHEET = """\
bores:
  kind: bore
  positions: C1
  columns: top_t
  unit: mm
skirts:
  kind: journal
  positions: C1
  columns: skirt
  unit: mm
fit:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  new:
    clearance: 0.0355 to 0.0900
"""
TOOLS = """\
  plain_gauge:
    kind: bore gauge
    range: 35 to 160 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
    repeatability: 0.001 mm
  telescopic:
    kind: telescoping gauge
    range: 50 to 150 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
    repeatability: 0.006 mm
  worst_mic:
    kind: micrometer
    range: 25 to 150 mm
    resolution: 0.001 mm
    permitted_error: 0.005 mm
    repeatability: 0.001 mm
"""


def assessed(folder: Path, bores: str) -> Assessment:
    bench = Bench(folder, SHEET, rule="guarded")
    shop = bench.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8") + TOOLS, "utf-8")
    bench.round(
        "arrival",
        "2026-03-02",
        f"bores:\n  instrument: {bores}\n  columns: top_t\n  rows:\n    C1: 86.040\n"
        "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: 86.000\n",
    )
    return bench.assess()


RANDOM = math.hypot(0.001 / math.sqrt(12), 0.001)  # of one reading
GAUGE, MIC, WORST = (error / math.sqrt(3) for error in (0.002, 0.002, 0.005))
LEFT = 86.0 * 11.5e-6 * 0.5 / math.sqrt(3)  # what soaking leaves of each part's temperature


@pytest.mark.parametrize(
    ("bores", "u"),
    [
        # set in the micrometer of the skirt, whose error both share: its reading when set stays
        ("plain_gauge\n  set_from: mic", math.hypot(GAUGE, RANDOM, RANDOM, RANDOM)),
        # not said: any micrometer of the shop that reaches the size, and nothing of it cancels
        ("plain_gauge", math.hypot(GAUGE, RANDOM, RANDOM, RANDOM, WORST, MIC)),
        # carried to the micrometer by feel: its transfer scatters at each reading
        ("telescopic\n  set_from: mic", math.hypot(GAUGE, RANDOM, 0.006, RANDOM)),
        # no micrometer goes into a bore: what took its size there scatters by 5 µm (common practice)
        ("mic", math.hypot(RANDOM, 0.005, RANDOM)),
    ],
)
def test_what_a_gauge_was_set_in(tmp_path: Path, bores: str, u: float) -> None:
    found = assessed(tmp_path, bores).find(value_key("fit.smallest_clearance C1 @arrival"))
    assert found is not None and found.value == pytest.approx(0.040)
    assert found.standard_uncertainty == pytest.approx(math.hypot(u, LEFT, LEFT), rel=0.01)


def test_a_setting_that_nobody_named_makes_nothing_surer_and_is_said(tmp_path: Path) -> None:
    (tmp_path / "set").mkdir()
    (tmp_path / "not").mkdir()
    known = assessed(tmp_path / "set", "plain_gauge\n  set_from: mic")
    unknown = assessed(tmp_path / "not", "plain_gauge")
    one, other = (each.find(value_key("fit.smallest_clearance C1 @arrival")) for each in (known, unknown))
    assert one and other and (one.verdict, other.verdict) == ("as new", "too close to call")
    # what settles it is a word in the file, and no finer instrument
    assert english(other.advice).endswith("nobody noted: what it was read with, or set in")
    said = [english(line) for line in unknown.in_the_files if "set_from" in english(line)]
    assert said == [
        "'set_from:' is missing at bores (arrival): taken as any micrometer, off by up to 0.005 mm"
    ]
    assert not any("set_from" in english(line) for line in known.in_the_files)


def test_repeats_that_are_none_are_judged_as_far_apart_as_they_lie(tmp_path: Path) -> None:
    """86.030 and 86.050 of one spot: nobody knows which, so 0.030 to 0.050 passes no least of 0.0355."""
    bores = "gauge\n  columns: top_t\n  rows:\n    C1: {}\nskirts:\n  instrument: mic\n"
    verdicts = []
    for number, cell in enumerate(("86.030/86.050", "86.050/86.051")):
        (tmp_path / str(number)).mkdir()
        bench = Bench(tmp_path / str(number), SHEET, rule="guarded")
        table = "bores:\n  instrument: " + bores.format(cell) + "  columns: skirt\n  rows:\n    C1: 86.000\n"
        bench.round("arrival", "2026-03-02", table)
        one = bench.assess()
        found = one.find(value_key("fit.smallest_clearance C1 @arrival"))
        assert found is not None
        verdicts.append((found.verdict, any("apart" in english(line) for line in one.to_decide)))
    assert verdicts == [("too close to call", True), ("as new", False)]
