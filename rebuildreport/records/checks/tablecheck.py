"""Whether measuring tables agree with the engine's sheet and the shop's instruments."""

from __future__ import annotations

from ...quantities import UnknownUnit, dimension
from ...trade.kinds import KINDS, Kind
from ...trade.measuring.gauges import FAMILIES, WORDS, family
from ..files.folder import JobFolder
from ..files.measured import MeasuredTable, tables
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import InstrumentRecord, Shop
from ..text.notes import Notes, one_of
from ..text.problems import Problem
from ..text.reader import Where
from ..text.validate import listed, near
from .vocabulary import Vocabulary


def check_tables(job: JobFolder, engine: Engine | None, shop: Shop | None) -> list[Problem]:
    """Feature, unit, columns, positions, state and instrument of every table."""
    found: list[Problem] = []
    for one in tables(job):
        notes = Notes(one.source)
        where: Where = ("tables", one.name)
        if engine is not None:
            _against_sheet(notes, where, one, engine)
        if shop is not None:
            _instruments(notes, where, one, shop, engine.features.get(one.feature) if engine else None)
            if engine is not None and one.feature in engine.features:
                _fit(notes, where, one, engine.features[one.feature], shop)
        found += notes.found
    return found


def _against_sheet(notes: Notes, where: Where, one: MeasuredTable, engine: Engine) -> None:
    table = one.table
    place = (*where, "feature") if table.feature else where
    if not notes.known(place, one.feature, engine.features, "no feature of the sheet", key=not table.feature):
        return
    feature = engine.features[one.feature]
    unit = _known_unit(feature.unit)
    if table.unit:
        notes.unit((*where, "unit"), table.unit, unit)
    if unit:
        _readings(notes, one, unit)
    if feature.columns:
        kind = KINDS.get(feature.kind)
        own = [column for column in table.columns if kind is None or not _is_extra(column, kind)]
        notes.all_known((*where, "columns"), own, feature.columns, "no column of this feature")
    known = feature.positions or sorted(Vocabulary(engine).positions(one.feature))
    for position in table.rows if known else ():
        what = f"no position of {one.feature}"
        notes.known((*where, "rows", position), position, known, what, key=True)
    _state(notes, where, one, feature)


def _known_unit(unit: str | None) -> str | None:
    try:
        return unit if unit and dimension(unit) else None
    except UnknownUnit:
        return None  # reported at the sheet


def _readings(notes: Notes, one: MeasuredTable, unit: str) -> None:
    """A reading with its own unit measures what the feature does; half a tooth, turn or crack is none."""
    for _, cell in one.read():
        for reading in cell.readings:
            of, message, hint = dimension(reading.unit), "", ""
            if of != dimension(unit) and reading.text + reading.unit == cell.text:
                message = f"{reading} is {one_of(of)}, and {one.feature} is measured in {unit}"
            if of == "count" and reading.value != int(reading.value):
                message, hint = f"{reading.text} is no count", f"{int(reading.value)}, or what unit was it?"
            if message:
                notes.found.append(notes.source.problem_at(cell.line, cell.column, message, hint))


def _state(notes: Notes, where: Where, one: MeasuredTable, feature: FeatureRecord) -> None:
    """The sheet's state must be stated: a housing measured with its cap loose is another size."""
    if not feature.state or not any(one.read()):
        return
    if not one.table.state:
        message = f"the sheet asks for '{feature.state}' while measuring, and the table does not say it was"
        notes.warn(where, message, f"state: {feature.state}", key=True)
        return
    stated, asked = (
        {" ".join(part.lower().split()): part.strip() for part in state.split(",")}
        for state in (one.table.state, feature.state)
    )
    if missing := [part for plain, part in asked.items() if plain not in stated]:
        message = f"the sheet asks for '{', '.join(missing)}' while measuring"
        notes.warn((*where, "state"), message, f"state: {feature.state}, or measure again")


def _instruments(
    notes: Notes, where: Where, one: MeasuredTable, shop: Shop, feature: FeatureRecord | None
) -> None:
    """The instruments are known, and measure what is read; what they can have shown is ``misread``'s."""
    for key in ("instrument", "set_from"):
        name = getattr(one.table, key)
        if not name:
            continue
        if not notes.known((*where, key), name, shop.instruments, "no instrument of shop.yaml"):
            continue
        here, wanted = _known_unit(one.table.unit), _known_unit(feature.unit) if feature else None
        # a table's unit that measures something else than its feature is told at the unit, and once
        other = here and wanted and dimension(here) != dimension(wanted)
        if key == "instrument" and not other:
            _measures(notes, where, one, shop)
    units = {reading.unit for _, cell in one.read() for reading in cell.readings}
    # what is counted (teeth, crack indications) takes no instrument
    if not one.table.instrument and any(dimension(unit) != "count" for unit in units):
        message = "no instrument, so how sure these readings are is not known"
        hint = f"add 'instrument: ' with one of {listed(shop.instruments)}" if shop.instruments else ""
        notes.warn(where, message, hint, key=True)


def _fit(notes: Notes, where: Where, one: MeasuredTable, feature: FeatureRecord, shop: Shop) -> None:
    """A warning where the sort of instrument is not one that reads such a feature: feelers on a journal."""
    kind, tool = KINDS.get(feature.kind), shop.instruments.get(one.table.instrument)
    if kind is None or tool is None or all(_is_extra(column, kind) for column in one.table.columns):
        return  # score depths, wet pressures, direct clearances are read with whatever reads them
    known = family(tool.kind)
    if kind.instruments and known in FAMILIES and known not in kind.instruments:
        words = " or ".join(WORDS[name] for name in kind.instruments)
        message = f"{one.table.instrument} is of the kind '{tool.kind}', and {one.feature} wants {words}"
        notes.warn((*where, "instrument"), message, "another instrument?")


def _is_extra(column: str, kind: Kind) -> bool:
    """Whether a column stands beside those that the kind works out, numbered or not."""
    return any(column == extra or column.startswith(f"{extra}_") for extra in kind.extra_columns)


def _reads(tool: InstrumentRecord, unit: str) -> bool:
    own = _known_unit(tool.range.unit)
    return own is not None and dimension(own) == dimension(unit)


def _measures(notes: Notes, where: Where, one: MeasuredTable, shop: Shop) -> None:
    """A dial does not read pressures: told once for a table, at its instrument."""
    name = one.table.instrument
    tool = shop.instruments[name]
    if not _known_unit(tool.range.unit):
        return  # reported at the shop
    units = {cell.readings[0].unit: cell for _, cell in reversed([*one.read()])}
    unit, cell = next(((unit, cell) for unit, cell in units.items() if not _reads(tool, unit)), ("", None))
    if cell is None:
        return
    message = f"{name} reads {dimension(tool.range.unit)}, and this is {one_of(dimension(unit))}"
    fits = [other for other, it in shop.instruments.items() if _reads(it, unit)]
    hint = near(name, fits) or (f"which read it: {listed(fits)}" if fits else "")
    if len(units) == 1:
        notes.error((*where, "instrument"), message, hint)
    else:
        notes.found.append(notes.source.problem_at(cell.line, cell.column, message, hint))
