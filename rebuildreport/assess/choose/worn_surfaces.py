"""Journals or bores that are machined together, laid out for choosing their size.

In: the workbench.  Out: `WornSurfaces`, with what each place has lost, and the steps and rules of the sheet.
Must not know: which step is taken, and how that is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from functools import cached_property

from msgspec import Struct

from ...quantities import Figure, Sentence, Text, message
from ...records.files.jobfile import DecisionRecord
from ...records.files.sheet import FeatureRecord
from ...records.files.sizes import same_size, size_step, sized, step_in_mm, steps_of
from ...trade.choosing.steps import Rules, SizeStep, Worn
from ...trade.kinds import KINDS
from ...trade.measuring import form
from ...trade.measuring.form import largest, smallest
from ...trade.measuring.uncertainty import ZERO, Measured
from .workbench import Readings, Workbench


def worn_surfaces(bench: Workbench) -> Iterator[WornSurfaces]:
    """Every set of journals or bores with steps on the sheet; cylinders with a sleeve of their own apart."""
    for name, sheet in bench.engine.features.items():
        if {"journal": sheet.undersizes, "bore": sheet.oversizes}.get(sheet.kind):
            found = bench.job.written_teardown.sizes_as_found if sheet.sleeve_oversizes else ()
            own = [size for size in found if size.feature == name and size.sleeved]
            sleeved = [place for size in own for place in size.positions]
            for those in (False, True):
                places = [place for place in sheet.positions if (place in sleeved) is those]
                if places:
                    yield WornSurfaces(bench, name, sheet, places, those)


class WornSurfaces(Struct, dict=True):
    """One set of journals or bores that are machined together."""

    bench: Workbench
    name: str
    sheet: FeatureRecord
    positions: list[str]
    sleeved: bool = False  # each has a sleeve of its own, which can be bored to other steps than the block

    @property
    def bore(self) -> bool:
        return self.sheet.kind == "bore"

    @property
    def instead(self) -> Text:
        """What there is where no step serves."""
        return Sentence("a sleeve") if self.bore else Sentence("another crank")

    @property
    def side(self) -> str:
        return "oversize" if self.bore else "undersize"

    def named(self, step: SizeStep) -> Text:
        """A step with the side that it lies on."""
        return sized(f"{step.name} {self.side}")

    # ------------------------------------------------------------ what was decided

    @cached_property
    def decision(self) -> str:
        """The decision to machine them, '' where there is none."""
        return self.bench.decision(self.name, do=("recondition",), at=self.positions)

    @cached_property
    def decided(self) -> DecisionRecord | None:
        return self.bench.job.decisions.get(self.decision)

    @property
    def until(self) -> date | None:
        """The day on which somebody decided: what was read later is its result."""
        return self.decided.date if self.decided else None

    def is_decided(self, step: SizeStep) -> bool:
        """Whether a step is the one that was decided, however it was typed."""
        typed = size_step(self.decided.size) if self.decided else None
        return typed is not None and typed.side == self.side and abs(abs(typed.mm) - step.size) < 1e-6

    # ------------------------------------------------------------ what is known

    @cached_property
    def condemned(self) -> bool:
        """Whether any place is or was beyond a limit that is its own, and not that of its fit."""
        beyond = self.bench.beyond(self.name, ever=True)
        return any(not (c.again and self.bench.by_fit(c)) for c in beyond if c.position in self.positions)

    @property
    def asked_for(self) -> bool:
        """Whether any place is beyond a limit or scored, or somebody decided to machine it."""
        scored = any(worn.score.value > 0 for worn in self.worn)
        return bool(self.decision) or scored or self.condemned

    @property
    def proved(self) -> bool:
        """Whether every one of them was read since it was machined, and is as a new one is."""
        read = {
            c.position: c.verdict == "as new"
            for c in self.bench.found
            if c.feature == self.name and c.name in ("largest", "smallest") and c.stands and not c.again
        }
        return bool(read) and all(read.get(position) for position in self.positions)

    @cached_property
    def worn(self) -> list[Worn]:
        """Every place that was read, with what it has lost."""
        read = self.bench.as_found(self.name)
        places = [place for place in self.positions if form.sizes(read.get(place, {}))]
        return [self._worn_at(place, read[place]) for place in places]

    def _worn_at(self, position: str, columns: Mapping[str, Measured]) -> Worn:
        sizes = list(form.sizes(columns).values())
        walls, fillets = form.beside(columns, "wall"), form.beside(columns, "fillet")
        return Worn(
            position,
            largest(sizes) if self.bore else smallest(sizes),
            largest(form.beside(columns, "score_depth") or [ZERO]),
            self.runouts.get(position, self.runouts.get("", ZERO)),
            smallest(walls) if walls else None,
            smallest(fillets) if fillets else None,
            abs(step_in_mm(self.bench.timeline.size_as_found(self.name, position))),
        )

    @property
    def unread(self) -> list[str]:
        """Places of which nobody read a size."""
        read = {worn.position for worn in self.worn}
        return [position for position in self.positions if position not in read]

    @property
    def partly(self) -> list[str]:
        """Places of which fewer sizes were read than the sheet has columns for."""
        wanted = [column for column in self.sheet.columns if form.is_size(column)]
        read = self.bench.as_found(self.name)
        return [worn.position for worn in self.worn if len(form.sizes(read[worn.position])) < len(wanted)]

    def scored(self, position: str) -> bool:
        """Whether a depth of score was read there."""
        return bool(form.beside(self.bench.as_found(self.name).get(position, {}), "score_depth"))

    def _dial(self, feature: str) -> Readings:
        """What was read under an indicator before they were machined."""
        return self.bench.as_found(feature, self.until) if feature else {}

    @cached_property
    def shaft_runout(self) -> str:
        """A runout that was read of the same shaft, '' where there is none."""
        part = None if self.bore else self.sheet.part
        for name, sheet in self.bench.engine.features.items():
            if sheet.kind == "runout" and part and sheet.part == part and self._dial(name):
                return name
        return ""

    @cached_property
    def runout(self) -> str:
        """The feature with their runout, '' where it was not read: what the sheet names, else of the shaft.

        That of the shaft is theirs where it was read at them: crankpins turn about another axis.
        """
        if self.sheet.runout:
            return self.sheet.runout if self._dial(self.sheet.runout) else ""
        return self.shaft_runout if {*self._dial(self.shaft_runout)} & {*self.positions} else ""

    @cached_property
    def runouts(self) -> Mapping[str, Measured]:
        """Runout by position; where it was read at other places, the largest of them for all (key '')."""
        feature = self.runout
        if not feature:
            return {}
        readings = self._dial(feature)
        kind = KINDS[self.bench.engine.features[feature].kind]
        if "runout" in kind.traits:  # of the readings round a journal it is the largest less the smallest
            inputs = self.bench.workings.inputs_on(feature, lambda _: readings)
            read = {c.position: c.measured for c in kind.compute(inputs) if c.measured and c.name == "runout"}
        else:
            read = {position: largest(list(columns.values())) for position, columns in readings.items()}
        return {**read, "": largest(list(read.values()))} if read else {}

    # ------------------------------------------------------------ what the sheet asks for

    @cached_property
    def rules(self) -> Rules | None:
        """What the sheet asks for; None where it has no two limits of a new one."""
        sheet, mm = self.sheet, self.bench.mm
        low, high = self.bench.ends(sheet.new.get("size"), sheet)
        if low is None or high is None:
            return None
        side = sheet.wear_side or ("one" if self.bore else "all_round")
        return Rules(
            new=(low, high),
            allowance=mm(sheet.cleanup_stock, sheet) or 0.0,
            one_sided=side == "one",
            smallest=mm(sheet.smallest, sheet),
            largest=mm(sheet.largest, sheet),
            hardened=mm(sheet.hardened, sheet),
            hardened_left=mm(sheet.hardened_left, sheet) or 0.0,
            wall_left=mm(sheet.wall_left, sheet),
            fillet=self.bench.ends(sheet.fillet, sheet)[0],
        )

    @cached_property
    def steps(self) -> list[SizeStep]:
        """The sheet's steps; a set that the sheet lists tells which can be had."""
        sets, sheet = self._sets(), self.sheet
        what = Sentence("pistons") if self.bore else Sentence("shells")
        words = message("no {what} for {name} on the sheet")
        found = []
        bored = (self.sleeved and sheet.sleeve_oversizes) or sheet.oversizes
        for name, size in steps_of(bored if self.bore else sheet.undersizes):
            numbers = [number for key, number in sets if same_size(key, name)]
            why_not = Sentence(words, what=what, name=Figure(name))
            found.append(SizeStep(name, size, not sets or bool(numbers), max(numbers, default=""), why_not))
        return found

    def _sets(self) -> list[tuple[str, str]]:
        """Steps that parts can be had for, each with its set, '' where they come by halves."""
        sets = [*self.sheet.sets.items()]
        for name in self.bench.engine.shells_on(self.name):
            shells = self.bench.engine.features[name]
            sets += [*shells.sets.items(), *((other.for_, "") for other in shells.other.values())]
        return sets
