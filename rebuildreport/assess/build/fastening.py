"""The sheet's fasteners as the build sheet shows them: stages as typed, and what they come to."""

from __future__ import annotations

from collections.abc import Mapping

from ...quantities import Quantity, Sentence
from ...records import JobFolder
from ...records.files.boltgroups import (
    REUSED,
    UNIT,
    bolt_of,
    disagreement,
    expected_stretch,
    reused_at_yield,
    stage_doubts,
    typed,
)
from ...records.files.buildplan import Fastener
from ...records.files.sheet import Engine
from ...trade.tightening import preload as trade
from ...trade.tightening import sequence as patterns
from ..measure.judging import source_text
from ..model.bolting import BoltPlace, Fastening, Preload, Signed, StageLine, Stretch

YIELD = (
    "Tightened to yield on purpose: what is turned beyond it becomes lasting stretch, so a share of the "
    "proof load near or above 100 % is no fault of such a bolt."
)


def fastenings(
    engine: Engine, job: JobFolder, buy: Mapping[str, tuple[int, tuple[str, ...]]]
) -> tuple[Fastening, ...]:
    """Every group of the sheet; ``buy``: part number, how many are on the parts list, for which places."""
    return tuple(_fastening(engine, job, name, group, buy) for name, group in engine.fasteners.items())


def _fastening(
    engine: Engine,
    job: JobFolder,
    name: str,
    group: Fastener,
    buy: Mapping[str, tuple[int, tuple[str, ...]]],
) -> Fastening:
    bolt, notes = bolt_of(group)
    stages = _stages(engine, group, bolt)
    places, circle, drawn = _places(group)
    done = [one for one in (job.assembly.tightened if job.assembly else []) if one.fasteners == name]
    read = {place: value for one in done for place, value in one.stretch.items()}  # the last counts
    expected = expected_stretch(group)
    stretches = [_stretch(place, value, expected) for place, value in read.items()]
    doubts = [stage.doubted for stage in stages if stage.doubt]
    if reused_at_yield(group):
        doubts.append(REUSED)
    elif _on_purpose(group, stages):
        notes.append(YIELD)
    sources = []
    if bolt is not None:
        own = "the sheet" if group.nut_factor else trade.NUT_FACTOR_SOURCE
        sources = [f"torque factor {bolt.nut_factor:g}: {own}"] if bolt.nut_factor else []
        sources.append(f"scatter: {trade.SCATTER_SOURCE}")
    count, places_bought = buy.get(group.part, (0, ()))
    count = min(count, group.quantity)
    title = Sentence(group.title or name.replace("_", " ").capitalize())
    return Fastening(
        name=name,
        title=title,
        part=group.part,
        quantity=group.quantity,
        reuse=group.reuse,
        buy=count,
        buy_at=places_bought if 0 < len(places_bought) == count < group.quantity else (),
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
        doubts=tuple(doubts),
        stretches=tuple(stretches),
        done=tuple(Signed(one.by, one.witness or "", one.date, one.note or "") for one in done),
    )


DISAGREE = Sentence("its two torques disagree: name the source that counts")


def _stages(engine: Engine, group: Fastener, bolt: trade.Bolt | None) -> tuple[StageLine, ...]:
    lines: list[StageLine] = []
    steps: list[trade.TighteningStep] = []
    doubts = {one.index: one.says for one in stage_doubts(group)}
    broken = False  # beyond a stage whose torque is in doubt nothing is worked out
    for number, stage in enumerate(group.stages, 1):
        asked = typed(stage)
        if asked is None:
            continue
        kind, value = asked
        withheld = disagreement(stage)
        broken = broken or bool(withheld)
        steps.append(trade.TighteningStep(kind, value.to(UNIT[kind])))
        tension = None
        if bolt is not None and not broken:
            tension = trade.tighten(bolt, steps)[-1]
        lines.append(
            StageLine(
                number=number,
                kind=kind,
                text="" if withheld else str(value),
                value=None if withheld else value.value,
                unit=value.unit,
                decimals=value.decimals,
                also=str(stage.also) if stage.also and kind == "torque" and not stage.use else "",
                source=source_text(engine, stage.source or group.source) or "",
                note=stage.note or "",
                # neither figure is repeated: whoever reads it would tighten by it; the check quotes both
                withheld=Sentence("its two torques disagree: name the source that counts")
                if withheld
                else "",
                preload=None if tension is None else _preload(tension),
                doubt="" if withheld else doubts.get(number - 1, ""),
            )
        )
    return tuple(lines)


def _preload(one: trade.Tension) -> Preload:
    return Preload(one.low, one.expected, one.high, one.share_of_proof, one.method, one.stretch, one.lasting)


def _places(group: Fastener) -> tuple[tuple[BoltPlace, ...], bool, str]:
    """Where the bolts sit with their numbers; the maker's sequence goes before the pattern's."""
    if group.layout is None:
        return (), False, ""
    try:
        places = patterns.layout(group.layout)
        numbers = (
            patterns.typed(group.sequence) if group.sequence else patterns.order(places, group.order or "")
        )
    except patterns.OrderError:
        return (), False, ""
    if len(numbers) != len(places.places):
        return (), False, ""
    found = tuple(BoltPlace(at[0], at[1], n) for at, n in zip(places.places, numbers, strict=True))
    said = "the maker's sequence" if group.sequence else f"the pattern '{group.order}', common practice"
    return found, places.circle, said


def _stretch(place: str, value: Quantity, expected: tuple[float, float] | None) -> Stretch:
    mm = value.to("mm")
    if expected is None:
        return Stretch(place, mm, value.unit, value.decimals)
    share = mm / expected[0]
    return Stretch(place, mm, value.unit, value.decimals, expected[0], share, abs(share - 1.0) > expected[1])


def _on_purpose(group: Fastener, stages: tuple[StageLine, ...]) -> bool:
    """Whether yield is what the maker means: by an angle or a stretch, of bolts not simply used again."""
    meant = group.reuse != "always" and not any(one.doubt for one in stages)
    return meant and any(
        one.preload is not None and one.preload.method == "yield" and one.kind != "torque" for one in stages
    )
