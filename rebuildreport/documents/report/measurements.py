"""What is not in order, drawn: strips, bore profiles, scales, and the engine on arrival beside now."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ...assess.model.assessment import Assessment, Characteristic, Feature, ReadingTable, SummaryLine
from ...quantities import amid, message, units
from ...trade.kinds import KINDS
from ..drawings.canvas import Drawing
from ..drawings.contour import contour, spacing
from ..drawings.engine_plan import decks, plan
from ..drawings.scales import NARROW, WIDE, limit_text, same_limits, scales, unit_of
from ..drawings.strips import Panel, Profile, profile, profiles, strip
from ..drawings.turned_shafts import caption, wheels
from ..press.language import say, told
from ..press.templating import anchor
from ..press.words import SEVERITY, capital, figure, joined, other, place, severity, stop, value, worst
from ..press.words import places as runs_of
from .answers import Verdict, verdict

DIRECTIONS = message({"t": "across the crank (thrust)", "a": "along the crank", "thrust": "thrust direction"})


@dataclass(frozen=True, slots=True)
class MeasuredView:
    """One drawing of the section with what to see in it."""

    anchor: str
    title: str
    unit: str
    note: str
    wide: tuple[Drawing, ...]
    narrow: tuple[Drawing, ...]


@dataclass(frozen=True, slots=True)
class PlanHalf:
    title: str
    drawing: Drawing
    groups: tuple[tuple[Verdict, str], ...]


@dataclass(frozen=True, slots=True)
class Measurements:
    drawn: tuple[MeasuredView, ...]
    plans: tuple[PlanHalf, ...]
    plan_note: str
    in_order: str
    nothing: str  # said where there is nothing to draw


WHOLE = message({"valves": "all valves", "cylinders": "all cylinders", "crankshaft": "all of the crankshaft"})
MOST_NAMED = 14  # lines named one by one; a longer list is nobody's reading


def overall(verdicts: list[str]) -> str:
    """Worst of several verdicts of one position; a value without a limit says nothing beside judged ones."""
    judged = [one for one in verdicts if one != "no limit on file"]
    return worst(judged or verdicts)


def measurements(one: Assessment) -> Measurements:
    """The section; every part of it may be empty."""
    drawn: list[MeasuredView] = []
    fine: list[str] = []
    shown = {key for finding in one.findings for key in finding.shows}
    for row in one.summary:
        first, now = one.find(row.first), one.find(row.now)
        if any(c is not None and c.verdict in SEVERITY[:2] for c in (first, now)):
            drawn += _row(one, row, first, now, shown)
            drawn += _wheels(one, row, {item.anchor for item in drawn})
        elif first is not None or now is not None:
            fine.append(told(amid(row.title)))
    plans = _plans(one)
    nothing = ""
    if not any(c.value is not None for c in one.characteristics):
        nothing = say("Nothing is measured yet.")
    elif not drawn:
        nothing = say(
            "Nothing measured is beyond its limit or too close to call. All readings are in the annex."
        )
    note = ""
    if plans:
        decks = say(
            "C cylinders, M main journals, R rod journals, I and E valves, as far as its sheet has them."
        )
        counting = told(one.engine.counting)
        note = say("The engine from above: {what}", what=decks)
        if counting:
            note = say("The engine from above, {counting}: {what}", counting=counting, what=decks)
        known = len(one.engine.banks) == 2 or one.engine.cylinders < 2
        if not known and not one.engine.arrangement.lower().startswith(("inline", "straight", "in line")):
            words = message("Cylinders stand in the order of their numbers, not as they lie in the engine.")
            note = f"{note} {say(words)}"
    in_order = ""
    if fine and drawn:
        what = "; ".join(fine)
        if len(fine) > MOST_NAMED:
            what = say("{count} lines more, in the annex", count=figure(len(fine)))
        in_order = say("Drawn above is only what is, or was, not in order. Not drawn: {what}.", what=what)
    return Measurements(tuple(drawn), plans, note, in_order, nothing)


def _row(
    one: Assessment,
    row: SummaryLine,
    first: Characteristic | None,
    now: Characteristic | None,
    shown: set[str],
) -> list[MeasuredView]:
    feature = next((f for f in one.features if f.name == row.feature), None)
    some = first or now
    if feature is None or some is None:
        return []
    name = anchor(f"m-{row.feature}-{row.characteristic}")
    unit, second = unit_of(some, one.system), unit_of(some, other(one.system))
    unit = unit if unit == second else say("{one} and {other}", one=unit, other=second)
    row_title = told(row.title)
    panels = _panels(one, feature, row.characteristic, first, now)
    both = [panel for panel in panels if panel.first and panel.now]
    panels = panels or [Panel(some.position, first, now if now is not first else None)]
    if some.grid:
        return _faces(one, name, row_title, unit, panels[0])
    if len(panels) < 2:
        if {key for key in (row.first, row.now) if key} <= shown:
            return []  # it stands beside its finding already
        return [
            MeasuredView(
                name,
                row_title,
                unit,
                _note(one, panels),
                tuple(scales(first, now, feature, one.system, WIDE)),
                tuple(scales(first, now, feature, one.system, NARROW)),
            )
        ]
    moved = any(p.first and p.now and not same_limits(p.first, p.now) for p in both)
    if row.characteristic == "size" and first is not None:
        pictures = _profile(one, feature, first, not moved)
        later = [replace(p, first=None) for p in panels if p.now] if moved else []
        if pictures:
            before = [replace(p, now=None) for p in panels] if later else panels
            title = say("{title}, on arrival", title=row_title) if later else row_title
            drawn = [MeasuredView(name, title, unit, _note(one, before), (pictures[0],), (pictures[1],))]
            # bored or sleeved since: the new bores stand against their own limits, not on the worn ones' axis
            title = say("{title}, now", title=row_title)
            return drawn + ([_strip(one, feature, f"{name}-now", title, unit, later)] if later else [])
    parts = [panels]
    if moved:  # machining moved the limits: two strips, each against its own
        parts = [
            [replace(p, now=None) for p in panels if p.first],
            [replace(p, first=None) for p in panels if p.now],
        ]
    out: list[MeasuredView] = []
    for i, part in enumerate(parts):
        bad = any(c and c.verdict in SEVERITY[:2] for p in part for c in (p.first, p.now))
        if part and (bad or not moved):
            title = row_title
            if moved:
                title = say("{title}, on arrival" if i == 0 else "{title}, now", title=row_title)
            out.append(_strip(one, feature, name if not out else f"{name}-now", title, unit, part))
    return out


def _wheels(one: Assessment, row: SummaryLine, there: set[str]) -> list[MeasuredView]:
    """A shaft that was turned under an indicator, on arrival and now, each of its places round the clock."""
    out: list[MeasuredView] = []
    title = next((told(f.title) for f in one.features if f.name == row.feature), "")
    ends = [c for c in (one.find(row.first), one.find(row.now)) if c is not None]
    for name in dict.fromkeys(c.round for c in ends):
        ones = [c for c in one.characteristics if (c.feature, c.round) == (row.feature, name)]
        titled = title
        if len({c.round for c in ends}) > 1:
            titled = say("{title}, on arrival" if name == ends[0].round else "{title}, now", title=title)
        drawn, spot = wheels(ones, one.system, titled), anchor(f"m-{row.feature}-turned-{name}")
        if drawn and spot not in there:
            unit = unit_of(ones[0], one.system)
            out.append(MeasuredView(spot, titled, unit, caption(), drawn[:1], drawn[1:]))
    return out


def _faces(one: Assessment, name: str, title: str, unit: str, panel: Panel) -> list[MeasuredView]:
    """A face on arrival, and as it is now where it was gone over again, each as its contour map."""
    out: list[MeasuredView] = []
    for c in (panel.first, panel.now):
        rows = _heights(c.grid) if c is not None else []
        if c is None or not rows:
            continue
        alone = replace(panel, first=c if c is panel.first else None, now=c if c is panel.now else None)
        when = message("{title}, on arrival" if c is panel.first else "{title}, now")
        titled = title if panel.now is None else say(when, title=title)
        wide, narrow = (
            contour(rows, c.unit, c.decimals, one.system, titled, width) for width in (WIDE, NARROW)
        )
        notes = [_note(one, [alone])]
        printed, limit = value(c, one.system), limit_text(c, one.system)
        if printed is not None:
            words = message("All heights lie between two planes {width} apart, limit {limit}.")
            words = message(words if limit else "All heights lie between two planes {width} apart.")
            notes.append(say(words, width=printed.both, limit=limit))
        notes.append(spacing(rows, c.unit, c.decimals, one.system))
        notes.append(
            say("Above the plane midway they are whole, below it broken; the plane itself is heavy.")
        )
        note = " ".join(notes)
        out.append(MeasuredView(name if not out else f"{name}-now", titled, unit, note, (wide,), (narrow,)))
    return out


def _heights(grid: Sequence[tuple[float, float, float]]) -> list[list[float]]:
    """Heights row by row across a face, each from front to rear; nothing where a crossing is missing."""
    at = {(y, x): z for x, y, z in grid}
    across, along = sorted({y for y, _ in at}), sorted({x for _, x in at})
    if len(at) != len(across) * len(along) or min(len(across), len(along)) < 2:
        return []
    return [[at[y, x] for x in along] for y in across]


def _strip(
    one: Assessment, feature: Feature, name: str, title: str, unit: str, panels: list[Panel]
) -> MeasuredView:
    wide, narrow = (strip(panels, feature, one.system, width) for width in (WIDE, NARROW))
    return MeasuredView(name, title, unit, _note(one, panels), (wide,), (narrow,))


def _panels(
    one: Assessment, feature: Feature, limit: str, first: Characteristic | None, now: Characteristic | None
) -> list[Panel]:
    """Positions with anything to draw: the round of the arrival, and what stands if that is another.

    A limit may judge several characteristics (the largest and the smallest
    diameter): a panel shows the one that the summary shows, or else its worst.
    """
    kind = KINDS.get(feature.kind)

    def judged(name: str) -> bool:
        return name == limit or (kind is not None and kind.trait(name).limit == limit)

    of = [
        c for c in one.characteristics if c.feature == feature.name and c.value is not None and judged(c.name)
    ]
    many = any(c.position != "engine" for c in of)
    of = [c for c in of if not many or c.position != "engine"]
    panels: list[Panel] = []
    for position in dict.fromkeys([*feature.positions, *(c.position for c in of)]):
        here = [c for c in of if c.position == position]
        early = {c.name: c for c in here if first is not None and c.round in one.as_found}
        arrived = _picked(list(early.values()), first)
        later = [c for c in here if c.stands and (first is None or c.round not in one.as_found)]
        stands = _picked(later, now)
        if arrived or stands:
            panels.append(Panel(position, arrived, stands))
    return panels


def _picked(ones: list[Characteristic], like: Characteristic | None) -> Characteristic | None:
    return min(ones, key=lambda c: (severity(c.verdict), like is None or c.name != like.name), default=None)


def _note(one: Assessment, panels: list[Panel]) -> str:
    """Counts in words; what would settle a close call; what a lower bound means."""
    parts: list[str] = []
    later = [p.now for p in panels]
    if any(later):  # what was not read again still stands
        later = [p.now or (p.first if p.first is not None and p.first.stands else None) for p in panels]
    for words, ones in (
        (message("On arrival: {what}."), [p.first for p in panels]),
        (message("Now: {what}."), later),
    ):
        present = [c for c in ones if c is not None]
        if present:
            tally = Counter[str](c.verdict for c in present)
            counts = [f"{_names(present, v)} {say(v)}".strip() for v in SEVERITY if tally[v]]
            parts.append(say(words, what=joined(counts)))
    bad = [c for p in panels for c in (p.first, p.now) if c and c.verdict in SEVERITY[:2]]
    if any(c.bound == "at least" for p in panels for c in (p.first, p.now) if c):
        parts.append(say("The worn shells were not measured: arrival is the least it can have been."))
    advice = dict.fromkeys(
        stop(capital(place(told(text)))) for c in bad for text in (c.advice, c.fitness) if text
    )
    return " ".join([*parts, *list(advice)[:2]])


def _names(ones: list[Characteristic], name: str) -> str:
    """Positions by name where they are few and out of order, else how many."""
    if len(ones) == 1 and not ones[0].position[-1:].isdigit():
        return ""  # 'engine', 'head': the title has said it
    places = [c.position for c in ones if c.verdict == name]
    if len(places) == len(ones) and len(places) > 1:
        return say("both") if len(places) == 2 else say("all {count}", count=figure(len(places)))
    if name in SEVERITY[:3] and len(places) <= 4:
        return joined(place(name) for name in places)
    return figure(len(places))


def _profile(
    one: Assessment, feature: Feature, first: Characteristic, with_now: bool
) -> tuple[Drawing, Drawing] | None:
    tables = [t for t in one.tables if t.feature == feature.name]
    arrival = next((t for t in tables if t.round == first.round), None)
    if arrival is None:
        return None
    later = next((t for t in reversed(tables) if t is not arrival and t.columns == arrival.columns), None)
    later = later if with_now else None
    drawn = [_in_unit(p, arrival, later, first.unit) for p in profiles(arrival, later)]
    if not drawn or drawn[0].levels[0] != "top" or first.position not in drawn[0].arrival:
        return None
    drawn = drawn[:2]
    return (
        profile(drawn, first, first.unit, one.system, DIRECTIONS, WIDE),
        profile(drawn[:1], first, first.unit, one.system, DIRECTIONS, NARROW),
    )


def _in_unit(one: Profile, arrival: ReadingTable, later: ReadingTable | None, unit: str) -> Profile:
    """Readings were typed in the table's unit; limits and values are in the characteristic's."""

    def turned(rows: dict[str, tuple[float, ...]], typed: str) -> dict[str, tuple[float, ...]]:
        return {place: tuple(units.convert(v, typed, unit) for v in values) for place, values in rows.items()}

    return Profile(
        one.direction,
        one.levels,
        turned(one.arrival, arrival.unit),
        turned(one.now, later.unit) if later else {},
    )


def _plans(one: Assessment) -> tuple[PlanHalf, ...]:
    """On arrival beside now; one plan where nothing was measured since."""
    if not one.rounds or not any(c.value is not None for c in one.characteristics):
        return ()
    positions = [place for feature in one.features for place in feature.positions]
    rows = decks(positions)
    if sum(map(len, rows.values())) < 2:
        return ()
    everywhere = [place for deck in rows.values() for place in deck]
    early = {(c.feature, c.name, c.position): c for c in one.characteristics if c.round in one.as_found}
    halves = [(say("On arrival"), list(early.values()))]
    standing = [c for c in one.characteristics if c.stands]
    if any(c.round not in one.as_found and c.value is not None for c in standing):
        later = one.stage in ("delivery", "follow-up")
        halves.append((say("As delivered") if later else say("Now"), standing))
    engine = one.engine
    covered = {key: d.id for d in one.deviations for key in d.covers}
    surfaces = {f.name for f in one.features if f.kind not in KINDS or KINDS[f.kind].of_surface}
    out: list[PlanHalf] = []
    for title, ones in halves:
        found: dict[str, list[str]] = {}
        for c in ones:
            # the plan draws surfaces: a test of the whole engine that was not repeated leaves no gap in it
            if c.verdict != "not measured" or c.feature in surfaces:
                found.setdefault(c.position, []).append(c.verdict)
        verdicts = {place: overall(found[place]) for place in everywhere if place in found}
        groups: list[tuple[Verdict, str]] = []
        for name in SEVERITY:
            places = [place for place in everywhere if verdicts.get(place, "not measured") == name]
            if places:
                groups.append(
                    (verdict(name), _listed(places, rows, [c for c in ones if c.key in covered], covered))
                )
        out.append(
            PlanHalf(
                title,
                plan(positions, verdicts, title, told(engine.counting), engine.banks, engine.cylinders),
                tuple(groups),
            )
        )
    return tuple(out)


def _listed(
    places: list[str], rows: dict[str, list[str]], accepted: list[Characteristic], covered: dict[str, str]
) -> str:
    """Positions in words: a whole deck by its name."""
    words: list[str] = []
    left = list(places)
    for deck, members in rows.items():
        if len(members) > 2 and set(members) <= set(left):
            words.append(say(WHOLE[deck]))
            left = [place for place in left if place not in members]
    if left:
        letters = list(dict.fromkeys(name.rstrip("0123456789") for name in left))
        words.append(runs_of(sorted(left, key=lambda name: letters.index(name.rstrip("0123456789")))))
    named = {
        c.position: covered[c.key] for c in accepted if c.position in places and c.verdict in SEVERITY[:2]
    }
    text = ", ".join(words)
    if len(named) == len(places) == 1:
        return say("{place}, accepted by deviation {deviation}", place=text, deviation=named[places[0]])
    accepted_by = [
        say("{place} accepted by deviation {deviation}", place=p, deviation=d) for p, d in named.items()
    ]
    return f"{text}; {joined(accepted_by)}" if named else text
