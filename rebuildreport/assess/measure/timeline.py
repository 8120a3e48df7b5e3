"""What stands when: readings, and the decisions that put an end to them.

A reading stands until its position is read again or changed.  A decision to
recondition or replace ends every reading taken up to its day; what is read
later belongs to a machined or new surface and is judged by new limits.
"""

from __future__ import annotations

from datetime import date

from msgspec import Struct, field

from ...records import JobFolder
from ...records.files.sheet import Engine
from ...records.files.sizes import sized as sized
from ...records.files.sizes import step_in_mm as step_in_mm
from ...records.files.teardown import SizeAsFound
from ...trade.measuring.uncertainty import Measured
from .following_moves import carried
from .observations import Occasion, of_whole_engine
from .state import BEFORE, Spot, State, SurfaceChange, changes, spots


class Standing(Struct):
    """The newest valid readings of one feature at a moment."""

    readings: dict[str, dict[str, Measured]] = field(default_factory=dict)
    # the same without the corrections for temperature that are a guess: part and gauge had not soaked
    raw: dict[str, dict[str, Measured]] = field(default_factory=dict)
    taken: dict[str, Occasion] = field(default_factory=dict)  # position: newest occasion


class Timeline:
    """Changes of every position of every feature, from decisions, findings and sizes found."""

    def __init__(self, engine: Engine, job: JobFolder, occasions: list[Occasion]) -> None:
        self.engine, self.job = engine, job
        self.occasions = occasions
        self._first: dict[tuple[str, str], date] = {}
        for one in occasions:
            for position in one.readings:
                key = (one.feature, position)
                self._first[key] = min(self._first.get(key, one.date), one.date)
        self._changes: dict[Spot, list[SurfaceChange]] = {}
        # what was not itself worked on, and reads otherwise since: it lapses, and no new limit decides
        self._moved: dict[Spot, list[SurfaceChange]] = {}
        for spot, change in changes(engine, job, _last_as_found(job, occasions)):
            self._changes.setdefault(spot, []).append(change)
            if change.decided:
                do = "recondition" if change.becomes == "machined" else "replace"
                for moved in carried(engine, *spot, do):
                    self._moved.setdefault(moved, []).append(change)

    def _ending(self, spot: Spot) -> list[SurfaceChange]:
        return self._changes.get(spot, []) + self._moved.get(spot, [])

    def state(self, feature: str, position: str, day: date) -> State:
        """What a surface that is read on this day is: used as it came, machined or new; and why.

        Whoever has to know whether something is new asks here, and nowhere else.
        """
        acting = tuple(
            change
            for change in self._changes.get((feature, position), [])
            if self._acts(change, feature, position, day)
        )
        for at, change in enumerate(acting):
            if change.candidate:
                acting = (*(one for one in acting[:at] if one.cause not in BEFORE), *acting[at:])
                break
        kinds = {change.becomes for change in acting}
        return State("new" if "new" in kinds else "machined" if "machined" in kinds else "used", acting)

    def taken(self, feature: str, position: str) -> SurfaceChange | None:
        """The change by which a candidate took this place, if one did."""
        here = self._changes.get((feature, position), [])
        return next((change for change in reversed(here) if change.candidate), None)

    def gone(self, feature: str, position: str, day: date) -> bool:
        """Whether what was read there on a day is no longer in the engine: a candidate took its place."""
        taken = self.taken(feature, position)
        return taken is not None and day <= taken.date

    def spots(self, about: str, positions: list[str]) -> list[Spot]:
        """Features and positions meant by a feature's or a part's name; no positions: all of them."""
        return spots(self.engine, about, positions)

    def ended(self, feature: str, position: str, read: date, day: date) -> bool:
        """Whether a reading of one day no longer holds on another: the one place that says what ends it.

        Its surface was machined or renewed since; or it is of the whole engine, and that was apart since.
        """
        sheet = self.engine.features[feature]
        if of_whole_engine(sheet) and self.apart_since(read) and not self.apart_since(day):
            return True
        # what nobody has decided is dated by the last look at the engine as it came: that day is as found
        return any(
            read <= change.date < day or (change.decided and read < change.date == day)
            for change in self._ending((feature, position))
        )

    def _acts(self, change: SurfaceChange, feature: str, position: str, day: date) -> bool:
        first = self._first.get((feature, position))
        return day > change.date or (first is not None and day == change.date and first < day)

    def changed_since(self, feature: str, position: str, day: date, work_done: bool) -> bool:
        """Whether the position changed after its reading of this day, with nothing read since."""
        return any(
            (change.decided or work_done)
            and (
                change.date > day
                # on the day itself: what was read after the change already is the new surface
                or (change.date == day and not self._acts(change, feature, position, day))
            )
            for change in self._ending((feature, position))
        )

    def went_in(self, feature: str, position: str, day: date) -> bool:
        """Whether a reading of this day is of what the engine has now: no part that was bought ends it.

        It was taken when everything had been decided, or when the engine was already going together.  And
        what was new or machined when it was read is what was bought or made: that it is beyond its limit
        makes it no other.
        """
        if self.taken(feature, position) or not self.state(feature, position, day).used:
            return not self.gone(feature, position, day)
        last = self._last_worked_on()
        if last is not None:
            return day > last
        signed = [one.date for one in self.job.tightened]
        return bool(signed) and day >= min(signed)

    def bought(self, feature: str, position: str, day: date) -> bool:
        """Whether what is read on this day was bought new: what is wrong with it is its supplier's matter."""
        return self.state(feature, position, day).condition == "new"

    def _last_worked_on(self) -> date | None:
        """The day of the newest decision by which something becomes another."""
        return max((one.date for one in self.job.decisions.values() if one.do != "reuse"), default=None)

    def apart_since(self, day: date) -> bool:
        """Whether the engine was taken apart after a reading of the whole of it, or work decided on it since.

        A round has one date: what was read on the engine as it came is often written down with what was
        read on its parts, after the day of the teardown; the decisions then say that it is another engine.
        """
        teardown, last = self.job.teardown, self._last_worked_on()
        if teardown is not None and teardown.date >= day:
            return True
        together = any(one.date <= day for one in self.job.tightened)
        return last is not None and (last > day or (last == day and not together))

    def size(self, feature: str, position: str, day: date) -> str:
        """The size step in force on a day, as typed: '0.50 mm undersize', or ''."""
        earlier = self._earlier(feature, position)
        size = (earlier and earlier.size) or ""
        for change in sorted(self._changes.get((feature, position), []), key=lambda c: c.date):
            says = change.candidate or (change.decided and change.size)
            if says and self._acts(change, feature, position, day):
                size = change.size
        return size

    def _earlier(self, feature: str, position: str) -> SizeAsFound | None:
        """Earlier work on the engine's own, as it came."""
        for one in reversed(self.job.written_teardown.sizes_as_found):
            if one.feature == feature and position in one.positions:
                return one
        return None

    def size_as_found(self, feature: str, position: str) -> str:
        """The size step that what is there came with, '' where nobody says so."""
        found = self.taken(feature, position) or self._earlier(feature, position)
        return (found and found.size) or ""

    def treated(self, feature: str, position: str) -> str:
        """How what is there is treated, as shells of the sheet are for: '' as the maker's own."""
        taken = self.taken(feature, position)
        known = self.job.candidates.get(taken.candidate) if taken else self._earlier(feature, position)
        return (known and known.treated) or ""

    def codes(self, feature: str, position: str) -> list[str] | None:
        """The codes that were read of what is there, one a position."""
        taken = self.taken(feature, position)
        known = self.job.candidates.get(taken.candidate) if taken else self.job.teardown
        return known.codes.get(feature) if known else None

    def decided_size(self, feature: str, position: str) -> str:
        """The size step that the newest decision asks for, '' where none does."""
        here = self._changes.get((feature, position), [])
        since = here[here.index(taken) + 1 :] if (taken := self.taken(feature, position)) else here
        changes = sorted(since, key=lambda change: change.date)
        sizes = [change.size for change in changes if change.decided and change.size]
        return sizes[-1] if sizes else ""


def _last_as_found(job: JobFolder, occasions: list[Occasion]) -> date | None:
    """The last day of what was read up to the first decision: it tells how the engine came."""
    days = {one.date for one in job.decisions.values()} | {one.date for one in job.tightened}
    start = min(days, default=date.max)
    own = [one for one in occasions if not one.of]
    first = own[0].round if own else ""
    return max((one.date for one in own if one.round == first or one.date <= start), default=None)
