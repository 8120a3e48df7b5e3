"""What a job costs, as plain data: lines, sums, options, approvals, purchases, spells, what was issued."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Annotated, Literal

from msgspec import Struct

from ...quantities import NOTHING, Amount, Text
from ...trade.estimating.approval import LineKey
from ...trade.estimating.sums import Taxed
from .edition import Open, Public, ShopOnly
from .keys import ValueKey


class PriceLine(Struct, frozen=True):
    """One line of parts, of work by others, of the shop's own work, of small material; or a discount."""

    line: Public[int]
    group: Public[Literal["part", "sublet", "labour", "consumable", "discount"]]
    number: Public[str]  # part number, "" for work
    name: Public[Text]
    quantity: Public[Decimal]
    each: Decimal | None  # None: not priced yet
    amount: Decimal | None
    because: Public[tuple[Text, ...]]
    findings: Public[tuple[str, ...]] = ()
    core: Decimal | None = None
    unit: Public[str] = ""  # "h" for labour
    tax: Decimal | None = None  # per cent
    decisions: Public[tuple[str, ...]] = ()
    diagnosis: Public[bool] = False
    own: Public[bool] = False  # the customer brings it: no price, no warranty
    price_on: dt.date | None = None  # day of its price, where it is not that of the sheet
    values: Public[tuple[ValueKey, ...]] = ()  # that ask for it
    steps: tuple[Text, ...] = ()  # of hours by the access plan: what each of them is for
    ident: Public[str] = ""  # what it is known by where it has no number: its words as typed, folded

    @property
    def key(self) -> LineKey:
        """What the line is known by from one estimate to the next."""
        return LineKey(self.group, self.number, "" if self.number else self.ident)


def is_part(line: PriceLine) -> bool:
    """Whether a line is a part: what was fitted is everybody's to know, what it cost is not."""
    return line.group == "part"


class Approval(Struct, frozen=True):
    date: dt.date
    by: str
    how: str
    limit: Decimal
    covers: str
    issue: int | None = None  # the issued document that was approved
    ready: dt.date | None = None  # day promised with it


class Option(Struct, frozen=True):
    """One way to go on, beside the others."""

    id: str
    title: str
    this_estimate: bool
    lines: tuple[PriceLine, ...]
    net: Decimal
    tax: Decimal
    total: Decimal
    core_deposit: Decimal
    minimum: bool
    not_priced: tuple[Text, ...]
    time: str
    follows: tuple[str, ...]
    not_included: tuple[str, ...]
    warranty: str


class Payment(Struct, frozen=True):
    date: dt.date
    amount: Decimal
    how: str


class CoreDeposit(Struct, frozen=True):
    """A deposit on an old part: what is held, until when, and whether it has come back."""

    part: str
    name: Text
    amount: Decimal
    return_by: dt.date | None
    days: int | None  # within so many days of delivery of the new part, where no day is known
    returned: dt.date | None = None
    credited: dt.date | None = None


class LineChange(Struct, frozen=True):
    """One line that differs from what was approved, with its reason."""

    kind: Literal["new", "dropped", "changed"]
    name: Text
    number: str
    before: Decimal | None  # amount then
    now: Decimal | None
    difference: Decimal | None
    why: Text  # "" where nobody has said
    line: int | None = None  # of the present estimate


class Difference(Struct, frozen=True):
    """Why the job costs or takes something else than was approved, for the customer."""

    date: dt.date
    cause: str
    date_effect: str
    alternatives: tuple[str, ...]
    doing_nothing: str


class Against(Struct, frozen=True):
    """The present estimate against the last approval."""

    approval: Approval
    issue: int | None  # whose lines it is compared with; None: they are not on file
    total_then: Decimal | None
    total_now: Decimal
    tax_difference: Decimal | None
    changes: tuple[LineChange, ...]
    over_by: Decimal | None
    days_later: int | None  # than promised; negative: earlier
    reasons: tuple[Difference, ...]


class Purchase(Struct, frozen=True):
    """One line of the purchase list."""

    part: str
    name: Text
    supplier: str
    order_number: str
    supersedes: tuple[str, ...]
    quantity: Decimal  # pieces that the job needs
    pack: int
    packs: int
    days: int | None
    ordered: dt.date | None = None
    promised: dt.date | None = None  # day that the supplier named
    received: dt.date | None = None
    measured: str = ""
    returned: dt.date | None = None
    return_by: dt.date | None = None
    note: Text = NOTHING
    which: tuple[Text, ...] = ()  # "3 of 2.45 mm" where sizes or grades are chosen
    shelf: Decimal = Decimal(0)  # pieces of them that need not be ordered


class Spell(Struct, frozen=True):
    """One stay in the shop: from opening, or coming back, to delivery; counted by days."""

    number: Public[int]
    start: Public[dt.date]
    end: Public[dt.date | None]
    days: Public[int]  # up to the newest record where it is still here
    symptom: Public[str] = ""
    found: Public[str] = ""
    cause: Public[str] = ""
    done: Public[Text] = NOTHING
    charged_to: Public[str] = ""
    net: Decimal | None = None
    tax: Decimal | None = None  # None where the customer does not pay
    total: Decimal | None = None
    limit: Decimal | None = None  # approved for this stay, where the customer pays it
    over_by: Decimal | None = None  # above that


# over: above what was approved; stopped: work stops for another reason until somebody says yes; wanted:
# nothing was approved yet; given; none: nothing is to be approved
ApprovalState = Literal["over", "stopped", "wanted", "given", "none"]
# stages on which the work is finished, and is to be paid
FINISHED = frozenset({"ready to collect", "delivery", "follow-up", "re-opened"})
PAYABLE = FINISHED | {"declined"}  # finding out is paid where no more is wanted
ASKING = frozenset({"over", "stopped", "wanted"})  # how an approval stands that is asked for


class Cost(Struct, frozen=True):
    """The money, in exact decimals. Where a line has no price, ``total`` is a minimum."""

    currency: Public[str]
    lines: Annotated[tuple[PriceLine, ...], Open(only=is_part)]
    parts: Decimal
    sublet: Decimal
    hours: Decimal
    labour_rate: Decimal | None
    labour: Decimal
    net: Decimal
    tax_rate: Decimal | None  # per cent
    tax: Decimal
    total: Decimal
    core_deposit: Decimal
    to_pay: Decimal
    minimum: bool
    not_priced: tuple[Text, ...]
    approvals: tuple[Approval, ...] = ()
    first_estimate: Decimal | None = None
    over_by: Decimal | None = None  # above the last approval
    prices_on: dt.date | None = None
    digits: Public[int] = 2  # of the currency's minor unit
    consumables: Decimal = Decimal("0.00")
    discount: Decimal = Decimal("0.00")  # taken off, as a positive amount
    taxes: tuple[Taxed, ...] = ()
    cores: tuple[CoreDeposit, ...] = ()
    paid: tuple[Payment, ...] = ()
    stays: Decimal = Decimal("0.00")  # of later stays on the customer's account, tax included
    balance: Decimal | None = None  # still to pay; None: nothing was paid yet
    options: tuple[Option, ...] = ()
    against: Against | None = None
    stops: tuple[Text, ...] = ()  # why work stops until there is a new approval
    purchases: ShopOnly[tuple[Purchase, ...]] = ()
    rounding: Text = NOTHING

    def money(self, amount: Decimal) -> Amount:
        """A sum in its currency."""
        return Amount(amount, self.digits, self.currency)

    @property
    def due(self) -> Decimal:
        """What is still to pay, later stays with it; below nothing: to be paid back."""
        return self.to_pay if self.balance is None else self.balance

    def approval(self, stage: str) -> ApprovalState:
        """What the customer's word stands at: whether anything may be ordered and done by it."""
        if self.over_by is not None:
            return "over"
        if self.stops:
            return "stopped"
        if self.approvals:
            return "given"
        # finding out is within its own limit; small material follows the other lines
        asked = any(not line.diagnosis and line.group in ("part", "sublet", "labour") for line in self.lines)
        # what was decided costs something, whether or not it is priced
        asked = asked or stage in ("decision", "machining")
        return "wanted" if asked and stage not in FINISHED and stage != "declined" else "none"


class IssueNote(Struct, frozen=True):
    """What a document says of itself: its number and the records that it was made from."""

    number: Public[int | None]  # None: nothing was issued yet
    document: Public[str] = ""
    date: Public[dt.date | None] = None
    spell: Public[int] = 1
    commit: Public[str] = ""  # last commit that touched the job, its engine or the shop file
    changed: tuple[Text, ...] = ()  # since the issue before, in plain words
    later: Public[bool] = False  # the records have changed since that issue
    after: Public[str] = ""  # seal of the register's line before it: printed, so whoever has it is a witness

    def frozen(self, document: str) -> bool:
        """Whether this kind of document is what was issued; another may have been, from the same records."""
        return self.number is not None and not self.later and self.document == document
