"""Which shells: by the codes, from measurement, for the size that the journals have or will have.

In: the workbench.  Out: a choice for each set of bearings.  Decides nothing that a person decided otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from ...quantities import NOTHING, Sentence, Text, Typed, message, present
from ...trade.choosing import shells
from ...trade.choosing.shells import Pair
from ..measure.judging import source_text
from ..measure.titles import feature_title
from ..model.choice import Candidate, Choice, Place, Status
from . import shell_words
from .bearing_sets import Bearing, BearingSet, bearing_sets
from .shell_plans import ShellPlan
from .workbench import Workbench

SHOWN = 5  # candidates listed for a bearing


def shell_choices(bench: Workbench) -> list[Choice]:
    """One choice for each bearing clearance whose shells the sheet tells apart."""
    found = []
    for laid in bearing_sets(bench):
        tried = {laid.journal, laid.housing, laid.shells} & {*bench.override}
        if bench.on_paper and not tried:
            continue
        if laid.sheet.grades or laid.sheet.other or laid.sheet.sets:
            found.append(_choice(laid))
    return [choice for choice in found if choice is not None]


def beyond_all_shells(bench: Workbench, journal: str) -> list[str]:
    """Positions of a journal whose clearance alone is too large, with no shells that would take it up."""
    return [
        position for laid in bearing_sets(bench) if laid.journal == journal for position in laid.beyond_all()
    ]


def _choice(laid: BearingSet) -> Choice | None:
    """The choice, or None where there is nothing to choose by yet."""
    bearings = [laid.bearing(position) for position in laid.positions]
    codes = [laid.codes_at(position) for position in laid.positions]
    known = any(bearing.room or bearing.condemned or bearing.size for bearing in bearings)
    if not known and not any(place.stamped for place in codes):
        return None
    plan = ShellPlan(laid, bearings)
    made = [_place(plan, bearing, place) for bearing, place in zip(bearings, codes, strict=True)]
    impossible = _impossible(plan, bearings)
    choice = Choice(
        name=laid.shells,
        kind="shells",
        title=feature_title(laid.bench.engine, laid.shells),
        status="none fits" if impossible else _status(made),
        answer=shell_words.answer(laid, made, bearings),
        target=laid.target,
        limits=laid.limits,
        why=shell_words.why(laid, made),
        alternative=shell_words.alternative(plan),
        places=tuple(made),
        impossible=tuple(impossible),
        decides=tuple(shell_words.decides(laid, made, bearings)),
        on_paper=laid.bench.on_paper,
        part=laid.features[laid.journal].part if laid.journal else "",
        source=source_text(laid.bench.engine, laid.sheet.source),
    )
    choice = _with_parts(plan, choice)
    if any(bearing.condemned for bearing in bearings):
        choice = _if_not_ground(plan, choice)
    return _decided(plan, choice, bearings)


def _with_parts(plan: ShellPlan, choice: Choice) -> Choice:
    """The choice with what is bought by it, and what that costs: nothing is said of half a set."""
    bench = plan.laid.bench
    buy = plan.buys(plan.fitted(plan.best))
    sold_as_set = bool(buy) and all(each.part in plan.laid.sheet.sets.values() for each in buy)
    lacking = [] if sold_as_set else [place.position for place in choice.places if not _known(place)]
    if not choice.alternative and plan.by_set():
        words = message("none, as the set follows from the size of its journals")
        choice = replace(choice, alternative=Sentence(words))
    elif choice.alternative and not lacking:
        instead = plan.buys(plan.fitted(plan.second))
        cost, outlay = bench.spent(instead), bench.outlay(instead)
        choice = replace(choice, alternative_cost=cost, alternative_outlay=outlay)
    return replace(
        choice,
        buy=buy,
        lacking=tuple(lacking),
        cost=None if lacking else bench.spent(buy),
        outlay=None if lacking else bench.outlay(buy),
        off=round(plan.best.off * shells.STEP, 6) if plan.best else None,
    )


def _if_not_ground(plan: ShellPlan, choice: Choice) -> Choice:
    """Journals are ground together: shells for the others as they are would be the wrong ones."""
    if plan.best:
        choice = replace(choice, answer=Sentence("only if nothing is ground: {answer}", answer=choice.answer))
    lacking = tuple(place.position for place in choice.places if not _known(place))
    steps = shell_words.families(plan.laid)
    return replace(choice, steps=steps, buy=(), lacking=lacking, cost=None, outlay=None)


def _impossible(plan: ShellPlan, bearings: Sequence[Bearing]) -> list[Text]:
    """Bearings that nothing fits, and what is not to be had for all of them."""
    laid = plan.laid
    out = [b for b in bearings if b.room and not (b.pairs or laid.waits(b) or laid.proved(b))]
    said = [shell_words.impossible(laid, bearing) for bearing in out]
    if plan.without:
        said.append(shell_words.short(plan))
    return said


def _known(place: Place) -> bool:
    """Whether it is known what a bearing gets: by its codes alone it is not."""
    return bool(place.part) or (bool(place.answer) and place.middle is not None)


def _status(made: Sequence[Place]) -> Status:
    """How settled the choice is where nothing is impossible."""
    if not any(place.status in ("provisional", "nothing known") for place in made):
        return "chosen"
    anything = any(place.answer or place.status == "provisional" for place in made)
    return "provisional" if anything else "nothing known"


# ---------------------------------------------------------------- one bearing


def _place(plan: ShellPlan, bearing: Bearing, codes: Place) -> Place:
    laid = plan.laid
    place = _trusting_codes(laid, bearing, codes)
    if plan.best is None or bearing.position not in plan.best.chosen:
        return _unsettled(laid, bearing, place)
    pair = bearing.pairs[plan.best.chosen[bearing.position]]
    others = sorted(
        (other for other in bearing.pairs if sorted(other.grades) != sorted(pair.grades)),
        key=lambda other: (other.off(laid.target), other.name),
    )
    notes = [shell_words.why_unlike(plan, bearing, place.by_measurement, pair)]
    if bearing.awaited:
        notes.insert(0, shell_words.awaited_text(laid, bearing.awaited))
    if bearing.wide:
        notes.append(Sentence("inside the wear limit only"))
    return replace(
        _answered(place, pair, laid.set_of(bearing)),
        status="provisional" if bearing.awaited else "chosen",
        low=pair.smallest,
        high=pair.largest,
        middle=pair.mean,
        candidates=tuple(
            _candidate(other, pair, bool(plan.lacking(other, bearing)))
            for other in [pair, *others[: SHOWN - 1]]
        ),
        note=present(notes),
    )


def _trusting_codes(laid: BearingSet, bearing: Bearing, place: Place) -> Place:
    """A place with the clearance that the grade by its codes would give, where they tell one."""
    if bearing.room is None or not place.by_code:
        return place
    named = shells.halves_of_cell(place.by_code)
    for pair in laid.tried(bearing.room, bearing.grades, laid.limits):
        if (pair.upper, pair.lower) == named:
            return replace(place, if_by_code=pair.mean)
    return place


def _answered(place: Place, pair: Pair, number: str) -> Place:
    """A place with what it gets: a pair of halves, or the set that is sold for the size of its journal."""
    if number:
        return replace(place, answer=Typed(number), part=number)
    return replace(place, answer=Typed(pair.name), grades=pair.grades)


def _candidate(pair: Pair, chosen: Pair | None = None, lacking: bool = False) -> Candidate:
    note = Sentence("not to be had") if lacking else NOTHING
    return Candidate(
        Typed(pair.name),
        pair.smallest,
        pair.largest,
        pair.mean,
        "too close to call" if pair.fitness == "too close" else pair.fitness,
        note,
        pair is chosen,
        pair.grades,
    )


def _unsettled(laid: BearingSet, bearing: Bearing, place: Place) -> Place:
    """A bearing that nothing could be chosen for yet."""
    if laid.waits(bearing):
        return _as_ordered(laid, bearing, place)
    if bearing.room and laid.proved(bearing):
        return replace(_answered(place, laid.tried_at(bearing)[0], laid.set_of(bearing)), status="chosen")
    if bearing.room:
        return replace(place, status="none fits")
    if bearing.condemned:
        note = Sentence("journal beyond its limit: its size after grinding decides")
        return replace(place, status="provisional", note=note)
    assert bearing.awaited is not None
    missing = shell_words.awaited_text(laid, bearing.awaited)
    if not place.by_code:
        return replace(place, note=missing)
    grades = (place.by_code,) if laid.bush else shells.halves_of_cell(place.by_code)
    note = Sentence("by its codes alone, {why}", why=missing)
    return replace(place, status="provisional", answer=Typed(place.by_code), grades=grades, note=note)


def _as_ordered(laid: BearingSet, bearing: Bearing, place: Place) -> Place:
    """A journal as ordered: what is nearest in the middle of its band, until it is read."""
    tried = sorted(laid.tried_at(bearing), key=lambda pair: (pair.off(laid.target), pair.name))
    return replace(
        _answered(place, tried[0], laid.set_of(bearing)),
        status="provisional",
        candidates=tuple(_candidate(pair) for pair in tried[:SHOWN]),
        note=shell_words.ordered_note(laid, bearing, tried[0]),
    )


# ---------------------------------------------------------------- what a person made of it


def _decided(plan: ShellPlan, choice: Choice, bearings: Sequence[Bearing]) -> Choice:
    """The choice beside what a person decided of it, or of the size of its journals: that is bought."""
    laid, bench = plan.laid, plan.laid.bench
    decision = bench.decision(laid.shells, do=("replace",))
    if not decision and any(bearing.size for bearing in bearings):
        decision = bench.decision(laid.journal, do=("recondition",))
    if not decision or bench.on_paper:
        return choice
    taken = bench.job.decisions[decision]
    choice = replace(choice, decision=decision)
    if not taken.fit:
        # shells that come as a set follow from the size that was decided
        by_set = choice.status == "chosen" and bool(taken.size)
        return replace(choice, status="decided") if by_set else choice
    places = tuple(_beside(place, taken.fit.get(place.position) or []) for place in choice.places)
    everywhere = all(place.position in taken.fit for place in places)
    if everywhere and choice.status in ("chosen", "provisional", "none fits"):
        status: Status = "decided" if places == choice.places else "decided otherwise"
        choice = replace(choice, status=status)
    named = {
        one.position: plan.named(one, taken.fit[one.position])
        for one in bearings
        if one.position in taken.fit
    }
    buy = plan.buys(plan.fitted(plan.best) | named)
    lacking = tuple(place for place in choice.lacking if place not in named)
    cost, outlay = (None, None) if lacking else (bench.spent(buy), bench.outlay(buy))
    return replace(choice, places=places, buy=buy, lacking=lacking, cost=cost, outlay=outlay)


def _beside(place: Place, taken: Sequence[str]) -> Place:
    """A place, with what was decided for it where that is something else."""
    if not taken or not place.answer or tuple(taken) == (place.grades or (place.part,)):
        return place
    note = Sentence("decided: {taken}", taken="/".join(taken))
    return replace(place, note=present([note, place.note]))
