"""The documents of a job beside its report, in the shop edition: each as HTML and, where wanted, as PDF."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from ..assess import Assessment
from ..documents.estimate import estimate_html, estimate_pdf
from ..documents.purchases import purchase_html, purchase_pdf
from ..quantities.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Further:
    """One document: when a job has it, and how it is made."""

    name: str
    title: str
    wanted: Callable[[Assessment], bool]
    html: Callable[[Assessment, str, Path | None], str]
    pdf: Callable[[Assessment, Path | None], bytes]


def _done(one: Assessment) -> bool:
    return one.stage in ("ready to collect", "delivery", "follow-up", "re-opened") and bool(one.cost.lines)


FURTHER = (
    Further(
        "estimate",
        "Estimate",
        lambda one: bool(one.cost.lines),
        lambda one, pdf, shop: estimate_html(one, "estimate", pdf=pdf, shop=shop),
        lambda one, shop: estimate_pdf(one, "estimate", shop),
    ),
    Further(
        "statement",
        "Final statement",
        _done,
        lambda one, pdf, shop: estimate_html(one, "statement", pdf=pdf, shop=shop),
        lambda one, shop: estimate_pdf(one, "statement", shop),
    ),
    Further(
        "purchase-list",
        "Purchase list",
        lambda one: bool(one.cost.purchases),
        lambda one, pdf, shop: purchase_html(one, pdf=pdf, shop=shop),
        lambda one, shop: purchase_pdf(one, shop),
    ),
)


def write(one: Assessment, folder: Path, make_pdf: bool, shop: Path | None) -> tuple[tuple[str, str], ...]:
    """Write every document that the job has into its folder; title and address of each page written."""
    written = []
    for document in FURTHER:
        if not document.wanted(one):
            continue
        name = f"{document.name}.pdf" if make_pdf else ""
        (folder / f"{document.name}.html").write_text(document.html(one, name, shop), encoding="utf-8")
        if make_pdf:
            (folder / name).write_bytes(document.pdf(one, shop))
        written.append((document.title, f"{document.name}.html"))
    return tuple(written)
