"""The site's own pages: the index of jobs, newest first, and one page per engine family."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from ...assess.model.assessment import Assessment, Characteristic, SummaryLine
from ...assess.model.enginefacts import engine_name
from ..drawings.canvas import KEYS, Drawing
from ..drawings.scales import NARROW, name_of, scales, unit_of
from ..press import templating
from ..press.photos import Prepared
from ..press.words import SEVERITY, capital, count, day, first_sentence, interval, joined, severity, unit_text
from ..report.answers import Verdict, engine_lines, verdict
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
    engine: str  # name of the sheet: engines/NAME.html
    maker: str
    model: str
    built: tuple[str, ...]  # facts of the engine in lines
    application: str
    meter: str
    says: str  # first sentence of what was found
    stage: str
    as_of: date
    opened: date
    verdict: Verdict
    value_name: str  # what the scale shows: "Main bearing clearance, M4, mm"
    scale: tuple[Drawing, ...]
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
    one: Assessment, thumb: Prepared | None = None, thumb_alt: str = "", photo_folder: str = "photos"
) -> IndexEntry:
    """The entry of a job; ``thumb`` is its leading photo, prepared in the job's ``photo_folder``."""
    first, now, shown = _deciding(one)
    drawn: list[Drawing] = []
    name = ""
    some = first or now
    if some is not None and some.value is not None:
        feature = next((f for f in one.features if f.name == some.feature), None)
        drawn = scales(first, now, feature, one.system, NARROW)[:1]
        name = f"{name_of(some, feature)}, {unit_of(some, one.system)}"
        if first is not None and first.verdict != shown:
            name = f"on arrival {first.verdict}: {name}"
    says = first_sentence(one.found)
    if not says and one.findings:
        says = f"Seen so far: {joined(finding.title for finding in one.findings[:3])}."
    if not says:
        says = f"Came in on {day(one.opened, year=False)}."
    if not any(c.value is not None for c in one.characteristics):
        says += " Nothing is measured yet."
    return IndexEntry(
        job=one.job,
        title=one.title,
        engine=one.engine.name,
        maker=one.engine.maker,
        model=one.engine.model,
        built=engine_lines(one, with_meter=False),
        application=one.application,
        meter=one.meter,
        says=says,
        stage=one.stage,
        as_of=one.as_of,
        opened=one.opened,
        verdict=verdict(shown),
        value_name=name,
        scale=tuple(drawn),
        thumb=f"{one.job}/{photo_folder}/{thumb.small}" if thumb is not None and thumb.small else "",
        thumb_alt=thumb_alt,
        findings=tuple(finding.title for finding in one.findings),
        facts=_facts(one),
        limits=_limits(one),
    )


def failing(
    earlier: IndexEntry | None, job: str, title: str, problems: int, published: date | None
) -> IndexEntry:
    """The entry of a job whose files have problems: as it was last good, and marked."""
    when = day(published) if published is not None else ""
    if earlier is not None:
        return replace(earlier, problems=problems, published=when)
    today = published or date.min
    return IndexEntry(
        job,
        title,
        "",
        "",
        "",
        (),
        "",
        "",
        "",
        "",
        today,
        today,
        verdict("not measured"),
        "",
        (),
        problems=problems,
        published=when,
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
    listed = sorted(entries, key=lambda one: (one.opened, one.job), reverse=True)
    makers: dict[str, dict[str, tuple[str, int]]] = {}
    for one in listed:
        if one.engine:
            models = makers.setdefault(one.maker or "Other", {})
            name, many = models.get(one.engine, (one.model or one.engine, 0))
            models[one.engine] = (name, many + 1)
    jobs = capital(count(len(listed), "job"))
    intro = f"{jobs}, newest first. Each shows the measurement that decided it, against its limits."
    template = templating.environment(shop).get_template("index.html.jinja")
    return template.render(
        title="Engines taken apart, measured and put back",
        home="",
        shop=shop_name,
        contact=contact,
        notice=notice,
        entries=listed,
        intro=intro if listed else "No job is published yet.",
        makers={
            maker: sorted((key, *made) for key, made in models.items())
            for maker, models in sorted(makers.items())
        },
        marks=[verdict(name) for name in reversed(SEVERITY)],
        keys=KEYS,
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
    listed = sorted(
        (one for one in entries if one.engine == engine), key=lambda one: (one.opened, one.job), reverse=True
    )
    if not listed:
        raise ValueError(f"no job is of the engine {engine}")
    limits = list(dict.fromkeys(limit for one in listed for limit in one.limits))
    template = templating.environment(shop).get_template("engine.html.jinja")
    newest = listed[0]
    built = [line.removeprefix(f"{engine_name(newest.maker, newest.model)}, ") for line in newest.built]
    jobs = capital(count(len(listed), "job"))
    return template.render(
        shop=shop_name,
        contact=contact,
        notice=notice,
        title=engine_name(newest.maker, newest.model) or engine,
        facts=newest.facts,
        intro=f"{capital('; '.join(built))}. {jobs} in this shop.",
        home="../index.html",
        entries=listed,
        failed=[(one, one.findings) for one in listed if one.findings],
        limits=_once(limits),
        edition=edition,
        assets=assets,
    )


def _once(limits: list[Limit]) -> list[tuple[str, str, str, str, str]]:
    """A row a limit; feature and source stand in the first row of a feature, until the source changes."""
    rows = []
    before: Limit | None = None
    for one in limits:
        new = before is None or one.feature != before.feature
        source = one.source if new or before is None or one.source != before.source else ""
        rows.append((one.feature if new else "", one.what, one.new, one.wear, source))
        before = one
    return rows


def _deciding(one: Assessment) -> tuple[Characteristic | None, Characteristic | None, str]:
    """What decided the job, on arrival and now, and the verdict to show for it.

    The first finding that a measurement proves leads, else the worst line of
    the summary.  A later measurement of the same place shows the later verdict.
    """
    for finding in one.findings:
        shown = [c for key in finding.shows if (c := one.find(key)) is not None and c.value is not None]
        shown = [c for c in shown if (c.feature, c.name, c.position) == _what(shown[0])]
        if shown and shown[0].verdict in SEVERITY[:2]:
            return _pair(shown[0], shown[-1])
    best: tuple[tuple[int, float], SummaryLine] | None = None
    for row in one.summary:
        lead = one.find(row.first) or one.find(row.now)
        if lead is None or lead.value is None:
            continue
        rank = (severity(lead.verdict), -lead.past)
        if best is None or rank < best[0]:
            best = (rank, row)
    if best is None:
        return None, None, "not measured"
    first, now = one.find(best[1].first), one.find(best[1].now)
    lead = first or now
    if lead is None:
        return None, None, "not measured"
    if first is not None and now is not None and now.position != first.position:
        now = None  # the worst place now is another one: it does not stand on this scale
    return _pair(lead, now or lead) if first is not None else (None, now, lead.verdict)


def _what(one: Characteristic) -> tuple[str, str, str]:
    return one.feature, one.name, one.position


def _pair(first: Characteristic, last: Characteristic) -> tuple[Characteristic, Characteristic | None, str]:
    if last is first:
        return first, None, first.verdict
    return first, last, last.verdict


def _facts(one: Assessment) -> tuple[tuple[str, str], ...]:
    engine = one.engine
    rows = [
        ("Front", engine.front),
        ("Counting", engine.counting),
        ("Rotation", engine.rotation),
        ("Firing order", engine.firing_order),
    ]
    return tuple((name, text) for name, text in rows if text)


def _limits(one: Assessment) -> tuple[Limit, ...]:
    """Every limit that was used, once; what a decision moved (an undersize) is no limit of the family."""
    out: dict[tuple[str, str], Limit] = {}
    for c in one.characteristics:
        if c.limits is None or c.limits.size or (c.limits.new, c.limits.wear) == ((None, None), (None, None)):
            continue
        feature = next((f for f in one.features if f.name == c.feature), None)
        title = feature.title if feature else c.feature.replace("_", " ")
        what = feature.characteristics.get(c.name, c.name.replace("_", " ")) if feature else c.name
        unit = unit_text(unit_of(c, one.system))
        new, wear = interval(c.limits.new, c, one.system), interval(c.limits.wear, c, one.system)
        limit = Limit(title, f"{what}, {unit}", new, wear, c.limits.source or "no source on file")
        known = out.setdefault((c.feature, c.name), limit)
        if not known.wear and wear:
            out[(c.feature, c.name)] = limit
    return tuple(out.values())
