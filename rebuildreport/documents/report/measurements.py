"""What is not in order, drawn: strips, bore profiles, scales, and the engine on arrival beside now.

In: an Assessment.  Out: drawings with what to see in each.  Judges nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment, Characteristic, Feature, SummaryLine
from ...assess.work.decisions import covered_by
from ...quantities import message
from ...trade.kinds import KINDS
from ..drawings.canvas import Drawing
from ..drawings.contour import contour, spacing
from ..drawings.engine_plan import decks, plan
from ..drawings.polar import caption, wheels
from ..drawings.scales import NARROW, WIDE, limit_text, same_limits, unit_of
from ..drawings.strips import Panel, Profile, profile, strip
from ..drawings.verdict_marks import NOT_JUDGED, PARTLY, PRINTED, Verdict, judged, overall, verdict
from ..press.language import opening, say, told
from ..press.templating import anchor
from ..press.words import OUT_OF_ORDER, figure, joined, place, severity, stop, value
from ..press.words import places as runs_of

DIRECTIONS = message({"t": "across the crank (thrust)", "a": "along the crank", "thrust": "thrust direction"})


class MeasuredView(Struct, frozen=True):
    """One drawing of the section with what to see in it."""

    anchor: str
    title: str
    unit: str
    note: str
    wide: tuple[Drawing, ...]
    narrow: tuple[Drawing, ...]


class PlanHalf(Struct, frozen=True):
    title: str
    drawing: Drawing
    groups: tuple[tuple[Verdict, str], ...]


class Measurements(Struct, frozen=True):
    drawn: tuple[MeasuredView, ...]
    plans: tuple[PlanHalf, ...]
    plan_note: str
    nothing: str  # said where there is nothing to draw


# how the plan fills a place
FILLED = message(
    {
        "beyond limit": "crossed hatching",
        "too close to call": "upright line",
        "not measured": "broken outline",
        NOT_JUDGED: "broken outline",
        PARTLY: "broken outline",
        "no limit on file": "level line",
        "serviceable": "single hatching",
        "as new": "plain",
    }
)
WHOLE = message({"valves": "all valves", "cylinders": "all cylinders", "crankshaft": "all of the crankshaft"})
LETTERS = message(
    {
        "C": "cylinder",
        "M": "main journal",
        "R": "rod journal",
        "I": "intake valve",
        "E": "exhaust valve",
    }
)
MOST_DRAWN = 6  # features: with the engine from above they take a page


def measurements(job: Assessment) -> Measurements:
    """What decided something, drawn: of each feature that was out of order the worst line, a page of them."""
    drawn: list[MeasuredView] = []
    plans = _plans(job)
    lines = 0
    decisive = _decisive(job)
    for row in decisive:
        turned = list(_wheels(job, row, {item.anchor for item in drawn}))
        views = turned or _row(job, row)
        lines += bool(views)
        if lines <= MOST_DRAWN:
            drawn += views
    nothing = "" if decisive else say("Nothing measured is beyond its limit or too close to call.")
    return Measurements(tuple(drawn), plans, _plan_note(job) if plans else "", nothing)


def _decisive(job: Assessment) -> list[SummaryLine]:
    """The worst line of each feature that was or is out of order; first those that decisions are about."""
    worst_of: dict[str, SummaryLine] = {}
    for row in job.summary:
        ends = [one for one in (job.find(row.first), job.find(row.now)) if one is not None]
        # of what is counted, as cracks are, a drawing shows no more than its number
        if any(one.verdict in OUT_OF_ORDER for one in ends) and ends[0].unit != "count":
            other = worst_of.get(row.feature)
            if other is None or _rank(job, row) < _rank(job, other):
                worst_of[row.feature] = row
    about = [*(decision.about for decision in job.decisions), *(d.feature for d in job.deviations)]

    def weight(row: SummaryLine) -> tuple[int, bool]:
        """What was decided about comes first, then what only a map of its surface can show."""
        first = job.find(row.first)
        return about.index(row.feature) if row.feature in about else len(about), not (first and first.grid)

    return sorted(worst_of.values(), key=weight)


def _rank(job: Assessment, row: SummaryLine) -> int:
    return min(severity(one.verdict) for key in (row.first, row.now) if (one := job.find(key)) is not None)


def _places(job: Assessment) -> Iterator[str]:
    for feature in job.features:
        yield from feature.positions


def _plan_note(job: Assessment) -> str:
    """What the letters mean, and from which end is counted."""
    shown = {place[0] for places in decks([*_places(job)]).values() for place in places}
    letters = joined([f"{letter} {say(what)}" for letter, what in LETTERS.items() if letter in shown]) + "."
    engine = job.engine
    counting = told(engine.counting)
    note = say("The engine from above: {what}", what=letters)
    if counting:
        note = say("The engine from above, {counting}: {what}", counting=counting, what=letters)
    if len(engine.banks) == 2 or engine.cylinders < 2 or engine.rows == "inline":
        return note
    words = message("Cylinders stand in the order of their numbers, not as they lie in the engine.")
    return f"{note} {say(words)}"


# ---------------------------------------------------------------- the drawings of one line of the summary


class _Section(Struct, frozen=True):
    """One line of the summary that is drawn: what its drawings share."""

    job: Assessment
    feature: Feature
    name: str  # its anchor
    title: str
    unit: str

    def titled(self, when: str) -> str:
        """The title of one of two drawings: "arrival" or "now"; "" of the only one."""
        if not when:
            return self.title
        words = message("{title}, on arrival" if when == "arrival" else "{title}, now")
        return say(words, title=self.title)

    def view(
        self,
        note: str,
        wide: Iterable[Drawing],
        narrow: Iterable[Drawing],
        when: str = "",
        second: bool = False,
    ) -> MeasuredView:
        """One drawing; the ``second`` of a line has an anchor of its own."""
        name = f"{self.name}-now" if second else self.name
        return MeasuredView(name, self.titled(when), self.unit, note, tuple(wide), tuple(narrow))

    def strip(self, panels: list[Panel], when: str = "", second: bool = False) -> MeasuredView:
        """Positions side by side on one scale."""
        wide, narrow = (strip(panels, self.feature, self.job.system, width) for width in (WIDE, NARROW))
        return self.view(_note(panels), (wide,), (narrow,), when, second)


def _row(job: Assessment, row: SummaryLine) -> list[MeasuredView]:
    """The drawings of one line: what suits its positions, and whether machining has moved its limits."""
    feature, first, now = job.feature(row.feature), job.find(row.first), job.find(row.now)
    some = first or now
    if feature is None or some is None:
        return []
    name = anchor(f"m-{row.feature}-{row.characteristic}")
    section = _Section(job, feature, name, told(row.title), unit_of(some.unit, job.system))
    panels = _panels(section, row.characteristic, first.name if first else "", now.name if now else "")
    if some.grid:
        return _faces(section, panels[0] if panels else Panel(some.position, first, now))
    if len(panels) < 2:
        return []  # one value alone needs no drawing beside others
    bores = _bores(section, row, panels) if row.characteristic == "size" else []
    return bores or _strips(section, panels)


def _moved(panels: list[Panel]) -> bool:
    """Whether machining moved the limits: then each of the two stands against its own."""
    return any(p.first and p.now and not same_limits(p.first, p.now) for p in panels)


def _halves(panels: list[Panel]) -> tuple[list[Panel], list[Panel]]:
    """The positions on arrival, and as they are now."""
    arrivals = [replace(panel, now=None) for panel in panels if panel.first]
    return arrivals, [replace(panel, first=None) for panel in panels if panel.now]


def _strips(section: _Section, panels: list[Panel]) -> list[MeasuredView]:
    """One strip; where the limits have moved one for each time at which anything was not in order."""
    if not _moved(panels):
        return [section.strip(panels)]
    strips: list[MeasuredView] = []
    for half, when in zip(_halves(panels), ("arrival", "now"), strict=True):
        if any(panel.bad for panel in half):
            strips.append(section.strip(half, when, second=bool(strips)))
    return strips


def _bores(section: _Section, row: SummaryLine, panels: list[Panel]) -> list[MeasuredView]:
    """Bores with their profiles from top to bottom; none where they were not read at levels."""
    worst, moved, system = section.job.find(row.first), _moved(panels), section.job.system
    drawn = _depths(section, worst.round, with_now=not moved) if worst is not None else []
    if worst is None or not drawn or worst.position not in drawn[0].arrival.sizes:
        return []
    pictures = (
        profile(drawn, worst, system, DIRECTIONS, WIDE),
        profile(drawn[:1], worst, system, DIRECTIONS, NARROW),
    )
    _, later = _halves(panels)
    if not moved or not later:
        return [section.view(_note(panels), pictures[:1], pictures[1:])]
    before = [replace(panel, now=None) for panel in panels]
    # bored or sleeved since: the new bores stand against their own limits, not on the worn ones' axis
    return [
        section.view(_note(before), pictures[:1], pictures[1:], "arrival"),
        section.strip(later, "now", second=True),
    ]


def _wheels(job: Assessment, row: SummaryLine, there: set[str]) -> Iterator[MeasuredView]:
    """A shaft that was turned under an indicator, on arrival and now, each of its places round the clock."""
    title = next((told(feature.title) for feature in job.features if feature.name == row.feature), "")
    ends = [measured for measured in (job.find(row.first), job.find(row.now)) if measured is not None]
    rounds = list(dict.fromkeys(measured.round for measured in ends))
    for name in rounds:
        turned = [c for c in job.characteristics if (c.feature, c.round) == (row.feature, name)]
        titled = title
        if len(rounds) > 1:
            words = message("{title}, on arrival" if name == rounds[0] else "{title}, now")
            titled = say(words, title=title)
        drawn, spot = wheels(turned, job.system, titled), anchor(f"m-{row.feature}-turned-{name}")
        if drawn and spot not in there:
            unit = unit_of(turned[0].unit, job.system)
            yield MeasuredView(spot, titled, unit, caption(turned), drawn[:1], drawn[1:])


def _faces(section: _Section, panel: Panel) -> list[MeasuredView]:
    """A face on arrival, and as it is now where it was gone over again, each as its contour map."""
    views: list[MeasuredView] = []
    for alone, when in ((replace(panel, now=None), "arrival"), (replace(panel, first=None), "now")):
        face = alone.first or alone.now
        rows = _heights(face.grid) if face is not None else []
        if face is None or not rows:
            continue
        when = when if panel.now is not None else ""
        system, titled = section.job.system, section.titled(when)
        wide, narrow = (
            contour(rows, face.unit, face.decimals, system, titled, width) for width in (WIDE, NARROW)
        )
        note = " ".join(
            (_note([alone]), *_planes(face, system), spacing(rows, face.unit, face.decimals, system))
        )
        whole = say("Above the plane midway they are whole, below it broken; the plane itself is heavy.")
        views.append(section.view(f"{note} {whole}", (wide,), (narrow,), when, second=bool(views)))
    return views


def _planes(face: Characteristic, system: str) -> Iterator[str]:
    printed, limit = value(face, system), limit_text(face, system)
    if printed is not None and limit:
        words = message("All heights lie between two planes {width} apart, limit {limit}.")
        yield say(words, width=f"{printed.text} {printed.unit}", limit=limit)
    elif printed is not None:
        yield say("All heights lie between two planes {width} apart.", width=f"{printed.text} {printed.unit}")


def _heights(grid: Sequence[tuple[float, float, float]]) -> list[list[float]]:
    """Heights row by row across a face, each from front to rear; nothing where a crossing is missing."""
    at = {(y, x): z for x, y, z in grid}
    across, along = sorted({y for y, _ in at}), sorted({x for _, x in at})
    if len(at) != len(across) * len(along) or min(len(across), len(along)) < 2:
        return []
    return [[at[y, x] for x in along] for y in across]


def _panels(section: _Section, limit: str, first: str, now: str) -> list[Panel]:
    """Positions with anything to draw: the round of the arrival, and what stands if that is another.

    A limit may judge several characteristics (the largest and the smallest diameter): a panel shows the one
    that the summary shows, by name on arrival and now ("" for none), or else its worst.
    """
    found = section.job.as_found
    measured = _judged_by(section.job, section.feature, limit)
    panels: list[Panel] = []
    for position in dict.fromkeys([*section.feature.positions, *(c.position for c in measured)]):
        here = [c for c in measured if c.position == position]
        early = {c.name: c for c in here if c.round in found} if first else {}
        later = [c for c in here if c.stands and not (first and c.round in found)]
        arrived, stands = _picked(list(early.values()), first), _picked(later, now)
        if arrived or stands:
            panels.append(Panel(position, arrived, stands))
    return panels


def _judged_by(job: Assessment, feature: Feature, limit: str) -> list[Characteristic]:
    """What a limit of a feature judges, place by place; of the engine as a whole where there is no place."""
    kind = KINDS.get(feature.kind)
    measured = [
        c
        for c in job.characteristics
        if c.feature == feature.name
        and c.value is not None
        and (c.name == limit or (kind is not None and kind.trait(c.name).limit == limit))
    ]
    placed = [c for c in measured if c.position != "engine"]
    return placed or measured


def _picked(values: list[Characteristic], like: str) -> Characteristic | None:
    return min(values, key=lambda c: (severity(c.verdict), c.name != like), default=None)


# ---------------------------------------------------------------- what to see in a drawing


def _note(panels: list[Panel]) -> str:
    """Counts in words; what would settle a close call; what a lower bound means."""
    arrived = [panel.first for panel in panels if panel.first]
    parts: list[str] = []
    if arrived:
        parts.append(say("On arrival: {what}.", what=_counts(arrived)))
    if now := _as_now(panels):
        parts.append(say("Now: {what}.", what=_counts(now)))
    shown = [measured for panel in panels for measured in (panel.first, panel.now) if measured]
    if any(measured.bound == "at least" for measured in shown):
        parts.append(say("The worn shells were not measured: arrival is the least it can have been."))
    texts = [
        text
        for measured in shown
        if measured.stands and measured.verdict in OUT_OF_ORDER  # of what has gone nothing is to be settled
        for text in (measured.advice, measured.fitness)
        if text
    ]
    advice = dict.fromkeys(stop(place(opening(text))) for text in texts)
    return " ".join([*parts, *list(advice)[:2]])


def _as_now(panels: list[Panel]) -> list[Characteristic]:
    """What there is now: what was not read again still stands.  Nothing where nothing was read again."""
    if not any(panel.now for panel in panels):
        return []
    standing = [panel.first if panel.first and panel.first.stands else None for panel in panels]
    now = [panel.now or still for panel, still in zip(panels, standing, strict=True)]
    return [measured for measured in now if measured is not None]


def _counts(values: list[Characteristic]) -> str:
    """'M4 beyond limit and six as new'."""
    tally = Counter(map(judged, values))
    return joined(f"{_names(values, name)} {verdict(name).name}".strip() for name in PRINTED if tally[name])


def _names(values: list[Characteristic], name: str) -> str:
    """Positions of one verdict by name where they are few and out of order, or one alone; else how many."""
    if len(values) == 1 and not values[0].position[-1:].isdigit():
        return ""  # 'engine', 'head': the title has said it
    spots = [measured.position for measured in values if judged(measured) == name]
    if len(spots) == len(values) == 2:
        return say("both")
    if len(spots) == len(values) > 1:
        return say("all {count}", count=figure(len(spots)))
    if len(spots) == 1 or (name in PRINTED[:4] and len(spots) <= 4):
        return joined(map(place, spots))
    return figure(len(spots))


def _depths(section: _Section, name: str, with_now: bool) -> list[Profile]:
    """The bores as a round read them, two directions at most; none where not from top to bottom."""
    tables = [table for table in section.job.tables if table.feature == section.feature.name and table.depths]
    arrival = next((table for table in tables if table.round == name), None)
    if arrival is None:
        return []
    again = [table for table in tables if table is not arrival and table.columns == arrival.columns]
    now = again[-1].depths if again and with_now else [None] * len(arrival.depths)
    return [*map(Profile, arrival.depths, now)][:2]


# ---------------------------------------------------------------- the engine from above


def _plans(job: Assessment) -> tuple[PlanHalf, ...]:
    """On arrival beside now; one plan where nothing was measured since."""
    positions = [*_places(job)]
    rows = decks(positions)
    measured = job.rounds and any(c.value is not None for c in job.characteristics)
    if not measured or sum(map(len, rows.values())) < 2:
        return ()
    early = {(c.feature, c.name, c.position): c for c in job.characteristics if c.round in job.as_found}
    standing = [c for c in job.characteristics if c.stands]
    again = any(c.round not in job.as_found and c.value is not None for c in standing)
    # what was accepted is told once, of the newest
    accepted = {} if again else _accepted(job, positions, list(early.values()))
    halves = [_half(job, say("On arrival"), list(early.values()), accepted, rows)]
    if again:
        delivered = job.stage in ("delivery", "follow-up")
        title = say("As delivered") if delivered else say("Now")
        halves.append(_half(job, title, standing, _accepted(job, positions, standing), rows))
    return tuple(halves)


def _half(
    job: Assessment,
    title: str,
    values: list[Characteristic],
    accepted: Mapping[str, str],
    rows: dict[str, list[str]],
) -> PlanHalf:
    """One plan and, verdict by verdict, the positions in words."""
    surfaces = {f.name for f in job.features if f.kind not in KINDS or KINDS[f.kind].of_surface}
    found: dict[str, list[str]] = {}
    for c in values:
        # the plan draws surfaces: a test of the whole engine that was not repeated leaves no gap in it
        if c.verdict != "not measured" or c.feature in surfaces:
            found.setdefault(c.position, []).append(judged(c))
    everywhere = [spot for deck in rows.values() for spot in deck]
    verdicts = {spot: _overall(found[spot]) for spot in everywhere if spot in found}
    groups: list[tuple[Verdict, str]] = []
    for name in PRINTED:
        spots = [spot for spot in everywhere if verdicts.get(spot, "not measured") == name]
        if spots:
            groups.append((verdict(name), f"({say(FILLED[name])}): {_said(spots, rows, accepted)}"))
    engine = job.engine
    drawing = plan([*_places(job)], verdicts, title, told(engine.counting), engine.banks, engine.cylinders)
    return PlanHalf(title, drawing, tuple(groups))


def _overall(names: list[str]) -> str:
    """Of one place: beside a value that was read, and is drawn above, nothing says it was not."""
    name = overall(names)
    return PARTLY if name == "not measured" and {*names} != {name} else name


def _said(spots: list[str], rows: dict[str, list[str]], accepted: Mapping[str, str]) -> str:
    """The positions of one verdict, and which of them are accepted by a deviation."""
    where = _decks(spots, rows)
    by: dict[str, list[str]] = {}
    for spot in spots:
        if spot in accepted:
            by.setdefault(accepted[spot], []).append(spot)
    if len(by) == 1 and accepted.keys() >= {*spots}:
        words = message("{place}, accepted by deviation {deviation}")
        return say(words, place=where, deviation=accepted[spots[0]])
    words = message("{place} accepted by deviation {deviation}")
    said = joined(say(words, place=joined(covered), deviation=names) for names, covered in by.items())
    if accepted.keys() >= {*spots}:
        return said
    return f"{where}; {said}" if said else where


def _decks(spots: list[str], rows: dict[str, list[str]]) -> str:
    """Positions in words: a whole deck by its name."""
    words: list[str] = []
    left = list(spots)
    for deck, members in rows.items():
        if len(members) > 2 and set(members) <= set(left):
            words.append(say(WHOLE[deck]))
            left = [spot for spot in left if spot not in members]
    if left:
        letters = list(dict.fromkeys(name.rstrip("0123456789") for name in left))
        words.append(runs_of(sorted(left, key=lambda name: letters.index(name.rstrip("0123456789")))))
    return ", ".join(words)


def _accepted(job: Assessment, spots: list[str], values: list[Characteristic]) -> dict[str, str]:
    """Positions whose every bad value a deviation covers, and which.

    A journal that is accepted says nothing of the housing of the same number.
    """
    covered = covered_by(job.deviations)
    accepted: dict[str, str] = {}
    for spot in spots:
        bad = [c.key for c in values if c.position == spot and c.verdict in OUT_OF_ORDER]
        if bad and covered.keys() >= set(bad):
            accepted[spot] = joined(dict.fromkeys(covered[key] for key in bad))
    return accepted
