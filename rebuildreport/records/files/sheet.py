"""engines/NAME.yaml: one spec sheet per engine family, typed in from the maker's information."""

from collections import Counter
from collections.abc import Collection, Iterable
from functools import cached_property
from typing import Any, Literal

from pydantic import ConfigDict, Field

from ...quantities import Quantity, QuantityError, UnknownUnit
from ...trade.choosing.selection import Piece
from ...trade.engine.cylinders import Rows, rows_of
from ..text.fields import (
    BareOrUnit,
    Commas,
    Count,
    Day,
    Days,
    Force,
    Interval,
    Length,
    Limit,
    LimitOrShare,
    Mass,
    Material,
    Money,
    Names,
    Percent,
    Pressure,
    RatedTorque,
    Ratio,
    Record,
    Speed,
    Temperature,
    Text,
    Turn,
    YesNo,
    bare_or_unit,
)
from .buildplan import AccessState, AccessWay, BuildPagePlan, Fastener, StartPlan
from .choosing import CodeTable, Machining, Matching, OtherShells, Shims, piece_numbers
from .sizes import TypedSize, listed_steps, steps_of


class EngineLayout(Record):
    """Geometry, and the words for front, rear and turning that every drawing prints."""

    cylinders: Count
    arrangement: Text = Field(description="inline, V, flat ...")
    fuel: Text = ""
    cooling: Literal["water", "air"] | None = Field(None, description="water or air")
    strokes: Literal["2", "4"] | None = Field(None, description="2 or 4")
    cylinder_1_at: Text = Field("", description="front or rear")
    front: Text = Field("", description="which end is called the front")
    rotation: Text = Field("", description="clockwise or anticlockwise, and seen from where")
    firing_order: Names | None = None
    banks: list[Names] = Field(
        [], description="rows of a V or flat engine, each by its cylinder numbers from the front"
    )
    bore: Length | None = None
    stroke: Length | None = None

    @property
    def rows(self) -> Rows:
        """How its cylinders stand."""
        return rows_of(self.arrangement)


def _keys_of_kinds(schema: dict[str, Any]) -> None:
    """The keys that kinds declare, for the JSON Schema; no others are allowed."""
    from ...trade.kinds import keys

    described = {key: {"type": ["string", "number"], "description": what} for key, what in keys().items()}
    schema["properties"] = {**described, **schema["properties"]}
    schema["additionalProperties"] = False


class FeatureRecord(Record):
    """One thing to measure, or one fit to work out, with its limits and their source.

    A kind may declare further keys (``trade.kinds``): names of other features,
    and numbers.  They stand here as text; ``sheetcheck`` holds them against the kind.
    """

    @classmethod
    def further_keys(cls) -> Collection[str]:
        from ...trade.kinds import keys

        return keys()

    model_config = ConfigDict(extra="allow", json_schema_extra=_keys_of_kinds)
    __pydantic_extra__: dict[str, Text]

    kind: Text = Field(description="what is worked out: journal, bore, readings ...")
    title: Text = Field("", description="how documents name it, as in Main journals")
    part: Text = Field("", description="the part it belongs to, as in crankshaft")
    material: Material | None = Field(
        None, description="iron, steel, aluminium: for readings not taken at 20 °C"
    )
    positions: Names = []
    columns: Names = Field([], description="readings in bench order, plane_direction")
    unit: Text = Field("", description="unit of the limits, and of readings that state none")
    state: Text = Field("", description="state needed while measuring, as in caps torqued, no shells")
    new: dict[str, LimitOrShare] = Field(
        {},
        description="limits for a new or machined surface, as in 0.050 to 0.110, "
        "or 0.0040 to 0.0060 per mm of bores",
    )
    wear: dict[str, LimitOrShare] = Field({}, description="limits for a surface used again as it is")
    whole_engine: YesNo | None = Field(
        None,
        description="yes: read on the assembled engine, so it lapses once the engine was apart; "
        "compression, leak-down and oil pressure are, unless 'no' stands here",
    )
    source: Text = Field("", description="a document and page, shop_practice or common_practice")
    # fits name the features they join
    housing: Text = ""
    shells: Text = ""
    journal: Text = ""
    outer: Text = ""
    inner: Text = ""
    direction: Text = Field("", description="direction read under load or thrust: v, t ...")
    # machining and choice
    undersizes: Text = Field("", description="steps in their own unit, as in 0.25 0.50 mm")
    oversizes: Text = Field("", description="steps in their own unit, as in 0.020 0.040 in")
    cleanup_stock: BareOrUnit | None = Field(None, description="least stock on diameter for a step")
    wall: Limit | None = Field(None, description="wall of the standard shell")
    grades: dict[str, Limit] = Field({}, description="grade as stamped: wall")
    codes: CodeTable | None = None
    mix: Literal["adjacent", "none"] | None = None
    sets: dict[str, Text] = Field(
        {}, description="shell set for each size, as in standard: MS; one is bought"
    )
    aim_above_minimum: BareOrUnit | None = None
    replace_with: Commas = Field(
        [], description="parts for a position beyond its limit, condemned or replaced"
    )
    # what a part or a size is chosen by
    halves: dict[str, Text] = Field({}, description="upper, lower: part, where halves are bought by grade")
    other: dict[str, OtherShells] = Field({}, description="shells for a crank that is ground or treated")
    classes: dict[str, Limit] = Field(
        {}, description="class: skirt of pistons, or bore in place of the bushes of a running fit"
    )
    pieces: dict[str, Text] = Field({}, description="class of pistons, bushes, grade of shells (S3): part")
    target: BareOrUnit | None = Field(None, description="clearance to aim at; else the middle of the limits")
    runout: Text = Field("", description="feature with the runout about the axis of machining")
    wear_side: Literal["one", "all_round"] | None = Field(
        None, description="where the wear is taken to be; a bore's on one side, a journal's all round"
    )
    smallest: BareOrUnit | None = Field(None, description="of a journal: no smaller than this")
    largest: BareOrUnit | None = Field(None, description="of a bore: no larger than this")
    hardened: BareOrUnit | None = Field(None, description="depth of the hardened layer when new, radial")
    hardened_left: BareOrUnit | None = Field(None, description="of it must be left, radial")
    wall_left: BareOrUnit | None = Field(None, description="of a cylinder's wall must be left")
    sleeve_oversizes: Text = Field("", description="steps that a sleeve of the shop's can be bored to")
    fillet: Limit | None = Field(None, description="of a journal: radius of its fillets")
    machining: Machining | None = None
    # what a skim of a face does, for each millimetre that it takes off
    height: Text = Field("", description="of a face: feature with the height that a skim takes from")
    raises: Names = Field([], description="of a face: features that a skim makes as much larger")
    lowers: Names = Field([], description="of a face: features that a skim makes as much smaller")
    drive: Text = Field(
        "", description="of a face: chain, or gears and which, that a skim brings nearer; none"
    )

    @property
    def all_limits(self) -> list[tuple[tuple[str, ...], Interval]]:
        """Every limit with its place below the feature: new, wear, the wall of a shell and of its grades."""
        limits: list[tuple[tuple[str, ...], Interval]] = [
            ((side, key), limit)
            for side, of_side in (("new", self.new), ("wear", self.wear))
            for key, limit in of_side.items()
        ]
        limits += [(("grades", grade), wall) for grade, wall in self.grades.items()]
        return [*limits, *([(("wall",), self.wall)] if self.wall else [])]

    def share_of(self, key: str) -> str:
        """The feature that its limits of this name are shares of the size of; '' where they are none."""
        limits = (self.new.get(key), self.wear.get(key))
        return next((limit.share.of for limit in limits if limit and limit.share), "")

    def codes_for(self, treated: str) -> CodeTable | None:
        """The table of codes of shells for journals of a treatment; '' for the maker's own."""
        if not treated:
            return self.codes
        return next((one.codes for one in self.other.values() if one.family == treated and one.codes), None)

    @property
    def drives(self) -> tuple[str, str]:
        """What a skim of a face brings nearer, and at which position: '' where at all, or nothing is."""
        name, _, position = self.drive.partition(" ")
        return name, position

    @cached_property
    def numbers(self) -> dict[Piece, str]:
        """The part of each piece that the sheet tells apart."""
        return piece_numbers(self.pieces, self.classes)

    def number(self, key: str) -> Quantity | None:
        """A number that its kind asks for, as typed; None where it does not stand there."""
        typed = self.further.get(key)
        return bare_or_unit(typed) if typed else None

    def given(self, key: str, unit: str) -> float | None:
        """The same in ``unit``; None where it states none."""
        number = self.number(key)
        return round(number.to(unit), 9) if number and number.unit else None

    def along(self, key: str) -> tuple[float, ...]:
        """Where its positions stand along an axis, by one of its keys [mm]; none where it does not say."""
        typed = self.further.get(key)
        return tuple(place for _, place in steps_of(typed)) if typed else ()

    @property
    def steps(self) -> list[TypedSize]:
        """The sizes that are offered beside the standard one, undersizes first."""
        smaller = listed_steps(self.undersizes, "undersize")
        return [*smaller, *listed_steps(self.oversizes, "oversize")]

    def without_links(self, known: Collection[str]) -> "FeatureRecord":
        """The same where only these features are there: a skim then moves no other."""
        moved = {key: [one for one in getattr(self, key) if one in known] for key in ("raises", "lowers")}
        names = {key: getattr(self, key) for key in ("height", "runout")}
        kept = {key: name if name in known else "" for key, name in names.items()}
        drive = self.drive if self.drives[0] in known else "none" if self.drive else ""
        return self.model_copy(update={**moved, **kept, "drive": drive})

    @property
    def further(self) -> dict[str, str]:
        """Keys beside the ones above, as typed."""
        return self.__pydantic_extra__ or {}

    def link(self, key: str) -> str | None:
        """The feature that a key names, such as ``housing``."""
        own = (
            self.__dict__
        )  # asked ten thousand times a job, where pydantic's own way takes ten times as long
        named: str | None = own[key] if key in own else self.further.get(key)
        return named

    def links(self, keys: Iterable[str]) -> dict[str, str]:
        """The features that these keys name, as far as they are written."""
        return {key: name for key in keys if (name := self.link(key))}


class ChoiceRule(Record):
    """A part chosen by a measurement, such as the gasket by the piston's protrusion."""

    by: Text
    unit: Text = ""
    table: dict[str, Limit]
    source: Text = ""


class Joint(Record):
    """What taking a joint apart uses up."""

    needs: Commas = Field([], description="gaskets and seals, or a choice by its name")
    places: Count = Field(1, description="where it stands, each with all that it needs: 2 of both heads")
    fasteners: Commas = Field([], description="groups, each with the quantity of all places")

    @property
    def uses(self) -> Counter[str]:
        """How many of each it uses up, at all places."""
        return Counter({part: count * self.places for part, count in Counter(self.needs).items()})


class Part(Record):
    """One part with its price."""

    name: Text
    price: Money | None = None
    core: Money | None = Field(None, description="deposit on the old part, outside the price")
    price_on: Day | None = Field(None, description="day of this price, where it is not that of prices_on")
    per: Literal["engine", "position", "each"] = Field(
        "position",
        description="engine: one, however many reasons; position: one for each; "
        "each: one for each feature at each position",
    )
    thickness: Length | None = None
    tax: Percent | None = Field(None, description="where it is not taxed as other parts are")
    contains: dict[str, Count] = Field({}, description="a set: part and how many of it are inside")
    supplier: Text = ""
    order_number: Text = Field("", description="the supplier's number, where it differs")
    supersedes: Commas = Field([], description="older numbers of the same part")
    pack: Count = Field(1, description="sold only in packs of so many")
    days: Days | None = Field(None, description="days until it comes")
    core_days: Days | None = Field(None, description="days within which the old part must be back")


class MotionRecord(Record):
    """Moving parts, rated torque and oil: without rod length, torque and ratio nothing is worked out."""

    rod_length: Length | None = Field(None, description="between the centres of its eyes")
    compression_ratio: Ratio | None = Field(None, description="as in 9.5 or 9.5:1")
    torque: RatedTorque | None = Field(None, description="highest rated")
    torque_at: Speed | None = Field(None, description="speed of that torque, as in 1400 rpm")
    idle: Speed | None = None
    top: Speed | None = Field(None, description="highest rated speed")
    boost: Pressure | None = Field(None, description="of a blower, above the air's, at rated torque")
    pressure_trace: Text = Field(
        "",
        description="CSV file beside the sheet: crank angle and pressure as measured, for a cycle of its own",
    )
    throws: list[Names] = Field([], description="cylinders of each crank throw from the front; else one each")
    bank_angle: Turn | None = Field(None, description="between rows of a V engine; of a flat one 180 deg")
    throw_spacing: Length | None = Field(None, description="along the crankshaft from throw to throw")
    pin_offset: Turn | None = Field(None, description="between the pins of one throw, of a split-pin crank")
    piston_mass: Mass | None = Field(None, description="one piston with rings, pin and locks")
    rod_big_mass: Mass | None = Field(None, description="big end of one rod, the other hung level")
    rod_small_mass: Mass | None = Field(None, description="small end of one rod")
    counterweight: Text = Field("", description="moment of those of one throw, as in 90000 g·mm")
    nose_pull: Force | None = Field(None, description="of a belt or chain at the crank's nose, as in 900 N")
    nose_pull_at: Turn | None = Field(
        None, description="where it pulls to, from the upright as the crank turns"
    )
    nose_lever: Length | None = Field(None, description="of that pull, in front of the first main's middle")
    valve_lift: Length | None = Field(None, description="highest of any valve, at the valve, without lash")
    valve_room: Length | None = Field(
        None, description="from the nearest shut valve to its piston at the upper dead centre, along its stem"
    )
    valve_tilt: Turn | None = Field(None, description="of a valve's stem from its cylinder's axis")
    main_width: Length | None = Field(None, description="of a main shell that carries")
    rod_width: Length | None = None
    oil: Text = Field("", description="grade, as in 15W-40")
    oil_temperature: Temperature | None = Field(None, description="of the oil that comes to the bearings")
    roughness: Length | None = Field(None, description="of journal and shell together (Rz), run in")
    source: Text = ""


def cited(source: str) -> tuple[str, str, str]:
    """A source as it is typed: the word for its document, the place in it, and the page where that is one.

    >>> cited("manual page 31"), cited("shop_practice")
    (('manual', 'page 31', '31'), ('shop_practice', '', ''))
    """
    word, _, where = source.partition(" ")
    return word, where, where.removeprefix("page ") if where.startswith("page ") else ""


class Engine(Record):
    """The spec sheet."""

    maker: Text
    model: Text
    documents: dict[str, Text] = {}
    layout: EngineLayout
    features: dict[str, FeatureRecord] = {}
    choices: dict[str, ChoiceRule] = {}
    shims: dict[str, Shims] = {}
    matching: dict[str, Matching] = {}
    fasteners: dict[str, Fastener] = {}
    joints: dict[str, Joint] = {}
    access: dict[str, list[AccessWay]] = Field(
        {}, description="part: its ways, each a line of what is off before it, or a block that says more"
    )
    states: dict[str, AccessState] = Field({}, description="states that steps of access need")
    motion: MotionRecord | None = Field(
        None, description="moving parts, torque and oil: what crank loads and oil films are worked out from"
    )
    assemblies: dict[str, BuildPagePlan] = Field({}, description="pages of the build sheet, in order")
    first_start: StartPlan | None = None
    always: dict[str, Count] = {}
    prices_on: Day | None = None
    parts: dict[str, Part] = {}

    def model_post_init(self, context: Any, /) -> None:
        """Limits that are shares of a size, as those of the standard size: moved where they are judged by."""
        for feature in self.features.values():
            for side in (feature.new, feature.wear):
                for key, limit in side.items():
                    if limit.share and (size := self.standard_size(limit.share.of)):
                        side[key] = limit.share.on(size, feature.unit or "mm").at(0.0)

    def standard_size(self, name: str) -> float | None:
        """The middle of what a feature's sizes may be when new [mm]; None where the sheet does not say."""
        feature = self.features.get(name)
        limit = feature.new.get("size") if feature else None
        try:
            ends = [end.of(feature.unit).to("mm") for end in limit.ends] if feature and limit else []
        except (ValueError, QuantityError, UnknownUnit):
            return None  # told at its own line
        return sum(ends) / len(ends) if ends else None

    @property
    def measured_parts(self) -> list[str]:
        """The parts that something is measured of, in the sheet's order, each once."""
        return list(dict.fromkeys(one.part for one in self.features.values() if one.part))

    def of_parts(self, came: Collection[str], also: Collection[str] = ()) -> "Engine":
        """The sheet of parts that came without their engine; ``also``: features that are spoken of as well.

        What is bought with every rebuild is bought with an engine's, and no engine is started.
        """
        known, kept = self.features, self._of(came, also)
        choices = {name: one for name, one in self.choices.items() if one.by in kept}
        shims = {name: one for name, one in self.shims.items() if kept >= {*one.clearance}}
        pages = {
            name: page.without({*known} - kept)
            for name, page in self.assemblies.items()
            if any({step.fit, step.measure} & {*kept, *came} for step in page.steps)
        }
        return self.model_copy(
            update={
                "features": {name: one.without_links(kept) for name, one in known.items() if name in kept},
                "choices": choices,
                "shims": shims,
                "assemblies": pages,
                "matching": {},
                "motion": None,
                "first_start": None,
                "always": {},
            }
        )

    def _of(self, came: Collection[str], also: Collection[str]) -> set[str]:
        """Features of these parts, fits of which both surfaces are there, and what they are read against."""
        known = self.features
        kept = {name for name, one in known.items() if one.part in came or name in also}
        for name, one in known.items():
            joined = {one.housing, one.shells, one.journal, one.outer, one.inner} & {*known}
            if joined and joined <= kept:
                kept.add(name)
        while more := {named for name in kept for named in known[name].further.values()} & {*known} - kept:
            kept |= more
        return kept

    @classmethod
    def unknown(cls, model: str = "") -> "Engine":
        """An engine of which nothing can be read."""
        return cls(maker="", model=model, layout=EngineLayout(cylinders=0, arrangement=""))

    def part(self, number: str) -> Part:
        """A part by its number; of one that the sheet lacks nothing else is known."""
        return self.parts.get(number) or Part(name=number)

    def of_kind(self, *kinds: str) -> dict[str, FeatureRecord]:
        """The features of some kinds, by their names."""
        return {name: feature for name, feature in self.features.items() if feature.kind in kinds}

    def fits(self, **joined: str) -> list[FeatureRecord]:
        """What joins these features, as in ``fits(journal="main_journals")``."""
        wanted = joined.items()
        return [one for one in self.features.values() if all(one.link(key) == name for key, name in wanted)]

    def shells_on(self, journal: str) -> list[str]:
        """The shells that run on a journal: those of its fits, else those read at its very places."""
        joined = [fit.shells for fit in self.fits(journal=journal) if fit.shells in self.features]
        if joined or self.features[journal].kind != "journal":
            return list(dict.fromkeys(joined))
        places = self.features[journal].positions
        there = {name: one.kind for name, one in self.features.items() if one.positions == places}
        lone = [name for name, kind in there.items() if kind == "shells" and not self.fits(shells=name)]
        return lone if [*there.values()].count("journal") == 1 else []

    @property
    def ways(self) -> dict[str, list[list[str]]]:
        """What must be off before what, by each way to it."""
        return {part: [way.first for way in ways] for part, ways in self.access.items()}

    def table(self, absent: Collection[str] = ()) -> dict[str, list[AccessWay]]:
        """All that can come off or be brought about, with its ways; what did not come is off already."""
        states = {
            name: [AccessWay.model_construct(first=state.first, hours=state.hours)]
            for name, state in self.states.items()
        }
        joints = {name: [AccessWay()] for name in self.joints if name not in self.access}
        parts = {**self.access, **joints}
        return {**parts, **{name: [AccessWay()] for name in parts if name in absent}, **states}

    def number_now(self, number: str) -> str:
        """The number by which the sheet knows a part, where an older one of it is typed."""
        for name, part in self.parts.items():
            # typed with commas, or with spaces alone
            if part.supersedes and number in {*part.supersedes, *" ".join(part.supersedes).split()}:
                return name
        return number
