"""Kinds of plain bearings: shells and oil clearance."""

from __future__ import annotations

from ...quantities import Sentence
from ..engine import bearings
from ..measuring.form import is_size, plane_and_direction, sizes
from ..measuring.verdict import Bound
from .kind import Computed, Given, Inputs, Kind, Trait, columns_of, each_column

FITTED: str = Sentence("bore measured with shells fitted")
CLEARANCE = {
    "smallest_clearance": Trait("smallest clearance", "clearance", "too tight", short=""),
    "largest_clearance": Trait("largest clearance", "clearance", "too tight", short=""),
}


def _bearing_clearance(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    journal, housing = inputs.partners.get("journal", {}), inputs.partners.get("housing", {})
    wanted = len([c for c in inputs.partner_columns.get("journal", ()) if is_size(c)])
    for position in inputs.positions:
        direct = {c: v for c, v in inputs.readings.get(position, {}).items() if c.startswith("direct")}
        for column, value in direct.items():
            found.append(
                Computed(position, f"{column}_clearance", value, basis=Sentence("direct"), direct=True)
            )
        pins = sizes(journal.get(position, {}))
        if not pins:
            continue
        installed = {c: v for c, v in inputs.readings.get(position, {}).items() if c not in direct}
        known = inputs.walls.get(position)
        if installed:
            one = bearings.clearance_from_installed(installed, pins, inputs.direction or "v")
            basis, bound = FITTED, "equal"
        elif known and position in housing:
            one = bearings.clearance(housing[position], known.walls, pins, inputs.direction or "v")
            basis, bound = known.basis, known.bound
        else:
            continue
        if one is None:
            continue
        low: Bound = "at least" if bound == "at least" else "equal"
        high: Bound = low
        note = ""
        bore = installed or housing[position]
        across = _across(inputs.columns if installed else inputs.partner_columns.get("housing", ()), inputs)
        lacking = [column for column in across if column not in bore]
        if len(pins) < wanted:
            note = Sentence(
                "provisional: {count} of {wanted} journal readings", count=len(pins), wanted=wanted
            )
        elif lacking:
            note = Sentence("provisional: bore not read at {what}", what=columns_of(lacking))
        if note:
            low, high = ("at most", "at least") if low == "equal" else (low, "at least")
        planes = {plane: (a.value, b.value) for plane, (a, b) in one.planes.items()}
        if low == "at least":  # worn shells not measured: only the least that it can have been is known
            found.append(Computed(position, "smallest_clearance", one.smallest, low, basis, note, planes))
            continue
        middle: Bound = "equal" if low == high == "equal" else "at least"
        found += [
            Computed(position, "smallest_clearance", one.smallest, low, basis, note, planes),
            Computed(position, "largest_clearance", one.largest, high, basis, note, planes),
            Computed(position, "mean_clearance", one.mean, middle, basis, note),
        ]
    return found


def _across(columns: tuple[str, ...], inputs: Inputs) -> list[str]:
    """Those of a bore's columns that are read in the direction of the load."""
    return [one for one in columns if plane_and_direction(one)[1] == (inputs.direction or "v")]


def _running_fit(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    outer, inner = inputs.partners.get("outer", {}), inputs.partners.get("inner", {})
    for position in inputs.positions:
        bores, shafts = outer.get(position, {}), inner.get(position, {})
        if not bores or not shafts:
            continue
        missing = [
            *(c for c in inputs.partner_columns.get("outer", ()) if c not in bores),
            *(c for c in inputs.partner_columns.get("inner", ()) if c not in shafts),
        ]
        note = Sentence("missing {what}", what=columns_of(missing)) if missing else ""
        low, high = bearings.running_clearance(list(bores.values()), list(shafts.values()))
        ends: tuple[Bound, Bound] = ("at most", "at least") if missing else ("equal", "equal")
        found += [
            Computed(position, "smallest_clearance", low, ends[0], note=note),
            Computed(position, "largest_clearance", high, ends[1], note=note),
        ]
    return found


def _spread(inputs: Inputs) -> list[Computed]:
    seat = inputs.given.get("seat")
    if seat is None:
        return []
    return [
        Computed(position, f"{column}_spread", bearings.free_spread(value, seat))
        for position, columns in inputs.readings.items()
        for column, value in columns.items()
        if column in (bearings.halves(inputs.columns or ("upper", "lower")) or ())
    ]


def _spreads(columns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{half}_spread" for half in bearings.halves(columns) or ())


KINDS = (
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
        again_by=("shells", "journal"),  # nothing runs in the housing, so it does not wear
        needs_columns=False,
        keys=frozenset({"direction"}),
        extra_columns=("direct",),
        readings="those of its three partners, or the bore with its shells fitted, or plastic thread",
        instruments=("bore", "gap", "thread"),
        formula="housing in the load direction, less both crown walls, less the largest and the smallest "
        "journal reading of the plane",
        source="common practice of bearing fitting; wall as in ISO 3548-2, s3",
        doubt="a bore gauge set in the journal's micrometer shares its error, which cancels but for the span "
        "between bore and journal; that of the wall micrometer counts twice",
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
        instruments=(),
        formula="least bore less greatest shaft, and greatest bore less least shaft",
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
        source="common practice",
        doubt="the feeler's permitted error and its steps",
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
