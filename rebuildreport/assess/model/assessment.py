"""The Assessment: everything that is known of a job, as plain data.

Every document, the terminal output and the site are views of this one
object.  It can be written as JSON and read back (``to_json``, ``from_json``).
Values stand in the unit that the record computes in (lengths in mm),
unrounded; rounding belongs to whoever prints them.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from ...quantities import NOTHING, Sentence, Text
from ...records.text.problems import Problem
from ...trade.engine.crank import Wheel
from .bench import Bench, Dismantling
from .choice import Choice, ShopOrder, Tried
from .enginefacts import EngineFacts
from .prices import Approval as Approval
from .prices import Cost as Cost
from .prices import IssueNote as IssueNote
from .prices import PriceLine as PriceLine
from .prices import Spell as Spell

Ends = tuple[float | None, float | None]
VerdictName = Literal[
    "as new", "serviceable", "beyond limit", "too close to call", "not measured", "no limit on file"
]
Stage = Literal[
    "arrival",
    "teardown",
    "inspection",
    "decision",
    "machining",
    "assembly",
    "first start",
    "ready to collect",
    "delivery",
    "follow-up",
    "re-opened",
    "declined",
]


@dataclass(frozen=True, slots=True)
class Limits:
    """New and wear limits of one characteristic, in its unit; an open end is None."""

    new: Ends
    wear: Ends
    decides: Ends  # the limits that this verdict was given by
    deciding: Literal["new", "wear"]
    source: Text  # document, edition and page, or shop practice, or common practice
    decimals: int = 3  # as the sheet types them
    size: Text = NOTHING  # "0.50 mm undersize" where a decision moved them


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One value worked out for one position in one round, and its verdict."""

    feature: str
    name: str  # "out_of_round"
    position: str  # "M4"
    round: str  # "arrival"; '' where nothing was read
    value: float | None
    unit: str
    standard_uncertainty: float | None
    guard: float | None
    limits: Limits | None
    verdict: VerdictName
    side: Text = NOTHING  # its `end` in words: "too large", "too tight" ...
    advice: Text = NOTHING  # what would settle it, or what is missing
    # at least, at most: worn shells were not measured, or readings are missing
    bound: Literal["equal", "at least", "at most"] = "equal"
    basis: Text = NOTHING  # "measured walls", "predicted from grade band", "direct" ...
    decimals: int = 3  # that the uncertainty justifies
    raw: float | None = None  # before the temperature correction, where one was made
    note: Text = NOTHING
    fitness: Text = NOTHING  # said where the instrument is too coarse for the tolerance
    planes: dict[str, Ends] = field(default_factory=dict)  # plane: smallest, largest
    grid: tuple[tuple[float, float, float], ...] = ()  # contour of a face: x, y, height over its middle
    wheel: Wheel | None = None  # what was read round it, where it was turned under an indicator
    file: str = ""
    line: int = 0
    again: bool = True  # a surface used again as it is; False: machined or new
    stands: bool = True  # the newest word on this position: what the engine has now
    date: dt.date | None = None  # when it was read; of a fit the day of its newest reading
    table: str = ""  # the table, where its round had read the feature before
    end: Literal["", "low", "high"] = ""  # the end of its limits that it lies past, or too near to
    direct: bool = False  # read as it is, of what others are worked out for
    filing: float = 0.0  # what is to be filed off before it fits, in its unit

    @property
    def past(self) -> float:
        """How far past the limit that decides, in standard uncertainties; below 0 inside it."""
        low, high = self.limits.decides if self.limits and self.value is not None else (None, None)
        value = self.value or 0.0
        beyond = [low - value] if low is not None else []
        beyond += [value - high] if high is not None else []
        return max(beyond, default=0.0) / (self.standard_uncertainty or 1.0)

    @property
    def key(self) -> str:
        """Unique within a job: ``main_journals.out_of_round M4 @arrival``.  Nobody takes it apart."""
        return f"{self.feature}.{self.name} {self.position} @{self.occasion}"

    @property
    def day(self) -> dt.date:
        """The date of what was read; nothing stands for what was not."""
        assert self.date is not None
        return self.date

    @property
    def occasion(self) -> str:
        """The round, and the table where the round read the feature more than once."""
        return f"{self.round}/{self.table}" if self.table else self.round


@dataclass(frozen=True, slots=True)
class DueLimit:
    """One limit beside the boxes: what it judges, and its ends."""

    key: str
    title: str
    unit: str
    limits: Limits
    from_zero: bool  # a deviation: its tolerance is the limit itself


@dataclass(frozen=True, slots=True)
class Due:
    """One feature that is due: the boxes to fill, and all that stands beside them."""

    feature: str
    title: Text
    part: str
    kind: str
    drawing: str  # how to show where each reading goes
    readings: str  # how many make a measurement
    unit: str  # as typed in the round's file
    state: str
    positions: tuple[str, ...]
    columns: tuple[str, ...]
    limits: tuple[DueLimit, ...]
    instruments: tuple[str, ...]  # of the shop's that are fit for it, the plainest first
    when: Literal["before", "whole", "together", "apart"] = "apart"  # before: whole, and not opened yet


@dataclass(frozen=True, slots=True)
class DueRound:
    """A measuring round that is to come."""

    name: str
    features: tuple[Due, ...]  # in the order of the bench sheet


@dataclass(frozen=True, slots=True)
class Feature:
    """A feature of the engine's sheet as documents name it."""

    name: str
    title: Text  # "Main journals"
    kind: str
    unit: str
    part: str
    source: Text
    positions: tuple[str, ...]
    characteristics: dict[str, Text]  # name: title, as in out_of_round: out of round
    columns: tuple[str, ...] = ()
    state: str = ""


@dataclass(frozen=True, slots=True)
class SummaryLine:
    """One line of a feature in the summary: its worst position on arrival and now."""

    feature: str
    characteristic: str
    title: Text  # "Main journals, out of round"
    first: str | None  # key of the characteristic, worst on arrival
    now: str | None  # key of the worst that stands now; None: nothing stands
    now_verdict: VerdictName = "not measured"
    deviation: str = ""  # "V1" where one covers it
    counts: dict[str, int] = field(default_factory=dict)  # standing verdicts: how many positions


@dataclass(frozen=True, slots=True)
class ReadingTable:
    """Readings as typed, for the annex."""

    round: str
    name: str
    feature: str
    unit: str
    instrument: str
    set_from: str
    state: str
    temperature: str
    columns: tuple[str, ...]
    rows: dict[str, tuple[str, ...]]
    doubts: tuple[Text, ...] = ()  # in sentences: what is doubtful about these readings
    left_out: tuple[tuple[str, str], ...] = ()  # position, column: in no value until confirmed
    on_paper: str = ""  # read on this, which is not in the engine


@dataclass(frozen=True, slots=True)
class Round:
    name: str
    title: Text
    date: dt.date
    by: str
    temperature: str
    as_found: bool = False  # measured before anything was decided: how the engine arrived


@dataclass(frozen=True, slots=True)
class InstrumentUsed:
    """An instrument that the job used."""

    name: str
    kind: str
    range: Text
    resolution: str
    permitted_error: str
    repeatability: str
    calibrated: dt.date | None
    due: dt.date | None


@dataclass(frozen=True, slots=True)
class Callout:
    letter: str
    across: float  # per cent from the left
    down: float  # per cent from the top
    text: str
    ring: float = 0.0  # radius of a ring round it, per cent of the picture's width; 0 for none
    arrow: tuple[float, float] | None = None  # where an arrow to it starts, per cent from left and top


@dataclass(frozen=True, slots=True)
class Photo:
    name: str
    file: str  # path inside the job folder, "" where no such file is there
    caption: str
    public: bool
    callouts: tuple[Callout, ...] = ()
    number: int = 0  # as printed: Picture 1
    before: str = ""  # the photo of the same spot before the work


@dataclass(frozen=True, slots=True)
class Finding:
    id: str  # "F1"
    number: int  # as printed
    title: Text
    component: str
    component_title: Text
    positions: tuple[str, ...]
    seen: tuple[str, ...]
    cause: str
    text: str
    disposition: str
    photos: tuple[str, ...]
    shows: tuple[str, ...]  # keys of the characteristics drawn beside it: arrival first, then now
    price_lines: tuple[int, ...] = ()
    verdict: str = ""  # worst verdict among its positions on arrival, "" where none was measured


@dataclass(frozen=True, slots=True)
class Decision:
    id: str
    about: str
    about_title: Text
    positions: tuple[str, ...]
    do: str
    size: Text
    why: str
    by: str
    date: dt.date


@dataclass(frozen=True, slots=True)
class Deviation:
    """A part used although outside a limit: every document repeats it."""

    id: str
    feature: str
    feature_title: Text
    positions: tuple[str, ...]
    what: Text
    accept: str
    why: str
    signed: str
    date: dt.date
    covers: tuple[str, ...]  # keys of the characteristics that it covers


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of the record of arrival, teardown, assembly or running: a word and what it says."""

    label: Text
    text: Text


@dataclass(frozen=True, slots=True)
class HoldPoint:
    what: Text
    by: str
    witness: str
    date: dt.date


@dataclass(frozen=True)
class Assessment:
    """One job, whole."""

    job: str  # folder name
    title: str
    stage: Stage
    opened: dt.date
    as_of: dt.date  # newest date in the records: what "now" means
    engine: EngineFacts
    shop: str
    contact: str
    notice: str
    system: Literal["mm", "in"]
    decision_rule: Literal["guarded", "simple"]
    rule_text: Text  # the decision rule in a sentence
    publish: bool
    complaint: str
    application: str
    meter: Text
    found: Text  # three sentences
    did: Text  # what was done, or what is advised
    did_is_done: bool
    needs_from_customer: tuple[Text, ...]
    arrival: tuple[Fact, ...]
    not_with: tuple[str, ...]
    not_opened: tuple[str, ...]
    teardown: tuple[Fact, ...]
    marks: tuple[Fact, ...]
    rounds: tuple[Round, ...]
    features: tuple[Feature, ...]
    characteristics: tuple[Characteristic, ...]
    summary: tuple[SummaryLine, ...]
    tables: tuple[ReadingTable, ...]
    instruments: tuple[InstrumentUsed, ...]
    findings: tuple[Finding, ...]
    photos: tuple[Photo, ...]
    decisions: tuple[Decision, ...]
    deviations: tuple[Deviation, ...]
    cost: Cost
    running: tuple[Fact, ...]
    next_steps: tuple[Fact, ...]
    hold_points: tuple[HoldPoint, ...]
    cautions: tuple[Text, ...]
    too_close: tuple[Text, ...]
    not_measured: tuple[Text, ...]
    to_decide: tuple[Text, ...]
    problems: tuple[Problem, ...]
    in_the_files: tuple[str, ...] = ()  # what the shop's files lack: for check, in no document
    uncorrected: tuple[Text, ...] = ()  # features read away from 20 °C, of no known material
    ready: dt.date | None = None
    delivered: dt.date | None = None
    spells: tuple[Spell, ...] = ()
    language: str = "en"
    issue: IssueNote | None = None
    choices: tuple[Choice, ...] = ()
    paper_tables: tuple[ReadingTable, ...] = ()  # of what is only tried, and not in the engine
    candidates: tuple[Tried, ...] = ()  # parts tried on paper beside the engine's own
    orders: tuple[ShopOrder, ...] = ()
    bench: Bench = field(default_factory=Bench)
    due: DueRound | None = None  # asked for by what prints a bench sheet (assess/measure/due.py)
    apart: Dismantling = field(default_factory=Dismantling)

    @property
    def open_questions(self) -> tuple[Text, ...]:
        """All that is open: too close to call, to decide, not measured."""
        missing = tuple(Sentence("Not measured: {line}", line=line) for line in self.not_measured)
        return (*self.too_close, *self.to_decide, *missing)

    @cached_property
    def as_found(self) -> frozenset[str]:
        """Names of the rounds that tell how the engine arrived."""
        return frozenset(one.name for one in self.rounds if one.as_found)

    @cached_property
    def _by_key(self) -> dict[str, Characteristic]:
        return {one.key: one for one in self.characteristics}

    def find(self, key: str | None) -> Characteristic | None:
        """A characteristic by its key."""
        return self._by_key.get(key) if key else None

    def feature(self, name: str) -> Feature:
        """A feature by its name; KeyError where the sheet has none."""
        return next(one for one in self.features if one.name == name)


def to_json(assessment: Assessment) -> str:
    """The whole Assessment as JSON text."""
    from pydantic import TypeAdapter

    return TypeAdapter(Assessment).dump_json(assessment, indent=1).decode()


def from_json(text: str) -> Assessment:
    """An Assessment from ``to_json`` text; pydantic's ValidationError where it is none."""
    from pydantic import TypeAdapter

    return TypeAdapter(Assessment).validate_json(text)
