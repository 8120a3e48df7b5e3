"""The purchase list: what to buy, from whom, in which packs, and what became of each order."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal

from ..records.commerce import Order
from ..records.engine import Engine
from .prices import PriceLine, Purchase


def purchases(engine: Engine, lines: Sequence[PriceLine], orders: Sequence[Order]) -> tuple[Purchase, ...]:
    """One line for each part of the estimate that is bought, then orders of what is not (or no more) on it.

    Sorted by supplier, those without one last, and within a supplier in the
    order of the estimate.
    """
    found: list[Purchase] = []
    known: set[str] = set()
    for line in lines:
        if line.group != "part" or line.own:
            continue
        mine = [order for order in orders if order.part == line.number and line.number]
        known.add(line.number)
        chosen: list[Order | None] = [*mine] or [None]
        for order in chosen:
            counted = Decimal(order.quantity) if order and order.quantity is not None else line.quantity
            found.append(_purchase(engine, line.number, line.name, counted, order))
        got = sum((Decimal(one.quantity) for one in mine if one.quantity is not None), Decimal(0))
        short = line.quantity - got
        if mine and all(one.quantity is not None for one in mine) and short > 0:
            found.append(_purchase(engine, line.number, line.name, short, None))
    for order in orders:
        if order.part not in known:
            part = engine.parts.get(order.part)
            count = Decimal(order.quantity if order.quantity is not None else 1)
            found.append(_purchase(engine, order.part, part.name if part else order.part, count, order))
    names = [*sorted({one.supplier for one in found if one.supplier}), ""]
    return tuple(sorted(found, key=lambda one: names.index(one.supplier)))


def _purchase(engine: Engine, number: str, name: str, quantity: Decimal, order: Order | None) -> Purchase:
    part = engine.parts.get(number)
    pack = max(1, part.pack) if part else 1
    return Purchase(
        part=number,
        name=name,
        supplier=(order.supplier if order else None) or (part.supplier if part else None) or "",
        order_number=(order.number if order else None) or (part.order_number if part else None) or number,
        supersedes=tuple(part.supersedes) if part else (),
        quantity=quantity,
        pack=pack,
        packs=int((quantity / pack).to_integral_value(ROUND_CEILING)),
        days=part.days if part else None,
        ordered=order.ordered if order else None,
        received=order.received if order else None,
        measured=(order.measured if order else None) or "",
        returned=order.returned if order else None,
        return_by=order.return_by if order else None,
        note=(order.note if order else None) or "",
    )
