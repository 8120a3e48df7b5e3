"""Kinds of shafts and the line they run in: runout and bend, main bore alignment."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from msgspec.structs import replace

from ...quantities import Measure, Sentence, Several, Text, as_typed
from ..engine import crank
from ..measuring import fitting
from ..measuring.form import angle_of, largest
from ..measuring.uncertainty import Measured, swing
from .kind import Computed, Given, Inputs, Kind, Trait, Unread, unread

STATIONS = "where each position stands along the axis, as in 0 95 190 285 mm"
EVEN = Sentence("taken as evenly spaced: how far apart they are is not on the sheet")
SPACING = 100.0  # mm between neighbours where the sheet does not say: only its evenness matters


def _runout(inputs: Inputs) -> Iterator[Computed]:
    turned: dict[str, crank.Turned] = {}
    for position in inputs.positions:
        columns = inputs.readings.get(position, {})
        named = ((angle_of(name), value) for name, value in columns.items())
        dial = {angle: value for angle, value in named if angle is not None}
        if "tir" in columns:
            yield from _by_total(inputs, position, swing(columns["tir"]))
        elif 0 < len(dial) < 3:
            wanted = len(inputs.columns)
            few = Sentence("{count} of {wanted} angles; three are the least", count=len(dial), wanted=wanted)
            yield Computed(position, "runout", None, note=few)
            yield Computed(position, "bend", None, note=few)
        elif dial:
            journal = turned[position] = crank.turned(dial)
            bound, note = inputs.missing(position).most, inputs.missing(position).note
            read = tuple((angle, value.value) for angle, value in dial.items())
            wheel = crank.Wheel(read, (journal.across.value, journal.up.value))
            yield Computed(position, "runout", journal.runout, bound, note=note, wheel=wheel)
            if journal.out_of_round is not None:
                yield Computed(position, "out_of_round", journal.out_of_round, bound, note=note)
    yield from _bend(inputs, turned)


def _by_total(inputs: Inputs, position: str, total: Measured) -> Iterator[Computed]:
    yield Computed(position, "runout", total)
    if "bend" in inputs.limited:
        note = Sentence("half the runout: what is out-of-round in it was not taken out")
        yield Computed(position, "bend", total.scaled(0.5), note=note)


def _bend(inputs: Inputs, turned: Mapping[str, crank.Turned]) -> list[Computed]:
    places = list(turned)
    if len(places) == 1:  # turned between centres: its own eccentricity
        journal = turned[places[0]]
        bound = inputs.missing(places[0]).most
        return [Computed(places[0], "bend", journal.eccentricity, bound, note=_where(journal))]
    first = int(inputs.given.get("first_support", 1)) - 1
    last = int(inputs.given.get("last_support", len(inputs.positions))) - 1
    wanted = [inputs.positions[i] for i in (first, last) if 0 <= i < len(inputs.positions)]
    note: Text
    if len(wanted) < 2 or unread(wanted, turned):
        note = Sentence("needs the readings of the supports, {which}", which=Several(wanted, last="and"))
        return [Computed(place, "bend", None, note=note) for place in places]
    supports = (places.index(wanted[0]), places.index(wanted[1]))
    if supports[0] == supports[1] or len(places) != len(inputs.positions):
        note = Sentence("needs the readings of every journal")
        return [Computed(place, "bend", None, note=note) for place in places]
    stations = inputs.stations if len(inputs.stations) == len(places) else ()
    partly = {place: inputs.missing(place).columns for place in places}
    bends = crank.bends(list(turned.values()), supports, stations)
    worst = bends.index(largest(bends))
    found = []
    for place, bend in zip(places, bends, strict=True):
        rests_on = Unread(tuple(column for at in {place, *wanted} for column in partly[at]))
        found.append(Computed(place, "bend", bend, rests_on.most))
    # two journals lie on the line through them whatever their distance
    said = [] if stations or len(places) < 3 else [EVEN]
    note = Several([_where(turned[places[worst]]), *said], "; ")
    found[worst] = replace(found[worst], note=note)
    return found


def _where(journal: crank.Turned) -> Text:
    return Sentence("its centre lies towards {angle}°", angle=f"{journal.angle:.0f}")


def _main_line(inputs: Inputs) -> list[Computed]:
    found: list[Computed] = []
    spacing = inputs.given.get("spacing", SPACING)
    whole_line = len(inputs.stations) == len(inputs.positions)
    at = inputs.stations if whole_line else [spacing * i for i in range(len(inputs.positions))]
    assumed = [] if whole_line or "spacing" in inputs.given else [EVEN]
    # a direction that was read in part may hide more than another shows
    bound = Unread(tuple(place for place in inputs.positions if inputs.missing(place))).most
    for column in inputs.columns:
        heights = {
            place: columns[column]
            for place in inputs.positions
            if column in (columns := inputs.readings.get(place, {}))
        }
        if len(heights) < 3:
            continue
        stations = {place: at[inputs.positions.index(place)] for place in heights}
        zone, squares = fitting.straightness(list(stations.values()), list(heights.values()))
        squared = Measure(squares.width.value, "mm", 3)
        said = Sentence("{column}: least squares {squares}", column=as_typed(column), squares=squared)
        note = Several([said, *assumed], "; ")
        found.append(Computed("line", "straightness", zone.width, bound, note=note, uses=inputs.positions))
        tilt = zone.coefficients[1] / 100.0  # coefficients are over 100 mm
        for one, other in pairwise(heights):
            step = (heights[other] - heights[one]).shifted(-tilt * (stations[other] - stations[one]))
            # taken off the line, which another height would tilt
            found.append(Computed(f"{one}-{other}", "neighbours", step.size, bound, uses=(one, other)))
    # one that was read from fewer bores comes after the steps, as the line rests on all of them
    return sorted(_worst_of_each(found), key=lambda computed: computed.name == "straightness")


def _worst_of_each(found: list[Computed]) -> list[Computed]:
    """The largest of each characteristic at each place, where several directions were read."""
    kept: dict[tuple[str, str], Computed] = {}
    for computed in found:
        assert computed.measured is not None
        before = kept.get((computed.position, computed.name))
        if before is None or before.measured is None or _wide(computed.measured) > _wide(before.measured):
            kept[(computed.position, computed.name)] = computed
    return list(kept.values())


def _wide(measured: Measured) -> tuple[float, float]:
    """An order of widths: of two alike, but for a float's dust, the one that is known less is the worse."""
    return round(measured.value, 9), measured.u


KINDS = (
    Kind(
        "runout",
        "how a shaft runs: total indicator reading, and apart from it bend and out-of-round",
        _runout,
        {
            "runout": Trait("runout", "runout", from_zero=True),
            "bend": Trait("bend", "bend", from_zero=True, optional=True, column="at_0"),
            "out_of_round": Trait(
                "out of round, of the radius", "out_of_round", from_zero=True, optional=True
            ),
        },
        alike=False,
        one_setting=True,
        given={
            "first_support": Given("number of the first journal that carries the shaft", "", needed=False),
            "last_support": Given("number of the last journal that carries the shaft", "", needed=False),
            "stations": Given(STATIONS, needed=False, many=True),
        },
        readings="eight angles at each journal (columns `at_0` to `at_315`, four at the least), the shaft "
        "carried at its end journals; or `tir` alone",
        instruments=("travel",),
        formula="runout: largest less smallest; bend: the centre by least squares of mean + x·cos + y·sin, "
        "off the line through the two supports; out-of-round: what that leaves",
        source="least-squares circle (limaçon approximation); common practice: bend is half the runout",
        doubt="all from one indicator: its permitted error acts by the travel, resolution and "
        "repeatability stay and average over the angles",
        drawing="indicator",
    ),
    Kind(
        "main_line",
        "whether the main bores stand in one line: straightness of the line, steps between neighbours",
        _main_line,
        {
            "straightness": Trait("straightness of the line", "straightness", from_zero=True, at="line"),
            "neighbours": Trait("step between neighbours", "neighbours", from_zero=True, optional=True),
        },
        alike=False,
        one_setting=True,
        given={
            "spacing": Given("distance between neighbouring bores", needed=False),
            "stations": Given(STATIONS, needed=False, many=True),
        },
        readings="the height of every bore's bottom (and of its side, in a second column), one indicator on "
        "a ground bar, caps torqued",
        instruments=("travel",),
        formula="minimum zone: two parallel lines as near to each other as hold all heights; steps are taken "
        "off that line",
        source="ISO 12780-1, straightness (from memory)",
        doubt="one indicator reads all heights, so its permitted error cancels but for their span",
        drawing="line",
    ),
)
