"""The estimate and the final statement: what it costs and why, ways to go on, what differs since.

In: an Assessment.  Out: the view of either, in the language that is spoken.  Adds up nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from msgspec.structs import replace

from ...assess.model.assessment import Assessment
from ...assess.model.prices import Cost
from ...quantities import amid
from ..press import standing_texts
from ..press.enginewords import approval_lacks
from ..press.frame import Framed, framed
from ..press.language import PLAIN, say, spoken, told
from ..press.letterhead import asks_of
from ..press.pdf import Attached
from ..press.words import day, joined, places
from ..report import money_tables
from ..report.asbuilt import cautions, lasts
from ..report.costs import CostView, costs
from ..report.findings import NO_PHOTOS, Album

Kind = Literal["estimate", "statement"]
VALID_DAYS = 30  # an offer's usual life (common practice); a shop says otherwise in its own terms


class EstimateView(Framed, frozen=True):
    """One estimate or statement as its template sees it."""

    subject: str
    facts: tuple[tuple[str, str], ...]
    needs: tuple[str, ...]
    cost: CostView
    options: money_tables.TableView | None
    against: money_tables.TableView | None
    basis: money_tables.TableView | None
    basis_anchors: tuple[str, ...]
    cores: str
    rounding: str
    standing: tuple[tuple[str, str], ...]  # title, HTML of our own Markdown renderer
    sign: tuple[tuple[str, str], ...]  # label, and what stands on its line


def estimate(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> EstimateView:
    """What it will cost; TextProblem where the shop's own texts ask for what there is not."""
    return _view(job, "estimate", say("Estimate"), shop)


def statement(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> EstimateView:
    """What it has cost; raises as the estimate does."""
    return _view(job, "statement", say("Final statement"), shop)


def _view(job: Assessment, kind: Kind, title: str, shop: Path | None) -> EstimateView:
    cost = job.cost
    options = money_tables.options(cost) if kind == "estimate" and _asks(job) else None
    against = money_tables.against(cost)
    basis, marks = money_tables.basis(job)
    priced = costs(job, False)
    sections = [(name, table.title) for name, table in (("since", against), ("options", options)) if table]
    return EstimateView(
        frame=framed(
            job,
            title,
            f"{title}, {job.number}",
            kind,
            lettered=True,
            sections=(*sections, ("cost", priced.title), ("terms", say("Terms"))),
            carries=(Attached("lines.csv", _csv(job), "The lines of this document for a spreadsheet"),),
        ),
        subject=f"{title}: {job.title}",
        facts=tuple(_facts(job, kind)),
        needs=asks_of(job),
        cost=priced if kind == "statement" else replace(priced, stays=None),
        options=options,
        against=against,
        basis=basis,
        basis_anchors=marks,
        cores=money_tables.cores(cost),
        rounding=told(cost.rounding),
        standing=tuple(_standing(job, kind, shop)),
        sign=_sign(cost) if kind == "estimate" and _asks(job) else (),
    )


def _csv(job: Assessment) -> bytes:
    """The lines for whoever books them: RFC 4180, a point as decimal sign, English in every language."""
    import csv
    import io

    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(["line", "class", "number", "name", "quantity", "each", "amount", "tax_percent", "because"])
    for line in job.cost.lines:
        figures = (line.quantity, line.each, line.amount, line.tax)
        rows.writerow(
            [
                line.line,
                line.group,
                line.number,
                PLAIN.told(line.name),
                *("" if number is None else f"{number:f}" for number in figures),
                "; ".join(map(PLAIN.told, (*line.because, *line.steps))),
            ]
        )
    return text.getvalue().encode()


def _facts(job: Assessment, kind: Kind) -> Iterator[tuple[str, str]]:
    cost, note = job.cost, job.issue
    done = (("ready", job.ready), ("delivered", job.delivered))
    if kind == "statement" and job.stage != "declined":
        yield say("Work done"), ", ".join(f"{say(word)} {day(when)}" for word, when in done if when)
    if note is not None and note.commit:
        yield say("Records"), note.commit
    total = spoken().money(cost.total, cost.currency, cost.digits)
    if cost.minimum:
        total = say("at least {total}; {lacks}", total=total, lacks=money_tables.lacking(cost))
    yield say("Total"), total


def _standing(job: Assessment, kind: Kind, shop: Path | None) -> Iterator[tuple[str, str]]:
    """The shop's standing texts, filled in: title and HTML of each."""
    cover, head = job.bench.start.warranty, job.letterhead
    law = say("from the day of delivery, for as long as the law says")
    if _asks(job) and any(option.warranty for option in job.cost.options):
        law = say("from the day of delivery, for as long as stands with the way that you choose")
    values = {
        "shop": job.shop,
        "contact": ", ".join(filter(None, (head.telephone, head.email))) or job.contact,
        "job": job.number,
        "valid_days": str(VALID_DAYS),
        "lasts": lasts(cover) if cover else law,
        "conditions": joined(cover.conditions) if cover else "",
        "not_covered": "; ".join(_not_covered(job)),  # many have commas of their own
        "cautions": "\n\n".join(cautions(job)[:-1]),  # the last one is about the report
        "answer": say("Choose one way to go on, and tell us" if job.cost.options else "Tell us"),
    }
    wanted = [("warranty", say("Warranty"))] if job.stage != "declined" else []
    if kind == "estimate":
        asking = [("next-steps", say("What comes next"))] if _asks(job) else []
        wanted = [*asking, ("terms", say("Terms")), *wanted]
    else:  # the engine goes home with it
        wanted.append(("cautions", say("Cautions")))
    for name, title in wanted:
        words = {word: standing_texts.plain(value) for word, value in values.items()}
        markdown = standing_texts.written(name, spoken(), words, shop)
        if markdown.strip():
            yield title, standing_texts.rendered(markdown)


def _not_covered(job: Assessment) -> list[str]:
    """What could not be judged or was not ours to choose; as the record of the warranty has it, if any."""
    own = [told(line.name) for line in job.cost.lines if line.own]
    cover = job.bench.start.warranty
    if cover:
        return [*map(told, cover.not_covered), *own]
    kept = [f"{told(amid(d.feature_title))} {places(d.positions)}".rstrip() for d in job.deviations]
    kept += [f"{told(amid(built.about))}, {built.what}" for built in job.bench.build.departures]
    return [*job.not_opened, *map(told, job.bench.register.not_inspected), *own, *kept]


def _asks(job: Assessment) -> bool:
    """A finished job asks for no choice and no word any more, nor one whose approval covers the work."""
    return bool(approval_lacks(job))


def _sign(cost: Cost) -> tuple[tuple[str, str], ...]:
    chosen = [say("Way chosen")] if cost.options else []
    amount = say("Approved up to, {currency}", currency=cost.currency)
    # lines for a pen: nothing stands on them yet
    return tuple((label, "") for label in (*chosen, amount, say("Name"), say("Date"), say("Signature")))
