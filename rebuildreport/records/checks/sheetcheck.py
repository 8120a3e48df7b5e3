"""Whether shop.yaml and an engine's spec sheet agree with themselves."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from ... import quantities
from ...quantities import Quantity, QuantityError, UnknownUnit
from ...trade.engine.bearings import halves
from ...trade.engine.subjects import part_subject
from ...trade.kinds import KINDS, Kind
from ...trade.measuring.form import by_plane, is_size, plane_and_direction
from ...trade.measuring.uncertainty import Measured
from ..files.choosing import CodeTable
from ..files.measured import base
from ..files.sheet import Engine, FeatureRecord
from ..files.shop import FORMAT, InstrumentRecord, Shop
from ..files.sizes import steps_of
from ..text.fields import Proportion, bare_or_unit
from ..text.notes import Notes
from ..text.problems import Severity
from ..text.reader import Where
from ..text.validate import listed
from .limitcheck import check_limits, limit_unit
from .vocabulary import part_severity

PRACTICE = ("shop_practice", "common_practice")
NO_FEATURE = "no feature of this sheet"
# where the sheet names what stands elsewhere in it
NAMES_FEATURE = (
    "choices.*.by",
    "fasteners.*.measure",
    "features.*.runout",
    "features.*.height",
    "features.*.raises",
    "features.*.lowers",
    "shims.*.clearance",
    "matching.*.rods",
    "matching.*.pistons",
    "first_start.limits",
)
NAMES_PART = (
    "choices.*.table.@",
    "fasteners.*.part",
    "features.*.replace_with",
    "features.*.sets.*",
    "features.*.halves.*",
    "features.*.pieces.*",
    "features.*.other.*.halves.*",
    "shims.*.part",
    "always.@",
)
NAMES_FASTENER = ("joints.*.fasteners", "first_start.retighten.*.fasteners")
# kinds whose readings are of halves, with how many halves they must be read at
HALVES = {"shells": (1, 2), "shell_spread": (2,)}

LEAST_LABEL = 10.0  # mm: two lines of small print


def check_shop(shop: Shop, notes: Notes) -> None:
    """Currency, rates and instruments."""
    if shop.format is not None and shop.format != FORMAT:
        later = f"this program knows formats up to {FORMAT}: it takes a newer one"
        hint = later if shop.format > FORMAT else "rebuildreport upgrade shows what it would change"
        notes.error(("format",), f"these files are of format {shop.format}, and not {FORMAT}", hint)
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
        _instrument(notes, ("instruments", name), tool)
    # what is left of the paper for each label must be one that can be written on
    if shop.labels and min(shop.labels.size) < LEAST_LABEL:
        across, down = shop.labels.size
        message = f"that leaves {across:.0f} by {down:.0f} mm for a label: no sheet is cut so"
        notes.error(("labels",), message, "as printed on the box of the sheets", key=True)


def _instrument(notes: Notes, where: Where, tool: InstrumentRecord) -> None:
    ends, unit = tool.range.ends, tool.range.unit
    if not unit:
        text = f"{ends[0].text} to {ends[-1].text} mm" if ends else "0 to 25 mm"
        notes.error((*where, "range"), "the range has no unit", text)
        return
    for key in ("resolution", "permitted_error", "repeatability"):
        figure = getattr(tool, key)
        if figure and figure.unit:
            notes.unit((*where, key), figure.unit, unit)
    if tool.resolution.value <= 0:
        notes.error((*where, "resolution"), "an instrument shows steps larger than nothing")
    elif tool.permitted_error and tool.permitted_error.value <= 0:
        message = f"no instrument has an error of {tool.permitted_error}"
        hint = f"{tool.permitted_error.text.lstrip('-')} {tool.permitted_error.unit}"
        if tool.permitted_error.value == 0:
            hint = "from its certificate or data sheet, or unknown"
        notes.error((*where, "permitted_error"), message, hint)
    else:
        _alike(notes, where, tool)
    if tool.repeatability and tool.repeatability.value < 0:
        message = f"{tool.repeatability} is no standard deviation: it has no sign"
        notes.error((*where, "repeatability"), message, f"{tool.repeatability.text.lstrip('-')}")
    if tool.calibrated and tool.due and tool.due < tool.calibrated:
        notes.warn((*where, "due"), f"due before it was calibrated ({tool.calibrated})")


# what error and steps of one instrument may differ by, either way (common practice: from a radius gauge,
# surer than its leaves lie apart by eight, to a dial read over its whole travel)
STEPS_OF_ERROR, ERRORS_OF_STEP = 30.0, 20.0


def _alike(notes: Notes, where: Where, tool: InstrumentRecord) -> None:
    """Error and steps are of one order: a point astray in either makes every verdict too sure, or none."""
    if tool.permitted_error is None:
        return
    try:
        steps = tool.permitted_error.to(tool.resolution.unit) / tool.resolution.value
    except (ValueError, UnknownUnit):
        return  # told at its line
    if steps > STEPS_OF_ERROR or steps * ERRORS_OF_STEP < 1.0:
        message = f"an error of {tool.permitted_error} and steps of {tool.resolution}: a point astray?"
        notes.warn((*where, "permitted_error"), message, "both as on the certificate or data sheet")


def check_engine(engine: Engine, notes: Notes) -> None:
    """Kinds, limits and links of the features; parts, fasteners and joints."""
    notes.named(engine, NAMES_FEATURE, engine.features, NO_FEATURE)
    notes.named(engine, NAMES_FASTENER, engine.fasteners, "none of this sheet's fasteners")
    no_part, severity = "not among the sheet's parts", part_severity(engine)
    notes.named(engine, NAMES_PART, engine.parts, no_part, severity)
    known = {**engine.parts, **engine.choices}
    for joint, record in engine.joints.items():
        for need in record.needs:
            where, words = ("joints", joint, "needs"), need.split()
            if need not in known and len(words) > 1 and {*words} <= {*known}:
                notes.error(where, f"'{need}' is {no_part}: a part number may have blanks", ", ".join(words))
            else:
                notes.known(where, need, known, no_part, severity=severity, within=True)
    _two_heads(notes, engine)
    for name, feature in engine.features.items():
        _feature(notes, ("features", name), feature, engine)
    check_limits(notes, engine)
    _layout(notes, engine)
    needed = {need for joint in engine.joints.values() for need in joint.needs}
    for name, choice in engine.choices.items():
        if choice.unit:
            notes.unit(("choices", name, "unit"), choice.unit)
        if engine.joints and name not in needed and needed <= {*known}:  # no word of theirs is misspelt
            message = f"no joint needs '{name}': it is never chosen, and no estimate has it"
            notes.warn(("choices", name), message, f"'needs: {name}' at the joint that it closes", key=True)
    if engine.fasteners or engine.assemblies or engine.first_start:
        from .plancheck import check_plan

        check_plan(engine, notes)
    if engine.access or engine.states:
        from .accesscheck import check_access

        check_access(notes, engine)
    if engine.motion:
        from .loadcase import check_motion

        check_motion(engine, notes)


def _two_heads(notes: Notes, engine: Engine) -> None:
    """Of an engine with two rows of cylinders two heads come off: nothing counts once for both."""
    layout = engine.layout
    heads = [name for name in engine.joints if part_subject(name) == "head"]
    if layout.cylinders < 2 or (len(layout.banks) < 2 and layout.rows not in ("v", "flat")):
        return
    if len(heads) == 1:
        joint = engine.joints[heads[0]]
        once = [need for need, count in joint.uses.items() if count == 1]
        once = [need for need in once if need not in engine.parts or engine.parts[need].per != "engine"]
        if once:
            message = f"two rows of cylinders, and one joint '{heads[0]}' that needs {listed(once)} once"
            hint = "a joint for each head, or 'places: 2' where both are one line"
            notes.warn(("joints", heads[0]), message, hint, key=True)
    held: dict[str, str] = {}
    for head in heads:
        for name in engine.joints[head].fasteners:
            other = held.setdefault(name, head)
            if other != head and name in engine.fasteners:
                count = engine.fasteners[name].quantity
                message = f"'{other}' and '{head}' name the same '{name}', which are {count} in all"
                hint = "a group for each head, with its own number"
                notes.warn(("joints", head, "fasteners"), message, hint)


# of an engine that one shop rebuilds [mm], and stroke by bore (common practice: from a model's to a ship's)
BORES, STROKE_BY_BORE = (10.0, 700.0), (0.4, 3.5)


def _layout(notes: Notes, engine: Engine) -> None:
    bore, stroke = engine.layout.bore, engine.layout.stroke
    for key, length in (("bore", bore), ("stroke", stroke)):
        if length and not BORES[0] <= length.to("mm") <= BORES[1]:
            meant = "mm" if length.unit == "in" else "in"
            notes.error(("layout", key), f"a {key} of {length}", f"{length.text} {meant}")
            return
    if bore and stroke and not STROKE_BY_BORE[0] <= stroke.to("mm") / bore.to("mm") <= STROKE_BY_BORE[1]:
        message = f"a bore of {bore} and a stroke of {stroke}: a point astray, or another unit?"
        notes.warn(("layout", "stroke"), message, "both as on the page")
    order = engine.layout.firing_order
    if order is not None and len(order) != engine.layout.cylinders:
        message = f"{len(order)} cylinders in the firing order, {engine.layout.cylinders} in the engine"
        notes.warn(("layout", "firing_order"), message, " ".join(re.findall(r"\d+", " ".join(order))))
    banks = [cylinder for bank in engine.layout.banks for cylinder in bank]
    wanted = [str(number) for number in range(1, engine.layout.cylinders + 1)]
    if banks and sorted(banks, key=lambda name: (len(name), name)) != wanted:
        message = f"the banks together must name the cylinders 1 to {engine.layout.cylinders}, each once"
        notes.error(("layout", "banks"), message, "one line a bank, as in '- 1 3'")


# keys whose number is in the unit of the feature, where it has none of its own
OF_ITS_UNIT = (
    *("cleanup_stock", "aim_above_minimum", "target", "smallest", "largest"),
    *("hardened", "hardened_left", "wall_left"),
)


def _feature(notes: Notes, where: Where, feature: FeatureRecord, engine: Engine) -> None:
    if not notes.known((*where, "kind"), feature.kind, KINDS, "no kind of feature"):
        return
    kind = KINDS[feature.kind]
    # keys that belong to some kinds, and not to this one
    special = {key for other in KINDS.values() for key in (*other.keys, *other.links, *other.given)}
    written = feature.model_fields_set | set(feature.further)
    for key in sorted(written & special - kind.keys - {*kind.links, *kind.given}):
        notes.warn((*where, key), f"'{key}' does nothing for the kind '{kind.name}'", key=True)
    _given(notes, where, feature, kind)
    _links(notes, where, feature, kind, engine)
    cylinders = {one.link("bores") for one in engine.features.values() if one.kind == "ring_gap"}
    if feature.kind == "running_fit" and feature.link("outer") in cylinders:
        message = "a piston in its cylinder, held against every reading of the bore"
        notes.warn((*where, "kind"), message, "'fit' takes those across the crank")
    missing = [key for key in ("positions", "columns") if not getattr(feature, key)]
    if kind.needs_columns and missing:
        message = f"no {' and no '.join(missing)}: what is to be measured is not said"
        notes.warn(where, message, f"add '{missing[0]}: ...'", key=True)
    _columns(notes, where, feature, kind)
    _gasket(notes, where, feature, engine)
    if kind.lone == "size":
        _form(notes, where, feature)
    _halves(notes, where, feature)
    _limits(notes, where, feature, kind, engine)
    _sizes(notes, where, feature)
    _source(notes, where, feature, engine)
    _sets_of_the_bored(notes, where, feature, engine)
    if feature.codes:
        _codes(notes, (*where, "codes"), feature.codes, feature)


def _sizes(notes: Notes, where: Where, feature: FeatureRecord) -> None:
    """Sizes and steps can be read, and are of what the feature measures."""
    for key in OF_ITS_UNIT:
        if (size := getattr(feature, key)) is not None and size.unit:
            notes.unit((*where, key), size.unit, feature.unit or "mm")
    for key in ("undersizes", "oversizes"):
        if text := getattr(feature, key):
            notes.read((*where, key), steps_of, text, "0.25 0.50 mm, or 0.010 0.020 in")
    for size in feature.sets:
        try:
            quantities.parse("0 mm" if size == "standard" else size, dimension="length")
        except QuantityError as problem:
            message = f"'{size}' is no size: {problem}"
            notes.error((*where, "sets", size), message, "standard, or as in 0.25 mm", key=True)


def _sets_of_the_bored(notes: Notes, where: Where, feature: FeatureRecord, engine: Engine) -> None:
    """Pistons are bought by the size that their bores are bored to: the bores list them."""
    for fit in engine.features.values():
        outer = engine.features.get(fit.link("outer") or "")
        if feature.sets and fit.link("inner") == where[-1] and outer is not None and outer.oversizes:
            message = "what runs in a bore is bought by the size of that bore, each for its own"
            notes.error((*where, "sets"), message, f"'sets:' under '{fit.link('outer')}'", key=True)
            return


# Common practice: a gasket's hole clears the bore by some millimetres at the most, and no gasket or washer of
# copper is a twentieth of the stroke thick.
GASKET = (("gasket_hole", "bore", 0.95, 1.25), ("gasket_thickness", "stroke", 0.0, 0.05))


def _gasket(notes: Notes, where: Where, feature: FeatureRecord, engine: Engine) -> None:
    """What a gasket measures, beside the cylinder that it lies round."""
    for key, beside, least, most in GASKET:
        length: Quantity | None = getattr(engine.layout, beside)
        text = feature.further.get(key)
        try:
            share = quantities.parse(text).to("mm") / length.to("mm") if text and length else None
        except (ValueError, QuantityError, UnknownUnit):
            continue  # told at its line
        if share and not least <= share <= most:
            what = key.removeprefix("gasket_")
            message = f"a {what} of {text} for a {beside} of {length}: a point astray, or another unit?"
            notes.warn((*where, key), message, "as on the page")


def _halves(notes: Notes, where: Where, feature: FeatureRecord) -> None:
    wanted = HALVES.get(feature.kind)
    found = halves(feature.columns or ("upper", "lower")) or ()
    if wanted is None or len(found) in wanted:
        return
    message = f"a shell has two halves, and '{' '.join(feature.columns)}' does not name them"
    hint = "two columns, one for each half: upper lower, left right, or rod cap"
    hint += "; the lone column of a whole bush: bush" if 1 in wanted else ""
    notes.error((*where, "columns"), message, hint)


def _limits(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind, engine: Engine) -> None:
    """Limits of what the kind is judged by, each with a unit."""
    unit = notes.unit((*where, "unit"), feature.unit) if feature.unit else None
    allowed = kind.limit_keys
    if allowed is None:
        allowed = frozenset(kind.characteristics(tuple(feature.columns)))
    for place, limit in feature.all_limits:
        name = place[-1]
        if place[0] in ("new", "wear"):
            if allowed or kind.limit_keys is not None:
                what = f"nothing that '{kind.name}' is judged by"
                notes.known((*where, *place), name, sorted(allowed), what, key=True)
            if limit.see:
                notes.known((*where, *place), limit.see, engine.features, NO_FEATURE, within=True)
        if limit.share:
            _share(notes, (*where, *place), limit.share, engine, limit_unit(feature, name))
        own = limit_unit(feature, name)
        for end in limit.ends:
            wanted = own if own != feature.unit else unit
            if end.unit and wanted:
                notes.unit((*where, *place), end.unit, wanted)
            elif not end.unit and not own:
                notes.error((*where, *place), f"{end.text} has no unit", "add 'unit: mm' to the feature")
                break


def _source(notes: Notes, where: Where, feature: FeatureRecord, engine: Engine) -> None:
    if not feature.source:
        if any(not limit.see for _, limit in feature.all_limits):
            message = "limits without a source: nobody can check them"
            notes.warn(where, message, "add 'source: manual page 31', or shop_practice", key=True)
        return
    first = feature.source.split(maxsplit=1)[0].rstrip(",:;") if feature.source else ""
    known = [*engine.documents, *PRACTICE]
    notes.known((*where, "source"), first, known, "none of the sheet's documents", severity="warning")


def _stations(notes: Notes, where: Where, text: str, feature: FeatureRecord) -> None:
    """A length for each position, each further along than the one before it."""
    steps = notes.read(where, steps_of, text)
    if steps is None:
        return
    lengths = [length for _, length in steps]
    wanted = len(feature.positions)
    if len(lengths) != wanted:
        notes.error(where, f"{len(lengths)} places for {wanted} positions", "one for each, in their order")
    elif any(there <= here for here, there in pairwise(lengths)):
        notes.error(where, "each must lie further along than the one before", "measured from the first")


def _given(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind) -> None:
    """The numbers that a kind needs beside its readings."""
    for key, wanted in kind.given.items():
        text, place = feature.further.get(key), (*where, key)
        if text is None:
            if wanted.needed or feature.link(wanted.needed_by):
                message = f"a {kind.name.replace('_', ' ')} needs '{key}', {wanted.says}"
                notes.error(where, message, f"add '{key}: ...'", key=True)
        elif wanted.many:
            _stations(notes, place, text, feature)
        elif number := notes.read(place, bare_or_unit, text):
            unit, of_feature = number.unit, wanted.dimension == "feature"
            needed = feature.unit if of_feature else quantities.units.BASE.get(wanted.dimension, "")
            if unit and not wanted.dimension:
                notes.error(place, f"'{text}' is no mere number, and {wanted.says} is one")
            elif unit and needed:
                notes.unit(place, unit, needed)
            elif not unit and needed and not of_feature:
                notes.error(place, f"{text} has no unit", f"{text} {needed}")


def _links(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind, engine: Engine) -> None:
    linked = feature.links(kind.links)
    for partner, name in linked.items():
        if engine.features.get(name) is feature:
            notes.error((*where, partner), f"'{name}' cannot be joined to itself", "the part that it runs in")
        notes.known((*where, partner), name, engine.features, NO_FEATURE)
    given = [partner for partner in kind.partners if partner in linked]
    _valves(notes, where, feature, linked, engine)
    missing = [partner for partner in kind.partners if partner not in linked]
    read_directly = not given and bool({*kind.extra_columns} & {*feature.columns})
    if missing and not read_directly:
        message = f"a {kind.name.replace('_', ' ')} joins {listed(kind.partners)}: {listed(missing)} missing"
        # a shaft that runs in its bore without shells is a fit all the same; one without its bore is none
        severity: Severity = "warning" if given and missing == ["shells"] else "error"
        notes.add(where, message, f"add '{missing[0]}: ...'", severity, key=True)
    if "direction" in kind.keys:
        _direction(notes, where, feature, given, engine)
    if {"housing", "journal"} <= set(given):
        _planes_pair_up(notes, where, feature, engine)


def _valves(
    notes: Notes, where: Where, feature: FeatureRecord, linked: dict[str, str], engine: Engine
) -> None:
    """Valves whose depth makes room over them stand in the cylinders, as many in each."""
    cylinders = feature.positions or next(filter(None, (_places(engine, one) for one in linked.values())), [])
    for key in linked:
        valves = _places(engine, linked[key]) if key.endswith("_recess") else []
        if cylinders and len(valves) % len(cylinders):
            message = f"{len(valves)} valves do not share out among its cylinders alike"
            notes.error((*where, key), message, "as many to each, in the order of the cylinders")


def _places(engine: Engine, name: str) -> list[str]:
    return (engine.features[name].positions if name in engine.features else None) or []


def _planes_pair_up(notes: Notes, where: Where, feature: FeatureRecord, engine: Engine) -> None:
    housing, journal = (engine.features.get(link or "") for link in (feature.housing, feature.journal))
    if not housing or not journal or not housing.columns or not journal.columns:
        return
    bore, shaft = planes(housing.columns), planes(journal.columns)
    if bore != shaft and min(len(bore), len(shaft)) > 1:  # a single plane serves for all
        message = f"the planes of {feature.housing} ({listed(sorted(bore))}) and {feature.journal} "
        message += f"({listed(sorted(shaft))}) do not pair up"
        notes.warn((*where, "journal"), message, "name them alike: front_v beside front_a")


def _direction(notes: Notes, where: Where, feature: FeatureRecord, given: list[str], engine: Engine) -> None:
    """The direction under load or thrust must be one that the bore is read in."""
    outer = "housing" if "housing" in given else "outer" if "outer" in given else ""
    bore = engine.features.get(getattr(feature, outer)) if outer else None
    if bore is None or not bore.columns:
        return
    wanted = feature.direction or ("v" if outer == "housing" else "t")
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
    return {plane_and_direction(name)[0] for name in columns if is_size(name)}


def _columns(notes: Notes, where: Where, feature: FeatureRecord, kind: Kind) -> None:
    """Columns of a kind that works out of some names only: readings under another one would be lost."""
    named = feature.columns
    lost = [column for column in named if kind.knows and column not in kind.knows]
    # without its first column, as the pressure of a compression, nothing at all is worked out
    severity: Severity = "warning" if kind.knows[:1] and kind.knows[0] in named else "error"
    what = f"no column that the kind '{kind.name}' reads"
    for column in lost:
        notes.known((*where, "columns"), column, kind.knows, what, severity=severity, within=True)


def lacking_form(columns: Sequence[str]) -> dict[str, str]:
    """What columns can never tell, and what it needs: taper two planes, out-of-round two directions.

    >>> sorted(lacking_form(["v", "60l", "60r"]))
    ['taper']
    """
    sizes = by_plane({name: Measured(0.0) for name in columns if is_size(name)})
    ways = [way for plane in sizes.values() for way in plane]
    lacking = {}
    if max(map(len, sizes.values()), default=2) < 2:
        lacking["out_of_round"] = "a plane read in two directions: front_a front_b"
    if len(ways) == len({*ways}) > 0:
        lacking["taper"] = "a direction read in two planes: front_a rear_a"
    return lacking


def _form(notes: Notes, where: Where, feature: FeatureRecord) -> None:
    """A limit that the columns can never be held to."""
    lacking = lacking_form(feature.columns)
    for side, limits in (("new", feature.new), ("wear", feature.wear)):
        for name in lacking.keys() & limits.keys():
            message = f"{name.replace('_', ' ')} has a limit, and no columns that it can be worked out of"
            notes.warn((*where, side, name), message, f"it needs {lacking[name]}", key=True)


def _share(notes: Notes, where: Where, share: Proportion, engine: Engine, unit: str) -> None:
    """A limit for each unit of a size: of a size that the sheet has, and a length itself."""
    if share.of not in engine.features:
        notes.known(where, share.of, engine.features, NO_FEATURE, within=True)
    elif base(unit or "mm") != "mm":
        notes.error(where, f"a share of a size is a length, and this is in {unit}", "the limit itself")
    elif not share.size:
        message = f"{share.of} has no size on the sheet that this could be a share of"
        notes.error(where, message, f"add the limits of its size: {share.of}, new, size")


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
