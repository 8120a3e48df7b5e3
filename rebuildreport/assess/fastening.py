"""The sheet's fasteners as the build sheet shows them: stages as typed, and what they come to."""

from __future__ import annotations

from collections.abc import Mapping

from ..quantities import Quantity, Sentence
from ..records import JobFolder
from ..records.engine import Engine
from ..records.plan import Fastener, Stage
from ..records.plancheck import disagreement, settled
from ..trade import fasteners as trade
from ..trade.order import OrderError, layout, order, typed
from ..trade.threads import ThreadError, strength, thread
from .built import BoltPlace, Fastening, Preload, Signed, StageLine, Stretch
from .judging import source_text

YIELD = (
    "Tightened to yield on purpose: what is turned beyond it becomes lasting stretch, so a share of the "
    "proof load near or above 100 % is no fault of such a bolt."
)
# measured stretch this far from the expected one asks for a second look: torque and angle scatter less
STRETCH_APART = 0.25


def fastenings(engine: Engine, job: JobFolder, buy: Mapping[str, int]) -> tuple[Fastening, ...]:
    """Every group of the sheet; ``buy``: part number and how many of it are on the parts list."""
    return tuple(_fastening(engine, job, name, group, buy) for name, group in engine.fasteners.items())


def _fastening(
    engine: Engine, job: JobFolder, name: str, group: Fastener, buy: Mapping[str, int]
) -> Fastening:
    bolt, notes = bolt_of(group)
    stages = _stages(engine, group, bolt)
    places, circle, drawn = _places(group)
    last = next((one.preload for one in reversed(stages) if one.preload), None)
    done = [one for one in (job.assembly.tightened if job.assembly else []) if one.fasteners == name]
    stretches = [_stretch(place, value, last) for one in done for place, value in one.stretch.items()]
    if any(one.preload and one.preload.method == "yield" for one in stages):
        notes.append(YIELD)
    notes += _too_much(bolt, stages)
    notes += _odd_stretch(stretches)
    sources = []
    if bolt is not None:
        own = "the sheet" if group.nut_factor else trade.NUT_FACTOR_SOURCE
        sources = [f"torque factor {bolt.nut_factor:g}: {own}", f"scatter: {trade.SCATTER_SOURCE}"]
    part = engine.parts.get(group.part)
    title = Sentence(group.title or name.replace("_", " ").capitalize())
    return Fastening(
        name=name,
        title=title,
        part=group.part,
        part_name=part.name if part else group.part,
        quantity=group.quantity,
        reuse=group.reuse,
        buy=min(buy.get(group.part, 0), group.quantity),
        thread=group.thread or "",
        strength=group.class_ or "",
        length=group.length.to("mm") if group.length else None,
        lubricant=group.lubricant or "",
        sealant=group.sealant or "",
        washer=group.washer or "",
        order=group.order or "",
        order_from=drawn,
        source=source_text(engine, group.source) or "",
        stages=stages,
        places=places,
        circle=circle,
        proof_load=bolt.proof_load if bolt else None,
        yield_load=bolt.yield_load if bolt else None,
        nut_factor=bolt.nut_factor if bolt else None,
        sources=tuple(sources),
        notes=tuple(notes),
        stretches=tuple(stretches),
        done=tuple(Signed(one.by, one.witness or "", one.date, one.note or "") for one in done),
    )


def bolt_of(group: Fastener) -> tuple[trade.Bolt | None, list[str]]:
    """The bolt of a group for the trade's functions; None, and why, where the sheet says too little."""
    missing = [key for key, value in (("thread", group.thread), ("class", group.class_)) if not value]
    lubricant = group.lubricant or ""
    factor = group.nut_factor.value if group.nut_factor else trade.nut_factor_of(lubricant)
    if factor is None:
        missing.append(f"a torque factor for '{lubricant}'" if lubricant else "the lubricant")
    if missing or factor is None or not group.thread or not group.class_:
        stages = any(one.torque or one.stretch for one in group.stages)
        return None, [f"Preload not worked out: the sheet lacks {', '.join(missing)}."] if stages else []
    try:
        of = thread(group.thread)
        stands = strength(group.class_, of)
    except ThreadError:
        return None, []  # reported at the sheet
    mm = {key: one.to("mm") if (one := getattr(group, key)) else None for key in _LENGTHS}
    clamped = mm["clamped"]
    bolt = trade.Bolt(
        of,
        stands,
        factor,
        clamped=clamped,
        shank=mm["shank"] or 0.0,
        shank_diameter=mm["shank_diameter"],
        material=group.clamps or "steel",
        nut=group.nut,
        dry=lubricant.lower() in trade.DRY,
    )
    if clamped is None and any(one.angle or one.stretch for one in group.stages):
        return bolt, ["Preload after an angle not worked out: the sheet lacks the clamped length."]
    return bolt, []


DISAGREE = Sentence("its two torques disagree: name the source that counts")
_LENGTHS = ("clamped", "shank", "shank_diameter")


def _stages(engine: Engine, group: Fastener, bolt: trade.Bolt | None) -> tuple[StageLine, ...]:
    lines: list[StageLine] = []
    steps: list[trade.Step] = []
    broken = False  # beyond a stage whose torque is in doubt nothing is worked out
    for number, stage in enumerate(group.stages, 1):
        typed_ = _typed(stage)
        if typed_ is None:
            continue
        kind, value = typed_
        withheld = disagreement(stage)
        broken = broken or bool(withheld)
        unit = {"torque": "N·m", "angle": "deg", "stretch": "mm"}[kind]
        steps.append(trade.Step(kind, value.to(unit)))
        tension = None
        if bolt is not None and not broken:
            tension = trade.tighten(bolt, steps)[-1]
        lines.append(
            StageLine(
                number=number,
                kind=kind,
                text="" if withheld else str(value),
                value=value.value,
                unit=value.unit,
                decimals=value.decimals,
                source=source_text(engine, stage.source or group.source) or "",
                note=stage.note or "",
                # neither figure is repeated: whoever reads it would tighten by it; the check quotes both
                withheld=Sentence("its two torques disagree: name the source that counts")
                if withheld
                else "",
                preload=None if tension is None else _preload(tension),
            )
        )
    return tuple(lines)


def _typed(stage: Stage) -> tuple[trade.Kind, Quantity] | None:
    if stage.torque is not None:
        return "torque", settled(stage) or stage.torque
    if stage.angle is not None:
        return "angle", stage.angle
    return ("stretch", stage.stretch) if stage.stretch is not None else None


def _preload(one: trade.Tension) -> Preload:
    return Preload(one.low, one.expected, one.high, one.share_of_proof, one.method, one.stretch, one.lasting)


def _places(group: Fastener) -> tuple[tuple[BoltPlace, ...], bool, str]:
    """Where the bolts sit with their numbers; the maker's sequence goes before the pattern's."""
    if group.layout is None:
        return (), False, ""
    try:
        places = layout(group.layout)
        numbers = typed(group.sequence) if group.sequence else order(places, group.order or "")
    except OrderError:
        return (), False, ""
    if len(numbers) != len(places.places):
        return (), False, ""
    found = tuple(BoltPlace(at[0], at[1], n) for at, n in zip(places.places, numbers, strict=True))
    said = "the maker's sequence" if group.sequence else f"the pattern '{group.order}', common practice"
    return found, places.circle, said


def _stretch(place: str, value: Quantity, last: Preload | None) -> Stretch:
    mm = value.to("mm")
    expected = last.stretch if last else None
    return Stretch(place, mm, expected, mm / expected if expected else None)


def _too_much(bolt: trade.Bolt | None, stages: tuple[StageLine, ...]) -> list[str]:
    """A torque alone that already reaches yield or passes the proof load: look at the sheet again."""
    notes = []
    for one in stages:
        if bolt is None or one.preload is None or one.kind != "torque":
            continue
        if one.preload.method == "yield":
            notes.append(f"Stage {one.number}: this torque alone reaches yield; is it typed right?")
        elif one.preload.share_of_proof > 1.0:
            notes.append(f"Stage {one.number}: this torque alone passes the proof load; is it typed right?")
    return notes


def _odd_stretch(stretches: list[Stretch]) -> list[str]:
    odd = [one for one in stretches if one.share is not None and abs(one.share - 1.0) > STRETCH_APART]
    if not odd:
        return []
    where = ", ".join(f"{one.place} ({100.0 * (one.share or 0.0):.0f} %)" for one in odd)
    return [f"Stretch far from the expected one: {where}; look at thread, lubricant and gauge."]
