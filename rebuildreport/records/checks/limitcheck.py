"""Limits of a sheet held against each other and against their kind, before any reading is blamed.

In: a sheet whose words are known.  Out: a question at the line of the limit that cannot be meant.
What a reading says of a limit is a matter of ``doubts``.
"""

from __future__ import annotations

from ...quantities import dimension
from ...quantities.units import BASE
from ...trade.kinds import KINDS
from ...trade.measuring.plausibility import INCH, Band, mistaken_scale
from ...trade.measuring.verdict import Ends
from ..files.measured import base
from ..files.sheet import Engine, FeatureRecord
from ..text.fields import Interval
from ..text.notes import Notes, circle
from ..text.reader import Where

# Common practice, no source: a new clearance, gap or float may be ten times its least at the most (0.0005 to
# 0.005 in under a valve guide's seal); a size that is turned, bored or ground varies by less than 1 %.
MOST_WORN = 1.1  # of a size to a new one's, whatever it is of (common practice)
WIDEST_GAP, WIDEST_SIZE = 10.0, 0.01
# sizes of parts that go together are alike within this share; beyond it a factor of 25.4 is looked for
ALIKE = 0.3
HALF_STEP = 1e-9


def check_limits(notes: Notes, engine: Engine) -> None:
    """Each limit alone, new beside wear, and sizes beside the clearance that is made of them."""
    for name, feature in engine.features.items():
        if feature.kind not in KINDS:
            continue
        _measured_in(notes, ("features", name, "unit"), feature)
        for place, limit in feature.all_limits:
            if place[0] in ("new", "wear"):
                _alone(notes, ("features", name, *place), feature, place[-1], limit)
        for key in feature.new.keys() & feature.wear.keys():
            _worn(notes, ("features", name, "wear", key), feature, key)
        _joined(notes, name, feature, engine)
    # a limit that is another feature's (``see``) ends at one that is a number
    seen = {
        name: {limit.see for _, limit in feature.all_limits if limit.see}
        for name, feature in engine.features.items()
    }
    name, *way = circle(seen) or [""]
    for place, limit in engine.features[name].all_limits if way else ():
        if limit.see == way[0]:
            message = f"'see {limit.see}' leads back to {name}: no number stands at its end"
            notes.error(("features", name, *place), message, "the limit itself, as on the page")


# what the families of instruments read that read no length
READ_AS = {
    "angle": "angle",
    "load": "force",
    "loss": "ratio",
    "mass": "mass",
    "pressure": "pressure",
    "volume": "volume",
}


def _measured_in(notes: Notes, where: Where, feature: FeatureRecord) -> None:
    """The unit of a feature is of what the instruments of its kind read: a compression is no length."""
    families, unit = KINDS[feature.kind].instruments, feature.unit
    if not families or "hardness" in families or not base(unit):
        return
    wanted = sorted({READ_AS.get(one, "length") for one in families})
    own = dimension(unit)
    if own not in (*wanted, "count"):
        is_read = f"{feature.kind.replace('_', ' ')} is read as {' or '.join(wanted)}"
        notes.error(where, f"{unit} is a unit of {own}, and {is_read}", BASE.get(wanted[0], ""))


def limit_unit(feature: FeatureRecord, key: str) -> str:
    """The unit in which a bare limit of this name stands: its own (a share, an angle), or the feature's."""
    kind = KINDS.get(feature.kind)
    traits = kind.traits.values() if kind else ()
    own = next((trait.unit for trait in traits if trait.limit == key and trait.unit), "")
    return own or feature.unit


def _alone(notes: Notes, where: Where, feature: FeatureRecord, key: str, limit: Interval) -> None:
    """Two units in one limit, a band too wide to be meant, a limit on the side that nothing wears to."""
    kind = KINDS[feature.kind]
    units = {end.unit for end in limit.ends} - {""}
    if len(units) > 1:
        notes.warn(where, f"two units in one limit: {' and '.join(sorted(units))}?", "one unit for both ends")
    if limit.low and limit.high:
        unit = limit_unit(feature, key)
        ends = limit.sound(unit, unit)
        _width(notes, where, limit, ends, size=key in ("size", "wall"))
    elif limit.low and any(trait.from_zero for trait in kind.traits.values() if trait.limit == key):
        message = f"'min {limit.low}' of a deviation: the larger, the worse"
        notes.warn(where, message, f"max {limit.low}?")
    elif limit.high and any(trait.falls for trait in kind.traits.values() if trait.limit == key):
        message = f"'max {limit.high}' passes whatever is lower, and {kind.trait(key).title} falls with wear"
        notes.warn(where, message, f"min {limit.high}?")


def _width(notes: Notes, where: Where, limit: Interval, ends: Ends, size: bool) -> None:
    low, high = ends
    if low is None or high is None or low <= 0:
        return
    most = 1.0 + WIDEST_SIZE if size else WIDEST_GAP
    if high <= most * low + HALF_STEP:
        return
    share = f"{100.0 * (high / low - 1.0):.0f} % wide" if size else f"{high / low:.0f} times its least"
    notes.warn(where, f"'{limit}' is {share}: a point or a digit astray?", _narrower(limit, most))


def _narrower(limit: Interval, most: float) -> str:
    """The limit with a point moved in one of its ends, where that makes a likely one."""
    assert limit.low and limit.high
    moved = ((limit.low, limit.high.shifted(-1)), (limit.low.shifted(1), limit.high))
    likely = [str(Interval(low, high)) for low, high in moved if low.value < high.value <= most * low.value]
    return f"{', or '.join(likely)}?" if likely else "check both ends against the page"


# a limit for a worn surface is seldom six times the one for a new one (common practice): ten is a point
TEN_TIMES = 10.0


def _worn(notes: Notes, where: Where, feature: FeatureRecord, key: str) -> None:
    """A surface used again may be worse than a new one, never has to be better."""
    new, wear = feature.new[key], feature.wear[key]
    unit = limit_unit(feature, key)
    new_ends, worn_ends = new.sound(unit, unit), wear.sound(unit, unit)
    pairs = [(worn, fresh) for worn in worn_ends for fresh in new_ends if worn and fresh]
    if key == "size" and min((max(pair) / min(pair) for pair in pairs), default=1.0) > MOST_WORN:
        message = f"'{wear}' is no worn '{new}': a point astray, or another unit?"
        notes.warn(where, message, "check both against the page")
        return
    low, high = new_ends[1], worn_ends[1]
    if key != "size" and low and high and 0 < low * TEN_TIMES <= high:
        message = f"'{wear}' for a worn one is {high / low:.0f} times '{new}': a point astray?"
        notes.warn(where, message, "check both against the page")
    if not _tighter(worn_ends, new_ends):
        return
    hint = "check both against the page"
    if not _tighter(new_ends, worn_ends):
        hint = f"new and wear exchanged? new: {wear}, wear: {new}"
    notes.warn(where, f"'{wear}' for a worn one is tighter than '{new}' for a new one", hint)


def _tighter(wear: Ends, new: Ends) -> bool:
    (low, high), (new_low, new_high) = wear, new
    below = high is not None and new_high is not None and high < new_high - HALF_STEP
    above = low is not None and new_low is not None and low > new_low + HALF_STEP
    return below or above


def _size_band(feature: FeatureRecord | None) -> Band | None:
    """What a part measures when new [mm], all of its size limits together; None where they are open."""
    if feature is None or base(feature.unit) != "mm":
        return None
    walls = [limit for place, limit in feature.all_limits if place[0] in ("wall", "grades")]
    sizes = [feature.new.get(key) for key in ("size", *feature.columns)]
    ends = [limit.sound(feature.unit, "mm") for limit in walls or sizes if limit]
    lows = [low for low, _ in ends if low]
    highs = [high for _, high in ends if high]
    return Band(min(lows), max(highs)) if lows and highs else None


def _joined(notes: Notes, name: str, fit: FeatureRecord, engine: Engine) -> None:
    """Sizes of a fit beside each other, then their difference beside the clearance that is asked for."""
    parts = (fit.housing or fit.outer, fit.journal or fit.inner)
    outer, inner = (_size_band(engine.features.get(part)) for part in parts)
    if outer is None or inner is None:
        return
    # of the two the smaller number is in inches: the larger one has a unit that suits it
    small, large = sorted(zip((outer, inner), parts, strict=True))
    if abs(small[0].high * INCH / large[0].high - 1.0) < ALIKE:
        feature = engine.features[small[1]]
        key = next(key for key in ("size", *feature.columns) if key in feature.new)
        message = f"'{feature.new[key]}' {feature.unit} beside {large[1]} of {large[0].low:.4g} mm"
        hint = "write its unit behind it, as in 2.9910 to 2.9918 in"
        notes.warn(("features", small[1], "new", key), f"{message}: is the limit in inches?", hint)
        return
    walls = _size_band(engine.features.get(fit.shells)) if fit.shells else Band(0.0, 0.0)
    if walls is not None and "clearance" in fit.new and base(fit.unit) == "mm":
        made = Band(outer.low - inner.high - 2.0 * walls.high, outer.high - inner.low - 2.0 * walls.low)
        _clearance(notes, ("features", name, "new", "clearance"), fit, made)


def _clearance(notes: Notes, where: Where, fit: FeatureRecord, made: Band) -> None:
    limit = fit.new["clearance"]
    by = mistaken_scale([end for end in limit.sound(fit.unit, "mm") if end is not None], made)
    if by in (INCH, 1.0 / INCH):
        message = f"'{limit}' beside sizes that leave {made.low:.3f} to {made.high:.3f} mm"
        notes.warn(where, message, f"is the limit in {'inches' if by == INCH else 'millimetres'}?")
