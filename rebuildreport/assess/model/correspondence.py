"""Who writes to whom: the shop as its letters name it, the customer, and which engine it is about."""

from __future__ import annotations

from msgspec import Struct


class Letterhead(Struct, frozen=True):
    """All of it as typed; private, so the public edition has an empty one."""

    address: tuple[str, ...] = ()  # of the shop, a line each
    telephone: str = ""
    email: str = ""
    registration: str = ""
    tax_number: str = ""
    bank_account: str = ""
    pay_within: int | None = None  # days from a statement
    logo: str = ""  # file beside shop.yaml
    customer: str = ""
    customer_address: tuple[str, ...] = ()
    serial: str = ""
    plate: str = ""  # what the machine is registered as


class LabelSheet(Struct, frozen=True):
    """A sheet of labels as the shop buys it, lengths in mm, and where a job's pages are found."""

    paper: tuple[float, float]
    size: tuple[float, float]  # of one label
    columns: int
    rows: int
    top: float
    left: float
    across: float
    down: float
    link: str = ""  # "" where no customer finds them
