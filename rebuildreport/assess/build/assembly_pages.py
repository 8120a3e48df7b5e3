"""The build sheet: pages in order, each line with its part, mark, stages, check, and whether it is done.

Comes in: the sheet's pages or the teardown, assembly.yaml, the values.  Goes out: a ``Build``.
Nothing unsigned is called done, and nothing that lacks its value or is out of its limits either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, message, present
from ...records import JobFolder
from ...records.files.buildplan import BuildPagePlan as PagePlan
from ...records.files.buildplan import BuildStep
from ...records.files.sheet import Engine
from ...trade.engine.cautions import FIRST, Caution, Nature, caution, cautions_for
from ..measure.judging import source_text
from ..measure.timeline import Timeline
from ..measure.titles import bolts_title, component_title, feature_title, headed, titled
from ..model.assessment import Characteristic, Deviation
from ..model.bench import Build, BuildLine, BuildPage, Chosen, Departure, MarkLine
from ..model.bolting import Fastening, Signed
from ..model.choice import Choice
from ..model.edition import copied, signer
from ..money.estimate_lines import everything_in
from ..telling.jobfacts import engine_facts
from .fastening import Needs, fastenings
from .linestate import LineStates
from .page_plans import page_plans
from .parts_by_place import Choosing
from .teardown_register import mark_line

NO_MARK = message("no line of the register: find the timing by the maker's information, not by eye")
Asked = tuple[BuildLine, BuildStep | None]  # a line, and the step of the sheet that asks for it by name


def build(
    engine: Engine,
    job: JobFolder,
    characteristics: list[Characteristic],
    deviations: tuple[Deviation, ...],
    needs: Needs,
    in_apart: frozenset[str],
    choices: Sequence[Choice],
    timeline: Timeline,
    planned: Sequence[str] = (),
) -> Build:
    """The whole sheet, by the pages of the engine's sheet or what stands in for them.

    ``needs``: part number: how many on the parts list, and for which positions (none: all);
    ``in_apart``: names of the rounds read since the engine was apart.
    """
    assembly = job.written_assembly
    plan = page_plans(engine, job, planned)
    marks = [mark_line(mark) for mark in job.written_teardown.marks]
    if not plan and not marks:
        return Build()
    bolts = fastenings(engine, job, needs)
    states = LineStates(engine, assembly, characteristics, deviations, in_apart, bolts, timeline)
    marks = [states.brought(mark) for mark in marks]
    choosing = Choosing(engine, job, needs, characteristics, deviations, choices)
    pages = tuple(_Pages(engine, job, states, choosing, marks, plan).all())
    return Build(
        pages=pages,
        fastenings=bolts,
        marks=tuple(marks),
        departures=tuple(
            copied(
                Departure, made, id=key, about=component_title(engine, made.about), signed=signer(made.signed)
            )
            for key, made in assembly.deviations.items()
        ),
        from_sheet=bool(engine.assemblies),
        begun=bool(assembly.model_fields_set),
        cautions=(FIRST,),
        unlisted=tuple(_unlisted(choosing, pages, bolts, needs)),
    )


def _unlisted(
    choosing: Choosing, pages: Sequence[BuildPage], bolts: Sequence[Fastening], needs: Needs
) -> Iterator[Chosen]:
    """Parts bought for this engine that no line of any page takes."""
    parts = {group.name: group.part for group in bolts}
    taken: set[str] = set()
    for line in (line for page in pages for line in page.lines):
        taken |= {parts.get(line.fastening, ""), *(part.part for part in line.parts)}
    for part, (count, _) in needs.items():
        if count and taken.isdisjoint((part, *everything_in(choosing.engine, part))):
            yield choosing.part(part, ())


# titles of the pages that stand in
STOOD_IN = message(
    {
        "assembly": "Assembly, in the reverse order of the teardown",
        "fits": "Fits, each before the next part covers it",
        "closing": "Before the first start",
    }
)


class _Pages:
    """Turns the plan into lines, calling back every mark and every identity once."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        states: LineStates,
        choosing: Choosing,
        marks: Sequence[MarkLine],
        plan: Mapping[str, PagePlan],
    ) -> None:
        self.engine, self.states, self.choosing, self.marks, self.plan = engine, states, choosing, marks, plan
        self.nature = engine_facts(engine.model, engine, job).nature
        self.identity = list(job.written_teardown.identity)
        self.called: set[str] = set()
        by_name = {step.name for page in plan.values() for step in page.steps if step.verb == "mark"}
        self.later = {mark.where for mark in marks if by_name & {mark.where, mark.joint}}

    def all(self) -> Iterator[BuildPage]:
        """The pages in order; what none of them calls stands before the last, which lets the engine start."""
        asked = {name: self._asked(name, page) for name, page in self.plan.items()}
        titles = {name: self._page_title(name) for name in asked}
        left: list[Asked] = [(_mark(mark), None) for mark in self.marks if mark.where not in self.called]
        holds = [step for page in self.plan.values() for step in page.steps if step.verb == "hold"]
        left += [(line, None) for line in self.states.further_holds(holds)]
        names = list(asked)
        if left:
            names.insert(len(names) - 1 or 1, "further")  # behind a page that is the only one
            asked["further"], titles["further"] = left, Sentence("Marks and holds of no other page")
        for number, name in enumerate(names, 1):
            page = self.plan.get(name)
            lines = _numbered(number, _held_up(number, asked[name]), self.nature)
            yield BuildPage(
                name, titles[name], tuple(page.before) if page else (), lines, self.states.page(name)
            )

    def _asked(self, name: str, page: PagePlan) -> list[Asked]:
        signed = self.states.page(name)
        return [line for step in page.steps for line in self._lines(step, signed)]

    def _page_title(self, name: str) -> Text:
        return headed(self.plan[name].title, name) if self.engine.assemblies else Sentence(STOOD_IN[name])

    def _lines(self, step: BuildStep, page: Signed | None) -> list[Asked]:
        """The lines of one step; a mark that no step calls by name stands behind the joint it belongs to."""
        if step.verb == "mark":
            marks = self._call(lambda mark: step.name in (mark.where, mark.joint))
            text, notes = Typed(step.text or step.name), (Sentence(NO_MARK),)
            none = self.states.line(BuildLine("", "mark", step.name, text, notes=notes), step, page)
            return [(line, step) for line in [_mark(mark, step.text) for mark in marks] or [none]]
        line = self._line(step, page)
        if step.verb != "fit":
            return [(line, step)]
        here = self._call(lambda mark: mark.joint == step.name and mark.where not in self.later)
        return [(line, step), *((_mark(mark), None) for mark in here)]

    def _call(self, wanted: Callable[[MarkLine], bool]) -> list[MarkLine]:
        """Marks that are called here for the first time."""
        called = [mark for mark in self.marks if mark.where not in self.called and wanted(mark)]
        self.called |= {mark.where for mark in called}
        return called

    def _line(self, step: BuildStep, page: Signed | None) -> BuildLine:
        line = BuildLine(
            number="",
            verb=step.verb,
            name=step.name,
            title=self._title(step),
            positions=tuple(step.positions),
            parts=self.choosing.parts_of(step.name, step.positions) if step.verb == "fit" else (),
            orientation=tuple(self._orientation(step)),
            lubricant=step.lubricant,
            sealant=step.sealant,
            source=source_text(self.engine, step.source) if step.source else NOTHING,
            notes=tuple(self._cut(step)) if step.verb == "fit" else (),
        )
        return self.states.line(line, step, page)

    def _cut(self, step: BuildStep) -> Iterator[Text]:
        """What a cut asks for in a V, where a manifold lies between the heads (common practice)."""
        for decision in self.choosing.decisions if self.engine.layout.rows == "v" else ():
            about = self.engine.features.get(decision.about)
            if decision.remove and about is not None and about.part == step.name:
                words = message("cut by {amount}: match the intake faces before the manifold goes on")
                yield Sentence(words, amount=Figure(decision.remove))

    def _title(self, step: BuildStep) -> Text:
        if step.text:
            # words of a page that stands in are ours, and other languages have them
            return Typed(step.text) if self.engine.assemblies else Sentence(step.text)
        if step.verb == "fit" and step.name in {*self.engine.access, *self.engine.joints}:
            return titled(step.name)  # as the teardown sheet names what came off: pistons, not their skirts
        if step.verb in ("measure", "fit") and step.name in self.engine.features:
            return feature_title(self.engine, step.name)
        if step.verb == "fit" and step.name in self.engine.parts:
            return Typed(self.engine.parts[step.name].name)
        if step.verb == "tighten":
            return bolts_title(self.engine, step.name)
        return Typed(step.name) if step.verb == "do" else titled(step.name)

    def _orientation(self, step: BuildStep) -> Iterator[Text]:
        """The sheet's words, and what was noted of these parts when they came off."""
        if step.orientation:
            yield Typed(step.orientation)
        for part in self.identity if step.verb == "fit" else ():
            if part.joint == step.name:
                own = part.mark if part.mark != "none" else ""
                known = present([Typed(part.shop_mark or own), Typed(part.orientation)], ", ")
                yield Sentence("{part}: {mark}", part=part.part, mark=known or Sentence("no mark"))


def _mark(mark: MarkLine, text: str | None = None) -> BuildLine:
    title, found = Typed(text or mark.where), Typed(mark.found)
    own = {"name": mark.where, "title": title, "mark": mark, "found": found}
    return copied(BuildLine, mark, number="", verb="mark", **own)


def _held_up(page: int, asked: Sequence[Asked]) -> Iterator[Asked]:
    """A hold point is not passed while a line before it is not done, whoever has signed it."""
    left: list[str] = []
    for number, (line, step) in enumerate(asked, 1):
        if line.hold and line.state == "done" and left and not line.deviations:
            text = Sentence("signed with {lines} not done", lines=Several(left))
            line = replace(line, state="not signed", state_text=text)
        elif line.state != "done" and not line.hold:
            left.append(f"{page}.{number}")
        yield line, step


def _numbered(page: int, asked: Iterable[Asked], nature: Nature) -> tuple[BuildLine, ...]:
    """Lines with their numbers and cautions; a caution stands in full where it first applies on a page.

    One that the sheet itself asks for at a later step stands there again, in short.
    """
    full: dict[Text, str] = {}  # how a caution begins: number of the line where it stands in full
    lines = []
    for index, (line, step) in enumerate(asked, 1):
        number = f"{page}.{index}"
        own = _asked_for(step, nature)
        cautions: list[Text] = []
        for again in own:
            if again.brief in full:
                words = message("{caution}: as at {line}.")
                cautions.append(Sentence(words, caution=again.brief, line=full[again.brief]))
        # whoever brings marks together turns the crank
        said = "turn" if line.verb == "mark" else f"{step.name} {step.text or ''}" if step else None
        for minded in [*own, *(() if said is None else cautions_for(line.verb, said, nature))]:
            if minded.brief not in full:
                full[minded.brief] = number
                cautions.append(minded.text)
        lines.append(replace(line, number=number, cautions=tuple(cautions)))
    return tuple(lines)


def _asked_for(step: BuildStep | None, nature: Nature) -> list[Caution]:
    """What the sheet asks to mind at this step: a usual caution by its word, or words of its own."""
    if step is None or not step.caution:
        return []
    return [caution(step.caution, nature) or Caution(Typed(step.caution))]
