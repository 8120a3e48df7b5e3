"""What came back from a machine shop, line by line of its order, by what was measured here.

Comes in: the operations of an order, the values read since.  Goes out: ``Returned`` lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...quantities import NOTHING, Sentence, Text, Typed, message
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring import verdict as rule
from ..model.assessment import Characteristic, Deviation
from ..model.choice import Ends, Operation, Outcome, Returned

OUTCOMES: dict[str, Outcome] = {
    "as new": "accepted",
    "serviceable": "accepted",
    "beyond limit": "rejected",
    "too close to call": "too close to call",
}
# the worst of a position's readings is what it came back as
WORST: tuple[Outcome, ...] = (
    "rejected",
    "too close to call",
    "accepted by deviation",
    "not measured",
    "accepted",
)
Judged = tuple[Outcome, Text]
# of a bore that is finished to its own piston: which side, and whether surely
TO_PISTON = {
    ("low", True): message("too small for the supplied piston"),
    ("high", True): message("too large for the supplied piston"),
    ("low", False): message("may be too small for the supplied piston"),
    ("high", False): message("may be too large for the supplied piston"),
}


def returned(
    engine: Engine,
    values: Sequence[Characteristic],
    deviations: Sequence[Deviation],
    operations: Sequence[Operation],
    guarded: bool,
) -> Iterator[Returned]:
    """What the readings since the decision say of each line, best outcome last."""
    for operation in operations:
        for feature, positions in operation.spots:
            since = [
                value
                for value in values
                if value.feature == feature
                and value.position in positions
                and value.stands
                and not value.again
            ]
            if any(value.value is not None for value in since):
                yield from _feature(engine, operation, feature, positions, values, since, deviations, guarded)


def _feature(
    engine: Engine,
    operation: Operation,
    feature: str,
    positions: Sequence[str],
    values: Sequence[Characteristic],
    since: Sequence[Characteristic],
    deviations: Sequence[Deviation],
    guarded: bool,
) -> Iterator[Returned]:
    kind = KINDS[engine.features[feature].kind]
    fits = {name for name, fit in engine.features.items() if fit.kind == "fit" and fit.outer == feature}
    made = {(value.position, value.key) for value in values if value.feature in fits}
    for limit in dict.fromkeys(kind.trait(value.name).limit for value in since if value.limits):
        about = [value for value in since if kind.trait(value.name).limit == limit]
        bands = dict(operation.supplied) if limit == "size" else {}
        judged: dict[str, list[tuple[Characteristic, Judged]]] = {place: [] for place in positions}
        for value in about:
            band = bands.get(value.position)
            keys = {value.key} | {key for place, key in made if band is not None and place == value.position}
            accepting = next((d.id for d in deviations if keys & set(d.covers)), "")
            judged[value.position].append((value, _judged(value, band, accepting, guarded)))
        title = Sentence(limit.replace("_", " "))
        yield from _lines(operation.number, title, about, judged, bands)


def _lines(
    number: int,
    title: Text,
    about: Sequence[Characteristic],
    judged: dict[str, list[tuple[Characteristic, Judged]]],
    bands: dict[str, Ends],
) -> Iterator[Returned]:
    """Positions that came back alike share a line."""
    lines: dict[Judged, list[str]] = {}
    for position, here in judged.items():
        came: list[Judged] = [outcome for _, outcome in here] or [("not measured", NOTHING)]
        worst = min(came, key=lambda outcome: WORST.index(outcome[0]))
        lines.setdefault(worst, []).append(position)
    sheet = next((value.limits.decides for value in about if value.limits), (None, None))
    for outcome, note in sorted(lines, key=lambda line: WORST.index(line[0])):
        positions = lines[outcome, note]
        read = [value.value for place in positions for value, _ in judged[place] if value.value is not None]
        yield Returned(
            operation=number,
            what=title,
            outcome=outcome,
            positions=tuple(positions),
            note=note,
            low=min(read, default=None),
            high=max(read, default=None),
            decimals=max((value.decimals for value in about), default=3),
            limits=next((bands[place] for place in positions if place in bands), sheet),
        )


def _judged(value: Characteristic, band: Ends | None, accepting: str, guarded: bool) -> Judged:
    """By the size to the supplied piston where there is one (``band``), else by the limits of the sheet."""
    verdict: str = value.verdict
    note = value.side if verdict == "beyond limit" else value.advice
    if band is not None and value.value is not None:
        judgement = rule.judge(
            value.value, value.standard_uncertainty or 0.0, band, again=False, guarded=guarded
        )
        verdict = judgement.verdict
        words = TO_PISTON.get((judgement.side, verdict == "beyond limit"))
        note = Sentence(words) if words else NOTHING
    outcome = OUTCOMES.get(verdict, "not measured")
    if outcome != "accepted" and accepting:
        return "accepted by deviation", Typed(accepting)
    return outcome, note if outcome in ("rejected", "too close to call") else NOTHING
