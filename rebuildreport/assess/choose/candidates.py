"""Parts from another source tried on paper beside the engine's own: what each takes, and costs.

In: the bench with such a part on it, and the choices that were made of it.  Out: what of it is worn, and
one row for each of its fits.  Must not know: how a choice is made.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal

from ...quantities import Sentence, Text, Typed, message
from ...trade.kinds import KINDS, Computed, Kind
from ...trade.measuring.verdict import Ends
from ..measure.judging import limits_for, opinion, unit_of
from ..measure.titles import feature_title, span
from ..model.choice import Choice, Tried
from ..model.edition import copied
from .shell_words import MEASURED_GOVERNS
from .workbench import Workbench

OWN = Sentence("the engine's own")


def own_surfaces(bench: Workbench) -> tuple[Text, ...]:
    """What of a part on paper is itself beyond its limits, or too near to call, with its places."""
    said = []
    for name, readings in bench.override.items():
        kind = KINDS[bench.engine.features[name].kind]
        if kind.links:
            continue
        groups: dict[tuple[str, str], dict[str, None]] = {}
        inputs = bench.workings.inputs_on(name, lambda _, read=readings: read)  # type: ignore[misc]
        for computed in kind.compute(inputs):
            verdict = _verdict(bench, name, kind, computed)
            if verdict in ("beyond limit", "too close to call"):
                trait = kind.trait(computed.name)
                groups.setdefault((trait.short or trait.title, verdict), {})[computed.position] = None
        title = feature_title(bench.engine, name)
        words = message("{title} {places}: {what} {verdict}")
        said += [
            Sentence(
                words, title=title, places=span([*where]), what=Sentence(what), verdict=Sentence(verdict)
            )
            for (what, verdict), where in groups.items()
        ]
    return tuple(said)


def _verdict(bench: Workbench, name: str, kind: Kind, computed: Computed) -> str:
    """The verdict on one value of it; '' where its fit judges it."""
    sheet = bench.engine.features[name]
    trait = kind.trait(computed.name)
    wear = sheet.wear.get(trait.limit)
    if computed.measured is None or (wear is not None and wear.see):
        return ""
    size = bench.candidate.sizes.get(name, "") if bench.candidate else ""
    limits = limits_for(bench.engine, sheet, trait, unit_of(sheet, trait), size)
    return opinion(computed, trait, limits, True, bench.shop).verdict


def side_by_side(choices: Sequence[Choice]) -> tuple[Tried, ...]:
    """Every part tried on paper, and the engine's own beside it, fit by fit; none where nothing was tried."""
    papers: dict[str, list[Choice]] = {}
    for choice in choices:
        if choice.on_paper:
            papers.setdefault(choice.on_paper, []).append(choice)
    fits = {choice.name for tried in papers.values() for choice in tried}
    own = [choice for choice in choices if not choice.on_paper and choice.name in fits]
    rows = [*_rows(OWN, own, _machining(choices, {choice.part for choice in own}))]
    for name, tried in papers.items():
        rows += _rows(Typed(name), tried, tried[0].paper_price)
    return tuple(rows)


def _machining(choices: Sequence[Choice], parts: Collection[str]) -> Decimal | None:
    """What is priced for machining the engine's own part; None where it must be, and nobody has priced it."""
    sizes = [
        choice for choice in choices if choice.kind in ("undersize", "oversize") and choice.part in parts
    ]
    lines = dict.fromkeys(line for choice in sizes for line in choice.work)
    prices = [price for _, price in lines]
    return None if sizes and not lines else _sum(prices)


def _sum(prices: Sequence[Decimal | None]) -> Decimal | None:
    """What these come to; None where one of them is not known."""
    known = [price for price in prices if price is not None]
    return sum(known, Decimal(0)) if len(known) == len(prices) else None


def _rows(name: Text, choices: Sequence[Choice], price: Decimal | None) -> Iterator[Tried]:
    """One row for each fit; what it costs itself, and in all, stands on the first."""
    serves = all(choice.status != "none fits" for choice in choices)
    total = _sum([price, *(choice.cost for choice in choices)]) if serves else None
    for index, choice in enumerate(choices):
        first = index == 0
        yield copied(
            Tried,
            choice,
            name=name,
            what=choice.title,
            clearance=_clearance(choice),
            price=price if first else None,
            total=total if first else None,
            serves=serves,
            first=first,
            notes=(*(choice.own if first else ()), *_codes(choice), *choice.impossible, *choice.decides),
        )


def _clearance(choice: Choice) -> Ends:
    lows = [place.low for place in choice.places if place.low is not None]
    highs = [place.high for place in choice.places if place.high is not None]
    return min(lows, default=None), max(highs, default=None)


def _codes(choice: Choice) -> list[Text]:
    """Where the codes stamped on a part on paper say another grade than its readings."""
    differ = [place.position for place in choice.places if place.agree is False]
    return [Sentence(MEASURED_GOVERNS, places=span(differ))] if differ and choice.on_paper else []
