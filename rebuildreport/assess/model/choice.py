"""Choices as plain data: which part or size, why, what else there was, and what it costs.

A choice is what follows from the readings; a decision is what a person made
of it.  Both are kept: where they differ, the choice says so.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal

from ...quantities import NOTHING, Text

Ends = tuple[float | None, float | None]
Kind = Literal[
    "shells", "undersize", "oversize", "skim", "gasket", "pistons", "bushes", "rings", "shims", "masses"
]
# decided: a person took it; chosen: it follows, and nobody has decided; provisional: a reading is missing
# that may change it; none fits: in words why; nothing known: no reading to choose by
Status = Literal["decided", "decided otherwise", "chosen", "provisional", "none fits", "nothing known"]


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that was weighed: a pair of halves, a step, a thickness."""

    name: Text
    low: float | None = None  # what it would give, from ...
    high: float | None = None  # ... to, in the choice's unit
    middle: float | None = None
    fitness: str = ""  # inside, too close, too tight, too large; cleans up, leaves too little ...
    note: Text = NOTHING
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """What was chosen for one position, by the codes and from measurement."""

    position: str
    status: Status
    answer: Text = NOTHING  # "S3/S4" (upper/lower), "2.45", "piston class B"; "" where none
    low: float | None = None
    high: float | None = None
    middle: float | None = None
    stamped: str = ""  # "2/A": housing code, journal code
    by_code: str = ""  # grade by the codes as read; "" where they are void or missing
    void: str = ""  # why the codes tell nothing
    measured: str = ""  # "2/B": the bands that the measured sizes lie in
    by_measurement: str = ""  # grade by those
    agree: bool | None = None  # None: not both known
    if_by_code: float | None = None  # mean clearance that the grade by the codes would give
    reasons: tuple[str, ...] = ()  # why codes and measurement may differ
    source: str = ""  # of a shim: keep, move from I8, shelf, buy
    before: str = ""  # what was fitted
    candidates: tuple[Candidate, ...] = ()
    runner_up: Text = NOTHING  # the next best here, where it is close
    note: Text = NOTHING


@dataclass(frozen=True, slots=True)
class Buy:
    """A part that the choice asks for."""

    part: str  # number on the sheet, "" where it has none
    what: Text  # "upper S3", "2.45 mm"
    quantity: int
    shelf: int = 0  # of them from the shelf
    positions: tuple[str, ...] = ()
    pack: int = 1  # how many one gets at a time

    @property
    def order(self) -> int:
        """How many are not there."""
        return self.quantity - self.shelf

    @property
    def packs(self) -> int:
        """How many packs are to be ordered."""
        return -(-max(0, self.order) // self.pack)


@dataclass(frozen=True, slots=True)
class Effect:
    """What a step or a cut does to another value, worked out from the readings before it is made."""

    what: Text  # "Piston protrusion"
    feature: str  # "" where no feature of the sheet is meant
    positions: tuple[str, ...]
    unit: str = "mm"
    decimals: int = 3
    before: Ends = (None, None)  # smallest, largest over the positions
    after: Ends = (None, None)
    u: float | None = None  # standard uncertainty of what is expected
    guard: float | None = None  # what it must clear a limit by
    limits: Ends = (None, None)  # that decide
    verdict: str = ""  # on what is expected; "" where nothing judges it; not measured
    note: Text = NOTHING  # where it is worst; what follows of it; what is not known


@dataclass(frozen=True, slots=True)
class Choice:
    """One question of which part or which size, and its answer."""

    name: str  # the feature or the section of the sheet
    kind: Kind
    title: Text
    status: Status
    answer: Text  # one sentence
    unit: str = "mm"
    target: float | None = None
    limits: Ends = (None, None)
    decimals: int = 3
    why: Text = NOTHING
    alternative: Text = NOTHING  # the next best, and what it would mean
    places: tuple[Place, ...] = ()
    steps: tuple[Candidate, ...] = ()  # sizes tried, smallest first
    buy: tuple[Buy, ...] = ()
    cost: Decimal | None = None  # of the parts chosen; None: a price is missing
    alternative_cost: Decimal | None = None
    outlay: Decimal | None = None  # of whole packs, for what is not on the shelf; None: a price is missing
    alternative_outlay: Decimal | None = None
    work: tuple[tuple[str, Decimal | None], ...] = ()  # priced with it: work by others on the same part
    impossible: tuple[Text, ...] = ()  # position: why nothing fits, and what would help
    decides: tuple[Text, ...] = ()  # readings that will decide what is provisional
    follows: tuple[Text, ...] = ()  # what else it changes
    effects: tuple[Effect, ...] = ()  # the same in figures
    on_paper: str = ""  # tried with these parts, which are not in the engine
    paper_price: Decimal | None = None  # what those would cost themselves, net
    own: tuple[str, ...] = ()  # what of them is itself beyond its limits
    decision: str = ""  # "W1" where one was made of it
    source: Text = NOTHING
    part: str = ""  # that is machined, or that the choice is made for
    off: float | None = None  # sum of the distances from the targets

    @property
    def settled(self) -> bool:
        """Whether parts can be bought by it."""
        return self.status in ("decided", "chosen") and not self.on_paper


@dataclass(frozen=True, slots=True)
class Tried:
    """One fit of a part tried on paper, or of the engine's own, for comparing them side by side."""

    name: Text  # "crank B, second-hand"
    what: Text  # "Main shells"
    status: Status
    answer: Text
    unit: str
    decimals: int
    clearance: Ends
    off: float | None  # sum of the distances from the target
    cost: Decimal | None  # of the parts that it takes, net
    price: Decimal | None  # of itself, or of machining the engine's own; on its first fit
    total: Decimal | None  # itself and the parts of all its fits; on its first fit; None: a price is missing
    serves: bool = True  # something fits everywhere
    first: bool = True  # of its fits: what belongs to the part itself is told there
    notes: tuple[str, ...] = ()  # why nothing fits, what of it is worn, what decides


@dataclass(frozen=True, slots=True)
class Operation:
    """One line of a machining order, and what came back."""

    number: int
    feature: str
    surface: Text  # "Main journals"
    positions: tuple[str, ...]
    work: str  # "grind to 0.50 mm undersize"
    size: Ends  # finished, at 20 °C
    unit: str
    decimals: int  # that the limits of its size were written in
    form: dict[str, Ends] = field(default_factory=dict)  # out of round: (None, 0.008)
    form_decimals: dict[str, int] = field(default_factory=dict)
    remove: float | None = None
    must: tuple[tuple[str, str], ...] = ()  # finish, fillet, oil holes, reference: as the sheet says
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    report: tuple[str, ...] = ()  # what must be measured and sent back
    supplied: tuple[tuple[str, Ends], ...] = ()  # position: finished size to its own new piston
    source: Text = NOTHING
    decision: str = ""
    price_limit: Decimal | None = None  # ceiling of this operation alone, net
    effects: tuple[Effect, ...] = ()  # what it leaves of the part, and what moves with it


Outcome = Literal["accepted", "rejected", "too close to call", "accepted by deviation", "not measured"]


@dataclass(frozen=True, slots=True)
class Returned:
    """One line of what came back: one characteristic of one operation, over its positions."""

    operation: int
    what: str  # "size", "out of round"
    outcome: Outcome
    positions: tuple[str, ...]
    note: str = ""  # what would settle it; the deviation's name
    low: float | None = None
    high: float | None = None
    decimals: int = 3  # that the readings justify
    limits: Ends = (None, None)  # that decided


@dataclass(frozen=True, slots=True)
class ShopOrder:
    """An order to a machine shop: nothing in it is the customer's."""

    name: str  # "O1"
    to: str
    parts: tuple[str, ...]
    sent: date | None
    wanted: date | None
    price_limit: Decimal | None
    currency: str
    operations: tuple[Operation, ...]
    goes_along: tuple[str, ...] = ()
    comes_back: tuple[str, ...] = ()
    supplied: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    note: str = ""
    missing: tuple[str, ...] = ()  # why it cannot go out yet
    returned: tuple[Returned, ...] = ()
