"""Undersizes, oversizes and skims: the smallest step, and the least cut, at which all of it cleans up.

Sizes are diameters in mm.  A step keeps the words in which it is sold
("0.010 in"), because 0.010 in is 0.254 mm and not 0.25.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from ...quantities import NOTHING, Figure, Sentence, Text, message
from ..measuring.uncertainty import ZERO, Measured, combine
from ..measuring.verdict import DUST, Answer, reach, surely

POLISHED = 0.01  # mm that a polish takes off a diameter, at the most (common practice)

Band = tuple[float, float]


class Worn(Struct, frozen=True):
    """One journal or bore as it came: its worst diameter, and what else must go [mm]."""

    position: str
    worst: Measured  # journal: smallest reading; bore: largest
    score: Measured = ZERO  # depth of the deepest score, radial
    runout: Measured = ZERO  # total indicator reading about the axis that it is machined on
    wall: Measured | None = None  # of a bore: thinnest wall of its cylinder as it is
    fillet: Measured | None = None  # of a journal: radius of its smaller fillet as it is
    made: float = 0.0  # step that it was machined to before, on diameter; 0: standard

    def lost(self, nominal: float, bore: bool) -> Measured:
        """What its diameter has worn by since it was last machined; nothing where it has not [mm]."""
        worn = self.worst.shifted(-(nominal + self.made if bore else nominal - self.made))
        worn = worn if bore else worn.scaled(-1.0)
        return worn if worn.value > 0.0 else ZERO


class SizeStep(Struct, frozen=True):
    """A size that parts are made for."""

    name: str  # as sold: "0.25 mm", "0.010 in"
    size: float  # mm on diameter; 0: standard
    obtainable: bool = True
    parts: str = ""  # what is fitted then
    why_not: Text = NOTHING


class Rules(Struct, frozen=True):
    """What the sheet asks for when a size is chosen [mm]."""

    new: Band  # limits of a new surface
    allowance: float  # least stock on diameter, over scores and runout
    one_sided: bool  # whether all wear is taken to be on one side of the old axis
    smallest: float | None = None  # journal: no smaller than this
    largest: float | None = None  # bore: no larger than this
    hardened: float | None = None  # depth of the hardened layer of a new journal, radial
    hardened_left: float = 0.0  # of it must be left, radial
    wall_left: float | None = None  # of a cylinder's wall must be left
    fillet: float | None = None  # of a journal: least radius of its fillets


class Trial(Struct, frozen=True):
    """One step tried on everything that is machined together."""

    step: SizeStep
    aim: float  # the middle of its band
    band: Band
    governing: str  # the position with the least stock
    stock: float  # on diameter there, under the deepest score
    needed: float  # of it there: allowance and runout
    u: float
    cleans_up: Answer
    against: tuple[Text, ...]  # what else stands against the step
    stock_other_way: float  # with the other assumption on the side of the wear
    other_way: Answer  # whether it cleans up all the same
    wall_left: float | None = None

    @property
    def good(self) -> bool:
        """Whether this step surely serves."""
        return self.cleans_up == "yes" and not self.against


class SizeChoice(Struct, frozen=True):
    """The steps tried, smallest first, and the one to take; None where none serves."""

    trials: tuple[Trial, ...]
    chosen: Trial | None
    maybe: Trial | None  # a smaller step that is too close to call: a better reading may save it

    @property
    def next_one(self) -> Trial | None:
        """The next step that would serve as well."""
        good = [trial for trial in self.trials if trial.good]
        return good[1] if len(good) > 1 else None


def stock(worn: Worn, aim: float, nominal: float, bore: bool, one_sided: bool) -> Measured:
    """What is left to take off the diameter at one place when it goes to ``aim`` [mm].

    The deepest score counts twice.  Where all wear is on one side of the axis
    that is kept, a two-point reading shows only half of what the diameter has
    lost there, so the wear counts twice, too (needed ≥ nominal + 2·(largest −
    nominal) for a bore).  Wear is what is lost since the surface was last
    machined: of a bore that is at an oversize already, from that oversize.

    Source: common practice of crankshaft grinding and of boring; geometry of two-point readings.

    >>> worn = Worn("M4", Measured(75.812), Measured(0.035))
    >>> round(stock(worn, 75.480, 75.980, bore=False, one_sided=False).value, 6)
    0.262
    >>> round(stock(Worn("C3", Measured(84.120)), 84.510, 84.010, bore=True, one_sided=True).value, 6)
    0.28
    """
    sign = -1.0 if bore else 1.0
    left = combine([(sign, worn.worst), (-2.0, worn.score)]).shifted(-sign * aim)
    return left - worn.lost(nominal, bore) if one_sided else left


def choose_size(
    worn: Sequence[Worn], steps: Sequence[SizeStep], rules: Rules, bore: bool, guarded: bool = True
) -> SizeChoice:
    """The smallest step at which every one of ``worn`` surely cleans up and for which parts can be had.

    A step serves where the stock at every place exceeds the allowance and the
    runout by the guard band, where parts for it can be had, and where the
    smallest or largest diameter, the hardened layer and the wall allow it.
    ``steps`` are tried from the smallest on; a bore's may be oversizes of a
    sleeve as well as of the block.

    Source: common practice of crankshaft grinding and of boring; ISO 14253-1 for the guard.

    >>> rules = Rules(new=(75.970, 75.990), allowance=0.050, one_sided=False)
    >>> steps = [SizeStep("0.25 mm", 0.25), SizeStep("0.50 mm", 0.50)]
    >>> choice = choose_size([Worn("M4", Measured(75.812), Measured(0.035))], steps, rules, bore=False)
    >>> choice.chosen.step.name, [round(trial.stock, 3) for trial in choice.trials]
    ('0.50 mm', [0.012, 0.262])
    """
    if not worn:
        return SizeChoice((), None, None)
    by_size = sorted(steps, key=lambda step: step.size)
    trials = tuple(_trial(worn, step, rules, bore, guarded) for step in by_size)
    chosen = next((trial for trial in trials if trial.good), None)
    before = trials[: trials.index(chosen)] if chosen else trials
    maybe = next((t for t in before if t.cleans_up == "too close" and not t.against), None)
    return SizeChoice(trials, chosen, maybe)


def _trial(worn: Sequence[Worn], step: SizeStep, rules: Rules, bore: bool, guarded: bool) -> Trial:
    low, high = rules.new
    nominal = (low + high) / 2.0
    move = step.size if bore else -step.size
    aim = nominal + move
    band = (round(low + move, 9), round(high + move, 9))
    left, others = (
        [stock(surface, aim, nominal, bore, one_sided) for surface in worn]
        for one_sided in (rules.one_sided, not rules.one_sided)
    )
    margins, spare = (
        [(has - surface.runout).shifted(-rules.allowance) for has, surface in zip(ways, worn, strict=True)]
        for ways in (left, others)
    )
    at = min(range(len(worn)), key=lambda i: margins[i].value)
    walls = [
        _wall(surface.wall, surface, aim, nominal, rules.one_sided)
        for surface in worn
        if surface.wall is not None
    ]
    wall = min(walls, key=lambda left: left.value, default=None)
    against = [] if step.obtainable else [step.why_not or Sentence("no parts of this size can be had")]
    if bore:
        against += _against_bore(band, wall, rules, guarded)
    else:
        against += _against_journals(worn, aim, nominal, band, rules, guarded)
    tightest = min(range(len(worn)), key=lambda i: spare[i].value)
    return Trial(
        step,
        round(aim, 9),
        band,
        worn[at].position,
        left[at].value,
        rules.allowance + worn[at].runout.value,
        margins[at].u,
        surely(margins[at], guarded),
        tuple(against),
        others[tightest].value,
        surely(spare[tightest], guarded),
        wall.value if wall else None,
    )


def _against_bore(band: Band, wall: Measured | None, rules: Rules, guarded: bool) -> Iterator[Text]:
    """What stands against boring to a band, beside what is left to take off."""
    if rules.largest is not None and band[1] > rules.largest + DUST:
        largest = Figure(f"{rules.largest:.3f}")
        yield Sentence("larger than the greatest bore of {largest} mm", largest=largest)
    if wall is None or rules.wall_left is None:
        return
    enough = surely(wall.shifted(-rules.wall_left), guarded)
    if enough != "yes":
        words = message("{walls} mm of wall would be left, {wall_left} needed")
        if enough == "too close":
            words = message("{walls} mm of wall would be left, too near the {wall_left} needed")
        yield Sentence(words, walls=Figure(f"{wall.value:.2f}"), wall_left=Figure(f"{rules.wall_left:.2f}"))


def _against_journals(
    worn: Sequence[Worn], aim: float, nominal: float, band: Band, rules: Rules, guarded: bool
) -> Iterator[Text]:
    """What stands against grinding to a band, beside what is left to take off."""
    if rules.smallest is not None and band[0] < rules.smallest - DUST:
        smallest = Figure(f"{rules.smallest:.3f}")
        yield Sentence("smaller than the least diameter of {smallest} mm", smallest=smallest)
    if rules.hardened is not None:
        left = hardened_left(rules.hardened, nominal, aim)
        if left < rules.hardened_left - DUST:
            yield Sentence(
                "{left} mm of the hardened layer would be left, {hardened_left} needed",
                left=Figure(f"{max(left, 0.0):.2f}"),
                hardened_left=Figure(f"{rules.hardened_left:.2f}"),
            )
    if rules.fillet is not None:
        yield from _fillets(worn, aim, rules.fillet, guarded)


def hardened_left(depth: float, nominal: float, aim: float) -> float:
    """What is left of a hardened layer once a journal is ground to ``aim``, radial [mm].

    Source: geometry: half of what comes off the diameter comes off each side.

    >>> round(hardened_left(1.2, 75.980, 74.980), 3)
    0.7
    """
    return depth - (nominal - aim) / 2.0


def fillet_spare(size: Measured, fillet: Measured, aim: float, wanted: float) -> Measured:
    """By how much a journal ground to ``aim`` is deep enough to have its fillet brought to ``wanted`` [mm].

    A larger radius in the same corner needs material that the smaller one has
    taken away, unless the journal goes down: from radius r to R by R − r on
    the radius.  Negative: not deep enough.

    Source: geometry of two arcs tangent to the same cheek.

    >>> round(fillet_spare(Measured(75.97), Measured(3.8), 75.48, 4.0).value, 4)
    0.045
    """
    return combine([(0.5, size), (1.0, fillet)]).shifted(-aim / 2.0 - wanted)


def _fillets(worn: Sequence[Worn], aim: float, wanted: float, guarded: bool) -> Iterator[Text]:
    """Fillets that the step cannot surely bring to their least radius."""
    for journal in worn:
        if journal.fillet is None:
            continue
        deep = surely(fillet_spare(journal.worst, journal.fillet, aim, wanted), guarded)
        if deep != "yes":
            yield Sentence(
                "the fillet of {position}, {value} mm, {sure} for {wanted} mm at this size",
                position=journal.position,
                value=Figure(f"{journal.fillet.value:.1f}"),
                sure=Sentence("is too deep in its corner") if deep == "no" else Sentence("is too near"),
                wanted=Figure(f"{wanted:.1f}"),
            )


def left_behind(
    worn: Sequence[Worn], step: SizeStep, rules: Rules, bore: bool, guarded: bool = True
) -> list[str]:
    """The positions that one step does not serve, each tried alone.

    Source: as ``choose_size``.

    >>> rules = Rules(new=(84.0, 84.02), allowance=0.05, one_sided=False)
    >>> ones = [Worn("C1", Measured(84.06)), Worn("C2", Measured(84.60))]
    >>> left_behind(ones, SizeStep("0.50 mm", 0.50), rules, bore=True)
    ['C2']
    """
    return [surface.position for surface in worn if not _trial([surface], step, rules, bore, guarded).good]


def _wall(wall: Measured, worn: Worn, aim: float, nominal: float, one_sided: bool) -> Measured:
    """The thinnest wall after boring: half of what comes off the diameter, and what the axis moves."""
    old, grown = nominal + worn.made, worn.lost(nominal, bore=True).value
    # a bore centred on its wear moves its axis by half the wear, towards the worn side: assume the thin one
    shift = 0.0 if one_sided else grown / 2.0
    return wall.shifted(-(aim - old) / 2.0 - shift)


def polish_only(smallest: Measured, score: float, limit: float | None, guarded: bool = True) -> bool:
    """Whether a journal may stay at its size with a polish: no score is deeper, no limit passed [mm].

    Source: common practice: a polish takes about 0.005 to 0.01 mm off the diameter.

    >>> polish_only(Measured(75.968), 0.0, 75.950), polish_only(Measured(75.968), 0.035, 75.950)
    (True, False)
    """
    deep = 2.0 * score > POLISHED + DUST
    return not deep and (limit is None or surely(smallest.shifted(-POLISHED - limit), guarded) == "yes")


# ---------------------------------------------------------------- skims
# A cut of t [mm] moves all that is measured from the face by t: a piston or a liner stands t higher over a
# skimmed deck, a valve lies t less deep in a skimmed head.


CUT_STEP = 0.01  # mm: no shop sets a cut finer (common practice)


class Cut(Struct, frozen=True):
    """What one cut takes off a face, and what it leaves of the part."""

    taken: float
    cleans_up: Answer
    height: Measured | None  # of the part afterwards; None: it was not measured
    high_enough: Answer | None  # None: no height, or no least height


def least_cut(gap: Measured, allowance: float = 0.0, guarded: bool = True, step: float = CUT_STEP) -> float:
    """The least that surely cleans a face up: its worst gap with its guard, and the allowance [mm].

    It is rounded up to a whole ``step``.  A cutter that runs parallel to the
    straightedge must reach the deepest place under it.

    Source: common practice; ISO 14253-1 (guard band).

    >>> least_cut(Measured(0.12), 0.02), least_cut(Measured(0.071))
    (0.14, 0.08)
    """
    _, up = reach(gap, guarded)
    return round(math.ceil((gap.value + up + allowance) / step - 1e-6) * step, 9)


def most_cut(height: Measured, least: float, guarded: bool = True, step: float = CUT_STEP) -> float:
    """The most that may come off a part of this height and surely leave its least height [mm].

    It is rounded down to a whole ``step``, and never below 0.

    Source: ISO 14253-1 (guard band).

    >>> round(most_cut(Measured(92.45), 92.00), 6)
    0.45
    """
    down, _ = reach(height, guarded)
    return round(max(0.0, math.floor((height.value - down - least) / step + 1e-6)) * step, 9)


def cut(
    taken: float,
    gap: Measured | None,
    allowance: float = 0.0,
    height: Measured | None = None,
    least: float | None = None,
    guarded: bool = True,
) -> Cut:
    """One cut tried: whether it cleans the face up, and whether enough of the part is left [mm].

    Without a ``gap`` nothing says that it cleans up.

    Source: common practice; ISO 14253-1 (guard band).

    >>> tried = cut(0.15, Measured(0.12), 0.02, Measured(92.45), 92.00)
    >>> tried.cleans_up, round(tried.height.value, 3), tried.high_enough
    ('yes', 92.3, 'yes')
    """
    answer: Answer = (
        "too close" if gap is None else surely(gap.scaled(-1.0).shifted(taken - allowance), guarded)
    )
    left = None if height is None else height.shifted(-taken)
    enough = None if left is None or least is None else surely(left.shifted(-least), guarded)
    return Cut(taken, answer, left, enough)
