"""What parts are chosen by: each check has one damage that it alone finds, with its place and its hint."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from rebuildreport.quantities import QuantityError
from rebuildreport.records import Problem, ShopFolder
from rebuildreport.records.files.sizes import sizes_of, steps_of

Problems = Callable[..., list[Problem]]
ENGINE, STOCK, TEARDOWN, WORK = "engines/four.yaml", "stock.yaml", "j1/teardown.yaml", "j1/work.yaml"
ROUND = "j1/measurements/arrival.yaml"

# file, what stands there, what is put there instead, severity, words of message, words of suggestion
CASES = [
    (ENGINE, "1: S1 S2", "1: S1 S7", "error", "'S7' is no grade of these shells", ""),
    (ENGINE, "1: S1 S2", "1: S1 S2/S7", "error", "'S7' is no grade of these shells", ""),
    (ENGINE, "1: S1 S2", "1: S1 S1/S2/S2", "error", "two halves", "S2/S3"),
    (ENGINE, "1: S1 S2", "1: S1", "error", "1 grades for 2 columns", ""),
    (STOCK, "rod_shells:", "journals:", "error", "'S1' is no grade of journals", ""),
    (STOCK, "buckets:", "shims:", "error", "'shims' is nothing that four chooses parts for", "buckets"),
    (ENGINE, "upper: RSU\n", "upper: RSU\n    pieces:\n      S1: RSZ\n", "error", "'RSZ' is not among", ""),
    (ENGINE, "upper: RSU\n", "upper: RSU\n    pieces:\n      S8: RSU\n", "error", "'S8' is not one", ""),
    (
        WORK,
        "parts: crankshaft\n",
        "parts: crankshaft\n    price_limits:\n      shells: 9.00\n",
        "error",
        "'shells' is nothing on the parts",
        "journals",
    ),
    (
        WORK,
        "parts: crankshaft\n",
        "parts: crankshaft\n    price_limit: 5.00\n    price_limits:\n      journals: 9.00\n",
        "warning",
        "above the order's 5.00",
        "",
    ),
    *(
        (ENGINE, "    kind: end_float\n", f"    kind: straightedge\n    {line}\n", "error", words, "")
        for line, words in (
            ("height: highness", "'highness' is no feature"),
            ("raises: housing", "'housing' is no feature"),
            ("lowers: shell", "'shell' is no feature"),
            ("drive: chain", "'chain' is no chain and no gears"),
            ("chamber_per_mm: 4.5", "4.5 has no unit"),
        )
    ),
    (ROUND, "by: bench 1\n", "by: bench 1\nof: crank_b\n", "error", "'crank_b' is no candidate", ""),
    (WORK, "do: replace\n", "do: replace\n    with: b\n", "error", "'b' is no candidate", ""),
    *(
        (
            ENGINE,
            "    columns: end_float\n",
            f"    columns: end_float\n    classes:\n      A: 1.00 to 1.10\n      B: {band}\n",
            severity,
            words,
            "",
        )
        for band, severity, words in (
            ("1.12 to 1.20", "warning", "a gap of 0.02 mm between A and B"),
            ("1.08 to 1.20", "warning", "an overlap of 0.02 mm between A and B"),
            ("min 1.10", "error", "a band has two ends"),
        )
    ),
    (ENGINE, "S2: 1.4895 to", "S2: 1.4896 to", "warning", "a gap of 0.0001 mm between S1 and S2", "page"),
    (ENGINE, "S2: 1.4895 to", "S2: 1.4885 to", "warning", "an overlap of 0.001 mm between S1 and S2", ""),
    (ENGINE, "2: 44.006 to", "2: 44.007 to", "warning", "a gap of 0.001 mm between 1 and 2", ""),
    (ENGINE, "B: 40.988 to 40.994", "B: 40.988 to 40.995", "warning", "an overlap", ""),
    (ENGINE, "2: 44.006 to 44.012", "2: min 44.006", "error", "a band has two ends", "1.9865"),
    (ENGINE, "1: S1 S2", "1: S1 S3", "warning", "housing 1 with journal B gives 0.015 to", "page"),
    (ENGINE, "        2: S2 S3\n", "", "error", "no row for 2", ""),
    (ENGINE, "columns: A B\n", "columns: A\n", "error", "no column for B", ""),
    (ENGINE, "upper: RSU", "upper: RSX", "error", "'RSX' is not among", "RSU"),
    (ENGINE, "upper: RSU", "uper: RSU", "error", "'uper' is not one", "upper"),
    (ENGINE, "        wall: 1.6145 to 1.6175\n", "", "error", "no wall and no grades", ""),
    (ENGINE, "runout: float", "runout: flot", "error", "'flot' is no feature", "float"),
    (ENGINE, "2.00 to 3.00 by 0.05 mm", "2.00 to 3.00 by 0.05", "error", "0.05", ""),
    (ENGINE, "    lash: clearance\n", "", "error", "no shim can be chosen", "columns: shim lash"),
    (STOCK, "four:", "for:", "error", "no sheet 'for'", "four"),
    (STOCK, "rod_shells:", "rod_shels:", "error", "nothing that four chooses parts for", "rod_shells"),
    (STOCK, "columns: S1 S2 S3", "columns: S1 S2 S9", "error", "'S9' is no grade of rod_shells", ""),
    (STOCK, "upper: 1 2 0", "uppper: 1 2 0", "error", "'uppper' is no row", "upper"),
    (STOCK, "upper: 1 2 0", "upper: 1 2", "error", "2 counts for 3 columns", ""),
    (STOCK, "upper: 1 2 0", "upper: 1 2 -1", "error", "'-1' is not a whole number", ""),
    (STOCK, "no_more: S1 S3", "no_more: S1 S7", "error", "'S7' is no column", ""),
    (STOCK, "columns: 2.30 2.45", "columns: 2.30 2,45", "error", "", ""),
    (TEARDOWN, "rod_journals: A B", "rod_journals: A C", "error", "'C' is no code of rod_journals", "A"),
    (TEARDOWN, "rod_journals: A B", "rod_journals: A", "error", "1 codes for 2 positions", "?"),
    (TEARDOWN, "rod_journals: A B", "journals: A B", "warning", "no code table", "rod_journals"),
    (TEARDOWN, "journals: ground before", "jornals: ground before", "error", "'jornals'", "journals"),
    (WORK, "R1: S1 S2", "R1: S1 S9", "error", "'S9' is no grade", ""),
    (WORK, "R1: S1 S2", "R9: S1 S2", "error", "'R9' is no position", ""),
    (WORK, "R1: S1 S2", "R1: S1", "error", "1 halves", "upper lower"),
    (WORK, "parts: crankshaft", "parts: crankshft", "error", "'crankshft' is no part", "crankshaft"),
    (WORK, "journals: M1 M2", "journals: M1 M7", "error", "'M7' is no position", ""),
]


@pytest.mark.parametrize(("file", "old", "new", "severity", "message", "hint"), CASES)
def test_one_damage(
    problems: Problems,
    files: dict[str, str],
    file: str,
    old: str,
    new: str,
    severity: str,
    message: str,
    hint: str,
) -> None:
    found = problems((file, old, new))
    named = [one for one in found if message in one.message and hint in one.suggestion]
    assert named, found
    assert named[0].severity == severity
    assert named[0].file == file
    # the line that is named is the damaged one, or the one that it leaves without its like
    lines = files[file].replace(old, new, 1).splitlines()
    assert lines[named[0].line - 1].rstrip() == named[0].quote
    elsewhere = (
        "no row for",
        "no column for",
        "no wall",
        "no shim",
        "an overlap",
        "'S1' is no grade",
        "above",
    )
    left_alone = message.startswith(elsewhere) or not message
    assert left_alone or (new.strip().splitlines() or [""])[-1] in named[0].quote


def test_a_code_that_cannot_be_read_is_no_mistake(problems: Problems) -> None:
    assert problems((TEARDOWN, "rod_journals: A B", "rod_journals: A ?")) == []


def test_the_shelf_is_read(write: Callable[..., ShopFolder]) -> None:
    stock = write().stock
    assert stock is not None and stock.counted == date(2026, 2, 1)
    assert stock.engines["four"]["rod_shells"].rows["lower"] == ["1", "0", "3"]


def test_steps_and_sizes() -> None:
    """0.010 in is 0.254 mm exactly (NIST SP 811: 1 in = 25.4 mm)."""
    assert steps_of("0.010 0.030 in") == [("0.010 in", 0.254), ("0.030 in", 0.762)]
    assert sizes_of("2.00 to 3.00 by 0.05 mm")[-1] == 3.0 and len(sizes_of("2.00 to 3.00 by 0.05 mm")) == 21
    for wrong in ("", "2.00 to 3.00 mm by", "3.00 to 2.00 by 0.05 mm", "0.25 0.50"):
        with pytest.raises(QuantityError):
            sizes_of(wrong)


@pytest.mark.parametrize(("typed", "faulty"), [("2.45", False), ("S3", True), ("2,45", True)])
def test_a_shim_that_is_fitted_is_so_thick(problems: Problems, typed: str, faulty: bool) -> None:
    fit = "      R1: S1 S2\n    why: chosen\n"
    shims = f"{fit}    by: shop\n    date: 2026-02-10\n  W3:\n    about: buckets\n    do: replace\n"
    shims += f"    fit:\n      I1: {typed}\n    why: chosen\n"
    found = problems(("j1/work.yaml", fit, shims))
    assert [one.quote.strip() for one in found] == ([f"I1: {typed}"] if faulty else [])


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("part: crank\n", "'crank' is no part or feature"),
        ("part: crankshaft\n    sizes:\n      journals: 0.25 mm\n", "no size step"),
        ("part: crankshaft\n    treated: nitrided\n", "nothing that shells of the sheet are for"),
        ("part: crankshaft\n    codes:\n      rod_journals: A C\n", "'C' is no code of rod_journals"),
        ("part: crankshaft\n", "'b' is for crankshaft"),
    ],
)
def test_a_candidate_is_held_against_the_sheet(problems: Problems, line: str, said: str) -> None:
    candidate = f"candidates:\n  b:\n    title: crank B\n    {line}decisions:\n"
    changes = [(WORK, "decisions:\n", candidate), (WORK, "do: replace\n", "do: replace\n    with: b\n")]
    (found,) = [one for one in problems(*changes) if said in one.message]
    assert (found.file, found.severity) == (WORK, "error")
    assert found.quote.strip() in line or "with: b" in found.quote
