"""Valve shims and solid buckets: which thickness where, kept, moved, from the shelf or bought.

In: the workbench.  Out: a choice for each kind of shim on the sheet, where clearances were read.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import cached_property

from msgspec import Struct, field

from ...quantities import NOTHING, Figure, Sentence, Text, message, present
from ...records.files.choosing import Shims
from ...trade.choosing.shims import FittedShim, Shim, ShimPlan, Valve, choose_shims
from ...trade.measuring.uncertainty import Measured
from ...trade.measuring.verdict import guard_band, inside
from ..measure.judging import source_text
from ..measure.observations import Occasion
from ..measure.titles import span, titled
from ..model.choice import Buy, Choice, Place, Status
from .workbench import Workbench, how_settled, length


def shim_choices(bench: Workbench) -> list[Choice]:
    """One choice for each kind of shim on the sheet, where clearances were read."""
    if bench.on_paper:
        return []
    made = [_Shims(bench, name, shims) for name, shims in bench.engine.shims.items()]
    return [shims.choice() for shims in made if shims.read.pairs]


class _Read(Struct):
    """What was read of the valves."""

    pairs: dict[str, tuple[Measured, Measured]] = field(default_factory=dict)  # shim and clearance together
    own: dict[str, float] = field(default_factory=dict)  # the engine's own shims
    without: list[str] = field(default_factory=list)  # valves without any clearance


class _Shims(Struct, dict=True):
    """One kind of shim of the sheet."""

    bench: Workbench
    name: str
    shims: Shims

    # ------------------------------------------------------------ what is known

    @cached_property
    def decided(self) -> tuple[date | None, str]:
        """The day on which somebody decided, and the decision: what is read later is its result."""
        decisions = self.bench.job.decisions.items()
        named = [(decision.date, name) for name, decision in decisions if decision.about == self.name]
        return max(named) if named else (None, "")

    @property
    def positions(self) -> list[str]:
        features = self.bench.engine.features
        return [place for name in self.shims.clearance for place in features[name].positions]

    def _occasions(self, ever: bool = False) -> Iterator[Occasion]:
        """Tables of these clearances up to the day on which somebody decided, or all of them."""
        until = self.decided[0]
        for taken in self.bench.taken:
            in_time = ever or until is None or taken.date <= until
            if taken.feature in self.shims.clearance and in_time:
                yield taken

    @cached_property
    def read(self) -> _Read:
        """What was read, up to the day on which somebody decided."""
        read = _Read()
        fitted: dict[str, Measured] = {}
        first: dict[str, str] = {}
        for taken in self._occasions():
            for position, columns in taken.readings.items():
                shim, lash = columns.get(self.shims.shim), columns.get(self.shims.lash)
                if shim is not None:
                    # a shim measured in a table of its own goes with what is read after it
                    fitted[position] = shim
                    # the first of a round is the engine's own: a trial shim comes after it
                    if first.get(position) != taken.round:
                        first[position] = taken.round
                        read.own[position] = shim.value
                if lash is not None and not lash.below and position in fitted:
                    read.pairs[position] = (fitted[position], lash)
                elif (position, self.shims.lash) in taken.no_clearance:
                    read.pairs.pop(position, None)
        spots = dict.fromkeys(spot for taken in self._occasions() for spot in taken.no_clearance)
        clearance = self.shims.lash
        read.without = [place for place, column in spots if column == clearance and place not in read.pairs]
        return read

    @cached_property
    def valves(self) -> list[Valve]:
        """The valves whose shim and clearance are known."""
        bench, found = self.bench, []
        for name in self.shims.clearance:
            feature = bench.engine.features[name]
            limits = bench.ends(feature.new.get(self.shims.lash), feature)
            target = bench.aim(self.shims.target.get(name), feature, limits)
            for position in feature.positions:
                if position in self.read.pairs:
                    shim, lash = self.read.pairs[position]
                    # sizes go in steps nearly as wide as the tolerance: what fits as read is fitted, and
                    # read again, so no guard is asked for
                    found.append(Valve(position, round((shim + lash).value, 6), limits, target))
        return found

    @property
    def pool(self) -> list[Shim]:
        """Every shim that is there: of the valves that get one now, and on the shelf."""
        # one whose clearance nobody read may have to stay where it is
        free = {*self.read.pairs, *self.read.without} & {*self.read.own}
        pool = [Shim(round(self.read.own[p], 6), p) for p in self.positions if p in free]
        shelf = self.bench.shelves.get(self.name)
        if shelf is None:
            return pool
        sizes = shelf.thicknesses
        counts = next(iter(shelf.rows.values()), [])
        for size, count in zip(sizes, counts, strict=False):
            pool += [Shim(size)] * int(count)
        return pool

    @property
    def sold(self) -> list[float]:
        """Sizes that can still be bought."""
        sizes = self.shims.thicknesses
        shelf = self.bench.shelves.get(self.name)
        if shelf is None or not shelf.no_more:
            return sizes
        if shelf.no_more == "all":
            return []
        return [size for size in sizes if all(abs(size - it) > 1e-6 for it in shelf.barred_thicknesses)]

    @cached_property
    def plan(self) -> ShimPlan:
        return choose_shims(self.valves, self.pool, self.sold)

    @cached_property
    def without_moving(self) -> int:
        """How many would be bought if every shim stayed with its valve."""
        bought = 0
        for valve in self.valves:
            own = [shim for shim in self.pool if shim.valve == valve.name]
            bought += choose_shims([valve], own, self.sold).count("buy")
        return bought

    def _set_since(self) -> list[str]:
        """Valves whose clearance was outside when first read, and inside when last read: shims went in."""
        first: dict[str, tuple[str, float]] = {}
        last: dict[str, tuple[str, float]] = {}
        for taken in self._occasions(ever=True):
            for position, columns in taken.readings.items():
                if (lash := columns.get(self.shims.lash)) is not None:
                    first.setdefault(position, (taken.round, lash.value))
                    last[position] = (taken.round, lash.value)
        limits = {valve.name: valve.limits for valve in self.valves}
        since = []
        for position, (round_, now) in last.items():
            before, was = first[position]
            if position in limits and round_ != before:
                ends = limits[position]
                if inside(now, 0.0, ends) and not inside(was, 0.0, ends):
                    since.append(position)
        return since

    # ------------------------------------------------------------ the choice

    def choice(self) -> Choice:
        """The choice, with a place for every valve that was read."""
        bench, plan = self.bench, self.plan
        buys = self._buys()
        bought = sum(buy.quantity for buy in buys)
        price = bench.price(self.shims.part)
        fewer = self.without_moving > bought  # by moving some
        decides = self._decides()
        fitted = {shim.valve: shim for shim in plan.fitted}
        none = message("{v}: no thickness that can be had gives a clearance inside its limits")
        why = message("Fewest new ones, then fewest moved, then nearest to the target: {off} off in all.")
        return Choice(
            name=self.name,
            kind="shims",
            title=titled(self.name),
            status=self._status(fitted, bool(decides)),
            answer=Sentence(
                "{bought} new, {moved} moved to another valve, {count} kept",
                bought=bought,
                moved=plan.count("move"),
                count=plan.count("keep"),
            ),
            decimals=2,
            why=present([Sentence(why, off=length(bench, plan.off, 2)), *_sizes(plan)], " "),
            alternative=Sentence("without moving any, {alone} would be bought", alone=self.without_moving)
            if fewer
            else NOTHING,
            places=tuple(self._place(valve, fitted.get(valve.name)) for valve in self.valves),
            buy=buys,
            lacking=(*plan.none_fits, *self._otherwise(fitted)),
            cost=None if price is None else price * bought,
            outlay=bench.outlay(buys),
            alternative_cost=price * self.without_moving if price is not None and fewer else None,
            impossible=tuple(Sentence(none, v=valve) for valve in plan.none_fits),
            decides=tuple(decides),
            follows=(self._follows(),),
            decision=self.decided[1],
            source=source_text(bench.engine, self.shims.source),
            off=plan.off,
        )

    def _status(self, fitted: dict[str, FittedShim], waits: bool) -> Status:
        status = how_settled(bool(self.plan.none_fits), waits)
        if status != "chosen" or not self.decided[1]:
            return status
        return "decided otherwise" if self._otherwise(fitted) else "decided"

    def _otherwise(self, fitted: dict[str, FittedShim]) -> list[str]:
        """Valves that somebody has decided on another shim for: where that comes from nobody says."""
        decision = self.bench.job.decisions.get(self.decided[1])
        fit = decision.fit if decision else {}
        return [
            valve for valve, shim in fitted.items() if fit and not _alike(fit.get(valve, []), shim.thickness)
        ]

    def _place(self, valve: Valve, shim: FittedShim | None) -> Place:
        own = self.read.own.get(valve.name)
        before = NOTHING if own is None else Figure(f"{own:.2f}")
        if shim is None:
            return Place(valve.name, "none fits", before=before)
        read, lash = self.read.pairs[valve.name]
        guard = guard_band((read + lash).u, self.bench.guarded)
        near = Sentence("as read it is inside, and too near its limit to be sure: read again when fitted")
        low, high = valve.limits
        return Place(
            valve.name,
            "chosen",
            Figure(f"{shim.thickness:.2f}"),
            low=low,
            high=high,
            middle=shim.clearance,
            source=shim.source,
            came_from=shim.came_from,
            before=before,
            note=NOTHING if inside(shim.clearance, guard, valve.limits) else near,
        )

    def _buys(self) -> tuple[Buy, ...]:
        groups: dict[float, list[FittedShim]] = {}
        for shim in self.plan.fitted:
            if shim.source in ("buy", "shelf"):
                groups.setdefault(shim.thickness, []).append(shim)
        part = self.shims.part
        found = []
        for size, shims in sorted(groups.items()):
            shelf = sum(shim.source == "shelf" for shim in shims)
            valves = tuple(shim.valve for shim in shims)
            what = Figure(f"{size:.2f} mm")
            found.append(Buy(part, what, len(shims), shelf, valves, self.bench.pack(part)))
        return tuple(found)

    # ------------------------------------------------------------ in words

    def _decides(self) -> list[Text]:
        without = self.read.without
        words = message("{p}: no clearance is no reading: fit a thin trial shim and read again")
        said: list[Text] = [Sentence(words, p=place) for place in without]
        known = {*self.read.pairs, *without}
        if unread := [place for place in self.positions if place not in known]:
            said.append(Sentence("{places} not read", places=span(unread)))
        if not self.decided[1] and (since := self._set_since()):
            words = message(
                "{places}: inside since, and nobody wrote down which shims went in: until a decision "
                "about them says so they stand on no list"
            )
            said.append(Sentence(words, places=span(since)))
        return said

    def _follows(self) -> Text:
        if self.shims.fitted == "thrust_washer":
            return Sentence(
                "the washer that stays is measured, too; lever both ways and read again when fitted"
            )
        return Sentence(
            "measure every shim, for the printed size wears off; after fitting, turn the cams "
            "twice by hand and read again"
        )


def _alike(fit: list[str], thickness: float) -> bool:
    """Whether a thickness is the one that a decision names, or it names none."""
    try:
        return not fit or abs(float(fit[0]) - thickness) < 1e-6
    except ValueError:
        return False


def _sizes(plan: ShimPlan) -> list[Text]:
    said: list[Text] = []
    words = message("{count} of {size} mm")
    bought = [Sentence(words, count=count, size=Figure(f"{size:.2f}")) for size, count in plan.bought.items()]
    if bought:
        said.append(Sentence("To buy: {bought}.", bought=present(bought, ", ")))
    if shelf := plan.count("shelf"):
        said.append(Sentence("From the shelf: {shelf}.", shelf=shelf))
    return said
