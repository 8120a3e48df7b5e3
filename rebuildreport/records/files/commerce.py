"""Records about money and goods: shares, discounts, options, orders, payments, a job that comes back."""

import re
from decimal import Decimal
from typing import Annotated, Literal

from msgspec import Struct
from pydantic import Field

from ..text.fields import (
    Count,
    Day,
    Hours,
    Money,
    Percent,
    Record,
    Text,
    YesNo,
    amount_of_money,
    fail,
    field,
    percentage,
)

# what a line of the estimate is: parts, work by others, the shop's own work, small material
LINE_CLASSES = {"parts": "part", "sublet": "sublet", "labour": "labour", "consumables": "consumable"}


class Share(Struct, frozen=True):
    """An amount, or so many per cent of the lines of one class ("" for all)."""

    amount: Decimal | None = None
    percent: Decimal | None = None
    of: str = ""  # parts, sublet, labour, or "" for everything


def share(text: str) -> Share:
    """An amount or a percentage of something.

    >>> share("3 % of labour")
    Share(amount=None, percent=Decimal('3'), of='labour')
    >>> share("25.00").amount
    Decimal('25.00')
    """
    match = re.fullmatch(r"(.+?)\s+of\s+(?:the\s+)?(\w+)", text)
    if match:
        of = "" if match.group(2) in ("all", "everything", "net") else match.group(2)
        if of not in ("", *LINE_CLASSES):
            raise fail(f"'{match.group(2)}' is nothing to take a share of", "parts, sublet, labour or all")
        percent = percentage(match.group(1))
        if percent > 100:
            raise fail(f"'{text}' is more than all of it")
        return Share(percent=percent, of=of)
    if "%" in text:
        raise fail(f"'{text}' does not say of what", f"{text} of labour")
    amount = amount_of_money(text)
    if amount < 0:
        raise fail(f"'{text}' is less than nothing", text.lstrip("-"))
    return Share(amount=amount)


AmountOrShare = Annotated[Share, *field(share, "3 % of labour")]


class DiscountRecord(Record):
    """Something taken off, with the reason that stands on the estimate."""

    what: Text = Field(description="as printed, as in regular customer")
    take: AmountOrShare = Field(description="an amount before tax, or as in 5 % of parts")


class OptionLine(Record):
    """One price of another way to go on."""

    what: Text
    price: Money | None = Field(None, description="price of one; empty: not known yet")
    quantity: Count = 1
    hours: Hours | None = Field(None, description="hours of our own work, in place of a price")
    core: Money | None = Field(None, description="deposit on the old part, outside the price")
    tax: Percent | None = None


class OptionRecord(Record):
    """One way to go on: repair, rebuild, exchange engine, or stop and return in boxes."""

    title: Text
    this_estimate: YesNo = Field(False, description="yes: it is what the lines of this job add up to")
    diagnosis_only: YesNo = Field(
        False, description="yes: what finding out comes to (lines marked so), and the lines below it"
    )
    lines: list[OptionLine] = Field([], description="prices, where it is not this estimate")
    time: Text = Field("", description="how long it takes, as in three weeks")
    follows: list[Text] = Field([], description="what it means for the customer, good and bad")
    not_included: list[Text] = []
    warranty: Text = ""


class DifferenceRecord(Record):
    """Why the job now costs or takes something else than was approved; for the customer."""

    date: Day
    cause: Text
    lines: list[Text] = Field([], description="part numbers, or words of the lines, that it explains")
    date_effect: Text = Field("", description="what it does to the date, as in one week later")
    alternatives: list[Text] = []
    doing_nothing: Text = Field("", description="what it costs to leave it as it is")


class PartsOrder(Record):
    """One part bought: from whom, when, and what became of it."""

    part: Text
    quantity: Count | None = Field(None, description="pieces, where it is not what the list asks for")
    supplier: Text = Field("", description="where it is not the supplier of the sheet")
    number: Text = Field("", description="number as delivered, where it differs")
    ordered: Day | None = None
    promised: Day | None = Field(None, description="day that the supplier named for it")
    received: Day | None = None
    measured: Text = Field("", description="what was measured on receipt")
    returned: Day | None = Field(None, description="goods, or the old part, sent back on this day")
    credited: Day | None = Field(None, description="deposit or price paid back on this day")
    return_by: Day | None = Field(None, description="last day on which the old part is taken back")
    note: Text = ""


class PaymentRecord(Record):
    """Money received before the end."""

    date: Day
    amount: Money
    how: Text = ""


class ReturnedTask(Record):
    task: Text
    hours: Hours


class ReturnedPart(Record):
    part: Text
    quantity: Count = 1
    price: Money | None = Field(None, description="price of one, where it is not the sheet's")


class Reopened(Record):
    """The engine comes back after delivery: a spell of its own; what was issued before stays."""

    date: Day
    meter: Text = ""
    symptom: Text
    found: Text = ""
    cause: Literal["workmanship", "part", "sublet", "application", "unrelated", "unknown"] = "unknown"
    done: Text = ""
    next_time: Text = Field("", description="what is done differently from now on; not printed")
    charged_to: Literal["shop", "customer", "supplier"]
    labour: list[ReturnedTask] = []
    parts: list[ReturnedPart] = []
    delivered: Day | None = None
