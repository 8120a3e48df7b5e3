"""The purchase list: what to buy, from whom, in which packs, and what became of each order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_CEILING, Decimal

from ...quantities import Sentence, Text, Typed
from ...records.files.commerce import PartsOrder
from ...records.files.sheet import Engine, Part
from ..model.choice import Buy, Choice
from ..model.prices import PriceLine, Purchase


def purchases(
    engine: Engine, lines: Sequence[PriceLine], orders: Sequence[PartsOrder], chosen: Sequence[Choice] = ()
) -> tuple[Purchase, ...]:
    """One line for each part of the estimate that is bought, then orders of what is not (or no more) on it.

    What was sent back is asked for again: goods, that is, not the old part that
    a deposit stands for.  What lies on the shelf is not ordered.  Sorted by
    supplier, those without one last, and within a supplier in the order of the
    estimate.  ``chosen``: the choices that the estimate buys by, provisional ones among them.
    """
    found: list[Purchase] = []
    known: set[str] = set()
    buys = [buy for choice in chosen for buy in choice.buy if buy.part]
    waits = {buy.part for choice in chosen if not choice.settled for buy in choice.buy}
    for line in lines:
        if line.group != "part" or line.own:
            continue
        mine = [one for one in orders if line.number and engine.number_now(one.part) == line.number]
        known.update([line.number, *(one.part for one in mine)])
        which = [buy for buy in buys if buy.part == line.number]
        shelf = min(line.quantity, Decimal(sum(buy.shelf for buy in which)))
        found += [_purchase(engine, line.number, line.name, line.quantity, one, which) for one in mine]
        kept = [one for one in mine if not _sent_back(engine, line.number, one)]
        got = sum((Decimal(one.quantity) for one in kept if one.quantity is not None), Decimal(0))
        short = Decimal(0) if any(one.quantity is None for one in kept) else line.quantity - got
        if short > 0:
            one = _purchase(engine, line.number, line.name, short, None, which, min(short, shelf))
            note = Sentence("provisional: not to be ordered before it is settled")
            found.append(replace(one, note=note) if line.number in waits else one)
    for order in orders:
        if order.part not in known:
            number = engine.number_now(order.part)
            part = engine.parts.get(number)
            found.append(_purchase(engine, number, Typed(part.name if part else number), Decimal(1), order))
    names = [*sorted({one.supplier for one in found if one.supplier}), ""]
    return tuple(sorted(found, key=lambda one: names.index(one.supplier)))


def _sent_back(engine: Engine, number: str, order: PartsOrder) -> bool:
    """Whether the goods themselves went back; where a deposit is on the old part, it was that."""
    part = engine.parts.get(number)
    return order.returned is not None and not (part and part.core is not None)


def _purchase(
    engine: Engine,
    number: str,
    name: Text,
    quantity: Decimal,
    order: PartsOrder | None,
    which: Sequence[Buy] = (),
    shelf: Decimal = Decimal(0),
) -> Purchase:
    part = engine.parts.get(number) or Part(name=number)
    bought = order or PartsOrder(part=number)
    if bought.quantity is not None:
        quantity = Decimal(bought.quantity)
    return Purchase(
        part=number,
        name=name,
        supplier=bought.supplier or part.supplier or "",
        order_number=bought.number or part.order_number or number,
        supersedes=tuple(part.supersedes),
        quantity=quantity,
        pack=max(1, part.pack),
        packs=int(((quantity - shelf) / max(1, part.pack)).to_integral_value(ROUND_CEILING)),
        days=part.days,
        ordered=bought.ordered,
        received=bought.received,
        measured=bought.measured or "",
        returned=bought.returned,
        return_by=bought.return_by,
        note=Typed(bought.note or ""),
        which=tuple(Sentence("{count} of {what}", count=buy.quantity, what=buy.what) for buy in which),
        shelf=shelf,
    )
