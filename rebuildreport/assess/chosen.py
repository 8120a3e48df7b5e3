"""Which part goes where: new ones from the parts list, grades as decided or fitted, the others used again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..records import JobFolder
from ..records.built import Assembly, Fitted
from ..records.engine import Engine, Feature
from .built import Chosen
from .model import Characteristic, Deviation

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
    ) -> None:
        self.engine, self.needs = engine, needs
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
        note = "; ".join(["used again", *dict.fromkeys(done)])
        return Chosen("", name.replace("_", " "), (), "", False, note)

    def _feature(self, name: str, sheet: Feature, positions: Sequence[str]) -> tuple[Chosen, ...]:
        candidates = [*sheet.replace_with, *sheet.sets.values(), *self._halves(sheet)]
        every = list(positions or sheet.positions or [])
        grades = self._grades(name)
        new = [
            self._part(part, every, grades)
            for part in dict.fromkeys(candidates)
            if part in self.needs or any(one.part == part for one in self.fitted)
        ]
        covered = {position for one in new for position in one.positions or every}
        kept = [position for position in every if position not in covered]
        if not kept or (new and not every):
            return tuple(new)
        title = (sheet.title or name.replace("_", " ")).lower()
        beyond = [position for position in kept if position in self.beyond.get(name, [])]
        if beyond:
            note = "beyond limit, nothing decided"
            new.append(Chosen("", title, tuple(beyond), grades.get(beyond[0], ""), None, note))
        rest = tuple(position for position in kept if position not in beyond)
        if rest:
            if grades:
                new += [Chosen("", title, (p,), grades.get(p, ""), False, "used again") for p in rest]
            else:
                new.append(Chosen("", title, rest, "", False, "used again"))
        return tuple(new)

    def _halves(self, sheet: Feature) -> list[str]:
        return list(getattr(sheet, "halves", {}).values())

    def _grades(self, feature: str) -> dict[str, str]:
        """Grade by position as decided: 'S3 upper, S4 lower' where two stand."""
        found: dict[str, str] = {}
        for decision in self.decisions:
            if decision.about == feature:
                for position, grades in getattr(decision, "fit", {}).items():
                    two = len(grades) == 2
                    found[position] = f"{grades[0]} upper, {grades[1]} lower" if two else " ".join(grades)
        return found

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
        records = self._as_fitted(fitted)
        by_grade = "; ".join(f"{p} {grades[p]}" for p in every if p in grades) if grades else ""
        note = "" if count or fitted else "not on the parts list"
        said = [note, *records]
        return Chosen(
            part,
            sheet.name if sheet else part,
            positions,
            by_grade,
            True if count or fitted else None,
            "; ".join(one for one in said if one),
            count,
        )

    def _as_fitted(self, fitted: Sequence[Fitted]) -> list[str]:
        said = []
        for one in fitted:
            words = [" ".join(one.positions), one.grade or "", one.orientation or "", one.note or ""]
            if text := ", ".join(word for word in words if word):
                said.append(text)
        return said
