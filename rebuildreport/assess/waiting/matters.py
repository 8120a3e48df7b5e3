"""What waits, as plain data: kept from run to run, so that another day needs no job to be assessed."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Literal

import msgspec
from msgspec import Struct

from ...quantities import NOTHING, Text
from ...quantities.text import as_json, from_json
from ...records.files.folder import job_number
from ..model.assessment import Stage

# who has to move, in the order in which the day lists them
Who = Literal["ours", "customer", "machine shop", "parts", "fetch"]
Code = Literal[
    "us",  # nobody but us
    "files",  # errors to be put right first
    "take apart",
    "measure",
    "decide",
    "price",
    "estimate",  # to be issued, so that it can be approved
    "approval",
    "more approval",  # above what was approved
    "stopped",  # work stands still for another reason
    "answer",  # to a question that somebody wrote down
    "order",
    "send",  # to a machine shop
    "back",  # from a machine shop
    "parts",
    "put together",
    "sign",
    "start",
    "hand over",
    "fetch",
    "claim",
    "put right",  # seen later, and not good
    "ask again",
    "nothing",
    "promised",  # the engine, to the customer
    "old part",  # to be sent back for its deposit
    "deposit",  # to be paid back
    "service",
    "warranty",
    "consent",
    "calibration",
]


class Matter(Struct, frozen=True):
    """One thing that waits, is next, or has a day."""

    code: Code
    who: Who = "ours"
    since: dt.date | None = None
    by: dt.date | None = None  # the day that was named for it
    about: Text = NOTHING
    whom: str = ""  # as typed: a machine shop, a supplier, who ordered the work
    count: int = 0
    amount: Decimal | None = None
    at: str = ""  # a meter reading or running time, as typed


class Hours(Struct, frozen=True):
    """One task of our own: hours in the estimate, and spent so far."""

    task: str
    estimated: Decimal | None
    spent: Decimal


class OpenLine(Struct, frozen=True):
    """One line of what is bought and has not come."""

    supplier: str
    number: str
    name: Text
    quantity: Decimal
    packs: int
    pack: int
    ordered: dt.date | None = None  # None: still to be ordered, and nothing stands against it
    promised: dt.date | None = None


class Waiting(Struct, frozen=True):
    """One job on the shop's day."""

    job: str
    title: str
    engine: str = ""
    family: str = ""  # name of the sheet
    stage: Stage = "arrival"
    opened: dt.date | None = None
    as_of: dt.date | None = None  # the newest day that tells of the work
    here: bool = True  # in the house, and not finished with
    promised: dt.date | None = None  # to the customer, where it is not ready
    waits: tuple[Matter, ...] = ()  # the first says who has to move
    next: Matter = Matter("nothing")
    dates: tuple[Matter, ...] = ()  # whatever has a day or an asking, and is not done
    allowed: Decimal | None = None
    asked: Decimal | None = None
    to_pay: Decimal | None = None
    currency: str = ""
    digits: int = 2  # of the currency's minor unit
    deposits: tuple[Decimal, ...] = ()  # out, one a part
    hours: tuple[Hours, ...] = ()
    buying: tuple[OpenLine, ...] = ()
    instruments: tuple[str, ...] = ()  # that its next readings need, names of shop.yaml

    @property
    def who(self) -> Who:
        return self.waits[0].who if self.waits else "ours"

    @property
    def number(self) -> str:
        """What the job goes by: the number of its folder, else the folder's whole name."""
        return job_number(self.job) or self.job


def to_row(waiting: Waiting) -> str:
    """As JSON, for the manifest."""
    return msgspec.json.encode(waiting, enc_hook=as_json).decode()


def from_row(text: str) -> Waiting:
    """The other way round; raises ValueError where it is of another version."""
    return msgspec.json.decode(text, type=Waiting, dec_hook=from_json)
