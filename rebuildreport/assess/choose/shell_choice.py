"""Which shells: by the codes, from measurement, for the size that the journals have or will have.

In: the workbench.  Out: a choice for each set of bearings.  Decides nothing that a person decided otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ...quantities import NOTHING, Sentence, Text, Typed, present
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
    bench = laid.bench
    condemned = any(bearing.condemned for bearing in bearings)
    impossible = _impossible(plan, bearings)
    runner_up = shell_words.alternative(plan)
    instead = plan.buys(plan.second if runner_up else None)
    by_set = (
        Sentence("none: which set it is follows from the size of its journals") if plan.by_set() else NOTHING
    )
    # journals are ground together: shells for the others as they are would be the wrong ones
    buy = () if condemned else plan.buys(plan.best)
    sold_as_set = bool(buy) and all(each.part in laid.sheet.sets.values() for each in buy)
    lacking = [] if sold_as_set else [place.position for place in made if not _known(place)]
    answer = shell_words.answer(laid, made, bearings)
    if condemned and plan.best:
        answer = Sentence("only if nothing is ground: {answer}", answer=answer)
    choice = Choice(
        name=laid.shells,
        kind="shells",
        title=feature_title(bench.engine, laid.shells),
        status="none fits" if impossible else _status(made),
        answer=answer,
        target=laid.target,
        limits=laid.limits,
        why=shell_words.why(laid, made),
        alternative=runner_up or by_set,
        places=tuple(made),
        steps=shell_words.families(laid) if condemned else (),
        buy=buy,
        lacking=tuple(lacking),
        cost=None if lacking else bench.spent(buy),
        alternative_cost=None if lacking else bench.spent(instead),
        outlay=None if lacking else bench.outlay(buy),
        alternative_outlay=None if lacking else bench.outlay(instead),
        impossible=tuple(impossible),
        decides=tuple(shell_words.decides(laid, made, bearings)),
        on_paper=bench.on_paper,
        part=laid.features[laid.journal].part or "" if laid.journal else "",
        source=source_text(bench.engine, laid.sheet.source),
        off=round(plan.best.off * shells.STEP, 6) if plan.best else None,
    )
    return _decided(laid, choice, any(bearing.size for bearing in bearings))


def _impossible(plan: ShellPlan, bearings: Sequence[Bearing]) -> list[Text]:
    """Bearings that nothing fits, and what is not to be had for all of them."""
    laid = plan.laid
    out = [b for b in bearings if b.room and not b.pairs and not laid.waits(b)]
    said = [shell_words.impossible(laid, bearing) for bearing in out]
    if plan.options and plan.best is None:
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
    if bearing.room and codes.by_code:
        named = shells.halves_of_cell(codes.by_code)
        trusted = laid.tried(bearing.room, bearing.grades, laid.limits)
        means = [pair.mean for pair in trusted if (pair.upper, pair.lower) == named]
        codes = replace(codes, if_by_code=means[0]) if means else codes
    if plan.best is None or bearing.position not in plan.best.chosen:
        return _unsettled(laid, bearing, codes)
    pair = bearing.pairs[plan.best.chosen[bearing.position]]
    others = sorted(
        (p for p in bearing.pairs if {p.upper, p.lower} != {pair.upper, pair.lower}),
        key=lambda other: (other.off(laid.target), other.name),
    )
    to_be_had = [other for other in others if not plan.lacking(other)]
    partly = shell_words.awaited_text(laid, bearing.awaited) if bearing.awaited else NOTHING
    unlike = shell_words.why_unlike(plan, bearing, codes.by_measurement, pair)
    wide = Sentence("inside the wear limit only") if bearing.wide else NOTHING
    return replace(
        _answered(codes, pair, laid.set_of(bearing)),
        status="provisional" if bearing.awaited else "chosen",
        low=pair.smallest,
        high=pair.largest,
        middle=pair.mean,
        candidates=tuple(_candidate(plan, other, pair) for other in [pair, *others[: SHOWN - 1]]),
        runner_up=Typed(to_be_had[0].name) if to_be_had else NOTHING,
        note=present([partly, unlike, wide]),
    )


def _answered(place: Place, pair: Pair, number: str) -> Place:
    """A place with what it gets: a pair of halves, or the set that is sold for the size of its journal."""
    if number:
        return replace(place, answer=Typed(number), part=number)
    return replace(place, answer=Typed(pair.name), grades=_grades(pair))


def _grades(pair: Pair) -> tuple[str, ...]:
    return (pair.upper,) if pair.whole else (pair.upper, pair.lower)


def _candidate(plan: ShellPlan | None, pair: Pair, chosen: Pair | None = None) -> Candidate:
    note = Sentence("not to be had") if plan and plan.lacking(pair) else NOTHING
    return Candidate(
        Typed(pair.name),
        pair.smallest,
        pair.largest,
        pair.mean,
        "too close to call" if pair.fitness == "too close" else pair.fitness,
        note,
        pair is chosen,
        _grades(pair),
    )


def _unsettled(laid: BearingSet, bearing: Bearing, place: Place) -> Place:
    """A bearing that nothing could be chosen for yet."""
    if laid.waits(bearing):
        return _as_ordered(laid, bearing, place)
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
        candidates=tuple(_candidate(None, pair) for pair in tried[:SHOWN]),
        note=shell_words.ordered_note(laid, bearing, tried[0]),
    )


# ---------------------------------------------------------------- what a person made of it


def _decided(laid: BearingSet, choice: Choice, sized: bool) -> Choice:
    """The choice beside what a person decided of it, or of the size of its journals."""
    bench = laid.bench
    decision = bench.decision(laid.shells, do=("replace",))
    if not decision and sized:
        decision = bench.decision(laid.journal, do=("recondition",))
    work = bench.job.work
    if work is None or not decision or bench.on_paper:
        return choice
    fit = work.decisions[decision].fit
    if not fit:
        # shells that come as a set follow from the size that was decided
        by_set = choice.status == "chosen" and bool(work.decisions[decision].size)
        return replace(choice, decision=decision, status="decided" if by_set else choice.status)
    places = [_beside(place, fit.get(place.position) or []) for place in choice.places]
    status = choice.status
    if status in ("chosen", "provisional", "none fits") and all(p.position in fit for p in places):
        status = "decided otherwise" if places != [*choice.places] else "decided"
    return replace(choice, places=tuple(places), status=status, decision=decision)


def _beside(place: Place, taken: Sequence[str]) -> Place:
    """A place, with what was decided for it where that is something else."""
    if not taken or not place.answer or tuple(taken) == (place.grades or (place.part,)):
        return place
    note = Sentence("decided: {taken}", taken="/".join(taken))
    return replace(place, note=present([note, place.note]))
