"""The estimate and the final statement: what it costs and why, ways to go on, what differs since."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ...assess.model.assessment import Assessment
from ...assess.model.prices import Cost
from ..press import standing_texts
from ..press.frame import Framed
from ..press.language import PLAIN, Language, language, page_numbers, speaking
from ..press.pdf import Attached
from ..press.words import stop
from ..report import moneytables as tables
from ..report.asbuilt import lasts
from ..report.costs import CostView, costs

Kind = Literal["estimate", "statement"]
VALID_DAYS = 30  # an offer's usual life (common practice); a shop says otherwise in its own terms


@dataclass(frozen=True, slots=True)
class EstimateView(Framed):
    """One estimate or statement as its template sees it."""

    subject: str
    facts: tuple[tuple[str, str], ...]
    needs_title: str
    needs: tuple[str, ...]
    cost: CostView
    options: tables.TableView | None
    against: tables.TableView | None
    basis: tables.TableView | None
    basis_anchors: tuple[str, ...]
    cores: tables.TableView | None
    rounding: str
    standing: tuple[tuple[str, str], ...]  # title, HTML of our own Markdown renderer
    sign_title: str
    sign: tuple[str, ...]


def is_priced(one: Assessment) -> bool:
    """Whether there is anything to estimate."""
    return bool(one.cost.lines)


def is_done(one: Assessment) -> bool:
    """Whether the work is finished: no statement before."""
    return one.stage in ("ready to collect", "delivery", "follow-up", "re-opened") and is_priced(one)


def estimate(one: Assessment, shop: Path | None = None) -> EstimateView:
    """What it will cost, in the language of the job.

    Raises UnknownLanguage and TextProblem where the shop's files ask for what there is not.
    """
    return _view(one, "estimate", shop)


def statement(one: Assessment, shop: Path | None = None) -> EstimateView:
    """What it has cost; raises as the estimate does."""
    return _view(one, "statement", shop)


def _view(one: Assessment, kind: Kind, shop: Path | None) -> EstimateView:
    say = language(one.language, shop)
    with speaking(say):
        return _spoken(one, kind, say, shop)


def _spoken(one: Assessment, kind: Kind, say: Language, shop: Path | None) -> EstimateView:
    cost = one.cost
    title = say("Estimate" if kind == "estimate" else "Final statement")
    name = " ".join(part for part in (one.engine.maker, one.engine.model) if part) or one.engine.name
    options = tables.options(cost, say) if kind == "estimate" else None
    against = tables.against(cost, say)
    basis, marks = tables.basis(one, say)
    priced = costs(one, False, say, marks)
    sections = [("cost", priced.title)]
    sections += [("options", options.title)] if options else []
    sections += [("since", against.title)] if against else []
    sections += [("terms", say("Terms"))]
    return EstimateView(
        title=f"{title}, {one.job}",
        lang=say.code,
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        head=f"{say('Job')} {one.job} · {name} · {title}, {_state(one, kind, say)}",
        description=f"{title}: {one.job}, {name}",
        paged=False,
        sections=tuple(sections),
        subject=f"{title}: {one.title}",
        facts=_facts(one, kind, name, say),
        needs_title=say("What we need from you:").rstrip(":"),
        needs=tuple(_needs(one, kind, say)),
        cost=priced,
        options=options,
        against=against,
        basis=basis,
        basis_anchors=marks,
        cores=tables.cores(cost, say),
        rounding=say.told(cost.rounding),
        standing=tuple(_standing(one, kind, say, shop)),
        sign_title=say("Approval"),
        sign=_sign(kind, cost, say),
        style=page_numbers(say),
        carries=(Attached("lines.csv", _csv(one), "The lines of this document for a spreadsheet"),),
    )


def _csv(one: Assessment) -> bytes:
    """The lines for whoever books them: RFC 4180, a point as decimal sign."""
    import csv
    import io

    text = io.StringIO()
    rows = csv.writer(text)
    rows.writerow(["line", "class", "number", "name", "quantity", "each", "amount", "tax_percent", "because"])
    for line in one.cost.lines:
        rows.writerow(
            [
                line.line,
                line.group,
                line.number,
                PLAIN.told(line.name),
                f"{line.quantity:f}",
                "" if line.each is None else f"{line.each:f}",
                "" if line.amount is None else f"{line.amount:f}",
                "" if line.tax is None else f"{line.tax:f}",
                "; ".join(map(PLAIN.told, line.because)),
            ]
        )
    return text.getvalue().encode()


def _state(one: Assessment, kind: Kind, say: Language) -> str:
    note = one.issue
    if note is not None and note.frozen(kind):
        return say("issue {number}, {day}", number=note.number, day=say.day(note.date))
    return say("as of {day}", day=say.day(one.as_of))


def _facts(one: Assessment, kind: Kind, name: str, say: Language) -> tuple[tuple[str, str], ...]:
    note = one.issue
    facts = [(say("Job"), one.job), (say("Engine"), name)]
    if one.application:
        facts.append((say("Out of"), one.application))
    if note is not None and note.frozen(kind):
        facts.append((say("Issue"), f"{note.number}, {say.day(note.date)}"))
    elif note is not None and note.number is not None and note.later:
        words = "none yet: changed since issue {number} of {day}"
        facts.append((say("Issue"), say(words, number=note.number, day=say.day(note.date))))
    else:
        facts.append((say("As of"), say.day(one.as_of)))
    if note is not None and note.commit:
        facts.append((say("Records"), note.commit))
    total = say.money(one.cost.total, one.cost.currency, one.cost.digits)
    words = "at least {total}, {count} lines not priced" if one.cost.minimum else "{total}"
    if len(one.cost.not_priced) == 1:
        words = "at least {total}, one line not priced"
    facts.append((say("Total"), say(words, total=total, count=len(one.cost.not_priced))))
    return tuple(facts)


def _needs(one: Assessment, kind: Kind, say: Language) -> Iterable[str]:
    cost = one.cost
    total = say.money(cost.total, cost.currency, cost.digits)
    if cost.over_by is not None:
        words = "Your approval: it comes to {total}, {over} above what you approved. Work stops until then."
        if cost.minimum:
            words = (
                "Your approval: it comes to at least {total}, {over} above what you approved. "
                "Work stops until then."
            )
        yield say(words, total=total, over=say.money(cost.over_by, cost.currency, cost.digits))
    elif cost.stops:
        for why in cost.stops:
            yield say("Work stops until you have approved it: {why}", why=stop(say.told(why)))
    elif kind == "estimate" and not cost.approvals and cost.lines:
        yield say("Your approval, and up to which amount: nothing beyond finding out is done before.")
    if kind == "statement" and cost.balance is not None and cost.balance > 0:
        yield say("Payment of {amount}.", amount=say.money(cost.balance, cost.currency, cost.digits))
    elif kind == "statement" and cost.balance is None and cost.lines:
        yield say("Payment of {amount}.", amount=say.money(cost.to_pay, cost.currency, cost.digits))


def _standing(one: Assessment, kind: Kind, say: Language, shop: Path | None) -> Iterable[tuple[str, str]]:
    cover = one.bench.start.warranty
    law = say("from the day of delivery, for as long as the law says")
    values = {
        "shop": one.shop,
        "contact": one.contact,
        "job": one.job,
        "valid_days": str(VALID_DAYS),
        "lasts": lasts(cover) if cover else law,
        "conditions": say.listed(cover.conditions) if cover else "",
        "not_covered": say.listed(_not_covered(one, say)),
    }
    named = {
        "next-steps": "What comes next",
        "terms": "Terms",
        "warranty": "Warranty",
        "cautions": "Cautions",
    }
    wanted = (
        ["next-steps", "terms", "warranty", "cautions"] if kind == "estimate" else ["warranty", "cautions"]
    )
    for name in wanted:
        markdown = standing_texts.written(name, say, values, shop)
        if markdown.strip():
            yield say(named[name]), standing_texts.rendered(markdown)


def _not_covered(one: Assessment, say: Language) -> list[str]:
    """What could not be judged or was not ours to choose; as the record of the warranty has it, if any."""
    own = [say.told(line.name) for line in one.cost.lines if line.own]
    cover = one.bench.start.warranty
    if cover:
        return [*map(say.told, cover.not_covered), *own]
    kept = [f"{say.told(d.feature_title)} {' '.join(d.positions)}" for d in one.deviations]
    return [*one.not_opened, *one.bench.register.not_inspected, *own, *kept]


def _sign(kind: Kind, cost: Cost, say: Language) -> tuple[str, ...]:
    if kind == "statement":
        return ()
    chosen = [say("Way chosen")] if cost.options else []
    amount = say("Approved up to, {currency}", currency=cost.currency)
    return (*chosen, amount, say("Name"), say("Date"), say("Signature"))
