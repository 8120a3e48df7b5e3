"""The record of a job in words: stage, facts, cautions."""

from __future__ import annotations

from datetime import date

from ...quantities import Figure, Quantity, Sentence, Text
from ...quantities.show import decimals_in
from ...records import JobFolder
from ...records.checks.builtcheck import last_day
from ...records.files.sheet import Engine
from ...trade.engine import cylinders
from ..model.assessment import Fact, Stage
from ..model.enginefacts import EngineFacts


def stage(job: JobFolder) -> Stage:
    """The stage of a job, which follows from the records that exist."""
    record = job.job
    assert record is not None
    if record.declined:
        return "declined"
    if record.reopened and not record.reopened[-1].delivered:
        return "re-opened"
    if job.running and job.running.follow_up:
        return "follow-up"
    if record.delivered:
        return "delivery"
    if record.ready:
        return "ready to collect"
    if job.running and job.running.first_start:
        return "first start"
    if job.assembly and (job.assembly.fitted or last_day(job.assembly)):
        return "assembly"
    decisions = list(job.work.decisions.values()) if job.work else []
    if decisions:
        last = max(decision.date for decision in decisions)
        measured_since = any(one.begun and one.model.date > last for one in job.rounds.values())
        return "machining" if measured_since or (job.work and job.work.sublet) else "decision"
    if any(one.begun for one in job.rounds.values()) or (job.findings and job.findings.findings):
        return "inspection"
    return "teardown" if job.teardown and job.teardown.steps else "arrival"


def newest_day(job: JobFolder) -> date:
    """The newest day in the records: what 'now' means, so that no clock is needed."""
    record = job.job
    assert record is not None
    days = [record.opened, record.declined, record.ready, record.delivered]
    days += [one.date for one in record.approvals]
    days += [one.date for one in record.paid]
    days += [day for one in record.reopened for day in (one.date, one.delivered)]
    days += [one.model.date for one in job.rounds.values() if one.begun]
    if job.teardown:
        days.append(job.teardown.date)
    if job.work:
        days += [one.date for one in job.work.decisions.values()]
        days += [one.date for one in job.work.deviations.values()]
    days.append(last_day(job.assembly))
    if job.running:
        if job.running.first_start:
            days.append(job.running.first_start.date)
        days += [one.date for one in job.running.follow_up]
        days += [one.done for one in job.running.due]
    return max(day for day in days if day is not None)


def engine_facts(name: str, engine: Engine) -> EngineFacts:
    """Geometry and the words for its ends."""
    layout = engine.layout
    bore = layout.bore.to("mm") if layout.bore else None
    stroke = layout.stroke.to("mm") if layout.stroke else None
    volume = cylinders.displacement(bore, stroke, layout.cylinders) if bore and stroke else None
    return EngineFacts(
        name=name,
        maker=engine.maker,
        model=engine.model,
        cylinders=layout.cylinders,
        arrangement=layout.arrangement,
        fuel=layout.fuel or "",
        bore=bore,
        stroke=stroke,
        displacement=volume,
        front=layout.front or "",
        rotation=layout.rotation or "",
        firing_order="-".join(layout.firing_order or []),
        counting=Sentence("No. 1 at the {end}", end=Sentence(layout.cylinder_1_at))
        if layout.cylinder_1_at
        else "",
        bore_decimals=_decimals(layout.bore),
        stroke_decimals=_decimals(layout.stroke),
        banks=tuple(tuple(int(one) for one in bank) for bank in layout.banks),
    )


def _decimals(typed: Quantity | None) -> int:
    """Decimals of a length in mm that keep the digits typed in its own unit."""
    return decimals_in(typed.unit, typed.decimals, "mm") if typed else 1


def meter(job: JobFolder) -> Text:
    """Hours or distance run, and that it is not believed where somebody says so."""
    record = job.job
    assert record is not None
    typed = record.arrival.meter or ""
    doubted = typed and record.arrival.meter_believed is False
    return Sentence("{meter}, not believed", meter=typed) if doubted else typed


def arrival_facts(job: JobFolder) -> tuple[Fact, ...]:
    """What came in and how, as told and as seen."""
    record = job.job
    assert record is not None
    arrival, facts = record.arrival, []
    told = {
        "before": (Sentence("Just before"), arrival.before),
        "wish": (Sentence("Wish"), arrival.wish),
        "came with": (Sentence("Came with"), ", ".join(arrival.came_with)),
        "not with": (Sentence("Did not come"), ", ".join(arrival.not_with)),
        "damage": (Sentence("Damage already there"), "; ".join(arrival.damage)),
    }
    for code, (label, text) in told.items():
        if text:
            facts.append(Fact(label, text, code))
    for event in arrival.history:
        facts.append(
            Fact(Sentence("History"), f"{event.at}: {event.what}" if event.at else event.what, "history")
        )
    for fluid in arrival.fluids:
        seen = fluid.seen
        if fluid.quantity:
            seen = Sentence("{amount} drained, {seen}", amount=Figure(fluid.quantity), seen=seen)
        facts.append(Fact(Sentence(fluid.fluid.capitalize()), seen, "fluid"))
    if arrival.oil_filter:
        facts.append(Fact(Sentence("Oil filter, cut open"), arrival.oil_filter.seen, "filter"))
    if arrival.meter and arrival.meter_believed is not None:
        sure = Sentence("{meter}, believed", meter=arrival.meter) if arrival.meter_believed else meter(job)
        facts.append(Fact(Sentence("Meter"), sure, "meter"))
    if record.authority:
        facts.append(Fact(Sentence("Ordered by"), Sentence(record.authority.ordered_by)))
        for label, text in (
            ("If the job stops", record.authority.if_stopped),
            ("Old parts", record.authority.old_parts),
        ):
            if text:
                facts.append(Fact(Sentence(label), text))
    return tuple(facts)


# Usual cautions of the trade (common practice), each at the stages where it applies.
_ENGINE = (
    "An engine weighs more than people can hold: lift at its lifting points with tested gear, and never "
    "stand beneath it."
)
_BEFORE_TURNING = (
    "Before the crankshaft is turned by hand, plugs or injectors come out; never turn it while leak-down "
    "air is connected. With the cam drive off, valves can meet pistons."
)
_FIRST_START = (
    "Before the first start, turn the engine on the starter without fuel or ignition until oil pressure "
    "shows. Have an extinguisher at hand, lead the exhaust away, and keep hands, hair and cloth from belt "
    "and fan."
)
_DIESEL = "A diesel can run away on its own oil: have the means to close its air intake ready."
_FIRST = (
    "The maker's service information and local rules come first. This report refers to this engine as we "
    "measured it; it is not a certificate."
)


CAUTIONS = (_ENGINE, _BEFORE_TURNING, _FIRST_START, _DIESEL, _FIRST)


def cautions(job: JobFolder, engine: Engine) -> tuple[str, ...]:
    """Cautions for whoever handles the engine next."""
    now = stage(job)
    found = [_ENGINE]
    if now in ("arrival", "teardown", "inspection", "decision", "machining", "assembly", "declined"):
        found.append(_BEFORE_TURNING)
    if now in ("assembly", "first start", "ready to collect", "delivery"):
        found.append(_FIRST_START)
        if "diesel" in (engine.layout.fuel or ""):
            found.append(_DIESEL)
    return tuple(Sentence(one) for one in (*found, _FIRST))
