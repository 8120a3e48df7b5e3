"""Readings against the heading of their table and the instrument that it names.

Divisions and what is estimated between them: common practice.  The readings are made up; units are
exact by definition (1 in = 25.4 mm; 1 psi = 0.0689476 bar, NIST SP 811, appendix B.8).
"""

from __future__ import annotations

from typing import Any

import pytest

Write = Any

ROUND, SHEET, HOUSE = "j1/measurements/arrival.yaml", "engines/four.yaml", "shop.yaml"
FLOAT = "crank: 0.24/0.25/0.24"
TOOLS = """\
  manometer:
    kind: pressure gauge
    range: 0 to 40 bar
    resolution: 0.1 bar
    permitted_error: 0.4 bar
  mic_25:
    kind: micrometer
    range: 0 to 25 mm
    resolution: 0.001 mm
    permitted_error: 0.002 mm
"""
OIL = """\
  oil:
    kind: oil_pressure
    positions: engine
    columns: idle fast
    unit: bar
    new:
      idle: min 1.0
    source: manual page 1
"""
GUIDES = """\
  guides:
    kind: guide
    positions: I1 I2
    columns: guide stem
    unit: mm
    new:
      clearance: 0.02 to 0.06
    source: manual page 1
"""


def read(feature: str, columns: str, *rows: str, instrument: str = "mic") -> str:
    lines = "".join(f"      {row}\n" for row in rows)
    return (
        f"  {feature}:\n    instrument: {instrument}\n    columns: {columns}\n    rows:\n{lines}  housings:\n"
    )


def doubts(write: Write, *changes: tuple[str, str, str]) -> list[tuple[str, int, int]]:
    """What is said, how many readings are left out, how many are judged all the same."""
    found = write(*changes).jobs["j1"].doubts
    return [(one.problem.message, len(one.spots), len(one.kept)) for one in found]


@pytest.mark.parametrize(
    ("typed", "said", "out", "kept"),
    [
        ("75.9681", "75.9681, and mic shows steps of 0.001 mm", 0, 1),  # a tenth of a division, estimated
        ("75.96812", "75.96812, and mic shows steps of 0.001 mm", 1, 0),
        ("75.96", "75.96 has a digit less than those beside it", 0, 1),
        ("75.960", "", 0, 0),
        ("75.9681!", "", 0, 0),
        ("75.96!", "", 0, 0),
    ],
)
def test_digits_that_the_instrument_does_not_show(
    write: Write, typed: str, said: str, out: int, kept: int
) -> None:
    found = doubts(write, (ROUND, "75.968", typed))
    if not said:
        assert found == []
        return
    ((message, left_out, judged),) = found
    assert said in message and (left_out, judged) == (out, kept)


@pytest.mark.parametrize("heading", ["", "    unit: thou\n"])
def test_a_clearance_in_inches_under_another_heading(write: Write, heading: str) -> None:
    """0.0095 in is 0.24 mm; of a dial that shows 0.01 mm nobody reads 0.0095 mm, nor 0.0095 thou."""
    found = doubts(
        write,
        (ROUND, FLOAT, "crank: 0.0095"),
        (ROUND, "    columns: end_float", heading + "    columns: end_float"),
    )
    assert [left_out for _, left_out, _ in found] == [1]


def test_a_table_without_the_last_digit_is_less_sure_and_no_slip(write: Write) -> None:
    rows = "".join(f"      M{n}:    75.97   75.96   75.97  75.96\n" for n in (1, 2, 3))
    whole = write().jobs["j1"].rounds["arrival"].source.lines
    first = next(i for i, line in enumerate(whole) if line.startswith("      M1:"))
    old = "\n".join(whole[first : first + 3]) + "\n"
    assert doubts(write, (ROUND, old, rows)) == []


@pytest.mark.parametrize(
    ("idle", "fast", "out"), [("6", "23", 0), ("6", "45", 2), ("30", "50", 2), ("2.0", "4.5", 0)]
)
def test_psi_under_bar(write: Write, idle: str, fast: str, out: int) -> None:
    """What the gauge cannot show in bar and can in psi: then nothing of that table was read in bar."""
    changes = [
        (HOUSE, "  dial:\n", TOOLS + "  dial:\n"),
        (SHEET, "  housings:\n", OIL + "  housings:\n"),
        (ROUND, "  housings:\n", read("oil", "idle fast", f"engine: {idle}  {fast}", instrument="manometer")),
    ]
    job = write(*changes).jobs["j1"]
    assert len(job.suspects) == out
    if out:
        (doubt,) = job.doubts
        assert "unit: psi?" in doubt.problem.suggestion


@pytest.mark.parametrize(
    ("row", "out"),
    [("9.462  9.521", 2), ("9.521  9.462", 0), ("9.462!  9.521", 0), ("9.462  9.462", 0)],
)
def test_a_stem_wider_than_its_guide(write: Write, row: str, out: int) -> None:
    changes = [
        (HOUSE, "  dial:\n", TOOLS + "  dial:\n"),
        (SHEET, "  housings:\n", GUIDES + "  housings:\n"),
        (
            ROUND,
            "  housings:\n",
            read("guides", "guide stem", f"I1: {row}", "I2: 9.520  9.460", instrument="mic_25"),
        ),
    ]
    assert len([spot for spot in write(*changes).jobs["j1"].suspects if spot[1] == "guides"]) == out


@pytest.mark.parametrize(
    ("typed", "meant"), [("1/64", "0.0156in"), ("3/8", "0.3750in"), ("0.24/0.25", ""), ("2/4", "")]
)
def test_a_fraction_of_an_inch(write: Write, typed: str, meant: str) -> None:
    found = [
        one
        for one in write((ROUND, FLOAT, f"crank: {typed}")).jobs["j1"].problems
        if "fraction" in one.message
    ]
    assert [one.suggestion for one in found] == ([meant] if meant else [])


@pytest.mark.parametrize(
    ("typed", "severity"),
    [
        ("7 °C", "warning"),
        ("8 °C", ""),
        ("32 °C", ""),
        ("33 °C", "warning"),
        ("51 °C", "error"),
        ("-11 °C", "error"),
        ("200 °C", "error"),
    ],
)
def test_the_warmth_of_a_workshop(write: Write, typed: str, severity: str) -> None:
    shop = write((ROUND, "temperature: 20 °C", f"temperature: {typed}"))
    found = [one.severity for one in shop.all_problems if "in the workshop" in one.message]
    assert found == ([severity] if severity else [])


MIC = "resolution: 0.001 mm\n    permitted_error: 0.002 mm\n    calibrated"


@pytest.mark.parametrize(
    ("steps", "error", "severity", "hint"),
    [
        ("0.001", "0 mm", "error", "unknown"),
        ("0.001", "-0.002 mm", "error", "0.002 mm"),
        ("0.001", "2 mm", "warning", "certificate"),
        ("0.1", "0.002 mm", "warning", "certificate"),
        ("0.001", "0.030 mm", "", ""),
        ("0.001", "unknown", "", ""),
    ],
)
def test_the_error_of_an_instrument(write: Write, steps: str, error: str, severity: str, hint: str) -> None:
    new = f"resolution: {steps} mm\n    permitted_error: {error}\n    calibrated"
    found = [one for one in write((HOUSE, MIC, new)).all_problems if one.file == HOUSE]
    assert [one.severity for one in found] == ([severity] if severity else [])
    assert all(hint in one.suggestion for one in found)


def test_an_error_that_nobody_knows_is_no_smaller_than_one_that_is_stated(write: Write) -> None:
    shop = write((HOUSE, MIC, MIC.replace("0.002 mm", "unknown"))).shop
    assert shop and shop.instruments["mic"].error.to("mm") == pytest.approx(0.005)
    assert shop.instruments["gauge"].error.to("mm") == pytest.approx(0.002)


LAYOUT = "  arrangement: inline\n"


@pytest.mark.parametrize(
    ("bore", "stroke", "severity"),
    [
        ("84 mm", "90 mm", ""),
        ("73 in", "3 in", "error"),
        ("8.4 mm", "90 mm", "error"),
        ("84 mm", "9.0 in", ""),
        ("84 mm", "20 mm", "warning"),
    ],
)
def test_bore_and_stroke(write: Write, bore: str, stroke: str, severity: str) -> None:
    shop = write((SHEET, LAYOUT, f"{LAYOUT}  bore: {bore}\n  stroke: {stroke}\n"))
    assert [one.severity for one in shop.engines["four"].problems] == ([severity] if severity else [])
