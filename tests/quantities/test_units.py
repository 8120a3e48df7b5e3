"""Units against pint (a library outside the project) and against published conversions."""

from __future__ import annotations

import subprocess
import sys

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport import quantities
from rebuildreport.quantities import UnknownUnit, WrongDimension, units

REGISTRY = pint.UnitRegistry()
# the same units in pint's own words, written out by hand
IN_PINT = {
    "mm": "millimeter",
    "µm": "micrometer",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "thou": "thou",
    "N·m": "newton * meter",
    "lbf·ft": "force_pound * foot",
    "lbf·in": "force_pound * inch",
    "kgf·m": "kilogram_force * meter",
    "bar": "bar",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "psi": "force_pound / inch ** 2",
    "N": "newton",
    "kN": "kilonewton",
    "lbf": "force_pound",
    "g": "gram",
    "kg": "kilogram",
    "lb": "pound",
    "deg": "degree",
    "cm³": "centimeter ** 3",
    "L": "liter",
    "in³": "inch ** 3",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "km": "kilometer",
    "mi": "mile",
    "percent": "percent",
    "rpm": "revolution / minute",
    "N/mm": "newton / millimeter",
    "lbf/in": "force_pound / inch",
    "°C": "degC",
    "°F": "degF",
}
# numbers of a scale of their own, which pint does not know
NUMBERS = {"count", "to 1", "mg/kg", "HRC", "HB", "HV", "ShA"}
SCALES = [name for name in IN_PINT if not name.startswith("°")]
VALUES = st.floats(-1e5, 1e5, allow_nan=False)


def _pairs() -> list[tuple[str, str]]:
    return [(a, b) for a in IN_PINT for b in IN_PINT if units.dimension(a) == units.dimension(b)]


def test_every_unit_of_the_table_is_checked() -> None:
    assert {*IN_PINT, *NUMBERS} == {*units._TABLE, "°C", "°F"}


@pytest.mark.parametrize("name", sorted(NUMBERS))
def test_a_number_of_its_own_scale_turns_into_nothing_else(name: str) -> None:
    assert units.factor(name, name) == 1.0
    assert units.partner(name, "in") is None and units.partner(name, "mm") is None
    for other in {*IN_PINT, *NUMBERS} - {name}:
        with pytest.raises(WrongDimension):
            units.factor(name, other)


@pytest.mark.parametrize("name", SCALES)
def test_factor_to_base_is_pints(name: str) -> None:
    base = units.BASE[units.dimension(name)]
    expected = REGISTRY.Quantity(1.0, IN_PINT[name]).to(IN_PINT[base]).magnitude
    assert units.factor(name, base) == pytest.approx(expected, rel=1e-12)


# the trade's own shorthand, which pint does not know or reads otherwise ('lb ft' is mass times length to it)
SHORTHAND = {'"', "N m", "Nm", "N.m", "%", "per cent", "C", "F", "°", "lbf.ft", "ft.lbf", "lbf.in", "kgf.m"}
SHORTHAND |= {"lb·ft", "lb ft", "lb.ft", "ft lb", "ft·lb", "ft-lb", "lb·in", "lb in"}
SHORTHAND |= {"ft-lbs", "ft lbs", "lb-ft", "lbs-ft", "lbs ft", "foot pounds", "N-m"}
SHORTHAND |= {"mkg", "mkgf", "kgm", "kg m", "kg·m", "kg-m", "mkp", "kpm", "kp·m"}
SHORTHAND |= {"cm3", "in3", "cu in", "1/min"}


@pytest.mark.parametrize(
    "typed", sorted({typed for typed, unit in units._SPELLINGS.items() if unit not in NUMBERS} - SHORTHAND)
)
def test_spelling_means_what_pint_reads(typed: str) -> None:
    name = units.canonical(typed)
    read, meant = REGISTRY.Unit(typed.replace("·", "*")), REGISTRY.Unit(IN_PINT[name])
    if name.startswith("°"):
        assert read == meant
    else:
        assert REGISTRY.Quantity(1.0, read).to(meant).magnitude == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("typed", sorted(SHORTHAND))
def test_shorthand_stands_for_a_unit_of_the_table(typed: str) -> None:
    assert units.canonical(typed) in IN_PINT


@settings(max_examples=300, deadline=None)
@given(pair=st.sampled_from(_pairs()), value=VALUES)
def test_conversion_is_pints_and_comes_back(pair: tuple[str, str], value: float) -> None:
    unit, to = pair
    there = quantities.convert(value, unit, to)
    expected = REGISTRY.Quantity(value, IN_PINT[unit]).to(IN_PINT[to]).magnitude
    assert there == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert quantities.convert(there, to, unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


def test_known_conversions() -> None:
    """Figures that pint 0.25 gave in a separate run (COMPUTED pint), to the digits listed."""
    assert quantities.convert(1, "lbf·ft", "N·m") == pytest.approx(1.355818, abs=5e-7)
    assert quantities.convert(85, "lbf·ft", "N·m") == pytest.approx(115.2445, abs=5e-5)
    assert quantities.convert(100, "N·m", "lbf·ft") == pytest.approx(73.7562, abs=5e-5)
    assert quantities.convert(1, "psi", "kPa") == pytest.approx(6.894757, abs=5e-7)
    assert quantities.convert(1, "in³", "cm³") == pytest.approx(16.387064, abs=1e-12)


def test_exact_definitions() -> None:
    """Inch and pound by the international agreement of 1959: exact in mm and kg."""
    assert quantities.convert(0.010, "in", "mm") == 0.254
    assert quantities.convert(1, "in", "mm") == 25.4
    assert quantities.convert(1, "lb", "g") == pytest.approx(453.59237, rel=1e-15)


@pytest.mark.parametrize(
    ("typed", "fahrenheit", "celsius"),
    [
        ("freezing", 32.0, 0.0),
        ("boiling", 212.0, 100.0),
        ("reference, ISO 1", 68.0, 20.0),
        ("crossing", -40.0, -40.0),
    ],
)
def test_temperature_fixed_points(typed: str, fahrenheit: float, celsius: float) -> None:
    assert quantities.convert(fahrenheit, "°F", "°C") == pytest.approx(celsius, abs=1e-12)
    assert quantities.convert(celsius, "°C", "°F") == pytest.approx(fahrenheit, abs=1e-12)


@pytest.mark.parametrize(
    ("rare", "dimension", "base_value"),
    [
        ("ft", "length", 304.8),
        ("inHg", "pressure", 0.0338638),
        ("oz", "mass", 28.349523125),
        ("turn", "angle", 360.0),
    ],
)
def test_rare_units_come_from_pint(rare: str, dimension: str, base_value: float) -> None:
    """Foot and ounce from the agreement of 1959; inch of mercury 3386.38 Pa as in NIST SP 811 (MEMORY)."""
    assert units.dimension(rare) == dimension
    assert units.factor(rare, units.BASE[dimension]) == pytest.approx(base_value, rel=3e-6)


@pytest.mark.parametrize(
    "text", ["MM", "nm", "Mm", "KG", "n·m", "mm mm", "m**9", "m^2", "1mm", "(mm)", "_", "", "℃"]
)
def test_look_alikes_are_questioned(text: str) -> None:
    """Case and stray signs change the unit to pint ('nm' is a nanometre): asked about, never taken."""
    with pytest.raises(UnknownUnit):
        units.canonical(text)


def test_a_frequency_is_no_speed_and_a_ratio_no_angle() -> None:
    """Pint takes 1 Hz for 1 rad/s, which is 9.55 rpm; a bench reads it as one turn a second."""
    assert units.dimension("Hz") != "speed"
    assert units.dimension("ppm") == "ratio"
    assert units.factor("ppm", "percent") == pytest.approx(1e-4)


@pytest.mark.parametrize(
    ("unit", "to"), [("mm", "N·m"), ("deg", "percent"), ("°C", "mm"), ("psi", "lbf"), ("h", "km")]
)
def test_other_dimensions_never_convert(unit: str, to: str) -> None:
    with pytest.raises(WrongDimension):
        quantities.convert(1.0, unit, to)


def test_everyday_units_never_load_pint() -> None:
    code = (
        "import sys; from rebuildreport import quantities as q\n"
        f"for u in {[*IN_PINT, *units._SPELLINGS]!r}: q.dimension(u)\n"
        "q.parse('85 lbf·ft').to('N·m'); sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
