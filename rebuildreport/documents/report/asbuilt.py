"""How the engine went together and started, for the report: bolts, checks, marks, warranty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from ...assess.model.assessment import Assessment
from ...assess.model.bench import (
    BuildLine,
    Cover,
    DueLine,
    MarkLine,
)
from ...assess.model.bolting import Fastening, Signed, StageLine
from ...quantities import Shown, show, show_interval
from ..press.language import say, spoken, told
from ..press.words import (
    NBSP,
    System,
    capital,
    day,
    figure,
    joined,
    stop,
    unit_text,
)
from .bolt_tables import force_text, given

Pair = tuple[str, str]


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """The report's page on putting together; nothing unsigned stands in it as done."""

    state: str
    bolts: tuple[tuple[str, str, str, str, str], ...]  # group, size, stages, preload, signed
    bolts_head: str
    checks: tuple[tuple[str, str, str], ...]  # what, found, signed
    marks: tuple[Pair, ...]
    departures: tuple[Pair, ...]
    not_inspected: str


@dataclass(frozen=True, slots=True)
class After:
    """What was started, what is due, and what the shop stands behind."""

    asked: tuple[Pair, ...]  # what the maker's sheet asks for
    due: tuple[tuple[str, str, str], ...]  # what, when, done
    warranty: tuple[Pair, ...]


def as_built(one: Assessment) -> AsBuilt | None:
    """The view of what was put together; None before anything was."""
    build = one.bench.build
    if not build.begun:
        return None
    done = [group for group in build.fastenings if group.done]
    left = len(build.not_done)
    state = say("Every line of the build sheet is done and signed.")
    if left:
        said = ", ".join(f"{line.number} {told(line.title)}" for line in build.not_done[:6])
        words = "{count} lines of the build sheet not done: {what}."
        if left == 1:
            words = "One line of the build sheet not done: {what}."
        elif left > 6:
            words = "{count} lines of the build sheet not done: {what} and more."
        state = say(words, count=capital(figure(left)), what=said)
    checks = [line for line in build.lines if line.verb == "check" and line.signed is not None]
    return AsBuilt(
        state=state,
        bolts=tuple(_bolts(group, one.system) for group in done),
        bolts_head=say("preload of one bolt, {unit}", unit="kN" if one.system == "mm" else "lbf"),
        checks=tuple(
            (capital(told(line.title)), _found(line, one.system), signed(line.signed)) for line in checks
        ),
        marks=tuple(
            (capital(told(mark.where)), _mark(mark)) for mark in build.marks if mark.signed is not None
        ),
        departures=deviations(one) if build.departures else (),
        not_inspected=stop(capital("; ".join(map(told, one.bench.register.not_inspected)))),
    )


def after(one: Assessment) -> After:
    """What follows the first start."""
    start = one.bench.start
    return After(
        asked=tuple((capital(told(said.label)), told(said.text)) for said in start.plan)
        if not start.date
        else (),
        due=tuple(_due(line) for line in start.due),
        warranty=tuple(_warranty(start.warranty)) if start.warranty else (),
    )


def signed(one: Signed | None) -> str:
    """'bench 1, seen by foreman, 2 March 2026'."""
    if one is None:
        return ""
    seen = say("seen by {name}", name=told(one.witness)) if one.witness else ""
    return ", ".join(part for part in (told(one.by), seen, day(one.date)) if part)


def _bolts(group: Fastening, system: System) -> tuple[str, str, str, str, str]:
    size = f"{group.quantity} × {group.thread}" if group.thread else str(group.quantity)
    strength = (
        say("class {number}", number=group.strength) if group.strength[:1].isdigit() else group.strength
    )
    last = next((stage.preload for stage in reversed(group.stages) if stage.preload), None)
    load = ""
    if last is not None:
        ends = [spoken().figures(force_text(end, system)) for end in (last.low, last.high)]
        load = say("{first} to {last}", first=ends[0], last=ends[1])
        load = say("{load}, to yield", load=load) if last.method == "yield" else load
    return (
        told(group.title),
        ", ".join(part for part in (size, strength) if part),
        "; ".join([_stages(group.stages, system), *(told(text) for text in group.doubts)]),
        load,
        signed(group.done[-1]),
    )


def _stages(stages: tuple[StageLine, ...], system: System) -> str:
    """'60, 120 N·m (44, 89 lbf·ft), then 90°'; the maker's figures first, as the sheet has them."""
    if any(stage.withheld for stage in stages):
        return say("withheld: two units on the sheet disagree")
    said = ""
    for together in _alike(stages, system):
        said = say("{first}, then {next}", first=said, next=together) if said else together
    return said


def _alike(stages: tuple[StageLine, ...], system: System) -> Iterator[str]:
    """Torques of one unit that follow each other as one text; angles and stretches each by itself."""
    shown = [(stage.kind, given(stage, system)) for stage in stages]
    for key, group in groupby(shown, key=lambda one: (one[0], one[1].unit, one[1].second_unit)):
        ones = [one for _, one in group]
        if key[0] != "torque":
            yield from (_turn(key[0], one) for one in ones)
            continue
        first = f"{', '.join(one.text for one in ones)} {key[1]}"
        second = f" ({', '.join(one.second for one in ones)} {key[2]})" if key[2] else ""
        yield spoken().figures(f"{first}{second}")


def _turn(kind: str, shown: Shown) -> str:
    text = spoken().figures(shown.both.replace(NBSP, " "))
    return text if kind == "angle" else say("{length} longer", length=text)


def _found(line: BuildLine, system: System) -> str:
    said = []
    for value in line.values:
        column = next((one for one in line.columns if one.name == value.column), None)
        shown = show(value.value, value.unit, value.decimals, system)
        limit = show_interval(*column.limits, column.unit, column.decimals, system) if column else ""
        parts = [value.position, shown.text, unit_text(shown.unit), f"({limit})" if limit else ""]
        said.append(" ".join(part for part in parts if part))
    if line.found:
        said.append(line.found)
    if line.state != "done":
        said.append(told(line.state_text) or say(line.state))
    return "; ".join(said)


def _mark(mark: MarkLine) -> str:
    trust = told(mark.trust_text)
    parts = [mark.found, f"{trust}: {told(mark.proves)}" if mark.trust != "factory" else trust]
    proved = say("proved right by: {what}", what=mark.verified) if mark.verified else told(mark.state_text)
    parts.append(proved)
    return stop(capital("; ".join(part for part in (*parts, signed(mark.signed)) if part)))


def _due(line: DueLine) -> tuple[str, str, str]:
    when = [line.at, say("by {day}", day=day(line.by)) if line.by else ""]
    done = [day(line.done), line.done_at, line.seen]
    return (
        capital(line.what),
        ", ".join(part for part in when if part),
        ", ".join(part for part in done if part) if line.done else "",
    )


def lasts(cover: Cover) -> str:
    """'from 9 March 2026, 9412 h to 9 March 2027 or 9912 h, whichever comes first'."""
    start = day(cover.start) + (f", {cover.meter_from}" if cover.meter_from else "")
    if cover.until and cover.meter_until:
        words = "from {start} to {end} or {meter}, whichever comes first"
    elif cover.meter_until:
        words = "from {start} or {meter}, whichever comes first"
    else:
        words = "from {start} to {end}" if cover.until else "from {start}"
    return say(words, start=start, end=day(cover.until), meter=cover.meter_until)


def _warranty(cover: Cover) -> list[Pair]:
    lines = [(say("Warranty"), stop(capital(lasts(cover))))]
    if cover.covers:
        lines.append((say("Covers"), stop(capital(cover.covers))))
    if cover.not_covered:
        lines.append((say("Outside it"), stop(capital("; ".join(map(told, cover.not_covered))))))
    if cover.conditions:
        lines.append((say("On condition"), stop(capital("; ".join(cover.conditions)))))
    return lines


def deviations(one: Assessment) -> tuple[tuple[str, str], ...]:
    """What was built otherwise than the sheet says, and what was used outside a limit; named and signed."""
    found: list[tuple[str, str]] = []
    for d in one.bench.build.departures:
        signed = say("Signed by {name}, {day}.", name=told(d.signed), day=day(d.date))
        head = f"{d.id}: {capital(d.about.replace('_', ' '))}"
        found.append((head, f"{stop(capital(d.what))} {stop(capital(d.why))} {signed}"))
    for v in one.deviations:
        signed = say("Signed by {name}, {day}.", name=told(v.signed), day=day(v.date))
        what = capital(told(v.what).replace("_", " "))
        accepted = say("{what} {limit} accepted.", what=what, limit=spoken().figures(v.accept))
        head = f"{v.id}: {told(v.feature_title)} {joined(v.positions)}".strip()
        found.append((head, f"{accepted} {stop(capital(v.why))} {signed}"))
    return tuple(found)
