"""What stands now, laid out for choosing: readings, sizes, stock, and parts that are tried on paper."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct, field
from msgspec.structs import replace

from ... import quantities
from ...quantities import Figure, Quantity, Sentence, Text
from ...records import JobFolder
from ...records.files.choosing import Shelf
from ...records.files.jobfile import CandidateRecord
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...records.text.fields import Interval
from ...trade.choosing.selection import Supply
from ...trade.kinds import KINDS
from ...trade.measuring import form
from ...trade.measuring.uncertainty import Measured
from ...trade.measuring.verdict import Ends
from ..measure.judging import moved
from ..measure.observations import Occasion, occasions
from ..measure.timeline import Timeline, step_in_mm
from ..measure.workings import Workings
from ..model.assessment import Characteristic
from ..model.choice import Buy, Status

Columns = Mapping[str, Measured]  # column: value, in mm
Readings = Mapping[str, Columns]  # by position
CENT = 100


class Workbench(Struct):
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
    candidate: CandidateRecord | None = None  # that is tried: these are not all the engine's own
    override: dict[str, Readings] = field(default_factory=dict)

    @property
    def on_paper(self) -> str:
        """What is tried, '' where all is the engine's own."""
        return self.candidate.title if self.candidate else ""

    @property
    def guarded(self) -> bool:
        return self.shop.decision_rule == "guarded"

    def now(self, feature: str) -> Readings:
        """The sizes of a feature that still hold: nothing was decided on them since."""
        held: Readings = {}
        if stood := self.workings.standing.get(feature):
            held = {
                position: form.sizes(columns)
                for position, columns in stood.readings.items()
                if not self.timeline.changed_since(
                    feature, position, stood.taken[position].date, self.work_done
                )
            }
        tried = {p: form.sizes(columns) for p, columns in self.override.get(feature, {}).items()}
        if feature in self.override and self.engine.fits(journal=feature):
            held = {}  # a crank is one piece: what of another one was not read is not our own
        return {position: columns for position, columns in {**held, **tried}.items() if columns}

    def as_found(self, feature: str, until: date | None = None) -> Readings:
        """The last readings of each position before anything was decided about it, up to a day."""
        found: dict[str, dict[str, Measured]] = {}
        for one in self.taken:
            if one.feature != feature or (until is not None and one.date > until):
                continue
            for position, columns in one.readings.items():
                if self.timeline.gone(feature, position, one.date):
                    continue
                if self.timeline.state(feature, position, one.date).used:
                    found.setdefault(position, {}).update(columns)
        return found

    def beyond(self, feature: str, ever: bool = False) -> list[Characteristic]:
        """What of a feature is beyond its limit now, or ``ever`` was."""
        beyond = [c for c in self.found if c.feature == feature and c.verdict == "beyond limit"]
        gone = self.timeline.gone
        return [c for c in beyond if c.stands or (ever and not gone(feature, c.position, c.day))]

    def proved(self, fit: str, part: str, position: str) -> list[Characteristic]:
        """What was read of a fit since a new part is in, where all of it is surely inside its limits."""
        here = (one for one in self.found if (one.feature, one.position) == (fit, position))
        read = [one for one in here if one.stands and one.value is not None]
        used = (self.timeline.state(part, position, one.day).used for one in read)
        return read if all(one.verdict in ("as new", "serviceable") for one in read) and not any(used) else []

    def by_fit(self, one: Characteristic) -> bool:
        """Whether what is used again is judged here by the clearance of its fit alone."""
        sheet = self.engine.features[one.feature]
        wear = sheet.wear.get(KINDS[sheet.kind].trait(one.name).limit)
        return wear is not None and bool(wear.see)

    def mm(self, value: Quantity | None, feature: FeatureRecord | None = None) -> float | None:
        """A typed number in mm; a bare one is in the feature's unit."""
        if value is None:
            return None
        if value.unit:
            return round(value.to("mm"), 9)
        return round(value.value * quantities.factor((feature and feature.unit) or "mm", "mm"), 9)

    def ends(self, limit: Interval | None, feature: FeatureRecord, step: float = 0.0) -> Ends:
        """Typed limits in mm; a share of a size, where that differs by ``step`` from the standard one."""
        if limit is None:
            return (None, None)
        limit = limit.share.at(step) if limit.share else limit
        unit = feature.unit or "mm"
        return moved(limit.within(unit), scale=quantities.factor(unit, "mm"))

    def new_and_wide(self, fit: FeatureRecord, position: str) -> tuple[Ends, Ends]:
        """New limits of the clearance of a fit [mm], and those with its wear limits where it has any."""
        of = fit.share_of("clearance")
        tried = self.candidate.sizes.get(of, "") if self.candidate and of in self.override else None
        size = self.timeline.size(of, position, date.max) if of and tried is None else tried or ""
        new, wear = (self.ends(s.get("clearance"), fit, step_in_mm(size)) for s in (fit.new, fit.wear))
        return new, (new[0] if wear[0] is None else wear[0], new[1] if wear[1] is None else wear[1])

    def aim(self, typed: Quantity | None, feature: FeatureRecord, limits: Ends) -> float:
        """What is aimed at [mm]: the sheet's target, else the middle of the limits, else their one end."""
        target = self.mm(typed, feature)
        if target is not None:
            return target
        low, high = limits
        return (low + high) / 2.0 if low is not None and high is not None else low or high or 0.0

    def decision(
        self,
        about: str,
        *,
        do: tuple[str, ...] = ("replace", "recondition"),
        at: Collection[str] | None = None,
    ) -> str:
        """The newest decision about a feature, or these places of it, '' where there is none."""
        named = []
        for name, decision in self.job.decisions.items():
            spots = self.timeline.spots(decision.about, decision.positions) if decision.do in do else []
            if any(feature == about and (at is None or place in at) for feature, place in spots):
                named.append((decision.date, name))
        return max(named)[1] if named else ""

    def decided_at(self, about: Collection[str], do: str, every: Sequence[str]) -> set[str]:
        """Places of which a decision about any of these says what is done; no places named: all of them."""
        decided = [one for one in self.job.decisions.values() if one.do == do and one.about in about]
        return {position for decision in decided for position in decision.positions or every}

    def replaced(self, about: Collection[str], every: Sequence[str]) -> set[str]:
        """Places that get another one, by a decision or a finding."""
        seen = [one for one in self.job.seen.values() if one.disposition == "replace"]
        gone = {p for one in seen if one.component in about for p in one.positions or every}
        return gone | self.decided_at(about, "replace", every)

    def supply(self, name: str, row: str, grade: str, part: str) -> Supply:
        """How a part of one grade can be had: what lies on its shelf, and whether more can be ordered."""
        shelf, pack = self.shelves.get(name), self.pack(part)
        price = int((self.price(part) or 0) * CENT) * pack
        if shelf is None:
            return Supply(0, True, pack, price)
        cells = shelf.rows.get(row, [])
        names = [{column, f"{column} {shelf.unit or 'mm'}"} for column in shelf.columns]
        at = next((at for at, said in enumerate(names) if grade in said), len(cells))
        count = int(cells[at]) if at < len(cells) else 0
        return Supply(count, shelf.orders(grade), pack, price)

    def outlay(self, bought: Sequence[Buy]) -> Decimal | None:
        """What the packs cost that must be ordered; None where a price is missing."""
        prices = [(self.price(buy.part), buy.pack * buy.packs) for buy in bought]
        known = [(price or Decimal(0)) * count for price, count in prices if price is not None or not count]
        return sum(known, Decimal(0)) if bought and len(known) == len(prices) else None

    def spent(self, bought: Sequence[Buy]) -> Decimal | None:
        """What the parts cost as they are used, as in the estimate; None where a price is missing."""
        prices = [(self.price(buy.part), buy.quantity) for buy in bought]
        known = [price * count for price, count in prices if price is not None]
        return sum(known, Decimal(0)) if bought and len(known) == len(prices) else None

    def pack(self, part: str) -> int:
        """How many of a part one gets at a time."""
        return max(1, self.engine.part(part).pack)

    def work_on(
        self, part: str | None, decision: str, about: str = ""
    ) -> tuple[tuple[str, Decimal | None], ...]:
        """Work by others on a part, with its price: what names this decision, or no decision at all.

        ``about``: the feature whose own decisions count as this one, as a face's do for its height.
        """
        decisions = self.job.decisions
        ours = {decision} | {name for name, one in decisions.items() if about and one.about == about}
        others = decisions.keys() - ours
        lines = self.job.written_work.sublet if part and decision else []
        return tuple(
            (line.work, line.price)
            for line in lines
            if line.part == part and (ours & {*line.for_} or not others & {*line.for_})
        )

    def price(self, part: str) -> Decimal | None:
        """What one costs; None where it is not on the sheet or has no price."""
        return self.engine.part(part).price

    def papers(self) -> Iterator[Workbench]:
        """The same bench, once for each candidate that is only tried, with its readings in place."""
        for name, candidate in self.job.candidates.items():
            if name in self.job.taken:
                continue
            read = {
                key: replace(file, model=file.model.model_copy(update={"of": ""}))
                for key, file in self.job.rounds.items()
                if file.model.of == name
            }
            tables = occasions(self.shop, self.engine, replace(self.job, rounds=read, running=None))
            readings: dict[str, Readings] = {feature: {} for feature in candidate.codes}
            for table in tables:
                readings[table.feature] = {**readings.get(table.feature, {}), **table.readings}
            if readings:
                yield replace(self, candidate=candidate, override=readings)


def how_settled(impossible: bool, waits: bool) -> Status:
    """How settled a choice is that nobody has decided about."""
    if impossible:
        return "none fits"
    return "provisional" if waits else "chosen"


def with_partner(bench: Workbench, value: float, decimals: int = 3) -> Text:
    """A length [mm] as it is printed in this shop, where it asks for that in its other unit, too."""
    if bench.shop.second_unit != "everywhere":
        return length(bench, value, decimals)
    return Figure(quantities.show(value, "mm", decimals, bench.shop.first_unit).both)


def length(bench: Workbench, value: float, decimals: int = 3) -> Text:
    """A length [mm] in the shop's first unit alone."""
    shown = quantities.show(value, "mm", decimals, bench.shop.first_unit)
    return Figure(f"{shown.text}\u00a0{shown.unit}")


def lengths(bench: Workbench, low: float, high: float) -> Text:
    """From one length [mm] to another; one alone where both are printed alike."""
    least, most = length(bench, low), length(bench, high)
    return least if least == most else Sentence("{first} to {last}", first=least, last=most)


def at_least(bench: Workbench, value: float) -> Text:
    """A length [mm] that must be reached, in the shop's first unit: rounded up, by a tenth of it at most."""
    return _bounded(bench, value, None)


def at_most(bench: Workbench, value: float) -> Text:
    """A length [mm] that must not be passed, in the shop's first unit: rounded down."""
    return _bounded(bench, None, value)


def _bounded(bench: Workbench, low: float | None, high: float | None) -> Text:
    system = bench.shop.first_unit
    least, most = quantities.limit_texts(low, high, "mm", 2, system)
    return Figure(f"{least or most}\u00a0{quantities.show(0.0, 'mm', 2, system).unit}")
