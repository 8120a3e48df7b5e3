"""What teardown.yaml records: steps, marks, fasteners, identity of parts, what was seen on the way."""

from typing import Literal

from pydantic import Field

from ...quantities import Quantity, parse
from ..text.fields import Commas, Count, Duration, Hour, Names, Record, Text, WithUnit, YesNo

Trust = Literal["factory", "before_movement", "after_movement", "inferred"]
Condition = Literal[
    "fine",
    "loose",
    "over_tight",
    "stretched",
    "broken",
    "stripped",
    "wrong_class",
    "wrong_length",
    "repaired_thread",
    "corroded",
    "missing",
]


class TeardownStep(Record):
    """One thing taken off, in the order done."""

    removed: Text
    hours: Duration | None = Field(None, description="what it took, as in 0.5 h")
    at: Hour | None = Field(None, description="time of day: pictures of that hour stand beside it")
    note: Text = ""
    photos: Commas = []


class MarkRecord(Record):
    """A reference mark between parts whose relation would be lost."""

    where: Text = Field(description="between which two parts")
    factory: Text = Field("", description="the maker's mark, as seen")
    legible: YesNo | None = Field(None, description="whether the maker's mark can be read beyond doubt")
    shop: Text = Field("", description="our mark, and how it was made")
    crank_at: Text = Field("", description="crank angle and cylinder when it was looked at or made")
    count: Text = Field("", description="pins, links, teeth: 12 pins between the dots")
    tensioner: Text = Field("", description="how far the tensioner stood out at that moment")
    trust: Trust
    verify: Text = Field("", description="how it will be proved right before anything turns")
    joint: Text = Field("", description="what goes on when the mark is brought together, as among the steps")
    photo: Text = ""
    finding: Text = Field("", description="the finding that it gave rise to, as in F4")


class AsFound(Record):
    """Fasteners as they were found."""

    where: Text = Field(description="group of the sheet, and where, as in rod_bolts R3")
    quantity: Count | None = None
    condition: Condition | None = None
    breakaway: WithUnit | None = Field(None, description="largest torque while letting go")
    unit: Text = Field("", description="unit of the readings")
    readings: dict[str, Text] = Field(
        {}, description="place: breakaway of its bolts, as in 95 102; evidence of a pattern, no proof"
    )
    freed: Text = Field("", description="how a stuck one was freed")

    @property
    def group(self) -> str:
        """The group or joint of the sheet, without which of them; '' where nothing is typed.

        >>> AsFound(where="rod_bolts R3").group, AsFound(where="").group
        ('rod_bolts', '')
        """
        return self.where.partition(" ")[0]

    @property
    def torques(self) -> dict[str, list[Quantity]]:
        """The readings at each place; raises QuantityError for what is no torque."""
        return {
            place: [parse(word, unit=self.unit, dimension="torque") for word in text.split()]
            for place, text in self.readings.items()
        }

    note: Text = ""
    photo: Text = ""
    finding: Text = Field("", description="the finding that it gave rise to, as in F4")


class Identity(Record):
    """Which part was which, and which way round."""

    part: Text
    positions: Names = Field([], description="places that it was in, one label each")
    mark: Text = Field(description="as found; none where there was none")
    shop_mark: Text = ""
    orientation: Text = Field("", description="which way round it goes, as in arrow to the front")
    joint: Text = Field("", description="what goes on when it matters, as among the steps")
    photo: Text = ""
    finding: Text = ""


class SizeAsFound(Record):
    """Earlier work: a position that is not at its standard size."""

    feature: Text
    positions: Names
    size: Text = Field("", description="as in 0.020 in oversize")
    treated: Text = Field("", description="as shells of the sheet are 'for:', as in nitrided")
    sleeved: YesNo = False


class Missing(Record):
    """A part that did not come or was not there, without which a feature cannot be measured."""

    what: Text = Field(description="as in main cap")
    feature: Text
    positions: Names
    remedy: Text = Field("", description="as in line bore with a made cap")


class Seen(Record):
    """A tensioner, a guide, a seal: what was seen of it."""

    where: Text
    seen: Text
    stood_out: Text = Field("", description="of a tensioner: travel or teeth used when found")
    replace: YesNo = Field(False, description="yes: not to be used again")
    photo: Text = ""
    finding: Text = ""


class Earlier(Record):
    """What somebody replaced or repaired before."""

    what: Text
    told_by: Text = Field("", description="how it shows: a stamp, a colour, the owner's words")
    finding: Text = ""
    renewed: Names = Field([], description="features or parts that were new then")
    meter: Text = Field("", description="meter reading when it was done, as in 90 000 km")


class NotInspected(Record):
    """What was open and yet not looked at, and why: report and warranty repeat it."""

    what: Text
    why: Text = ""
