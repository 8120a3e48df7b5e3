"""What stands together in the record: the readings of one feature, one occasion beside the next.

In: an Assessment.  Out: blocks of its own tables and characteristics, nothing printed yet.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from msgspec import Struct
from msgspec.structs import replace

from ...assess.model.assessment import Assessment, Characteristic, Feature, ReadingTable

LEFT_OUT, ASKED = "?", "*"  # behind a reading that is in no value, and one that is asked about
# worked out of readings, and one of them: its number stands there already
EXTREMES = frozenset({"largest", "smallest", "lowest", "highest"})


class Sitting(Struct, frozen=True, dict=True):
    """What was read of a feature on one occasion, and what was worked out of it."""

    round: str
    as_found: bool
    tables: tuple[ReadingTable, ...]  # one; two where reading went on in another round
    values: tuple[Characteristic, ...]

    @property
    def columns(self) -> tuple[str, ...]:
        """What was read at each place."""
        return self.tables[0].columns if self.tables else ()

    @cached_property
    def rows(self) -> dict[str, tuple[str, ...]]:
        """The readings as typed, by place."""
        return {spot: texts for table in self.tables for spot, texts in table.rows.items()}

    @cached_property
    def marks(self) -> dict[tuple[str, str], str]:
        """What stands behind readings in doubt."""
        asked = {spot: ASKED for table in self.tables for spot in table.asked}
        return asked | {spot: LEFT_OUT for table in self.tables for spot in table.left_out}

    @property
    def rounds(self) -> tuple[str, ...]:
        """The rounds in which it was read."""
        further = (table.round for table in self.tables)
        return tuple(dict.fromkeys((self.round, *further, *(c.round for c in self.values))))

    @cached_property
    def known(self) -> tuple[Characteristic, ...]:
        """What has a value."""
        return tuple(c for c in self.values if c.value is not None)

    @cached_property
    def places(self) -> tuple[str, ...]:
        """Places that have a row: those that were read; without readings those of what was worked out."""
        if not self.rows:
            return tuple(dict.fromkeys(c.position for c in self.known))
        shared = {c.name for c in self.known if c.position in self.rows}
        beside = (c.position for c in self.known if c.name in shared)
        return tuple(dict.fromkeys((*self.rows, *beside)))

    @property
    def of_all(self) -> tuple[Characteristic, ...]:
        """What is worked out of all places together, such as how far they lie apart."""
        return tuple(c for c in self.known if c.position not in self.places)

    def goes_on(self, other: Sitting) -> bool:
        """Whether the other is the same measurement, of places that were left for another day."""
        first, then = self.tables[:1], other.tables[:1]
        alike = [(t.columns, t.instrument, t.set_from, t.state, t.unit) for t in (*first, *then)]
        apart = set(self.places).isdisjoint(other.places)
        return self.as_found and other.as_found and apart and len(first) == len(then) and len(set(alike)) < 2


class RecordBlock(Struct, frozen=True):
    """One number of the record: a feature, or what a table of its own reads of it."""

    feature: Feature
    columns: tuple[str, ...]  # of a further table of the feature, which are its title then
    sittings: tuple[Sitting, ...]
    first: bool  # the first of its feature, to which links lead
    on_paper: str = ""  # read on this, which is not in the engine
    called: str = ""  # the name of a further table whose columns another of the feature has, too

    @property
    def places(self) -> tuple[str, ...]:
        """All places, in the order of the sheet."""
        found = dict.fromkeys(spot for sitting in self.sittings for spot in sitting.places)
        ordered = [spot for spot in self.feature.positions if spot in found]
        return tuple(dict.fromkeys((*ordered, *found)))


def blocks(job: Assessment) -> list[RecordBlock]:
    """Every reading and every value of a job, each in one block."""
    found = [block for feature in _features(job) for block in _of_feature(job, feature)]
    return found + [_tried(job, table) for table in job.paper_tables]


def _features(job: Assessment) -> Iterator[Feature]:
    """The features of the sheet; a table of what the sheet does not know is one of its own."""
    yield from job.features
    known = {feature.name for feature in job.features}
    for table in job.tables:
        if table.feature not in known:
            known.add(table.feature)
            yield _unknown(table)


def _unknown(table: ReadingTable) -> Feature:
    from ...quantities import NOTHING, Name

    return Feature(table.feature, Name(table.feature), "", table.unit, "", NOTHING, (), {}, table.columns)


def _of_feature(job: Assessment, feature: Feature) -> Iterator[RecordBlock]:
    tables = [table for table in job.tables if table.feature == feature.name]
    values = [c for c in job.characteristics if c.feature == feature.name and c.round]
    names = _names_of(feature, tables)
    rounds = [round_.name for round_ in job.rounds]
    seen: list[tuple[str, ...]] = []
    taken = {c.key: c.table or _home(c.round, c.name, tables) for c in values}
    for i, name in enumerate(names):
        own = [c for c in values if taken[c.key] == name or (i == 0 and taken[c.key] not in names)]
        made = _sittings(job, [table for table in tables if table.name == name], own, rounds)
        if made:
            columns = made[0].columns if i else ()
            again = made[0].columns in seen
            seen.append(made[0].columns)
            yield RecordBlock(feature, columns, made, first=i == 0, called=name if again else "")


def _names_of(feature: Feature, tables: list[ReadingTable]) -> list[str]:
    """The tables by their names: that which is called as the feature leads, whatever was read before it."""
    return sorted(dict.fromkeys(table.name for table in tables), key=feature.name.__ne__) or [""]


def _home(round_: str, name: str, tables: list[ReadingTable]) -> str:
    """The name of the table that a value stands in: that of its own column, else the first of its round."""
    here = [table for table in tables if table.round == round_]
    own = [table for table in here if name in table.columns]
    return (own or here)[0].name if here else ""


def _sittings(
    job: Assessment, tables: list[ReadingTable], values: list[Characteristic], rounds: list[str]
) -> tuple[Sitting, ...]:
    names = dict.fromkeys((*rounds, *(t.round for t in tables), *(c.round for c in values)))
    made: list[Sitting] = []
    for name in names:
        read = tuple(table for table in tables if table.round == name)
        worked = tuple(c for c in values if c.round == name)
        sitting = Sitting(name, name in job.as_found, read, worked)
        if not sitting.places:  # its rows are in doubt, every one
            continue
        if made and made[-1].goes_on(sitting):
            before = made.pop()
            sitting = replace(before, tables=before.tables + read, values=before.values + worked)
        made.append(sitting)
    return tuple(made)


def _tried(job: Assessment, table: ReadingTable) -> RecordBlock:
    feature = job.feature(table.feature) or _unknown(table)
    return RecordBlock(feature, (), (Sitting(table.round, False, (table,), ()),), False, table.on_paper)
