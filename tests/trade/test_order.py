"""Tightening patterns and what letting go says."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildreport.trade.tightening import breakaway
from rebuildreport.trade.tightening.sequence import OrderError, layout, order, typed

# Cross pattern of ASME PCC-1 for circles (MEMORY): by bolt, in the order of tightening
PCC_1 = {
    4: [1, 3, 2, 4],
    8: [1, 5, 3, 7, 2, 6, 4, 8],
    12: [1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12],
    16: [1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16],
}


@pytest.mark.parametrize("count", PCC_1)
def test_cross_pattern(count: int) -> None:
    numbers = order(layout(f"circle of {count}"), "criss-cross")
    assert [numbers.index(n) + 1 for n in range(1, count + 1)] == PCC_1[count]


@given(
    st.integers(1, 6),
    st.integers(1, 15),
    st.sampled_from(["centre outwards", "spiral from centre", "in turn"]),
)
def test_every_bolt_once(rows: int, along: int, pattern: str) -> None:
    numbers = order(layout(f"{rows} x {along}"), pattern)
    assert sorted(numbers) == list(range(1, rows * along + 1))


@given(st.integers(2, 40))
def test_every_bolt_of_a_circle_once(count: int) -> None:
    assert sorted(order(layout(f"circle of {count}"), "criss-cross")) == list(range(1, count + 1))


@pytest.mark.parametrize("pattern", ["centre outwards", "spiral from centre"])
def test_from_the_middle_to_the_ends(pattern: str) -> None:
    """Nothing nearer to the middle along the joint waits for what is two bolts further out."""
    places = layout("2 x 13").places
    numbers = order(layout("2 x 13"), pattern)
    turn = {number: abs(place[1] - 6.0) for place, number in zip(places, numbers, strict=True)}
    worst = 0.0
    for number in sorted(turn):
        assert turn[number] >= worst - 1.0
        worst = max(worst, turn[number])
    assert turn[1] == 0.0 and turn[26] == 6.0


def test_the_makers_own_numbers() -> None:
    assert typed(["9 5 1 4 8", "10 6 2 3 7"])[2] == 1
    with pytest.raises(OrderError, match="stands twice"):
        typed(["1 2 2"])
    with pytest.raises(OrderError, match="is missing"):
        typed(["1 2 4"])
    with pytest.raises(OrderError):
        typed(["1 two"])


@pytest.mark.parametrize("text", ["", "7", "0 x 3", "circle of 1", "rows of", "300 x 300"])
def test_what_is_no_layout(text: str) -> None:
    with pytest.raises(OrderError):
        layout(text)


def test_what_is_no_pattern() -> None:
    with pytest.raises(OrderError, match="no order"):
        order(layout("2 x 3"), "as you like")


def test_loose_rod_bolts_stand_out() -> None:
    """Orchard six: rod cap 3 let go at 28 N·m, the others at 85 to 105 (invented): about a third."""
    found = breakaway.stands_out(
        {"R1": [95, 102], "R2": [88, 91], "R3": [28, 30], "R4": [98, 105], "R5": [85, 90], "R6": [92, 97]}
    )
    assert [(one.place, one.kind) for one in found] == [("R3", "loose")]
    assert found[0].share == pytest.approx(29 / 93.5, abs=1e-9)  # by hand: mean of two, median of ten


def test_ordinary_scatter_is_no_pattern() -> None:
    """10 to 30 per cent apart is what rest friction and settling make (common practice)."""
    assert not breakaway.stands_out({"A": [70], "B": [80], "C": [100], "D": [88]})


def test_two_bad_bolts_of_eight_do_not_hide_each_other() -> None:
    """Modified z-score by hand (NIST/SEMATECH e-Handbook, 1.3.5.17): median 97.5, median deviation 6.5.

    143 has 0.6745 x 45.5 / 6.5 = 4.7, beyond 3.5; 120 of a wide row has 0.6745 x 25 / 17 = 1.0.
    """
    read = {str(n): [v] for n, v in enumerate((96.0, 101.0, 88.0, 143.0, 92.0, 99.0, 90.0, 151.0), 1)}
    assert [(one.place, one.kind) for one in breakaway.stands_out(read)] == [("4", "tight"), ("8", "tight")]
    wide = {str(n): [v] for n, v in enumerate((70.0, 78.0, 112.0, 95.0, 120.0))}
    assert breakaway.stands_out(wide) == []
    # 20 per cent is rest friction and settling, however alike the others are
    alike = {str(n): [v] for n, v in enumerate((95.0, 95.0, 96.0, 95.0, 94.0, 115.0))}
    assert breakaway.stands_out(alike) == []


@given(st.integers(1, 7), st.integers(1, 7))
def test_chance_of_two_rows_apart(one: int, other: int) -> None:
    """Counted out: of all ways to choose which places are the row, two part the readings cleanly."""
    from itertools import combinations

    every = range(one + other)
    clean = sum(
        max(chosen) < min(set(every) - set(chosen)) or min(chosen) > max(set(every) - set(chosen))
        for chosen in combinations(every, one)
    )
    total = math.comb(one + other, one)
    found = breakaway.rows_apart([float(n) for n in range(one)], [float(100 + n) for n in range(other)])
    assert found == pytest.approx(clean / total)
    assert breakaway.rows_apart([1.0, 3.0], [2.0, 4.0]) is None
