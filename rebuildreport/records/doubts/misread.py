"""Readings that the instrument cannot have shown, and tables read in another unit than they say."""

from __future__ import annotations

from collections.abc import Iterator, Set
from itertools import groupby
from math import log
from statistics import median
from typing import NamedTuple

from ...quantities import Figure, Sentence, Text, UnknownUnit, as_typed, dimension, english, factor, message
from ...quantities.quantity import Quantity, moved
from ...trade.measuring.gauges import family
from ...trade.measuring.plausibility import INCH, NARROW, Band, critical_range, mistaken_scale
from ...trade.measuring.uncertainty import TEMPERATURE_DOUBT, rectangular
from ..files.doubt import Doubt
from ..files.folder import JobFolder
from ..files.measured import MeasuredTable, base
from ..files.rounds import Cell, Spot
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import InstrumentRecord, Shop
from ..files.teardown import Missing
from ..text.reader import Source, Where
from .bands import BandRow, band_limits
from .doubting import AGAIN, CONFIRM, doubted, named, of_readings, spanned
from .slips import limit_span, shown

BEYOND = 0.01  # share of a size that a gauge's own travel goes past its setting (common practice)
# Two numbers that a person typed are compared as floats: what is less than this share apart is the same.
ROUNDED = 1e-9
# A repeat that stands more than so many times as far off as the others lie apart is named (shop practice).
APART = 2.0
# Levering a shaft to and fro is no repeat of one spot: the largest counts, and some hundredths of a
# millimetre between one time and the next are normal (common practice) [mm].
LEVERED = 0.06
# Leaves are stacked, and a whole set comes to no more than so many times its thickest (common practice).
STACKED = 10.0
# Repeats that an instrument of no known repeatability has read lie no further apart than so many times its
# permitted error: what does is no scatter of a hand (shop practice).
UNLIKE_REPEATS = 10.0
INCHES = (INCH, 1.0 / INCH)
# units that are taken for each other, likeliest first (common practice)
MISTAKEN = (("mm", "in", "thou"), ("bar", "psi", "kPa"), ("N", "lbf"), ("g", "kg"))


def unsold(table: MeasuredTable, engine: Engine, told: Set[Spot]) -> Iterator[Doubt]:
    """Shims thinner or thicker than any that is sold: digits exchanged, or a turn of the thimble."""
    for shims in engine.shims.values():
        sold = shims.thicknesses if table.feature in shims.clearance else []
        for spot, cell in table.read() if sold else ():
            if spot[3] != shims.shim or spot in told or cell.confirmed:
                continue
            reading = cell.readings[0]
            if base(reading.unit) != "mm" or min(sold) * 0.99 <= reading.to("mm") <= max(sold) * 1.01:
                continue
            words = Sentence(
                "{position} {column}: {reading}, and shims are sold from {low} to {high}",
                low=Figure(f"{min(sold):.2f} mm"),
                high=Figure(f"{max(sold):.2f} mm"),
                **named(*spot[2:], cell.text),
            )
            yield of_readings(table, cell, words, CONFIRM, (spot,), out=False)


def other_scales(rows: list[BandRow], shop: Shop | None, sheet: Source | None) -> Iterator[Doubt]:
    """Whole rows in inches under a heading of millimetres (or the reverse), or with the point elsewhere.

    Where every row of a table is, the table's heading is what is wrong, or the limits of the sheet.  A
    single reading among others that are right is a matter of its own.
    """
    for _, group in groupby(rows, key=lambda row: (row.table.round, row.table.name)):
        table = [row for row in group if row.values and not row.confirmed]
        alike: dict[frozenset[str], list[BandRow]] = {}
        for row in table:
            alike.setdefault(frozenset(row.cells), []).append(row)
        scaled = [(row, by) for row in table if (by := _scale(row, alike[frozenset(row.cells)]))]
        scales = {by for _, by in scaled}
        if len(scales) == 1 and len(scaled) == len(table):
            yield _of_all_rows(table, scales.pop(), shop, sheet)
        else:
            yield from (_in_other_scale([row], by) for row, by in scaled if len(row.values) > 1)


def _of_all_rows(rows: list[BandRow], by: float, shop: Shop | None, sheet: Source | None) -> Doubt:
    tool = shop.instruments.get(rows[0].table.table.instrument or "") if shop else None
    if sheet and tool and by in INCHES and all(_only_as_typed(row, by, tool) for row in rows):
        return _limits_in_another_unit(rows, by, tool, sheet)
    return _in_other_scale(rows, by, whole=True)


def _scale(row: BandRow, alike: list[BandRow]) -> float:
    """The factor that brings a row into its band, or to the rows of the same columns; 0.0 for none."""
    if row.band is not None and (by := mistaken_scale(row.values, row.band, row.of_length)):
        # 1.4 mm of end float may be true where 0.05 is meant: only another unit than the heading's is asked
        # of it.  Of a size it cannot be, and the limit may be what is in inches.
        return by if row.band.of_size or _other_unit(row, by) else 0.0
    others = [value for other in alike if other is not row for value in other.values]
    if len(others) < 2 or min(others) <= 0 or max(others) > NARROW * min(others):
        return 0.0
    by = mistaken_scale(row.values, Band(min(others), max(others)), row.of_length)
    return by if _other_unit(row, by) else 0.0


def _other_unit(row: BandRow, by: float) -> bool:
    """Whether a factor is none of units, or leads to another unit than the heading's."""
    inches = row.unit in ("in", "thou")
    return by not in INCHES or inches == (by != INCH)


def _only_as_typed(row: BandRow, by: float, tool: InstrumentRecord) -> bool:
    """Whether the instrument shows what was typed, and cannot show what the limits would make of it."""
    if row.band is None or base(tool.range.unit) != "mm":
        return False
    low, high = tool.range.numbers("", "mm")
    if low is None or high is None:
        return False
    shown = Band(low, high)
    return shown.fits(row.values) and not any(shown.fits([value * by]) for value in row.values)


def _meant(row: BandRow, by: float) -> tuple[Text, str]:
    """What was probably meant: in words, and the first reading of it as an example."""
    first = row.first.readings[0]
    if by not in INCHES:
        return Sentence("a point in the wrong place"), f"{first.value * by:g} for {first.text}"
    unit = "in" if by == INCH else "mm"
    places = max(1, first.decimals - (by == INCH))
    example = f"{first.text} {unit} is {first.value * factor(unit, first.unit):.{places}f} {first.unit}"
    return Sentence("inches" if by == INCH else "millimetres"), example


def _span(rows: list[BandRow]) -> Text:
    readings = [reading for row in rows for cell in row.cells.values() for reading in cell.readings]
    low = min(readings, key=lambda reading: reading.value)
    high = max(readings, key=lambda reading: reading.value)
    return spanned(low.text, high.text)


def _limits_in_another_unit(rows: list[BandRow], by: float, tool: InstrumentRecord, sheet: Source) -> Doubt:
    """The instrument cannot have shown what the limits ask for: they are what is wrong."""
    row = rows[0]
    column = next(iter(row.cells))
    place, limit = band_limits(row.feature, column)[0]
    span = _span(rows)
    typed = "millimetres" if by == INCH else "inches"
    message = f"'{limit}' for what was read as {english(span)} {row.unit} with a {tool.kind} of "
    message += f"{english(tool.range.said)} {tool.range.unit}: is the limit in {typed}?"
    what = Sentence(
        "{span} {unit} suits the {tool} that it was read with, and not the limits of the sheet: "
        "are they in another unit?",
        span=span,
        unit=row.unit,
        tool=Sentence(tool.kind),
    )
    where = ("features", row.table.feature, *place)
    hint = f"write the unit behind it, as in {limit} {'mm' if by == INCH else 'in'}"
    problem = sheet.problem(where, message, hint, "warning")
    return Doubt(row.table.round, row.table.name, what, problem)


def _in_other_scale(rows: list[BandRow], by: float, whole: bool = False) -> Doubt:
    """A row in another unit than the heading's, or with the point elsewhere; or the whole table."""
    table, row = rows[0].table, rows[0]
    meant, example = _meant(row, by)
    what = Sentence("{span} under the heading {unit}", span=_span(rows), unit=row.unit)
    at: Cell | Where = ("tables", table.name, "unit") if table.table.unit else ("tables", table.name)
    hint = f"unit: {'in' if by == INCH else 'mm'}, or {AGAIN}" if by in INCHES else CONFIRM
    if not whole:
        at, hint = row.first, CONFIRM
        what = Sentence("{position}: {what}", position=as_typed(row.position), what=what)
    message = f"{english(what)}: {english(meant)}? Left out until confirmed ({example})"
    said = Sentence(
        "{what}, perhaps {meant}; left out until somebody has looked again", what=what, meant=meant
    )
    spots = tuple(spot for row in rows for spot in row.spots)
    return doubted(table, at, said, hint, spots, message=message, key=whole and not table.table.unit)


def of_missing_parts(table: MeasuredTable, job: JobFolder, engine: Engine) -> Iterator[Doubt]:
    """Readings of what cannot be measured, because a part of it is not there and nobody decided about it.

    Nor can a clearance be read where its housing has no cap, nor a line of bores that asks for caps torqued.
    """
    for missing in job.written_teardown.missing:
        if missing.feature not in engine.features or not _needs(table, missing, engine):
            continue
        about = (missing.feature, engine.features[missing.feature].part)
        made_good = [one for one in job.decisions.values() if one.about in about]
        made_good = [one for one in made_good if table.day and one.date <= table.day]
        for position in missing.positions:
            cells = {column: cell for column, cell in table.cells.get(position, {}).items() if cell.readings}
            decided = any(not one.positions or position in one.positions for one in made_good)
            if cells and not decided and not any(cell.confirmed for cell in cells.values()):
                hint = "which position was this? Put it right here, or under missing: in teardown.yaml"
                what = Sentence(
                    "{position} was read although its {what} is missing; left out until that is clear",
                    position=as_typed(position),
                    what=missing.what,
                )
                spots = tuple((table.round, table.name, position, column) for column in cells)
                yield doubted(table, next(iter(cells.values())), what, hint, spots)


def _needs(table: MeasuredTable, missing: Missing, engine: Engine) -> bool:
    """Whether a table reads what has a part missing, a fit of it, or a surface beside it in that state."""
    feature, bare = engine.features[table.feature], engine.features[missing.feature]
    links = (feature.housing, feature.shells, feature.journal, feature.outer, feature.inner)
    if missing.feature in (table.feature, *links):
        return True
    # what is read beside it in a state, as with caps torqued, is read with all that is missing there
    mated = feature.part == bare.part and feature.positions == bare.positions
    return bool(feature.part and mated and (feature.state or table.table.state))


def warm(table: MeasuredTable, rows: list[BandRow]) -> Iterator[Doubt]:
    """A part that was not as warm as the instrument: no length can be read from it yet."""
    part, given = table.table.temperature or table.workshop, table.table.instrument_temperature
    instrument = given or table.workshop
    if part is None or instrument is None or not any(row.of_length for row in rows):
        return
    if any(dimension(one.unit) != "temperature" for one in (part, instrument)):
        return  # reported where it is written
    if abs(part.to("°C") - instrument.to("°C")) <= TEMPERATURE_DOUBT:
        return
    if given is None:
        hint = "say 'instrument_temperature:' where the instrument was as warm as the part"
        pattern = message(
            "The part at {part} in a workshop of {instrument}: they cannot have soaked together. "
            "Measure again after soaking; until then a correction is for information"
        )
    else:
        hint = ""
        pattern = message(
            "The part at {part}, instrument at {instrument}: they had not soaked together. "
            "Measure again after soaking; until then a correction is for information"
        )
    what = Sentence(pattern, part=Figure(part), instrument=Figure(instrument))
    key = "temperature" if table.table.temperature else "instrument_temperature"
    yield doubted(table, ("tables", table.name, key), what, hint)


def instrument_doubts(
    table: MeasuredTable, shop: Shop, suspects: set[Spot], engine: Engine | None
) -> Iterator[Doubt]:
    """Readings outside the instrument's range, repeats too far apart, a calibration that had run out."""
    for key in ("instrument", "set_from"):
        name = getattr(table.table, key)
        tool = shop.instruments.get(name or "")
        if tool is None:
            continue  # reported where it is written
        place = ("tables", table.name, key)
        if tool.due and table.day and table.day > tool.due and any(table.read()):
            what = Sentence(
                "The {tool} was due for calibration on {due}, before this was measured",
                tool=Sentence(tool.kind),
                due=tool.due,
            )
            yield doubted(table, place, what, "", asks=False)
        if key == "instrument":
            feature = engine.features.get(table.feature) if engine else None
            yield from _outside(table, name, shop, suspects, feature)
            yield from _scatter(table, tool, suspects, levered=bool(feature and feature.kind == "end_float"))
        elif reading := _not_set_in(table, tool, suspects):
            what = Sentence(
                "The {tool} reads {span} {unit}: no gauge that reads {reading} can have been set in it",
                tool=Sentence(tool.kind),
                span=tool.range.said,
                unit=tool.range.unit,
                reading=Figure(reading),
            )
            yield doubted(table, place, what, "another one?")


def _not_set_in(table: MeasuredTable, tool: InstrumentRecord, suspects: set[Spot]) -> Quantity | None:
    """A reading of a gauge that cannot have been set in the micrometer named, which reaches no such size."""
    unit = tool.range.unit
    read = [reading for spot, cell in table.read() if spot not in suspects for reading in cell.readings]
    read = [reading for reading in read if base(unit) and base(reading.unit) == base(unit)]
    if not read:
        return None
    low, high = tool.range.within(unit)
    sizes = [reading.to(unit) for reading in read]
    below = low is not None and max(sizes) < low * (1.0 - BEYOND)
    above = high is not None and min(sizes) > high * (1.0 + BEYOND)
    return read[0] if below or above else None


class _Span(NamedTuple):
    """What an instrument can show, in the unit of its range; an open end shows anything."""

    low: float | None
    high: float | None

    def shows(self, value: float, half_digit: float = 0.0) -> bool:
        slack = ROUNDED * max(1.0, abs(value)) + half_digit
        above = self.low is None or value >= self.low - slack
        return above and (self.high is None or value <= self.high + slack)


def shown_by(tool: InstrumentRecord) -> _Span:
    low, high = tool.range.within(tool.range.unit)
    sort = family(tool.kind)
    if sort == "gap" and high is not None:
        high *= STACKED
    if sort == "travel" and low == 0 and high is not None:
        low = -high  # its zero is set where one likes, and its hand goes both ways from there
    return _Span(low, high)


def _outside(
    table: MeasuredTable,
    name: str,
    shop: Shop,
    suspects: set[Spot],
    feature: FeatureRecord | None,
) -> Iterator[Doubt]:
    """Readings that the instrument cannot show: told together, as a wrong instrument mostly is the cause."""
    tool = shop.instruments[name]
    # that no leaf goes under a cam is told by the kind, which knows what to do about it
    of_cam = feature is not None and feature.kind == "valve_clearance"
    outside = [entry for entry in _unseen(table, tool, of_cam) if entry[0] not in suspects]
    if not outside:
        return
    spot, cell, reading = outside[0]
    here = [entry for entry in table.read() if not entry[1].confirmed and entry[0] not in suspects]
    spots = [spot for spot, _, _ in outside]
    here_in = _near_its_limits(feature, spot[3], reading) or _near_thinnest(tool, reading)
    unit_meant = "" if here_in else _shown_in(tool, reading)
    if 2 * len(spots) >= len(here) and unit_meant:
        # most of them in another unit than the heading's: then the others were not read in that one either
        spots += [spot for spot, _ in here if spot not in spots]
    more, span = len(spots) - 1, tool.range.said
    told = named(*spot[2:], reading.text)
    message = f"{spot[2]} {spot[3]}: {name} reads {english(span)} {tool.range.unit}, not {reading}"
    hint = _another_tool(tool, reading, unit_meant, shop)
    if more:
        message += f" (and {more} more)"
        told["column"] = Sentence("{column} (and {more} more)", column=told["column"], more=more)
    elif meant := _point_astray(table, tool, reading) or _into_its_limit(feature, spot[3], reading):
        hint = f"{meant}, or {hint}"
    what = Sentence(
        "{position} {column}: {reading} lies outside what the {tool} can show ({span} {unit})",
        tool=Sentence(tool.kind),
        span=span,
        unit=tool.range.unit,
        **told,
    )
    yield of_readings(table, cell, what, hint, tuple(spots), out=True, message=message)


def unseen(table: MeasuredTable, shop: Shop, feature: FeatureRecord | None) -> set[Spot]:
    """Readings that the table's instrument cannot have shown: these cannot be, whatever else is asked."""
    tool = shop.instruments.get(table.table.instrument)
    of_cam = feature is not None and feature.kind == "valve_clearance"
    return {spot for spot, _, _ in _unseen(table, tool, of_cam)} if tool else set()


def _unseen(table: MeasuredTable, tool: InstrumentRecord, of_cam: bool) -> list[tuple[Spot, Cell, Quantity]]:
    unit, span = tool.range.unit, shown_by(tool)
    no_leaf = of_cam and family(tool.kind) == "gap"
    outside: list[tuple[Spot, Cell, Quantity]] = []
    for spot, cell in table.read() if base(unit) else ():
        if cell.confirmed:
            continue
        if any(base(reading.unit) != base(unit) for reading in cell.readings):
            return []  # reported as a matter of its own
        for reading in cell.readings:
            # typed in another unit it is rounded: half of its last digit may lie outside
            half = 0.0 if reading.unit == unit else 0.5 * factor(reading.unit, unit) * reading.resolution
            if not (no_leaf and reading.value == 0.0) and not span.shows(reading.to(unit), half):
                outside.append((spot, cell, reading))
                break
    return outside


def _point_astray(table: MeasuredTable, tool: InstrumentRecord, reading: Quantity) -> str:
    """The reading with its point moved as near to the others as it goes, with their decimals; ''."""
    others = [one.value for _, cell in table.read() for one in cell.readings if one is not reading]
    if not others or median(others) <= 0 or reading.value <= 0:
        return ""
    texts = [shown(moved(reading.text, shift), table.decimals) for shift in (-1, 1, -2, 2, -3, 3)]
    text = min(texts, key=lambda one: abs(log(float(one) / median(others))))
    meant = Quantity(text, float(text), reading.unit, len(text.partition(".")[2]))
    fits = meant.decimals == table.decimals and shown_by(tool).shows(meant.to(tool.range.unit))
    return text if fits else ""


def _into_its_limit(feature: FeatureRecord | None, column: str, reading: Quantity) -> str:
    """What stands alone with its point moved until it is no larger than its limit; ''."""
    _, high = limit_span(feature, column, reading.unit)
    texts = [moved(reading.text, shift) for shift in (-1, -2, -3)]
    return next((text for text in texts if 0.1 * high <= float(text) <= high), "")


def _another_tool(tool: InstrumentRecord, reading: Quantity, other: str, shop: Shop) -> str:
    """What may have been: the thinnest leaf not going in, the other system of units, another instrument."""
    if _near_thinnest(tool, reading) and tool.range.low is not None:
        return f"where not even the thinnest leaf goes in, write <{tool.range.low.text}"
    unit = tool.range.unit
    if other:
        return f"unit: {other}? {reading.text} {other} is {reading.value * factor(other, unit):.4g} {unit}"
    takes = [
        name
        for name, one in shop.instruments.items()
        if one.kind == tool.kind
        and base(one.range.unit) == base(reading.unit)
        and shown_by(one).shows(reading.to(one.range.unit))
    ]
    return f"another instrument, as {takes[0]}?" if takes else "another instrument?"


def _near_thinnest(tool: InstrumentRecord, reading: Quantity) -> bool:
    """Whether a feeler's reading is nothing, or a guess at what the thinnest leaf did not go into."""
    low = tool.range.low
    if family(tool.kind) != "gap" or low is None:
        return False
    return reading.value == 0.0 or 0.5 * low.value <= reading.to(tool.range.unit) < low.value


OFF_LIMITS = 4  # times off its limits: worn things are less, and kPa for psi, or mm for inches, are more


def _near_its_limits(feature: FeatureRecord | None, column: str, reading: Quantity) -> bool:
    """Whether a reading is about what its limits ask for in the unit in which it stands."""
    unit = feature.unit if feature is not None else None
    if not unit or base(unit) != base(reading.unit):
        return False
    # a column that has no limit of its own, as the front of a deck, is held against the feature's largest
    span = limit_span(feature, column, unit)
    ends = [end for end in (span if any(span) else limit_span(feature, None, unit)[1:]) if end > 0]
    return bool(ends) and min(ends) / OFF_LIMITS <= reading.to(unit) <= max(ends) * OFF_LIMITS


def _shown_in(tool: InstrumentRecord, reading: Quantity) -> str:
    """The other unit in which the instrument can have shown a number; '' where there is none."""
    span = _Span(*tool.range.within(tool.range.unit))
    others = (
        other for alike in MISTAKEN if reading.unit in alike for other in alike if other != reading.unit
    )
    return next((one for one in others if span.shows(reading.value * factor(one, tool.range.unit))), "")


def _scatter(
    table: MeasuredTable, tool: InstrumentRecord, suspects: set[Spot], levered: bool
) -> Iterator[Doubt]:
    """Repeats at one spot further apart than the instrument's repeatability explains."""
    if tool.repeatability is None and levered:
        return  # nobody knows how far apart they may lie
    for spot, cell in table.read():
        if len(cell.readings) < 2 or cell.confirmed or spot in suspects:
            continue
        unit = cell.readings[0].unit
        try:
            digit = max(reading.resolution for reading in cell.readings)
            allowed = allowed_apart(tool, unit, digit, len(cell.readings))
            values = [reading.to(unit) for reading in cell.readings]
        except (ValueError, UnknownUnit):
            continue  # reported elsewhere
        if levered and base(unit) == "mm":
            allowed = max(allowed, LEVERED * factor("mm", unit))
        if max(values) - min(values) > allowed + ROUNDED:
            yield _too_far_apart(table, spot, cell, values, allowed, tool)


def allowed_apart(tool: InstrumentRecord, unit: str, digit: float, repeats: int) -> float:
    """How far repeats at one spot may lie apart with this instrument [unit]; ``digit``: the last one typed.

    Source: ISO 5725-6; what is read is rounded to the step: its own scatter is part of that of the repeats.
    """
    if tool.repeatability is None:
        return UNLIKE_REPEATS * max(tool.error.to(unit), tool.resolution.to(unit))
    sigma = tool.repeatability.of(tool.resolution.unit).to(unit)
    step = max(tool.resolution.to(unit), digit)
    return critical_range((sigma**2 + rectangular(step / 2) ** 2) ** 0.5, repeats)


def _too_far_apart(
    table: MeasuredTable, spot: Spot, cell: Cell, values: list[float], allowed: float, tool: InstrumentRecord
) -> Doubt:
    places = max(reading.decimals for reading in cell.readings)
    said = Sentence(
        "{position} {column}: {reading}: {spread} {unit} apart, where the {tool}'s repeatability allows "
        "{allowed}",
        **named(*spot[2:], cell.text.rstrip("!")),
        spread=Figure(f"{max(values) - min(values):.{places}f}"),
        unit=cell.readings[0].unit,
        tool=Sentence(tool.kind),
        allowed=Figure(f"{allowed:.{places + 1}f}"),
    )
    what = Sentence("{what}; judged as far apart as they lie, and to be measured again", what=said)
    message = f"{english(said)}; judged as it was read, as far apart as they lie"
    hint = f"take {len(values)} more{_one_apart(cell, values)}, or write {cell.text}! if it is right"
    return doubted(table, cell, what, hint, message=message, kept=(spot,))


def _one_apart(cell: Cell, values: list[float]) -> str:
    """The repeat that stands apart from the others, where one of three or more does."""
    centre = median(values)
    at = max(range(len(values)), key=lambda i: abs(values[i] - centre))
    rest = sorted(value for i, value in enumerate(values) if i != at)
    alone = min(abs(values[at] - value) for value in rest) > APART * (rest[-1] - rest[0]) + ROUNDED
    return f"; {cell.readings[at].text} stands apart" if len(values) > 2 and alone else ""
