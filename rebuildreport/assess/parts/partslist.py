"""The parts list, derived: every line says because of what it is there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, amid, message
from ...records import JobFolder
from ...records.files.sheet import ChoiceRule, Engine
from ...records.files.sizes import STANDARD, key_of
from ..measure.observations import base_unit, of_whole_engine
from ..measure.timeline import Timeline, sized
from ..measure.titles import bolts_title, feature_title, span, titled
from ..model.assessment import Characteristic
from ..model.choice import Choice as Chosen
from .lookup import by_table, unsure, weighed
from .needed import Ground, bolts_renewed, counted_once, made_or_found, own_places, takes_its_place
from .needed import Need as Need
from .shellsets import ChosenSet, ShellSets, no_such_size
from .unbought import bored_for_nothing, half_bought, no_line, open_set, to_be_bought, unbought

UNDECIDED = ("measure_again", "hold_for_customer")  # dispositions by which nothing is bought yet


class PartsList:
    """Gathers needs from rules, joints, verdicts, findings and decisions."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        timeline: Timeline,
        found: list[Characteristic],
        chosen: tuple[Chosen, ...] = (),
        to_come_off: Iterable[str] = (),
    ) -> None:
        # parts of which a choice by grade, class or thickness says how many
        sets = {part for one in engine.features.values() for part in one.sets.values()}
        self.chosen = {
            one.name: [buy for buy in one.buy if buy.part and (one.kind == "rings" or buy.part not in sets)]
            for one in to_be_bought(job, chosen)
        }
        self.set_by_shims = {name for one in engine.shims.values() for name in one.clearance}
        self.counted = {buy.part for bought in self.chosen.values() for buy in bought}
        self.engine, self.job, self.timeline, self.found, self.made = engine, job, timeline, found, chosen
        self.of: dict[tuple[str, str, str], list[Characteristic]] = {}
        for one in found:
            self.of.setdefault((one.feature, one.name, one.position), []).append(one)
        self.to_come_off = to_come_off  # by the access plan
        self.needs: dict[str, Need] = {}
        self.questions: list[Text] = []
        self.in_the_files: list[Text] = []  # what the shop's own files lack: no matter of the customer's
        self.sets = ShellSets(engine, job, timeline)

    def gather(self) -> list[Need]:
        """Every need, in the order of the sheet's parts; what is not on the sheet comes last."""
        for part, count in self.engine.always.items():
            need = self._need(part, Sentence("with every rebuild"))
            need.always = 0 if part in self.counted else count
        self._chosen()
        self._joints()
        self._beyond_limit()
        self._findings()
        self._decisions()
        for part, why, name, grounds in made_or_found(self.engine, self.job, self.timeline):
            self._need(part, why, count=1, name=name).grounds += grounds
        for extra in self.job.written_work.parts:
            self._need(extra.part, Typed(extra.why), count=extra.quantity)
        for component, ground, why, places in list(unbought(self.engine, self.job, self.needs.values())):
            sheet = self.engine.features.get(component)
            title = feature_title(self.engine, component) if sheet else titled(component)
            where = Several([title, *([span(places)] if places else [])], " ")
            words = Sentence("{what}, to be replaced: no part on the list yet", what=where)
            self._need(open_set(component), why, places, ground=ground, name=words).whole = True
            self._note(no_line(title, component, ground, sheet))
        for bores, decision in list(bored_for_nothing(self.engine, self.job, self.needs.values())):
            decided, title = self.job.decisions[decision], feature_title(self.engine, bores)
            what = message("what runs in the {bores} at {size}: no part on the list yet")
            words = Sentence(what, bores=amid(title), size=sized(decided.size))
            self._need(open_set(bores), Typed(decided.why), ground=decision, name=words).whole = True
            asked = message(
                "{bores}: what runs there is not bought; write it under 'parts:' with 'for: {decision}'"
            )
            self._note(Sentence(asked, bores=title, decision=decision))
        undecided = Sentence("its readings or its size decide")
        for choice, lacks in half_bought(self.job, self.made):
            if open_set(choice) in self.needs:
                continue  # its line says already that nobody knows which
            self._need(f"{choice} not settled", undecided, name=lacks).whole = True
        for note in counted_once(self.engine, self.needs.values()):
            self._note(note)
        order = {part: index for index, part in enumerate(self.engine.parts)}
        return sorted(self.needs.values(), key=lambda need: order.get(need.part, len(order)))

    def replaced(self, feature: str, position: str) -> bool:
        """Whether a part of this list takes the place of what was measured there."""
        sheet, instead = self.engine.features[feature], takes_its_place(self.engine, feature)
        sets = {*sheet.sets.values(), open_set(feature)} if sheet.kind == "shells" else set()
        return any(
            need.part in sets or (need.part in instead and position in (need.positions or [position]))
            for need in self.needs.values()
        )

    def renewed(self, feature: str, position: str, day: date) -> bool:
        """The same of what was read there on a day, where no part was put in since."""
        return self.replaced(feature, position) and not self.timeline.went_in(feature, position, day)

    def _need(
        self,
        part: str,
        because: Text,
        positions: list[str] | None = None,
        count: int = 0,
        ground: Ground | None = None,
        name: Text = NOTHING,
        where: Text = NOTHING,
    ) -> Need:
        need = self.needs.setdefault(part, Need(part, name))
        known = part in self.counted  # how many: here is one more reason
        if positions and not known:
            need.positions += positions
        elif not known:
            need.count += count
        places = need.reasons.setdefault(because, [])
        if where and where not in places:
            places.append(where)
        if ground is not None and ground not in need.grounds:
            need.grounds.append(ground)
        return need

    def _chosen(self) -> None:
        """What choices by measurement ask for: how many of each part, and which for where."""
        for name, bought in self.chosen.items():
            mine = [choice for choice in self.made if choice.name == name and not choice.on_paper]
            words = message("chosen by measurement")
            if any(choice.status == "provisional" for choice in mine):
                words = message("chosen by measurement, provisional")
            decisions = (choice.decision for choice in mine if choice.decision)
            grounds = dict.fromkeys([*self._condemned_by(name), *decisions])
            sheet = self.engine.features.get(name)
            own = {*sheet.sets.values()} if sheet and sheet.kind == "ring_gap" else None
            for buy in bought:
                need = self.needs.setdefault(buy.part, Need(buy.part))
                need.count += buy.quantity
                need.reasons.setdefault(Sentence(words), [])
                if own is not None and buy.part not in own:
                    continue  # the pistons that rings are bought with: their bores and findings ask for them
                need.grounds += [ground for ground in grounds if ground not in need.grounds]

    def _condemned_by(self, name: str) -> Iterator[str]:
        """Findings by which what a choice is made for goes out."""
        sheet = self.engine.features.get(name)
        about = {name, sheet.part if sheet else None}
        for key, finding in self.job.seen.items():
            if finding.disposition == "replace" and finding.component in about:
                yield key

    def _joints(self) -> None:
        """What was or will be opened is closed with new gaskets; bolts of two joints are one set of bolts."""
        taken = [step.removed for step in self.job.written_teardown.steps]
        closed = {one.fasteners for one in self.job.tightened}
        put_on = [name for name, one in self.engine.joints.items() if closed & {*one.fasteners}]
        opened = dict.fromkeys([*taken, *self.to_come_off, *put_on])
        joints = {name: self.engine.joints[name] for name in opened if name in self.engine.joints}
        if not joints and self.engine.joints and not self.job.record.arrival.only and self._inside():
            self._note(
                Sentence(
                    "parts were read, and nothing is named that came off: write it under 'steps:' in "
                    "teardown.yaml, or the estimate lacks the gaskets of what was opened"
                )
            )
        for name, joint in joints.items():
            for part, count in joint.uses.items():
                choice = self.engine.choices.get(part)
                if choice is not None:
                    self._choose(part, choice, count)
                else:
                    self._need(part, Sentence("joints opened"), count=count, where=amid(titled(name)))
        self._bolts(dict.fromkeys(group for joint in joints.values() for group in joint.fasteners))

    def _bolts(self, groups: Iterable[str]) -> None:
        words = message("{what}: measure each before deciding which go back in")
        read = {one.feature for one in self.found if one.value is not None}
        for group in groups:
            bolts = self.engine.fasteners.get(group)
            if bolts is not None and bolts.reuse == "never":
                need = self._need(bolts.part, Sentence("used once only"))
                need.renewed += 0 if bolts.part in self.counted else bolts.quantity
            elif bolts is not None and bolts.reuse == "by_measure" and bolts.measure not in read:
                self.questions.append(Sentence(words, what=bolts_title(self.engine, group)))

    def _inside(self) -> bool:
        """Whether something was read that no engine shows that is together."""
        read = (self.engine.features[one.feature] for one in self.found if one.value is not None)
        return any(not of_whole_engine(sheet) for sheet in read)

    def _choose(self, name: str, choice: ChoiceRule, count: int) -> None:
        """A part that a measurement chooses; its candidates where nothing was measured yet."""
        by = amid(feature_title(self.engine, choice.by))
        read = [one for one in self.found if one.feature == choice.by and one.value is not None]
        standing = [one for one in read if one.stands]
        if standing and self._by_table(name, choice, by, standing, count):
            return
        candidates = ", ".join(choice.table)
        why = Sentence("{what} decides which: {candidates}", what=by, candidates=candidates)
        words = Sentence("{what}, one of {which}", what=amid(titled(name)), which=candidates)
        self._need(name, why, count=count, name=words)

    def _by_table(
        self, name: str, choice: ChoiceRule, by: Text, standing: list[Characteristic], count: int
    ) -> bool:
        """The part for the highest of what was read; whether there is one."""
        measured = self.engine.features[choice.by]
        unit = choice.unit or measured.unit or "mm"
        top = max(standing, key=lambda one: one.value or 0.0)
        highest = quantities.convert(top.value or 0.0, base_unit(unit), unit)
        decimals = max((limit.decimals for limit in choice.table.values()), default=2)
        said = Figure(f"{highest:.{decimals}f} {unit}")
        fits = by_table(choice, top.value or 0.0, top.guard or 0.0, base_unit(unit), unit)
        fits = weighed(name, fits, self.made)
        if not fits:
            none = message("{part}: {what} of {value} fits none of the table")
            self.questions.append(Sentence(none, part=titled(name), what=by, value=said))
            return False
        why = Sentence("chosen by {what}: highest {place}, {value}", what=by, place=top.position, value=said)
        self._need(fits[0], why, count=count)
        read = {one.position for one in standing}
        unread = [position for position in measured.positions if position not in read]
        self.questions += unsure(titled(name), by, unread, said, fits)
        return True

    def _beyond_limit(self) -> None:
        """What was read beyond its limit is bought, unless something else mends it, or it was since."""
        unsaid: dict[tuple[str, date, date], list[str]] = {}
        for one in self.found:
            if one.verdict != "beyond limit" or not self._bought_for(one.feature, one.position):
                continue
            if self._mended(one):
                continue
            if self.timeline.gone(one.feature, one.position, one.day):
                continue
            again = max(self._read_again(one), key=lambda value: value.day, default=None)
            if again is not None:
                decided = self._decided(one, "replace") or one.feature in self.set_by_shims
                if again.verdict != "as new" or decided:
                    # that reading speaks for it; or that decision is on the list, as are the shims that a
                    # clearance was set with
                    continue
                if not self._came_in(one, again.day):
                    # wear does not heal: it was renewed, and nobody wrote that down
                    where = unsaid.setdefault((one.feature, one.day, again.day), [])
                    where += [one.position] if one.position not in where else []
            self._buy_for(one)
        for (name, day, since), places in unsaid.items():
            words = message(
                "{where}: beyond limit on {day}, as new on {since}, and nothing decided between: "
                "renewed, or was the first reading wrong?"
            )
            where_ = Several([feature_title(self.engine, name), Several(places)], " ")
            self._ask(Sentence(words, where=where_, day=day, since=since))

    def _came_in(self, one: Characteristic, day: date) -> bool:
        """Whether what takes its place was bought for it and was here on a day."""
        wanted = takes_its_place(self.engine, one.feature)
        here = {
            self.engine.number_now(order.part)
            for order in self.job.written_work.orders
            if order.received is not None and one.day <= order.received <= day
        }
        return bool(wanted) and here.issuperset(wanted)

    def _bought_for(self, feature: str, position: str) -> bool:
        """Whether the sheet names a part or a set that is bought for what was read there."""
        sheet = self.engine.features[feature]
        set_of_shells = sheet.kind == "shells" and sheet.sets
        if not set_of_shells and not takes_its_place(self.engine, feature):
            return False
        return position in own_places(self.engine, feature)

    def _mended(self, one: Characteristic) -> bool:
        """Whether it is reworked, kept, or filed: or one of the surfaces of a fit is machined."""
        if one.filing > 0.0 or self._decided(one, "recondition", "reuse"):
            return True
        sheet = self.engine.features[one.feature]
        joined = sheet.links(("outer", "inner")).values() if not sheet.positions else ()
        return any(self._decided(replace(one, feature=name), "recondition") for name in joined)

    def _buy_for(self, one: Characteristic) -> None:
        sheet = self.engine.features[one.feature]
        why = Sentence("{what} beyond limit", what=feature_title(self.engine, one.feature))
        for part in takes_its_place(self.engine, one.feature):
            self._part(part, why, [one.position], one.feature, one.key)
        if sheet.kind == "shells" and sheet.sets:
            self._set(one.feature, why, one.key)

    def _decided(self, one: Characteristic, *what: str) -> bool:
        """Whether one of these was decided since the reading; a part that is kept is not bought."""
        return any(
            decision.do in what
            and decision.date >= one.day
            and (one.feature, one.position) in self.timeline.spots(decision.about, decision.positions)
            for decision in self.job.decisions.values()
        )

    def _read_again(self, one: Characteristic) -> Iterator[Characteristic]:
        """Values of later rounds, read on the same surface."""
        for other in self.of[one.feature, one.name, one.position]:
            if other.round == one.round or other.day <= one.day or other.value is None:
                continue
            if not self.timeline.ended(one.feature, one.position, one.day, other.day):
                yield other

    def _findings(self) -> None:
        """What is condemned, and what a finding needs whatever is done: a thread insert is no new thread."""
        for name, finding in self.job.seen.items():
            replaced = finding.disposition == "replace"
            if not replaced and (not finding.needs or finding.disposition in UNDECIDED):
                continue
            component = finding.component
            sheet = self.engine.features.get(component)
            title = feature_title(self.engine, component) if sheet else titled(component)
            why: Text = Sentence(
                "{where}: {seen}", where=Several([title, *finding.positions], " "), seen=finding.seen[0]
            )
            if finding.title:
                why = Typed(finding.title)
            every = self.timeline.spots(component, list(finding.positions))
            if every and not finding.needs and all(self.timeline.taken(*spot) for spot in every):
                continue  # a candidate takes its place
            # no positions: all of the feature's, as in decisions
            positions = list(finding.positions or own_places(self.engine, component))
            for part in finding.needs:
                self._part(part, why, positions, component, name)
            if not finding.needs:
                self._goes_out(component, why, positions, name)
            sets = set(sheet.sets.values()) if sheet else set()
            if replaced and sets and sets.isdisjoint(finding.needs):
                self._set(component, why, name)

    def _decisions(self) -> None:
        for name, decision in self.job.decisions.items():
            about, why = decision.about, Typed(decision.why)
            if candidate := self.job.candidates.get(decision.with_):
                title = Typed(candidate.title)
                need = self._need(decision.with_, why, count=1, ground=name, name=title)
                need.price = candidate.price
                continue
            positions = list(decision.positions or own_places(self.engine, about))
            if decision.do == "replace":
                self._goes_out(about, why, positions, name)
            elif decision.size:
                self._rings_of(about, why, decision.positions, name, decision.size)
            sheet = self.engine.features.get(about)
            if sheet is None:
                continue
            if decision.do == "replace" and sheet.kind == "shells" and sheet.sets:
                self._set(about, why, name, decision.size, STANDARD)
            if decision.size in {self.timeline.decided_size(about, position) for position in positions}:
                self._of_size(about, decision.size, name)

    def _rings_of(self, bored: str, why: Text, positions: Sequence[str], ground: str, size: str) -> None:
        """Old rings do not fit a bore of another size, whatever their gaps were."""
        for name, sheet in self.engine.of_kind("ring_gap").items():
            bores = sheet.link("bores")
            if bores and bored in (bores, self.engine.features[bores].part):
                self._goes_out(name, why, [*(positions or own_places(self.engine, name))], ground)
                if not sheet.sets and key_of(size) != STANDARD:
                    self._lacking(name, size)

    def _of_size(self, surface: str, size: str, ground: str) -> None:
        """The sets that follow the size that a surface is decided to have."""
        if not size:
            return
        why = Several([amid(feature_title(self.engine, surface)), sized(size)], " ")
        following = self.sets.of_surface(surface)
        for feature in following:
            self._set(feature, why, ground, size)
        joined = next((fit.shells for fit in self.engine.fits(journal=surface)), "")
        bought = following or self.sets.other_of(joined, size)
        if not bought and (joined or self.engine.features[surface].undersizes):
            self._lacking(joined or surface, size)

    def _goes_out(self, about: str, why: Text, positions: list[str], ground: str) -> None:
        """What is bought in the place of a group of bolts, or of what is measured there."""
        if about in self.engine.fasteners:
            bolts, places, count = bolts_renewed(self.engine, about, positions)
            if places or count:
                self._need(bolts, why, positions=places, count=count, ground=ground)
        instead = takes_its_place(self.engine, about)
        for part in instead:
            self._part(part, why, positions, about, ground)
        if not instead and (bores := self.sets.bores_of(about)):
            for part, places in self.sets.of_places(bores, positions).items():
                if part:
                    self._need(part, why, positions=places, ground=ground)

    def _part(self, part: str, because: Text, positions: list[str], component: str, ground: Ground) -> None:
        """A part as it was named; of shell sets, whichever it was, the one of the size decided."""
        holding = self.sets.holding(part, component)
        if holding and self.engine.features[holding].kind == "bore" and positions:
            for own, places in self.sets.of_places(holding, positions, undecided=part).items():
                self._need(own or part, because, positions=places, ground=ground)
            return
        if holding:
            self._set(holding, because, ground, undecided=part)
            return
        count = 0 if positions else 1
        need = self._need(part, because, positions=positions, count=count, ground=ground)
        need.each = self.engine.part(part).per == "each"
        for position in positions if component in self.engine.features else []:
            asking = need.places.setdefault(position, [])
            asking += [] if component in asking else [component]

    def _set(self, feature: str, because: Text, ground: Ground, size: str = "", undecided: str = "") -> None:
        """The set for a feature by the decided size; ``undecided``: the set where no size is decided."""
        sets = self.engine.features[feature].sets
        chosen = self.sets.chosen(feature, size)
        if chosen is None and undecided in sets:
            chosen = self.sets.chosen(feature, undecided)
        parts = chosen.parts if chosen else {undecided} & {*sets.values()}
        for part in parts:
            each = self.sets.bored_for(feature, part)  # of pistons one for each bore of that size
            need = self._need(part, because, positions=each, ground=ground)
            need.whole = part not in self.counted and not each
        if not parts or (chosen and chosen.lacking):
            what = self._still_open(feature, chosen)
            self._need(open_set(feature), because, ground=ground, name=what).whole = True

    def _still_open(self, feature: str, chosen: ChosenSet | None) -> Text:
        """What is to be bought where the sheet has no set of this size, or no size is decided."""
        title = amid(feature_title(self.engine, feature))
        if chosen:
            self._lacking(feature, *chosen.lacking)
            sizes = Several(map(sized, chosen.lacking))
            return Sentence("{what}, {sizes}: not on the sheet", what=title, sizes=sizes)
        surface = self.sets.surface(feature)
        asked = any(choice.name == surface and choice.size_open for choice in self.made)
        if surface and not asked:
            words = message("{what}: which set depends on what is done to the {surface}")
            decides = amid(feature_title(self.engine, surface))
            self._ask(Sentence(words, what=feature_title(self.engine, feature), surface=decides))
        offered = Several(self.engine.features[feature].sets.values())
        return Sentence("{what}, size not decided: one of {which}", what=title, which=offered)

    def _lacking(self, feature: str, *sizes: str) -> None:
        """A size without a set: what to write, and where; for a crank that came alone nobody buys shells."""
        title = feature_title(self.engine, feature)
        for size in () if self.job.record.arrival.only else sizes:
            self._note(no_such_size(title, feature, size))

    def _ask(self, question: Text) -> None:
        if question not in self.questions:
            self.questions.append(question)

    def _note(self, text: Text) -> None:
        if text not in self.in_the_files:
            self.in_the_files.append(text)
