"""What the pages of the build sheet ask for: what came off goes on again, in the reverse of how it came off.

Comes in: the engine's sheet, the teardown or what the access plan takes off.  Goes out: pages by name, each
with its steps.  Knows nobody's signature.  A page of the sheet stays as it is typed, in its order; what came
off and stands on none of them is put in between.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from msgspec import Struct, field

from ...quantities import message
from ...records import JobFolder
from ...records.files.buildplan import CLOSING, STAND_IN, BuildStep
from ...records.files.buildplan import BuildPagePlan as PagePlan
from ...records.files.measured import tables
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.access.takedown import came_off
from ...trade.engine.subjects import OTHER
from ...trade.kinds import KINDS
from ..telling.filing import Filing

Place = tuple[int, int]  # page, and before which of its steps


def page_plans(engine: Engine, job: JobFolder, planned: Sequence[str]) -> dict[str, PagePlan]:
    """The sheet's pages with what else goes on again; without any the reverse alone, fits, last looks."""
    taken = [step.removed for step in job.teardown.steps] if job.teardown else [*planned]
    off = reversed(came_off(taken, engine.ways))
    back = [name for name in off if name not in job.record.arrival.absent]
    if engine.assemblies:
        return _Between(engine, back).pages()
    if not back:
        return {}
    steps = [step for name in back for step in _fitted(engine, name)]
    pages = (PagePlan(steps=steps), PagePlan(steps=_to_prove(engine, job, back)), _last_looks(engine))
    return {name: page for name, page in zip(STAND_IN, pages, strict=True) if page.steps}


def _last_looks(engine: Engine) -> PagePlan:
    """The usual ones; a two-stroke has no marks of a cam drive to meet."""
    if engine.layout.strokes != "2":
        return CLOSING
    turned = {"text": message("Two full turns of the crankshaft by hand, no contact")}
    return PagePlan(steps=[CLOSING.steps[0].model_copy(update=turned), *CLOSING.steps[1:]])


def _fitted(engine: Engine, name: str, tightened: Collection[str] = ()) -> Iterator[BuildStep]:
    """A thing goes on, and a joint's bolts right after it."""
    yield BuildStep(fit=name)
    for group in engine.joints[name].fasteners if name in engine.joints else ():
        if group in engine.fasteners and group not in tightened:
            yield BuildStep(tighten=group)


def _to_prove(engine: Engine, job: JobFolder, off: Collection[str]) -> list[BuildStep]:
    """Every fit that has limits, but for those of a part that stayed where it was and nobody read."""
    read = {table.feature for table in tables(job) if any(table.read())}

    def stayed(name: str, sheet: FeatureRecord) -> bool:
        joined = [name, *sheet.links(KINDS[sheet.kind].links).values()]
        parts = {engine.features[one].part for one in joined if one in engine.features}
        return not read & {*joined} and bool((parts & engine.access.keys()) - {*off})

    limited = {name: sheet for name, sheet in engine.features.items() if sheet.new or sheet.wear}
    fitted = {name: sheet for name, sheet in limited.items() if KINDS[sheet.kind].fitted}
    return [BuildStep(measure=name) for name, sheet in fitted.items() if not stayed(name, sheet)]


class _Between(Struct):
    """Puts what no page of the sheet names where it can go on.

    What is covered by a later step of the pages goes on as soon as it can: after the last step of what it
    covers itself, with all that is proved there before the next part.  Where it covers nothing of theirs, it
    goes on right before what covers it; what nothing covers comes last, before the last looks.
    """

    engine: Engine
    back: Sequence[str]
    asked: dict[str, list[Place]] = field(default_factory=dict)  # name: the steps that see to it

    def pages(self) -> dict[str, PagePlan]:
        plans = list(self.engine.assemblies.values())
        for at, plan in enumerate(plans):
            for i, step in enumerate(plan.steps):
                for name in self._seen_to(step):
                    self.asked.setdefault(name, []).append((at, i))
        tightened = {step.name for plan in plans for step in plan.steps if step.verb == "tighten"}
        covered = self._covered()
        places: dict[str, Place] = {}
        for name in self.back:
            if name not in self.asked:
                own = self._place(plans, name, covered)
                places[name] = max([own, *(places[one] for one in covered[name] if one in places)])
        found: dict[str, PagePlan] = {}
        for at, (key, plan) in enumerate(self.engine.assemblies.items()):
            steps: list[BuildStep] = []
            for i, typed in enumerate([*plan.steps, None]):
                here = [name for name, place in places.items() if place == (at, i)]
                steps += [step for name in here for step in _fitted(self.engine, name, tightened)]
                steps += [typed] if typed else []
            found[key] = plan.model_copy(update={"steps": steps})
        return found

    def _seen_to(self, step: BuildStep) -> Iterator[str]:
        """What a step of the sheet puts on: to look at a part, or to do anything else with it, does not."""
        if step.verb not in ("fit", "tighten"):
            return
        yield step.name
        if step.verb == "tighten":
            yield from (name for name, joint in self.engine.joints.items() if step.name in joint.fasteners)
        if step.verb == "fit":
            yield from self._put_on(step.name)

    def _put_on(self, part: str) -> Iterator[str]:
        """What goes on with a part: its own part, the one joint that takes it, the one piece that wears."""
        feature = self.engine.features.get(part)
        yield from [feature.part] if feature and feature.part else ()
        joints = [name for name, joint in self.engine.joints.items() if part in joint.needs]
        yield from joints if len(joints) == 1 else ()
        ways = self.engine.access.items()
        took = [name for name, one in ways if any(part in way.uses_up for way in one)]
        yield from took if len(took) == 1 else ()
        # a new cam goes in where lobes are worn, and with new springs no head
        worn = [one for one in self.engine.features.values() if one.replace_with[:1] == [part]]
        filed = Filing(self.engine).heading
        same = filed(part) if worn else OTHER.code
        parts = {one.part for one in worn if one.part and filed(one.part) == same != OTHER.code}
        yield from parts if len(parts) == 1 else ()

    def _covered(self) -> dict[str, set[str]]:
        """Of each thing all that it covers: what could not have come off before it."""
        table = self.engine.table()
        behind: dict[str, set[str]] = {}
        off: set[str] = set()
        for name in reversed(self.back):
            ways = [{*way.first, *way.state} for way in table.get(name, ())]
            first = min(ways, key=lambda names: len(names - off), default=set())
            for one in [*first]:
                first |= {*table[one][0].first} if one in self.engine.states else set()
            for one in first:
                behind.setdefault(one, set()).add(name)
            off.add(name)
        for name in self.back:  # what is behind goes on first: its own set is whole by then
            more = [behind.get(one, set()) for one in behind.get(name, ())]
            behind[name] = behind.get(name, set()).union(*more)
        return behind

    def _place(self, plans: Sequence[PagePlan], name: str, covered: Mapping[str, set[str]]) -> Place:
        covers = [place for one in covered[name] for place in self.asked.get(one, ())]
        above = [self.asked[one][0] for one in self.asked if name in covered.get(one, ())]
        if not above:  # behind the last thing that a page puts on; what is looked at last comes after it
            put_on = [i for i, step in enumerate(plans[-1].steps, 1) if step.verb in ("fit", "tighten")]
            return len(plans) - 1, max(put_on, default=0)
        if not covers:
            return min(above)
        page, step = max(covers)
        later = [i for i in range(step + 1, len(plans[page].steps)) if plans[page].steps[i].verb == "fit"]
        return min((page, later[0] if later else len(plans[page].steps)), min(above))
