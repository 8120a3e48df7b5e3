"""Parts from another source tried on paper beside the engine's own: what each takes, and costs."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from ...quantities import Sentence, Text
from ...trade.kinds import KINDS
from ..measure.judging import limits_for, opinion, unit_of
from ..measure.titles import feature_title
from ..model.choice import Choice, Ends, Tried
from ..telling.questions import span
from .workbench import Workbench

OWN = Sentence("the engine's own")


def own_surfaces(bench: Workbench) -> tuple[str, ...]:
    """What of a part on paper is itself beyond its limits, or too near to call, with its places."""
    said = []
    for name, readings in bench.override.items():
        sheet = bench.engine.features[name]
        kind = KINDS.get(sheet.kind)
        if kind is None or kind.links:
            continue
        groups: dict[tuple[str, str], list[str]] = {}
        inputs = bench.workings.inputs_on(name, lambda _, read=readings: read)  # type: ignore[misc]
        for item in kind.compute(inputs):
            if item.measured is None:
                continue
            trait = kind.trait(item.name)
            if (wear := sheet.wear.get(trait.limit)) is not None and wear.see:
                continue  # its fit judges it
            limits = limits_for(bench.engine, sheet, trait, unit_of(sheet, trait), bench.paper_size)
            found = opinion(item, trait, limits, True, bench.shop)
            if found.verdict in ("beyond limit", "too close to call"):
                where = groups.setdefault((trait.short or trait.title, found.verdict), [])
                if item.position not in where:
                    where.append(item.position)
        title = feature_title(bench.engine, name)
        said += [
            Sentence(
                "{title} {places}: {what} {verdict}",
                title=title,
                places=span(where),
                what=what,
                verdict=Sentence(verdict),
            )
            for (what, verdict), where in groups.items()
        ]
    return tuple(said)


def side_by_side(choices: Sequence[Choice]) -> tuple[Tried, ...]:
    """Every part tried on paper, and the engine's own beside it, fit by fit; none where nothing was tried."""
    papers = [one for one in choices if one.on_paper]
    fits = list(dict.fromkeys(one.name for one in papers))
    own = [one for one in choices if not one.on_paper and one.name in fits]
    names = list(dict.fromkeys(one.on_paper for one in papers))
    found = [_tried(OWN, own, _machining(choices, {one.part for one in own}))] if own else []
    for name in names:
        ones = [one for one in papers if one.on_paper == name]
        found.append(_tried(name, ones, ones[0].paper_price))
    return tuple(row for rows in found for row in rows)


def _machining(choices: Sequence[Choice], parts: set[str]) -> Decimal | None:
    """What is priced for machining the engine's own part; None where it must be, and nobody has priced it."""
    sizes = [one for one in choices if one.kind in ("undersize", "oversize") and one.part in parts]
    lines = dict.fromkeys(line for one in sizes for line in one.work)
    if (sizes and not lines) or any(price is None for _, price in lines):
        return None
    return sum((price for _, price in lines if price is not None), Decimal(0))


def _tried(name: Text, choices: Sequence[Choice], price: Decimal | None) -> list[Tried]:
    costs = [one.cost for one in choices]
    serves = all(one.status != "none fits" for one in choices)
    whole = serves and price is not None and all(cost is not None for cost in costs)
    total = (price or Decimal(0)) + sum((cost for cost in costs if cost is not None), Decimal(0))
    rows = []
    for index, one in enumerate(choices):
        lows = [place.low for place in one.places if place.low is not None]
        highs = [place.high for place in one.places if place.high is not None]
        ends: Ends = (min(lows, default=None), max(highs, default=None))
        first = index == 0
        rows.append(
            Tried(
                name=name,
                what=one.title,
                status=one.status,
                answer=one.answer,
                unit=one.unit,
                decimals=one.decimals,
                clearance=ends,
                off=one.off,
                cost=one.cost,
                price=price if first else None,
                total=total if first and whole else None,
                serves=serves,
                first=first,
                notes=(*(one.own if first else ()), *_codes(one), *one.impossible, *one.decides),
            )
        )
    return rows


def _codes(one: Choice) -> list[str]:
    """Where the codes stamped on a part on paper say another grade than its readings."""
    differ = [place.position for place in one.places if place.agree is False]
    words = "The codes call for another grade at {places}: what was measured governs."
    return [Sentence(words, places=span(differ))] if differ and one.on_paper else []
