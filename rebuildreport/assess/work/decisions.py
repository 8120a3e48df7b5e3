"""Decisions and signed deviations as the documents repeat them."""

from __future__ import annotations

from ...quantities import Figure, Sentence
from ...records import JobFolder
from ...records.files.jobfile import Work
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ..measure.judging import ends_in
from ..measure.observations import base_unit
from ..measure.timeline import sized
from ..measure.titles import feature_title
from ..model.assessment import Characteristic, Decision, Deviation


def decisions(engine: Engine, work: Work) -> tuple[Decision, ...]:
    """What was decided, by whom, why."""
    return tuple(
        Decision(
            name,
            one.about,
            feature_title(engine, one.about)
            if one.about in engine.features
            else Sentence(one.about.replace("_", " ")),
            tuple(one.positions),
            one.do,
            sized(one.size) or (Sentence("remove {amount}", amount=Figure(one.remove)) if one.remove else ""),
            one.why,
            one.by,
            one.date,
        )
        for name, one in work.decisions.items()
    )


def deviations(engine: Engine, job: JobFolder, found: list[Characteristic]) -> tuple[Deviation, ...]:
    """What is used although outside a limit, and which readings that covers."""
    items = []
    for name, one in (job.work.deviations if job.work else {}).items():
        sheet = engine.features.get(one.feature)
        if sheet is None:
            continue
        kind = KINDS[sheet.kind]
        own = (
            next((t.unit for t in kind.traits.values() if one.what == t.limit), "")
            or kind.trait(one.what).unit
        )
        unit = own or sheet.unit or ""
        low, high = ends_in(one.accept, own or base_unit(sheet.unit), unit or "mm")
        covers = [
            c.key
            for c in found
            if c.feature == one.feature
            and c.position in one.positions
            and one.what in (c.name, kind.trait(c.name).limit)
            and c.verdict in ("beyond limit", "too close to call")
            and c.stands
            and c.value is not None
            and (low is None or c.value >= low - 1e-9)
            and (high is None or c.value <= high + 1e-9)
        ]
        ends = [
            f"min {one.accept.low.text}" if one.accept.low else "",
            f"max {one.accept.high.text}" if one.accept.high else "",
        ]
        items.append(
            Deviation(
                name,
                one.feature,
                feature_title(engine, one.feature),
                tuple(one.positions),
                Sentence(one.what.replace("_", " ")) if "_" not in one.what else one.what,
                f"{' '.join(end for end in ends if end)} {unit}".strip(),
                one.why,
                one.signed,
                one.date,
                tuple(covers),
            )
        )
    return tuple(items)
