"""What was approved against what is now: line by line, over the limit by how much."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from msgspec import Struct

Kind = Literal["new", "dropped", "changed"]


class LineKey(Struct, frozen=True):
    """What a line is known by from one estimate to the next, however the program words it."""

    group: str  # small material has one line, and is known by this alone
    number: str = ""  # of a part that has one
    words: str = ""  # as typed and folded, where it has none


def folded(words: str) -> str:
    """Words as a line is known by them, whatever their case and their blanks.

    Source: naming rule of this project.

    >>> folded("Hot  tank")
    'hot tank'
    """
    return " ".join(words.casefold().split())


class Item(Struct, frozen=True):
    """One line of an estimate: what it is known by, and what it comes to."""

    key: LineKey
    name: str
    quantity: Decimal
    each: Decimal | None
    amount: Decimal | None


class LineDifference(Struct, frozen=True):
    """One line that differs; ``difference`` is None where either side has no price."""

    kind: Kind
    before: Item | None
    after: Item | None
    difference: Decimal | None

    @property
    def item(self) -> Item:
        """The line as it is now, or as it was where it was dropped."""
        found = self.after or self.before
        assert found is not None
        return found


def compare(before: Sequence[Item], after: Sequence[Item]) -> tuple[LineDifference, ...]:
    """New, dropped and changed lines: changed and new in the order of ``after``, dropped ones last.

    Lines are matched by key, the first with the first where one key stands
    more than once.  The differences of all changes add up to the difference of
    the two sums, where every line is priced.

    Source: common practice of a change order.

    >>> cooler = LineKey("part", "OC")
    >>> old = [Item(cooler, "oil cooler", Decimal(1), Decimal(148), Decimal(148))]
    >>> new = [Item(cooler, "oil cooler", Decimal(1), Decimal(150), Decimal(150))]
    >>> [(one.kind, one.difference) for one in compare(old, new)]
    [('changed', Decimal('2'))]
    >>> [one.kind for one in compare([], new)], [one.kind for one in compare(old, [])]
    (['new'], ['dropped'])
    """
    left: dict[LineKey, list[Item]] = {}
    for item in before:
        left.setdefault(item.key, []).append(item)
    changes: list[LineDifference] = []
    for item in after:
        same = left.get(item.key)
        if not same:
            changes.append(LineDifference("new", None, item, item.amount))
            continue
        was = same.pop(0)
        if (was.quantity, was.each, was.amount) != (item.quantity, item.each, item.amount):
            gap = None if was.amount is None or item.amount is None else item.amount - was.amount
            changes.append(LineDifference("changed", was, item, gap))
    for item in before:
        if item in left.get(item.key, []):
            left[item.key].remove(item)
            changes.append(
                LineDifference("dropped", item, None, None if item.amount is None else -item.amount)
            )
    return tuple(changes)


def over(total: Decimal, limit: Decimal | None) -> Decimal | None:
    """How much a total lies above an approved limit; None where it does not, or nothing was approved.

    Source: common practice.

    >>> over(Decimal("7513.08"), Decimal("6500.00")), over(Decimal("7513.08"), Decimal("7600.00"))
    (Decimal('1013.08'), None)
    """
    return total - limit if limit is not None and total > limit else None
