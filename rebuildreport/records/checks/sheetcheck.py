"""Whether shop.yaml and an engine's spec sheet agree with themselves."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING

from ... import quantities
from ...quantities import QuantityError, UnknownUnit
from ..files.measured import kinds
from ..files.sheet import CodeTable, Engine, FeatureRecord
from ..files.shop import Shop
from ..files.sizes import steps_of
from ..text.fields import Interval, bare_or_unit
from ..text.notes import Notes, Severity
from ..text.problems import Problem
from ..text.reader import Source, Where
from ..text.validate import listed
from .limitcheck import check_limits

if TYPE_CHECKING:
    from ...trade.kinds import Kind

PRACTICE = ("shop_practice", "common_practice")


def check_shop(shop: Shop, source: Source) -> list[Problem]:
    """Currency, rates and instruments."""
    notes = Notes(source)
    if not re.fullmatch("[A-Z]{3}", shop.currency):
        message = f"'{shop.currency}' is no currency code of ISO 4217"
        hint = shop.currency.upper() if re.fullmatch("[A-Za-z]{3}", shop.currency) else "three letters: EUR"
        notes.error(("currency",), message, hint)
    if shop.soaked_within and shop.soaked_within.value < 0:
        notes.error(("soaked_within",), "a difference either way is not less than nothing", "0.5 °C")
    first_days = [rate.from_ for rate in shop.rates]
    for i, day in enumerate(first_days):
        if day in first_days[:i]:
            notes.error(("rates", i, "from"), f"two rates start on {day}")
    for name, tool in shop.instruments.items():
        where: Where = ("instruments", name)
        ends = [end for end in (tool.range.low, tool.range.high) if end is not None]
        unit = next((end.unit for end in ends if end.unit), "")
        if not unit:
            text = f"{ends[0].text} to {ends[-1].text} mm" if ends else "0 to 25 mm"
            notes.error((*where, "range"), "the range has no unit", text)
            continue
        _unit_of_quantity(notes, (*where, "resolution"), tool.resolution.unit, unit)
        _unit_of_quantity(notes, (*where, "permitted_error"), tool.permitted_error.unit, unit)
        if tool.repeatability and tool.repeatability.unit:
            _unit_of_quantity(notes, (*where, "repeatability"), tool.repeatability.unit, unit)
        if tool.resolution.value <= 0:
            notes.error((*where, "resolution"), "an instrument shows steps larger than nothing")
        if tool.calibrated and tool.due and tool.due < tool.calibrated:
            notes.warn((*where, "due"), f"due before it was calibrated ({tool.calibrated})")
    return notes.found


def check_engine(engine: Engine, source: Source) -> list[Problem]:
    """Kinds, limits and links of the features; parts, fasteners and joints."""
    notes = Notes(source)
    for name, feature in engine.features.items():
        _feature(notes, ("features", name), feature, engine)
    check_limits(notes, engine)
    _layout(notes, engine)
    for name, choice in engine.choices.items():
        where: Where = ("choices", name)
        notes.known((*where, "by"), choice.by, engine.features, "no feature of this sheet")
        if choice.unit:
            notes.unit((*where, "unit"), choice.unit)
        for part in choice.table:
            _part(notes, (*where, "table", part), part, engine, key=True)
    for name, group in engine.fasteners.items():
        where = ("fasteners", name)
        _part(notes, (*where, "part"), group.part, engine)
        if group.measure:
            notes.known((*where, "measure"), group.measure, engine.features, "no feature of this sheet")
        elif group.reuse == "by_measure":
            notes.error((*where, "reuse"), "by_measure needs the feature that decides", "add 'measure: ...'")
        for i, stage in enumerate(group.stages):
            if stage.torque:
                _unit_of_quantity(notes, (*where, "stages", i, "torque"), stage.torque.unit, "N·m")
            if stage.angle:
                _unit_of_quantity(notes, (*where, "stages", i, "angle"), stage.angle.unit, "deg")
    if engine.fasteners or engine.assemblies or engine.first_start:
        from .plancheck import check_plan

        check_plan(engine, notes)
    for name, joint in engine.joints.items():
        where = ("joints", name)
        for part in joint.needs:
            if part not in engine.choices:
                _part(notes, (*where, "needs"), part, engine)
        notes.all_known(
            (*where, "fasteners"), joint.fasteners, engine.fasteners, "none of this sheet's fasteners"
        )
    words = {*engine.joints, *engine.access, *engine.features}
    for name, ways in engine.access.items():
        for i, way in enumerate(ways):
            for word in way:
                notes.misspelt(("access", name, i), word, words)
    if engine.access:
        from ...trade.engine.access import takedown

        for name in takedown([*engine.joints, *engine.access], engine.access)[1]:
            message = (
                f"{name.replace('_', ' ')} never comes off: each way to it waits for something behind it"
            )
            notes.warn(("access", name), message, "what is named in a line comes off before it")
    for part in engine.always:
        _part(notes, ("always", part), part, engine, key=True)
    return notes.found


def _layout(notes: Notes, engine: Engine) -> None:
    order = engine.layout.firing_order
    if order is not None and len(order) != engine.layout.cylinders:
        message = f"{len(order)} cylinders in the firing order, {engine.layout.cylinders} in the engine"
        notes.warn(("layout", "firing_order"), message)
    banks = [cylinder for bank in engine.layout.banks for cylinder in bank]
    wanted = [str(number) for number in range(1, engine.layout.cylinders + 1)]
    if banks and sorted(banks, key=lambda name: (len(name), name)) != wanted:
        message = f"the banks together must name the cylinders 1 to {engine.layout.cylinders}, each once"
        notes.error(("layout", "banks"), message, "one line a bank, as in '- 1 3'")


def _feature(notes: Notes, where: Where, feature: FeatureRecord, engine: Engine) -> None:
    if not notes.known((*where, "kind"), feature.kind, kinds(), "no kind of feature"):
        return
    kind = kinds()[feature.kind]
    # keys that belong to some kinds, and not to this one
    special = {key for one in kinds().values() for key in (*one.keys, *one.links, *one.given)}
    written = feature.model_fields_set | set(feature.further)
    for key in sorted(written & special - kind.keys - {*kind.links, *kind.given}):
        notes.warn((*where, key), f"'{key}' does nothing for the kind '{kind.name}'", key=True)
    _given(notes, where, feature, kind)
    _links(notes, where, feature, kind, engine)
    if kind.needs_columns:
        missing = [one for one in ("positions", "columns") if not getattr(feature, one)]
        if missing:
            message = f"no {' and no '.join(missing)}: what is to be measured is not said"
            notes.warn(where, message, f"add '{missing[0]}: ...'", key=True)
    from ...trade.engine.bearings import halves

    _columns(notes, where, feature, kind)
    if kind.lone == "size":
        _form(notes, where, feature)
    two = halves(feature.columns or ("upper", "lower")) or ()
    if (kind.name == "shells" and not two) or (kind.name == "shell_spread" and len(two) != 2):
        message = f"a shell has two halves, and '{' '.join(feature.columns or ())}' does not name them"
        hint = "two columns, one for each half: upper lower, left right, or rod cap"
        hint += "; the lone column of a whole bush: bush" if kind.name == "shells" else ""
        notes.error((*where, "columns"), message, hint)
    limits = {
        **{("new", k): v for k, v in feature.new.items()},
        **{("wear", k): v for k, v in feature.wear.items()},
    }
    columns = tuple(feature.columns or ())
    allowed = kind.limit_keys if kind.limit_keys is not None else frozenset(kind.characteristics(columns))
    own_units = {trait.limit: trait.unit for trait in kind.traits.values() if trait.unit}
    for (side, name), limit in limits.items():
        place = (*where, side, name)
        if allowed or kind.limit_keys is not None:
            notes.known(place, name, sorted(allowed), f"nothing that '{kind.name}' is judged by", key=True)
        if limit.see:
            notes.known(place, limit.see, engine.features, "no feature of this sheet", within=True)
    unit = notes.unit((*where, "unit"), feature.unit) if feature.unit else None
    walls: dict[Where, Interval] = {("wall",): feature.wall} if feature.wall else {}
    walls |= {("grades", name): limit for name, limit in feature.grades.items()}
    for place, limit in [*limits.items(), *walls.items()]:
        own = own_units.get(str(place[-1]), "")
        _limit(notes, (*where, *place), limit, own or unit, stated=bool(own) or feature.unit is not None)
    for key in ("undersizes", "oversizes"):
        if text := getattr(feature, key):
            _steps(notes, (*where, key), text)
    if feature.source is None:
        if any(not limit.see for limit in limits.values()) or feature.grades or feature.wall:
            message = "limits without a source: nobody can check them"
            notes.warn(where, message, "add 'source: manual page 31', or shop_practice", key=True)
    else:
        first = feature.source.split(maxsplit=1)[0].rstrip(",:;") if feature.source else ""
        notes.known(
            (*where, "source"),
            first,
            [*engine.documents, *PRACTICE],
            "none of the sheet's documents",
            severity="warning",
        )
    for part in feature.replace_with:
        _part(notes, (*where, "replace_with"), part, engine)
    for size, part in feature.sets.items():
        _part(notes, (*where, "sets", size), part, engine)
        if size != "standard":
            _size(notes, (*where, "sets", size), size)
    if feature.codes:
        _codes(notes, (*where, "codes"), feature.codes, feature)


def _stations(notes: Notes, where: Where, text: str, feature: FeatureRecord) -> None:
    """A length for each position, each further along than the one before it."""
    try:
        lengths = [length for _, length in steps_of(text)]
    except QuantityError as problem:
        notes.error(where, str(problem), problem.suggestion)
        return
    wanted = len(feature.positions or [])
    if len(lengths) != wanted:
        notes.error(where, f"{len(lengths)} places for {wanted} positions", "one for each, in their order")
    elif any(there <= here for here, there in pairwise(lengths)):
        notes.error(where, "each must lie further along than the one before", "measured from the first")


def _given(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind) -> None:
    """The numbers that a kind needs beside its readings."""
    for key, wanted in kind.given.items():
        text = feature.further.get(key)
        if text is None:
            if wanted.needed:
                message = f"a {kind.name.replace('_', ' ')} needs '{key}', {wanted.says}"
                notes.error(where, message, f"add '{key}: ...'", key=True)
            continue
        if wanted.many:
            _stations(notes, (*where, key), text, feature)
            continue
        try:
            number = bare_or_unit(text)
        except QuantityError as problem:
            notes.error((*where, key), str(problem), problem.suggestion)
            continue
        if wanted.dimension == "feature":
            if number.unit and feature.unit:
                _unit_of_quantity(notes, (*where, key), number.unit, feature.unit)
        elif wanted.dimension and number.unit:
            _unit_of_quantity(notes, (*where, key), number.unit, quantities.units.BASE[wanted.dimension])
        elif wanted.dimension and not number.unit:
            notes.error(
                (*where, key), f"{text} has no unit", f"{text} {quantities.units.BASE[wanted.dimension]}"
            )
        elif number.unit:
            notes.error((*where, key), f"'{text}' is no mere number, and {wanted.says} is one")


def _links(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind, engine: Engine) -> None:
    linked = feature.links(kind.links)
    for partner, name in linked.items():
        if engine.features.get(name) is feature:
            notes.error((*where, partner), f"'{name}' cannot be joined to itself", "the part that it runs in")
        notes.known((*where, partner), name, engine.features, "no feature of this sheet")
    given = [one for one in kind.partners if one in linked]
    missing = [one for one in kind.partners if one not in given]
    alone = not given and any(column in kind.extra_columns for column in feature.columns or ())
    if missing and not alone:  # a clearance read directly joins nothing
        message = f"a {kind.name.replace('_', ' ')} joins {listed(kind.partners)}: {listed(missing)} missing"
        # a shaft that runs in its bore without shells is a fit all the same; one without its bore is none
        severity: Severity = "warning" if given and missing == ["shells"] else "error"
        notes.add(where, message, f"add '{missing[0]}: ...'", severity, key=True)
    if "direction" in kind.keys:
        _direction(notes, where, feature, given, engine)
    if {"housing", "journal"} <= set(given):
        housing, journal = (engine.features.get(getattr(feature, one)) for one in ("housing", "journal"))
        if housing and journal and housing.columns and journal.columns:
            one, other = planes(housing.columns), planes(journal.columns)
            if one != other and min(len(one), len(other)) > 1:  # a single plane serves for all
                message = (
                    f"the planes of {feature.housing} ({listed(sorted(one))}) and {feature.journal} "
                    f"({listed(sorted(other))}) do not pair up"
                )
                notes.warn((*where, "journal"), message, "name them alike: front_v beside front_a")


def _direction(notes: Notes, where: Where, feature: FeatureRecord, given: list[str], engine: Engine) -> None:
    """The direction under load or thrust must be one that the bore is read in."""
    outer = "housing" if "housing" in given else "outer" if "outer" in given else ""
    bore = engine.features.get(getattr(feature, outer)) if outer else None
    if bore is None or not bore.columns:
        return
    wanted = feature.direction or ("v" if outer == "housing" else "t")
    from ...trade.measuring.form import is_size, plane_and_direction

    known = {plane_and_direction(column)[1] for column in bore.columns if is_size(column)} - {""}
    if known and wanted not in known:
        place = (*where, "direction") if feature.direction else where
        message = (
            f"{getattr(feature, outer)} is not read in the direction '{wanted}' that carries the load "
            f"({listed(sorted(known))}): no clearance can be worked out"
        )
        notes.error(place, message, f"add 'direction: {min(known)}', if that is the one", key=True)


def planes(columns: list[str]) -> set[str]:
    """The planes of columns named plane_direction; directions alone lie in one plane without a name.

    >>> sorted(planes(["front_a", "front_b", "rear_a", "score_depth"])), planes(["a", "b"])
    (['front', 'rear'], {''})
    """
    from ...trade.measuring.form import is_size, plane_and_direction

    return {plane_and_direction(name)[0] for name in columns if is_size(name)}


def _columns(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind) -> None:
    """Columns of a kind that works out of some names only: readings under another one would be lost."""
    named = feature.columns or []
    lost = [column for column in named if kind.knows and column not in kind.knows]
    # without its first column, as the pressure of a compression, nothing at all is worked out
    severity: Severity = "warning" if kind.knows[:1] and kind.knows[0] in named else "error"
    for column in lost:
        what = f"no column that the kind '{kind.name}' reads"
        notes.known((*where, "columns"), column, kind.knows, what, severity=severity, within=True)


def _form(notes: Notes, where: Where, feature: FeatureRecord) -> None:
    """A limit that the columns can never be held to: taper needs two planes, out-of-round two directions."""
    from ...trade.measuring.form import by_plane, is_size
    from ...trade.measuring.uncertainty import Measured

    sizes = by_plane({name: Measured(0.0) for name in feature.columns or () if is_size(name)})
    ways = [way for plane in sizes.values() for way in plane]
    lacking = {}
    if max(map(len, sizes.values()), default=2) < 2:
        lacking["out_of_round"] = "a plane read in two directions: front_a front_b"
    if len(ways) == len({*ways}) > 0:
        lacking["taper"] = "a direction read in two planes: front_a rear_a"
    for side, limits in (("new", feature.new), ("wear", feature.wear)):
        for name in lacking.keys() & limits.keys():
            message = f"{name.replace('_', ' ')} has a limit, and no columns that it can be worked out of"
            notes.warn((*where, side, name), message, f"it needs {lacking[name]}", key=True)


def _limit(notes: Notes, where: Where, limit: Interval, unit: str | None, stated: bool) -> None:
    for end in (limit.low, limit.high):
        if end is None:
            continue
        if end.unit and unit:
            _unit_of_quantity(notes, where, end.unit, unit)
        elif not end.unit and not stated:
            notes.error(where, f"{end.text} has no unit", "add 'unit: mm' to the feature")
            return


def _unit_of_quantity(notes: Notes, where: Where, unit: str, wanted: str) -> None:
    try:
        found, needed = quantities.dimension(unit), quantities.dimension(wanted)
    except UnknownUnit as problem:
        notes.error(where, str(problem))
        return
    if found != needed:
        notes.error(where, f"{unit} is a unit of {found}, and a {needed} belongs here", f"as in {wanted}")


def _steps(notes: Notes, where: Where, text: str) -> None:
    """Steps in their own unit, as in ``0.010 0.020 in``."""
    *numbers, unit = text.replace(",", " , ").split() or [""]
    try:
        if not numbers:
            raise QuantityError(f"'{text}' lists no steps with their unit")
        for one in numbers:
            quantities.parse(one, unit=unit, dimension="length")
    except QuantityError as problem:
        notes.error(where, str(problem), "0.25 0.50 mm, or 0.010 0.020 in")


def _size(notes: Notes, where: Where, text: str) -> None:
    try:
        quantities.parse(text, dimension="length")
    except QuantityError as problem:
        notes.error(where, f"'{text}' is no size: {problem}", "standard, or as in 0.25 mm", key=True)


def _part(notes: Notes, where: Where, part: str, engine: Engine, key: bool = False) -> None:
    # a sheet whose parts are not typed in yet is unfinished, not wrong
    notes.known(
        where,
        part,
        engine.parts,
        "not among the sheet's parts",
        severity="error" if engine.parts else "warning",
        key=key,
        within=True,
    )


def _codes(notes: Notes, where: Where, codes: CodeTable, feature: FeatureRecord) -> None:
    notes.all_known((*where, "columns"), codes.columns, codes.journal_bands, "no journal code of this table")
    for name, grades in codes.rows.items():
        place = (*where, "rows", name)
        notes.known(place, name, codes.housing_bands, "no housing code of this table", key=True)
        if len(grades) != len(codes.columns):
            notes.error(place, f"{len(grades)} grades for {len(codes.columns)} columns")
        halves = [half for cell in grades for half in cell.split("/")]
        notes.all_known(place, halves, feature.grades, "no grade of these shells")
        if any(cell.count("/") > 1 for cell in grades):
            notes.error(place, "a bearing has two halves", "one grade for both, or upper/lower as in S2/S3")
