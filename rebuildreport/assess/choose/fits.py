"""Which piston in which bore, which bush on which pin, and which rod with which piston.

In: the workbench.  Out: choices of what comes in classes or is put together by mass.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Figure, Sentence, Text, Typed, message, present
from ...records.checks.choosecheck import bands_in
from ...records.files.choosing import Matching
from ...records.files.sheet import FeatureRecord
from ...records.files.sizes import STANDARD, key_of, same_size, sized, step_in_mm
from ...trade.choosing import assignment
from ...trade.choosing.selection import Piece, Plan, SelectionOption, Supply, choose, most_places
from ...trade.choosing.shells import STEP
from ...trade.engine import bearings, cylinders
from ...trade.measuring.uncertainty import DoubtSource, Measured, rectangular
from ...trade.measuring.verdict import DUST, Ends, inside, reach
from ..measure.judging import source_text
from ..measure.titles import feature_title, span, titled
from ..model.choice import Buy, Candidate, Choice, Fitness, Place, Status
from .workbench import Columns, Workbench, how_settled, lengths

BUSHED = "running_fit"
OUTSIDE = ("too tight", "too large", "too close to call")
# of pistons, of bushes
UNFINISHED = message(
    ("its bore is not finished, or not measured", "what runs in it is not finished, or not measured")
)


def piston_choices(bench: Workbench) -> list[Choice]:
    """One choice for each fit of which one part comes in classes, where a new one is needed.

    Of a piston's fit that is the inner part, by its skirt; of a running fit the
    outer one, a whole bush, by its bore when it is in place.
    """
    features = bench.engine.features
    made = []
    for key, fit in bench.engine.of_kind("fit", BUSHED).items():
        name, partner = (fit.outer, fit.inner) if fit.kind == BUSHED else (fit.inner, fit.outer)
        if name and features[name].classes:
            made.append(_Classes(bench, key, fit, name, partner))
    return [classes.choice() for classes in made if classes.positions]


class _Classes(Struct, dict=True):
    """Parts that come in classes, of one fit: pistons, or the bushes of a running fit."""

    bench: Workbench
    fit_name: str
    fit: FeatureRecord
    name: str
    partner: str

    @property
    def sheet(self) -> FeatureRecord:
        return self.bench.engine.features[self.name]

    @property
    def bushed(self) -> bool:
        return self.fit.kind == BUSHED

    def _limits(self, position: str) -> tuple[Ends, Ends]:
        """New limits, and those with the wear limits."""
        return self.bench.new_and_wide(self.fit, position)

    def _target(self, position: str) -> float:
        return self.bench.aim(self.fit.target, self.fit, self._limits(position)[0])

    @cached_property
    def positions(self) -> list[str]:
        """Places that need another one: decided, condemned, or beyond the limit of its clearance."""
        bench = self.bench
        if bench.on_paper:
            return list(bench.override.get(self.name, {}))
        part = self.sheet.part
        about = {self.name, part or self.name}
        every = self.sheet.positions
        beyond = {c.position for c in bench.beyond(self.fit_name, ever=True) if c.end != "low"}
        wanted = bench.replaced(about, every) | (beyond - bench.decided_at(about, "reuse", every))
        return [position for position in every if position in wanted]

    @cached_property
    def machined(self) -> set[str]:
        """Places where the partner is no more as it was: what goes in is new, and nothing is used again."""
        state = self.bench.timeline.state
        return {position for position in self.positions if not state(self.partner, position, date.max).used}

    @cached_property
    def bores(self) -> Mapping[str, Columns]:
        """What they run in, by position; of a bush the pins that run in it."""
        return self.bench.now(self.partner)

    # ------------------------------------------------------------ what would fit

    @cached_property
    def tried(self) -> dict[str, list[Candidate]]:
        """Everything that could go in at each place, and what it would give there."""
        tried = {}
        for position in self.positions:
            new, wide = self._limits(position)
            limits = new, new if position in self.machined else wide
            bore = self.bores.get(position, {})
            offered = self._offered(position)
            tried[position] = [self._tried(name, size, bore, *limits) for name, size in offered.items()]
        return tried

    @cached_property
    def good(self) -> dict[str, list[Candidate]]:
        """What surely fits: inside the new limits before inside the wear limit."""
        good = {}
        for position, tried in self.tried.items():
            ranks = [[c for c in tried if c.fitness == f] for f in ("inside", "inside the wear limit")]
            if position in self.bores and any(ranks):
                good[position] = ranks[0] or ranks[1]
        return good

    def _offered(self, position: str) -> dict[str, Measured]:
        """What could go in: pistons measured on paper, else every class by its band."""
        read = self.bench.override.get(self.name, {}).get(position, {})
        if read:
            return {self.bench.on_paper: next(iter(read.values()))}
        unit = self.sheet.unit or "mm"
        scale, step = quantities.factor(unit, "mm"), step_in_mm(self._size(position))
        source = DoubtSource("class band", f"{self.name} {position}")
        return {
            label: Measured(
                round((low + high) / 2.0 * scale + step, 9), {source: rectangular((high - low) / 2.0 * scale)}
            )
            for label, (low, high) in bands_in(self.sheet.classes, unit).items()
        }

    def _size(self, position: str) -> str:
        """The step that what they run in has, '' for standard: they come in the same classes at each."""
        return self.bench.timeline.size(self.partner, position, date.max)

    def _piece(self, position: str, label: str) -> Piece:
        size = key_of(self._size(position))
        return Piece("", label, "" if size == STANDARD else size)

    def _number(self, piece: Piece) -> str:
        """The part of a class, at its size; where the sheet lists one for a size whatever its class, that."""
        of_class = self.sheet.numbers.get(piece, "")
        if of_class or not piece.family:
            return of_class
        sets = {**self.bench.engine.features[self.partner].sets, **self.sheet.sets}
        return next((part for key, part in sets.items() if same_size(key, piece.family)), "")

    def _supply(self, piece: Piece) -> Supply:
        if piece.family:
            return Supply()  # what lies on the shelf by its class is of the standard size
        return self.bench.supply(self.name, "count", piece.grade, self._number(piece))

    def _clearance(self, size: Measured, bore: Columns) -> tuple[Measured, Measured] | None:
        """Smallest and largest clearance that a size would give."""
        if self.bushed:
            return bearings.running_clearance({"class": size}, bore) if bore else None
        clearance = cylinders.piston_clearance(bore, size, self.fit.direction or "t") if bore else None
        return (clearance.smallest, clearance.largest) if clearance else None

    def _tried(self, label: str, size: Measured, bore: Columns, new: Ends, wide: Ends) -> Candidate:
        clearance = self._clearance(size, bore)
        if clearance is None:
            return Candidate(Typed(label), grades=(label,))
        low, high = clearance
        guard = max(*reach(low, self.bench.guarded), *reach(high, self.bench.guarded))
        fitness: Fitness = "too close to call"
        if self._inside(clearance, guard, new):
            fitness = "inside"
        elif self._inside(clearance, guard, wide):
            fitness = "inside the wear limit"
        elif wide[0] is not None and low.value < wide[0] - guard - DUST:
            fitness = "too tight"
        elif wide[1] is not None and high.value > wide[1] + guard + DUST:
            fitness = "too large"
        middle = (low.value + high.value) / 2.0
        return Candidate(Typed(label), low.value, high.value, middle, fitness, grades=(label,))

    def _inside(self, clearance: tuple[Measured, Measured], guard: float, limits: Ends) -> bool:
        return all(inside(end.value, guard, limits) for end in clearance)

    @cached_property
    def plan(self) -> Plan | None:
        """The nearest to the target everywhere; where the shelf does not go round, in as many as it can."""
        options: dict[str, list[SelectionOption]] = {}
        for position, good in self.good.items():
            target = self._target(position)
            offs = [(c.grades[0], abs((c.middle or 0.0) - target)) for c in good]
            pieces = [((self._piece(position, grade),), round(off / STEP)) for grade, off in offs]
            options[position] = [SelectionOption(*one) for one in pieces]
        parts = {part for ways in options.values() for option in ways for part in option.parts}
        supplies = {piece: self._supply(piece) for piece in parts}
        return (choose(options, supplies) or most_places(options, supplies)) if options else None

    # ------------------------------------------------------------ the choice

    def choice(self) -> Choice:
        """The choice, with a place for every part that is needed."""
        bench = self.bench
        made = [self._place(position) for position in self.positions]
        impossible = [self._impossible(place.position) for place in made if place.status == "none fits"]
        words = message(
            "the pin or journal of {position}" if self.bushed else "the finished bore of {position}"
        )
        decides = [Sentence(words, position=p.position) for p in made if p.status == "provisional"]
        # the decision that says which class goes where; what is bought and said follows it
        decision = bench.decision(self.name, do=("replace",))
        fitted = bench.job.decisions[decision].fit if decision else {}
        decision = decision if fitted else ""
        taken = {place.position: tuple(fitted.get(place.position) or place.grades) for place in made}
        where: dict[Piece, list[str]] = {}
        for position, grades in taken.items():
            if grades:
                where.setdefault(self._piece(position, grades[0]), []).append(position)
        buys = () if bench.on_paper else tuple(self._buy(piece, places) for piece, places in where.items())
        new, wide = self._limits(self.positions[0])
        return Choice(
            name=self.name,
            kind="bushes" if self.bushed else "pistons",
            title=feature_title(bench.engine, self.name),
            status=self._status(how_settled(bool(impossible), bool(decides)), made, taken, decision),
            answer=self._answer(where),
            target=self._target(self.positions[0]),
            limits=new if self.machined == set(self.positions) else wide,
            why=self._why(made),
            places=tuple(made),
            buy=buys,
            lacking=tuple(position for position, grades in taken.items() if not grades),
            decision=decision,
            cost=bench.spent(buys),
            outlay=bench.outlay(buys),
            impossible=tuple(impossible),
            decides=tuple(decides),
            on_paper=bench.on_paper,
            source=source_text(bench.engine, self.fit.source),
            off=round(self.plan.off * STEP, 6) if self.plan else None,
        )

    def _status(
        self, status: Status, made: list[Place], taken: Mapping[str, Sequence[str]], decision: str
    ) -> Status:
        if not decision or status != "chosen":
            return status
        same = all(tuple(taken[place.position]) == place.grades for place in made)
        return "decided" if same else "decided otherwise"

    def _place(self, position: str) -> Place:
        if self.plan and position in self.plan.chosen:
            return self._filled(position, self.good[position][self.plan.chosen[position]])
        read = [] if self.bench.on_paper else self.bench.proved(self.fit_name, self.name, position)
        if read and self.tried[position]:  # it is in: what it gives is known, whatever the band of its class
            gives = sum((one.value or 0.0) * quantities.factor(one.unit, "mm") for one in read) / len(read)
            picked = min(self.tried[position], key=lambda one: abs((one.middle or 0.0) - gives))
            return self._filled(position, replace(picked, fitness="inside"))
        if position in self.bores:
            return Place(position, "none fits", candidates=tuple(self.tried[position]))
        return Place(position, "provisional", note=Sentence(UNFINISHED[self.bushed]))

    def _filled(self, position: str, picked: Candidate) -> Place:
        words = message("inside the wear limit of a bore used again")
        if self.bushed:
            words = message("inside the wear limit only")
        return Place(
            position,
            "chosen",
            picked.name,
            picked.grades,
            low=picked.low,
            high=picked.high,
            middle=picked.middle,
            candidates=tuple(replace(c, chosen=c is picked) for c in self.tried[position]),
            note=NOTHING if picked.fitness == "inside" else Sentence(words),
        )

    def _buy(self, piece: Piece, places: list[str]) -> Buy:
        part, shelf = self._number(piece), self._supply(piece).shelf
        what = Sentence("class {label}", label=piece.grade)
        if piece.family:
            what = Sentence("class {label}, {size}", label=piece.grade, size=sized(self._size(places[0])))
        return Buy(part, what, len(places), min(len(places), shelf), tuple(places), self.bench.pack(part))

    # ------------------------------------------------------------ in words

    def _answer(self, where: Mapping[Piece, list[str]]) -> Text:
        words = message("class {label} in {places}")
        said: list[Text] = []
        for (_, label, _), places in where.items():
            in_engine = [Sentence(words, label=label, places=span(places))]
            said += [Typed(label)] * len(places) if self.bench.on_paper else in_engine
        return present(said) or Sentence("Nothing can be chosen yet")

    def _impossible(self, position: str) -> Text:
        words = message("{title} {position}: no class gives a clearance that is surely inside its limits")
        if position in self.good:
            words = message("{title} {position}: no class that fits is to be had beside those of the others")
        title = feature_title(self.bench.engine, self.name)
        return Sentence(words, title=title, position=position)

    def _why(self, made: list[Place]) -> Text:
        said: list[Text] = []
        for place in made:
            if place.low is None or place.high is None:
                continue
            words = message("{position}: {answer} gives {reach} over the stroke, in the thrust direction")
            if self.bushed:
                words = message("{position}: {answer} gives {reach}")
            reach = lengths(self.bench, place.low, place.high)
            gives = Sentence(words, position=place.position, answer=place.answer, reach=reach)
            would = []
            for c in (c for c in place.candidates if c.fitness in OUTSIDE):
                reach = lengths(self.bench, c.low or 0.0, c.high or 0.0)
                other = message("{name} would be {fitness} ({reach})")
                would.append(Sentence(other, name=c.name, fitness=Sentence(c.fitness), reach=reach))
            said.append(Sentence("{what}.", what=present([gives, *would])))
        return present(said, " ")


# ---------------------------------------------------------------- masses


def mass_choices(bench: Workbench) -> list[Choice]:
    """Rods and pistons put together by mass, where both were weighed."""
    if bench.on_paper:
        return []
    made = [_masses(bench, name, matching) for name, matching in bench.engine.matching.items()]
    return [choice for choice in made if choice is not None]


def _grams(bench: Workbench, feature: str) -> dict[str, float]:
    """Masses by position; a rod weighed at both ends is as heavy as they are together."""
    grams = {}
    for position, columns in bench.now(feature).items():
        ends = [columns[end] for end in ("big", "small") if end in columns]
        if position not in bench.engine.features[feature].positions:
            continue
        if len(ends) == 2:
            grams[position] = (ends[0] + ends[1]).value
        elif not ends:
            grams[position] = next(iter(columns.values())).value
    return grams


def _masses(bench: Workbench, name: str, matching: Matching) -> Choice | None:
    weighed, pistons = _grams(bench, matching.rods), _grams(bench, matching.pistons)
    if not weighed or not pistons:
        return None
    spread = matching.within.to("g") if matching.within.unit else matching.within.value
    matched = assignment.match(weighed, pistons, spread)
    if matched is None:
        return None
    every = bench.engine.features[matching.rods].positions
    unread = [position for position in every if position not in weighed]
    off = Sentence("nothing to take off")
    if matched.removed:
        off = Sentence("{removed} g to take off in all", removed=Figure(f"{matched.removed:.1f}"))
    pairs = [Sentence("{rod} with {piston}", rod=rod, piston=piston) for rod, piston in matched.pairs.items()]
    places = []
    for rod in weighed:
        less = Sentence("take off {remove} g", remove=Figure(f"{matched.remove[rod]:.1f}"))
        note = less if matched.remove[rod] else NOTHING
        piston = Typed(matched.pairs[rod])
        places.append(Place(rod, "chosen", piston, middle=matched.totals[rod], note=note))
    words = message("Of all pairings the one that needs the least taken off for sums within {spread} g.")
    return Choice(
        name=name,
        kind="masses",
        title=titled(name),
        status="provisional" if unread else "chosen",
        answer=Sentence("{pairs}: {off}", pairs=present(pairs), off=off),
        unit="g",
        decimals=1,
        why=Sentence(words, spread=Figure(f"{spread:g}")),
        places=tuple(places),
        decides=(Sentence("the mass of {places}", places=span(unread)),) if unread else (),
        source=source_text(bench.engine, matching.source),
    )
