"""What stands now, laid out for choosing: readings, sizes, stock, and parts that are tried on paper."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from ... import quantities
from ...quantities import Figure, Quantity, Text
from ...records import JobFolder
from ...records.files.choosing import Shelf
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...records.text.fields import Interval, bare_or_unit
from ...trade.choosing.selection import Supply
from ...trade.kinds import KINDS
from ...trade.measuring import form
from ...trade.measuring.uncertainty import Measured
from ..measure.observations import Occasion, occasions
from ..measure.timeline import Timeline
from ..measure.workings import Workings
from ..model.assessment import Characteristic
from ..model.choice import Buy, Ends

Columns = Mapping[str, Measured]  # column: value, in mm
Readings = Mapping[str, Columns]  # by position
CENT = 100


@dataclass
class Workbench:
    """The readings that a choice may rest on."""

    shop: Shop
    engine: Engine
    job: JobFolder
    timeline: Timeline
    workings: Workings
    taken: list[Occasion]
    found: list[Characteristic]
    shelves: Mapping[str, Shelf]
    work_done: bool
    on_paper: str = ""  # what is tried, where these are not all the engine's own
    override: dict[str, Readings] = field(default_factory=dict)
    paper_price: Decimal | None = None  # of what is tried
    paper_size: str = ""  # size step that it has
    paper_codes: Mapping[str, list[str]] = field(default_factory=dict)  # feature: codes stamped on it

    @property
    def guarded(self) -> bool:
        return self.shop.decision_rule == "guarded"

    def now(self, feature: str) -> Readings:
        """The sizes of a feature that still hold: nothing was decided on them since."""
        stood = self.workings.standing.get(feature)
        held = {
            position: form.sizes(columns)
            for position, columns in (stood.readings.items() if stood else ())
            if not self.timeline.changed_since(
                feature, position, stood.taken[position].date if stood else date.min, self.work_done
            )
        }
        tried = {p: form.sizes(columns) for p, columns in self.override.get(feature, {}).items()}
        if feature in self.override and any(one.journal == feature for one in self.engine.features.values()):
            held = {}  # a crank is one piece: what of another one was not read is not our own
        return {position: columns for position, columns in {**held, **tried}.items() if columns}

    def as_found(self, feature: str, until: date | None = None) -> Readings:
        """The last readings of each position before anything was decided about it, up to a day."""
        found: dict[str, dict[str, Measured]] = {}
        for one in self.taken:
            if one.feature != feature or (until is not None and one.date > until):
                continue
            for position, columns in one.readings.items():
                if self.timeline.state(feature, position, one.date).used:
                    found.setdefault(position, {}).update(columns)
        return found

    def beyond(self, feature: str, ever: bool = False) -> list[Characteristic]:
        """What of a feature is beyond its limit now, or ``ever`` was."""
        return [
            c
            for c in self.found
            if c.feature == feature and c.verdict == "beyond limit" and (c.stands or ever)
        ]

    def by_fit(self, one: Characteristic) -> bool:
        """Whether what is used again is judged here by the clearance of its fit alone."""
        sheet = self.engine.features[one.feature]
        limit = KINDS[sheet.kind].trait(one.name).limit
        wear = sheet.wear.get(limit)
        return wear is not None and bool(wear.see)

    def mm(self, value: Quantity | None, feature: FeatureRecord | None = None) -> float | None:
        """A typed number in mm; a bare one is in the feature's unit."""
        if value is None:
            return None
        if value.unit:
            return round(value.to("mm"), 9)
        return round(value.value * quantities.factor((feature and feature.unit) or "mm", "mm"), 9)

    def further(self, text: str | None, unit: str) -> float | None:
        """A number that a kind asks for, typed with its unit, in ``unit``."""
        number = None if text is None else bare_or_unit(text)
        return round(number.to(unit), 9) if number and number.unit else None

    def ends(self, limit: Interval | None, feature: FeatureRecord) -> Ends:
        """Typed limits in mm."""
        if limit is None:
            return (None, None)
        unit = feature.unit or "mm"
        scale = quantities.factor(unit, "mm")
        low, high = limit.within(unit)
        return (
            None if low is None else round(low * scale, 9),
            None if high is None else round(high * scale, 9),
        )

    def new_and_wide(self, fit: FeatureRecord, name: str) -> tuple[Ends, Ends]:
        """New limits of a fit [mm], and those with its wear limits where it has any."""
        new, wear = self.ends(fit.new.get(name), fit), self.ends(fit.wear.get(name), fit)
        return new, (new[0] if wear[0] is None else wear[0], new[1] if wear[1] is None else wear[1])

    def aim(self, typed: Quantity | None, feature: FeatureRecord, limits: Ends) -> float:
        """What is aimed at [mm]: the sheet's target, else the middle of the limits, else their one end."""
        target = self.mm(typed, feature)
        if target is not None:
            return target
        low, high = limits
        return (low + high) / 2.0 if low is not None and high is not None else low or high or 0.0

    def decision(self, about: str, *, do: tuple[str, ...] = ("replace", "recondition")) -> str:
        """The newest decision about a feature, '' where there is none."""
        decisions = self.job.work.decisions if self.job.work else {}
        named = [
            (one.date, name)
            for name, one in decisions.items()
            if one.do in do
            and any(feature == about for feature, _ in self.timeline.spots(one.about, one.positions))
        ]
        return max(named)[1] if named else ""

    def decided_at(self, about: Collection[str], do: str, every: Sequence[str]) -> set[str]:
        """Places of which a decision about any of these says what is done; no places named: all of them."""
        decisions = self.job.work.decisions.values() if self.job.work else ()
        return {p for d in decisions if d.do == do and d.about in about for p in d.positions or every}

    def replaced(self, about: Collection[str], every: Sequence[str]) -> set[str]:
        """Places that get another one, by a decision or a finding."""
        findings = self.job.findings.findings.values() if self.job.findings else ()
        found = {
            position
            for finding in findings
            if finding.disposition == "replace" and finding.component in about
            for position in finding.positions or every
        }
        return found | self.decided_at(about, "replace", every)

    def supply(self, name: str, row: str, grade: str, part: str) -> Supply:
        """How a part of one grade can be had: what lies on its shelf, and whether more can be ordered."""
        shelf = self.shelves.get(name)
        count, order = 0, True
        columns = (
            [one for one in shelf.columns if grade in (one, f"{one} {shelf.unit or 'mm'}")] if shelf else []
        )
        if shelf and columns:
            cells = shelf.rows.get(row, [])
            at = shelf.columns.index(columns[0])
            count = int(cells[at]) if at < len(cells) else 0
        if shelf and shelf.no_more:
            order = shelf.orders(grade)
        sheet = self.engine.parts.get(part)
        price = int(sheet.price * CENT) if sheet and sheet.price is not None else 0
        return Supply(count, order, max(1, sheet.pack) if sheet else 1, price * (sheet.pack if sheet else 1))

    def outlay(self, bought: Sequence[Buy]) -> Decimal | None:
        """What the packs cost that must be ordered; None where a price is missing."""
        total = Decimal(0)
        for buy in bought:
            price = self.price(buy.part)
            if price is None and buy.packs:
                return None
            total += (price or Decimal(0)) * buy.pack * buy.packs
        return total if bought else None

    def spent(self, bought: Sequence[Buy]) -> Decimal | None:
        """What the parts cost as they are used, as in the estimate; None where a price is missing."""
        prices = [self.price(buy.part) for buy in bought]
        if not bought or any(price is None for price in prices):
            return None
        return sum((p * buy.quantity for p, buy in zip(prices, bought, strict=True) if p), Decimal(0))

    def pack(self, part: str) -> int:
        """How many of a part one gets at a time."""
        sheet = self.engine.parts.get(part)
        return max(1, sheet.pack) if sheet else 1

    def work_on(
        self, part: str | None, decision: str, about: str = ""
    ) -> tuple[tuple[str, Decimal | None], ...]:
        """Work by others on a part, with its price: what names this decision, or no decision at all.

        ``about``: the feature whose own decisions count as this one, as a face's do for its height.
        """
        work = self.job.work
        if work is None or not part:
            return ()
        ours = {decision, *(name for name, one in work.decisions.items() if about and one.about == about)}
        return tuple(
            (one.work, one.price)
            for one in work.sublet
            if one.part == part and (ours & {*one.for_} or not {*work.decisions} & {*one.for_})
        )

    def price(self, part: str) -> Decimal | None:
        """What one costs; None where it is not on the sheet or has no price."""
        sheet = self.engine.parts.get(part)
        return sheet.price if sheet else None

    def papers(self) -> list[Workbench]:
        """The same bench, once for each part that is only tried on paper, with its readings in place."""
        benches = []
        for name, file in self.job.rounds.items():
            if not file.model.on_paper:
                continue
            alone = replace(file, model=file.model.model_copy(update={"on_paper": None}))
            ones = occasions(self.shop, self.engine, replace(self.job, rounds={name: alone}, running=None))
            tables: dict[str, dict[str, Readings]] = {}
            repeated = len({one.feature for one in ones}) < len(ones)
            codes = file.model.codes
            if codes and not ones:
                tables[file.model.on_paper] = {}  # known by its stamps alone
            for one in ones:
                words = file.model.on_paper
                if repeated:
                    words += f", {one.table.replace('_', ' ')}"
                tables.setdefault(words, {})[one.feature] = one.readings
            benches += [
                replace(
                    self,
                    on_paper=words,
                    override={**{feature: {} for feature in codes}, **read},
                    paper_codes=codes,
                    paper_price=file.model.price,
                    paper_size=file.model.size or "",
                )
                for words, read in tables.items()
            ]
        return benches


def with_partner(bench: Workbench, value: float, decimals: int = 3) -> Text:
    """A length [mm] as it is printed in this shop, in its other unit, too."""
    return Figure(quantities.show(value, "mm", decimals, bench.shop.first_unit).both)


def length(bench: Workbench, value: float, decimals: int = 3) -> Text:
    """A length [mm] in the shop's first unit alone."""
    shown = quantities.show(value, "mm", decimals, bench.shop.first_unit)
    return Figure(f"{shown.text}\u00a0{shown.unit_text}")


def at_least(bench: Workbench, value: float) -> Text:
    """A length [mm] that must be reached, in the shop's first unit: rounded up, by a tenth of it at most."""
    return _bounded(bench, value, None)


def at_most(bench: Workbench, value: float) -> Text:
    """A length [mm] that must not be passed, in the shop's first unit: rounded down."""
    return _bounded(bench, None, value)


def _bounded(bench: Workbench, low: float | None, high: float | None) -> Text:
    system = bench.shop.first_unit
    least, most = quantities.limit_texts(low, high, "mm", 2, system)
    return Figure(f"{least or most}\u00a0{quantities.show(0.0, 'mm', 2, system).unit_text}")
