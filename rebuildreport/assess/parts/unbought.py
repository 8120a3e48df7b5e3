"""What is to be replaced and no line of the estimate buys: without it the total is a minimum."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from ...quantities import Sentence, Several, Text, Typed, message
from ...records import JobFolder
from ...records.files.sheet import Engine, FeatureRecord
from ..measure.state import parts_of, spots
from ..model.choice import Choice
from .needed import Need, own_places

CLASSED = ("pistons", "bushes", "shells")


def condemned(job: JobFolder) -> dict[str, list[tuple[str, Text]]]:
    """What a finding or a decision replaces, and by which: component, and the key and reason of each.

    What a later decision keeps or reworks is not bought for a finding.
    """
    found: dict[str, list[tuple[str, Text]]] = {}
    kept = {one.about for one in job.decisions.values() if one.do != "replace"}
    for name, finding in job.seen.items():
        if finding.disposition == "replace" and finding.component not in kept:
            found.setdefault(finding.component, []).append((name, Typed(finding.title or finding.seen[0])))
    for name, decision in job.decisions.items():
        if decision.do == "replace":
            found.setdefault(decision.about, []).append((name, Typed(decision.why)))
    return found


def to_be_bought(job: JobFolder, chosen: Collection[Choice]) -> list[Choice]:
    """The choices whose parts are on the list: settled ones, and provisional ones of what is replaced.

    Of what comes in classes and grades a decision says which, so its parts are on the list whatever the
    readings say.
    """
    gone = condemned(job)
    bought = []
    for choice in chosen:
        asked = choice.name in gone or bool(choice.decision)
        classed = choice.kind in CLASSED and choice.status == "decided otherwise"
        if choice.settled or classed or (choice.status == "provisional" and not choice.on_paper and asked):
            bought.append(choice)
    return bought


def half_bought(job: JobFolder, chosen: Collection[Choice]) -> Iterator[tuple[str, Text]]:
    """Name and wording of what somebody asked for and of which not every place knows what goes there.

    What is condemned and of which nothing is known yet is unbought as a whole; of an engine that went
    together, what was not chosen by us was chosen otherwise.
    """
    if job.record.ready or job.record.delivered:
        return
    gone, bought = condemned(job), to_be_bought(job, chosen)
    for choice in chosen:
        wanted = choice in bought if choice.name in gone else choice.decision
        if wanted and choice.lacking and not choice.on_paper:
            words = message("{what} {where}: not settled yet")
            yield choice.name, Sentence(words, what=choice.title, where=Several(choice.lacking))


def unbought(
    engine: Engine, job: JobFolder, needs: Collection[Need]
) -> Iterator[tuple[str, str, Text, list[str]]]:
    """Component, ground, reason and places (none: all) of what is replaced and no line buys."""
    listed = {need.part for need in needs}
    grounds = {ground for need in needs for ground in need.grounds}
    paid = _paid_for(job)
    told: set[str] = set()
    gone = _by_one_name(engine, condemned(job))
    for component, why in gone.items():
        own = {component, open_set(component), *parts_of(engine, component)}
        named = {name for name, _ in why}
        bought = bool(own & listed or grounds & named or paid & _beside(engine, component))
        if not (bought or _supplied(engine, job, component, named) or _taken(engine, job, component)):
            told.add(component)
            yield component, *why[0], _places(job, [name for name, _ in why])
    for piston, bores, name in _bored_for(engine, job):
        own = {*parts_of(engine, piston), *engine.features[bores].sets.values()}
        mine = [need for need in needs if need.part in own]
        bought = any(name in line.for_ for line in job.written_work.parts)
        bought = bought or _everywhere(engine, mine, piston, job.decisions[name].positions)
        if piston not in told and not (bought or _supplied(engine, job, piston, {name})):
            yield piston, name, Typed(job.decisions[name].why), list(job.decisions[name].positions)


def _places(job: JobFolder, names: Sequence[str]) -> list[str]:
    """Where findings and decisions replace something; none: everywhere, as one of them says no place."""
    where = [(job.seen.get(name) or job.decisions[name]).positions for name in names]
    return list(dict.fromkeys(spot for places in where for spot in places)) if all(where) else []


def bored_for_nothing(engine: Engine, job: JobFolder, needs: Collection[Need]) -> Iterator[tuple[str, str]]:
    """Bores that are made another size, and by which decision, while nobody has written what runs in them."""
    listed = {need.part for need in needs}
    runs = ("outer", "housing")  # rings alone name `bores:`, and are no piston
    joined = {name for sheet in engine.features.values() for name in sheet.links(runs).values()}
    for name, decision in job.decisions.items():
        sheet = engine.features.get(decision.about)
        if sheet is None or sheet.kind != "bore" or decision.about in joined:
            continue
        beside = {one.part for one in job.written_work.sublet if name in one.for_} - {
            decision.about,
            sheet.part,
        }
        typed = any(name in line.for_ for line in job.written_work.parts)
        bought = typed or beside or parts_of(engine, decision.about) & listed
        if decision.do == "recondition" and decision.size and not bought:
            yield decision.about, name


def open_set(feature: str) -> str:
    """The need of a set whose size is not decided, or not on the sheet."""
    return f"{feature} set"


def _by_one_name(
    engine: Engine, gone: dict[str, list[tuple[str, Text]]]
) -> dict[str, list[tuple[str, Text]]]:
    """A part and a feature of it are two names for one thing to buy: it stands under the feature."""
    for part in [name for name in gone if name not in engine.features]:
        same = [name for name in gone if name in engine.features and engine.features[name].part == part]
        if same:
            gone[same[0]] += gone.pop(part)
    return gone


def _taken(engine: Engine, job: JobFolder, component: str) -> bool:
    """Whether candidates take all its places."""
    candidates = [one for one in job.decisions.values() if one.with_]
    taken = {spot for one in candidates for spot in spots(engine, one.about, one.positions)}
    places = spots(engine, component, [])
    return bool(places) and taken >= {*places}


def _bored_for(engine: Engine, job: JobFolder) -> Iterator[tuple[str, str, str]]:
    """What runs in bores that are bored to another size, the bores, and the decision: no old piston fits."""
    fits = [fit for fit in engine.of_kind("fit").values() if fit.outer and fit.inner]
    for name, decision in job.decisions.items():
        for fit in fits if decision.do == "recondition" and decision.size else ():
            if decision.about in (fit.outer, engine.features[fit.outer].part):
                yield fit.inner, fit.outer, name


def _everywhere(engine: Engine, needs: Sequence[Need], feature: str, positions: Sequence[str]) -> bool:
    """Whether what is bought of a feature reaches each of the places, or all that there are."""
    places = {place for need in needs for place in need.positions}
    by_number = any(
        need.whole or need.count or need.always or need.renewed or engine.parts[need.part].per == "engine"
        for need in needs
        if need.part in engine.parts
    )
    return bool(needs) and (by_number or places >= {*(positions or own_places(engine, feature))})


def _paid_for(job: JobFolder) -> set[str]:
    """Components whose finding or decision a line of parts is written for."""
    about = {name: one.component for name, one in job.seen.items()}
    about |= {name: one.about for name, one in job.decisions.items()}
    return {about[name] for line in job.written_work.parts for name in line.for_ if name in about}


def _supplied(engine: Engine, job: JobFolder, component: str, grounds: set[str]) -> bool:
    """Whether work by others is written for it that brings it: another crank, guides that they fit.

    Work on its neighbour brings nothing: a rebore buys no pistons.
    """
    sublets = [one for one in job.written_work.sublet if grounds & set(one.for_)]
    sheet = engine.features.get(component)
    return any(one.part in (component, sheet and sheet.part) for one in sublets)


def no_line(title: Text, component: str, ground: str, sheet: FeatureRecord | None) -> Text:
    """What to write, and where, so that a line buys it."""
    words = message(
        "{what}: to be replaced, and no line of the estimate buys it; write the part under 'parts:' in "
        "work.yaml with 'for: {ground}'"
    )
    if sheet is None:
        return Sentence(words, what=title, ground=ground)
    shells = sheet.kind == "shells"
    words = message(
        "{what}: to be replaced, and no line of the estimate buys it; write '{key}' for {component} in the "
        "engine's sheet, or the part under 'parts:' in work.yaml with 'for: {ground}'"
    )
    if sheet.sets if shells else sheet.replace_with:  # nobody has said that all of them are replaced
        words = message(
            "{what}: to be replaced, and no line of the estimate buys it; decide 'replace' about {component} "
            "in work.yaml, or write the part under 'parts:' in work.yaml with 'for: {ground}'"
        )
    key = "sets:" if shells else "replace_with:"
    return Sentence(words, what=title, key=key, component=component, ground=ground)


def _beside(engine: Engine, component: str) -> set[str]:
    """A feature, those of the same part, and those that a fit joins with them: skirts, masses and bores."""
    sheet = engine.features.get(component)
    part = sheet.part if sheet else component
    found = {component} | {name for name, one in engine.features.items() if part and one.part == part}
    for one in engine.features.values():
        joined = {one.outer, one.inner, one.journal, one.shells, one.housing} - {""}
        found |= joined if component in joined else set()
    return found
