"""assembly.yaml and running.yaml: how an engine went together, its first start, and after."""

from typing import Literal

from pydantic import Field

from ..text.fields import Day, Hour, Length, Names, Record, Temperature, Text, WithUnit, YesNo
from .rounds import Table


class FittedRecord(Record):
    """A part fitted, where its choice is worth recording."""

    part: Text
    positions: Names = []
    grade: Text = Field("", description="grade, class or size as stamped, as in S3 upper, S4 lower")
    orientation: Text = ""
    lubricant: Text = ""
    by: Text = ""
    date: Day | None = None
    at: Hour | None = Field(None, description="time of day: pictures of that hour stand beside it")
    note: Text = ""

    @property
    def grades(self) -> list[str]:
        """Its grades one by one, in the order of the positions where there is one for each."""
        return self.grade.split()


class Tightened(Record):
    """A group of fasteners tightened by the sheet's stages; what differed stands in note."""

    fasteners: Text
    positions: Names = []
    by: Text
    witness: Text = ""
    date: Day
    at: Hour | None = Field(None, description="time of day: pictures of that hour stand beside it")
    tool: Text = Field("", description="the wrench, as in torque_40_200")
    stretch: dict[str, Length] = Field({}, description="place: tightened length less free length")
    reached: dict[str, WithUnit] = Field({}, description="place: torque at the end of the angle")
    note: Text = ""


class Checked(Record):
    """A check of the build sheet, with what was found."""

    check: Text = Field(description="name of the check in the sheet's assemblies")
    positions: Names = []
    value: WithUnit | None = None
    found: Text = Field("", description="in words, where it is no number")
    good: YesNo | None = Field(None, description="no: not as it should be")
    by: Text
    witness: Text = ""
    date: Day
    at: Hour | None = Field(None, description="time of day: pictures of that hour stand beside it")
    note: Text = ""


class MarkBrought(Record):
    """A reference mark brought together again, and how it was proved right."""

    mark: Text = Field(description="as it stands under 'where' in teardown.yaml")
    found: Text = Field("", description="as in counted 12 pins again")
    agrees: YesNo = True
    verified: Text = Field("", description="how it was proved right, as in pump timed to the manual")
    by: Text
    witness: Text = ""
    date: Day


def two_people(by: str, witness: str | None) -> bool:
    """Whether a second person has signed: nobody witnesses what he did himself.

    >>> two_people("bench 1", "foreman"), two_people("bench 1", "Bench 1 "), two_people("bench 1", None)
    (True, False, False)
    """
    return bool(witness) and (witness or "").strip().casefold() != by.strip().casefold()


class HoldPointRecord(Record):
    """Nobody goes on before it is signed, by two people."""

    what: Text = Field(description="name of the hold point in the sheet's assemblies, or its words")
    by: Text
    witness: Text = ""
    date: Day
    note: Text = ""


class Page(Record):
    """The signature under one page of the build sheet."""

    by: Text
    witness: Text = ""
    date: Day
    note: Text = ""


class BuildDeviation(Record):
    """Something done otherwise than the sheet says: named, signed, and repeated in every document."""

    about: Text = Field(description="a group of fasteners, a check, a part")
    accepts: Literal["length", "stretch", "stages", "unread"] | None = Field(
        None,
        description="of bolts: what was measured, or the stages in doubt, that is accepted with it; of a "
        "feature: unread, that it was not measured again",
    )
    what: Text
    why: Text
    signed: Text
    date: Day


class Assembly(Record):
    """assembly.yaml"""

    fitted: list[FittedRecord] = []
    tightened: list[Tightened] = []
    checks: list[Checked] = []
    marks: list[MarkBrought] = []
    hold_points: list[HoldPointRecord] = []
    pages: dict[str, Page] = Field({}, description="page of the build sheet: who put it together")
    deviations: dict[str, BuildDeviation] = {}


class Priming(Record):
    """Oil brought up before the first start."""

    how: Text
    pressure: WithUnit | None = Field(None, description="what the gauge reached")
    seen: Text = Field("", description="as in oil at every rocker")
    by: Text
    date: Day


class FirstStart(Record):
    date: Day
    by: Text
    pressure_after: WithUnit | None = Field(None, description="until oil pressure showed, as in 4 s")
    ran: Text = Field("", description="how long, and how, as in two warm-ups of 20 min on the stand")
    stopped: Text = Field("", description="why it was stopped, where it had to be")
    leaks: Text = ""
    noises: Text = ""
    retorque: Text = ""
    note: Text = ""


class Next(Record):
    """A thing the customer is to do, and when."""

    at: Text
    do: Text
    done: Day | None = Field(None, description="the day it was done: no document asks for it any more")


class DueRecord(Record):
    """Re-tightening, an oil change, a check of valve clearance: when it is due, and when it was done."""

    what: Text
    at: Text = Field("", description="meter reading or running time, as in 50 h")
    by: Day | None = Field(None, description="this day at the latest")
    done: Day | None = None
    done_at: Text = Field("", description="meter reading when it was done")
    seen: Text = Field("", description="what was found, as in filter cut open: clean")


class FollowUp(Record):
    date: Day
    at: Text = ""
    seen: Text
    by: Text = ""
    good: YesNo | None = Field(None, description="no: something is to be done about it")


class Warranty(Record):
    """What the shop stands behind; what was not opened and each deviation stay outside by themselves."""

    from_: Day = Field(alias="from", description="first day")
    until: Day | None = None
    meter_from: Text = ""
    meter_until: Text = Field("", description="or by this meter reading, whichever comes first")
    covers: Text = ""
    not_covered: list[Text] = []
    conditions: list[Text] = []


class Running(Record):
    """running.yaml"""

    priming: Priming | None = None
    first_start: FirstStart | None = None
    temperature: Temperature | None = None
    tables: dict[str, Table] = {}
    next: list[Next] = Field([], description="break-in and service, for the customer; else the sheet's")
    due: list[DueRecord] = Field([], description="re-tightening, oil change, checks: when, and when done")
    follow_up: list[FollowUp] = []
    warranty: Warranty | None = None
