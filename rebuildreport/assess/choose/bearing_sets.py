"""Sets of plain bearings laid out for choosing: what each of them is, and what its shells would give.

In: the workbench.  Out: a `BearingSet` with its `Bearing`s, and the codes as read and as measured.
Must not know: plans over several bearings, prices, and how a choice is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from ... import quantities
from ...quantities import NOTHING, Sentence, Text, Typed, amid, message
from ...records.checks.choosecheck import bands_in, halves_of
from ...records.files.choosing import CodeTable
from ...records.files.jobfile import CandidateRecord
from ...records.files.sheet import FeatureRecord
from ...records.files.sizes import STANDARD, same_size
from ...records.text.fields import Interval
from ...trade.choosing import shells
from ...trade.choosing.shells import Band, Grade, Pair
from ...trade.engine import bearings
from ...trade.engine.bearings import Clearance, Walls
from ...trade.measuring.form import is_size, plane_and_direction
from ...trade.measuring.uncertainty import DoubtSource, Measured, mean, rectangular
from ...trade.measuring.verdict import Ends
from ..measure.timeline import sized, step_in_mm
from ..measure.titles import feature_title
from ..model.choice import Place
from .workbench import Columns, Workbench

BARE = Walls(Measured(0.0), Measured(0.0))
DONE = message(
    {"recondition": "{what} reconditioned ({decision})", "replace": "{what} exchanged ({decision})"}
)


class Awaited(Struct, frozen=True):
    """What a bearing still waits for."""

    what: Literal["journal readings", "housing readings", "journal as machined", "surfaces", "same planes"]
    names: tuple[str, ...] = ()  # columns or surfaces that nobody read
    count: int = 0  # readings that are there, of ...
    wanted: int = 0


class Bearing(Struct):
    """What is known of one bearing when its shells are chosen."""

    position: str
    size: str  # step that the journal has or is ordered to
    family: str  # "" standard, else a key of other: or sets:
    grades: list[Grade] = field(default_factory=list)
    room: Clearance | None = None
    awaited: Awaited | None = None
    condemned: bool = False  # the journal cannot stay as it is, and nobody has said what becomes of it
    again: bool = True  # the journal is used again as it is
    pairs: list[Pair] = field(default_factory=list)  # that surely serve
    wide: bool = False  # only inside the wear limit

    @property
    def ordered(self) -> bool:
        """Whether its journal is known only by the size that it is ordered to."""
        return self.awaited is not None and self.awaited.what == "journal as machined"


def bearing_sets(bench: Workbench) -> Iterator[BearingSet]:
    """Every bearing clearance whose shells the sheet tells apart."""
    for name, fit in bench.engine.features.items():
        if fit.kind == "bearing_clearance" and fit.shells in bench.engine.features:
            yield BearingSet(bench, name, fit, bench.engine.features[fit.shells])


class BearingSet:
    """The bearings of one clearance of the sheet."""

    def __init__(self, bench: Workbench, name: str, fit: FeatureRecord, sheet: FeatureRecord) -> None:
        self.bench, self.fit, self.sheet = bench, fit, sheet
        self.features = bench.engine.features
        self.name, self.shells = name, fit.shells
        self.journal, self.housing = fit.journal, fit.housing
        self.positions = sheet.positions
        # (their journals are mostly ground together: what is aimed at goes by the first)
        self.limits, _ = bench.new_and_wide(fit, next(iter(self.positions), ""))
        self.target = round(bench.aim(fit.target, fit, self.limits), 6)
        self.readings = {key: bench.now(key) for key in (self.journal, self.housing) if key}
        self.two = halves_of(sheet)
        self.bush = len(self.two) == 1  # one piece a bearing, on both sides of the journal

    # ------------------------------------------------------------ what shells would give

    def limits_at(self, bearing: Bearing) -> Ends:
        """The limits that decide there."""
        return self.bench.new_and_wide(self.fit, bearing.position)[bearing.again]

    def tried(self, room: Clearance, grades: list[Grade], limits: Ends) -> list[Pair]:
        """Every pair of halves that the sheet allows, or every bush, at one bearing."""
        mix = "none" if self.bush else self.sheet.mix or "none"
        table = self.sheet.codes.rows.values() if self.sheet.codes else ()
        pairs = shells.halves(grades, mix, [cell for row in table for cell in row])
        guarded = self.bench.guarded
        return [shells.tried(room, upper, lower, limits, guarded, self.bush) for upper, lower in pairs]

    def tried_at(self, bearing: Bearing) -> list[Pair]:
        """The same by the limits that decide there; none where there is no clearance to work with."""
        if bearing.room is None:
            return []
        return self.tried(bearing.room, bearing.grades, self.limits_at(bearing))

    def waits(self, bearing: Bearing) -> bool:
        """Whether a journal that is only ordered may still come out so that something fits."""
        return bearing.ordered and any(pair.fitness == "too close" for pair in self.tried_at(bearing))

    def proved(self, bearing: Bearing) -> bool:
        """Whether the set of its size is in and was read: what it gives is known, whatever its band says."""
        if {self.journal, self.housing} & {*self.bench.override} or not self.set_of(bearing):
            return False
        return bool(self.bench.proved(self.name, self.shells, bearing.position))

    def beyond_all(self) -> list[str]:
        """Bearings whose journal stays, and that even the thickest shells surely leave too large."""
        tried = {position: self.tried_at(self.bearing(position)) for position in self.positions}
        return [
            position
            for position, pairs in tried.items()
            if pairs
            and min(pairs, key=lambda p: p.mean).fitness == "too large"
            and not self.housing_out(position)
        ]

    def takes_up(self, position: str, more: float) -> bool:
        """Whether new shells of the sheet would still serve with so much ``more`` clearance there [mm]."""
        bearing = self.bearing(position)
        if bearing.room is None:
            return False
        room = bearing.room
        smallest, largest, mean_ = (end.shifted(more) for end in (room.smallest, room.largest, room.mean))
        polished = Clearance(smallest, largest, mean_, room.planes)
        pairs = self.tried(polished, bearing.grades, self.limits_at(bearing))
        return any(pair.fitness == "inside" for pair in pairs)

    def housing_out(self, position: str) -> bool:
        """Whether the housing is beyond its own limit there: then no grinding of the journal mends it."""
        return any(c.position == position for c in self.bench.beyond(self.housing))

    def set_of(self, bearing: Bearing) -> str:
        """The number of the set that is sold for the size of its journal, '' where there is none."""
        return self.sheet.sets.get(bearing.family or STANDARD, "")

    # ------------------------------------------------------------ what is known

    def bearing(self, position: str) -> Bearing:
        """All that is known of one bearing, with the shells that surely serve there."""
        own = self.journal not in self.bench.override
        size = self._size(position)
        bearing = Bearing(position, size, *self._family(size, self._treated(position)))
        bearing.condemned = own and not size and self._condemned(position)
        pins, housing = (self._read(name, position) for name in (self.journal, self.housing))
        bearing.awaited = self._unread(pins, housing)
        if not pins and size and self.bench.decision(self.journal):
            pins = self._ordered(position, size)
            bearing.awaited = Awaited("journal as machined")
        if pins and housing and not bearing.condemned:
            bearing.room = bearings.clearance(housing, self._bare(bearing), pins, self.fit.direction or "v")
        if bearing.room is None:
            bearing.awaited = self._unpaired(position)
        elif bearing.grades:
            # new shells on a machined journal: nothing of the fit is used again, and new limits decide
            bearing.again = not own or self.bench.timeline.state(self.journal, position, date.max).used
            self._fit(bearing, bearing.room)
        return bearing

    def _bare(self, bearing: Bearing) -> Walls:
        """No walls yet, which leave more room than they take by what their crush widens the housing."""
        crush, ring = (self.fit.given(key, "mm") for key in ("crush", "ring"))
        if crush is None or ring is None or not bearing.grades:
            return BARE
        thick = max(grade.high for grade in bearing.grades)
        material = self.features[self.housing].material or "aluminium"
        growth = bearings.crush_growth(crush, thick, ring, material)
        return Walls(Measured(0.0), Measured(0.0, below=growth))

    @property
    def _tried(self) -> CandidateRecord | None:
        """The candidate that is tried, where the journals are of it."""
        return self.bench.candidate if self.journal in self.bench.override else None

    def _size(self, position: str) -> str:
        if tried := self._tried:
            return tried.sizes.get(self.journal, "")
        return self.bench.timeline.size(self.journal, position, date.max) if self.journal else ""

    def _treated(self, position: str) -> str:
        return self._tried.treated if self._tried else self.bench.timeline.treated(self.journal, position)

    def _read(self, feature: str, position: str) -> Columns:
        return self.readings.get(feature, {}).get(position, {})

    def _fit(self, bearing: Bearing, room: Clearance) -> None:
        """What serves by the new limits; where nothing does and the journal stays, by the wear limit."""
        for wide, limits in enumerate(self.bench.new_and_wide(self.fit, bearing.position)):
            pairs = [pair for pair in self.tried(room, bearing.grades, limits) if pair.fitness == "inside"]
            if pairs or not bearing.again:
                bearing.pairs, bearing.wide = pairs, bool(wide)
                return

    def _unread(self, pins: Columns, housing: Columns) -> Awaited | None:
        """Readings that are lacking at a bearing of which both sides were read."""
        wanted = [column for column in self.features[self.journal].columns if is_size(column)]
        if pins and len(pins) < len(wanted):
            return Awaited("journal readings", (), len(pins), len(wanted))
        if not housing:
            return None
        way = self.fit.direction or "v"
        columns = self.features[self.housing].columns
        loaded = [column for column in columns if plane_and_direction(column)[1] == way]
        unread = tuple(column for column in loaded if column not in housing)
        return Awaited("housing readings", unread) if unread else None

    def _unpaired(self, position: str) -> Awaited:
        """Why there is no clearance to work with."""
        surfaces = (self.housing, self.journal)
        unread = tuple(name for name in surfaces if position not in self.readings.get(name, {}))
        return Awaited("surfaces", unread) if unread else Awaited("same planes")

    def _ordered(self, position: str, size: str) -> Columns:
        """A journal known only by the band that it is ordered to: anywhere in it [mm]."""
        sheet = self.features[self.journal]
        low, high = self.bench.ends(sheet.new.get("size"), sheet)
        if low is None or high is None:
            return {}
        doubt = {DoubtSource("ordered band", f"{self.journal} {position}"): rectangular((high - low) / 2.0)}
        return {"any_a": Measured(round((low + high) / 2.0 + step_in_mm(size), 9), doubt)}

    def _condemned(self, position: str) -> bool:
        """Whether the journal cannot stay as it is; new shells may mend a size judged by fit."""
        beyond = self.bench.beyond(self.journal)
        return any(c.position == position and not self.bench.by_fit(c) for c in beyond)

    def _family(self, size: str, treated: str) -> tuple[str, list[Grade]]:
        """The shells for a journal of this size and treatment, and their walls."""
        sheet = self.sheet
        if not size and not treated:
            standard = {STANDARD: sheet.wall} if sheet.wall else {}
            return "", self._grades(sheet.grades) or self._grades(standard)
        for key, other in sheet.other.items():
            if other.family == treated and same_size(other.step, size):
                return key, self._grades(other.grades or ({key: other.wall} if other.wall else {}))
        if treated:
            return size or treated, []
        step = next((key for key in sheet.sets if same_size(key, size)), "")
        low, high = self.bench.ends(sheet.wall, sheet)
        if step and low is not None and high is not None:
            return step, [Grade(step, *bearings.undersize_wall((low, high), -step_in_mm(size)))]
        return size, []

    def _grades(self, walls: Mapping[str, Interval]) -> list[Grade]:
        return [Grade(name, low, high) for name, (low, high) in self._bands(walls).items()]

    def _bands(self, typed: Mapping[str, Interval]) -> dict[str, Band]:
        """Typed bands in mm."""
        unit = self.sheet.unit or "mm"
        scale = quantities.factor(unit, "mm")
        return {name: (low * scale, high * scale) for name, (low, high) in bands_in(typed, unit).items()}

    # ------------------------------------------------------------ codes

    def codes_at(self, position: str) -> Place:
        """Codes as read and as measured, and what they would have fitted."""
        table = self.sheet.codes_for(self._treated(position))
        if table is None:
            return Place(position, "nothing known")
        housing, journal = (self._stamped(name, position) for name in (self.housing, self.journal))
        measured, by_measurement = self._measured_codes(table, position)
        place = Place(position, "nothing known", measured=measured, by_measurement=by_measurement)
        if not (housing or journal):
            return place
        place = replace(place, stamped=f"{housing or '?'}/{journal or '?'}")
        if void := self._void(position):
            return replace(place, void=void)
        by_code = shells.grade_by_codes(table.rows, table.columns, housing, journal) or ""
        if by_code and by_measurement:
            place = replace(place, agree=by_code == by_measurement)
        if housing and journal and measured and by_code != by_measurement:
            place = replace(place, reasons=tuple(self._reasons(table, position, housing, journal)))
        return replace(place, by_code=by_code)

    def _reasons(self, table: CodeTable, position: str, housing: str, journal: str) -> list[Text]:
        """Why what was measured is not what the codes say."""
        bore, pin = self._mean(self.housing, position), self._mean(self.journal, position)
        assert bore is not None and pin is not None
        bands = self._bands(table.housing_bands), self._bands(table.journal_bands)
        words = message("within what the measuring can tell: the size lies at a border of its band")
        return shells.mismatch(housing, journal, bore, pin, *bands) or [Sentence(words)]

    def _stamped(self, feature: str, position: str) -> str:
        """The code that was read there, of the engine's own part or of the one tried."""
        tried = self.bench.candidate
        read = (tried and tried.codes.get(feature)) or self.bench.timeline.codes(feature, position) or []
        index = self.positions.index(position)
        return read[index] if index < len(read) else ""

    def _measured_codes(self, table: CodeTable, position: str) -> tuple[str, str]:
        """The codes that the measured sizes would have been given, and the grade by those."""
        bore, pin = self._mean(self.housing, position), self._mean(self.journal, position)
        if bore is None or pin is None:
            return "", ""
        housing = next(iter(shells.codes_of(bore, self._bands(table.housing_bands))), "?")
        journal = next(iter(shells.codes_of(pin, self._bands(table.journal_bands))), "?")
        grade = shells.grade_by_codes(table.rows, table.columns, housing, journal) or ""
        return f"{housing}/{journal}", grade

    def _mean(self, feature: str, position: str) -> Measured | None:
        """The size that a code stands for: of a housing in the direction of the load."""
        columns = self._read(feature, position)
        sizes = list(columns.values())
        if feature == self.housing:
            loaded = self.fit.direction or "v"
            sizes = [value for name, value in columns.items() if name.rpartition("_")[2] == loaded]
        return mean(sizes) if sizes else None

    def _void(self, position: str) -> Text:
        """Why the codes tell nothing here; nothing where they hold."""
        # what is stamped on a part that is tried itself holds
        tried = self.bench.candidate.codes if self.bench.candidate else {}
        stamped = [name for name in (self.journal, self.housing) if name not in tried]
        return next(filter(None, (self._void_of(name, position) for name in stamped)), NOTHING)

    def _void_of(self, feature: str, position: str) -> Text:
        bench = self.bench
        title = amid(feature_title(bench.engine, feature))
        if feature in bench.override:
            return Sentence("{what} of another source", what=title)
        noted = bench.job.written_teardown.codes_void
        if feature in noted and not bench.timeline.taken(feature, position):
            return Typed(noted[feature])
        size = bench.timeline.size(feature, position, date.max)
        if size and size != STANDARD:
            return Sentence("{title} at {size}", title=title, size=sized(size))
        for name, decision in bench.job.decisions.items():
            spots = bench.timeline.spots(decision.about, decision.positions)
            if decision.do != "reuse" and not decision.with_ and (feature, position) in spots:
                return Sentence(DONE[decision.do], what=title, decision=name)
        return NOTHING
