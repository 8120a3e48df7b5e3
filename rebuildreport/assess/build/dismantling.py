"""The teardown sheet: in which order it comes apart, what to look for, what was found.

Comes in: the engine's sheet and teardown.yaml.  Goes out: a ``Dismantling``.  Knows no reading of a round.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, present
from ...records import JobFolder
from ...records.files.buildplan import AccessWay, Fastener
from ...records.files.jobfile import Teardown
from ...records.files.sheet import Engine
from ...records.files.teardown import AsFound, Identity, MarkRecord, TeardownStep
from ...trade.access.takedown import came_off, first_off, takedown
from ...trade.engine.cautions import FIRST, cautions_for
from ..access.pricing import in_hours
from ..measure.titles import bolts_title, titled
from ..model.accessplan import AccessPlan
from ..model.bench import BoltsOff, Dismantling, TakeLine
from ..telling.jobfacts import engine_facts, mark_said
from .teardown_register import fasteners_entry, identity_entry, mark_line, register

MOST_BOXES = 18  # bolts of a group whose breakaway is asked for one by one: two rows of boxes and a half


def dismantling(engine: Engine, job: JobFolder, access: AccessPlan | None = None) -> Dismantling:
    """What is off, in the order done, then what is to come off: by the plan, else all that can."""
    teardown = job.written_teardown
    done = dict.fromkeys(step.removed for step in teardown.steps)
    if not (engine.joints or engine.access or done):
        return Dismantling()
    order, never = takedown([*_without(engine.joints, engine.access), *engine.access], engine.ways)
    unnoted = _without(came_off([*done], engine.ways), done)
    wanted = (access and access.names) or order
    if job.record.arrival.only:
        # the engine is elsewhere: of what is on a part that came alone the sheet knows nothing
        order, wanted = (), ()
    to_do = _without(wanted, [*done, *unnoted])
    things: list[tuple[str, TeardownStep | None]] = [(step.removed, step) for step in teardown.steps]
    things += [(name, None) for name in to_do]
    sheet = _TeardownSheet(engine, teardown, [name for name, _ in things], job.teardown is not None, access)
    return Dismantling(
        lines=tuple(sheet.line(name, step) for name, step in things),
        left=tuple(map(titled, _without(order, [*done, *to_do, *unnoted, *job.record.arrival.absent]))),
        unnoted=tuple(map(titled, unnoted)),
        never=tuple(map(titled, _without(never, done))),
        begun=sheet.begun,
        cautions=(FIRST, *sheet.nature.apart),
        elsewhere=tuple(sheet.elsewhere()),
        seen=tuple(_seen(job)),
    )


def _without(names: Iterable[str], others: Collection[str]) -> list[str]:
    return [name for name in names if name not in others]


class _TeardownSheet:
    """Writes line after line, and remembers what stands on one already."""

    def __init__(
        self, engine: Engine, teardown: Teardown, names: Sequence[str], begun: bool, access: AccessPlan | None
    ) -> None:
        self.engine, self.teardown, self.begun = engine, teardown, begun
        self.planned = {step.name: step for step in access.steps} if access else {}
        self.nature = engine_facts(engine.model, engine).nature
        known = {word for mark in teardown.marks for word in (mark.where, mark.joint)}
        self.expected = _placed(_looked_for(engine, known), names)
        # which way round the build sheet fits things
        steps = [step for page in engine.assemblies.values() for step in page.steps]
        self.fitted = [step for step in steps if step.verb == "fit" and step.orientation]
        self.off: list[str] = []
        self.placed: set[str] = set()  # names and groups whose marks, bolts and parts stand at a line already

    def line(self, name: str, step: TeardownStep | None) -> TakeLine:
        """One thing to take off, or taken off; what came off twice has its marks and bolts once."""
        joint = self.engine.joints.get(name)
        groups = list(joint.fasteners) if joint else []
        # the way that is gone: the first of the sheet's with the least left on it
        ways = self.engine.access.get(name) or [AccessWay()]
        way = min(ways, key=lambda way: sum(word not in self.off for word in way.first))
        takes = in_hours(way.hours) if way.hours else None
        if name in self.planned:
            takes = self.planned[name].hours
        line = TakeLine(
            number=len(self.off) + 1,
            name=name,
            title=titled(name),
            first=tuple(titled(other) for other in first_off(name, self.engine.ways, self.off)),
            marks=(),
            expected=(),
            ways=tuple(step.orientation for step in self.fitted if step.name == name),
            bolts=(),
            cautions=tuple(caution.text for caution in cautions_for("take", name, self.nature)),
            done=step is not None,
            driven=_driven(name, self.expected.get(name, ())),
            note=step.note if step else "",
            photos=tuple(self._photos(name, groups, step)),
            states=tuple(self.engine.states[name].text for name in way.state if name in self.engine.states),
            tools=tuple(way.tools),
            takes=takes,
            took=in_hours(step.hours) if step and step.hours else None,
        )
        if name not in self.off:
            line = replace(
                line,
                marks=tuple(_mark(mark) for mark in self.teardown.marks if mark.joint == name),
                expected=self.expected.get(name, ()),
                bolts=tuple(self._bolts(group) for group in groups),
                found=tuple(self._found(name, groups)),
            )
        self.off.append(name)
        self.placed |= {name, *groups}
        return line

    def elsewhere(self) -> Iterator[Text]:
        """Marks, bolts and parts of the record that belong to no line of the sheet."""
        yield from (_mark(mark) for mark in self.teardown.marks if mark.joint not in self.placed)
        for bolts in self.teardown.fasteners_as_found:
            if not _belongs(bolts, self.placed):
                yield _as_found(bolts) or Typed(bolts.where.replace("_", " "))
        yield from (_identity(part) for part in self.teardown.identity if part.joint not in self.placed)

    def _bolts(self, name: str) -> BoltsOff:
        group = self.engine.fasteners.get(name)
        if group is None:
            return BoltsOff(titled(name), NOTHING, *self._let_go(name))
        count = Sentence("{count} of them", count=group.quantity)
        if group.thread:
            count = Sentence("{count} × {thread}", count=group.quantity, thread=Figure(group.thread))
        title = bolts_title(self.engine, name)
        if self.begun:
            return BoltsOff(title, count, *self._let_go(name))
        asked = group.quantity if group.quantity <= MOST_BOXES else 0
        blank = tuple((str(place), "") for place in range(1, asked + 1))
        return BoltsOff(title, Several([count, *_beforehand(group)], "; "), "", blank)

    def _let_go(self, name: str) -> tuple[str, tuple[tuple[str, str], ...]]:
        """Unit and breakaway at each place as typed."""
        read = [bolts for bolts in self.teardown.fasteners_as_found if _belongs(bolts, [name])]
        unit = next((bolts.unit for bolts in read if bolts.readings), "")
        return unit, tuple(pair for bolts in read for pair in bolts.readings.items())

    def _found(self, name: str, groups: Sequence[str]) -> Iterator[Text]:
        """What the register holds of this thing: its bolts, which part was which."""
        for bolts in self.teardown.fasteners_as_found:
            if _belongs(bolts, (name, *groups)) and (said := _as_found(bolts)):
                yield said
        yield from (_identity(part) for part in self.teardown.identity if part.joint == name)

    def _photos(self, name: str, groups: Sequence[str], step: TeardownStep | None) -> dict[str, None]:
        """Pictures of the step, and of the marks, bolts and parts that belong to it; each once."""
        teardown = self.teardown
        named: list[str | None] = [*step.photos] if step else []
        named += [mark.photo for mark in teardown.marks if mark.joint == name]
        named += [part.photo for part in teardown.identity if part.joint == name]
        named += [b.photo for b in teardown.fasteners_as_found if _belongs(b, (name, *groups))]
        return dict.fromkeys(photo for photo in named if photo)


# proposes a box to write into, no more
DRIVES = {"chain", "belt", "tensioner", "kette", "steuerkette", "riemen", "zahnriemen", "spanner"}


def _driven(name: str, marks: Sequence[str]) -> bool:
    """Whether a thing to take off, or a mark to look for there, is named for a chain or a belt."""
    words = re.findall(r"[^\W_]+", " ".join((name, *marks)).casefold())
    return not DRIVES.isdisjoint(words)


def _seen(job: JobFolder) -> Iterator[tuple[Text, Text]]:
    """Tensioners, guides, seals, fluids and earlier work of the register: whose, and what was seen."""
    for entry in register(job).entries:
        if entry.kind == "earlier work":
            yield Sentence("Earlier work"), present([Typed(entry.where), entry.text], " ")
        elif entry.kind not in ("fasteners", "identity"):
            yield Typed(entry.where), entry.text


def _looked_for(engine: Engine, known: Collection[str | None]) -> dict[str, tuple[str, ...]]:
    """Marks that the build sheet will ask for and the register lacks, at what goes on just before them.

    That is the joint which a part belongs to, where the build sheet names a part.
    """
    joint_of = {part: name for name, joint in engine.joints.items() for part in joint.needs}
    wanted: dict[str, tuple[str, ...]] = {}
    for page in engine.assemblies.values():
        last = ""
        for step in page.steps:
            if step.verb == "fit":
                last = joint_of.get(step.name, step.name)
            elif step.verb == "mark" and step.name not in known:
                wanted[last] = (*wanted.get(last, ()), step.text or step.name)
    return wanted


def _placed(wanted: dict[str, tuple[str, ...]], names: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """The same at things that come off: what has no such place goes to the one it names, else to the first.

    The words only propose where to look: a mark that is looked for too late is one that has moved.
    """
    placed = {name: marks for name, marks in wanted.items() if name in names}
    homeless = [mark for name, marks in wanted.items() if name not in names for mark in marks]
    for mark in homeless if names else ():
        words = set(re.findall(r"\w{4,}", mark.casefold()))  # shorter ones are 'and', 'to', 'No'
        named = (name for name in names if words & set(name.casefold().split("_")))
        place = next(named, names[0])
        placed[place] = (*placed.get(place, ()), mark)
    return placed


def _belongs(bolts: AsFound, names: Collection[str]) -> bool:
    """Whether fasteners belong to a thing or a group; 'rod_bolts R3' are rod bolts."""
    return bolts.where in names or bolts.group in names


def _beforehand(group: Fastener) -> Iterator[Text]:
    """What whoever lets them go should know."""
    if group.quantity > 2 and (group.order or group.sequence):
        yield Sentence("let go in the reverse of the order of tightening, in several rounds")
    if group.reuse == "never":
        yield Sentence("not used again, and yet kept until the engine runs")
    if group.reuse == "by_measure":
        yield Sentence("length to be measured before any is used again")


def _mark(mark: MarkRecord) -> Text:
    return Sentence("{where}: {what}", where=mark.where, what=mark_said(mark_line(mark)))


def _identity(part: Identity) -> Text:
    entry = identity_entry(part)
    return Sentence(
        "{where}: {what}", where=entry.where, what=present([entry.text, Typed(entry.orientation)])
    )


def _as_found(bolts: AsFound) -> Text:
    """What was seen of bolts; nothing where only their breakaway was read, which has a table."""
    entry = fasteners_entry(bolts)
    return Sentence("{where}: {what}", where=entry.where, what=entry.text) if entry.text else NOTHING
