"""What came back from a machine shop, line by line of its order, by what was measured here.

Comes in: the operations of an order, the values read since.  Goes out: ``Returned`` lines.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Text, Typed, message
from ...records.files.sheet import Engine
from ...trade.kinds import KINDS
from ...trade.measuring import verdict as rule
from ...trade.measuring.uncertainty import alone
from ...trade.measuring.verdict import Ends
from ..model.assessment import Characteristic, Deviation
from ..model.choice import Operation, Outcome, Returned
from ..model.keys import ValueKey
from .decisions import covered_by

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
MISSING: Judged = ("not measured", NOTHING)
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
    covered = covered_by(deviations)
    for operation in operations:
        for feature, positions in operation.spots:
            by_fit = _by_fit(engine, feature, values, covered)
            for limit, about in _since(engine, feature, positions, values).items():
                bands = dict(operation.supplied) if limit == "size" else {}
                judged = {value.key: _judged(value, bands, covered, by_fit, guarded) for value in about}
                what = Sentence(limit.replace("_", " "))
                line = Returned(operation.number, what, "accepted", positions)
                yield from _lines(line, about, judged, bands)


def _since(
    engine: Engine, feature: str, positions: Sequence[str], values: Sequence[Characteristic]
) -> dict[str, list[Characteristic]]:
    """What stands of a machined surface, by the limit that judges it; nothing before anything was read."""
    kind = KINDS[engine.features[feature].kind]
    here = [value for value in values if value.feature == feature and value.position in positions]
    since = [value for value in here if value.stands and not value.again]
    by_limit: dict[str, list[Characteristic]] = {}
    for value in since if any(value.value is not None for value in since) else ():
        by_limit.setdefault(kind.trait(value.name).limit, []).append(value)
    return {limit: about for limit, about in by_limit.items() if any(value.limits for value in about)}


def _by_fit(
    engine: Engine, feature: str, values: Sequence[Characteristic], covered: Mapping[ValueKey, str]
) -> dict[str, str]:
    """The deviation that accepts the fit of a bore, by its position."""
    fits = {name for name, fit in engine.of_kind("fit").items() if fit.outer == feature}
    accepted = [value for value in values if value.feature in fits and value.key in covered]
    return {value.position: covered[value.key] for value in accepted}


def _lines(
    line: Returned,
    about: Sequence[Characteristic],
    judged: Mapping[ValueKey, Judged],
    bands: Mapping[str, Ends],
) -> Iterator[Returned]:
    """Positions that came back alike share a line."""
    alike: dict[Judged, list[str]] = {}
    for position in line.positions:
        came = [judged[value.key] for value in about if value.position == position]
        worst = min(came or [MISSING], key=lambda outcome: WORST.index(outcome[0]))
        alike.setdefault(worst, []).append(position)
    sheet = next((value.limits.decides for value in about if value.limits), (None, None))
    for outcome, note in sorted(alike, key=lambda came: WORST.index(came[0])):
        positions = alike[outcome, note]
        read = [v.value for v in about if v.position in positions and v.value is not None]
        yield replace(
            line,
            outcome=outcome,
            positions=tuple(positions),
            note=note,
            low=min(read, default=None),
            high=max(read, default=None),
            decimals=max(value.decimals for value in about),
            limits=next((bands[place] for place in positions if place in bands), sheet),
        )


def _judged(
    value: Characteristic,
    bands: Mapping[str, Ends],
    covered: Mapping[ValueKey, str],
    by_fit: Mapping[str, str],
    guarded: bool,
) -> Judged:
    """By the size to the supplied piston where there is one, else by the limits of the sheet."""
    verdict: str = value.verdict
    note = value.side if verdict == "beyond limit" else value.advice
    by = covered.get(value.key)
    if value.position in bands and value.value is not None:
        read = alone(value.value, value.standard_uncertainty or 0.0)
        judgement = rule.judge(read, bands[value.position], again=False, guarded=guarded)
        verdict = judgement.verdict
        words = TO_PISTON.get((judgement.side, verdict == "beyond limit"))
        # past the sheet's own limit it says so, as the report does; else it does not suit the piston
        if OUTCOMES.get(value.verdict) != OUTCOMES[verdict]:
            note = Sentence(words) if words else NOTHING
        by = by or by_fit.get(value.position)
    outcome = OUTCOMES.get(verdict, "not measured")
    if outcome != "accepted" and by:
        return "accepted by deviation", Typed(by)
    return outcome, note if outcome in ("rejected", "too close to call") else NOTHING
