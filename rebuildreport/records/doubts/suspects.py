"""Readings that lie: a point in the wrong place, digits exchanged, inches for millimetres, rows misplaced.

Nothing is corrected.  A suspect is flagged with what was probably meant.  One that cannot be stays out of
everything worked out from the table until a person has measured again, corrected the file, or put a ``!``
behind the reading to confirm it; one that is only unlikely is judged as it was typed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from statistics import median

from msgspec import Struct

from ...quantities import NOTHING, Figure, Quantity, Sentence, Text, english, factor, message
from ...quantities.quantity import moved
from ...trade.kinds import KINDS
from ..files.doubt import Doubt
from ..files.folder import JobFolder
from ..files.measured import MeasuredTable, base, tables
from ..files.rounds import Cell, Spot
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import Shop
from ..text.reader import Source
from . import exchanges, headings, misread
from .bands import NEAR, BandRow, Sizes, limits_of, narrow_band, rows
from .degrees import BESIDE, TURNS, Expected, cannot_be, expected, has_thimble, of_one_size, turn_misread
from .doubting import named, of_readings, spanned
from .second_tests import unanswered
from .slips import Slip, exchanged, slip, values_in

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
        _by_the_sheet(asked, known, every, job, engine)
    if shop is not None:
        for table in asked.tables:
            asked.add(misread.instrument_doubts(table, shop, asked.suspects, engine))
        told = asked.told  # digits are asked about last, of readings that nothing else was asked about
        asked.found += [doubt for table in asked.tables for doubt in headings.digits(table, shop, told)]
    return asked.found


def _by_the_sheet(
    asked: _Asked, known: list[MeasuredTable], every: list[BandRow], job: JobFolder, engine: Engine
) -> None:
    """What is missing, exchanged, too wide, not sold; what stands at another place or is of another size."""
    for table in known:
        asked.add(misread.of_missing_parts(table, job, engine))
        asked.add(headings.columns_exchanged(table, asked.features[table.feature]))
        asked.add(headings.much_too_wide(table, asked.features[table.feature], asked.told))
        asked.add(misread.unsold(table, engine, asked.told))
    for here in _by_round(every, job, engine):
        for question in (exchanges.misplaced, exchanges.crossed):
            sound = [row for row in here if asked.suspects.isdisjoint(row.spots)]
            asked.add(question(sound, job, engine))


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


def _by_round(every: list[BandRow], job: JobFolder, engine: Engine) -> list[list[BandRow]]:
    """The rows of each round; none where not all files could be read that say of which size a position is."""
    parts = {feature.part for feature in engine.features.values()}
    for decision in job.decisions.values():
        if decision.size and decision.about not in engine.features and decision.about not in parts:
            return []  # of what, is misspelt
    if any(job.unread(name) for name in ("job", "teardown", "work")):
        return []
    by_round: dict[str, list[BandRow]] = {}
    for row in every:
        file = job.rounds.get(row.table.round)
        # of parts of another engine nobody knows what size they were
        if file is None or not file.model.of:
            by_round.setdefault(row.table.round, []).append(row)
    return list(by_round.values())


class _Read(Struct, frozen=True):
    """One table, and what is known of its readings beside it."""

    table: MeasuredTable
    feature: FeatureRecord | None
    unseen: Set[Spot] = frozenset()  # outside what their instrument can show
    sizes: Sizes | None = None
    thimble: bool = False  # read with a micrometer


class _Held(Struct, frozen=True):
    """A reading, and what it is held against from near to far, in its own unit."""

    reading: Quantity
    repeats: Sequence[float] = ()
    row: Sequence[float] = ()
    column: Sequence[float] = ()
    ends: Sequence[float] = ()  # of its limits, for the size in force
    others: Sequence[float] = (0.0,)  # by how much those of every size that the sheet lists are off them
    feature: FeatureRecord | None = None
    thimble: bool = False
    expected: Callable[[], Expected | None] = lambda: None  # by the run of the others

    @property
    def groups(self) -> tuple[Sequence[float], ...]:
        return self.repeats, self.row, self.column

    def slip(self, meant: Text, group: Sequence[float], cannot_be: bool, turn: str = "") -> Slip:
        """What was meant, and the readings beside which it stands out; none where its limits alone speak."""
        return Slip(meant, [] if group is self.ends else group, cannot_be=cannot_be, turn=turn)

    def sure(self, group: Sequence[float]) -> bool:
        """Whether it cannot be: beside its own part by any damage, beside others by their size alone."""
        own = group is self.repeats or group is self.row
        return of_one_size(self.reading, group) and cannot_be(
            self.reading, group, self.feature if own else None
        )

    def stands_off(self, group: Sequence[float], steps: int = STEPS) -> bool | None:
        """Whether it stands off from others of one size; None where they are not of one size."""
        low, high = min(group), max(group)
        if high - low > ALIKE * low:
            return None
        off = max(low - self.reading.value, self.reading.value - high)
        return off > max(SPREADS * (high - low), steps * self.reading.resolution)

    def grown(self, low: float, high: float) -> float:
        """By how much it lies outside on the side to which no surface of its kind wears."""
        kind = self.feature.kind if self.feature else ""
        return {"bore": low - self.reading.value, "journal": self.reading.value - high}.get(kind, 0.0)

    def any_size(self, beside: float = 0.0) -> bool:
        """Whether it lies in the band of one of the sizes that the sheet lists, or so much beside it."""
        if not self.ends:
            return False
        low, high = self.ends
        return any(low + by - beside <= self.reading.value <= high + by + beside for by in self.others)


def _slips(read: _Read, suspects: Set[Spot]) -> list[Doubt]:
    """Single readings that stand out from what is around them."""
    table, feature = read.table, read.feature
    places = [(spot[2], spot[3]) for spot, cell in table.read() if not cell.confirmed]
    told = {place for place in places if (table.round, table.name, *place) in suspects}
    kind = KINDS.get(feature.kind) if feature else None
    doubts = _of_one_size(read, places) if kind is None or kind.alike else {}
    for place in places:
        if place not in doubts and place not in told and (found := slip(table, feature, *place)):
            doubts[place] = _doubt(read, place, table.cells[place[0]][place[1]].readings[0], found)
    return [doubt for place, doubt in doubts.items() if place not in told]


def _of_one_size(read: _Read, places: list[Place]) -> dict[Place, Doubt]:
    """Those that stand out from neighbours of about the same size."""
    doubts = {place: _suspect(read, place) for place in places}
    # what cannot be is no neighbour to hold the others against, a slipped point before all
    slipped: dict[Place, Doubt] = {}
    for place, doubt in doubts.items():
        if doubt and (sure := _suspect(read, place, tests=TESTS[:1])):
            slipped[place] = sure
        elif doubt and doubt.spots:
            slipped[place] = doubt
    if slipped:
        for place in places:
            again = _suspect(read, place, slipped.keys() - {place})
            doubts[place] = again or slipped.get(place)
    return {place: doubt for place, doubt in doubts.items() if doubt}


def _suspect(
    read: _Read, place: Place, without: Set[Place] = frozenset(), tests: Sequence[Test] | None = None
) -> Doubt | None:
    """What the first of the tests says of the readings of a cell."""
    for held in _held(read, place, without):
        for test in TESTS if tests is None else tests:
            if found := test(held):
                return _doubt(read, place, held.reading, found)
    return None


def _held(read: _Read, place: Place, without: Set[Place]) -> Iterator[_Held]:
    """Each reading of a cell, with what is around it; ``without`` what is no neighbour to be held against."""
    table, feature = read.table, read.feature
    position, column = place
    cell = table.cells[position][column]
    unit = cell.readings[0].unit
    row, down = (values_in(cells, unit) for cells in _beside(read, place, without))
    ends, into = narrow_band(feature, column, unit), factor("mm", unit) if base(unit) == "mm" else 0.0
    # of the standard size, in force on that day, and listed besides by the sheet [mm]
    now, listed = [0.0], [0.0]
    if feature and into:
        now = read.sizes.moves(table.feature, position, table.day) if read.sizes else now
        listed = [0.0, *now, *(step.mm for step in feature.steps)]
    for i, reading in enumerate(cell.readings):
        # on the day of a decision it may be of the old size or of the new one: by the nearer
        by = min((by * into for by in now), key=lambda by: abs(reading.value - by - sum(ends) / 2))
        yield _Held(
            reading,
            [other.value for k, other in enumerate(cell.readings) if k != i],
            row,
            down,
            [end + by for end in ends],
            [other * into - by for other in listed],
            feature,
            read.thimble,
            lambda: expected(table, position, column, without) if len(cell.readings) == 1 else None,
        )


def _beside(read: _Read, place: Place, without: Set[Place]) -> tuple[list[Cell], list[Cell]]:
    """The cells of the same row, and of the same column."""
    (position, column), cells = place, read.table.cells
    # a tip and an end float have limits of their own: they are not held against each other
    limits = limits_of(read.feature)
    own = limits.get(column)
    row = [
        cell
        for name, cell in cells[position].items()
        if name != column and (position, name) not in without and limits.get(name) == own
    ]
    others = [at for at in cells if at != position and (at, column) not in without]
    return row, [cells[at][column] for at in others if column in cells[at]]


def _doubt(read: _Read, place: Place, reading: Quantity, found: Slip) -> Doubt:
    table, spot = read.table, (read.table.round, read.table.name, *place)
    hint = f"easure again, or write {reading.text}! if it is right"
    hint = f"{english(found.meant)}? M{hint}" if found.meant else f"m{hint}"
    names = named(*place, reading.text)
    sure = found.cannot_be or spot in read.unseen
    if found.limit and not sure:
        times = Figure(f"{reading.value / found.limit:.0f}")
        said = Sentence("{position} {column}: {reading} is {times} times its limit", times=times, **names)
    elif not found.among:
        said = Sentence("{position} {column}: {reading} stands out against its limits", **names)
    else:
        others = spanned(*(f"{end:.{table.decimals}f}" for end in (min(found.among), max(found.among))))
        said = Sentence("{position} {column}: {reading} stands out beside {others}", others=others, **names)
    if found.turn:
        said = Sentence("{what}, by a turn of the thimble ({turn})", what=said, turn=Figure(found.turn))
    if not found.meant:
        what = Sentence("{what} and lies outside every limit", what=said)
    elif found.turn:
        pattern = message("{what}, perhaps for {meant} with the line on the sleeve misread")
        what = Sentence(pattern, what=said, meant=found.meant)
    else:
        what = Sentence("{what}, perhaps for {meant}", what=said, meant=found.meant)
    cell = table.cells[place[0]][place[1]]
    return of_readings(table, cell, what, hint, (spot,), out=sure, message=english(said))


def _slipped(held: _Held) -> Slip | None:
    """The reading with its point moved, or in the other unit, where only that fits what stands around it."""
    reading = held.reading
    for group in (*held.groups, held.ends):
        near = REPEATS if group is held.repeats else NEAR
        middle = _middle(group, near)
        if middle is None:
            continue  # neighbours that differ among themselves say nothing
        if abs(reading.value - middle) <= AGREES * middle:
            return None  # the nearest neighbours agree with it
        # of one place, or of one size, a tenth cannot be; of gaps and pressures it can
        sure = group is held.repeats or group is held.ends or of_one_size(reading, group)
        for shift in SHIFTS:
            if abs(reading.value * 10.0**shift - middle) <= near * middle:
                return held.slip(Figure(moved(reading.text, shift)), group, sure)
        if meant := _in_other_unit(reading, middle, near):
            return held.slip(meant, group, sure)
    return None


def _middle(group: Sequence[float], near: float) -> float | None:
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


def _turned(held: _Held) -> Slip | None:
    """A reading a turn of the thimble off, while its repeats or its row agree within wear.

    Of a journal it is left out: half a millimetre at one place is no flat spot, and a journal is ground as a
    whole.  What a micrometer has read at one place alone is held against the other rows and its limits, and
    kept: it may be another part, or ground to another size and a little off it.
    """
    reading, unit = held.reading, held.reading.unit
    groups: list[tuple[Sequence[float], bool]] = []
    if held.feature is not None and held.feature.kind == "journal":
        groups = [(held.repeats, True), (held.row, True)]
    if held.thimble and unit in TURNS and not held.any_size(BESIDE * factor("mm", unit)):
        groups += [(held.column, False), (held.ends, False)]
    for group, sure in groups:
        if meant := turn_misread(reading, group):
            turn = f"{TURNS[unit]:g} {unit}"
            return held.slip(Figure(f"{meant:.{reading.decimals}f}"), group, sure, turn)
    return None


def _against_the_run(held: _Held) -> Slip | None:
    """Two digits exchanged, where the run of the other readings asks for them the other way round."""
    reading, run = held.reading, held.expected()
    if run is None or base(reading.unit) != "mm":
        return None
    off = abs(reading.value - run.value)
    least = max(RUN_OFF * factor("mm", reading.unit), RUN_STEPS * reading.resolution)
    if off <= max(least, RUN_DOUBTS * run.doubt):
        return None
    near = min(max(RUN_STEPS * reading.resolution, 2 * run.doubt), off / RUN_NEARER)
    meant = min(exchanged(reading.text), key=lambda text: abs(float(text) - run.value), default="inf")
    return Slip(Figure(meant), held.row) if abs(float(meant) - run.value) <= near else None


def _exchanged(held: _Held) -> Slip | None:
    """The reading with two neighbouring digits exchanged, where only that fits."""
    reading, groups = held.reading, held.groups
    if held.feature and not held.any_size():
        groups = (*groups, held.ends)
    for group in groups:
        if len(group) < 2 or min(group) <= 0 or (off := held.stands_off(group)) is None:
            continue
        low, high = min(group), max(group)
        if group is held.ends and held.grown(low, high) > STEPS * reading.resolution:
            off = True
        if not off:
            return None
        if group is held.column and not held.stands_off(group, COLUMN_STEPS):
            continue
        # a worn surface goes on beyond its neighbours by as much as they differ among themselves
        reach = max(REACH * reading.resolution, 0.0 if group is held.ends else high - low)
        fits = [text for text in exchanged(reading.text) if low - reach <= float(text) <= high + reach]
        if len(fits) == 1:
            return held.slip(Figure(fits[0]), group, held.sure(group))
    return None


def _unlike_wear(held: _Held) -> Slip | None:
    """A reading that no wear makes, though nobody can say what was meant.

    It is outside every limit and far from its repeats and its row, which agree among themselves: by more
    than ``NEAR`` or than any score or dent, or on the side to which this surface does not wear, as a bore
    smaller than new.
    """
    near = [group for group in (held.repeats, held.row) if len(group) > 1 and min(group) > 0]
    if held.feature is None or not held.ends or not near or held.any_size():
        return None
    if not all(held.stands_off(group) for group in near):
        return None
    reading, middle = held.reading, median(near[0])
    beside = abs(reading.value - middle) <= NEAR * middle and not cannot_be(reading, near[0], held.feature)
    if beside and held.grown(middle, middle) <= 0.0:
        return None
    return Slip(NOTHING, next(filter(None, held.groups)), cannot_be=held.sure(near[0]))


Test = Callable[[_Held], Slip | None]
# from the coarse to the fine: what says first what a reading was meant to be is told
TESTS: tuple[Test, ...] = (_slipped, _turned, _exchanged, _against_the_run, _unlike_wear)
