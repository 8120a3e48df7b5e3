"""What the customer has to do and to pay, in one list that every document shows.

In: an assessment, of it the cost, the stage and what somebody wrote.  Out: messages, the most pressing first.
What is approved and what is due is asked of the cost itself (``Cost.approval``, ``Cost.due``).
"""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Sentence, Text, Typed, message
from ..model.assessment import Assessment
from ..model.prices import FINISHED, PAYABLE, Cost


def asked_of_customer(one: Assessment) -> tuple[Text, ...]:
    """What is wanted of the customer: an approval, a payment, and what was written down; else nothing yet."""
    asked = [*_approval(one.cost, one.stage), *_payment(one), *one.needs_from_customer]
    if not asked and one.stage in ("arrival", "teardown", "inspection"):
        words = message(
            "Nothing yet. We come back to you with findings and an estimate before any work is ordered."
        )
        asked.append(Sentence(words))
    return tuple(asked)


def asks_for_total(one: Assessment) -> bool:
    """Whether what is asked names the total: then nothing beside it says that sum once more."""
    total = one.cost.money(one.cost.total)
    return any(isinstance(ask, Sentence) and total in ask.values.values() for ask in asked_of_customer(one))


def against_ordering(one: Assessment) -> tuple[Text, ...]:
    """What stands against going on: nothing where an approval covers it, or nothing is left to do."""
    if one.stage in FINISHED:
        return ()
    if one.cost.approval(one.stage) == "wanted":
        return (Sentence("not given yet, so nothing is ordered"),)
    return one.cost.stops


def _approval(cost: Cost, stage: str) -> Iterator[Text]:
    stops = cost.stops
    if cost.over_by is not None:
        words = message(
            "Your approval: it comes to {total}, {over} above what you approved. Work stops until then."
        )
        if cost.minimum:
            words = message(
                "Your approval: it comes to at least {total}, {over} above what you approved. "
                "Work stops until then."
            )
        if stage in FINISHED:  # no work is left that could stop
            words = message("Your approval after the fact: it is {total}, {over} above what you approved.")
        yield Sentence(words, total=cost.money(cost.total), over=cost.money(cost.over_by))
        stops = stops[1:]  # the first of them is this one
    words = message("Work stops until you have approved it: {why}.")
    if stage in FINISHED:
        words = message("Your approval after the fact: {why}.")
    for why in stops:
        yield Sentence(words, why=why)
    if cost.approval(stage) == "wanted":
        yield Sentence("Your approval, and up to which amount: nothing beyond finding out is done before.")


def _payment(one: Assessment) -> Iterator[Text]:
    """What, by when and how, as far as the shop's file says."""
    cost, head = one.cost, one.letterhead
    # of a minimum nobody can say what is to be paid
    if one.stage not in PAYABLE or not cost.lines or cost.minimum or cost.due <= 0:
        return
    words = message("Payment of {amount}.")
    if head.bank_account:
        words = message("Payment of {amount} to account {account}, naming {job}.")
    if head.pay_within is not None:
        words = message("Payment of {amount} within {days} days of the statement.")
        if head.bank_account:
            words = message(
                "Payment of {amount} within {days} days of the statement to account {account}, naming {job}."
            )
    amount, account = cost.money(cost.due), Typed(head.bank_account)
    yield Sentence(words, amount=amount, days=head.pay_within or 0, account=account, job=Typed(one.number))
