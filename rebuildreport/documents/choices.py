"""Why this part or this size, what the alternative was, and what it costs: in the customer's words."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from ..assess.choice_model import Buy, Choice, Effect, Ends, Place, Tried
from ..assess.model import Assessment
from ..quantities import place_of
from ..quantities.dataclass import dataclass
from .language import say, show, show_interval, spoken, told
from .words import NBSP, System, capital, place, places, stop

Columns = tuple[tuple[str, str], ...]
STATUS = {
    "decided": "decided",
    "decided otherwise": "decided otherwise than the readings say",
    "chosen": "follows from the readings",
    "provisional": "provisional",
    "none fits": "nothing fits",
    "nothing known": "not known yet",
}


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
EXPECTED = {
    "as new": "inside its limits",
    "serviceable": "inside its limits",
    "beyond limit": "beyond its limit",
    "too close to call": "too close to call",
    "not measured": "",
}
EFFECTS: Columns = (
    ("what it changes", ""),
    ("now", "nw"),
    ("after the work", "nw"),
    ("limits", "nw"),
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
    before = ""
    for tried in one.candidates:
        ends = tried.clearance
        off = "" if tried.off is None else show(tried.off, tried.unit, tried.decimals, one.system).text
        answer = told(tried.answer)
        if tried.status in ("none fits", "nothing known"):
            answer = say(STATUS[tried.status])
        row = [
            capital(told(tried.name)) if tried.name != before else "",
            told(tried.what),
            answer,
            "" if ends == (None, None) else show_interval(*ends, tried.unit, tried.decimals, one.system),
            off,
        ]
        if not public:
            row += [spoken().amount(money, one.cost.digits) for money in (tried.price, tried.cost)]
            row.append(_whole(tried, before, one.cost.digits))
        rows.append(tuple(row))
        notes += [f"{capital(told(tried.name))}: {told(note)}" for note in tried.notes]
        before = tried.name
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


def _whole(tried: Tried, before: str, digits: int) -> str:
    """What a candidate comes to with itself, on its first line."""
    if tried.name == before:
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
    columns, rows = _table(one, choice)
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
        words, other = "{cost} for the parts, before tax", choice.alternative_cost
        if other is not None and other != choice.cost:
            words = "{cost} for the parts, before tax; {other} with the alternative"
        lines.append(say(words, cost=money(choice.cost), other=money(other or Decimal(0))))
    shelf, packs = sum(buy.shelf for buy in choice.buy), [buy for buy in choice.buy if buy.packs]
    if choice.outlay is not None and choice.outlay != choice.cost:
        what = ", ".join(_packed(buy) for buy in packs)
        text = say("{count} from the shelf", count=shelf) if shelf else ""
        words, other = "to order: {what}, {cost}" if packs else "nothing to order", choice.alternative_outlay
        if packs and other not in (None, choice.outlay):
            words = "to order: {what}, {cost}; {other} with the alternative"
        order = say(words, what=what, cost=money(choice.outlay), other=money(other or Decimal(0)))
        lines.append("; ".join(filter(None, [text, order])))
    lines += [
        say("{work}, by others: {cost}", work=told(work), cost=money(price))
        if price is not None
        else say("{work}, by others: no price yet", work=told(work))
        for work, price in choice.work
    ]
    return tuple(stop(capital(line)) for line in lines)


def _ratio(low: float, high: float) -> str:
    """'17.4', or '17.2 to 17.5' where the cylinders differ."""
    ends = dict.fromkeys(f"{end:.1f}" for end in (low, high))
    return "–".join(ends)


def _packed(buy: Buy) -> str:
    words = "{count} pack of {size} {what}" if buy.packs == 1 else "{count} packs of {size} {what}"
    return say(words, count=buy.packs, size=buy.pack, what=told(buy.what))


def _table(one: Assessment, choice: Choice) -> tuple[Columns, tuple[tuple[str, ...], ...]]:
    unit = show(0.0, choice.unit, choice.decimals, one.system).unit_text
    if choice.kind == "skim":
        height = any(step.low is not None for step in choice.steps)
        return (
            (say("taken off"), "nw"),
            *(((say("height left, {unit}", unit=unit), "nw"),) if height else ()),
            (say("result"), ""),
            ("", ""),
        ), tuple(
            (
                ("→ " if step.chosen else "") + spoken().figures(step.name),
                *((_number(one, replace(choice, decimals=2), step.low),) if height else ()),
                say(step.fitness),
                told(step.note),
            )
            for step in choice.steps
        )
    if choice.kind == "gasket":
        return (
            (say("gasket"), "nw"),
            (say("pressed, {unit}", unit=show(0.0, "mm", 2, one.system).unit_text), "nw"),
            (say("compression ratio, to 1"), "nw"),
            (say("result"), ""),
            ("", ""),
        ), tuple(
            (
                ("→ " if step.chosen else "") + step.name,
                "" if step.middle is None else show(step.middle, "mm", 2, one.system).text,
                ""
                if step.low is None or step.high is None
                else spoken().figures(_ratio(step.low, step.high)),
                say(step.fitness) if step.fitness else "",
                told(step.note),
            )
            for step in choice.steps
        )
    if choice.kind in ("undersize", "oversize"):
        size = show(0.0, choice.unit, 3, one.system).unit_text
        steps = tuple(
            (
                ("→ " if step.chosen else "") + spoken().figures(step.name),
                show_interval(step.low, step.high, choice.unit, 3, one.system),
                say(step.fitness),
                told(step.note),
            )
            for step in choice.steps
        )
        return (
            (say("step"), "nw"),
            (say("finished size, {unit}", unit=size), "nw"),
            (say("result"), ""),
            (say("where it is tightest"), ""),
        ), steps
    if choice.kind == "shims":
        return (
            (
                (say("place"), "nw"),
                (say("was"), "r"),
                (say("fit"), "r"),
                (say("from"), ""),
                (say("clearance, {unit}", unit=unit), "r"),
                (say("limits"), "nw"),
            ),
            tuple(
                (
                    place(p.position),
                    spoken().figures(p.before),
                    told(p.answer),
                    told(p.source),
                    _number(one, choice, p.middle),
                    show_interval(p.low, p.high, choice.unit, choice.decimals, one.system),
                )
                for p in choice.places
            ),
        )
    if choice.kind == "rings":
        return (
            (say("cylinder"), "nw"),
            (say("bore"), "nw"),
            (say("piston"), "nw"),
            (say("ring set"), "nw"),
            (say("gaps"), ""),
        ), tuple(
            (
                place(p.position),
                spoken().figures(p.before),
                p.by_measurement or _piston(one, p.position),
                told(p.answer),
                told(p.note),
            )
            for p in choice.places
        )
    if choice.kind == "masses":
        return ((say("rod"), "nw"), (say("piston"), "nw"), (say("together, g"), "r"), ("", "")), tuple(
            (place(p.position), told(p.answer), _mass(p.middle), told(p.note)) for p in choice.places
        )
    if choice.kind == "pistons":
        return (
            (say("cylinder"), "nw"),
            (say("class"), "nw"),
            (say("clearance, {unit}", unit=unit), "nw"),
            (say("weighed"), ""),
        ), tuple(
            (place(p.position), told(p.answer), _range(one, choice, p), _weighed(one, choice, p))
            for p in choice.places
        )
    coded = any(p.stamped or p.by_measurement for p in choice.places)
    if not coded:
        heads = ((say("shells"), ""), (say("predicted clearance, {unit}", unit=unit), "nw"))
        if len({p.answer for p in choice.places}) == 1 and all(p.low is not None for p in choice.places):
            low = min(p.low for p in choice.places if p.low is not None)
            high = max(p.high for p in choice.places if p.high is not None)
            span = _between(one, choice, low, high)
            every = places([p.position for p in choice.places])
            return ((say("bearings"), "nw"), *heads), ((every, told(choice.places[0].answer), span),)
        return ((say("bearing"), "nw"), *heads), tuple(
            (place(p.position), told(p.answer), _range(one, choice, p)) for p in choice.places
        )
    return (
        (
            (say("bearing"), "nw"),
            (say("codes read"), ""),
            (say("codes by measure"), ""),
            (say("upper/lower"), ""),
            (say("clearance, {unit}", unit=unit), "nw"),
            (say("next best"), ""),
        ),
        tuple(
            (
                place(p.position),
                _code(p.stamped, p.by_code or (say("void") if p.void else "")),
                _code(p.measured, p.by_measurement) + (f" ({say('differs')})" if p.agree is False else ""),
                told(p.answer),
                _range(one, choice, p),
                told(p.runner_up),
            )
            for p in choice.places
        ),
    )


def _piston(one: Assessment, cylinder: str) -> str:
    """The class of piston that another choice gives a cylinder."""
    pistons = (c for c in one.choices if c.kind == "pistons" and not c.on_paper)
    return next(
        (
            say("class {number}", number=p.answer)
            for c in pistons
            for p in c.places
            if p.position == cylinder and p.answer
        ),
        "",
    )


def _mass(grams: float | None) -> str:
    return "" if grams is None else spoken().figures(f"{grams:.1f}")


def _code(codes: str, grade: str) -> str:
    return f"{codes}: {grade}" if codes and grade else codes


def _number(one: Assessment, choice: Choice, value: float | None) -> str:
    return "" if value is None else show(value, choice.unit, choice.decimals, one.system).text


def _range(one: Assessment, choice: Choice, p: Place) -> str:
    if p.low is None or p.high is None:
        return ""
    return _between(one, choice, p.low, p.high)


def _between(one: Assessment, choice: Choice, low: float | None, high: float | None) -> str:
    return show_interval(low, high, choice.unit, choice.decimals, one.system)


def _weighed(one: Assessment, choice: Choice, p: Place) -> str:
    return "; ".join(
        f"{c.name}: {_between(one, choice, c.low, c.high)}, {say(c.fitness)}"
        for c in p.candidates
        if c.low is not None and c.high is not None
    )
