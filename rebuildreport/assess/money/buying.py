"""The purchase list: what to buy, from whom, in which packs, and what became of each order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import ROUND_CEILING, Decimal

from msgspec.structs import replace

from ...quantities import Sentence, Text, Typed
from ...records.files.commerce import PartsOrder
from ...records.files.sheet import Engine
from ..model.choice import Buy, Choice
from ..model.edition import copied
from ..model.prices import PriceLine, Purchase


def purchases(
    engine: Engine,
    lines: Sequence[PriceLine],
    orders: Sequence[PartsOrder],
    chosen: Sequence[Choice] = (),
    bought: Sequence[Choice] = (),
) -> tuple[Purchase, ...]:
    """One line for each part of the estimate that is bought, then orders of what is not (or no more) on it.

    What was sent back is asked for again: goods, that is, not the old part that
    a deposit stands for.  What lies on the shelf is not ordered.  Sorted by
    supplier, those without one last, and within a supplier in the order of the
    estimate.  ``chosen``: every choice of the job; ``bought``: those that the estimate buys by.  A part of
    every rebuild waits for its grade as one does that somebody asked for.
    """
    ordered: list[Purchase] = []
    unsettled = [one for one in bought if not one.settled]
    unsettled += [one for one in chosen if one.status == "provisional" and not one.on_paper]
    waits = {buy.part for choice in unsettled for buy in choice.buy}
    known: set[str] = set()
    for line in lines:
        if line.group == "part" and not line.own:
            mine = [one for one in orders if line.number and engine.number_now(one.part) == line.number]
            known.update([line.number, *(one.part for one in mine)])
            ordered += _line(engine, line, mine, bought, line.number in waits)
    for order in orders:
        if order.part not in known:
            number = engine.number_now(order.part)
            name = Typed(engine.part(number).name)
            ordered.append(_purchase(engine, number, name, Decimal(1), order))
    names = [*sorted({one.supplier for one in ordered if one.supplier}), ""]
    return tuple(sorted(ordered, key=lambda one: names.index(one.supplier)))


def _line(
    engine: Engine, line: PriceLine, mine: Sequence[PartsOrder], bought: Sequence[Choice], waits: bool
) -> Iterator[Purchase]:
    """The orders of one line, and what of it is still to be ordered.

    The goods themselves went back where no deposit is on the old part, else it was that.  An order that says
    no number is of all.
    """
    which = [buy for choice in bought for buy in choice.buy if buy.part and buy.part == line.number]
    for order in mine:
        yield _purchase(engine, line.number, line.name, line.quantity, order, which)
    cored = engine.part(line.number).core is not None
    kept = [order.quantity for order in mine if order.returned is None or cored]
    short = line.quantity - sum((Decimal(count) for count in kept if count is not None), Decimal(0))
    if None in kept or short <= 0:
        return
    shelf = min(short, line.quantity, Decimal(sum(buy.shelf for buy in which)))
    wanted = _purchase(engine, line.number, line.name, short, None, which, shelf)
    if waits:
        wanted = replace(wanted, note=Sentence("provisional: not to be ordered before it is settled"))
    yield wanted


def _purchase(
    engine: Engine,
    number: str,
    name: Text,
    quantity: Decimal,
    order: PartsOrder | None,
    which: Sequence[Buy] = (),
    shelf: Decimal = Decimal(0),
) -> Purchase:
    part = engine.part(number)
    bought = order or PartsOrder(part=number)
    if bought.quantity is not None:
        quantity = Decimal(bought.quantity)
    return copied(
        Purchase,
        bought,
        part=number,
        name=name,
        supplier=bought.supplier or part.supplier,
        order_number=bought.number or part.order_number or number,
        supersedes=tuple(part.supersedes),
        quantity=quantity,
        pack=max(1, part.pack),
        packs=int(((quantity - shelf) / max(1, part.pack)).to_integral_value(ROUND_CEILING)),
        days=part.days,
        note=Typed(bought.note),
        which=tuple(Sentence("{count} × {what}", count=buy.quantity, what=buy.what) for buy in which),
        shelf=shelf,
    )
