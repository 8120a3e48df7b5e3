"""The annex: tables of readings, instruments, rules, marks, signatures.

In: an Assessment.  Out: its texts and tables.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...assess.model.assessment import Assessment, Fact
from ...quantities import message, rounding
from ..press.enginewords import accepted
from ..press.language import opening, say, spoken, told
from ..press.words import capital, day, joined, place, stop
from .reading_tables import called, sources, tables
from .table_data import TableGroup, grouped


@dataclass(frozen=True, slots=True)
class Annex:
    tables: tuple[TableGroup, ...]
    instruments: tuple[tuple[str, ...], ...]
    rules: tuple[str, ...]
    sources: tuple[str, ...]
    marks: tuple[tuple[str, str], ...]
    arrival: tuple[tuple[str, str], ...]
    teardown: tuple[tuple[str, str], ...]
    not_opened: str
    holds: tuple[tuple[str, str, str, str], ...]
    deviations: tuple[tuple[str, str], ...]
    open_questions: tuple[tuple[str, tuple[str, ...]], ...]
    signatures: tuple[str, ...]


def annex(job: Assessment, public: bool) -> Annex:
    """The whole annex; signature lines stand in the shop's edition only, problems of its files in none."""
    questions = (
        (say("Too close to call"), job.too_close),
        (say("To decide"), (*job.to_decide, *job.to_price)),
        (say("Not measured"), job.not_measured),
    )
    return Annex(
        tables=grouped(tables(job)),
        instruments=tuple(_instruments(job)),
        rules=tuple(filter(None, (*_rules(job), *_temperatures(job), *_issue(job)))),
        sources=tuple(_grouped(job)),
        marks=_facts(job.marks),
        arrival=_facts(job.arrival),
        teardown=_facts(job.teardown),
        not_opened=stop(joined(job.not_opened)),
        holds=tuple((told(h.what), told(h.by), told(h.witness), day(h.date)) for h in job.hold_points),
        deviations=tuple(map(accepted, job.deviations)),
        open_questions=tuple((title, tuple(map(told, lines))) for title, lines in questions if lines),
        signatures=() if public else _signatures(job),
    )


def _facts(facts: tuple[Fact, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((opening(fact.label), told(fact.text)) for fact in facts)


def _instruments(job: Assessment) -> Iterator[tuple[str, ...]]:
    missing = say("not on file")
    for instrument in job.instruments:
        label, name = capital(place(instrument.kind)), place(instrument.name)
        if called(job, instrument.name) == name:  # two of a kind and range: told apart by the shop's name
            label = f"{label} ({name})"
        texts = (
            instrument.range,
            instrument.resolution,
            instrument.permitted_error,
            instrument.repeatability,
        )
        figures = (spoken().figures(told(text)) or missing for text in texts)
        yield label, *figures, day(instrument.calibrated) or missing, day(instrument.due)


def _rules(job: Assessment) -> Iterator[str]:
    """How verdicts are given, where anything was measured."""
    if all(c.value is None for c in job.characteristics):
        return
    yield stop(told(job.rule_text))
    if job.decision_rule == "guarded":
        yield say(
            "The bars in the drawings have this length on both sides of a value: "
            "one that crosses a limit is too close to call."
        )
    yield say(rounding.STATED)
    yield say(
        "Readings are printed as they were typed at the bench. A surface used again as it is is "
        "judged by wear limits, a machined or new one by the limits for new."
    )


def _temperatures(job: Assessment) -> Iterator[str]:
    temperatures = dict.fromkeys(r.temperature for r in job.rounds if r.temperature)
    if temperatures:
        at = joined(map(spoken().figures, temperatures))
        yield say("Measured at {temperatures}; values stand for 20\u00a0°C.", temperatures=at)
    if job.uncorrected:
        what = ", ".join(map(told, job.uncorrected))
        yield say("Not corrected to 20\u00a0°C: {what}.", what=what)


def _issue(job: Assessment) -> Iterator[str]:
    """Which issue this is, what changed since the one before, and from which records it was made."""
    note = job.issue
    if note is None:
        return
    if note.number is not None and not note.later and note.changed:
        yield say("Changed since the issue before No.\u00a0{number}:", number=note.number)
        yield from map(told, note.changed)
    if note.commit:
        yield say("Made from the records as of commit {commit}.", commit=note.commit)


def _grouped(job: Assessment) -> list[str]:
    """Sources by document: their places in it, each with the number that tables name it by."""
    books: dict[str, list[str]] = {}
    known = {told(c.limits.source.text): c.limits.source for c in job.characteristics if c.limits}
    for i, text in enumerate(sources(job), 1):
        source = known[text]
        said = f"{i} {place(source.where)}".strip()
        books.setdefault(told(source.document), []).append(said)
    return [f"{book}: {', '.join(pages)}" for book, pages in books.items()]


def _signatures(job: Assessment) -> tuple[str, ...]:
    if job.stage not in ("ready to collect", "delivery", "follow-up"):
        return ()
    shop = say("For the shop: engine handed over as described")
    if not job.deviations:
        return (shop, say("Customer: report read, engine received"))
    words = message("Customer: report read, deviations {which} understood, engine received")
    if len(job.deviations) == 1:
        words = message("Customer: report read, deviation {which} understood, engine received")
    return (shop, say(words, which=joined(d.id for d in job.deviations)))
