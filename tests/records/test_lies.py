"""Rows and tables that lie: recognised, named with their line, left out where a value would rest on them.

The figures of the first cases are those of the collection of traps (rows exchanged, inches); the rest is
made up alike.  What a worn or machined engine shows must stay untouched.
"""

from __future__ import annotations

from typing import Any

import pytest

from rebuildreport.quantities import english

Write = Any

ROUND = "j1/measurements/arrival.yaml"
SHEET = "engines/four.yaml"
PINS = """\
  pins:
    kind: journal
    part: crankshaft
    positions: R1 to R3
    columns: front_a front_b rear_a rear_b
    unit: mm
    new:
      size: 63.950 to 63.970
    undersizes: 0.25 0.50 mm
    source: manual page 1
"""
READ = """\
  pins:
    instrument: mic
    columns: front_a  front_b  rear_a  rear_b
    rows:
      R1:    63.966   63.958   63.964  63.957
      R2:    {}
      R3:    63.961   63.959   63.960  63.958
"""
M2 = "75.965   75.960   75.963  75.959"
JOURNALS = (
    "75.968   75.964   75.966  75.962\n"
    "      M2:    75.965   75.960   75.963  75.959\n"
    "      M3:    75.962   75.955   75.960  75.951"
)


def doubts(write: Write, *changes: tuple[str, str, str], **more: Any) -> list[Any]:
    job = write(*changes, **more).jobs["j1"]
    assert all(doubt.problem in job.problems for doubt in job.doubts)
    assert job.suspects == {spot for doubt in job.doubts for spot in doubt.spots}
    return list(job.doubts)


def with_pins(r2: str, m2: str = M2) -> list[tuple[str, str, str]]:
    return [
        (SHEET, "  housings:\n", PINS + "  housings:\n"),
        (ROUND, M2, m2),
        (ROUND, "  housings:\n", READ.format(r2) + "  housings:\n"),
    ]


def test_an_undamaged_job_has_no_doubts(write: Write) -> None:
    assert doubts(write) == []
    assert doubts(write, *with_pins("63.968   63.961   63.966  63.960")) == []


def test_rows_exchanged_between_features(write: Write) -> None:
    found = doubts(write, *with_pins(M2, "63.968   63.961   63.966  63.960"))
    assert [one.problem.message.partition(" (")[0] for one in found] == [
        "M2 and R2 look exchanged: each fits the other's band"
    ] * 2
    assert {spot[2] for one in found for spot in one.spots} == {"M2", "R2"}
    assert [len(one.spots) for one in found] == [4, 4]  # the whole row, never swapped silently
    quotes = [one.problem.quote.split() for one in found]
    assert [quote[0] for quote in quotes] == ["M2:", "R2:"]


def test_a_row_read_at_another_feature(write: Write) -> None:
    (one,) = doubts(write, *with_pins(M2))
    assert one.problem.message.startswith("R2 fits no size of pins, but the band of journals")
    assert len(one.spots) == 4


def test_exchanged_rows_that_were_looked_at_again_stand(write: Write) -> None:
    right = " ".join(f"{text}!" for text in M2.split())
    assert doubts(write, *with_pins(right)) == []


def test_ground_journals_are_not_exchanged(write: Write) -> None:
    """Pins ground to an undersize that is far from their band, and near no other feature's."""
    found = doubts(write, *with_pins("63.466   63.465   63.466  63.464"))
    assert [one.spots for one in found] == [()]
    message = found[0].problem.message
    assert message == "R2 reads like 0.50 mm undersize, and the records say the standard size"
    assert "sizes_as_found" in found[0].problem.suggestion


@pytest.mark.parametrize("file", ["j1/work.yaml", "j1/teardown.yaml"])
def test_nothing_is_said_of_sizes_where_they_could_not_be_read(write: Write, file: str) -> None:
    """The decision may well stand in the file with the bad line."""
    bad = {file: "by: me\ndate: 2026-02-30\n"}
    assert doubts(write, *with_pins("63.466   63.465   63.466  63.464"), files=bad) == []
    unbegun = {file: "# nothing yet\n"}
    assert len(doubts(write, *with_pins("63.466   63.465   63.466  63.464"), files=unbegun)) == 1


def test_an_undersize_that_is_written_down_is_no_doubt(write: Write) -> None:
    size = "  - feature: pins\n    positions: R2\n    size: 0.50 mm undersize\n  - feature: housings\n"
    changes = [
        *with_pins("63.466   63.465   63.466  63.464"),
        ("j1/teardown.yaml", "  - feature: housings\n", size),
    ]
    assert doubts(write, *changes) == []
    # the same note, and the row of another pin: exchanged between positions of one feature
    wrong = [*with_pins("63.968   63.961   63.966  63.960"), changes[-1]]
    wrong.append((ROUND, "63.961   63.959   63.960  63.958", "63.466   63.465   63.466  63.464"))
    found = doubts(write, *wrong)
    assert [one.problem.message for one in found] == [
        "R2 and R3 look exchanged: each fits the other's size; left out until confirmed"
    ] * 2
    assert {spot[2] for one in found for spot in one.spots} == {"R2", "R3"}


@pytest.mark.parametrize(("reads", "asked"), [("63.751", True), ("63.752", False)])
def test_how_near_to_a_size_a_ground_surface_lies(write: Write, reads: str, asked: bool) -> None:
    """0.0005 of 63.970 is 0.032 beyond 63.720, the upper end of 0.25 mm undersize."""
    assert bool(doubts(write, *with_pins(" ".join([reads] * 4)))) == asked


@pytest.mark.parametrize(
    ("bore", "asked"), [("101.000", False), ("101.001", True), ("49.500", False), ("49.499", True)]
)
def test_how_far_past_its_setting_a_gauge_travels(write: Write, bore: str, asked: bool) -> None:
    """1 % beyond the ends of a micrometer of 50 to 100 mm."""
    rows = [("80.008   80.009", f"{bore} {bore}"), ("80.010   80.011", f"{bore} {bore}")]
    found = doubts(write, *((ROUND, old, new) for old, new in rows))
    assert any("can have been set in it" in one.problem.message for one in found) == asked


def test_after_the_decision_the_ground_size_is_expected(write: Write) -> None:
    """Decided on the 10th: 0.25 undersize; read on the 20th at that size."""
    ground = JOURNALS.replace("75.9", "75.7").replace("75.76", "75.73").replace("75.75", "75.73")
    after = {
        "j1/measurements/after.yaml": (
            "date: 2026-02-20\nby: bench 1\ntemperature: 20 °C\ntables:\n  journals:\n    instrument: mic\n"
            f"    columns: front_a  front_b  rear_a  rear_b\n    rows:\n      M1:    {ground}\n"
        )
    }
    assert doubts(write, files=after) == []


def test_inches_under_a_heading_of_millimetres(write: Write) -> None:
    (one,) = doubts(
        write, (ROUND, "80.008   80.009", "3.1499   3.1500"), (ROUND, "80.010   80.011", "3.1500   3.1500")
    )
    assert one.problem.message.startswith("3.1499 to 3.1500 under the heading mm: inches?")
    assert "3.1499 in is 80.007 mm" in one.problem.message
    assert one.problem.suggestion.startswith("unit: in")
    assert one.problem.quote.strip() == "unit: mm"
    assert len(one.spots) == 4


def test_one_row_in_inches(write: Write) -> None:
    (one,) = doubts(write, (ROUND, M2, "2.9907   2.9905   2.9907  2.9905"))
    assert one.problem.message.startswith("M2: 2.9905 to 2.9907 under the heading mm: inches?")
    assert {spot[2] for spot in one.spots} == {"M2"}


def test_one_reading_in_inches(write: Write) -> None:
    (one,) = doubts(write, (ROUND, "75.964", "2.9907"))
    assert one.spots == (("arrival", "journals", "M1", "front_b"),)
    assert one.problem.suggestion.startswith("2.9907in, which is 75.964 mm?")


def test_a_whole_table_with_its_point_slipped(write: Write) -> None:
    (one,) = doubts(write, (ROUND, JOURNALS, JOURNALS.replace("75.9", "7.59")))
    assert one.problem.message.startswith(
        "7.5951 to 7.5968 under the heading mm: a point in the wrong place?"
    )
    assert len(one.spots) == 12


def test_out_of_the_instruments_range_is_left_out(write: Write) -> None:
    """No limits and no neighbours to hold it against: only the instrument says that it cannot be."""
    (one,) = doubts(
        write,
        (ROUND, "0.24/0.25/0.24", "10.24"),
        ("j1/running.yaml", "instrument: dial", "instrument: gauge"),
    )[:1]
    assert one.problem.message.startswith("crank end_float: dial reads 0 to 10 mm, not 10.24 mm; left out")
    assert one.spots == (("arrival", "float", "crank", "end_float"),)
    assert doubts(write, (ROUND, "0.24/0.25/0.24", "10.24!")) == []


def test_an_indicator_reads_both_ways_from_its_zero(write: Write) -> None:
    """Its zero is set at a first place, and others lie lower; further than it travels is told."""
    for reading, told in (("-0.24/-0.25/-0.24", False), ("-10.24", True)):
        said = doubts(write, (ROUND, "0.24/0.25/0.24", reading))
        assert any("dial reads 0 to 10 mm" in one.problem.message for one in said) is told, reading


def test_a_wrong_instrument_is_told_once(write: Write) -> None:
    (one,) = doubts(write, (ROUND, "instrument: mic\n", "instrument: dial\n"))
    assert "(and 11 more)" in one.problem.message and len(one.spots) == 12


def test_a_reading_near_its_limits_is_of_another_instrument_and_of_no_other_unit(write: Write) -> None:
    """365 psi is 25.2 bar, as a diesel has: 365 kPa would be 3.7, and it is the gauge that is wrong."""
    gauges = "".join(
        f"  {name}:\n    kind: pressure gauge\n    range: 0 to {most}\n    resolution: 1 psi\n"
        "    permitted_error: 3 psi\n"
        for name, most in (("low", "300 psi"), ("high", "40 bar"))
    )
    sheet = (
        "  compression:\n    kind: compression\n    positions: C1 C2\n    columns: pressure\n    unit: bar\n"
        "    new:\n      pressure: min 24\n    source: manual page 1\n"
    )
    table = (
        "  compression:\n    unit: psi\n    instrument: low\n    columns: pressure\n    rows:\n"
        "      C1: 365\n      C2: 290\n"
    )
    found = doubts(
        write,
        ("shop.yaml", "instruments:\n", f"instruments:\n{gauges}"),
        (SHEET, "features:\n", f"features:\n{sheet}"),
        (ROUND, "tables:\n", f"tables:\n{table}"),
    )
    (one,) = [doubt for doubt in found if doubt.table == "compression"]
    assert one.spots == (("arrival", "compression", "C1", "pressure"),)
    assert one.problem.suggestion == "another instrument, as high?"


# one spot of something that is not levered, read again and again
SPOT = (SHEET, "    kind: end_float\n", "    kind: readings\n")


def test_repeats_further_apart_than_the_instrument_repeats(write: Write) -> None:
    """0.003 and steps of 0.01: s = 0.0042 of one rounded reading, times 3.3 for three: 0.0137 allowed."""
    dial = (
        "shop.yaml",
        "    permitted_error: 0.01 mm\n",
        "    permitted_error: 0.01 mm\n    repeatability: 0.003 mm\n",
    )
    assert doubts(write, dial) == []
    (one,) = doubts(write, dial, SPOT, (ROUND, "0.24/0.25/0.24", "0.24/0.26/0.24"))
    assert one.problem.message == (
        "crank end_float: 0.24/0.26/0.24: 0.02 mm apart, where the dial indicator's repeatability allows "
        "0.014; judged as it was read, as far apart as they lie"
    )
    assert one.problem.suggestion == "take 3 more; 0.26 stands apart, or write 0.24/0.26/0.24! if it is right"
    assert doubts(write, dial, SPOT, (ROUND, "0.24/0.25/0.24", "0.24/0.26/0.24!")) == []


@pytest.mark.parametrize(("read", "asked"), [("0.24/0.30/0.24", False), ("0.24/0.31/0.24", True)])
def test_levering_is_no_repeat_of_one_spot(write: Write, read: str, asked: bool) -> None:
    """Some hundredths between one time and the next are normal (common practice): 0.06 mm."""
    dial = (
        "shop.yaml",
        "permitted_error: 0.01 mm\n",
        "permitted_error: 0.01 mm\n    repeatability: 0.003 mm\n",
    )
    assert bool(doubts(write, dial, (ROUND, "0.24/0.25/0.24", read))) == asked


def test_none_of_the_repeats_is_blamed_where_none_stands_apart(write: Write) -> None:
    dial = (
        "shop.yaml",
        "    permitted_error: 0.01 mm\n",
        "    permitted_error: 0.01 mm\n    repeatability: 0 mm\n",
    )
    (one,) = doubts(write, dial, SPOT, (ROUND, "0.24/0.25/0.24", "0.26/0.24/0.25"))
    assert one.problem.suggestion == "take 3 more, or write 0.26/0.24/0.25! if it is right"
    (one,) = doubts(write, dial, SPOT, (ROUND, "0.24/0.25/0.24", "0.24/0.25/0.28"))
    assert "; 0.28 stands apart," in one.problem.suggestion
    for read, apart in (("0.240/0.250/0.271", True), ("0.240/0.250/0.270", False)):  # twice their own spread
        (one,) = doubts(write, dial, SPOT, (ROUND, "0.24/0.25/0.24", read))
        assert ("stands apart" in one.problem.suggestion) == apart


def test_a_calibration_that_had_run_out(write: Write) -> None:
    one, gauge = doubts(write, ("shop.yaml", "due: 2026-09-01", "due: 2026-02-01"))
    assert one.spots == () and not one.asks
    assert (one.table, gauge.table) == ("journals", "housings")  # the gauge was set in it
    assert (
        english(one.says) == "The micrometer was due for calibration on 2026-02-01, before this was measured."
    )


def test_a_clearance_in_another_band_is_no_stray(write: Write) -> None:
    """Exhaust valves that have closed up read like intake valves, and are where they were read."""
    lash = "".join(
        f"  {name}:\n    kind: readings\n    positions: V1 V2\n    columns: lash\n    unit: mm\n"
        f"    new:\n      lash: {band}\n    source: manual page 3\n"
        for name, band in (("intake", "0.15 to 0.22"), ("exhaust", "0.25 to 0.32"))
    )
    read = "".join(
        f"  {name}:\n    instrument: dial\n    columns: lash\n    rows:\n      V1: {one}\n      V2: {other}\n"
        for name, one, other in (("intake", "0.19", "0.28"), ("exhaust", "0.17", "0.28"))
    )
    changes = (
        (SHEET, "  housings:\n", lash + "  housings:\n"),
        (ROUND, "  housings:\n", read + "  housings:\n"),
    )
    assert doubts(write, *changes) == []


@pytest.mark.parametrize(
    "row",
    [
        "75.846   75.815   75.839  75.812",  # a wiped main
        "75.700   75.640   75.690  75.635",  # ground nowhere, worn out
    ],
)
def test_wear_is_no_lie(write: Write, row: str) -> None:
    assert doubts(write, (ROUND, M2, row)) == []


CAM = """\
  cam_bearings:
    kind: bore
    title: Cam bearings
    positions: K1 K2
    columns: v h
    unit: in
    new:
      size: 1.8702 to 1.8712
    source: manual page 3
  cam_journals:
    kind: journal
    title: Cam journals
    positions: K1 K2
    columns: a b
    unit: in
    new:
      size: 1.8682 to 1.8692
    source: manual page 3
  cam_fit:
    kind: running_fit
    outer: cam_bearings
    inner: cam_journals
    unit: in
    new:
      clearance: {}
    source: manual page 3
"""


def cam(
    bearing: str, journal: str, limit: str = "0.0010 to 0.0030", steps: str = ""
) -> list[tuple[str, str, str]]:
    sheet = CAM.format(limit).replace("    source", f"    {steps}\n    source" if steps else "    source", 1)
    read = (
        "  cam_bearings:\n    unit: in\n    columns: v h\n    rows:\n"
        f"      K1: 1.8708 1.8707\n      K2: {bearing}\n"
        "  cam_journals:\n    unit: in\n    columns: a b\n    rows:\n"
        f"      K1: 1.8686 1.8685\n      K2: {journal}\n"
    )
    return [
        (SHEET, "  housings:\n", sheet + "  housings:\n"),
        (ROUND, "  housings:\n", read + "  housings:\n"),
    ]


def test_a_bearing_exchanged_with_the_journal_in_it(write: Write) -> None:
    assert doubts(write, *cam("1.8709 1.8707", "1.8686 1.8686")) == []
    bearing, journal = doubts(write, *cam("1.8686 1.8686", "1.8709 1.8707"))
    assert bearing.problem.message == (
        "K2 of cam journals and of cam bearings look exchanged: each fits the other's band "
        f"(line {journal.problem.line}); left out until confirmed"
    )
    assert f"(line {bearing.problem.line})" in journal.problem.message
    assert {(spot[1], spot[2]) for spot in (*bearing.spots, *journal.spots)} == {
        ("cam_bearings", "K2"),
        ("cam_journals", "K2"),
    }
    assert bearing.asks and not journal.asks  # one question for the two
    assert doubts(write, *cam("1.8686! 1.8686!", "1.8709 1.8707")) == []


def test_a_shaft_larger_than_its_bore_is_questioned(write: Write) -> None:
    """1.8689 in a bore of 1.8684 that it was running in; by 0.0003 (0.0076 mm) two instruments may be off."""
    assert doubts(write, *cam("1.8684 1.8685", "1.8687 1.8687")) == []
    found = doubts(write, *cam("1.8684 1.8685", "1.8689 1.8689"))
    assert len(found) == 2 and all(
        "K2 of cam journals would not go into" in it.problem.message for it in found
    )
    assert doubts(write, *cam("1.8685 1.8685", "1.8685 1.8685")) == []  # no clearance is judged by its limits
    assert len(doubts(write, *cam("1.8684 1.8685", "1.8689 1.8689", "0.0000 to 0.0030"))) == 2


def test_a_pressed_fit_and_parts_of_another_size_are_not_questioned(write: Write) -> None:
    assert doubts(write, *cam("1.8684 1.8684", "1.8700 1.8700", "-0.0030 to -0.0010")) == []
    new = cam("1.8709 1.8707", "1.8886 1.8886", steps="oversizes: 0.020 in")
    assert not [one for one in doubts(write, *new) if one.spots]  # for the bearing that is still to be bored
