"""Small cases of bad or thin data, and which limits decide when: expectations worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.assess import from_json, to_json
from rebuildreport.assess.model.assessment import Characteristic
from rebuildreport.assess.parts.lookup import by_table
from rebuildreport.quantities import english
from rebuildreport.records.files.sheet import ChoiceRule

from ..keys import value_key
from .bench import Bench

BEARING = """\
journals:
  kind: journal
  part: crankshaft
  positions: M1 to M2
  columns: front_a front_b rear_a rear_b
  unit: mm
  new:
    size: 47.982 to 48.000
    out_of_round: max 0.006
    taper: max 0.006
  wear:
    size: see clearance
    out_of_round: max 0.020
    taper: max 0.020
  source: manual page 1
housings:
  kind: bore
  positions: M1 to M2
  columns: front_v rear_v
  unit: mm
  new:
    size: 52.000 to 52.040
  source: manual page 1
shells:
  kind: shells
  positions: M1 to M2
  columns: upper lower
  unit: mm
  wall: 1.990 to 2.000
  sets:
    standard: S
    0.010 in: S-10
  source: manual page 1
clearance:
  kind: bearing_clearance
  housing: housings
  shells: shells
  journal: journals
  unit: mm
  new:
    clearance: 0.020 to 0.050
  wear:
    clearance: max 0.080
  source: manual page 1
"""
PARTS = """\
parts:
  S:
    name: shell set
    price: 10.00
    per: engine
  S-10:
    name: shell set, 0.010 in
    price: 12.00
    per: engine
"""
READ = """\
journals:
  instrument: mic
  columns: front_a front_b rear_a rear_b
  rows:
    M1: 47.992 47.991 47.992 47.990
    M2: 47.991 47.990 47.991 47.990
housings:
  instrument: gauge
  set_from: mic
  columns: front_v rear_v
  rows:
    M1: 52.024 52.025
    M2: 52.024 52.024
"""


def find(bench: Bench, key: str, clean: bool = True) -> Characteristic:
    found = bench.assess(clean).find(value_key(key))
    assert found is not None, key
    return found


def test_inch_housing_metric_journal_in_one_job(tmp_path: Path) -> None:
    """2.0482 in less two walls of 1.997 mm less 47.992 mm is 0.0383 mm (25.4 exactly)."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round(
        "arrival",
        "2026-03-02",
        """\
        journals:
          instrument: mic
          columns: front_a front_b rear_a rear_b
          rows:
            M1: 47.992 47.992 47.992 47.992
        housings:
          unit: in
          instrument: gauge
          columns: front_v rear_v
          rows:
            M1: 2.0482 2.0482
        shells:
          instrument: mic
          columns: upper lower
          rows:
            M1: 1.997 1.997
        """,
    )
    found = find(bench, "clearance.mean_clearance M1 @arrival")
    assert found.value == pytest.approx(0.0383, abs=5e-5)
    assert (found.unit, found.verdict, english(found.basis)) == ("mm", "as new", "measured walls")
    # half a typed inch step is part of the doubt: 0.0001 in = 0.00254 mm, over sqrt 12
    bore = find(bench, "housings.largest M1 @arrival")
    assert bore.standard_uncertainty is not None and bore.standard_uncertainty > 0.00254 / 12**0.5


def test_worn_shells_unknown_condemn_or_say_nothing(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    found = find(bench, "clearance.smallest_clearance M1 @arrival")
    # thickest new shells: 52.024 - 4.000 - 47.992 = 0.032 at least
    assert found.value == pytest.approx(0.032, abs=1e-9)
    assert (found.bound, found.verdict) == ("at least", "not measured")
    # a worn journal has no size limit of its own: it waits for its clearance
    assert find(bench, "journals.largest M1 @arrival").verdict == "as new"


def test_installed_bore_needs_no_wall(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round(
        "arrival",
        "2026-03-02",
        READ
        + """\
clearance:
  instrument: gauge
  set_from: mic
  columns: front_v rear_v
  rows:
    M1: 48.041 48.041
""",
    )
    found = find(bench, "clearance.smallest_clearance M1 @arrival")
    assert found.value == pytest.approx(0.049, abs=1e-9)  # 48.041 - 47.992
    assert found.bound == "equal"


def test_direct_clearance_that_contradicts_the_predicted_one(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    more = """\
shells:
  instrument: mic
  columns: upper lower
  rows:
    M1: 1.997 1.997
    M2: 1.997 1.997
clearance:
  instrument: feelers
  columns: direct
  rows:
    M1: 0.04
    M2: 0.10
"""
    bench.round("arrival", "2026-03-02", READ + more)
    found = bench.assess()
    said = [q for q in found.open_questions if "E_n" in english(q)]
    assert len(said) == 1 and "M2" in english(said[0])
    direct = found.find(value_key("clearance.direct_clearance M1 @arrival"))
    assert direct is not None and direct.value == 0.04


def test_ground_to_an_inch_undersize(tmp_path: Path) -> None:
    """A step of 0.010 in moves the band by 0.254 mm, not 0.25, and each wall by 0.127 mm."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    bench.write(
        "work.yaml",
        """\
        decisions:
          W1:
            about: journals
            do: recondition
            size: 0.010 in undersize
            why: scored
            by: shop
            date: 2026-03-05
        """,
    )
    bench.round(
        "after",
        "2026-03-10",
        """\
        journals:
          instrument: mic
          columns: front_a front_b rear_a rear_b
          rows:
            M1: 47.740 47.740 47.740 47.740
            M2: 47.740 47.740 47.740 47.740
        """,
    )
    ground = find(bench, "journals.largest M1 @after")
    assert ground.limits is not None
    assert ground.limits.new == pytest.approx((47.728, 47.746), abs=1e-9)
    assert (ground.verdict, ground.again) == ("as new", False)
    # predicted: 52.024 - 2 * (1.995 + 0.127) - 47.740 = 0.040, from the middle of the band
    clearance = find(bench, "clearance.smallest_clearance M1 @after")
    assert clearance.value == pytest.approx(0.040, abs=1e-9)
    assert english(clearance.basis).startswith("predicted")
    # two halves anywhere within +- 0.005: 0.005 / sqrt 3 each, root sum of squares
    assert clearance.standard_uncertainty == pytest.approx(0.00468, abs=4e-4)
    parts = [line.number for line in bench.assess().cost.lines]
    assert parts == ["S-10"]
    assert not find(bench, "journals.largest M1 @arrival").stands


def test_one_reading_is_listed_not_passed(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round(
        "arrival",
        "2026-03-02",
        """\
        journals:
          instrument: mic
          columns: front_a front_b rear_a rear_b
          rows:
            M1: 47.991 -- -- --
        """,
    )
    size = find(bench, "journals.largest M1 @arrival")
    assert (size.value, size.verdict) == (47.991, "not measured")
    form = find(bench, "journals.out_of_round M1 @arrival")
    assert (form.value, form.verdict) == (None, "not measured")


def test_part_of_the_readings_can_still_condemn(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round(
        "arrival",
        "2026-03-02",
        """\
        journals:
          instrument: mic
          columns: front_a front_b rear_a rear_b
          rows:
            M1: 47.990 47.960 -- --
        """,
    )
    assert find(bench, "journals.out_of_round M1 @arrival").verdict == "beyond limit"
    assert find(bench, "journals.taper M1 @arrival").value is None


HEAD_FACE = """\
decks:
  kind: readings
  material: aluminium
  positions: deck
  columns: length
  unit: mm
  new:
    length: max 84.020
  source: manual page 2
"""


def test_hot_part_is_corrected_for_information_only(tmp_path: Path) -> None:
    """84.062 mm of aluminium at 45 degrees, gauge at 20: 84.0137 by hand; raw says over, corrected within."""
    bench = Bench(tmp_path, HEAD_FACE)
    bench.round(
        "arrival",
        "2026-03-02",
        """\
        decks:
          instrument: mic
          temperature: 45 °C
          instrument_temperature: 20 °C
          columns: length
          rows:
            deck: 84.062
        """,
    )
    found = find(bench, "decks.length deck @arrival")
    assert found.value == pytest.approx(84.0137, abs=5e-5)
    assert found.raw == pytest.approx(84.062)
    assert found.verdict == "too close to call"
    assert "soak" in english(found.advice)


def test_soaked_together_in_a_warm_shop(tmp_path: Path) -> None:
    """84.062 of aluminium at 45 °C and the gauge with it: 84.062 (1 - 25 (23 - 11.5) 1e-6) = 84.0378."""
    bench = Bench(tmp_path, HEAD_FACE)
    table = (
        "decks:\n  instrument: mic\n  temperature: 45 °C\n{}  columns: length\n  rows:\n    deck: 84.062\n"
    )
    bench.round("arrival", "2026-03-02", table.format("  instrument_temperature: 45 °C\n"))
    assert find(bench, "decks.length deck @arrival").value == pytest.approx(84.0378, abs=5e-5)
    # nothing said of it, the gauge is as warm as the shop
    bench.round("arrival", "2026-03-02", table.format(""))
    assert find(bench, "decks.length deck @arrival").value == pytest.approx(84.0137, abs=5e-5)


def test_coarse_reading_is_undecided(tmp_path: Path) -> None:
    """75.97 to 0.01 against 75.970 to 75.990: anything from 75.965 to 75.975."""
    sheet = HEAD_FACE.replace("84.020", "75.990").replace("max 75.990", "75.970 to 75.990")
    bench = Bench(tmp_path, sheet, rule="guarded")
    table = "decks:\n  instrument: mic\n  columns: length\n  rows:\n    deck: {}\n"
    bench.round("arrival", "2026-03-02", table.format("75.97"))
    assert find(bench, "decks.length deck @arrival").verdict == "too close to call"
    bench.round("arrival", "2026-03-02", table.format("75.980"))
    assert find(bench, "decks.length deck @arrival").verdict == "as new"


def test_slipped_decimal_stays_out_until_confirmed(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ.replace("47.991 47.992 47.990", "4.7991 47.992 47.990"))
    found = bench.assess()
    assert any("left out" in english(q) and "M1" in english(q) for q in found.open_questions)
    form = found.find(value_key("journals.out_of_round M1 @arrival"))
    assert form is not None and form.verdict == "not measured"
    warned = [p for p in found.problems if "47.991" in p.suggestion or "47.991" in p.message]
    assert warned and warned[0].line > 0


def test_no_clearance_is_less_than_the_least_that_is_asked_for(tmp_path: Path) -> None:
    bench = Bench(
        tmp_path,
        """\
        lash:
          kind: readings
          positions: E1 to E2
          columns: gap
          unit: mm
          new:
            gap: 0.25 to 0.32
          source: manual page 3
        """,
    )
    bench.round(
        "arrival",
        "2026-03-02",
        """\
        lash:
          instrument: feelers
          columns: gap
          rows:
            E1: none
            E2: 0.28
        """,
    )
    found = bench.assess()
    one = found.find(value_key("lash.gap E1 @arrival"))
    assert one is not None and (one.value, one.verdict, one.end) == (0.0, "beyond limit", "low")
    assert any("no clearance is no reading" in english(q) for q in found.open_questions)
    renewed = "decisions:\n  W1:\n    about: lash\n    do: replace\n    why: x\n    by: shop\n"
    bench.write("work.yaml", f"{renewed}    date: 2026-03-03\n")  # what goes out is not read again
    assert not any("no clearance" in english(q) for q in bench.assess().open_questions)


def test_a_job_without_limits_still_tells_what_was_measured(tmp_path: Path) -> None:
    bench = Bench(
        tmp_path, "bore_sizes:\n  kind: bore\n  positions: C1\n  columns: top_t top_a\n  unit: in\n"
    )
    bench.round(
        "arrival",
        "2026-03-02",
        "bore_sizes:\n  unit: in\n  columns: top_t top_a\n  rows:\n    C1: 3.5012 3.5008\n",
    )
    found = find(bench, "bore_sizes.out_of_round C1 @arrival")
    assert found.value == pytest.approx(0.0004 * 25.4, abs=1e-9)
    assert found.verdict == "no limit on file"
    assert any("Instrument not named" in english(q) for q in bench.assess().in_the_files)


def test_partner_used_again_lets_wear_limits_decide(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    walls = (
        "shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n"
        "    M1: 1.982 1.982\n    M2: 1.997 1.997\n"
    )
    bench.round("arrival", "2026-03-02", READ + walls)
    worn = find(bench, "clearance.largest_clearance M1 @arrival")
    # 52.025 - 3.964 - 47.990 = 0.071: past new, inside wear
    assert worn.value == pytest.approx(0.071, abs=1e-9)
    assert worn.verdict == "serviceable"


def test_a_size_is_judged_by_the_clearance_that_is_known_later(tmp_path: Path) -> None:
    """47.960 is below its new size; 52.024 - 3.994 - 47.960 = 0.070, known when its partners are read, is
    past the new 0.050 and inside the wear 0.080 (by hand).  A clearance of before says nothing of it."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    journals, housings = READ.split("housings:")
    worn = journals.replace("47.992 47.991 47.992 47.990", "47.960 47.960 47.960 47.960")
    walls = "shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n"
    partners = f"housings:{housings}{walls}    M1: 1.997 1.997\n    M2: 1.997 1.997\n"
    bench.round("arrival", "2026-03-02", worn)
    assert find(bench, "journals.smallest M1 @arrival").verdict == "not measured"
    bench.round("later", "2026-03-04", partners)
    assert find(bench, "journals.smallest M1 @arrival").verdict == "serviceable"
    # and the other way round: what was sound before it ran on is not what was read since
    bench.round("arrival", "2026-03-02", journals + partners)
    bench.round("later", "2026-03-04", worn.replace("47.960", "47.940"))
    assert find(bench, "journals.smallest M1 @later").verdict == "beyond limit"  # 0.090
    # of a journal worn to a taper the wider end decides: 0.047 and 0.090
    bench.round("later", "2026-03-04", journals.replace("47.992 47.990", "47.940 47.940"))
    assert find(bench, "journals.smallest M1 @later").verdict == "beyond limit"


def test_assessment_survives_json(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    found = bench.assess()
    assert from_json(to_json(found)) == found
    assert len({c.key for c in found.characteristics}) == len(found.characteristics)


def test_first_evening(tmp_path: Path) -> None:
    found = Bench(tmp_path, BEARING, rest=PARTS).assess()
    assert found.stage == "arrival"
    assert english(found.found) == "Nothing has been measured or inspected yet."
    assert {c.verdict for c in found.characteristics} == {"not measured"}
    assert found.cost.minimum


def test_a_deviation_in_inches_covers_only_what_was_signed(tmp_path: Path) -> None:
    """2.4800 in read, 2.4960 in signed: 0.016 in too small is not covered."""
    sheet = """\
    pins:
      kind: journal
      positions: P1
      columns: front_a front_b
      unit: in
      new:
        size: 2.4980 to 2.4990
      source: manual page 1
    """
    bench = Bench(tmp_path, sheet)
    bench.round(
        "arrival",
        "2026-03-02",
        "pins:\n  instrument: mic\n  columns: front_a front_b\n  rows:\n    P1: 2.4800 2.4800\n",
    )
    deviation = """\
    deviations:
      V1:
        feature: pins
        positions: P1
        what: size
        accept: min {}
        why: tried
        signed: foreman
        date: 2026-03-03
    """
    bench.write("work.yaml", deviation.format("2.4960"))
    found = bench.assess()
    assert found.deviations[0].covers == ()
    assert any("covers no reading" in english(q) for q in found.in_the_files)
    bench.write("work.yaml", deviation.format("2.4790"))
    assert len(bench.assess().deviations[0].covers) == 2


def test_instruments_that_nobody_named_do_not_cancel(tmp_path: Path) -> None:
    """Two unknown errors of 2 steps: sqrt 2 * 0.002 / sqrt 3 at least; sharing one would leave nothing."""
    sheet = """\
    bores:
      kind: bore
      positions: C1
      columns: top_t
      unit: mm
    skirts:
      kind: readings
      positions: C1
      columns: skirt
      unit: mm
    clearance:
      kind: fit
      outer: bores
      inner: skirts
      unit: mm
      new:
        clearance: 0.030 to 0.050
      source: manual page 1
    """
    bench = Bench(tmp_path, sheet, rule="guarded")
    bench.round(
        "arrival",
        "2026-03-02",
        "bores:\n  columns: top_t\n  rows:\n    C1: 73.010\n"
        "skirts:\n  columns: skirt\n  rows:\n    C1: 72.975\n",
    )
    found = find(bench, "clearance.smallest_clearance C1 @arrival")
    assert found.standard_uncertainty is not None
    assert found.standard_uncertainty > 2**0.5 * 0.002 / 3**0.5


PIN = """\
pins:
  kind: readings
  material: steel
  positions: P1 P2
  columns: diameter
  unit: mm
  wear:
    diameter: min 19.990
  replace_with: PIN
  source: manual page 1
"""
PIN_PARTS = "parts:\n  PIN:\n    name: pin\n    price: 5.00\n"


def pins(bench: Bench, name: str, date: str, *sizes: str) -> None:
    rows = "".join(f"    P{n}: {size}\n" for n, size in enumerate(sizes, 1))
    bench.round(name, date, f"pins:\n  instrument: mic\n  columns: diameter\n  rows:\n{rows}")


def test_used_again_beyond_its_limit_stays_a_question(tmp_path: Path) -> None:
    bench = Bench(tmp_path, PIN, rest=PIN_PARTS)
    pins(bench, "arrival", "2026-03-02", "19.970", "20.000")
    assert [line.number for line in bench.assess().cost.lines] == ["PIN"]
    bench.write(
        "work.yaml",
        """\
        decisions:
          W1:
            about: pins
            positions: P1
            do: reuse
            why: none to be had
            by: customer
            date: 2026-03-03
        """,
    )
    found = bench.assess()
    assert found.cost.lines == ()
    assert any(
        "Pins" in english(q) and "P1" in english(q) and "eyond limit" in english(q) for q in found.to_decide
    )


def test_a_later_reading_of_the_same_surface_speaks_for_it(tmp_path: Path) -> None:
    bench = Bench(tmp_path, PIN, rest=PIN_PARTS)
    pins(bench, "arrival", "2026-03-02", "19.970", "20.000")
    pins(bench, "again", "2026-03-03", "20.002", "20.000")
    assert bench.assess().cost.lines == ()


def test_a_finding_without_positions_means_all_of_them(tmp_path: Path) -> None:
    bench = Bench(tmp_path, PIN, rest=PIN_PARTS)
    bench.write(
        "findings.yaml",
        "findings:\n  F1:\n    component: pins\n    seen: rusted\n    disposition: replace\n",
    )
    assert [(line.number, int(line.quantity)) for line in bench.assess().cost.lines] == [("PIN", 2)]


def test_read_on_the_day_of_the_decision_after_it(tmp_path: Path) -> None:
    bench = Bench(tmp_path, PIN, rest=PIN_PARTS)
    pins(bench, "arrival", "2026-03-02", "19.970", "20.000")
    bench.write(
        "work.yaml",
        """\
        decisions:
          W1:
            about: pins
            do: recondition
            why: plated and ground
            by: shop
            date: 2026-03-05
        """,
    )
    pins(bench, "machined", "2026-03-05", "20.001", "20.001")
    found = find(bench, "pins.diameter P1 @machined")
    assert found.stands and not found.again


def test_read_on_the_day_of_the_decision_before_it(tmp_path: Path) -> None:
    """What was measured and decided on one day is what the decision rests on, and no new surface."""
    bench = Bench(tmp_path, PIN, rest=PIN_PARTS)
    pins(bench, "arrival", "2026-03-05", "19.970", "20.000")
    bench.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: pins\n    do: recondition\n    why: worn\n    by: shop\n"
        "    date: 2026-03-05\n",
    )
    found = find(bench, "pins.diameter P1 @arrival")
    assert found.again and not found.stands


@pytest.mark.parametrize(
    ("top", "u", "parts"),
    [
        (0.340, 0.002, ["thin"]),
        (0.348, 0.002, ["thin", "thick"]),  # the border is 0.002 away, and its guard 0.0033
        (0.352, 0.002, ["thick", "thin"]),
        (0.348, 0.001, ["thin"]),
        (0.350, 0.0, ["thin"]),  # 'up to' holds its end, 'above' does not
        (0.460, 0.002, []),
    ],
)
def test_a_gasket_near_the_border_of_its_table(top: float, u: float, parts: list[str]) -> None:
    limits = {"thin": "above 0.25 up to 0.35", "thick": "above 0.35 up to 0.45"}
    table = ChoiceRule.model_validate({"by": "protrusion", "unit": "mm", "table": limits})
    assert by_table(table, top, 1.645 * u, "mm", "mm") == parts


def test_a_gasket_is_not_ordered_by_half_the_pistons(tmp_path: Path) -> None:
    """The highest of C1 and C2 alone decides nothing sure; 0.299 with a guard of 2 µm may be over it."""
    sheet = "stands:\n  kind: piston_protrusion\n  positions: C1 to C3\n  columns: front rear\n  unit: mm\n"
    rest = """\
    choices:
      gasket:
        by: stands
        unit: mm
        table:
          G1: 0.200 to 0.300
          G2: above 0.300 up to 0.400
        source: manual page 2
    joints:
      head:
        needs: gasket
    parts:
      G1:
        name: gasket
        per: engine
      G2:
        name: gasket, thick
        per: engine
    """
    bench = Bench(tmp_path, sheet, rest=rest, rule="guarded")
    bench.write("teardown.yaml", "by: me\ndate: 2026-03-01\nsteps:\n  - removed: head\n")
    rows = "stands:\n  instrument: mic\n  columns: front rear\n  rows:\n    C1: {0} {0}\n"
    for top, third, wanted in (
        ("0.250", "    C3: 0.240 0.240\n", []),
        ("0.250", "", ["not read at C3"]),
        ("0.250", "    C3: 0.240 --\n", ["not read at C3"]),
        ("0.299", "    C3: 0.240 0.240\n", ["border between G1 and G2"]),
    ):
        bench.round("arrival", "2026-03-02", rows.format(top) + "    C2: 0.240 0.240\n" + third)
        found = bench.assess()
        assert [line.number for line in found.cost.lines] == ["G1"]
        said = [q for q in found.open_questions if english(q).startswith("Gasket:")]
        assert len(said) == len(wanted) and all(w in english(q) for w, q in zip(wanted, said, strict=True))


def test_a_part_is_chosen_in_the_unit_of_its_table(tmp_path: Path) -> None:
    """0.025 in lies in the first band; 0.635 mm would lie in none."""
    sheet = """\
    stands:
      kind: piston_protrusion
      positions: C1
      columns: front rear
      unit: in
    """
    rest = """\
    choices:
      gasket:
        by: stands
        unit: in
        table:
          G1: 0.020 to 0.030
          G2: above 0.030 up to 0.040
        source: manual page 2
    joints:
      head:
        needs: gasket
    parts:
      G1:
        name: gasket
        per: engine
      G2:
        name: gasket, thick
        per: engine
    """
    bench = Bench(tmp_path, sheet, rest=rest)
    bench.round("arrival", "2026-03-02", "stands:\n  columns: front rear\n  rows:\n    C1: 0.024 0.026\n")
    bench.write("teardown.yaml", "by: me\ndate: 2026-03-01\nsteps:\n  - removed: head\n  - removed: head\n")
    lines = bench.assess().cost.lines
    assert [(line.number, int(line.quantity)) for line in lines] == [("G1", 1)]
    assert "0.025 in" in english(lines[0].because[0])


def test_warm_part_of_unknown_material_is_doubted(tmp_path: Path) -> None:
    bench = Bench(tmp_path, HEAD_FACE.replace("  material: aluminium\n", ""), rule="guarded")
    bench.round(
        "arrival",
        "2026-03-02",
        "decks:\n  instrument: mic\n  columns: length\n  rows:\n    deck: 84.005\n",
        "40 °C",
    )
    found = bench.assess()
    one = found.find(value_key("decks.length deck @arrival"))
    # anything up to 84 * 23e-6 * 20 = 0.039 mm, over sqrt 3: 15 um of limit do not settle it
    assert one is not None and one.verdict == "too close to call"
    assert any("no material" in english(q) for q in found.in_the_files)


def test_a_round_is_called_as_its_file_is(tmp_path: Path) -> None:
    """Large letters within a name are what somebody typed: no M4 becomes m4."""
    bench = Bench(tmp_path, "gear:\n  kind: readings\n  unit: mm\n  positions: A\n  columns: play\n")
    bench.round("second_look-at-M4", "2026-03-01", "gear:\n  columns: play\n  rows:\n    A: 0.10\n")
    (round_,) = bench.assess(clean=False).rounds
    assert english(round_.title) == "Second look at M4"


def test_a_table_of_bores_without_a_column_is_no_fault_of_the_program(tmp_path: Path) -> None:
    bench = Bench(tmp_path, "bores:\n  kind: bore\n  unit: mm\n  positions: C1\n  columns: top_t\n")
    bench.round("arrival", "2026-03-01", "bores:\n  columns: ''\n  rows: {}\n")
    (table,) = bench.assess(clean=False).tables
    assert table.depths == () and table.columns == ()
