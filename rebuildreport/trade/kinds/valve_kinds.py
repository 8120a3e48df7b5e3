"""Kinds of the valve train."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ...quantities import NOTHING, Figure, Measure, Sentence, Several, Text, message
from ..engine import valve_train
from ..engine.cautions import Nature
from ..measuring import form as shape
from ..measuring.uncertainty import swing
from .kind import Computed, Given, Inputs, Kind, Trait, each_column

THINNEST = 0.005  # mm of washer: less than that reads as none


def _guide(inputs: Inputs) -> Iterator[Computed]:
    for position, columns, missing in inputs.each():
        bores = [v for c, v in columns.items() if c.startswith("guide")]
        stems = [v for c, v in columns.items() if c.startswith("stem")]
        if bores and stems:
            room = shape.largest(bores) - shape.smallest(stems)
            # the valve slides: its thickest place comes to where the guide is narrowest
            tightest = shape.smallest(bores) - shape.largest(stems)
            yield Computed(position, "clearance", room, missing.most, note=missing.note, least=tightest)


def _asked_of_guide(columns: tuple[str, ...], nature: Nature) -> Text:
    return Sentence("guide and stem where the boxes say: the widest and the thinnest are what counts")


def _asked_of_clearance(columns: tuple[str, ...], nature: Nature) -> Text:
    """Where no shim is read there is a screw to be turned, and no cap."""
    if "shim" in columns:
        return Sentence(
            "one for each valve, cold, cam on its base circle, caps torqued, and the shim fitted, measured; "
            "`none` or 0 is less than any: a thinner shim on trial, and read again"
        )
    return Sentence(
        "one for each valve, cold, cam on its base circle; `none` or 0 is less than any: open it on trial, "
        "and read again"
    )


def _lobe(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        if "height" in columns:
            yield Computed(position, "height", columns["height"])
        if {"height", "base"} <= set(columns):
            yield Computed(position, "lift", valve_train.lift(columns["height"], columns["base"]))
        elif "lift" in columns:
            yield Computed(position, "lift", columns["lift"])


def _seat(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            yield Computed(position, column, swing(value) if column == "runout" else value)


def _installed(inputs: Inputs) -> Iterator[Computed]:
    wanted = inputs.given.get("wanted")
    for position, columns in inputs.readings.items():
        if "height" not in columns:
            continue
        height = columns["height"]
        # seat and valve work sink the valve, and lengthen the spring
        shim = height.value - wanted if wanted is not None else 0.0
        note = NOTHING
        if shim > THINNEST:
            note = Sentence(
                "{shim} under the spring brings it to {wanted}",
                shim=Measure(shim, "mm", 2),
                wanted=Figure(f"{wanted:g}"),
            )
        yield Computed(position, "height", height, note=note)


def _spring_load(inputs: Inputs) -> Iterator[Computed]:
    given = inputs.given
    installed = inputs.partners.get("installed", {})
    for position, columns in inputs.readings.items():
        for name in ("closed", "open"):
            if name in columns:
                yield Computed(position, name, columns[name])
        if not {"closed", "open"} <= set(columns) or not {"closed_length", "open_length"} <= set(given):
            continue
        if given["closed_length"] == given["open_length"]:
            continue
        stiff = valve_train.rate(
            columns["closed"], columns["open"], given["closed_length"], given["open_length"]
        )
        yield Computed(position, "rate", stiff)
        height = installed.get(position, {}).get("height")
        if height is None:
            continue
        seated = valve_train.load_at(height, columns["closed"], given["closed_length"], stiff)
        yield Computed(position, "seated", seated, basis=Sentence("at its installed height"))
        if {"lift", "bind_length"} <= set(given):
            room = height.shifted(-given["lift"] - given["bind_length"])
            basis = Sentence("installed height less lift and bound length")
            yield Computed(position, "reserve", room, basis=basis)


def _valve_clearance(inputs: Inputs) -> Iterator[Computed]:
    stocked = _stocked(inputs.given)
    for position, columns in inputs.readings.items():
        lash, shim = columns.get("lash"), columns.get("shim")
        if lash is None:
            continue
        yield Computed(position, "lash", lash)
        if shim is not None and not lash.below:  # less than a leaf: how much less, nobody knows
            zero = valve_train.zero_shim(shim, lash)
            yield Computed(position, "zero_shim", zero, note=_shims(inputs, zero.value, stocked))


def _stocked(given: Mapping[str, float]) -> list[float]:
    """Thicknesses of the shims that are stocked; none where the sheet does not say."""
    if not {"shim_least", "shim_most", "shim_step"} <= set(given) or given["shim_step"] <= 0:
        return []
    count = round((given["shim_most"] - given["shim_least"]) / given["shim_step"])
    # no drawer has more of them: a slip in the step must not fill pages
    return [round(given["shim_least"] + i * given["shim_step"], 6) for i in range(min(count, 400) + 1)]


def _shims(inputs: Inputs, zero: float, stocked: list[float]) -> Text:
    """Which of the stocked shims leave a clearance inside the limits."""
    low, high = inputs.least.get("lash"), inputs.most.get("lash")
    if not stocked or not (low or high):
        return NOTHING
    fits = valve_train.shims_that_fit(zero, low, high, stocked)
    if not fits:
        return Sentence("no stocked shim leaves a clearance inside the limits")
    each = [
        Sentence("{shim} (leaves {clearance})", shim=Figure(f"{size:.2f}"), clearance=Figure(f"{left:.2f}"))
        for size, left in fits
    ]
    return Sentence("fits: {shims}", shims=Several(each))


KINDS = (
    Kind(
        "guide",
        "guide at its widest less stem at its thinnest",
        _guide,
        {"clearance": Trait("clearance", "clearance", "too tight", short="")},
        asked=_asked_of_guide,
        readings="the bore at three depths and the stem at three heights, each in two directions: the widest "
        "and the thinnest are what counts",
        instruments=("outside", "bore"),
        formula="the largest guide reading less the smallest stem reading",
        doubt="both read in one micrometer: its permitted error cancels; what takes a guide's size there "
        "scatters by 0.005 mm, unless the table names it",
        drawing="guide",
    ),
    Kind(
        "valve_seat",
        "runout, width, margin and recession of valve and seat, each against its own limit",
        _seat,
        {
            "runout": Trait("seat runout", "runout", from_zero=True),
            "width": Trait("seat width", "width", "too narrow", "too wide"),
            "margin": Trait("margin", "margin", "too thin", "too thick", falls=True),
            "recession": Trait("recession", "recession", "too proud", "too deep"),
        },
        readings="runout: largest less smallest of one turn, the pilot in the guide; width and margin at "
        "their worst place; recession below the face",
        instruments=("travel", "depth", "outside"),
        doubt="a runout has two ends on one indicator, whose permitted error acts by the way between them; "
        "the others carry it",
        drawing="valve",
    ),
    Kind(
        "installed_height",
        "height of the spring as fitted, and the washer that brings it back",
        _installed,
        {"height": Trait("installed height", "height", "too short", "too long", short="")},
        given={"wanted": Given("installed height wanted", needed=False)},
        knows=("height",),
        readings="one for each valve, from seat to retainer, valve pulled home",
        instruments=("outside", "depth"),
        formula="the height itself; washer: height less height wanted",
        doubt="the caliper's permitted error",
        drawing="spring",
    ),
    Kind(
        "spring_length",
        "free length and squareness of a spring",
        each_column,
        {
            "free": Trait("free length", "free", "too short", "too long", short=message("free length")),
            "squareness": Trait(
                "out of square", "squareness", from_zero=True, optional=True, column="squareness"
            ),
        },
        readings="free length once; squareness: the widest gap at the top beside a square, the spring "
        "turned round",
        instruments=("outside", "gap"),
        source="common practice; EN 13906-1 for terms",
        drawing="spring",
    ),
    Kind(
        "spring_load",
        "load at closed and open length, rate, and the load at the height where it is really fitted",
        _spring_load,
        {
            "closed": Trait("load closed", "closed", "too weak", "too strong", falls=True),
            "open": Trait("load open", "open", "too weak", "too strong", falls=True),
            "rate": Trait("rate", "rate", "too soft", "too stiff", unit="N/mm", optional=True),
            "seated": Trait("load as fitted", "seated", "too weak", "too strong", optional=True, falls=True),
            "reserve": Trait(
                "room before it binds", "reserve", "too little", unit="mm", optional=True, falls=True
            ),
        },
        optional_partners=("installed",),
        given={
            "closed_length": Given(message("length at which the valve is closed"), at_bench=True),
            "open_length": Given(message("length at which it is open"), needed=False, at_bench=True),
            "lift": Given("lift of the valve", needed=False),
            "bind_length": Given("length with all coils touching", needed=False),
        },
        knows=("closed", "open"),
        readings="one at each length, after pressing it flat once; eyes guarded",
        instruments=("load",),
        formula="rate: (open − closed)/(closed length − open length); as fitted: closed load + rate·(closed "
        "length − installed height); room: installed height − lift − bound length",
        source="Hooke's law (EN 13906-1); common practice",
        doubt="the tester's permitted error acts on loads, and over the span between two of them on the rate",
        drawing="spring",
    ),
    Kind(
        "valve_clearance",
        "clearance of each valve; with the shim fitted, the shims that would do",
        _valve_clearance,
        {
            "lash": Trait("clearance", "lash", "too tight", "too large", short=""),
            "zero_shim": Trait("shim for no clearance", "zero_shim", optional=True),
        },
        extra_columns=("shim",),
        given={
            "shim_least": Given("thinnest shim stocked", needed=False),
            "shim_most": Given("thickest shim stocked", needed=False),
            "shim_step": Given("step between them", needed=False),
        },
        of_surface=False,
        knows=("lash", "shim"),
        readings="one for each valve, cold, cam on its base circle, caps torqued; `none` or 0 is less than "
        "any: on trial a thinner shim, or the screw turned back, and read again; beside it the shim fitted, "
        "measured (`shim`)",
        asked=_asked_of_clearance,
        instruments=("gap",),
        formula="shim for no clearance: shim fitted + clearance; a shim does where what it leaves is "
        "inside the limits",
        doubt="the clearance lies anywhere from the leaf that goes in to the next one; the permitted errors "
        "of leaf and micrometer, each once",
        drawing="clearance",
        fitted=True,
        together=True,
    ),
    Kind(
        "lobe",
        "height of each cam lobe, and its lift where the base circle was read",
        _lobe,
        {
            "height": Trait("lobe height", "height", "worn too far", "too high"),
            "lift": Trait("lift", "lift", "worn too far", "too high", optional=True, column="base"),
        },
        extra_columns=("base", "lift"),
        knows=("height", "base", "lift"),
        readings="over the nose, and across the base circle square to it (`height base`), where it is widest",
        instruments=("outside", "travel"),
        formula="lift: height less base circle diameter",
        doubt="one micrometer reads both, but far apart on its scale: the lift carries its permitted error "
        "once, like a reading from zero",
        drawing="lobe",
    ),
)
