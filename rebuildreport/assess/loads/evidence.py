"""What in a job speaks for the usual causes of what failed, and what against.

Comes in: findings, values as the engine came, loads and films, what was drained.  Goes out: FindingEvidence,
codes and values.  No score, and never over the rebuilder's own finding: his cause stands first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from ...records import JobFolder
from ...records.checks.vocabulary import subject_of
from ...records.files.jobfile import FindingRecord
from ...records.files.sheet import Engine
from ...trade.engine.failure_causes import CAUSES, LOOKS, Sight, Subject, Weighed, suggested, weigh
from ...trade.measuring.form import number_of
from ..model.assessment import Assessment, Characteristic
from ..model.engineload import BearingAt
from ..model.failure_evidence import CauseEvidence, Clue, FindingEvidence
from ..telling.filing import Filing

PASSED = ("as new", "serviceable")
OF_THE_SUMP = ("particles in the filter", "fuel drained", "water drained")
FEWEST = 3  # of a row: of two, one alone is half
UNEVEN = 0.005  # mm between the walls of two halves: grades of new ones lie within (common practice)


def evidence(engine: Engine, job: JobFolder, assessment: Assessment) -> tuple[FindingEvidence, ...]:
    """Of every finding about a bearing, a piston or a valve."""
    return tuple(
        _OfFinding(engine, job, assessment, name, record, subject).told()
        for name, record in job.seen.items()
        if record.positions and (subject := subject_of(engine, record.component))
    )


class _OfFinding:
    """One finding, at all of its positions, and all looks that this job has for it."""

    def __init__(
        self,
        engine: Engine,
        job: JobFolder,
        assessment: Assessment,
        name: str,
        record: FindingRecord,
        subject: Subject,
    ) -> None:
        self.engine, self.job, self.assessment = engine, job, assessment
        self.name, self.record, self.subject, self.positions = name, record, subject, record.positions
        self.numbers = {number_of(one) for one in record.positions} - {None}
        self.found = [one for one in assessment.characteristics if one.round in assessment.as_found]
        own = engine.features.get(record.component)
        journals = engine.of_kind("journal").values()
        # its own part, and the shaft that runs in the bearing
        self.parts = {one.part for one in journals if {*self.positions} & {*one.positions}} - {""}
        self.parts.add(own.part if own else record.component)

    def told(self) -> FindingEvidence:
        clues = {clue.look: clue for clue in self._clues()}
        by_sight = suggested(self.record.seen)
        by_hand = self.record.points_to
        named = next((one for one in (by_hand, *by_sight) if one in CAUSES[self.subject]), None)
        causes = [
            CauseEvidence(
                one.cause,
                tuple(self._seen(one.cause) if look == "seen" else clues[look] for look in one.speaks_for),
                tuple(clues[look] for look in one.against),
                tuple(look for look in one.unknown if look not in ("seen", "alone")),
            )
            for one in self._weighed(clues)
        ]
        # the named one first, then those for which most speaks and least against: an order and no score
        causes.sort(key=lambda one: (one.cause != named, -len(one.speaks_for), len(one.against)))
        return FindingEvidence(
            self.name,
            self.subject,
            tuple(self.positions),
            named,
            named is not None and named == by_hand,
            tuple(causes),
        )

    def _weighed(self, clues: dict[str, Clue]) -> Iterator[Weighed]:
        shown = {look: clue.is_so for look, clue in clues.items()}
        can = [look for look, what in LOOKS.items() if not what.kinds or [*self._features(what)]]
        nature = self.assessment.engine.nature
        if nature.strokes == 2 and not nature.diesel:  # its oil burns with the fuel
            can = [look for look in can if look not in OF_THE_SUMP]
        seen = {*suggested(self.record.seen)}
        for at, cause in enumerate(CAUSES[self.subject]):
            with_seen = {**shown, "seen": True} if cause in seen else shown
            yield weigh(self.subject, with_seen, can)[at]

    def _seen(self, cause: str) -> Clue:
        phrase = next(phrase for phrase in self.record.seen if cause in suggested([phrase]))
        return Clue("seen", True, typed=phrase)

    def _clues(self) -> Iterator[Clue]:
        looks = dict.fromkeys(look for table in CAUSES[self.subject].values() for look in table)
        for look in looks:
            if LOOKS[look].kinds:
                yield from self._judged(look)
        yield from self._drained()
        yield from self._alone()
        if self.subject == "bearing":
            yield from self._film()
            yield from self._half()

    def _features(self, look: Sight) -> Iterator[str]:
        """Features of the sheet whose readings can show it, near to the finding."""
        for name, sheet in self.engine.features.items():
            # a main bearing is of no cylinder
            if sheet.kind not in look.kinds or (look.near == "cylinder" and self._of_no_cylinder()):
                continue
            there = self._positions(name)
            at = any(one in there for one in self.positions)
            near = {
                "here": at,
                "row": at,
                "cylinder": any(number_of(one) in self.numbers for one in there),
                "part": sheet.part in self.parts,
                "engine": True,
            }[look.near]
            if near:
                yield name

    def _positions(self, name: str) -> tuple[str, ...]:
        feature = self.assessment.feature(name)
        return feature.positions if feature else ()

    def _judged(self, name: str) -> Iterator[Clue]:
        """A look that is a reading: so where one is past its limit, not so where all of it is inside."""
        look = LOOKS[name]
        values = [one for feature in self._features(look) for one in self._values(feature, look)]
        past = [one for one in values if one.verdict == "beyond limit" and look.end in ("", one.end)]
        if past:
            worst = max(past, key=lambda one: one.past)
            yield Clue(name, True, worst.key, position=worst.position)
        elif values and all(_inside(one, look) for one in values) and self._whole(look, values):
            nearest = max(values, key=lambda one: one.past)
            yield Clue(name, False, nearest.key, position=nearest.position)

    def _values(self, feature: str, look: Sight) -> Iterator[Characteristic]:
        for one in self.found:
            if one.feature != feature or (look.names and one.name not in look.names):
                continue
            here = look.near != "here" or one.position in self.positions
            cylinder = look.near != "cylinder" or number_of(one.position) in self.numbers
            if here and cylinder and one.verdict != "no limit on file":
                yield one

    def _whole(self, look: Sight, values: Sequence[Characteristic]) -> bool:
        """Whether every position that could show it was read: one that was not may be past its limit."""
        if look.near == "cylinder":
            return True
        if look.near == "here":
            return {*self.positions} <= {one.position for one in values}
        read = {(one.feature, one.position) for one in values}
        for feature in {one.feature for one in values}:
            at = [position for known, position in read if known == feature]
            wanted = self._positions(feature)
            # ends of a row that is carried on them while it is turned are not read
            carried = {wanted[0], wanted[-1]} if wanted else set()
            if {*at} <= {*wanted} and not {*wanted} <= {*at, *carried}:
                return False
        return True

    def _drained(self) -> Iterator[Clue]:
        arrival = self.job.record.arrival
        if (cut := arrival.oil_filter) and cut.particles is not None:
            yield Clue("particles in the filter", cut.particles, typed=cut.seen)
        for fluid in (*arrival.fluids, *self.job.written_teardown.fluids):
            for look, is_so in (("fuel drained", fluid.fuel), ("water drained", fluid.water)):
                if is_so is not None:
                    yield Clue(look, is_so, typed=fluid.seen)

    def _alone(self) -> Iterator[Clue]:
        """Whether it is the only one of its row beyond its limits; nothing said of rows not read through."""
        kinds = {"bearing": ("journal", "bearing_clearance"), "piston": ("bore",), "valve": ("guide",)}
        for name in self._features(Sight(kinds[self.subject])):
            mine = [one for one in self.found if one.feature == name]
            row = {one.position for one in mine if one.value is not None}
            out = {one.position for one in mine if one.verdict == "beyond limit"}
            wanted = {*self._positions(name)}
            if len(wanted) < FEWEST or not wanted <= row or not {*self.positions} & out:
                continue
            if len(out) == 1 or 2 * len(out) >= len(wanted):
                yield Clue("alone", len(out) == 1, figures=(float(len(out)), float(len(wanted))))
                return

    def _film(self) -> Iterator[Clue]:
        """The film that the bearing had, with its clearance and the roughness: all in mm.

        As it came where that held, for what it held worn it held new; else at the clearance that it should
        have, as the wear may be what the failure left.  Of several positions the thinnest.
        """
        loaded = [
            next(
                (film for film in load.films if film.roughness and film.low > film.roughness), load.films[-1]
            )
            for load in self._loads(self.positions)
            if load.films
        ]
        films = [(film, film.roughness) for film in loaded if film.roughness]
        if not films or len(films) < len(self.positions):
            return
        thinnest, rough = min(films, key=lambda one: one[0].thinnest)
        figures = (thinnest.thinnest, thinnest.clearance, rough)
        if all(film.state == "now" and film.high < rough for film, rough in films):
            yield Clue("oil film", True, figures=figures)
        elif all(film.low > rough for film, rough in films):
            yield Clue("oil film", False, figures=figures)

    def _half(self) -> Iterator[Clue]:
        """Whether the loaded half is the thinner one: at all of its positions that differ, and of its row.

        By how much on the mean [mm], at how many places of the row the loaded half is the thinner one, and of
        how many.
        """
        for name in self._features(Sight(("shells",))):
            differ = dict(self._uneven(name))
            mine = [differ[position] for position in self.positions if position in differ]
            if not mine or len({wear > 0 for wear in mine}) > 1:
                continue
            alike = sum(wear > 0 for wear in differ.values())
            mean = abs(sum(mine)) / len(mine)
            yield Clue("loaded half", mine[0] > 0, figures=(mean, alike, float(len(differ))))

    def _uneven(self, shells: str) -> Iterator[tuple[str, float]]:
        """Places whose halves differ by more than new ones do, and by how much the loaded one is thinner."""
        columns = self.engine.features[shells].columns
        for load in self._loads(self._positions(shells)) if len(columns) == 2 else ():
            walls = {
                one.name: one.value
                for one in self.found
                if (one.feature, one.position) == (shells, load.position) and one.value is not None
            }
            if {*columns} <= {*walls}:
                upper, lower = (walls[column] for column in columns)
                thinner = (lower - upper) if load.upper_share > 0.5 else (upper - lower)
                if abs(thinner) > UNEVEN:
                    yield load.position, thinner

    def _loads(self, positions: Iterable[str]) -> list[BearingAt]:
        loads = self.assessment.loads
        found = (loads.at(position, loads.torque_at) for position in positions) if loads else ()
        return [one for one in found if one is not None]

    def _of_no_cylinder(self) -> bool:
        """Whether it is about bearings of the crank itself."""
        mains = [one.of == "main" for one in self._loads(self.positions)]
        return all(mains) if mains else Filing(self.engine).of_the_crank(self.record.component)


def _inside(one: Characteristic, look: Sight) -> bool:
    """Whether a value is surely not past the end that counts; of one that is a bound nobody knows."""
    other_end = one.verdict == "beyond limit" and look.end not in ("", one.end)
    return one.bound == "equal" and (one.verdict in PASSED or other_end)
