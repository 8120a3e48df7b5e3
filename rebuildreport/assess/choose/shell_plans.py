"""One pair of shell halves for every bearing of a set at once, by what fits and what can be had.

In: a bearing set laid out.  Out: a `ShellPlan`, the runner-up in it, and what each asks to be bought.
Must not know: how a choice is told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec.structs import replace

from ...quantities import Figure, Sentence, Several, Text, Typed
from ...trade.choosing import shells
from ...trade.choosing.selection import Piece, Plan, SelectionOption, Supply, choose, most_places, short_of
from ...trade.choosing.shells import Pair
from ..model.choice import Buy
from .bearing_sets import Bearing, BearingSet


def told(half: Piece) -> Text:
    """One half of a shell, or a whole bush: what it is called, and its grade."""
    which = Sentence(half.which)
    return Several([which, Typed(half.grade)], " ") if half.grade else which


class ShellPlan:
    """The best plan for a set of bearings, the next best, and what the parts of both are.

    Where what fits is not to be had for all of them, the best serves as many as it can, and ``short`` says
    what more would be wanted.
    """

    def __init__(self, laid: BearingSet, bearings: Sequence[Bearing]) -> None:
        self.laid = laid
        self.options = {
            bearing.position: [self._option(pair, bearing) for pair in bearing.pairs]
            for bearing in bearings
            if bearing.pairs
        }
        halves = {half for options in self.options.values() for option in options for half in option.parts}
        self.supplies = {half: self._supply(half) for half in halves}
        prices = [laid.bench.price(self.number(half)) for half in halves]
        self.priced = None not in prices
        if not self.priced:
            # what has no price would look like the cheapest: then money decides nothing
            self.supplies = {key: replace(supply, price=0) for key, supply in self.supplies.items()}
        self.best = choose(self.options, self.supplies) if self.options else None
        self.second = choose(self.options, self.supplies, self.best) if self.best else None
        self.short: dict[Piece, int] = {}
        if self.options and self.best is None:
            self.best = most_places(self.options, self.supplies)
            self.short = short_of(self.options, self.supplies, self.best)

    def _option(self, pair: Pair, bearing: Bearing) -> SelectionOption:
        return shells.option(pair, self.laid.target, self.laid.two, bearing.family)

    @property
    def without(self) -> list[str]:
        """Bearings for which something fits, and nothing is to be had beside what the others take."""
        return [position for position in self.options if self.best and position not in self.best.chosen]

    def _supply(self, half: Piece) -> Supply:
        sheet = self.laid.sheet
        if half.family in sheet.other and half.grade in sheet.grades:
            return Supply()  # called like one of the maker's own, which is what lies on the shelf
        row = "count" if self.laid.bush else half.which
        return self.laid.bench.supply(self.laid.shells, row, half.grade, self.number(half))

    def number(self, half: Piece) -> str:
        """The part that a half of one grade is bought as, '' where the sheet has none."""
        sheet = self.laid.sheet
        mine = sheet.other.get(half.family, sheet)
        # a grade that only the others have may stand among the sheet's own numbers
        for of in (mine,) if half.grade in sheet.grades else (mine, sheet):
            own = of.numbers.get(Piece(half.which, half.grade)) or of.numbers.get(Piece("", half.grade))
            if number := own or of.halves.get(half.which):
                return number
        return sheet.sets.get(half.grade, "")

    def lacking(self, pair: Pair, bearing: Bearing) -> list[Piece]:
        """What of a pair lies on no shelf, and cannot be ordered."""
        halves = dict.fromkeys(self._option(pair, bearing).parts)
        supplies = {half: self.supplies.get(half, Supply()) for half in halves}
        return [half for half, had in supplies.items() if not (had.order or had.shelf)]

    def by_set(self) -> bool:
        """Whether all that is to be ordered are sets."""
        packs = self.best.packs if self.best else ()
        sets = {self.number(half) for half in packs}
        return bool(sets) and sets <= {*self.laid.sheet.sets.values()}

    def fitted(self, plan: Plan | None) -> dict[str, tuple[Piece, ...]]:
        """The halves of a plan by position."""
        chosen = plan.chosen.items() if plan else ()
        return {position: self.options[position][index].parts for position, index in chosen}

    def named(self, bearing: Bearing, grades: Sequence[str]) -> tuple[Piece, ...]:
        """The halves that somebody has named for a bearing, by their grades or by the number of their set."""
        sets = {number: key for key, number in self.laid.sheet.sets.items()}
        two = self.laid.two
        each = list(grades) * len(two) if len(grades) == 1 else grades
        return tuple(
            Piece(which, sets.get(at, at), bearing.family) for which, at in zip(two, each, strict=False)
        )

    def buys(self, fitted: Mapping[str, tuple[Piece, ...]]) -> tuple[Buy, ...]:
        """Halves by grade, for where they go; a set as often as every rebuild takes it."""
        bench, sheet = self.laid.bench, self.laid.sheet
        where: dict[Piece, list[str]] = {}
        for position, halves in fitted.items():
            for half in halves:
                where.setdefault(half, []).append(position)
        found: dict[str | Piece, Buy] = {}  # by the number of a set, else by the half
        for half, positions in sorted(where.items()):
            number = self.number(half)
            if number and number in sheet.sets.values():
                count = bench.engine.always.get(number, 1)  # a set may be sold as the pair of one journal
                shelf = min(count, bench.supply(self.laid.shells, "count", half.grade, number).shelf)
                found[number] = Buy(number, Figure(half.grade), count, shelf, tuple(fitted))
                continue
            shelf = min(len(positions), self._supply(half).shelf)
            pack = bench.pack(number)
            found[half] = Buy(number, told(half), len(positions), shelf, tuple(positions), pack)
        return tuple(found.values())
