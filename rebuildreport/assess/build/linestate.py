"""Whether a line of the build sheet is done, out of limits, not signed, or open.

Comes in: assembly.yaml, the values of the job.  Goes out: the ``BuildLine`` with its state.  Knows no page.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Sentence, Several, Text, Typed, present
from ...records.files.assembly import Assembly, Checked, HoldPointRecord, MarkBrought, two_people
from ...records.files.buildplan import BuildStep
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ..measure.judging import limits_at, unit_of
from ..measure.observations import base_unit
from ..measure.standing import positions_of
from ..measure.timeline import Timeline
from ..measure.titles import span, where_on
from ..measure.valuing import to_come_to
from ..model.assessment import Characteristic, Deviation
from ..model.bench import BuildColumn, BuildLine, BuildValue, MarkLine, State
from ..model.bolting import Fastening, Signed
from ..model.edition import copied
from ..work.decisions import covered_by

ONE_NAME = Sentence("second signature missing")
DOUBTFUL = ("beyond limit", "too close to call")
ROUNDING = 1e-9  # of converted limits, in their unit
Judged = tuple[State, Text]


class LineStates:
    """Holds what was signed and read against each line."""

    def __init__(
        self,
        engine: Engine,
        assembly: Assembly,
        characteristics: Sequence[Characteristic],
        deviations: Sequence[Deviation],
        in_apart: frozenset[str],
        bolts: Sequence[Fastening],
        timeline: Timeline,
    ) -> None:
        self.engine, self.assembly = engine, assembly
        self.read = [value for value in characteristics if value.stands and value.value is not None]
        self.unread = [value for value in characteristics if value.stands and value.value is None]
        self.covered = covered_by(deviations)
        self.in_apart = in_apart
        self.bolts = {group.name: group for group in bolts}
        self.timeline = timeline

    def page(self, name: str) -> Signed | None:
        """The signature under a page."""
        page = self.assembly.pages.get(name)
        return Signed.typed(page.by, page.witness, page.date, page.note) if page else None

    def line(self, line: BuildLine, step: BuildStep, page: Signed | None) -> BuildLine:
        """The line with its state; what the sheet's own words ask for stays as it is."""
        line = replace(line, deviations=tuple(sorted(self._about(step))))
        if line.verb == "tighten":
            return self._tighten(line)
        if line.verb == "measure":
            return self._measure(line, step)
        if line.verb == "check":
            return self._check(line, step)
        if line.verb == "hold":
            points = (point for point in self.assembly.hold_points if step.called(point.what))
            return next((_held(line, point) for point in points), line)
        if line.verb == "fit":
            return self._fit(line, page)
        return replace(line, state="done", signed=page) if page else line

    def brought(self, mark: MarkLine) -> MarkLine:
        """A mark with its signature; one made on dismantling is done only once it is proved right."""
        brought = next((record for record in self.assembly.marks if record.mark == mark.where), None)
        if brought is None:
            return mark
        state, text = _mark_state(mark, brought)
        return replace(
            mark,
            state=state,
            state_text=text,
            found=brought.found,
            verified=brought.verified,
            signed=Signed.typed(brought.by, brought.witness, brought.date),
        )

    def further_holds(self, steps: Collection[BuildStep]) -> Iterator[BuildLine]:
        """Hold points signed without a place in the sheet's pages."""
        for point in self.assembly.hold_points:
            if not any(step.called(point.what) for step in steps):
                yield _held(BuildLine("", "hold", point.what, Typed(point.what)), point)

    def _about(self, step: BuildStep) -> Iterator[str]:
        """Signed deviations about what a step does; about its bolts' length is about the bolts, too."""
        group = self.engine.fasteners.get(step.name) if step.verb == "tighten" else None
        for key, deviation in self.assembly.deviations.items():
            if step.called(deviation.about) or (group and group.measure == deviation.about):
                yield key

    def _fit(self, line: BuildLine, page: Signed | None) -> BuildLine:
        numbers = {part.part for part in line.parts} - {""}
        fitted = [record for record in self.assembly.fitted if record.part in numbers]
        signed = next((Signed.typed(record.by, None, record.date) for record in fitted if record.by), page)
        if undecided := [part for part in line.parts if part.new is None]:
            noted = [(part.name, part.note) for part in undecided if part.note]
            text = present(Sentence("{part}: {note}", part=name, note=note) for name, note in noted)
            return replace(line, state="open", state_text=text, signed=signed)
        if signed is not None:
            return replace(line, state="done", signed=signed)
        if fitted:
            return replace(line, state="not signed", state_text=Sentence("fitted, not signed"))
        return line

    def _tighten(self, line: BuildLine) -> BuildLine:
        group = self.bolts.get(line.name)
        line = replace(line, fastening=line.name)
        if group is None:
            return line
        line = replace(
            line,
            notes=(*line.notes, *([group.new] if group.new else ())),
            source=group.source,
            lubricant=line.lubricant or group.lubricant,
            signed=group.done[-1] if group.done else None,
        )
        accepted: list[str] = []
        for what, (state, text) in self._wrong_with(group):
            accepting = self._accepting(line, group, what)
            if not accepting:
                return replace(line, state=state, state_text=text)
            accepted += accepting
        if not group.done:
            return line
        return replace(line, state="done", state_text=_accepted(dict.fromkeys(accepted)))

    def _wrong_with(self, group: Fastening) -> Iterator[tuple[str, Judged]]:
        """What keeps bolts from being called tight, by what a deviation would have to accept.

        A stage that is not printed says so before anybody tightens by it; the rest is said once somebody has.
        """
        if group.withheld:
            yield "stages", ("open", present(group.withheld))
        if not group.done:
            return
        measure = self.engine.fasteners[group.name].measure
        beyond = [one for one in self.read if one.feature == measure and one.verdict == "beyond limit"]
        # that nothing has taken the place of, and no deviation covers
        if long := dict.fromkeys(bolt.position for bolt in beyond if bolt.key not in self.covered):
            words = Sentence("{bolts} beyond its limit for length", bolts=Several(long, " "))
            yield "length", ("out of limits", words)
        if group.odd_stretch:
            yield "stretch", ("out of limits", group.odd_stretch)

    def _accepting(self, line: BuildLine, group: Fastening, what: str) -> list[str]:
        """The line's deviations that accept this, by their key: words may say it in any way."""
        measure = self.engine.fasteners[group.name].measure
        named = {key: self.assembly.deviations[key] for key in line.deviations}
        return [
            key
            for key, deviation in named.items()
            if deviation.accepts == what or (what == "length" and deviation.about == measure)
        ]

    def _measure(self, line: BuildLine, step: BuildStep) -> BuildLine:
        """Values read since the engine was apart; older ones tell of the engine as it came."""
        feature = self.engine.features.get(line.name)
        if feature is None:
            return line
        values = self._since_apart(step)
        read_at = dict.fromkeys(v.position for v in values)
        wanted = tuple(step.positions or positions_of(self.engine, line.name) or read_at)
        state, text = self._judged(line, values, wanted)
        line = replace(line, wanted=wanted, state=state, state_text=text)
        if not values:
            return replace(line, columns=tuple(self._boxes(line.name, wanted)))
        read = (copied(BuildValue, value, column=value.name, value=value.value or 0.0) for value in values)
        accepted = [self.covered[value.key] for value in values if value.key in self.covered]
        return replace(
            line,
            columns=tuple(self._columns(line.name, values)),
            source=next((value.limits.source.text for value in values if value.limits), line.source),
            values=tuple(read),
            deviations=tuple(dict.fromkeys([*line.deviations, *accepted])),
        )

    def _since_apart(self, step: BuildStep) -> list[Characteristic]:
        """What was read of a step's feature since the engine was apart; what has a limit is checked here."""
        name = step.name
        values = [v for v in self.read if v.feature == name and v.round in self.in_apart]
        if name in self.engine.features and self.engine.features[name].kind == "end_float":
            # it is read with the shaft in: what was read for a decision is of shells and thrusts that were in
            values = [value for value in values if not self.timeline.apart_since(value.day)]
        if step.positions:
            values = [value for value in values if value.position in step.positions]
        if all(value.bound != "equal" for value in values):
            return []  # what worn or unread partners leave open is no reading of this line: it gets its boxes
        return [value for value in values if value.limits] or values

    def _judged(self, line: BuildLine, values: Sequence[Characteristic], wanted: Sequence[str]) -> Judged:
        """What a measured line comes to: out before missing, missing before too few readings."""
        bad = [value for value in values if value.verdict in DOUBTFUL and value.key not in self.covered]
        if bad:
            return _out(bad)
        lacking = self._lacking(line.name, values, wanted)
        if lacking or not values:
            unread = [key for key in line.deviations if self.assembly.deviations[key].accepts == "unread"]
            return ("done", _accepted(unread)) if unread else ("open", lacking)
        thin = dict.fromkeys(value.position for value in values if value.verdict == "not measured")
        if thin and not line.deviations:
            return "open", Sentence("too few readings: {places}", places=Several(thin, " "))
        return "done", _accepted(line.deviations) if thin else NOTHING

    def _columns(self, name: str, values: Sequence[Characteristic]) -> Iterator[BuildColumn]:
        """One column for each characteristic read, with the limits of the first value that has any."""
        kind = KINDS[self.engine.features[name].kind]
        leads: dict[str, Characteristic] = {}
        for value in values:
            if value.name not in leads or leads[value.name].limits is None:
                leads[value.name] = value
        for lead in leads.values():
            title, limits = Sentence(kind.trait(lead.name).title), lead.limits
            if limits is None:
                yield BuildColumn(lead.name, title, lead.unit, (None, None), lead.decimals)
                continue
            decimals, source = limits.decimals, limits.source.text
            yield BuildColumn(lead.name, title, lead.unit, limits.decides, decimals, source)

    def _boxes(self, name: str, wanted: Sequence[str]) -> Iterator[BuildColumn]:
        """What is to be read here, with its limits, before anything was."""
        feature = self.engine.features[name]
        kind = KINDS[feature.kind]
        sizes = {self.timeline.decided_size(name, position) for position in wanted}
        judged: set[str] = set()

        def decided(of: str) -> str:
            return self.timeline.decided_size(of, wanted[0]) if wanted else ""

        for characteristic in kind.characteristics(tuple(feature.columns), {*feature.new, *feature.wear}):
            trait = kind.trait(characteristic)
            # one limit is asked once: by it a mean is in order where its least and its greatest are
            if trait.optional and trait.column not in feature.columns and trait.limit in judged:
                continue
            judged.add(trait.limit)
            unit = unit_of(feature, trait, base_unit(feature.unit))
            known = limits_at(self.engine, name, trait, unit, decided)
            if known is None or (trait.limit == "size" and len(sizes) > 1):
                continue  # positions of several sizes have several limits
            title, source = Sentence(trait.title), known.source.text
            ends, worn = to_come_to(self.timeline, name, wanted, known)
            yield BuildColumn(characteristic, title, unit, ends, known.decimals, source, worn)

    def _lacking(self, feature: str, values: Sequence[Characteristic], wanted: Sequence[str]) -> Text:
        """Places without a reading; else characteristics with a limit that were not read at some: 'oil'."""
        read = {value.position for value in values}
        if missing := [position for position in wanted if position not in read]:
            places = Several(where_on(self.engine, feature, missing)) if read else NOTHING
            if not places:  # all of them, whose boxes stand below
                return Sentence("not read since it was apart")
            return Sentence("not read since it was apart: {places}", places=places)
        names = dict.fromkeys(v.name for v in self.unread if v.feature == feature and v.position in wanted)
        if not values or not names:
            return NOTHING
        what = present(Sentence(name.replace("_", " ")) for name in names)
        return Sentence("not read: {what}", what=what)

    def _check(self, line: BuildLine, step: BuildStep) -> BuildLine:
        column = _limit_of(step, line.source)
        line = replace(line, wanted=tuple(step.positions), columns=(column,) if step.limit else ())
        records = [record for record in self.assembly.checks if step.called(record.check)]
        if not records:
            return line
        last = records[-1]
        found = [Typed(text) for record in records for text in (record.found, record.note) if text]
        line = replace(
            line,
            values=tuple(value for record in records if (value := _value(record, column))),
            found=present(found),
            signed=Signed.typed(last.by, last.witness, last.date),
        )
        state, text = _checked(line, step, records)
        return replace(line, state=state, state_text=text)


def _accepted(deviations: Collection[str]) -> Text:
    if not deviations:
        return NOTHING
    return Sentence("accepted by {deviations}", deviations=Several(deviations))


def _mark_state(mark: MarkLine, brought: MarkBrought) -> Judged:
    """What bringing a mark together comes to; one of our own proves nothing until it is proved right."""
    if not brought.agrees:
        return "out of limits", Sentence("does not agree with the register")
    if mark.trust != "factory" and not brought.verified:
        return "open", Sentence("brought together, not proved right yet")
    if not two_people(brought.by, brought.witness):
        return "not signed", ONE_NAME
    return "done", NOTHING


def _out(bad: Sequence[Characteristic]) -> Judged:
    """Values beyond their limits, or too near to them: only the first surely put a line out."""
    said = dict.fromkeys((value.position, value.verdict) for value in bad)
    text = Several(Several([place, Sentence(verdict)], " ") for place, verdict in said)
    return "out of limits" if any(v.verdict == "beyond limit" for v in bad) else "open", text


def _checked(line: BuildLine, step: BuildStep, records: Sequence[Checked]) -> Judged:
    """What a check comes to, which somebody has signed."""
    beyond = any(value.verdict == "beyond limit" for value in line.values)
    if beyond or False in [record.good for record in records]:
        if line.deviations:
            return "done", _accepted(line.deviations)
        return "out of limits", Sentence("not as it should be")
    if step.limit is not None and not line.values:
        return "open", Sentence("signed without its value")
    seen = {position for record in records for position in record.positions}
    if missing := [position for position in step.positions if position not in seen]:
        return "open", Sentence("not yet: {places}", places=span(missing))
    return "done", NOTHING


def _held(line: BuildLine, point: HoldPointRecord) -> BuildLine:
    signed = Signed.typed(point.by, point.witness, point.date, point.note)
    if two_people(point.by, point.witness):
        return replace(line, state="done", signed=signed)
    return replace(line, state="not signed", state_text=ONE_NAME, signed=signed)


def _limit_of(step: BuildStep, source: Text) -> BuildColumn:
    """What a check is to come to; open where the sheet says it in words."""
    if step.limit is None:
        return BuildColumn("", NOTHING, "", (None, None), 0, source)
    ends = (step.limit.low, step.limit.high)
    unit = next((end.unit for end in ends if end and end.unit), "")
    return BuildColumn("", NOTHING, unit, step.limit.within(unit), step.limit.decimals, source)


def _value(record: Checked, column: BuildColumn) -> BuildValue | None:
    """The value of a check against its limit; None where it has none, or one of another dimension."""
    typed, unit = record.value, column.unit
    if typed is None:
        return None
    try:
        value = typed.to(unit) if unit else typed.value
    except (quantities.WrongDimension, quantities.UnknownUnit):
        return None  # reported at its line
    low, high = column.limits
    beyond = (low is not None and value < low - ROUNDING) or (high is not None and value > high + ROUNDING)
    verdict = "beyond limit" if beyond else "as new" if unit else ""
    where = " ".join(record.positions)
    return BuildValue("", where, value, unit or typed.unit, typed.decimals, verdict)
