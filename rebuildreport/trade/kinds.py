"""The register of kinds: what a feature of the spec sheet can be, and what is worked out from it.

A kind is one entry of ``KINDS``: its characteristics with the limit that
judges each, the keys and columns it takes, and the function that works it out.
To add a kind, write its function (in the module of its subject, if it holds
engineering) and one entry here; reading, checking, judging and printing follow.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from . import bearings, cylinders
from . import form as shape
from .bearings import Walls
from .metrology import Measured
from .verdict import Bound

Readings = Mapping[str, Mapping[str, Measured]]  # position: column: value


@dataclass(frozen=True, slots=True)
class KnownWalls:
    """Shell walls of one position, and how they are known."""

    walls: Walls
    basis: str
    bound: Bound = "equal"


@dataclass(frozen=True, slots=True)
class Inputs:
    """What stands for one feature when it is worked out, all in the feature's base unit."""

    positions: tuple[str, ...]
    columns: tuple[str, ...]  # wanted for a whole measurement
    readings: Readings
    repeats: Mapping[str, Mapping[str, list[Measured]]] = field(default_factory=dict)
    partners: Mapping[str, Readings] = field(default_factory=dict)
    partner_columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    walls: Mapping[str, KnownWalls] = field(default_factory=dict)
    direction: str = ""
    least: Mapping[str, float] = field(default_factory=dict)  # limit key: lower new limit
    aim_above: float = 0.0


@dataclass(frozen=True, slots=True)
class Computed:
    """One characteristic at one position; ``measured`` None: too few readings to say."""

    position: str
    name: str
    measured: Measured | None
    bound: Bound = "equal"
    basis: str = ""
    note: str = ""
    planes: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    uses: tuple[str, ...] = ()  # positions it rests on, where not its own alone


@dataclass(frozen=True, slots=True)
class Trait:
    """A characteristic of a kind: how it is called, which limit judges it, words for the two sides."""

    title: str
    limit: str
    low: str = "too small"
    high: str = "too large"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of feature."""

    name: str
    says: str
    compute: Callable[[Inputs], list[Computed]]
    traits: Mapping[str, Trait]  # empty: every column is a characteristic of its own
    partners: tuple[str, ...] = ()
    needs_columns: bool = True
    keys: frozenset[str] = frozenset()
    extra_columns: tuple[str, ...] = ()  # allowed beside the sheet's own
    column_trait: Trait = Trait("", "")  # words for a kind whose columns are the characteristics

    @property
    def limit_keys(self) -> frozenset[str] | None:
        """Limits that the sheet may state; None: one for each column."""
        return frozenset(trait.limit for trait in self.traits.values()) if self.traits else None

    def trait(self, name: str) -> Trait:
        """The trait of a characteristic; a column's own where the kind has none.

        >>> KINDS["readings"].trait("hot_idle").title
        'hot idle'
        """
        known = self.traits.get(name)
        if known:
            return known
        words = self.column_trait
        return Trait(name.replace("_", " "), name, words.low, words.high)


def _form(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    wanted = [c for c in inputs.columns if c != "score_depth"]
    for position, columns in inputs.readings.items():
        sizes = {column: value for column, value in columns.items() if column != "score_depth"}
        if not sizes:
            continue
        missing = [column for column in wanted if column not in sizes]
        one = shape.form(sizes)
        note = f"{len(sizes)} of {len(wanted)} readings; missing {', '.join(missing)}" if missing else ""
        whole: Bound = "equal"
        more: Bound = "at least" if missing else whole
        less: Bound = "at most" if missing else whole
        found += [
            Computed(position, "largest", one.largest, more, note=note),
            Computed(position, "smallest", one.smallest, less, note=note),
            Computed(position, "out_of_round", one.out_of_round, more, note=note),
            Computed(position, "taper", one.taper, more, note=note),
        ]
    return found


def _columns(inputs: Inputs) -> list[Computed]:
    return [
        Computed(position, column, value)
        for position, columns in inputs.readings.items()
        for column, value in columns.items()
    ]


def _end_float(inputs: Inputs) -> list[Computed]:
    found = []
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            repeats = inputs.repeats.get(position, {}).get(column) or [value]
            note = f"largest of {len(repeats)} readings" if len(repeats) > 1 else "one reading only"
            found.append(Computed(position, column, bearings.end_float(repeats), note=note))
    return found


def _bearing_clearance(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    journal, housing = inputs.partners.get("journal", {}), inputs.partners.get("housing", {})
    wanted = len([c for c in inputs.partner_columns.get("journal", ()) if c != "score_depth"])
    for position in inputs.positions:
        direct = {c: v for c, v in inputs.readings.get(position, {}).items() if c.startswith("direct")}
        for column, value in direct.items():
            found.append(Computed(position, f"{column}_clearance", value, basis="direct"))
        pins = {c: v for c, v in journal.get(position, {}).items() if c != "score_depth"}
        if not pins:
            continue
        installed = {c: v for c, v in inputs.readings.get(position, {}).items() if c not in direct}
        known = inputs.walls.get(position)
        if installed:
            one = bearings.clearance_from_installed(installed, pins, inputs.direction or "v")
            basis, bound = "bore measured with shells fitted", "equal"
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
        if len(pins) < wanted:
            note = f"provisional: {len(pins)} of {wanted} journal readings"
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


def _fit(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    outer, inner = inputs.partners.get("outer", {}), inputs.partners.get("inner", {})
    wanted = inputs.partner_columns.get("outer", ())
    for position in inputs.positions or tuple(outer):
        skirts = list(inner.get(position, {}).values())
        if not skirts or position not in outer:
            continue
        fits = [
            fit
            for skirt in skirts
            if (fit := cylinders.piston_clearance(outer[position], skirt, inputs.direction or "t"))
        ]
        if not fits:
            continue
        partial = any(column not in outer[position] for column in wanted)
        note = "bore not measured in full" if partial else ""
        planes = {plane: (one.value, one.value) for plane, one in fits[0].planes.items()}
        low = shape.smallest([fit.smallest for fit in fits])
        high = shape.largest([fit.largest for fit in fits])
        found += [
            Computed(
                position, "smallest_clearance", low, "at most" if partial else "equal", "", note, planes
            ),
            Computed(
                position, "largest_clearance", high, "at least" if partial else "equal", "", note, planes
            ),
        ]
    return found


def _ring_gap(inputs: Inputs) -> list[Computed]:
    found = []
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            least = inputs.least.get(column)
            file_off = cylinders.ring_filing(value.value, least, inputs.aim_above) if least else 0.0
            note = f"file {file_off:.2f} mm off the ring's ends" if file_off > 0 else ""
            found.append(Computed(position, column, value, note=note))
    return found


def _guide(inputs: Inputs) -> list[Computed]:
    found = []
    for position, columns in inputs.readings.items():
        bores = [v for c, v in columns.items() if c.startswith("guide")]
        stems = [v for c, v in columns.items() if c.startswith("stem")]
        if bores and stems:
            room = shape.largest(bores) - shape.smallest(stems)
            found.append(Computed(position, "clearance", room))
    return found


def _liner_protrusion(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    means: dict[str, Measured] = {}
    for position in inputs.positions:
        if position not in inputs.readings:
            continue
        low, high, means[position], tilt = cylinders.protrusion(inputs.readings[position])
        found += [
            Computed(position, "lowest", low),
            Computed(position, "highest", high),
            Computed(position, "spread", tilt),
        ]
    for one, other in zip(inputs.positions, inputs.positions[1:], strict=False):
        if one in means and other in means:
            step = shape.spread([means[one], means[other]])
            found.append(Computed(f"{one}-{other}", "neighbours", step, uses=(one, other)))
    return found


def _piston_protrusion(inputs: Inputs) -> list[Computed]:
    return [
        Computed(position, "protrusion", cylinders.protrusion(columns)[2])
        for position, columns in inputs.readings.items()
    ]


def _compression(inputs: Inputs) -> list[Computed]:
    found = []
    pressures = {p: columns["pressure"] for p, columns in inputs.readings.items() if "pressure" in columns}
    shares = cylinders.share_of_highest(pressures)
    for position, value in pressures.items():
        note = f"{shares[position]:.1f} % of the highest" if position in shares else ""
        found.append(Computed(position, "pressure", value, note=note))
    if len(pressures) > 1:
        together = shape.spread(list(pressures.values()))
        bound: Bound = "equal" if len(pressures) == len(inputs.positions) else "at least"
        found.append(Computed("engine", "spread", together, bound, uses=tuple(pressures)))
    return found


_SIZE = {
    "largest": Trait("largest", "size"),
    "smallest": Trait("smallest", "size"),
    "out_of_round": Trait("out of round", "out_of_round"),
    "taper": Trait("taper", "taper"),
}
_CLEARANCE = {
    "smallest_clearance": Trait("smallest clearance", "clearance", "too tight"),
    "largest_clearance": Trait("largest clearance", "clearance", "too tight"),
}

KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind(
            "readings",
            "each reading against its own limit",
            _columns,
            {},
            column_trait=Trait("", "", "too low", "too high"),
        ),
        Kind(
            "end_float",
            "largest of the readings, levered both ways",
            _end_float,
            {},
            column_trait=Trait("", "", "too tight", "too large"),
        ),
        Kind(
            "journal",
            "size, out-of-round and taper of a shaft",
            _form,
            _SIZE,
            keys=frozenset({"undersizes", "cleanup_stock", "sets"}),
            extra_columns=("score_depth",),
        ),
        Kind(
            "bore",
            "size, out-of-round and taper of a bore",
            _form,
            _SIZE,
            keys=frozenset({"oversizes", "cleanup_stock", "sets", "direction"}),
            extra_columns=("score_depth",),
        ),
        Kind(
            "shells",
            "wall of each half at the crown",
            _columns,
            {"upper": Trait("upper wall", "wall"), "lower": Trait("lower wall", "wall")},
            keys=frozenset({"wall", "grades", "codes", "mix", "sets"}),
        ),
        Kind(
            "bearing_clearance",
            "housing less both walls less journal, plane by plane",
            _bearing_clearance,
            {
                **_CLEARANCE,
                "mean_clearance": Trait("mean clearance", "clearance", "too tight"),
                "direct_clearance": Trait("clearance measured directly", "clearance", "too tight"),
            },
            partners=("housing", "shells", "journal"),
            needs_columns=False,
            keys=frozenset({"direction"}),
            extra_columns=("direct",),
        ),
        Kind(
            "fit",
            "bore less piston in the thrust direction",
            _fit,
            _CLEARANCE,
            partners=("outer", "inner"),
            needs_columns=False,
            keys=frozenset({"direction"}),
        ),
        Kind(
            "ring_gap",
            "gap of each ring, square in its bore",
            _ring_gap,
            {},
            keys=frozenset({"aim_above_minimum"}),
        ),
        Kind(
            "guide",
            "guide at its widest less stem at its thinnest",
            _guide,
            {"clearance": Trait("clearance", "clearance", "too tight")},
        ),
        Kind(
            "liner_protrusion",
            "protrusion round each liner, its spread, and neighbours compared",
            _liner_protrusion,
            {
                "lowest": Trait("lowest protrusion", "protrusion", "too low", "too high"),
                "highest": Trait("highest protrusion", "protrusion", "too low", "too high"),
                "spread": Trait("spread on one liner", "spread"),
                "neighbours": Trait("step to its neighbour", "neighbours"),
            },
        ),
        Kind(
            "piston_protrusion",
            "mean of the readings on one piston",
            _piston_protrusion,
            {"protrusion": Trait("protrusion", "protrusion", "too low", "too high")},
        ),
        Kind(
            "compression",
            "pressure of each cylinder and the spread between them",
            _compression,
            {
                "pressure": Trait("pressure", "pressure", "too low", "too high"),
                "spread": Trait("spread between cylinders", "spread"),
            },
        ),
    )
}
