"""The build sheet, the bolts and the register in results.json: torques in N·m, forces in N, lengths in mm."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from ..model.bench import Bench, BuildLine, MarkLine
from ..model.bolting import Fastening, Signed, StageLine

DIGITS = 9


class _Form(BaseModel):
    model_config = ConfigDict(extra="forbid")


class PreloadForm(_Form):
    """Force of one bolt after a stage [N], with its scatter, and what it comes to."""

    low: float
    expected: float
    high: float
    share_of_proof: float
    method: Literal["torque", "angle", "yield", "stretch"]
    stretch: float | None = Field(description="mm, tightened less free length; null: length not known")
    lasting_stretch: float = Field(description="mm of it that stay")


class StageForm(_Form):
    kind: Literal["torque", "angle", "stretch"]
    value: float | None = Field(description="null: withheld, its two units disagree")
    unit: str
    source: str | None
    withheld: str | None
    preload: PreloadForm | None


class FasteningForm(_Form):
    """One group of bolts."""

    name: str
    part: str
    quantity: int
    reuse: Literal["always", "never", "by_measure"]
    to_buy: int
    thread: str | None
    strength_class: str | None
    lubricant: str | None
    proof_load: float | None
    yield_preload: float | None
    torque_factor: float | None
    sources: list[str]
    stages: list[StageForm]
    order: list[int] = Field(description="number in which each place is tightened, in the layout's order")
    stretches: dict[str, float]
    notes: list[str]


class SignedForm(_Form):
    by: str
    witness: str | None
    date: dt.date | None


class MarkForm(_Form):
    """One reference mark."""

    where: str
    trust: Literal["factory", "before_movement", "after_movement", "inferred"]
    state: Literal["done", "out of limits", "not signed", "open"]
    why: str | None
    verified: str | None


class LineForm(_Form):
    """One line of the build sheet."""

    number: str
    verb: Literal["fit", "tighten", "measure", "mark", "check", "hold", "do"]
    name: str
    state: Literal["done", "out of limits", "not signed", "open"]
    why: str | None
    parts: list[str]
    signed: SignedForm | None
    deviations: list[str]


class PageForm(_Form):
    name: str
    title: str
    lines: list[LineForm]


class BenchForm(_Form):
    """How it goes together: pages of the build sheet, bolts, marks, and what is still owed."""

    pages: list[PageForm]
    fasteners: list[FasteningForm]
    marks: list[MarkForm]
    unsigned_hold_points: list[str]
    deviations: list[str] = Field(description="what was built otherwise than the sheet says")
    open: list[str]


def bench_form(bench: Bench) -> BenchForm | None:
    """The published form; None where there is nothing of it."""
    build = bench.build
    if not (build.pages or build.fastenings or build.marks):
        return None
    return BenchForm(
        pages=[
            PageForm(name=page.name, title=page.title, lines=[_line(one) for one in page.lines])
            for page in build.pages
        ],
        fasteners=[_fastening(one) for one in build.fastenings],
        marks=[_mark(one) for one in build.marks],
        unsigned_hold_points=[one.number for one in build.unsigned_holds],
        deviations=[f"{one.id}: {one.about}: {one.what}" for one in build.departures],
        open=list(bench.open),
    )


def _line(one: BuildLine) -> LineForm:
    return LineForm(
        number=one.number,
        verb=one.verb,
        name=one.name,
        state=one.state,
        why=one.state_text or None,
        parts=[part.part for part in one.parts if part.part],
        signed=_signed(one.signed),
        deviations=list(one.deviations),
    )


def _signed(one: Signed | None) -> SignedForm | None:
    return None if one is None else SignedForm(by=one.by, witness=one.witness or None, date=one.date)


def _mark(one: MarkLine) -> MarkForm:
    return MarkForm(
        where=one.where,
        trust=one.trust,
        state=one.state,
        why=one.state_text or None,
        verified=one.verified or None,
    )


def _fastening(one: Fastening) -> FasteningForm:
    return FasteningForm(
        name=one.name,
        part=one.part,
        quantity=one.quantity,
        reuse=one.reuse,
        to_buy=one.buy,
        thread=one.thread or None,
        strength_class=one.strength or None,
        lubricant=one.lubricant or None,
        proof_load=_round(one.proof_load),
        yield_preload=_round(one.yield_load),
        torque_factor=one.nut_factor,
        sources=list(one.sources),
        stages=[_stage(stage) for stage in one.stages],
        order=[place.number for place in one.places],
        stretches={stretch.place: round(stretch.value, DIGITS) for stretch in one.stretches},
        notes=[*one.notes, *one.doubts],
    )


def _stage(one: StageLine) -> StageForm:
    load = one.preload
    return StageForm(
        kind=one.kind,
        value=None if one.withheld else one.value,
        unit=one.unit,
        source=one.source or None,
        withheld=one.withheld or None,
        preload=None
        if load is None
        else PreloadForm(
            low=round(load.low, 3),
            expected=round(load.expected, 3),
            high=round(load.high, 3),
            share_of_proof=round(load.share_of_proof, DIGITS),
            method=load.method,
            stretch=None if load.stretch is None else round(load.stretch, DIGITS),
            lasting_stretch=round(load.lasting, DIGITS),
        ),
    )


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
