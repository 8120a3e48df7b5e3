"""How long a part of a family lasts, drawn: who is left at each age, counted step by step, and a smooth life.

In: the lives of the part among the engines that came here.  Out: a drawing, its reading in words, and the
engine page's section.  Fewer engines or failures than carry a curve are only counted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from math import inf, log10
from pathlib import Path

from msgspec import Struct

from ...quantities import message
from ...trade.life.lifetimes import Lifetime
from ...trade.life.survival import Step, Weibull, at_risk, kaplan_meier, self_consistent, weibull
from ..drawings.axes import Axis, round_up
from ..drawings.canvas import Drawing, DrawingSheet
from ..press import templating
from ..press.language import say, spoken
from ..press.words import NBSP, in_threes

FEWEST_ENGINES, FEWEST_FAILURES = 10, 5  # below, a curve would say more than is known
MOST_FIGURES = 2
WIDE, NARROW = 372.0, 250.0  # points
_HIGH, _TOP, _LEFT, _FOOT = 176.0, 14.0, 32.0, 132.0
Scale = Callable[[float], float]
_BAND = (0.01, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 0.9)  # shares failed at which the smooth line's band is found


class LifeFigure(Struct, frozen=True):
    """One part: what is drawn, and how to read it."""

    part: str
    wide: Drawing
    narrow: Drawing
    reading: str
    band: str
    smooth: str


class _Life(Struct, frozen=True, dict=True):
    """One part's lives, with what was found in them."""

    part: str
    lives: Sequence[Lifetime]
    unit: str
    fit: Weibull | None

    @cached_property
    def steps(self) -> Sequence[Step]:
        """Who is left, counted step by step."""
        return kaplan_meier(self.lives) if self.counted else self_consistent(self.lives)

    @property
    def failed(self) -> int:
        return sum(life.failed for life in self.lives)

    @property
    def counted(self) -> bool:
        """Whether every age of failure is known."""
        return all(life.exact or not life.failed for life in self.lives)

    @property
    def last(self) -> float:
        return max(life.after if not life.failed else life.until for life in self.lives)

    @property
    def half(self) -> float | None:
        return next((step.age for step in self.steps if step.left <= 0.5), None)


def enough(lives: Sequence[Lifetime]) -> bool:
    """Whether so many lives carry a curve.

    >>> enough([Lifetime(1, 1)] * 5 + [Lifetime(2, inf)] * 4)
    False
    """
    return len(lives) >= FEWEST_ENGINES and sum(life.failed for life in lives) >= FEWEST_FAILURES


def life_section(parts: Mapping[str, Sequence[Lifetime]], unit: str, shop: Path | None = None) -> str:
    """The section of an engine's page; "" where no part carries a curve.

    ``parts``: lives by the part's name as the page prints it, all in one ``unit``, h or km.
    """
    carrying = [(part, lives) for part, lives in parts.items() if enough(lives)]
    carrying.sort(key=lambda one: (-sum(life.failed for life in one[1]), one[0]))
    figures = [life_figure(part, lives, unit) for part, lives in carrying[:MOST_FIGURES]]
    if not figures:
        return ""
    part = templating.environment(shop).get_template("parts/life-figure/part.html.jinja").module
    return str(part.section(figures))  # type: ignore[attr-defined]


def life_figure(part: str, lives: Sequence[Lifetime], unit: str) -> LifeFigure:
    """The figure of one part [ages in h or km]."""
    try:
        fit = weibull(lives)
    except ValueError:
        fit = None
    life = _Life(part, lives, unit, fit)
    words = _reading(life), _band_told(life), _smooth(life)
    return LifeFigure(part, _drawn(life, WIDE), _drawn(life, NARROW), *words)


# ------------------------------------------------------------------------------- in words


def _age(value: float, unit: str) -> str:
    """An age to the two figures that so few engines carry: '9100 h', '210 000 km'."""
    places = max(int(log10(value)) - 1, 0) if value >= 1 else 0
    return f"{in_threes(round(value, -places))}{NBSP}{unit}"


def _reading(life: _Life) -> str:
    words = message(
        "Among the {all} that could be followed on engines that came here, {failed} had failed or were "
        "worn out."
    )
    said = [say(words, all=len(life.lives), failed=life.failed)]
    if life.half is not None:
        words = message(
            "Read it from the left: all start sound; by {age} half had failed, counted step by step."
        )
        said.append(say(words, age=_age(life.half, life.unit)))
    elif life.steps:
        left = f"{100 * life.steps[-1].left:.0f}{NBSP}%"
        words = message(
            "Read it from the left: all start sound; of those that ran so long, {left} still were at {age}."
        )
        said.append(say(words, age=_age(life.steps[-1].age, life.unit), left=left))
    if not life.counted:
        said.append(
            say("Of some only the time between two looks is known: the steps may fall anywhere in it.")
        )
    return " ".join(said)


def _band_told(life: _Life) -> str:
    if life.counted or life.fit is not None:
        return say(
            "The tint shows how far so few engines can mislead: at any one age, 95 of 100 such counts would "
            "hold the true share."
        )
    return ""


def _smooth(life: _Life) -> str:
    if life.fit is None:
        return say("These lives settle no smooth line.")
    low, high = life.fit.shape_bounds()
    half = life.fit.age_bounds(0.5)
    words = message(
        "Smooth line: Weibull by maximum likelihood, shape {shape} ({low} to {high}), half failed by {half} "
        "({least} to {most}); bounds by likelihood, 95 %."
    )
    figures = spoken().figures
    said = say(
        words,
        shape=figures(f"{life.fit.shape:.1f}"),
        low=figures(f"{low:.1f}"),
        high=figures(f"{high:.1f}") if high < inf else "–",
        half=_age(life.fit.age(0.5), life.unit),
        least=_age(max(half[0], 1.0), life.unit),
        most=_age(half[1], life.unit) if half[1] < inf else "–",
    )
    if low > 1:
        return f"{said} {say('A shape above 1: it wears out, it does not fail by chance.')}"
    if high < 1:
        return f"{said} {say('A shape below 1: it fails young; those that last, last longer.')}"
    return f"{said} {say('The bounds hold 1: so few cannot tell wear from chance.')}"


# ------------------------------------------------------------------------------- drawn


def _drawn(life: _Life, width: float) -> Drawing:
    sheet = DrawingSheet(width, _HIGH)
    sheet.over("tint", "axis-light", "curve", "step", "axis", "beyond")
    tick = _step(life.last, 6 if width == WIDE else 4)
    end = tick * -(-life.last // tick)
    right = width - 14.0

    x, y = Axis(0.0, end, _LEFT, right), Axis(0.0, 1.0, _FOOT, _TOP)
    for share, name in ((1.0, say("all")), (0.75, "¾"), (0.5, say("half")), (0.25, "¼"), (0.0, "0")):
        sheet.line("axis-light" if share else "axis", _LEFT, y(share), right, y(share))
        sheet.label(_LEFT - 4.0, y(share) + 2.4, name, "limit", "end")
    _band(sheet, life, x, y)
    if life.fit is not None:
        ages = [life.last * i / 60 for i in range(61)]
        sheet.polyline("curve", [(x(age), y(life.fit.left(age))) for age in ages])
    _steps(sheet, life, x, y)
    sheet.label(_LEFT, _HIGH - 16.0, say("still counted at that age:"), "italic", "start")
    _ages(sheet, life, x, tick)
    words = message("{part}: share still sound over age, {failed} of {all} failed. {reading}")
    values = {"part": life.part, "failed": life.failed, "all": len(life.lives), "reading": _reading(life)}
    return sheet.done(say(words, **values))


def _ages(sheet: DrawingSheet, life: _Life, x: Scale, tick: float) -> None:
    """The axis of ages, and below each tick how many were still counted then."""
    steps = round(-(-life.last // tick))
    for step in range(steps + 1):
        age = step * tick
        sheet.line("axis", x(age), _FOOT, x(age), _FOOT + 3.0)
        anchor, unit = ("end", f"{NBSP}{life.unit}") if step == steps else ("middle", "")
        sheet.label(x(age), _FOOT + 12.0, in_threes(age) + unit, "limit", anchor)
        many = at_risk(life.lives, age) if age else sum(not one.entered for one in life.lives)
        sheet.label(x(age), _HIGH - 5.0, str(many), "limit", anchor)


def _band(sheet: DrawingSheet, life: _Life, x: Scale, y: Scale) -> None:
    """How far so few engines can mislead: of the count where every age is known, else of the smooth line."""
    if life.counted:
        ends = [*(step.age for step in life.steps[1:]), life.last]
        for step, until in zip(life.steps, ends, strict=True):
            if step.low is not None and step.high is not None:
                sheet.box("tint", x(step.age), y(step.high), x(until), y(step.low))
    elif life.fit is not None:
        bounds = [(1 - share, *life.fit.age_bounds(share)) for share in _BAND]
        edge = [(x(min(low, life.last)), y(left)) for left, low, _ in bounds]
        edge += [(x(min(high, life.last)), y(left)) for left, _, high in reversed(bounds)]
        sheet.polyline("tint", [*edge, edge[0]])


def _steps(sheet: DrawingSheet, life: _Life, x: Scale, y: Scale) -> None:
    left, points = 1.0, [(x(0.0), y(1.0))]
    for step in life.steps:
        points += [(x(step.age), y(left)), (x(step.age), y(step.left))]
        left = step.left
    points.append((x(life.last), y(left)))
    sheet.polyline("step", points)
    for one in life.lives:
        if not one.failed:
            here = next((step.left for step in reversed(life.steps) if step.age <= one.after), 1.0)
            sheet.line("axis", x(one.after), y(here) - 2.6, x(one.after), y(here))
    for step in life.steps:
        sheet.lozenge("beyond", x(step.age), y(step.left), 2.2)


def _step(last: float, most: int) -> float:
    """A round step of the axis, of which at most so many reach the last age.

    >>> _step(12640.0, 6), _step(212000.0, 4)
    (2500.0, 100000.0)
    """
    return round_up(max(last / most, 1.0), (1.0, 2.0, 2.5, 5.0, 10.0))
