"""Roots and least points against functions whose own are known."""

import numpy as np
import pytest

from optimizer.physics.roots import least_between, rising_roots
from tests.tolerances import EXACT, FORMULA

STEPS_MOST = 100
"""How many steps are taken at most: the closed form below counts on them."""


@pytest.mark.parametrize(
    ("low", "high", "least"),
    [(1.0, 5.0, 3.0), (1.0, 2.0, 2.0), (4.0, 5.0, 4.0), (3.0, 5.0, 3.0), (1.0, 3.0, 3.0)],
)
def test_a_parabola_is_least_at_its_foot_or_at_the_end_nearest_to_it(low, high, least):
    # (x - 3)^2 has the slope 2 (x - 3), which is 0 at 3 and rises.
    assert least_between(lambda x: 2.0 * (x - 3.0), low, high) == pytest.approx(least, rel=FORMULA)


def test_a_root_that_every_step_only_comes_a_third_nearer_to_ends_after_a_hundred_steps():
    # Newton on x^3: x - x^3 / 3 x^2 = 2/3 x. From the middle, 0.5, that leaves 0.5 (2/3)^100; the
    # last digits of a root at 0 never agree, so all steps are taken.
    low, high = np.array([-1.0]), np.array([2.0])
    found = rising_roots(lambda x: (x**3, 3.0 * x**2), low, high)
    assert found == pytest.approx(0.5 * (2.0 / 3.0) ** STEPS_MOST, rel=FORMULA, abs=EXACT)
