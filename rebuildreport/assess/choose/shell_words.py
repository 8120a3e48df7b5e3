"""The choice of shells in words, its parts, and the decision that was made of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from ...quantities import Figure, Sentence, Several, Text, amid, present
from ...trade.choosing import shells
from ...trade.choosing.selection import Plan, SelectionOption, Supply, most_places
from ...trade.choosing.shells import Pair
from ...trade.engine.bearings import UPPER_LOWER
from ..measure.timeline import sized
from ..measure.titles import feature_title
from ..model.choice import Buy, Candidate, Choice, Place, Status
from ..telling.questions import span
from .workbench import Workbench, one

if TYPE_CHECKING:
    from .shell_choice import Bearing, _Chooser

CLOSE = 0.005  # mm over all bearings: a runner-up nearer than this is told of


def answer(
    made: list[Place], bearings: list[Bearing], sets: Mapping[str, str], two: tuple[str, ...] = UPPER_LOWER
) -> Text:
    """'S2 at M1, M3; S3 upper with S4 lower at M5'."""
    groups: dict[str, list[str]] = {}
    for place in made:
        if place.answer:
            groups.setdefault(_words(place.answer, two), []).append(place.position)
    said: list[str] = [
        Sentence("{what} at {places}", what=what, places=span(where)) for what, where in groups.items()
    ]
    sizes = {bearing.family for bearing in bearings if bearing.pairs}
    numbers = [sets[size or "standard"] for size in sizes if (size or "standard") in sets]
    if len(sizes) == 1 and numbers:
        return Sentence("Set {number}", number=numbers[0])
    return present(said) if said else Sentence("Nothing can be chosen yet")


def _words(pair: Text, two: tuple[str, ...] = UPPER_LOWER) -> Text:
    upper, stroke, lower = pair.partition("/")
    return (
        upper
        if not stroke or upper == lower
        else Sentence(
            "{first} {here} with {second} {there}",
            first=upper,
            here=Sentence(two[0]),
            second=lower,
            there=Sentence(two[1]),
        )
    )


def why(of: _Chooser, made: list[Place], status: Status) -> Text:
    """What the choice rests on, in a sentence or two."""
    known = [place for place in made if place.middle is not None]
    if not known:
        return ""
    bench = of.bench
    low = min(place.low or 0.0 for place in known)
    high = max(place.high or 0.0 for place in known)
    said = [
        Sentence(
            "Predicted clearance {low} to {high} over all bearings measured; aimed at {target}.",
            low=one(bench, low),
            high=one(bench, high),
            target=one(bench, of.target),
        )
    ]
    if alone := _clearance_alone(of, made):
        words = (
            "{places}: the clearance alone is beyond its limit, and these shells take it up; the journal may "
            "stay."
        )
        said.append(Sentence(words, places=span(alone)))
    differ = [place for place in made if place.agree is False]
    if differ:
        wrong = [place for place in differ if place.if_by_code is not None]
        where = span([place.position for place in differ])
        would = present(
            [
                Sentence("{clearance} at {place}", clearance=one(bench, p.if_by_code), place=p.position)
                for p in wrong
                if p.if_by_code is not None
            ],
            ", ",
        )
        words = "The codes call for another grade at {places}: what was measured governs."
        if would:
            words = (
                "The codes call for another grade at {places} (it would give {clearances}): what was "
                "measured "
                "governs."
            )
        said.append(Sentence(words, places=where, clearances=would))
    void = {place.void for place in made if place.void}
    if void:
        said.append(Sentence("The codes tell nothing any more: {why}.", why=Several(sorted(void))))
    return present(said, " ")


def _clearance_alone(of: _Chooser, made: list[Place]) -> list[str]:
    """Bearings that are beyond their limit now, by a journal that would do, and that these shells mend."""
    beyond = {
        c.position
        for c in of.bench.found
        if c.feature == of.name and c.stands and c.again and c.verdict == "beyond limit" and c.end != "low"
    }
    return (
        [p.position for p in made if p.position in beyond and p.middle is not None]
        if not of.bench.on_paper
        else []
    )


def alternative(
    of: _Chooser, plan: Plan | None, second: Plan | None, places: Mapping[str, list[SelectionOption]]
) -> Text:
    """The runner-up over all bearings, where it is close."""
    if plan is None or second is None:
        return ""
    farther = round((second.off - plan.off) * shells.STEP, 6)
    if farther > CLOSE:
        return ""
    changes = []
    for position in places:
        before, after = (p.chosen[position] for p in (plan, second))
        if before == after:
            continue
        names = [
            "/".join(part.rpartition(" ")[2] for part in places[position][index].parts)
            for index in (before, after)
        ]
        if sorted(names[0].split("/")) != sorted(names[1].split("/")):
            changes.append(Sentence("{what} at {places}", what=_words(names[1], of.two), places=position))
    if not changes:
        return ""
    much = (
        Sentence("{farther} farther from the target in all", farther=one(of.bench, farther, 4))
        if farther
        else _dearer(of, plan, second)
    )
    return Sentence("{changes}: {much}", changes=present(changes), much=much)


def _dearer(of: _Chooser, plan: Plan, second: Plan) -> str:
    """Why the other of two plans that are as near was taken: parts to order, money, halves alike."""
    near = "as near to the target"
    if len(second.packs) != len(plan.packs):
        return f"{near}, and {len(second.packs)} different parts to order instead of {len(plan.packs)}"
    if second.cost != plan.cost:
        return f"{near}, and dearer to order"
    if not of.priced:
        return f"{near}; a price is missing, so money did not decide"
    return f"{near}, with unlike halves at more bearings" if second.mixed != plan.mixed else near


def buys(
    of: _Chooser,
    plan: Plan | None,
    places: Mapping[str, list[SelectionOption]],
    supplies: Mapping[str, Supply],
) -> tuple[Buy, ...]:
    """The halves of a plan by grade; a set once."""
    if plan is None:
        return ()
    used: Counter[str] = Counter()
    where: dict[str, list[str]] = {}
    for position, index in plan.chosen.items():
        for part in places[position][index].parts:
            used[part] += 1
            where.setdefault(part, []).append(position)
    found: dict[tuple[str, str], Buy] = {}
    for part in sorted(used):
        half, _, grade = part.partition(" ")
        number = of.number(half, grade)
        if number and number in of.sheet.sets.values():
            shelf = min(1, of.bench.supply(of.shells, "count", grade, number).shelf)
            found[number, ""] = Buy(number, grade, 1, shelf, tuple(plan.chosen))
            continue
        shelf = min(used[part], supplies.get(part, Supply()).shelf)
        pack = of.bench.pack(number)
        what = Several([Sentence(half), grade] if grade else [Sentence(half)], " ")
        found[number, part] = Buy(number, what, used[part], shelf, tuple(where[part]), pack)
    return tuple(found.values())


def decided(bench: Workbench, choice: Choice, decision: str) -> Choice:
    """The choice beside what a person decided of it."""
    if not decision or bench.on_paper:
        return choice
    work = bench.job.work
    fit = work.decisions[decision].fit if work else {}
    if not fit:
        # shells that come as a set follow from the size that was decided
        by_set = choice.status == "chosen" and work is not None and bool(work.decisions[decision].size)
        return replace(choice, decision=decision, status="decided" if by_set else choice.status)
    other = []
    places = []
    for place in choice.places:
        names = fit.get(place.position)
        taken = "/".join(names) if names else ""
        if taken and place.answer and taken != place.answer:
            other.append(place.position)
            note = present(filter(None, [Sentence("decided: {taken}", taken=taken), place.note]))
            place = replace(place, note=note)
        places.append(place)
    whole = all(place.position in fit for place in choice.places)
    status = choice.status
    if choice.status in ("chosen", "provisional", "none fits") and whole:
        status = "decided otherwise" if other else "decided"
    return replace(choice, places=tuple(places), status=status, decision=decision)


def impossible(of: _Chooser, bearing: Bearing) -> Text:
    """Why nothing fits a bearing, in words, and what would help."""
    assert bearing.room is not None
    title = f"{feature_title(of.engine, of.name)} {bearing.position}"
    number = of.sheet.sets.get(bearing.family or "standard", "")
    if not bearing.grades:
        return Sentence("{title}: no shells for {size} on the sheet", title=title, size=sized(bearing.size))
    low, high = of.limits_at(bearing)
    tried = of.tried(bearing.room, bearing.grades, (low, high))
    thick = min(tried, key=lambda pair: pair.mean)
    thin = max(tried, key=lambda pair: pair.mean)
    lower = of.engine.features[of.journal].undersizes
    if high is not None and thick.fitness == "too large":
        help_ = (
            Sentence("grind to the next size ({lower}) or replace", lower=lower)
            if lower
            else Sentence("grind, or replace the crank")
        )
        if of.housing_out(bearing.position):
            help_ = Sentence("its housing is beyond its own limit: size that, or replace it")
        words = "{title}: even the thickest pair ({number}) leaves {largest}; limit {high}: {help}"
        if of.bush:
            words = "{title}: even the thickest bush ({number}) leaves {largest}; limit {high}: {help}"
        return Sentence(
            words,
            title=title,
            number=number or thick.name,
            largest=one(of.bench, thick.largest),
            high=one(of.bench, high),
            help=help_,
        )
    if low is not None and thin.fitness == "too tight":
        words = (
            "{title}: even the thinnest pair ({number}) leaves {smallest}; limit {low}: measure "
            "again, then polish the journal or size the housing"
        )
        if of.bush:
            words = (
                "{title}: even the thinnest bush ({number}) leaves {smallest}; limit {low}: measure "
                "again, then polish the journal or ream the bush"
            )
        return Sentence(
            words,
            title=title,
            number=number or thin.name,
            smallest=one(of.bench, thin.smallest),
            low=one(of.bench, low),
        )
    near = min(tried, key=lambda pair: pair.off(of.target))
    return Sentence(
        "{title}: {number} would give {smallest} to {largest}, too near its limit to be sure: "
        "measure more closely",
        title=title,
        number=number or near.name,
        smallest=one(of.bench, near.smallest),
        largest=one(of.bench, near.largest),
    )


def short(places: Mapping[str, list[SelectionOption]], supplies: Mapping[str, Supply]) -> list[str]:
    short, empty = most_places(places, supplies)
    lacking = [
        Sentence("{count} more {part}", count=count, part=part) if supplies[part].shelf else f"{count} {part}"
        for part, count in sorted(short.items())
    ]
    words = "{places}: what would fit is not to be had for all bearings at once"
    if lacking:
        words = (
            "{places}: what would fit is not to be had for all bearings at once: {lacking} wanted, and none "
            "can be ordered"
        )
    return [Sentence(words, places=span(empty), lacking=Several(lacking))]


def why_unlike(
    of: _Chooser, bearing: Bearing, codes: Place, pair: Pair, supplies: Mapping[str, Supply]
) -> Text:
    """Why it is not the grade that the table gives for the measured sizes."""
    grade = codes.by_measurement
    named = shells.halves_of_cell(grade)
    if not grade or (pair.upper, pair.lower) == named:
        return ""
    whole = of.bush or "/" in grade  # it says which half by itself
    alike = next((p for p in bearing.pairs if (p.upper, p.lower) == named), None)
    if alike is None:
        words = "{grade} at both halves would not surely stay inside the limits"
        return Sentence("{grade} would not surely stay inside the limits" if whole else words, grade=grade)
    lacking = [
        part
        for part in shells.option(alike, of.target, of.two).parts
        if not (supply := supplies.get(part, Supply())).order and not supply.shelf
    ]
    mean_ = one(of.bench, alike.mean)
    words = "{grade} at both halves would give {mean} on average"
    if whole:
        words = "{grade} would give {mean} on average"
    elif alike.off(of.target) > pair.off(of.target):
        words = "{grade} at both halves would give {mean} on average, farther from the target"
    said = Sentence(words, grade=grade, mean=mean_)
    return present([said, *(Sentence("no {part} is to be had", part=part) for part in lacking)])


def families(of: _Chooser, condemned: list[str]) -> tuple[Candidate, ...]:
    """Where the size after grinding is unknown: every kind of shell that it may come to."""
    if not condemned:
        return ()
    standard = Sentence("graded standard") if of.sheet.grades else of.sheet.sets.get("standard", "standard")
    found = [Candidate(standard, note=Sentence("if the journals polish out"))]
    found += [Candidate(other, note=one.for_) for other, one in of.sheet.other.items()]
    found += [
        Candidate(part, note=Sentence("{amount} undersize", amount=Figure(size)))
        for size, part in of.sheet.sets.items()
        if size != "standard"
    ]
    return tuple(found)


def awaited(note: Text) -> Text:
    """What a bearing waits for, without the word that its codes were all there was to go by."""
    if isinstance(note, Sentence) and "why" in note.values:
        why = note.values["why"]
        return why if isinstance(why, str) else str(why)
    return note


def unsettled(of: _Chooser, bearing: Bearing, place: Place) -> Place:
    """A bearing that nothing could be chosen for yet."""
    if bearing.room and of.waits(bearing):
        return _ordered(of, bearing, place)
    if bearing.room:
        return replace(place, status="none fits")
    if bearing.condemned:
        note = Sentence("journal beyond its limit: its size after grinding decides")
        return replace(place, status="provisional", note=note)
    missing = [
        amid(feature_title(of.engine, feature))
        for feature in (of.housing, of.journal)
        if bearing.position not in of.readings.get(feature, {})
    ]
    note = Sentence("measured in planes that do not pair up")
    if missing:
        note = Sentence("not measured: {what}", what=Several(missing))
    if place.by_code:
        note = Sentence("by its codes alone, {why}", why=note)
        return replace(place, status="provisional", answer=place.by_code, note=note)
    return replace(place, note=note)


def _ordered(of: _Chooser, bearing: Bearing, place: Place) -> Place:
    """A journal as ordered, for which what fits in the middle of its band may not fit at its ends."""
    assert bearing.room is not None
    tried = of.tried(bearing.room, bearing.grades, of.limits_at(bearing))
    near, *others = sorted(tried, key=lambda pair: (pair.off(of.target), pair.name))
    note = Sentence(
        "{why}: {name} would give {mean} in the middle of its band, and at its ends may be too near a limit; "
        "its size after grinding decides",
        why=bearing.partly,
        name=of.sheet.sets.get(bearing.family, near.name),
        mean=one(of.bench, near.mean),
    )
    return replace(
        place,
        status="provisional",
        answer=of.sheet.sets.get(bearing.family, near.name),
        candidates=tuple(
            Candidate(p.name, p.smallest, p.largest, p.mean, p.fitness) for p in [near, *others[:4]]
        ),
        note=note,
    )
