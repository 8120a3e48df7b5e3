"""Kinds of round surfaces by themselves: journals and bores."""

from __future__ import annotations

from ...quantities import Sentence
from ..measuring import form as shape
from ..measuring.verdict import Bound
from .kind import Computed, Inputs, Kind, Trait, columns_of

SIZE = {
    "size": Trait("size", "size"),  # where one reading is all there is, as of a piston's skirt
    "largest": Trait("largest", "size", short="size"),
    "smallest": Trait("smallest", "size", short="size"),
    "out_of_round": Trait("out of round", "out_of_round", from_zero=True),
    "taper": Trait("taper", "taper", from_zero=True),
}


def _form(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    wanted = [c for c in inputs.columns if shape.is_size(c)]
    for position, columns in inputs.readings.items():
        sizes = shape.sizes(columns)
        if not sizes:
            continue
        missing = [column for column in wanted if column not in sizes]
        if len(wanted) == 1 and inputs.limited <= {"size"} and len(sizes) == 1:
            found.append(Computed(position, "size", next(iter(sizes.values()))))
            continue
        one = shape.form(sizes)
        words, note = "{count} of {wanted} readings; missing {what}", ""
        if missing:
            note = Sentence(words, count=len(sizes), wanted=len(wanted), what=columns_of(missing))
        whole: Bound = "equal"
        more: Bound = "at least" if missing else whole
        less: Bound = "at most" if missing else whole
        found += [
            Computed(position, "largest", one.largest, more, note=note),
            Computed(position, "smallest", one.smallest, less, note=note),
        ]
        for name, value in (("out_of_round", one.out_of_round), ("taper", one.taper)):
            # nobody misses what the sheet neither limits nor has columns for
            if value is not None or missing or name in inputs.limited:
                found.append(Computed(position, name, value, more, note=note))
    return found


def _asked(columns: tuple[str, ...]) -> str:
    """Planes and directions as the columns name them, and what they cannot give."""
    sizes = [column for column in columns if shape.is_size(column)]
    split = [shape.plane_and_direction(column) for column in sizes]
    planes = list(dict.fromkeys(plane.replace("_", " ") for plane, _ in split if plane))
    ways = list(dict.fromkeys(way for _, way in split if way))
    fewer = "where one is missing, the size is noted and nothing passes"
    if len(sizes) < 2:
        asks = "one reading of each"
    elif len(planes) < 2:
        asks = f"{len(ways)} directions ({', '.join(ways)}) in one plane, which give no taper; {fewer}"
    elif len(ways) < 2:
        asks = (
            f"one in each of {len(planes)} planes ({', '.join(planes)}), which give no out-of-round; {fewer}"
        )
    else:
        asks = f"{len(planes)} planes ({', '.join(planes)}) by {len(ways)} directions ({', '.join(ways)})"
        if "top" in planes:
            asks += ", the uppermost just below where the top ring turns"
        asks += f"; {fewer}"
    beside = [column.replace("_", " ") for column in columns if column not in sizes]
    return f"{asks}; beside it {', '.join(beside)}" if beside else asks


KINDS = (
    Kind(
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
    ),
    Kind(
        "bore",
        "size, out-of-round and taper of a bore; of one column its size alone",
        _form,
        SIZE,
        keys=frozenset({"oversizes", "cleanup_stock", "sets", "direction"}),
        extra_columns=("score_depth", "wall"),
        lone="size",
        asked=_asked,
        readings="a housing: two planes by three directions; a cylinder: three heights by two directions, "
        "the uppermost just below where the top ring turns",
        instruments=("bore",),
        formula="size: largest and smallest; out-of-round: largest difference within a plane; "
        "taper: largest difference along a direction",
        source="ISO 14405-1, two-point size; common practice",
        doubt="a gauge set in a micrometer carries that one's error into every size; in out-of-round and "
        "taper it cancels, and the gauge's own acts by the span on its dial, taken as 1 mm long",
        drawing="bore",
    ),
)
