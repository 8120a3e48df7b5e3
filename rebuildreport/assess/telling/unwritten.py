"""What is said where nobody has written it: found, done and what comes next, from the records."""

from __future__ import annotations

from collections.abc import Sequence

from ...quantities import Sentence, Several, Text, message, present
from ...records import JobFolder
from ...records.files.sheet import Engine
from ..measure.titles import feature_title
from ..model.assessment import Characteristic, Cost, Fact, Finding, Stage
from ..model.bench import Start
from ..work.decisions import action
from ..work.stage import measured_since_decisions

MOST_SAID = 3  # sentences of a summary

# The usual course of a rebuild (common practice): what follows on each stage, in the customer's words.
_COURSE: dict[Stage, tuple[tuple[str, str], ...]] = message(
    {
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
            ("Then", "nothing is ordered before you have approved it"),
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
            (
                "Then",
                "you have a new issue of this report, which says what changed; the old one stays as it is",
            ),
        ),
        "declined": (("Next", "the engine is collected as it is, in its boxes"),),
    }
)
_RUNNING: tuple[Stage, ...] = ("first start", "ready to collect", "delivery", "follow-up")
NOTHING_OPEN: tuple[Stage, ...] = ("arrival", "teardown", "declined")  # nobody has been asked anything yet
# what an approval is wanted for, by how it stands
WORD_WANTED = message(
    {
        "wanted": "the estimate wants your approval",
        "over": "the estimate has grown past what was approved, and wants approval again",
        "stopped": "the estimate wants approval: work stops until then",
    }
)


def next_steps(
    job: JobFolder,
    start: Start,
    stage: Stage,
    cost: Cost,
    too_close: tuple[Text, ...],
    waiting: int,
    not_measured: Sequence[str],
) -> tuple[Fact, ...]:
    """What the customer is to do, as written; else what follows on the stage, and what is open before it.

    ``waiting``: how many things to decide or to price; ``not_measured``: features of which readings are
    missing.
    """
    if (job.running and job.running.next) or (start.date and start.break_in and stage in _RUNNING):
        return tuple(Fact(step.label, step.text) for step in start.break_in)
    steps: list[Fact] = []
    if words := WORD_WANTED.get(cost.approval(stage)):
        steps.append(Fact(Sentence("First"), Sentence(words)))
    still = _still_open(waiting, len(too_close), len(not_measured))
    if still and stage not in NOTHING_OPEN:
        steps.append(Fact(Sentence("Still open"), still))
    if stage == "machining" and measured_since_decisions(job):
        stage = "assembly"  # what came back has been measured
    return (*steps, *(Fact(Sentence(when), Sentence(what)) for when, what in _COURSE[stage]))


def _still_open(to_decide: int, too_close: int, not_measured: int) -> Text:
    said = []
    for number, single, many in (
        (
            to_decide,
            message("1 thing to decide or to price"),
            message("{count} things to decide or to price"),
        ),
        (
            too_close,
            message("1 value too close to its limit to call"),
            message("{count} values too close to their limits to call"),
        ),
        (
            not_measured,
            message("1 group of readings not taken"),
            message("{count} groups of readings not taken"),
        ),
    ):
        if number == 1:
            said.append(Sentence(single))
        elif number:
            said.append(Sentence(many, count=number))
    return present(said)


def found_so_far(
    engine: Engine, findings: tuple[Finding, ...], characteristics: Sequence[Characteristic]
) -> Text:
    """Where nobody has summed up yet: findings, else what is beyond its limit, else the plain truth."""
    if findings:
        return Several((finding.title for finding in findings[:MOST_SAID]), "; ")
    out = (one.feature for one in characteristics if one.stands and one.verdict == "beyond limit")
    if beyond := [feature_title(engine, name) for name in dict.fromkeys(out)]:
        return Sentence("Beyond limit: {what}.", what=Several(beyond))
    if any(reading.value is not None for reading in characteristics):
        return Sentence("Measuring has begun; nothing has been summed up yet.")
    return Sentence("Nothing has been measured or inspected yet.")


def did_so_far(engine: Engine, job: JobFolder, stage: Stage) -> Text:
    """Where nobody has written what was done or is advised: the first decisions, as what is done by them."""
    decisions = list(job.decisions.values())
    if decisions:
        return Several((action(engine, decision) for decision in decisions[:MOST_SAID]), "; ")
    if stage == "declined":
        return Sentence("The work was declined and the engine returned as it is, in boxes.")
    return Sentence("No decision has been made yet.")
