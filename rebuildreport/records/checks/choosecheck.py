"""Whether what parts and sizes are chosen by agrees: code tables, stock, codes as read, decisions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from ...trade.choosing.shells import Grade, band_faults, halves, table_faults
from ...trade.engine import bearings
from ...trade.kinds import KINDS
from ..files.choosing import CodeTable, MachiningOrder, Shelf, Shims, Stock
from ..files.folder import JobFolder
from ..files.jobfile import CandidateRecord, DecisionRecord, Work
from ..files.sheet import Engine, FeatureRecord
from ..files.sizes import key_of, sizes_of, step_in_mm, steps_of
from ..text.fields import Interval
from ..text.notes import Notes
from ..text.problems import Problem
from ..text.reader import Source, Where
from ..text.validate import listed

NO_FEATURE = "no feature of the sheet"


def halves_of(feature: FeatureRecord) -> tuple[str, ...]:
    """What the halves of a shell are called: as the columns that its walls are read in; one of a whole bush.

    >>> halves_of(FeatureRecord(kind="shells", columns="rod cap")), halves_of(FeatureRecord(kind="shells"))
    (('rod', 'cap'), ('upper', 'lower'))
    >>> halves_of(FeatureRecord(kind="shells", columns="bush"))
    ('bush',)
    """
    return bearings.halves(feature.columns or bearings.UPPER_LOWER) or bearings.UPPER_LOWER


def check_choosing(engine: Engine, notes: Notes) -> None:
    """The sheet's own keys: bands without gaps, a table that keeps the limits, parts that are known."""
    for name, feature in engine.features.items():
        _chosen_by(notes, ("features", name), name, feature, engine)
    for name, shims in engine.shims.items():
        _shims(notes, ("shims", name), shims, engine)


def _chosen_by(notes: Notes, where: Where, name: str, feature: FeatureRecord, engine: Engine) -> None:
    _grades(notes, (*where, "grades"), feature.grades, feature.unit)
    _grades(notes, (*where, "classes"), feature.classes, feature.unit)
    if feature.codes:
        _table(notes, (*where, "codes"), feature.codes, name, feature.grades, feature.unit, engine)
    two = halves_of(feature)
    offered = (step for one in engine.features.values() for step in one.steps) if feature.classes else ()
    sizes = dict.fromkeys(key_of(step.text) for step in offered)
    classes = [*feature.classes, *(f"{label} {size}" for label in feature.classes for size in sizes)]
    _keys_known(notes, (*where, "halves"), feature.halves, two)
    _keys_known(notes, (*where, "pieces"), feature.pieces, [*classes, *_pieces(feature.grades, two)])
    for other, shells in feature.other.items():
        place = (*where, "other", other)
        _grades(notes, (*place, "grades"), shells.grades, feature.unit)
        _keys_known(notes, (*place, "halves"), shells.halves, two)
        _keys_known(notes, (*place, "pieces"), shells.pieces, _pieces(shells.grades, two))
        if shells.codes:
            _table(notes, (*place, "codes"), shells.codes, name, shells.grades, feature.unit, engine)
        if not shells.wall and not shells.grades:
            notes.error(place, "no wall and no grades: nothing can be chosen of it", key=True)
    if feature.kind == "ring_gap" and (bores := feature.further.get("bores")):
        notes.known((*where, "bores"), bores, engine.features, "no feature of this sheet")
    for skimmed in {*feature.raises} & {*feature.lowers, feature.height}:
        notes.error((*where, "raises"), f"'{skimmed}' cannot become both larger and smaller")
    if feature.drive:
        _drive(notes, (*where, "drive"), feature.drives, engine)
    if feature.sleeve_oversizes:
        notes.read((*where, "sleeve_oversizes"), steps_of, feature.sleeve_oversizes)


def _pieces(grades: Iterable[str], halves: Sequence[str]) -> list[str]:
    """What pieces may be told apart by: a grade, or a half and its grade."""
    return [*grades, *(f"{half} {grade}" for half in halves for grade in grades)]


def _shims(notes: Notes, where: Where, shims: Shims, engine: Engine) -> None:
    notes.read((*where, "sizes"), sizes_of, shims.sizes)
    for name in shims.clearance:
        feature = engine.features.get(name)
        if feature is None:
            continue  # told with the other names of the sheet
        extra = KINDS[feature.kind].extra_columns if feature.kind in KINDS else ()
        for column in (shims.shim, shims.lash):
            if column not in (*feature.columns, *extra):
                message = f"{name} is not read with a column '{column}': no shim can be chosen"
                notes.error((*where, "clearance"), message, f"columns: {shims.shim} {shims.lash}")
    _keys_known(notes, (*where, "target"), shims.target, shims.clearance, "set by no shim here")


def _drive(notes: Notes, where: Where, drive: tuple[str, str], engine: Engine) -> None:
    """What a skim of a face moves: a chain or gears, and at which of their positions."""
    name, position = drive
    drives = [key for key, feature in engine.features.items() if feature.kind in ("chain", "backlash")]
    if notes.known(where, name, [*drives, "none"], "no chain and no gears of this sheet") and position:
        known = engine.features[name].positions if name in engine.features else []
        notes.known(where, position, known, f"no position of {name}", within=True)


def _keys_known(
    notes: Notes, where: Where, block: Iterable[str], known: Sequence[str], what: str = "not one of them"
) -> None:
    for key in block:
        notes.known((*where, key), key, known, what, key=True)


def bands_in(limits: Mapping[str, Interval], unit: str) -> dict[str, tuple[float, float]]:
    """Bands with two ends, as numbers in ``unit``; those with an open end are left out."""
    found = {}
    for name, limit in limits.items():
        low, high = limit.within(unit)
        if low is not None and high is not None:
            found[name] = (low, high)
    return found


def _grades(notes: Notes, where: Where, grades: Mapping[str, Interval], unit: str | None) -> None:
    bands = bands_in(grades, unit or "mm")
    for name in grades:
        if name not in bands:
            notes.error((*where, name), "a band has two ends", "as in 1.9865 to 1.9895", key=True)
    for one, other, width in band_faults(bands):
        what = "a gap" if width > 0 else "an overlap"
        message = f"{what} of {abs(width):.4g} {unit or ''}".rstrip() + f" between {one} and {other}"
        notes.warn((*where, other), message, "check both against the page", key=True)


def _table(
    notes: Notes,
    where: Where,
    codes: CodeTable,
    shells: str,
    grades: Mapping[str, Interval],
    typed_in: str | None,
    engine: Engine,
) -> None:
    """Gaps and overlaps of the bands, empty cells, and grades that would leave the clearance limits."""
    unit = typed_in or "mm"
    for key, bands, has, called in (
        ("housing_bands", codes.housing_bands, codes.rows, "row"),
        ("journal_bands", codes.journal_bands, codes.columns, "column"),
    ):
        _grades(notes, (*where, key), bands, unit)
        for name in bands:
            if name not in has:
                notes.error((*where, key, name), f"the table has no {called} for {name}", key=True)
    fit = next((one for one in engine.features.values() if one.shells == shells), None)
    limit = fit.new.get("clearance") if fit else None
    if limit is None:
        return
    faults = table_faults(
        codes.rows,
        codes.columns,
        bands_in(codes.housing_bands, unit),
        bands_in(codes.journal_bands, unit),
        bands_in(grades, unit),
        limit.within(unit),
    )
    for housing, journal, least, most in faults:
        ends = " to ".join(end.text for end in (limit.low, limit.high) if end)
        message = (
            f"housing {housing} with journal {journal} gives {least:.4g} to {most:.4g} {unit} over its whole "
            f"bands, and the limits are {ends}"
        )
        notes.warn((*where, "rows", housing), message, "check the row against the page", key=True)


def check_chosen(job: JobFolder, notes: Mapping[str, Notes], engine: Engine) -> None:
    """Codes as read, and what decisions fit where."""
    if job.teardown:
        notes["teardown"].named(job.teardown, ("codes_void.@",), engine.features, NO_FEATURE)
        _codes_read(notes["teardown"], job.teardown.codes, engine)
    if job.work:
        _chosen(notes["work"], job.work, engine)


def _chosen(notes: Notes, work: Work, engine: Engine) -> None:
    parts = {feature.part for feature in engine.features.values() if feature.part}
    sent = {*parts, *(line.part for line in work.sublet)}
    words = "no part of the sheet's features, and no sublet line is about it"
    notes.named(work, ("machining.*.parts",), sent, words)
    notes.named(work, ("machining.*.positions.@",), engine.features, NO_FEATURE)
    for name, candidate in work.candidates.items():
        _candidate(notes, ("candidates", name), candidate, engine)
    for name, decision in work.decisions.items():
        if decision.with_:
            _takes(notes, ("decisions", name, "with"), decision, work)
        _fitted(notes, ("decisions", name, "fit"), decision.about, decision.fit, engine)
    for name, order in work.machining.items():
        _ceilings(notes, ("machining", name), order, engine)
        for feature, positions in order.positions.items():
            if feature in engine.features:
                place, known = ("machining", name, "positions", feature), engine.features[feature].positions
                notes.all_known(place, positions, known, f"no position of {feature}")


def _candidate(notes: Notes, at: Where, candidate: CandidateRecord, engine: Engine) -> None:
    """What it would take the place of, and what is said of it, is on the sheet."""
    parts = {feature.part for feature in engine.features.values() if feature.part}
    notes.known((*at, "part"), candidate.part, {*engine.features, *parts}, "no part or feature of the sheet")
    for name, size in candidate.sizes.items():
        notes.known((*at, "sizes", name), name, engine.features, NO_FEATURE, key=True)
        if size != "standard" and not step_in_mm(size):
            notes.error((*at, "sizes", name), f"'{size}' is no size step", "as in 0.25 mm undersize")
    if candidate.treated:
        known = {other.family for one in engine.features.values() for other in one.other.values()} - {""}
        notes.known((*at, "treated"), candidate.treated, known, "nothing that shells of the sheet are for")
    _codes_read(notes, candidate.codes, engine, candidate.treated, at)


def _takes(notes: Notes, where: Where, decision: DecisionRecord, work: Work) -> None:
    """A candidate takes the place of what it is for, and of nothing else."""
    taken = decision.with_
    if not notes.known(where, taken, work.candidates, "no candidate of this file"):
        return
    meant = work.candidates[taken].part
    if decision.do != "replace":
        notes.error(where, f"'{decision.do}' keeps what is there", "do: replace", key=True)
    elif decision.about != meant:
        notes.error(where, f"'{taken}' is for {meant}, and this is about {decision.about}", f"about: {meant}")


def _codes_read(
    notes: Notes, read: Mapping[str, list[str]], engine: Engine, treated: str = "", at: Where = ()
) -> None:
    bands = _bands_of_codes(engine, treated)
    for name, codes in read.items():
        where: Where = (*at, "codes", name)
        if not notes.known(where, name, engine.features, NO_FEATURE, key=True):
            continue
        if name not in bands:
            hint = f"tables: {listed(sorted(filter(None, bands)))}" if any(bands) else ""
            notes.warn(where, f"no code table of the sheet uses codes of {name}", hint, key=True)
            continue
        told = [code for code in dict.fromkeys(codes) if code != "?"]
        notes.all_known(where, told, bands[name], f"no code of {name} in the sheet's table")
        wanted = engine.features[name].positions
        if len(codes) != len(wanted):
            message = "no positions on the sheet"
            if wanted:
                message = f"{len(codes)} codes for {len(wanted)} positions ({wanted[0]} to {wanted[-1]})"
            notes.error(where, message, "? for one that cannot be read")


def _bands_of_codes(engine: Engine, treated: str) -> dict[str, dict[str, Interval]]:
    """Features that carry codes, each with the bands that its codes stand for."""
    bands: dict[str, dict[str, Interval]] = {}
    for fit in engine.features.values():
        shells = engine.features.get(fit.shells)
        table = (shells.codes_for(treated) or shells.codes) if shells else None
        if table:
            bands[fit.housing] = table.housing_bands
            bands[fit.journal] = table.journal_bands
    return bands


def _fitted(notes: Notes, where: Where, about: str, fit: Mapping[str, list[str]], engine: Engine) -> None:
    feature = engine.features.get(about)
    if feature is None and fit and about not in engine.shims:
        notes.error(where, f"'{about}' is no feature that something is fitted to", key=True)
        return
    for position, names in fit.items():
        place = (*where, position)
        if feature is None:  # of shims there are no grades: what is fitted is how thick it is
            notes.read(place, sizes_of, f"{names[0]} mm")
            if len(names) > 1:
                message = f"{len(names)} thicknesses, and one is fitted"
                notes.error(place, message, f"{'.'.join(names)}?")
            continue
        notes.known(place, position, feature.positions, f"no position of {about}", key=True)
        if feature.kind == "shells":
            _fitted_shells(notes, place, names, feature, halves_of(feature))
        if known := _graded(feature) or list(feature.classes):
            notes.all_known(place, names, known, f"no grade or class of {about}")


def _fitted_shells(
    notes: Notes, where: Where, names: list[str], feature: FeatureRecord, two: tuple[str, ...]
) -> None:
    if len(names) == len(two):
        if len(names) == 2 and not _may_mix(feature, names):
            message = f"{names[0]} with {names[1]}: the sheet mixes {MIXES[feature.mix or 'none']}"
            notes.warn(where, message, "typed right?")
        return
    takes, hint = ("halves", "two"), "S3 S4"
    if len(two) != 2:
        takes, hint = ("grades", "one bush"), "S3"
    message = f"{len(names)} {takes[0]}, and a bearing takes {takes[1]}"
    notes.error(where, message, f"{' '.join(two)}: {hint}")


MIXES = {"none": "no grades", "adjacent": "neighbouring grades only"}


def _may_mix(feature: FeatureRecord, names: list[str]) -> bool:
    """Whether the sheet lets these two halves run together; of grades not on it, it says nothing."""
    bands = bands_in(feature.grades, feature.unit or "mm")
    if not {*names} <= {*bands}:
        return True
    grades = [Grade(name, *band) for name, band in bands.items()]
    cells = [cell for row in feature.codes.rows.values() for cell in row] if feature.codes else []
    pairs = halves(grades, feature.mix or "none", cells)
    return names in [[one.name, other.name] for one, other in pairs]


def _graded(feature: FeatureRecord) -> list[str]:
    """Every grade that shells of a feature come in, those of other cranks too."""
    return [*feature.grades, *(grade for other in feature.other.values() for grade in other.grades)]


def _ceilings(notes: Notes, where: Where, order: MachiningOrder, engine: Engine) -> None:
    """A ceiling for each operation: of parts that are sent, and together no more than the order's own."""
    sent = [name for name, one in engine.features.items() if one.part in order.parts]
    for feature in order.price_limits:
        place = (*where, "price_limits", feature)
        notes.known(place, feature, sent, "nothing on the parts that are sent", key=True)
    total = sum(order.price_limits.values(), Decimal(0))
    if order.price_limit is not None and total > order.price_limit:
        message = f"the ceilings of its operations come to {total:.2f}, above the order's "
        notes.warn((*where, "price_limits"), f"{message}{order.price_limit:.2f}", key=True)


def check_stock(stock: Stock, source: Source, sheet: str, engine: Engine) -> list[Problem]:
    """What lies on the shelf for one engine: known parts, whole numbers, one for each column."""
    notes = Notes(source)
    for name, shelf in stock.engines.get(sheet, {}).items():
        where: Where = ("engines", sheet, name)
        feature = engine.features.get(name)
        if feature is not None:
            sizes = [size.split()[0] for size in feature.sets]  # whole sets, by their size
            known = [*_graded(feature), *feature.classes, *sizes]
            notes.all_known((*where, "columns"), shelf.columns, known, f"no grade of {name}")
            two = halves_of(feature) if feature.kind == "shells" else ()
            _counts(notes, where, shelf, (*two, "count") if len(two) == 2 else ("count",))
        elif name in engine.shims:
            notes.read((*where, "columns"), steps_of, " ".join([*shelf.columns, shelf.unit or "mm"]))
            _counts(notes, where, shelf, ("count",))
        else:
            chosen = [n for n, f in engine.features.items() if f.grades or f.classes or f.other or f.sets]
            what = f"nothing that {sheet} chooses parts for"
            notes.known(where, name, [*chosen, *engine.shims], what, key=True)
    return notes.found


def _counts(notes: Notes, where: Where, shelf: Shelf, rows: tuple[str, ...]) -> None:
    for row, counts in shelf.rows.items():
        place = (*where, "rows", row)
        notes.known(place, row, rows, "no row of a shelf of this kind", key=True)
        if len(counts) != len(shelf.columns):
            notes.error(place, f"{len(counts)} counts for {len(shelf.columns)} columns")
        for count in counts:
            if not count.isdigit():
                notes.error(place, f"'{count}' is not a whole number")
    if shelf.no_more and shelf.no_more != "all":
        words = shelf.no_more.replace(",", " ").split()
        notes.all_known((*where, "no_more"), words, shelf.columns, "no column of this shelf")
