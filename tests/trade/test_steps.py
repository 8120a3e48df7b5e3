"""Undersizes, oversizes and masses: the demo engine by hand, geometry, and every permutation tried."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.quantities import Typed, english
from rebuildreport.trade.choosing.assignment import match
from rebuildreport.trade.choosing.steps import (
    Rules,
    SizeStep,
    Worn,
    choose_size,
    fillet_spare,
    hardened_left,
    left_behind,
    polish_only,
    stock,
)
from rebuildreport.trade.measuring.uncertainty import DoubtSource, Measured

STEPS = [SizeStep(f"{n / 100:.2f} mm", n / 100) for n in (25, 50, 75, 100)]
MAINS = Rules(new=(75.970, 75.990), allowance=0.050, one_sided=False)


def test_the_orchard_six_worked_out_apart() -> None:
    """d1_expected: M4 0.50 (0.012 and 0.262 left), pins 0.25 (0.137 left)."""
    others = [Worn("M3", Measured(75.951)), Worn("M5", Measured(75.949))]
    mains = choose_size([*others, Worn("M4", Measured(75.812), Measured(0.035))], STEPS, MAINS, bore=False)
    assert mains.chosen and mains.chosen.step.name == "0.50 mm" and mains.chosen.governing == "M4"
    assert [round(trial.stock, 3) for trial in mains.trials[:2]] == [0.012, 0.262]
    assert mains.chosen.band == (75.470, 75.490)
    pins = choose_size(
        [Worn("R3", Measured(63.897), Measured(0.015))],
        STEPS,
        Rules(new=(63.970, 63.990), allowance=0.050, one_sided=False),
        bore=False,
    )
    assert pins.chosen and pins.chosen.step.name == "0.25 mm"
    assert pins.chosen.stock == pytest.approx(0.137)


def test_without_its_score_the_main_would_go_to_the_first_step() -> None:
    found = choose_size([Worn("M4", Measured(75.812))], STEPS, MAINS, bore=False)
    assert found.chosen and found.chosen.step.name == "0.25 mm"  # d1_expected: step_ignoring_scores


def test_runout_and_steps_without_shells() -> None:
    """0.262 left at 0.50; with 0.22 of runout 0.042 of it is left, and 0.050 is wanted (by hand)."""
    worn = [Worn("M4", Measured(75.812), Measured(0.035), runout=Measured(0.22))]
    steps = [
        STEPS[0],
        STEPS[1],
        SizeStep("0.75 mm", 0.75, False, why_not=Typed("no shells of 0.75 on the sheet")),
        STEPS[3],
    ]
    found = choose_size(worn, steps, MAINS, bore=False)
    assert found.chosen and found.chosen.step.name == "1.00 mm"
    assert found.trials[2].cleans_up == "yes" and tuple(
        english(text) for text in found.trials[2].against
    ) == ("no shells of 0.75 on the sheet",)


def test_a_step_that_the_reading_cannot_decide() -> None:
    """0.052 left where 0.050 are wanted, read to u = 0.002: guard 0.0033 (by hand)."""
    worn = [Worn("M1", Measured(75.782, {DoubtSource("reading", "M1"): 0.002}))]
    found = choose_size(worn, STEPS, MAINS, bore=False)
    assert found.maybe and found.maybe.step.name == "0.25 mm"
    assert found.chosen and found.chosen.step.name == "0.50 mm"
    simple = choose_size(worn, STEPS, MAINS, bore=False, guarded=False)
    assert simple.chosen and simple.chosen.step.name == "0.25 mm"


def test_hardened_layer_and_least_diameter() -> None:
    """1.00 under size takes 0.5 off each side (geometry)."""
    assert hardened_left(0.9, 75.980, 74.980) == pytest.approx(0.4)
    worn = [Worn("M4", Measured(75.1))]
    rules = Rules((75.970, 75.990), 0.050, False, smallest=75.0, hardened=0.9, hardened_left=0.5)
    found = choose_size(worn, STEPS, rules, bore=False)
    assert found.chosen is None
    assert len(found.trials[3].against) == 2


def test_inch_steps_keep_their_four_micrometres() -> None:
    """0.010 in is 0.254 mm (exact); a journal that needs 0.252 fits it, and not 0.25 mm."""
    worn = [Worn("R1", Measured(75.980 - 0.252 + 0.050))]
    for name, size, good in (("0.010 in", 0.254, True), ("0.25 mm", 0.25, False)):
        found = choose_size(worn, [SizeStep(name, size)], MAINS, bore=False)
        assert (found.chosen is not None) is good


@pytest.mark.parametrize("seed", range(20))
def test_one_sided_wear_by_geometry(seed: int) -> None:
    """COMPUTED: a circle with its wear on one side, sampled; a cutter on the old axis clears it all."""
    draw = random.Random(seed)
    radius, wear = draw.uniform(30, 60), draw.uniform(0.0, 0.2)
    angles = np.radians(np.arange(0, 360, 1.0))
    worn = radius + wear * np.clip(np.cos(angles), 0, None)  # grown towards 0°, and there only
    two_point = max(worn[k] + worn[(k + 180) % 360] for k in range(180))
    needed = 2.0 * float(worn.max())  # diameter of the cutter that just clears
    left = stock(Worn("C1", Measured(two_point)), needed, 2 * radius, bore=True, one_sided=True)
    assert left.value == pytest.approx(0.0, abs=1e-9)


def test_a_bore_that_was_bored_before_wears_from_its_oversize() -> None:
    """84.51 worn to 84.56 on one side: 84.51 + 0.10 + 0.05 = 84.66 is needed, 84.76 does (by hand)."""
    rules = Rules(new=(84.000, 84.020), allowance=0.050, one_sided=True, wall_left=3.0)
    found = choose_size(
        [Worn("C1", Measured(84.560), wall=Measured(3.2), made=0.50)], STEPS, rules, bore=True
    )
    assert found.chosen and found.chosen.step.name == "0.75 mm"
    assert found.chosen.stock == pytest.approx(0.15)
    # 0.25 comes off the diameter of the bore as it is, half of it off the wall as it is
    assert found.chosen.wall_left == pytest.approx(3.075)
    pin = Worn("R1", Measured(75.450), made=0.50)  # 75.48 worn by 0.03 on one side; 75.23 is next
    assert stock(pin, 75.230, 75.980, bore=False, one_sided=True).value == pytest.approx(0.19)


def test_a_score_in_a_bore_asks_for_a_larger_one() -> None:
    """84.10 with a score 0.05 deep is 84.20 under it, and 84.26 leaves 0.06 (by hand)."""
    scored = Worn("C1", Measured(84.100), Measured(0.05))
    assert stock(scored, 84.260, 84.010, bore=True, one_sided=False).value == pytest.approx(0.06)


def test_a_bore_at_the_tight_end_of_its_band_has_not_worn_backwards() -> None:
    """84.002 goes to 84.260: 0.258 comes off, whatever side anything is worn on."""
    for one_sided in (True, False):
        left = stock(Worn("C1", Measured(84.002)), 84.260, 84.010, bore=True, one_sided=one_sided)
        assert left.value == pytest.approx(0.258)


def test_a_bore_goes_to_the_smallest_oversize_with_a_piston() -> None:
    """84.00 to 84.02, 0.12 worn on one side: 84.25 needs 84.01+0.24+0.05 = 84.30: no; 84.50 (by hand)."""
    rules = Rules(new=(84.000, 84.020), allowance=0.050, one_sided=True, largest=85.1)
    steps = [SizeStep("0.25 mm", 0.25), SizeStep("0.50 mm", 0.50), SizeStep("1.00 mm", 1.00)]
    worn = [Worn("C1", Measured(84.130)), Worn("C2", Measured(84.060))]
    found = choose_size(worn, steps, rules, bore=True)
    assert found.chosen and found.chosen.step.name == "0.50 mm" and found.chosen.governing == "C1"
    centred = choose_size(worn, steps, Rules((84.000, 84.020), 0.050, False), bore=True)
    assert centred.chosen and centred.chosen.step.name == "0.25 mm"
    none = choose_size([Worn("C1", Measured(84.7))], steps, rules, bore=True)
    assert none.chosen is None  # sleeve


def test_a_sleeve_has_its_own_largest_bore() -> None:
    """Trap T08, in inches: 3.500 sleeved, 0.020 the sleeve's most, 3.5230 needed: a new sleeve."""
    rules = Rules(new=(3.500, 3.500), allowance=0.0, one_sided=False)
    found = choose_size([Worn("C1", Measured(3.5230))], [SizeStep("0.020 in", 0.020)], rules, bore=True)
    assert found.chosen is None and found.trials[0].band[1] == pytest.approx(3.520)


def test_thin_wall() -> None:
    rules = Rules(new=(84.0, 84.02), allowance=0.05, one_sided=True, wall_left=3.0)
    worn = [Worn("C1", Measured(84.05), wall=Measured(3.2))]
    found = choose_size(worn, [SizeStep("0.50 mm", 0.50)], rules, bore=True)
    assert found.chosen is None
    assert found.trials[0].wall_left == pytest.approx(2.95)


@pytest.mark.parametrize(("read", "good"), [(3.26, False), (3.27, True)])
def test_a_wall_is_left_by_its_guard(read: float, good: bool) -> None:
    """3.26 less 0.25 is 0.01 to spare, where 1.645 times 0.01 is the guard."""
    rules = Rules(new=(84.0, 84.02), allowance=0.05, one_sided=True, wall_left=3.0)
    wall = Measured(read, {DoubtSource("reading", "wall"): 0.01})
    trial = choose_size([Worn("C1", Measured(84.05), wall=wall)], STEPS[:2], rules, bore=True).trials[-1]
    assert trial.good is good
    assert [("too near" in english(one)) for one in trial.against] == [True] * (not good)


def test_polish() -> None:
    assert polish_only(Measured(75.960), 0.004, 75.950)
    assert not polish_only(Measured(75.959), 0.004, 75.950)
    assert not polish_only(Measured(75.960), 0.006, 75.950)
    doubted = Measured(75.961, {DoubtSource("reading", "x"): 0.001})  # 0.001 to spare, and a guard of 0.0016
    assert not polish_only(doubted, 0.004, 75.950) and polish_only(doubted, 0.004, 75.950, guarded=False)


GRAMS = st.integers(0, 80).map(lambda tenths: tenths / 10)


@given(
    rods=st.lists(GRAMS, min_size=1, max_size=4),
    pistons=st.lists(GRAMS, min_size=1, max_size=5),
    within=st.sampled_from([0.0, 2.0, 4.0]),
)
def test_every_pairing_by_mass(rods: list[float], pistons: list[float], within: float) -> None:
    """COMPUTED: the least that has to come off, over every pairing; none where pistons are too few."""
    heavy = {f"R{n}": round(600.0 + more, 1) for n, more in enumerate(rods)}
    light = {f"P{n}": round(300.0 + more, 1) for n, more in enumerate(pistons)}
    least = None
    for order in itertools.permutations(light.values(), len(heavy)):
        sums = [rod + piston for rod, piston in zip(heavy.values(), order, strict=True)]
        removed = sum(max(0.0, total - min(sums) - within) for total in sums)
        least = removed if least is None else min(least, removed)
    found = match(heavy, light, within)
    assert (found and found.removed) == (least if least is None else pytest.approx(least, abs=1e-6))


HUNDREDTHS = st.integers(0, 60).map(lambda n: n / 100)


@given(
    places=st.lists(st.tuples(HUNDREDTHS, st.integers(0, 10), st.integers(0, 5)), min_size=1, max_size=3),
    sold=st.lists(st.booleans(), min_size=3, max_size=3),
    bore=st.booleans(),
    one_sided=st.booleans(),
)
def test_every_step_on_every_place(
    places: list[tuple[float, int, int]], sold: list[bool], bore: bool, one_sided: bool
) -> None:
    """COMPUTED: the radius that a cutter needs on the axis that is kept, at each place, against each step."""
    worn, needed = [], []
    for n, (wear, score, runout) in enumerate(places):
        deep, swing, sign = score / 100, runout / 100, 1.0 if bore else -1.0
        measured = Measured(84.01 + sign * wear)
        worn.append(Worn(f"C{n}", measured, Measured(deep), Measured(swing)))
        # all of the wear on one side lies a whole wear from the axis, else half of it on each
        away = (wear if one_sided else wear / 2.0) + deep + swing / 2.0 + 0.05 / 2.0
        needed.append(away)
    steps = [SizeStep(f"{n}", n / 4, had) for n, had in enumerate(sold, 1)]
    found = choose_size(worn, steps, Rules((84.00, 84.02), 0.05, one_sided), bore)
    serve = [step.name for step in steps if step.obtainable and step.size / 2.0 >= max(needed) - 1e-9]
    assert (found.chosen and found.chosen.step.name) == next(iter(serve), None)


def test_too_few_pistons() -> None:
    assert match({"R1": 600.0, "R2": 601.0}, {"P1": 300.0}, 2.0) is None


@pytest.mark.parametrize(("found", "wanted"), [(3.0, 4.0), (3.8, 4.0), (4.0, 4.0), (2.5, 3.5)])
def test_fillets_by_geometry(found: float, wanted: float) -> None:
    """COMPUTED: both corners sampled; the new profile may nowhere lie outside the metal that is there.

    Cheek at x = 0, journal at y = 0; a fillet of r reaches from (0, r) to (r, 0), and the metal is under it.
    """
    x = np.linspace(0.0, 6.0, 6001)

    def profile(radius: float, depth: float) -> np.ndarray:
        inside = np.minimum(x, radius)
        return radius - np.sqrt(np.maximum(radius**2 - (radius - inside) ** 2, 0.0)) - depth

    def fits(depth: float) -> bool:
        return bool((profile(wanted, depth) <= profile(found, 0.0) + 1e-9).all())

    size = 60.0
    for depth in np.arange(0.0, 1.3, 0.05):
        spare = fillet_spare(Measured(size), Measured(found), size - 2.0 * float(depth), wanted)
        if abs(spare.value) > 1e-6:
            assert fits(float(depth)) is (spare.value > 0.0)


def test_a_fillet_asks_for_a_deeper_step() -> None:
    """R3 wants 3.5 and has 3.3: 0.2 deeper; 63.897 to 63.730 is 0.084, to 63.480 is 0.209 (by hand)."""
    worn = [Worn("R3", Measured(63.897), fillet=Measured(3.3)), Worn("R4", Measured(63.955))]
    rules = Rules((63.970, 63.990), 0.050, False, fillet=3.5)
    found = choose_size(worn, STEPS, rules, bore=False)
    assert found.chosen and found.chosen.step.name == "0.50 mm"
    assert "fillet of R3, 3.3 mm, is too deep" in english(found.trials[0].against[0])
    doubt = {DoubtSource("reading", "R3"): 0.05}
    unsure = [Worn("R3", Measured(63.897), fillet=Measured(3.3, doubt))]
    assert choose_size(unsure, STEPS, rules, bore=False).chosen.step.name == "0.75 mm"  # type: ignore[union-attr]


def test_one_sleeve_and_an_oversize_for_the_rest() -> None:
    rules = Rules(new=(84.0, 84.02), allowance=0.05, one_sided=False)
    worn = [Worn("C1", Measured(84.06)), Worn("C2", Measured(85.20)), Worn("C3", Measured(84.02))]
    assert left_behind(worn, SizeStep("0.50 mm", 0.50), rules, bore=True) == ["C2"]


@pytest.mark.parametrize(("u", "clears"), [(0.0, "yes"), (0.01, "too close")])
def test_wear_taken_as_all_round_is_said_to_clear_on_one_side_by_the_guard_alone(
    u: float, clears: str
) -> None:
    """75.860 is 0.120 worn: ground to 75.480 it leaves 0.380 all round and 0.260 on one side (by hand)."""
    worn = [Worn("M1", Measured(75.860, {DoubtSource("reading", "M1"): u}))]
    rules = Rules(new=(75.970, 75.990), allowance=0.250, one_sided=False)
    (trial,) = choose_size(worn, [SizeStep("0.50 mm", 0.50)], rules, bore=False).trials
    assert (round(trial.stock, 3), round(trial.stock_other_way, 3)) == (0.38, 0.26)
    assert (trial.cleans_up, trial.other_way) == ("yes", clears)
