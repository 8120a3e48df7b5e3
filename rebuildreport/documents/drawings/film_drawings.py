"""What a bearing bears, drawn: the load seen by its two halves over a cycle, and its oil film over clearance
and speed; and how near valves come to their pistons.

In: loads, films and gaps as worked out.  Out: drawings.
"""

from __future__ import annotations

from math import hypot, log

from ...assess.model.engineload import BearingAt, EngineLoads
from ...quantities import message
from ..press.language import say, show
from ..press.words import NBSP, System
from .axes import Axis
from .canvas import Drawing, DrawingSheet

WIDE, NARROW = 325.0, 250.0
_HIGH, _FOOT = 134.0, 106.0
_PANEL, _GAPS = 52.0, 118.0
HALVES = message(
    {
        "rod": "the half at the rod's shank",
        "main": "the block's half",
        "cap": "the cap's half",
        "first": "the half on the side of cylinder 1",
        "opposite": "the half opposite cylinder 1",
    }
)
SHORT = message({"rod": "shank", "main": "block", "cap": "cap", "first": "side of 1", "opposite": "opposite"})


def loaded_halves(one: BearingAt, loads: EngineLoads, width: float, system: System) -> Drawing:
    """The load's path in the bearing, its halves with the share of each; and beside it the film's curve."""
    sheet = DrawingSheet(width, _HIGH)
    sheet.over("tint", "hatch", "axis-light", "axis", "heavy", "curve", "limit")
    drawn = bool(loads.curve) and loads.curve_of == one.position
    split = 0.42 * width if drawn else width
    _path(sheet, one, split, *(say(SHORT[half]) for half in _halves(one.of, loads)))
    if drawn:
        _curve(sheet, one, loads, split + 26.0, width - 8.0, system)
    upper = round(100 * one.upper_share)
    words = message(
        "{position} at {speed}: {upper} % of its load on the upper half, {lower} % on the lower one"
    )
    known = {"position": one.position, "speed": speed(one.speed), "upper": upper, "lower": 100 - upper}
    return sheet.done(say(words, **known))


def _halves(of: str, loads: EngineLoads) -> tuple[str, str]:
    """The upper half of a bearing and the other one."""
    return ("first", "opposite") if loads.parted and of == "main" else (of, "cap")


def loaded_half(of: str, upper_share: float, loads: EngineLoads) -> tuple[str, float]:
    """The half that bears more, and its share."""
    upper, lower = (say(HALVES[half]) for half in _halves(of, loads))
    return (upper, upper_share) if upper_share >= 0.5 else (lower, 1 - upper_share)


def speed(value: float) -> str:
    """'1400 rpm'."""
    return f"{value:.0f}{NBSP}{say('rpm')}"


def _path(sheet: DrawingSheet, one: BearingAt, width: float, above: str, below: str) -> None:
    """The load as it wanders, up is towards the upper half; both halves as arcs with their share."""
    x, y, radius = width / 2, _HIGH / 2 + 2, 40.0
    most = max(hypot(*point) for point in one.path) or 1.0
    scale = 0.86 * radius / most
    sheet.ring("axis", x, y, radius)
    sheet.line("axis-light", x - radius - 8, y, x + radius + 8, y)
    points = [(x + right * scale, y - up * scale) for right, up in one.path]
    sheet.polyline("heavy", [*points, points[0]])
    sheet.ring("dot", x, y, 1.4)
    upper = round(100 * one.upper_share)
    sheet.label(x, y - radius - 6, f"{above} {upper}{NBSP}%", "strong" if upper >= 50 else "name")
    sheet.label(x, y + radius + 12, f"{below} {100 - upper}{NBSP}%", "strong" if upper < 50 else "name")


def _curve(
    sheet: DrawingSheet, one: BearingAt, loads: EngineLoads, left: float, right: float, system: System
) -> None:
    """Thinnest film upwards, clearance to the right on a scale of ratios; roughness as a limit."""
    widths = [width for width, _ in loads.curve]
    low, high = min(widths), max([*widths, *(film.clearance for film in one.films)])
    rough = loads.rough(one)
    top = 1.15 * max([rough, *(film for _, film in loads.curve), *(film.high for film in one.films)])

    x, y = Axis(log(low), log(high), left, right), Axis(0.0, top, _FOOT, 14.0)
    if rough:
        sheet.hatch("hatch", left, y(rough), right, _FOOT)
        sheet.line("limit", left, y(rough), right, y(rough))
    sheet.line("axis", left, _FOOT, right, _FOOT)
    sheet.polyline("curve", [(x(log(width)), y(film)) for width, film in loads.curve])
    for film in one.films:
        at = x(log(film.clearance))
        sheet.line("span", at, y(film.low), at, y(film.high))
        sheet.mark(at, y(film.thinnest), film.state == "arrival", 3.0, 2.4)
        text = show(film.clearance, "mm", 3, system).text
        sheet.label(at, _FOOT + 9.0, text, "value" if film.state == "now" else "name")
    title = [say("thinnest oil film"), *([say("hatched: roughness")] if rough else [])]
    sheet.label(left, 8.0, "; ".join(title), "italic", "start")
    unit = show(0.1, "mm", 3, system).unit
    sheet.label(right, _FOOT + 19.0, say("clearance, {unit}", unit=unit), "italic", "end")


def over_speed(loads: EngineLoads, width: float) -> Drawing:
    """One bearing over speed: the share of the half that bears more, its highest load, its thinnest film."""
    filmed = any(point.arrival is not None or point.now is not None for point in loads.over_speed)
    panels = _Panels(loads, DrawingSheet(width, (3 if filmed else 2) * _PANEL + 16.0))
    share = panels.shares()
    panels.peaks()
    if filmed:
        panels.films()
    low, high = panels.axis()
    words = message("{position} from {low} to {high}: {share}")
    known = {"position": loads.curve_of, "low": f"{low:.0f}", "high": speed(high)}
    return panels.sheet.done(say(words, share=share, **known))


class _Panels:
    """Curves above each other over one scale of speeds."""

    def __init__(self, loads: EngineLoads, sheet: DrawingSheet) -> None:
        self.loads, self.points, self.sheet = loads, loads.over_speed, sheet
        sheet.over("tint", "hatch", "axis-light", "thin", "axis", "heavy", "curve", "limit")
        self.left, self.right = 26.0, sheet.width - 8.0
        self.x = Axis(self.points[0].speed, self.points[-1].speed, self.left, self.right)

    def panel(self, number: int, title: str, top: float, *lines: tuple[str, list[float | None]]) -> Axis:
        """Curves on a scale from nought to ``top``, which is handed back."""
        foot, sheet = (number + 1) * _PANEL, self.sheet
        y = Axis(0.0, top, foot, foot - _PANEL + 13.0)
        rated = self.x(self.loads.torque_at)
        sheet.line("axis", self.left, foot, self.right, foot)
        sheet.line("axis-light", rated, foot, rated, foot - _PANEL + 13.0)
        for role, values in lines:
            known = [(p.speed, v) for p, v in zip(self.points, values, strict=True) if v is not None]
            if known:
                sheet.polyline(role, [(self.x(at), y(value)) for at, value in known])
        sheet.label(self.left, foot - _PANEL + 9.0, title, "italic", "start")
        return y

    def shares(self) -> str:
        one = self.loads.at(self.loads.curve_of, self.loads.torque_at)
        shares = [point.upper_share for point in self.points]
        half, mean = loaded_half(one.of if one else "rod", sum(shares) / len(shares), self.loads)
        if mean != sum(shares) / len(shares):
            shares = [1 - share for share in shares]
        known = {"first": f"{100 * shares[0]:.0f}", "last": f"{100 * shares[-1]:.0f}"}
        title = say("share of its load on {half}: {first}–{last} %", half=half, **known)
        y = self.panel(0, title, 1.0, ("heavy", [*shares]))
        outline = [(self.x(point.speed), y(share)) for point, share in zip(self.points, shares, strict=True)]
        self.sheet.polyline("tint", [(self.left, y(0.0)), *outline, (self.right, y(0.0))])
        return title

    def peaks(self) -> None:
        peaks = [point.peak / 1000 for point in self.points]
        y = self.panel(1, say("highest load, kN"), 1.1 * max(peaks), ("heavy", [*peaks]))
        self.sheet.label(self.left - 3, y(peaks[0]) + 2.5, f"{peaks[0]:.0f}", "value", "end")
        self.sheet.label(self.right, y(peaks[-1]) - 4.0, f"{peaks[-1]:.0f}", "value", "end")

    def films(self) -> None:
        one = self.loads.at(self.loads.curve_of, self.loads.torque_at)
        rough = 1000 * self.loads.rough(one)
        arrived, now = (
            [None if film is None else 1000 * film for film in films]
            for films in zip(*((point.arrival, point.now) for point in self.points), strict=True)
        )
        known = [film for film in (*arrived, *now) if film is not None]
        top = 1.15 * max([rough, *known])
        # told in the title: between the curves words would be drawn over
        title = [say("thinnest oil film, µm")]
        title += [say("hatched: roughness")] if rough else []
        title += [say("on arrival whole, now dashed")] if None not in (arrived[-1], now[-1]) else []
        y = self.panel(2, "; ".join(title), top, ("heavy", arrived), ("curve", now))
        if rough:
            self.sheet.hatch("hatch", self.left, y(rough), self.right, y(0.0))
            self.sheet.line("limit", self.left, y(rough), self.right, y(rough))

    def axis(self) -> tuple[float, float]:
        low, high, rated = self.points[0].speed, self.points[-1].speed, self.loads.torque_at
        foot = self.sheet.height - 6.0
        self.sheet.label(self.x(low), foot, f"{low:.0f}", "name", "start")
        self.sheet.label(self.x(high), foot, speed(high), "name", "end")
        self.sheet.label(self.x(rated), foot, f"{rated:.0f}", "value")
        return low, high


def valve_gaps(loads: EngineLoads, width: float, system: System) -> Drawing:
    """The gap from valve to piston over crank angle, in time and fully open; below nought they meet."""
    sheet = DrawingSheet(width, _GAPS + 14.0)
    sheet.over("hatch-bad", "axis-light", "thin", "axis", "heavy", "curve")
    left, right, top, most = 14.0, width - 8.0, 14.0, 10.0  # mm: what is farther is of no interest
    curves = [("thin", loads.valve_open)]
    curves += [("curve" if gap.exhaust else "heavy", gap.curve) for gap in loads.valve_gaps]
    least = min([0.0, *(room for _, curve in curves for _, room in curve)]) - 2.5
    span = 48.0

    x, y = Axis(-span, span, left, right), Axis(least, most, _GAPS, top)
    for angle, room in loads.valve_open:  # between nought and the open valve
        if room < 0:
            sheet.hatch("hatch-bad", x(angle - 2), y(0.0), x(angle + 2), y(room))
    sheet.line("axis", left, y(0.0), right, y(0.0))
    named = 13.0 if loads.valves_meet else 0.0  # the line ends above the curve's name
    sheet.line("axis-light", x(0.0), top, x(0.0), _GAPS - named)
    for role, curve in curves:
        sheet.polyline(
            role, [(x(angle), y(room)) for angle, room in curve if abs(angle) <= span and room <= most]
        )
    if loads.valves_meet:
        sheet.label(x(0.0), _GAPS - 3.0, say("fully open, cam drive off"), "name")
    told = []
    for gap in loads.valve_gaps:
        known = show(gap.least, "mm", 1, system)
        sheet.ring("dot", x(gap.at), y(gap.least), 2.0)
        name = say("exhaust") if gap.exhaust else say("intake")
        at, anchor = (x(-10.0), "end") if gap.exhaust else (x(10.0), "start")
        sheet.label(at, y(gap.least) + 10.0, f"{name} {known.text}", "strong", anchor)
        words = message("{valve} {gap} at {angle} degrees")
        told.append(say(words, valve=name, gap=f"{known.text}{NBSP}{known.unit}", angle=f"{gap.at:.0f}"))
    for angle in (-span, -span / 2, 0.0, span / 2, span):
        anchor = {-span: "start", span: "end"}.get(angle, "middle")
        text = say("upper dead centre") if not angle else f"{abs(angle):.0f}°"
        sheet.label(x(angle), _GAPS + 10.0, text, "name", anchor)
    sheet.label(left - 3, y(0.0) + 2.5, "0", "name", "end")
    unit = show(1.0, "mm", 1, system).unit
    sheet.label(left, 7.0, say("from valve to piston, {unit}", unit=unit), "italic", "start")
    return sheet.done(say("From valve to piston over crank angle. {told}", told="; ".join(told)))
