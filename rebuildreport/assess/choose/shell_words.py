"""The choice of shells as it is told: what, why, what else there was, and why nothing fits.

In: bearings laid out, the plan for them, and the places made of it.  Out: messages.
Must not know: how a plan is found.  Decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from ...quantities import NOTHING, Figure, Sentence, Several, Text, Typed, amid, message, present
from ...records.files.sizes import STANDARD
from ...trade.choosing import shells
from ...trade.choosing.selection import Plan
from ...trade.choosing.shells import Pair
from ...trade.engine.bearings import UPPER_LOWER
from ..measure.timeline import sized
from ..measure.titles import feature_title, span
from ..model.choice import Candidate, Place
from .bearing_sets import Awaited, Bearing, BearingSet
from .shell_plans import ShellPlan, told
from .workbench import length, lengths

# mm over all bearings: a runner-up nearer than this is told of (rule of this project)
CLOSE = 0.005
MEASURED_GOVERNS = message("The codes call for another grade at {places}: what was measured governs.")


def answer(laid: BearingSet, made: Sequence[Place], bearings: Sequence[Bearing]) -> Text:
    """'S2 at M1, M3; S3 upper with S4 lower at M5'."""
    families = {bearing.family or STANDARD for bearing in bearings if bearing.pairs}
    if len(families) == 1 and (number := laid.sheet.sets.get(*families)):
        return Sentence("Set {number}", number=number)
    groups: dict[tuple[str, ...], list[str]] = {}
    for place in made:
        if place.answer:
            groups.setdefault(place.grades or (place.part,), []).append(place.position)
    said = [
        Sentence("{what} at {places}", what=halves_text(grades, laid.two), places=span(where))
        for grades, where in groups.items()
    ]
    return present(said) or Sentence("Nothing can be chosen yet")


def halves_text(grades: Sequence[str], two: Sequence[str] = UPPER_LOWER) -> Text:
    """'S2', or 'S3 upper with S4 lower'."""
    if len(set(grades)) == 1:
        return Typed(grades[0])
    words = message("{first} {here} with {second} {there}")
    here, there = map(Sentence, two)
    return Sentence(words, first=grades[0], here=here, second=grades[1], there=there)


def awaited_text(laid: BearingSet, awaited: Awaited) -> Text:
    """What a bearing waits for."""
    if awaited.what == "journal as machined":
        return Sentence("journal as ordered, not as measured")
    if awaited.what == "journal readings":
        words = message("{count} of {wanted} journal readings")
        return Sentence(words, count=awaited.count, wanted=awaited.wanted)
    if awaited.what == "housing readings":
        return Sentence("housing not read at {places}", places=Several(awaited.names))
    if awaited.what == "same planes":
        return Sentence("measured in planes that do not pair up")
    unread = [amid(feature_title(laid.bench.engine, name)) for name in awaited.names]
    return Sentence("not measured: {what}", what=Several(unread))


def ordered_note(laid: BearingSet, bearing: Bearing, near: Pair) -> Text:
    """Said of a journal as ordered, for which what fits in the middle of its band may not at its ends."""
    assert bearing.awaited is not None
    return Sentence(
        "{why}: {name} would give {mean} in the middle of its band, and at its ends may be too near a limit; "
        "its size after grinding decides",
        why=awaited_text(laid, bearing.awaited),
        name=laid.set_of(bearing) or near.name,
        mean=length(laid.bench, near.mean),
    )


def decides(laid: BearingSet, made: Sequence[Place], bearings: Sequence[Bearing]) -> list[Text]:
    """What has to be known before the choice is settled, each reason with its places."""
    said: list[Text] = []
    if condemned := [bearing.position for bearing in bearings if bearing.condemned]:
        title = amid(feature_title(laid.bench.engine, laid.journal))
        words = message("the size of the {what} after grinding ({places})")
        said.append(Sentence(words, what=title, places=span(condemned)))
    waiting: dict[Awaited, list[str]] = {}
    for place, bearing in zip(made, bearings, strict=True):
        open_ = place.status in ("provisional", "nothing known")
        if open_ and bearing.awaited and not bearing.condemned:
            waiting.setdefault(bearing.awaited, []).append(place.position)
    for awaited, where in waiting.items():
        why = awaited_text(laid, awaited)
        said.append(Sentence("{places}: {why}", places=span(where), why=why))
    return said


def why(laid: BearingSet, made: Sequence[Place]) -> Text:
    """What the choice rests on, in a sentence or two."""
    known = [place for place in made if place.middle is not None]
    if not known:
        return NOTHING
    words = message("Predicted clearance {reach} over all bearings measured; aimed at {target}.")
    where: dict[str, Text] = {}
    if any(place.status == "none fits" for place in made):  # which have a clearance of their own
        where = {"places": span([place.position for place in known])}
        words = message("Predicted clearance {reach} at {places}; aimed at {target}.")
    reach = lengths(
        laid.bench, min(place.low or 0.0 for place in known), max(place.high or 0.0 for place in known)
    )
    said: list[Text] = [Sentence(words, **where, reach=reach, target=length(laid.bench, laid.target))]
    said += _taken_up(laid, known)
    said += _differing(laid, [place for place in made if place.agree is False])
    if voids := dict.fromkeys(place.void for place in made if place.void):
        said.append(Sentence("The codes tell nothing any more: {why}.", why=Several(voids)))
    return present(said, " ")


def _taken_up(laid: BearingSet, known: Sequence[Place]) -> list[Text]:
    """What is beyond its limit now, by a journal that would do."""
    worn = [] if laid.bench.on_paper else laid.bench.beyond(laid.name)
    beyond = {c.position for c in worn if c.again and c.end != "low"}
    alone = [place.position for place in known if place.position in beyond]
    words = message(
        "{places}: the clearance alone is beyond its limit, and these shells take it up; the journal may "
        "stay."
    )
    return [Sentence(words, places=span(alone))] if alone else []


def _differing(laid: BearingSet, differ: Sequence[Place]) -> list[Text]:
    """Where the codes call for another grade, and what clearance that would give."""
    if not differ:
        return []
    where = span([place.position for place in differ])
    would = [
        Sentence("{clearance} at {place}", clearance=length(laid.bench, clearance), place=place.position)
        for place in differ
        if (clearance := place.if_by_code) is not None
    ]
    if not would:
        return [Sentence(MEASURED_GOVERNS, places=where)]
    words = message(
        "The codes call for another grade at {places} (it would give {clearances}): what was measured "
        "governs."
    )
    return [Sentence(words, places=where, clearances=present(would, ", "))]


def alternative(plan: ShellPlan) -> Text:
    """The runner-up over all bearings, where it is close."""
    if plan.best is None or plan.second is None:
        return NOTHING
    farther = round((plan.second.off - plan.best.off) * shells.STEP, 6)
    if farther > CLOSE:
        return NOTHING
    changes = []
    best, second = plan.fitted(plan.best), plan.fitted(plan.second)
    for position in plan.options:
        before, after = ([half.grade for half in fitted[position]] for fitted in (best, second))
        if sorted(before) != sorted(after):  # the same halves the other way round are no other choice
            what = halves_text(after, plan.laid.two)
            changes.append(Sentence("{what} at {places}", what=what, places=position))
    if not changes:
        return NOTHING
    much = _dearer(plan, plan.best, plan.second)
    if farther:
        words = message("{farther} farther from the target in all")
        much = Sentence(words, farther=length(plan.laid.bench, farther, 4))
    return Sentence("{changes}: {much}", changes=present(changes), much=much)


def _dearer(plan: ShellPlan, best: Plan, second: Plan) -> Text:
    """Why the other of two plans that are as near was taken: parts to order, money, halves alike."""
    if len(second.packs) != len(best.packs):
        words = message("as near to the target, and {count} different parts to order instead of {fewer}")
        return Sentence(words, count=len(second.packs), fewer=len(best.packs))
    if second.cost != best.cost:
        return Sentence("as near to the target, and dearer to order")
    if not plan.priced:
        return Sentence("as near to the target; a price is missing, so money did not decide")
    if second.mixed != best.mixed:
        return Sentence("as near to the target, with unlike halves at more bearings")
    return Sentence("as near to the target")


# of whole bushes or not, what even the thickest or thinnest would do, and what helps
NOTHING_FITS = {
    (False, "too large"): message(
        "{title}: even the thickest pair ({number}) leaves {largest}; limit {high}: {help}"
    ),
    (True, "too large"): message(
        "{title}: even the thickest bush ({number}) leaves {largest}; limit {high}: {help}"
    ),
    (False, "too tight"): message(
        "{title}: even the thinnest pair ({number}) leaves {smallest}; limit {low}: measure again, then "
        "polish the journal or size the housing"
    ),
    (True, "too tight"): message(
        "{title}: even the thinnest bush ({number}) leaves {smallest}; limit {low}: measure again, then "
        "polish the journal or ream the bush"
    ),
}


def impossible(laid: BearingSet, bearing: Bearing) -> Text:
    """Why nothing fits a bearing, in words, and what would help."""
    title = feature_title(laid.bench.engine, laid.name)
    place = Sentence("{feature} {position}", feature=title, position=bearing.position)
    tried = sorted(laid.tried_at(bearing), key=lambda pair: pair.mean)
    if not tried:
        return Sentence("{title}: no shells for {size} on the sheet", title=place, size=sized(bearing.size))
    thickest, thinnest = tried[0], tried[-1]
    words = message(
        "{title}: {number} would give {reach}, too near its limit to be sure: measure more closely"
    )
    pair = min(tried, key=lambda pair: pair.off(laid.target))
    if {one.fitness for one in tried} == {"too tight", "too large"}:
        return _between(laid, place, tried)
    if thickest.fitness == "too large":
        words, pair = NOTHING_FITS[laid.bush, "too large"], thickest
    elif thinnest.fitness == "too tight":
        words, pair = NOTHING_FITS[laid.bush, "too tight"], thinnest
    low, high = laid.limits_at(bearing)
    return Sentence(
        words,
        title=place,
        number=laid.set_of(bearing) or pair.name,
        reach=lengths(laid.bench, pair.smallest, pair.largest),
        smallest=length(laid.bench, pair.smallest),
        largest=length(laid.bench, pair.largest),
        low=length(laid.bench, low or 0.0),
        high=length(laid.bench, high or 0.0),
        help=_too_large(laid, bearing),
    )


def _between(laid: BearingSet, place: Text, tried: Sequence[Pair]) -> Text:
    """Said where one is too tight and the next one up too large."""
    tight = max((one for one in tried if one.fitness == "too tight"), key=lambda one: one.mean)
    loose = min((one for one in tried if one.fitness == "too large"), key=lambda one: one.mean)
    words = message(
        "{title}: nothing lies between {tight}, which leaves {least}, too tight, and {loose} with {most}, "
        "too large: size the housing or the journal"
    )
    return Sentence(
        words,
        title=place,
        tight=tight.name,
        least=length(laid.bench, tight.smallest),
        loose=loose.name,
        most=length(laid.bench, loose.largest),
    )


def _too_large(laid: BearingSet, bearing: Bearing) -> Text:
    """What would help where even the thickest shells leave too much."""
    if laid.housing_out(bearing.position):
        return Sentence("its housing is beyond its own limit: size that, or replace it")
    return Sentence("grind, or replace the crank")


def short(plan: ShellPlan) -> Text:
    """Said where what fits each bearing is not to be had for all of them at once."""
    lacking, empty = [], plan.without
    for half, count in sorted(plan.short.items()):
        words = message("{count} more {part}" if plan.supplies[half].shelf else "{count} {part}")
        lacking.append(Sentence(words, count=count, part=told(half)))
    if not lacking:
        words = message("{places}: what would fit is not to be had for all bearings at once")
        return Sentence(words, places=span(empty))
    words = message(
        "{places}: what would fit is not to be had for all bearings at once: {lacking} wanted, and none "
        "can be ordered"
    )
    return Sentence(words, places=span(empty), lacking=Several(lacking))


def why_unlike(plan: ShellPlan, bearing: Bearing, grade: str, pair: Pair) -> Text:
    """Why it is not the ``grade`` that the table gives for the measured sizes."""
    laid = plan.laid
    named = shells.halves_of_cell(grade)
    if not grade or (pair.upper, pair.lower) == named:
        return NOTHING
    whole = laid.bush or len(set(named)) > 1  # it says which half by itself
    alike = next((p for p in bearing.pairs if (p.upper, p.lower) == named), None)
    if alike is None:
        words = message("{grade} would not surely stay inside the limits")
        if not whole:
            words = message("{grade} at both halves would not surely stay inside the limits")
        return Sentence(words, grade=grade)
    words = message("{grade} at both halves would give {mean} on average")
    if whole:
        words = message("{grade} would give {mean} on average")
    elif alike.off(laid.target) > pair.off(laid.target):
        words = message("{grade} at both halves would give {mean} on average, farther from the target")
    lacking = [Sentence("no {part} is to be had", part=told(half)) for half in plan.lacking(alike, bearing)]
    return present([Sentence(words, grade=grade, mean=length(laid.bench, alike.mean)), *lacking])


def families(laid: BearingSet) -> tuple[Candidate, ...]:
    """Where the size after grinding is unknown: every kind of shell that it may come to."""
    sheet = laid.sheet
    standard: Text = Typed(sheet.sets.get(STANDARD, STANDARD))
    if sheet.grades:
        standard = Sentence("graded standard")
    found = [Candidate(standard, note=Sentence("if the journals polish out"))]
    found += [Candidate(Typed(key), note=Typed(other.for_)) for key, other in sheet.other.items()]
    for size, part in sheet.sets.items():
        if size != STANDARD:
            note = Sentence("{amount} undersize", amount=Figure(size))
            found.append(Candidate(Typed(part), note=note, part=part))
    return tuple(found)
