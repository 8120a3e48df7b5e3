"""The files of one job, but for its measurements, from arrival to the work done; built.py has the rest."""

import re
from typing import Literal

from pydantic import Field

from ...trade.engine.failure_causes import CauseCode
from ..text.fields import (
    Commas,
    Count,
    Day,
    Hours,
    Limit,
    Money,
    Names,
    Percent,
    Phrases,
    Place,
    Record,
    Share,
    SheetName,
    Stamped,
    Text,
    WithUnit,
    YesNo,
)
from .assembly import Assembly as Assembly
from .assembly import Running as Running
from .choosing import MachiningOrder
from .commerce import DifferenceRecord, DiscountRecord, OptionRecord, PartsOrder, PaymentRecord, Reopened
from .teardown import (
    AsFound,
    Earlier,
    Identity,
    MarkRecord,
    Missing,
    NotInspected,
    Seen,
    SizeAsFound,
    TeardownStep,
)


class Owner(Record):
    """Private: never on the public edition."""

    name: Text
    contact: Text = ""
    address: Text = ""
    registration: Text = ""
    serial: Text = Field("", description="full engine or vehicle number")


class Event(Record):
    at: Text = Field("", description="date or meter reading")
    what: Text


class Fluid(Record):
    """A fluid as drained."""

    fluid: Text
    quantity: WithUnit | None = None
    seen: Text
    fuel: YesNo | None = Field(None, description="of oil: whether fuel is in it")
    water: YesNo | None = Field(None, description="of oil: whether water or coolant is in it")


class FilterCut(Record):
    """The oil filter, cut open before anything is washed."""

    date: Day | None = None
    seen: Text
    particles: YesNo | None = Field(None, description="whether it held metal, sand or turnings")
    photo: Text = ""


class Arrival(Record):
    application: Text = ""
    meter: Text = Field("", description="hours or distance, as in 9412 h")
    meter_believed: YesNo | None = None
    built: Count | None = Field(None, description="year it was built in, where known, as in 1978")
    known_from: Text = Field(
        "", description="meter reading from which on the engine's history is known, where not from new"
    )
    complaint: Text = Field(description="in the customer's words")
    before: Text = Field("", description="what happened just before")
    history: list[Event] = []
    came_with: Commas = []
    not_with: Commas = Field([], description="what did not come, so was not looked at")
    only: Commas = Field(
        [], description="parts of the sheet that came without their engine, as in cylinder_head"
    )
    damage: list[Text] = Field([], description="damage already there")
    fluids: list[Fluid] = []
    oil_filter: FilterCut | None = None
    wish: Text = Field("", description="daily use, originality, cheapest, sale ...")

    @property
    def absent(self) -> frozenset[str]:
        """What did not come, as a sheet would name it."""
        return frozenset("_".join(name.lower().split()) for name in self.not_with)


class Authority(Record):
    """Who may order work, and how far the diagnosis may go."""

    ordered_by: Text = Field(description="role, as in owner or fleet manager")
    diagnosis_limit: Money | None = Field(None, description="most that finding out may cost")
    if_stopped: Text = Field("", description="what happens if the job ends half way")
    old_parts: Text = Field("", description="who keeps them")


class ApprovalRecord(Record):
    date: Day
    by: Text
    how: Text
    limit: Money
    covers: Text = ""
    issue: Count | None = Field(None, description="number of the issued document that was approved")
    ready: Day | None = Field(None, description="day on which the engine was promised")


class Asked(Record):
    """A question that only the customer can answer, put to him by word of mouth or letter."""

    date: Day
    what: Text = Field(description="as in grind the crank or exchange it")
    by: Day | None = Field(None, description="answer wanted by this day")
    answered: Day | None = None
    answer: Text = ""


class Issue(Record):
    issue: Count
    document: Text
    date: Day
    total: Money | None = None
    why: Text = ""


class Job(Record):
    """job.yaml"""

    title: Text
    engine: SheetName = Field(description="name of the spec sheet in engines/, without its ending")
    opened: Day
    declined: Day | None = Field(None, description="the customer said no: returned in boxes on this day")
    ready: Day | None = None
    delivered: Day | None = None
    publish: YesNo = False
    consent: Day | None = Field(None, description="date of the owner's consent to publish")
    consent_asked: Day | None = Field(None, description="day on which he was asked for it")
    was: Commas = Field([], description="names that the job's folder had before: its old addresses lead here")
    owner: Owner | None = None
    authority: Authority | None = None
    arrival: Arrival
    approvals: list[ApprovalRecord] = []
    asked: list[Asked] = Field([], description="questions to the customer, and when he answered")
    issued: list[Issue] = []
    promised: Day | None = Field(None, description="day on which the engine is expected to be ready")
    paid: list[PaymentRecord] = Field([], description="money received before the end")
    reopened: list[Reopened] = Field([], description="each time that it came back after delivery")
    language: Text = Field("", description="of the customer's documents, as in en or de")


class Teardown(Record):
    """teardown.yaml"""

    by: Text
    date: Day
    steps: list[TeardownStep] = []
    marks: list[MarkRecord] = []
    fasteners_as_found: list[AsFound] = []
    identity: list[Identity] = []
    tensioners: list[Seen] = []
    guides: list[Seen] = []
    seals: list[Seen] = []
    fluids: list[Fluid] = Field([], description="found or drained while taking apart")
    earlier_work: list[Earlier] = Field([], description="what somebody replaced or repaired before")
    codes: dict[str, Stamped] = Field({}, description="codes as stamped, in reading order: they may repeat")
    codes_void: dict[str, Text] = Field({}, description="feature: why its codes no longer tell anything")
    sizes_as_found: list[SizeAsFound] = []
    missing: list[Missing] = Field([], description="parts that are not there, such as a main cap")
    not_opened: list[Text] = Field([], description="what stayed closed, so was not inspected")
    not_inspected: list[NotInspected] = Field([], description="what was open, and yet not looked at")


class FindingRecord(Record):
    """What is seen, where, how bad, why."""

    component: Text = Field(description="a feature or a part of the engine")
    title: Text = Field("", description="heading for the customer")
    positions: Names = []
    seen: Phrases
    cause: Text = ""
    points_to: CauseCode | None = Field(None, description="which of the usual causes that is")
    text: Text = Field("", description="one paragraph for the customer")
    disposition: Literal["reuse", "recondition", "replace", "measure_again", "hold_for_customer"]
    failed: YesNo = Field(False, description="yes: it stopped doing its work, and so the engine came here")
    needs: Commas = Field([], description="parts, where the component is no feature")
    shows: Text = Field("", description="the value drawn beside it: feature.characteristic position")
    photos: Commas = []

    @property
    def shown(self) -> tuple[str, str, str] | None:
        """Feature, characteristic and position of the value drawn beside it; None where it names none."""
        match = re.fullmatch(r"([^.\s]+)\.(\S+)\s+(\S+)", self.shows)
        return (match[1], match[2], match[3]) if match else None


class CalloutRecord(Record):
    """A letter on a photo; the letters are given in the order of the callouts."""

    at: Place
    ring: Share | None = Field(
        None, description="a ring round it, its radius in per cent of the picture's width"
    )
    arrow: Place | None = Field(None, description="where an arrow to it starts, per cent from left and top")
    text: Text


class PhotoRecord(Record):
    caption: Text
    public: YesNo = False
    callouts: list[CalloutRecord] = []
    before: Text = Field("", description="the photo of the same spot before the work, set beside it")


class Findings(Record):
    """findings.yaml"""

    summary: Text = Field("", description="what we found, in three sentences")
    findings: dict[str, FindingRecord] = {}
    photos: dict[str, PhotoRecord] = Field({}, description="key: file name in photos/ without its ending")


class CandidateRecord(Record):
    """A part of another source: tried beside the engine's own until a decision 'with:' it makes it that."""

    title: Text = Field(description="as in crank B, second-hand")
    part: Text = Field(description="the part or feature whose place it would take")
    price: Money | None = Field(None, description="what it costs itself, net")
    treated: Text = Field("", description="as shells of the sheet are 'for:', as in nitrided")
    sizes: dict[str, Text] = Field({}, description="feature: size step that it has")
    codes: dict[str, Stamped] = Field({}, description="feature: codes stamped on it, one a position")


class DecisionRecord(Record):
    """What is done, by whom, why."""

    about: Text
    positions: Names = []
    do: Literal["reuse", "recondition", "replace"]
    with_: Text = Field("", alias="with", description="the candidate that takes its place")
    size: Text = Field("", description="step in its own unit, as in 0.50 mm undersize")
    remove: WithUnit | None = None
    fit: dict[str, Stamped] = Field({}, description="position: what is fitted, as in S3 S4 (upper, lower)")
    why: Text
    by: Text
    date: Day


class DeviationRecord(Record):
    """A part used although outside a limit, named and signed."""

    feature: Text
    positions: Names
    what: Text = Field(description="the characteristic, as in size")
    accept: Limit = Field(description="covers readings up to this limit only")
    why: Text
    signed: Text
    date: Day


class AccessWish(Record):
    """What a job wants off, and what it wants left alone."""

    off: Names = Field(description="what is to come off: crankshaft oil_pump")
    leave: Names = Field([], description="what stays on: cam_cover")
    holds: list[Text] = Field([], description="conditions of the sheet's ways that are known to hold")


class Labour(Record):
    """One task of our own: by the hour, or at a fixed price whatever it takes."""

    task: Text
    hours: Hours | None = None
    price: Money | None = Field(None, description="fixed price, in place of hours")
    spent: Hours | None = Field(None, description="hours that it took so far, for the shop's own eyes")
    access: Literal["off", "back", "both"] | None = Field(
        None, description="hours of the access plan in place of hours here: off, back or both"
    )
    why: Text = ""
    for_: Names = Field([], alias="for", description="findings or decisions that it is for, as in F1 W2")
    diagnosis: YesNo = Field(False, description="yes: part of finding out, under its own limit")
    tax: Percent | None = None


class Sublet(Record):
    part: Text
    work: Text
    price: Money | None = None
    why: Text = ""
    for_: Names = Field([], alias="for", description="findings or decisions that it is for, as in F1 W2")
    diagnosis: YesNo = Field(False, description="yes: part of finding out, under its own limit")
    tax: Percent | None = None


class ExtraPart(Record):
    part: Text
    quantity: Count = 1
    why: Text
    for_: Names = Field([], alias="for", description="findings or decisions that it is for, as in F1 W2")


class Work(Record):
    """work.yaml"""

    summary: Text = Field("", description="what we did, or what we advise, in three sentences")
    needs_from_customer: list[Text] = []
    candidates: dict[str, CandidateRecord] = Field({}, description="parts of another source, as in crank_b")
    decisions: dict[str, DecisionRecord] = {}
    deviations: dict[str, DeviationRecord] = {}
    access: AccessWish | None = Field(None, description="what is to come off: the access plan is of it")
    labour: list[Labour] = []
    sublet: list[Sublet] = []
    machining: dict[str, MachiningOrder] = Field({}, description="orders to machine shops")
    parts: list[ExtraPart] = []
    customer_brings: Commas = Field([], description="parts that the customer supplies: no price, no warranty")
    discounts: list[DiscountRecord] = []
    options: dict[str, OptionRecord] = Field({}, description="ways to go on, side by side")
    differences: list[DifferenceRecord] = Field([], description="why it differs from what was approved")
    orders: list[PartsOrder] = []
