"""Which shells: by the codes, from measurement, for the size that the journals have or will have."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from ... import quantities
from ...quantities import Sentence, Text, amid, present
from ...records.checks.choosecheck import bands_in, halves_of
from ...records.files.sheet import Engine, FeatureRecord
from ...trade.choosing import shells
from ...trade.choosing.selection import Plan, SelectionOption, Supply, choose
from ...trade.choosing.shells import Grade, Pair
from ...trade.engine import bearings
from ...trade.engine.bearings import Clearance, Walls
from ...trade.measuring.form import is_size, plane_and_direction
from ...trade.measuring.uncertainty import DoubtSource, Measured, rectangular
from ..measure.judging import source_text
from ..measure.timeline import step_in_mm
from ..measure.titles import feature_title
from ..model.choice import Candidate, Choice, Ends, Place, Status
from ..telling.questions import span
from . import shell_words
from .shell_codes import codes_at
from .workbench import Readings, Workbench

SHOWN = 5  # candidates listed for a bearing
BARE = Walls(Measured(0.0), Measured(0.0))
ORDERED = Sentence("journal as ordered, not as measured")


@dataclass
class Bearing:
    """What is known of one bearing when its shells are chosen."""

    position: str
    size: str  # step that the journal has or is ordered to
    family: str  # "" standard, else a key of other: or sets:
    grades: list[Grade] = field(default_factory=list)
    room: Clearance | None = None
    partly: str = ""  # what is missing or only ordered
    condemned: bool = False  # the journal cannot stay as it is, and nobody has said what becomes of it
    pairs: list[Pair] = field(default_factory=list)
    wide: bool = False  # only inside the wear limit
    again: bool = True  # the journal is used again as it is


def shell_choices(bench: Workbench) -> list[Choice]:
    """One choice for each bearing clearance whose shells the sheet tells apart."""
    found = []
    for name, fit in bench.engine.features.items():
        sheet = bench.engine.features.get(fit.shells or "")
        if fit.kind != "bearing_clearance" or sheet is None:
            continue
        if bench.on_paper and not {fit.journal, fit.housing, fit.shells} & set(bench.override):
            continue
        if sheet.grades or sheet.other or sheet.sets:
            choice = _Chooser(bench, name, fit, sheet).choice()
            if choice is not None:
                found.append(choice)
    return found


def beyond_all_shells(bench: Workbench, journal: str) -> list[str]:
    """Positions of a journal whose clearance alone is too large, with no shells that would take it up."""
    return [
        position
        for name, fit in bench.engine.features.items()
        if fit.kind == "bearing_clearance" and fit.journal == journal
        if (sheet := bench.engine.features.get(fit.shells or "")) is not None
        for position in _Chooser(bench, name, fit, sheet).beyond_all()
    ]


class _Chooser:
    """Works out one set of bearings."""

    def __init__(self, bench: Workbench, name: str, fit: FeatureRecord, sheet: FeatureRecord) -> None:
        self.bench, self.fit, self.sheet = bench, fit, sheet
        self.engine: Engine = bench.engine
        self.name, self.shells = name, fit.shells or ""
        self.journal, self.housing = fit.journal or "", fit.housing or ""
        self.limits: Ends = bench.ends(fit.new.get("clearance"), fit)
        wear = bench.ends(fit.wear.get("clearance"), fit)
        self.wide: Ends = (self.limits[0] if wear[0] is None else wear[0], wear[1] or self.limits[1])
        low, high = self.limits
        middle = (low + high) / 2.0 if low is not None and high is not None else low or high or 0.0
        target = bench.mm(fit.target, fit)
        self.target = round(middle if target is None else target, 6)
        self.positions = sheet.positions or []
        self.readings: dict[str, Readings] = {
            key: bench.now(key) for key in (self.journal, self.housing) if key
        }
        self.two = halves_of(sheet)
        self.bush = len(self.two) == 1  # one piece a bearing, on both sides of the journal
        self.priced = True  # every part that may be chosen has its price

    def beyond_all(self) -> list[str]:
        """Bearings whose journal stays, and that even the thickest shells surely leave too large."""
        made = [self._bearing(position) for position in self.positions]
        out = [one.position for one in made if one.room and one.grades and self.thickest(one) == "too large"]
        return [position for position in out if not self.housing_out(position)]

    def housing_out(self, position: str) -> bool:
        """Whether the housing is beyond its own limit there: then no grinding of the journal mends it."""
        return any(
            c.feature == self.housing and c.position == position and c.stands and c.verdict == "beyond limit"
            for c in self.bench.found
        )

    def thickest(self, bearing: Bearing) -> str:
        """What the thickest shells would make of a bearing, by the limits that decide there."""
        tried = self.tried(bearing.room, bearing.grades, self.limits_at(bearing)) if bearing.room else []
        return min(tried, key=lambda pair: pair.mean).fitness

    def waits(self, bearing: Bearing) -> bool:
        """Whether a journal that is only ordered may still come out so that something fits."""
        if bearing.partly != ORDERED or not bearing.room or not bearing.grades:
            return False
        tried = self.tried(bearing.room, bearing.grades, self.limits_at(bearing))
        return any(pair.fitness == "too close" for pair in tried)

    def limits_at(self, bearing: Bearing) -> Ends:
        return self.wide if bearing.again else self.limits

    def choice(self) -> Choice | None:
        """The choice, or None where there is nothing to choose by yet."""
        bearings_ = [self._bearing(position) for position in self.positions]
        codes = {p: codes_at(self, p) for p in self.positions}
        stamped = any(place.stamped for place in codes.values())
        if not any(b.room or b.condemned or b.size for b in bearings_) and not stamped:
            return None
        fitting = {b.position: b for b in bearings_ if b.pairs}
        places = {
            p: [shells.option(pair, self.target, self.two) for pair in b.pairs] for p, b in fitting.items()
        }
        supplies = self._supplies(places)
        plan = choose(places, supplies) if places else None
        out = [b for b in bearings_ if b.room and not b.pairs and not self.waits(b)]
        impossible = [shell_words.impossible(self, b) for b in out]
        if places and plan is None:
            impossible += shell_words.short(places, supplies)
        second = choose(places, supplies, plan) if plan else None
        made = [self._place(b, codes[b.position], plan, places, supplies) for b in bearings_]
        decision = self.bench.decision(self.shells, do=("replace",))
        if not decision and any(b.size for b in bearings_):
            decision = self.bench.decision(self.journal, do=("recondition",))
        return self._whole(bearings_, made, plan, second, places, supplies, impossible, decision)

    # ------------------------------------------------------------ what is known

    def _bearing(self, position: str) -> Bearing:
        own = self.journal not in self.bench.override
        size = self.bench.paper_size
        if own:
            size = self.bench.timeline.size(self.journal, position, date.max) if self.journal else ""
        family, grades = self._family(size)
        found = Bearing(position, size, family, grades)
        journal = self.readings.get(self.journal, {}).get(position, {})
        housing = self.readings.get(self.housing, {}).get(position, {})
        pins = dict(journal)
        wanted = [c for c in self.engine.features[self.journal].columns or [] if is_size(c)]
        if pins and len(pins) < len(wanted):
            found.partly = Sentence(
                "{count} of {wanted} journal readings", count=len(pins), wanted=len(wanted)
            )
        elif housing and (unread := self._unread(housing)):
            found.partly = Sentence("housing not read at {places}", places=", ".join(unread))
        if not pins and size and self.bench.decision(self.journal):
            pins = self._ordered(position, size)
            found.partly = ORDERED
        found.condemned = own and not size and self._condemned(position)
        if pins and housing and not found.condemned:
            found.room = bearings.clearance(housing, BARE, pins, self.fit.direction or "v")
        if found.room and grades:
            # new shells on a machined journal: nothing of the fit is used again, and new limits decide
            found.again = not own or self.bench.timeline.state(self.journal, position, date.max).used
            found.pairs, found.wide = self._fitting(found.room, grades, found.again)
        return found

    def _unread(self, housing: Mapping[str, Measured]) -> list[str]:
        """Columns of a housing in the direction of the load that nobody read."""
        columns = self.engine.features[self.housing].columns or []
        way = self.fit.direction or "v"
        return [one for one in columns if plane_and_direction(one)[1] == way and one not in housing]

    def _ordered(self, position: str, size: str) -> dict[str, Measured]:
        """A journal known only by the band that it is ordered to: anywhere in it [mm]."""
        low, high = self.bench.ends(
            self.engine.features[self.journal].new.get("size"), self.engine.features[self.journal]
        )
        if low is None or high is None:
            return {}
        step = step_in_mm(size)
        doubt = {DoubtSource("ordered band", f"{self.journal} {position}"): rectangular((high - low) / 2.0)}
        return {"any_a": Measured(round((low + high) / 2.0 + step, 9), doubt)}

    def _family(self, size: str) -> tuple[str, list[Grade]]:
        """The shells for a journal of this size, and their walls."""
        unit = self.sheet.unit or "mm"
        if not size:
            bands = bands_in(self.sheet.grades, unit)
            if not bands and self.sheet.wall:
                bands = bands_in({"standard": self.sheet.wall}, unit)
            return "", self._grades(bands)
        for key, other in self.sheet.other.items():
            if other.for_ == size:
                bands = bands_in(other.grades or ({key: other.wall} if other.wall else {}), unit)
                return key, self._grades(bands)
        step = size.removesuffix(" undersize")
        if step in self.sheet.sets and self.sheet.wall:
            low, high = self.bench.ends(self.sheet.wall, self.sheet)
            if low is not None and high is not None:
                walls = bearings.undersize_wall((low, high), -step_in_mm(size))
                return step, [Grade(step, *walls)]
        return size, []

    def _grades(self, bands: Mapping[str, tuple[float, float]]) -> list[Grade]:
        scale = quantities.factor(self.sheet.unit or "mm", "mm")
        return [Grade(name, low * scale, high * scale) for name, (low, high) in bands.items()]

    def _condemned(self, position: str) -> bool:
        """Whether the journal cannot stay as it is; new shells may mend a size judged by fit."""
        return any(
            c.feature == self.journal and c.position == position and c.stands and c.verdict == "beyond limit"
            for c in self.bench.found
            if not self.bench.by_fit(c)
        )

    def _fitting(self, room: Clearance, grades: list[Grade], again: bool) -> tuple[list[Pair], bool]:
        for limits, wide in ((self.limits, False), *([(self.wide, True)] if again else [])):
            pairs = [pair for pair in self.tried(room, grades, limits) if pair.fitness == "inside"]
            if pairs:
                return pairs, wide
        return [], False

    def tried(self, room: Clearance, grades: list[Grade], limits: Ends) -> list[Pair]:
        """Every pair of halves that the sheet allows, or every bush, at one bearing."""
        mix = "none" if self.bush else self.sheet.mix or "none"
        table = self.sheet.codes.rows.values() if self.sheet.codes else ()
        pairs = shells.halves(grades, mix, [cell for row in table for cell in row])
        return [shells.tried(room, a, b, limits, self.bench.guarded, self.bush) for a, b in pairs]

    # ------------------------------------------------------------ what is to be had

    def _supplies(self, places: Mapping[str, list[SelectionOption]]) -> dict[str, Supply]:
        supplies = {}
        for options in places.values():
            for part in {part for option in options for part in option.parts}:
                half, _, grade = part.partition(" ")
                row = "count" if self.bush else half
                supplies[part] = self.bench.supply(self.shells, row, grade, self.number(half, grade))
        numbers = {self.number(*part.split(" ", 1)) for part in supplies}
        self.priced = all(self.bench.price(number) is not None for number in numbers)
        if not self.priced:
            # what has no price would look like the cheapest: then money decides nothing
            supplies = {part: replace(supply, price=0) for part, supply in supplies.items()}
        return supplies

    def number(self, half: str, grade: str) -> str:
        """The part that a half of one grade is bought as, '' where the sheet has none."""
        for other in self.sheet.other.values():
            if grade in other.grades or other.wall:
                number = other.halves.get(half, "")
                if grade in other.grades and number:
                    return number
        pieces = self.sheet.pieces
        own = pieces.get(f"{half} {grade}", "") or pieces.get(grade, "")
        return own or self.sheet.halves.get(half, "") or self.sheet.sets.get(grade, "")

    # ------------------------------------------------------------ in words

    def _place(
        self,
        bearing: Bearing,
        codes: Place,
        plan: Plan | None,
        places: Mapping[str, list[SelectionOption]],
        supplies: Mapping[str, Supply],
    ) -> Place:
        position = bearing.position
        place = codes
        if bearing.room and codes.by_code:
            named = shells.halves_of_cell(codes.by_code)
            for trusted in self.tried(bearing.room, bearing.grades, self.limits):
                if (trusted.upper, trusted.lower) == named:
                    place = replace(place, if_by_code=trusted.mean)
        if plan is None or position not in plan.chosen:
            return shell_words.unsettled(self, bearing, place)
        pair = bearing.pairs[plan.chosen[position]]
        number = self.sheet.sets.get(bearing.family or "standard", "")
        status: Status = "provisional" if bearing.partly else "chosen"
        others = sorted(
            (p for p in bearing.pairs if {p.upper, p.lower} != {pair.upper, pair.lower}),
            key=lambda p: (p.off(self.target), p.name),
        )
        to_be_had = [p for p in others if self._to_be_had(p, supplies)]
        note = present([bearing.partly, shell_words.why_unlike(self, bearing, codes, pair, supplies)])
        if bearing.wide:
            note = present([note, Sentence("inside the wear limit only")])
        return replace(
            place,
            status=status,
            answer=number or pair.name,
            low=pair.smallest,
            high=pair.largest,
            middle=pair.mean,
            candidates=tuple(
                Candidate(
                    p.name,
                    p.smallest,
                    p.largest,
                    p.mean,
                    p.fitness,
                    "" if self._to_be_had(p, supplies) else Sentence("not to be had"),
                    p is pair,
                )
                for p in [pair, *others[: SHOWN - 1]]
            ),
            runner_up=to_be_had[0].name if to_be_had else "",
            note=note,
        )

    def _to_be_had(self, pair: Pair, supplies: Mapping[str, Supply]) -> bool:
        parts = shells.option(pair, self.target, self.two).parts
        return all((supply := supplies.get(part, Supply())).order or supply.shelf for part in parts)

    def _no_other(self, plan: Plan | None) -> Text:
        """Said of shells that come as a set: which one follows from the size."""
        sets = {self.number(*part.split(" ", 1)) for part in (plan.packs if plan else ())}
        by_set = bool(sets) and sets <= set(self.sheet.sets.values())
        return Sentence("none: which set it is follows from the size of its journals") if by_set else ""

    def _whole(
        self,
        all_of_them: list[Bearing],
        made: list[Place],
        plan: Plan | None,
        second: Plan | None,
        places: Mapping[str, list[SelectionOption]],
        supplies: Mapping[str, Supply],
        impossible: list[Text],
        decision: str,
    ) -> Choice:
        condemned = [b.position for b in all_of_them if b.condemned]
        waiting: dict[str, list[str]] = {}
        for p in made:
            if p.status in ("provisional", "nothing known") and p.position not in condemned:
                waiting.setdefault(shell_words.awaited(p.note), []).append(p.position)
        decides: list[str] = [
            Sentence("{places} {why}", places=span(where), why=note) if note else span(where)
            for note, where in waiting.items()
        ]
        if condemned:
            title = amid(feature_title(self.engine, self.journal))
            words = "the size of the {what} after grinding ({places})"
            decides.insert(0, Sentence(words, what=title, places=span(condemned)))
        status: Status = "chosen"
        if impossible:
            status = "none fits"
        elif any(p.status in ("provisional", "nothing known") for p in made):
            status = (
                "provisional" if any(p.answer or p.status == "provisional" for p in made) else "nothing known"
            )
        elif any(b.partly for b in all_of_them):
            status = "provisional"
        # journals are ground together: shells for the others as they are would be the wrong ones
        bought = () if condemned else shell_words.buys(self, plan, places, supplies)
        alternative = shell_words.alternative(self, plan, second, places)
        instead = shell_words.buys(self, second if alternative else None, places, supplies)
        answer = shell_words.answer(made, all_of_them, self.sheet.sets, self.two)
        choice = Choice(
            name=self.shells,
            kind="shells",
            title=feature_title(self.engine, self.shells),
            status=status,
            answer=Sentence("only if nothing is ground: {answer}", answer=answer)
            if condemned and plan
            else answer,
            target=self.target,
            limits=self.limits,
            why=shell_words.why(self, made, status),
            alternative=alternative or self._no_other(plan),
            places=tuple(made),
            steps=shell_words.families(self, condemned),
            buy=bought,
            cost=self.bench.spent(bought),
            alternative_cost=self.bench.spent(instead),
            outlay=self.bench.outlay(bought),
            alternative_outlay=self.bench.outlay(instead),
            impossible=tuple(impossible),
            decides=tuple(dict.fromkeys(decides)),
            on_paper=self.bench.on_paper,
            part=self.engine.features[self.journal].part or "" if self.journal else "",
            source=source_text(self.engine, self.sheet.source),
            off=round(plan.off * shells.STEP, 6) if plan else None,
        )
        return shell_words.decided(self.bench, choice, decision)
