"""What the customer has to do and to pay, in one list that every document shows.

In: an assessment, of it the cost, the stage and what somebody wrote.  Out: messages, the most pressing first.
What is approved and what is due is asked of the cost itself (``Cost.approval``, ``Cost.due``).
"""

from __future__ import annotations

from collections.abc import Iterator

from ...quantities import Sentence, Text, message
from ..model.assessment import Assessment
from ..model.prices import FINISHED, Cost


def asked_of_customer(one: Assessment) -> tuple[Text, ...]:
    """What is wanted of the customer: an approval, a payment, and what was written down; else nothing yet."""
    asked = [*_approval(one.cost, one.stage), *_payment(one.cost, one.stage), *one.needs_from_customer]
    if not asked and one.stage in ("arrival", "teardown", "inspection"):
        words = message(
            "Nothing yet. We come back to you with findings and an estimate before any work is ordered."
        )
        asked.append(Sentence(words))
    return tuple(asked)


def against_ordering(one: Assessment) -> tuple[Text, ...]:
    """What stands against ordering parts and sending work out: nothing where an approval covers it."""
    if one.cost.approval(one.stage) == "wanted":
        return (Sentence("not given yet: nothing is ordered before"),)
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
        yield Sentence(words, total=cost.money(cost.total), over=cost.money(cost.over_by))
        stops = stops[1:]  # the first of them is this one
    for why in stops:
        yield Sentence("Work stops until you have approved it: {why}.", why=why)
    if cost.approval(stage) == "wanted":
        yield Sentence("Your approval, and up to which amount: nothing beyond finding out is done before.")


def _payment(cost: Cost, stage: str) -> Iterator[Text]:
    # of a minimum nobody can say what is to be paid
    if stage in FINISHED and cost.lines and not cost.minimum and cost.due > 0:
        yield Sentence("Payment of {amount}.", amount=cost.money(cost.due))
