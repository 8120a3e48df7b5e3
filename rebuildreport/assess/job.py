"""One job's records and the trade, brought together into one Assessment."""

from __future__ import annotations

from ..quantities import Amount, Sentence, Several, Text, Typed
from ..records import JobFolder, ShopFolder
from ..records.files.jobfile import Findings, Work
from ..records.files.sheet import Engine, EngineLayout, FeatureRecord
from ..trade.kinds import KINDS
from ..trade.measuring.verdict import ORDER
from .build.bench_record import together
from .build.dismantling import dismantling
from .choose.candidates import side_by_side
from .choose.survey import choices, open_choices
from .measure import oddities, record_tables, standing, untimely
from .measure.judging import source_text
from .measure.lapses import lapsed
from .measure.observations import base_unit, occasions
from .measure.references import settle_by_reference
from .measure.timeline import Timeline
from .measure.titles import feature_title, titled
from .measure.workings import Workings
from .model.assessment import Assessment, Callout, Characteristic, Cost, Feature, Finding, Photo
from .money.cost import cost
from .money.stays import spells, with_stays
from .parts.partslist import PartsList
from .telling import benchfacts, jobfacts, questions, unwritten
from .work import decisions
from .work.machining import orders

RULES = {
    "guarded": (
        "A verdict is given only where the value clears its limit by 1.645 standard uncertainties (95 %, "
        "one-sided, ISO 14253-1); a value nearer than that is too close to call."
    ),
    "simple": (
        "Simple acceptance: each value is compared with its limit as it stands, without a margin for its "
        "uncertainty."
    ),
}
WORK_DONE = ("assembly", "first start", "ready to collect", "delivery", "follow-up", "re-opened")


class Unassessable(Exception):
    """The files of a job have errors that leave nothing to assess; its problems say which."""


def assess_job(folder: ShopFolder, job: JobFolder) -> Assessment:
    """Everything that is known of one job.

    Raises Unassessable where the shop file or the job file itself cannot be
    used.  A job whose engine has no sheet is assessed without limits.
    """
    if folder.shop is None or job.job is None:
        raise Unassessable(job.name)
    shop = folder.shop
    sheet = folder.engines.get(job.job.engine)
    engine = (
        sheet.model
        if sheet and sheet.model
        else Engine(maker="", model=job.job.engine, layout=EngineLayout(cylinders=0, arrangement=""))
    )
    taken = occasions(shop, engine, job)
    timeline = Timeline(engine, job, taken)
    stage = jobfacts.stage(job)
    done = stage in WORK_DONE
    workings = Workings(shop, engine, job, taken, timeline)
    found = settle_by_reference(engine, timeline, taken, workings.run())
    # the parts list needs what stands, and what stands needs to know what was replaced
    first = standing.mark_standing(engine, timeline, found, done, lambda feature, position: False)
    chosen = choices(folder, engine, job, timeline, workings, taken, first, done)
    replaced = PartsList(engine, job, timeline, first, chosen)
    replaced.gather()
    found = standing.mark_standing(engine, timeline, found, done, replaced.replaced)
    parts = PartsList(engine, job, timeline, first, chosen)
    needs = parts.gather()
    parts.questions += open_choices(chosen, done)
    found += standing.missing(engine, found)
    found = lapsed(engine, shop, taken, found)
    found, disagree = oddities.contradictions(engine, job, timeline, found, shop.first_unit)
    found, tight = oddities.interferences(engine, found)
    found, absent = oddities.explain_absent(engine, job, found)
    odd = [
        *disagree,
        *tight,
        *absent,
        *oddities.odd_sizes(engine, timeline, jobfacts.newest_day(job)),
        *oddities.sleeves(engine, job, timeline, found, shop.first_unit),
        *untimely.after_delivery(job),
        *untimely.early_orders(engine, job, found),
    ]
    deviations = decisions.deviations(engine, job, found)
    stays = spells(shop, engine, job, jobfacts.newest_day(job))
    money = with_stays(cost(shop, engine, job, needs, chosen), stays)
    rounds = record_tables.rounds(job)
    as_found = frozenset(one.name for one in rounds if one.as_found)
    photos = _photos(job)
    findings = _findings(engine, job, found, money, as_found)
    facts = jobfacts.engine_facts(job.job.engine, engine)
    bench = together(engine, job, found, deviations, money, needs, rounds, stage, chosen, absent)
    work = job.work or Work()
    record = job.job
    said = job.findings.summary if job.findings else None
    still_open = (
        tuple(questions.too_close(engine, found, deviations)),
        tuple(questions.to_decide(engine, job, found, taken, deviations, parts, odd, done)),
        tuple(questions.not_measured(engine, found, done)),
    )
    unread = tuple({c.feature: "" for c in found if c.stands and c.verdict == "not measured"})
    return Assessment(
        job=job.name,
        title=record.title,
        stage=stage,
        opened=record.opened,
        as_of=jobfacts.newest_day(job),
        engine=facts,
        shop=shop.name,
        contact=shop.contact,
        notice=shop.notice or "",
        system=shop.first_unit,
        decision_rule=shop.decision_rule,
        rule_text=Sentence(RULES[shop.decision_rule]),
        publish=record.publish and record.consent is not None,
        complaint=record.arrival.complaint,
        application=record.arrival.application or "",
        meter=jobfacts.meter(job),
        found=Typed(said) if said else unwritten.found_so_far(findings, found),
        did=Typed(work.summary) if work.summary else unwritten.did_so_far(job, stage),
        did_is_done=done,
        needs_from_customer=_needs_from_customer(work, money, stage),
        arrival=jobfacts.arrival_facts(job),
        not_with=tuple(record.arrival.not_with),
        not_opened=tuple(job.teardown.not_opened) if job.teardown else (),
        teardown=benchfacts.teardown(bench, {photo.name: photo.number for photo in photos}),
        marks=benchfacts.marks(bench),
        rounds=rounds,
        features=tuple(_feature(engine, name, sheet) for name, sheet in engine.features.items()),
        characteristics=tuple(found),
        summary=tuple(standing.rows(engine, found, as_found, deviations)),
        tables=record_tables.tables(engine, job),
        paper_tables=record_tables.tables(engine, job, on_paper=True),
        instruments=record_tables.instruments(shop, taken, job),
        findings=findings,
        photos=photos,
        decisions=decisions.decisions(engine, work),
        deviations=deviations,
        cost=money,
        running=benchfacts.running(bench),
        next_steps=unwritten.next_steps(
            job,
            bench.start,
            stage,
            money,
            still_open[0],
            (*still_open[1], *bench.open, *money.not_priced),
            unread,
        ),
        hold_points=benchfacts.hold_points(bench),
        cautions=jobfacts.cautions(job, engine),
        too_close=still_open[0],
        to_decide=(*still_open[1], *bench.open),
        not_measured=still_open[2],
        in_the_files=tuple(questions.in_the_files(engine, job, taken, deviations, parts, money)),
        uncorrected=tuple(questions.uncorrected(engine, taken)),
        problems=tuple(sorted([*job.problems, *job.engine_problems])),
        ready=record.ready,
        delivered=record.delivered,
        choices=chosen,
        candidates=side_by_side(chosen),
        orders=orders(shop, engine, job, timeline, found, deviations, chosen),
        spells=stays,
        language=record.language or shop.language,
        bench=bench,
        apart=dismantling(engine, job),
    )


def _feature(engine: Engine, name: str, sheet: FeatureRecord) -> Feature:
    kind = KINDS.get(sheet.kind)
    names = kind.characteristics(tuple(sheet.columns or ()), {*sheet.new, *sheet.wear}) if kind else ()
    return Feature(
        name=name,
        title=feature_title(engine, name),
        kind=sheet.kind,
        unit=base_unit(sheet.unit),
        part=sheet.part or "",
        source=source_text(engine, sheet.source),
        positions=tuple(sheet.positions or []),
        characteristics={one: Sentence(kind.trait(one).title) for one in names} if kind else {},
        columns=tuple(sheet.columns or []),
        state=sheet.state or "",
    )


def _before(found: Findings, name: str) -> str:
    record = found.photos.get(name)
    return (record.before or "") if record else ""


def _photos(job: JobFolder) -> tuple[Photo, ...]:
    found = job.findings or Findings()
    used = [name for one in found.findings.values() for name in one.photos]
    # a picture from before the work comes just ahead of the one after it
    named = [one for name in [*used, *found.photos] for one in (_before(found, name), name) if one]
    order = list(dict.fromkeys(named))
    photos = []
    for number, name in enumerate(order, 1):
        record = found.photos.get(name)
        callouts = tuple(
            Callout("ABCDEFGHIJKLMNOPQRSTUVWXYZ"[n % 26], *one.at, one.text, one.ring or 0.0, one.arrow)
            for n, one in enumerate(record.callouts if record else [])
        )
        photos.append(
            Photo(
                name,
                job.photos.get(name, ""),
                record.caption if record else "",
                bool(record and record.public),
                callouts,
                number,
                (record.before or "") if record else "",
            )
        )
    return tuple(photos)


def _findings(
    engine: Engine, job: JobFolder, found: list[Characteristic], money: Cost, as_found: frozenset[str]
) -> tuple[Finding, ...]:
    items = []
    records = job.findings.findings if job.findings else {}
    for number, (name, one) in enumerate(records.items(), 1):
        known = one.component in engine.features
        title = feature_title(engine, one.component) if known else titled(one.component)
        where = Several([title, *one.positions], " ")
        # walls are judged by the clearance that they give
        about = {one.component, *(n for n, f in engine.features.items() if f.shells == one.component)}
        here = [
            c
            for c in found
            if c.feature in about
            and c.verdict != "no limit on file"
            and c.round in as_found
            and (not one.positions or c.position in one.positions)
        ]
        items.append(
            Finding(
                id=name,
                number=number,
                title=Typed(one.title)
                if one.title
                else Sentence("{where}: {seen}", where=where, seen=one.seen[0]),
                component=one.component,
                component_title=title,
                positions=tuple(one.positions),
                seen=tuple(one.seen),
                cause=one.cause or "",
                text=one.text or "",
                disposition=one.disposition,
                photos=tuple(one.photos),
                shows=_shown(one.shows or _worst(here), found),
                price_lines=tuple(line.line for line in money.lines if name in line.findings),
                verdict=min((c.verdict for c in here), key=ORDER.index) if here else "",
            )
        )
    return tuple(items)


def _worst(here: list[Characteristic]) -> str:
    """The value that speaks for a finding which names none: the farthest out, '' where all is well."""
    out = [c for c in here if c.value is not None and c.verdict in ("beyond limit", "too close to call")]
    if not out:
        return ""
    worst = min((c.verdict for c in out), key=ORDER.index)
    one = max((c for c in out if c.verdict == worst), key=lambda one: one.past)
    return f"{one.feature}.{one.name} {one.position}"


def _shown(wanted: str | None, found: list[Characteristic]) -> tuple[str, ...]:
    """Keys of the value drawn beside a finding: the first reading of it, then the one that stands."""
    if not wanted:
        return ()
    dotted, _, position = wanted.partition(" ")
    feature, _, name = dotted.partition(".")
    ones = [
        c
        for c in found
        if c.feature == feature and c.name == name and c.position == position.strip() and c.value is not None
    ]
    if not ones:
        return ()
    now = next((one for one in reversed(ones) if one.stands), None)
    return (ones[0].key,) if now is None or now is ones[0] else (ones[0].key, now.key)


def _needs_from_customer(work: Work, money: Cost, stage: str) -> tuple[Text, ...]:
    needs: list[Text] = [Typed(text) for text in work.needs_from_customer]
    if money.over_by is not None:
        words = "Your approval: the work comes to {total}, {over} above what you approved."
        if money.minimum:
            words = "Your approval: the work comes to at least {total}, {over} above what you approved."
        total = Amount(money.total, money.digits, money.currency)
        needs.insert(0, Sentence(words, total=total, over=Amount(money.over_by, money.digits)))
    if not needs and stage in ("arrival", "teardown", "inspection"):
        needs.append(
            Sentence(
                "Nothing yet. We come back to you with findings and an estimate before any work is ordered."
            )
        )
    return tuple(needs)
