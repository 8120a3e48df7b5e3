"""Kinds applied to what stood in each round: from readings to computed values, in the order of the rounds.

In: tables of readings in base units, and what ended which.  Out: characteristics, each made by ``valuing``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date

from msgspec.structs import replace

from ... import quantities
from ...quantities import Sentence, Text
from ...records import JobFolder
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...trade.kinds import KINDS, Computed, Inputs, Kind, KnownWalls, Readings
from ...trade.measuring.form import is_size, sizes
from ...trade.measuring.uncertainty import Measured
from ..model.assessment import Characteristic
from .following_moves import RATIO
from .judging import ends_in
from .observations import Occasion, base_unit
from .standing import positions_of
from .timeline import Standing, Timeline, step_in_mm
from .valuing import Valued, Valuing
from .walls import ShellWalls

Raw = Mapping[tuple[str, str], Computed]  # position, characteristic: worked out without any correction


class Workings:
    """Works through the rounds of a job in order and keeps what stands after each."""

    def __init__(
        self, shop: Shop, engine: Engine, job: JobFolder, taken: list[Occasion], timeline: Timeline
    ) -> None:
        self.shop, self.engine, self.job = shop, engine, job
        self.taken, self.timeline = taken, timeline
        self.standing: dict[str, Standing] = {name: Standing() for name in engine.features}
        self.valuing = Valuing(shop, engine, timeline)
        self.values: list[Characteristic] = []
        self.between: dict[tuple[str, str], tuple[str, ...]] = {}  # feature, "C1-C2": C1 and C2
        self._worked_out: set[tuple[str, str, str, float]] = set()  # what was found, with its value

    def run(self) -> list[Characteristic]:
        """All characteristics in the order of the rounds; ``stands`` is settled afterwards."""
        by_round: dict[str, list[Occasion]] = {}
        for occasion in self.taken:
            by_round.setdefault(occasion.round, []).append(occasion)
        for occasions in by_round.values():
            fresh: dict[str, set[str]] = {}
            for number, occasion in enumerate(occasions, 1):
                shut = self._shut(occasion, occasions[number:])
                self._stand(occasion)
                fresh.setdefault(occasion.feature, set()).update(occasion.readings)
                self._single(occasion, shut)
            # fits last: the round may read one partner after the other
            self._fits(occasions, fresh)
        return self.values

    # ------------------------------------------------------------ what stands

    def _stand(self, occasion: Occasion) -> None:
        """Let the newest readings take the place of those that no longer hold."""
        now = self.standing[occasion.feature]
        kind = KINDS[self.engine.features[occasion.feature].kind]
        if kind.one_setting and any(one.round != occasion.round for one in now.taken.values()):
            now = self.standing[occasion.feature] = Standing()
        for position, columns in occasion.readings.items():
            before = now.taken.get(position)
            if before is None or self.timeline.ended(occasion.feature, position, before.date, occasion.date):
                now.readings[position], now.raw[position] = {}, {}
            # a later table of the same spots replaces them; another column joins them
            now.readings[position] = {**now.readings.get(position, {}), **columns}
            as_read = occasion.raw[position] if occasion.warm and occasion.corrected else columns
            now.raw[position] = {**now.raw.get(position, {}), **as_read}
            now.taken[position] = occasion

    def _shut(self, occasion: Occasion, later: Iterable[Occasion]) -> list[Computed]:
        """Clearances that hold no more, good as they were, each with the reason; none is less than any least.

        Nothing is said of what a later table of the round reads again, as on trial.
        """
        now = self.standing[occasion.feature]
        feature = self.engine.features[occasion.feature]
        said = {(one.position, one.name) for one in self.values if one.feature == occasion.feature}
        rows = [table.readings for table in later if table.feature == occasion.feature]
        shut = []
        for (position, column), note in self._gone(occasion).items():
            for taken in (now.readings, now.raw):
                taken.get(position, {}).pop(column, None)
            again = any(column in row.get(position, {}) for row in rows)
            limit = feature.new.get(KINDS[feature.kind].trait(column).limit)
            none_left = occasion.no_clearance.get((position, column)) if limit and limit.low else None
            if not again and (none_left or (position, column) in said):
                shut.append(Computed(position, column, none_left, note=note))
        return shut

    def _gone(self, occasion: Occasion) -> dict[tuple[str, str], Text]:
        """Spots where none was left, and those of valves that have another shim than they were read with."""
        kind = self.engine.features[occasion.feature].kind
        gone: dict[tuple[str, str], Text] = {
            spot: Sentence("no clearance is left: fit a thinner shim on trial, and read again")
            if kind == "valve_clearance"
            else Sentence("no clearance is left")
            for spot in occasion.no_clearance
        }
        for position, columns in occasion.readings.items():
            shim = columns.get("shim")
            before = self.standing[occasion.feature].readings.get(position, {}).get("shim")
            if "lash" not in columns and shim and before and shim.value != before.value:
                gone[position, "lash"] = Sentence("not read again with the shim that is in now")
        # what was worked out of the clearance goes with it
        zero = {(at, "zero_shim"): why for (at, name), why in gone.items() if name == "lash"}
        return gone | zero

    def _readings_at(self, name: str, day: date, raw: bool = False) -> dict[str, dict[str, Measured]]:
        """Readings of a feature that hold on a day: those of positions changed since are left out."""
        stood = self.standing[name]
        return {
            position: columns
            for position, columns in (stood.raw if raw else stood.readings).items()
            if columns and not self.timeline.ended(name, position, stood.taken[position].date, day)
        }

    def _own(self, name: str, day: date, raw: bool) -> Readings:
        """A fit's own readings that hold on a day: none of what a partner was machined or replaced since."""
        taken, feature = self.standing[name].taken, self.engine.features[name]
        links = feature.links(KINDS[feature.kind].partners)
        partners = [link for key, link in links.items() if key != "journal"]
        return {
            position: columns
            for position, columns in self._readings_at(name, day, raw).items()
            if not any(self.timeline.ended(link, position, taken[position].date, day) for link in partners)
        }

    # ------------------------------------------------------------ what is worked out

    def _single(self, occasion: Occasion, shut: Iterable[Computed]) -> None:
        """What a table says of its feature by itself, with the readings that still hold beside it."""
        name = occasion.feature
        feature = self.engine.features[name]
        kind = KINDS[feature.kind]
        if kind.partners or feature.links(kind.links):
            return

        def compute(raw: bool) -> Iterable[Computed]:
            readings = self._readings_at(name, occasion.date, raw)
            return kind.compute(self._inputs(name, readings, occasion))

        raw = _as_read(compute(True)) if self._warm([name]) else {}
        for item in compute(False):
            if {*(item.uses or (item.position,))} & {*occasion.readings}:
                self._keep(name, item, occasion, raw)
        for item in shut:
            self._keep(name, item, occasion, {})

    def _fits(self, occasions: list[Occasion], fresh: dict[str, set[str]]) -> None:
        for name, feature in self.engine.features.items():
            kind = KINDS[feature.kind]
            links = list(feature.links(kind.links).values())
            touched = set().union(*(fresh.get(link, set()) for link in [*links, name]))
            if touched and (links or kind.partners):
                self._fit(name, links, occasions, fresh.get(name, set()), touched)

    def _fit(
        self, name: str, links: list[str], occasions: list[Occasion], own: set[str], touched: set[str]
    ) -> None:
        """What is worked out of a fit where this round read it or one of its partners."""
        kind = KINDS[self.engine.features[name].kind]
        day = max(occasion.date for occasion in occasions)

        def compute(raw: bool) -> Iterable[Computed]:
            return kind.compute(self._inputs(name, self._own(name, day, raw), None, day, raw))

        raw = _as_read(compute(True)) if self._warm([name, *links]) else {}
        for item in compute(False):
            rests_on = {*(item.uses or (item.position,))}
            if item.direct and not rests_on & own:
                continue  # it stands where it was read, and says nothing of what was made since
            known = item.measured and (name, item.name, item.position, item.measured.value)
            said = kind.read_by_itself and known in self._worked_out
            if touched & rests_on and (own & rests_on or not said):
                here = [occasion for occasion in reversed(occasions) if rests_on & {*occasion.readings}]
                # what was worked out has the digits and the instrument of its partners, what was
                # read directly those of its own table
                read_by = ([name], links) if item.direct else (links, [name])
                source = next(one for names in read_by for one in here if one.feature in names)
                self._keep(name, item, source, raw, day)

    def _keep(self, name: str, item: Computed, source: Occasion, raw: Raw, day: date | None = None) -> None:
        feature = self.engine.features[name]
        if item.measured is not None:
            self._worked_out.add((name, item.name, item.position, item.measured.value))
        if item.uses and item.position not in feature.positions:
            self.between[name, item.position] = item.uses
        as_read = raw.get((item.position, item.name))
        moved = as_read is not None and as_read.measured is not None and as_read.measured != item.measured
        valued = Valued(name, feature, KINDS[feature.kind], item, source, day, as_read if moved else None)
        self.values.append(self.valuing.characteristic(valued))

    def _warm(self, names: Iterable[str]) -> bool:
        """Whether any reading that stands was corrected although part and instrument had not soaked."""
        return any(self.standing[name].raw != self.standing[name].readings for name in names)

    # ------------------------------------------------------------ what a kind is given

    def _inputs(
        self,
        name: str,
        readings: Readings,
        occasion: Occasion | None,
        day: date | None = None,
        raw: bool = False,
    ) -> Inputs:
        features, feature = self.engine.features, self.engine.features[name]
        kind, unit = KINDS[feature.kind], base_unit(feature.unit)
        links = feature.links(kind.links)
        housed = features.get(feature.housing)
        lows, highs = _ends(feature, unit, self._share_step(feature, day))
        partners = {key: _sizes(self._readings_at(link, day, raw)) for key, link in links.items() if day}
        walls: dict[str, KnownWalls] = {}
        if day and (shells := links.get("shells")):
            those = ShellWalls(self.engine, self.job, self.timeline, shells, links.get("journal", ""))
            walls = those.known(self._readings_at(shells, day, raw), day)
        return Inputs(
            positions=tuple(positions_of(self.engine, name)),
            columns=tuple(feature.columns),
            readings=readings,
            repeats=occasion.repeats if occasion else {},
            partners=partners,
            partner_columns={key: tuple(filter(is_size, features[at].columns)) for key, at in links.items()},
            partner_positions={key: tuple(features[at].positions) for key, at in links.items()},
            walls=walls,
            direction=feature.direction,
            least=lows,
            most=highs,
            aim_above=_aim(feature, unit),
            guarded=self.shop.decision_rule == "guarded",
            step=occasion.instrument.resolution if occasion else 0.0,
            stations=feature.along("stations"),
            corrected_at=feature.along("corrected_at"),
            steps=self._oversizes(day) if day and kind.name == RATIO else {},
            given=self._given(feature, kind),
            limited=frozenset({*feature.new, *feature.wear}),
            housing=(housed.material if housed else None) or "aluminium",
            banks=tuple(tuple(bank) for bank in self.engine.layout.banks),
        )

    def _share_step(self, feature: FeatureRecord, day: date | None) -> float:
        """By how much the largest of the sizes that its limits are shares of is off standard [mm].

        All positions of a feature are filed or set to one figure: that of the largest is enough for each.
        """
        shared = filter(None, map(feature.share_of, feature.new))
        sizes = ((of, place) for of in shared for place in self.engine.features[of].positions)
        steps = (step_in_mm(self.timeline.size(of, place, day)) for of, place in sizes) if day else ()
        return max(steps, default=0.0)

    def inputs_on(self, name: str, readings: Callable[[str], Readings]) -> Inputs:
        """What a feature would be worked out from, if these were the readings of it and its partners."""
        feature = self.engine.features[name]
        kind = KINDS[feature.kind]
        partners = {key: _sizes(readings(link)) for key, link in feature.links(kind.links).items()}
        return replace(self._inputs(name, readings(name), None), partners=partners)

    def _given(self, feature: FeatureRecord, kind: Kind) -> dict[str, float]:
        """The engine's geometry and the numbers of the kind, each in the base unit of its dimension."""
        layout = self.engine.layout
        numbers = {"cylinders": float(layout.cylinders)}
        numbers |= {key: typed.to("mm") for key in ("bore", "stroke") if (typed := getattr(layout, key))}
        for key, wanted in kind.given.items():
            number = None if wanted.many else feature.number(key)
            if number is None:
                continue
            own_unit = feature.unit if wanted.dimension == "feature" else None
            base = base_unit(own_unit) or quantities.units.BASE.get(wanted.dimension, "")
            typed_in = number.unit or own_unit
            numbers[key] = number.value * (quantities.factor(typed_in, base) if typed_in and base else 1.0)
        return numbers

    def _oversizes(self, day: date) -> dict[str, float]:
        """By how much each cylinder is larger on a day than the engine's bore [mm]."""
        return {
            position: step_in_mm(size)
            for name, sheet in self.engine.of_kind("bore").items()
            for position in sheet.positions
            if sheet.oversizes and (size := self.timeline.size(name, position, day))
        }


def _as_read(items: Iterable[Computed]) -> Raw:
    return {(item.position, item.name): item for item in items}


def _ends(feature: FeatureRecord, unit: str, share_step: float) -> tuple[dict[str, float], dict[str, float]]:
    """Lower and upper new limits by their key [base unit], as far as there are any."""
    lows: dict[str, float] = {}
    highs: dict[str, float] = {}
    for key, limit in feature.new.items():
        limit = limit.share.at(share_step) if limit.share else limit
        low, high = ends_in(limit, unit, feature.unit or unit)
        lows |= {} if low is None else {key: low}
        highs |= {} if high is None else {key: high}
    return lows, highs


def _aim(feature: FeatureRecord, unit: str) -> float:
    """How far above its least a value is brought [base unit]; a bare number is in the feature's own."""
    aim = feature.aim_above_minimum
    if aim is None:
        return 0.0
    if aim.unit:
        return aim.to(unit)
    return aim.value * (quantities.factor(feature.unit, unit) if feature.unit else 1.0)


def _sizes(readings: Readings) -> dict[str, dict[str, Measured]]:
    return {position: sizes(columns) for position, columns in readings.items()}
