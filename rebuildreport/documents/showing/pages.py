"""The site's own pages: the index of jobs, newest first, and one page per engine family."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from ...assess.model.assessment import Assessment, Characteristic, Ends, Finding, Limits, SummaryLine
from ...assess.model.enginefacts import engine_name
from ...quantities import as_typed, message
from ..drawings.canvas import KEYS, Drawing
from ..drawings.scales import NARROW, name_of, scales, unit_of
from ..drawings.verdict_marks import Verdict, verdict
from ..press import templating
from ..press.enginewords import engine_lines
from ..press.language import say, spoken, told
from ..press.photos import Prepared
from ..press.words import (
    SEVERITY,
    capital,
    day,
    figure,
    first_sentence,
    interval,
    joined,
    place,
    severity,
)
from ..report.view import Edition


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of an engine family as its jobs used it."""

    feature: str
    what: str
    new: str
    wear: str
    source: str


@dataclass(frozen=True, slots=True)
class IndexEntry:
    """One job on the index and on its engine's page; nothing private is in it."""

    job: str
    title: str
    engine: str = ""  # name of the sheet: engines/NAME.html
    maker: str = ""
    model: str = ""
    built: tuple[str, ...] = ()  # facts of the engine in lines
    application: str = ""
    meter: str = ""
    says: str = ""  # first sentence of what was found
    stage: str = ""
    as_of: date = field(kw_only=True)
    opened: date = field(kw_only=True)
    verdict: Verdict = field(kw_only=True)
    value_name: str = ""  # what the scale shows: "Main bearing clearance, M4, mm"
    scale: tuple[Drawing, ...] = ()
    thumb: str = ""  # address from the edition's folder, "" for none
    thumb_alt: str = ""
    findings: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    limits: tuple[Limit, ...] = ()
    problems: int = 0  # above 0: the files are wrong, the pages shown are the last good ones
    published: str = ""  # "5 March 2026": date of the last good pages; "" where there are none

    @property
    def meta(self) -> str:
        """'2026-003 · Tarnbeck OD6-54 · orchard tractor, 9412 h'."""
        name = engine_name(self.maker, self.model)
        use = ", ".join(part for part in (self.application, self.meter) if part)
        return " · ".join(part for part in (self.job, name, use) if part)


def entry(
    job: Assessment, thumb: Prepared | None = None, thumb_alt: str = "", photo_folder: str = "photos"
) -> IndexEntry:
    """The entry of a job; ``thumb`` is its leading photo, prepared in the job's ``photo_folder``."""
    first, now, shown = _deciding(job)
    drawn: list[Drawing] = []
    value_name = ""
    some = first or now
    if some is not None and some.value is not None:
        feature = job.feature(some.feature)
        drawn = scales(first, now, feature, job.system, NARROW)[:1]
        value_name = f"{name_of(some, feature)}, {unit_of(some, job.system)}"
        if first is not None and first.verdict != shown:
            arrived = verdict(first.verdict).name
            value_name = say("on arrival {verdict}: {value}", verdict=arrived, value=value_name)
    titles = tuple(told(finding.title) for finding in job.findings)
    return IndexEntry(
        job=job.job,
        title=job.title,
        engine=job.engine.name,
        maker=job.engine.maker,
        model=job.engine.model,
        built=engine_lines(job, with_meter=False),
        application=job.application,
        meter=told(job.meter),
        says=_said(job, titles),
        stage=job.stage,
        as_of=job.as_of,
        opened=job.opened,
        verdict=verdict(shown),
        value_name=value_name,
        scale=tuple(drawn),
        thumb=f"{job.job}/{photo_folder}/{thumb.small}" if thumb is not None and thumb.small else "",
        thumb_alt=thumb_alt,
        findings=titles,
        facts=_facts(job),
        limits=_limits(job),
    )


def _said(job: Assessment, titles: tuple[str, ...]) -> str:
    """What was found in one sentence, and that nothing is measured where nothing is."""
    said = first_sentence(told(job.found))
    if not said and titles:
        said = say("Seen so far: {what}.", what=joined(titles[:3]))
    if not said:
        said = say("Came in on {day}.", day=day(job.opened, year=False))
    if not any(value.value is not None for value in job.characteristics):
        said += " " + say("Nothing is measured yet.")
    return said


def failing(
    earlier: IndexEntry | None, job: str, title: str, problems: int, published: date | None
) -> IndexEntry:
    """The entry of a job whose files have problems: as it was last good, and marked."""
    when = day(published) if published is not None else ""
    if earlier is not None:
        return replace(earlier, problems=problems, published=when)
    today = published or date.min
    unknown = verdict("not measured")
    return IndexEntry(
        job, title, as_of=today, opened=today, verdict=unknown, problems=problems, published=when
    )


def index_html(
    shop_name: str,
    contact: str,
    notice: str,
    entries: Sequence[IndexEntry],
    edition: Edition = "shop",
    assets: str = "assets/",
    shop: Path | None = None,
) -> str:
    """The first page of an edition: every job, newest first, with the measurement that decided it."""
    listed = _newest_first(entries)
    makers: dict[str, dict[str, tuple[str, int]]] = {}
    for job in listed:
        if job.engine:
            models = makers.setdefault(job.maker or say("Other"), {})
            name, many = models.get(job.engine, (job.model or job.engine, 0))
            models[job.engine] = (name, many + 1)
    intro = say("No job is published yet.")
    if len(listed) == 1:
        intro = say("One job. It shows the measurement that decided it, against its limits.")
    elif listed:
        words = message(
            "{count} jobs, newest first. Each shows the measurement that decided it, against its limits."
        )
        intro = say(words, count=capital(figure(len(listed))))
    template = templating.environment(shop).get_template("index.html.jinja")
    return template.render(
        title=say("Engines taken apart, measured and put back"),
        lang=spoken().code,
        home="",
        shop=shop_name,
        contact=contact,
        notice=notice,
        entries=listed,
        intro=intro,
        makers={
            maker: sorted((key, *made) for key, made in models.items())
            for maker, models in sorted(makers.items())
        },
        marks=[verdict(name) for name in reversed(SEVERITY)],
        keys={say(name): drawing for name, drawing in KEYS.items()},
        edition=edition,
        assets=assets,
    )


def engine_html(
    shop_name: str,
    contact: str,
    notice: str,
    engine: str,
    entries: Sequence[IndexEntry],
    edition: Edition = "shop",
    assets: str = "../assets/",
    shop: Path | None = None,
) -> str:
    """One engine family: its facts, its jobs, its limits with their sources, what failed on it."""
    listed = _newest_first(job for job in entries if job.engine == engine)
    if not listed:
        raise ValueError(f"no job is of the engine {engine}")
    template = templating.environment(shop).get_template("engine.html.jinja")
    newest = listed[0]
    built = [line.removeprefix(f"{engine_name(newest.maker, newest.model)}, ") for line in newest.built]
    words = message(
        "{engine}. One job in this shop." if len(listed) == 1 else "{engine}. {count} jobs in this shop."
    )
    return template.render(
        shop=shop_name,
        lang=spoken().code,
        contact=contact,
        notice=notice,
        title=engine_name(newest.maker, newest.model) or engine,
        facts=newest.facts,
        intro=say(words, engine=capital("; ".join(built)), count=capital(figure(len(listed)))),
        home="../index.html",
        entries=listed,
        failed=[(job, job.findings) for job in listed if job.findings],
        limits=_once(list(dict.fromkeys(limit for job in listed for limit in job.limits))),
        edition=edition,
        assets=assets,
    )


def _newest_first(entries: Iterable[IndexEntry]) -> list[IndexEntry]:
    return sorted(entries, key=lambda job: (job.opened, job.job), reverse=True)


def _once(limits: list[Limit]) -> list[tuple[str, str, str, str, str]]:
    """A row a limit; feature and source stand in the first row of a feature, until the source changes."""
    rows = []
    before: Limit | None = None
    for limit in limits:
        new = before is None or limit.feature != before.feature
        source = limit.source if new or before is None or limit.source != before.source else ""
        rows.append((limit.feature if new else "", limit.what, limit.new, limit.wear, source))
        before = limit
    return rows


def _deciding(job: Assessment) -> tuple[Characteristic | None, Characteristic | None, str]:
    """What decided the job, on arrival and now, and the verdict to show for it.

    The first finding that a measurement proves leads, else the worst line of
    the summary.  A later measurement of the same place shows the later verdict.
    """
    for finding in job.findings:
        proof = _proof(job, finding)
        if proof and proof[0].verdict in SEVERITY[:2]:
            return _pair(proof[0], proof[-1])
    rows = [(lead, row) for row in job.summary if (lead := _lead(job, row)) is not None]
    if not rows:
        return None, None, "not measured"
    lead, row = min(rows, key=lambda pair: (severity(pair[0].verdict), -pair[0].past))
    first, now = job.find(row.first), job.find(row.now)
    if first is None:
        return None, now, lead.verdict
    # where the worst place now is another one, it does not stand on this scale
    return _pair(first, now if now is not None and now.position == first.position else first)


def _proof(job: Assessment, finding: Finding) -> list[Characteristic]:
    """The measured values that a finding shows, of the place that the first of them is of."""
    shown = [
        value for key in finding.shows if (value := job.find(key)) is not None and value.value is not None
    ]
    return [value for value in shown if _what(value) == _what(shown[0])]


def _what(value: Characteristic) -> tuple[str, str, str]:
    return value.feature, value.name, value.position


def _lead(job: Assessment, row: SummaryLine) -> Characteristic | None:
    """What a line of the summary begins with; None where that was not measured."""
    lead = job.find(row.first) or job.find(row.now)
    return lead if lead is not None and lead.value is not None else None


def _pair(first: Characteristic, last: Characteristic) -> tuple[Characteristic, Characteristic | None, str]:
    if last is first:
        return first, None, first.verdict
    return first, last, last.verdict


def _facts(job: Assessment) -> tuple[tuple[str, str], ...]:
    engine = job.engine
    rows = [
        (say("Front"), engine.front),
        (say("Counting"), told(engine.counting)),
        (say("Rotation"), engine.rotation),
        (say("Firing order"), engine.firing_order),
    ]
    return tuple((name, text) for name, text in rows if text)


def _limits(job: Assessment) -> tuple[Limit, ...]:
    """Every limit that was used, once; what a decision moved (an undersize) is no limit of the family."""
    out: dict[tuple[str, str], Limit] = {}
    for value in job.characteristics:
        limits = value.limits
        if limits is None or limits.size or not (_given(limits.new) or _given(limits.wear)):
            continue
        limit = _limit(job, value, limits)
        known = out.setdefault((value.feature, value.name), limit)
        if not known.wear and limit.wear:
            out[(value.feature, value.name)] = limit
    return tuple(out.values())


def _given(ends: Ends) -> bool:
    return ends != (None, None)


def _limit(job: Assessment, value: Characteristic, limits: Limits) -> Limit:
    feature = job.feature(value.feature)
    title = told(feature.title) if feature else place(value.feature)
    what = told(feature.characteristics.get(value.name, as_typed(value.name))) if feature else value.name
    return Limit(
        title,
        f"{what}, {unit_of(value, job.system)}",
        interval(limits.new, value, job.system),
        interval(limits.wear, value, job.system),
        told(limits.source) or say("no source on file"),
    )
