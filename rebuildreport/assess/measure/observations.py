"""From typed cells to values with their doubt: instruments, settings, temperature, repeats."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from ... import quantities
from ...quantities.show import decimals_in
from ...quantities.units import BASE
from ...records import Cell, JobFolder, RoundFile
from ...records.files.rounds import RoundRecord, Table
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import InstrumentRecord, Shop
from ...trade.kinds import KINDS
from ...trade.measuring import uncertainty
from ...trade.measuring.gauges import family
from ...trade.measuring.uncertainty import Instrument, Measured

# a round that names no instrument: the error is taken to be this many typed steps, and said so
ASSUMED_STEPS = 2.0
# ... and its range, where it is not known, this many: as of an ordinary dial (common practice)
ASSUMED_RANGE = 1000.0
# a bore gauge's range is that of the bores it goes into; it shows its dial's travel (common practice)
GAUGE_TRAVEL = 1.0  # mm
FIRST_START = "first start"


@dataclass(slots=True)
class Occasion:
    """One table of readings: a feature, read at one time with one instrument, in base units."""

    feature: str
    round: str
    table: str
    again: str  # the table, where the round had read the feature before
    date: date
    unit: str
    instrument: Instrument
    record: InstrumentRecord | None
    readings: dict[str, dict[str, Measured]] = field(default_factory=dict)
    raw: dict[str, dict[str, Measured]] = field(default_factory=dict)
    repeats: dict[str, dict[str, list[Measured]]] = field(default_factory=dict)
    decimals: dict[str, int] = field(default_factory=dict)  # position: decimals typed, in the base unit
    lines: dict[str, int] = field(default_factory=dict)
    no_clearance: list[tuple[str, str]] = field(default_factory=list)
    file: str = ""
    set_from: str = ""
    warm: bool = False  # part and instrument had not soaked together
    corrected: bool = False
    uncorrected: bool = False  # read away from 20 °C, and nobody says of what material

    @property
    def doubtful_warmth(self) -> bool:
        """Whether it was corrected for temperature although part and instrument had not soaked together."""
        return self.warm and self.corrected

    @property
    def name(self) -> str:
        """The round, and the table where the round read the feature more than once."""
        return f"{self.round}/{self.again}" if self.again else self.round


def dimension_of(unit: str) -> str:
    """What a unit measures; '' where there is none."""
    return quantities.dimension(unit) if unit else ""


def of_whole_engine(feature: FeatureRecord) -> bool:
    """Whether its value rests on the whole engine, assembled: as the sheet says, or as its kind is."""
    kind = KINDS.get(feature.kind)
    return feature.whole_engine if feature.whole_engine is not None else bool(kind and kind.whole)


def base_unit(unit: str | None) -> str:
    """The unit that the Assessment keeps a quantity of ``unit`` in.

    >>> base_unit("in"), base_unit("psi")
    ('mm', 'bar')
    """
    return BASE.get(quantities.dimension(unit), unit) if unit else ""


def instrument_in(record: InstrumentRecord, name: str, unit: str) -> Instrument:
    """An instrument's figures in one unit."""
    resolution = record.resolution.to(unit)
    repeatability = 0.0
    if record.repeatability is not None:
        typed = record.repeatability
        repeatability = (
            typed.to(unit) if typed.unit else typed.value * quantities.factor(record.resolution.unit, unit)
        )
    low, high = record.range.within(unit)
    long = ASSUMED_RANGE * resolution if high is None else high - (low or 0.0)
    if (
        family(record.kind) == "bore"
        and "gauge" in record.kind.lower()
        and quantities.dimension(unit) == "length"
    ):
        long = min(long, quantities.convert(GAUGE_TRAVEL, "mm", unit))
    return Instrument(
        name,
        resolution,
        record.permitted_error.to(unit),
        repeatability,
        record.setting_included,
        long,
    )


def occasions(shop: Shop, engine: Engine, job: JobFolder) -> list[Occasion]:
    """Every table of every round in the order in which it was taken."""
    found: list[Occasion] = []
    for file in all_rounds(job):
        seen: dict[str, set[tuple[str, str]]] = {}
        for table_name, table in file.model.tables.items():
            feature_name = table.feature or table_name
            feature = engine.features.get(feature_name)
            if feature is None:
                continue
            cells = file.cells.get(table_name, {})
            spots = {(p, c) for p, columns in cells.items() for c in columns}
            again = table_name if seen.setdefault(feature_name, set()) & spots else ""
            seen[feature_name] |= spots
            one = _occasion(shop, feature_name, feature, file, table_name, table, cells, again, job)
            same = [other for other in found if (other.feature, other.name) == (feature_name, one.name)]
            joined = next((other for other in same if set(other.readings) & set(one.readings)), None)
            if joined is None:
                found.append(one)
            else:
                _join(joined, one)
    return found


def _join(one: Occasion, other: Occasion) -> None:
    """Add further columns of the same spots, such as score depths read with another instrument."""
    for position in other.readings:
        one.readings.setdefault(position, {}).update(other.readings[position])
        one.raw.setdefault(position, {}).update(other.raw[position])
        one.repeats.setdefault(position, {}).update(other.repeats[position])
        one.decimals.setdefault(position, other.decimals[position])
        one.lines.setdefault(position, other.lines[position])
    one.no_clearance += other.no_clearance


def all_rounds(job: JobFolder) -> list[RoundFile]:
    """The measuring rounds, and the readings of the first start as the last of them."""
    rounds = [one for one in job.rounds.values() if not one.model.on_paper]
    running = job.running
    if running and running.tables and running.first_start:
        model = RoundRecord(
            date=running.first_start.date,
            by=running.first_start.by,
            temperature=running.temperature or quantities.parse("20 °C"),
            title="First start",
            tables=running.tables,
        )
        rounds.append(RoundFile(FIRST_START, model, job.running_cells, job.sources["running"]))
    return rounds


def _occasion(
    shop: Shop,
    feature_name: str,
    feature: FeatureRecord,
    file: RoundFile,
    table_name: str,
    table: Table,
    cells: Mapping[str, Mapping[str, Cell]],
    again: str,
    job: JobFolder,
) -> Occasion:
    typed_unit = table.unit or feature.unit or ""
    unit = base_unit(typed_unit)
    record = shop.instruments.get(table.instrument or "")
    try:
        instrument = instrument_in(record, table.instrument or "", unit) if record else None
    except quantities.WrongDimension:
        instrument = None  # the cross-check has said so
    setting = shop.instruments.get(table.set_from or "")
    if setting is not None and quantities.dimension(setting.resolution.unit) != quantities.dimension(unit):
        setting = None
    set_from = instrument_in(setting, table.set_from or "", unit) if setting else None
    set_at: float | None = None  # a gauge is set once for its table, near the size of what it reads
    one = Occasion(
        feature_name,
        file.name,
        table_name,
        again,
        table.date or file.model.date,
        unit,
        instrument or Instrument("", 0.0, 0.0),
        record,
        file=file.source.file,
        set_from=table.set_from or "",
        warm=instrument_temperature(file.model, table) is not None,
    )
    counted = instrument is None and dimension_of(unit) == "count"
    if counted:
        instrument = Instrument("counted", 0.0, 0.0)  # in every row: what is counted carries no doubt
    for position, columns in cells.items():
        for column, cell in columns.items():
            if cell.state == "none":
                one.no_clearance.append((position, column))
            suspect = (file.name, table_name, position, column) in job.suspects
            if cell.state != "read" or suspect:
                continue
            one.lines.setdefault(position, cell.line)
            typed = [reading.to(unit) if reading.unit else reading.value for reading in cell.readings]
            first = cell.readings[0]
            step = max(reading.resolution for reading in cell.readings)
            step *= quantities.factor(first.unit, unit) if first.unit else 1.0
            if counted:
                step = 0.0
            places = max(reading.decimals for reading in cell.readings)
            places = decimals_in(first.unit, places, unit) if first.unit else places
            one.decimals[position] = max(one.decimals.get(position, 0), places)
            tool = instrument or Instrument(
                # each table its own: errors that nobody knows must not cancel
                f"not named {feature_name}/{table_name}",
                step,
                ASSUMED_STEPS * step,
                range=ASSUMED_RANGE * step,
            )
            if not one.instrument.name:
                one.instrument = tool
            spot = f"{feature_name} {position} {column} {table_name}"
            value = round(sum(typed) / len(typed), 12)
            set_at = value if set_at is None else set_at
            mean = uncertainty.read(value, tool, file.name, spot, step, len(typed), set_from, set_at)
            corrected = _at_20(mean, feature, file, table, one, shop)
            one.raw.setdefault(position, {})[column] = mean
            one.readings.setdefault(position, {})[column] = corrected
            one.repeats.setdefault(position, {})[column] = (
                [corrected]  # a single reading is its own mean
                if len(typed) == 1
                else [
                    _at_20(
                        uncertainty.read(each, tool, file.name, f"{spot} {n}", step, 1, set_from, set_at),
                        feature,
                        file,
                        table,
                        one,
                        shop,
                    )
                    for n, each in enumerate(typed)
                ]
            )
    return one


def instrument_temperature(round_: RoundRecord, table: Table) -> float | None:
    """How warm the instrument was [°C], where it had not soaked together with the part; None where it had.

    A part that was warmer than the workshop by more than anybody notices had
    not soaked, unless the table says that the instrument was as warm: then
    the instrument was as warm as the workshop.
    """
    part = table.temperature or round_.temperature
    instrument = table.instrument_temperature or round_.temperature
    apart = abs(part.to("°C") - instrument.to("°C"))
    return instrument.to("°C") if apart > uncertainty.TEMPERATURE_DOUBT else None


def _at_20(
    reading: Measured, feature: FeatureRecord, file: RoundFile, table: Table, occasion: Occasion, shop: Shop
) -> Measured:
    material = (feature.material or "").strip()
    if occasion.unit != "mm":
        return reading
    within = uncertainty.SOAKED_WITHIN
    if shop.soaked_within is not None:  # a difference, which has no zero of its own
        typed = shop.soaked_within
        within = typed.to("°C") - quantities.convert(0.0, typed.unit, "°C")
    if material not in uncertainty.EXPANSION:
        off = (table.temperature or file.model.temperature).to("°C") - uncertainty.REFERENCE_TEMPERATURE
        off = 0.0 if abs(off) <= uncertainty.TEMPERATURE_DOUBT else off
        occasion.uncorrected |= off != 0.0
        return uncertainty.unknown_material(reading, off, file.name, occasion.feature, within)
    part = (table.temperature or file.model.temperature).to("°C")
    scale = instrument_temperature(file.model, table)
    corrected = uncertainty.at_reference(reading, material, part, scale, file.name, occasion.feature, within)
    occasion.corrected |= abs(corrected.value - reading.value) > 1e-9
    return corrected
