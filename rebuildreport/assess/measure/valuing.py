"""One computed value with its limits, its verdict and all that documents print beside it.

In: what a kind worked out, and the table that it rests on.  Out: a ``Characteristic``.  Which limits decide
is said here and in ``trade.measuring.verdict.deciding_limits``, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from msgspec import Struct
from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Figure, Sentence, Text, as_printed, message, present, show
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import Shop
from ...trade.kinds import KINDS, Computed, Kind, Trait
from ...trade.measuring.verdict import OPEN, Ends, deciding_limits, repeatable
from ..model.assessment import Characteristic, Limits
from .judging import (
    Opinion,
    by_note,
    by_warmth,
    fitness,
    journal_of,
    limits_for,
    limits_of_band,
    moved,
    opinion,
    settle,
    steps_at,
    unit_of,
)
from .observations import Occasion
from .timeline import Timeline
from .walls import ShellWalls


class Valued(Struct, frozen=True):
    """A computed value, and where it comes from."""

    name: str
    feature: FeatureRecord
    kind: Kind
    item: Computed
    source: Occasion  # the table with its digits and its instrument
    day: date | None  # of a fit: when all of its round was read
    raw: Computed | None  # the same without a correction for temperature, where one was made on a guess

    @property
    def trait(self) -> Trait:
        trait = self.kind.trait(self.item.name)
        if self.kind.name == "readings" and self.source.unit == "mm":
            # a groove or a skirt is large or small, where a pressure or a warmth is high or low
            return replace(trait, low="too small", high="too large")
        return trait

    @property
    def date(self) -> date:
        return self.day or self.source.date


def used_again(timeline: Timeline, name: str, positions: Iterable[str], day: date) -> bool:
    """Whether the surface is used again as it is; of a fit, whether one of its partners is.

    What rests on several positions, as a step between neighbours, is no better than the oldest of them.
    """
    feature = timeline.engine.features[name]
    kind = KINDS[feature.kind]
    links = list(feature.links(kind.again_by or kind.links).values())
    if kind.read_by_itself or not links:
        links.append(name)  # it is read by itself, and only rests on the others
    return any(timeline.state(link, place, day).used for place in positions for link in links)


def lowered(timeline: Timeline, name: str, position: str, day: date) -> bool:
    """Whether a cut took something off it: lower on purpose, it has its wear limit to keep.

    As the choice of the skim and the machining order have it (common practice).
    """
    about = [one for one in timeline.job.decisions.values() if one.about == name]
    here = [one for one in about if not one.positions or position in one.positions]
    done = [one for one in here if one.date <= day and one.do != "reuse"]
    last = max(done, key=lambda one: one.date, default=None)
    return last is not None and last.remove is not None


def to_come_to(timeline: Timeline, name: str, positions: Iterable[str], limits: Limits) -> tuple[Ends, Ends]:
    """What places must come to that nobody has read yet: the limits for new, and those for wear beside them.

    Where all of them are machined or renewed no wear limit is beside it: it would pass a poor new surface.
    """
    if limits.new == OPEN:
        return limits.new, limits.wear  # the only ones, called what they are
    for place in positions:
        if used_again(timeline, name, (place,), date.max) or lowered(timeline, name, place, date.max):
            return limits.new, limits.wear
    return deciding_limits(limits.new, limits.wear, again=False)[0], OPEN


class Valuing:
    """Makes characteristics, by the limits that are in force where each was read."""

    def __init__(self, shop: Shop, engine: Engine, timeline: Timeline) -> None:
        self.shop, self.engine, self.timeline = shop, engine, timeline
        self._limits: dict[tuple[str, str, str, str, float, float], Limits | None] = {}

    def characteristic(self, valued: Valued) -> Characteristic:
        """One value with its verdict, its advice and its notes."""
        item, source, trait = valued.item, valued.source, valued.trait
        unit = unit_of(valued.feature, trait, source.unit)
        spots = item.uses or (item.position,)
        again = used_again(self.timeline, valued.name, spots, valued.date)
        limits = self._in_force(valued, unit)
        said = opinion(
            item,
            trait,
            limits,
            again or lowered(self.timeline, valued.name, item.position, valued.date),
            self.shop,
            valued.raw,
        )
        note = item.note
        if self._judged_elsewhere(valued, again, said):
            said = replace(
                said, verdict="no limit on file", end="", side=NOTHING, advice=NOTHING, decides=OPEN
            )
            note = Sentence("its clearance is what is judged")
        if limits is not None:
            limits = replace(limits, decides=said.decides, deciding=said.deciding)
        note, advice = self._words(said, valued, limits, unit, note)
        measured = item.measured
        raw = valued.raw.measured if valued.raw else None
        found = Characteristic(
            feature=valued.name,
            name=item.name,
            position=item.position,
            round=source.round,
            table="" if valued.day else source.again,
            date=valued.date,
            value=measured.value if measured else None,
            unit=unit,
            standard_uncertainty=measured.u if measured else None,
            guard=said.guard if measured else None,
            guard_below=said.below if measured and said.below != said.guard else None,
            limits=limits,
            verdict=said.verdict,
            end=said.end,
            side=said.side,
            advice=advice,
            bound=item.bound,
            direct=item.direct,
            basis=item.basis,
            filing=item.filing if measured else 0.0,
            worst=said.worst.value if said.worst else None,
            decimals=self._decimals(valued),
            raw=raw.value if raw else None,
            again=again,
            note=as_printed(note, self.shop.first_unit),
            fitness=fitness(source, trait, limits) if source.feature == valued.name else NOTHING,
            planes=dict(item.planes),
            grid=item.grid,
            wheel=item.wheel,
            file=source.file,
            line=source.lines.get(item.position, 0),
        )
        return _in_micrometres(found) if trait.small else found

    # ------------------------------------------------------------ which limits decide

    def _in_force(self, valued: Valued, unit: str) -> Limits | None:
        """The limits of a characteristic at its position, moved by the size step that it has on that day."""
        name, day, position = valued.name, valued.date, valued.item.position
        if valued.kind.name == "shells":
            journal = journal_of(self.engine, name)
            walls = ShellWalls(self.engine, self.timeline.job, self.timeline, name, journal)
            if band := walls.ordered(position, valued.item.name, day):
                return limits_of_band(self.engine, valued.feature, band)
        steps = steps_at(self.engine, name, valued.trait, lambda of: self.timeline.size(of, position, day))
        key = (name, valued.item.name, unit, *steps)  # the same for most positions
        if key not in self._limits:
            self._limits[key] = limits_for(self.engine, valued.feature, valued.trait, unit, *steps)
        return self._limits[key]

    def _judged_elsewhere(self, valued: Valued, again: bool, said: Opinion) -> bool:
        """Whether it is another value that judges it, as the clearance does a wall.

        A worn wall is thinner than any new one, and a new one is there to choose by: of both the
        clearance that they give is what is judged; only a shell that is surely another is told apart.
        """
        if valued.kind.judged or valued.trait.limit in valued.feature.wear:
            return False
        return again or said.verdict not in ("as new", "beyond limit")

    # ------------------------------------------------------------ what is said beside it

    def _words(
        self, said: Opinion, valued: Valued, limits: Limits | None, unit: str, note: Text
    ) -> tuple[Text, Text]:
        """Its note and its advice: what mends it, which of its readings decides, what would settle it."""
        item = valued.item
        advice = said.advice or self._advice(said, valued, limits, unit)
        if item.filing and item.measured:
            # to be filed off: a note, and what mends a ring whose gap is too small
            off = self._plain(item.filing, unit, valued)
            left = self._plain(item.measured.value + item.filing, unit, valued)
            note = Sentence("file {amount} off the ring's ends, to {gap}", amount=off, gap=left)
            if said.end:
                words = message("file to fit: {amount} off the ring's ends, to {gap}")
                advice = Sentence(words, amount=off, gap=left)
        if said.worst is not None:
            words = message(
                "its greatest, {value}, decides" if said.end == "high" else "its least, {value}, decides"
            )
            value = self._plain(said.worst.value, unit, valued)
            note = present([note, Sentence(words, value=value)])
        return note, advice

    def _advice(self, said: Opinion, valued: Valued, limits: Limits | None, unit: str) -> Text:
        """What would settle a value that is too close to its limit."""
        item, source = valued.item, valued.source
        measured = said.worst or item.measured
        if said.verdict != "too close to call" or limits is None or measured is None:
            return NOTHING
        if words := by_note(measured) or by_warmth(measured):
            return words
        # no instrument reads it, or the last that did read something else: a load rests on a height, too
        if valued.trait.unit or source.unit != unit:
            if repeatable(measured, limits.decides):
                return Sentence(
                    "its readings would have to be surer: a finer instrument, or repeats at each spot"
                )
            return Sentence(
                "its readings would have to be surer: a finer instrument; repeats alone will not do"
            )
        columns = source.readings.get(item.position) or next(iter(source.readings.values()))
        repeats = max((len(r) for r in source.repeats.get(item.position, {}).values()), default=1)
        size = max(value.value for value in columns.values())
        typed = 10.0 ** -source.decimals[item.position] if item.position in source.decimals else 0.0
        used = replace(source.instrument, resolution=max(source.instrument.resolution, typed))
        return settle(
            measured, limits.decides, used, source.record, self.shop, unit, size, repeats, source.set_from
        )

    def _plain(self, value: float, unit: str, valued: Valued) -> Text:
        """A value in the shop's first unit, to the digits that were typed at its position."""
        decimals = valued.source.decimals.get(valued.item.position, 2)
        shown = show(value, unit, decimals, self.shop.first_unit)
        return Figure(f"{shown.text} {shown.unit}")

    def _decimals(self, valued: Valued) -> int:
        """Decimals that a value is printed with: as typed, and no more than its uncertainty justifies."""
        measured, source = valued.item.measured, valued.source
        if valued.trait.unit and valued.trait.unit != source.unit:
            return quantities.place_of(measured.u) if measured and measured.u else 2
        typed = source.decimals.get(valued.item.position)
        if typed is None:
            typed = max(source.decimals.values(), default=3)
        if measured is None or measured.u == 0.0:
            return typed
        return min(typed, quantities.place_of(measured.u))


def _in_micrometres(one: Characteristic) -> Characteristic:
    """The same in the unit that roughness is spoken of in, whatever the shop prints lengths in."""

    limits = one.limits
    if limits is not None:
        ends = {name: moved(getattr(limits, name), scale=1000.0) for name in ("new", "wear", "decides")}
        limits = replace(limits, **ends, decimals=max(limits.decimals - 3, 0))
    lengths = ("value", "standard_uncertainty", "guard", "guard_below", "raw", "worst")
    known = {name: length for name in lengths if (length := getattr(one, name)) is not None}
    up = {name: round(length * 1000.0, 9) for name, length in known.items()}
    return replace(one, **up, unit="µm", limits=limits, decimals=max(one.decimals - 3, 0))
