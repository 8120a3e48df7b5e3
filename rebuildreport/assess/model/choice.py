"""Choices as plain data: which part or size, why, what else there was, and what it costs.

A choice is what follows from the readings; a decision is what a person made
of it.  Both are kept: where they differ, the choice says so.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from ...quantities import NOTHING, Text
from ...trade.measuring.verdict import OPEN, Ends
from .edition import Public, ShopOnly

Kind = Literal[
    "shells", "undersize", "oversize", "skim", "gasket", "pistons", "bushes", "rings", "shims", "masses"
]
# decided: a person took it; chosen: it follows, and nobody has decided; provisional: a reading is missing
# that may change it; none fits: in words why; nothing known: no reading to choose by
Status = Literal["decided", "decided otherwise", "chosen", "provisional", "none fits", "nothing known"]
# how a candidate would do: of a fit, of a step or a cut, of what is worked out with it
Fitness = Literal[
    "",
    "inside",
    "inside the wear limit",
    "too close to call",
    "too tight",
    "too large",
    "cleans up",
    "leaves too little",
    "leaves part of it",
    "as new",
    "serviceable",
    "beyond limit",
    "not measured",
    "no limit on file",
]


class Candidate(Struct, frozen=True):
    """One thing that was weighed: a pair of halves, a step, a thickness."""

    name: Public[Text]
    low: Public[float | None] = None  # what it would give, from ...
    high: Public[float | None] = None  # ... to, in the choice's unit
    middle: Public[float | None] = None
    fitness: Public[Fitness] = ""
    note: Public[Text] = NOTHING
    chosen: Public[bool] = False
    grades: Public[tuple[str, ...]] = ()  # of a pair of shells, upper first; of a whole bush one; a class
    part: Public[str] = ""  # number on the sheet that it is bought as, where it is one part


class Place(Struct, frozen=True):
    """What was chosen for one position, by the codes and from measurement."""

    position: Public[str]
    status: Public[Status]
    answer: Public[Text] = NOTHING  # "S3/S4" (upper/lower), "2.45", "class B"; nothing where none
    grades: Public[tuple[str, ...]] = ()  # the same as data: S3 and S4, upper first; B
    part: Public[str] = ""  # number on the sheet, where what it gets is one part: a set, a ring set
    size: Public[str] = ""  # step of its surface that the answer follows: "standard", "0.50 mm"
    low: Public[float | None] = None
    high: Public[float | None] = None
    middle: Public[float | None] = None
    stamped: Public[str] = ""  # "2/A": housing code, journal code
    by_code: Public[str] = ""  # grade by the codes as read; "" where they are void or missing
    void: Public[Text] = NOTHING  # why the codes tell nothing
    measured: Public[str] = ""  # "2/B": the bands that the measured sizes lie in
    by_measurement: Public[str] = ""  # grade by those
    agree: Public[bool | None] = None  # None: not both known
    if_by_code: Public[float | None] = None  # mean clearance that the grade by the codes would give
    reasons: Public[tuple[Text, ...]] = ()  # why codes and measurement may differ
    source: Public[Literal["", "keep", "move", "shelf", "buy"]] = ""  # of a shim
    came_from: Public[str] = ""  # the valve that a moved shim came from
    before: Public[Text] = NOTHING  # what was fitted
    candidates: Public[tuple[Candidate, ...]] = ()
    note: Public[Text] = NOTHING


class Buy(Struct, frozen=True):
    """A part that the choice asks for."""

    part: Public[str]  # number on the sheet, "" where it has none
    what: Public[Text]  # "upper S3", "2.45 mm"
    quantity: Public[int]
    shelf: Public[int] = 0  # of them from the shelf
    positions: Public[tuple[str, ...]] = ()
    pack: Public[int] = 1  # how many one gets at a time

    @property
    def order(self) -> int:
        """How many are not there."""
        return self.quantity - self.shelf

    @property
    def packs(self) -> int:
        """How many packs are to be ordered."""
        return -(-max(0, self.order) // self.pack)


class Effect(Struct, frozen=True):
    """What a step or a cut does to another value, worked out from the readings before it is made."""

    what: Public[Text]  # "Piston protrusion"
    feature: Public[str]  # "" where no feature of the sheet is meant
    positions: Public[tuple[str, ...]]
    unit: Public[str] = "mm"
    decimals: Public[int] = 3
    before: Public[Ends] = OPEN  # smallest, largest over the positions
    after: Public[Ends] = OPEN
    u: Public[float | None] = None  # standard uncertainty of what is expected
    guard: Public[float | None] = None  # what it must clear a limit by
    limits: Public[Ends] = OPEN  # that decide
    verdict: Public[Fitness] = ""  # on what is expected; "" where nothing judges it
    note: Public[Text] = NOTHING  # where it is worst; what follows of it; what is not known


class Choice(Struct, frozen=True):
    """One question of which part or which size, and its answer."""

    name: Public[str]  # the feature or the section of the sheet
    kind: Public[Kind]
    title: Public[Text]
    status: Public[Status]
    answer: Public[Text]  # one sentence
    unit: Public[str] = "mm"
    target: Public[float | None] = None
    limits: Public[Ends] = OPEN
    decimals: Public[int] = 3
    why: Public[Text] = NOTHING
    alternative: Public[Text] = NOTHING  # the next best, and what it would mean
    places: Public[tuple[Place, ...]] = ()
    steps: Public[tuple[Candidate, ...]] = ()  # sizes tried, smallest first
    buy: Public[tuple[Buy, ...]] = ()
    lacking: Public[tuple[str, ...]] = ()  # places whose part is not known yet: what is bought is not all
    cost: Decimal | None = None  # of the parts chosen; None: a price is missing
    alternative_cost: Decimal | None = None
    outlay: Decimal | None = None  # of whole packs, for what is not on the shelf; None: a price is missing
    alternative_outlay: Decimal | None = None
    work: tuple[tuple[str, Decimal | None], ...] = ()  # priced with it: work by others on the same part
    impossible: Public[tuple[Text, ...]] = ()  # position: why nothing fits, and what would help
    decides: Public[tuple[Text, ...]] = ()  # readings that will decide what is provisional
    follows: Public[tuple[Text, ...]] = ()  # what else it changes
    effects: Public[tuple[Effect, ...]] = ()  # the same in figures
    on_paper: Public[str] = ""  # tried with these parts, which are not in the engine
    paper_price: Decimal | None = None  # what those would cost themselves, net
    own: Public[tuple[Text, ...]] = ()  # what of them is itself beyond its limits
    decision: Public[str] = ""  # "W1" where one was made of it
    source: Public[Text] = NOTHING
    part: Public[str] = ""  # that is machined, or that the choice is made for
    off: Public[float | None] = None  # sum of the distances from the targets

    @property
    def of_size(self) -> bool:
        """Whether it asks for machining: nothing is done by it before somebody has decided."""
        return self.kind in ("undersize", "oversize", "skim")

    @property
    def size_open(self) -> bool:
        """Whether it says to which size, and nobody has decided that."""
        return self.of_size and self.status == "chosen" and not self.on_paper

    @property
    def settled(self) -> bool:
        """Whether parts can be bought by it."""
        return self.status in ("decided", "chosen") and not self.on_paper


class Tried(Struct, frozen=True):
    """One fit of a part tried on paper, or of the engine's own, for comparing them side by side."""

    name: Public[Text]  # "crank B, second-hand"
    what: Public[Text]  # "Main shells"
    status: Public[Status]
    answer: Public[Text]
    unit: Public[str]
    decimals: Public[int]
    clearance: Public[Ends]
    off: Public[float | None]  # sum of the distances from the target
    cost: Decimal | None  # of the parts that it takes, net
    price: Decimal | None  # of itself, or of machining the engine's own; on its first fit
    total: Decimal | None  # itself and the parts of all its fits; on its first fit; None: a price is missing
    serves: Public[bool] = True  # something fits everywhere
    first: Public[bool] = True  # of its fits: what belongs to the part itself is told there
    notes: Public[tuple[Text, ...]] = ()  # why nothing fits, what of it is worn, what decides


class FormLimit(Struct, frozen=True):
    """What a surface must keep beside its size: out of round, a gap, a depth."""

    name: str  # of the characteristic
    title: Text
    ends: Ends
    decimals: int  # that the limit was written in
    from_zero: bool = False  # the less, the better


class Operation(Struct, frozen=True):
    """One line of a machining order, and what came back."""

    number: int
    feature: str  # '' of work that is priced and makes no surface that the sheet knows
    surface: Text  # "Main journals"
    part: Text  # "Crankshaft"
    positions: tuple[str, ...]
    work: Text  # "grind to 0.50 mm undersize"
    size: Ends  # finished, at 20 °C
    unit: str
    decimals: int  # that the limits of its size were written in
    spots: tuple[tuple[str, tuple[str, ...]], ...] = ()  # features that it makes, with their positions
    form: tuple[FormLimit, ...] = ()
    remove: float | None = None
    must: tuple[tuple[str, Text], ...] = ()  # finish, fillet, oil holes, reference: as the sheet says
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    report: tuple[Text, ...] = ()  # what must be measured and sent back
    supplied: tuple[tuple[str, Ends], ...] = ()  # position: finished size to its own new piston
    source: Text = NOTHING
    decisions: tuple[str, ...] = ()
    price_limit: ShopOnly[Decimal | None] = None  # ceiling of this operation alone, net
    effects: tuple[Effect, ...] = ()  # what it leaves of the part, and what moves with it

    @property
    def targeted(self) -> bool:
        """Whether anything is said that it must come to."""
        return self.size != OPEN or bool(self.form) or bool(self.supplied)


Outcome = Literal["accepted", "rejected", "too close to call", "accepted by deviation", "not measured"]


class Returned(Struct, frozen=True):
    """One line of what came back: one characteristic of one operation, over its positions."""

    operation: int
    what: Text  # "size", "out of round"
    outcome: Outcome
    positions: tuple[str, ...]
    note: Text = NOTHING  # what would settle it; the deviation's name
    low: float | None = None
    high: float | None = None
    decimals: int = 3  # that the readings justify
    limits: Ends = OPEN  # that decided


class ShopOrder(Struct, frozen=True):
    """An order to a machine shop: nothing in it is the customer's."""

    name: str  # "O1"
    to: str
    parts: tuple[Text, ...]
    sent: date | None
    wanted: date | None
    price_limit: ShopOnly[Decimal | None]
    currency: str
    operations: tuple[Operation, ...]
    agreed: tuple[tuple[Text, str], ...] = ()  # part: the work on it as the estimate has it
    goes_along: tuple[str, ...] = ()
    comes_back: tuple[str, ...] = ()
    supplied: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    note: ShopOnly[str] = ""
    missing: tuple[Text, ...] = ()  # why it cannot go out yet
    returned: tuple[Returned, ...] = ()
    promised: ShopOnly[date | None] = None  # day that the machine shop named
    back: ShopOnly[date | None] = None
