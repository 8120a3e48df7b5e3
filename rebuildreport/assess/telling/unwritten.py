"""What is said where nobody has written it: found, done and what comes next, from the records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...quantities import Sentence, Several, Text, message
from ...records import JobFolder
from ...records.files.jobfile import Work
from ...records.files.sheet import Engine
from ..measure.titles import feature_title
from ..model.assessment import Characteristic, Cost, Fact, Finding, Stage
from ..model.bench import Start
from ..work.decisions import action
from ..work.stage import RUNNING, measured_since_decisions

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
            ("Then", "the first start, with oil supply and leaks watched"),
        ),
        "assembly": (
            ("Next", "the engine goes together, with a second pair of eyes where it matters"),
            ("Then", "the first start, with oil supply and leaks watched"),
        ),
        "first start": (("Next", "a last look for leaks and noises, then the engine is ready to collect"),),
        "ready to collect": (
            ("Next", "the engine can be collected"),
            ("Then", "its first service is early, at the maker's first interval"),
        ),
        "delivery": (("Next", "its first service is early, at the maker's first interval"),),
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
_BUYING = message(  # where nothing goes to a machine shop
    (
        ("Next", "the parts are bought"),
        ("Then", "what comes is measured here before it is fitted"),
    )
)
_FOUND_AGAIN = message(("Next", "what came back is put right, on the account named with its stay"))
# what an approval is wanted for, by how it stands
WORD_WANTED = message(
    {
        "wanted": "the estimate wants your approval",
        "over": "the estimate has grown past what was approved, and wants approval again",
        "stopped": "the estimate wants approval: work stops until then",
    }
)


def next_steps(job: JobFolder, start: Start, stage: Stage, cost: Cost) -> tuple[Fact, ...]:
    """What the customer is to do, as written; else what follows on the stage."""
    planned = (job.running and job.running.next) or (start.date and start.break_in and stage in RUNNING)
    if planned and stage != "re-opened":  # what was written then waits until it has left again
        return tuple(Fact(step.label, step.text) for step in start.break_in)
    steps: list[Fact] = []
    if words := WORD_WANTED.get(cost.approval(stage)):
        steps.append(Fact(Sentence("First"), Sentence(words)))
    if stage == "machining" and measured_since_decisions(job):
        stage = "assembly"  # what came back has been measured
    course = _COURSE[stage]
    if stage == "decision" and not _machined(job.written_work):
        course = _BUYING
    if stage == "re-opened" and job.record.reopened[-1].found:
        course = (_FOUND_AGAIN, *course[1:])
    return (*steps, *(Fact(Sentence(when), Sentence(what)) for when, what in course))


def _machined(work: Work) -> bool:
    """Whether anything is machined, by an order, by its price, or by a decision that has neither yet."""
    cut = (one.size or one.remove for one in work.decisions.values() if one.do == "recondition")
    return bool(work.sublet or work.machining or any(cut))


def found_so_far(
    engine: Engine, findings: tuple[Finding, ...], characteristics: Sequence[Characteristic]
) -> Text:
    """Where nobody has summed up yet: findings, else what is beyond its limit, else the plain truth."""
    if findings:
        titles = [finding.title for finding in findings[:MOST_SAID]]
        return Several([*titles, *_and_more(FINDINGS, len(findings) - len(titles))], "; ")
    out = (one.feature for one in characteristics if one.stands and one.verdict == "beyond limit")
    if beyond := [feature_title(engine, name) for name in dict.fromkeys(out)]:
        return Sentence("Beyond limit: {what}.", what=Several(beyond))
    if any(reading.value is not None for reading in characteristics):
        return Sentence("Measuring has begun; nothing has been summed up yet.")
    return Sentence("Nothing has been measured or inspected yet.")


FINDINGS = message(("and one further finding", "and {count} further findings"))
DECISIONS = message(("and one further decision", "and {count} further decisions"))


def _and_more(words: tuple[str, str], count: int) -> Iterator[Text]:
    """What a summary of three leaves to the pages behind it."""
    if count:
        yield Sentence(words[count > 1], count=count)


def did_so_far(engine: Engine, job: JobFolder, stage: Stage) -> Text:
    """Where nobody has written what was done or is advised: the first decisions, as what is done by them."""
    decisions = list(job.decisions.values())
    if decisions:
        said = [action(engine, decision) for decision in decisions[:MOST_SAID]]
        return Several([*said, *_and_more(DECISIONS, len(decisions) - len(said))], "; ")
    if stage == "declined":
        return Sentence("The work was declined and the engine returned as it is, in boxes.")
    return Sentence("No decision has been made yet.")
