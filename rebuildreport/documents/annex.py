"""The annex: tables of readings, instruments, rules, marks, signatures."""

from __future__ import annotations

from ..assess.model import Assessment
from ..quantities import rounding
from ..quantities.dataclass import dataclass
from .readings import called, sources, tables
from .tables import Group, grouped
from .words import NBSP, capital, day, joined, place, stop


@dataclass(frozen=True, slots=True)
class Annex:
    tables: tuple[Group, ...]
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
    return Annex(
        tables=grouped(tables(one)),
        instruments=tuple(_instruments(one)),
        rules=tuple(_rules(one)),
        sources=tuple(_grouped(sources(one))),
        marks=tuple((fact.label, fact.text) for fact in one.marks),
        arrival=tuple((fact.label, fact.text) for fact in one.arrival),
        teardown=tuple((fact.label, fact.text) for fact in one.teardown),
        not_opened=stop(capital(joined(one.not_opened))),
        holds=tuple((h.what, h.by, h.witness, day(h.date)) for h in one.hold_points),
        deviations=tuple(
            (
                f"{d.id}: {d.feature_title} {joined(d.positions)}".strip(),
                f"{stop(capital(d.what))} {stop(capital(d.accept))} {stop(capital(d.why))} "
                f"Signed by {d.signed}, {day(d.date)}.".replace("  ", " "),
            )
            for d in one.deviations
        ),
        open_questions=tuple(
            (title, lines)
            for title, lines in (
                ("Too close to call", one.too_close),
                ("To decide", one.to_decide),
                ("Not measured", one.not_measured),
            )
            if lines
        ),
        signatures=signed,
    )


def _instruments(one: Assessment) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for i in one.instruments:
        label = capital(place(i.kind))
        if called(one, i.name) == place(i.name):  # two of a kind and range: told apart by the shop's name
            label = f"{label} ({place(i.name)})"
        permitted, repeated = i.permitted_error or "not on file", i.repeatability or "not on file"
        calibrated = day(i.calibrated) or "not on file"
        rows.append((label, i.range, i.resolution, permitted, repeated, calibrated, day(i.due)))
    return rows


def _rules(one: Assessment) -> list[str]:
    rules: list[str] = []
    if any(c.value is not None for c in one.characteristics):
        rules.append(stop(one.rule_text))
        if one.decision_rule == "guarded":
            rules.append(
                "The bars in the drawings have this length on both sides of a value: "
                "one that crosses a limit is too close to call."
            )
        rules.append(rounding.STATED)
        rules.append(
            "Readings are printed as they were typed at the bench. A surface used again as it is is judged "
            "by wear limits, a machined or new one by the limits for new."
        )
    temperatures = list(dict.fromkeys(r.temperature for r in one.rounds if r.temperature))
    if temperatures:
        rules.append(f"Measured at {joined(temperatures)}; values stand for 20{NBSP}°C.")
    if one.uncorrected:
        rules.append(f"Not corrected to 20{NBSP}°C: {', '.join(one.uncorrected)}.")
    rules += _issue(one)
    return [rule for rule in rules if rule]


def _issue(one: Assessment) -> list[str]:
    """Which issue this is, what changed since the one before, and from which records it was made."""
    note = one.issue
    if note is None:
        return []
    said = []
    if note.number is not None and not note.later and note.changed:
        said.append(f"Changed since the issue before No.{NBSP}{note.number}:")
        said += note.changed
    if note.commit:
        said.append(f"Made from the records as of commit {note.commit}.")
    return said


def _grouped(known: list[str]) -> list[str]:
    """Sources by document: its pages, each with the number that tables name it by."""
    books: dict[str, list[str]] = {}
    for i, source in enumerate(known, 1):
        book, page, rest = source.rpartition(", page ")
        books.setdefault(book if page else source, []).append(f"{i} page {rest}" if page else str(i))
    return [f"{book}: {', '.join(pages)}" for book, pages in books.items()]


def _signatures(one: Assessment) -> tuple[str, ...]:
    if one.stage not in ("ready to collect", "delivery", "follow-up"):
        return ()
    read = "report read"
    if one.deviations:
        word = "deviation" if len(one.deviations) == 1 else "deviations"
        read += f", {word} {joined(d.id for d in one.deviations)} understood"
    return ("For the shop: engine handed over as described", f"Customer: {read}, engine received")
