"""The estimate and the final statement: what it costs and why, ways to go on, what differs since."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from ..assess.model import Assessment
from ..assess.prices import Against, CoreDeposit, Cost, Option
from . import places, texts
from .costs import CostView, costs
from .language import Language, language
from .pdf import Attached, render
from .places import anchor
from .reasons import reason
from .words import capital, stop

Kind = Literal["estimate", "statement"]
VALID_DAYS = 30  # an offer's usual life (common practice); a shop says otherwise in its own terms
Column = tuple[str, str]


@dataclass(frozen=True, slots=True)
class TableView:
    """A table of words: heads with their look, rows, and what stands above and below."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    before: str = ""
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EstimateView:
    """One estimate or statement as its template sees it."""

    title: str
    lang: str
    shop: str
    contact: str
    notice: str
    head: str
    description: str
    paged: bool
    sections: tuple[tuple[str, str], ...]
    subject: str
    facts: tuple[tuple[str, str], ...]
    needs_title: str
    needs: tuple[str, ...]
    cost: CostView
    options: TableView | None
    against: TableView | None
    basis: TableView | None
    basis_anchors: tuple[str, ...]
    cores: TableView | None
    rounding: str
    standing: tuple[tuple[str, str], ...]  # title, HTML of our own Markdown renderer
    sign_title: str
    sign: tuple[str, ...]
    page_of: str  # stylesheet of the page numbers in this language


def estimate_view(one: Assessment, kind: Kind, shop: Path | None = None) -> EstimateView:
    """The view of one assessment's money, in the language of the job.

    Raises UnknownLanguage and TextProblem where the shop's files ask for what there is not.
    """
    say = language(one.language, shop)
    cost = one.cost
    title = say("Estimate" if kind == "estimate" else "Final statement")
    name = " ".join(part for part in (one.engine.maker, one.engine.model) if part) or one.engine.name
    options = _options(cost, say) if kind == "estimate" else None
    against = _against(cost, say)
    priced = costs(one, False, say)
    basis, marks = _basis(one, say)
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
        head=f"{say('Job')} {one.job} · {name} · {title}, {_state(one, say)}",
        description=f"{title}: {one.job}, {name}",
        paged=False,
        sections=tuple(sections),
        subject=f"{title}: {one.title}",
        facts=_facts(one, name, say),
        needs_title=say("What we need from you:").rstrip(":"),
        needs=tuple(_needs(one, kind, say)),
        cost=priced,
        options=options,
        against=against,
        basis=basis,
        basis_anchors=marks,
        cores=_cores(cost, say),
        rounding=say(cost.rounding) if cost.rounding else "",
        standing=tuple(_standing(one, kind, say, shop)),
        sign_title=say("Approval"),
        sign=_sign(kind, cost, say),
        page_of=_page_of(say),
    )


def _page_of(say: Language) -> str:
    """The page numbers in this language; the stylesheet has them in English."""
    page, of = say("page"), say("of")
    return f'@page{{@bottom-right{{content:"{page} " counter(page) " {of} " counter(pages)}}}}'


def estimate_html(
    one: Assessment,
    kind: Kind = "estimate",
    *,
    for_pdf: bool = False,
    assets: str = "../assets/",
    home: str = "index.html",
    pdf: str = "",
    shop: Path | None = None,
) -> str:
    """The document as one HTML page; ``home`` is where its shop's name leads ("" for nowhere)."""
    view = estimate_view(one, kind, shop)
    template = places.environment(shop).get_template("estimate.html.jinja")
    return template.render(sheet=view, e=view, for_pdf=for_pdf, assets=assets, home=home, pdf=pdf)


def estimate_pdf(one: Assessment, kind: Kind = "estimate", shop: Path | None = None) -> bytes:
    """The document as PDF/A-3 bytes.  Raises PdfUnavailable where this machine cannot make PDFs."""
    view = estimate_view(one, kind, shop)
    html = estimate_html(one, kind, for_pdf=True, home="", shop=shop)
    return render(
        html,
        stylesheet=places.stylesheet(shop=shop) + view.page_of,
        base=places.own_templates(),
        allowed=[places.own_templates(), *places.folders(shop)],
        made=one.as_of,
        attachments=[Attached("lines.csv", _csv(one), "The lines of this document for a spreadsheet")],
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
                line.name,
                f"{line.quantity:f}",
                "" if line.each is None else f"{line.each:f}",
                "" if line.amount is None else f"{line.amount:f}",
                "" if line.tax is None else f"{line.tax:f}",
                "; ".join(line.because),
            ]
        )
    return text.getvalue().encode()


def _state(one: Assessment, say: Language) -> str:
    note = one.issue
    if note is not None and note.number is not None and not note.later:
        return say("issue {number}, {day}", number=note.number, day=say.day(note.date))
    return say("as of {day}", day=say.day(one.as_of))


def _facts(one: Assessment, name: str, say: Language) -> tuple[tuple[str, str], ...]:
    note = one.issue
    facts = [(say("Job"), one.job), (say("Engine"), name)]
    if one.application:
        facts.append((say("Out of"), one.application))
    if note is not None and note.number is not None and not note.later:
        facts.append((say("Issue"), f"{note.number}, {say.day(note.date)}"))
    elif note is not None and note.number is not None:
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
            words = words.replace("comes to", "comes to at least")
        yield say(words, total=total, over=say.money(cost.over_by, cost.currency, cost.digits))
    elif kind == "estimate" and not cost.approvals and cost.lines:
        yield say("Your approval, and up to which amount: nothing beyond finding out is done before.")
    if kind == "statement" and cost.balance is not None and cost.balance > 0:
        yield say("Payment of {amount}.", amount=say.money(cost.balance, cost.currency, cost.digits))
    elif kind == "statement" and cost.balance is None and cost.lines:
        yield say("Payment of {amount}.", amount=say.money(cost.to_pay, cost.currency, cost.digits))


def _options(cost: Cost, say: Language) -> TableView | None:
    if not cost.options:
        return None

    def row(head: str, texts: list[str]) -> tuple[str, ...] | None:
        return (head, *texts) if any(texts) else None

    def price(option: Option) -> str:
        total = say.money(option.total, cost.currency, cost.digits)
        if option.minimum and not option.total:
            return say("not priced")
        return say("at least {total}", total=total) if option.minimum else total

    found = [
        row(say("with tax"), [price(option) for option in cost.options]),
        row(
            say("deposit on old parts"),
            [
                say.money(option.core_deposit, cost.currency, cost.digits) if option.core_deposit else ""
                for option in cost.options
            ],
        ),
        row(say("not priced"), [say.listed(option.not_priced) for option in cost.options]),
        row(say("time"), [option.time for option in cost.options]),
        row(say("what follows"), [" ".join(stop(capital(t)) for t in o.follows) for o in cost.options]),
        row(say("not included"), [capital(say.listed(option.not_included)) for option in cost.options]),
        row(say("warranty"), [option.warranty for option in cost.options]),
    ]
    return TableView(
        title=say("Ways to go on"),
        columns=(("", "nw"), *((option.title, "") for option in cost.options)),
        rows=tuple(one for one in found if one is not None),
    )


def _against(cost: Cost, say: Language) -> TableView | None:
    """Every line that differs from what was approved, its reason beside it, adding up to the difference."""
    against = cost.against
    if against is None:
        return None
    a = against.approval
    digits = cost.digits
    rows = [
        (
            say({"new": "new", "dropped": "dropped", "changed": "changed"}[change.kind]),
            change.name,
            say.amount(change.before, digits) or "\u2013",
            say.amount(change.now, digits) or ("\u2013" if change.kind == "dropped" else say("not priced")),
            _signed(change.difference, say, digits),
            "; ".join(reason(why, say) for why in change.why.split("; "))
            if change.why
            else say("no reason written"),
        )
        for change in against.changes
    ]
    if against.tax_difference is not None and against.total_then is not None:
        if against.tax_difference:
            rows.append(
                ("", say("Tax on the difference"), "", "", _signed(against.tax_difference, say, digits), "")
            )
        rows.append(
            (
                "",
                say("Total"),
                say.amount(against.total_then, digits),
                say.amount(against.total_now, digits),
                _signed(against.total_now - against.total_then, say, digits),
                "",
            )
        )
    before = say(
        "Approved on {day} by {by}, {how}, up to {limit}.",
        day=say.day(a.date),
        by=say(a.by),
        how=say(a.how),
        limit=say.money(a.limit, cost.currency, digits),
    )
    if against.issue is None:
        before += " " + say("The lines approved then are not on file, so only the sum can be compared.")
    elif not against.changes:
        before += " " + say("No line differs.")
    heads = (("", "nw"), (say("line"), ""), (say("then"), "r"), (say("now"), "r"), (say("difference"), "r"))
    return TableView(
        title=say("Since the approval"),
        columns=(*heads, (say("why"), "")),
        rows=tuple(rows),
        before=before,
        after=tuple(_effects(against, cost, say)),
    )


def _signed(amount: object, say: Language, digits: int) -> str:
    from decimal import Decimal

    if not isinstance(amount, Decimal):
        return say("not known")
    text = say.amount(amount, digits)
    return f"+{text}" if amount > 0 else text


def _effects(against: Against, cost: Cost, say: Language) -> Iterable[str]:
    if against.over_by is not None:
        over = say.money(against.over_by, cost.currency, cost.digits)
        yield say("It is {over} above the approval. Work stops until there is a new one.", over=over)
    if against.days_later:
        words = (
            "Ready {days} days later than promised."
            if against.days_later > 0
            else "Ready {days} days earlier."
        )
        yield say(words, days=abs(against.days_later))
    for one in against.reasons:
        said = [stop(capital(one.cause)), stop(capital(one.date_effect)) if one.date_effect else ""]
        if one.alternatives:
            said.append(say("Other ways: {what}", what=stop(say.listed(one.alternatives))))
        if one.doing_nothing:
            said.append(say("If nothing is done: {what}", what=stop(one.doing_nothing)))
        yield f"{say.day(one.date)}. " + " ".join(part for part in said if part)


def _basis(one: Assessment, say: Language) -> tuple[TableView | None, tuple[str, ...]]:
    """The findings and decisions that lines rest on: what their links lead to."""
    findings = {name for line in one.cost.lines for name in line.findings}
    decisions = {name for line in one.cost.lines for name in line.decisions}
    rows, marks = [], []
    for f in one.findings:
        if f.id in findings:
            marks.append(anchor(f"finding-{f.id}"))
            lines = [str(li.line) for li in one.cost.lines if f.id in li.findings]
            rows.append((f"{say('finding')} {f.number}", f.title, f.cause, say.listed(lines)))
    for d in one.decisions:
        if d.id in decisions:
            marks.append(anchor(f"decision-{d.id}"))
            lines = [str(li.line) for li in one.cost.lines if d.id in li.decisions]
            what = " ".join(part for part in (d.about_title, " ".join(d.positions), d.size) if part)
            rows.append((d.id, what, d.why, say.listed(lines)))
    if not rows:
        return None, ()
    columns = (("", "nw"), (say("what was seen or decided"), ""), (say("why"), ""), (say("lines"), "nw"))
    return TableView(say("What the lines rest on"), columns, tuple(rows)), tuple(marks)


def _cores(cost: Cost, say: Language) -> TableView | None:
    if not cost.cores:
        return None
    rows = [(one.name, say.amount(one.amount, cost.digits), _until(one, say)) for one in cost.cores]
    columns = ((say("old part of"), ""), (cost.currency, "r"), (say("back by"), ""))
    before = say("These deposits are no part of the price.")
    return TableView(say("Deposits on old parts"), columns, tuple(rows), before)


def _until(core: CoreDeposit, say: Language) -> str:
    if core.credited:
        return say("paid back on {day}", day=say.day(core.credited))
    if core.returned:
        return say("sent back on {day}, not yet paid back", day=say.day(core.returned))
    if core.return_by:
        return say.day(core.return_by)
    if core.days is not None:
        return say("{days} days after the new part has come", days=core.days)
    return say("no day agreed")


def _standing(one: Assessment, kind: Kind, say: Language, shop: Path | None) -> Iterable[tuple[str, str]]:
    own = [line.name for line in one.cost.lines if line.own]
    kept = [f"{d.feature_title} {' '.join(d.positions)}" for d in one.deviations]
    values = {
        "shop": one.shop,
        "contact": one.contact,
        "job": one.job,
        "valid_days": str(VALID_DAYS),
        "not_covered": say.listed([*one.not_opened, *own, *kept]),
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
        markdown = texts.written(name, say, values, shop)
        if markdown.strip():
            yield say(named[name]), texts.rendered(markdown)


def _sign(kind: Kind, cost: Cost, say: Language) -> tuple[str, ...]:
    if kind == "statement":
        return ()
    chosen = [say("Way chosen")] if cost.options else []
    amount = say("Approved up to, {currency}", currency=cost.currency)
    return (*chosen, amount, say("Name"), say("Date"), say("Signature"))
