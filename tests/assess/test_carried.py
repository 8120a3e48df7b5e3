"""What was read before a skim or on the old pistons lapses, and what was worked out from it too.

That a cut of a face moves all that is measured from it, and that a new piston is another piece with its own
crown, mass and height, is geometry; what is read again afterwards counts (common practice).
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from rebuildreport.quantities import english

from .bench import Bench

ENGINE = """\
head_face:
  kind: straightedge
  part: cylinder_head
  positions: long
  columns: gap
  unit: mm
  new:
    gap: max 0.05
deck:
  kind: straightedge
  part: block
  positions: long
  columns: gap
  unit: mm
  new:
    gap: max 0.05
bores:
  kind: bore
  part: block
  positions: C1 C2
  columns: top_t top_a
  unit: mm
  new:
    size: 86.000 to 86.020
  oversizes: 0.50 mm
skirts:
  kind: readings
  part: piston
  positions: C1 C2
  columns: skirt
  unit: mm
piston_fit:
  kind: fit
  outer: bores
  inner: skirts
  unit: mm
  new:
    clearance: 0.030 to 0.070
depths:
  kind: deck_clearance
  positions: C1 C2
  columns: front rear
  unit: mm
  new:
    depth: 0.10 to 0.60
chambers:
  kind: matched
  part: cylinder_head
  positions: C1 C2
  columns: volume
  unit: cm³
  new:
    volume: 40.0 to 50.0
dishes:
  kind: matched
  part: piston
  positions: C1 C2
  columns: bowl
  unit: cm³
  new:
    bowl: 3.0 to 6.0
piston_masses:
  kind: matched
  part: piston
  positions: R1 R2                  # as the rods that they are hung on
  columns: mass
  unit: g
  new:
    mass_spread: max 4
ratio:
  kind: compression_ratio
  positions: C1 C2
  chamber: chambers
  bowl: dishes
  depth: depths
  gasket_thickness: 1.20 mm
  gasket_hole: 88.0 mm
  new:
    ratio: 8.0 to 11.0
"""
READ = """\
head_face:
  instrument: feelers
  columns: gap
  rows:
    long: 0.10
deck:
  instrument: feelers
  columns: gap
  rows:
    long: 0.10
bores:
  instrument: gauge
  columns: top_t top_a
  rows:
    C1: 86.010 86.010
    C2: 86.010 86.010
skirts:
  instrument: mic
  columns: skirt
  rows:
    C1: 85.960
    C2: 85.960
depths:
  instrument: mic
  columns: front rear
  rows:
    C1: 0.30 0.30
    C2: 0.30 0.30
chambers:
  columns: volume
  rows:
    C1: 45.0
    C2: 45.0
dishes:
  columns: bowl
  rows:
    C1: 4.0
    C2: 4.0
piston_masses:
  columns: mass
  rows:
    R1: 400
    R2: 401
"""
AGAIN = "depths:" + READ.partition("depths:")[2].replace("45.0", "44.8")
EVERY = {"depths", "chambers", "dishes", "piston_masses", "ratio"}


def decision(about: str, do: str, more: str = "") -> str:
    return (
        f"decisions:\n  W1:\n    about: {about}\n    do: {do}\n{more}"
        "    why: worn\n    by: shop\n    date: 2026-03-03\n"
    )


def standing(bench: Bench) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for one in bench.assess().characteristics:
        if one.stands and one.value is not None:
            found.setdefault(one.feature, set()).add(one.position)
    return found


def made(folder: Path) -> Bench:
    bench = Bench(folder, ENGINE)
    bench.square()
    bench.round("arrival", "2026-03-02", READ)
    return bench


@pytest.mark.parametrize(
    ("about", "do", "more", "gone"),
    [
        ("head_face", "recondition", "    remove: 0.15 mm\n", {"chambers", "ratio"}),
        ("deck", "recondition", "    remove: 0.15 mm\n", {"depths", "ratio"}),
        ("skirts", "replace", "", {"dishes", "depths", "piston_masses", "ratio"}),
        (
            "bores",
            "recondition",
            "    size: 0.50 mm oversize\n",
            {"dishes", "depths", "piston_masses", "ratio"},
        ),
        ("bores", "reuse", "", set()),
    ],
)
def test_readings_of_what_was_changed_lapse(
    tmp_path: Path, about: str, do: str, more: str, gone: set[str]
) -> None:
    bench = made(tmp_path)
    assert set(standing(bench)) >= EVERY
    bench.write("work.yaml", decision(about, do, more))
    left = standing(bench)
    assert EVERY - set(left) == gone
    assert not any(row.now_verdict == "as new" for row in bench.assess().summary if row.feature in gone)
    # read again on the finished parts, all of it stands, and the chambers are judged by the same limits
    bench.round("machined", "2026-03-09", AGAIN)
    assert set(standing(bench)) >= EVERY


def test_chambers_end_with_a_skim_though_no_ratio_is_worked_out(tmp_path: Path) -> None:
    """A skim of 0.15 mm over 30 cm² takes 0.45 cm³ from each: 3.0 cm³ a millimetre, by hand."""
    sheet = ENGINE.partition("ratio:")[0].replace(
        "  positions: long\n", "  positions: long\n  chamber_per_mm: 3.0 cm³\n  drive: none\n", 1
    )
    bench = Bench(tmp_path, sheet)
    bench.square()
    bench.round("arrival", "2026-03-02", READ)
    bench.write("work.yaml", decision("head_face", "recondition", "    remove: 0.15 mm\n"))
    assert "chambers" not in standing(bench)
    (skim,) = (one for one in bench.assess().choices if one.name == "head_face")
    (volume,) = (effect for effect in skim.effects if effect.feature == "chambers")
    assert volume.after == pytest.approx((44.55, 44.55))


def test_one_piston_takes_its_own_readings_along_and_the_spread(tmp_path: Path) -> None:
    bench = made(tmp_path)
    bench.write("work.yaml", decision("skirts", "replace", "    positions: C2\n"))
    left = standing(bench)
    assert left["dishes"] == left["depths"] == left["ratio"] == {"C1"}
    assert left["piston_masses"] == {"R1"}  # and of the set nothing


GASKETS = """\
choices:
  gasket:
    by: depths
    unit: mm
    table:
      thick: 0.00 to 0.20
      thin: 0.20 to 0.60
    source: manual page 2
parts:
  thin:
    name: thin gasket
    thickness: 0.80 mm
  thick:
    name: thick gasket
    thickness: 1.20 mm
  P:
    name: piston
"""


def ratio(bore: float, chamber: float, gasket: float) -> float:
    """By hand from the geometry [cm³]: stroke 86, dish 4.0, crown 0.30 under the deck, hole 88 mm."""
    area = math.pi / 4 * (bore / 10) ** 2
    rest = chamber + 4.0 + math.pi / 4 * 8.8**2 * gasket / 10 + area * 0.03
    return (area * 8.6 + rest) / rest


def test_one_prediction_of_the_ratio_uses_all_that_is_decided(tmp_path: Path) -> None:
    """86.510 is the middle of the band ordered; 0.15 mm at 5.0 cm³ a millimetre take 0.75 of a chamber's 45;
    the table has the thin gasket for 0.30, and not the 1.20 of the sheet."""
    sheet = ENGINE.replace("  depth: depths\n", "  depth: depths\n  bores: bores\n")
    sheet = sheet.replace("  oversizes: 0.50 mm\n", "  oversizes: 0.50 mm\n  sets:\n    0.50 mm: P\n")
    face = "  positions: long\n"
    bench = Bench(tmp_path, sheet.replace(face, f"{face}  chamber_per_mm: 5.0 cm³\n", 1), rest=GASKETS)
    bench.square()
    bench.round("arrival", "2026-03-02", READ)
    rest = "    why: worn\n    by: shop\n    date: 2026-03-03\n"
    bench.write(
        "work.yaml",
        decision("bores", "recondition", "    size: 0.50 mm oversize\n")
        + f"  W2:\n    about: head_face\n    do: recondition\n    remove: 0.15 mm\n{rest}",
    )
    made = {one.name: one for one in bench.assess().choices}
    wanted = ratio(86.51, 44.25, 0.8)
    for name, before in (("bores", ratio(86.01, 44.25, 0.8)), ("head_face", ratio(86.51, 45.0, 0.8))):
        (found,) = (one for one in made[name].effects if "atio" in english(one.what))
        assert found.before == pytest.approx((before, before), abs=1e-4)
        assert found.after == pytest.approx((wanted, wanted), abs=1e-4)
        assert "with gasket thin" in english(found.note)
    thin = next(step for step in made["gasket"].steps if english(step.name) == "thin")
    assert (thin.low, thin.high) == pytest.approx((wanted, wanted), abs=1e-4)
    assert "W1, W2" in english(thin.note) or "W1 and W2" in english(thin.note)
    # with new pistons the height decides when it is read again: foretold, and nothing chosen
    text = (bench.job / "work.yaml").read_text("utf-8")
    bench.write("work.yaml", f"{text}  W3:\n    about: skirts\n    do: replace\n{rest}")
    found_ = next(one for one in bench.assess().choices if one.name == "gasket")
    assert (
        found_.status == "nothing known"
        and "finished parts" in english(found_.answer)
        and not found_.impossible
    )
    assert found_.steps[0].low == pytest.approx(wanted, abs=1e-4)
    assert "taken as the old ones" in english(found_.steps[0].note)
