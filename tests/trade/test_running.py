"""Crank loads, gas pressure and balance: exact derivatives, text-book results, what every bench knows."""

from __future__ import annotations

import time
from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildreport.trade.measuring.uncertainty import Measured
from rebuildreport.trade.running.balance import bob_weight, in_planes, shaking
from rebuildreport.trade.running.crankloads import (
    CrankLoads,
    FiringCylinder,
    MovingMasses,
    crank_loads,
    estimated_masses,
    layout,
)
from rebuildreport.trade.running.films import PlainBearing, film_map
from rebuildreport.trade.running.gas import (
    DIESEL,
    GASOLINE,
    Burn,
    GasCycle,
    cycle_of,
    likely_burns,
    mean_pressure,
    measured,
    work,
)
from rebuildreport.trade.running.mechanism import Mechanism, per_second
from rebuildreport.trade.running.orbits import orbits

FOUR = Mechanism(86.0, 86.0, 143.0)
V_ORDER = list("18436572")  # of a cross-plane V8, odd numbers on the left: common practice
V_THROWS = [["1", "2"], ["3", "4"], ["5", "6"], ["7", "8"]]
V_LEANS = {name: -45.0 if int(name) % 2 else 45.0 for name in V_ORDER}


def inline(order: str) -> list[FiringCylinder]:
    return layout(list(order), [[name] for name in sorted(order)])


def four_at(revolutions: float, torque: float = 150.0) -> CrankLoads:
    cycle = cycle_of(FOUR, 9.5, mean_pressure(torque, 1998.2))
    return crank_loads(inline("1342"), FOUR, estimated_masses(86.0), cycle, revolutions)


@given(st.floats(40, 120), st.floats(40, 140), st.floats(1.5, 2.4), st.floats(0, 2 * pi))
@settings(max_examples=60, deadline=None)
def test_acceleration_is_the_second_derivative(
    bore: float, stroke: float, ratio: float, angle: float
) -> None:
    """COMPUTED: central differences of the drop, whose own values are checked in its examples."""
    one, step, omega = Mechanism(bore, stroke, stroke * ratio), 1e-4, 300.0
    before, here, after = (float(one.drop(angle + d)) for d in (-step, 0.0, step))
    second = (after - 2 * here + before) / step**2 * omega**2 / 1e3
    assert float(one.acceleration(angle, omega)) == pytest.approx(second, rel=2e-4, abs=2.0)


def test_the_slider_crank_of_a_worked_case() -> None:
    """COMPUTED, own script: throw 43, rod 143, 6000 1/min."""
    omega = per_second(6000)
    drops = [float(FOUR.drop(np.radians(at))) for at in (30, 60, 90, 120)]
    assert drops == pytest.approx([7.3864, 26.4339, 49.6182, 69.4339], abs=1e-4)
    assert float(FOUR.acceleration(np.pi, omega)) == pytest.approx(-11871.1, abs=0.1)
    assert float(FOUR.acceleration(np.pi / 2, omega)) == pytest.approx(-5352.3, abs=0.1)
    turn = np.radians(np.arange(0, 180, 0.01))
    speeds = np.gradient(FOUR.drop(turn), turn) * omega / 1000
    assert float(speeds.max()) == pytest.approx(28.221, abs=1e-3)
    assert float(np.degrees(turn[int(speeds.argmax())])) == pytest.approx(74.50, abs=0.02)


@pytest.mark.parametrize(
    ("ratio", "torque", "burn", "inlet"),
    [(9.5, 150.0, GASOLINE, 1.0), (18.0, 125.0, DIESEL, 1.0), (17.0, 300.0, DIESEL, 2.0)],
)
def test_the_cycle_does_the_work_of_the_torque(ratio: float, torque: float, burn: Burn, inlet: float) -> None:
    """Its mean pressure, summed by another rule, is what the torque asks for with 1.6 bar of friction.

    A gasoline engine at rated torque peaks somewhere from 45 to 75 bar, a diesel from 65 to 100, blown
    from 110 to 180 (common practice).
    """
    wanted = mean_pressure(torque, 1998.2)
    cycle = cycle_of(FOUR, ratio, wanted, burn, inlet=inlet)
    volume = FOUR.volume(np.radians(cycle.angles), ratio)
    done = np.trapezoid(np.append(cycle.pressure, cycle.pressure[0]), np.append(volume, volume[0]))
    assert done / (pi / 4 * 8.6**2 * 8.6) == pytest.approx(wanted + 1.6, rel=0.005)
    assert work(FOUR, cycle) == pytest.approx(wanted + 1.6, rel=1e-6)
    low, high = (45.0, 75.0) if burn is GASOLINE else (110.0, 180.0) if inlet > 1 else (65.0, 100.0)
    assert low < cycle.peak < high
    late, early = (cycle_of(FOUR, ratio, wanted, one, inlet=inlet).peak for one in likely_burns(burn))
    assert late < cycle.peak < early
    trace = measured(cycle.angles.tolist(), cycle.pressure.tolist())
    assert np.allclose(trace.pressure, cycle.pressure) and np.allclose(
        trace.at(cycle.angles - 720), cycle.pressure
    )


def test_which_half_carries_what() -> None:
    """Common practice: firing load on the rod's upper half and the main's cap; at high speed and little load
    the rod's lower half is loaded near the upper dead centre of gas exchange."""
    slow = four_at(1500)
    rod = slow.rods["1"]
    assert rod.upper_share > 0.85 and 0 < rod.peak_at < 40
    assert all(main.upper_share < 0.15 for main in slow.mains)
    fast = four_at(6500, torque=15.0).rods["1"]
    assert abs(fast.peak_at - 360) < 20
    assert fast.in_shell[1][int(fast.size.argmax())] < 0
    assert fast.upper_share < rod.upper_share


def test_inertia_alone_and_gas_alone() -> None:
    """At the firing dead centre gas less inertia; 0.45 kg at 22 080 m/s² is 9936 N (COMPUTED, own script)."""
    still = GasCycle(np.arange(-360.0, 360.0, 2.0), np.ones(360))
    one = [FiringCylinder("1", 0.0, 0.0, 0)]
    masses = MovingMasses(450.0, 1e-9)
    pulled = crank_loads(one, FOUR, masses, still, 6000).rods["1"]
    assert pulled.up[0] == pytest.approx(-9936, abs=1)
    pressed = GasCycle(still.angles, np.full(360, 51.0))
    pushed = crank_loads(one, FOUR, masses, pressed, 1).rods["1"]
    assert pushed.up[0] == pytest.approx(5.0 * pi / 4 * 86**2, rel=1e-4)


def test_loads_over_all_mains_are_those_of_all_throws() -> None:
    """Nothing is lost: the mains together bear what the rods and their big ends put on the crank."""
    loads = four_at(4000)
    rods = sum(load.up for load in loads.rods.values())
    mains = sum(main.up for main in loads.mains)
    assert np.allclose(mains, -rods)
    pulled = crank_loads(
        inline("1342"),
        FOUR,
        estimated_masses(86.0),
        cycle_of(FOUR, 9.5, 9.4),
        4000,
        nose=(300.0, 0.0, 0.5),
    )
    still = crank_loads(inline("1342"), FOUR, estimated_masses(86.0), cycle_of(FOUR, 9.5, 9.4), 4000)
    moved = [a.right.mean() - b.right.mean() for a, b in zip(pulled.mains, still.mains, strict=True)]
    assert moved == pytest.approx([450.0, -150.0, 0.0, 0.0, 0.0], abs=1e-6)


def test_fewer_mains_than_throws_bear_by_levers() -> None:
    """Statics: two throws between two mains stand at a quarter and three quarters of the way; of a crank with
    three mains for four cylinders the middle one bears half of all where all throws are loaded alike."""
    cycle = cycle_of(FOUR, 9.5, 9.4)
    given = (FOUR, estimated_masses(86.0), cycle, 3000.0)
    five = crank_loads(inline("1342"), *given)
    three = crank_loads(inline("1342"), *given, mains=3)
    assert [one.name for one in three.mains] == ["M1", "M2", "M3"]
    assert np.allclose(sum(one.up for one in three.mains), sum(one.up for one in five.mains))
    throws = [-five.rods[name].up for name in "1234"]
    assert np.allclose(three.mains[1].up, 0.25 * (throws[0] + throws[3]) + 0.75 * (throws[1] + throws[2]))
    assert len(crank_loads(inline("1342"), *given, mains=4).mains) == 0  # they cannot stand evenly


def test_pins_follow_from_the_firing_order() -> None:
    """A cross-plane V8 has its pins at 0, 90, 270 and 180 degrees from the first (common practice)."""
    eight = layout(V_ORDER, V_THROWS, V_LEANS)
    first = eight[0].pin
    assert [(one.pin - first) % 360 for one in eight[::2]] == [0, 90, 270, 180]
    six = layout(
        list("123456"),
        [["1", "2"], ["3", "4"], ["5", "6"]],
        {n: 30.0 - 60 * (int(n) % 2) for n in "123456"},
        offset=60.0,
    )
    assert len({round(one.pin) for one in six}) == 6  # a split-pin V6 at 60 degrees has six
    with pytest.raises(ValueError, match="share a throw"):
        layout(["1", "3", "2", "4", "5", "6", "7", "8"], V_THROWS, V_LEANS)
    with pytest.raises(ValueError, match="each cylinder once"):
        layout(list("1332"), [["1"], ["2"], ["3"], ["4"]])


def test_rows_that_share_a_pin_fire_as_it_lets_them() -> None:
    """Common practice: a 90 degree V6 of three throws fires by 90 and 150 degrees in turn, a V twin of 45
    degrees by 405 and 315; no V8 has two neighbours of its order exchanged."""
    throws = [["1", "2"], ["3", "4"], ["5", "6"]]
    six = layout(list("165432"), throws, {n: 45.0 - 90 * (int(n) % 2) for n in "123456"})
    fires = sorted(one.fires for one in six)
    assert [after - before for before, after in zip(fires, [*fires[1:], 720], strict=True)] == [150, 90] * 3
    assert len({round(one.pin) for one in six}) == 3
    four = layout(list("1234"), [["1", "3"], ["2", "4"]], {"1": -45.0, "2": -45.0, "3": 45.0, "4": 45.0})
    fires = sorted(one.fires for one in four)  # a 90 degree V4 with its two pins opposite each other
    assert [after - before for before, after in zip(fires, [*fires[1:], 720], strict=True)] == [
        180,
        270,
        180,
        90,
    ]
    twin = layout(list("12"), [["1", "2"]], {"1": -22.5, "2": 22.5})
    assert [one.fires for one in twin] in ([0, 405], [0, 315])


@given(*[st.floats(-20, 20) for _ in range(2)], st.floats(10, 400), st.floats(-50, 150), st.floats(10, 300))
def test_an_unbalance_in_other_planes_is_the_same(
    front: float, rear: float, apart: float, first: float, further: float
) -> None:
    """Statics: the same force, and the same moment about the plane that was read first; read and corrected in
    the same planes it is what was read."""
    read = (Measured(front), Measured(rear))
    one, other = in_planes(read, (0.0, apart), (first, first + further))
    assert one.value + other.value == pytest.approx(front + rear, abs=1e-9)
    moment = first * one.value + (first + further) * other.value
    assert moment == pytest.approx(apart * rear, abs=1e-6)
    same = in_planes(read, (0.0, apart), (0.0, apart))
    assert [of.value for of in same] == pytest.approx([front, rear])


def _shaken(cylinders: list[FiringCylinder], apart: float = 90.0) -> list[tuple[int, int]]:
    places = {one.name: apart * one.throw for one in cylinders}
    return [(round(one.force), round(one.couple)) for one in shaking(cylinders, 500, 86, 143, places, 3000)]


def test_what_is_known_of_layouts() -> None:
    """Text-book results: an inline six shakes in neither order; an inline four with four times one piston's
    second order; a flat twin and an inline three by couples alone; a cross-plane V8 by one couple."""
    first = 0.5 * 0.043 * per_second(3000) ** 2
    assert _shaken(inline("153624")) == [(0, 0), (0, 0)]
    assert _shaken(inline("1342")) == [(0, 0), (round(4 * first * 43 / 143), 0)]
    twin = layout(list("12"), [["1"], ["2"]], {"1": -90.0, "2": 90.0})
    assert _shaken(twin, 40.0) == [(0, round(first * 0.040)), (0, round(first * 43 / 143 * 0.040))]
    three = _shaken(inline("132"))
    assert [force for force, _ in three] == [0, 0]
    assert three[0][1] == pytest.approx(first * sqrt(3) * 0.090, abs=1)
    eight = shaking(
        layout(V_ORDER, V_THROWS, V_LEANS),
        500,
        86,
        143,
        {n: 100.0 * ((int(n) - 1) // 2) for n in V_ORDER},
        3000,
    )
    assert eight[0].force < 1e-6 and eight[0].couple == pytest.approx(first * sqrt(10) * 0.1, rel=1e-6)
    assert eight[1].force < 1e-6 and eight[1].couple < 1e-6


def test_half_the_reciprocating_mass_balances_a_right_angled_v() -> None:
    """Text-book: the first order of a V2 at 90 degrees is one force that turns with the crank, of one
    piston's mass: a counterweight for half of both takes it away; a bob weight stands for that."""
    pair = layout(["1", "2"], [["1", "2"]], {"1": 45.0, "2": -45.0})
    first, _ = shaking(pair, 500, 86, 143, {"1": 0.0, "2": 0.0}, 3000)
    carried = bob_weight(1.0, 500.0) - 2.0  # half of both, without what turns
    assert first.force == pytest.approx(carried / 1000 * 0.043 * per_second(3000) ** 2, rel=1e-9)


@pytest.mark.parametrize(
    ("of", "match"),
    [
        (lambda: Mechanism(86, 86, 40), "rod is no longer"),
        (lambda: four_at(60_000), "60000 revolutions"),
        (lambda: MovingMasses(-1, 3), "above nought"),
        (lambda: cycle_of(FOUR, 9.5, 0.0), "torque"),
        (lambda: cycle_of(FOUR, 0.9, 9.0), "compression ratio"),
        (lambda: shaking(inline("1342"), 500, 86, 143, {"1": 0}, 3000), "cylinder 2"),
    ],
)
def test_what_cannot_be_is_said(of: object, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        of()  # type: ignore[operator]


def test_a_v8_with_its_films_takes_a_tenth_of_a_second_and_a_map_of_forty_speeds_two() -> None:
    """By the processor's time, so that what else the machine does is not counted."""
    eight, cycle = layout(V_ORDER, V_THROWS, V_LEANS), cycle_of(FOUR, 9.5, 9.4)
    shell = PlainBearing(54.0, 20.5, 0.055)
    film_map(round(shell.slenderness, 3))  # of a shape of bearing, once

    def spent(speeds: list[float]) -> float:
        begun = time.process_time()
        found = [crank_loads(eight, FOUR, estimated_masses(86.0), cycle, speed) for speed in speeds]
        rods = [load for loads in found for load in loads.rods.values()]
        many = len(rods)
        orbits(rods, [shell] * many, [speed for speed in speeds for _ in range(8)], [10.0] * many)
        return time.process_time() - begun

    spent([3000.0])
    assert min(spent([3000.0]) for _ in range(3)) < 0.1
    assert spent([float(n) for n in range(800, 6000, 130)]) < 2.0
