"""What is only ordered, or known by its class, has its doubt in the choice; what a throw and a bore change.

Every expected number is worked out by hand beside its test: geometry of a cylinder, sums of squares of
the instruments of ``bench.py`` (gauge and micrometer: steps 0.001, permitted error 0.002, repeatability
0.001, so u = 0.00155; feelers: steps 0.01, permitted error 0.004, so u = 0.0037), and 1.645 u.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from rebuildreport.assess.model.choice import Choice
from rebuildreport.quantities import english

from .bench import Bench
from .test_cost_of_choices import READ, SHEET
from .test_other_choices import BORES
from .test_skim_choice import ENGINE, effect, skim
from .test_skim_choice import READ as FACE
from .test_skim_choice import REST as GASKETS

DECIDED = "    why: worn\n    by: shop\n    date: 2026-03-03\n"


def choice(bench: Bench, name: str) -> Choice:
    return next(one for one in bench.assess().choices if one.name == name)


# ---------------------------------------------------------------- what a step changes

# neither name nor position tells which journals the rods run on: the parts that they run in do
PINS = """\
pins:
  kind: journal
  part: crankshaft
  positions: P1
  columns: front_a front_b
  unit: mm
  new:
    size: 47.984 to 48.000
  undersizes: 0.25 mm
  source: manual page 1
big_ends:
  kind: bore
  part: connecting_rod
  positions: P1
  columns: front_v
  unit: mm
big_end_clearance:
  kind: bearing_clearance
  positions: P1
  housing: big_ends
  journal: pins
  unit: mm
rod_reels:
  kind: journal
  part: crankshaft
  positions: R1
  columns: front_a front_b
  unit: mm
  new:
    size: 47.984 to 48.000
  undersizes: 0.25 mm
  source: manual page 1
tunnels:
  kind: bore
  part: rodeo_block
  positions: R1
  columns: front_v
  unit: mm
reel_clearance:
  kind: bearing_clearance
  positions: R1
  housing: tunnels
  journal: rod_reels
  unit: mm
{known}
height:
  kind: readings
  positions: C1
  columns: stands
  unit: mm
ratio:
  kind: compression_ratio
  positions: C1
  {key}: height
  bowl_volume: 20.5 cm³
  gasket_thickness: 1.00 mm
  gasket_hole: 87.0 mm
  source: manual page 2
"""


BLOCK = """\
deck:
  kind: straightedge
  part: rodeo_block
  columns: gap
  positions: top
  unit: mm
"""
ROD = """\
twist:
  kind: rod_alignment
  part: connecting_rod
  positions: P1
  columns: bend twist
  unit: mm
"""
READ_PINS = (
    "pins:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    P1: 47.900 47.890\n"
    "rod_reels:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    R1: 47.900 47.890\n"
)


@pytest.mark.parametrize(("known", "told"), [(BLOCK, True), (ROD, True), ("", False)])
def test_rods_run_on_what_runs_in_rods_whatever_it_is_called(tmp_path: Path, known: str, told: bool) -> None:
    """A face tells a block, and its twist a rod; where the sheet has neither, nothing is said."""
    bench = Bench(tmp_path, PINS.format(key="depth", known=known))
    bench.round("arrival", "2026-03-02", READ_PINS)
    pins, reels = (choice(bench, name).follows for name in ("pins", "rod_reels"))
    assert any("throw is held" in english(line) for line in pins) is told
    assert any("axis stays where it is" in english(line) for line in reels) is told
    assert not any("throw is held" in english(line) for line in reels)
    assert not any("axis stays where it is" in english(line) for line in pins)


@pytest.mark.parametrize("key", ["protrusion", "depth"])
def test_a_throw_that_is_off_moves_its_piston_once_and_the_stroke_twice(tmp_path: Path, key: str) -> None:
    """86 x 86 over 20.5 + 5.945 cm³ is 19.89 to 1.  0.1 mm more throw lifts the piston by 0.1 and draws it
    0.1 lower: 86.2 of stroke over 0.581 cm³ less is 20.36, and 0.47 more; 86.1 of stroke would be 0.45."""
    bench = Bench(tmp_path, PINS.format(key=key, known=BLOCK))
    bench.square()
    bench.round(
        "arrival",
        "2026-03-02",
        "pins:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    P1: 47.900 47.890\n"
        "height:\n  instrument: mic\n  columns: stands\n  rows:\n    C1: 0.000\n",
    )
    (said,) = (line for line in choice(bench, "pins").follows if "throw" in english(line))
    area = math.pi / 4 * 8.6**2
    room = 20.5 + math.pi / 4 * 8.7**2 * 0.1
    more = (1 + area * 8.62 / (room - area * 0.01)) - (1 + area * 8.60 / room)
    assert f"{more:.1f}" == "0.5" and round(more, 2) == 0.47
    assert "each 0.1 mm that a throw is off moves its piston by as much" in english(said).replace(
        "\u00a0", " "
    )
    assert "compression ratio by 0.5" in english(said)
    shop = bench.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8").replace("first_unit: mm", "first_unit: in"), "utf-8")
    (said,) = (line for line in choice(bench, "pins").follows if "throw" in english(line))
    assert "each 0.005\u00a0in that a throw is off" in english(said), "no amount that rounds to nothing"
    assert "compression ratio by 0.6" in english(said), "1.27 times as much"


@pytest.mark.parametrize(("linked", "bore"), [("", 86.50), ("  bores: bores\n", 86.51)])
def test_a_larger_bore_makes_more_compression(tmp_path: Path, linked: str, bore: float) -> None:
    """0.50 larger, with the crown 0.50 under the deck: of the nominal 86.00 it is 86.50, and of measured
    bores the middle of the band that is ordered, 86.500 to 86.520 (geometry)."""
    sheet = BORES.replace("84.000 to 84.020", "86.000 to 86.020").replace("84.100", "86.100")
    sheet = sheet.replace("  largest: 84.60\n", "") + (
        "crowns:\n  kind: readings\n  positions: C1 C2\n  columns: under\n  unit: mm\n"
        "ratio:\n  kind: compression_ratio\n  positions: C1 C2\n  depth: crowns\n  chamber_volume: 45.0 cm³\n"
        f"  gasket_thickness: 1.00 mm\n  gasket_hole: 88.0 mm\n{linked}  source: manual page 2\n"
    )
    parts = "parts:\n  P-050:\n    name: piston\n  P-100:\n    name: piston\n"
    bench = Bench(tmp_path, sheet, rest=parts)
    bench.square()
    bench.round(
        "arrival",
        "2026-03-02",
        "bores:\n  instrument: gauge\n  columns: top_t top_a\n  rows:\n"
        "    C1: 86.130 86.050\n    C2: 86.030 86.020\n"
        "crowns:\n  instrument: mic\n  columns: under\n  rows:\n    C1: 0.500\n    C2: 0.500\n",
    )
    found = choice(bench, "bores")
    assert english(found.answer) == "0.50 mm oversize"
    (ratio,) = (one for one in found.effects if "atio" in english(one.what))

    def by_hand(bore: float) -> float:
        area = math.pi / 4 * (bore / 10) ** 2
        return 1 + area * 8.6 / (45.0 + math.pi / 4 * 8.8**2 * 0.1 + area * 0.05)

    assert ratio.after == pytest.approx((by_hand(bore), by_hand(bore)), abs=1e-6)
    # over the middle of ± 0.010 the ratio grows by 0.19 a millimetre of bore, and it falls by 1.02 a
    # millimetre of depth: area times swept volume over the square of the room
    slope = (by_hand(bore + 0.01) - by_hand(bore)) / 0.01
    area, room = math.pi / 4 * 8.65**2, 45.0 + math.pi / 4 * 8.8**2 * 0.1 + math.pi / 4 * 8.65**2 * 0.05
    depth = area / 10 * area * 8.6 / room**2
    doubts = (slope * 0.00577 if linked else 0.0, depth * 0.00155)
    assert ratio.u == pytest.approx(math.hypot(*doubts), rel=0.01)


# ---------------------------------------------------------------- what is not measured yet


@pytest.mark.parametrize(
    ("limits", "status", "said"),
    [
        ("0.0199 to 0.0401", "provisional", "journal as ordered, not as measured"),
        ("0.0203 to 0.0397", "provisional", "its size after grinding decides"),
        ("0.0060 to 0.0203", "provisional", "its size after grinding decides"),
        ("0.0060 to 0.0199", "none fits", ""),
    ],
)
def test_a_journal_that_is_only_ordered_may_lie_anywhere_in_its_band(
    tmp_path: Path, limits: str, status: str, said: str
) -> None:
    """52.012 − 47.740 − 2 · 2.121 is 0.030.  The journal's ± 0.010 is u = 0.00577, two walls of ± 0.001
    0.00082, the gauge 0.00155: together 0.00603, and 0.0099 of guard.  ± 0.0101 holds it, ± 0.0097 may
    not, and limits that end 0.0101 below it surely do not."""
    other = "  other:\n    ground:\n      for: 0.25 mm undersize\n      wall: 2.120 to 2.122\n"
    sheet = SHEET.replace("  mix: adjacent\n", f"  mix: adjacent\n{other}").replace("0.020 to 0.040", limits)
    sheet = sheet.replace("  source: manual page 1\nhousings", "  undersizes: 0.25 mm\n  source: x\nhousings")
    parts = "".join(f"  {part}:\n    name: half\n" for part in ("U2", "U3", "L2", "L3"))
    bench = Bench(tmp_path, sheet, rule="guarded", rest=f"parts:\n{parts}")
    bench.round("arrival", "2026-03-02", READ)
    bench.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: journals\n    do: recondition\n"
        f"    size: 0.25 mm undersize\n{DECIDED}",
    )
    found = choice(bench, "shells")
    assert found.status == status
    (place,) = found.places
    if status == "none fits":
        (line,) = found.impossible
        assert "even the thickest pair" in english(line)
    else:
        assert said in english(place.note) and not found.impossible
        assert place.candidates[0].middle == pytest.approx(0.030)
        assert tuple(english(text) for text in found.decides) == ("M1: journal as ordered, not as measured",)


PISTONS = """\
bores:
  kind: bore
  part: block
  positions: C1
  columns: top_t top_a
  unit: mm
  new:
    size: 73.000 to 73.030
  wear:
    size: max 73.080
  oversizes: 0.50 mm
  source: manual page 2
skirts:
  kind: readings
  part: piston
  positions: C1
  columns: skirt
  unit: mm
  classes:
    B: 72.980 to 72.990
  source: manual page 2
piston_fit:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  new:
    clearance: {new}
  wear:
    clearance: {wear}
  source: manual page 2
"""


def piston(folder: Path, new: str, bore: str = "73.025", wear: str = "max 0.200", work: str = "") -> Choice:
    bench = Bench(folder, PISTONS.format(new=new, wear=wear), rule="guarded")
    table = f"bores:\n  instrument: gauge\n  columns: top_t top_a\n  rows:\n    C1: {bore} {bore}\n"
    bench.round("arrival", "2026-03-02", table)
    if work:
        bench.round("bored", "2026-03-09", table)
    bench.write("work.yaml", f"decisions:\n  W1:\n    about: skirts\n    do: replace\n{DECIDED}{work}")
    return choice(bench, "skirts")


@pytest.mark.parametrize(
    ("new", "fitness"), [("0.0344 to 0.0456", "inside"), ("0.0348 to 0.0452", "inside the wear limit")]
)
def test_a_piston_known_by_its_class_may_lie_anywhere_in_it(tmp_path: Path, new: str, fitness: str) -> None:
    """73.025 − 72.985 is 0.040.  ± 0.005 of the class is 0.00289, the gauge 0.00155: 0.00328, and 0.0054."""
    (tried,) = piston(tmp_path, new, wear="0.020 to 0.200").places[0].candidates
    assert tried.middle == pytest.approx(0.040)
    assert tried.fitness == fitness


@pytest.mark.parametrize(
    ("new", "fitness"),
    [
        ("0.0453 to 0.090", "too close to call"),
        ("0.0455 to 0.090", "too tight"),
        ("0.010 to 0.0347", "too close to call"),
        ("0.010 to 0.0345", "too large"),
    ],
)
def test_a_piston_is_too_tight_only_where_it_surely_is(tmp_path: Path, new: str, fitness: str) -> None:
    """The same 0.040, and 0.0054 of guard on the other side of each limit."""
    found = piston(tmp_path, new, wear=new)
    assert found.status == "none fits"
    assert found.places[0].candidates[0].fitness == fitness


def test_a_new_piston_that_was_read_is_settled_by_its_reading(tmp_path: Path) -> None:
    """73.025 − 72.985 is 0.040, too near 0.0450 by its class (see above); read, ± 0.0022 and 0.0036."""
    bench = Bench(tmp_path, PISTONS.format(new="0.010 to 0.0450", wear="max 0.0450"), rule="guarded")
    bores = "bores:\n  instrument: gauge\n  columns: top_t top_a\n  rows:\n    C1: 73.025 73.025\n"
    bench.round("arrival", "2026-03-02", bores)
    bench.write("work.yaml", f"decisions:\n  W1:\n    about: skirts\n    do: replace\n{DECIDED}")
    assert choice(bench, "skirts").status == "none fits"
    skirts = "skirts:\n  instrument: mic\n  columns: skirt\n  rows:\n    C1: 72.985\n"
    bench.round("bought", "2026-03-09", skirts)
    found = choice(bench, "skirts")
    assert (found.status, english(found.answer), found.impossible) == ("chosen", "class B in C1", ())


@pytest.mark.parametrize(("machined", "status"), [(False, "chosen"), (True, "none fits")])
def test_a_new_piston_in_a_machined_bore_goes_by_the_limits_for_new(
    tmp_path: Path, machined: bool, status: str
) -> None:
    """73.065 − 72.985 is 0.080: inside the wear limit of 0.100, far beyond the 0.050 for new.  Where the bore
    is used again it serves; of a bore that was machined nothing is used again (design: a fit goes by the
    wear limit where one of its partners is used again)."""
    bored = f"  W2:\n    about: bores\n    do: recondition\n{DECIDED}" if machined else ""
    found = piston(tmp_path, "0.020 to 0.050", bore="73.065", wear="max 0.100", work=bored)
    assert found.status == status
    (tried,) = found.places[0].candidates
    assert tried.fitness == ("too large" if machined else "inside the wear limit")
    assert found.limits == ((0.020, 0.050) if machined else (0.020, 0.100))


# ---------------------------------------------------------------- shims and skims

LASH = """\
lash:
  kind: valve_clearance
  positions: I1
  columns: lash
  unit: mm
  new:
    lash: 0.15 to 0.22
  source: manual page 3
"""


@pytest.mark.parametrize(
    ("size", "rule", "said"),
    [
        ("2.525", "guarded", True),  # leaves 0.155
        ("2.523", "guarded", False),  # 0.157
        ("2.466", "guarded", True),  # 0.214
        ("2.468", "guarded", False),  # 0.212
        ("2.525", "simple", False),
    ],
)
def test_a_shim_that_leaves_too_little_to_be_sure_says_so(
    tmp_path: Path, size: str, rule: str, said: bool
) -> None:
    """2.600 under the micrometer and 0.08 under feelers: u = 0.00155 and 0.0037, together 0.0040, and
    0.0066 of guard inside of 0.15 and 0.22."""
    rest = f"shims:\n  buckets:\n    clearance: lash\n    sizes: {size} mm\n"
    bench = Bench(tmp_path, LASH, rule=rule, rest=rest)
    bench.round(
        "arrival",
        "2026-03-02",
        "shims:\n  feature: lash\n  instrument: mic\n  columns: shim\n  rows:\n    I1: 2.600\n"
        "lash:\n  instrument: feelers\n  columns: lash\n  rows:\n    I1: 0.08\n",
    )
    place = choice(bench, "buckets").places[0]
    assert place.answer and place.middle == pytest.approx(2.68 - float(size))
    assert ("too near its limit" in english(place.note)) is said


def test_a_skim_counts_from_where_the_head_is_lowest(tmp_path: Path) -> None:
    """0.12 off 129.95 leaves 129.83; over 129.80 there are 0.15, and not the 0.20 of the front."""
    engine = ENGINE.replace("  positions: head\n", "  positions: front rear\n")
    read = FACE.replace("    head: 130.00\n", "    front: 130.00\n    rear: 129.95\n")
    bench = Bench(tmp_path, engine, rest=GASKETS)
    bench.square()
    bench.round("arrival", "2026-03-02", read.format(gap="0.10"))
    found = skim(bench.assess())
    (cut,) = (step for step in found.steps if step.chosen)
    assert cut.low == pytest.approx(129.83)
    assert "0.15 mm is the most" in english(found.alternative).replace("\u00a0", " ")
    assert effect(found, "Head height").after == pytest.approx((129.83, 129.88))
