"""The purchase list, for the shop: what to buy from whom, in which packs, and what has come of it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.prices import Purchase
from ..press.frame import Framed
from ..press.language import told
from ..press.words import NBSP, capital, day, plain

COLUMNS = (
    ("number", "nw"),
    ("part", ""),
    ("needed", "r"),
    ("to order", "nw"),
    ("ordered", "nw"),
    ("received", "nw"),
    ("measured on receipt", ""),
    ("returned", "nw"),
    ("remarks", ""),
)
Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PurchaseView(Framed):
    """The list as its template sees it."""

    subject: str
    facts: tuple[tuple[str, str], ...]
    suppliers: tuple[tuple[str, tuple[tuple[str, str], ...], tuple[Row, ...]], ...]
    nothing: str


def is_bought(one: Assessment) -> bool:
    """Whether anything is to be bought."""
    return bool(one.cost.purchases)


def purchase_list(one: Assessment, shop: Path | None = None) -> PurchaseView:
    """The list by supplier; parts that nobody is named for come last."""
    name = " ".join(part for part in (one.engine.maker, one.engine.model) if part) or one.engine.name
    suppliers = tuple(
        (supplier or "No supplier named", COLUMNS, tuple(_row(line) for line in lines))
        for supplier, lines in groupby(one.cost.purchases, key=lambda line: line.supplier)
    )
    wanted = [line for line in one.cost.purchases if line.packs or line.ordered]
    waiting = sum(line.received is None for line in wanted)
    return PurchaseView(
        title=f"Purchase list, {one.job}",
        lang="en",
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        head=f"Job {one.job} · {name} · purchase list, as of {day(one.as_of)}",
        description=f"Purchase list of job {one.job}, {name}",
        paged=False,
        sections=(),
        subject=f"Purchase list: {one.title}",
        facts=(
            ("Job", one.job),
            ("Engine", name),
            ("As of", day(one.as_of)),
            (
                "Not received",
                f"{waiting} of {len(wanted)}" if waiting else f"nothing, all {len(wanted)} are here",
            ),
            ("Approval", "; ".join(map(told, one.cost.stops)) or "nothing stands against ordering"),
        ),
        suppliers=suppliers,
        nothing="Nothing is to be bought yet.",
        style="@page{size:A4 landscape}",
    )


def _row(line: Purchase) -> Row:
    order = f"{line.packs} packs of {line.pack}" if line.pack > 1 else plain(line.quantity - line.shelf)
    if line.pack > 1 and line.packs == 1:
        order = f"1 pack of {line.pack}"
    if not line.packs:
        order = "none"
    remarks = [
        ", ".join(map(told, line.which)),
        f"{plain(line.shelf)} on the shelf" if line.shelf else "",
        f"our number {line.part}" if line.order_number != line.part else "",
        f"supersedes {', '.join(line.supersedes)}" if line.supersedes else "",
        f"{line.days} days to come" if line.days is not None and line.received is None else "",
        f"old part back by {day(line.return_by)}" if line.return_by and not line.returned else "",
        told(line.note),
    ]
    return (
        line.order_number,
        told(line.name),
        plain(line.quantity),
        order.replace(" ", NBSP),
        day(line.ordered),
        day(line.received),
        line.measured,
        day(line.returned),
        capital("; ".join(text for text in remarks if text)),
    )
