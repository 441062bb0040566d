"""Least slopes against the plumbing code's table."""

import pytest

from optimizer.physics.slopes import least_slope
from tests.tolerances import FORMULA

INCH_M = 0.0254


@pytest.mark.parametrize(
    ("inches", "inches_per_foot"),
    [
        (1.0, 1 / 4),
        (2.5, 1 / 4),
        (3.0, 1 / 8),
        (4.0, 1 / 8),
        (6.0, 1 / 8),
        (8.0, 1 / 16),
        (12.0, 1 / 16),
    ],
)
def test_least_slopes_are_the_codes(inches, inches_per_foot):
    # To 2-1/2 in 1/4 in/ft; 3-6 in 1/8 in/ft; 8 in and up 1/16 in/ft. Chicago Plumbing Code
    # 18-29-704.1 (read).
    assert least_slope(inches * INCH_M) == pytest.approx(inches_per_foot / 12, rel=FORMULA)


def test_three_inches_as_written_in_metres_is_three_inches():
    assert least_slope(0.0762) == pytest.approx(1 / 96, rel=FORMULA)


@pytest.mark.parametrize(("nominal_m", "steeper"), [(0.075, 1 / 48), (0.160, 1 / 96)])
def test_a_size_between_two_rows_takes_the_steeper(nominal_m, steeper):
    assert least_slope(nominal_m) == pytest.approx(steeper, rel=FORMULA)


def test_a_wider_drain_never_needs_more_slope():
    slopes = [least_slope(size / 1000) for size in range(10, 400)]
    assert slopes == sorted(slopes, reverse=True)


@pytest.mark.parametrize("size", [0.0, -0.1, float("nan")])
def test_a_drain_without_size_is_refused(size):
    with pytest.raises(ValueError, match="size"):
        least_slope(size)
