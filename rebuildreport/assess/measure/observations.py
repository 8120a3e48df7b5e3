"""From typed cells to values with their doubt: instruments, settings, temperature, repeats."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cached_property

from msgspec import Struct, field
from msgspec.structs import replace

from ... import quantities
from ...quantities.show import decimals_in
from ...quantities.units import BASE
from ...records import Cell, JobFolder, RoundFile
from ...records.files.rounds import FIRST_START, RoundRecord, Table
from ...records.files.sheet import Engine, FeatureRecord
from ...records.files.shop import ASSUMED_STEPS, InstrumentRecord, Shop
from ...trade.kinds import KINDS
from ...trade.measuring import uncertainty
from ...trade.measuring.form import is_size
from ...trade.measuring.gauges import TRANSFER, by_dial, family, is_caliper, transfers
from ...trade.measuring.uncertainty import Instrument, Measured

# steps in the range of an instrument of which nobody knows it: as of an ordinary dial (common practice)
ASSUMED_RANGE = 1000.0
NOT_TYPED = 2  # decimals of a gap that nobody named an instrument for, and that was none (common practice)
# a bore gauge's range is that of the bores it goes into; it shows its dial's travel (common practice)
GAUGE_TRAVEL = 1.0  # mm


class Occasion(Struct):
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
    no_clearance: dict[tuple[str, str], Measured] = field(default_factory=dict)  # none is left, to a step
    left_out: set[tuple[str, str]] = field(default_factory=set)  # position, column: doubted, in no value
    file: str = ""
    set_from: str = ""
    set_as: str = ""  # the instrument that stands for what nobody says it was set in; "-": itself
    warm: bool = False  # part and instrument had not soaked together
    corrected: bool = False
    of: str = ""  # the candidate that it was read on before it became the engine's
    uncorrected: bool = False  # read away from 20 °C, and nobody says of what material


def dimension_of(unit: str) -> str:
    """What a unit measures; '' where there is none."""
    return quantities.dimension(unit) if unit else ""


def of_whole_engine(feature: FeatureRecord) -> bool:
    """Whether its value rests on the whole engine, assembled: as the sheet says, or as its kind is."""
    return KINDS[feature.kind].whole if feature.whole_engine is None else feature.whole_engine


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
        repeatability = record.repeatability.of(record.resolution.unit).to(unit)
    if repeatability == 0.0 and transfers(record.kind) and quantities.dimension(unit) == "length":
        repeatability = quantities.convert(TRANSFER, "mm", unit)
    low, high = record.range.within(unit)
    long = ASSUMED_RANGE * resolution if high is None else high - (low or 0.0)
    if by_dial(record.kind) and quantities.dimension(unit) == "length":
        long = min(long, quantities.convert(GAUGE_TRAVEL, "mm", unit))
    return Instrument(
        name,
        resolution,
        record.error.to(unit),
        repeatability,
        record.setting_included,
        long,
        family(record.kind) == "gap",
    )


def reaches(record: InstrumentRecord, unit: str, size: float) -> bool:
    """Whether a size [unit] lies in the range of an instrument."""
    low, high = record.range.within(unit)
    return (low is None or size >= low) and (high is None or size <= high)


def occasions(shop: Shop, engine: Engine, job: JobFolder) -> list[Occasion]:
    """Every table of every round in the order in which it was taken."""
    taken: list[Occasion] = []
    for file in all_rounds(job):
        seen: dict[str, set[tuple[str, str]]] = {}
        for name, table in file.model.tables.items():
            feature = table.feature or name
            if feature not in engine.features:
                continue  # the cross-check has said so
            spots = {(place, column) for place, cells in file.cells.get(name, {}).items() for column in cells}
            again = name if seen.setdefault(feature, set()) & spots else ""
            seen[feature] |= spots
            reader = _TableReader(shop, engine.features[feature], feature, job, file, name, again)
            reader.hollow |= any(feature in (fit.outer, fit.housing) for fit in engine.features.values())
            occasion = reader.read()
            # the table of the same round that read other columns of the same positions
            here = (occasion.feature, occasion.round, occasion.again)
            alike = [one for one in taken if (one.feature, one.round, one.again) == here]
            beside = [one for one in alike if {*one.readings} & {*occasion.readings}]
            if beside:
                _join(beside[0], occasion)
            else:
                taken.append(occasion)
    return taken


def _join(one: Occasion, other: Occasion) -> None:
    """Add further columns of the same spots, such as score depths read with another instrument."""
    for position in other.readings:
        one.readings.setdefault(position, {}).update(other.readings[position])
        one.raw.setdefault(position, {}).update(other.raw[position])
        one.repeats.setdefault(position, {}).update(other.repeats[position])
        one.decimals.setdefault(position, other.decimals[position])
        one.lines.setdefault(position, other.lines[position])
    one.no_clearance |= other.no_clearance
    one.left_out |= other.left_out


def all_rounds(job: JobFolder) -> list[RoundFile]:
    """The measuring rounds, and the readings of the first start as the last of them."""
    rounds = [one for one in job.rounds.values() if not job.tried(one)]
    running = job.written_running
    if running.tables and running.first_start:
        model = RoundRecord(
            date=running.first_start.date,
            by=running.first_start.by,
            temperature=running.temperature or quantities.parse("20 °C"),
            title="First start",
            tables=running.tables,
        )
        rounds.append(RoundFile(FIRST_START, model, job.running_cells, job.sources["running"]))
    return rounds


HAND = Instrument("by hand", 0.0, 0.0, TRANSFER)  # a gauge that carries a size, and that nobody has named


class _TableReader:
    """Reads the cells of one table: in base units, at 20 °C, with their doubt."""

    def __init__(
        self,
        shop: Shop,
        feature: FeatureRecord,
        name: str,
        job: JobFolder,
        file: RoundFile,
        table: str,
        again: str,
    ) -> None:
        self.shop, self.feature, self.job, self.file = shop, feature, job, file
        self.table = file.model.tables[table]
        unit = base_unit(self.table.unit or feature.unit)
        self.instrument = _figures(shop, self.table.instrument, unit)
        self.counted = self.instrument is None and dimension_of(unit) == "count"
        if self.counted:
            self.instrument = Instrument("counted", 0.0, 0.0)  # in every row: a count carries no doubt
        if self.instrument and shop.decision_rule == "simple":
            # value against limit: the leaf that went in is the value
            self.instrument = replace(self.instrument, leaves=False)
        self.set_from = _figures(shop, self.table.set_from, unit)
        record = shop.instruments.get(self.table.instrument)
        self.carried = self.unset = False
        if record is not None:
            # a size carried to a micrometer is read there, each by itself: what the carrying adds is its own
            self.carried = transfers(record.kind)
            self.unset = record.set_in_another
        self.hollow = feature.kind == "bore"  # whether its sizes are of holes
        self.set_at: float | None = None  # a gauge is set once for its table, near the size of what it reads
        self.part_warmth = (self.table.temperature or file.model.temperature).to("°C")
        self.scale_warmth = instrument_temperature(file.model, self.table)
        self.occasion = Occasion(
            name,
            file.name,
            table,
            again,
            self.table.date or file.model.date,
            unit,
            Instrument("", 0.0, 0.0) if self.counted or self.instrument is None else self.instrument,
            record,
            file=file.source.file,
            of=file.model.of,
            set_from=self.table.set_from,
            warm=self.scale_warmth is not None,
        )

    def read(self) -> Occasion:
        """The whole table; what was doubted is in no value until somebody has confirmed it."""
        occasion = self.occasion
        lash = "lash" if self.feature.kind == "valve_clearance" else ""
        for position, columns in self.file.cells.get(occasion.table, {}).items():
            for column, cell in columns.items():
                # a valve's clearance read as 0 is none, and may be less than none
                if cell.state == "none" or (column == lash and cell.is_nothing):
                    # nothing goes in: what there is is less than a step of what it was tried with
                    tool = replace(self._tool(10.0**-NOT_TYPED), leaves=True)
                    spot = f"{occasion.feature} {position} {column} {occasion.table}"
                    occasion.no_clearance[position, column] = self._read(0.0, tool, spot, 0.0, 1)
                elif (self.file.name, occasion.table, position, column) in self.job.suspects:
                    occasion.left_out.add((position, column))
                elif cell.state == "read":
                    self._cell(position, column, cell)
        return occasion

    def _cell(self, position: str, column: str, cell: Cell) -> None:
        """One spot: the mean of its repeats, as read and at 20 °C, and each repeat by itself."""
        occasion, unit = self.occasion, self.occasion.unit
        occasion.lines.setdefault(position, cell.line)
        typed_unit = cell.readings[0].unit
        step = max(reading.resolution for reading in cell.readings)
        places = max(reading.decimals for reading in cell.readings)
        if typed_unit:
            step *= quantities.factor(typed_unit, unit)
            places = decimals_in(typed_unit, places, unit)
        step = 0.0 if self.counted else step
        occasion.decimals[position] = max(occasion.decimals.get(position, 0), places)
        tool = self._tool(step)
        if cell.no_go:  # what lies between is told, whatever the steps of the instrument
            tool = replace(tool, leaves=True)
        typed = [reading.to(unit) if reading.unit else reading.value for reading in cell.readings]
        value = round(sum(typed) / len(typed), 12)
        self.set_at = value if self.set_at is None else self.set_at
        spot = f"{occasion.feature} {position} {column} {occasion.table}"
        by_hand = self._by_hand(column)
        mean = self._read(value, tool, spot, step, len(typed), by_hand)
        place = (self.file.name, occasion.table, position, column)
        asked = any(place in doubt.kept for doubt in self.job.doubts)  # and judged as typed all the same
        if len(typed) > 1 and (self.instrument is None or asked):
            # repeats that are none, or of which nobody knows how far apart they may lie: which is right?
            mean = replace(mean, below=value - min(typed), above=max(typed) - value)
        if cell.no_go:
            wider = cell.no_go.to(unit) - value
            mean = replace(mean, below=0.0 if wider else value, above=wider)
        corrected = self._at_20(mean)
        occasion.corrected |= abs(corrected.value - mean.value) > 1e-9
        occasion.raw.setdefault(position, {})[column] = mean
        occasion.readings.setdefault(position, {})[column] = corrected
        repeats = [corrected]  # a single reading is its own mean
        if len(typed) > 1:
            repeats = [
                self._at_20(self._read(each, tool, f"{spot} {number}", step, 1, by_hand))
                for number, each in enumerate(typed)
            ]
        occasion.repeats.setdefault(position, {})[column] = repeats

    @property
    def session(self) -> str:
        """What shares an instrument's error and a workshop's warmth: a day, in however many files."""
        return self.file.model.date.isoformat()

    def _tool(self, step: float) -> Instrument:
        tool = self.instrument
        if tool is None:
            tool = self._not_named(step)
        if not self.occasion.instrument.name:
            self.occasion.instrument = tool
        return tool

    def _not_named(self, step: float) -> Instrument:
        """What a table may have been read with, where nobody says: as bad as the worst of the shop's for it.

        Never better than is assumed of one without a certificate, whose scatter is a step (common practice).
        Each table has its own: errors that nobody knows must not cancel.
        """
        kind = KINDS[self.feature.kind]
        fit = [
            figures
            for name, one in self.shop.instruments.items()
            if not kind.instruments or family(one.kind) in kind.instruments
            if (figures := _figures(self.shop, name, self.occasion.unit))
            if figures.resolution <= step * (1.0 + 1e-6)  # it shows what was typed
        ]
        self.unset = "bore" in kind.instruments
        self.carried = any(transfers(self.shop.instruments[one.name].kind) for one in fit)
        return Instrument(
            f"not named {self.occasion.feature}/{self.occasion.table}",
            step,
            max(ASSUMED_STEPS * step, *(one.permitted_error for one in fit), 0.0),
            max(step, *(one.repeatability for one in fit), 0.0),
            range=min([ASSUMED_RANGE * step, *(one.range for one in fit if one.range)]),
            leaves=any(one.leaves for one in fit) and self.shop.decision_rule == "guarded",
            noted=False,
        )

    def _by_hand(self, column: str) -> bool:
        """Whether a hole was read in a micrometer that does not go into it, so something carried its size."""
        guide = self.feature.kind == "guide" and column.startswith("guide")
        if not guide and not (self.hollow and is_size(column)):
            return False
        record = self.occasion.record
        if record is None:
            return not self.counted and "outside" in KINDS[self.feature.kind].instruments
        return family(record.kind) == "outside" and not is_caliper(record.kind)

    def _read(
        self, value: float, tool: Instrument, spot: str, step: float, repeats: int, by_hand: bool = False
    ) -> Measured:
        session, setting = self.session, self.set_from
        if by_hand and self.occasion.unit == "mm":
            return uncertainty.carried(value, HAND, tool, session, spot, step, repeats)
        if self.unset and setting is None:
            setting = self._not_set(value, tool)
        if self.carried and setting is not None:
            return uncertainty.carried(value, tool, setting, session, spot, step, repeats)
        return uncertainty.read(value, tool, session, spot, step, repeats, setting, self.set_at)

    def _not_set(self, value: float, tool: Instrument) -> Instrument:
        """What a gauge may have been set in, where nobody says: the worst micrometer that reaches its size.

        Its error is nobody else's: where nothing is known, nothing cancels.
        """
        occasion = self.occasion
        reaching = [
            figures
            for name, one in self.shop.instruments.items()
            if family(one.kind) == "outside" and (figures := _figures(self.shop, name, occasion.unit))
            if reaches(one, occasion.unit, value)
        ]
        worst = max(reaching, key=lambda one: (one.permitted_error, one.random()), default=tool)
        occasion.set_as = worst.name if worst is not tool else "-"
        return replace(worst, name=f"not named {occasion.feature}/{occasion.table}", noted=False)

    @cached_property
    def _at_20(self) -> Callable[[Measured], Measured]:
        """What brings a length to 20 °C, where its material is known; else adds the doubt that is left."""
        occasion, typed = self.occasion, self.shop.soaked_within
        if occasion.unit != "mm":
            return lambda reading: reading
        within = uncertainty.SOAKED_WITHIN
        if typed is not None:  # a difference, which has no zero of its own
            within = typed.to("°C") - quantities.convert(0.0, typed.unit, "°C")
        of = (self.session, occasion.feature, within)
        material = (self.feature.material or "").strip()
        if material in uncertainty.EXPANSION:
            part, scale = self.part_warmth, self.scale_warmth
            return lambda reading: uncertainty.at_reference(reading, material, part, scale, *of)
        off = self.part_warmth - uncertainty.REFERENCE_TEMPERATURE
        off = 0.0 if abs(off) <= uncertainty.TEMPERATURE_DOUBT else off
        occasion.uncorrected = off != 0.0
        return lambda reading: uncertainty.unknown_material(reading, off, *of)


def _figures(shop: Shop, name: str | None, unit: str) -> Instrument | None:
    """An instrument of the shop's in this unit; None where it is not known, or reads something else."""
    record = shop.instruments.get(name or "")
    if record is None:
        return None
    try:
        return instrument_in(record, name or "", unit)
    except quantities.WrongDimension:
        return None  # the cross-check has said so


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
