"""Which undersize or oversize: the steps tried, why, and what follows from it before anybody decides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from ...quantities import Figure, Sentence, Text
from ...records.files.sheet import FeatureRecord
from ...records.files.sizes import steps_of
from ...trade.choosing import steps
from ...trade.choosing.steps import Rules, SizeStep, Trial, Worn
from ...trade.kinds import KINDS
from ...trade.measuring import form
from ...trade.measuring.form import largest, smallest
from ...trade.measuring.uncertainty import ZERO, Measured
from ..measure.judging import source_text
from ..measure.timeline import sized, step_in_mm
from ..measure.titles import feature_title
from ..model.choice import Buy, Choice, Effect, Status
from ..telling.questions import span
from . import size_words
from .consequences import of_bore
from .journal_grinding import polish
from .shell_choice import beyond_all_shells
from .workbench import Workbench, one


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
    sheet: FeatureRecord

    @property
    def bore(self) -> bool:
        return self.sheet.kind == "bore"

    @property
    def instead(self) -> Text:
        return Sentence("a sleeve") if self.bore else Sentence("another crank")

    @property
    def word(self) -> str:
        return "oversize" if self.bore else "undersize"

    def choice(self) -> Choice | None:
        """The choice, or None where nothing asks for a size."""
        low, high = self.bench.ends(self.sheet.new.get("size"), self.sheet)
        worn = self._worn()
        if low is None or high is None or not worn:
            return None
        asked = self._asked(worn)
        # where the journals would do, and only their clearance does not, shells come first
        alone = [] if self.bore or self._beyond() else beyond_all_shells(self.bench, self.name)
        if not asked and not alone:
            return None
        decided = self.bench.decision(self.name, do=("recondition",))
        stays = not (self.bore or self._beyond() or alone or decided)
        if stays and (polished := polish(self.bench, self.name, self.sheet, worn)) is not None:
            return polished
        rules = self._rules((low, high))
        tried = steps.choose_size(worn, self.steps(), rules, self.bore, self.bench.guarded)
        unread = [p for p in self.sheet.positions or [] if p not in {one.position for one in worn}]
        bare = [one.position for one in worn if one.wall is None] if rules.wall_left is not None else []
        decision = self.bench.decision(self.name, do=("recondition",))
        work = self.bench.job.work
        taken = work.decisions[decision].size or "" if work and decision else ""
        wanted = f"{tried.chosen.step.name} {self.word}" if tried.chosen else ""
        status: Status = "chosen" if tried.chosen else "none fits"
        # what follows is that of the size that is made, whoever chose it
        made = next((one for one in tried.trials if f"{one.step.name} {self.word}" == taken), tried.chosen)
        if taken:
            status = "decided" if taken == wanted or self._proved() else "decided otherwise"
        elif (unread or bare) and tried.chosen:
            status = "provisional"
        decides = (
            [Sentence("{places} not measured: may ask for the next step", places=span(unread))]
            if unread
            else []
        )
        if bare:
            decides.append(
                Sentence(
                    "wall of {places} not measured: it may allow no oversize, and ask for a sleeve",
                    places=span(bare),
                )
            )
        if tried.maybe and not taken:
            at = tried.maybe
            decides.append(
                Sentence(
                    "a closer reading of {governing}: {name} leaves {stock} there, {needed} needed, "
                    "too close to call",
                    governing=at.governing,
                    name=Figure(at.step.name),
                    stock=one(self.bench, at.stock),
                    needed=one(self.bench, at.needed),
                )
            )
        return Choice(
            name=self.name,
            kind="oversize" if self.bore else "undersize",
            title=feature_title(self.bench.engine, self.name),
            status=status,
            answer=sized(taken or wanted)
            or Sentence(
                "No {word} of the sheet serves: {instead}", word=Sentence(self.word), instead=self.instead
            ),
            why=size_words.why(self, tried, taken if taken != wanted else "", alone),
            alternative=size_words.alternative(self, tried, rules, worn),
            steps=tuple(size_words.candidate(self, trial, made) for trial in tried.trials),
            impossible=() if tried.chosen else tuple(size_words.against(self, tried)),
            decides=tuple(decides),
            cost=self.bench.spent(self._parts(made)),
            alternative_cost=self.bench.spent(self._parts(tried.next_one)),
            work=self.bench.work_on(self.sheet.part, decision) if taken else (),
            follows=tuple(size_words.follows(self, made)),
            effects=self._effects(made),
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
                    largest(form.beside(columns, "score_depth") or [ZERO]),
                    runouts.get(position, runouts.get("", ZERO)),
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
        return any(
            c.feature == self.name and c.verdict == "beyond limit" and not (c.again and self.bench.by_fit(c))
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

    def steps(self) -> list[SizeStep]:
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
            SizeStep(
                name,
                size,
                not known or name in sets or name in others,
                sets.get(name, ""),
                Sentence("no {what} for {name} on the sheet", what=Sentence(what), name=Figure(name)),
            )
            for name, size in steps_of(text)
        ]

    def _proved(self) -> bool:
        """Whether every one of them was read since it was machined, and is as a new one is."""
        read = {
            c.position: c.verdict == "as new"
            for c in self.bench.found
            if c.feature == self.name and c.name in ("largest", "smallest") and c.stands and not c.again
        }
        return bool(read) and all(read.get(position) for position in self.sheet.positions or [])

    def _parts(self, trial: Trial | None) -> tuple[Buy, ...]:
        """What is bought for a step: a set, or a piston for each bore."""
        if trial is None or not trial.step.parts:
            return ()
        sheet = self.bench.engine.parts.get(trial.step.parts)
        each = self.bore and sheet is not None and sheet.per != "engine"
        count = len(self.sheet.positions or []) if each else 1
        return (Buy(trial.step.parts, trial.step.name, count),)

    def until(self) -> date | None:
        """The day on which somebody decided: what was read later is its result."""
        decision = self.bench.decision(self.name, do=("recondition",))
        work = self.bench.job.work
        return work.decisions[decision].date if work and decision else None

    def _effects(self, chosen: Trial | None) -> tuple[Effect, ...]:
        """What an oversize does to the compression ratio."""
        layout = self.bench.engine.layout
        if chosen is None or not self.bore or not layout.stroke:
            return ()
        return tuple(of_bore(self.bench, self.name, chosen.step.size, chosen.band, self.until()))
