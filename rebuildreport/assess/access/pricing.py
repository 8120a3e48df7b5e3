"""The sheet's ways with what each costs, for the choice among them, and plans told in hours and money."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from decimal import Decimal

from ...quantities import Quantity, Text
from ...records.files.buildplan import AccessWay
from ...records.files.sheet import Engine
from ...records.files.shop import Rate
from ...trade.access.cheapest import Route
from ...trade.access.ways import Way, Ways
from ...trade.estimating import sums
from ..model.accessplan import PlanDifference

HUNDREDTH = Decimal("0.01")


def in_hours(time: Quantity) -> Decimal:
    """A time of the files in hours, to a hundredth."""
    return Decimal(str(round(time.to("h"), 9))).quantize(HUNDREDTH)


class Priced:
    """The table of one sheet at one rate.  Where no rate is known hours alone decide.

    What is bought with every rebuild costs no plan anything; what has no price neither, and plans say so.
    """

    def __init__(
        self, engine: Engine, holds: Collection[str], rate: Rate | None, code: str, absent: Collection[str]
    ) -> None:
        self.engine, self.code = engine, code
        self.rate = rate.labour if rate else None
        self.sheet: dict[str, AccessWay] = {}
        self.took: dict[str, Decimal] = {}  # hours of each way, off and back
        self.shared: dict[str, float] = {}
        self.every: list[Way] = []  # those whose condition is not known to hold, too
        table = engine.table(absent)
        self.absent = {name for name in table if name in absent}
        for part, some in table.items():
            self.every += [self._way(part, index, way) for index, way in enumerate(some)]
        open_ways = [way for way in self.every if (self.way(way).condition or "") in ("", *holds)]
        lasts = {name: frozenset(state.until) for name, state in engine.states.items()}
        self.ways = Ways(open_ways, self.shared, lasts)

    @property
    def names(self) -> list[str]:
        """Everything that can come off."""
        return [name for name in self.ways.of if name not in self.engine.states]

    def way(self, way: Way) -> AccessWay:
        """The sheet's words on a way."""
        return self.sheet.get(way.name) or AccessWay()

    def _way(self, part: str, index: int, typed: AccessWay) -> Way:
        name = f"{part} {index}"
        self.sheet[name] = typed
        hours = sum((in_hours(time) for time in (typed.hours, typed.back) if time), Decimal(0))
        self.took[name] = hours
        bare = Way(part, name=name)
        cost = float(hours * (1 if self.rate is None else self.rate))
        uses = set()
        for number, quantity, key in self.used_up(bare):
            price = float(self.amount(number, quantity) or 0) if self.rate else 0.0
            if key:
                self.shared[key] = price
                uses.add(key)
            else:
                cost += price
        first = frozenset((*typed.first, *typed.state))
        return Way(part, first, cost, frozenset(uses), frozenset(typed.disturbs), name)

    def used_up(self, way: Way) -> Iterator[tuple[str, int, str]]:
        """Part, how many, and the name by which it is used once; '' where each joint takes its own."""
        for part in self.way(way).uses_up:
            yield part, 1, ""
        joint = self.engine.joints.get(way.part)
        if joint is None or way.part in self.absent:
            return
        for part, count in joint.uses.items():
            once = part not in self.engine.parts or self.engine.parts[part].per == "engine"
            yield part, 1 if once else count, f"part {part}" if once else ""
        for name in joint.fasteners:
            group = self.engine.fasteners.get(name)
            if group and group.reuse == "never":
                yield group.part, group.quantity, f"bolts {name}"

    def amount(self, part: str, quantity: int) -> Decimal | None:
        """What parts cost; nothing where every rebuild takes them, None where there is no price."""
        if part in self.engine.always:
            return Decimal(0)
        known = self.engine.parts.get(part)
        return sums.amount(Decimal(quantity), known.price, self.code) if known else None

    def hours(self, route: Route) -> Decimal:
        """Off and back."""
        # what only other ways name has no way of its own, and takes no time
        return sum((self.took.get(way.name, Decimal(0)) for way in route.steps), Decimal(0))

    def labour(self, route: Route) -> Decimal | None:
        return sums.amount(self.hours(route), self.rate, self.code)

    def parts(self, route: Route) -> Decimal:
        """What the parts that it uses up cost, as far as they are priced."""
        found: dict[str, Decimal | None] = {}
        own = Decimal(0)
        for way in route.steps:
            for part, quantity, key in self.used_up(way):
                if key:
                    found[key] = self.amount(part, quantity)
                else:
                    own += self.amount(part, quantity) or 0
        return own + sum((price for price in found.values() if price), Decimal(0))

    def difference(self, route: Route, than: Route, what: tuple[Text, ...] = ()) -> PlanDifference:
        """What one plan takes more than another."""
        money = None
        if self.rate is not None:
            ours, theirs = (sums.rounded(self.hours(one) * self.rate, self.code) for one in (route, than))
            money = ours - theirs + self.parts(route) - self.parts(than)
        return PlanDifference(self.hours(route) - self.hours(than), money, what)
