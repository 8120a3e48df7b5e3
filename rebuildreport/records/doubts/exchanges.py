"""Rows that stand at the wrong place, and positions of another size than the records say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ...quantities import Sentence, Text, as_typed, english, factor
from ...trade.measuring.plausibility import Band
from ..files.doubt import Doubt, Spot
from ..files.measured import base, spoken_of
from ..files.sizes import sized
from ..files.sizes import step_in_mm as in_mm
from .bands import BandRow, Sizes, steps

if TYPE_CHECKING:
    from ..files.folder import JobFolder
    from ..files.sheet import Engine

ASK = "measure again, or write a ! behind each reading that is right"
# A ground or bored surface lies this near to its band, first wear included (common practice).
GROUND = 0.0005


def misplaced(rows: list[BandRow], job: JobFolder, engine: Engine) -> Iterator[Doubt]:
    """Rows of one round that fit the band of another feature, or the size of another position."""
    sizes = Sizes(job, engine)
    known = [row for row in rows if row.band and row.band.of_size and row.values and not row.confirmed]
    strays = {id(row): found for row in known if (found := _elsewhere(row, known, sizes))}
    paired: set[int] = set()
    for row in known:
        if id(row) not in strays or id(row) in paired:
            continue
        other = next(
            (
                one
                for one in known
                if id(one) not in paired
                and one.one.feature in strays[id(row)]
                and row.one.feature in strays.get(id(one), ())
            ),
            None,
        )
        if other is None:
            yield _stray(row, strays[id(row)][0])
        else:
            paired |= {id(row), id(other)}
            yield from _pair(row, other)
    yield from _other_sizes([row for row in known if id(row) not in strays], sizes)


def _elsewhere(row: BandRow, known: list[BandRow], sizes: Sizes) -> list[str]:
    """Features of the same kind whose band a row fits that is far from every size of its own."""
    own = [*sizes.on(row.one.feature, row.position, row.one.day), *steps(row.feature)]
    if any(_fits(row, size, row.band.slack if row.band else 0.0) for size in own):
        return []
    return list(
        dict.fromkeys(
            other.one.feature
            for other in known
            if other.one.feature != row.one.feature
            and other.feature.kind == row.feature.kind
            and other.band is not None
            and base(other.unit) == base(row.unit)
            and other.band.fits(row.values, other.band.slack)
        )
    )


def _fits(row: BandRow, size: str, slack: float) -> bool:
    if row.band is None:
        return False
    by = in_mm(size) if base(row.unit) == "mm" else 0.0
    return Band(row.band.low + by, row.band.high + by).fits(row.values, slack)


def _pair(row: BandRow, other: BandRow) -> Iterator[Doubt]:
    for one, its in ((row, other), (other, row)):
        pair = f"{row.position} and {other.position}"
        if row.one.feature != other.one.feature:
            message = f"{pair} look exchanged: each fits the other's band ({english(_title(its))})"
            what = Sentence(
                "{one} and {other} look exchanged: each fits the other's band ({feature}); "
                "left out until somebody has measured again",
                one=as_typed(row.position),
                other=as_typed(other.position),
                feature=_title(its),
            )
        else:
            message = f"{pair} look exchanged: each fits the other's size"
            what = Sentence(
                "{one} and {other} look exchanged: each fits the other's size; "
                "left out until somebody has measured again",
                one=as_typed(row.position),
                other=as_typed(other.position),
            )
        told = _doubt(one, f"{message}; left out until confirmed", ASK, what, one.spots)
        yield told if one is row else replace(told, asks=False)  # one question for the two


def _stray(row: BandRow, other: str) -> Doubt:
    message = (
        f"{row.position} fits no size of {english(_title(row))}, but the band of {english(spoken_of(other))}"
    )
    what = Sentence(
        "{position} fits no size of {feature}, but the band of {other}; "
        "left out until somebody has measured again",
        position=as_typed(row.position),
        feature=_title(row),
        other=spoken_of(other),
    )
    return _doubt(
        row, f"{message}; left out until confirmed", f"read at another place? {ASK}", what, row.spots
    )


def _other_sizes(rows: list[BandRow], sizes: Sizes) -> Iterator[Doubt]:
    """Positions that read like a step nobody wrote down; two that read like each other's are exchanged."""
    by_feature: dict[tuple[str, str], list[tuple[BandRow, str, str]]] = defaultdict(list)
    for row in rows:
        feature, day = row.one.feature, row.one.day
        in_force = sizes.on(feature, row.position, day)
        width = max(row.band.high - row.band.low, GROUND * row.band.high) if row.band else 0.0
        if any(_fits(row, size, width) for size in in_force) or base(row.unit) != "mm":
            continue
        every = {
            size
            for one in rows
            if one.one.feature == feature
            for size in sizes.on(feature, one.position, day)
        }
        like = next((s for s in ["", *steps(row.feature), *sorted(every)] if _fits(row, s, width)), None)
        if like is not None:
            by_feature[(row.one.round, feature)].append((row, in_force[-1], like))
    for ones in by_feature.values():
        done: set[str] = set()
        for row, size, like in ones:
            if row.position in done:
                continue
            mate = next((other for other, its, its_like in ones if (its, its_like) == (like, size)), None)
            if mate is not None:
                done |= {row.position, mate.position}
                yield from _pair(row, mate)
                continue
            standard = Sentence("the standard size")
            reads, says = like or english(standard), size or english(standard)
            message = f"{row.position} reads like {reads}, and the records say {says}"
            hint = (
                f"write it under sizes_as_found in teardown.yaml: feature: {row.one.feature}, "
                f"positions: {row.position}, size: {like or 'standard'}"
            )
            if like and in_mm(like) > 0:
                hint += ", and sleeved: yes where it has a sleeve"
            if sizes.decided(row.one.feature, row.position):
                hint = "measure again, or write in work.yaml which size it was made to"
            what = Sentence(
                "{position} reads like {like}, and the records say {size}: judged by what the records say",
                position=as_typed(row.position),
                like=sized(like) or standard,
                size=sized(size) or standard,
            )
            yield replace(_doubt(row, message, hint, what, ()), kept=row.spots)


def crossed(rows: list[BandRow], job: JobFolder, engine: Engine) -> Iterator[Doubt]:
    """Shafts of one round that would not go into their bores: the two exchanged, or one of them a slip.

    A fit whose limits allow it to be tight is pressed, and new parts of another size wait for their bores.
    """
    sizes = Sizes(job, engine)
    at: dict[tuple[str, str], list[BandRow]] = defaultdict(list)
    for row in rows:
        if row.values and base(row.unit) == "mm":
            at[(row.one.feature, row.position)].append(row)
    for fit in engine.features.values():
        lows = [limit.low for side in (fit.new, fit.wear) for limit in side.values() if limit.low]
        highs = [limit.high for side in (fit.new, fit.wear) for limit in side.values() if limit.high]
        if not fit.outer or not fit.inner or any(end.value < 0 for end in (*lows, *highs)):
            continue
        for (feature, position), outers in at.items():
            inners = at.get((fit.inner, position), [])
            if feature != fit.outer or len(outers) != 1 or len(inners) != 1:
                continue
            outer, inner = outers[0], inners[0]
            step = max(it.resolution * factor(it.unit, "mm") for it in outer.first.readings)
            if min(outer.values) - max(inner.values) >= -step / 2 or outer.confirmed or inner.confirmed:
                continue
            if not _of_other_size(outer, inner, sizes):
                yield from _tight(outer, inner)


def _of_other_size(outer: BandRow, inner: BandRow, sizes: Sizes) -> bool:
    """Whether one of the two is of a size that the other was not yet made to, or reads like it."""
    for row in (outer, inner):
        if any(sizes.on(row.one.feature, row.position, row.one.day)):
            return True
    every = [*steps(outer.feature), *steps(inner.feature)]
    slack = GROUND * max(outer.values)
    return any(_fits(row, size, slack) for row in (outer, inner) for size in every)


def _tight(outer: BandRow, inner: BandRow) -> Iterator[Doubt]:
    each = all(
        its.band is not None and its.band.fits(row.values, its.band.high - its.band.low)
        for row, its in ((outer, inner), (inner, outer))
    )
    words = (
        "{position} of {one} would not go into {position} of {other}: the readings of one of them "
        "cannot be right; both left out until somebody has measured again"
    )
    shaft, bore = english(_title(inner)), english(_title(outer))
    message = f"{inner.position} of {shaft} would not go into {outer.position} of {bore}"
    hint = f"a slip in one of the two lines? {ASK}"
    if each:
        words = (
            "{position} of {one} and {position} of {other} look exchanged: each fits the other's band, and "
            "the one would not go into the other; left out until somebody has measured again"
        )
        message = f"{inner.position} of {shaft} and of {bore} look exchanged: each fits the other's band"
        hint = ASK
    what = Sentence(words, position=as_typed(inner.position), one=_title(inner), other=_title(outer))
    for row, its in ((outer, inner), (inner, outer)):
        told = f"{message} (line {its.first.line}); left out until confirmed"
        yield replace(_doubt(row, told, hint, what, row.spots), asks=row is outer)


def _title(row: BandRow) -> Text:
    return spoken_of(row.one.feature, row.feature.title)


def _doubt(row: BandRow, message: str, hint: str, what: Text, spots: tuple[Spot, ...]) -> Doubt:
    cell = row.first
    problem = row.one.source.problem_at(cell.line, cell.column, message, hint, "warning")
    return Doubt(row.one.round, row.one.name, what, problem, spots)
