"""What parts and sizes are chosen by: keys of the sheet, the stock file, orders to a machine shop."""

from collections.abc import Collection, Mapping
from functools import cached_property
from typing import Literal

from pydantic import Field

from ...trade.choosing.selection import Piece
from ..text.fields import BareOrUnit, Commas, Day, Limit, Money, Names, Phrases, Record, Stamped, Text
from .sizes import size_step, sizes_of


class CodeTable(Record):
    """Housing code and journal code to a shell grade."""

    housing_bands: dict[str, Limit]
    journal_bands: dict[str, Limit]
    columns: Names
    rows: dict[str, Stamped] = Field(
        description="housing code: a grade for each journal code; S2/S3 where the halves differ"
    )


def piece_numbers(pieces: Mapping[str, str], classes: Collection[str] = ()) -> dict[Piece, str]:
    """The part of each piece that a key names: a grade, also of one half (upper S3); a class, also of a size.

    >>> [*piece_numbers({"upper S3": "U3", "S2": "M2"})]
    [Piece(which='upper', grade='S3', family=''), Piece(which='', grade='S2', family='')]
    >>> [*piece_numbers({"A 0.50 mm": "PA50"}, classes=["A", "B"])]
    [Piece(which='', grade='A', family='0.50 mm')]
    """
    numbers = {}
    for key, number in pieces.items():
        half, _, grade = key.rpartition(" ")
        label = next((one for one in classes if key.startswith(f"{one} ")), "")
        numbers[Piece("", label, key[len(label) + 1 :]) if label else Piece(half, grade)] = number
    return numbers


class OtherShells(Record):
    """Another kind of shell of the same bearing, for a crank that is not as it left the maker."""

    for_: Text = Field(
        alias="for", description="a size, as in 0.25 mm undersize, or in words, as in nitrided"
    )
    size: Text = Field("", description="size step of a crank that 'for:' tells in words")
    wall: Limit | None = Field(None, description="where it comes in one wall only")
    grades: dict[str, Limit] = Field({}, description="grade as stamped: wall")
    halves: dict[str, Text] = Field({}, description="upper, lower: part")
    pieces: dict[str, Text] = Field({}, description="grade, or half and grade (upper S3): part")
    codes: CodeTable | None = Field(None, description="the table by which its grades are told")
    note: Text = Field("", description="what else is different: groove, width, tang, alloy")

    @cached_property
    def numbers(self) -> dict[Piece, str]:
        """The part of each piece that the sheet tells apart."""
        return piece_numbers(self.pieces)

    @property
    def family(self) -> str:
        """The kind of crank that it is for, '' for the maker's own at another size."""
        return "" if size_step(self.for_).amount is not None else self.for_

    @property
    def step(self) -> str:
        """The size step that it is for, '' for standard."""
        return (self.size) if self.family else self.for_


class Machining(Record):
    """What a machine shop has to know of one surface, beside its size and form."""

    finish: Text = Field("", description="as in Ra 0.2 µm at most, polished against the rotation")
    fillet: Text = Field("", description="as in 2.5 to 3.0 mm, no step to the journal")
    oil_holes: Text = Field("", description="as in chamfered and polished after grinding")
    reference: Text = Field("", description="face or axis that it is machined from")
    before: Phrases = Field([], description="what comes first, as in plugs out; crack test")
    after: Phrases = Field([], description="what comes last, as in galleries brushed and washed")
    never: Phrases = Field([], description="what must not be done")
    report: Phrases = Field([], description="what must be measured and sent back, beside size and form")


class Shims(Record):
    """Shims, or solid buckets, that set valve clearance, and how they are chosen."""

    clearance: Names = Field(description="features whose readings they set, one or several")
    shim: Text = Field("shim", description="column with the shim that was fitted when it was read")
    lash: Text = Field("lash", description="column with the clearance")
    fitted: Literal["over_bucket", "under_bucket", "solid_bucket", "thrust_washer"] = "over_bucket"
    sizes: Text = Field(description="thicknesses that are sold, as in 2.00 to 3.00 by 0.05 mm")
    target: dict[str, BareOrUnit] = Field({}, description="feature: clearance to aim at; else the middle")
    part: Text = ""
    source: Text = ""

    @property
    def thicknesses(self) -> list[float]:
        """All that are sold [mm]."""
        return sizes_of(self.sizes)


class Matching(Record):
    """Parts put together by mass."""

    rods: Text = Field(description="feature with the mass of each rod")
    pistons: Text = Field(description="feature with the mass of each piston, pin and rings with it")
    within: BareOrUnit = Field(description="what the sums may differ by, as in 4 g")
    source: Text = ""


class Shelf(Record):
    """What lies on the shelf of one kind of part: columns are grades or sizes, rows the halves."""

    columns: Stamped = Field(description="grades, classes or sizes")
    rows: dict[str, Stamped] = Field(
        description="the halves (upper, lower), or one row named count: how many"
    )
    unit: Text = Field("", description="of sizes in columns")
    no_more: Text = Field("", description="grades that cannot be ordered now: all, or as in S4 S5")
    note: Text = ""

    @property
    def thicknesses(self) -> list[float]:
        """Its columns, where they are thicknesses [mm]."""
        return self._mm(self.columns)

    @property
    def barred_thicknesses(self) -> list[float]:
        """Those that cannot be ordered now [mm]."""
        return self.thicknesses if self.no_more == "all" else self._mm(self.barred)

    @property
    def barred(self) -> list[str]:
        """Grades or sizes that cannot be ordered now, as typed."""
        if self.no_more == "all":
            return self.columns
        return self.no_more.replace(",", " ").split()

    def orders(self, grade: str) -> bool:
        """Whether more of a grade can be had."""
        return self.no_more != "all" and grade not in self.barred

    def _mm(self, sizes: list[str]) -> list[float]:
        return sizes_of(" ".join([*sizes, self.unit or "mm"])) if sizes else []


class Stock(Record):
    """stock.yaml: what the shop has on its shelves."""

    counted: Day | None = None
    engines: dict[str, dict[str, Shelf]] = Field(
        {}, description="engine sheet: feature or shims of it: what is there"
    )


class MachiningOrder(Record):
    """What goes to a machine shop: the parts, and all that it may not find on them."""

    to: Text = Field(description="the machine shop")
    parts: Commas = Field(description="parts that are sent, as in crankshaft, connecting_rod")
    sent: Day | None = None
    wanted: Day | None = Field(None, description="wanted back by this day")
    promised: Day | None = Field(None, description="day that the machine shop named for it")
    back: Day | None = Field(None, description="came back on this day")
    price_limit: Money | None = Field(None, description="ceiling, net: call before exceeding it")
    price_limits: dict[str, Money] = Field({}, description="feature: ceiling of its operation, net")
    goes_along: Phrases = Field([], description="what is sent with them, as in main caps with their bolts")
    comes_back: Phrases = []
    supplied: Phrases = Field([], description="finish to these, as in pistons numbered 1 to 4")
    before: Phrases = []
    after: Phrases = []
    never: Phrases = []
    note: Text = ""
    positions: dict[str, Names] = Field({}, description="feature: only these positions of it")
