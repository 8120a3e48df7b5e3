"""The site's own pages: the index of jobs, newest first, and one page per engine family."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

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
from ..report.pageone import read_again
from ..report.view import Edition


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of an engine family as its jobs used it."""

    feature: str
    what: str
    new: str
    wear: str
    document: str
    place: str  # in it; "" of a source that is no document


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

    @property
    def meta(self) -> str:
        """'2026-003 · Tarnbeck OD6-54 · orchard tractor, 9412 h'."""
        name = engine_name(self.maker, self.model)
        use = ", ".join(part for part in (self.application, self.meter) if part)
        return " · ".join(part for part in (self.job, name, use) if part)


@dataclass(frozen=True, slots=True)
class Listed:
    """A job as the site's own pages keep it from run to run; nothing private is in it."""

    job: str
    opened: str  # 2026-03-06
    as_of: str
    item: str  # its place in a list of jobs, with UP and FAILING in it
    engine: str = ""
    maker: str = ""
    model: str = ""
    meter: str = ""
    built: Sequence[str] = ()
    findings: Sequence[str] = ()
    facts: Sequence[Sequence[str]] = ()
    limits: Sequence[Sequence[str]] = ()  # feature, what, new, wear, document, place in it


# Letters that no text has: where in an item the way to the edition's folder goes, and the word on its files.
UP, FAILING = "\ue000", "\ue001"


def entry(
    job: Assessment, thumb: Prepared | None = None, thumb_alt: str = "", photo_folder: str = "photos"
) -> IndexEntry:
    """The entry of a job; ``thumb`` is its leading photo, prepared in the job's ``photo_folder``."""
    first, now, shown = _deciding(job)
    if read_again(job) and now is None and first is not None and not first.stands:
        shown = "not measured"  # what it was read on has been worked on since
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


def listed(entry: IndexEntry, edition: Edition = "shop", shop: Path | None = None) -> Listed:
    """An entry as the pages of an edition keep it; ``ready`` fits its place into a page."""
    return Listed(
        job=entry.job,
        opened=entry.opened.isoformat(),
        as_of=entry.as_of.isoformat(),
        engine=entry.engine,
        maker=entry.maker,
        model=entry.model,
        meter=entry.meter,
        item=_item(entry, edition, shop, failing=FAILING),
        built=entry.built,
        findings=entry.findings,
        facts=entry.facts,
        limits=tuple(astuple(one) for one in entry.limits),
    )


def unlisted(job: str, title: str, problems: int, shop: Path | None = None) -> Listed:
    """A job of which there never were any pages: last in the list, and marked."""
    entry = IndexEntry(job, title, as_of=date.min, opened=date.min, verdict=verdict("not measured"))
    item = _item(entry, "shop", shop, linked=False, failing=failing(problems, None, shop))
    return Listed(job, date.min.isoformat(), date.min.isoformat(), item)


def failing(problems: int, published: date | None, shop: Path | None = None, *, partly: bool = False) -> str:
    """That the files of a job have problems, and of which day the pages are that are shown meanwhile.

    ``partly``: they are of what does not rest on the problems.
    """
    when = day(published) if published is not None else ""
    return str(_part(shop).failing(problems, when, partly))


def ready(item: str, up: str = "", failing: str = "") -> str:
    """A job's place in the list of a page from which ``up`` leads to the edition's folder."""
    return item.replace(UP, up).replace(FAILING, failing)


def _item(
    entry: IndexEntry, edition: Edition, shop: Path | None, linked: bool = True, failing: str = ""
) -> str:
    return str(_part(shop).job(entry, edition, UP, linked, failing))


def _part(shop: Path | None) -> Any:
    return templating.environment(shop).get_template("parts/job-entry/part.html.jinja").module


def index_html(
    shop_name: str,
    contact: str,
    notice: str,
    items: Iterable[str],
    engines: Sequence[tuple[str, str, str]],
    edition: Edition = "shop",
    assets: str = "assets/",
    shop: Path | None = None,
) -> Iterator[str]:
    """The first page of an edition, piece by piece: every job with the measurement that decided it.

    ``items`` are the places of all jobs, newest first; ``engines`` name, maker and model for each, "" where
    a job has none: so thousands of jobs are never held at once.
    """
    makers: dict[str, dict[str, tuple[str, int]]] = {}
    for engine, maker, model in engines:
        if engine:
            models = makers.setdefault(maker or say("Other"), {})
            name, many = models.get(engine, (model or engine, 0))
            models[engine] = (name, many + 1)
    intro = say("No job is published yet.")
    if len(engines) == 1:
        intro = say("One job. It shows the measurement that decided it, against its limits.")
    elif engines:
        words = message(
            "{count} jobs, newest first. Each shows the measurement that decided it, against its limits."
        )
        intro = say(words, count=capital(figure(len(engines))))
    template = templating.environment(shop).get_template("index.html.jinja")
    return template.generate(
        title=say("Engines taken apart, measured and put back"),
        lang=spoken().code,
        home="",
        shop=shop_name,
        contact=contact,
        notice=notice,
        items=items,
        intro=intro,
        makers={
            maker: sorted((key, *made) for key, made in models.items())
            for maker, models in sorted(makers.items())
        },
        marks=[verdict(name) for name in reversed(SEVERITY)],
        keys={say(name): sign for name, sign in KEYS.items()},
        edition=edition,
        assets=assets,
    )


def engine_html(
    shop_name: str,
    contact: str,
    notice: str,
    jobs: Iterable[Listed],
    items: Iterable[str],
    edition: Edition = "shop",
    assets: str = "../assets/",
    shop: Path | None = None,
) -> Iterator[str]:
    """One engine family, piece by piece: its facts, its jobs, its limits and their sources, what failed.

    ``jobs`` and ``items``, their places in the list, come newest first, and none is held longer than needed.
    """
    newest: Listed | None = None
    count = 0
    failed: list[tuple[str, str, Sequence[str]]] = []
    limits: dict[tuple[str, ...], None] = {}
    for job in jobs:
        newest, count = newest or job, count + 1
        limits.update((tuple(limit), None) for limit in job.limits)
        if job.findings:
            failed.append((job.job, job.meter, job.findings))
    if newest is None:
        raise ValueError("no job is of the engine")
    template = templating.environment(shop).get_template("engine.html.jinja")
    rows, books = _by_feature(limits)
    built = [line.removeprefix(f"{engine_name(newest.maker, newest.model)}, ") for line in newest.built]
    words = message(
        "{engine}. One job in this shop." if count == 1 else "{engine}. {count} jobs in this shop."
    )
    return template.generate(
        shop=shop_name,
        lang=spoken().code,
        contact=contact,
        notice=notice,
        title=engine_name(newest.maker, newest.model) or newest.engine,
        facts=newest.facts,
        intro=say(words, engine=capital("; ".join(built)), count=capital(figure(count))),
        home="../index.html",
        items=items,
        failed=failed,
        limits=rows,
        books=books,
        edition=edition,
        assets=assets,
    )


def _by_feature(limits: Iterable[tuple[str, ...]]) -> tuple[list[tuple[str, ...]], list[str]]:
    """A row a limit, all of a feature together, and the documents that they are from, each told once.

    Feature and source stand in the first row of a feature, until the source changes.
    """
    features: dict[str, list[tuple[str, ...]]] = {}
    for limit in limits:
        features.setdefault(limit[0], []).append(limit)
    books: dict[str, int] = {}
    rows: list[tuple[str, ...]] = []
    for feature, listed in features.items():
        known = ""
        for index, (_, what, new, wear, document, where) in enumerate(listed):
            source = document
            if where:
                source = f"{where} ({books.setdefault(document, len(books) + 1)})"
            rows.append(("" if index else feature, what, new, wear, "" if source == known else source))
            known = source
    return rows, [f"({number}) {title}" for title, number in books.items()]


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
        known = out.get((value.feature, value.name))
        if known is None or (not known.wear and _given(limits.wear)):
            out[(value.feature, value.name)] = _limit(job, value, limits)
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
        told(limits.source.document) or say("no source on file"),
        place(limits.source.where),
    )
