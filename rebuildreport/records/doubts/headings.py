"""What a table's heading and its readings say against each other: digits, columns, a workshop's warmth.

In: a table, its instrument.  Out: doubts.  What the instrument cannot reach at all is ``misread``'s.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Set

from ...quantities import Figure, Quantity, Sentence, UnknownUnit, as_typed, factor
from ...trade.measuring.gauges import family
from ..files.doubt import Doubt
from ..files.measured import MeasuredTable, base
from ..files.rounds import Cell, Spot
from ..files.sheet import FeatureRecord
from ..files.shop import InstrumentRecord, Shop
from .doubting import AGAIN, CONFIRM, named, of_readings
from .slips import ODD, limit_span

# One digit more than the divisions can be an estimate between two of them; two more nobody sees, and they
# say that the heading's unit, or the instrument, is another one (common practice).
ESTIMATED = 1
ANY = 99  # decimals: nobody types so many


def digits(table: MeasuredTable, shop: Shop, told: set[Spot]) -> Iterator[Doubt]:
    """Readings with more digits than their instrument shows, or with one less than those beside them."""
    name = table.table.instrument
    tool = shop.instruments.get(name)
    if tool is None or not base(tool.resolution.unit):
        return
    here = [(spot, cell) for spot, cell in table.read() if not cell.confirmed and spot not in told]
    typed = {reading.unit for _, cell in here for reading in cell.readings}
    most = {unit: most_decimals(tool, unit) for unit in typed}
    over = {spot: max(one.decimals - most[one.unit] for one in cell.readings) for spot, cell in here}
    finer = [(spot, cell) for spot, cell in here if over[spot] > 0]
    if finer:
        yield _finer(table, name, tool, finer, sure=max(over.values()) > ESTIMATED)
    elif tool.resolution.value == tool.resolution.resolution:
        # (of divisions of 0.005 every second ends in a nought that is not typed)
        step = tool.resolution
        for spot, cell in here:
            for reading in cell.readings:
                if reading.unit == step.unit and reading.decimals < step.decimals == table.decimals:
                    yield _lost(table, spot, cell, reading, tool)
                    break


def most_decimals(tool: InstrumentRecord, unit: str) -> int:
    """How many digits an instrument can have shown; any where it measures something else: told elsewhere."""
    if unit == tool.resolution.unit:
        # a leaf has what is stamped on it: the thinnest of 0.0015 in among others by thousandths
        thinnest = tool.range.low if family(tool.kind) == "gap" and tool.range.unit == unit else None
        return max(tool.resolution.decimals, thinnest.decimals if thinnest else 0)
    try:
        step = tool.resolution.to(unit)
    except (ValueError, UnknownUnit):
        return ANY
    # it may show the other system, too, and by steps of its own
    return max(0, 1 + math.ceil(-math.log10(step))) if step > 0 else ANY


def _finer(
    table: MeasuredTable, name: str, tool: InstrumentRecord, finer: list[tuple[Spot, Cell]], sure: bool
) -> Doubt:
    (_, _, position, column), cell = finer[0]
    message = f"{position} {column}: {cell.text}, and {name} shows steps of {tool.resolution}"
    hint = "a digit too many"
    if len(finer) > 1:
        message, hint = f"{message} (and {len(finer) - 1} more)", "another unit or instrument"
    words = Sentence(
        "{position} {column}: {reading} has more digits than the {tool} shows (steps of {step})",
        tool=Sentence(tool.kind),
        step=Figure(tool.resolution),
        **named(position, column, cell.text),
    )
    spots = tuple(spot for spot, _ in finer)
    hint = f"{hint}? {CONFIRM.capitalize()}"
    return of_readings(table, cell, words, hint, spots, out=sure, message=message)


def _lost(table: MeasuredTable, spot: Spot, cell: Cell, reading: Quantity, tool: InstrumentRecord) -> Doubt:
    whole = reading.text + ("" if "." in reading.text else ".")
    whole += "0" * (table.decimals - reading.decimals)
    words = Sentence(
        "{position} {column}: {reading} has a digit less than those beside it, and the {tool} shows steps of "
        "{step}",
        tool=Sentence(tool.kind),
        step=Figure(tool.resolution),
        **named(*spot[2:], reading.text),
    )
    hint = f"{whole}, or is a digit missing? {AGAIN.capitalize()}"
    return of_readings(table, cell, words, hint, (spot,), out=False)


def columns_exchanged(table: MeasuredTable, feature: FeatureRecord) -> Iterator[Doubt]:
    """A stem wider than the guide that it slides in: the two columns were read the other way round."""
    if feature.kind != "guide":
        return
    read = {position: _stem_and_guide(row) for position, row in table.cells.items()}
    wider = [at for at, (stems, guides) in read.items() if stems and guides and min(stems) > max(guides)]
    if wider:
        words = Sentence(
            "{position}: the stem is wider than its guide, perhaps with their columns exchanged",
            position=as_typed(", ".join(wider)),
        )
        cell = next(cell for cell in table.cells[wider[0]].values() if cell.readings)
        spots = tuple((table.round, table.name, at, column) for at in wider for column in table.cells[at])
        yield of_readings(table, cell, words, f"columns exchanged? {CONFIRM}", spots, out=True)


def _stem_and_guide(row: dict[str, Cell]) -> tuple[list[float], list[float]]:
    """Readings of a stem and of its guide [mm]; none where somebody has confirmed one."""
    found: tuple[list[float], list[float]] = [], []
    for column, cell in row.items():
        for values, word in zip(found, ("stem", "guide"), strict=True):
            if column.startswith(word):
                values += [reading.to("mm") for reading in cell.readings if base(reading.unit) == "mm"]
    return ([], []) if any(cell.confirmed for cell in row.values()) else found


def much_too_wide(table: MeasuredTable, feature: FeatureRecord, told: Set[Spot]) -> Iterator[Doubt]:
    """A stem so loose in its guide that no wear makes it so: a turn or a digit of one of the two."""
    _, most = limit_span(feature, "clearance", feature.unit)
    if feature.kind != "guide" or most <= 0:
        return
    most *= factor(feature.unit or "mm", "mm")
    for position, row in table.cells.items():
        spots = tuple((table.round, table.name, position, column) for column in row)
        stems, guides = _stem_and_guide(row)
        if not stems or not guides or max(guides) - min(stems) < ODD * most or not told.isdisjoint(spots):
            continue
        times = f"{(max(guides) - min(stems)) / most:.0f}"
        cell = next(cell for cell in row.values() if cell.readings)
        words = Sentence(
            "{position}: the stem has {times} times the play that its limit allows, perhaps by a slip in one "
            "of the two",
            position=as_typed(position),
            times=Figure(times),
        )
        yield of_readings(table, cell, words, f"a slip in one of the two? {CONFIRM}", spots, out=False)
