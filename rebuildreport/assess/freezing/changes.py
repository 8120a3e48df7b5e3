"""The words of what changed from one issued document to the next: one table says who words which path."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation

from msgspec import Struct

from ...quantities import (
    NOTHING,
    Amount,
    Figure,
    Sentence,
    Several,
    Text,
    Typed,
    amid,
    as_typed,
    message,
    present,
)
from ...trade.estimating import sums
from ...trade.estimating.approval import LineDifference, compare
from ..measure.titles import titled
from ..money.approvals import frozen_items
from .basis import WORDS, comparable, same
from .difference import Facts, Moved, difference, facts_by_path

MOST = 6  # of one kind that are named one by one


def changes(before: Facts, now: Facts) -> list[Text]:
    """What changed, in plain words; empty only where nothing did."""
    if not comparable(before):
        words = message(
            "Frozen in an older form: what has changed since cannot be worked out; see both documents."
        )
        return [Sentence(words)]
    issues = _Issues(before, now, tuple(difference(before, now)))
    told: list[Text] = []
    for heads, words_of in TOLD:
        moved = [one for one in issues.moved if one.path[0] in heads]
        told += words_of(issues, moved) if moved else ()
    if not told and not same(before, now):
        told.append(Sentence("The records changed in a detail that no document shows by itself."))
    return told


class _Issues(Struct, frozen=True):
    """Both sides and what differs; names in the words of either day."""

    before: Facts
    now: Facts
    moved: tuple[Moved, ...]

    def title(self, kind: str, name: str) -> Text:
        """A name of the files in the words of now, or of the day when it was there; ours in any language."""
        for side in (self.now, self.before):
            said = side.get("said", {}).get(kind, {}).get(name)
            if said:
                return Sentence(said) if type(said) is str else said
        return titled(name) if kind in ("features", "choices") else NOTHING

    def about(self, entry: Facts) -> Text:
        title = self.title("about", entry["about"]) or self.title("features", entry["about"])
        return Several([title or titled(entry["about"]), *entry["positions"]], " ")

    def known(self, head: str) -> set[str]:
        """What the issue before knew under a head: rounds, choices."""
        return {path[1] for path in facts_by_path(self.before) if path[0] == head and len(path) > 1}

    @property
    def tables(self) -> set[tuple[str, ...]]:
        """Round and name of each table of which the issue before had readings."""
        return {path[1:3] for path in facts_by_path(self.before) if path[0] == "readings"}


def _listed(items: Sequence[Text], joint: str = ", ", most: int = MOST) -> Text:
    """The first of them, and how many more there are."""
    more = len(items) - most
    what = Several(items[:most], joint)
    return Sentence("{what} and {count} more", what=what, count=more) if more > 0 else what


def _day(text: str | None) -> date | Text:
    """A day as it is frozen."""
    return date.fromisoformat(text) if text else Sentence("no day")


def _named(name: str) -> Text:
    return Sentence(re.sub("[-_]", " ", name))


def _word(text: object) -> Text:
    return Sentence(str(text))


def _sum(text: str | None, side: Facts) -> Text:
    code = str(side.get("currency"))
    try:
        return Amount(Decimal(str(text)), sums.digits(code), code)
    except InvalidOperation:
        return Sentence("no price")


# ------------------------------------------------------------------------------- what stands once

PLAIN = message(
    {
        ("stage",): "The job went on from {before} to {now}.",
        ("days", "promised"): "Expected to be ready on: {before}, now {now}.",
        ("total",): "The total: {before}, now {now}.",
        ("core_deposit",): "The deposit on old parts: {before}, now {now}.",
    }
)


def _plain(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    by_path = {one.path: one for one in moved}
    for path, words in PLAIN.items():
        one = by_path.get(path)
        if one is None:
            continue
        if path[0] == "days":
            yield Sentence(words, before=_day(one.before), now=_day(one.now))
        elif path[0] == "stage":
            yield Sentence(words, before=_word(one.before), now=_word(one.now))
        else:
            yield Sentence(words, before=_sum(one.before, issues.before), now=_sum(one.now, issues.now))


def _back(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    """Each time that it came back after delivery, and was delivered again."""
    for one in moved:
        if one.now is None:
            continue
        day, symptom, delivered = one.now
        if one.before is None:
            yield Sentence("It came back on {day}: {symptom}.", day=_day(day), symptom=str(symptom))
        if delivered and (one.before is None or one.before[2] != delivered):
            yield Sentence("Delivered again on {day}.", day=_day(delivered))


BESIDE = message(
    {
        "language": "the language",
        "days": "the days of the job",
        "rounds": "how it was measured",
        "instruments": "particulars of instruments",
        "limits": "limits",
        "findings": "the wording of findings",
        "lines": "what lines are for, or their tax",
        "photos": "the pictures themselves",
        "sheet": "the engine's sheet",
        "cores": "the deposits on old parts",
        "standing": "the terms and other standing texts",
    }
)


def _also(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    """What is not told one by one: texts typed otherwise, and how what was there came about."""
    typed = {one.path[1] for one in moved if one.path[0] == "typed"}
    beside = {one.path[0] for one in moved if _is_beside(issues, one)}
    other = [Sentence(words) for name, words in WORDS.items() if name in typed]
    other += [Sentence(words) for name, words in BESIDE.items() if name in beside]
    if other:
        yield Sentence("Also changed: {what}.", what=Several(other, "; "))


def _is_beside(issues: _Issues, one: Moved) -> bool:
    """Whether a change is left to the last line: what comes with something new is told by that."""
    head = one.path[0]
    if head == "cores":
        return all(moved.path != ("core_deposit",) for moved in issues.moved)  # else told by its sum
    if head == "days":
        # a day that has come is told by the stage that it brought
        return one.before is not None and one.path[1] != "promised"
    if head == "rounds":
        _, place, table, _ = one.path
        return (place, table) in issues.tables if table else place in issues.known("rounds")
    if head not in ("instruments", "limits", "findings", "lines"):
        return True
    if one.before is None or one.now is None:
        return False
    if head == "findings":
        return bool(one.before[:2] == one.now[:2])
    return head != "lines" or any(one.before[key] != one.now[key] for key in ("for", "why", "tax"))


# ---------------------------------------------------------------------------------- measurements


def _readings(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    rounds = issues.known("readings")
    fresh = dict.fromkeys(one.path[1] for one in moved if one.path[1] not in rounds)
    if fresh:
        yield Sentence("New readings: {what}.", what=_listed([_named(name) for name in fresh]))
    again: list[Text] = []
    for one in moved:
        _, place, table, position = one.path
        if place not in rounds:
            continue
        title = issues.title("tables", table)
        where = Sentence(
            "{table} {position} ({round})",
            table=amid(title) if title else _named(table),
            position=as_typed(position),
            round=_named(place),
        )
        before = Sentence("none") if one.before is None else Figure(one.before.strip())
        now = Sentence("taken out") if one.now is None else Figure(one.now.strip())
        again.append(Sentence("{where} {before}, now {now}", where=where, before=before, now=now))
    if again:
        yield Sentence("Readings changed: {what}.", what=_listed(again, "; "))


def _verdicts(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    """Verdicts that turned; what is measured for the first time and in order is drawn together."""
    turned: dict[tuple[str, str, str, str], list[Text]] = {}
    fresh: dict[str, None] = {}
    for one in moved:
        _, feature, name, position, place, table = one.path
        # of a round that was not there there is nothing to turn from
        before = one.before or ("" if place else "not measured")
        if one.now is None or before in ("", one.now):
            continue
        if before == "not measured" and one.now not in ("beyond limit", "too close to call"):
            fresh[feature] = None
            continue
        where = as_typed(position)
        if place:
            where = Sentence(
                "{position} on {round}",
                position=where,
                round=Several([_named(name) for name in (place, table) if name]),
            )
        turned.setdefault((feature, name, before, one.now), []).append(where)
    for (feature, name, before, now), places in list(turned.items())[: 2 * MOST]:
        words = Sentence(
            "{feature}, {name}: {before}, now {now}",
            feature=issues.title("features", feature),
            name=_word(name.replace("_", " ")),
            before=_word(before),
            now=_word(now),
        )
        yield Sentence("{what} ({places}).", what=words, places=Several(places))
    if len(turned) > 2 * MOST:
        yield Sentence("And {count} more verdicts.", count=len(turned) - 2 * MOST)
    if fresh:
        what = _listed([issues.title("features", feature) for feature in fresh], most=2 * MOST)
        yield Sentence("Measured now, and not beyond a limit: {what}.", what=what)


def _chosen(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    known, told = issues.known("chosen"), []
    for one in moved:
        _, choice, position = one.path
        if choice not in known or one.now is None:
            continue
        before = one.before or ["", ""]
        # the same answer, and settled otherwise
        ends = [_answer(side[0]) if before[0] != one.now[0] else _word(side[1]) for side in (before, one.now)]
        what = present([issues.title("choices", choice), Typed(position)], " ")
        told.append(Sentence("{what} {before}, now {now}", what=what, before=ends[0], now=ends[1]))
    if told:
        yield Sentence("Chosen otherwise: {what}.", what=_listed(told, "; "))


def _answer(text: str) -> Text:
    return Figure(text) if text else Sentence("none")


# ------------------------------------------------------------------- findings, decisions, deviations


def _findings(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    for one in moved:
        name = one.path[1]
        title = issues.title("findings", name)
        if one.now is None:
            yield Sentence("Finding {name} taken back: {title}.", name=name, title=title)
        elif one.before is None:
            yield Sentence("Finding {name}, new: {title}.", name=name, title=title)
        elif one.before[0] != one.now[0]:
            yield Sentence("Finding {name} now says: {title}.", name=name, title=title)
        elif one.before[1] != one.now[1]:
            yield Sentence(
                "Finding {name}, {title}: {before}, now {now}.",
                name=name,
                title=title,
                before=_word(one.before[1].replace("_", " ")),
                now=_word(one.now[1].replace("_", " ")),
            )


# new, changed, taken back
DECISION = message(
    (
        "Decision {name}, new: {what}.",
        "Decision {name} now says: {what}.",
        "Decision {name} taken back: {what}.",
    )
)
DEVIATION = message(
    (
        "Deviation {name}, new: {what}.",
        "Deviation {name} now says: {what}.",
        "Deviation {name} taken back: {what}.",
    )
)


def _decisions(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    for one in moved:
        entry = one.now or one.before
        size = Figure(entry["size"]) if entry["size"] else NOTHING
        done = present([_word(entry["do"]), size, Typed(entry["fit"]), Typed(entry["why"])], ", ")
        what = Sentence("{what}: {done}", what=issues.about(entry), done=done)
        yield Sentence(DECISION[_turn(one)], name=one.path[1], what=what)


def _deviations(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    for one in moved:
        entry = one.now or one.before
        ends = [Figure(f"{end} {entry[key]}") for end, key in (("min", "low"), ("max", "high")) if entry[key]]
        what = Sentence(
            "{what}, {which} {limits}, signed by {by}",
            what=issues.about(entry),
            which=_word(entry["what"].replace("_", " ")),
            limits=Several(ends),
            by=_word(entry["signed"]),
        )
        yield Sentence(DEVIATION[_turn(one)], name=one.path[1], what=what)


def _turn(one: Moved) -> int:
    """New, changed or taken back."""
    if one.before is None:
        return 0
    return 2 if one.now is None else 1


# ------------------------------------------------------------------------------------------ money

LINES = message(
    {"new": "New lines: {what}.", "dropped": "Dropped lines: {what}.", "changed": "Changed lines: {what}."}
)


def _lines(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    """New, dropped and changed lines."""
    old, new = frozen_items(issues.before), frozen_items(issues.now)
    if old is None or new is None:
        return
    differing = compare(old, new)
    for kind, words in LINES.items():
        told = [_line(issues.now, line) for line in differing if line.kind == kind]
        if told:
            yield Sentence(words, what=_listed(told, "; "))


def _line(side: Facts, line: LineDifference) -> Text:
    item, was = line.item, line.before
    name = Sentence(item.name)
    if line.kind != "changed" or was is None:
        count = NOTHING if item.quantity == 1 else Figure(f"{item.quantity:f}")
        counted = present([count, name], " ")
        return Sentence("{line} ({price})", line=counted, price=_price(item.amount, side))
    if was.quantity != item.quantity:
        ends = Figure(f"{was.quantity:f}"), Figure(f"{item.quantity:f}")
        return Sentence("{line}: {before} of them, now {now}", line=name, before=ends[0], now=ends[1])
    before, now = _price(was.amount, side), _price(item.amount, side)
    return Sentence("{line}: {before}, now {now}", line=name, before=before, now=now)


def _price(amount: Decimal | None, side: Facts) -> Text:
    digits = sums.digits(str(side.get("currency")))
    return Sentence("no price") if amount is None else Amount(amount, digits)


def _paid(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    for one in moved:
        side = issues.before if one.now is None else issues.now
        day, amount, _ = one.now or one.before
        words = message(
            "Paid on {day}: {amount}." if one.now else "No longer on file as paid on {day}: {amount}."
        )
        yield Sentence(words, day=_day(day), amount=_sum(amount, side))


def _minimum(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    for one in moved:
        unpriced = Sentence("Not every line is priced now.")
        yield unpriced if one.now else Sentence("Every line is priced now.")


def _ways(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    """Other ways to go on; the one that is this estimate is told by the total."""
    for one in moved:
        if one.before is None or one.now is None or one.before[0] == issues.before.get("total"):
            continue
        name = one.path[1]
        yield Sentence(
            "The way {name}: {before}, now {now}.",
            name=issues.title("options", name) or name,
            before=_sum(one.before[0], issues.before),
            now=_sum(one.now[0], issues.now),
        )


def _approvals(issues: _Issues, moved: Sequence[Moved]) -> Iterable[Text]:
    """What was approved since, and what is no longer on file."""
    for one in moved:
        side, entry = (issues.before, one.before) if one.now is None else (issues.now, one.now)
        said = Sentence(
            "{day}, {by}, {how}: up to {limit}",
            day=_day(entry["date"]),
            by=_word(entry["by"]),
            how=_word(entry["how"]),
            limit=_sum(entry["limit"], side),
        )
        ready = Sentence("ready on {day}", day=_day(entry["ready"])) if entry["ready"] else NOTHING
        what = present([said, Typed(entry["covers"] or ""), ready], ", ")
        words = message("Approved: {what}." if one.now else "No longer on file as approved: {what}.")
        yield Sentence(words, what=what)


_Teller = Callable[[_Issues, Sequence[Moved]], Iterable[Text]]
# which paths, by their first word, are worded by whom, in the order in which they are told
TOLD: tuple[tuple[frozenset[str], _Teller], ...] = (
    (frozenset({"stage", "days"}), _plain),
    (frozenset({"back"}), _back),
    (frozenset({"readings"}), _readings),
    (frozenset({"verdicts"}), _verdicts),
    (frozenset({"findings"}), _findings),
    (frozenset({"decisions"}), _decisions),
    (frozenset({"deviations"}), _deviations),
    (frozenset({"chosen"}), _chosen),
    (frozenset({"lines"}), _lines),
    (frozenset({"total", "core_deposit"}), _plain),
    (frozenset({"paid"}), _paid),
    (frozenset({"minimum"}), _minimum),
    (frozenset({"options"}), _ways),
    (frozenset({"approvals"}), _approvals),
    (frozenset({"typed", *BESIDE}), _also),
)
