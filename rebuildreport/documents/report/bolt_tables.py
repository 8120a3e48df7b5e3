"""Groups of bolts as they are printed: the maker's figures as typed, and what they come to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ...assess.model.bolting import Fastening, Preload, StageLine, Stretch
from ...quantities import Shown, convert, partner, show, show_converted
from ..drawings.boltorder import bolt_order
from ..drawings.canvas import Drawing
from ..press.language import told
from ..press.words import NBSP, System, capital, other, stop


@dataclass(frozen=True, slots=True)
class StageView:
    number: str
    first: str  # as the sheet has it, with its unit
    second: str  # in the other unit, "" where the sheet has both, or the unit is alone
    preload: str  # "36 to 60 kN", "" where it cannot be worked out
    proof: str  # share of the proof load
    stretch: str
    note: str


@dataclass(frozen=True, slots=True)
class BoltsView:
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


@dataclass(frozen=True, slots=True)
class ValueTable:
    """Positions across, one characteristic a row with its limits; "" in a cell is to be written on paper."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


def in_reach(positions: tuple[str, ...], most: int = 9) -> Iterable[tuple[str, ...]]:
    """As many positions side by side as a page takes."""
    for start in range(0, len(positions), most):
        yield positions[start : start + most]


def given(stage: StageLine, system: System) -> Shown:
    """A stage as the sheet has it, and second in another unit: as the sheet has that, else converted."""
    digits = stage.text.split()[0]
    if stage.kind == "angle":
        return Shown(f"{digits}°", "")
    if stage.also:
        second, unit = stage.also.split(maxsplit=1)
        return Shown(digits, stage.unit, second, unit)
    unit = _other_unit(stage.unit, system)
    return Shown(
        digits,
        stage.unit,
        show_converted(stage.value, stage.unit, stage.decimals, unit)
        if unit and stage.value is not None
        else "",
        unit,
    )


def _other_unit(unit: str, system: System) -> str:
    """The shop's unit, or where that is the typed one, the other system's."""
    ours = partner(unit, system)
    return (ours if ours != unit else partner(unit, other(system))) or ""


def asked(group: Fastening) -> StageLine | None:
    """The stretch that the maker asks of each bolt; None where he asks for none."""
    last = group.stages[-1] if group.stages else None
    return last if last is not None and last.kind == "stretch" and not last.withheld else None


def read(one: Stretch, system: System) -> Shown:
    """A stretch as it was read, and in the other unit."""
    value = convert(one.value, "mm", one.unit)
    unit = _other_unit(one.unit, system)
    text = f"{value:.{one.decimals}f}"
    return Shown(text, one.unit, show_converted(value, one.unit, one.decimals, unit) if unit else "", unit)


def bolts_view(group: Fastening, system: System) -> BoltsView:
    """One group of bolts as it is printed: stages in both systems, source, preload with its scatter."""
    stages = tuple(_stage(stage, system) for stage in group.stages)
    heads = ("as given", "converted", "kN" if system == "mm" else "lbf")
    about = [f"{group.quantity} × {group.thread}" if group.thread else f"{group.quantity}"]
    about += [f"class {group.strength}" if group.strength[:1].isdigit() else group.strength]
    about += [f"oil: {group.lubricant}" if group.lubricant else "", group.sealant, group.washer]
    about += [group.new, told(group.source)]
    order = f"Order: {group.order}" + (f" ({group.order_from})" if group.order_from else "")
    notes = [*(stop(capital(text)) for text in (*group.withheld, *group.doubts)), *group.notes]
    notes += _stretches(group, system)
    return BoltsView(
        title=told(group.title),
        about=tuple(text for text in about if text),
        stages=stages,
        heads=heads,
        stretch=show(0.0, "mm", 2, system).unit,
        worked=any(stage.preload for stage in stages),
        drawing=bolt_order(group),
        order=order if group.order else "Order: the maker's sequence" if group.places else "",
        notes=tuple(notes),
    )


def _stage(stage: StageLine, system: System) -> StageView:
    if stage.withheld:
        return StageView(str(stage.number), "withheld", "", "", "", "", stage.note)
    shown = given(stage, system)
    first, second = (
        f"{text}{NBSP}{unit}".strip(NBSP)
        for text, unit in ((shown.text, shown.unit_text), (shown.second, shown.second_unit))
    )
    if stage.also:
        first, second = f"{first}, {second}", ""
    if stage.kind == "stretch":
        first = f"{first} longer"
    load = stage.preload
    said = ["in doubt"] if stage.doubt else ["to yield"] if load and load.method == "yield" else []
    note = "; ".join([*said, *([stage.note] if stage.note else [])])
    if load is None:
        return StageView(str(stage.number), first, second, "", "", "", note)
    return StageView(
        str(stage.number),
        first,
        second,
        f"{force_text(load.expected, system)} ({_band(load, system)})",
        f"{load.share_of_proof:.0%}".replace("%", f"{NBSP}%"),
        "" if load.stretch is None or stage.kind == "stretch" else show(load.stretch, "mm", 2, system).text,
        note,
    )


def _band(load: Preload, system: System) -> str:
    return f"{force_text(load.low, system)} to {force_text(load.high, system)}"


def force_text(newton: float, system: System) -> str:
    """A force in kN, or in hundreds of pounds: no preload is known finer than that."""
    if system == "mm":
        return f"{convert(newton, 'N', 'kN'):.0f}"
    return f"{round(convert(newton, 'N', 'lbf'), -2):.0f}"


def _stretches(group: Fastening, system: System) -> list[str]:
    """What was read, where no table of its own has it."""
    if not group.stretches or asked(group) is not None:
        return []
    shown = [(one.place, read(one, system)) for one in group.stretches]
    texts = ", ".join(f"{name}: {one.both}" for name, one in shown)
    expected = group.stretches[0].expected
    beside = f"; expected about {show(expected, 'mm', 2, system).both}" if expected is not None else ""
    return [f"Stretch measured: {texts}{beside}."]


def stretch_tables(group: Fastening | None, system: System) -> Iterable[ValueTable]:
    """Boxes for the stretch of each bolt where the maker asks for one; filled with what was read."""
    stage = asked(group) if group is not None else None
    if group is None or stage is None:
        return
    numbers = tuple(str(n) for n in range(1, group.quantity + 1))
    by_place = {one.place: one for one in group.stretches}
    heads = numbers if set(by_place) <= set(numbers) else tuple(by_place)
    wanted = given(stage, system)
    units = f"{wanted.unit} ({wanted.second_unit})" if wanted.second_unit else wanted.unit
    head = f"Stretch, {units}, {wanted.text} ({wanted.second})" if wanted.second else f"Stretch, {units}"
    for some in in_reach(heads):
        cells = [by_place.get(name) for name in some]
        yield ValueTable(some, ((head, tuple("" if c is None else _both(read(c, system)) for c in cells)),))


def _both(shown: Shown) -> str:
    return f"{shown.text} ({shown.second})" if shown.second else shown.text
