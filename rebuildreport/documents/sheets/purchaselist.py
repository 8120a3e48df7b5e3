"""The purchase list, for the shop: what to buy from whom, in which packs, and what has come of it.

In: an Assessment.  Out: a view.  Works out no quantity.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from pathlib import Path

from ...assess.model.assessment import Assessment
from ...assess.model.prices import FINISHED, Purchase
from ...quantities import message
from ..press.enginewords import approval_lacks
from ..press.frame import Framed, framed
from ..press.language import say, told
from ..press.words import NBSP, day, heading, plain
from ..report.findings import NO_PHOTOS, Album

TITLE = message("Purchase list")
Row = tuple[str, ...]


class PurchaseView(Framed, frozen=True):
    """The list as its template sees it."""

    subject: str
    facts: tuple[tuple[str, str], ...]
    suppliers: tuple[tuple[str, tuple[Row, ...]], ...]


def purchase_list(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> PurchaseView:
    """The list by supplier; parts that nobody is named for come last."""
    suppliers = tuple(
        (heading(supplier) or say("No supplier named"), tuple(map(_row, lines)))
        for supplier, lines in groupby(job.cost.purchases, key=lambda line: line.supplier)
    )
    return PurchaseView(
        frame=framed(
            job, say(TITLE), f"{say(TITLE)}, {job.number}", style=f"@page{{size:{job.paper} landscape}}"
        ),
        subject=f"{say(TITLE)}: {job.title}",
        facts=(
            (say("Job"), job.number),
            (say("Engine"), job.engine.full_name),
            (say("As of"), day(job.as_of)),
            # what runs in an engine came, whether or not somebody wrote it down
            (
                say("Receipt not noted" if job.bench.start.date else "Not received"),
                _waiting(job.cost.purchases),
            ),
            *_approval(job),
        ),
        suppliers=suppliers,
    )


def _approval(job: Assessment) -> Iterator[tuple[str, str]]:
    if job.stage not in FINISHED:  # nothing is ordered for it any more
        yield say("Approval"), approval_lacks(job) or say("nothing stands against ordering")


def _waiting(purchases: tuple[Purchase, ...]) -> str:
    wanted = [line for line in purchases if line.packs or line.ordered]
    waiting = sum(line.received is None for line in wanted)
    if waiting:
        return say("{number} of {all}", number=waiting, all=len(wanted))
    return say("nothing, all {count} are here", count=len(wanted))


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
        return say("nothing")
    if line.pack == 1:
        return plain(line.quantity - line.shelf)
    words = message("1 pack of {pieces}" if line.packs == 1 else "{packs} packs of {pieces}")
    return say(words, packs=line.packs, pieces=line.pack)


def _remarks(line: Purchase) -> Iterator[str]:
    if line.which:
        yield ", ".join(map(told, line.which))
    if line.shelf:
        yield say("{count} on the shelf", count=plain(line.shelf))
    if line.order_number != line.part:
        yield say("our number {number}", number=line.part)
    if line.supersedes:
        yield say("supersedes {numbers}", numbers=", ".join(line.supersedes))
    if line.days is not None and line.received is None:
        yield say("{days} days to come", days=line.days)
    if line.return_by and not line.returned:
        yield say("old part back by {day}", day=day(line.return_by))
    if line.note:
        yield told(line.note)
