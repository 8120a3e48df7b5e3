"""What an issued document rests on, small and frozen, and what changed from one issue to the next.

The basis is plain data: lines and sums, findings, decisions, verdicts,
readings as typed, and a digest for each piece of text.  Two issues rest on
the same exactly where their bases are equal.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from decimal import Decimal
from typing import Any

from ..quantities import Figure, Sentence, Several
from ..trade.approval import compare
from .approvals import frozen_items
from .model import Assessment

FORM = "rebuildreport basis 1"
MOST = 6  # of one kind that are named one by one

_TEXTS = {
    "title": "the title",
    "complaint": "the complaint",
    "application": "what the engine is out of",
    "meter": "the meter",
    "found": "what was found, in short",
    "did": "what was done or is advised, in short",
    "needs_from_customer": "what is needed from the customer",
    "arrival": "the record of arrival",
    "not_with": "what did not come with it",
    "not_opened": "what was not opened",
    "teardown": "the record of taking apart",
    "marks": "the reference marks",
    "instruments": "the instruments",
    "running": "the record of running",
    "next_steps": "what comes next",
    "hold_points": "the hold points",
    "cautions": "the cautions",
    "shop": "the shop's name",
    "contact": "how to reach the shop",
    "notice": "the notice at the foot",
    "rule_text": "the decision rule",
    "engine": "the engine's description",
    "spells": "the stays in the shop",
    "too_close": "what is too close to call",
    "to_decide": "what is to decide",
    "not_measured": "what is not measured",
    "uncorrected": "what is not corrected to 20 °C",
}
# told in other ways, or no matter of the job
_TOLD = {
    *("job", "stage", "as_of", "characteristics", "summary", "tables", "findings", "photos", "decisions"),
    *("deviations", "cost", "rounds", "problems", "issue", "language", "apart"),
    "in_the_files",
}


def basis(one: Assessment, photos: Mapping[str, str] | None = None) -> dict[str, Any]:
    """What a document of this assessment rests on; ``photos`` are digests of the picture files by name."""
    cost = one.cost
    titles = {feature.name: feature.title for feature in one.features}
    return {
        "form": FORM,
        "job": one.job,
        "language": one.language,
        "stage": one.stage,
        "said": {"title": one.title, "needs": list(one.needs_from_customer)},  # for the mail that carries it
        "as_of": one.as_of.isoformat(),
        "currency": cost.currency,
        "lines": [
            {
                "key": line.key,
                "name": line.name,
                "quantity": _text(line.quantity),
                "each": _text(line.each),
                "amount": _text(line.amount),
            }
            for line in cost.lines
        ],
        "net": _text(cost.net),
        "tax": _text(cost.tax),
        "total": _text(cost.total),
        "core_deposit": _text(cost.core_deposit),
        "paid": _text(sum((paid.amount for paid in cost.paid), Decimal(0))),
        "minimum": cost.minimum,
        "not_priced": list(cost.not_priced),
        "options": _digest([asdict(option) for option in cost.options]),
        "differences": _digest([asdict(d) for d in cost.against.reasons] if cost.against else []),
        "approvals": [
            f"{a.date.isoformat()}, {a.by}, {a.how}: up to {a.limit}{f', {a.covers}' if a.covers else ''}"
            for a in cost.approvals
        ],
        "findings": {f.id: [f.title, f.disposition, _digest(_finding(asdict(f)))] for f in one.findings},
        "decisions": {
            d.id: " ".join(
                part for part in (d.about_title, " ".join(d.positions), f"{d.do},", d.size, d.why) if part
            )
            for d in one.decisions
        },
        "deviations": {
            d.id: f"{d.feature_title} {' '.join(d.positions)}, {d.what} {d.accept}, signed by {d.signed}"
            for d in one.deviations
        },
        "verdicts": {
            f"{titles.get(c.feature, c.feature)}|{c.name.replace('_', ' ')}|{c.position}": c.verdict
            for c in one.characteristics
            if c.stands
        },
        "limits": {
            f"{titles.get(c.feature, c.feature)}, {c.name.replace('_', ' ')}": repr(
                (c.limits.new, c.limits.wear, c.limits.source)
            )
            for c in one.characteristics
            if c.limits is not None
        },
        "readings": {
            f"{table.round}|{table.name}|{position}": " ".join(cells) + f" {table.unit}"
            for table in one.tables
            for position, cells in table.rows.items()
        },
        "texts": {
            field.name: _digest(_plain(getattr(one, field.name)))
            for field in fields(one)
            if field.name not in _TOLD
        },
        "captions": _digest([asdict(photo) for photo in one.photos]),
        "photos": dict(photos or {}),
    }


def _finding(data: dict[str, Any]) -> dict[str, Any]:
    # where its lines stand on the estimate is not part of what was found
    return {name: value for name, value in data.items() if name not in ("price_lines", "shows")}


def _plain(thing: Any) -> Any:
    if isinstance(thing, (tuple, list)):
        return [_plain(one) for one in thing]
    return asdict(thing) if hasattr(thing, "__dataclass_fields__") else thing


def _text(amount: Decimal | None) -> str | None:
    return None if amount is None else str(amount)


def _digest(thing: Any) -> str:
    data = json.dumps(thing, ensure_ascii=False, sort_keys=True, default=str)
    return hashlib.sha256(data.encode()).hexdigest()[:16]


def to_bytes(found: Mapping[str, Any]) -> bytes:
    """A basis as it is written: one line without its end, so that no editor or checkout changes a byte."""
    return json.dumps(found, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def same(before: Mapping[str, Any], now: Mapping[str, Any]) -> bool:
    """Whether two documents rest on the same."""
    return to_bytes(before) == to_bytes(now)


def changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> list[str]:
    """What changed, in plain words; empty only where nothing did."""
    found = list(_all(before, now))
    if not found and not same(before, now):
        found.append(Sentence("The records changed in a detail that no document shows by itself."))
    return found


def _all(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterable[str]:
    if before.get("stage") != now["stage"]:
        yield Sentence(
            "The job went on from {before} to {now}.",
            before=Sentence(str(before.get("stage"))),
            now=Sentence(now["stage"]),
        )
    if before.get("language") != now["language"]:
        yield Sentence(
            "In another language: {before}, now {now}.", before=before.get("language"), now=now["language"]
        )
    yield from _readings(before.get("readings", {}), now["readings"])
    yield from _verdicts(before.get("verdicts", {}), now["verdicts"])
    limits = _differing(before.get("limits", {}), now["limits"], both=True)
    if limits:
        yield Sentence("Other limits: {what}.", what=_listed(limits))
    yield from _findings(before.get("findings", {}), now["findings"])
    for kind, entry in (("decisions", DECISION), ("deviations", DEVIATION)):
        yield from _entries(entry, before.get(kind, {}), now[kind])
    yield from _lines(before, now)
    for approval in now["approvals"]:
        if approval not in before.get("approvals", []):
            yield Sentence("Approved: {what}.", what=approval)
    for approval in before.get("approvals", []):
        if approval not in now["approvals"]:
            yield Sentence("No longer on file as approved: {what}.", what=approval)
    was = before.get("texts", {})
    turned = [name for name, digest in now["texts"].items() if was.get(name) != digest]
    other: list[str] = [Sentence(_TEXTS.get(name, name.replace("_", " "))) for name in turned]
    for name, words in (
        ("options", "the ways to go on"),
        ("differences", "the reasons for differences"),
        ("captions", "captions of the pictures"),
        ("photos", "the pictures themselves"),
    ):
        if before.get(name) != now[name]:
            other.append(Sentence(words))
    if other:
        yield Sentence("Other words: {what}.", what=_listed(other, most=len(other)))


def _readings(before: Mapping[str, str], now: Mapping[str, str]) -> Iterable[str]:
    rounds = {key.split("|")[0] for key in before}
    fresh = dict.fromkeys(key.split("|")[0] for key in now if key.split("|")[0] not in rounds)
    if fresh:
        names = [name.replace("-", " ").replace("_", " ") for name in fresh]
        yield Sentence("New readings: {what}.", what=_listed(names))
    again: list[str] = [
        Sentence(
            "{where} {before}, now {now}",
            where=_spot(key),
            before=Figure(before[key].strip()) if key in before else Sentence("none"),
            now=Figure(now[key].strip()) if key in now else Sentence("taken out"),
        )
        for key in [*now, *(key for key in before if key not in now)]
        if key.split("|")[0] in rounds and before.get(key) != now.get(key)
    ]
    if again:
        yield Sentence("Readings changed: {what}.", what=_listed(again, joint="; "))


def _spot(key: str) -> str:
    place, table, position = key.split("|")
    return f"{table.replace('_', ' ')} {position} ({place})"


def _verdicts(before: Mapping[str, str], now: Mapping[str, str]) -> Iterable[str]:
    turned: dict[Sentence, list[str]] = {}
    for key, verdict in now.items():
        was = before.get(key)
        if was is not None and was != verdict:
            feature, name, position = key.split("|")
            said = Sentence(
                "{feature}, {name}: {before}, now {now}",
                feature=Sentence(feature),
                name=Sentence(name),
                before=Sentence(was),
                now=Sentence(verdict),
            )
            turned.setdefault(said, []).append(position)
    for words, positions in list(turned.items())[: 2 * MOST]:
        yield Sentence("{what} ({places}).", what=words, places=", ".join(positions))
    if len(turned) > 2 * MOST:
        yield Sentence("And {count} more verdicts.", count=len(turned) - 2 * MOST)


def _findings(before: Mapping[str, list[str]], now: Mapping[str, list[str]]) -> Iterable[str]:
    for name, (title, disposition, digest) in now.items():
        if name not in before:
            yield Sentence("Finding {name}, new: {title}.", name=name, title=title)
        elif before[name][0] != title:
            yield Sentence("Finding {name} now says: {title}.", name=name, title=title)
        elif before[name][1] != disposition:
            yield Sentence(
                "Finding {name}, {title}: {before}, now {now}.",
                name=name,
                title=title.replace("_", " "),
                before=Sentence(before[name][1].replace("_", " ")),
                now=Sentence(disposition.replace("_", " ")),
            )
        elif before[name][2] != digest:
            yield Sentence("Finding {name}, {title}: worded anew.", name=name, title=title)
    for name in before:
        if name not in now:
            yield Sentence("Finding {name} taken back: {title}.", name=name, title=before[name][0])


# new, changed, taken back
DECISION = (
    "Decision {name}, new: {what}.",
    "Decision {name} now says: {what}.",
    "Decision {name} taken back: {what}.",
)
DEVIATION = (
    "Deviation {name}, new: {what}.",
    "Deviation {name} now says: {what}.",
    "Deviation {name} taken back: {what}.",
)


def _entries(words: tuple[str, str, str], before: Mapping[str, str], now: Mapping[str, str]) -> Iterable[str]:
    for name, what in now.items():
        if name not in before:
            yield Sentence(words[0], name=name, what=what)
        elif before[name] != what:
            yield Sentence(words[1], name=name, what=what)
    for name, what in before.items():
        if name not in now:
            yield Sentence(words[2], name=name, what=what)


def _lines(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterable[str]:
    old, new = frozen_items(before), frozen_items(now)
    if old is None or new is None:
        return
    ends: tuple[str, str]
    said: dict[str, list[str]] = {"new": [], "dropped": [], "changed": []}
    for change in compare(old, new):
        item = change.item
        count = "" if item.quantity == 1 else f"{item.quantity:f} "
        if change.kind == "changed" and change.before is not None:
            was = change.before
            if was.quantity != item.quantity:
                ends = (Figure(f"{was.quantity:f}"), Figure(f"{item.quantity:f}"))
            else:
                ends = (_price(was.amount), _price(item.amount))
            said["changed"].append(
                Sentence("{line}, {before}, now {now}", line=item.name, before=ends[0], now=ends[1])
            )
        else:
            line = f"{count}{item.name}"
            said[change.kind].append(Sentence("{line} ({price})", line=line, price=_price(item.amount)))
    for kind, words in (
        ("new", "New lines: {what}."),
        ("dropped", "Dropped lines: {what}."),
        ("changed", "Changed lines: {what}."),
    ):
        if said[kind]:
            yield Sentence(words, what=_listed(said[kind], joint="; "))
    unit = now["currency"]
    for name, words in SUMS.items():
        if before.get(name) != now[name]:
            yield Sentence(words, before=Figure(before.get(name)), now=Figure(f"{now[name]} {unit}"))
    if before.get("minimum") != now["minimum"]:
        unpriced = Sentence("Not every line is priced now.")
        yield unpriced if now["minimum"] else Sentence("Every line is priced now.")


SUMS = {
    "total": "The total: {before}, now {now}.",
    "core_deposit": "The deposit on old parts: {before}, now {now}.",
    "paid": "Paid: {before}, now {now}.",
}


def _price(amount: Decimal | None) -> str:
    return Sentence("no price") if amount is None else Figure(amount)


def _differing(before: Mapping[str, str], now: Mapping[str, str], both: bool) -> list[str]:
    return [key for key in now if before.get(key) != now[key] and (key in before or not both)]


def _listed(words: list[str], joint: str = ", ", most: int = MOST) -> str:
    more = len(words) - most
    what = Several(words[:most], joint)
    return Sentence("{what} and {count} more", what=what, count=more) if more > 0 else what
