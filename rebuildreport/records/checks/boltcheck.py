"""Bolts as found and as tightened, and values of checks, held against the sheet's groups and limits."""

from __future__ import annotations

import re
from collections.abc import Iterable

from ... import quantities
from ...quantities import Quantity
from ..files.assembly import Tightened
from ..files.boltgroups import expected_stretch
from ..files.buildplan import Fastener
from ..files.sheet import Engine
from ..files.teardown import AsFound
from ..text.fields import Interval
from ..text.notes import Notes
from ..text.reader import Where


def as_found(notes: Notes, where: Where, bolts: AsFound, engine: Engine) -> None:
    """Not more bolts, and no other places, than the group has."""
    group = engine.fasteners.get(bolts.where.split()[0])
    if group is None:
        return
    if bolts.quantity is not None and bolts.quantity > group.quantity:
        message = f"{bolts.quantity} bolts of a group of {group.quantity}"
        notes.error((*where, "quantity"), message, f"at most {group.quantity}")
    _places(notes, (*where, "readings"), bolts.readings, group)
    read = sum(len(text.split()) for text in bolts.readings.values())
    if read > group.quantity >= len(bolts.readings):
        message = f"{read} breakaway readings of a group of {group.quantity}"
        notes.error((*where, "readings"), message, "one for each bolt", key=True)


def tightened(notes: Notes, where: Where, tight: Tightened, group: Fastener) -> None:
    """Places that the group has, and stretch as measured that is near what the stages make."""
    _places(notes, (*where, "stretch"), tight.stretch, group)
    _places(notes, (*where, "reached"), tight.reached, group)
    expected = expected_stretch(group)
    if expected is None:
        return
    for place, read in tight.stretch.items():
        share = read.to("mm") / expected[0]
        if share and abs(share - 1.0) > expected[1]:
            about = f"{read.value / share:.{max(read.decimals, 2)}f} {read.unit}"
            message = f"{read} of stretch is {100.0 * share:.0f} % of the {about} that the stages make"
            hint = "measure again, or a deviation about them with 'accepts: stretch'"
            notes.warn((*where, "stretch", place), message, hint)


def _places(notes: Notes, where: Where, places: Iterable[str], group: Fastener) -> None:
    """A number beyond the last bolt is none of them; R12 of eight bolts hardly is."""
    for place in places:
        match = re.fullmatch(r"([A-Za-z]*)\s*(\d+)", place)
        if match is None or 1 <= int(match[2]) <= group.quantity:
            continue
        message = f"'{place}' is no bolt of a group of {group.quantity}"
        hint = f"{match[1]}1 to {match[1]}{group.quantity}"
        notes.add((*where, place), message, hint, "warning" if match[1] else "error", key=True)


def value_of(notes: Notes, where: Where, value: Quantity, limit: Interval) -> None:
    """A check's value measures what its limit does."""
    unit = next((end.unit for end in (limit.low, limit.high) if end and end.unit), "")
    if unit and quantities.dimension(value.unit) != quantities.dimension(unit):
        of = quantities.dimension(value.unit)
        message = f"{value} is a {of}, and the limit of this check a {quantities.dimension(unit)}"
        notes.error(where, message, f"in {unit}, as the sheet has it")
