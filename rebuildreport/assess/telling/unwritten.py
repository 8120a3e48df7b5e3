"""What is said where nobody has written it: found, done and what comes next, from the records."""

from __future__ import annotations

from ...quantities import Sentence, Several, Text, present
from ...records import JobFolder
from ..model.assessment import Characteristic, Cost, Fact, Finding, Stage
from ..model.bench import Start

# The usual course of a rebuild (common practice): what follows on each stage, in the customer's words.
_COURSE: dict[Stage, tuple[tuple[str, str], ...]] = {
    "arrival": (
        ("Next", "we take the engine apart, clean it, and measure what wears"),
        ("Then", "you have our findings and an estimate before any work is ordered"),
    ),
    "teardown": (
        ("Next", "we clean and measure what has come apart"),
        ("Then", "you have our findings and an estimate before any work is ordered"),
    ),
    "inspection": (
        ("Next", "we decide part by part what can stay, what is machined and what is bought"),
        ("Then", "you have an estimate before any work is ordered"),
    ),
    "decision": (
        ("Next", "the machining is ordered and the parts are bought"),
        ("Then", "what comes back is measured here before anything is fitted"),
    ),
    "machining": (
        ("Next", "what comes back from machining is measured here, then the engine goes together"),
        ("Then", "the first start, with oil pressure and leaks watched"),
    ),
    "assembly": (
        ("Next", "the engine goes together, with a second pair of eyes where it matters"),
        ("Then", "the first start, with oil pressure and leaks watched"),
    ),
    "first start": (("Next", "a last look for leaks and noises, then the engine is ready to collect"),),
    "ready to collect": (
        ("Next", "the engine can be collected"),
        ("Then", "oil and filter are changed early, at the maker's first interval"),
    ),
    "delivery": (("Next", "oil and filter are changed early, at the maker's first interval"),),
    "follow-up": (),
    "re-opened": (
        ("Next", "we find out what has come back, why, and on whose account it is put right"),
        ("Then", "you have a new issue of this report, which says what changed; the old one stays as it is"),
    ),
    "declined": (("Next", "the engine is collected as it is, in its boxes"),),
}
_RUNNING: tuple[Stage, ...] = ("first start", "ready to collect", "delivery", "follow-up")
_BEFORE_WORK: tuple[Stage, ...] = ("decision", "machining")


def next_steps(
    job: JobFolder,
    start: Start,
    stage: Stage,
    cost: Cost,
    too_close: tuple[str, ...],
    to_decide: tuple[str, ...],
    not_measured: tuple[str, ...],
) -> tuple[Fact, ...]:
    """What the customer is to do, as written; else what follows on the stage, and what is open before it."""
    if (job.running and job.running.next) or (start.date and start.break_in and stage in _RUNNING):
        return tuple(Fact(one.label, one.text) for one in start.break_in)
    found: list[Fact] = []
    if stage in _BEFORE_WORK and cost.approval(stage) == "wanted":
        found.append(Fact(Sentence("First"), Sentence("the estimate wants the customer's approval")))
    elif stage in _BEFORE_WORK and cost.approval(stage) == "over":
        words = "the estimate has grown past what was approved, and wants approval again"
        found.append(Fact(Sentence("First"), Sentence(words)))
    counts = [
        (len(to_decide), "1 thing to decide or to price", "{count} things to decide or to price"),
        (
            len(too_close),
            "1 value too close to its limit to call",
            "{count} values too close to their limits to call",
        ),
        (len(not_measured), "1 group of readings not taken", "{count} groups of readings not taken"),
    ]
    still = [
        Sentence(one) if number == 1 else Sentence(many, count=number)
        for number, one, many in counts
        if number
    ]
    if still and stage not in ("arrival", "teardown", "declined"):
        found.append(Fact(Sentence("Still open"), present(still)))
    if stage == "machining" and _measured_since(job):
        stage = "assembly"  # what came back has been measured
    return (*found, *(Fact(Sentence(when), Sentence(what)) for when, what in _COURSE[stage]))


def _measured_since(job: JobFolder) -> bool:
    """Whether a round was begun after the last decision."""
    last = max((one.date for one in job.work.decisions.values()), default=None) if job.work else None
    return last is not None and any(one.begun and one.model.date > last for one in job.rounds.values())


def found_so_far(findings: tuple[Finding, ...], found: list[Characteristic]) -> Text:
    """Where nobody has summed up yet: the headings of the first three findings, or the plain truth."""
    if findings:
        return Several((_stopped(one.title) for one in findings[:3]), " ")
    if any(one.value is not None for one in found):
        return Sentence("Measuring has begun; nothing has been summed up yet.")
    return Sentence("Nothing has been measured or inspected yet.")


def _stopped(title: Text) -> Text:
    return title if title.endswith(".") else Sentence("{what}.", what=title)


def did_so_far(job: JobFolder, stage: str) -> Text:
    decisions = job.work.decisions if job.work else {}
    if decisions:
        return " ".join(f"{one.why.rstrip('.').capitalize()}." for one in list(decisions.values())[:3])
    if stage == "declined":
        return Sentence("The work was declined and the engine returned as it is, in boxes.")
    return Sentence("No decision has been made yet.")
