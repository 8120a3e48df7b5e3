"""Kinds of cylinders: pistons in bores, ring gaps, protrusion, compression."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from msgspec.structs import replace

from ...quantities import Figure, Sentence, Text, message, present
from ..engine import cylinders
from ..engine.cautions import Nature
from ..measuring import form as shape
from ..measuring.uncertainty import Measured, mean, propagate
from ..measuring.verdict import guard_band
from .bearing_kinds import CLEARANCE
from .kind import LEAVES, Computed, Given, Inputs, Kind, Trait, Unread, ends, unread

APART = Trait("spread between cylinders", "between", from_zero=True, optional=True, at="engine")


def _fit(inputs: Inputs) -> Iterator[Computed]:
    outer, inner = inputs.partners.get("outer", {}), inputs.partners.get("inner", {})
    direction = inputs.direction or "t"
    for position in inputs.positions or tuple(outer):
        bore, skirts = outer.get(position, {}), inner.get(position, {})
        each = [cylinders.piston_clearance(bore, skirt, direction) for skirt in skirts.values()]
        fits = [fit for fit in each if fit is not None]
        if not fits:
            continue
        # the bore's other direction says nothing of this clearance
        of_bore = inputs.partner_missing("outer", position).columns
        of_bore = tuple(one for one in of_bore if shape.plane_and_direction(one)[1] in (direction, ""))
        of_skirt = inputs.partner_missing("inner", position)
        missing = Unread(of_bore + of_skirt.columns)
        note = Sentence("bore not measured in full") if of_bore else of_skirt.note
        planes = {plane: (room.value, room.value) for plane, room in fits[0].planes.items()}
        low = shape.smallest([fit.smallest for fit in fits])
        high = shape.largest([fit.largest for fit in fits])
        yield Computed(position, "smallest_clearance", low, missing.least, note=note, planes=planes)
        yield Computed(position, "largest_clearance", high, missing.most, note=note, planes=planes)


def _ring_gap(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            filing = 0.0
            if least := inputs.least.get(column):
                guard = guard_band(value.u, inputs.guarded)
                filing = cylinders.ring_filing(value.value, least, inputs.aim_above, guard, inputs.step)
            yield Computed(position, column, value, filing=filing)


def _liner_protrusion(inputs: Inputs) -> Iterator[Computed]:
    means: dict[str, Measured] = {}
    for position in inputs.positions:
        if position in inputs.readings:
            yield from _heights(inputs, position, inputs.readings[position], means)
    for one, other in _neighbours(inputs):
        if one in means and other in means:
            step = shape.spread([means[one], means[other]])
            yield Computed(f"{one}-{other}", "neighbours", step, uses=(one, other))


def _heights(
    inputs: Inputs, position: str, heights: shape.Readings, means: dict[str, Measured]
) -> Iterator[Computed]:
    """The least and the greatest of the heights at one place, how far they lie apart; their mean if whole."""
    missing, values = inputs.missing(position), heights.values()
    if not missing:
        means[position] = mean(values)
    yield from ends(position, ("lowest", "highest"), (shape.smallest(values), shape.largest(values)), missing)
    if len(inputs.columns) > 1:  # one reading says nothing of a tilt
        yield Computed(position, "spread", shape.spread(values), missing.most, note=missing.note)


def _neighbours(inputs: Inputs) -> list[tuple[str, str]]:
    """Positions that lie beside each other: along each bank of a V or flat engine by itself."""
    numbered = {str(shape.number_of(position)): position for position in inputs.positions}
    rows = [[numbered[number] for number in bank if number in numbered] for bank in inputs.banks]
    if sum(map(len, rows)) != len(inputs.positions):
        rows = [list(inputs.positions)]
    return [pair for row in rows for pair in pairwise(row)]


def _crown(name: str) -> Callable[[Inputs], Iterator[Computed]]:
    """Where a piston's crown stands to the deck: the mean of what was read on it, and how the set differs."""

    def compute(inputs: Inputs) -> Iterator[Computed]:
        means: dict[str, Measured] = {}
        for position, columns, missing in inputs.each():
            if not missing:
                means[position] = mean(columns.values())
            # its highest point comes nearest to the head, its lowest leaves the room: the mean is neither
            low, high = shape.smallest(columns.values()), shape.largest(columns.values())
            yield Computed(position, name, means.get(position), note=missing.note, least=low, most=high)
        yield from _apart(inputs, means)

    return compute


def _apart(inputs: Inputs, means: dict[str, Measured]) -> Iterator[Computed]:
    """How far the means of all positions lie apart, where the sheet limits that."""
    if len(means) > 1 and "between" in inputs.limited:
        bound = unread(inputs.positions, means).most
        yield Computed("engine", "between", shape.spread(means.values()), bound, uses=tuple(means))


def _deck_height(inputs: Inputs) -> Iterator[Computed]:
    means: dict[str, Measured] = {}
    # read from the top of a bar in the main bores, under which the crank's axis is by half its diameter
    up = inputs.given.get("bar", 0.0) / 2.0
    for position, columns in inputs.readings.items():
        heights = {column: value.shifted(up) for column, value in columns.items()}
        yield from _heights(inputs, position, heights, means)
    yield from _apart(inputs, means)


WEAK = 75.0  # per cent of the highest: the lowest of a sound engine has at least as much (common practice)
# rise with oil, per cent of the dry reading (common practice, no source)
MARKED, HARDLY = 15.0, 5.0


def _asked_of_compression(columns: tuple[str, ...], nature: Nature) -> Text:
    words = message(
        "one for each cylinder, warm, all plugs or injectors out, throttle open where there is one"
    )
    if nature.diesel:
        words = message("one for each cylinder, warm, all injectors or all glow plugs out")
    elif nature.spark:
        words = message("one for each cylinder, warm, all spark plugs out, throttle open")
        if nature.cylinders == 1:
            words = message("one, warm, spark plug out, throttle open")
    if "wet" not in columns:
        return Sentence(words)
    wet = message("{how}; a second one with oil in the cylinder (`wet`) tells rings from valves")
    return Sentence(wet, how=Sentence(words))


def _compression(inputs: Inputs) -> Iterator[Computed]:
    pressures = {
        place: columns["pressure"] for place, columns in inputs.readings.items() if "pressure" in columns
    }
    for place, columns in inputs.readings.items():
        if "wet" in columns:
            yield Computed(place, "wet", columns["wet"])
    shares = cylinders.share_of_highest(pressures)
    # a cylinder that was not read may be the highest
    missing = unread(inputs.positions, pressures)
    for position, value in pressures.items():
        notes: list[Text] = []
        if shares.get(position, 100.0) < WEAK:
            notes.append(Sentence("{share} % of the highest", share=Figure(f"{shares[position]:.1f}")))
        wet = inputs.readings[position].get("wet")
        if wet is not None:
            notes.append(_with_oil(value.value, wet.value))
        yield Computed(position, "pressure", value, note=present(notes))
        if "share" in inputs.limited:
            highest = shape.largest(pressures.values())
            share = propagate(lambda here, most: 100.0 * here / most, value, highest)
            yield Computed(position, "share", share, missing.least, uses=tuple(pressures))
    if len(pressures) > 1:
        apart = shape.spread(pressures.values())
        yield Computed("engine", "spread", apart, missing.most, uses=tuple(pressures))


def _with_oil(dry: float, wet: float) -> Text:
    """What oil in the cylinder raised its compression by: a marked rise speaks for rings or bore."""
    gain = 100.0 * (wet - dry) / dry if dry > 0 else 0.0
    if gain >= MARKED:
        return Sentence("with oil {gain} % more: rings or bore", gain=f"{gain:.0f}")
    if gain < HARDLY:
        return Sentence("with oil {gain} % more, hardly any: valves or gasket", gain=f"{gain:.0f}")
    return Sentence("with oil {gain} % more", gain=f"{gain:.0f}")


def _ring_side(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        for name in _rings(inputs.columns):
            groove, ring = columns.get(f"{name}_groove"), columns.get(f"{name}_ring")
            if name in columns:
                yield Computed(position, name, columns[name])
            elif groove is not None and ring is not None:
                yield Computed(position, name, groove - ring)


def _rings(columns: tuple[str, ...]) -> tuple[str, ...]:
    """Rings that columns read: by feeler (top) or as groove and ring (top_groove top_ring)."""
    return tuple(dict.fromkeys(c.removesuffix("_groove").removesuffix("_ring") for c in columns))


_PROTRUSION = Kind(
    "piston_protrusion",
    "mean of the readings on one piston, above the deck",
    _crown("protrusion"),
    {"protrusion": Trait("protrusion", "protrusion", "too low", "too high", short=""), "between": APART},
    readings="two on the line of the pin, front and rear, at top dead centre",
    instruments=("travel",),
    formula="the mean of the readings; largest less smallest of the pistons' means",
    doubt="repeatability averages over the readings, the dial's permitted error does not",
    drawing="height",
    fitted=True,
    together=True,
)
KINDS = (
    Kind(
        "fit",
        "`outer:` less `inner:` (bores less skirts) in the thrust direction, which is `t` unless "
        "`direction:` says otherwise",
        _fit,
        CLEARANCE,
        partners=("outer", "inner"),
        needs_columns=False,
        keys=frozenset({"direction"}),
        readings="those of its two partners",
        formula="bore in the thrust direction less the skirt, smallest and largest over the stroke",
        doubt="an error that bore and skirt share through one micrometer cancels",
        drawing="fit",
        fitted=True,
    ),
    Kind(
        "ring_gap",
        "each ring's gap, and what to file",
        _ring_gap,
        {},
        column_trait=Trait("ring", ""),
        keys=frozenset({"aim_above_minimum", "bores", "sets"}),
        of_surface=False,
        readings="one for each ring, square in the least worn part of its own bore",
        instruments=("gap",),
        formula="the gap itself; to file: least gap and a margin, less the gap",
        doubt=LEAVES,
        drawing="ring",
        fitted=True,
    ),
    Kind(
        "ring_side",
        "side clearance of each ring in its groove, by feeler or as groove less ring",
        _ring_side,
        {},
        named=_rings,
        column_trait=Trait("ring", "", "too tight", "too large"),
        of_surface=False,
        readings="one for each ring, all round, groove clean: by feeler (`top`), or `top_groove top_ring`",
        instruments=("gap", "outside"),
        formula="the gap itself, or groove width less ring width",
        doubt="by feeler anywhere from the leaf that goes in to the next one; from groove and ring, those of "
        "both instruments",
        drawing="ring",
    ),
    Kind(
        "liner_protrusion",
        "height above the deck, its spread, neighbours compared",
        _liner_protrusion,
        {
            "lowest": Trait("lowest protrusion", "protrusion", "too low", "too high", short=""),
            "highest": Trait("highest protrusion", "protrusion", "too low", "too high", short=""),
            "spread": Trait("spread on one liner", "spread", from_zero=True, optional=True),
            "neighbours": Trait("step to its neighbour", "neighbours", from_zero=True, optional=True),
        },
        readings="four round each liner, clamped",
        instruments=("travel",),
        formula="lowest, highest and spread of each; difference of the means of neighbours",
        source="common practice: the mean for neighbours, the spread for a tilted seat",
        doubt="the dial's permitted error acts on the height; in spread and steps it cancels but for their "
        "span",
        drawing="height",
        fitted=True,
    ),
    _PROTRUSION,
    replace(
        _PROTRUSION,
        name="deck_clearance",
        says="mean of the readings on one piston that stays below the deck, counted downwards",
        compute=_crown("depth"),
        traits={
            "depth": Trait("depth below the deck", "depth", "too proud", "too deep", short=""),
            "between": APART,
        },
        readings="two on the line of the pin, front and rear, at top dead centre; a crown that stands proud "
        "is negative",
        instruments=("travel", "depth"),
    ),
    Kind(
        "deck_height",
        "height of the deck over the crank's axis, of a bore, a bank or the block, and how parallel it is",
        _deck_height,
        {
            "lowest": Trait("lowest deck height", "height", "too low", "too high", short=""),
            "highest": Trait("highest deck height", "height", "too low", "too high", short=""),
            "spread": Trait("out of parallel", "spread", from_zero=True, optional=True),
            "between": Trait(
                "difference between places", "between", from_zero=True, optional=True, at="engine"
            ),
        },
        given={
            "bar": Given(
                message("diameter of the bar in the main bores from whose top it was read"),
                needed=False,
                at_bench=True,
            )
        },
        reads="height",
        readings="both ends and both sides of each (`front rear`, or one row for each cylinder), caps "
        "torqued, from the crank's axis or from the top of the bar that the sheet names",
        instruments=("outside", "depth", "travel"),
        formula="the reading, and half the bar where it was read from its top; spread: largest less smallest "
        "of one row; between: largest less smallest of the rows' means",
        doubt="the instrument's permitted error acts on the height; in spread and difference it cancels but "
        "for their span; the bar is taken as exact",
        drawing="deck",
    ),
    Kind(
        "compression",
        "each cylinder's pressure, and the spread between them",
        _compression,
        {
            "pressure": Trait("pressure", "pressure", "too low", "too high", short="", falls=True),
            "share": Trait(
                "share of the highest", "share", "too low", unit="percent", optional=True, falls=True
            ),
            "wet": Trait(
                "pressure with oil", "wet", "too low", "too high", optional=True, column="wet", falls=True
            ),
            "spread": Trait("spread between cylinders", "spread", from_zero=True, optional=True, at="engine"),
        },
        extra_columns=("wet",),
        asked=_asked_of_compression,
        of_surface=False,
        knows=("pressure", "wet"),
        readings="one for each cylinder, warm, all plugs or injectors out, throttle open where there is one; "
        "a second one with oil in the cylinder (`wet`) tells rings from valves",
        instruments=("pressure",),
        formula="the pressure itself; spread: highest less lowest; share of the highest",
        doubt="the gauge's permitted error acts on the pressure, and between cylinders by the span that lies "
        "between them",
        drawing="gauge",
        whole=True,
    ),
)
