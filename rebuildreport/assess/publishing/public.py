"""The public side of an assessment: no prices, no private text, only photos that are cleared."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from typing import Any, TypeVar, cast

from ...quantities import Sentence
from ..model.assessment import Assessment, PriceLine
from ..model.choice import Choice

# facts of arrival that concern the order, not the engine
_PRIVATE_FACTS = ("Ordered by", "If the job stops", "Old parts", "Wish")
# who signed is the shop's matter: that somebody did, and that two looked, is everybody's
_SIGNERS = {
    "by": Sentence("the shop"),
    "signed": Sentence("the shop"),
    "witness": Sentence("a second person"),
}
_T = TypeVar("_T")
_ROLES = frozenset({"", "shop", "customer", "owner", "insurer"})


def public(one: Assessment) -> Assessment:
    """The same assessment without what is the customer's or the shop's alone."""
    zero = Decimal("0.00")
    cost = replace(
        one.cost,
        lines=tuple(_without_price(line) for line in one.cost.lines if line.group == "part"),
        parts=zero,
        sublet=zero,
        hours=Decimal(0),
        labour_rate=None,
        labour=zero,
        net=zero,
        tax_rate=None,
        tax=zero,
        total=zero,
        core_deposit=zero,
        to_pay=zero,
        minimum=False,
        not_priced=(),
        approvals=(),
        first_estimate=None,
        over_by=None,
        prices_on=None,
        consumables=zero,
        discount=zero,
        taxes=(),
        cores=(),
        paid=(),
        balance=None,
        options=(),
        against=None,
        stops=(),
        purchases=(),
        rounding="",
    )
    photos = tuple(photo for photo in one.photos if photo.public)
    names = {photo.name for photo in photos}
    shown = {line.line for line in cost.lines}
    return replace(
        one,
        cost=cost,
        photos=photos,
        findings=tuple(
            replace(
                f,
                photos=tuple(p for p in f.photos if p in names),
                price_lines=tuple(number for number in f.price_lines if number in shown),
            )
            for f in one.findings
        ),
        arrival=tuple(fact for fact in one.arrival if fact.label not in _PRIVATE_FACTS),
        needs_from_customer=(),
        to_decide=tuple(q for q in one.to_decide if not q.startswith("No price yet")),
        in_the_files=(),
        problems=(),
        issue=replace(one.issue, changed=()) if one.issue else None,
        choices=tuple(_without_prices(choice) for choice in one.choices),
        candidates=tuple(replace(tried, cost=None, price=None, total=None) for tried in one.candidates),
        orders=(),
        spells=tuple(replace(spell, net=None, tax=None, total=None) for spell in one.spells),
        bench=_nameless(replace(one.bench, start=replace(one.bench.start, warranty=None))),
        decisions=_nameless(one.decisions),
        deviations=_nameless(one.deviations),
        hold_points=_nameless(one.hold_points),
    )


def _nameless(one: _T) -> _T:
    """The same with the part that somebody played in place of a name, all the way down."""
    return cast("_T", _without_names(one))


def _without_names(one: Any) -> Any:
    if isinstance(one, tuple):
        return tuple(map(_without_names, one))
    if not is_dataclass(one) or isinstance(one, type):
        return one
    changed: dict[str, Any] = {}
    for name in (field.name for field in fields(one)):
        value = getattr(one, name)
        if isinstance(value, str):
            if name in _SIGNERS and value.lower() not in _ROLES:
                changed[name] = _SIGNERS[name]
        else:
            changed[name] = _without_names(value)
    return replace(one, **changed) if changed else one


def _without_prices(one: Choice) -> Choice:
    return replace(
        one, cost=None, alternative_cost=None, outlay=None, alternative_outlay=None, work=(), paper_price=None
    )


def _without_price(line: PriceLine) -> PriceLine:
    return replace(line, each=None, amount=None, core=None)
