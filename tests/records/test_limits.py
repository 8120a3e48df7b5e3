"""Limits of a sheet that cannot be meant are asked about at their own line, before any reading is blamed.

The figures are made up; each changed limit is a slip that a person makes while typing from a page.
"""

from __future__ import annotations

from typing import Any

import pytest

Write = Any

SHEET = "engines/four.yaml"
SIZE, OUT, CLEAR = "size: 75.970 to 75.990", "out_of_round: max 0.008", "clearance: 0.050 to 0.110"
HOLED = "  squeeze:\n    kind: compression\n    positions: C1 C2\n    columns: pressure\n    unit: bar\n"
HOLED += "    new:\n      pressure: {}\n    source: manual page 1\n  housings:\n"


def asked(write: Write, *changes: tuple[str, str, str]) -> list[tuple[str, str, str]]:
    """Line, message, hint of what is said of the sheet."""
    problems = write(*changes).engines["four"].problems
    return [(problem.quote.strip(), problem.message, problem.suggestion) for problem in problems]


def test_an_undamaged_sheet_is_not_asked_about(write: Write) -> None:
    assert asked(write) == []


def test_worn_may_be_worse_and_never_has_to_be_better(write: Write) -> None:
    wear = f"{OUT}\n    wear:\n      out_of_round: max 0.006"
    line = "      size: see clearance"
    change = (SHEET, f"{OUT}\n    wear:\n{line}", f"{wear}\n{line}")
    ((quote, message, hint),) = asked(write, change)
    assert quote == "out_of_round: max 0.006"
    assert message == "'max 0.006' for a worn one is tighter than 'max 0.008' for a new one"
    assert hint == "new and wear exchanged? new: max 0.006, wear: max 0.008"
    right = (SHEET, change[1], change[2].replace("0.006", "0.008"))
    assert asked(write, right) == []  # as tight as new is a maker's right


@pytest.mark.parametrize(
    ("wear", "said"),
    [
        ("min 75.971", True),
        ("min 75.970", False),
        ("min 75.950", False),
        ("75.965 to 75.980", True),
        ("min 2.9890", True),  # inches
    ],
)
def test_both_sides_of_a_wear_limit(write: Write, wear: str, said: bool) -> None:
    found = asked(write, (SHEET, "size: see clearance", f"size: {wear}"))
    assert [quote for quote, *_ in found] == ([f"size: {wear}"] if said else [])


@pytest.mark.parametrize(
    ("old", "new", "hint"),
    [
        (CLEAR, "clearance: 0.018 to 0.50", "0.018 to 0.050, or 0.18 to 0.50?"),
        (CLEAR, "clearance: 0.0050 to 0.110", "0.0050 to 0.0110, or 0.050 to 0.110?"),
        (SIZE, "size: 75.970 to 79.990", "check both ends against the page"),
        (SIZE, "size: 7.5970 to 75.990", "7.5970 to 7.5990, or 75.970 to 75.990?"),
        (CLEAR, "clearance: 0.011 to 0.110", None),  # ten times is still a gap
        (SIZE, "size: 75.5 to 76.2", None),  # 0.9 %: a coarse size, and no slip
    ],
)
def test_a_band_too_wide_to_be_meant(write: Write, old: str, new: str, hint: str | None) -> None:
    found = [one for one in asked(write, (SHEET, old, new)) if "astray" in one[1]]
    assert [(quote, meant) for quote, _, meant in found] == ([(new, hint)] if hint else [])


def test_two_units_in_one_limit(write: Write) -> None:
    found = asked(write, (SHEET, CLEAR, "clearance: 0.05 mm to 0.0043 in"))
    assert [message for _, message, _ in found] == ["two units in one limit: in and mm?"]
    ((quote, message, hint),) = asked(write, (SHEET, CLEAR, "clearance: 0.5 mm to 0.01 in"))
    assert "stand the wrong way round" in message and hint == "0.01 in to 0.5 mm"
    assert quote == "clearance: 0.5 mm to 0.01 in"


@pytest.mark.parametrize(("limit", "hint"), [("max 10.5", "min 10.5 bar?"), ("min 10.5", None)])
def test_a_limit_on_the_side_that_nothing_wears_to(write: Write, limit: str, hint: str | None) -> None:
    found = asked(write, (SHEET, "  housings:\n", HOLED.format(f"{limit} bar")))
    assert [meant for *_, meant in found] == ([hint] if hint else [])


def test_a_deviation_has_no_least(write: Write) -> None:
    ((_, message, hint),) = asked(write, (SHEET, OUT, "out_of_round: min 0.008"))
    assert (message, hint) == ("'min 0.008' of a deviation: the larger, the worse", "max 0.008?")


def test_limits_in_inches_in_a_sheet_of_millimetres(write: Write) -> None:
    """2.9910 to 2.9917 in are 75.971 to 75.989 mm; 0.0020 to 0.0043 in are 0.051 to 0.109 mm."""
    ((quote, message, _),) = asked(write, (SHEET, SIZE, "size: 2.9910 to 2.9917"))
    assert quote == "size: 2.9910 to 2.9917"
    assert message == "'2.9910 to 2.9917' mm beside housings of 80 mm: is the limit in inches?"
    ((quote, message, hint),) = asked(write, (SHEET, CLEAR, "clearance: 0.0020 to 0.0043"))
    assert quote == "clearance: 0.0020 to 0.0043" and hint == "is the limit in inches?"
    assert message.endswith("beside sizes that leave 0.050 to 0.101 mm")
    assert asked(write, (SHEET, SIZE, "size: 2.9910 to 2.9917 in")) == []  # and said so


def test_the_limit_is_asked_about_and_no_reading(write: Write) -> None:
    """75.96 read with a micrometer of 50 to 100 mm, under a limit of 2.99: the micrometer cannot be wrong."""
    job = write((SHEET, SIZE, "size: 2.9910 to 2.9917")).jobs["j1"]
    assert not job.suspects
    (doubt,) = [one for one in job.doubts if one.table == "journals"]
    assert doubt.problem.file == SHEET and doubt.problem.quote.strip() == "size: 2.9910 to 2.9917"
    assert doubt.asks and not doubt.spots


@pytest.mark.parametrize("name", ["journals", "clearance"])
def test_a_limit_that_leads_back_to_itself(write: Write, name: str) -> None:
    """'see' itself, or another that sees it."""
    changes = [(SHEET, "size: see clearance", f"size: see {name}")]
    if name == "clearance":
        changes.append((SHEET, CLEAR, "clearance: see journals"))
    found = write(*changes).engines["four"].problems
    assert [one.severity for one in found if "leads back to journals" in one.message] == ["error"]


@pytest.mark.parametrize("link", ["housing: housings", "journal: journals"])
def test_a_fit_without_one_of_its_two_parts(write: Write, link: str) -> None:
    shop = write((SHEET, f"    {link}\n", ""))
    (problem,) = [one for one in shop.engines["four"].problems if one.severity == "error"]
    assert f"{link.partition(':')[0]} missing" in problem.message
    assert not shop.jobs["j1"].usable


def test_a_fit_is_not_joined_to_itself(write: Write) -> None:
    shop = write((SHEET, "    housing: housings\n", "    housing: clearance\n"))
    assert "'clearance' cannot be joined to itself" in [one.message for one in shop.engines["four"].problems]


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("20260430", "'20260430' is a date, and a number of days belongs here"),
        ("3661", "3661 days are more than ten years"),
        ("3660", ""),
        ("12345678", "'12345678' is more than anybody counts"),
    ],
)
def test_days_that_are_none(write: Write, typed: str, message: str) -> None:
    shop = write((SHEET, "    name: sump gasket\n", f"    name: sump gasket\n    core_days: {typed}\n"))
    assert [one.message for one in shop.engines["four"].problems] == ([message] if message else [])


@pytest.mark.parametrize(
    ("typed", "message", "hint"),
    [
        ("20260203", "'20260203' is not a date (year-month-day)", "2026-02-03"),
        ("2026-W06-2", "'2026-W06-2' is not a date (year-month-day)", "2026-02-03"),
        ("0026-02-03", "no job is of the year 26", "year-month-day, as in 2026-02-05"),
    ],
)
def test_days_of_no_calendar_of_ours(write: Write, typed: str, message: str, hint: str) -> None:
    (problem,) = write(("j1/job.yaml", "opened: 2026-02-03", f"opened: {typed}")).jobs["j1"].problems
    assert (problem.message, problem.suggestion) == (message, hint)
