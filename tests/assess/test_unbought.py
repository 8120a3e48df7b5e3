"""What is replaced is bought by some line, or the total is a minimum.  The sums are worked out by hand."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from rebuildreport.assess.model.assessment import Cost
from rebuildreport.quantities import english
from rebuildreport.records import load_shop

from .bench import Bench
from .test_cost_of_choices import READ, SHEET

PARTS = "parts:\n" + "".join(
    f"  {part}:\n    name: half {part}\n    price: {price}\n"
    for part, price in (("GU", "8.90"), ("GL", "9.10"))
)
GROUND = """\
  other:
    ground:
      for: 0.25 mm undersize
      grades:
        G1: 2.115 to 2.117
      halves:
        upper: GU
        lower: GL
"""
# 52.012 - 47.740 - 2 x 2.116 is 0.040, with the journal anywhere in its band of 0.020 (by hand)
ORDERED = """\
decisions:
  W1:
    about: journals
    do: recondition
    size: 0.25 mm undersize
    why: oval
    by: shop
    date: 2026-03-03
  W2:
    about: shells
    do: replace
    why: ground crank
    by: shop
    date: 2026-03-03
labour:
  - task: assemble
    hours: 1
    why: new shells
"""


def bench(folder: Path, other: str = GROUND, work: str = ORDERED) -> Bench:
    sheet = SHEET.replace("  mix: adjacent\n", f"  mix: adjacent\n{other}").replace(
        "0.020 to 0.040", "0.010 to 0.070"
    )
    sheet = sheet.replace("  source: manual page 1\nhousings", "  undersizes: 0.25 mm\n  source: x\nhousings")
    halves = "".join(f"  {part}:\n    name: half\n    price: 8.00\n" for part in ("U2", "U3", "L2", "L3"))
    made = Bench(folder, sheet, rest=PARTS + halves)
    made.round("arrival", "2026-03-02", READ)
    made.write("work.yaml", work)
    return made


def money(made: Bench) -> Cost:
    cost = made.assess().cost
    assert cost is not None
    return cost


def test_a_provisional_choice_of_what_is_replaced_is_on_the_estimate_with_its_price(tmp_path: Path) -> None:
    made = bench(tmp_path)
    job = made.assess()
    choice = next(one for one in job.choices if one.name == "shells")
    assert choice.status == "provisional" and choice.cost == Decimal("18.00")
    cost = money(made)
    lines = {one.number: one for one in cost.lines if one.group == "part"}
    assert [lines[part].amount for part in ("GU", "GL")] == [Decimal("8.90"), Decimal("9.10")]
    assert all("provisional" in english(lines[part].because[0]) for part in ("GU", "GL"))
    assert all("W2" in lines[part].decisions for part in ("GU", "GL"))
    assert [english(one) for one in cost.not_priced] == ["Journals: its machining"]
    rows = {one.part: one.note for one in cost.purchases}
    assert set(rows) == {"GU", "GL"} and all("provisional" in english(note) for note in rows.values())
    # the halves are on the sheet: nothing asks for a set
    assert not any("set of this size" in english(one) for one in job.in_the_files)


def test_typed_on_the_list_besides_it_is_bought_once(tmp_path: Path) -> None:
    typed = "parts:\n  - part: GU\n    quantity: 1\n    why: ground crank\n"
    lines = {one.number: one.quantity for one in money(bench(tmp_path, work=ORDERED + typed)).lines}
    assert lines["GU"] == lines["GL"] == 1


def test_what_no_line_buys_makes_the_total_a_minimum(tmp_path: Path) -> None:
    cost = money(bench(tmp_path, other=""))
    assert cost.minimum
    assert tuple(english(text) for text in cost.not_priced) == (
        "Shells, to be replaced: no part on the list yet",
        "Journals: its machining",
    )


def test_half_of_a_set_is_a_minimum_by_a_decision_too(tmp_path: Path) -> None:
    """M1 can be chosen for and M2 was not read; with M2 read two pairs of S2 at 8.00 a half, by hand:
    52.012 - 48.000 - 3.982 is 0.030 at both.  Where no shells serve M2 the total is a minimum as well."""
    sheet = SHEET.replace("positions: M1\n", "positions: M1 M2\n")
    halves = "".join(f"  {part}:\n    name: half\n    price: 8.00\n" for part in ("U2", "U3", "L2", "L3"))
    made = Bench(tmp_path, sheet, rest="parts:\n" + halves)
    made.write("work.yaml", ORDERED.replace("recondition\n    size: 0.25 mm undersize", "reuse"))
    made.round("arrival", "2026-03-02", READ)
    cost = money(made)
    assert cost.minimum and [english(text) for text in cost.not_priced] == ["Shells M2: not settled yet"]
    for second, short in (("48.000", False), ("47.900", True)):
        both = READ.replace("    M1: 48.000 48.000\n", f"    M1: 48.000 48.000\n    M2: {second} {second}\n")
        both = both.replace("    M1: 52.012\n", "    M1: 52.012\n    M2: 52.012\n")
        made.round("arrival", "2026-03-02", both)
        assert money(made).minimum is short
    made.round("arrival", "2026-03-02", both.replace("47.900", "48.000"))
    assert money(made).parts == Decimal("32.00")


def test_a_finding_of_a_part_that_the_sheet_does_not_price(tmp_path: Path) -> None:
    made = bench(tmp_path, work="labour:\n  - task: look\n    hours: 1\n    why: asked for\n")
    assert not money(made).minimum
    found = "findings:\n  F1:\n    component: crankshaft\n    seen: crack\n    disposition: replace\n"
    made.write("findings.yaml", found)
    assert any("Crankshaft, to be replaced" in english(one) for one in money(made).not_priced)
    # another crank that the machine shop supplies, for this finding: bought
    other = "sublet:\n  - part: crankshaft\n    work: another one\n    price: 300.00\n    for: F1\n"
    made.write("work.yaml", other + "labour:\n  - task: look\n    hours: 1\n    why: asked for\n")
    assert not money(made).minimum


def test_shells_of_a_crank_that_has_to_be_ground_are_only_if_it_is_not(tmp_path: Path) -> None:
    """M1 is 0.07 below its limit, M2 as new: all are ground together (common practice), and what follows for
    M2 as it is, 52.012 - 48.000 - 3.982, is bought by nobody."""
    sheet = SHEET.replace("positions: M1\n", "positions: M1 M2\n")
    sheet = sheet.replace(
        "    size: 47.980 to 48.000\n", "    size: 47.980 to 48.000\n  wear:\n    size: min 47.970\n"
    )
    halves = "".join(f"  {part}:\n    name: half\n    price: 8.00\n" for part in ("U2", "U3", "L2", "L3"))
    made = Bench(tmp_path, sheet, rest="parts:\n" + halves)
    read = READ.replace("    M1: 48.000 48.000\n", "    M1: 47.900 47.900\n    M2: 48.000 48.000\n")
    made.round("arrival", "2026-03-02", read.replace("    M1: 52.012\n", "    M1: 52.012\n    M2: 52.012\n"))
    found = "findings:\n  F1:\n    component: shells\n    seen: wiped\n    disposition: replace\n"
    made.write("findings.yaml", found)
    job = made.assess()
    choice = next(one for one in job.choices if one.name == "shells")
    assert choice.status == "provisional" and english(choice.answer).startswith("only if nothing is ground")
    assert (choice.buy, choice.cost, choice.outlay) == ((), None, None)
    assert not {"U2", "U3", "L2", "L3"} & {line.number for line in job.cost.lines}
    assert "Shells, to be replaced: no part on the list yet" in [
        english(text) for text in job.cost.not_priced
    ]


CAM = """\
cam_bearings:
  kind: bore
  part: block
  positions: K1 K2 K3
  columns: v h
  unit: mm
cam_journals:
  kind: journal
  part: camshaft
  positions: K1 K2 K3
  columns: a b
  unit: mm
cam_fit:
  kind: running_fit
  outer: cam_bearings
  inner: cam_journals
  unit: mm
  wear:
    clearance: max 0.12
  replace_with: CB
"""


def test_what_a_fit_is_renewed_with_is_bought_where_it_is_beyond_its_limit(tmp_path: Path) -> None:
    """47.560 - 47.400 is 0.16 at K2, and 0.10 at the others (by hand)."""
    made = Bench(tmp_path, CAM, rest="parts:\n  CB:\n    name: cam bearing\n    price: 7.25\n")
    made.round(
        "arrival",
        "2026-03-02",
        "cam_bearings:\n  instrument: gauge\n  columns: v h\n  rows:\n"
        "    K1: 47.500 47.500\n    K2: 47.560 47.560\n    K3: 47.500 47.500\n"
        "cam_journals:\n  instrument: mic\n  columns: a b\n  rows:\n"
        "    K1: 47.400 47.400\n    K2: 47.400 47.400\n    K3: 47.400 47.400\n",
    )
    (line,) = (one for one in money(made).lines if one.number == "CB")
    assert (line.quantity, line.amount) == (1, Decimal("7.25"))
    assert tuple(english(text) for text in line.because) == ("Cam fit beyond limit",)
    decision = (
        "decisions:\n  W1:\n    about: {}\n    do: {}\n    why: worn\n    by: shop\n    date: 2026-03-03\n"
    )
    made.write("work.yaml", decision.format("cam_fit", "replace"))
    (line,) = (one for one in money(made).lines if one.number == "CB")
    assert line.quantity == 3
    # bored for something else: what the sheet renews the fit with is not bought
    made.write("work.yaml", decision.format("cam_bearings", "recondition"))
    assert not [one for one in money(made).lines if one.number == "CB"]


def test_a_rebore_brings_no_pistons(tmp_path: Path) -> None:
    """Work on the block that is written for the same finding buys no piston; work on the pistons does."""
    sheet = """\
bores:
  kind: bore
  part: cylinder_block
  positions: C1
  columns: a
  unit: mm
skirts:
  kind: journal
  part: pistons
  positions: C1
  columns: a
  unit: mm
fit:
  kind: fit
  outer: bores
  inner: skirts
  direction: a
  positions: C1
  unit: mm
"""
    made = Bench(tmp_path, sheet)
    seized = "findings:\n  F1:\n    component: skirts\n    seen: seized\n    disposition: replace\n"
    made.write("findings.yaml", seized)
    rebore = (
        "decisions:\n  W1:\n    about: bores\n    do: recondition\n    why: F1\n    by: shop\n"
        "    date: 2026-03-03\nlabour:\n  - task: look\n    hours: 1\n    why: asked for\n"
        "sublet:\n  - part: PART\n    work: WORK\n    price: 300.00\n    for: F1 W1\n"
    )
    made.write("work.yaml", rebore.replace("PART", "cylinder_block").replace("WORK", "rebore"))
    cost = money(made)
    assert cost.minimum
    assert any(english(one).startswith("Skirts, to be replaced") for one in cost.not_priced)
    made.write("work.yaml", rebore.replace("PART", "pistons").replace("WORK", "another set"))
    assert not money(made).minimum


def test_what_is_bored_larger_is_a_minimum_without_what_runs_there(tmp_path: Path) -> None:
    """The sheet knows no pistons: the rebore is priced, and nothing that would run in it."""
    sheet = "bores:\n  kind: bore\n  part: cylinder_block\n  positions: C1\n  columns: a\n  unit: mm\n"
    known = "parts:\n  PISTON:\n    name: piston\n    price: 40.00\n"
    made = Bench(tmp_path, sheet + "  oversizes: 0.50 mm\n", rest=known)
    work = (
        "decisions:\n  W1:\n    about: bores\n    do: recondition\n    size: 0.50 mm oversize\n"
        "    why: worn\n    by: shop\n    date: 2026-03-03\n"
        "labour:\n  - task: look\n    hours: 1\n    why: asked for\n"
        "sublet:\n  - part: cylinder_block\n    work: rebore\n    price: 300.00\n    for: W1\n"
    )
    made.write("work.yaml", work)
    cost = money(made)
    assert cost.minimum and any(english(one).startswith("what runs in the bores") for one in cost.not_priced)
    piston = "parts:\n  - part: PISTON\n    quantity: 1\n    why: bored\n    for: W1\n"
    supplied = work + "  - part: pistons\n    work: supplied with it\n    price: 160.00\n    for: W1\n"
    for whole in (work + piston, supplied):
        made.write("work.yaml", whole)
        assert not money(made).minimum


def test_half_of_a_set_is_a_minimum(tmp_path: Path) -> None:
    """M2 was not read: its halves are on no line yet, and the total cannot be the whole of it."""
    sheet = SHEET.replace("positions: M1\n", "positions: M1 M2\n")
    halves = "".join(f"  {part}:\n    name: half\n    price: 8.00\n" for part in ("U2", "U3", "L2", "L3"))
    made = Bench(tmp_path, sheet, rest="parts:\n" + halves)
    found = "findings:\n  F1:\n    component: shells\n    seen: wiped\n    disposition: replace\n"
    made.write("findings.yaml", found)
    made.write("work.yaml", "labour:\n  - task: assemble\n    hours: 1\n    why: new shells\n")
    made.round("arrival", "2026-03-02", READ)
    cost = money(made)
    assert sum(line.quantity for line in cost.lines if line.group == "part" and line.each) == 2
    assert cost.minimum
    assert [english(one) for one in cost.not_priced] == ["Shells M2: not settled yet"]
    both = READ.replace("    M1: 48.000 48.000\n", "    M1: 48.000 48.000\n    M2: 48.000 48.000\n")
    made.round("arrival", "2026-03-02", both.replace("    M1: 52.012\n", "    M1: 52.012\n    M2: 52.012\n"))
    assert not money(made).minimum


LOOK = "labour:\n  - task: look\n    hours: 1\n    why: asked for\n"


def parts_bought(made: Bench) -> dict[str, int]:
    return {one.number: int(one.quantity) for one in money(made).lines if one.group == "part"}


@pytest.mark.parametrize(
    ("disposition", "bought"), [("recondition", True), ("reuse", True), ("hold_for_customer", False)]
)
def test_what_a_finding_needs_is_bought_whatever_is_done(
    tmp_path: Path, disposition: str, bought: bool
) -> None:
    """A thread insert makes no new thread, and is bought (common practice)."""
    made = bench(tmp_path, work=LOOK)
    finding = "component: sump\n    seen: thread stripped\n    disposition: {}\n    needs: GU\n"
    made.write("findings.yaml", f"findings:\n  F1:\n    {finding.format(disposition)}")
    assert ("GU" in parts_bought(made)) is bought


def test_a_missing_part_its_finding_and_its_work_are_one_line(tmp_path: Path) -> None:
    made = bench(tmp_path, work=LOOK)
    made.write(
        "teardown.yaml",
        "by: me\ndate: 2026-03-01\nmissing:\n  - what: main cap\n    feature: housings\n    positions: M1\n",
    )
    assert len(money(made).not_priced) == 1
    finding = "component: housings\n    positions: M1\n    seen: cap lost\n    disposition: replace\n"
    made.write("findings.yaml", f"findings:\n  F1:\n    {finding}")
    (lacking,) = money(made).not_priced
    assert "main cap M1" in english(lacking)
    made.write(
        "work.yaml", LOOK + "sublet:\n  - part: housings\n    work: a cap\n    price: 90.00\n    for: F1\n"
    )
    assert money(made).not_priced == ()


def test_work_on_something_else_buys_nothing_that_the_sheet_does_not_know(tmp_path: Path) -> None:
    made = bench(tmp_path, work="")
    made.write(
        "findings.yaml",
        "findings:\n  F1:\n    component: starter\n    seen: burnt\n    disposition: replace\n",
    )
    for part, minimum in (("crankshaft", True), ("starter", False)):
        made.write(
            "work.yaml", LOOK + f"sublet:\n  - part: {part}\n    work: x\n    price: 9.00\n    for: F1\n"
        )
        assert money(made).minimum is minimum


RINGS = """\
gap:
  kind: ring_gap
  positions: C1 C2
  columns: top
  unit: mm
  new:
    top: 0.20 to 0.35
  replace_with: RS
"""


def test_a_new_ring_beyond_its_limit_is_no_second_set(tmp_path: Path) -> None:
    """Of every rebuild's two sets one is that of C1, whatever its gap is."""
    made = Bench(tmp_path, RINGS, rest="always:\n  RS: 2\nparts:\n  RS:\n    name: rings\n    price: 30.00\n")
    made.round("arrival", "2026-03-02", "gap:\n  columns: top\n  rows:\n    C1: 0.70\n    C2: 0.30\n")
    assert parts_bought(made) == {"RS": 2}


BORED = """\
bores:
  kind: bore
  part: cylinder_block
  positions: C1 C2
  columns: a
  unit: mm
  oversizes: 0.50 1.00 mm
  new:
    size: 80.000 to 80.020
skirts:
  kind: readings
  part: pistons
  positions: C1 C2
  columns: skirt
  unit: mm
fit:
  kind: fit
  outer: bores
  inner: skirts
  direction: a
  positions: C1 C2
  unit: mm
"""


def test_an_estimate_that_bores_buys_the_pistons_or_is_a_minimum(tmp_path: Path) -> None:
    """No piston of the old bore fits one that is half a millimetre larger."""
    rebore = LOOK + "decisions:\n  W1:\n    about: bores\n    do: recondition\n    size: 0.50 mm oversize\n"
    rebore += "    why: worn\n    by: shop\n    date: 2026-03-03\n"
    rebore += "sublet:\n  - part: cylinder_block\n    work: bore\n    price: 300.00\n    for: W1\n"
    made = Bench(tmp_path, BORED)
    made.write("work.yaml", rebore)
    assert any(english(one).startswith("Skirts, to be replaced") for one in money(made).not_priced)
    made.write("work.yaml", rebore + "parts:\n  - part: P50\n    quantity: 2\n    why: rebore\n    for: W1\n")
    assert not any("Skirts" in english(one) for one in money(made).not_priced)
    listed = BORED.replace("  new:\n", "  sets:\n    0.50 mm: P50\n  new:\n", 1)
    made = Bench(tmp_path / "listed", listed, rest="parts:\n  P50:\n    name: piston\n    price: 40.00\n")
    made.write("work.yaml", rebore)
    assert not money(made).minimum and parts_bought(made) == {"P50": 2}


def test_a_condemned_piston_is_bought_in_the_size_of_its_bore(tmp_path: Path) -> None:
    """Each for its own: one piston a place, whether a finding, a decision or a number asks for it."""
    listed = BORED.replace("  new:\n", "  sets:\n    standard: P0\n    0.50 mm: P50\n  new:\n", 1)
    parts = "".join(f"  {part}:\n    name: {part}\n    price: 40.00\n" for part in ("P0", "P50"))
    made = Bench(tmp_path, listed, rest=f"parts:\n{parts}")
    work = LOOK + "decisions:\n  W1:\n    about: bores\n    do: recondition\n    size: 0.50 mm oversize\n"
    work += "    positions: C2\n    why: worn\n    by: shop\n    date: 2026-03-03\n"
    seized = "findings:\n  F1:\n    component: skirts\n    seen: seizure\n    disposition: replace\n"
    for places, needs, wanted in (
        ("C2", "", {"P50": 1}),
        ("C1 C2", "", {"P0": 1, "P50": 1}),
        ("C1 C2", "    needs: P0\n", {"P0": 1, "P50": 1}),
        ("C1", "    needs: P50\n", {"P50": 2}),
    ):
        made.write("findings.yaml", f"{seized}    positions: {places}\n{needs}")
        made.write("work.yaml", work)
        assert parts_bought(made) == wanted, (places, needs)
    made.write("work.yaml", work.partition("decisions:")[0])
    assert parts_bought(made) == {"P50": 1}


def test_sets_of_pistons_stand_under_their_bores(tmp_path: Path) -> None:
    """The size of the bore decides: under the pistons a set each would be bought for the whole engine."""
    skirts = "skirts:\n  kind: journal\n  part: pistons\n  sets:\n    standard: P0\n    0.50 mm: P50\n"
    sheet = BORED.replace("skirts:\n  kind: readings\n  part: pistons\n", skirts)
    made = Bench(tmp_path, sheet, rest="parts:\n  P0:\n    name: piston\n  P50:\n    name: piston\n")
    made.write("work.yaml", LOOK)
    folder = load_shop(made.shop)
    (told,) = (one for one in folder.all_problems if one.severity == "error")
    assert (told.quote.strip(), told.suggestion) == ("sets:", "'sets:' under 'bores'")


def test_every_bored_cylinder_gets_piston_and_rings(tmp_path: Path) -> None:
    """One piston beyond its limit is no piston for the other bore; rings of the old size fit neither."""
    sheet = BORED.replace("  part: pistons\n", "  part: pistons\n  replace_with: P50\n")
    sheet += "gaps:\n  kind: ring_gap\n  bores: bores\n  positions: C1 C2\n  columns: top\n  unit: mm\n"
    sheet += "  replace_with: RS\n"
    parts = "".join(f"  {part}:\n    name: {part}\n    price: 40.00\n" for part in ("P50", "RS"))
    made = Bench(tmp_path, sheet, rest=f"parts:\n{parts}")
    work = (
        LOOK
        + "decisions:\n"
        + "".join(
            f"  {name}:\n    about: {about}\n    do: {do}\n    why: x\n    by: shop\n    date: 2026-03-03\n"
            for name, about, do in (
                ("W1", "bores", "recondition\n    size: 0.50 mm oversize"),
                ("W2", "skirts", "replace\n    positions: C2"),
            )
        )
    )
    made.write("work.yaml", work)
    assert parts_bought(made) == {"P50": 1, "RS": 2, "": 1}
    assert any(english(one).startswith("Skirts, to be replaced") for one in money(made).not_priced)
    made.write("work.yaml", work.replace("    positions: C2\n", ""))
    assert parts_bought(made) == {"P50": 2, "RS": 2}
    assert [english(one) for one in money(made).not_priced] == ["Bores: its machining"]


def test_what_nobody_has_decided_makes_the_total_a_minimum(tmp_path: Path) -> None:
    """80.30 wants 0.50 oversize: whoever reads a total of one hour has not read what the engine costs."""
    made = Bench(tmp_path, BORED.replace("  new:\n", "  wear:\n    size: max 80.100\n  new:\n", 1))
    made.write("work.yaml", LOOK)
    for size, minimum in (("80.010", False), ("80.300", True)):
        made.round(
            "arrival",
            "2026-03-02",
            f"bores:\n  instrument: gauge\n  columns: a\n  rows:\n    C1: {size}\n    C2: 80.010\n",
        )
        assert money(made).minimum is minimum
    assert [english(one) for one in money(made).not_priced] == ["Bores C1: not decided yet"]


def test_a_part_and_a_feature_of_it_are_one_thing_to_buy(tmp_path: Path) -> None:
    made = Bench(tmp_path, BORED)
    finding = "component: pistons\n    positions: C1\n    seen: scuffed\n    disposition: replace\n"
    made.write("findings.yaml", f"findings:\n  F1:\n    {finding}")
    decision = "about: skirts\n    do: replace\n    why: scuffed\n    by: shop\n    date: 2026-03-03\n"
    made.write("work.yaml", LOOK + f"decisions:\n  W1:\n    {decision}")
    assert [english(one) for one in money(made).not_priced] == [
        "Skirts, to be replaced: no part on the list yet"
    ]
