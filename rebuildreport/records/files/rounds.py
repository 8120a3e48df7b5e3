"""measurements/ROUND.yaml: one file a measuring round; a row is one line of readings."""

from typing import Literal

from msgspec import Struct
from pydantic import Field

from ...quantities import Quantity
from ..text.fields import Day, Hour, Names, Record, Temperature, Text

FIRST_START = "first start"  # the round that the tables of running.yaml make
Spot = tuple[str, str, str, str]  # round, table, position, column


class Cell(Struct, frozen=True):
    """What stands in one column of a row: repeats at one spot, 'not taken', or 'no clearance'."""

    text: str
    readings: tuple[Quantity, ...]
    state: Literal["read", "not taken", "none"]
    line: int
    column: int
    confirmed: bool = False  # looked at again and found right: a trailing !
    no_go: Quantity | None = None  # the leaf or plug that did not go in; the reading itself: nor did any less

    @property
    def is_nothing(self) -> bool:
        """Whether all that was read is nought."""
        return bool(self.readings) and not any(reading.value for reading in self.readings)


class Table(Record):
    """Readings of one feature with one instrument."""

    feature: Text = Field("", description="the feature, where the table has another name")
    unit: Text = ""
    instrument: Text = ""
    set_from: Text = Field("", description="the micrometer that this bore gauge was set in")
    state: Text = Field("", description="as measured, as in caps torqued, no shells")
    temperature: Temperature | None = Field(None, description="of the part, where not the round's")
    instrument_temperature: Temperature | None = Field(
        None, description="where part and instrument had not soaked together"
    )
    by: Text = ""
    date: Day | None = None
    at: Hour | None = Field(None, description="time of day: pictures of that hour stand beside it")
    columns: Names
    rows: dict[str, Text] = Field(description="position: readings, separated by blanks")


class RoundRecord(Record):
    """One measuring round; the file's name is the round's name."""

    date: Day
    by: Text
    temperature: Temperature
    title: Text = ""
    of: Text = Field("", description="the candidate of work.yaml that was read, as in crank_b")
    tables: dict[str, Table] = {}
