"""Kinds of plain bearings: shells and oil clearance."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from msgspec.structs import replace

from ...quantities import NOTHING, Measure, Sentence, Text, message, present
from ..engine import bearings
from ..measuring.form import is_size, plane_and_direction, sizes
from ..measuring.uncertainty import ZERO, Measured
from ..measuring.verdict import Bound
from .kind import LEAVES, Computed, Given, Inputs, Kind, Trait, Unread, columns_of, each_column, ends, unread

EQUAL: Bound = "equal"
FITTED: Text = Sentence("bore measured with shells fitted")
CLEARANCE = {
    "smallest_clearance": Trait("smallest clearance", "clearance", "too tight", short=""),
    "largest_clearance": Trait("largest clearance", "clearance", "too tight", short=""),
}


def _bearing_clearance(inputs: Inputs) -> Iterator[Computed]:
    for position in inputs.positions:
        installed: dict[str, Measured] = {}
        for name, value in inputs.readings.get(position, {}).items():
            if name.startswith("direct"):
                basis = Sentence("direct")
                yield Computed(position, f"{name}_clearance", value, basis=basis, direct=True)
            else:
                installed[name] = value
        yield from _worked_out(inputs, position, installed)


def _worked_out(inputs: Inputs, position: str, installed: Mapping[str, Measured]) -> list[Computed]:
    """The clearance from its partners, or from the bore with its shells fitted, which needs no walls."""
    pins = sizes(inputs.partners.get("journal", {}).get(position, {}))
    housing = inputs.partners.get("housing", {}).get(position)
    known = inputs.walls.get(position)
    direction = inputs.direction or "v"
    if not pins:
        return []
    if installed:
        room = bearings.clearance(installed, bearings.Walls(ZERO, ZERO), pins, direction)
        basis, bound = FITTED, EQUAL
        bore, wanted = installed, inputs.columns
    elif known and housing is not None:
        room = bearings.clearance(housing, _grown(inputs, position, known.walls), pins, direction)
        basis, bound = known.basis, known.bound
        bore, wanted = housing, inputs.partner_columns.get("housing", ())
    else:
        return []
    if room is None:
        return []
    across = [column for column in wanted if plane_and_direction(column)[1] == direction]
    provisional = _provisional(inputs, pins, unread(across, bore))
    note = provisional
    if room.alone:
        words = message(
            "{planes}: read of journal or bore alone, and held against least and greatest of the other"
        )
        note = present([note, Sentence(words, planes=columns_of(room.alone))])
    planes = {plane: (low.value, high.value) for plane, (low, high) in room.planes.items()}
    if bound == "at least":  # worn shells not measured: only the least that it can have been is known
        return [Computed(position, "smallest_clearance", room.smallest, bound, basis, note, planes=planes)]
    low, high = EQUAL, EQUAL
    if provisional:
        low, high = "at most", "at least"
    elif not installed and _crush_awaited(inputs, position):
        low = high = "at least"  # crush widens the bore by nobody knows how much
        note = present([note, Sentence("crush of the shells not read")])
    found = [
        Computed(position, "smallest_clearance", room.smallest, low, basis, note, planes=planes),
        Computed(position, "largest_clearance", room.largest, high, basis, note, planes=planes),
    ]
    if not provisional:  # of a journal half read the mean may lie on either side of what was read
        found.append(Computed(position, "mean_clearance", room.mean, high, basis, note))
    return found


def _grown(inputs: Inputs, position: str, walls: bearings.Walls) -> bearings.Walls:
    """Walls that may leave more room than they take, by what crush widens their housing; never less."""
    # the gap may be any up to the leaf that did not go in
    read = [gap.value + gap.above for gap in _crush_read(inputs, position)]
    crush = max(read, default=inputs.given.get("crush"))
    if crush is None or "ring" not in inputs.given:
        return walls
    thick = max(walls.upper.value, walls.lower.value)
    growth = bearings.crush_growth(crush, thick, inputs.given["ring"], inputs.housing)
    return replace(walls, lower=replace(walls.lower, below=walls.lower.below + growth))


def _crush_read(inputs: Inputs, position: str) -> Collection[Measured]:
    return inputs.partners.get("crush_read", {}).get(position, {}).values()


def _crush_awaited(inputs: Inputs, position: str) -> bool:
    """Whether it is to be read, was not, and the sheet gives no figure to go by meanwhile."""
    asked = "crush_read" in inputs.partners and "crush" not in inputs.given
    return asked and not _crush_read(inputs, position)


def _provisional(inputs: Inputs, pins: Mapping[str, Measured], missing: Unread) -> Text:
    """What was not read of the journal or of its bore, if anything."""
    wanted = len([column for column in inputs.partner_columns.get("journal", ()) if is_size(column)])
    if len(pins) < wanted:
        return Sentence("provisional: {count} of {wanted} journal readings", count=len(pins), wanted=wanted)
    if missing:
        return Sentence("provisional: bore not read at {what}", what=columns_of(missing.columns))
    return NOTHING


def _running_fit(inputs: Inputs) -> Iterator[Computed]:
    outer, inner = inputs.partners.get("outer", {}), inputs.partners.get("inner", {})
    for position in inputs.positions:
        bores, shafts = outer.get(position, {}), inner.get(position, {})
        if not bores or not shafts:
            continue
        of_bore = inputs.partner_missing("outer", position)
        of_shaft = inputs.partner_missing("inner", position)
        missing = Unread(of_bore.columns + of_shaft.columns)
        yield from ends(position, tuple(CLEARANCE), bearings.running_clearance(bores, shafts), missing)


def _spread(inputs: Inputs) -> Iterator[Computed]:
    seat = inputs.given.get("seat")
    halves = bearings.halves(inputs.columns or ("upper", "lower")) or ()
    for read in each_column(inputs):
        if seat is not None and read.measured and read.name in halves:
            yield replace(read, name=f"{read.name}_spread", measured=read.measured.shifted(-seat))


def _spreads(columns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{half}_spread" for half in bearings.halves(columns) or ())


def _shimmed_cap(inputs: Inputs) -> Iterator[Computed]:
    by_sizes: dict[str, list[Computed]] = {}
    for one in _running_fit(inputs):
        by_sizes.setdefault(one.position, []).append(one)
    for position in dict.fromkeys((*inputs.readings, *by_sizes)):
        columns = inputs.readings.get(position, {})
        direct, shims = columns.get("clearance"), columns.get("shims")
        if shims is not None:
            yield Computed(position, "shims", shims)
        if direct is not None:
            cap = Computed(position, "clearance", direct)
        elif position in by_sizes:
            low, high = by_sizes[position]
            cap = replace(low, name="clearance", least=low.measured, most=high.measured)
        else:
            continue
        if shims is not None and (told := _shims_told(inputs, cap, shims.value)):
            cap = replace(cap, note=present([cap.note, told]) if cap.note else told)
        yield cap


def _shims_told(inputs: Inputs, cap: Computed, shims: float) -> Text:
    """What to take out or to put in under each side, where the clearance is not inside its limits."""
    least, most = inputs.least.get("clearance"), inputs.most.get("clearance")
    ends = [end.value for end in (cap.least or cap.measured, cap.most or cap.measured) if end]
    if least is None or most is None or (least <= min(ends) and max(ends) <= most):
        return NOTHING
    clearance = min(ends) if min(ends) < least else max(ends)
    out = bearings.shims_out(clearance, shims, inputs.given["leaf"], (least, most))
    left = Measure(clearance - out, "mm", 3)
    if clearance - out > most:
        words = message(
            "with all that the shims allow taken out, {clearance} is left: "
            "the cap or the bearing has to be worked"
        )
        return Sentence(words, clearance=left)
    if out > 0:
        words = message("take {amount} of shims out under each side of the cap, to {clearance}")
    else:
        words = message("put {amount} of shims in under each side of the cap, to {clearance}")
    return Sentence(words, amount=Measure(abs(out), "mm", 3), clearance=left)


KINDS = (
    Kind(
        "shimmed_cap",
        "clearance of a bearing whose cap stands on shims, as poured ones do, and the shims under each side; "
        "read by thread, or worked out: `outer:` with the shims in, less `inner:`",
        _shimmed_cap,
        {
            "clearance": Trait("clearance", "clearance", "too tight", short=""),
            "shims": Trait("shims under each side", "shims", optional=True),
        },
        given={"leaf": Given("thickness of one leaf of the shims")},
        optional_partners=("outer", "inner"),
        knows=("clearance", "shims"),
        readings="clearance by plastic thread, cap torqued; thickness of the shims under its thinner side",
        instruments=("thread", "gap", "outside"),
        formula="the clearance itself, or least and greatest of bore less journal; what is taken out "
        "under both sides alike comes off it",
        source="common practice of poured bearings",
        doubt="the instrument's own; the pack is measured squeezed, as the cap squeezes it",
        drawing="bearing",
        fitted=True,
    ),
    Kind(
        "shells",
        "wall of each half at the crown",
        each_column,
        {"upper": Trait("upper wall", "wall"), "lower": Trait("lower wall", "wall")},
        keys=frozenset({"wall", "grades", "codes", "mix", "sets"}),
        column_trait=Trait("wall", "wall"),
        judged=False,
        readings="one at the crown of each half: two columns, named as the halves are, such as upper lower, "
        "left right or rod cap; of a whole bush one column, bush",
        instruments=("wall", "outside"),
        formula="the wall as read, or the band of its grade",
        source="ISO 3548-2, wall thickness s3",
        doubt="one micrometer reads both halves, so its error counts twice in their sum; a grade's band is "
        "rectangular; the one wall of a bush counts twice with all its doubt",
        drawing="shell",
    ),
    Kind(
        "bearing_clearance",
        "`housing:` less both walls of `shells:` less `journal:`, plane by plane; a column `direct` holds "
        "what was read directly, alone or beside them",
        _bearing_clearance,
        {
            **CLEARANCE,
            "mean_clearance": Trait("mean clearance", "clearance", "too tight", short="", optional=True),
            "direct_clearance": Trait(
                "clearance measured directly",
                "clearance",
                "too tight",
                short="",
                optional=True,
                column="direct",
            ),
        },
        partners=("housing", "shells", "journal"),
        optional_partners=("crush_read",),
        again_by=("shells", "journal"),  # nothing runs in the housing, so it does not wear
        needs_columns=False,
        keys=frozenset({"direction"}),
        given={
            "crush": Given("gap that shell crush opens at a parting line", needed=False),
            "ring": Given(
                "thinnest wall of the housing round the shells", needed=False, needed_by="crush_read"
            ),
        },
        extra_columns=("direct",),
        readings="those of its three partners, or the bore with its shells fitted, or plastic thread",
        instruments=("bore", "gap", "thread"),
        formula="housing in the load direction, less both crown walls, less the largest and the smallest "
        "journal reading of the plane",
        source="common practice of bearing fitting; wall as in ISO 3548-2, s3",
        doubt="a bore gauge set in the journal's micrometer shares its error, which cancels but for the span "
        "between bore and journal; that of the wall micrometer counts twice; a bore read without shells is "
        "smaller than with them crushed in: with `ring:` and `crush:`, or the feature `crush_read:` where it "
        "was read, the clearance reaches up by what a thin ring grows, without them that is left out",
        drawing="bearing",
        fitted=True,
    ),
    Kind(
        "running_fit",
        "`outer:` less `inner:` over all their readings: pins in bushes, cam journals, buckets, rockers",
        _running_fit,
        CLEARANCE,
        partners=("outer", "inner"),
        needs_columns=False,
        readings="those of its two partners",
        formula="plane by plane, where both name the same: least bore less greatest shaft, and greatest "
        "bore less least shaft; a plane that one alone names is held against all of the other",
        source="ISO 286-1, clearance fit",
        doubt="an error that both share through one micrometer cancels",
        drawing="fit",
        fitted=True,
    ),
    Kind(
        "shell_crush",
        "gap that opens at a parting line when one of two torqued bolts is let go",
        each_column,
        {"crush": Trait("crush", "crush", "too little", "too much", short="")},
        readings="one for each housing, caps torqued first",
        instruments=("gap",),
        formula="the gap itself",
        doubt=LEAVES,
        drawing="shell",
    ),
    Kind(
        "shell_spread",
        "how much wider a free shell is than its seat",
        _spread,
        {
            "upper_spread": Trait("free spread, upper", "spread", "too little", "too much", short=""),
            "lower_spread": Trait("free spread, lower", "spread", "too little", "too much", short=""),
        },
        column_trait=Trait("", "spread", "too little", "too much", short=""),
        named=_spreads,
        given={"seat": Given("nominal bore of the housing")},
        readings="width over the parting faces of each half, free: two columns, one for each half",
        instruments=("outside",),
        formula="free width less bore",
        source="ISO 3548-1, free spread (from memory)",
        doubt="the caliper's permitted error",
        drawing="shell",
    ),
)
