"""One pair of shell halves for every bearing of a set at once, by what fits and what can be had.

In: a bearing set laid out.  Out: a `ShellPlan`, the runner-up in it, and what each asks to be bought.
Must not know: how a choice is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...quantities import Sentence, Several, Text, Typed
from ...trade.choosing import shells
from ...trade.choosing.selection import Plan, SelectionOption, Supply, choose
from ...trade.choosing.shells import Pair
from ..model.choice import Buy
from .bearing_sets import Bearing, BearingSet


@dataclass(frozen=True, slots=True)
class Half:
    """One half of a shell, or a whole bush: what it is called, and its grade."""

    piece: str
    grade: str

    @property
    def text(self) -> Text:
        piece = Sentence(self.piece)
        return Several([piece, Typed(self.grade)], " ") if self.grade else piece


class ShellPlan:
    """The best plan for a set of bearings, the next best, and what the parts of both are."""

    def __init__(self, laid: BearingSet, bearings: Sequence[Bearing]) -> None:
        self.laid = laid
        self.halves: dict[str, Half] = {}  # by the key that the plan has for it
        self.options: dict[str, list[SelectionOption]] = {}
        for bearing in bearings:
            if bearing.pairs:
                self.options[bearing.position] = [self._option(pair) for pair in bearing.pairs]
        self.supplies = {key: self._supply(half) for key, half in self.halves.items()}
        prices = [laid.bench.price(self.number(half)) for half in self.halves.values()]
        self.priced = None not in prices
        if not self.priced:
            # what has no price would look like the cheapest: then money decides nothing
            self.supplies = {key: replace(supply, price=0) for key, supply in self.supplies.items()}
        self.best = choose(self.options, self.supplies) if self.options else None
        self.second = choose(self.options, self.supplies, self.best) if self.best else None

    def _option(self, pair: Pair) -> SelectionOption:
        option = shells.option(pair, self.laid.target, self.laid.two)
        grades = (pair.upper,) if pair.whole else (pair.upper, pair.lower)
        for key, piece, grade in zip(option.parts, self.laid.two, grades, strict=True):
            self.halves[key] = Half(piece, grade)
        return option

    def _supply(self, half: Half) -> Supply:
        row = "count" if self.laid.bush else half.piece
        return self.laid.bench.supply(self.laid.shells, row, half.grade, self.number(half))

    def number(self, half: Half) -> str:
        """The part that a half of one grade is bought as, '' where the sheet has none."""
        sheet = self.laid.sheet
        for other in sheet.other.values():
            if half.grade in other.grades and other.halves.get(half.piece):
                return other.halves[half.piece]
        own = sheet.pieces.get(f"{half.piece} {half.grade}", "") or sheet.pieces.get(half.grade, "")
        return own or sheet.halves.get(half.piece, "") or sheet.sets.get(half.grade, "")

    def lacking(self, pair: Pair) -> list[Half]:
        """What of a pair lies on no shelf, and cannot be ordered."""
        keys = shells.option(pair, self.laid.target, self.laid.two).parts
        supplies = {key: self.supplies.get(key, Supply()) for key in keys}
        return [self.halves[key] for key, had in supplies.items() if not (had.order or had.shelf)]

    def by_set(self) -> bool:
        """Whether all that is to be ordered are sets."""
        packs = self.best.packs if self.best else ()
        sets = {self.number(self.halves[key]) for key in packs}
        return bool(sets) and sets <= {*self.laid.sheet.sets.values()}

    def buys(self, plan: Plan | None) -> tuple[Buy, ...]:
        """The halves of a plan by grade; a set once."""
        if plan is None:
            return ()
        bench, sheet = self.laid.bench, self.laid.sheet
        where: dict[str, list[str]] = {}
        for position, index in plan.chosen.items():
            for key in self.options[position][index].parts:
                where.setdefault(key, []).append(position)
        found: dict[str, Buy] = {}  # by the number of a set, else by the half
        for key, positions in sorted(where.items()):
            half = self.halves[key]
            number = self.number(half)
            if number and number in sheet.sets.values():
                shelf = min(1, bench.supply(self.laid.shells, "count", half.grade, number).shelf)
                found[number] = Buy(number, Typed(half.grade), 1, shelf, tuple(plan.chosen))
                continue
            shelf = min(len(positions), self.supplies[key].shelf)
            pack = bench.pack(number)
            found[key] = Buy(number, half.text, len(positions), shelf, tuple(positions), pack)
        return tuple(found.values())
