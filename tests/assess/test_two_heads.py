"""Two heads are two of everything: each has a face, a joint, bolts and gaskets of its own (common sense)."""

from __future__ import annotations

from pathlib import Path

from rebuildreport.assess import assess_job
from rebuildreport.quantities import english
from rebuildreport.records import load_shop

from .bench import Bench

FACE = """\
{0}_face:
  kind: straightedge
  part: {0}_head
  positions: lengthwise diagonal
  columns: gap
  unit: mm
  new:
    gap: max 0.05
"""
REST = """\
fasteners:
  left_bolts:
    part: HB
    quantity: 10
    reuse: never
    stages:
      - torque: 60 N·m
  right_bolts:
    part: HB
    quantity: 10
    reuse: never
    stages:
      - torque: 60 N·m
joints:
  left_head:
    needs: HG
    fasteners: left_bolts
  right_head:
    needs: HG
    fasteners: right_bolts
  covers:
    needs: CG, CG
assemblies:
  top:
    steps:
      - fit: left_head
      - fit: right_head
      - fit: covers
parts:
  CG:
    name: cover gasket
    price: 5.00
  HG:
    name: head gasket
    price: 30.00
  HB:
    name: head bolt
    price: 4.00
"""


def test_one_head_of_two_is_bent_and_both_were_off(tmp_path: Path) -> None:
    made = Bench(tmp_path, FACE.format("left") + FACE.format("right"), rest=REST)
    made.write(
        "teardown.yaml",
        "by: me\ndate: 2026-03-01\nsteps:\n  - removed: left_head\n  - removed: right_head\n"
        "  - removed: covers\n",
    )
    tables = "".join(
        f"{side}_face:\n  columns: gap\n  rows:\n    lengthwise: {gap}\n    diagonal: 0.02\n"
        for side, gap in (("left", "0.02"), ("right", "0.12"))
    )
    made.round("arrival", "2026-03-02", tables)
    job = made.assess()
    assert {one.number: int(one.quantity) for one in job.cost.lines} == {"CG": 2, "HG": 2, "HB": 20}
    fitted = [[(one.part, one.count) for one in line.parts] for line in job.bench.build.lines]
    assert fitted == [[("HG", 1)], [("HG", 1)], [("CG", 2)]]
    (skim,) = [one for one in job.choices if one.kind == "skim"]
    assert skim.name == "right_face"
    assert any(english(one) == "Right face lengthwise: not decided yet" for one in job.cost.not_priced)


ONE_LINE = """\
fasteners:
  head_bolts:
    part: HB
    quantity: 20
    reuse: never
joints:
  heads:
    needs: HG, SEAL
    places: 2
    fasteners: head_bolts
assemblies:
  top:
    steps:
      - fit: heads
parts:
  SEAL:
    name: seals of the heads, set
    price: 9.00
    per: engine
  HG:
    name: head gasket
    price: 30.00
  HB:
    name: head bolt
    price: 4.00
"""


def test_both_heads_as_one_line_need_two_gaskets(tmp_path: Path) -> None:
    made = Bench(tmp_path, FACE.format("left"), rest=ONE_LINE)
    made.write("teardown.yaml", "by: me\ndate: 2026-03-01\nsteps:\n  - removed: heads\n")
    job = made.assess()
    assert {one.number: int(one.quantity) for one in job.cost.lines} == {"SEAL": 1, "HG": 2, "HB": 20}
    ((gaskets, seals),) = [line.parts for line in job.bench.build.lines]
    assert (gaskets.part, gaskets.count, seals.count) == ("HG", 2, 1)
    made.write("assembly.yaml", "fitted:\n  - part: HG\n    lubricant: copper spray\n")
    ((gaskets, _),) = [line.parts for line in made.assess().bench.build.lines]
    assert english(gaskets.note) == "copper spray", "what was written of a fitted part is told"


SET = ONE_LINE.replace(
    "parts:\n", "parts:\n  GS:\n    name: full gasket set\n    price: 90.00\n    contains:\n      HG: 2\n"
)


def test_a_gasket_of_a_set_stands_where_it_goes(tmp_path: Path) -> None:
    """It is bought with its set: nobody has to decide about it, and the set is on a line with it."""
    made = Bench(tmp_path, FACE.format("left"), rest="always:\n  GS: 1\n" + SET)
    made.write("teardown.yaml", "by: me\ndate: 2026-03-01\nsteps:\n  - removed: heads\n")
    build = made.assess().bench.build
    gaskets = build.lines[0].parts[0]
    assert (gaskets.part, gaskets.new, gaskets.count) == ("HG", True, 2)
    assert english(gaskets.note) == "in the full gasket set"
    assert [one.part for one in build.unlisted] == ["HB"]


CAM = """\
lobes:
  kind: lobe
  part: camshaft
  positions: I1 E1
  columns: height base
  unit: mm
  replace_with: CAM, TAPPETS
springs:
  kind: spring_length
  part: cylinder_head
  positions: I1 E1
  columns: free
  unit: mm
  replace_with: VS
"""
CAM_REST = """\
access:
  camshaft:
    - cylinder_head
assemblies:
  top:
    steps:
      - fit: CAM
      - fit: TAPPETS
      - fit: VS
parts:
  CAM:
    name: new one
  TAPPETS:
    name: tappets
  VS:
    name: spring
"""


def test_a_new_cam_goes_in_once_and_springs_are_no_head(tmp_path: Path) -> None:
    """A new cam goes in where the old one came off; the head that came off is still a line of its own."""
    made = Bench(tmp_path, CAM, rest=CAM_REST)
    made.write(
        "teardown.yaml",
        "by: me\ndate: 2026-03-01\nsteps:\n  - removed: cylinder_head\n  - removed: camshaft\n",
    )
    names = {line.name for line in made.assess().bench.build.lines}
    assert names == {"CAM", "TAPPETS", "VS", "cylinder_head"}


def test_what_was_tightened_had_been_opened(tmp_path: Path) -> None:
    """Nobody wrote down what came off: that is asked for, and the bolts that went back tell of it."""
    made = Bench(tmp_path, FACE.format("left"), rest=ONE_LINE)
    made.round("arrival", "2026-03-02", "left_face:\n  columns: gap\n  rows:\n    lengthwise: 0.02\n")
    asked = "nothing is named that came off"
    job = made.assess()
    assert not job.cost.lines and any(asked in english(one) for one in job.in_the_files)
    done = "tightened:\n  - fasteners: head_bolts\n    by: me\n    date: 2026-03-04\n"
    made.write("assembly.yaml", done)
    job = made.assess()
    assert {one.number: int(one.quantity) for one in job.cost.lines} == {"SEAL": 1, "HG": 2, "HB": 20}
    assert not any(asked in english(one) for one in job.in_the_files)


def test_one_gasket_for_two_rows_is_asked_about(tmp_path: Path) -> None:
    made = Bench(tmp_path, FACE.format("left"), rest=ONE_LINE.replace("    places: 2\n", ""))
    sheet = made.shop / "engines" / "n-4.yaml"
    flat = sheet.read_text("utf-8").replace("arrangement: inline", "arrangement: boxer")
    for text, said in ((flat, 1), (flat.replace("needs: HG, SEAL", "needs: HG, HG, SEAL"), 0)):
        sheet.write_text(text, encoding="utf-8")
        problems = load_shop(made.shop).engines["n-4"].problems
        assert sum("one joint 'heads' that needs HG once" in one.message for one in problems) == said
    sheet.write_text(flat.replace("boxer", "inline"), encoding="utf-8")
    assert not any("one joint" in one.message for one in load_shop(made.shop).engines["n-4"].problems)


def test_bolts_of_two_heads_under_one_name_are_asked_about(tmp_path: Path) -> None:
    """They would be bought once for both: eight, where sixteen come out."""
    made = Bench(tmp_path, FACE.format("left"), rest=REST)
    sheet = made.shop / "engines" / "n-4.yaml"
    flat = sheet.read_text("utf-8").replace("arrangement: inline", "arrangement: flat")
    for text, said in ((flat, 0), (flat.replace("fasteners: right_bolts", "fasteners: left_bolts"), 1)):
        sheet.write_text(text, encoding="utf-8")
        problems = load_shop(made.shop).engines["n-4"].problems
        assert (
            sum("name the same 'left_bolts', which are 10 in all" in one.message for one in problems) == said
        )


def test_a_head_that_was_cut_in_a_v_asks_for_its_intake_faces_where_it_is_fitted() -> None:
    """Common practice: the ports have moved against the manifold that lies between the heads."""
    name = "2026-016-recovery-truck-v8"
    folder = load_shop(Path(__file__).resolve().parents[2] / "jobs", [name])
    lines = {line.name: line for line in assess_job(folder, folder.jobs[name]).bench.build.lines}
    for head in ("head_1357", "head_2468"):
        assert any("0.20 mm: match the intake faces" in english(note) for note in lines[head].notes)


def test_a_bolt_that_a_finding_names_is_one_of_those_that_are_renewed(tmp_path: Path) -> None:
    """Twenty bolts that are used once only are twenty, although one of them was found loose (counting)."""
    made = Bench(tmp_path, FACE.format("left") + FACE.format("right"), rest=REST)
    made.write(
        "teardown.yaml", "by: me\ndate: 2026-03-01\nsteps:\n  - removed: left_head\n  - removed: right_head\n"
    )
    made.write(
        "findings.yaml",
        "findings:\n  F1:\n    component: left_face\n    title: one bolt loose\n    seen: loose\n"
        "    cause: not tightened\n    positions: diagonal\n    disposition: replace\n    needs: HB\n",
    )
    (bolts,) = (line for line in made.assess().cost.lines if line.number == "HB")
    assert bolts.quantity == 20 and bolts.findings == ("F1",)
