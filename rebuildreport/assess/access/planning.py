"""The access plan of a job: the cheapest order by the sheet's ways, and what all else would take."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec.structs import replace

from ...quantities import Sentence, Several, Text, Typed, amid
from ...records import JobFolder
from ...records.files.buildplan import AccessWay
from ...records.files.jobfile import AccessWish
from ...records.files.sheet import Engine
from ...records.files.shop import Rate
from ...records.text.memory import Memory
from ...trade.access.cheapest import Route, cheapest
from ...trade.access.ways import Way
from ...trade.engine.cautions import Caution, Nature, caution, cautions_for
from ...trade.estimating import sums
from ..measure.titles import bolts_title, titled
from ..model.accessplan import AccessPlan, AccessStep, LeftAlone, OtherWay, PlanDifference, StaysOn, UsedUp
from ..model.edition import copied
from .pricing import Priced, in_hours

MOST_OTHERS = 8  # ways that are told beside the plan; further ones cost more than these


def access_plan(
    engine: Engine,
    job: JobFolder,
    rate: Rate | None,
    code: str,
    nature: Nature,
    sheet: str,
    memory: Memory,
) -> AccessPlan | None:
    """The plan for what the job wants off; None where it wants nothing, or what cannot be had.

    Remembered with a digest of the ``sheet``: no reading changes it.
    """
    wish = job.written_work.access
    if wish is None:
        return None
    absent = job.record.arrival.absent

    def work() -> AccessPlan | None:
        return _Planner(engine, job, wish, Priced(engine, wish.holds, rate, code, absent), nature).plan()

    rests_on = (sheet, wish, sorted(absent), rate, code, nature, job.written_teardown.steps)
    return memory.of(f"access {job.name}", rests_on, AccessPlan | None, work)


def with_chosen(plan: AccessPlan, engine: Engine, listed: Collection[str], code: str) -> AccessPlan:
    """The plan with the parts on the list that measurements chose, each at its own price."""

    def chosen(used: UsedUp) -> UsedUp:
        choice = engine.choices.get(used.part)
        number = next((one for one in choice.table if one in listed), "") if choice else ""
        if not number:
            return used
        part = engine.part(number)
        amount = sums.amount(Decimal(used.quantity), part.price, code)
        return replace(used, part=number, name=Typed(part.name), amount=amount)

    steps = tuple(replace(step, used_up=tuple(map(chosen, step.used_up))) for step in plan.steps)
    amounts = (used.amount for step in steps for used in step.used_up if used.amount)
    return replace(plan, steps=steps, parts=sum(amounts, Decimal(0)))


class _Planner:
    def __init__(
        self, engine: Engine, job: JobFolder, wish: AccessWish, priced: Priced, nature: Nature
    ) -> None:
        self.engine, self.job, self.wish, self.priced, self.nature = engine, job, wish, priced, nature
        self.used: set[str] = set()

    def plan(self) -> AccessPlan | None:
        wish = self.wish
        route = self._cheapest(wish.leave)
        if route is None:
            return None  # check has said why, and at which lines
        steps = tuple(self._steps(route))
        second = self._cheapest(wish.leave, other_than=[route])
        spared = ((name, self._cheapest([one for one in wish.leave if one != name])) for name in wish.leave)
        without = [(name, one) for name, one in spared if one]
        return AccessPlan(
            wanted=tuple(map(titled, wish.off)),
            leave=tuple(LeftAlone(titled(name), self.priced.difference(route, one)) for name, one in without),
            holds=tuple(wish.holds),
            steps=steps,
            labour=self.priced.labour(route),
            parts=self.priced.parts(route),
            second=self._difference(second, route) if second else None,
            others=tuple(self._others(route)),
            stays=tuple(self._stays(route, {step.name: step.number for step in steps})),
        )

    def _cheapest(
        self, leave: Sequence[str], must: Way | None = None, other_than: Sequence[Route] = ()
    ) -> Route | None:
        return cheapest(self.priced.ways, self.wish.off, leave, must, other_than)

    def _steps(self, route: Route) -> Iterator[AccessStep]:
        there = [part for part in route.parts if part not in self.priced.absent]
        numbers = {part: number for number, part in enumerate(there, 1)}
        behind = _behind(route)
        waits = {way.part: _direct(way.first, behind) - self.priced.absent for way in route.steps}
        taken = self.job.written_teardown.steps
        for way in (way for way in route.steps if way.part in numbers):
            if way.part in self.engine.states:
                yield self._state(way, numbers, waits)
                continue
            sheet = self.priced.way(way)
            noted = [step for step in taken if step.removed == way.part]
            took = [in_hours(step.hours) for step in noted if step.hours]
            yield copied(
                AccessStep,
                sheet,
                number=numbers[way.part],
                name=way.part,
                title=titled(way.part),
                short=titled(way.part),
                wanted=way.part in self.wish.off,
                hours=in_hours(sheet.hours) if sheet.hours else None,
                back=in_hours(sheet.back) if sheet.back else None,
                after=tuple(sorted(numbers[name] for name in waits[way.part])),
                opens=way.part in self.engine.joints,
                bolts=tuple(self._bolts(way.part)),
                used_up=tuple(self._used_up(way)),
                cautions=tuple(self._cautions(way.part, sheet)),
                done=bool(noted),
                took=sum(took, Decimal(0)) if took else None,
            )

    def _state(self, way: Way, numbers: dict[str, int], waits: dict[str, set[str]]) -> AccessStep:
        state = self.engine.states[way.part]
        return AccessStep(
            number=numbers[way.part],
            name=way.part,
            title=Typed(state.text),
            short=titled(way.part),
            is_state=True,
            hours=in_hours(state.hours) if state.hours else Decimal(0),
            after=tuple(sorted(numbers[name] for name in waits[way.part])),
            cautions=(self.nature.turning,) if not state.first else (),
        )

    def _cautions(self, part: str, sheet: AccessWay) -> Iterable[Caution]:
        own = caution(sheet.caution, self.nature) or Caution(Typed(sheet.caution))
        minded = cautions_for("take", part, self.nature)
        return dict.fromkeys([own, *minded] if sheet.caution else minded)

    def _bolts(self, part: str) -> Iterator[Text]:
        joint = self.engine.joints.get(part)
        for name in joint.fasteners if joint else ():
            group = self.engine.fasteners.get(name)
            if group and group.reuse != "never":  # those are among what is used up
                what = amid(bolts_title(self.engine, name))
                yield Sentence("{count} {bolts}", count=group.quantity, bolts=what)

    def _used_up(self, way: Way) -> Iterator[UsedUp]:
        """Parts that this step is the first to use up."""
        for part, quantity, key in self.priced.used_up(way):
            if key and key in self.used:
                continue
            self.used.add(key)
            known = self.engine.parts.get(part)
            name = Typed(known.name) if known else titled(part)
            yield UsedUp(part, name, quantity, self.priced.amount(part, quantity))

    def _stays(self, route: Route, numbers: Mapping[str, int]) -> Iterator[StaysOn]:
        behind, of = _behind(route), self.priced.ways.of
        for name in self.priced.names:
            if name in behind or name in self.priced.absent:
                continue
            way = min(of[name], key=lambda way: len(way.first - {*behind}))
            after = _direct(way.first & {*behind}, behind) & {*numbers}
            bars = [part for part in numbers if any(name in way.first for way in of[part])]
            yield StaysOn(
                title=titled(name),
                left_alone=name in self.wish.leave,
                after=tuple(sorted(numbers[part] for part in after)),
                bars=() if after else tuple(sorted(numbers[part] for part in bars)),
            )

    def _difference(self, route: Route, than: Route) -> PlanDifference:
        return self.priced.difference(route, than, tuple(self._otherwise(route, than)))

    def _otherwise(self, route: Route, than: Route) -> Iterator[Text]:
        """What a plan does that another does not."""
        other = {way.part: way for way in than.steps}
        for way in route.steps:
            if other.get(way.part, way) != way:
                yield Sentence("{part}: {how}", part=titled(way.part), how=self._how(way))
        extra = [amid(titled(part)) for part in route.parts if part not in other]
        if extra:
            yield Sentence("off as well: {parts}", parts=Several(extra))
        if spared := [amid(titled(part)) for part in than.parts if part not in route.parts]:
            yield Sentence("stays on: {parts}", parts=Several(spared))

    def _how(self, way: Way) -> Text:
        """A way in its own words, else by what is off before it."""
        sheet = self.priced.way(way)
        if sheet.how:
            return Typed(sheet.how)
        names = Several(amid(titled(name)) for name in sheet.first)
        return Sentence("after {parts}", parts=names) if sheet.first else Sentence("at once")

    def _others(self, route: Route) -> list[OtherWay]:
        """Ways to the plan's own steps that it does not go, the cheapest first."""
        gone = {*route.steps}
        found: list[tuple[float, OtherWay]] = []
        for way in self.priced.every:
            if way in gone or way.part not in route.parts:
                continue
            other = self._cheapest(self.wish.leave, must=way)
            if other is None:
                continue
            sheet = self.priced.way(way)
            takes = self.priced.difference(other, route, tuple(self._otherwise(other, route))[1:])
            known = not sheet.condition or sheet.condition in self.wish.holds
            own = {"title": titled(way.part), "how": self._how(way), "takes": takes, "known": known}
            found.append((other.cost, copied(OtherWay, sheet, **own)))
        return [told for _, told in sorted(found, key=lambda pair: pair[0])[:MOST_OTHERS]]


def _behind(route: Route) -> dict[str, set[str]]:
    """Of each step all that is off before it."""
    behind: dict[str, set[str]] = {}
    for way in route.steps:
        behind[way.part] = {*way.first}.union(*(behind[other] for other in way.first))
    return behind


def _direct(first: Collection[str], behind: Mapping[str, set[str]]) -> set[str]:
    """Those of some steps that none of the others waits for."""
    return {*first}.difference(*(behind[name] for name in first))
