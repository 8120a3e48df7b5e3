"""The choice of an undersize or oversize as it is told: why this step, what else there was, what follows.

In: worn surfaces laid out, and the steps tried on them.  Out: messages.  Decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Figure, Measure, Sentence, Text, as_printed, convert, message, present
from ...records.checks.choosecheck import halves_of
from ...records.files.sizes import sized
from ...trade.choosing import steps
from ...trade.choosing.steps import Rules, SizeChoice, SizeStep, Trial
from ...trade.engine import cylinders
from ...trade.engine.bearings import BUSH
from ...trade.measuring import form
from ...trade.measuring.form import largest
from ..measure.titles import feature_title, span
from ..model.choice import Candidate, Fitness
from ..telling.filing import carries_rods
from .consequences import of_throw
from .workbench import Workbench, at_least, length, with_partner
from .worn_surfaces import WornSurfaces

FITNESS: dict[str, Fitness] = {
    "yes": "cleans up",
    "no": "leaves too little",
    "too close": "too close to call",
}
# whether a score was read where it is tightest, and whether anything is needed beside it
SMALLEST = message(
    {
        (True, True): "The smallest step that cleans up: {governing} decides, with "
        "{stock} to take off its diameter under its deepest score where {needed} is needed.",
        (True, False): "The smallest step that cleans up: {governing} decides, with "
        "{stock} to take off its diameter under its deepest score.",
        (False, True): "The smallest step that cleans up: {governing} decides, with "
        "{stock} to take off its diameter where {needed} is needed.",
        (False, False): "The smallest step that cleans up: {governing} decides, with "
        "{stock} to take off its diameter.",
    }
)


def candidate(surfaces: WornSurfaces, trial: Trial, made: Trial | None) -> Candidate:
    """A step that was tried, with where it is tightest."""
    words = message("{governing}: {stock} to take off")
    if trial.needed:
        words = message("{governing}: {stock} to take off, {needed} needed")
    said: list[Text] = [Sentence(words, **_at_tightest(surfaces, trial)), *trial.against]
    if trial.wall_left is not None:
        said.append(Sentence("{wall_left} mm of wall left", wall_left=Figure(f"{trial.wall_left:.2f}")))
    return Candidate(
        Figure(trial.step.name),
        trial.band[0],
        trial.band[1],
        round(trial.stock, 6),
        FITNESS[trial.cleans_up],
        present(said),
        trial is made,
    )


def _at_tightest(surfaces: WornSurfaces, trial: Trial) -> dict[str, Text | str]:
    """What a message may say of the place where a step has the least to take off."""
    bench = surfaces.bench
    stock, needed = length(bench, trial.stock), length(bench, trial.needed)
    return {"governing": trial.governing, "stock": stock, "needed": needed}


def _left(surfaces: WornSurfaces, trial: Trial, words: str) -> Text:
    """What a step leaves at its tightest place; where nothing is left, how much it is short of."""
    if trial.stock < 0:
        short = length(surfaces.bench, -trial.stock)
        return Sentence("{short} too little at {governing}", short=short, governing=trial.governing)
    return Sentence(words, **_at_tightest(surfaces, trial))


def why(surfaces: WornSurfaces, tried: SizeChoice, instead: bool, alone: Sequence[str]) -> Text:
    """Why this step; ``instead``: another was decided; ``alone``: places with too large a clearance only."""
    chosen = tried.chosen
    said: list[Text] = []
    if alone:
        words = message(
            "{places}: no limit of the journal's own is passed; the clearance alone is beyond its limit, and "
            "even the thickest shells for the size that it has do not take it up."
        )
        said.append(Sentence(words, places=span(alone)))
    if chosen is None:
        return present(said)
    if instead and surfaces.decided:
        words = message("{size} was decided; from the readings {wanted} follows.")
        size = sized(surfaces.decided.size)
        said.append(Sentence(words, size=size, wanted=surfaces.named(chosen.step)))
    smallest = SMALLEST[surfaces.scored(chosen.governing), bool(chosen.needed)]
    stock, needed = with_partner(surfaces.bench, chosen.stock), length(surfaces.bench, chosen.needed)
    said.append(Sentence(smallest, governing=chosen.governing, stock=stock, needed=needed))
    before = tried.trials[: tried.trials.index(chosen)]
    if before:
        last = before[-1]
        reason = _left(surfaces, last, message("leaves {stock} at {governing}"))
        if last.against and last.cleans_up == "yes":
            reason = last.against[0]
        said.append(Sentence("At {step}: {reason}.", step=Figure(last.step.name), reason=reason))
    return present(said, " ")


def answer(surfaces: WornSurfaces, step: Text) -> Text:
    """The step that is taken, else that none of the sheet serves."""
    if step:
        return step
    words = message("No {word} of the sheet serves: {instead}")
    return Sentence(words, word=Sentence(surfaces.side), instead=surfaces.instead)


def alternative(surfaces: WornSurfaces, tried: SizeChoice, rules: Rules) -> Text:
    """The next step that serves, and what the other assumption on the wear would ask for."""
    said: list[Text] = []
    if tried.chosen is None:
        said += [_sleeves(surfaces, tried, rules)] if surfaces.bore else []
    elif tried.next_one is None:
        said.append(Sentence("no other step of the sheet serves, else {instead}", instead=surfaces.instead))
    if tried.next_one:
        words = message("{size} would serve, too, and leaves less for another time")
        said.append(Sentence(words, size=surfaces.named(tried.next_one.step)))
    if tried.chosen and not rules.one_sided and tried.chosen.other_way != "yes":
        words = message(
            "taken as all on one side of the old axis, the wear would leave "
            "{stock_other_way}, which does not surely clean up: the grinder must set up on the wear"
        )
        left = length(surfaces.bench, tried.chosen.stock_other_way)
        said.append(Sentence(words, stock_other_way=left))
    if rules.one_sided and (smaller := _centred(surfaces, tried, rules)):
        words = message("{size}, if the machinist sets up on the wear and not on the old axis")
        said.append(Sentence(words, size=surfaces.named(smaller)))
    return present(filter(None, said))


def _centred(surfaces: WornSurfaces, tried: SizeChoice, rules: Rules) -> SizeStep | None:
    """A smaller step that would serve if the machinist set up on the wear."""
    both_sides = replace(rules, one_sided=False)
    guarded = surfaces.bench.guarded
    centred = steps.choose_size(surfaces.worn, surfaces.steps, both_sides, surfaces.bore, guarded).chosen
    if centred is None or (tried.chosen and centred.step.size >= tried.chosen.step.size):
        return None
    return centred.step


def _sleeves(surfaces: WornSurfaces, tried: SizeChoice, rules: Rules) -> Text:
    """Where no oversize serves them all: the cylinders that need a sleeve, and the size of the others."""
    worn, guarded = surfaces.worn, surfaces.bench.guarded
    best: tuple[list[str], SizeStep] | None = None
    for step in (trial.step for trial in tried.trials if trial.step.obtainable):
        left = steps.left_behind(worn, step, rules, True, guarded)
        # the fewest sleeves, and of steps that leave as many the smallest: they are tried in that order
        if len(left) < len(worn) and (best is None or len(left) < len(best[0])):
            best = left, step
    if best is None:
        return NOTHING
    words = message("a sleeve in {places} alone, and {name} for the others")
    return Sentence(words, places=span(best[0]), name=Figure(best[1].name))


def against(surfaces: WornSurfaces, tried: SizeChoice) -> list[Text]:
    """Why no step serves, step by step."""
    title = feature_title(surfaces.bench.engine, surfaces.name)
    said: list[Text] = []
    if tried.chosen:
        return said
    for trial in tried.trials:
        reason = _left(surfaces, trial, message("leaves {stock} at {governing}, {needed} needed"))
        if trial.against and trial.cleans_up == "yes":
            reason = present(trial.against)
        step = Figure(trial.step.name)
        said.append(Sentence("{title}, {step}: {reason}", title=title, step=step, reason=reason))
    return said


def closer(surfaces: WornSurfaces, trial: Trial) -> Text:
    """Said of a smaller step that a closer reading may save."""
    words = message(
        "a closer reading of {governing}: {name} leaves {stock} there, {needed} needed, too close to call"
    )
    return Sentence(words, name=Figure(trial.step.name), **_at_tightest(surfaces, trial))


# ---------------------------------------------------------------- what follows


def follows(surfaces: WornSurfaces, chosen: Trial | None) -> list[Text]:
    """What else the size changes."""
    if chosen is None:
        return []
    return _of_bores(surfaces, chosen) if surfaces.bore else _of_journals(surfaces, chosen)


def _of_bores(surfaces: WornSurfaces, chosen: Trial) -> list[Text]:
    said: list[Text] = []
    bench = surfaces.bench
    layout = bench.engine.layout
    if layout.bore and layout.stroke and layout.cylinders:
        bore, stroke = layout.bore.to("mm"), layout.stroke.to("mm")
        before = cylinders.displacement(bore, stroke, layout.cylinders)
        after = cylinders.displacement(bore + chosen.step.size, stroke, layout.cylinders)
        words = message("displacement {before} to {after} when every cylinder is bored")
        if layout.cylinders == 1:
            words = message("displacement {before} to {after}")
        said.append(Sentence(words, before=_swept(bench, before), after=_swept(bench, after)))
        if any(
            bench.engine.features[one.by].kind == "piston_protrusion" for one in bench.engine.choices.values()
        ):
            words = message("protrusion is that of the new pistons: measure it before the gasket is bought")
            said.append(Sentence(words))
    if surfaces.sheet.wall_left is None:
        said.append(Sentence("wall of the cylinders not weighed: its least is not on file"))
    said += _scores_unread(surfaces)
    words = message("pistons and rings of this size, cylinder by cylinder; their masses as a set")
    said.append(Sentence(message("piston and rings of this size") if layout.cylinders == 1 else words))
    return said


def _of_journals(surfaces: WornSurfaces, chosen: Trial) -> list[Text]:
    bench = surfaces.bench
    said = _running_on(surfaces)
    rods = carries_rods(bench.engine, surfaces.name)
    if rods:
        words = message(
            "compression ratio, piston protrusion and timing stay as they are while the "
            "throw is held: {until}"
        )
        said.append(Sentence(words, until=of_throw(bench, surfaces.until)))
    elif rods is not None:
        words = message(
            "the crank's axis stays where it is: compression ratio, protrusion and timing with it"
        )
        said.append(Sentence(words))
    said += _scores_unread(surfaces)
    if surfaces.rules and not surfaces.rules.one_sided:
        said.append(Sentence("wear taken as all round: on which side it lies was not read"))
    said += [*_runout(surfaces), _hardened(surfaces, chosen), *_fillets(surfaces)]
    if bench.timeline.size_as_found(surfaces.name, chosen.governing):
        said.append(Sentence("machined before: the step is counted from standard, not from what is there"))
    return said


def _swept(bench: Workbench, volume: float) -> Text:
    """A displacement [cm³]; in a shop of inches it is known by its cubic inches."""
    if bench.shop.first_unit == "mm":
        return Measure(volume, "cm³", 0)
    return as_printed(Measure(convert(volume, "cm³", "in³"), "in³", 1), bench.shop.first_unit)


def _scores_unread(surfaces: WornSurfaces) -> list[Text]:
    """Said where the step rests on scores as if there were none, because nobody read any."""
    if any(surfaces.scored(position) for position in surfaces.bench.as_found(surfaces.name)):
        return []
    return [Sentence("no depth of a score was read: taken as none")]


def _runout(surfaces: WornSurfaces) -> list[Text]:
    """What was taken for their runout where the sheet names none, or nobody read it."""
    engine = surfaces.bench.engine
    if surfaces.runout:
        title = feature_title(engine, surfaces.runout)
        words = message("runout about the grinding axis: that of the shaft as read ({what})")
        return [] if surfaces.sheet.runout else [Sentence(words, what=title)]
    if surfaces.shaft_runout:
        title = feature_title(engine, surfaces.shaft_runout)
        words = message(
            "runout about their own axis not read, only that of the shaft ({what}): taken as none"
        )
        return [Sentence(words, what=title)]
    return [Sentence("runout about the grinding axis not read: taken as none")]


def _running_on(surfaces: WornSurfaces) -> list[Text]:
    """What follows for what runs on ground journals: shells, their codes, or a bearing made to the size."""
    features = surfaces.bench.engine.features
    fits = [fit for fit in features.values() if surfaces.name in (fit.journal, fit.inner)]
    shells = [features[name] for name in surfaces.bench.engine.shells_on(surfaces.name)]
    if any(sheet.codes for sheet in shells):
        return [Sentence("stamped codes of these journals tell nothing any more; shells follow the size")]
    if any(halves_of(sheet) == BUSH for sheet in shells):
        return [Sentence("bushes follow the size")]
    if shells:
        return [Sentence("shells follow the size")]
    if any(fit.kind == "running_fit" for fit in fits):
        return [Sentence("their bearings are bored to the journals as ground")]
    return []


def _hardened(surfaces: WornSurfaces, chosen: Trial) -> Text:
    """What stays of the hardened layer, as far as it could be weighed."""
    bench, sheet = surfaces.bench, surfaces.sheet
    depth, least = bench.mm(sheet.hardened, sheet), bench.mm(sheet.hardened_left, sheet)
    if depth is None:
        return Sentence(
            "hardened layer not weighed: its depth is not on file; hardness is read after grinding"
        )
    middle = sum(end or 0.0 for end in bench.ends(sheet.new.get("size"), sheet)) / 2.0
    left = length(bench, steps.hardened_left(depth, middle, chosen.aim), 2)
    if least is None:
        return Sentence("{left} of the hardened layer stay", left=left)
    words = message("{left} of the hardened layer stay, {least} must")
    return Sentence(words, left=left, least=at_least(bench, least))


def _fillets(surfaces: WornSurfaces) -> list[Text]:
    """Fillets, as far as they could be weighed."""
    bench, sheet = surfaces.bench, surfaces.sheet
    low, high = bench.ends(sheet.fillet, sheet)
    if low is None:
        return []
    read = {
        position: fillets
        for position, columns in bench.as_found(surfaces.name).items()
        if (fillets := form.beside(columns, "fillet"))
    }
    said: list[Text] = []
    if unread := [position for position in surfaces.positions if position not in read]:
        said.append(Sentence("fillets of {places} not measured, and not weighed", places=span(unread)))
    wide = [place for place, radii in read.items() if high is not None and largest(radii).value > high + 1e-9]
    if wide:
        words = message("fillets of {places} are wider than {high}: to be cut back, or bearings ride on them")
        said.append(Sentence(words, places=span(wide), high=length(bench, high or 0.0, 1)))
    return said
