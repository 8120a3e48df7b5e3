"""Orders to machine shops: each on pages of its own, with nothing of the customer's.

In: the orders of an Assessment.  Out: a view.  Works out no size.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.choice import Ends, Operation, Outcome, Returned, ShopOrder
from ...quantities import message
from ..press.codes import OUTCOMES
from ..press.frame import Framed, framed
from ..press.language import opening, say, show, show_limits, told
from ..press.words import NBSP, day, joined, money, other, place, stop
from ..report.choice_views import expected
from ..report.findings import NO_PHOTOS, Album

TITLE = message("Machining order")
RULE = message(
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
    """The document."""

    engine: str
    rule: str
    orders: tuple[OrderView, ...]


def is_ordered(job: Assessment) -> bool:
    """Whether there are orders to a machine shop."""
    return bool(job.orders)


def machining_orders(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> MachiningOrders:
    """The orders of one job; of the engine only maker and model are named, of the job nothing."""
    orders = tuple(_order(job, order) for order in job.orders)
    return MachiningOrders(
        frame=framed(
            job,
            say(TITLE),
            say(TITLE),
            named=False,
            paged=len(orders) > 1,
            sections=tuple((order.anchor, order.title) for order in orders),
        ),
        engine=job.engine.full_name,
        rule=say(RULE),
        orders=orders,
    )


def _order(job: Assessment, order: ShopOrder) -> OrderView:
    facts = [
        (say("To"), order.to),
        (say("From"), ", ".join(text for text in (job.shop, job.contact) if text)),
        (say("Our job"), _job_number(job.job)),
        (say("Parts sent"), joined(map(told, order.parts))),
        (say("Work agreed"), "; ".join(f"{told(part)}: {work}" for part, work in order.agreed)),
        (say("Sent"), day(order.sent)),
        (say("Wanted back by"), day(order.wanted)),
        (say("Price ceiling"), _ceiling(order.price_limit, order.currency)),
        *(
            (head, "; ".join(map(told, texts)))
            for head, texts in (
                (say("Goes along"), order.goes_along),
                (say("Finish to"), order.supplied),
                (say("First"), order.before),
                (say("Last"), order.after),
                (say("Comes back"), order.comes_back),
            )
        ),
        (say("Note"), told(order.note)),
    ]
    operations = {operation.number: operation for operation in order.operations}
    return OrderView(
        anchor=f"order-{order.name.lower()}",
        title=f"{say(TITLE)} {order.name}, {order.to}",
        facts=tuple((name, text) for name, text in facts if text),
        missing=tuple(stop(opening(text)) for text in order.missing),
        never=tuple(stop(opening(text)) for text in order.never),
        operations=tuple(_operation(job, operation, order.currency) for operation in order.operations),
        returned=tuple(_back(job, operations[line.operation], line) for line in order.returned),
        state=_state({line.outcome for line in order.returned}),
    )


def _job_number(job: str) -> str:
    """The number that a job's folder begins with: the rest of its name may be the customer's.

    >>> _job_number("2031-014-somebody"), _job_number("old-engine")
    ('2031-014', '')
    """
    number = re.match(r"\d+(-\d+)*", job)
    return number[0] if number else ""


def _state(outcomes: set[Outcome]) -> str:
    """What came of an order as a whole; nothing before anything has come back."""
    if not outcomes:
        return ""
    bad = [say(word) for code, word in OUTCOMES.items() if code in outcomes and "accepted" not in code]
    if not bad:
        return say("Back, measured and accepted.")
    return say("Back and measured: {outcomes} among it.", outcomes=", ".join(bad))


def _back(job: Assessment, operation: Operation, line: Returned) -> tuple[str, ...]:
    return (
        str(line.operation),
        f"{told(operation.surface)}, {told(line.what)}",
        ", ".join(map(place, line.positions)),
        _span(job, operation, line),
        say(OUTCOMES[line.outcome]),
        told(line.note),
    )


def _span(job: Assessment, operation: Operation, line: Returned) -> str:
    """What came back, from the least to the greatest, each on its own side of the limits."""
    unit = operation.unit or "mm"
    ends = [end for end in (line.low, line.high) if end is not None]
    return "–".join(
        dict.fromkeys(show(end, unit, line.decimals, job.system, line.limits).text for end in ends)
    )


def _both(job: Assessment, operation: Operation, ends: Ends, decimals: int) -> str:
    """Limits in the shop's unit with the other system behind them, wider in neither."""
    unit = operation.unit or "mm"
    first, second = (show_limits(*ends, unit, decimals, system) for system in (job.system, other(job.system)))
    word, beside = (show(0.0, unit, decimals, system).unit_text for system in (job.system, other(job.system)))
    return f"{first}{NBSP}{word}" + (f" ({second}{NBSP}{beside})" if beside != word else "")


def _ceiling(amount: Decimal | None, currency: str) -> str:
    if amount is None:
        return ""
    words = message("{amount}, before tax: call before exceeding it")
    return say(words, amount=f"{money(amount)}{NBSP}{currency}")


def _sizes(job: Assessment, operation: Operation) -> list[tuple[str, str | tuple[str, ...]]]:
    """The one size that counts at each place: to its supplied piston where measured, else of the sheet."""
    facts: list[tuple[str, str | tuple[str, ...]]] = []
    sheet = _both(job, operation, operation.size, operation.decimals)
    if operation.supplied:
        each = tuple(
            say("{place} to {size}", place=place(spot), size=_both(job, operation, ends, operation.decimals))
            for spot, ends in operation.supplied
        )
        facts.append((say("Finished size, to the supplied piston: this counts"), each))
    if operation.size == (None, None):
        return facts
    own = {spot for spot, _ in operation.supplied}
    rest = ", ".join(place(spot) for spot in operation.positions if spot not in own)
    if not own:
        facts.append((say("Finished size"), sheet))
    elif rest:
        facts.append(
            (say("Finished size, piston not measured yet"), say("{place} to {size}", place=rest, size=sheet))
        )
    else:
        words = message("{size}, for comparison: do not finish to these")
        facts.append((say("Limits of the sheet only"), say(words, size=sheet)))
    return facts


def _operation(job: Assessment, operation: Operation, currency: str) -> OperationView:
    form = [
        (opening(limit.title), _both(job, operation, limit.ends, limit.decimals)) for limit in operation.form
    ]
    facts: list[tuple[str, str | tuple[str, ...]]] = [
        (say("Part"), told(operation.part)),
        (say("Where"), ", ".join(map(place, operation.positions))),
        *_sizes(job, operation),
        *form,
        (
            say("To come to"),
            "" if operation.targeted else say("no limit is on file: call before it is finished"),
        ),
        *((opening(name), told(text)) for name, text in operation.must),
        (say("What it leaves"), tuple(expected(effect, job.system) for effect in operation.effects)),
        (say("First"), "; ".join(map(told, operation.before))),
        (say("Last"), "; ".join(map(told, operation.after))),
        (say("Send back"), "; ".join(map(told, operation.report))),
        (say("Limits from"), told(operation.source)),
        (say("Price ceiling"), _ceiling(operation.price_limit, currency)),
    ]
    # a box for each place where there is a size to write down, and room for them
    sized = operation.size != (None, None) and len(operation.positions) <= 12
    return OperationView(
        number=str(operation.number),
        title=f"{told(operation.surface)}: {told(operation.work)}",
        facts=tuple((head, text) for head, text in facts if text),
        never=tuple(stop(opening(text)) for text in operation.never),
        boxes=tuple(map(place, operation.positions)) if sized else (),
    )
