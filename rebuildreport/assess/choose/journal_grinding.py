"""Journals that are ground: those whose scores go out with a polish, and those that rods run on."""

from __future__ import annotations

from collections.abc import Sequence

from ...quantities import Sentence
from ...records.files.sheet import FeatureRecord
from ...trade.choosing.steps import POLISHED, Worn, polish_only
from ..measure.judging import source_text
from ..measure.titles import feature_title
from ..model.choice import Choice
from ..telling.questions import span
from .workbench import Workbench, one


def polish(bench: Workbench, name: str, sheet: FeatureRecord, worn: Sequence[Worn]) -> Choice | None:
    """The choice of a polish, where every scored journal comes out of it inside its limit; else None."""
    scored = [w for w in worn if w.score.value > 0.0]
    limits = sheet.wear.get("size") or sheet.new.get("size")
    low = bench.ends(limits, sheet)[0] if limits is not None and not limits.see else None
    if not scored or not all(polish_only(w.worst, w.score.value, low, guarded=bench.guarded) for w in scored):
        return None
    deepest = max(w.score.value for w in scored)
    return Choice(
        name=name,
        kind="undersize",
        title=feature_title(bench.engine, name),
        status="chosen",
        answer=Sentence("a polish, and no undersize"),
        why=(
            Sentence(
                "The deepest score, {depth} at {places}, goes out with {polish} off the diameter, and every "
                "size stays inside its limit.",
                depth=one(bench, deepest),
                places=span([w.position for w in scored]),
                polish=one(bench, POLISHED),
            )
        ),
        alternative=Sentence("the first undersize, if a polish does not take them out"),
        follows=(Sentence("size, roundness and taper are read again after the polish"),),
        source=source_text(bench.engine, sheet.source),
        part=sheet.part or "",
    )


def carries_rods(bench: Workbench, name: str, sheet: FeatureRecord) -> bool:
    """Whether these are the journals that the rods run on: their throw moves the pistons."""
    features = bench.engine.features
    housings = [
        features[fit.housing].part or ""
        for fit in features.values()
        if fit.journal == name and fit.housing in features
    ]
    return any("rod" in part for part in housings) or any(p.startswith("R") for p in sheet.positions or [])
