"""The access plan: what must come off for what is wanted, the cheapest order, what all else would take.

In: an Assessment.  Out: a view.  Works out nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from msgspec import Struct

from ...assess.model.accessplan import AccessPlan, AccessStep, OtherWay, PlanDifference
from ...assess.model.assessment import Assessment
from ...quantities import Text, amid, message
from ...trade.engine.cautions import Caution
from ..drawings.access_graph import access_graph
from ..drawings.canvas import Drawing
from ..press.frame import Framed, framed
from ..press.language import opening, say, told
from ..press.words import NBSP, capital, joined, money, place, plain, stop
from ..report.findings import NO_PHOTOS, Album
from .buildsheet import engine_line

TITLE = message("Access plan")


class AccessLine(Struct, frozen=True):
    """One step as it is printed."""

    number: str
    title: str
    how: str
    takes: str
    done: bool
    details: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]


class OtherLine(Struct, frozen=True):
    """A way that the plan does not go."""

    title: str
    how: str
    takes: str
    notes: str


class AccessView(Framed, frozen=True):
    """The document."""

    engine: str
    facts: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    graph: Drawing
    steps: tuple[AccessLine, ...]
    others: tuple[OtherLine, ...]
    stays: str


def access_page(job: Assessment, shop: Path | None = None, album: Album = NO_PHOTOS) -> AccessView:
    """The view of one job's plan."""
    plan = job.access
    assert plan is not None
    minded: dict[Caution, int] = {}
    return AccessView(
        frame=framed(
            job,
            say(TITLE),
            f"{say(TITLE)}: {job.title}",
            style="@page{margin:19mm 14mm 13mm}h1{font-size:1.25rem;line-height:1.5rem;margin-bottom:.3rem}",
        ),
        engine=engine_line(job),
        facts=(*_asked(plan, job.cost.digits), *_comes_to(plan, job)),
        cautions=tuple(map(told, job.apart.cautions)),
        graph=access_graph(plan),
        steps=tuple(_line(step, minded, job.cost.digits) for step in plan.steps),
        others=tuple(_other(one, job.cost.digits) for one in plan.others),
        stays=joined(told(amid(part.title)) for part in plan.stays),
    )


def _asked(plan: AccessPlan, digits: int) -> Iterator[tuple[str, str]]:
    """What is wanted, left alone and known."""
    yield say("Wanted off"), _row(plan.wanted)
    if free := tuple(kept.title for kept in plan.leave if not (kept.takes.hours or kept.takes.money)):
        yield say("Left alone, at no cost"), _row(free)
    for kept in plan.leave:
        if kept.title not in free:
            words = message("{part}, which takes {more}")
            yield say("Left alone"), say(words, part=told(kept.title), more=more(kept.takes, digits))
    if plan.holds:
        yield say("Known to hold"), "; ".join(plan.holds)


def _comes_to(plan: AccessPlan, job: Assessment) -> Iterator[tuple[str, str]]:
    """What it takes, opens and loses, what it took, and the second best."""
    digits = job.cost.digits
    yield say("Takes"), _sum(plan, job)
    if (took := [step for step in plan.steps if step.took is not None]) and plan.hours:
        noted = sum((step.took or Decimal(0) for step in took), Decimal(0))
        sheet = sum((step.hours or Decimal(0) for step in took), Decimal(0))
        words = message("{took} h at steps for which the sheet has {hours} h")
        yield say("Noted"), say(words, took=plain(noted), hours=plain(sheet))
    if plan.second:
        what = "; ".join(map(told, plan.second.what))
        yield say("Second best"), say("{more}: {what}", more=more(plan.second, digits), what=what)
    if opened := tuple(step.title for step in plan.steps if step.opens):
        yield say("Opens"), _row(opened)
    lost = dict.fromkeys(one for step in plan.steps for one in step.loses)
    if lost:
        yield say("Lost on the way"), ", ".join(map(place, lost))


def _sum(plan: AccessPlan, job: Assessment) -> str:
    digits = job.cost.digits
    text = say("{off} h off, {back} h back", off=plain(plan.hours), back=plain(plan.back))
    if plan.total is not None:
        words = message("{hours}; labour {labour} and parts used up {parts}: {total} {currency}, net")
        text = say(
            words,
            hours=text,
            labour=money(plan.labour, digits),
            parts=money(plan.parts, digits),
            total=money(plan.total, digits),
            currency=job.cost.currency,
        )
    if plan.unpriced:
        text = say("{sum}; without a price: {parts}", sum=text, parts=_row(plan.unpriced))
    if plan.untimed:
        text = say("{sum}; hours unknown: {steps}", sum=text, steps=_row(plan.untimed))
    return stop(text)


def _row(texts: tuple[Text, ...]) -> str:
    return ", ".join(told(amid(text)) if i else told(text) for i, text in enumerate(texts))


def more(takes: PlanDifference, digits: int) -> str:
    """What another plan takes: 'more' or 'less', hours and money."""
    same = takes.money is None or takes.hours == 0 or (takes.hours > 0) == (takes.money >= 0)
    hours, price = plain(abs(takes.hours)), money(abs(takes.money), digits) if takes.money is not None else ""
    side = takes.hours or takes.money or 0
    if not takes.hours and not takes.money:
        return say("the same")
    if not price:
        return say(message("{hours} h more" if side > 0 else "{hours} h less"), hours=hours)
    if not takes.hours:
        return say(message("{price} more" if side > 0 else "{price} less"), price=price)
    if same:
        words = message("{hours} h and {price} more" if side > 0 else "{hours} h and {price} less")
    else:
        words = message("{hours} h more, {price} less" if side > 0 else "{hours} h less, {price} more")
    return say(words, hours=hours, price=price)


def _line(step: AccessStep, minded: dict[Caution, int], digits: int) -> AccessLine:
    cautions = []
    for one in step.cautions:
        if one in minded:
            cautions.append(say("As at {number}: {caution}", number=minded[one], caution=told(one.brief)))
        else:
            minded[one] = step.number
            cautions.append(told(one.text))
    if step.risk:
        cautions.append(stop(capital(step.risk)))
    return AccessLine(
        number=str(step.number),
        title=opening(step.title),
        how=step.how,
        takes=_takes(step),
        done=step.done,
        details=tuple(_details(step, digits)),
        cautions=tuple(cautions),
    )


def _takes(step: AccessStep) -> str:
    if step.hours is None:
        return say("no hours on the sheet")
    off, back = plain(step.hours), plain(step.back or Decimal(0))
    return (f"{off} + {back} h" if step.back else f"{off} h").replace(" ", NBSP)


def _details(step: AccessStep, digits: int) -> Iterator[tuple[str, str]]:
    if step.after:
        yield say("after"), ", ".join(map(str, step.after))
    if step.bolts:
        yield say("bolts"), ", ".join(map(told, step.bolts))
    for used in step.used_up:
        amount = f" {money(used.amount, digits)}" if used.amount else ""
        many = f"{used.quantity} {told(used.name)}" if used.quantity > 1 else told(used.name)
        yield say("new"), many + amount
    if step.tools:
        yield say("tools"), ", ".join(step.tools)
    if step.loses:
        yield say("lost"), ", ".join(map(place, step.loses))


def _other(one: OtherWay, digits: int) -> OtherLine:
    notes = []
    if one.condition:
        words = message(
            "as {condition}" if one.known else "only if {condition}: nobody has said yet that it is so"
        )
        notes.append(say(words, condition=one.condition))
    named = f"{told(one.title)}: {told(one.how)}"
    notes += ["; ".join(what for what in map(told, one.takes.what) if what != named)]  # that is its title
    if one.saves:
        notes.append(say("saves: {what}", what=one.saves))
    if one.risk:
        notes.append(say("risk: {what}", what=one.risk))
    text = " ".join(stop(note[:1].upper() + note[1:]) for note in notes if note)
    return OtherLine(told(one.title), told(one.how), more(one.takes, digits), text)
