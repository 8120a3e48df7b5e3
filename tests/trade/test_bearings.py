"""Form, bearings and cylinders against limits and fits, worked cases and geometry."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rebuildreport.quantities import NOTHING
from rebuildreport.trade.choosing.steps import Worn, stock
from rebuildreport.trade.engine import bearings, cylinders
from rebuildreport.trade.engine.bearings import Walls
from rebuildreport.trade.kinds import KINDS, Inputs, KnownWalls
from rebuildreport.trade.measuring.form import by_plane, form
from rebuildreport.trade.measuring.uncertainty import Measured


def sizes(**readings: float) -> dict[str, Measured]:
    return {column: Measured(value) for column, value in readings.items()}


@pytest.mark.parametrize(
    ("hole", "shaft", "clearance"),
    [
        # ISO 286 fits, extremes in um: 25H7/f6, 50H7/g6 (tables), 20H6/e7 bush on a crankpin
        # (Bhandari, Design of Machine Elements, example 3.1)
        ((25.000, 25.021), (24.967, 24.980), (20, 54)),
        ((50.000, 50.025), (49.975, 49.991), (9, 50)),
        ((20.000, 20.013), (19.939, 19.960), (40, 74)),
    ],
)
def test_clearance_extremes_of_iso_286_fits(
    hole: tuple[float, float], shaft: tuple[float, float], clearance: tuple[int, int]
) -> None:
    nothing = Walls(Measured(0.0), Measured(0.0))
    tight = bearings.clearance(sizes(mid_v=hole[0]), nothing, sizes(mid_a=shaft[1]))
    loose = bearings.clearance(sizes(mid_v=hole[1]), nothing, sizes(mid_a=shaft[0]))
    assert tight is not None and loose is not None
    assert 1000 * tight.smallest.value == pytest.approx(clearance[0], abs=1e-6)
    assert 1000 * loose.largest.value == pytest.approx(clearance[1], abs=1e-6)


def test_inch_housing_and_metric_journal() -> None:
    # 2.0482 in housing, walls 1.997 mm, journal 47.992 mm: 0.0383 mm (worked out by hand at 25.4 exactly)
    housing = sizes(mid_v=2.0482 * 25.4)
    found = bearings.clearance(housing, Walls(Measured(1.997), Measured(1.997)), sizes(mid_a=47.992))
    assert found is not None
    assert found.mean.value == pytest.approx(0.0383, abs=5e-5)


def test_planes_pair_by_name_and_only_the_load_direction_counts() -> None:
    housing = sizes(front_v=80.010, front_60l=80.090, rear_v=80.020)
    journal = sizes(front_a=75.90, rear_a=75.95)
    found = bearings.clearance(housing, Walls(Measured(2.0), Measured(2.0)), journal)
    assert found is not None
    assert {p: (round(a.value, 3), round(b.value, 3)) for p, (a, b) in found.planes.items()} == {
        "front": (0.110, 0.110),
        "rear": (0.070, 0.070),
    }
    assert bearings.clearance(sizes(front_60l=80.0), Walls(Measured(2.0), Measured(2.0)), journal) is None


def test_a_plane_that_only_one_of_the_two_was_read_in_is_not_dropped() -> None:
    """By hand: the middle of the journal, 0.03 thicker, leaves 80.010 − 4 − 75.98 = 0.03 at the least."""
    housing = sizes(front_v=80.010, rear_v=80.020)
    journal = sizes(front_a=75.95, middle_a=75.98, rear_a=75.95)
    found = bearings.clearance(housing, Walls(Measured(2.0), Measured(2.0)), journal)
    assert found is not None
    assert (found.smallest.value, found.largest.value) == pytest.approx((0.03, 0.07)) and found.alone == (
        "middle",
    )
    # planes of other names are held against all of the other's
    other = bearings.clearance(housing, Walls(Measured(2.0), Measured(2.0)), sizes(one_a=75.95, two_a=75.98))
    assert other is not None and other.smallest.value == pytest.approx(0.03)


def test_even_and_odd_lobes() -> None:
    # r = 40 + 0.005 cos 2t: diameters differ by 0.020 though the roundness is 0.010 (geometry);
    # r = 40 + 0.005 cos 3t: every diameter is equal, two points cannot see it
    def diameters(lobes: int) -> dict[str, Measured]:
        def radius(angle: float) -> float:
            return 40.0 + 0.005 * math.cos(lobes * angle)

        return {
            f"mid_{degrees}": Measured(
                radius(math.radians(degrees)) + radius(math.radians(degrees) + math.pi)
            )
            for degrees in range(0, 180, 5)
        }

    two, three = form(diameters(2)).out_of_round, form(diameters(3)).out_of_round
    assert two is not None and three is not None
    assert two.value == pytest.approx(0.020, abs=1e-9)
    assert three.value == pytest.approx(0.0, abs=1e-9)


def test_taper_is_no_out_of_round() -> None:
    """Round at both ends, and 0.02 thinner at the rear."""
    cone = {"front_a": 50.00, "front_b": 50.00, "rear_a": 49.98, "rear_b": 49.98}
    found = form({column: Measured(value) for column, value in cone.items()})
    assert found.out_of_round and found.out_of_round.value == 0.0
    assert found.taper and found.taper.value == pytest.approx(0.02)


def test_one_reading_has_no_form() -> None:
    once = form(sizes(front_a=47.991))
    assert once.largest.value == once.smallest.value == 47.991
    assert once.out_of_round is None and once.taper is None


@given(st.lists(st.floats(70.0, 80.0), min_size=4, max_size=4), st.floats(-0.5, 0.5))
def test_form_does_not_depend_on_size_or_order(values: list[float], shift: float) -> None:
    columns = ["front_a", "front_b", "rear_a", "rear_b"]
    one = form({c: Measured(v) for c, v in zip(columns, values, strict=True)})
    moved = form({c: Measured(v + shift) for c, v in reversed(list(zip(columns, values, strict=True)))})
    for a, b in ((one.out_of_round, moved.out_of_round), (one.taper, moved.taper)):
        assert a is not None and b is not None
        assert a.value == pytest.approx(b.value, abs=1e-9)
        assert 0.0 <= a.value <= one.largest.value - one.smallest.value + 1e-9


def test_names_of_planes() -> None:
    planes = by_plane(sizes(front_60l=1.0, front_v=2.0, skirt=3.0))
    assert {plane: sorted(ones) for plane, ones in planes.items()} == {"front": ["60l", "v"], "skirt": [""]}


@pytest.mark.parametrize(
    ("columns", "out_of_round", "taper"),
    [
        # two diameters across each other in one plane: ISO 14405-1 local sizes, no way along the axis
        (("a", "b"), 0.01, None),
        (("t", "a"), 0.01, None),
        (("v", "60l"), 0.01, None),
        (("0deg", "90deg"), 0.01, None),
        (("thrust", "along"), 0.01, None),
        # two places along the axis
        (("front", "rear"), None, 0.01),
        (("1", "2"), None, 0.01),
        (("top", "bottom"), None, 0.01),
    ],
)
def test_directions_of_one_plane_are_no_taper(
    columns: tuple[str, str], out_of_round: float | None, taper: float | None
) -> None:
    found = form(sizes(**dict(zip(columns, (50.0, 49.99), strict=True))))
    for value, wanted in ((found.out_of_round, out_of_round), (found.taper, taper)):
        assert (value and round(value.value, 9)) == wanted


def test_a_valve_seat_in_its_head_is_an_interference() -> None:
    """20 H7/s6: +21/0 and +48/+35 make 14 to 48 um of interference (READ: Bhandari, example 3.2)."""
    low, high = bearings.running_clearance(sizes(a=20.0, b=20.021), sizes(a=20.035, b=20.048))
    assert (low.value, high.value) == (pytest.approx(-0.048), pytest.approx(-0.014))


def test_a_fit_without_shells_is_worked_out_plane_by_plane() -> None:
    """A tapered pin in a bush worn alike is 0.020 clear all along; by other names 0.010 to 0.030."""
    bush = sizes(front=22.03, rear=22.02)
    for pin, ends in (
        (sizes(front=22.01, rear=22.0), (0.02, 0.02)),
        (sizes(in_a=22.01, out_a=22.0), (0.01, 0.03)),
    ):
        found = bearings.running_clearance(bush, pin)
        assert [end.value for end in found] == pytest.approx(ends)


def test_a_bore_read_in_directions_alone_has_a_clearance() -> None:
    """54.030 less twice 1.980 less 50.000 is 0.070 (by hand); the other direction takes no part."""
    walls = bearings.Walls(Measured(1.98), Measured(1.98))
    found = bearings.clearance(sizes(v=54.03, h=54.05), walls, sizes(a=50.0, b=49.99))
    assert found is not None
    assert found.smallest.value == pytest.approx(0.07) and found.largest.value == pytest.approx(0.08)


def test_score_depth_counts_twice() -> None:
    # geometry: a groove all round of depth d takes 2d off the diameter
    journal, bore = Worn("M1", Measured(50.0), Measured(0.03)), Worn("C1", Measured(80.0), Measured(0.03))
    assert stock(journal, 49.0, 50.0, bore=False, one_sided=False).value == pytest.approx(49.94 - 49.0)
    assert stock(bore, 81.0, 80.0, bore=True, one_sided=False).value == pytest.approx(81.0 - 80.06)


def test_undersize_in_inches_is_not_a_round_metric_step() -> None:
    # 0.010 in is 0.254 mm: each wall grows by 0.127 mm (25.4 exactly)
    low, high = bearings.undersize_wall((1.974, 1.980), 0.010 * 25.4)
    assert (low, high) == pytest.approx((2.101, 2.107), abs=1e-9)


def test_displacement_of_a_square_four() -> None:
    # 86 x 86 x 4: 1998.23 cm3 (geometry; 121.94 in3)
    assert cylinders.displacement(86.0, 86.0, 4) == pytest.approx(1998.23, abs=0.005)
    assert cylinders.displacement(86.0, 86.0, 4) / 16.387064 == pytest.approx(121.94, abs=0.005)


def test_rules_of_thumb_of_the_trade() -> None:
    # common practice, from memory: lowest compression at least three quarters of the highest, 180 -> 135 psi
    shares = cylinders.share_of_highest({"C1": Measured(180.0), "C2": Measured(135.0)})
    assert shares["C2"] == 75.0


def test_crush_lets_a_clearance_reach_up_and_never_down() -> None:
    """0.08 of crush is 0.0255 on diameter; a ring four times as thick as its shell takes a fifth: 0.0051."""
    walls = KnownWalls(bearings.Walls(Measured(2.0), Measured(2.0)), NOTHING)
    inputs = Inputs(
        ("M1",),
        (),
        {},
        partners={"housing": {"M1": sizes(v=54.05)}, "journal": {"M1": sizes(a=50.0, b=50.0)}},
        partner_columns={"housing": ("v",), "journal": ("a", "b")},
        walls={"M1": walls},
        housing="steel",
    )
    # between the leaves of 0.06 and 0.08, so that 0.08 it may be
    read = {"M1": {"crush": Measured(0.07, below=0.01, above=0.01)}}
    without, known, of_readings = (
        {one.name: one.measured for one in KINDS["bearing_clearance"].compute(replace(inputs, **more))}
        for more in (
            {},
            {"given": {"crush": 0.08, "ring": 8.0}},
            {"given": {"ring": 8.0}, "partners": inputs.partners | {"crush_read": read}},
        )
    )
    assert of_readings == known
    for name, value in known.items():
        before = without[name]
        assert value is not None and before is not None and value.value == pytest.approx(0.05)
        assert (value.below, round(value.above, 4), before.above) == (0.0, 0.0051, 0.0)
