"""The sheet's fasteners as the build sheet shows them: stages as typed, and what they come to.

Comes in: the sheet, assembly.yaml, what the parts list buys.  Goes out: a ``Fastening`` for each group.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Figure, Sentence, amid, message
from ...records import JobFolder
from ...records.files.assembly import Tightened
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
from ..measure.titles import bolts_title
from ..model.bolting import BoltPlace, Fastening, Signed, StageLine, Stretch
from ..model.edition import copied

YIELD = message(
    "Tightened to yield on purpose: what is turned beyond it becomes lasting stretch, so a share of the "
    "proof load near or above 100 % is no fault of such a bolt."
)
DISAGREE = Sentence("its two torques disagree: name the source that counts")
Needs = Mapping[str, tuple[int, tuple[str, ...]]]  # part number: how many on the parts list, for which places


def fastenings(engine: Engine, job: JobFolder, needs: Needs) -> tuple[Fastening, ...]:
    """Every group of the sheet with its stages, what they come to, and who tightened it."""
    return tuple(_fastening(engine, job, name, group, needs) for name, group in engine.fasteners.items())


def _fastening(engine: Engine, job: JobFolder, name: str, group: Fastener, needs: Needs) -> Fastening:
    bolt, notes = bolt_of(group)
    stages = tuple(_stages(engine, group, bolt))
    doubts = [stage.doubted for stage in stages if stage.doubt]
    said = [*notes]
    if reused_at_yield(group):
        doubts.append(REUSED)
    elif _on_purpose(group, stages):
        said.append(Sentence(YIELD))
    tightened = [done for done in job.tightened if done.fasteners == name]
    # how many are bought, and where they go if that is known of each of them and not all are new
    count, places = needs.get(group.part, (0, ()))
    bought = min(count, group.quantity)
    fastening = copied(
        Fastening,
        group,
        name=name,
        title=bolts_title(engine, name),
        buy=bought,
        buy_at=places if 0 < len(places) == bought < group.quantity else (),
        strength=group.class_,
        length=group.length.to("mm") if group.length else None,
        order_from=NOTHING,
        nut_factor=None,
        source=source_text(engine, group.source),
        stages=stages,
        notes=tuple(said),
        doubts=tuple(doubts),
        stretches=tuple(_stretches(group, tightened)),
        done=tuple(Signed.typed(done.by, done.witness, done.date, done.note) for done in tightened),
    )
    return _with_bolt(_with_places(fastening, group), group, bolt)


def _with_bolt(fastening: Fastening, group: Fastener, bolt: trade.Bolt | None) -> Fastening:
    """What the bolt stands, and where the figures come from that its preload is worked out with."""
    if bolt is None:
        return fastening
    sources = [Sentence("scatter: {source}", source=Sentence(trade.SCATTER_SOURCE))]
    if bolt.nut_factor:
        source = Sentence(trade.NUT_FACTOR_SOURCE)
        if group.nut_factor:
            source = Sentence("the sheet, for {bolts}", bolts=amid(fastening.title))
        factor = Figure(f"{bolt.nut_factor:g}")
        sources.insert(0, Sentence("torque factor {factor}: {source}", factor=factor, source=source))
    return replace(
        fastening,
        proof_load=bolt.proof_load,
        yield_load=bolt.yield_load,
        nut_factor=bolt.nut_factor,
        sources=tuple(sources),
    )


def _with_places(fastening: Fastening, group: Fastener) -> Fastening:
    """Where the bolts sit with their numbers; the maker's sequence goes before the pattern's."""
    if not group.layout:
        return fastening
    try:
        layout = patterns.layout(group.layout)
        if group.sequence:
            numbers = patterns.typed(group.sequence)
            said = Sentence("the maker's sequence")
        else:
            numbers = patterns.order(layout, group.order)
            said = Sentence("common practice")
    except patterns.OrderError:
        return fastening  # reported at the sheet
    if len(numbers) != len(layout.places):
        return fastening
    placed = (BoltPlace(*at, number) for at, number in zip(layout.places, numbers, strict=True))
    return replace(fastening, places=tuple(placed), circle=layout.circle, order_from=said)


def _stages(engine: Engine, group: Fastener, bolt: trade.Bolt | None) -> Iterator[StageLine]:
    steps: list[trade.TighteningStep] = []
    doubts = {doubt.index: doubt.says for doubt in stage_doubts(group)}
    broken = False  # beyond a stage whose torque is in doubt nothing is worked out
    for index, stage in enumerate(group.stages):
        asked = typed(stage)
        if asked is None:
            continue
        kind, value = asked
        # a second torque, where the sheet does not say which of the two counts
        also = stage.also if stage.torque is not None and not stage.use else None
        line = StageLine(
            number=index + 1,
            kind=kind,
            digits=value.text,
            value=value.value,
            unit=value.unit,
            decimals=value.decimals,
            also=(also.text, also.unit) if also else ("", ""),
            source=source_text(engine, stage.source or group.source),
            note=stage.note,
            doubt=doubts.get(index, NOTHING),
        )
        steps.append(trade.TighteningStep(kind, value.to(UNIT[kind])))
        if disagreement(stage):
            broken = True
            # neither figure is repeated: whoever reads it would tighten by it; the check quotes both
            line = replace(line, digits="", value=None, doubt=NOTHING, withheld=DISAGREE)
        elif bolt is not None and not broken and (tension := trade.tighten(bolt, steps)[-1]):
            line = replace(line, preload=tension)
        yield line


def _stretches(group: Fastener, tightened: Sequence[Tightened]) -> Iterator[Stretch]:
    """Stretch as measured beside what the stages make; of a place that was read twice the last counts."""
    expected = expected_stretch(group)
    read = {place: value for done in tightened for place, value in done.stretch.items()}
    for place, value in read.items():
        stretch = Stretch(place, value.to("mm"), value.unit, value.decimals)
        if expected is not None:
            makes, scatters = expected
            share = stretch.value / makes
            stretch = replace(stretch, expected=makes, share=share, apart=abs(share - 1.0) > scatters)
        yield stretch


def _on_purpose(group: Fastener, stages: tuple[StageLine, ...]) -> bool:
    """Whether yield is what the maker means: by an angle or a stretch, of bolts not simply used again."""
    meant = group.reuse != "always" and not any(stage.doubt for stage in stages)
    return meant and any(
        stage.preload is not None and stage.preload.method == "yield" and stage.kind != "torque"
        for stage in stages
    )
