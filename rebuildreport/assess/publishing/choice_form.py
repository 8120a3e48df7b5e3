"""Choices and machining orders as results.json publishes them."""

from __future__ import annotations

from decimal import Decimal

from pydantic import BaseModel, ConfigDict, Field

from ..model.choice import Candidate, Choice, Effect, Kind, Operation, Outcome, Place, ShopOrder, Status

DIGITS = 9  # beyond this nothing is left but binary dust
Pair = tuple[float | None, float | None]


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid")


class CandidateForm(_Form):
    """One thing that was weighed."""

    name: str
    low: float | None
    high: float | None
    middle: float | None
    fitness: str | None
    note: str | None
    chosen: bool


class PlaceForm(_Form):
    """What was chosen for one position, by the codes and from measurement."""

    position: str
    status: Status
    chosen: str | None
    low: float | None
    high: float | None
    middle: float | None
    stamped: str | None = Field(description="housing code / journal code as read")
    by_code: str | None
    codes_void: str | None = Field(description="why the codes tell nothing")
    measured: str | None = Field(description="the codes whose bands the measured sizes lie in")
    by_measurement: str | None
    agree: bool | None
    reasons: list[str]
    source: str | None = Field(description="of a shim: keep, move from I8, shelf, buy")
    before: str | None
    candidates: list[CandidateForm]
    note: str | None


class EffectForm(_Form):
    """What a step or a cut does to another value, worked out before it is made."""

    what: str
    feature: str | None
    positions: list[str]
    unit: str
    before: Pair
    after: Pair
    standard_uncertainty: float | None
    guard: float | None
    limits: Pair
    verdict: str | None
    note: str | None


class BuyForm(_Form):
    part: str | None
    what: str
    quantity: int
    from_shelf: int
    packs_to_order: int
    positions: list[str]


class ChoiceForm(_Form):
    """Which part or which size: the answer, why, and what else there was."""

    name: str
    kind: Kind
    title: str
    status: Status
    answer: str
    unit: str
    target: float | None
    limits: Pair
    why: str | None
    alternative: str | None
    off_target_in_all: float | None
    places: list[PlaceForm]
    steps: list[CandidateForm]
    buy: list[BuyForm]
    cost: Decimal | None = Field(description="of the parts as they are used, as in the estimate")
    alternative_cost: Decimal | None
    outlay: Decimal | None = Field(description="of the whole packs that must be ordered")
    alternative_outlay: Decimal | None
    work: list[tuple[str, Decimal | None]] = Field(description="work by others on the same part, net")
    impossible: list[str]
    decides: list[str] = Field(description="readings that will decide what is provisional")
    follows: list[str]
    effects: list[EffectForm]
    on_paper: str | None = Field(description="tried with parts that are not in the engine")
    paper_price: Decimal | None = Field(description="of those parts themselves, net")
    own: list[str] = Field(description="what of those parts is itself beyond its limits")
    decision: str | None


class OperationForm(_Form):
    number: int
    feature: str
    positions: list[str]
    work: str
    size: Pair
    unit: str
    form: dict[str, Pair]
    must: dict[str, str]
    never: list[str]


class ReturnedForm(_Form):
    operation: int
    what: str
    outcome: Outcome
    positions: list[str]
    low: float | None
    high: float | None
    note: str | None


class OrderForm(_Form):
    """An order to a machine shop, and what came back."""

    name: str
    to: str
    parts: list[str]
    operations: list[OperationForm]
    returned: list[ReturnedForm]
    missing: list[str]


def clean(value: float | None) -> float | None:
    """A number without binary dust."""
    return None if value is None else round(value, DIGITS)


def _pair(ends: Pair) -> Pair:
    return (clean(ends[0]), clean(ends[1]))


def _candidate(one: Candidate) -> CandidateForm:
    return CandidateForm(
        name=one.name,
        low=clean(one.low),
        high=clean(one.high),
        middle=clean(one.middle),
        fitness=one.fitness or None,
        note=one.note or None,
        chosen=one.chosen,
    )


def _place(one: Place) -> PlaceForm:
    return PlaceForm(
        position=one.position,
        status=one.status,
        chosen=one.answer or None,
        low=clean(one.low),
        high=clean(one.high),
        middle=clean(one.middle),
        stamped=one.stamped or None,
        by_code=one.by_code or None,
        codes_void=one.void or None,
        measured=one.measured or None,
        by_measurement=one.by_measurement or None,
        agree=one.agree,
        reasons=list(one.reasons),
        source=one.source or None,
        before=one.before or None,
        candidates=[_candidate(c) for c in one.candidates],
        note=one.note or None,
    )


def _effect(one: Effect) -> EffectForm:
    return EffectForm(
        what=one.what,
        feature=one.feature or None,
        positions=list(one.positions),
        unit=one.unit,
        before=_pair(one.before),
        after=_pair(one.after),
        standard_uncertainty=clean(one.u),
        guard=clean(one.guard),
        limits=_pair(one.limits),
        verdict=one.verdict or None,
        note=one.note or None,
    )


def choice_form(one: Choice) -> ChoiceForm:
    """One choice in its published form."""
    return ChoiceForm(
        name=one.name,
        kind=one.kind,
        title=one.title,
        status=one.status,
        answer=one.answer,
        unit=one.unit,
        target=clean(one.target),
        limits=_pair(one.limits),
        why=one.why or None,
        alternative=one.alternative or None,
        off_target_in_all=clean(one.off),
        places=[_place(p) for p in one.places],
        steps=[_candidate(c) for c in one.steps],
        buy=[
            BuyForm(
                part=b.part or None,
                what=b.what,
                quantity=b.quantity,
                from_shelf=b.shelf,
                packs_to_order=b.packs,
                positions=list(b.positions),
            )
            for b in one.buy
        ],
        cost=one.cost,
        alternative_cost=one.alternative_cost,
        outlay=one.outlay,
        alternative_outlay=one.alternative_outlay,
        work=list(one.work),
        impossible=list(one.impossible),
        decides=list(one.decides),
        follows=list(one.follows),
        effects=[_effect(effect) for effect in one.effects],
        on_paper=one.on_paper or None,
        paper_price=one.paper_price,
        own=list(one.own),
        decision=one.decision or None,
    )


def _operation(one: Operation) -> OperationForm:
    return OperationForm(
        number=one.number,
        feature=one.feature,
        positions=list(one.positions),
        work=one.work,
        size=_pair(one.size),
        unit=one.unit,
        form={name: _pair(ends) for name, ends in one.form.items()},
        must=dict(one.must),
        never=list(one.never),
    )


def order_form(one: ShopOrder) -> OrderForm:
    """One machining order in its published form."""
    return OrderForm(
        name=one.name,
        to=one.to,
        parts=list(one.parts),
        operations=[_operation(o) for o in one.operations],
        returned=[
            ReturnedForm(
                operation=r.operation,
                what=r.what,
                outcome=r.outcome,
                positions=list(r.positions),
                low=clean(r.low),
                high=clean(r.high),
                note=r.note or None,
            )
            for r in one.returned
        ],
        missing=list(one.missing),
    )
