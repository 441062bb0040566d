"""Hunter's count against scipy's binomial and enumeration."""

from itertools import product
from math import prod

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binom

from optimizer.physics.simultaneity import (
    chance_of_more,
    least_simultaneous,
    least_simultaneous_mixed,
    most_beds_for,
    simultaneous_chances,
)
from tests.tolerances import EXACT, FORMULA

ROUNDING = 1e-15
"""Absolute: chances of some cells underflow; they add up to 1."""

shares = st.floats(0.001, 0.999)
confidences = st.sampled_from([0.5, 0.9, 0.95, 0.99, 0.999])


@given(count=st.integers(0, 300), share=shares, confidence=confidences)
def test_count_is_the_quantile_of_scipys_binomial(count, share, confidence):
    chances = binom.cdf(np.arange(count + 1), count, share)
    assume(np.min(np.abs(chances - confidence)) > FORMULA)
    assert least_simultaneous(count, share, confidence) == int(np.argmax(chances >= confidence))


@given(count=st.integers(0, 300), share=shares, simultaneous=st.integers(0, 300))
def test_chance_of_more_is_scipys_survival(count, share, simultaneous):
    expected = binom.sf(simultaneous, count, share)
    found = chance_of_more(simultaneous, count, share)
    assert found == pytest.approx(expected, rel=FORMULA, abs=ROUNDING)


def test_unequal_shares_add_up_as_enumeration_says():
    # Sum over all 2^6 states of six beds: the definition, without convolution.
    unequal = (0.05, 0.2, 0.2, 0.45, 0.8, 1.0)
    expected = np.zeros(7)
    for state in product((0, 1), repeat=6):
        expected[sum(state)] += prod(
            p if draining else 1 - p for p, draining in zip(unequal, state, strict=True)
        )
    assert simultaneous_chances(unequal) == pytest.approx(expected, rel=FORMULA, abs=ROUNDING)


@given(count=st.integers(0, 60), share=shares, confidence=confidences)
def test_equal_shares_are_the_binomial(count, share, confidence):
    chances = simultaneous_chances([share] * count)
    expected = binom.pmf(np.arange(count + 1), count, share)
    assert chances == pytest.approx(expected, rel=FORMULA, abs=ROUNDING)
    assume(np.min(np.abs(np.cumsum(expected) - confidence)) > FORMULA)
    mixed = least_simultaneous_mixed([share] * count, confidence)
    assert mixed == least_simultaneous(count, share, confidence)


@given(unequal=st.lists(shares, max_size=40), confidence=confidences)
def test_order_of_beds_does_not_matter(unequal, confidence):
    chances = simultaneous_chances(unequal)
    assert chances.sum() == pytest.approx(1.0, rel=FORMULA)
    assert simultaneous_chances(unequal[::-1]) == pytest.approx(chances, rel=FORMULA, abs=ROUNDING)
    assume(np.min(np.abs(np.cumsum(chances) - confidence)) > FORMULA)
    back = least_simultaneous_mixed(unequal[::-1], confidence)
    assert back == least_simultaneous_mixed(unequal, confidence)


@given(simultaneous=st.integers(0, 30), share=st.floats(0.01, 0.99), confidence=confidences)
def test_most_beds_keep_the_count_and_one_more_breaks_it(simultaneous, share, confidence):
    most = most_beds_for(simultaneous, share, confidence)
    assert most >= simultaneous
    assert least_simultaneous(most, share, confidence) <= simultaneous
    assert least_simultaneous(most + 1, share, confidence) > simultaneous


@given(count=st.integers(0, 200), share=shares, confidence=confidences)
def test_more_beds_or_more_confidence_never_count_fewer(count, share, confidence):
    least = least_simultaneous(count, share, confidence)
    assert least <= least_simultaneous(count + 1, share, confidence) <= least + 1
    assert least <= least_simultaneous(count, share, min(1.0, confidence + 0.0005))


def test_certainty_counts_every_bed():
    assert least_simultaneous(12, 0.01, 1.0) == 12
    assert least_simultaneous_mixed([0.01, 0.2, 0.3], 1.0) == 3
    assert most_beds_for(5, 0.2, 1.0) == 5


def test_beds_that_never_or_always_drain():
    assert least_simultaneous(9, 0.0, 1.0) == 0
    assert least_simultaneous(9, 1.0, 0.5) == 9
    assert least_simultaneous_mixed([0.0, 1.0, 1.0], 0.99) == 2
    assert least_simultaneous_mixed([], 0.99) == 0
    assert chance_of_more(9, 9, 1.0) == EXACT


def test_beds_that_never_drain_set_no_largest_number():
    with pytest.raises(ValueError, match="never drain"):
        most_beds_for(3, 0.0, 0.99)


@pytest.mark.parametrize("share", [-0.1, 1.1, float("nan")])
def test_an_impossible_share_of_time_is_refused(share):
    with pytest.raises(ValueError, match="share"):
        least_simultaneous(5, share, 0.99)
    with pytest.raises(ValueError, match="share"):
        least_simultaneous_mixed([0.1, share], 0.99)


@pytest.mark.parametrize("confidence", [0.0, 1.01, float("nan")])
def test_an_impossible_confidence_is_refused(confidence):
    with pytest.raises(ValueError, match="confidence"):
        least_simultaneous(5, 0.2, confidence)
    with pytest.raises(ValueError, match="confidence"):
        least_simultaneous_mixed([0.2], confidence)


def test_negative_numbers_of_beds_are_refused():
    with pytest.raises(ValueError, match="negative"):
        least_simultaneous(-1, 0.2, 0.99)
    with pytest.raises(ValueError, match="negative"):
        chance_of_more(-1, 5, 0.2)
