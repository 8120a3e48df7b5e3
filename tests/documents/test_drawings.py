"""Geometry of drawings, read from their paths: order on the axis is the order of the numbers."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from rebuildreport.assess.model.assessment import Callout
from rebuildreport.documents.drawings import engine_plan, scales, strips
from rebuildreport.documents.drawings.canvas import (
    KEYS,
    LARGE,
    MARKS,
    Drawing,
    DrawingSheet,
    apart,
    frame,
    wide,
)
from rebuildreport.documents.drawings.contour import contour
from rebuildreport.documents.drawings.contour import lines as contour_lines
from rebuildreport.documents.drawings.polar import TurnedView, polar
from rebuildreport.documents.press import places

from ..keys import value_key
from . import sample

SVG_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def path(drawing: Drawing, role: str) -> str:
    return next((one.d for one in drawing.paths if one.role == role), "")


def first_x(d: str) -> list[float]:
    """x of every M in a path."""
    return [float(x) for x in re.findall(r"M(-?[\d.]+) ", d)]


def numbers(drawing: Drawing) -> list[str]:
    return [text for one in drawing.paths for text in SVG_NUMBER.findall(one.d)]


def scale(width: float = 325.0, **kind) -> Drawing:
    whole = sample.orchard()
    arrived, now = (
        whole.find(value_key("main_clearance.clearance M4 @arrival")),
        whole.find(value_key("main_clearance.clearance M4 @assembly")),
    )
    return scales.scales(arrived, now, whole.feature("main_clearance"), "mm", width)[0]


def test_limits_and_values_stand_in_the_order_of_their_numbers() -> None:
    # new 0.050 to 0.110, wear limit 0.150; 0.082 now, at least 0.206 on arrival
    drawn = scale()
    low_tick, wear_tick = first_x(path(drawn, "limit"))
    new_tick = first_x(path(drawn, "new-limit"))[0]
    now = first_x(path(drawn, "dot"))[0] + 2.5
    arrived = first_x(path(drawn, "arrival"))[0] + 3.4
    assert low_tick < now < new_tick < wear_tick < arrived


def test_the_axis_is_linear() -> None:
    drawn = scale()
    low, wear = first_x(path(drawn, "limit"))
    new = first_x(path(drawn, "new-limit"))[0]
    # 0.110 divides 0.050 to 0.150 as 60 to 40
    assert (new - low) / (wear - low) == pytest.approx(0.6, abs=0.001)


def test_the_bar_is_the_guard_on_both_sides() -> None:
    drawn = scale()
    low, wear = first_x(path(drawn, "limit"))
    per_mm = (wear - low) / 0.1
    bars = re.findall(r"M([\d.]+) 19L([\d.]+) 19", path(drawn, "bar"))
    assert [float(b) - float(a) for a, b in bars] == pytest.approx([2 * 0.0032 * per_mm] * 2, abs=0.02)


def test_hatching_lies_beyond_the_last_limits_only() -> None:
    drawn = scale()
    low, wear = first_x(path(drawn, "limit"))
    ends = [float(x) for x in re.findall(r"[ML](-?[\d.]+) ", path(drawn, "hatch"))]
    assert ends
    assert all(x <= low + 0.01 or x >= wear - 0.01 for x in ends)


def test_a_bound_has_its_arrow_and_its_words() -> None:
    drawn = scale()
    assert path(drawn, "arrow-head")
    assert {label.text for label in drawn.labels} >= {"at least 0.206", "0.082 now"}
    assert drawn.label == (
        "Main bearing clearance, M4: on arrival at least 0.206 mm, beyond limit, too large; "
        "now 0.082 mm, as new; new limits 0.050–0.110; wear limit max 0.150"
    )


@pytest.mark.parametrize("width", [scales.WIDE, scales.NARROW])
def test_labels_do_not_overlap_and_stay_inside(width: float) -> None:
    drawn = scale(width)
    for role, size in (("value", 7.4), ("limit", 6.8)):
        spans = sorted(
            (float(one.x) - wide(one.text, size) / 2, float(one.x) + wide(one.text, size) / 2)
            for one in drawn.labels
            if one.role == role
        )
        assert spans[0][0] >= -0.01 and spans[-1][1] <= width + 0.01
        assert all(a[1] <= b[0] + 0.01 for a, b in pairwise(spans))


def test_machining_that_moved_the_limits_gives_two_scales() -> None:
    whole = sample.orchard()
    first = sample.one("main_journals", "size", "M1", "arrival", 75.968, "beyond limit", (75.970, 75.990))
    now = whole.find(value_key("main_journals.size M1 @machined"))
    assert len(scales.scales(first, now, whole.feature("main_journals"), "mm")) == 2


def test_a_value_without_limits_is_drawn_without_any() -> None:
    bare = sample.one("main_journals", "size", "M1", "arrival", 75.968, "no limit on file")
    (drawn,) = scales.scales(bare, None, None, "mm")
    assert not path(drawn, "limit") and not path(drawn, "hatch") and not path(drawn, "tint")
    assert scales.scales(None, None, None, "mm") == []


def test_inch_shop_prints_inches_on_the_same_geometry() -> None:
    whole = sample.orchard()
    key = value_key("liner_bores.size C3 @arrival")
    metric = scales.scales(whole.find(key), None, whole.feature("liner_bores"), "mm")[0]
    inch = scales.scales(whole.find(key), None, whole.feature("liner_bores"), "in")[0]
    assert [one.d for one in metric.paths] == [one.d for one in inch.paths]
    assert "3.8678" in [one.text for one in inch.labels]  # 98.241 / 25.4


def test_coordinates_have_at_most_two_decimals() -> None:
    assert all(len(text.partition(".")[2]) <= 2 for text in numbers(scale()))


def test_every_mark_is_a_letter_of_the_font_that_is_shipped_and_no_two_look_alike() -> None:
    """Read by fontTools: what the font lacks would be taken from whichever the machine has."""
    from fontTools.pens.recordingPen import RecordingPen
    from fontTools.ttLib import TTFont

    font = TTFont(places.find("fonts/marks.woff2"))
    glyphs, drawn = font.getGlyphSet(), {}
    for letter in (*MARKS.values(), *KEYS.values(), "\N{BALLOT BOX}", "\N{BALLOT BOX WITH CHECK}"):
        pen = RecordingPen()
        glyphs[font.getBestCmap()[ord(letter)]].draw(pen)
        drawn[letter] = str(pen.value)
    assert len(set(drawn.values())) == len(drawn) == 14


@given(
    x1=st.floats(0, 300),
    y1=st.floats(0, 100),
    w=st.floats(0.5, 300),
    h=st.floats(0.5, 100),
    step=st.floats(2, 9),
)
def test_hatching_is_clipped_to_its_box(x1: float, y1: float, w: float, h: float, step: float) -> None:
    sheet = DrawingSheet(400, 200)
    sheet.hatch("hatch", x1, y1, x1 + w, y1 + h, step)
    ends = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path(sheet.done(""), "hatch"))
    assert all(
        x1 - 0.01 <= float(x) <= x1 + w + 0.01 and y1 - 0.01 <= float(y) <= y1 + h + 0.01 for x, y in ends
    )


@given(st.lists(st.tuples(st.floats(0, 300), st.floats(5, 40)), min_size=1, max_size=6), st.floats(300, 400))
def test_labels_moved_apart_keep_order_and_distance(labels: list[tuple[float, float]], high: float) -> None:
    labels.sort()
    widths = [width for _, width in labels]
    out = apart([x for x, _ in labels], widths, 0, high)
    assert out[0] >= widths[0] / 2 - 1e-4 and out[-1] <= high - widths[-1] / 2 + 1e-4
    for a, b, wa, wb in zip(out, out[1:], widths, widths[1:], strict=False):
        assert b - a >= (wa + wb) / 2 - 1e-4


def test_strip_has_a_panel_for_every_position_and_names_the_outlier() -> None:
    whole = sample.orchard()
    panels = [
        strips.Panel(place, whole.find(value_key(f"main_clearance.clearance {place} @arrival")), None)
        for place in whole.feature("main_clearance").positions
    ]
    drawn = strips.strip(panels, whole.feature("main_clearance"), "mm")
    assert [one.text for one in drawn.labels if one.role in ("name", "strong")] == [
        "M1",
        "M2",
        "M3",
        "M4",
        "M5",
        "M6",
        "M7",
    ]
    assert [one.text for one in drawn.labels if one.role == "strong"] == ["M4"]
    assert [one.text for one in drawn.labels if one.role == "value"] == ["at least", "0.206"]
    assert "M4" in drawn.label and "six" not in drawn.label and "6 other positions" in drawn.label


@given(
    st.lists(
        st.sampled_from(["C1", "längs 1", "diagonal 2", "quer Mitte", "12 front", "Mitte"]),
        min_size=2,
        max_size=8,
    ),
    st.sampled_from([scales.WIDE, scales.NARROW]),
)
def test_every_panel_of_a_strip_has_its_name_and_no_name_overlaps(names: list[str], width: float) -> None:
    whole = sample.orchard()
    known = whole.find(value_key("main_clearance.clearance M4 @arrival"))
    panels = [strips.Panel(name, replace(known, position=name), None) for name in names]
    drawn = strips.strip(panels, whole.feature("main_clearance"), "mm", width)
    named = [one for one in drawn.labels if one.role.startswith(("name", "strong"))]
    assert sorted(" ".join(one.text for one in named).split()) == sorted(" ".join(names).split())
    spans: dict[str, list[tuple[float, float]]] = {}
    for one in named:
        size = 6.2 if one.role.endswith("small") else LARGE
        room = size if one.turned else wide(one.text, size)
        spans.setdefault("" if one.turned else one.y, []).append(
            (float(one.x) - room / 2, float(one.x) + room / 2)
        )
        assert not one.turned or float(one.y) + wide(one.text, size) / 2 <= float(drawn.height)
    assert all(left[1] <= right[0] for row in spans.values() for left, right in pairwise(sorted(row)))


def test_the_number_of_a_place_stands_at_the_value_and_not_at_another_plane() -> None:
    """Three planes from 0.132 to 0.287 over a limit of 0.152: the number is that of the widest."""
    whole = sample.orchard()
    known = whole.find(value_key("main_clearance.clearance M4 @arrival"))
    assert known is not None and known.limits is not None
    limits = replace(known.limits, new=(0.025, 0.056), wear=(None, 0.152), decides=(None, 0.152))
    planes = {"top": (0.276, 0.287), "middle": (0.180, 0.190), "low": (0.125, 0.132)}
    wide = replace(known, value=0.287, planes=planes, limits=limits, bound="equal", verdict="beyond limit")
    panels = [strips.Panel(f"M{n}", wide, None) for n in range(1, 9)]
    drawn = strips.strip(panels, whole.feature("main_clearance"), "mm")
    edge = next(float(one.y) for one in drawn.labels if one.role == "limit" and one.text == "0.152")
    numbers = [float(one.y) for one in drawn.labels if one.role == "value"]
    assert len(numbers) == 8 and max(numbers) < edge - 10


def test_bore_profile_draws_every_bore_and_the_worst_one_heavy() -> None:
    whole = sample.orchard()
    arrival, later = [table for table in whole.tables if table.feature == "liner_bores"]
    parts = [*map(strips.Profile, arrival.depths, later.depths)]
    drawn = strips.profile(
        parts, whole.find(value_key("liner_bores.size C3 @arrival")), "mm", {"t": "across"}
    )
    assert path(drawn, "heavy").count("M") == 2 and path(drawn, "thin").count("M") == 10
    assert "across: C3 from 98.241 at the top to 98.060 at the bottom" in drawn.label


def test_plan_shows_a_place_without_a_verdict_as_not_measured() -> None:
    drawn = engine_plan.plan(
        ["M1", "M2", "C1"], {"M1": "as new", "M2": "beyond limit"}, "Now", "No. 1 at the front"
    )
    assert path(drawn, "p-broken")
    assert (
        "not measured: C1" in drawn.label
        and "beyond limit: M2" in drawn.label
        and "as new: M1" in drawn.label
    )


def test_callouts_point_where_they_were_set() -> None:
    spots = (Callout("A", 30, 55, "here"), Callout("B", 70, 60, "there"))
    whole = frame((1600, 1200), spots, 325.0, 300.0, "")
    assert (whole.width, whole.height) == ("325", "243.75")
    first, second = first_x(path(whole.callouts, "spot"))
    assert (first + 1.7, second + 1.7) == pytest.approx((0.30 * 325, 0.70 * 325), abs=0.02)
    assert [one.text for one in whole.callouts.labels] == ["A", "B"]


def test_a_cut_photo_keeps_its_callouts_in_sight() -> None:
    cut = frame((1600, 1200), (Callout("A", 50, 95, "low"),), 325.0, 142.0, "")
    assert cut.height == "142" and cut.shift == "50% 100%"
    y = float(re.search(r"M[\d.]+ ([\d.]+)A", path(cut.callouts, "spot")).group(1))
    assert 0 < y < 142
    # callouts at both ends: nothing is cut, the photo is set smaller
    both = frame((1600, 1200), (Callout("A", 50, 3, "a"), Callout("B", 50, 97, "b")), 325.0, 142.0, "")
    assert float(both.width) == pytest.approx(142 * 4 / 3, abs=0.01) and both.shift == "50% 50%"
    # a little too far apart for the whole width: a little smaller does it, 32 % of the height and 12 points
    # on both sides are (100 - 24) / 0.32 = 237.5 points high, so 316.7 wide at most (by hand)
    near = frame((1600, 1200), (Callout("A", 42, 78, "a"), Callout("B", 49.5, 46, "b")), 325.0, 100.0, "")
    assert 310 < float(near.width) <= 316.7 and near.height == "100"


# ------------------------------------------------------------------ contour maps and polar diagrams


def _points(drawing: Drawing, role: str) -> list[tuple[float, float]]:
    path = next((one.d for one in drawing.paths if one.role == role), "")
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)]


def test_contour_of_a_tilted_plane_is_straight_lines_where_the_plane_has_its_height() -> None:
    """A plane rising 0.04 from front to rear: its zero line lies a quarter along, every line upright."""
    heights = [[-0.01, 0.00, 0.01, 0.02, 0.03]] * 3
    made = contour(heights, "mm", 2, "mm", "Face")
    box = 16.0, 285.0  # the face on a drawing 325 wide
    zero = _points(made, "contour-plane")
    assert zero and all(x == pytest.approx(box[0] + 0.25 * (box[1] - box[0]), abs=0.02) for x, _ in zero)
    above = {round(x, 1) for x, _ in _points(made, "contour-high")}
    assert above and min(above) > zero[0][0]
    assert {round(x, 1) for x, _ in _points(made, "contour-low")} and made.label.count(
        "Highest +0.03 mm"
    ) == 1


def test_contour_lines_follow_the_height_everywhere() -> None:
    """On a saddle z = x*y every point of a line has the line's height (COMPUTED from the formula)."""
    heights = tuple(tuple(x * y / 100 for x in range(-2, 3)) for y in range(-2, 3))
    lines = contour_lines(heights, 0.01)
    assert lines
    for line in lines:
        for across, along in line:
            assert (across - 2) * (along - 2) / 100 == pytest.approx(0.01, abs=0.0012)


def test_contour_needs_a_rectangle() -> None:
    for wrong in ([[1.0, 2.0]], [[1.0], [2.0]], [[1.0, 2.0], [1.0]], []):
        with pytest.raises(ValueError, match="two rows"):
            contour(wrong, "mm", 2, "mm", "Face")


def test_a_level_face_has_no_lines() -> None:
    made = contour([[0.0, 0.0], [0.0, 0.0]], "mm", 2, "mm", "Face")
    assert not _points(made, "contour-high") and not _points(made, "contour-plane")


def test_polar_points_lie_at_their_angles_and_the_arrow_towards_the_high_side() -> None:
    """0 degrees up, 90 right: a journal that is high at 90 is drawn out to the right (checked with numpy)."""
    numpy = pytest.importorskip("numpy")
    angles = numpy.arange(0, 360, 45)
    values = 0.02 * numpy.sin(numpy.radians(angles))  # high at 90 degrees
    readings = tuple((float(a), float(v)) for a, v in zip(angles, values, strict=True))
    made = polar([TurnedView("M4", readings, (0.0, 0.02))], "mm", 3, "mm", "Mains", 100.0)
    points = numpy.array(_points(made, "heavy")[:-1])
    middle = numpy.array([50.0, float(made.height) / 2 - 13])
    out = points - middle
    found = numpy.degrees(numpy.arctan2(out[:, 0], -out[:, 1])) % 360
    assert numpy.allclose(found, angles, atol=0.5)
    radii = numpy.hypot(out[:, 0], out[:, 1])
    assert radii.argmax() == 2 and radii.argmin() == 6
    arrow = _points(made, "arrow")
    assert arrow[1][0] > arrow[0][0] and arrow[1][1] == pytest.approx(arrow[0][1], abs=0.02)
    assert "centre off by 0.020 mm towards 90 degrees" in made.label


def test_callouts_take_rings_and_arrows() -> None:
    ringed = frame((1600, 1200), (Callout("A", 50, 50, "a", 10.0),), 300.0, 300.0, "").callouts
    assert ringed is not None
    assert _points(ringed, "spot") == []  # the ring says where: no dot inside it
    assert "A30 30" in next(path.d for path in ringed.paths if path.role == "leader")  # 10 per cent of 300
    arrowed = frame((1600, 1200), (Callout("A", 50, 50, "a", 0.0, (20.0, 20.0)),), 300.0, 300.0, "").callouts
    assert arrowed is not None
    assert _points(arrowed, "point")[1] == (150.0, 112.5)  # the head's tip is the place itself
    assert [(label.x, label.y) for label in arrowed.labels] == [("60", "47.7")]  # the letter where it starts


def test_two_banks_lie_on_both_sides_of_the_crank() -> None:
    """A flat four numbered 1 3 and 2 4: the crank lies between, two throws to a bay of its three mains."""
    places = ["C1", "C2", "C3", "C4", "M1", "M2", "M3", "R1", "R2", "R3", "R4"]
    made = engine_plan.plan(places, {}, "Now", "", ((1, 3), (2, 4)), 4)
    at = {label.text: (float(label.x), float(label.y)) for label in made.labels}
    assert at["C1"][1] == at["C3"][1] < at["M2"][1] < at["C2"][1] == at["C4"][1]
    assert at["M1"][0] < at["R1"][0] < at["R2"][0] < at["M2"][0] < at["R3"][0] < at["M3"][0]
