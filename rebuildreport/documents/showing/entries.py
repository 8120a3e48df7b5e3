"""One job on the site's own pages: its place in a list, and what they say of it beside that.

In: an Assessment, and what the history keeps of the job.  Out: plain data, and a piece of HTML that every
list shows; the site keeps both, so that no list has to load a job.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct, field, to_builtins

from ...assess.model.assessment import Assessment, Characteristic, Finding, SummaryLine
from ...assess.model.edition import copied
from ...assess.model.enginefacts import engine_name
from ...assess.publishing.outcomes import Past
from ...records.files.folder import job_number
from ..drawings.canvas import Drawing
from ..drawings.scales import NARROW, name_of, scales, unit_of
from ..drawings.verdict_marks import Verdict, verdict
from ..press import templating
from ..press.enginewords import engine_lines
from ..press.language import say, told
from ..press.photos import Prepared
from ..press.words import OUT_OF_ORDER, day, first_sentence, joined, severity
from ..press.words import value as printed_value
from ..report.pageone import read_again
from ..report.view import Edition


class Listed(Struct, frozen=True):
    """A job as the site's own pages keep it from run to run; nothing private is in it."""

    job: str
    opened: str  # 2026-03-06
    as_of: str
    item: str  # its place in a list of jobs, with UP and FAILING in it
    title: str = ""
    says: str = ""  # first sentence of what was found
    meta: str = ""  # its line in small print: "2026-003 · Tarnbeck OD6-54 · orchard tractor, 9412 h"
    verdict: str = "not measured"  # code of that on what is shown: on arrival, where it was read then
    measured: str = ""  # what decided it, whatever it was on arrival: "Main bearing clearance, M4"
    shown: str = ""  # its value: "at least 0.206 mm"
    picture: str = ""  # of its leading photo, large, from the edition's folder
    was: Sequence[str] = ()  # names of the job before this one
    past: dict[str, Any] = field(default_factory=dict)  # as ``outcomes.Past`` has it, its titles told
    engine: str = ""  # name of the sheet: engines/NAME.html
    maker: str = ""
    model: str = ""
    meter: str = ""
    built: Sequence[str] = ()  # facts of the engine in lines
    findings: Sequence[str] = ()


class IndexEntry(Listed, frozen=True, kw_only=True):
    """A job with what its place in a list is made of, beside what is kept; nothing private in it either."""

    standing: Verdict
    stage: str = ""
    value_name: str = ""  # what the scale shows: "Main bearing clearance, M4, mm"
    scale: tuple[Drawing, ...] = ()
    thumb: str = ""  # address from the edition's folder, "" for none
    thumb_alt: str = ""


# Letters that no text has: where in an item the way to the edition's folder goes, and the word on its files.
UP, FAILING = "\ue000", "\ue001"


def entry(
    job: Assessment,
    thumb: Prepared | None = None,
    thumb_alt: str = "",
    past: Past | None = None,
) -> IndexEntry:
    """The entry of a job; ``thumb`` is its leading photo, prepared in the job's folder of photos."""
    first, now, shown = _deciding(job)
    if read_again(job) and now is None and first is not None and not first.stands:
        shown = "not measured"  # what it was read on has been worked on since
    drawn: list[Drawing] = []
    value_name = measured = shown_value = ""
    some = first or now
    if some is not None and some.value is not None:
        feature = job.feature(some.feature)
        drawn = scales(first, now, feature, job.system, NARROW)[:1]
        value_name = measured = name_of(feature, some.name, some.position)
        if some.unit != "count":  # "crack indications, count" says it twice
            value_name += f", {unit_of(some.unit, job.system)}"
        if (figures := printed_value(some, job.system)) is not None:
            shown_value = f"{figures.said} {figures.unit}"
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
        built=engine_lines(job, alone=False),
        meter=told(job.meter),
        meta=_meta(job),
        says=_said(job, titles),
        stage=job.stage,
        as_of=job.as_of.isoformat(),
        opened=job.opened.isoformat(),
        item="",
        standing=verdict(shown),
        verdict=some.verdict if some is not None else "not measured",
        value_name=value_name,
        measured=measured,
        shown=shown_value,
        scale=tuple(drawn),
        thumb=f"{job.job}/photos/{thumb.small}" if thumb is not None and thumb.small else "",
        thumb_alt=thumb_alt,
        picture=f"{job.job}/photos/{thumb.full}" if thumb is not None and thumb.full else "",
        past=_kept(past),
        findings=titles,
    )


def _meta(job: Assessment) -> str:
    name = engine_name(job.engine.maker, job.engine.model)
    use = ", ".join(part for part in (job.application, told(job.meter)) if part)
    return " · ".join(part for part in (job_number(job.job) or job.job, name, use) if part)


def _kept(past: Past | None) -> dict[str, Any]:
    """What the history keeps, with its titles in the site's language."""
    if past is None:
        return {}
    kept: dict[str, Any] = to_builtins(past, enc_hook=told)
    return kept


def _said(job: Assessment, titles: tuple[str, ...]) -> str:
    """What was found, in one sentence."""
    if said := first_sentence(told(job.found)):
        return said
    said = say("Came in on {day}.", day=day(job.opened, year=False))
    if titles:
        said = say("Seen so far: {what}.", what=joined(titles[:3]))
    if not any(value.value is not None for value in job.characteristics):
        said += " " + say("Nothing is measured yet.")
    return said


def listed(entry: IndexEntry, edition: Edition = "shop", shop: Path | None = None) -> Listed:
    """An entry as the pages of an edition keep it; ``ready`` fits its place into a page."""
    return copied(Listed, entry, item=_item(entry, edition, shop, failing=FAILING))


def unlisted(job: str, title: str, problems: int, shop: Path | None = None) -> Listed:
    """A job of which there never were any pages: last in the list, and marked."""
    never = date.min.isoformat()
    entry = IndexEntry(
        job, never, never, "", title, meta=job_number(job) or job, standing=verdict("not measured")
    )
    item = _item(entry, "shop", shop, linked=False, failing=failing(problems, None, shop))
    return Listed(job, never, never, item, title)


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


def _deciding(job: Assessment) -> tuple[Characteristic | None, Characteristic | None, str]:
    """What decided the job, on arrival and now, and the verdict to show for it.

    The first finding that a measurement proves leads, else the worst line of
    the summary.  A later measurement of the same place shows the later verdict.
    """
    for finding in job.findings:
        proof = _proof(job, finding)
        if proof and proof[0].verdict in OUT_OF_ORDER:
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
