"""Halves under names of their own, half a shell measured, and which limits decide after grinding: by hand."""

from __future__ import annotations

import html
import math
import re
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.documents.report.rendering import report_html
from rebuildreport.quantities import english

from ..keys import value_key
from .bench import Bench
from .test_cases import BEARING, PARTS, READ, find

GROUND = """\
decisions:
  W1:
    about: journals
    do: recondition
    size: 0.010 in undersize
    why: worn
    by: shop
    date: 2026-03-05
  W2:
    about: shells
    do: replace
    why: worn
    by: shop
    date: 2026-03-05
"""


def walls(*rows: str, columns: str = "upper lower") -> str:
    head = f"shells:\n  instrument: mic\n  columns: {columns}\n  rows:\n"
    return head + "".join(f"    {row}\n" for row in rows)


@pytest.mark.parametrize("columns", ["left right", "rod cap", "lower upper"])
def test_halves_are_the_two_columns_of_the_sheet(tmp_path: Path, columns: str) -> None:
    """52.024 less 1.997 less 1.990 less 47.992 is 0.045; the thickest new walls would have given 0.032."""
    bench = Bench(tmp_path, BEARING.replace("columns: upper lower", f"columns: {columns}"), rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + walls("M1: 1.997 1.990", columns=columns))
    found = find(bench, "clearance.smallest_clearance M1 @arrival")
    assert (english(found.basis), found.bound) == ("measured walls", "equal")
    assert found.value == pytest.approx(0.045, abs=1e-9)
    one = columns.split()[0]
    wall = find(bench, f"shells.{one} M1 @arrival")
    assert wall.value == 1.997 and wall.limits is not None and wall.limits.new == (1.990, 2.000)


def test_columns_that_name_no_halves_are_an_error(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING.replace("columns: upper lower", "columns: wall"), rest=PARTS)
    problems = bench.assess(clean=False).problems
    (said,) = [one for one in problems if one.severity == "error"]
    assert "two halves" in said.message and "upper lower, left right, or rod cap" in said.suggestion


def test_one_half_measured_bounds_only_the_other(tmp_path: Path) -> None:
    """52.024 less 1.950 (measured) less 2.000 (at most) less 47.992 is at least 0.082, over 0.080."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + walls("M1: -- 1.950"))
    found = find(bench, "clearance.smallest_clearance M1 @arrival")
    assert found.value == pytest.approx(0.082, abs=1e-9)
    assert (found.bound, found.verdict, english(found.side)) == ("at least", "beyond limit", "too large")
    assert "lower wall measured" in english(found.basis)
    # 0.072 says nothing: the other half may be worn as well
    bench.round("arrival", "2026-03-02", READ + walls("M1: -- 1.960"))
    assert find(bench, "clearance.smallest_clearance M1 @arrival").verdict == "not measured"


def test_of_a_journal_half_read_the_mean_is_not_known(tmp_path: Path) -> None:
    """The least is at most what one of four readings leaves, the largest at least; the mean is neither."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    half = re.sub(r"M1: 47\.\S+ (\S+) \S+ \S+", r"M1: \1 -- -- --", READ, count=1)
    assert half != READ
    bench.round("arrival", "2026-03-02", half + walls("M1: 1.997 1.990"))
    job = bench.assess()
    here = [one for one in job.characteristics if (one.feature, one.position) == ("clearance", "M1")]
    found = {one.name: one.bound for one in here}
    assert (found["smallest_clearance"], found["largest_clearance"]) == ("at most", "at least")
    assert "mean_clearance" not in found


def after_grinding(folder: Path, rows: str = "M1: 2.122 2.122") -> Assessment:
    bench = Bench(folder, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + walls("M1: 1.990 1.989", "M2: 1.990 1.989"))
    bench.write("work.yaml", GROUND)
    journals = READ.split("housings:")[0].replace("47.99", "47.72")
    bench.round("after", "2026-03-10", journals + walls(rows))
    return bench.assess()


def test_ground_journal_and_new_shells_are_judged_as_new(tmp_path: Path) -> None:
    """52.024 less 4.244 less 47.722 is 0.058, over the new 0.050 though under the wear 0.080; nobody
    touched the housing, and nothing runs in it."""
    found = after_grinding(tmp_path).find(value_key("clearance.smallest_clearance M1 @after"))
    assert found is not None and found.limits is not None
    assert found.value == pytest.approx(0.058, abs=1e-9)
    assert (found.verdict, found.again, found.limits.deciding) == ("beyond limit", False, "new")


def test_new_shells_on_the_old_journal_are_judged_by_wear(tmp_path: Path) -> None:
    """52.024 less 3.968 less 47.994 is 0.062: beyond the new 0.050, and the journal goes on to 0.080."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + walls("M1: 1.980 1.980"))
    shells = GROUND[GROUND.index("  W2:") :]
    bench.write("work.yaml", f"decisions:\n{shells}")
    bench.round("after", "2026-03-10", walls("M1: 1.984 1.984"))
    found = find(bench, "clearance.smallest_clearance M1 @after")
    assert found.limits is not None and found.limits.deciding == "wear" and found.again
    assert found.verdict == "serviceable"


def test_wear_limits_go_with_the_undersize(tmp_path: Path) -> None:
    """A journal found at 0.25 under wears to 49.700 - 0.250 = 49.450, and not to 49.700 (by hand)."""
    bench = Bench(
        tmp_path,
        "journals:\n  kind: journal\n  positions: M1\n  columns: front_a front_b rear_a rear_b\n  unit: mm\n"
        "  new:\n    size: 49.980 to 50.000\n  wear:\n    size: min 49.700\n"
        "  undersizes: 0.25 mm\n  source: manual page 1\n",
    )
    bench.write(
        "teardown.yaml",
        "by: me\ndate: 2026-03-01\nsizes_as_found:\n"
        "  - feature: journals\n    positions: M1\n    size: 0.25 mm undersize\n",
    )
    rows = "journals:\n  instrument: mic\n  columns: front_a front_b rear_a rear_b\n  rows:\n    M1: {}\n"
    for typed, verdict in {
        "49.480 49.480 49.480 49.480": "serviceable",
        "49.44 49.44 49.44 49.44": "beyond",
    }.items():
        bench.round("arrival", "2026-03-02", rows.format(typed))
        assert find(bench, "journals.smallest M1 @arrival").verdict.startswith(verdict)


def test_one_new_half_measured_the_other_from_its_band(tmp_path: Path) -> None:
    """The middle of 2.117 to 2.127 beside a measured 2.122: the same 0.058, and a wider doubt."""
    both = after_grinding(tmp_path / "a").find(value_key("clearance.smallest_clearance M1 @after"))
    one = after_grinding(tmp_path / "b", "M1: 2.122 --").find(
        value_key("clearance.smallest_clearance M1 @after")
    )
    assert both is not None and one is not None
    assert one.value == pytest.approx(0.058, abs=1e-9) and one.bound == "equal"
    assert (one.standard_uncertainty or 0) > (both.standard_uncertainty or 0)


SKIRTS = """\
skirts:
  kind: journal
  positions: C1 to C2
  columns: skirt
  unit: mm
  new:
    size: 85.940 to 85.960
  wear:
    size: min 85.900
  source: manual page 1
"""


def test_one_column_is_a_size_and_nothing_more(tmp_path: Path) -> None:
    bench = Bench(tmp_path, SKIRTS)
    table = "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: 85.930\n    C2: 85.890\n"
    bench.round("arrival", "2026-03-02", table)
    found = bench.assess()
    assert [(one.name, one.position, one.verdict) for one in found.characteristics] == [
        ("size", "C1", "serviceable"),
        ("size", "C2", "beyond limit"),
    ]
    assert found.not_measured == () and [english(row.title) for row in found.summary] == ["Skirts, size"]


def test_one_column_whose_roundness_is_limited_still_lacks_readings(tmp_path: Path) -> None:
    bench = Bench(tmp_path, SKIRTS.replace("wear:\n", "wear:\n    out_of_round: max 0.02\n"))
    table = "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: 85.930\n"
    bench.round("arrival", "2026-03-02", table)
    names = {one.name: one.verdict for one in bench.assess().characteristics if one.position == "C1"}
    assert names["out_of_round"] == "not measured" and "size" not in names


def test_a_shop_states_how_well_its_parts_soak(tmp_path: Path) -> None:
    """85.93 mm of aluminium within ±1 °C of the micrometer: 1.141 µm by hand (JCGM 100:2008, H.1, 4.3.7)."""
    doubts = []
    for name, within in (("a", "0 °C"), ("b", "1 °C"), ("c", "1.8 °F")):
        bench = Bench(tmp_path / name, SKIRTS.replace("unit: mm", "unit: mm\n  material: aluminium"))
        shop = bench.shop / "shop.yaml"
        shop.write_text(f"soaked_within: {within}\n{shop.read_text('utf-8')}", "utf-8")
        bench.round(
            "arrival", "2026-03-02", "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: 85.930\n"
        )
        doubts.append(bench.assess().characteristics[0].standard_uncertainty or 0.0)
    assert math.sqrt(doubts[1] ** 2 - doubts[0] ** 2) == pytest.approx(1.141e-3, abs=1e-6)
    assert doubts[2] == pytest.approx(doubts[1], rel=1e-9)


def test_directions_without_a_plane_give_out_of_round_and_no_taper(tmp_path: Path) -> None:
    """Pins read in two directions half way along: 21.998 less 21.991 is 0.007 (by hand), and no way along."""
    sheet = SKIRTS.replace("columns: skirt", "columns: a b").replace("min 85.900", "min 21.980")
    bench = Bench(tmp_path, sheet.replace("wear:\n", "wear:\n    out_of_round: max 0.02\n"))
    bench.round(
        "arrival",
        "2026-03-02",
        "skirts:\n  instrument: mic\n  columns: a b\n  rows:\n    C1: 21.998 21.991\n",
    )
    found = {one.name: one.value for one in bench.assess().characteristics if one.position == "C1"}
    assert found == {"largest": 21.998, "smallest": 21.991, "out_of_round": pytest.approx(0.007)}


@pytest.mark.parametrize(
    "wall, verdict", [("2.122", "as new"), ("2.118", "no limit on file"), ("2.000", "beyond limit")]
)
def test_a_new_wall_is_told_where_it_is_sure_and_else_left_to_its_clearance(
    tmp_path: Path, wall: str, verdict: str
) -> None:
    """1.990 to 2.000 and half of 0.254 more is 2.117 to 2.127. The guard: 0.002 / sqrt 3, 0.001 / sqrt 12 and
    0.001 make u = 0.00155, times 1.645 is 0.0026; so 2.118 is not surely inside."""
    bench = Bench(tmp_path, BEARING, rule="guarded", rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + walls("M1: 1.990 1.980"))
    bench.write("work.yaml", GROUND)
    bench.round("after", "2026-03-10", walls(f"M1: {wall} 2.122"))
    found = bench.assess()
    new, worn = (found.find(value_key(f"shells.{key}")) for key in ("upper M1 @after", "lower M1 @arrival"))
    assert new is not None and worn is not None and new.limits is not None and worn.limits is not None
    assert new.verdict == verdict
    # what is not judged names no limit that decides; a worn half is thinner than any new one
    assert (new.limits.decides == (None, None)) == (verdict == "no limit on file")
    assert (worn.verdict, worn.limits.decides) == ("no limit on file", (None, None))


def test_a_worn_wall_with_a_wear_limit_is_judged_by_it(tmp_path: Path) -> None:
    sheet = BEARING.replace("  sets:\n", "  wear:\n    wall: min 1.985\n  sets:\n", 1)
    bench = Bench(tmp_path, sheet, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + walls("M1: 1.988 1.980"))
    assert find(bench, "shells.upper M1 @arrival").verdict == "serviceable"
    assert find(bench, "shells.lower M1 @arrival").verdict == "beyond limit"


def test_free_spread_of_halves_under_names_of_their_own(tmp_path: Path) -> None:
    """52.6 wide in a seat of 52.0 is 0.6 of spread."""
    spread = """\
free:
  kind: shell_spread
  positions: R1
  columns: rod cap
  unit: mm
  seat: 52.0 mm
  new:
    spread: 0.3 to 1.5
  source: manual page 1
"""
    bench = Bench(tmp_path, spread)
    bench.round(
        "arrival", "2026-03-02", "free:\n  instrument: mic\n  columns: rod cap\n  rows:\n    R1: 52.6 52.1\n"
    )
    found = bench.assess()
    rod, cap = (found.find(value_key(f"free.{half}_spread R1 @arrival")) for half in ("rod", "cap"))
    assert rod is not None and cap is not None
    assert rod.value == pytest.approx(0.6, abs=1e-9) and rod.verdict == "as new"
    assert cap.verdict == "beyond limit" and found.not_measured == ()


def test_a_size_judged_by_its_clearance_has_one_verdict(tmp_path: Path) -> None:
    """Below the new 47.982, and with worn shells of 1.980 a clearance of 0.092 to 0.095 over 0.080 (by hand):
    the clearance decides, and what the sheet says of a new journal is a remark."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ.replace("47.99", "47.97") + walls("M1: 1.980 1.980"))
    size = find(bench, "journals.largest M1 @arrival")
    assert (size.verdict, english(size.note)) == ("beyond limit", "judged by clearance")
    assert size.limits is not None and size.limits.decides == (None, None)
    assert size.limits.new == (47.982, 48.000)
    text = html.unescape(re.sub(r"<[^>]+>", " ", report_html(bench.assess(), {}, "shop")))
    page = " ".join(text.replace("\u00a0", " ").split())
    assert "beyond limit, judged by clearance; new limits, for comparison 47.982–48.000" in page
    # of the size no limit is said to have decided, on page one or in its record
    assert re.search(
        r"Journals, size, M1 47.970 by clearance ◆ beyond limit", page
    )  # the smaller is the worse


POURED = """\
bores:
  kind: bore
  positions: M1 M2
  columns: front_v rear_v
  unit: mm
pins:
  kind: journal
  positions: M1 M2
  columns: front_a rear_a
  unit: mm
caps:
  kind: shimmed_cap
  positions: M1 M2
  columns: clearance shims
  outer: bores
  inner: pins
  unit: mm
  leaf: 0.050 mm
  new:
    clearance: 0.040 to 0.080
"""
POURED_READ = """\
bores:
  instrument: gauge
  columns: front_v rear_v
  rows:
    M1: 50.110 50.112
    M2: 50.060 50.060
pins:
  instrument: mic
  columns: front_a rear_a
  rows:
    M1: 50.000 50.000
    M2: 50.000 50.000
caps:
  columns: shims
  rows:
    M1: 0.30
    M2: 0.30
"""


def test_a_cap_on_shims_by_the_sizes_of_bore_and_journal(tmp_path: Path) -> None:
    """0.110 to 0.112 of 0.040 to 0.080: a leaf of 0.05 out under each side leaves 0.062 (by hand)."""
    bench = Bench(tmp_path, POURED)
    bench.round("arrival", "2026-03-02", POURED_READ)
    wide, good = (bench.assess().find(value_key(f"caps.clearance {at} @arrival")) for at in ("M1", "M2"))
    assert wide is not None and good is not None
    assert (wide.value, wide.verdict) == (pytest.approx(0.110), "beyond limit")
    assert "take 0.050 mm of shims out under each side of the cap, to 0.062 mm" in english(wide.note)
    assert (good.value, good.verdict, english(good.note)) == (pytest.approx(0.060), "as new", "")
