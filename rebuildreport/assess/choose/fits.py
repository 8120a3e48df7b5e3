"""Which piston in which bore, which bush on which pin, and which rod with which piston."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from ... import quantities
from ...quantities import Figure, Sentence, Text, present
from ...records.checks.choosecheck import bands_in
from ...records.files.choosing import Matching
from ...records.files.sheet import FeatureRecord
from ...trade.choosing import masses
from ...trade.choosing.selection import SelectionOption, choose
from ...trade.choosing.shells import STEP
from ...trade.engine import bearings, cylinders, rods
from ...trade.measuring.uncertainty import DoubtSource, Measured, rectangular
from ...trade.measuring.verdict import DUST, GUARD_FACTOR, inside
from ..measure.judging import source_text
from ..measure.titles import feature_title
from ..model.choice import Buy, Candidate, Choice, Ends, Place, Status
from ..telling.questions import span
from .workbench import Workbench, one

BUSHED = "running_fit"


def piston_choices(bench: Workbench) -> list[Choice]:
    """One choice for each fit of which one part comes in classes, where a new one is needed.

    Of a piston's fit that is the inner part, by its skirt; of a running fit the
    outer one, a whole bush, by its bore when it is in place.
    """
    found = []
    for fit in bench.engine.features.values():
        name, partner = (fit.outer, fit.inner) if fit.kind == BUSHED else (fit.inner, fit.outer)
        inner = bench.engine.features.get(name or "")
        if fit.kind not in ("fit", BUSHED) or inner is None or not inner.classes:
            continue
        positions = _wanted(bench, fit, name or "", inner)
        if positions:
            found.append(_pistons(bench, fit, name or "", partner or "", inner, positions))
    return found


def _wanted(bench: Workbench, fit: FeatureRecord, name: str, inner: FeatureRecord) -> list[str]:
    """Places that need another one: decided, condemned, or beyond the limit of its clearance."""
    if bench.on_paper:
        return list(bench.override.get(name, {}))
    every = inner.positions or []
    names = {name, inner.part or name, f"{inner.part}s"}
    decisions = bench.job.work.decisions.values() if bench.job.work else ()
    findings = bench.job.findings.findings.values() if bench.job.findings else ()
    wanted = {p for d in decisions if d.do == "replace" and d.about in names for p in d.positions or every}
    wanted |= {
        p for f in findings if f.disposition == "replace" and f.component in names for p in f.positions
    }
    kept = {p for d in decisions if d.do == "reuse" and d.about in names for p in d.positions or every}
    fits = {key for key, other in bench.engine.features.items() if other is fit}
    wanted |= {
        c.position
        for c in bench.found
        if c.feature in fits and c.verdict == "beyond limit" and c.end != "low" and c.position not in kept
    }
    return [position for position in every if position in wanted]


def _pistons(
    bench: Workbench, fit: FeatureRecord, name: str, partner: str, inner: FeatureRecord, positions: list[str]
) -> Choice:
    bushed = fit.kind == BUSHED
    new: Ends = bench.ends(fit.new.get("clearance"), fit)
    wear: Ends = bench.ends(fit.wear.get("clearance"), fit)
    wide: Ends = (new[0] if wear[0] is None else wear[0], new[1] if wear[1] is None else wear[1])
    middle = (new[0] + new[1]) / 2.0 if new[0] is not None and new[1] is not None else new[0] or new[1] or 0.0
    target = bench.mm(fit.target, fit)
    target = middle if target is None else target
    tried: dict[str, list[Candidate]] = {}
    bores = bench.now(partner)  # of a bush, the pins
    # what goes in is new: in a bore that was machined nothing of the fit is used again
    machined = {p for p in positions if not bench.timeline.state(partner, p, date.max).used}
    for position in positions:
        skirts = _skirts(bench, inner, name, position)
        decides_by = new if position in machined else wide
        tried[position] = [
            _tried(bench, fit, label, skirt, bores.get(position, {}), new, decides_by)
            for label, skirt in skirts.items()
        ]
    good = {p: [c for c in ones if c.fitness.startswith("inside")] for p, ones in tried.items() if p in bores}
    for ones in good.values():
        # inside the new limits comes before inside the wear limit, and then the nearest to the target
        if any(c.fitness == "inside" for c in ones):
            ones[:] = [c for c in ones if c.fitness == "inside"]
    places = {
        p: [
            SelectionOption((f"piston {c.name}",), round(abs((c.middle or 0.0) - target) / STEP))
            for c in ones
        ]
        for p, ones in good.items()
        if ones
    }
    supplies = {
        f"piston {label}": bench.supply(name, "count", label, inner.pieces.get(label, ""))
        for label in inner.classes
    }
    plan = choose(places, supplies) if places else None
    made, impossible, decides = [], [], []
    title = feature_title(bench.engine, name)
    for position in positions:
        ones = tried[position]
        if plan and position in plan.chosen:
            picked = good[position][plan.chosen[position]]
            shown = tuple(replace(c, chosen=c is picked) for c in ones)
            others = [c for c in good[position] if c is not picked]
            note = ""
            if picked.fitness != "inside":
                note = Sentence("inside the wear limit of a bore used again")
                note = Sentence("inside the wear limit only") if bushed else note
            made.append(
                Place(
                    position,
                    "chosen",
                    picked.name,
                    picked.low,
                    picked.high,
                    picked.middle,
                    candidates=shown,
                    runner_up=min(others, key=lambda c: abs((c.middle or 0) - target)).name if others else "",
                    note=note,
                )
            )
        elif position not in bores:
            waits = "the finished bore of {position}", "its bore is not finished, or not measured"
            if bushed:
                waits = "the pin or journal of {position}", "what runs in it is not finished, or not measured"
            decides.append(Sentence(waits[0], position=position))
            made.append(Place(position, "provisional", note=Sentence(waits[1])))
        else:
            made.append(Place(position, "none fits", candidates=tuple(ones)))
            impossible.append(
                Sentence(
                    "{title} {position}: no class gives a clearance that is surely inside its limits",
                    title=title,
                    position=position,
                )
            )
    bought: dict[str, list[str]] = {}
    for place in made:
        if place.answer and not bench.on_paper:
            bought.setdefault(place.answer, []).append(place.position)
    buys = tuple(
        Buy(
            inner.pieces.get(label, ""),
            Sentence("class {label}", label=label),
            len(where),
            min(len(where), supplies[f"piston {label}"].shelf),
            tuple(where),
            bench.pack(inner.pieces.get(label, "")),
        )
        for label, where in bought.items()
    )
    status: Status = "none fits" if impossible else "provisional" if decides else "chosen"
    decision = bench.decision(name, do=("replace",))
    fitted = bench.job.work.decisions[decision].fit if bench.job.work and decision else {}
    if fitted and status == "chosen":
        same = all(fitted.get(p.position, [p.answer]) == [p.answer] for p in made)
        status = "decided" if same else "decided otherwise"
    return Choice(
        name=name,
        kind="bushes" if bushed else "pistons",
        title=title,
        status=status,
        answer=present(
            Sentence("class {label} in {places}", label=label, places=span(where))
            for label, where in bought.items()
        )
        or (present(p.answer for p in made if p.answer) or Sentence("Nothing can be chosen yet")),
        target=target,
        limits=new if machined == set(positions) else wide,
        why=_why(bench, made, bushed),
        places=tuple(made),
        buy=buys,
        cost=bench.spent(buys),
        outlay=bench.outlay(buys),
        impossible=tuple(impossible),
        decides=tuple(decides),
        on_paper=bench.on_paper,
        decision=decision if fitted else "",
        source=source_text(bench.engine, fit.source),
        off=round(plan.off * STEP, 6) if plan else None,
    )


def _why(bench: Workbench, made: list[Place], bushed: bool) -> Text:
    words = "{position}: {answer} gives {low} to {high} over the stroke, in the thrust direction"
    if bushed:
        words = "{position}: {answer} gives {low} to {high}"
    said: list[str] = []
    for place in made:
        if place.low is None or place.high is None:
            continue
        gives: list[str] = [
            Sentence(
                words,
                position=place.position,
                answer=place.answer,
                low=one(bench, place.low),
                high=one(bench, place.high),
            )
        ]
        gives += [
            Sentence(
                "{name} would be {fitness} ({low} to {high})",
                name=c.name,
                fitness=Sentence(c.fitness),
                low=one(bench, c.low),
                high=one(bench, c.high),
            )
            for c in place.candidates
            if c.fitness in ("too tight", "too large", "too close to call")
            and c.low is not None
            and c.high is not None
        ]
        said.append(Sentence("{what}.", what=present(gives)))
    return present(said, " ")


def _skirts(bench: Workbench, inner: FeatureRecord, name: str, position: str) -> dict[str, Measured]:
    """What could go in: pistons measured on paper, else every class by its band."""
    read = bench.override.get(name, {}).get(position, {})
    if read:
        return {bench.on_paper: next(iter(read.values()))}
    scale = quantities.factor(inner.unit or "mm", "mm")
    return {
        label: Measured(
            round((low + high) / 2.0 * scale, 9),
            {DoubtSource("class band", f"{name} {position}"): rectangular((high - low) / 2.0 * scale)},
        )
        for label, (low, high) in bands_in(inner.classes, inner.unit or "mm").items()
    }


def _tried(
    bench: Workbench,
    fit: FeatureRecord,
    label: str,
    skirt: Measured,
    bore: Mapping[str, Measured],
    new: Ends,
    wide: Ends,
) -> Candidate:
    if not bore:
        return Candidate(label)
    if fit.kind == BUSHED:
        low, high = bearings.running_clearance([skirt], list(bore.values()))
    elif (found := cylinders.piston_clearance(bore, skirt, fit.direction or "t")) is not None:
        low, high = found.smallest, found.largest
    else:
        return Candidate(label)
    guard = GUARD_FACTOR * max(low.u, high.u) if bench.guarded else 0.0
    fitness = "too close to call"
    if inside(low.value, guard, new) and inside(high.value, guard, new):
        fitness = "inside"
    elif inside(low.value, guard, wide) and inside(high.value, guard, wide):
        fitness = "inside the wear limit"
    elif wide[0] is not None and low.value < wide[0] - guard - DUST:
        fitness = "too tight"
    elif wide[1] is not None and high.value > wide[1] + guard + DUST:
        fitness = "too large"
    return Candidate(label, low.value, high.value, (low.value + high.value) / 2.0, fitness)


def mass_choices(bench: Workbench) -> list[Choice]:
    """Rods and pistons put together by mass, where both were weighed."""
    if bench.on_paper:
        return []
    found = []
    for name, matching in bench.engine.matching.items():
        choice = _masses(bench, name, matching)
        if choice is not None:
            found.append(choice)
    return found


def _grams(bench: Workbench, feature: str) -> dict[str, float]:
    sheet = bench.engine.features.get(feature)
    if sheet is None:
        return {}
    ends = ("big", "small")  # a rod weighed at both is as heavy as they are together
    found = {}
    for position, columns in bench.now(feature).items():
        if position not in (sheet.positions or []):
            continue
        if all(end in columns for end in ends):
            found[position] = rods.total_mass(*(columns[end] for end in ends)).value
        elif columns and not any(end in columns for end in ends):
            found[position] = next(iter(columns.values())).value
    return found


def _masses(bench: Workbench, name: str, matching: Matching) -> Choice | None:
    weighed, pistons = _grams(bench, matching.rods), _grams(bench, matching.pistons)
    wanted = bench.engine.features[matching.rods].positions or []
    if not weighed or not pistons:
        return None
    within = matching.within
    spread = within.to("g") if within.unit else within.value
    found = masses.match(weighed, pistons, spread)
    title = name.replace("_", " ").capitalize()
    unread = [position for position in wanted if position not in weighed]
    if found is None:
        return None
    made = tuple(
        Place(
            rod,
            "chosen",
            found.pairs[rod],
            middle=found.totals[rod],
            note=Sentence("take off {remove} g", remove=Figure(f"{found.remove[rod]:.1f}"))
            if found.remove[rod]
            else "",
        )
        for rod in weighed
    )
    off = (
        Sentence("{removed} g to take off in all", removed=Figure(f"{found.removed:.1f}"))
        if found.removed
        else Sentence("nothing to take off")
    )
    return Choice(
        name=name,
        kind="masses",
        title=title,
        status="provisional" if unread else "chosen",
        answer=Sentence(
            "{pairs}: {off}",
            pairs=present(
                Sentence("{rod} with {piston}", rod=rod, piston=piston) for rod, piston in found.pairs.items()
            ),
            off=off,
        ),
        unit="g",
        decimals=1,
        target=None,
        why=Sentence(
            "Of all pairings the one that needs the least taken off for sums within {spread} g.",
            spread=Figure(f"{spread:g}"),
        ),
        places=made,
        decides=(Sentence("the mass of {places}", places=span(unread)),) if unread else (),
        source=source_text(bench.engine, matching.source),
    )
