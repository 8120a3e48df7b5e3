"""What a reading is worth: standard uncertainty by its sources, kept apart so that shared ones cancel.

The governing idea: a value carries a signed contribution from every
independent source of error.  Two readings by one micrometer in one session
share the micrometer's permitted error; in their difference the two
contributions meet under the same source and cancel, while each reading's own
resolution and repeatability stay.  Sums and differences of readings are
linear, so this is the law of propagation of uncertainty with correlations
(JCGM 100:2008, 5.2) without approximation.

How much of a permitted error cancels is decided by the span between the two
readings, for every kind alike.  A permitted error is a bound for any span of
the scale, wherever the zero lies (ISO 3611:2010, 5.1: floating zero).  Two
diameters of one journal are read at one place of the scale, and nothing of it
is left in their difference; a lobe's nose and its base circle are not, and
their difference carries it once, like a reading from zero.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import NamedTuple

from msgspec import Struct, field
from msgspec.structs import replace

REFERENCE_TEMPERATURE = 20.0  # °C, ISO 1:2022

# Linear expansion, 1/K. Steel 11.5e-6 and aluminium 23.1e-6: NIST J. Res. 99 (1994) 31;
# aluminium rounded and grey iron as in handbook tables. Castings scatter by about a tenth.
EXPANSION = {"iron": 10.5e-6, "steel": 11.5e-6, "aluminium": 23.0e-6}
EXPANSION_DOUBT = 0.10  # relative half-width, rectangular; common practice
TEMPERATURE_DOUBT = 1.0  # °C half-width of a stated workshop temperature, rectangular; common practice
# Half-width of what may still lie between a part and an instrument that soaked together, rectangular: ten
# times what a laboratory keeps (±0.05 °C, JCGM 100:2008, H.1); common practice, a shop may state its own.
SOAKED_WITHIN = 0.5  # °C
SCALE_MATERIAL = "steel"


# Over this share of its range an instrument's error is taken to be as large as over all of it; over less it
# grows as the square root of the span. Of a dial of 0.01 mm and 10 mm, JIS B 7503:2011 (as reprinted) permits
# over a tenth of a turn, half a turn and a turn 0.33, 0.60 and 0.67 of what it permits over all; this gives
# 0.32, 0.71 and 1. That other instruments err alike is an assumption of this project.
REACH = 0.1


class DoubtSource(NamedTuple):
    """One independent source of error: what kind, and whose.

    An error that changes along a scale stands at a place ``at`` of it, and is another one
    ``reach`` further on; ``reach`` 0: it is the same everywhere.
    """

    kind: str  # "permitted error", "reading", "setting", "temperature", "expansion", "wall band"
    whose: str
    at: float = 0.0
    reach: float = 0.0
    instrument: str = ""  # whose permitted error it is
    noted: bool = True  # False: of one that stands in where nobody noted which it was


class Measured(Struct, frozen=True):
    """A value with the signed standard-uncertainty contribution of every source.

    ``below`` and ``above`` are how far beside it the quantity may lie all the same: a feeler's leaf that
    goes in says that the gap is as wide at least, and less than the next leaf, and nothing in between.

    >>> a = Measured(10.0, {DoubtSource("permitted error", "mic"): 3.0, DoubtSource("reading", "a"): 1.0})
    >>> b = Measured(8.0, {DoubtSource("permitted error", "mic"): 3.0, DoubtSource("reading", "b"): 1.0})
    >>> (a - b).value, round((a - b).u, 3), round((a + b).u, 3)
    (2.0, 1.414, 6.164)
    """

    value: float
    parts: Mapping[DoubtSource, float] = field(default_factory=dict)
    below: float = 0.0
    above: float = 0.0

    @property
    def u(self) -> float:
        """Combined standard uncertainty [same unit as the value]."""
        return math.hypot(_together(self.parts), rectangular((self.below + self.above) / 2.0))

    def __add__(self, other: Measured) -> Measured:
        return combine(((1.0, self), (1.0, other)))

    def __sub__(self, other: Measured) -> Measured:
        return combine(((1.0, self), (-1.0, other)))

    def scaled(self, by: float) -> Measured:
        """The value times an exact number."""
        return combine(((by, self),))

    def shifted(self, by: float) -> Measured:
        """The value plus an exact number."""
        return replace(self, value=self.value + by)

    @property
    def size(self) -> Measured:
        """The value without its sign."""
        return self if self.value >= 0.0 else self.scaled(-1.0)

    def share(self, *kinds: str) -> float:
        """Standard uncertainty that comes from sources of these kinds alone."""
        return _together({source: part for source, part in self.parts.items() if source.kind in kinds})


ZERO = Measured(0.0)  # known to be nothing


def alone(value: float, u: float) -> Measured:
    """A value with one doubt, which it shares with nothing.

    Source: JCGM 100:2008, 5.1.2.

    >>> alone(0.05, 0.002).u
    0.002
    """
    return Measured(value, {DoubtSource("reading", f"{value!r} alone"): u} if u else {})


def _together(parts: Mapping[DoubtSource, float]) -> float:
    """The root of the summed squares, and of the products of what is alike along a scale.

    Two places of one scale are alike by 1 − span/reach (JCGM 100:2008, 5.2.2, with that coefficient).
    """
    square = 0.0
    scales: dict[tuple[str, str], list[tuple[DoubtSource, float]]] = {}
    for source, part in parts.items():
        square += part * part
        if source.reach:
            others = scales.setdefault(source[:2], [])
            for other, its in others:
                alike = 1.0 - abs(other.at - source.at) / source.reach
                if alike > 0.0:
                    square += 2.0 * alike * part * its
            others.append((source, part))
    return math.sqrt(max(0.0, square))


def combine(terms: Iterable[tuple[float, Measured]]) -> Measured:
    """A weighted sum of values; contributions from the same source add with their signs.

    Source: law of propagation of uncertainty, JCGM 100:2008, 5.2.2, for a linear function.

    >>> x = Measured(2.0, {DoubtSource("reading", "x"): 0.1})
    >>> combine([(2.0, x), (-1.0, x)]).u
    0.1
    """
    value = below = above = 0.0
    parts: dict[DoubtSource, float] = {}
    for weight, term in terms:
        value += weight * term.value
        down, up = (term.below, term.above) if weight > 0.0 else (-term.above, -term.below)
        below, above = below + weight * down, above + weight * up
        if weight == 1.0 and not parts:
            parts = dict(term.parts)
            continue
        for source, part in term.parts.items():
            parts[source] = parts.get(source, 0.0) + weight * part
    if not all(parts.values()):
        parts = {source: part for source, part in parts.items() if part}
    return Measured(round(value, 12), parts, round(below, 12), round(above, 12))


def mean(values: Iterable[Measured]) -> Measured:
    """The mean of several values, correlations kept.

    Source: JCGM 100:2008, 5.2.2.
    """
    several = list(values)
    return combine([(1.0 / len(several), value) for value in several])


def propagate(function: Callable[..., float], *terms: Measured) -> Measured:
    """A function of several values, each source of error carried through by its slope.

    Source: JCGM 100:2008, 5.1.2 and 5.2.2, with slopes by central differences over one standard uncertainty.

    >>> side = Measured(3.0, {DoubtSource("reading", "x"): 0.01})
    >>> area = propagate(lambda x, y: x * y, side, side)
    >>> round(area.value, 6), round(area.u, 6)
    (9.0, 0.06)
    """
    at = [term.value for term in terms]
    slopes = []
    for i, term in enumerate(terms):
        step = term.u or 1e-6 * max(1.0, abs(term.value))
        more, less = [*at], [*at]
        more[i] += step
        less[i] -= step
        slopes.append((function(*more) - function(*less)) / (2.0 * step))
    linear = combine(zip(slopes, terms, strict=True))
    return replace(linear, value=function(*at))


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a quantity known only to lie within ± ``half_width``.

    Source: JCGM 100:2008, 4.3.7.

    >>> round(rectangular(0.5), 4)  # a resolution of 1
    0.2887
    """
    return half_width / math.sqrt(3.0)


class Instrument(Struct, frozen=True):
    """An instrument as its certificate and the shop's trials describe it, in one unit throughout."""

    name: str
    resolution: float
    permitted_error: float
    repeatability: float = 0.0  # pooled standard deviation of one reading
    own_setting: bool = False  # its permitted error includes that of its own ring or standard
    range: float = 0.0  # from its smallest to its largest reading; 0: its error is taken as one everywhere
    leaves: bool = False  # it says which of its steps goes in, and which does not
    noted: bool = True  # False: it stands in where nobody noted which it was

    def error_at(self, place: float, session: str) -> dict[DoubtSource, float]:
        """Its permitted error in a reading at a place of its scale.

        Half of the variance belongs to the session's zero, which every difference loses, and half to
        the place: so a reading carries the whole, and a difference over a long span the whole as well.

        Source: ISO 3611:2010, 5.1 (it bounds any span); JCGM 100:2008, 4.3.7.

        >>> mic = Instrument("mic", 0.001, 0.004, range=25.0)
        >>> near, far = (Measured(0.0, mic.error_at(at, "r")) for at in (30.0, 39.0))
        >>> round(near.u, 5), round((far - near).u, 5)
        (0.00231, 0.00231)
        """
        whole = rectangular(self.permitted_error)
        zero = DoubtSource(
            "permitted error", f"{self.name} {session}", instrument=self.name, noted=self.noted
        )
        if not self.range or not whole:
            return {zero: whole}
        half = whole * math.sqrt(0.5)
        return {zero: half, zero._replace(at=place, reach=REACH * self.range): half}

    def random(self, typed_resolution: float = 0.0, repeats: int = 1) -> float:
        """Standard uncertainty of what differs from reading to reading.

        ``typed_resolution`` is one step of the last digit written down: a
        reading written coarser than the instrument shows is worth no more
        than its digits.  Repeats average the repeatability; the resolution
        stays, since a dial that rests on one line shows it every time.

        Source: JCGM 100:2008, 4.2.3 (mean of repeats) and F.2.2.1 (resolution).

        >>> round(Instrument("mic", 0.001, 0.004, 0.001).random(), 5)
        0.00104
        """
        step = 0.0 if self.leaves else max(self.resolution, typed_resolution)
        return math.hypot(rectangular(step / 2.0), self.repeatability / math.sqrt(repeats))


def read(
    value: float,
    instrument: Instrument,
    session: str,
    spot: str,
    typed_resolution: float = 0.0,
    repeats: int = 1,
    set_from: Instrument | None = None,
    set_at: float | None = None,
) -> Measured:
    """One reading (or the mean of repeats at one spot) as a value with its sources of error.

    ``session`` names what was measured without setting the instrument anew:
    readings of one instrument in one session share its permitted error, as
    far as they lie near each other on its scale.  An instrument that was
    ``set_from`` another (a bore gauge zeroed in a micrometer) shares that
    one's permitted error at the size ``set_at`` where it was set (None: that
    of the reading) and, once for the session, the resolution and
    repeatability of the setting.

    Source: JCGM 100:2008, 4.3.7 and 5.2; ISO 3611:2010, 5.1 for a permitted error over a span.

    >>> mic = Instrument("mic", 0.001, 0.004, 0.001)
    >>> a = read(75.968, mic, "arrival", "M1 front a")
    >>> b = read(75.964, mic, "arrival", "M1 front b")
    >>> round(a.u, 4), round((a - b).u, 4)
    (0.0025, 0.0015)
    """
    parts = {
        **instrument.error_at(value, session),
        DoubtSource("reading", f"{session} {spot}"): instrument.random(typed_resolution, repeats),
    }
    if set_from is not None:
        parts |= set_from.error_at(value if set_at is None else set_at, session)
        parts[DoubtSource("setting", f"{instrument.name} {session}")] = set_from.random()
    above = max(instrument.resolution, typed_resolution) if instrument.leaves else 0.0
    return Measured(value, {source: part for source, part in parts.items() if part}, above=above)


def carried(
    value: float,
    gauge: Instrument,
    reader: Instrument,
    session: str,
    spot: str,
    typed_resolution: float = 0.0,
    repeats: int = 1,
) -> Measured:
    """A size that a telescopic or small-hole gauge carries to a micrometer, which reads it there.

    The micrometer's error is that of its place, and cancels beside a journal that it read; its step and
    scatter act at each reading, and so does the scatter of the transfer, the gauge's repeatability.

    Source: JCGM 100:2008, 4.2.3 and 5.2; common practice of transfer gauges.

    >>> mic, telescopic = Instrument("mic", 0.001, 0.003, 0.001), Instrument("gauge", 0.001, 0.0, 0.006)
    >>> bore = carried(60.04, telescopic, mic, "s", "M1")
    >>> round((bore - read(60.0, mic, "s", "J1")).u, 4)
    0.0062
    """
    both = replace(reader, repeatability=math.hypot(reader.repeatability, gauge.repeatability))
    once = read(value, both, session, spot, typed_resolution, repeats)
    own = {source: part for source, part in gauge.error_at(value, session).items() if part}
    return replace(once, parts={**once.parts, **own})


def swing(reading: Measured) -> Measured:
    """A difference that was read as one, such as a runout: the way that a hand swung to and fro.

    Both its ends carry the reading's own doubt, and the permitted error acts by the way between them.

    Source: JCGM 100:2008, 5.2.2; ISO 3611:2010, 5.1 (a permitted error over a span).

    >>> dial = Instrument("dial", 0.01, 0.010, 0.003, range=10.0)
    >>> one = swing(read(0.04, dial, "s", "seat"))
    >>> one.value, round(one.share("reading"), 5), round(one.share("permitted error"), 5)
    (0.04, 0.00589, 0.00115)
    """
    parts: dict[DoubtSource, float] = {}
    for source, part in reading.parts.items():
        if source.kind == "reading":
            parts[source] = part * math.sqrt(2.0)
        elif source.kind != "permitted error":
            parts[source] = part
        elif source.reach:
            parts[source] = parts.get(source, 0.0) + part
            start = source._replace(at=source.at - reading.value)
            parts[start] = parts.get(start, 0.0) - part
    return replace(reading, parts=parts)


def at_reference(
    reading: Measured,
    part_material: str,
    part_temperature: float,
    scale_temperature: float | None,
    session: str,
    part: str = "",
    soaked_within: float = SOAKED_WITHIN,
) -> Measured:
    """A length reading corrected to 20 °C, with what the correction adds to its doubt.

    ``scale_temperature`` None means that part and instrument soaked together:
    then only the difference of their expansion acts, and what may be left
    between their temperatures, one value for all readings of a ``part`` in a
    session.  Temperatures in °C.

    L20 = L·[1 + α_scale·(T_scale − 20) − α_part·(T_part − 20)]

    Source: ISO 1:2022 (20 °C); the formula to first order as in JCGM 100:2008, H.1.

    >>> hot = at_reference(Measured(84.062), "aluminium", 45.0, 20.0, "arrival")
    >>> round(hot.value, 4)
    84.0137
    """
    soaked = scale_temperature is None
    scale_over = (part_temperature if soaked else scale_temperature or 0.0) - REFERENCE_TEMPERATURE
    part_over = part_temperature - REFERENCE_TEMPERATURE
    scale, alpha = EXPANSION[SCALE_MATERIAL], EXPANSION[part_material]
    length = reading.value
    corrected = length * (1.0 + scale * scale_over - alpha * part_over)
    doubt = rectangular(TEMPERATURE_DOUBT)
    parts = dict(reading.parts)
    if soaked:
        parts[DoubtSource("temperature", f"both {session}")] = length * (scale - alpha) * doubt
        parts[DoubtSource("temperature", f"left {session} {part}")] = (
            -length * alpha * rectangular(soaked_within)
        )
    else:
        parts[DoubtSource("temperature", f"scale {session}")] = length * scale * doubt
        parts[DoubtSource("temperature", f"part {session}")] = -length * alpha * doubt
    parts[DoubtSource("expansion", SCALE_MATERIAL)] = (
        length * scale_over * scale * rectangular(EXPANSION_DOUBT)
    )
    key = DoubtSource("expansion", part_material)
    parts[key] = parts.get(key, 0.0) - length * part_over * alpha * rectangular(EXPANSION_DOUBT)
    return replace(reading, value=corrected, parts={source: p for source, p in parts.items() if p})


def unknown_material(
    reading: Measured, off: float, session: str, part: str = "", soaked_within: float = SOAKED_WITHIN
) -> Measured:
    """A reading taken ``off`` degrees from 20 °C on an unknown material: not corrected, but doubted.

    The doubt covers anything from no expansion at all to that of aluminium [unit of the reading], and the
    part's own temperature as of steel, which lies half way.

    Source: JCGM 100:2008, 4.3.7 (rectangular distribution).

    >>> [round(unknown_material(Measured(80.0), off, "s").u, 4) for off in (20.0, 0.0)]
    [0.0212, 0.0003]
    """
    half = abs(reading.value * EXPANSION["aluminium"] * off)
    left = -reading.value * EXPANSION[SCALE_MATERIAL] * rectangular(soaked_within)
    more = {
        DoubtSource("expansion", f"unknown {session}"): rectangular(half),
        DoubtSource("temperature", f"left {session} {part}"): left,
    }
    return replace(reading, parts={**reading.parts, **{source: u for source, u in more.items() if u}})


def agreement(one: Measured, other: Measured) -> float:
    """E_n: how far two ways to one quantity disagree, in units of their joint expanded uncertainty.

    At most 1 in size where they agree.  Correlated sources cancel in the
    difference.  Infinite where neither carries any doubt and they differ.

    Source: ISO 13528:2022, E_n score, here on the correlated difference.

    >>> a, b = Measured(0.040, {DoubtSource("a", ""): 0.002}), Measured(0.050, {DoubtSource("b", ""): 0.002})
    >>> round(agreement(a, b), 2)
    -1.77
    """
    difference = one - other
    if difference.u == 0.0:
        return 0.0 if difference.value == 0.0 else math.copysign(math.inf, difference.value)
    return difference.value / (2.0 * difference.u)
