"""Readings that lie: a point in the wrong place, digits exchanged, inches for millimetres, rows misplaced.

Nothing is corrected.  A suspect is flagged with what was probably meant, and
stays out of everything worked out from the table until a person has measured
again, corrected the file, or put a ``!`` behind the reading to confirm it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from statistics import median, mode
from typing import TYPE_CHECKING

from ...quantities import NOTHING, Figure, Quantity, Sentence, Text, english, factor
from ...quantities.quantity import moved
from ...trade.measuring.plausibility import Band
from ..files.doubt import Doubt, Spot
from ..files.measured import MeasuredTable, base, kinds, tables
from ..files.rounds import Cell
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import Shop
from ..files.sizes import step_in_mm
from . import exchanges, misread
from .bands import band, rows, steps
from .slips import Slip, exchanged, slip

if TYPE_CHECKING:
    from ..files.folder import JobFolder

# Shop practice of this project: what a surface can plausibly be is within 2 % of its neighbours or its
# limits, which even a liner worn out by 1 mm in 100 keeps; a slipped point is out by 90 % or 900 %.
NEAR = 0.02
# Repeats at one spot are often small and coarse, 0.24 and 0.25: a step or two apart, yet the same.
REPEATS = 0.1
# Neighbours closer than this to each other are readings of one size, so that a digit can be judged.
ALIKE = 0.003

Limits = tuple[Band, str] | None  # a band with its unit


def find_doubts(job: JobFolder, engine: Engine | None, shop: Shop | None) -> list[Doubt]:
    """Every doubt about the readings of a job, each with its warning.

    From the coarse to the fine: a table in the wrong unit is not told again
    as readings out of the instrument's range.
    """
    found: list[Doubt] = []
    suspects: set[Spot] = set()

    def add(doubts: Sequence[Doubt]) -> None:
        found.extend(doubts)
        suspects.update(spot for doubt in doubts for spot in doubt.spots)

    measured = list(tables(job))
    features = engine.features if engine else {}
    every = [row for one in measured if one.feature in features for row in rows(one, features[one.feature])]
    add(list(misread.other_scales(every)))
    for one in measured:
        add(list(misread.warm(one, [row for row in every if row.one is one])))
    for one in measured:
        add(_slips(one, features.get(one.feature), suspects))
    if engine is not None:
        for one in measured:
            if one.feature in features:
                add(list(misread.of_missing_parts(one, job, engine)))
        for round_ in dict.fromkeys(one.round for one in measured) if _read(job, engine) else ():
            known = job.rounds.get(round_)
            if known is not None and known.model.on_paper:
                continue  # parts of another engine: nobody knows what size they were
            here = [row for row in every if row.one.round == round_ and not suspects & set(row.spots)]
            add(list(exchanges.misplaced(here, job, engine)))
            here = [row for row in here if not suspects & set(row.spots)]
            add(list(exchanges.crossed(here, job, engine)))
    if shop is not None:
        for one in measured:
            add(list(misread.instrument_doubts(one, shop, suspects, engine)))
    return found


def _read(job: JobFolder, engine: Engine) -> bool:
    """Whether all files could be read that say of which size a position is: else nobody knows."""
    parts = {one.part for one in engine.features.values()}
    for decision in job.work.decisions.values() if job.work else ():
        if decision.size and decision.about not in engine.features and decision.about not in parts:
            return False  # of what, is misspelt
    unread = [name for name in ("job", "teardown", "work") if getattr(job, name) is None]
    written = (job.sources[name].lines for name in unread if name in job.sources)
    return not any(text and text[0] != "#" for lines in written for line in lines if (text := line.strip()))


def _slips(one: MeasuredTable, feature: FeatureRecord | None, suspects: Set[Spot]) -> list[Doubt]:
    """Single readings that stand out from what is around them."""
    spots = [(p, c) for p, row in one.cells.items() for c, cell in row.items() if _asked(cell)]
    known = {(p, c) for p, c in spots if (one.round, one.name, p, c) in suspects}
    alike = feature is None or feature.kind not in kinds() or kinds()[feature.kind].alike
    ones = _of_one_size(one, feature, spots) if alike else {}
    for spot in spots:
        if spot not in ones and spot not in known and (found := slip(one, feature, *spot)):
            ones[spot] = _doubt(one, *spot, *found)
    return [doubt for spot, doubt in ones.items() if spot not in known]


def _of_one_size(
    one: MeasuredTable, feature: FeatureRecord | None, spots: list[tuple[str, str]]
) -> dict[tuple[str, str], Doubt]:
    """Those that stand out from neighbours of about the same size."""
    bands = {column: _band(feature, column) for column in one.table.columns}
    doubted = {spot: it for spot in spots if (it := _suspect(one, bands, *spot, feature=feature))}
    slipped = {
        spot: it for spot in doubted if (it := _suspect(one, bands, *spot, exchanges=False, feature=feature))
    }
    if slipped:  # a slipped point is no neighbour to hold the others against
        again = {
            spot: _suspect(one, bands, *spot, without=slipped.keys() - {spot}, feature=feature)
            for spot in spots
        }
        doubted = {spot: it for spot in spots if (it := again[spot] or slipped.get(spot))}
    return doubted


def _asked(cell: Cell) -> bool:
    return bool(cell.readings) and not cell.confirmed


def _suspect(
    one: MeasuredTable,
    bands: Mapping[str, Limits],
    position: str,
    column: str,
    without: Set[tuple[str, str]] = frozenset(),
    exchanges: bool = True,
    feature: FeatureRecord | None = None,
) -> Doubt | None:
    cell = one.cells[position][column]
    unit = cell.readings[0].unit
    row = _values(
        [
            it
            for c, it in one.cells[position].items()
            if c != column and (position, c) not in without and _comparable(feature, column, c)
        ],
        unit,
    )
    down = _values(
        [
            cells[column]
            for p, cells in one.cells.items()
            if p != position and column in cells and (p, column) not in without
        ],
        unit,
    )
    for i, reading in enumerate(cell.readings):
        repeats = [other.value for k, other in enumerate(cell.readings) if k != i]
        groups = [repeats, row, down]
        limits = bands.get(column)
        ends = _ends(limits, unit)
        meant = _slipped(reading, [*groups, ends])
        if not meant and exchanges:
            held = [*groups, ends] if feature and not _any_size(reading, feature, ends) else groups
            meant = _exchanged(reading, held)
        if meant or (exchanges and feature and _alone(reading, [repeats, row], feature, limits)):
            text, group = meant or (NOTHING, next((group for group in groups if group), []))
            return _doubt(one, position, column, reading, Slip(text, [] if group is ends else group))
    return None


def _doubt(one: MeasuredTable, position: str, column: str, reading: Quantity, found: Slip) -> Doubt:
    cell = one.cells[position][column]
    every = (it for cells in one.cells.values() for it in cells.values())
    places = mode(typed.decimals for it in every for typed in it.readings)
    mates = _list(found.among, places) if found.among else NOTHING
    hint = f"easure again, or write {reading.text}! if it is right"
    hint = f"{english(found.meant)}? M{hint}" if found.meant else f"m{hint}"
    if found.limit:
        times = f"{reading.value / found.limit:.0f}"
        message = f"{position} {column}: {reading.text} is {times} times its limit; judged as it was read"
        what = Sentence(
            "{position} {column}: {reading} is {times} times its limit, perhaps for {meant}; "
            "judged as it was read, and to be measured again",
            position=Sentence(position.replace("_", " ")),
            column=Sentence(column.replace("_", " ")),
            reading=Figure(reading.text),
            times=Figure(times),
            meant=found.meant,
        )
    else:
        beside = f"beside {english(mates)}" if mates else "against its limits"
        message = f"{position} {column}: {reading.text} stands out {beside}; left out until confirmed"
        what = _told(position, column, reading.text, mates, found.meant)
    problem = one.source.problem_at(cell.line, cell.column, message, hint, "warning")
    spots = ((one.round, one.name, position, column),)
    if found.limit:
        return Doubt(one.round, one.name, what, problem, kept=spots)
    return Doubt(one.round, one.name, what, problem, spots)


def _told(position: str, column: str, reading: str, mates: Text, meant: Text) -> Sentence:
    """A reading that stands out, for whoever reads a report."""
    words = (
        "{position} {column}: {reading} stands out beside {others} and lies outside every limit; "
        "left out until somebody has measured again"
    )
    if meant and mates:
        words = (
            "{position} {column}: {reading} stands out beside {others}, perhaps for {meant}; "
            "left out until somebody has measured again"
        )
    elif meant:
        words = (
            "{position} {column}: {reading} stands out against its limits, perhaps for {meant}; "
            "left out until somebody has measured again"
        )
    return Sentence(
        words,
        position=Sentence(position.replace("_", " ")),
        column=Sentence(column.replace("_", " ")),
        reading=Figure(reading),
        others=mates,
        meant=meant,
    )


def _comparable(feature: FeatureRecord | None, column: str, other: str) -> bool:
    """Whether two columns read one quantity: a tip and an end float have limits of their own."""
    sides = (feature.new, feature.wear) if feature else ()
    return all(side.get(column) == side.get(other) for side in sides)


def _list(values: Sequence[float], decimals: int) -> Text:
    low, high = (f"{value:.{decimals}f}" for value in (min(values), max(values)))
    if low == high:
        return Figure(low)
    return Sentence("{first} to {last}", first=Figure(low), last=Figure(high))


def _values(cells: Sequence[Cell], unit: str) -> list[float]:
    try:
        return [
            reading.value if reading.unit == unit else reading.to(unit)
            for cell in cells
            for reading in cell.readings
        ]
    except ValueError:  # readings of different dimensions: reported elsewhere
        return []


def _band(feature: FeatureRecord | None, column: str) -> Limits:
    """The band of the size that a column reads, and the unit that it is in."""
    known = band(feature, column) if feature is not None else None
    return None if known is None or feature is None else (known, base(feature.unit or ""))


def _ends(limits: Limits, unit: str) -> list[float]:
    """Ends of a band in ``unit``; none where it is so wide that it tells nothing of a digit."""
    if limits is None or not limits[1] or limits[1] != base(unit):
        return []
    (low, high), own = limits
    scale = 1.0 if own == unit else factor(own, unit)
    return [low * scale, high * scale] if low > 0 and high <= low * (1 + NEAR) else []


def _slipped(reading: Quantity, groups: Sequence[list[float]]) -> tuple[Text, list[float]] | None:
    """The reading with its point moved, where only that fits what stands around it.

    ``groups``: what it is held against, nearest first: repeats at its spot, its row, its column, its limits.
    """
    value = reading.value
    for k, group in enumerate(groups):
        if not group or min(group) <= 0:
            continue
        middle = median(group)
        near = REPEATS if k == 0 else NEAR
        alike = [one for one in group if abs(one - middle) <= near * middle]
        if len(alike) * 2 <= len(group) or (len(group) < 2):
            continue  # neighbours that differ among themselves say nothing
        if abs(value - middle) <= 0.5 * middle:
            return None  # the nearest neighbours agree with it
        for shift in (1, -1, 2, -2, 3, -3):
            if abs(value * 10.0**shift - middle) <= near * middle:
                return Figure(moved(reading.text, shift)), group
        if other := {"mm": "in", "in": "mm"}.get(reading.unit):
            converted = value * factor(other, reading.unit)
            if abs(converted - middle) <= near * middle:
                digits = max(1, reading.decimals + (1 if other == "mm" else -1))
                text = Sentence(
                    "{reading}, which is {converted}",
                    reading=Figure(f"{reading.text}{other}"),
                    converted=Figure(f"{converted:.{digits}f} {reading.unit}"),
                )
                return text, group
    return None


def _exchanged(reading: Quantity, groups: Sequence[list[float]]) -> tuple[Text, list[float]] | None:
    """The reading with two neighbouring digits exchanged, where only that fits."""
    step = reading.resolution
    for group in groups:
        if len(group) < 2 or min(group) <= 0:
            continue
        low, high = min(group), max(group)
        spread = high - low
        if spread > ALIKE * low:
            continue
        off = max(low - reading.value, reading.value - high)
        if off <= max(5 * spread, 20 * step):
            return None
        # a worn surface goes on beyond its neighbours by as much as they differ among themselves
        reach = max(3 * step, spread)
        fits = [text for text in exchanged(reading.text) if low - reach <= float(text) <= high + reach]
        if len(fits) == 1:
            return Figure(fits[0]), group
    return None


def _alone(reading: Quantity, groups: Sequence[list[float]], feature: FeatureRecord, limits: Limits) -> bool:
    """Whether a reading is what no wear makes, though nobody can say what was meant.

    It is outside every limit and far from its repeats and its row, which agree among themselves: by more
    than ``NEAR``, or on the side to which this surface does not wear, as a bore smaller than new.
    """
    ends = _ends(limits, reading.unit)
    known = [group for group in groups if len(group) > 1 and min(group) > 0]
    if not ends or not known:
        return False
    for group in known:
        low, high = min(group), max(group)
        off = max(low - reading.value, reading.value - high)
        if high - low > ALIKE * low or off <= max(5 * (high - low), 20 * reading.resolution):
            return False
    if _any_size(reading, feature, ends):
        return False
    middle = median(known[0])
    unworn = (feature.kind == "bore" and reading.value < middle) or (
        feature.kind == "journal" and reading.value > middle
    )
    return unworn or abs(reading.value - middle) > NEAR * middle


def _any_size(reading: Quantity, feature: FeatureRecord, ends: Sequence[float]) -> bool:
    """Whether a reading lies in the band of one of the sizes that the sheet lists."""
    shifts = [step_in_mm(size) for size in steps(feature)] if base(reading.unit) == "mm" else []
    scale = factor("mm", reading.unit) if shifts else 1.0
    every = (0.0, *(one * scale for one in shifts))
    return bool(ends) and any(ends[0] + by <= reading.value <= ends[1] + by for by in every)
