"""The purchase list, for the shop: what to buy from whom, in which packs, and what has come of it.

In: an Assessment.  Out: a view in English.  Works out no quantity.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.prices import Purchase
from ..press.frame import Framed, framed
from ..press.language import told
from ..press.words import NBSP, day, plain
from ..report.findings import NO_PHOTOS, Album

TITLE = "Purchase list"
Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PurchaseView(Framed):
    """The list as its template sees it."""

    subject: str
    facts: tuple[tuple[str, str], ...]
    suppliers: tuple[tuple[str, tuple[Row, ...]], ...]


def is_bought(job: Assessment) -> bool:
    """Whether anything is to be bought."""
    return bool(job.cost.purchases)


def purchase_list(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> PurchaseView:
    """The list by supplier; parts that nobody is named for come last."""
    suppliers = tuple(
        (supplier or "No supplier named", tuple(map(_row, lines)))
        for supplier, lines in groupby(job.cost.purchases, key=lambda line: line.supplier)
    )
    return PurchaseView(
        frame=framed(job, TITLE, f"{TITLE}, {job.job}", style="@page{size:A4 landscape}"),
        subject=f"{TITLE}: {job.title}",
        facts=(
            ("Job", job.job),
            ("Engine", job.engine.full_name),
            ("As of", day(job.as_of)),
            ("Not received", _waiting(job.cost.purchases)),
            ("Approval", _approval(job)),
        ),
        suppliers=suppliers,
    )


def _approval(job: Assessment) -> str:
    """Whether anything stands against ordering, as the estimate has it."""
    if job.cost.approval(job.stage) == "wanted":
        return "not given yet: nothing is ordered before"
    return "; ".join(map(told, job.cost.stops)) or "nothing stands against ordering"


def _waiting(purchases: tuple[Purchase, ...]) -> str:
    wanted = [line for line in purchases if line.packs or line.ordered]
    waiting = sum(line.received is None for line in wanted)
    return f"{waiting} of {len(wanted)}" if waiting else f"nothing, all {len(wanted)} are here"


def _row(line: Purchase) -> Row:
    return (
        line.order_number,
        told(line.name),
        plain(line.quantity),
        _to_order(line).replace(" ", NBSP),
        day(line.ordered),
        day(line.received),
        line.measured,
        day(line.returned),
        "; ".join(_remarks(line)),
    )


def _to_order(line: Purchase) -> str:
    if not line.packs:
        return "none"
    if line.pack == 1:
        return plain(line.quantity - line.shelf)
    return f"1 pack of {line.pack}" if line.packs == 1 else f"{line.packs} packs of {line.pack}"


def _remarks(line: Purchase) -> Iterator[str]:
    if line.which:
        yield ", ".join(map(told, line.which))
    if line.shelf:
        yield f"{plain(line.shelf)} on the shelf"
    if line.order_number != line.part:
        yield f"our number {line.part}"
    if line.supersedes:
        yield f"supersedes {', '.join(line.supersedes)}"
    if line.days is not None and line.received is None:
        yield f"{line.days} days to come"
    if line.return_by and not line.returned:
        yield f"old part back by {day(line.return_by)}"
    if line.note:
        yield told(line.note)
