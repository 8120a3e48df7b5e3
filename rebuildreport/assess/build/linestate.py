"""Whether a line of the build sheet is done, out of limits, not signed, or open."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ... import quantities
from ...quantities import Sentence, Several
from ...records.files.assembly import Assembly, Checked
from ...records.files.buildplan import BuildStep
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.kinds import KINDS
from ..measure.judging import limits_for, unit_of
from ..measure.observations import base_unit
from ..model.assessment import Characteristic, Deviation
from ..model.bench import BuildColumn, BuildLine, BuildValue, Ends, MarkLine, State
from ..model.bolting import Fastening, Signed

ONE_NAME = "second signature missing"


class LineStates:
    """Holds what was signed and read against each line."""

    def __init__(
        self,
        engine: Engine,
        assembly: Assembly,
        found: Sequence[Characteristic],
        deviations: Sequence[Deviation],
        in_apart: frozenset[str],
        bolts: Sequence[Fastening],
        sizes: Mapping[tuple[str, str], str],
    ) -> None:
        self.engine, self.assembly = engine, assembly
        self.found = [one for one in found if one.stands and one.value is not None]
        self.absent = [one for one in found if one.stands and one.value is None]
        self.covered = {key: one.id for one in deviations for key in one.covers}
        self.in_apart = in_apart
        self.bolts = {one.name: one for one in bolts}
        self.sizes = sizes  # decided, by feature and position

    def page(self, name: str) -> Signed | None:
        """The signature under a page."""
        one = self.assembly.pages.get(name)
        return Signed(one.by, one.witness or "", one.date, one.note or "") if one else None

    def line(self, line: BuildLine, step: BuildStep, page: Signed | None) -> BuildLine:
        """The line with its state; what the sheet's own words ask for stays as it is."""
        built = {key for key, one in self.assembly.deviations.items() if one.about in (line.name, step.name)}
        line = replace(line, deviations=tuple(sorted(built)))
        if line.verb == "tighten":
            return self._tighten(line)
        if line.verb == "measure":
            return self._measure(line, step, built)
        if line.verb == "check":
            return self._check(line, step)
        if line.verb == "hold":
            return self._hold(line)
        if line.verb == "fit":
            return self._fit(line, page)
        return self._by_page(line, page)

    def brought(self, mark: MarkLine) -> MarkLine:
        """A mark with its signature; one made on dismantling is done only once it is proved right."""
        one = next((b for b in self.assembly.marks if b.mark == mark.where), None)
        if one is None:
            return mark
        state: State = "done"
        text = ""
        if not one.agrees:
            state, text = "out of limits", "does not agree with the register"
        elif mark.trust != "factory" and not one.verified:
            state, text = "open", "brought together, not proved right yet"
        elif not one.witness:
            state, text = "not signed", ONE_NAME
        return replace(
            mark,
            state=state,
            state_text=text,
            found=one.found or "",
            verified=one.verified or "",
            signed=Signed(one.by, one.witness or "", one.date),
        )

    def further_holds(self, known: set[str]) -> list[BuildLine]:
        """Hold points signed without a place in the sheet's pages."""
        return [
            self._signed_hold(
                BuildLine("", "hold", one.what, one.what[:1].upper() + one.what[1:]),
                Signed(one.by, one.witness or "", one.date, one.note or ""),
            )
            for one in self.assembly.hold_points
            if one.what not in known
        ]

    def _by_page(self, line: BuildLine, page: Signed | None) -> BuildLine:
        if page is None:
            return line
        return replace(line, state="done", signed=page)

    def _fit(self, line: BuildLine, page: Signed | None) -> BuildLine:
        undecided = [one for one in line.parts if one.new is None]
        numbers = {one.part for one in line.parts if one.part}
        fitted = [one for one in self.assembly.fitted if one.part in numbers]
        signed = next((Signed(one.by, "", one.date) for one in fitted if one.by), page)
        if undecided:
            note = "; ".join(f"{one.name}: {one.note}" for one in undecided if one.note)
            return replace(line, state="open", state_text=note, signed=signed)
        if signed is not None:
            return replace(line, state="done", signed=signed)
        return replace(line, state="not signed", state_text="fitted, not signed") if fitted else line

    def _tighten(self, line: BuildLine) -> BuildLine:
        group = self.bolts.get(line.name)
        line = replace(line, fastening=line.name)
        if group is None:
            return line
        notes = list(line.notes)
        if group.new:
            notes.append(group.new)
        if group.withheld and not line.deviations:
            line = replace(line, state_text="; ".join(group.withheld))
        line = replace(
            line, notes=tuple(notes), source=group.source, lubricant=line.lubricant or group.lubricant
        )
        if not group.done:
            return line
        if group.withheld and not line.deviations:
            return replace(line, state="open", signed=group.done[-1])
        if long := self._overlong(line.name):
            line = replace(line, signed=group.done[-1])
            if line.deviations:
                return replace(line, state="done", state_text="accepted by " + ", ".join(line.deviations))
            return replace(line, state="out of limits", state_text=f"{long} beyond its limit for length")
        if group.odd_stretch:
            line = replace(line, signed=group.done[-1])
            if not (accepted := self._stretch_accepted(line)):
                return replace(line, state="out of limits", state_text=group.odd_stretch)
            said = Sentence("accepted by {deviations}", deviations=Several(accepted))
            return replace(line, state="done", state_text=said)
        return replace(line, state="done", signed=group.done[-1])

    def _stretch_accepted(self, line: BuildLine) -> list[str]:
        """Deviations about this group that speak of its stretch; one about something else accepts none."""
        found = []
        for key in line.deviations:
            one = self.assembly.deviations[key]
            if re.search(r"\b(stretch|longer|elongat)", f"{one.what} {one.why}".lower()):
                found.append(key)
        return found

    def _overlong(self, name: str) -> str:
        """Bolts read beyond their limit that nothing has taken the place of and no deviation covers."""
        bolts = self.engine.fasteners.get(name)
        return " ".join(
            dict.fromkeys(
                one.position
                for one in self.found
                if bolts is not None
                and one.feature == bolts.measure
                and one.verdict == "beyond limit"
                and one.key not in self.covered
            )
        )

    def _measure(self, line: BuildLine, step: BuildStep, built: set[str]) -> BuildLine:
        """Values read since the engine was apart; older ones tell of the engine as it came."""
        feature = self.engine.features.get(line.name)
        if feature is None:
            return line
        mine = [one for one in self.found if one.feature == line.name and one.round in self.in_apart]
        if step.positions:
            mine = [one for one in mine if one.position in step.positions]
        wanted = list(step.positions or feature.positions or dict.fromkeys(one.position for one in mine))
        if any(one.limits for one in mine):  # what has a limit is what is checked here
            mine = [one for one in mine if one.limits]
        leads: dict[str, Characteristic] = {}
        for one in mine:
            if one.name not in leads or leads[one.name].limits is None:
                leads[one.name] = one
        line = replace(
            line,
            wanted=tuple(wanted),
            columns=tuple(self._column(line.name, one) for one in leads.values()),
            source=next((one.limits.source for one in mine if one.limits), line.source),
            values=tuple(
                BuildValue(
                    one.name, one.position, one.value or 0.0, one.unit, one.decimals, one.verdict, one.key
                )
                for one in mine
            ),
            deviations=tuple(
                dict.fromkeys(
                    [*line.deviations, *(self.covered[o.key] for o in mine if o.key in self.covered)]
                )
            ),
        )
        bad = [o for o in mine if o.verdict in ("beyond limit", "too close to call")]
        bad = [one for one in bad if one.key not in self.covered]
        if bad:
            said = ", ".join(dict.fromkeys(f"{one.position} {one.verdict}" for one in bad))
            surely = any(one.verdict == "beyond limit" for one in bad)
            return replace(line, state="out of limits" if surely else "open", state_text=said)
        read = {one.position for one in mine}
        missing = [position for position in wanted if position not in read]
        if not mine:
            line = replace(line, columns=tuple(self._boxes(line.name, feature, wanted)))
        if missing or not mine:
            return replace(line, state_text=f"not read since: {' '.join(missing)}" if missing else "")
        if absent := self._absent(line.name, wanted):
            return replace(line, state_text=f"not read: {absent}")
        thin = list(dict.fromkeys(o.position for o in mine if o.verdict == "not measured"))
        if thin and not built:
            return replace(line, state_text=f"too few readings: {' '.join(thin)}")
        if thin:
            return replace(line, state="done", state_text=f"accepted by {', '.join(sorted(built))}")
        return replace(line, state="done")

    def _boxes(self, name: str, feature: FeatureRecord, wanted: Sequence[str]) -> Iterator[BuildColumn]:
        """What is to be read here, with its limits, before anything was."""
        kind = KINDS.get(feature.kind)
        sizes = {self.sizes.get((name, position), "") for position in wanted}
        if kind is None:
            return
        for one in kind.characteristics(tuple(feature.columns or ()), {*feature.new, *feature.wear}):
            trait = kind.trait(one)
            unit = unit_of(feature, trait, base_unit(feature.unit))
            known = limits_for(self.engine, feature, trait, unit, next(iter(sizes), ""))
            if known is None or (trait.limit == "size" and len(sizes) > 1):
                continue  # positions of several sizes have several limits
            yield BuildColumn(one, trait.title, unit, known.new, known.decimals, known.source, known.wear)

    def _column(self, feature: str, one: Characteristic) -> BuildColumn:
        kind = KINDS[self.engine.features[feature].kind]
        limits = one.limits
        return BuildColumn(
            one.name,
            kind.trait(one.name).title,
            one.unit,
            limits.decides if limits else (None, None),
            limits.decimals if limits else one.decimals,
            limits.source if limits else "",
        )

    def _absent(self, feature: str, wanted: Sequence[str]) -> str:
        """Characteristics with a limit that were read at some positions' others only: 'oil'."""
        mine = [one for one in self.absent if one.feature == feature and one.position in wanted]
        return ", ".join(dict.fromkeys(one.name.replace("_", " ") for one in mine))

    def _check(self, line: BuildLine, step: BuildStep) -> BuildLine:
        ones = [one for one in self.assembly.checks if one.check == line.name]
        limits: Ends = (None, None)
        unit = ""
        if step.limit is not None:
            unit = next((e.unit for e in (step.limit.low, step.limit.high) if e and e.unit), "")
            limits = step.limit.within(unit)
            column = BuildColumn("", "", unit, limits, step.limit.decimals, line.source)
            line = replace(line, columns=(column,))
        if not ones:
            return replace(line, wanted=tuple(step.positions))
        last = ones[-1]
        values = [value for one in ones if (value := _value(one, limits, unit)) is not None]
        found = "; ".join(text for one in ones for text in (one.found, one.note) if text)
        line = replace(
            line,
            wanted=tuple(step.positions),
            values=tuple(values),
            found=found,
            signed=Signed(last.by, last.witness or "", last.date),
        )
        if any(one.good is False for one in ones) or any(v.verdict == "beyond limit" for v in values):
            if line.deviations:
                return replace(line, state="done", state_text="accepted by " + ", ".join(line.deviations))
            return replace(line, state="out of limits", state_text="not as it should be")
        if step.limit is not None and not values:
            return replace(line, state="open", state_text="signed without its value")
        seen = {position for one in ones for position in one.positions}
        missing = [position for position in step.positions if position not in seen]
        if missing:
            return replace(line, state="open", state_text=f"not yet: {' '.join(missing)}")
        return replace(line, state="done")

    def _hold(self, line: BuildLine) -> BuildLine:
        one = next((h for h in self.assembly.hold_points if h.what in (line.name, line.title)), None)
        if one is None:
            return line
        return self._signed_hold(line, Signed(one.by, one.witness or "", one.date, one.note or ""))

    def _signed_hold(self, line: BuildLine, signed: Signed) -> BuildLine:
        two = signed.witness and signed.witness.strip().lower() != signed.by.strip().lower()
        state: State = "done" if two else "not signed"
        return replace(line, state=state, state_text="" if two else ONE_NAME, signed=signed)


def _value(one: Checked, limits: Ends, unit: str) -> BuildValue | None:
    if one.value is None:
        return None
    try:
        value = one.value.to(unit) if unit else one.value.value
    except (quantities.WrongDimension, quantities.UnknownUnit):
        return None
    low, high = limits
    beyond = (low is not None and value < low - 1e-9) or (high is not None and value > high + 1e-9)
    verdict = "beyond limit" if beyond else "as new" if unit else ""
    where = " ".join(one.positions)
    return BuildValue("", where, value, unit or one.value.unit, one.value.decimals, verdict)
