"""A whole report as the templates see it: every text finished, every coordinate computed.

In: an Assessment with its album of photos.  Out: one view for one edition.  Works out no value.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ...assess.model.assessment import Assessment, Characteristic, Fact, Photo
from ...assess.publishing.results import extract, results_json
from ..drawings.canvas import KEYS, Drawing, wide
from ..drawings.verdict_marks import PRINTED, Verdict, judged, verdict
from ..press.frame import Framed, framed
from ..press.language import opening, say, told
from ..press.pdf import Attached
from ..press.templating import anchor
from ..press.words import stop
from .annex import Annex, annex
from .answers import Answers, answers
from .asbuilt import After, AsBuilt, after, as_built
from .choice_views import ChoiceView, choices
from .costs import CostView, costs
from .findings import TEXT, Album, FindingView, Picture, decisions, findings, further, leading, picture
from .measurements import Measurements, measurements
from .summary import ROOM, Summary, summary

Edition = Literal["shop", "public"]
LEAST = 85.0  # points: a lower picture shows nothing
OPEN = (None, None)


@dataclass(frozen=True, slots=True)
class Report(Framed):
    """One report."""

    job: str
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
    built: AsBuilt | None
    after: After

    @property
    def decided(self) -> tuple[str, ...]:
        """Anchors of the decisions, a row each."""
        return tuple(anchor(f"decision-{row[0]}") for row in self.decisions)


def report(job: Assessment, album: Album, edition: Edition) -> Report:
    """The view of one Assessment for one edition.

    On paper the picture of page one is fitted to its page; a screen has room for the whole of it.
    """
    public = edition == "public"
    measured = measurements(job)
    said = answers(job, public)
    links = {item.anchor for item in measured.drawn}
    cost = costs(job, public, links)
    photo = leading(job, album, public)
    lines, left = _fitting(job, said, links, photo is not None)
    room = min(left - 13.0, 230.0 if job.findings else 190.0)
    if album.printed and room < LEAST:
        photo = None  # page one is full: the photo stands beside its finding only
    listed = findings(job, album, public, photo)
    drawn = bool(measured.drawn) or any(finding.beside for finding in listed)
    built = as_built(job)
    chosen = choices(job, public)
    used = {*map(judged, job.characteristics), *(row.now_verdict for row in job.summary)}
    return Report(
        frame=framed(
            job,
            say("Report"),
            job.title,
            "report",
            # a short report, of an engine hardly looked at, is printed without breaks between its sections
            paged=len(job.summary) > 4 and len(job.findings) > 1,
            sections=_sections(cost, chosen, built),
            carries=_carried(job) if album.printed else (),
        ),
        job=job.job,
        answers=said,
        lead=None if photo is None else _lead(photo, album, room),
        lead_findings=_shown_by(job, photo),
        summary=lines,
        findings=listed,
        further=further(job, album, public, photo),
        decisions=decisions(job),
        measurements=measured,
        choices=chosen,
        cost=cost,
        running=_facts(job.running),
        next_steps=_facts(job.next_steps),
        cautions=tuple(stop(opening(caution)) for caution in job.cautions),
        every_line=summary(job, links, everything=True) if lines.also else None,
        annex=annex(job, public),
        legend=tuple(verdict(word) for word in reversed(PRINTED) if word in used),
        keys=_keys(job) if drawn else (),
        built=built,
        after=after(job),
    )


def _sections(
    cost: CostView, chosen: tuple[ChoiceView, ...], built: AsBuilt | None
) -> tuple[tuple[str, str], ...]:
    sections = [
        ("answers", say("Answers")),
        ("findings", say("Findings")),
        ("measurements", say("Measurements")),
    ]
    if chosen:
        sections.append(("choices", say("Which part")))
    if built:
        sections.append(("built", say("As built")))
    return (*sections, ("cost", cost.title), ("next", say("What comes next")), ("annex", say("Annex")))


def _carried(job: Assessment) -> tuple[Attached, ...]:
    """The files inside its PDF: the records that it rests on, and its results; no money in either."""
    rests_on = "Readings, findings, limits and instruments of this report"
    return (
        Attached("extract.json", extract(job), rests_on),
        Attached("results.json", results_json(job), "Computed results of this report"),
    )


def _lead(photo: Photo, album: Album, room: float) -> Picture:
    return picture(photo, album, TEXT, room) if album.printed else picture(photo, album, 240.0, 180.0)


def _shown_by(job: Assessment, photo: Photo | None) -> tuple[tuple[str, int], ...]:
    """Anchor and number of each finding that the picture of page one belongs to."""
    if photo is None:
        return ()
    return tuple((anchor(f"finding-{f.id}"), f.number) for f in job.findings if photo.name in f.photos)


PAGE = 709.0  # points that the text of a page is tall
ROW = 17.4  # a line of the summary with both systems of units
NEEDED = 105.0  # points that a picture worth printing takes, caption and space included


FEWEST = 6  # lines of the summary that stay, whatever is said beside them
SAFE = 8.0  # points that what is worked out here may be off


def _fitting(job: Assessment, said: Answers, links: set[str], pictured: bool) -> tuple[Summary, float]:
    """The summary of page one and the room left there for a picture: rows give way to the picture.

    A picture shows more than the last lines of a table, which the annex has in whole; but what is not
    in order now always stays.  Without one they give way to what is said, so that page one holds them.
    """
    left = PAGE - _taken(said)
    fits: tuple[Summary, float] | None = None
    for rows in range(ROOM, FEWEST - 1, -1):
        table, spare = _sized(summary(job, links, room=rows), left)
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


def _keys(job: Assessment) -> tuple[tuple[str, Drawing], ...]:
    """Legend of what the drawings hold; nothing that does not occur is explained."""
    found = job.as_found
    held: dict[str, Callable[[Characteristic], bool]] = {
        "arrival": lambda c: c.round in found,
        "now": lambda c: c.round not in found and c.stands,
        "new limits": lambda c: c.limits is not None and c.limits.new != OPEN,
        "wear limit": lambda c: c.limits is not None and c.limits.wear != OPEN,
        "uncertainty": lambda c: bool(c.guard),
        "at least": lambda c: c.bound == "at least",
    }
    drawn = [c for c in job.characteristics if c.value is not None]
    return tuple((say(name), drawing) for name, drawing in KEYS.items() if any(map(held[name], drawn)))


def _facts(facts: tuple[Fact, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((opening(fact.label), told(fact.text)) for fact in facts)
