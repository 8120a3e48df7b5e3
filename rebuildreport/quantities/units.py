"""Units of the workshop: one table of exact factors, pint for everything else.

The table holds the units that a rebuild meets every day, each with its exact
factor to the unit that the project computes in (mm, N·m, bar ...).  A unit
outside the table is looked up once in pint, which is imported only then: a
run that meets only everyday units never pays for it.

Sources of the factors: the inch is 25.4 mm exactly and the pound is
0.453 592 37 kg exactly (international yard and pound agreement, 1959);
standard gravity is 9.806 65 m/s² exactly (3rd CGPM, 1901); the rest follows
by arithmetic.  The tests hold every factor against pint.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

INCH_MM = 25.4
POUND_KG = 0.45359237
GRAVITY = 9.80665
POUND_FORCE_N = POUND_KG * GRAVITY
FOOT_M = 0.3048

# dimension -> unit the project computes in; every factor below leads to it
BASE = {
    "length": "mm",
    "torque": "N·m",
    "pressure": "bar",
    "force": "N",
    "mass": "g",
    "angle": "deg",
    "volume": "cm³",
    "time": "h",
    "distance": "km",
    "ratio": "percent",
    "concentration": "mg/kg",
    "speed": "rpm",
    "temperature": "°C",
    "roughness": "µm",
    "spring rate": "N/mm",
    "count": "count",
    "compression ratio": "to 1",
    "Rockwell hardness": "HRC",
    "Brinell hardness": "HB",
    "Vickers hardness": "HV",
    "Shore hardness": "ShA",
}

# numbers that no other unit turns into
_SCALES = (
    "count",
    "concentration",
    "compression ratio",
    "Rockwell hardness",
    "Brinell hardness",
    "Vickers hardness",
    "Shore hardness",
)

# unit -> (dimension, factor to the base unit)
_TABLE: dict[str, tuple[str, float]] = {
    "mm": ("length", 1.0),
    "µm": ("length", 0.001),
    "cm": ("length", 10.0),
    "m": ("length", 1000.0),
    "in": ("length", INCH_MM),
    "thou": ("length", INCH_MM / 1000.0),
    "N·m": ("torque", 1.0),
    "lbf·ft": ("torque", POUND_FORCE_N * FOOT_M),
    "lbf·in": ("torque", POUND_FORCE_N * FOOT_M / 12.0),
    "kgf·m": ("torque", GRAVITY),
    "bar": ("pressure", 1.0),
    "kPa": ("pressure", 0.01),
    "MPa": ("pressure", 10.0),
    "psi": ("pressure", POUND_FORCE_N / (INCH_MM * INCH_MM) * 10.0),
    "N": ("force", 1.0),
    "kN": ("force", 1000.0),
    "lbf": ("force", POUND_FORCE_N),
    "g": ("mass", 1.0),
    "kg": ("mass", 1000.0),
    "lb": ("mass", POUND_KG * 1000.0),
    "deg": ("angle", 1.0),
    "cm³": ("volume", 1.0),
    "L": ("volume", 1000.0),
    "in³": ("volume", (INCH_MM / 10.0) ** 3),
    "s": ("time", 1.0 / 3600.0),
    "min": ("time", 1.0 / 60.0),
    "h": ("time", 1.0),
    "km": ("distance", 1.0),
    "mi": ("distance", 1.609344),
    "percent": ("ratio", 1.0),
    "mg/kg": ("concentration", 1.0),  # of traces, as laboratories give them: nobody reads 0.004 %
    "rpm": ("speed", 1.0),
    "N/mm": ("spring rate", 1.0),
    "lbf/in": ("spring rate", POUND_FORCE_N / INCH_MM),
    "count": ("count", 1.0),
    "to 1": ("compression ratio", 1.0),
    # hardness numbers are scales of their own: none is worked out from another
    "HRC": ("Rockwell hardness", 1.0),
    "HB": ("Brinell hardness", 1.0),
    "HV": ("Vickers hardness", 1.0),
    "ShA": ("Shore hardness", 1.0),
}

# the name above: what people type for it
_TYPED = {
    "µm": "um | μm | micron | microns",  # the second with a Greek mu, not the micro sign
    "in": '" | inch | inches',
    "N·m": "Nm | N.m | N*m | N m | N-m | newton metres",
    "lbf·ft": "lbf.ft | lbf*ft | lbf ft | ft·lbf | ft.lbf | ft lbf | "
    "lb·ft | lb ft | lb.ft | ft lb | ft·lb | ft-lb | ft-lbs | ft lbs | lb-ft | lbs-ft | lbs ft | foot pounds",
    "lbf·in": "lbf.in | lbf in | in·lbf | lb·in | lb in",
    "kgf·m": "kgf.m | kgf m | mkg | mkgf | kgm | kg m | kg·m | kg-m | mkp | kpm | kp·m",
    "deg": "° | degree | degrees",
    "ShA": "Shore A | Sh A",
    "cm³": "cc | cm3 | ml | mL",
    "in³": "in3 | cu in",
    "L": "l | litre | litres | liter | liters",
    "percent": "% | per cent",
    "rpm": "1/min",
    "h": "hours | hour | hr",
    "mi": "miles | mile",
    "°C": "degC | C",
    "°F": "degF | F",
    "lb": "lbs",
}
_SPELLINGS = {typed: unit for unit, words in _TYPED.items() for typed in words.split(" | ")}

# the units printed beside each other, metric and inch; a unit that is alone has no partner
_PARTNERS = {
    "length": ("mm", "in"),
    "torque": ("N·m", "lbf·ft"),
    "pressure": ("bar", "psi"),
    "force": ("N", "lbf"),
    "mass": ("g", "lb"),
    "volume": ("cm³", "in³"),
    "temperature": ("°C", "°F"),
    "distance": ("km", "mi"),
    "spring rate": ("N/mm", "lbf/in"),
}
# what a shop reads in one unit whatever it prints first (scales, burettes, roughness); what may stand beside
_KEPT = {"g": None, "cm³": "in³", "µm": None}
_BESIDE = " beside"


class UnknownUnit(ValueError):
    """A unit that neither the table nor pint knows."""


class WrongDimension(ValueError):
    """Two units that measure different things, such as mm and N·m."""


def spellings() -> list[str]:
    """Every unit and every way of typing one that the table knows."""
    return [*_TABLE, *_SPELLINGS]


@lru_cache(maxsize=512)  # asked twenty thousand times for one engine, of a dozen units
def canonical(unit: str) -> str:
    """The project's spelling of a unit as typed.

    >>> canonical("Nm"), canonical("inch"), canonical("ft lb")
    ('N·m', 'in', 'lbf·ft')

    Raises UnknownUnit where nobody knows the unit.
    """
    text = " ".join(unit.split())
    text = _SPELLINGS.get(text, text)
    if text in _TABLE or text in ("°C", "°F"):
        return text
    _from_pint(text)
    return text


@lru_cache(maxsize=512)
def dimension(unit: str) -> str:
    """What a unit measures: 'length', 'torque', 'pressure' ...

    >>> dimension("thou"), dimension("psi"), dimension("°C")
    ('length', 'pressure', 'temperature')
    """
    name = canonical(unit)
    if name in ("°C", "°F"):
        return "temperature"
    return (_TABLE.get(name) or _from_pint(name))[0]


@lru_cache(maxsize=512)
def factor(unit: str, to: str) -> float:
    """How many ``to`` one ``unit`` is (scale units only, not temperatures).

    >>> factor("in", "mm"), round(factor("lbf·ft", "N·m"), 6)
    (25.4, 1.355818)

    Raises UnknownUnit or WrongDimension.
    """
    source, target = canonical(unit), canonical(to)
    if source == target:
        return 1.0
    if "°C" in (source, target) or "°F" in (source, target):
        raise WrongDimension(f"{unit} and {to} differ by an offset; use convert()")
    one, other = _TABLE.get(source) or _from_pint(source), _TABLE.get(target) or _from_pint(target)
    if one[0] != other[0]:
        raise WrongDimension(f"{unit} is a {one[0]}, {to} is a {other[0]}")
    return one[1] / other[1]


def convert(value: float, unit: str, to: str) -> float:
    """A value in another unit of the same dimension; temperatures included.

    >>> convert(0.010, "in", "mm")
    0.254
    >>> round(convert(68.0, "°F", "°C"), 9)
    20.0

    Raises UnknownUnit or WrongDimension.
    """
    if unit == to and unit in _TABLE:
        return value
    source, target = canonical(unit), canonical(to)
    if source == target:
        return value
    if (source, target) == ("°F", "°C"):
        return (value - 32.0) / 1.8
    if (source, target) == ("°C", "°F"):
        return value * 1.8 + 32.0
    return value * factor(source, target)


def partner(unit: str, system: str) -> str | None:
    """The unit of ``system`` ('mm' for metric, 'in' for inch) for a quantity in ``unit``.

    None where the trade uses one unit everywhere (per cent, degrees, rpm).  Grams and cubic
    centimetres stay what they are in both systems, as ``beside`` another one cm³ is in³.

    >>> partner("mm", "in"), partner("psi", "mm"), partner("percent", "in")
    ('in', 'bar', None)
    >>> partner("cm³", "in"), partner("cm³", beside("in")), partner("g", "in"), partner("kg", "in")
    ('cm³', 'in³', None, 'lb')
    """
    name = canonical(unit)
    if name in _KEPT:
        return _KEPT[name] if system.endswith(_BESIDE) or not _KEPT[name] else name
    metric, inch = _PARTNERS.get(dimension(unit), (None, None))
    return inch if system.startswith("in") else metric


def beside(system: str) -> str:
    """The system that stands second in a shop which prints ``system`` first.

    Source: naming rule of this project.

    >>> beside("in"), beside("mm")
    ('mm beside', 'in beside')
    """
    return ("mm" if system.startswith("in") else "in") + _BESIDE


# A unit for pint: names joined by · * / with an index at most.  Blanks, powers and brackets are refused:
# pint would read 'mm mm' as an area and work out any power it is given.
_PLAIN = re.compile(r"[^\W\d][\w·./°²³]*(?:\*[^\W\d][\w·./°²³]*)*")


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint  # the one place that knows the unit library; loaded only for a rare unit

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except OSError:  # no folder to keep the parsed definitions in: parse them anew
        return pint.UnitRegistry()


@lru_cache(maxsize=128)
def _from_pint(unit: str) -> tuple[str, float]:
    if not _PLAIN.fullmatch(unit) or _differs_in_case(unit):
        raise UnknownUnit(f"'{unit}' is not a unit that I know")
    registry = _registry()
    try:
        quantity = registry.Quantity(1.0, unit.replace("·", "*"))
        turning = {"radian", "turn", "revolution", "arcminute", "arcsecond"} & {
            *re.split(r"\W+", str(quantity.units))
        }
        for name, base in BASE.items():
            if name in _SCALES:
                continue
            # pint takes a ratio for an angle and a frequency for a speed (1 Hz as 9.55 rpm)
            if name == "temperature" or (name in ("angle", "speed") and not turning):
                continue
            if name == "ratio" and turning:
                continue
            probe = {"percent": "percent", "deg": "degree"}.get(base, base)
            probe = probe.replace("·", "*").replace("³", "**3")
            if quantity.check(registry.Quantity(1.0, probe).dimensionality):
                return name, float(quantity.to(probe).magnitude)
        return str(quantity.dimensionality), float(quantity.to_base_units().magnitude)
    except Exception as problem:  # pint raises half a dozen unrelated classes for bad text
        raise UnknownUnit(f"'{unit}' is not a unit that I know") from problem


def _differs_in_case(unit: str) -> bool:
    """Whether only the case sets it apart from a workshop unit: 'MM', 'nm' for N·m, 'Mm'.

    To pint these are megamolar, nanometre and megametre; nobody at a bench means them.
    """
    return any(unit.casefold() == known.casefold() for known in (*_TABLE, *_SPELLINGS))


def everyday() -> dict[str, tuple[str, float, tuple[str, ...]]]:
    """Every unit of the table: dimension, factor to the unit that is computed in, what people type for it.

    >>> everyday()["thou"][:2], everyday()["deg"][2]
    (('length', 0.0254), ('°', 'degree', 'degrees'))
    """
    typed = {unit: tuple(words.split(" | ")) for unit, words in _TYPED.items()}
    return {unit: (kind, by, typed.get(unit, ())) for unit, (kind, by) in _TABLE.items()}
