"""Who writes to whom: the shop as its letters name it, the customer, and which engine it is about."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Letterhead:
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
