"""Sums of independent whole numbers against exact counts, direct convolution and scipy."""

from fractions import Fraction
from functools import reduce

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from optimizer.physics.chance_sum import sum_of_independent

kinds = st.lists(
    st.tuples(st.lists(st.integers(0, 9), min_size=1, max_size=12), st.integers(1, 6)),
    min_size=1,
    max_size=4,
).filter(lambda some: all(sum(weights) for weights, _ in some))


def exact_sum(weights_and_counts):
    """Return the distribution function in whole fractions, by convolving without rounding."""
    terms = [
        [Fraction(weight, sum(weights)) for weight in weights]
        for weights, count in weights_and_counts
        for _ in range(count)
    ]

    def convolved(left, right):
        out = [Fraction(0)] * (len(left) + len(right) - 1)
        for i, a in enumerate(left):
            for j, b in enumerate(right):
                out[i + j] += a * b
        return out

    chances = reduce(convolved, terms, [Fraction(1)])
    return np.array([float(sum(chances[: k + 1])) for k in range(len(chances))])


@given(some=kinds)
def test_sum_is_exact_within_its_stated_error(some):
    chances = [np.array(weights) / sum(weights) for weights, _ in some]
    found, error = sum_of_independent(chances, [count for _, count in some])
    expected = exact_sum(some)
    assert found.shape == expected.shape
    assert np.max(np.abs(found - expected)) <= error


@pytest.mark.parametrize("count", [1, 2, 3, 31, 32, 33, 1000])
def test_a_sum_of_yes_and_no_is_scipys_binomial(count):
    found, error = sum_of_independent([np.array([0.7, 0.3])], [count])
    assert np.max(np.abs(found - binom.cdf(np.arange(count + 1), count, 0.3))) <= error


def test_a_sum_of_sixty_four_wide_terms_is_direct_convolution():
    # Convolved by doubling with numpy's direct sums, which take no transform.
    rng = np.random.default_rng(3)
    term = rng.dirichlet(np.ones(40))
    direct = term
    for _ in range(6):
        direct = np.convolve(direct, direct)
    found, error = sum_of_independent([term], [64])
    assert np.max(np.abs(found - np.cumsum(direct))) <= error
    assert error < 1e-11


def test_the_stated_error_of_a_thousand_wide_terms_is_small():
    found, error = sum_of_independent([np.full(1000, 1e-3)], [1000])
    # By symmetry the chance of at most half the range, the middle value counted half, is 1/2.
    middle = len(found) // 2
    assert abs((found[middle] + found[middle - 1]) / 2 - 0.5) <= error
    assert error < 1e-8


@given(some=kinds)
def test_chances_never_fall_and_end_at_one(some):
    chances = [np.array(weights) / sum(weights) for weights, _ in some]
    found, error = sum_of_independent(chances, [count for _, count in some])
    assert np.all(np.diff(found) >= 0.0)
    assert abs(found[-1] - 1.0) <= error


@pytest.mark.parametrize("counts", [[], [0], [1, -1]])
def test_a_sum_without_terms_is_refused(counts):
    with pytest.raises(ValueError, match="term"):
        sum_of_independent([np.ones(1)] * len(counts), counts)
