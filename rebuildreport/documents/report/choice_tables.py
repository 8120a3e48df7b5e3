"""The table behind a choice: what was weighed, one row each, by the kind of choice."""

from __future__ import annotations

from dataclasses import replace

from ...assess.model.assessment import Assessment
from ...assess.model.choice import Choice, Place
from ..press.language import say, show, show_interval, spoken, told
from ..press.words import place, places

Columns = tuple[tuple[str, str], ...]


def table(one: Assessment, choice: Choice) -> tuple[Columns, tuple[tuple[str, ...], ...]]:
    """Columns and rows of one choice."""
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
    if choice.kind in ("pistons", "bushes"):
        return (
            (say("cylinder") if choice.kind == "pistons" else say("place"), "nw"),
            (say("class"), "nw"),
            (say("clearance, {unit}", unit=unit), "nw"),
            (say("weighed"), ""),
        ), tuple(
            (place(p.position), told(p.answer), _range(one, choice, p), _weighed(one, choice, p))
            for p in choice.places
        )
    coded = any(p.stamped or p.by_measurement for p in choice.places)
    halves = any("/" in c.name for p in choice.places for c in p.candidates)  # else whole bushes
    if not coded:
        word = say("shells") if halves or not any(p.candidates for p in choice.places) else say("bush")
        heads = ((word, ""), (say("predicted clearance, {unit}", unit=unit), "nw"))
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
            (
                say("upper/lower")
                if halves or not any(p.candidates for p in choice.places)
                else say("grade"),
                "",
            ),
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


def _ratio(low: float, high: float) -> str:
    """'17.4', or '17.2 to 17.5' where the cylinders differ."""
    ends = dict.fromkeys(f"{end:.1f}" for end in (low, high))
    return "–".join(ends)
