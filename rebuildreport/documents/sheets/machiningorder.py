"""Orders to machine shops: each on pages of its own, with nothing of the customer's.

In: the orders of an Assessment.  Out: a view in English.  Works out no size.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from msgspec import Struct

from ...assess.model.assessment import Assessment
from ...assess.model.choice import Operation, Outcome, Returned, ShopOrder
from ...assess.model.prices import FINISHED
from ...quantities import convert, message
from ...quantities.show import limit_texts
from ...trade.measuring.verdict import OPEN, Ends, middle_of
from ..press.codes import OUTCOMES
from ..press.enginewords import approval_lacks
from ..press.frame import Framed, framed
from ..press.language import opening, say, show, spoken, told
from ..press.words import NBSP, System, day, joined, money, other, place, places, standard_temperature, stop
from ..report.choice_views import expected
from ..report.findings import NO_PHOTOS, Album

TITLE = message("Machining order")
RULE = message(
    "All sizes at {standard}; 1 in = 25.4 mm, second unit for the finished sizes only. Measure every place, "
    "write it down with the instrument used, and send the readings back with the parts. Where the maker's "
    "service information and this order differ, the maker's comes first: call."
)
MUST = message({"finish": "Finish", "fillets": "Fillets", "oil holes": "Oil holes", "reference": "Reference"})
ABREAST = 8  # boxes that a hand can write in, side by side
Pairs = tuple[tuple[str, str], ...]


class Boxes(Struct, frozen=True):
    """Boxes for what is read: a column a place, a row a value."""

    places: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


class OperationView(Struct, frozen=True):
    """One line of an order."""

    number: str
    title: str
    where: str
    never: tuple[str, ...]
    report: tuple[str, ...]
    sizes: tuple[tuple[str, ...], ...]  # name, target, least, most, unit
    notes: Pairs
    boxes: tuple[Boxes, ...]
    told: bool  # nothing is read of it: what was found is written down in words


# a page that goes on with one order and ends with the next is headed by the one that it goes on with: "start"
# asks whether the page begins with an element that sets a string of that name
HEADS = (
    "@page{@top-right{content:element(right,start)}}@page:first{@top-right{content:element(right)}}"
    '.order>h1{string-set:right ""}'
)


class OrderView(Struct, frozen=True):
    """One order, one machine shop."""

    anchor: str
    title: str
    running: str  # head of its further pages
    call: str  # the number to call before going on
    ceiling: str
    facts: Pairs
    missing: tuple[str, ...]
    never: tuple[str, ...]
    operations: tuple[OperationView, ...]
    returned: tuple[tuple[str, ...], ...]
    state: str
    done: bool  # the engine has left: nothing is to be signed any more, and it needs no page of its own


class MachiningOrders(Framed, frozen=True):
    """The document."""

    engine: str
    rule: str
    orders: tuple[OrderView, ...]


def machining_orders(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> MachiningOrders:
    """The orders of one job; of the engine only maker and model are named, of the job nothing."""
    orders = tuple(_order(job, order) for order in job.orders)
    return MachiningOrders(
        frame=framed(
            job,
            say(TITLE),
            say(TITLE),
            named=False,
            style=HEADS,
            sections=tuple((order.anchor, order.title) for order in orders),
        ),
        engine=job.engine.full_name,
        rule=say(RULE, standard=standard_temperature(job.system)),
        orders=orders,
    )


def _order(job: Assessment, order: ShopOrder) -> OrderView:
    head = job.letterhead
    house = (job.shop, ", ".join(head.address) or job.contact, head.email)
    part = f"{joined(map(told, order.parts))}, {job.engine.full_name}"
    title = f"{say(TITLE)} {order.name}"
    facts = [
        (say("To"), order.to),
        (say("From"), " · ".join(filter(None, house))),
        (say("Parts"), _of_job(part, job)),
        (say("Sent"), day(order.sent)),
        (say("Wanted back by"), day(order.wanted)),
        (say("Work as priced"), _as_priced(order)),
        (say("Goes along"), "; ".join(order.goes_along)),
        (say("Finish to"), "; ".join(order.supplied)),
        (say("First"), "; ".join(order.before)),
        (say("Last"), "; ".join(order.after)),
        (say("Comes back"), "; ".join(order.comes_back)),
        (say("Note"), order.note),
    ]
    operations = {operation.number: operation for operation in order.operations}
    back = [_back(job, operations[line.operation], line) for line in order.returned]
    done = job.stage in FINISHED
    return OrderView(
        anchor=f"order-{order.name.lower()}",
        title=title,
        running=f"{_of_job(title, job)} · {job.engine.full_name}",
        call=head.telephone.replace(" ", NBSP) or job.contact,
        ceiling=_ceiling(order.price_limit, order.currency),
        facts=tuple((name, text) for name, text in facts if text),
        missing=tuple(_against(job, order)),
        never=tuple(stop(opening(text)) for text in order.never),
        operations=tuple(_operation(job, order, operation) for operation in order.operations),
        returned=tuple(sorted((*back, *_not_read(order)), key=lambda row: int(row[0]))),
        state=_state({line.outcome for line in order.returned}, order, done),
        done=done,
    )


def _against(job: Assessment, order: ShopOrder) -> Iterator[str]:
    """Why it is not to be sent yet: the customer's word first, as the purchase list has it."""
    if order.sent is None and (lacks := approval_lacks(job)):
        yield stop(say("Approval: {what}", what=lacks))
    yield from (stop(opening(text)) for text in order.missing)


def _of_job(what: str, job: Assessment) -> str:
    number = job.number if job.number != job.job else ""  # a name without one may be the customer's
    return say("{parts}, job {job}", parts=what, job=number) if number else what


def _not_read(order: ShopOrder) -> Iterator[tuple[str, ...]]:
    """The lines of an order that came back of which nothing was read since: they are not told as accepted."""
    read = {line.operation for line in order.returned}
    for operation in order.operations if order.returned else ():
        if operation.feature and operation.number not in read:
            spots = places([*map(place, operation.positions)])
            yield str(operation.number), told(operation.surface), spots, "", say("not measured")


def _state(outcomes: set[Outcome], order: ShopOrder, done: bool) -> str:
    """What came of an order as a whole; nothing before anything has come back."""
    if not outcomes:
        asked = any(operation.targeted for operation in order.operations)
        words = message("Nothing of it was read again." if asked else "No readings of it were asked for.")
        return say(words) if done else ""
    bad = [say(code) for code in OUTCOMES if code in outcomes - {"accepted", "accepted by deviation"}]
    if bad:
        return say("Back and measured: {outcomes} among it.", outcomes=", ".join(bad))
    if any(_not_read(order)):
        return say("Back, and accepted as far as it was measured.")
    return say("Back, measured and accepted.")


def _back(job: Assessment, operation: Operation, line: Returned) -> tuple[str, ...]:
    return (
        str(line.operation),
        f"{told(operation.surface)}, {told(line.what)}",
        places([*map(place, line.positions)]),
        _span(job, operation, line),
        _outcome(line),
    )


def _outcome(line: Returned) -> str:
    said, note = say(line.outcome), told(line.note)
    by_deviation = line.outcome == "accepted by deviation"
    return f"{said} {note}" if note and by_deviation else f"{said}: {note}" if note else said


def _span(job: Assessment, operation: Operation, line: Returned) -> str:
    """What came back, from the least to the greatest, each on its own side of the limits."""
    unit = operation.unit or "mm"
    ends = [end for end in (line.low, line.high) if end is not None]
    return "–".join(
        dict.fromkeys(show(end, unit, line.decimals, job.system, line.limits).text for end in ends)
    )


def _as_priced(order: ShopOrder) -> str:
    """The words of the lines that price the work, each part named once."""
    works: dict[str, list[str]] = {}
    for part, work in order.agreed:
        works.setdefault(told(part), []).append(work)
    return ". ".join(f"{part}: {'; '.join(listed)}" for part, listed in works.items())


def _ceiling(amount: Decimal | None, currency: str) -> str:
    if amount is None:
        return ""
    words = message("{amount} before tax: call before exceeding it")
    return say(words, amount=f"{money(amount)}{NBSP}{currency}")


def _sizes(job: Assessment, operation: Operation) -> Iterator[tuple[str, ...]]:
    """What it must come to, a line each; of a finished size in both systems: hands hold either tool.

    To its supplied piston, inside the limits of the sheet, where that piston was measured.
    """
    own = [spot for spot, _ in operation.supplied]
    rest = [spot for spot in operation.positions if spot not in own]
    alike: dict[Ends, list[str]] = {}  # bores of one size stand in one line
    for spot, ends in operation.supplied:
        alike.setdefault(ends, []).append(place(spot))
    finished = [
        (say("Finished size {place}, to its piston", place=places(spots)), ends)
        for ends, spots in alike.items()
    ]
    if operation.size != OPEN and (rest or not own):
        waiting = say("Finished size {place}, its piston not measured yet", place=", ".join(map(place, rest)))
        finished.append((waiting if own else say("Finished size"), operation.size))
    unit, decimals = operation.unit or "mm", operation.decimals
    for name, ends in finished:
        target = ends[1] if operation.remove is not None else middle_of(ends)
        yield _size(name, target, ends, unit, decimals, job.system)
        beside = _size("", target, ends, unit, decimals, other(job.system))
        if beside[-1] != show(0.0, unit, decimals, job.system).unit:
            yield beside
    for limit in operation.form:
        target = 0.0 if limit.from_zero else middle_of(limit.ends)
        yield _size(opening(limit.title), target, limit.ends, unit, limit.decimals, job.system)


def _size(
    name: str, target: float | None, ends: Ends, unit: str, decimals: int, system: System
) -> tuple[str, ...]:
    if target is not None and target == ends[1]:
        decimals = _telling(target, unit, decimals, system)
    least, most = limit_texts(*ends, unit, decimals, system)
    word = show(0.0, unit, decimals, system).unit
    if not target:
        return name, "" if target is None else "0", *map(spoken().figures, (least, most)), word
    # to as many places as its limits: rounded to fewer it could stand beside them as a size of its own
    decimals = max(len(text.partition(".")[2]) for text in (least, most))
    aim = f"{convert(target, unit, word):.{decimals}f}"
    # limits are rounded inwards: a target at one of them is that limit, as it is printed
    aim = {ends[0]: least, ends[1]: most}.get(target, aim)
    return name, *map(spoken().figures, (aim, least, most)), word


def _telling(left: float, unit: str, decimals: int, system: System) -> int:
    """Decimals at which what a cut leaves reads the same rounded inwards, as a limit, and to the nearest.

    To the nearest it is told beside the order, and in the report: 4.570 in here would belie 4.571 in there.
    """
    for finer in range(decimals, decimals + 3):
        if limit_texts(None, left, unit, finer, system)[1] == show(left, unit, finer, system).text:
            return finer
    return decimals


def _operation(job: Assessment, order: ShopOrder, operation: Operation) -> OperationView:
    boxes = () if order.returned or job.stage in FINISHED else tuple(_boxes(job, operation))
    unknown = operation.feature and not operation.targeted
    call = say("no limit for new work is on file: call before it is finished") if unknown else ""
    notes = [
        (say("To come to"), call),
        *((say(MUST[name]), told(text)) for name, text in operation.must),
        (say("It leaves"), "; ".join(expected(effect, job.system) for effect in operation.effects)),
        (say("First"), "; ".join(operation.before)),
        (say("Last"), "; ".join(operation.after)),
        (say("Price ceiling"), _ceiling(operation.price_limit, order.currency)),
        (say("Limits from"), "" if unknown else told(operation.source)),
    ]
    return OperationView(
        number=str(operation.number),
        title=f"{told(operation.surface)}: {told(operation.work)}",
        where=places([*map(place, operation.positions)]),
        never=tuple(stop(opening(text)) for text in operation.never),
        report=tuple(told(text) for text in operation.report),
        sizes=tuple(_sizes(job, operation)),
        notes=tuple((name, text) for name, text in notes if text),
        boxes=boxes,
        told=not (boxes or order.returned or job.stage in FINISHED),
    )


def _boxes(job: Assessment, operation: Operation) -> Iterator[Boxes]:
    """A box for each value that is to come back, at each place where it is read."""
    unit = show(0.0, operation.unit or "mm", operation.decimals, job.system).unit
    form = [opening(limit.title) for limit in operation.form]
    sized = form
    if operation.size != OPEN:
        # what is turned or bored is read more than once at a place; a height is one reading
        cut = operation.remove is not None
        sized = [say("Finished size")] if cut else [say("Largest"), say("Smallest")]
    for number, (_, positions) in enumerate(operation.spots):
        rows = [f"{name}, {unit}" for name in (form if number else sized)]
        for first in range(0, len(positions) if rows else 0, ABREAST):
            some = tuple(map(place, positions[first : first + ABREAST]))
            yield Boxes(some, tuple((row, ("",) * len(some)) for row in rows))
