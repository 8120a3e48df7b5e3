"""Kinds of round surfaces by themselves: journals and bores."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Several, Text, as_typed, message
from ..engine.cautions import Nature
from ..measuring import form as shape
from .kind import Computed, Inputs, Kind, Trait, columns_of, unread

SIZE = {
    "size": Trait("size", "size"),  # where one reading is all there is, as of a piston's skirt
    "largest": Trait("largest", "size", short=message("size")),
    "smallest": Trait("smallest", "size", short=message("size")),
    "out_of_round": Trait("out of round", "out_of_round", from_zero=True),
    "taper": Trait("taper", "taper", from_zero=True),
}


def _form(inputs: Inputs) -> Iterator[Computed]:
    wanted = [column for column in inputs.columns if shape.is_size(column)]
    for position, columns in inputs.readings.items():
        sizes = shape.sizes(columns)
        if len(wanted) == len(sizes) == 1 and inputs.limited <= {"size"}:
            yield Computed(position, "size", next(iter(sizes.values())))
        elif sizes:
            yield from _size_and_form(inputs, position, sizes, wanted)


def _size_and_form(
    inputs: Inputs, position: str, sizes: shape.Readings, wanted: list[str]
) -> Iterator[Computed]:
    form, missing = shape.form(sizes), unread(wanted, sizes)
    note = NOTHING
    if missing:
        what = columns_of(missing.columns)
        words = message("{count} of {wanted} readings; missing {what}")
        note = Sentence(words, count=len(sizes), wanted=len(wanted), what=what)
    yield Computed(position, "largest", form.largest, missing.most, note=note)
    yield Computed(position, "smallest", form.smallest, missing.least, note=note)
    for name, value in (("out_of_round", form.out_of_round), ("taper", form.taper)):
        # nobody misses what the sheet neither limits nor has columns for
        if value is not None or missing or name in inputs.limited:
            yield Computed(position, name, value, missing.most, note=note)


def _asked(columns: tuple[str, ...], nature: Nature) -> Text:
    """Planes and directions as the columns name them, and what they cannot give."""
    sizes = [column for column in columns if shape.is_size(column)]
    named = [shape.plane_and_direction(column) for column in sizes]
    planes = dict.fromkeys(plane for plane, _ in named if plane)
    directions = dict.fromkeys(direction for _, direction in named if direction)
    asks: Text = Sentence("one reading of each")
    if len(sizes) > 1:
        words = message("{each}; where one is missing, the size is noted and nothing passes")
        asks = Sentence(words, each=_each_size(list(planes), list(directions)))
    beside = Several(as_typed(column) for column in columns if column not in sizes)
    return Sentence("{readings}; beside it {columns}", readings=asks, columns=beside) if beside else asks


def _each_size(planes: list[str], directions: list[str]) -> Text:
    across, along = Several(map(as_typed, directions)), Several(map(as_typed, planes))
    if len(planes) < 2:
        words = message("{count} directions ({directions}) in one plane, which give no taper")
        return Sentence(words, count=len(directions), directions=across)
    if len(directions) < 2:
        words = message("one in each of {count} planes ({planes}), which give no out-of-round")
        return Sentence(words, count=len(planes), planes=along)
    words = message("{planes} planes ({along}) by {directions} directions ({across})")
    many = {"planes": len(planes), "directions": len(directions)}
    grid = Sentence(words, along=along, across=across, **many)
    if "top" not in planes:
        return grid
    return Sentence("{grid}, the uppermost just below where the top ring turns", grid=grid)


_JOURNAL = Kind(
    "journal",
    "size, out-of-round and taper of a shaft; of one column (a skirt, a pin) its size alone",
    _form,
    SIZE,
    keys=frozenset({"undersizes", "cleanup_stock", "sets", "fillet"}),
    extra_columns=("score_depth", "fillet"),
    lone="size",
    asked=_asked,
    readings="two planes by two directions (`front_a front_b rear_a rear_b`), three planes where it is "
    "wide; fewer list a size and pass nothing. Directions alone (`a b`) are of one plane and give no "
    "taper, planes alone (`front rear`) no out-of-round",
    instruments=("outside",),
    formula="size: largest and smallest; out-of-round: largest difference within a plane; "
    "taper: largest difference along a direction",
    source="ISO 14405-1, two-point size; common practice",
    doubt="the permitted error of the micrometer acts on sizes; in out-of-round and taper it cancels",
    drawing="shaft",
)
KINDS = (
    _JOURNAL,
    replace(
        _JOURNAL,
        name="bore",
        says="size, out-of-round and taper of a bore; of one column its size alone",
        keys=frozenset({"oversizes", "cleanup_stock", "sets", "direction"}),
        extra_columns=("score_depth", "wall"),
        readings="a housing: two planes by three directions; a cylinder: three heights by two directions, "
        "the uppermost just below where the top ring turns",
        instruments=("bore",),
        doubt="a gauge set in a micrometer carries that one's error into every size; in out-of-round and "
        "taper it cancels, and the gauge's own acts by the span on its dial, taken as 1 mm long",
        drawing="bore",
    ),
)
