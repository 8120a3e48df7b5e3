"""results.json: what was worked out, for other programs; unrounded, each value with its unit.

The classes here are the published form: the JSON Schema is made from them.
Lengths are in mm, pressures in bar; the order is that of the records and the
sheet, so the same input gives the same bytes.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from ... import __version__
from ..model.assessment import Assessment, Characteristic, VerdictName
from .bench_form import BenchForm, bench_form
from .choice_form import ChoiceForm, OrderForm, choice_form, order_form

Pair = tuple[float | None, float | None]
# beyond this nothing is left but binary dust: a picometre
DIGITS = 9


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid")


class LimitsForm(_Form):
    """Limits as [low, high]; null where open."""

    new: Pair
    wear: Pair
    decides: Pair
    deciding: Literal["new", "wear"]


class CharacteristicForm(_Form):
    """One value at one position in one round, and its verdict."""

    name: str = Field(description="feature and characteristic, as in main_journals.out_of_round")
    feature: str
    characteristic: str
    position: str
    round: str | None = Field(description="null: never measured")
    value: float | None
    unit: str | None
    standard_uncertainty: float | None
    guard: float | None
    limits: LimitsForm | None
    limit_source: str | None
    size: str | None = Field(description="step that moved the limits, as in 0.50 mm undersize")
    verdict: VerdictName
    side: str | None
    bound: Literal["equal", "at least", "at most"]
    basis: str | None
    stands: bool = Field(description="whether it is the newest word on its position")
    advice: str | None


class FindingForm(_Form):
    id: str
    component: str
    positions: list[str]
    title: str
    seen: list[str]
    cause: str | None
    disposition: str


class PartForm(_Form):
    number: str | None
    name: str
    quantity: Decimal
    each: Decimal | None = Field(description="null: no price yet")
    because: list[str]
    findings: list[str]


class ProblemForm(_Form):
    file: str
    line: int
    column: int
    severity: Literal["error", "warning"]
    message: str
    suggestion: str | None


class RuleForm(_Form):
    """How verdicts are given."""

    name: Literal["guarded", "simple"]
    guard_factor: float
    text: str


class CostForm(_Form):
    currency: str
    net: Decimal
    tax: Decimal
    total: Decimal
    core_deposit: Decimal
    minimum: bool


class Results(_Form):
    """results.json of one job."""

    form: Literal["rebuildreport results 1"] = "rebuildreport results 1"
    made_by: str
    job: str
    title: str
    stage: str
    as_of: dt.date
    decision_rule: RuleForm
    characteristics: list[CharacteristicForm]
    findings: list[FindingForm]
    parts: list[PartForm]
    choices: list[ChoiceForm]
    machining_orders: list[OrderForm]
    cost: CostForm | None = Field(description="null in the public edition")
    build: BenchForm | None = Field(description="build sheet; null where nothing was taken apart")
    open_questions: list[str]
    in_the_files: list[str] = Field(description="what the shop's own files lack; none in the public edition")
    problems: list[ProblemForm]


def results(one: Assessment) -> Results:
    """The results of an assessment in their published form."""
    from ...trade.measuring.verdict import GUARD_FACTOR

    guarded = one.decision_rule == "guarded"
    priced = any(line.each is not None for line in one.cost.lines)
    return Results(
        made_by=f"rebuildreport {__version__}",
        job=one.job,
        title=one.title,
        stage=one.stage,
        as_of=one.as_of,
        decision_rule=RuleForm(
            name=one.decision_rule, guard_factor=GUARD_FACTOR if guarded else 0.0, text=one.rule_text
        ),
        characteristics=[_characteristic(c) for c in one.characteristics],
        findings=[
            FindingForm(
                id=f.id,
                component=f.component,
                positions=list(f.positions),
                title=f.title,
                seen=list(f.seen),
                cause=f.cause or None,
                disposition=f.disposition,
            )
            for f in one.findings
        ],
        parts=[
            PartForm(
                number=line.number or None,
                name=line.name,
                quantity=line.quantity,
                each=line.each,
                because=list(line.because),
                findings=list(line.findings),
            )
            for line in one.cost.lines
            if line.group == "part"
        ],
        choices=[choice_form(choice) for choice in one.choices],
        machining_orders=[order_form(order) for order in one.orders],
        cost=CostForm(
            currency=one.cost.currency,
            net=one.cost.net,
            tax=one.cost.tax,
            total=one.cost.total,
            core_deposit=one.cost.core_deposit,
            minimum=one.cost.minimum,
        )
        if priced
        else None,
        build=bench_form(one.bench),
        open_questions=list(one.open_questions),
        in_the_files=list(one.in_the_files),
        problems=[
            ProblemForm(
                file=p.file,
                line=p.line,
                column=p.column,
                severity=p.severity,
                message=p.message,
                suggestion=p.suggestion or None,
            )
            for p in one.problems
        ],
    )


def results_json(one: Assessment) -> bytes:
    """results.json as bytes, ending in a line feed."""
    return results(one).model_dump_json(indent=1).encode() + b"\n"


def results_schema() -> dict[str, Any]:
    """The JSON Schema of results.json (draft 2020-12)."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Results.model_json_schema(mode="serialization"),
    }


def _clean(value: float | None) -> float | None:
    return None if value is None else round(value, DIGITS)


def _pair(ends: Pair) -> Pair:
    return (_clean(ends[0]), _clean(ends[1]))


def _characteristic(one: Characteristic) -> CharacteristicForm:
    limits = one.limits
    return CharacteristicForm(
        name=f"{one.feature}.{one.name}",
        feature=one.feature,
        characteristic=one.name,
        position=one.position,
        round=one.occasion or None,
        value=_clean(one.value),
        unit=one.unit or None,
        standard_uncertainty=_clean(one.standard_uncertainty),
        guard=_clean(one.guard),
        limits=None
        if limits is None
        else LimitsForm(
            new=_pair(limits.new),
            wear=_pair(limits.wear),
            decides=_pair(limits.decides),
            deciding=limits.deciding,
        ),
        limit_source=limits.source if limits else None,
        size=(limits.size or None) if limits else None,
        verdict=one.verdict,
        side=one.side or None,
        bound=one.bound,
        basis=one.basis or None,
        stands=one.stands,
        advice=one.advice or None,
    )
