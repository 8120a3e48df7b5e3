"""Money that makes no sense is an error at its own line, whichever file it stands in.

Minor units: ISO 4217 (EUR has two decimals).  A price below nothing and a tax above the line itself are
no trade's practice (common sense).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rebuildreport.quantities import english
from rebuildreport.records import load_shop
from rebuildreport.records.text.problems import Problem

from .bench import Bench
from .test_cost_of_choices import SHEET

PARTS = "".join(f"  {part}:\n    name: half\n" for part in ("U2", "U3", "L2", "L3"))
REST = f"parts:\n{PARTS}  SG:\n    name: sump gasket\n    price: 14.20\n    core: 2.00\n"
REST += "    supersedes: SG1 SG0\n"
WORK = """\
labour:
  - task: look
    hours: 9.5
    why: asked
sublet:
  - part: crankshaft
    work: polish
    price: 40.00
orders:
  - part: SG
    quantity: 1
    ordered: 2026-03-04
    received: 2026-03-06
"""


def problems(made: Bench) -> list[Problem]:
    return [
        one
        for one in load_shop(made.shop).all_problems
        if one.severity == "error" or "number" in one.message or "tax" in one.message
    ]


def bench(folder: Path) -> Bench:
    made = Bench(folder, SHEET, rest=REST)
    made.write("work.yaml", WORK)
    return made


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("engines/n-4.yaml", "price: 14.20", "price: -14.20", "less than nothing"),
        ("engines/n-4.yaml", "core: 2.00", "core: -2.00", "less than nothing"),
        ("engines/n-4.yaml", "price: 14.20", "price: 14.2051", "cannot be paid"),
        ("engines/n-4.yaml", "price: 14.20", "price: 1.180", "thousands"),
        ("job-1/work.yaml", "price: 40.00", "price: 3.300", "thousands"),
        ("shop.yaml", "tax: 20 %", "tax: 0.19 %", "is that meant"),
        ("job-1/work.yaml", "hours: 9.5", "hours: -9.5", "less than nothing"),
        ("job-1/work.yaml", "price: 40.00", "price: -40.00", "less than nothing"),
        ("shop.yaml", "tax: 20 %", "tax: 825 %", "more than the line itself"),
        ("shop.yaml", "labour: 50.00", "labour: -50.00", "less than nothing"),
    ],
)
def test_money_without_sense_is_an_error_at_its_line(
    tmp_path: Path, file: str, old: str, new: str, said: str
) -> None:
    made = bench(tmp_path)
    assert problems(made) == []
    path = made.shop / file
    text = path.read_text("utf-8")
    path.write_text(text.replace(old, new), "utf-8")
    line = text[: text.index(old)].count("\n") + 1
    (found,) = {(one.file, one.line, one.message) for one in problems(made)}
    assert found[0].endswith(file) and found[1] == line and said in found[2]


@pytest.mark.parametrize("old", ["SG1", "SG0"])
def test_an_old_number_that_came_is_told(tmp_path: Path, old: str) -> None:
    made = bench(tmp_path)
    for text in (WORK.replace("part: SG\n", f"part: {old}\n"), f"{WORK}    number: {old}\n"):
        made.write("work.yaml", text)
        (found,) = problems(made)
        assert found.severity == "warning" and f"the old number {old} came" in found.message
    made.write(
        "work.yaml", WORK.replace("part: SG\n", f"part: {old}\n").replace("    received: 2026-03-06\n", "")
    )
    assert problems(made) == []


def test_what_is_cut_to_a_size_and_on_no_line_leaves_a_minimum(tmp_path: Path) -> None:
    """A grinding that nobody priced is not in the sum: whether the machine shop's or ours (common sense)."""
    sheet = SHEET.replace(
        "  source: manual page 1\nhousings", "  undersizes: 0.25 mm\n  source: manual page 1\nhousings"
    )
    made = Bench(tmp_path, sheet, rest=REST)
    ground = "decisions:\n  W1:\n    about: journals\n    do: recondition\n    size: 0.25 mm undersize\n"
    ground += "    why: oval\n    by: shop\n    date: 2026-03-03\n"
    ground += (
        ground.partition("\n")[2]
        .replace("W1", "W9")
        .replace("journals", "housings")
        .replace("    size: 0.25 mm undersize\n", "")
    )
    ours = "labour:\n  - task: grind\n    hours: 2\n    for: {reason}\n"
    theirs = "sublet:\n  - part: {part}\n    work: grind\n    price: 90.00\n"
    for lines, settled in (
        (ours.format(reason="W9"), False),
        (ours.format(reason="W1"), True),
        (ours.format(reason="W9") + theirs.format(part="cylinder_head"), False),
        (ours.format(reason="W9") + theirs.format(part="crankshaft"), True),
        (ours.format(reason="W9") + theirs.format(part="crankshaft") + "    for: W9\n", False),
    ):
        made.write("work.yaml", ground + lines)
        lacking = [english(one) for one in made.assess().cost.not_priced]
        assert ("Journals: its machining" not in lacking) == settled, lines
