"""Groups of bolts as they are printed: the maker's figures as typed, and what they come to.

In: a fastening of an Assessment.  Out: a table for the bench.  Works out no force.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from msgspec import Struct

from ...assess.model.bolting import Fastening, StageLine, Stretch
from ...quantities import Shown, convert, message, partner, show_converted
from ..drawings.boltorder import bolt_order
from ..drawings.canvas import Drawing
from ..press.language import opening, say, show, spoken, told
from ..press.words import NBSP, System, place, stop


class StageView(Struct, frozen=True):
    number: str
    first: str  # as the sheet has it, with its unit
    second: str  # in the other unit, "" where the sheet has both, or the unit is alone
    preload: str  # "36 to 60 kN", "" where it cannot be worked out
    proof: str  # share of the proof load
    stretch: str
    note: str


class BoltsView(Struct, frozen=True):
    """One group of bolts: the maker's stages beside what they come to."""

    title: str
    about: tuple[str, ...]
    stages: tuple[StageView, ...]
    heads: tuple[str, str, str]  # over the stages first and second, unit of the preload
    stretch: str  # unit
    worked: bool  # a preload stands beside any stage
    drawing: Drawing | None
    order: str
    notes: tuple[str, ...]


class ValueTable(Struct, frozen=True):
    """Positions across, one characteristic a row with its limits; "" in a cell is to be written on paper."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


Spot = TypeVar("Spot")


def in_reach(positions: tuple[Spot, ...], most: int = 9) -> Iterator[tuple[Spot, ...]]:
    """As many positions side by side as a page takes."""
    for start in range(0, len(positions), most):
        yield positions[start : start + most]


def given(stage: StageLine, system: System, second_system: System | None = None) -> Shown:
    """A stage as the sheet has it, and second in another unit: as the sheet has that, else converted."""
    digits, (second, unit) = stage.digits, stage.also
    if stage.kind == "angle":
        return Shown(f"{digits}°", "")
    if second:
        return Shown(digits, stage.unit, second, unit)
    unit = _other_unit(stage.unit, system, second_system)
    return Shown(
        digits,
        stage.unit,
        spoken().figures(show_converted(stage.value, stage.unit, stage.decimals, unit))
        if unit and stage.value is not None
        else "",
        unit,
    )


def _other_unit(unit: str, system: System, second_system: System | None) -> str:
    """The shop's unit where another was typed, else that of the second system where the shop asks for one."""
    ours = partner(unit, system)
    if ours != unit:
        return ours or ""
    return (partner(unit, second_system) or "") if second_system else ""


def asked(group: Fastening) -> StageLine | None:
    """The stretch that the maker asks of each bolt; None where he asks for none."""
    last = group.stages[-1] if group.stages else None
    return last if last is not None and last.kind == "stretch" and not last.withheld else None


def read(stretch: Stretch, system: System, second_system: System | None) -> Shown:
    """A stretch as it was read, and in the other unit."""
    length = convert(stretch.value, "mm", stretch.unit)
    unit = _other_unit(stretch.unit, system, second_system)
    second = spoken().figures(show_converted(length, stretch.unit, stretch.decimals, unit)) if unit else ""
    return Shown(spoken().figures(f"{length:.{stretch.decimals}f}"), stretch.unit, second, unit)


def bolts_view(group: Fastening, system: System, second_system: System | None = None) -> BoltsView:
    """One group of bolts as it is printed: stages, source, preload with its scatter.

    A figure in units that are not the shop's is converted; one in the shop's own only where it asks for both.
    """
    return BoltsView(
        title=told(group.title),
        about=tuple(filter(None, _about(group))),
        stages=tuple(_stage(stage, system, second_system) for stage in group.stages),
        heads=(say("as given"), say("converted"), force_unit(system)),
        stretch=show(0.0, "mm", 2, system).unit,
        worked=any(stage.preload for stage in group.stages),
        drawing=bolt_order(group),
        order=_order(group),
        notes=(
            *(stop(opening(text)) for text in (*group.withheld, *group.doubts)),
            *map(told, group.notes),
            *_stretches(group, system, second_system),
        ),
    )


def size_text(group: Fastening) -> str:
    """'12 × M12x1.5'."""
    if group.thread:
        return f"{group.quantity} × {spoken().figures(group.thread)}"
    return say("{count} of them", count=group.quantity)


def _about(group: Fastening) -> tuple[str, ...]:
    return (
        size_text(group),
        _strength(group),
        say("oil: {oil}", oil=place(group.lubricant)) if group.lubricant else "",
        group.sealant,
        group.washer,
        told(group.new),
        told(group.source),
    )


def _order(group: Fastening) -> str:
    if not group.order:
        return say("Order: the maker's sequence") if group.places else ""
    if not group.order_from:
        return say("Order: {order}", order=place(group.order))
    return say("Order: {order} ({source})", order=place(group.order), source=told(group.order_from))


def _strength(group: Fastening) -> str:
    strength = group.strength
    return say("class {number}", number=strength) if strength[:1].isdigit() else strength


def _stage(stage: StageLine, system: System, second_system: System | None) -> StageView:
    number, note = str(stage.number), _stage_note(stage)
    if stage.withheld:
        return StageView(number, say("withheld"), "", "", "", "", note)
    shown = given(stage, system, second_system)
    first = f"{shown.text}{NBSP}{shown.unit}".strip(NBSP)
    second = f"{shown.second}{NBSP}{shown.second_unit}".strip(NBSP)
    if stage.also[0]:  # the sheet has both: neither is converted
        first, second = f"{first}, {second}", ""
    if stage.kind == "stretch":
        first = say("{length} longer", length=first)
    load = stage.preload
    if load is None:
        return StageView(number, first, second, "", "", "", note)
    longer = ""
    if load.stretch is not None and stage.kind != "stretch":
        longer = show(load.stretch, "mm", 2, system).text
    least, most = force_text(load.low, system), force_text(load.high, system)
    return StageView(
        number,
        first,
        second,
        say(
            "{expected} ({least} to {most})",
            expected=force_text(load.expected, system),
            least=least,
            most=most,
        ),
        f"{load.share_of_proof:.0%}".replace("%", f"{NBSP}%"),
        longer,
        note,
    )


def _stage_note(stage: StageLine) -> str:
    doubt = say("in doubt") if stage.doubt and not stage.withheld else ""
    if not doubt and stage.preload is not None and stage.preload.method == "yield":
        doubt = say("to yield")
    return "; ".join(filter(None, (doubt, stage.note)))


def force_unit(system: System) -> str:
    """The unit of a preload."""
    return "kN" if system == "mm" else "lbf"


def force_text(newton: float, system: System) -> str:
    """A force in kN, or in hundreds of pounds: no preload is known finer than that."""
    if system == "mm":
        return f"{convert(newton, 'N', 'kN'):.0f}"
    return f"{round(convert(newton, 'N', 'lbf'), -2):.0f}"


def _stretches(group: Fastening, system: System, second_system: System | None) -> list[str]:
    """What was read, where no table of its own has it."""
    if not group.stretches or asked(group) is not None:
        return []
    texts = ", ".join(
        f"{stretch.place}: {read(stretch, system, second_system).both}" for stretch in group.stretches
    )
    expected = group.stretches[0].expected
    if expected is None:
        return [say("Stretch measured: {texts}.", texts=texts)]
    words = message("Stretch measured: {texts}; expected about {length}.")
    length = show(expected, "mm", 2, system)
    alone = f"{length.text}{NBSP}{length.unit}"
    return [say(words, texts=texts, length=length.both if second_system else alone)]


def stretch_tables(
    group: Fastening | None, system: System, second_system: System | None = None
) -> Iterator[ValueTable]:
    """Boxes for the stretch of each bolt where the maker asks for one; filled with what was read."""
    stage = asked(group) if group is not None else None
    if group is None or stage is None:
        return
    stretches = {stretch.place: read(stretch, system, second_system) for stretch in group.stretches}
    numbers = tuple(str(n) for n in range(1, group.quantity + 1))
    heads = numbers if set(stretches) <= set(numbers) else tuple(stretches)
    wanted = given(stage, system, second_system)
    head = say("Stretch, {unit}", unit=wanted.unit)
    if wanted.second_unit:
        head = f"{head} ({wanted.second_unit})"
    if wanted.second:
        head = f"{head}, {wanted.text} ({wanted.second})"
    for some in in_reach(heads):
        yield ValueTable(some, ((head, tuple(_both(stretches.get(name)) for name in some)),))


def _both(shown: Shown | None) -> str:
    if shown is None:
        return ""
    return f"{shown.text} ({shown.second})" if shown.second else shown.text
