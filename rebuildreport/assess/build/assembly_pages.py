"""The build sheet: pages in order, each line with its part, mark, stages, check, and whether it is done.

Nothing unsigned is called done, and nothing that lacks its value or is out of its limits either.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ...quantities import Sentence, Text
from ...records import JobFolder
from ...records.files.assembly import Assembly
from ...records.files.buildplan import CLOSING, STAND_IN, BuildStep
from ...records.files.buildplan import BuildPagePlan as PagePlan
from ...records.files.sheet import Engine
from ...trade.engine.access import came_off
from ...trade.engine.cautions import FIRST, caution, cautions_for, reminder
from ...trade.kinds import KINDS
from ..measure.judging import source_text
from ..model.assessment import Characteristic, Deviation
from ..model.bench import Build, BuildLine, BuildPage, Chosen, Departure, MarkLine
from ..model.bolting import Fastening, Signed
from ..model.choice import Choice
from .fastening import fastenings
from .linestate import LineStates
from .parts_by_place import Choosing
from .teardown_register import mark_line

LEFT_OVER = "Marks and holds that no page calls"


def build(
    engine: Engine,
    job: JobFolder,
    found: list[Characteristic],
    deviations: tuple[Deviation, ...],
    needs: Mapping[str, tuple[int, tuple[str, ...]]],
    in_apart: frozenset[str],
    choices: Sequence[Choice] = (),
) -> Build:
    """The whole sheet; without pages of the engine's sheet others stand in, by the teardown.

    ``needs``: part number: how many on the parts list, and for which positions (none: all);
    ``in_apart``: names of the rounds read since the engine was apart.
    """
    assembly = job.assembly or Assembly()
    plan = dict(engine.assemblies) or _stand_in(engine, job)
    marks = [mark_line(one) for one in (job.teardown.marks if job.teardown else [])]
    if not plan and not marks:
        return Build()
    bolts = fastenings(engine, job, needs)
    states = LineStates(engine, assembly, found, deviations, in_apart, bolts, _sizes(engine, job))
    marks = [states.brought(one) for one in marks]
    choosing = Choosing(engine, job, needs, found, deviations, choices)
    pages = _Pages(engine, job, states, choosing, marks).all(plan)
    records = assembly.model_fields_set
    return Build(
        pages=tuple(pages),
        fastenings=bolts,
        marks=tuple(marks),
        departures=tuple(
            Departure(key, one.about, one.what, one.why, one.signed, one.date)
            for key, one in assembly.deviations.items()
        ),
        from_sheet=bool(engine.assemblies),
        begun=bool(records) and job.assembly is not None,
        cautions=(FIRST,),
        unlisted=tuple(_unlisted(engine, pages, bolts, needs)),
    )


def _unlisted(
    engine: Engine,
    pages: Sequence[BuildPage],
    bolts: Sequence[Fastening],
    needs: Mapping[str, tuple[int, tuple[str, ...]]],
) -> Iterator[Chosen]:
    """Parts bought for this engine that no line of any page takes."""
    lines = [line for page in pages for line in page.lines]
    taken = {part.part for line in lines for part in line.parts}
    tightened = {line.name for line in lines if line.verb == "tighten"}
    taken |= {group.part for group in bolts if group.name in tightened}
    for part, (count, _) in needs.items():
        if count and part not in taken:
            sheet = engine.parts.get(part)
            yield Chosen(part, sheet.name if sheet else part, new=True, count=count)


def _sizes(engine: Engine, job: JobFolder) -> dict[tuple[str, str], str]:
    """Size steps decided, by feature and position; the newest decision counts."""
    decisions = sorted(job.work.decisions.values(), key=lambda one: one.date) if job.work else []
    return {
        (one.about, position): one.size
        for one in decisions
        if one.size and one.about in engine.features
        for position in one.positions or engine.features[one.about].positions or ()
    }


def _stand_in(engine: Engine, job: JobFolder) -> dict[str, PagePlan]:
    """Pages where the sheet has none: the teardown turned round, the fits to prove, the last looks.

    What was taken off last goes on first, with what had to be off before it; a joint's bolts right after it.
    """
    teardown = job.teardown
    off = came_off([step.removed for step in teardown.steps], engine.access) if teardown else ()
    if not off:
        return {}
    steps: list[BuildStep] = []
    for name in reversed(off):
        steps.append(BuildStep(fit=name))
        joint = engine.joints.get(name)
        steps += [BuildStep(tighten=group) for group in (joint.fasteners if joint else [])]
    fits = [
        BuildStep(measure=name)
        for name, feature in engine.features.items()
        if feature.kind in KINDS and KINDS[feature.kind].fitted and (feature.new or feature.wear)
    ]
    pages = (
        PagePlan(
            title=Sentence("Assembly, the teardown turned round"),
            steps=[one for one in steps if _known(one, engine)],
        ),
        PagePlan(
            title=Sentence("Fits, each before the next part covers it"),
            steps=fits,
        ),
        PagePlan(title=Sentence("Before the first start"), steps=CLOSING.steps),
    )
    return {name: page for name, page in zip(STAND_IN, pages, strict=True) if page.steps}


# what a stand-in page asks for, by the name of its step
LAST_LOOKS = {
    "two_turns": Sentence("Two full turns of the crankshaft by hand, marks met again, no contact"),
    "nothing_left": Sentence("Tools, rags and left-over parts counted"),
    "ready_to_start": Sentence("Engine may be started"),
}


def _known(step: BuildStep, engine: Engine) -> bool:
    return step.verb != "tighten" or step.name in engine.fasteners


class _Pages:
    """Turns the plan into lines, calling back every mark and every identity once."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        states: LineStates,
        choosing: Choosing,
        marks: list[MarkLine],
    ) -> None:
        self.engine, self.job = engine, job
        self.states, self.choosing, self.marks = states, choosing, marks
        self.called: set[str] = set()
        self.identity = list(job.teardown.identity) if job.teardown else []
        self.later: set[str] = set()  # marks that a step of their own calls

    def all(self, plan: Mapping[str, PagePlan]) -> list[BuildPage]:
        pages = []
        own = {step.name for page in plan.values() for step in page.steps if step.verb == "mark"}
        self.later = {one.where for one in self.marks if own & {one.where, one.joint}}
        for number, (name, page) in enumerate(plan.items(), 1):
            signed = self.states.page(name)
            lines: list[BuildLine] = []
            for step in page.steps:
                lines += self._lines(step, signed)
            lines = _held_up(number, lines)
            title = Sentence(page.title or name.replace("_", " ").capitalize())
            pages.append(BuildPage(name, title, tuple(page.before), _numbered(number, lines), signed))
        left = [self._mark(one) for one in self.marks if one.where not in self.called]
        known = {step.name for page in plan.values() for step in page.steps if step.verb == "hold"}
        left += self.states.further_holds(known)
        if left:
            number = len(pages) + 1
            pages.append(BuildPage("further", LEFT_OVER, (), _numbered(number, left)))
        return pages

    def _lines(self, step: BuildStep, page: Signed | None) -> list[BuildLine]:
        if step.verb == "mark":
            wanted = [one for one in self.marks if step.name in (one.where, one.joint)]
            lines = [self._mark(one, step) for one in wanted if one.where not in self.called]
            self.called |= {one.where for one in wanted}
            return lines or [self._missing_mark(step, page)]
        line = self._line(step, page)
        if step.verb != "fit":
            return [line]
        passed = self.called | self.later
        here = [one for one in self.marks if one.joint == step.name and one.where not in passed]
        self.called |= {one.where for one in here}
        return [line, *(self._mark(one) for one in here)]

    def _line(self, step: BuildStep, page: Signed | None) -> BuildLine:
        line = BuildLine(
            number="",
            verb=step.verb,
            name=step.name,
            title=step.text or self._title(step),
            positions=tuple(step.positions),
            orientation=tuple(self._orientation(step)),
            lubricant=step.lubricant or "",
            sealant=step.sealant or "",
            source=source_text(self.engine, step.source) if step.source else "",
            cautions=tuple(self._cautions(step)),
            cautioned=bool(step.caution),
        )
        if step.verb == "fit":
            line = replace(line, parts=self.choosing.of(step.name, step.positions))
        return self.states.line(line, step, page)

    def _title(self, step: BuildStep) -> Text:
        words = step.name.replace("_", " ")
        if not self.engine.assemblies and step.verb in ("check", "hold") and step.name in LAST_LOOKS:
            return LAST_LOOKS[step.name]
        if step.verb in ("measure", "fit") and step.name in self.engine.features:
            return Sentence(self.engine.features[step.name].title or words.capitalize())
        if step.verb == "fit" and step.name in self.engine.parts:
            words = self.engine.parts[step.name].name
        if step.verb == "tighten":
            group = self.engine.fasteners.get(step.name)
            return Sentence((group.title if group else None) or words.capitalize())
        return words[:1].upper() + words[1:]

    def _orientation(self, step: BuildStep) -> list[str]:
        """The sheet's words, and what was noted of these parts when they came off."""
        said = [step.orientation] if step.orientation else []
        if step.verb != "fit":
            return said
        for one in self.identity:
            if one.joint == step.name:
                marks = [one.shop_mark or (one.mark if one.mark != "none" else ""), one.orientation or ""]
                said.append(f"{one.part}: {', '.join(mark for mark in marks if mark) or 'no mark'}")
        return said

    def _cautions(self, step: BuildStep) -> list[str]:
        own = [caution(step.caution)] if step.caution else []
        return list(dict.fromkeys([*own, *cautions_for(step.verb, f"{step.name} {step.text or ''}")]))

    def _mark(self, one: MarkLine, step: BuildStep | None = None) -> BuildLine:
        own = [caution(step.caution)] if step is not None and step.caution else []
        return BuildLine(
            number="",
            verb="mark",
            name=one.where,
            title=(step.text if step is not None else None) or one.where[:1].upper() + one.where[1:],
            mark=one,
            found=one.found,
            state=one.state,
            state_text=one.state_text,
            signed=one.signed,
            cautions=tuple(dict.fromkeys([*own, *cautions_for("mark", "turn")])),
            cautioned=bool(own),
        )

    def _missing_mark(self, step: BuildStep, page: Signed | None) -> BuildLine:
        title = step.text or step.name[:1].upper() + step.name[1:]
        note = "no line of the register: find the timing by the maker's information, not by eye"
        line = BuildLine(number="", verb="mark", name=step.name, title=title, notes=(note,))
        own = [caution(step.caution)] if step.caution else []
        said = tuple(dict.fromkeys([*own, *cautions_for("mark", "turn")]))
        return self.states.line(replace(line, cautions=said, cautioned=bool(own)), step, page)


def _held_up(page: int, lines: list[BuildLine]) -> list[BuildLine]:
    """A hold point is not passed while a line before it is not done, whoever has signed it."""
    left: list[str] = []
    found = []
    for n, line in enumerate(lines, 1):
        if line.hold and line.state == "done" and left and not line.deviations:
            text = Sentence("signed with {lines} not done", lines=", ".join(left))
            line = replace(line, state="not signed", state_text=text)
        elif line.state != "done" and not line.hold:
            left.append(f"{page}.{n}")
        found.append(line)
    return found


def _numbered(page: int, lines: list[BuildLine]) -> tuple[BuildLine, ...]:
    """Lines with their numbers; a caution stands in full where it first applies on a page.

    One that the sheet itself asks for at a later step stands there again, in short.
    """
    said: dict[str, str] = {}
    found = []
    for n, line in enumerate(lines, 1):
        number = f"{page}.{n}"
        own = line.cautions[:1] if line.cautioned else ()
        again = tuple(reminder(text, said[text]) for text in own if text in said)
        cautions = (*again, *(text for text in line.cautions if text not in said))
        said |= {text: number for text in line.cautions if text not in said}
        found.append(replace(line, number=number, cautions=cautions))
    return tuple(found)
