"""A whole report as the templates see it; what a template can print of the Assessment itself it takes there.

In: an Assessment with its album of photos.  Out: one view for one edition.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from ...assess.model.assessment import Assessment, Characteristic
from ...assess.publishing.extract import extract
from ...assess.publishing.results import results_json
from ...trade.measuring.verdict import OPEN
from ..drawings.canvas import KEYS
from ..drawings.verdict_marks import PRINTED, Verdict, judged, verdict
from ..press.enginewords import decided
from ..press.frame import Framed, framed
from ..press.language import say
from ..press.pdf import Attached
from ..record.running_view import RunningView, running_view, valves_view
from .asbuilt import After, AsBuilt, after, as_built
from .choice_views import ChoiceView, TriedView, choices, tried_on_paper
from .costs import CostView, costs
from .findings import Album, FindingView, Picture, findings, further
from .measurements import Measurements, measurements
from .pageone import PageOne, page_one

Edition = Literal["shop", "public"]


class Report(Framed, frozen=True):
    """One report."""

    job: Assessment
    page_one: PageOne
    findings: tuple[FindingView, ...]
    further: tuple[Picture, ...]
    running: tuple[RunningView, ...]
    measurements: Measurements
    choices: tuple[ChoiceView, ...]
    tried: TriedView | None
    decided: tuple[str, ...]
    built: AsBuilt
    cost: CostView
    after: After
    legend: tuple[Verdict, ...]
    keys: tuple[tuple[str, str], ...]


def report(job: Assessment, album: Album, edition: Edition) -> Report:
    """The view of one Assessment for one edition."""
    public = edition == "public"
    listed, shots = findings(job, album, public), further(job, album, public)
    running = tuple(view for of in (running_view, valves_view) if (view := of(job)))
    measured = measurements(job)
    cost = costs(job, public)
    drawn = bool(measured.drawn) or any(finding.beside for finding in listed)
    used = {*map(judged, job.characteristics), *(row.now_verdict for row in job.summary)}
    sections = (
        ("answers", say("Answers"), True),
        ("findings", say("Findings"), bool(listed or shots or running)),
        ("decided", say("Measurements and decisions"), bool(job.decisions or job.tables)),
        ("cost", cost.title, bool(cost.groups) or job.stage == "declined"),
        ("next", say("What comes next"), True),
    )
    return Report(
        frame=framed(
            job,
            say("Report"),
            job.title,
            "report",
            lettered=True,
            sections=tuple((name, title) for name, title, held in sections if held),
            carries=carried(job) if album.printed else (),
        ),
        job=job,
        page_one=page_one(job, public),
        findings=listed,
        further=shots,
        running=running,
        measurements=measured,
        choices=choices(job, public),
        tried=tried_on_paper(job, public),
        decided=tuple(decided(decision, job) for decision in job.decisions),
        built=as_built(job),
        cost=cost,
        after=after(job),
        legend=tuple(verdict(word) for word in reversed(PRINTED) if word in used),
        keys=_keys(job) if drawn else (),
    )


def carried(job: Assessment) -> tuple[Attached, ...]:
    """The files inside its PDF, for ``verify``: the records that it rests on, and its results."""
    rests_on = "Readings, findings, limits and instruments that this document rests on"
    return (
        Attached("extract.json", extract(job), rests_on),
        Attached("results.json", results_json(job), "Computed results of this document"),
    )


def _keys(job: Assessment) -> tuple[tuple[str, str], ...]:
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
