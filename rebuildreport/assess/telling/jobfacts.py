"""What came in and how, the engine's own facts, and the cautions of the stage: the record of a job in words.

Comes in: the records of one job.  Goes out: ``Fact``s and ``EngineFacts``.  Knows no value that was measured.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import inf
from urllib.parse import quote

from ...quantities import NOTHING, Figure, Quantity, Sentence, Several, Text, Typed, amid, message, present
from ...quantities.show import decimals_in
from ...records import JobFolder
from ...records.files.jobfile import Arrival, Owner
from ...records.files.sheet import Engine
from ...records.files.shop import PAPER, Shop
from ...trade.engine import cylinders
from ...trade.engine.cautions import CAUTIONS
from ..measure.following_moves import skimmed_off
from ..measure.titles import titled
from ..model.assessment import Fact, HoldPoint, Stage
from ..model.bench import Bench, MarkLine
from ..model.correspondence import LabelSheet, Letterhead
from ..model.edition import copied
from ..model.enginefacts import EngineFacts
from .filing import Filing

CLEAR = 1.0  # mm that must be left besides: rods stretch and valves float (common practice)


def engine_facts(name: str, engine: Engine, job: JobFolder | None = None) -> EngineFacts:
    """Geometry and the words for its ends; of a ``job`` the valves come as much nearer as was skimmed off."""
    layout, motion = engine.layout, engine.motion
    bore, stroke = (typed.to("mm") if typed else None for typed in (layout.bore, layout.stroke))
    counting: Text = NOTHING
    if layout.cylinder_1_at and layout.cylinders != 1:
        counting = Sentence("No. 1 at the {end}", end=Sentence(layout.cylinder_1_at))
    lift, room = (motion.valve_lift, motion.valve_room) if motion else (None, None)
    left = -inf  # where the sheet does not say, valves and pistons meet [mm]
    if lift is not None and room is not None:
        left = room.to("mm") - (skimmed_off(engine, job) if job else 0.0) - lift.to("mm")
    elif _beside_the_pistons(engine):
        left = inf
    return copied(
        EngineFacts,
        layout,
        name=name,
        maker=engine.maker,
        model=engine.model,
        bore=bore,
        stroke=stroke,
        displacement=cylinders.displacement(bore, stroke, layout.cylinders) if bore and stroke else None,
        firing_order="-".join(layout.firing_order or []),
        counting=counting,
        bore_decimals=_decimals(layout.bore),
        stroke_decimals=_decimals(layout.stroke),
        cooling=layout.cooling or "",
        strokes=int(layout.strokes) if layout.strokes else None,
        banks=tuple(tuple(int(cylinder) for cylinder in bank) for bank in layout.banks),
        valves_clear=left >= CLEAR,
    )


def _beside_the_pistons(engine: Engine) -> bool:
    """Side valves, as the sheet shows them: every guide is in the piece that the cylinders are bored in.

    And a head comes off that has none: where head and cylinders are one piece valves hang above pistons, too.
    """
    guides = {one.part for one in engine.of_kind("guide").values()}
    outer = (engine.features.get(fit.outer) for fit in engine.of_kind("fit").values())
    bores = {one.part for one in outer if one and len(one.positions) == engine.layout.cylinders}
    aside = bool(guides) and guides <= bores - {""}
    return aside and "head" in map(Filing(engine).heading, engine.joints)


def letterhead(shop: Shop, owner: Owner | None) -> Letterhead:
    """Who writes to whom, as far as the files say."""
    to = owner or Owner(name="")
    return copied(
        Letterhead,
        shop,
        address=_lines(shop.address),
        customer=to.name,
        customer_address=_lines(to.address),
        serial=to.serial,
        plate=to.registration,
    )


def label_sheet(shop: Shop, job: str, public: bool) -> LabelSheet | None:
    """The sheets that its labels are printed on; None where the shop has none.

    Its code leads to the shop's own pages; to the customer's or everybody's where those are served nowhere.
    """
    sheet = shop.labels
    if sheet is None:
        return None
    link = sheet.link or (shop.mail.link if shop.mail else "")
    if not link and shop.site and public:
        link = f"{shop.site.rstrip('/')}/{{job}}/"
    edges = {name: getattr(sheet, name).to("mm") for name in ("top", "left", "across", "down")}
    link = link.replace("{job}", quote(job))
    return copied(LabelSheet, sheet, paper=PAPER[sheet.paper], **edges, link=link)


def _lines(address: str | None) -> tuple[str, ...]:
    return tuple(line.strip() for line in re.split(r"[,\n]", address or "") if line.strip())


def _decimals(typed: Quantity | None) -> int:
    """Decimals of a length in mm that keep the digits typed in its own unit."""
    return decimals_in(typed.unit, typed.decimals, "mm") if typed else 1


def meter(job: JobFolder) -> Text:
    """Hours or distance run, and that it is not believed where somebody says so."""
    arrival = job.record.arrival
    if not arrival.meter:
        return NOTHING
    if arrival.meter_believed is False:
        return Sentence("{meter}, not believed", meter=arrival.meter)
    return Typed(arrival.meter)


def arrival_facts(job: JobFolder) -> tuple[Fact, ...]:
    """What came in and how, as told and as seen; only what somebody wrote."""
    record = job.record
    facts = [*_as_written(record.arrival)]
    if record.arrival.meter and record.arrival.meter_believed is not None:
        said = meter(job)
        if record.arrival.meter_believed:
            said = Sentence("{meter}, believed", meter=record.arrival.meter)
        facts.append(Fact(Sentence("Meter"), said, "meter"))
    if authority := record.authority:
        facts.append(Fact(Sentence("Ordered by"), Sentence(authority.ordered_by)))
        if authority.if_stopped:
            facts.append(Fact(Sentence("If the job stops"), Typed(authority.if_stopped)))
        if authority.old_parts:
            facts.append(Fact(Sentence("Old parts"), Typed(authority.old_parts)))
    return tuple(facts)


def _as_written(arrival: Arrival) -> Iterator[Fact]:
    told = {
        "built": (Sentence("Built"), str(arrival.built or "")),
        "before": (Sentence("Just before"), arrival.before),
        "wish": (Sentence("Wish"), arrival.wish),
        "came with": (Sentence("Came with"), ", ".join(arrival.came_with)),
        "not with": (Sentence("Did not come"), ", ".join(arrival.not_with)),
        "damage": (Sentence("Damage already there"), "; ".join(arrival.damage)),
    }
    for code, (label, text) in told.items():
        if text:
            yield Fact(label, Typed(text), code)
    if arrival.only:
        came = Several([amid(titled(part)) for part in arrival.only])
        yield Fact(Sentence("Came without the engine"), came, "only")
    for event in arrival.history:
        said = f"{event.at}: {event.what}" if event.at else event.what
        yield Fact(Sentence("History"), Typed(said), "history")
    for fluid in arrival.fluids:
        seen: Text = Typed(fluid.seen)
        if fluid.quantity:
            seen = Sentence("{amount} drained, {seen}", amount=Figure(fluid.quantity), seen=fluid.seen)
        yield Fact(titled(fluid.fluid), seen, "fluid")
    if arrival.oil_filter:
        yield Fact(Sentence("Oil filter, cut open"), Typed(arrival.oil_filter.seen), "filter")


# Usual cautions of the trade (common practice), each at the stages where it applies.
_ENGINE = message(
    "An engine weighs more than people can hold: lift at its lifting points with tested gear, and never "
    "stand beneath it."
)
_PRIMED = message(
    "Before the first start, turn the engine over without fuel or ignition until oil pressure shows."
)
_OILED = message(
    "Before the first start, turn the engine over without fuel or ignition until every bearing has oil."
)
_FIRST = message(
    "The maker's service information and local rules come first. This report refers to this engine as we "
    "measured it; it is not a certificate."
)
_TO_RUN: tuple[Stage, ...] = ("assembly", "first start", "ready to collect", "delivery")
_NOT_APART: tuple[Stage, ...] = (*_TO_RUN[1:], "follow-up", "re-opened")


def cautions(
    stage: Stage, engine: EngineFacts, whole: bool = True, under_pressure: bool = True, started: bool = False
) -> tuple[Text, ...]:
    """Cautions for whoever handles the engine, or the parts of it that came, next, as they fit it."""
    nature = engine.nature
    said: list[Text] = [] if nature.light or not whole else [Sentence(_ENGINE)]
    if stage not in _NOT_APART and whole:
        said.append(nature.turning.text)
    # who gets an engine that has run needs no words about its first start
    if stage in _TO_RUN and whole and not (started and stage == "delivery"):
        # a two-stroke has its oil in the fuel, or pumped in drops: no pressure to wait for
        said += [] if nature.strokes == 2 else [Sentence(_PRIMED if under_pressure else _OILED)]
        said += [CAUTIONS[key].text for key in ("starting", *(["runaway"] if nature.diesel else []))]
    return (*said, Sentence(_FIRST))


def mark_said(mark: MarkLine) -> Text:
    """All that the register holds of a mark, and what it is worth."""
    worth = NOTHING if mark.factory else mark.trust_text  # whose it is stands before it
    if mark.trust != "factory":
        worth = Sentence("{mark}: {worth}", mark=mark.trust_text, worth=mark.proves)
    proof: Text = NOTHING
    if mark.verified:
        proof = Sentence("proved right: {what}", what=mark.verified)
    elif mark.verify:
        proof = Sentence("to be proved by {what}", what=mark.verify)
    return present(
        [
            Sentence("the maker's: {mark}", mark=mark.factory) if mark.factory else NOTHING,
            Sentence("not legible beyond doubt") if mark.legible is False else NOTHING,
            Sentence("ours: {mark}", mark=mark.shop) if mark.shop else NOTHING,
            Typed(mark.count),
            Sentence("crank at {where}", where=mark.crank_at) if mark.crank_at else NOTHING,
            Sentence("tensioner stood out {amount}", amount=Figure(mark.tensioner))
            if mark.tensioner
            else NOTHING,
            worth,
            proof,
        ]
    )


def hold_points(bench: Bench) -> tuple[HoldPoint, ...]:
    """What was tightened and held, with who signed; nothing unsigned stands here."""
    held = []
    for group in bench.build.fastenings:
        what: Text = Sentence("{bolts} tightened by the maker's stages", bolts=group.title)
        held += [HoldPoint(what, done.by, done.witness, done.date) for done in group.done if done.date]
    for line in bench.build.lines:
        signed = line.signed
        if line.verb in ("hold", "mark") and signed is not None and signed.date is not None:
            what = line.title
            if not line.hold:
                what = Sentence("Mark brought together: {where}", where=line.name)
            held.append(HoldPoint(what, signed.by, signed.witness, signed.date))
    return tuple(sorted(held, key=lambda point: point.date))


def running(bench: Bench) -> tuple[Fact, ...]:
    """Priming, first start, follow-up; what was due stands in a list of its own, done or not."""
    start = bench.start
    return tuple(Fact(line.label, line.text) for line in (*start.priming, *start.first, *start.follow_up))
