"""Whole bushes in grades: one piece a position, chosen as shells are; sums by hand beside each test."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.assess.model.choice import Choice
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.quantities import english
from rebuildreport.trade.choosing.selection import Piece
from rebuildreport.trade.choosing.shells import Grade, option, tried
from rebuildreport.trade.engine.bearings import Clearance
from rebuildreport.trade.measuring.uncertainty import Measured

from .bench import Bench

SHEET = """\
pins:
  kind: journal
  part: piston_pin
  positions: R1 to R3
  columns: mid_a mid_b
  unit: mm
  new:
    size: 39.996 to 40.002
  source: manual page 1
small_ends:
  kind: bore
  part: connecting_rod
  positions: R1 to R3
  columns: mid_v
  unit: mm
  new:
    size: 44.000 to 44.020
  source: manual page 1
bushes:
  kind: shells
  title: Small end bushes
  positions: R1 to R3
  columns: bush
  unit: mm
  grades:
    B1: 1.990 to 1.994
    B2: 1.994 to 1.998
    B3: 1.998 to 2.002
  mix: adjacent
  pieces:
    B1: SB1
    B2: SB2
    B3: SB3
  source: manual page 1
pin_clearance:
  kind: bearing_clearance
  title: Pin clearance
  housing: small_ends
  shells: bushes
  journal: pins
  unit: mm
  target: 0.018
  new:
    clearance: {limits}
  source: manual page 1
"""
PARTS = "parts:\n" + "".join(f"  SB{n}:\n    name: bush\n    price: {n}.50\n" for n in (1, 2, 3))
# less pin and twice the middle wall: R1 0.018 with B2, R2 0.019 with B1, R3 0.019 with B3 (by hand)
READ = """\
pins:
  instrument: mic
  columns: mid_a mid_b
  rows:
    R1: 40.000 40.000
    R2: 40.000 40.000
    R3: 40.000 40.000
small_ends:
  instrument: gauge
  columns: mid_v
  rows:
    R1: 44.010
    R2: 44.003
    R3: 44.019
"""


def made(folder: Path, stock: str = "", limits: str = "0.010 to 0.030", rule: str = "simple") -> Bench:
    bench = Bench(folder, SHEET.format(limits=limits), rule=rule, rest=PARTS)
    if stock:
        text = f"engines:\n  n-4:\n    bushes:\n      columns: B1 B2 B3\n{stock}"
        (bench.shop / "stock.yaml").write_text(text, encoding="utf-8")
    bench.round("arrival", "2026-03-02", READ)
    return bench


def bushes(job: Assessment) -> Choice:
    return next(one for one in job.choices if one.name == "bushes")


def test_one_bush_a_position(tmp_path: Path) -> None:
    job = made(tmp_path).assess()
    found = bushes(job)
    assert found.status == "chosen"
    assert {p.position: english(p.answer) for p in found.places} == {"R1": "B2", "R2": "B1", "R3": "B3"}
    assert [p.middle for p in found.places] == pytest.approx([0.018, 0.019, 0.019])
    assert {buy.part: (english(buy.what), buy.quantity) for buy in found.buy} == {
        "SB1": ("bush B1", 1),
        "SB2": ("bush B2", 1),
        "SB3": ("bush B3", 1),
    }
    assert str(found.cost) == "7.50"  # 1.50 and 2.50 and 3.50
    assert {line.number: line.quantity for line in job.cost.lines} == {"SB1": 1, "SB2": 1, "SB3": 1}


def test_the_shelf_has_one_row_and_scarcity_counts_over_all(tmp_path: Path) -> None:
    """Two B2 and nothing else: R1 0.018; R2 would have 0.011 and R3 0.027; one of the
    three goes without, and what is nearest to it is a B3."""
    rows = "      rows:\n        count: {}\n      no_more: all\n"
    job = made(tmp_path / "short", rows.format("0 2 0")).assess()
    assert bushes(job).status == "none fits"
    assert any(
        "R3: what would fit" in english(line) and "1 bush B3 wanted" in english(line)
        for line in bushes(job).impossible
    )
    wide = "0.006 to 0.032"  # all of the class is inside: twice a wall of ± 0.002 is ± 0.004
    found = bushes(made(tmp_path / "enough", rows.format("0 3 0"), limits=wide).assess())
    assert [(english(p.answer), round(p.middle or 0, 6)) for p in found.places] == [
        ("B2", 0.018),
        ("B2", 0.011),
        ("B2", 0.027),
    ]
    assert [(buy.quantity, buy.order) for buy in found.buy] == [(3, 0)]


def test_the_wall_of_a_bush_counts_twice_with_all_its_doubt() -> None:
    """± 0.002 anywhere is 0.002/√3; twice the same wall doubles it, two halves add by squares."""
    room = Clearance(Measured(4.010), Measured(4.010), Measured(4.010), {})
    grade = Grade("B2", 1.994, 1.998)
    whole = tried(room, grade, grade, (0.010, 0.030), whole=True)
    assert (whole.name, whole.mean) == ("B2", pytest.approx(0.018))
    assert whole.u == pytest.approx(2 * 0.002 / math.sqrt(3))
    assert tried(room, grade, grade, (0.010, 0.030)).u == pytest.approx(math.sqrt(2) * 0.002 / math.sqrt(3))
    assert option(whole, 0.018, ("bush",)).parts == (Piece("bush", "B2"),)


def test_nothing_fits_in_words(tmp_path: Path) -> None:
    """44.030 with B3 leaves 44.030 − 40.000 − 4.000 = 0.030, over 0.025; there is no thicker bush."""
    bench = made(tmp_path, limits="0.010 to 0.025")
    bench.round("arrival", "2026-03-02", READ.replace("44.019", "44.030"))
    found = bushes(bench.assess())
    (said,) = found.impossible
    assert "R3: even the thickest bush (B3) leaves 0.030 mm; limit 0.025" in english(said).replace(
        "\u00a0", " "
    )


def test_the_bush_that_was_decided_is_the_wall_of_the_clearance(tmp_path: Path) -> None:
    bench = made(tmp_path)
    fit = "    fit:\n      R1: B2\n      R2: B1\n      R3: B3\n"
    decision = "decisions:\n  W1:\n    about: bushes\n    do: replace\n    why: worn\n    by: shop\n"
    bench.write("work.yaml", f"{decision}    date: 2026-03-03\n{fit}")
    bench.round("rods", "2026-03-05", READ)
    job = bench.assess()
    assert (bushes(job).status, bushes(job).decision) == ("decided", "W1")
    here = [c for c in job.characteristics if (c.feature, c.position) == ("pin_clearance", "R2")]
    (one,) = (c for c in here if c.name == "mean_clearance")
    assert one.value == pytest.approx(0.019) and "wall band" in english(one.basis)
    page = report_html(job, {}, "shop")
    assert "upper" not in page and "at both halves" not in page


def test_a_bush_is_one_grade_and_one_row(tmp_path: Path) -> None:
    bench = made(tmp_path, "      rows:\n        upper: 1 1 1\n")
    fit = "    fit:\n      R1: B2 B2\n"
    decision = "decisions:\n  W1:\n    about: bushes\n    do: replace\n    why: worn\n    by: shop\n"
    bench.write("work.yaml", f"{decision}    date: 2026-03-03\n{fit}")
    from rebuildreport.records import load_shop

    folder = load_shop(bench.shop)
    said = [(p.file, p.message, p.suggestion) for p in folder.all_problems]
    assert any(
        file.endswith("work.yaml") and "2 grades, and a bearing takes one bush" in message
        for file, message, _ in said
    ), said
    assert any(
        file == "stock.yaml" and "'upper' is no row of a shelf of this kind" in message
        for file, message, _ in said
    ), said


BY_BORE = """\
pins:
  kind: journal
  part: piston_pin
  positions: R1 to R3
  columns: mid_a mid_b
  unit: mm
  new:
    size: 39.994 to 40.002
  source: manual page 1
bushes:
  kind: bore
  title: Small end bushes
  part: small_end_bush
  positions: R1 to R3
  columns: mid_v
  unit: mm
  classes:
    A: 40.010 to 40.014
    B: 40.014 to 40.018
  pieces:
    A: SB1
    B: SB2
  source: manual page 1
pin_fit:
  kind: running_fit
  outer: bushes
  inner: pins
  unit: mm
  new:
    clearance: 0.010 to 0.020
  source: manual page 1
"""


@pytest.mark.parametrize("rule", ["simple", "guarded"])
def test_bushes_classed_by_their_bore_in_place(tmp_path: Path, rule: str) -> None:
    """Aimed at 0.015.  R1: 40.016 − 40.000 is 0.016 with B, 0.012 with A; R2: 40.012 − 39.998 and − 39.996
    are 0.014 to 0.016 with A; of R3 the pin is not measured (by hand).  Guard at most 0.0032: the class
    of ± 0.002 is 0.00115, the micrometer 0.00155."""
    bench = Bench(tmp_path, BY_BORE, rule=rule, rest=PARTS)
    table = "pins:\n  instrument: mic\n  columns: mid_a mid_b\n  rows:\n"
    bench.round("arrival", "2026-03-02", f"{table}    R1: 40.000 40.000\n    R2: 39.998 39.996\n")
    decision = "decisions:\n  W1:\n    about: bushes\n    do: replace\n    why: worn\n    by: shop\n"
    bench.write("work.yaml", f"{decision}    date: 2026-03-03\n")
    job = bench.assess()
    found = bushes(job)
    assert (found.kind, found.status) == ("bushes", "provisional")
    assert [english(place.answer) for place in found.places] == ["B", "A", ""]
    assert [place.low for place in found.places[:2]] == pytest.approx([0.016, 0.014])
    assert [place.high for place in found.places[:2]] == pytest.approx([0.016, 0.016])
    assert {buy.part: buy.positions for buy in found.buy} == {"SB2": ("R1",), "SB1": ("R2",)}
    assert tuple(english(text) for text in found.decides) == ("the pin or journal of R3",)
    assert "thrust" not in english(found.why) and "piston" not in english(found.why)
    assert "he pin or journal of R3" in report_html(job, {}, "shop")


def test_no_class_of_bush_fits_in_words(tmp_path: Path) -> None:
    """A worn pin of 39.980 has 0.032 in the tighter class, over 0.020."""
    bench = Bench(tmp_path, BY_BORE, rest=PARTS)
    table = "pins:\n  instrument: mic\n  columns: mid_a mid_b\n  rows:\n"
    bench.round("arrival", "2026-03-02", f"{table}    R1: 39.980 39.980\n")
    decision = "decisions:\n  W1:\n    about: bushes\n    positions: R1\n    do: replace\n    why: worn\n"
    bench.write("work.yaml", f"{decision}    by: shop\n    date: 2026-03-03\n")
    found = bushes(bench.assess())
    assert found.status == "none fits" and "R1: no class gives a clearance" in english(found.impossible[0])
    assert {english(c.name): c.fitness for c in found.places[0].candidates} == {
        "A": "too large",
        "B": "too large",
    }
