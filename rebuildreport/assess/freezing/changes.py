"""What changed from one issued document to the next, in plain words: two bases, held against each other."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping

from ...quantities import Figure, Sentence, Several, Text, amid, as_typed
from ..measure.titles import titled
from . import money_changes
from .basis import WORDS, comparable, same
from .money_changes import MOST, Facts, day_of, listed, title_of


def changes(before: Facts, now: Facts) -> list[Text]:
    """What changed, in plain words; empty only where nothing did."""
    if not comparable(before):
        words = "Frozen in an older form: what has changed since cannot be worked out; see both documents."
        return [Sentence(words)]
    found = list(_all(before, now))
    if not found and not same(before, now):
        found.append(Sentence("The records changed in a detail that no document shows by itself."))
    return found


def _all(before: Facts, now: Facts) -> Iterable[Text]:
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
    yield from _days(before.get("days", {}), now["days"])
    yield from _back(before.get("back", []), now["back"])
    yield from _readings(before, now)
    yield from _measured(before, now)
    yield from _verdicts(before, now)
    yield from _limits(before, now)
    yield from _findings(before, now)
    yield from _entries(DECISION, _decision, before, now, "decisions")
    yield from _entries(DEVIATION, _deviation, before, now, "deviations")
    yield from _chosen(before, now)
    yield from money_changes.lines(before, now)
    yield from money_changes.sums(before, now)
    yield from money_changes.approvals(before, now)
    yield from _also(before, now)


# ------------------------------------------------------------------------------ days and other texts

DAYS = {
    "opened": "Opened on: {before}, now {now}.",
    "promised": "Expected to be ready on: {before}, now {now}.",
    "ready": "Ready on: {before}, now {now}.",
    "delivered": "Delivered on: {before}, now {now}.",
    "declined": "Declined on: {before}, now {now}.",
}


def _days(before: Mapping[str, str], now: Mapping[str, str]) -> Iterable[Text]:
    for name, words in DAYS.items():
        if before.get(name) != now.get(name) and name in before:
            yield Sentence(words, before=day_of(before[name]), now=day_of(now.get(name)))
        elif name in now and name not in before and name == "promised":
            yield Sentence(words, before=day_of(None), now=day_of(now[name]))


def _back(before: list[list[str | None]], now: list[list[str | None]]) -> Iterable[Text]:
    """Each time that it came back after delivery, and was delivered again."""
    known = {day: delivered for day, _, delivered in before}
    for day, symptom, delivered in now:
        if day not in known:
            yield Sentence("It came back on {day}: {symptom}.", day=day_of(day), symptom=symptom)
        if delivered and known.get(day) != delivered:
            yield Sentence("Delivered again on {day}.", day=day_of(delivered))


BESIDE = {
    "photos": "the pictures themselves",
    "sheet": "the engine's sheet",
    "cores": "the deposits on old parts",
    "standing": "the terms and other standing texts",
}


def _also(before: Facts, now: Facts) -> Iterable[Text]:
    """What people typed otherwise, by what it is about."""
    was, typed = before.get("typed", {}), now["typed"]
    other: list[str] = [
        Sentence(WORDS[name])
        for name in WORDS
        if (name in was or name in typed) and was.get(name) != typed.get(name)
    ]
    told = {"cores"} if before.get("core_deposit") != now["core_deposit"] else set()  # by its sum
    other += [
        Sentence(BESIDE[name]) for name in BESIDE if before.get(name) != now.get(name) and name not in told
    ]
    if other:
        yield Sentence("Also changed: {what}.", what=Several(other, "; "))


# ---------------------------------------------------------------------------------- measurements


def _readings(before: Facts, now: Facts) -> Iterable[Text]:
    was, read = before.get("readings", {}), now["readings"]
    rounds = {key.split("|")[0] for key in was}
    fresh = dict.fromkeys(key.split("|")[0] for key in read if key.split("|")[0] not in rounds)
    if fresh:
        yield Sentence("New readings: {what}.", what=listed([_named(name) for name in fresh]))
    again: list[str] = [
        Sentence(
            "{where} {before}, now {now}",
            where=_spot(key, before, now),
            before=_reading(was.get(key), Sentence("none")),
            now=_reading(read.get(key), Sentence("taken out")),
        )
        for key in [*read, *(key for key in was if key not in read)]
        if key.split("|")[0] in rounds and was.get(key) != read.get(key)
    ]
    if again:
        yield Sentence("Readings changed: {what}.", what=listed(again, joint="; "))


def _reading(text: str | None, none: Text) -> Text:
    return none if text is None else Figure(text.strip())


def _spot(key: str, before: Facts, now: Facts) -> Text:
    place, table, position = key.split("|")
    title = title_of(before, now, "tables", table)
    return Sentence(
        "{table} {position} ({round})",
        table=amid(title) if title else _named(table),
        position=as_typed(position),
        round=_named(place),
    )


def _named(name: str) -> Text:
    return Sentence(re.sub("[-_]", " ", name))


HOW = {
    "date": "the day",
    "by": "who measured",
    "temperature": "the temperature",
    "instrument": "the instrument",
    "set_from": "what it was set from",
    "state": "the state of the part",
}


def _measured(before: Facts, now: Facts) -> Iterable[Text]:
    """How it was measured, of rounds that were there; then the instruments themselves."""
    was, rounds = before.get("rounds", {}), now["rounds"]
    known = {key.split("|")[0] for key in was} & {key.split("|")[0] for key in rounds}
    tables = {tuple(key.split("|")[:2]) for key in before.get("readings", {})}
    told: list[str] = []
    for key in dict.fromkeys([*rounds, *was]):
        place, table, name = key.split("|")
        if place in known and was.get(key) != rounds.get(key) and (not table or (place, table) in tables):
            told.append(
                Sentence(
                    "{what} of {where}: {before}, now {now}",
                    what=Sentence(HOW[name]),
                    where=_named(f"{place}, {table}" if table else place),
                    before=_how(name, was.get(key)),
                    now=_how(name, rounds.get(key)),
                )
            )
    if told:
        yield Sentence("How it was measured: {what}.", what=listed(told, joint="; "))
    kept = before.get("instruments", {})
    other = [_named(name) for name, facts in now["instruments"].items() if kept.get(name, facts) != facts]
    if other:
        yield Sentence("Other particulars of instruments: {what}.", what=listed(other))


def _how(name: str, text: str | None) -> object:
    if text is None:
        return Sentence("none")
    if name == "date":
        return day_of(text)
    return Figure(text) if name == "temperature" else _named(text) if name != "by" else text


def _verdicts(before: Facts, now: Facts) -> Iterable[Text]:
    """Verdicts that turned; what is measured for the first time and in order is drawn together."""
    turned: dict[Sentence, list[str]] = {}
    fresh: dict[str, None] = {}
    was = before.get("verdicts", {})
    for key, verdict in now["verdicts"].items():
        feature, name, position, place = key.split("|")
        old = was.get(key) or ("" if place else "not measured")
        if old in ("", verdict):
            continue
        title = title_of(before, now, "features", feature)
        if old == "not measured" and verdict not in ("beyond limit", "too close to call"):
            fresh[title] = None
            continue
        said = Sentence(
            "{feature}, {name}: {before}, now {now}",
            feature=title,
            name=Sentence(name.replace("_", " ")),
            before=Sentence(old),
            now=Sentence(verdict),
        )
        where = as_typed(position)
        if place:
            where = Sentence("{position} on {round}", position=where, round=_named(place))
        turned.setdefault(said, []).append(where)
    for words, positions in list(turned.items())[: 2 * MOST]:
        yield Sentence("{what} ({places}).", what=words, places=Several(positions))
    if len(turned) > 2 * MOST:
        yield Sentence("And {count} more verdicts.", count=len(turned) - 2 * MOST)
    if fresh:
        yield Sentence(
            "Measured now, and not beyond a limit: {what}.", what=listed(list(fresh), most=2 * MOST)
        )


def _limits(before: Facts, now: Facts) -> Iterable[Text]:
    was = before.get("limits", {})
    other: dict[str, str] = {}
    for key, limits in now["limits"].items():
        if key in was and was[key] != limits:
            feature, name, *_ = key.split("|")
            title = title_of(before, now, "features", feature)
            said = Sentence("{feature}, {name}", feature=title, name=Sentence(name.replace("_", " ")))
            other.setdefault(said, said)
    if other:
        yield Sentence("Other limits: {what}.", what=listed(list(other)))


def _chosen(before: Facts, now: Facts) -> Iterable[Text]:
    was = before.get("chosen", {})
    known = {key.split("|")[0] for key in was}
    told: list[str] = []
    for key, (answer, status) in now["chosen"].items():
        choice, position = key.split("|")
        if choice not in known or was.get(key) == [answer, status]:
            continue
        old = was.get(key, ["", ""])
        ends = (old[0], answer) if old[0] != answer else (Sentence(old[1]), Sentence(status))
        told.append(
            Sentence(
                "{what} {before}, now {now}",
                what=Several(
                    [one for one in (title_of(before, now, "choices", choice), position) if one], " "
                ),
                before=_end(ends[0]),
                now=_end(ends[1]),
            )
        )
    if told:
        yield Sentence("Chosen otherwise: {what}.", what=listed(told, joint="; "))


def _end(text: Text) -> Text:
    return text if isinstance(text, Sentence) else Figure(text) if text else Sentence("none")


# ------------------------------------------------------------------- findings, decisions, deviations


def _findings(before: Facts, now: Facts) -> Iterable[Text]:
    was = before.get("findings", {})
    for name, (typed, disposition, digest) in now["findings"].items():
        title = title_of(before, now, "findings", name)
        if name not in was:
            yield Sentence("Finding {name}, new: {title}.", name=name, title=title)
        elif was[name][0] != typed:
            yield Sentence("Finding {name} now says: {title}.", name=name, title=title)
        elif was[name][1] != disposition:
            yield Sentence(
                "Finding {name}, {title}: {before}, now {now}.",
                name=name,
                title=title,
                before=Sentence(was[name][1].replace("_", " ")),
                now=Sentence(disposition.replace("_", " ")),
            )
        elif was[name][2] != digest:
            yield Sentence("Finding {name}, {title}: worded anew.", name=name, title=title)
    for name in was:
        if name not in now["findings"]:
            gone = title_of(before, now, "findings", name)
            yield Sentence("Finding {name} taken back: {title}.", name=name, title=gone)


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


def _entries(
    words: tuple[str, str, str],
    told: Callable[[Facts, Facts, Facts], Text],
    before: Facts,
    now: Facts,
    kind: str,
) -> Iterable[Text]:
    was = before.get(kind, {})
    for name, facts in now[kind].items():
        if name not in was:
            yield Sentence(words[0], name=name, what=told(facts, before, now))
        elif was[name] != facts:
            yield Sentence(words[1], name=name, what=told(facts, before, now))
    for name, facts in was.items():
        if name not in now[kind]:
            yield Sentence(words[2], name=name, what=told(facts, before, now))


def _decision(one: Facts, before: Facts, now: Facts) -> Text:
    size = Figure(one["size"]) if one["size"] else ""
    done = [part for part in (Sentence(one["do"]), size, one["fit"], one["why"]) if part]
    return Sentence("{what}: {done}", what=_about(one, before, now), done=Several(done))


def _deviation(one: Facts, before: Facts, now: Facts) -> Text:
    limits = Several(
        [Figure(f"{end} {one[key]}") for end, key in (("min", "low"), ("max", "high")) if one[key]]
    )
    return Sentence(
        "{what}, {which} {limits}, signed by {by}",
        what=_about(one, before, now),
        which=Sentence(one["what"].replace("_", " ")),
        limits=limits,
        by=Sentence(one["signed"]),
    )


def _about(one: Facts, before: Facts, now: Facts) -> Text:
    title = title_of(before, now, "about", one["about"]) or title_of(before, now, "features", one["about"])
    return Several([title or titled(one["about"]), *one["positions"]], " ")
