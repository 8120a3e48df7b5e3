"""Readings that lie: a point in the wrong place, digits exchanged, inches for millimetres, rows misplaced.

Nothing is corrected.  A suspect is flagged with what was probably meant.  One that cannot be stays out of
everything worked out from the table until a person has measured again, corrected the file, or put a ``!``
behind the reading to confirm it; one that is only unlikely is judged as it was typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

from ...quantities import NOTHING, Figure, Quantity, Sentence, Text, english, factor
from ...quantities.quantity import moved
from ..files.doubt import Doubt
from ..files.measured import MeasuredTable, base, kinds, tables
from ..files.rounds import Cell, Spot
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import Shop
from ..text.fields import Interval
from . import exchanges, headings, misread
from .bands import BandRow, Sizes, band, rows
from .degrees import BESIDE, TURNS, cannot_be, expected, has_thimble, of_one_size, turn_misread
from .doubting import named, of_readings, spanned
from .second_tests import unanswered
from .slips import Slip, exchanged, slip

if TYPE_CHECKING:
    from ..files.folder import JobFolder
    from ..text.reader import Source

# Shop practice of this project: what a surface can plausibly be is within 2 % of its neighbours or its
# limits, which even a liner worn out by 1 mm in 100 keeps; a slipped point is out by 90 % or 900 %.
NEAR = 0.02
# Repeats at one spot are often small and coarse, 0.24 and 0.25: a step or two apart, yet the same.
REPEATS = 0.1
# Within half of the middle a neighbour agrees: what slips is out by more (0.9 or 9 times, 25.4 times).
AGREES = 0.5
# Neighbours closer than this to each other are readings of one size, so that a digit can be judged; they say
# so of a reading beyond them by more than so many times their spread, and so many steps (shop practice).
ALIKE, SPREADS, STEPS = 0.003, 5, 20
# Three skirts happen to be alike and the fourth is worn by some hundredths: beside other parts it takes more.
COLUMN_STEPS = 100
REACH = 3  # steps that digits exchanged back may lie beyond their neighbours, where those agree
# By the run of the others digits are exchanged where the reading is off it by more than so many mm, so many
# steps, and so many times the doubt of the run, and put right it is within as many, and so many times nearer
# (simulated).
RUN_OFF, RUN_STEPS, RUN_DOUBTS, RUN_NEARER = 0.014, 6, 4, 4
SHIFTS = (1, -1, 2, -2, 3, -3)  # of a point, likeliest first

Place = tuple[str, str]  # position, column of one table


def find_doubts(
    job: JobFolder, engine: Engine | None, shop: Shop | None, sheet: Source | None = None
) -> list[Doubt]:
    """Every doubt about the readings of a job, each with its warning; ``sheet`` is the engine's file.

    From the coarse to the fine: a table in the wrong unit is not told again
    as readings out of the instrument's range.
    """
    sizes = Sizes(job, engine) if engine else None
    asked = _Asked(list(tables(job)), engine.features if engine else {}, sizes)
    known = [table for table in asked.tables if table.feature in asked.features]
    every = [row for table in known for row in rows(table, asked.features[table.feature])]
    asked.add(misread.other_scales(every, shop, sheet))
    for table in asked.tables:
        asked.add(misread.warm(table, [row for row in every if row.table is table]))
    for table in asked.tables:
        feature = asked.features.get(table.feature)
        unseen = misread.unseen(table, shop, feature) if shop is not None else set()
        thimble = shop is not None and has_thimble(shop.instruments.get(table.table.instrument))
        asked.add(_slips(_Read(table, feature, unseen, sizes, thimble), asked.suspects))
    if engine is not None:
        for table in known:
            asked.add(misread.of_missing_parts(table, job, engine))
            asked.add(headings.columns_exchanged(table, asked.features[table.feature]))
            asked.add(headings.much_too_wide(table, asked.features[table.feature], asked.told))
            asked.add(misread.unsold(table, engine, asked.told))
        for here in _by_round(every, job, engine):
            for question in (exchanges.misplaced, exchanges.crossed):
                asked.add(question(asked.unsuspected(here), job, engine))
    if shop is not None:
        for table in asked.tables:
            asked.add(misread.instrument_doubts(table, shop, asked.suspects, engine))
        asked.found += _of_digits(asked, shop)
    return asked.found


class _Asked:
    """What was asked so far of the tables of a job, and which readings are left out by that."""

    def __init__(
        self, measured: list[MeasuredTable], features: Mapping[str, FeatureRecord], sizes: Sizes | None
    ) -> None:
        self.tables, self.features, self.sizes = measured, features, sizes
        self.found: list[Doubt] = []
        self.suspects: set[Spot] = set()

    def add(self, doubts: Iterable[Doubt]) -> None:
        # a whole test is asked before its own doubts count, and a second test of the same thing before that
        for doubt in unanswered(list(doubts), self.tables, self.features, self.sizes):
            self.found.append(doubt)
            self.suspects.update(doubt.spots)

    @property
    def told(self) -> set[Spot]:
        """Every reading that something was asked about."""
        return {spot for doubt in self.found for spot in (*doubt.spots, *doubt.kept)}

    def unsuspected(self, here: list[BandRow]) -> list[BandRow]:
        return [row for row in here if self.suspects.isdisjoint(row.spots)]


def _of_digits(asked: _Asked, shop: Shop) -> list[Doubt]:
    """Digits that an instrument does not show, of readings that nothing else was asked about."""
    told = asked.told
    return [doubt for table in asked.tables for doubt in headings.digits(table, shop, told)]


def _by_round(every: list[BandRow], job: JobFolder, engine: Engine) -> list[list[BandRow]]:
    """The rows of each round in which it is known what size each position ought to be."""
    if not _sizes_known(job, engine):
        return []
    by_round: dict[str, list[BandRow]] = {}
    for row in every:
        file = job.rounds.get(row.table.round)
        # of parts of another engine nobody knows what size they were
        if file is None or not file.model.of:
            by_round.setdefault(row.table.round, []).append(row)
    return list(by_round.values())


def _sizes_known(job: JobFolder, engine: Engine) -> bool:
    """Whether all files could be read that say of which size a position is: else nobody knows."""
    parts = {feature.part for feature in engine.features.values()}
    for decision in job.decisions.values():
        if decision.size and decision.about not in engine.features and decision.about not in parts:
            return False  # of what, is misspelt
    unread = [name for name in ("job", "teardown", "work") if getattr(job, name) is None]
    return not any(job.sources[name].begun for name in unread if name in job.sources)


@dataclass(frozen=True, slots=True)
class _Read:
    """One table, and what is known of its readings beside it."""

    table: MeasuredTable
    feature: FeatureRecord | None
    unseen: Set[Spot] = frozenset()  # outside what their instrument can show
    sizes: Sizes | None = None
    thimble: bool = False  # read with a micrometer


def _slips(read: _Read, suspects: Set[Spot]) -> list[Doubt]:
    """Single readings that stand out from what is around them."""
    table, feature = read.table, read.feature
    places = [(spot[2], spot[3]) for spot, cell in table.read() if not cell.confirmed]
    told = {place for place in places if (table.round, table.name, *place) in suspects}
    kind = kinds().get(feature.kind) if feature else None
    doubts = _of_one_size(read, places) if kind is None or kind.alike else {}
    for place in places:
        if place not in doubts and place not in told and (found := slip(table, feature, *place)):
            doubts[place] = _doubt(table, place, *found, read.unseen)
    return [doubt for place, doubt in doubts.items() if place not in told]


def _of_one_size(read: _Read, places: list[Place]) -> dict[Place, Doubt]:
    """Those that stand out from neighbours of about the same size."""
    doubts = {place: _suspect(read, place) for place in places}
    # what cannot be is no neighbour to hold the others against, a slipped point before all
    slipped: dict[Place, Doubt] = {}
    for place, doubt in doubts.items():
        if doubt and (sure := _suspect(read, place, exchanges=False)):
            slipped[place] = sure
        elif doubt and doubt.spots:
            slipped[place] = doubt
    if slipped:
        for place in places:
            again = _suspect(read, place, slipped.keys() - {place})
            doubts[place] = again or slipped.get(place)
    return {place: doubt for place, doubt in doubts.items() if doubt}


@dataclass(frozen=True, slots=True)
class _Around:
    """What a reading is held against, from near to far, in its own unit."""

    repeats: list[float]
    row: list[float]
    column: list[float]
    ends: list[float]  # of its limits, for the size in force
    others: Sequence[float] = (0.0,)  # by how much those of every size that the sheet lists are off them

    @property
    def groups(self) -> tuple[list[float], ...]:
        return self.repeats, self.row, self.column

    def among(self, group: list[float]) -> list[float]:
        """The readings that a slip is told to stand beside; none where its limits alone speak."""
        return [] if group is self.ends else group


def _suspect(
    read: _Read, place: Place, without: Set[Place] = frozenset(), exchanges: bool = True
) -> Doubt | None:
    table, feature = read.table, read.feature
    position, column = place
    cell = table.cells[position][column]
    unit = cell.readings[0].unit
    # a tip and an end float have limits of their own: they are not held against each other
    limits = limits_of_columns(feature)
    own = limits.get(column)
    row = [
        other
        for name, other in table.cells[position].items()
        if other is not cell and (position, name) not in without and limits.get(name) == own
    ]
    down = [
        cells[column]
        for at, cells in table.cells.items()
        if at != position and column in cells and (at, column) not in without
    ]
    row_values, down_values, standard = _values(row, unit), _values(down, unit), _ends(feature, column, unit)
    now, offered = _offered(read, position, unit)
    for i, reading in enumerate(cell.readings):
        repeats = [other.value for k, other in enumerate(cell.readings) if k != i]
        # on the day of a decision it may be of the old size or of the new one: by the nearer
        by = min(now, key=lambda by: abs(reading.value - by - sum(standard) / 2))
        ends = [end + by for end in standard]
        around = _Around(repeats, row_values, down_values, ends, [other - by for other in offered])
        found = _slipped(reading, around)
        if found is None and exchanges:
            found = (
                _turned(reading, around, read)
                or _exchanged(reading, around, feature)
                or _against_the_run(table, place, reading, without)
                or _unlike_wear(reading, around, feature)
            )
        if found is not None:
            return _doubt(table, place, reading, found, read.unseen)
    return None


def _doubt(table: MeasuredTable, place: Place, reading: Quantity, found: Slip, unseen: Set[Spot]) -> Doubt:
    position, column = place
    cell = table.cells[position][column]
    hint = f"easure again, or write {reading.text}! if it is right"
    hint = f"{english(found.meant)}? M{hint}" if found.meant else f"m{hint}"
    names = {**named(position, column, reading.text), "meant": found.meant}
    spots = ((table.round, table.name, position, column),)
    sure = found.cannot_be or not unseen.isdisjoint(spots)
    message = f"{position} {column}: {reading.text}"
    if found.limit and not sure:
        times = f"{reading.value / found.limit:.0f}"
        what: Text = Sentence(
            "{position} {column}: {reading} is {times} times its limit, perhaps for {meant}",
            times=Figure(times),
            **names,
        )
        message = f"{message} is {times} times its limit"
        return of_readings(table, cell, message, hint, what, spots, out=False)
    if not found.among:
        what = Sentence(
            "{position} {column}: {reading} stands out against its limits, perhaps for {meant}", **names
        )
        return of_readings(
            table, cell, f"{message} stands out against its limits", hint, what, spots, out=sure
        )
    low, high = (f"{end:.{table.decimals}f}" for end in (min(found.among), max(found.among)))
    others = spanned(low, high)
    message = f"{message} stands out beside {english(others)}"
    if found.turn:
        message += f", by a turn of the thimble ({found.turn})"
    return of_readings(table, cell, message, hint, _beside(others, names, found), spots, out=sure)


def _beside(others: Text, names: dict[str, Text], found: Slip) -> Text:
    """How a reading stands out from those around it."""
    if found.turn:
        return Sentence(
            "{position} {column}: {reading} stands off {others} by a turn of the thimble ({turn}), "
            "perhaps for {meant} with the line on the sleeve misread",
            turn=Figure(found.turn),
            others=others,
            **names,
        )
    if found.meant:
        return Sentence(
            "{position} {column}: {reading} stands out beside {others}, perhaps for {meant}",
            others=others,
            **names,
        )
    return Sentence(
        "{position} {column}: {reading} stands out beside {others} and lies outside every limit",
        others=others,
        **names,
    )


def limits_of_columns(feature: FeatureRecord | None) -> dict[str, tuple[Interval | None, Interval | None]]:
    """New and wear limits of each column that has some by its name."""
    if feature is None:
        return {}
    return {name: (feature.new.get(name), feature.wear.get(name)) for name in {*feature.new, *feature.wear}}


def _values(cells: Sequence[Cell], unit: str) -> list[float]:
    try:
        return [
            reading.value if reading.unit == unit else reading.to(unit)
            for cell in cells
            for reading in cell.readings
        ]
    except ValueError:  # readings of different dimensions: reported elsewhere
        return []


def _ends(feature: FeatureRecord | None, column: str, unit: str) -> list[float]:
    """Ends of the band that a column reads [unit]; none where it is too wide to tell of a digit."""
    known = band(feature, column) if feature is not None else None
    own = base(feature.unit) if feature is not None else ""
    if known is None or not own or own != base(unit):
        return []
    low, high = known
    scale = factor(own, unit)
    return [low * scale, high * scale] if low > 0 and high <= low * (1 + NEAR) else []


def _offered(read: _Read, position: str, unit: str) -> tuple[list[float], list[float]]:
    """By how much a size in force is off the standard one, and what the sheet lists besides [unit]."""
    table, feature = read.table, read.feature
    if feature is None or base(unit) != "mm":
        return [0.0], [0.0]
    scale = factor("mm", unit)
    now = read.sizes.moves(table.feature, position, table.day) if read.sizes else [0.0]
    return [by * scale for by in now], [
        0.0,
        *(by * scale for by in (*now, *(one.mm for one in feature.steps))),
    ]


def _slipped(reading: Quantity, around: _Around) -> Slip | None:
    """The reading with its point moved, or in the other unit, where only that fits what stands around it."""
    for group in (*around.groups, around.ends):
        near = REPEATS if group is around.repeats else NEAR
        middle = _middle(group, near)
        if middle is None:
            continue  # neighbours that differ among themselves say nothing
        if abs(reading.value - middle) <= AGREES * middle:
            return None  # the nearest neighbours agree with it
        # of one place, or of one size, a tenth cannot be; of gaps and pressures it can
        sure = group is around.repeats or group is around.ends or of_one_size(reading, group)
        for shift in SHIFTS:
            if abs(reading.value * 10.0**shift - middle) <= near * middle:
                return Slip(Figure(moved(reading.text, shift)), around.among(group), cannot_be=sure)
        if meant := _in_other_unit(reading, middle, near):
            return Slip(meant, around.among(group), cannot_be=sure)
    return None


def _middle(group: list[float], near: float) -> float | None:
    """The middle of readings of which more than half are alike; None where there is none."""
    if len(group) < 2 or min(group) <= 0:
        return None
    middle = median(group)
    alike = [value for value in group if abs(value - middle) <= near * middle]
    return middle if len(alike) * 2 > len(group) else None


def _in_other_unit(reading: Quantity, middle: float, near: float) -> Text:
    """Inches among millimetres, or the reverse; NOTHING where that does not fit."""
    other = {"mm": "in", "in": "mm"}.get(reading.unit)
    if not other:
        return NOTHING
    converted = reading.value * factor(other, reading.unit)
    if abs(converted - middle) > near * middle:
        return NOTHING
    digits = max(1, reading.decimals + (1 if other == "mm" else -1))
    return Sentence(
        "{reading}, which is {converted}",
        reading=Figure(f"{reading.text}{other}"),
        converted=Figure(f"{converted:.{digits}f} {reading.unit}"),
    )


def _stands_off(reading: Quantity, group: list[float], steps: int = STEPS) -> bool | None:
    """Whether a reading stands off from others of one size; None where they are not of one size."""
    low, high = min(group), max(group)
    if high - low > ALIKE * low:
        return None
    off = max(low - reading.value, reading.value - high)
    return off > max(SPREADS * (high - low), steps * reading.resolution)


def _turned(reading: Quantity, around: _Around, read: _Read) -> Slip | None:
    """A reading a turn of the thimble off, while its repeats or its row agree within wear.

    Of a journal it is left out: half a millimetre at one place is no flat spot, and a journal is ground as a
    whole.  What a micrometer has read at one place alone is held against the other rows and its limits, and
    kept: it may be another part, or ground to another size and a little off it.
    """
    journal = read.feature is not None and read.feature.kind == "journal"
    own = (around.repeats, around.row) if journal else ()
    beside: tuple[Sequence[float], ...] = ()
    if read.thimble and reading.unit in TURNS:
        another = _any_size(reading, around, BESIDE * factor("mm", reading.unit))
        beside = () if another else (around.column, around.ends)
    for group in (*own, *beside):
        if meant := turn_misread(reading, group):
            text, turn = f"{meant:.{reading.decimals}f}", f"{TURNS[reading.unit]:g} {reading.unit}"
            sure = any(group is one for one in own)
            return Slip(Figure(text), around.among(group), cannot_be=sure, turn=turn)
    return None


def _against_the_run(
    table: MeasuredTable, place: Place, reading: Quantity, without: Set[Place]
) -> Slip | None:
    """Two digits exchanged, where the run of the other readings asks for them the other way round."""
    run = expected(table, *place, without)
    if run is None or base(reading.unit) != "mm" or len(table.cells[place[0]][place[1]].readings) > 1:
        return None
    off = abs(reading.value - run.value)
    least = max(RUN_OFF * factor("mm", reading.unit), RUN_STEPS * reading.resolution)
    if off <= max(least, RUN_DOUBTS * run.doubt):
        return None
    near = min(max(RUN_STEPS * reading.resolution, 2 * run.doubt), off / RUN_NEARER)
    fits = [text for text in exchanged(reading.text) if abs(float(text) - run.value) <= near]
    if not fits:
        return None
    row = [other.readings[0].value for name, other in table.cells[place[0]].items() if name != place[1]]
    return Slip(Figure(min(fits, key=lambda text: abs(float(text) - run.value))), row)


def _exchanged(reading: Quantity, around: _Around, feature: FeatureRecord | None) -> Slip | None:
    """The reading with two neighbouring digits exchanged, where only that fits."""
    held = around.groups
    if feature and not _any_size(reading, around):
        held = (*held, around.ends)
    for group in held:
        if len(group) < 2 or min(group) <= 0 or (off := _stands_off(reading, group)) is None:
            continue
        if group is around.ends and _unworn(reading, feature, group):
            off = True
        if not off:
            return None
        if group is around.column and not _stands_off(reading, group, COLUMN_STEPS):
            continue
        # a worn surface goes on beyond its neighbours by as much as they differ among themselves
        low, high = min(group), max(group)
        reach = max(REACH * reading.resolution, 0.0 if group is around.ends else high - low)
        fits = [text for text in exchanged(reading.text) if low - reach <= float(text) <= high + reach]
        if len(fits) == 1:
            return Slip(
                Figure(fits[0]), around.among(group), cannot_be=_sure(reading, around, group, feature)
            )
    return None


def _unworn(reading: Quantity, feature: FeatureRecord | None, ends: Sequence[float]) -> bool:
    """Whether it lies outside its limits on the side to which no surface of its kind wears."""
    kind = feature.kind if feature else ""
    off = {"bore": min(ends) - reading.value, "journal": reading.value - max(ends)}.get(kind, 0.0)
    return off > STEPS * reading.resolution


def _sure(reading: Quantity, around: _Around, group: list[float], feature: FeatureRecord | None) -> bool:
    """Whether it cannot be: beside its own part by any damage, beside other parts by their size alone."""
    own = group is around.repeats or group is around.row
    return of_one_size(reading, group) and cannot_be(reading, group, feature if own else None)


def _unlike_wear(reading: Quantity, around: _Around, feature: FeatureRecord | None) -> Slip | None:
    """A reading that no wear makes, though nobody can say what was meant.

    It is outside every limit and far from its repeats and its row, which agree among themselves: by more
    than ``NEAR`` or than any score or dent, or on the side to which this surface does not wear, as a bore
    smaller than new.
    """
    near = [group for group in (around.repeats, around.row) if len(group) > 1 and min(group) > 0]
    if feature is None or not around.ends or not near:
        return None
    if not all(_stands_off(reading, group) for group in near) or _any_size(reading, around):
        return None
    middle = median(near[0])
    grown = {"bore": middle - reading.value, "journal": reading.value - middle}.get(feature.kind, 0.0)
    beside = abs(reading.value - middle) <= NEAR * middle and not cannot_be(reading, near[0], feature)
    if grown <= 0.0 and beside:
        return None
    group = next(group for group in around.groups if group)
    return Slip(NOTHING, group, cannot_be=_sure(reading, around, near[0], feature))


def _any_size(reading: Quantity, around: _Around, beside: float = 0.0) -> bool:
    """Whether a reading lies in the band of one of the sizes that the sheet lists, or so much beside it."""
    if not around.ends:
        return False
    low, high = around.ends
    return any(low + by - beside <= reading.value <= high + by + beside for by in around.others)
