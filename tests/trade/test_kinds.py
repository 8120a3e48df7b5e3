"""The register of kinds is complete."""

from __future__ import annotations

from typing import Any

import pytest

from rebuildreport import quantities
from rebuildreport.quantities import Typed, english
from rebuildreport.trade.engine.bearings import Walls
from rebuildreport.trade.kinds import KINDS, Computed, Inputs, Kind, KnownWalls
from rebuildreport.trade.measuring import form as shape
from rebuildreport.trade.measuring.gauges import FAMILIES
from rebuildreport.trade.measuring.uncertainty import Instrument, Measured, read
from rebuildreport.trade.measuring.verdict import judge


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_a_kind_says_everything_about_itself(kind: Kind) -> None:
    for said in (kind.says, kind.readings, kind.formula, kind.source, kind.doubt, kind.drawing):
        assert said.strip() and not said.endswith(".")
    assert set(kind.instruments) <= set(FAMILIES)
    for trait in kind.traits.values():
        assert trait.title and trait.limit
        assert not trait.unit or trait.unit in quantities.units.BASE.values()
    for given in kind.given.values():
        assert given.dimension in ("", "feature", *quantities.units.BASE)


def worked_out(
    kind: str, columns: str, readings: dict[str, dict[str, float]], **more: Any
) -> dict[tuple[str, str], Computed]:
    """What a kind says of these readings, by position and name."""
    inputs = Inputs(
        positions=tuple(more.pop("positions", tuple(readings))),
        columns=tuple(columns.split()),
        readings={p: {c: Measured(v) for c, v in ones.items()} for p, ones in readings.items()},
        **more,
    )
    return {(one.position, one.name): one for one in KINDS[kind].compute(inputs)}


def test_what_was_read_in_part_passes_nothing() -> None:
    """The widest place of a guide, the lowest of a liner, the tightest cylinder may be the one not read."""
    guide = worked_out("guide", "guide_top guide_low stem", {"I1": {"guide_low": 8.02, "stem": 7.98}})
    assert guide["I1", "clearance"].bound == "at least" and "guide_top" in english(
        guide["I1", "clearance"].note
    )
    liners = {"C1": {"front": 0.08}, "C2": {"front": 0.09, "rear": 0.08}}
    liner = worked_out("liner_protrusion", "front rear", liners)
    assert [liner["C1", name].bound for name in ("lowest", "highest", "spread")] == [
        "at most",
        "at least",
        "at least",
    ]
    assert liner["C2", "lowest"].bound == "equal" and ("C1-C2", "neighbours") not in liner
    piston = worked_out("piston_protrusion", "front rear", {"C1": {"front": 0.38}})
    assert piston["C1", "protrusion"].measured is None
    every = ("C1", "C2", "C3")
    leak = worked_out("leak_down", "loss", {"C1": {"loss": 12.0}, "C2": {"loss": 18.0}}, positions=every)
    assert leak["C2", "above_best"].bound == "at least" and leak["C2", "loss"].bound == "equal"
    bars = {"C1": {"pressure": 9.0}, "C2": {"pressure": 10.0}}
    share = worked_out("compression", "pressure", bars, positions=every, limited=frozenset({"share"}))
    assert share["C1", "share"].bound == "at most"


@pytest.mark.parametrize("installed", [False, True])
def test_a_bearing_whose_bore_was_read_at_one_end(installed: bool) -> None:
    """54.05 - 4.00 - 50.00 is 0.05 at the front; of the rear nobody knows, so it passes nothing."""
    pins = {"M1": {"front_a": Measured(50.0), "rear_a": Measured(50.0)}}
    bore = {"front_v": 50.05 if installed else 54.05}
    walls = KnownWalls(Walls(Measured(2.0), Measured(2.0)), Typed("measured"))
    found = worked_out(
        "bearing_clearance",
        "front_v rear_v" if installed else "",
        {"M1": bore} if installed else {},
        positions=("M1",),
        partners={"journal": pins, "housing": {"M1": {} if installed else {"front_v": Measured(54.05)}}},
        partner_columns={
            "journal": ("front_a", "rear_a"),
            "housing": ("front_v", "front_h", "rear_v", "rear_h"),
        },
        walls={"M1": walls},
    )
    low, high = found["M1", "smallest_clearance"], found["M1", "largest_clearance"]
    assert low.measured and high.measured
    assert low.measured.value == pytest.approx(0.05) == high.measured.value
    assert (low.bound, high.bound) == ("at most", "at least") and "rear_v" in english(low.note)


def test_a_chamber_that_nobody_measured_is_not_nothing() -> None:
    """Without its 45 cm³ chamber a 9.5 to 1 engine would come out at 38 to 1."""
    numbers = {"stroke": 86.0, "bore": 86.0, "gasket_thickness": 1.2, "gasket_hole": 87.0}
    parts = {"depth": {"C1": {"depth": Measured(0.5)}}, "bowl": {"C1": {"bowl": Measured(3.5)}}}
    spot = {"positions": ("C1",), "given": numbers}
    assert not worked_out("compression_ratio", "", {}, partners={**parts, "chamber": {}}, **spot)
    chamber = {"C1": {"volume": Measured(45.0)}}
    whole = worked_out("compression_ratio", "", {}, partners={**parts, "chamber": chamber}, **spot)
    ratio = whole["C1", "ratio"].measured
    assert ratio and ratio.value == pytest.approx(9.534, abs=5e-4)  # check value, by hand
    # a piston 5 mm proud leaves no room at all
    proud = {"C1": {"front": Measured(5.0)}}
    none = worked_out(
        "compression_ratio", "", {}, partners={"bowl": parts["bowl"], "protrusion": proud}, **spot
    )
    assert none["C1", "ratio"].measured is None and "\u2212" in english(none["C1", "ratio"].note)


def test_places_of_a_chain_that_are_only_counted_are_no_pitches() -> None:
    """By hand: 24 pitches of 9.525 are 228.6, and 230.0 is 0.612 % more."""
    given = {"pitch": 9.525, "pitches": 24.0}
    rows = {"chain": {"length_1": 229.8, "length_2": 230.0}}
    found = worked_out("chain", "length_1 length_2", rows, given=given)["chain", "elongation"].measured
    assert found and found.value == pytest.approx(0.6124, abs=1e-4)


def test_valves_below_the_face_and_a_bore_in_force_count_in_the_ratio() -> None:
    """By hand: 45 + 3.5 + 7.134 + 2.904 cm³ and 2.0 more over the valves; swept of 86 and of 86.5 by 86."""
    parts = {"depth": {"C1": {"depth": Measured(0.5)}}, "bowl": {"C1": {"bowl": Measured(3.5)}}}
    numbers = {"stroke": 86.0, "bore": 86.0, "gasket_thickness": 1.2, "gasket_hole": 87.0}

    def ratio(**more: Any) -> Computed:
        given = numbers | more.pop("given", {})
        found = worked_out(
            "compression_ratio", "", {}, partners=parts, positions=("C1",), given=given, **more
        )
        return found["C1", "ratio"]

    deep = ratio(given={"chamber_volume": 45.0, "recess_volume": 2.0})
    assert deep.measured and deep.measured.value == pytest.approx((499.557 + 60.538) / 60.538, abs=5e-4)
    bored = ratio(given={"chamber_volume": 45.0}, steps={"C1": 0.5})
    assert bored.measured and bored.measured.value == pytest.approx((505.382 + 58.572) / 58.572, abs=5e-4)
    # without a word of the head, the most that it can be; a face said to be flat is known
    assert [one.bound for one in (deep, ratio(), ratio(given={"chamber_volume": 0.0}))] == [
        "equal",
        "at most",
        "equal",
    ]


def test_valves_that_were_read_below_the_face_leave_their_room() -> None:
    """By hand: heads of 40 and 35 mm, 1.0 and 1.2 mm deep, are 1.257 and 1.155 cm³; of the second cylinder
    one valve was not read, which is not nothing."""
    numbers = {"stroke": 86.0, "bore": 86.0, "gasket_thickness": 1.2, "gasket_hole": 87.0}
    found = worked_out(
        "compression_ratio",
        "",
        {},
        positions=("C1", "C2"),
        partners={
            "depth": {"C1": {"depth": Measured(0.5)}, "C2": {"depth": Measured(0.5)}},
            "bowl": {"C1": {"bowl": Measured(35.0)}, "C2": {"bowl": Measured(35.0)}},
            "intake_recess": {"I1": {"depth": Measured(1.0)}, "I2": {"depth": Measured(1.0)}},
            "exhaust_recess": {"E1": {"runout": Measured(0.02), "recession": Measured(1.2)}},
        },
        partner_positions={"intake_recess": ("I1", "I2"), "exhaust_recess": ("E1", "E2")},
        given=numbers | {"intake_head": 40.0, "exhaust_head": 35.0},
    )
    ratio, rest = found["C1", "ratio"], 35.0 + 7.134 + 2.904 + 1.257 + 1.155
    assert ratio.measured and ratio.measured.value == pytest.approx((499.557 + rest) / rest, abs=5e-4)
    assert ratio.uses == ("C1", "I1", "E1") and ratio.bound == "equal"
    assert ("C2", "ratio") not in found


def test_bend_and_line_of_mains_that_are_not_evenly_spaced() -> None:
    """Against numpy's line and scipy's linear programme (COMPUTED); what is assumed says so."""
    import numpy as np
    from scipy.optimize import linprog

    stations = (0.0, 60.0, 250.0, 400.0)
    centres = {"M1": (0.004, 0.0), "M2": (0.010, -0.006), "M3": (0.016, -0.002), "M4": (-0.002, 0.008)}
    turned = {
        p: {
            f"at_{a}": float(x * np.cos(np.radians(a)) + y * np.sin(np.radians(a))) for a in range(0, 360, 45)
        }
        for p, (x, y) in centres.items()
    }
    columns = " ".join(f"at_{a}" for a in range(0, 360, 45))
    found = worked_out("runout", columns, turned, stations=stations)
    xy = np.array(list(centres.values()))
    line = np.array([np.interp(stations, (0.0, 400.0), xy[[0, 3], i]) for i in (0, 1)]).T
    for i, place in enumerate(centres):
        measured = found[place, "bend"].measured
        assert measured is not None
        assert measured.value == pytest.approx(float(np.hypot(*(xy - line)[i])), abs=1e-9)
    assert not any("evenly" in english(one.note) for one in found.values())
    even = worked_out("runout", columns, turned)
    assert any("evenly spaced" in english(one.note) for (_, name), one in even.items() if name == "bend")

    heights = (0.0, 0.020, 0.008, 0.002)
    bores = {f"M{i + 1}": {"bottom": h} for i, h in enumerate(heights)}
    one = worked_out("main_line", "bottom", bores, stations=stations)["line", "straightness"]
    rows = np.array([(1.0, s) for s in stations])
    up = -np.ones((4, 1))
    best = linprog(
        [0, 0, 1.0],
        A_ub=np.block([[-rows, up], [rows, up]]),
        b_ub=np.concatenate([-np.array(heights), np.array(heights)]),
        bounds=[(None, None)] * 2 + [(0, None)],
    )
    assert one.measured is not None and "evenly" not in english(one.note)
    assert one.measured.value == pytest.approx(2 * best.x[2], abs=1e-9)
    spaced = worked_out("main_line", "bottom", bores)["line", "straightness"]
    assert "evenly spaced" in english(spaced.note)


def test_one_plane_has_no_taper_and_nobody_misses_it() -> None:
    readings = {"M1": {"mid_a": 49.990, "mid_b": 49.989}}
    asked = worked_out("journal", "mid_a mid_b", readings, limited=frozenset({"size", "out_of_round"}))
    assert ("M1", "out_of_round") in asked and ("M1", "taper") not in asked
    limited = worked_out("journal", "mid_a mid_b", readings, limited=frozenset({"size", "taper"}))
    assert limited["M1", "taper"].measured is None  # a limit that these columns cannot answer
    partly = worked_out(
        "journal", "front_a front_b rear_a rear_b", {"M1": {"front_a": 49.99, "front_b": 49.98}}
    )
    assert partly["M1", "taper"].measured is None  # planned, and not read


@pytest.mark.parametrize(
    ("banks", "beside"),
    [
        ((), ["C1-C2", "C2-C3", "C3-C4"]),
        ((("1", "3"), ("2", "4")), ["C1-C3", "C2-C4"]),  # numbered across the V
        ((("1", "2"), ("3", "4")), ["C1-C2", "C3-C4"]),  # numbered along each bank
    ],
)
def test_liners_are_neighbours_along_their_bank(
    banks: tuple[tuple[str, ...], ...], beside: list[str]
) -> None:
    liners = {f"C{n}": {"front": 0.05 + 0.01 * n} for n in range(1, 5)}
    found = worked_out("liner_protrusion", "front", liners, banks=banks)
    assert [position for position, name in found if name == "neighbours"] == beside


def test_a_guide_counts_where_it_is_widest_and_its_stem_where_it_is_thinnest() -> None:
    readings = {"I1": {"guide_top": 8.05, "guide_low": 8.02, "stem_top": 7.98, "stem_low": 7.97}}
    room = worked_out("guide", "guide_top guide_low stem_top stem_low", readings)["I1", "clearance"].measured
    assert room and room.value == pytest.approx(0.08)


CALIPER = Instrument("caliper", 0.01, 0.03, 0.01, range=150.0)
ALIKE = {
    "journal": ("front_a front_b rear_a rear_b", ["M1"]),
    "liner_protrusion": ("front rear", ["C1", "C2"]),
    "deck_height": ("front rear", ["C1", "C2"]),
    "flatness_grid": ("x0 x100 x200", ["y0", "y50", "y100"]),
    "main_line": ("bottom", ["M1", "M2", "M3", "M4"]),
    "runout": ("at_0 at_90 at_180 at_270", ["M1", "M2", "M3"]),
    "compression": ("pressure", ["C1", "C2", "C3"]),
    "matched": ("mass", ["R1", "R2", "R3"]),
}


@pytest.mark.parametrize("kind", ALIKE)
def test_equal_readings_are_as_doubtful_as_others(kind: str) -> None:
    """What a difference of two readings is worth does not hang on the digits that they happened to show."""
    columns, positions = ALIKE[kind]

    def doubts(step: float) -> dict[tuple[str, str], float]:
        readings = {
            position: {
                column: read(12.0 + step * (3 * i + k * k), CALIPER, "arrival", f"{position} {column}")
                for k, column in enumerate(columns.split())
            }
            for i, position in enumerate(positions)
        }
        limited = frozenset({"between"})
        inputs = Inputs(tuple(positions), tuple(columns.split()), readings, limited=limited)
        return {
            (value.position, value.name): value.measured.u
            for value in KINDS[kind].compute(inputs)
            if value.measured is not None
        }

    alike, unlike = doubts(0.0), doubts(1e-4)  # so near each other that no permitted error is between them
    assert alike and alike.keys() == unlike.keys()
    for name, doubt in alike.items():
        assert doubt == pytest.approx(unlike[name], rel=0.3), name


def test_four_equal_diameters_by_caliper_prove_no_roundness() -> None:
    """By hand: a step of 0.01 gives 0.0029, repeats 0.010: 0.0104 a reading, 0.0147 a difference of two."""
    inputs = {column: read(55.0, CALIPER, "arrival", column) for column in ALIKE["journal"][0].split()}
    form = shape.form(inputs)
    for difference in (form.out_of_round, form.taper):
        assert difference is not None and difference.value == 0.0
        assert difference.u == pytest.approx(0.0147, abs=1e-4)
        judged = judge(difference, new=(None, 0.005))
        assert (judged.verdict, judged.side) == ("too close to call", "high")


def test_one_height_of_a_liner_says_nothing_of_its_tilt() -> None:
    alone = worked_out("liner_protrusion", "front", {"C1": {"front": 0.08}})
    assert set(alone) == {("C1", "lowest"), ("C1", "highest")}
