"""Which part goes where: new ones from the parts list, grades as decided or fitted, the others used again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ...quantities import present
from ...records import JobFolder
from ...records.files.assembly import Assembly, FittedRecord
from ...records.files.sheet import Engine, FeatureRecord
from ..model.assessment import Characteristic, Deviation
from ..model.bench import Chosen
from ..model.choice import Choice

Needs = Mapping[str, tuple[int, tuple[str, ...]]]


class Choosing:
    """Answers for a step of the build sheet which parts it takes."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        needs: Needs,
        found: Sequence[Characteristic],
        deviations: Sequence[Deviation],
        choices: Sequence[Choice] = (),
    ) -> None:
        self.engine, self.needs = engine, needs
        self.choices = {one.name: one for one in choices if not one.on_paper}
        self.fitted = (job.assembly or Assembly()).fitted
        self.decisions = list(job.work.decisions.values()) if job.work else []
        covered = {key for one in deviations for key in one.covers}
        self.beyond: dict[str, list[str]] = {}
        for one in found:
            if one.stands and one.verdict == "beyond limit" and one.key not in covered:
                self.beyond.setdefault(one.feature, []).append(one.position)

    def of(self, name: str, positions: Sequence[str]) -> tuple[Chosen, ...]:
        """The parts of a feature, a joint, a part of the engine, or a part number."""
        engine = self.engine
        if name in engine.features:
            return self._feature(name, engine.features[name], positions)
        if name in engine.shims:
            return tuple(self._shims(name, engine.shims[name].part or ""))
        if name in engine.joints:
            return tuple(self._joint(name))
        if name in engine.parts:
            return (self._part(name, positions),)
        ones: list[Chosen] = []
        mine = [(feature, sheet) for feature, sheet in engine.features.items() if sheet.part == name]
        for feature, sheet in mine:
            ones += [one for one in self._feature(feature, sheet, positions) if one.new is not False]
        new = tuple({(one.part, one.positions): one for one in ones}.values())
        return new or ((self._used_again(name, [feature for feature, _ in mine]),) if mine else ())

    def _used_again(self, name: str, features: Sequence[str]) -> Chosen:
        """A part of the engine that stays, with what was done to it."""
        done = []
        for one in self.decisions:
            if one.about in (name, *features) and one.do == "recondition":
                where = f" {' '.join(one.positions)}" if one.positions else ""
                what = one.size or (f"{one.remove} removed" if one.remove else "reworked")
                done.append(f"{one.about.replace('_', ' ')}{where} {what}")
        note = "; ".join(dict.fromkeys(done))
        return Chosen("", name.replace("_", " "), (), "", False, note)

    def _feature(self, name: str, sheet: FeatureRecord, positions: Sequence[str]) -> tuple[Chosen, ...]:
        every = list(positions or sheet.positions or [])
        grades = self._grades(name)
        # number of the part: for which positions, and their grades; halves and classes have their own
        own: dict[str, dict[str, str]] = {}
        for index, part in enumerate(sheet.halves.values()):
            own[part] = {p: g[min(index, len(g) - 1)] for p, g in grades.items() if p in every and g}
        for word, part in sheet.pieces.items():
            mine = word.rpartition(" ")[2]  # of shells a half and its grade, or a grade
            mixed = sheet.kind == "shells"
            own.setdefault(part, {}).update(
                {p: word for p, g in grades.items() if g == (word,) or (mixed and mine in g)}
            )
        listed = [*sheet.replace_with, *sheet.sets.values(), *own]
        new = [
            self._part(part, list(own[part]) if part in own else every, own.get(part, {}))
            for part in dict.fromkeys(listed)
            if part in self.needs or any(one.part == part for one in self.fitted)
        ]
        covered = {position for one in new for position in one.positions or every}
        kept = [position for position in every if position not in covered]
        if not kept or (new and not every):
            return tuple(new)
        title = (sheet.title or name.replace("_", " ")).lower()
        beyond = tuple(position for position in kept if position in self.beyond.get(name, []))
        if beyond:
            new.append(Chosen("", title, beyond, "", None, "beyond limit, nothing decided"))
        if rest := tuple(position for position in kept if position not in beyond):
            new.append(Chosen("", title, rest, "", False))
        return tuple(new)

    def _grades(self, name: str) -> dict[str, tuple[str, ...]]:
        """Grade by position, upper before lower half: as decided, else as chosen."""
        found: dict[str, tuple[str, ...]] = {}
        choice = self.choices.get(name)
        for place in choice.places if choice else ():
            if place.grades:
                found[place.position] = place.grades
        for decision in self.decisions:
            if decision.about == name:
                found |= {position: tuple(grades) for position, grades in decision.fit.items()}
        return found

    def _shims(self, name: str, part: str) -> Iterable[Chosen]:
        """Every valve's shim: bought, moved from another valve, or left where it was."""
        choice = self.choices.get(name)
        if choice is None or not choice.places:
            yield Chosen("", name.replace("_", " "), (), "", None, "clearances not read yet")
            return
        open_ = "" if choice.decision else "chosen from the readings, nobody has decided"
        number = self.engine.parts[part].name if part in self.engine.parts else name.replace("_", " ")
        for word, new in (("buy", True), ("shelf", True), ("move", False), ("keep", False)):
            ones = [one for one in choice.places if one.source == word]
            if not ones:
                continue
            said = "; ".join(
                f"{one.position} {one.answer}" + (f" from {one.came_from}" if one.came_from else "")
                for one in ones
            )
            how = {"shelf": "from the shelf", "move": "moved", "keep": "as it was"}.get(word, "")
            note = "; ".join(text for text in (how, open_) if text)
            where = tuple(one.position for one in ones)
            yield Chosen(part if new else "", number, where, said, new, note, len(ones))
        lacking = tuple(one.position for one in choice.places if not one.answer)
        if lacking:
            yield Chosen("", number, lacking, "", None, "no shim chosen")
        if choice.status == "provisional":
            yield Chosen("", number, (), "", None, present(choice.decides))

    def _joint(self, name: str) -> list[Chosen]:
        found = []
        for part in self.engine.joints[name].needs:
            choice = self.engine.choices.get(part)
            if choice is None:
                found.append(self._part(part, ()))
                continue
            bought = [one for one in choice.table if one in self.needs]
            if bought:
                found += [self._part(one, ()) for one in bought]
            else:
                words = part.replace("_", " ")
                note = f"still to be chosen by {choice.by.replace('_', ' ')}: {', '.join(choice.table)}"
                found.append(Chosen("", words, (), "", None, note))
        return found

    def _part(self, part: str, every: Sequence[str], grades: Mapping[str, str] | None = None) -> Chosen:
        sheet = self.engine.parts.get(part)
        count, where = self.needs.get(part, (0, ()))
        fitted = [one for one in self.fitted if one.part == part]
        if sheet is not None and sheet.per == "engine":
            where = ()
        positions = tuple(p for p in every if p in where) if where and every else tuple(where)
        if grades:  # its own positions, each with its grade
            positions = tuple(p for p in every if p in grades)
        records = [self._as_fitted(one, grades or {}) for one in fitted]
        note = "" if count or fitted else "not on the parts list"
        return Chosen(
            part,
            sheet.name if sheet else part,
            positions,
            "; ".join(f"{p} {grades[p]}" for p in every if p in grades) if grades else "",
            True if count or fitted else None,
            "; ".join(one for one in (note, *records) if one),
            count,
        )

    def _as_fitted(self, one: FittedRecord, decided: Mapping[str, str]) -> str:
        """What was noted of a part when it was fitted; its grade where it is not the one decided."""
        grades = (one.grade or "").split()
        same = bool(grades) and grades == [decided.get(position, "") for position in one.positions]
        words = [] if same else [" ".join(one.positions), one.grade or ""]
        if grades and decided and not same and len(grades) == len(one.positions):
            words.insert(0, "fitted otherwise than decided")
        words += [one.orientation or "", one.note or ""]
        return ", ".join(word for word in words if word)
