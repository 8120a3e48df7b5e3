"""Whether what was taken apart and put together agrees with the sheet, the findings and itself."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from ... import quantities
from ...quantities import QuantityError, dimension
from ..files.assembly import Assembly, Running, Tightened, two_people
from ..files.boltgroups import expected_stretch
from ..files.buildplan import CLOSING, STAND_IN, Fastener
from ..files.jobfile import Findings, Teardown
from ..files.sheet import Engine
from ..files.teardown import AsFound
from ..text.notes import Notes, one_of, values_at
from ..text.reader import Where

# lists of teardown.yaml from whose entries a finding can be raised
REGISTER = ("marks", "fasteners_as_found", "identity", "tensioners", "guides", "seals", "earlier_work")


def check_apart(teardown: Teardown, notes: Notes, engine: Engine | None, findings: Findings | None) -> None:
    """The teardown register: joints, findings that it names (None: unread), readings of breakaway."""
    steps = {step.removed for step in teardown.steps}
    words = steps | ({*engine.joints, *engine.access, *engine.fasteners} if engine else set())
    joints = ("marks.*.joint", "identity.*.joint")
    notes.named(teardown, joints, words, "nothing that was taken off", "warning")
    if findings is not None:
        paths = [f"{kind}.*.finding" for kind in REGISTER]
        notes.named(teardown, paths, findings.findings, "no finding of findings.yaml")
    notes.measured(teardown, "fasteners_as_found.*.breakaway", "torque", "28 N·m")
    _marks(notes, teardown)
    for i, bolts in enumerate(teardown.fasteners_as_found):
        _breakaway(notes, ("fasteners_as_found", i), bolts)
        if engine:
            where, group = ("fasteners_as_found", i), bolts.group
            notes.misspelt((*where, "where"), group, {*engine.fasteners, *engine.joints})
            if group in engine.fasteners:
                as_found(notes, where, bolts, engine.fasteners[group])


def _marks(notes: Notes, teardown: Teardown) -> None:
    """A mark says how it will be proved right, and has words of its own."""
    for i, mark in enumerate(teardown.marks):
        if mark.trust == "factory" and mark.legible is False:
            hint = "before_movement with a mark of your own, or inferred"
            notes.warn(("marks", i, "trust"), "a maker's mark that cannot be read proves nothing", hint)
        if mark.trust != "factory" and not mark.verify:
            message = f"'{mark.where}' does not say how it will be proved right"
            notes.warn(("marks", i, "where"), message, "verify: locking pin goes in")
        if any(mark.where == before.where for before in teardown.marks[:i]):
            message = f"'{mark.where}' stands twice: each mark needs its own words"
            notes.error(("marks", i, "where"), message)


def _breakaway(notes: Notes, where: Where, bolts: AsFound) -> None:
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
    register = [mark.where for mark in teardown.marks] if teardown else []
    notes.named(assembly, ("marks.*.mark",), register, "no mark of teardown.yaml", "warning")
    notes.measured(assembly, "tightened.*.reached.*", "torque", "105 N·m")
    if engine:
        _against_plan(assembly, notes, engine)
    signed = ("tightened", "checks", "marks", "hold_points", "pages")
    for where, entry in (one for key in signed for one in values_at(assembly, f"{key}.*")):
        by, witness = getattr(entry, "by", ""), getattr(entry, "witness", "")
        if witness and not two_people(by, witness):
            notes.warn((*where, "witness"), f"'{witness}' cannot witness what '{by}' did", "a second person")


def _against_plan(assembly: Assembly, notes: Notes, engine: Engine) -> None:
    """What was tightened, checked and signed is what the sheet's pages of assembly ask for."""
    pages = engine.assemblies or dict.fromkeys(STAND_IN, CLOSING)
    steps = [step for page in pages.values() for step in page.steps]
    checks = {step.name: step.limit for step in steps if step.verb == "check"}
    holds = {step.name: step for step in steps if step.verb == "hold"}
    no_group = "none of the sheet's fasteners"
    notes.named(assembly, ("tightened.*.fasteners",), engine.fasteners, no_group, "warning")
    notes.named(assembly, ("checks.*.check",), {*checks}, "no check of the sheet's assemblies")
    notes.named(assembly, ("pages.@",), pages, "no page of the sheet's assemblies")
    for i, tight in enumerate(assembly.tightened):
        if tight.fasteners in engine.fasteners:
            tightened(notes, ("tightened", i), tight, engine.fasteners[tight.fasteners])
    for i, check in enumerate(assembly.checks):
        unit = limit.unit if (limit := checks.get(check.check)) else ""
        if check.value and unit and (of := dimension(check.value.unit)) != dimension(unit):
            message = f"{check.value} is {one_of(of)}, and the limit of this check {one_of(dimension(unit))}"
            notes.error(("checks", i, "value"), message, f"in {unit}, as the sheet has it")
    for i, hold in enumerate(assembly.hold_points):
        if not any(step.called(hold.what) for step in holds.values()):
            notes.misspelt(("hold_points", i, "what"), hold.what, holds)
    groups = {*engine.fasteners, *checks, *holds, *engine.parts, *engine.features}
    for key, deviation in assembly.deviations.items():
        notes.misspelt(("deviations", key, "about"), deviation.about, groups)


def check_running(running: Running, notes: Notes, built: date | None) -> None:
    """First start after assembly, times, due days, warranty."""
    start, warranty = running.first_start, running.warranty
    if start and built and start.date < built:
        notes.warn(("first_start", "date"), f"{start.date} lies before the engine was together ({built})")
    notes.measured(running, "priming.pressure", "pressure", "2.5 bar")
    notes.measured(running, "first_start.pressure_after", "time", "4 s")
    for i, task in enumerate(running.due):
        if not task.at and task.by is None:
            notes.warn(("due", i), f"'{task.what}' does not say when it is due", "add 'at: 50 h'", key=True)
    if warranty and warranty.until and warranty.until < warranty.from_:
        notes.error(("warranty", "until"), f"ends before it begins ({warranty.from_})")


def last_day(assembly: Assembly | None) -> date | None:
    """The newest signature of the assembly."""
    if assembly is None:
        return None
    lists = (assembly.tightened, assembly.hold_points, assembly.checks, assembly.marks)
    days = [entry.date for entries in lists for entry in entries]
    return max([*days, *(page.date for page in assembly.pages.values())], default=None)


def as_found(notes: Notes, where: Where, bolts: AsFound, group: Fastener) -> None:
    """Not more bolts, and no other places, than the group has."""
    if bolts.quantity is not None and bolts.quantity > group.quantity:
        message = f"{bolts.quantity} bolts of a group of {group.quantity}"
        notes.error((*where, "quantity"), message, f"at most {group.quantity}")
    _places(notes, (*where, "readings"), bolts.readings, group)
    read = sum(len(text.split()) for text in bolts.readings.values())
    if read > group.quantity >= len(bolts.readings):
        message = f"{read} breakaway readings of a group of {group.quantity}"
        notes.error((*where, "readings"), message, "one for each bolt", key=True)


def tightened(notes: Notes, where: Where, tight: Tightened, group: Fastener) -> None:
    """Places that the group has, and stretch as measured that is near what the stages make."""
    _places(notes, (*where, "stretch"), tight.stretch, group)
    _places(notes, (*where, "reached"), tight.reached, group)
    expected = expected_stretch(group)
    if expected is None:
        return
    for place, read in tight.stretch.items():
        share = read.to("mm") / expected[0]
        if share and abs(share - 1.0) > expected[1]:
            about = f"{read.value / share:.{max(read.decimals, 2)}f} {read.unit}"
            message = f"{read} of stretch is {100.0 * share:.0f} % of the {about} that the stages make"
            hint = "measure again, or a deviation about them with 'accepts: stretch'"
            notes.warn((*where, "stretch", place), message, hint)


def _places(notes: Notes, where: Where, places: Iterable[str], group: Fastener) -> None:
    """A number beyond the last bolt is none of them; R12 of eight bolts hardly is."""
    for place in places:
        match = re.fullmatch(r"([A-Za-z]*)\s*(\d+)", place)
        if match is None or 1 <= int(match[2]) <= group.quantity:
            continue
        message = f"'{place}' is no bolt of a group of {group.quantity}"
        hint = f"{match[1]}1 to {match[1]}{group.quantity}"
        notes.add((*where, place), message, hint, "warning" if match[1] else "error", key=True)
