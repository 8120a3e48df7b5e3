"""Why this part or this size, what the alternative was, and what it costs: in the customer's words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from ...assess.model.assessment import Assessment
from ...assess.model.choice import Buy, Choice, Effect, Ends, Tried
from ...quantities import message, place_of
from ..press.language import opening, say, show, show_interval, spoken, told
from ..press.words import NBSP, System, capital, place, stop
from .choice_tables import Columns, table

STATUS = message(
    {
        "decided": "decided",
        "decided otherwise": "decided otherwise than the readings say",
        "chosen": "follows from the readings",
        "provisional": "provisional",
        "none fits": "nothing fits",
        "nothing known": "not known yet",
    }
)


@dataclass(frozen=True, slots=True)
class ChoiceView:
    """One choice: its answer, why, what else there was, and the table that it was made from."""

    title: str
    answer: str
    facts: tuple[tuple[str, str | tuple[str, ...]], ...]
    columns: Columns
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]
    effects: tuple[tuple[str, ...], ...]  # what it would change: what, now, then, limits, result


# the verdict on what is only expected, in words that do not sound as if it had been measured
EXPECTED = message(
    {
        "as new": "inside its limits",
        "serviceable": "inside its limits",
        "beyond limit": "beyond its limit",
        "too close to call": "too close to call",
        "not measured": "",
    }
)
EFFECTS: Columns = (
    (message("what it changes"), ""),
    (message("now"), "nw"),
    (message("after the work"), "nw"),
    (message("limits"), "nw"),
    ("", ""),
)


def choices(one: Assessment, public: bool) -> tuple[ChoiceView, ...]:
    """The view of every choice that has an answer or says why there is none."""
    made: list[ChoiceView] = []
    counted: set[tuple[str, Decimal | None]] = set()
    for choice in one.choices:
        if _shown(choice):
            work = tuple(
                line for line in choice.work if line not in counted
            )  # said once, where it comes first
            made.append(_view(one, replace(choice, work=work), public))
            counted |= set(choice.work)
    return (*made, *([_side_by_side(one, public)] if one.candidates else []))


def _shown(choice: Choice) -> bool:
    """What is tried on paper stands in one table, beside the engine's own."""
    return choice.status != "nothing known" and not choice.on_paper


def _side_by_side(one: Assessment, public: bool) -> ChoiceView:
    """One table of everything that was tried on paper."""
    rows, notes = [], []
    for tried in one.candidates:
        ends = tried.clearance
        off = "" if tried.off is None else show(tried.off, tried.unit, tried.decimals, one.system).text
        answer = told(tried.answer)
        if tried.status in ("none fits", "nothing known"):
            answer = say(STATUS[tried.status])
        row = [
            opening(tried.name) if tried.first else "",
            told(tried.what),
            answer,
            "" if ends == (None, None) else show_interval(*ends, tried.unit, tried.decimals, one.system),
            off,
        ]
        if not public:
            row += [spoken().amount(money, one.cost.digits) for money in (tried.price, tried.cost)]
            row.append(_whole(tried, one.cost.digits))
        rows.append(tuple(row))
        notes += [f"{opening(tried.name)}: {told(note)}" for note in tried.notes]
    if one.paper_tables:
        notes.append(say("What was read of them stands in the annex."))
    unit = show(0.0, "mm", 3, one.system).unit_text
    columns: Columns = (
        (say("tried"), ""),
        (say("for"), ""),
        (say("takes"), ""),
        (say("clearance, {unit}", unit=unit), "nw"),
        (say("off, all"), "r"),
    )
    if not public:
        columns = (
            *columns,
            (say("itself, or its machining"), "r"),
            (say("parts"), "r"),
            (say("in all, {currency}", currency=one.cost.currency), "r"),
        )
    return ChoiceView(
        say("Tried on paper, side by side"),
        "",
        (),
        columns,
        tuple(rows),
        tuple(dict.fromkeys(stop(note) for note in notes)),
        (),
    )


def _whole(tried: Tried, digits: int) -> str:
    """What a candidate comes to with itself, on its first line."""
    if not tried.first:
        return ""
    if tried.total is not None:
        return spoken().amount(tried.total, digits)
    return say("a price is missing") if tried.serves else say("does not serve")


def _view(one: Assessment, choice: Choice, public: bool) -> ChoiceView:
    status = say(STATUS[choice.status]) + (f" ({choice.decision})" if choice.decision else "")
    facts: list[tuple[str, str | tuple[str, ...]]] = [(say("State"), capital(status))]
    facts += [(say("Why"), stop(told(choice.why)))] if choice.why else []
    facts += [(say("Alternative"), stop(capital(told(choice.alternative))))] if choice.alternative else []
    if not public:
        facts += [(say("Costs"), text)] if (text := _cost(choice, one.cost.currency, one.cost.digits)) else []
    decides, follows = ("; ".join(map(told, texts)) for texts in (choice.decides, choice.follows))
    facts += [(say("What decides"), stop(capital(decides)))] if decides else []
    facts += [(say("What follows"), stop(capital(follows)))] if follows else []
    columns, rows = table(one, choice)
    shown = () if choice.kind in ("rings", "masses") else choice.places  # theirs stand in the table
    notes = [told(text) for text in choice.impossible]
    notes += [f"{place(p.position)}: {told(p.note)}" for p in shown if p.note]
    notes += [
        say("{place}, codes {codes}: {reason}", place=place(p.position), codes=p.stamped, reason=told(reason))
        for p in choice.places
        for reason in p.reasons
    ]
    return ChoiceView(
        told(choice.title),
        stop(capital(told(choice.answer))),
        tuple(facts),
        columns,
        rows,
        tuple(stop(capital(note)) for note in notes),
        tuple(effect_row(effect, one.system) for effect in choice.effects),
    )


def effect_row(effect: Effect, system: System) -> tuple[str, str, str, str, str]:
    """What is expected of one value: what, now, then with its doubt, limits, and whether it stays inside."""
    word, now, then, limits = _figures(effect, system)
    verdict = say(EXPECTED[effect.verdict]) if effect.verdict in EXPECTED else ""
    said = "; ".join(filter(None, [verdict, told(effect.note)]))
    what = told(effect.what)
    return (f"{what}, {word}" if word else what, now, then, limits, said)


def expected(effect: Effect, system: System) -> str:
    """The same in a line, for whoever makes the cut."""
    word, now, then, limits = _figures(effect, system)
    change = say("{first} to {last}", first=now, last=then) if now else then
    within = say("limits {limits}", limits=limits) if limits else ""
    said = "; ".join(filter(None, [within, told(effect.note)]))
    unit = f"{NBSP}{word}" if word else ""
    verdict = f": {say(EXPECTED[effect.verdict])}" if effect.verdict in EXPECTED else ""
    return f"{told(effect.what)} {change}{unit}" + (f" ({said})" if said else "") + verdict


def _figures(effect: Effect, system: System) -> tuple[str, str, str, str]:
    """Unit, now, then and limits; all empty where nothing is known."""
    unit, edges = effect.unit, effect.limits
    if effect.before == (None, None) and effect.after == (None, None):
        return "", "", "", ""
    then = _ends(effect.after, unit, effect.decimals, system, edges)
    if effect.guard:
        then += f" ±{show(effect.guard, unit, place_of(effect.guard), system).text}"
    return (
        "" if unit == "to 1" else show(0.0, unit, effect.decimals, system).unit_text,
        _ends(effect.before, unit, effect.decimals, system, edges),
        then,
        show_interval(*edges, unit, effect.decimals, system),
    )


def _ends(ends: Ends, unit: str, decimals: int, system: System, edges: Ends) -> str:
    shown = [show(end, unit, decimals, system, edges).text for end in ends if end is not None]
    return "–".join(dict.fromkeys(shown))


def _cost(choice: Choice, currency: str, digits: int) -> tuple[str, ...]:
    """What it costs, a line each: the parts, what must be ordered of them, work by others on the part."""

    def money(amount: Decimal) -> str:
        return f"{spoken().amount(amount, digits)} {currency}"

    lines = []
    if choice.cost is not None:
        words, other = message("{cost} for the parts, before tax"), choice.alternative_cost
        if other is not None and other != choice.cost:
            words = message("{cost} for the parts, before tax; {other} with the alternative")
        lines.append(say(words, cost=money(choice.cost), other=money(other or Decimal(0))))
    shelf, packs = sum(buy.shelf for buy in choice.buy), [buy for buy in choice.buy if buy.packs]
    if choice.outlay is not None and choice.outlay != choice.cost:
        what = ", ".join(_packed(buy) for buy in packs)
        text = say("{count} from the shelf", count=shelf) if shelf else ""
        words = message("to order: {what}, {cost}" if packs else "nothing to order")
        other = choice.alternative_outlay
        if packs and other not in (None, choice.outlay):
            words = message("to order: {what}, {cost}; {other} with the alternative")
        order = say(words, what=what, cost=money(choice.outlay), other=money(other or Decimal(0)))
        lines.append("; ".join(filter(None, [text, order])))
    lines += [
        say("{work}, by others: {cost}", work=told(work), cost=money(price))
        if price is not None
        else say("{work}, by others: no price yet", work=told(work))
        for work, price in choice.work
    ]
    return tuple(stop(capital(line)) for line in lines)


def _packed(buy: Buy) -> str:
    if buy.pack == 1:
        return f"{buy.packs} {told(buy.what)}"
    words = message("{count} pack of {size} {what}" if buy.packs == 1 else "{count} packs of {size} {what}")
    return say(words, count=buy.packs, size=buy.pack, what=told(buy.what))
