"""Tables of money: ways to go on, what differs from the approval, what lines rest on, deposits, stays.

In: an Assessment.  Out: tables of words.  Adds up nothing: every sum stands in the Assessment.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from ...assess.model.assessment import Assessment, Characteristic
from ...assess.model.prices import FINISHED, Against, CoreDeposit, Cost, Difference, Option, Spell
from ...quantities import message
from ..drawings.scales import limit_text
from ..press.enginewords import decided, numbered
from ..press.language import NBSP, say, spoken, told
from ..press.templating import anchor
from ..press.words import day, joined, money, place, stop, value

Column = tuple[str, str]
NONE = "\u2013"  # in a cell whose amount there is none of
FEW = 3  # names in a cell


class TableView(Struct, frozen=True):
    """A table of words: heads with their look, rows, and what stands above and below."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    before: str = ""
    after: tuple[str, ...] = ()


def options(cost: Cost) -> TableView | None:
    """The ways to go on side by side; None where there is only one."""
    if not cost.options:
        return None
    heads = (
        say("with tax"),
        say("deposit on old parts"),
        say("not priced"),
        say("time"),
        say("what follows"),
        say("not included"),
        say("warranty"),
    )
    columns = [_option(option, cost) for option in cost.options]
    rows = zip(heads, *columns, strict=True)
    return TableView(
        title=say("Ways to go on"),
        columns=(("", ""), *((option.title, "") for option in cost.options)),
        rows=tuple(row for row in rows if any(row[1:])),
    )


def _option(option: Option, cost: Cost) -> tuple[str, ...]:
    """One way to go on, downwards."""
    total = spoken().money(option.total, cost.currency, cost.digits)
    if option.minimum:
        total = say("at least {total}", total=total) if option.total else say("not priced")
    deposit = option.core_deposit or None
    return (
        total,
        spoken().money(deposit, cost.currency, cost.digits),
        _not_priced(option, cost),
        option.time,
        "; ".join(text.rstrip(".") for text in option.follows),
        joined(option.not_included),
        option.warranty,
    )


def _not_priced(option: Option, cost: Cost) -> str:
    """By name where they are few; the estimate's own stand with its lines anyhow."""
    if option.this_estimate and len(option.not_priced) > FEW:
        return say("{what}, named below", what=lacking(cost))
    return "; ".join(map(told, option.not_priced))


def lacking(cost: Cost) -> str:
    """'4 lines without a price, 5 points not decided': what makes the total a minimum."""
    lines = sum(line.amount is None for line in cost.lines)
    points = len(cost.not_priced) - lines
    of_lines = message("one line without a price" if lines == 1 else "{count} lines without a price")
    of_points = message("one point not settled" if points == 1 else "{count} points not settled")
    counted = ((of_lines, lines), (of_points, points))
    return joined(say(words, count=count) for words, count in counted if count)


def against(cost: Cost) -> TableView | None:
    """Every line that differs from what was approved, its reason beside it, adding up to the difference."""
    if cost.against is None:
        return None
    return TableView(
        title=say("Since the approval"),
        columns=(
            ("", "nw"),
            (say("what"), ""),
            (say("then"), "r"),
            (say("now"), "r"),
            (say("difference"), "r"),
            (say("why"), ""),
        ),
        rows=tuple(_changes(cost.against, cost.digits)),
        before=" ".join(_compared(cost.against, cost)),
        after=tuple(_effects(cost.against, cost.approvals[:1] != (cost.against.approval,))),
    )


def _changes(against: Against, digits: int) -> Iterator[tuple[str, ...]]:
    words = {"new": say("new"), "dropped": say("dropped"), "changed": say("changed")}
    for change in against.changes:
        unpriced = NONE if change.kind == "dropped" else say("not priced")
        yield (
            words[change.kind],
            told(change.name),
            money(change.before, digits) or NONE,
            money(change.now, digits) or unpriced,
            _signed(change.difference, digits),
            told(change.why) or say("no reason written"),
        )
    if against.tax_difference is None or against.total_then is None:
        return
    if against.tax_difference:
        yield "", say("Tax on the difference"), "", "", _signed(against.tax_difference, digits), ""
    difference = _signed(against.total_now - against.total_then, digits)
    then, now = money(against.total_then, digits), money(against.total_now, digits)
    yield "", say("Total"), then, now, difference, ""


def _compared(against: Against, cost: Cost) -> Iterator[str]:
    """What was approved, and how far it can be compared."""
    approval = against.approval
    yield say(
        "Approved on {day}, {by}, {how}: up to {limit}.",
        day=day(approval.date),
        by=say(approval.by),
        how=say(approval.how),
        limit=spoken().money(approval.limit, cost.currency, cost.digits),
    )
    if against.issue is None:
        yield say("The lines approved then are not on file, so only the sum can be compared.")
    elif not against.changes:
        yield say("No line differs.")


def _signed(amount: Decimal | None, digits: int) -> str:
    if amount is None:
        return say("not known")
    return f"+{money(amount, digits)}" if amount > 0 else money(amount, digits)


# whether it is late, and whether by one day
_READY = {
    (True, False): message("Ready {days} days later than promised."),
    (True, True): message("Ready one day later than promised."),
    (False, False): message("Ready {days} days earlier."),
    (False, True): message("Ready one day earlier."),
}


def _effects(against: Against, again: bool) -> Iterator[str]:
    """Days, and why it differs; ``again``: the approval is not the first."""
    if against.days_later:
        words = _READY[against.days_later > 0, abs(against.days_later) == 1]
        yield say(words, days=abs(against.days_later))
    told_of = {told(change.why) for change in against.changes}
    asked = against.over_by is not None
    for reason in against.reasons:
        # of the day of a later approval, and covered by it: that is what it was asked for
        if again and reason.date == against.approval.date and not asked:
            continue
        more = reason.date_effect or (asked and (reason.alternatives or reason.doing_nothing))
        if more or told(reason.cause) not in told_of:
            yield _reason(reason, asked)


def _reason(reason: Difference, asked: bool) -> str:
    """Why it differs; while it is asked for, the other ways, too, and what comes of none."""
    cause = "; ".join(text.rstrip(".") for text in (reason.cause, reason.date_effect) if text)
    said = [stop(cause)]
    if asked and reason.alternatives:
        said.append(say("Other ways: {what}", what=stop(joined(reason.alternatives))))
    if asked and reason.doing_nothing:
        said.append(say("If nothing is done: {what}", what=stop(reason.doing_nothing)))
    return f"{day(reason.date)}: " + " ".join(filter(None, said))


LONGEST = 3  # steps that are told of; all of them stand in the lines that the PDF carries
Row = tuple[str, list[int], tuple[str, str, str]]  # the anchor of a row, its lines, and what stands in it


def basis(job: Assessment) -> tuple[TableView | None, tuple[str, ...]]:
    """What lines rest on: the findings, to which their links lead; of decisions, values and hours only
    what explains a line that nothing above explains."""
    rows = [*_findings(job)]
    explained = {line for _, lines, _ in rows for line in lines}
    for row in (*_decisions(job), *_measured(job), *_steps(job)):
        if not explained.issuperset(row[1]):
            rows.append(row)
            explained.update(row[1])
    if not rows:
        return None, ()
    columns = (
        ("", "nw"),
        (say("what was seen, decided or measured"), ""),
        (say("why"), ""),
        (say("lines"), "nw"),
    )
    texts = tuple((*said, joined(map(str, lines))) for _, lines, said in rows)
    return TableView(say("What the lines rest on"), columns, texts), tuple(mark for mark, _, _ in rows)


def _findings(job: Assessment) -> Iterator[Row]:
    for finding in job.findings:
        lines = [line.line for line in job.cost.lines if finding.id in line.findings]
        if lines:
            number = f"{say('finding')} {finding.number}"
            said = (number, told(finding.title), numbered(finding.cause, job))
            yield anchor(f"finding-{finding.id}"), lines, said


def _decisions(job: Assessment) -> Iterator[Row]:
    for decision in job.decisions:
        lines = [line.line for line in job.cost.lines if decision.id in line.decisions]
        if lines:
            said = (decision.id, decided(decision, job), decision.why)
            yield anchor(f"decision-{decision.id}"), lines, said


def _steps(job: Assessment) -> Iterator[Row]:
    """Of hours by the access plan the steps that take the longest."""
    for line in job.cost.lines:
        if line.steps and job.access and job.stage not in FINISHED:
            shorter = len(line.steps) - LONGEST if len(line.steps) > LONGEST + 1 else 0
            what = ", ".join(map(told, line.steps[: len(line.steps) - shorter]))
            if shorter:
                what = say("{steps} and {count} shorter steps", steps=what, count=shorter)
            yield f"hours-{line.line}", [line.line], (say("hours"), told(line.name), what)


def _measured(job: Assessment) -> Iterator[Row]:
    """Of each characteristic that lines rest on: its values where they ask for it, limit, the lines."""
    keys = dict.fromkeys(key for line in job.cost.lines for key in line.values)
    groups: dict[str, list[Characteristic]] = {}
    for key in keys:
        if (found := job.find(key)) is not None:
            groups.setdefault(anchor(f"m-{found.feature}-{found.name}"), []).append(found)
    for mark, group in groups.items():
        asked = {measured.key for measured in group}
        lines = [line.line for line in job.cost.lines if asked & {*line.values}]
        what = f"{_named(job, group[0])}: {'; '.join(_values(group, job.system))}"
        yield mark, lines, (say("measured"), what, _judged(group[0], job.system))


def _named(job: Assessment, measured: Characteristic) -> str:
    feature = job.feature(measured.feature)
    if feature is None:
        return measured.feature
    title = told(feature.title)
    own = feature.characteristics.get(measured.name)
    return f"{title}, {told(own)}" if own else title


def _values(group: list[Characteristic], system: str) -> Iterator[str]:
    for measured in group:
        if (printed := value(measured, system)) is not None:
            unit = "" if measured.unit == "count" else f"{NBSP}{printed.unit}"
            yield f"{place(measured.position)} {printed.said}{unit}"


def _judged(measured: Characteristic, system: str) -> str:
    """'beyond limit, max 0.110 mm'."""
    return ", ".join(filter(None, (say(measured.verdict), limit_text(measured, system, bare=False))))


def cores(cost: Cost) -> str:
    """Deposits on old parts and the day by which each must be back; nothing where there is none."""
    held = (
        say("{part} {amount} ({until})", part=told(core.name), amount=amount, until=_until(core))
        for core in cost.cores
        if (amount := spoken().money(core.amount, cost.currency, cost.digits))
    )
    what = "; ".join(held)
    return say("Deposits on old parts, no part of the price: {what}.", what=what) if what else ""


def _until(core: CoreDeposit) -> str:
    if core.credited:
        return say("paid back on {day}", day=day(core.credited))
    if core.returned:
        return say("sent back on {day}, not yet paid back", day=day(core.returned))
    if core.return_by:
        return say("back by {day}", day=day(core.return_by))
    if core.days is not None:
        return say("back within {days} days after the new part has come", days=core.days)
    return say("no day agreed")


def stays(job: Assessment) -> TableView | None:
    """Every stay in the shop with its days and what it cost; None where there was one only."""
    if len(job.spells) < 2:
        return None
    columns = (
        ("", "nw"),
        (say("from \u2013 to"), ""),
        (say("days"), "nw"),
        (say("why it came"), ""),
        (say("what was done"), ""),
        (say("on account of"), ""),
        (say("cost"), ""),
    )
    rows = []
    for spell in job.spells:
        end = day(spell.end) if spell.end else say("still here")
        days = say("{days} days", days=spell.days) if spell.days != 1 else say("1 day")
        when = (str(spell.number), f"{day(spell.start)} \u2013 {end}", days)
        rows.append((*when, *(_first_stay(job) if spell.number == 1 else _later_stay(spell, job.cost))))
    return TableView(say("Stays in the shop"), columns, tuple(rows))


Stay = tuple[str, str, str, str]  # why it came, what was done, on whose account, the cost


def _first_stay(job: Assessment) -> Stay:
    charged = say("not priced")
    if job.cost.lines:
        charged = spoken().money(job.cost.total, job.cost.currency, job.cost.digits)
    if job.cost.minimum:
        charged = say("at least {total}", total=charged)
    return job.complaint, say("as told here"), say("customer"), charged


def _later_stay(spell: Spell, cost: Cost) -> Stay:
    causes = {
        "workmanship": say("Cause: our own work."),
        "part": say("Cause: a faulty part."),
        "sublet": say("Cause: work done elsewhere for us."),
        "application": say("Cause: how it was run."),
        "unrelated": say("Cause: nothing that we had worked on."),
    }
    cause = causes.get(spell.cause, say("Cause: not known."))
    # typed words stay as they are: the second of them may begin with a small letter
    told_of = stop("; ".join(filter(None, (spell.symptom.rstrip("."), spell.found))))
    why = f"{told_of} {cause}".strip()
    charged = say("not priced")
    if spell.total is not None:
        charged = spoken().money(spell.total, cost.currency, cost.digits)
    elif spell.net is not None:
        net = spoken().money(spell.net, cost.currency, cost.digits)
        charged = say("{amount} before tax, not on your bill", amount=net)
    return why, stop(told(spell.done)) or say("nothing yet"), say(spell.charged_to), charged
