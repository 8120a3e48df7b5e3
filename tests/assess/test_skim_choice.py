"""A skim before anybody decides: how much, and what it does to height, valves, ratio and timing."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from rebuildreport.assess import Assessment
from rebuildreport.assess.model.choice import Choice, Effect
from rebuildreport.quantities import english

from .bench import Bench

ENGINE = """\
head_face:
  kind: straightedge
  title: Head face
  part: cylinder_head
  positions: long across
  columns: gap
  unit: mm
  new:
    gap: max 0.05
  cleanup_stock: 0.02
  height: head_height
  lowers: recession
  drive: chain
  chamber_per_mm: 4.5 cm³
  source: manual page 1
head_height:
  kind: readings
  part: cylinder_head
  positions: head
  columns: height
  unit: mm
  wear:
    height: min 129.80
  source: manual page 1
recession:
  kind: readings
  part: cylinder_head
  positions: I1 I2
  columns: depth
  unit: mm
  new:
    depth: 0.80 to 1.30
  source: manual page 1
deck:
  kind: straightedge
  title: Block face
  part: block
  positions: long
  columns: gap
  unit: mm
  new:
    gap: max 0.05
  raises: protrusion
  drive: gears idler
  source: manual page 2
protrusion:
  kind: piston_protrusion
  positions: C1 C2
  columns: front rear
  unit: mm
  source: manual page 2
chambers:
  kind: matched
  positions: C1 C2
  columns: chamber
  unit: cm³
  source: manual page 2
ratio:
  kind: compression_ratio
  title: Compression ratio
  chamber: chambers
  protrusion: protrusion
  gasket_thickness: 1.20 mm
  gasket_hole: 87.0 mm
  new:
    ratio: 9.0 to 10.5
  source: manual page 2
chain:
  kind: chain
  positions: chain
  columns: length_20
  unit: mm
  pitch: 8.000 mm
  cam_teeth: 36
  source: manual page 3
gears:
  kind: backlash
  title: Backlash
  positions: idler pump
  columns: one
  unit: mm
  new:
    backlash: 0.08 to 0.20
  source: manual page 3
"""
REST = """\
choices:
  gasket:
    by: protrusion
    unit: mm
    table:
      thin: above 0.00 up to 0.10
      thick: above 0.10 up to 0.30
    source: manual page 2
parts:
  thin:
    name: gasket
  thick:
    name: gasket
"""
READ = """\
head_face:
  instrument: feelers
  columns: gap
  rows:
    long: {gap}
    across: 0.03
head_height:
  instrument: gauge
  columns: height
  rows:
    head: 130.00
recession:
  instrument: mic
  columns: depth
  rows:
    I1: 1.00
    I2: 0.90
deck:
  instrument: feelers
  columns: gap
  rows:
    long: 0.08
protrusion:
  instrument: mic
  columns: front rear
  rows:
    C1: 0.06 0.06
    C2: 0.05 0.05
chambers:
  columns: chamber
  rows:
    C1: 52.0
    C2: 52.0
gears:
  instrument: feelers
  columns: one
  rows:
    idler: 0.15
    pump: 0.18
"""


def bench(
    folder: Path, gap: str = "0.10", read: str = READ, rule: str = "simple", engine: str = ENGINE
) -> Bench:
    made = Bench(folder, engine, rule=rule, rest=REST)
    made.square()
    made.round("arrival", "2026-03-02", read.format(gap=gap))
    return made


def skim(job: Assessment, name: str = "head_face") -> Choice:
    return next(one for one in job.choices if one.name == name)


def effect(choice: Choice, words: str) -> Effect:
    return next(one for one in choice.effects if english(one.what).startswith(words))


def ratio(chamber: float, protrusion: float) -> float:
    """By hand from the geometry: 86 by 86, a gasket of 1.2 with a hole of 87."""
    swept = math.pi * 4.3**2 * 8.6
    rest = chamber + math.pi * 4.35**2 * 0.12 - math.pi * 4.3**2 * protrusion / 10.0
    return (swept + rest) / rest


def test_how_much_and_what_follows(tmp_path: Path) -> None:
    """0.10 + 0.02 is 0.12 (by hand); 130.00 − 0.12 = 129.88; valves 0.78 to 0.88; 0.54 cm³ off a chamber."""
    found = skim(bench(tmp_path).assess())
    assert (found.status, english(found.answer).replace("\u00a0", " ")) == ("chosen", "0.12 mm off the face")
    height = effect(found, "Head height")
    assert height.after == pytest.approx((129.88, 129.88)) and height.verdict == "serviceable"
    valves = effect(found, "Recession")
    assert valves.after == pytest.approx((0.78, 0.88))
    assert valves.verdict == "beyond limit" and "I2" in english(valves.note)
    compression = effect(found, "Compression ratio")
    assert compression.before == pytest.approx((ratio(52.0, 0.05), ratio(52.0, 0.06)))
    assert compression.after == pytest.approx((ratio(51.46, 0.05), ratio(51.46, 0.06)))
    assert compression.verdict == "as new"
    lag = effect(found, "Cam timing")
    radius = 8.0 / 2.0 / math.sin(math.pi / 36)
    assert lag.after[0] == pytest.approx(2.0 * math.degrees(0.12 / radius))


def test_a_deck_lifts_the_pistons_and_calls_for_another_gasket(tmp_path: Path) -> None:
    """0.08 off: pistons 0.13 and 0.14 proud; the idler 2 · 0.08 · tan 20° = 0.058 tighter, the pump's too."""
    found = skim(bench(tmp_path).assess(), "deck")
    pistons = effect(found, "Protrusion")
    assert pistons.after == pytest.approx((0.13, 0.14)) and "gasket: thick" in english(pistons.note)
    compression = effect(found, "Compression ratio")
    assert compression.after == pytest.approx((ratio(52.0, 0.13), ratio(52.0, 0.14)))
    backlash = effect(found, "Backlash")
    assert backlash.positions == ("idler",)
    assert backlash.after[0] == pytest.approx(0.15 - 2 * 0.08 * math.tan(math.radians(20.0)))


def test_doubt_is_carried_through(tmp_path: Path) -> None:
    """Guarded: 0.10 by feelers of 0.01 may be 0.111 (0.11 by 95 % and 4 µm), and 0.02 more is 0.131: 0.14."""
    found = skim(bench(tmp_path, rule="guarded").assess())
    assert english(found.answer).replace("\u00a0", " ") == "0.14 mm off the face"
    ends = effect(found, "Compression ratio")
    assert ends.u and ends.guard == pytest.approx(1.645 * ends.u)


def test_what_was_not_read_is_not_known(tmp_path: Path) -> None:
    read = READ.partition("recession:")[0]
    found = skim(bench(tmp_path, read=read).assess())
    for what in ("Recession", "Compression ratio"):
        assert effect(found, what).verdict == "not measured"
        assert effect(found, what).after == (None, None)
    assert found.status == "chosen"


def test_without_the_sheets_word_nothing_is_guessed(tmp_path: Path) -> None:
    engine = ENGINE.replace("  drive: chain\n", "").replace("  chamber_per_mm: 4.5 cm³\n", "")
    found = skim(bench(tmp_path, engine=engine).assess())
    assert "from a chamber is not on file" in english(effect(found, "Compression ratio").note)
    assert "chain or gears" in english(effect(found, "Timing").note)
    assert {effect(found, what).verdict for what in ("Compression ratio", "Timing")} == {"not measured"}


def test_more_than_the_part_has(tmp_path: Path) -> None:
    """0.20 is left over the least height, and 0.32 is wanted."""
    found = skim(bench(tmp_path, gap="0.30").assess())
    assert found.status == "none fits" and found.impossible
    assert effect(found, "Head height").verdict == "beyond limit"


def test_a_decision_is_held_against_it(tmp_path: Path) -> None:
    made = bench(tmp_path)
    decided = (
        "decisions:\n  W1:\n    about: head_height\n    do: recondition\n    remove: {} mm\n"
        "    why: hollow\n    by: shop\n    date: 2026-03-03\n"
        "machining:\n  O1:\n    to: the shop\n    parts: cylinder_head\n    price_limits:\n"
        "      head_height: 90.00\n"
    )
    made.write("work.yaml", decided.format("0.08"))
    too_little = made.assess()
    assert skim(too_little).status == "decided otherwise"
    assert any(step.fitness == "leaves part of it" for step in skim(too_little).steps if step.chosen)
    made.write("work.yaml", decided.format("0.115"))
    # as it was typed: rounded up it would read like the 0.12 that it falls short of
    assert english(skim(made.assess()).answer).replace("\u00a0", " ") == "0.115 mm off the face"
    made.write(
        "work.yaml", decided.replace("    remove: {} mm\n", "").replace("head_height\n", "head_face\n", 1)
    )
    asked = [english(one) for one in made.assess().to_decide if english(one).startswith("Head face:")]
    assert asked == [
        "Head face: W1 leaves the size open; 0.12\u00a0mm off the face follows from the readings"
    ]
    made.write("work.yaml", decided.format("0.15"))
    enough = made.assess()
    assert (skim(enough).status, skim(enough).decision) == ("decided", "W1")
    assert effect(skim(enough), "Head height").after[0] == pytest.approx(129.85)
    (order,) = enough.orders
    (operation,) = (one for one in order.operations if one.feature == "head_height")
    assert operation.price_limit == 90
    assert effect_names(operation.effects) >= {"Head height", "Recession"}


def effect_names(effects: tuple[Effect, ...]) -> set[str]:
    return {english(one.what) for one in effects}


def test_a_face_inside_its_limit_asks_for_nothing(tmp_path: Path) -> None:
    assert not [one for one in bench(tmp_path, gap="0.03").assess().choices if one.name == "head_face"]


def test_a_face_that_is_flat_by_now_asks_for_nothing(tmp_path: Path) -> None:
    """Read again later, and nothing decided between: the newest word counts."""
    made = bench(tmp_path)
    made.round("again", "2026-03-09", READ.format(gap="0.02").partition("head_height:")[0])
    assert not [one for one in made.assess().choices if one.name == "head_face"]


def test_an_amount_that_must_surely_clear_is_rounded_up_in_inches_too(tmp_path: Path) -> None:
    """0.09 + 0.02 is 0.11 mm, 0.00433 in: the next half thou is 0.0045 in, 0.1143 mm, and not 0.004 in.

    At least 129.80 mm is 5.11024 in, so 5.111; 0.20 mm may come off, 0.00787 in, so 0.007 (by hand,
    1 in = 25.4 mm, NIST SP 811)."""
    made = bench(tmp_path, gap="0.09")
    shop = made.shop / "shop.yaml"
    shop.write_text(shop.read_text("utf-8").replace("first_unit: mm", "first_unit: in"), "utf-8")
    found = skim(made.assess())
    assert english(found.answer).replace("\u00a0", " ") == "0.0045 in off the face"
    why, other = (english(text).replace("\u00a0", " ") for text in (found.why, found.alternative))
    assert "0.0045 in is the least that surely takes it all" in why and "5.111 in must stay" in why
    assert "0.007 in is the most that may come off" in other
    assert [english(step.name).replace("\u00a0", " ") for step in found.steps] == ["0.0045 in", "0.007 in"]
    assert [step.fitness for step in found.steps] == ["cleans up", "cleans up"]


def test_in_a_v_the_ports_move_against_the_manifold(tmp_path: Path) -> None:
    """Rows 60° apart lean by 30°: of 0.12 mm cut 0.06 are inwards and 0.10 down (sin, cos 30°)."""
    made = bench(tmp_path)
    assert not [one for one in skim(made.assess()).effects if english(one.what).startswith("Intake ports")]
    sheet = made.shop / "engines" / "n-4.yaml"
    text = sheet.read_text("utf-8").replace(
        "arrangement: inline\n", "arrangement: V4, 60 degrees\n  banks:\n    - 1 3\n    - 2 4\n"
    )
    sheet.write_text(text, "utf-8")
    bare = english(effect(skim(made.assess()), "Intake ports").note)
    assert "angle that tells how far is not on file" in bare and "no other head or deck" in bare
    assert not any(letter.isdigit() for letter in bare)
    sheet.write_text(f"{text}motion:\n  bank_angle: 60 deg\n", "utf-8")
    made.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: deck\n    do: recondition\n    remove: 0.20 mm\n    why: hollow\n"
        "    by: shop\n    date: 2026-03-03\n",
    )
    moved = effect(skim(made.assess()), "Intake ports")
    assert moved.after == pytest.approx((0.06, 0.06))
    said = english(moved.note).replace("\u00a0", " ")
    assert "down by 0.10 mm" in said and "Block face by 0.20 mm" in said
