"""Valve shims and solid buckets: which thickness where, kept, moved, from the shelf or bought."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from ...quantities import Figure, Sentence, Text, present
from ...records.files.choosing import Shims
from ...records.files.sizes import sizes_of
from ...trade.choosing.shims import FittedShim, Shim, ShimPlan, Valve, choose_shims
from ...trade.measuring.uncertainty import Measured
from ...trade.measuring.verdict import GUARD_FACTOR, inside
from ..measure.judging import source_text
from ..model.choice import Buy, Choice, Place, Status
from ..telling.questions import span
from .workbench import Workbench, one


def shim_choices(bench: Workbench) -> list[Choice]:
    """One choice for each kind of shim on the sheet, where clearances were read."""
    if bench.on_paper:
        return []
    found = []
    for name, shims in bench.engine.shims.items():
        choice = _choice(bench, name, shims)
        if choice is not None:
            found.append(choice)
    return found


def _until(bench: Workbench, name: str) -> tuple[date | None, str]:
    """The day on which somebody decided, and the decision: what is read later is its result."""
    decisions = bench.job.work.decisions if bench.job.work else {}
    named = [(one.date, key) for key, one in decisions.items() if one.about == name]
    return max(named) if named else (None, "")


Pairs = dict[str, tuple[Measured, Measured]]


def _read(bench: Workbench, shims: Shims, until: date | None) -> tuple[Pairs, dict[str, float], list[str]]:
    """Shim and clearance as last read together, the engine's own shims, and valves without a clearance."""
    pairs: Pairs = {}
    fitted: dict[str, Measured] = {}
    there: dict[str, tuple[str, float]] = {}
    without: list[str] = []
    for taken in bench.taken:
        if taken.feature not in shims.clearance or (until and taken.date > until):
            continue
        for position, columns in taken.readings.items():
            shim, lash = columns.get(shims.shim), columns.get(shims.lash)
            if shim is not None and there.get(position, ("", 0.0))[0] != taken.round:
                there[position] = (
                    taken.round,
                    shim.value,
                )  # the first of a round: a trial shim comes after it
            if shim is not None:
                fitted[position] = (
                    shim  # a shim measured in a table of its own goes with what is read after it
                )
            if lash is not None and position in fitted:
                pairs[position] = (fitted[position], lash)
            elif (position, shims.lash) in taken.no_clearance:
                pairs.pop(position, None)
    for taken in bench.taken:
        if taken.feature in shims.clearance and not (until and taken.date > until):
            without += [p for p, column in taken.no_clearance if column == shims.lash and p not in pairs]
    return pairs, {position: size for position, (_, size) in there.items()}, list(dict.fromkeys(without))


def _set_since(bench: Workbench, shims: Shims, valves: list[Valve]) -> list[str]:
    """Valves whose clearance was outside when first read, and inside when last read: shims went in."""
    limits = {valve.name: valve.limits for valve in valves}
    first: dict[str, tuple[str, float]] = {}
    last: dict[str, tuple[str, float]] = {}
    for taken in bench.taken:
        for position, columns in taken.readings.items() if taken.feature in shims.clearance else ():
            if (lash := columns.get(shims.lash)) is not None:
                first.setdefault(position, (taken.round, lash.value))
                last[position] = (taken.round, lash.value)
    return [
        position
        for position, (round_, lash) in last.items()
        if position in limits
        and round_ != first[position][0]
        and inside(lash, 0.0, limits[position])
        and not inside(first[position][1], 0.0, limits[position])
    ]


def _choice(bench: Workbench, name: str, shims: Shims) -> Choice | None:
    until, decision = _until(bench, name)
    pairs, there, without = _read(bench, shims, until)
    if not pairs:
        return None
    wanted = [p for feature in shims.clearance for p in bench.engine.features[feature].positions or []]
    valves = _valves(bench, shims, pairs)
    shelf = _shelf(bench, name)
    pool = [Shim(round(there[p], 6), p) for p in wanted if p in there]
    pool += [Shim(size) for size, count in shelf.items() for _ in range(count)]
    sold = [size for size in sizes_of(shims.sizes) if _sold(bench, name, size)]
    plan = choose_shims(valves, pool, sold)
    unread = [p for p in wanted if p not in pairs]
    fitted = {one.valve: one for one in plan.fitted}
    made = tuple(
        _place(bench, valve, pairs[valve.name], fitted.get(valve.name), there.get(valve.name))
        for valve in valves
    )
    buys = _buys(shims, plan, bench.pack(shims.part or ""))
    price = bench.price(shims.part or "")
    alone = sum(choose_shims([v], [s for s in pool if s.valve == v.name], sold).count("buy") for v in valves)
    decides = [
        *(
            Sentence("{p}: no clearance is no reading: fit a thin trial shim and read again", p=p)
            for p in without
        ),
        *(
            [Sentence("{places} not read", places=span([p for p in unread if p not in without]))]
            if set(unread) - set(without)
            else []
        ),
        *(
            [
                Sentence(
                    "{places}: inside since, and nobody wrote down which shims went in: until a decision "
                    "about them says so they stand on no list",
                    places=span(since),
                )
            ]
            if (since := [] if decision else _set_since(bench, shims, valves))
            else []
        ),
    ]
    bought = sum(buy.quantity for buy in buys)
    moved = plan.count("move")
    status: Status = "none fits" if plan.none_fits else "provisional" if decides else "chosen"
    if decision and status == "chosen":
        fit = bench.job.work.decisions[decision].fit if bench.job.work else {}
        same = all(_alike(fit.get(v, []), one.thickness) for v, one in fitted.items()) if fit else True
        status = "decided" if same else "decided otherwise"
    return Choice(
        name=name,
        kind="shims",
        title=name.replace("_", " ").capitalize(),
        status=status,
        answer=Sentence(
            "{bought} new, {moved} moved to another valve, {count} kept",
            bought=bought,
            moved=moved,
            count=plan.count("keep"),
        ),
        decimals=2,
        limits=(None, None),
        why=(
            present(
                [
                    Sentence(
                        "Fewest new ones, then fewest moved, then nearest to the target: {off} off in all.",
                        off=one(bench, plan.off, 2),
                    ),
                    _sizes(plan),
                ],
                " ",
            )
        ),
        alternative=Sentence("without moving any, {alone} would be bought", alone=alone)
        if alone > bought
        else "",
        places=made,
        buy=buys,
        cost=price * bought if price is not None else None,
        outlay=bench.outlay(buys),
        alternative_cost=price * alone if price is not None and alone > bought else None,
        impossible=tuple(
            Sentence("{v}: no thickness that can be had gives a clearance inside its limits", v=v)
            for v in plan.none_fits
        ),
        decides=tuple(decides),
        follows=(
            Sentence("the washer that stays is measured, too; lever both ways and read again when fitted")
            if shims.fitted == "thrust_washer"
            else Sentence(
                "measure every shim, for the printed size wears off; after fitting, turn the cams "
                "twice by hand and read again"
            ),
        ),
        decision=decision,
        source=source_text(bench.engine, shims.source),
        off=plan.off,
    )


def _alike(fit: list[str], thickness: float) -> bool:
    try:
        return not fit or abs(float(fit[0]) - thickness) < 1e-6
    except ValueError:
        return False


def _valves(bench: Workbench, shims: Shims, pairs: Pairs) -> list[Valve]:
    found = []
    for name in shims.clearance:
        feature = bench.engine.features[name]
        low, high = bench.ends(feature.new.get(shims.lash), feature)
        middle = (low + high) / 2.0 if low is not None and high is not None else low or high or 0.0
        target = bench.mm(shims.target.get(name), feature)
        for position in feature.positions or []:
            if position not in pairs:
                continue
            shim, lash = pairs[position]
            base = shim + lash
            # sizes go in steps nearly as wide as the tolerance: what fits as read is fitted, and read again
            found.append(
                Valve(position, round(base.value, 6), (low, high), middle if target is None else target)
            )
    return found


def _shelf(bench: Workbench, name: str) -> dict[float, int]:
    shelf = bench.shelves.get(name)
    if shelf is None:
        return {}
    sizes = sizes_of(" ".join([*shelf.columns, shelf.unit or "mm"]))
    counts = next(iter(shelf.rows.values()), [])
    return {size: int(count) for size, count in zip(sizes, counts, strict=False)}


def _sold(bench: Workbench, name: str, size: float) -> bool:
    shelf = bench.shelves.get(name)
    if shelf is None or not shelf.no_more:
        return True
    if shelf.no_more == "all":
        return False
    barred = sizes_of(f"{shelf.no_more.replace(',', ' ')} {shelf.unit or 'mm'}")
    return all(abs(size - one) > 1e-6 for one in barred)


def _place(
    bench: Workbench,
    valve: Valve,
    read: tuple[Measured, Measured],
    fitted: FittedShim | None,
    before: float | None,
) -> Place:
    low, high = valve.limits
    was = f"{before:.2f}" if before is not None else ""
    place = Place(valve.name, "none fits", before=was)
    if fitted is None:
        return place
    guard = GUARD_FACTOR * (read[0] + read[1]).u if bench.guarded else 0.0
    sure = inside(fitted.clearance, guard, valve.limits)
    source = (
        Sentence("move from {place}", place=fitted.came_from)
        if fitted.source == "move"
        else Sentence(fitted.source)
    )
    return replace(
        place,
        status="chosen",
        answer=Figure(f"{fitted.thickness:.2f}"),
        low=low,
        high=high,
        middle=fitted.clearance,
        source=source,
        note=""
        if sure
        else Sentence("as read it is inside, and too near its limit to be sure: read again when fitted"),
    )


def _buys(shims: Shims, plan: ShimPlan, pack: int) -> tuple[Buy, ...]:
    groups: dict[float, list[FittedShim]] = {}
    for each in plan.fitted:
        if each.source in ("buy", "shelf"):
            groups.setdefault(each.thickness, []).append(each)
    return tuple(
        Buy(
            shims.part or "",
            Figure(f"{size:.2f} mm"),
            len(ones),
            sum(each.source == "shelf" for each in ones),
            tuple(each.valve for each in ones),
            pack,
        )
        for size, ones in sorted(groups.items())
    )


def _sizes(plan: ShimPlan) -> Text:
    bought = present(
        (
            Sentence("{count} of {size} mm", count=count, size=Figure(f"{size:.2f}"))
            for size, count in plan.bought.items()
        ),
        ", ",
    )
    shelf = plan.count("shelf")
    return present(
        filter(
            None,
            [
                Sentence("To buy: {bought}.", bought=bought) if bought else "",
                Sentence("From the shelf: {shelf}.", shelf=shelf) if shelf else "",
            ],
        ),
        " ",
    )
