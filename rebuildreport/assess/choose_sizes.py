"""Which undersize or oversize: the steps tried, why, and what follows from it before anybody decides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from ..quantities.dataclass import dataclass
from ..records.choosing import steps_of
from ..records.engine import Feature
from ..trade import cylinders, form, steps
from ..trade.form import largest, smallest
from ..trade.kinds import KINDS
from ..trade.metrology import Measured
from ..trade.steps import Rules, SizeChoice, Step, Trial, Worn
from .characteristics import feature_title
from .choice_model import Buy, Candidate, Choice, Effect, Status
from .consequences import of_bore, of_throw
from .ground import carries_rods, polish
from .judging import source_text
from .questions import span
from .timeline import step_in_mm
from .workbench import Workbench, both, one

FIT = {"yes": "cleans up", "no": "leaves too little", "too close": "too close to call"}


def size_choices(bench: Workbench) -> list[Choice]:
    """One choice for each set of journals or bores with steps on the sheet, where a size is asked for."""
    if bench.on_paper:
        return []
    found = []
    for name, sheet in bench.engine.features.items():
        if (sheet.kind == "journal" and sheet.undersizes) or (sheet.kind == "bore" and sheet.oversizes):
            choice = _Sizes(bench, name, sheet).choice()
            if choice is not None:
                found.append(choice)
    return found


@dataclass
class _Sizes:
    """Works out one set of journals or bores that are machined together."""

    bench: Workbench
    name: str
    sheet: Feature

    @property
    def bore(self) -> bool:
        return self.sheet.kind == "bore"

    @property
    def instead(self) -> str:
        return "a sleeve" if self.bore else "another crank"

    @property
    def word(self) -> str:
        return "oversize" if self.bore else "undersize"

    def choice(self) -> Choice | None:
        """The choice, or None where nothing asks for a size."""
        low, high = self.bench.ends(self.sheet.new.get("size"), self.sheet)
        worn = self._worn()
        if low is None or high is None or not worn or not self._asked(worn):
            return None
        stays = not (self.bore or self._beyond() or self.bench.decision(self.name, do=("recondition",)))
        if stays and (polished := polish(self.bench, self.name, self.sheet, worn)) is not None:
            return polished
        rules = self._rules((low, high))
        tried = steps.choose_size(worn, self._steps(), rules, self.bore, self.bench.guarded)
        unread = [p for p in self.sheet.positions or [] if p not in {one.position for one in worn}]
        bare = [one.position for one in worn if one.wall is None] if rules.wall_left is not None else []
        decision = self.bench.decision(self.name, do=("recondition",))
        work = self.bench.job.work
        taken = work.decisions[decision].size or "" if work and decision else ""
        wanted = f"{tried.chosen.step.name} {self.word}" if tried.chosen else ""
        status: Status = "chosen" if tried.chosen else "none fits"
        if taken:
            status = "decided" if taken == wanted else "decided otherwise"
        elif (unread or bare) and tried.chosen:
            status = "provisional"
        decides = [f"{span(unread)} not measured: may ask for the next step"] if unread else []
        if bare:
            decides.append(
                f"wall of {span(bare)} not measured: it may allow no oversize, and ask for a sleeve"
            )
        if tried.maybe and not taken:
            at = tried.maybe
            decides.append(
                f"a closer reading of {at.governing}: {at.step.name} leaves "
                f"{one(self.bench, at.stock)} there, {one(self.bench, at.needed)} needed, too close to call"
            )
        return Choice(
            name=self.name,
            kind="oversize" if self.bore else "undersize",
            title=feature_title(self.bench.engine, self.name),
            status=status,
            answer=wanted or f"No {self.word} of the sheet serves: {self.instead}",
            why=self._why(tried),
            alternative=self._alternative(tried, rules, worn),
            steps=tuple(self._candidate(trial, tried) for trial in tried.trials),
            impossible=() if tried.chosen else tuple(self._against(tried)),
            decides=tuple(decides),
            cost=self.bench.spent(self._parts(tried.chosen)),
            alternative_cost=self.bench.spent(self._parts(tried.next_one)),
            work=self.bench.work_on(self.sheet.part, decision) if taken else (),
            follows=tuple(self._follows(tried.chosen)),
            effects=self._effects(tried.chosen),
            decision=decision if taken else "",
            part=self.sheet.part or "",
            source=source_text(self.bench.engine, self.sheet.source),
        )

    # ------------------------------------------------------------ what is known

    def _worn(self) -> list[Worn]:
        found = []
        runouts = self._runouts()
        for position, columns in self.bench.as_found(self.name).items():
            sizes = list(form.sizes(columns).values())
            if not sizes:
                continue
            found.append(
                Worn(
                    position,
                    largest(sizes) if self.bore else smallest(sizes),
                    largest(form.beside(columns, "score_depth") or [steps.NOTHING]),
                    runouts.get(position, runouts.get("", steps.NOTHING)),
                    smallest(walls) if (walls := form.beside(columns, "wall")) else None,
                    smallest(fillets) if (fillets := form.beside(columns, "fillet")) else None,
                    abs(step_in_mm(self.bench.timeline.size(self.name, position, date.min))),
                )
            )
        order = self.sheet.positions or []
        return sorted(found, key=lambda w: order.index(w.position) if w.position in order else len(order))

    def _runouts(self) -> Mapping[str, Measured]:
        """Runout by position; where it was read at other places, the largest of them for all (key '')."""
        feature = self.sheet.runout
        if not feature:
            return {}
        readings = self.bench.as_found(feature)
        kind = KINDS[self.bench.engine.features[feature].kind]
        if "runout" in kind.traits:  # of the readings round a journal it is the largest less the smallest
            inputs = self.bench.workings.inputs_on(feature, lambda _: readings)
            read = {c.position: c.measured for c in kind.compute(inputs) if c.measured and c.name == "runout"}
        else:
            read = {position: largest(list(columns.values())) for position, columns in readings.items()}
        if not read:
            return {}
        return {**read, "": largest(list(read.values()))}

    def _asked(self, worn: list[Worn]) -> bool:
        """Whether any place is beyond a limit or scored, or somebody decided to machine it."""
        if self.bench.decision(self.name, do=("recondition",)) or any(w.score.value > 0 for w in worn):
            return True
        return self._beyond()

    def _beyond(self) -> bool:
        see = (wear := self.sheet.wear.get("size")) is not None and bool(wear.see)
        return any(
            c.feature == self.name
            and c.verdict == "beyond limit"
            and not (see and c.name in ("largest", "smallest") and c.again)
            for c in self.bench.found
        )

    def _rules(self, new: tuple[float, float]) -> Rules:
        sheet, mm = self.sheet, self.bench.mm
        side = sheet.wear_side or ("one" if self.bore else "all_round")
        return Rules(
            new=new,
            allowance=mm(sheet.cleanup_stock, sheet) or 0.0,
            one_sided=side == "one",
            smallest=mm(sheet.smallest, sheet),
            largest=mm(sheet.largest, sheet),
            hardened=mm(sheet.hardened, sheet),
            hardened_left=mm(sheet.hardened_left, sheet) or 0.0,
            wall_left=mm(sheet.wall_left, sheet),
            fillet=self.bench.ends(sheet.fillet, sheet)[0],
        )

    def _steps(self) -> list[Step]:
        """The sheet's steps; a set that the sheet lists tells which can be had."""
        text = (self.sheet.oversizes if self.bore else self.sheet.undersizes) or ""
        teardown = self.bench.job.teardown
        sleeved = any(
            found.feature == self.name and found.sleeved
            for found in (teardown.sizes_as_found if teardown else [])
        )
        if sleeved and self.sheet.sleeve_oversizes:
            text = self.sheet.sleeve_oversizes
        sets = dict(self.sheet.sets)
        others: set[str] = set()
        for fit in self.bench.engine.features.values():
            shells = self.bench.engine.features.get(fit.shells or "")
            if fit.journal == self.name and shells is not None:
                sets |= shells.sets
                others |= {other.for_.removesuffix(f" {self.word}") for other in shells.other.values()}
        known = bool(sets or others)
        what = "pistons" if self.bore else "shells"
        return [
            Step(
                name,
                size,
                not known or name in sets or name in others,
                sets.get(name, ""),
                f"no {what} for {name} on the sheet",
            )
            for name, size in steps_of(text)
        ]

    def _parts(self, trial: Trial | None) -> tuple[Buy, ...]:
        """What is bought for a step: a set, or a piston for each bore."""
        if trial is None or not trial.step.parts:
            return ()
        sheet = self.bench.engine.parts.get(trial.step.parts)
        each = self.bore and sheet is not None and sheet.per != "engine"
        count = len(self.sheet.positions or []) if each else 1
        return (Buy(trial.step.parts, trial.step.name, count),)

    # ------------------------------------------------------------ in words

    def _candidate(self, trial: Trial, tried: SizeChoice) -> Candidate:
        note = "; ".join(
            [
                f"{trial.governing}: {one(self.bench, trial.stock)} to take off, "
                f"{one(self.bench, trial.needed)} needed",
                *trial.against,
                *([f"{trial.wall_left:.2f} mm of wall left"] if trial.wall_left is not None else []),
            ]
        )
        return Candidate(
            trial.step.name,
            trial.band[0],
            trial.band[1],
            round(trial.stock, 6),
            FIT[trial.cleans_up],
            note,
            trial is tried.chosen,
        )

    def _why(self, tried: SizeChoice) -> str:
        chosen = tried.chosen
        if chosen is None:
            return ""
        said = [
            f"The smallest step at which every one of them cleans up: {chosen.governing} decides, with "
            f"{both(self.bench, chosen.stock)} to take off its diameter under its deepest score where "
            f"{one(self.bench, chosen.needed)} is needed."
        ]
        before = tried.trials[: tried.trials.index(chosen)]
        if before:
            last = before[-1]
            reason = (
                last.against[0]
                if last.against and last.cleans_up == "yes"
                else f"leaves {one(self.bench, last.stock)} at {last.governing}"
            )
            said.append(f"At {last.step.name}: {reason}.")
        return " ".join(said)

    def _alternative(self, tried: SizeChoice, rules: Rules, worn: list[Worn]) -> str:
        """The next step that serves, and what the other assumption on the wear would ask for."""
        said = [self._sleeves(tried, rules, worn)] if self.bore and not tried.chosen else []
        if tried.chosen and not tried.next_one:
            said.append(f"no other step of the sheet serves, else {self.instead}")
        if tried.next_one:
            said.append(
                f"{tried.next_one.step.name} {self.word} would serve, too, and leaves less for another time"
            )
        if tried.chosen:
            margin = tried.chosen.stock_other_way - tried.chosen.needed
            if margin < 0 and not rules.one_sided:
                said.append(
                    f"taken as all on one side of the old axis, the wear would leave "
                    f"{one(self.bench, tried.chosen.stock_other_way)}: the grinder must set up on the wear"
                )
        if rules.one_sided and tried.trials:
            centred = steps.choose_size(
                worn, self._steps(), replace(rules, one_sided=False), self.bore, self.bench.guarded
            )
            if centred.chosen and (not tried.chosen or centred.chosen.step.size < tried.chosen.step.size):
                said.append(
                    f"{centred.chosen.step.name} {self.word}, if the machinist sets up on the wear and not "
                    "on the old axis"
                )
        return "; ".join(filter(None, said))

    def _sleeves(self, tried: SizeChoice, rules: Rules, worn: list[Worn]) -> str:
        """Where no oversize serves them all: the cylinders that need a sleeve, and the size of the others."""
        found = [
            (steps.left_behind(worn, trial.step, rules, True, self.bench.guarded), trial.step)
            for trial in tried.trials
            if trial.step.obtainable
        ]
        found = [(left, step) for left, step in found if len(left) < len(worn)]
        if not found:
            return ""
        left, step = min(found, key=lambda pair: (len(pair[0]), pair[1].size))
        return f"a sleeve in {span(left)} alone, and {step.name} for the others"

    def _against(self, tried: SizeChoice) -> list[str]:
        title = feature_title(self.bench.engine, self.name)
        return [
            f"{title}, {trial.step.name}: "
            + (
                "; ".join(trial.against)
                if trial.against and trial.cleans_up == "yes"
                else f"leaves {one(self.bench, trial.stock)} at {trial.governing}, "
                f"{one(self.bench, trial.needed)} needed"
            )
            for trial in tried.trials
        ]

    def _until(self) -> date | None:
        """The day on which somebody decided: what was read later is its result."""
        decision = self.bench.decision(self.name, do=("recondition",))
        work = self.bench.job.work
        return work.decisions[decision].date if work and decision else None

    def _effects(self, chosen: Trial | None) -> tuple[Effect, ...]:
        """What an oversize does to the compression ratio."""
        layout = self.bench.engine.layout
        if chosen is None or not self.bore or not layout.stroke:
            return ()
        return tuple(of_bore(self.bench, self.name, chosen.step.size, chosen.band, self._until()))

    def _follows(self, chosen: Trial | None) -> list[str]:
        """What else the size changes."""
        if chosen is None:
            return []
        said = []
        layout = self.bench.engine.layout
        if not self.bore:
            said.append("stamped codes of these journals tell nothing any more; shells follow the size")
            said.append(
                "compression ratio, piston protrusion and timing stay as they are while the throw is held"
                f": {of_throw(self.bench, self._until())}"
                if carries_rods(self.bench, self.name, self.sheet)
                else "the crank's axis stays where it is: compression ratio, protrusion and timing with it"
            )
        elif layout.bore and layout.stroke and layout.cylinders:
            bore, stroke = layout.bore.to("mm"), layout.stroke.to("mm")
            before = cylinders.displacement(bore, stroke, layout.cylinders)
            after = cylinders.displacement(bore + chosen.step.size, stroke, layout.cylinders)
            said.append(f"displacement {before:.0f} to {after:.0f} cm³ when every cylinder is bored")
            said.append("protrusion is that of the new pistons: measure it before the gasket is bought")
        if self.bore and self.sheet.wall_left is None and self.sheet.oversizes:
            said.append("wall of the cylinders not weighed: its least is not on file")
        said += self._corners(chosen) if not self.bore else []
        if self.bore:
            said.append("pistons and rings of this size, cylinder by cylinder; their masses as a set")
        if not self.bore and self.bench.timeline.size(self.name, chosen.governing, date.min):
            said.append("machined before: the step is counted from standard, not from what is there")
        return said

    def _corners(self, chosen: Trial) -> list[str]:
        """Hardened layer and fillets, as far as they could be weighed."""
        sheet, said = self.sheet, []
        if sheet.hardened is None:
            said.append(
                "hardened layer not weighed: its depth is not on file; hardness is read after grinding"
            )
        else:
            new = self.bench.ends(sheet.new.get("size"), sheet)
            depth, middle = self.bench.mm(sheet.hardened, sheet) or 0.0, sum(end or 0.0 for end in new) / 2.0
            left = one(self.bench, steps.hardened_left(depth, middle, chosen.aim), 2)
            least = self.bench.mm(sheet.hardened_left, sheet)
            said.append(
                f"{left} of the hardened layer stay"
                + (f", {one(self.bench, least, 2)} must" if least is not None else "")
            )
        low, high = self.bench.ends(sheet.fillet, sheet)
        if low is None:
            return said
        read = {
            position: fillets
            for position, columns in self.bench.as_found(self.name).items()
            if (fillets := form.beside(columns, "fillet"))
        }
        unread = [position for position in sheet.positions or [] if position not in read]
        if unread:
            said.append(f"fillets of {span(unread)} not measured, and not weighed")
        wide = [p for p, ones in read.items() if high is not None and largest(ones).value > high + 1e-9]
        if wide:
            said.append(
                f"fillets of {span(wide)} are wider than {one(self.bench, high or 0.0, 1)}: to be cut back, "
                "or shells ride on them"
            )
        return said
