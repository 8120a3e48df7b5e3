"""Kinds of volumes: the compression ratio."""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Figure, Measure, Sentence, Several, Text
from ..engine import cylinders
from ..measuring.uncertainty import Measured, mean
from .kind import Computed, Given, Inputs, Kind, Trait, Unread

# where the depth of the valves was read, and the key of their heads' diameter
RECESSED = {"intake_recess": "intake_head", "exhaust_recess": "exhaust_head"}


def _ratio(inputs: Inputs) -> Iterator[Computed]:
    in_head = {"chamber", "recess", "chamber_volume", "recess_volume", *RECESSED}
    for position in inputs.positions:
        parts = _parts(inputs, position)
        if parts is None:
            continue
        if unread := _in_part(inputs, position):
            yield Computed(position, "ratio", None, note=unread.note)
            continue
        rests_on = (position, *(valve for key in RECESSED for valve in _valves(inputs, key, position)))
        bore, chamber, bowl, gasket, deck = parts
        stroke, hole = inputs.given["stroke"], inputs.given.get("gasket_hole", bore.value)
        rest = cylinders.clearance(chamber, bowl, gasket, hole, bore, deck)
        if rest.value <= 3.0 * rest.u:
            left = Figure(f"{rest.value:.1f}".replace("-", "\u2212"))
            note: Text = Sentence(
                "its parts leave {volume} cm³ over the piston: one of them is not what it says", volume=left
            )
            yield Computed(position, "ratio", None, note=note, uses=rests_on)
            continue
        ratio = cylinders.compression_ratio(bore, stroke, chamber, bowl, gasket, hole, deck)
        thicker = cylinders.compression_ratio(bore, stroke, chamber, bowl, gasket.shifted(0.1), hole, deck)
        swept = cylinders.disc(bore.value, stroke)
        change = f"{thicker.value - ratio.value:+.2f}".replace("-", "\u2212")
        note = Sentence(
            "swept {volume} cm³; {gasket} more gasket: {change}",
            volume=Figure(f"{swept:.1f}"),
            gasket=Measure(0.1, "mm", 2),
            change=Figure(change),
        )
        known = bool(in_head & {*inputs.partners, *inputs.given})
        if not known:
            flat = Sentence("no room in the head is on the sheet: this is the most that it can be")
            note = Several([note, flat], "; ")
        yield Computed(position, "ratio", ratio, "equal" if known else "at most", note=note, uses=rests_on)
        yield Computed(position, "clearance", rest, "equal" if known else "at least", uses=rests_on)


def _parts(inputs: Inputs, position: str) -> tuple[Measured, Measured, Measured, Measured, Measured] | None:
    """Bore, chamber, bowl, gasket and deck (below it counts up); None where one of them is not known."""

    def read(key: str, otherwise: str = "") -> Measured | None:
        values = list(inputs.partners.get(key, {}).get(position, {}).values())
        if values:
            return mean(values)
        return Measured(inputs.given[otherwise]) if otherwise in inputs.given else None

    bore = read("bores", "bore")
    if bore is not None and not inputs.partners.get("bores", {}).get(position):
        bore = bore.shifted(inputs.steps.get(position, 0.0))
    chamber, bowl = read("chamber", "chamber_volume"), read("bowl", "bowl_volume")
    recess = _over_valves(inputs, position) if {*RECESSED} & {*inputs.partners} else None
    recess = recess or read("recess", "recess_volume")
    gasket = read("gasket", "gasket_thickness")
    proud, deep = read("protrusion"), read("depth")
    deck = proud.scaled(-1.0) if proud is not None else deep
    if bore is None or gasket is None or deck is None or "stroke" not in inputs.given:
        return None
    if chamber is None and bowl is None:
        return None
    rooms = {"chamber": chamber, "bowl": bowl, **dict.fromkeys(("recess", *RECESSED), recess)}
    if any(key in inputs.partners and room is None for key, room in rooms.items()):
        return None  # a room that is there and was not measured is not nothing
    head = (chamber or Measured(0.0)) + (recess or Measured(0.0))
    return bore, head, bowl or Measured(0.0), gasket, deck


def _over_valves(inputs: Inputs, position: str) -> Measured | None:
    """Room over the heads of a cylinder's valves by their depth; None where one of them was not read."""
    rooms = []
    for key in RECESSED:
        for valve in _valves(inputs, key, position):
            read = inputs.partners[key].get(valve, {})
            depth = read.get("recession") or next(iter(read.values()), None)
            if depth is None:
                return None
            rooms.append(cylinders.over_valve(inputs.given[RECESSED[key]], depth))
    return sum(rooms[1:], rooms[0]) if rooms else None


def _valves(inputs: Inputs, key: str, position: str) -> tuple[str, ...]:
    """Those valves that stand in a cylinder: as many in each, in the order of the cylinders."""
    valves = inputs.partner_positions.get(key, ())
    each = len(valves) // len(inputs.positions)
    first = inputs.positions.index(position) * each
    return valves[first : first + each]


def _in_part(inputs: Inputs, position: str) -> Unread:
    """What was not read of a room that was read at other places: its mean may be another."""
    return Unread(
        tuple(
            column
            for key, places in inputs.partners.items()
            # of a bore any place is as good
            if places.get(position) and key not in ("bores", *RECESSED)
            for column in inputs.partner_missing(key, position).columns
        )
    )


KINDS = (
    Kind(
        "compression_ratio",
        "compression ratio of each cylinder from its volumes, before and after machining",
        _ratio,
        {
            "ratio": Trait("compression ratio", "ratio", "too low", "too high", short="", unit="to 1"),
            "clearance": Trait("clearance volume", "clearance_volume", unit="cm³", optional=True),
        },
        optional_partners=("chamber", "recess", "bowl", "protrusion", "depth", "gasket", "bores", *RECESSED),
        given={
            "chamber_volume": Given("volume of the chamber in the head", "volume", needed=False),
            "recess_volume": Given("room over valve heads that lie below the face", "volume", needed=False),
            **{
                head: Given(f"diameter of the {head[:-5]} valves' heads", needed=False, needed_by=key)
                for key, head in RECESSED.items()
            },
            "bowl_volume": Given("volume in the crown, negative for a dome", "volume", needed=False),
            "gasket_thickness": Given("thickness of the gasket, pressed", needed=False),
            "gasket_hole": Given("diameter of the gasket's hole, the bore if left out", needed=False),
        },
        needs_columns=False,
        readings="those of its partners: piston `protrusion:` or `depth:` at top dead centre, `chamber:` and "
        "`bowl:` by burette, `recess:` over valves that the chamber leaves out, or by depth `intake_recess:` "
        "and `exhaust_recess:`, `gasket:` pressed; or numbers",
        formula="(swept + clearance)/clearance; clearance: chamber + recess of the valves + bowl + gasket + "
        "deck, the ring land left out; the bore as read, or its size in force",
        source="definition of the geometric compression ratio",
        doubt="every partner's doubt through its slope; numbers given on the sheet are taken as exact",
        drawing="height",
    ),
)
