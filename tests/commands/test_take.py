"""Readings from a gauge's own software become a new round, or nothing is written."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from rebuildreport.commands.take import command
from rebuildreport.records import load_shop

from .. import SMALL_JOBS

DEMO = Path(__file__).resolve().parents[2] / "jobs"
SIX = "2026-003-orchard-six"
POINT = """\
Serial No;4711
Feature;Position;Column;Reading;Instrument
Main journals;M1;front a;75.968;mic_75_100
Main journals;M1;Front_B;75.964;mic_75_100
main_journals;m3;front a;75.962;mic_75_100
main_journals;m3;front a;75.961;mic_75_100
liners;C3;top_t;98.260 mm;bore_gauge
liners;C3;top_a;--;bore_gauge
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    copy = tmp_path / "jobs"
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns("photos", "2026-004*", *SMALL_JOBS))
    return copy


def take(shop: Path, text: str | bytes, *options: str, name: str = "gauge", job: str = SIX) -> Result:
    file = shop.parent / "gauge.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    given = [job, name, str(file), "--shop", str(shop), "--date", "2026-03-01", "--by", "bench 1", *options]
    return CliRunner().invoke(command, given, standalone_mode=False)


def read(shop: Path, name: str = "gauge", job: str = SIX) -> dict[str, dict[str, dict[str, str]]]:
    loaded = load_shop(shop, [job]).jobs[job]
    assert not [problem for problem in loaded.problems if problem.severity == "error"]
    cells = loaded.rounds[name].cells
    return {
        table: {
            at: {column: cell.text for column, cell in row.items() if cell.text != "--"}
            for at, row in rows.items()
        }
        for table, rows in cells.items()
    }


READ = {
    "main_journals": {"M1": {"front_a": "75.968", "front_b": "75.964"}, "M3": {"front_a": "75.962/75.961"}},
    "liners": {"C3": {"top_t": "98.260"}},
}


@pytest.mark.parametrize(
    ("separator", "encoding"),
    [(";", "utf-8-sig"), ("\t", "utf-8-sig"), (",", "cp1252"), (";", "utf-16"), ("\t", "utf-16")],
)
def test_a_reading_a_row(shop: Path, separator: str, encoding: str) -> None:
    """Digits as the gauge wrote them; a place that comes again is a repeat at that spot."""
    done = take(shop, POINT.replace(";", separator).encode(encoding))
    assert (done.return_value, done.exception) == (0, None), done.output
    assert read(shop) == READ
    table = load_shop(shop, [SIX]).jobs[SIX].rounds["gauge"].model.tables["main_journals"]
    assert (table.instrument, table.unit) == ("mic_75_100", "mm")


def test_the_readings_of_a_position_a_row_and_a_decimal_comma(shop: Path) -> None:
    rows = 'Pos;front_a;front_b\nM1;75,968;75,964\nM3;"75,962";\n'
    own = ("--feature", "main_journals", "--column", "position=Pos")
    asked = take(shop, rows, *own)
    assert asked.return_value == 1 and "gauge.csv:2:4:" in asked.output and "--decimal comma" in asked.output
    assert not (shop / SIX / "measurements" / "gauge.yaml").exists()
    assert take(shop, rows, *own, "--decimal", "comma").return_value == 0
    assert read(shop)["main_journals"] == {
        "M1": {"front_a": "75.968", "front_b": "75.964"},
        "M3": {"front_a": "75.962"},
    }


def test_a_decimal_comma_is_not_taken_for_a_unit(shop: Path) -> None:
    done = take(
        shop, "position,reading,unit\nM1,75,968\n", "--feature", "main_journals", "--column", "column=x"
    )
    assert done.return_value == 1
    done = take(shop, "position,reading,unit\nC1,9,5\n", "--feature", "leak_down")
    assert done.return_value == 1 and "'5' is no unit" in done.output


def test_the_shop_says_once_what_its_gauge_writes(shop: Path) -> None:
    with (shop / "shop.yaml").open("a", encoding="utf-8") as file:
        file.write("\ngauge_file:\n  feature: Merkmal\n  position: Ort\n  reading: Wert\n  decimal: comma\n")
    assert take(shop, "Merkmal;Ort;Wert\nleak_down;C1;9,5\n").return_value == 0
    assert read(shop) == {"leak_down": {"C1": {"loss": "9.5"}}}


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("main_jornals;M1;front_a;75.968;", "did you mean 'main_journals'?"),
        ("main_journals;M9;front_a;75.968;", "'M9' is no position of main_journals"),
        ("main_journals;M1;front;75.968;", "'front' is no column of main_journals"),
        ("main_journals;M1;front_a;75.9b8;", "75.9b8"),
        ("main_journals;M1;front_a;75.968;mic_99", "no instrument of shop.yaml"),
        ("main_journals;M1;front_a;75.968;mic_50_75", "take them as two rounds"),
        ("main_journals;M1;front_a;75;968;mic_75_100", "6 cells under 5 heads"),
    ],
)
def test_what_does_not_fit_is_told_with_its_line_and_nothing_is_written(
    shop: Path, line: str, said: str
) -> None:
    done = take(shop, f"{POINT}{line}\n")
    assert done.return_value == 1
    assert "gauge.csv:9:" in done.output and line in done.output and said in done.output
    assert not (shop / SIX / "measurements" / "gauge.yaml").exists()


@pytest.mark.parametrize(
    "text", ["", "\n", "a,b\n1,2\n", "feature;position;column;reading\n", b"\x00\xff\xfe;"]
)
def test_a_file_that_is_none(shop: Path, text: str | bytes) -> None:
    done = take(shop, text)
    assert done.return_value == 1 and done.exception is None and "gauge.csv:1:" in done.output


def test_nothing_is_overwritten(shop: Path) -> None:
    before = (shop / SIX / "measurements" / "arrival.yaml").read_bytes()
    done = take(shop, POINT, name="arrival")
    assert "is there already" in str(done.exception)
    assert (shop / SIX / "measurements" / "arrival.yaml").read_bytes() == before


def test_an_empty_file_is_called_empty(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = take(shop, "")
    assert "the file is empty" in told.output + capsys.readouterr().out
