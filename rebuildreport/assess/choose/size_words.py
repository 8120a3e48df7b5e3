"""The choice of an undersize or oversize in words: why this step, what else there was, what follows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ...quantities import Figure, Measure, Sentence, Text, as_printed, convert, present
from ...records.checks.choosecheck import halves_of
from ...trade.choosing import steps
from ...trade.choosing.steps import Rules, SizeChoice, Trial, Worn
from ...trade.engine import cylinders
from ...trade.engine.bearings import BUSH
from ...trade.measuring import form
from ...trade.measuring.form import largest
from ..measure.timeline import sized
from ..measure.titles import feature_title
from ..model.choice import Candidate
from ..telling.questions import span
from .consequences import of_throw
from .journal_grinding import carries_rods
from .workbench import Workbench, at_least, both, one

if TYPE_CHECKING:
    from .size_choice import _Sizes


def _swept(bench: Workbench, volume: float) -> Text:
    """A displacement [cm³]; in a shop of inches it is known by its cubic inches."""
    if bench.shop.first_unit == "mm":
        return Measure(volume, "cm³", 0)
    return as_printed(Measure(convert(volume, "cm³", "in³"), "in³", 1), bench.shop.first_unit)


FIT = {"yes": "cleans up", "no": "leaves too little", "too close": "too close to call"}


# whether a score was read where it is tightest, and whether anything is needed beside it
SMALLEST = {
    (True, True): "The smallest step at which every one of them cleans up: {governing} decides, with "
    "{stock} to take off its diameter under its deepest score where {needed} is needed.",
    (True, False): "The smallest step at which every one of them cleans up: {governing} decides, with "
    "{stock} to take off its diameter under its deepest score.",
    (False, True): "The smallest step at which every one of them cleans up: {governing} decides, with "
    "{stock} to take off its diameter where {needed} is needed.",
    (False, False): "The smallest step at which every one of them cleans up: {governing} decides, with "
    "{stock} to take off its diameter.",
}


def candidate(of: _Sizes, trial: Trial, made: Trial | None) -> Candidate:
    note = present(
        [
            Sentence(
                "{governing}: {stock} to take off, {needed} needed",
                governing=trial.governing,
                stock=one(of.bench, trial.stock),
                needed=one(of.bench, trial.needed),
            )
            if trial.needed
            else Sentence(
                "{governing}: {stock} to take off",
                governing=trial.governing,
                stock=one(of.bench, trial.stock),
            ),
            *trial.against,
            *(
                [Sentence("{wall_left} mm of wall left", wall_left=Figure(f"{trial.wall_left:.2f}"))]
                if trial.wall_left is not None
                else []
            ),
        ]
    )
    return Candidate(
        trial.step.name,
        trial.band[0],
        trial.band[1],
        round(trial.stock, 6),
        FIT[trial.cleans_up],
        note,
        trial is made,
    )


def why(of: _Sizes, tried: SizeChoice, taken: str = "", alone: Sequence[str] = ()) -> Text:
    """Why this step; ``taken``: what somebody decided instead; ``alone``: as in ``clearance_alone``."""
    chosen = tried.chosen
    if chosen is None:
        return clearance_alone(alone)
    wanted = sized(f"{chosen.step.name} {of.word}")
    said: list[str] = [clearance_alone(alone)] if alone else []
    said += (
        [
            Sentence(
                "{size} was decided; from the readings {wanted} follows.", size=sized(taken), wanted=wanted
            )
        ]
        if taken
        else []
    )
    said.append(
        Sentence(
            SMALLEST[_scored(of, chosen.governing), bool(chosen.needed)],
            governing=chosen.governing,
            stock=both(of.bench, chosen.stock),
            needed=one(of.bench, chosen.needed),
        )
    )
    before = tried.trials[: tried.trials.index(chosen)]
    if before:
        last = before[-1]
        reason = (
            last.against[0]
            if last.against and last.cleans_up == "yes"
            else Sentence(
                "leaves {stock} at {governing}",
                stock=one(of.bench, last.stock),
                governing=last.governing,
            )
        )
        said.append(Sentence("At {step}: {reason}.", step=Figure(last.step.name), reason=reason))
    return present(said, " ")


def _scored(of: _Sizes, position: str) -> bool:
    """Whether a depth of score was read there."""
    return bool(form.beside(of.bench.as_found(of.name).get(position, {}), "score_depth"))


def unweighed(of: _Sizes) -> list[str]:
    """What the step rests on as if it were nothing, because nobody read it."""
    said: list[str] = []
    if not any(_scored(of, position) for position in of.bench.as_found(of.name)):
        said.append(Sentence("no depth of a score was read: taken as none"))
    if not of.bore and not (of.sheet.runout and of.bench.as_found(of.sheet.runout)):
        said.append(Sentence("runout about the grinding axis not read: taken as none"))
    return said


def clearance_alone(places: Sequence[str]) -> Text:
    """Said of journals that would do, where no shells take their clearance up."""
    if not places:
        return ""
    return Sentence(
        "{places}: no limit of the journal's own is passed; the clearance alone is beyond its limit, and "
        "even the thickest shells for the size that it has do not take it up.",
        places=span(places),
    )


def alternative(of: _Sizes, tried: SizeChoice, rules: Rules, worn: list[Worn]) -> Text:
    """The next step that serves, and what the other assumption on the wear would ask for."""
    said = [sleeves(of, tried, rules, worn)] if of.bore and not tried.chosen else []
    if tried.chosen and not tried.next_one:
        said.append(Sentence("no other step of the sheet serves, else {instead}", instead=of.instead))
    if tried.next_one:
        said.append(
            Sentence(
                "{size} would serve, too, and leaves less for another time",
                size=sized(f"{tried.next_one.step.name} {of.word}"),
            )
        )
    if tried.chosen:
        margin = tried.chosen.stock_other_way - tried.chosen.needed
        if margin < 0 and not rules.one_sided:
            said.append(
                Sentence(
                    "taken as all on one side of the old axis, the wear would leave "
                    "{stock_other_way}: the grinder must set up on the wear",
                    stock_other_way=one(of.bench, tried.chosen.stock_other_way),
                )
            )
    if rules.one_sided and tried.trials:
        centred = steps.choose_size(
            worn, of.steps(), replace(rules, one_sided=False), of.bore, of.bench.guarded
        )
        if centred.chosen and (not tried.chosen or centred.chosen.step.size < tried.chosen.step.size):
            said.append(
                Sentence(
                    "{size}, if the machinist sets up on the wear and not on the old axis",
                    size=sized(f"{centred.chosen.step.name} {of.word}"),
                )
            )
    return present(filter(None, said))


def sleeves(of: _Sizes, tried: SizeChoice, rules: Rules, worn: list[Worn]) -> Text:
    """Where no oversize serves them all: the cylinders that need a sleeve, and the size of the others."""
    found = [
        (steps.left_behind(worn, trial.step, rules, True, of.bench.guarded), trial.step)
        for trial in tried.trials
        if trial.step.obtainable
    ]
    found = [(left, step) for left, step in found if len(left) < len(worn)]
    if not found:
        return ""
    left, step = min(found, key=lambda pair: (len(pair[0]), pair[1].size))
    return Sentence(
        "a sleeve in {places} alone, and {name} for the others", places=span(left), name=Figure(step.name)
    )


def against(of: _Sizes, tried: SizeChoice) -> list[str]:
    title = feature_title(of.bench.engine, of.name)
    return [
        f"{title}, {trial.step.name}: "
        + (
            present(trial.against)
            if trial.against and trial.cleans_up == "yes"
            else Sentence(
                "leaves {stock} at {governing}, {needed} needed",
                stock=one(of.bench, trial.stock),
                governing=trial.governing,
                needed=one(of.bench, trial.needed),
            )
        )
        for trial in tried.trials
    ]


def follows(of: _Sizes, chosen: Trial | None) -> list[str]:
    """What else the size changes."""
    if chosen is None:
        return []
    said: list[str] = []
    layout = of.bench.engine.layout
    if not of.bore:
        said += running_on(of)
        said.append(
            Sentence(
                "compression ratio, piston protrusion and timing stay as they are while the "
                "throw is held: {until}",
                until=of_throw(of.bench, of.until()),
            )
            if carries_rods(of.bench, of.name, of.sheet)
            else Sentence(
                "the crank's axis stays where it is: compression ratio, protrusion and timing with it"
            )
        )
    elif layout.bore and layout.stroke and layout.cylinders:
        bore, stroke = layout.bore.to("mm"), layout.stroke.to("mm")
        before = cylinders.displacement(bore, stroke, layout.cylinders)
        after = cylinders.displacement(bore + chosen.step.size, stroke, layout.cylinders)
        said.append(
            Sentence(
                "displacement {before} to {after} when every cylinder is bored",
                before=_swept(of.bench, before),
                after=_swept(of.bench, after),
            )
        )
        said.append(Sentence("protrusion is that of the new pistons: measure it before the gasket is bought"))
    if of.bore and of.sheet.wall_left is None and of.sheet.oversizes:
        said.append(Sentence("wall of the cylinders not weighed: its least is not on file"))
    said += unweighed(of)
    said += corners(of, chosen) if not of.bore else []
    if of.bore:
        said.append(Sentence("pistons and rings of this size, cylinder by cylinder; their masses as a set"))
    if not of.bore and of.bench.timeline.size(of.name, chosen.governing, date.min):
        said.append(Sentence("machined before: the step is counted from standard, not from what is there"))
    return said


def running_on(of: _Sizes) -> list[str]:
    """What follows for what runs on ground journals: shells, their codes, or a bearing made to the size."""
    features = of.bench.engine.features
    fits = [fit for fit in features.values() if of.name in (fit.journal, fit.inner)]
    shells = [features[fit.shells] for fit in fits if fit.shells in features]
    if any(one.codes for one in shells):
        return [Sentence("stamped codes of these journals tell nothing any more; shells follow the size")]
    if shells:
        bush = any(halves_of(one) == BUSH for one in shells)
        return [Sentence("bushes follow the size") if bush else Sentence("shells follow the size")]
    if any(fit.kind == "running_fit" for fit in fits):
        return [Sentence("their bearings are bored to the journals as ground")]
    return []


def corners(of: _Sizes, chosen: Trial) -> list[str]:
    """Hardened layer and fillets, as far as they could be weighed."""
    sheet = of.sheet
    said: list[str] = []
    if sheet.hardened is None:
        said.append(
            Sentence("hardened layer not weighed: its depth is not on file; hardness is read after grinding")
        )
    else:
        new = of.bench.ends(sheet.new.get("size"), sheet)
        depth, middle = of.bench.mm(sheet.hardened, sheet) or 0.0, sum(end or 0.0 for end in new) / 2.0
        left = one(of.bench, steps.hardened_left(depth, middle, chosen.aim), 2)
        least = of.bench.mm(sheet.hardened_left, sheet)
        said.append(
            Sentence("{left} of the hardened layer stay", left=left)
            if least is None
            else Sentence(
                "{left} of the hardened layer stay, {least} must",
                left=left,
                least=at_least(of.bench, least),
            )
        )
    low, high = of.bench.ends(sheet.fillet, sheet)
    if low is None:
        return said
    read = {
        position: fillets
        for position, columns in of.bench.as_found(of.name).items()
        if (fillets := form.beside(columns, "fillet"))
    }
    unread = [position for position in sheet.positions or [] if position not in read]
    if unread:
        said.append(Sentence("fillets of {places} not measured, and not weighed", places=span(unread)))
    wide = [p for p, ones in read.items() if high is not None and largest(ones).value > high + 1e-9]
    if wide:
        said.append(
            Sentence(
                "fillets of {places} are wider than {high}: to be cut back, or bearings ride on them",
                places=span(wide),
                high=one(of.bench, high or 0.0, 1),
            )
        )
    return said
