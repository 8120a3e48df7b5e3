"""What changed in the money from one issued document to the next, and the words that all changes share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from ...quantities import Amount, Figure, Sentence, Several, Text
from ...trade.estimating import currency
from ...trade.estimating.approval import compare
from ..measure.titles import titled
from ..money.approvals import frozen_items

MOST = 6  # of one kind that are named one by one
Facts = Mapping[str, Any]


def day_of(text: str | None) -> date | Text:
    """A day as it is frozen."""
    return date.fromisoformat(text) if text else Sentence("no day")


def title_of(before: Facts, now: Facts, kind: str, name: Text) -> Text:
    """A name of the files in the words of now, or of the day when it was there; ours in any language."""
    for side in (now, before):
        found = side.get("said", {}).get(kind, {}).get(name)
        if found:
            return found if isinstance(found, Sentence) else Sentence(str(found))
    return titled(name) if kind in ("features", "choices") else ""


def listed(words: list[str], joint: str = ", ", most: int = MOST) -> Text:
    """The first of them, and how many more there are."""
    more = len(words) - most
    what = Several(words[:most], joint)
    return Sentence("{what} and {count} more", what=what, count=more) if more > 0 else what


def lines(before: Facts, now: Facts) -> Iterable[Text]:
    """New, dropped and changed lines, and what else they are for."""
    old, new = frozen_items(before), frozen_items(now)
    if old is None or new is None:
        return
    ends: tuple[str, str]
    said: dict[str, list[str]] = {"new": [], "dropped": [], "changed": []}
    for change in compare(old, new):
        item = change.item
        count = "" if item.quantity == 1 else Figure(f"{item.quantity:f}")
        name = title_of(before, now, "lines", item.key) or item.name
        if change.kind == "changed" and change.before is not None:
            was = change.before
            if was.quantity != item.quantity:
                ends = (Figure(f"{was.quantity:f}"), Figure(f"{item.quantity:f}"))
                words = "{line}: {before} of them, now {now}"
            else:
                ends = (_price(was.amount, now), _price(item.amount, now))
                words = "{line}: {before}, now {now}"
            said["changed"].append(Sentence(words, line=name, before=ends[0], now=ends[1]))
        else:
            line = Several([one for one in (count, name) if one], " ")
            said[change.kind].append(Sentence("{line} ({price})", line=line, price=_price(item.amount, now)))
    for kind, words in (
        ("new", "New lines: {what}."),
        ("dropped", "Dropped lines: {what}."),
        ("changed", "Changed lines: {what}."),
    ):
        if said[kind]:
            yield Sentence(words, what=listed(said[kind], joint="; "))
    yield from _reasons(before, now)


def _reasons(before: Facts, now: Facts) -> Iterable[Text]:
    """Lines that stay and are there for something else now."""
    was = {line["key"]: (line["for"], line["why"], line["tax"]) for line in before.get("lines", ())}
    other: list[str] = [
        title_of(before, now, "lines", line["key"]) or line["key"]
        for line in now["lines"]
        if line["key"] in was and was[line["key"]][:2] != (line["for"], line["why"])
    ]
    if other:
        yield Sentence("Lines with other reasons: {what}.", what=listed(other, joint="; "))
    taxed: list[str] = [
        title_of(before, now, "lines", line["key"]) or line["key"]
        for line in now["lines"]
        if line["key"] in was and was[line["key"]][2] != line["tax"]
    ]
    if taxed:
        yield Sentence("Taxed otherwise: {what}.", what=listed(taxed, joint="; "))


SUMS = {
    "total": "The total: {before}, now {now}.",
    "core_deposit": "The deposit on old parts: {before}, now {now}.",
}


def sums(before: Facts, now: Facts) -> Iterable[Text]:
    """The sums, what was paid, the other ways to go on."""
    for name, words in SUMS.items():
        if before.get(name) != now[name]:
            yield Sentence(words, before=_sum(before.get(name), before), now=_sum(now[name], now))
    was = before.get("paid", [])
    for paid in now["paid"]:
        if paid not in was:
            yield Sentence("Paid on {day}: {amount}.", day=day_of(paid[0]), amount=_sum(paid[1], now))
    for paid in was:
        if paid not in now["paid"]:
            words = "No longer on file as paid on {day}: {amount}."
            yield Sentence(words, day=day_of(paid[0]), amount=_sum(paid[1], before))
    if before.get("minimum") != now["minimum"]:
        unpriced = Sentence("Not every line is priced now.")
        yield unpriced if now["minimum"] else Sentence("Every line is priced now.")
    ways = before.get("options", {})
    for name, sums in now["options"].items():
        if name in ways and ways[name] != sums and ways[name][0] != before.get("total"):
            words = "The way {name}: {before}, now {now}."
            title = title_of(before, now, "options", name) or name
            yield Sentence(words, name=title, before=_sum(ways[name][0], before), now=_sum(sums[0], now))


def approvals(before: Facts, now: Facts) -> Iterable[Text]:
    """What was approved since, and what is no longer on file."""
    was = before.get("approvals", [])
    for approval in now["approvals"]:
        if approval not in was:
            yield Sentence("Approved: {what}.", what=_approval(approval, now))
    for approval in was:
        if approval not in now["approvals"]:
            yield Sentence("No longer on file as approved: {what}.", what=_approval(approval, before))


def _approval(one: Facts, side: Facts) -> Text:
    words = "{day}, {by}, {how}: up to {limit}"
    said = Sentence(
        words,
        day=day_of(one["date"]),
        by=Sentence(one["by"]),
        how=Sentence(one["how"]),
        limit=_sum(one["limit"], side),
    )
    ready = Sentence("ready on {day}", day=day_of(one["ready"])) if one["ready"] else ""
    return Several([part for part in (said, one["covers"], ready) if part])


def _price(amount: Decimal | None, side: Facts) -> Text:
    digits = currency.digits(str(side.get("currency")))
    return Sentence("no price") if amount is None else Amount(amount, digits)


def _sum(text: str | None, side: Facts) -> Text:
    code = str(side.get("currency"))
    try:
        return Amount(Decimal(str(text)), currency.digits(code), code)
    except InvalidOperation:
        return Sentence("no price")
