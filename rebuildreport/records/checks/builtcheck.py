"""Whether what was taken apart and put together agrees with the sheet, the findings and itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from ... import quantities
from ...quantities import Quantity, QuantityError
from ..files.assembly import Assembly, Running
from ..files.buildplan import CLOSING, STAND_IN, BuildPagePlan
from ..files.jobfile import Findings, Teardown
from ..files.sheet import Engine
from ..files.teardown import AsFound, Earlier, Identity, MarkRecord, Seen
from ..text.notes import Notes
from ..text.reader import Where
from .boltcheck import as_found, tightened, value_of

if TYPE_CHECKING:
    from ..files.folder import JobFolder


def check_apart(teardown: Teardown, notes: Notes, engine: Engine | None, findings: Findings | None) -> None:
    """The teardown register: joints, findings that it names, readings of breakaway."""
    steps = {step.removed for step in teardown.steps}
    words = steps | ({*engine.joints, *engine.access, *engine.fasteners} if engine else set())
    joints = [("marks", i, one.joint) for i, one in enumerate(teardown.marks)]
    joints += [("identity", i, one.joint) for i, one in enumerate(teardown.identity)]
    for kind, i, joint in joints:
        if joint:
            notes.known((kind, i, "joint"), joint, words, "nothing that was taken off", severity="warning")
    for i, mark in enumerate(teardown.marks):
        if mark.trust == "factory" and mark.legible is False:
            message = "a maker's mark that cannot be read proves nothing"
            hint = "before_movement with a mark of your own, or inferred"
            notes.warn(("marks", i, "trust"), message, hint)
        if mark.trust != "factory" and not mark.verify:
            message = f"'{mark.where}' does not say how it will be proved right"
            notes.warn(("marks", i, "where"), message, "verify: locking pin goes in")
    _twice(notes, "marks", [one.where for one in teardown.marks])
    known = findings.findings if findings else {}
    for kind, i, entry in _register(teardown):
        if entry.finding:
            notes.known((kind, i, "finding"), entry.finding, known, "no finding of findings.yaml")
    for i, bolts in enumerate(teardown.fasteners_as_found):
        where: Where = ("fasteners_as_found", i)
        if engine:
            notes.misspelt((*where, "where"), bolts.where.split()[0], {*engine.fasteners, *engine.joints})
            as_found(notes, where, bolts, engine)
        if bolts.breakaway:
            _dimension(notes, (*where, "breakaway"), bolts.breakaway, "torque", "28 N·m")
        if bolts.unit:
            notes.unit((*where, "unit"), bolts.unit, "N·m")
        for place, text in bolts.readings.items():
            for word in text.split():
                try:
                    quantities.parse(word, unit=bolts.unit, dimension="torque")
                except QuantityError as problem:
                    message = f"'{word}' is no breakaway torque: {problem}"
                    notes.error((*where, "readings", place), message, problem.suggestion)
                    break


def check_assembly(
    assembly: Assembly, notes: Notes, engine: Engine | None, teardown: Teardown | None
) -> None:
    """Groups, checks, marks, hold points and pages by their names; who signed; units."""
    pages: dict[str, BuildPagePlan] = {}
    if engine:
        pages = engine.assemblies or dict.fromkeys(STAND_IN, CLOSING)
    steps = [step for page in pages.values() for step in page.steps]
    checks = {step.name for step in steps if step.verb == "check"}
    limits = {step.name: step.limit for step in steps if step.verb == "check" and step.limit}
    holds = {step.name for step in steps if step.verb == "hold"}
    register = [mark.where for mark in teardown.marks] if teardown else []
    for i, tight in enumerate(assembly.tightened):
        where: Where = ("tightened", i)
        if engine:
            what = "none of the sheet's fasteners"
            notes.known((*where, "fasteners"), tight.fasteners, engine.fasteners, what, severity="warning")
        for place, reached in tight.reached.items():
            _dimension(notes, (*where, "reached", place), reached, "torque", "105 N·m")
        if engine and tight.fasteners in engine.fasteners:
            tightened(notes, where, tight, engine.fasteners[tight.fasteners])
    for i, check in enumerate(assembly.checks):
        if pages:
            notes.known(("checks", i, "check"), check.check, checks, "no check of the sheet's assemblies")
        if check.value and (limit := limits.get(check.check)):
            value_of(notes, ("checks", i, "value"), check.value, limit)
    for i, brought in enumerate(assembly.marks):
        what = "no mark of teardown.yaml"
        notes.known(("marks", i, "mark"), brought.mark, register, what, severity="warning")
    for i, hold in enumerate(assembly.hold_points):
        if holds:
            notes.misspelt(("hold_points", i, "what"), hold.what, holds)
    for name in assembly.pages:
        if pages:
            notes.known(("pages", name), name, pages, "no page of the sheet's assemblies", key=True)
    if engine:
        groups = {*engine.fasteners, *checks, *holds, *engine.parts, *engine.features}
        for key, one in assembly.deviations.items():
            notes.misspelt(("deviations", key, "about"), one.about, groups)
    signed: list[tuple[Where, str, str | None]] = [
        *((("tightened", i), one.by, one.witness) for i, one in enumerate(assembly.tightened)),
        *((("checks", i), one.by, one.witness) for i, one in enumerate(assembly.checks)),
        *((("marks", i), one.by, one.witness) for i, one in enumerate(assembly.marks)),
        *((("hold_points", i), one.by, one.witness) for i, one in enumerate(assembly.hold_points)),
        *((("pages", name), one.by, one.witness) for name, one in assembly.pages.items()),
    ]
    for where, by, witness in signed:
        if witness and witness.strip().lower() == by.strip().lower():
            notes.warn((*where, "witness"), f"'{witness}' cannot witness what '{by}' did", "a second person")


def check_running(running: Running, notes: Notes, built: date | None) -> None:
    """First start after assembly, times, due days, warranty."""
    start = running.first_start
    if start:
        if built and start.date < built:
            notes.warn(("first_start", "date"), f"{start.date} lies before the engine was together ({built})")
        if start.pressure_after:
            _dimension(notes, ("first_start", "pressure_after"), start.pressure_after, "time", "4 s")
        if running.priming and running.priming.date > start.date:
            message = f"primed on {running.priming.date}, after the first start ({start.date})"
            notes.warn(("priming", "date"), message)
    if running.priming and running.priming.pressure:
        _dimension(notes, ("priming", "pressure"), running.priming.pressure, "pressure", "2.5 bar")
    for i, one in enumerate(running.due):
        if one.at is None and one.by is None:
            notes.warn(("due", i), f"'{one.what}' does not say when it is due", "add 'at: 50 h'", key=True)
        if start and one.done and one.done < start.date:
            notes.warn(("due", i, "done"), f"{one.done} lies before the first start ({start.date})")
    if running.warranty and running.warranty.until and running.warranty.until < running.warranty.from_:
        notes.error(("warranty", "until"), f"ends before it begins ({running.warranty.from_})")


def last_day(assembly: Assembly | None) -> date | None:
    """The newest signature of the assembly."""
    if assembly is None:
        return None
    days = [one.date for one in assembly.tightened] + [one.date for one in assembly.hold_points]
    days += [one.date for one in assembly.checks] + [one.date for one in assembly.marks]
    days += [one.date for one in assembly.pages.values()]
    return max(days, default=None)


def pictures(job: JobFolder) -> list[tuple[str, tuple[str | int, ...], str, bool]]:
    """Pictures named while taking apart: file, place, name; not keys."""
    teardown = job.teardown
    if teardown is None:
        return []
    found: list[tuple[str, tuple[str | int, ...], str, bool]] = [
        ("teardown", ("steps", i, "photos"), photo, False)
        for i, step in enumerate(teardown.steps)
        for photo in step.photos
    ]
    found += [
        ("teardown", (kind, i, "photo"), entry.photo, False)
        for kind, i, entry in _register(teardown)
        if not isinstance(entry, Earlier) and entry.photo
    ]
    return found


def _register(
    teardown: Teardown,
) -> Iterator[tuple[str, int, MarkRecord | AsFound | Identity | Seen | Earlier]]:
    """Every entry that a finding can be raised from: the list's key, its number, the entry."""
    lists: list[tuple[str, Sequence[MarkRecord | AsFound | Identity | Seen | Earlier]]] = [
        ("marks", teardown.marks),
        ("fasteners_as_found", teardown.fasteners_as_found),
        ("identity", teardown.identity),
        ("tensioners", teardown.tensioners),
        ("guides", teardown.guides),
        ("seals", teardown.seals),
        ("earlier_work", teardown.earlier_work),
    ]
    for kind, ones in lists:
        for i, one in enumerate(ones):
            yield kind, i, one


def _twice(notes: Notes, kind: str, names: list[str]) -> None:
    for i, name in enumerate(names):
        if name in names[:i]:
            notes.error((kind, i, "where"), f"'{name}' stands twice: each mark needs its own words")


def _dimension(notes: Notes, where: Where, one: Quantity, wanted: str, example: str) -> None:
    found = quantities.dimension(one.unit)
    if found != wanted:
        notes.error(where, f"{one} is a {found}, not a {wanted}", example)
