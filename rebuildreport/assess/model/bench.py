"""How an engine came apart and goes together, as plain data: what build sheet and register show.

Torques in N·m, angles in degrees, forces in N, lengths in mm unless a unit stands beside; unrounded.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from typing import Literal

from ...quantities import NOTHING, Text
from .bolting import Fastening, Signed

Ends = tuple[float | None, float | None]
State = Literal["done", "out of limits", "not signed", "open"]


@dataclass(frozen=True, slots=True)
class MarkLine:
    """A reference mark: what it is worth, and whether it was brought together and proved right."""

    where: str
    factory: str
    legible: bool | None
    shop: str
    crank_at: str
    count: str
    tensioner: str
    trust: Literal["factory", "before_movement", "after_movement", "inferred"]
    trust_text: Text
    proves: Text
    verify: str
    photo: str
    joint: str
    state: State = "open"
    state_text: Text = NOTHING
    found: str = ""
    verified: str = ""
    signed: Signed | None = None


@dataclass(frozen=True, slots=True)
class Chosen:
    """A part for a place: new, used again, or still open."""

    part: str  # number, "" where none is bought
    name: Text
    positions: tuple[str, ...] = ()
    grade: Text = NOTHING
    new: bool | None = None  # None: not decided
    note: Text = NOTHING
    count: int = 0  # bought


@dataclass(frozen=True, slots=True)
class BuildColumn:
    """One characteristic that a line wants at each position, with the limits that decide."""

    name: str
    title: Text
    unit: str
    limits: Ends
    decimals: int
    source: Text = NOTHING
    worn: Ends = (None, None)  # the wear limits beside those for new, while nothing has been read


@dataclass(frozen=True, slots=True)
class BuildValue:
    """What was read for one line at one position."""

    column: str  # name of the characteristic, "" for a check's own value
    position: str
    value: float
    unit: str
    decimals: int
    verdict: str
    key: str = ""  # of the characteristic, "" for a check's own value


@dataclass(frozen=True, slots=True)
class BuildLine:
    """One line of the build sheet."""

    number: str  # "2.3"
    verb: Literal["fit", "tighten", "measure", "mark", "check", "hold", "do"]
    name: str
    title: Text
    positions: tuple[str, ...] = ()
    parts: tuple[Chosen, ...] = ()
    orientation: tuple[Text, ...] = ()
    lubricant: str = ""
    sealant: str = ""
    mark: MarkLine | None = None
    fastening: str = ""
    source: Text = NOTHING
    wanted: tuple[str, ...] = ()  # positions that need a value
    columns: tuple[BuildColumn, ...] = ()
    values: tuple[BuildValue, ...] = ()
    found: Text = NOTHING
    state: State = "open"
    state_text: Text = NOTHING
    signed: Signed | None = None
    cautions: tuple[Text, ...] = ()
    cautioned: bool = False  # the first of them is asked for by the sheet's own step
    notes: tuple[Text, ...] = ()
    deviations: tuple[str, ...] = ()

    @property
    def hold(self) -> bool:
        return self.verb == "hold"


@dataclass(frozen=True, slots=True)
class BuildPage:
    name: str
    title: Text
    before: tuple[str, ...]
    lines: tuple[BuildLine, ...]
    signed: Signed | None = None

    @property
    def counts(self) -> dict[str, int]:
        """How many lines are done, out of limits, not signed, open."""
        states: tuple[State, ...] = ("done", "out of limits", "not signed", "open")
        return {state: sum(line.state == state for line in self.lines) for state in states}

    @property
    def done(self) -> bool:
        """Nothing unsigned is done, and no page with an open line is."""
        return bool(self.lines) and all(line.state == "done" for line in self.lines)


@dataclass(frozen=True, slots=True)
class Departure:
    """Something built otherwise than the sheet says, signed."""

    id: str
    about: str
    what: str
    why: str
    signed: str
    date: dt.date


@dataclass(frozen=True, slots=True)
class Build:
    """The build sheet: pages in order, the bolts, the marks."""

    pages: tuple[BuildPage, ...] = ()
    fastenings: tuple[Fastening, ...] = ()
    marks: tuple[MarkLine, ...] = ()
    departures: tuple[Departure, ...] = ()
    from_sheet: bool = False  # else it is the teardown turned round
    begun: bool = False
    cautions: tuple[Text, ...] = ()  # for the whole sheet
    unlisted: tuple[Chosen, ...] = ()  # bought, and on no line
    stops: tuple[Text, ...] = ()  # why nothing may be put together yet: a part that is not there

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


@dataclass(frozen=True, slots=True)
class Taken:
    """One step of taking apart."""

    number: int
    title: Text
    note: str = ""
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RegisterEntry:
    """One line of the teardown register."""

    kind: Literal["fasteners", "identity", "tensioner", "guide", "seal", "fluid", "earlier work"]
    where: str
    text: Text
    condition: Text = NOTHING  # of fasteners, in words
    bad: bool = False
    pattern: tuple[Text, ...] = ()  # what the breakaway readings say together
    orientation: str = ""
    joint: str = ""
    photo: str = ""
    finding: str = ""


@dataclass(frozen=True, slots=True)
class TeardownRegister:
    """How it came apart."""

    by: str = ""
    date: dt.date | None = None
    steps: tuple[Taken, ...] = ()
    entries: tuple[RegisterEntry, ...] = ()
    not_opened: tuple[str, ...] = ()
    not_inspected: tuple[Text, ...] = ()


@dataclass(frozen=True, slots=True)
class TakeLine:
    """One thing to take off: what must be off before, what to look for, and what was found."""

    number: int
    name: str
    title: Text
    first: tuple[Text, ...]  # must be off before it
    marks: tuple[Text, ...]  # reference marks of the register
    expected: tuple[str, ...]  # to look for, or to make, before it moves, where the register has none
    ways: tuple[str, ...]  # which way round it should be, as the sheet has it
    bolts: tuple[BoltsOff, ...]
    cautions: tuple[Text, ...]
    done: bool
    note: str = ""
    found: tuple[Text, ...] = ()
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BoltsOff:
    """A group of bolts as it comes off.  ``let_go``: place and breakaway as typed, "" to write down."""

    title: Text
    about: Text
    unit: str
    let_go: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Dismantling:
    """The engine on its way apart: what is off in the order done, then what is still on."""

    lines: tuple[TakeLine, ...] = ()
    never: tuple[Text, ...] = ()  # that the sheet's access lets nobody reach
    begun: bool = False
    cautions: tuple[Text, ...] = ()
    elsewhere: tuple[Text, ...] = ()  # of the record, and of no line: marks, bolts, parts
    seen: tuple[
        tuple[Text, Text], ...
    ] = ()  # tensioners, guides, seals, fluids, earlier work: whose, and what


@dataclass(frozen=True, slots=True)
class DueLine:
    what: str
    at: str
    by: dt.date | None
    done: dt.date | None
    done_at: str
    seen: str


@dataclass(frozen=True, slots=True)
class Said:
    """One thing told of the running engine, on a day."""

    label: Text
    text: Text
    date: dt.date | None = None
    good: bool | None = None


@dataclass(frozen=True, slots=True)
class Cover:
    """The warranty, with what stays outside it."""

    start: dt.date
    until: dt.date | None
    meter_from: str
    meter_until: str
    covers: str
    not_covered: tuple[Text, ...]
    conditions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Start:
    """Priming, first start, and after."""

    plan: tuple[Said, ...] = ()  # what the sheet asks for
    priming: tuple[Said, ...] = ()
    first: tuple[Said, ...] = ()
    date: dt.date | None = None
    by: str = ""
    values: tuple[str, ...] = ()  # keys of the characteristics read at first start
    pressure_after: float | None = None  # s
    pressure_within: float | None = None  # s
    break_in: tuple[Said, ...] = ()
    due: tuple[DueLine, ...] = ()
    follow_up: tuple[Said, ...] = ()
    warranty: Cover | None = None
    open: tuple[Text, ...] = ()  # what is wrong, or not done


@dataclass(frozen=True, slots=True)
class Bench:
    """What the bench knows: how it came apart, how it goes together, how it started, what it still owes."""

    register: TeardownRegister = field(default_factory=TeardownRegister)
    build: Build = field(default_factory=Build)
    start: Start = field(default_factory=Start)
    open: tuple[Text, ...] = ()
