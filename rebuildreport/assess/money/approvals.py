"""The present estimate against what was approved, and whether work stops until somebody says yes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from decimal import Decimal, InvalidOperation
from typing import Any

from msgspec.structs import replace

from ...quantities import Amount, Sentence, Several, Text, Typed, message, present
from ...records import JobFolder
from ...trade.estimating import approval as trade
from ..model.edition import copied
from ..model.prices import Against, Approval, Cost, Difference, LineChange, PriceLine, Purchase
from ..work.stage import measured_since_decisions


def judged(cost: Cost, job: JobFolder, purchases: tuple[Purchase, ...]) -> Cost:
    """The same money with its purchase list, held against the last approval, and what stops the work."""
    cost = replace(cost, purchases=purchases)
    if cost.approvals:
        cost = replace(cost, against=_against(cost, job, cost.approvals[-1]))
    return replace(cost, stops=tuple(_stops(cost, job)))


def items(lines: Iterable[PriceLine]) -> tuple[trade.Item, ...]:
    """Price lines as they are compared."""
    return tuple(trade.Item(one.key, one.ident, one.quantity, one.each, one.amount) for one in lines)


def frozen_items(basis: Mapping[str, Any]) -> tuple[trade.Item, ...] | None:
    """The lines of an issued document as they were; None where they cannot be read."""
    try:
        names = {trade.LineKey(*key): name for *key, name in basis["said"]["lines"]}
        return tuple(_frozen(one, names) for one in basis["lines"])
    except (KeyError, TypeError, ValueError, InvalidOperation):
        return None


def _frozen(line: Mapping[str, Any], names: Mapping[trade.LineKey, str]) -> trade.Item:
    key = trade.LineKey(line["group"], line["number"], line["words"])
    each, amount = _decimal(line["each"]), _decimal(line["amount"])
    return trade.Item(key, names[key], Decimal(line["quantity"]), each, amount)


def _decimal(text: Any) -> Decimal | None:
    return None if text is None else Decimal(str(text))


def _against(cost: Cost, job: JobFolder, approval: Approval) -> Against:
    basis = job.issued.basis(approval.issue) if approval.issue is not None else None
    before, now = frozen_items(basis) if basis else None, items(cost.lines)
    changes: tuple[trade.LineDifference, ...] = ()
    then = tax = None
    if basis and before is not None:
        changes = trade.compare(before, now)
        then, tax = _decimal(basis.get("total")), _decimal(basis.get("tax"))
    expected = job.record.ready or job.record.promised
    by_key = {line.key: line for line in reversed(cost.lines)}
    lines = (*(before or ()), *now)
    differences = [one for one in job.written_work.differences if one.date >= approval.date]
    named = {trade.folded(name) for one in lines for name in (one.key.number, one.key.words, one.name)}
    return Against(
        approval=approval,
        issue=approval.issue if before is not None else None,
        total_then=then,
        total_now=cost.total,
        tax_difference=None if tax is None else cost.tax - tax,
        changes=tuple(_change(one, by_key, job, named) for one in changes),
        over_by=cost.over_by,
        days_later=(expected - approval.ready).days if expected and approval.ready else None,
        reasons=tuple(copied(Difference, one) for one in differences),
    )


def _change(
    change: trade.LineDifference, lines: Mapping[trade.LineKey, PriceLine], job: JobFolder, named: Set[str]
) -> LineChange:
    item, now = change.item, lines.get(change.item.key)
    # what people typed of the line: it is this that a difference names it by
    known = now.ident if now else item.name.casefold()
    said = [
        Typed(one.cause)
        for one in job.written_work.differences
        if any(_explains(words, item.key.number, known, named) for words in one.lines)
    ]
    was, is_ = change.before, change.after
    return LineChange(
        kind=change.kind,
        name=now.name if now else Typed(item.name),
        number=item.key.number,
        before=was.amount if was else None,
        now=is_.amount if is_ else None,
        difference=change.difference,
        # what is new or more explains itself by what it is there for
        why=present(dict.fromkeys(said))
        or (_because(now, job) if now and is_ else Sentence("no longer needed")),
        line=now.line if now and is_ else None,
    )


def _explains(words: str, number: str, known: str, named: Set[str]) -> bool:
    """Whether a person's words are this line's; those that are some line's whole name are no other's part."""
    said = trade.folded(words)
    return said in (number.casefold(), known) or (said not in named and said in known)


def _because(line: PriceLine, job: JobFolder) -> Text:
    """Why a line is there: as it says itself, else what its decisions and findings say."""
    why = {name: finding.title or finding.seen[0] for name, finding in job.seen.items()}
    why |= {name: decision.why for name, decision in job.decisions.items()}
    named = [name for name in (*line.decisions, *line.findings) if name in why]
    return present(line.because) or present(Sentence("{name}: {why}", name=n, why=why[n]) for n in named)


def _stops(cost: Cost, job: JobFolder) -> Iterator[Text]:
    """Why work stops until the customer has said yes, the approval that is gone past first."""
    if job.record.declined:
        return
    if cost.approvals:
        yield from _gone_past(cost, cost.approvals[-1], job)
        return
    if _gone_on(job):
        yield Sentence("work has gone beyond finding out, and no approval is recorded")
    limit = job.record.authority.diagnosis_limit if job.record.authority else None
    spent = diagnosis(cost)
    if limit is not None and spent > limit:
        yield Sentence(
            "finding out comes to {total}, {over} above its limit of {limit}",
            total=cost.money(spent),
            over=Amount(spent - limit, cost.digits),
            limit=Amount(limit, cost.digits),
        )


def _gone_past(cost: Cost, last: Approval, job: JobFolder) -> Iterator[Text]:
    if cost.over_by is not None:
        words = message("the work comes to {total}, {over} above the {limit} approved on {day}")
        if cost.minimum:
            words = message("the work comes to at least {total}, {over} above the {limit} approved on {day}")
        over, limit = Amount(cost.over_by, cost.digits), Amount(last.limit, cost.digits)
        yield Sentence(words, total=cost.money(cost.total), over=over, limit=limit, day=last.date)
    elif cost.minimum and _gone_on(job):
        yield Sentence(
            "work has gone on, and nobody can say that the {limit} approved on {day} covers it. "
            "Not priced: {what}",
            limit=cost.money(last.limit),
            day=last.date,
            what=Several(cost.not_priced),
        )


def diagnosis(cost: Cost) -> Decimal:
    """What the lines of finding out come to, with tax; unpriced ones cannot count."""
    from ...trade.estimating import sums

    lines = [sums.SumLine(one.amount, one.tax, one.group) for one in cost.lines if one.diagnosis]
    return sums.total(lines, (), cost.currency).total


def _gone_on(job: JobFolder) -> bool:
    """Whether anything shows that more than finding out was done: bought, machined, put together, started."""
    if measured_since_decisions(job) or any(one.ordered or one.received for one in job.written_work.orders):
        return True  # measured again since: something was done that was decided
    return bool(job.written_assembly.fitted or job.tightened or job.written_running.first_start)
