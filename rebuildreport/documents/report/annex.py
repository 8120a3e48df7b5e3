"""The annex: tables of readings, instruments, rules, marks, signatures."""

from __future__ import annotations

from dataclasses import dataclass

from ...assess.model.assessment import Assessment, Fact
from ...quantities import message, rounding
from ..press.language import say, spoken, told
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


def annex(one: Assessment, public: bool) -> Annex:
    """The whole annex; signature lines stand in the shop's edition only, problems of its files in none."""
    signed = () if public else _signatures(one)
    figures = spoken().figures
    return Annex(
        tables=grouped(tables(one)),
        instruments=tuple(_instruments(one)),
        rules=tuple(_rules(one)),
        sources=tuple(_grouped(sources(one))),
        marks=_facts(one.marks),
        arrival=_facts(one.arrival),
        teardown=_facts(one.teardown),
        not_opened=stop(capital(joined(one.not_opened))),
        holds=tuple((told(h.what), told(h.by), told(h.witness), day(h.date)) for h in one.hold_points),
        deviations=tuple(
            (
                f"{d.id}: {told(d.feature_title)} {joined(d.positions)}".strip(),
                " ".join(
                    (
                        stop(capital(told(d.what))),
                        stop(capital(figures(d.accept))),
                        stop(capital(d.why)),
                        say("Signed by {name}, {day}.", name=told(d.signed), day=day(d.date)),
                    )
                ).replace("  ", " "),
            )
            for d in one.deviations
        ),
        open_questions=tuple(
            (title, tuple(told(line) for line in lines))
            for title, lines in (
                (say("Too close to call"), one.too_close),
                (say("To decide"), (*one.to_decide, *one.to_price)),
                (say("Not measured"), one.not_measured),
            )
            if lines
        ),
        signatures=signed,
    )


def _facts(facts: tuple[Fact, ...]) -> tuple[tuple[str, str], ...]:
    return tuple((capital(told(fact.label)), told(fact.text)) for fact in facts)


def _instruments(one: Assessment) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for i in one.instruments:
        label = capital(place(i.kind))
        if called(one, i.name) == place(i.name):  # two of a kind and range: told apart by the shop's name
            label = f"{label} ({place(i.name)})"
        texts = (i.range, i.resolution, i.permitted_error, i.repeatability)
        figures = (spoken().figures(told(text)) or say("not on file") for text in texts)
        rows.append((label, *figures, day(i.calibrated) or say("not on file"), day(i.due)))
    return rows


def _rules(one: Assessment) -> list[str]:
    rules: list[str] = []
    if any(c.value is not None for c in one.characteristics):
        rules.append(stop(told(one.rule_text)))
        if one.decision_rule == "guarded":
            rules.append(
                say(
                    "The bars in the drawings have this length on both sides of a value: "
                    "one that crosses a limit is too close to call."
                )
            )
        rules.append(say(rounding.STATED))
        rules.append(
            say(
                "Readings are printed as they were typed at the bench. A surface used again as it is is "
                "judged by wear limits, a machined or new one by the limits for new."
            )
        )
    temperatures = list(dict.fromkeys(r.temperature for r in one.rounds if r.temperature))
    if temperatures:
        at = joined(spoken().figures(text) for text in temperatures)
        rules.append(say("Measured at {temperatures}; values stand for 20\u00a0°C.", temperatures=at))
    if one.uncorrected:
        what = ", ".join(map(told, one.uncorrected))
        rules.append(say("Not corrected to 20\u00a0°C: {what}.", what=what))
    rules += _issue(one)
    return [rule for rule in rules if rule]


def _issue(one: Assessment) -> list[str]:
    """Which issue this is, what changed since the one before, and from which records it was made."""
    note = one.issue
    if note is None:
        return []
    said = []
    if note.number is not None and not note.later and note.changed:
        said.append(say("Changed since the issue before No.\u00a0{number}:", number=note.number))
        said += [told(change) for change in note.changed]
    if note.commit:
        said.append(say("Made from the records as of commit {commit}.", commit=note.commit))
    return said


def _grouped(known: list[str]) -> list[str]:
    """Sources by document: its pages, each with the number that tables name it by."""
    books: dict[str, list[str]] = {}
    for i, source in enumerate(known, 1):
        book, page, rest = source.rpartition(", page ")
        books.setdefault(book if page else source, []).append(
            say("{number} page {page}", number=i, page=rest) if page else str(i)
        )
    return [f"{book}: {', '.join(pages)}" for book, pages in books.items()]


def _signatures(one: Assessment) -> tuple[str, ...]:
    if one.stage not in ("ready to collect", "delivery", "follow-up"):
        return ()
    shop = say("For the shop: engine handed over as described")
    if not one.deviations:
        return (shop, say("Customer: report read, engine received"))
    words = message("Customer: report read, deviations {which} understood, engine received")
    if len(one.deviations) == 1:
        words = message("Customer: report read, deviation {which} understood, engine received")
    return (shop, say(words, which=joined(d.id for d in one.deviations)))
