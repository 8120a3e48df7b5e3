"""How far repeats may lie apart, and what a factor of 25.4 or of ten tells."""

from __future__ import annotations

import pytest
from scipy.stats import studentized_range

from rebuildreport.trade.measuring.plausibility import RANGE_FACTORS, Band, critical_range, mistaken_scale


@pytest.mark.parametrize("repeats", range(2, 21))
def test_factors_are_the_studentised_range(repeats: int) -> None:
    """COMPUTED: 95 % point of the range of n normal deviates (scipy); ISO 5725-6 prints it to a tenth."""
    wanted = studentized_range.ppf(0.95, repeats, 1e6)
    assert RANGE_FACTORS[repeats - 2] == pytest.approx(wanted, abs=0.051)


def test_published_critical_ranges() -> None:
    """READ: the precision tables of a European aggregate-test study, after ISO 5725: two determinations
    2.8 s, three 3.3 s; a repeatability standard deviation of 0.177 gives a limit of 0.5 (2.8 s)."""
    assert critical_range(1.0, 2) == 2.8
    assert critical_range(1.0, 3) == 3.3
    assert round(critical_range(0.177, 2), 1) == 0.5


def test_one_reading_has_no_range() -> None:
    with pytest.raises(ValueError, match="no range"):
        critical_range(0.001, 1)


@pytest.mark.parametrize(
    ("values", "band", "by"),
    [
        ([2.0482], Band(52.000, 52.040), 25.4),  # 2.0482 in is 52.0243 mm
        ([52.024], Band(2.0472, 2.0488), 1 / 25.4),
        ([0.008], Band(0.10, 0.30), 25.4),  # an end float of 0.008 in is 0.20 mm
        ([7.5964, 7.5962], Band(75.970, 75.990), 10.0),
        ([759.64], Band(75.970, 75.990), 0.1),
        ([75.42], Band(75.970, 75.990), 0.0),  # ground by half a millimetre
        ([41.988], Band(47.982, 48.000), 0.0),  # another journal
        ([0.9], Band(0.10, 0.30), 0.0),  # worn out, not misread
        ([0.30], Band(0.0, 0.05), 0.0),  # a limit that reaches down to nothing
        ([], Band(1.0, 2.0), 0.0),
    ],
)
def test_a_mistaken_unit_or_point(values: list[float], band: Band, by: float) -> None:
    assert mistaken_scale(values, band) == by


def test_pressures_are_not_asked_for_inches() -> None:
    assert mistaken_scale([1.0], Band(24.0, 27.0), length=False) == 0.0
