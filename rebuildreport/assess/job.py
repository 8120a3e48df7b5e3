"""One job's records and the trade, brought together into one Assessment.

A list of stages, each a function from what is known to what is known more: what was read, what stands and
what is bought for it, what does not fit together, what it costs, how it goes together, what is said of it.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from ..quantities import Sentence, Text, Typed, message
from ..records import JobFolder, ShopFolder, Siblings, load_sound
from ..records.files.jobfile import Job, Work
from ..records.files.sheet import Engine
from ..records.files.shop import Shop
from .access.planning import access_plan, with_chosen
from .build.bench_record import together
from .build.dismantling import dismantling
from .choose.candidates import side_by_side
from .choose.survey import choices, if_renewed, open_choices
from .measure import oddities, record_tables, standing, untimely
from .measure.lapses import lapsed
from .measure.observations import Occasion, occasions
from .measure.references import settle_by_reference
from .measure.state import in_force
from .measure.timeline import Timeline
from .measure.workings import Workings
from .model.accessplan import AccessPlan
from .model.assessment import Assessment, Characteristic, Cost, Deviation, Round, Spell, Stage
from .model.bench import Bench
from .model.choice import Choice
from .model.enginefacts import EngineFacts
from .money.cost import cost, rate_on
from .money.stays import spells, with_stays
from .parts.needed import Need
from .parts.partslist import PartsList
from .telling import complaint, contact, findings_told, jobfacts, questions, unwritten
from .telling.filing import Filing
from .telling.part_lives import part_lives
from .work import decisions
from .work.machining import orders, unordered
from .work.stage import RUNNING, WORK_DONE, newest_day, stage

RULES = message(
    {
        "guarded": (
            "A verdict is given only where the value clears its limit by 1.645 standard uncertainties (95 %, "
            "one-sided, ISO 14253-1); a value nearer than that is too close to call. A gap read by feelers "
            "lies anywhere from the leaf that went in to the next one."
        ),
        "simple": (
            "Simple acceptance: each value is compared with its limit as it stands, without a margin for its "
            "uncertainty."
        ),
    }
)


class Unassessable(Exception):
    """The files of a job have errors that leave nothing to assess; its problems say which."""


def assess_job(folder: ShopFolder, job: JobFolder) -> Assessment:
    """Everything that is known of one job.

    Raises Unassessable where the shop file or the job file itself cannot be
    used.  A job whose engine has no sheet is assessed without limits.
    """
    given = _given(folder, job)
    read = _measure(given)
    listed = _list_parts(given, read)
    asked = _question(given, read, listed)
    stays = spells(given.shop, given.engine, given.job, given.today)
    money = _price(given, read, listed, asked, stays)
    rounds = record_tables.rounds(given.job)
    bench = together(
        given.engine,
        given.job,
        asked.values,
        asked.deviations,
        money,
        listed.needs,
        rounds,
        given.stage,
        listed.chosen,
        asked.absent,
        read.timeline,
        listed.access.names if listed.access else (),
    )
    return _tell(given, read, listed, asked, stays, money, rounds, bench)


def assess_for_documents(folder: ShopFolder, job: JobFolder) -> Assessment:
    """The same with what documents alone tell: loads and oil films, which take longer than all the rest, what
    speaks for the usual causes of what failed, and the records that go along."""
    from .publishing.extract import records_of

    one = replace(assess_job(folder, job), records=records_of(folder, job))
    sheet = folder.sheet(job)
    if sheet is None:
        return one
    from .loads.bearing_loads import engine_loads
    from .loads.evidence import evidence

    if sheet.motion is not None:
        one = replace(one, loads=engine_loads(sheet, job, one, *folder.remembering(job)))
    return replace(one, evidence=evidence(sheet, job, one))


def assess_sound(
    shop: Path, name: str, siblings: Siblings | None = None
) -> tuple[ShopFolder, JobFolder, Assessment] | None:
    """What does not rest on entries with errors, and says without which: for the shop's eyes alone.

    None where too little is left.
    """
    sound = load_sound(shop, name, siblings)
    if sound is None:
        return None
    folder, job = sound
    try:
        assessment = assess_job(folder, job)
    except Exception:  # whatever it is, it comes of the entries that are not there, and those are told
        return None
    seen = tuple(one for one in assessment.problems if not folder.without.missed_by(one))
    return folder, job, replace(assessment, without=folder.left_out, problems=seen)


class _Given(Struct, frozen=True):
    """The records of one job that can be assessed."""

    folder: ShopFolder
    job: JobFolder
    record: Job
    shop: Shop
    engine: Engine
    facts: EngineFacts
    stage: Stage
    today: date  # the newest day of the records
    work: Work  # with all that was ever decided: of the job's decisions only those in force

    @property
    def done(self) -> bool:
        """Whether the work is done, as far as the stage tells."""
        return self.stage in WORK_DONE

    @property
    def declined(self) -> bool:
        """Whether the customer said no."""
        return self.stage == "declined"


def _given(folder: ShopFolder, job: JobFolder) -> _Given:
    if folder.shop is None or job.job is None:
        raise Unassessable(job.name)
    record, work = job.job, job.written_work
    engine = folder.sheet(job) or Engine.unknown(record.engine)
    given = in_force(engine, job)
    facts = jobfacts.engine_facts(record.engine, engine, given)
    return _Given(folder, given, record, folder.shop, engine, facts, stage(job), newest_day(job), work)


class _Read(Struct, frozen=True):
    """What was read, and every value that it gives."""

    taken: list[Occasion]
    timeline: Timeline
    workings: Workings
    values: list[Characteristic]


def _measure(given: _Given) -> _Read:
    taken = occasions(given.shop, given.engine, given.job)
    timeline = Timeline(given.engine, given.job, taken)
    workings = Workings(given.shop, given.engine, given.job, taken, timeline)
    return _Read(
        taken, timeline, workings, settle_by_reference(given.engine, timeline, taken, workings.run())
    )


class _Listed(Struct, frozen=True):
    """What stands, what was chosen by it, and which parts are needed."""

    values: list[Characteristic]
    chosen: tuple[Choice, ...]
    parts: PartsList
    needs: list[Need]
    access: AccessPlan | None


def _list_parts(given: _Given, read: _Read) -> _Listed:
    engine, job, timeline = given.engine, given.job, read.timeline

    def stands(parts: PartsList | None) -> list[Characteristic]:
        renewed = parts.renewed if parts else None
        between = read.workings.between
        return standing.mark_standing(engine, timeline, read.values, between, given.done, renewed)

    rate = rate_on(given.shop, given.record.opened)
    remembering = given.folder.remembering(job)
    access = access_plan(engine, job, rate, given.shop.currency, given.facts.nature, *remembering)
    # the parts list needs what stands, and what stands needs to know what was replaced
    at_first = stands(None)
    chosen = choices(given.folder, engine, job, timeline, read.workings, read.taken, at_first, given.done)
    parts = PartsList(engine, job, timeline, at_first, chosen, access.names if access else ())
    # nobody buys for an engine that goes back in boxes, and nobody decides about it
    needs = [] if given.declined else parts.gather()
    if access:
        access = with_chosen(access, engine, {need.part for need in needs}, given.shop.currency)
    chosen = chosen if given.declined else if_renewed(chosen, {need.part for need in needs}, parts.replaced)
    values = stands(parts)
    parts.questions += open_choices(engine, chosen, given.done or given.declined)
    values += standing.not_measured(engine, values)
    return _Listed(lapsed(engine, given.shop, read.taken, values), chosen, parts, needs, access)


class _Asked(Struct, frozen=True):
    """The values with what does not fit together noted at them, and what is asked because of it."""

    values: list[Characteristic]
    odd: list[Text]
    absent: list[Text]
    deviations: tuple[Deviation, ...]
    undecided: list[Characteristic]  # beyond their limits, and nobody says what is done
    doubted: dict[str, list[str]]  # where a reading is left out until it was measured again


def _question(given: _Given, read: _Read, listed: _Listed) -> _Asked:
    engine, job, system = given.engine, given.job, given.shop.first_unit
    values, disagree = oddities.contradictions(engine, read.timeline, listed.values, system)
    values, tight = oddities.interferences(engine, values)
    values, absent = oddities.explain_absent(engine, job, values)
    odd = [
        *disagree,
        *tight,
        *absent,
        *oddities.odd_sizes(engine, read.timeline, given.today),
        *oddities.sleeves(engine, job, read.timeline, values, system),
        *untimely.after_delivery(job),
        *untimely.early_orders(engine, job, values),
    ]
    deviations = decisions.deviations(engine, job, values)
    undecided = decisions.undecided(engine, values, deviations, listed.parts.renewed, given.done)
    undecided = [] if given.declined else undecided
    absent_parts = oddities.absent(engine, job)
    doubted = standing.left_out(read.timeline, read.taken, given.done, absent_parts)
    return _Asked(values, odd, absent, deviations, undecided, doubted)


def _price(given: _Given, read: _Read, listed: _Listed, asked: _Asked, stays: tuple[Spell, ...]) -> Cost:
    money = cost(
        given.shop,
        given.engine,
        given.job,
        listed.needs,
        listed.chosen,
        standing.our_own(given.engine, read.timeline, asked.undecided),
        asked.doubted,
        listed.access,
    )
    return with_stays(money, stays)


def _tell(
    given: _Given,
    read: _Read,
    listed: _Listed,
    asked: _Asked,
    stays: tuple[Spell, ...],
    money: Cost,
    rounds: tuple[Round, ...],
    bench: Bench,
) -> Assessment:
    """All that is known, in the form that every document is a view of."""
    shop, engine, job, record = given.shop, given.engine, given.job, given.record
    values, deviations, work, parts = asked.values, asked.deviations, given.work, listed.parts
    as_found = frozenset(one.name for one in rounds if one.as_found)
    shots = contact.shots(engine, job)
    findings = findings_told.findings(engine, job, values, money, as_found)
    summed_up = job.written_findings.summary
    summary = tuple(standing.rows(engine, values, as_found))
    to_decide = questions.to_decide(engine, job, asked.undecided, parts, asked.odd)
    return Assessment(
        job=job.name,
        title=record.title,
        stage=given.stage,
        opened=record.opened,
        as_of=given.today,
        engine=given.facts,
        shop=shop.name,
        contact=shop.contact,
        notice=shop.notice,
        system=shop.first_unit,
        second_unit=shop.second_unit,
        decision_rule=shop.decision_rule,
        rule_text=Sentence(RULES[shop.decision_rule]),
        publish=record.publish and record.consent is not None,
        complaint=record.arrival.complaint,
        application=record.arrival.application,
        meter=jobfacts.meter(job),
        found=Typed(summed_up) if summed_up else unwritten.found_so_far(engine, findings, values),
        did=Typed(work.summary) if work.summary else unwritten.did_so_far(engine, job, given.stage),
        did_is_done=given.done,
        needs_from_customer=tuple(Typed(text) for text in work.needs_from_customer),
        arrival=jobfacts.arrival_facts(job),
        not_with=(
            *map(Typed, record.arrival.not_with),
            *([Sentence("the rest of the engine")] if record.arrival.only else []),
        ),
        not_opened=tuple(job.written_teardown.not_opened),
        rounds=rounds,
        features=record_tables.features(engine, Filing(engine).heading),
        characteristics=tuple(values),
        summary=summary,
        complaint_lines=complaint.complaint_lines(engine, summary, values, findings, as_found),
        tables=record_tables.tables(engine, job),
        paper_tables=record_tables.tables(engine, job, on_paper=True),
        instruments=record_tables.instruments(shop, read.taken, job),
        findings=findings,
        photos=findings_told.photos(job),
        decisions=decisions.decisions(engine, work),
        deviations=deviations,
        cost=money,
        running=jobfacts.running(bench),
        next_steps=unwritten.next_steps(job, bench.start, given.stage, money),
        hold_points=jobfacts.hold_points(bench),
        cautions=jobfacts.cautions(
            given.stage,
            given.facts,
            whole=not record.arrival.only,
            under_pressure=any(sheet.kind == "oil_pressure" for sheet in engine.features.values()),
            started=bench.start.date is not None,
        ),
        too_close=tuple(questions.too_close(engine, values, deviations, given.stage in RUNNING)),
        to_decide=(*to_decide, *bench.open),
        not_measured=tuple(questions.not_measured(engine, values, given.done)),
        in_the_files=(
            *questions.in_the_files(shop, engine, job, read.taken, deviations, parts, money),
            *contact.unnamed(shots),
            *unordered(job),
        ),
        uncorrected=tuple(questions.uncorrected(engine, read.taken)),
        problems=tuple(sorted([*job.problems, *job.engine_problems])),
        ready=record.ready,
        delivered=record.delivered,
        choices=listed.chosen,
        candidates=side_by_side(listed.chosen),
        orders=orders(shop, engine, job, read.timeline, values, deviations, listed.chosen),
        spells=stays,
        language=record.language or shop.language,
        shop_language=shop.language,
        letterhead=jobfacts.letterhead(shop, record.owner),
        labels=jobfacts.label_sheet(shop, job.name, record.publish and record.consent is not None),
        shots=shots,
        paper=shop.paper,
        bench=bench,
        access=listed.access,
        apart=dismantling(engine, job, listed.access),
        lives=part_lives(engine, job, read.timeline, values, as_found, given.today if given.done else None),
    )
