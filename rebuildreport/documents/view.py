"""A whole report as the templates see it: every text finished, every coordinate computed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ..assess.model import Assessment, Fact
from .annex import Annex, annex
from .answers import Answers, Summary, Verdict, answers, summary, verdict
from .costs import CostView, costs
from .drawings import KEYS, Drawing
from .findings import (
    TEXT,
    Album,
    DecisionView,
    FindingView,
    Picture,
    decisions,
    findings,
    further,
    leading,
    picture,
)
from .measurements import Measurements, measurements
from .places import anchor
from .words import SEVERITY, capital, day, stop

Edition = Literal["shop", "public"]


@dataclass(frozen=True, slots=True)
class Report:
    """One report.  ``paged``: every section begins its own page in print, as a full report does."""

    edition: Edition
    lang: str
    shop: str
    contact: str
    notice: str
    job: str
    head: str
    description: str
    paged: bool
    answers: Answers
    lead: Picture | None
    lead_findings: tuple[tuple[str, int], ...]
    summary: Summary
    findings: tuple[FindingView, ...]
    further: tuple[Picture, ...]
    decisions: tuple[DecisionView, ...]
    measurements: Measurements
    cost: CostView
    running: tuple[tuple[str, str], ...]
    next_steps: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    annex: Annex
    legend: tuple[Verdict, ...]
    keys: tuple[tuple[str, Drawing], ...]
    sections: tuple[tuple[str, str], ...]


def report(one: Assessment, album: Album, edition: Edition, revision: str = "") -> Report:
    """The view of one Assessment for one edition.

    ``revision`` stands in the running head ("issue 2"); without it the date
    of the newest record does.
    """
    public = edition == "public"
    measured = measurements(one)
    lead = leading(one, album, public)
    name = " ".join(part for part in (one.engine.maker, one.engine.model) if part) or one.engine.name
    state = f"{revision}, {day(one.as_of)}" if revision else f"as of {day(one.as_of)}"
    listed = findings(one, album, public)
    drawn = bool(measured.drawn) or any(finding.beside for finding in listed)
    used = {c.verdict for c in one.characteristics} | {row.now_verdict for row in one.summary}
    cost = costs(one, public)
    sections = [("answers", "Answers"), ("findings", "Findings"), ("measurements", "Measurements")]
    sections += [("cost", cost.title), ("next", "What comes next"), ("annex", "Annex")]
    return Report(
        edition=edition,
        lang="en",
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        job=one.job,
        head=f"Job {one.job} · {name} · report, {state}",
        description=f"Report on job {one.job}, {name}: {one.title}",
        paged=len(one.summary) > 4 and len(one.findings) > 1,
        answers=answers(one, public),
        lead=picture(lead, album, TEXT, 142.0 if one.summary else 230.0) if lead else None,
        lead_findings=tuple(
            (anchor(f"finding-{finding.id}"), finding.number)
            for finding in one.findings
            if lead is not None and lead.name in finding.photos
        ),
        summary=summary(one, {item.anchor for item in measured.drawn}),
        findings=listed,
        further=further(one, album, public),
        decisions=decisions(one),
        measurements=measured,
        cost=cost,
        running=_facts(one.running),
        next_steps=_facts(one.next_steps),
        cautions=tuple(stop(capital(caution)) for caution in one.cautions),
        annex=annex(one, public),
        legend=tuple(verdict(word) for word in reversed(SEVERITY) if word in used),
        keys=tuple(KEYS.items()) if drawn else (),
        sections=tuple(sections),
    )


def _facts(facts: tuple[Fact, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((capital(fact.label), fact.text) for fact in facts)
