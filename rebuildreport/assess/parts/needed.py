"""One part of the derived list while it is being gathered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import Decimal

from msgspec import Struct, field

from ...quantities import NOTHING, Sentence, Several, Text, Typed, amid, message
from ...records import JobFolder
from ...records.files.sheet import Engine
from ..measure.standing import positions_of
from ..measure.timeline import Timeline
from ..measure.titles import feature_title
from ..model.keys import ValueKey

Ground = str | ValueKey  # a finding or a decision that asks for a part, or a value that does


class Need(Struct):
    """One part of the list while it is being gathered."""

    part: str
    name: Text = NOTHING  # where it is no part of the sheet: a candidate, or what is still to be chosen
    price: Decimal | None = None  # of a candidate: what it costs itself
    always: int = 0  # of every rebuild: whatever else asks for them at their places asks for these
    renewed: int = 0  # bolts that are used once only: whatever else asks for one asks for one of these
    count: int = 0  # asked for as a number, beside them
    positions: list[str] = field(default_factory=list)  # asked for by position: each once
    places: dict[str, list[str]] = field(default_factory=dict)  # position: features that ask for it there
    each: bool = False  # one for each feature that asks: the springs of C1's two valves
    reasons: dict[Text, list[Text]] = field(default_factory=dict)  # what: where
    grounds: list[Ground] = field(default_factory=list)
    whole: bool = False  # a set: one for the engine, whatever asks for it

    @property
    def because(self) -> tuple[Text, ...]:
        """Why the line is there, one phrase a reason."""
        return tuple(
            Sentence("{why}: {where}", why=why, where=Several(where)) if where else why
            for why, where in self.reasons.items()
        )

    def quantity(self, per_engine: bool) -> int:
        """How many to buy: one for the engine, or each position once plus what was asked by number.

        >>> Need("LK", positions=["C1", "C2", "R2"]).quantity(per_engine=False)
        2
        >>> Need("PIN", positions=["R2"], places={"R2": ["small_ends"]}, each=True).quantity(per_engine=False)
        1
        >>> Need("OIL", always=5).quantity(per_engine=True)
        5
        """
        if per_engine or self.whole:
            return max(self.always, 1)  # one whatever asks for it, but five litres are five litres
        once = dict.fromkeys(map(_of_cylinder, self.positions), 1)
        if self.each:
            asking = Counter[str]()
            for position, features in self.places.items():
                asking[_of_cylinder(position)] += len(features)
            once |= asking
        return max(sum(once.values()), self.always, self.renewed) + self.count


def _of_cylinder(position: str) -> str:
    """What rod 2 carries is cylinder 2's: a kit with liner and pin, asked for at C2 and R2, is one."""
    return f"C{position[1:]}" if position[:1] == "R" and position[1:].isdigit() else position


def takes_its_place(engine: Engine, feature: str) -> list[str]:
    """Parts bought for what is measured there; of bolts that their length decides about, a new bolt."""
    sheet = engine.features.get(feature)
    if sheet is None:
        return []
    if sheet.replace_with:
        return list(sheet.replace_with)
    groups = engine.fasteners.values()
    return [one.part for one in groups if one.reuse == "by_measure" and one.measure == feature]


def own_places(engine: Engine, feature: str) -> list[str]:
    """The positions of a feature, or of the surfaces that it joins; none of a part that is no feature."""
    return list(positions_of(engine, feature)) if feature in engine.features else []


def bolts_renewed(engine: Engine, group: str, positions: list[str]) -> tuple[str, list[str], int]:
    """What renewing a group of bolts buys: its part, the places that are known, else how many.

    Nothing where the group is used once only: new ones are on the list already.
    """
    bolts = engine.fasteners[group]
    if bolts.reuse == "never":
        return bolts.part, [], 0
    measured = engine.features.get(bolts.measure)
    places = positions or (list(measured.positions) if measured else [])
    return bolts.part, places, 0 if places else bolts.quantity


def made_or_found(
    engine: Engine, job: JobFolder, timeline: Timeline
) -> Iterator[tuple[str, Text, Text, list[str]]]:
    """Parts that are not there, at a price that nobody knows yet: key, reason, name, findings of the same.

    What a finding of the same place buys, or work by others that is written for it, is on the list already.
    """
    work = job.written_work
    paid = {name for line in work.sublet for name in line.for_}
    paid |= {name for line in work.parts for name in line.for_}
    paid |= {name for name, finding in job.seen.items() if finding.needs}
    for one in job.written_teardown.missing:
        if one.feature not in engine.features:
            continue  # reported where it is written
        spots = {(one.feature, position) for position in one.positions}
        if any(spots & {*timeline.spots(d.about, d.positions)} for d in job.decisions.values()):
            continue  # somebody has decided what is done: its price stands there
        about = [(name, timeline.spots(seen.component, seen.positions)) for name, seen in job.seen.items()]
        same = [name for name, places in about if spots & {*places}]
        if paid & {*same}:
            continue
        where = ", ".join(one.positions)
        made = Sentence("one to be made, and its bore machined with it")
        remedy = Typed(one.remedy) if one.remedy else made
        name = Sentence("{what}: {done}", what=f"{one.what} {where}", done=remedy)
        title = amid(feature_title(engine, one.feature))
        why = Sentence("missing: {what} cannot be measured", what=title)
        yield f"missing {one.what} {where}", why, name, same


def counted_once(engine: Engine, needs: Iterable[Need]) -> Iterator[Text]:
    """One position, two features of a kind: the intake and the exhaust spring of C1 are two springs."""
    words = message(
        "{part} {position}: wanted for {features}, and counted once; write 'per: each' at "
        "{number} in the engine's sheet if these are two"
    )
    for need in needs:
        part = engine.parts.get(need.part)
        if need.each or need.whole or part is None or part.per == "engine":
            continue
        name = part.name[:1].upper() + part.name[1:]
        for position, features in need.places.items():
            kinds = [engine.features[one].kind for one in features]
            twice = [one for one in features if kinds.count(engine.features[one].kind) > 1]
            titles = Several([amid(feature_title(engine, one)) for one in twice], last=message("and"))
            if twice:
                yield Sentence(words, part=name, position=position, features=titles, number=need.part)
