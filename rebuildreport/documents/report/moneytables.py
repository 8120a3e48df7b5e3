"""Tables of the estimate: ways to go on, what differs from the approval, what lines rest on, deposits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from ...assess.model.assessment import Assessment, Characteristic
from ...assess.model.prices import Against, CoreDeposit, Cost, Option
from ..drawings.scales import limit_text, unit_of
from ..press.language import NBSP, Language
from ..press.templating import anchor
from ..press.words import capital, place, stop, unit_text, value

Column = tuple[str, str]


@dataclass(frozen=True, slots=True)
class TableView:
    """A table of words: heads with their look, rows, and what stands above and below."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    before: str = ""
    after: tuple[str, ...] = ()


def options(cost: Cost, say: Language) -> TableView | None:
    """The ways to go on side by side; None where there is only one."""
    if not cost.options:
        return None

    def row(head: str, texts: list[str]) -> tuple[str, ...] | None:
        return (head, *texts) if any(texts) else None

    def price(option: Option) -> str:
        total = say.money(option.total, cost.currency, cost.digits)
        if option.minimum and not option.total:
            return say("not priced")
        return say("at least {total}", total=total) if option.minimum else total

    found = [
        row(say("with tax"), [price(option) for option in cost.options]),
        row(
            say("deposit on old parts"),
            [
                say.money(option.core_deposit, cost.currency, cost.digits) if option.core_deposit else ""
                for option in cost.options
            ],
        ),
        row(say("not priced"), [say.listed(map(say.told, option.not_priced)) for option in cost.options]),
        row(say("time"), [option.time for option in cost.options]),
        row(say("what follows"), [" ".join(stop(capital(t)) for t in o.follows) for o in cost.options]),
        row(say("not included"), [capital(say.listed(option.not_included)) for option in cost.options]),
        row(say("warranty"), [option.warranty for option in cost.options]),
    ]
    return TableView(
        title=say("Ways to go on"),
        columns=(("", ""), *((option.title, "") for option in cost.options)),
        rows=tuple(one for one in found if one is not None),
    )


def against(cost: Cost, say: Language) -> TableView | None:
    """Every line that differs from what was approved, its reason beside it, adding up to the difference."""
    against = cost.against
    if against is None:
        return None
    a = against.approval
    digits = cost.digits
    rows = [
        (
            say({"new": "new", "dropped": "dropped", "changed": "changed"}[change.kind]),
            say.told(change.name),
            say.amount(change.before, digits) or "\u2013",
            say.amount(change.now, digits) or ("\u2013" if change.kind == "dropped" else say("not priced")),
            _signed(change.difference, say, digits),
            say.told(change.why) if change.why else say("no reason written"),
        )
        for change in against.changes
    ]
    if against.tax_difference is not None and against.total_then is not None:
        if against.tax_difference:
            rows.append(
                ("", say("Tax on the difference"), "", "", _signed(against.tax_difference, say, digits), "")
            )
        rows.append(
            (
                "",
                say("Total"),
                say.amount(against.total_then, digits),
                say.amount(against.total_now, digits),
                _signed(against.total_now - against.total_then, say, digits),
                "",
            )
        )
    before = say(
        "Approved on {day} by {by}, {how}, up to {limit}.",
        day=say.day(a.date),
        by=say(a.by),
        how=say(a.how),
        limit=say.money(a.limit, cost.currency, digits),
    )
    if against.issue is None:
        before += " " + say("The lines approved then are not on file, so only the sum can be compared.")
    elif not against.changes:
        before += " " + say("No line differs.")
    heads = (("", "nw"), (say("line"), ""), (say("then"), "r"), (say("now"), "r"), (say("difference"), "r"))
    return TableView(
        title=say("Since the approval"),
        columns=(*heads, (say("why"), "")),
        rows=tuple(rows),
        before=before,
        after=tuple(_effects(against, cost, say)),
    )


def _signed(amount: object, say: Language, digits: int) -> str:
    if not isinstance(amount, Decimal):
        return say("not known")
    text = say.amount(amount, digits)
    return f"+{text}" if amount > 0 else text


def _effects(against: Against, cost: Cost, say: Language) -> Iterable[str]:
    if against.over_by is not None:
        over = say.money(against.over_by, cost.currency, cost.digits)
        yield say("It is {over} above the approval. Work stops until there is a new one.", over=over)
    if against.days_later:
        later, days = against.days_later > 0, abs(against.days_later)
        words = "Ready {days} days later than promised." if later else "Ready {days} days earlier."
        if days == 1:
            words = "Ready one day later than promised." if later else "Ready one day earlier."
        yield say(words, days=days)
    for one in against.reasons:
        said = [stop(capital(one.cause)), stop(capital(one.date_effect)) if one.date_effect else ""]
        if one.alternatives:
            said.append(say("Other ways: {what}", what=stop(say.listed(one.alternatives))))
        if one.doing_nothing:
            said.append(say("If nothing is done: {what}", what=stop(one.doing_nothing)))
        yield f"{say.day(one.date)}. " + " ".join(part for part in said if part)


def basis(one: Assessment, say: Language) -> tuple[TableView | None, tuple[str, ...]]:
    """The findings, decisions and values that lines rest on: what their links lead to."""
    findings = {name for line in one.cost.lines for name in line.findings}
    decisions = {name for line in one.cost.lines for name in line.decisions}
    rows, marks = [], []
    for f in one.findings:
        if f.id in findings:
            marks.append(anchor(f"finding-{f.id}"))
            lines = [str(li.line) for li in one.cost.lines if f.id in li.findings]
            rows.append((f"{say('finding')} {f.number}", say.told(f.title), f.cause, say.listed(lines)))
    for d in one.decisions:
        if d.id in decisions:
            marks.append(anchor(f"decision-{d.id}"))
            lines = [str(li.line) for li in one.cost.lines if d.id in li.decisions]
            what = " ".join(
                part for part in (say.told(d.about_title), " ".join(d.positions), say.told(d.size)) if part
            )
            what += f": {say(d.do)}"
            rows.append((d.id, what, d.why, say.listed(lines)))
    for mark, what, why, lines in _measured(one, say):
        marks.append(mark)
        rows.append((say("measured"), what, why, say.listed(lines)))
    if not rows:
        return None, ()
    columns = (
        ("", "nw"),
        (say("what was seen, decided or measured"), ""),
        (say("why"), ""),
        (say("lines"), "nw"),
    )
    return TableView(say("What the lines rest on"), columns, tuple(rows)), tuple(marks)


def _measured(one: Assessment, say: Language) -> Iterable[tuple[str, str, str, list[str]]]:
    """Of each characteristic that lines rest on: anchor, values where they ask for it, limit, the lines."""
    keys = dict.fromkeys(key for line in one.cost.lines for key in line.values)
    groups: dict[str, list[Characteristic]] = {}
    for key in keys:
        if (found := one.find(key)) is not None:
            groups.setdefault(anchor(f"m-{found.feature}-{found.name}"), []).append(found)
    for mark, ones in groups.items():
        first = ones[0]
        feature = next((f for f in one.features if f.name == first.feature), None)
        values = "; ".join(
            f"{place(c.position)} {printed.both}"
            for c in ones
            if (printed := value(c, one.system)) is not None
        )
        limit, unit = limit_text(first, one.system), unit_text(unit_of(first, one.system))
        limit = limit if not limit or limit.endswith(unit) else f"{limit}{NBSP}{unit}"
        why = ", ".join(part for part in (say(first.verdict), limit) if part)
        lines = [str(li.line) for li in one.cost.lines if {c.key for c in ones} & {*li.values}]
        names = [feature.title, feature.characteristics.get(first.name, "")] if feature else [first.feature]
        yield mark, f"{', '.join(say.told(name) for name in names if name)}: {values}", why, lines


def cores(cost: Cost, say: Language) -> TableView | None:
    """Deposits on old parts and the day by which each must be back; None where there is none."""
    if not cost.cores:
        return None
    rows = [(say.told(one.name), say.amount(one.amount, cost.digits), _until(one, say)) for one in cost.cores]
    columns = ((say("old part of"), ""), (cost.currency, "r"), (say("back by"), ""))
    before = say("These deposits are no part of the price.")
    return TableView(say("Deposits on old parts"), columns, tuple(rows), before)


def _cause(cause: str, say: Language) -> str:
    """What a stay came from, in words for the customer."""
    return {
        "workmanship": say("Cause: our own work."),
        "part": say("Cause: a part."),
        "sublet": say("Cause: work done elsewhere for us."),
        "application": say("Cause: how it was run."),
        "unrelated": say("Cause: nothing that we had worked on."),
    }.get(cause, say("Cause: not known."))


def stays(one: Assessment, say: Language) -> TableView | None:
    """Every stay in the shop with its days and what it cost; None where there was one only."""
    if len(one.spells) < 2:
        return None
    cost = one.cost
    rows = []
    for spell in one.spells:
        end = say.day(spell.end) if spell.end else say("still here")
        days = say("{days} days", days=spell.days) if spell.days != 1 else say("1 day")
        if spell.number == 1:
            why, account, amount = one.complaint, say("customer"), cost.total if cost.lines else None
            work, least = say("as in this report"), cost.minimum
        else:
            parts = [spell.symptom, spell.found]
            why = " ".join([*(stop(capital(part)) for part in parts if part), _cause(spell.cause, say)])
            work, least = stop(capital(say.told(spell.done))) or say("nothing yet"), False
            account = say(spell.charged_to)
            amount = spell.total if spell.total is not None else spell.net
        charged = say.money(amount, cost.currency, cost.digits) if amount is not None else say("not priced")
        if least:
            charged = say("at least {total}", total=charged)
        if spell.number > 1 and amount is not None and spell.total is None:
            charged = say("{amount} before tax, not on your bill", amount=charged)
        when = f"{say.day(spell.start)} \u2013 {end}"
        rows.append((str(spell.number), when, days, why, work, account, charged))
    columns = (
        ("", "nw"),
        (say("from \u2013 to"), ""),
        (say("days"), "nw"),
        (say("why it came"), ""),
        (say("what was done"), ""),
        (say("on account of"), ""),
        (say("cost"), ""),
    )
    return TableView(say("Stays in the shop"), columns, tuple(rows))


def _until(core: CoreDeposit, say: Language) -> str:
    if core.credited:
        return say("paid back on {day}", day=say.day(core.credited))
    if core.returned:
        return say("sent back on {day}, not yet paid back", day=say.day(core.returned))
    if core.return_by:
        return say.day(core.return_by)
    if core.days is not None:
        return say("{days} days after the new part has come", days=core.days)
    return say("no day agreed")
