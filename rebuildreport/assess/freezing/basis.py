"""What an issued document rests on, small and frozen: the record's facts, and none of the program's words.

The basis is plain data: keys, positions, part numbers, money, readings and
limits as typed with their units, verdicts, and a digest of each text that
people typed.  Two issues rest on the same exactly where the facts of their
bases are equal, however the program may have come to word them meanwhile;
``changes.py`` finds words for what differs.  Under ``said`` stand the words of
the day for whoever needs them later (a line that is gone, the mail); they are
not compared.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from msgspec.structs import asdict, astuple, replace

from ...quantities import Figure, Sentence, Several, Text, Typed, english, message
from ...records import JobFolder, ShopFolder
from ...records.files.issued import BASIS, ROWS
from ...records.text.reader import Source
from ..measure.observations import all_rounds
from ..model.assessment import Assessment, Characteristic
from ..model.prices import PAYABLE, PriceLine
from ..money.asking import asked_of_customer, asks_for_total

# what people typed and documents repeat: what it is called, the file, the keys in it; -key: but for that one
TYPED: dict[str, tuple[str, tuple[str, ...]]] = {
    "title": (message("the title"), ("job title",)),
    "complaint": (message("the complaint"), ("job arrival complaint",)),
    "application": (message("what the engine is out of"), ("job arrival application",)),
    "meter": (message("the meter"), ("job arrival meter", "job arrival meter_believed")),
    "arrival": (
        message("the record of arrival"),
        (
            "job arrival -complaint -application -meter -meter_believed -known_from -not_with -only",
            "job authority",
        ),
    ),
    "not_with": (message("what did not come with it"), ("job arrival not_with", "job arrival only")),
    "stays": (message("the stays in the shop"), ("job reopened -next_time",)),
    "found": (message("what was found, in short"), ("findings summary",)),
    "captions": (message("captions of the pictures"), ("findings photos",)),
    "did": (message("what was done or is advised, in short"), ("work summary",)),
    "needs": (message("what is needed from the customer"), ("work needs_from_customer",)),
    "options": (message("the ways to go on"), ("work options",)),
    "differences": (message("the reasons for differences"), ("work differences",)),
    "machining": (message("the machining orders"), ("work machining",)),
    "teardown": (message("the record of taking apart"), ("teardown -not_opened -not_inspected -marks",)),
    "not_opened": (message("what was not opened"), ("teardown not_opened", "teardown not_inspected")),
    "marks": (message("the reference marks"), ("teardown marks",)),
    "assembly": (message("the record of assembly"), ("assembly -hold_points",)),
    "hold_points": (message("the hold points"), ("assembly hold_points",)),
    "running": (
        message("the record of running"),
        ("running -next -due -follow_up -warranty -tables -temperature",),
    ),
    "next_steps": (message("what comes next"), ("running next", "running due")),
    "follow_up": (message("what was seen since delivery"), ("running follow_up",)),
    "warranty": (message("the warranty"), ("running warranty",)),
    "shop": (message("the shop's name"), ("shop name",)),
    "contact": (message("how to reach the shop"), ("shop contact",)),
    "notice": (message("the notice at the foot"), ("shop notice",)),
    "rule": (message("the decision rule"), ("shop decision_rule",)),
    "units": (message("which units come first"), ("shop first_unit", "shop second_unit")),
    "engine": (message("the engine's description"), ("engine maker", "engine model", "engine layout")),
}
# the sheet's own instructions count once somebody has built by them
BUILT: tuple[str, tuple[str, ...]] = (
    message("what the sheet asks for at assembly"),
    ("engine fasteners", "engine assemblies", "engine first_start"),
)
WORDS = {name: words for name, (words, _) in TYPED.items()} | {"build": BUILT[0]}


def basis(
    folder: ShopFolder,
    job: JobFolder,
    one: Assessment,
    photos: Mapping[str, str] | None = None,
    standing: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """What a document of this job rests on.

    ``photos`` are digests of the picture files by name, ``standing`` the shop's own standing texts.
    """
    cost = one.cost
    record = job.job
    assert record is not None
    found = {
        "form": BASIS,
        "job": one.job,
        "language": one.language,
        "stage": one.stage,
        "sheet": one.engine.name,
        "days": {
            name: day.isoformat()
            for name in ("opened", "promised", "ready", "delivered", "declined")
            if (day := getattr(record, name)) is not None
        },
        "back": [[_text(one.date), one.symptom, _text(one.delivered)] for one in record.reopened],
        "currency": cost.currency,
        "lines": [_line(line) for line in cost.lines],
        "net": _text(cost.net),
        "tax": _text(cost.tax),
        "total": _text(cost.total),
        "core_deposit": _text(cost.core_deposit),
        "cores": {
            core.part: [_text(core.amount), *map(_text, (core.return_by, core.returned, core.credited))]
            for core in cost.cores
        },
        "paid": [[_text(paid.date), _text(paid.amount), paid.how] for paid in cost.paid],
        "minimum": cost.minimum,
        "options": {way.id: [_text(way.total), _text(way.core_deposit)] for way in cost.options},
        "approvals": [
            _plain(approved, "date by how limit covers ready") | {"issue": approved.issue}
            for approved in cost.approvals
        ],
        "findings": _findings(job),
        "decisions": _decisions(job),
        "deviations": _deviations(job),
        "verdicts": [[*_place(c), c.verdict] for c in one.characteristics],
        "limits": [[*_place(c), _limits(c)] for c in one.characteristics if c.limits is not None],
        "chosen": [*_chosen(one)],
        "readings": [
            [table.round, table.name, position, " ".join(cells) + f" {table.unit}"]
            for table in one.tables
            for position, cells in table.rows.items()
        ],
        "rounds": [[*of, said] for of, said in _rounds(job, one).items()],
        "instruments": {
            used.name: _digest(_at(folder.source, ["instruments", used.name])) for used in one.instruments
        },
        "typed": _typed(folder, job, one),
        "photos": dict(photos or {}),
        **({"standing": {name: _digest(text) for name, text in standing.items()}} if standing else {}),
        "said": _said(one),
    }
    return dict(_in_english(found))


def _in_english(found: Any) -> Any:
    """The same with the words of its messages: what is frozen is read by later programs."""
    if isinstance(found, Text):
        return english(found)
    if isinstance(found, Mapping):
        return {name: _in_english(value) for name, value in found.items()}
    return [_in_english(value) for value in found] if isinstance(found, (list, tuple)) else found


def _said(one: Assessment) -> dict[str, Any]:
    """The words of the day: for the mail that carries it, and for what may be gone by the next issue."""
    titles = {feature.name: feature.title for feature in one.features}
    return {
        "title": one.title,
        "needs": list(asked_of_customer(one)),
        "asks_for_total": asks_for_total(one),
        "paid": one.stage in PAYABLE and not one.cost.minimum and not one.cost.due,
        "as_of": one.as_of.isoformat(),
        "features": titles,
        "tables": {table.name: titles[table.feature] for table in one.tables if table.feature in titles},
        "about": {made.about: made.about_title for made in one.decisions},
        "choices": {choice.name: choice.title for choice in one.choices},
        "lines": [[*astuple(line.key), line.name] for line in one.cost.lines],
        "options": {way.id: way.title for way in one.cost.options},
        "findings": {found.id: found.title for found in one.findings},
        "not_priced": list(one.cost.not_priced),
    }


def _line(line: PriceLine) -> dict[str, Any]:
    """A line without its name; of its reasons what people typed, and the records that it is for."""
    return _plain(line, "quantity unit each amount tax") | {
        **asdict(line.key),
        "for": [*line.findings, *line.decisions],  # the values are among the verdicts
        "why": [english(why) for why in line.because if not isinstance(why, (Sentence, Several, Figure))],
    }


def _plain(record: object, names: str) -> dict[str, Any]:
    """Some fields of a record as they are frozen: lists, and texts of all else."""
    found = {name: getattr(record, name) for name in names.split()}
    return {name: list(is_) if isinstance(is_, (list, tuple)) else _text(is_) for name, is_ in found.items()}


def _place(one: Characteristic) -> Iterable[str]:
    """What it is of; with its round where a later word stands in its place."""
    return astuple(replace(one.key, round="", table="") if one.stands else one.key)


def _limits(one: Characteristic) -> str:
    """'new 0.020 to 0.050, wear - to 0.080 mm': to the digits that any sheet types."""
    assert one.limits is not None
    ends = [
        f"{name} {' to '.join('-' if end is None else f'{end:.{one.limits.decimals}f}' for end in pair)}"
        for name, pair in (("new", one.limits.new), ("wear", one.limits.wear))
        if pair != (None, None)
    ]
    return f"{', '.join(ends)} {one.unit}".strip()


def _chosen(one: Assessment) -> Iterable[tuple[str, str, list[str]]]:
    """Parts and sizes by choice and position: what it came to, and how settled that is."""
    for choice in one.choices:
        if choice.on_paper:
            continue
        for place in choice.places:
            yield choice.name, place.position, [_fact(place.answer), place.status]
        step = next((step for step in choice.steps if step.chosen), None)
        if step is not None:
            yield choice.name, "", [_fact(step.name), choice.status]


def _fact(value: object) -> str:
    """A short answer; of one that the program worded, what it put into its words."""
    if isinstance(value, Sentence):
        return " ".join(map(_fact, value.values.values()))
    if isinstance(value, Several):
        return " ".join(map(_fact, value.items))
    return " ".join((english(value) if isinstance(value, (Typed, Figure, str)) else str(value)).split())


def _findings(job: JobFolder) -> dict[str, list[str]]:
    """Each finding: its title where one was typed, what becomes of the part, and a digest of the whole."""
    records = job.seen
    told = ("-title", "-disposition", "-failed")  # by themselves; the last in no document
    return {
        name: [
            one.title,
            one.disposition,
            _digest(_at(job.sources.get("findings"), ["findings", name, *told])),
        ]
        for name, one in records.items()
    }


def _decisions(job: JobFolder) -> dict[str, dict[str, Any]]:
    return {
        name: _plain(one, "about positions do why by date")
        | {
            "size": one.size or (str(one.remove) if one.remove else ""),
            "fit": ", ".join(f"{where} {'/'.join(what)}" for where, what in one.fit.items()),
        }
        for name, one in job.decisions.items()
    }


def _deviations(job: JobFolder) -> dict[str, dict[str, Any]]:
    return {
        name: _plain(one, "positions what why signed date")
        | {
            "about": one.feature,
            "low": str(one.accept.low) if one.accept.low else "",
            "high": str(one.accept.high) if one.accept.high else "",
        }
        for name, one in job.written_work.deviations.items()
    }


def _rounds(job: JobFolder, one: Assessment) -> dict[tuple[str, str, str], str]:
    """How it was measured: by round, table ('' for all of the round) and key."""
    found: dict[tuple[str, str, str], str] = {}
    for file in all_rounds(job):
        found[file.name, "", "date"] = file.model.date.isoformat()
        found[file.name, "", "by"] = file.model.by
        found[file.name, "", "temperature"] = str(file.model.temperature)
    for table in one.tables:
        for name in ("instrument", "set_from", "state", "temperature"):
            said = getattr(table, name)
            if said and said != found.get((table.round, "", name)):  # what holds for the round is said of it
                found[table.round, table.name, name] = said
    return found


def _typed(folder: ShopFolder, job: JobFolder, one: Assessment) -> dict[str, str]:
    """A digest of each text of the records; none of what nobody has written."""
    sheet = folder.engines.get(one.engine.name)
    sources = {**job.sources, "shop": folder.source, "engine": sheet.source if sheet else None}
    wanted = dict(TYPED)
    if job.assembly is not None:
        wanted["build"] = BUILT
    found = {}
    for name, (_, places) in wanted.items():
        texts = [_at(sources.get(file), keys) for file, *keys in map(str.split, places)]
        if any(text is not None for text in texts):
            found[name] = _digest(texts)
    return found


def _at(source: Source | None, keys: Sequence[str]) -> Any:
    """What stands at some keys as it was typed, without those that have a minus before them."""
    found = source.data if source is not None else None
    without = set()
    for key in keys:
        if key.startswith("-"):
            without.add(key[1:])
        else:
            found = found.get(key) if isinstance(found, dict) else None
    return _without(found, without) or None


def _without(found: Any, keys: set[str]) -> Any:
    if isinstance(found, dict):
        return {key: value for key, value in found.items() if key not in keys}
    return [_without(one, keys) for one in found] if isinstance(found, list) and keys else found


def _text(thing: object) -> str | None:
    return None if thing is None else str(thing)


def _digest(thing: Any) -> str:
    """Of what was typed, however its lines are broken."""
    data = json.dumps(_folded(thing), ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(data.encode()).hexdigest()[:16]


def _folded(thing: Any) -> Any:
    if isinstance(thing, dict):
        return {name: _folded(value) for name, value in thing.items()}
    if isinstance(thing, list):
        return [_folded(one) for one in thing]
    return " ".join(thing.split()) if isinstance(thing, str) else thing


def to_bytes(found: Mapping[str, Any]) -> bytes:
    """A basis as it is written: one line without its end, so that no editor or checkout changes a byte."""
    return json.dumps(found, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def comparable(before: Mapping[str, Any]) -> bool:
    """Whether a basis is in a form that can be held against one of now."""
    return before.get("form") == BASIS


def same(before: Mapping[str, Any], now: Mapping[str, Any]) -> bool:
    """Whether two documents rest on the same facts."""
    return to_bytes(_facts(before)) == to_bytes(_facts(now))


def _facts(found: Mapping[str, Any]) -> dict[str, Any]:
    facts = {name: value for name, value in found.items() if name != "said"}
    return facts | {name: sorted(map(list, facts[name])) for name in ROWS if name in facts}
