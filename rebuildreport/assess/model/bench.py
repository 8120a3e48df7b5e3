"""How an engine came apart and goes together, as plain data: what build sheet and register show.

Torques in N·m, angles in degrees, forces in N, lengths in mm unless a unit stands beside; unrounded.
"""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Literal

from msgspec import Struct, field

from ...quantities import NOTHING, Text
from ...trade.measuring.verdict import OPEN, Ends
from .bolting import Fastening, Signed
from .edition import Public, Signer

State = Literal["done", "out of limits", "not signed", "open"]


class MarkLine(Struct, frozen=True):
    """A reference mark: what it is worth, and whether it was brought together and proved right."""

    where: Public[str]
    factory: Public[str]
    legible: Public[bool | None]
    shop: Public[str]
    crank_at: Public[str]
    count: Public[str]
    tensioner: Public[str]
    trust: Public[Literal["factory", "before_movement", "after_movement", "inferred"]]
    trust_text: Public[Text]
    proves: Public[Text]
    verify: Public[str]
    photo: Public[str]
    joint: Public[str]
    state: Public[State] = "open"
    state_text: Public[Text] = NOTHING
    found: Public[str] = ""
    verified: Public[str] = ""
    signed: Public[Signed | None] = None


class Chosen(Struct, frozen=True):
    """A part for a place: new, used again, or still open."""

    part: Public[str]  # number, "" where none is bought
    name: Public[Text]
    positions: Public[tuple[str, ...]] = ()
    grade: Public[Text] = NOTHING
    new: Public[bool | None] = None  # None: not decided
    note: Public[Text] = NOTHING
    count: Public[int] = 0  # bought


class BuildColumn(Struct, frozen=True):
    """One characteristic that a line wants at each position, with the limits that decide."""

    name: Public[str]
    title: Public[Text]
    unit: Public[str]
    limits: Public[Ends]
    decimals: Public[int]
    source: Public[Text] = NOTHING
    worn: Public[Ends] = OPEN  # the wear limits beside those for new, while nothing has been read


class BuildValue(Struct, frozen=True):
    """What was read for one line at one position."""

    column: Public[str]  # name of the characteristic, "" for a check's own value
    position: Public[str]
    value: Public[float]
    unit: Public[str]
    decimals: Public[int]
    verdict: Public[str]
    bound: Public[Literal["equal", "at least", "at most"]] = "equal"


class BuildLine(Struct, frozen=True):
    """One line of the build sheet."""

    number: Public[str]  # "2.3"
    verb: Public[Literal["fit", "tighten", "measure", "mark", "check", "hold", "do"]]
    name: Public[str]
    title: Public[Text]
    positions: Public[tuple[str, ...]] = ()
    parts: Public[tuple[Chosen, ...]] = ()
    orientation: Public[tuple[Text, ...]] = ()
    lubricant: Public[str] = ""
    sealant: Public[str] = ""
    mark: Public[MarkLine | None] = None
    fastening: Public[str] = ""
    source: Public[Text] = NOTHING
    wanted: Public[tuple[str, ...]] = ()  # positions that need a value
    columns: Public[tuple[BuildColumn, ...]] = ()
    values: Public[tuple[BuildValue, ...]] = ()
    found: Public[Text] = NOTHING
    state: Public[State] = "open"
    state_text: Public[Text] = NOTHING
    signed: Public[Signed | None] = None
    cautions: Public[tuple[Text, ...]] = ()
    notes: Public[tuple[Text, ...]] = ()
    deviations: Public[tuple[str, ...]] = ()

    @property
    def hold(self) -> bool:
        return self.verb == "hold"


class BuildPage(Struct, frozen=True):
    name: Public[str]
    title: Public[Text]
    before: Public[tuple[str, ...]]
    lines: Public[tuple[BuildLine, ...]]
    signed: Public[Signed | None] = None

    @property
    def counts(self) -> dict[str, int]:
        """How many lines are done, out of limits, not signed, open."""
        states: tuple[State, ...] = ("done", "out of limits", "not signed", "open")
        return {state: sum(line.state == state for line in self.lines) for state in states}

    @property
    def done(self) -> bool:
        """Nothing unsigned is done, and no page with an open line is."""
        return bool(self.lines) and all(line.state == "done" for line in self.lines)


class Departure(Struct, frozen=True):
    """Something built otherwise than the sheet says, signed."""

    id: Public[str]
    about: Public[Text]
    what: Public[str]
    why: Public[str]
    signed: Signer
    date: Public[dt.date]


class Build(Struct, frozen=True):
    """The build sheet: pages in order, the bolts, the marks."""

    pages: Public[tuple[BuildPage, ...]] = ()
    fastenings: Public[tuple[Fastening, ...]] = ()
    marks: Public[tuple[MarkLine, ...]] = ()
    departures: Public[tuple[Departure, ...]] = ()
    from_sheet: Public[bool] = False  # else it is the teardown turned round
    begun: Public[bool] = False
    cautions: Public[tuple[Text, ...]] = ()  # for the whole sheet
    unlisted: Public[tuple[Chosen, ...]] = ()  # bought, and on no line
    stops: Public[tuple[Text, ...]] = ()  # why nothing may be put together yet: a part that is not there

    @property
    def lines(self) -> tuple[BuildLine, ...]:
        return tuple(line for page in self.pages for line in page.lines)

    @property
    def unsigned_holds(self) -> tuple[BuildLine, ...]:
        """Hold points nobody may go past: open, or with a signature missing."""
        return tuple(line for line in self.lines if line.hold and line.state != "done")

    @property
    def not_done(self) -> tuple[BuildLine, ...]:
        return tuple(line for line in self.lines if line.state != "done")


class Taken(Struct, frozen=True):
    """One step of taking apart."""

    number: Public[int]
    title: Public[Text]
    note: Public[str] = ""
    photos: Public[tuple[str, ...]] = ()


class RegisterEntry(Struct, frozen=True):
    """One line of the teardown register."""

    kind: Public[Literal["fasteners", "identity", "tensioner", "guide", "seal", "fluid", "earlier work"]]
    where: Public[str]
    text: Public[Text]
    condition: Public[Text] = NOTHING  # of fasteners, in words
    bad: Public[bool] = False
    pattern: Public[tuple[Text, ...]] = ()  # what the breakaway readings say together
    orientation: Public[str] = ""
    joint: Public[str] = ""
    photo: Public[str] = ""
    finding: Public[str] = ""
    positions: Public[tuple[str, ...]] = ()


class TeardownRegister(Struct, frozen=True):
    """How it came apart."""

    by: Signer = NOTHING
    date: Public[dt.date | None] = None
    steps: Public[tuple[Taken, ...]] = ()
    entries: Public[tuple[RegisterEntry, ...]] = ()
    not_opened: Public[tuple[str, ...]] = ()
    not_inspected: Public[tuple[Text, ...]] = ()


class TakeLine(Struct, frozen=True):
    """One thing to take off: what must be off before, what to look for, and what was found."""

    number: Public[int]
    name: Public[str]
    title: Public[Text]
    first: Public[tuple[Text, ...]]  # must be off before it
    marks: Public[tuple[Text, ...]]  # reference marks of the register
    expected: Public[tuple[str, ...]]  # to look for, or to make, before it moves, where the register has none
    ways: Public[tuple[str, ...]]  # which way round it should be, as the sheet has it
    bolts: Public[tuple[BoltsOff, ...]]
    cautions: Public[tuple[Text, ...]]
    done: Public[bool]
    driven: Public[bool] = False  # a mark of it stands by a chain or a belt, whose tensioner is to be noted
    note: Public[str] = ""
    found: Public[tuple[Text, ...]] = ()
    photos: Public[tuple[str, ...]] = ()
    states: Public[tuple[str, ...]] = ()  # that must have been brought about
    tools: Public[tuple[str, ...]] = ()
    takes: Decimal | None = None  # hours by the sheet
    took: Decimal | None = None  # hours noted


class BoltsOff(Struct, frozen=True):
    """A group of bolts as it comes off.  ``let_go``: place and breakaway as typed, "" to write down."""

    title: Public[Text]
    about: Public[Text]
    unit: Public[str]
    let_go: Public[tuple[tuple[str, str], ...]]


class Dismantling(Struct, frozen=True):
    """The engine on its way apart: what is off in the order done, then what is still on."""

    lines: Public[tuple[TakeLine, ...]] = ()
    never: Public[tuple[Text, ...]] = ()  # that the sheet's access lets nobody reach
    begun: Public[bool] = False
    cautions: Public[tuple[Text, ...]] = ()
    elsewhere: Public[tuple[Text, ...]] = ()  # of the record, and of no line: marks, bolts, parts
    left: Public[tuple[Text, ...]] = ()  # neither off nor to come off
    unnoted: Public[tuple[Text, ...]] = ()  # off, for what was behind it is, and nobody noted it
    seen: Public[tuple[tuple[Text, Text], ...]] = ()  # tensioners, seals, fluids ...: whose, and what


class DueLine(Struct, frozen=True):
    what: Public[str]
    at: Public[str]
    by: Public[dt.date | None]
    done: Public[dt.date | None]
    done_at: Public[str]
    seen: Public[str]


class Said(Struct, frozen=True):
    """One thing told of the running engine, on a day."""

    label: Public[Text]
    text: Public[Text]
    date: Public[dt.date | None] = None
    good: Public[bool | None] = None


class Cover(Struct, frozen=True):
    """The warranty, with what stays outside it."""

    start: dt.date
    until: dt.date | None
    meter_from: str
    meter_until: str
    covers: str
    not_covered: tuple[Text, ...]
    conditions: tuple[str, ...]


class Start(Struct, frozen=True):
    """Priming, first start, and after."""

    plan: Public[tuple[Said, ...]] = ()  # what the sheet asks for
    priming: Public[tuple[Said, ...]] = ()
    first: Public[tuple[Said, ...]] = ()
    date: Public[dt.date | None] = None
    by: Signer = NOTHING
    pressure_after: Public[float | None] = None  # s
    pressure_within: Public[float | None] = None  # s
    break_in: Public[tuple[Said, ...]] = ()
    due: Public[tuple[DueLine, ...]] = ()
    follow_up: Public[tuple[Said, ...]] = ()
    warranty: Cover | None = None
    open: Public[tuple[Text, ...]] = ()  # what is wrong, or not done


class Bench(Struct, frozen=True):
    """What the bench knows: how it came apart, how it goes together, how it started, what it still owes."""

    register: Public[TeardownRegister] = field(default_factory=TeardownRegister)
    build: Public[Build] = field(default_factory=Build)
    start: Public[Start] = field(default_factory=Start)
    open: Public[tuple[Text, ...]] = ()
