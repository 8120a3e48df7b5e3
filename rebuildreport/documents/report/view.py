"""A whole report as the templates see it: every text finished, every coordinate computed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from ...assess.model.assessment import Assessment, Fact
from ..drawings.canvas import KEYS, Drawing, wide
from ..press.language import say, spoken, told
from ..press.templating import anchor
from ..press.words import SEVERITY, capital, day, stop
from .annex import Annex, annex
from .answers import Answers, Verdict, answers, verdict
from .asbuilt import After, AsBuilt, after, as_built
from .choice_tables import Columns
from .choice_views import EFFECTS, ChoiceView, choices
from .costs import CostView, costs
from .findings import TEXT, Album, FindingView, Picture, decisions, findings, further, leading, picture
from .measurements import Measurements, measurements
from .summary import ROOM, Summary, summary

Edition = Literal["shop", "public"]
LEAST = 85.0  # points: a lower picture shows nothing


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
    decisions: tuple[tuple[str, ...], ...]
    measurements: Measurements
    choices: tuple[ChoiceView, ...]
    cost: CostView
    running: tuple[tuple[str, str], ...]
    next_steps: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    every_line: Summary | None  # of the summary, where page one shows some only
    annex: Annex
    legend: tuple[Verdict, ...]
    keys: tuple[tuple[str, Drawing], ...]
    sections: tuple[tuple[str, str], ...]
    built: AsBuilt | None
    after: After

    @property
    def title(self) -> str:
        return self.answers.title

    @property
    def decided(self) -> tuple[str, ...]:
        """Anchors of the decisions, a row each."""
        return tuple(anchor(f"decision-{row[0]}") for row in self.decisions)

    @property
    def effect_columns(self) -> Columns:
        """Heads of the tables of what a choice would change."""
        return tuple((say(head) if head else "", look) for head, look in EFFECTS)


def report(
    one: Assessment, album: Album, edition: Edition, revision: str = "", printed: bool = False
) -> Report:
    """The view of one Assessment for one edition.

    ``revision`` stands in the running head ("issue 2"); without it the date
    of the newest record does.  ``printed`` fits the picture of page one to its page;
    a screen has room for the whole of it.
    """
    public = edition == "public"
    measured = measurements(one)
    name = one.engine.full_name
    state = f"{revision}, {day(one.as_of)}" if revision else say("as of {day}", day=day(one.as_of))
    if one.issue is not None and one.issue.number is not None and not revision:
        if one.issue.frozen("report"):
            state = say("issue {number}, {day}", number=one.issue.number, day=day(one.issue.date))
        elif one.issue.later:
            words = "changed since issue {number}, as of {day}"
            state = say(words, number=one.issue.number, day=day(one.as_of))
    used = {c.verdict for c in one.characteristics} | {row.now_verdict for row in one.summary}
    said = answers(one, public)
    links = {item.anchor for item in measured.drawn}
    cost = costs(one, public, spoken(), links)
    lead = leading(one, album, public)
    table, left = _fitting(one, said, links, lead is not None)
    room = min(left - 13.0, 230.0 if one.findings else 190.0)
    if printed and room < LEAST:
        lead = None  # page one is full: the photo stands beside its finding only
    listed = findings(one, album, public, lead)
    drawn = bool(measured.drawn) or any(finding.beside for finding in listed)
    sections = [
        ("answers", say("Answers")),
        ("findings", say("Findings")),
        ("measurements", say("Measurements")),
    ]
    built = as_built(one)
    chosen = choices(one, public)
    sections += [("choices", say("Which part"))] if chosen else []
    sections += [("built", say("As built"))] if built else []
    sections += [("cost", cost.title), ("next", say("What comes next")), ("annex", say("Annex"))]
    return Report(
        edition=edition,
        lang=spoken().code,
        shop=one.shop,
        contact=one.contact,
        notice=one.notice,
        job=one.job,
        head=say("Job {job} · {engine} · report, {state}", job=one.job, engine=name, state=state),
        description=say("Report on job {job}, {engine}: {title}", job=one.job, engine=name, title=one.title),
        paged=len(one.summary) > 4 and len(one.findings) > 1,
        answers=said,
        lead=None if lead is None else picture(lead, album, *((TEXT, room) if printed else (240.0, 180.0))),
        lead_findings=tuple(
            (anchor(f"finding-{finding.id}"), finding.number)
            for finding in one.findings
            if lead is not None and lead.name in finding.photos
        ),
        summary=table,
        findings=listed,
        further=further(one, album, public, lead),
        decisions=decisions(one),
        measurements=measured,
        choices=chosen,
        cost=cost,
        running=_facts(one.running),
        next_steps=_facts(one.next_steps),
        cautions=tuple(stop(capital(told(caution))) for caution in one.cautions),
        every_line=summary(one, links, everything=True) if table.also else None,
        annex=annex(one, public),
        legend=tuple(verdict(word) for word in reversed(SEVERITY) if word in used),
        keys=_keys(one) if drawn else (),
        sections=tuple(sections),
        built=built,
        after=after(one),
    )


PAGE = 709.0  # points that the text of a page is tall
ROW = 17.4  # a line of the summary with both systems of units
NEEDED = 105.0  # points that a picture worth printing takes, caption and space included


FEWEST = 6  # lines of the summary that stay, whatever is said beside them
SAFE = 8.0  # points that what is worked out here may be off


def _fitting(one: Assessment, said: Answers, links: set[str], pictured: bool) -> tuple[Summary, float]:
    """The summary of page one and the room left there for a picture: rows give way to the picture.

    A picture shows more than the last lines of a table, which the annex has in whole; but what is not
    in order now always stays.  Without one they give way to what is said, so that page one holds them.
    """
    left = PAGE - _taken(said)
    fits: tuple[Summary, float] | None = None
    for rows in range(ROOM, FEWEST - 1, -1):
        table, spare = _sized(summary(one, links, room=rows), left)
        fits = fits or ((table, spare) if spare >= SAFE else None)
        if spare >= NEEDED or (fits and not pictured):
            return table, spare
    return fits or (table, spare)


def _sized(table: Summary, left: float) -> tuple[Summary, float]:
    """A summary, and what it leaves of so many points."""
    names = [f"{row.title} ({row.deviation})" if row.deviation else row.title for row in table.rows]
    tall = 4.2 * 13.0 + sum(ROW + 9.0 * (_lines(name, *NAME) - 1) for name in names)
    tall += 11.0 * (len(table.also) // 135)
    return table, left - (tall if table.rows else 0.0)


SIDE, MAIN, NOTE, NAME = (
    (148.0, 8.2),
    (325.0, 9.6),
    (315.0, 9.6),
    (102.0, 8.2),
)  # width and size of the letters, in points


def _taken(said: Answers) -> float:
    """Points that title, text and the column beside it take on page one, in lines of 13 points."""
    side = sum(1.4 + _lines(text, *SIDE) for _, text in said.facts) + 1.4
    side += sum(_lines(x, *SIDE) for x in said.engine)
    if said.cost is not None:
        details = f"{say('Details')} {say('page')} 99" if said.cost.amount else ""
        side += 2.7 + _lines(" ".join([*said.cost.notes, details]), *SIDE)
    text = 4.0 + _lines(said.found, *MAIN) + _lines(said.did, *MAIN)
    text += sum(1.2 + _lines(f"{say('Please note.')} {warning}", *NOTE) for warning in said.warnings)
    if said.needs:
        text += 2.0 + sum(_lines(need, *NOTE) for need in said.needs)
    title = 3.0 + 2 * (_lines(said.title, 482.0, 21.0) - 1)
    return 13.0 * (title + max(side, text))


def _lines(text: str, width: float, size: float) -> int:
    """Lines that a text takes, broken between its words and never at a no-break space.

    >>> _lines("ready 10\u00a0December, delivered 11\u00a0December", 90.0, 8.2)
    3
    """
    lines, used = 1, 0.0
    for word in re.split("[ \n]+", text):
        room = wide(f"{word} ", size)
        if used and used + room - wide(" ", size) > width:
            lines, used = lines + 1, 0.0
        used += room
    return lines


def _keys(one: Assessment) -> tuple[tuple[str, Drawing], ...]:
    """Legend of what the drawings hold; nothing that does not occur is explained."""
    drawn = [c for c in one.characteristics if c.value is not None]
    limits = [c.limits for c in drawn if c.limits is not None]
    held = {
        "arrival": any(c.round in one.as_found for c in drawn),
        "now": any(c.round not in one.as_found and c.stands for c in drawn),
        "new limits": any(limit.new != (None, None) for limit in limits),
        "wear limit": any(limit.wear != (None, None) for limit in limits),
        "uncertainty": any(c.guard for c in drawn),
        "at least": any(c.bound == "at least" for c in drawn),
    }
    return tuple((say(name), drawing) for name, drawing in KEYS.items() if held[name])


def _facts(facts: tuple[Fact, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((capital(told(fact.label)), told(fact.text)) for fact in facts)
