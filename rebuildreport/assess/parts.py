"""The parts list, derived: every line says because of what it is there."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from .. import quantities
from ..records import JobFolder
from ..records.engine import Choice, Engine
from ..trade.kinds import KINDS
from .characteristics import feature_title
from .model import Characteristic
from .readings import Occasion, base_unit
from .timeline import Timeline


@dataclass(slots=True)
class Need:
    """One part of the list while it is being gathered."""

    part: str
    name: str = ""  # where it is no part of the sheet: what is still to be chosen
    count: int = 0  # asked for as a number
    positions: list[str] = field(default_factory=list)  # asked for by position: each once
    reasons: dict[str, list[str]] = field(default_factory=dict)  # what: where
    findings: list[str] = field(default_factory=list)

    @property
    def because(self) -> tuple[str, ...]:
        """Why the line is there, one phrase a reason."""
        return tuple(f"{what}: {', '.join(where)}" if where else what for what, where in self.reasons.items())

    def quantity(self, per_engine: bool) -> int:
        """How many to buy: one for the engine, or each position once plus what was asked by number."""
        return 1 if per_engine else len(dict.fromkeys(self.positions)) + self.count


class PartsList:
    """Gathers needs from rules, joints, verdicts, findings and decisions."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        timeline: Timeline,
        found: list[Characteristic],
        taken: list[Occasion],
    ) -> None:
        self.days = {(one.feature, one.name): one.date for one in taken}
        self.rounds = {one.round: one.date for one in taken}
        self.engine, self.job, self.timeline, self.found = engine, job, timeline, found
        self.needs: dict[str, Need] = {}
        self.questions: list[str] = []

    def gather(self) -> list[Need]:
        """Every need, in the order of the sheet's parts; what is not on the sheet comes last."""
        self._always()
        self._joints()
        self._beyond_limit()
        self._findings()
        self._decisions()
        for extra in self.job.work.parts if self.job.work else []:
            self._need(extra.part, extra.why, count=extra.quantity)
        order = {part: index for index, part in enumerate(self.engine.parts)}
        return sorted(self.needs.values(), key=lambda need: order.get(need.part, len(order)))

    def replaced(self, feature: str, position: str) -> bool:
        """Whether a part of this list takes the place of what was measured there."""
        sheet = self.engine.features[feature]
        return any(
            need.part in sheet.replace_with and (position in need.positions or not need.positions)
            for need in self.needs.values()
        )

    def _need(
        self,
        part: str,
        because: str,
        positions: list[str] | None = None,
        count: int = 0,
        finding: str = "",
        name: str = "",
        where: str = "",
    ) -> None:
        need = self.needs.setdefault(part, Need(part, name))
        if positions:
            need.positions += positions
        else:
            need.count += count
        places = need.reasons.setdefault(because, [])
        if where and where not in places:
            places.append(where)
        if finding and finding not in need.findings:
            need.findings.append(finding)

    def _always(self) -> None:
        for part, count in self.engine.always.items():
            self._need(part, "with every rebuild", count=count)

    def _joints(self) -> None:
        opened = [step.removed for step in self.job.teardown.steps] if self.job.teardown else []
        for name in dict.fromkeys(opened):
            joint = self.engine.joints.get(name)
            if joint is None:
                continue
            for part in joint.needs:
                choice = self.engine.choices.get(part)
                if choice is not None:
                    self._choose(part, choice)
                else:
                    self._need(part, "joints opened", count=1, where=name.replace("_", " "))
            for group in joint.fasteners:
                bolts = self.engine.fasteners.get(group)
                if bolts is not None and bolts.reuse == "never":
                    self._need(bolts.part, "used once only", count=bolts.quantity)
                elif bolts is not None and bolts.reuse == "by_measure":
                    self._by_measure(group, bolts.measure)

    def _by_measure(self, group: str, measure: str | None) -> None:
        if not any(one.feature == measure and one.value is not None for one in self.found):
            self.questions.append(
                f"{group.replace('_', ' ').capitalize()}: measure each before deciding which go back in"
            )

    def _choose(self, name: str, choice: Choice) -> None:
        """A part that a measurement chooses; its candidates where nothing was measured yet."""
        words = name.replace("_", " ")
        by = feature_title(self.engine, choice.by).lower()
        standing = [
            one for one in self.found if one.feature == choice.by and one.stands and one.value is not None
        ]
        unit = choice.unit or self.engine.features[choice.by].unit or "mm"
        if standing:
            top = max(standing, key=lambda one: one.value or 0.0)
            highest = quantities.convert(top.value or 0.0, base_unit(unit), unit)
            said = f"{highest:.{max((limit.decimals for limit in choice.table.values()), default=2)}f} {unit}"
            for part, limit in choice.table.items():
                low, high = limit.within(unit)
                above = low is None or (highest > low + 1e-9 if limit.above else highest >= low - 1e-9)
                if above and (high is None or highest <= high + 1e-9):
                    self._need(part, f"chosen by {by}: highest {top.position}, {said}", count=1)
                    return
            self.questions.append(f"{words.capitalize()}: {by} of {said} fits none of the table")
        candidates = ", ".join(choice.table)
        self._need(name, f"{by} decides which: {candidates}", count=1, name=f"{words}, one of {candidates}")

    def _beyond_limit(self) -> None:
        for one in self.found:
            sheet = self.engine.features[one.feature]
            own = one.position in (sheet.positions or [])
            if one.verdict != "beyond limit" or not sheet.replace_with or not own:
                continue
            if self._reworked(one) or self._read_again(one):
                continue
            title = f"{feature_title(self.engine, one.feature)} beyond limit"
            for part in sheet.replace_with:
                self._need(part, title, positions=[one.position], where=one.position.replace("_", " "))

    def _day(self, one: Characteristic) -> date:
        return self.days.get((one.feature, one.round)) or self.rounds[one.round]

    def _reworked(self, one: Characteristic) -> bool:
        """Whether it was decided since the reading to keep the part: then none is bought for it."""
        work = self.job.work
        return any(
            decision.do in ("recondition", "reuse")
            and decision.date >= self._day(one)
            and (one.feature, one.position) in self.timeline.spots(decision.about, decision.positions)
            for decision in (work.decisions if work else {}).values()
        )

    def _read_again(self, one: Characteristic) -> bool:
        """Whether a later round read the same surface again: then that reading speaks for it."""
        day, here = self._day(one), one.round.split("/")[0]
        return any(
            (other.feature, other.name, other.position) == (one.feature, one.name, one.position)
            and other.round.split("/")[0] != here
            and self._day(other) > day
            and other.value is not None
            and not self.timeline.changed_between(one.feature, one.position, day, self._day(other))
            for other in self.found
        )

    def _findings(self) -> None:
        found = self.job.findings
        for name, finding in (found.findings if found else {}).items():
            if finding.disposition != "replace":
                continue
            sheet = self.engine.features.get(finding.component)
            where = f" {' '.join(finding.positions)}" if finding.positions else ""
            what = finding.title or f"{finding.component.replace('_', ' ')}{where}: {finding.seen[0]}"
            for part in finding.needs or (sheet.replace_with if sheet else []):
                # no positions: all of the feature's, as in decisions
                positions = list(finding.positions or (sheet.positions or [] if sheet else []))
                self._need(part, what, positions=positions, count=0 if positions else 1, finding=name)
            if sheet is not None and sheet.sets:
                self._shells_by_size(finding.component, what, name)

    def _shells_by_size(self, shells: str, because: str, finding: str) -> None:
        """The set for condemned shells: by the decided size of their journal, else still open."""
        journal = next((f.journal for f in self.engine.features.values() if f.shells == shells), None)
        sheet = self.engine.features[shells]
        positions = (self.engine.features[journal].positions or []) if journal else []
        sizes = {self.timeline.decided_size(journal, p) for p in positions} if journal else set()
        size = next(iter(sizes)) if len(sizes) == 1 else ""
        part = sheet.sets.get(_set_key(size)) if size else None
        if part:
            self._need(part, because, count=1, finding=finding)
            return
        decided = self.job.work is not None and any(
            journal in (d.about, shells) for d in self.job.work.decisions.values()
        )
        if decided and not size and "standard" in sheet.sets:
            self._need(sheet.sets["standard"], because, count=1, finding=finding)
            return
        title = feature_title(self.engine, shells).lower()
        candidates = ", ".join(sheet.sets.values())
        self._need(
            f"{shells} set",
            because,
            count=1,
            finding=finding,
            name=f"{title}, size not decided: one of {candidates}",
        )
        if journal:
            decides = feature_title(self.engine, journal).lower()
            self.questions.append(f"{title.capitalize()}: which set depends on what is done to the {decides}")

    def _decisions(self) -> None:
        work = self.job.work
        for decision in (work.decisions if work else {}).values():
            sheet = self.engine.features.get(decision.about)
            if sheet is None:
                continue
            if decision.do == "replace":
                positions = list(decision.positions or sheet.positions or [])
                for part in sheet.replace_with:
                    self._need(part, decision.why, positions=positions)
            newest = {
                self.timeline.decided_size(decision.about, position)
                for position in decision.positions or sheet.positions or []
            }
            if decision.size in newest and decision.size and KINDS[sheet.kind].name == "journal":
                for fit in self.engine.features.values():
                    shells = self.engine.features.get(fit.shells or "")
                    if fit.journal == decision.about and shells is not None:
                        self._set(decision.about, decision.size, shells.sets)

    def _set(self, journal: str, size: str, sets: dict[str, str]) -> None:
        part = sets.get(_set_key(size))
        title = feature_title(self.engine, journal).lower()
        if part:
            self._need(part, f"{title} {size}", count=1)
        else:
            self.questions.append(f"{title.capitalize()} {size}: no shell set of this size on the sheet")


def _set_key(size: str) -> str:
    """'0.50 mm undersize' as the sheet keys its sets: '0.50 mm'."""
    return size.removesuffix(" undersize").removesuffix(" oversize") or "standard"
