"""Why this part or this size, what the alternative was, and what it costs: in the customer's words."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from ..assess.choice_model import Choice, Effect, Ends, Place, Tried
from ..assess.model import Assessment
from ..quantities import place_of, show, show_interval
from ..quantities.dataclass import dataclass
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
EFFECTS: Columns = (("what it changes", ""), ("now", "nw"), ("then", "nw"), ("limits", "nw"), ("", ""))


def choices(one: Assessment, public: bool) -> tuple[ChoiceView, ...]:
    """The view of every choice that has an answer or says why there is none."""
    made, told = [], set()
    for choice in one.choices:
        if _shown(choice):
            work = tuple(line for line in choice.work if line not in told)  # said once, where it comes first
            made.append(_view(one, replace(choice, work=work), public))
            told |= set(choice.work)
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
        answer = tried.answer if tried.status not in ("none fits", "nothing known") else STATUS[tried.status]
        row = [
            capital(tried.name) if tried.name != before else "",
            tried.what,
            answer,
            "" if ends == (None, None) else show_interval(*ends, tried.unit, tried.decimals, one.system),
            off,
        ]
        if not public:
            row += ["" if money is None else f"{money:.2f}" for money in (tried.price, tried.cost)]
            row.append(_whole(tried, before))
        rows.append(tuple(row))
        notes += [f"{capital(tried.name)}: {note}" for note in tried.notes]
        before = tried.name
    unit = show(0.0, "mm", 3, one.system).unit_text
    columns: Columns = (
        ("tried", ""),
        ("for", ""),
        ("takes", ""),
        (f"clearance, {unit}", "nw"),
        ("off, all", "r"),
    )
    if not public:
        columns = (
            *columns,
            ("itself, or its machining", "r"),
            ("parts", "r"),
            (f"in all, {one.cost.currency}", "r"),
        )
    return ChoiceView(
        "Tried on paper, side by side",
        "",
        (),
        columns,
        tuple(rows),
        tuple(dict.fromkeys(stop(note) for note in notes)),
        (),
    )


def _whole(tried: Tried, before: str) -> str:
    """What a candidate comes to with itself, on its first line."""
    if tried.name == before:
        return ""
    if tried.total is not None:
        return f"{tried.total:.2f}"
    return "a price is missing" if tried.serves else "does not serve"


def _view(one: Assessment, choice: Choice, public: bool) -> ChoiceView:
    status = STATUS[choice.status] + (f" ({choice.decision})" if choice.decision else "")
    facts: list[tuple[str, str | tuple[str, ...]]] = [("State", capital(status))]
    facts += [("Why", stop(choice.why))] if choice.why else []
    facts += [("Alternative", stop(capital(choice.alternative)))] if choice.alternative else []
    if not public:
        facts += [("Costs", text)] if (text := _cost(choice, one.cost.currency)) else []
    facts += [("What decides", stop(capital("; ".join(choice.decides))))] if choice.decides else []
    facts += [("What follows", stop(capital("; ".join(choice.follows))))] if choice.follows else []
    columns, rows = _table(one, choice)
    told = () if choice.kind in ("rings", "masses") else choice.places  # theirs stand in the table
    notes = [*choice.impossible, *(f"{place(p.position)}: {p.note}" for p in told if p.note)]
    notes += [
        f"{place(p.position)}, codes {p.stamped}: {reason}" for p in choice.places for reason in p.reasons
    ]
    return ChoiceView(
        choice.title,
        stop(capital(choice.answer)),
        tuple(facts),
        columns,
        rows,
        tuple(stop(capital(note)) for note in notes),
        tuple(effect_row(effect, one.system) for effect in choice.effects),
    )


def effect_row(effect: Effect, system: System) -> tuple[str, str, str, str, str]:
    """What is expected of one value: what, now, then with its doubt, limits, and whether it stays inside."""
    word, now, then, limits = _figures(effect, system)
    said = "; ".join(filter(None, [EXPECTED.get(effect.verdict, ""), effect.note]))
    return (f"{effect.what}, {word}" if word else effect.what, now, then, limits, said)


def expected(effect: Effect, system: System) -> str:
    """The same in a line, for whoever makes the cut."""
    word, now, then, limits = _figures(effect, system)
    change = f"{now} to {then}" if now else then
    said = "; ".join(filter(None, [f"limits {limits}" if limits else "", effect.note]))
    unit = f"{NBSP}{word}" if word else ""
    verdict = EXPECTED.get(effect.verdict, "")
    return (
        f"{effect.what} {change}{unit}" + (f" ({said})" if said else "") + (f": {verdict}" if verdict else "")
    )


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


def _cost(choice: Choice, currency: str) -> tuple[str, ...]:
    """What it costs, a line each: the parts, what must be ordered of them, work by others on the part."""

    def money(amount: Decimal) -> str:
        return f"{amount:.2f} {currency}"

    lines = []
    if choice.cost is not None:
        text = f"{money(choice.cost)} for the parts, before tax"
        if choice.alternative_cost is not None and choice.alternative_cost != choice.cost:
            text += f"; {money(choice.alternative_cost)} with the alternative"
        lines.append(text)
    shelf, packs = sum(buy.shelf for buy in choice.buy), [buy for buy in choice.buy if buy.packs]
    if choice.outlay is not None and choice.outlay != choice.cost:
        what = ", ".join(
            f"{buy.packs} {'pack' if buy.packs == 1 else 'packs'} of {buy.pack} {buy.what}" for buy in packs
        )
        text = f"{shelf} from the shelf" if shelf else ""
        order = f"to order: {what}, {money(choice.outlay)}" if packs else "nothing to order"
        if packs and choice.alternative_outlay not in (None, choice.outlay):
            order += f"; {money(choice.alternative_outlay or Decimal(0))} with the alternative"
        lines.append("; ".join(filter(None, [text, order])))
    lines += [
        f"{work}, by others: {money(price)}" if price is not None else f"{work}, by others: no price yet"
        for work, price in choice.work
    ]
    return tuple(stop(capital(line)) for line in lines)


def _table(one: Assessment, choice: Choice) -> tuple[Columns, tuple[tuple[str, ...], ...]]:
    unit = show(0.0, choice.unit, choice.decimals, one.system).unit_text
    if choice.kind == "skim":
        height = any(step.low is not None for step in choice.steps)
        return (
            ("taken off", "nw"),
            *(((f"height left, {unit}", "nw"),) if height else ()),
            ("result", ""),
            ("", ""),
        ), tuple(
            (
                ("→ " if step.chosen else "") + step.name,
                *((_number(one, replace(choice, decimals=2), step.low),) if height else ()),
                step.fitness,
                step.note,
            )
            for step in choice.steps
        )
    if choice.kind in ("undersize", "oversize"):
        size = show(0.0, choice.unit, 3, one.system).unit_text
        steps = tuple(
            (
                ("→ " if step.chosen else "") + step.name,
                show_interval(step.low, step.high, choice.unit, 3, one.system),
                step.fitness,
                step.note,
            )
            for step in choice.steps
        )
        return (
            ("step", "nw"),
            (f"finished size, {size}", "nw"),
            ("result", ""),
            ("where it is tightest", ""),
        ), steps
    if choice.kind == "shims":
        return (
            (
                ("place", "nw"),
                ("was", "r"),
                ("fit", "r"),
                ("from", ""),
                (f"clearance, {unit}", "r"),
                ("limits", "nw"),
            ),
            tuple(
                (
                    place(p.position),
                    p.before,
                    p.answer,
                    p.source,
                    _number(one, choice, p.middle),
                    show_interval(p.low, p.high, choice.unit, choice.decimals, one.system),
                )
                for p in choice.places
            ),
        )
    if choice.kind == "rings":
        return (
            ("cylinder", "nw"),
            ("bore", "nw"),
            ("piston", "nw"),
            ("ring set", "nw"),
            ("gaps", ""),
        ), tuple(
            (place(p.position), p.before, p.by_measurement or _piston(one, p.position), p.answer, p.note)
            for p in choice.places
        )
    if choice.kind == "masses":
        return (("rod", "nw"), ("piston", "nw"), ("together, g", "r"), ("", "")), tuple(
            (place(p.position), p.answer, f"{p.middle:.1f}" if p.middle is not None else "", p.note)
            for p in choice.places
        )
    if choice.kind == "pistons":
        return (("cylinder", "nw"), ("class", "nw"), (f"clearance, {unit}", "nw"), ("weighed", "")), tuple(
            (place(p.position), p.answer, _range(one, choice, p), _weighed(one, choice, p))
            for p in choice.places
        )
    coded = any(p.stamped or p.by_measurement for p in choice.places)
    if not coded:
        if len({p.answer for p in choice.places}) == 1 and all(p.low is not None for p in choice.places):
            low = min(p.low for p in choice.places if p.low is not None)
            high = max(p.high for p in choice.places if p.high is not None)
            span = show_interval(low, high, choice.unit, choice.decimals, one.system)
            rows = ((places([p.position for p in choice.places]), choice.places[0].answer, span),)
            return (("bearings", "nw"), ("shells", ""), (f"predicted clearance, {unit}", "nw")), rows
        return (("bearing", "nw"), ("shells", ""), (f"predicted clearance, {unit}", "nw")), tuple(
            (place(p.position), p.answer, _range(one, choice, p)) for p in choice.places
        )
    return (
        (
            ("bearing", "nw"),
            ("codes read", ""),
            ("codes by measure", ""),
            ("upper/lower", ""),
            (f"clearance, {unit}", "nw"),
            ("next best", ""),
        ),
        tuple(
            (
                place(p.position),
                _code(p.stamped, p.by_code or ("void" if p.void else "")),
                _code(p.measured, p.by_measurement) + (" (differs)" if p.agree is False else ""),
                p.answer,
                _range(one, choice, p),
                p.runner_up,
            )
            for p in choice.places
        ),
    )


def _piston(one: Assessment, cylinder: str) -> str:
    """The class of piston that another choice gives a cylinder."""
    pistons = (c for c in one.choices if c.kind == "pistons" and not c.on_paper)
    return next(
        (f"class {p.answer}" for c in pistons for p in c.places if p.position == cylinder and p.answer), ""
    )


def _code(codes: str, grade: str) -> str:
    return f"{codes}: {grade}" if codes and grade else codes


def _number(one: Assessment, choice: Choice, value: float | None) -> str:
    return "" if value is None else show(value, choice.unit, choice.decimals, one.system).text


def _range(one: Assessment, choice: Choice, p: Place) -> str:
    if p.low is None or p.high is None:
        return ""
    return show_interval(p.low, p.high, choice.unit, choice.decimals, one.system)


def _weighed(one: Assessment, choice: Choice, p: Place) -> str:
    return "; ".join(
        f"{c.name}: {show_interval(c.low, c.high, choice.unit, choice.decimals, one.system)}, {c.fitness}"
        for c in p.candidates
        if c.low is not None and c.high is not None
    )
