"""What the engine's sheet says of taking apart and putting together: access, fasteners, pages, start."""

from collections.abc import Collection
from typing import Any, Literal

from pydantic import Field, model_validator

from ...quantities import message
from ..text.fields import (
    Angle,
    BareOrUnit,
    Commas,
    Count,
    Duration,
    Length,
    Limit,
    Material,
    Names,
    Record,
    Text,
    Torque,
    WithUnit,
    YesNo,
)


class AccessWay(Record):
    """One way to a part: what is off before it, and what it takes.  A bare line is what is off before it."""

    first: Names = Field([], description="what is off before it, as in sump rod_caps")
    hours: Duration | None = Field(None, description="to take it off, as in 0.5 h")
    back: Duration | None = Field(None, description="to put it back, as in 0.8 h")
    how: Text = Field("", description="how, where there are several ways or it is not plain")
    condition: Text = Field("", description="what must be so; a job that knows says it under access: holds")
    risk: Text = Field("", description="what can go wrong this way")
    saves: Text = Field("", description="what stays undisturbed, beside hours and parts")
    uses_up: Commas = Field([], description="parts that this way uses up, beside those of its joint")
    tools: Commas = Field([], description="special tools")
    loses: Commas = Field([], description="what is lost: coolant, valve timing ...")
    state: Names = Field([], description="states that must have been brought about, as in crank_parked")
    disturbs: Names = Field(
        [], description="states that it ends, as in crank_parked where the crank is turned"
    )
    caution: Text = Field("", description="springs, turning, lifting ... or words of your own")

    @model_validator(mode="before")
    @classmethod
    def _of_a_line(cls, typed: Any) -> Any:
        return {"first": typed} if isinstance(typed, str) else typed

    @classmethod
    def __get_pydantic_json_schema__(cls, core: Any, handler: Any) -> dict[str, Any]:
        return {"anyOf": [{"type": "string", "examples": ["sump rod_caps"]}, handler(core)]}


class AccessState(Record):
    """A state that steps need: the crank parked, the engine turned over on its stand."""

    text: Text = Field(
        description="as the plan says it: crank parked, all pistons clear; not turned from here"
    )
    first: Names = Field([], description="what is off before it can be brought about")
    hours: Duration | None = Field(None, description="to bring it about, as in 0.1 h")
    until: Names = Field([], description="once these are off it need not last; none: to the end")


class Stage(Record):
    """One step of a tightening: a torque, an angle on top, or a stretch from the free length."""

    torque: Torque | None = None
    also: Torque | None = Field(None, description="the same torque in another unit, where the source has it")
    use: Text = Field("", description="unit of the one that counts, where the two disagree; name the source")
    angle: Angle | None = None
    stretch: Length | None = None
    source: Text = Field("", description="where it differs from the group's")
    note: Text = Field("", description="as in loosen by half a turn first")


class Fastener(Record):
    """One group of bolts."""

    title: Text = ""
    part: Text
    quantity: Count
    reuse: Literal["always", "never", "by_measure"]
    measure: Text = Field("", description="the feature that decides, with by_measure")
    thread: Text = Field("", description="as in M12x1.5 or 3/8-24")
    class_: Text = Field("", alias="class", description="strength, as in 10.9 or grade 8")
    length: Length | None = Field(None, description="under the head, new")
    clamped: Length | None = Field(None, description="between head and first engaged thread")
    shank: Length | None = Field(None, description="plain length of it")
    shank_diameter: Length | None = Field(None, description="where it is not the thread's")
    clamps: Material | None = Field(None, description="what is clamped: iron, steel, aluminium")
    nut: YesNo = Field(False, description="yes: a nut holds it; no: a tapped hole")
    lubricant: Text = ""
    nut_factor: BareOrUnit | None = Field(
        None, description="torque over preload and diameter, where known; else by the lubricant"
    )
    sealant: Text = ""
    washer: Text = Field("", description="as in chamfer towards the head")
    order: Text = Field("", description="centre outwards, spiral from centre, criss-cross, in turn")
    layout: Text = Field("", description="where they sit: 2 x 7, rows of 4 5 4, circle of 8")
    sequence: list[Text] = Field(
        [], description="the maker's numbers at the places, one line a row; they go before 'order'"
    )
    stages: list[Stage] = []
    source: Text = ""


Verb = Literal["fit", "tighten", "measure", "mark", "check", "hold", "do"]
VERBS: tuple[Verb, ...] = ("fit", "tighten", "measure", "mark", "check", "hold", "do")


def _plain(words: str) -> str:
    return " ".join(words.replace("_", " ").casefold().rstrip(". ").split())


class BuildStep(Record):
    """One line of the build sheet: exactly one of fit, tighten, measure, mark, check, hold, do."""

    fit: Text = Field("", description="a feature, a joint or a part of this sheet")
    tighten: Text = Field("", description="a group of fasteners")
    measure: Text = Field("", description="a feature: its limits, and what was read")
    mark: Text = Field("", description="words of a reference mark: its line of the register")
    check: Text = Field("", description="a name of your own for a check; 'text' says what")
    hold: Text = Field("", description="a name of your own for a hold point; 'text' says what")
    do: Text = Field("", description="anything else, in words")
    text: Text = ""
    positions: Names = []
    orientation: Text = ""
    lubricant: Text = ""
    sealant: Text = ""
    limit: Limit | None = Field(None, description="of a check with a number, as in max 8 N·m")
    caution: Text = Field("", description="springs, turning, lifting, heat ... or words of your own")
    source: Text = ""

    @property
    def verb(self) -> Verb:
        """Which of the keys says what to do; the first where several stand."""
        return next((verb for verb in VERBS if getattr(self, verb)), "do")

    @property
    def name(self) -> str:
        """What stands behind the verb."""
        return str(getattr(self, self.verb))

    def called(self, typed: str) -> bool:
        """Whether somebody means this step: by its name, or by the words that the sheet prints for it.

        >>> step = BuildStep(hold="crank_in", text="Crankshaft is in.")
        >>> [step.called(typed) for typed in ("crank_in", "Crank in", "crankshaft is in", "in")]
        [True, True, True, False]
        """
        names = (self.name, self.text or self.name, IN_GERMAN.get(self.name, self.name))
        return _plain(typed) in map(_plain, names)


class BuildPagePlan(Record):
    """One page of the build sheet: one assembly."""

    title: Text = ""
    before: list[Text] = Field([], description="what must be so before it begins")
    steps: list[BuildStep]

    def without(self, gone: Collection[str]) -> "BuildPagePlan":
        """The same where some features are not there."""
        steps = [step for step in self.steps if not {step.fit, step.measure} & {*gone}]
        return self.model_copy(update={"steps": steps})


# asked for before any engine starts, where the sheet has no pages of its own (common practice)
CLOSING = BuildPagePlan(
    steps=[
        BuildStep(
            check="two_turns",
            text=message("Two full turns of the crankshaft by hand, marks met again, no contact"),
        ),
        BuildStep(check="nothing_left", text=message("Tools, rags and left-over parts counted")),
        BuildStep(hold="ready_to_start", text=message("Engine may be started")),
    ]
)
# as a German sheet prints them: whoever signs copies what stands there
IN_GERMAN = {
    "two_turns": "Zwei volle Umdrehungen der Kurbelwelle von Hand, Marken wieder beisammen, nichts stößt an",
    "nothing_left": "Werkzeug, Lappen und übrige Teile gezählt",
    "ready_to_start": "Der Motor darf gestartet werden",
}
# names of the pages that stand in for those of the sheet
STAND_IN = ("assembly", "fits", "closing")


class BreakIn(Record):
    at: Text
    do: Text


class Retighten(Record):
    fasteners: Text
    at: Text = Field(description="when, as in after 50 h, engine cold")
    how: Text = ""


class StartPlan(Record):
    """The maker's words on first start and break-in."""

    priming: Text = ""
    pressure_within: WithUnit | None = Field(None, description="oil pressure must show within, as in 10 s")
    limits: Names = Field([], description="features whose limits hold at first start, as in oil_pressure")
    stop_if: list[Text] = []
    break_in: list[BreakIn] = []
    retighten: list[Retighten] = Field([], description="none where the maker asks for none")
    oil_change: Text = Field("", description="first change, as in after 50 h")
    source: Text = ""
