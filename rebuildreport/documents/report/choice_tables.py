"""The table behind a choice: what was weighed, a row each; which columns it has hangs on the kind of choice.

In: a choice of an Assessment.  Out: heads and rows as text.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from ...assess.model.assessment import Assessment
from ...assess.model.choice import Candidate, Choice, Place
from ..press.codes import FITNESS
from ..press.language import say, show, show_interval, spoken, told
from ..press.words import place, places

Columns = tuple[tuple[str, str], ...]
Rows = tuple[tuple[str, ...], ...]
# head, look ("nw" never broken, "r" at the right), and the text of a row
Cells = list[tuple[str, str, Callable[[Any], str]]]


def table(assessment: Assessment, choice: Choice) -> tuple[Columns, Rows]:
    """Columns and rows of one choice."""
    columns_of, by_step = KINDS[choice.kind]
    view = _Table(assessment, choice)
    weighed = choice.steps if by_step else choice.places
    columns = columns_of(view)
    if choice.kind == "shells" and not view.coded:
        alike = view.all_alike()
        if alike is not None:
            return _heads([(say("bearings"), "nw", str), *columns[1:]]), (alike,)
    return _heads(columns), tuple(tuple(cell(row) for _, _, cell in columns) for row in weighed)


def _heads(columns: Cells) -> Columns:
    return tuple((head, look) for head, look, _ in columns)


@dataclass(frozen=True, slots=True)
class _Table:
    """The columns of each kind of choice, and what stands in their cells."""

    assessment: Assessment
    choice: Choice

    # ------------------------------------------------------------------ columns, by kind

    def skim(self) -> Cells:
        columns: Cells = [(say("taken off"), "nw", self.step_in_figures)]
        if any(step.low is not None for step in self.choice.steps):
            columns.append((say("height left, {unit}", unit=self.unit()), "nw", self.height))
        return [*columns, (say("result"), "", _fitness), ("", "", _note)]

    def gasket(self) -> Cells:
        return [
            (say("gasket"), "nw", self.step),
            (say("pressed, {unit}", unit=self.unit("mm")), "nw", self.pressed),
            (say("compression ratio, to 1"), "nw", _ratio),
            (say("result"), "", _fitness),
            ("", "", _note),
        ]

    def size(self) -> Cells:
        return [
            (say("step"), "nw", self.step_in_figures),
            (say("finished size, {unit}", unit=self.unit()), "nw", self.finished),
            (say("result"), "", _fitness),
            (say("where it is tightest"), "", _note),
        ]

    def shims(self) -> Cells:
        return [
            (say("place"), "nw", _position),
            (say("was"), "r", _before),
            (say("fit"), "r", _answer),
            (say("from"), "", _source),
            (say("clearance, {unit}", unit=self.unit()), "r", self.middle),
            (say("limits"), "nw", lambda spot: self.between(spot.low, spot.high)),
        ]

    def rings(self) -> Cells:
        return [
            (say("cylinder"), "nw", _position),
            (say("bore"), "nw", lambda spot: spoken().figures(spot.size)),
            (say("piston"), "nw", self.piston),
            (say("ring set"), "nw", _answer),
            (say("gaps"), "", _note),
        ]

    def masses(self) -> Cells:
        return [
            (say("rod"), "nw", _position),
            (say("piston"), "nw", _answer),
            (say("together, g"), "r", _grams),
            ("", "", _note),
        ]

    def fits(self) -> Cells:
        return [
            (say("cylinder") if self.choice.kind == "pistons" else say("place"), "nw", _position),
            (say("class"), "nw", _answer),
            (say("clearance, {unit}", unit=self.unit()), "nw", self.span),
            (say("weighed"), "", self.weighed),
        ]

    def shells(self) -> Cells:
        if not self.coded:
            return [
                (say("bearing"), "nw", _position),
                (say("shells") if self.halves else say("bush"), "", _answer),
                (say("predicted clearance, {unit}", unit=self.unit()), "nw", self.span),
            ]
        return [
            (say("bearing"), "nw", _position),
            (say("codes read"), "", _stamped),
            (say("codes by measure"), "", _measured),
            (say("upper/lower") if self.halves else say("grade"), "", _answer),
            (say("clearance, {unit}", unit=self.unit()), "nw", self.span),
            (say("next best"), "", lambda spot: told(spot.runner_up)),
        ]

    # ------------------------------------------------------------------ what shells may leave out

    @property
    def coded(self) -> bool:
        """Whether any bearing has codes, stamped or by measurement."""
        return any(spot.stamped or spot.by_measurement for spot in self.choice.places)

    @property
    def halves(self) -> bool:
        """Whether pairs of halves were weighed (or nothing was), else whole bushes."""
        weighed = [candidate for spot in self.choice.places for candidate in spot.candidates]
        return not weighed or any(len(candidate.grades) > 1 for candidate in weighed)

    def all_alike(self) -> tuple[str, ...] | None:
        """One row for bearings that all get the same, from the least clearance to the greatest."""
        spots = self.choice.places
        answers = {told(spot.answer) for spot in spots}
        lows = [spot.low for spot in spots if spot.low is not None]
        highs = [spot.high for spot in spots if spot.high is not None]
        if len(answers) != 1 or len(lows) != len(spots):
            return None
        span = self.between(min(lows), max(highs, default=None))
        return places([spot.position for spot in spots]), *answers, span

    # ------------------------------------------------------------------ cells

    def unit(self, unit: str = "") -> str:
        return show(0.0, unit or self.choice.unit, 2, self.assessment.system).unit_text

    def step(self, step: Candidate) -> str:
        return ("→ " if step.chosen else "") + told(step.name)

    def step_in_figures(self, step: Candidate) -> str:
        return spoken().figures(self.step(step))

    def height(self, step: Candidate) -> str:
        return self.number(step.low, 2)

    def pressed(self, step: Candidate) -> str:
        return "" if step.middle is None else show(step.middle, "mm", 2, self.assessment.system).text

    def finished(self, step: Candidate) -> str:
        return show_interval(step.low, step.high, self.choice.unit, 3, self.assessment.system)

    def middle(self, spot: Place) -> str:
        return self.number(spot.middle, self.choice.decimals)

    def span(self, spot: Place | Candidate) -> str:
        return "" if spot.low is None or spot.high is None else self.between(spot.low, spot.high)

    def weighed(self, spot: Place) -> str:
        return "; ".join(
            f"{told(candidate.name)}: {span}, {_fitness(candidate)}"
            for candidate in spot.candidates
            if (span := self.span(candidate))
        )

    def piston(self, spot: Place) -> str:
        """The piston of a cylinder: named with its rings, or of the class that another choice gives it."""
        return spot.piston or next(self._classes(spot.position), "")

    def _classes(self, cylinder: str) -> Iterator[str]:
        for choice in self.assessment.choices:
            for spot in choice.places if choice.kind == "pistons" and not choice.on_paper else ():
                if spot.position == cylinder and spot.answer:
                    yield say("class {number}", number=spot.answer)

    def number(self, value: float | None, decimals: int) -> str:
        return "" if value is None else show(value, self.choice.unit, decimals, self.assessment.system).text

    def between(self, low: float | None, high: float | None) -> str:
        return show_interval(low, high, self.choice.unit, self.choice.decimals, self.assessment.system)


def _position(spot: Place) -> str:
    return place(spot.position)


def _before(spot: Place) -> str:
    return told(spot.before)


def _source(spot: Place) -> str:
    if spot.came_from:
        return say("move from {place}", place=place(spot.came_from))
    return say(spot.source) if spot.source else ""


def _answer(spot: Place) -> str:
    return told(spot.answer)


def _note(weighed: Place | Candidate) -> str:
    return told(weighed.note)


def _fitness(step: Candidate) -> str:
    return say(FITNESS[step.fitness]) if step.fitness else ""


def _grams(spot: Place) -> str:
    return "" if spot.middle is None else spoken().figures(f"{spot.middle:.1f}")


def _stamped(spot: Place) -> str:
    return _code(spot.stamped, spot.by_code or (say("void") if spot.void else ""))


def _measured(spot: Place) -> str:
    differs = f" ({say('differs')})" if spot.agree is False else ""
    return _code(spot.measured, spot.by_measurement) + differs


def _code(codes: str, grade: str) -> str:
    return f"{codes}: {grade}" if codes and grade else codes


def _ratio(step: Candidate) -> str:
    """'17.4', or '17.2–17.5' where the cylinders differ."""
    if step.low is None or step.high is None:
        return ""
    ends = dict.fromkeys(f"{end:.1f}" for end in (step.low, step.high))
    return spoken().figures("–".join(ends))


# the columns of each kind, and whether its rows are the steps that were weighed; else its places
KINDS: dict[str, tuple[Callable[[_Table], Cells], bool]] = {
    "skim": (_Table.skim, True),
    "gasket": (_Table.gasket, True),
    "undersize": (_Table.size, True),
    "oversize": (_Table.size, True),
    "shims": (_Table.shims, False),
    "rings": (_Table.rings, False),
    "masses": (_Table.masses, False),
    "pistons": (_Table.fits, False),
    "bushes": (_Table.fits, False),
    "shells": (_Table.shells, False),
}
