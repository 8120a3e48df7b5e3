"""Rows that stand at the wrong place, and positions of another size than the records say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from ...quantities import Sentence, Text, as_typed, english, factor, message
from ..files.doubt import Doubt
from ..files.folder import JobFolder
from ..files.measured import base, spoken_of
from ..files.sheet import Engine, FeatureRecord
from ..files.sizes import TypedSize, size_step
from .bands import BandRow, Sizes
from .doubting import CONFIRM, doubted, of_readings

# A ground or bored surface lies this near to its band, first wear included (common practice).
GROUND = 0.0005
# A pin slides in its boss with less than what a bore gauge, its setting and a micrometer may be off together
# (common practice: 4, 3 and 3 µm); of what is tighter by no more the clearance says that it is too tight.
OFF_TOGETHER = 0.010
STANDARD = size_step("")


def misplaced(rows: list[BandRow], job: JobFolder, engine: Engine) -> Iterator[Doubt]:
    """Rows of one round that fit the band of another feature, or the size of another position."""
    sizes = Sizes(job, engine)
    known = [row for row in rows if row.band and row.band.of_size and row.values and not row.confirmed]
    strays = {id(row): features for row in known if (features := _elsewhere(row, known, sizes))}
    paired: set[int] = set()
    for row in known:
        if id(row) not in strays or id(row) in paired:
            continue
        mate = _mate(row, [other for other in known if id(other) not in paired], strays)
        if mate is None:
            yield _stray(row, strays[id(row)][0])
        else:
            paired |= {id(row), id(mate)}
            yield from _pair(row, mate)
    yield from _other_sizes([row for row in known if id(row) not in strays], sizes)


def _mate(row: BandRow, others: list[BandRow], strays: dict[int, list[str]]) -> BandRow | None:
    """The stray row that fits where this one stands, while this one fits there."""
    for other in others:
        if other.table.feature in strays[id(row)] and row.table.feature in strays.get(id(other), ()):
            return other
    return None


def _elsewhere(row: BandRow, known: list[BandRow], sizes: Sizes) -> list[str]:
    """Features of the same kind whose band a row fits that is far from every size of its own."""
    own = [*sizes.on(row.table.feature, row.position, row.table.day), *row.feature.steps]
    if any(row.fits(size, row.band.slack if row.band else 0.0) for size in own):
        return []
    others = [other for other in known if _could_be(row, other)]
    return list(dict.fromkeys(other.table.feature for other in others))


def _could_be(row: BandRow, other: BandRow) -> bool:
    """Whether a row fits the band of another feature that is read alike."""
    if other.table.feature == row.table.feature or other.feature.kind != row.feature.kind:
        return False
    same_unit = base(other.unit) == base(row.unit)
    return same_unit and other.band is not None and other.band.fits(row.values, other.band.slack)


def _pair(row: BandRow, other: BandRow) -> Iterator[Doubt]:
    """The two as one question, told at both lines."""
    for mine, its in ((row, other), (other, row)):
        names = {"one": as_typed(row.position), "other": as_typed(other.position)}
        what = Sentence("{one} and {other} look exchanged: each fits the other's size", **names)
        if row.table.feature != other.table.feature:
            words = message("{one} and {other} look exchanged: each fits the other's band ({feature})")
            what = Sentence(words, feature=_title(its), **names)
        yield _left_out(mine, what, CONFIRM, asks=mine is row)


def _stray(row: BandRow, other: str) -> Doubt:
    what = Sentence(
        "{position} fits no size of {feature}, but the band of {other}",
        position=as_typed(row.position),
        feature=_title(row),
        other=spoken_of(other),
    )
    return _left_out(row, what, f"read at another place? {CONFIRM}")


class _Unlike(NamedTuple):
    """A position that reads like another size than the one in force."""

    row: BandRow
    recorded: TypedSize
    like: TypedSize


def _other_sizes(rows: list[BandRow], sizes: Sizes) -> Iterator[Doubt]:
    """Positions that read like a step nobody wrote down; two that read like each other's are exchanged."""
    by_feature: dict[tuple[str, str], list[_Unlike]] = defaultdict(list)
    for row in rows:
        if unlike := _unlike(row, rows, sizes):
            by_feature[row.table.round, row.table.feature].append(unlike)
    for found in by_feature.values():
        told: set[str] = set()
        for unlike in found:
            if unlike.row.position in told:
                continue
            mate = next(
                (other for other in found if (other.recorded, other.like) == (unlike.like, unlike.recorded)),
                None,
            )
            if mate is None:
                yield _of_no_record(unlike, sizes)
            else:
                told |= {unlike.row.position, mate.row.position}
                yield from _pair(unlike.row, mate.row)


def _unlike(row: BandRow, rows: list[BandRow], sizes: Sizes) -> _Unlike | None:
    feature = row.table.feature
    in_force = sizes.on(feature, row.position, row.table.day)
    width = max(row.band.high - row.band.low, GROUND * row.band.high) if row.band else 0.0
    if not row.of_length or any(row.fits(size, width) for size in in_force):
        return None
    others = {
        size
        for other in rows
        if other.table.feature == feature
        for size in sizes.on(feature, other.position, row.table.day)
    }
    possible = [STANDARD, *row.feature.steps, *sorted(others, key=lambda size: size.text)]
    like = next((size for size in possible if row.fits(size, width)), None)
    return None if like is None else _Unlike(row, in_force[-1], like)


def _of_no_record(unlike: _Unlike, sizes: Sizes) -> Doubt:
    row, recorded, like = unlike
    standard = Sentence("the standard size")
    feature, position = row.table.feature, row.position
    hint = (
        f"write it under sizes_as_found in teardown.yaml: feature: {feature}, "
        f"positions: {position}, size: {like.text or 'standard'}"
    )
    if like.mm > 0:
        hint += ", and sleeved: yes where it has a sleeve"
    if sizes.decided(feature, position):
        hint = "measure again, or write in work.yaml which size it was made to"
    said = Sentence(
        "{position} reads like {like}, and the records say {size}",
        position=as_typed(position),
        like=like.said or standard,
        size=recorded.said or standard,
    )
    what = Sentence("{what}: judged by what the records say", what=said)
    return doubted(row.table, row.first, what, hint, message=english(said), kept=row.spots)


def crossed(rows: list[BandRow], job: JobFolder, engine: Engine) -> Iterator[Doubt]:
    """Shafts of one round that would not go into their bores: the two exchanged, or one of them a slip."""
    sizes = Sizes(job, engine)
    at: dict[tuple[str, str], list[BandRow]] = defaultdict(list)
    for row in rows:
        if row.values and row.of_length:
            at[row.table.feature, row.position].append(row)
    for fit in engine.features.values():
        if not fit.outer or not fit.inner or _may_be_tight(fit):
            continue
        for (feature, position), outers in at.items():
            inners = at.get((fit.inner, position), [])
            if feature != fit.outer or len(outers) != 1 or len(inners) != 1:
                continue
            outer, inner = outers[0], inners[0]
            if _too_large_for(outer, inner) and not _of_other_size(outer, inner, sizes):
                yield from _tight(outer, inner)


def _may_be_tight(fit: FeatureRecord) -> bool:
    """A fit whose limits allow less than nothing is pressed."""
    limits = [*fit.new.values(), *fit.wear.values()]
    return any(end.value < 0 for limit in limits for end in limit.ends)


def _too_large_for(outer: BandRow, inner: BandRow) -> bool:
    """Whether the shaft is larger than its bore, by more than gauge and micrometers may be off together."""
    step = max(reading.resolution * factor(reading.unit, "mm") for reading in outer.first.readings)
    tight = min(outer.values) - max(inner.values) < -max(OFF_TOGETHER, step / 2)
    return tight and not outer.confirmed and not inner.confirmed


def _of_other_size(outer: BandRow, inner: BandRow, sizes: Sizes) -> bool:
    """Whether one of the two is of a size that the other was not yet made to, or reads like it.

    New parts of another size wait for their bores.
    """
    for row in (outer, inner):
        if any(size.text for size in sizes.on(row.table.feature, row.position, row.table.day)):
            return True
    steps = [*outer.feature.steps, *inner.feature.steps]
    slack = GROUND * max(outer.values)
    return any(row.fits(size, slack) for row in (outer, inner) for size in steps)


def _tight(outer: BandRow, inner: BandRow) -> Iterator[Doubt]:
    names = {"position": as_typed(inner.position), "one": _title(inner), "other": _title(outer)}
    if _fits_band_of(outer, inner) and _fits_band_of(inner, outer):
        said = Sentence(
            "{position} of {one} and of {other} look exchanged: each fits the other's band", **names
        )
        what = Sentence("{what}, and the one would not go into the other", what=said)
        hint = CONFIRM
    else:
        said = Sentence("{position} of {one} would not go into {position} of {other}", **names)
        what = Sentence("{what}: the readings of one of them cannot be right", what=said)
        hint = f"a slip in one of the two lines? {CONFIRM}"
    for row, its in ((outer, inner), (inner, outer)):
        told = f"{english(said)} (line {its.first.line})"
        yield _left_out(row, what, hint, told, asks=row is outer)


def _fits_band_of(row: BandRow, its: BandRow) -> bool:
    return its.band is not None and its.band.fits(row.values, its.band.high - its.band.low)


def _title(row: BandRow) -> Text:
    return spoken_of(row.table.feature, row.feature.title)


def _left_out(row: BandRow, what: Text, hint: str, told: str = "", asks: bool = True) -> Doubt:
    return of_readings(row.table, row.first, what, hint, row.spots, out=True, message=told, asks=asks)
