"""The present estimate against what was approved, and whether work stops until somebody says yes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from typing import Any

from ...quantities import NOTHING, Amount, Sentence, Several, Text, Typed, message, present
from ...records import JobFolder
from ...trade.estimating import approval as trade
from ..model.prices import Against, Approval, Cost, Difference, LineChange, PriceLine, Purchase


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
    """The lines of an issued document as they were, of the older form too; None where they cannot be read."""
    try:
        names = basis.get("said", {}).get("lines", {})
        return tuple(
            trade.Item(
                "consumable" if str(one["key"]).startswith("consumable: ") else str(one["key"]),
                str(one.get("name") or names[one["key"]]),
                Decimal(one["quantity"]),
                _decimal(one["each"]),
                _decimal(one["amount"]),
            )
            for one in basis["lines"]
        )
    except (KeyError, TypeError, AttributeError, InvalidOperation):
        return None


def _decimal(text: Any) -> Decimal | None:
    return None if text is None else Decimal(str(text))


def _against(cost: Cost, job: JobFolder, approval: Approval) -> Against:
    record = job.job
    assert record is not None
    basis = job.issued.basis(approval.issue) if approval.issue is not None else None
    before = frozen_items(basis) if basis else None
    changes: tuple[trade.LineDifference, ...] = ()
    then = tax = None
    reasons = _reasons(job, approval)
    if basis and before is not None:
        changes = trade.compare(before, items(cost.lines))
        then, tax = _decimal(basis.get("total")), _decimal(basis.get("tax"))
    expected = record.ready or record.promised
    by_key = {line.key: line for line in reversed(cost.lines)}
    explained = job.work.differences if job.work else []
    return Against(
        approval=approval,
        issue=approval.issue if before is not None else None,
        total_then=then,
        total_now=cost.total,
        tax_difference=None if tax is None else cost.tax - tax,
        changes=tuple(_change(one, by_key, explained, _why(job)) for one in changes),
        over_by=cost.over_by,
        days_later=(expected - approval.ready).days if expected and approval.ready else None,
        reasons=reasons,
    )


def _reasons(job: JobFolder, approval: Approval) -> tuple[Difference, ...]:
    """What was written down since the approval."""
    return tuple(
        Difference(
            one.date, one.cause, one.date_effect or "", tuple(one.alternatives), one.doing_nothing or ""
        )
        for one in (job.work.differences if job.work else [])
        if one.date >= approval.date
    )


def _why(job: JobFolder) -> dict[str, str]:
    """What findings and decisions say of themselves, by their names."""
    found = job.findings.findings if job.findings else {}
    made = job.work.decisions if job.work else {}
    said = {name: one.title or one.seen[0] for name, one in found.items()}
    return said | {name: one.why for name, one in made.items()}


def _change(
    change: trade.LineDifference,
    lines: Mapping[str, PriceLine],
    explained: Sequence[Any],
    why: Mapping[str, str],
) -> LineChange:
    item, now = change.item, lines.get(change.item.key)
    number = "" if ": " in item.key or item.key == "consumable" else item.key
    # what people typed of the line: it is this that a difference names it by
    known = now.ident if now else item.name.casefold()
    said = [
        Typed(one.cause)
        for one in explained
        if any(words == number or words.casefold() in known for words in one.lines)
    ]
    # what is new or more explains itself by what it is there for; what was dropped does not
    because = present(now.because) if now is not None and change.kind != "dropped" else NOTHING
    if not because and now is not None and change.kind != "dropped":
        named = [name for name in (*now.decisions, *now.findings) if name in why]
        because = present(Sentence("{name}: {why}", name=name, why=why[name]) for name in named)
    return LineChange(
        kind=change.kind,
        name=now.name if now else Typed(item.name),
        number=number,
        before=change.before.amount if change.before else None,
        now=change.after.amount if change.after else None,
        quantity_before=change.before.quantity if change.before else None,
        quantity_now=change.after.quantity if change.after else None,
        difference=change.difference,
        why=present(dict.fromkeys(said)) or because,
        line=now.line if now is not None and change.after else None,
    )


def _stops(cost: Cost, job: JobFolder) -> Iterable[Text]:
    record = job.job
    assert record is not None
    if record.declined:
        return
    code = cost.currency
    if cost.approvals:
        last = cost.approvals[-1]
        if cost.over_by is not None:
            words = message("the work comes to {total}, {over} above the {limit} that {by} approved on {day}")
            if cost.minimum:
                words = message(
                    "the work comes to at least {total}, {over} above the {limit} that {by} approved on {day}"
                )
            yield Sentence(
                words,
                total=Amount(cost.total, cost.digits, code),
                over=Amount(cost.over_by, cost.digits),
                limit=Amount(last.limit, cost.digits),
                by=Sentence(last.by),
                day=last.date,
            )
        elif cost.minimum and _gone_on(job):
            yield Sentence(
                "work has gone on, and nobody can say that the {limit} approved on {day} covers it. "
                "Not priced: {what}",
                limit=Amount(last.limit, cost.digits, code),
                day=last.date,
                what=Several(cost.not_priced),
            )
        return
    if _gone_on(job):
        yield Sentence("work has gone beyond finding out, and no approval is recorded")
    limit = record.authority.diagnosis_limit if record.authority else None
    spent = diagnosis(cost)
    if limit is not None and spent > limit:
        yield Sentence(
            "finding out comes to {total}, {over} above its limit of {limit}",
            total=Amount(spent, cost.digits, code),
            over=Amount(spent - limit, cost.digits),
            limit=Amount(limit, cost.digits),
        )


def diagnosis(cost: Cost) -> Decimal:
    """What the lines of finding out come to, with tax; unpriced ones cannot count."""
    from ...trade.estimating import sums

    lines = [sums.SumLine(one.amount, one.tax, one.group) for one in cost.lines if one.diagnosis]
    return sums.total(lines, (), cost.currency).total


def _gone_on(job: JobFolder) -> bool:
    """Whether anything shows that more than finding out was done: bought, machined, put together, started."""
    work = job.work
    decided = [one.date for one in work.decisions.values()] if work else []
    measured_since = decided and any(
        one.begun and one.model.date > max(decided) for one in job.rounds.values()
    )
    bought = work is not None and any(one.ordered or one.received for one in work.orders)
    built = job.assembly is not None and bool(job.assembly.fitted or job.assembly.tightened)
    started = job.running is not None and job.running.first_start is not None
    return bool(measured_since or bought or built or started)
