"""Each threshold of a slip from both sides: the last reading that is none, the first that is one.

The thresholds are shop practice of this project; the figures are whole multiples of them, made up.
"""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from rebuildreport.quantities import Quantity, english, parse
from rebuildreport.records.doubts.bands import narrow_band
from rebuildreport.records.doubts.slips import slip
from rebuildreport.records.doubts.suspects import _exchanged, _Held, _slipped, _unlike_wear
from rebuildreport.records.files.measured import MeasuredTable
from rebuildreport.records.files.rounds import Table
from rebuildreport.records.files.rows import table_cells
from rebuildreport.records.files.sheet import FeatureRecord
from rebuildreport.records.text.reader import Source


def meant(rows: dict[str, str], feature: FeatureRecord | None = None) -> str:
    """What the first reading of the first row was probably meant to be; '' for no slip."""
    width = max(len(row.split()) for row in rows.values())
    table = Table(columns=" ".join("abcdefgh"[:width]), rows=rows)
    cells, problems = table_cells(table, "mm", Source(""), ())
    assert not problems
    found = slip(MeasuredTable("r", "t", table, cells, None, Source("")), feature, next(iter(rows)), "a")
    return english(found.meant) if found else ""


@pytest.mark.parametrize(
    ("reading", "others", "expected"),
    [
        # readings that lie within 1.5 times of each other, by digits alone
        ("120.0", "10.0 12.0 15.0", "12.0"),
        ("120.0", "10.0 12.0 15.1", ""),
        # five times their middle, either way
        ("85", "10.0 17.0 20.0", "8.5"),
        ("84", "10.0 17.0 20.0", ""),
        ("2.40", "10.0 12.0 20.0", "24.0"),
        ("2.41", "10.0 12.0 20.0", ""),
        # two and a half times beyond their ends
        ("101", "10.0 10.0 40.0", "10.1"),
        ("100", "10.0 10.0 40.0", ""),
        ("3.99", "10.0 50.0 50.0", "39.9"),
        ("4.00", "10.0 50.0 50.0", ""),
        # a quarter outside them, where the point stands elsewhere
        ("125", "10.0 10.0 10.0", "12.5"),
        ("126", "10.0 10.0 10.0", ""),
        ("80", "10.0 10.0 10.0", "8.0"),
        ("79", "10.0 10.0 10.0", ""),
        # 3 % outside them, where only digits speak
        ("103.00", "10.00 10.00 10.00", "10.30"),
        ("103.10", "10.00 10.00 10.00", ""),
        ("97.10", "10.00 10.00 10.00", "9.71"),
        ("97.00", "10.00 10.00 10.00", ""),
        # three others, none of them nothing
        ("100", "10.0 10.0", ""),
        ("100", "0.0 10.0 10.0", ""),
        ("100", "0.1 10.0 10.0", "10.0"),
    ],
)
def test_among_amounts_of_one_column(reading: str, others: str, expected: str) -> None:
    rows = {"P1": reading, **{f"Q{n}": other for n, other in enumerate(others.split())}}
    assert meant(rows) == expected


@pytest.mark.parametrize(
    ("reading", "limit", "expected"),
    [
        ("6.1", "0.1", "1.6"),  # more than four times as far out as the others lie apart
        ("6.0", "0.1", ""),
        ("6.1", "4.0", "1.6"),  # more than the limit beyond them
        ("6.1", "4.5", ""),
    ],
)
def test_among_deviations(reading: str, limit: str, expected: str) -> None:
    runout = FeatureRecord(kind="runout", unit="mm", wear={"runout": f"max {limit}"})
    assert meant({"P1": f"{reading} 1.0 1.5 2.0"}, runout) == expected


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("51 11 12 13", "15"),  # as far beyond them as they lie apart
        ("61 11 12 13", ""),
        ("0.025 0.20 0.25 0.30", "0.25"),  # a digit that no other has
        ("0.10 0.1 1.0 1.0", ""),  # and itself one of them
    ],
)
def test_a_deviation_put_right_is_one_of_the_others(row: str, expected: str) -> None:
    assert meant({"P1": row}, FeatureRecord(kind="runout", unit="mm")) == expected


@pytest.mark.parametrize(("others", "expected"), [("1.0 1.5 2.0", "1.6"), ("1.0 2.0", "")])
def test_two_others_say_nothing_of_a_deviation(others: str, expected: str) -> None:
    assert meant({"P1": f"6.1 {others}"}, FeatureRecord(kind="runout", unit="mm")) == expected


@pytest.mark.parametrize(
    ("row", "limit", "expected"),
    [
        ("5.0 2.00 3.00", "max 1.00", "0.50"),  # five times a limit, and the point elsewhere
        ("4.9 2.00 3.00", "max 1.00", ""),
        ("10.0 2.00 3.00", "max 1.00", "1.00"),
        ("10.00 2.00 3.00", "max 1.00", "1.00"),  # ten times, and the point where theirs is
        ("9.99 2.00 3.00", "max 1.00", ""),
        ("10.01 2.00 3.00", "max 1.00", ""),  # a tenth of it is beyond the limit, too
        ("10.00 20.0 30.0", "min 50.0", "100.0"),  # a fifth of a limit
        ("10.01 20.0 30.0", "min 50.0", ""),
        ("2.00 20.0 30.0", "min 60.0", "20.0"),  # put right it is no less than a third of the limit
        ("1.99 20.0 30.0", "min 60.0", ""),
    ],
)
def test_against_its_own_limit(row: str, limit: str, expected: str) -> None:
    assert meant({"P1": row}, FeatureRecord(kind="readings", unit="mm", wear={"a": limit})) == expected


def around(**groups: list[float]) -> _Held:
    return _Held(mm("0"), **groups)  # type: ignore[arg-type]


def mm(text: str) -> Quantity:
    return parse(text, "mm")


@pytest.mark.parametrize(
    ("reading", "held", "expected"),
    [
        ("10.200", around(row=[100.0, 100.0]), "102.00"),  # within 2 % of its neighbours
        ("10.201", around(row=[100.0, 100.0]), ""),
        ("1.000", around(row=[100.0, 100.0]), "100.0"),  # two places, and three
        ("10000", around(row=[100.0, 100.0]), "100.00"),
        ("0.1000", around(row=[100.0, 100.0]), "100.0"),
        ("100000", around(row=[100.0, 100.0]), "100.000"),
        ("1.10", around(repeats=[10.0, 10.0]), "11.0"),  # within 10 % of its repeats
        ("1.11", around(repeats=[10.0, 10.0]), ""),
        ("151.0", around(row=[100.0, 100.0], column=[1510.0, 1510.0]), "1510"),
        ("150.0", around(row=[100.0, 100.0], column=[1500.0, 1500.0]), ""),  # the nearest agree within a half
        ("10.0", around(row=[50.0, 100.0, 100.0, 200.0]), ""),  # half of them alike say nothing
        ("10.0", around(row=[50.0, 100.0, 100.0, 100.0, 200.0]), "100"),
        ("10.0", around(row=[98.0, 100.0, 150.0]), "100"),  # 2 % apart are alike
        ("10.0", around(row=[97.9, 100.0, 150.0]), ""),
        ("10.0", around(row=[100.0]), ""),  # nor does one
        ("10.0", around(row=[0.0, 100.0, 100.0]), ""),  # nor those that reach down to nothing
        ("3.937", around(row=[100.0, 100.0]), "3.937in, which is 100.00 mm"),
        ("4.017", around(row=[100.0, 100.0]), ""),  # 102.03
    ],
)
def test_a_point_in_the_wrong_place(reading: str, held: _Held, expected: str) -> None:
    found = _slipped(replace(held, reading=mm(reading)))
    assert (english(found.meant) if found else "") == expected


@pytest.mark.parametrize(
    ("reading", "group", "expected"),
    [
        ("57.20", [75.10, 75.32], "75.20"),  # of one size within 0.3 %
        ("57.20", [75.10, 75.33], ""),
        ("76.50", [75.52, 75.68], "75.60"),  # more than five times as far out as they lie apart
        ("76.50", [75.50, 75.68], ""),
        ("7553", [7532.0, 7532.0], "7535"),  # 21 steps out, and put right 3 beside them
        ("7553", [7533.0, 7533.0], ""),  # 20 steps out
        ("7553", [7531.0, 7531.0], ""),  # put right 4 steps beside them
        ("3557", [3578.0, 3578.0], "3575"),
        ("3557", [3579.0, 3579.0], ""),
        ("57.20", [75.20], ""),
        ("5720", [0.0, 0.0], ""),
    ],
)
def test_two_digits_exchanged(reading: str, group: list[float], expected: str) -> None:
    found = _exchanged(_Held(mm(reading), row=group))
    assert (english(found.meant) if found else "") == expected


@pytest.mark.parametrize(
    ("reading", "column", "expected"),
    [
        ("7653", [7563.0, 7563.0], ""),  # 90 steps beside other parts of its size
        ("7753", [7573.0, 7573.0], "7573"),  # 180
    ],
)
def test_beside_other_parts_it_takes_more(reading: str, column: list[float], expected: str) -> None:
    found = _exchanged(_Held(mm(reading), column=column))
    assert (english(found.meant) if found else "") == expected


@pytest.mark.parametrize(
    ("kind", "reading", "row", "asked"),
    [
        ("bore", "1021", [1000.0, 1000.0], True),  # more than 2 % beyond a row of one size
        ("bore", "1020", [1000.0, 1000.0], False),
        ("bore", "979", [1000.0, 1000.0], True),  # a bore grows, and no less than 20 steps are asked about
        ("bore", "980", [1000.0, 1000.0], False),
        ("journal", "1021", [1000.0, 1000.0], True),  # and a journal shrinks
        ("journal", "980", [1000.0, 1000.0], False),
        ("bore", "979", [1000.0, 1003.0], True),
        ("bore", "979", [1000.0, 1004.0], False),  # a row of more than one size
        ("bore", "979", [1000.0], False),
    ],
)
def test_what_no_wear_makes(kind: str, reading: str, row: list[float], asked: bool) -> None:
    feature = FeatureRecord(kind=kind, unit="mm")
    assert bool(_unlike_wear(_Held(mm(reading), row=row, ends=[1000.0, 1010.0], feature=feature))) == asked


@pytest.mark.parametrize(("reading", "asked"), [("2040", False), ("2041", True)])
def test_two_per_cent_of_a_larger_bore(reading: str, asked: bool) -> None:
    """At 2000 steps 2 % is more than the 20 steps by which it has to stand off."""
    bore = FeatureRecord(kind="bore", unit="mm")
    held = _Held(mm(reading), row=[2000.0, 2000.0], ends=[2000.0, 2010.0], feature=bore)
    assert bool(_unlike_wear(held)) == asked


@pytest.mark.parametrize(
    ("reading", "of_a_size"),
    [
        ("999", False),
        ("1000", True),
        ("1010", True),
        ("1011", False),
        ("1020", True),
        ("1030", True),
        ("1031", False),
    ],
)
def test_the_ends_of_a_size_belong_to_it(reading: str, of_a_size: bool) -> None:
    assert _Held(mm(reading), ends=[1000.0, 1010.0], others=[0.0, 20.0]).any_size() == of_a_size


@pytest.mark.parametrize(
    ("limit", "ends"),
    [("100.0 to 102.0", [100.0, 102.0]), ("100.0 to 102.1", []), ("0 to 0", []), ("min 100", [])],
)
def test_a_band_wider_than_two_per_cent_says_nothing_of_a_digit(limit: str, ends: list[float]) -> None:
    feature = FeatureRecord(kind="journal", unit="mm", columns="a b", new={"size": limit})
    assert narrow_band(feature, "a", "mm") == ends
