"""Every characteristic of every round: kinds applied to what stood, judged by the limits in force."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date

from ... import quantities
from ...quantities import NOTHING, Figure, Sentence, Text, as_printed, show
from ...records import JobFolder
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...records.files.sizes import steps_of
from ...records.text.fields import bare_or_unit
from ...trade.engine import bearings
from ...trade.kinds import KINDS, Computed, Inputs, Kind, KnownWalls, Readings, Trait
from ...trade.measuring import verdict
from ...trade.measuring.form import is_size, sizes
from ...trade.measuring.uncertainty import Measured
from ..model.assessment import Characteristic, Limits
from .fitted import bands_at, decided_walls
from .judging import OPEN, by_warmth, ends_in, fitness, limits_for, opinion, settle, unit_of
from .observations import Occasion, base_unit
from .timeline import Standing, Timeline, step_in_mm
from .titles import feature_title as feature_title
from .titles import titled as titled
from .titles import trait_title as trait_title

WORN = Sentence("worn shells not measured")
BAND = Sentence("predicted from the wall band of the new shells")
WALLS = Sentence("measured walls")
OTHER_NEW = "{half} wall measured, the other from the wall band of the new shells"
OTHER_WORN = "{half} wall measured, the other not, so at most as thick as new"


class Workings:
    """Works through the rounds of a job in order and keeps what stands after each."""

    def __init__(
        self, shop: Shop, engine: Engine, job: JobFolder, taken: list[Occasion], timeline: Timeline
    ) -> None:
        self.shop, self.engine, self.job = shop, engine, job
        self.taken, self.timeline = taken, timeline
        self.standing: dict[str, Standing] = {name: Standing() for name in engine.features}
        self.found: list[Characteristic] = []
        self._limits: dict[tuple[str, str, str, str, float], Limits | None] = {}
        self._told: set[tuple[str, str, str, float]] = set()  # what was found, with its value

    def run(self) -> list[Characteristic]:
        """All characteristics in the order of the rounds; ``stands`` is settled afterwards."""
        by_round: dict[str, list[Occasion]] = {}
        for one in self.taken:
            by_round.setdefault(one.round, []).append(one)
        for ones in by_round.values():
            fresh: dict[str, set[str]] = {}
            for one in ones:
                self._stand(one)
                fresh.setdefault(one.feature, set()).update(one.readings)
                self._single(one)
            self._fits(ones, fresh)
        return self.found

    def _stand(self, one: Occasion) -> None:
        """Let the newest readings take the place of those that no longer hold."""
        now = self.standing[one.feature]
        for position, columns in one.readings.items():
            before = now.taken.get(position)
            if before is None or self.timeline.ended(one.feature, position, before.date, one.date):
                now.readings[position] = {}
            # a later table of the same spots replaces them; another column joins them
            now.readings[position] = {**now.readings.get(position, {}), **columns}
            now.taken[position] = one

    def _single(self, one: Occasion) -> None:
        feature = self.engine.features[one.feature]
        kind = KINDS.get(feature.kind)
        if kind is None or kind.links:
            return
        stood = self._readings_at(one.feature, one.date)
        computed = kind.compute(self._inputs(one.feature, feature, kind, stood, one))
        raw = self._raw(one, feature, kind) if one.warm and one.corrected else {}
        for item in computed:
            rests_on = set(item.uses) or {item.position}
            if rests_on & set(one.readings):
                self._add(one.feature, feature, kind, item, one, raw)

    def _raw(self, one: Occasion, feature: FeatureRecord, kind: Kind) -> dict[tuple[str, str], float]:
        inputs = self._inputs(one.feature, feature, kind, one.raw, one)
        return {
            (item.position, item.name): item.measured.value
            for item in kind.compute(inputs)
            if item.measured is not None
        }

    def _readings_at(self, name: str, day: date) -> dict[str, dict[str, Measured]]:
        """Readings of a feature that hold on a day: those of positions changed since are left out."""
        stood = self.standing[name]
        return {
            position: columns
            for position, columns in stood.readings.items()
            if not self.timeline.ended(name, position, stood.taken[position].date, day)
        }

    def _inputs(
        self,
        name: str,
        feature: FeatureRecord,
        kind: Kind,
        readings: Mapping[str, Mapping[str, Measured]],
        one: Occasion | None,
        day: date | None = None,
    ) -> Inputs:
        unit = base_unit(feature.unit)
        links = feature.links(kind.links)
        scale = quantities.factor(feature.unit, unit) if feature.unit else 1.0
        aim = feature.aim_above_minimum
        ends = {key: ends_in(limit, unit, feature.unit or unit) for key, limit in feature.new.items()}
        partners = {key: _sizes(self._readings_at(link, day)) for key, link in links.items() if day}
        return Inputs(
            positions=tuple(feature.positions or self._positions(links.values())),
            columns=tuple(feature.columns or ()),
            readings=readings,
            repeats=one.repeats if one else {},
            partners=partners,
            partner_columns={
                k: tuple(c for c in self.engine.features[v].columns or () if is_size(c))
                for k, v in links.items()
            },
            walls=self._walls(links, day) if day and "shells" in links else {},
            direction=feature.direction or "",
            least={key: end for key, (end, _) in ends.items() if end is not None},
            most={key: end for key, (_, end) in ends.items() if end is not None},
            aim_above=(aim.to(unit) if aim.unit else aim.value * scale) if aim else 0.0,
            guard_factor=verdict.GUARD_FACTOR if self.shop.decision_rule == "guarded" else 0.0,
            step=one.instrument.resolution if one else 0.0,
            stations=tuple(at for _, at in steps_of(at)) if (at := feature.further.get("stations")) else (),
            given=self._given(feature, kind),
            limited=frozenset({*feature.new, *feature.wear}),
            banks=tuple(tuple(bank) for bank in self.engine.layout.banks),
        )

    def inputs_on(self, name: str, readings: Callable[[str], Readings]) -> Inputs:
        """What a feature would be worked out from, if these were the readings of it and its partners."""
        feature = self.engine.features[name]
        kind = KINDS[feature.kind]
        partners = {key: _sizes(readings(link)) for key, link in feature.links(kind.links).items()}
        return replace(self._inputs(name, feature, kind, readings(name), None), partners=partners)

    def _given(self, feature: FeatureRecord, kind: Kind) -> dict[str, float]:
        """The engine's geometry and the numbers of the kind, each in the base unit of its dimension."""
        layout = self.engine.layout
        numbers = {"cylinders": float(layout.cylinders)}
        numbers |= {key: typed.to("mm") for key in ("bore", "stroke") if (typed := getattr(layout, key))}
        for key, wanted in kind.given.items():
            if not wanted.many and (text := feature.further.get(key)) is not None:
                number = bare_or_unit(text)
                base = base_unit(feature.unit) if wanted.dimension == "feature" else ""
                base = base or quantities.units.BASE.get(wanted.dimension, "")
                typed_in = number.unit or (feature.unit if wanted.dimension == "feature" else "")
                scale = quantities.factor(typed_in, base) if typed_in and base else 1.0
                numbers[key] = number.value * scale
        return numbers

    def _positions(self, links: Iterable[str]) -> list[str]:
        for link in links:
            positions = self.engine.features[link].positions
            if positions:
                return positions
        return []

    def _walls(self, links: Mapping[str, str], day: date) -> dict[str, KnownWalls]:
        shells, journal = links["shells"], links.get("journal", "")
        feature = self.engine.features[shells]
        measured = self._readings_at(shells, day)
        known: dict[str, KnownWalls] = {}
        halves = bearings.halves(feature.columns or ("upper", "lower")) or ()  # (): the sheet's error
        for position in (feature.positions or []) if halves else ():
            columns = measured.get(position, {})
            read = [half for half in halves if half in columns]
            if len(read) == len(halves):
                both = bearings.Walls(columns[halves[0]], columns[halves[-1]])
                known[position] = KnownWalls(both, WALLS)
                continue
            new = not self.timeline.state(shells, position, day).used
            fitted = decided_walls(self.job, feature, shells, position) if new else None
            step = -step_in_mm(self.timeline.size(journal, position, day)) if journal else 0.0
            bands = fitted
            if not fitted and not (new and feature.codes):
                # codes say what was fitted once, and not what is bought now
                bands = bands_at(self.engine, self.job, shells, position, step)
            if bands is None:
                continue
            walls = [
                columns[half]
                if half in read
                else bearings.wall_from_band(*one, f"{shells} {position} {half}")
                if new
                # a worn wall is at most what it was new: the thickest new one gives the least clearance
                else Measured(one[1])
                for half, one in zip(halves, bands, strict=False)  # a bush has one wall
            ]
            basis = BAND if new else WORN
            if read:
                basis = Sentence(OTHER_NEW if new else OTHER_WORN, half=Sentence(read[0].replace("_", " ")))
            both = bearings.Walls(walls[0], walls[-1])
            known[position] = KnownWalls(both, basis, "equal" if new else "at least")
        return known

    def _fits(self, ones: list[Occasion], fresh: dict[str, set[str]]) -> None:
        day = max(one.date for one in ones)
        for name, feature in self.engine.features.items():
            kind = KINDS.get(feature.kind)
            if kind is None or not kind.links:
                continue
            links = list(feature.links(kind.links).values())
            touched = set().union(*(fresh.get(link, set()) for link in [*links, name]))
            if not touched:
                continue
            own = self._own(name, feature, kind, day)
            for item in kind.compute(self._inputs(name, feature, kind, own, None, day)):
                rests_on = set(item.uses or (item.position,))
                if item.direct and not rests_on & fresh.get(name, set()):
                    continue  # it stands where it was read, and says nothing of what was made since
                if touched & rests_on and not self._said(name, kind, item):
                    # what was worked out has the digits and the instrument of its partners, what was
                    # read directly those of its own table
                    here = [one for one in reversed(ones) if rests_on & set(one.readings)]
                    source = next(
                        one
                        for wanted in (([name], links) if item.direct else (links, [name]))
                        for one in here
                        if one.feature in wanted
                    )
                    self._add(name, feature, kind, item, source, {}, day)

    def _own(self, name: str, feature: FeatureRecord, kind: Kind, day: date) -> Readings:
        """A fit's own readings that hold on a day: none of what a partner was machined or replaced since."""
        taken = self.standing[name].taken
        ended = self.timeline.ended
        partners = [link for key, link in feature.links(kind.partners).items() if key != "journal"]
        return {
            position: columns
            for position, columns in self._readings_at(name, day).items()
            if not any(ended(link, position, taken[position].date, day) for link in partners)
        }

    def _said(self, name: str, kind: Kind, item: Computed) -> bool:
        """Whether a value of the feature's own readings was worked out before."""
        return (
            bool(kind.optional_partners)
            and item.measured is not None
            and (name, item.name, item.position, item.measured.value) in self._told
        )

    def _again(self, name: str, feature: FeatureRecord, kind: Kind, position: str, day: date) -> bool:
        """Whether the surface (for a fit, one of its partners) is used again as it is."""
        links = list(feature.links(kind.again_by or kind.links).values())
        if kind.optional_partners or not links:
            links.append(name)  # it is read by itself, and only rests on the others
        return any(self.timeline.state(link, position, day).used for link in links)

    def _add(
        self,
        name: str,
        feature: FeatureRecord,
        kind: Kind,
        item: Computed,
        one: Occasion,
        raw: Mapping[tuple[str, str], float],
        day: date | None = None,
    ) -> None:
        """Keep one value; ``day``: of a fit, which was worked out when all of its round was read."""
        trait = kind.trait(item.name)
        unit = unit_of(feature, trait, one.unit)
        again = all(
            self._again(name, feature, kind, position, one.date) for position in item.uses or (item.position,)
        )
        size, wall_step = self._size(name, feature, kind, item.position, one.date)
        key = (name, item.name, unit, size, wall_step)  # the same for most positions
        if key not in self._limits:
            self._limits[key] = limits_for(self.engine, feature, trait, unit, size, wall_step)
        limits = self._limits[key]
        said = opinion(item, trait, limits, again, self.shop, raw.get((item.position, item.name)))
        note = item.note
        told = not again and said.verdict in ("as new", "beyond limit")
        if not kind.judged and trait.limit not in feature.wear and not told:
            # a worn wall is thinner than any new one, and a new one is there to choose by: of both the
            # clearance that they give is what is judged; only a shell that is surely another is told apart
            said = replace(
                said, verdict="no limit on file", end="", side=NOTHING, advice=NOTHING, decides=OPEN
            )
            note = Sentence("its clearance is what is judged")
        if limits is not None:
            limits = replace(
                limits, decides=said.decides, deciding="wear" if said.deciding == "wear" else "new"
            )
        advice = said.advice or self._advice(said.verdict, item, limits, one, unit, trait)
        if item.filing and item.measured:
            amount, gap = (
                self._plain(v, unit, one, item) for v in (item.filing, item.measured.value + item.filing)
            )
            note = Sentence("file {amount} off the ring's ends, to {gap}", amount=amount, gap=gap)
            words = "file to fit: {amount} off the ring's ends, to {gap}"
            advice = Sentence(words, amount=amount, gap=gap) if said.end else advice
        measured = item.measured
        if measured is not None:
            self._told.add((name, item.name, item.position, measured.value))
        self.found.append(
            Characteristic(
                feature=name,
                name=item.name,
                position=item.position,
                round=one.round,
                table="" if day else one.again,
                date=day or one.date,
                value=None if measured is None else measured.value,
                unit=unit,
                standard_uncertainty=None if measured is None else measured.u,
                guard=None if measured is None else said.guard,
                limits=limits,
                verdict=said.verdict,
                end=said.end,
                side=said.side,
                advice=advice,
                bound=item.bound,
                direct=item.direct,
                basis=item.basis,
                filing=item.filing if measured is not None else 0.0,
                decimals=self._decimals(measured, one, item, trait),
                raw=raw.get((item.position, item.name)),
                again=again,
                note=as_printed(note, self.shop.first_unit),
                fitness=fitness(one, trait, limits) if one.feature == name else NOTHING,
                planes={plane: (low, high) for plane, (low, high) in item.planes.items()},
                grid=item.grid,
                wheel=item.wheel,
                file=one.file,
                line=one.lines.get(item.position, 0),
            )
        )

    def _plain(self, value: float, unit: str, one: Occasion, item: Computed) -> Text:
        """A value in the shop's first unit, to the digits that were typed at its position."""
        shown = show(value, unit, one.decimals.get(item.position, 2), self.shop.first_unit)
        return Figure(f"{shown.text} {shown.unit_text}")

    def _advice(
        self,
        said: verdict.Name,
        item: Computed,
        limits: Limits | None,
        one: Occasion,
        unit: str,
        trait: Trait,
    ) -> Text:
        if said != "too close to call" or limits is None or item.measured is None:
            return NOTHING
        if words := by_warmth(item.measured):
            return words
        if trait.unit:  # no instrument reads it: its own readings would have to be surer
            return Sentence(
                "its readings would have to be surer: a finer instrument, or repeats at each spot"
            )
        columns = one.readings.get(item.position) or next(iter(one.readings.values()))
        repeats = max((len(r) for r in one.repeats.get(item.position, {}).values()), default=1)
        size = max(value.value for value in columns.values())
        typed = 10.0 ** -one.decimals[item.position] if item.position in one.decimals else 0.0
        used = replace(one.instrument, resolution=max(one.instrument.resolution, typed))
        return settle(
            item.measured,
            limits.decides,
            used,
            one.record,
            self.shop,
            unit,
            size,
            repeats,
            one.set_from,
        )

    def _size(
        self, name: str, feature: FeatureRecord, kind: Kind, position: str, day: date
    ) -> tuple[str, float]:
        """The size step in force, and for shells what it adds to their wall [mm]."""
        if kind.name != "shells":
            return self.timeline.size(name, position, day), 0.0
        journal = next(
            (f.journal for f in self.engine.features.values() if f.shells == name and f.journal), None
        )
        size = self.timeline.size(journal, position, day) if journal else ""
        return size, -step_in_mm(size) / 2.0

    def _decimals(self, measured: Measured | None, one: Occasion, item: Computed, trait: Trait) -> int:
        if trait.unit:
            return quantities.place_of(measured.u) if measured and measured.u else 2
        typed = one.decimals.get(item.position)
        if typed is None:
            typed = max(one.decimals.values(), default=3)
        if measured is None or measured.u == 0.0:
            return typed
        return min(typed, quantities.place_of(measured.u))


def _sizes(readings: Readings) -> dict[str, dict[str, Measured]]:
    return {position: sizes(columns) for position, columns in readings.items()}
