"""The words for what waits: one table a use, from the code of a matter to its message.

In: a ``Matter``, or one held against a day.  Out: words in the language that is spoken.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from ...assess.waiting.day import Dated, Day
from ...assess.waiting.matters import Matter, Waiting
from ...quantities import as_typed, message
from ..press.language import say, spoken, told
from ..press.words import day, figure

MOST = 12  # jobs that are named in the lead of a page: one line (our choice)
GROUPS = message(
    {
        "ours": "Ours to move",
        "customer": "The customer’s word",
        "machine shop": "The machine shop",
        "parts": "Parts",
        "fetch": "Ready, to be fetched",
    }
)
WAITS = message(
    {
        "us": "us",
        "approval": "{whom}: approval of the estimate",
        "more approval": "{whom}: {amount} above the sum allowed",
        "stopped": "{whom}: approval again, {about}",
        "answer": "{whom}: {about}",
        "back": "{about}, at {whom}",
        "parts": "{about}",
        "more parts": "{count} parts: {about} …",
        "fetch": "{whom}, to fetch it",
        "fetch and pay": "{whom}, to fetch and pay",
    }
)
NEXT = message(
    {
        "files": "put right the errors in its files: {count}",
        "take apart": "take apart and record",
        "measure": "measure: {about}; {count} readings in all",
        "decide": "decide what is done",
        "price": "price what has no price: {about}",
        "estimate": "issue the estimate and send it",
        "order": "order {about}",
        "more order": "order {count} parts: {about} …",
        "send": "send {about} to {whom}",
        "put together": "put together",
        "put together at": "put together: {at} {about}",
        "sign": "hold point {at}, to be signed by two: {about}",
        "start": "first start",
        "put right": "put right: {about}",
        "hand over": "look through it once more and hand it over",
        "fetch": "ring for a day to fetch it",
        "claim": "look into the claim: {about}",
        "ask again": "ask again",
        "ask again by": "nothing before {by}, then ask again",
        "nothing": "nothing to do but wait",
        "nothing by": "nothing before {by}",
    }
)
# of a list of days: what of a job, or of the shop
DATED = message(
    {
        "promised": "{job} promised to the customer",
        "answer": "{job}: answer to “{about}”",
        "back": "{job}: {about} due from {whom}",
        "parts": "{job}: {about} expected from {whom}",
        "more parts": "{job}: {count} parts expected from {whom}",
        "old part": "{job}: old part of {about} to be sent back, deposit {amount}",
        "deposit": "{job}: deposit {amount} on {about} not paid back",
        "service": "{job}: {about}",
        "service at": "{job}: {about}, at {at}",
        "warranty": "{job}: warranty ends; ask how it runs",
        "warranty at": "{job}: warranty ends, at {at} if that comes first; ask how it runs",
        "put right": "{job}: {about}: what is done about it?",
        "consent": "{job}: consent to publish asked for, no answer yet",
        "calibration": "calibration of {about} due",
        "calibration for one": "calibration of {about} due; one job needs it next",
        "calibration for": "calibration of {about} due; {count} jobs need it next",
    }
)


def waits_for(matter: Matter, job: Waiting) -> str:
    """For whom or what a job waits: 'the grinder ...', 'owner: approval of the estimate'."""
    code = str(matter.code)
    if matter.code == "fetch" and job.to_pay:
        code = "fetch and pay"
    if matter.code == "parts" and matter.count > 1:
        code = "more parts" if matter.count > _named(matter) else code
    return _said(WAITS[code], matter, job)


def next_of(job: Waiting, on: date) -> str:
    """What is next for a job, by us; a day that was named and is past comes first."""
    late = next((wait for wait in job.waits if wait.by and wait.by < on and wait.who != "ours"), None)
    if late is not None:
        asking = message("ask again" if late.who == "customer" else "ask {whom} for the day")
        return say(asking, whom=late.whom or say("the suppliers"))
    matter = job.next
    code = str(matter.code)
    if code == "order" and matter.count > _named(matter):
        code = "more order"
    elif code == "put together" and matter.about:
        code = "put together at"
    elif code in ("ask again", "nothing") and matter.by and matter.by >= on:
        code = f"{code} by"
    return _said(NEXT[code], matter, job)


def dated(one: Dated, number: str = "") -> str:
    """What a day is about; ``number``: how the job is called."""
    matter = one.matter
    code = str(matter.code)
    if code in ("service", "warranty") and matter.at:
        code = f"{code} at"
    elif code == "parts" and matter.count > _named(matter):
        code = "more parts"
    elif code == "calibration" and matter.count:
        code = "calibration for one" if matter.count == 1 else "calibration for"
    return _said(DATED[code], matter, one.job, number)


def over(one: Dated) -> str:
    """How far past, or how soon.

    >>> from ...assess.waiting.matters import Matter
    >>> tenth = Matter("promised", by=date(2026, 4, 10))
    >>> [over(Dated(tenth, None, date(2026, 4, on))) for on in (9, 10, 11, 16)]
    ['tomorrow', 'today', 'one day over', '6 days over']
    """
    if one.matter.by is None:  # since when stands before it
        days = (one.on - one.matter.since).days if one.matter.since else 0
        return say("for one day") if days == 1 else say("for {count} days", count=days) if days > 0 else ""
    if one.over > 0:
        return say("one day over") if one.over == 1 else say("{count} days over", count=one.over)
    if one.over == 0:
        return say("today")
    return say("tomorrow") if one.over == -1 else say("in {count} days", count=-one.over)


def lasting(since: date | None, on: date) -> str:
    """Since when, and how many days that is: 'since 13 April, 3 days'."""
    if since is None or since > on:
        return ""
    days = (on - since).days
    begun = day(since, year=since.year != on.year)
    if days == 0:
        return say("since today")
    words = message("since {day}, one day" if days == 1 else "since {day}, {count} days")
    return say(words, day=begun, count=days)


def _named(matter: Matter) -> int:
    """How many of its parts a matter names one by one."""
    return len(getattr(matter.about, "items", (matter.about,)))


def _said(words: str, matter: Matter, job: Waiting | None, number: str = "") -> str:
    money = "" if matter.amount is None else spoken().amount(matter.amount, job.digits if job else 2)
    return say(
        words,
        job=number or (job.number if job else ""),
        whom=told(as_typed(matter.whom)) if matter.whom else _nobody(matter),
        about=told(matter.about),
        amount=money,
        count=matter.count,
        by=day(matter.by, year=False),
        at=matter.at,
    )


def _nobody(matter: Matter) -> str:
    return say("the customer") if matter.who in ("customer", "fetch") else say("the suppliers")


def not_of_the_day(found: Day) -> Iterator[str]:
    """What the files hold of later days: jobs that are not there yet, and those that have gone on since."""
    if later := found.later:
        words = message("one job is opened later: {day}")
        if len(later) > 1:
            words = message("{count} jobs are opened later, the first on {day}")
        first = later[0].opened
        assert first is not None
        yield say(words, count=figure(len(later)), day=day(first))
    if found.beyond:
        named = [job.number for job in found.beyond[:MOST]]
        words = message(
            "the records are told as they stand now, with what is dated later, and engines that have left "
            "since are not counted: {jobs}"
        )
        yield say(words, jobs=", ".join(named) + (" …" if len(found.beyond) > MOST else ""))
