"""What a certificate says beside its numbers: who, what, when, how, by which rule, with which instruments.

In: an Assessment.  Out: facts, instruments, sources, signatures as texts.  Works out no value.
"""

from __future__ import annotations

from collections.abc import Iterator

from ...assess.model.assessment import Assessment
from ...assess.model.keys import ValueKey
from ...quantities import rounding
from ..press.enginewords import accepted, engine_lines
from ..press.frame import issue_state
from ..press.language import opening, say, spoken, told
from ..press.words import NBSP, UNITS, capital, day, joined, place, second_system, standard_temperature, stop

Facts = tuple[tuple[str, tuple[str, ...]], ...]


def head(job: Assessment) -> Facts:
    """The first page: what ISO/IEC 17025 (7.8) asks of a certificate, said once for all that follows."""
    said: list[tuple[str, Iterator[str]]] = [
        (say("Measured by"), _laboratory(job)),
        (say("Customer"), _customer(job)),
        (say("Item"), _item(job)),
        (say("State on receipt"), _receipt(job)),
        (say("Dates measured"), _dates(job)),
        (say("Record issued"), _issue(job)),
        (say("Conditions"), _conditions(job)),
        (say("Method"), _method(job)),
        (say("From others"), _from_others(job)),
        (say("Departures"), _departures(job)),
        (say("Decision rule"), _rule(job)),
        (
            say("Rounding"),
            iter((say(rounding.STATED), say("Readings stand as they were typed at the bench."))),
        ),
        (say("How to read it"), _reading(job)),
    ]
    found = [(title, tuple(lines)) for title, lines in said]
    return tuple((title, lines) for title, lines in found if lines)


def _laboratory(job: Assessment) -> Iterator[str]:
    head = job.letterhead
    reach = tuple(filter(None, (*head.address, head.telephone, head.email))) or (job.contact,)
    yield stop(", ".join(filter(None, (job.shop, *reach))))
    yield say("Not an accredited laboratory.")


def _customer(job: Assessment) -> Iterator[str]:
    head = job.letterhead
    if head.customer:
        yield stop(", ".join((head.customer, *head.customer_address)))


def _item(job: Assessment) -> Iterator[str]:
    serial = say("serial {number}", number=job.letterhead.serial) if job.letterhead.serial else ""
    yield stop("; ".join(filter(None, (*engine_lines(job), serial))))
    counting = told(job.engine.counting)
    if job.application or counting:
        yield stop(capital(", ".join(filter(None, (job.application, counting)))))


def _receipt(job: Assessment) -> Iterator[str]:
    yield say("Received {day}.", day=day(job.opened))
    if job.complaint:
        yield f"{say('Complaint')}: {stop(job.complaint)}"
    for fact in job.arrival:
        if fact.code in ("came with", "not with", "only", "damage"):
            yield stop(f"{opening(fact.label)}: {told(fact.text)}")


def _dates(job: Assessment) -> Iterator[str]:
    yield stop("; ".join(f"{day(one.date)} ({told(one.title)}, {told(one.by)})" for one in job.rounds))


def _issue(job: Assessment) -> Iterator[str]:
    note = job.issue
    if note is not None and note.frozen("measurement-record"):
        yield say("Issue {number}, {day}.", number=note.number, day=day(note.date))
        yield from map(told, note.changed)
    elif note is not None and note.number is not None:
        yield stop(capital(issue_state(job, "measurement-record")))
    else:
        yield say("Not issued; {state}.", state=issue_state(job, "measurement-record"))
    if note is not None and note.commit:
        yield say("Made from the records as of commit {commit}.", commit=note.commit)


def _conditions(job: Assessment) -> Iterator[str]:
    standard = standard_temperature(job.system)
    temperatures = dict.fromkeys(r.temperature for r in job.rounds if r.temperature)
    if temperatures:
        at = joined(map(spoken().figures, temperatures))
        yield say(
            "Measured at {temperatures}; values stand for {standard}.", temperatures=at, standard=standard
        )
    if job.uncorrected:
        yield say(
            "Not corrected to {standard}: {what}.",
            standard=standard,
            what=", ".join(map(told, job.uncorrected)),
        )


def _method(job: Assessment) -> Iterator[str]:
    yield say(
        "Places as the drawings at the head of each part show; how it was read stands below each table."
    )


def _from_others(job: Assessment) -> Iterator[str]:
    """Which readings a machine shop took, by who its rounds say they are by."""
    shops = tuple(order.to.casefold() for order in job.orders)
    theirs = [one for one in job.rounds if (by := told(one.by).casefold()) and any(by in to for to in shops)]
    if theirs:
        whose = "; ".join(f"{told(one.title)}, {told(one.by)}" for one in theirs)
        yield say("Read by others and taken over as they gave it: {whose}.", whose=whose)
    elif shops:
        yield say("No reading: what machine shops report is not among these numbers.")


def unmeasured(job: Assessment) -> str:
    """What was not measured, a sentence each: a title may have a comma, and a list of titles semicolons."""
    first, *rest = job.not_measured
    return " ".join(stop(place(text)) for text in (told(first), *map(opening, rest)))


def _departures(job: Assessment) -> Iterator[str]:
    """What was not measured, or only in part."""
    if job.not_measured:
        yield say("Not measured: {what}", what=unmeasured(job))
    if job.not_opened:
        yield say("Not opened: {what}.", what=joined(job.not_opened))


def _rule(job: Assessment) -> Iterator[str]:
    yield stop(told(job.rule_text))
    yield say(
        "A surface used again as it is is judged by wear limits, a machined or new one by the limits for new."
    )


def _reading(job: Assessment) -> Iterator[str]:
    yield say(
        "Below the names of a table: the limit that decides; a bare one is the most allowed. Below "
        "its values: ± the guard, the nearest that a value may come to its limit, the largest of the column. "
        "The verdict is the worst of its row."
    )
    if second_system(job, "limit"):
        yield say("A limit in the other system of units stands below or behind it.")
    if any(c.bound != "equal" for c in job.characteristics):
        yield say("> means at least, < at most: not all of it was measured.")
    yield say("I1, I2 ...: instruments, on the last page. 1\u00a0in = 25.4\u00a0mm.")


def instruments(job: Assessment) -> tuple[tuple[str, ...], ...]:
    """Number, kind, range, resolution, permitted error, repeatability, calibration of each one used."""
    missing = say("not on file")
    rows = []
    for number, one in zip(numbers(job).values(), job.instruments, strict=True):
        texts = (one.range, one.resolution, one.permitted_error, one.repeatability)
        figures = (
            spoken().figures(told(text)).replace("percent", UNITS["percent"]) or missing for text in texts
        )
        calibrated = day(one.calibrated) or missing
        signs = (text.replace("percent", UNITS["percent"]) for text in figures)
        rows.append((number, capital(place(one.kind)), *signs, calibrated, day(one.due)))
    return tuple(rows)


def numbers(job: Assessment) -> dict[str, str]:
    """The instruments by their names in the files: I1, I2 ..."""
    return {one.name: say("I{number}", number=i) for i, one in enumerate(job.instruments, 1)}


def sources(job: Assessment, entries: dict[ValueKey, int]) -> tuple[str, ...]:
    """Where limits come from: each document with its pages, and the entries of the values judged by them."""
    books: dict[str, dict[str, set[int]]] = {}
    for c in job.characteristics:
        if c.limits is not None and c.key in entries:
            source = c.limits.source
            pages = books.setdefault(opening(source.document), {})
            pages.setdefault(place(source.where), set()).add(entries[c.key])
    return tuple(_book(book, pages) for book, pages in books.items())


def _book(book: str, pages: dict[str, set[int]]) -> str:
    """'Manual: page 11 (37), 12 (29, 65)': the word that all places begin with stands once."""
    words = {where.partition(" ")[0] for where in pages}
    once = words.pop() if len(words) == 1 and len(pages) > 1 else ""
    said = []
    for where, numbers in sorted(pages.items(), key=lambda pair: (len(pair[0]), pair[0])):
        which = ", ".join(map(str, sorted(numbers)))
        short = where.removeprefix(once).strip()
        said.append(f"{short.replace(' ', NBSP)} ({which})" if short else which)
    return stop(f"{book}: {f'{once} ' if once else ''}{', '.join(said)}")


def coarse(job: Assessment, entries: dict[ValueKey, int]) -> str:
    """Entries that were read in steps coarser than a tenth of their tolerance."""
    found = {
        entries[c.key] for c in job.characteristics if c.fitness and c.value is not None and c.key in entries
    }
    if not found:
        return ""
    return say(
        "Read in steps coarser than a tenth of the tolerance, which common practice asks for: {numbers}.",
        numbers=", ".join(map(str, sorted(found))),
    )


def deviations(job: Assessment) -> tuple[tuple[str, str], ...]:
    """What was used although outside a limit."""
    return tuple(map(accepted, job.deviations))


def signatures(job: Assessment, public: bool) -> tuple[tuple[str, str], ...]:
    """Lines to sign on, with what stands on them: nothing."""
    if public:
        return ()
    return tuple(
        (text, "") for text in (say("measured"), say("checked"), say("released for the shop"), say("date"))
    )
