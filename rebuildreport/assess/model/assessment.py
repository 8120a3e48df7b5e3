"""The Assessment: everything that is known of a job, as plain data.

Every document, the terminal output and the site are views of this one
object.  It can be written as JSON and read back (``publishing/results.py``).
Values stand in the unit that the record computes in (lengths in mm),
unrounded; rounding belongs to whoever prints them.
"""

from __future__ import annotations

import datetime as dt
from functools import cached_property
from typing import Annotated, Literal

from msgspec import Struct, field

from ...quantities import NOTHING, Sentence, Several, Text, Typed
from ...records.doubts.onereading import OneReading
from ...records.files.folder import job_number
from ...records.text.problems import Problem
from ...trade.engine.crank import Wheel
from ...trade.life.lifetimes import Look, LookedAt, PartState
from ...trade.measuring.verdict import OPEN as OPEN
from ...trade.measuring.verdict import Ends as Ends
from ...trade.measuring.verdict import Name
from .accessplan import AccessPlan
from .bench import Bench, Dismantling
from .choice import Choice, ShopOrder, Tried
from .correspondence import LabelSheet, Letterhead
from .edition import Open, Public, ShopOnly, Signer, Whole, Witness
from .enginefacts import EngineFacts
from .engineload import EngineLoads
from .failure_evidence import FindingEvidence
from .keys import ValueKey
from .prices import Approval as Approval
from .prices import Cost as Cost
from .prices import IssueNote as IssueNote
from .prices import PriceLine as PriceLine
from .prices import Spell as Spell

VerdictName = Name
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


When = Literal["before", "whole", "together", "apart"]  # before: whole, and not opened yet


class LimitSource(Struct, frozen=True):
    """Where limits come from: a document with its edition, or shop practice, or common practice."""

    document: Public[Text]
    where: Public[str] = ""  # "page 31", as typed
    page: Public[str] = ""  # "31" of that

    @property
    def text(self) -> Text:
        """Both in one."""
        if self.page:
            return Sentence("{document}, page {page}", document=self.document, page=self.page)
        return Several((self.document, Typed(self.where))) if self.where else self.document


class Limits(Struct, frozen=True):
    """New and wear limits of one characteristic, in its unit; an open end is None."""

    new: Public[Ends]
    wear: Public[Ends]
    decides: Public[Ends]  # the limits that this verdict was given by
    deciding: Public[Literal["new", "wear"]]
    source: Public[LimitSource]
    decimals: Public[int] = 3  # as the sheet types them
    size: Public[Text] = NOTHING  # "0.50 mm undersize" where a decision moved them

    @property
    def by_fit(self) -> bool:
        """Whether another value decides, so that these are a remark."""
        return self.decides == OPEN

    @property
    def last(self) -> Ends:
        """The last limit of each side: the wear limit, or the new one where no wear limit is given."""
        if self.by_fit:
            return OPEN
        low, high = (worn if worn is not None else new for new, worn in zip(self.new, self.wear, strict=True))
        return low, high

    @property
    def edges(self) -> list[float]:
        """Every new and wear limit that is given, from the lowest to the highest, each once."""
        return sorted({end for end in (*self.new, *self.wear) if end is not None})


class Characteristic(Struct, frozen=True):
    """One value worked out for one position in one round, and its verdict."""

    feature: Public[str]
    name: Public[str]  # "out_of_round"
    position: Public[str]  # "M4"
    round: Public[str]  # "arrival"; '' where nothing was read
    value: Public[float | None]
    unit: Public[str]
    standard_uncertainty: Public[float | None]
    guard: Public[float | None]
    limits: Public[Limits | None]
    verdict: Public[VerdictName]
    side: Public[Text] = NOTHING  # its `end` in words: "too large", "too tight" ...
    advice: Public[Text] = NOTHING  # what would settle it, or what is missing
    # at least, at most: worn shells were not measured, or readings are missing
    bound: Public[Literal["equal", "at least", "at most"]] = "equal"
    basis: Public[Text] = NOTHING  # "measured walls", "predicted from grade band", "direct" ...
    decimals: Public[int] = 3  # that the uncertainty justifies
    raw: Public[float | None] = None  # before the temperature correction, where one was made
    note: Public[Text] = NOTHING
    fitness: Public[Text] = NOTHING  # said where the instrument is too coarse for the tolerance
    planes: Public[dict[str, Ends]] = field(default_factory=dict)  # plane: smallest, largest
    grid: Public[tuple[tuple[float, float, float], ...]] = ()  # contour of a face: x, y, height
    wheel: Whole[Wheel | None] = None  # what was read round it, where it was turned under an indicator
    file: Public[str] = ""
    line: Public[int] = 0
    again: Public[bool] = True  # a surface used again as it is; False: machined or new
    stands: Public[bool] = True  # the newest word on this position: what the engine has now
    date: Public[dt.date | None] = None  # when it was read; of a fit the day of its newest reading
    table: Public[str] = ""  # the table, where its round had read the feature before
    end: Public[Literal["", "low", "high"]] = ""  # the end of its limits that it lies past, or too near to
    direct: Public[bool] = False  # read as it is, of what others are worked out for
    filing: Public[float] = 0.0  # what is to be filed off before it fits, in its unit
    worst: Public[float | None] = None  # of its readings the one that decides, where it is not the value
    guard_below: Public[float | None] = None  # between two leaves, the lesser of which is the value

    @property
    def past(self) -> float:
        """How far past the limit that decides, as a share of its band or of itself; negative inside."""
        value = self.value if self.worst is None else self.worst
        if value is None or self.limits is None:
            return float("-inf")
        low, high = self.limits.decides
        if low is None and high is None:
            low, high = self.limits.new  # judged by its clearance: these still say which is the worst
        over = max(
            float("-inf") if low is None else low - value, float("-inf") if high is None else value - high
        )
        scale = high - low if low is not None and high is not None else abs(low or high or 0.0)
        return over / scale if scale else float("-inf")

    @property
    def key(self) -> ValueKey:
        """What it is known by."""
        return ValueKey(self.feature, self.name, self.position, self.round, self.table)

    @property
    def day(self) -> dt.date:
        """The date of what was read; nothing stands for what was not."""
        assert self.date is not None
        return self.date


class DueLimit(Struct, frozen=True):
    """One limit beside the boxes: what it judges, and its ends."""

    key: str
    title: Text
    unit: str
    limits: Limits
    from_zero: bool  # a deviation: its tolerance is the limit itself


class Due(Struct, frozen=True):
    """One feature that is due: the boxes to fill, and all that stands beside them."""

    feature: str
    title: Text
    part: str
    kind: str
    drawing: str  # how to show where each reading goes
    readings: Text  # how many make a measurement
    unit: str  # as typed in the round's file
    state: str
    positions: tuple[str, ...]
    columns: tuple[str, ...]
    limits: tuple[DueLimit, ...]
    instruments: tuple[str, ...]  # of the shop's that are fit for it, the plainest first
    instrument: Text  # the first of them in words
    to_set: bool = False  # it is set in another before it reads
    when: When = "apart"
    asks: OneReading | None = None  # what is asked of each reading while it is typed


class DueRound(Struct, frozen=True):
    """A measuring round that is to come."""

    name: str
    features: tuple[Due, ...]  # in the order of the bench sheet


class Feature(Struct, frozen=True):
    """A feature of the engine's sheet as documents name it."""

    name: Public[str]
    title: Public[Text]  # "Main journals"
    kind: Public[str]
    unit: Public[str]
    part: Public[str]
    source: Public[Text]
    positions: Public[tuple[str, ...]]
    characteristics: Public[dict[str, Text]]  # name: title, as in out_of_round: out of round
    columns: Public[tuple[str, ...]] = ()
    state: Public[str] = ""
    heading: Public[str] = ""  # what of an engine it belongs to: a code of trade/engine/subjects


class SummaryLine(Struct, frozen=True):
    """One line of a feature in the summary: its worst position on arrival and now."""

    feature: Public[str]
    characteristic: Public[str]
    title: Public[Text]  # "Main journals, out of round"
    first: Public[ValueKey | None]  # worst on arrival
    now: Public[ValueKey | None]  # worst that stands now; None: nothing stands
    now_verdict: Public[VerdictName] = "not measured"
    counts: Public[dict[str, int]] = field(default_factory=dict)  # standing verdicts: how many positions
    place: Public[str] = ""  # where the line is of one place only


class Depths(Struct, frozen=True):
    """Bores as they were read from top to bottom in one direction."""

    direction: Public[str]
    levels: Public[tuple[str, ...]]
    sizes: Public[dict[str, tuple[float, ...]]]  # position: at each level [mm]


class ReadingTable(Struct, frozen=True):
    """Readings as typed, for the record."""

    round: Public[str]
    name: Public[str]
    feature: Public[str]
    unit: Public[str]
    instrument: Public[str]
    set_from: Public[str]
    state: Public[str]
    temperature: Public[str]
    columns: Public[tuple[str, ...]]
    rows: Public[dict[str, tuple[str, ...]]]
    doubts: Public[tuple[Text, ...]] = ()  # in sentences: what is doubtful about these readings
    left_out: Public[tuple[tuple[str, str], ...]] = ()  # position, column: in no value until confirmed
    asked: Public[tuple[tuple[str, str], ...]] = ()  # position, column: in its values, and asked about
    on_paper: Public[str] = ""  # read on this, which is not in the engine
    depths: Public[tuple[Depths, ...]] = ()


class Round(Struct, frozen=True):
    name: Public[str]
    title: Public[Text]
    date: Public[dt.date]
    by: Signer
    temperature: Public[str]
    as_found: Public[bool] = False  # measured before anything was decided: how the engine arrived


class InstrumentUsed(Struct, frozen=True):
    """An instrument that the job used."""

    name: Public[str]
    kind: Public[str]
    range: Public[Text]
    resolution: Public[str]
    permitted_error: Public[Text]
    repeatability: Public[str]
    calibrated: Public[dt.date | None]
    due: Public[dt.date | None]


class Callout(Struct, frozen=True):
    letter: Public[str]
    across: Public[float]  # per cent from the left
    down: Public[float]  # per cent from the top
    text: Public[str]
    ring: Public[float] = 0.0  # radius of a ring round it, per cent of the picture's width; 0 for none
    arrow: Public[tuple[float, float] | None] = None  # where an arrow to it starts, in per cent


class Photo(Struct, frozen=True):
    name: Public[str]
    file: Public[str]  # path inside the job folder, "" where no such file is there
    caption: Public[str]
    public: Public[bool]
    callouts: Public[tuple[Callout, ...]] = ()
    number: Public[int] = 0  # as printed: Picture 1
    before: Public[str] = ""  # the photo of the same spot before the work


class Shot(Struct, frozen=True):
    """A picture as its file tells of it, of a job that has some which nothing names."""

    name: str
    file: str  # path inside the job folder
    taken: str  # by the camera's clock, as in 2031-03-05 14:30:12; "" where neither picture nor name tells
    same: tuple[str, ...]  # others of the same moment, or the same bytes: told with it
    named_in: tuple[str, ...]  # files of the job that name it or one of those; () none
    feature: str = ""  # that it was taken of, where the bench page named it
    position: str = ""
    beside: tuple[Text, ...] = ()  # what was written down within half an hour of it, by the time of day


def is_cleared(photo: Photo) -> bool:
    """Whether everybody may see a photo."""
    return photo.public


class Finding(Struct, frozen=True):
    id: Public[str]  # "F1"
    number: Public[int]  # as printed
    title: Public[Text]
    component: Public[str]
    component_title: Public[Text]
    positions: Public[tuple[str, ...]]
    seen: Public[tuple[str, ...]]
    cause: Public[str]
    text: Public[str]
    disposition: Public[str]
    photos: Public[tuple[str, ...]]
    shows: Public[tuple[ValueKey, ...]]  # drawn beside it: arrival first, then now
    price_lines: Public[tuple[int, ...]] = ()
    verdict: Public[str] = ""  # worst verdict among its positions on arrival, "" where none was measured


class PartLook(Struct, frozen=True):
    """What this job tells of the life of one part (``trade/life`` puts looks together)."""

    component: Public[str]  # a feature, or a part that is none; "" the engine itself
    title: Public[Text]
    state: Public[PartState]
    use: Public[float | None]  # what the meter showed, in ``unit``; None where nobody knows
    unit: Public[Literal["", "h", "km"]]
    renewed: Public[bool] = False  # a new or machined one went on from there
    new_at: Public[float] = 0.0
    known_from: Public[float] = 0.0
    by_sight: Public[bool] = False  # no feature of the sheet: nobody measures it

    def seen(self, engine: str) -> LookedAt:
        """As one of the looks at an engine that is the same over all its jobs."""
        look = Look(engine, self.use or 0.0, self.state, self.renewed, self.new_at, self.known_from)
        return LookedAt(self.component, look, self.by_sight)


class Decision(Struct, frozen=True):
    id: Public[str]
    about: Public[str]
    about_title: Public[Text]
    positions: Public[tuple[str, ...]]
    do: Public[str]
    size: Public[Text]
    why: Public[str]
    by: Signer
    date: Public[dt.date]
    settles: Public[tuple[str, ...]] = ()  # features decided with it: fits that join it, its very face


class Deviation(Struct, frozen=True):
    """A part used although outside a limit: every document repeats it."""

    id: Public[str]
    feature: Public[str]
    feature_title: Public[Text]
    positions: Public[tuple[str, ...]]
    what: Public[Text]
    accept: Public[str]
    why: Public[str]
    signed: Signer
    date: Public[dt.date]
    covers: Public[tuple[ValueKey, ...]]


# facts of arrival that concern the engine; others are of the order, and the customer's matter
PUBLIC_FACTS = frozenset(
    {"before", "came with", "not with", "only", "damage", "history", "fluid", "filter", "meter", "built"}
)


class Fact(Struct, frozen=True):
    """One line of the record of arrival, teardown, assembly or running: a word and what it says."""

    label: Public[Text]
    text: Public[Text]
    code: Public[str] = ""  # what it tells of


def is_of_the_engine(fact: Fact) -> bool:
    """Whether a fact of arrival concerns the engine, and not the order."""
    return fact.code in PUBLIC_FACTS


class HoldPoint(Struct, frozen=True):
    what: Public[Text]
    by: Signer
    witness: Witness
    date: Public[dt.date]


class Assessment(Struct, frozen=True, dict=True):
    """One job, whole."""

    job: Public[str]  # folder name
    title: Public[str]
    stage: Public[Stage]
    opened: Public[dt.date]
    as_of: Public[dt.date]  # newest date in the records: what "now" means
    engine: Public[EngineFacts]
    shop: Public[str]
    contact: Public[str]
    notice: Public[str]
    system: Public[Literal["mm", "in"]]
    decision_rule: Public[Literal["guarded", "simple"]]
    rule_text: Public[Text]  # the decision rule in a sentence
    publish: Public[bool]
    complaint: Public[str]
    application: Public[str]
    meter: Public[Text]
    found: Public[Text]  # three sentences
    did: Public[Text]  # what was done, or what is advised
    did_is_done: Public[bool]
    needs_from_customer: tuple[Text, ...]
    arrival: Annotated[tuple[Fact, ...], Open(only=is_of_the_engine)]
    not_with: Public[tuple[Text, ...]]
    not_opened: Public[tuple[str, ...]]
    rounds: Public[tuple[Round, ...]]
    features: Public[tuple[Feature, ...]]
    characteristics: Public[tuple[Characteristic, ...]]
    summary: Public[tuple[SummaryLine, ...]]
    tables: Public[tuple[ReadingTable, ...]]
    instruments: Public[tuple[InstrumentUsed, ...]]
    findings: Public[tuple[Finding, ...]]
    photos: Annotated[tuple[Photo, ...], Open(only=is_cleared)]
    decisions: Public[tuple[Decision, ...]]
    deviations: Public[tuple[Deviation, ...]]
    cost: Public[Cost]
    running: Public[tuple[Fact, ...]]
    next_steps: Public[tuple[Fact, ...]]
    hold_points: Public[tuple[HoldPoint, ...]]
    cautions: Public[tuple[Text, ...]]
    too_close: Public[tuple[Text, ...]]
    not_measured: Public[tuple[Text, ...]]
    to_decide: Public[tuple[Text, ...]]
    problems: tuple[Problem, ...]
    without: tuple[str, ...] = ()  # file and lines of entries with errors: what rests on them is missing
    in_the_files: tuple[Text, ...] = ()  # what the shop's files lack: for check, in no document
    uncorrected: Public[tuple[Text, ...]] = ()  # features read away from 20 °C, of no known material
    ready: Public[dt.date | None] = None
    delivered: Public[dt.date | None] = None
    spells: Public[tuple[Spell, ...]] = ()
    language: Public[str] = "en"  # of the customer's documents
    shop_language: str = "en"  # of the shop's own papers
    second_unit: Public[Literal["no", "beside limits", "everywhere"]] = "no"
    issue: Public[IssueNote | None] = None
    choices: Public[tuple[Choice, ...]] = ()
    paper_tables: Public[tuple[ReadingTable, ...]] = ()  # of what is only tried, and not in the engine
    complaint_lines: Public[tuple[SummaryLine, ...]] = ()  # the few that answer the complaint, for page one
    candidates: Public[tuple[Tried, ...]] = ()  # parts tried on paper beside the engine's own
    orders: tuple[ShopOrder, ...] = ()
    letterhead: ShopOnly[Letterhead] = field(default_factory=Letterhead)
    labels: ShopOnly[LabelSheet | None] = None
    shots: ShopOnly[tuple[Shot, ...]] = ()  # all pictures, while some of them are named nowhere
    paper: Public[Literal["A4", "Letter"]] = "A4"
    bench: Public[Bench] = field(default_factory=Bench)
    due: DueRound | None = None  # asked for by what prints a bench sheet (assess/measure/due.py)
    access: AccessPlan | None = None  # what must come off for what is wanted
    apart: Public[Dismantling] = field(default_factory=Dismantling)
    lives: Public[tuple[PartLook, ...]] = ()
    loads: Public[EngineLoads | None] = None  # asked for by what makes documents (assess/loads)
    evidence: Public[tuple[FindingEvidence, ...]] = ()  # likewise
    records: Public[str] = ""  # what it rests on as typed, for whoever checks it (publishing/extract.py)

    @property
    def number(self) -> str:
        """What a document calls the job: the number of its folder, else the folder's whole name."""
        return job_number(self.job) or self.job

    @property
    def open_questions(self) -> tuple[Text, ...]:
        """All that is open: too close to call, to decide, to price, not measured."""
        missing = tuple(Sentence("Not measured: {line}", line=line) for line in self.not_measured)
        return (*self.too_close, *self.to_decide, *self.to_price, *missing)

    @property
    def to_price(self) -> tuple[Text, ...]:
        """What has no price yet: the shop's and the customer's matter."""
        return tuple(Sentence("No price yet: {line}", line=line) for line in self.cost.not_priced)

    @cached_property
    def as_found(self) -> frozenset[str]:
        """Names of the rounds that tell how the engine arrived."""
        return frozenset(one.name for one in self.rounds if one.as_found)

    @cached_property
    def _by_key(self) -> dict[ValueKey, Characteristic]:
        return {one.key: one for one in self.characteristics}

    def find(self, key: ValueKey | None) -> Characteristic | None:
        """A characteristic by its key."""
        return self._by_key.get(key) if key else None

    def feature(self, name: str) -> Feature | None:
        """A feature by its name; None where the sheet has none."""
        return next((feature for feature in self.features if feature.name == name), None)
