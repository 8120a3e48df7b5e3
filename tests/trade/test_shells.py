"""Shell grades by code and from measurement, against limits-and-fits tables and by hand."""

from __future__ import annotations

import pytest

from rebuildreport.quantities import english
from rebuildreport.trade.choosing.shells import (
    Grade,
    band_faults,
    codes_of,
    grade_by_codes,
    halves,
    mismatch,
    table_faults,
    tried,
)
from rebuildreport.trade.engine.bearings import Clearance
from rebuildreport.trade.measuring.uncertainty import DoubtSource, Measured

# ISO 286 clearance fits as shell tables: a bore band, a shaft band and a shell without a band of its own.
# Limits in µm and least and greatest clearance from check-values A2 (READ: encyclopaedia; Bhandari Ex 3.1).
FITS = [
    ("25 H7/f6", 25.0, (0, 21), (-33, -20), (20, 54)),
    ("50 H7/g6", 50.0, (0, 25), (-25, -9), (9, 50)),
    ("50 H8/f7", 50.0, (0, 39), (-50, -25), (25, 89)),
    ("20 H6/e7", 20.0, (0, 13), (-61, -40), (40, 74)),
]


@pytest.mark.parametrize(("name", "size", "bore", "shaft", "clearance"), FITS)
def test_standard_fits_as_shell_tables(
    name: str,
    size: float,
    bore: tuple[int, int],
    shaft: tuple[int, int],
    clearance: tuple[int, int],
) -> None:
    wall = 2.0
    tables = (
        {"H": ["S"]},
        ["f"],
        {"H": (size + 2 * wall + bore[0] / 1000, size + 2 * wall + bore[1] / 1000)},
        {"f": (size + shaft[0] / 1000, size + shaft[1] / 1000)},
        {"S": (wall, wall)},
    )
    low, high = clearance[0] / 1000, clearance[1] / 1000
    assert table_faults(*tables, (low, high)) == []
    assert table_faults(*tables, (low, high - 0.001)) == [("H", "f", pytest.approx(low), pytest.approx(high))]


def test_a_table_of_the_demo_engine_over_its_full_bands() -> None:
    """Worked out apart from the product (d2_expected, table_band_check): 0.021 to 0.039 in every cell."""
    rows = {"1": ["S1", "S2", "S3"], "2": ["S2", "S3", "S4"], "3": ["S3", "S4", "S5"]}
    housings = {str(n): (51.994 + 0.006 * n, 52.000 + 0.006 * n) for n in (1, 2, 3)}
    journals = {"A": (47.994, 48.000), "B": (47.988, 47.994), "C": (47.982, 47.988)}
    walls = {f"S{n}": (1.9835 + 0.003 * n, 1.9865 + 0.003 * n) for n in range(1, 6)}
    cells = table_faults(rows, ["A", "B", "C"], housings, journals, walls, (0.030, 0.030))
    assert len(cells) == 9
    assert {(least, most) for *_, least, most in cells} == {(0.021, 0.039)}
    assert grade_by_codes(rows, ["A", "B", "C"], "2", "B") == "S3"
    assert grade_by_codes(rows, ["A", "B", "C"], "4", "B") is None


def test_gaps_and_overlaps_of_bands() -> None:
    assert band_faults({"A": (47.994, 48.0), "B": (47.988, 47.994)}) == []
    assert band_faults({"A": (47.995, 48.0), "B": (47.988, 47.994)}) == [("B", "A", pytest.approx(0.001))]
    assert band_faults({"A": (47.993, 48.0), "B": (47.988, 47.994)}) == [("B", "A", pytest.approx(-0.001))]


def test_a_size_near_a_border_may_be_either() -> None:
    bands = {"1": (52.000, 52.006), "2": (52.006, 52.012)}
    doubt = {DoubtSource("reading", "x"): 0.001}
    assert codes_of(Measured(52.0055, doubt), bands) == ["1", "2"]
    assert codes_of(Measured(52.0055, doubt), bands, guarded=False) == ["1"]
    assert codes_of(Measured(52.012), bands) == ["2"]  # the last end belongs to the last band
    assert codes_of(Measured(51.990), bands) == []


def test_fitness_by_hand() -> None:
    """Room 4.010 to 4.014, walls 1.991: 0.028 to 0.032; u of both bands 0.00122, guard 0.0020 (by hand).

    Without a guard the walls may still lie anywhere in their bands: 4.010 - 2 · 1.9925 = 0.025 to 0.035.
    """
    room = Clearance(Measured(4.010), Measured(4.014), Measured(4.012), {})
    grade = Grade("S2", 1.9895, 1.9925)
    assert tried(room, grade, grade, (0.026, 0.034)).fitness == "too close"
    assert tried(room, grade, grade, (0.0259, 0.0341)).fitness == "inside"
    assert tried(room, grade, grade, (0.026, 0.034), guarded=False).fitness == "too close"
    assert tried(room, grade, grade, (0.0249, 0.0351), guarded=False).fitness == "inside"
    assert tried(room, grade, grade, (0.031, 0.040)).fitness == "too tight"
    assert tried(room, grade, grade, (0.020, 0.029)).fitness == "too large"


def test_a_table_may_name_each_half() -> None:
    """52.000 to 52.006 less 47.994 to 48.000 less S1 and S2 (1.9865 to 1.9925 in all, middle 3.979): by hand
    4.000 − 3.982 = 0.018 at least, 4.012 − 3.976 = 0.036 at most.  The table's S1/S3 is no neighbour."""
    walls = {"S1": (1.9865, 1.9895), "S2": (1.9895, 1.9925)}
    tables = ({"1": ["S1/S2"]}, ["A"], {"1": (52.000, 52.006)}, {"A": (47.994, 48.000)}, walls)
    assert table_faults(*tables, (0.018, 0.036)) == []
    assert table_faults(*tables, (0.019, 0.036)) == [("1", "A", pytest.approx(0.018), pytest.approx(0.036))]
    grades = [Grade(f"S{n}", n, n + 1) for n in (1, 2, 3)]
    named = [f"{a.name}/{b.name}" for a, b in halves(grades, "none", ["S2", "S1/S3", "S1/S9"])]
    assert named == ["S1/S1", "S2/S2", "S3/S3", "S1/S3"]


def test_only_neighbours_are_mixed() -> None:
    grades = [Grade(f"S{n}", n, n + 1) for n in range(5)]
    assert len(halves(grades)) == 5
    assert len(halves(grades, "adjacent")) == 5 + 2 * 4
    assert len(halves(grades, "any")) == 25


def test_a_journal_does_not_wear_larger() -> None:
    bands = {"A": (47.994, 48.0), "B": (47.988, 47.994)}
    housing = {"1": (52.0, 52.006)}
    (said,) = mismatch("1", "B", Measured(52.003), Measured(47.997), housing, bands)
    assert "no wear explains" in english(said)
    (said,) = mismatch("1", "A", Measured(52.009), Measured(47.997), housing, bands)
    assert "honed" in english(said)
    assert mismatch("1", "A", Measured(52.003), Measured(47.997), housing, bands) == []
