"""Which shell set is bought, and what is said where the sheet does not tell: prices added up by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.quantities import english

from ..keys import value_key
from .bench import Bench
from .test_cases import BEARING, READ
from .test_cost_of_choices import READ as ROOM
from .test_cost_of_choices import SHEET as PLAIN

PARTS = """\
parts:
  S:
    name: shell set
    price: 10.00
    per: engine
  S-10:
    name: shell set, 0.010 in
    price: 12.00
  LN:
    name: pump
    price: 30.00
"""
WORN = "shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n    M1: 1.997 1.995\n"


def decision(about: str, do: str, more: str = "") -> str:
    text = f"    about: {about}\n    do: {do}\n    why: worn {about}\n    by: shop\n    date: 2026-03-05\n"
    return text + (f"    {more}\n" if more else "")


def decided(bench: Bench, *decisions: str) -> None:
    text = "".join(f"  W{n}:\n{one}" for n, one in enumerate(decisions, 1))
    (bench.job / "work.yaml").write_text(f"decisions:\n{text}", encoding="utf-8")


def found_by(bench: Bench, needs: str = "") -> None:
    needed = f"\n            needs: {needs}" if needs else ""
    bench.write(
        "findings.yaml",
        f"""\
        findings:
          F1:
            component: shells
            positions: M1
            seen: wiping
            cause: oil starvation
            disposition: replace{needed}
        """,
    )


def bought(bench: Bench) -> dict[str, str]:
    return {line.number or english(line.name): str(line.amount) for line in bench.assess().cost.lines}


def test_shells_replaced_by_decision_are_on_the_list(tmp_path: Path) -> None:
    """Journals used again: the standard set, once, though it has two positions and its price is for each."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ + WORN)
    decided(bench, decision("shells", "replace"), decision("journals", "reuse"))
    assert bought(bench) == {"S": "10.00"}
    decided(bench, decision("shells", "replace"))
    assert bought(bench) == {"S": "10.00"}


def test_a_finding_that_names_the_standard_set_buys_the_one_that_fits(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    found_by(bench, "S")
    assert bought(bench) == {"S": "10.00"}
    for typed in ("0.010 in", "10 thou", "0.254 mm"):
        decided(bench, decision("journals", "recondition", f"size: {typed} undersize"))
        assert bought(bench) == {"S-10": "12.00"}
    line = bench.assess().cost.lines[0]
    assert line.findings == ("F1",) and len(line.because) == 2


def test_a_size_without_a_set_says_what_to_write(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    found_by(bench, "S")
    decided(bench, decision("journals", "recondition", "size: 0.50 mm undersize"))
    # not the standard set that was named: a line without a price, so that the total is a minimum
    assert bought(bench) == {"shells, 0.50 mm: not on the sheet": "None"}
    assert bench.assess().cost.minimum
    (said,) = [one for one in bench.assess().in_the_files if "sets:" in english(one)]
    assert "'0.50 mm: PART' under 'sets:' of shells" in english(said)


def test_journals_as_they_came_decide_too(tmp_path: Path) -> None:
    """Ground by somebody before us, and used again: the set of that size."""
    bench = Bench(tmp_path, BEARING, rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    bench.write(
        "teardown.yaml",
        """\
        by: me
        date: 2026-03-02
        sizes_as_found:
          - feature: journals
            positions: M1 M2
            size: 0.010 in undersize
        """,
    )
    decided(bench, decision("shells", "replace"), decision("journals", "reuse"))
    assert bought(bench) == {"S-10": "12.00"}


def test_replaced_by_nothing_on_the_list_is_asked(tmp_path: Path) -> None:
    bench = Bench(tmp_path, BEARING.replace("  sets:\n    standard: S\n    0.010 in: S-10\n", ""), rest=PARTS)
    bench.round("arrival", "2026-03-02", READ)
    decided(bench, decision("shells", "replace"))
    assert any("'sets:' for shells" in english(one) for one in bench.assess().in_the_files)
    text = (bench.job / "work.yaml").read_text(encoding="utf-8")
    extra = "parts:\n  - part: LN\n    why: worn\n    for: W1\n"
    (bench.job / "work.yaml").write_text(text + extra, encoding="utf-8")
    assert bought(bench) == {"LN": "30.00"}
    assert not any("'sets:'" in english(one) for one in bench.assess().in_the_files)


def test_sets_on_the_journal_itself(tmp_path: Path) -> None:
    """A sheet of one feature, as in the README."""
    sheet = BEARING.split("housings:")[0].replace("see clearance", "min 47.950")
    sheet += "  undersizes: 0.010 in\n  sets:\n    standard: S\n    0.010 in: S-10\n"
    bench = Bench(tmp_path, sheet, rest=PARTS)
    decided(bench, decision("journals", "recondition", "size: 0.010 in undersize"))
    assert bought(bench) == {"S-10": "12.00"}


SPRINGS = """\
intake_springs:
  kind: readings
  positions: C1 C2
  columns: free_length
  unit: mm
  wear:
    free_length: min 48.0
  replace_with: VS
  source: manual page 5
exhaust_springs:
  kind: readings
  positions: C1 C2
  columns: free_length
  unit: mm
  wear:
    free_length: min 48.0
  replace_with: VS
  source: manual page 5
"""


@pytest.mark.parametrize(("per", "wanted"), [("", 2), ("    per: each\n", 3)])
def test_the_springs_of_both_valves_of_one_cylinder(tmp_path: Path, per: str, wanted: int) -> None:
    """Intake of C1, exhaust of C1 and C2: three springs; by cylinder they are two, and that is asked."""
    bench = Bench(tmp_path, SPRINGS, rest=f"parts:\n  VS:\n    name: valve spring\n{per}")
    head = "  unit: mm\n  instrument: mic\n  columns: free_length\n  rows:\n"
    bench.round(
        "arrival",
        "2026-03-02",
        f"intake_springs:\n{head}    C1: 47.00\n    C2: 48.90\n"
        f"exhaust_springs:\n{head}    C1: 47.10\n    C2: 47.20\n",
    )
    found = bench.assess()
    (line,) = found.cost.lines
    assert line.quantity == wanted
    asked = [question for question in found.in_the_files if "counted once" in english(question)]
    assert len(asked) == (0 if per else 1)
    assert per or ("Valve spring C1" in english(asked[0]) and "per: each" in english(asked[0]))


SETS = (
    PLAIN.split("  grades:\n")[0]
    + "  wall: 1.985 to 1.995\n  sets:\n    standard: MS\n    0.25 mm: MS25\n  source: manual page 1\n"
    + "clearance:\n"
    + PLAIN.split("clearance:\n", 1)[1].replace("0.020 to 0.040", "0.020 to 0.0420")
).replace("    size: 47.980 to 48.000\n", "    size: 47.980 to 48.000\n  undersizes: 0.25 mm\n")
PRICED = "".join(f"  {part}:\n    name: set\n    price: 50.00\n    per: engine\n" for part in ("MS", "MS25"))
PRICED = f"parts:\n{PRICED}"
GROUND = ROOM.replace("M1: 48.000 48.000", "M1: 47.747 47.747")


def test_a_set_that_is_in_and_was_read_is_settled_by_its_reading(tmp_path: Path) -> None:
    """Walls of 2.110 to 2.120 leave 0.025 to 0.045, too near 0.042; read as 2.115 each they leave 0.035."""
    bench = Bench(tmp_path, SETS, rule="guarded", rest=PRICED)
    decided(bench, decision("journals", "recondition", "size: 0.25 mm undersize"))
    bench.round("ground", "2026-03-10", GROUND)
    (choice,) = bench.assess().choices
    assert choice.status == "none fits"
    read = "shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n    M1: 2.115 2.115\n"
    bench.round("fitted", "2026-03-11", read)
    job = bench.assess()
    fit = job.find(value_key("clearance.largest_clearance M1 @fitted"))
    assert fit is not None and fit.verdict == "as new"
    (choice,) = job.choices
    assert (choice.status, choice.impossible) == ("decided", ())


def test_a_set_that_nobody_asks_for_costs_nothing(tmp_path: Path) -> None:
    """What new ones would be is told as that as long as the old ones stay; a finding renews them."""
    bench = Bench(tmp_path, SETS, rule="guarded", rest=PRICED)
    bench.round("arrival", "2026-03-02", ROOM.replace("48.000 48.000", "47.999 47.999"))
    job = bench.assess()
    (choice,) = job.choices
    assert english(choice.answer) == "only if they are renewed: Set MS" and choice.cost is None
    assert not job.cost.lines
    found_by(bench)
    job = bench.assess()
    (choice,) = job.choices
    assert english(choice.answer) == "Set MS" and choice.cost == 50
    assert [english(line.name) for line in job.cost.lines] == ["shells, size not decided: one of MS, MS25"]


def test_shells_read_at_the_places_of_one_row_of_journals_follow_their_size(tmp_path: Path) -> None:
    """Though no clearance of the sheet joins them: R1 and R2 are rods, and no old shell fits a ground pin."""
    sheet = (
        "pins:\n  kind: journal\n  part: crankshaft\n  positions: R1 R2\n  columns: a b\n  unit: mm\n"
        "  new:\n    size: 57.970 to 57.990\n  undersizes: 0.25 mm\n"
        "shells:\n  kind: shells\n  positions: R1 R2\n  columns: upper lower\n  unit: mm\n"
        "  wall: 1.964 to 1.972\n  sets:\n    standard: RS\n    0.25 mm: RS25\n"
    )
    parts = "parts:\n" + "".join(
        f"  {number}:\n    name: set\n    price: 60.00\n    per: engine\n" for number in ("RS", "RS25")
    )
    bench = Bench(tmp_path, sheet, rest=parts)
    bench.round(
        "arrival",
        "2026-03-02",
        "pins:\n  instrument: mic\n  columns: a b\n  rows:\n    R1: 57.90 57.88\n    R2: 57.97 57.97\n"
        "shells:\n  instrument: mic\n  columns: upper lower\n  rows:\n"
        "    R1: 1.94 1.95\n    R2: 1.96 1.96\n",
    )
    bench.write(
        "work.yaml",
        "decisions:\n  W1:\n    about: pins\n    do: recondition\n    size: 0.25 mm undersize\n"
        "    why: worn\n    by: shop\n    date: 2026-03-03\n",
    )
    found = bench.assess()
    assert [line.number for line in found.cost.lines if line.number] == ["RS25"]
    assert not [one for one in found.characteristics if one.feature == "shells" and one.stands and one.value]
