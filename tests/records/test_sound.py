"""What does not rest on a faulty entry is worked out, and marked; what rests on it is not, in turn."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from rebuildreport.commands.check import command
from rebuildreport.records import JobFolder, load_sound

Write = Any
ROUND, SHEET, HOUSE = "j1/measurements/arrival.yaml", "engines/four.yaml", "shop.yaml"
WORK, JOB = "j1/work.yaml", "j1/job.yaml"


def left(write: Write, tmp_path: Path, *changes: tuple[str, str, str]) -> JobFolder | None:
    job = write(*changes).jobs["j1"]
    assert not job.usable  # nothing of it leaves the shop
    sound = load_sound(tmp_path, "j1")
    return sound[1] if sound else None


def test_a_row_is_left_out_and_the_rows_beside_it_stand(write: Write, tmp_path: Path) -> None:
    job = left(write, tmp_path, (ROUND, "75.965   75.960", "75.965   75,960"))
    assert job and {*job.rounds["arrival"].cells["journals"]} == {"M1", "M3"}
    assert {*job.rounds["arrival"].cells["housings"]} == {"M1", "M2"}


def test_a_line_that_is_no_yaml_keeps_none_of_the_others_from_being_read(
    write: Write, tmp_path: Path
) -> None:
    """As a gap typed >1, wider than the widest leaf, or a bracket that nobody closed."""
    for typed in (">75.965   75.960", "[75.965   75.960"):
        job = left(write, tmp_path, (ROUND, "75.965   75.960", typed))
        assert job and {*job.rounds["arrival"].cells["journals"]} == {"M1", "M3"}, typed
        assert {*job.rounds["arrival"].cells["housings"]} == {"M1", "M2"}


def test_what_names_a_feature_that_is_left_out_is_left_out_too(write: Write, tmp_path: Path) -> None:
    job = left(write, tmp_path, (SHEET, "size: 80.000 to 80.019", "size: 80.000 too 80.019"))
    assert job and "housings" not in job.rounds["arrival"].cells
    assert {*job.rounds["arrival"].cells["journals"]} == {"M1", "M2", "M3"}
    assert job.teardown and job.teardown.sizes_as_found == []  # it was of the housings


def test_a_date_that_is_none_takes_its_own_decision_alone(write: Write, tmp_path: Path) -> None:
    job = left(write, tmp_path, (WORK, "date: 2026-02-10", "date: 2026-02-30"))
    assert job and {*job.decisions} == {"W2"} and job.work and {*job.work.deviations} == {"V1"}


def test_of_a_list_the_other_items_keep_their_lines(write: Write, tmp_path: Path) -> None:
    two = "sublet:\n  - part: crankshaft\n    price: 1x\n    work: wash\n"
    job = left(
        write, tmp_path, (WORK, "sublet:\n", two), (WORK, "work: grind\n", "work: grind\n    price: 2x\n")
    )
    assert job and job.work
    assert [one.work for one in job.work.sublet] == ["wash", "grind"]  # without their prices
    lines = job.sources["work"].lines
    mark = job.sources["work"].mark(("sublet", 1, "work"))
    assert lines[mark.line - 1].strip() == "work: grind"


PRESSURE = """\
  pressure:
    kind: compression
    positions: C1
    columns: pressure
    unit: bar
"""
READ = "  pressure:\n{}    columns: pressure\n    rows:\n      C1: 11.0\n"


@pytest.mark.parametrize(
    ("head", "own", "left_over"),
    [
        (("temperature: 20 °C", "temperature: 2O °C"), "", {"pressure"}),
        (("date: 2026-02-05", "date: 2026-02-31"), "    date: 2026-02-04\n", {"pressure"}),
        (("by: ", "bye: "), "", {"pressure", "journals", "housings", "float"}),
    ],
)
def test_what_does_not_rest_on_the_head_of_its_round_is_left(
    write: Write, tmp_path: Path, head: tuple[str, str], own: str, left_over: set[str]
) -> None:
    """No length is known without its warmth, and no table without a day, which may be its own."""
    sheet, table = ("features:\n", f"features:\n{PRESSURE}"), ("tables:\n", "tables:\n" + READ.format(own))
    job = left(write, tmp_path, (SHEET, *sheet), (ROUND, *table), (ROUND, *head))
    assert job and {*job.rounds["arrival"].cells} == left_over
    assert job.rounds["arrival"].cells["pressure"]["C1"]["pressure"].line


@pytest.mark.parametrize(
    ("change", "round_read"),
    [
        ((ROUND, "tables:", "tables"), False),  # no YAML at all
        ((ROUND, "date: 2026-02-05", "date: 2026-02-31"), False),  # a round without a day is none
        ((JOB, "  complaint: it knocks\n", "  complaint: it knocks\n  meter: [1]\n"), True),
    ],
)
def test_a_round_that_cannot_be_read_is_left_out(
    write: Write, tmp_path: Path, change: tuple[str, str, str], round_read: bool
) -> None:
    job = left(write, tmp_path, change)
    assert job and ("arrival" in job.rounds) == round_read


@pytest.mark.parametrize(
    "change", [(JOB, "opened: 2026-02-03", "opened: 2026-02-31"), (HOUSE, "currency: EUR", "currency:")]
)
def test_without_a_job_or_a_shop_nothing_is_left(
    write: Write, tmp_path: Path, change: tuple[str, str, str]
) -> None:
    assert left(write, tmp_path, change) is None


def test_check_shows_what_is_left_and_says_without_what(write: Write, tmp_path: Path) -> None:
    write((WORK, "date: 2026-02-10", "date: 2026-02-30"))
    told = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False)
    assert told.return_value == 1
    assert "j1: errors above; worked out without lines: j1/work.yaml" in told.output
    assert "beyond limit" in told.output


def test_without_its_wear_limit_a_surface_is_read_and_not_judged_as_a_new_one(
    write: Write, tmp_path: Path
) -> None:
    """A worn journal would be condemned by the limits of a new one for the sake of a slip in the sheet."""
    job = left(write, tmp_path, (SHEET, "size: see clearance", "size: see clearence"))
    assert job and {*job.rounds["arrival"].cells["journals"]} == {"M1", "M2", "M3"}
    sound = load_sound(tmp_path, "j1")
    sheet = sound[0].engines["four"].model if sound else None
    assert sheet and not sheet.features["journals"].new and not sheet.features["journals"].wear


@pytest.mark.parametrize(
    ("was", "typed"),
    [
        ("size: 80.000 to 80.019", "size: 80.000 too 80.019"),
        ("size: 80.000 to 80.019", "size: 80.000 to 80.019\n    zzz: 1"),
    ],
)
def test_what_names_a_faulty_entry_is_not_told_as_wrong(
    write: Write, tmp_path: Path, was: str, typed: str
) -> None:
    """One slip in a sheet is one error: its feature is there, and so is whatever names it."""
    write((SHEET, was, typed))
    told = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False)
    assert "1 error," in told.output and "'housings' is no" not in told.output


def test_a_key_that_is_left_out_is_not_missed_on_its_line(write: Write, tmp_path: Path) -> None:
    """Of a list's item without its 'work:' the first key stands where the item does."""
    write((WORK, "    work: grind\n", "    grind: 1\n"))
    told = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False)
    assert "'work' is missing" in told.output and "'part' is missing" not in told.output


@pytest.mark.parametrize(
    ("file", "was", "typed"),
    [
        (ROUND, "date: 2026-02-05", "date: 2026-13-05"),
        (ROUND, "temperature: 20 °C", "temperature: 20"),
        (ROUND, "temperature: 20 °C", "temprature: 20 °C"),
        (ROUND, "front_a  front_b  rear_a", "front_a  front_a  rear_a"),
        (ROUND, "  journals:", "  jurnals:"),
    ],
)
@pytest.mark.parametrize(("row", "told"), [("75,965", "75.965"), ("7.5965", "7.5965")])
def test_two_slips_of_one_table_are_told_at_once(
    write: Write, tmp_path: Path, file: str, was: str, typed: str, row: str, told: str
) -> None:
    """An error, and a question: neither waits for the first to be put right."""
    write((file, was, typed), (file, "75.965", row))
    output = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False).output
    assert typed in output and told in output and "missing" not in output
    assert f"{2 if ',' in row else 1} error" in output


def test_a_comma_beside_another_slip_of_its_feature_is_told_with_it(write: Write, tmp_path: Path) -> None:
    """And nothing of what names the feature, which is there."""
    write(
        (SHEET, "size: 80.000 to 80.019", "size: 80,000 to 80,019"),
        (SHEET, "positions: M1 to M3", "positions: M1 too M3"),
    )
    output = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False).output
    assert "has a comma" in output and "M1 to M3" in output and "2 errors," in output


def test_one_misspelt_range_is_one_error(write: Write, tmp_path: Path) -> None:
    write((SHEET, "positions: M1 to M3", "positions: M1 too M3"))
    output = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False).output
    assert "1 error," in output and "M1 to M3" in output


def test_an_instrument_of_another_sort_is_one_error(write: Write, tmp_path: Path) -> None:
    write((HOUSE, "range: 0 to 10 mm", "range: 0 to 10 bar"), (HOUSE, "0.01 mm", "0.01 bar"))
    output = CliRunner().invoke(command, ["--shop", str(tmp_path)], standalone_mode=False).output
    assert output.count("dial reads pressure, and this is a length") == 2  # two files name it
