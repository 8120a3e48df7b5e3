"""Why this part or this size, what the alternative was, and what it costs: in the customer's words.

In: the choices of an Assessment.  Out: a view each.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from ...assess.model.assessment import Assessment, Stage
from ...assess.model.choice import Buy, Choice, Effect, Tried
from ...assess.model.prices import ASKING, Cost
from ...quantities import message, place_of, present
from ...trade.measuring.verdict import Ends
from ..press.language import opening, say, show, show_interval, told
from ..press.words import NBSP, System, capital, money, stop

STATUS = message(
    {
        "decided": "decided",
        "decided otherwise": "decided otherwise than the readings say",
        "chosen": "follows from the readings",
        "provisional": "provisional",
        "none fits": "nothing surely fits",
        "nothing known": "not known yet",
    }
)
# the verdict on what is only expected, in words that do not sound as if it had been measured
EXPECTED = message(
    {
        "as new": "inside its limits",
        "serviceable": "inside its limits",
        "beyond limit": "beyond its limit",
        "too close to call": "too close to call",
    }
)


class ChoiceView(Struct, frozen=True):
    """One choice: its question and answer, and in a few lines what speaks for it."""

    title: str
    facts: tuple[tuple[str, str], ...]


class TriedView(Struct, frozen=True):
    """What was tried on paper, side by side: columns with their look, rows, what is to be known."""

    columns: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


def choices(job: Assessment, public: bool) -> tuple[ChoiceView, ...]:
    """The view of every choice that has an answer or says why there is none."""
    made: list[ChoiceView] = []
    counted: set[tuple[str, Decimal | None]] = set()
    for choice in job.choices:
        if not _told_of(choice, job.stage):
            continue
        # work on one part may be priced with several choices: it is said where it comes first
        work = tuple(line for line in choice.work if line not in counted)
        counted |= set(choice.work)
        facts = tuple((head, text) for head, text in _facts(job, choice, work, public) if text)
        made.append(ChoiceView(_title(choice), facts))
    return tuple(made)


def _told_of(choice: Choice, stage: Stage) -> bool:
    # what is tried on paper stands in one table, beside the engine's own
    if choice.status == "nothing known" or choice.on_paper:
        return False
    # and what was still open is no question of an engine that has left
    open_still = choice.status == "provisional" or (choice.kind == "shells" and not choice.buy)
    return not (open_still and stage in ("delivery", "follow-up"))


def _title(choice: Choice) -> str:
    """'Main journals: 0.50 mm undersize (W1)'."""
    answer = told(choice.answer) or say(STATUS[choice.status])
    title = f"{told(choice.title)}: {answer}"
    if choice.status == "decided" or not choice.answer:
        return f"{title} ({choice.decision})" if choice.decision else title
    return f"{title} ({say(STATUS[choice.status])})"


def _facts(
    job: Assessment, choice: Choice, work: tuple[tuple[str, Decimal | None], ...], public: bool
) -> Iterator[tuple[str, str]]:
    yield say("Why"), stop(told(choice.why))
    if weighed(job):
        yield from _weighed(job, choice, work, public)
    yield say("What does not fit"), " ".join(stop(opening(text)) for text in choice.impossible)


def weighed(job: Assessment) -> bool:
    """Whether somebody still weighs one way against another: later what it costs stands in the prices."""
    return job.cost.approval(job.stage) in ASKING


def _weighed(
    job: Assessment, choice: Choice, work: tuple[tuple[str, Decimal | None], ...], public: bool
) -> Iterator[tuple[str, str]]:
    yield say("Alternative"), stop(opening(choice.alternative))
    if not public:
        yield say("Costs"), " ".join(stop(capital(line)) for line in _costs(choice, work, job.cost))
    yield say("What decides"), stop(opening(present(choice.decides)))
    yield say("What follows"), stop(opening(present(choice.follows)))
    changes = "; ".join(expected(effect, job.system) for effect in choice.effects)
    yield say("What it changes"), stop(capital(changes))


def tried_on_paper(job: Assessment, public: bool) -> TriedView | None:
    """One table of everything that was tried on paper; None where nothing was, or nobody weighs it now."""
    if not (job.candidates and weighed(job)):
        return None
    unit = show(0.0, "mm", 3, job.system).unit
    columns = [
        (say("tried"), ""),
        (say("for"), "nw"),
        (say("takes"), ""),
        (say("clearance, {unit}", unit=unit), "nw"),
        (say("off target, in all"), "r"),
    ]
    if not public:
        columns += [
            (say("itself, or its machining"), "r"),
            (say("parts"), "r"),
            (say("in all, {currency}", currency=job.cost.currency), "r"),
        ]
    rows: list[tuple[str, ...]] = []
    notes: dict[str, list[str]] = {}
    for tried in job.candidates:
        prices = () if public else _prices(tried, job.cost.digits)
        rows.append((*_tried(tried, job.system), *prices))
        notes.setdefault(opening(tried.name), []).extend(map(told, tried.notes))
    said = (stop(f"{name}: {'; '.join(dict.fromkeys(texts))}") for name, texts in notes.items() if texts)
    return TriedView(tuple(columns), tuple(rows), tuple(said))


def _tried(tried: Tried, system: System) -> tuple[str, ...]:
    known = tried.status not in ("none fits", "nothing known")
    span = show_interval(*tried.clearance, tried.unit, tried.decimals, system)
    return (
        opening(tried.name) if tried.first else "",
        told(tried.what),
        told(tried.answer) if known else say(STATUS[tried.status]),
        span,
        "" if tried.off is None else show(tried.off, tried.unit, tried.decimals, system).text,
    )


def _prices(tried: Tried, digits: int) -> tuple[str, str, str]:
    """Of itself, of its parts, and in all on its first line."""
    whole = ""
    if tried.first:
        whole = say("a price is missing") if tried.serves else say("does not serve")
    if tried.first and tried.total is not None:
        whole = money(tried.total, digits)
    return money(tried.price, digits), money(tried.cost, digits), whole


def expected(effect: Effect, system: System) -> str:
    """The same in a line, for whoever makes the cut."""
    word, now, then, limits = _figures(effect, system)
    change = say("{now} to {then}", now=now, then=then) if now else then
    within = say("limit {limit}", limit=limits) if limits else ""
    said = "; ".join(filter(None, [within, told(effect.note)]))
    unit = word if word in ("", "°") else f"{NBSP}{word}"  # ISO 80000-1: none before the sign of an angle
    figures = " ".join(filter(None, [told(effect.what), f"{change}{unit}", f"({said})" if said else ""]))
    verdict = say(EXPECTED.get(effect.verdict, ""))
    return f"{figures}: {verdict}" if verdict else figures


def _figures(effect: Effect, system: System) -> tuple[str, str, str, str]:
    """Unit, now, then and limits; all empty where nothing is known."""
    unit, edges = effect.unit, effect.limits
    if effect.before == (None, None) and effect.after == (None, None):
        return "", "", "", ""
    then = _ends(effect.after, unit, effect.decimals, system, edges)
    if effect.guard:
        # to its first digit, which in the other system may stand a place further on
        place = place_of(effect.guard)
        texts = (show(effect.guard, unit, decimals, system).text for decimals in (place, place + 1))
        then += f" ±{next(text for text in texts if text.strip('0.,'))}"
    return (
        "" if unit == "to 1" else show(0.0, unit, effect.decimals, system).unit,
        _ends(effect.before, unit, effect.decimals, system, edges),
        then,
        show_interval(*edges, unit, effect.decimals, system),
    )


def _ends(ends: Ends, unit: str, decimals: int, system: System, edges: Ends) -> str:
    shown = [show(end, unit, decimals, system, edges).text for end in ends if end is not None]
    return "–".join(dict.fromkeys(shown))


def _costs(choice: Choice, works: tuple[tuple[str, Decimal | None], ...], cost: Cost) -> Iterator[str]:
    """What it costs, a line each: the parts, what must be ordered of them, work by others on the part."""

    def amount(price: Decimal | None) -> str:
        return f"{money(price, cost.digits)} {cost.currency}"

    if choice.cost is not None:
        words = message("{cost} for the parts, before tax")
        if choice.alternative_cost not in (None, choice.cost):
            words = message("{cost} for the parts, before tax; {other} with the alternative")
        yield say(words, cost=amount(choice.cost), other=amount(choice.alternative_cost))
    if choice.outlay is not None and choice.outlay != choice.cost:
        yield _to_order(choice, amount(choice.outlay), amount(choice.alternative_outlay))
    for work, price in works:
        if price is None:
            yield say("{work}, by others: no price yet", work=told(work))
        else:
            yield say("{work}, by others: {cost}", work=told(work), cost=amount(price))


def _to_order(choice: Choice, outlay: str, other: str) -> str:
    """What comes from the shelf, and what whole packs of the rest cost."""
    shelf = sum(buy.shelf for buy in choice.buy)
    packs = [buy for buy in choice.buy if buy.packs]
    words = message("to order: {what}, {cost}" if packs else "nothing to order")
    if packs and choice.alternative_outlay not in (None, choice.outlay):
        words = message("to order: {what}, {cost}; {other} with the alternative")
    order = say(words, what=", ".join(map(_packed, packs)), cost=outlay, other=other)
    return f"{say('{count} from the shelf', count=shelf)}; {order}" if shelf else order


def _packed(buy: Buy) -> str:
    if buy.pack == 1:
        return f"{buy.packs} {told(buy.what)}"
    words = message("{count} pack of {size} {what}" if buy.packs == 1 else "{count} packs of {size} {what}")
    return say(words, count=buy.packs, size=buy.pack, what=told(buy.what))
