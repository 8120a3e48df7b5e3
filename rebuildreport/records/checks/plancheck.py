"""Whether the sheet's fasteners, pages of the build sheet and first start agree with themselves."""

from __future__ import annotations

from ...quantities import english
from ...trade.engine.cautions import CAUTIONS
from ...trade.tightening.sequence import OrderError, layout, order, typed
from ...trade.tightening.threads import strength, thread
from ..files.boltgroups import REUSED, disagreement, likely_factor, reused_at_yield, settled, stage_doubts
from ..files.buildplan import VERBS, BuildStep, Fastener, Stage
from ..files.sheet import Engine
from ..text.notes import Notes
from ..text.reader import Where
from ..text.validate import near
from .vocabulary import Vocabulary


def check_plan(engine: Engine, notes: Notes) -> None:
    """Fasteners with their stages, assemblies with their steps, first start."""
    for name, group in engine.fasteners.items():
        where: Where = ("fasteners", name)
        if group.reuse == "by_measure" and not group.measure:
            notes.error((*where, "reuse"), "by_measure needs the feature that decides", "add 'measure: ...'")
        _bolt(notes, where, group)
        _places(notes, where, group, engine.layout.cylinders)
        for i, stage in enumerate(group.stages):
            _stage(notes, (*where, "stages", i), stage, first=i == 0)
        _slips(notes, where, group)
    _assemblies(notes, engine)
    notes.measured(engine, "first_start.pressure_within", "time", "10 s")


def _bolt(notes: Notes, where: Where, group: Fastener) -> None:
    known = notes.read((*where, "thread"), thread, group.thread) if group.thread else None
    if group.class_ and (known or not group.thread):
        size = known or thread("M10")  # some classes are of some sizes only; without one of a usual size
        notes.read((*where, "class"), lambda text: strength(text, size), group.class_)
    if group.nut_factor and not likely_factor(group.nut_factor):
        message = f"a torque factor of {group.nut_factor} is none: it is a bare number, mostly 0.1 to 0.3"
        notes.error((*where, "nut_factor"), message, "0.18")
    for longer, shorter in (("length", "clamped"), ("clamped", "shank"), ("length", "shank")):
        whole, part = getattr(group, longer), getattr(group, shorter)
        if whole and part and part.to("mm") > whole.to("mm"):
            notes.warn((*where, shorter), f"{shorter} {part} is more than {longer} {whole}")
            break
    if group.stages and not group.source:
        notes.warn(where, "stages without a source: nobody can check them", "add 'source: ...'", key=True)


def _fits(places: int, group: Fastener, cylinders: int) -> bool:
    """Whether so many places are those of all its bolts, or of each of several heads or banks alike.

    >>> class Bolts: quantity = 20
    >>> _fits(20, Bolts, 8), _fits(10, Bolts, 8), _fits(9, Bolts, 8), _fits(4, Bolts, 8)
    (True, True, False, False)
    """
    if places == group.quantity or not places:
        return places > 0
    alike, left = divmod(group.quantity, places)
    return not left and alike > 1 and cylinders > 0 and cylinders % alike == 0


def _places(notes: Notes, where: Where, group: Fastener, cylinders: int) -> None:
    numbers = notes.read((*where, "sequence"), typed, group.sequence, key=True) if group.sequence else None
    if numbers is not None and not _fits(len(numbers), group, cylinders):
        message = f"{len(numbers)} numbers in the sequence, {group.quantity} bolts in the group"
        notes.warn((*where, "sequence"), message, key=True)
    if not group.layout:
        return
    places = notes.read((*where, "layout"), layout, group.layout)
    if places is None:
        return
    if not _fits(len(places.places), group, cylinders):
        message = f"{len(places.places)} places in the layout, {group.quantity} bolts in the group"
        notes.warn((*where, "layout"), message)
    if group.order and not group.sequence:
        try:
            order(places, group.order)
        except OrderError as problem:
            notes.warn((*where, "order"), f"{problem}: no drawing of it", f"known: {problem.suggestion}")


def _stage(notes: Notes, where: Where, stage: Stage, first: bool) -> None:
    given = [key for key in ("torque", "angle", "stretch") if getattr(stage, key) is not None]
    for key, unit in (("torque", "N·m"), ("angle", "deg")):
        if key in given:
            notes.unit((*where, key), getattr(stage, key).unit, unit)
    if len(given) != 1:
        message = f"a stage is one torque, angle or stretch, not {' and '.join(given) or 'nothing'}"
        notes.error(where, message, "one dash a stage", key=True)
        return
    if stage.also and stage.torque is None:
        notes.error((*where, "also"), "a second unit belongs to a torque")
        return
    if stage.also and not notes.measures((*where, "also"), stage.also, "torque", "as in 25 lbf·ft"):
        return
    if message := disagreement(stage):
        hint = "name the one that counts and where it stands: 'use: N·m' and 'source: ...'"
        notes.warn((*where, "also"), f"{message}: neither is printed until a source is named", hint)
    elif stage.use and settled(stage) is None:
        notes.warn((*where, "use"), f"'{stage.use}' settles nothing", "a unit of the two, and 'source:' too")
    if first and given == ["angle"]:
        message = "an angle first: nobody knows where it begins"
        notes.warn(where, message, "a torque comes before it", key=True)


def _slips(notes: Notes, where: Where, group: Fastener) -> None:
    """Stages that would pull the bolts past what they stand, and bolts used again after yield."""
    for doubt in stage_doubts(group):
        if disagreement(group.stages[doubt.index]):
            continue  # told of already, and not printed
        hint = f"{doubt.meant}?" if doubt.meant else ""
        notes.warn((*where, "stages", doubt.index, doubt.key), f"{english(doubt.what)}: typed right?", hint)
    if reused_at_yield(group):
        notes.warn((*where, "reuse"), english(REUSED), "never, or by_measure")


def _assemblies(notes: Notes, engine: Engine) -> None:
    checks: set[str] = set()
    for page, assembly in engine.assemblies.items():
        for i, step in enumerate(assembly.steps):
            where: Where = ("assemblies", page, "steps", i)
            verbs = [verb for verb in VERBS if getattr(step, verb)]
            if len(verbs) != 1:
                what = " and ".join(verbs) if verbs else "none of them"
                notes.error(where, f"a step is one of {', '.join(VERBS)}, and here is {what}", key=True)
                continue
            _build_step(notes, where, step, engine)
            if step.verb in ("check", "hold"):
                if step.name in checks:
                    notes.error((*where, step.verb), f"'{step.name}' stands twice: each needs its own name")
                checks.add(step.name)


def _build_step(notes: Notes, where: Where, step: BuildStep, engine: Engine) -> None:
    place = (*where, step.verb)
    if step.verb == "tighten":
        notes.known(place, step.name, engine.fasteners, "none of this sheet's fasteners")
    elif step.verb == "measure":
        notes.known(place, step.name, engine.features, "no feature of this sheet")
    elif step.verb == "fit":
        notes.misspelt(place, step.name, Vocabulary(engine).fitted)
    known = not step.caution or step.caution.strip().rstrip(".").lower() in CAUTIONS
    # a lone word is meant as one of ours, a sentence as the sheet's own
    if not known and (hint := near(step.caution, CAUTIONS, 0.8 if " " in step.caution else 0.6)):
        message = f"'{step.caution}' is no caution that we know: it is printed as it stands"
        notes.warn((*where, "caution"), message, hint)
    if step.limit and step.verb != "check":
        notes.warn((*where, "limit"), "a limit belongs to a check; a feature brings its own", key=True)
    for end in step.limit.ends if step.limit else ():
        if not end.unit:
            notes.error((*where, "limit"), f"{end.text} has no unit", f"max {end.text} N·m")
