"""Readings that the instrument cannot have shown, and tables read in another unit than they say."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from statistics import median
from typing import TYPE_CHECKING

from ...quantities import Figure, Sentence, Text, UnknownUnit, as_typed, dimension, english, factor
from ...trade.measuring.gauges import family
from ...trade.measuring.plausibility import INCH, NARROW, Band, critical_range, mistaken_scale
from ...trade.measuring.uncertainty import TEMPERATURE_DOUBT, rectangular
from ..files.doubt import Doubt, Spot
from ..files.measured import base
from .bands import BandRow

if TYPE_CHECKING:
    from ...quantities import Quantity
    from ..files.folder import JobFolder
    from ..files.measured import MeasuredTable
    from ..files.sheet import Engine
    from ..files.shop import InstrumentRecord, Shop
    from ..files.teardown import Missing

AGAIN = "measure again"
BEYOND = 0.01  # share of a size that a gauge's own travel goes past its setting (common practice)


def other_scales(rows: list[BandRow]) -> Iterator[Doubt]:
    """Whole rows in inches under a heading of millimetres (or the reverse), or with the point elsewhere.

    Where every row of a table is, the table's heading is what is wrong.  A
    single reading among others that are right is a matter of its own.
    """
    for _, group in groupby(rows, key=lambda row: (row.one.round, row.one.name)):
        table = [row for row in group if row.values and not row.confirmed]
        found = [(row, by) for row in table if (by := _scale(row, table))]
        if not found:
            continue
        if len(found) == len(table) and len({by for _, by in found}) == 1:
            yield _whole_table([row for row, _ in found], found[0][1])
            continue
        for row, by in found:
            if len(row.values) > 1:
                yield _one_row(row, by)


def _scale(row: BandRow, table: list[BandRow]) -> float:
    length = base(row.unit) == "mm"
    if row.band is not None and (by := mistaken_scale(row.values, row.band, length)):
        return by
    others = [
        value
        for other in table
        if other is not row and other.cells.keys() == row.cells.keys()
        for value in other.values
    ]
    if len(others) < 2 or min(others) <= 0 or max(others) > NARROW * min(others):
        return 0.0
    return mistaken_scale(row.values, Band(min(others), max(others)), length)


def _meant(row: BandRow, by: float) -> tuple[Text, str]:
    """What was probably meant: in words, and the first reading of it as an example."""
    first = row.first.readings[0]
    if by in (INCH, 1.0 / INCH):
        unit = "in" if by == INCH else "mm"
        other = f"{first.value * factor(unit, first.unit):.{max(1, first.decimals - (by == INCH))}f}"
        example = f"{first.text} {unit} is {other} {first.unit}"
        return Sentence("inches" if by == INCH else "millimetres"), example
    return Sentence("a point in the wrong place"), f"{first.value * by:g} for {first.text}"


def _span(values: list[Quantity]) -> Text:
    low, high = min(values, key=lambda one: one.value), max(values, key=lambda one: one.value)
    if low.text == high.text:
        return Figure(low.text)
    return Sentence("{first} to {last}", first=Figure(low.text), last=Figure(high.text))


def _whole_table(rows: list[BandRow], by: float) -> Doubt:
    one, row = rows[0].one, rows[0]
    what, example = _meant(row, by)
    readings = [reading for row in rows for cell in row.cells.values() for reading in cell.readings]
    span = _span(readings)
    message = f"{english(span)} under the heading {row.unit}: {english(what)}? Left out until confirmed"
    unit = "in" if by == INCH else "mm"
    hint = f"unit: {unit}, or {AGAIN}" if by in (INCH, 1.0 / INCH) else f"{example}? {AGAIN.capitalize()}"
    where = ("tables", one.name, "unit") if one.table.unit else ("tables", one.name)
    problem = one.source.problem(
        where, f"{message} ({example})", hint, "warning", "value" if one.table.unit else "key"
    )
    told = Sentence(
        "{span} under the heading {unit}, perhaps {what}; left out until somebody has looked again",
        span=span,
        unit=row.unit,
        what=what,
    )
    return Doubt(one.round, one.name, told, problem, tuple(spot for row in rows for spot in row.spots))


def _one_row(row: BandRow, by: float) -> Doubt:
    what, example = _meant(row, by)
    cell = row.first
    span = _span([reading for cell in row.cells.values() for reading in cell.readings])
    message = f"{row.position}: {english(span)} under the heading {row.unit}"
    hint = f"{example}; {AGAIN}, or write a ! behind each reading that is right"
    problem = row.one.source.problem_at(
        cell.line, cell.column, f"{message}: {english(what)}? Left out until confirmed", hint, "warning"
    )
    told = Sentence(
        "{position}: {span} under the heading {unit}, perhaps {what}; "
        "left out until somebody has measured again",
        position=as_typed(row.position),
        span=span,
        unit=row.unit,
        what=what,
    )
    return Doubt(row.one.round, row.one.name, told, problem, row.spots)


def of_missing_parts(one: MeasuredTable, job: JobFolder, engine: Engine) -> Iterator[Doubt]:
    """Readings of what cannot be measured, because a part of it is not there and nobody decided about it.

    Nor can a clearance be read where its housing has no cap, nor a line of bores that asks for caps torqued.
    """
    for missing in job.teardown.missing if job.teardown else []:
        if missing.feature not in engine.features or not _needs(one, missing, engine):
            continue
        part = engine.features[missing.feature].part
        decided = [
            decision
            for decision in (job.work.decisions if job.work else {}).values()
            if decision.about in (missing.feature, part) and one.day and decision.date <= one.day
        ]
        for position in missing.positions:
            cells = {column: cell for column, cell in one.cells.get(position, {}).items() if cell.readings}
            made = any(not decision.positions or position in decision.positions for decision in decided)
            if not cells or made or any(cell.confirmed for cell in cells.values()):
                continue
            cell = next(iter(cells.values()))
            message = f"{position} was read, and its {missing.what} is missing (teardown.yaml); left out"
            hint = "which position was this? Put it right here, or under missing: in teardown.yaml"
            problem = one.source.problem_at(cell.line, cell.column, message, hint, "warning")
            what = Sentence(
                "{position} was read although its {what} is missing; left out until that is clear",
                position=as_typed(position),
                what=missing.what,
            )
            spots = tuple((one.round, one.name, position, column) for column in cells)
            yield Doubt(one.round, one.name, what, problem, spots)


def _needs(one: MeasuredTable, missing: Missing, engine: Engine) -> bool:
    """Whether a table reads what has a part missing, a fit of it, or a surface beside it in that state."""
    feature, bare = engine.features[one.feature], engine.features[missing.feature]
    links = (feature.housing, feature.shells, feature.journal, feature.outer, feature.inner)
    if missing.feature in (one.feature, *links):
        return True
    noun = missing.what.split()[-1].lower().rstrip("s")  # main cap, of caps torqued
    states = f"{feature.state or ''} {one.table.state or ''}".lower().replace(",", " ").split()
    mated = feature.part == bare.part and feature.positions == bare.positions
    return bool(feature.part) and mated and noun in [word.rstrip("s") for word in states]


def warm(one: MeasuredTable, rows: list[BandRow]) -> Iterator[Doubt]:
    """A part that was not as warm as the instrument: no length can be read from it yet."""
    part, given = one.table.temperature or one.workshop, one.table.instrument_temperature
    instrument = given or one.workshop
    if part is None or instrument is None or not any(base(row.unit) == "mm" for row in rows):
        return
    if any(dimension(one.unit) != "temperature" for one in (part, instrument)):
        return  # reported where it is written
    if abs(part.to("°C") - instrument.to("°C")) <= TEMPERATURE_DOUBT:
        return
    message = f"part at {part}, instrument at {instrument}: they had not soaked together"
    hint = f"{AGAIN} after soaking; what is corrected to 20 °C is for information"
    words = (
        "The part at {part}, instrument at {instrument}: they had not soaked together. "
        "Measure again after soaking; until then a correction is for information"
    )
    if given is None:
        words = (
            "The part at {part} in a workshop of {instrument}: they cannot have soaked together. "
            "Measure again after soaking; until then a correction is for information"
        )
        message = f"part at {part} in a workshop of {instrument}: they cannot have soaked together"
        hint += "; say 'instrument_temperature:' where the instrument was as warm as the part"
    key = "temperature" if one.table.temperature else "instrument_temperature"
    problem = one.source.problem(("tables", one.name, key), message, hint, "warning")
    what = Sentence(words, part=Figure(part), instrument=Figure(instrument))
    yield Doubt(one.round, one.name, what, problem)


def instrument_doubts(
    one: MeasuredTable, shop: Shop, suspects: set[Spot], engine: Engine | None
) -> Iterator[Doubt]:
    """Readings outside the instrument's range, repeats too far apart, a calibration that had run out."""
    for key in ("instrument", "set_from"):
        name = getattr(one.table, key)
        tool = shop.instruments.get(name or "")
        if tool is None:
            continue  # reported where it is written
        if tool.due and one.day and one.day > tool.due:
            message = f"{name} was due for calibration on {tool.due}, before this was measured ({one.day})"
            problem = one.source.problem(("tables", one.name, key), message, severity="warning")
            what = Sentence(
                "The {tool} was due for calibration on {due}, before this was measured",
                tool=Sentence(tool.kind),
                due=tool.due,
            )
            yield Doubt(one.round, one.name, what, problem, asks=False)
        if key == "instrument":
            feature = engine.features.get(one.feature) if engine else None
            no_leaf = family(tool.kind) == "gap"
            # that no leaf goes under a cam is told by the kind, which knows what to do about it
            told = no_leaf and feature is not None and feature.kind == "valve_clearance"
            yield from _outside(one, name, tool, suspects, no_leaf, told)
            yield from _scatter(one, tool, suspects)
        else:
            yield from _no_setting(one, name, tool, suspects)


def _no_setting(
    one: MeasuredTable, name: str, tool: InstrumentRecord, suspects: set[Spot]
) -> Iterator[Doubt]:
    """A gauge that cannot have been set in the micrometer named, whose range does not reach its size."""
    unit = next((end.unit for end in (tool.range.low, tool.range.high) if end and end.unit), "")
    read = [
        reading
        for position, row in one.cells.items()
        for column, cell in row.items()
        for reading in cell.readings
        if (one.round, one.name, position, column) not in suspects
    ]
    alike = [r for r in read if base(unit) and base(r.unit) and dimension(r.unit) == dimension(unit)]
    if not alike:
        return
    low, high = tool.range.within(unit)
    sizes = [reading.to(unit) for reading in alike]
    below = low is not None and max(sizes) < low * (1.0 - BEYOND)
    if not below and (high is None or min(sizes) <= high * (1.0 + BEYOND)):
        return
    ends = [end for end in (tool.range.low, tool.range.high) if end is not None]
    span: Text = Figure(ends[0].text)
    if len(ends) > 1:
        span = Sentence("{first} to {last}", first=span, last=Figure(ends[1].text))
    reading = alike[0]
    message = f"{name} reads {english(span)} {unit}: no gauge that reads {reading} can have been set in it"
    problem = one.source.problem(("tables", one.name, "set_from"), message, "another one?", "warning")
    what = Sentence(
        "The {tool} reads {span} {unit}: no gauge that reads {reading} can have been set in it",
        tool=Sentence(tool.kind),
        span=span,
        unit=unit,
        reading=Figure(f"{reading.text} {reading.unit}"),
    )
    yield Doubt(one.round, one.name, what, problem)


def _outside(
    one: MeasuredTable, name: str, tool: InstrumentRecord, suspects: set[Spot], no_leaf: bool, told: bool
) -> Iterator[Doubt]:
    """Readings that the instrument cannot show: told together, as a wrong instrument mostly is the cause."""
    ends = [end for end in (tool.range.low, tool.range.high) if end is not None]
    unit = next((end.unit for end in ends if end.unit), "")
    if not base(unit):
        return  # reported at the shop
    low, high = tool.range.within(unit)
    if "feeler" in tool.kind.lower():
        high = None  # leaves are stacked
    if family(tool.kind) == "travel" and low == 0 and high is not None:
        low = -high  # its zero is set where one likes, and its hand goes both ways from there
    found = []
    for position, row in one.cells.items():
        for column, cell in row.items():
            spot = (one.round, one.name, position, column)
            if spot in suspects or cell.confirmed:
                continue
            for reading in cell.readings:
                if not base(reading.unit) or dimension(reading.unit) != dimension(unit):
                    return  # reported as a matter of its own
                value = reading.to(unit)
                if told and value == 0.0:
                    continue
                slack = 1e-9 * max(1.0, abs(value))
                if (low is not None and value < low - slack) or (high is not None and value > high + slack):
                    found.append((spot, cell, reading))
                    break
    if not found:
        return
    (_, _, position, column), cell, reading = found[0]
    more = len(found) - 1
    others = f" (and {more} more)" if more else ""
    span: Text = Figure(ends[0].text)
    if len(ends) > 1:
        span = Sentence("{first} to {last}", first=span, last=Figure(ends[1].text))
    message = f"{position} {column}: {name} reads {english(span)} {unit}, not {reading}{others}; "
    message += "left out until confirmed"
    other = {"mm": "in", "in": "mm"}.get(reading.unit)
    hint = "another instrument?"
    if no_leaf and reading.value == 0.0 and tool.range.low is not None:
        hint = f"where not even the thinnest leaf goes in, write that one: {tool.range.low.text}"
    elif other:
        meant = reading.value * factor(other, unit)
        if (low is None or meant >= low) and (high is None or meant <= high):
            hint = f"unit: {other}? {reading.text} {other} is {meant:.4g} {unit}"
    words = (
        "{position} {column}: {reading} lies outside what the {tool} can show ({span} {unit}); "
        "left out until somebody has measured again"
    )
    if more:
        words = (
            "{position} {column} (and {more} more): {reading} lies outside what the {tool} can show "
            "({span} {unit}); left out until somebody has measured again"
        )
    what = Sentence(
        words,
        position=as_typed(position),
        column=Sentence(column.replace("_", " ")),
        reading=Figure(reading.text),
        tool=Sentence(tool.kind),
        span=span,
        unit=unit,
        more=more,
    )
    problem = one.source.problem_at(cell.line, cell.column, message, hint, "warning")
    yield Doubt(one.round, one.name, what, problem, tuple(spot for spot, _, _ in found))


def _scatter(one: MeasuredTable, tool: InstrumentRecord, suspects: set[Spot]) -> Iterator[Doubt]:
    """Repeats at one spot further apart than the instrument's repeatability explains."""
    if tool.repeatability is None:
        return  # nobody knows how far apart they may lie
    for position, row in one.cells.items():
        for column, cell in row.items():
            spot = (one.round, one.name, position, column)
            if len(cell.readings) < 2 or cell.confirmed or spot in suspects:
                continue
            unit = cell.readings[0].unit
            try:
                sigma = tool.repeatability.value * factor(
                    tool.repeatability.unit or tool.resolution.unit, unit
                )
                shown = tool.resolution.to(unit)
                values = [reading.to(unit) for reading in cell.readings]
            except (ValueError, UnknownUnit):
                continue  # reported elsewhere
            step = max(shown, *(reading.resolution for reading in cell.readings))
            # what is read is rounded to the step: its own scatter is part of that of the repeats
            allowed = critical_range((sigma**2 + rectangular(step / 2) ** 2) ** 0.5, len(values))
            spread = max(values) - min(values)
            if spread <= allowed + 1e-9:
                continue
            places = max(reading.decimals for reading in cell.readings)
            far = f"{cell.text.rstrip('!')}: {spread:.{places}f} {unit} apart"
            why = f"where the {tool.kind}'s repeatability allows {allowed:.{places + 1}f}"
            message = f"{position} {column}: {far}, {why}; left out until confirmed"
            centre = median(values)
            far_off = max(cell.readings, key=lambda reading: abs(reading.to(unit) - centre))
            rest = sorted(reading.to(unit) for reading in cell.readings if reading is not far_off)
            alone = min(abs(far_off.to(unit) - value) for value in rest) > 2.0 * (rest[-1] - rest[0]) + 1e-9
            doubted = f"; {far_off.text} stands apart" if len(values) > 2 and alone else ""
            hint = f"take {len(values)} more{doubted}, or write {cell.text}! if it is right"
            what = Sentence(
                "{position} {column}: {readings}: {spread} {unit} apart, where the {tool}'s repeatability "
                "allows {allowed}; left out until somebody has measured again",
                position=as_typed(position),
                column=Sentence(column.replace("_", " ")),
                readings=Figure(cell.text.rstrip("!")),
                spread=Figure(f"{spread:.{places}f}"),
                unit=unit,
                tool=Sentence(tool.kind),
                allowed=Figure(f"{allowed:.{places + 1}f}"),
            )
            problem = one.source.problem_at(cell.line, cell.column, message, hint, "warning")
            yield Doubt(one.round, one.name, what, problem, (spot,))
