"""Kinds of what decides how an engine runs and lasts: timing, room in the cylinder, surfaces, bolts, oil."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Measure, Sentence, Text, message
from ..engine.crank import Wheel
from ..measuring.form import largest, smallest, spread
from ..measuring.uncertainty import swing
from .kind import Computed, Given, Inputs, Kind, Readings, Trait, each_column, unread


def _timing(inputs: Inputs) -> Iterator[Computed]:
    from ..running.cam_timing import LobeTiming  # which needs numpy: not to be loaded for a mere list

    for position, columns in inputs.readings.items():
        if {"opens", "closes"} <= set(columns):
            lobe = LobeTiming(columns["opens"], columns["closes"])
            basis = Sentence("equal lift of {lift}", lift=Measure(inputs.given["at_lift"], "mm", 2))
            yield Computed(position, "centre", lobe.centre, basis=basis)
            yield Computed(position, "duration", lobe.duration, basis=basis)


def _nearest(inputs: Inputs) -> Iterator[Computed]:
    for position, columns, missing in inputs.each():
        least, most = smallest(columns.values()), largest(columns.values())
        yield Computed(position, "gap", least, missing.least, note=missing.note, most=most, direct=True)


def _squish(inputs: Inputs) -> Iterator[Computed]:
    yield from _nearest(inputs)
    gasket, crown = inputs.given.get("gasket_thickness"), inputs.given.get("crown", 0.0)
    for key, sign in (("depth", 1.0), ("protrusion", -1.0)):
        for position, columns in inputs.partners.get(key, {}).items():
            if gasket is None or not columns:
                continue
            missing = inputs.partner_missing(key, position)
            rooms = [value.scaled(sign).shifted(gasket - crown) for value in columns.values()]
            basis, low, high = Sentence("deck and gasket"), smallest(rooms), largest(rooms)
            yield Computed(position, "predicted", low, missing.least, basis, missing.note, most=high)


def _damper(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        for column, value in columns.items():
            if column in ("slip", "runout", "hardness"):
                read = {"slip": value.size, "runout": swing(value)}.get(column, value)
                yield Computed(position, column, read)


def _unbalance(inputs: Inputs) -> Iterator[Computed]:
    from ..running.balance import correction

    read = {position: of for position, of in inputs.readings.items() if {"at_0", "at_90"} <= set(of)}
    corrected = _in_planes(inputs, read) or read
    for position, columns in read.items():
        heavy, _ = correction(columns["at_0"], columns["at_90"])
        x, y = (corrected[position][column] for column in ("at_0", "at_90"))
        off, angle = correction(x, y)
        words = message("take off as much at {angle} from the mark, as the shaft turns, or add it across")
        if inputs.corrected_at:
            words = message(
                "in the plane of correction take off {mass} at {angle} from the mark, as the shaft turns, or "
                "add it across"
            )
        note: Text = Sentence(words, mass=Measure(off.value, "g", 1), angle=Measure(angle, "deg", 0))
        if inputs.corrected_at and corrected is read:  # what is to come off there depends on both planes
            note = unread(inputs.positions, read).note
        wheel = Wheel((), (x.value, y.value))
        yield Computed(position, "heavy", heavy, note=note, wheel=wheel)


def _in_planes(inputs: Inputs, read: Readings) -> Readings:
    """The same in the planes of correction; nothing where they are those that were read, or one was not."""
    from ..running.balance import in_planes

    places = inputs.stations, inputs.corrected_at
    if len(inputs.positions) != 2 or not all(places) or not {*inputs.positions} <= {*read}:
        return {}
    front, rear = (read[position] for position in inputs.positions)
    moved = {column: in_planes((front[column], rear[column]), *places) for column in ("at_0", "at_90")}
    return {
        position: {column: parts[at] for column, parts in moved.items()}
        for at, position in enumerate(inputs.positions)
    }


def _thrust(inputs: Inputs) -> Iterator[Computed]:
    for position, columns, missing in inputs.each():
        least, most = smallest(columns.values()), largest(columns.values())
        yield Computed(position, "thickness", least, missing.least, note=missing.note, most=most)
        if len(columns) > 1:
            yield Computed(position, "uneven", spread(columns.values()), missing.most, note=missing.note)


def _bolt_set(inputs: Inputs) -> Iterator[Computed]:
    for position, columns in inputs.readings.items():
        if {"before", "after"} <= set(columns):
            yield Computed(position, "set", columns["after"] - columns["before"])
        elif "after" in columns:
            yield Computed(position, "set", None, note=unread(("before",), columns).note)


def _rough(inputs: Inputs) -> Iterator[Computed]:
    return (one for one in each_column(inputs) if one.name in ROUGHNESS)


ROUGHNESS = message({"ra": "Ra", "rz": "Rz", "rpk": "Rpk", "rk": "Rk", "rvk": "Rvk"})
_GAP = Trait("smallest gap", "gap", "too near", "too wide", short="")

KINDS = (
    Kind(
        "cam_timing",
        "valve timing by degree wheel: where a lobe is highest and how long its valve is open beyond a lift",
        _timing,
        {
            "centre": Trait("centre of the lobe", "centre", "too early", "too late", unit="deg"),
            "duration": Trait("duration", "duration", "too short", "too long", unit="deg"),
        },
        given={"at_lift": Given("the lift at which both angles are read", at_bench=True)},
        knows=("opens", "closes"),
        readings="the crank angles at which the valve passes the stated lift, `opens` and `closes`, both "
        "turned in the running direction; 0 is the upper dead centre between exhaust and intake, before "
        "it is negative",
        instruments=("angle",),
        formula="centre: the mean of both angles; duration: their difference",
        source="equal-lift method, common practice; right where both flanks of a lobe are alike",
        doubt="the wheel's permitted error acts on both angles alike and so on the centre; in the duration "
        "it cancels but for its span",
        drawing="wheel",
        of_surface=False,
    ),
    Kind(
        "cam_lift",
        "how far a valve is open, read point by point over the crank's turn",
        each_column,
        {},
        knows=tuple(f"at_{angle}" for angle in range(-90, 91)),
        readings="the lift at each angle of the wheel, a column each (`at_-40` to `at_40` and between), "
        "turned in the running direction; 0 is the upper dead centre between exhaust and intake, before it "
        "is negative; the lash as it will be",
        instruments=("travel",),
        formula="the reading itself; between two of them a straight line",
        source="common practice; on the flank, where valves come near pistons, a straight line lies on the "
        "safe side",
        doubt="that of the reading; half a degree of the wheel is some hundredths of lift there",
        drawing="wheel",
        of_surface=False,
    ),
    Kind(
        "valve_to_piston",
        "the nearest that a valve comes to its piston, read with clay or a dial",
        _nearest,
        {"gap": _GAP},
        readings="the thinnest place of the clay, or what the dial shows from the valve to the piston, at "
        "several crank angles about the upper dead centre; the lash as it will be",
        instruments=("outside", "depth", "travel"),
        formula="the smallest of the readings",
        doubt="that of one reading: the smallest is one, and not a mean; the gasket's springing back is not "
        "known",
        drawing="height",
        of_surface=False,
    ),
    Kind(
        "squish",
        "from the piston's flat to the head at the upper dead centre, read with soft wire or from deck and "
        "gasket",
        _squish,
        {
            "gap": _GAP,
            "predicted": Trait("smallest gap, from deck and gasket", "gap", "too near", "too wide"),
        },
        optional_partners=("depth", "protrusion"),
        given={
            "gasket_thickness": Given("thickness of the gasket, pressed", needed=False),
            "crown": Given("how far the flat stands above the rim that the deck was read on", needed=False),
        },
        needs_columns=False,
        readings="wire as thick as twice the gap, squeezed at two or more places beside the pin's axis; or "
        "none, with `depth:` or `protrusion:` and the gasket",
        instruments=("outside",),
        formula="the smallest of the readings; predicted: deck + gasket − crown",
        doubt="the wire springs back by some hundredths; of the prediction that of its deck, the gasket "
        "taken as exact",
        drawing="height",
        of_surface=False,
    ),
    Kind(
        "roughness",
        "roughness of a surface: Ra and Rz, and of a honed bore its peaks, core and valleys",
        _rough,
        {
            name: Trait(title, name, "too smooth", "too rough", small=True, optional=True, column=name)
            for name, title in ROUGHNESS.items()
        },
        knows=tuple(ROUGHNESS),
        readings="one of each column, along the axis, over five sampling lengths",
        instruments=("roughness",),
        source="ISO 21920-2, Ra and Rz of the profile, Rpk, Rk and Rvk of its material ratio curve (from "
        "memory)",
        doubt="that of the reading: one trace is one place",
        drawing="part",
    ),
    Kind(
        "damper",
        "whether a damper's ring has slipped on its hub, and how it runs",
        _damper,
        {
            "slip": Trait("slip of the ring", "slip", high="slipped", from_zero=True),
            "runout": Trait("runout", "runout", from_zero=True, optional=True, column="runout"),
            "hardness": Trait(
                "hardness of its rubber", "hardness", "too soft", "too hard", optional=True, column="hardness"
            ),
        },
        knows=("slip", "runout", "hardness"),
        readings="how far the mark on the ring stands from the mark on the hub, along the ring; the runout "
        "of its face over one turn; in a feature of its own, with `unit: ShA`, the `hardness` of its rubber",
        instruments=("outside", "travel", "hardness"),
        formula="the reading itself, slip without its sign",
        source="common practice; hardness by ISO 48-4 (from memory)",
        doubt="that of the reading",
        drawing="indicator",
    ),
    Kind(
        "thrust_washer",
        "what thrust washers or flanges of a main bearing have worn by, and whether to one side",
        _thrust,
        {
            "thickness": Trait("smallest thickness", "thickness", "too thin", "too thick"),
            "uneven": Trait("worn to one side", "uneven", from_zero=True),
        },
        readings="the thickness of each washer, front and rear, or of each half, at two or more places round "
        "it; what the crank moves between them is a feature of kind `end_float`",
        instruments=("outside", "wall"),
        formula="thickness: the smallest of the readings; worn to one side: largest less smallest",
        doubt="of the thickness that of one reading; in the difference the permitted error cancels",
        drawing="part",
    ),
    Kind(
        "unbalance",
        "what a crankshaft or flywheel is out of balance by in a plane, and where to take it off",
        _unbalance,
        {"heavy": Trait("too heavy by", "heavy", from_zero=True)},
        given={
            "stations": Given(
                "where each plane that is read lies along the shaft",
                needed=False,
                needed_by="corrected_at",
                many=True,
            ),
            "corrected_at": Given(
                "of two planes: where each is corrected, where not in the plane that is read",
                needed=False,
                many=True,
            ),
        },
        knows=("at_0", "at_90"),
        readings="for each plane what the balancing machine shows at the mark (`at_0`) and a quarter turn on "
        "as the shaft turns (`at_90`), as mass at the radius where it is corrected; negative where the other "
        "side is heavy",
        instruments=("mass",),
        formula="heavy: the root of both squares' sum; its place: the angle whose tangent is at_90/at_0; in "
        "other planes the same force and the same moment",
        source="definition of unbalance, ISO 21940-2 (from memory); one plane or two, as it was read",
        doubt="that of both readings",
        drawing="indicator",
        alike=False,
        of_surface=False,
    ),
    Kind(
        "bolt_set",
        "what a bolt has stayed longer: its free length before and after it was tightened",
        _bolt_set,
        {"set": Trait("stayed longer", "set", high="stretched", from_zero=True)},
        knows=("before", "after"),
        readings="the free length over both ends, new (`before`) and let go again (`after`), at one "
        "temperature",
        instruments=("outside",),
        formula="after − before",
        doubt="one micrometer reads both at one place of its scale, so its permitted error cancels",
        drawing="part",
    ),
    Kind(
        "oil_analysis",
        "what a laboratory found in the oil, each against its own limit",
        each_column,
        {},
        column_trait=Trait("", "", "too little", "too much"),
        readings="one of each, from warm oil drawn in mid-stream: `iron copper lead tin silicon sodium "
        "particles` in mg/kg, `fuel water` in percent",
        formula="the laboratory's value",
        source="common practice; limits are the laboratory's or the maker's, and trends tell more",
        doubt="what the laboratory states, else the digits of its sheet",
        drawing="part",
        alike=False,
        of_surface=False,
    ),
)
