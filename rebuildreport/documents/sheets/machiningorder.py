"""Orders to machine shops: each on pages of its own, with nothing of the customer's."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.choice import Ends, Operation, Returned, ShopOrder
from ...quantities import show, show_limits
from ..press.frame import Framed
from ..press.language import told
from ..press.words import NBSP, capital, day, joined, money, other, place, stop
from ..report.choice_views import expected

TITLE = "Machining order"
RULE = (
    "All sizes at 20 °C. Measure every place, write it down with the instrument used, and send the readings "
    "back with the parts. Where a size cannot be held, stop and call. Where the maker's service information "
    "and this order differ, the maker's comes first: call."
)
Facts = tuple[tuple[str, str | tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class OperationView:
    """One line of an order."""

    number: str
    title: str
    facts: Facts
    never: tuple[str, ...]
    boxes: tuple[str, ...]  # positions whose finished size is to be written down


@dataclass(frozen=True, slots=True)
class OrderView:
    """One order, one machine shop."""

    anchor: str
    title: str
    facts: Facts
    missing: tuple[str, ...]
    never: tuple[str, ...]
    operations: tuple[OperationView, ...]
    returned: tuple[tuple[str, ...], ...]
    state: str


@dataclass(frozen=True, slots=True)
class MachiningOrders(Framed):
    """The document, with what its frame asks for."""

    engine: str
    rule: str
    orders: tuple[OrderView, ...]


def is_ordered(one: Assessment) -> bool:
    """Whether there are orders to a machine shop."""
    return bool(one.orders)


def machining_orders(one: Assessment, shop: Path | None = None) -> MachiningOrders:
    """The orders of one job.

    Of the job only its number is named, and of the engine maker and model.
    """
    engine = f"{one.engine.maker} {one.engine.model}".strip()
    views = tuple(_order(one, order) for order in one.orders)
    return MachiningOrders(
        title=TITLE,
        lang="en",
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        head=f"{TITLE} · {engine}",
        description=f"{TITLE}, {engine}",
        paged=len(views) > 1,
        sections=tuple((view.anchor, view.title) for view in views),
        engine=engine,
        rule=RULE,
        orders=views,
    )


def _order(one: Assessment, order: ShopOrder) -> OrderView:
    limit = _money(order.price_limit, order.currency)
    facts = [
        ("To", order.to),
        ("Parts sent", capital(joined(order.parts))),
        ("Sent", day(order.sent)),
        ("Wanted back by", day(order.wanted)),
        ("Price ceiling", f"{limit}, before tax: call before exceeding it" if limit else ""),
        ("Goes along", "; ".join(order.goes_along)),
        ("Finish to", "; ".join(order.supplied)),
        ("First", "; ".join(order.before)),
        ("Last", "; ".join(order.after)),
        ("Comes back", "; ".join(order.comes_back)),
        ("Note", order.note),
    ]
    settled = [line.outcome for line in order.returned]
    state = ""
    if settled:
        bad = [word for word in ("rejected", "too close to call", "not measured") if word in settled]
        state = f"Back and measured: {', '.join(bad)} among it." if bad else "Back, measured and accepted."
    surfaces = {operation.number: operation for operation in order.operations}
    return OrderView(
        anchor=f"order-{order.name.lower()}",
        title=f"{TITLE} {order.name}, {order.to}",
        facts=tuple((name, capital(text)) for name, text in facts if text),
        missing=tuple(stop(capital(text)) for text in order.missing),
        never=tuple(stop(capital(text)) for text in order.never),
        operations=tuple(_operation(one, operation, order.currency) for operation in order.operations),
        returned=tuple(
            (
                f"{line.operation}",
                f"{told(surfaces[line.operation].surface)}, {line.what}",
                ", ".join(place(p) for p in line.positions),
                _span(one, surfaces[line.operation], line),
                line.outcome,
                line.note,
            )
            for line in order.returned
        ),
        state=state,
    )


def _span(one: Assessment, operation: Operation, line: Returned) -> str:
    """What came back, from the least to the greatest, each on its own side of the limits."""
    unit = operation.unit or "mm"
    ends = [end for end in (line.low, line.high) if end is not None]
    return "–".join(
        dict.fromkeys(show(end, unit, line.decimals, one.system, line.limits).text for end in ends)
    )


def _both(one: Assessment, operation: Operation, ends: Ends, decimals: int) -> str:
    """Limits in the shop's unit with the other system behind them, wider in neither."""
    unit = operation.unit or "mm"
    first, second = (show_limits(*ends, unit, decimals, system) for system in (one.system, other(one.system)))
    word, beside = (show(0.0, unit, decimals, system).unit_text for system in (one.system, other(one.system)))
    return f"{first}{NBSP}{word}" + (f" ({second}{NBSP}{beside})" if beside != word else "")


def _money(amount: Decimal | None, currency: str) -> str:
    return "" if amount is None else f"{money(amount)}{NBSP}{currency}"


def _sizes(one: Assessment, operation: Operation) -> list[tuple[str, str | tuple[str, ...]]]:
    """The one size that counts at each place: to its supplied piston where measured, else of the sheet."""
    facts: list[tuple[str, str | tuple[str, ...]]] = []
    sheet = _both(one, operation, operation.size, operation.decimals)
    if operation.supplied:
        each = tuple(
            f"{place(spot)} to {_both(one, operation, ends, operation.decimals)}"
            for spot, ends in operation.supplied
        )
        facts.append(("Finished size, to the supplied piston: this counts", each))
    if operation.size == (None, None):
        return facts
    own = {spot for spot, _ in operation.supplied}
    rest = ", ".join(place(spot) for spot in operation.positions if spot not in own)
    if not own:
        facts.append(("Finished size", sheet))
    elif rest:
        facts.append(("Finished size, piston not measured yet", f"{rest} to {sheet}"))
    else:
        facts.append(("Limits of the sheet only", f"{sheet}, for comparison: do not finish to these"))
    return facts


def _operation(one: Assessment, operation: Operation, currency: str) -> OperationView:
    where = ", ".join(place(position) for position in operation.positions)
    facts: list[tuple[str, str | tuple[str, ...]]] = [("Where", where)]
    facts += _sizes(one, operation)
    for name, ends in operation.form.items():
        facts.append((capital(name), _both(one, operation, ends, operation.form_decimals.get(name, 3))))
    facts += [(capital(name), text) for name, text in operation.must]
    if operation.effects:
        facts.append(("What it leaves", tuple(expected(effect, one.system) for effect in operation.effects)))
    facts += [("First", "; ".join(operation.before))] if operation.before else []
    facts += [("Last", "; ".join(operation.after))] if operation.after else []
    facts += [("Send back", "; ".join(operation.report))] if operation.report else []
    facts += [("Limits from", told(operation.source))] if operation.source else []
    if limit := _money(operation.price_limit, currency):
        facts.append(("Price ceiling", f"{limit}, before tax: call before exceeding it"))
    sized = operation.size != (None, None) and len(operation.positions) <= 12
    return OperationView(
        number=str(operation.number),
        title=f"{told(operation.surface)}: {operation.work}",
        facts=tuple(facts),
        never=tuple(stop(capital(text)) for text in operation.never),
        boxes=tuple(place(position) for position in operation.positions) if sized else (),
    )
