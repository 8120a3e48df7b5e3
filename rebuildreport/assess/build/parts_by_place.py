"""Which part goes where: new ones from the parts list, grades as decided or fitted, the others used again.

Comes in: the parts list, choices, decisions, what was fitted.  Goes out: a ``Chosen`` for each of a step.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, amid, message, present
from ...records import JobFolder
from ...records.checks.choosecheck import halves_of
from ...records.files.assembly import FittedRecord
from ...records.files.jobfile import DecisionRecord
from ...records.files.sheet import Engine, FeatureRecord
from ..measure.timeline import sized
from ..measure.titles import component_title, feature_title, titled
from ..model.assessment import Characteristic, Deviation
from ..model.bench import Chosen
from ..model.choice import Choice, Place
from ..money.estimate_lines import everything_in
from ..parts.unbought import open_set
from ..work.decisions import standing_beyond
from .fastening import Needs

# how a shim comes to its valve, and whether it is another one than was there
SHIMS = {
    "buy": (True, NOTHING),
    "shelf": (True, Sentence("from the shelf")),
    "move": (False, Sentence("moved")),
    "keep": (False, Sentence("as it was")),
}


class Choosing:
    """Answers for a step of the build sheet which parts it takes."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        needs: Needs,
        characteristics: Iterable[Characteristic],
        deviations: Iterable[Deviation],
        choices: Iterable[Choice] = (),
    ) -> None:
        self.engine, self.needs = engine, needs
        self.choices = {choice.name: choice for choice in choices if not choice.on_paper}
        self.fitted = job.written_assembly.fitted
        self.known = {*needs, *(record.part for record in self.fitted)}
        self.decisions, self.seen = list(job.decisions.values()), list(job.seen.values())
        beyond = standing_beyond(characteristics, deviations)
        steps = [step for page in engine.assemblies.values() for step in page.steps]
        self.of_its_own = {step.fit for step in steps if step.fit in engine.parts}
        self.beyond = {(value.feature, value.position) for value in beyond}

    def parts_of(self, name: str, positions: Sequence[str]) -> tuple[Chosen, ...]:
        """The parts of a feature, a joint, a part of the engine, or a part number."""
        engine = self.engine
        if name in engine.features:
            return tuple(self._feature(name, positions))
        if name in engine.shims:
            return tuple(self._shims(name, engine.shims[name].part or ""))
        if name in engine.joints:
            return *self._joint(name), *self._renewed(name)
        if name in engine.parts:
            return (self.part(name, positions),)
        return tuple(self._features_of(name, positions))

    def _features_of(self, name: str, positions: Sequence[str]) -> Iterator[Chosen]:
        """What is new of a part's features; where nothing is, the part itself is used again."""
        features = [feature for feature, sheet in self.engine.features.items() if sheet.part == name]
        parts = [part for feature in features for part in self._feature(feature, positions)]
        new = {(part.part, part.positions): part for part in parts if part.new is not False}
        yield from new.values()
        if features and not new:
            about = [decision for decision in self.decisions if decision.about in (name, *features)]
            done = [self._reworked(decision) for decision in about if decision.do == "recondition"]
            yield Chosen("", amid(titled(name)), new=False, note=present(done))

    def _reworked(self, decision: DecisionRecord) -> Text:
        """What was done to a surface: its size, what was taken off, or that it was reworked."""
        done: Text = sized(decision.size) or Sentence("reworked")
        if decision.remove and not decision.size:
            done = Sentence("{amount} removed", amount=Figure(decision.remove))
        about = amid(component_title(self.engine, decision.about))
        return Several([about, *decision.positions, done], " ")

    def _feature(self, name: str, positions: Sequence[str]) -> Iterator[Chosen]:
        """New parts with their positions, then what is kept: as it is, or beyond its limit and undecided."""
        sheet = self.engine.features[name]
        every = list(positions or sheet.positions)
        own = self._own_parts(name, sheet, every)
        # pistons come with the size of the bores that they run in
        bores = [fit.outer for fit in self.engine.fits(inner=name) if fit.outer]
        sets = [part for bore in (name, *bores) for part in self.engine.features[bore].sets.values()]
        listed = dict.fromkeys([*sheet.replace_with, *sets, *own])
        wanted = [part for part in listed if part in self.known]
        new = [self.part(part, list(own.get(part, every)), own.get(part, {})) for part in wanted]
        yield from (part for part in new if part.part not in self.of_its_own)  # those go in there
        renewed = {position for part in new for position in part.positions or every}
        yield from self._kept(name, [position for position in every if position not in renewed])

    def _kept(self, name: str, positions: Sequence[str]) -> Iterator[Chosen]:
        title = amid(feature_title(self.engine, name))
        new = tuple(position for position in positions if self._to_be_bought(name, position))
        if new:
            yield Chosen("", title, new, new=True, note=Sentence("no part on the list yet"))
        positions = [position for position in positions if position not in new]
        beyond = tuple(position for position in positions if (name, position) in self.beyond)
        if beyond:
            note = Sentence("beyond limit, nothing decided")
            yield Chosen("", title, beyond, new=None, note=note)
        if rest := tuple(position for position in positions if position not in beyond):
            yield Chosen("", title, rest, new=False)

    def _to_be_bought(self, name: str, position: str) -> bool:
        """Whether what is there is replaced, and no line of the parts list says by what."""
        about = (open_set(name), open_set(self.engine.features[name].part or name))
        places = [self.needs[one][1] for one in about if one in self.needs]
        return any(position in (where or [position]) for where in places)

    def _own_parts(self, name: str, sheet: FeatureRecord, every: Sequence[str]) -> dict[str, dict[str, str]]:
        """Part numbers of halves, grades and classes: for which positions each, with its grade there."""
        own: dict[str, dict[str, str]] = {}
        two = halves_of(sheet)
        fitted = {
            position: {half: some[min(i, len(some) - 1)] for i, half in enumerate(two)}
            for position, some in self._grades(name).items()
            if some
        }
        for half, part in sheet.halves.items():
            own[part] = {place: some.get(half, "") for place, some in fitted.items() if place in every}
        for (half, grade, size), part in sheet.numbers.items():
            for position, some in fitted.items():
                # of a class at a size nobody says where it is
                if not size and grade in ([some.get(half)] if half else some.values()):
                    own.setdefault(part, {})[position] = f"{half} {grade}".strip()
        return own

    def _grades(self, name: str) -> dict[str, tuple[str, ...]]:
        """Grade by position, upper before lower half: as decided, else as chosen."""
        choice = self.choices.get(name)
        places = choice.places if choice else ()
        grades = {place.position: place.grades for place in places if place.grades}
        for decision in self.decisions:
            if decision.about == name:
                grades |= {position: tuple(fitted) for position, fitted in decision.fit.items()}
        return grades

    def _shims(self, name: str, part: str) -> Iterator[Chosen]:
        """Every valve's shim: bought, moved from another valve, or left where it was."""
        choice = self.choices.get(name)
        if choice is None or not choice.places:
            yield Chosen("", amid(titled(name)), new=None, note=Sentence("clearances not read yet"))
            return
        title = Typed(self.engine.parts[part].name) if part in self.engine.parts else amid(titled(name))
        undecided = NOTHING if choice.decision else Sentence("chosen from the readings, nobody has decided")
        for source, (new, how) in SHIMS.items():  # those together that come the same way
            places = [place for place in choice.places if place.answer and place.source == source]
            where, sizes = tuple(place.position for place in places), Several(map(_shim, places), "; ")
            note = present([how, undecided])
            if places:
                yield Chosen(part if new else "", title, where, sizes, new, note, len(places))
        if lacking := tuple(place.position for place in choice.places if not place.answer):
            yield Chosen("", title, lacking, new=None, note=Sentence("no shim chosen"))
        if choice.status == "provisional":
            yield Chosen("", title, new=None, note=present(choice.decides))

    def _joint(self, name: str) -> Iterator[Chosen]:
        """What a joint itself needs; of a part that is still to be chosen, which ones there are."""
        for part, count in self.engine.joints[name].uses.items():
            choice = self.engine.choices.get(part)
            bought = [number for number in choice.table if number in self.needs] if choice else [part]
            for chosen in (self.part(number, ()) for number in bought):
                # the others on the list close other joints
                yield replace(chosen, count=min(chosen.count, count))
            if choice and not bought:
                by, table = feature_title(self.engine, choice.by), Several(choice.table)
                note = Sentence("still to be chosen by {what}: {parts}", what=amid(by), parts=table)
                yield Chosen("", amid(titled(part)), new=None, note=note)

    def _renewed(self, name: str) -> Iterator[Chosen]:
        """What a finding about the part itself has bought: a new cooler, and not only its gaskets."""
        asked = (part for finding in self.seen if finding.component == name for part in finding.needs)
        yield from (self.part(part, ()) for part in dict.fromkeys(asked) if part in self.needs)

    def part(self, part: str, every: Sequence[str], grades: Mapping[str, str] | None = None) -> Chosen:
        """A part by its number; ``grades``: its own positions among all of them, each with its grade."""
        sheet = self.engine.part(part)
        count, bought_for = self.needs.get(part, (0, ()))
        if sheet.per == "engine":
            bought_for = ()
        # its own places where each has its grade; else those that it is bought for, of those asked about
        its_own = [*grades] if grades else bought_for
        positions = tuple(place for place in every if place in its_own) if every and its_own else bought_for
        fitted = [_as_fitted(record, grades or {}) for record in self.fitted if record.part == part]
        chosen = Chosen(part, Typed(sheet.name), positions, count=count)
        if grades:
            said = Several((f"{place} {grades[place]}" for place in positions), "; ")
            chosen = replace(chosen, grade=said)
        if count or fitted:
            return replace(chosen, new=True, note=present(fitted))
        for number, (sets, _) in self.needs.items():
            if sets and (inside := everything_in(self.engine, number).get(part)):
                note = Sentence("in the {set}", set=self.engine.part(number).name)
                return replace(chosen, new=True, count=inside * sets, note=note)
        return replace(chosen, note=Sentence("not on the parts list"))


def _shim(place: Place) -> Text:
    if place.came_from:
        words = message("{place} {shim} from {valve}")
        return Sentence(words, place=place.position, shim=place.answer, valve=place.came_from)
    return Several([place.position, place.answer], " ")


def _as_fitted(record: FittedRecord, decided: Mapping[str, str]) -> Text:
    """What was noted of a part when it was fitted; its grade where it is not the one decided."""
    grades = record.grades
    wanted = [decided.get(position, "") for position in record.positions]
    said: list[Text] = []
    if grades and decided and grades != wanted and len(grades) == len(wanted):
        said.append(Sentence("fitted otherwise than decided"))
    where, grade = (" ".join(record.positions), record.grade) if grades != wanted or not grades else ("", "")
    said += [Typed(text) for text in (grade, record.orientation, record.lubricant, record.note) if text]
    what = present(said, ", ")
    return Sentence("{where}: {what}", where=where, what=what) if where and what else what or Typed(where)
