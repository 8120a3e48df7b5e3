"""Valve train, volumes, drives, rods and oil against handbooks, geometry and worked cases."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from rebuildreport.quantities import english
from rebuildreport.trade.engine import bearings, crank, cylinders, drives, oil_pressure, valve_train
from rebuildreport.trade.engine.cautions import Nature, cautions_for
from rebuildreport.trade.kinds import KINDS, Inputs
from rebuildreport.trade.measuring.gauges import FAMILIES, WORDS, family, tolerance, too_coarse
from rebuildreport.trade.measuring.uncertainty import DoubtSource, Instrument, Measured, propagate, read


def test_propagation_is_that_of_the_uncertainties_library() -> None:
    x, y = (
        Measured(3.2, {DoubtSource("a", ""): 0.02}),
        Measured(1.7, {DoubtSource("a", ""): 0.01, DoubtSource("b", ""): 0.03}),
    )
    found = propagate(lambda a, b: a * math.sin(b) / (a + b), x, y)
    from uncertainties import umath

    a, b = ufloat(0.0, 1.0), ufloat(0.0, 1.0)
    p, q = 3.2 + 0.02 * a, 1.7 + 0.01 * a + 0.03 * b
    wanted = p * umath.sin(q) / (p + q)
    assert found.value == pytest.approx(wanted.nominal_value)
    assert found.u == pytest.approx(wanted.std_dev, rel=1e-3)


def test_compression_ratio_of_the_check_values() -> None:
    """Bore and stroke 86, chamber 45, dish 3.5, gasket 87 x 1.2, deck 0.5: 58.538 and 9.534 (COMPUTED)."""
    rest = cylinders.clearance_volume(45.0, 3.5, 1.2, 87.0, 86.0, 0.5)
    assert rest == pytest.approx(58.538, abs=0.0005)
    bore, chamber, bowl, gasket, deck = (Measured(v) for v in (86.0, 45.0, 3.5, 1.2, 0.5))
    ratio = cylinders.compression_ratio(bore, 86.0, chamber, bowl, gasket, 87.0, deck)
    assert ratio.value == pytest.approx(9.534, abs=0.0005)
    assert cylinders.displacement(86.0, 86.0, 4) / 16.387064 == pytest.approx(121.94, abs=0.005)


def test_ratio_and_its_doubt_by_the_uncertainties_library() -> None:
    chamber, deck = (
        Measured(45.0, {DoubtSource("burette", ""): 0.3}),
        Measured(0.5, {DoubtSource("dial", ""): 0.01}),
    )
    exact = [Measured(v) for v in (86.0, 3.5, 1.2)]
    found = cylinders.compression_ratio(exact[0], 86.0, chamber, exact[1], exact[2], 87.0, deck)
    swept = math.pi / 4 * 8.6**2 * 8.6
    rest = ufloat(45.0, 0.3) + 3.5 + math.pi / 4 * 8.7**2 * 0.12 + math.pi / 4 * 8.6**2 * ufloat(0.05, 0.001)
    wanted = (swept + rest) / rest
    assert found.value == pytest.approx(wanted.nominal_value)
    assert found.u == pytest.approx(wanted.std_dev, rel=1e-4)


def test_chain_of_a_twin_cam() -> None:
    """20 pitches of 8.000 measured 161.05: 0.656 % (worked out in exact decimals, demo D2)."""
    assert drives.elongation(Measured(161.05), 8.0, 20).value == pytest.approx(0.65625)
    # ISO 606: 12.70 mm pitch, 17 teeth: pitch circle 69.12 mm (MEMORY of the sprocket tables)
    assert drives.pitch_diameter(12.70, 17) == pytest.approx(69.12, abs=0.01)


@given(st.floats(0.0, 2.0), st.floats(100.0, 900.0), st.integers(20, 60))
def test_timing_error_by_turning_the_sprocket(percent: float, run: float, teeth: int) -> None:
    """Second method: a run longer by one pitch turns the cam by one tooth, 360/z, near enough for z >= 20."""
    pitch = 9.525
    late = drives.timing_error(Measured(percent), run, pitch, float(teeth)).value
    tooth_by_tooth = 2.0 * (percent / 100.0 * run / pitch) * (360.0 / teeth)
    assert late == pytest.approx(tooth_by_tooth, rel=0.006)


def test_shims_of_a_twin_cam() -> None:
    """Shims that fit, worked out in exact decimals (demo D2): stocked from 2.00 to 3.00 by 0.05."""
    stock = [round(2.0 + 0.05 * i, 2) for i in range(21)]
    cases = {
        ("2.60", "0.08", 0.15, 0.22): [2.50],
        ("2.65", "0.07", 0.15, 0.22): [2.50, 2.55],
        ("2.55", "0.19", 0.15, 0.22): [2.55],
        ("2.20", "0.21", 0.25, 0.32): [2.10, 2.15],
        ("2.60", "0.30", 0.25, 0.32): [2.60, 2.65],
    }
    for (shim, lash, low, high), sizes in cases.items():
        zero = valve_train.zero_shim(Measured(float(shim)), Measured(float(lash)))
        assert [size for size, _ in valve_train.shims_that_fit(zero.value, low, high, stock)] == sizes


def test_spring_rate_of_a_handbook_spring() -> None:
    """R = G·d⁴/(8·D³·n) (EN 13906-1): d 4, D 28, n 5.5, G 81500 gives 21.6 N/mm; loads made from it."""
    stiff = 81500.0 * 4.0**4 / (8.0 * 28.0**3 * 5.5)
    free = 52.0
    closed, opened = stiff * (free - 40.0), stiff * (free - 31.0)
    found = valve_train.rate(Measured(closed), Measured(opened), 40.0, 31.0)
    assert found.value == pytest.approx(stiff) and found.value == pytest.approx(21.6, abs=0.05)
    fitted = valve_train.load_at(Measured(40.8), Measured(closed), 40.0, found)
    assert fitted.value == pytest.approx(stiff * (free - 40.8))


def test_a_rate_carries_the_testers_error_over_the_span_of_its_two_loads() -> None:
    """By hand: 400 of 1000 N lie between them, so 10/sqrt 3 N acts once (ISO 3611), over 10 mm."""
    tester = Instrument("tester", 1.0, 10.0, 1.0, range=1000.0)
    closed, opened = read(300.0, tester, "r", "closed"), read(700.0, tester, "r", "open")
    found = valve_train.rate(closed, opened, 40.0, 30.0)
    assert found.share("permitted error") == pytest.approx(0.57735, abs=1e-5)
    assert found.share("reading") == pytest.approx(math.sqrt(2.0) * tester.random() / 10.0)


def test_a_lift_carries_the_micrometers_error_once() -> None:
    """Nose at 38.9 and base circle at 30 mm: 4 um/sqrt 3 = 2.309 um, as a reading from zero (by hand)."""
    mic = Instrument("mic", 0.001, 0.004, 0.001, range=25.0)
    found = valve_train.lift(read(38.9, mic, "r", "n"), read(30.0, mic, "r", "b"))
    assert found.share("permitted error") == pytest.approx(2.309e-3, abs=1e-6)


def test_where_the_range_is_not_known_a_load_and_its_rate_share_the_tester() -> None:
    tester = Instrument("tester", 1.0, 10.0, 1.0)
    closed, opened = read(300.0, tester, "r", "closed"), read(700.0, tester, "r", "open")
    found = valve_train.rate(closed, opened, 40.0, 30.0)
    assert found.share("permitted error") == pytest.approx(0.0, abs=1e-12)
    assert found.u == pytest.approx(math.sqrt(2.0) * tester.random() / 10.0)
    assert valve_train.lift(read(38.9, tester, "r", "n"), read(30.0, tester, "r", "b")).u < 2.5


def test_fits_of_iso_286() -> None:
    """25 H7/f6: clearance 20 to 54 micrometres (ISO 286-2 tables)."""
    low, high = bearings.running_clearance(
        {"a": Measured(25.000), "b": Measured(25.021)}, {"a": Measured(24.967), "b": Measured(24.980)}
    )
    assert (round(1000 * low.value), round(1000 * high.value)) == (20, 54)


def test_rods() -> None:
    assert crank.over_length(Measured(0.06), 150.0).value == pytest.approx(0.04)
    with pytest.raises(ValueError, match="distance"):
        crank.over_length(Measured(0.06), 0.0)
    masses = {"R1": Measured(700.0), "R2": Measured(706.0), "R3": Measured(703.0)}
    readings = {rod: {"whole": mass} for rod, mass in masses.items()}
    *_, apart = KINDS["matched"].compute(Inputs(tuple(masses), ("whole",), readings))
    assert apart.measured is not None
    assert (apart.name, apart.measured.value) == ("whole_spread", 6.0)
    assert english(apart.note) == "R1 least, R2 most"


def test_oil_pressure() -> None:
    """Common practice: 10 psi for each 1000 revolutions a minute; pressure does not fall as speed rises."""
    assert oil_pressure.rule_of_thumb(1000.0) == pytest.approx(10 * 0.0689476, rel=0.02)

    def read_at(*pressures: float) -> dict[float, Measured]:
        gauge = Instrument("gauge", 0.1, 0.4, range=10.0)
        return {
            turns: read(pressure, gauge, "hot", str(turns))
            for turns, pressure in zip((800.0, 1800.0, 3000.0), pressures, strict=True)
        }

    assert oil_pressure.falls_with_speed(read_at(1.0, 3.0, 3.0)) is None
    assert oil_pressure.falls_with_speed(read_at(1.0, 3.0, 2.5)) == (1800.0, 3000.0)
    # by hand: 0.3 bar of the 1 bar that is a tenth of its range leaves sqrt 0.3 of 0.4/sqrt 3, steps add
    # 0.1/sqrt 6: twice u is 0.266, so 0.3 is a fall, though one reading's doubt is 0.466; and 0.1 bar is none
    assert oil_pressure.falls_with_speed(read_at(1.0, 3.0, 2.7)) == (1800.0, 3000.0)
    assert oil_pressure.falls_with_speed(read_at(1.0, 3.0, 2.9)) is None


def test_leak_down() -> None:
    assert cylinders.leak_down(100.0, 58.0) == pytest.approx(42.0)
    assert cylinders.leak_down(0.0, 0.0) == 100.0  # no supply pressure proves nothing tight


@pytest.mark.parametrize(
    ("kind", "sort"),
    [
        ("inside micrometer", "bore"),  # what catalogues call a bore micrometer of two points
        ("telescoping gauge", "bore"),
        ("dial bore gauge", "bore"),
        ("dial caliper", "outside"),
        ("dial indicator", "travel"),
        ("micrometer depth gauge", "depth"),
        ("ball-anvil micrometer", "wall"),
        ("spring scale", "load"),
        ("kitchen scales", "mass"),
    ],
)
def test_instruments_by_the_names_of_their_trade(kind: str, sort: str) -> None:
    assert family(kind) == sort


def test_a_tenth_of_the_tolerance() -> None:
    """'A 0.01 mm reading cannot decide a 0.013 mm band' (common practice)."""
    assert too_coarse(0.01, tolerance((75.970, 75.983), (75.970, 75.983)))
    assert not too_coarse(0.001, tolerance((75.970, 75.983), (75.970, 75.983)))
    assert tolerance((None, 0.30), (None, None)) is None  # a lone size limit has no width
    assert tolerance((None, 0.30), (None, None), from_zero=True) == 0.30
    assert set(WORDS) == set(FAMILIES)
    assert family("bench comparator") == "outside" and family("rod alignment fixture") == "alignment"


STEPS = (
    "camshaft valve spring turn crankshaft cylinder head flywheel sump water pump injector piston ring "
    "timing chain"
)
# what an engine has not: no word of it may stand in a caution about it
HAS_NOT = (
    (Nature(cooling="air"), ("cooling", "radiator", "water")),
    (Nature(fuel="diesel"), ("spark",)),
    (Nature(fuel="gasoline"), ("glow",)),
    (Nature(fuel="gasoline", cylinders=1), ("plugs",)),
    (Nature(strokes=2), ("valve", "cam drive", "spring")),
    (Nature(displacement=98.0), ("heavy", "lifting")),
    (Nature("petrol", "air", 2, 98.0), ("cooling", "injectors or", "valve", "glow", "lifting")),
)


@pytest.mark.parametrize(
    ("nature", "words"),
    [(Nature(fuel="diesel"), ("throttle", "spark")), (Nature(fuel="gasoline"), ("injector", "glow"))],
)
def test_a_compression_is_asked_for_by_what_fires_the_engine(nature: Nature, words: tuple[str, ...]) -> None:
    for columns in (("pressure",), ("pressure", "wet")):
        said = english(KINDS["compression"].asks(columns, nature))
        assert not [word for word in words if word in said]
        assert ("rings from valves" in said) == ("wet" in columns)


@pytest.mark.parametrize(("nature", "words"), HAS_NOT)
@pytest.mark.parametrize("verb", ["take", "fit", "do", "mark", "check", "hold"])
def test_cautions_speak_of_what_an_engine_has(nature: Nature, words: tuple[str, ...], verb: str) -> None:
    minded = [caution.text for caution in cautions_for(verb, STEPS.replace("water pump", ""), nature)]
    said = " ".join(map(english, (*minded, *nature.apart, nature.turning.text))).lower()
    assert not [word for word in words if word in said]


@pytest.mark.parametrize("fuel", ["", "diesel", "gasoline"])
def test_what_stands_under_injection_pressure_comes_off_with_its_caution(fuel: str) -> None:
    """Gasoline injected straight into the cylinder stands at 50 to 350 bar: 7 bar go through skin.

    Source: 7 bar (100 psi) are said to breach skin in the surgical literature on injection injuries; MEMORY.
    """
    for name in ("injectors", "fuel_rail", "Hochdruckpumpe"):
        (fuel_caution,) = cautions_for("take", name, Nature(fuel=fuel))
        said = english(fuel_caution.text)
        assert "through skin" in said and "see a doctor at once" in said


def test_an_engine_of_which_nothing_is_known_is_minded_whole() -> None:
    """Nothing that may hurt is left out because a sheet does not speak of it."""
    known = Nature("gasoline", "water", 4, 2000.0)
    for verb in ("take", "fit", "do", "mark", "check", "hold"):
        assert len(cautions_for(verb, STEPS)) >= len(cautions_for(verb, STEPS, known))
    said = english(Nature().turning.text)
    assert "Plugs or injectors out" in said and "valves meet pistons" in said
